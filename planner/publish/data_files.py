"""The published files: one envelope around every list, a schema for each, and a twin as comma-separated values.

A file is `{schema, schema_version, dataset_version, kind, records}`. Its schema stands beside it; a build checks every
file against it.
"""

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from planner.checks import Outcome
from planner.leads import LeadPair, lead_matrix
from planner.plan_types import Plan
from planner.publish.markup import Cell, Page, e, link, section, table
from planner.records import Dataset, LintExceptions
from planner.report import document
from planner.schemas import DIALECT, SCHEMA_FILES, schema_documents, schema_text
from planner.tables import Pair, PlugPair, on_dc

__all__ = ["DATA_FOLDER", "DATA_SCHEMA_VERSION", "DataFile", "data_files", "data_page", "data_texts"]

DATA_FOLDER = "data/v1"
DATA_SCHEMA_VERSION = "1.0"
NULLABLE_NUMBER = {"type": ["number", "null"]}
NULLABLE_INTEGER = {"type": ["integer", "null"]}
NULLABLE_TEXT = {"type": ["string", "null"]}


@dataclass(frozen=True, slots=True)
class DataFile:
    """One published list: its name, what it holds, its records and the schema of one of them."""

    name: str
    holds: str
    records: Sequence[Mapping[str, Any]]
    record_schema: Mapping[str, Any]
    definitions: Mapping[str, Any]


def data_files(
    dataset: Dataset, pairs: Iterable[Pair], matrix: Iterable[PlugPair], outcomes: Sequence[Outcome]
) -> list[DataFile]:
    """Return every published list, in the order in which the page names them."""
    schemas = schema_documents()
    files = []
    for schema_name, folder in SCHEMA_FILES.items():
        schema, definitions = _whole(schemas[schema_name])
        records = [record.model_dump(mode="json") for record in getattr(dataset, folder).values()]
        holds = f"{folder.replace('_', ' ').capitalize()}, as the planner reads them"
        files.append(DataFile(folder.replace("_", "-"), holds, records, schema, definitions))
    sources = [{"id": key, **source.model_dump(mode="json")} for key, source in dataset.sources.items()]
    source_schema = schemas["sources"]["additionalProperties"]
    source_schema = {**source_schema, "properties": {"id": {"type": "string"}, **source_schema["properties"]}}
    files.append(
        DataFile(
            "sources", "Sources, and which text was read", sources, source_schema, schemas["sources"].get("$defs", {})
        )
    )
    rates_schema = dict(schemas["rates"])
    definitions = rates_schema.pop("$defs", {})
    rates_schema.pop("$schema")
    files.append(
        DataFile(
            "rates",
            "Minutes that a stop takes besides charging",
            [dataset.rates.model_dump(mode="json")],
            rates_schema,
            definitions,
        )
    )
    for name, holds, record in (
        ("coverage", "What the classes have to cover, and what is left open", dataset.coverage),
        ("exceptions", "Findings of the rules that are let stand, and until when", None),
    ):
        schema = {key: value for key, value in schemas[name].items() if key not in {"$schema", "$defs"}}
        kept = tuple(item.exception for item in dataset.exceptions)
        told = LintExceptions(exceptions=kept) if name == "exceptions" else record
        files.append(
            DataFile(
                name,
                holds,
                [] if told is None else [told.model_dump(mode="json")],
                schema,
                dict(schemas[name].get("$defs", {})),
            )
        )
    files.append(
        DataFile(
            "by-rig",
            "Every rig with every class at the rig's usual site: verdict, path, mark, power, miles, minutes",
            [_pair_record(pair) for pair in pairs],
            PAIR_SCHEMA,
            {},
        )
    )
    files.append(
        DataFile(
            "plugs",
            "Connector, adapter and inlet, AC and DC: goes or not, and why",
            [_plug_record(dataset, pair) for pair in matrix],
            PLUG_SCHEMA,
            {},
        )
    )
    files.append(
        DataFile(
            "leads-at-outlets",
            "Supply-side lead and outlet of a site: may be used, behind which breaker, and why",
            [_lead_record(pair) for pair in lead_matrix(dataset)],
            LEAD_SCHEMA,
            {},
        )
    )
    files.append(
        DataFile(
            "checks",
            "Published values, ours, the difference, the source",
            [_check_record(item) for item in outcomes],
            CHECK_SCHEMA,
            {},
        )
    )
    return files


