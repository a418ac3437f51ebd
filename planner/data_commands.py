"""The commands around a crew's own records: begin one, lay them out, list them. They write where they are told to."""

import contextlib
import json
from argparse import Namespace
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from planner.errors import DataError, Problem, QuantityError, UnknownIdError, nearest, quoted
from planner.loading import SINGLE_FILES, load, read_yaml, shipped
from planner.records import KIND_WORDS, RECORD_KINDS, Dataset, Reference, VehicleClass
from planner.skeletons import NEW_KINDS, Names, crew_texts, names_of, skeleton, skeleton_like

__all__ = ["format_command", "list_command", "new_command"]

SERVES, DIFFERS = 0, 1
CREW_FILE = "dataset.yaml"


# -------------------------------------------------------------------------------------------------------------- begin


def new_command(options: Namespace, note: Callable[[str], None]) -> int:
    """Begin a record, or a crew's folder. What was written is told as a note; nothing is ever written over."""
    if options.what in NEW_KINDS:
        if options.name is None:
            raise QuantityError(
                name="NAME",
                given="",
                expected=f"a name for the {options.what}",
                next_step=f"write rangeferry new {options.what} 'County van' --data DIR; a folder is ./{options.what}",
            )
        return _new_record(options, note)
    for name, given in (
        ("NAME", options.name),
        ("--like", options.like),
        ("--data", ", ".join(map(str, options.data))),
    ):
        if given:
            hint = nearest(options.what, list(NEW_KINDS))
            raise QuantityError(
                name=name,
                given=given,
                expected=f"none beside a folder, and {quoted(options.what)} is no kind",
                next_step=f"write {hint}"
                if hint
                else f"begin with one of {', '.join(NEW_KINDS)}, or name the folder alone",
            )
    return _new_folder(Path(options.what), note)


def _new_folder(folder: Path, note: Callable[[str], None]) -> int:
    try:
        held = sorted(path.name for path in folder.iterdir()) if folder.exists() else []
    except OSError as error:
        raise _unwritable(folder, error) from None
    if held:
        raise QuantityError(
            name="DIR",
            given=str(folder),
            expected="a folder that is not there yet, or holds nothing",
            next_step=f"it holds {', '.join(held[:3])}{' and more' if len(held) > 3 else ''}: name another",
        )
    name = names_of(folder.resolve().name.replace("_", "-")).shown
    for path, text in crew_texts(name).items():
        _write_new(folder / path, text)
    note(f"{folder} made; next: rangeferry new vehicle NAME --data {folder}")
    return SERVES


def _new_record(options: Namespace, note: Callable[[str], None]) -> int:
    folder = _crew_folder(options.data)
    kind = NEW_KINDS[options.what]
    names = names_of(options.name)
    dataset = load(_all_of(options.data, folder))
    _refuse_taken(dataset, options.what, kind, names)
    if options.like is None:
        template = (shipped() / "vehicle_data" / kind / "_template.yaml").read_text(encoding="utf-8")
        text = skeleton(template, names)
    else:
        text = _like(dataset, options.what, kind, names, options.like)
    path = folder / kind / f"{names.record_id}.yaml"
    _write_new(path, text)
    note(f"{path} written: an example to write over, with what each field is beside it")
    note(f"next: rangeferry check --data {folder}; to see it: rangeferry pages --serve --data {folder}")
    return SERVES


def _crew_folder(folders: Sequence[Path]) -> Path:
    """Return the folder that a record goes into: the last one named, or the one that the crew stands in."""
    if folders:
        return folders[-1]
    here = Path()
    if (here / CREW_FILE).is_file() and here.resolve() != (shipped() / "vehicle_data").resolve():
        return here
    raise QuantityError(
        name="--data",
        given="",
        expected=f"the crew's folder, or a current folder that holds {CREW_FILE}",
        next_step="write --data DIR; rangeferry new DIR makes one",
    )


