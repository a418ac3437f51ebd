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
    begin,
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
            "home": "32mi", "charger": "12mi", "quiet-hours": "yes",
        },
    )  # fmt: skip

    assert found == [
        "rig", "traffic", "danger", "at", "openings", "people", "vehicle", "start", "twelve-volt", "tank",
        "goal", "home", "charger", "charger-fits", "charger-open", "parked", "drove", "key", "cabin", "port-state",
        "ambient", "altitude", "road", "climb", "distance", "stand", "quiet-hours", "permission",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("words", "answers", "left_out"),
    [
        ({"rig": ENGINE_RIG}, {}, {"rig"}),
        ({"rig": SILENT_RIG}, {}, {"openings", "people", "quiet-hours", "permission"}),
        (
            {"rig": ENGINE_RIG, "vehicle": "compact-hatch"},
            {},
            {"port", "body", "built", "battery", "fuel-door", "tank"},
        ),
        ({"rig": ENGINE_RIG}, {"start": "12%"}, {"twelve-volt"}),
        ({"rig": ENGINE_RIG}, {"goal": "percent"}, {"home", "charger", "charger-fits", "charger-open", "miles"}),
        ({"rig": ENGINE_RIG}, {"goal": "home 32mi"}, {"home", "charger", "charger-fits", "miles", "minutes"}),
        ({"rig": ENGINE_RIG, "vehicle": "compact-hatch"}, {"distance": "10ft"}, {"stand"}),
        ({"rig": ENGINE_RIG}, {}, {"stand"}),  # without a class a side tells nothing of its port
        ({"rig": ENGINE_RIG, "vehicle": "electric-motorcycle"}, {}, {"cabin"}),
        ({"rig": ENGINE_RIG, "ambient": "20F", "key": "here"}, {}, {"ambient", "key"}),
    ],
    ids=str,
)
def test_what_cannot_matter_is_not_asked(words, answers, left_out):
    assert not left_out & set(codes(start(**words), answers))


@pytest.mark.parametrize(
    ("words", "answers", "there"),
    [
        ({"rig": SILENT_RIG}, {"at": "garage"}, "permission"),
        ({"rig": OUTLET_RIG}, {"at": "open-lot"}, "permission"),
        ({"rig": ENGINE_RIG}, {"quiet-hours": "yes"}, "permission"),
        ({"rig": ENGINE_RIG, "vehicle": "compact-crossover"}, {}, "port"),
        ({"rig": ENGINE_RIG}, {"fuel-door": "yes"}, "tank"),
        ({"rig": ENGINE_RIG}, {}, "openings"),  # an unknown place may be an open one
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
        ("the roof level of a parking structure", None),
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
def test_a_word_for_several_places_is_asked_about_with_the_same_numbers(said):
    before = at("at", rig=ENGINE_RIG)
    state, told = say(before, said)

    assert (state.answers, asked(state)) == (before.answers, "at")
    assert told == (
        f"'{said}' may be one of these; which?\n"
        "  1 open-lot (nothing above, no walls)\n"
        "  5 open-ramp (open-sided parking deck, another deck above)\n"
        "  6 garage (any closed room, its door open or not)\n"
        "  8 underground"
    )
    assert say(state, "5")[0].word("at") == "open-ramp"


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
    ],
)
def test_a_need_is_said_at_once(said, words):
    state, _ = say(at("goal", rig=ENGINE_RIG), said)

    assert {name: value for name, value in state.words.items() if name in words} == words
    assert asked(state) in {"charger-fits", "parked"}


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("2 days", "48h"),
        ("1 week", "168h"),
        ("half an hour", "30min"),
        ("20min", "20min"),
    ],
)
def test_a_time_is_kept_as_its_option_takes_it(said, told):
    state, _ = say(at("parked", rig=ENGINE_RIG), said)

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


@pytest.mark.parametrize("said", ["no crash", "not a crash", "none, smoke", "something", "w"])
def test_a_danger_that_is_not_clear_is_asked_again(said):
    before = at("danger", rig=ENGINE_RIG)
    state, told = say(before, said)

    assert state.answers == before.answers
    assert told.startswith(f"Got '{said}'; expected none, crash, water, smoke, warning;")


