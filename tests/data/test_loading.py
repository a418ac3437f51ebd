"""Broken data of every kind: each with its exact message and position, all of a run at once, never a traceback."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import DataError, UnknownIdError
from planner.loading import load, load_for_plan

ADAPTER = """\
name: Test adapter
carries: ac
takes: j3400
becomes: j1772
rating_current_a: 48
rating_voltage_v: 250
listing: ul2252
temperature_sensing: true
latch: thumb latch
sources:
  rating_current_a: {basis: invented}
  rating_voltage_v: {basis: invented}
"""
SHIPPED = Path(__file__).resolve().parents[2] / "vehicle_data"


def write(folder, text, kind="adapters", name="test"):
    path = folder / kind / f"{name}.yaml"
    path.parent.mkdir(parents=True, exist_ok=True)
    if isinstance(text, bytes):
        path.write_bytes(text)
    else:
        path.write_text(text, encoding="utf-8")
    return path


def problems(folder):
    """Return every message of a run, with the folder's own path taken off."""
    with pytest.raises(DataError) as caught:
        load([folder])
    return [str(problem).replace(f"{folder}/", "") for problem in caught.value.problems]


def changed(old, new):
    assert ADAPTER.count(old) == 1, old
    return ADAPTER.replace(old, new)


def test_a_sound_overlay_is_read(tmp_path):
    write(tmp_path, ADAPTER)

    assert load([tmp_path]).adapters["test"].rating_current_a == 48


