"""The page of pilot and proximity: whole and inert, every figure a formula's or a table's, the cautions there."""

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from itertools import pairwise

import pytest

from planner.pilot import is_advertisable, pilot_current_a, pilot_meaning
from planner.publish.markup import page_parts
from planner.publish.pilot_page import pilot_page, pilot_wave
from publish.test_artefacts import read, tables_of

MEASURED = "What you measure, what it means, what to do"
DUTY = "Duty cycle against amps"
BANDS = "What a duty cycle says"
STATES = "States of the control pilot"
LATCH = "Proximity at the inlet"
CODES = "Codes of detachable Type 2 cables"


@pytest.fixture(scope="module")
def page(dataset):
    return pilot_page(dataset)


@pytest.fixture(scope="module")
def tables(page):
    return tables_of(page.text())


def value(text):
    return float(text.replace("\u2212", "-").replace(",", ""))


def test_page_is_well_formed_and_inert(page):
    found = read(page_parts(page.text())[1])

    assert (found.faults, found.open) == ([], [])
    assert len(found.ids) == len(set(found.ids))
    assert found.headings.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(found.headings))
    assert not [name for _, name, _ in found.attributes if name.startswith("on") or name == "style"]
    assert not {tag for tag, _, _ in found.attributes} & {"script", "style", "iframe"}
    assert not re.search(r"\b(nan|inf|None)\b", page.text())


def test_page_says_where_it_stands_and_what_not_to_do(page):
    found = read(page.body)
    text = "".join(found.text)

    assert (page.path, page.title) == ("plugs/pilot.md", "Pilot and proximity")
    assert len(page.description) <= 160
    for caution in ("Qualified persons only", "Never defeat the ground check", "Never force, tie, tape or bridge"):
        assert caution in text
    assert ("a", "../safety/index.html") in found.links
    assert ("a", "index.html") in found.links


def test_anchors_within_the_page_are_there(page):
    found = read(page.body)

    assert {href[1:] for tag, href in found.links if tag == "a" and href.startswith("#")} <= set(found.ids)


def test_a_narrow_page_shows_four_columns_at_most(page):
    for head in re.findall(r"<thead><tr>(.*?)</tr></thead>", page.body):
        shown = [classes for classes in re.findall(r"<th scope=\"col\"([^>]*)>", head) if "wide" not in classes]
        assert len(shown) <= 4, head


def test_a_narrow_page_has_the_windows_that_its_faults_speak_of(page):
    assert "Proximity between the windows" in page.body
    for caption, columns in ((STATES, 6), (LATCH, 5)):
        part = page.body.partition(f">{caption}</caption>")[2].partition("</table>")[0]
        for row in re.findall(r"<tr>(<th scope=\"row\".*?)</tr>", part):
            cells = re.findall(r"<t[hd].*?</t[hd]>", row)
            (at,) = (cell for cell in cells if re.search(r">[^<]* to [^<]*</td>$", cell) and "wide" in cell)
            assert len(cells) == columns
            window = re.search(r">([^<]*)</td>$", at)[1]
            assert f'<span class="nar">Window: {window} V</span>' in cells[-1]
            assert "wide" not in cells[-1].partition(">")[0]


def test_what_may_be_live_is_switched_off_before_it_is_unplugged(tables):
    rows = {row[0].partition(" |")[0]: row[-1] for row in tables[MEASURED]}
    on_ground = next(do for measured, do in rows.items() if measured.startswith("0 V, steady"))
    assert on_ground.index("Switch off first") < on_ground.index("unplug by the insulated handle")
    asks = next(do for measured, do in rows.items() if measured.startswith("6 V at the top of a wave"))
    assert asks.startswith("First which of the two: listen for the click, or a qualified person reads the line volts")


def test_every_setting_of_every_rig_stands_in_its_row(dataset, tables):
    rigs_by_amps = {row[0]: row[-1].split(", ") for row in tables[DUTY]}
    for rig in dataset.rigs.values():
        for setting in rig.evse.settings:
            assert rig.name in rigs_by_amps[f"{setting.output_a:g} A"]


