"""How sure an answer is: the minutes to its target, tried at the fixed points of `samples` through the same formulas.

Minutes are for reaching a stated percent: rig, charger, battery, cabin, cold and dash are uncertain, the road is not in
them. What the road adds is already in the target, and in the miles that a stated energy gives in nine of ten cases.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from planner.answer import CABIN_ON_BELOW_C, PACK_ENDS, Answer, Call, make_ready
from planner.cabin import standing_power_kw
from planner.chain import told_current_a
from planner.charge import session_hours_h
from planner.pack import COOLS_FROM_C, WARM_C, cooling_power_kw, temperature_at_plug_in_c
from planner.power import charger_loss_scale, charger_output_kw
from planner.records import Dataset, GeneratorSource, Spread, VehicleClass
from planner.samples import COUNT, between, column, order_statistic

__all__ = ["Band", "Bands", "Share", "bands", "losses_scale", "session_at", "session_minutes"]

WEATHER_K = 4.0  # own-judgement: the air at the vehicle against what the call says
EFFICIENCY_POINTS = 0.02  # own-judgement: wall to battery, from vehicle to vehicle
LEAST_LOSS_SCALE = 0.2  # of the typical: no charger is nearly without loss
CABIN_KNOWN_ON = (0.7, 1.0, 1.3)  # own-judgement: thermostat and number of people
CABIN_UNKNOWN_ON = (0.0, 1.0, 1.3)  # own-judgement: off in some, though it is cold
CABIN_UNKNOWN_MILD = (0.0, 0.0, 1.0)  # own-judgement: off in most, on in some
PACK_KNOWN_K = 3.0  # own-judgement
LOW, MIDDLE, HIGH = 0.1, 0.5, 0.9
# The inputs of the minutes, in the order that `session_minutes` takes them.
CHARGE_INPUTS = (
    "size of the battery in the class",
    "age of the battery",
    "weather",
    "volts under load",
    "margin under the pilot",
    "onboard charger of the class",
    "losses while charging",
    "cabin heat while charging",
    "how cold the pack is",
    "heater of the pack",
    "what the dash says",
)
SMALLEST_SHARE = 0.01
Ends = tuple[float, float, float]  # low, typical, high
Ended = TypeVar("Ended")


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """Minutes in one, five and nine of ten cases; None where that many cases never get there."""

    p10: float | None
    p50: float | None
    p90: float | None
    chance_reached: float


@dataclass(frozen=True, slots=True, eq=False)
class Share:
    """How much of the spread one input brings, tried one at a time from one in ten to nine in ten."""

    input: str
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Bands:
    """The bands of one answer."""

    charging: Band  # cold start included
    on_site: Band
    unsure: tuple[Share, ...]


def bands(dataset: Dataset, call: Call, found: Answer) -> Bands | None:
    """Return the bands of an answer that has a session; None where there is nothing to charge."""
    if found.session is None or found.planned_percent is None or found.rate is None or found.setting is None:
        return None
    hours_at = session_at(call, found, found.planned_percent / 100, session_hours_h)
    minutes = [60 * hours_h for hours_h in map(hours_at, *(column(name) for name in CHARGE_INPUTS))]
    around = _around(dataset, found)
    on_site = list(map(_sum_of_three, minutes, *around))
    minutes_at = _in_minutes(hours_at)
    typical = minutes_at(*[MIDDLE] * len(CHARGE_INPUTS))
    return Bands(_band(minutes), _band(on_site), _shares(minutes_at, typical))


def _sum_of_three(first: float, second: float, third: float) -> float:
    return first + second + third


def _band(minutes: list[float]) -> Band:
    reached = sum(value < math.inf for value in minutes) / COUNT
    minutes.sort()

    def at(share: float) -> float | None:
        value = order_statistic(minutes, share)
        return value if value < math.inf else None

    return Band(at(LOW), at(MIDDLE), at(HIGH), reached)


def _around(dataset: Dataset, found: Answer) -> tuple[list[float], list[float]]:
    """Return the minutes on site besides charging: the hand-shake, and what goes at the pace of the crew."""
    rates = dataset.rates
    session = found.session
    assert session is not None
    paced = [(rates.park_min, 1), (rates.pack_up_min, 1), (rates.refuel_stop_min, session.fuel.refuel_stops)]
    if isinstance(found.rig.source, GeneratorSource):
        paced += [(rates.warm_up_min, 1), (rates.cool_down_min, 1)]
    paced += [(spread, 1) for spread in make_ready(dataset, found.rulings)]
    low, typical, high = (
        sum(getattr(part, end) * count for part, count in paced) for end in ("low", "typical", "high")
    )
    shake = rates.handshake_min
    return (
        [between(shake.low, shake.typical, shake.high, share) for share in column("hand-shake")],
        [between(low, typical, high, share) for share in column("pace of the crew")],
    )


def _shares(minutes_at: Callable[..., float], typical: float) -> tuple[Share, ...]:
    """Return the inputs by the square of their swing, largest first; a swing without end takes it all."""
    swings = []
    for place, name in enumerate(CHARGE_INPUTS):
        ends = []
        for share in (LOW, HIGH):
            inputs = [MIDDLE] * len(CHARGE_INPUTS)
            inputs[place] = share
            ends.append(minutes_at(*inputs))
        swing = max(abs(end - typical) if end < math.inf else math.inf for end in ends)
        swings.append((name, min(swing, 1e6) ** 2))
    whole = sum(swing for _, swing in swings)
    if whole <= 0:
        return ()
    shares = [Share(name, swing / whole) for name, swing in swings if swing / whole >= SMALLEST_SHARE]
    return tuple(sorted(shares, key=lambda item: -item.share))


def session_minutes(call: Call, found: Answer, target_percent: int) -> Callable[..., float]:
    """Return the minutes from the hand-shake to a target as a function of `CHARGE_INPUTS`, each 0 to 1, 0.5 typical."""
    return _in_minutes(session_at(call, found, target_percent / 100, session_hours_h))


def _in_minutes(hours_at: Callable[..., float]) -> Callable[..., float]:
    def minutes(*inputs: float) -> float:
        return 60 * hours_at(*inputs)

    return minutes


def session_at(call: Call, found: Answer, soc_target: float, ended: Callable[..., Ended]) -> Callable[..., Ended]:
    """Return what `ended` makes of the session as a function of `CHARGE_INPUTS`, each 0 to 1, 0.5 typical.

    `ended` takes the arguments of `session_hours_h`: the power is found once, however much is asked of it.
    """
    rig, vehicle, rate, setting = found.rig, found.vehicle, found.rate, found.setting
    assert rate is not None
    assert setting is not None
    charger, habits, battery = vehicle.onboard_charger, vehicle.charging, vehicle.battery
    ambient_c = found.conditions.ambient_c
    airs_c = (ambient_c - WEATHER_K, ambient_c, ambient_c + WEATHER_K)
    ends = _cabin_levels(call, found)
    coldest_kw, likely_kw, warmest_kw = (
        standing_power_kw(
            ambient_c=air_c, size_factor=vehicle.cabin.size_factor, heat_pump_share=vehicle.cabin.heat_pump_share
        )
        for air_c in airs_c
    )
    coldest_c, middle_c, warmest_c = _pack_ends(found, airs_c)
    scale_low, scale_typical, scale_high = (
        losses_scale(found.vehicle, points) for points in (EFFICIENCY_POINTS, 0.0, -EFFICIENCY_POINTS)
    )
    volts = _ends(rig.source.voltage_v)
    loop_ohm = 0.0
    if rate.current_a > 0:
        loop_ohm = (rig.source.voltage_v.typical - rate.voltage_inlet_v) / rate.current_a
    heater = (0.0, 0.0, 0.0) if battery.heater_kw is None else _ends(battery.heater_kw)
    margin, amps, caps_kw = _ends(habits.pilot_margin), _ends(charger.current_a), _ends(charger.power_kw)
    own_kw = _ends(habits.auxiliaries_kw)
    new_kwh, health = _ends(battery.energy_usable_kwh), _ends(battery.health)
    cell, tail_factor, power_factor = habits.cell_side_factor, battery.tail_factor, charger.power_factor
    start = found.start
    assert found.path is not None
    pilot_a = told_current_a(found.path, setting.output_a)
    no_load_kw, linear, quadratic = charger.loss_no_load_kw, charger.loss_linear, charger.loss_quadratic_per_kw
    cold_matters = airs_c[0] < WARM_C or coldest_c[0] < WARM_C
    hot_matters = airs_c[2] > COOLS_FROM_C

    def at(
        of_size: float,
        of_age: float,
        of_weather: float,
        of_volts: float,
        of_margin: float,
        of_charger: float,
        of_losses: float,
        of_cabin: float,
        of_pack: float,
        of_heater: float,
        of_dash: float,
    ) -> Ended:
        current_a = min(
            pilot_a * (1 - between(*margin, of_margin)),
            between(*amps, of_charger),
        )
        inlet_kw = (between(*volts, of_volts) - current_a * loop_ohm) * current_a * power_factor / 1000
        cap_kw = between(*caps_kw, of_charger)
        scale = between(scale_low, scale_typical, scale_high, of_losses)
        output_kw = charger_output_kw(
            input_kw=min(inlet_kw, cap_kw),
            loss_no_load_kw=no_load_kw,
            loss_linear=linear * scale,
            loss_quadratic_per_kw=quadratic * scale,
        )
        energy_kwh = between(*new_kwh, of_size) * between(*health, of_age)
        used_kw = between(*own_kw, of_losses)
        if ends is not None:
            used_kw += between(*ends, of_cabin) * between(coldest_kw, likely_kw, warmest_kw, of_weather)
        air_c = pack_c = WARM_C
        if cold_matters:
            air_c = between(*airs_c, of_weather)
            pack_c = between(
                between(*coldest_c, of_weather),
                between(*middle_c, of_weather),
                between(*warmest_c, of_weather),
                of_pack,
            )
        elif hot_matters and heater[1] > 0:
            used_kw += cooling_power_kw(ambient_c=between(*airs_c, of_weather), energy_usable_kwh=energy_kwh)
        return ended(
            soc_start=between(start.low_percent, start.percent, start.high_percent, of_dash) / 100,
            soc_target=soc_target,
            power_available_kw=output_kw - used_kw,
            cell_side_factor=cell,
            energy_usable_kwh=energy_kwh,
            tail_factor=tail_factor,
            heater_kw=between(*heater, of_heater) if cold_matters else 0.0,
            ambient_c=air_c,
            pack_c=pack_c,
        )

    return at


def _ends(spread: Spread) -> Ends:
    return spread.low, spread.typical, spread.high


def _cabin_levels(call: Call, found: Answer) -> tuple[float, float, float] | None:
    """Return how much of the cabin's full power is on, at least, typically and at most; None where it is off."""
    if found.vehicle.cabin.size_factor <= 0 or call.cabin_on is False or found.cabin_must_be_off:
        return None
    if call.cabin_on:
        return CABIN_KNOWN_ON
    if found.conditions.ambient_c < CABIN_ON_BELOW_C:
        return CABIN_UNKNOWN_ON
    return CABIN_UNKNOWN_MILD