BROKEN = [
    # (what, text, message)
    (
        "text for a number",
        changed("current_a: 48", "current_a: 48 A"),
        "adapters/test.yaml:5:19: rating_current_a: expected a number in amperes, got text '48 A'; "
        "write the number alone: rating_current_a: 48",
    ),
    (
        "quoted number",
        changed("current_a: 48", "current_a: '48'"),
        "adapters/test.yaml:5:19: rating_current_a: expected a number in amperes, got text '48'; "
        "write the number alone: rating_current_a: 48",
    ),
    (
        "boolean for a number",
        changed("current_a: 48", "current_a: true"),
        "adapters/test.yaml:5:19: rating_current_a: expected a number in amperes, got true or false 'True'; "
        "write rating_current_a: and a number in amperes",
    ),
    (
        "zero",
        changed("current_a: 48", "current_a: 0"),
        "adapters/test.yaml:5:19: rating_current_a: expected a number in amperes above 0, got number '0'; "
        "check the number and its unit",
    ),
    (
        "too large",
        changed("current_a: 48", "current_a: 48000"),
        "adapters/test.yaml:5:19: rating_current_a: expected a number in amperes of at most 1000, got number '48000'; "
        "check the number and its unit",
    ),
    (
        "exponent",
        changed("current_a: 48", "current_a: 4.8e1"),
        "adapters/test.yaml:5:19: rating_current_a: expected a number such as 12, 0.5 or -4, got '4.8e1'; "
        "no leading zero, comma, underscore, exponent or bare point; for text write '4.8e1'",
    ),
    (
        "leading zero",
        changed("current_a: 48", "current_a: 048"),
        "adapters/test.yaml:5:19: rating_current_a: expected a number such as 12, 0.5 or -4, got '048'; "
        "no leading zero, comma, underscore, exponent or bare point; for text write '048'",
    ),
    (
        "octal",
        changed("current_a: 48", "current_a: 0o60"),
        "adapters/test.yaml:5:19: rating_current_a: expected a number such as 12, 0.5 or -4, got '0o60'; "
        "no leading zero, comma, underscore, exponent or bare point; for text write '0o60'",
    ),
    (
        "underscore",
        changed("current_a: 48", "current_a: 4_8"),
        "adapters/test.yaml:5:19: rating_current_a: expected a number such as 12, 0.5 or -4, got '4_8'; "
        "no leading zero, comma, underscore, exponent or bare point; for text write '4_8'",
    ),
    (
        "not a number",
        changed("current_a: 48", "current_a: .nan"),
        "adapters/test.yaml:5:19: rating_current_a: expected a number such as 12, 0.5 or -4, got '.nan'; "
        "no leading zero, comma, underscore, exponent or bare point; for text write '.nan'",
    ),
    (
        "base 60",
        changed("latch: thumb latch", "latch: 1:30"),
        "adapters/test.yaml:9:8: latch: expected a plain number, or quoted text, got '1:30'; "
        "some readers take it as a base-60 number: write '1:30' for text",
    ),
    (
        "yes",
        changed("sensing: true", "sensing: yes"),
        "adapters/test.yaml:8:22: temperature_sensing: expected true or false, or quoted text, got 'yes'; "
        "write true or false; if the word itself is meant, write 'yes'",
    ),
    (
        "off",
        changed("sensing: true", "sensing: off"),
        "adapters/test.yaml:8:22: temperature_sensing: expected true or false, or quoted text, got 'off'; "
        "write true or false; if the word itself is meant, write 'off'",
    ),
    (
        "True",
        changed("sensing: true", "sensing: True"),
        "adapters/test.yaml:8:22: temperature_sensing: expected true or false, or quoted text, got 'True'; "
        "write true or false; if the word itself is meant, write 'True'",
    ),
    (
        "norway",
        changed("latch: thumb latch", "latch: no"),
        "adapters/test.yaml:9:8: latch: expected true or false, or quoted text, got 'no'; "
        "write true or false; if the word itself is meant, write 'no'",
    ),
    (
        "quoted boolean",
        changed("sensing: true", "sensing: 'true'"),
        "adapters/test.yaml:8:22: temperature_sensing: expected true or false, got text 'true'; "
        "write true or false, without quotes",
    ),
    (
        "date",
        changed("latch: thumb latch", "latch: 2026-11-24"),
        "adapters/test.yaml:9:8: latch: expected quoted text for a date, got '2026-11-24'; write '2026-11-24'",
    ),
    (
        "number for text",
        changed("latch: thumb latch", "latch: 7"),
        "adapters/test.yaml:9:8: latch: expected text, got number '7'; put it in quotes: '7'",
    ),
    (
        "nothing",
        changed("latch: thumb latch", "latch:"),
        "adapters/test.yaml:9:7: latch: expected text, got nothing; write the text",
    ),
    (
        "duplicate key",
        changed("listing: ul2252", "listing: ul2252\nlisting: none"),
        "adapters/test.yaml:8:1: listing: expected each key once, got 'listing' again (first in line 7); "
        "keep the one that is right",
    ),
    (
        "duplicate key below",
        changed("  rating_voltage_v: {basis: invented}", "  rating_voltage_v: {basis: invented, basis: judgement}"),
        "adapters/test.yaml:12:39: sources.rating_voltage_v.basis: expected each key once, got 'basis' again "
        "(first in line 12); keep the one that is right",
    ),
    (
        "misspelt key",
        changed("listing: ul2252", "lisiting: ul2252"),
        "adapters/test.yaml:7:1: lisiting: expected one of name, formerly, also_called, notes, sources, carries, takes, becomes, rating_current_a, "
        "rating_voltage_v, listing, temperature_sensing, latch, got unknown key 'lisiting'; did you mean listing?",
    ),
    (
        "another unit",
        changed("rating_current_a: 48", "rating_current_ma: 48000"),
        "adapters/test.yaml:5:1: rating_current_ma: expected rating_current_a (in amperes), got unknown key "
        "'rating_current_ma'; write rating_current_a: 48",
    ),
    (
        "missing field",
        changed("takes: j3400\n", ""),
        "adapters/test.yaml:1:1: takes: expected this field, got nothing; add takes:",
    ),
    (
        "misspelt choice",
        changed("listing: ul2252", "listing: ul225"),
        "adapters/test.yaml:7:10: listing: expected one of 'ul2252', 'supplied_by_vehicle_maker', 'none', got text 'ul225'; "
        "write ul2252",
    ),
    (
        "id in the file",
        "id: test\n" + ADAPTER,
        "adapters/test.yaml:1:5: id: expected no id inside the file, got 'test'; delete the line: the file name is the id (test)",
    ),
    (
        "bad name",
        changed("name: Test adapter", "name: <b>Test</b>"),
        "adapters/test.yaml:1:7: name: expected letters, digits, spaces and - / . , ( ) + only, got text '<b>Test</b>'; "
        "remove the other characters",
    ),
    (
        "direction-changing text",
        changed("latch: thumb latch", 'latch: "thumb \\u202e latch"'),
        "adapters/test.yaml:9:8: latch: expected printable text on one line, without control characters, "
        "got text 'thumb ? latch'; type it again plainly",
    ),
    (
        "extension of equal couplers",
        changed("becomes: j1772", "becomes: j3400"),
        "adapters/test.yaml:4:10: becomes: expected another connector than takes, got j3400; "
        "an extension between equal couplers is not an adapter and is never used",
    ),
    (
        "dangling reference",
        changed("takes: j3400", "takes: j3401"),
        "adapters/test.yaml:3:8: takes: expected the id of a record in connectors, got 'j3401'; write j3400",
    ),
    (
        "impossible reference",
        changed("takes: j3400", "takes: J 3400"),
        "adapters/test.yaml:3:8: takes: expected an id of small letters, digits and single hyphens, got text 'J 3400'; "
        "write j-3400",
    ),
    (
        "number without a source",
        changed("  rating_voltage_v: {basis: invented}\n", ""),
        "adapters/test.yaml:6:19: rating_voltage_v: expected exactly one entry of sources that covers this number, got none; "
        "add 'rating_voltage_v': with ref: or basis: under sources",
    ),
    (
        "source of nothing",
        changed(
            "  rating_voltage_v: {basis: invented}",
            "  rating_voltage_v: {basis: invented}\n  rating_power_w: {basis: invented}",
        ),
        "adapters/test.yaml:13:3: sources.rating_power_w: expected the path of a field of this record, got 'rating_power_w'; "
        "write rating_voltage_v",
    ),
    (
        "two origins",
        changed("  rating_voltage_v: {basis: invented}", "  rating_voltage_v: {basis: invented, ref: nec-2017}"),
        "adapters/test.yaml:12:21: sources.rating_voltage_v: expected either ref or basis, got both; "
        "write ref: with an id of sources.yaml, or basis: when there is no source",
    ),
    (
        "unknown source",
        changed("  rating_voltage_v: {basis: invented}", "  rating_voltage_v: {ref: nec-2071}"),
        "adapters/test.yaml:12:27: sources.rating_voltage_v.ref: expected an id of sources.yaml, got 'nec-2071'; write nec-2017",
    ),
    (
        "alias",
        changed("latch: thumb latch", "latch: &a thumb latch\nnotes: *a"),
        "adapters/test.yaml:9:8: latch: expected a plain value, got an anchor &a; remove the anchor",
    ),
    (
        "tag",
        changed("latch: thumb latch", "latch: !!python/object:os.system thumb"),
        "adapters/test.yaml:9:8: latch: expected a plain value, got a tag tag:yaml.org,2002:python/object:os.system; remove the tag",
    ),
    (
        "second document",
        ADAPTER + "---\nname: Other\n",
        "adapters/test.yaml:13:1: expected one record in a file, got a second document; move it to a file of its own",
    ),
    (
        "tab",
        changed("  rating_voltage_v: {basis: invented}", "\trating_voltage_v: {basis: invented}"),
        "adapters/test.yaml:12:1: expected well-formed YAML, got found character that cannot start any token; "
        "mend the indentation or the punctuation here",
    ),
    (
        "empty file",
        "",
        "adapters/test.yaml:1:1: expected a record of `key: value` lines, got an empty file; write the record's fields",
    ),
    (
        "comments only",
        "# later\n",
        "adapters/test.yaml:1:1: expected a record of `key: value` lines, got an empty file; write the record's fields",
    ),
    (
        "a list",
        "- name: Test\n",
        "adapters/test.yaml:1:1: expected a record of `key: value` lines, got a list; write the record's fields",
    ),
    (
        "plain text",
        "adapter\n",
        "adapters/test.yaml:1:1: expected a record of `key: value` lines, got a text; write the record's fields",
    ),
    (
        "list for text",
        changed("latch: thumb latch", "latch: [thumb, latch]"),
        "adapters/test.yaml:9:8: latch: expected text, got a list; write the text",
    ),
    (
        "text for a mapping",
        changed("sources:\n  rating_current_a: {basis: invented}\n", "sources:\n  rating_current_a: invented\n"),
        "adapters/test.yaml:11:21: sources.rating_current_a: expected a mapping of `key: value` lines, got text 'invented'; "
        "write its fields below, indented",
    ),
    (
        "not UTF-8",
        ADAPTER.replace("thumb latch", "thumb latch \xe9").encode("latin-1"),
        "adapters/test.yaml:9:20: expected text in UTF-8, got byte 0xe9; save the file as UTF-8",
    ),
    (
        "base on itself",
        "based_on: test\n",
        "adapters/test.yaml:1:11: based_on: expected the id of another record in adapters, got 'test'; "
        "name a record that exists, or write all fields here",
    ),
    (
        "base on nothing",
        "based_on: j3400-to-j1772-80\nname: Ours\n",
        "adapters/test.yaml:1:11: based_on: expected the id of another record in adapters, got 'j3400-to-j1772-80'; "
        "write j3400-to-j1772-80a",
    ),
]


