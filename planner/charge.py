"""Power at the meter, at the inlet and into the battery, the cold start, and the charge table that follows from it."""

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from planner.ampacity import ampacities
from planner.battery import (
    LONGEST_TAIL_SOC,
    hours_from_empty_h,
    soc_from_empty,
    taper_offset,
    taper_start_soc,
    wall_energy_kwh,
)
from planner.circuit import AMPACITY_BASE_C, conductor_temperature_c, resistance_at_ohm_per_km
from planner.pack import (
    CHARGES_FROM_C,
    FULL_POWER_FROM_C,
    WARM_C,
    cold_power_kw,
    cooling_power_kw,
    heat_capacity_kwh_per_k,
    heating_hours_h,
    hold_power_kw,
    loss_kw_per_k,
    steady_pack_c,
)
from planner.power import (
    ac_power_kw,
    battery_power_kw,
    charger_input_kw,
    charger_output_kw,
    constant_power_current_a,
)
from planner.records import RESISTANCE_TABLE, Conductor, Dataset, Rig, VehicleClass

__all__ = [
    "ChargeRate",
    "ChargeTable",
    "ColdPack",
    "ColdStart",
    "ColdStep",
    "ColdTable",
    "WarmUp",
    "charge_rate",
    "cold_pack",
    "cold_start",
    "loop_resistances_ohm",
    "session_hours_h",
]

# nec-2017, chapter 9 Table 8 note 2, at 75 C
TEMPERATURE_COEFFICIENT_PER_C = {"copper": 0.00323, "aluminum": 0.00330}


@dataclass(frozen=True, slots=True, eq=False)
class ColdStep:
    """A stretch of a cold start: how long, what is stored meanwhile, and what the onboard charger gives."""

    hours_h: float
    power_battery_kw: float
    power_dc_kw: float


@dataclass(frozen=True, slots=True, eq=False)
class ColdStart:
    """What happens before the steady charge, and that steady charge, which may itself be a crawl or nothing."""

    steps: tuple[ColdStep, ...]
    power_battery_kw: float
    power_dc_kw: float
    crawls: bool  # the pack never warms up to full power

    @property
    def hours_h(self) -> float:
        """Return how long it takes."""
        return sum(step.hours_h for step in self.steps)

    @property
    def gained_kwh(self) -> float:
        """Return what is stored meanwhile."""
        return sum(step.hours_h * step.power_battery_kw for step in self.steps)


WARM_START = ColdStart((), 0.0, 0.0, False)


@dataclass(frozen=True, slots=True, eq=False)
class ColdTable:
    """A cold start in whole percents gained since the plug-in, and what it adds to any longer session.

    Entry n - 1 of `seconds` and `inlet_wh` is for n percent gained; beyond the last one the offsets hold.
    """

    seconds: tuple[int, ...]
    inlet_wh: tuple[int, ...]
    offset_s: int
    offset_wh: int


@dataclass(frozen=True, slots=True, eq=False)
class ChargeRate:
    """The steady state before the taper: current, volts, and power at each place."""

    current_a: float
    held_back_by_vehicle: str | None  # why the vehicle draws less than the pilot allows, None when the pilot holds
    vehicle_limit_a: float
    voltage_evse_v: float
    voltage_inlet_v: float
    power_source_kw: float
    power_meter_kw: float
    power_inlet_kw: float
    power_battery_kw: float
    power_available_kw: float  # DC left for the battery and its heater
    cold: ColdStart

    @property
    def meter_ppm(self) -> int:
        """Return the energy at the meter per million at the inlet: a whole number, which page and planner share."""
        return _per_million(self.power_meter_kw, self.power_inlet_kw)

    @property
    def source_ppm(self) -> int:
        """Return the energy from the source per million at the inlet."""
        return _per_million(self.power_source_kw, self.power_inlet_kw)

    @property
    def power_source_w(self) -> int:
        """Return whole watts from the source, rounded up."""
        return math.ceil(1000 * self.power_source_kw)


def _per_million(power_kw: float, of_kw: float) -> int:
    return math.ceil(1e6 * power_kw / of_kw)


