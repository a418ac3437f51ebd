"""`plan(dataset, call) -> Plan`: the one entry that command line, pages, JSON and printed card show.

The dataclasses below are the typed definition of the published plan: field names are the JSON's, quantities are
exact here and rounded in `report`. A band that has not been computed is absent (None and left out), never copied.
"""

import math
from dataclasses import dataclass, replace
from typing import Literal

from planner.answer import Answer, Call, Session, answer, stop_below_v
from planner.chain import Finding, Link, SettingChoice, voltage_window_v, with_protection
from planner.figures import amps, asked_miles, kilowatts, miles, temperature, volts
from planner.mating import RefusedPath
from planner.records import BatterySource, Dataset, Folder, GeneratorSource
from planner.trip import LAST_ORDINARY_PERCENT, Miles, ToPercent
from planner.units import KM_PER_MILE, LITRES_PER_GALLON

__all__ = [
    "PLAN_SCHEMA_VERSION",
    "Abort",
    "Ask",
    "BatteryUse",
    "CallAsUnderstood",
    "Caution",
    "FuelPlan",
    "MenuEntry",
    "Minutes",
    "MinutesParts",
    "PathUsed",
    "Plan",
    "ProvenanceOfPlan",
    "Reason",
    "SettingStep",
    "Unsure",
    "Verdict",
    "Watch",
    "plan",
]

PLAN_SCHEMA_VERSION = "1.0"
Verdict = Literal["serve", "serve_with_changes", "ask_first", "try", "cannot_serve"]

MENU_MIN = (15, 30, 45, 60, 90)
# ansi-c84-1 range B for 120/240 V service, from memory: what utilization equipment is made for.
VOLTS_STOP_ABOVE_SHARE = 254 / 240
COLD_PROPANE_C = -6.7  # common-practice: below 20 F a cylinder's gas rate is felt under a steady load
LONG_STAY_MIN = 240
COLD_AIR_C = 4.4  # common-practice: below 40 F cabin and pack heat are likely on
WATCH_TOLERANCE = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class CallAsUnderstood:
    """The call in SI units, with defaults filled in and listed."""

    rig: str
    vehicle: str
    soc_start: float
    soc_to: float | None
    distance_km: float | None
    soc_reserve: float | None
    ambient_c: float
    altitude_m: float
    fuel: str | None
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


@dataclass(frozen=True, slots=True, eq=False)
class SettingStep:
    """What to turn the unit to, from where, and how; from_mark is None where nobody knows what it shows."""

    mark: str
    output_a: float
    from_mark: str | None
    allowed_a: float
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Minutes:
    """Minutes; the band is left out until it is computed."""

    typical: int
    p10: int | None = None
    p50: int | None = None
    p90: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class MinutesParts:
    """The minutes on site, part by part; cold is None while it is not computed."""

    park: int
    warm_up: int
    handshake: int
    cold: int | None
    charging: int
    refuel: int
    cool_down: int
    pack_up: int


@dataclass(frozen=True, slots=True, eq=False)
class MenuEntry:
    """What a stay of so many minutes plugged in gives. The safe low end of the miles follows with the bands."""

    minutes: int
    kwh: float  # into the battery
    soc: float
    miles_likely: int
    miles_at_least: int | None = None
    reaches: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class FuelPlan:
    """What the engine burns from warm-up to cool-down."""

    kind: str
    litres: float
    gallons: float
    left_after: float  # litres in tank and cans
    refuel_stops: int
    hours_left: float  # at this load