def _all_of(folders: Sequence[Path], folder: Path) -> list[Path]:
    return list(folders) if folders else [folder]


def _refuse_taken(dataset: Dataset, word: str, kind: str, names: Names) -> None:
    """Refuse an id that a record has or had: ids are never used again."""
    records: dict[str, Reference] = dict(getattr(dataset, kind))
    taken = names.record_id
    if kind == "vehicle_classes" and taken in dataset.splits:
        raise QuantityError(
            name="NAME",
            given=taken,
            expected="an id that no class ever had",
            next_step=f"{taken} was parted into {' and '.join(dataset.splits[taken].into)}: choose another name",
        )
    former = next((record.id for record in records.values() if taken in record.formerly), None)
    if former is not None:
        raise QuantityError(
            name="NAME",
            given=taken,
            expected=f"an id that no {word} ever had",
            next_step=f"{former} was called so: choose another name",
        )
    if taken in records:
        origin = dataset.origins.get((kind, taken), "")
        raise QuantityError(
            name="NAME",
            given=taken,
            expected=f"an id that no {word} has",
            next_step=f"it stands in {origin}: choose another name, or copy its file to cover the whole of it",
        )


def _like(dataset: Dataset, word: str, kind: str, names: Names, base_id: str) -> str:
    records: dict[str, Reference] = dict(getattr(dataset, kind))
    base = next((record for record in records.values() if base_id in (record.id, *record.formerly)), None)
    if base is None:
        listed = {"vehicle": "vehicles", "rig": "rigs", "adapter": "adapters"}[word]
        raise UnknownIdError(kind=word, given=base_id, known=sorted(records), list_command=f"rangeferry list {listed}")
    folder = Path(dataset.origins[kind, base.id])
    on_file = read_yaml(folder / kind / f"{base.id}.yaml", [])
    if on_file is not None and "based_on" in on_file.data:
        raise QuantityError(
            name="--like",
            given=base_id,
            expected="a whole record",
            next_step=f"it is itself based on {on_file.data['based_on']}: name that one",
        )
    size = base.size if isinstance(base, VehicleClass) else None
    return skeleton_like(kind, names, base.id, size)


def _write_new(path: Path, text: str) -> None:
    """Write a file that is whole or not there, and never over another."""
    made = False
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8", newline="\n") as file:
            made = True
            file.write(text)
    except FileExistsError:
        raise QuantityError(
            name="NAME", given=str(path), expected="a file that is not there yet", next_step="choose another name"
        ) from None
    except OSError as error:
        if made:
            with contextlib.suppress(OSError):
                path.unlink()
        raise _unwritable(path, error) from None


def _unwritable(path: Path, error: OSError) -> QuantityError:
    return QuantityError(
        name="DIR",
        given=str(path),
        expected="a folder that can be written to",
        next_step=f"{error.strerror or 'it failed'}: name another",
    )


# ------------------------------------------------------------------------------------------------------------- layout


def format_command(options: Namespace) -> tuple[int, str]:
    """Lay out records as all of them are. Returns the exit code, 1 with `--check` where some differ, and the text."""
    paths = [Path(name) for name in options.files] or _records_of(_all_of(options.data, _crew_folder(options.data)))
    problems: list[Problem] = []
    changed: list[tuple[Path, str]] = []
    for path in paths:
        text = _canonical(path, problems)
        if text is not None:
            changed.append((path, text))
    if not options.check:
        for path, text in changed:
            _write_over(path, text)
    lines = [f"{'not canonical' if options.check else 'laid out'}: {path}" for path, _ in changed]
    alike = len(paths) - len(changed) - len({problem.path for problem in problems})
    lines.append(f"{alike} of {len(paths)} as they should be")
    if problems:
        raise DataError(problems)  # the other files are laid out by now: each stands for itself
    return (DIFFERS if options.check and changed else SERVES), "".join(f"{line}\n" for line in lines)


