"""What a conductor of a rig may carry, looked up in the published tables: ampacity, correction, grounding, devices."""

from planner.records import (
    BUILDING_WIRE_TABLE,
    CORD_TABLE,
    CORRECTION_TABLE,
    GROUNDING_TABLE,
    PORTABLE_CABLE_TABLE,
    RESISTANCE_TABLE,
    STANDARD_RATINGS_TABLE,
    Conductor,
    Dataset,
    Table,
)

__all__ = [
    "ampacities",
    "circular_mils",
    "correction_factor",
    "grounding_awg",
    "standard_device_at_most_a",
    "standard_ratings_a",
]

MOST_LOADED_IN_TABLES = 3
# nec-2017, Table 310.15(B)(3)(a) and Table 400.5(A)(3): more than three loaded conductors in one jacket or bundle
MANY_LOADED_FACTORS = ((6, 0.8), (9, 0.7))


def standard_ratings_a(dataset: Dataset) -> list[float]:
    """Return the standard ratings of overcurrent devices, rising."""
    return [row["rating_a"] for row in dataset.tables[STANDARD_RATINGS_TABLE].rising]


def standard_device_at_most_a(dataset: Dataset, ampacity_a: float) -> float:
    """Return the largest standard overcurrent device at or below an ampacity, 0 where there is none."""
    return max((rating for rating in standard_ratings_a(dataset) if rating <= ampacity_a), default=0.0)


def ampacities(dataset: Dataset, part: Conductor, *, ambient_c: float) -> tuple[float, float]:
    """Return a conductor's ampacity in its terminations' column at 30 C, and in its own column corrected for the air.

    Flexible cord has one ampacity; its own rating chooses the correction. More than three loaded conductors take both
    down by the tables' adjustment.
    """
    own_c, terminations_c = part.temperature_rating_c, min(part.termination_column_c, part.temperature_rating_c)
    if part.construction == "flexible_cord":
        column = "b" if part.loaded_conductors == 2 else "a"
        own_a = terminations_a = _cell(dataset.tables[CORD_TABLE], part.size_awg, column)
    elif part.construction == "portable_cable":
        table, loaded = dataset.tables[PORTABLE_CABLE_TABLE], min(part.loaded_conductors, MOST_LOADED_IN_TABLES)
        own_a = _cell(table, part.size_awg, f"loaded_{loaded}_{own_c}c")
        terminations_a = _cell(table, part.size_awg, f"loaded_{loaded}_{terminations_c}c")
    else:
        table = dataset.tables[BUILDING_WIRE_TABLE]
        own_a = _cell(table, part.size_awg, f"{part.material}_{own_c}c")
        terminations_a = _cell(table, part.size_awg, f"{part.material}_{terminations_c}c")
    own_a *= correction_factor(dataset.tables[CORRECTION_TABLE], own_c, ambient_c)
    if part.loaded_conductors > MOST_LOADED_IN_TABLES:
        many = next(factor for most, factor in MANY_LOADED_FACTORS if part.loaded_conductors <= most)
        return terminations_a, own_a * many
    return terminations_a, own_a


def correction_factor(table: Table, conductor_rated_c: int, ambient_c: float) -> float:
    """Return the printed ambient correction; the warmer row between two, 0 where the table ends."""
    for row in table.rising:
        if ambient_c <= row["ambient_to_c"]:
            return row.get(f"rated_{conductor_rated_c}c", 0.0)
    return 0.0


def grounding_awg(dataset: Dataset, *, device_a: float, material: str) -> str | None:
    """Return the smallest grounding conductor that the table asks for behind a device; None beyond the table."""
    table = dataset.tables[GROUNDING_TABLE]
    for rating in sorted(table.rows, key=float):
        if device_a <= float(rating):
            size = table.value(rating, f"{material}_awg")
            return None if size is None else f"{size:g}"
    return None


def circular_mils(dataset: Dataset, size_awg: str) -> float:
    """Return the cross-section of a conductor by its size, 0 where the table has none."""
    return _cell(dataset.tables[RESISTANCE_TABLE], size_awg, "circular_mils")


def _cell(table: Table, row: str, column: str) -> float:
    """Return a cell; 0 where the table prints none, so that nothing may flow through what nobody has rated."""
    return table.value(row, column) or 0.0
