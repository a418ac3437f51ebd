"""`rangeferry call`: a call that is spoken or kept in a file, its answers, files, streams and exit codes."""

import json
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner import cli
from planner.call_commands import call_command, plan_command
from planner.call_file import CHOICES, blank_options, call_of, call_text, options_of, read_call, words_of
from planner.errors import DataError, PlannerError, QuantityError

VERDICTS = ("SERVE", "YES, AFTER A CHANGE", "ASK FIRST", "TRY", "CANNOT SERVE")
# A call that is served, in the order of the questions, with the rig named before.
SERVED = {
    "traffic": "yes", "danger": "none", "at": "parking lot", "openings": "no", "people": "yes", "quiet_hours": "no",
    "vehicle": "midsize suv", "start": "12%", "goal": "45mi", "key": "here", "port_state": "opens", "cabin": "yes",
    "ambient": "60F", "more": "yes", "parked": "1h", "drove": "30min", "altitude": "4000ft", "road": "mixed",
    "climb": "flat",
}  # fmt: skip
AS_OPTIONS = {
    "traffic": "clear", "danger": ("none",), "at": "open-lot", "openings": "clear", "people": "away",
    "vehicle": "midsize-suv", "start": "12%", "miles": "45mi", "parked": "1h", "drove": "30min", "key": "here",
    "cabin": "off", "port_state": "good", "ambient": "60F", "altitude": "4000ft", "road": "mixed", "climb": "0ft",
    "quiet_hours": "no",
}  # fmt: skip


def run(answers=(), *, from_file=None, save=None, then=None, script=False, **words):
    """Return the exit code, what was prompted, told and noted; answers end as a pipe does."""
    options = blank_options()
    for name, value in {
        "from_file": from_file,
        "save": save,
        "then": then,
        "script": script,
        **{name: list(value) if isinstance(value, tuple) else value for name, value in words.items()},
    }.items():
        setattr(options, name, value)
    left = list(answers)
    prompts, told, notes = [], [], []

    def ask(prompt):
        prompts.append(prompt)
        return left.pop(0) if left else None

    code = call_command(options, ask, told.append, notes.append)
    return SimpleNamespace(code=code, prompts=prompts, out="".join(told), notes=notes, left=left)


def fault(text):
    """Return the message about a call file that is piped in."""
    lines = [*text.split("\n")]
    with pytest.raises(DataError) as caught:
        read_call("-", lambda: lines.pop(0) if lines else None)
    return str(caught.value)


# ------------------------------------------------------------------------------------ one call: spoken, typed, in a file


def test_what_is_spoken_is_what_is_typed_as_options_and_what_a_file_says(tmp_path):
    words = {"rig": "pass-truck", **AS_OPTIONS}
    typed_code, typed = plan_command(options_of(words), lambda _: None)
    spoken = run(SERVED.values(), rig="pass-truck")
    path = tmp_path / "call.yaml"
    path.write_text(call_text(words))
    from_file = run(from_file=str(path))

    assert typed.startswith("SERVE: Midsize SUV, CCS1 with Pass truck\n")
    assert spoken.out.endswith(f"\n\n{typed}")
    assert from_file.out == spoken.out
    assert (spoken.code, from_file.code, typed_code) == (0, 0, 0)
    assert spoken.left == []


def test_every_word_of_plan_is_there_at_its_default():
    parser = cli._parser(plan_alone=True)
    of_plan = vars(parser.parse_all(["plan", "--rig", "pass-truck", "--start", "12%"]))
    said = {name: value for name, value in of_plan.items() if name not in {"work", "parser", "rig", "start"}}
    blank = vars(blank_options())

    assert {name: value for name, value in blank.items() if name not in {"rig", "start", "half_known"}} == said
    assert (blank["rig"], blank["start"]) == (None, None)


def test_every_choice_is_that_of_its_option():
    parser = cli._parser(plan_alone=True)
    planning = next(iter(parser._subparsers._group_actions[0].choices.values()))
    of_plan = {action.dest: tuple(action.choices) for action in planning._actions if action.choices is not None}

    assert dict(CHOICES) == of_plan


