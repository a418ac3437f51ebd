"""The pages behind the data, the former ids, and the spreadsheet: what they say is what the records say."""

import io
import json
import re
import xml.etree.ElementTree as ET
import zipfile
from dataclasses import replace

import pytest

from planner.checks import cases, evaluate
from planner.coverage import cells
from planner.open_data import open_data
from planner.provenance import origins, shares
from planner.publish.site import artefacts
from planner.records import Split
from planner.release_files import moved_since

NAMESPACE = {"x": "http://schemas.openxmlformats.org/spreadsheetml/2006/main"}


@pytest.fixture(scope="module")
def texts(dataset):
    outcomes = [evaluate(case, dataset) for case in cases()]
    return artefacts(dataset, outcomes, moves=moved_since(dataset), open_data=open_data())


def plain(html):
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_the_page_of_trust_says_the_shares_and_the_weakest_number(texts, dataset):
    text = plain(texts["data/provenance.md"])
    counted = shares(origins(dataset))

    assert f"{sum(counted.values()):,} numbers of {len(dataset.vehicle_classes)} classes" in text
    for count in counted.values():
        assert f"{count:,}" in text
    assert text.index("Electric motorcycle, J1772 or own cord") < text.index("Light scooter or moped")


def test_the_page_of_coverage_names_every_class_and_every_reason_for_an_empty_cell(texts, dataset):
    text = texts["data/coverage.md"]

    for vehicle in dataset.vehicle_classes:
        assert f'href="../vehicles/{vehicle}.html"' in text
    for cell in cells(dataset, dataset.coverage):
        assert cell.classes or f"none: {cell.why_empty.replace(chr(39), '&#x27;')}" in text


def test_the_page_of_what_moved_names_what_was_added_and_from_what_to_what(texts):
    text = plain(texts["data/moved.md"])

    assert text.count("From data 0.5.0 to 0.6.0") == 1
    assert "45 added" in text
    assert "Cargo van, CCS1 battery, energy usable, high 120 105 -12 %" in text


def test_without_a_kept_version_the_page_says_so(dataset):
    assert "No former version was kept." in artefacts(dataset)["data/moved.md"]


def test_the_page_of_open_data_says_what_the_reference_tests_prove(texts):
    found = open_data()
    text = plain(texts["checks/open-data.md"])

    assert f"{found.cars['inside']} of {found.cars['rows']}" in text
    assert f"{found.chargers['inside']} of {found.chargers['rows']}" in text
    assert sum(miss["rows"] for miss in found.cars["misses"]) == found.cars["rows"] - found.cars["inside"]
    assert 'href="open-data.html"' in texts["checks/index.md"]


def test_a_parted_class_and_a_renamed_one_keep_their_addresses(dataset):
    split = Split(
        id="family-car", name="Family car", into=("compact-hatch", "minivan"), since="0.6.0", why="Two kinds."
    )
    renamed = dataset.vehicle_classes["minivan"].model_copy(update={"formerly": ("people-mover",)})
    data = replace(
        dataset, splits={"family-car": split}, vehicle_classes={**dataset.vehicle_classes, "minivan": renamed}
    )
    texts = artefacts(data)

    assert "It was parted into 2 classes in data 0.6.0. Two kinds." in plain(texts["vehicles/family-car.md"])
    assert 'href="compact-hatch.html"' in texts["vehicles/family-car.md"]
    assert 'href="minivan.html"' in texts["vehicles/people-mover.md"]


def test_a_class_page_says_how_it_is_told_and_from_what(texts, dataset):
    for vehicle in dataset.vehicle_classes.values():
        text = texts[f"vehicles/{vehicle.id}.md"]
        for sentence in vehicle.recognize:
            assert sentence.replace("'", "&#x27;").replace('"', "&quot;") in text
    compact = plain(texts["vehicles/compact-crossover.md"])
    assert "Looks alike:" in compact
    assert "Plug-in hybrid crossover ( with a fuel door )" not in compact
    assert "(with a fuel door)" in compact


def test_the_list_heads_each_body_once_and_the_heads_are_not_counted_as_classes(texts, dataset):
    text = texts["vehicles/index.md"]
    rows = re.findall(r"<tr[^>]*>(.*?)</tr>", text)
    heads = [row for row in rows if row.startswith('<th scope="row"><b>')]

    assert len(heads) == len({vehicle.body for vehicle in dataset.vehicle_classes.values()})
    assert len(rows) - len(heads) - 1 == len(dataset.vehicle_classes)  # one row of column heads


# ---------------------------------------------------------------------------------------------------------- spreadsheet


@pytest.fixture(scope="module")
def book(texts):
    pytest.importorskip("xlsxwriter")
    from planner.publish.workbook import workbook

    return workbook(texts)


