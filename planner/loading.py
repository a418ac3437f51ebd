"""YAML files to a `Dataset`: the only reader.

Every fault of every file is collected and raised at once, each as
`file:line:column: field: expected ..., got ...; next step`. The reading is stricter than YAML 1.1: a key may stand
once, only `true` and `false` are booleans, and what looks like a date, a base-60 number, an octal or an exponent
must be written plainly or quoted.
"""

import contextlib
import gc
import hashlib
import math
import os
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

import yaml
from pydantic import ValidationError

from planner.errors import DataError, Problem, UnknownIdError, nearest, quoted
from planner.records import (
    HIGHWAY_SCHEDULE,
    ID_LENGTH,
    ID_PATTERN,
    LEAD_TABLES,
    RECORD_KINDS,
    URBAN_SCHEDULE,
    Adapter,
    Commissioning,
    CommissioningRun,
    Connector,
    Coverage,
    Dataset,
    DatasetInfo,
    Fault,
    Folder,
    KeptException,
    LintExceptions,
    Rates,
    Record,
    Reference,
    Rig,
    Source,
    Split,
    numbers_without_one_source,
    references,
    run_faults,
)

# What records name for the pages alone: a plan does not read it. Leads are read for a rig at another outlet.
NOT_PLANNED_BY = frozenset({"mates", "looks_like"})
LEADS = frozenset({"leads", "leads_at_depot"})

__all__ = ["KnownPlaces", "Located", "Places", "load", "load_for_plan", "read_yaml", "shipped", "validate"]

Loader = yaml.CSafeLoader if yaml.__with_libyaml__ else yaml.SafeLoader

Mark = tuple[str, int, int]  # file as shown, line, column; counted from 1, as editors do
KeyPath = tuple[str | int, ...]
M = TypeVar("M", bound=Record)

SINGLE_FILES = ("sources.yaml", "rates.yaml", "dataset.yaml", "coverage.yaml", "exceptions.yaml")
# Folders beside those of records: generated schemas, and snapshots of former versions.
OTHER_FOLDERS = ("schema", "releases")
LARGEST_FILE_BYTES = 2_000_000
DEEPEST_NESTING = 20

# Plain text that is no text.
_WORDS = {"true": True, "false": False, "": None, "null": None, "~": None}
_NUMBER = re.compile(r"[-+]?(0|[1-9][0-9]*)(\.[0-9]+)?")
# These are compiled where they are first needed: most files never need them, and start-up is counted.
_NUMBER_LIKE = (
    r"[-+]?\.?[0-9][0-9_,.]*([eE][-+]?[0-9]+)?|[-+]?0[xXoObB]?[0-9a-fA-F_]+|[-+]?\.([iI][nN][fF]|[nN][aA][nN])"
)
_BASE_60 = r"[-+]?[0-9]+(:[0-5]?[0-9])+(\.[0-9]*)?"
_DATE = r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}([Tt ].*)?"
_BEGINS_A_NUMBER = frozenset("+-.0123456789")
_LOOKS_BOOLEAN = {"yes", "no", "on", "off", "y", "n", "true", "false"}
# What YAML forbids, other line ends than an editor counts, and what turns the direction of text on a screen.
_UNREADABLE = (
    "[^\t\n\r\x20-\x7e\xa0-\u061b\u061d-\u200d\u2010-\u2027\u202f-\u2065\u206a-\ud7ff\ue000-\ufefe\uff00-\ufffd"
    "\U00010000-\U0010ffff]"
)


@dataclass
class Places:
    """Where the keys and values of a file stand: what the parser noted, looked up only when somebody asks."""

    shown: str
    noted: list[tuple[KeyPath, Any, Any]] = field(default_factory=list)  # path, the parser's marks of key and value

    @cached_property
    def of_values(self) -> dict[KeyPath, Mark]:
        """Return the place of each value by its path."""
        return {(): (self.shown, 1, 1)} | {path: self._mark(value) for path, _, value in self.noted}

    @cached_property
    def of_keys(self) -> dict[KeyPath, Mark]:
        """Return the place of each key by the path of its value."""
        return {path: self._mark(key) for path, key, _ in self.noted if key is not None}

    def _mark(self, mark: Any) -> Mark:
        return self.shown, mark.line + 1, mark.column + 1


@dataclass
class KnownPlaces:
    """Where the keys and values of a record stand that was put together from several."""

    of_values: dict[KeyPath, Mark]
    of_keys: dict[KeyPath, Mark]


@dataclass
class Located:
    """A file as read: its data, the place of each key and value in it, and the paths already found faulty."""

    data: dict[str, Any]
    places: Places | KnownPlaces
    digest: bytes = b""
    faulty: set[KeyPath] = field(default_factory=set)
    base: "Located | None" = None
    based_on: Mark | None = None

    @property
    def marks(self) -> dict[KeyPath, Mark]:
        """Return the place of each value by its path."""
        return self.places.of_values

    @property
    def key_marks(self) -> dict[KeyPath, Mark]:
        """Return the place of each key by the path of its value."""
        return self.places.of_keys

    def place(self, path: Sequence[str | int]) -> Mark:
        """Return the place of a value, or of the nearest thing around it that exists."""
        steps = tuple(path)
        while steps and steps not in self.marks:
            steps = steps[:-1]
        value, key = self.marks[steps], self.key_marks.get(steps)
        # A block starts on the line after its key; the key is where a person looks.
        return key if key is not None and key[:2] != value[:2] else value


def shipped() -> Path:
    """Return the folder that holds `vehicle_data`, `site_src` and `mkdocs.yml`: inside the wheel, or the checkout."""
    package = Path(__file__).resolve().parent
    inside = package / "shipped"
    return inside if (inside / "vehicle_data").is_dir() else package.parent


def load(folders: Iterable[Path] = (), *, include_shipped: bool = True) -> Dataset:
    """Read everything: the shipped data, with the given folders laid over it, the last one on top.

    Raises `DataError` with every problem found in all of them, records that another folder covers included.
    """
    problems: list[Problem] = []
    stack = _stack(folders, include_shipped, problems)
    names = {kind: _names(stack, kind, problems) for kind in RECORD_KINDS}
    with _collector_off():
        _check_covered(stack, problems)
        return _Build(stack, problems, complete=True).dataset(names)


