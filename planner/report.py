"""A plan as JSON and as text: the only place where figures are rounded.

Minutes and fuel go up, miles and amps down, bands outward. A band that was not asked for is left out, never copied.
"""

import math
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass
from typing import TYPE_CHECKING, Any

from planner.chain import Link
from planner.condition import RULES as CONDITION_RULES
from planner.figures import (
    amps,
    asked_miles,
    feet,
    gallons,
    hours_minutes,
    kilowatts,
    rounded_down,
    temperature,
    volts,
)
from planner.mating import KEPT_WORDS
from planner.place import PLACE_KIND_WORDS
from planner.place import RULES as PLACE_RULES
from planner.plan_types import CallAsUnderstood, Minutes, Plan
from planner.records import M_PER_S_PER_MPH
from planner.trip import GOAL_WORDS
from planner.units import KG_PER_LB, KM_PER_MILE, LITRES_PER_GALLON

if TYPE_CHECKING:
    from planner.envelope import Envelope
    from planner.turns import Turns

__all__ = [
    "VERDICT_WORDS",
    "chain_lines",
    "document",
    "envelope_to_json",
    "envelope_to_text",
    "plain",
    "row",
    "to_json",
    "to_text",
    "turns_to_json",
    "turns_to_text",
    "wrapped",
]

WIDTH = 84
LABEL_WIDTH = 13
SHOWN_UNSURE = 3

# Left out of the document where no band was asked for. In a band that was, null says: that many cases never get there.
BAND = frozenset({"p10", "p50", "p90", "chance_reached"})

PART_WORDS = {"make_ready": "to make it ready"}

# What is left goes down, what is used up goes up, so that no document promises more than the arithmetic gives.
ROUNDED_DOWN = frozenset(
    {
        "battery_left_kwh",
        "fuel_left_litres",
        "high",
        "hours_left",
        "left_after",
        "left_after_kwh",
        "low",
        "stop_above",
    }
)
ROUNDED_UP = frozenset({"battery_used_kwh", "fuel_litres", "gallons", "litres", "source_load_percent", "used_kwh"})

VERDICT_WORDS = {
    "serve": "SERVE",
    "serve_with_changes": "YES, AFTER A CHANGE",
    "ask_first": "ASK FIRST",
    "try": "TRY",
    "cannot_serve": "CANNOT SERVE",
}


# -------------------------------------------------------------------------------------------------------------- JSON


def document(plan: Plan) -> dict[str, Any]:
    """Return the published form of a plan: plain values, rounded by the unit that each name ends in."""
    result = plain(plan, "")
    assert isinstance(result, dict)
    return result


def to_json(plan: Plan) -> str:
    """Return the plan as one JSON document. No NaN, no infinity."""
    import json  # wanted by `--json` alone

    return json.dumps(document(plan), indent=2, allow_nan=False) + "\n"


def plain(value: object, name: str = "") -> Any:
    """Return a result as plain values for JSON, rounded by the unit that each name ends in."""
    if is_dataclass(value) and not isinstance(value, type):
        result = {}
        for item in fields(value):
            inner = getattr(value, item.name)
            if inner is None and item.name in BAND and getattr(value, "chance_reached", None) is None:
                continue
            result[item.name] = plain(inner, item.name)
        return result
    if isinstance(value, tuple | list):
        return [plain(item, name) for item in value]
    if isinstance(value, float):
        return _rounded(value, name)
    return value


def _rounded(value: float, name: str) -> float:
    """Round by name: amps and what is left down, what is used up, the rest to the nearest shown digit."""
    if name.endswith("_a") or name in ROUNDED_DOWN:
        return rounded_down(value)
    if name in ROUNDED_UP:
        return _up(value)
    if name.endswith(("_v", "_m", "_c")) or name == "stop_below":
        return round(value, 1)
    if name.startswith("soc") or name in {"share", "chance_reached"}:
        return round(value, 2)
    return round(value, 3)


