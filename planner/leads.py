"""Supply-side leads: which may join an outlet to the EVSE's plug, what each allows for hours, why others are refused.

A lead is a plug for one outlet, a short cord and a receptacle of another kind, ahead of the EVSE's plug. It is judged
as the code judges any cord: grounded, of one voltage, and protected by the device ahead of it or by one of its own.
A listed cord set may be covered by its listing alone (240.5(B)(3)); a record does not hold its terms, so that every
lead is judged by its table, which asks for more. One lead at most: leads are not chained.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from planner.ampacity import circular_mils, grounding_awg, standard_device_at_most_a, standard_ratings_a
from planner.circuit import AMPACITY_BASE_C, continuous_limit_a
from planner.errors import QuantityError, UnknownIdError
from planner.figures import amps, volts
from planner.mating import Kept, RefusedLead
from planner.protection import CORD_GROUNDING_BY_TABLE_ABOVE_AWG, LEG_V, largest_device_for_a
from planner.records import (
    RESISTANCE_TABLE,
    Breaker,
    Conductor,
    Dataset,
    Lead,
    Outlet,
    Plug,
    Receptacle,
    Rig,
    SiteOutletSource,
    SupplyPart,
)

__all__ = [
    "LEAD_CAUTIONS",
    "LEAD_REFUSAL_SOURCES",
    "AtOutlet",
    "LeadCaution",
    "LeadChoice",
    "LeadPair",
    "LeadRefusal",
    "LeadVerdict",
    "at_outlet",
    "largest_device_ahead_a",
    "lead_cautions",
    "lead_limit_a",
    "lead_matrix",
    "lead_never",
    "lead_refusal",
]

# Why a lead, or the outlet itself, is refused: the source of the rule. All of the code as good practice.
LEAD_REFUSAL_SOURCES = {
    "lead_from_two_outlets": "nec-2017, 110.3(B); common practice: pulled from one outlet, its plug is live",
    "lead_no_ground": "nec-2017, 250.114 and 625.44",
    "lead_one_leg": "nec-2017, 406.4(F) and 110.4",
    "lead_voltage": "nec-2017, 406.4(F) and 110.4",
    "lead_needs_neutral": "nec-2017, 406.4(F); common practice: an open neutral destroys 120 V equipment",
    "lead_not_listed": "nec-2017, 110.3(B); ul-817, cord sets",
    "lead_other_plug": "nema-wd-6, configuration of the plug",
    "lead_other_receptacle": "nema-wd-6, configuration of the receptacle",
    "breaker_not_read": "nec-2017, 240.5(A) and 210.21(B)",
    "lead_not_protected": "nec-2017, 240.5(A), Table 400.5(A)(1) and 210.21(B)(1)",
    "lead_ground_small": "nec-2017, 250.122(A) and (E)",
    "outlet_no_ground": "nec-2017, 250.114 and 625.44",
    "outlet_voltage": "nec-2017, 406.4(F) and 110.4",
    "outlet_not_protected": "nec-2017, 210.21(B)(1)",
    "rig_without_plug": "rig record",
    "no_lead": "rig record",
}
LOADED_CONDUCTORS: Literal[2] = 2  # exact: an EVSE of one phase loads two conductors, no neutral
_TOLERANCE_A = 1e-6

LeadVerdict = Literal["yes", "behind", "no"]


@dataclass(frozen=True, slots=True)
class LeadCaution:
    """What the crew minds with a lead that may be used."""

    code: str
    text: str
    source: str
    level: Literal["change", "note"]


# Every lead that is used comes with these.
LEAD_CAUTIONS = (
    LeadCaution(
        "lead_evse_instructions",
        "Read the EVSE's instructions first: many forbid an adapter or an extension ahead of its plug, and then no "
        "lead is used with it.",
        "nec-2017, 110.3(B), as good practice",
        "change",
    ),
    LeadCaution(
        "lead_one_only",
        "One lead, never a second one or an extension behind it: each joint is one more that may run hot.",
        "common practice, no source",
        "note",
    ),
    LeadCaution(
        "lead_joints_warm",
        "Look at both joints after 15 minutes and again after 30, best with an infrared thermometer: too hot to hold, "
        "discolored or smelling means stop, and the lead stays out of use.",
        "common practice, no source",
        "note",
    ),
    LeadCaution(
        "lead_laid_out",
        "Lay it out whole, off wet ground and out of the way of wheels; neither joint may hang by its blades.",
        "common practice, no source",
        "note",
    ),
    LeadCaution(
        "lead_breaker_off",
        "Breaker off before anything is plugged or pulled; a breaker that trips is not closed again before the cause "
        "is found.",
        "common practice, no source",
        "note",
    ),
)


@dataclass(frozen=True, slots=True, eq=False)
class LeadChoice:
    """The lead that joins an outlet to the EVSE's plug, where it is kept, and what it allows for hours."""

    lead: Lead
    kept: Kept
    limit_a: float
    basis: str
    cautions: tuple[LeadCaution, ...]


