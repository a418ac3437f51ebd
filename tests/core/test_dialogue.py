"""The dialogue of a call: the order of its questions, what answers mean, what is not asked, and what is said at once."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from make import shipped_dataset

from planner.call_file import call_of
from planner.condition import RULES as CONDITION_RULES
from planner.dialogue import (
    LONGEST_MESSAGE,
    QUESTIONS,
    _kinds_said,
    asked_of_caller,
    begin,
    charger_question,
    final_words,
    keeps_away,
    prompt,
    refusals,
    reply,
    script,
    text_message,
)
from planner.place import RULES as PLACE_RULES

ENGINE_RIG, SILENT_RIG, OUTLET_RIG = "pass-truck", "ski-hill-battery", "fairground-outlet"


def start(**words):
    """Return the first state of a dialogue with what is known before it."""
    return begin(shipped_dataset(), words, call_of).state


def asked(state):
    """Return the code of the question that is asked next, None at the end."""
    text = prompt(state)
    if text is None:
        return None
    return next((question.code for question in QUESTIONS if question.text == text.split("\n")[0]), "go-on")


def say(state, *answers):
    """Return the state after some answers, and what was said back to the last."""
    found = ""
    for answer in answers:
        told = reply(state, answer)
        state, found = told.state, told.say
    return state, found


def codes(state, answers=None):
    """Return the questions of a dialogue in their order; Enter where no answer is named."""
    found = []
    while (code := asked(state)) is not None:
        found.append(code)
        state, _ = say(state, (answers or {}).get(code, ""))
    return found


def at(code, **words):
    """Return a dialogue that has come to a question by Enter alone."""
    state = start(**words)
    while asked(state) != code:
        state, _ = say(state, "")
        assert asked(state) is not None, code
    return state


# ------------------------------------------------------------------------------------------------------------ the order


def test_the_questions_come_in_speaking_order():
    found = codes(
        start(),
        {
            "rig": ENGINE_RIG, "vehicle": "plug-in-hybrid-suv", "start": "dead", "goal": "both",
            "home": "32mi", "charger": "12mi", "quiet-hours": "yes", "at": "street", "more": "yes", "climb": "downhill",
        },
    )  # fmt: skip

    assert found == [
        "rig", "traffic", "danger", "at", "openings", "people", "quiet-hours", "permission", "vehicle", "tank", "start",
        "twelve-volt", "goal", "home", "charger", "charger-fits", "charger-open", "key", "port-state", "cabin",
        "ambient", "more", "parked", "drove", "altitude", "road", "climb", "descent", "distance",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("words", "answers", "left_out"),
    [
        ({"rig": ENGINE_RIG}, {}, ["rig"]),
        ({"rig": SILENT_RIG}, {}, ["openings", "people", "quiet-hours", "permission"]),
        (
            {"rig": ENGINE_RIG, "vehicle": "compact-hatch"},
            {},
            ["port", "body", "built", "battery", "fuel-door", "tank"],
        ),
        ({"rig": ENGINE_RIG}, {"start": "12%"}, ["twelve-volt"]),
        ({"rig": ENGINE_RIG}, {"goal": "percent"}, ["home", "charger", "charger-fits", "charger-open", "miles"]),
        ({"rig": ENGINE_RIG}, {"goal": "home 32mi"}, ["home", "charger", "charger-fits", "miles", "minutes"]),
        ({"rig": ENGINE_RIG, "vehicle": "compact-hatch"}, {"at": "open-lot"}, ["distance"]),  # within reach all round
        ({"rig": ENGINE_RIG}, {}, ["parked", "drove", "altitude", "road", "climb", "descent"]),
        ({"rig": ENGINE_RIG}, {"more": "parked"}, ["drove", "altitude", "road", "climb", "descent"]),
        ({"rig": ENGINE_RIG}, {"more": "yes", "goal": "80%"}, ["road", "climb", "descent"]),
        ({"rig": ENGINE_RIG}, {"at": "shoulder"}, ["quiet-hours", "permission"]),
        ({"rig": ENGINE_RIG, "vehicle": "electric-motorcycle"}, {}, ["cabin"]),
        ({"rig": ENGINE_RIG, "ambient": "20F", "key": "here"}, {}, ["ambient", "key"]),
    ],
    ids=str,
)
def test_what_cannot_matter_is_not_asked(words, answers, left_out):
    assert not set(left_out) & set(codes(start(**words), answers))


@pytest.mark.parametrize(
    ("words", "answers", "there"),
    [
        ({"rig": SILENT_RIG}, {"at": "garage"}, "permission"),
        ({"rig": OUTLET_RIG}, {"at": "open-lot"}, "permission"),
        ({"rig": ENGINE_RIG}, {"quiet-hours": "yes"}, "permission"),
        ({"rig": ENGINE_RIG, "vehicle": "compact-crossover"}, {}, "port"),
        ({"rig": ENGINE_RIG}, {"fuel-door": "yes"}, "tank"),
        ({"rig": ENGINE_RIG}, {}, "openings"),  # an unknown place may be an open one
        ({"rig": ENGINE_RIG}, {"start": "0%"}, "parked"),  # stood for weeks it may not wake
        ({"rig": "county-truck", "vehicle": "compact-hatch"}, {"at": "open-lot"}, "distance"),  # a short cable
        ({"rig": SILENT_RIG, "vehicle": "compact-hatch"}, {"at": "garage"}, "distance"),
    ],
    ids=str,
)
def test_what_matters_is_asked(words, answers, there):
    assert there in codes(start(**words), answers)


# ----------------------------------------------------------------------------------------------------- what answers mean


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        ("1", "open-lot"),
        ("parking lot", "open-lot"),
        ("a campground", "open-lot"),
        ("rest area on the highway", None),
        ("the roof level of a parking structure", "open-lot"),
        ("scenic pull-out", "open-lot"),
        ("pull-out", None),
        ("plowed turnout", None),
        ("plowed turnout, off the road", "open-lot"),
        ("our own land, end of the lane", "open-lot"),
        ("in the lane", None),
        ("in a ditch", None),
        ("rest stop", "open-lot"),
        ("camp site", "open-lot"),
        ("driveway at the house", "driveway"),
        ("garage at the house", "garage"),
        ("attached garage", "garage"),
        ("access road", None),
        ("gas station, under the canopy", "car-port"),
        ("a lot, not under a roof", "open-lot"),
        ("not in the garage, in the driveway", "driveway"),
        ("parking lot, no, under a roof", None),
        ("carport", "car-port"),
        ("under the canopy", "car-port"),
        ("under a tarp", "car-port"),
        ("basement", "underground"),
        ("an underground parking garage", "underground"),
        ("highway", "shoulder"),
        ("on the side of the road", "shoulder"),
        ("by the curb", "street"),
        ("DRIVEWAY.", "driveway"),
        ("d", "driveway"),
        ("in the barn", "garage"),
    ],
)
def test_a_place_is_understood_as_people_call_it(said, kind):
    state, _ = say(at("at", rig=SILENT_RIG), said)

    assert state.word("at") == kind


@pytest.mark.parametrize("said", ["parking garage", "parking structure", "parking deck"])
def test_a_word_for_several_places_is_asked_about_with_the_numbers_of_the_short_list_alone(said):
    before = at("at", rig=SILENT_RIG)
    state, told = say(before, said)

    assert (state.answers, asked(state)) == (before.answers, "at")
    assert told == f"'{said}': walls all round, or open sides?"
    assert prompt(state) == (
        "Where does it stand?\n"
        "  1 open-lot (roof level, nothing above)\n"
        "  2 open-ramp (open sides, another deck above)\n"
        "  3 garage (walls all round)\n"
        "  4 underground\n> "
    )
    assert say(state, "2")[0].word("at") == "open-ramp"
    assert say(state, "6")[0].word("at") is None


@pytest.mark.parametrize("code", ["at", "vehicle"])
def test_the_script_numbers_in_the_order_of_the_question(code):
    text = script(shipped_dataset())
    said = {"at": "8", "vehicle": "59"}[code]
    state, _ = say(at(code, rig=SILENT_RIG), said)

    named = {"at": "underground", "vehicle": "Step van, CCS1"}[code]
    assert f"{said} {named}" in text
    assert state.word(code) == named.lower().partition(",")[0].replace(" ", "-")


@pytest.mark.parametrize(
    ("said", "start_word"),
    [
        ("12%", "12%"),
        ("12 percent", "12 percent"),
        ("8 miles", "8 miles"),
        ("1 of 12", "1/12bars"),
        ("2 bars of 12", "2/12bars"),
        ("turtle", "turtle"),
        ("---", "dashes"),
        ("nothing", "dead"),
        ("zero", "0%"),
        ("the screen's on and it says zero", "0%"),
        ("empty", "0%"),
        ("nothing left", "0%"),
        ("half", "50%"),
        ("turtle and three dashes", "turtle"),
        ("three dashes", "dashes"),
        ("it's at 2 percent", "2%"),
        ("completely dark, not one light", "dead"),
        ("", "unknown"),
        ("not sure", "unknown"),
    ],
)
def test_the_dash_is_kept_as_its_option_takes_it(said, start_word):
    state, _ = say(at("start", rig=ENGINE_RIG), said)

    assert state.word("start") == start_word


def test_a_bare_number_on_the_dash_is_no_choice_and_is_asked_about():
    before = at("start", rig=ENGINE_RIG)
    state, told = say(before, "2")

    assert state.answers == before.answers
    assert " ".join(told.split()) == (
        "Got '2'; expected a percent with its sign; it could mean 2 % of charge or a dash that shows 2 mi (then write "
        "2mi): write 2%."
    )


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("home 32mi", {"home": "32mi"}),
        ("home 32mi, fast charger 12mi", {"home": "32mi", "fast_charger": "12mi"}),
        ("45 miles", {"miles": "45 miles"}),
        ("80%", {"to": "80%"}),
        ("90 minutes", {"minutes": "90 minutes"}),
        ("10kWh", {"kwh": "10kwh"}),
        ("18 miles to the charger", {"fast_charger": "18 miles"}),
        ("home is 16 miles", {"home": "16 miles"}),
        ("hotel 22mi", {"miles": "22mi"}),
        ("work 35 miles", {"miles": "35 miles"}),
        ("6 miles there and back", {"miles": "6 miles"}),
        ("full", {"to": "100%"}),
        ("half", {"to": "50%"}),
    ],
)
def test_a_need_is_said_at_once(said, words):
    state, _ = say(at("goal", rig=ENGINE_RIG), said)

    assert {name: value for name, value in state.words.items() if name in words} == words
    assert asked(state) in {"charger-fits", "key"}


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("2 days", "48h"),
        ("1 week", "168h"),
        ("half an hour", "30min"),
        ("20min", "20min"),
        ("overnight", "10h"),
        ("all day", "10h"),
        ("five weeks", "840h"),
    ],
)
def test_a_time_is_kept_as_its_option_takes_it(said, told):
    state, _ = say(at("parked", rig=ENGINE_RIG, start="0%"), said)

    assert state.word("parked") == told


@pytest.mark.parametrize(
    ("said", "dangers"),
    [
        ("none", ("none",)),
        ("no", ("none",)),
        ("2", ("crash",)),
        ("crash and water", ("crash", "water")),
        ("2, 4", ("crash", "smoke")),
        ("smoke from the hood", ("smoke",)),
        ("a red light", ("warning",)),
        ("", ("unknown",)),
        ("can't tell", ("unknown",)),
    ],
)
def test_one_or_several_dangers_are_taken(said, dangers):
    state, _ = say(at("danger", rig=ENGINE_RIG), said)

    assert state.words["danger"] == dangers


@pytest.mark.parametrize(
    ("said", "dangers"),
    [
        ("slid into the ditch", ("crash",)),
        ("not a crash, slid into the ditch", ("crash",)),
        ("hit a deer", ("crash",)),
        ("a pine branch fell on it", ("crash",)),
        ("creek over the sill", ("water",)),
        ("floating mats", ("water",)),
        ("sharp smell", ("smoke",)),
        ("burnt plastic", ("smoke",)),
        ("no smell but the floor is warm", ("smoke",)),
        ("doesn't smell of anything but smoke", ("smoke",)),
        ("smells a bit like smoke, I don't see any", ("smoke",)),
        ("not only smoke", ("smoke",)),
        ("there was smoke but not now", ("smoke",)),
        ("high voltage message", ("warning",)),
        ("battery overheated", ("warning",)),
        ("it says stop safely", ("warning",)),
        ("slid off, smells of burnt plastic", ("crash", "smoke")),
    ],
)
def test_a_sign_of_danger_is_that_danger(said, dangers):
    state, told = say(at("danger", rig=ENGINE_RIG), said)

    assert state.words["danger"] == dangers
    assert told.startswith(f"Taken: {dangers[0]}")


@pytest.mark.parametrize(
    "said",
    [
        "nothing like that",
        "no crash, no smell, no water, nothing like that, just the turtle",
        "only the low battery message",
        "no, just empty",
        "no crash, no water, no smoke and no warning",
        "no crash, water, smoke or warning",
    ],
)
def test_a_plain_denial_of_all_is_none(said):
    state, told = say(at("danger", rig=ENGINE_RIG), said)

    assert state.words["danger"] == ("none",)
    assert told == "Taken: none."


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("it doesn't smell of anything", "Taken: no smoke or smell. And any crash or water or warning?"),
        ("no crash, no smell, no water", "Taken: no crash, no water, no smoke or smell. And any warning?"),
        ("no warnings", "Taken: no warning. And any crash or water or smoke or smell?"),
        ("no warnings apart from the low battery one", "Taken: no warning. And any crash or water or smoke or smell?"),
        ("not a crash", "Taken: no crash. And any water or smoke or smell or warning?"),
        ("low battery warning", "A low battery is no danger by itself. Any of these?"),
    ],
)
def test_what_is_ruled_out_alone_leaves_the_others_to_be_asked(said, told):
    before = at("danger", rig=ENGINE_RIG)
    state, found = say(before, said)

    assert (state.answers, asked(state)) == (before.answers, "danger")
    assert " ".join(found.split()) == f"{told} Say none, or name it."
    assert say(state, "none")[0].words["danger"] == ("none",)
    assert say(state, "smoke")[0].words["danger"] == ("smoke",)


def test_dangers_that_are_ruled_out_one_after_the_other_are_none_at_last():
    state, _ = say(at("danger", rig=ENGINE_RIG), "no crash, no water", "it does not smell")
    assert asked(state) == "danger"

    state, told = say(state, "no warnings")

    assert (state.words["danger"], told) == (("none",), "Taken: none.")


@pytest.mark.parametrize(
    "said",
    [
        "none, smoke",
        "smoke? no",
        "not smoking anymore",
        "no smoke now",
        "no longer smoking",
        "no big crash",
        "no serious accident",
        "not really a crash",
        "no doubt it is smoke",
        "I don't think it smells",
        "I don't know if it hit anything",
        "no crash and smoke",
        "no crash, smoke",
        "not without smoke",
        "no, I guess not",
        "it doesn't smell much",
        "no the crash was last week",
        "no smoke that I can see",
        "no damage",
        "no flames",
        "airbags, no",
        "none, but it beeps",
        "a light came on",
        "something about the tree",
        "something",
        "w",
        "2 and 1",
    ],
)
def test_what_cannot_be_read_safely_is_asked_again_and_never_taken_for_no_danger(said):
    before = at("danger", rig=ENGINE_RIG)
    state, told = say(before, said)

    assert (state.answers, state.denied) == (before.answers, frozenset())
    assert told.startswith(f"Got '{said}'; expected ")


SIGNS = ("smoke", "crash", "a smell", "burnt plastic", "water", "a red light", "hit a deer", "a hiss", "overheated")


@given(st.lists(st.sampled_from(SIGNS), min_size=1, max_size=3), st.sampled_from(["there is {}", "it was {}", "{}"]))
@settings(max_examples=60, deadline=None)
def test_signs_without_a_denial_are_never_no_danger(signs, sentence):
    state, _ = say(at("danger", rig=SILENT_RIG), sentence.format(" and ".join(signs)))

    assert state.words["danger"] not in (("none",), ("unknown",))


@pytest.mark.parametrize(
    ("said", "vehicle"),
    [
        ("midsize-suv", "midsize-suv"),
        ("Midsize SUV, CCS1", "midsize-suv"),
        ("two-row SUV, flat hood, five seats", "midsize-suv"),
        ("hybrid off-roader", "plug-in-hybrid-off-road-suv"),
        ("a sled of the patrol", "snow-machine"),
        ("compact hatch", "compact-hatch"),
        ("older short-range hatch", "older-short-range-hatch"),
        ("first electric hatchback, 2013", "older-short-range-hatch"),
        ("raised five-door, two rows of seats", "compact-crossover"),
        ("the camper for the school run", "minivan"),
        ("minivan", "minivan"),
        ("a moped", "light-scooter"),
        ("big yellow bus", "school-bus"),
        ("3", "city-hatch-range-extender"),
    ],
)
def test_a_class_is_found_by_id_number_or_words(said, vehicle):
    state, told = say(at("vehicle", rig=ENGINE_RIG), said)

    assert state.word("vehicle") == vehicle
    assert told.startswith(f"Taken: {shipped_dataset().vehicle_classes[vehicle].name}")


def test_the_words_that_a_class_was_found_by_are_said_back_and_others_are_ignored():
    _, told = say(at("vehicle", rig=ENGINE_RIG), "It is a sled, of the patrol, I think")

    assert told == "Taken: Snow machine, by: sled, patrol."


def test_words_for_several_classes_are_answered_with_a_short_list_and_its_numbers_alone():
    state, told = say(at("vehicle", rig=ENGINE_RIG), "old hatch, 2012")

    assert told == "By: old, hatch. Which of these?"
    assert prompt(state) == (
        "What car is it?\n  1 Older city hatch, J1772 or CCS1\n  2 Older short-range hatch, J1772 and CHAdeMO\n> "
    )
    assert say(state, "2")[0].word("vehicle") == "older-short-range-hatch"
    assert say(state, "3")[0].word("vehicle") is None


def test_words_that_suit_no_class_wholly_are_confirmed():
    state, told = say(at("vehicle", rig=ENGINE_RIG), "big family one, three rows, boxy at the back")

    assert told.endswith("Is it this one? Enter if not.")
    assert prompt(state) == "What car is it?\n  1 Large three-row SUV, J3400\n> "
    assert say(state, "yes")[0].word("vehicle") == "large-three-row-suv"
    assert say(state, "")[0].word("vehicle") is None


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("round with five holes", {"port": "j1772"}),
        ("round, five holes, nothing below", {"port": "j1772"}),
        ("round with five holes and two big ones under", {"port": "ccs1"}),
        ("five holes, and under that two fat holes with an orange cap", {"port": "ccs1"}),
        ("slim", {"port": "j3400"}),
        ("flat oval, one slot", {"port": "j3400"}),
        ("the small slim kind, two big holes and three little ones", {"port": "j3400"}),
        ("egg-shaped port", {"port": "j3400"}),
        ("two ports", {"port": "chademo"}),
        ("chademo", {"port": "chademo"}),
        ("European, seven holes, round", {"port": "type-2"}),
        ("seven holes, two big ones under", {"port": "ccs2"}),
        ("household plug", {"port": "own-cord-5-15"}),
        ("j1772", {"port": "j1772"}),
    ],
)
def test_a_port_is_understood_by_its_shape(said, words):
    before = at("port", rig=ENGINE_RIG)
    state, _ = say(before, said)

    assert state.answers == (*before.answers, ("port", words))


@pytest.mark.parametrize("said", ["round", "five holes and seven holes", "a slot like a half moon", "a hole"])
def test_a_shape_of_no_port_that_it_may_have_is_asked_again(said):
    before = at("port", rig=ENGINE_RIG)
    state, told = say(before, said)

    assert state.answers == before.answers
    assert told.startswith(f"Got '{said}'; expected ")


def test_ports_are_shown_by_their_shape():
    text = prompt(at("port", rig=ENGINE_RIG, vehicle="compact-crossover"))

    assert "1 ccs1 (round, five holes, two big ones under)" in text
    assert "2 j3400 (slim or flat oval, five contacts, one slot for AC and DC)" in text


@pytest.mark.parametrize(("said", "cabin"), [("yes", "off"), ("no", "on"), ("", "unknown"), ("off", "off")])
def test_whether_heat_can_stay_off_is_asked(said, cabin):
    state, _ = say(at("cabin", rig=ENGINE_RIG), said)

    assert state.word("cabin") == cabin


@pytest.mark.parametrize(
    ("code", "said", "value"),
    [
        ("traffic", "no, in the lane", "in"),
        ("traffic", "yes, behind the rail", "clear"),
        ("traffic", "yes, well off the road", "clear"),
        ("traffic", "yes, in the lane", None),
        ("traffic", "yes, but trucks go by close", None),
        ("openings", "no, eighty feet from the cabin", "clear"),
        ("openings", "no, a window at 15 ft", None),
        ("openings", "no idea if there is one", None),
        ("openings", "yes, the kitchen door", "near"),
        ("people", "yes, over at the tables", "away"),
        ("people", "yes, in the car", None),
        ("people", "yes, but the kids stay in", None),
        ("people", "no, we are not getting out", "near"),
    ],
)
def test_the_first_word_of_a_sentence_is_its_yes_or_no_unless_the_rest_takes_it_back(code, said, value):
    state, _ = say(at(code, rig=ENGINE_RIG), said)

    assert state.word(code) == value


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("clean and dry", "good"),
        ("opens, it's not iced and there's no snow in the port", "good"),
        ("frozen shut", "frozen"),
        ("it is wet", "wet"),
        ("opens, ice on the contacts", None),
        ("dry, but I have not looked", None),
        ("it won't open", None),
    ],
)
def test_the_charge_door_is_understood_or_asked_again(said, value):
    state, _ = say(at("port-state", rig=ENGINE_RIG), said)

    assert state.word("port_state") == value


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("", {}),
        ("no", {}),
        ("parked overnight", {}),
        ("height 2,300 feet", {"altitude": "2,300ft"}),
        ("parked 6h, 65mph", {"parked": "6h", "speed": "65mph"}),
        ("flat", {"climb": "0ft"}),
        ("downhill", {"climb": "0ft"}),
    ],
)
def test_what_else_there_is_to_give_is_taken_or_passed(said, words):
    before = at("more", rig=ENGINE_RIG, miles="20mi")
    state, _ = say(before, said)

    asked_for = {name: value for name, value in final_words(state).items() if name not in final_words(before)}
    assert asked_for == words
    assert asked(state) == {"parked overnight": "parked", "downhill": "descent"}.get(said, "distance")


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("right next to it", {"distance": "3ft"}),
        ("a few feet", {"distance": "5ft"}),
        ("six feet", {"distance": "6ft"}),
        ("front, nosed out", {"stand": "front"}),
        ("left", {"stand": "left"}),
    ],
)
def test_how_close_our_truck_comes_is_feet_or_a_side(said, words):
    state, _ = say(at("distance", rig=SILENT_RIG, vehicle="compact-hatch"), said)

    assert {name: value for name, value in state.words.items() if name in ("distance", "stand")} == words


def test_degrees_without_a_letter_are_fahrenheit():
    state, told = say(at("ambient", rig=ENGINE_RIG), "about 8 degrees")

    assert (state.word("ambient"), told) == ("8F", "Taken: 8F.")


@pytest.mark.parametrize("rig", [ENGINE_RIG, SILENT_RIG])
def test_a_plain_call_takes_fourteen_questions_at_most(rig):
    answers = {
        "traffic": "yes", "danger": "none", "at": "parking lot", "openings": "no", "people": "yes", "quiet-hours": "no",
        "vehicle": "midsize suv", "start": "12%", "goal": "home 20mi", "key": "here", "port-state": "opens",
        "cabin": "yes", "ambient": "50F",
    }  # fmt: skip

    assert len(codes(start(rig=rig), answers)) <= 14


@pytest.mark.parametrize("said", ["no", "the car", "spaceship", "99"])
def test_a_car_that_is_none_is_asked_again(said):
    before = at("vehicle", rig=ENGINE_RIG)
    state, told = say(before, said)

    assert (state.answers, state.word("vehicle")) == (before.answers, None)
    assert told.startswith(f"Got '{said}'; expected ")


def test_what_leaves_one_class_becomes_that_class():
    state, told = say(at("fuel-door", rig=ENGINE_RIG), "yes", "hatchback")

    assert told == "That leaves one class: City hatch with a small engine."
    words = final_words(state)
    assert words["vehicle"] == "city-hatch-range-extender"
    assert not {"body", "fuel_door"} & set(words)


def test_a_combination_that_no_class_has_is_told_and_asked_again():
    state, told = say(at("built", rig=ENGINE_RIG, body="hatchback"), "1995")

    assert "built" not in state.words
    assert "expected a combination that some class has" in " ".join(told.split())


# ------------------------------------------------------------------------------------------------- back, why, stop, wrong


def test_back_takes_the_last_answer_back():
    state, _ = say(start(rig=ENGINE_RIG), "yes", "none", "back")

    assert (asked(state), state.words) == ("danger", {"rig": ENGINE_RIG, "traffic": "clear"})
    state, told = say(state, "back", "back")
    assert (asked(state), told) == ("traffic", "This is the first question.")


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.code)
def test_every_question_is_short_and_says_why(question):
    assert len(question.text) <= 75
    assert question.text.endswith(("?", "Name all."))
    assert 20 <= len(question.why) <= 120


def test_a_question_mark_tells_why_and_asks_again():
    state, told = say(start(rig=ENGINE_RIG), "?")

    assert asked(state) == "traffic"
    assert " ".join(told.split()) == QUESTIONS[1].why


def test_stop_and_the_end_of_input_end_with_what_is_known():
    for end in ("stop", None):
        state, _ = say(start(rig=ENGINE_RIG), "yes", end)

        assert prompt(state) is None
        assert final_words(state) == {"rig": ENGINE_RIG, "traffic": "clear"}


def test_wrong_input_says_what_was_found_and_what_is_allowed_and_loses_nothing():
    before, _ = say(start(rig=ENGINE_RIG), "yes", "none")
    state, told = say(before, "spaceport")

    assert (state.answers, asked(state)) == (before.answers, "at")
    assert " ".join(told.split()) == (
        "Got 'spaceport'; expected open-lot, driveway, street, shoulder, open-ramp, garage, car-port, underground; say "
        "the number, the word, or what it is called, such as parking lot or basement."
    )


# ------------------------------------------------------------------------------------------------------ refused at once


@pytest.mark.parametrize(
    ("rig", "answers", "code"),
    [
        (SILENT_RIG, ["no"], "in_traffic"),
        (SILENT_RIG, ["yes", "crash"], "crash"),
        (SILENT_RIG, ["yes", "water"], "water"),
        (SILENT_RIG, ["yes", "smoke"], "smoke"),
        (SILENT_RIG, ["yes", "warning"], "high_voltage_warning"),
        (ENGINE_RIG, ["yes", "none", "garage"], "engine_indoors"),
        (ENGINE_RIG, ["yes", "none", "car-port"], "engine_under_roof"),
        (ENGINE_RIG, ["yes", "none", "open-ramp"], "engine_under_roof"),
        (ENGINE_RIG, ["yes", "none", "underground"], "engine_underground"),
        (ENGINE_RIG, ["yes", "none", "driveway", "yes"], "engine_near_openings"),
        (ENGINE_RIG, ["yes", "none", "driveway", "no", "no"], "engine_near_people"),
    ],
)
def test_a_refusal_is_said_at_once_with_what_to_tell_the_caller(rig, answers, code):
    state, told = say(start(rig=rig), *answers)

    rule = next(rule for rule in (*CONDITION_RULES, *PLACE_RULES) if rule.code == code)
    assert [ruling.code for ruling in refusals(state)] == [code]
    assert " ".join(told.split()).endswith(f"CANNOT SERVE: {rule.text} Tell the caller: {rule.remedy}")


@pytest.mark.parametrize("answers", [["no"], ["yes", "crash"], ["yes", "smoke"]])
@pytest.mark.parametrize("said", ["yes", "2", "go on", "driveway", "?"])
def test_after_danger_and_in_traffic_nobody_goes_on(answers, said):
    state, _ = say(start(rig=SILENT_RIG), *answers)
    assert prompt(state) == "The call ends here: Enter. Or back, if the answer was another one.\n> "

    after, _ = say(state, said)

    assert (after.answers, after.refused) == (state.answers, state.refused)


@pytest.mark.parametrize("answer", ["", "no", "stop", None])
def test_after_a_refusal_the_call_ends(answer):
    for answers in (["no"], ["yes", "none", "underground"]):
        before, _ = say(start(rig=ENGINE_RIG), *answers)
        state, _ = say(before, answer)

        assert prompt(state) is None
        assert final_words(state) == final_words(before)


@pytest.mark.parametrize(
    ("rig", "words", "question", "answer", "way"),
    [
        (ENGINE_RIG, {}, "at", "garage", "moved"),
        (ENGINE_RIG, {}, "openings", "yes", "moved"),
        (ENGINE_RIG, {"quiet_hours": "yes"}, "permission", "no", "allowed"),
        (ENGINE_RIG, {}, "key", "none", "found or fetched"),
        (ENGINE_RIG, {}, "port-state", "wet", "dried"),
        (SILENT_RIG, {"at": "garage"}, "distance", "150ft", "moved nearer"),
    ],
)
def test_what_could_change_a_refusal_is_asked(rig, words, question, answer, way):
    state, _ = say(at(question, rig=rig, **words), answer)

    assert prompt(state) == f"Does that change if it is {way}? Say what changes, or Enter to end.\n> "
    assert asked(say(state, "yes")[0]) == question


def test_what_changes_is_the_new_answer():
    state, _ = say(start(rig=ENGINE_RIG), "yes", "none", "garage", "driveway")

    assert (state.word("at"), asked(state), refusals(state)) == ("driveway", "openings", ())


def test_what_changes_and_is_refused_too_is_said():
    state, told = say(start(rig=ENGINE_RIG), "yes", "none", "garage", "under the canopy")

    assert "CANNOT SERVE: A roof or a deck overhead" in told
    assert [ruling.code for ruling in refusals(state)] == ["engine_under_roof"]


def test_what_changes_and_is_not_understood_loses_nothing():
    before, _ = say(start(rig=ENGINE_RIG), "yes", "none", "garage")
    state, told = say(before, "spaceport")

    assert (state.answers, state.refused) == (before.answers, before.refused)
    assert told.startswith("Got 'spaceport'; expected ")


def test_back_after_a_refusal_goes_to_the_answer_that_made_it():
    state, _ = say(start(rig=SILENT_RIG), "no", "back")
    assert asked(state) == "traffic"

    state, told = say(state, "no")

    assert "CANNOT SERVE: " in told


def test_a_silent_rig_is_not_refused_for_a_garage():
    state, told = say(start(rig=SILENT_RIG), "yes", "none", "garage")

    assert (refusals(state), asked(state)) == ((), "permission")
    assert told == "Taken: garage (any closed room, its door open or not)."


def test_without_a_rig_no_place_is_refused_since_one_of_them_may_have_no_engine():
    state, told = say(start(), "", "yes", "none", "garage")

    assert refusals(state) == ()
    assert told == "Taken: garage (any closed room, its door open or not)."


def test_a_cable_that_is_too_short_is_said_at_once():
    state, told = say(at("distance", rig=SILENT_RIG, vehicle="compact-hatch"), "150ft")

    assert [ruling.code for ruling in refusals(state)] == ["cable_too_short"]
    assert "150 ft" in told


# --------------------------------------------------------------------------------------------------- message and script


@pytest.mark.parametrize("rule", [*CONDITION_RULES, *PLACE_RULES], ids=lambda rule: rule.code)
@pytest.mark.parametrize("engine", [True, False])
def test_every_message_is_one_plain_message_without_a_link(rule, engine):
    ruling = rule.with_blanks().ruling()
    asked_too = rule.question or "Can the key, card or phone be there when we come, and is it yours or somebody else's?"
    texts = [
        text_message(engine=engine, dash_dead=dead, port_frozen=frozen, question=question)
        for dead in (True, False)
        for frozen in (True, False)
        for question in (None, asked_too)
    ]
    if rule.level == "refuse" or rule.code in {"danger_not_known", "traffic_not_known"}:
        texts.append(text_message(engine=engine, ruling=ruling))

    for text in texts:
        assert len(text) <= LONGEST_MESSAGE == 480
        assert text.isascii()
        assert text.isprintable()
        assert not any(word in text.lower() for word in ("http", "www", ".com"))


def test_the_message_asks_for_what_a_charge_needs():
    text = text_message(engine=True)

    for part in (
        "please", "photo of the open charge port", "one of the dash", "scheduled charging off", "charge limit", "100 %",
        "heat and cooling off", "key, card or phone at hand", "charge door side is free", "20 ft from our engine",
    ):  # fmt: skip
        assert part in text
    assert "engine" not in text_message(engine=False)
    assert "dash" not in text_message(engine=False, dash_dead=True)


def test_a_frozen_door_is_not_forced():
    text = text_message(engine=False, port_frozen=True)

    assert "no kettle, no hot water, no screwdriver" in text
    assert "preheat the cabin" in text
    assert "open charge port" not in text


def test_a_dark_car_is_left_as_it_is():
    text = text_message(engine=True, dash_dead=True)

    assert not [part for part in ("moves", "scheduled", "limit", "one of the dash") if part in text]


def test_what_the_answer_hangs_on_is_asked_first():
    text = text_message(engine=True, question="Is there fuel in its tank?")

    assert text.startswith("From your roadside charging crew, please: Please find out and tell us: Is there fuel")


@pytest.mark.parametrize("code", ["crash", "water", "smoke", "high_voltage_warning"])
def test_after_a_danger_the_message_says_to_keep_away_and_when_to_call_911(code):
    rule = next(rule for rule in CONDITION_RULES if rule.code == code)
    text = text_message(engine=True, ruling=rule.ruling())

    assert "keep away" in text.lower()
    assert "call 911" in text


def test_people_who_stay_inside_are_sent_to_a_warm_place_or_to_911():
    rule = next(rule for rule in PLACE_RULES if rule.code == "engine_near_people")
    text = text_message(engine=True, ruling=rule.ruling())

    assert "children too, to a warm place" in text
    assert "Nowhere warm to go in the cold: call 911." in text


@pytest.mark.parametrize(
    ("words", "question"),
    [
        ({}, None),
        ({"fast_charger": "12mi"}, "Does that charger take this port, and is it open and working now?"),
        ({"fast_charger": "12mi", "charger_open": "yes"}, "Does that charger take this port?"),
        ({"fast_charger": "12mi", "charger_fits": "yes"}, "Is that charger open and working now?"),
        ({"fast_charger": "12mi", "charger_fits": "yes", "charger_open": "no"}, None),
    ],
)
def test_of_a_charger_only_what_is_open_is_asked(words, question):
    assert charger_question(words) == question
    assert asked_of_caller("charger_not_known", "as planned", words) == (question or "as planned")


def test_why_a_charger_has_to_fit_tells_what_to_look_up():
    _, told = say(at("charger-fits", rig=ENGINE_RIG, vehicle="compact-hatch", fast_charger="12mi"), "?")

    assert "Its sign, its page or the map names its plugs" in " ".join(told.split())
    assert told.endswith("For this car: CCS1.")


@pytest.mark.parametrize("answers", [["yes", "smoke"], ["no"], ["yes", ""]])
def test_where_people_keep_away_no_photo_is_asked_for(answers):
    state, _ = say(start(rig=ENGINE_RIG), *answers)

    assert "photo" not in text_message(engine=True, ruling=keeps_away(state))


def test_the_script_holds_every_question_with_its_why():
    text = " ".join(script(shipped_dataset()).split())

    assert all(question.text in text and f"Why: {question.why}" in text for question in QUESTIONS)


def test_the_script_of_a_rig_leaves_out_what_cannot_matter_for_it():
    text = script(shipped_dataset(), SILENT_RIG)

    assert "Which rig goes?" not in text
    assert "where our engine can stand" not in text


# --------------------------------------------------------------------------------------------------------- whatever is said

ANSWERS = st.one_of(
    st.none(),
    st.sampled_from(
        ["", "1", "2", "3", "yes", "no", "back", "stop", "?", "list", "12%", "8mi", "20ft", "2013", "dead", "6h"]
    ),
    st.sampled_from(sorted({choice.word for question in QUESTIONS for choice in question.choices(start())})),
    st.sampled_from(
        ["no crash", "doesn't smell", "low battery warning", "parking garage", "yes, moved", "driveway", "small hatch"]
    ),
    st.text(max_size=20),
    st.lists(
        st.sampled_from(
            [
                "no",
                "not",
                "crash",
                "smell",
                "water",
                "red",
                ",",
                ".",
                "but",
                "or",
                "and",
                "it",
                "the",
                "never",
                "hit",
                "anymore",
            ]
        ),
        max_size=7,
    ).map(" ".join),
)


@given(st.lists(ANSWERS, max_size=60))
@settings(max_examples=150, deadline=None)
def test_whatever_is_said_ends_in_words_that_can_be_read(answers):
    state = start()
    for answer in answers:
        if prompt(state) is None:
            break
        state = reply(state, answer).state

    assert call_of(final_words(state)).start is not None


@given(st.lists(ANSWERS.filter(lambda answer: answer not in ("back", "stop", None)), max_size=30))
@settings(max_examples=60, deadline=None)
def test_back_as_often_as_there_are_answers_leads_to_the_first_question(answers):
    state = start(rig=ENGINE_RIG)
    for answer in answers:
        if prompt(state) is None:
            return
        state = reply(state, answer).state
    for _ in range(len(state.answers) + 1):
        state = reply(state, "back").state

    assert state.words == {"rig": ENGINE_RIG}


@pytest.mark.parametrize(
    ("said", "kind"), [("open sides", "open-ramp"), ("walls all round", "garage"), ("roof level", "open-lot")]
)
def test_the_two_that_a_parking_structure_is_asked_by_are_understood(said, kind):
    assert _kinds_said(said) == (kind,)
