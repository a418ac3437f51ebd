"""YAML files to a `Dataset`: the only reader.

Every fault of every file is collected and raised at once, each as
`file:line:column: field: expected ..., got ...; next step`. The reading is stricter than YAML 1.1: a key may stand
once, only `true` and `false` are booleans, and what looks like a date, a base-60 number, an octal or an exponent
must be written plainly or quoted.
"""

import hashlib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

import yaml
from pydantic import ValidationError

from planner.errors import DataError, Problem, UnknownIdError, nearest, quoted
from planner.records import (
    ID_LENGTH,
    ID_PATTERN,
    KIND_WORDS,
    RECORD_KINDS,
    Dataset,
    DatasetInfo,
    Folder,
    Rates,
    Record,
    Reference,
    Rig,
    Source,
    numbers_without_one_source,
    references,
)

__all__ = ["Located", "load", "load_for_plan", "read_yaml", "shipped", "shipped_version", "validate"]

Loader = yaml.CSafeLoader if yaml.__with_libyaml__ else yaml.SafeLoader

# Columns in messages count characters from 1, as editors do.
Mark = tuple[str, int, int]  # file as shown, line, column
KeyPath = tuple[str | int, ...]
M = TypeVar("M", bound=Record)

SINGLE_FILES = ("sources", "rates", "dataset")
LARGEST_FILE_BYTES = 2_000_000
DEEPEST_NESTING = 20

_INTEGER = re.compile(r"[-+]?(0|[1-9][0-9]*)")
_FLOAT = re.compile(r"[-+]?(0|[1-9][0-9]*)\.[0-9]+")
_NUMBER_LIKE = re.compile(r"[-+]?\.?[0-9][0-9_,.]*([eE][-+]?[0-9]+)?|[-+]?0[xob]?[0-9a-fA-F_]+|[-+]?\.(inf|nan)", re.I)
_BASE_60 = re.compile(r"[-+]?[0-9]+(:[0-5]?[0-9])+(\.[0-9]*)?")
_DATE = re.compile(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}([Tt ].*)?")
_LOOKS_BOOLEAN = {"yes", "no", "on", "off", "y", "n", "true", "false"}


@dataclass
class Located:
    """A file as read: its data, and the place of each key and value in it."""

    data: dict[str, Any]
    marks: dict[KeyPath, Mark] = field(default_factory=dict)
    key_marks: dict[KeyPath, Mark] = field(default_factory=dict)
    digest: bytes = b""

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


def shipped_version() -> str:
    """Return the version of the shipped data."""
    return _folder_version(shipped() / "vehicle_data", [])


def load(folders: Iterable[Path] = (), *, include_shipped: bool = True) -> Dataset:
    """Read everything: the shipped data, with the given folders laid over it, the last one on top.

    Raises `DataError` with every problem found in all of them.
    """
    problems: list[Problem] = []
    stack = _stack(folders, include_shipped, problems)
    _refuse_strays(stack, problems)
    names = {kind: _names(stack, kind, problems) for kind in RECORD_KINDS}
    return _build(stack, names, problems, complete=True)


def load_for_plan(folders: Iterable[Path], *, rig_id: str, vehicle_id: str) -> Dataset:
    """Read only what a plan for this rig and class needs: the records they name, and the tables of the rig's wiring.

    Raises `UnknownIdError` for an id no folder has, `DataError` for the problems of the files that were read.
    """
    problems: list[Problem] = []
    stack = _stack(folders, True, problems)
    rig_id = _known_id(stack, "rigs", rig_id, problems)
    vehicle_id = _known_id(stack, "vehicle_classes", vehicle_id, problems)
    wanted = {kind: set[str]() for kind in RECORD_KINDS}
    wanted["rigs"].add(rig_id)
    wanted["vehicle_classes"].add(vehicle_id)
    return _build(stack, wanted, problems, complete=False)


# ---------------------------------------------------------------------------------------------------------- folders


