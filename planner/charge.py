"""Power at the meter, at the inlet and into the battery, and the charge table that follows from it."""

import math
from dataclasses import dataclass
from functools import cached_property

from planner.battery import hours_from_empty_h, soc_from_empty, wall_energy_kwh
from planner.chain import ampacities
from planner.circuit import AMPACITY_BASE_C, conductor_temperature_c, resistance_at_ohm_per_km
from planner.power import ac_power_kw, battery_power_kw, charger_output_kw, constant_power_current_a
from planner.records import RESISTANCE_TABLE, Conductor, Dataset, Rig, VehicleClass

__all__ = ["ChargeRate", "ChargeTable", "charge_rate", "loop_resistances_ohm"]

# nec-2017, chapter 9 Table 8 note 2, at 75 C
TEMPERATURE_COEFFICIENT_PER_C = {"copper": 0.00323, "aluminum": 0.00330}


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

    def seconds_at(self, percent: int) -> int:
        """Return the whole seconds from empty to a percent."""
        return round(
            3600
            * hours_from_empty_h(
                soc=percent / 100, energy_usable_kwh=self.energy_usable_kwh, power_battery_kw=self.power_battery_kw
            )
        )

    def percent_at(self, until_s: int) -> int:
        """Return the last whole percent that is reached within so many seconds from empty."""
        guess = soc_from_empty(
            hours_h=until_s / 3600,
            energy_usable_kwh=self.energy_usable_kwh,
            power_battery_kw=self.power_battery_kw,
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
        return round(
            1000
            * wall_energy_kwh(
                soc_start=0.0,
                soc_target=percent / 100,
                energy_usable_kwh=self.energy_usable_kwh,
                power_battery_kw=self.power_battery_kw,
                input_no_load_kw=self.input_no_load_kw,
                input_linear=self.input_linear,
                input_quadratic_per_kw=self.input_quadratic_per_kw,
            )
        )

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


def charge_rate(
    dataset: Dataset, rig: Rig, vehicle: VehicleClass, *, setting_a: float, ambient_c: float
) -> tuple[ChargeRate, ChargeTable | None]:
    """Return the steady charge at a setting, and its table; no table when nothing is left for the battery."""
    charger = vehicle.onboard_charger
    source_v = rig.source.voltage_v.typical
    pilot_a = setting_a * (1 - vehicle.charging.pilot_margin.typical)
    stiff_a = 1000 * charger.power_kw.typical / (source_v * charger.power_factor)  # its kW cap, were there no drop
    # The conductors are as warm as the draw makes them, which is a percent or two above this at a kW cap.
    warming_a = min(pilot_a, charger.current_a.typical, stiff_a)
    supply_ohm, cable_ohm = loop_resistances_ohm(dataset, rig, current_a=warming_a, ambient_c=ambient_c)
    loop_ohm = supply_ohm + cable_ohm
    capped_a = min(pilot_a, charger.current_a.typical)
    inlet_kw_at_cap = (source_v - capped_a * loop_ohm) * capped_a * charger.power_factor / 1000
    why = None
    if inlet_kw_at_cap > charger.power_kw.typical:
        # More than the kW cap at that current, so the loop can deliver the cap: the root exists.
        current_a = constant_power_current_a(
            power_kw=charger.power_kw.typical,
            voltage_v=source_v,
            loop_resistance_ohm=loop_ohm,
            power_factor=charger.power_factor,
        )
        vehicle_a, why = current_a, "its charger's power"
    else:
        current_a, vehicle_a = capped_a, charger.current_a.typical
        if capped_a < pilot_a:
            why = "its charger's amps"
    evse_v = source_v - current_a * supply_ohm
    inlet_v = evse_v - current_a * cable_ohm
    power_source_kw, power_meter_kw, power_inlet_kw = (
        ac_power_kw(voltage_v=voltage_v, current_a=current_a, phases=1, power_factor=charger.power_factor)
        for voltage_v in (source_v, evse_v, inlet_v)
    )
    scale = vehicle.loss_scale
    no_load_kw = charger.loss_no_load_kw * scale
    linear = charger.loss_linear * scale
    quadratic_per_kw = charger.loss_quadratic_per_kw * scale
    auxiliaries_kw = vehicle.charging.auxiliaries_kw.typical
    cell = vehicle.charging.cell_side_factor
    stored_kw = battery_power_kw(
        output_kw=charger_output_kw(
            input_kw=power_inlet_kw,
            loss_no_load_kw=no_load_kw,
            loss_linear=linear,
            loss_quadratic_per_kw=quadratic_per_kw,
        ),
        auxiliaries_kw=auxiliaries_kw,
        cell_side_factor=cell,
    )
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
    )
    if stored_kw <= 0:
        return rate, None
    # The charger's input as a polynomial in the power stored: P_o = P_b / cell + aux put into its loss line.
    table = ChargeTable(
        energy_usable_kwh=vehicle.battery.energy_usable_kwh.typical,
        power_battery_kw=stored_kw,
        power_inlet_kw=power_inlet_kw,
        input_no_load_kw=no_load_kw + (1 + linear) * auxiliaries_kw + quadratic_per_kw * auxiliaries_kw**2,
        input_linear=(1 + linear + 2 * quadratic_per_kw * auxiliaries_kw) / cell,
        input_quadratic_per_kw=quadratic_per_kw / cell**2,
    )
    return rate, table
