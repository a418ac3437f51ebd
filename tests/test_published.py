"""Published values against ours. Each case names its source; none of the expected values came from this project."""

import functools
import importlib
from pathlib import Path

import pytest
import yaml

HERE = Path(__file__).parent / "published"
CASES = [
    pytest.param(case, id=f"{path.stem}: {case['case']}")
    for path in sorted(HERE.glob("*.yaml"))
    for case in yaml.safe_load(path.read_text(encoding="utf-8"))
]
TRANSCRIPTIONS = sorted((HERE / "transcriptions").glob("*.yaml"))
KINDS = {"table", "arithmetic", "model"}


@pytest.mark.parametrize("case", CASES)
def test_published_value_is_met(case, dataset):
    if "table" in case:
        found = dataset.tables[case["table"]].value(case["row"], case["column"])
    elif "record" in case:
        kind, name = case["record"].split("/")
        found = functools.reduce(getattr, case["field"].split("."), getattr(dataset, kind)[name])
    else:
        module, function = case["call"].split(".")
        work = getattr(importlib.import_module(f"planner.{module}"), function)
        given = case["given"]
        found = work(**given) if isinstance(given, dict) else work(*given)

    if isinstance(case["expect"], str):
        assert found == case["expect"]
    else:
        assert found == pytest.approx(case["expect"], abs=max(case["tolerance"], 1e-12))


@pytest.mark.parametrize("case", CASES)
def test_published_case_names_source_and_kind(case):
    assert case["source"]
    assert case["proves"] in KINDS
    assert isinstance(case["expect"], str) or case["tolerance"] >= 0


@pytest.mark.parametrize("path", TRANSCRIPTIONS, ids=lambda path: path.stem)
def test_table_equals_a_second_transcription(path, dataset):
    other = yaml.safe_load(path.read_text(encoding="utf-8"))
    table = dataset.tables[other["table"]]
    assert other["source"]
    assert other["read_in"]
    compared = 0
    for row, cells in other["rows"].items():
        if row not in table.rows:
            continue  # odd sizes, larger conductors and hotter air are not carried
        for column, value in cells.items():
            ours = table.value(row, column)
            if ours is not None:
                assert ours == value, f"{table.id} {row} {column}"
                compared += 1
    assert compared >= 4


@pytest.mark.parametrize(
    "table",
    [
        "nec-310-16",
        "nec-310-15-b-1",
        "nec-400-5-a-1",
        "nec-chapter-9-table-8",
        "nec-240-6-a",
        "nec-250-122",
        "nec-210-21-b-3",
    ],
)
def test_every_cell_in_use_has_a_second_transcription(table, dataset):
    """Every value of the table, but for columns that are derived or limits of a row, stands in another text too."""
    others = [
        yaml.safe_load(path.read_text(encoding="utf-8"))
        for path in TRANSCRIPTIONS
        if path.stem.startswith(f"{table}--")
    ]
    derived = {"ambient_to_c", "copper_stranded_ohm_per_km", "aluminum_stranded_ohm_per_km"}
    missing = [
        (row, column)
        for row, cells in dataset.tables[table].rows.items()
        for column in cells
        if column not in derived and not any(column in other["rows"].get(row, {}) for other in others)
    ]

    assert missing == []