def test_each_duty_cycle_is_read_as_its_amps(tables):
    """The other way round, as a vehicle reads it: within a twentieth of a percent of duty, at most 0.125 A."""
    rows = [row for row in tables[DUTY] if not row[0].startswith("above")]
    assert len(rows) >= 15
    assert [value(row[0][:-2]) for row in rows] == sorted(value(row[0][:-2]) for row in rows)
    for row in rows:
        assert pilot_current_a(value(row[1])) == pytest.approx(value(row[0][:-2]), abs=0.125)


def test_the_meter_shows_the_mean_of_the_wave(tables):
    """32 A is 53.33 %: 0.5333 x 9 - 0.4667 x 12 = -0.8 V with the vehicle waiting, -2.4 V with it charging."""
    row = next(row for row in tables[DUTY] if row[0] == "32 A")

    assert (value(row[2]), value(row[3])) == (-0.8, -2.4)
    for row in tables[DUTY]:
        if not row[0].startswith("above"):
            duty = value(row[1]) / 100
            assert value(row[2]) == pytest.approx(9 * duty - 12 * (1 - duty), abs=0.07)
            assert value(row[3]) == pytest.approx(6 * duty - 12 * (1 - duty), abs=0.07)


def test_the_dead_band_stands_between_its_neighbors(tables):
    rows = [row[0] for row in tables[DUTY]]
    at = rows.index("above 51 A, to 52.5 A")

    assert (rows[at - 1], rows[at + 1]) == ("51 A", "60 A")
    assert tables[DUTY][at][1:] == ["no duty cycle says it"]


def test_the_bands_of_the_duty_cycle_are_those_of_the_reader(tables):
    """Each row at a duty cycle within it: the word of `pilot_meaning`, and its amps."""
    rows = dict(tables[BANDS])
    for duty, band, says in (
        (2, "below 3 %", "error, no charging"),
        (5, "3 to 7 %", "digital communication"),
        (7.5, "above 7, below 8 %", "error, no charging"),
        (9, "8 to 10 %", "6 A"),
        (50, "10 to 85 %", "6 to 51 A"),
        (90, "above 85, to 96 %", "above 52.5 to 80 A"),
        (96.5, "above 96, to 97 %", "80 A"),
        (98, "above 97 %", "not ready, no charging"),
    ):
        assert rows[band].startswith(says)
        word = {"digital": "digital_communication", "error,": "error", "not": "not_ready"}.get(
            says.split()[0], "current"
        )
        assert pilot_meaning(duty) == word
    assert len(rows) == 8


def test_states_show_their_table_and_what_the_resistance_gives(dataset, tables):
    for row, (state, cells) in zip(tables[STATES], dataset.tables["sae-j1772-pilot-states"].rows.items(), strict=True):
        assert row[0] == state
        assert value(row[1]) == cells["high_v"]
        assert [value(end) for end in row[2].split(" to ")] == [cells["high_from_v"], cells["high_to_v"]]
        if "resistance_ohm" in cells:
            assert value(row[3]) == cells["resistance_ohm"]
            assert cells["high_from_v"] <= value(row[4]) <= cells["high_to_v"]
        assert len(row[5]) > 20


def test_volts_at_the_inlet_are_in_their_windows(tables):
    """Print: 4.46, 2.77 and 1.53 V (a student team's wiki); shown to a tenth."""
    found = {row[0]: row for row in tables[LATCH]}

    for words, volts in (
        ("no connector", 4.46),
        ("connector in, button pressed", 2.77),
        ("connector in, button free", 1.53),
    ):
        assert value(found[words][2]) == pytest.approx(volts, abs=0.05)
        low, high = (value(end) for end in found[words][3].split(" to "))
        assert low <= value(found[words][2]) <= high


def test_cable_codes_are_those_of_the_table(tables):
    """Readme of an open IEC 61851-1 controller; 70 A on one phase from memory."""
    assert [(value(row[0]), value(row[1]), row[2]) for row in tables[CODES]] == [
        (1500, 13, "the same"),
        (680, 20, "the same"),
        (220, 32, "the same"),
        (100, 63, "70"),
    ]