def sheet(book, name):
    """Read a sheet with no library of spreadsheets: rows of texts, numbers and yes or no by column letter."""
    with zipfile.ZipFile(io.BytesIO(book)) as archive:
        strings = [
            "".join(part.text or "" for part in item.iter(f"{{{NAMESPACE['x']}}}t"))
            for item in ET.fromstring(archive.read("xl/sharedStrings.xml"))
        ]
        titles = [
            item.get("name")
            for item in ET.fromstring(archive.read("xl/workbook.xml")).iter(f"{{{NAMESPACE['x']}}}sheet")
        ]
        root = ET.fromstring(archive.read(f"xl/worksheets/sheet{titles.index(name) + 1}.xml"))
    rows = []
    for row in root.iter(f"{{{NAMESPACE['x']}}}row"):
        cells_of = {}
        for cell in row:
            assert cell.find("x:f", NAMESPACE) is None, "a formula"
            value = cell.findtext("x:v", namespaces=NAMESPACE)
            kind = cell.get("t")
            letter = re.match(r"[A-Z]+", cell.get("r"))[0]
            if value is not None:
                cells_of[letter] = (
                    strings[int(value)] if kind == "s" else bool(int(value)) if kind == "b" else float(value)
                )
        rows.append(cells_of)
    return rows


def test_the_sheet_of_classes_says_what_the_json_says_with_units_in_its_heads(book, texts):
    records = json.loads(texts["data/v1/vehicle-classes.json"])["records"]
    head, *rows = sheet(book, "Classes")
    columns = {title: letter for letter, title in head.items()}

    assert len(rows) == len(records)
    for title, way in {
        "Battery, energy usable, typical [kWh]": ("battery", "energy_usable_kwh", "typical"),
        "Label, consumption wall, high [kWh/100 mi]": ("label", "consumption_wall_kwh_per_100mi", "high"),
        "Road, mass, low [kg]": ("road", "mass_kg", "low"),
        "Onboard charger, voltage high [V]": ("onboard_charger", "voltage_high_v"),
        "Label, efficiency [share of 1]": ("label", "efficiency"),
    }.items():
        for row, record in zip(rows, records, strict=True):
            value = record
            for step in way:
                value = value[step]
            assert row[columns[title]] == value, (record["id"], title)


@pytest.mark.parametrize(
    ("way", "head"),
    [
        (("minutes_on_site_10_mi",), "Minutes on site for 10 mi [min]"),
        (("miles_added_per_hour",), "Miles added per hour [mi]"),
        (("source", "fuels", "gasoline", "burn_slope_l_per_kwh"), "Source, fuels, gasoline, burn slope [L/kWh]"),
        (("source", "fuels", "gasoline", "burn_no_load_l_per_h"), "Source, fuels, gasoline, burn no load [L/h]"),
        (("onboard_charger", "loss_quadratic_per_kw"), "Onboard charger, loss quadratic [1/kW]"),
        (("battery", "health", "low"), "Battery, health, low [share of 1]"),
        (("usual_site", "ambient_c"), "Usual site, ambient [deg C]"),
        (("name",), "Name"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_head_says_what_is_counted_and_in_which_unit(way, head):
    pytest.importorskip("xlsxwriter")
    from planner.publish.workbook import heading

    assert heading(way) == head


def test_every_number_of_a_class_has_a_unit_or_is_a_count_a_year_or_a_factor(book):
    head, *rows = sheet(book, "Classes")
    without = {
        title
        for letter, title in head.items()
        if "[" not in title and any(isinstance(row.get(letter), float) for row in rows)
    }

    assert without <= {"Built from", "Built to", "Onboard charger, phases"}


def test_the_sheets_hold_every_record_and_every_source_line(book, texts, dataset):
    by_rig = json.loads(texts["data/v1/by-rig.json"])["records"]
    assert len(sheet(book, "Rig by class")) == len(by_rig) + 1
    lines = sum(len(vehicle.sources) for vehicle in dataset.vehicle_classes.values())
    assert len(sheet(book, "Class sources")) == lines + 1
    assert sheet(book, "Read me")[0] == {"A": f"rangeferry data {dataset.version}"}


def test_the_spreadsheet_is_the_same_bytes_every_time(book, texts):
    from planner.publish.workbook import workbook

    assert workbook(texts) == book


def test_a_text_that_looks_like_a_formula_stays_a_text(texts):
    pytest.importorskip("xlsxwriter")
    from planner.publish.workbook import workbook

    told = json.loads(texts["data/v1/vehicle-classes.json"])
    told["records"][0]["summary"] = '=HYPERLINK("http://example.org")'
    book = workbook({**texts, "data/v1/vehicle-classes.json": json.dumps(told)})
    head, first, *_ = sheet(book, "Classes")
    column = next(letter for letter, title in head.items() if title == "Summary")

    assert first[column] == '=HYPERLINK("http://example.org")'
