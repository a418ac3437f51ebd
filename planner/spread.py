"""How sure an answer is: the minutes to its target, tried at the fixed points of `samples` through the same formulas.

Minutes are for reaching a stated percent: rig, charger, battery, cabin, cold and dash are uncertain, the road is not in
them. What the road adds is already in the target, and in the miles that a stated energy gives in nine of ten cases.
"""

import functools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from planner.answer import CABIN_ON_BELOW_C, PACK_ENDS, Answer, Call, make_ready
from planner.cabin import standing_power_kw
from planner.chain import told_current_a
from planner.charge import session_hours_h
from planner.pack import COOLS_FROM_C, WARM_C, cooling_power_kw, temperature_at_plug_in_c
from planner.power import charger_loss_scale, charger_output_kw
from planner.records import Dataset, GeneratorSource, Spread, VehicleClass
from planner.samples import COUNT, between, column, order_statistic

__all__ = [
    "Band",
    "Bands",
    "Cases",
    "Packs",
    "Points",
    "Share",
    "bands",
    "losses_scale",
    "session_cases",
    "session_minutes",
]

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
KEPT = 64  # columns, and batteries: of a class in all airs of a page


class Points:
    """Cases that are tried together: of each input a share of all cases, 0 to 1, case by case.

    `spread` keeps what it returned for the last few ends that were asked for; `spread_once` keeps nothing.
    """

    def __init__(self, shares: Callable[[str], Sequence[float]]) -> None:
        self.shares = shares
        self.spread = functools.lru_cache(maxsize=KEPT)(self.spread_once)

    def spread_once(self, name: str, ends: Ends) -> tuple[float, ...]:
        """Return an input case by case, by its low, typical and high end."""
        low, typical, high = ends
        return tuple([between(low, typical, high, share) for share in self.shares(name)])


@dataclass(frozen=True, slots=True, eq=False)
class Packs:
    """Batteries, case by case, whatever charges them."""

    energy_usable_kwh: tuple[float, ...]
    heater_kw: tuple[float, ...]
    ambient_c: tuple[float, ...]
    pack_c: tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Cases:
    """Sessions, case by case: DC that is left for battery and heater, below zero where all is used up."""

    power_available_kw: list[float]
    cell_side_factor: float
    packs: Packs


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
    minutes = _session_minutes(call, found, found.planned_percent / 100, EVERY_POINT)
    around = _around(dataset, found)
    on_site = list(map(_sum_of_three, minutes, *around))
    typical, *at_ends = _session_minutes(call, found, found.planned_percent / 100, ONE_BY_ONE)
    return Bands(_band(minutes), _band(on_site), _shares(at_ends, typical))


def _one_by_one(name: str) -> list[float]:
    """Return the shares of an input where first all are in the middle, then each in turn is low, then high."""
    shares = [MIDDLE] * (1 + 2 * len(CHARGE_INPUTS))
    place = 1 + 2 * CHARGE_INPUTS.index(name)
    shares[place : place + 2] = LOW, HIGH
    return shares


EVERY_POINT = Points(column)
ONE_BY_ONE = Points(_one_by_one)


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


def _shares(at_ends: Sequence[float], typical: float) -> tuple[Share, ...]:
    """Return the inputs by the square of their swing, largest first; a swing without end takes it all."""
    swings = []
    for place, name in enumerate(CHARGE_INPUTS):
        ends = at_ends[2 * place : 2 * place + 2]
        swing = max(abs(end - typical) if end < math.inf else math.inf for end in ends)
        swings.append((name, min(swing, 1e6) ** 2))
    whole = sum(swing for _, swing in swings)
    if whole <= 0:
        return ()
    shares = [Share(name, swing / whole) for name, swing in swings if swing / whole >= SMALLEST_SHARE]
    return tuple(sorted(shares, key=lambda item: -item.share))


def session_minutes(call: Call, found: Answer, target_percent: int) -> Callable[..., float]:
    """Return the minutes from the hand-shake to a target as a function of `CHARGE_INPUTS`, each 0 to 1, 0.5 typical."""

    def minutes(*inputs: float) -> float:
        one_case = Points({name: (share,) for name, share in zip(CHARGE_INPUTS, inputs, strict=True)}.__getitem__)
        return _session_minutes(call, found, target_percent / 100, one_case)[0]

    return minutes


def _session_minutes(call: Call, found: Answer, soc_target: float, points: Points) -> list[float]:
    """Return the minutes from the hand-shake to a target, case by case."""
    tried, start = session_cases(call, found, points), found.start
    packs, tail_factor = tried.packs, found.vehicle.battery.tail_factor
    return [
        60
        * session_hours_h(
            soc_start=start_percent / 100,
            soc_target=soc_target,
            power_available_kw=available_kw,
            cell_side_factor=tried.cell_side_factor,
            energy_usable_kwh=energy_kwh,
            tail_factor=tail_factor,
            heater_kw=heater_kw,
            ambient_c=ambient_c,
            pack_c=pack_c,
        )
        for start_percent, available_kw, energy_kwh, heater_kw, ambient_c, pack_c in zip(
            points.spread("what the dash says", (start.low_percent, start.percent, start.high_percent)),
            tried.power_available_kw,
            packs.energy_usable_kwh,
            packs.heater_kw,
            packs.ambient_c,
            packs.pack_c,
            strict=True,
        )
    ]


