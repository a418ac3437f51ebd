"""Rules over a whole dataset, beyond what makes a record readable: each a plain function that yields its findings.

A finding is let stand only by an entry of `exceptions.yaml`, which says why and until which data version. An entry
that nothing needs any more, or whose time is over, is itself a finding.
"""

import re
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from planner.answer import Call
from planner.coverage import cells, meets
from planner.errors import PlannerError
from planner.journey import label_scale
from planner.mating import takes_ac
from planner.plan_types import Plan
from planner.planning import plan
from planner.records import Dataset, Inlet, Spread, VehicleClass
from planner.trip import ToPercent

__all__ = [
    "AMBIENT_STEPS_C",
    "RULES",
    "Finding",
    "PlanCounts",
    "bands_without_source_are_wide",
    "charger_kilowatts_match_amps",
    "classes_can_be_told_apart",
    "coverage_has_no_hole",
    "dc_limits_stand_with_a_dc_port",
    "every_inlet_is_on_a_class",
    "every_source_is_used",
    "findings",
    "label_is_reproduced",
    "no_name_stands_twice",
    "no_sentence_stands_twice",
    "plan_findings",
    "ports_suit_age_and_region",
    "recognized_without_a_brand",
    "some_port_takes_ac",
]

Level = Literal["must", "should"]

# own-judgement: further from the label than this, the road load is of another vehicle than the label.
LABEL_SCALE = (0.80, 1.20)
# own-judgement: the plates of a charger state whole kilowatts and amps, and 230 or 240 V.
CHARGER_SLACK = 0.10
LINE_V, HOUSEHOLD_V = 240.0, 120.0
# own-judgement: two sentences at least, so that a person has something to ask for beside the one picture.
SENTENCES_AT_LEAST = 2
# own-judgement: a band without a source is at least 3 % either way.
NARROWEST_BAND = 0.03
# own-judgement: two classes of one body, port and age are one class when their batteries or their masses overlap by
# more than this share of the narrower band.
OVERLAP = 0.5
# 0 F and below to 110 F and above, by 10 F; -22 F is a night on the pass.
AMBIENT_STEPS_C = tuple(round((fahrenheit - 32) / 1.8, 4) for fahrenheit in range(-20, 111, 10))


@dataclass(frozen=True, slots=True)
class Finding:
    """What a rule found: the rule, the record as folder and id, what is wrong, and what to do."""

    rule: str
    level: Level
    record: str
    text: str
    tip: str


@dataclass(frozen=True, slots=True)
class PlanCounts:
    """How the plans of every rig with every class came out, and which fell outside what can be."""

    plans: int
    by_verdict: dict[str, int]
    findings: tuple[Finding, ...]


Rule = Callable[[Dataset], Iterator[Finding]]


def findings(dataset: Dataset, cited: Collection[str] = ()) -> tuple[Finding, ...]:
    """Return what every rule finds and no exception lets stand; `cited` are sources that something else names."""
    found = [finding for rule in RULES for finding in rule(dataset)]
    found += every_source_is_used(dataset, cited)
    return (*_without_exceptions(dataset, found), *_exceptions(dataset, found))


def _finding(
    rule: Callable[..., Iterator[Finding]] | str, record: str, text: str, tip: str, level: Level = "must"
) -> Finding:
    return Finding(rule if isinstance(rule, str) else rule.__name__, level, record, text, tip)


def _class(vehicle: VehicleClass) -> str:
    return f"vehicle_classes/{vehicle.id}"


# ------------------------------------------------------------------------------------------------------- one class


def label_is_reproduced(dataset: Dataset) -> Iterator[Finding]:
    """The road load meets the label's consumption without being bent far: the one factor between them is near 1."""
    low, high = LABEL_SCALE
    for vehicle in dataset.vehicle_classes.values():
        scale = label_scale(dataset, vehicle)
        if not low <= scale <= high:
            yield _finding(
                label_is_reproduced,
                _class(vehicle),
                f"its label is {scale:.2f} of what its mass, drag area and tires take; {low:g} to {high:g} is allowed",
                "correct the label's consumption, or mass_kg, drag_area_m2 or rolling_resistance under road",
            )