@dataclass(frozen=True, slots=True, eq=False)
class BatteryUse:
    """What a battery rig gives."""

    used_kwh: float
    left_after_kwh: float
    soc_left: float
    soc_floor: float


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
    """How much of the spread one input brings; empty until bands are computed."""

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
    """Return the plan for a call: verdict, path, setting, rate, minutes, fuel, and what to watch.

    Raises `UnknownIdError` for a rig or class that the dataset does not hold, `QuantityError` for a fuel that the
    rig does not run on. A pair that cannot be served is a plan with its reasons, never an error.
    """
    found = answer(dataset, call)
    changes = _changes(found)
    verdict, reasons, ask = _verdict(dataset, found, call, changes)
    if verdict in {"serve", "serve_with_changes"}:
        reasons = (*reasons, *_second_thoughts(found))
    # A need that is met already leaves nothing to turn, plug or watch.
    served = verdict != "cannot_serve" and (ask is None or ask.code != "need_already_met")
    session = found.session if served else None
    rate = found.rate if served else None
    # An open question shows no numbers to act on, but what the rig could give is part of the question.
    target_percent = None
    if session is not None and found.target is not None:
        target_percent = found.percent_in_reach if found.percent_in_reach is not None else found.target.percent
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
        consumption_battery_kwh_per_100mi=found.wh_per_10_miles_wh / 100,
        soc_start=call.soc_start_percent / 100,
        soc_target=None if target_percent is None else target_percent / 100,
        soc_release=None if target_percent is None else target_percent / 100,
        energy_battery_kwh=session.energy_battery_wh / 1000 if session else None,
        energy_meter_kwh=session.energy_meter_wh / 1000 if session else None,
        minutes_charging=Minutes(parts.charging) if parts else None,
        minutes_on_site=Minutes(_sum(parts)) if parts else None,
        minutes_parts=parts,
        menu=_menu(found, call) if served else (),
        fuel=_fuel_plan(found, session) if session else None,
        battery=_battery_use(found, session) if session else None,
        watch=_watch(found) if served else (),
        abort=_abort(found, dataset) if served else (),
        cautions=_cautions(found, target_percent, changes, parts) if served else (),
        steps=_steps(found, setting, target_percent) if session else (),
        say=_say(call, verdict, parts, target_percent, cold=found.conditions.ambient_c < COLD_AIR_C),
        unsure=(),
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
    if found.target.percent > 100:
        return _beyond_full(found, call, changes, better)
    if found.target.percent <= call.soc_start_percent:
        text = (
            f"The dash says {call.soc_start_percent} %; the need takes {found.target.percent} % by typical figures. "
            "Nothing has to be added."
        )
        ask = Ask("It can typically make that as it stands. What else keeps it from driving?", "need_already_met")
        return "ask_first", (Reason("need_already_met", text, "charge table"),), ask
    if found.session is None or found.percent_in_reach is not None:
        return _source_short(found, changes, better)
    if changes:
        return "serve_with_changes", (*changes, *better), None
    text = f"Every part carries {amps(found.setting.output_a)} for hours: {_held_by(found.setting)}"
    return "serve", (Reason("fits", text, found.setting.set_by_link.source), *better), None


def _second_thoughts(found: Answer) -> tuple[Reason, ...]:
    """Return what a dispatcher must see beside a yes: cold that is not counted, fuel that may be the quicker help."""
    thoughts = []
    if found.conditions.ambient_c < COLD_AIR_C:
        thoughts.append(Reason("cold_not_counted", _cold_text(found), "method page"))
    if found.vehicle.engine:
        thoughts.append(Reason(FUEL_FIRST_CAUTION.code, FUEL_FIRST_CAUTION.text, FUEL_FIRST_CAUTION.source))
    return tuple(thoughts)


def _changes(found: Answer) -> tuple[Reason, ...]:
    """Return what has to be changed, or kept to, before this vehicle may be served at this setting."""
    setting = found.setting
    if setting is None or found.refusal is not None:
        return ()
    changes = []
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


def _held_by(setting: SettingChoice) -> str:
    link = setting.set_by_link
    return f"{link.name} allows {amps(link.limit_a)} ({link.basis})."


def _beyond_full(
    found: Answer, call: Call, changes: tuple[Reason, ...], better: tuple[Reason, ...]
) -> tuple[Verdict, tuple[Reason, ...], Ask | None]:
    assert found.target is not None
    need = call.need
    assert isinstance(need, Miles)
    text = (
        f"{asked_miles(need.distance_mi)} with {need.kept_percent} % left does not fit into a full battery by typical "
        f"figures; {miles(found.target.most_miles_mi)} does."
    )
    if found.vehicle.engine:
        ask = Ask("Is there fuel in its tank? It drives on fuel once the battery is empty.", "ask_fuel_first")
        return "ask_first", (Reason("need_exceeds_battery", text, "charge table"), *changes, *better), ask
    now_mi = 10 * max(found.energy_now_wh - found.energy_reserve_wh, 0) / found.wh_per_10_miles_wh
    text += f" It now has about {miles(now_mi)} above its reserve. A nearer goal, or a tow."
    return "cannot_serve", (Reason("need_exceeds_battery", text, "charge table"), *better), None


