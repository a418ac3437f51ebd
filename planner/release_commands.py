"""The command `moved`: what moved in the shipped data since a former version, and why; or keep the present one."""

import contextlib
from argparse import Namespace

from planner.errors import QuantityError
from planner.loading import load
from planner.release_files import moved_since, snapshot_text
from planner.releases import Move, Moves, least_version
from planner.report import wrapped

__all__ = ["moved_command"]


def moved_command(options: Namespace) -> str:
    """Return what moved, as text; with `keep` the present data are written down as their version."""
    dataset = load()
    if options.keep is not None:
        version = dataset.folders[0].version
        path = options.keep / f"{version}.json"
        beside = path.with_name(f".{path.name}.part")
        try:
            options.keep.mkdir(parents=True, exist_ok=True)
            beside.write_text(snapshot_text(dataset), encoding="utf-8", newline="\n")
            beside.replace(path)
        except OSError as error:
            raise QuantityError(
                name="--keep",
                given=str(options.keep),
                expected="a folder that can be written to",
                next_step=f"{error.strerror or 'it failed'}: name another",
            ) from None
        finally:
            with contextlib.suppress(OSError):
                beside.unlink()
        return f"{path}: data {version} kept\n"
    found = moved_since(dataset, options.since)
    if found is None:
        return "no former version was kept\n"
    return "".join(f"{line}\n" for line in _lines(found))


def _lines(found: Moves) -> list[str]:
    lines = [f"data {found.before} to {found.after}; what moved asks for {least_version(found)} at least"]
    for word, names in (("added", found.added), ("gone", found.gone)):
        lines += [f"{len(names)} {word}", *wrapped(", ".join(names), "  ", "  ")] if names else []
    lines += [f"renamed: {was} is {now}" for was, now in found.renamed]
    lines += [f"parted: {was} into {', '.join(into)}" for was, into in found.parted]
    groups: dict[str, list[Move]] = {}
    for move in found.moved:
        groups.setdefault(move.because or "no reason is given", []).append(move)
    for because, moved in groups.items():
        records = sorted({move.record for move in moved})
        lines += ["", *wrapped(because)]
        lines += wrapped(f"{len(moved)} values of {len(records)} records", "  ", "  ")
        lines += [
            f"  {move.record} {move.field}: {_value(move.before)} to {_value(move.after)}"
            for move in moved
            if move.before is not None
        ]
    lines.append(f"{found.words} texts for people changed")
    return lines


def _value(value: object) -> str:
    return "nothing" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