@dataclass(frozen=True)
class ChargeTable:
    """Seconds and watt-hours at each whole percent: the integers that page and planner share.

    The cumulative value is rounded, never the difference, so that parts of a session sum to the whole.
    """

    energy_usable_kwh: float
    power_battery_kw: float
    power_inlet_kw: float
    input_no_load_kw: float
    input_linear: float
    input_quadratic_per_kw: float
    tail_factor: float = 1.0
    cold: ColdTable | None = None
    # What was asked for once: a pair is asked about many needs. By percent.
    _seconds: dict[int, int] = field(default_factory=dict, repr=False, compare=False)
    _inlet_wh: dict[int, int] = field(default_factory=dict, repr=False, compare=False)

    def session_seconds(self, start: int, target: int) -> int:
        """Return the whole seconds of a charge between two percents, a cold start included."""
        seconds = self.seconds_at(target) - self.seconds_at(start)
        cold, gained = self.cold, target - start
        if cold is None or gained <= 0:
            return seconds
        if gained <= len(cold.seconds):
            return max(cold.seconds[gained - 1], seconds)
        return seconds + cold.offset_s

    def session_inlet_wh(self, start: int, target: int) -> int:
        """Return the whole watt-hours taken at the inlet between two percents, a cold start included."""
        inlet_wh = self.inlet_wh_at(target) - self.inlet_wh_at(start)
        cold, gained = self.cold, target - start
        if cold is None or gained <= 0:
            return inlet_wh
        if gained <= len(cold.inlet_wh):
            return max(cold.inlet_wh[gained - 1], inlet_wh)
        return inlet_wh + cold.offset_wh

    def percent_after(self, start: int, seconds: int) -> int:
        """Return the last whole percent that a charge from `start` reaches within so many seconds, 100 at most."""
        from_s = self.seconds_at(start)
        percent = self.percent_at(from_s + max(seconds, 0))
        if self.cold is None:
            return max(percent, start)
        # A cold start only ever takes longer, so the answer lies at or below the warm one.
        beyond = self.percent_at(from_s + max(seconds - self.cold.offset_s, 0))
        percent = max(min(percent, max(beyond, start + len(self.cold.seconds))), start)
        while percent > start and self.session_seconds(start, percent) > seconds:
            percent -= 1
        return percent

    def seconds_at(self, percent: int) -> int:
        """Return the whole seconds from empty to a percent."""
        seconds = self._seconds.get(percent)
        if seconds is None:
            seconds = self._seconds[percent] = round(
                3600
                * hours_from_empty_h(
                    soc=percent / 100,
                    energy_usable_kwh=self.energy_usable_kwh,
                    power_battery_kw=self.power_battery_kw,
                    tail_factor=self.tail_factor,
                )
            )
        return seconds

    def percent_at(self, until_s: int) -> int:
        """Return the last whole percent that is reached within so many seconds from empty."""
        guess = soc_from_empty(
            hours_h=until_s / 3600,
            energy_usable_kwh=self.energy_usable_kwh,
            power_battery_kw=self.power_battery_kw,
            tail_factor=self.tail_factor,
        )
        percent = math.floor(100 * guess)
        beyond = 100 * guess - percent
        fastest_s = (
            36 * self.energy_usable_kwh / self.power_battery_kw
        )  # no percent is quicker than one before the taper
        if fastest_s * min(beyond, 1 - beyond) > 1:
            return percent
        # The closed inverse is exact in hours; the published seconds are rounded, so within a second a look decides.
        while percent > 0 and self.seconds_at(percent) > until_s:
            percent -= 1
        while percent < 100 and self.seconds_at(percent + 1) <= until_s:
            percent += 1
        return percent

    def battery_wh_at(self, percent: int) -> int:
        """Return the whole watt-hours stored from empty to a percent."""
        return round(self.energy_usable_kwh * 10 * percent)

    def inlet_wh_at(self, percent: int) -> int:
        """Return the whole watt-hours taken at the inlet from empty to a percent."""
        inlet_wh = self._inlet_wh.get(percent)
        if inlet_wh is None:
            inlet_wh = self._inlet_wh[percent] = round(
                1000
                * wall_energy_kwh(
                    soc_start=0.0,
                    soc_target=percent / 100,
                    energy_usable_kwh=self.energy_usable_kwh,
                    power_battery_kw=self.power_battery_kw,
                    input_no_load_kw=self.input_no_load_kw,
                    input_linear=self.input_linear,
                    input_quadratic_per_kw=self.input_quadratic_per_kw,
                    tail_factor=self.tail_factor,
                )
            )
        return inlet_wh

    @cached_property
    def seconds(self) -> tuple[int, ...]:
        """Return `seconds_at` for 0 to 100 %."""
        return tuple(self.seconds_at(percent) for percent in range(101))

    @cached_property
    def battery_wh(self) -> tuple[int, ...]:
        """Return `battery_wh_at` for 0 to 100 %."""
        return tuple(self.battery_wh_at(percent) for percent in range(101))