def _stack(folders: Iterable[Path], include_shipped: bool, problems: list[Problem]) -> list[Path]:
    stack = [shipped() / "vehicle_data"] if include_shipped else []
    for folder in folders:
        if not folder.is_dir():
            problems.append(
                Problem(
                    path=str(folder),
                    line=1,
                    column=1,
                    field="",
                    expected="a folder of records",
                    got="a file" if folder.exists() else "nothing there",
                    next_step=f"name a folder that holds {', '.join(RECORD_KINDS)}, or make it",
                )
            )
            continue
        stack.append(folder)
    if problems:
        raise DataError(problems)
    return stack


def _shown(path: Path) -> str:
    """Return a path as a person would type it from where they are."""
    try:
        return str(path.relative_to(Path.cwd()))
    except ValueError:
        return str(path)


def _refuse_strays(stack: Sequence[Path], problems: list[Problem]) -> None:
    """Refuse files that would be passed over in silence: a misspelt folder, a `.yml`, a record in the wrong place."""
    for folder in stack:
        for path in sorted(folder.iterdir()):
            if path.name.startswith((".", "_")):
                continue
            if path.is_dir():
                if path.name in RECORD_KINDS or path.name == "schema":
                    continue
                problems.append(
                    _file_problem(
                        path,
                        f"one of the folders {', '.join(RECORD_KINDS)}",
                        f"folder {quoted(path.name)}",
                        _rename_hint(path.name, [*RECORD_KINDS, "schema"], "move its records, or rename it"),
                    )
                )
            elif path.stem not in SINGLE_FILES and path.suffix in {".yaml", ".yml"}:
                problems.append(
                    _file_problem(
                        path,
                        "records inside the folder of their kind",
                        f"file {quoted(path.name)}",
                        f"move it into one of {', '.join(RECORD_KINDS)}",
                    )
                )


def _rename_hint(given: str, known: Iterable[str], otherwise: str) -> str:
    match = nearest(given, known)
    return f"rename it to {match}" if match else otherwise


def _file_problem(path: Path, expected: str, got: str, next_step: str) -> Problem:
    return Problem(_shown(path), 1, 1, "", expected, got, next_step)


def _names(stack: Sequence[Path], kind: str, problems: list[Problem] | None) -> set[str]:
    """Return the ids of all records of a kind; files with an impossible name are problems."""
    found = set()
    for folder in stack:
        here = folder / kind
        if not here.is_dir():
            continue
        for path in sorted(here.iterdir()):
            if path.name.startswith((".", "_")) or path.is_dir():
                continue
            if path.suffix != ".yaml":
                if problems is not None:
                    problems.append(
                        _file_problem(path, "a file named <id>.yaml", quoted(path.name), "rename it, or move it away")
                    )
                continue
            if not re.fullmatch(ID_PATTERN, path.stem) or len(path.stem) > ID_LENGTH:
                if problems is not None:
                    problems.append(
                        _file_problem(
                            path,
                            f"an id of small letters, digits and single hyphens, at most {ID_LENGTH} characters",
                            quoted(path.stem),
                            "rename the file",
                        )
                    )
                continue
            found.add(path.stem)
    return found


def _known_id(stack: Sequence[Path], kind: str, record_id: str, problems: list[Problem]) -> str:
    if re.fullmatch(ID_PATTERN, record_id) and any((folder / kind / f"{record_id}.yaml").is_file() for folder in stack):
        return record_id
    known = _names(stack, kind, None)
    for name in sorted(known):  # the slow way: an id that was renamed
        located = _read_record(stack, kind, name, problems)
        formerly = located.data.get("formerly") if located else None
        if isinstance(formerly, tuple) and record_id in formerly:
            return name
    problems.clear()  # faults of other files are the business of `check`
    typed = {folder: word for word, folder in KIND_WORDS.items() if word != folder}.get(kind, kind)
    word = RECORD_KINDS[kind].kind_word if kind == "rigs" else "vehicle"  # type: ignore[attr-defined]
    raise UnknownIdError(kind=word, given=record_id, known=sorted(known), list_command=f"rangeferry list {typed}")


def _file(stack: Sequence[Path], kind: str, name: str) -> tuple[Path, Path] | None:
    """Return folder and file of the record on top, or None."""
    for folder in reversed(stack):
        path = folder / kind / f"{name}.yaml"
        if path.is_file():
            return folder, path
    return None


# ---------------------------------------------------------------------------------------------------------- reading