@contextlib.contextmanager
def _collector_off() -> Iterator[None]:
    """Keep the collector out of what is being read: nothing of it is garbage (measured: 30 % of a load)."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def load_for_plan(
    folders: Iterable[Path],
    *,
    rig_id: str,
    vehicle_id: str,
    adapters: Iterable[str] = (),
    outlet: str | None = None,
) -> Dataset:
    """Read only what a plan for this rig and class needs: the records they name, and the tables of the rig's wiring.

    `adapters` are further ones by id: the customer's own. With an `outlet` of the site the rig's leads are read too.

    Misnamed files are told here too: one that was meant to cover a record must not be passed over. Raises
    `UnknownIdError` for an id no folder has, `DataError` for the problems of the files that were read.
    """
    problems: list[Problem] = []
    stack = _stack(folders, True, problems)
    for kind in RECORD_KINDS:
        _names(stack[1:], kind, problems)
    if problems:
        raise DataError(problems)
    wanted: dict[str, set[str]] = {kind: set() for kind in RECORD_KINDS}
    wanted["rigs"].add(_known_id(stack, "rigs", rig_id))
    wanted["vehicle_classes"].add(_known_id(stack, "vehicle_classes", vehicle_id))
    wanted["adapters"] |= {_known_id(stack, "adapters", adapter) for adapter in adapters}
    if outlet is not None:
        wanted["outlets"].add(_known_id(stack, "outlets", outlet))
        wanted["tables"] |= set(LEAD_TABLES)
    wanted["schedules"] |= {URBAN_SCHEDULE, HIGHWAY_SCHEDULE}
    not_followed = NOT_PLANNED_BY if outlet is not None else NOT_PLANNED_BY | LEADS
    return _Build(stack, problems, complete=False, not_followed=not_followed).dataset(wanted)


# ---------------------------------------------------------------------------------------------------------- folders


def _stack(folders: Iterable[Path], include_shipped: bool, problems: list[Problem]) -> list[Path]:
    """Return the folders from the bottom up, after refusing what would be passed over in silence in a crew's own."""
    stack = [shipped() / "vehicle_data"] if include_shipped else []
    for folder in folders:
        if _is_directory(folder):
            stack.append(folder)
            continue
        problems.append(
            _file_problem(
                folder,
                "a folder of records",
                "a file" if _is_file(folder) else "nothing there",
                f"name a folder that holds {', '.join(RECORD_KINDS)}, or make it",
            )
        )
    for folder in stack:
        _refuse_strays(folder, problems)
    if problems:
        raise DataError(problems)
    return stack


def _is_file(path: Path) -> bool:
    return os.path.isfile(path)  # unlike `Path.is_file` false also for a name too long or a folder that is closed


def _is_directory(path: Path) -> bool:
    return os.path.isdir(path)


def _entries(folder: Path, problems: list[Problem] | None) -> list[Path]:
    """Return what a folder holds, hidden files and templates (`_name`) left out."""
    try:
        return [path for path in sorted(folder.iterdir()) if not path.name.startswith((".", "_"))]
    except OSError as error:
        if problems is not None:
            reason = error.strerror or "an error"
            problems.append(_file_problem(folder, "a folder that can be read", reason, "change its permissions"))
        return []


def _shown(path: Path) -> str:
    """Return a path as a person would type it from where they are."""
    text = str(path)
    try:
        here = os.getcwd()
    except OSError:  # the current folder is gone
        return text
    if text == here:
        return "."
    return text.removeprefix(here if here.endswith(os.sep) else here + os.sep)


def _refuse_strays(folder: Path, problems: list[Problem]) -> None:
    """Refuse what would be passed over: a misspelt folder, a `.yml`, a record in the wrong place, a dangling link."""
    for path in _entries(folder, problems):
        if _is_directory(path):
            if path.name in RECORD_KINDS or path.name in OTHER_FOLDERS:
                continue
            hint = nearest(path.name, [*RECORD_KINDS, *OTHER_FOLDERS])
            problems.append(
                _file_problem(
                    path,
                    f"one of the folders {', '.join(RECORD_KINDS)}",
                    f"folder {quoted(path.name)}",
                    f"rename it to {hint}" if hint else "move its records, or rename it",
                )
            )
        elif path.name in RECORD_KINDS or (path.name in SINGLE_FILES and not _is_file(path)):
            expected = "a file" if path.name in SINGLE_FILES else "a folder"
            problems.append(_file_problem(path, expected, "something else", "mend the link, or remove it"))
        elif path.name not in SINGLE_FILES and path.suffix.lower() in {".yaml", ".yml"}:
            single = path.stem.lower() + ".yaml"
            problems.append(
                _file_problem(
                    path,
                    "records inside the folder of their kind",
                    f"file {quoted(path.name)}",
                    f"rename it to {single}"
                    if single in SINGLE_FILES
                    else f"move it into one of {', '.join(RECORD_KINDS)}",
                )
            )


def _file_problem(path: Path, expected: str, got: str, next_step: str) -> Problem:
    return Problem(_shown(path), 1, 1, "", expected, got, next_step)


def _names(stack: Sequence[Path], kind: str, problems: list[Problem] | None) -> set[str]:
    """Return the ids of all records of a kind; what has an impossible name or is no file is a problem."""
    found = set()
    for folder in stack:
        here = folder / kind
        if not _is_directory(here):
            continue
        for path in _entries(here, problems):
            fault = _name_fault(path)
            if fault is None:
                found.add(path.stem)
            elif problems is not None:
                problems.append(_file_problem(path, *fault))
    return found


def _name_fault(path: Path) -> tuple[str, str, str] | None:
    if not _is_file(path):
        what = "a folder" if _is_directory(path) else "no readable file"
        return "a file named <id>.yaml", f"{what} {quoted(path.name)}", "move its records one level up, or remove it"
    if path.suffix != ".yaml":
        return "a file named <id>.yaml", quoted(path.name), "rename it, or move it away"
    if not _is_id(path.stem):
        return (
            f"an id of small letters, digits and single hyphens, at most {ID_LENGTH} characters",
            quoted(path.stem),
            "rename the file",
        )
    return None


def _is_id(text: str) -> bool:
    return len(text) <= ID_LENGTH and re.fullmatch(ID_PATTERN, text) is not None


def _known_id(stack: Sequence[Path], kind: str, record_id: str) -> str:
    """Return the id of an existing record, by its own or a former id."""
    found = _resolved(stack, kind, record_id)
    if found is not None:
        return found
    word, listed = {"rigs": ("rig", "rigs"), "adapters": ("adapter", "adapters"), "outlets": ("outlet", "outlets")}.get(
        kind, ("vehicle", "vehicles")
    )
    known = sorted(_names(stack, kind, None))
    raise UnknownIdError(kind=word, given=record_id, known=known, list_command=f"rangeferry list {listed}")


def _resolved(stack: Sequence[Path], kind: str, record_id: str) -> str | None:
    """Return an id that has a file; for an id that has none, that of the record that carries it under `formerly`."""
    if not _is_id(record_id):
        return None
    if _file(stack, kind, record_id) is not None:
        return record_id
    for name in sorted(_names(stack, kind, None)):  # the slow way; faults of other files are the business of `check`
        found = _file(stack, kind, name)
        located = read_yaml(found[1], []) if found else None
        formerly = located.data.get("formerly") if located else None
        if isinstance(formerly, tuple) and record_id in formerly:
            return name
    return None


def _file(stack: Sequence[Path], kind: str, name: str) -> tuple[Path, Path] | None:
    """Return folder and file of the record on top, or None."""
    for folder in reversed(stack):
        path = folder / kind / f"{name}.yaml"
        if _is_file(path):
            return folder, path
    return None


