"""What is right or wrong with a rig before any load: overcurrent protection, grounding, neutral, ground-fault devices.

Protection comes before loading, and no setting ever turns a finding green. Never offered as a remedy: removing or
bypassing a ground-fault device, a bond at the EVSE, a ground rod in place of the bond, bypassing or up-rating a
source's built-in device.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from planner.ampacity import (
    ampacities,
    circular_mils,
    grounding_awg,
    standard_device_at_most_a,
    standard_ratings_a,
)
from planner.circuit import AMPACITY_BASE_C, CONTINUOUS_LOAD_FACTOR, largest_protecting_device_a
from planner.figures import amps, feet, volts
from planner.records import (
    SMALL_CONDUCTOR_TABLE,
    Breaker,
    Conductor,
    Dataset,
    GeneratorSource,
    Plug,
    Receptacle,
    Rig,
    SiteOutletSource,
)

__all__ = [
    "CODE_EDITION",
    "GROUND_SHARE",
    "NO_LOAD_RISE",
    "UNPROTECTED_CODES",
    "WIDEST_CLASS",
    "Finding",
    "Level",
    "findings",
    "largest_device_for_a",
    "regulation_share",
]

CODE_EDITION = "NEC 2017, as good practice"
PRACTICE = "common practice, no source"
Level = Literal["stop", "change", "note"]
_TOLERANCE_A = 1e-6
LEG_V = 120.0
LINE_TO_NEUTRAL = frozenset({"one_leg_120", "line_to_neutral_277"})
VOLTS_SLACK = 0.05  # own-judgement: volts are stated in whole or tenths
# Findings that leave a part of the supply without protection: its rung on the ladder carries nothing.
UNPROTECTED_CODES = frozenset({"not_protected", "no_device_ahead", "no_ampacity"})
CORD_GROUNDING_BY_TABLE_ABOVE_AWG = ("8", "6", "4", "3", "2", "1", "1/0")  # nec-2017, 250.122(E)
LARGEST_CORD_CONNECTED_A = 50.0  # nec-2017, 625.44(A) and (B): larger receptacles are not in its lists
LONGEST_CABLE_M = 7.62  # nec-2017, 625.17(C): 25 ft without cable management
DISCONNECT_ABOVE_A = 60.0  # nec-2017, 625.43
DISCONNECT_ABOVE_V = 150.0  # nec-2017, 625.43: volts to ground
# Volts to ground as a share of the volts at the connection.
GROUND_SHARE = {
    "split_phase_240": 0.5,
    "three_phase_208_line_to_line": 1 / math.sqrt(3),
    "one_leg_120": 1.0,
    "line_to_neutral_277": 1.0,
}
PORTABLE_SET_W = 15_000.0  # nec-2017, 445.20: sets up to 15 kW
SMALL_120_V_OUTLET_A = 20.0  # nec-2017, 445.20: 15 and 20 A receptacles of 125 V
THD_LOOKED_FOR_PERCENT = 5.0  # common-practice: what builders look for
THD_TROUBLE_PERCENT = 10.0  # from memory: where EVSE and onboard chargers begin to refuse
# iso-8528-5: steady volts of a performance class, as a share of rated; class G1 by size of the set.
REGULATION = {"g2": 0.025, "g3": 0.01}
REGULATION_G1_SMALL, REGULATION_G1_LARGE, G1_SMALL_W = 0.10, 0.05, 10_000.0
REGULATION_CLAUSE = "ISO 8528-5, performance class"
# iso-8528-5: how far the hertz of a performance class may rise without load.
NO_LOAD_RISE = {"g1": 0.08, "g2": 0.05, "g3": 0.03}
WIDEST_CLASS: Literal["g1"] = "g1"  # own-judgement: what a set without a class is taken for


@dataclass(frozen=True, slots=True, eq=False)
class Finding:
    """What is right or wrong with a rig before any load: with clause, edition and remedy."""

    code: str
    part: str
    text: str
    clause: str
    edition: str
    remedy: str
    level: Level


def findings(dataset: Dataset, rig: Rig, *, ambient_c: float) -> tuple[Finding, ...]:
    """Return what is wrong with a rig whatever its setting, in the order of the current, then source and EVSE.

    Protection is judged in air of 30 C or warmer: no cold day makes an unprotected cord protected.
    """
    warm_c = max(ambient_c, AMPACITY_BASE_C)
    # `is`, not equality: a changed copy of a rig under its old id must not be given the old rig's findings.
    key = ("findings", rig.id, warm_c)
    known = dataset.memo.get(key)
    if known is None or known[0] is not rig:
        known = dataset.memo[key] = (rig, tuple(_findings(dataset, rig, warm_c)))
    found: tuple[Finding, ...] = known[1]
    return found


def _findings(dataset: Dataset, rig: Rig, warm_c: float) -> Iterator[Finding]:
    ahead: Breaker | None = None
    for part in rig.supply:
        if isinstance(part, Breaker):
            ahead = part if ahead is None or part.rating_a < ahead.rating_a else ahead
        elif isinstance(part, Conductor):
            yield from _conductor(dataset, part, ahead, warm_c)
        else:
            yield from _outlet(dataset, rig, part, ahead)
    if ahead is None:
        yield _code(
            "no_device_ahead",
            "evse",
            "The EVSE has no overcurrent device ahead of it.",
            "625.41 and 240.4",
            "Put an overcurrent device ahead of it.",
        )
    yield from _neutral(rig)
    yield from _ground_fault(dataset, rig)
    yield from _source(rig)
    yield from _evse(rig)


def _code(
    code: str, part: str, text: str, clause: str, remedy: str, level: Level = "stop", edition: str = CODE_EDITION
) -> Finding:
    return Finding(code, part, text, clause, edition, remedy, level)


# ------------------------------------------------------------------------------------------------------- conductors


def largest_device_for_a(dataset: Dataset, part: Conductor, *, ambient_c: float) -> tuple[float, str]:
    """Return the largest overcurrent device that protects a conductor, with its clause; 0 without an ampacity."""
    clause = "240.4" if part.construction == "building_wire" else "240.5(A)"
    terminations_a, corrected_a = ampacities(dataset, part, ambient_c=max(ambient_c, AMPACITY_BASE_C))
    ampacity_a = corrected_a if part.construction == "flexible_cord" else min(terminations_a, corrected_a)
    if ampacity_a <= 0:
        return 0.0, clause
    largest_a = largest_protecting_device_a(
        ampacity_corrected_a=ampacity_a,
        next_size_up_allowed=part.construction == "building_wire",
        standard_ratings_a=standard_ratings_a(dataset),
    )
    if part.construction == "building_wire":
        cap_a = dataset.tables[SMALL_CONDUCTOR_TABLE].value(part.size_awg, f"{part.material}_a")
        if cap_a is not None and cap_a < largest_a:
            return cap_a, "240.4(D)"
    return largest_a, clause


def _conductor(dataset: Dataset, part: Conductor, ahead: Breaker | None, warm_c: float) -> Iterator[Finding]:
    largest_a, clause = largest_device_for_a(dataset, part, ambient_c=warm_c)
    if ahead is None:
        yield _code(
            "no_device_ahead",
            part.id,
            f"{part.name}: no overcurrent device ahead of it.",
            clause,
            "Put an overcurrent device at its supply end.",
        )
    elif largest_a <= 0:
        yield _code(
            "no_ampacity",
            part.id,
            f"{part.name} ({part.size_awg} AWG {part.material}, {part.temperature_rating_c} C) has no ampacity in the "
            f"tables at {warm_c:.0f} C.",
            clause,
            "A larger conductor, or one rated for more heat.",
        )
    elif ahead.rating_a > largest_a + _TOLERANCE_A:
        yield _code(
            "not_protected",
            part.id,
            f"{part.name} ({part.size_awg} AWG) is protected up to {amps(largest_a)}, but {ahead.name} ahead of it is "
            f"{amps(ahead.rating_a)}. Not fit at any setting.",
            clause,
            f"A smaller device, {amps(standard_device_at_most_a(dataset, largest_a))} at most, or a larger conductor.",
        )
    if part.on_reel:
        yield _code(
            "on_reel",
            part.id,
            f"{part.name} carries its current while part of it is wound up: no table rates it so, and it overheats.",
            "400.5 and 400.13",
            "Unwind it fully before it carries current.",
        )
    if ahead is not None:
        yield from _grounding(dataset, part, ahead, warm_c)
    if part.construction != "building_wire" and part.wet_rated is not True:
        known = part.wet_rated is False
        yield _code(
            "not_wet_rated" if known else "wet_rating_unknown",
            part.id,
            f"{part.name} is not made for wet places."
            if known
            else f"{part.name}: nobody has stated whether it is made for wet places.",
            "400.4, types with a W",
            "A cord of a type with a W in its letters." if known else "Read the letters on its jacket: a W says so.",
            "change",
        )


def _grounding(dataset: Dataset, part: Conductor, ahead: Breaker, warm_c: float) -> Iterator[Finding]:
    """Judge the grounding conductor: by the table, never thinner than a small cord's own, larger with larger lines."""
    if part.grounding_awg is None:
        yield _code(
            "grounding_unknown",
            part.id,
            f"{part.name}: nobody has stated its grounding conductor.",
            "250.122",
            "Find out its size and put it into the record; until then it counts as none.",
        )
        return
    needed = grounding_awg(dataset, device_a=ahead.rating_a, material=part.material)
    clause = "250.122(A)"
    if part.construction == "flexible_cord" and part.size_awg not in CORD_GROUNDING_BY_TABLE_ABOVE_AWG:
        needed, clause = part.size_awg, "250.122(E)"
    needed_mils = circular_mils(dataset, needed) if needed is not None else math.inf
    # A grounding conductor need not be larger than the lines it runs with.
    needed_mils = min(needed_mils, circular_mils(dataset, part.size_awg))
    own_mils = circular_mils(dataset, part.grounding_awg)
    if own_mils < needed_mils:
        least = f"{needed} AWG" if needed is not None else "larger than the table goes"
        yield _code(
            "grounding_small",
            part.id,
            f"{part.name}: its grounding conductor is {part.grounding_awg} AWG; behind {amps(ahead.rating_a)} it is "
            f"{least} at least.",
            clause,
            f"A conductor with a grounding wire of {least}, or more.",
        )
        return
    least_line = next(
        (
            size
            for size in ("14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0")
            if _would_do(dataset, _resized(part, size), ahead.rating_a, warm_c)
        ),
        part.size_awg,
    )
    grown = circular_mils(dataset, part.size_awg) / circular_mils(dataset, least_line)
    if grown > 1 and own_mils < min(needed_mils * grown, circular_mils(dataset, part.size_awg)):
        yield _code(
            "grounding_not_grown",
            part.id,
            f"{part.name}: its lines are {part.size_awg} AWG where {least_line} AWG would do; its grounding conductor, "
            f"{part.grounding_awg} AWG, has not grown with them.",
            "250.122(B)",
            "A conductor whose grounding wire is larger in the same proportion.",
            "change",
        )


