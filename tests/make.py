"""Builds records and datasets for tests: each states only what matters, the rest is ordinary."""

from dataclasses import replace
from functools import cache

from planner.answer import Call
from planner.loading import load
from planner.plan_types import Plan
from planner.planning import plan
from planner.records import Dataset, Rig, VehicleClass
from planner.trip import Need, ToPercent


@cache
def shipped_dataset() -> Dataset:
    """Return the shipped data: tables, couplers and outlets for every test."""
    return load()


def source(**changes: object) -> dict:
    """Return a bonded 240 V generator that is large enough to bind nothing."""
    fields = {
        "kind": "generator",
        "connection": "split_phase_240",
        "voltage_v": {"low": 235.0, "typical": 240.0, "high": 240.0},
        "nameplate_current_a": 200.0,
        "neutral": "bonded_at_source",
        "instructions": "allow",
        "default_fuel": "gasoline",
        "fuels": {
            "gasoline": {
                "running_power_w": 60000.0,
                "tank_l": 100.0,
                "spare_l": 0.0,
                "burn_no_load_l_per_h": 1.0,
                "burn_slope_l_per_kwh": 0.4,
            }
        },
        "derate": {"loss_per_1000ft": 0.035, "loss_per_10f": 0.01, "free_altitude_m": 0.0, "free_ambient_c": 25.0},
    }
    return {**fields, **changes}


def generator(running_power_w: float, **changes: object) -> dict:
    """Return a generator with these running watts on gasoline."""
    fields = source()
    fields["fuels"]["gasoline"]["running_power_w"] = running_power_w
    return {**fields, **changes}


def battery(**changes: object) -> dict:
    """Return a battery with an inverter."""
    fields = {
        "kind": "battery_inverter",
        "connection": "split_phase_240",
        "voltage_v": {"low": 238.0, "typical": 240.0, "high": 242.0},
        "nameplate_current_a": 60.0,
        "neutral": "bonded_at_source",
        "instructions": "allow",
        "power_continuous_w": 12000.0,
        "energy_usable_kwh": 40.0,
        "soc_floor": 0.1,
        "efficiency": 0.92,
    }
    return {**fields, **changes}


def breaker(rating_a: float, **changes: object) -> dict:
    """Return an overcurrent device."""
    return {"part": "breaker", "id": "main", "name": "Main breaker", "rating_a": rating_a, **changes}


def receptacle(outlet: str = "nema-14-50", **changes: object) -> dict:
    """Return a receptacle."""
    return {
        "part": "receptacle",
        "id": "outlet",
        "name": "Receptacle",
        "outlet": outlet,
        "grade": "industrial",
        **changes,
    }


def cord(size_awg: str = "6", **changes: object) -> dict:
    """Return a field-made flexible cord of 60 C with two loaded conductors."""
    fields = {
        "part": "conductor",
        "id": "cord",
        "name": "Cord",
        "construction": "flexible_cord",
        "material": "copper",
        "size_awg": size_awg,
        "temperature_rating_c": 60,
        "termination_column_c": 60,
        "loaded_conductors": 2,
        "length_m": 3.0,
        "grounding_awg": size_awg,
        "wet_rated": True,
    }
    return {**fields, **changes}


def wire(size_awg: str = "6", **changes: object) -> dict:
    """Return building wire of 90 C on 75 C terminations."""
    fields = {"construction": "building_wire", "temperature_rating_c": 90, "termination_column_c": 75}
    return cord(size_awg, **{**fields, "id": "wire", "name": "Wire", **changes})


def settings(*currents_a: float) -> list[dict]:
    """Return one setting a current, marked with it."""
    return [
        {"mark": f"{current_a:g}".replace(".", "-"), "marked_as": "output_amps", "output_a": float(current_a)}
        for current_a in currents_a
    ]


def evse(*currents_a: float, **changes: object) -> dict:
    """Return an EVSE on a knob outside with these settings, standing at the highest."""
    offered = settings(*(currents_a or (6, 12, 16, 24, 32, 40, 48, 64, 80)))
    cable = {
        "connector": changes.pop("connector", "j1772"),
        "rating_a": 80.0,
        "size_awg": "4",
        "temperature_rating_c": 105,
        "length_m": 7.6,
    }
    fields = {
        "listing": "listed",
        "output_max_a": 80.0,
        "voltage_low_v": 100.0,
        "voltage_high_v": 264.0,
        "connected_by": "hard_wired",
        "set_by": "outside_control",
        "survives_power_cycle": True,
        "setting_now": offered[-1]["mark"],
        "settings": offered,
        "cable": cable,
    }
    return {**fields, **changes}


