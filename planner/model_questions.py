"""Questions to the whole model that published tests answer too: by the same functions and class records as a plan.

Each takes the shipped data and what a case gives. `mild` air is 24 C, warm enough that no pack is heated or cooled.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from planner.cabin import cabin_power_kw, standing_power_kw
from planner.charge import session_hours_h
from planner.journey import (
    LABEL_AIR_C,
    MIXED_ROAD,
    URBAN_SHARE,
    Air,
    LevelEnergy,
    Road,
    label_wh_per_10_miles,
    level_energy,
    road_energy,
)
from planner.power import battery_power_kw, charger_output_kw
from planner.records import HIGHWAY_SCHEDULE, M_PER_S_PER_MPH, URBAN_SCHEDULE, Dataset, VehicleClass
from planner.road import miles_added_per_hour_mi
from planner.roadload import trace_of

__all__ = ["MODEL_QUESTIONS", "ModelQuestion", "answer_model"]

MILD_C = 24.0
Cycle = Literal["urban", "highway"]


@dataclass(frozen=True, slots=True)
class ModelQuestion:
    """A named question: the function that answers it, and the unit of the answer, empty for a factor."""

    ask: Callable[..., float]
    unit: str


def answer_model(dataset: Dataset, name: str, given: Mapping[str, Any]) -> float:
    """Return what the model says to a named question."""
    return MODEL_QUESTIONS[name].ask(dataset, **given)


def _vehicle(dataset: Dataset, name: str, *, resistive: bool = False) -> VehicleClass:
    """Return a class, on request as those of its vehicles that heat without a heat pump."""
    vehicle = dataset.vehicle_classes[name]
    if not resistive:
        return vehicle
    cabin = vehicle.cabin.model_copy(update={"heating": "resistive"})
    return vehicle.model_copy(update={"id": f"{name}-resistive", "cabin": cabin})


# ------------------------------------------------------------------------------------------------------------ the road


def _consumption_factor(
    dataset: Dataset,
    vehicle: str,
    ambient_c: float,
    *,
    speed_mph: float | None = None,
    cabin_heat: bool = True,
    resistive: bool = False,
    mild_c: float = MILD_C,
) -> float:
    """Return what ten miles take in this air over what the same road takes in mild air."""
    asked = _vehicle(dataset, vehicle, resistive=resistive)
    road = Road(speed_mph=speed_mph, cabin_heat=cabin_heat)
    here, mild = (road_energy(dataset, asked, road, Air(air_c, 0.0)).wh_per_10_miles for air_c in (ambient_c, mild_c))
    return here / mild


def _range_loss(dataset: Dataset, vehicle: str, ambient_c: float, **given: Any) -> float:
    """Return the percent of range that this air takes against mild air."""
    return 100 * (1 - 1 / _consumption_factor(dataset, vehicle, ambient_c, **given))


def _range_loss_to_label(dataset: Dataset, vehicle: str, ambient_c: float) -> float:
    """Return the percent of its label's range that a class loses on the mixed road in this air."""
    asked = _vehicle(dataset, vehicle)
    wh = road_energy(dataset, asked, Road(), Air(ambient_c, 0.0)).wh_per_10_miles
    return 100 * (1 - label_wh_per_10_miles(asked) / wh)


def _mean_range_loss_to_label(dataset: Dataset, vehicles: Sequence[str], ambient_c: float) -> float:
    """Return the mean over classes of the percent of range lost against the label."""
    return sum(_range_loss_to_label(dataset, vehicle, ambient_c) for vehicle in vehicles) / len(vehicles)


def _cycle_energy(dataset: Dataset, vehicle: VehicleClass, cycle: Cycle, ambient_c: float) -> LevelEnergy:
    """Return the unscaled energy of one drive schedule; the label's 0.7 is in it and falls out of every ratio."""
    speeds = dataset.schedules[URBAN_SCHEDULE if cycle == "urban" else HIGHWAY_SCHEDULE].speeds_m_per_s
    trace = trace_of([(speeds, 1.0)], top_speed_m_per_s=vehicle.road.top_speed_mph * M_PER_S_PER_MPH)
    return level_energy(vehicle, MIXED_ROAD, Air(ambient_c, 0.0), trace)


