"""A rig on its own as text and JSON: fit or not, its ladder, findings, and what would raise it."""

from collections.abc import Iterator
from dataclasses import dataclass, fields

from planner.chain import Link, Refusal, SettingChoice
from planner.figures import amps, feet, gallons, hours_minutes, kilowatts, rounded_down, temperature, volts
from planner.gains import Gains, TypicalCall
from planner.protection import Finding
from planner.records import Conductor, GeneratorSource, SiteOutletSource
from planner.report import chain_lines, plain, row, wrapped
from planner.tables import Fitness, RigView

__all__ = [
    "RIG_SCHEMA_VERSION",
    "CableReport",
    "GainReport",
    "RigReport",
    "SettingReport",
    "rig_document",
    "to_json",
    "to_text",
]

RIG_SCHEMA_VERSION = "1.1"
FITNESS_WORDS = {
    "fit": "FIT",
    "set_first": "FIT, SET IT FIRST",
    "change_first": "FIT WITH CHANGES",
    "by_class": "ONLY FOR SOME CLASSES",
    "not_fit": "NOT FIT",
}
LEVELS = ("stop", "change", "note")


@dataclass(frozen=True, slots=True, eq=False)
class SettingReport:
    """The highest mark that every vehicle may be served at, and what it gives."""

    mark: str
    output_a: float


@dataclass(frozen=True, slots=True, eq=False)
class CableReport:
    """One cable of a rig that has several: its highest mark, and what a vehicle is told by it; or why not."""

    connector: str
    rating_a: float
    code_a: int | None
    mark: str | None
    output_a: float | None
    told_a: float | None
    refused: str | None


@dataclass(frozen=True, slots=True, eq=False)
class GainReport:
    """One change and what it gives; see `gains.Gain`."""

    code: str
    part: str
    change: str
    confirm: str
    fit: bool
    makes_fit: bool
    setting_a: float | None
    gain_a: float
    miles_added_per_hour: int | None
    gain_miles_per_hour: int
    minutes_on_site: int | None
    minutes_saved: int | None
    next_held_by: str
    gains_nothing: bool


@dataclass(frozen=True, slots=True, eq=False)
class RigReport:
    """The published form of a rig on a site."""

    schema_version: str
    dataset_version: str
    rig: str
    rig_name: str
    fitness: Fitness
    ambient_c: float
    altitude_m: float
    fuel: str | None
    setting: SettingReport | None
    told_a: float | None  # what the first cable lets a vehicle draw at that mark
    cables: tuple[CableReport, ...]  # empty where there is one
    refusal: Refusal | None
    held_back_by: str
    power_highest_kw: float | None
    voltage_evse_v: float | None
    voltage_vehicle_v: float | None
    drop_supply_percent: float | None
    drop_percent: float | None
    load_percent: float | None
    derate: float
    derate_iso_3046: float | None
    findings: tuple[Finding, ...]
    chain: tuple[Link, ...]
    typical_call: TypicalCall | None
    gains: tuple[GainReport, ...]
    left_alone: tuple[str, ...]


def rig_document(view: RigView, found: Gains, dataset_version: str) -> RigReport:
    """Return the published form of a rig, unrounded."""
    setting = view.setting
    return RigReport(
        schema_version=RIG_SCHEMA_VERSION,
        dataset_version=dataset_version,
        rig=view.rig.id,
        rig_name=view.rig.name,
        fitness=view.fitness,
        ambient_c=view.ambient_c,
        altitude_m=view.altitude_m,
        fuel=view.fuel,
        setting=None if setting is None else SettingReport(setting.mark, setting.output_a),
        told_a=view.told_a,
        cables=tuple(
            CableReport(
                item.connector.id,
                item.cable.rating_a,
                item.cable.code_a,
                item.mark,
                item.output_a,
                item.told_a,
                item.refused,
            )
            for item in view.cables
        ),
        refusal=view.refusal,
        held_back_by=found.held_back_by,
        power_highest_kw=view.power_highest_kw,
        voltage_evse_v=view.voltage_evse_v,
        voltage_vehicle_v=view.voltage_vehicle_v,
        drop_supply_percent=view.drop_supply_percent,
        drop_percent=view.drop_percent,
        load_percent=view.load_percent,
        derate=view.state.derate,
        derate_iso_3046=view.share_iso_3046,
        findings=view.findings,
        chain=view.chain,
        typical_call=found.call,
        gains=tuple(
            GainReport(**{item.name: getattr(gain, item.name) for item in fields(GainReport)}) for gain in found.items
        ),
        left_alone=found.left_alone,
    )


