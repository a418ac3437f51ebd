"""Laws of need, time and bands on the shipped records, each with what is held fixed."""

import make
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planner.answer import Call, answer
from planner.charge import session_hours_h
from planner.journey import Air, Road, road_energy
from planner.planning import plan, plan_with_bands
from planner.spread import CHARGE_INPUTS, bands, session_minutes
from planner.trip import Miles, TimePluggedIn, ToPercent

DATASET = make.shipped_dataset()
rigs = st.sampled_from(sorted(set(DATASET.rigs) - {"fairground-spare"}))  # that one serves nobody as it stands
classes = st.sampled_from(sorted(DATASET.vehicle_classes))
air_c = st.floats(-25, 40)
cabin = st.sampled_from([None, False, True])


def wh(class_id, road, ambient_c, altitude_m=0.0):
    return road_energy(DATASET, DATASET.vehicle_class(class_id), road, Air(ambient_c, altitude_m))


def plugged_in(parts):
    return parts.handshake + parts.cold + parts.charging


# ------------------------------------------------------------------------------------------------------------- road


@settings(max_examples=100, deadline=None)
@given(classes, st.sampled_from([None, 40.0, 70.0]), st.floats(-30, 22), st.floats(1, 300), st.floats(0, 100))
def test_a_longer_way_never_takes_less(class_id, speed, ambient_c, distance_mi, more_mi):
    """Held fixed: road, class, air."""
    road = wh(class_id, Road(speed, climb_m=200.0), ambient_c)

    assert road.typical_wh(distance_mi) <= road.typical_wh(distance_mi + more_mi)
    assert road.typical_wh(distance_mi) <= road.sure_wh(distance_mi) <= road.sure_wh(distance_mi + more_mi)


@settings(max_examples=100, deadline=None)
@given(classes, st.floats(30, 75), st.floats(0.2, 20), st.floats(-30, 35), st.floats(0, 3000))
def test_the_wheels_take_more_at_speed_in_any_air(class_id, slow, more, ambient_c, altitude_m):
    """Held fixed: air and height. The cabin is left out: it takes less of a mile that is over sooner."""
    road = [wh(class_id, Road(speed, cabin_heat=False), ambient_c, altitude_m) for speed in (slow, slow + more)]

    assert road[0].drive_wh <= road[1].drive_wh
    assert road[0].cabin_wh == road[1].cabin_wh == 0


@settings(max_examples=100, deadline=None)
@given(classes, st.sampled_from([None, 55.0]), st.floats(-30, 22), st.floats(0, 3000), st.floats(1, 1000))
def test_thinner_air_never_takes_more(class_id, speed, ambient_c, altitude_m, higher_m):
    """Held fixed: the air's temperature and the level road."""
    low, high = (wh(class_id, Road(speed), ambient_c, metres) for metres in (altitude_m, altitude_m + higher_m))

    assert high.wh_per_10_miles <= low.wh_per_10_miles


# ------------------------------------------------------------------------------------------------------- cold charge


@settings(max_examples=300, deadline=None)
@given(
    st.floats(0.5, 18),
    st.floats(8, 200),
    st.floats(0, 8),
    st.floats(-35, 22),
    st.floats(0, 20),
    st.floats(-30, 20),
    st.floats(0, 15),
    st.floats(0, 0.6),
    st.floats(0, 0.4),
    st.sampled_from([0.5, 1.0]),
)
def test_cold_never_makes_a_session_shorter(
    left_kw, energy_kwh, heater_kw, warm_c, colder_k, pack_c, warmer_k, soc_start, more, tail_factor
):
    """Held fixed: power and pack, then power and air; sessions into the taper too."""

    def hours(ambient_c, pack):
        return session_hours_h(
            soc_start=soc_start,
            soc_target=soc_start + more,
            power_available_kw=left_kw,
            cell_side_factor=0.985,
            energy_usable_kwh=energy_kwh,
            tail_factor=tail_factor,
            heater_kw=heater_kw,
            ambient_c=ambient_c,
            pack_c=pack,
        )

    assert hours(warm_c - colder_k, pack_c) >= hours(warm_c, pack_c) * (1 - 1e-9)
    assert hours(warm_c, pack_c) >= hours(warm_c, pack_c + warmer_k) * (1 - 1e-9)


# ---------------------------------------------------------------------------------------------------- need and time


