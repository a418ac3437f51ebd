"""Each rule of the vehicle's state, made and not made; a worse state never gets a better answer."""

from dataclasses import fields, replace
from itertools import product

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.condition import LONG_DEAD_H, RULES, Condition, assumed_of_condition, condition_rulings, in_order
from planner.place import LEVELS
from planner.place import RULES as PLACE_RULES

GOOD = Condition(False, False, False, False, False, "good", "good", "here")
RATES = {"wake_low_voltage_min", "thaw_port_min", "open_port_min", "long_dead_min"}


def rulings(condition, *, dash_dead=False, start_percent=12, parked_h=None):
    return condition_rulings(condition, dash_dead=dash_dead, start_percent=start_percent, parked_h=parked_h)


def codes(condition, **others):
    return [ruling.code for ruling in rulings(condition, **others)]


def worst(condition, **others):
    """Return how bad the worst ruling is: 0 for nothing to say, 4 for a refusal."""
    return max((len(LEVELS) - LEVELS.index(ruling.level) for ruling in rulings(condition, **others)), default=0)


# ----------------------------------------------------------------------------------------------- each rule by itself

# The code, the state that makes it (as changes of the good one), and the nearest that does not.
MADE = [
    ("smoke", {"smoke": True}, {"smoke": False}),
    ("water", {"water": True}, {"water": False}),
    ("crash", {"crash": True}, {"crash": False}),
    ("high_voltage_warning", {"warning": True}, {"warning": False}),
    ("no_key", {"key": "none"}, {"key": "away"}),
    ("port_damaged", {"port": "damaged"}, {"port": "good"}),
    ("port_wet", {"port": "wet"}, {"port": "frozen"}),
    ("danger_not_known", {"danger_unknown": True}, {"danger_unknown": False}),
    ("key_away", {"key": "away"}, {"key": "here"}),
    ("twelve_volt_flat", {"twelve_volt": "flat"}, {"twelve_volt": "good"}),
    ("port_frozen", {"port": "frozen"}, {"port": "locked"}),
    ("port_locked", {"port": "locked"}, {"port": "frozen"}),
]


@pytest.mark.parametrize(("code", "makes"), [made[:2] for made in MADE])
def test_rule_is_made_alone(code, makes):
    assert codes(replace(GOOD, **makes)) == [code]


@pytest.mark.parametrize(("code", "spares"), [(code, spares) for code, _, spares in MADE])
def test_rule_is_not_made_by_its_nearest_neighbor(code, spares):
    assert code not in codes(replace(GOOD, **spares))


def test_rules_of_a_dark_dash_and_a_long_stand_are_covered_below():
    assert {rule.code for rule in RULES} - {code for code, *_ in MADE} == {"which_battery", "long_dead"}


@pytest.mark.parametrize("start_percent", [0, 8, 60])
def test_good_vehicle_needs_nothing(start_percent):
    assert codes(GOOD, start_percent=start_percent, parked_h=2.0) == []


def test_nothing_said_of_a_vehicle_that_shows_its_charge_needs_no_question():
    assert codes(Condition()) == []


# ------------------------------------------------------------------------------------------------ the two batteries


def test_dark_dash_asks_which_battery():
    assert codes(replace(GOOD, twelve_volt=None), dash_dead=True, start_percent=0) == ["which_battery"]


def test_dark_dash_with_a_good_12_v_battery_is_an_empty_traction_battery():
    assert codes(GOOD, dash_dead=True, start_percent=0) == []


def test_dark_dash_with_a_flat_12_v_battery_is_to_be_woken():
    assert codes(replace(GOOD, twelve_volt="flat"), dash_dead=True, start_percent=0) == ["twelve_volt_flat"]


@pytest.mark.parametrize("start_percent", [0, 2, 3])
def test_low_charge_says_nothing_of_the_12_v_battery(start_percent):
    """A turtle, dashes, a low percent."""
    assert codes(replace(GOOD, twelve_volt=None), start_percent=start_percent) == []


