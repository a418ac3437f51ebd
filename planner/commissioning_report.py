"""A commissioning result as text and as JSON: the only place where its figures are rounded. Bands go outward."""

import math
import textwrap
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from planner.chain import DEFAULT_LOADING
from planner.commissioning import Check, CommissioningResult, Proof, fahrenheit, rounded_outward, shown_digits
from planner.figures import amps, feet, temperature
from planner.report import row, wrapped

__all__ = ["document", "to_json", "to_text"]

# The columns of the table of checks.
WHAT_WIDTH, MEASURED_WIDTH, EXPECTED_WIDTH = 34, 13, 19
VERDICT_WORDS = {"agrees": "AGREES", "differs": "DIFFERS", "stop": "STOP"}
MOST_PERCENT = 99  # a fit is never a proof
RESULT_WORDS = {"agrees": "agrees", "low": "TOO LOW", "high": "TOO HIGH"}


def document(result: CommissioningResult) -> dict[str, Any]:
    """Return the published form of a result: plain values, rounded by the unit they have."""
    plain = _plain(result)
    assert isinstance(plain, dict)
    return plain


def to_json(result: CommissioningResult) -> str:
    """Return a result as one JSON document. No NaN, no infinity."""
    import json  # wanted by `--json` alone

    return json.dumps(document(result), indent=2, allow_nan=False) + "\n"


def _plain(value: object) -> Any:
    if isinstance(value, Check):
        digits = shown_digits(value)
        plain = {item.name: getattr(value, item.name) for item in fields(value)}
        low, high = value.low, value.high
        plain["measured"] = round(value.measured, max(digits, 1))
        plain["low"] = None if low is None else rounded_outward(low, digits, up=False)
        plain["high"] = None if high is None else rounded_outward(high, digits, up=True)
        return plain
    if is_dataclass(value) and not isinstance(value, type):
        return {item.name: _plain(getattr(value, item.name)) for item in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    return round(value, 3) if isinstance(value, float) else value


# -------------------------------------------------------------------------------------------------------------- text


def to_text(result: CommissioningResult) -> str:
    """Return a result as text for a terminal: what to do first, each check, the causes, what to measure next."""
    blocks = [
        list(_head(result)),
        list(_table(result)),
        list(_causes(result)),
        list(_foot(result)),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _head(result: CommissioningResult) -> Iterator[str]:
    yield from wrapped(f"{VERDICT_WORDS[result.verdict]}: {result.vehicle_name} with {result.rig_name}", "  ", "")
    site = f"{temperature(result.ambient_c)}, {feet(result.altitude_m)}" + (f", {result.fuel}" if result.fuel else "")
    mark = ""
    if result.setting_mark is not None and result.setting_a is not None:
        mark = f"mark {result.setting_mark} = {amps(result.setting_a)}; "
    yield from wrapped(f"{mark}{site}", "  ", "")
    for text in result.stops:
        yield from wrapped(text, "  ", "! ")
    for text in result.do_first:
        yield from wrapped(text, "  ", "> ")
    off = sum(1 for check in result.checks if check.result != "agrees")
    if result.checks:
        count = len(result.checks)
        means = ""
        if result.verdict == "agrees":
            means = (
                ": the rig delivers what is reckoned"
                if _power_was_read(result)
                else ": what was read agrees; kilowatts were not read"
            )
        yield from wrapped(f"{count - off} of {count} checks agree{means}", "  ", "- ")


def _power_was_read(result: CommissioningResult) -> bool:
    """Return whether the power was checked: at the meter, or by volts and amps at the EVSE."""
    codes = {check.code for check in result.checks}
    return "power_metered_kw" in codes or {"voltage_evse_v", "current_a"} <= codes


def _table(result: CommissioningResult) -> Iterator[str]:
    if not result.checks:
        return
    yield f"{'Check':<{WHAT_WIDTH}}{'measured':>{MEASURED_WIDTH}}  {'expected':>{EXPECTED_WIDTH}}"
    for check in result.checks:
        lines = textwrap.wrap(check.what, WHAT_WIDTH - 2, break_long_words=False) or [""]
        word = RESULT_WORDS[check.result] + (", STOP" if check.stops else "")
        first = f"{_measured(check):>{MEASURED_WIDTH}}  {_expected(check):>{EXPECTED_WIDTH}}  {word}"
        yield f"{lines[0]:<{WHAT_WIDTH}}{first}"
        for line in lines[1:]:
            yield f"  {line}"
        if check.result != "agrees":
            yield from wrapped(f"from: {check.source}", " " * 4, "  ")


def _unit(unit: str) -> str:
    return "mi" if unit == "mi/h" else unit


def _measured(check: Check) -> str:
    digits = shown_digits(check)
    return (
        fahrenheit(check.measured, digits) if check.unit == "C" else f"{check.measured:.{digits}f} {_unit(check.unit)}"
    )


def _expected(check: Check) -> str:
    """Return the band with the digits of its reading, its ends outward."""
    low, high, digits = check.low, check.high, shown_digits(check)
    if check.unit == "C":
        assert high is not None
        return f"to {fahrenheit(high, digits)}"
    parts = []
    if low is not None:
        parts.append(f"{rounded_outward(low, digits, up=False):.{digits}f}")
    if high is not None:
        parts.append(f"{'to' if parts else 'up to'} {rounded_outward(high, digits, up=True):.{digits}f}")
    return f"{' '.join(parts)} {_unit(check.unit)}"


def _causes(result: CommissioningResult) -> Iterator[str]:
    if not result.causes:
        return
    yield "Likeliest causes, and what to check next; a share is how well it fits, not a proof"
    for number, cause in enumerate(result.causes, 1):
        share = min(math.floor(100 * cause.weight), MOST_PERCENT)
        yield from wrapped(cause.text, " " * 10, f"{number:>2}  {share:>2} %  ")
        yield from wrapped(f"Next: {cause.check_next}", " " * 10)
    if result.missing:
        yield from row("To decide", f"measure {'; '.join(result.missing)}.")


def _foot(result: CommissioningResult) -> Iterator[str]:
    for note in result.notes:
        yield from row("Note", note)
    if result.why_no_proof is not None:
        yield from row("Record", f"not kept: {result.why_no_proof}.")
    elif result.proof is None:
        yield from row(
            "Record",
            "may be kept, dated. It proves nothing of the loading of a source: only an engine has one to prove.",
        )
    else:
        yield from row("Record", f"may be kept, dated. {_proof(result.proof)}")
    yield from row(
        "Before",
        "the dead and grounding tests come before any vehicle: see the rig's commissioning sheet in the pages.",
    )
    yield from row("Who", "A qualified person measures; a licensed electrician does whatever needs a live box open.")


def _proof(proof: Proof) -> str:
    """Return what a run proves, what stood before, and whether it takes something away."""
    # The latest run counts, whatever it proved; below the share that stands without a proof, that one stands.
    after = max(proof.loading, DEFAULT_LOADING)
    text = f"It proves {proof.loading:.2f} of the derated running watts"
    if proof.loading <= DEFAULT_LOADING:
        text += f", which lifts nothing: {DEFAULT_LOADING:.2f} stands without a proof"
    mark = f", up to mark {proof.setting_mark}" if proof.setting_mark is not None else ""
    text += f"; the source then carries {amps(proof.current_a)} here{mark}; before it was {proof.loading_before:.2f}."
    if round(after, 2) < round(proof.loading_before, 2):
        text += (
            f" The latest run counts: keeping this one lowers the share from {proof.loading_before:.2f} to {after:.2f}."
        )
    return text