@pytest.mark.parametrize(("text", "message"), [pytest.param(text, message, id=what) for what, text, message in BROKEN])
def test_a_fault_says_where_what_and_what_to_do(tmp_path, text, message):
    write(tmp_path, text)

    assert message in problems(tmp_path)


RIG = (SHIPPED / "rigs" / "pass-truck.yaml").read_text(encoding="utf-8")


def rig_line(marker):
    return next(number for number, line in enumerate(RIG.splitlines(), 1) if marker in line)


RIG_BROKEN = [
    (
        "voltage_v: {low: 234, typical: 241, high: 246}",
        "voltage_v: {low: 244, typical: 241, high: 246}",
        "typical: 241",
        34,
        "source.voltage_v.typical: expected low <= typical <= high, got low 244, typical 241, high 246; "
        "put the three numbers in rising order; typical is the median",
    ),
    (
        "kind: generator",
        "kind: generatr",
        "kind: generator",
        9,
        "source.kind: expected one of 'generator', 'battery_inverter', 'truck_export', 'site_outlet', got kind 'generatr'; "
        "write kind: generator",
    ),
    (
        "neutral: bonded_at_source",
        "neutral: bonded",
        "neutral:",
        12,
        "source.neutral: expected one of 'bonded_at_source', 'floating', 'bonded_twice', 'unknown', got text 'bonded'; "
        "choose one of them",
    ),
    (
        "default_fuel: gasoline",
        "default_fuel: propane",
        "default_fuel:",
        17,
        "source.default_fuel: expected one of the fuels listed: gasoline, got propane; add that fuel under fuels, or name another",
    ),
    (
        "length_m: 3\n",
        "length_ft: 10\n",
        "length_m: 3",
        5,
        "supply.1.length_ft: expected length_m (in metres), got unknown key 'length_ft'; write length_m: 3.048",
    ),
    (
        'size_awg: "4"',
        "size_awg: 4",
        "size_awg:",
        15,
        "supply.1.size_awg: expected one of '14', '12', '10', '8', '6', '4', '3', '2', '1', '1/0', got number '4'; "
        "write 4 in quotes",
    ),
    (
        "part: breaker",
        "part: braker",
        "part: breaker",
        11,
        "supply.0.part: expected one of 'breaker', 'receptacle', 'plug', 'conductor', got part 'braker'; write part: breaker",
    ),
    (
        "material: copper",
        "material: aluminum",
        "material: copper",
        15,
        "supply.1.material: expected copper for flexible cord, got aluminum; the table of flexible cord covers copper alone: "
        "correct the material or the construction",
    ),
    (
        "id: feed\n",
        "id: main\n",
        "id: feed",
        9,
        "supply.1.id: expected an id no other part of this supply has, got main; rename one of the two",
    ),
    (
        'mark: "48", marked_as: output_amps, output_a: 48',
        'mark: "48", marked_as: output_amps, output_a: 52',
        "output_a: 48}",
        54,
        "evse.settings.4.output_a: expected 6 to 51 A, or above 52.5 up to 80 A, got 52 A (no duty cycle says it); "
        "give the amps that the pilot advertises at this mark",
    ),
    (
        'mark: "48", marked_as: output_amps, output_a: 48',
        'mark: "48", marked_as: output_amps, output_a: 64',
        "output_a: 48}",
        54,
        "evse.settings.4.output_a: expected at most output_max_a, 48 A, got 64 A; correct the setting or the EVSE's rating",
    ),
    (
        'mark: "48", marked_as: output_amps',
        'mark: "48", marked_as: breaker_amps',
        "output_a: 48}",
        55,
        "evse.settings.4.output_a: expected 38.4 A for a mark of 48 breaker amps, got 48 A; a breaker mark advertises 80 % of it: "
        "correct output_a, or marked_as",
    ),
    (
        'setting_now: "40"',
        'setting_now: "41"',
        "setting_now:",
        16,
        "evse.setting_now: expected one of the marks: 16, 24, 32, 40, 48, got 41; write the mark that the unit stands at",
    ),
    (
        "set_by: outside_control",
        "set_by: fixed",
        "settings:",
        3,
        "evse.settings: expected one setting for a fixed unit, got 5 settings; keep the one it is fixed at, or correct set_by",
    ),
    (
        "connected_by: hard_wired",
        "connected_by: listed_cord_and_plug",
        "evse:",
        None,
        "evse.plug: expected plug: exactly when connected_by is listed_cord_and_plug, got listed_cord_and_plug without plug; "
        "name the outlet its own plug is made for, or correct connected_by",
    ),
    (
        "connector: j3400",
        "connector: j3499",
        "connector: j3400",
        16,
        "evse.cable.connector: expected the id of a record in connectors, got 'j3499'; write j3400",
    ),
    (
        "    fuel: gasoline\n    duration",
        "    fuel: diesel\n    duration",
        "    fuel: gasoline",
        11,
        "commissioning.0.fuel: expected a fuel of this source: gasoline, got diesel; state the fuel of that run",
    ),
    (
        'date: "2026-09-14"',
        'date: "14 Sept"',
        "date:",
        11,
        "commissioning.0.date: expected a date such as '2026-11-24', got text '14 Sept'; write year-month-day in quotes",
    ),
    (
        "altitude_m: 1200, ambient_c: 8",
        "altitude_ft: 3937, ambient_f: 46",
        "usual_site",
        14,
        "usual_site.altitude_ft: expected altitude_m (in metres), got unknown key 'altitude_ft'; write altitude_m: 1200",
    ),
]


