"""Why a commissioned rig does not read as reckoned: a catalogue of causes, each with the pattern that it brings.

A pattern says which way each reading goes with that cause; what it does not name stays as it should be. The causes are
ordered by how well their patterns fit what was seen, and what was not seen counts for none of them.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

__all__ = ["HYPOTHESES", "Cause", "Hypothesis", "likeliest"]


@dataclass(frozen=True, slots=True, eq=False)
class Cause:
    """One explanation of what does not agree, and what to check next; the weights of all shown sum to 1."""

    code: str
    text: str
    check_next: str
    weight: float


ANY = ("any",)
RIGHT = frozenset({"agrees", "none"})
# How probable it is, with a cause, to see what it predicts; to see nothing of it, since it may be small; to see
# something that it does not bring; to see the opposite. own-judgement, as are the weights of the causes.
HIT, HIDDEN, EXTRA, OPPOSITE = 0.85, 0.10, 0.04, 0.01
# A reading that a cause leaves open is right more often than not; a circumstance says nothing to a cause that does not
# name it.
OPEN_RIGHT, OPEN_OFF, NEUTRAL = 0.6, 0.2, 0.35
SHOWN_CAUSES = 5
LEAST_WEIGHT = 0.03
DECIDING = 3
LEADING = 3

# What would decide, in the words of a crew.
MEASURE = {
    "current": "the current at the EVSE, with a clamp",
    "volts": "the volts at the EVSE under load",
    "volts_no_load": "the volts without load",
    "hertz_no_load": "the hertz without load",
    "hertz": "the hertz under load",
    "volts_source": "the volts at the source under load, in the same minute as those at the EVSE",
    "product": "volts, amps and kilowatts of the same minute",
    "energy": "kWh and minutes of the whole run",
    "dash": "the kilowatts that the vehicle shows",
    "hot": "the temperature of every plug and coupler after half an hour",
    "nearly_full": "the percent on the dash at the end",
    "cold": "the air temperature",
    "propane_cold": "the fuel and the air temperature",
    "percent": "the percent on the dash at start and end, with the kWh",
    "miles": "the miles added per hour that the vehicle shows",
    "readback": "the mark that the unit shows",
}


@dataclass(frozen=True, slots=True, eq=False)
class Hypothesis:
    """A cause with the pattern that it brings; what the pattern does not name stays as it should be."""

    code: str
    weight: float  # own-judgement: how often crews meet it, for ties
    text: str
    check_next: str
    pattern: Mapping[str, tuple[str, ...]]
    sources: frozenset[str] = frozenset()  # kinds of source that can have it; none named: all
    marked_as: str | None = None  # the record's word for what the marks count, where that word may be the mistake
    fuels: frozenset[str] = frozenset()  # of the run that can have it; none named: all, and none at all


# Kinds of source as the rig's record has them.
ENGINE_SETS = frozenset({"generator"})
OUTLETS = frozenset({"site_outlet"})
# Fuels as the rig's record has them.
PROPANE = frozenset({"propane"})
LIQUID_FUELS = frozenset({"gasoline", "diesel"})
OWN_SOURCES = frozenset({"generator", "battery_inverter", "truck_export"})
# What may go either way with a fault, or only says something to the causes that name it.
_FREE = {"nearly_full": ANY, "cold": ANY, "propane_cold": ANY, "place": ANY, "volts_place": ANY, "readback": ANY}
_LOW_CURRENT = {"current": ("low",), "alone": ("low",), "miles": ANY}
_STARVED = {
    "hertz": ("low",),
    "volts": ("low", "agrees"),
    "volts_source": ("low", "agrees"),
    "fall": ("high", "agrees"),
    "current": ("agrees", "low"),
    "energy": ("low", "agrees"),
    "place": ANY,
}

HYPOTHESES: tuple[Hypothesis, ...] = (
    Hypothesis(
        "setting_low",
        1.0,
        "The unit stands at a lower mark than planned.",
        "Read the mark at the unit again; connector out, set it, read it back.",
        {**_LOW_CURRENT, "place": ("mark_lower",), "readback": ("no",)},
    ),
    Hypothesis(
        "setting_high",
        1.0,
        "The unit stands at a higher mark than planned, perhaps after a loss of power.",
        "Connector out, set it to the planned mark, read it back before anything else.",
        {"current": ("above_pilot",), "alone": ("high",), "place": ("mark_higher",), "readback": ("no",), "miles": ANY},
    ),
    Hypothesis(
        "mark_is_breaker_amps",
        0.7,
        "The mark counts breaker amps: the unit gives 0.8 of what the record says.",
        "Look up in the unit's instructions what its marks count; correct marked_as and output_a in the record.",
        {**_LOW_CURRENT, "place": ("ratio_breaker",), "readback": ANY},
        marked_as="output_amps",
    ),
    Hypothesis(
        "mark_is_output_amps",
        0.7,
        "The mark counts amps to the vehicle, not breaker amps: the unit gives 1.25 times what the record says.",
        "Stop. Look up what the marks count; correct the record, and turn the unit down.",
        {"current": ("above_pilot",), "alone": ("high",), "place": ("ratio_output",), "readback": ANY, "miles": ANY},
        marked_as="breaker_amps",
    ),
    Hypothesis(
        "vehicle_limits_itself",
        0.8,
        "The vehicle holds itself back: a current limit set in it, or a smaller charger than the class has.",
        "Look in the vehicle's charge menu for a limit in amps; look up its charger; try another vehicle.",
        {**_LOW_CURRENT, "place": ("elsewhere", "mark_lower", "ratio_breaker"), "readback": ANY},
    ),
    Hypothesis(
        "taper",
        0.6,
        "The battery is nearly full: the vehicle draws less toward the end.",
        "Take the readings again on a vehicle below 70 %.",
        {
            **_LOW_CURRENT,
            "place": ("elsewhere", "mark_lower"),
            "nearly_full": ("yes",),
            "energy": ("high", "agrees"),
            "percent": ANY,
        },
    ),
    Hypothesis(
        "no_charge",
        1.0,
        "Nothing flows: the EVSE refuses (ground check, ground-fault device), the latch is not home, or the vehicle "
        "waits for a time or has reached its own limit.",
        "Read the light or fault of the EVSE; unplug and plug in again; look for a charge timer and limit in the "
        "vehicle; have the bond at the source and the grounding conductor tested.",
        {"current": ("zero",), "alone": ("zero",), "dash": ANY, "miles": ANY, "energy": ANY, "percent": ANY},
    ),
    Hypothesis(
        "pack_heater",
        0.8,
        "The pack is cold and its heater takes part of what comes in.",
        "Read the vehicle's kilowatts again after half an hour, or after a drive.",
        {
            "dash": ("low",),
            "cold": ("yes",),
            "percent": ("low", "agrees"),
            "miles": ("low", "agrees"),
            "alone": ("low",),
        },
    ),
    Hypothesis(
        "cabin",
        0.8,
        "The cabin's heat or cooling runs while it charges.",
        "Cabin off, wait five minutes, read the vehicle's kilowatts again.",
        {"dash": ("low",), "percent": ("low", "agrees"), "miles": ("low", "agrees"), "alone": ("low",)},
    ),
    Hypothesis(
        "engine_overloaded",
        0.9,
        "The engine does not carry the load: tired, short of air, or derated more than reckoned.",
        "Turn down one mark: volts and hertz must come back. Air filter, choke, governor by the maker's instructions; "
        "check the height and the derate in the record.",
        {
            "hertz": ("low",),
            "volts": ("low",),
            "volts_source": ("low",),
            "fall": ("high",),
            "current": ("agrees", "low"),
            "place": ANY,
            "energy": ANY,
        },
        sources=ENGINE_SETS,
    ),
    Hypothesis(
        "other_load",
        0.6,
        "Something else hangs on the source: a heater, a compressor, a second vehicle.",
        "Clamp the source's own output: it must carry the EVSE's amps alone. Unplug all else and read again.",
        {
            "hertz": ("low",),
            "volts": ("low", "agrees"),
            "volts_source": ("low", "agrees"),
            "fall": ("high", "agrees"),
            "current": ("agrees",),
        },
        sources=ENGINE_SETS,
    ),
    Hypothesis(
        "fuel_starved",
        0.5,
        "The engine starves: propane too cold to boil off fast enough, a cylinder nearly empty, a valve half open, or "
        "another fuel than planned.",
        "Frost on the cylinder, its level, valve and hose. A fuller or larger cylinder, never heated, or the other "
        "fuel.",
        {**_STARVED, "propane_cold": ("yes",)},
        sources=ENGINE_SETS,
        fuels=PROPANE,
    ),
    Hypothesis(
        "fuel_starved",
        0.5,
        "The engine starves: a clogged filter, a tank nearly empty, a closed valve or vent, or stale fuel.",
        "Engine off and cool: fuel level, valve, filter, and the vent of the tank; fresh fuel.",
        _STARVED,
        sources=ENGINE_SETS,
        fuels=LIQUID_FUELS,
    ),
    Hypothesis(
        "governor_low",
        0.8,
        "The governor is set low.",
        "Hertz without load, warm; set by the maker's instructions by somebody who may.",
        {
            "hertz_no_load": ("low",),
            "hertz": ("low",),
            "volts_no_load": ("agrees", "low"),
            "volts": ("agrees", "low"),
            "volts_source": ("agrees", "low"),
        },
        sources=ENGINE_SETS,
    ),
    Hypothesis(
        "governor_high",
        0.8,
        "The governor is set high.",
        "Hertz without load, warm; set by the maker's instructions by somebody who may, before any vehicle.",
        {
            "hertz_no_load": ("high",),
            "hertz": ("high", "agrees"),
            "volts_no_load": ("agrees", "high"),
            "volts": ("agrees", "high"),
            "volts_source": ("agrees", "high"),
        },
        sources=ENGINE_SETS,
    ),
    Hypothesis(
        "regulator_low",
        0.8,
        "The source's volts are set low: its voltage regulator or inverter, or what that senses.",
        "Volts without load at the source's terminals; set by the maker's instructions by a qualified person.",
        {
            "volts_no_load": ("low",),
            "volts": ("low",),
            "volts_source": ("low",),
        },
        sources=OWN_SOURCES,
    ),
    Hypothesis(
        "regulator_high",
        0.8,
        "The source's volts are set high: its voltage regulator or inverter, or that has failed.",
        "No vehicle before it is right. Volts without load at the source's terminals, by a qualified person.",
        {"volts_no_load": ("high",), "volts": ("high",), "volts_source": ("high",)},
        sources=OWN_SOURCES,
    ),
    Hypothesis(
        "poor_regulation",
        0.6,
        "The source's volts fall under load more than they should: its voltage regulator or inverter.",
        "Volts at the source's own terminals, without load and under load, with the hertz beside.",
        {"volts": ("low",), "volts_source": ("low",), "fall": ("high",)},
        sources=OWN_SOURCES,
    ),
    Hypothesis(
        "weak_feed",
        0.8,
        "What feeds the outlet is long or thin, or carries other loads as well.",
        "Volts at the outlet without load and under load, with all else on its circuit off; then at its panel, by a "
        "licensed electrician.",
        {
            "volts": ("low",),
            "volts_source": ("low",),
            "volts_no_load": ("agrees", "low"),
            "fall": ("high",),
            "current": ("agrees", "low"),
        },
        sources=OUTLETS,
    ),
    Hypothesis(
        "long_cord",
        0.8,
        "The run to the EVSE is longer or thinner than the record says, or a cord or cable lies coiled.",
        "Measure length and read the size off the jacket; volts at both ends under load; unwind it all.",
        {"volts": ("low",), "run_drop": ("high",), "fall": ("high",), "hot": ("conductor", "none")},
    ),
    Hypothesis(
        "loose_joint",
        0.8,
        "A joint ahead of the EVSE has high resistance: a loose terminal, a worn receptacle or plug.",
        "Dead and locked out: torque every terminal by its marking, look for browned plastic, replace the worn device.",
        {"hot": ("supply",), "volts": ("low", "agrees"), "run_drop": ("high",), "fall": ("high", "agrees")},
    ),
    Hypothesis(
        "bad_coupler",
        0.8,
        "A contact of the connector, adapter or inlet is worn, dirty or not home.",
        "Cold and dead: look at the contacts, latch it fully, leave the adapter out, try another vehicle.",
        {"hot": ("coupler",), "current": ("agrees", "low"), "place": ANY, "dash": ANY},
    ),
    Hypothesis(
        "foldback",
        0.7,
        "The EVSE or the vehicle folds back because a coupler or the unit itself is hot: the current fell on the way.",
        "Shade and air for the unit; look at the contacts; compare the amps at 5 and at 60 minutes.",
        {
            **_LOW_CURRENT,
            "hot": ("coupler",),
            "energy": ("high",),
            "place": ANY,
        },
    ),
    Hypothesis(
        "supply_208",
        0.8,
        "The source is 208 V (two phases of three), not 240 V.",
        "Volts from line to line and from each line to ground: 208 and 120 V say three-phase. Correct the connection, "
        "or the record.",
        {
            "volts": ("low",),
            "volts_no_load": ("low",),
            "volts_source": ("low",),
            "volts_place": ("at_208",),
            "current": ("agrees", "low"),
        },
    ),
    Hypothesis(
        "one_leg",
        0.8,
        "One leg is lost, or the unit hangs on one 120 V leg: a pole that did not close, a broken conductor, a wrong "
        "connection.",
        "Dead and locked out: both poles, both conductors from end to end; then the volts of each leg to ground.",
        {
            "volts": ("low",),
            "volts_no_load": ("low", "agrees"),
            "volts_source": ("low", "agrees"),
            "half_volts": ("yes",),
            "fall": ANY,
            "run_drop": ANY,
        },
    ),
    Hypothesis(
        "half_volts",
        0.8,
        "Half the volts already at the source: measured from a line to the neutral, one leg open there, or its voltage "
        "selector at 120 V.",
        "No vehicle before it is right. Meter leads on the two lines, not on the neutral, and read again; then each "
        "line to ground, by a qualified person. Off: the selector by the source's instructions, both poles of its "
        "breaker.",
        {"volts_no_load": ("low",), "volts": ("low",), "volts_source": ("low",), "half_volts": ("yes",)},
    ),
    Hypothesis(
        "meter_wrong",
        0.7,
        "One of the meters reads wrong: volts times amps are not its kilowatts.",
        "A second meter on volts, amps and kilowatts in the same minute; the current clamp's direction and ratio.",
        {
            "product": ("low", "high"),
            "dash": ANY,
            "energy": ANY,
            "percent": ANY,
            "miles": ANY,
            "current": ANY,
            "place": ANY,
        },
    ),
    Hypothesis(
        "larger_charger",
        0.6,
        "The vehicle has a larger charger or battery than its class: it draws up to the pilot.",
        "Look the vehicle up by its port, body and year again; plan it as the class that fits.",
        {"current": ("high",), "alone": ("high",), "percent": ANY, "miles": ANY},
    ),
    Hypothesis(
        "other_class",
        0.5,
        "The vehicle is not of this class: its battery or its use is another.",
        "Look the vehicle up by its port, body and year again; its own display rates miles by recent driving.",
        {"percent": ("low", "high"), "miles": ("low", "high"), "current": ("agrees", "low", "high"), "place": ANY},
    ),
    Hypothesis(
        "interrupted",
        0.8,
        "The charge stopped for a time: a ground-fault trip, a breaker, a pause of the EVSE or the vehicle.",
        "Look for a tripped device or a fault that the EVSE keeps; ask when the light changed; have the ground-fault "
        "devices tested.",
        {"energy": ("low",), "alone": ("low",), "percent": ANY},
    ),
)

_DEVIATIONS = frozenset(
    {
        "current",
        "alone",
        "volts",
        "volts_no_load",
        "hertz_no_load",
        "hertz",
        "volts_source",
        "fall",
        "run_drop",
        "product",
        "energy",
        "dash",
        "hot",
        "percent",
        "miles",
    }
)


def likeliest(
    seen: Mapping[str, frozenset[str]], *, source: str, marked_as: str, fuel: str | None
) -> tuple[tuple[Cause, ...], tuple[str, ...]]:
    """Return the causes that fit what is seen, likeliest first, and what would decide between the leading ones.

    `seen` holds one word or a few for each thing that a cause may move, for what was measured alone: low, agrees, high
    and the like. Without anything that does not agree there is no cause. `source` is the kind of the rig's source,
    `marked_as` what the marks of its unit count, `fuel` what its engine ran on: a cause that such a run cannot have is
    left out.
    """
    off = {name for name in _DEVIATIONS if name in seen and not seen[name] & RIGHT}
    if not off:
        return (), ()
    scored = []
    for hypothesis in HYPOTHESES:
        if hypothesis.sources and source not in hypothesis.sources:
            continue
        if hypothesis.marked_as not in {None, marked_as}:
            continue
        if hypothesis.fuels and fuel not in hypothesis.fuels:
            continue
        if not any(_surely(hypothesis, name) & seen[name] for name in off):
            continue
        score = math.log(hypothesis.weight)
        for name, value in seen.items():
            score += math.log(_likelihood(name, _predicted(hypothesis, name), value))
        scored.append((score, hypothesis))
    if not scored:
        return (), ()
    scored.sort(key=lambda item: -item[0])
    best = scored[0][0]
    whole = sum(math.exp(score - best) for score, _ in scored)
    shown = [
        (math.exp(score - best) / whole, hypothesis)
        for score, hypothesis in scored[:SHOWN_CAUSES]
        if math.exp(score - best) / whole >= LEAST_WEIGHT
    ]
    total = sum(weight for weight, _ in shown)
    causes = tuple(Cause(item.code, item.text, item.check_next, weight / total) for weight, item in shown)
    return causes, _deciding([hypothesis for _, hypothesis in shown], seen)


def _surely(hypothesis: Hypothesis, name: str) -> set[str]:
    """Return what a cause brings for certain; what it may leave as it is explains nothing by itself."""
    pattern = set(hypothesis.pattern.get(name, ()))
    return set() if "agrees" in pattern else pattern


def _predicted(hypothesis: Hypothesis, name: str) -> tuple[str, ...]:
    return hypothesis.pattern.get(name) or _FREE.get(name) or ("agrees", "none")


def _likelihood(name: str, predicted: tuple[str, ...], seen: frozenset[str]) -> float:
    if predicted == ANY:
        if name in _FREE:
            return NEUTRAL
        return OPEN_RIGHT if seen & RIGHT else OPEN_OFF
    if seen & set(predicted):
        return HIT / math.sqrt(len(set(predicted) - {"none"}))
    if seen & RIGHT:
        return HIDDEN
    return EXTRA if RIGHT & set(predicted) else OPPOSITE


def _deciding(shown: Sequence[Hypothesis], seen: Mapping[str, frozenset[str]]) -> tuple[str, ...]:
    """Return what was not measured and would tell the leading causes apart, the most telling first."""
    texts = []
    for name, words in MEASURE.items():
        if name in seen:
            continue
        apart = sum(_apart(name, one, other) for one, other in combinations(shown[:LEADING], 2))
        if apart > 0:
            texts.append((apart, words))
    texts.sort(key=lambda item: -item[0])
    return tuple(words for _, words in texts[:DECIDING])


def _apart(name: str, one: Hypothesis, other: Hypothesis) -> float:
    """Return how far two causes differ in what they bring to one reading, 0 to 1."""
    first, second = set(_predicted(one, name)), set(_predicted(other, name))
    if first == second:
        return 0.0
    if set(ANY) & (first | second):  # to one of the two it says nothing
        return 0.5 if name in _FREE else 0.0
    return 1 - len(first & second) / len(first | second)
