"""What the crew reads beside the vehicle: what to watch, when to give up, what can hurt, what to do, what to say."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from planner.answer import CABIN_ON_BELOW_C, Answer, Call, stop_below_v
from planner.chain import CHANGEABLE_ON_SITE, SettingChoice, SourceState, told_current_a, voltage_window_v
from planner.charge import ChargeRate
from planner.figures import amps, gallons, kilowatts, spoken_minutes, temperature, volts
from planner.journey import Road
from planner.mating import Path
from planner.place import SHOULDER_CAP_MIN, Ruling
from planner.plan_types import Abort, Ask, Caution, MinutesParts, Reason, SettingStep, Verdict, Watch
from planner.protection import NO_LOAD_RISE, WIDEST_CLASS
from planner.records import (
    Breaker,
    Conductor,
    Dataset,
    GeneratorSource,
    Receptacle,
    Rig,
    Setting,
    SiteOutletSource,
    StoredSource,
    TruckExportSource,
)
from planner.spread import Bands
from planner.trip import LAST_ORDINARY_PERCENT, DashWord, Miles
from planner.wording import sentence

__all__ = [
    "ALWAYS_ABORT",
    "COLD_AIR_C",
    "COLD_WAIT_BELOW_C",
    "COLD_WAIT_CAUTION",
    "COLD_WAIT_MIN",
    "DEAD_CAUTION",
    "DRAWS",
    "ENGINE_ABORT",
    "FUEL_ASK",
    "FUEL_FIRST_CAUTION",
    "LAST_PERCENTS_CAUTION",
    "LONG_STAY_CAUTION",
    "LONG_STAY_MIN",
    "NOTHING_HAPPENS",
    "NO_CURRENT_ABORT",
    "STOP_ABOVE_HZ",
    "STOP_BELOW_HZ",
    "TRY_STEPS",
    "VOLTS_STOP_ABOVE_SHARE",
    "WATCH_TOLERANCE",
    "WINDOW",
    "Look",
    "StepParts",
    "abort",
    "abort_of_rig",
    "cautions",
    "cold_text",
    "is_cold_wait",
    "may_frost",
    "nothing_happens",
    "sentence_to_say",
    "start_mark",
    "step_parts",
    "step_parts_told",
    "steps",
    "try_steps",
    "watch",
    "watch_hertz",
]

# ansi-c84-1 range B for 120/240 V service, from memory: what utilization equipment is made for.
VOLTS_STOP_ABOVE_SHARE = 254 / 240
COLD_PROPANE_C = -6.7  # common-practice: below 20 F a cylinder's gas rate is felt under a steady load
LONG_STAY_MIN = 240
FROST_SHARE = 2.0  # propane-cylinder-guide: drawn without a break a cylinder gives about half
COLD_AIR_C = CABIN_ON_BELOW_C
WATCH_TOLERANCE = 0.05
NOMINAL_HZ = 60.0
LOW_HZ = 58.5  # own-judgement: an engine that holds its load stays above
STOP_BELOW_HZ, STOP_ABOVE_HZ = 57.0, 66.0  # from memory: where onboard chargers let go, and a governor that runs away


def watch(found: Answer) -> tuple[Watch, ...]:
    """Return what the meter, the source and the car should show, and where to stop.

    Amps and kilowatts have no lower end to stop at: a full or a cold battery takes less, and that hurts nobody.
    """
    rate, setting, path = found.rate, found.setting, found.path
    if rate is None or setting is None or path is None:
        return ()
    spread = found.rig.source.voltage_v
    drop_v = spread.typical - rate.voltage_evse_v
    # What the charger needs at the inlet is more at the EVSE, by the drop in the cable.
    charger_v = found.vehicle.onboard_charger.voltage_low_v + rate.voltage_evse_v - rate.voltage_inlet_v
    _, (_, bears_v) = voltage_window_v(found.rig, path, found.vehicle)
    # A meter is a percent or two off; the chain's own limit is never passed.
    told_a = told_current_a(path, setting.output_a)
    high_a = min(told_a, setting.allowed_a, rate.current_a * (1 + WATCH_TOLERANCE))
    stop_a = setting.stop_above_a or min(told_a * (1 + WATCH_TOLERANCE), setting.allowed_a)
    if path.cable.code_a is not None:
        stop_a = min(stop_a, path.cable.rating_a)
    # The amps to stop at, at the highest volts that this source steadily shows: what they may be at most in kW.
    stop_kw = rate.power_meter_kw * stop_a / rate.current_a * (spread.high - drop_v) / rate.voltage_evse_v
    return (
        Watch("current at the meter", rate.current_a * (1 - WATCH_TOLERANCE), high_a, None, stop_a, "A"),
        Watch(
            "volts at the EVSE",
            spread.low - drop_v,
            spread.high,
            max(stop_below_v(found.rig), charger_v),
            # A source that steadily shows more than the service range is known to: the parts' own rating bounds it.
            min(bears_v, max(VOLTS_STOP_ABOVE_SHARE * found.rig.nominal_v, spread.high)),
            "V",
        ),
        Watch(
            "power at the meter",
            rate.power_meter_kw * (1 - WATCH_TOLERANCE),
            min(rate.power_meter_kw * (1 + WATCH_TOLERANCE), stop_kw),
            None,
            stop_kw,
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
        *watch_hertz(found.rig),
    )


def watch_hertz(rig: Rig) -> tuple[Watch, ...]:
    """Return the hertz of an engine set: from a little low under load up to what its class may show without load."""
    source = rig.source
    if not isinstance(source, GeneratorSource):
        return ()
    high_hz = NOMINAL_HZ * (1 + NO_LOAD_RISE[source.regulation_class or WIDEST_CLASS])
    return (Watch("hertz at the source", LOW_HZ, high_hz, STOP_BELOW_HZ, STOP_ABOVE_HZ, "Hz"),)


# When to give up, by what can hurt. common practice, no source, where no other is named. What a printed sheet shows too
# is short: the sheet has a narrow column for it.
# The distance is from memory: emergency response guidebook, guide 147.
_SMOKE_ABORT = Abort("Smoke, hissing, a smell, a warning: breaker off if that is safe, 75 ft (25 m) away, 911.")
_TRIPS_ABORT = Abort("A breaker or the EVSE trips twice.")
_HOT_ABORT = Abort("A plug or coupler too hot for a bare hand.")
_WATER_ABORT = Abort("Water rising round the vehicle or our gear, or lightning.")
_PLACE_ABORT = Abort("Traffic or the place gets unsafe.")
NO_CURRENT_ABORT = Abort("No current 15 minutes after plugging in.")  # own-judgement
ALWAYS_ABORT = (_SMOKE_ABORT, _TRIPS_ABORT, _HOT_ABORT, NO_CURRENT_ABORT)
# cpsc-carbon-monoxide
ENGINE_ABORT = Abort("CO alarm, headache: engine off, all out, upwind, 911.")
_OCCUPIED_ABORT = Abort("Somebody gets into a vehicle within 20 ft of the engine: engine off until they are out.")
_SAGGING_ABORT = Abort("Hertz or volts past their stop figures for a minute: stop the charge.")
_VOLTS_ABORT = Abort("Volts past their stop figures for a minute: stop the charge.")


def abort(found: Answer, dataset: Dataset, *, give_up: tuple[str, ...] = ()) -> tuple[Abort, ...]:
    """Return when to give up, what can hurt first; `give_up` are the ends of what has to be woken or thawed before."""
    lines = list(abort_of_rig(found.rig))
    if any(ruling.code == "shoulder" for ruling in found.rulings):
        lines.append(Abort(sentence("shoulder_over", cap=SHOULDER_CAP_MIN)))
    lines.append(NO_CURRENT_ABORT)
    if found.table is not None:
        start = min(found.start.percent, 99)
        one_percent_min = found.table.session_seconds(start, start + 1) / 60 + dataset.rates.handshake_min.high
        patience_min = max(15, 5 * math.ceil(2 * one_percent_min / 5))
        lines.append(Abort(sentence("no_percent", minutes=patience_min)))
    lines += _own_energy_abort(found)
    lines += [Abort(text) for text in give_up]
    return tuple(lines)


def abort_of_rig(rig: Rig) -> tuple[Abort, ...]:
    """Return when to give up with a rig, whatever it charges, what can hurt first."""
    engine = rig.source.engine
    lines = [_SMOKE_ABORT]
    if engine:
        lines.append(ENGINE_ABORT)
    lines += [_TRIPS_ABORT, _HOT_ABORT]
    lines.append(_SAGGING_ABORT if isinstance(rig.source, GeneratorSource) else _VOLTS_ABORT)
    lines += [_WATER_ABORT, _PLACE_ABORT]
    if engine:
        lines.append(_OCCUPIED_ABORT)
    return tuple(lines)


def _own_energy_abort(found: Answer) -> tuple[Abort, ...]:
    """Return where the rig's own fuel or charge ends a call, whatever the dash says by then."""
    source, session = found.rig.source, found.session
    if isinstance(source, StoredSource):
        in_air_kwh = source.energy_usable_kwh * source.share_in_air(found.conditions.ambient_c).energy_share
        kept = source.soc_floor + (source.way_home_kwh / in_air_kwh if in_air_kwh else 0.0)
        what = sentence("kept_floor_home" if source.way_home_kwh else "kept_floor")
        return (Abort(sentence("store_floor", percent=min(math.ceil(100 * kept), 100), what=what)),)
    if isinstance(source, GeneratorSource) and session is not None:
        return (Abort(sentence("fuel_floor", fuel=gallons(session.fuel.keep_l))),)
    return ()


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """One look of the ladder for a plug-in that starts nothing: what to do, and what it tells."""

    code: str
    text: str