@pytest.mark.parametrize(
    ("old", "new", "marker", "column", "message"), RIG_BROKEN, ids=[case[1] for case in RIG_BROKEN]
)
def test_a_fault_in_a_rig_says_where_what_and_what_to_do(tmp_path, old, new, marker, column, message):
    assert RIG.count(old) == 1
    write(tmp_path, RIG.replace(old, new), "rigs", "test-rig")
    found = problems(tmp_path)
    place = f"rigs/test-rig.yaml:{rig_line(marker)}:"

    assert any(item.endswith(f": {message}") and item.startswith(place) for item in found), "\n".join(found)
    if column is not None:
        assert f"{place}{column}: {message}" in found


def test_every_fault_of_every_file_is_told_in_one_run(tmp_path):
    write(tmp_path, changed("takes: j3400", "takes: j3401"), name="one")
    write(tmp_path, changed("current_a: 48", "current_a: many"), name="two")
    write(tmp_path, "- nothing\n", "inlets", "three")
    write(
        tmp_path,
        RIG.replace("rating_a: 60", "rating_a: -60").replace("part: breaker", "part: breaker\n    colour: red"),
        "rigs",
        "four",
    )
    found = problems(tmp_path)

    assert len(found) == 5
    assert [item.split(":")[0] for item in found] == [
        "adapters/one.yaml",
        "adapters/two.yaml",
        "inlets/three.yaml",
        "rigs/four.yaml",
        "rigs/four.yaml",
    ]


@pytest.mark.parametrize(
    ("path", "message"),
    [
        (
            "adapters/Bad Name.yaml",
            "expected an id of small letters, digits and single hyphens, at most 40 characters, got 'Bad Name'; rename the file",
        ),
        (
            "adapters/double--hyphen.yaml",
            "expected an id of small letters, digits and single hyphens, at most 40 characters, got 'double--hyphen'; rename the file",
        ),
        (
            f"adapters/{'a' * 41}.yaml",
            f"expected an id of small letters, digits and single hyphens, at most 40 characters, got '{'a' * 41}'; rename the file",
        ),
        ("adapters/test.yml", "expected a file named <id>.yaml, got 'test.yml'; rename it, or move it away"),
        (
            "adaptors/test.yaml",
            "expected one of the folders vehicle_classes, rigs, connectors, inlets, faces, adapters, leads, outlets, tables, schedules, commissioning, splits, got folder 'adaptors'; rename it to adapters",
        ),
        (
            "test.yaml",
            "expected records inside the folder of their kind, got file 'test.yaml'; move it into one of vehicle_classes, rigs, connectors, inlets, faces, adapters, leads, outlets, tables, schedules, commissioning, splits",
        ),
    ],
)
def test_a_file_that_would_be_passed_over_is_refused(tmp_path, path, message):
    target = tmp_path / path
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(ADAPTER, encoding="utf-8")

    assert any(item.endswith(message) for item in problems(tmp_path)), problems(tmp_path)


def test_a_folder_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(DataError, match=r"nowhere:1:1: expected a folder of records, got nothing there"):
        load([tmp_path / "nowhere"])


# --------------------------------------------------------------------------------------------------------- overlays


def test_an_overlay_replaces_the_whole_record_and_the_last_one_wins(tmp_path):
    first, second = tmp_path / "first", tmp_path / "second"
    write(first, ADAPTER, name="j3400-to-j1772-80a")
    write(second, changed("current_a: 48", "current_a: 32"), name="j3400-to-j1772-80a")

    assert load().adapters["j3400-to-j1772-80a"].rating_current_a == 80
    over = load([first, second])
    assert over.adapters["j3400-to-j1772-80a"].rating_current_a == 32
    assert over.adapters["j3400-to-j1772-80a"].name == "Test adapter"
    assert over.origins["adapters", "j3400-to-j1772-80a"] == str(second)
    assert load([second, first]).adapters["j3400-to-j1772-80a"].rating_current_a == 48


