"""What a device keeps of the hosted pages, so that they open without signal: the list in the service worker.

Everything that a page shows is kept. Files to download are kept too, unless the whole would be too large for a phone.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping

from planner.errors import PlannerError
from planner.publish.data_files import DATA_FOLDER
from planner.releases import Moves

__all__ = ["MOST_BYTES", "POCKET_LINE", "WORKER_PATH", "PocketError", "changes_text", "kept", "worker"]

WORKER_PATH = "sw.js"
MOST_BYTES = 12_000_000  # own-judgement: what a phone takes in one go on a slow line, and keeps
# The line of the template that is filled in.
POCKET_LINE = '  var POCKET = { id: "", version: "", date: "", changes: "", files: [] };\n'
# Left out in this order, each group whole, until the rest is small enough. Schemas and the index go with the lists.
DOWNLOADS = ((".xlsx", ".csv"), (".json",))


class PocketError(PlannerError):
    """The list cannot be put into the worker: a fault of ours, never of a crew's data."""


def kept(sizes: Mapping[str, int], *, most_bytes: int = MOST_BYTES) -> tuple[str, ...]:
    """Return the paths that a device keeps, sorted, from the size in bytes of every file of the site.

    Never the worker itself, source maps, dot files, a sitemap, nor the page that only a server shows. Files under the
    data folder go, group by group, while the whole is larger than `most_bytes`; what a page shows always stays.

    >>> kept({"index.html": 9, "sw.js": 9, "data/v1/rigs.csv": 9}, most_bytes=10)
    ('index.html',)
    """
    paths = sorted(path for path in sizes if _asked_for(path))
    for endings in DOWNLOADS:
        if sum(sizes[path] for path in paths) <= most_bytes:
            break
        paths = [path for path in paths if not (path.startswith(f"{DATA_FOLDER}/") and path.endswith(endings))]
    return tuple(paths)


def _asked_for(path: str) -> bool:
    parts = path.split("/")
    return not (
        path in {WORKER_PATH, "404.html"}
        or path.endswith(".map")
        or any(part.startswith(".") for part in parts)
        or parts[-1] in {"sitemap.xml", "sitemap.xml.gz"}
    )


def worker(template: str, files: Mapping[str, str], *, version: str, date: str, changes: str) -> str:
    """Return the worker from its template and the SHA-256 of every file to keep, in hexadecimal, by path.

    `version` and `date` are those that every page shows, `changes` is told before a new version is taken. The list is
    sorted and the name of the cache comes from it alone, so that the same pages give the same worker.
    """
    if template.count(POCKET_LINE) != 1:
        raise PocketError(f"the template of the worker needs this line once: {POCKET_LINE.strip()}")
    listed = sorted(files.items())
    filled = {
        "id": _digest(f"{path}\n{digest}\n" for path, digest in listed),
        "version": version,
        "date": date,
        "changes": changes,
    }
    fields = "".join(f"    {name}: {json.dumps(text)},\n" for name, text in filled.items())
    rows = ",\n".join(f"      {json.dumps(pair)}" for pair in listed)
    return template.replace(POCKET_LINE, f"  var POCKET = {{\n{fields}    files: [\n{rows}\n    ],\n  }};\n")


def _digest(lines: Iterable[str]) -> str:
    return hashlib.sha256("".join(lines).encode()).hexdigest()


def changes_text(moves: Moves | None) -> str:
    """Return in one sentence what a version of the data brings, empty where no former version was kept."""
    if moves is None:
        return ""
    moved = sum(move.before is not None and move.after is not None for move in moves.moved)
    counts = (
        (len(moves.added), "added"),
        (len(moves.gone) + len(moves.parted), "gone or parted"),
        (len(moves.renamed), "renamed"),
    )
    told = [f"{count} record{'s' if count > 1 else ''} {what}" for count, what in counts if count]
    if moved:
        told.append(f"{moved} value{'s' if moved > 1 else ''} moved")
    return f"Since data {moves.before}: {', '.join(told) or 'no number moved'}."
