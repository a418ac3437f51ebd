"""A call kept as YAML: the words of `rangeferry plan` with hyphens, read as strictly as any record, and written."""

import re
import tempfile
from argparse import Namespace
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import get_args

from planner.answer import Call
from planner.call_words import DANGERS, PORT_STATES, adapter_label, call_from_words
from planner.dialogue import Words
from planner.errors import DataError, Problem, QuantityError, UnknownIdError, did_you_mean, printable, quoted
from planner.loading import KnownPlaces, Located, read_yaml
from planner.place import PLACE_KIND_WORDS
from planner.reach import Side
from planner.records import BATTERY_WORDS, BODIES_SAID

__all__ = [
    "CHOICES",
    "CallFile",
    "blank_options",
    "call_of",
    "call_text",
    "options_of",
    "read_call",
    "require_new",
    "save_call",
    "words_of",
]

STANDARD_INPUT = "-"
_YES_NO = ("yes", "no", "unknown")

# The words that one of a few values stands behind, as their options have them.
CHOICES: Mapping[str, tuple[str, ...]] = {
    "body": tuple(BODIES_SAID),
    "battery": tuple(BATTERY_WORDS),
    "fuel_door": _YES_NO,
    "charger_fits": _YES_NO,
    "charger_open": _YES_NO,
    "at": (*(kind.replace("_", "-") for kind in PLACE_KIND_WORDS), "unknown"),
    "openings": ("clear", "near", "unknown"),
    "people": ("away", "near", "unknown"),
    "traffic": ("clear", "in", "unknown"),
    "stand": get_args(Side),
    "quiet_hours": _YES_NO,
    "permission": _YES_NO,
    "danger": ("none", *DANGERS, "unknown"),
    "port_state": (*PORT_STATES, "unknown"),
    "twelve_volt": ("good", "flat", "unknown"),
    "key": ("here", "away", "none", "unknown"),
    "cabin": ("on", "off", "unknown"),
    "tank": ("empty", "fuel", "unknown"),
    "road": ("mixed",),
    "road_heat": ("on", "off"),
    "fuel": ("gasoline", "propane", "diesel"),
}
_LISTS = ("danger", "place", "customer_adapter")
_TEXTS = (
    "rig", "vehicle", "port", "customer_adapter", "body", "built", "battery", "fuel_door",
    "traffic", "danger", "at", "openings", "people", "distance", "stand", "gap", "quiet_hours", "permission",
    "start", "twelve_volt", "port_state", "key", "tank", "drove", "parked", "cabin",
    "miles", "to", "kwh", "minutes", "home", "fast_charger", "charger_fits", "charger_open", "reserve", "place",
    "ambient", "altitude", "speed", "road", "climb", "descent", "headwind", "cargo", "trailer", "road_heat",
    "outlet", "breaker", "fuel", "rig_tank", "rig_cans", "rig_charge", "other_load", "second_setting",
)  # fmt: skip
_ONE_OF_TWO = (("speed", "road"),)
_YEARS = (1990, 2100)  # as in the records of classes
# What every YAML reader takes for text and for nothing else; all other text is written in quotes.
_PLAIN = re.compile(
    r"[a-z][a-z0-9]*(-[a-z0-9]+)*"
    r"|-?[1-9][0-9]{0,8}(%|mi|km|min|h|ft|m|mph|kmh|lb|kg|gal|L|A|V|kW|W|kWh|F|C)?"
)
_NOT_PLAIN = frozenset({"yes", "no", "on", "off", "y", "n", "true", "false", "null"})


