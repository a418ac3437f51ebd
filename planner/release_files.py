"""Reads the snapshots of former data versions, and the reasons why values moved; writes a snapshot as text."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import yaml

from planner.errors import DataError, Problem, QuantityError
from planner.loading import load, shipped
from planner.records import Dataset
from planner.releases import Moves, Reason, Snapshot, moves, snapshot

__all__ = ["Release", "moved_since", "releases", "snapshot_text", "versions"]


@dataclass(frozen=True, slots=True)
class Release:
    """A former version: what it held."""

    version: str
    values: Snapshot


def _folder(folder: Path | None) -> Path:
    return folder if folder is not None else shipped() / "vehicle_data" / "releases"


def versions(folder: Path | None = None) -> tuple[str, ...]:
    """Return the versions that a snapshot was kept of, the oldest first."""
    names = [path.stem for path in _folder(folder).glob("*.json")]
    return tuple(sorted(names, key=lambda name: [int(part) for part in name.split(".")]))


def releases(folder: Path | None = None) -> tuple[Release, ...]:
    """Read every snapshot, the oldest first."""
    return tuple(_release(_folder(folder), version) for version in versions(folder))


def _release(folder: Path, version: str) -> Release:
    path = folder / f"{version}.json"
    try:
        values: Mapping[str, Mapping[str, float | str | bool]] = json.loads(path.read_text(encoding="utf-8"))
    except ValueError as error:
        raise DataError(
            [Problem(str(path), 1, 1, "", "a snapshot of the data", str(error), "bring it back from version control")]
        ) from None
    return Release(version, values)


def _reasons(folder: Path, version: str) -> tuple[Reason, ...]:
    """Return the reasons that stand with a version; none where it has no file."""
    path = folder / f"{version}.yaml"
    if not path.is_file():
        return ()
    told = yaml.safe_load(path.read_text(encoding="utf-8"))
    return tuple(Reason(str(item["of"]), str(item["because"])) for item in told["why"])


def moved_since(dataset: Dataset, version: str | None = None, folder: Path | None = None) -> Moves | None:
    """Return what moved from a kept version, without one the newest, to the shipped records of a dataset.

    What a crew lays over them is no version of ours, and is left out. None where no version was kept. Raises
    `QuantityError` for a version that was not kept.
    """
    if len(dataset.folders) > 1:
        dataset = load()
    kept = versions(folder)
    now = dataset.folders[0].version
    if version is None:
        earlier = [name for name in kept if name != now]
        if not earlier:
            return None
        version = earlier[-1]
    if version not in kept:
        raise QuantityError(
            name="--since",
            given=version,
            expected=f"a version that was kept: {', '.join(kept) or 'there is none yet'}",
            next_step="name one of them, or leave it out for the newest",
        )
    place = _folder(folder)
    reasons = [reason for name in (now, *reversed(kept)) for reason in _reasons(place, name)]
    return moves(
        (version, _release(place, version).values),
        (now, snapshot(dataset)),
        formerly=_formerly(dataset),
        parted={f"vehicle_classes/{split.id}": split.into for split in dataset.splits.values()},
        reasons=reasons,
    )


def _formerly(dataset: Dataset) -> dict[str, str]:
    return {
        f"{kind}/{former}": f"{kind}/{record.id}"
        for kind in ("vehicle_classes", "rigs", "connectors", "inlets", "adapters", "leads", "outlets")
        for record in getattr(dataset, kind).values()
        for former in record.formerly
    }


def snapshot_text(dataset: Dataset) -> str:
    """Return a snapshot as it is kept: a record a line, so that a later one shows what differs."""
    lines = [
        f"{json.dumps(name)}: {json.dumps(values, ensure_ascii=False, separators=(',', ':'))}"
        for name, values in snapshot(dataset).items()
    ]
    return "{\n" + ",\n".join(lines) + "\n}\n"
