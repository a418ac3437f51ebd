"""The command: streams, exit codes, units, did-you-mean, and no traceback for a mistake."""

import json
import os
import re
import subprocess
import sys

import pytest

from planner import bench
from planner.cli import main

OPEN = ["--at", "open-lot", "--openings", "clear", "--people", "away"]  # a place where an engine may run
PLAN = ["plan", "--rig", "pass-truck", "--vehicle", "midsize-suv", "--start", "12%", *OPEN]


def run(capsys, *arguments):
    """Return exit code, stdout and stderr of one command."""
    try:
        code = main(list(arguments))
    except SystemExit as stop:
        code = stop.code
    out, err = capsys.readouterr()
    return code, out, err


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        ([*PLAN, "--to", "80%"], 0),
        ([*PLAN, "--miles", "45mi"], 0),
        ([*PLAN, "--to", "80%", "--altitude", "0ft"], 0),  # with a change
        ([*PLAN, "--to", "12%"], 1),  # a question
        ([*PLAN[: -len(OPEN)], "--to", "80%"], 1),  # where does it stand?
        ([*PLAN[: -len(OPEN)], "--at", "garage", "--to", "80%"], 1),  # refused
        ([*PLAN, "--to", "80%", "--twelve-volt", "flat"], 1),  # worth a try
        ([*PLAN, "--to", "80%", "--at", "attic"], 2),
        ([*PLAN, "--to", "80%", "--gap", "3ft"], 2),  # and no side
        ([*PLAN, "--to", "80%", "--danger", "none", "--danger", "crash"], 2),
        ([*PLAN, "--home", "12mi", "--fast-charger", "4mi"], 1),  # does it fit, is it open?
        ([*PLAN, "--home", "12mi", "--to", "80%"], 2),
        ([*PLAN, "--to", "80%", "--charger-open", "yes"], 2),  # and no charger
        ([*PLAN, "--to", "10%"], 2),  # below --start
        ([*PLAN, "--miles", "900mi"], 1),  # refused
        ([*PLAN, "--to", "80"], 2),
        ([*PLAN], 2),
        ([*PLAN, "--to", "80%", "--miles", "45mi"], 2),
        (["plan", "--rig", "nothing", "--vehicle", "midsize-suv", "--start", "12%", "--to", "80%"], 2),
        ([*PLAN, "--to", "80%", "--fuel", "propane"], 2),
        ([*PLAN, "--to", "80%", "--data", "/nowhere"], 2),
        (["list", "rigs"], 0),
        (["list", "rig"], 2),
        (["check"], 0),
        (["schema"], 0),
        (["schema", "rig"], 0),
        (["schema", "rgi"], 2),
        ([], 2),
        (["plam"], 2),
        (["--version"], 0),
        (["--help"], 0),
        (["plan", "--help"], 0),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else str(value),
)
def test_exit_code_and_streams(capsys, arguments, code):
    found, out, err = run(capsys, *arguments)

    assert found == code
    assert "Traceback" not in out + err
    if code in (2, 3):
        assert out == ""
        assert err
    else:
        assert out


def test_a_refusal_is_a_result_on_stdout(capsys):
    code, out, err = run(
        capsys, "plan", "--rig", "pass-truck", "--vehicle", "imported-compact-hatch", "--start", "12%", "--to", "80%"
    )

    assert code == 1
    assert out.startswith("CANNOT SERVE: Imported compact hatch, CCS2 with Pass truck\n")
    assert err == ""


