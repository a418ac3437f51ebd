"""What the classes cover: which body, and which inlet, has a class at which age; and what is left open on purpose."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import get_args

from planner.records import BATTERY_WORDS, BUILT_WORDS, Body, BuiltWord, Coverage, Dataset, VehicleClass, WantedClass

__all__ = ["Cell", "built_at", "cells", "meets", "regional_inlets"]


@dataclass(frozen=True, slots=True)
class Cell:
    """One body or one inlet at one age, with the classes that hold it."""

    row: str  # the body or the inlet
    built: BuiltWord
    classes: tuple[str, ...]
    why_empty: str  # empty where nothing says that it may be empty


def built_at(vehicle: VehicleClass, built: BuiltWord) -> bool:
    """Return whether some of a class were built in those years."""
    first, last = BUILT_WORDS[built]
    return vehicle.built_from <= last and (vehicle.built_to or 9999) >= first


def regional_inlets(dataset: Dataset, coverage: Coverage) -> tuple[str, ...]:
    """Return the inlets that vehicles sold new in the region have."""
    return tuple(inlet.id for inlet in dataset.inlets.values() if coverage.region in inlet.regions)


def cells(dataset: Dataset, coverage: Coverage) -> Iterator[Cell]:
    """Yield every body at every age, then every inlet of the region at every age."""
    classes = tuple(dataset.vehicle_classes.values())
    why = {(item.body or item.inlet, item.built): item.why for item in coverage.empty}
    for body in get_args(Body):
        for built in BUILT_WORDS:
            held = tuple(found.id for found in classes if found.body == body and built_at(found, built))
            yield Cell(body, built, held, why.get((body, built), ""))
    for inlet in regional_inlets(dataset, coverage):
        for built in BUILT_WORDS:
            held = tuple(
                found.id for found in classes if found.port(inlet) and not found.imported and built_at(found, built)
            )
            yield Cell(inlet, built, held, why.get((inlet, built), ""))


def meets(vehicle: VehicleClass, wanted: WantedClass) -> bool:
    """Return whether a class holds a kind of vehicle that is wanted."""
    new_kwh = vehicle.battery.energy_usable_kwh.typical
    low_kwh, high_kwh = BATTERY_WORDS[wanted.battery] if wanted.battery is not None else (0.0, 1e9)
    return (
        vehicle.body == wanted.body
        and vehicle.engine == wanted.engine
        and built_at(vehicle, wanted.built)
        and (wanted.inlet is None or vehicle.port(wanted.inlet) is not None)
        and low_kwh <= new_kwh < high_kwh
    )
