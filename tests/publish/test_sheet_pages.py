"""The commissioning sheets: one a rig, whole, with the planner's own bands, and nothing to run on a rig that is not fit."""

import html
import math
import re
from dataclasses import replace

import make
import pytest

from planner.commissioning import expected, heat_marks
from planner.figures import rounded_down, temperature
from planner.loading import load
from planner.publish.markup import page_parts
from planner.publish.sheet_pages import READ_AT_MIN, sheet_pages
from planner.tables import rig_view
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
        largest_kw = max(vehicle.onboard_charger.power_kw.typical for vehicle in served)
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
            assert f"{mark.name} {temperature(mark.limit_c)}" in text
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
        assert "Nothing is commissioned before the findings are mended" in text
        for finding in rig_view(dataset, key).findings:
            if finding.level == "stop":
                assert re.sub(r"\s+", " ", finding.text) in text
                assert re.sub(r"\s+", " ", finding.remedy) in text
        assert "min" not in [word for word in text.split() if word == "min"]
    for key in set(dataset.rigs) - unfit:
        assert "Nothing is commissioned" not in words(pages[f"rigs/{key}-sheet.md"])


def test_no_sheet_offers_a_forbidden_remedy(pages):
    for path, page in pages.items():
        assert not [word for word in FORBIDDEN if word in words(page).lower()], path


def test_the_tests_before_a_vehicle_are_there(dataset, pages):
    for key in dataset.rigs:
        text = words(pages[f"rigs/{key}-sheet.md"])
        if "Nothing is commissioned" in text:
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