@dataclass(frozen=True, slots=True, eq=False)
class LeadRefusal:
    """Why a rig cannot stand at an outlet: code, sentence, what to do, source, and what is wrong with every lead."""

    code: str
    text: str
    remedy: str
    source: str
    refused: tuple[RefusedLead, ...]
    stands: Literal[False] = False


@dataclass(frozen=True, slots=True, eq=False)
class AtOutlet:
    """A rig as it stands at an outlet of the site; no choice where its own plug goes in. `refused`: the other leads."""

    rig: Rig
    outlet: Outlet
    choice: LeadChoice | None
    refused: tuple[RefusedLead, ...] = ()
    stands: Literal[True] = True


@dataclass(frozen=True, slots=True, eq=False)
class LeadPair:
    """One lead against one outlet of a site: yes; behind a smaller breaker than the outlet may have; or no."""

    lead: Lead
    outlet: Outlet
    goes_in: bool
    verdict: LeadVerdict
    device_a: float  # the largest standard breaker that the outlet may stand on with this lead; 0 where there is none
    limit_a: float  # for hours, behind that breaker
    code: str | None
    text: str
    source: str


# ------------------------------------------------------------------------------------------------------ a lead itself


def lead_never(dataset: Dataset, lead: Lead) -> tuple[str, str] | None:
    """Return why a lead is never used ahead of an EVSE, whatever breaker is ahead; None where it may be."""
    plug, receptacle = dataset.outlets[lead.plug], dataset.outlets[lead.receptacle]
    if lead.plugs > 1:
        return (
            "lead_from_two_outlets",
            f"{lead.name} takes from two outlets at a time: pulled out of one, the blades of that plug stay live, and "
            "two outlets are not sure to be the two lines of one source.",
        )
    for outlet, end in ((plug, "plug"), (receptacle, "receptacle")):
        if not outlet.ground:
            return "lead_no_ground", f"{lead.name}: its {end}, {outlet.configuration}, has no grounding contact."
    if lead.grounding_awg is None:
        return "lead_no_ground", f"{lead.name}: it has no grounding conductor, or nobody has stated one."
    return _voltage(lead, plug, receptacle) or _neutral_and_listing(lead, plug, receptacle)


def _voltage(lead: Lead, plug: Outlet, receptacle: Outlet) -> tuple[str, str] | None:
    for outlet, end in ((plug, "plug"), (receptacle, "receptacle")):
        if outlet.phases == 3:
            return (
                "lead_voltage",
                f"{lead.name}: its {end}, {outlet.configuration}, is a three-phase device; it looks like its "
                "single-phase twin.",
            )
    if plug.voltage_v <= LEG_V < receptacle.voltage_v:
        return (
            "lead_one_leg",
            f"{lead.name} brings one leg, {volts(plug.voltage_v)}, to a receptacle made for "
            f"{volts(receptacle.voltage_v)}: the EVSE looks for two lines there.",
        )
    if receptacle.voltage_v <= LEG_V < plug.voltage_v:
        # Own judgement: one of 4 wires may be listed and sound, but its record does not say which contacts it joins,
        # and a site outlet of 240 V is not reckoned with as one of 120 V.
        why = (
            "which of its contacts it joins is not on record"
            if plug.neutral
            else f"without a neutral it can give {volts(plug.voltage_v)} alone"
        )
        return (
            "lead_voltage",
            f"{lead.name} leads from {volts(plug.voltage_v)} to a receptacle made for {volts(receptacle.voltage_v)}: "
            f"{why}, and two lines there destroy what is plugged in.",
        )
    if plug.voltage_v != receptacle.voltage_v:
        return (
            "lead_voltage",
            f"{lead.name} joins a plug for {volts(plug.voltage_v)} to a receptacle for {volts(receptacle.voltage_v)}.",
        )
    return None


