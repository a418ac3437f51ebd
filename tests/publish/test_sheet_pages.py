"""The commissioning sheets: one a rig, whole, with the planner's own bands, and nothing to run on a rig that is not fit."""

import html
import math
import re
from dataclasses import replace

import make
import pytest

from planner.commissioning import Measured, compare, expected, heat_marks, run_marks
from planner.figures import rounded_down
from planner.loading import load
from planner.publish.markup import page_parts
from planner.publish.sheet_pages import READ_AT_MIN, sheet_pages
from planner.tables import COMMONEST_CLASSES, rig_view
from publish import hostile
from publish.test_artefacts import Reader

FORBIDDEN = ("bypass", "ground rod", "remove the gf", "without the gf", "defeat", "bond at the evse", "up-rate")


def sheets(data):
    return {page.path: page for page in sheet_pages(data, {key: rig_view(data, key) for key in data.rigs})}


def read(page):
    reader = Reader()
    reader.feed(page_parts(page.text())[1])
    reader.close()
    return reader


def words(page):
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page.body)))


@pytest.fixture(scope="module")
def pages():
    """Return the sheets of the shipped rigs."""
    return sheets(make.shipped_dataset())


def test_every_rig_has_one_sheet(dataset, pages):
    assert set(pages) == {f"rigs/{key}-sheet.md" for key in dataset.rigs}


def test_a_sheet_is_well_formed_inert_and_leads_back(pages):
    for path, page in pages.items():
        found = read(page)
        assert (found.faults, found.open) == ([], []), path
        assert len(found.ids) == len(set(found.ids)), path
        assert found.headings.count(1) == 1, path
        assert not [name for _, name, _ in found.attributes if name.startswith("on") or name == "style"], path
        links = [target for tag, target in found.links if tag == "a"]
        assert links == [path.removeprefix("rigs/").replace("-sheet.md", ".html")]


def test_bands_are_those_of_the_planner(dataset, pages):
    checked = 0
    for rig_id, rig in dataset.rigs.items():
        text = words(pages[f"rigs/{rig_id}-sheet.md"])
        served = [vehicle for vehicle in dataset.vehicle_classes.values() if expected(dataset, rig_id, vehicle.id)]
        if not served:
            continue
        common = [vehicle for vehicle in served if vehicle.id in COMMONEST_CLASSES] or served
        largest_kw = max(vehicle.onboard_charger.power_kw.typical for vehicle in common)
        named = [vehicle for vehicle in served if f"Bands for {vehicle.name} ," in text]
        assert [vehicle.onboard_charger.power_kw.typical for vehicle in named] == [largest_kw]
        for band in expected(dataset, rig_id, named[0].id):
            if band.code == "voltage_evse_v":
                assert f"{math.floor(band.low)} to {math.floor(band.high)} V ; stop below {band.stop_below:.0f}" in text
                checked += 1
            if band.code == "current_a":
                low, high = (f"{rounded_down(value):g}" for value in (band.low, band.high))
                assert f"{low} to {high} A ; stop above {rounded_down(band.stop_above):g} A" in text
                checked += 1
        for mark in heat_marks(dataset, rig):
            # 50 K above the air, or its own mark: the smaller of the two, never rounded up.
            limit_c = min(mark.limit_c, rig.usual_site.ambient_c + 50)
            assert f"{mark.name} {math.floor(limit_c * 1.8 + 32)} F ({math.floor(limit_c)} C)" in text
        for minute in READ_AT_MIN:
            assert f"{minute} min" in text
    assert checked >= 6


def test_no_band_reaches_beyond_where_the_crew_stops(dataset):
    for rig_id in dataset.rigs:
        for class_id in dataset.vehicle_classes:
            for band in expected(dataset, rig_id, class_id):
                assert band.low < band.high
                assert band.stop_above is None or band.high <= band.stop_above, (rig_id, class_id, band.code)


def test_a_rig_that_is_not_fit_gets_what_to_mend_and_nothing_to_run(dataset, pages):
    unfit = {key for key in dataset.rigs if rig_view(dataset, key).fitness == "not_fit"}
    assert unfit
    for key in unfit:
        text = words(pages[f"rigs/{key}-sheet.md"])
        assert "Mend it before anything is run" in text
        for finding in rig_view(dataset, key).findings:
            if finding.level == "stop":
                assert re.sub(r"\s+", " ", finding.text) in text
                assert re.sub(r"\s+", " ", finding.remedy) in text
        assert "min" not in [word for word in text.split() if word == "min"]
    for key in set(dataset.rigs) - unfit:
        assert "Mend it before anything is run" not in words(pages[f"rigs/{key}-sheet.md"])