def _cycle_factor(dataset: Dataset, vehicle: str, cycle: Cycle, ambient_c: float) -> float:
    """Return what one drive schedule takes with cabin heat in this air over what it takes in mild air."""
    asked = _vehicle(dataset, vehicle)
    urban_kwh, highway_kwh = (
        _cycle_energy(dataset, asked, each, LABEL_AIR_C).energy_kwh_per_100mi for each in ("urban", "highway")
    )
    label_kwh = label_wh_per_10_miles(asked) / 100
    scale = label_kwh / (URBAN_SHARE * urban_kwh + (1 - URBAN_SHARE) * highway_kwh)

    def whole_kwh(air_c: float) -> float:
        drive = _cycle_energy(dataset, asked, cycle, air_c)
        cabin_kw = cabin_power_kw(
            ambient_c=air_c, size_factor=asked.cabin.size_factor, heat_pump_share=asked.cabin.heat_pump_share
        )
        return scale * drive.energy_kwh_per_100mi + 100 * cabin_kw * drive.hours_per_mile

    return whole_kwh(ambient_c) / whole_kwh(MILD_C)


def _cycle_extra_ratio(dataset: Dataset, vehicle: str, ambient_c: float) -> float:
    """Return the extra share that the cold takes in the city over the extra share on the highway schedule."""
    urban, highway = (_cycle_factor(dataset, vehicle, each, ambient_c) for each in ("urban", "highway"))
    return (urban - 1) / (highway - 1)


def _speed_factor(dataset: Dataset, vehicle: str, high_mph: float, low_mph: float) -> float:
    """Return what ten miles take at one steady speed over another, without cabin heat, in mild air."""
    asked = _vehicle(dataset, vehicle)
    fast, slow = (
        road_energy(dataset, asked, Road(speed_mph=mph, cabin_heat=False), Air(MILD_C, 0.0)).wh_per_10_miles
        for mph in (high_mph, low_mph)
    )
    return fast / slow


def _trailer_factor(dataset: Dataset, vehicle: str, trailer_kg: float, speed_mph: float) -> float:
    """Return what ten miles take with a trailer over without, at a steady speed in mild air."""
    asked = _vehicle(dataset, vehicle)
    towing, alone = (
        road_energy(
            dataset, asked, Road(speed_mph=speed_mph, trailer_kg=kg, cabin_heat=False), Air(MILD_C, 0.0)
        ).wh_per_10_miles
        for kg in (trailer_kg, 0.0)
    )
    return towing / alone


def _standing_cabin_kw(dataset: Dataset, vehicle: str, ambient_c: float) -> float:
    """Return what the cabin takes while the vehicle stands."""
    cabin = _vehicle(dataset, vehicle).cabin
    return standing_power_kw(ambient_c=ambient_c, size_factor=cabin.size_factor, heat_pump_share=cabin.heat_pump_share)


# ---------------------------------------------------------------------------------------------------------- the charge


def _available_kw(vehicle: VehicleClass, inlet_kw: float) -> float:
    """Return what is left for the battery of an AC power at the inlet in mild air."""
    output_kw = charger_output_kw(input_kw=inlet_kw, **vehicle.charger_losses)
    return max(output_kw - vehicle.charging.auxiliaries_kw.typical, 0.0)


def _stored_kw(vehicle: VehicleClass, inlet_kw: float) -> float:
    """Return what is stored of an AC power at the inlet in mild air."""
    return battery_power_kw(
        output_kw=charger_output_kw(input_kw=inlet_kw, **vehicle.charger_losses),
        auxiliaries_kw=vehicle.charging.auxiliaries_kw.typical,
        cell_side_factor=vehicle.charging.cell_side_factor,
    )