@pytest.mark.parametrize(
    "typed",
    [
        ["--ambient", "-4F"],
        ["--ambient", "-4"],
        ["--ambient=-4F"],
        ["--ambient", "-20C"],
        ["--ambient", "−4F"],
        ["--ambient", "-4 F"],
    ],
)
def test_a_negative_temperature_is_a_value_not_an_option(capsys, typed):
    code, out, err = run(capsys, *PLAN, "--to", "80%", *typed, "--json")

    assert code in (0, 1)
    assert json.loads(out)["call"]["ambient_c"] == -20.0
    assert err == ("note: --ambient -4 taken as Fahrenheit\n" if typed == ["--ambient", "-4"] else "")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            [*PLAN, "--to", "80"],
            "rangeferry: --to: expected a percent with its sign, got '80'; it could mean 80 % of charge or 80 mi "
            "(then use --miles 80mi): write 80%\n",
        ),
        (
            [*PLAN, "--miles", "45"],
            "rangeferry: --miles: expected a distance with its unit, got '45'; it could mean 45 mi (72 km) or 45 km "
            "(28 mi): write 45mi or 45km\n",
        ),
        (
            [*PLAN, "--to", "80%", "--reserve", "10%"],
            "rangeferry: --reserve: expected no reserve with --to, got '10%'; a reserve is kept on arrival: use it with "
            "--miles, --home or --fast-charger, or leave it out\n",
        ),
        (
            [*PLAN, "--to", "80%", "--fuel", "propane"],
            "rangeferry: --fuel: expected a fuel of Pass truck: gasoline, got 'propane'; write one of them, or leave "
            "--fuel out for the default\n",
        ),
        (
            [*PLAN, "--to", "80%", "--fuel", "petrol"],
            "rangeferry plan: --fuel: unknown 'petrol'. Choose from: gasoline, propane, diesel\n"
            "Try: rangeferry plan --help\n",
        ),
        (
            ["plan", "--rig", "pass-truk", "--vehicle", "midsize-suv", "--start", "12%", "--to", "80%"],
            "rangeferry: unknown rig 'pass-truk'. Did you mean 'pass-truck'? List them with: rangeferry list rigs\n",
        ),
        (
            ["plan", "--rig", "pass-truck", "--vehicle", "midsize-sv", "--start", "12%", "--to", "80%"],
            "rangeferry: unknown vehicle 'midsize-sv'. Did you mean 'midsize-suv'? List them with: rangeferry list vehicles\n",
        ),
        (
            ["plna"],
            "rangeferry: command: unknown 'plna'. Did you mean 'plan'? Choose from: plan, call, rig, size, commission, list, new, format, moved, check, schema, pages, bench\n"
            "Try: rangeferry --help\n",
        ),
        (
            ["list", "vehicle"],
            "rangeferry list: kind: unknown 'vehicle'. Choose from: vehicles, vehicle_classes, rigs, connectors, inlets, "
            "faces, adapters, leads, outlets, tables, schedules, commissioning, splits, sources\nTry: rangeferry list --help\n",
        ),
        (
            [*PLAN, "--to", "80%", "--ambiant", "20F"],
            "rangeferry plan: unknown argument '--ambiant'. Did you mean '--ambient'?\nTry: rangeferry plan --help\n",
        ),
        (
            ["schema", "rgi"],
            "rangeferry: unknown schema 'rgi'. Did you mean 'rig'? List them with: rangeferry schema\n",
        ),
    ],
    ids=lambda value: " ".join(value[-2:]) if isinstance(value, list) else "",
)
def test_a_mistake_says_what_was_expected_and_what_to_write(capsys, arguments, message):
    code, out, err = run(capsys, *arguments)

    assert (code, out) == (2, "")
    assert err == message


def test_list_json_is_a_list_of_whole_records_with_their_ids(capsys):
    for kind in (
        "vehicles",
        "vehicle_classes",
        "rigs",
        "connectors",
        "inlets",
        "adapters",
        "outlets",
        "tables",
        "sources",
    ):
        code, out, _ = run(capsys, "list", kind, "--json")
        listed = json.loads(out)

        assert code == 0
        assert isinstance(listed, list)
        assert all(record["id"] for record in listed)
    vehicles = json.loads(run(capsys, "list", "vehicles", "--json")[1])
    assert {record["id"] for record in vehicles} >= {"midsize-suv", "compact-hatch"}
    assert (
        next(record for record in vehicles if record["id"] == "midsize-suv")["battery"]["energy_usable_kwh"]["typical"]
        == 85
    )


def test_list_origin_shows_the_folder_on_top(capsys, tmp_path):
    (tmp_path / "rigs").mkdir()
    (tmp_path / "rigs" / "ours.yaml").write_text("based_on: pass-truck\nname: Ours\n", encoding="utf-8")
    _, out, _ = run(capsys, "list", "rigs", "--origin", "--data", str(tmp_path))

    assert re.search(rf"^ours +Ours +{re.escape(str(tmp_path))}$", out, re.M)
    assert json.loads(run(capsys, "list", "rigs", "--origin", "--json", "--data", str(tmp_path))[1])[3][
        "origin"
    ] == str(tmp_path)