# ---------------------------------------------------------------------------------------------------------- reading


class _Fault(Exception):  # noqa: N818 - private, turned into a Problem where it is caught
    def __init__(self, problem: Problem) -> None:
        self.problem = problem


def read_yaml(path: Path, problems: list[Problem]) -> Located | None:
    """Read one file strictly. Problems are added to the list; None when the file gives no mapping.

    A fault inside a mapping (a key twice, a word that readers disagree about) is told, remembered in `faulty`, and
    does not keep the rest of the record from being checked.
    """
    shown = _shown(path)
    text, digest = _text_of(path, shown, problems)
    if text is None:
        return None
    places = Places(shown)
    located = Located({}, places, digest)
    try:
        data = _Builder(Loader(text), places, located.faulty, problems).document()
    except _Fault as fault:
        problems.append(fault.problem)
        return None
    except yaml.MarkedYAMLError as error:
        problems.append(_syntax_problem(shown, error))
        return None
    if not isinstance(data, dict):
        got = "an empty file" if data is None else f"a {_kind_of(data)}"
        problems.append(Problem(shown, 1, 1, "", "a record of `key: value` lines", got, "write the record's fields"))
        return None
    located.data = data
    return located


def _text_of(path: Path, shown: str, problems: list[Problem]) -> tuple[str | None, bytes]:
    """Return the text of a file that can be read as it looks, and the digest of its bytes."""

    def refused(line: int, column: int, expected: str, got: str, next_step: str) -> tuple[None, bytes]:
        problems.append(Problem(shown, line, column, "", expected, got, next_step))
        return None, b""

    try:
        raw = path.read_bytes()
    except OSError as error:
        return refused(1, 1, "a readable file", error.strerror or "an error", "check the file")
    if len(raw) > LARGEST_FILE_BYTES:
        return refused(1, 1, "at most 2 MB in one record", f"{len(raw)} bytes", "split it into records")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line, column = _line_and_column(raw[: error.start].decode("utf-8", "replace"))
        return refused(line, column, "text in UTF-8", f"byte 0x{raw[error.start]:02x}", "save the file as UTF-8")
    plain = text.isascii() and text.replace("\n", "").replace("\r", "").replace("\t", "").isprintable()
    bad = None if plain else re.search(_UNREADABLE, text)
    if bad is not None:
        line, column = _line_and_column(text[: bad.start()])
        return refused(
            line,
            column,
            "printable characters that keep the direction of the text",
            f"the character U+{ord(bad[0]):04X}",
            "remove it",
        )
    return text, hashlib.sha256(raw).digest()


def _line_and_column(before: str) -> tuple[int, int]:
    """Return the place behind a text, counted from 1."""
    lines = before.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    return len(lines), len(lines[-1]) + 1


def _syntax_problem(shown: str, error: yaml.MarkedYAMLError) -> Problem:
    """Place a syntax error where the thing began that was not finished, if the parser knows it."""
    unfinished = str(error.context or "").startswith(
        ("while scanning a simple key", "while scanning a quoted scalar", "while parsing a flow")
    )
    mark = (error.context_mark if unfinished else None) or error.problem_mark or error.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    reason = error.problem or "broken YAML"
    return Problem(shown, line, column, "", "well-formed YAML", reason, "mend the indentation or the punctuation here")


class _Builder:
    """Builds plain values from parser events, and remembers where each of them stands."""

    def __init__(self, parser: Any, places: Places, faulty: set[KeyPath], problems: list[Problem]) -> None:
        self.next_event = parser.get_event
        self.shown = places.shown
        self.noted = places.noted
        self.faulty = faulty
        self.problems = problems

    def document(self) -> object:
        self.next_event()  # stream start
        event = self.next_event()
        if isinstance(event, yaml.StreamEndEvent):
            return None
        if event.version is not None or event.tags:
            raise _Fault(self.problem(event, "", "a plain document", "a % directive", "remove that line"))
        value = self.value(self.next_event(), ())
        self.next_event()  # document end
        event = self.next_event()
        if not isinstance(event, yaml.StreamEndEvent):
            raise _Fault(
                self.problem(event, "", "one record in a file", "a second document", "move it to a file of its own")
            )
        return value

    def problem(self, event: Any, field_: str, expected: str, got: str, next_step: str) -> Problem:
        return Problem(self.shown, *_position(event), field_, expected, got, next_step)

    def report(self, event: Any, path: KeyPath, expected: str, got: str, next_step: str) -> None:
        self.problems.append(self.problem(event, _dotted(path), expected, got, next_step))
        self.faulty.add(path)

    def value(self, event: Any, path: KeyPath, key_mark: Any = None) -> object:
        self.noted.append((path, key_mark, event.start_mark))
        if len(path) > DEEPEST_NESTING:
            raise _Fault(self.problem(event, _dotted(path[:3]), "a flat record", "very deep nesting", "flatten it"))
        kind = type(event)
        if kind is yaml.AliasEvent:
            self.report(event, path, "the value itself", f"an alias *{event.anchor}", "repeat the value here")
            return None
        if event.anchor is not None or event.tag is not None:
            self.refuse_marks(event, path)
        if kind is yaml.ScalarEvent:
            # Quoted or a block: the C parser gives an empty style for plain text, the Python one None.
            return event.value if event.style else self.plain(event, path)
        if kind is yaml.SequenceStartEvent:
            items: list[object] = []
            next_event = self.next_event
            while type(item := next_event()) is not yaml.SequenceEndEvent:
                items.append(self.value(item, (*path, len(items))))
            return tuple(items)
        return self.mapping(path)

    def refuse_marks(self, event: Any, path: KeyPath) -> None:
        """Refuse an anchor or a tag; the value is read on."""
        if event.anchor is not None:
            self.report(event, path, "a plain value", f"an anchor &{event.anchor}", "remove the anchor")
        if event.tag is not None:
            self.report(event, path, "a plain value", f"a tag {event.tag}", "remove the tag")

    def mapping(self, path: KeyPath) -> dict[str, object]:
        result: dict[str, object] = {}
        next_event, value = self.next_event, self.value
        while (kind := type(event := next_event())) is not yaml.MappingEndEvent:
            if kind is not yaml.ScalarEvent:
                raise _Fault(
                    self.problem(
                        event, _dotted(path), "a word as key", "a list, mapping or alias", "write a field name"
                    )
                )
            key = event.value
            here = (*path, key)
            if key in result:
                first = next(mark.line + 1 for known, mark, _ in self.noted if known == here and mark is not None)
                again = f"{quoted(key)} again (first in line {first})"
                self.report(event, here, "each key once", again, "keep the one that is right")
                value(next_event(), (*path, f"{key} again"))
                continue
            if event.anchor is not None or event.tag is not None:
                self.refuse_marks(event, here)
            result[key] = value(next_event(), here, event.start_mark)
        return result

    def plain(self, event: Any, path: KeyPath) -> object:
        """Return what plain text stands for: a number, true or false, nothing, or the text itself."""
        text: str = event.value
        if text in _WORDS:
            return _WORDS[text]
        if text[0] in _BEGINS_A_NUMBER:
            number = _NUMBER.fullmatch(text)
            if number is not None:
                return float(text) if number[2] or len(text) >= 19 else int(text)
        elif len(text) > 5:  # longer than any word that readers disagree about
            return text
        advice = _misread(text)
        if advice is not None:
            self.report(event, path, advice[0], quoted(text), advice[1])
        return text