def test_a_partial_change_is_a_new_id_based_on_another(tmp_path):
    write(
        tmp_path,
        "based_on: pass-truck\nname: Pass truck, 50 A\nusual_site: {altitude_m: 300}\nadapters: []\n",
        "rigs",
        "pass-truck-low",
    )
    rigs = load([tmp_path]).rigs

    assert rigs["pass-truck-low"].usual_site.altitude_m == 300
    assert rigs["pass-truck-low"].usual_site.ambient_c == rigs["pass-truck"].usual_site.ambient_c
    assert rigs["pass-truck-low"].adapters == ()
    assert rigs["pass-truck-low"].evse == rigs["pass-truck"].evse


def test_a_fault_that_is_inherited_points_into_the_base_and_a_new_one_into_the_overlay(tmp_path):
    write(tmp_path, RIG.replace("rating_a: 60", "rating_a: -60"), "rigs", "base")
    write(tmp_path, "based_on: base\nusual_site:\n  altitude_m: high\n", "rigs", "top")
    found = problems(tmp_path)

    assert any(item.startswith(f"rigs/base.yaml:{rig_line('rating_a: 60')}:15: supply.0.rating_a:") for item in found)
    assert any(item.startswith("rigs/top.yaml:3:15: usual_site.altitude_m:") for item in found)


def test_based_on_is_one_step_deep(tmp_path):
    write(tmp_path, "based_on: j3400-to-j1772-80a\nname: One\n", name="one")
    write(tmp_path, "based_on: one\nname: Two\n", name="two")

    assert problems(tmp_path) == [
        "adapters/two.yaml:1:11: based_on: expected a record that is whole itself, got 'one', which is based on another; "
        "base it on j3400-to-j1772-80a, and repeat what one changes"
    ]


def test_an_id_is_never_used_again(tmp_path):
    write(tmp_path, ADAPTER + "formerly: [j1772-to-j3400-48a]\n")

    assert problems(tmp_path) == [
        "adapters/test.yaml:13:12: formerly.0: expected an id that no other record has or had, "
        "got 'j1772-to-j3400-48a', which is j1772-to-j3400-48a; give one of the two another id: ids are never used again"
    ]


def test_a_crews_own_sources_lie_beside_the_shipped_ones(tmp_path):
    write(tmp_path, changed("  rating_voltage_v: {basis: invented}", "  rating_voltage_v: {ref: our-label}"))
    (tmp_path / "sources.yaml").write_text(
        "our-label: {title: Label of our adapter, kind: manual, read_in: the label}\n"
    )

    found = load([tmp_path])
    assert {"our-label", "nec-2017"} <= set(found.sources)


def test_a_fault_in_sources_or_rates_is_placed(tmp_path):
    (tmp_path / "sources.yaml").write_text("our-label:\n  title: Label\n  kind: rumour\n  read_in: the label\n")
    (tmp_path / "rates.yaml").write_text("park_min: 5\n")
    found = problems(tmp_path)

    assert any(item.startswith("sources.yaml:3:9: our-label.kind: expected one of") for item in found)
    assert (
        "rates.yaml:1:11: park_min: expected a band: low, typical and high, got number '5'; "
        "write {low: ..., typical: 5, high: ...}" in found
    )


CLASS = (Path(__file__).resolve().parents[2] / "vehicle_data" / "vehicle_classes" / "_template.yaml").read_text(
    encoding="utf-8"
)


def class_problems(tmp_path, old, new):
    assert CLASS.count(old) == 1, old
    path = tmp_path / "vehicle_classes" / "county-van.yaml"
    path.parent.mkdir()
    path.write_text(CLASS.replace(old, new), encoding="utf-8")
    return problems(tmp_path)


def test_one_line_that_is_missing_under_sources_is_asked_for_once(tmp_path):
    """12 numbers of the battery hang on it: 3 of its energy, 3 of its health, 3 of its volts, 3 of its heater."""
    assert class_problems(tmp_path, "  battery: {basis: from memory}\n", "") == [
        "vehicle_classes/county-van.yaml:26:28: battery.energy_usable_kwh.low: expected exactly one entry of sources "
        "that covers this number and the 11 others under battery, got none; add 'battery': with ref: or basis: under sources"
    ]


def test_an_entry_of_a_list_that_is_wrong_is_not_told_as_missing_too(tmp_path):
    assert class_problems(tmp_path, "inlet: j1772", "inlet: J1772") == [
        "vehicle_classes/county-van.yaml:20:12: ports.0.inlet: expected an id of small letters, digits and single "
        "hyphens, got text 'J1772'; write j1772"
    ]


# ----------------------------------------------------------------------------------------------- reading for a plan


def test_a_plan_reads_overlays_and_resolves_like_the_whole(tmp_path):
    write(tmp_path, "based_on: pass-truck\nname: Ours\nadapters: [test]\n", "rigs", "ours")
    write(tmp_path, ADAPTER)
    lazy = load_for_plan([tmp_path], rig_id="ours", vehicle_id="midsize-suv")
    whole = load([tmp_path])

    assert lazy.rigs["ours"] == whole.rigs["ours"]
    assert lazy.adapters == {"test": whole.adapters["test"]}
    assert set(lazy.vehicle_classes) == {"midsize-suv"}
    assert lazy.vehicle_classes["midsize-suv"] == whole.vehicle_classes["midsize-suv"]


