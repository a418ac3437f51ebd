"""Each rule of place, made and not made; a worse place never gets a better answer; nothing unknown passes in silence."""

import re
from dataclasses import fields, replace
from itertools import product
from typing import get_args

import make
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.place import (
    LEVELS,
    OPEN_PLACES,
    PLACE_KIND_WORDS,
    RULES,
    SHOULDER_CAP_MIN,
    Place,
    PlaceKind,
    Rule,
    Ruling,
    assumed_of_place,
    place_rulings,
)
from planner.records import PortPlace, VehiclePort

KINDS = get_args(PlaceKind)
HATCH = make.vehicle(body="hatch")
GOOD = Place("open_lot", "clear", "away", True, 2.0, None, None, False, True)
BLANK = re.compile(r"[{}]|\.\.\.")


def port(*places):
    share = 1 / len(places)
    return VehiclePort(inlet="j1772", places=tuple(PortPlace(at=at, share=share) for at in places))


NOSE = port("nose")


def rulings(place, *, engine=True, vehicle=HATCH, port=NOSE, cable_length_m=7.6):
    return place_rulings(place, engine=engine, vehicle=vehicle, port=port, cable_length_m=cable_length_m)


def codes(place, **others):
    return [ruling.code for ruling in rulings(place, **others)]


def worst(place, **others):
    """Return how bad the worst ruling is: 0 for nothing to say, 4 for a refusal."""
    return max((len(LEVELS) - LEVELS.index(ruling.level) for ruling in rulings(place, **others)), default=0)


# ----------------------------------------------------------------------------------------------- each rule by itself


def test_good_place_needs_nothing():
    assert codes(GOOD, engine=True) == []
    assert codes(GOOD, engine=False) == []


# The code, the place that makes it (as changes of the good one), whether an engine may run, the nearest that does not.
MADE = [
    ("in_traffic", {"out_of_traffic": False}, False, {"out_of_traffic": True}),
    ("engine_indoors", {"kind": "garage"}, True, {"kind": "driveway"}),
    ("engine_underground", {"kind": "underground"}, True, {"kind": "open_lot"}),
    ("engine_under_roof", {"kind": "car_port"}, True, {"kind": "driveway"}),
    ("engine_under_roof", {"kind": "open_ramp"}, True, {"kind": "open_lot"}),
    ("engine_near_openings", {"openings": "near"}, True, {"openings": "clear"}),
    ("engine_near_people", {"people": "near"}, True, {"people": "away"}),
    ("no_permission", {"permission": False}, False, {"permission": True}),
    ("cable_too_short", {"port_distance_m": 6.7}, False, {"port_distance_m": 6.5}),
    ("traffic_not_known", {"kind": "street", "out_of_traffic": None}, False, {"kind": "street"}),
    ("traffic_not_known", {"kind": "shoulder", "out_of_traffic": None}, False, {"kind": "open_lot"}),
    ("place_not_known", {"kind": None}, True, {}),
    ("clearance_not_known", {"openings": None}, True, {}),
    ("clearance_not_known", {"people": None}, True, {}),
    ("permission_not_known", {"kind": "garage", "permission": None}, False, {"kind": "garage"}),
    ("permission_not_known", {"kind": "open_ramp", "permission": None}, False, {"kind": "open_ramp"}),
    ("permission_not_known", {"kind": "underground", "permission": None}, False, {"permission": None}),
    ("quiet_hours", {"quiet_hours": True, "permission": None}, True, {"quiet_hours": True}),
    ("shoulder", {"kind": "shoulder"}, False, {"kind": "street"}),
]


@pytest.mark.parametrize(("code", "makes", "engine"), [made[:3] for made in MADE])
def test_rule_is_made_alone(code, makes, engine):
    assert codes(replace(GOOD, **makes), engine=engine) == [code]


@pytest.mark.parametrize(("code", "engine", "spares"), [(made[0], *made[2:]) for made in MADE])
def test_rule_is_not_made_by_its_nearest_neighbor(code, engine, spares):
    assert code not in codes(replace(GOOD, **spares), engine=engine)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("near", [{"openings": "near"}, {"people": "near"}, {"openings": None}, {"quiet_hours": True}])