def _position(event: Any) -> tuple[int, int]:
    """Return line and column of an event, counted from 1."""
    return event.start_mark.line + 1, event.start_mark.column + 1


def _dotted(path: Sequence[str | int]) -> str:
    return ".".join(map(str, path))


def _misread(text: str) -> tuple[str, str] | None:
    """Return what was expected and what to do for plain text that YAML readers disagree about."""
    if text in {"Null", "NULL"}:
        return "null, or quoted text", f"leave the value out; if the word itself is meant, write '{text}'"
    if text.lower() in _LOOKS_BOOLEAN:
        return "true or false, or quoted text", f"write true or false; if the word itself is meant, write '{text}'"
    if text[0] not in _BEGINS_A_NUMBER:
        return None
    if re.fullmatch(_BASE_60, text):
        return "a plain number, or quoted text", f"some readers take it as a base-60 number: write '{text}' for text"
    if re.fullmatch(_DATE, text):
        return "quoted text for a date", f"write '{text}'"
    if re.fullmatch(_NUMBER_LIKE, text):
        return (
            "a number such as 12, 0.5 or -4",
            f"no leading zero, comma, underscore, exponent or bare point; for text write '{text}'",
        )
    return None


def _kind_of(value: object) -> str:
    if isinstance(value, bool):
        return "true or false"
    if isinstance(value, int | float):
        return "number"
    if isinstance(value, str):
        return "text"
    if isinstance(value, tuple | list):
        return "list"
    return "mapping" if isinstance(value, Mapping) else "blank"


def _read_record(path: Path, stack: Sequence[Path], kind: str, problems: list[Problem]) -> Located | None:
    """Read a record, the one on top; one with `based_on` is laid over its base, key by key (lists replaced whole)."""
    name = path.stem
    located = read_yaml(path, problems)
    if located is None or "based_on" not in located.data:
        return located
    base_name = located.data.pop("based_on")
    mark = located.marks[("based_on",)]

    def refused(expected: str, next_step: str, got: str = quoted(base_name)) -> None:
        problems.append(Problem(*mark, field="based_on", expected=expected, got=got, next_step=next_step))

    if not isinstance(base_name, str):
        refused("the id of one record", "write one id", f"a {_kind_of(base_name)}")
        return None
    known = _resolved(stack, kind, base_name) if base_name != name else None
    base_file = _file(stack, kind, known) if known is not None else None
    if base_file is None:
        match = nearest(base_name, _names(stack, kind, None) - {name})
        refused(
            f"the id of another record in {kind}",
            f"write {match}" if match else "name a record that exists, or write all fields here",
        )
        return None
    base = read_yaml(base_file[1], problems)
    if base is None:
        return None
    if "based_on" in base.data:
        refused(
            "a record that is whole itself",
            f"base it on {base.data['based_on']}, and repeat what {base_name} changes",
            f"{quoted(base_name)}, which is based on another",
        )
        return None
    base.data.pop("formerly", None)
    merged = _merged(base, located)
    merged.base, merged.based_on = base, mark
    return merged


def _merged(base: Located, over: Located) -> Located:
    """Lay one record over another: mappings key by key, everything else whole; `null` takes a key away.

    A part that becomes another kind (`kind: battery_inverter` over a generator) replaces the old one whole.
    """
    marks = dict(base.marks)

    def drop(path: KeyPath) -> None:
        for known in [known for known in marks if known[: len(path)] == path]:
            del marks[known]

    def lay(under: dict[str, Any], top: dict[str, Any], path: KeyPath) -> dict[str, Any]:
        result = dict(under)
        for key, value in top.items():
            here = (*path, key)
            below = result.get(key)
            if value is None and key in result:
                drop(here)
                del result[key]
            elif (
                isinstance(value, dict)
                and isinstance(below, dict)
                and value.get("kind", below.get("kind")) == below.get("kind")
            ):
                result[key] = lay(below, value, here)
            else:
                drop(here)
                result[key] = value
        return result

    data = lay(base.data, over.data, ())
    return Located(
        data,
        KnownPlaces({**marks, **over.marks}, {**base.key_marks, **over.key_marks}),
        hashlib.sha256(base.digest + over.digest).digest(),
        over.faulty | base.faulty,
    )


# ------------------------------------------------------------------------------------------------------- validating


def validate(model: type[M], located: Located, problems: list[Problem], *, record_id: str | None = None) -> M | None:
    """Return the record, or None with its problems added: each at the place in the file that caused it."""
    data = located.data
    if record_id is not None:
        if "id" in data:
            problems.append(
                Problem(
                    *located.place(("id",)),
                    field="id",
                    expected="no id inside the file",
                    got=quoted(data["id"]),
                    next_step=f"delete the line: the file name is the id ({record_id})",
                )
            )
        data = {**data, "id": record_id}
    try:
        return model.model_validate(data)
    except ValidationError as error:
        found: list[Problem] = []
        for fault in error.errors(include_url=False):
            if fault["type"] == "too_short" and len(fault["input"]) >= fault["ctx"]["min_length"]:
                continue  # its entries are there, and each is told for itself
            for path, problem in _as_problems(model, located, fault):
                if path in located.faulty or problem in found:
                    continue  # told already, by the reading or by another branch of a union
                if fault["type"] == "extra_forbidden":
                    located.faulty.add(path)
                found.append(problem)
        problems.extend(_blamed(model, located, found, record_id))
        return None


def _blamed(model: type[M], located: Located, found: list[Problem], record_id: str | None) -> list[Problem]:
    """Blame the overlay for what its base, sound by itself, is faulted for: the overlay's change broke the rule."""
    base, mark = located.base, located.based_on
    if base is None or mark is None or all(problem.path == mark[0] for problem in found):
        return found
    own: list[Problem] = []
    validate(model, base, own, record_id=record_id)
    return [
        problem
        if problem.path == mark[0] or problem in own
        else Problem(
            *mark,
            field=problem.field,
            expected=problem.expected,
            got=f"{problem.got} from the base",
            next_step=f"{problem.next_step}; or change {problem.field} here too",
        )
        for problem in found
    ]