def test_no_sheet_offers_a_forbidden_remedy(pages):
    for path, page in pages.items():
        assert not [word for word in FORBIDDEN if word in words(page).lower()], path


def test_the_tests_before_a_vehicle_are_there(dataset, pages):
    for key in dataset.rigs:
        text = words(pages[f"rigs/{key}-sheet.md"])
        if "Mend it before anything is run" in text:
            continue
        for part in (
            "Grounding conductor",
            "Neutral to",
            "to ground, about 120 V",
            "ground-fault",
            "self-test",
            "warm",
            "Hertz",
        ):
            assert part in text, (key, part)
        assert "licensed electrician" in text


def test_legs_of_a_split_phase_source_stand_at_half():
    # 120/240 V: each line is half of the volts between the lines from ground, from memory of every service.
    rig = make.rig(source=make.source(voltage_v={"low": 236.0, "typical": 240.0, "high": 240.0}, regulation_class="g3"))
    text = words(sheets(make.dataset(rig))["rigs/made-sheet.md"])

    assert "236 to 243 V" in text
    assert "118 to 122 V" in text


def test_the_mark_of_the_bands_and_of_the_proving_run_are_named(dataset, pages):
    # Pass truck at 1200 m and 8 C: 0.862 of 15 kW is 12.93 kW. At 246 V that is 52.6 A, so mark 48 of 48; 0.8 of it
    # is 42 A, so mark 40. At mark 40 no more than 40 x 246 V = 9.84 kW flow, 0.76 of it: no proof against 0.8.
    text = words(pages["rigs/pass-truck-sheet.md"])

    assert "Bands for Half-ton pickup" in text
    assert "Turn to mark 40" in text
    assert "Turn to mark 48" in text
    assert text.index("Turn to mark 40") < text.index("Turn to mark 48")
    share = float(re.search(r"At mark 40 the engine has at most (0\.\d\d)", text)[1])
    assert 0.70 <= share <= 0.76
    for band in expected(dataset, "pass-truck", "half-ton-pickup", Measured(setting_mark="48")):
        if band.code == "current_a":
            assert f"{rounded_down(band.low):g} to {rounded_down(band.high):g} A" in text


def test_every_sheet_names_its_mark_and_promises_no_proof_that_it_cannot_give(dataset, pages):
    for key, rig in dataset.rigs.items():
        text = words(pages[f"rigs/{key}-sheet.md"])
        if "Bands for" not in text:
            continue
        assert "Turn to mark" in text
        assert "hour at the full setting" not in text
        if rig.source.kind != "generator":
            assert "prove" not in text
        vehicle = next(item for item in dataset.vehicle_classes.values() if f"Bands for {item.name} ," in text)
        marks = run_marks(dataset, key, vehicle.id)
        assert f"Turn to mark {marks.planned.mark}" in text
        if marks.proving is not None:
            assert f"mark {marks.proving.mark}" in text
            assert marks.proving_share > 0.8  # common practice: what stands without a proof
            assert expected(dataset, key, vehicle.id, Measured(setting_mark=marks.proving.mark))


def test_a_unit_too_small_to_prove_anything_says_so():
    # 40 A at 240 V is 9.6 kW: 0.16 of 60 kW.
    text = words(sheets(make.dataset(make.rig(evse=make.evse(16, 40))))["rigs/made-sheet.md"])

    assert "no mark of this unit proves" in text.lower()


def test_a_mark_that_proves_already_needs_no_second_table():
    # 40 A at 241 V is 9.6 kW, and 12 kW x 0.8 / 240 V is 40 A: planned at all of 0.8, and mark 48 proves more.
    one = make.rig(source=make.generator(12000.0), evse=make.evse(40))
    two = make.rig(source=make.generator(12000.0), evse=make.evse(40, 48))

    assert words(sheets(make.dataset(one))["rigs/made-sheet.md"]).count("Turn to mark") == 1
    assert "Turn to mark 48" in words(sheets(make.dataset(two))["rigs/made-sheet.md"])


def test_a_conductor_has_its_length_in_feet(pages):
    assert "4 AWG copper, 10 ft (3 m)" in words(pages["rigs/pass-truck-sheet.md"])  # 3 m is 9.84 ft