def test_bad_data_is_exit_3_with_every_problem_and_no_plan(capsys, tmp_path):
    (tmp_path / "rigs").mkdir()
    (tmp_path / "rigs" / "ours.yaml").write_text(
        "based_on: pass-truck\nname: Ours\nadapters: [nothing]\ncolour: red\n", encoding="utf-8"
    )
    code, out, err = run(
        capsys,
        "plan",
        "--rig",
        "ours",
        "--vehicle",
        "midsize-suv",
        "--start",
        "12%",
        "--to",
        "80%",
        "--data",
        str(tmp_path),
    )

    assert (code, out) == (3, "")
    assert "/rigs/ours.yaml:4:1: colour: expected " in err
    assert "adapters.0: expected the id of a record in adapters" in err
    assert err.endswith("2 problems in the data; nothing was planned.\n")


def test_json_and_text_say_the_same(capsys):
    published = json.loads(run(capsys, *PLAN, "--miles", "45mi", "--json")[1])
    text = run(capsys, *PLAN, "--miles", "45mi")[1]

    assert f"{published['minutes_on_site']['typical']} min" in text
    assert f"{published['miles_added_per_hour']} miles added per hour plugged in" in text
    assert f"READ BACK {published['setting']['output_a']:g} A" in text
    assert published["reasons"][0]["text"].split(":")[0] in text


def test_a_former_id_is_noted(capsys, tmp_path, root):
    text = (root / "vehicle_data" / "rigs" / "pass-truck.yaml").read_text(encoding="utf-8")
    (tmp_path / "rigs").mkdir()
    (tmp_path / "rigs" / "pass-truck.yaml").write_text(text + "formerly: [summit-truck]\n", encoding="utf-8")
    code, _, err = run(
        capsys,
        "plan",
        "--rig",
        "summit-truck",
        "--vehicle",
        "midsize-suv",
        "--start",
        "12%",
        "--to",
        "80%",
        *OPEN,
        "--data",
        str(tmp_path),
    )

    assert code == 0
    assert err == "note: 'summit-truck' is called pass-truck now\n"


def test_schema_is_written_whole_into_a_named_folder(capsys, tmp_path):
    code, out, err = run(capsys, "schema", "--out", str(tmp_path / "here"))
    written = {path.name for path in (tmp_path / "here").iterdir()}

    assert (code, out) == (0, "")
    assert "rig.schema.json" in written
    assert "plan.schema.json" in written
    assert not [name for name in written if name.endswith(".part")]
    assert err.startswith("note: ")


def test_a_folder_that_cannot_be_written_is_said(capsys, tmp_path):
    (tmp_path / "file").write_text("")
    code, _, err = run(capsys, "schema", "--out", str(tmp_path / "file"))

    assert code == 2
    assert "expected a folder that can be written to" in err


def test_a_closed_pipe_is_no_error(root):
    script = f"{sys.executable} -m planner list tables --json | head -c 1"
    done = subprocess.run(
        ["bash", "-c", f"set -o pipefail; {script}"], cwd=root, capture_output=True, text=True, check=False
    )

    assert done.stderr == ""
    assert done.returncode == 0


def test_help_of_every_command_is_there(capsys):
    for command in ("plan", "list", "check", "schema", "bench"):
        code, out, _ = run(capsys, command, "--help")
        assert code == 0
        assert out.startswith(f"usage: rangeferry {command}")
        assert "exit codes" in out


def test_bench_prints_every_budget_beside_its_baseline(capsys, monkeypatch):
    # Every part of it, over less than it measures in earnest.
    monkeypatch.setattr(bench, "SITE_CLASSES", (1, 3))
    monkeypatch.setattr(bench, "LOOKED_UP", bench.LOOKED_UP[:1])
    code, out, _ = run(capsys, "bench", "--classes", "3")

    assert code == 0
    assert out.startswith("baseline: ")
    for what in (
        "rangeferry plan, whole process",
        "plan(), typical",
        "load, validate and lint the shipped data",
        "load, validate and lint 3 classes",
    ):
        assert what in out


def test_the_module_runs_like_the_command(root):
    done = subprocess.run(
        [sys.executable, "-m", "planner", "--version"], cwd=root, capture_output=True, text=True, check=True
    )

    assert done.stdout == "rangeferry 0.1.0\n"


