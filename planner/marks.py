"""The marks of a rig before a vehicle is known: by cable, by the inlet it is to reach, by the outlet it hangs on."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from planner.answer import Call, Conditions, conditions, stop_below_v
from planner.chain import (
    Link,
    Refusal,
    SettingChoice,
    SourceState,
    choose_setting,
    coupler_links,
    highest_power_factor,
    links,
    source_state,
)
from planner.charge import loop_resistances_ohm
from planner.figures import volts
from planner.leads import LeadRefusal, at_outlet
from planner.mating import Kept, Path, code_told_a, kept_adapters, refusal
from planner.protection import findings
from planner.records import Adapter, Cable, Connector, Dataset, Lead, Outlet, Rig, VehiclePort
from planner.trip import ToPercent

__all__ = [
    "CableMark",
    "InletMark",
    "OutletMark",
    "any_vehicle",
    "cable_marks",
    "marks_for_inlet",
    "outlet_marks",
    "own_links",
    "volts_refusal",
]

COMMON_BREAKERS_A = (15.0, 20.0, 30.0, 40.0, 50.0, 60.0)  # common-practice: what site outlets stand on


@dataclass(frozen=True, slots=True, eq=False)
class InletMark:
    """One way of a rig into one inlet at its usual site: the mark for any vehicle with it, or why there is none."""

    connector: Connector
    adapter: Adapter | None
    kept: Kept | None
    mark: str | None
    output_a: float | None
    told_a: float | None  # what the vehicle is told: less than the mark gives with a loose cable of a smaller code
    refused: str | None


@dataclass(frozen=True, slots=True, eq=False)
class CableMark:
    """One cable of a rig that has several, with its highest mark, or why there is none."""

    cable: Cable
    connector: Connector
    mark: str | None
    output_a: float | None
    told_a: float | None
    refused: str | None


@dataclass(frozen=True, slots=True, eq=False)
class OutletMark:
    """A rig for site outlets at one outlet behind one breaker: the lead that joins it, and the mark; or why not."""

    outlet: Outlet
    breaker_a: float
    lead: Lead | None
    kept: Kept | None
    mark: str | None
    output_a: float | None
    refused: str | None


def own_links(
    dataset: Dataset,
    rig: Rig,
    state: SourceState,
    *,
    ambient_c: float,
    altitude_m: float,
    adapter: Adapter | None = None,
) -> list[Link]:
    """Return a rig's links up to its connector for any vehicle: at the highest power factor of any class."""
    return links(
        dataset,
        rig,
        state,
        ambient_c=ambient_c,
        altitude_m=altitude_m,
        power_factor=highest_power_factor(dataset),
        adapter=adapter,
    )


def any_vehicle(
    dataset: Dataset, rig: Rig, site: Conditions, adapter: Adapter | None = None, further: Sequence[Link] = ()
) -> SettingChoice | str:
    """Return the setting of a rig with one cable for any vehicle at a site, or why there is none in one sentence."""
    stop = next((item for item in findings(dataset, rig, ambient_c=site.ambient_c) if item.level == "stop"), None)
    if stop is not None:
        return stop.text
    if dataset.connectors[rig.evse.cable.connector].ac is None:
        return "Its connector carries no AC."
    state = source_state(rig, altitude_m=site.altitude_m, ambient_c=site.ambient_c, fuel=site.fuel)
    own = own_links(dataset, rig, state, ambient_c=site.ambient_c, altitude_m=site.altitude_m, adapter=adapter)
    chosen = choose_setting(rig, (*own, *further), None)
    if isinstance(chosen, Refusal):
        return chosen.text
    volts_refused = volts_refusal(dataset, rig, chosen, site.ambient_c)
    return chosen if volts_refused is None else volts_refused.text


def cable_marks(dataset: Dataset, rig: Rig, site: Conditions) -> tuple[CableMark, ...]:
    """Return every cable of a rig with its highest mark."""
    found = []
    for variant in rig.by_cable:
        cable, connector = variant.evse.cable, dataset.connectors[variant.evse.cable.connector]
        chosen = any_vehicle(dataset, variant, site)
        if isinstance(chosen, str):
            found.append(CableMark(cable, connector, None, None, None, chosen))
            continue
        code_a = code_told_a(connector, None, cable) or chosen.output_a
        found.append(CableMark(cable, connector, chosen.mark, chosen.output_a, min(code_a, chosen.output_a), None))
    return tuple(found)


def _usual(rig: Rig) -> Conditions:
    return conditions(rig, Call(rig.id, "", 0, ToPercent(0)))