def charger_kilowatts_match_amps(dataset: Dataset) -> Iterator[Finding]:
    """The onboard charger's kilowatts are its amps at the volts it is made for, at every end of the band."""
    for vehicle in dataset.vehicle_classes.values():
        charger = vehicle.onboard_charger
        volts = LINE_V if charger.voltage_high_v >= LINE_V else HOUSEHOLD_V
        for end in ("low", "typical", "high"):
            power_kw, current_a = getattr(charger.power_kw, end), getattr(charger.current_a, end)
            by_amps_kw = current_a * volts / 1000
            if abs(power_kw - by_amps_kw) > CHARGER_SLACK * by_amps_kw + 1e-9:
                yield _finding(
                    charger_kilowatts_match_amps,
                    _class(vehicle),
                    f"onboard_charger {end}: {power_kw:g} kW, and {current_a:g} A at {volts:g} V is {by_amps_kw:.2g}",
                    f"correct power_kw.{end} or current_a.{end}: they may differ by {CHARGER_SLACK:.0%}",
                )
                break


def bands_without_source_are_wide(dataset: Dataset) -> Iterator[Finding]:
    """A number that no published source stands behind has a band: battery, consumption, mass and drag area."""
    for vehicle in dataset.vehicle_classes.values():
        stated: dict[str, Spread] = {
            "battery.energy_usable_kwh": vehicle.battery.energy_usable_kwh,
            "label.consumption_wall_kwh_per_100mi": vehicle.label.consumption_wall_kwh_per_100mi,
            "road.mass_kg": vehicle.road.mass_kg,
            "road.drag_area_m2": vehicle.road.drag_area_m2,
        }
        for path, spread in stated.items():
            origin = next((item for key, item in vehicle.sources.items() if f"{path}.".startswith(f"{key}.")), None)
            if origin is None or origin.ref is not None or origin.basis == "own unit":
                continue
            half = (spread.high - spread.low) / 2 / spread.typical
            if half < NARROWEST_BAND - 1e-9:
                yield _finding(
                    bands_without_source_are_wide,
                    _class(vehicle),
                    f"{path} rests on {origin.basis} with a band of {half:.0%} either way",
                    f"widen it to {NARROWEST_BAND:.0%} or more, or name the published source it is from",
                    "should",
                )


def dc_limits_stand_with_a_dc_port(dataset: Dataset) -> Iterator[Finding]:
    """A class with a DC port says what a station could give, and no other class does."""
    for vehicle in dataset.vehicle_classes.values():
        has_port = any(_carries_dc(dataset, vehicle, port.inlet) for port in vehicle.ports)
        if has_port and vehicle.dc is None:
            yield _finding(
                dc_limits_stand_with_a_dc_port,
                _class(vehicle),
                "a port carries DC, and nothing says how much",
                "add dc: with power_kw: it is told to people and never planned with",
                "should",
            )
        elif vehicle.dc is not None and not has_port:
            yield _finding(
                dc_limits_stand_with_a_dc_port,
                _class(vehicle),
                "dc is stated, and no port carries DC",
                "remove dc, or add the port",
            )


def _carries_dc(dataset: Dataset, vehicle: VehicleClass, inlet_id: str) -> bool:
    inlet, port = dataset.inlets[inlet_id], vehicle.port(inlet_id)
    return inlet.dc is not None and port is not None and (port.carries is None or "dc" in port.carries)


def some_port_takes_ac(dataset: Dataset) -> Iterator[Finding]:
    """Every class has a port that takes AC: without one no rig of ours could ever charge it."""
    for vehicle in dataset.vehicle_classes.values():
        if not any(takes_ac(dataset, vehicle, port.inlet) for port in vehicle.ports):
            yield _finding(
                some_port_takes_ac,
                _class(vehicle),
                "no port of it takes AC",
                "add its AC port; a kind that truly has none is an exception with its reason",
            )


def ports_suit_age_and_region(dataset: Dataset) -> Iterator[Finding]:
    """A port was on sale while the class was built, and in the region unless the class is imported."""
    region = dataset.coverage.region if dataset.coverage is not None else None
    for vehicle in dataset.vehicle_classes.values():
        for port in vehicle.ports:
            inlet = dataset.inlets[port.inlet]
            for text, tip in _port_faults(vehicle, inlet, region):
                yield _finding(ports_suit_age_and_region, _class(vehicle), text, tip)


