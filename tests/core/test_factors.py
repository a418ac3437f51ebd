"""By what minutes differ from the typical ones: laws, and the same minutes by another way."""

from dataclasses import replace

import make
import pytest

from planner.answer import Call, answer
from planner.factors import NEEDS, rate_factors
from planner.spread import CHARGE_INPUTS, bands, session_minutes
from planner.trip import StartSoc, ToPercent

MILD_C = 20.0


def known(vehicle):
    """Return a class of which everything is known, without losses that a label could be off by."""

    def sharp(record):
        return {"low": record.typical, "typical": record.typical, "high": record.typical}

    battery, charger, habits = vehicle.battery, vehicle.onboard_charger, vehicle.charging
    return make.vehicle(
        battery={
            **battery.model_dump(),
            "energy_usable_kwh": sharp(battery.energy_usable_kwh),
            "health": sharp(battery.health),
        },
        onboard_charger={
            **charger.model_dump(),
            "current_a": sharp(charger.current_a),
            "power_kw": sharp(charger.power_kw),
        },
        charging={
            **habits.model_dump(),
            "auxiliaries_kw": sharp(habits.auxiliaries_kw),
            "pilot_margin": sharp(habits.pilot_margin),
        },
    )


def factors(rig, vehicle, **site):
    """Return the factors of a pair that charges."""
    call = Call(rig.id, vehicle.id, 0, ToPercent(0), **{"cabin_on": False, "ambient_c": MILD_C, **site})
    return rate_factors(call, answer(make.dataset(rig, vehicle), call))


def steady():
    """Return a rig whose volts do not move."""
    return make.rig(source=make.source(voltage_v={"low": 240.0, "typical": 240.0, "high": 240.0}))


@pytest.mark.parametrize("ambient_c", [-30.0, -12.0, 0.0, 5.0, 20.0, 43.0])
def test_the_typical_minutes_lie_between_one_and_nine_of_ten(dataset, ambient_c):
    tried = 0
    for class_id in ("midsize-suv", "school-bus", "electric-motorcycle", "older-short-range-hatch", "step-van"):
        for rig in dataset.rigs:
            call = Call(rig, class_id, 0, ToPercent(0), ambient_c=ambient_c)
            found = answer(dataset, call)
            if found.table is None or found.refusal is not None:
                continue
            tried += 1
            made = rate_factors(call, found)
            assert len(made) == len(NEEDS)
            for low, high, reached in made:
                assert 0 < low <= 1000
                assert (high is None) == (reached < 900)
                assert high is None or high >= 1000
                assert 0 < reached <= 1000
    assert tried >= 5


def test_on_a_mild_day_all_needs_are_alike(dataset):
    """Before the taper the minutes of a warm pack rise with the need, in every case."""
    call = Call("pass-truck", "midsize-suv", 0, ToPercent(0), ambient_c=MILD_C)

    assert len(set(rate_factors(call, answer(dataset, call)))) == 1


def test_a_cold_start_is_more_of_a_short_charge(dataset):
    """What it may cost, more or less, is spread over the need: the less is asked for, the farther nine of ten are."""
    call = Call("pass-truck", "midsize-suv", 0, ToPercent(0), ambient_c=-15.0, cabin_on=False)
    highs = [high for _, high, _ in rate_factors(call, answer(dataset, call))]

    assert highs[0] > highs[1] > highs[2] > highs[3]


def test_a_class_of_which_all_is_known_has_no_spread_but_that_of_its_losses():
    """Two points of the label's efficiency, from 0.88: at most 0.88 / 0.86 longer and 0.88 / 0.90 shorter."""
    for low, high, reached in factors(steady(), known(make.vehicle())):
        assert 1000 * 0.88 / 0.90 - 1 <= low <= 1000
        assert 1000 <= high <= 1000 * 0.88 / 0.86 + 1
        assert reached == 1000


def test_one_spread_alone_is_read_at_one_and_nine_of_ten():
    """A battery of 60 to 90 kWh, 80 likely: evenly in each half, one in ten has 64, nine in ten 88. Losses: 2 %."""
    vehicle = known(make.vehicle())
    new = {"low": 60.0, "typical": 80.0, "high": 90.0}
    vehicle = make.vehicle(
        battery={**vehicle.battery.model_dump(), "energy_usable_kwh": new},
        onboard_charger=vehicle.onboard_charger.model_dump(),
        charging=vehicle.charging.model_dump(),
    )
    low, high, reached = factors(steady(), vehicle)[0]

    assert low == pytest.approx(1000 * 64 / 80, rel=0.02)
    assert high == pytest.approx(1000 * 88 / 80, rel=0.02)
    assert reached == 1000


def test_where_heat_may_take_all_of_it_nine_of_ten_never_get_there(dataset):
    """A bus in the frost whose heat may be on or off: in some cases nothing is left."""
    call = Call("pass-truck", "school-bus", 0, ToPercent(0), ambient_c=-1.0)
    made = rate_factors(call, answer(dataset, call))

    assert all(high is None and reached < 900 for _, high, reached in made)


@pytest.mark.parametrize("class_id", ["midsize-suv", "compact-crossover-lfp", "electric-motorcycle", "school-bus"])
@pytest.mark.parametrize("ambient_c", [-28.0, -12.0, -3.0, 3.0, 20.0, 40.0])
@pytest.mark.parametrize("parked_h", [None, 24.0])
def test_they_are_those_of_all_the_planners_points(dataset, class_id, ambient_c, parked_h):
    """The same start and the same need as a call with a sharp dash: 1,024 points by the planner's own way, to 5 %."""
    call = Call("pass-truck", class_id, 10, ToPercent(0), ambient_c=ambient_c, cabin_on=False, parked_h=parked_h)
    usual = answer(dataset, call)
    if usual.table is None:
        assert usual.refusal.code == "too_cold_to_charge"
        return
    made = rate_factors(call, usual)
    for need, (low, high, reached) in zip(NEEDS, made, strict=True):
        asked = replace(call, need=ToPercent(10 + need))
        found = answer(dataset, asked)
        if found.planned_percent != 10 + need:
            continue
        found = replace(found, start=StartSoc(10, 10.0, 10.0))
        band = bands(dataset, asked, found).charging
        typical = session_minutes(asked, found, 10 + need)(*[0.5] * len(CHARGE_INPUTS))
        assert low == pytest.approx(1000 * band.p10 / typical, rel=0.05)
        assert reached == pytest.approx(1000 * band.chance_reached, abs=20)
        if high is not None and band.p90 is not None:
            assert high == pytest.approx(1000 * band.p90 / typical, rel=0.05)