def loop_resistances_ohm(dataset: Dataset, rig: Rig, *, current_a: float, ambient_c: float) -> tuple[float, float]:
    """Return the loop resistance of the supply run and of the EVSE cable, out and back, at working temperature."""
    table = dataset.tables[RESISTANCE_TABLE]
    supply_ohm = 0.0
    for part in rig.supply:
        if isinstance(part, Conductor):
            _, corrected_30c_a = ampacities(dataset, part, ambient_c=AMPACITY_BASE_C)
            temperature_c = conductor_temperature_c(
                current_a=current_a,
                ampacity_a=corrected_30c_a,
                ambient_c=ambient_c,
                conductor_rated_c=part.temperature_rating_c,
            )
            ohm_per_km = resistance_at_ohm_per_km(
                resistance_75c_ohm_per_km=table.rows[part.size_awg][f"{part.material}_stranded_ohm_per_km"],
                temperature_c=temperature_c,
                temperature_coefficient_per_c=TEMPERATURE_COEFFICIENT_PER_C[part.material],
            )
            supply_ohm += 2 * ohm_per_km * part.length_m / 1000
    cable = rig.evse.cable
    temperature_c = conductor_temperature_c(
        current_a=current_a,
        ampacity_a=cable.rating_a,
        ambient_c=ambient_c,
        conductor_rated_c=cable.temperature_rating_c,
    )
    ohm_per_km = resistance_at_ohm_per_km(
        resistance_75c_ohm_per_km=table.rows[cable.size_awg]["copper_stranded_ohm_per_km"],
        temperature_c=temperature_c,
        temperature_coefficient_per_c=TEMPERATURE_COEFFICIENT_PER_C["copper"],
    )
    return supply_ohm, 2 * ohm_per_km * cable.length_m / 1000


class WarmUp(NamedTuple):
    """How a heater warms a pack: what does not hang on the power that is left beside the heater."""

    steps: tuple[tuple[float, float], ...]  # hours of each stretch, and the most power that is stored meanwhile
    most_kw: float  # that is stored after them, without end once the pack is warm
    beside_kw: float  # what the heater then takes
    crawls: bool  # the pack never warms up to full power


class ColdPack(NamedTuple):
    """A pack in its air: what its warming hangs on besides the power of its heater."""

    energy_usable_kwh: float
    ambient_c: float
    pack_c: float
    stretches: tuple[tuple[float, float, float], ...]  # warms from and to, and the most power that is stored meanwhile
    loss_kw_per_k: float
    time_constant_h: float
    hold_kw: float  # that keeps it warm

    def warm_up(self, heater_kw: float) -> WarmUp:
        """Return how it warms up with so much for its heater; with none it stays as it is."""
        if heater_kw <= 0:
            most_kw = cold_power_kw(
                pack_c=self.pack_c, power_battery_kw=math.inf, energy_usable_kwh=self.energy_usable_kwh
            )
            return WarmUp((), most_kw, 0.0, self.pack_c < FULL_POWER_FROM_C)
        steady_c = steady_pack_c(ambient_c=self.ambient_c, heater_kw=heater_kw, loss_kw_per_k=self.loss_kw_per_k)
        steps: list[tuple[float, float]] = []
        for from_c, to_c, most_kw in self.stretches:
            hours_h = heating_hours_h(from_c=from_c, to_c=to_c, steady_c=steady_c, time_constant_h=self.time_constant_h)
            if hours_h == math.inf:
                return WarmUp(tuple(steps), most_kw, heater_kw, True)
            steps.append((hours_h, most_kw))
        return WarmUp(tuple(steps), math.inf, min(self.hold_kw, heater_kw), False)

    def warms_in_h(self, heater_kw: float) -> float:
        """Return the hours until it is warm with so much for its heater, above zero; infinite where it never is."""
        if self.pack_c >= WARM_C:
            return 0.0
        steady_c = steady_pack_c(ambient_c=self.ambient_c, heater_kw=heater_kw, loss_kw_per_k=self.loss_kw_per_k)
        return heating_hours_h(from_c=self.pack_c, to_c=WARM_C, steady_c=steady_c, time_constant_h=self.time_constant_h)


