"""One spreadsheet of the published files, with units in the heads of its columns; the same bytes every time.

It is made of the published JSON, so that it cannot say anything else. A text stays a text: nothing in it is a formula.
"""

import datetime
import io
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import xlsxwriter

from planner.publish.data_files import DATA_FOLDER

__all__ = ["WORKBOOK_PATH", "heading", "workbook"]

WORKBOOK_PATH = f"{DATA_FOLDER}/rangeferry.xlsx"
# Sheet to the published file that it shows.
SHEETS = {
    "Classes": "vehicle-classes",
    "Rigs": "rigs",
    "Adapters": "adapters",
    "Rig by class": "by-rig",
    "Sources": "sources",
}
# The longer ending stands before the shorter one that it ends in.
UNITS = {
    "kwh_per_100mi": "kWh/100 mi",
    "l_per_kwh": "L/kWh",
    "l_per_h": "L/h",
    "per_kw": "1/kW",
    "kwh": "kWh",
    "kw": "kW",
    "a": "A",
    "v": "V",
    "w": "W",
    "kg": "kg",
    "m2": "m2",
    "mph": "mph",
    "m": "m",
    "c": "deg C",
    "l": "L",
    "mi": "mi",
    "min": "min",
    "dba_7m": "dB(A) at 7 m",
    "percent": "%",
    "usd": "USD",
}
# Names that begin with what they count: the miles at their end say what the minutes are for.
COUNTED = {"minutes_": "min", "miles_": "mi"}
SHARES = re.compile(
    r"(share|health|efficiency|factor|margin|regeneration|rolling_resistance|loss_linear|loss_per_1000ft|loss_per_10f)$"
)
ENDS = ("low", "typical", "high")
LONGEST_CELL = 32_000  # a sheet's cell holds 32,767 characters
WIDEST, NARROWEST = 48, 8
# A file that is made again has to be the same: no clock.
MADE = datetime.datetime(2000, 1, 1)
CAUTIONS = (
    "It plans; it does not certify. The authority, the listing instructions and a licensed electrician decide.",
    "Classes are generic groups of vehicles that charge alike; typical is the median, low and high hold about 8 in 10.",
    "A list stands as JSON in its cell. SI units but for heads that name another one.",
)


def workbook(texts: Mapping[str, str]) -> bytes:
    """Return the spreadsheet of the published files, given their texts by path."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(
        out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    )
    book.set_properties({"title": "rangeferry data", "created": MADE})
    files = {sheet: json.loads(texts[f"{DATA_FOLDER}/{name}.json"]) for sheet, name in SHEETS.items()}
    first = book.add_worksheet("Read me")
    version = files["Classes"]["dataset_version"]
    lines = [f"rangeferry data {version}", *CAUTIONS]
    lines += [f"{sheet}: {len(found['records'])} rows, from {SHEETS[sheet]}.json" for sheet, found in files.items()]
    for row, line in enumerate(lines):
        first.write_string(row, 0, line)
    first.set_column(0, 0, 110)
    head = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
    for sheet, found in files.items():
        _fill(book.add_worksheet(sheet), [dict(_flat(record, ())) for record in found["records"]], head)
    classes = files["Classes"]["records"]
    _fill(book.add_worksheet("Class sources"), [row for record in classes for row in _source_rows(record)], head)
    book.close()
    return out.getvalue()


def _source_rows(record: Mapping[str, Any]) -> Iterator[dict[tuple[str, ...], Any]]:
    for field, origin in record["sources"].items():
        yield {
            ("class",): record["id"],
            ("field",): field,
            ("from",): origin["ref"] or origin["basis"],
            ("where",): origin["where"],
            ("note",): origin["note"],
        }


def _flat(value: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Yield each value with the way to it; what numbers rest on has a sheet of its own."""
    for key, inner in value.items():
        if key == "sources" and not path:
            continue
        if isinstance(inner, Mapping) and inner:
            yield from _flat(inner, (*path, key))
        else:
            yield (*path, key), inner


def heading(path: Sequence[str]) -> str:
    """Return the head of a column: words, the end of a band, and the unit."""
    steps = list(path)
    end = steps.pop() if steps[-1] in ENDS and len(steps) > 1 else ""
    last = steps[-1]
    counted = next((unit for start, unit in COUNTED.items() if last.startswith(start)), "")
    unit = counted or next((unit for ending, unit in UNITS.items() if last.endswith(f"_{ending}")), "")
    if counted:
        steps[-1] = last.replace("_on_site_", "_on_site_for_")
    elif unit:
        ending = next(ending for ending in UNITS if last.endswith(f"_{ending}"))
        steps[-1] = last.removesuffix(f"_{ending}")
    elif SHARES.search(last):
        unit = "share of 1"
    words = ", ".join(step.replace("_", " ") for step in steps)
    words = words[:1].upper() + words[1:] + (f", {end}" if end else "")
    return f"{words} [{unit}]" if unit else words


def _fill(sheet: Any, rows: Sequence[Mapping[tuple[str, ...], Any]], head: Any) -> None:
    columns = list(dict.fromkeys(path for row in rows for path in row))
    for column, path in enumerate(columns):
        title = heading(path)
        sheet.write_string(0, column, title, head)
        longest = max((len(_text(row.get(path))) for row in rows), default=0)
        sheet.set_column(column, column, min(max(longest + 1, NARROWEST, len(title) // 2), WIDEST))
    for number, row in enumerate(rows, 1):
        for column, path in enumerate(columns):
            value = row.get(path)
            if isinstance(value, bool):
                sheet.write_boolean(number, column, value)
            elif isinstance(value, int | float):
                sheet.write_number(number, column, value)
            elif value is not None:
                sheet.write_string(number, column, _text(value))
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, max(len(rows), 1), max(len(columns) - 1, 0))


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return value[:LONGEST_CELL]
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))[:LONGEST_CELL]