def data_texts(files: Sequence[DataFile], *, dataset_version: str) -> dict[str, str]:
    """Return the texts of all files by path: lists, schemas, twins, and the index."""
    texts: dict[str, str] = {}
    index = []
    for item in files:
        schema_path = f"schema/{item.name}.schema.json"
        envelope = {
            "schema": schema_path,
            "schema_version": DATA_SCHEMA_VERSION,
            "dataset_version": dataset_version,
            "kind": item.name,
            "records": item.records,
        }
        texts[f"{DATA_FOLDER}/{item.name}.json"] = _json(envelope)
        texts[f"{DATA_FOLDER}/{item.name}.csv"] = _csv(item.records)
        texts[f"{DATA_FOLDER}/{schema_path}"] = schema_text(_envelope_schema(item))
        index.append(
            {
                "kind": item.name,
                "holds": item.holds,
                "records": len(item.records),
                "json": f"{item.name}.json",
                "csv": f"{item.name}.csv",
                "schema": schema_path,
            }
        )
    plan_schema = schema_documents()["plan"]
    texts[f"{DATA_FOLDER}/schema/plan.schema.json"] = schema_text(plan_schema)
    texts[f"{DATA_FOLDER}/schema/index.schema.json"] = schema_text(INDEX_FILE_SCHEMA)
    texts[f"{DATA_FOLDER}/index.json"] = _json(
        {
            "schema": "schema/index.schema.json",
            "schema_version": DATA_SCHEMA_VERSION,
            "dataset_version": dataset_version,
            "kind": "index",
            "records": index,
        }
    )
    return texts


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":")) + "\n"