def _stored_share(dataset: Dataset, vehicle: str, inlet_kw: float) -> float:
    """Return the share of the AC energy at the inlet that is stored, in mild air."""
    return _stored_kw(_vehicle(dataset, vehicle), inlet_kw) / inlet_kw


def _mean_stored_share(dataset: Dataset, vehicles: Sequence[str], inlet_kw: float) -> float:
    """Return the mean over classes of the share that is stored."""
    return sum(_stored_share(dataset, vehicle, inlet_kw) for vehicle in vehicles) / len(vehicles)


def _stored_share_gain(dataset: Dataset, vehicle: str, high_kw: float, low_kw: float) -> float:
    """Return by how many points of a hundred more is stored at a high power than at a low one."""
    return 100 * (_stored_share(dataset, vehicle, high_kw) - _stored_share(dataset, vehicle, low_kw))


def _miles_per_hour(dataset: Dataset, vehicle: str, inlet_kw: float) -> float:
    """Return the miles of the mixed road that an hour of charging adds in mild air, rounded down to whole miles."""
    asked = _vehicle(dataset, vehicle)
    road = road_energy(dataset, asked, Road(), Air(MILD_C, 0.0))
    power_w = int(1000 * _stored_kw(asked, inlet_kw))
    return float(miles_added_per_hour_mi(power_w=power_w, wh_per_10_miles_wh=road.wh_per_10_miles))


def _miles_in_hours(dataset: Dataset, vehicle: str, inlet_kw: float, hours: float) -> float:
    """Return the miles of the mixed road that some hours of charging add in mild air, before the tail."""
    asked = _vehicle(dataset, vehicle)
    road = road_energy(dataset, asked, Road(), Air(MILD_C, 0.0))
    return 10_000 * _stored_kw(asked, inlet_kw) * hours / road.wh_per_10_miles


def _charge_hours(
    dataset: Dataset,
    vehicle: str,
    inlet_kw: float,
    soc_start: float,
    soc_target: float,
    energy_usable_kwh: float | None = None,
) -> float:
    """Return the hours of a charge in mild air; without an energy it is the class's own battery."""
    asked = _vehicle(dataset, vehicle)
    heater = asked.battery.heater_kw
    return session_hours_h(
        soc_start=soc_start,
        soc_target=soc_target,
        power_available_kw=_available_kw(asked, inlet_kw),
        cell_side_factor=asked.charging.cell_side_factor,
        energy_usable_kwh=asked.energy_now_kwh if energy_usable_kwh is None else energy_usable_kwh,
        tail_factor=asked.battery.tail_factor,
        heater_kw=heater.typical if heater is not None else 0.0,
        ambient_c=MILD_C,
        pack_c=MILD_C,
    )


MODEL_QUESTIONS = {
    "charge_hours": ModelQuestion(_charge_hours, "h"),
    "consumption_factor": ModelQuestion(_consumption_factor, ""),
    "cycle_extra_ratio": ModelQuestion(_cycle_extra_ratio, ""),
    "cycle_factor": ModelQuestion(_cycle_factor, ""),
    "mean_range_loss_to_label": ModelQuestion(_mean_range_loss_to_label, "%"),
    "mean_stored_share": ModelQuestion(_mean_stored_share, ""),
    "miles_in_hours": ModelQuestion(_miles_in_hours, "mi"),
    "miles_per_hour": ModelQuestion(_miles_per_hour, "mi/h"),
    "range_loss": ModelQuestion(_range_loss, "%"),
    "range_loss_to_label": ModelQuestion(_range_loss_to_label, "%"),
    "speed_factor": ModelQuestion(_speed_factor, ""),
    "standing_cabin_kw": ModelQuestion(_standing_cabin_kw, "kW"),
    "stored_share": ModelQuestion(_stored_share, ""),
    "stored_share_gain": ModelQuestion(_stored_share_gain, "points"),
    "trailer_factor": ModelQuestion(_trailer_factor, ""),
}