# Suffix of a field name: its unit in words, and the words that people write for it.
_UNITS: dict[str, tuple[str, tuple[str, ...]]] = {
    "_kwh_per_100mi": ("kWh per 100 miles", ("kwh/100mi", "kwh/100 mi")),
    "_per_1000ft": ("", ()),
    "_per_10f": ("", ()),
    "_l_per_h": ("litres per hour", ("l/h",)),
    "_l_per_kwh": ("litres per kWh", ("l/kwh",)),
    "_per_kw": ("", ()),
    "_kwh": ("kilowatt-hours", ("kwh",)),
    "_kw": ("kilowatts", ("kw",)),
    "_min": ("minutes", ("min", "minutes")),
    "_a": ("amperes", ("a", "amp", "amps", "ampere", "amperes")),
    "_v": ("volts", ("v", "volt", "volts")),
    "_w": ("watts", ("w", "watt", "watts")),
    "_m": ("metres", ("m", "metre", "metres", "meter", "meters")),
    "_c": ("degrees Celsius", ("c", "°c")),
    "_l": ("litres", ("l", "litre", "litres", "liter", "liters")),
}
# Units that people write where the data wants another: by wanted suffix, their word, what is added first, the factor.
_OTHER_UNITS: dict[str, dict[str, tuple[float, float]]] = {
    "_m": {
        "ft": (0, 0.3048),
        "feet": (0, 0.3048),
        "in": (0, 0.0254),
        "cm": (0, 0.01),
        "km": (0, 1000),
        "yd": (0, 0.9144),
    },
    "_l": {"gal": (0, 3.785411784), "gallon": (0, 3.785411784), "gallons": (0, 3.785411784), "ml": (0, 0.001)},
    "_l_per_h": {"gal/h": (0, 3.785411784), "gph": (0, 3.785411784)},
    "_l_per_kwh": {"gal/kwh": (0, 3.785411784)},
    "_c": {"f": (-32, 1 / 1.8), "°f": (-32, 1 / 1.8)},
    "_w": {"kw": (0, 1000)},
    "_kw": {"w": (0, 0.001), "mw": (0, 1000)},
    "_kwh": {"wh": (0, 0.001), "mwh": (0, 1000)},
    "_a": {"ma": (0, 0.001), "ka": (0, 1000)},
    "_v": {"kv": (0, 1000), "mv": (0, 0.001)},
    "_min": {"h": (0, 60), "hours": (0, 60), "s": (0, 1 / 60)},
}
_NUMBER_AND_UNIT = r"\s*([-+]?[0-9]{1,12}(?:\.[0-9]{1,12})?)\s*([^\s0-9.,].*?)?\s*"


def _suffix_of(name: str) -> str | None:
    return next((suffix for suffix in _UNITS if name.endswith(suffix)), None)


def _unit_of(name: str) -> str | None:
    suffix = _suffix_of(name)
    return _UNITS[suffix][0] or None if suffix else None


def _plainly(value: float) -> str | None:
    """Return a number as the loader reads it, to five digits; None where that would lose it."""
    if not math.isfinite(value) or abs(value) >= 1e9 or 0 < abs(value) < 1e-5:
        return None
    return f"{float(f'{value:.5g}'):.9f}".rstrip("0").rstrip(".")


def _converted(name: str, number: float, unit: str) -> str | None:
    """Return a number brought to the unit that a field wants, written plainly; None where the unit is not known."""
    suffix = _suffix_of(name)
    if suffix is None:
        return None
    unit = unit.strip().lower()
    if unit in _UNITS[suffix][1]:
        return _plainly(number)
    add_factor = _OTHER_UNITS.get(suffix, {}).get(unit)
    return None if add_factor is None else _plainly((number + add_factor[0]) * add_factor[1])


def _as_problems(model: type[Record], located: Located, fault: Any) -> Iterator[tuple[KeyPath, Problem]]:
    """Turn one pydantic fault into problems with a place, a plain expectation and a next step."""
    kind: str = fault["type"]
    loc = _data_path(located, fault["loc"], keep_last=kind == "missing")
    if kind == "rule":
        faults: tuple[Fault, ...] = fault["ctx"]["faults"]
        for item in faults:
            path = (*loc, *item.where)
            yield path, Problem(*located.place(path), _dotted(path), item.expected, item.got, item.next_step)
        return
    place = located.place(loc)
    if kind == "extra_forbidden":
        place = located.key_marks.get(loc, place)
    if kind in {"union_tag_invalid", "union_tag_not_found"}:
        loc = (*loc, fault["ctx"]["discriminator"].strip("'"))
        place = located.place(loc)
    expected, got, next_step = _in_words(model, located, fault, loc)
    yield loc, Problem(*place, _dotted(loc), expected, got, next_step)


def _in_words(model: type[Record], located: Located, fault: Any, loc: KeyPath) -> tuple[str, str, str]:
    """Return what was expected, what was found and what to do, for every kind of fault that pydantic tells."""
    kind: str = fault["type"]
    given = fault.get("input")
    context: dict[str, Any] = fault.get("ctx", {})
    name = next((step for step in reversed(loc) if isinstance(step, str)), "")
    unit = next((unit for step in reversed(loc) if isinstance(step, str) and (unit := _unit_of(step))), None)
    unit_name = next((step for step in reversed(loc) if isinstance(step, str) and _suffix_of(step)), name)
    number = f"a number in {unit}" if unit else "a number"
    got = "nothing" if given is None else f"{_kind_of(given)} {quoted(given)}"
    if isinstance(given, dict | tuple):
        got = f"a {_kind_of(given)}"
    match kind:
        case "missing":
            return "this field", "nothing", f"add {loc[-1]}:" + (f" with {number}" if unit else "")
        case "extra_forbidden":
            expected, next_step = _unknown_key(model, located, loc, given)
            return expected, f"unknown key {quoted(loc[-1])}", next_step
        case "float_type" | "int_type" | "finite_number" | "int_from_float":
            return number, got, _write_the_number(name, unit_name, given, unit)
        case "bool_type":
            return "true or false", got, "write true or false, without quotes"
        case "string_type":
            quotable = isinstance(given, int | float)
            return "text", got, f"put it in quotes: '{given}'" if quotable else "write the text"
        case "literal_error":
            return f"one of {context['expected'].replace(' or ', ', ')}", got, _choose(given, context["expected"])
        case "union_tag_invalid":
            tag = context["discriminator"].strip("'")
            match_ = nearest(str(context["tag"]), re.findall(r"'([^']*)'", context["expected_tags"]))
            next_step = f"write {tag}: {match_}" if match_ else "choose one of them"
            return f"one of {context['expected_tags']}", f"{tag} {quoted(context['tag'])}", next_step
        case "union_tag_not_found":
            tag = context["discriminator"].strip("'")
            return f"{tag}:", "nothing", f"say what it is with {tag}:"
        case "greater_than" | "greater_than_equal" | "less_than" | "less_than_equal":
            word, limit = {
                "greater_than": ("above", "gt"),
                "greater_than_equal": ("of at least", "ge"),
                "less_than": ("below", "lt"),
                "less_than_equal": ("of at most", "le"),
            }[kind]
            check = "check the number and its unit" if unit else "check the number"
            return f"{number} {word} {context[limit]:g}", got, check
        case "string_pattern_mismatch":
            expected, next_step = _pattern_words(name, context["pattern"], given)
            return expected, got, next_step
        case "string_too_long" | "string_too_short" | "too_short" | "too_long":
            length = context.get("max_length", context.get("min_length"))
            what = "characters" if kind.startswith("string") else "entries"
            size = f"{len(given) if given is not None else 0}"
            long = "long" in kind
            return (
                f"at {'most' if long else 'least'} {length} {what}",
                size,
                "shorten it" if long else "add what is missing",
            )
        case "model_type" if context.get("class_name") == "Spread" and isinstance(given, int | float):
            return "a band: low, typical and high", got, f"write {{low: ..., typical: {given:g}, high: ...}}"
        case "model_type" | "dict_type" | "model_attributes_type":
            return "a mapping of `key: value` lines", got, "write its fields below, indented"
        case "tuple_type" | "list_type":
            return "a list", got, "write each entry on its own line after `- `"
        case _:
            return str(fault["msg"]).lower(), got, "see the schema of this kind: rangeferry schema"