def _neutral_and_listing(lead: Lead, plug: Outlet, receptacle: Outlet) -> tuple[str, str] | None:
    if receptacle.neutral and not plug.neutral:
        # Refused, not noted: most EVSE would charge on it, but nothing keeps other equipment out of that receptacle.
        return (
            "lead_needs_neutral",
            f"{lead.name}: its receptacle, {receptacle.configuration}, promises a neutral that its plug, "
            f"{plug.configuration}, does not have; 120 V equipment plugged in there is destroyed.",
        )
    if plug.line_count < receptacle.line_count:
        return (
            "lead_one_leg",
            f"{lead.name} brings {plug.line_count} line to a receptacle made for {receptacle.line_count}: two of its "
            "contacts would carry what nobody expects there.",
        )
    if lead.listing == "none":
        return "lead_not_listed", f"{lead.name} has no listing: it is not used, whatever is written on it."
    return None


def lead_refusal(
    dataset: Dataset, lead: Lead, *, device_a: float | None, ambient_c: float = AMPACITY_BASE_C
) -> tuple[str, str] | None:
    """Return code and sentence of the first reason against a lead behind a device; None where it may be used.

    `device_a` is the breaker that the outlet stands on; None is: nobody has read it, and then it is refused.
    Protection is judged in air of 30 C or warmer: no cold day makes an unprotected cord protected.
    """
    reason = lead_never(dataset, lead)
    if reason is not None:
        return reason
    if device_a is None:
        return (
            "breaker_not_read",
            f"{lead.name}: nobody has read the breaker that the outlet stands on, so nothing tells what protects its "
            "cord.",
        )
    return _not_protected(dataset, lead, device_a, ambient_c) or _ground_small(dataset, lead, device_a)


def _device_for_cord_a(lead: Lead, device_a: float) -> float:
    """Return the device that protects cord and receptacle: the smaller of the one ahead and the lead's own."""
    return device_a if lead.device_a is None else min(device_a, lead.device_a)


def _cord(lead: Lead) -> Conductor:
    """Return the lead's cord as a conductor of the supply. Its size may be one that no table has."""
    return Conductor.model_construct(
        part="conductor",
        id="lead-cord",
        name="Lead cord",
        construction="flexible_cord",
        material="copper",
        size_awg=lead.size_awg,
        temperature_rating_c=lead.temperature_rating_c,
        termination_column_c=60,
        loaded_conductors=LOADED_CONDUCTORS,
        length_m=lead.length_m,
        grounding_awg=lead.grounding_awg,
        on_reel=False,
        wet_rated=lead.wet_rated,
    )


def _not_protected(dataset: Dataset, lead: Lead, device_a: float, ambient_c: float) -> tuple[str, str] | None:
    plug, receptacle = dataset.outlets[lead.plug], dataset.outlets[lead.receptacle]
    behind_a = _device_for_cord_a(lead, device_a)
    cord_a, _ = largest_device_for_a(dataset, _cord(lead), ambient_c=ambient_c)
    if cord_a <= 0:
        return (
            "lead_not_protected",
            f"{lead.name}: its cord ({lead.size_awg} AWG, {lead.temperature_rating_c} C) has no ampacity in the table "
            "of flexible cords in this air, so no device protects it.",
        )
    parts = (
        (f"its plug is a {amps(plug.rating_a)} device", plug.rating_a, device_a),
        (f"its cord ({lead.size_awg} AWG) is protected up to {amps(cord_a)}", cord_a, behind_a),
        (f"its receptacle is a {amps(receptacle.rating_a)} device", receptacle.rating_a, behind_a),
    )
    for part, most_a, protecting_a in parts:
        if protecting_a > most_a + _TOLERANCE_A:
            which = "its own device is" if protecting_a < device_a else "the breaker ahead is"
            own_protects = lead.device_a is not None and lead.device_a <= min(cord_a, receptacle.rating_a)
            most_ahead_a = plug.rating_a if own_protects else min(most for _, most, _ in parts)
            fitting_a = standard_device_at_most_a(dataset, most_ahead_a)
            may = f"It may be used behind {amps(fitting_a)} or less." if fitting_a > 0 else "No breaker protects it."
            return (
                "lead_not_protected",
                f"{lead.name}: {part}, but {which} {amps(protecting_a)}. Not fit at any setting. {may}",
            )
    return None