def _would_do(dataset: Dataset, part: Conductor, device_a: float, warm_c: float) -> bool:
    """Return whether a conductor is protected by a device, and carries for hours what the device does."""
    terminations_a, corrected_a = ampacities(dataset, part, ambient_c=warm_c)
    carries = terminations_a >= device_a and corrected_a >= device_a / CONTINUOUS_LOAD_FACTOR
    return carries and largest_device_for_a(dataset, part, ambient_c=warm_c)[0] >= device_a


def _resized(part: Conductor, size_awg: str) -> Conductor:
    return part.model_copy(update={"size_awg": size_awg})


# --------------------------------------------------------------------------------------------------------- outlets


def _outlet(dataset: Dataset, rig: Rig, part: Receptacle | Plug, ahead: Breaker | None) -> Iterator[Finding]:
    outlet = dataset.outlets[part.outlet]
    if rig.nominal_v > outlet.voltage_v:
        yield _code(
            "outlet_voltage",
            part.id,
            f"{part.name}: {outlet.configuration} is a device for {volts(outlet.voltage_v)}, on a source of "
            f"{volts(rig.nominal_v)}.",
            "406.4(F) and 110.4",
            "Use a configuration made for these volts.",
        )
    elif rig.source.connection == "one_leg_120" and outlet.neutral and outlet.voltage_v > LEG_V:
        yield _code(
            "outlet_voltage",
            part.id,
            f"{part.name}: {outlet.configuration} is a device for {volts(outlet.voltage_v)}, on one leg of "
            f"{volts(rig.nominal_v)}; an EVSE on it looks for both lines.",
            "406.4(F) and 110.4",
            "Use a configuration made for these volts.",
        )
    if outlet.phases == 3:
        yield _code(
            "three_phase_outlet",
            part.id,
            f"{part.name}: {outlet.configuration} is a three-phase device; it looks like its single-phase twin.",
            "406.4(F)",
            "Use the single-phase configuration.",
        )
    if rig.source.connection in LINE_TO_NEUTRAL and not outlet.neutral:
        yield _code(
            "no_neutral",
            part.id,
            f"{part.name}: {outlet.configuration} has no neutral contact, which a line to neutral of "
            f"{volts(rig.nominal_v)} needs.",
            "406.4",
            "Use a configuration with a neutral contact.",
        )
    if not outlet.ground:
        yield _code(
            "no_ground",
            part.id,
            f"{part.name}: {outlet.configuration} has no grounding contact.",
            "250.114 and 625.44",
            "Use a configuration with a grounding contact.",
        )
    if ahead is None:
        yield _code(
            "no_device_ahead",
            part.id,
            f"{part.name}: no overcurrent device ahead of it.",
            "210.21(B)",
            "Put an overcurrent device ahead of it.",
        )
    elif ahead.rating_a > outlet.rating_a + _TOLERANCE_A:
        yield _code(
            "not_protected",
            part.id,
            f"{part.name} is a {amps(outlet.rating_a)} device, but {ahead.name} ahead of it is {amps(ahead.rating_a)}. "
            "Not fit at any setting.",
            "210.21(B)(1)",
            f"A smaller device, {amps(outlet.rating_a)} at most"
            + (
                "."
                if isinstance(part, Receptacle) and part.built_in is not False
                else ", or a part of a larger rating."
            ),
        )
    if isinstance(part, Plug):
        return
    odd = outlet.voltage_v <= LEG_V and outlet.rating_a > SMALL_120_V_OUTLET_A
    if outlet.locking or outlet.rating_a > LARGEST_CORD_CONNECTED_A or odd:
        yield _code(
            "not_in_cord_list",
            part.id,
            f"{part.name}: {outlet.configuration} is not among the receptacles that an EVSE may be plugged into.",
            "625.44",
            "Ask the authority by which edition it goes, and the EVSE's maker, or have the EVSE hard-wired.",
            "note",
        )
    if part.grade == "residential" and outlet.rating_a >= 30:
        yield _code(
            "residential_grade",
            part.id,
            f"{part.name} is of residential grade: under hours of load its contacts are known to overheat.",
            PRACTICE,
            "A receptacle of industrial grade, or one listed for EVSE, on the same wire and device.",
            "change",
            PRACTICE,
        )
    elif part.grade is None and outlet.rating_a >= 30:
        yield _code(
            "grade_unknown",
            part.id,
            f"{part.name}: nobody has stated its grade; residential ones overheat under hours of load.",
            PRACTICE,
            "Read it off the device and put it into the record.",
            "change",
            PRACTICE,
        )