def _choose(given: object, expected: str) -> str:
    """Say which choice was meant; a size or a number is never guessed at, a misspelt word is."""
    options = re.findall(r"'([^']*)'", expected)
    if not options:
        return "write one of these numbers, without quotes"
    if str(given) in options and not isinstance(given, str):
        return f"write {given} in quotes"
    match = nearest(str(given).lower(), options) if any(character.isalpha() for character in str(given)) else None
    return f"write {match}" if match else "choose one of them"


def _data_path(located: Located, loc: Sequence[str | int], *, keep_last: bool) -> KeyPath:
    """Drop the steps of a validation path that are not in the data: the tags of unions and `[key]` marks.

    The last step is kept where it names a field that is missing.
    """
    path: KeyPath = ()
    value: object = located.data
    for index, step in enumerate(loc):
        if isinstance(value, dict) and step in value:  # noqa: SIM114 - one type a branch, which mypy can follow
            value = value[step]
        elif isinstance(value, tuple) and isinstance(step, int) and step < len(value):
            value = value[step]
        elif index < len(loc) - 1 or not keep_last:
            continue
        path = (*path, step)
    return path


def _write_the_number(name: str, unit_name: str, given: object, unit: str | None) -> str:
    """Say which number to write, where the text holds one in a unit that is known; never one in another unit."""
    match = re.fullmatch(_NUMBER_AND_UNIT, given, re.ASCII) if isinstance(given, str) else None
    if match is not None:
        value = float(match[1])
        written = _plainly(value) if match[2] is None else _converted(unit_name, value, match[2])
        if unit is None and match[2] == "%":
            written = _plainly(value / 100)
        if written is not None:
            return f"write the number alone: {name}: {written}"
    return f"write {name}: and a number" + (f" in {unit}" if unit else "")


def _pattern_words(name: str, pattern: str, given: object) -> tuple[str, str]:
    if pattern == ID_PATTERN:
        small = str(given).lower().replace(" ", "-")
        step = f"write {small}" if _is_id(small) else "write the id of a record"
        return "an id of small letters, digits and single hyphens", step
    if name == "date":
        return "a date such as '2026-11-24'", "write year-month-day in quotes"
    if name == "version":
        return "a version such as '1.2.0'", "write three numbers with points, in quotes"
    if "A-Za-z0-9 " in pattern:
        step = "write a name" if given == "" else "remove the other characters"
        return "letters, digits, spaces and - / . , ( ) + only", step
    return "printable text on one line, without control characters", "type it again plainly"


def _unknown_key(model: type[Record], located: Located, loc: KeyPath, given: object) -> tuple[str, str]:
    """Say which field was probably meant: the same name in another unit, or the nearest spelling."""
    known = _fields_at(model, located, loc[:-1])
    if len(loc) == 1:
        known = [*(name for name in known if name != "id"), "based_on"]
    key = str(loc[-1])
    for other in known:
        suffix = _suffix_of(other)
        stem = other.removesuffix(suffix) if suffix else other
        if not suffix or not key.startswith(f"{stem}_") or key == other:
            continue
        expected = f"{other} (in {_unit_of(other)})" if _unit_of(other) else other
        typed = key.removeprefix(f"{stem}_").replace("_per_", "/")
        number = isinstance(given, int | float) and not isinstance(given, bool)
        written = _converted(other, float(given), typed) if number else None  # type: ignore[arg-type]
        return expected, f"write {other}: {written}" if written else f"convert it and write {other}"
    match = nearest(key, known)
    listed = ", ".join(name for name in known if name != "based_on")
    expected = f"one of {listed}" if known and len(listed) <= 400 else "a field of this record"
    return expected, (f"did you mean {match}?" if match else "remove it, or see the schema of this kind")


def _fields_at(model: type[Record], located: Located, path: KeyPath) -> list[str]:
    """Return the field names that a record allows at a path, found by asking its JSON schema."""
    schema = model.model_json_schema()
    node: Any = schema
    value: Any = located.data
    for step in path:
        node = _schema_for(schema, node, value)
        value = value[step]
        if isinstance(step, int):
            node = node.get("items", {})
        else:
            node = node.get("properties", {}).get(step) or node.get("additionalProperties", {})
    node = _schema_for(schema, node, value)
    return list(node.get("properties", {}))


def _schema_for(schema: Any, node: Any, value: Any) -> Any:
    """Follow references and unions to the schema that a value was meant for."""
    while True:
        if "$ref" in node:
            node = schema["$defs"][node["$ref"].rsplit("/", 1)[1]]
        elif "discriminator" in node:
            tag = value.get(node["discriminator"]["propertyName"]) if isinstance(value, dict) else None
            target = node["discriminator"]["mapping"].get(tag)
            if target is None:
                return {}
            node = {"$ref": target}
        elif "anyOf" in node:
            node = next((option for option in node["anyOf"] if option.get("type") != "null"), {})
        else:
            return node


# --------------------------------------------------------------------------------------------------------- building