@settings(max_examples=100, deadline=None)
@given(rigs, classes, st.integers(0, 60), st.floats(1, 150), st.sampled_from([None, 0, 10, 20]), air_c, cabin)
def test_miles_and_the_percent_they_come_to_are_one_plan(
    rig, class_id, start, distance_mi, reserve, ambient_c, cabin_on
):
    """Held fixed: rig, class, start, air, cabin. Also where the rig's own energy ends the session before the need."""
    site = {"ambient_c": ambient_c, "cabin_on": cabin_on, "tank_empty": True}
    by_miles = plan(DATASET, Call(rig, class_id, start, Miles(distance_mi, reserve), **site))
    if by_miles.soc_target is None:
        return
    to = ToPercent(round(100 * by_miles.soc_target))
    by_percent = plan(DATASET, Call(rig, class_id, start, to, **site))

    assert by_percent.minutes_charging.typical == by_miles.minutes_charging.typical
    assert by_percent.minutes_on_site.typical == by_miles.minutes_on_site.typical
    assert by_percent.energy_meter_kwh == by_miles.energy_meter_kwh


@settings(max_examples=150, deadline=None)
@given(rigs, classes, st.integers(0, 90), st.integers(1, 100), air_c, cabin)
def test_the_minutes_of_a_percent_give_it_back_and_a_minute_fewer_gives_less(
    rig, class_id, start, to, ambient_c, cabin_on
):
    """Exact: M is the hand-shake and the session, rounded up to a minute, so M reaches T and M - 1 ends before it."""
    site = {"ambient_c": ambient_c, "cabin_on": cabin_on, "tank_empty": True}
    assume(to > start)
    by_percent = plan(DATASET, Call(rig, class_id, start, ToPercent(to), **site))
    if by_percent.soc_target is None:
        return
    minutes = plugged_in(by_percent.minutes_parts)
    back = plan(DATASET, Call(rig, class_id, start, TimePluggedIn(minutes), **site))
    less = plan(DATASET, Call(rig, class_id, start, TimePluggedIn(minutes - 1), **site))

    assert back.soc_target >= by_percent.soc_target
    assert plugged_in(back.minutes_parts) <= minutes
    assert less.soc_target is None or less.soc_target < by_percent.soc_target


# ------------------------------------------------------------------------------------------------------------- bands


@settings(max_examples=60, deadline=None)
@given(rigs, classes, st.integers(0, 60), st.integers(2, 35), air_c, st.booleans())
def test_the_unrounded_band_is_in_order_around_the_median_of_every_input(
    rig, class_id, start, more, ambient_c, cabin_on
):
    """The cabin is known. One in ten, five, nine; all inputs at their medians lie between the outer two."""
    call = Call(rig, class_id, start, ToPercent(start + more), ambient_c=ambient_c, cabin_on=cabin_on)
    found = answer(DATASET, call)
    made = bands(DATASET, call, found)
    if made is None:
        return
    band, whole = made.charging, made.on_site
    never = float("inf")
    ends = [never if end is None else end for end in (band.p10, band.p50, band.p90)]
    middle = session_minutes(call, found, found.planned_percent)(*[0.5] * len(CHARGE_INPUTS))

    assert ends == sorted(ends)
    assert ends[0] <= middle <= ends[2]
    assert whole.chance_reached == band.chance_reached
    assert all(
        outer is None if inner is None else outer > inner
        for inner, outer in zip((band.p10, band.p50, band.p90), (whole.p10, whole.p50, whole.p90), strict=True)
    )


@pytest.mark.parametrize("class_id", sorted(DATASET.vehicle_classes))
@pytest.mark.parametrize("rig", sorted(DATASET.rigs))
def test_every_case_gets_there_in_mild_weather(rig, class_id):
    """Nobody knows whether the cabin is on: at 10 to 25 C it never takes all that there is."""
    for ambient_c in (10.0, 20.0, 25.0):
        found = plan_with_bands(DATASET, Call(rig, class_id, 10, ToPercent(60), ambient_c=ambient_c))
        if found.minutes_charging is not None:
            assert found.minutes_charging.chance_reached == 1


@settings(max_examples=60, deadline=None)
@given(rigs, classes, st.integers(0, 80), air_c, st.sampled_from([None, 35.0, 70.0]))
def test_a_longer_stay_never_gives_less_and_the_sure_miles_are_at_most_the_likely(
    rig, class_id, start, ambient_c, speed
):
    menu = plan(DATASET, Call(rig, class_id, start, ToPercent(90), ambient_c=ambient_c, road=Road(speed))).menu

    assert all(0 <= entry.miles_at_least <= entry.miles_likely for entry in menu)
    for name in ("minutes", "kwh", "soc", "miles_likely", "miles_at_least"):
        values = [getattr(entry, name) for entry in menu]
        assert values == sorted(values)