def _ground_small(dataset: Dataset, lead: Lead, device_a: float) -> tuple[str, str] | None:
    """Judge the grounding conductor as that of any cord: by the table, in small cords as large as the lines."""
    assert lead.grounding_awg is not None  # `lead_never` has refused it
    behind_a = _device_for_cord_a(lead, device_a)
    needed: str | None = lead.size_awg
    if lead.size_awg in CORD_GROUNDING_BY_TABLE_ABOVE_AWG:
        needed = grounding_awg(dataset, device_a=behind_a, material="copper")
    lines_mils = circular_mils(dataset, lead.size_awg)
    needed_mils = min(circular_mils(dataset, needed) if needed is not None else math.inf, lines_mils)
    if circular_mils(dataset, lead.grounding_awg) < needed_mils:
        least = needed if needed is not None and circular_mils(dataset, needed) <= lines_mils else lead.size_awg
        return (
            "lead_ground_small",
            f"{lead.name}: its grounding conductor is {lead.grounding_awg} AWG; behind {amps(behind_a)} it is {least} "
            "AWG at least.",
        )
    return None


def lead_limit_a(dataset: Dataset, lead: Lead, *, device_a: float, ambient_c: float) -> float:
    """Return the amps that a lead allows for hours behind a device, 0 where it is refused.

    0.8 of the smaller of the device ahead and its own. That is never more than 0.8 of its plug or its receptacle, nor
    than its cord carries for hours: a lead with a smaller part than the device is not protected, and refused.
    """
    if lead_refusal(dataset, lead, device_a=device_a, ambient_c=ambient_c) is not None:
        return 0.0
    return _limit(lead, device_a)[0]


def _limit(lead: Lead, device_a: float) -> tuple[float, str]:
    """Return what a lead that is not refused allows for hours, and by which device."""
    behind_a = _device_for_cord_a(lead, device_a)
    name = "its own device" if behind_a < device_a else "the breaker ahead"
    limit_a = continuous_limit_a(rating_a=behind_a, listed_for_full_rating=False)
    return limit_a, f"0.8 of {name}, {amps(behind_a)}"


def largest_device_ahead_a(dataset: Dataset, lead: Lead, *, ambient_c: float = AMPACITY_BASE_C) -> float:
    """Return the largest standard breaker that a lead's outlet may stand on with it, 0 where there is none."""
    return max(
        (
            rating_a
            for rating_a in standard_ratings_a(dataset)
            if rating_a <= dataset.outlets[lead.plug].rating_a
            and lead_refusal(dataset, lead, device_a=rating_a, ambient_c=ambient_c) is None
        ),
        default=0.0,
    )


def lead_cautions(dataset: Dataset, lead: Lead) -> tuple[LeadCaution, ...]:
    """Return what the crew minds with a lead: what its receptacle promises first, then what holds for every lead."""
    plug, receptacle = dataset.outlets[lead.plug], dataset.outlets[lead.receptacle]
    feeds_a = plug.rating_a if lead.device_a is None else min(plug.rating_a, lead.device_a)
    found = []
    if receptacle.rating_a > feeds_a:
        at_most_a = continuous_limit_a(rating_a=feeds_a, listed_for_full_rating=False)
        found.append(
            LeadCaution(
                "lead_looks_larger",
                f"Its receptacle looks like {amps(receptacle.rating_a)}, but {amps(feeds_a)} is what feeds it: an EVSE "
                f"may take it for {amps(receptacle.rating_a)}. Hold the setting to {amps(at_most_a)} or less, and read "
                "it back before the vehicle is plugged in.",
                "nec-2017, 210.21(B) and 625.41, as good practice",
                "change",
            )
        )
    return (*found, *LEAD_CAUTIONS)


