"""Where the numbers of the classes come from: shares by origin, and the weakest first.

How weak a number is: half its band over its typical value, times how far an answer follows it, halved where a
published source stands behind it. A number without a band counts as one of a tenth either way.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from planner.records import Dataset, Provenance, Reference, VehicleClass

__all__ = ["PUBLISHED", "Origin", "by_field", "kind_origins", "origins", "shares", "weakest"]

PUBLISHED = "published"
# own-judgement: how far minutes or miles follow a number: 1 where a percent more of it is a percent more of them, a
# third where it acts through a part of them, nothing where it is told and never reckoned with.
FOLLOWS: Mapping[str, float] = {
    "battery.energy_usable_kwh": 1.0,
    "battery.health": 1.0,
    "label.consumption_wall_kwh_per_100mi": 1.0,
    "onboard_charger.current_a": 1.0,
    "onboard_charger.power_kw": 1.0,
    "ports": 1.0,
    "label.efficiency": 1.0,
    "charging.pilot_margin": 0.3,
    "charging.auxiliaries_kw": 0.1,
    "battery.heater_kw": 0.3,
    "road": 0.3,
    "cabin": 0.3,
    "battery.voltage_v": 0.0,
    "dc": 0.0,
    "built_from": 0.0,
    "built_to": 0.0,
}
FOLLOWS_LITTLE = 0.1
WITHOUT_BAND = 0.1  # own-judgement
PUBLISHED_SHARE = 0.5
# A spread that counts as one number: its band says how sure it is.
ENDS = frozenset({"low", "typical", "high"})


@dataclass(frozen=True, slots=True)
class Origin:
    """One number of one class, or the band that stands for it, and where it comes from."""

    record: str
    name: str
    field: str
    low: float
    typical: float
    high: float
    origin: str  # `published`, or the basis in words
    source: str | None
    note: str

    @property
    def half_width(self) -> float:
        """Return half the band over the typical value, 0 where there is none."""
        return (self.high - self.low) / 2 / abs(self.typical) if self.typical else 0.0

    @property
    def weakness(self) -> float:
        """Return how weak the number is, by the rule above."""
        follows = next(
            (share for path, share in FOLLOWS.items() if f"{self.field}.".startswith(f"{path}.")), FOLLOWS_LITTLE
        )
        width = self.half_width if self.high > self.low else WITHOUT_BAND
        return follows * width * (PUBLISHED_SHARE if self.origin == PUBLISHED else 1.0)


def origins(dataset: Dataset) -> tuple[Origin, ...]:
    """Return every number of every class, in the order of the records and their fields."""
    return tuple(origin for vehicle in dataset.vehicle_classes.values() for origin in _of_class(vehicle))


def _of_class(vehicle: VehicleClass) -> Iterator[Origin]:
    data = vehicle.model_dump(exclude_unset=True, exclude={"sources"})
    for field, low, typical, high in _numbers(data, ""):
        found = _covering(field, vehicle.sources)
        if found is not None:
            yield Origin(
                record=vehicle.id,
                name=vehicle.name,
                field=field,
                low=low,
                typical=typical,
                high=high,
                origin=PUBLISHED if found.ref is not None else str(found.basis),
                source=found.ref,
                note=", ".join(part for part in (found.where, found.note) if part),
            )


def _numbers(value: object, path: str) -> Iterator[tuple[str, float, float, float]]:
    if isinstance(value, bool) or value is None:
        return
    if isinstance(value, int | float):
        yield path, float(value), float(value), float(value)
    elif isinstance(value, Mapping):
        if set(value) == ENDS:
            yield path, value["low"], value["typical"], value["high"]
            return
        for key, inner in value.items():
            yield from _numbers(inner, f"{path}.{key}" if path else str(key))
    elif isinstance(value, tuple | list):
        for index, inner in enumerate(value):
            yield from _numbers(inner, f"{path}.{index}")


def _covering(field: str, sources: Mapping[str, Provenance]) -> Provenance | None:
    return next((origin for path, origin in sources.items() if f"{field}.".startswith(f"{path}.")), None)


def shares(found: Iterable[Origin]) -> dict[str, int]:
    """Return how many numbers there are by origin, the commonest first."""
    counted = Counter(origin.origin for origin in found)
    return dict(sorted(counted.items(), key=lambda item: (-item[1], item[0])))


def by_field(found: Iterable[Origin]) -> dict[str, dict[str, int]]:
    """Return the same by field; the places of ports are one field."""
    fields: dict[str, Counter[str]] = {}
    for origin in found:
        field = "ports" if origin.field.startswith("ports.") else origin.field
        fields.setdefault(field, Counter())[origin.origin] += 1
    return {field: dict(sorted(counted.items())) for field, counted in fields.items()}


def weakest(found: Iterable[Origin]) -> tuple[Origin, ...]:
    """Return the numbers, the weakest first; equals by record and field."""
    return tuple(sorted(found, key=lambda origin: (-origin.weakness, origin.record, origin.field)))


def kind_origins(records: Iterable[Reference]) -> dict[str, int]:
    """Return how many entries of `sources` there are by origin in records of another kind."""
    counted = Counter(
        PUBLISHED if origin.ref is not None else str(origin.basis)
        for record in records
        for origin in record.sources.values()
    )
    return dict(sorted(counted.items(), key=lambda item: (-item[1], item[0])))