def _port_faults(vehicle: VehicleClass, inlet: Inlet, region: str | None) -> Iterator[tuple[str, str]]:
    alone = len(vehicle.ports) == 1
    first, last = inlet.first_year, inlet.last_year
    if first is not None and (vehicle.built_to or 9999) < first:
        yield f"{inlet.id} was first sold in {first}, after the class's last year", "correct built_to, or the port"
    elif first is not None and alone and vehicle.built_from < first:
        yield (
            f"{inlet.id} was first sold in {first}, and the class is built from {vehicle.built_from}",
            "correct built_from, or add the port that the earlier ones have",
        )
    if last is not None and not vehicle.imported and vehicle.built_from > last:
        yield f"{inlet.id} was last sold in {last}, before the class's first year", "correct built_from, or the port"
    if region is not None and not vehicle.imported and region not in inlet.regions:
        yield (
            f"{inlet.id} is no port of {region.replace('_', ' ')}",
            "write imported: true where the vehicle was brought in, or correct the port",
        )


def recognized_without_a_brand(dataset: Dataset) -> Iterator[Finding]:
    """A class says in sentences of its own how a person recognizes it."""
    for vehicle in dataset.vehicle_classes.values():
        if len(vehicle.recognize) < SENTENCES_AT_LEAST:
            yield _finding(
                recognized_without_a_brand,
                _class(vehicle),
                f"recognize has {len(vehicle.recognize)} sentences; {SENTENCES_AT_LEAST} or more help on the telephone",
                "add what a person sees: shape, size, flap and port, what the dash shows; never a brand",
                "should",
            )
        if vehicle.tell_tale is None:
            yield _finding(
                recognized_without_a_brand,
                _class(vehicle),
                "tell_tale is missing: a caller is asked by it which of several classes it is",
                "add a few words for what others of its body and port do not have, such as a flat roof",
                "should",
            )


# ------------------------------------------------------------------------------------------------- several classes


def no_sentence_stands_twice(dataset: Dataset) -> Iterator[Finding]:
    """No two classes share a sentence of the text that they are recognized by."""
    owner: dict[str, str] = {}
    for vehicle in dataset.vehicle_classes.values():
        for text in (vehicle.summary, *vehicle.recognize, vehicle.tell_tale or ""):
            for sentence in re.split(r"(?<=[.!?])\s+", text):
                plain = re.sub(r"[^a-z0-9]+", " ", sentence.lower()).strip()
                other = owner.setdefault(plain, vehicle.id)
                if plain and other != vehicle.id:
                    yield _finding(
                        no_sentence_stands_twice,
                        _class(vehicle),
                        f"{sentence!r} stands in {other} too",
                        "say what is true of this class and not of the other",
                    )


def no_name_stands_twice(dataset: Dataset) -> Iterator[Finding]:
    """No two classes have one name."""
    owner: dict[str, str] = {}
    for vehicle in dataset.vehicle_classes.values():
        other = owner.setdefault(vehicle.name.lower(), vehicle.id)
        if other != vehicle.id:
            yield _finding(
                no_name_stands_twice, _class(vehicle), f"{vehicle.name!r} is the name of {other} too", "name it apart"
            )


def classes_can_be_told_apart(dataset: Dataset) -> Iterator[Finding]:
    """Two classes of one body, size, set of ports and age differ in their batteries or in their masses.

    What a dispatcher hears and the dash shows has to part them; two that nothing parts are one class.
    """
    groups: dict[tuple[object, ...], list[VehicleClass]] = {}
    for vehicle in dataset.vehicle_classes.values():
        ports = frozenset(port.inlet for port in vehicle.ports)
        key = (vehicle.body, vehicle.size, vehicle.engine, vehicle.imported, ports)
        groups.setdefault(key, []).append(vehicle)
    for group in groups.values():
        group.sort(key=lambda one: (one.battery.energy_usable_kwh.typical, one.id))
        for one, other in pairwise(group):
            if _alike(one, other):
                yield _finding(
                    classes_can_be_told_apart,
                    _class(other),
                    f"nothing a person sees tells it from {one.id}: one body, size, port and age, "
                    "and batteries and masses that overlap",
                    "make one class of the two, or narrow the bands to what each really is",
                    "should",
                )


def _alike(one: VehicleClass, other: VehicleClass) -> bool:
    if one.built_from > (other.built_to or 9999) or other.built_from > (one.built_to or 9999):
        return False
    return (
        _overlap(one.battery.energy_usable_kwh, other.battery.energy_usable_kwh) > OVERLAP
        and _overlap(one.road.mass_kg, other.road.mass_kg) > OVERLAP
    )


def _overlap(one: Spread, other: Spread) -> float:
    """Return the shared part of two bands as a share of the narrower one."""
    shared = min(one.high, other.high) - max(one.low, other.low)
    narrower = min(one.high - one.low, other.high - other.low)
    if narrower <= 0:
        return 1.0 if shared >= 0 else 0.0
    return max(shared, 0.0) / narrower