# ------------------------------------------------------------------------------------------- a rig at another outlet


def at_outlet(
    dataset: Dataset, rig: Rig, *, outlet: str, device_a: float | None, ambient_c: float
) -> AtOutlet | LeadRefusal:
    """Return a rig of site outlets as it stands at an outlet: its breaker, the receptacle, the lead that joins it.

    A breaker that nobody has read is not assumed: the outlet's own rating is not what protects it. Leads on board come
    before those at the depot, then the one that allows more, then the one that loses less. Whatever is known of the
    recorded outlet alone, such as its grade or whether its circuit is its own, is unknown of another one.

    Raises `UnknownIdError` for an outlet that the dataset does not hold, `QuantityError` for a rig that brings its own
    source and for a breaker that cannot be.
    """
    _require_sense(dataset, rig, outlet, device_a)
    there = dataset.outlets[outlet]
    own_plug = _own_plug(rig)
    open_leads, refused = _sorted_out(dataset, rig, there, own_plug, device_a, ambient_c)

    def no(code: str, text: str, remedy: str) -> LeadRefusal:
        return LeadRefusal(code, text, remedy, LEAD_REFUSAL_SOURCES[code], tuple(refused))

    if own_plug is None:
        return no(
            "rig_without_plug",
            f"{rig.name} is wired in where it stands: it has no plug for another outlet.",
            "A rig with a plug.",
        )
    fault = _outlet_fault(rig, there, device_a)
    joins = there.id == own_plug or bool(open_leads) or any(lead.code == "breaker_not_read" for lead in refused)
    # Nobody is sent to the panel for an outlet that no lead would join whatever its breaker.
    if fault is not None and (joins or fault[0] != "breaker_not_read"):
        return no(*fault)
    if there.id == own_plug:
        assert device_a is not None  # `_outlet_fault` has asked for it
        return AtOutlet(_standing_at(rig, there, device_a, None), there, None, tuple(refused))
    if not open_leads:
        plug = dataset.outlets[own_plug]
        return no(
            "no_lead",
            f"No lead on board or at the depot may join {there.configuration} to this unit's plug, "
            f"{plug.configuration}.",
            "Another outlet, or a listed lead made for the two that this breaker protects.",
        )
    choice = min(
        open_leads, key=lambda one: (one.kept == "at_depot", -one.limit_a, _loop_ohm(dataset, one.lead), one.lead.id)
    )
    assert device_a is not None  # no lead is open without it
    return AtOutlet(_standing_at(rig, there, device_a, choice.lead), there, choice, tuple(refused))


def _require_sense(dataset: Dataset, rig: Rig, outlet: str, device_a: float | None) -> None:
    if not isinstance(rig.source, SiteOutletSource):
        raise QuantityError(
            name="--outlet",
            given=outlet,
            expected=f"no outlet: {rig.name} brings its own source",
            next_step="leave it out, or name a rig for site outlets",
        )
    if outlet not in dataset.outlets:
        raise UnknownIdError(
            kind="outlet", given=outlet, known=sorted(dataset.outlets), list_command="rangeferry list outlets"
        )
    if device_a is not None and not 0 < device_a <= 1000:
        raise QuantityError(
            name="--breaker",
            given=f"{device_a:g}",
            expected="the amps on the handle of the breaker, above 0 and up to 1000",
            next_step="read them at the panel",
        )


def _own_plug(rig: Rig) -> str | None:
    """Return the outlet that the rig's own first plug is made for; None where it is wired in."""
    rest = _own_supply(rig)
    if rest is None:
        return None
    first = rest[0] if rest else None
    return first.outlet if isinstance(first, Plug) else rig.evse.plug


def _own_supply(rig: Rig) -> tuple[SupplyPart, ...] | None:
    """Return what the rig brings itself, behind the receptacle of the site; None where there is no receptacle."""
    for index, part in enumerate(rig.supply):
        if isinstance(part, Receptacle):
            return rig.supply[index + 1 :]
    return None