# ----------------------------------------------------------------------------------- neutral, ground-fault devices

_NEUTRAL = {
    "floating": (
        "neutral_floating",
        "The neutral is not bonded to the frame: the EVSE's ground check and every GFCI need exactly one bond, "
        "at the source.",
    ),
    "unknown": (
        "neutral_unknown",
        "Nobody has found out whether the neutral is bonded to the frame at the source.",
    ),
    "bonded_twice": (
        "neutral_bonded_twice",
        "The neutral is bonded a second time: current returns through the grounding conductor.",
    ),
}


_BOND_REMEDIES = {
    "floating": "A licensed electrician makes and tests the one bond at the source, by the maker's instructions.",
    "unknown": "A licensed electrician finds out, and tests that there is exactly one bond, at the source.",
    "bonded_twice": "A licensed electrician takes the second bond out; the one at the source stays and is tested.",
}


def _neutral(rig: Rig) -> Iterator[Finding]:
    neutral = rig.source.neutral
    if neutral in _NEUTRAL:
        code, text = _NEUTRAL[neutral]
        remedy = _BOND_REMEDIES[neutral]
        if isinstance(rig.source, SiteOutletSource):
            remedy = "Another outlet: the bond of a building is at its service, and its own electrician's."
        yield _code(code, "source", text, "250.34 and 250.26", remedy)


