"""Versions of the data: what a version held, and what moved between two of them, and why."""

import fnmatch
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from planner.records import Dataset

__all__ = [
    "SNAPSHOT_KINDS",
    "Move",
    "Moves",
    "Reason",
    "Snapshot",
    "least_version",
    "moves",
    "reason_of",
    "snapshot",
]

Value = float | str | bool
Snapshot = Mapping[str, Mapping[str, Value]]
# What people plan with; what is only told of a record, such as its outline, is not followed.
SNAPSHOT_KINDS = ("vehicle_classes", "rigs", "connectors", "inlets", "adapters", "leads", "outlets")
NOT_FOLLOWED = frozenset({"id", "sources", "formerly"})
WORDS = frozenset(
    {
        "name",
        "also_called",
        "notes",
        "summary",
        "recognize",
        "tell_tale",
        "detail",
        "latch",
        "tell_apart",
        "never",
        "release",
        "item",
    }
)
ENDS = (".low", ".typical", ".high")


@dataclass(frozen=True, slots=True)
class Reason:
    """Why values moved: a pattern of `kind/id/field`, such as `vehicle_classes/*/battery.*`, and the reason."""

    of: str
    because: str


@dataclass(frozen=True, slots=True)
class Move:
    """One value that is not what it was; None where it was not there, or is gone."""

    record: str
    field: str
    before: Value | None
    after: Value | None
    because: str

    @property
    def percent(self) -> float | None:
        """Return by how much a number moved, None where there is no telling."""
        if isinstance(self.before, bool) or isinstance(self.after, bool):
            return None
        if isinstance(self.before, float | int) and isinstance(self.after, float | int) and self.before:
            return 100 * (self.after - self.before) / abs(self.before)
        return None


@dataclass(frozen=True, slots=True)
class Moves:
    """What moved between two versions."""

    before: str
    after: str
    added: tuple[str, ...]
    gone: tuple[str, ...]
    renamed: tuple[tuple[str, str], ...]
    parted: tuple[tuple[str, tuple[str, ...]], ...]
    moved: tuple[Move, ...]
    words: int  # values that are words for people

    @property
    def without_reason(self) -> tuple[Move, ...]:
        """Return what moved and nobody said why."""
        return tuple(move for move in self.moved if not move.because)


def snapshot(dataset: Dataset) -> dict[str, dict[str, Value]]:
    """Return every value of every record that is planned with, by `kind/id` and path, both sorted."""
    found: dict[str, dict[str, Value]] = {}
    for kind in SNAPSHOT_KINDS:
        for record in getattr(dataset, kind).values():
            data = record.model_dump(exclude_unset=True, exclude=set(NOT_FOLLOWED))
            found[f"{kind}/{record.id}"] = dict(sorted(_values(data, "")))
    return dict(sorted(found.items()))


def _values(value: object, path: str) -> Iterator[tuple[str, Value]]:
    if value is None:
        return
    if isinstance(value, bool | str):
        yield path, value
    elif isinstance(value, int | float):
        yield path, float(value)
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _values(inner, f"{path}.{key}" if path else str(key))
    elif isinstance(value, tuple | list):
        for index, inner in enumerate(value):
            yield from _values(inner, f"{path}.{index}")


def moves(
    before: tuple[str, Snapshot],
    after: tuple[str, Snapshot],
    *,
    formerly: Mapping[str, str],
    parted: Mapping[str, Sequence[str]],
    reasons: Sequence[Reason] = (),
) -> Moves:
    """Return what moved between two versions, each a version and its snapshot.

    `formerly` tells the present name of a record that was renamed, `parted` what took the place of one that was
    parted, both by `kind/id`.
    """
    old, new = before[1], after[1]
    renamed = tuple((was, now) for was, now in sorted(formerly.items()) if was in old and was not in new and now in new)
    stands_for = {now: was for was, now in renamed}
    split = tuple((was, tuple(into)) for was, into in sorted(parted.items()) if was in old and was not in new)
    gone = tuple(name for name in old if name not in new and name not in dict(renamed) and name not in dict(split))
    added = tuple(name for name in new if name not in old and name not in stands_for)
    found: list[Move] = []
    words = 0
    for name, values in new.items():
        was = old.get(stands_for.get(name, name))
        if was is None:
            continue
        for field, earlier, now in _differing(was, values):
            if _is_words(field):
                words += 1
            else:
                found.append(Move(name, field, earlier, now, reason_of(reasons, name, field)))
    return Moves(before[0], after[0], added, gone, renamed, split, tuple(found), words)


def _differing(was: Mapping[str, Value], now: Mapping[str, Value]) -> Iterator[tuple[str, Value | None, Value | None]]:
    """Yield what differs. A number that got a band around the same typical value did not move: its band is new."""
    for field in sorted({*was, *now}):
        earlier, later = was.get(field), now.get(field)
        if earlier == later:
            continue
        stem = next((field.removesuffix(end) for end in ENDS if field.endswith(end)), None)
        if stem is not None and stem in was:
            if field.endswith(".typical") and was[stem] == later:
                continue
            yield field, was[stem] if field.endswith(".typical") else None, later
        elif later is None and f"{field}.typical" in now:
            continue
        else:
            yield field, earlier, later


def _is_words(field: str) -> bool:
    return any(step in WORDS for step in field.split("."))


def reason_of(reasons: Sequence[Reason], record: str, field: str) -> str:
    """Return the reason of the first pattern that covers a value, empty where none does."""
    return next((reason.because for reason in reasons if fnmatch.fnmatchcase(f"{record}/{field}", reason.of)), "")


def least_version(moved: Moves) -> str:
    """Return the least version that the later data may bear, by what moved.

    Before 1.0.0 the second number rises when a record is added, renamed, parted or gone, or a value moves; the third
    when words alone do. From 1.0.0 on the first number rises when a record goes or is parted, since a plan that named
    it may then be answered otherwise.
    """
    first, second, third = (int(part) for part in moved.before.split("."))
    level: Literal["first", "second", "third", "none"]
    if moved.gone or moved.parted:
        level = "first" if first else "second"
    elif moved.added or moved.renamed or moved.moved:
        level = "second"
    else:
        level = "third" if moved.words else "none"
    raised: dict[str, tuple[int, int, int]] = {
        "first": (first + 1, 0, 0),
        "second": (first, second + 1, 0),
        "third": (first, second, third + 1),
        "none": (first, second, third),
    }
    return ".".join(str(part) for part in raised[level])