def _outlet_fault(rig: Rig, there: Outlet, device_a: float | None) -> tuple[str, str, str] | None:
    """Return code, sentence and remedy of what no lead makes up for, in the outlet itself or its breaker."""
    if not there.ground:
        return (
            "outlet_no_ground",
            f"{there.configuration} has no grounding contact, and no lead makes up for it.",
            "Another outlet, with a grounding contact.",
        )
    if there.phases == 3:
        return (
            "outlet_voltage",
            f"{there.configuration} is a three-phase device; it looks like its single-phase twin.",
            "Another outlet, of one phase.",
        )
    if (rig.nominal_v > LEG_V) != (there.voltage_v > LEG_V) or rig.nominal_v > there.voltage_v:
        return (
            "outlet_voltage",
            f"{there.configuration} is a device for {volts(there.voltage_v)}; the outlets that {rig.name} is recorded "
            f"for give {volts(rig.nominal_v)}.",
            f"Another outlet, for {volts(rig.nominal_v)}, or a rig recorded for these.",
        )
    if device_a is None:
        return (
            "breaker_not_read",
            f"Nobody has read the breaker that this {there.configuration} stands on; its face does not tell.",
            "Read the amps on the breaker's handle at the panel; with no panel in reach, another outlet.",
        )
    if device_a > there.rating_a + _TOLERANCE_A:
        return (
            "outlet_not_protected",
            f"{there.configuration} is a {amps(there.rating_a)} device on a breaker of {amps(device_a)}. Not fit at "
            "any setting.",
            "Another outlet; this one is for the site's electrician to look at.",
        )
    return None


def _sorted_out(
    dataset: Dataset, rig: Rig, there: Outlet, own_plug: str | None, device_a: float | None, ambient_c: float
) -> tuple[list[LeadChoice], list[RefusedLead]]:
    """Return the leads that join an outlet to a plug, and the others by their first reason: safety before geometry."""
    open_leads: list[LeadChoice] = []
    refused: list[RefusedLead] = []
    for lead, kept in _leads_of(dataset, rig):
        reason = lead_never(dataset, lead) or _elsewhere(dataset, lead, there, own_plug)
        reason = reason or lead_refusal(dataset, lead, device_a=device_a, ambient_c=ambient_c)
        if reason is not None:
            code, text = reason
            refused.append(RefusedLead(lead.id, lead.name, kept, code, text, LEAD_REFUSAL_SOURCES[code]))
        elif device_a is not None:
            limit_a, basis = _limit(lead, device_a)
            open_leads.append(LeadChoice(lead, kept, limit_a, basis, lead_cautions(dataset, lead)))
    return open_leads, refused


def _leads_of(dataset: Dataset, rig: Rig) -> Iterator[tuple[Lead, Kept]]:
    for lead_id in rig.leads:
        yield dataset.leads[lead_id], "on_board"
    for lead_id in rig.leads_at_depot:
        if lead_id not in rig.leads:
            yield dataset.leads[lead_id], "at_depot"


def _elsewhere(dataset: Dataset, lead: Lead, there: Outlet, own_plug: str | None) -> tuple[str, str] | None:
    if lead.plug != there.id:
        plug = dataset.outlets[lead.plug]
        return (
            "lead_other_plug",
            f"{lead.name} does not go into {there.configuration}; its plug is {plug.configuration}. Do not force it.",
        )
    if own_plug is not None and lead.receptacle != own_plug:
        receptacle, plug = dataset.outlets[lead.receptacle], dataset.outlets[own_plug]
        return (
            "lead_other_receptacle",
            f"{lead.name} ends in {receptacle.configuration}; this unit's plug is {plug.configuration}.",
        )
    return None


def _loop_ohm(dataset: Dataset, lead: Lead) -> float:
    """Return the loop resistance of a lead's cord at 75 C, out and back: which of two loses less."""
    ohm_per_km = dataset.tables[RESISTANCE_TABLE].value(lead.size_awg, "copper_stranded_ohm_per_km")
    return math.inf if ohm_per_km is None else LOADED_CONDUCTORS * ohm_per_km * lead.length_m / 1000