def test_options_beside_a_spoken_call_answer_their_questions():
    found = run([], rig="pass-truck", **AS_OPTIONS)

    assert found.prompts == []
    assert found.code == 0


# --------------------------------------------------------------------------------------------------- always an answer


@pytest.mark.parametrize(
    ("rig", "answers"),
    [
        (None, ["", "", ""]),
        (None, ["pass-truck", "yes", "none"]),
        (None, ["what", "??", "\x1b[2J"]),
        ("pass-truck", []),
        ("pass-truck", ["", "", ""]),
        ("pass-truck", ["no", "yes", "smoke"]),
        ("pass-truck", ["back", "back", "stop"]),
        ("ski-hill-battery", ["yes", "none", "driveway"]),
        ("ski-hill-battery", ["yes", "can't tell", "parking garage"]),
        ("fairground-outlet", ["yes", "none", "garage"]),
        ("county-truck", ["yes", "none", "shoulder"]),
    ],
    ids=str,
)
def test_any_three_answers_end_in_a_plan_a_question_or_a_refusal(rig, answers):
    found = run(answers, rig=rig)

    verdict = found.out.split("\n\n", 1)[-1] if found.out.startswith("Text message") else found.out
    assert verdict.startswith(VERDICTS)
    assert found.code == (0 if verdict.startswith(VERDICTS[:2]) else 1)
    assert len(found.prompts) <= 4


def test_without_a_vehicle_it_may_be_any_class():
    found = run([], rig="ski-hill-battery")

    assert "a vehicle of which nothing is known with Ski hill battery" in found.out


def test_without_a_need_a_usual_stay_is_reckoned_with_and_listed():
    found = run([], rig="ski-hill-battery", vehicle="midsize-suv")

    assert "45 min plugged in" in found.out
    assert "its need is not known" in " ".join(found.out.split("Assumed")[1].split())


def test_without_a_rig_each_rig_is_asked_about():
    found = run([])

    assert found.code == 1
    assert "ASK FIRST: no rig is named\n? Which rig goes?\n" in found.out
    assert "  fairground-spare   CANNOT SERVE\n" in found.out


def test_a_danger_is_said_back_refused_and_ends_the_call():
    found = run(["yes", "smells of smoke", "", "driveway"], rig="pass-truck", vehicle="midsize-suv")

    assert found.prompts[-1].startswith("Taken: smoke (or a hiss, a pop, a smell, a warm floor).\nCANNOT SERVE: ")
    assert found.prompts[-1].endswith("The call ends here: Enter. Or back, if the answer was another one.\n> ")
    assert "Tell the caller: " in found.prompts[-1]
    assert "\nCANNOT SERVE: Midsize SUV, CCS1 with Pass truck\n" in found.out
    assert "photo" not in found.out.split("\n\n")[0]
    assert (found.code, found.left) == (1, ["driveway"])


def test_a_plan_that_is_refused_for_our_own_reason_sends_no_message():
    found = run([], rig="pass-truck", vehicle="imported-compact-hatch", start="12%", to="80%")

    assert found.out.startswith("CANNOT SERVE: Imported compact hatch, CCS2 with Pass truck\n")


def test_results_alone_go_to_the_output_so_that_json_stays_json():
    found = run(["what", *SERVED.values()], rig="pass-truck", json=True)

    assert json.loads(found.out)["verdict"] == "serve"
    assert "Got 'what'; expected yes, no; say the number or the word, or ? for why." in found.prompts[1]
    assert [note.partition(":")[0] for note in found.notes] == ["text message to the caller"]


def test_without_a_rig_json_is_a_question():
    found = run([], json=True)

    assert json.loads(found.out)["ask"] == {"question": "Which rig goes?", "code": "ask_rig"}


def test_the_script_asks_nothing():
    found = run(script=True)

    assert (found.code, found.prompts) == (0, [])
    assert found.out.startswith("The call, in speaking order\n")


@pytest.mark.parametrize(
    "words", [{"rig": "pass-truk"}, {"vehicle": "midsize"}, {"start": "12"}, {"script": True, "rig": "x"}]
)
def test_an_option_that_cannot_be_read_is_refused_before_the_first_question(words):
    with pytest.raises(PlannerError):
        run(["yes"], **words)