def test_flat_12_v_battery_says_nothing_of_the_traction_battery():
    flat = replace(GOOD, twelve_volt="flat")

    assert codes(flat, start_percent=40, parked_h=30 * 24) == ["twelve_volt_flat"]


@pytest.mark.parametrize(
    ("dash_dead", "start_percent", "parked_h", "expected"),
    [
        (True, 0, LONG_DEAD_H, ["long_dead"]),
        (True, 2, LONG_DEAD_H, ["long_dead"]),
        (False, 0, LONG_DEAD_H, ["long_dead"]),
        (False, 1, LONG_DEAD_H, []),
        (True, 0, LONG_DEAD_H - 1, []),
        (True, 0, None, []),
    ],
)
def test_long_dead_is_empty_for_two_weeks(dash_dead, start_percent, parked_h, expected):
    assert codes(GOOD, dash_dead=dash_dead, start_percent=start_percent, parked_h=parked_h) == expected


def test_days_of_a_long_stand_are_whole_ones():
    """500 h are 20.8 days."""
    (found,) = rulings(GOOD, start_percent=0, parked_h=500.0)

    assert found.text == "It has stood 20 days with nothing left and may refuse to charge."


def test_two_weeks_are_336_hours():
    assert LONG_DEAD_H == 336


# ------------------------------------------------------------------------------------------------------------ laws

conditions = st.builds(
    Condition,
    crash=st.sampled_from([None, True, False]),
    water=st.sampled_from([None, True, False]),
    smoke=st.sampled_from([None, True, False]),
    warning=st.sampled_from([None, True, False]),
    danger_unknown=st.booleans(),
    port=st.sampled_from([None, "good", "wet", "damaged", "frozen", "locked"]),
    twelve_volt=st.sampled_from([None, "good", "flat"]),
    key=st.sampled_from([None, "here", "away", "none"]),
)
stands = st.fixed_dictionaries(
    {
        "dash_dead": st.booleans(),
        "start_percent": st.integers(0, 100),
        "parked_h": st.none() | st.floats(0, 2000),
    }
)
# From the best to the worst. A question outranks a try, so that not knowing the 12 V battery has a law of its own.
BETTER_TO_WORSE = [
    ("crash", (False, None, True)),
    ("water", (False, None, True)),
    ("smoke", (False, None, True)),
    ("warning", (False, None, True)),
    ("danger_unknown", (False, True)),
    ("port", ("good", None, "locked", "wet")),
    ("port", ("good", "frozen", "damaged")),
    ("key", ("here", None, "away", "none")),
    ("twelve_volt", ("good", "flat")),
    ("twelve_volt", ("good", None)),
]


@pytest.mark.parametrize(("name", "values"), BETTER_TO_WORSE)
@settings(max_examples=150)
@given(conditions, stands)
def test_worse_fact_never_gets_a_better_answer(name, values, condition, stand):
    found = [worst(replace(condition, **{name: value}), **stand) for value in values]

    assert found == sorted(found)


@settings(max_examples=200)
@given(conditions, stands, st.floats(0, 2000))
def test_longer_stand_is_never_better(condition, stand, more_h):
    stand["parked_h"] = stand["parked_h"] or 0.0
    longer = {**stand, "parked_h": stand["parked_h"] + more_h}

    assert worst(condition, **stand) <= worst(condition, **longer)


@settings(max_examples=300)
@given(conditions, stands)
def test_any_danger_refuses_and_comes_first(condition, stand):
    dangers = {"smoke", "water", "crash", "high_voltage_warning"}

    found = rulings(condition, **stand)

    if condition.crash or condition.water or condition.smoke or condition.warning:
        assert found[0].level == "refuse"
        assert found[0].code in dangers


@settings(max_examples=300)
@given(conditions, stands)
def test_rulings_stand_in_the_order_of_the_table_and_once_each(condition, stand):
    found = codes(condition, **stand)

    assert found == [rule.code for rule in RULES if rule.code in found]