def test_a_plan_is_not_stopped_by_a_fault_in_a_record_it_does_not_need(tmp_path):
    write(tmp_path, "nonsense", "vehicle_classes", "broken")

    assert load_for_plan([tmp_path], rig_id="pass-truck", vehicle_id="midsize-suv").rigs
    with pytest.raises(DataError, match="vehicle_classes/broken"):
        load_for_plan([tmp_path], rig_id="pass-truck", vehicle_id="broken")


def test_a_former_id_is_found_when_reading_for_a_plan(tmp_path):
    write(tmp_path, RIG + "formerly: [summit-truck]\n", "rigs", "pass-truck")

    assert "pass-truck" in load_for_plan([tmp_path], rig_id="summit-truck", vehicle_id="midsize-suv").rigs


@pytest.mark.parametrize("rig_id", ["nothing", "../rigs/pass-truck", "", "/etc/passwd", "pass-truck.yaml"])
def test_an_id_that_is_not_there_is_unknown_and_never_a_path(rig_id):
    with pytest.raises(UnknownIdError, match="List them with: rangeferry list rigs"):
        load_for_plan([], rig_id=rig_id, vehicle_id="midsize-suv")


def test_the_digest_follows_the_bytes_of_what_was_read(tmp_path):
    write(tmp_path, ADAPTER)
    first = load([tmp_path]).folders[1].digest
    write(tmp_path, ADAPTER + "# a comment\n")

    assert load([tmp_path]).folders[1].digest != first
    assert load([tmp_path]).folders[0].digest == load().folders[0].digest


# ------------------------------------------------------------------------------------------- what must not pass over


def plan_problems(folder, **ids):
    """Return the messages of reading for a plan."""
    with pytest.raises(DataError) as caught:
        load_for_plan([folder], **{"rig_id": "pass-truck", "vehicle_id": "midsize-suv", **ids})
    return [str(problem).replace(f"{folder}/", "") for problem in caught.value.problems]


@pytest.mark.parametrize(
    "name", ["rigs/Pass-Truck.yaml", "rigs/pass-truck.yml", "rig/pass-truck.yaml", "rigs.yaml", "Rates.YAML"]
)
def test_a_misnamed_cover_stops_a_plan_and_is_not_passed_over(tmp_path, name):
    path = tmp_path / name
    path.parent.mkdir(exist_ok=True)
    path.write_text(RIG.replace("nameplate_current_a: 62.5", "nameplate_current_a: 20"), encoding="utf-8")

    assert len(plan_problems(tmp_path)) == 1
    assert problems(tmp_path)


@pytest.mark.parametrize("what", ["folder", "dangling", "loop", "nested", "kind is a file", "rates is a folder"])
def test_what_is_no_file_where_a_record_belongs_is_told(tmp_path, what):
    (tmp_path / "rigs").mkdir()
    target = tmp_path / "rigs" / "pass-truck.yaml"
    if what == "folder":
        target.mkdir()
    elif what == "dangling":
        target.symlink_to(tmp_path / "nowhere.yaml")
    elif what == "loop":
        target.symlink_to(target)
    elif what == "nested":
        (tmp_path / "rigs" / "county").mkdir()
    elif what == "kind is a file":
        (tmp_path / "adapters").write_text("x")
    else:
        (tmp_path / "rates.yaml").mkdir()

    assert len(plan_problems(tmp_path)) == 1
    assert len(problems(tmp_path)) == 1


def test_a_crews_own_dataset_file_is_checked(tmp_path):
    (tmp_path / "dataset.yaml").write_text("version: banana\nname: Ours\n")

    assert problems(tmp_path) == [
        "dataset.yaml:1:10: version: expected a version such as '1.2.0', got text 'banana'; write three numbers with points, in quotes"
    ]


def test_a_record_that_another_folder_covers_is_checked_too(tmp_path):
    write(tmp_path / "below", changed("current_a: 48", "current_a: many"))
    write(tmp_path / "above", ADAPTER)
    with pytest.raises(DataError) as caught:
        load([tmp_path / "below", tmp_path / "above"])

    assert [problem.path for problem in caught.value.problems] == [str(tmp_path / "below" / "adapters" / "test.yaml")]


NUMBER_ADVICE = [
    ("running_power_w: 15000", "running_power_w: 15 kW", "write the number alone: running_power_w: 15000"),
    ("running_power_w: 15000", 'running_power_w: "15,000"', "write running_power_w: and a number in watts"),
    ("length_m: 3\n", "length_m: 10 ft\n", "write the number alone: length_m: 3.048"),
    ("tank_l: 34", "tank_l: 9 gal", "write the number alone: tank_l: 34.069"),
    ("rating_a: 60", 'rating_a: "1e3"', "write rating_a: and a number in amperes"),
    ("rating_a: 60", "rating_a: 50 mA", "write the number alone: rating_a: 0.05"),
    ("rating_a: 60", "rating_a: 50-60", "write rating_a: and a number in amperes"),
    ("rating_a: 60", "rating_a: 6o", "write rating_a: and a number in amperes"),
    ("rating_a: 60", "rating_a: ６０", "write rating_a: and a number in amperes"),
    ("loss_per_1000ft: 0.035", "loss_per_1000ft: 3.5%", "write the number alone: loss_per_1000ft: 0.035"),
    ("length_m: 3\n", "length_cm: 300\n", "write length_m: 3"),
    ("running_power_w: 15000", "running_power_kw: 15", "write running_power_w: 15000"),
    ("tank_l: 34", "tank_buckets: 3", "convert it and write tank_l"),
    ('size_awg: "4"', 'size_awg: "4/0"', "choose one of them"),
]


