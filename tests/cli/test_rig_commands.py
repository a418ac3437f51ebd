"""The commands for builders: `rig`, `size`, `commission`, their streams, exit codes and files."""

import json
import math
import re

import pytest
import yaml

from planner.cli import main
from planner.loading import shipped

READINGS = {
    "duration_min": 75,
    "setting_mark": "40",
    "voltage_no_load_v": 245,
    "frequency_no_load_hz": 61.5,
    "voltage_evse_v": 239,
    "current_a": 39.2,
    "power_metered_kw": 9.37,
    "ambient_c": 20,
    "altitude_m": 300,
}


def run(capsys, *arguments):
    code = main([str(argument) for argument in arguments])
    out, err = capsys.readouterr()
    return code, out, err


def numbers(value):
    if isinstance(value, dict):
        for inner in value.values():
            yield from numbers(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from numbers(inner)
    elif isinstance(value, float):
        yield value


@pytest.mark.parametrize(
    ("rig", "code", "head"),
    [
        ("pass-truck", 0, "FIT: Pass truck"),
        ("ski-hill-battery", 0, "FIT, SET IT FIRST: Ski hill battery"),
        ("fairground-outlet", 0, "FIT, SET IT FIRST: Fairground outlet"),
        ("fairground-spare", 1, "NOT FIT: Fairground spare"),
    ],
)
def test_a_rig_is_judged_in_its_first_line_and_by_its_exit_code(capsys, rig, code, head):
    found, out, err = run(capsys, "rig", rig)

    assert (found, out.splitlines()[0], err) == (code, head, "")
    assert all(len(line) <= 84 for line in out.splitlines())
    for part in ("Amps each part allows", "What would raise it", "It plans; it does not certify"):
        assert part in out


def test_a_rig_at_another_site_has_less(capsys):
    low = run(capsys, "rig", "pass-truck", "--altitude", "0ft", "--ambient", "60F")[1]
    high = run(capsys, "rig", "pass-truck", "--altitude", "10000ft", "--ambient", "100F")[1]

    def share(text):
        return float(re.search(r"([\d.]+) by the common rule", text)[1])

    assert share(low) == 1.0
    assert share(high) == pytest.approx(1 - 0.35 - 0.023, abs=0.006)
    assert "ISO 3046-1" in high


def test_json_of_each_command_is_whole_and_finite(capsys):
    for arguments in (
        ("rig", "pass-truck"),
        ("rig", "fairground-spare"),
        ("size", "--current", "48A"),
        ("commission", "pass-truck", "--vehicle", "large-three-row-suv", "--amps", "39A"),
    ):
        _, out, _ = run(capsys, *arguments, "--json")
        found = json.loads(out)
        assert found["schema_version"]
        assert all(math.isfinite(number) for number in numbers(found))


def test_a_size_says_device_wire_cord_and_grounding(capsys):
    """NEC sizing example in print: 48 A needs 60 A, 6 AWG at 75 C, 4 AWG at 60 C, 10 AWG grounding."""
    code, out, _ = run(capsys, "size", "--current", "48A", "--volts", "240V", "--length", "25ft")

    assert code == 0
    for words in ("60 A, two-pole", "75 C ends    6 AWG", "60 C ends    4 AWG", "10 AWG in copper wire"):
        assert words in out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("size", "--current", "51.5A"), "--current"),
        (("size", "--current", "5A"), "--current"),
        (("size", "--current", "90A"), "--current"),
        (("size", "--current", "lots"), "a current in A"),
        (("size", "--current", "48A", "--volts", "480V"), "--volts"),
        (("size", "--current", "48A", "--length", "25"), "25 ft"),
        (("rig", "pass-truk"), "Did you mean 'pass-truck'?"),
        (("rig", "pass-truck", "--fuel", "propane"), "a fuel of Pass truck: gasoline"),
        (("rig", "pass-truck", "--vehicle", "nothing"), "unknown vehicle"),
        (("commission", "pass-truck", "--vehicle", "midsize-suv", "--hot", "plug"), "--hot connector=118F"),
        (("commission", "pass-truck", "--vehicle", "midsize-suv", "--hot", "plug=40"), "its unit"),
        (("commission", "pass-truck", "--vehicle", "midsize-suv", "--amps=-4A"), "--amps"),
        (("commission", "pass-truck", "--vehicle", "midsize-suv", "--amps", "39A", "--mark", "41"), "41"),
    ],
)
def test_a_mistake_is_told_with_where_what_and_what_next(capsys, arguments, words):
    code, out, err = run(capsys, *arguments)

    assert (code, out) == (2, "")
    assert words in err
    assert "Traceback" not in err