# In this order: what costs nothing and hurts nobody first. common practice, no source; the minutes are own-judgement.
NOTHING_HAPPENS = (
    Look(
        "light",
        "Read the EVSE's light or code and write it down: ready means that it waits for the vehicle, a fault that it "
        "stopped itself.",
    ),
    Look(
        "ground_fault",
        "A ground-fault or no-ground light means stop: the bond at {bond} is missing or double, or something leaks; "
        "never defeat it.",
    ),
    Look(
        "latched",
        "Push the connector home until it latches{adapter_too}: half in, neither side knows that the other is there.",
    ),
    Look("park", "Vehicle in Park; key well away from it, then doors locked: some start to charge only then."),
    Look(
        "scheduled",
        "Dash and owner's phone: scheduled charging and departure time off, limit 100 %, charge not stopped there: "
        "else it only waits.",
    ),
    Look(
        "cold",
        "In the cold wait 10 minutes: a cold pack warms itself first, with a few kW on the meter and no percent.",
    ),
    Look("again", "Connector out, ten seconds, in again: if it starts, the two had only missed each other's signal."),
    Look(
        "lower",
        "If it started and let go: one mark lower, {lower}, and read back; if that holds, the set's volts had folded.",
    ),
    Look("adapter", "Adapter out and in again{other_adapter}: if it starts, a contact in that joint had not closed."),
    Look("power_cycle", "Connector out, EVSE off and on, {set_again}, in again: if it starts, the EVSE had hung."),
    Look(
        "twelve_volt",
        "12 V low: supply at its posts, by the owner's manual, never on a frozen or leaking one; if the dash wakes, it "
        "was too weak to switch the big battery on.",
    ),
    Look(
        "last",
        "After 15 minutes, a cold wait and a 12 V supply not counted, another rig or a tow: what is left is not mended "
        "at a roadside.",
    ),
)