@pytest.mark.parametrize(("old", "new", "advice"), NUMBER_ADVICE, ids=[case[1].strip() for case in NUMBER_ADVICE])
def test_the_next_step_never_says_a_wrong_number(tmp_path, old, new, advice):
    assert RIG.count(old) == 1
    write(tmp_path, RIG.replace(old, new), "rigs", "test-rig")

    assert any(item.endswith(f"; {advice}") for item in problems(tmp_path)), problems(tmp_path)


def test_a_metered_run_above_the_running_watts_is_refused(tmp_path):
    write(tmp_path, RIG.replace("power_metered_kw: 11.3", "power_metered_kw: 113"), "rigs", "test-rig")

    assert problems(tmp_path) == [
        f"rigs/test-rig.yaml:{rig_line('power_metered_kw')}:23: commissioning.0.power_metered_kw: expected at most the running "
        "watts on gasoline, 15 kW, got 113 kW; read the meter again: for an hour an engine gives no more than its running watts"
    ]


def test_faults_of_reading_and_of_rules_are_told_together(tmp_path):
    text = RIG.replace("rating_a: 60", "rating_a: 060").replace("neutral: bonded_at_source", "neutral: solid")
    text = text.replace("connector: j3400", "connector: j34").replace('setting_now: "40"', 'setting_now: "41"')
    text = text.replace(
        'mark: "16", marked_as: output_amps, output_a: 16', 'mark: "16", marked_as: output_amps, output_a: 5'
    )
    write(tmp_path, text, "rigs", "test-rig")
    found = problems(tmp_path)

    for part in (
        "supply.0.rating_a",
        "source.neutral",
        "evse.cable.connector",
        "evse.setting_now",
        "evse.settings.0.output_a",
    ):
        assert sum(f" {part}: " in item for item in found) >= 1, part
    assert sum(" supply.0.rating_a: " in item for item in found) == 1


def test_a_former_id_works_wherever_an_id_is_named(tmp_path):
    write(
        tmp_path, (SHIPPED / "connectors" / "j1772.yaml").read_text() + "formerly: [old-plug]\n", "connectors", "j1772"
    )
    write(tmp_path, RIG.replace("connector: j3400", "connector: old-plug"), "rigs", "ours")
    write(tmp_path, "based_on: old-adapter\nname: Ours\n", "adapters", "ours")
    write(tmp_path, ADAPTER + "formerly: [old-adapter]\n", "adapters", "test")

    whole = load([tmp_path])
    assert whole.rigs["ours"].evse.cable.connector == "j1772"
    assert whole.adapters["ours"].takes == "j3400"
    assert load_for_plan([tmp_path], rig_id="ours", vehicle_id="midsize-suv").rigs["ours"] == whole.rigs["ours"]


def test_a_former_id_is_found_past_a_broken_record(tmp_path):
    write(tmp_path, "nonsense", "rigs", "aaa")
    write(tmp_path, RIG + "formerly: [summit-truck]\n", "rigs", "ours")

    assert load_for_plan([tmp_path], rig_id="summit-truck", vehicle_id="midsize-suv").rigs


@pytest.mark.parametrize("base", ["../rigs/pass-truck", "/etc/passwd", "a" * 300, "Pass-Truck"])
def test_a_base_is_an_id_and_never_a_path(tmp_path, base):
    write(tmp_path, f"based_on: {base}\nname: Ours\n", "rigs", "ours")

    assert len(problems(tmp_path)) == 1
    assert "based_on: expected the id of another record in rigs" in problems(tmp_path)[0]


def test_a_rule_broken_by_the_overlay_is_blamed_on_the_overlay(tmp_path):
    write(tmp_path, "name: Ours\nbased_on: pass-truck\nevse: {output_max_a: 40}\n", "rigs", "ours")
    (found,) = problems(tmp_path)

    assert found.startswith(
        "rigs/ours.yaml:2:11: evse.settings.4.output_a: expected at most output_max_a, 40 A, got 48 A from the base;"
    )


def test_an_overlay_can_change_the_kind_of_a_part_and_take_a_key_away(tmp_path):
    battery = (SHIPPED / "rigs" / "ski-hill-battery.yaml").read_text().split("source:\n")[1].split("usual_site")[0]
    write(
        tmp_path,
        "based_on: pass-truck\nname: Ours\ncommissioning: null\nsources: {commissioning: null}\nsource:\n" + battery,
        "rigs",
        "ours",
    )
    rig = load([tmp_path]).rigs["ours"]

    assert rig.source.kind == "battery_inverter"
    assert rig.commissioning == ()


def test_an_ac_adapter_between_dc_connectors_is_refused(tmp_path):
    write(tmp_path, changed("takes: j3400", "takes: ccs1"))

    assert problems(tmp_path) == [
        "adapters/test.yaml:3:8: takes: expected a connector that carries ac, got 'ccs1', which does not; correct the connector, or carries"
    ]


TABLE = "name: T\nedition: '2017'\nrow_key: size\ncolumns:\n  x: {unit: A, means: amps}\nrows:\n  '20': {x: 1}\nsources:\n  rows: {basis: from memory}\n"


