"""Published values against ours. Each case names its source; none of the expected values came from this project."""

from dataclasses import replace
from pathlib import Path

import pytest
import yaml

from planner.checks import cases, compare, evaluate, transcriptions

HERE = Path(__file__).parent / "published"
CASES = [pytest.param(case, id=f"{case.subject}: {case.case}") for case in cases()]
TRANSCRIPTIONS = sorted((HERE / "transcriptions").glob("*.yaml"))


@pytest.mark.parametrize("case", CASES)
def test_published_value_is_met_or_its_miss_is_explained(case, dataset):
    """A table and arithmetic are met. A model may miss: then, and only then, the case says why."""
    outcome = evaluate(case, dataset)

    assert outcome.met != bool(case.missed), f"ours {outcome.ours}, in print {case.expect}, {case.band}"
    assert case.proves == "model" or not case.missed


@pytest.mark.parametrize("case", CASES)
def test_published_case_names_source_and_kind(case):
    assert case.source
    assert case.proves in {"table", "arithmetic", "model"}
    assert isinstance(case.expect, str) or case.asked["tolerance"] >= 0


def test_a_missed_value_is_told(dataset):
    """The comparison itself must be able to fail: a value moved by more than its tolerance is a miss."""
    for case in cases():
        if case.band is not None:
            ours = evaluate(case, dataset).ours
            changed = [replace(case, band=band) for band in ((ours + 1e-6, ours + 1), (ours - 1, ours - 1e-6))]
        elif isinstance(case.expect, str | bool):
            changed = [replace(case, expect=f"{case.expect} not")]
        else:
            changed = [replace(case, expect=case.expect + 2 * case.tolerance + 1e-6)]
        assert not any(evaluate(wrong, dataset).met for wrong in changed)


@pytest.mark.parametrize("other", transcriptions(), ids=lambda other: other["table"])
def test_table_equals_a_second_transcription(other, dataset):
    compared = compare(other, dataset)

    assert compared.source
    assert compared.read_in
    assert compared.differing == ()
    assert compared.compared >= 4


@pytest.mark.parametrize(
    "table",
    [
        "nec-310-16",
        "nec-310-15-b-1",
        "nec-400-5-a-1",
        "nec-400-5-a-2",
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