class _Fault(Exception):  # noqa: N818 - private, turned into a Problem where it is caught
    def __init__(self, problem: Problem) -> None:
        self.problem = problem


def read_yaml(path: Path, problems: list[Problem]) -> Located | None:
    """Read one file strictly. Problems are added to the list; None when the file gives no mapping."""
    shown = _shown(path)
    try:
        raw = path.read_bytes()
    except OSError as error:
        problems.append(Problem(shown, 1, 1, "", "a readable file", error.strerror or "an error", "check the file"))
        return None
    if len(raw) > LARGEST_FILE_BYTES:
        problems.append(
            Problem(shown, 1, 1, "", "at most 2 MB in one record", f"{len(raw)} bytes", "split it into records")
        )
        return None
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        column = error.start - raw.rfind(b"\n", 0, error.start)
        problems.append(
            Problem(
                shown, line, column, "", "text in UTF-8", f"byte 0x{raw[error.start]:02x}", "save the file as UTF-8"
            )
        )
        return None
    located = Located({}, {(): (shown, 1, 1)}, {}, hashlib.sha256(raw).digest())
    parser = Loader(text)
    before = len(problems)
    try:
        data = _Builder(parser, shown, located, problems).document()
    except _Fault as fault:
        problems.append(fault.problem)
        return None
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        reason = error.problem or "broken YAML"
        problems.append(
            Problem(shown, line, column, "", "well-formed YAML", reason, "mend the indentation or the punctuation here")
        )
        return None
    except yaml.YAMLError as error:  # characters that YAML forbids
        reason = str(getattr(error, "reason", "")) or "a character that YAML forbids"
        problems.append(Problem(shown, 1, 1, "", "printable characters", reason, "remove the control characters"))
        return None
    finally:
        parser.dispose()
    if not isinstance(data, dict):
        got = "an empty file" if data is None else f"a {_kind_of(data)}"
        problems.append(Problem(shown, 1, 1, "", "a record of `key: value` lines", got, "write the record's fields"))
        return None
    located.data = data
    return located if len(problems) == before else None


class _Builder:
    """Builds plain values from parser events, and remembers where each of them stands."""

    def __init__(self, parser: Any, shown: str, located: Located, problems: list[Problem]) -> None:
        self.parser = parser
        self.shown = shown
        self.located = located
        self.problems = problems

    def document(self) -> object:
        self.parser.get_event()  # stream start
        event = self.parser.get_event()
        if isinstance(event, yaml.StreamEndEvent):
            return None
        value = self.value(self.parser.get_event(), ())
        self.parser.get_event()  # document end
        event = self.parser.get_event()
        if not isinstance(event, yaml.StreamEndEvent):
            raise self.fault(event, "", "one record in a file", "a second document", "move it to a file of its own")
        return value

    def fault(self, event: Any, field_: str, expected: str, got: str, next_step: str) -> _Fault:
        return _Fault(Problem(self.shown, *_position(event), field_, expected, got, next_step))

    def value(self, event: Any, path: KeyPath) -> object:
        field_ = ".".join(map(str, path))
        self.located.marks[path] = (self.shown, *_position(event))
        if isinstance(event, yaml.AliasEvent):
            raise self.fault(event, field_, "the value itself", f"an alias *{event.anchor}", "repeat the value here")
        if event.anchor is not None:
            raise self.fault(event, field_, "a plain value", f"an anchor &{event.anchor}", "remove the anchor")
        if event.tag is not None and not (isinstance(event, yaml.ScalarEvent) and event.tag == "!"):
            raise self.fault(event, field_, "a plain value", f"a tag {event.tag}", "remove the tag")
        if len(path) > DEEPEST_NESTING:
            raise self.fault(event, field_, "a flat record", "very deep nesting", "flatten it")
        if isinstance(event, yaml.ScalarEvent):
            return self.scalar(event, field_)
        if isinstance(event, yaml.SequenceStartEvent):
            items: list[object] = []
            while not isinstance(item := self.parser.get_event(), yaml.SequenceEndEvent):
                items.append(self.value(item, (*path, len(items))))
            return tuple(items)
        mapping: dict[str, object] = {}
        first: dict[str, int] = {}
        while not isinstance(key_event := self.parser.get_event(), yaml.MappingEndEvent):
            if not isinstance(key_event, yaml.ScalarEvent):
                raise self.fault(key_event, field_, "a word as key", "a list or mapping", "write a field name")
            key = key_event.value
            here = (*path, key)
            line, column = _position(key_event)
            self.located.key_marks[here] = (self.shown, line, column)
            value = self.value(self.parser.get_event(), here)
            if key in mapping:
                self.problems.append(
                    Problem(
                        self.shown,
                        line,
                        column,
                        ".".join(map(str, here)),
                        "each key once",
                        f"{quoted(key)} again (first in line {first[key]})",
                        "keep the one that is right",
                    )
                )
            else:
                mapping[key] = value
                first[key] = line
        return mapping

    def scalar(self, event: Any, field_: str) -> object:
        text: str = event.value
        if event.style:  # quoted or a block: the C parser gives an empty style for plain text, the Python one None
            return text
        if _INTEGER.fullmatch(text):
            return int(text) if len(text) < 19 else float(text)
        if _FLOAT.fullmatch(text):
            return float(text)
        if text == "true":
            return True
        if text == "false":
            return False
        if text in {"", "null", "~"}:
            return None
        advice = _misread(text)
        if advice is not None:
            expected, next_step = advice
            self.problems.append(Problem(self.shown, *_position(event), field_, expected, quoted(text), next_step))
        return text


