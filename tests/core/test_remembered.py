"""What was asked before changes no plan: a dataset remembers ways, rates and texts of a pair, and forgets what differs."""

import random
from dataclasses import replace

import pytest

from planner.answer import Call
from planner.errors import QuantityError
from planner.journey import Road
from planner.loading import load
from planner.place import Place
from planner.planning import plan, plan_with_bands
from planner.report import to_json
from planner.trip import Miles, TimePluggedIn, ToPercent

# Few pairs, so that each is asked about often: one port and several, with and without adapter, engine and store.
RIGS = ("pass-truck", "county-truck", "ski-hill-battery", "fairground-outlet", "trailhead-van")
VEHICLES = ("midsize-suv", "boxy-hatch", "touring-motorcycle", "plug-in-hybrid-car")


@pytest.fixture(scope="module")
def data():
    return load()


def calls(data, count, seed):
    """Yield calls that differ from the one before in one or two things."""
    draw = random.Random(seed)
    call = Call(RIGS[0], VEHICLES[0], 12, Miles(30.0))
    for _ in range(count):
        for _ in range(draw.choice((1, 2))):
            name = draw.choice(tuple(CHANGES))
            call = replace(call, **{name: CHANGES[name](draw, data, call)})
            if name in {"vehicle", "rig"}:  # what belongs to the other one goes with it
                call = replace(call, inlet=None, fuel=None, outlet=None, breaker_a=None, customers_adapters=())
        yield call


CHANGES = {
    "rig": lambda draw, _data, _call: draw.choice(RIGS),
    "vehicle": lambda draw, _data, _call: draw.choice(VEHICLES),
    "start": lambda draw, _data, _call: draw.randint(0, 95),
    "need": lambda draw, _data, _call: draw.choice((Miles(8.0), Miles(40.0), ToPercent(80), TimePluggedIn(45))),
    "ambient_c": lambda draw, _data, _call: draw.choice((None, -25.0, -5.0, 10.0, 38.0)),
    "altitude_m": lambda draw, _data, _call: draw.choice((None, 0.0, 600.0, 1200.0, 1500.0, 1700.0, 1800.0, 2900.0)),
    "fuel": lambda draw, _data, call: draw.choice(("gasoline", "propane")) if call.rig == "pass-truck" else None,
    "cabin_on": lambda draw, _data, _call: draw.choice((None, True, False)),
    "parked_h": lambda draw, _data, _call: draw.choice((None, 0.5, 24.0)),
    "road": lambda draw, _data, _call: draw.choice((Road(), Road(65.0), Road(cabin_heat=False))),
    "inlet": lambda draw, data, call: draw.choice(
        (None, *(port.inlet for port in data.vehicle_class(call.vehicle).ports))
    ),
    "customers_adapters": lambda draw, data, _call: draw.choice(((), (data.adapters["their-j3400-to-j1772"],))),
    "breaker_a": lambda draw, _data, call: draw.choice((None, 30.0, 40.0)) if call.outlet else None,
    "outlet": lambda draw, _data, call: draw.choice((None, "nema-14-30")) if call.rig == "fairground-outlet" else None,
    "other_load_w": lambda draw, _data, _call: draw.choice((0.0, 0.0, 900.0)),
    "second_setting_a": lambda draw, _data, _call: draw.choice((0.0, 0.0, 12.0)),
    "place": lambda draw, _data, _call: draw.choice((None, Place(), Place(kind="shoulder"))),
}


def outcome(make, data, call):
    """Return a plan as it is published, or what refused the call."""
    try:
        return to_json(make(data, call))
    except QuantityError as error:
        return str(error)


@pytest.mark.parametrize(("make", "count"), [(plan, 700), (plan_with_bands, 120)])
def test_a_plan_does_not_hang_on_what_was_asked_before(make, count, data):
    fresh = load()
    plans = set()
    for call in calls(data, count, seed=20):
        fresh.memo.clear()
        found = outcome(make, data, call)
        assert found == outcome(make, fresh, call), call
        plans.add(found)
    assert len(plans) > count / 3  # the calls do differ in what they come to


def test_a_changed_copy_under_an_old_id_has_its_own_plan(data):
    """A crew changes a record while a program runs: the class, or the rig, is another object under the same id."""
    call = Call("pass-truck", "midsize-suv", 12, Miles(30.0), altitude_m=0.0, ambient_c=20.0)
    before = plan(data, call)
    vehicle, rig = data.vehicle_class("midsize-suv"), data.rig("pass-truck")
    charger, habits, evse, source = vehicle.onboard_charger, vehicle.charging, rig.evse, rig.source
    margin = habits.pilot_margin.model_copy(update={"low": 0.1, "typical": 0.1, "high": 0.1})
    volts = source.voltage_v.model_copy(update={"low": 230.0, "typical": 232.0, "high": source.voltage_v.high})
    vehicles = [
        {"onboard_charger": charger.model_copy(update={"voltage_high_v": 200.0})},  # refused
        {"charging": habits.model_copy(update={"pilot_margin": margin})},  # served at the same mark, and slower
    ]
    rigs = [
        {"evse": evse.model_copy(update={"settings": evse.settings[:1]})},  # another mark
        {"source": source.model_copy(update={"voltage_v": volts})},  # the same mark, fewer volts
    ]
    copies = [
        replace(data, vehicle_classes={**data.vehicle_classes, vehicle.id: vehicle.model_copy(update=update)})
        for update in vehicles
    ]
    copies += [replace(data, rigs={**data.rigs, rig.id: rig.model_copy(update=update)}) for update in rigs]
    for changed in copies:
        # The same memory, as if the record had been changed in place.
        changed.memo.update(data.memo)
        assert to_json(plan(changed, call)) != to_json(before)
        alone = replace(changed)
        alone.memo.clear()
        assert to_json(plan(changed, call)) == to_json(plan(alone, call))
    assert to_json(plan(data, call)) == to_json(before)


def test_the_same_mark_at_another_height_allows_other_amps(data):
    call = Call("trailhead-van", "plug-in-hybrid-car", 12, Miles(10.0), ambient_c=10.0)
    fresh = load()
    allowed_a, marks = set(), set()
    for altitude_m in (0.0, 1800.0, 2900.0):
        found = plan(data, replace(call, altitude_m=altitude_m))
        fresh.memo.clear()
        assert to_json(found) == to_json(plan(fresh, replace(call, altitude_m=altitude_m)))
        allowed_a.add(found.setting.allowed_a)
        marks.add(found.setting.mark)
    assert (len(allowed_a), len(marks)) == (3, 1)