def test_exhaust_and_noise_are_no_matter_without_an_engine(kind, near):
    assert not [code for code in codes(replace(GOOD, kind=kind, **near), engine=False) if code != "shoulder"]


@pytest.mark.parametrize("kind", sorted(set(KINDS) - set(OPEN_PLACES)))
@pytest.mark.parametrize("openings", ["clear", None])
@pytest.mark.parametrize("permission", [True, None])
def test_no_engine_runs_anywhere_but_in_the_open(kind, openings, permission):
    found = rulings(replace(GOOD, kind=kind, openings=openings, permission=permission), engine=True)

    assert found[0].level == "refuse"


def test_rule_that_the_side_makes_is_covered_below():
    assert {rule.code for rule in RULES} - {code for code, *_ in MADE} == {"port_side_not_known"}


def test_permission_that_was_refused_is_not_asked_for_again():
    noisy = replace(GOOD, kind="garage", quiet_hours=True, permission=False)

    assert "quiet_hours" not in codes(noisy, engine=True)
    assert codes(noisy, engine=False) == ["no_permission"]


# ------------------------------------------------------------------------------------------------------- the cable


def short_of(distance_m, **others):
    (found,) = rulings(replace(GOOD, port_distance_m=distance_m), engine=False, **others)
    return found.text


def test_sentence_says_the_feet_needed_and_the_feet_of_reach():
    """8 m are 26.2 ft, and 7.6 m of cable less 1 m are 21.7 ft: the need goes up, the reach down."""
    assert short_of(8.0) == "It takes 27 ft of cable to the port and ours reaches 21 ft."


def test_whole_feet_stay_what_they_are():
    """30 ft of way, and a cable of 20 ft and 1 m."""
    assert short_of(30 * 0.3048, cable_length_m=20 * 0.3048 + 1) == (
        "It takes 30 ft of cable to the port and ours reaches 20 ft."
    )


@given(st.floats(0, 40), st.floats(0, 60))
def test_sentence_never_reads_as_if_the_cable_reached(cable_length_m, distance_m):
    found = rulings(replace(GOOD, port_distance_m=distance_m), engine=False, cable_length_m=cable_length_m)

    for ruling in found:
        needed, reach = map(int, re.findall(r"(\d+) ft", ruling.text))
        assert needed > reach


def test_way_that_takes_just_the_reach_is_served():
    assert codes(replace(GOOD, port_distance_m=6.6), cable_length_m=7.6) == []


def test_distance_that_was_given_decides_whatever_the_side():
    """From behind, a hatch of 4.2 by 1.8 m takes more than 6 m to its nose."""
    behind = replace(GOOD, stand="behind", gap_m=1.0)

    assert codes(replace(behind, port_distance_m=None), cable_length_m=5.0) == ["cable_too_short"]
    assert codes(replace(behind, port_distance_m=2.0), cable_length_m=5.0) == []
    assert codes(replace(behind, port_distance_m=2.0), cable_length_m=5.0, port=None) == []


def test_least_feet_are_told_where_no_place_of_the_port_is_in_reach():
    """A hatch's left side middle from behind at no gap is 0.9 + 2.1 m, 9.8 ft; its nose is 6 m away."""
    behind = replace(GOOD, port_distance_m=None, stand="behind", gap_m=0.0)

    (found,) = rulings(behind, port=port("nose", "left_side"), cable_length_m=2.0)

    assert found.code == "cable_too_short"
    assert found.text == "It takes 10 ft of cable to the port and ours reaches 3 ft."


def test_side_of_the_port_is_asked_where_it_decides():
    """From the left at 1 m, the left rear fender is near, the right one is round the vehicle."""
    left = replace(GOOD, port_distance_m=None, stand="left", gap_m=1.0)

    (found,) = rulings(left, port=port("left_rear_fender", "right_rear_fender", "right_side"), cable_length_m=4.0)

    assert (found.code, found.level) == ("port_side_not_known", "ask")
    assert found.text == (
        "Our cable reaches a port on the left rear fender from there, and not one on the right rear fender or right side."
    )
    assert found.question == (
        "Which side is the charge door on, and is it near the front or the back: left rear fender, right rear fender or right side?"
    )


