"""What the classes were found to hold of open data: read from the file that the reference tests prove."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from planner.loading import shipped

__all__ = ["OpenData", "open_data"]


@dataclass(frozen=True, slots=True)
class OpenData:
    """Three comparisons with open data: cars, packs with chargers, and default drag areas."""

    cars: dict[str, Any]
    chargers: dict[str, Any]
    defaults: dict[str, Any]
    defaults_first_run: dict[str, Any]
    defaults_words: dict[str, Any]


def open_data(path: Path | None = None) -> OpenData:
    """Read the comparisons; without a path, those that are shipped."""
    place = path or shipped() / "tests" / "published" / "open_data" / "cars.yaml"
    return OpenData(**yaml.safe_load(place.read_text(encoding="utf-8")))