def _pack_ends(found: Answer, airs_c: Ends) -> tuple[Ends, Ends, Ends]:
    """Return the pack's temperature, coldest, typical and warmest, each in the three airs."""
    state = found.vehicle_state
    low_c, typical_c, high_c = airs_c
    if state.pack_known:

        def shifted(shift_k: float) -> Ends:
            middle_c = state.pack_c + shift_k
            return middle_c + low_c - typical_c, middle_c, middle_c + high_c - typical_c

        return shifted(-PACK_KNOWN_K), shifted(0.0), shifted(PACK_KNOWN_K)

    def after(drove_min: float, parked_h: float) -> Ends:
        return tuple(  # type: ignore[return-value]
            temperature_at_plug_in_c(
                ambient_c=air_c,
                drove_min=drove_min,
                parked_h=parked_h,
                energy_usable_kwh=found.vehicle.energy_now_kwh,
            )
            for air_c in airs_c
        )

    coldest, warmest = (after(*end) for end in PACK_ENDS)
    middle = tuple((low + high) / 2 for low, high in zip(coldest, warmest, strict=True))
    return coldest, middle, warmest  # type: ignore[return-value]


def losses_scale(vehicle: VehicleClass, points: float) -> float:
    """Return the factor on the charger's losses at an efficiency some points from the label's."""
    charger = vehicle.onboard_charger
    scale = charger_loss_scale(
        label_input_kw=vehicle.label_input_kw(),
        label_efficiency=vehicle.label.efficiency + points,
        auxiliaries_kw=vehicle.charging.auxiliaries_kw.typical,
        cell_side_factor=vehicle.charging.cell_side_factor,
        loss_no_load_kw=charger.loss_no_load_kw,
        loss_linear=charger.loss_linear,
        loss_quadratic_per_kw=charger.loss_quadratic_per_kw,
    )
    return max(scale, LEAST_LOSS_SCALE * vehicle.loss_scale)