def test_side_of_the_port_is_no_matter_where_all_are_in_reach():
    left = replace(GOOD, port_distance_m=None, stand="left", gap_m=1.0)

    assert codes(left, port=port("left_rear_fender", "right_rear_fender"), cable_length_m=15.0) == []


def test_usual_gap_is_taken_where_none_was_given():
    """3 ft are 0.914 m: a nose port at the front is reached by 1.92 m of cable and not by 1.91 m."""
    front = replace(GOOD, port_distance_m=None, stand="front", gap_m=None)

    assert codes(front, cable_length_m=1.92) == []
    assert codes(front, cable_length_m=1.91) == ["cable_too_short"]


def test_longer_body_takes_more_cable():
    """Nose to tail along one side: 4.2 + 1.8 m of a hatch, 8 + 2.4 m of a truck, each at no gap."""
    behind = replace(GOOD, port_distance_m=None, stand="behind", gap_m=0.0)

    assert codes(behind, vehicle=HATCH, cable_length_m=7.1) == []
    assert codes(behind, vehicle=make.vehicle(body="truck"), cable_length_m=7.1) == ["cable_too_short"]


@pytest.mark.parametrize("missing", [{"port": None}, {"cable_length_m": None}])
def test_nothing_is_said_of_the_reach_without_port_or_cable(missing):
    far = replace(GOOD, port_distance_m=None, stand="behind", gap_m=20.0)

    assert codes(far) == ["cable_too_short"]
    assert codes(far, **missing) == []


# ------------------------------------------------------------------------------------------------------------ laws

places = st.builds(
    Place,
    kind=st.sampled_from([None, *KINDS]),
    openings=st.sampled_from([None, "clear", "near"]),
    people=st.sampled_from([None, "away", "near"]),
    out_of_traffic=st.sampled_from([None, True, False]),
    port_distance_m=st.none() | st.floats(0, 20),
    stand=st.sampled_from([None, "front", "behind", "left", "right"]),
    gap_m=st.none() | st.floats(0, 10),
    quiet_hours=st.sampled_from([None, True, False]),
    permission=st.sampled_from([None, True, False]),
)
ports = st.lists(
    st.sampled_from(["nose", "tail", "left_rear_fender", "right_front_fender"]), min_size=1, unique=True
).map(lambda names: port(*names))
# From the best to the worst, with what is not known between what is good and what is not.
BETTER_TO_WORSE = {
    "openings": ("clear", None, "near"),
    "people": ("away", None, "near"),
    "out_of_traffic": (True, None, False),
    "permission": (True, None, False),
    "quiet_hours": (False, True),
}


@pytest.mark.parametrize("engine", [True, False])
@pytest.mark.parametrize("name", BETTER_TO_WORSE)
@settings(max_examples=150)
@given(places, ports, st.floats(0, 20))
def test_worse_fact_never_gets_a_better_answer(name, engine, place, ports, cable_length_m):
    others = {"engine": engine, "port": ports, "cable_length_m": cable_length_m}
    found = [worst(replace(place, **{name: value}), **others) for value in BETTER_TO_WORSE[name]]

    assert found == sorted(found)


# What holds of kinds: each line from the better to the worse.
WORSE_KINDS = {
    True: [
        ("open_lot", "driveway", "open_lot"),
        ("open_lot", "street", "shoulder"),
        *((opened, None, roofed) for opened in ("open_lot", "driveway") for roofed in ("car_port", "garage")),
        *((None, roofed) for roofed in ("open_ramp", "underground")),
    ],
    False: [
        ("open_lot", "driveway", "car_port", "open_lot"),
        ("open_lot", "street", "shoulder"),
        ("car_port", "open_ramp", "underground", "garage", "open_ramp"),
    ],
}


@pytest.mark.parametrize(
    ("engine", "kinds"), [(engine, kinds) for engine, lines in WORSE_KINDS.items() for kinds in lines]
)
@settings(max_examples=100)
@given(place=places)
def test_worse_kind_never_gets_a_better_answer(engine, kinds, place):
    found = [worst(replace(place, kind=kind), engine=engine) for kind in kinds]

    assert found == sorted(found)