def _source_short(
    found: Answer, changes: tuple[Reason, ...], better: tuple[Reason, ...]
) -> tuple[Verdict, tuple[Reason, ...], Ask | None]:
    """The rig's own fuel or charge does not reach the target."""
    assert found.target is not None
    what = "charge" if isinstance(found.rig.source, BatterySource) else str(found.conditions.fuel)
    if found.percent_in_reach is None:
        text = (
            f"{found.rig.name} does not have enough {what} on board for one percent. "
            "Fill it up first, or send another rig."
        )
        return "cannot_serve", (Reason("source_empty", text, "rig record"), *better), None
    text = (
        f"{found.rig.name}'s {what} on board can bring the dash to {found.percent_in_reach} %, "
        f"not the {found.target.percent} % asked for. The plan is for {found.percent_in_reach} %."
    )
    ask = Ask(f"Does {found.percent_in_reach} % on the dash help the customer?", "source_short")
    return "ask_first", (Reason("source_short", text, "rig record"), *changes, *better), ask


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
        and call.soc_start_percent < found.target.percent <= 100
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
    return found.target.percent if found.target is not None and found.session is not None else 0


# ------------------------------------------------------------------------------------------------------------ parts


def _call_as_understood(found: Answer, call: Call) -> CallAsUnderstood:
    need = call.need
    reserve = need.kept_percent if isinstance(need, Miles) else None
    site = found.conditions
    return CallAsUnderstood(
        rig=found.rig.id,
        vehicle=found.vehicle.id,
        soc_start=call.soc_start_percent / 100,
        soc_to=need.percent / 100 if isinstance(need, ToPercent) else None,
        distance_km=need.distance_mi * KM_PER_MILE if isinstance(need, Miles) else None,
        soc_reserve=None if reserve is None else reserve / 100,
        ambient_c=site.ambient_c,
        altitude_m=site.altitude_m,
        fuel=site.fuel,
        assumed=site.assumed,
    )


def _path_used(found: Answer) -> PathUsed | None:
    path = found.path
    if path is None:
        return None
    place = next(port.place for port in found.vehicle.ports if port.inlet == path.inlet.id)
    return PathUsed(
        connector=path.connector.id,
        adapter=path.adapter.id if path.adapter else None,
        inlet=path.inlet.id,
        connector_name=path.connector.name,
        adapter_name=path.adapter.name if path.adapter else None,
        inlet_name=path.inlet.name,
        inlet_part=path.inlet.ac_part,
        inlet_place=place,
    )


def _ladder(found: Answer, *, served: bool) -> tuple[Link, ...]:
    """Return the chain with its marks: what is not protected, what sets the setting, what holds the current back."""
    setter = found.setting.set_by_link if found.setting and served else None
    by_vehicle = found.rate is not None and found.rate.held_back_by_vehicle is not None
    rungs = []
    for link in with_protection(found.chain, found.findings):
        holds = served and (link.link == "onboard_charger" if by_vehicle else link is setter)
        if link is setter or holds:
            rungs.append(link.marked(sets_setting=link is setter, sets_current=holds))
        else:
            rungs.append(link)
    return tuple(rungs)


def _setting_step(found: Answer) -> SettingStep | None:
    setting = found.setting
    if setting is None:
        return None
    steps: tuple[str, ...]
    if setting.must_be_moved:
        turn = f"turn from mark {setting.from_mark} to mark {setting.mark}."
        if not found.rig.evse.survives_power_cycle:
            turn = f"set it to mark {setting.mark}, whatever it shows."
        steps = (
            f"Before the connector goes in, {turn}",
            f"Read back {amps(setting.output_a)} on its display or the meter.",
        )
    else:
        steps = (
            f"Leave it at mark {setting.mark}.",
            f"Read back {amps(setting.output_a)} on its display or the meter.",
        )
    known = setting.from_mark if found.rig.evse.survives_power_cycle else None
    return SettingStep(setting.mark, setting.output_a, known, setting.allowed_a, steps)


def _load_percent(found: Answer) -> float:
    assert found.rate is not None
    load_w = 1000 * found.rate.power_source_kw + found.rig.other_loads.power_w
    return 100 * load_w / found.state.power_derated_w