@dataclass(frozen=True, slots=True)
class CallFile:
    """A call as read from a file: its words, and where each of them stands."""

    words: Words
    located: Located

    def faults(self, error: QuantityError | UnknownIdError) -> DataError:
        """Return an error about a word of this call as one with the place of the word in the file."""
        return DataError([self._problem(error)])

    def _problem(self, error: QuantityError | UnknownIdError) -> Problem:
        if isinstance(error, QuantityError):
            name = error.name.removeprefix("--").replace("-", "_")
            expected, got, step = error.expected, quoted(error.given), _hyphened(error.next_step)
        else:
            # An id is told by its value: the words for a kind of record are not those of the options.
            name = next((word for word in self.words if error.given in _ids(self.words[word])), "")
            article = "an" if error.kind[0] in "aeiou" else "a"
            expected, got = f"{article} {error.kind} on record", quoted(error.given)
            hint = did_you_mean(error.given, error.known).strip()
            step = f"{hint} " * bool(hint) + "list them with: " + str(error).rpartition("List them with: ")[2]
        if name == "customer_adapter" and isinstance(error, QuantityError):
            step = f"{_example(name)}; in quotes, since its comma parts a list"
        path: tuple[str | int, ...] = ()
        if name in self.words:
            path = (_key(name),)
            value = self.words[name]
            given = error.given
            if isinstance(value, tuple) and isinstance(self.located.data.get(_key(name)), tuple):
                path += tuple([index for index, item in enumerate(value) if given in (item, *_ids(item))][:1])
        mark = self.located.place(path)
        # A fault of the whole call is told at its first line, by its own name.
        return Problem(*mark, _key(name) if path else _about(error), _hyphened(expected), got, step)


def _about(error: QuantityError | UnknownIdError) -> str:
    """Return what an error is about, as a person says it."""
    return error.name.removeprefix("--") if isinstance(error, QuantityError) else error.kind


def blank_options() -> Namespace:
    """Return the options of `plan` with nothing said, each at its default, for a call that may be known by halves."""
    blank: dict[str, object] = dict.fromkeys(_TEXTS)
    blank |= {name: [] for name in _LISTS}
    return Namespace(**blank | {"road_heat": "on", "json": False, "data": [], "half_known": True})


def options_of(words: Words) -> Namespace:
    """Return the options that say these words. Raises `QuantityError` for a word that has none of its values."""
    options = blank_options()
    for name, value in words.items():
        for item in (value,) if isinstance(value, str) else value:
            _check(name, item)
        setattr(options, name, list(value) if name in _LISTS else int(str(value)) if name == "built" else value)
    for one, other in _ONE_OF_TWO:
        if one in words and other in words:
            raise QuantityError(
                name=f"--{_key(other)}",
                given=str(words[other]),
                expected=f"no {_key(other)} beside {_key(one)}",
                next_step="leave one of them out",
            )
    if options.start is None:
        options.start = "unknown"
    return options


def call_of(words: Words) -> Call:
    """Return the call that words say, read as options are. Raises `QuantityError`."""
    options = options_of(words)
    for text in options.customer_adapter:
        adapter_label(text)
    return call_from_words(options, lambda _: None)


def words_of(options: Namespace) -> dict[str, str | tuple[str, ...]]:
    """Return the words that options say: all that do not stand at their default."""
    blank = blank_options()
    words: dict[str, str | tuple[str, ...]] = {}
    for name in _TEXTS:
        value = getattr(options, name, None)
        if value is None or value == getattr(blank, name):
            continue
        words[name] = tuple(value) if name in _LISTS else str(value)
    return words


def _check(name: str, text: str) -> None:
    if name in CHOICES and text not in CHOICES[name]:
        near = did_you_mean(text, CHOICES[name]).strip()
        raise QuantityError(
            name=f"--{_key(name)}",
            given=text,
            expected=f"one of {', '.join(CHOICES[name])}",
            next_step=f"{near} Else leave it out where it is not known".strip()
            if near
            else "write one of them, or leave it out where it is not known",
        )
    if name == "built" and not (text.isdecimal() and text.isascii() and _YEARS[0] <= int(text[:9]) <= _YEARS[1]):
        raise QuantityError(
            name="--built",
            given=text,
            expected=f"a year from {_YEARS[0]} to {_YEARS[1]}",
            next_step="write --built 2013, or leave it out",
        )