@pytest.mark.parametrize(
    ("text", "name", "message"),
    [
        (
            TABLE.replace("  x: {unit: A, means: amps}\n", "").replace("columns:", "columns: {}"),
            "t",
            "columns: expected at least 1 entries, got 0; add what is missing",
        ),
        (
            TABLE.replace("  '20': {x: 1}\n", "").replace("rows:\ns", "rows: {}\ns"),
            "t",
            "rows: expected at least 1 entries, got 0; add what is missing",
        ),
        (
            TABLE.replace("{x: 1}", "{x: 1, y: 2}"),
            "t",
            "t.yaml:7:19: rows.20.y: expected a column declared under columns, got y; use one of x, or declare it",
        ),
        (
            TABLE.replace("'20'", "'²'").replace("{x: 1}", "{y: 1}"),
            "t",
            "rows.².y: expected a column declared under columns, got y",
        ),
        (
            TABLE,
            "nec-400-5-a-1",
            "columns: expected the column a, which the planner looks up in nec-400-5-a-1, got x; give the table its columns, or another id",
        ),
    ],
)
def test_a_broken_table_is_told_and_never_raises(tmp_path, text, name, message):
    write(tmp_path, text, "tables", name)

    assert any(message in item for item in problems(tmp_path)), problems(tmp_path)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        (
            ADAPTER.replace("thumb latch", "thumb\x00latch"),
            "adapters/test.yaml:9:13: expected printable characters that keep the direction of the text, got the character U+0000; remove it",
        ),
        (
            ADAPTER.replace("thumb latch", "thumb\u202elatch"),
            "adapters/test.yaml:9:13: expected printable characters that keep the direction of the text, got the character U+202E; remove it",
        ),
        (ADAPTER + "# \u2066 in a comment\n", "adapters/test.yaml:13:3: expected printable characters"),
        (
            ADAPTER.replace("rating_current_a: 48", "rating_current_a:48"),
            "adapters/test.yaml:5:1: expected well-formed YAML",
        ),
        (
            ADAPTER.replace("latch: thumb latch", 'latch: "thumb latch'),
            "adapters/test.yaml:9:8: expected well-formed YAML",
        ),
        ("%YAML 1.1\n---\n" + ADAPTER, "adapters/test.yaml:1:1: expected a plain document, got a % directive"),
        (
            ADAPTER.replace("latch: thumb", "&a latch: thumb"),
            "adapters/test.yaml:9:1: latch: expected a plain value, got an anchor &a",
        ),
        (
            ADAPTER.replace("current_a: 48", "current_a: ! 48"),
            "adapters/test.yaml:5:19: rating_current_a: expected a plain value, got a tag !",
        ),
    ],
)
def test_a_fault_of_writing_is_placed_where_it_is(tmp_path, text, place):
    write(tmp_path, text)

    assert any(item.startswith(place) for item in problems(tmp_path)), problems(tmp_path)


def test_a_misspelt_field_is_told_once_and_sends_nobody_astray(tmp_path):
    write(tmp_path, RIG.replace("usual_site: {", "usual_sight: {"), "rigs", "test-rig")
    found = problems(tmp_path)

    assert [item.split(": ")[1] for item in found] == ["usual_site", "usual_sight"]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "built_from: 2019",
            "built_from: 2019\nbuilt_to: 2010",
            "built_to: expected 2019 or later, got 2010; put the two years in order",
        ),
        (
            "voltage_low_v: 100",
            "voltage_low_v: 300",
            "onboard_charger.voltage_low_v: expected volts below voltage_high_v, 264 V, got 300 V",
        ),
        (
            "phases: 1",
            "phases: true",
            "onboard_charger.phases: expected a whole number, got true; write one of the numbers, without a point",
        ),
        (
            "pilot_margin: {low: 0,",
            "pilot_margin: {low: -0.1,",
            "charging.pilot_margin.low: expected a number from 0 to 0.5, got -0.1",
        ),
        (
            "  efficiency: 0.88",
            "  efficiency: 0.99",
            "charging.auxiliaries_kw: expected auxiliaries small enough for the label efficiency 0.99",
        ),
    ],
)
def test_a_class_that_contradicts_itself_is_refused(tmp_path, old, new, message):
    text = (SHIPPED / "vehicle_classes" / "midsize-suv.yaml").read_text(encoding="utf-8")
    assert text.count(old) == 1
    write(tmp_path, text.replace(old, new), "vehicle_classes", "test-class")

    assert any(message in item for item in problems(tmp_path)), problems(tmp_path)


def test_reading_works_the_same_without_the_c_parser(tmp_path, monkeypatch):
    import yaml

    from planner import loading

    write(tmp_path, ADAPTER)
    with_c = load([tmp_path])
    monkeypatch.setattr(loading, "Loader", yaml.SafeLoader)

    assert load([tmp_path]).adapters == with_c.adapters
    write(tmp_path, ADAPTER.replace("thumb latch", "yes"))
    assert problems(tmp_path)[0].startswith("adapters/test.yaml:9:8: latch: expected true or false, or quoted text")


@given(st.binary(max_size=300))
@settings(max_examples=150, deadline=None)
def test_no_bytes_ever_crash_the_reader(tmp_path_factory, raw):
    from planner.loading import read_yaml

    path = tmp_path_factory.mktemp("bytes") / "x.yaml"
    path.write_bytes(raw)
    found = []

    assert read_yaml(path, found) is not None or found


@given(st.data())
@settings(max_examples=120, deadline=None)
def test_no_single_change_of_a_rig_ever_crashes(tmp_path_factory, data):
    """Replace one value or key of a sound rig by something else: it is read, or refused in words."""
    lines = RIG.splitlines()
    number = data.draw(st.integers(1, len(lines) - 1))
    junk = data.draw(
        st.sampled_from(
            ["", "null", "[]", "{}", "[1, 2]", "{a: 1}", "-1", "1e9", "true", "'x'", "²", "- - x", "&a 1", "0"]
        )
    )
    key = lines[number].split(":")[0]
    lines[number] = f"{key}: {junk}" if data.draw(st.booleans()) else f"{junk}: 1"
    folder = tmp_path_factory.mktemp("rig")
    write(folder, "\n".join(lines), "rigs", "test-rig")
    try:
        load_for_plan([folder], rig_id="test-rig", vehicle_id="midsize-suv")
    except DataError as error:
        if not all(": expected " in str(problem) for problem in error.problems):
            raise