def _position(event: Any) -> tuple[int, int]:
    """Return line and column of an event, counted from 1."""
    return event.start_mark.line + 1, event.start_mark.column + 1


def _misread(text: str) -> tuple[str, str] | None:
    """Return what was expected and what to do for plain text that YAML readers disagree about."""
    if text.lower() in _LOOKS_BOOLEAN or text in {"Null", "NULL"}:
        return "true or false, or quoted text", f"write true or false; if the word itself is meant, write '{text}'"
    if _BASE_60.fullmatch(text):
        return "a plain number, or quoted text", f"some readers take it as a base-60 number: write '{text}' for text"
    if _DATE.fullmatch(text):
        return "quoted text for a date", f"write '{text}'"
    if _NUMBER_LIKE.fullmatch(text):
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
    return "mapping" if isinstance(value, Mapping) else "nothing"


def _read_record(stack: Sequence[Path], kind: str, name: str, problems: list[Problem]) -> Located | None:
    """Read the record on top; one with `based_on` is laid over its base, key by key (lists are replaced whole)."""
    found = _file(stack, kind, name)
    if found is None:
        return None
    located = read_yaml(found[1], problems)
    if located is None or "based_on" not in located.data:
        return located
    base_name = located.data.pop("based_on")
    mark = located.marks[("based_on",)]
    base_file = _file(stack, kind, base_name) if isinstance(base_name, str) and base_name != name else None
    if base_file is None:
        known = _names(stack, kind, None) - {name}
        match = nearest(str(base_name), known)
        problems.append(
            Problem(
                *mark,
                field="based_on",
                expected=f"the id of another record in {kind}",
                got=quoted(base_name),
                next_step=f"write {match}" if match else "name a record that exists, or write all fields here",
            )
        )
        return None
    base = read_yaml(base_file[1], problems)
    if base is None:
        return None
    if "based_on" in base.data:
        problems.append(
            Problem(
                *mark,
                field="based_on",
                expected="a record that is whole itself",
                got=f"{quoted(base_name)}, which is based on another",
                next_step=f"base it on {base.data['based_on']}, and repeat what {base_name} changes",
            )
        )
        return None
    base.data.pop("formerly", None)
    return _merged(base, located)