def test_rulings_of_both_tables_go_by_level_then_subject():
    subjects = ("danger", "traffic", "place", "key", "battery", "port", "reach")
    rules = {rule.code: rule for rule in (*PLACE_RULES, *RULES)}
    words = dict.fromkeys(("needed_ft", "reach_ft", "in_reach", "out_of_reach", "places", "days"), "")

    ordered = [rules[ruling.code] for ruling in in_order(rule.ruling(**words) for rule in rules.values())]

    places = [(LEVELS.index(rule.level), subjects.index(rule.subject)) for rule in ordered]
    assert len(ordered) == len(RULES) + len(PLACE_RULES)
    assert places == sorted(places)


# ------------------------------------------------------------------------------------------------ what is assumed


def test_nothing_is_assumed_of_a_vehicle_that_is_known():
    assert assumed_of_condition(GOOD, dash_dead=False) == ()


def test_all_is_listed_for_a_vehicle_of_which_nobody_said_anything():
    assert assumed_of_condition(Condition(), dash_dead=False) == (
        "no crash",
        "no water above the sills",
        "no smoke or smell",
        "no battery warning on the dash",
        "port whole, dry and open",
        "12 V battery good",
        "key there",
    )


ASKED_OR_ASSUMED = {
    "crash": ("danger_not_known", "no crash"),
    "water": ("danger_not_known", "no water above the sills"),
    "smoke": ("danger_not_known", "no smoke or smell"),
    "warning": ("danger_not_known", "no battery warning on the dash"),
    "port": (None, "port whole, dry and open"),
    "twelve_volt": ("which_battery", "12 V battery good"),
    "key": (None, "key there"),
}


@pytest.mark.parametrize("name", [field.name for field in fields(Condition) if field.name != "danger_unknown"])
@pytest.mark.parametrize(("danger_unknown", "dash_dead"), list(product([True, False], repeat=2)))
def test_nothing_unknown_passes_in_silence(name, danger_unknown, dash_dead):
    """It is either asked or assumed in so many words, never both."""
    condition = replace(GOOD, danger_unknown=danger_unknown, **{name: None})
    code, words = ASKED_OR_ASSUMED[name]

    asked = code in codes(condition, dash_dead=dash_dead, start_percent=0)

    assert asked != (words in assumed_of_condition(condition, dash_dead=dash_dead))


# ------------------------------------------------------------------------------------------------------ the table


def test_each_code_stands_once_in_both_tables():
    listed = [rule.code for rule in (*PLACE_RULES, *RULES)]

    assert len(set(listed)) == len(listed)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_rule_names_a_source_that_is_known_or_says_that_there_is_none(rule, root):
    known = yaml.safe_load((root / "vehicle_data" / "sources.yaml").read_text(encoding="utf-8"))

    assert rule.source == "common practice, no source" or rule.source in known


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_rule_asks_where_its_level_is_to_ask(rule):
    assert bool(rule.question) == (rule.level == "ask")
    assert not rule.question or rule.question.endswith("?")


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_try_says_how_long_with_what_and_when_to_give_up(rule):
    is_try = rule.level == "try"

    assert (rule.minutes in RATES) == is_try
    assert bool(rule.bring) == is_try
    assert rule.give_up.startswith("Stop if ") == is_try


def test_each_try_has_a_rate_of_its_own():
    assert sorted(rule.minutes for rule in RULES if rule.minutes) == sorted(RATES)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_rule_says_what_instead(rule):
    assert rule.remedy.endswith(".")
    assert rule.text.endswith(".")


def test_no_sentence_stands_twice_in_both_tables():
    rules = (*PLACE_RULES, *RULES)
    said = [text for rule in rules for text in (rule.situation, rule.text, rule.remedy, rule.question) if text]

    assert len(set(said)) == len(said)


def test_fire_is_kept_away_from_and_called_in():
    (found,) = rulings(replace(GOOD, smoke=True))

    assert "call 911" in found.text
    assert "75 ft (25 m)" in found.text


@pytest.mark.parametrize("harm", ["flame", "prying", "hot water", "heat gun"])
def test_frozen_port_is_thawed_without_harm(harm):
    (found,) = rulings(replace(GOOD, port="frozen"))

    assert f"no {harm}" in found.text