def rig(**changes: object) -> Rig:
    """Return a rig that binds nothing: 60 kW source, 200 A breaker, 80 A EVSE with a J1772 cable."""
    fields = {
        "id": "made",
        "name": "Made rig",
        "summary": "made for a test",
        "source": source(),
        "usual_site": {"altitude_m": 0.0, "ambient_c": 25.0},
        "supply": [breaker(200.0)],
        "evse": evse(),
        "adapters": [],
        **changes,
    }
    return Rig.model_validate(_tuples(fields))


def vehicle(**changes: object) -> VehicleClass:
    """Return a class with a J1772 inlet, 60 kWh and an 80 A, 19.2 kW charger."""
    fields = {
        "id": "made",
        "name": "Made class",
        "summary": "made for a test",
        "body": "hatch",
        "built_from": 2015,
        "ports": [{"inlet": changes.pop("inlet", "j1772"), "places": [{"at": "nose"}]}],
        "battery": {
            "energy_usable_kwh": exactly(changes.pop("energy_usable_kwh", 60.0)),
            "health": exactly(changes.pop("health", 1.0)),
            "chemistry": changes.pop("chemistry", "nickel"),
            **({"heater_kw": exactly(heater_kw)} if (heater_kw := changes.pop("heater_kw", 3.5)) else {}),
        },
        "onboard_charger": {
            "phases": 1,
            "current_a": exactly(changes.pop("charger_current_a", 80.0)),
            "power_kw": exactly(changes.pop("charger_power_kw", 19.2)),
            "voltage_low_v": 100.0,
            "voltage_high_v": 264.0,
            "power_factor": 1.0,
            "loss_no_load_kw": changes.pop("loss_no_load_kw", 0.08),
            "loss_linear": 0.025,
            "loss_quadratic_per_kw": 0.0016,
        },
        "label": {"consumption_wall_kwh_per_100mi": exactly(30.0), "efficiency": 0.88, "voltage_v": 240.0},
        "charging": {
            "auxiliaries_kw": exactly(changes.pop("auxiliaries_kw", 0.3)),
            "cell_side_factor": 0.985,
            "pilot_margin": exactly(changes.pop("pilot_margin", 0.0)),
        },
        "road": road(),
        "cabin": {"heating": "resistive", "size_factor": 1.0},
        **changes,
    }
    return VehicleClass.model_validate(_tuples(fields))


def road(**changes: object) -> dict:
    """Return the road load of a car of two tonnes."""
    fields = {
        "mass_kg": 2000.0,
        "drag_area_m2": 0.7,
        "rolling_resistance": 0.009,
        "accessories_kw": 0.3,
        "drive_efficiency": 0.88,
        "regeneration": 0.72,
    }
    return {**fields, **changes}


def exactly(value: float) -> dict:
    """Return a spread of no width."""
    return {"low": float(value), "typical": float(value), "high": float(value)}


def dataset(rig_made: Rig | None = None, vehicle_made: VehicleClass | None = None) -> Dataset:
    """Return the shipped data with a made rig and class added."""
    base = shipped_dataset()
    rig_made = rig_made or rig()
    vehicle_made = vehicle_made or vehicle()
    return replace(
        base,
        rigs={**base.rigs, rig_made.id: rig_made},
        vehicle_classes={**base.vehicle_classes, vehicle_made.id: vehicle_made},
    )


def planned(
    rig_made: Rig | None = None,
    vehicle_made: VehicleClass | None = None,
    *,
    start: int = 10,
    need: Need | None = None,
    **site: object,
) -> Plan:
    """Return the plan for a made rig and class, from 10 to 80 % unless said otherwise."""
    rig_made = rig_made or rig()
    vehicle_made = vehicle_made or vehicle()
    call = Call(rig_made.id, vehicle_made.id, start, need or ToPercent(80), **site)
    return plan(dataset(rig_made, vehicle_made), call)


def _tuples(value: object) -> object:
    if isinstance(value, dict):
        return {key: _tuples(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return tuple(_tuples(item) for item in value)
    return value