def _whole(schema: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the schema of a published record: whole, with its id, nothing based on another."""
    found = {key: value for key, value in schema.items() if key not in {"$schema", "$defs", "if", "else"}}
    properties = {key: value for key, value in found["properties"].items() if key != "based_on"}
    found["properties"] = {"id": {"type": "string"}, **properties}
    found["required"] = ["id", *schema.get("else", {}).get("required", [])]
    return found, dict(schema.get("$defs", {}))


def _envelope_schema(item: DataFile) -> dict[str, Any]:
    return {
        "$schema": DIALECT,
        "title": item.holds,
        "type": "object",
        "additionalProperties": False,
        "required": ["schema", "schema_version", "dataset_version", "kind", "records"],
        "properties": {
            "schema": {"const": f"schema/{item.name}.schema.json"},
            "schema_version": {"const": DATA_SCHEMA_VERSION},
            "dataset_version": {"type": "string"},
            "kind": {"const": item.name},
            "records": {"type": "array", "items": dict(item.record_schema)},
        },
        **({"$defs": dict(item.definitions)} if item.definitions else {}),
    }


def _object(properties: Mapping[str, Any]) -> dict[str, Any]:
    """Return the schema of a flat record: every field is there, and no other."""
    return {
        "type": "object",
        "additionalProperties": False,
        "required": list(properties),
        "properties": dict(properties),
    }


INDEX_FILE_SCHEMA = {
    "$schema": DIALECT,
    "title": "The published files",
    **_object(
        {
            "schema": {"const": "schema/index.schema.json"},
            "schema_version": {"const": DATA_SCHEMA_VERSION},
            "dataset_version": {"type": "string"},
            "kind": {"const": "index"},
            "records": {
                "type": "array",
                "items": _object(
                    {
                        "kind": {"type": "string"},
                        "holds": {"type": "string"},
                        "records": {"type": "integer"},
                        "json": {"type": "string"},
                        "csv": {"type": "string"},
                        "schema": {"type": "string"},
                    }
                ),
            },
        }
    ),
}
PAIR_SCHEMA = _object(
    {
        "rig": {"type": "string"},
        "vehicle": {"type": "string"},
        "verdict": {"enum": ["serve", "serve_with_changes", "ask_first", "try", "cannot_serve"]},
        "reason": NULLABLE_TEXT,
        "connector": NULLABLE_TEXT,
        "adapter": NULLABLE_TEXT,
        "adapter_kept": NULLABLE_TEXT,
        "inlet": NULLABLE_TEXT,
        "mark": NULLABLE_TEXT,
        "output_a": NULLABLE_NUMBER,
        "current_a": NULLABLE_NUMBER,
        "power_meter_kw": NULLABLE_NUMBER,
        "power_battery_kw": NULLABLE_NUMBER,
        "miles_added_per_hour": NULLABLE_INTEGER,
        "held_back_by": NULLABLE_TEXT,
        "minutes_on_site_10_mi": NULLABLE_INTEGER,
        "minutes_on_site_25_mi": NULLABLE_INTEGER,
        "minutes_on_site_50_mi": NULLABLE_INTEGER,
    }
)
LEAD_SCHEMA = _object(
    {
        "lead": {"type": "string"},
        "outlet": {"type": "string"},
        "goes_in": {"type": "boolean"},
        "verdict": {"enum": ["yes", "behind", "no"]},
        "breaker_at_most_a": NULLABLE_NUMBER,
        "for_hours_a": NULLABLE_NUMBER,
        "code": NULLABLE_TEXT,
        "text": {"type": "string"},
        "source": {"type": "string"},
    }
)
PLUG_SCHEMA = _object(
    {
        "connector": {"type": "string"},
        "adapter": NULLABLE_TEXT,
        "inlet": {"type": "string"},
        "goes": {"type": "boolean"},
        "code": NULLABLE_TEXT,
        "text": {"type": "string"},
        "source": {"type": "string"},
        "on_dc": {"type": "boolean", "description": "Whether a DC unit would charge by it; never ours"},
        "on_dc_text": {"type": "string"},
    }
)
CHECK_SCHEMA = _object(
    {
        "subject": {"type": "string"},
        "case": {"type": "string"},
        "question": {"type": "string"},
        "unit": {"type": "string"},
        "proves": {"enum": ["table", "arithmetic", "model"]},
        "published": {"type": ["number", "string", "boolean"]},
        "ours": {"type": ["number", "string", "boolean", "null"]},
        "difference": NULLABLE_NUMBER,
        "tolerance": {"type": "number"},
        "band_low": NULLABLE_NUMBER,
        "band_high": NULLABLE_NUMBER,
        "met": {"type": "boolean"},
        "missed_because": {"type": "string"},
        "source": {"type": "string"},
        "note": {"type": "string"},
    }
)


def _pair_record(pair: Pair) -> dict[str, Any]:
    shown = document(pair.plan)
    path, setting, held = shown["path"] or {}, shown["setting"] or {}, pair.held_back_by
    minutes = {f"minutes_on_site_{need.miles}_mi": need.minutes_on_site for need in pair.needs}
    return {
        "rig": pair.rig,
        "vehicle": pair.vehicle,
        "verdict": shown["verdict"],
        "reason": _reason(pair.plan),
        "connector": path.get("connector"),
        "adapter": path.get("adapter"),
        "adapter_kept": path.get("adapter_kept"),
        "inlet": path.get("inlet"),
        "mark": setting.get("mark"),
        "output_a": setting.get("output_a"),
        "current_a": shown["current_a"],
        "power_meter_kw": shown["power_meter_kw"],
        "power_battery_kw": shown["power_battery_kw"],
        "miles_added_per_hour": shown["miles_added_per_hour"],
        "held_back_by": held.id if held is not None else None,
        "minutes_on_site_10_mi": minutes.get("minutes_on_site_10_mi"),
        "minutes_on_site_25_mi": minutes.get("minutes_on_site_25_mi"),
        "minutes_on_site_50_mi": minutes.get("minutes_on_site_50_mi"),
    }


def _reason(plan: Plan) -> str | None:
    return plan.reasons[0].code if plan.reasons else None


def _lead_record(pair: LeadPair) -> dict[str, Any]:
    return {
        "lead": pair.lead.id,
        "outlet": pair.outlet.id,
        "goes_in": pair.goes_in,
        "verdict": pair.verdict,
        "breaker_at_most_a": pair.device_a or None,
        "for_hours_a": pair.limit_a or None,
        "code": pair.code,
        "text": pair.text,
        "source": pair.source,
    }


def _plug_record(dataset: Dataset, pair: PlugPair) -> dict[str, Any]:
    dc = on_dc(dataset, pair)
    return {
        "connector": pair.connector.id,
        "adapter": pair.adapter.id if pair.adapter is not None else None,
        "inlet": pair.inlet.id,
        "goes": pair.code is None,
        "code": pair.code,
        "text": pair.text,
        "source": pair.source,
        "on_dc": dc.goes,
        "on_dc_text": dc.text,
    }


def _check_record(outcome: Outcome) -> dict[str, Any]:
    case = outcome.case
    return {
        "subject": case.subject,
        "case": case.case,
        "question": case.question,
        "unit": outcome.unit,
        "proves": case.proves,
        "published": case.expect,
        "ours": outcome.ours,
        "difference": outcome.difference,
        "tolerance": case.tolerance,
        "band_low": case.band[0] if case.band is not None else None,
        "band_high": case.band[1] if case.band is not None else None,
        "met": outcome.met,
        "missed_because": case.missed,
        "source": case.source,
        "note": case.note,
    }


# ------------------------------------------------------------------------------------------------------------- twins


def _csv(records: Sequence[Mapping[str, Any]]) -> str:
    """Return the twin: one row a record, a nested field as `outer.inner`, a list as JSON in its cell.

    A text that a spreadsheet would take for a formula gets an apostrophe before it.
    """
    rows = [dict(_flat(record, "")) for record in records]
    names = list(dict.fromkeys(name for row in rows for name in row))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(names)
    for row in rows:
        writer.writerow([_cell(row.get(name)) for name in names])
    return out.getvalue()


def _flat(value: Mapping[str, Any], prefix: str) -> Iterable[tuple[str, Any]]:
    for key, inner in value.items():
        name = f"{prefix}{key}"
        if isinstance(inner, Mapping) and inner:
            yield from _flat(inner, f"{name}.")
        else:
            yield name, inner


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return json.dumps(value)
    if isinstance(value, str):
        return f"'{value}" if value[:1] in {"=", "+", "-", "@", "\t", "\r"} else value
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


# -------------------------------------------------------------------------------------------------------------- page


def data_page(dataset: Dataset, files: Sequence[DataFile]) -> Page:
    """Return the page of files and schemas."""
    rows = [
        [
            Cell(e(item.holds)),
            Cell(f'<b class="f">{len(item.records)}</b>', figure=True),
            Cell(link(f"v1/{item.name}.json", "JSON")),
            Cell(link(f"v1/{item.name}.csv", "CSV")),
            Cell(link(f"v1/schema/{item.name}.schema.json", "schema"), wide=True),
        ]
        for item in files
    ]
    heads: list[str | Cell] = ["Holds", Cell("Records", figure=True), "List", "Table", Cell("Schema", wide=True)]
    folders = [
        [Cell(e(_last_name(folder.path))), Cell(e(folder.version)), Cell(f"<code>{e(folder.digest[:16])}</code>")]
        for folder in dataset.folders
    ]
    body = (
        "<h1 data-search-exclude>Data</h1>"
        '<p class="lead">Everything that the pages show, as files. A file is one envelope: schema, schema version, data '
        "version, kind, records. Every file was checked against its schema when these pages were made.</p>"
        + table("Files", heads, rows)
        + f"<p>{link('v1/index.json', 'The list of files')}; {link('v1/schema/plan.schema.json', 'the schema of a plan')}, "
        "which <code>rangeferry plan --json</code> prints.</p>"
        + f"<p>{link('v1/rangeferry.xlsx', 'All of it as one spreadsheet')}, with the units in the heads of its columns.</p>"
        + section(
            "About the numbers",
            "about",
            "<ul>"
            f"<li>{link('provenance.html', 'How far the numbers can be trusted')}: where they come from, the weakest first</li>"
            f"<li>{link('coverage.html', 'What the classes cover')}: bodies, inlets and ages, and what is left open</li>"
            f"<li>{link('moved.html', 'What moved')} since the version before, and why</li>"
            f"<li>{link('add-a-class.html', 'Add a class in ten minutes')}, a rig, an adapter: in a folder of your own</li></ul>",
        )
        + section("Read from", "folders", table("Folders", ["Folder", "Version", "Digest"], folders))
        + '<p class="n">In the tables a nested field is <code>outer.inner</code>, a list is JSON in its cell, and a text '
        "that a spreadsheet would take for a formula has an apostrophe before it. SI units but for names that end in "
        "another one.</p>"
    )
    return Page(
        "data/index.md",
        "Data",
        "Every published list as JSON and CSV, with its schema.",
        body,
        tags=("download", "JSON", "CSV", "schema", "API"),
        boost=0.4,
    )


def _last_name(path: str) -> str:
    """Return a folder's own name: where it lies on somebody's machine is nobody's business."""
    return path.replace("\\", "/").rstrip("/").rsplit("/", 1)[-1]