def _ground_fault(dataset: Dataset, rig: Rig) -> Iterator[Finding]:
    """Judge ground-fault devices in the order of the current: one covers what is in it and behind it."""
    guard: Breaker | Receptacle | None = None
    for part in rig.supply:
        if not isinstance(part, Breaker | Receptacle):
            continue
        if part.gfci == "class_a":
            guard = guard or part
        elif isinstance(part, Receptacle) and guard is None:
            yield from _without_guard(dataset, rig, part)
    if guard is not None:
        yield _code(
            "gfci_in_series",
            guard.id,
            f"{guard.name} trips at 4 to 6 mA; the EVSE's own device behind it at 20 mA, and its self-test makes a "
            "little leakage. Expect trips without a fault, more with a long or wet cable.",
            "445.20 and UL 2231",
            "It stays and is tested. Dry couplers, a short cable, an EVSE whose maker allows it behind such a device.",
            "note",
        )


def _without_guard(dataset: Dataset, rig: Rig, part: Receptacle) -> Iterator[Finding]:
    outlet = dataset.outlets[part.outlet]
    small = rig.nominal_v <= LEG_V and outlet.rating_a <= SMALL_120_V_OUTLET_A
    asked_for = small and isinstance(rig.source, GeneratorSource) and _running_w(rig.source) <= PORTABLE_SET_W
    if part.gfci is None:
        yield _code(
            "gfci_unknown",
            part.id,
            f"{part.name}: nobody has stated whether it has a ground-fault device.",
            "625.54 and 445.20",
            "Look for a test button on it or on its breaker, and put it into the record.",
            "change" if asked_for else "note",
        )
    elif asked_for:
        yield _code(
            "gfci_missing",
            part.id,
            f"{part.name}: a 15 or 20 A, 125 V receptacle of a portable set without a ground-fault device.",
            "445.20 and 590.6(A)(3)",
            "A licensed electrician fits one that the set's maker allows.",
            "change",
        )
    else:
        yield _code(
            "gfci_not_ahead",
            part.id,
            f"{part.name} has no ground-fault device; the code asks for one ahead of receptacles for charging. The "
            "EVSE's own device covers what is behind it, not the cord to it.",
            "625.54",
            "Ask the authority; look the cord over before every use.",
            "note",
        )