def coverage_has_no_hole(dataset: Dataset) -> Iterator[Finding]:
    """Every body and every inlet of the region has a class at every age, but for the cells that say why not."""
    coverage = dataset.coverage
    if coverage is None:
        return
    for cell in cells(dataset, coverage):
        place = f"{cell.row.replace('_', ' ')}, {cell.built}"
        if not cell.classes and not cell.why_empty:
            yield _finding(
                coverage_has_no_hole,
                "coverage/empty",
                f"no class is a {place}",
                "add a class (rangeferry new vehicle NAME), or say under empty in coverage.yaml why none is needed",
            )
        elif cell.classes and cell.why_empty:
            yield _finding(
                coverage_has_no_hole,
                "coverage/empty",
                f"{place} is said to be empty, but holds {', '.join(cell.classes)}",
                "remove the entry from coverage.yaml",
            )
    for wanted in coverage.wanted:
        if not any(meets(vehicle, wanted) for vehicle in dataset.vehicle_classes.values()):
            facts = (wanted.body, wanted.built, wanted.inlet, wanted.battery and f"{wanted.battery} battery")
            yield _finding(
                coverage_has_no_hole,
                "coverage/wanted",
                f"no class is a {', '.join(str(fact) for fact in facts if fact)}: {wanted.why}",
                "add a class (rangeferry new vehicle NAME), or take the entry from coverage.yaml",
            )


# ---------------------------------------------------------------------------------------------------- whole dataset


def every_source_is_used(dataset: Dataset, cited: Collection[str] = ()) -> Iterator[Finding]:
    """Every source of `sources.yaml` is named by a number, a rule or a check."""
    named = {origin.ref for origin in dataset.rates.sources.values()} | set(cited)
    for kind in RECORDS_WITH_SOURCES:
        for record in getattr(dataset, kind).values():
            named |= record.origin_names
    for source in dataset.sources:
        if source not in named:
            yield _finding(
                every_source_is_used,
                f"sources/{source}",
                "no number names it",
                "name it as ref: where it is used, or remove it",
                "should",
            )


def every_inlet_is_on_a_class(dataset: Dataset) -> Iterator[Finding]:
    """Every inlet is the port of some class: else no plan ever meets it."""
    used = {port.inlet for vehicle in dataset.vehicle_classes.values() for port in vehicle.ports}
    for inlet in dataset.inlets.values():
        if inlet.id not in used:
            yield _finding(
                every_inlet_is_on_a_class,
                f"inlets/{inlet.id}",
                "no class has it",
                "add a class that has it, or an exception with its reason",
                "should",
            )


RECORDS_WITH_SOURCES = (
    "vehicle_classes",
    "rigs",
    "connectors",
    "inlets",
    "faces",
    "adapters",
    "leads",
    "outlets",
    "tables",
    "schedules",
)
RULES: tuple[Rule, ...] = (
    label_is_reproduced,
    charger_kilowatts_match_amps,
    bands_without_source_are_wide,
    dc_limits_stand_with_a_dc_port,
    some_port_takes_ac,
    ports_suit_age_and_region,
    recognized_without_a_brand,
    no_sentence_stands_twice,
    no_name_stands_twice,
    classes_can_be_told_apart,
    coverage_has_no_hole,
    every_inlet_is_on_a_class,
)


# ------------------------------------------------------------------------------------------------------- exceptions


def _without_exceptions(dataset: Dataset, found: Iterable[Finding]) -> Iterator[Finding]:
    let_stand = {
        (kept.exception.rule, kept.exception.record)
        for kept in dataset.exceptions
        if not _is_over(kept.version, kept.exception.until)
    }
    yield from (finding for finding in found if (finding.rule, finding.record) not in let_stand)


def _exceptions(dataset: Dataset, found: Collection[Finding]) -> Iterator[Finding]:
    """Yield the exceptions that are over, that nothing needs, or that name no rule."""
    fired = {(finding.rule, finding.record) for finding in found}
    rules = {rule.__name__ for rule in (*RULES, every_source_is_used)} | {PLAN_RULE}
    for kept in dataset.exceptions:
        rule, record, until = kept.exception.rule, kept.exception.record, kept.exception.until
        if rule not in rules:
            yield _finding(
                "exceptions",
                record,
                f"exceptions.yaml lets {rule} stand, and no rule is called so",
                f"use one of {', '.join(sorted(rules))}",
            )
        elif _is_over(kept.version, until):
            yield _finding(
                "exceptions",
                record,
                f"its exception from {rule} was for data before {until}, and this is {kept.version}",
                "mend the record, or give the reason again with a later until",
            )
        elif rule != PLAN_RULE and (rule, record) not in fired:
            yield _finding(
                "exceptions",
                record,
                f"it no longer needs its exception from {rule}",
                "remove the entry from exceptions.yaml",
            )