def cold_pack(*, energy_usable_kwh: float, ambient_c: float, pack_c: float) -> ColdPack:
    """Return a pack of this temperature in this air."""
    loss = loss_kw_per_k(energy_usable_kwh)
    stretches, from_c = [], pack_c
    for to_c in (CHARGES_FROM_C, FULL_POWER_FROM_C, WARM_C):
        if from_c < to_c:
            most_kw = math.inf
            if to_c < WARM_C:
                most_kw = cold_power_kw(pack_c=from_c, power_battery_kw=math.inf, energy_usable_kwh=energy_usable_kwh)
            stretches.append((from_c, to_c, most_kw))
            from_c = to_c
    return ColdPack(
        energy_usable_kwh=energy_usable_kwh,
        ambient_c=ambient_c,
        pack_c=pack_c,
        stretches=tuple(stretches),
        loss_kw_per_k=loss,
        time_constant_h=heat_capacity_kwh_per_k(energy_usable_kwh) / loss,
        hold_kw=hold_power_kw(loss_kw_per_k=loss, ambient_c=ambient_c),
    )


def cold_start(
    *,
    power_available_kw: float,
    cell_side_factor: float,
    energy_usable_kwh: float,
    heater_kw: float,
    ambient_c: float,
    pack_c: float,
) -> ColdStart:
    """Return how a charge begins in a pack of this temperature, and how it goes on.

    The heater comes first with what is there. Without one the pack stays as it is: it charges, crawls, or does not
    start. Nothing left for the battery is a power of zero, never a time without end.
    """
    left_kw = max(power_available_kw, 0.0)
    heater_kw = min(heater_kw, left_kw)
    pack = cold_pack(energy_usable_kwh=energy_usable_kwh, ambient_c=ambient_c, pack_c=pack_c)
    warming = pack.warm_up(heater_kw)
    while_heating_kw = (left_kw - heater_kw) * cell_side_factor
    steps = []
    for hours_h, most_kw in warming.steps:
        stored_kw = min(while_heating_kw, most_kw)
        steps.append(ColdStep(hours_h, stored_kw, stored_kw / cell_side_factor + heater_kw))
    steady_kw = min((left_kw - warming.beside_kw) * cell_side_factor, warming.most_kw)
    given_kw = left_kw if heater_kw > 0 and not warming.crawls else steady_kw / cell_side_factor + warming.beside_kw
    return ColdStart(tuple(steps), steady_kw, given_kw, warming.crawls)