def session_cases(call: Call, found: Answer, points: Points) -> Cases:
    """Return what is there for the battery, and the battery, in each of the cases that are tried together.

    What hangs on the class or on the air alone is spread over the points once, however many marks and rigs follow.
    """
    rig, vehicle, rate, setting, path = found.rig, found.vehicle, found.rate, found.setting, found.path
    assert rate is not None
    assert setting is not None
    assert path is not None
    charger, habits, battery, cabin = vehicle.onboard_charger, vehicle.charging, vehicle.battery, vehicle.cabin
    ambient_c = found.conditions.ambient_c
    airs_c = (ambient_c - WEATHER_K, ambient_c, ambient_c + WEATHER_K)
    pack_ends_c = _pack_ends(found, airs_c)
    heater = (0.0, 0.0, 0.0) if battery.heater_kw is None else _ends(battery.heater_kw)
    cold_matters = airs_c[0] < WARM_C or pack_ends_c[0][0] < WARM_C
    packs = _packs(
        points,
        _ends(battery.energy_usable_kwh),
        _ends(battery.health),
        heater if cold_matters else (0.0, 0.0, 0.0),
        airs_c if cold_matters else None,
        pack_ends_c if cold_matters else None,
    )
    loop_ohm = 0.0
    if rate.current_a > 0:
        loop_ohm = (rig.source.voltage_v.typical - rate.voltage_inlet_v) / rate.current_a
    losses = (charger.loss_no_load_kw, charger.loss_linear, charger.loss_quadratic_per_kw)
    outputs_kw = _outputs_kw(
        points,
        pilot_a=told_current_a(path, setting.output_a),
        margin=_ends(habits.pilot_margin),
        most_a=_ends(charger.current_a),
        most_kw=_ends(charger.power_kw),
        volts=_ends(rig.source.voltage_v),
        loop_ohm=loop_ohm,
        power_factor=charger.power_factor,
        losses=losses,
        scales=_scales(vehicle),
    )
    used_kw: Sequence[float] = points.spread("losses while charging", _ends(habits.auxiliaries_kw))
    levels = _cabin_levels(call, found)
    if levels is not None:
        coldest_kw, likely_kw, warmest_kw = (
            standing_power_kw(ambient_c=air_c, size_factor=cabin.size_factor, heat_pump_share=cabin.heat_pump_share)
            for air_c in airs_c
        )
        used_kw = [
            own_kw + level * cabin_kw
            for own_kw, level, cabin_kw in zip(
                used_kw,
                points.spread("cabin heat while charging", levels),
                points.spread("weather", (coldest_kw, likely_kw, warmest_kw)),
                strict=True,
            )
        ]
    if not cold_matters and airs_c[2] > COOLS_FROM_C and heater[1] > 0:
        used_kw = [
            used + cooling_power_kw(ambient_c=air_c, energy_usable_kwh=energy_kwh)
            for used, air_c, energy_kwh in zip(
                used_kw, points.spread("weather", airs_c), packs.energy_usable_kwh, strict=True
            )
        ]
    available_kw = [output_kw - used for output_kw, used in zip(outputs_kw, used_kw, strict=True)]
    return Cases(available_kw, habits.cell_side_factor, packs)


@functools.lru_cache(maxsize=2 * KEPT)
def _outputs_kw(
    points: Points,
    *,
    pilot_a: float,
    margin: Ends,
    most_a: Ends,
    most_kw: Ends,
    volts: Ends,
    loop_ohm: float,
    power_factor: float,
    losses: tuple[float, float, float],
    scales: Ends,
) -> tuple[float, ...]:
    """Return what an onboard charger gives in each case, however warm pack and cabin are."""
    no_load_kw, linear, quadratic_per_kw = losses
    found = []
    for below, capped_a, capped_kw, source_v, scale in zip(
        points.spread("margin under the pilot", margin),
        points.spread("onboard charger of the class", most_a),
        points.spread("onboard charger of the class", most_kw),
        points.spread("volts under load", volts),
        points.spread("losses while charging", scales),
        strict=True,
    ):
        current_a = pilot_a * (1 - below)
        if current_a > capped_a:
            current_a = capped_a
        inlet_kw = (source_v - current_a * loop_ohm) * current_a * power_factor / 1000
        output_kw = charger_output_kw(
            input_kw=inlet_kw if inlet_kw < capped_kw else capped_kw,
            loss_no_load_kw=no_load_kw,
            loss_linear=linear * scale,
            loss_quadratic_per_kw=quadratic_per_kw * scale,
        )
        found.append(output_kw)
    return tuple(found)


@functools.lru_cache(maxsize=KEPT)
def _packs(
    points: Points,
    new_kwh: Ends,
    health: Ends,
    heater_kw: Ends,
    airs_c: Ends | None,
    pack_ends_c: tuple[Ends, Ends, Ends] | None,
) -> Packs:
    """Return the batteries of a class in one air, case by case; without an air they are warm."""
    energies_kwh = tuple(
        new * left
        for new, left in zip(
            points.spread("size of the battery in the class", new_kwh),
            points.spread("age of the battery", health),
            strict=True,
        )
    )
    if airs_c is None or pack_ends_c is None:
        warm_c = (WARM_C,) * len(energies_kwh)
        return Packs(energies_kwh, (0.0,) * len(energies_kwh), warm_c, warm_c)
    packs_c = tuple(
        map(
            between,
            *(points.spread_once("weather", end_c) for end_c in pack_ends_c),
            points.shares("how cold the pack is"),
        )
    )
    return Packs(
        energies_kwh,
        points.spread("heater of the pack", heater_kw),
        points.spread("weather", airs_c),
        packs_c,
    )


def _scales(vehicle: VehicleClass) -> Ends:
    """Return the factor on the charger's losses where it loses least, typically and most."""
    low, typical, high = (losses_scale(vehicle, points) for points in (EFFICIENCY_POINTS, 0.0, -EFFICIENCY_POINTS))
    return low, typical, high


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