# ------------------------------------------------------------------------------------------------------------- reading


def read_call(source: str, lines: Callable[[], str | None]) -> CallFile:
    """Return the call in a file; `-` takes it from `lines`, which gives one at a time and None at the end.

    Raises `DataError` with every fault that is found in it, each with its place.
    """
    problems: list[Problem] = []
    located = _from_lines(lines, problems) if source == STANDARD_INPUT else read_yaml(Path(source), problems)
    if located is None:
        raise DataError(problems)
    problems = [problem for problem in problems if not _means_one_thing(located, problem)]
    words: dict[str, str | tuple[str, ...]] = {}
    for key, value in located.data.items():
        name = key.replace("-", "_")
        if name not in _TEXTS or "_" in key:
            problems.append(_unknown_key(located, key))
            continue
        found = _texts(located, key, value, problems)
        if found is not None:
            words[name] = found
    call = CallFile(words, located)
    problems += _all_faults(call)
    if problems:
        raise DataError(problems)
    return call


def _from_lines(lines: Callable[[], str | None], problems: list[Problem]) -> Located | None:
    """Read what was piped in, by the one strict reader, which reads files."""
    text = ""
    while (line := lines()) is not None:
        text += line + "\n"
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "call.yaml"
        path.write_bytes(text.encode("utf-8", "surrogateescape"))
        found: list[Problem] = []
        located = read_yaml(path, found)
    problems += [replace(problem, path=STANDARD_INPUT) for problem in found]
    if located is not None:
        named = (
            {step: (STANDARD_INPUT, line, column) for step, (_, line, column) in marks.items()}
            for marks in (located.marks, located.key_marks)
        )
        located.places = KnownPlaces(*named)
    return located


def _means_one_thing(located: Located, problem: Problem) -> bool:
    """Return whether plain text that YAML readers disagree about has one meaning here: `quiet-hours: yes`, `0F`."""
    key, _, index = problem.field.partition(".")
    value = located.data.get(key)
    if index.isdecimal() and isinstance(value, tuple):
        value = value[int(index)] if int(index) < len(value) else None
    if not isinstance(value, str) or quoted(value) != problem.got:
        return False
    return value in CHOICES.get(key.replace("-", "_"), ()) or re.fullmatch(r"-?0+(\.0+)?[FC]", value) is not None


def _unknown_key(located: Located, key: str) -> Problem:
    keys = [_key(name) for name in _TEXTS]
    near = did_you_mean(key, keys).strip() or did_you_mean(key.replace("_", "-"), keys).strip()
    return Problem(
        *located.key_marks[(key,)],
        printable(key),
        "a word of a call",
        "an unknown key",
        near or f"use one of: {', '.join(keys)}",
    )


def _texts(located: Located, key: str, value: object, problems: list[Problem]) -> str | tuple[str, ...] | None:
    """Return a value as it would be typed; None where it is none, which is told."""
    name = key.replace("-", "_")

    def refused(path: Sequence[str | int], expected: str, got: str, step: str) -> None:
        problems.append(Problem(*located.place(path), key, expected, got, step))

    if isinstance(value, tuple):
        if name not in _LISTS:
            refused((key,), "one value", "a list", "keep the one that is right")
            return None
        texts = [_text(name, item) for item in value]
        for index, text in enumerate(texts):
            if text is None:
                refused((key, index), "one word or quantity", "something else", _example(name))
        if not texts:
            refused((key,), "one value or several", "an empty list", f"{_example(name)}, or leave it out")
        return None if None in texts or not texts else tuple(text for text in texts if text is not None)
    found = _text(name, value)
    if found is None:
        got = "nothing" if value is None else "a mapping" if isinstance(value, Mapping) else quoted(value).lower()
        refused((key,), "a word or a quantity", got, f"{_example(name)}, or leave it out")
        return None
    return (found,) if name in _LISTS else found