@settings(max_examples=300)
@given(places, ports, st.floats(0, 20))
def test_engine_is_never_better_than_none(place, ports, cable_length_m):
    others = {"port": ports, "cable_length_m": cable_length_m}

    assert worst(place, engine=False, **others) <= worst(place, engine=True, **others)


@settings(max_examples=300)
@given(places, ports, st.floats(0, 20), st.floats(0, 10))
def test_more_cable_is_never_worse(place, ports, cable_length_m, more_m):
    shorter = worst(place, port=ports, cable_length_m=cable_length_m)

    assert worst(place, port=ports, cable_length_m=cable_length_m + more_m) <= shorter


@settings(max_examples=200)
@given(places, st.sampled_from([None, "front", "behind"]), st.floats(0, 20))
def test_mirrored_vehicle_gets_the_same_answer(place, end, cable_length_m):
    other = {"left": "right", "right": "left"}
    stand = end or place.stand
    one = codes(replace(place, stand=stand), port=port("left_side", "nose"), cable_length_m=cable_length_m)

    mirrored = replace(place, stand=other.get(stand, stand))
    assert codes(mirrored, port=port("right_side", "nose"), cable_length_m=cable_length_m) == one


@settings(max_examples=300)
@given(places, ports, st.booleans(), st.floats(0, 20))
def test_rulings_stand_in_the_order_of_the_table_and_once_each(place, ports, engine, cable_length_m):
    found = codes(place, engine=engine, port=ports, cable_length_m=cable_length_m)

    assert found == [rule.code for rule in RULES if rule.code in found]


@settings(max_examples=300)
@given(places, ports, st.booleans(), st.floats(0, 20))
def test_every_blank_is_filled_in(place, ports, engine, cable_length_m):
    for ruling in rulings(place, engine=engine, port=ports, cable_length_m=cable_length_m):
        assert not BLANK.search(ruling.text + ruling.question + ruling.remedy)


# ------------------------------------------------------------------------------------------------ what is assumed


def test_nothing_is_assumed_of_a_place_that_is_known():
    assert assumed_of_place(GOOD, engine=True, site_outlet=False) == ()


def test_all_is_listed_for_a_place_of_which_nobody_said_anything():
    assert assumed_of_place(Place(), engine=False, site_outlet=False) == (
        "a place that suits a rig without an engine",
        "out of moving traffic",
        "port within reach of the cable",
        "allowed by whoever runs the place",
    )


def test_engine_at_an_unknown_place_is_asked_and_not_assumed():
    assert assumed_of_place(Place(), engine=True, site_outlet=False) == (
        "out of moving traffic",
        "port within reach of the cable",
        "no quiet hours",
        "allowed by whoever runs the place",
    )


def test_outlet_of_a_site_is_assumed_to_be_allowed_by_its_owner():
    assert assumed_of_place(replace(GOOD, permission=None), engine=False, site_outlet=True) == (
        "allowed by whose outlet it is",
    )


def test_usual_gap_is_listed_where_the_side_alone_was_given():
    side = replace(GOOD, port_distance_m=None, stand="left", gap_m=None)

    assert assumed_of_place(side, engine=False, site_outlet=False) == ("our truck 3 ft from the vehicle",)


def test_reach_is_assumed_where_the_place_of_the_port_is_not_known():
    side = replace(GOOD, port_distance_m=None, stand="left", gap_m=1.0)

    assert assumed_of_place(side, engine=False, site_outlet=False, port_known=False) == (
        "port within reach of the cable",
    )


ASKED_BY = {
    "kind": ("place_not_known",),
    "openings": ("place_not_known", "clearance_not_known"),
    "people": ("place_not_known", "clearance_not_known"),
    "out_of_traffic": ("traffic_not_known",),
    "permission": ("permission_not_known", "quiet_hours"),
}
ASSUMED_AS = {
    "kind": ("a place that suits a rig without an engine",),
    "out_of_traffic": ("out of moving traffic",),
    "port_distance_m": ("port within reach of the cable",),
    "quiet_hours": ("no quiet hours",),
    "permission": ("allowed by whoever runs the place",),
}