# -------------------------------------------------------------------------------------------------------------- text


def to_text(plan: Plan) -> str:
    """Return the plan as text for a terminal: the answer first, then what it rests on."""
    blocks = [
        list(_head(plan)),
        list(_action(plan)),
        list(_menu(plan)),
        list(_roadside(plan)),
        list(_ladder(plan)),
        list(_small_print(plan)),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def envelope_to_json(found: "Envelope") -> str:
    """Return an envelope as one JSON document."""
    import json  # wanted by `--json` alone

    return json.dumps(plain(found, ""), indent=2, allow_nan=False) + "\n"


def envelope_to_text(found: "Envelope") -> str:
    """Return an envelope as text: what holds for all, what to ask, and each class that it may be."""
    from planner.envelope import known_words  # wanted for an envelope alone

    words = known_words(found.known)
    known_by = f"known by {', '.join(words)}" if words else "of which nothing is known"
    count = len(found.members)
    what = "class" if count == 1 else "classes"
    if any(member.inlet is not None for member in found.members) and found.known.inlet is None:
        what = "classes and ports"
    lines = [
        f"{VERDICT_WORDS[found.verdict]}: a vehicle {known_by} with {found.rig_name}",
        f"it may be any of {count} {what}; {found.refused} of them cannot be served",
    ]
    if found.ask is not None:
        lines[1:1] = wrapped(f"Ask: {found.ask.question}", "  ", "? ")
    for reason in found.reasons:
        lines += wrapped(reason.text, "  ", "- ")
    if found.reasons and found.verdict == "cannot_serve":
        return "\n".join(lines) + "\n"  # whichever class it is: no list of them helps
    lines.append("")
    if found.minutes_p10 is not None:
        most = "no end in one of ten cases" if found.minutes_p90 is None else hours_minutes(found.minutes_p90)
        lines += row("On site", f"{found.minutes_p10} min at best to {most}, whichever of those served it is")
    if found.soc_target_low is not None and found.soc_target_high is not None:
        lines += row("Release at", f"{100 * found.soc_target_high:.0f} % on the dash does for all that are served")
    if found.miles_added_per_hour_low is not None:
        ends = dict.fromkeys((found.miles_added_per_hour_low, found.miles_added_per_hour_high))
        lines += row("Adds", f"{' to '.join(map(str, ends))} miles added per hour plugged in")
    if found.setting_marks:
        many = " (by class, see below)" if len(found.setting_marks) > 1 else ""
        lines += row("Setting", f"mark {' or '.join(found.setting_marks)}{many}")
        lines += row("Bring", "; ".join(found.adapters))
    if found.minutes_p10 is not None:
        lines.append("")
    told = {reason.text for reason in found.reasons}
    for member in found.members:
        words = [VERDICT_WORDS[member.verdict].lower()]
        if member.minutes_likely is not None:
            allow = "" if member.minutes_p90 is None else f", allow {member.minutes_p90} min"
            words.append(f"{member.minutes_likely} min on site likely{allow}")
        if member.setting_mark is not None and len(found.setting_marks) > 1:
            words.append(f"mark {member.setting_mark}")
        if member.adapter is not None and len(found.adapters) > 1:
            words.append(member.adapter)
        if member.verdict != "serve" and member.reason not in told:
            words.append(member.reason)
        port = f", port {member.inlet}" if member.inlet is not None and found.known.inlet is None else ""
        lines += wrapped(f"{member.vehicle_name} ({member.vehicle}{port}): {'; '.join(words)}", "    ", "  ")
    return "\n".join(lines) + "\n"


def turns_to_json(found: "Turns") -> str:
    """Return calls served in turn as one JSON document."""
    import json  # wanted by `--json` alone

    return json.dumps(plain(found, ""), indent=2, allow_nan=False) + "\n"


def turns_to_text(found: "Turns") -> str:
    """Return calls served in turn as text: each plan, then what they take together."""
    count = len(found.plans)
    parts = [f"Call {number} of {count}\n\n{to_text(each)}" for number, each in enumerate(found.plans, 1)]
    lines = ["In turn, with one unit: one EVSE serves one vehicle at a time"]
    for number, each in enumerate(found.plans, 1):
        stay = each.minutes_on_site
        minutes = "" if stay is None else f", {_band_words(stay)}"
        lines += row(f"Call {number}", f"{VERDICT_WORDS[each.verdict].lower()}: {each.vehicle_name}{minutes}")
    if found.minutes_on_site is not None:
        allow = "" if found.minutes_allow is None else f", allow {hours_minutes(found.minutes_allow)}"
        lines += row("On site", f"{hours_minutes(found.minutes_on_site)} likely{allow}; the way between them on top")
    if found.fuel_litres is not None and found.fuel_left_litres is not None:
        left = rounded_down(found.fuel_left_litres / LITRES_PER_GALLON)
        lines += row("Fuel", f"{gallons(found.fuel_litres)} in all, {left:g} gal left after the last")
    if found.battery_used_kwh is not None and found.battery_left_kwh is not None:
        left = rounded_down(found.battery_left_kwh)
        lines += row(
            "Rig battery", f"gives {_up(found.battery_used_kwh):g} kWh in all, {left:g} kWh left after the last"
        )
    if not found.shorter_first:
        lines += row("Order", "the shorter stay first makes people wait less in all")
    return "\n".join([*parts, "\n".join(lines)]) + "\n"


def wrapped(text: str, indent: str = "", first: str | None = None) -> list[str]:
    """Return a text in lines of the terminal's width, the first with its own indent."""
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=indent if first is None else first,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def row(label: str, text: str) -> list[str]:
    """Return a labelled text in lines: the label in the margin, the text beside it."""
    indent = " " * LABEL_WIDTH
    return wrapped(text, indent, f"{label:<{LABEL_WIDTH}}")


def _head(plan: Plan) -> Iterator[str]:
    call = plan.call
    if call.distance_km is not None and call.soc_reserve is not None:
        distance = f"{asked_miles(call.distance_km / KM_PER_MILE)} ({call.distance_km:.0f} km)"
        if call.goal is not None:
            distance = f"{GOAL_WORDS[call.goal]} {distance} away,"
        need = f"{distance} arriving with {100 * call.soc_reserve:.0f} %"
        if call.reserve_km is not None:
            need += f" or {asked_miles(call.reserve_km / KM_PER_MILE)}, whichever is more"
    elif call.energy_battery_kwh is not None:
        need = f"{call.energy_battery_kwh:g} kWh more"
    elif call.plugged_in_min is not None:
        need = f"what {call.plugged_in_min} min plugged in give"
    else:
        need = f"to {100 * (call.soc_to or 0):.0f} %"
    yield f"{VERDICT_WORDS[plan.verdict]}: {plan.vehicle_name} with {plan.rig_name}"
    if plan.ask is not None:  # first of all: somebody is on the phone who can answer it
        yield from wrapped(f"Ask: {plan.ask.question}", "  ", "? ")
    site = f"{temperature(call.ambient_c)}, {feet(call.altitude_m)}" + (f", {call.fuel}" if call.fuel else "")
    dash = f"{call.soc_start * 100:.0f} %"
    if call.start_said is not None:
        dash = f"says {call.start_said}, taken for {dash}"
    yield from wrapped(f"dash {dash}, wants {need}; {site}", "  ", "")
    yield from wrapped(_road_words(plan), "  ", "")
    stands = _place_words(call)
    if stands:
        yield from wrapped(f"stands: {stands}", "  ", "")
    for reason in plan.reasons:
        yield from wrapped(reason.text, "  ", "- ")


def _place_words(call: CallAsUnderstood) -> str:
    """Return what is known of the place and of the vehicle there; empty where nothing is."""
    parts = [PLACE_KIND_WORDS[call.at]] if call.at is not None else []
    if call.out_of_traffic is not None:
        parts.append("out of traffic" if call.out_of_traffic else "in traffic")
    if call.openings is not None:
        parts.append("no opening within 20 ft" if call.openings == "clear" else "an opening within 20 ft")
    if call.people is not None:
        parts.append("nobody in a vehicle within 20 ft" if call.people == "away" else "people within 20 ft")
    if call.danger_unknown:
        parts.append("danger not known")
    elif call.danger is not None:
        parts.append(", ".join(call.danger) if call.danger else "no sign of danger")
    if call.port_state is not None:
        parts.append("port whole and dry" if call.port_state == "good" else f"port {call.port_state}")
    if call.twelve_volt is not None:
        parts.append(f"12 V battery {call.twelve_volt}")
    if call.key is not None:
        parts.append({"here": "key there", "away": "key away", "none": "no key"}[call.key])
    return ", ".join(parts)


def _action(plan: Plan) -> Iterator[str]:
    path = plan.path
    if path is None or plan.setting is None:
        return
    if plan.bring:
        yield from row("Bring", "; ".join(plan.bring))
    if plan.lead is not None:
        kept = "" if plan.lead.kept == "on_board" else f" ({KEPT_WORDS[plan.lead.kept].upper()})"
        yield from row("Lead", f"{plan.lead.outlet_name} at the site > {plan.lead.name}{kept} > the unit's plug")
    parts = [path.connector_name, path.adapter_words, path.inlet_name]
    way = " > ".join(part for part in parts if part) + (f", {path.inlet_part}" if path.inlet_part else "")
    yield from row("Plug", way)
    yield from row("", f"port: {path.inlet_place}")
    setting = plan.setting
    if setting.from_mark is None:
        turn = f"SET TO {setting.mark}, WHATEVER IT SHOWS"
    elif setting.mark != setting.from_mark:
        turn = f"TURN FROM {setting.from_mark} TO {setting.mark}"
    else:
        turn = f"LEAVE AT {setting.mark}"
    if setting.start_mark is not None:
        stands = "" if setting.from_mark is None else f"IT STANDS AT {setting.from_mark}: "
        turn = f"{stands}PLUG IN AT {setting.start_mark}, THEN UP TO {setting.mark}"
    yield from row("Setting", f"{turn}; READ BACK {amps(setting.read_back_a)}")
    if plan.minutes_on_site is not None and plan.minutes_parts is not None:
        parts_of_time = plan.minutes_parts
        pieces = [
            f"{getattr(parts_of_time, item.name)} min {PART_WORDS.get(item.name, item.name.replace('_', ' '))}"
            for item in fields(parts_of_time)
            if getattr(parts_of_time, item.name)
        ]
        yield from row("On site", f"{_band_words(plan.minutes_on_site)}: {', '.join(pieces)}")
    if plan.soc_release is not None and plan.energy_battery_kwh is not None and plan.energy_meter_kwh is not None:
        yield from row(
            "Release at",
            f"{plan.soc_release * 100:.0f} % on the dash; {plan.energy_meter_kwh:.1f} kWh on the meter, "
            f"{plan.energy_battery_kwh:.1f} kWh into the battery",
        )
    if plan.current_a is not None and plan.power_meter_kw is not None:
        assert plan.power_battery_kw is not None
        assert plan.voltage_inlet_v is not None
        yield from row(
            "Draws",
            f"{amps(plan.current_a)}, {kilowatts(plan.power_meter_kw)} at the meter, "
            f"{kilowatts(plan.power_battery_kw)} into the battery; {volts(plan.voltage_inlet_v)} at the vehicle",
        )
        yield from row(
            "Adds",
            f"{plan.miles_added_per_hour} miles added per hour plugged in "
            f"({plan.miles_added_per_hour_label} by its window label)",
        )
    if plan.fuel is not None:
        fuel = plan.fuel
        count = fuel.refuel_stops
        stops = f"; {count} refuel stop{'s' if count > 1 else ''}" if count else ""
        yield from row(
            "Fuel",
            f"{gallons(fuel.litres)} of {fuel.kind}, {rounded_down(fuel.hours_left):g} h at this load left after it"
            f"{stops}; {rounded_down(fuel.battery_kwh_per_gallon):g} kWh into the battery per gallon",
        )
    if plan.battery is not None:
        used = plan.battery
        yield from row(
            "Rig battery",
            f"gives {_up(used.used_kwh):g} kWh, {math.floor(100 * max(used.soc_left, 0)):.0f} % left after it "
            f"(keeps {used.soc_floor * 100:.0f} %"
            + (f" and {used.way_home_kwh:g} kWh for the way home)" if used.way_home_kwh else ")"),
        )
    if plan.source_load_percent is not None:
        watts = "continuous watts" if plan.battery is not None else "running watts as they are here"
        yield from row("Source load", f"{math.ceil(plan.source_load_percent)} % of its {watts}")
    if plan.say:  # beside the figures it is made of: a dispatcher reads it out while the customer waits
        yield from row("Say", f'"{plan.say}"')


def _road_words(plan: Plan) -> str:
    """Return the road as reckoned with, and what it takes."""
    call = plan.call
    how = "mixed road" if call.speed_kmh is None else f"{call.speed_kmh / KM_PER_MILE:.0f} mph"
    parts = [how]
    parts += [f"{word} {feet(value)}" for word, value in (("up", call.climb_m), ("down", call.descent_m)) if value > 0]
    if call.headwind_m_per_s:
        side = "head" if call.headwind_m_per_s > 0 else "tail"
        parts.append(f"{abs(call.headwind_m_per_s) / M_PER_S_PER_MPH:.0f} mph {side}wind")
    parts += [
        f"{value / KG_PER_LB:,.0f} lb {word}"
        for word, value in (("cargo", call.cargo_kg), ("trailer", call.trailer_kg))
        if value > 0
    ]
    if not call.road_heat:
        parts.append("no cabin heat or cooling on the road")
    return f"road: {', '.join(parts)}: {plan.consumption_battery_kwh_per_100mi:.1f} kWh per 100 mi at the battery"


def _band_words(minutes: Minutes) -> str:
    """Return minutes as a dispatcher needs them: likely, and what to allow."""
    text = f"{hours_minutes(minutes.typical)} likely"
    if minutes.chance_reached is None:
        return text
    if minutes.p90 is not None:
        text += f", allow {hours_minutes(minutes.p90)}"
    else:
        text += f", never in {math.ceil(100 * (1 - minutes.chance_reached))} of 100 cases"
    return text + (f", {minutes.p10} min at best" if minutes.p10 is not None else "")


# Of a place or of the state that a vehicle is in: no part of the chain has anything to do with it.
OF_THE_CALL = frozenset(rule.code for rule in (*PLACE_RULES, *CONDITION_RULES))


def _refused_by_the_call(plan: Plan) -> bool:
    """Return whether the place or the vehicle's state alone refuses: then no part of the chain is worth a line."""
    return plan.verdict == "cannot_serve" and all(reason.code in OF_THE_CALL for reason in plan.reasons)


def _ladder(plan: Plan) -> Iterator[str]:
    if not plan.chain or _refused_by_the_call(plan):
        return
    yield "Amps each part allows for hours, from the source to the vehicle"
    yield from chain_lines(plan.chain)


def chain_lines(chain: Sequence[Link]) -> Iterator[str]:
    """Yield the ladder as text: the amps each part allows, its name, why, and its mark."""
    for link in chain:
        limit = f"{rounded_down(link.limit_a):g}" if link.protected else "none"
        yield from wrapped(f"{link.name}: {link.basis}{_mark(link)}", " " * 9, f"{limit:>7}  ")


def _up(value: float) -> float:
    return math.ceil(value * 10 - 1e-9) / 10


def _mark(link: Link) -> str:
    if not link.protected:
        return " [NOT PROTECTED]"
    if link.sets_current:
        return " [HOLDS BACK]"
    return " [sets the setting]" if link.sets_setting else ""


def _menu(plan: Plan) -> Iterator[str]:
    if not plan.menu:
        return
    yield "Minutes plugged in, and what they add: miles likely, and in nine of ten cases"
    for entry in plan.menu:
        if not entry.kwh:
            yield f"{entry.minutes:>7}  less than one percent"
            continue
        reaches = f"; reaches {', '.join(entry.reaches)}" if entry.reaches else ""
        yield from wrapped(
            f"{entry.kwh:>5.1f} kWh, dash {entry.soc * 100:.0f} %, {entry.miles_likely} mi likely, "
            f"{entry.miles_at_least} mi at least{reaches}",
            " " * 9,
            f"{entry.minutes:>7}  ",
        )


def _roadside(plan: Plan) -> Iterator[str]:
    """What the crew reads beside the vehicle: what can hurt first, then what to do in its order."""
    for caution in plan.cautions:
        if caution.level != "note":
            yield from row("Mind", caution.text)
    for number, step in enumerate(plan.steps, 1):
        yield from row(f"Step {number}", step)
    for watch in plan.watch:
        stop = [f"below {watch.stop_below:.0f}"] if watch.stop_below is not None else []
        stop += [f"above {rounded_down(watch.stop_above):g}"] if watch.stop_above is not None else []
        text = f"{watch.what} {rounded_down(watch.low):g} to {rounded_down(watch.high):g} {watch.unit}"
        yield from row("Watch", text + (f"; stop {' or '.join(stop)} {watch.unit}" if stop else ""))
    for item in plan.abort:
        yield from row("Give up", item.text)
    if plan.nothing_happens:
        yield "Plugged in and nothing happens: in this order, until it charges"
        for number, look in enumerate(plan.nothing_happens, 1):
            yield from row(f"Look {number}", look)


# Ways that are refused because a better one stands beside them, or that no one would try: the JSON holds them all.
_OF_NO_USE_TO_A_CREW = frozenset({"adapter_not_needed", "adapter_takes_another_connector"})


def _small_print(plan: Plan) -> Iterator[str]:
    for caution in plan.cautions:
        if caution.level == "note":
            yield from row("Caution", caution.text)
    if _refused_by_the_call(plan):
        yield from row("Assumed", "; ".join(plan.call.assumed))
        return
    for way in plan.other_paths:
        ends = " > ".join(part for part in (way.connector_name, way.adapter_name, way.inlet_name) if part)
        yield from row("Other way", f"{ends}: {'mark ' + way.mark if way.mark is not None else 'no'}. {way.text}")
    not_fit = [path.text for path in plan.refused_paths if path.code not in _OF_NO_USE_TO_A_CREW]
    for text in dict.fromkeys([*(lead.text for lead in plan.refused_leads), *not_fit]):
        yield from row("Refused", text)
    # Notes are for whoever builds the rig: `rangeferry rig` and the rig's page tell them.
    for finding in plan.findings:
        if finding.level == "note":
            continue
        yield from row("Finding", f"{finding.text} {finding.remedy} ({finding.edition}, {finding.clause})")
    if plan.unsure:
        shares = ", ".join(f"{item.input} {100 * item.share:.0f} %" for item in plan.unsure[:SHOWN_UNSURE])
        yield from row("Unsure by", f"{shares} of the spread of the minutes")
    if plan.call.assumed:
        yield from row("Assumed", "; ".join(plan.call.assumed))
    yield from row("Data", f"{plan.dataset_version}; sources: {', '.join(plan.provenance.sources)}")
