"""Every published file against its published schema, in the build itself."""

import json
from collections.abc import Mapping
from typing import Any

from jsonschema import Draft202012Validator

from planner.errors import PlannerError
from planner.publish.data_files import DATA_FOLDER

__all__ = ["PublishError", "check_texts"]


class PublishError(PlannerError):
    """What would be published breaks its own schema: a fault of ours, never of a crew's data."""


def check_texts(texts: Mapping[str, str]) -> int:
    """Check every JSON file under the data folder against the schema that it names; return how many there were.

    Raises `PublishError` with file, place and reason of the first fault.
    """
    checked = 0
    for path, text in texts.items():
        if not path.startswith(f"{DATA_FOLDER}/") or not path.endswith(".json") or "/schema/" in path:
            continue
        value: dict[str, Any] = json.loads(text)
        schema = json.loads(texts[f"{DATA_FOLDER}/{value['schema']}"])
        fault = next(Draft202012Validator(schema).iter_errors(value), None)
        if fault is not None:
            place = "/".join(str(step) for step in fault.absolute_path)
            raise PublishError(f"{path}: {place}: {fault.message}; this is a fault of the program, please report it")
        checked += 1
    return checked