def test_the_sheet_ends_a_run_where_the_command_does(dataset, pages):
    text = words(pages["rigs/pass-truck-sheet.md"])
    for part in ("EVSE cable", "Feed cord", "J3400 connector"):
        assert f"{part} 136 F (58 C)" in text  # 50 K above air of 8 C
    assert "Stop above, air 46 F (8 C)" in text
    assert "140 F" not in text
    result = compare(
        dataset, "pass-truck", "large-three-row-suv", Measured(temperatures_c={"cable": 60.5}, ambient_c=20.0)
    )
    assert result.verdict == "stop"
    assert "57" in text
    assert "66 Hz" in text  # where the crew stops, from memory


def sheet(pages, rig):
    return words(pages[f"rigs/{rig}-sheet.md"])


def test_no_part_of_a_cold_site_may_reach_more_than_its_air_leaves(pages):
    # 50 K above -5 C is 45 C, 113 F.
    text = sheet(pages, "ski-hill-battery")

    assert "Feed wire 113 F (45 C)" in text
    assert "194 F" not in text


def test_the_mark_as_it_shall_stand_is_printed(pages):
    assert "turn back to mark 40 = 40 A" in sheet(pages, "pass-truck")  # its record; the last run was at 48
    assert "turn back to mark 32 = 32 A" in sheet(pages, "fairground-outlet")  # planned at 40
    for rig in ("pass-truck", "trailhead-van", "ski-hill-battery", "county-truck", "fairground-outlet"):
        assert "record says" not in sheet(pages, rig)


def test_adapters_have_the_figures_of_their_labels(pages):
    text = sheet(pages, "pass-truck")

    assert re.search(r"J3400 to J1772 adapter, 80 A[^_]*80 A, 250 V", text)
    assert "none without listing or label" in text  # one on board has no listing
    assert "none without listing" not in sheet(pages, "trailhead-van")
    assert "CCS1 to J3400 DC adapter" not in sheet(pages, "trailhead-van")  # DC only, never on the unit


def test_what_comes_before_the_start_is_printed_by_kind_of_source(dataset, pages):
    for rig_id, rig in dataset.rigs.items():
        text = sheet(pages, rig_id)
        if "Mend it before" in text:
            continue
        before = text.index("Before starting")
        assert before < text.index("Tests with the source running")
        for part in ("in Park", "chocks", "off its reel"):
            assert part in text
        engine = ("engine outdoors", "20 ft", "CO alarm on", "nobody sits in either vehicle")
        assert [part in text for part in engine] == [rig.source.engine] * 4, rig_id
        assert ("hunts" in text) == rig.source.engine


def test_rows_suit_the_kind_of_source(pages):
    outlet = sheet(pages, "fairground-outlet")

    assert "frame of the source" not in outlet.lower()
    assert "Source off and locked" not in outlet
    assert "ground pin" in outlet
    for rig in ("pass-truck", "ski-hill-battery", "fairground-outlet", "trailhead-van"):
        assert "Other ground-fault device" not in sheet(pages, rig)
    assert "Other ground-fault device" in sheet(pages, "county-truck")  # one is named before
    for rig in ("pass-truck", "ski-hill-battery", "fairground-outlet"):
        assert "no reading, above 1 megohm" in sheet(pages, rig)
        assert re.search(r"torque tool marked _+ _+", sheet(pages, rig))
    assert re.search(r"Feed cord: its grounding conductor 6 AWG", sheet(pages, "pass-truck"))


def test_a_proving_run_is_stood_by_and_watched(pages):
    text = sheet(pages, "pass-truck")

    assert "Stand by and watch" in text
    assert "Stay with it" not in text


def test_volts_without_load_have_a_low_stop(pages):
    assert "stop below 216 or above" in sheet(pages, "pass-truck")  # 0.9 of 240 V


def test_changes_and_notes_of_an_unfit_rig_are_on_its_sheet(dataset, pages):
    view, text = rig_view(dataset, "fairground-spare"), sheet(pages, "fairground-spare")
    assert {"stop", "change"} <= {finding.level for finding in view.findings}
    for finding in view.findings:
        assert re.sub(r"\s+", " ", finding.text) in text
        assert re.sub(r"\s+", " ", finding.remedy) in text


def test_hostile_records_stay_text(tmp_path):
    for page in sheets(load([hostile.write(tmp_path)])).values():
        found = read(page)
        assert found.faults == []
        assert not {tag for tag, _, _ in found.attributes} & {"script", "img", "iframe"}


def test_a_rig_named_like_a_sheet_keeps_its_own_page():
    base = make.dataset(make.rig())
    twin = base.rigs["made"].model_copy(update={"id": "made-sheet"})
    data = replace(base, rigs={**base.rigs, "made-sheet": twin})
    paths = set(sheets(data))

    assert "rigs/made-sheet.md" not in paths
    assert "rigs/made-sheet-sheet.md" in paths