def _minutes_parts(dataset: Dataset, found: Answer, session: Session) -> MinutesParts:
    rates = dataset.rates
    engine = isinstance(found.rig.source, GeneratorSource)
    return MinutesParts(
        park=math.ceil(rates.park_min.typical),
        warm_up=math.ceil(rates.warm_up_min.typical) if engine else 0,
        handshake=math.ceil(rates.handshake_min.typical),
        cold=None,
        charging=-(-session.seconds // 60),
        refuel=session.fuel.refuel_stops * math.ceil(rates.refuel_stop_min.typical),
        cool_down=math.ceil(rates.cool_down_min.typical) if engine else 0,
        pack_up=math.ceil(rates.pack_up_min.typical),
    )


def _sum(parts: MinutesParts) -> int:
    return (
        parts.park
        + parts.warm_up
        + parts.handshake
        + (parts.cold or 0)
        + parts.charging
        + parts.refuel
        + parts.cool_down
        + parts.pack_up
    )


def _menu(found: Answer, call: Call) -> tuple[MenuEntry, ...]:
    """Return what common stays give: the last whole percent that the integer table reaches in that time."""
    table = found.table
    if table is None:
        return ()
    start = call.soc_start_percent
    entries: list[MenuEntry] = []
    from_s, from_wh = table.seconds_at(start), table.battery_wh_at(start)
    most = LAST_ORDINARY_PERCENT
    if found.percent_in_reach is not None:
        most = found.percent_in_reach
    elif found.target is not None and found.target.percent <= 100:
        most = max(most, found.target.percent)
    for minutes in MENU_MIN:
        percent = max(min(table.percent_at(from_s + 60 * minutes), most), start)
        added_wh = table.battery_wh_at(percent) - from_wh
        if entries and percent >= most and entries[-1].soc >= most / 100:
            break  # full, or all that the rig has: longer stays give nothing
        entries.append(MenuEntry(minutes, added_wh / 1000, percent / 100, 10 * added_wh // found.wh_per_10_miles_wh))
    return tuple(entries)


def _fuel_plan(found: Answer, session: Session) -> FuelPlan | None:
    source = found.rig.source
    if not isinstance(source, GeneratorSource) or found.conditions.fuel is None or found.rate is None:
        return None
    fuel = source.fuels[found.conditions.fuel]
    load_kw = found.rate.power_source_kw + found.rig.other_loads.power_w / 1000
    per_hour_l = fuel.burn_no_load_l_per_h + fuel.burn_slope_l_per_kwh * load_kw
    return FuelPlan(
        kind=found.conditions.fuel,
        litres=session.fuel.used_l,
        gallons=session.fuel.used_l / LITRES_PER_GALLON,
        left_after=session.fuel.left_l,
        refuel_stops=session.fuel.refuel_stops,
        hours_left=session.fuel.left_l / per_hour_l,
    )


def _battery_use(found: Answer, session: Session) -> BatteryUse | None:
    source = found.rig.source
    if not isinstance(source, BatterySource):
        return None
    return BatteryUse(
        used_kwh=session.fuel.used_kwh,
        left_after_kwh=session.fuel.left_kwh,
        soc_left=session.fuel.left_kwh / source.energy_usable_kwh,
        soc_floor=source.soc_floor,
    )


def _watch(found: Answer) -> tuple[Watch, ...]:
    rate, setting, path = found.rate, found.setting, found.path
    if rate is None or setting is None or path is None:
        return ()
    spread = found.rig.source.voltage_v
    drop_v = spread.typical - rate.voltage_evse_v
    _, (_, bears_v) = voltage_window_v(found.rig, path, found.vehicle)
    # A meter is a percent or two off; the chain's own limit is never passed.
    high_a = min(setting.output_a, setting.allowed_a, rate.current_a * (1 + WATCH_TOLERANCE))
    stop_a = setting.stop_above_a or min(setting.output_a * (1 + WATCH_TOLERANCE), setting.allowed_a)
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
            min(bears_v, VOLTS_STOP_ABOVE_SHARE * found.rig.nominal_v),
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
    )


ALWAYS_ABORT = (
    Abort("No current 10 minutes after plugging in."),
    Abort("A breaker or the EVSE trips twice."),
    Abort("A plug, an adapter or the inlet too hot to keep a bare hand on, or a smell of burning."),
)
ENGINE_ABORT = Abort("A CO alarm: engine off, everyone out and upwind.")


def _abort(found: Answer, dataset: Dataset) -> tuple[Abort, ...]:
    lines = list(ALWAYS_ABORT)
    if found.table is not None and found.conditions.ambient_c >= COLD_AIR_C:
        # In the cold a pack warms itself first and the percent may stand for long: the meter's amps tell there.
        one_percent_min = found.table.seconds_at(1) / 60 + dataset.rates.handshake_min.high
        patience_min = max(15, 5 * math.ceil(2 * one_percent_min / 5))
        lines.append(Abort(f"The dash percent has not risen after {patience_min} minutes of charging."))
    if isinstance(found.rig.source, GeneratorSource):
        lines.append(ENGINE_ABORT)
    return tuple(lines)


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
TYPICAL_CAUTION = Caution(
    "typical_only",
    "Typical figures on an ordinary road in mild air; weather, hills and speed are not in the miles yet. "
    "It plans, it does not certify: the authority, the listing instructions and a licensed electrician decide.",
    "method page",
    "note",
)


def _cold_text(found: Answer) -> str:
    text = (
        f"Air {temperature(found.conditions.ambient_c)}: the cold is in the wiring here, but not yet in the vehicle. "
        "Expect a slower start, more minutes and fewer miles; keep the cabin heat off."
    )
    if isinstance(found.rig.source, BatterySource):
        text += " The rig's own battery, too, gives less than is reckoned here."
    return text


def _cautions(
    found: Answer, target_percent: int | None, changes: tuple[Reason, ...], parts: MinutesParts | None
) -> tuple[Caution, ...]:
    cautions = [
        Caution(reason.code, reason.text, reason.source, "change")
        for reason in changes
        if reason.code == "this_class_only"
    ]
    if found.setting is not None and _forgets(found):
        cautions.append(Caution("setting_forgotten", _set_again(found.setting), "rig record", "change"))
    if isinstance(found.rig.source, GeneratorSource):
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
    if found.conditions.ambient_c < COLD_AIR_C:
        cautions.append(Caution("cold_not_counted", _cold_text(found), "method page", "change"))
    if found.conditions.fuel == "propane" and found.conditions.ambient_c < COLD_PROPANE_C:
        cautions.append(
            Caution(
                "propane_cold",
                "Propane gives less and less gas in the cold, hardly any near -40 F, and this is not in the figures at "
                f"{temperature(found.conditions.ambient_c)}: use gasoline, or stop when the engine starves.",
                "common practice, no source",
                "change",
            )
        )
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
    cautions.append(TYPICAL_CAUTION)
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


def _steps(found: Answer, setting: SettingStep | None, target_percent: int | None) -> tuple[str, ...]:
    """Return what the crew does, in its order, from the chocks to packing up."""
    path, rate, session = found.path, found.rate, found.session
    assert path is not None
    assert rate is not None
    assert setting is not None
    assert session is not None
    engine = isinstance(found.rig.source, GeneratorSource)
    adapter = path.adapter
    steps = ["Vehicle in Park; chocks and cones; a cone on our own hood as a reminder that the cable is out."]
    if engine:
        steps.append("CO alarm on; engine up and warm; volts steady before plugging in.")
    steps += setting.steps
    if adapter is not None:
        steps.append(f"Count the adapter out ({adapter.name}); it must be dry, whole and its label readable.")
    part = f", {path.inlet.ac_part}" if path.inlet.ac_part else ""
    into = "the adapter, the adapter into " if adapter is not None else ""
    steps.append(f"{path.connector.name} into {into}{path.inlet.name}{part}; wait for the latch.")
    steps.append(
        f"Expect {amps(rate.current_a)} and {kilowatts(rate.power_meter_kw)} on the meter "
        f"at {volts(rate.voltage_evse_v)}."
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
    stop = "Stop the charge at the vehicle; wait until the meter reads 0 A."
    if adapter is None:
        steps.append(f"{stop} Then the connector: {path.connector.latch}.")
    else:  # the connector's own latch holds it in the adapter now, so the adapter's text says how both come out
        steps.append(f"{stop} Connector out first, then the adapter: {adapter.latch}.")
        steps.append("Count the adapter back in.")
    if engine:
        steps.append("Let the engine cool down without load, then off.")
    return tuple(steps)


def _say(
    call: Call,
    verdict: Verdict,
    parts: MinutesParts | None,
    target_percent: int | None,
    *,
    cold: bool,
) -> str:
    if verdict in {"cannot_serve", "ask_first"} or parts is None or target_percent is None:
        return ""
    on_site = _sum(parts)
    if on_site < 120:
        time = f"about {5 * math.ceil(on_site / 5)} minutes"
    else:
        quarters = math.ceil(on_site / 15)
        time = f"about {quarters // 4} hours" + (f" and {15 * (quarters % 4)} minutes" if quarters % 4 else "")
    text = f"We will be with you for {time}. After that your dash should show {target_percent} %"
    if isinstance(call.need, Miles):
        text += f", which is typically enough for {asked_miles(call.need.distance_mi)}"
    return text + (
        ". In this cold it will take longer and carry you less far; the crew tells you more." if cold else "."
    )


def _provenance(dataset: Dataset, found: Answer) -> ProvenanceOfPlan:
    refs: set[str] = set()
    records = [found.rig, found.vehicle, *(dataset.tables[table] for table in found.rig.tables_needed)]
    if found.path is not None:
        records += [part for part in (found.path.connector, found.path.adapter, found.path.inlet) if part is not None]
    for record in records:
        refs |= record.origin_names
    return ProvenanceOfPlan(dataset.folders, tuple(sorted(refs)))
