"""A former class that was parted: its id still answers, for all the classes that took its place."""

import json

import pytest

from planner.cli import main

PLACE = ["--at", "open-lot", "--openings", "clear", "--people", "away"]
PARTED = """\
name: Family car
into: [compact-hatch, compact-crossover]
since: "0.6.0"
why: "Hatches and crossovers have other batteries."
"""
NOTE = (
    "note: 'family-car' was parted into compact-hatch and compact-crossover in data 0.6.0: "
    "Hatches and crossovers have other batteries.\n"
)


@pytest.fixture
def crew(tmp_path):
    folder = tmp_path / "crew" / "splits"
    folder.mkdir(parents=True)
    (folder / "family-car.yaml").write_text(PARTED, encoding="utf-8")
    return folder.parent


def run(capsys, *arguments):
    code = main(list(arguments))
    out, err = capsys.readouterr()
    return code, out, err


def planned(capsys, crew, *more):
    fixed = ["--rig", "pass-truck", "--vehicle", "family-car", "--start", "10%", "--to", "60%"]
    return run(capsys, "plan", *fixed, *PLACE, *more, "--data", str(crew))


def test_its_plan_is_the_envelope_of_what_it_was_parted_into(capsys, crew):
    code, out, err = planned(capsys, crew, "--json")

    assert (code, err) == (0, NOTE)
    found = json.loads(out)
    assert {member["vehicle"] for member in found["members"]} == {"compact-hatch", "compact-crossover"}
    assert (found["known"]["parted"], found["known"]["among"]) == ("family-car", ["compact-hatch", "compact-crossover"])


def test_the_text_says_by_what_it_is_known_and_asks_what_parts_the_two(capsys, crew):
    code, out, _ = planned(capsys, crew)

    assert code == 0
    assert out.startswith("SERVE: a vehicle known by former class family-car with Pass truck\n")
    assert "? Ask: What kind of body does it have: crossover, hatchback?\n" in out


def test_a_port_beside_it_is_heeded(capsys, crew):
    _, out, _ = planned(capsys, crew, "--port", "j3400", "--json")

    assert [member["vehicle"] for member in json.loads(out)["members"]] == ["compact-crossover"]


def test_a_call_kept_in_a_file_answers_as_before(capsys, crew, tmp_path):
    kept = tmp_path / "call.yaml"
    kept.write_text("vehicle: family-car\nrig: pass-truck\nstart: 10%\nto: 60%\nat: garage\n", encoding="utf-8")
    code, out, err = run(capsys, "call", "--from", str(kept), "--data", str(crew))

    assert code == 1
    assert NOTE in err
    assert "CANNOT SERVE: a vehicle known by former class family-car" in out


def test_a_spoken_call_does_not_begin_with_it(capsys, crew):
    code, out, err = run(capsys, "call", "--rig", "pass-truck", "--vehicle", "family-car", "--data", str(crew))

    assert (code, out) == (2, "")
    assert err == (
        "rangeferry: --vehicle: expected a class of now: it was parted into compact-hatch and compact-crossover, "
        "got 'family-car'; name one of them, or leave --vehicle out and say what is seen\n"
    )


def test_an_id_that_no_class_ever_had_stays_unknown(capsys, crew):
    code, _, err = run(
        capsys,
        *("plan", "--rig", "pass-truck", "--vehicle", "family-cat", "--start", "10%", "--to", "60%"),
        *("--data", str(crew)),
    )

    assert code == 2
    assert err.startswith("rangeferry: unknown vehicle 'family-cat'.")


def test_it_may_not_bear_the_id_of_a_class_nor_name_one_that_is_none(capsys, crew):
    text = PARTED.replace("compact-crossover", "compact-crossing")
    (crew / "splits" / "midsize-suv.yaml").write_text(text, encoding="utf-8")
    code, out, err = run(capsys, "check", "--data", str(crew))

    assert (code, out) == (3, "")
    assert (
        "expected a file name that is no class's id, present or former, got 'midsize-suv'; a parted class goes" in err
    )
    assert (
        "into.1: expected the id of a record in vehicle_classes, got 'compact-crossing'; write compact-crossover" in err
    )


def test_splits_are_listed(capsys, crew):
    code, out, _ = run(capsys, "list", "splits", "--data", str(crew))

    assert (code, out.split()) == (0, ["family-car", "Family", "car"])
