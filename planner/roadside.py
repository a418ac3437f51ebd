"""What the crew reads beside the vehicle: what to watch, when to give up, what can hurt, what to do, what to say."""

import math

from planner.answer import CABIN_ON_BELOW_C, Answer, Call, stop_below_v
from planner.chain import SettingChoice, told_current_a, voltage_window_v
from planner.figures import amps, asked_miles, gallons, kilowatts, spoken_minutes, temperature, volts
from planner.journey import Road
from planner.plan_types import Abort, Ask, Caution, MinutesParts, Reason, SettingStep, Verdict, Watch
from planner.protection import NO_LOAD_RISE, WIDEST_CLASS
from planner.records import Conductor, Dataset, GeneratorSource, Rig, StoredSource
from planner.spread import Bands
from planner.trip import LAST_ORDINARY_PERCENT, DashWord, Miles

__all__ = [
    "ALWAYS_ABORT",
    "ENGINE_ABORT",
    "FUEL_ASK",
    "FUEL_FIRST_CAUTION",
    "STOP_ABOVE_HZ",
    "STOP_BELOW_HZ",
    "VOLTS_STOP_ABOVE_SHARE",
    "WATCH_TOLERANCE",
    "abort",
    "cautions",
    "cold_text",
    "sentence_to_say",
    "steps",
    "watch",
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


def abort(found: Answer, dataset: Dataset) -> tuple[Abort, ...]:
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


def cold_text(found: Answer) -> str:
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


def cautions(
    call: Call, found: Answer, target_percent: int | None, changes: tuple[Reason, ...], parts: MinutesParts | None
) -> tuple[Caution, ...]:
    told = [
        Caution(reason.code, reason.text, reason.source, "change")
        for reason in changes
        if reason.code == "this_class_only"
    ]
    if found.setting is not None and _forgets(found):
        told.append(Caution("setting_forgotten", _set_again(found.setting), "rig record", "change"))
    if found.rig.source.engine:
        told += ENGINE_CAUTIONS
    told.append(DRY_CAUTION)
    if found.path is not None and found.path.adapter is not None:
        sensed = found.path.adapter.temperature_sensing
        told.append(
            Caution(
                "two_joints",
                "Check both joints, cable to adapter and adapter to vehicle, and feel them at 10 and 30 minutes"
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
    if call.start == DashWord("dead"):
        told.append(DEAD_CAUTION)
    if found.vehicle.battery.chemistry == "lfp":
        told.append(LFP_CAUTION)
    gas_reckoned = found.state.power_gas_w is not None
    if found.conditions.fuel == "propane" and not gas_reckoned and found.conditions.ambient_c < COLD_PROPANE_C:
        told.append(
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
        told.append(PROPANE_FROST_CAUTION)
    if parts is not None and parts.total > LONG_STAY_MIN:
        told.append(LONG_STAY_CAUTION)
    if target_percent is not None and target_percent > LAST_ORDINARY_PERCENT:
        told.append(
            Caution(
                "last_percents",
                f"Above {LAST_ORDINARY_PERCENT} % charging crawls and the time is a guess.",
                "method page",
                "note",
            )
        )
    if found.vehicle.engine:
        told.append(FUEL_FIRST_CAUTION)
    told.append(NO_MILES_CAUTION)
    return tuple(told)


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


def steps(
    found: Answer, setting: SettingStep | None, target_percent: int | None, sure: Bands | None, *, other_port: bool
) -> tuple[str, ...]:
    """Return what the crew does, in its order, from the chocks to packing up."""
    path, rate, session = found.path, found.rate, found.session
    assert path is not None
    assert rate is not None
    assert setting is not None
    assert session is not None
    engine = isinstance(found.rig.source, GeneratorSource)
    adapter, choice = path.adapter, found.lead_choice
    fetched = [adapter.name] if adapter is not None and path.kept == "at_depot" else []
    fetched += [choice.lead.name] if choice is not None and choice.kept == "at_depot" else []
    lines = [f"Before driving out: take {' and '.join(fetched)} from the depot."] if fetched else []
    lines += ["Vehicle in Park; chocks and cones; a cone on our own hood as a reminder that the cable is out."]
    if found.rig.source.engine:
        lines.append("CO alarm on; engine outdoors, its exhaust away from every vehicle and opening.")
    if choice is not None:
        whence = "from the depot" if choice.kept == "at_depot" else "from its place"
        lines.append(
            f"Count the lead out {whence} ({choice.lead.name}). Breaker off; lead into the outlet, unit's plug into "
            "the lead; breaker on."
        )
    if any(isinstance(part, Conductor) for part in found.rig.supply):
        lines.append("Unwind the supply cord fully; look over cord, plugs and cable; nothing wet, cut or hot.")
    if engine:
        lines.append("Engine up and warm; volts and hertz steady before plugging in.")
    if other_port:
        lines.append(
            f"Look at the port: this plan is for {path.inlet.name}. Another one: ask for its plan before setting."
        )
    lines += setting.steps
    if adapter is not None:
        whose = "Have the customer's adapter handed over" if path.kept == "customers" else "Count the adapter out"
        lines.append(f"{whose} ({adapter.name}); it must be dry, whole and its label readable.")
    part = f", {path.inlet.ac_part}" if path.inlet.ac_part else ""
    into = "the adapter, the adapter into " if adapter is not None else ""
    lines.append(f"{path.connector.name} into {into}{path.inlet.name}{part}; wait for the latch.")
    lines.append(
        f"Expect {amps(rate.current_a)} and {kilowatts(rate.power_meter_kw)} on the meter "
        f"at {volts(rate.voltage_evse_v)}."
    )
    if found.vehicle_state.cabin_kw > 0 or found.cabin_must_be_off:
        word = "must be" if found.cabin_must_be_off else "is best"
        lines.append(f"Ask for the cabin's heat or cooling: off {word}, it comes out of what is stored.")
    if rate.cold.steps:
        lines.append(
            f"The pack is cold: for up to {math.ceil(60 * rate.cold.hours_h)} min its heater comes first. The percent "
            "may hardly move and the meter may show less than expected; that alone is no reason to stop."
        )
    if session.seconds > 600:
        when = "10 and at 30 minutes" if session.seconds > 1800 else "10 minutes"
        lines.append(f"Feel every plug and coupler at {when}, with the glove off.")
    if session.fuel.refuel_stops:
        stops = f"{session.fuel.refuel_stops} times" if session.fuel.refuel_stops > 1 else "once"
        again = f"set it to mark {setting.mark} and read back {amps(setting.output_a)}; " if _forgets(found) else ""
        lines.append(
            f"Refuel stop, {stops}: connector out; engine off and cool; fill; engine up and warm; {again}plug in again."
        )
    if target_percent is not None:
        kwh = session.energy_meter_wh / 1000
        lines.append(f"Release at {target_percent} % on the dash, about {kwh:.1f} kWh on the meter; not by the clock.")
        if sure is not None and sure.charging.p90 is not None:
            lines.append(
                f"Not there {math.ceil(sure.charging.p90)} min after the charge began: tell the dispatcher, it is "
                "slower than nine of ten."
            )
    stop = "Stop the charge at the vehicle; wait until the meter reads 0 A."
    if adapter is None:
        lines.append(f"{stop} Then the connector: {path.connector.latch}.")
    else:  # the connector's own latch holds it in the adapter now, so the adapter's text says how both come out
        lines.append(f"{stop} Connector out first, then the adapter: {adapter.latch}.")
        lines.append("Give the customer's adapter back." if path.kept == "customers" else "Count the adapter back in.")
    if choice is not None:
        lines.append("Breaker off; unit's plug out of the lead, lead out of the outlet; count the lead back in.")
    if engine:
        lines.append("Let the engine cool down without load, then off.")
    return tuple(lines)


def sentence_to_say(
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
    likely = spoken_minutes(parts.total)
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