def test_every_state_and_signal_has_something_to_do(tables):
    measured = [row[0] for row in tables[MEASURED]]

    for wanted in (
        "12 V, steady",
        "9 V at the top",
        "6 V at the top",
        "3 V at the top",
        "0 V, steady",
        "\u221212 V, steady",
        "5 %",
    ):
        assert any(text.startswith(wanted) for text in measured), wanted
    assert all(len(row) == 3 and all(row) for row in tables[MEASURED])


def test_nothing_to_do_defeats_a_protection(tables):
    """No advice to bridge, tape or strap, but where it says not to."""
    for row in tables[MEASURED]:
        for sentence in re.split(r"(?<=\.) ", row[2]):
            if re.search(r"bridge|tape|strap|bypass|defeat|work around", sentence):
                assert re.match(r"No |Find it, do not ", sentence), sentence


def test_the_page_says_that_a_captive_cable_has_no_code(page):
    assert "A captive Type 1 or J3400 cable carries no code for its amps." in page.body


# ------------------------------------------------------------------------------------------------------------ drawing


def lines(drawing, style):
    """Return the lines of a style as numbers: x1, x2 in per cent, y1, y2 in em."""
    return [
        tuple(float(re.sub(r"[^\d.]", "", element.get(name))) for name in ("x1", "x2", "y1", "y2"))
        for element in ElementTree.fromstring(drawing).iter("line")
        if element.get("class") == style
    ]


@pytest.mark.parametrize("current_a", [6.0, 16.0, 48.0, 80.0])
def test_the_wave_is_at_the_top_for_its_share_of_the_time(current_a):
    tops = lines(pilot_wave([current_a], 6.0), "la")
    width = (tops[1][0] - tops[0][0]) / 100

    assert len(tops) == 2
    for x1, x2, y1, y2 in tops:
        assert y1 == y2
        assert pilot_current_a(min((x2 - x1) / width, 96)) == pytest.approx(current_a, abs=0.15)


def test_the_top_of_a_waiting_vehicle_is_drawn_higher():
    charging, waiting = (lines(pilot_wave([16.0], high_v), "la")[0][2] for high_v in (6.0, 9.0))

    assert waiting < charging


def test_the_drawing_is_described_and_stays_inside(page):
    drawing = pilot_wave([16.0, 48.0], 6.0)
    root = ElementTree.fromstring(drawing)
    texts = ["".join(element.itertext()) for element in root.iter("text")]

    assert drawing in page.body
    assert root.get("role") == "img"
    assert "16 A: 26.7 % of the time at 6 V" in root.find("desc").text
    assert {"16 A", "48 A", "26.7 %", "80.0 %"} <= set(texts)
    assert not [x for x in re.findall(r'x\d?="([\d.]+)%"', drawing) if float(x) > 100]
    height = float(root.get("height").removesuffix("em"))
    assert all(float(y) <= height for y in re.findall(r'y\d?="([\d.]+)em"', drawing))


# --------------------------------------------------------------------------------------------------------- any data


def test_a_setting_that_no_pilot_can_say_is_told(dataset):
    rig = next(iter(dataset.rigs.values()))
    odd = rig.evse.settings[0].model_copy(update={"output_a": 52.0})
    changed = rig.model_copy(update={"evse": rig.evse.model_copy(update={"settings": (*rig.evse.settings, odd)})})
    rows = {
        row[0]: row
        for row in tables_of(pilot_page(replace(dataset, rigs={**dataset.rigs, rig.id: changed})).text())[DUTY]
    }

    assert not is_advertisable(52)
    assert rows["52 A"][1:] == ["no duty cycle says it", rig.name]


def test_a_crews_own_tables_may_lack_cells_and_are_escaped(dataset):
    bare = {}
    for name, keep in (
        ("sae-j1772-pilot-states", "high_v"),
        ("sae-j1772-proximity", "level_from_v"),
        ("iec-62196-2-cable-codes", "current_a"),
    ):
        table = dataset.tables[name]
        bare[name] = table.model_copy(
            update={"rows": {"<b onclick=x>odd</b>": {keep: 3.0}}, "name": "<b onclick=x>T</b>"}
        )
    found = read(pilot_page(replace(dataset, tables={**dataset.tables, **bare})).body)

    assert (found.faults, found.open) == ([], [])
    assert not [name for _, name, _ in found.attributes if name.startswith("on")]
    assert "<b onclick=x>odd</b>" in "".join(found.text)
