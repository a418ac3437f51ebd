"""The JSON Schemas of records and of the plan, generated from their one typed definition."""

import json
from typing import Any

from pydantic import TypeAdapter

from planner.commissioning import CommissioningResult
from planner.envelope import Envelope
from planner.plan_types import Plan
from planner.records import RECORD_KINDS, Coverage, LintExceptions, Rates, Record, Reference, Source
from planner.rig_report import RigReport
from planner.sizing import Sizing
from planner.turns import Turns

__all__ = ["DIALECT", "SCHEMA_FILES", "record_schema", "schema_documents", "schema_text"]

# Schema name to the folder of records it describes.
SCHEMA_FILES = {
    "vehicle_class": "vehicle_classes",
    "rig": "rigs",
    "connector": "connectors",
    "inlet": "inlets",
    "face": "faces",
    "adapter": "adapters",
    "lead": "leads",
    "outlet": "outlets",
    "table": "tables",
    "schedule": "schedules",
    "commissioning_run": "commissioning",
    "split": "splits",
}
DIALECT = "https://json-schema.org/draft/2020-12/schema"


def record_schema(model: type[Record]) -> dict[str, Any]:
    """Return the schema of a file: the record without its id, which is the file name.

    A record with `based_on` states only what differs, so nothing else is required of it.
    """
    schema = model.model_json_schema()
    if issubclass(model, Reference):
        schema["properties"].pop("id")
        required = [name for name in schema.pop("required", []) if name != "id"]
        schema["properties"]["based_on"] = {
            "type": "string",
            "description": "Id of a whole record that this one changes in part",
        }
        schema["if"] = {"required": ["based_on"]}
        schema["else"] = {"required": required}
    return {"$schema": DIALECT, **schema}


def schema_documents() -> dict[str, dict[str, Any]]:
    """Return every schema by name."""
    documents = {name: record_schema(RECORD_KINDS[folder]) for name, folder in SCHEMA_FILES.items()}
    documents["rates"] = record_schema(Rates)
    documents["coverage"] = record_schema(Coverage)
    documents["exceptions"] = record_schema(LintExceptions)
    source = record_schema(Source)
    definitions = source.pop("$defs", {})
    source.pop("$schema")
    documents["sources"] = {
        "$schema": DIALECT,
        "title": "Sources",
        "type": "object",
        "additionalProperties": source,
        **({"$defs": definitions} if definitions else {}),
    }
    documents["plan"] = {"$schema": DIALECT, **TypeAdapter(Plan).json_schema(mode="serialization")}
    results: dict[str, Any] = {
        "rig_report": RigReport,
        "sizing": Sizing,
        "commissioning_result": CommissioningResult,
        "envelope": Envelope,
        "turns": Turns,
    }
    for name, result in results.items():
        documents[name] = {"$schema": DIALECT, **TypeAdapter(result).json_schema(mode="serialization")}
    return documents


def schema_text(document: dict[str, Any]) -> str:
    """Return a schema as it is committed: indented, keys in the order of the definition, one line end."""
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"