# --------------------------------------------------------------------------------------------------- source and EVSE


def _running_w(source: GeneratorSource) -> float:
    return max(fuel.running_power_w for fuel in source.fuels.values())


def _source(rig: Rig) -> Iterator[Finding]:
    source = rig.source
    if source.instructions == "forbid":
        yield _code(
            "instructions_forbid",
            "source",
            "The maker's instructions forbid charging vehicles from this source.",
            "110.3(B)",
            "Another source.",
        )
    elif source.instructions is None:
        yield _code(
            "instructions_not_read",
            "source",
            "Nobody has stated what the maker's instructions say of charging vehicles.",
            "110.3(B)",
            "Read them, and put it into the record.",
            "change",
        )
    if isinstance(source, SiteOutletSource) and source.individual_circuit is not True:
        known = source.individual_circuit is False
        yield _code(
            "circuit_shared" if known else "circuit_perhaps_shared",
            "source",
            "Other loads hang on the same circuit as this outlet."
            if known
            else "Nobody has stated whether other loads hang on the same circuit as this outlet.",
            "625.40",
            "An outlet on a circuit of its own, or everything else on it switched off and kept off.",
            "change",
        )
    if not isinstance(source, GeneratorSource):
        return
    if source.sets == 2 and not source.paired_by_makers_kit:
        yield _code(
            "pair_without_kit",
            "source",
            "Two sets are joined without the maker's kit for it: they may drive current into one another, and their "
            "plugs may be live.",
            "110.3(B)",
            "The maker's own kit for these sets, or one set alone.",
        )
    yield from _power_quality(source, rig.nominal_v)