@pytest.mark.parametrize(
    ("said", "vehicle"),
    [
        ("midsize-suv", "midsize-suv"),
        ("Midsize SUV, CCS1", "midsize-suv"),
        ("medium suv", "midsize-suv"),
        ("hybrid suv", "plug-in-hybrid-suv"),
        ("minivan", "minivan"),
        ("a motorbike", "electric-motorcycle"),
        ("sliding doors on both sides", "minivan"),
        ("3", "compact-hatch"),
    ],
)
def test_a_class_is_found_by_id_number_or_words(said, vehicle):
    state, told = say(at("vehicle", rig=ENGINE_RIG), said)

    assert state.word("vehicle") == vehicle
    assert told == f"{shipped_dataset().vehicle_classes[vehicle].name}."


def test_words_for_several_classes_are_answered_with_a_list_and_its_numbers():
    state, told = say(at("vehicle", rig=ENGINE_RIG), "small hatch")

    assert told == "Which of these?\n  1 Compact hatch, CCS1\n  2 Imported compact hatch, CCS2"
    assert say(state, "2")[0].word("vehicle") == "imported-compact-hatch"


@pytest.mark.parametrize("said", ["no", "the car", "spaceship", "99"])
def test_a_car_that_is_none_is_asked_again(said):
    before = at("vehicle", rig=ENGINE_RIG)
    state, told = say(before, said)

    assert (state.answers, state.word("vehicle")) == (before.answers, None)
    assert told.startswith(f"Got '{said}'; expected ")


def test_what_leaves_one_class_becomes_that_class():
    state, told = say(at("fuel-door", rig=ENGINE_RIG), "yes", "suv")

    assert told == "That leaves one class: Plug-in hybrid SUV."
    words = final_words(state)
    assert words["vehicle"] == "plug-in-hybrid-suv"
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
    assert " ".join(told.split()) == f"CANNOT SERVE: {rule.text} Tell the caller: {rule.remedy}"
    assert prompt(state) == "Go on all the same? 1 no  2 yes\n> "


@pytest.mark.parametrize("answer", ["", "no", "1", "stop", None])
def test_after_a_refusal_the_call_ends_unless_one_goes_on(answer):
    state, _ = say(start(rig=SILENT_RIG), "no", answer)

    assert prompt(state) is None
    assert final_words(state) == {"rig": SILENT_RIG, "traffic": "in"}


def test_a_refusal_that_was_gone_on_after_is_not_said_again_and_a_new_one_is():
    state, _ = say(start(rig=SILENT_RIG), "no", "yes")
    assert asked(state) == "danger"

    state, told = say(state, "smoke")

    assert told.startswith("CANNOT SERVE: ")
    assert told.count("CANNOT SERVE") == 1
    assert [ruling.code for ruling in refusals(state)] == ["smoke", "in_traffic"]


def test_back_after_a_refusal_goes_to_the_answer_that_made_it():
    state, _ = say(start(rig=SILENT_RIG), "no", "back")
    assert asked(state) == "traffic"

    state, told = say(state, "no")

    assert told.startswith("CANNOT SERVE: ")


def test_a_silent_rig_is_not_refused_for_a_garage():
    state, told = say(start(rig=SILENT_RIG), "yes", "none", "garage")

    assert (told, refusals(state), asked(state)) == ("", (), "vehicle")


def test_without_a_rig_no_place_is_refused_since_one_of_them_may_have_no_engine():
    state, told = say(start(), "", "yes", "none", "garage")

    assert (told, refusals(state)) == ("", ())


def test_a_cable_that_is_too_short_is_said_at_once():
    state, told = say(at("distance", rig=SILENT_RIG, vehicle="compact-hatch"), "150ft")

    assert [ruling.code for ruling in refusals(state)] == ["cable_too_short"]
    assert "150 ft" in told


# --------------------------------------------------------------------------------------------------- message and script


@pytest.mark.parametrize("rule", [*CONDITION_RULES, *PLACE_RULES], ids=lambda rule: rule.code)
@pytest.mark.parametrize("engine", [True, False])
def test_every_message_is_one_plain_message_without_a_link(rule, engine):
    ruling = rule.with_blanks().ruling()
    texts = [text_message(engine=engine, dash_dead=dead) for dead in (True, False)]
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
    st.text(max_size=20),
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
