"""`plan(dataset, call) -> Plan`: the one entry that command line, pages, JSON and printed card show."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from operator import is_

from planner.answer import (
    Answer,
    Call,
    Judged,
    Session,
    answer,
    handshake_s,
    make_ready,
    session_energy,
)
from planner.chain import Link, SettingChoice, cable_code_link, told_current_a, with_protection
from planner.condition import Condition, assumed_of_condition
from planner.figures import amps, asked_miles, miles, spoken_minutes, volts
from planner.journey import Air, Road, chance_of_reaching, road_energy
from planner.mating import ALL_BUT_CERTAIN, KEPT_WORDS
from planner.place import LEVELS, SHOULDER_CAP_MIN, Place, assumed_of_place
from planner.plan_types import (
    PLAN_SCHEMA_VERSION,
    AdapterLabel,
    Ask,
    BatteryUse,
    CallAsUnderstood,
    FuelPlan,
    GoalPlan,
    LeadUsed,
    MenuEntry,
    Minutes,
    MinutesParts,
    OtherPath,
    PathUsed,
    Plan,
    ProvenanceOfPlan,
    Reason,
    SettingStep,
    Unsure,
    Verdict,
    Watch,
)
from planner.records import Breaker, Dataset, GeneratorSource, Rig, SiteOutletSource, StoredSource
from planner.roadside import (
    FUEL_ASK,
    FUEL_FIRST_CAUTION,
    StepParts,
    abort,
    cautions,
    cold_text,
    nothing_happens,
    sentence_to_say,
    start_mark,
    step_parts_told,
    steps,
    watch,
)
from planner.spread import Band, Bands, bands
from planner.trip import (
    GOAL_WORDS,
    LAST_ORDINARY_PERCENT,
    DashWord,
    Energy,
    Goal,
    Miles,
    TimePluggedIn,
    ToPercent,
    reserve_wh,
)
from planner.units import KM_PER_MILE, LITRES_PER_GALLON
from planner.wording import sentence

__all__ = [
    "CABIN_OFF",
    "CHARGER_ASK",
    "CHARGER_OUT_TEXT",
    "HAS_FUEL",
    "MENU_MIN",
    "MET_ASK",
    "NOTHING_TO_DO",
    "NOT_SURE_ASK",
    "SHOULDER_SOURCE",
    "SLOWER_MPH",
    "TOO_SHORT_ASK",
    "TOW_FACTOR",
    "TOW_HOOK_MIN",
    "TOW_MPH",
    "WHICH_PORT_ASK",
    "changes_of",
    "fuel_first",
    "other_paths",
    "other_port",
    "plan",
    "plan_with_bands",
    "setting_step",
    "which_port",
]

SHOULDER_SOURCE = "mutcd-6; the bound own-judgement"
# own-judgement: a flatbed's minutes to hook up and to unload, how fast it goes, and how much longer we may take.
TOW_HOOK_MIN, TOW_MPH, TOW_FACTOR = 30, 35.0, 2
MENU_MIN = (15, 30, 45, 60, 90)
SPARE_H = 0.5  # more than warm-up, hand-shake and cool-down take together: only bounds, never shown
SLOWER_MPH = (65.0, 55.0, 45.0, 35.0)  # what a driver can be asked to hold


def plan(dataset: Dataset, call: Call) -> Plan:
    """Return the typical plan for a call: verdict, path, setting, rate, minutes, fuel, and what to watch.

    Raises `UnknownIdError` for a rig or class that the dataset does not hold, `QuantityError` for a fuel that the
    rig does not run on. A pair that cannot be served is a plan with its reasons, never an error.
    """
    call, goals = _toward_a_goal(dataset, call)
    return _plan(dataset, call, answer(dataset, call), None, goals)


def plan_with_bands(dataset: Dataset, call: Call) -> Plan:
    """Return the plan for a call with the bands of its minutes, and what they come from. Raises what `plan` raises."""
    call, goals = _toward_a_goal(dataset, call)
    found = answer(dataset, call)
    return _plan(dataset, call, found, bands(dataset, call, found), goals)


def _plan(dataset: Dataset, call: Call, found: Answer, sure: Bands | None, goals: tuple[GoalPlan, ...]) -> Plan:
    changes = changes_of(found)
    verdict, reasons, ask = _verdict(dataset, found, call, changes, goals)
    # A need that is met already leaves nothing to turn, plug or watch; a breaker that nobody has read allows nothing.
    nothing = ask is not None and ask.code in NOTHING_TO_DO
    verdict, reasons, ask = _with_rulings(found, verdict, reasons, ask)
    if verdict in {"serve", "serve_with_changes", "try"}:
        reasons = (*reasons, *_second_thoughts(found))
    served = verdict != "cannot_serve" and not nothing
    session = found.session if served else None
    rate = found.rate if served else None
    # An open question shows no numbers to act on, but what the rig could give is part of the question.
    target_percent = found.planned_percent if session is not None else None
    sure = sure if session is not None else None
    parts = _minutes_parts(dataset, found, session) if session is not None else None
    of_way = _of_way(dataset, found) if served else None
    setting = of_way.setting if of_way is not None else None
    stay = _minutes(parts.total, sure.on_site if sure else None) if parts else None
    if stay is not None and any(ruling.code == "shoulder" for ruling in found.rulings):
        stay = _at_most(stay, SHOULDER_CAP_MIN)  # it ends then, wherever the dash is
    # What is worth a try comes before a tow: it may be all that is wrong.
    tow = _tow_reason(call, parts, sure) if served and verdict != "try" else ()
    reasons = (*reasons, *tow)
    give_up = tuple(ruling.give_up for ruling in found.rulings if ruling.level == "try" and ruling.give_up)
    return Plan(
        schema_version=PLAN_SCHEMA_VERSION,
        dataset_version=dataset.version,
        call=_call_as_understood(found, call),
        verdict=verdict,
        reasons=reasons,
        ask=ask,
        path=of_way.path if of_way is not None else None,
        lead=_lead_used(found) if served else None,
        refused_leads=found.standing.refused if found.standing is not None else (),
        other_paths=other_paths(found),
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
        minutes_on_site=stay,
        minutes_parts=parts,
        goals=goals,
        menu=_menu(dataset, found, call) if served else (),
        fuel=_fuel_plan(found, session) if session else None,
        battery=_battery_use(found, session) if session else None,
        watch=of_way.watch if of_way is not None else (),
        abort=abort(found, dataset, give_up=give_up) if served else (),
        cautions=cautions(call, found, target_percent, changes, parts) if served else (),
        bring=_bring(found) if served else (),
        steps=steps(found, of_way.steps, target_percent, sure) if session and of_way and of_way.steps else (),
        nothing_happens=of_way.nothing_happens if session and of_way is not None else (),
        say=sentence_to_say(call, found, verdict, parts, target_percent, sure),
        unsure=tuple(Unsure(item.input, item.share) for item in sure.unsure) if sure else (),
        provenance=ProvenanceOfPlan(dataset.folders, of_way.refs if of_way is not None else _refs(dataset, found)),
        rig_name=found.rig.name,
        vehicle_name=found.vehicle.name,
    )


# ---------------------------------------------------------------------------------------------------------- verdict


NOTHING_TO_DO = frozenset({"need_already_met", "breaker_not_read"})


def _with_rulings(
    found: Answer, verdict: Verdict, reasons: tuple[Reason, ...], ask: Ask | None
) -> tuple[Verdict, tuple[Reason, ...], Ask | None]:
    """Return the verdict with what place and vehicle say: the worst of all decides and is told first."""
    told: dict[str, list[Reason]] = {level: [] for level in LEVELS}
    for ruling in found.rulings:
        text = f"{ruling.text} {ruling.remedy}".strip()
        told[ruling.level].append(Reason(ruling.code, text, ruling.source))
    if told["refuse"]:
        # What only waits for an answer, or for a try, is beside the point of a refusal.
        return "cannot_serve", (*told["refuse"], *(reasons if verdict == "cannot_serve" else ())), None
    if verdict == "cannot_serve":
        return verdict, reasons, ask
    rest = (*told["try"], *told["change"])
    if told["ask"]:
        first = next(ruling for ruling in found.rulings if ruling.level == "ask")
        open_too = reasons if verdict != "serve" else ()
        return "ask_first", (*told["ask"], *open_too, *rest), Ask(first.question, first.code)
    if verdict == "ask_first":
        return verdict, (*reasons, *rest), ask
    if told["try"]:
        return "try", (*rest, *(reasons if verdict != "serve" else ())), None
    if told["change"]:
        return "serve_with_changes", (*told["change"], *(reasons if verdict != "serve" else ())), None
    return verdict, reasons, ask


def _verdict(
    dataset: Dataset, found: Answer, call: Call, changes: tuple[Reason, ...], goals: tuple[GoalPlan, ...]
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
    out = _charger_out(goals, chosen=True)
    if out:
        return "cannot_serve", (*out, *better), None
    if found.vehicle.engine and call.tank_empty is False and call.place is not None:
        return "ask_first", (HAS_FUEL,), MET_ASK
    changes = (*_charger_out(goals, chosen=False), *changes)
    if found.target.percent_typical > 100:
        return _beyond_full(dataset, found, call, changes, better)
    if isinstance(call.need, TimePluggedIn) and found.target.percent <= found.start.percent:
        return _too_short(call)
    if found.target.percent <= found.start.percent:
        cases = sentence("in_cases") if isinstance(call.need, Miles) else ""
        text = sentence("already", dash=_dash(found), percent=found.target.percent, cases=cases)
        return "ask_first", (Reason("need_already_met", text, "charge table"), *_other_goals(goals)), MET_ASK
    if found.target.goal_percent <= found.start.percent:
        return _beyond_full(dataset, found, call, changes, better)
    if found.port_open:
        short: tuple[Reason, ...] = ()
        if found.session is None or found.percent_in_reach is not None:
            short = _source_short(found, (), ())[1]
        return "ask_first", (which_port(dataset, found), *short, *changes, *better), WHICH_PORT_ASK
    if found.percent_in_time is not None:
        return _time_short(found, changes, better)
    if found.session is None or found.percent_in_reach is not None:
        return _source_short(found, changes, better)
    if found.target.percent > 100:
        return _not_sure(dataset, found, call, changes, better)
    if found.vehicle.engine and call.tank_empty is None and (isinstance(call.need, Miles) or call.place is not None):
        return "ask_first", (fuel_first(), *changes, *better), FUEL_ASK
    open_goal = _open_goal(goals)
    if open_goal is not None:
        return "ask_first", (*open_goal[0], *changes, *better), open_goal[1]
    if changes:
        return "serve_with_changes", (*changes, *_other_goals(goals), *better), None
    text = sentence("fits", amps=amps(found.setting.output_a), held_by=_held_by(found.setting))
    code = _code_link(found)
    if code is not None and code.limit_a < found.setting.output_a:
        text = sentence("fits_by_code", amps=amps(code.limit_a))
    return "serve", (Reason("fits", text, found.setting.set_by_link.source), *_other_goals(goals), *better), None


HAS_FUEL = Reason(
    "need_already_met",
    "It drives on fuel once the battery is empty, and there is fuel in its tank: nothing has to be charged. In a "
    "garage or under a roof its own engine's exhaust kills too: roll it out first.",
    "common practice, no source",
)
MET_ASK = Ask("It can make that as it stands. What else keeps it from driving?", "need_already_met")


def _toward_a_goal(dataset: Dataset, call: Call) -> tuple[Call, tuple[GoalPlan, ...]]:
    """Return the call with the goal that ends the emergency soonest as its need, and every goal with what it takes.

    The least charge decides. A charger that does not take this port, or is closed, is out; where every goal is out
    the first stays the need, and the plan asks for another.
    """
    if not call.goals:
        return call, ()
    tried: list[tuple[tuple[bool, float, float], Goal, Call, Answer]] = []
    for goal in call.goals:
        reserve = call.need.reserve_percent if isinstance(call.need, Miles) else None
        toward = replace(call, need=Miles(goal.distance_mi, reserve, goal.kind), goals=())
        found = answer(dataset, toward)
        percent = math.inf if found.target is None else found.target.percent
        out = goal.fits is False or goal.is_open is False
        tried.append(((out, percent, goal.distance_mi), goal, toward, found))
    best = min(tried, key=lambda item: item[0])
    plans = tuple(_goal_plan(dataset, goal, found, chosen=goal is best[1]) for _, goal, _, found in tried)
    places = tuple((GOAL_WORDS[goal.kind], goal.distance_mi) for goal in call.goals if goal is not best[1])
    return replace(best[2], places=(*places, *call.places)), plans


def _goal_plan(dataset: Dataset, goal: Goal, found: Answer, *, chosen: bool) -> GoalPlan:
    """Return what one goal takes, or why it is out."""
    name = f"The {GOAL_WORDS[goal.kind]}" if goal.kind == "fast_charger" else "Home"
    far = sentence("goal_far", goal=name, distance=asked_miles(goal.distance_mi))
    target = found.target.percent if found.target is not None and found.target.percent <= 100 else None
    minutes = None
    if goal.fits is False:
        code, text = "charger_does_not_fit", f"{far}, does not take its port: it ends nothing there."
    elif goal.is_open is False:
        code, text = "charger_closed", f"{far}, is closed when they would come."
    elif found.refusal is not None:
        code, text = found.refusal.code, f"{far}: not reckoned, the call is refused."
    elif target is None:
        code, text = "need_exceeds_battery", f"{far}: a full battery does not make it in nine of ten cases."
    elif target <= found.start.percent:
        code, text = "need_already_met", sentence("goal_met", far=far, percent=target)
    else:
        if found.session is not None and found.percent_in_reach is None and found.percent_in_time is None:
            minutes = _minutes_parts(dataset, found, found.session).total
        about = sentence("goal_minutes", minutes=minutes) if minutes else "."
        code, text = "fits", sentence("goal_takes", far=far, percent=target) + about
    unknown = goal.kind == "fast_charger" and (goal.fits is None or goal.is_open is None)
    if code in {"fits", "need_already_met"} and unknown:
        code = "charger_not_known"
        open_points = [
            *([sentence("goal_fits")] if goal.fits is None else []),
            *([sentence("goal_works")] if goal.is_open is None else []),
        ]
        text += sentence("goal_open", points=" and ".join(open_points))
    return GoalPlan(
        goal=goal.kind,
        distance_km=goal.distance_mi * KM_PER_MILE,
        soc_target=None if target is None or code in CHARGER_OUT else target / 100,
        minutes_on_site=minutes if code not in CHARGER_OUT else None,
        chosen=chosen,
        code=code,
        text=text,
    )


CHARGER_OUT = frozenset({"charger_does_not_fit", "charger_closed"})


CHARGER_OUT_TEXT = {
    "charger_does_not_fit": "That fast charger does not fit its port: another charger, home, or a tow.",
    "charger_closed": "That fast charger is closed: another charger, home, or a tow.",
}


def _charger_out(goals: tuple[GoalPlan, ...], *, chosen: bool) -> tuple[Reason, ...]:
    """Return that a charger is out: the goal of the plan itself where nothing else is left, or one beside it."""
    return tuple(
        Reason(goal.code, CHARGER_OUT_TEXT[goal.code], "common practice, no source")
        for goal in goals
        if goal.chosen is chosen and goal.code in CHARGER_OUT
    )


def _open_goal(goals: tuple[GoalPlan, ...]) -> tuple[tuple[Reason, ...], Ask] | None:
    """Return what has to be known of the goal before a crew drives for it; None where nothing is open."""
    chosen = next((goal for goal in goals if goal.chosen), None)
    if chosen is None or chosen.code != "charger_not_known":
        return None
    reasons = (Reason(chosen.code, chosen.text, "common practice, no source"),)
    return reasons, CHARGER_ASK


def _other_goals(goals: tuple[GoalPlan, ...]) -> tuple[Reason, ...]:
    """Return why the goal of the plan is the one to go for, where there was a choice."""
    if len(goals) < 2:
        return ()
    ranked = sorted(goals, key=lambda goal: not goal.chosen)
    text = " ".join(goal.text for goal in ranked)
    return (Reason("shortest_goal", f"The shortest help first. {text}", "charge table"),)


def _tow_reason(call: Call, parts: MinutesParts | None, sure: Bands | None) -> tuple[Reason, ...]:
    """Name a tow where it is the better answer: where we would stand there more than twice as long as it takes."""
    need = call.need
    if parts is None or not isinstance(need, Miles):
        return ()
    most_min = parts.total
    if sure is not None:
        if sure.on_site.p90 is None:
            return ()  # in so many cases it never gets there: told as such
        most_min = math.ceil(sure.on_site.p90)
    tow_min = TOW_HOOK_MIN + math.ceil(60 * need.distance_mi / TOW_MPH)
    if most_min <= TOW_FACTOR * tow_min:
        return ()
    text = sentence(
        "tow", tow=spoken_minutes(tow_min), distance=asked_miles(need.distance_mi), stay=spoken_minutes(most_min)
    )
    return (Reason("tow_quicker", text, "own-judgement"),)


def _bring(found: Answer) -> tuple[str, ...]:
    """Return what has to be taken along that is not on board, and what a try needs."""
    path, choice = found.path, found.lead_choice
    things = [path.adapter.name] if path is not None and path.adapter is not None and path.kept == "at_depot" else []
    things += [choice.lead.name] if choice is not None and choice.kept == "at_depot" else []
    things += [thing for ruling in found.rulings if ruling.level == "try" for thing in ruling.bring]
    return tuple(dict.fromkeys(things))


def _second_thoughts(found: Answer) -> tuple[Reason, ...]:
    """Return what a dispatcher must see beside a yes: a cold start, fuel that may be the quicker help."""
    thoughts = []
    cold = cold_text(found)
    if cold:
        thoughts.append(Reason("cold_vehicle", cold, "method page"))
    if found.vehicle.engine:
        thoughts.append(fuel_first())
    return tuple(thoughts)


def fuel_first() -> Reason:
    """Return that a can of fuel may be the quicker help."""
    return Reason(FUEL_FIRST_CAUTION.code, FUEL_FIRST_CAUTION.text, FUEL_FIRST_CAUTION.source)


def _dash(found: Answer) -> str:
    """Return what the dash says, with the percent that it is taken for."""
    start = found.start
    if start.said is None:
        return sentence("dash_percent", percent=start.percent)
    return sentence("dash_taken", said=start.said, percent=start.percent)


def _now_wh(found: Answer) -> int:
    """Return what is in the battery at the start."""
    return math.floor(10 * found.vehicle.energy_now_kwh * found.start.percent)


def changes_of(found: Answer) -> tuple[Reason, ...]:
    """Return what has to be changed, or kept to, before this vehicle may be served at this setting."""
    setting = found.setting
    if setting is None or found.refusal is not None:
        return ()
    changes = [*_lead_changes(found), *_adapter_changes(found)]
    if setting.must_be_moved:
        turn = sentence(
            "turn_from" if found.rig.evse.survives_power_cycle else "turn_set",
            from_mark=setting.from_mark,
            mark=setting.mark,
            amps=amps(setting.output_a),
            held_by=_held_by(setting),
        )
        changes.append(Reason("turn_setting", turn, setting.set_by_link.source))
    if found.cabin_must_be_off:
        changes.append(CABIN_OFF)
    changes += _other_ports(found)
    if setting.stop_above_a is not None:
        changes.append(
            Reason(
                "this_class_only",
                sentence(
                    "this_class_only",
                    amps=amps(setting.output_a),
                    allowed=amps(setting.allowed_a),
                    stop=amps(setting.stop_above_a),
                ),
                "common practice, no source",
            )
        )
    return tuple(changes)


CABIN_OFF = Reason(
    "cabin_off",
    "The cabin's heat or cooling has to be off while it charges: with it on, next to nothing gets to the battery.",
    "energy balance, method page",
)


def _lead_changes(found: Answer) -> Iterator[Reason]:
    """Yield the lead that is put between the site's outlet and the unit's plug."""
    choice = found.lead_choice
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
    choice = found.lead_choice
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
        yield Reason("bring_adapter", sentence("bring_adapter", adapter=name), "rig record")
    elif path.kept == "customers":
        yield Reason(
            "customers_adapter",
            f"By the customer's own adapter, {name}. Before driving, have its label read aloud, "
            f"{amps(path.adapter.rating_current_a or 0)} and {volts(path.adapter.rating_voltage_v or 0)}, and its "
            "listing; whole, dry, not browned.",
            "ul-2252, rating marked on the adapter",
        )


NOT_SURE_ASK = Ask("Can they drive so, go to a nearer charger, or stop on the way?", "need_not_sure")
TOO_SHORT_ASK = Ask("How much longer can they stay?", "stay_too_short")
CHARGER_ASK = Ask("Does that fast charger fit its port, and is it working and open now?", "charger_not_known")
WHICH_PORT_ASK = Ask("Which port has it? Go by what it looks like, not by the vehicle.", "which_port")


def which_port(dataset: Dataset, found: Answer) -> Reason:
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
    return sentence("held_by", link=link.name, amps=amps(link.limit_a), basis=link.basis)


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
    text = sentence(
        "too_far",
        distance=asked_miles(need.distance_mi),
        kept=need.kept_words,
        most=miles(found.target.most_miles_mi),
    )
    if found.vehicle.engine:
        return "ask_first", (Reason("need_exceeds_battery", text, "charge table"), *changes, *better), FUEL_ASK
    now_wh = max(found.energy_now_wh - found.energy_reserve_wh - found.road.hills_wh, 0)
    text += sentence(
        "too_far_now",
        now=miles(10 * now_wh / found.road.wh_per_10_miles),
        what_would_do=_what_would_do(dataset, found, call),
    )
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
    text = sentence(
        "not_sure",
        percent=planned,
        distance=asked_miles(need.distance_mi),
        chance=math.floor(100 * chance),
        most=miles(found.target.most_miles_mi),
        what_would_do=_what_would_do(dataset, found, call),
    )
    if found.vehicle.engine:
        return "ask_first", (Reason("need_not_sure", text, "road model, method page"), *changes, *better), FUEL_ASK
    return "ask_first", (Reason("need_not_sure", text, "road model, method page"), *changes, *better), NOT_SURE_ASK


def _what_would_do(dataset: Dataset, found: Answer, call: Call) -> str:
    """Return in one sentence which way of driving would make the need in nine of ten cases, the mildest first."""
    need, table = call.need, found.table
    if table is None or not isinstance(need, Miles):
        return ""
    full_wh = table.battery_wh_at(100)

    def makes_it(road: Road) -> bool:
        site = found.conditions
        energy = road_energy(dataset, found.vehicle, road, Air(site.ambient_c, site.altitude_m))
        kept_wh = reserve_wh(need, table, energy)
        most_wh = max(energy.sure_wh(need.distance_mi), energy.typical_wh(need.distance_mi) + kept_wh)
        return most_wh <= full_wh

    slower = [speed for speed in SLOWER_MPH if call.road.speed_mph is None or speed < call.road.speed_mph]
    heats = [call.road.cabin_heat] if not call.road.cabin_heat else [True, False]
    for heat in heats:
        for speed in (call.road.speed_mph, *slower):
            road = replace(call.road, speed_mph=speed, cabin_heat=heat)
            if road == call.road or not makes_it(road):
                continue
            slow = speed is not None and speed != call.road.speed_mph
            how = [sentence("slower", speed=f"{speed:.0f}")] if slow else []
            how += [sentence("no_cabin")] if heat != call.road.cabin_heat else []
            return sentence("would_do", how=" and ".join(how))
    return ""


def _too_short(call: Call) -> tuple[Verdict, tuple[Reason, ...], Ask | None]:
    assert isinstance(call.need, TimePluggedIn)
    text = sentence("too_short", minutes=call.need.minutes)
    return "ask_first", (Reason("stay_too_short", text, "charge table"),), TOO_SHORT_ASK


def _time_short(
    found: Answer, changes: tuple[Reason, ...], better: tuple[Reason, ...]
) -> tuple[Verdict, tuple[Reason, ...], Ask | None]:
    """The place allows too little time for the target."""
    assert found.target is not None
    assert found.percent_in_time is not None
    first = sentence("shoulder_first", cap=SHOULDER_CAP_MIN)
    if found.session is None or found.table is None:
        text = sentence("shoulder_nothing", first=first)
        return "cannot_serve", (Reason("shoulder_time_cap", text, SHOULDER_SOURCE), *better), None
    added_wh = found.table.battery_wh_at(found.percent_in_time) - found.table.battery_wh_at(found.start.percent)
    least_mi = 10 * added_wh // found.road.wh_per_10_miles_at_most
    text = sentence(
        "shoulder_gives",
        first=first,
        percent=found.percent_in_time,
        miles=least_mi,
        target=min(found.target.percent, 100),
    )
    ask = Ask(sentence("ask_shoulder", minutes=found.too_long_min, cap=SHOULDER_CAP_MIN), "shoulder_time_cap")
    return "ask_first", (Reason("shoulder_time_cap", text, SHOULDER_SOURCE), *changes, *better), ask


def _source_short(
    found: Answer, changes: tuple[Reason, ...], better: tuple[Reason, ...]
) -> tuple[Verdict, tuple[Reason, ...], Ask | None]:
    """The rig's own fuel or charge does not reach the target."""
    assert found.target is not None
    what = "charge" if isinstance(found.rig.source, StoredSource) else str(found.conditions.fuel)
    if found.percent_in_reach is None:
        text = sentence("source_empty", rig=found.rig.name, what=what, kept=_kept_words(found.rig))
        return "cannot_serve", (Reason("source_empty", text, "rig record"), *better), None
    text = sentence(
        "source_short",
        rig=found.rig.name,
        what=what,
        percent=found.percent_in_reach,
        target=min(found.target.percent, 100),
        kept=_kept_words(found.rig),
    )
    question = sentence("ask_source_short", percent=found.percent_in_reach, target=min(found.target.percent, 100))
    ask = Ask(question, "source_short")
    return "ask_first", (Reason("source_short", text, "rig record"), *changes, *better), ask


