"""Questions to the whole model that published tests answer too: by the same functions and class records as a plan.

Each takes the shipped data and what a case gives. `mild` air is 24 C, warm enough that no pack is heated or cooled.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from planner.answer import Answer, Call, answer
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
from planner.protection import findings
from planner.records import HIGHWAY_SCHEDULE, M_PER_S_PER_MPH, URBAN_SCHEDULE, Dataset, Rig, VehicleClass
from planner.road import miles_added_per_hour_mi
from planner.roadload import trace_of
from planner.trip import ToPercent

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


# ------------------------------------------------------------------------------------------------------------- the rig

SourceKind = Literal["generator", "site_outlet"]
ASKED_MARKS_A = (40.0, 48.0)  # what the unit of these questions may be set to
ASKED_RUNNING_W = 20_000.0  # at the cautious share of 0.8 it still gives more than 60 A at 240 V: it holds nothing back
FIXED_CIRCUIT_V = 240.0


def _rig(source_v: float, breaker_a: float, *, receptacle: str | None = None, source: SourceKind = "generator") -> Rig:
    """Return a rig whose breaker and receptacle alone hold back a unit with marks of 40 and 48 A."""
    volts_v = {"low": source_v - 2.0, "typical": source_v, "high": source_v + 2.0}
    place: dict[str, Any] = {
        "kind": source,
        "connection": "split_phase_240",
        "voltage_v": volts_v,
        "neutral": "bonded_at_source",
    }
    if source == "generator":
        fuel = {
            "running_power_w": ASKED_RUNNING_W,
            "tank_l": 100.0,
            "burn_no_load_l_per_h": 2.0,
            "burn_slope_l_per_kwh": 0.4,
        }
        place |= {
            "nameplate_current_a": ASKED_RUNNING_W / FIXED_CIRCUIT_V,
            "default_fuel": "gasoline",
            "fuels": {"gasoline": fuel},
            "derate": {},
        }
    wire = {
        "part": "conductor",
        "id": "wire",
        "name": "Wire",
        "construction": "building_wire",
        "material": "copper",
        "size_awg": "6",
        "temperature_rating_c": 90,
        "termination_column_c": 75,
        "loaded_conductors": 2,
        "length_m": 3.0,
        "grounding_awg": "10",
    }
    outlet = {"part": "receptacle", "id": "outlet", "name": "Receptacle", "outlet": receptacle, "grade": "evse_listed"}
    marks = tuple({"mark": f"{amps:g}", "marked_as": "output_amps", "output_a": amps} for amps in ASKED_MARKS_A)
    return Rig.model_validate(
        {
            "id": "asked",
            "name": "Rig of a question",
            "summary": "made for a question",
            "source": place,
            "usual_site": {"altitude_m": 0.0, "ambient_c": MILD_C},
            "supply": (
                {"part": "breaker", "id": "main", "name": "Breaker", "rating_a": float(breaker_a)},
                wire,
                *((outlet,) if receptacle is not None else ()),
            ),
            "evse": {
                "listing": "listed",
                "output_max_a": max(ASKED_MARKS_A),
                "voltage_low_v": 200.0,
                "voltage_high_v": 264.0,
                "connected_by": "hard_wired" if receptacle is None else "listed_cord_and_plug",
                "plug": receptacle,
                "set_by": "outside_control",
                "survives_power_cycle": True,
                "setting_now": marks[0]["mark"],
                "settings": marks,
                "cable": {
                    "connector": "j3400",
                    "rating_a": max(ASKED_MARKS_A),
                    "size_awg": "6",
                    "temperature_rating_c": 105,
                    "length_m": 7.6,
                },
            },
        }
    )


def _served(
    dataset: Dataset,
    vehicle: str,
    source_v: float,
    breaker_a: float,
    *,
    receptacle: str | None = None,
    source: SourceKind = "generator",
    ambient_c: float = MILD_C,
) -> Answer:
    """Return the answer of such a rig for a class with a J3400 inlet, from 20 to 80 %."""
    rig = _rig(float(source_v), breaker_a, receptacle=receptacle, source=source)
    call = Call(rig.id, vehicle, 20, ToPercent(80), ambient_c=ambient_c)
    return answer(replace(dataset, rigs={**dataset.rigs, rig.id: rig}), call)


def _rig_setting_a(dataset: Dataset, vehicle: str, source_v: float, breaker_a: float, **given: Any) -> float:
    """Return the amps that the unit is turned to."""
    setting = _served(dataset, vehicle, source_v, breaker_a, **given).setting
    assert setting is not None, f"{vehicle} is not served"
    return setting.output_a


def _rig_current_a(dataset: Dataset, vehicle: str, source_v: float, breaker_a: float, **given: Any) -> float:
    """Return the amps that a meter at the EVSE shows."""
    rate = _served(dataset, vehicle, source_v, breaker_a, **given).rate
    assert rate is not None, f"{vehicle} is not served"
    return rate.current_a


def _rig_meter_kw(dataset: Dataset, vehicle: str, source_v: float, breaker_a: float, **given: Any) -> float:
    """Return the power that a meter at the EVSE shows."""
    rate = _served(dataset, vehicle, source_v, breaker_a, **given).rate
    assert rate is not None, f"{vehicle} is not served"
    return rate.power_meter_kw


def _rig_pack_kw(dataset: Dataset, vehicle: str, source_v: float, breaker_a: float, **given: Any) -> float:
    """Return the DC power at the pack's terminals, which a vehicle can measure and show; what is stored it cannot."""
    rate = _served(dataset, vehicle, source_v, breaker_a, **given).rate
    assert rate is not None, f"{vehicle} is not served"
    return rate.power_available_kw