def session_hours_h(
    *,
    soc_start: float,
    soc_target: float,
    power_available_kw: float,
    cell_side_factor: float,
    energy_usable_kwh: float,
    tail_factor: float,
    heater_kw: float,
    ambient_c: float,
    pack_c: float,
) -> float:
    """Return the exact hours of a charge between two states of charge, infinite where it is never reached."""
    if soc_target <= soc_start:
        return 0.0
    power_kw = power_available_kw * cell_side_factor
    cold_h = 0.0
    before_any_taper = soc_target <= 1 - tail_factor * LONGEST_TAIL_SOC
    if pack_c < WARM_C or ambient_c < WARM_C:
        left_kw = power_available_kw if power_available_kw > 0 else 0.0
        if not before_any_taper and soc_target > taper_start_soc(
            energy_usable_kwh=energy_usable_kwh, power_battery_kw=left_kw * cell_side_factor, tail_factor=tail_factor
        ):
            start = cold_start(
                power_available_kw=left_kw,
                cell_side_factor=cell_side_factor,
                energy_usable_kwh=energy_usable_kwh,
                heater_kw=heater_kw,
                ambient_c=ambient_c,
                pack_c=pack_c,
            )
            return _cold_hours_into_taper(start, soc_start, soc_target, energy_usable_kwh, tail_factor)
        cold_h, power_kw, done = _cold_hours(
            left_kw,
            cell_side_factor,
            energy_usable_kwh,
            heater_kw,
            ambient_c,
            pack_c,
            (soc_target - soc_start) * energy_usable_kwh,
        )
        if done:
            return cold_h
    if power_kw <= 0:
        return math.inf
    if before_any_taper:
        return cold_h + (soc_target - soc_start) * energy_usable_kwh / power_kw
    return cold_h + _warm_hours(soc_start, soc_target, energy_usable_kwh, power_kw, tail_factor)


def _cold_hours_into_taper(
    start: ColdStart, soc_start: float, soc_target: float, energy_kwh: float, tail_factor: float
) -> float:
    """Return the hours of a charge into the taper: while the pack warms, the smaller of both powers is stored."""
    steady_kw = start.power_battery_kw
    if steady_kw <= 0:
        return math.inf
    curve = {"energy_usable_kwh": energy_kwh, "power_battery_kw": steady_kw, "tail_factor": tail_factor}
    taper, offset = taper_start_soc(**curve), taper_offset(**curve)
    soc, hours_h = soc_start, 0.0
    for step in start.steps:
        left_h = step.hours_h
        if step.power_battery_kw <= 0:
            hours_h += left_h
            continue
        # Where the curve has fallen to what the step gives; with no tail it never has.
        meets = 1.0
        if not math.isinf(offset):
            share = min(step.power_battery_kw / steady_kw, 1.0)
            meets = min(1 + offset - (1 - taper + offset) * share, 1.0)
        flat_to = min(meets, soc_target)
        if soc < flat_to:
            flat_h = (flat_to - soc) * energy_kwh / step.power_battery_kw
            if flat_h > left_h:
                soc += left_h * step.power_battery_kw / energy_kwh
                hours_h += left_h
                continue
            soc = flat_to
            hours_h += flat_h
            left_h -= flat_h
        if soc >= soc_target:
            return hours_h
        until_h = _warm_hours(soc, soc_target, energy_kwh, steady_kw, tail_factor)
        if until_h <= left_h:
            return hours_h + until_h
        soc = soc_from_empty(hours_h=hours_from_empty_h(soc=soc, **curve) + left_h, **curve)
        hours_h += left_h
    return hours_h + _warm_hours(soc, soc_target, energy_kwh, steady_kw, tail_factor)


def _warm_hours(soc_start: float, soc_target: float, energy_kwh: float, power_kw: float, tail_factor: float) -> float:
    """Return the hours along the charge curve alone."""
    # Most sessions end before the taper: the closed form without its logarithm, as `battery` has it.
    if soc_target <= taper_start_soc(energy_usable_kwh=energy_kwh, power_battery_kw=power_kw, tail_factor=tail_factor):
        return (soc_target - soc_start) * energy_kwh / power_kw
    curve = {"energy_usable_kwh": energy_kwh, "power_battery_kw": power_kw, "tail_factor": tail_factor}
    return hours_from_empty_h(soc=soc_target, **curve) - hours_from_empty_h(soc=soc_start, **curve)


