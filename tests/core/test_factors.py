"""By what minutes differ from the typical ones: laws, and the same minutes by another way."""

import math
from dataclasses import replace
from statistics import NormalDist

import make
import pytest

from planner.answer import Call, answer
from planner.factors import MORE_PARTS, NEEDS, NEVER_STEPS, STEP, Factor, in_steps, mean_factors, rate_factors
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
            for factor in made:
                low, high, *more = factor.times
                assert 0 < low <= high
                assert (high == math.inf) == (factor.reached < 0.9)
                assert low <= 1.01
                assert high >= 1
                middle, *_, last = more
                assert [low, *more[:-1], high, last] == sorted([low, *more, high])
                assert (middle == math.inf) == (factor.reached < 0.5)
                assert 0 < factor.reached <= 1
    assert tried >= 5


def test_on_a_mild_day_all_needs_are_alike(dataset):
    """Before the taper the minutes of a warm pack rise with the need, in every case."""
    call = Call("pass-truck", "midsize-suv", 0, ToPercent(0), ambient_c=MILD_C)

    first, *others = rate_factors(call, answer(dataset, call))
    for other in others:
        assert other.times == pytest.approx(first.times, rel=1e-9)
        assert other.reached == first.reached == 1


def test_a_cold_start_is_more_of_a_short_charge(dataset):
    """What it may cost, more or less, is spread over the need: the less is asked for, the farther nine of ten are."""
    call = Call("pass-truck", "midsize-suv", 0, ToPercent(0), ambient_c=-15.0, cabin_on=False)
    highs = [factor.times[1] for factor in rate_factors(call, answer(dataset, call))]

    assert highs[0] > highs[1] > highs[2] > highs[3]


def test_a_class_of_which_all_is_known_has_no_spread_but_that_of_its_losses():
    """Two points of the label's efficiency, from 0.88: at most 0.88 / 0.86 longer and 0.88 / 0.90 shorter."""
    for factor in factors(steady(), known(make.vehicle())):
        low, high, *_ = factor.times
        assert 0.88 / 0.90 <= low <= 1
        assert 1 <= high <= 0.88 / 0.86
        assert factor.reached == 1


def test_one_spread_alone_is_read_at_one_and_nine_of_ten():
    """A battery of 60 to 90 kWh, 80 likely: evenly in each half, one in ten has 64, nine in ten 88. Losses: 2 %."""
    vehicle = known(make.vehicle())
    new = {"low": 60.0, "typical": 80.0, "high": 90.0}
    vehicle = make.vehicle(
        battery={**vehicle.battery.model_dump(), "energy_usable_kwh": new},
        onboard_charger=vehicle.onboard_charger.model_dump(),
        charging=vehicle.charging.model_dump(),
    )
    found = factors(steady(), vehicle)[0]
    low, high, *_ = found.times

    assert low == pytest.approx(64 / 80, rel=0.02)
    assert high == pytest.approx(88 / 80, rel=0.02)
    assert found.reached == 1


def test_where_heat_may_take_all_of_it_nine_of_ten_never_get_there(dataset):
    """A bus in the frost whose heat may be on or off: in some cases nothing is left."""
    call = Call("pass-truck", "school-bus", 0, ToPercent(0), ambient_c=-1.0)
    made = rate_factors(call, answer(dataset, call))

    assert all(factor.times[1] == math.inf and factor.reached < 0.9 for factor in made)


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
    for need, factor in zip(NEEDS, made, strict=True):
        low, high, *_ = factor.times
        asked = replace(call, need=ToPercent(10 + need))
        found = answer(dataset, asked)
        if found.planned_percent != 10 + need:
            continue
        found = replace(found, start=StartSoc(10, 10.0, 10.0))
        band = bands(dataset, asked, found).charging
        typical = session_minutes(asked, found, 10 + need)(*[0.5] * len(CHARGE_INPUTS))
        assert low == pytest.approx(band.p10 / typical, rel=0.05)
        assert factor.reached == pytest.approx(band.chance_reached, abs=0.02)
        if high < math.inf and band.p90 is not None:
            assert high == pytest.approx(band.p90 / typical, rel=0.05)


def even_spread(high, reached=1.0):
    """Return a factor whose logarithm grows evenly with the deviate, endless for those that never get there."""
    normal = NormalDist()
    return Factor(
        tuple(
            math.inf if part > reached else high ** (normal.inv_cdf(part) / normal.inv_cdf(0.9))
            for part in (0.1, 0.9, *MORE_PARTS)
        ),
        reached,
    )


def test_a_smooth_spread_is_published_as_three_numbers_a_need():
    """Half as long again in nine of ten: 1.03^13.7; as much shorter in one of ten; all get there."""
    needs, shape = in_steps([even_spread(1.5)] * len(NEEDS))

    assert needs == [-14, 14, 1000] * len(NEEDS)
    assert shape == []


@pytest.mark.parametrize("times", [1.001, 0.2, 1.37, 3.0, 17.0])
def test_a_published_factor_is_off_by_half_a_step_at_most(times):
    needs, _ = in_steps([even_spread(times)] * len(NEEDS))

    assert (1 + STEP) ** needs[1] == pytest.approx(times, rel=STEP / 2 + 0.001)


def test_minutes_that_leap_are_published_part_by_part():
    """Three of ten wait to be warm, three times as long, and nobody lies between."""
    leaping = Factor((0.8, 3.0, 1.0, 3.0, 3.0, 3.0, 3.1), 1.0)
    needs, shape = in_steps([leaping] * len(NEEDS))

    assert needs == [-8, 37, 1000] * len(NEEDS)
    assert shape == [0, 37, 37, 37, 38] * len(NEEDS)


@pytest.mark.parametrize(
    ("never", "told"),
    [(0.0, False), (0.02, False), (0.04, True), (0.24, True), (0.26, False), (0.6, False)],
    ids=["all get there", "very few do not", "a few", "many", "too many", "most"],
)
def test_where_some_never_get_there_it_is_told_part_by_part_while_nine_of_ten_hang_on_it(never, told):
    needs, shape = in_steps([even_spread(2.0, 1 - never)] * len(NEEDS))

    assert bool(shape) is told
    assert needs[1] == (23 if never <= 0.1 else NEVER_STEPS)
    assert needs[2] == 1000 - 1000 * never


def test_a_time_beyond_all_that_is_shown_is_not_never():
    needs, _ = in_steps([Factor((0.5, 1e6, 1.0, 1.5, 2.0, 3.0, 1e7), 1.0)] * len(NEEDS))

    assert needs[1] == NEVER_STEPS - 1


def test_a_mean_of_two_airs_is_never_where_one_of_them_is():
    one = Factor((0.5, 2.0, 1.0, 1.0, 1.0, 1.0, math.inf), 0.94)
    other = Factor((0.7, math.inf, 1.2, 1.0, 2.0, 1.0, math.inf), 0.88)
    (mean,) = mean_factors([[one], [other]])

    assert mean.times == pytest.approx((0.6, math.inf, 1.1, 1.0, 1.5, 1.0, math.inf))
    assert mean.reached == 0.88