def _kept_words(rig: Rig) -> str:
    """Return what a rig keeps of its own energy at the end."""
    source = rig.source
    if isinstance(source, StoredSource):
        return sentence("kept_floor_home" if source.way_home_kwh else "kept_floor")
    return sentence("kept_fuel")


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
        # What was said of tank and cans is of the fuel in use.
        other = answer(dataset, replace(call, fuel=fuel, tank_now_l=None, cans_now_l=None))
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
    place, condition = call.place or Place(), call.condition or Condition()
    assumed = [*_assumed_on_site(found, call), *site.assumed, *vehicle.assumed]
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
        goal=need.goal if isinstance(need, Miles) else None,
        reserve_km=need.kept_mi * KM_PER_MILE if isinstance(need, Miles) and need.kept_mi else None,
        at=place.kind,
        openings=place.openings,
        people=place.people,
        out_of_traffic=place.out_of_traffic,
        port_distance_m=place.port_distance_m,
        stand=place.stand,
        gap_m=place.gap_m,
        quiet_hours=place.quiet_hours,
        permission=place.permission,
        danger=_dangers(condition),
        danger_unknown=condition.danger_unknown,
        port_state=condition.port,
        twelve_volt=condition.twelve_volt,
        key=condition.key,
        other_load_kw=call.other_load_w / 1000,
        second_setting_a=call.second_setting_a,
        assumed=tuple(assumed),
    )