def _merged(base: Located, over: Located) -> Located:
    def lay(under: dict[str, Any], top: dict[str, Any], path: KeyPath) -> dict[str, Any]:
        result = dict(under)
        for key, value in top.items():
            here = (*path, key)
            if isinstance(value, dict) and isinstance(result.get(key), dict):
                result[key] = lay(result[key], value, here)
            else:
                for known in [known for known in marks if known[: len(here)] == here]:
                    del marks[known]
                result[key] = value
        return result

    marks = dict(base.marks)
    data = lay(base.data, over.data, ())
    return Located(
        data,
        {**marks, **over.marks},
        {**base.key_marks, **over.key_marks},
        hashlib.sha256(base.digest + over.digest).digest(),
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
        for fault in error.errors(include_url=False):
            problem = _as_problem(model, located, fault)
            if problem not in problems:
                problems.append(problem)
        return None


_UNITS = {
    "_kwh_per_100mi": "kWh per 100 miles",
    "_per_1000ft": "a share per 1000 ft",
    "_per_10f": "a share per 10 F",
    "_l_per_h": "litres per hour",
    "_l_per_kwh": "litres per kWh",
    "_per_kw": "a share per kW",
    "_kwh": "kilowatt-hours",
    "_kw": "kilowatts",
    "_min": "minutes",
    "_a": "amperes",
    "_v": "volts",
    "_w": "watts",
    "_m": "metres",
    "_c": "degrees Celsius",
    "_l": "litres",
}
# Units that people write where the data wants another: suffix typed, suffix wanted, factor, offset added first.
_SWAPS = {
    ("_ft", "_m"): (0.3048, 0.0),
    ("_in", "_m"): (0.0254, 0.0),
    ("_km", "_m"): (1000.0, 0.0),
    ("_gal", "_l"): (3.785411784, 0.0),
    ("_f", "_c"): (1 / 1.8, -32.0),
    ("_kw", "_w"): (1000.0, 0.0),
    ("_w", "_kw"): (0.001, 0.0),
    ("_wh", "_kwh"): (0.001, 0.0),
    ("_h", "_min"): (60.0, 0.0),
    ("_s", "_min"): (1 / 60, 0.0),
    ("_ma", "_a"): (0.001, 0.0),
    ("_kv", "_v"): (1000.0, 0.0),
}


def _unit_of(name: str) -> str | None:
    return next((unit for suffix, unit in _UNITS.items() if name.endswith(suffix)), None)


def _as_problem(model: type[Record], located: Located, fault: Any) -> Problem:
    """Turn one pydantic fault into a problem with a place, a plain expectation and a next step."""
    kind: str = fault["type"]
    loc = _data_path(located, fault["loc"], keep_last=kind == "missing")
    given = fault.get("input")
    context: dict[str, Any] = fault.get("ctx", {})
    if kind == "rule":
        inner = str(context["field"])
        steps = tuple(int(step) if step.isdigit() else step for step in inner.split(".")) if inner else ()
        path = (*loc, *steps)
        return Problem(
            *located.place(path),
            field=".".join(map(str, path)),
            expected=context["expected"],
            got=context["got"],
            next_step=context["next_step"],
        )
    name = next((step for step in reversed(loc) if isinstance(step, str)), "")
    place = located.place(loc)
    got = f"{_kind_of(given)} {quoted(given)}" if not isinstance(given, dict | tuple) else f"a {_kind_of(given)}"
    if given is None:
        got = "nothing"
    unit = next((unit for step in reversed(loc) if isinstance(step, str) and (unit := _unit_of(step))), None)
    number = f"a number in {unit}" if unit else "a number"
    match kind:
        case "missing":
            expected, got = "this field", "nothing"
            next_step = f"add {loc[-1]}:" + (f" with {number}" if unit else "")
        case "extra_forbidden":
            place = located.key_marks.get(loc, place)
            expected, next_step = _unknown_key(model, located, loc, given)
            got = f"unknown key {quoted(loc[-1])}"
        case "float_type" | "int_type":
            expected, next_step = number, _write_the_number(name, given, unit)
        case "bool_type":
            expected, next_step = "true or false", "write true or false, without quotes"
        case "string_type":
            expected = "text"
            next_step = f"put it in quotes: '{given}'" if isinstance(given, int | float) else "write the text"
        case "literal_error":
            expected = f"one of {context['expected'].replace(' or ', ', ')}"
            options = re.findall(r"'([^']*)'", context["expected"])
            match_ = nearest(str(given), options)
            next_step = f"write {match_}" if match_ else "choose one of them"
            if str(given) in options:
                next_step = f"write {given} in quotes" if not isinstance(given, str) else "choose one of them"
            elif not options:
                next_step = "write one of these numbers, without quotes"
        case "union_tag_invalid":
            expected = f"one of {context['expected_tags']}"
            tag = context["discriminator"].strip("'")
            got = f"{tag} {quoted(context['tag'])}"
            match_ = nearest(str(context["tag"]), re.findall(r"'([^']*)'", context["expected_tags"]))
            next_step = f"write {tag}: {match_}" if match_ else "choose one of them"
            place = located.place((*loc, tag))
            loc = (*loc, tag)
        case "union_tag_not_found":
            tag = context["discriminator"].strip("'")
            expected, got, next_step = f"{tag}:", "nothing", f"say what it is with {tag}:"
        case "greater_than" | "greater_than_equal" | "less_than" | "less_than_equal":
            word = {
                "greater_than": ("above", "gt"),
                "greater_than_equal": ("of at least", "ge"),
                "less_than": ("below", "lt"),
                "less_than_equal": ("of at most", "le"),
            }[kind]
            expected = f"{number} {word[0]} {context[word[1]]:g}"
            next_step = "check the number and its unit" if unit else "check the number"
        case "finite_number":
            expected, next_step = number, "write a plain number"
        case "string_pattern_mismatch":
            expected, next_step = _pattern_words(name, context["pattern"])
        case "string_too_long" | "string_too_short" | "too_short" | "too_long":
            length = context.get("max_length", context.get("min_length"))
            expected = f"{'at most' if 'long' in kind else 'at least'} {length} " + (
                "characters" if kind.startswith("string") else "entries"
            )
            next_step = "shorten it" if "long" in kind else "add what is missing"
            got = f"{len(given) if given is not None else 0}"
        case "model_type" | "dict_type" | "model_attributes_type":
            expected, next_step = "a mapping of `key: value` lines", "write its fields below, indented"
        case "tuple_type" | "list_type":
            expected, next_step = "a list", "write each entry on its own line after `- `"
        case _:
            expected, next_step = str(fault["msg"]).lower(), "see the schema of this kind: rangeferry schema"
    return Problem(*place, field=".".join(map(str, loc)), expected=expected, got=got, next_step=next_step)


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


def _write_the_number(name: str, given: object, unit: str | None) -> str:
    if isinstance(given, str):
        number = re.match(r"\s*([-+]?\d+(\.\d+)?)", given)
        if number:
            return f"write the number alone: {name}: {number[1]}"
    return f"write {name}: and a number" + (f" in {unit}" if unit else "")


def _pattern_words(name: str, pattern: str) -> tuple[str, str]:
    if pattern == ID_PATTERN:
        return "an id of small letters, digits and single hyphens", "write the id of a record"
    if name == "date":
        return "a date such as '2026-11-24'", "write year-month-day in quotes"
    if name == "name" or "A-Za-z0-9 " in pattern:
        return "letters, digits, spaces and - / . , ( ) + only", "remove the other characters"
    return "printable text without control or direction-changing characters", "type it again plainly"


def _unknown_key(model: type[Record], located: Located, loc: KeyPath, given: object) -> tuple[str, str]:
    """Say which field was probably meant: the same name in another unit, or the nearest spelling."""
    known = [name for name in _fields_at(model, located, loc[:-1]) if name != "id"]
    key = str(loc[-1])
    for (typed, wanted), (factor, offset) in _SWAPS.items():
        if key.endswith(typed) and (other := key.removesuffix(typed) + wanted) in known:
            if isinstance(given, int | float) and not isinstance(given, bool):
                return f"{other} (in {_unit_of(other)})", f"write {other}: {(given + offset) * factor:.4g}"
            return f"{other} (in {_unit_of(other)})", f"convert it and write {other}"
    match = nearest(key, known)
    expected = "a field of this record" if not known else f"one of {', '.join(known)}"
    if len(expected) > 400:
        expected = "a field of this record"
    return expected, (f"did you mean {match}?" if match else "remove it, or see the schema of this kind")


def _fields_at(model: type[Record], located: Located, path: KeyPath) -> list[str]:
    """Return the field names that a record allows at a path, found by asking its JSON schema."""
    schema = model.model_json_schema()
    node: Any = schema
    value: Any = located.data
    for step in path:
        node = _resolved(schema, node, value)
        value = value[step]
        if isinstance(step, int):
            node = node.get("items", {})
        else:
            node = node.get("properties", {}).get(step) or node.get("additionalProperties", {})
    node = _resolved(schema, node, value)
    return list(node.get("properties", {}))


def _resolved(schema: Any, node: Any, value: Any) -> Any:
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


def _build(
    stack: Sequence[Path], wanted: Mapping[str, set[str]], problems: list[Problem], *, complete: bool
) -> Dataset:
    """Read, validate and resolve; with `complete` false, what the wanted records name is read as well."""
    records: dict[str, dict[str, Reference]] = {kind: {} for kind in RECORD_KINDS}
    origins: dict[tuple[str, str], str] = {}
    places: dict[tuple[str, str], Located] = {}
    queue = [(kind, name) for kind in RECORD_KINDS for name in sorted(wanted[kind])]
    seen = set(queue)
    for kind, name in queue:  # grows while it is walked
        found = _file(stack, kind, name)
        located = _read_record(stack, kind, name, problems)
        if found is None or located is None:
            continue
        record = validate(RECORD_KINDS[kind], located, problems, record_id=name)
        _check_sources(located, problems)
        if record is None:
            continue
        records[kind][name] = record
        origins[kind, name] = _shown(found[0])
        places[kind, name] = located
        if complete:
            continue
        named = [(folder, other) for _, folder, other in references(record)]
        if isinstance(record, Rig):
            named += [("tables", table) for table in record.tables_needed()]
        for item in named:
            if item not in seen and _file(stack, *item) is not None:
                seen.add(item)
                queue.append(item)
    for (kind, name), located in places.items():
        for path, folder, other in references(records[kind][name]):
            if other not in records[folder] and (complete or _file(stack, folder, other) is None):
                _report_unresolved(stack, located, path, folder, other, problems)
    rates = _single(stack, "rates", Rates, problems)
    sources = _sources(stack, problems) if complete else {}
    if complete:
        _check_refs(stack, places, sources, problems)
        _check_formerly(records, places, problems)
    folders = _folders(stack, origins, places, problems)
    if problems or rates is None:
        raise DataError(problems)
    return Dataset(
        **records,  # type: ignore[arg-type]
        rates=rates,
        sources=sources,
        origins=origins,
        folders=folders,
    )


def _folders(
    stack: Sequence[Path],
    origins: Mapping[tuple[str, str], str],
    places: Mapping[tuple[str, str], Located],
    problems: list[Problem],
) -> tuple[Folder, ...]:
    folders = []
    for index, folder in enumerate(stack):
        digest = hashlib.sha256()
        for key in sorted(places):
            if origins[key] == _shown(folder):
                digest.update(places[key].digest)
        shipped_one = folder == shipped() / "vehicle_data"
        name = "shipped" if shipped_one else _shown(folder)
        version = _folder_version(folder, problems) if shipped_one or index == 0 else folder.name
        folders.append(Folder(name, version, digest.hexdigest()[:16]))
    return tuple(folders)


def _folder_version(folder: Path, problems: list[Problem]) -> str:
    path = folder / "dataset.yaml"
    located = read_yaml(path, problems) if path.is_file() else None
    info = validate(DatasetInfo, located, problems) if located else None
    return info.version if info else folder.name


def _report_unresolved(
    stack: Sequence[Path], located: Located, path: str, folder: str, other: str, problems: list[Problem]
) -> None:
    steps = tuple(int(step) if step.isdigit() else step for step in path.split("."))
    known = _names(stack, folder, None)
    if other in known:
        return  # it exists and is faulty itself: its own problems say so
    match = nearest(other, known)
    problems.append(
        Problem(
            *located.place(steps),
            field=path,
            expected=f"the id of a record in {folder}",
            got=quoted(other),
            next_step=f"write {match}" if match else f"add {folder}/{other}.yaml, or name one of those there",
        )
    )


def _single(stack: Sequence[Path], name: str, model: type[M], problems: list[Problem]) -> M | None:
    for folder in reversed(stack):
        path = folder / f"{name}.yaml"
        if path.is_file():
            located = read_yaml(path, problems)
            if located is None:
                return None
            _check_sources(located, problems)
            return validate(model, located, problems)
    problems.append(Problem(f"{name}.yaml", 1, 1, "", f"a file {name}.yaml in one of the folders", "none", "add it"))
    return None


def _sources(stack: Sequence[Path], problems: list[Problem]) -> dict[str, Source]:
    """Read the sources of all folders together: a crew adds its own beside the shipped ones."""
    sources: dict[str, Source] = {}
    for folder in stack:
        path = folder / "sources.yaml"
        located = read_yaml(path, problems) if path.is_file() else None
        for source_id, data in (located.data if located else {}).items():
            assert located is not None
            mark = located.key_marks[(source_id,)]
            if not re.fullmatch(ID_PATTERN, source_id):
                problems.append(
                    Problem(*mark, source_id, "an id of small letters, digits and hyphens", quoted(source_id), "rename")
                )
            elif not isinstance(data, dict):
                problems.append(
                    Problem(*mark, source_id, "a mapping of `key: value` lines", f"a {_kind_of(data)}", "indent them")
                )
            else:
                inner = Located(data, _below(located.marks, source_id), _below(located.key_marks, source_id))
                source = validate(Source, inner, problems)
                if source is not None:
                    sources[source_id] = source
    return sources


def _below(marks: Mapping[KeyPath, Mark], key: str) -> dict[KeyPath, Mark]:
    return {path[1:]: mark for path, mark in marks.items() if path[:1] == (key,)}


def _check_sources(located: Located, problems: list[Problem]) -> None:
    for path, covering in numbers_without_one_source(located.data):
        field_ = ".".join(map(str, path))
        problems.append(
            Problem(
                *located.place(path),
                field=field_,
                expected="exactly one entry of sources that covers this number",
                got="none" if not covering else f"{len(covering)}: {', '.join(covering)}",
                next_step=f"add '{path[0]}': with ref: or basis: under sources" if not covering else "keep one of them",
            )
        )
    sources = located.data.get("sources")
    if isinstance(sources, dict):
        for key in sources:
            if not _exists(located.data, key.split(".")):
                problems.append(
                    Problem(
                        *located.key_marks.get(("sources", key), located.place(("sources",))),
                        field=f"sources.{key}",
                        expected="the path of a field of this record",
                        got=quoted(key),
                        next_step=_rename_hint(key, located.data, "remove it, or correct the path").replace(
                            "rename it to", "write"
                        ),
                    )
                )


def _exists(value: object, steps: Sequence[str]) -> bool:
    for step in steps:
        if isinstance(value, dict) and step in value:
            value = value[step]
        elif isinstance(value, tuple) and step.isdigit() and int(step) < len(value):
            value = value[int(step)]
        else:
            return False
    return True


def _check_refs(
    stack: Sequence[Path],
    places: Mapping[tuple[str, str], Located],
    sources: Mapping[str, Source],
    problems: list[Problem],
) -> None:
    located_files = list(places.values())
    for folder in stack:
        if (folder / "rates.yaml").is_file() and (located := read_yaml(folder / "rates.yaml", [])) is not None:
            located_files.append(located)
    for located in located_files:
        for key, origin in (located.data.get("sources") or {}).items():
            ref = origin.get("ref") if isinstance(origin, dict) else None
            if isinstance(ref, str) and ref not in sources:
                match = nearest(ref, sources)
                problems.append(
                    Problem(
                        *located.place(("sources", key, "ref")),
                        field=f"sources.{key}.ref",
                        expected="an id of sources.yaml",
                        got=quoted(ref),
                        next_step=f"write {match}" if match else "add the source to sources.yaml",
                    )
                )


def _check_formerly(
    records: Mapping[str, Mapping[str, Reference]],
    places: Mapping[tuple[str, str], Located],
    problems: list[Problem],
) -> None:
    """An id is never used again: what a record was called before may not be another record's id."""
    for kind, by_id in records.items():
        owners: dict[str, str] = {}
        for name, record in by_id.items():
            for index, former in enumerate(record.formerly):
                other = former if former in by_id else owners.get(former)
                if other is not None:
                    problems.append(
                        Problem(
                            *places[kind, name].place(("formerly", index)),
                            field=f"formerly.{index}",
                            expected="an id that no other record has or had",
                            got=f"{quoted(former)}, which is {other}",
                            next_step="give one of the two another id: ids are never used again",
                        )
                    )
                owners[former] = name