def _text(name: str, value: object) -> str | None:
    if isinstance(value, bool):
        # Some editors turn a bare yes into true: where yes or on is one of the values, it can mean nothing else.
        told = {True: ("yes", "on"), False: ("no", "off")}[value]
        return next((word for word in told if word in CHOICES.get(name, ())), None)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return repr(value)
    return value if isinstance(value, str) and value else None


_EXAMPLES = {
    "rig": "pass-truck", "vehicle": "midsize-suv", "port": "j1772", "built": "2013", "start": "12%", "to": "80%",
    "place": "[home=32mi]", "danger": "[crash]", "customer_adapter": '["their-j3400-to-j1772=80A,250V"]',
    "miles": "45mi", "home": "32mi", "fast_charger": "12mi", "kwh": "10kWh", "minutes": "45min", "reserve": "10%",
    "distance": "20ft", "gap": "3ft", "drove": "20min", "parked": "6h", "ambient": "20F", "altitude": "7000ft",
    "speed": "65mph", "climb": "2500ft", "descent": "800ft", "headwind": "20mph", "cargo": "400lb", "trailer": "3000lb",
    "outlet": "nema-14-30", "breaker": "30A", "rig_tank": "5gal", "rig_cans": "20L", "rig_charge": "70%",
    "other_load": "500W", "second_setting": "16A",
}  # fmt: skip


def _example(name: str) -> str:
    value = _EXAMPLES[name] if name in _EXAMPLES else _scalar(CHOICES[name][0])
    return f"write {_key(name)}: {value}"


def _all_faults(call: CallFile) -> list[Problem]:
    """Return what cannot be read, word by word: a word that was told is left out, and the rest is read again."""
    problems: list[Problem] = []
    left = dict(call.words)
    while True:
        try:
            call_of(left)
        except QuantityError as error:
            problems.append(call._problem(error))
            name = error.name.removeprefix("--").replace("-", "_")
            if name not in left:
                return problems
            del left[name]
        else:
            return problems


def _key(name: str) -> str:
    return name.replace("_", "-")


def _ids(value: str | tuple[str, ...]) -> tuple[str, ...]:
    return tuple(item.partition("=")[0].strip() for item in ((value,) if isinstance(value, str) else value))


def _hyphened(text: str) -> str:
    """Return what an option's message says in the words of a file: `--start 12%` is `start: 12%`."""
    return re.sub(r"--([a-z][a-z-]*)", r"\1", re.sub(r"write --([a-z][a-z-]*) ", r"write \1: ", text))


# ------------------------------------------------------------------------------------------------------------- writing


def call_text(words: Words) -> str:
    """Return a call as YAML: its words in the order of a call, the same that `read_call` takes."""
    lines = []
    for name in _TEXTS:
        value = words.get(name)
        if isinstance(value, str):
            lines.append(f"{_key(name)}: {_scalar(value)}")
        elif value:
            lines.append(f"{_key(name)}: [{', '.join(map(_scalar, value))}]")
    return "".join(f"{line}\n" for line in lines)


def _scalar(text: str) -> str:
    if text not in _NOT_PLAIN and _PLAIN.fullmatch(text):
        return text
    escaped = printable(text).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def require_new(path: Path) -> None:
    """Refuse a file that a call cannot be kept in, before it is spoken."""
    if path.exists():
        raise _refused_file(path, "a name that no file has")
    if not path.parent.is_dir():
        raise _refused_file(path, "a file in a folder that exists")


def save_call(path: Path, words: Words) -> None:
    """Write a call into a new file. Raises `QuantityError`: a call that is kept is never written over."""
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(call_text(words))
    except FileExistsError:
        raise _refused_file(path, "a name that no file has") from None
    except OSError as error:
        raise _refused_file(path, "a file that can be written", error.strerror) from None


def _refused_file(path: Path, expected: str, reason: str | None = None) -> QuantityError:
    """Return the error of a file that a call cannot be kept in."""
    step = "name another file, or move that one away"
    return QuantityError(
        name="--save", given=str(path), expected=expected, next_step=f"{reason}: {step}" if reason else step
    )