# ------------------------------------------------------------------------------------------------------------- keeping


def test_a_call_is_kept_as_it_was_spoken(tmp_path):
    path = tmp_path / "spoken.yaml"
    found = run(["yes", "crash, water", "stop"], rig="ski-hill-battery", save=path)

    assert path.read_text() == (
        "rig: ski-hill-battery\ntraffic: clear\ndanger: [crash, water]\n"
    )  # fmt: skip
    assert found.notes == [f"call written to {path}; --from answers it again"]


def test_a_file_that_exists_is_refused_before_the_first_question(tmp_path):
    path = tmp_path / "spoken.yaml"
    path.write_text("kept")

    with pytest.raises(QuantityError, match="--save: expected a name that no file has"):
        run(["yes"], rig="pass-truck", save=path)
    assert path.read_text() == "kept"


def test_a_folder_that_is_not_there_is_refused_before_the_first_question(tmp_path):
    with pytest.raises(QuantityError, match="--save: expected a file in a folder that exists"):
        run(["yes"], rig="pass-truck", save=tmp_path / "nowhere" / "spoken.yaml")


def test_an_interrupted_call_is_kept(tmp_path):
    path = tmp_path / "spoken.yaml"
    options = blank_options()
    options.rig, options.script, options.from_file, options.then, options.save = "pass-truck", False, None, None, path
    answers = ["yes", "none"]

    def ask(_):
        if not answers:
            raise KeyboardInterrupt
        return answers.pop(0)

    with pytest.raises(KeyboardInterrupt):
        call_command(options, ask, lambda _: None, lambda _: None)
    assert path.read_text() == "rig: pass-truck\ntraffic: clear\ndanger: [none]\n"


def test_save_beside_from_is_refused(tmp_path):
    with pytest.raises(QuantityError, match="a call that is spoken"):
        run(from_file="call.yaml", save=tmp_path / "spoken.yaml")


# ------------------------------------------------------------------------------------------------------------- reading

WORDS = st.fixed_dictionaries(
    {},
    optional={
        **{name: st.sampled_from(values) for name, values in CHOICES.items() if name not in ("danger", "road", "charger_fits", "charger_open")},
        "rig": st.sampled_from(["pass-truck", "ski-hill-battery"]),
        "danger": st.lists(st.sampled_from(["crash", "water", "smoke"]), min_size=1, unique=True).map(tuple),
        "start": st.sampled_from(["12%", "8 mi", "1/12bars", "turtle", "dashes", "0%"]),
        "built": st.integers(1990, 2100).map(str),
        "ambient": st.sampled_from(["0F", "-4", "-20C", "20.5F", "0C"]),
        "place": st.lists(st.text("abc \"'\\#:{}[]éß\u2028", min_size=1, max_size=9).map(lambda name: f"a{name}=32mi"), min_size=1).map(tuple),
        "distance": st.sampled_from(["20ft", "6 m", "20 feet"]),
    },
)  # fmt: skip


@given(WORDS)
@settings(max_examples=80, deadline=None)
def test_what_is_written_is_what_is_read(words):
    lines = call_text(words).split("\n")
    printable = {
        name: tuple("".join(c if c.isprintable() else "?" for c in item) for item in value)
        if name == "place"
        else value
        for name, value in words.items()
    }
    if not words:
        return

    assert read_call("-", lambda: lines.pop(0) if lines else None).words == printable


def test_options_and_words_are_the_same_both_ways():
    words = {"rig": "pass-truck", **AS_OPTIONS, "built": "2013", "place": ("home=32mi", "work=5mi")}

    assert words_of(options_of(words)) == words


