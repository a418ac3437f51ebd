"""Outside checks: a value from print, ours for the same question, and the difference. Tests and pages read the same.

A case names its source, what it proves (a table, arithmetic, or a model), the value in print and a tolerance that was
written before it was run. Ours is a cell of a table, a field of a record, or what a formula returns. A question to the
whole model has a band in place of the tolerance; it may be missed, and then the case says why.
"""

import functools
import importlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import yaml

from planner.formulas import FORMULA_MODULES, formulas
from planner.loading import shipped
from planner.model_questions import MODEL_QUESTIONS, answer_model
from planner.records import Dataset

__all__ = ["Case", "Outcome", "Transcription", "cases", "compare", "evaluate", "transcriptions"]

Kind = Literal["table", "arithmetic", "model"]
# The unit that a field of a record ends in; a fraction or a yes has none.
NO_UNIT = frozenset({"unitless", "factor"})
BAND_SLACK = 1e-9  # an answer on the edge of a band is inside, whatever the last bit
FIELD_UNITS = {"_a": "A", "_v": "V", "_kw": "kW", "_kwh": "kWh"}


@dataclass(frozen=True, slots=True)
class Case:
    """One published value and the question that it answers."""

    subject: str  # the file it stands in
    case: str
    proves: Kind
    source: str
    question: str  # the formula, the table's cell or the record's field that is asked
    expect: float | str | bool
    tolerance: float
    note: str
    asked: dict[str, Any]
    band: tuple[float, float] | None = None  # of a question to the whole model; `expect` is then the text in print
    missed: str = ""  # why a band is missed; empty where it is met


@dataclass(frozen=True, slots=True)
class Outcome:
    """A case with our value."""

    case: Case
    ours: float | str | bool | None
    unit: str  # empty for a word, a yes, a factor
    difference: float | None
    met: bool


@dataclass(frozen=True, slots=True)
class Transcription:
    """A second text of a published table: how many cells it shares with ours, and those that differ."""

    table: str
    source: str
    read_in: str
    compared: int
    differing: tuple[str, ...]


def cases(folder: Path | None = None) -> tuple[Case, ...]:
    """Read the published cases; without a folder, those that are shipped."""
    place = folder or _shipped()
    return tuple(_case(path.stem, item) for path in sorted(place.glob("*.yaml")) for item in _read(path))


def _read(path: Path) -> Any:
    """Read one of our own files, which no crew writes: plain YAML, without the strictness for records."""
    return yaml.safe_load(path.read_text(encoding="utf-8"))


def _shipped() -> Path:
    return shipped() / "tests" / "published"


def _case(subject: str, item: dict[str, Any]) -> Case:
    if "table" in item:
        question = f"{item['table']}, row {item['row']}, column {item['column']}"
    elif "record" in item:
        question = f"{item['record']}, {item['field']}"
    elif "model" in item:
        given = ", ".join(f"{name} {_words(value)}" for name, value in item["given"].items())
        question = f"{item['model']}, {given}"
    else:
        question = str(item["call"])
    expect, tolerance, band = item["expect"], 0.0, None
    if isinstance(expect, list):
        low, high = expect
        band, expect = (float(low), float(high)), item["published"]
    elif not isinstance(expect, str | bool):
        tolerance = max(item["tolerance"], 1e-12)
    return Case(
        subject=subject,
        case=item["case"],
        proves=item["proves"],
        source=item["source"],
        question=question,
        expect=expect,
        tolerance=tolerance,
        note=item.get("note", ""),
        asked=item,
        band=band,
        missed=item.get("missed", ""),
    )


def _words(value: object) -> str:
    """Return what a case gives to a question, as the pages show it."""
    if isinstance(value, list):
        return " + ".join(str(one) for one in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def evaluate(case: Case, dataset: Dataset) -> Outcome:
    """Return our value for a case, and whether it meets the published one."""
    ours = _ours(case.asked, dataset)
    if case.band is not None:
        low, high = case.band
        assert isinstance(ours, float), case.case
        return Outcome(case, ours, _unit(case.asked, dataset), None, low - BAND_SLACK <= ours <= high + BAND_SLACK)
    if isinstance(case.expect, str | bool) or isinstance(ours, str) or ours is None:
        return Outcome(case, ours, "", None, ours == case.expect)
    difference = ours - case.expect
    unit = "" if isinstance(ours, bool) else _unit(case.asked, dataset)
    return Outcome(case, ours, unit, difference, abs(difference) <= case.tolerance)


def _unit(asked: dict[str, Any], dataset: Dataset) -> str:
    """Return the unit of an answer, as the table, the field's name or the formula's own text states it."""
    if "table" in asked:
        unit = dataset.tables[asked["table"]].columns[asked["column"]].unit
    elif "record" in asked:
        unit = next((unit for ending, unit in FIELD_UNITS.items() if asked["field"].endswith(ending)), "")
    elif "model" in asked:
        unit = MODEL_QUESTIONS[asked["model"]].unit
    else:
        unit = _formula_units()[asked["call"]]
    return "" if unit in NO_UNIT else unit


@functools.cache
def _formula_units() -> dict[str, str]:
    return {f"{formula.module}.{formula.name}": formula.unit for formula in formulas()}


def _ours(asked: dict[str, Any], dataset: Dataset) -> float | str | None:
    if "table" in asked:
        return dataset.tables[asked["table"]].value(asked["row"], asked["column"])
    if "record" in asked:
        kind, name = asked["record"].split("/")
        found: float | str | None = functools.reduce(getattr, asked["field"].split("."), getattr(dataset, kind)[name])
        return found
    if "model" in asked:
        return answer_model(dataset, asked["model"], asked["given"])
    module, function = asked["call"].split(".")
    assert module in FORMULA_MODULES, asked["call"]
    work = getattr(importlib.import_module(f"planner.{module}"), function)
    given = asked["given"]
    result: float | str | None = work(**given) if isinstance(given, dict) else work(*given)
    return result


def transcriptions(folder: Path | None = None) -> tuple[dict[str, Any], ...]:
    """Read the second texts of published tables."""
    place = (folder or _shipped()) / "transcriptions"
    return tuple(_read(path) for path in sorted(place.glob("*.yaml")))


def compare(other: dict[str, Any], dataset: Dataset) -> Transcription:
    """Hold a second text against our table, cell by cell. Odd sizes and hotter air that ours leaves out are passed."""
    table = dataset.tables[other["table"]]
    shared: Sequence[tuple[str, str, float, float]] = [
        (row, column, value, ours)
        for row, cells in other["rows"].items()
        if row in table.rows
        for column, value in cells.items()
        if (ours := table.value(row, column)) is not None
    ]
    return Transcription(
        table=table.id,
        source=other["source"],
        read_in=other["read_in"],
        compared=len(shared),
        differing=tuple(
            f"row {row}, column {column}: {value:g}, ours {ours:g}"
            for row, column, value, ours in shared
            if value != ours
        ),
    )
