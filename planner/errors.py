"""The errors this package raises, and how their messages are worded.

PlannerError           a mistake that a person can mend; shown as sentences, never as a traceback
  DataError            files are unreadable or break their schema        problems (all of a run)
  UnknownIdError       no record has this id                             kind, given, known
  QuantityError        a value on the command line cannot be read        name, given, expected, next_step
  OutOfRangeError      a formula was used outside its validity           name, value, low, high, unit

The core knows nothing of the command line: `cli` turns these into exit codes.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

__all__ = [
    "DataError",
    "OutOfRangeError",
    "PlannerError",
    "Problem",
    "QuantityError",
    "UnknownIdError",
    "did_you_mean",
    "nearest",
    "printable",
    "quoted",
]

SHOWN_CHARACTERS = 60  # a longer value is cut in a message, so that one line stays one line


class PlannerError(Exception):
    """The base of every error that a person can mend."""


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One fault in one file: where, what was expected, what was found, what to do next."""

    path: str
    line: int
    column: int
    field: str
    expected: str
    got: str
    next_step: str

    def __str__(self) -> str:
        place = f"{self.path}:{self.line}:{self.column}"
        field = f" {self.field}:" if self.field else ""
        return printable(f"{place}:{field} expected {self.expected}, got {self.got}; {self.next_step}")


class DataError(PlannerError):
    """Files are unreadable or break their schema; every problem of the run is listed."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(sorted(set(problems)))  # a base is read once for each dependant
        super().__init__("\n".join(str(problem) for problem in self.problems))


class UnknownIdError(PlannerError):
    """No record has this id."""

    def __init__(self, *, kind: str, given: str, known: Sequence[str], list_command: str) -> None:
        self.kind = kind
        self.given = given
        self.known = tuple(known)
        hint = did_you_mean(given, known)
        containing = [word for word in known if given and given in word]
        if not hint and containing:
            hint = f" These contain it: {', '.join(containing[:8])}."
        super().__init__(f"unknown {kind} {quoted(given)}.{hint} List them with: {list_command}")


class QuantityError(PlannerError):
    """A value on the command line cannot be read."""

    def __init__(self, *, name: str, given: str, expected: str, next_step: str) -> None:
        self.name = name
        self.given = given
        self.expected = expected
        self.next_step = next_step
        super().__init__(f"{name}: expected {expected}, got {quoted(given)}; {next_step}")


class OutOfRangeError(PlannerError):
    """A formula was used outside its validity."""

    def __init__(self, *, name: str, value: float, low: float, high: float, unit: str) -> None:
        self.name = name
        self.value = value
        self.low = low
        self.high = high
        self.unit = unit
        super().__init__(f"{name} is {value:g} {unit}, but must lie between {low:g} and {high:g} {unit}")


def quoted(value: object) -> str:
    """Return a value as one short, quoted, printable piece of a message."""
    text = printable(str(value))
    if len(text) > SHOWN_CHARACTERS:
        text = text[: SHOWN_CHARACTERS - 3] + "..."
    return f"'{text}'"


def printable(text: str) -> str:
    """Return text with every control or direction-changing character replaced: a message stays one honest line."""
    return "".join(character if character.isprintable() else "?" for character in text)


def nearest(given: str, known: Iterable[str]) -> str | None:
    """Return the known word that a person most likely meant, or None."""
    from difflib import get_close_matches  # start-up cost: wanted only once something is wrong

    words = list(known)
    longer = [word for word in words if given and word.startswith(given)]
    if longer:  # the beginning of several words is no hint at any of them
        return longer[0] if len(longer) == 1 else None
    matches = get_close_matches(given, words, n=1, cutoff=0.6)
    return matches[0] if matches else None


def did_you_mean(given: str, known: Iterable[str]) -> str:
    """Return ` Did you mean '...'?`, or nothing when no known word is near."""
    match = nearest(given, known)
    return f" Did you mean {quoted(match)}?" if match else ""
