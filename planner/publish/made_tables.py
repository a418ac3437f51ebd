"""Makes the tables of all classes: on every core, and only those that were not made before.

A table is kept under a digest of all that it is made of: the class, the records it may meet, and the program's own
text. A file in the store that is damaged, or that cannot be read or written, costs time and nothing else.
"""

import contextlib
import gc
import hashlib
import json
import multiprocessing
import os
import re
import signal
import sys
import tempfile
import threading
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from functools import cache
from multiprocessing.connection import wait
from pathlib import Path
from typing import Any

from planner.lookup import class_lookup
from planner.records import Dataset

__all__ = ["FEW", "made_tables", "program_texts", "store_folder"]

Told = Callable[[int, int], None]
FEW = 3  # classes: starting helpers takes longer
KEPT_FILES = 1000  # in the store, the newest; some 50 kB each
PROGRAM = Path(__file__).resolve().parents[1]
IMPORTED = re.compile(rb"^\s*from planner\.(\w+) import", re.MULTILINE)  # the one form that modules of ours use
_shared: dict[str, Dataset] = {}  # in a helper process: what it reads tables off


def store_folder() -> Path:
    """Return where made tables are kept: in the user's own folder for what may be thrown away."""
    given = os.environ.get("XDG_CACHE_HOME") or (os.environ.get("LOCALAPPDATA") if os.name == "nt" else None)
    return (Path(given) if given else Path.home() / ".cache") / "rangeferry" / "tables"


def made_tables(
    dataset: Dataset,
    *,
    store: Path | None,
    told: Told | None = None,
    cores: int | None = None,
    at_most: int | None = None,
) -> dict[str, dict[str, Any]]:
    """Return the look-up of every class by id; `store` is where former ones are kept, None for nowhere.

    `told` hears how many of how many are there; `cores` is how many helpers work, None for one a core. Where more than
    `at_most` would have to be made, none is, and those are left out.
    """
    every = len(dataset.vehicle_classes)
    rest = _without_classes(dataset)
    shared = hashlib.sha256(f"{_program_digest()}\n{rest!r}".encode()).hexdigest()
    places = {
        class_id: None
        if store is None
        else store / f"{hashlib.sha256(f'{shared}{vehicle!r}'.encode()).hexdigest()}.json"
        for class_id, vehicle in dataset.vehicle_classes.items()
    }
    found: dict[str, dict[str, Any]] = {}
    for class_id, place in places.items():
        former = None if place is None else _read(place)
        if former is not None:
            found[class_id] = former

    def keep(class_id: str, made: dict[str, Any]) -> None:
        found[class_id] = made
        place = places[class_id]
        if place is not None:
            _write(place, made)
        if told is not None:
            told(len(found), every)

    missing = [class_id for class_id in dataset.vehicle_classes if class_id not in found]
    if at_most is not None and len(missing) > at_most:
        return found
    workers = min(cores or os.cpu_count() or 1, len(missing))
    if workers > 1 and len(missing) > FEW:
        # Two builds at once begin at different classes, and each takes what the other has made meanwhile.
        first = os.getpid() % len(missing)
        _on_all_cores(dataset, [(name, places[name]) for name in missing[first:] + missing[:first]], workers, keep)
    for class_id in missing:  # few, or what broken helpers left
        if class_id not in found:
            keep(class_id, class_lookup(_alone(dataset, class_id), class_id))
    if store is not None and missing:
        _prune(store)
    return {class_id: found[class_id] for class_id in dataset.vehicle_classes}


def _without_classes(dataset: Dataset) -> Dataset:
    """Return all that a table may depend on besides its class: not where records came from."""
    return replace(dataset, vehicle_classes={}, splits={}, coverage=None, exceptions=(), origins={}, folders=())


def _alone(dataset: Dataset, class_id: str) -> Dataset:
    """Return the records with one class alone: its table cannot depend on another one."""
    return replace(_without_classes(dataset), vehicle_classes={class_id: dataset.vehicle_classes[class_id]})


def _on_all_cores(
    dataset: Dataset,
    missing: Sequence[tuple[str, Path | None]],
    workers: int,
    keep: Callable[[str, dict[str, Any]], None],
) -> None:
    # Helpers start anew and do not fork: the server that calls this has threads, which a fork would not copy.
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(workers, mp_context=context, initializer=_start_helper, initargs=(dataset,))
    try:
        waiting = {pool.submit(_helped, class_id, place): class_id for class_id, place in missing}
        for done in as_completed(waiting):
            keep(waiting[done], done.result())
    except BrokenProcessPool:  # a helper was killed, such as for want of memory: this process makes the rest
        print("A helper process was stopped; the rest is made by this one alone.", file=sys.stderr)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _start_helper(dataset: Dataset) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is answered by the process that asked
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _shared["dataset"] = dataset
    gc.freeze()  # there to the end: a quarter of a table's time went into looking through it (measured)


def _end_with_parent() -> None:
    """End this helper when the process that asked is gone, killed without a word: nobody would read what it makes."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)


def _helped(class_id: str, place: Path | None) -> dict[str, Any]:
    former = None if place is None else _read(place)
    return former if former is not None else class_lookup(_alone(_shared["dataset"], class_id), class_id)


@cache
def program_texts() -> dict[str, bytes]:
    """Return the text of every module of ours that a table can depend on, by its name."""
    texts: dict[str, bytes] = {}
    wanted = [class_lookup.__module__.rpartition(".")[2]]
    while wanted:
        module = wanted.pop()
        if module not in texts:
            texts[module] = (PROGRAM / f"{module}.py").read_bytes()
            wanted += [found.decode() for found in IMPORTED.findall(texts[module])]
    return texts


def _program_digest() -> str:
    digest = hashlib.sha256(sys.version.encode())
    for module, text in sorted(program_texts().items()):
        digest.update(module.encode() + b"\0" + text + b"\0")
    return digest.hexdigest()


def _read(place: Path) -> dict[str, Any] | None:
    """Return a table that was kept, None where there is none or where it is not what was written."""
    try:
        digest, text = place.read_text(encoding="utf-8").split("\n", 1)
        place.touch()  # the longest unused goes first
    except (OSError, ValueError):
        return None
    if digest != hashlib.sha256(text.encode()).hexdigest():
        return None
    found: dict[str, Any] = json.loads(text)
    return found


def _write(place: Path, made: Mapping[str, Any]) -> None:
    """Keep a table, whole or not at all."""
    text = json.dumps(made, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    with contextlib.suppress(OSError):
        place.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile("w", encoding="utf-8", dir=place.parent, delete=False) as beside:
            beside.write(f"{hashlib.sha256(text.encode()).hexdigest()}\n{text}")
        Path(beside.name).replace(place)


def _prune(store: Path) -> None:
    with contextlib.suppress(OSError):
        files = sorted(store.iterdir(), key=lambda path: path.stat().st_mtime, reverse=True)
        for path in files[KEPT_FILES:]:
            path.unlink()