def to_json(view: RigView, found: Gains, dataset_version: str) -> str:
    """Return the rig as one JSON document."""
    import json  # wanted by `--json` alone

    return json.dumps(plain(rig_document(view, found, dataset_version)), indent=2, allow_nan=False) + "\n"


def to_text(view: RigView, found: Gains) -> str:
    """Return the rig as text for a terminal: fit or not first, then why, then what would raise it."""
    blocks = [
        list(_head(view)),
        list(_figures(view)),
        [
            f"Amps each part allows for hours (source: at a power factor of {view.power_factor:g})",
            *chain_lines(view.chain),
        ],
        list(_findings(view)),
        list(_gains(found)),
        list(_foot()),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _head(view: RigView) -> Iterator[str]:
    site = f"{temperature(view.ambient_c)}, {feet(view.altitude_m)}" + (f", on {view.fuel}" if view.fuel else "")
    words = FITNESS_WORDS[view.fitness]
    if view.small_draw_a is not None:
        words = f"ONLY FOR CLASSES THAT DRAW UP TO {amps(view.small_draw_a)}"
    yield f"{words}: {view.rig.name}"
    yield from wrapped(f"{site}; {view.rig.summary}", "  ", "")
    for finding in view.findings:
        if finding.level == "stop":
            yield from wrapped(finding.text, "  ", "- ")
    if view.refusal is not None:
        yield from wrapped(f"{view.refusal.text} {view.refusal.remedy}", "  ", "- ")


def _figures(view: RigView) -> Iterator[str]:
    setting = view.setting
    if setting is not None and view.power_highest_kw is not None:
        where = "leave it at" if not setting.must_be_moved else "not above"
        yield from row(
            "Setting",
            f"{where} mark {_mark_words(view, setting)}, {kilowatts(view.power_highest_kw)} at the EVSE; "
            f"held back by {setting.set_by_link.name}",
        )
    if view.voltage_evse_v is not None and view.voltage_vehicle_v is not None:
        yield from row(
            "Volts",
            f"{volts(view.voltage_evse_v)} at the EVSE, {volts(view.voltage_vehicle_v)} at the vehicle; "
            f"{_run_words(view)} (the code advises 3 and 5 at most)",
        )
    if view.load_percent is not None:
        yield from row("Load", f"{view.load_percent:.0f} % of {_whole_words(view)}")
    if view.share_iso_3046 is not None:
        yield from row(
            "Derate",
            f"{view.state.derate:.2f} by the common rule, which binds; {view.share_iso_3046:.2f} by ISO 3046-1",
        )
    source = view.rig.source
    if view.fitness == "not_fit":
        return  # fuel and hours of a rig that must not be used help nobody
    if isinstance(source, GeneratorSource) and view.fuel is not None:
        burn = view.burns[view.fuel][-1]
        minutes = view.minutes_on_board[view.fuel]
        yield from row(
            "Fuel",
            f"{gallons(burn.burn_l_per_h)} of {view.fuel} an hour at its full allowed load, {hours_minutes(minutes)} "
            "in tank and cans; a call ends with an hour of it, or the way home",
        )
    if view.energy_to_give_kwh is not None:
        yield from row(
            "Store",
            f"{rounded_down(view.energy_to_give_kwh):g} kWh at the outlet from full, in this air, above its floor"
            + (" and the way home" if getattr(source, "way_home_kwh", 0) else ""),
        )


def _run_words(view: RigView) -> str:
    """Return what the run and the cable take of the volts; what stands before the record's first part is not known."""
    if any(isinstance(part, Conductor) for part in view.rig.supply):
        return f"the supply run takes {view.drop_supply_percent:.1f} %, with the cable {view.drop_percent:.1f} %"
    before = (
        "the run inside the building" if isinstance(view.rig.source, SiteOutletSource) else "the source's own leads"
    )
    return f"the cable takes {view.drop_percent:.1f} %; {before} not counted: read the volts under load"


def _mark_words(view: RigView, setting: SettingChoice) -> str:
    """Return a mark with what it gives: a mark in breaker amps is a number of another kind."""
    breaker = any(x.marked_as == "breaker_amps" for x in view.rig.evse.settings if x.mark == setting.mark)
    kind = ", its marks are breaker amps" if breaker else ""
    return f"{setting.mark} ({amps(setting.output_a)} to the vehicle{kind})"


def _whole_words(view: RigView) -> str:
    if isinstance(view.rig.source, GeneratorSource):
        return "what this site leaves of its running watts"
    return "what its inverter gives for hours in this air"


def _findings(view: RigView) -> Iterator[str]:
    names = {part.id: part.name for part in view.rig.supply} | {"source": "Source", "evse": "EVSE"}
    if not view.findings:
        yield "No finding in what is judged."
        return
    yield "Findings, as good practice"
    for level in LEVELS:
        for finding in view.findings:
            if finding.level == level:
                yield from wrapped(_finding_words(finding, names), " " * 9, f"{level:>7}  ")


def _finding_words(finding: Finding, names: dict[str, str]) -> str:
    clause = f"{finding.edition}, {finding.clause}" if finding.clause != finding.edition else finding.clause
    name = names.get(finding.part, finding.part)
    lead = "" if finding.text.startswith(name) else f"{name}: "
    return f"{lead}{finding.text} {finding.remedy} ({clause})"


def _gains(found: Gains) -> Iterator[str]:
    if found.call is None:
        yield "No port of any class is reached by its cable and adapters: no change to its amps would help."
        return
    call = found.call
    asked = f"{call.vehicle_name} from {call.start_percent} % for {call.miles} mi"
    yield from wrapped(f"What would raise it: {asked}, now {_now_words(found)}")
    useful = [item for item in found.items if item.fit and not item.gains_nothing]
    if useful:
        yield "   amps  mi/h  min saved"
    for item in useful:
        saved = "-" if item.minutes_saved is None else f"{item.minutes_saved:+d}"
        text = item.change + ("; makes it fit" if item.makes_fit else "")
        text += f"; what holds back then: {item.next_held_by}"
        if item.confirm:
            text += f" ({item.confirm.rstrip('.')})"
        yield from wrapped(text, " " * 21, f"{item.gain_a:>+7g}{item.gain_miles_per_hour:>+6d}{saved:>6}  ")
    for item in found.items:
        if item.fit and item.setting_a is None:
            yield from row(
                "Not enough", f"{item.change}: no stop then, but no setting serves this call: {item.next_held_by}"
            )
        elif item.fit and item.gains_nothing:
            yield from row("Nothing", f"{item.change} gains nothing: {item.next_held_by} holds back then")
    unfit: dict[str, list[str]] = {}
    for item in found.items:
        if not item.fit:
            unfit.setdefault(item.next_held_by, []).append(item.change)
    for reason, changes in unfit.items():
        yield from row("Not enough", f"{'; '.join(changes)}. Each alone leaves it not fit: {reason}")
    for sentence in found.left_alone:
        yield from row("Left alone", sentence)


def _now_words(found: Gains) -> str:
    now = found.now
    if now is None or now.setting is None:
        return "not served"
    minutes = "" if now.minutes_on_site is None else f", {now.minutes_on_site.typical} min on site"
    return f"{amps(now.setting.output_a)}, {now.miles_added_per_hour} miles added per hour{minutes}"


def _foot() -> Iterator[str]:
    yield from wrapped(
        "It plans; it does not certify. The authority, the listing instructions and a licensed electrician decide; "
        "wiring is done and tested by a qualified person.",
        "  ",
        "",
    )
