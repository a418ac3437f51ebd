"""The page of sizes: whole and inert, and every figure is the planner's own."""

import math
import re
from dataclasses import replace
from itertools import pairwise

import make
import pytest

from planner.chain import choose_setting, links, source_state
from planner.pilot import is_advertisable
from planner.protection import findings
from planner.publish.markup import page_parts
from planner.publish.sizing_pages import SETTINGS_A, sizing_pages
from planner.records import AWG_SIZES
from planner.sizing import Wanted, current_for_hours_a, run_part, size
from publish.test_artefacts import read, tables_of

FEET = 0.3048
HEIGHTS_FT = (0, 5000, 7000, 10_000)


@pytest.fixture(scope="module")
def page(dataset):
    [found] = sizing_pages(dataset)
    return found


@pytest.fixture(scope="module")
def tables(page):
    return tables_of(page.text())


def test_page_is_well_formed_and_inert(page):
    found = read(page_parts(page.text())[1])

    assert (found.faults, found.open) == ([], [])
    assert len(found.ids) == len(set(found.ids))
    assert found.headings.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(found.headings))
    assert not [name for _, name, _ in found.attributes if name.startswith("on") or name == "style"]
    assert not {tag for tag, _, _ in found.attributes} & {"script", "style", "iframe"}
    assert not re.search(r"\b(nan|inf|None)\b", page.text())


def test_page_says_what_it_is_for_and_where_the_cautions_are(page):
    found = read(page.body)
    text = "".join(found.text)

    assert page.path == "rigs/sizing.md"
    assert "It plans, it does not certify" in text
    assert "licensed electrician" in text
    assert ("a", "../safety/index.html") in found.links
    assert page.tags
    assert len(page.description) <= 160


def test_a_narrow_page_shows_five_columns_at_most(page):
    for head in re.findall(r"<thead><tr>(.*?)</tr></thead>", page.body):
        shown = [classes for classes in re.findall(r"<th scope=\"col\"([^>]*)>", head) if "wide" not in classes]
        assert len(shown) <= 5, head


def test_rows_of_needs_are_what_size_says(dataset, tables):
    rows = tables["What a setting needs"]
    assert [row[0] for row in rows] == [f"{setting_a} A" for setting_a in SETTINGS_A]
    for row, setting_a in zip(rows, SETTINGS_A, strict=True):
        sized = size(dataset, Wanted(float(setting_a), 240.0, 0.0, 30.0, 7.5))
        assert float(row[1]) == sized.device_a
        assert row[2:5] == [sized.wire_awg_60c, sized.wire_awg_75c, sized.wire_awg_75c_aluminum]
        assert row[5].split(" |")[0] == sized.cord.size_awg
        assert ("W, G" in row[5]) == (sized.cord.construction == "portable_cable")
        assert row[6].split(" |")[0] == sized.wire_75c.grounding_awg
        assert ("hard-wired" in row[7]) == sized.hard_wired == (setting_a > 40)


@pytest.mark.parametrize("row", range(len(SETTINGS_A)))
def test_a_rig_built_from_a_row_is_fit(dataset, tables, row):
    """Not by `size`: the row as printed, built as a rig with each of its conductors, judged as a rig is."""
    setting_a = float(SETTINGS_A[row])
    cells = tables["What a setting needs"][row]
    watts = 1000 * float(tables["Least running kilowatts by setting and height"][row][1])
    ground = cells[6].split(" | cord ")
    cord_kind = "portable_60c" if "W, G" in cells[5] else "cord"
    runs = [
        run_part("wire_75c", cells[3], grounding=ground[0]),
        run_part("wire_60c", cells[2], grounding=ground[0]),
        run_part(cord_kind, cells[5].split(" |")[0], grounding=ground[-1]),
    ]
    for run in runs:
        rig = make.rig(
            source=make.generator(watts, nameplate_current_a=setting_a),
            supply=[make.breaker(float(cells[1])), run.model_dump()],
            evse=make.evse(setting_a, set_by="fixed"),
        )
        stops = [found for found in findings(dataset, rig, ambient_c=25.0) if found.level == "stop"]
        state = source_state(rig, altitude_m=0.0, ambient_c=25.0, fuel="gasoline")
        chain = links(dataset, rig, state, ambient_c=25.0, altitude_m=0.0, power_factor=1.0)
        assert stops == []
        assert choose_setting(rig, chain, None).output_a == setting_a


def test_watts_by_height_are_what_size_says(dataset, tables):
    for row, setting_a in zip(tables["Least running kilowatts by setting and height"], SETTINGS_A, strict=True):
        for text, height_ft in zip(row[1:], HEIGHTS_FT, strict=True):
            sized = size(dataset, Wanted(float(setting_a), 240.0, height_ft * FEET, 25.0, 7.5))
            assert 1000 * float(text) == pytest.approx(sized.running_power_w, abs=1e-6)


def test_amps_by_watts_are_the_inverse_of_watts_by_amps(dataset, tables):
    """A set with the watts printed for a setting gives that setting, and every amp printed can be said by a pilot."""
    for row in tables["Amps for hours by running watts and height"]:
        watts = float(row[0].removesuffix(" W").replace(",", ""))
        for text, height_ft in zip(row[1:], HEIGHTS_FT, strict=True):
            given = {"voltage_v": 240.0, "altitude_m": height_ft * FEET, "ambient_c": 25.0}
            allowed_a = current_for_hours_a(running_power_w=watts, **given)
            if text == "none":
                assert allowed_a < 6
                continue
            shown_a = float(text)
            assert is_advertisable(shown_a)
            assert shown_a <= allowed_a + 1e-9
            wanted = Wanted(shown_a, 240.0, height_ft * FEET, 25.0, 7.5)
            assert size(dataset, wanted).running_power_w <= math.ceil(watts / 100) * 100