class _Build:
    """Reads the wanted records, follows what they name, and checks what only many records together can show."""

    def __init__(
        self,
        stack: Sequence[Path],
        problems: list[Problem],
        *,
        complete: bool,
        not_followed: frozenset[str] = frozenset(),
    ) -> None:
        self.not_followed = not_followed
        self.stack = stack
        self.shown = {folder: _shown(folder) for folder in stack}
        self.problems = problems
        self.complete = complete
        self.places: dict[tuple[str, str], Located] = {}
        self.records: dict[str, dict[str, Reference]] = {kind: {} for kind in RECORD_KINDS}
        self.origins: dict[tuple[str, str], str] = {}

    def dataset(self, wanted: Mapping[str, set[str]]) -> Dataset:
        """Return the dataset of the wanted records; without `complete`, what they name is read as well."""
        self._read(wanted)
        self._join_runs()
        rates = self._single("rates.yaml", Rates)
        sources = self._sources() if self.complete else {}
        coverage = self._single("coverage.yaml", Coverage, needed=False) if self.complete else None
        exceptions = self._exceptions() if self.complete else ()
        self._check_adapters()
        if self.complete:
            self._check_formerly()
            self._check_splits()
            self._check_faces()
        folders = self._folders()
        if self.problems or rates is None:
            raise DataError(self.problems)
        return Dataset(
            **self.records,  # type: ignore[arg-type]
            rates=rates,
            coverage=coverage,
            exceptions=exceptions,
            sources=sources,
            origins=self.origins,
            folders=folders,
        )

    def _read(self, wanted: Mapping[str, set[str]]) -> None:
        queue = [(kind, name) for kind in RECORD_KINDS for name in sorted(wanted[kind])]
        seen = set(queue)
        for kind, name in queue:  # grows while it is walked
            found = _file(self.stack, kind, name)
            located = _read_record(found[1], self.stack, kind, self.problems) if found is not None else None
            if found is None or located is None:
                continue
            self.places[kind, name] = located
            self.origins[kind, name] = self.shown[found[0]]
            references_found = self._references(kind, located)
            named = [(folder, other) for path, folder, other in references_found if path[0] not in self.not_followed]
            record = validate(RECORD_KINDS[kind], located, self.problems, record_id=name)
            _check_sources(located, self.problems)
            if record is not None:
                self.records[kind][name] = record
            if self.complete:
                continue
            if isinstance(record, Rig):
                named += [("tables", table) for table in record.tables_needed]
                before = tuple(f"{rig_id}-" for rig_id in (name, *record.formerly))
                runs = sorted(_names(self.stack, "commissioning", None))
                named += [("commissioning", run) for run in runs if run.startswith(before)]
            for item in named:
                if item not in seen:
                    seen.add(item)
                    queue.append(item)

    def _join_runs(self) -> None:
        """Put each commissioning run into its rig's record, where what it proves is looked for."""
        rigs = self.records["rigs"]
        joined: dict[str, list[Commissioning]] = {}
        for name, record in self.records["commissioning"].items():
            assert isinstance(record, CommissioningRun)
            rig = rigs.get(record.rig)
            if not isinstance(rig, Rig):
                continue  # told as an unknown id, or as a fault of the rig itself
            located = self.places["commissioning", name]
            if not name.startswith(tuple(f"{rig_id}-" for rig_id in (rig.id, *rig.formerly))):
                expected = f"a file name that begins with {rig.id}-"
                self.problems.append(
                    Problem(*located.place(("rig",)), "rig", expected, quoted(name), "rename the file, or correct rig")
                )
            faults = list(run_faults(rig.source, record.run))
            for fault in faults:
                where = ("run", *fault.where)
                place = located.place(where)
                self.problems.append(Problem(*place, _dotted(where), fault.expected, fault.got, fault.next_step))
            if not faults:
                joined.setdefault(rig.id, []).append(record.run)
        for rig_id, runs in joined.items():
            rig = rigs[rig_id]
            assert isinstance(rig, Rig)
            rigs[rig_id] = rig.model_copy(update={"commissioning": (*rig.commissioning, *runs)})

    def _references(self, kind: str, located: Located) -> list[tuple[KeyPath, str, str]]:
        """Return what a record names, former ids brought to the present ones in its data; faults are told."""
        result = []
        for path, folder, other in list(references(kind, located.data)):
            now = _resolved(self.stack, folder, other)
            if now is None:
                if _is_id(other) and path not in located.faulty:
                    self._report_unresolved(located, path, folder, other)
                continue
            if now != other:
                _put(located.data, path, now)
            result.append((path, folder, now))
        return result

    def _report_unresolved(self, located: Located, path: KeyPath, folder: str, other: str) -> None:
        match = nearest(other, _names(self.stack, folder, None))
        self.problems.append(
            Problem(
                *located.place(path),
                field=_dotted(path),
                expected=f"the id of a record in {folder}",
                got=quoted(other),
                next_step=f"write {match}" if match else f"add {folder}/{other}.yaml, or name one of those there",
            )
        )

    def _single(self, name: str, model: type[M], *, needed: bool = True) -> M | None:
        for folder in reversed(self.stack):
            if _is_file(folder / name):
                located = read_yaml(folder / name, self.problems)
                if located is None:
                    return None
                self.places["", name] = located
                self.origins["", name] = self.shown[folder]
                found = validate(model, located, self.problems)
                _check_sources(located, self.problems)
                return found
        if needed:
            self.problems.append(Problem(name, 1, 1, "", f"a file {name} in one of the folders", "none", "add it"))
        return None

    def _exceptions(self) -> tuple[KeptException, ...]:
        """Read what each folder lets stand: a crew's own stand beside the shipped ones."""
        kept: list[KeptException] = []
        for folder in self.stack:
            path = folder / "exceptions.yaml"
            located = read_yaml(path, self.problems) if _is_file(path) else None
            found = validate(LintExceptions, located, self.problems) if located is not None else None
            version = _folder_version(folder, [])
            kept += [KeptException(item, self.shown[folder], version) for item in (found.exceptions if found else ())]
        return tuple(kept)

    def _sources(self) -> dict[str, Source]:
        """Read the sources of all folders together: a crew adds its own beside the shipped ones."""
        sources: dict[str, Source] = {}
        known: set[str] = set()
        for folder in self.stack:
            path = folder / "sources.yaml"
            located = read_yaml(path, self.problems) if _is_file(path) else None
            for source_id, data in (located.data if located else {}).items():
                assert located is not None
                known.add(source_id)
                source = self._source(located, source_id, data)
                if source is not None:
                    sources[source_id] = source
                    self.origins["sources", source_id] = self.shown[folder]
        self._check_refs(known)
        return sources

    def _source(self, located: Located, source_id: str, data: object) -> Source | None:
        mark = located.key_marks[(source_id,)]
        if not _is_id(source_id):
            self.problems.append(
                Problem(*mark, source_id, "an id of small letters, digits and hyphens", quoted(source_id), "rename it")
            )
            return None
        if not isinstance(data, dict):
            self.problems.append(
                Problem(
                    *mark, source_id, "a mapping of `key: value` lines", f"a {_kind_of(data)}", "write its fields below"
                )
            )
            return None
        places = KnownPlaces(_below(located.marks, source_id), _below(located.key_marks, source_id))
        inner = Located(data, places)
        found: list[Problem] = []
        source = validate(Source, inner, found)
        self.problems += [
            Problem(
                item.path, item.line, item.column, f"{source_id}.{item.field}", item.expected, item.got, item.next_step
            )
            for item in found
        ]
        return source

    def _check_refs(self, known: set[str]) -> None:
        for located in self.places.values():
            origins = located.data.get("sources")
            for key, origin in origins.items() if isinstance(origins, dict) else ():
                ref = origin.get("ref") if isinstance(origin, dict) else None
                if isinstance(ref, str) and _is_id(ref) and ref not in known:
                    match = nearest(ref, known)
                    self.problems.append(
                        Problem(
                            *located.place(("sources", key, "ref")),
                            field=f"sources.{key}.ref",
                            expected="an id of sources.yaml",
                            got=quoted(ref),
                            next_step=f"write {match}" if match else "add the source to sources.yaml",
                        )
                    )

    def _check_formerly(self) -> None:
        """An id is never used again: what a record was called before may not be another record's id."""
        for kind, by_id in self.records.items():
            owners: dict[str, str] = {}
            for name, record in by_id.items():
                for index, former in enumerate(record.formerly):
                    other = former if former in by_id else owners.get(former)
                    owners[former] = name
                    if other is None:
                        continue
                    own = other == name
                    self.problems.append(
                        Problem(
                            *self.places[kind, name].place(("formerly", index)),
                            field=f"formerly.{index}",
                            expected="an id that no other record has or had",
                            got=f"{quoted(former)}, which is {'this record' if own else other}",
                            next_step="delete it here"
                            if own
                            else "give one of the two another id: ids are never used again",
                        )
                    )

    def _check_splits(self) -> None:
        """A class that was parted is no class any more, and its id is never used again."""
        classes = self.records["vehicle_classes"]
        former = {former for record in classes.values() for former in record.formerly}
        for name, record in self.records["splits"].items():
            assert isinstance(record, Split)
            if name in classes or name in former:
                self.problems.append(
                    Problem(
                        *self.places["splits", name].place(("name",)),
                        field="",
                        expected="a file name that is no class's id, present or former",
                        got=quoted(name),
                        next_step="a parted class goes: remove its record, or keep it and remove this file",
                    )
                )

    def _check_adapters(self) -> None:
        """An adapter carries AC or DC only between connectors that both carry it."""
        for name, record in self.records["adapters"].items():
            assert isinstance(record, Adapter)
            for leaf in ("takes", "becomes"):
                connector = self.records["connectors"].get(getattr(record, leaf))
                if isinstance(connector, Connector) and getattr(connector, record.carries) is None:
                    self.problems.append(
                        Problem(
                            *self.places["adapters", name].place((leaf,)),
                            field=leaf,
                            expected=f"a connector that carries {record.carries}",
                            got=f"{quoted(connector.id)}, which does not",
                            next_step="correct the connector, or carries",
                        )
                    )

    def _check_faces(self) -> None:
        """A face is that of the inlet of the same id; without an inlet nothing would ever show it."""
        for name in self.records["faces"]:
            if name not in self.records["inlets"]:
                self.problems.append(
                    Problem(
                        *self.places["faces", name].place(("name",)),
                        field="",
                        expected="a file name that is the id of an inlet",
                        got=quoted(name),
                        next_step=f"add inlets/{name}.yaml, or rename the face",
                    )
                )

    def _folders(self) -> tuple[Folder, ...]:
        folders = []
        for folder in self.stack:
            digest = hashlib.sha256()
            for key in sorted(self.places):
                if self.origins.get(key) == self.shown[folder]:
                    digest.update(self.places[key].digest)
            is_shipped = folder == shipped() / "vehicle_data"
            version = _folder_version(folder, self.problems)
            folders.append(Folder("shipped" if is_shipped else self.shown[folder], version, digest.hexdigest()[:16]))
        return tuple(folders)