def _cold_hours(
    left_kw: float,
    cell_side_factor: float,
    energy_kwh: float,
    heater_kw: float,
    ambient_c: float,
    pack_c: float,
    missing_kwh: float,
) -> tuple[float, float, bool]:
    """Return what `cold_start` adds in hours, the steady power after it, and whether the session ends inside it.

    The same steps without a record of each: a band walks them a thousand times.
    """
    if heater_kw > left_kw:
        heater_kw = left_kw
    if heater_kw <= 0:
        full_kw = left_kw * cell_side_factor
        return 0.0, cold_power_kw(pack_c=pack_c, power_battery_kw=full_kw, energy_usable_kwh=energy_kwh), False
    hours_h = gained_kwh = 0.0
    loss = loss_kw_per_k(energy_kwh)
    if pack_c < WARM_C:
        steady_c = steady_pack_c(ambient_c=ambient_c, heater_kw=heater_kw, loss_kw_per_k=loss)
        time_constant_h = heat_capacity_kwh_per_k(energy_kwh) / loss
        heating_kw = (left_kw - heater_kw) * cell_side_factor
        for limit_c in (CHARGES_FROM_C, FULL_POWER_FROM_C, WARM_C):
            if pack_c >= limit_c:
                continue
            stored_kw = heating_kw
            if limit_c < WARM_C:
                stored_kw = cold_power_kw(pack_c=pack_c, power_battery_kw=heating_kw, energy_usable_kwh=energy_kwh)
            step_h = heating_hours_h(from_c=pack_c, to_c=limit_c, steady_c=steady_c, time_constant_h=time_constant_h)
            if step_h == math.inf:
                return hours_h - (gained_kwh / stored_kw if stored_kw > 0 else 0.0), stored_kw, False
            if stored_kw * step_h >= missing_kwh - gained_kwh:
                return hours_h + (missing_kwh - gained_kwh) / stored_kw, stored_kw, True
            hours_h += step_h
            gained_kwh += stored_kw * step_h
            pack_c = limit_c
    hold_kw = hold_power_kw(loss_kw_per_k=loss, ambient_c=ambient_c)
    steady_kw = (left_kw - (hold_kw if hold_kw < heater_kw else heater_kw)) * cell_side_factor
    return hours_h - (gained_kwh / steady_kw if steady_kw > 0 else 0.0), steady_kw, False