@pytest.mark.parametrize("kind", [None, *KINDS])
@pytest.mark.parametrize(("engine", "quiet"), list(product([True, False], repeat=2)))
@pytest.mark.parametrize("name", [field.name for field in fields(Place) if field.name not in ("stand", "gap_m")])
def test_nothing_unknown_passes_in_silence(name, kind, engine, quiet):
    """It is asked, assumed in so many words, or no matter: exhaust and noise without an engine, or where it is refused."""
    place = replace(replace(GOOD, kind=kind, quiet_hours=quiet), **{name: None})
    asked = {code for code in codes(place, engine=engine) if code in ASKED_BY.get(name, ())}
    listed = assumed_of_place(place, engine=engine, site_outlet=False)
    assumed = [words for words in listed if words in ASSUMED_AS.get(name, ())]

    refused = worst(place, engine=engine) == len(LEVELS)
    no_matter = name in ("openings", "people", "quiet_hours") and (not engine or refused)
    assert len(asked) + len(assumed) == (0 if no_matter and not assumed else 1)


# ------------------------------------------------------------------------------------------------------ the table


def test_table_goes_by_level():
    levels = [LEVELS.index(rule.level) for rule in RULES]

    assert levels == sorted(levels)


def test_each_code_stands_once():
    listed = [rule.code for rule in RULES]

    assert len(set(listed)) == len(listed)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_rule_names_a_source_that_is_known(rule, root):
    known = yaml.safe_load((root / "vehicle_data" / "sources.yaml").read_text(encoding="utf-8"))

    assert rule.source == "common practice, no source" or re.split("[;,]", rule.source)[0] in known


@pytest.mark.parametrize(
    "rule", [rule for rule in RULES if rule.code.startswith("engine_")], ids=lambda rule: rule.code
)
def test_rule_of_exhaust_names_the_guidance_as_far_as_it_goes(rule):
    """It names houses and what is built, and no vehicle with somebody in it."""
    assert rule.source.startswith("own-judgement" if rule.code == "engine_near_people" else "cpsc-generators")


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_rule_asks_where_its_level_is_to_ask(rule):
    assert bool(rule.question) == (rule.level == "ask")
    assert not rule.question or rule.question.endswith("?")


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_rule_says_what_instead(rule):
    assert rule.remedy.endswith(".")
    assert rule.text.endswith(".")


def test_no_sentence_stands_twice():
    said = [said for rule in RULES for said in (rule.situation, rule.text, rule.remedy, rule.question) if said]

    assert len(set(said)) == len(said)


def test_rule_as_a_page_shows_it_has_no_blanks_of_a_call():
    shown = {rule.code: rule.with_blanks() for rule in RULES}

    assert shown["cable_too_short"].text == "It takes more cable to the port than ours reaches."
    assert not [rule for rule in shown.values() if set("{}") & set(rule.text + rule.question + rule.remedy)]


def test_ruling_carries_all_that_its_rule_says():
    rule = Rule("made", "try", "Made", "Takes {n}.", "Else {m}", "s", "port", "Is it {n}?", "made_min", ("a",), "Stop.")

    assert rule.ruling(n=3, m=4) == Ruling(
        "made", "try", "Takes 3.", "Else 4", "s", "Is it 3?", "made_min", ("a",), "Stop."
    )


def test_minutes_of_a_try_are_filled_in_by_whoever_knows_them():
    rule = Rule(
        "made",
        "try",
        "Made",
        "It is a try.",
        "Allow {minutes} min.",
        "s",
        minutes="made_min",
        give_up="After {minutes} min.",
    )

    found = rule.ruling().allowing(30)

    assert (found.remedy, found.give_up) == ("Allow 30 min.", "After 30 min.")
    assert rule.with_blanks(minutes=30).remedy == "Allow 30 min."
    assert rule.with_blanks().give_up == "After ... min."


def test_shoulder_cap_is_said_aloud():
    (found,) = rulings(replace(GOOD, kind="shoulder"), engine=False)

    assert f"{SHOULDER_CAP_MIN} minutes" in found.text


def test_shoulder_cap_is_no_longer_than_a_minor_incident():
    assert SHOULDER_CAP_MIN <= 30  # MUTCD, 6I.01: minor, expected duration under 30 minutes


def test_every_kind_has_words():
    assert set(PLACE_KIND_WORDS) == set(KINDS)
    assert len(set(PLACE_KIND_WORDS.values())) == len(KINDS)
