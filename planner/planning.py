"""`plan(dataset, call) -> Plan`: the one entry that command line, pages, JSON and printed card show.

The dataclasses below are the typed definition of the published plan: field names are the JSON's, quantities are
exact here and rounded in `report`. A band that has not been computed is absent (None and left out), never copied.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from planner.answer import (
    CABIN_ON_BELOW_C,
    Answer,
    Call,
    Session,
    answer,
    handshake_s,
    session_energy,
    stop_below_v,
)
from planner.chain import Link, SettingChoice, cable_code_link, told_current_a, voltage_window_v, with_protection
from planner.figures import amps, asked_miles, gallons, kilowatts, miles, spoken_minutes, temperature, volts
from planner.journey import Air, Road, chance_of_reaching, road_energy
from planner.mating import ALL_BUT_CERTAIN, KEPT_WORDS, Kept, RefusedLead, RefusedPath
from planner.protection import NO_LOAD_RISE, WIDEST_CLASS, Finding
from planner.records import Breaker, Conductor, Dataset, Folder, GeneratorSource, Rig, StoredSource
from planner.spread import Band, Bands, bands
from planner.trip import LAST_ORDINARY_PERCENT, DashWord, Energy, Miles, TimePluggedIn, ToPercent
from planner.units import KM_PER_MILE, LITRES_PER_GALLON

if TYPE_CHECKING:
    from planner.leads import LeadChoice

__all__ = [
    "PLAN_SCHEMA_VERSION",
    "Abort",
    "AdapterLabel",
    "Ask",
    "BatteryUse",
    "CallAsUnderstood",
    "Caution",
    "FuelPlan",
    "LeadUsed",
    "MenuEntry",
    "Minutes",
    "MinutesParts",
    "OtherPath",
    "PathUsed",
    "Plan",
    "ProvenanceOfPlan",
    "Reason",
    "SettingStep",
    "Unsure",
    "Verdict",
    "Watch",
    "other_port",
    "plan",
    "plan_with_bands",
]

PLAN_SCHEMA_VERSION = "1.3"
Verdict = Literal["serve", "serve_with_changes", "ask_first", "try", "cannot_serve"]

MENU_MIN = (15, 30, 45, 60, 90)
# ansi-c84-1 range B for 120/240 V service, from memory: what utilization equipment is made for.
VOLTS_STOP_ABOVE_SHARE = 254 / 240
COLD_PROPANE_C = -6.7  # common-practice: below 20 F a cylinder's gas rate is felt under a steady load
LONG_STAY_MIN = 240
FROST_SHARE = 2.0  # propane-cylinder-guide: drawn without a break a cylinder gives about half
SPARE_H = 0.5  # more than warm-up, hand-shake and cool-down take together: only bounds, never shown
COLD_AIR_C = CABIN_ON_BELOW_C
SLOWER_MPH = (65.0, 55.0, 45.0, 35.0)  # what a driver can be asked to hold
WATCH_TOLERANCE = 0.05
NOMINAL_HZ = 60.0
LOW_HZ = 58.5  # own-judgement: an engine that holds its load stays above
STOP_BELOW_HZ, STOP_ABOVE_HZ = 57.0, 66.0  # from memory: where onboard chargers let go, and a governor that runs away


@dataclass(frozen=True, slots=True, eq=False)
class AdapterLabel:
    """A customer's adapter with what was read off its label; None where nothing was."""

    adapter: str
    rating_current_a: float | None
    rating_voltage_v: float | None


@dataclass(frozen=True, slots=True, eq=False)
class CallAsUnderstood:
    """The call in SI units, with defaults filled in and listed."""

    rig: str
    vehicle: str
    inlet: str | None  # the port that it is said to have
    customers_adapters: tuple[AdapterLabel, ...]
    outlet: str | None  # what a rig for site outlets finds there
    breaker_a: float | None
    soc_start: float
    start_said: str | None  # what the dash says, where it is no percent
    soc_to: float | None
    distance_km: float | None
    soc_reserve: float | None
    energy_battery_kwh: float | None
    plugged_in_min: int | None
    ambient_c: float
    altitude_m: float
    fuel: str | None
    cabin_kw: float  # while it charges
    pack_c: float  # at the plug-in
    speed_kmh: float | None  # None is the mixed road
    climb_m: float
    descent_m: float
    headwind_m_per_s: float
    cargo_kg: float
    trailer_kg: float
    road_heat: bool
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Reason:
    """Why the verdict is what it is."""

    code: str
    text: str
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class Ask:
    """The question that decides."""

    question: str
    code: str


@dataclass(frozen=True, slots=True, eq=False)
class PathUsed:
    """Connector, adapter and inlet, with the names to show."""

    connector: str
    adapter: str | None
    inlet: str
    connector_name: str
    adapter_name: str | None
    inlet_name: str
    inlet_part: str | None
    inlet_place: str
    adapter_kept: Kept | None  # on board, at the depot, or the customer's
    cable_code_a: float | None  # what a loose cable tells the vehicle

    @property
    def adapter_words(self) -> str | None:
        """Return the adapter with where it is kept, if that is not on board; None without one."""
        if self.adapter_name is None or self.adapter_kept in {None, "on_board"}:
            return self.adapter_name
        assert self.adapter_kept is not None
        return f"{self.adapter_name} ({KEPT_WORDS[self.adapter_kept]})"


@dataclass(frozen=True, slots=True, eq=False)
class OtherPath:
    """An open way that is not the one planned: its setting, or why no setting serves by it."""

    connector: str
    adapter: str | None
    inlet: str
    connector_name: str
    adapter_name: str | None
    inlet_name: str
    adapter_kept: Kept | None
    mark: str | None
    output_a: float | None
    code: str
    text: str
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class LeadUsed:
    """The supply-side lead between an outlet of the site and the EVSE's plug."""

    lead: str
    name: str
    kept: Kept
    outlet: str
    outlet_name: str
    breaker_a: float
    limit_a: float
    basis: str


@dataclass(frozen=True, slots=True, eq=False)
class SettingStep:
    """What to turn the unit to, from where, and how; from_mark is None where nobody knows what it shows."""

    mark: str
    output_a: float
    read_back_a: float  # what the unit then states: less than the mark gives with a loose cable of a smaller code
    from_mark: str | None
    allowed_a: float
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Minutes:
    """Minutes; the band is left out where it was not asked for. None in a band: that many cases never get there."""

    typical: int
    p10: int | None = None
    p50: int | None = None
    p90: int | None = None
    chance_reached: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class MinutesParts:
    """The minutes on site, part by part; cold is what a cold pack adds."""

    park: int
    warm_up: int
    handshake: int
    cold: int
    charging: int
    refuel: int
    cool_down: int
    pack_up: int


@dataclass(frozen=True, slots=True, eq=False)
class MenuEntry:
    """What a stay of so many minutes plugged in gives: miles on top of those that are there, and what all reaches."""

    minutes: int
    kwh: float  # into the battery
    soc: float
    miles_likely: int
    miles_at_least: int  # in nine of ten cases, of the energy stated
    reaches: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class FuelPlan:
    """What the engine burns from warm-up to cool-down."""

    kind: str
    litres: float
    gallons: float
    left_after: float  # litres in tank and cans
    keep_litres: float  # of that, an hour at this load or the way home
    refuel_stops: int
    hours_left: float  # at this load
    battery_kwh_per_gallon: float  # into the vehicle's battery, for each gallon of this session


@dataclass(frozen=True, slots=True, eq=False)
class BatteryUse:
    """What a battery rig, or a truck's own battery, gives."""

    used_kwh: float
    left_after_kwh: float
    soc_left: float
    soc_floor: float
    way_home_kwh: float


@dataclass(frozen=True, slots=True, eq=False)
class Watch:
    """What a meter should read, and when to stop."""

    what: str
    low: float
    high: float
    stop_below: float | None
    stop_above: float | None
    unit: str


@dataclass(frozen=True, slots=True, eq=False)
class Abort:
    """When to give up."""

    text: str