def _dangers(condition: Condition) -> tuple[str, ...] | None:
    """Return the signs of danger that were seen; None where nobody has asked."""
    signs = {name: getattr(condition, name) for name in ("crash", "water", "smoke", "warning")}
    if condition.danger_unknown or all(seen is None for seen in signs.values()):
        return None
    return tuple(name for name, seen in signs.items() if seen)


def _assumed_on_site(found: Answer, call: Call) -> tuple[str, ...]:
    """Return what was taken for granted of place and vehicle."""
    if call.place is None and call.condition is None:
        return ("a place where this unit may run, and a sound vehicle",)
    place, condition = call.place or Place(), call.condition or Condition()
    at_outlet = isinstance(found.rig.source, SiteOutletSource)
    return (
        *assumed_of_condition(condition, dash_dead=call.start == DashWord("dead")),
        *assumed_of_place(
            place, engine=found.rig.source.engine, site_outlet=at_outlet, port_known=found.path is not None
        ),
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


def other_paths(found: Judged) -> tuple[OtherPath, ...]:
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


def setting_step(found: Answer) -> SettingStep | None:
    setting = found.setting
    if setting is None or found.path is None:
        return None
    told_a = told_current_a(found.path, setting.output_a)
    back = f"Read back {amps(told_a)} on its display, or its pilot's where it has none."
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
    first = start_mark(found, found.path, setting)
    begin = first.mark if first is not None else None
    return SettingStep(setting.mark, setting.output_a, told_a, known, setting.allowed_a, begin, steps)


def _load_percent(found: Answer) -> float | None:
    """Return the load as percent of derated running watts; None where only a breaker stands behind it."""
    assert found.rate is not None
    if found.state.power_derated_w is None:
        return None
    load_w = found.rate.power_source_w + found.rig.other_loads.power_w
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
        make_ready=sum(math.ceil(spread.typical) for spread in make_ready(dataset, found.rulings)),
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


def _at_most(minutes: Minutes, most_min: int) -> Minutes:
    """Return minutes of a stay that ends after so many."""
    ends = {
        name: None if value is None else min(value, most_min)
        for name, value in (("p10", minutes.p10), ("p50", minutes.p50), ("p90", minutes.p90))
    }
    return replace(minutes, typical=min(minutes.typical, most_min), **ends)


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
    load_kw = (found.rate.power_source_w + found.rig.other_loads.power_w) / 1000
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


@dataclass(frozen=True, slots=True, eq=False)
class _OfWay:
    """What of a plan hangs on way, setting and rate alone, not on what the vehicle needs."""

    path: PathUsed | None
    setting: SettingStep | None
    watch: tuple[Watch, ...]
    steps: StepParts | None
    nothing_happens: tuple[str, ...]
    refs: tuple[str, ...]


def _of_way(dataset: Dataset, found: Answer) -> _OfWay:
    """Return it: the former one where the same way is asked about again, at the same setting and rate."""
    rig, path, chosen, rate = found.rig, found.path, found.setting, found.rate
    key = ("of_way", rig.id, found.vehicle.id)
    asked = (rig, found.vehicle, path, chosen, rate, other_port(found))
    known: tuple[tuple[object, ...], _OfWay] | None = dataset.memo.get(key)
    # `is`, not equality: `answer` gives the same objects for the same way, and a changed copy has its own.
    if known is not None and found.standing is None and all(map(is_, known[0], asked)):
        return known[1]
    setting = setting_step(found)
    lines = watch(found)
    of_way = _OfWay(
        path=_path_used(found),
        setting=setting,
        watch=lines,
        steps=step_parts_told(found, setting, lines=lines, other_port=asked[-1]) if setting and rate else None,
        nothing_happens=nothing_happens(found),
        refs=_refs(dataset, found),
    )
    if found.standing is None:
        dataset.memo[key] = (asked, of_way)
    return of_way


def _refs(dataset: Dataset, found: Answer) -> tuple[str, ...]:
    """Return the sources that the records of a plan rest on."""
    refs: set[str] = set()
    records = [found.rig, found.vehicle, *(dataset.tables[table] for table in found.rig.tables_needed)]
    if found.path is not None:
        records += [part for part in (found.path.connector, found.path.adapter, found.path.inlet) if part is not None]
    for record in records:
        refs |= record.origin_names
    return tuple(sorted(refs))