_FILLED = frozenset(look.code for look in NOTHING_HAPPENS if "{" in look.text)


def nothing_happens(found: Answer) -> tuple[str, ...]:
    """Return what to look at, in its order, where nothing happens after the plug-in: what rig and way do have."""
    path, setting = found.path, found.setting
    if path is None or setting is None:
        return ()
    lower = _next_lower(found.rig, setting) if isinstance(found.rig.source, GeneratorSource) else None
    stand_ins = [
        f", then {item.path.adapter.name} at mark {item.chosen.mark} at most"
        for item in found.other_paths
        if item.path.adapter is not None
        and isinstance(item.chosen, SettingChoice)
        and item.path.inlet is path.inlet
        and item.path.connector is path.connector
        and item.path.kept != "at_depot"
    ]
    first = start_mark(found, path, setting)
    mark, output_a = (setting.mark, setting.output_a) if first is None else (first.mark, first.output_a)
    set_again = f"read back {amps(told_current_a(path, output_a))}"
    if found.rig.evse.set_by in CHANGEABLE_ON_SITE:
        set_again = f"set to mark {mark}, {set_again}"
    words = {
        "adapter_too": "" if path.adapter is None else ", the adapter too",
        "bond": "the site's service" if isinstance(found.rig.source, SiteOutletSource) else "the source",
        "lower": "" if lower is None else lower.mark,
        "other_adapter": stand_ins[0] if stand_ins else "",
        "set_again": set_again,
    }
    without = {"lower"} if lower is None else set()
    if path.adapter is None:
        without.add("adapter")
    return tuple(
        look.text.format(**words) if look.code in _FILLED else look.text
        for look in NOTHING_HAPPENS
        if look.code not in without
    )


def _next_lower(rig: Rig, setting: SettingChoice) -> Setting | None:
    """Return the mark right below the planned one that the crew can set on site, None without one."""
    if rig.evse.set_by not in CHANGEABLE_ON_SITE:
        return None
    lower = [item for item in rig.evse.settings if item.output_a < setting.output_a]
    return max(lower, key=lambda item: item.output_a, default=None)