@dataclass(frozen=True, slots=True, eq=False)
class Unsure:
    """How much of the spread of the minutes one input brings; empty where no band was asked for."""

    input: str
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Caution:
    """A caution that applies to this call."""

    code: str
    text: str
    source: str
    level: Literal["stop", "change", "note"]


@dataclass(frozen=True, slots=True, eq=False)
class ProvenanceOfPlan:
    """Which records a plan rests on, and their sources."""

    folders: tuple[Folder, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """The answer to a call."""

    schema_version: str
    dataset_version: str
    call: CallAsUnderstood
    verdict: Verdict
    reasons: tuple[Reason, ...]
    ask: Ask | None
    path: PathUsed | None
    lead: LeadUsed | None
    refused_leads: tuple[RefusedLead, ...]
    other_paths: tuple[OtherPath, ...]
    refused_paths: tuple[RefusedPath, ...]
    findings: tuple[Finding, ...]
    chain: tuple[Link, ...]
    setting: SettingStep | None
    current_a: float | None
    voltage_evse_v: float | None
    voltage_inlet_v: float | None
    power_meter_kw: float | None
    power_inlet_kw: float | None
    power_battery_kw: float | None
    source_load_percent: float | None
    miles_added_per_hour: int | None
    miles_added_per_hour_label: int | None
    miles_at_start: int  # what is in the battery, likely, on the road asked about
    consumption_battery_kwh_per_100mi: float
    soc_start: float
    soc_target: float | None
    soc_release: float | None
    energy_battery_kwh: float | None
    energy_meter_kwh: float | None
    minutes_charging: Minutes | None
    minutes_on_site: Minutes | None
    minutes_parts: MinutesParts | None
    menu: tuple[MenuEntry, ...]
    fuel: FuelPlan | None
    battery: BatteryUse | None
    watch: tuple[Watch, ...]
    abort: tuple[Abort, ...]
    cautions: tuple[Caution, ...]
    steps: tuple[str, ...]
    say: str
    unsure: tuple[Unsure, ...]
    provenance: ProvenanceOfPlan
    rig_name: str
    vehicle_name: str


def plan(dataset: Dataset, call: Call) -> Plan:
    """Return the typical plan for a call: verdict, path, setting, rate, minutes, fuel, and what to watch.

    Raises `UnknownIdError` for a rig or class that the dataset does not hold, `QuantityError` for a fuel that the
    rig does not run on. A pair that cannot be served is a plan with its reasons, never an error.
    """
    return _plan(dataset, call, answer(dataset, call), None)


def plan_with_bands(dataset: Dataset, call: Call) -> Plan:
    """Return the plan for a call with the bands of its minutes, and what they come from. Raises what `plan` raises."""
    found = answer(dataset, call)
    return _plan(dataset, call, found, bands(dataset, call, found))


def _plan(dataset: Dataset, call: Call, found: Answer, sure: Bands | None) -> Plan:
    changes = _changes(found)
    verdict, reasons, ask = _verdict(dataset, found, call, changes)
    if verdict in {"serve", "serve_with_changes"}:
        reasons = (*reasons, *_second_thoughts(found))
    # A need that is met already leaves nothing to turn, plug or watch; a breaker that nobody has read allows nothing.
    served = verdict != "cannot_serve" and (ask is None or ask.code not in {"need_already_met", "breaker_not_read"})
    session = found.session if served else None
    rate = found.rate if served else None
    # An open question shows no numbers to act on, but what the rig could give is part of the question.
    target_percent = found.planned_percent if session is not None else None
    sure = sure if session is not None else None
    parts = _minutes_parts(dataset, found, session) if session is not None else None
    setting = _setting_step(found) if served else None
    return Plan(
        schema_version=PLAN_SCHEMA_VERSION,
        dataset_version=dataset.version,
        call=_call_as_understood(found, call),
        verdict=verdict,
        reasons=reasons,
        ask=ask,
        path=_path_used(found) if served else None,
        lead=_lead_used(found) if served else None,
        refused_leads=found.standing.refused if found.standing is not None else (),
        other_paths=_other_paths(found),
        refused_paths=found.refused_paths,
        findings=found.findings,
        chain=_ladder(found, served=served),
        setting=setting,
        current_a=rate.current_a if rate else None,
        voltage_evse_v=rate.voltage_evse_v if rate else None,
        voltage_inlet_v=rate.voltage_inlet_v if rate else None,
        power_meter_kw=rate.power_meter_kw if rate else None,
        power_inlet_kw=rate.power_inlet_kw if rate else None,
        power_battery_kw=rate.power_battery_kw if rate else None,
        source_load_percent=_load_percent(found) if rate else None,
        miles_added_per_hour=found.miles_added_per_hour_mi if rate else None,
        miles_added_per_hour_label=found.miles_added_per_hour_label_mi if rate else None,
        miles_at_start=10 * _now_wh(found) // found.road.wh_per_10_miles,
        consumption_battery_kwh_per_100mi=found.road.wh_per_10_miles / 100,
        soc_start=found.start.percent / 100,
        soc_target=None if target_percent is None else target_percent / 100,
        soc_release=None if target_percent is None else target_percent / 100,
        energy_battery_kwh=session.energy_battery_wh / 1000 if session else None,
        energy_meter_kwh=session.energy_meter_wh / 1000 if session else None,
        minutes_charging=_minutes(parts.cold + parts.charging, sure.charging if sure else None) if parts else None,
        minutes_on_site=_minutes(_sum(parts), sure.on_site if sure else None) if parts else None,
        minutes_parts=parts,
        menu=_menu(dataset, found, call) if served else (),
        fuel=_fuel_plan(found, session) if session else None,
        battery=_battery_use(found, session) if session else None,
        watch=_watch(found) if served else (),
        abort=_abort(found, dataset) if served else (),
        cautions=_cautions(call, found, target_percent, changes, parts) if served else (),
        steps=_steps(found, setting, target_percent, sure) if session else (),
        say=_say(call, found, verdict, parts, target_percent, sure),
        unsure=tuple(Unsure(item.input, item.share) for item in sure.unsure) if sure else (),
        provenance=_provenance(dataset, found),
        rig_name=found.rig.name,
        vehicle_name=found.vehicle.name,
    )


# ---------------------------------------------------------------------------------------------------------- verdict


def _verdict(
    dataset: Dataset, found: Answer, call: Call, changes: tuple[Reason, ...]
) -> tuple[Verdict, tuple[Reason, ...], Ask | None]:
    refusal = found.refusal
    better = _better_fuel(dataset, found, call)
    if refusal is not None and refusal.code == "breaker_not_read":
        ask = Ask("What is on the handle of the breaker that this outlet stands on?", refusal.code)
        return "ask_first", (Reason(refusal.code, f"{refusal.text} {refusal.remedy}", refusal.source),), ask
    if refusal is not None:
        text = f"{refusal.text} {refusal.remedy}"
        others = [
            Reason(finding.code, f"{finding.text} {finding.remedy}", f"{finding.edition}, {finding.clause}")
            for finding in found.findings
            if finding.level == "stop" and finding.text != refusal.text
        ]
        return "cannot_serve", (Reason(refusal.code, text, refusal.source), *others, *better), None
    assert found.target is not None
    assert found.setting is not None
    if found.target.percent_typical > 100:
        return _beyond_full(dataset, found, call, changes, better)
    if isinstance(call.need, TimePluggedIn) and found.target.percent <= found.start.percent:
        return _too_short(call)
    if found.target.percent <= found.start.percent:
        cases = " in nine of ten cases" if isinstance(call.need, Miles) else ""
        text = f"The dash says {_dash(found)}; the need takes {found.target.percent} %{cases}. Nothing has to be added."
        ask = Ask("It can make that as it stands. What else keeps it from driving?", "need_already_met")
        return "ask_first", (Reason("need_already_met", text, "charge table"),), ask
    if found.target.goal_percent <= found.start.percent:
        return _beyond_full(dataset, found, call, changes, better)
    if found.port_open:
        short: tuple[Reason, ...] = ()
        if found.session is None or found.percent_in_reach is not None:
            short = _source_short(found, (), ())[1]
        return "ask_first", (_which_port(dataset, found), *short, *changes, *better), WHICH_PORT_ASK
    if found.session is None or found.percent_in_reach is not None:
        return _source_short(found, changes, better)
    if found.target.percent > 100:
        return _not_sure(dataset, found, call, changes, better)
    if found.vehicle.engine and call.tank_empty is None and isinstance(call.need, Miles):
        return "ask_first", (_fuel_first(), *changes, *better), FUEL_ASK
    if changes:
        return "serve_with_changes", (*changes, *better), None
    text = f"Every part carries {amps(found.setting.output_a)} for hours: {_held_by(found.setting)}"
    code = _code_link(found)
    if code is not None and code.limit_a < found.setting.output_a:
        text = f"The cable carries {amps(code.limit_a)} and tells the vehicle so; every other part carries the setting."
    return "serve", (Reason("fits", text, found.setting.set_by_link.source), *better), None


def _second_thoughts(found: Answer) -> tuple[Reason, ...]:
    """Return what a dispatcher must see beside a yes: a cold start, fuel that may be the quicker help."""
    thoughts = []
    cold = _cold_text(found)
    if cold:
        thoughts.append(Reason("cold_vehicle", cold, "method page"))
    if found.vehicle.engine:
        thoughts.append(_fuel_first())
    return tuple(thoughts)


def _fuel_first() -> Reason:
    return Reason(FUEL_FIRST_CAUTION.code, FUEL_FIRST_CAUTION.text, FUEL_FIRST_CAUTION.source)


def _dash(found: Answer) -> str:
    """Return what the dash says, with the percent that it is taken for."""
    start = found.start
    return f"{start.percent} %" if start.said is None else f"{start.said}, taken for {start.percent} %"


def _now_wh(found: Answer) -> int:
    """Return what is in the battery at the start."""
    return math.floor(10 * found.vehicle.energy_now_kwh * found.start.percent)


def _changes(found: Answer) -> tuple[Reason, ...]:
    """Return what has to be changed, or kept to, before this vehicle may be served at this setting."""
    setting = found.setting
    if setting is None or found.refusal is not None:
        return ()
    changes = [*_lead_changes(found), *_adapter_changes(found)]
    if setting.must_be_moved:
        turn = f"Turn the unit from mark {setting.from_mark} to mark {setting.mark}"
        if not found.rig.evse.survives_power_cycle:
            turn = f"Set the unit to mark {setting.mark}, whatever it shows"
        changes.append(
            Reason(
                "turn_setting",
                f"{turn} ({amps(setting.output_a)}): {_held_by(setting)}",
                setting.set_by_link.source,
            )
        )
    if found.cabin_must_be_off:
        changes.append(
            Reason(
                "cabin_off",
                "The cabin's heat or cooling has to be off while it charges: with it on, the battery gets nothing.",
                "energy balance, method page",
            )
        )
    changes += _other_ports(found)
    if setting.stop_above_a is not None:
        changes.append(
            Reason(
                "this_class_only",
                f"The unit stands at {amps(setting.output_a)}, above what the source gives "
                f"({amps(setting.allowed_a)}). This class draws less. Serve this class only, and stop if the "
                f"meter reads above {amps(setting.stop_above_a)}.",
                "common practice, no source",
            )
        )
    return tuple(changes)


def _choice(found: Answer) -> "LeadChoice | None":
    """Return the lead that the rig stands behind, None without one."""
    standing = found.standing
    return standing.choice if standing is not None and standing.stands else None


def _lead_changes(found: Answer) -> Iterator[Reason]:
    """Yield the lead that is put between the site's outlet and the unit's plug."""
    choice = _choice(found)
    if choice is None:
        return
    kept = "; it is kept at the depot, bring it" if choice.kept == "at_depot" else ", on board"
    yield Reason(
        "use_lead",
        f"Between this outlet and the unit's plug goes {choice.lead.name}{kept}. {amps(choice.limit_a)} for hours "
        f"({choice.basis}).",
        "nec-2017, 240.5 and 210.21(B)",
    )


def _lead_used(found: Answer) -> LeadUsed | None:
    choice = _choice(found)
    if choice is None or found.standing is None or not found.standing.stands:
        return None
    breaker = found.rig.supply[0]
    assert isinstance(breaker, Breaker)
    outlet = found.standing.outlet
    return LeadUsed(
        choice.lead.id,
        choice.lead.name,
        choice.kept,
        outlet.id,
        outlet.configuration,
        breaker.rating_a,
        choice.limit_a,
        choice.basis,
    )


def _adapter_changes(found: Answer) -> Iterator[Reason]:
    """Yield what must be taken along, or asked of the customer, for the way that is planned."""
    path = found.path
    if path is None or path.adapter is None:
        return
    name = path.adapter.name
    if path.kept == "at_depot":
        yield Reason("bring_adapter", f"Bring {name}: it is kept at the depot, not on board.", "rig record")
    elif path.kept == "customers":
        yield Reason(
            "customers_adapter",
            f"By the customer's own adapter, {name}. Before driving, have its label read aloud, "
            f"{amps(path.adapter.rating_current_a or 0)} and {volts(path.adapter.rating_voltage_v or 0)}, and its "
            "listing; whole, dry, not browned.",
            "ul-2252, rating marked on the adapter",
        )


WHICH_PORT_ASK = Ask("Which port has it? Go by what it looks like, not by the vehicle.", "which_port")


def _which_port(dataset: Dataset, found: Answer) -> Reason:
    """Say which of its class's ports the rig serves, and which it does not."""
    assert found.path is not None  # the port is open only where one of its ways serves, and that one is planned
    served = {found.path.inlet.id, *(item.path.inlet.id for item in found.other_paths if item.serves)}
    yes, no = [], []
    for port in found.vehicle.ports:
        name, share = dataset.inlets[port.inlet].name, f"{_of_class(port.share)} of the class"
        if port.inlet in served:
            yes.append(f"{name} ({share})")
        elif dataset.inlets[port.inlet].ac is not None:
            no.append(f"{name} ({share})")
    text = f"{found.rig.name} serves it by its {' or '.join(yes)}"
    text += (
        f", not by its {' or '.join(no)}." if no else "; not every vehicle of the class is sure to have one of them."
    )
    return Reason("which_port", text, "class record")


def _of_class(share: float) -> str:
    return "all" if share >= ALL_BUT_CERTAIN else f"{100 * share:.0f} %"


def _other_ports(found: Answer) -> Iterator[Reason]:
    """Yield what changes where this vehicle has another port of its class than the one that is planned for."""
    path, setting = found.path, found.setting
    if path is None or setting is None or path.port.share >= ALL_BUT_CERTAIN or found.port_known:
        return
    told = {path.inlet.id}
    for item in found.other_paths:
        other = item.path
        if other.inlet.id in told or not item.serves:
            continue
        told.add(other.inlet.id)
        assert isinstance(item.chosen, SettingChoice)
        way = f"{other.adapter.name} ({KEPT_WORDS[other.kept]})" if other.adapter and other.kept else "no adapter"
        chosen = item.chosen
        mark = "the same mark" if chosen.mark == setting.mark else f"mark {chosen.mark} ({amps(chosen.output_a)})"
        yield Reason(
            "other_port",
            f"Look at the port first: this is for {path.inlet.name} ({_of_class(path.port.share)} of the class). With "
            f"{other.inlet.name} ({_of_class(other.port.share)}): {way}, {mark}; say so with --port {other.inlet.id}.",
            "class record",
        )


def other_port(found: Answer) -> bool:
    """Return whether the vehicle may have another port of its class that is served by other means."""
    return next(_other_ports(found), None) is not None


def _held_by(setting: SettingChoice) -> str:
    link = setting.set_by_link
    return f"{link.name} allows {amps(link.limit_a)} ({link.basis})."


def _beyond_full(
    dataset: Dataset, found: Answer, call: Call, changes: tuple[Reason, ...], better: tuple[Reason, ...]
) -> tuple[Verdict, tuple[Reason, ...], Ask | None]:
    assert found.target is not None
    need = call.need
    if isinstance(need, Energy):
        text = (
            f"{need.energy_battery_kwh:g} kWh do not fit: from {_dash(found)} to full its battery takes about "
            f"{_room_kwh(found):.1f} kWh. Ask for less."
        )
        return "cannot_serve", (Reason("need_exceeds_battery", text, "charge table"), *better), None
    assert isinstance(need, Miles)
    text = (
        f"{asked_miles(need.distance_mi)} with {need.kept_percent} % left does not fit into a full battery on this "
        f"road today; {miles(found.target.most_miles_mi)} does, in nine of ten cases."
    )
    if found.vehicle.engine:
        return "ask_first", (Reason("need_exceeds_battery", text, "charge table"), *changes, *better), FUEL_ASK
    now_wh = max(found.energy_now_wh - found.energy_reserve_wh - found.road.hills_wh, 0)
    text += f" It now has about {miles(10 * now_wh / found.road.wh_per_10_miles)} above its reserve."
    text += f" {_what_would_do(dataset, found, call)}A nearer goal, or a tow."
    return "cannot_serve", (Reason("need_exceeds_battery", text, "charge table"), *better), None


def _room_kwh(found: Answer) -> float:
    """Return what fits into the battery from the start to full, rounded down to a tenth."""
    return math.floor(found.vehicle.energy_now_kwh * (100 - found.start.percent) / 10) / 10


def _not_sure(
    dataset: Dataset, found: Answer, call: Call, changes: tuple[Reason, ...], better: tuple[Reason, ...]
) -> tuple[Verdict, tuple[Reason, ...], Ask | None]:
    """The need fits into a full battery typically, but not in nine of ten cases."""
    need, planned = call.need, found.planned_percent
    assert isinstance(need, Miles)
    assert planned is not None
    assert found.table is not None
    assert found.target is not None
    chance = chance_of_reaching(
        found.vehicle,
        found.road,
        distance_mi=need.distance_mi,
        energy_wh=found.table.battery_wh_at(planned),
    )
    text = (
        f"From {planned} % on the dash {asked_miles(need.distance_mi)} on this road today is made in about "
        f"{math.floor(100 * chance)} of 100 cases; {miles(found.target.most_miles_mi)} in 90 of 100. "
        f"{_what_would_do(dataset, found, call)}The plan is for {planned} %."
    )
    if found.vehicle.engine:
        return "ask_first", (Reason("need_not_sure", text, "road model, method page"), *changes, *better), FUEL_ASK
    ask = Ask("Can they drive so, go to a nearer charger, or stop on the way?", "need_not_sure")
    return "ask_first", (Reason("need_not_sure", text, "road model, method page"), *changes, *better), ask


def _what_would_do(dataset: Dataset, found: Answer, call: Call) -> str:
    """Return in one sentence which way of driving would make the need in nine of ten cases, the mildest first."""
    need, table = call.need, found.table
    if table is None or not isinstance(need, Miles):
        return ""
    full_wh = table.battery_wh_at(100)

    def makes_it(road: Road) -> bool:
        site = found.conditions
        energy = road_energy(dataset, found.vehicle, road, Air(site.ambient_c, site.altitude_m))
        reserve_wh = table.battery_wh_at(need.kept_percent)
        most_wh = max(energy.sure_wh(need.distance_mi), energy.typical_wh(need.distance_mi) + reserve_wh)
        return most_wh <= full_wh

    slower = [speed for speed in SLOWER_MPH if call.road.speed_mph is None or speed < call.road.speed_mph]
    heats = [call.road.cabin_heat] if not call.road.cabin_heat else [True, False]
    for heat in heats:
        for speed in (call.road.speed_mph, *slower):
            road = replace(call.road, speed_mph=speed, cabin_heat=heat)
            if road == call.road or not makes_it(road):
                continue
            how = [f"at a steady {speed:.0f} mph"] if speed is not None and speed != call.road.speed_mph else []
            how += ["without cabin heat or cooling"] if heat != call.road.cabin_heat else []
            return f"It would be made in nine of ten cases {' and '.join(how)}. "
    return ""


def _too_short(call: Call) -> tuple[Verdict, tuple[Reason, ...], Ask | None]:
    assert isinstance(call.need, TimePluggedIn)
    text = f"{call.need.minutes} min plugged in give less than one percent, hand-shake and cold start included."
    ask = Ask("How much longer can they stay?", "stay_too_short")
    return "ask_first", (Reason("stay_too_short", text, "charge table"),), ask


def _source_short(
    found: Answer, changes: tuple[Reason, ...], better: tuple[Reason, ...]
) -> tuple[Verdict, tuple[Reason, ...], Ask | None]:
    """The rig's own fuel or charge does not reach the target."""
    assert found.target is not None
    what = "charge" if isinstance(found.rig.source, StoredSource) else str(found.conditions.fuel)
    if found.percent_in_reach is None:
        text = (
            f"{found.rig.name} does not have enough {what} on board for one percent and {_kept_words(found.rig)}. "
            "Fill it up first, or send another rig."
        )
        return "cannot_serve", (Reason("source_empty", text, "rig record"), *better), None
    text = (
        f"{found.rig.name}'s {what} on board can bring the dash to {found.percent_in_reach} %, "
        f"not the {min(found.target.percent, 100)} % it takes, and keeps {_kept_words(found.rig)}. The plan is for "
        f"{found.percent_in_reach} %."
    )
    ask = Ask(f"Does {found.percent_in_reach} % on the dash help the customer?", "source_short")
    return "ask_first", (Reason("source_short", text, "rig record"), *changes, *better), ask


def _kept_words(rig: Rig) -> str:
    """Return what a rig keeps of its own energy at the end."""
    source = rig.source
    if isinstance(source, StoredSource):
        return "its floor and the way home" if source.way_home_kwh else "its floor"
    return "an hour's fuel at this load, or the way home"


# Refusals that another fuel may mend; volts, fit and protection it does not.
_FUEL_MAY_MEND = frozenset({"below_6_a", "no_setting_low_enough", "setting_too_high"})


def _better_fuel(dataset: Dataset, found: Answer, call: Call) -> tuple[Reason, ...]:
    """Name another fuel on board that would serve better, where the call left the fuel open or its fuel is refused."""
    source = found.rig.source
    if not isinstance(source, GeneratorSource) or found.path is None:
        return ()
    if found.refusal is not None and found.refusal.code not in _FUEL_MAY_MEND:
        return ()
    now_a = found.setting.output_a if found.setting is not None and found.refusal is None else 0.0
    short = (
        found.target is not None
        and found.start.percent < found.target.percent
        and found.target.percent_typical <= 100
        and (found.session is None or found.percent_in_reach is not None)
    )
    if call.fuel is not None and now_a > 0 and not short:
        return ()  # asked for by name, and it serves
    for fuel, record in source.fuels.items():
        if fuel == found.conditions.fuel or record.tank_l + record.spare_l <= 0:
            continue
        other = answer(dataset, replace(call, fuel=fuel))
        if other.refusal is not None or other.setting is None:
            continue
        if now_a == 0:
            what = "would serve"
        elif short and _reach_percent(other) > _reach_percent(found):
            what = f"reaches {_reach_percent(other)} %"
        elif other.setting.output_a > now_a:
            what = f"allows {amps(other.setting.output_a)}"
        else:
            continue
        text = f"{fuel.capitalize()}, also on board, {what}: ask for it with --fuel {fuel}."
        return (Reason("better_fuel", text, "rig record"),)
    return ()


def _reach_percent(found: Answer) -> int:
    """Return the percent that a plan comes to with what its rig carries, 0 for none."""
    if found.percent_in_reach is not None:
        return found.percent_in_reach
    return found.planned_percent or 0


# ------------------------------------------------------------------------------------------------------------ parts


def _call_as_understood(found: Answer, call: Call) -> CallAsUnderstood:
    need, road = call.need, call.road
    reserve = need.kept_percent if isinstance(need, Miles) else None
    site, vehicle = found.conditions, found.vehicle_state
    assumed = [*site.assumed, *vehicle.assumed]
    if road.speed_mph is None:
        assumed.append("the mixed road of its label")
    elif road.speed_mph > found.vehicle.road.top_speed_mph:
        assumed.append(f"drives at its top speed, about {found.vehicle.road.top_speed_mph:.0f} mph")
    if found.cabin_must_be_off and call.cabin_on is None:
        assumed.remove("cabin heat on while it charges")
    return CallAsUnderstood(
        rig=found.rig.id,
        vehicle=found.vehicle.id,
        inlet=call.inlet,
        customers_adapters=tuple(
            AdapterLabel(adapter.id, adapter.rating_current_a, adapter.rating_voltage_v)
            for adapter in call.customers_adapters
        ),
        outlet=call.outlet,
        breaker_a=call.breaker_a,
        soc_start=found.start.percent / 100,
        start_said=found.start.said,
        soc_to=need.percent / 100 if isinstance(need, ToPercent) else None,
        distance_km=need.distance_mi * KM_PER_MILE if isinstance(need, Miles) else None,
        soc_reserve=None if reserve is None else reserve / 100,
        energy_battery_kwh=need.energy_battery_kwh if isinstance(need, Energy) else None,
        plugged_in_min=need.minutes if isinstance(need, TimePluggedIn) else None,
        ambient_c=site.ambient_c,
        altitude_m=site.altitude_m,
        fuel=site.fuel,
        cabin_kw=0.0 if found.cabin_must_be_off and call.cabin_on is None else vehicle.cabin_kw,
        pack_c=vehicle.pack_c,
        speed_kmh=None if road.speed_mph is None else road.speed_mph * KM_PER_MILE,
        climb_m=road.climb_m,
        descent_m=road.descent_m,
        headwind_m_per_s=road.headwind_m_per_s,
        cargo_kg=road.cargo_kg,
        trailer_kg=road.trailer_kg,
        road_heat=road.cabin_heat,
        assumed=tuple(assumed),
    )


def _path_used(found: Answer) -> PathUsed | None:
    path = found.path
    if path is None:
        return None
    code = _code_link(found)
    return PathUsed(
        connector=path.connector.id,
        adapter=path.adapter.id if path.adapter else None,
        inlet=path.inlet.id,
        connector_name=path.connector.name,
        adapter_name=path.adapter.name if path.adapter else None,
        inlet_name=path.inlet.name,
        inlet_part=path.inlet.ac_part,
        inlet_place=path.port.place_words,
        adapter_kept=path.kept,
        cable_code_a=code.limit_a if code is not None else None,
    )


def _code_link(found: Answer) -> Link | None:
    """Return the rung of a loose cable's code, None without one."""
    path = found.path
    return cable_code_link(path.connector, path.adapter, path.cable) if path is not None else None


def _other_paths(found: Answer) -> tuple[OtherPath, ...]:
    """Return the open ways that are not planned, with what each would allow; none where nothing may be run at all.

    None either where the planned way has a mark and is refused for its volts or for what reaches the battery: the other
    ways were not judged so far, and a mark of theirs would look like a way out.
    """
    not_standing = found.standing is not None and not found.standing.stands
    not_fit = any(finding.level == "stop" for finding in found.findings)
    if not_standing or not_fit or (found.refusal is not None and found.setting is not None):
        return ()
    others = []
    for item in found.other_paths:
        path, chosen = item.path, item.chosen
        serves = isinstance(chosen, SettingChoice)
        others.append(
            OtherPath(
                connector=path.connector.id,
                adapter=path.adapter.id if path.adapter else None,
                inlet=path.inlet.id,
                connector_name=path.connector.name,
                adapter_name=path.adapter.name if path.adapter else None,
                inlet_name=path.inlet.name,
                adapter_kept=path.kept,
                mark=chosen.mark if isinstance(chosen, SettingChoice) else None,
                output_a=chosen.output_a if isinstance(chosen, SettingChoice) else None,
                code="not_preferred" if serves else chosen.code,  # type: ignore[union-attr]
                text=_held_by(chosen) if isinstance(chosen, SettingChoice) else chosen.text,
                source=chosen.set_by_link.source if isinstance(chosen, SettingChoice) else chosen.source,
            )
        )
    return tuple(others)


def _ladder(found: Answer, *, served: bool) -> tuple[Link, ...]:
    """Return the chain with its marks: what is not protected, what sets the setting, what holds the current back."""
    setter = found.setting.set_by_link if found.setting and served else None
    by_vehicle = found.rate is not None and found.rate.held_back_by_vehicle is not None
    by_code = False
    if not by_vehicle and found.setting is not None and found.path is not None:
        by_code = told_current_a(found.path, found.setting.output_a) < found.setting.output_a
    rungs = []
    for link in with_protection(found.chain, found.findings):
        if by_vehicle:
            holds = served and link.link == "onboard_charger"
        elif by_code:
            holds = served and link.link == "cable_code"
        else:
            holds = served and link is setter
        if link is setter or holds:
            rungs.append(link.marked(sets_setting=link is setter, sets_current=holds))
        else:
            rungs.append(link)
    return tuple(rungs)


def _setting_step(found: Answer) -> SettingStep | None:
    setting = found.setting
    if setting is None or found.path is None:
        return None
    told_a = told_current_a(found.path, setting.output_a)
    back = f"Read back {amps(told_a)} on its display or the meter."
    if told_a < setting.output_a:
        back = (
            f"Read back {amps(told_a)}, the loose cable's code, once it is in the unit. More than that: the unit does "
            f"not read the cable; set it to {amps(told_a)} or less, or do not use it."
        )
    if not setting.must_be_moved:
        steps = (f"Leave it at mark {setting.mark}.", back)
    elif found.rig.evse.survives_power_cycle:
        steps = (f"Before the connector goes in, turn from mark {setting.from_mark} to mark {setting.mark}.", back)
    else:
        steps = (f"Before the connector goes in, set it to mark {setting.mark}, whatever it shows.", back)
    known = setting.from_mark if found.rig.evse.survives_power_cycle else None
    return SettingStep(setting.mark, setting.output_a, told_a, known, setting.allowed_a, steps)


def _load_percent(found: Answer) -> float | None:
    """Return the load as percent of derated running watts; None where only a breaker stands behind it."""
    assert found.rate is not None
    if found.state.power_derated_w is None:
        return None
    load_w = 1000 * found.rate.power_source_kw + found.rig.other_loads.power_w
    return 100 * load_w / found.state.power_derated_w


def _minutes_parts(dataset: Dataset, found: Answer, session: Session) -> MinutesParts:
    rates = dataset.rates
    engine = isinstance(found.rig.source, GeneratorSource)
    table, planned = found.table, found.planned_percent
    assert table is not None
    assert planned is not None
    # Up to a whole minute the cold and the charge share one rounding, so that both add up to the session.
    warm_min = -(-(table.seconds_at(planned) - table.seconds_at(found.start.percent)) // 60)
    together_min = -(-session.seconds // 60)
    return MinutesParts(
        park=math.ceil(rates.park_min.typical),
        warm_up=math.ceil(rates.warm_up_min.typical) if engine else 0,
        handshake=math.ceil(rates.handshake_min.typical),
        cold=max(together_min - warm_min, 0),
        charging=min(warm_min, together_min),
        refuel=session.fuel.refuel_stops * math.ceil(rates.refuel_stop_min.typical),
        cool_down=math.ceil(rates.cool_down_min.typical) if engine else 0,
        pack_up=math.ceil(rates.pack_up_min.typical),
    )


def _sum(parts: MinutesParts) -> int:
    return (
        parts.park
        + parts.warm_up
        + parts.handshake
        + parts.cold
        + parts.charging
        + parts.refuel
        + parts.cool_down
        + parts.pack_up
    )


def _minutes(typical: int, band: Band | None) -> Minutes:
    """Return minutes with their band, its ends rounded outward."""
    if band is None:
        return Minutes(typical)
    return Minutes(
        typical,
        None if band.p10 is None else math.floor(band.p10 + 1e-9),
        None if band.p50 is None else math.ceil(band.p50 - 1e-9),
        None if band.p90 is None else math.ceil(band.p90 - 1e-9),
        band.chance_reached,
    )


def _menu(dataset: Dataset, found: Answer, call: Call) -> tuple[MenuEntry, ...]:
    """Return what common stays give: the last whole percent that the integer table reaches in that time."""
    table, road = found.table, found.road
    if table is None:
        return ()
    start = found.start.percent
    entries: list[MenuEntry] = []
    from_wh = table.battery_wh_at(start)
    most = max(LAST_ORDINARY_PERCENT, found.planned_percent or 0)
    if found.percent_in_reach is not None:
        most = found.percent_in_reach
    shake_s = handshake_s(dataset)
    goals = _goals(found, call)
    # What the rig has ends the longer stays too, also where the target itself is within reach.
    if found.percent_in_reach is None:  # else it is the end already
        most = _most_by_energy(dataset, found, start, most, longest_s=60 * MENU_MIN[-1] - shake_s)
    per_10_miles_wh, at_most_wh = road.wh_per_10_miles, road.wh_per_10_miles_at_most
    for minutes in MENU_MIN:
        percent = max(min(table.percent_after(start, 60 * minutes - shake_s), most), start)
        stored_wh = table.battery_wh_at(percent)
        added_wh = stored_wh - from_wh
        if entries and percent >= most and entries[-1].soc >= most / 100:
            break  # full, or all that the rig has: longer stays give nothing
        entries.append(
            MenuEntry(
                minutes,
                added_wh / 1000,
                percent / 100,
                10 * added_wh // per_10_miles_wh,
                10 * added_wh // at_most_wh,
                _reached(goals, stored_wh),
            )
        )
    return tuple(entries)


def _most_by_energy(dataset: Dataset, found: Answer, start: int, most: int, *, longest_s: int) -> int:
    """Return the percent that the rig's own energy reaches within the longest stay, `most` where that is no bound."""
    table, rate, site, source = found.table, found.rate, found.conditions, found.rig.source
    assert table is not None
    assert rate is not None
    # First a bound that costs nothing: full power for the longest stay, and an hour to keep.
    hours_h = longest_s / 3600 + 1
    load_kw = rate.power_source_kw + found.rig.other_loads.power_w / 1000
    if isinstance(source, GeneratorSource) and site.fuel is not None:
        fuel = source.fuels[site.fuel]
        no_load_l_per_h, slope_l_per_kwh = fuel.burn_line
        used_l = (no_load_l_per_h + slope_l_per_kwh * load_kw) * (hours_h + SPARE_H)
        if used_l + fuel.keep_l <= site.tank_l + site.cans_l:
            return most
    elif isinstance(source, StoredSource):
        if load_kw * hours_h / source.efficiency <= source.spendable_kwh(site.ambient_c, site.charge):
            return most
    else:
        return most

    def enough(percent: int) -> bool:
        return session_energy(dataset, found.rig, site, rate, table, start, percent).fuel.enough

    last = min(table.percent_after(start, longest_s), most)
    if last <= start or enough(last):
        return most
    low, high = start, last  # more percent takes more energy: halved until they meet
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if enough(middle) else (low, middle)
    return low


def _goals(found: Answer, call: Call) -> tuple[tuple[str, int, int], ...]:
    """Return the need, if it is in miles, and the places: name, watt-hours in nine of ten cases, and likely."""
    goals = [(asked_miles(call.need.distance_mi), call.need.distance_mi)] if isinstance(call.need, Miles) else []
    goals += call.places
    return tuple(
        (name, found.road.sure_wh(distance_mi), found.road.typical_wh(distance_mi)) for name, distance_mi in goals
    )


def _reached(goals: tuple[tuple[str, int, int], ...], stored_wh: int) -> tuple[str, ...]:
    """Return which goals a charge makes in nine of ten cases, and which likely, the need itself first."""
    return tuple(
        name if sure_wh <= stored_wh else f"{name} likely"
        for name, sure_wh, likely_wh in goals
        if likely_wh <= stored_wh
    )


def _fuel_plan(found: Answer, session: Session) -> FuelPlan | None:
    source = found.rig.source
    if not isinstance(source, GeneratorSource) or found.conditions.fuel is None or found.rate is None:
        return None
    fuel = source.fuels[found.conditions.fuel]
    no_load_l_per_h, slope_l_per_kwh = fuel.burn_line
    load_kw = found.rate.power_source_kw + found.rig.other_loads.power_w / 1000
    return FuelPlan(
        kind=found.conditions.fuel,
        litres=session.fuel.used_l,
        gallons=session.fuel.used_l / LITRES_PER_GALLON,
        left_after=session.fuel.left_l,
        keep_litres=session.fuel.keep_l,
        refuel_stops=session.fuel.refuel_stops,
        hours_left=session.fuel.left_l / (no_load_l_per_h + slope_l_per_kwh * load_kw),
        battery_kwh_per_gallon=session.energy_battery_wh / 1000 / session.fuel.used_l * LITRES_PER_GALLON,
    )


def _battery_use(found: Answer, session: Session) -> BatteryUse | None:
    source = found.rig.source
    if not isinstance(source, StoredSource):
        return None
    in_air_kwh = source.energy_usable_kwh * source.share_in_air(found.conditions.ambient_c).energy_share
    return BatteryUse(
        used_kwh=session.fuel.used_kwh,
        left_after_kwh=session.fuel.left_kwh,
        soc_left=session.fuel.left_kwh / in_air_kwh if in_air_kwh else 0.0,
        soc_floor=source.soc_floor,
        way_home_kwh=source.way_home_kwh,
    )


def _watch(found: Answer) -> tuple[Watch, ...]:
    rate, setting, path = found.rate, found.setting, found.path
    if rate is None or setting is None or path is None:
        return ()
    spread = found.rig.source.voltage_v
    drop_v = spread.typical - rate.voltage_evse_v
    _, (_, bears_v) = voltage_window_v(found.rig, path, found.vehicle)
    # A meter is a percent or two off; the chain's own limit is never passed.
    told_a = told_current_a(path, setting.output_a)
    high_a = min(told_a, setting.allowed_a, rate.current_a * (1 + WATCH_TOLERANCE))
    stop_a = setting.stop_above_a or min(told_a * (1 + WATCH_TOLERANCE), setting.allowed_a)
    if path.cable.code_a is not None:
        stop_a = min(stop_a, path.cable.rating_a)
    return (
        Watch(
            "current at the meter",
            rate.current_a * (1 - WATCH_TOLERANCE),
            high_a,
            None,
            stop_a,
            "A",
        ),
        Watch(
            "volts at the EVSE",
            spread.low - drop_v,
            spread.high,
            stop_below_v(found.rig),
            # A source that steadily shows more than the service range is known to: the parts' own rating bounds it.
            min(bears_v, max(VOLTS_STOP_ABOVE_SHARE * found.rig.nominal_v, spread.high)),
            "V",
        ),
        Watch(
            "power at the meter",
            rate.power_meter_kw * (1 - WATCH_TOLERANCE),
            rate.power_meter_kw * (1 + WATCH_TOLERANCE),
            None,
            None,
            "kW",
        ),
        # What it shows lies between what is stored and what goes in at the port, by where it measures.
        Watch(
            "power the car shows",
            rate.power_battery_kw * (1 - WATCH_TOLERANCE),
            rate.power_inlet_kw,
            None,
            None,
            "kW",
        ),
        *_watch_hertz(found.rig),
    )


def _watch_hertz(rig: Rig) -> tuple[Watch, ...]:
    """Return the hertz of an engine set: from a little low under load up to what its class may show without load."""
    source = rig.source
    if not isinstance(source, GeneratorSource):
        return ()
    high_hz = NOMINAL_HZ * (1 + NO_LOAD_RISE[source.regulation_class or WIDEST_CLASS])
    return (Watch("hertz at the source", LOW_HZ, high_hz, STOP_BELOW_HZ, STOP_ABOVE_HZ, "Hz"),)


ALWAYS_ABORT = (
    Abort("No current 10 minutes after plugging in."),
    Abort("A breaker or the EVSE trips twice."),
    Abort("A plug, an adapter or the inlet too hot to keep a bare hand on, or a smell of burning."),
)
SAGGING_ABORT = Abort("Hertz or volts below the lines above for more than a minute: take the load off.")
ENGINE_ABORT = Abort("A CO alarm: engine off, everyone out and upwind.")


def _abort(found: Answer, dataset: Dataset) -> tuple[Abort, ...]:
    lines = list(ALWAYS_ABORT)
    if found.table is not None:
        start = min(found.start.percent, 99)
        one_percent_min = found.table.session_seconds(start, start + 1) / 60 + dataset.rates.handshake_min.high
        patience_min = max(15, 5 * math.ceil(2 * one_percent_min / 5))
        lines.append(Abort(f"The dash percent has not risen after {patience_min} minutes of charging."))
    lines += _own_energy_abort(found)
    if isinstance(found.rig.source, GeneratorSource):
        lines.append(SAGGING_ABORT)
    if found.rig.source.engine:
        lines.append(ENGINE_ABORT)
    return tuple(lines)


def _own_energy_abort(found: Answer) -> tuple[Abort, ...]:
    """Return where the rig's own fuel or charge ends a call, whatever the dash says by then."""
    source, session = found.rig.source, found.session
    if isinstance(source, StoredSource):
        in_air_kwh = source.energy_usable_kwh * source.share_in_air(found.conditions.ambient_c).energy_share
        kept = source.soc_floor + (source.way_home_kwh / in_air_kwh if in_air_kwh else 0.0)
        what = "its floor and the way home" if source.way_home_kwh else "its floor"
        return (Abort(f"The rig's own battery at {min(math.ceil(100 * kept), 100)} %, {what}: stop there."),)
    if isinstance(source, GeneratorSource) and session is not None:
        return (Abort(f"No more than {gallons(session.fuel.keep_l)} of fuel left in tank and cans: stop there."),)
    return ()


ENGINE_CAUTIONS = (
    Caution(
        "carbon_monoxide",
        "Engine outdoors only, 20 ft or more from any building, window or occupied vehicle, exhaust downwind.",
        "cpsc-carbon-monoxide",
        "stop",
    ),
    Caution(
        "refuel_cold",
        "Refuel with the engine off and cool, and nobody smoking.",
        "cpsc-carbon-monoxide",
        "stop",
    ),
)
DRY_CAUTION = Caution(
    "dry_and_checked",
    "Keep plugs dry and off the ground; look every cord and coupler over before use; never feed a building.",
    "osha-portable-generators",
    "note",
)
FUEL_FIRST_CAUTION = Caution(
    "ask_fuel_first",
    "It also drives on fuel: a can of fuel may be the quicker help.",
    "common practice, no source",
    "change",
)
LONG_STAY_CAUTION = Caution(
    "long_stay",
    "More than four hours on site: a tow to a charger may be the quicker help.",
    "common practice, no source",
    "change",
)
FUEL_ASK = Ask("Is there fuel in its tank? It drives on fuel once the battery is empty.", "ask_fuel_first")
NO_MILES_CAUTION = Caution(
    "not_by_the_clock",
    "Go by percent and kWh, not by the clock or by the miles on its dash. "
    "It plans, it does not certify: the authority, the listing instructions and a licensed electrician decide.",
    "method page",
    "note",
)
PROPANE_FROST_CAUTION = Caution(
    "propane_frost",
    "Frost on the cylinders, or hours of steady draw, may halve the gas that is reckoned here: watch the hertz, be "
    "ready to change cylinder or fuel, and never heat a cylinder.",
    "propane-cylinder-guide",
    "change",
)
DEAD_CAUTION = Caution(
    "dead_dash",
    "A dead dash may be the 12 V battery: with that flat it takes no charge. Bring a 12 V supply.",
    "common practice, no source",
    "change",
)
LOOSE_CABLE_CAUTION = Caution(
    "loose_cable",
    "A loose cable has two couplers: both ends in and locked before it starts, both felt at 10 and 30 minutes; it is "
    "never joined to another.",
    "iec-61851-1, case B; common practice",
    "note",
)
ONE_PHASE_CAUTION = Caution(
    "one_phase_of_three",
    "Its charger is made for three phases; on one it takes less than its owner sees at home. That is no fault.",
    "class record",
    "note",
)
LFP_CAUTION = Caution(
    "lfp_dash",
    "An LFP battery's dash percent can be several percent off, and its last percent takes 5 to 30 min more to balance: "
    "go by the kWh.",
    "from memory",
    "note",
)


def _cold_text(found: Answer) -> str:
    """Return what the cold does to this vehicle here; empty where it does nothing."""
    rate, table = found.rate, found.table
    if rate is None or table is None or found.conditions.ambient_c >= COLD_AIR_C:
        return ""
    parts = []
    cold = table.cold
    if rate.cold.crawls:
        parts.append(
            f"The pack is too cold for full power and does not warm up: it takes {kilowatts(rate.power_battery_kw)}."
        )
    elif cold is not None:
        parts.append(
            f"Its pack at about {temperature(found.vehicle_state.pack_c)} warms itself first: "
            f"{math.ceil(60 * rate.cold.hours_h)} min until full power, {math.ceil(cold.offset_s / 60)} min more in "
            "all. A rising percent may wait for that."
        )
    if found.vehicle_state.cabin_kw > 0 and not found.cabin_must_be_off:
        share = 100 * found.vehicle_state.cabin_kw / (rate.power_inlet_kw or 1)
        parts.append(
            f"Cabin heat takes {found.vehicle_state.cabin_kw:.1f} kW of it ({math.ceil(share)} %): off is faster."
        )
    source = found.rig.source
    if isinstance(source, StoredSource) and not source.in_the_cold:
        parts.append("The rig's own battery, too, gives less in the cold than is reckoned here.")
    return " ".join(parts)


def _cautions(
    call: Call, found: Answer, target_percent: int | None, changes: tuple[Reason, ...], parts: MinutesParts | None
) -> tuple[Caution, ...]:
    cautions = [
        Caution(reason.code, reason.text, reason.source, "change")
        for reason in changes
        if reason.code == "this_class_only"
    ]
    if found.setting is not None and _forgets(found):
        cautions.append(Caution("setting_forgotten", _set_again(found.setting), "rig record", "change"))
    if found.rig.source.engine:
        cautions += ENGINE_CAUTIONS
    cautions.append(DRY_CAUTION)
    if found.path is not None and found.path.adapter is not None:
        sensed = found.path.adapter.temperature_sensing
        cautions.append(
            Caution(
                "two_joints",
                "Check both joints, cable to adapter and adapter to vehicle, and feel them at 10 and 30 minutes"
                + ("." if sensed else ": this adapter senses no temperature."),
                "common practice, no source",
                "note",
            )
        )
    choice = _choice(found)
    if choice is not None:
        cautions += [Caution(item.code, item.text, item.source, item.level) for item in choice.cautions]
    if found.path is not None and found.path.cable.code_a is not None:
        cautions.append(LOOSE_CABLE_CAUTION)
    if found.vehicle.onboard_charger.phases == 3:
        cautions.append(ONE_PHASE_CAUTION)
    cold = _cold_text(found)
    if cold:
        cautions.append(Caution("cold_vehicle", cold, "method page", "change"))
    if call.start == DashWord("dead"):
        cautions.append(DEAD_CAUTION)
    if found.vehicle.battery.chemistry == "lfp":
        cautions.append(LFP_CAUTION)
    gas_reckoned = found.state.power_gas_w is not None
    if found.conditions.fuel == "propane" and not gas_reckoned and found.conditions.ambient_c < COLD_PROPANE_C:
        cautions.append(
            Caution(
                "propane_cold",
                "Propane gives less and less gas in the cold, hardly any near -40 F, and this is not in the figures at "
                f"{temperature(found.conditions.ambient_c)}: use gasoline, or stop when the engine starves.",
                "common practice, no source",
                "change",
            )
        )
    gas_w, allowed_w = found.state.power_gas_w, found.state.power_allowed_w
    if gas_w is not None and allowed_w is not None and gas_w < FROST_SHARE * allowed_w:
        cautions.append(PROPANE_FROST_CAUTION)
    if parts is not None and _sum(parts) > LONG_STAY_MIN:
        cautions.append(LONG_STAY_CAUTION)
    if target_percent is not None and target_percent > LAST_ORDINARY_PERCENT:
        cautions.append(
            Caution(
                "last_percents",
                f"Above {LAST_ORDINARY_PERCENT} % charging crawls and the time is a guess.",
                "method page",
                "note",
            )
        )
    if found.vehicle.engine:
        cautions.append(FUEL_FIRST_CAUTION)
    cautions.append(NO_MILES_CAUTION)
    return tuple(cautions)


def _forgets(found: Answer) -> bool:
    """Tell whether the unit, after a loss of power, may advertise more than the plan allows."""
    return (
        not found.rig.evse.survives_power_cycle
        and found.setting is not None
        and found.setting.output_a < found.rig.evse.highest.output_a
    )


def _set_again(setting: SettingChoice) -> str:
    return (
        "After any loss of power the unit may stand at its highest: connector out, set it to "
        f"mark {setting.mark}, read back {amps(setting.output_a)}, then plug in again."
    )


def _steps(
    found: Answer, setting: SettingStep | None, target_percent: int | None, sure: Bands | None
) -> tuple[str, ...]:
    """Return what the crew does, in its order, from the chocks to packing up."""
    path, rate, session = found.path, found.rate, found.session
    assert path is not None
    assert rate is not None
    assert setting is not None
    assert session is not None
    engine = isinstance(found.rig.source, GeneratorSource)
    adapter, choice = path.adapter, _choice(found)
    fetched = [adapter.name] if adapter is not None and path.kept == "at_depot" else []
    fetched += [choice.lead.name] if choice is not None and choice.kept == "at_depot" else []
    steps = [f"Before driving out: take {' and '.join(fetched)} from the depot."] if fetched else []
    steps += ["Vehicle in Park; chocks and cones; a cone on our own hood as a reminder that the cable is out."]
    if found.rig.source.engine:
        steps.append("CO alarm on; engine outdoors, its exhaust away from every vehicle and opening.")
    if choice is not None:
        whence = "from the depot" if choice.kept == "at_depot" else "from its place"
        steps.append(
            f"Count the lead out {whence} ({choice.lead.name}). Breaker off; lead into the outlet, unit's plug into "
            "the lead; breaker on."
        )
    if any(isinstance(part, Conductor) for part in found.rig.supply):
        steps.append("Unwind the supply cord fully; look over cord, plugs and cable; nothing wet, cut or hot.")
    if engine:
        steps.append("Engine up and warm; volts and hertz steady before plugging in.")
    if other_port(found):
        steps.append(
            f"Look at the port: this plan is for {path.inlet.name}. Another one: ask for its plan before setting."
        )
    steps += setting.steps
    if adapter is not None:
        whose = "Have the customer's adapter handed over" if path.kept == "customers" else "Count the adapter out"
        steps.append(f"{whose} ({adapter.name}); it must be dry, whole and its label readable.")
    part = f", {path.inlet.ac_part}" if path.inlet.ac_part else ""
    into = "the adapter, the adapter into " if adapter is not None else ""
    steps.append(f"{path.connector.name} into {into}{path.inlet.name}{part}; wait for the latch.")
    steps.append(
        f"Expect {amps(rate.current_a)} and {kilowatts(rate.power_meter_kw)} on the meter "
        f"at {volts(rate.voltage_evse_v)}."
    )
    if found.vehicle_state.cabin_kw > 0 or found.cabin_must_be_off:
        word = "must be" if found.cabin_must_be_off else "is best"
        steps.append(f"Ask for the cabin's heat or cooling: off {word}, it comes out of what is stored.")
    if rate.cold.steps:
        steps.append(
            f"The pack is cold: for up to {math.ceil(60 * rate.cold.hours_h)} min its heater comes first. The percent "
            "may hardly move and the meter may show less than expected; that alone is no reason to stop."
        )
    if session.seconds > 600:
        when = "10 and at 30 minutes" if session.seconds > 1800 else "10 minutes"
        steps.append(f"Feel every plug and coupler at {when}, with the glove off.")
    if session.fuel.refuel_stops:
        stops = f"{session.fuel.refuel_stops} times" if session.fuel.refuel_stops > 1 else "once"
        again = f"set it to mark {setting.mark} and read back {amps(setting.output_a)}; " if _forgets(found) else ""
        steps.append(
            f"Refuel stop, {stops}: connector out; engine off and cool; fill; engine up and warm; {again}plug in again."
        )
    if target_percent is not None:
        kwh = session.energy_meter_wh / 1000
        steps.append(f"Release at {target_percent} % on the dash, about {kwh:.1f} kWh on the meter; not by the clock.")
        if sure is not None and sure.charging.p90 is not None:
            steps.append(
                f"Not there {math.ceil(sure.charging.p90)} min after the charge began: tell the dispatcher, it is "
                "slower than nine of ten."
            )
    stop = "Stop the charge at the vehicle; wait until the meter reads 0 A."
    if adapter is None:
        steps.append(f"{stop} Then the connector: {path.connector.latch}.")
    else:  # the connector's own latch holds it in the adapter now, so the adapter's text says how both come out
        steps.append(f"{stop} Connector out first, then the adapter: {adapter.latch}.")
        steps.append("Give the customer's adapter back." if path.kept == "customers" else "Count the adapter back in.")
    if choice is not None:
        steps.append("Breaker off; unit's plug out of the lead, lead out of the outlet; count the lead back in.")
    if engine:
        steps.append("Let the engine cool down without load, then off.")
    return tuple(steps)


def _say(
    call: Call,
    found: Answer,
    verdict: Verdict,
    parts: MinutesParts | None,
    target_percent: int | None,
    sure: Bands | None,
) -> str:
    """Return what to tell the customer, in their words: time, what the dash will show, how far that goes."""
    if verdict in {"cannot_serve", "ask_first"} or parts is None or target_percent is None:
        return ""
    likely = spoken_minutes(_sum(parts))
    text = f"We will be with you for about {likely}"
    if sure is not None and sure.on_site.p90 is not None:
        allow = spoken_minutes(math.ceil(sure.on_site.p90))
        if allow != likely:
            text += f", allow {allow}"
    text += f". After that your dash should show {target_percent} %"
    need = call.need
    if isinstance(need, Miles):
        text += f", which makes {asked_miles(need.distance_mi)} in nine of ten cases"
    else:
        assert found.table is not None
        reach_wh = max(found.table.battery_wh_at(target_percent) - found.road.hills_wh, 0)
        likely_mi = 10 * reach_wh // found.road.wh_per_10_miles
        sure_mi = 10 * reach_wh // found.road.wh_per_10_miles_at_most
        text += f", likely good for {likely_mi} mi, and for {sure_mi} mi in nine of ten cases"
    text += _how_to_drive(call.road)
    if found.vehicle_state.cabin_kw > 0:
        text += " Please leave the cabin's heat or cooling off while we charge."
    return text


def _how_to_drive(road: Road) -> str:
    """Return the way of driving that the miles rest on."""
    how = "at ordinary speeds" if road.speed_mph is None else f"at {road.speed_mph:.0f} mph"
    if not road.cabin_heat:
        how += " without cabin heat or cooling"
    return f" {how}. Please do not go by the miles it shows."


def _provenance(dataset: Dataset, found: Answer) -> ProvenanceOfPlan:
    refs: set[str] = set()
    records = [found.rig, found.vehicle, *(dataset.tables[table] for table in found.rig.tables_needed)]
    if found.path is not None:
        records += [part for part in (found.path.connector, found.path.adapter, found.path.inlet) if part is not None]
    for record in records:
        refs |= record.origin_names
    return ProvenanceOfPlan(dataset.folders, tuple(sorted(refs)))