def _folder_version(folder: Path, problems: list[Problem]) -> str:
    """Return what a folder says of itself, its name where it says nothing."""
    path = folder / "dataset.yaml"
    located = read_yaml(path, problems) if _is_file(path) else None
    info = validate(DatasetInfo, located, problems) if located else None
    return info.version if info else folder.name


def _put(data: Any, path: KeyPath, value: object) -> None:
    """Set one value of a record as read; lists are tuples, and so made anew."""
    *way, last = path
    if isinstance(last, int):
        *outer, name = way
        holder = _walk(data, outer)
        holder[name] = tuple(value if index == last else item for index, item in enumerate(holder[name]))
    else:
        _walk(data, way)[last] = value


def _walk(data: Any, path: Iterable[str | int]) -> Any:
    for step in path:
        data = data[step]
    return data


def _check_covered(stack: Sequence[Path], problems: list[Problem]) -> None:
    """Check records, rates and sources that a folder above covers: their faults would show on the day it goes away."""
    for index, folder in enumerate(stack[:-1]):
        above = stack[index + 1 :]
        for kind in RECORD_KINDS:
            for name in sorted(_names([folder], kind, None)):
                if _file(above, kind, name) is not None:
                    path = folder / kind / f"{name}.yaml"
                    located = _read_record(path, stack[: index + 1], kind, problems)
                    if located is not None:
                        validate(RECORD_KINDS[kind], located, problems, record_id=name)
                        _check_sources(located, problems)
        covered = folder / "rates.yaml"
        if _is_file(covered) and any(_is_file(other / "rates.yaml") for other in above):
            located = read_yaml(covered, problems)
            if located is not None:
                validate(Rates, located, problems)


def _below(marks: Mapping[KeyPath, Mark], key: str) -> dict[KeyPath, Mark]:
    return {path[1:]: mark for path, mark in marks.items() if path[:1] == (key,)}


def _check_sources(located: Located, problems: list[Problem]) -> None:
    """Every number is covered by exactly one entry of `sources`, and every entry covers something."""
    without = [
        (path, covering)
        for path, covering in numbers_without_one_source(located.data)
        if not any(path[: len(bad)] == bad for bad in located.faulty)  # a number under a key that must go anyway
    ]
    # One line under `sources` mends all numbers of a field: it is asked for once.
    missing = Counter(path[0] for path, covering in without if not covering)
    told: set[str | int] = set()
    for path, covering in without:
        if not covering and path[0] in told:
            continue
        others = missing[path[0]] - 1 if not covering else 0
        told.add(path[0] if not covering else "")
        problems.append(
            Problem(
                *located.place(path),
                field=_dotted(path),
                expected="exactly one entry of sources that covers this number"
                + (f" and the {others} other{'s' if others > 1 else ''} under {path[0]}" if others else ""),
                got="none" if not covering else f"{len(covering)}: {', '.join(covering)}",
                next_step=f"add '{path[0]}': with ref: or basis: under sources"
                if not covering
                else "keep one of them (null takes one of a base away)",
            )
        )
    sources = located.data.get("sources")
    top_faulty = any(len(bad) == 1 for bad in located.faulty)
    for key in sources if isinstance(sources, dict) else ():
        # A misspelt field is told already; that its sources then point nowhere would send a person the wrong way.
        if not _exists(located.data, key.split(".")) and not top_faulty:
            match = nearest(key, [name for name in located.data if name != "sources"])
            problems.append(
                Problem(
                    *located.key_marks.get(("sources", key), located.place(("sources",))),
                    field=f"sources.{key}",
                    expected="the path of a field of this record",
                    got=quoted(key),
                    next_step=f"write {match}" if match else "remove it, or correct the path",
                )
            )


def _exists(value: object, steps: Sequence[str]) -> bool:
    for step in steps:
        if isinstance(value, dict) and step in value:
            value = value[step]
        elif isinstance(value, tuple) and step.isascii() and step.isdecimal() and int(step) < len(value):
            value = value[int(step)]
        else:
            return False
    return True