@pytest.mark.parametrize(
    "line",
    [
        "quiet-hours: yes",
        "quiet-hours: 'yes'",
        "quiet-hours: true",
        "cabin: off",
        "cabin: false",
        "ambient: 0F",
        "ambient: 0C",
    ],
)
def test_a_word_with_one_meaning_here_is_taken_though_yaml_readers_disagree(line):
    lines = [f"rig: pass-truck\n{line}"]
    words = read_call("-", lambda: lines.pop(0) if lines else None).words

    key, _, value = line.partition(": ")
    value = {"true": "yes", "false": "off"}.get(value, value.strip("'"))
    assert words[key.replace("-", "_")] == value


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "rig: pass-truck\nvehicel: midsize-suv\n",
            "-:2:1: vehicel: expected a word of a call, got an unknown key; Did you mean 'vehicle'?",
        ),
        (
            "rig: pass-truck\nquiet_hours: no\n",
            "-:2:1: quiet_hours: expected a word of a call, got an unknown key; Did you mean 'quiet-hours'?",
        ),
        (
            "miles: 45\n",
            "-:1:8: miles: expected a distance with its unit, got '45'; it could mean 45 mi (72 km) or 45 km (28 mi): write "
            "45mi or 45km",
        ),
        (
            "at: garadge\n",
            "-:1:5: at: expected one of open-lot, driveway, street, shoulder, open-ramp, garage, car-port, underground, "
            "unknown, got 'garadge'; Did you mean 'garage'? Else leave it out where it is not known",
        ),
        (
            "danger: [crash, fire]\n",
            "-:1:17: danger: expected one of none, crash, water, smoke, warning, unknown, got 'fire'; write one of them, or "
            "leave it out where it is not known",
        ),
        (
            "place:\n  - home=32mi\n  - work\n",
            "-:3:5: place: expected a name of up to 30 letters and a distance, got 'work'; write place: home=32mi",
        ),
        (
            "openings:\n",
            "-:1:10: openings: expected a word or a quantity, got nothing; write openings: clear, or leave it out",
        ),
        (
            "people: [near]\n",
            "-:1:9: people: expected one value, got a list; keep the one that is right",
        ),
        (
            "danger: []\n",
            "-:1:9: danger: expected one value or several, got an empty list; write danger: [crash], or leave it out",
        ),
        (
            "built: 13\n",
            "-:1:8: built: expected a year from 1990 to 2100, got '13'; write built: 2013, or leave it out",
        ),
        (
            "speed: 65mph\nroad: mixed\n",
            "-:2:7: road: expected no road beside speed, got 'mixed'; leave one of them out",
        ),
        (
            "customer-adapter: [x=80A,250V]\n",
            "-:1:20: customer-adapter: expected an adapter with the amps and the volts of its label, got 'x=80A'; write "
            'customer-adapter: ["their-j3400-to-j1772=80A,250V"]; in quotes, since its comma parts a list',
        ),
        (
            "start: 12%\nstart: 13%\n",
            "-:2:1: start: expected each key once, got 'start' again (first in line 1); keep the one that is right",
        ),
        (
            "key: {here: true}\n",
            "-:1:6: key: expected a word or a quantity, got a mapping; write key: here, or leave it out",
        ),
        ("- rig\n", "-:1:1: expected a record of `key: value` lines, got a list; write the record's fields"),
        ("", "-:1:1: expected a record of `key: value` lines, got an empty file; write the record's fields"),
    ],
)  # fmt: skip
def test_a_fault_is_told_with_its_place_what_was_found_what_is_allowed_and_what_next(text, message):
    assert fault(text) == message


def test_all_faults_of_a_file_are_told_at_once():
    found = fault("vehicel: x\nmiles: 45\nstart: 12\nat: here\ndanger: [crash, fire]\n")

    assert [line.split(": ")[1] for line in found.split("\n")] == ["vehicel", "miles", "start", "at", "danger"]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "rig: pass-truk\nvehicle: midsize-suv\n",
            ":1:6: rig: expected a rig on record, got 'pass-truk'; Did you mean 'pass-truck'? list them with: rangeferry "
            "list rigs",
        ),
        (
            "rig: pass-truck\nvehicle: midsize-suv\nbody: suv\n",
            ":3:7: body: expected no such word beside vehicle, got 'suv'; name the class, or leave vehicle out and say what "
            "is known",
        ),
        (
            "rig: pass-truck\nvehicle: midsize-suv\ncustomer-adapter: [nothing]\n",
            ":3:20: customer-adapter: expected an adapter on record",
        ),
        (
            "rig: pass-truck\nvehicle: midsize-suv\nfuel: propane\n",
            ":3:7: fuel: expected a fuel of Pass truck: gasoline, got 'propane'",
        ),
    ],
)
def test_what_only_the_records_refuse_is_told_with_its_place_too(tmp_path, text, message):
    path = tmp_path / "call.yaml"
    path.write_text(text)

    with pytest.raises(DataError) as caught:
        run(from_file=str(path))
    assert message in str(caught.value)