def start_mark(found: Answer, path: Path, setting: SettingChoice) -> Setting | None:
    """Return the lowest mark, where the load goes onto an engine in two steps; None where one step does.

    From memory: a full load at one blow can stall a small set, or fold its volts.
    """
    evse = found.rig.evse
    if not found.rig.source.engine or evse.set_by not in CHANGEABLE_ON_SITE:
        return None
    lowest = min(evse.settings, key=lambda item: item.output_a)
    # With a loose cable of a small code both marks may tell the vehicle the same.
    return lowest if told_current_a(path, lowest.output_a) < told_current_a(path, setting.output_a) else None


CO_CAUTION = Caution(
    "carbon_monoxide",
    "Engine outdoors only, 20 ft or more from any building, window or occupied vehicle, exhaust downwind.",
    "cpsc-generators; vehicles own-judgement",
    "stop",
)
REFUEL_CAUTION = Caution(
    "refuel_cold",
    "Refuel with the engine off and cool, and nobody smoking.",
    "cpsc-carbon-monoxide",
    "stop",
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
COLD_WAIT_BELOW_C = 7.0  # own-judgement: between the page's steps of 40 and 50 F
COLD_WAIT_MIN = 30  # own-judgement
COLD_WAIT_CAUTION = Caution(
    "cold_wait",
    "A long wait in the cold, with the cabin's heat off: ask where they keep warm. Nowhere: a ride or a tow first.",
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
LAST_PERCENTS_CAUTION = Caution(
    "last_percents",
    f"Above {LAST_ORDINARY_PERCENT} % charging crawls and the time is a guess.",
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
    "A loose cable has two couplers: both ends in and locked before it starts, both felt at 10 and 30 minutes, then "
    "hourly; it is never joined to another.",
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


def cold_text(found: Answer) -> str:
    """Return what the cold does to this vehicle here; empty where it does nothing."""
    rate, table = found.rate, found.table
    if rate is None or table is None or found.conditions.ambient_c >= COLD_AIR_C:
        return ""
    parts = []
    cold = table.cold
    if rate.cold.crawls:
        parts.append(sentence("cold_crawls", power=kilowatts(rate.power_battery_kw)))
    elif cold is not None:
        parts.append(
            sentence(
                "cold_warms",
                pack=temperature(found.vehicle_state.pack_c),
                minutes=math.ceil(60 * rate.cold.hours_h),
                more=math.ceil(cold.offset_s / 60),
            )
        )
    if found.vehicle_state.cabin_kw > 0 and not found.cabin_must_be_off:
        share = 100 * found.vehicle_state.cabin_kw / (rate.power_inlet_kw or 1)
        parts.append(sentence("cold_cabin", cabin=f"{found.vehicle_state.cabin_kw:.1f}", share=math.ceil(share)))
    source = found.rig.source
    if isinstance(source, StoredSource) and not source.in_the_cold:
        parts.append(sentence("cold_store"))
    return " ".join(parts)


def cautions(
    call: Call, found: Answer, target_percent: int | None, changes: tuple[Reason, ...], parts: MinutesParts | None
) -> tuple[Caution, ...]:
    """Return the cautions that apply to this call, each only where it does."""
    told = [
        Caution(reason.code, reason.text, reason.source, "change")
        for reason in changes
        if reason.code == "this_class_only"
    ]
    if found.setting is not None and _forgets(found):
        told.append(Caution("setting_forgotten", _set_again(found.setting), "rig record", "change"))
    if found.rig.source.engine:
        told.append(CO_CAUTION)
    if isinstance(found.rig.source, GeneratorSource):
        told.append(REFUEL_CAUTION)
    told.append(DRY_CAUTION)
    told += _shared_source(call, found.rig)
    if found.path is not None and found.path.adapter is not None:
        sensed = found.path.adapter.temperature_sensing
        told.append(
            Caution(
                "two_joints",
                "Check both joints, cable to adapter, adapter to vehicle: feel them at 10 and 30 minutes, then hourly"
                + ("." if sensed else ": this adapter senses no temperature."),
                "common practice, no source",
                "note",
            )
        )
    choice = found.lead_choice
    if choice is not None:
        told += [Caution(item.code, item.text, item.source, item.level) for item in choice.cautions]
    if found.path is not None and found.path.cable.code_a is not None:
        told.append(LOOSE_CABLE_CAUTION)
    if found.vehicle.onboard_charger.phases == 3:
        told.append(ONE_PHASE_CAUTION)
    cold = cold_text(found)
    if cold:
        told.append(Caution("cold_vehicle", cold, "method page", "change"))
    twelve_volt = call.condition.twelve_volt if call.condition is not None else None
    if call.start == DashWord("dead") and twelve_volt is None:
        told.append(DEAD_CAUTION)
    if found.vehicle.battery.chemistry == "lfp":
        told.append(LFP_CAUTION)
    gas_reckoned = found.state.power_gas_w is not None
    if found.conditions.fuel == "propane" and not gas_reckoned and found.conditions.ambient_c < COLD_PROPANE_C:
        told.append(
            Caution(
                "propane_cold",
                sentence("propane_cold", air=temperature(found.conditions.ambient_c)),
                "common practice, no source",
                "change",
            )
        )
    if may_frost(found.state):
        told.append(PROPANE_FROST_CAUTION)
    if parts is not None and parts.total > LONG_STAY_MIN:
        told.append(LONG_STAY_CAUTION)
    if is_cold_wait(found, parts):
        told.append(COLD_WAIT_CAUTION)
    if target_percent is not None and target_percent > LAST_ORDINARY_PERCENT:
        told.append(LAST_PERCENTS_CAUTION)
    if found.vehicle.engine:
        told.append(FUEL_FIRST_CAUTION)
    told.append(NO_MILES_CAUTION)
    return tuple(told)


def is_cold_wait(found: Answer, parts: MinutesParts | None) -> bool:
    """Return whether people wait so long, in such cold, that they must know where to keep warm."""
    return parts is not None and parts.total > COLD_WAIT_MIN and found.conditions.ambient_c < COLD_WAIT_BELOW_C


def may_frost(state: SourceState) -> bool:
    """Return whether frost on its cylinders may leave an engine less gas than it is allowed to burn."""
    gas_w, allowed_w = state.power_gas_w, state.power_allowed_w
    return gas_w is not None and allowed_w is not None and gas_w < FROST_SHARE * allowed_w


def _shared_source(call: Call, rig: Rig) -> Iterator[Caution]:
    """Yield what has to be kept to where more than this one vehicle hangs on the source."""
    second_w = call.second_setting_a * rig.source.voltage_v.high
    other_w = rig.other_loads.power_w - second_w
    if call.second_setting_a:
        yield Caution(
            "second_evse",
            f"The second EVSE on this source stays at {amps(call.second_setting_a)} or less, behind a breaker of its "
            "own: its setting counts, not what its vehicle draws.",
            "common practice, no source",
            "change",
        )
    if round(other_w) > 0:
        yield Caution(
            "other_loads",
            f"{other_w:.0f} W of other loads on this source are reckoned with: nothing more is plugged in meanwhile.",
            "common practice, no source",
            "change",
        )


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


# What has to be done before the charge where the vehicle's state makes it a try. common practice, no source.
TRY_STEPS = {
    "twelve_volt_flat": "Wake the 12 V battery first, at the posts that the owner's manual names; not if it is frozen, "
    "swollen or leaks.",
    "port_frozen": "Thaw the port first: preheating, warm shelter, a warm hand. De-icer on the door's seam alone; "
    "never pry, no flame, no hot water.",
    "port_locked": "Open the port first: key, button inside, then the release in the owner's manual; never pry.",
    "long_dead": "",  # nothing to do first: it is plugged in and watched
}


DRAWS, WINDOW = "{draws}", "{window}"  # blanks of a step


@dataclass(frozen=True, slots=True, eq=False)
class StepParts:
    """What the crew does, as far as it does not depend on how long a charge is."""

    fetched: tuple[str, ...]  # from the depot
    arrival: tuple[str, ...]
    supply: tuple[str, ...]
    plug_in: tuple[str, ...]
    again: str  # how it is plugged in again after a refuel stop
    end: tuple[str, ...]


def step_parts(
    found: Answer, setting: SettingStep, *, other_port: bool, draws: str = DRAWS, window: str = WINDOW
) -> StepParts:
    """Return the steps that hold for every charge of a rig with a class by one way at one setting.

    Without `draws` and `window`, what is drawn and what the source may show, their blanks stay.
    """
    path, chosen, choice = found.path, found.setting, found.lead_choice
    assert path is not None
    assert chosen is not None
    fetched = [path.adapter.name] if path.adapter is not None and path.kept == "at_depot" else []
    fetched += [choice.lead.name] if choice is not None and choice.kept == "at_depot" else []
    return StepParts(
        fetched=tuple(fetched),
        arrival=tuple(_steps_on_arrival(found, path, other_port=other_port)),
        supply=tuple(_steps_of_the_supply(found, window)),
        plug_in=tuple(_steps_of_the_plug_in(found, path, setting, draws)),
        again=_plug_in_again(found, path, chosen, setting),
        end=tuple(_steps_of_the_end(found, path)),
    )


def _draws_words(rate: ChargeRate) -> str:
    """Return what the meter should show."""
    return sentence(
        "draws",
        amps=amps(rate.current_a),
        power=kilowatts(rate.power_meter_kw),
        volts=volts(rate.voltage_evse_v),
    )


def step_parts_told(found: Answer, setting: SettingStep, *, lines: tuple[Watch, ...], other_port: bool) -> StepParts:
    """Return `step_parts` with its blanks filled: what is drawn, and what the source may show by the `lines`."""
    assert found.rate is not None
    draws, window = _draws_words(found.rate), _window_words(lines)
    return step_parts(found, setting, other_port=other_port, draws=draws, window=window)


def steps(found: Answer, parts: StepParts, target_percent: int | None, sure: Bands | None) -> tuple[str, ...]:
    """Return what the crew does, in its order, from depot to the last word to the customer."""
    tries = [ruling for ruling in found.rulings if ruling.level == "try"]
    return (
        *_steps_at_the_depot(parts.fetched, tries),
        *parts.arrival,
        *try_steps(tries),
        *parts.supply,
        *parts.plug_in,
        *_steps_of_the_charge(found, parts.again, target_percent, sure),
        *parts.end,
    )


def _steps_at_the_depot(fetched: Sequence[str], tries: Sequence[Ruling]) -> Iterator[str]:
    """Yield what to take along."""
    needed = list(dict.fromkeys(thing for ruling in tries for thing in ruling.bring))
    take = [sentence("take", things=" and ".join(fetched))] if fetched else []
    take += [sentence("bring", things="; ".join(needed))] if needed else []
    if take:
        yield sentence("before_driving", things="; ".join(take))


def try_steps(tries: Iterable[Ruling]) -> Iterator[str]:
    """Yield what is done first where the state of the vehicle makes it a try."""
    yield from (text for ruling in tries if (text := TRY_STEPS.get(ruling.code, ruling.text)))


def _steps_on_arrival(found: Answer, path: Path, *, other_port: bool) -> Iterator[str]:
    """Yield what to look at before anything is touched, and how the place is made safe."""
    yield (
        "Look before anything is touched: crash, water, smoke, hissing, a smell or a battery warning: nobody goes "
        "near. Smoke or a smell is 911."
    )
    bad = "Wet, broken, burnt or loose inside: no charge."
    if other_port:
        other = "Another one: ask for its plan before setting."
        yield f"Look at the port: this plan is for {path.inlet.name}. {other} {bad}"
    else:
        yield f"Look at the port: {path.inlet.name}, dry and whole. {bad}"
    alarm = "CO alarm on and worn. " if found.rig.source.engine else ""
    yield (
        f"{alarm}Both vehicles in Park, brakes set, chocks. High-visibility on, cones and lights out, a cone on our "
        'own hood ("cable out").'
    )
    if found.rig.source.engine:
        may = "may start by itself: it stands" if isinstance(found.rig.source, TruckExportSource) else ""
        yield (
            f"Engine {may or 'outdoors,'} 20 ft from doors, windows and vents, exhaust pointing away, downwind. Nobody "
            "sits in a vehicle within 20 ft of it."
        )


def _window_words(lines: Sequence[Watch]) -> str:
    """Return what the source may show at all before the plug-in: volts, and of an engine set hertz."""
    limits = {line.unit: line for line in lines}
    return ", ".join(_window(limits[unit]) for unit in ("V", "Hz") if unit in limits)


def _steps_of_the_supply(found: Answer, window: str) -> Iterator[str]:
    """Yield outlet, lead, cords and source, up to what is checked before the connector goes in."""
    rig, choice = found.rig, found.lead_choice
    source = rig.source
    if isinstance(source, SiteOutletSource):
        breaker = rig.supply[0]
        assert isinstance(breaker, Breaker)
        yield f"At the panel: the handle says {breaker.rating_a:g} A; all else on this circuit off, and kept off."
    if choice is not None:
        whence = "from the depot" if choice.kept == "at_depot" else "from its place"
        yield (
            f"Sign the lead out {whence} ({choice.lead.name}). Breaker off; lead into the outlet, unit's plug into "
            "the lead; breaker on."
        )
    elif isinstance(source, SiteOutletSource) and rig.evse.plug is not None:
        yield "Breaker off; unit's plug home in the outlet; breaker on. A loose or browned plug: another outlet."
    cords = any(isinstance(part, Conductor) and part.construction != "building_wire" for part in rig.supply)
    what = "Supply cord and cable" if cords else "Cable"
    yield (
        f"{what} off the reel to the last turn, clear of wheels and puddles; plugs and connector dry, whole, not "
        "browned."
    )
    ready = ""
    if isinstance(source, GeneratorSource):
        ready = "Engine up and warm. "
    elif isinstance(source, TruckExportSource):
        ready = "Export on, its settings read. "
    # A part whose record is silent may have one: then its button is looked for.
    button = isinstance(source, SiteOutletSource) or any(
        part.gfci != "none" for part in rig.supply if isinstance(part, Breaker | Receptacle)
    )
    tested = "; ground-fault button trips, resets, holds" if button else ""
    yield f"{ready}Without load: {window}; EVSE's self-test light good{tested}."


def _window(line: Watch) -> str:
    """Return what a line may read at all, in whole figures, rounded inward."""
    assert line.stop_below is not None
    assert line.stop_above is not None
    return f"{math.ceil(line.stop_below - 1e-9)} to {math.floor(line.stop_above + 1e-9)} {line.unit}"


def _steps_of_the_plug_in(found: Answer, path: Path, setting: SettingStep, draws: str) -> Iterator[str]:
    """Yield adapter, setting and plug-in: an engine that can be stepped up starts at the lowest mark."""
    chosen, adapter = found.setting, path.adapter
    assert chosen is not None
    if adapter is not None:
        whose = "Have the customer's adapter handed over" if path.kept == "customers" else "Sign the adapter out"
        yield f"{whose} ({adapter.name}): dry, whole, its label readable."
    part = f", {path.inlet.ac_part}" if path.inlet.ac_part else ""
    into = "the adapter, the adapter into " if adapter is not None else ""
    plug_in = f"{path.connector.name} into {into}{path.inlet.name}{part}; wait for the latch."
    first = start_mark(found, path, chosen)
    if first is None:
        # What to do where a loose cable is not read takes a step of its own.
        yield from (" ".join(setting.steps),) if setting.read_back_a == setting.output_a else setting.steps
        yield plug_in
        yield f"Expect {draws}."
        return
    if not found.rig.evse.survives_power_cycle:
        yield f"Before the connector goes in, set it to mark {first.mark}, its lowest, whatever it shows."
    elif first.mark == found.rig.evse.setting_now:
        yield f"Before the connector goes in: leave it at mark {first.mark}, its lowest."
    else:
        now = found.rig.evse.setting_now
        yield f"Before the connector goes in, turn it from mark {now} down to mark {first.mark}, its lowest."
    yield plug_in
    steady = "Amps, volts and hertz" if isinstance(found.rig.source, GeneratorSource) else "Amps and volts"
    yield (
        f"{steady} steady for two minutes: up to mark {setting.mark}; a unit that takes it only unplugged: stop at "
        "the vehicle, 0 A, connector out, up, in."
    )
    if setting.read_back_a < setting.output_a:  # what to do where the cable is not read takes a step of its own
        yield setting.steps[-1]
        yield f"Expect {draws}."
    else:  # the connector is in by now: the meter shows what the vehicle draws, not the setting
        yield f"Read back {amps(setting.read_back_a)} on the unit. Then expect {draws}."


def _steps_of_the_charge(found: Answer, again: str, target_percent: int | None, sure: Bands | None) -> Iterator[str]:
    """Yield what is done while it charges, up to the percent that ends it."""
    rate, session = found.rate, found.session
    assert rate is not None
    assert session is not None
    meanwhile = []
    if found.vehicle_state.cabin_kw > 0 or found.cabin_must_be_off:
        meanwhile.append(sentence("cabin_off_now", must=sentence("it_must") if found.cabin_must_be_off else ""))
    if rate.cold.steps:
        meanwhile.append(sentence("cold_wait", minutes=math.ceil(60 * rate.cold.hours_h)))
    if meanwhile:
        yield " ".join(meanwhile)
    if session.seconds > 600:
        often = "feel_hourly" if session.seconds > 5400 else "feel_twice" if session.seconds > 1800 else "feel_once"
        yield sentence("feel", when=sentence(often))
    count = session.fuel.refuel_stops
    if count:
        stops = sentence("times", count=count) if count > 1 else sentence("once")
        yield sentence("refuel", stops=stops, plug_in=again)
    if target_percent is not None:
        text = sentence("release", percent=target_percent, energy=f"{session.energy_meter_wh / 1000:.1f}")
        if sure is not None and sure.charging.p90 is not None:
            text += sentence("not_there", stay=spoken_minutes(sure.charging.p90))
        yield text


def _plug_in_again(found: Answer, path: Path, chosen: SettingChoice, setting: SettingStep) -> str:
    """Return how it is plugged in again after a refuel stop: from the lowest mark up where an engine is stepped up."""
    first = start_mark(found, path, chosen)
    if first is not None:
        back = amps(setting.read_back_a)
        return f"set it to mark {first.mark}, plug in, then up to mark {setting.mark} and read back {back}"
    again = f"set it to mark {setting.mark} and read back {amps(setting.output_a)}; " if _forgets(found) else ""
    return f"{again}plug in again"


def _steps_of_the_end(found: Answer, path: Path) -> Iterator[str]:
    """Yield how it ends: the vehicle, the couplers, the supply, the engine, the place, the customer."""
    rig, choice, adapter = found.rig, found.lead_choice, path.adapter
    stop = "Stop the charge at the vehicle; wait until the meter reads 0 A."
    if adapter is None:
        yield f"{stop} Then the connector: {path.connector.latch}."
        yield "Connector into its holder; shut the port door."
    else:  # the connector's own latch holds it in the adapter now, so the adapter's text says how both come out
        yield stop
        yield f"Connector out of the adapter first, then the adapter out of the port: {adapter.latch}."
        back = "Give the customer's adapter back" if path.kept == "customers" else "Sign the adapter back in"
        yield f"{back}; shut the port door."
    if choice is not None:
        yield "Breaker off; unit's plug out of the lead, lead out of the outlet; sign the lead back in."
    elif isinstance(rig.source, SiteOutletSource) and rig.evse.plug is not None:
        yield "Breaker off; unit's plug out of the outlet; breaker as we found it."
    if isinstance(rig.source, GeneratorSource):
        yield "Let the engine cool down without load, then off."
    yield (
        "Pack up, walk around, the cone off our hood last. Tell the customer the percent, the sure miles and how to "
        "drive them."
    )


def sentence_to_say(
    call: Call,
    found: Answer,
    verdict: Verdict,
    parts: MinutesParts | None,
    target_percent: int | None,
    sure: Bands | None,
) -> str:
    """Return what to tell the customer, in their words: minutes from the high end, miles from the low end."""
    if verdict in {"cannot_serve", "ask_first"} or parts is None or target_percent is None:
        return ""
    if any(ruling.code == "shoulder" for ruling in found.rulings):
        allow = sentence("say_shoulder", cap=SHOULDER_CAP_MIN)
    elif sure is not None and sure.on_site.p90 is not None:
        allow = sentence("say_up_to", stay=spoken_minutes(max(math.ceil(sure.on_site.p90), parts.total)))
    else:
        allow = sentence("say_about", stay=spoken_minutes(parts.total))
        if sure is not None:
            allow += sentence("say_longer")
    text = [
        sentence(
            "say",
            allow=allow,
            percent=target_percent,
            miles=_sure_miles(call, found, target_percent),
            how=_how_to_drive(call.road),
        )
    ]
    if found.rig.source.engine:
        text.append(sentence("say_engine"))
    text.append(sentence("say_cabin" if found.vehicle.cabin.size_factor > 0 else "say_key"))
    if is_cold_wait(found, parts):
        text.append(sentence("say_warm"))
    return " ".join(text)


def _sure_miles(call: Call, found: Answer, target_percent: int) -> str:
    """Return the miles of nine of ten cases: those asked for where the charge makes them, else what it makes."""
    assert found.table is not None
    stored_wh = found.table.battery_wh_at(target_percent)
    sure_mi: float = math.floor(found.road.sure_miles_mi(stored_wh) + 1e-9)
    need = call.need
    if isinstance(need, Miles) and found.road.sure_wh(need.distance_mi) <= stored_wh:
        sure_mi = round(need.distance_mi, 1)
    return sentence("say_mile" if sure_mi == 1 else "say_miles", miles=f"{sure_mi:g}")


def _how_to_drive(road: Road) -> str:
    """Return the way of driving that the miles rest on."""
    how = sentence("say_ordinary") if road.speed_mph is None else sentence("say_speed", speed=f"{road.speed_mph:.0f}")
    if not road.cabin_heat:
        how += sentence("say_no_cabin")
    return sentence("say_percent", how=how)