def _standing_at(rig: Rig, there: Outlet, device_a: float, lead: Lead | None) -> Rig:
    """Return the rig at an outlet; itself where it is the recorded one, on the recorded breaker, without a lead."""
    rest = _own_supply(rig)
    assert rest is not None
    site = rig.supply[: len(rig.supply) - len(rest)]
    breaker, receptacle = site[0], site[-1]
    assert isinstance(breaker, Breaker)  # `Rig` asks for it
    assert isinstance(receptacle, Receptacle)
    if lead is None and len(site) == 2 and receptacle.outlet == there.id and breaker.rating_a == device_a:
        return rig
    assert isinstance(rig.source, SiteOutletSource)
    # What was found out of one outlet is not known of another: grade, ground-fault device, what else its circuit feeds.
    ahead: list[SupplyPart] = [
        Breaker(part="breaker", id=breaker.id, name="Site breaker", rating_a=device_a, built_in=True),
        Receptacle(part="receptacle", id=receptacle.id, name="Site receptacle", outlet=there.id, built_in=True),
    ]
    if lead is not None:
        ahead += _lead_parts(lead, {part.id for part in (*ahead, *rest)})
    source = {name: getattr(rig.source, name) for name in type(rig.source).model_fields}
    # From the plain fields: a copy would carry what was cached of the rig where it stood. Validated as a record is.
    fields = {name: getattr(rig, name) for name in Rig.model_fields}
    return Rig.model_validate(
        {
            **fields,
            "source": SiteOutletSource.model_construct(**{**source, "individual_circuit": None}),
            "supply": (*ahead, *rest),
            "commissioning": (),  # a run at one outlet proves nothing of another
        }
    )


def _lead_parts(lead: Lead, taken: set[str]) -> list[SupplyPart]:
    """Return a lead as parts of a supply, in the order of the current, under ids that the rig does not use."""

    def free(name: str) -> str:
        while name in taken:
            name += "-x"
        taken.add(name)
        return name

    parts: list[SupplyPart] = [Plug(part="plug", id=free("lead-plug"), name="Lead plug", outlet=lead.plug)]
    if lead.device_a is not None:
        own = Breaker(part="breaker", id=free("lead-device"), name="Lead breaker", rating_a=lead.device_a)
        parts.append(own)
    cord = {name: getattr(_cord(lead), name) for name in Conductor.model_fields}
    parts.append(Conductor.model_validate({**cord, "id": free("lead-cord")}))
    parts.append(
        Receptacle(part="receptacle", id=free("lead-receptacle"), name="Lead receptacle", outlet=lead.receptacle)
    )
    return parts


# ------------------------------------------------------------------------------------------------------------- matrix


def lead_matrix(dataset: Dataset, *, ambient_c: float = AMPACITY_BASE_C) -> tuple[LeadPair, ...]:
    """Return every lead against every outlet, each behind the largest breaker that the outlet may stand on."""
    return tuple(
        _pair(dataset, lead, outlet, ambient_c)
        for lead in dataset.leads.values()
        for outlet in dataset.outlets.values()
    )


def _pair(dataset: Dataset, lead: Lead, there: Outlet, ambient_c: float) -> LeadPair:
    goes_in = lead.plug == there.id
    reason = lead_never(dataset, lead) or _elsewhere(dataset, lead, there, None)
    fitting_a = 0.0
    if reason is None:
        largest_a = standard_device_at_most_a(dataset, there.rating_a)
        reason = lead_refusal(dataset, lead, device_a=largest_a, ambient_c=ambient_c)
        fitting_a = largest_a if reason is None else largest_device_ahead_a(dataset, lead, ambient_c=ambient_c)
    if fitting_a <= 0:
        assert reason is not None
        code, text = reason
        return LeadPair(lead, there, goes_in, "no", 0.0, 0.0, code, text, LEAD_REFUSAL_SOURCES[code])
    limit_a, basis = _limit(lead, fitting_a)
    if reason is not None:
        code, text = reason
        return LeadPair(lead, there, goes_in, "behind", fitting_a, limit_a, code, text, LEAD_REFUSAL_SOURCES[code])
    return LeadPair(
        lead,
        there,
        goes_in,
        "yes",
        fitting_a,
        limit_a,
        None,
        f"{amps(limit_a)} for hours: {basis}.",
        LEAD_REFUSAL_SOURCES["lead_not_protected"],
    )