def marks_for_inlet(dataset: Dataset, rig_id: str, inlet_id: str) -> tuple[InletMark, ...]:
    """Return every open way of a rig into an inlet at its usual site, with the mark for any vehicle that has it."""
    rig, inlet = dataset.rig(rig_id), dataset.inlets[inlet_id]
    site = _usual(rig)
    port = VehiclePort.model_construct(inlet=inlet_id, share=1.0, carries=None, places=(), detail=None)
    marks = []
    for variant in rig.by_cable:
        cable, connector = variant.evse.cable, dataset.connectors[variant.evse.cable.connector]
        for adapter, kept in kept_adapters(dataset, rig):
            if refusal(dataset, connector, adapter, inlet) is not None:
                continue
            path = Path(variant, connector, adapter, inlet, port, kept)
            chosen = any_vehicle(dataset, variant, site, adapter, tuple(coupler_links(path)))
            bears_v = min(
                inlet.ac.voltage_v if inlet.ac is not None else math.inf,
                adapter.rating_voltage_v if adapter is not None and adapter.rating_voltage_v else math.inf,
            )
            if not isinstance(chosen, str) and rig.source.voltage_v.high > bears_v:
                given = volts(rig.source.voltage_v.high)
                chosen = f"Its way takes {volts(bears_v)} at most; this source gives up to {given}."
            if isinstance(chosen, str):
                marks.append(InletMark(connector, adapter, kept, None, None, None, chosen))
                continue
            told_a = min(code_told_a(connector, adapter, cable) or chosen.output_a, chosen.output_a)
            marks.append(InletMark(connector, adapter, kept, chosen.mark, chosen.output_a, told_a, None))
    return tuple(marks)


def outlet_marks(dataset: Dataset, rig_id: str) -> tuple[OutletMark, ...]:
    """Return a rig for site outlets at every outlet that its plug or a lead goes into, behind each common breaker."""
    rig = dataset.rig(rig_id)
    site = _usual(rig)
    outlets = [rig.evse.plug] if rig.evse.plug is not None else []
    outlets += [dataset.leads[key].plug for key in (*rig.leads, *rig.leads_at_depot)]
    marks = []
    for outlet_id in dict.fromkeys(outlets):
        outlet = dataset.outlets[outlet_id]
        for breaker_a in (rating for rating in COMMON_BREAKERS_A if rating <= outlet.rating_a):
            there = at_outlet(dataset, rig, outlet=outlet_id, device_a=breaker_a, ambient_c=site.ambient_c)
            if isinstance(there, LeadRefusal):
                marks.append(OutletMark(outlet, breaker_a, None, None, None, None, there.text))
                continue
            lead = there.choice.lead if there.choice is not None else None
            kept = there.choice.kept if there.choice is not None else None
            chosen = any_vehicle(dataset, there.rig, site)
            if isinstance(chosen, str):
                marks.append(OutletMark(outlet, breaker_a, lead, kept, None, None, chosen))
            else:
                marks.append(OutletMark(outlet, breaker_a, lead, kept, chosen.mark, chosen.output_a, None))
    return tuple(marks)


def volts_refusal(dataset: Dataset, rig: Rig, setting: SettingChoice, ambient_c: float) -> Refusal | None:
    """Return why the source's volts do not suit the EVSE or its connector, or fall too far in the supply run."""
    connector = dataset.connectors[rig.evse.cable.connector]
    bears_v = min(rig.evse.voltage_high_v, connector.ac.voltage_v if connector.ac is not None else math.inf)
    source_v = rig.source.voltage_v
    if source_v.high > bears_v:
        text = (
            f"The EVSE and its connector take {volts(bears_v)} at most; this source gives up to {volts(source_v.high)}."
        )
        return Refusal(
            "voltage_too_high", text, "A source of lower voltage, or a part rated for it.", "rating of the part"
        )
    if source_v.low < rig.evse.voltage_low_v:
        text = f"The EVSE needs {volts(rig.evse.voltage_low_v)}; this source may fall to {volts(source_v.low)}."
        return Refusal(
            "voltage_too_low", text, "A source of higher voltage, or an EVSE made for it.", "rating of the part"
        )
    supply_ohm, _ = loop_resistances_ohm(dataset, rig, current_a=setting.output_a, ambient_c=ambient_c)
    left_v, least_v = source_v.low - setting.output_a * supply_ohm, stop_below_v(rig)
    if left_v < least_v:
        text = (
            f"After the drop in the supply run the EVSE may see {left_v:.0f} V; it should not fall below "
            f"{least_v:.0f} V."
        )
        return Refusal(
            "voltage_drop",
            text,
            "A shorter or larger cord, or a lower setting.",
            "ansi-c84-1 and the rating of the part",
        )
    return None