def test_a_run_is_compared_from_options_or_from_a_file(capsys, tmp_path):
    file = tmp_path / "run.yaml"
    file.write_text(yaml.safe_dump(READINGS), encoding="utf-8")
    code, out, _ = run(capsys, "commission", "pass-truck", "--vehicle", "large-three-row-suv", "--readings", file)
    assert (code, out.splitlines()[0]) == (0, "AGREES: Large three-row SUV, J3400 with Pass truck")

    code, _, err = run(
        capsys, "commission", "pass-truck", "--vehicle", "large-three-row-suv", "--readings", file, "--amps", "39A"
    )
    assert code == 2
    assert "each reading once" in err


@pytest.mark.parametrize("text", ["current_a: [", "current_a: 39\ncurrent_a: 40\n", "- 1\n"])
def test_a_broken_file_of_readings_is_bad_data(capsys, tmp_path, text):
    file = tmp_path / "run.yaml"
    file.write_text(text, encoding="utf-8")
    code, out, err = run(capsys, "commission", "pass-truck", "--vehicle", "large-three-row-suv", "--readings", file)

    assert (code, out) == (3, "")
    assert "run.yaml:" in err


def test_a_saved_run_lifts_the_loading_fraction_by_what_it_proved(capsys, tmp_path):
    file, crew = tmp_path / "run.yaml", tmp_path / "crew"
    crew.mkdir()
    file.write_text(yaml.safe_dump({**READINGS, "setting_mark": "50", "fuel": "gasoline"}), encoding="utf-8")
    command = ("commission", "trailhead-van", "--vehicle", "half-ton-pickup", "--readings", file)
    before = run(capsys, "rig", "trailhead-van", "--altitude", "300m", "--ambient", "20C")[1]
    code, _, err = run(capsys, *command, "--save", crew, "--date", "2026-10-02")

    assert code in {0, 1}
    assert "run written to" in err
    written = crew / "commissioning" / "trailhead-van-2026-10-02.yaml"
    assert yaml.safe_load(written.read_text(encoding="utf-8"))["run"]["power_metered_kw"] == 9.37
    assert run(capsys, "check", "--data", crew)[0] == 0
    after = run(capsys, "rig", "trailhead-van", "--altitude", "300m", "--ambient", "20C", "--data", crew)[1]
    assert "0.80 of derated watts" in " ".join(before.split())
    # 9.37 kW of 12 kW at 300 m: 0.965 of them by the common rule, so 0.81 is proved.
    derate = 1 - 0.035 * 300 / 304.8
    assert f"{9370 / (12000 * derate):.2f} of derated watts, proved on 2026-10-02" in " ".join(after.split())
    plan = run(
        capsys,
        "plan",
        "--rig",
        "trailhead-van",
        "--vehicle",
        "compact-hatch",
        "--start",
        "10%",
        "--to",
        "50%",
        "--data",
        crew,
    )[1]
    assert "proved on 2026-10-02" in " ".join(plan.split())

    again = written.read_text(encoding="utf-8")
    code, _, err = run(capsys, *command, "--save", crew, "--date", "2026-10-02")
    assert code == 2
    assert "a day without a run" in err
    assert written.read_text(encoding="utf-8") == again


def test_a_run_that_proves_nothing_is_not_saved(capsys, tmp_path):
    short = ("--amps", "39.2A", "--evse-volts", "239V", "--metered", "9.37kW", "--duration", "20min")
    code, out, err = run(
        capsys, "commission", "pass-truck", "--vehicle", "large-three-row-suv", *short, "--save", tmp_path
    )

    assert code == 2
    assert "--save" in err
    assert out.startswith(("AGREES", "DIFFERS"))  # the result is shown whatever becomes of the record
    assert not list(tmp_path.iterdir())


def test_a_hot_part_is_a_stop(capsys):
    code, out, _ = run(
        capsys,
        "commission",
        "pass-truck",
        "--vehicle",
        "large-three-row-suv",
        "--amps",
        "39A",
        "--hot",
        "connector=220F",
    )

    assert code == 1
    assert out.startswith("STOP")


def test_a_run_of_an_unknown_rig_or_a_wrong_name_is_told(capsys, tmp_path):
    folder = tmp_path / "commissioning"
    folder.mkdir()
    base = 'name: Run\nrig: {rig}\nrun:\n  date: "2026-10-02"\n  fuel: {fuel}\n  duration_min: 75\n'
    base += "  power_metered_kw: {kw}\n  altitude_m: 0\n  ambient_c: 20\nsources:\n  run: {{basis: own unit}}\n"
    for name, rig, fuel, kw, words in (
        ("pass-truck-2026-10-02", "pass-truk", "gasoline", 9, "expected the id of a record in rigs"),
        ("ours", "pass-truck", "gasoline", 9, "a file name that begins with pass-truck-"),
        ("pass-truck-2026-10-02", "pass-truck", "diesel", 9, "run.fuel: expected a fuel of this source: gasoline"),
        ("pass-truck-2026-10-02", "pass-truck", "gasoline", 99, "run.power_metered_kw: expected at most"),
    ):
        file = folder / f"{name}.yaml"
        file.write_text(base.format(rig=rig, fuel=fuel, kw=kw), encoding="utf-8")
        code, _, err = run(capsys, "check", "--data", tmp_path)
        assert code == 3
        assert words in err
        file.unlink()