def _records_of(folders: Iterable[Path]) -> list[Path]:
    """Return every file of records in crews' folders."""
    found: list[Path] = []
    for folder in folders:
        found += [folder / name for name in SINGLE_FILES if (folder / name).is_file()]
        for kind in RECORD_KINDS:
            found += sorted(path for path in (folder / kind).glob("*.yaml") if not path.name.startswith(("_", ".")))
    return found


def _canonical(path: Path, problems: list[Problem]) -> str | None:
    """Return the canonical text of a file that differs from it, None where it is canonical or has faults."""
    from planner.formatting import canonical  # the library that keeps comments is wanted here alone

    kind = path.name if path.name in SINGLE_FILES else path.resolve().parent.name
    if kind not in SINGLE_FILES and kind not in RECORD_KINDS:
        raise QuantityError(
            name="FILE",
            given=str(path),
            expected=f"a file in one of the folders {', '.join(RECORD_KINDS)}",
            next_step="name a record, or leave the files out and name the folder with --data",
        )
    found: list[Problem] = []
    located = read_yaml(path, found)
    if found or located is None:
        problems += found
        return None
    before = path.read_bytes()
    text = canonical(before.decode("utf-8"), kind, located)
    return None if text.encode("utf-8") == before else text


def _write_over(path: Path, text: str) -> None:
    """Replace a file by its canonical text, once our own reader has found the same in both."""
    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_text(text, encoding="utf-8", newline="\n")
        was, now = read_yaml(path, []), read_yaml(beside, [])
        if was is None or now is None or was.data != now.data:
            raise QuantityError(
                name="FILE",
                given=str(path),
                expected="a file that reads the same after it is laid out",
                next_step="it was left as it is; this is a fault of the program, please report it",
            )
        beside.replace(path)
    except OSError as error:
        raise _unwritable(path, error) from None
    finally:
        with contextlib.suppress(OSError):
            beside.unlink()


# --------------------------------------------------------------------------------------------------------------- list


def list_command(options: Namespace) -> str:
    """Return the records of a kind, a line each: id, name, and for a class its ports and years; or all as JSON."""
    dataset = load(options.data)
    folder = KIND_WORDS.get(options.kind, options.kind)
    records = getattr(dataset, folder)
    origins = _origins(dataset, folder, options.data)
    if options.json:
        listed = [
            {
                **({} if folder != "sources" else {"id": record_id}),
                **record.model_dump(mode="json"),
                **({"origin": dataset.origins[folder, record_id]} if options.origin else {}),
            }
            for record_id, record in records.items()
        ]
        return json.dumps(listed, indent=2, allow_nan=False) + "\n"
    rows = [
        [
            record_id,
            getattr(record, "name", None) or record.title,
            *_facts(record),
            *([origins[record_id]] if options.origin else []),
        ]
        for record_id, record in records.items()
    ]
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    return "".join(f"{line}\n" for line in lines)


def _facts(record: object) -> list[str]:
    if not isinstance(record, VehicleClass):
        return []
    kwh = record.battery.energy_usable_kwh.typical
    return [
        ", ".join(port.inlet for port in record.ports),
        f"{record.built_from}-{record.built_to or ''}",
        f"{kwh:g} kWh",
    ]


def _origins(dataset: Dataset, folder: str, overlays: Sequence[Path]) -> dict[str, str]:
    """Return the folder of each record, and that it covers one of the same id in a folder below."""
    stack = [shipped() / "vehicle_data", *overlays]
    origins = {}
    for (kind, name), origin in dataset.origins.items():
        if kind == folder:
            below = [path for path in stack if (path / folder / f"{name}.yaml").is_file()][:-1]
            covers = "shipped" if below and below[-1] == stack[0] else str(below[-1]) if below else ""
            origins[name] = f"{origin} (covers {covers})" if covers else origin
    return origins