def _is_over(version: str, until: str) -> bool:
    """Return whether a folder's version has reached another; a folder that states none is at its beginning."""
    numbers = [int(part) for part in version.split(".")] if re.fullmatch(r"\d+\.\d+\.\d+", version) else [0, 0, 0]
    return numbers >= [int(part) for part in until.split(".")]


# ------------------------------------------------------------------------------------------------------ every plan


PLAN_RULE = "plans_stay_within_what_can_be"
# What a plan can be. A federal fact sheet (no. 919) has 2 to 5 miles an hour at 120 V and 10 to 20 at 240 V for a car;
# a motorcycle takes a third of a car's energy, an 80 A charger gives twice and more of a usual one's: own-judgement.
MOST_MILES_PER_HOUR = 90
MOST_HOURS = 120.0
FEWEST_MINUTES = 5


def plan_findings(dataset: Dataset) -> PlanCounts:
    """Plan every rig with every class from -20 F to 110 F, 10 % to 80 %, and say what cannot be.

    Each either gets figures inside what can be, or is refused, asked or doubted with a reason in words.
    """
    counts: dict[str, int] = {}
    found: dict[tuple[str, str], Finding] = {}
    number = 0
    for rig_id in dataset.rigs:
        for class_id in dataset.vehicle_classes:
            for ambient_c in AMBIENT_STEPS_C:
                number += 1
                fault = _plan_fault(dataset, Call(rig_id, class_id, 10, ToPercent(80), ambient_c=ambient_c), counts)
                if fault is not None:
                    text = f"with {rig_id} at {ambient_c * 1.8 + 32:.0f} F: {fault}"
                    tip = "correct the record, or say in exceptions.yaml why it is so"
                    record = f"vehicle_classes/{class_id}"
                    found.setdefault((record, fault.split(":")[0]), _finding(PLAN_RULE, record, text, tip))
    fired = {finding.record for finding in found.values()}
    unneeded = tuple(
        _finding(
            "exceptions",
            kept.exception.record,
            f"it no longer needs its exception from {PLAN_RULE}",
            "remove the entry from exceptions.yaml",
        )
        for kept in dataset.exceptions
        if kept.exception.rule == PLAN_RULE and kept.exception.record not in fired
    )
    return PlanCounts(number, counts, (*_without_exceptions(dataset, found.values()), *unneeded))


def _plan_fault(dataset: Dataset, call: Call, counts: dict[str, int]) -> str | None:
    try:
        made = plan(dataset, call)
    except PlannerError as error:
        return f"no plan: {error}"
    counts[made.verdict] = counts.get(made.verdict, 0) + 1
    if made.verdict in {"cannot_serve", "ask_first", "try"}:
        if not made.reasons or not all(reason.text and reason.code for reason in made.reasons):
            return f"{made.verdict} without a reason"
        return None
    return _outside(made)


def _outside(made: Plan) -> str | None:
    """Return what of a plan that serves cannot be."""
    power = (made.power_battery_kw, made.power_inlet_kw, made.power_meter_kw)
    if any(part is None for part in power) or made.setting is None or made.minutes_charging is None:
        return "it serves without setting, power or minutes"
    battery_kw, inlet_kw, meter_kw = (part or 0.0 for part in power)
    if not 0 < battery_kw <= inlet_kw <= meter_kw:
        return f"power: {battery_kw:.2f} kW in the battery, {inlet_kw:.2f} at the inlet, {meter_kw:.2f} at the meter"
    if (made.current_a or 0.0) > made.setting.output_a:
        return f"current: {made.current_a:g} A at a setting of {made.setting.output_a:g} A"
    miles = made.miles_added_per_hour
    if miles is not None and not 0 <= miles <= MOST_MILES_PER_HOUR:
        return f"miles: {miles} added per hour plugged in"
    minutes = made.minutes_charging.typical
    if not FEWEST_MINUTES <= minutes <= 60 * MOST_HOURS:
        return f"minutes: {minutes} to 80 %"
    return None