def test_output_is_plain_utf8_in_a_c_locale(root):
    environment = {**os.environ, "LC_ALL": "C", "PYTHONIOENCODING": ""}
    done = subprocess.run(
        [sys.executable, "-m", "planner", *PLAN, "--to", "80%"],
        cwd=root,
        env=environment,
        capture_output=True,
        check=True,
    )

    assert done.stdout.decode("ascii")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            [*PLAN, "--to", "80%", "--data", ""],
            "--data: expected a folder, got an empty name; write the folder, or . for this one",
        ),
        (
            [*PLAN, "--to", "80%", "--data", "/nowhere"],
            "--data: expected a folder of records, got '/nowhere'; name one that exists",
        ),
        ([*PLAN, "--to", "80%", "--data", "x" * 5000], "--data: expected a folder of records"),
        (["schema", "--out", ""], "--out: expected a folder, got an empty name"),
        (
            ["plan", "--rig", "pass-truck", "--vehicle", "midsize-suv", "--star", "12%", "--to", "80%"],
            "the following arguments are required: --start. Unknown argument '--star'. Did you mean '--start'?",
        ),
        ([*PLAN, "--miles", "1" * 400], "expected a distance, got '111"),
        ([*PLAN, "--to", "12,5%"], "--to: expected a percent, got '12,5%'"),
        (["plan", "--rig", "x" * 400, "--vehicle", "midsize-suv", "--start", "12%", "--to", "80%"], "unknown rig 'xxx"),
        ([*PLAN, "--to", "80%", "--ambient", "\x1b[31mred"], "--ambient: expected a temperature, got '?[31mred'"),
    ],
    ids=lambda value: " ".join(value)[-30:] if isinstance(value, list) else "",
)
def test_odd_words_are_refused_in_words(capsys, arguments, message):
    code, out, err = run(capsys, *arguments)

    assert (code, out) == (2, "")
    assert message in err
    assert "note:" not in err
    assert "\x1b" not in err


def shell(root, line):
    """Run a line of bash with `rangeferry` as the module and return code, stdout and stderr."""
    line = line.replace("rangeferry", f"{sys.executable} -m planner")
    done = subprocess.run(["bash", "-c", line], cwd=root, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout, done.stderr


REFUSED = "rangeferry plan --rig fairground-spare --vehicle midsize-suv --start 12% --to 80%"


def test_a_closed_pipe_never_turns_a_refusal_into_a_yes(root):
    code, out, _ = shell(root, f"{REFUSED} | true; echo ${{PIPESTATUS[0]}}")

    assert (code, out) == (0, "1\n")


def test_a_full_disk_is_said_and_is_no_success(root):
    code, _, err = shell(root, f"{REFUSED} > /dev/full")

    assert code == 2
    assert "Traceback" not in err
    assert "rangeferry: the output could not be written: No space left on device" in err


def test_closed_streams_are_no_traceback_and_never_mix(root):
    code, out, err = shell(root, f"{REFUSED} >&-")
    assert (code, out, err) == (1, "", "")
    code, out, err = shell(root, "rangeferry plan --rig nothing --vehicle midsize-suv --start 12% --to 80% 2>&-")
    assert (code, out, err) == (2, "", "")


def test_text_that_the_terminal_cannot_show_is_no_traceback(root, tmp_path):
    (tmp_path / "rigs").mkdir()
    (tmp_path / "rigs" / "ours.yaml").write_text(
        "based_on: pass-truck\nname: Ours\nsummary: Łódź wagon\n", encoding="utf-8"
    )
    for encoding in ("ascii", "cp1252"):
        code, out, err = shell(root, f"PYTHONIOENCODING={encoding} rangeferry list rigs --json --data {tmp_path}")
        assert (code, err) == (0, "")
        assert next(rig for rig in json.loads(out) if rig["id"] == "ours")["summary"] == "Łódź wagon"


def test_a_deleted_folder_to_stand_in_is_no_traceback(root, tmp_path):
    code, out, err = shell(
        root,
        f"mkdir {tmp_path}/gone && cd {tmp_path}/gone && rmdir {tmp_path}/gone && PYTHONPATH={root} rangeferry list rigs",
    )

    assert (code, err) == (0, "")
    assert "pass-truck" in out
