"""The state a vehicle is in: what forbids to touch it, what has to be asked, what is worth a try and for how long."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from planner.place import LEVELS, Rule, Ruling, Subject
from planner.place import RULES as PLACE_RULES

__all__ = [
    "LONG_DEAD_H",
    "RULES",
    "Condition",
    "assumed_of_condition",
    "condition_codes",
    "condition_rulings",
    "in_order",
    "rules_in_order",
]

LONG_DEAD_H = 14 * 24  # own-judgement: two weeks without charge, from which on a vehicle may not wake by itself

_COMMON_PRACTICE = "common practice, no source"
_TWELVE_VOLT = "twelve-volt-battery"
# One wording each, so that a stop that needs it twice names it once.
_SUPPLY = "a 12 V supply with its leads"
_MANUAL = "the owner's manual of the vehicle"


@dataclass(frozen=True, slots=True)
class Condition:
    """What is known of the vehicle itself; None is not known, `danger_unknown` that nobody there can tell."""

    crash: bool | None = None
    water: bool | None = None  # above the sills, now or earlier
    smoke: bool | None = None  # or hissing, popping, a sweet or sharp smell, a warm floor
    warning: bool | None = None  # a high-voltage, battery or stop warning on the dash
    danger_unknown: bool = False
    port: Literal["good", "wet", "damaged", "frozen", "locked"] | None = None
    twelve_volt: Literal["good", "flat"] | None = None
    key: Literal["here", "away", "none"] | None = None


RULES: tuple[Rule, ...] = (
    Rule(
        "smoke",
        "refuse",
        "Smoke, hissing, popping, a sweet or sharp smell, or a warm floor",
        "Smoke, hissing, popping, a sharp or sweet smell, a warm floor: everybody 75 ft (25 m) away or more and "
        "upwind, call 911.",
        "Nobody goes back to move it, unplug it or put it out.",
        "erg-147",
        "danger",
    ),
    Rule(
        "water",
        "refuse",
        "Water above the sills, now or earlier",
        "Water has stood above its sills, now or earlier: we do not charge it and nobody switches it on.",
        "A flatbed tow, 50 ft (15 m) from buildings and other vehicles, and a workshop.",
        "usfa-flooded-ev",
        "danger",
    ),
    Rule(
        "crash",
        "refuse",
        "After a crash",
        "After a crash we do not charge it, even if it looks whole.",
        "Keep away from what is bent; a flatbed tow, 50 ft (15 m) from buildings and other vehicles, and a workshop.",
        "nhtsa-damaged-ev",
        "danger",
    ),
    Rule(
        "high_voltage_warning",
        "refuse",
        "A high-voltage, battery or stop warning on the dash",
        "With a high-voltage, battery or stop warning on the dash we do not charge it.",
        "Switch it off, everybody out, a flatbed tow to a workshop.",
        "ev-dash-warnings",
        "danger",
    ),
    Rule(
        "no_key",
        "refuse",
        "No key, card or phone for it, here or anywhere",
        "Without a key it cannot be unlocked, put in Park or released, and nobody can say that we may touch it.",
        "First its owner, with a key; else a tow on the owner's word.",
        _COMMON_PRACTICE,
        "key",
    ),
    Rule(
        "port_damaged",
        "refuse",
        "A port that is broken, burnt or loose inside",
        "A port that is broken, burnt or loose inside takes no plug of ours.",
        "A tow to a workshop; no tape, wedge or adapter makes it good.",
        _COMMON_PRACTICE,
        "port",
    ),
    Rule(
        "port_wet",
        "refuse",
        "A port that is wet inside",
        "With water inside its port it takes no plug.",
        "Dry it under shelter first, without a flame or a heat gun, or a tow.",
        _COMMON_PRACTICE,
        "port",
    ),
    Rule(
        "danger_not_known",
        "ask",
        "Nobody can say whether it was hit, stood in water, smokes or shows a warning",
        "Nobody goes to it before it is known to be no danger.",
        "If any of it is so: keep away, and 911 for smoke or a smell.",
        "nhtsa-damaged-ev",
        "danger",
        question="Has it been in a crash or in water, or is there any smoke, smell, sound or warning on the dash?",
    ),
    Rule(
        "key_away",
        "ask",
        "The key, card or phone is somewhere else",
        "The key is not with the vehicle, and without it we cannot charge.",
        "We come when the key does.",
        _COMMON_PRACTICE,
        "key",
        question="Can the key, card or phone be there when we come?",
    ),
    Rule(
        "which_battery",
        "ask",
        "The dash stays dark, and nobody has said whether anything lights up",
        "Behind a dark dash the battery that drives it is empty, or the 12 V battery is flat.",
        "Nothing lights up: it is the 12 V battery, which is woken first.",
        _TWELVE_VOLT,
        "battery",
        question="Does anything light up: the dome light, the locks or the key?",
    ),
    Rule(
        "twelve_volt_flat",
        "try",
        "The 12 V battery is flat: nothing lights up",
        "Its 12 V battery is flat, so it takes no charge yet.",
        "It is worth a try: bring a 12 V supply, allow {minutes} min, and give up if the dash stays dark.",
        _TWELVE_VOLT,
        "battery",
        minutes="wake_low_voltage_min",
        bring=(_SUPPLY, _MANUAL),
        give_up="Stop if the dash stays dark in {minutes} min; never on a 12 V battery that is frozen or leaks.",
    ),
    Rule(
        "long_dead",
        "try",
        f"Empty, and stood for {LONG_DEAD_H // 24} days or more",
        "It has stood {days} days with nothing left and may refuse to charge.",
        "It is a try: bring a 12 V supply, allow {minutes} min, and give up if it takes nothing.",
        "own-judgement",
        "battery",
        minutes="long_dead_min",
        bring=(_SUPPLY,),
        give_up="Stop if the meter shows no power in {minutes} min, or if a battery warning comes on.",
        on_pages=f"It has stood {LONG_DEAD_H // 24} days or more with nothing left and may refuse to charge.",
    ),
    Rule(
        "port_frozen",
        "try",
        "A port or its door that is frozen",
        "Its port is frozen: preheat the cabin, press and warm by hand, no prying, no flame, no heat gun, no hot "
        "water.",
        "Try it so: allow {minutes} min, bring de-icer for the seam only, never for contacts, and give up for a "
        "tow to warm shelter.",
        "frozen-doors",
        "port",
        minutes="thaw_port_min",
        bring=("de-icer for the seam of the door", "dry cloths"),
        give_up="Stop if the door stays shut in {minutes} min, or if there is ice or water on the contacts.",
    ),
    Rule(
        "port_locked",
        "try",
        "A port door or a latch that does not open",
        "Its port does not unlock: unlock every door with the key, then the port's own release.",
        "Try that: allow {minutes} min, never pry, and give up for a tow.",
        _COMMON_PRACTICE,
        "port",
        minutes="open_port_min",
        bring=(_MANUAL,),
        give_up="Stop if it does not open by key or release in {minutes} min.",
    ),
)
_BY_CODE = {rule.code: rule for rule in RULES}
_SUBJECTS: tuple[Subject, ...] = ("danger", "traffic", "place", "key", "battery", "port", "reach")
# Of the rules of both modules: the level first, then the subject, then as its table lists it.
_ORDER = {
    rule.code: (LEVELS.index(rule.level), _SUBJECTS.index(rule.subject), number)
    for number, rule in enumerate((*RULES, *PLACE_RULES))
}
_DANGERS = ("crash", "water", "smoke", "warning")


def condition_rulings(
    condition: Condition, *, dash_dead: bool, start_percent: int, parked_h: float | None
) -> tuple[Ruling, ...]:
    """Return what the state of the vehicle forbids, asks and makes a try, the decisive one first.

    A dark dash with a good 12 V battery is an empty traction battery. A flat 12 V battery says nothing of the other.
    """
    codes = list(condition_codes(condition))
    words = {}
    if condition.twelve_volt == "flat":
        codes.append("twelve_volt_flat")
    elif dash_dead and condition.twelve_volt is None:
        codes.append("which_battery")
    if (dash_dead or start_percent <= 0) and parked_h is not None and parked_h >= LONG_DEAD_H:
        codes.append("long_dead")
        words["days"] = int(parked_h // 24)
    return in_order(_BY_CODE[code].ruling(**words) for code in codes)


def in_order(rulings: Iterable[Ruling]) -> tuple[Ruling, ...]:
    """Return rulings of place and vehicle, the decisive one first.

    The level decides; within it danger comes before traffic, place, key, the two batteries, port and reach.
    """
    return tuple(sorted(rulings, key=lambda ruling: _ORDER[ruling.code]))


def condition_codes(condition: Condition) -> tuple[str, ...]:
    """Return the codes of the rules that the dangers, the key and the port of a vehicle meet."""
    return (*_dangers(condition), *_key_and_port(condition))


def rules_in_order() -> tuple[Rule, ...]:
    """Return the rules of place and vehicle, the decisive one first."""
    return tuple(sorted((*RULES, *PLACE_RULES), key=lambda rule: _ORDER[rule.code]))


def _dangers(condition: Condition) -> Iterable[str]:
    if condition.smoke:
        yield "smoke"
    if condition.water:
        yield "water"
    if condition.crash:
        yield "crash"
    if condition.warning:
        yield "high_voltage_warning"
    if condition.danger_unknown:
        yield "danger_not_known"


def _key_and_port(condition: Condition) -> Iterable[str]:
    if condition.key == "none":
        yield "no_key"
    elif condition.key == "away":
        yield "key_away"
    if condition.port is not None and condition.port != "good":
        yield f"port_{condition.port}"


def assumed_of_condition(condition: Condition, *, dash_dead: bool) -> tuple[str, ...]:
    """Return what is taken for granted of the vehicle because nobody has said it; what is asked is not assumed."""
    words = {"crash": "no crash", "water": "no water above the sills", "smoke": "no smoke or smell"}
    words["warning"] = "no battery warning on the dash"
    assumed = []
    if not condition.danger_unknown:
        assumed += [words[name] for name in _DANGERS if getattr(condition, name) is None]
    if condition.port is None:
        assumed.append("port whole, dry and open")
    if condition.twelve_volt is None and not dash_dead:
        assumed.append("12 V battery good")
    if condition.key is None:
        assumed.append("key there")
    return tuple(assumed)