def test_what_is_in_the_rigs_tank_counts(capsys):
    call = ("plan", "--rig", "pass-truck", "--vehicle", "large-pickup", "--start", "5%", "--to", "60%")
    full = run(capsys, *call)
    low = run(capsys, *call, "--rig-tank", "3gal", "--rig-cans", "0L")

    assert "tank and spare cans full" in " ".join(full[1].split())
    assert low[0] == 1
    assert "an hour's fuel at this load" in low[1]
    wrong = run(capsys, *call, "--rig-charge", "50%")
    assert wrong[0] == 2
    assert "--rig-tank" in wrong[2]


OWN_BREAKER = """based_on: fairground-spare
name: Fairground spare, mended
supply:
  - {part: breaker, id: outlet-breaker, name: Outlet breaker, rating_a: 50, built_in: true, gfci: none}
  - {part: receptacle, id: outlet, name: Generator receptacle, outlet: nema-14-50, grade: industrial, gfci: none}
  - {part: plug, id: cord-plug, name: Cord plug, outlet: nema-14-50}
  - {part: breaker, id: own, name: Own breaker, rating_a: 35, built_in: false}
  - part: conductor
    id: cord
    name: Extension cord
    construction: flexible_cord
    material: copper
    size_awg: "8"
    temperature_rating_c: 60
    termination_column_c: 60
    loaded_conductors: 2
    length_m: 15
    grounding_awg: "8"
    wet_rated: true
sources:
  source: {basis: invented}
  usual_site: {basis: invented}
  supply: {basis: invented}
  evse: {basis: invented}
"""


def test_a_rig_whose_fixed_setting_overloads_a_part_is_not_fit(capsys, tmp_path):
    """35 A carries 28 A for hours; the unit is fixed at 32 A. No class may be served, so it is no 'fit with changes'."""
    (tmp_path / "rigs").mkdir()
    (tmp_path / "rigs" / "mended.yaml").write_text(OWN_BREAKER, encoding="utf-8")
    code, out, _ = run(capsys, "rig", "mended", "--altitude", "0ft", "--ambient", "70F", "--data", tmp_path)

    assert code == 1
    assert out.startswith("NOT FIT")
    assert "Own breaker carries 28 A at most" in " ".join(out.split())


def test_a_fixed_setting_above_the_engine_alone_is_fit_for_small_draws(capsys):
    """32 A fixed on an engine that leaves less: classes up to 0.9 of it may be served, and only those."""
    code, out, _ = run(capsys, "rig", "trailhead-van", "--altitude", "9000ft", "--ambient", "90F")

    assert code == 0
    assert re.match(r"ONLY FOR CLASSES THAT DRAW UP TO [\d.]+ A: Trailhead van", out)
    assert run(capsys, "rig", "trailhead-van", "--altitude", "19000ft", "--ambient", "90F")[0] == 1


def test_a_reading_given_twice_or_of_tomorrow_is_refused(capsys):
    command = ("commission", "pass-truck", "--vehicle", "large-three-row-suv", "--amps", "39A")
    for more, words in (
        (("--hot", "main=190F", "--hot", "main=100F"), "each part once"),
        (("--date", "2099-01-01"), "a day up to today"),
        (("--dash-rate", "fast"), "--dash-rate"),
    ):
        code, _, err = run(capsys, *command, *more)
        assert code == 2
        assert words in err


def test_shipped_data_is_never_written_to(capsys):
    """A run that may be kept, and the one folder that it may not be kept in."""
    before = sorted((shipped() / "vehicle_data").rglob("*"))
    run_ = ("--mark", "48", "--evse-volts", "240V", "--amps", "46A", "--metered", "11kW", "--duration", "75min")
    site = ("--ambient", "50F", "--altitude", "4000ft", "--no-load-volts", "245V")
    code, out, err = run(
        capsys,
        *("commission", "pass-truck", "--vehicle", "large-three-row-suv", *run_, *site),
        *("--save", shipped() / "vehicle_data"),
    )

    assert (code, out.splitlines()[0]) == (2, "AGREES: Large three-row SUV, J3400 with Pass truck")
    assert "the shipped data is never written to" in err
    assert sorted((shipped() / "vehicle_data").rglob("*")) == before


def test_a_run_that_no_size_carries_that_far_is_told_by_the_exit_code(capsys):
    code, out, _ = run(capsys, "size", "--current", "80A", "--volts", "120V", "--length", "1500ft")

    assert code == 1
    assert out.startswith(("WARNING", "LEAST"))
    assert "will not charge" in out