def test_a_word_in_the_file_and_among_the_options_is_refused(tmp_path):
    path = tmp_path / "call.yaml"
    path.write_text("rig: pass-truck\nstart: 12%\n")

    with pytest.raises(QuantityError) as caught:
        run(from_file=str(path), start="20%")
    assert str(caught.value) == (
        "--start: expected each word once, and it stands in the file too, got '20%'; leave it out of the file, or leave the "
        "option out"
    )


def test_a_file_that_is_not_there_is_told(tmp_path):
    with pytest.raises(DataError, match=r"nowhere\.yaml:1:1: expected a readable file"):
        run(from_file=str(tmp_path / "nowhere.yaml"))


def test_a_call_can_be_piped_in():
    found = run(["rig: pass-truck", *call_text(AS_OPTIONS).split("\n")], from_file="-")

    assert found.code == 0
    assert set(found.prompts) == {""}


def test_numbers_without_quotes_are_fine():
    lines = ["built: 2013", "ambient: -4", "kwh: 10.5"]
    words = read_call("-", lambda: lines.pop(0) if lines else None).words

    assert words == {"built": "2013", "ambient": "-4", "kwh": "10.5"}
    assert call_of(words).ambient_c == -20.0


# ------------------------------------------------------------------------------------------------------- two in turn


def test_a_second_call_is_answered_after_the_first_by_the_same_rig(tmp_path):
    path = tmp_path / "second.yaml"
    path.write_text("vehicle: minivan\nstart: dead\ndanger: crash\n")
    found = run([], rig="pass-truck", then=str(path), **AS_OPTIONS)

    assert found.out.index("SERVE: Midsize SUV") < found.out.index("CANNOT SERVE: Minivan, CCS1 with Pass truck")
    assert found.code == 1


def test_a_second_call_that_cannot_be_read_is_refused_before_the_first_question(tmp_path):
    path = tmp_path / "second.yaml"
    path.write_text("vehicel: minivan\n")

    with pytest.raises(DataError):
        run(["yes"], rig="pass-truck", then=str(path))


def test_a_second_call_is_a_file():
    with pytest.raises(QuantityError, match="--then: expected a file"):
        run(["yes"], rig="pass-truck", then="-")


def test_two_in_turn_are_one_document_and_the_second_starts_with_what_is_left(tmp_path):
    path = tmp_path / "second.yaml"
    path.write_text("vehicle: minivan\nstart: 10%\nto: 30%\nat: open-lot\nopenings: clear\npeople: away\n")
    words = {**AS_OPTIONS, "json": True}

    found = json.loads(run([], rig="pass-truck", then=str(path), **words).out)

    first, second = found["plans"]
    assert second["fuel"]["left_after"] == pytest.approx(
        first["fuel"]["left_after"] - second["fuel"]["litres"], abs=0.2
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("rig: trailhead-van\nvehicle: minivan\nstart: 10%\n", "expected the rig of the call before it, pass-truck"),
        ("body: suv\nstart: 10%\n", "expected a vehicle in both calls"),
    ],
)
def test_two_in_turn_are_of_one_rig_and_of_known_classes(tmp_path, text, expected):
    path = tmp_path / "second.yaml"
    path.write_text(text)

    with pytest.raises((DataError, QuantityError), match=expected):
        run([], rig="pass-truck", then=str(path), **AS_OPTIONS)


def test_without_a_rig_a_word_that_one_has_no_use_for_is_told_of_that_rig():
    found = run([], fuel="propane", **AS_OPTIONS)

    assert "  pass-truck         --fuel: expected a fuel of Pass truck: gasoline, got 'propane'" in found.out
    assert found.code == 1