def _rig_label_miles(dataset: Dataset, vehicle: str, source_v: float, breaker_a: float, **given: Any) -> float:
    """Return the miles that an hour adds by the label, whole."""
    return float(_served(dataset, vehicle, source_v, breaker_a, **given).miles_added_per_hour_label_mi)


def _rig_road_over_label(dataset: Dataset, vehicle: str, source_v: float, breaker_a: float, **given: Any) -> float:
    """Return the miles that an hour adds on the mixed road in this air over those by the label, both whole."""
    found = _served(dataset, vehicle, source_v, breaker_a, **given)
    return found.miles_added_per_hour_mi / found.miles_added_per_hour_label_mi


def _rig_breaker_gain(
    dataset: Dataset, vehicle: str, source_v: float, large_a: float, small_a: float, small_receptacle: str
) -> float:
    """Return the metered power hard-wired to the large breaker over that of a receptacle on the small one."""
    large_kw = _rig_meter_kw(dataset, vehicle, source_v, large_a)
    return large_kw / _rig_meter_kw(dataset, vehicle, source_v, small_a, receptacle=small_receptacle)


def _rig_over_fixed_kw(dataset: Dataset, vehicle: str, source_v: float, breaker_a: float) -> float:
    """Return by how much a generator rig meters more than the same unit on a fixed circuit of 240 V."""
    fixed_kw = _rig_meter_kw(dataset, vehicle, FIXED_CIRCUIT_V, breaker_a, source="site_outlet")
    return _rig_meter_kw(dataset, vehicle, source_v, breaker_a) - fixed_kw


def _distortion_noted_percent(dataset: Dataset, source_v: float, breaker_a: float) -> float:
    """Return the lowest distortion of a generator's volts that a rig's findings speak of, in tenths of a percent."""
    rig = _rig(float(source_v), breaker_a)

    def is_noted(thd_percent: float) -> bool:
        distorted = rig.model_copy(update={"source": rig.source.model_copy(update={"thd_percent": thd_percent})})
        return any(finding.code == "thd_high" for finding in findings(dataset, distorted, ambient_c=MILD_C))

    return next(tenths / 10 for tenths in range(601) if is_noted(tenths / 10))


MODEL_QUESTIONS = {
    "charge_hours": ModelQuestion(_charge_hours, "h"),
    "consumption_factor": ModelQuestion(_consumption_factor, ""),
    "cycle_extra_ratio": ModelQuestion(_cycle_extra_ratio, ""),
    "cycle_factor": ModelQuestion(_cycle_factor, ""),
    "distortion_noted_percent": ModelQuestion(_distortion_noted_percent, "%"),
    "mean_range_loss_to_label": ModelQuestion(_mean_range_loss_to_label, "%"),
    "mean_stored_share": ModelQuestion(_mean_stored_share, ""),
    "miles_in_hours": ModelQuestion(_miles_in_hours, "mi"),
    "miles_per_hour": ModelQuestion(_miles_per_hour, "mi/h"),
    "range_loss": ModelQuestion(_range_loss, "%"),
    "range_loss_to_label": ModelQuestion(_range_loss_to_label, "%"),
    "rig_breaker_gain": ModelQuestion(_rig_breaker_gain, ""),
    "rig_current_a": ModelQuestion(_rig_current_a, "A"),
    "rig_label_miles": ModelQuestion(_rig_label_miles, "mi/h"),
    "rig_meter_kw": ModelQuestion(_rig_meter_kw, "kW"),
    "rig_over_fixed_kw": ModelQuestion(_rig_over_fixed_kw, "kW"),
    "rig_pack_kw": ModelQuestion(_rig_pack_kw, "kW"),
    "rig_road_over_label": ModelQuestion(_rig_road_over_label, ""),
    "rig_setting_a": ModelQuestion(_rig_setting_a, "A"),
    "speed_factor": ModelQuestion(_speed_factor, ""),
    "standing_cabin_kw": ModelQuestion(_standing_cabin_kw, "kW"),
    "stored_share": ModelQuestion(_stored_share, ""),
    "stored_share_gain": ModelQuestion(_stored_share_gain, "points"),
    "trailer_factor": ModelQuestion(_trailer_factor, ""),
}
