"""Every public formula as the text beside its code states it: statement, symbols with units, sources."""

import importlib
import inspect
import re
from collections.abc import Iterator
from dataclasses import dataclass

__all__ = ["FORMULA_MODULES", "Formula", "formulas"]

FORMULA_MODULES = (
    "circuit",
    "pilot",
    "proximity",
    "genset",
    "power",
    "battery",
    "pack",
    "cabin",
    "air",
    "roadload",
    "road",
)
SECTION = re.compile(r"^(Parameters|Returns|Raises|Notes|Examples|References)\n-+\n", re.MULTILINE)
PARAMETER = re.compile(r"^(\w+) : ?.*\n((?:    .*\n?)+)", re.MULTILINE)
UNIT = re.compile(r"\[([^\]]+)\]\s*$")


@dataclass(frozen=True, slots=True)
class Formula:
    """One public formula as its own text states it."""

    module: str
    name: str
    returns: str
    statement: str
    symbols: tuple[tuple[str, str, str], ...]  # name, meaning, unit
    unit: str
    sources: str


def formulas() -> Iterator[Formula]:
    """Yield every public formula with symbols, units and sources, read from the text beside its code."""
    for module_name in FORMULA_MODULES:
        module = importlib.import_module(f"planner.{module_name}")
        for name in module.__all__:
            work = getattr(module, name)
            if inspect.isfunction(work) and work.__doc__:
                yield _formula(module_name, name, inspect.cleandoc(work.__doc__) + "\n")


def _formula(module: str, name: str, text: str) -> Formula:
    pieces = SECTION.split(text)
    parts = dict(zip(pieces[1::2], pieces[2::2], strict=True))
    first, _, rest = pieces[0].strip().partition("\n\n")
    symbols = tuple(
        (match[1], *_meaning_and_unit(match[2])) for match in PARAMETER.finditer(parts.get("Parameters", ""))
    )
    _, unit = _meaning_and_unit(parts.get("Returns", ""))
    return Formula(
        module=module,
        name=name,
        returns=_without_verb(" ".join(first.split())),
        statement=" ".join(rest.split()),
        symbols=symbols,
        unit=unit,
        sources=" ".join(parts.get("References", "").split()),
    )


def _without_verb(sentence: str) -> str:
    """Return what a formula returns, without the word for returning it."""
    shorter = sentence.removeprefix("Return ").removeprefix("the ")
    return shorter[:1].upper() + shorter[1:]


def _meaning_and_unit(text: str) -> tuple[str, str]:
    flat = " ".join(text.split())
    unit = UNIT.search(flat)
    return UNIT.sub("", flat).strip(), unit[1] if unit is not None else ""