def charge_rate(
    dataset: Dataset,
    rig: Rig,
    vehicle: VehicleClass,
    *,
    setting_a: float,
    ambient_c: float,
    cabin_kw: float = 0.0,
    pack_c: float = WARM_C,
) -> tuple[ChargeRate, ChargeTable | None]:
    """Return the steady charge at a setting, and its table; no table when nothing is left for the battery.

    `cabin_kw` is what the cabin takes meanwhile, `pack_c` how warm the pack is at the plug-in.
    """
    charger = vehicle.onboard_charger
    source_v = rig.source.voltage_v.typical
    pilot_a = setting_a * (1 - vehicle.charging.pilot_margin.typical)
    capped_a = min(pilot_a, charger.current_a.typical)
    current_a, vehicle_a = capped_a, charger.current_a.typical
    why = "its charger's amps" if capped_a < pilot_a else None
    # Conductors are as warm as the draw makes them: first as at the cap in amps, which sets the draw where it holds.
    supply_ohm, cable_ohm = loop_resistances_ohm(dataset, rig, current_a=capped_a, ambient_c=ambient_c)
    power_kw = charger.power_kw.typical
    if (source_v - capped_a * (supply_ohm + cable_ohm)) * capped_a * charger.power_factor / 1000 > power_kw:
        # More than the kW cap at that current, so the loop can deliver the cap: the root exists. From the draw without
        # a drop two rounds find the warmth: each leaves about a hundredth of the error before.
        current_a = 1000 * power_kw / (source_v * charger.power_factor)
        for _ in range(2):
            supply_ohm, cable_ohm = loop_resistances_ohm(dataset, rig, current_a=current_a, ambient_c=ambient_c)
            current_a = constant_power_current_a(
                power_kw=power_kw,
                voltage_v=source_v,
                loop_resistance_ohm=supply_ohm + cable_ohm,
                power_factor=charger.power_factor,
            )
        vehicle_a, why = current_a, "its charger's power"
    evse_v = source_v - current_a * supply_ohm
    inlet_v = evse_v - current_a * cable_ohm
    power_source_kw, power_meter_kw, power_inlet_kw = (
        ac_power_kw(voltage_v=voltage_v, current_a=current_a, phases=1, power_factor=charger.power_factor)
        for voltage_v in (source_v, evse_v, inlet_v)
    )
    losses = vehicle.charger_losses
    cell = vehicle.charging.cell_side_factor
    energy_kwh = vehicle.energy_now_kwh
    heater_kw = vehicle.battery.heater_kw.typical if vehicle.battery.heater_kw is not None else 0.0
    used_kw = vehicle.charging.auxiliaries_kw.typical + cabin_kw
    if heater_kw > 0:  # a pack that is heated is cooled as well
        used_kw += cooling_power_kw(ambient_c=ambient_c, energy_usable_kwh=energy_kwh)
    output_kw = charger_output_kw(input_kw=power_inlet_kw, **losses)
    available_kw = max(output_kw - used_kw, 0.0)
    if pack_c < WARM_C or ambient_c < WARM_C:
        cold = cold_start(
            power_available_kw=available_kw,
            cell_side_factor=cell,
            energy_usable_kwh=energy_kwh,
            heater_kw=heater_kw,
            ambient_c=ambient_c,
            pack_c=pack_c,
        )
        stored_kw, given_kw = cold.power_battery_kw, cold.power_dc_kw
    else:
        cold = WARM_START
        stored_kw = battery_power_kw(output_kw=output_kw, auxiliaries_kw=used_kw, cell_side_factor=cell)
        given_kw = available_kw
    rate = ChargeRate(
        current_a=current_a,
        held_back_by_vehicle=why,
        vehicle_limit_a=vehicle_a,
        voltage_evse_v=evse_v,
        voltage_inlet_v=inlet_v,
        power_source_kw=power_source_kw,
        power_meter_kw=power_meter_kw,
        power_inlet_kw=power_inlet_kw,
        power_battery_kw=stored_kw,
        power_available_kw=available_kw,
        cold=cold,
    )
    if stored_kw <= 0:
        return rate, None
    # What the vehicle uses beside the battery while it charges: its own use, the cabin, and the pack's heater.
    beside_kw = used_kw + given_kw - stored_kw / cell
    linear, quadratic_per_kw = losses["loss_linear"], losses["loss_quadratic_per_kw"]
    # The charger's input as a polynomial in the power stored: P_o = P_b / cell + the rest put into its loss line.
    table = ChargeTable(
        energy_usable_kwh=energy_kwh,
        power_battery_kw=stored_kw,
        power_inlet_kw=power_inlet_kw,
        input_no_load_kw=losses["loss_no_load_kw"] + (1 + linear) * beside_kw + quadratic_per_kw * beside_kw**2,
        input_linear=(1 + linear + 2 * quadratic_per_kw * beside_kw) / cell,
        input_quadratic_per_kw=quadratic_per_kw / cell**2,
        tail_factor=vehicle.battery.tail_factor,
        cold=_cold_table(cold, energy_kwh, used_kw, losses) if cold.steps else None,
    )
    return rate, table


def _cold_table(cold: ColdStart, energy_kwh: float, used_kw: float, losses: dict[str, float]) -> ColdTable:
    """Return a cold start in whole percents, seconds and watt-hours."""
    seconds: list[int] = []
    inlet_wh: list[int] = []
    hours_h = inlet_kwh = gained_kwh = 0.0
    for step in cold.steps:
        drawn_kw = charger_input_kw(output_kw=step.power_dc_kw + used_kw, **losses)
        until_kwh = gained_kwh + step.hours_h * step.power_battery_kw
        while (len(seconds) + 1) * energy_kwh / 100 <= until_kwh and len(seconds) < 100:
            into_h = ((len(seconds) + 1) * energy_kwh / 100 - gained_kwh) / step.power_battery_kw
            seconds.append(round(3600 * (hours_h + into_h)))
            inlet_wh.append(round(1000 * (inlet_kwh + into_h * drawn_kw)))
        gained_kwh = until_kwh
        hours_h += step.hours_h
        inlet_kwh += step.hours_h * drawn_kw
    steady_h = gained_kwh / cold.power_battery_kw
    steady_kw = charger_input_kw(output_kw=cold.power_dc_kw + used_kw, **losses)
    return ColdTable(
        tuple(seconds),
        tuple(inlet_wh),
        max(round(3600 * (hours_h - steady_h)), 0),
        max(round(1000 * (inlet_kwh - steady_h * steady_kw)), 0),
    )
