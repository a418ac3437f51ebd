"""A sizing as JSON and as text: the results first, then the arithmetic with its source, then what to confirm.

What is needed or lost is rounded up, what is left is rounded down, bands outward.
"""

import math
import re
import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass
from typing import Any

from planner.figures import feet, temperature, volts
from planner.sizing import Sizing
from planner.units import FT_PER_M

__all__ = ["document", "to_json", "to_text"]

WIDTH = 84
LABEL_WIDTH = 21
_SLACK = 1e-9
# A number and its unit stay in one row.
_TIE = "\N{NO-BREAK SPACE}"
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:%|(?:A|AWG|C|F|L|V|W|ft|gal|kV|kVA|kPa|kW|kWh|m)\b))")


# -------------------------------------------------------------------------------------------------------------- JSON


def document(sizing: Sizing) -> dict[str, Any]:
    """Return the published form of a sizing: plain values, rounded by the unit that each name ends in."""
    result = _plain(sizing, "")
    assert isinstance(result, dict)
    return result


def to_json(sizing: Sizing) -> str:
    """Return the sizing as one JSON document. No NaN, no infinity."""
    import json  # wanted by `--json` alone

    return json.dumps(document(sizing), indent=2, allow_nan=False) + "\n"


def _plain(value: object, name: str) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return {item.name: _plain(getattr(value, item.name), item.name) for item in fields(value)}
    if isinstance(value, tuple | list):
        return [_plain(item, name) for item in value]
    if isinstance(value, float):
        return _rounded(value, name)
    return value


def _rounded(value: float, name: str) -> float:
    """Round by name: what is lost and the high end of a band up, what is left and its low end down."""
    if name in {"drop_v", "percent", "set_kva"} or "high" in name:
        return math.ceil(value * 100 - _SLACK) / 100
    if name == "voltage_evse_v" or "low" in name:
        return math.floor(value * 100 + _SLACK) / 100
    return round(value, 3)


# -------------------------------------------------------------------------------------------------------------- text


def to_text(sizing: Sizing) -> str:
    """Return the sizing as text for a terminal: the results, then why and by which source, then what to confirm.

    A run that is too long to charge is said before any result. What several lines share is said once.
    """
    lines = [line for line in sizing.lines if line.code != "caution"]
    warnings = [f"{line.what.upper()}: {line.text}" for line in lines if line.code == "warning"]
    cautions = [line for line in sizing.lines if line.code == "caution"]
    blocks = [
        list(_head(sizing)),
        *(_wrapped(text, "  ", "") for text in warnings),
        [row for line in lines if line.code != "warning" for row in _row(line.what, line.text)],
        ["Why, and by which source", *_shared((line.group, f"{line.why} [{line.source}]") for line in lines)],
        ["What a licensed person confirms", *_shared((line.group, line.confirm) for line in lines if line.confirm)],
        _wrapped(" ".join(line.text for line in cautions), "", ""),
    ]
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def _shared(said: Iterable[tuple[str, str]]) -> Iterator[str]:
    """Yield each text once, after the name of its group."""
    for group, text in dict.fromkeys(said):
        yield from _wrapped(f"{group}: {text}", "    ", "  ")


def _head(sizing: Sizing) -> Iterator[str]:
    wanted = sizing.wanted
    yield f"LEAST FOR {wanted.current_a:g} A AT {volts(wanted.voltage_v)}, on {wanted.fuel}"
    yield from _wrapped(
        f"{feet(wanted.altitude_m)}, {temperature(wanted.ambient_c)}; supply run of "
        f"{wanted.length_m * FT_PER_M:,.0f} ft ({wanted.length_m:.1f} m) one way; data {sizing.dataset_version}",
        "  ",
        "",
    )


def _row(label: str, text: str) -> list[str]:
    return _wrapped(text, " " * LABEL_WIDTH, f"{label:<{LABEL_WIDTH}}")


def _wrapped(text: str, indent: str, first: str) -> list[str]:
    rows = textwrap.wrap(
        _BEFORE_UNIT.sub(_TIE, text),
        WIDTH,
        initial_indent=first,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [row.replace(_TIE, " ") for row in rows]