def regulation_share(source: GeneratorSource) -> float:
    """Return the share of rated volts by which a set of its class may be off; without a class the widest."""
    small = _running_w(source) <= G1_SMALL_W
    return REGULATION.get(
        source.regulation_class or WIDEST_CLASS, REGULATION_G1_SMALL if small else REGULATION_G1_LARGE
    )


def _power_quality(source: GeneratorSource, nominal_v: float) -> Iterator[Finding]:
    thd = source.thd_percent
    if thd is not None and thd >= THD_LOOKED_FOR_PERCENT:
        trouble = thd >= THD_TROUBLE_PERCENT
        yield _code(
            "thd_high",
            "source",
            f"Its volts are distorted by {thd:g} % under load; builders look for under {THD_LOOKED_FOR_PERCENT:g} %. "
            + ("An EVSE or an onboard charger may refuse it." if trouble else "A few vehicles may refuse it."),
            PRACTICE,
            "Try it with the vehicles it will meet; a source of cleaner volts where they refuse.",
            "note",
            PRACTICE,
        )
    if source.regulation_class is not None:
        share = regulation_share(source)
        low_v, high_v = nominal_v * (1 - share), nominal_v * (1 + share)
        if source.voltage_v.low < low_v - VOLTS_SLACK or source.voltage_v.high > high_v + VOLTS_SLACK:
            yield _code(
                "volts_outside_class",
                "source",
                f"Its volts under load, {volts(source.voltage_v.low)} to {volts(source.voltage_v.high)}, leave what "
                f"class {source.regulation_class.upper()} allows, {volts(low_v)} to {volts(high_v)}.",
                REGULATION_CLAUSE,
                "Have its governor and voltage regulator looked after, or correct the record.",
                "change",
                REGULATION_CLAUSE,
            )


def _evse(rig: Rig) -> Iterator[Finding]:
    evse = rig.evse
    if evse.listing == "none":
        yield _code("evse_not_listed", "evse", "The EVSE has no listing.", "625.5", "Use a listed EVSE.")
    longest_m = max(cable.length_m for cable in (evse.cable, *evse.other_cables))
    if longest_m > LONGEST_CABLE_M:
        yield _code(
            "cable_long",
            "evse",
            f"Its cable is {feet(longest_m)} long; without cable management 25 ft is the most.",
            "625.17(C)",
            "Put the distance into the supply cord, sized for it; never an extension at the coupler.",
            "change",
        )
    to_ground_v = GROUND_SHARE[rig.source.connection] * rig.nominal_v
    if evse.highest.output_a > DISCONNECT_ABOVE_A or to_ground_v > DISCONNECT_ABOVE_V:
        yield _code(
            "disconnect_needed",
            "evse",
            f"Above {amps(DISCONNECT_ABOVE_A)}, or {volts(DISCONNECT_ABOVE_V)} to ground, it needs a disconnect that "
            "can be locked open.",
            "625.43",
            "Have one fitted, and keep its handle in reach.",
            "note",
        )