def test_watts_of_size_give_the_current_and_a_hundred_less_do_not(dataset):
    for setting_a in SETTINGS_A:
        for height_ft in HEIGHTS_FT:
            wanted = Wanted(float(setting_a), 240.0, height_ft * FEET, 30.0, 7.5)
            given = {"voltage_v": 240.0, "altitude_m": wanted.altitude_m, "ambient_c": wanted.ambient_c}
            watts = size(dataset, wanted).running_power_w
            assert current_for_hours_a(running_power_w=watts, **given) >= setting_a - 1e-9
            assert current_for_hours_a(running_power_w=watts - 100, **given) < setting_a


def test_lengths_are_whole_feet_within_three_percent(dataset, tables):
    """At the printed length the drop is within 3 %, a foot further it is not; a dash where the size is too small."""
    from planner.sizing import drop

    settings_a = (16, 24, 32, 40, 48, 64, 80)
    for caption, kind in (("Copper wire, 75 C ends, feet one way", "wire_75c"), ("Cord, feet one way", "cord")):
        for row in tables[caption]:
            for text, setting_a in zip(row[1:], settings_a, strict=True):
                wanted = Wanted(float(setting_a), 240.0, 0.0, 30.0, 7.5)
                sized = size(dataset, wanted)
                run = sized.wire_75c if kind == "wire_75c" else sized.cord
                fits = run.kind == kind and AWG_SIZES.index(row[0]) >= AWG_SIZES.index(run.size_awg)
                assert (text != "–") == fits
                if fits:
                    feet = int(text)
                    assert drop(dataset, replace(wanted, length_m=feet * FEET), kind, row[0], None).percent <= 3
                    assert drop(dataset, replace(wanted, length_m=(feet + 1) * FEET), kind, row[0], None).percent > 3


def test_lengths_fall_with_amps_and_rise_with_size(tables):
    for caption in ("Copper wire, 75 C ends, feet one way", "Cord, feet one way"):
        rows = [[int(text) for text in row[1:] if text != "–"] for row in tables[caption]]
        assert all(first > second for row in rows for first, second in pairwise(row))
        for smaller, larger in pairwise(rows):
            assert all(first < second for first, second in zip(smaller, larger, strict=False))


def test_every_receptacle_is_judged_once(dataset, tables):
    rows = tables["Receptacles for an EVSE"]

    assert sorted(row[0] for row in rows) == sorted(outlet.configuration for outlet in dataset.outlets.values())
    for row in rows:
        outlet = next(outlet for outlet in dataset.outlets.values() if outlet.configuration == row[0])
        assert float(row[2]) == 0.8 * outlet.rating_a
        if not outlet.ground:
            assert row[3].startswith("refused")


def test_a_30_a_receptacle_of_120_v_asks_for_a_fastened_evse(tables, page):
    """625.44(A)(1) ends at 20 A for 125 V; (B)(1) goes to 50 A for an EVSE that is fastened in place."""
    words = {row[0]: row[3] for row in tables["Receptacles for an EVSE"]}

    assert words["NEMA TT-30"] == "only where the EVSE is fastened in place and the authority agrees"
    assert words["NEMA 5-20"] == words["NEMA 14-50"] == "may serve"
    assert words["NEMA L14-30"] == words["NEMA 14-60"] == "only if listing and authority allow"
    assert "which edition and amendments" in page.body


def test_watts_by_height_say_what_high_volts_take(page):
    """ISO 8528-5: class G1 above 10 kW, 5 %."""
    assert "class G1 allows 5 %" in page.body


def test_sizes_never_fall_in_warmer_air(tables):
    for caption in ("Cord, AWG by air", "Copper wire, 75 C ends, AWG by air", "Copper wire, 60 C ends, AWG by air"):
        for row in tables[caption]:
            order = [
                len(AWG_SIZES) * 2
                if text == "none"
                else AWG_SIZES.index(text.split(" |")[0]) + ("W, G" in text) * len(AWG_SIZES)
                for text in row[1:]
            ]
            assert order == sorted(order), row


def test_a_crews_short_table_of_devices_leaves_rows_without_figures(dataset):
    table = dataset.tables["nec-240-6-a"]
    few = type(table).model_validate(
        {**table.model_dump(), "rows": {"15": {"rating_a": 15.0}, "40": {"rating_a": 40.0}}}
    )
    [found] = sizing_pages(replace(dataset, tables={**dataset.tables, few.id: few}))
    rows = tables_of(found.text())["What a setting needs"]

    assert [row[1] for row in rows if row[1].startswith("no standard")] == ["no standard device"] * sum(
        1.25 * setting_a > 40 for setting_a in SETTINGS_A
    )


def test_free_texts_of_receptacles_are_escaped(dataset):
    outlet = dataset.outlets["nema-14-50"].model_copy(update={"configuration": "<b onclick=x>14-50</b> & more"})
    [found] = sizing_pages(replace(dataset, outlets={**dataset.outlets, outlet.id: outlet}))

    assert "<b onclick" not in found.body
    assert "&lt;b onclick=x&gt;14-50&lt;/b&gt; &amp; more" in found.body
