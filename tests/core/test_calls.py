"""A call as it comes in: place and state in whole plans, goals, a stay that ends, other loads, two calls in turn."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.answer import Call, answer
from planner.condition import Condition
from planner.envelope import KnownOfVehicle, envelope
from planner.place import SHOULDER_CAP_MIN, Place
from planner.planning import plan, plan_with_bands
from planner.report import document, to_text, turns_to_text
from planner.trip import DashWord, Goal, Miles, TimePluggedIn, ToPercent
from planner.turns import in_turn
from tests.make import shipped_dataset

OPEN = Place("open_lot", openings="clear", people="away", out_of_traffic=True)
SOUND = Condition(False, False, False, False, port="good", twelve_volt="good", key="here")
RANK = {"serve": 0, "serve_with_changes": 1, "try": 2, "ask_first": 3, "cannot_serve": 4}
RIGS = ("pass-truck", "trailhead-van", "ski-hill-battery", "county-truck")


def call(rig="pass-truck", vehicle="midsize-suv", **changes):
    return replace(Call(rig, vehicle, 12, ToPercent(20), place=OPEN, condition=SOUND), **changes)


@pytest.fixture
def dataset():
    return shipped_dataset()


# -------------------------------------------------------------------------------------------------------------- laws

# Each row from the better to the worse, with everything else held.
WORSE = {
    "openings": ("clear", None, "near"),
    "people": ("away", None, "near"),
    "out_of_traffic": (True, None, False),
    "permission": (True, None, False),
    "quiet_hours": (False, True),
}
places = st.builds(
    Place,
    kind=st.sampled_from([None, "open_lot", "driveway", "street", "shoulder", "open_ramp", "garage", "underground"]),
    openings=st.sampled_from(WORSE["openings"]),
    people=st.sampled_from(WORSE["people"]),
    out_of_traffic=st.sampled_from(WORSE["out_of_traffic"]),
    quiet_hours=st.sampled_from([None, True, False]),
    permission=st.sampled_from(WORSE["permission"]),
)
conditions = st.builds(
    Condition,
    crash=st.sampled_from([None, False, True]),
    smoke=st.sampled_from([None, False, True]),
    danger_unknown=st.booleans(),
    port=st.sampled_from([None, "good", "wet", "damaged", "frozen", "locked"]),
    twelve_volt=st.sampled_from([None, "good", "flat"]),
    key=st.sampled_from([None, "here", "away", "none"]),
)
starts = st.sampled_from([5, 30, DashWord("dead"), DashWord("turtle")])
needs = st.sampled_from([ToPercent(35), Miles(20), Miles(400), TimePluggedIn(30)])


@settings(max_examples=150)
@given(
    rig=st.sampled_from(RIGS),
    where=places,
    state=conditions,
    start=starts,
    need=needs,
    field=st.sampled_from(sorted(WORSE)),
)
def test_a_worse_place_never_improves_a_verdict(rig, where, state, start, need, field):
    asked = Call(rig, "midsize-suv", start, need, condition=state)

    ranks = [
        RANK[plan(shipped_dataset(), replace(asked, place=replace(where, **{field: value}))).verdict]
        for value in WORSE[field]
    ]

    assert ranks == sorted(ranks)


@settings(max_examples=100)
@given(rig=st.sampled_from(["pass-truck", "trailhead-van"]), where=places, state=conditions)
def test_under_a_roof_is_never_better_than_in_the_open_with_an_engine(rig, where, state):
    asked = Call(rig, "midsize-suv", 12, ToPercent(20), condition=state)
    open_rank, roofed_rank = (
        RANK[plan(shipped_dataset(), replace(asked, place=replace(where, kind=kind))).verdict]
        for kind in ("open_lot", "garage")
    )

    assert roofed_rank == RANK["cannot_serve"] >= open_rank


# The answers that close each question, the good one and the bad one.
ANSWERS = {
    "place_not_known": ("place", {"kind": "open_lot"}, {"kind": "garage"}),
    "clearance_not_known": ("place", {"openings": "clear", "people": "away"}, {"openings": "near"}),
    "traffic_not_known": ("place", {"out_of_traffic": True}, {"out_of_traffic": False}),
    "permission_not_known": ("place", {"permission": True}, {"permission": False}),
    "quiet_hours": ("place", {"permission": True}, {"permission": False}),
    "danger_not_known": (
        "condition",
        {"danger_unknown": False, "crash": False},
        {"danger_unknown": False, "crash": True},
    ),
    "which_battery": ("condition", {"twelve_volt": "good"}, {"twelve_volt": "flat"}),
    "key_away": ("condition", {"key": "here"}, {"key": "none"}),
}


@settings(max_examples=150)
@given(rig=st.sampled_from(RIGS), where=places, state=conditions, start=starts, need=needs, good=st.booleans())
def test_an_answer_never_turns_a_refusal_into_a_yes_unless_its_cause_is_gone(rig, where, state, start, need, good):
    """Answers are given to every question of place and state, whether it was asked or not."""
    before_call = Call(rig, "midsize-suv", start, need, place=where, condition=state)
    before = plan(shipped_dataset(), before_call)
    after_call = before_call
    for owner, right, wrong in ANSWERS.values():
        told = {
            name: value for name, value in (right if good else wrong).items() if not _said(before_call, owner, name)
        }
        after_call = replace(after_call, **{owner: replace(getattr(after_call, owner), **told)})

    after = plan(shipped_dataset(), after_call)

    if before.verdict == "cannot_serve":
        assert after.verdict == "cannot_serve"
        # What was refused for before is told still: an answer to a question takes no cause away.
        assert {reason.code for reason in before.reasons} <= {reason.code for reason in after.reasons}


def _said(asked, owner, name):
    return name != "danger_unknown" and getattr(getattr(asked, owner), name) is not None


@pytest.mark.parametrize("rig", RIGS)
@pytest.mark.parametrize(
    "cause",
    [
        {"place": replace(OPEN, permission=False)},
        {"place": replace(OPEN, out_of_traffic=False)},
        {"condition": replace(SOUND, smoke=True)},
        {"condition": replace(SOUND, port="wet")},
        {"condition": replace(SOUND, key="none")},
    ],
    ids=str,
)
def test_no_word_overrides_a_refusal(dataset, rig, cause):
    """Every other word of a call, at its most helpful, beside one cause of a refusal."""
    helpful = call(
        rig,
        start=1,
        need=Miles(5, 0),
        ambient_c=20.0,
        altitude_m=0.0,
        cabin_on=False,
        drove_min=60.0,
        parked_h=0.0,
        tank_empty=True,
        goals=(Goal("fast_charger", 3.0, fits=True, is_open=True),),
        **cause,
    )

    found = plan(dataset, helpful)

    assert found.verdict == "cannot_serve"
    assert found.setting is None
    assert found.minutes_on_site is None
    assert found.steps == found.menu == found.watch == ()
    assert found.say == ""


# ------------------------------------------------------------------------------------------------------------ verdicts


def test_the_open_place_of_an_engine_is_served_and_an_unknown_one_is_asked(dataset):
    assert plan(dataset, call()).verdict == "serve"
    assert plan(dataset, call(place=Place(), condition=Condition())).ask.code == "place_not_known"


def test_a_question_keeps_what_the_rig_could_give_beside_it(dataset):
    found = plan(dataset, call(place=Place()))

    assert found.verdict == "ask_first"
    assert found.minutes_on_site is not None
    assert found.say == ""


def test_a_rig_without_an_engine_lists_an_unknown_place_as_assumed(dataset):
    found = plan(dataset, call("ski-hill-battery", place=Place(), condition=Condition()))

    assert found.verdict in {"serve", "serve_with_changes"}
    assert "no crash" in found.call.assumed
    assert "port within reach of the cable" in found.call.assumed


def test_every_fact_that_was_not_said_is_listed_and_none_that_was(dataset):
    told = plan(dataset, call())
    untold = plan(dataset, call("ski-hill-battery", place=Place(), condition=Condition()))

    said = {"no crash", "no water above the sills", "no smoke or smell", "no battery warning on the dash"}
    assert said <= set(untold.call.assumed)
    assert not said & set(told.call.assumed)


def test_a_try_says_what_to_bring_how_long_and_when_to_give_up(dataset):
    rates = dataset.rates.wake_low_voltage_min

    found = plan(dataset, call(condition=replace(SOUND, twelve_volt="flat")))

    assert found.verdict == "try"
    assert "a 12 V supply with its leads" in found.bring
    assert found.minutes_parts.make_ready == rates.typical
    assert f"allow {rates.high:.0f} min" in found.reasons[0].text
    assert any(f"in {rates.high:.0f} min" in item.text for item in found.abort)


def test_the_minutes_of_a_try_are_in_the_stay_and_in_its_band(dataset):
    sound = plan_with_bands(dataset, call())
    flat = plan_with_bands(dataset, call(condition=replace(SOUND, twelve_volt="flat")))
    rate = dataset.rates.wake_low_voltage_min

    assert flat.minutes_on_site.typical - sound.minutes_on_site.typical == rate.typical
    assert flat.minutes_charging.typical == sound.minutes_charging.typical
    assert rate.low <= flat.minutes_on_site.p90 - sound.minutes_on_site.p90 <= rate.high


def test_a_flat_12_v_battery_says_nothing_of_the_other(dataset):
    flat = plan(dataset, call(condition=replace(SOUND, twelve_volt="flat")))

    assert flat.soc_start == plan(dataset, call()).soc_start == 0.12


def test_a_refusal_of_place_is_told_before_what_the_planner_finds_of_the_need(dataset):
    found = plan(dataset, call(need=Miles(900), place=replace(OPEN, kind="garage")))

    assert [reason.code for reason in found.reasons] == ["engine_indoors", "need_exceeds_battery"]


def test_the_parts_of_the_minutes_are_all_of_them(dataset):
    found = plan(dataset, call(condition=replace(SOUND, port="frozen")))
    parts = document(found)["minutes_parts"]

    assert sum(parts.values()) == found.minutes_on_site.typical
    assert set(parts) == {
        "park", "make_ready", "warm_up", "handshake", "cold", "charging", "refuel", "cool_down", "pack_up",
    }  # fmt: skip


def test_a_hybrid_is_asked_about_fuel_whatever_it_needs(dataset):
    for need in (ToPercent(50), Miles(10), TimePluggedIn(30)):
        found = plan(dataset, call(vehicle="plug-in-hybrid-suv", need=need))

        assert (found.verdict, found.ask.code) == ("ask_first", "ask_fuel_first")


def test_a_hybrid_with_fuel_needs_no_charge(dataset):
    found = plan(dataset, call(vehicle="plug-in-hybrid-suv", tank_empty=False))

    assert (found.verdict, found.ask.code) == ("ask_first", "need_already_met")
    assert "its own engine's exhaust kills too" in found.reasons[0].text
    assert found.setting is None


# -------------------------------------------------------------------------------------------------------- the shoulder


def test_a_stay_on_a_shoulder_ends_with_its_bound(dataset):
    shoulder = replace(OPEN, kind="shoulder")

    found = plan(dataset, call(need=ToPercent(80), place=shoulder))

    assert (found.verdict, found.ask.code) == ("ask_first", "shoulder_time_cap")
    assert found.minutes_on_site.typical <= SHOULDER_CAP_MIN
    assert 0.12 < found.soc_target < 0.80
    longer = plan(dataset, call(need=ToPercent(round(100 * found.soc_target) + 1)))
    assert longer.minutes_on_site.typical > SHOULDER_CAP_MIN


def test_nobody_is_promised_more_than_the_bound_on_a_shoulder(dataset):
    shoulder = replace(OPEN, kind="shoulder")

    found = plan_with_bands(
        dataset, call("county-truck", "compact-hatch", start=10, need=ToPercent(11), place=shoulder)
    )

    assert found.verdict == "serve_with_changes"
    assert found.minutes_on_site.p90 <= SHOULDER_CAP_MIN
    assert "up to 30 minutes" in found.say
    assert any("on the shoulder are over" in item.text for item in found.abort)


def test_where_the_bound_gives_less_than_a_percent_a_tow_is_named(dataset):
    shoulder = replace(OPEN, kind="shoulder")

    found = plan(dataset, call(place=shoulder, condition=replace(SOUND, twelve_volt="flat")))

    assert (found.verdict, found.reasons[0].code) == ("cannot_serve", "shoulder_time_cap")
    assert "tow" in found.reasons[0].text


# -------------------------------------------------------------------------------------------------------------- goals


def charger(distance_mi, fits=True, is_open=True):
    return Goal("fast_charger", distance_mi, fits, is_open)


def test_the_goal_that_takes_the_least_charge_is_the_need(dataset):
    found = plan(dataset, call(start=5, goals=(Goal("home", 40.0), charger(12.0))))

    assert [goal.chosen for goal in found.goals] == [False, True]
    assert found.call.goal == "fast_charger"
    assert found.soc_target == found.goals[1].soc_target < found.goals[0].soc_target


def test_a_charger_that_is_closed_leaves_home(dataset):
    found = plan(dataset, call(start=5, goals=(Goal("home", 20.0), charger(12.0, is_open=False))))

    assert found.verdict == "serve_with_changes"
    assert found.reasons[0].code == "charger_closed"
    assert found.call.goal == "home"
    assert found.goals[1].soc_target is None


@pytest.mark.parametrize(("fits", "is_open"), [(None, True), (True, None), (None, None)])
def test_a_charger_that_nobody_knows_is_asked_about(dataset, fits, is_open):
    found = plan(dataset, call(start=5, goals=(charger(12.0, fits, is_open),)))

    assert (found.verdict, found.ask.code) == ("ask_first", "charger_not_known")


def test_at_a_charger_five_percent_or_ten_miles_are_left_whichever_is_more(dataset):
    """By hand: ten miles of this road against five percent of this battery, from the published integers."""
    for vehicle in ("midsize-suv", "plug-in-hybrid-suv", "older-short-range-hatch"):
        found = answer(dataset, call(vehicle=vehicle, need=Miles(5.0, goal="fast_charger"), tank_empty=True))
        road, table = found.road, found.table
        kept_wh = max(table.battery_wh_at(5), road.wh_per_10_miles)

        assert found.energy_reserve_wh == kept_wh
        needed_wh = max(road.typical_wh(5.0) + kept_wh, road.sure_wh(5.0))
        assert table.battery_wh_at(found.target.percent) >= needed_wh > table.battery_wh_at(found.target.percent - 1)


def test_home_keeps_the_usual_ten_percent(dataset):
    home = plan(dataset, call(start=5, goals=(Goal("home", 20.0),)))
    same_miles = plan(dataset, call(start=5, need=Miles(20.0)))

    assert home.soc_target == same_miles.soc_target


def test_the_other_goal_stands_in_the_menu(dataset):
    found = plan(dataset, call(start=5, goals=(Goal("home", 18.0), charger(12.0))))

    assert any("home" in goal for entry in found.menu for goal in entry.reaches)


def test_a_tow_is_named_where_we_would_stay_far_longer(dataset):
    """By hand: 45 mi at 35 mph and 30 min to hook up are 78 + 30 = 108 min, twice that 216."""
    quick = plan_with_bands(dataset, call("pass-truck", "compact-hatch", need=Miles(45.0)))
    slow = plan_with_bands(dataset, call("county-truck", "large-pickup", need=Miles(45.0)))

    assert quick.minutes_on_site.p90 < 216 < slow.minutes_on_site.p90
    assert "tow_quicker" not in {reason.code for reason in quick.reasons}
    (tow,) = [reason for reason in slow.reasons if reason.code == "tow_quicker"]
    assert "110 minutes" in tow.text


# --------------------------------------------------------------------------------------------------------- the own rig


def test_other_loads_come_off_watts_and_the_leg(dataset):
    plain = answer(dataset, call())
    loaded = answer(dataset, call(other_load_w=1200.0))
    limits = {link.link: link.limit_a for link in plain.chain}
    less = {link.link: link.limit_a for link in loaded.chain}

    high_v = plain.rig.source.voltage_v.high
    assert limits["source_power"] - less["source_power"] == pytest.approx(1200 / high_v, rel=0.03)
    assert limits["source_winding"] - less["source_winding"] == pytest.approx(10.0)  # 1,200 W on one leg of 120 V
    assert limits["breaker"] == less["breaker"]


def test_a_second_evse_counts_with_its_setting(dataset):
    alone = plan(dataset, call())
    both = plan(dataset, call(second_setting_a=16.0))

    assert alone.setting.output_a == 40
    assert both.setting.output_a + 16 <= min(link.limit_a for link in alone.chain if link.link.startswith("source"))


def test_a_rig_with_other_loads_burns_more_and_none_of_it_is_the_vehicles(dataset):
    alone = plan(dataset, call())
    loaded = plan(dataset, call(other_load_w=600.0))

    assert loaded.fuel.litres > alone.fuel.litres
    assert loaded.energy_meter_kwh == alone.energy_meter_kwh


def test_other_loads_hold_for_every_cable_of_the_rig(dataset):
    """A rig with two cables is judged once for each: neither forgets the load."""
    asked = call("ski-hill-battery", "midsize-sedan")

    both = [answer(dataset, replace(asked, other_load_w=watts)) for watts in (0.0, 2400.0)]

    powers = [next(link.limit_a for link in found.chain if link.link == "source_power") for found in both]
    assert powers[0] - powers[1] == pytest.approx(2400 / both[0].rig.source.voltage_v.high, rel=0.03)


# ------------------------------------------------------------------------------------------------------------- in turn


def test_the_second_call_starts_with_what_the_first_left(dataset):
    first, second = call(need=ToPercent(60)), call(vehicle="compact-hatch", need=ToPercent(40))

    found = in_turn(dataset, [first, second])
    alone = plan_with_bands(dataset, second)

    left_l = found.plans[0].fuel.left_after
    assert found.plans[1].fuel.left_after == pytest.approx(left_l - found.plans[1].fuel.litres)
    assert found.plans[1].fuel.litres == pytest.approx(alone.fuel.litres)
    assert found.minutes_on_site == sum(each.minutes_on_site.typical for each in found.plans)
    assert found.all_served


def test_a_store_that_the_first_empties_is_short_for_the_second(dataset):
    calls = [call("ski-hill-battery", need=ToPercent(30)), call("ski-hill-battery", "large-sedan", need=ToPercent(80))]

    found = in_turn(dataset, calls)

    assert found.plans[0].verdict in {"serve", "serve_with_changes"}
    assert found.plans[1].verdict in {"ask_first", "cannot_serve"}
    assert found.plans[1].reasons[0].code in {"source_short", "source_empty"}
    assert not found.all_served


def test_a_refused_call_leaves_the_rig_as_it_was(dataset):
    refused = call(condition=replace(SOUND, smoke=True))

    found = in_turn(dataset, [refused, call()])

    assert found.plans[1].fuel.left_after == plan(dataset, call()).fuel.left_after


def test_the_order_is_named_where_the_longer_stay_comes_first(dataset):
    long_stay, short_stay = call(need=ToPercent(80)), call(need=ToPercent(20))

    assert "Order" in turns_to_text(in_turn(dataset, [long_stay, short_stay]))
    assert "Order" not in turns_to_text(in_turn(dataset, [short_stay, long_stay]))


# ------------------------------------------------------------------------------------------------------------ envelope


def test_a_refusal_of_the_place_is_told_once_for_every_class(dataset):
    garage = call(vehicle="", place=replace(OPEN, kind="garage"))

    found = envelope(dataset, garage, KnownOfVehicle(body="suv"))

    assert found.verdict == "cannot_serve"
    assert [reason.code for reason in found.reasons] == ["engine_indoors"]


def test_a_question_of_the_place_keeps_the_minutes_of_every_class_beside_it(dataset):
    found = envelope(dataset, call(vehicle="", place=Place(), start=10), KnownOfVehicle(body="sedan"))

    assert (found.verdict, found.ask.code) == ("ask_first", "place_not_known")
    assert found.minutes_p10 is not None


def test_a_flat_12_v_battery_makes_every_class_a_try(dataset):
    flat = call(vehicle="", condition=replace(SOUND, twelve_volt="flat"))

    assert envelope(dataset, flat, KnownOfVehicle(body="sedan", inlet="j3400", fuel_door=False)).verdict == "try"


def test_a_fuel_door_tells_classes_apart(dataset):
    with_door = envelope(dataset, call(vehicle=""), KnownOfVehicle(body="suv", fuel_door=True))
    without = envelope(dataset, call(vehicle=""), KnownOfVehicle(body="suv", fuel_door=False))

    hybrids = {"plug-in-hybrid-suv", "plug-in-hybrid-off-road-suv", "imported-plug-in-hybrid-suv"}
    assert {member.vehicle for member in with_door.members} == hybrids
    assert not hybrids & {member.vehicle for member in without.members}


# ---------------------------------------------------------------------------------------------------------------- text


def test_the_text_says_what_is_known_of_the_place(dataset):
    text = to_text(plan(dataset, call()))

    assert "stands: an open lot, out of traffic, no opening within 20 ft" in text


def test_only_the_high_end_of_the_stay_is_said_to_a_customer(dataset):
    found = plan_with_bands(dataset, call(need=Miles(45.0)))

    assert str(found.minutes_on_site.typical) not in found.say
