"""The commissioning sheet of a rig, to print: what to test before any vehicle, and what to read with one."""

import math
from collections.abc import Iterator, Mapping, Sequence

from planner.chain import DEFAULT_LOADING
from planner.commissioning import (
    SUPPLY_RISE_K,
    Expected,
    Measured,
    RunMarks,
    expected,
    heat_limit,
    heat_marks,
    no_load_frequency_hz,
    no_load_voltage_v,
    run_marks,
)
from planner.figures import amps, feet, kilowatts, rounded_down, temperature
from planner.protection import GROUND_SHARE, Finding
from planner.publish.markup import (
    Cell,
    Page,
    bullets,
    e,
    level_mark,
    mark_words,
    notice,
    number,
    section,
    table,
)
from planner.records import Adapter, Breaker, Dataset, Plug, Receptacle, Rig, Setting, VehicleClass
from planner.roadside import ALWAYS_ABORT, ENGINE_ABORT
from planner.tables import COMMONEST_CLASSES, RigView
from planner.units import FT_PER_M, fahrenheit_from_celsius

__all__ = ["sheet_pages"]

READ_AT_MIN = (5, 15, 30, 60)
LEVEL_ORDER = ("stop", "change", "note")  # what must be mended first
HEADS = ("Test", "Should be", "Found")
NARROW_MIN = frozenset({READ_AT_MIN[0], READ_AT_MIN[-1]})
BOND_OHM = 1.0  # common-practice: a hand meter and its leads read a few tenths on a sound conductor
OPEN_OHM = "no reading, above 1 megohm"  # common-practice: what a hand meter calls open
NEUTRAL_TO_GROUND_V = 2.0  # common-practice: without load the neutral stands at ground
WRITE = '<span aria-hidden="true">______</span>'
WRITE_LONG = '<span aria-hidden="true">____________</span>'
CABLE_CODES_TABLE = "iec-62196-2-cable-codes"
LEGS = {
    "split_phase_240": "line 1 and line 2 to ground, about 120 V each",
    "three_phase_208_line_to_line": "each of the two lines to ground, about 120 V each",
    "one_leg_120": "the line to ground, about 120 V",
    "line_to_neutral_277": "the line to ground, about 277 V",
}
F_PER_KELVIN = 1.8  # exact
WITHOUT_LOAD = frozenset({"voltage_no_load_v", "frequency_no_load_hz"})
# What a proving run is read for: that the source holds the load, and how large the load is.
PROVING = ("frequency_hz", "voltage_source_v", "voltage_evse_v", "current_a", "power_metered_kw")
DIGITS = {"V": 0, "A": 1, "Hz": 1, "kW": 1, "mi/h": 0}


def sheet_pages(dataset: Dataset, views: Mapping[str, RigView]) -> Iterator[Page]:
    """Yield one printable commissioning sheet a rig; `views` is by rig.

    A rig that is not fit gets a sheet that says what to mend first: nothing is commissioned before.
    """
    for rig_id, view in views.items():
        path = f"rigs/{rig_id}-sheet.md"
        if f"{rig_id}-sheet" in views:  # the page of another rig has this name
            continue
        yield Page(
            path,
            f"Commissioning sheet, {view.rig.name}",
            f"{view.rig.name}: what to test before any vehicle, what to read with one, when to stop. To print.",
            _body(dataset, view),
            tags=("commissioning", "test", "acceptance", "sheet", view.rig.name),
            boost=0.5,
        )


def _body(dataset: Dataset, view: RigView) -> str:
    rig = view.rig
    parts = [
        f'<p class="crumb" data-search-exclude><a href="{e(rig.id)}.html">{e(rig.name)}</a></p>',
        f"<h1 data-search-exclude>Commissioning sheet, {e(rig.name)}</h1>",
    ]
    if view.fitness == "not_fit":
        return "".join([*parts, _not_fit(view)])
    parts.append(_who())
    parts.append(section("The rig alone, dead", "dead", _dead_table(dataset, rig)))
    vehicle = _largest(dataset, rig)
    parts.append(
        section("The rig alone, running, nothing plugged in", "running", _running_table(dataset, rig, vehicle))
    )
    parts.append(section("With a vehicle", "vehicle", _with_vehicle(dataset, view, vehicle)))
    parts.append(section("Hottest reading of each part", "heat", _heat_table(dataset, view)))
    stop, done = (
        section("Stop at once", "stop-rules", _stops(rig)),
        section("After the run", "after-run", _after(dataset, rig, vehicle)),
    )
    parts.append(f'<div class="sp"><div>{stop}</div><div>{done}</div></div>')
    parts.append(_signed("Measured by", "Looked at by (licensed electrician)"))
    return "".join(parts)


# --------------------------------------------------------------------------------------------------------------- not fit


def _not_fit(view: RigView) -> str:
    head = notice(
        "cannot_serve",
        "Mend it before anything is run",
        "<p>Do not start it with a vehicle, at any setting. A test run does not mend a part that nothing protects, and "
        "proves nothing about it.</p>",
    )
    body = _findings(view, sorted(view.findings, key=lambda finding: LEVEL_ORDER.index(finding.level)))
    if not any(finding.level == "stop" for finding in view.findings) and view.why_not is not None:
        text, remedy = view.why_not
        body = f"<p>{e(text)}</p><p><b>{e(remedy)}</b></p>" + (body if view.findings else "")
    return head + section("Mend first", "findings", body) + _signed("Mended and looked at by")


def _findings(view: RigView, found: Sequence[Finding]) -> str:
    names = {part.id: part.name for part in view.rig.supply}
    rows = [
        [
            Cell(f"{e(names.get(finding.part, finding.part))}<br>{level_mark(finding.level)}"),
            Cell(
                f"{e(finding.text)}<br><b>{e(finding.remedy)}</b><br>"
                f'<span class="n">{e(finding.clause)}, {e(finding.edition)}</span>'
            ),
            Cell(WRITE if finding.level != "note" else "know"),
        ]
        for finding in found
    ]
    return table(
        "Findings: what to mend before anything is run, what to change, what to know",
        ["Part, level", "Finding, remedy", "Done"],
        rows,
    )


# ------------------------------------------------------------------------------------------------------ the rig alone


def _who() -> str:
    cells = "".join(
        f"<p>{label} {WRITE_LONG}</p>" for label in ("Date", "Meters used", "Air, height, fuel", "Class, mark read")
    )
    return (
        notice(
            "ask_first",
            "Who may do it",
            "<p>A qualified person, who knows the meter and the danger. A live box open, or a hand in one, is a licensed "
            "electrician's work. Meter of category III or better, gloves, one hand. The makers' "
            "instructions come first; local codes and the authority decide.</p>",
        )
        + f'<div class="fg">{cells}</div>'
    )


def _check_rows(rows: Sequence[tuple[str, str]]) -> list[list[Cell]]:
    return [[Cell(e(what)), Cell(e(right)), Cell(WRITE)] for what, right in rows]


def _dead_table(dataset: Dataset, rig: Rig) -> str:
    cables = [variant.evse.cable for variant in rig.by_cable]
    ohm = f"below {BOND_OHM:g} ohm, also while the cord is bent"
    at_outlet = rig.source.kind == "site_outlet"
    off = "Breaker of the outlet off and locked, rig unplugged" if at_outlet else "Source off and locked"
    rows = [(f"{off}, every device open, no vehicle", "dead by the meter, tested before, after")]
    begins = "frame of the source"
    if at_outlet:
        begins = "ground pin of the rig's plug" if _has_plug(rig) else "ground bar of the site's panel"
    for cable in cables:
        connector = dataset.connectors[cable.connector].name.removesuffix(" connector")
        rows.append((f"Grounding conductor: {begins} to ground contact of {connector}", ohm))
        if cable.code_a is not None:
            ends = "both ends" if dataset.connectors[cable.connector].proximity == "cable_code" else "the EVSE's end"
            what = f"Loose cable, {connector}: resistor from proximity to ground, {ends}"
            rows.append((what, f"{_code_ohm(dataset, cable.code_a)} ohm, which tells {cable.code_a} A"))
    if at_outlet:
        rows.append(("Neutral to ground at the service", "bonded there, once; the site's electrician confirms it"))
    else:
        rows.append(("Neutral to frame, at the source: bonded by its instructions", f"below {BOND_OHM:g} ohm"))
        rows.append(("Neutral to ground behind the source, opened there: no second bond", OPEN_OHM))
    rows.append(("Each line to ground, EVSE off", OPEN_OHM))
    for part in rig.supply:
        if isinstance(part, Breaker):
            rows.append((f"{part.name}: rating on its handle", amps(part.rating_a)))
        elif isinstance(part, Receptacle | Plug):
            rows.append(
                (f"{part.name}: configuration, contacts, no browning", dataset.outlets[part.outlet].configuration)
            )
        else:
            length = f"{part.length_m * FT_PER_M:.0f} ft ({number(round(part.length_m, 1))} m)"
            size = f"{part.size_awg} AWG {part.material}, {length}"
            rows.append((f"{part.name}: size on its jacket, length, jacket whole", size))
            ground = f"{part.grounding_awg} AWG" if part.grounding_awg is not None else "not on record: read it"
            rows.append((f"{part.name}: its grounding conductor", ground))
    adapters = [dataset.adapters[key] for key in (*rig.adapters, *rig.adapters_at_depot)]
    rows += _adapter_rows([adapter for adapter in adapters if adapter.carries == "ac"])
    torque = [Cell("Terminals: torque marked, and found by a torque tool"), Cell(f"marked {WRITE}"), Cell(WRITE)]
    return table("Tests with everything dead", HEADS, [*_check_rows(rows), torque])


def _code_ohm(dataset: Dataset, code_a: int) -> str:
    """Return the resistance that tells a loose cable's amps."""
    codes = dataset.tables[CABLE_CODES_TABLE].rows
    return next(key for key, row in codes.items() if row["current_a"] == code_a)


def _has_plug(rig: Rig) -> bool:
    return rig.evse.plug is not None or any(isinstance(part, Plug) for part in rig.supply)


def _adapter_rows(adapters: Sequence[Adapter]) -> Iterator[tuple[str, str]]:
    """Yield what each adapter's label must say; one without a listing or a readable label stays in its box."""
    used = [item for item in adapters if item.listing != "none" and item.rating_current_a is not None]
    others = "" if len(used) == len(adapters) else "; none without listing or label"
    for item in used:
        assert item.rating_current_a is not None
        label = amps(item.rating_current_a)
        if item.rating_voltage_v is not None:
            label += f", {number(item.rating_voltage_v)} V"
        yield f"{item.name}: label, contacts, latch", label + others
    if adapters and not used:
        yield "Adapters on board", "not used: no listing, or no amps on record from the label"


def _running_table(dataset: Dataset, rig: Rig, vehicle: VehicleClass | None) -> str:
    low_v, high_v, _ = no_load_voltage_v(rig)
    low_hz, high_hz, _ = no_load_frequency_hz(rig)
    share, legs = GROUND_SHARE[rig.source.connection], LEGS[rig.source.connection]
    bands = {band.code: band for band in expected(dataset, rig.id, vehicle.id)} if vehicle is not None else {}
    stop_v, stop_hz = (_limits(bands.get(code)) for code in ("voltage_no_load_v", "frequency_no_load_hz"))
    rows = [
        ("Volts between the two conductors to the EVSE", _band(low_v, high_v, "V") + stop_v),
        ("Hertz, warm", _band(low_hz, high_hz, "Hz") + stop_hz),
        (f"Volts from {legs}", _band(share * low_v, share * high_v, "V")),
        ("Volts from neutral to ground, where there is a neutral", f"below {NEUTRAL_TO_GROUND_V:g} V"),
    ]
    fault_devices = [part for part in rig.supply if isinstance(part, Breaker | Receptacle) and part.gfci == "class_a"]
    for part in fault_devices:
        rows.append((f"{part.name}: ground-fault device, test button and a plug-in tester", "trips, resets, holds"))
    where = "the outlet's circuit" if rig.source.kind == "site_outlet" else "the source"
    which = "Other" if fault_devices else "Any"
    rows.append((f"{which} ground-fault device of {where}: button, plug-in tester", "trips, resets, holds; or none"))
    rows.append(("EVSE: self-test when it is switched on, cold", "ready, no fault light"))
    rows.append(("Breaker ahead of the EVSE: off and on by hand", "goes dark, then ready"))
    body = table("Tests with the source running and nothing plugged in", HEADS, _check_rows(rows))
    return f"<p><b>Before starting:</b> {e(_before(rig))}</p>{body}"


def _before(rig: Rig) -> str:
    """Return what must stand before an engine runs or a vehicle is plugged in."""
    engine = (
        "engine outdoors, 20 ft or more from any building, window or occupied vehicle; CO alarm on; nobody sits in "
        "either vehicle. "
        if rig.source.engine
        else ""
    )
    start = "Vehicle" if engine else "vehicle"
    return f"{engine}{start} in Park, brake set, chocks. Every cord and cable fully off its reel."


def _band(low: float, high: float, unit: str, *, inward: bool = False) -> str:
    """Return a band to the digits that a meter shows: outward, but never up to where the crew stops."""
    scale = 10.0 ** DIGITS[unit]
    low = math.floor(low * scale + 1e-9) / scale
    high = (math.floor(high * scale + 1e-9) if inward else math.ceil(high * scale - 1e-9)) / scale
    return f"{number(low)} to {number(high)} {'mi' if unit == 'mi/h' else unit}"


# ------------------------------------------------------------------------------------------------------ with a vehicle


def _largest(dataset: Dataset, rig: Rig) -> VehicleClass | None:
    """Return the common class with the largest charger that this rig may run at its usual site; of equals by id.

    A crew can borrow a common one; where none is served, it is the one with the largest charger of all.
    """
    runs = [vehicle for key, vehicle in sorted(dataset.vehicle_classes.items()) if expected(dataset, rig.id, key)]
    common = [vehicle for vehicle in runs if vehicle.id in COMMONEST_CLASSES]
    return max(common or runs, key=lambda vehicle: vehicle.onboard_charger.power_kw.typical, default=None)


def _with_vehicle(dataset: Dataset, view: RigView, vehicle: VehicleClass | None) -> str:
    rig = view.rig
    if vehicle is None:
        return "<p>At its usual site this rig runs no class: ask for a plan before a vehicle is plugged in.</p>"
    found_marks = run_marks(dataset, rig.id, vehicle.id)
    assert found_marks is not None  # it has bands
    bands = [band for band in expected(dataset, rig.id, vehicle.id) if band.code not in WITHOUT_LOAD]
    site = f"{temperature(view.ambient_c)}, {feet(view.altitude_m)}" + (f", {view.fuel}" if view.fuel else "")
    charger = kilowatts(vehicle.onboard_charger.power_kw.typical)
    marks = "; ".join(mark_words(item.mark, item.output_a) for item in rig.evse.settings)
    return (
        f'<p class="n">Bands for <b>{e(vehicle.name)}</b>, the common class with the largest charger that this rig serves '
        f"({e(charger)}), at its usual site, {e(site)}; pack warm, cabin off, dash below 70&#160;%. Other class or site: "
        f"<code>rangeferry commission {e(rig.id)} --vehicle CLASS</code>. Marks of the unit: {e(marks)}. Data {e(dataset.version)}.</p>"
        f"<p><b>Turn to {e(mark_words(found_marks.planned.mark, found_marks.planned.output_a))}</b>, read it back.</p>"
        + _readings("Readings with a vehicle at four times", bands, ("percent on the dash", "kWh at the meter so far"))
        + _proving(dataset, rig, vehicle, found_marks)
    )


def _readings(caption: str, bands: Sequence[Expected], open_rows: Sequence[str]) -> str:
    rows = [[Cell(e(band.what)), Cell(_band_html(band)), *_to_write()] for band in bands]
    rows += [[Cell(e(what)), Cell(""), *_to_write()] for what in open_rows]
    return table(caption, ["What to read", "Should be", *_minute_heads()], rows)


def _proving(dataset: Dataset, rig: Rig, vehicle: VehicleClass, marks: RunMarks) -> str:
    """Return what proves the loading of an engine, and what to read then; nothing for any other source."""
    if marks.planned_share is None:
        return ""
    stands = f"the {DEFAULT_LOADING:.2f} that stands without a proof"
    most = (
        f"At mark {e(marks.planned.mark)} the engine has at most {_share(marks.planned_share)} of what this site leaves of "
        "its running watts"
    )
    if marks.proving is None:
        return f'<p class="n">{most}; no mark of this unit proves more than {stands}.</p>'
    assert marks.proving_share is not None
    if marks.proving.mark == marks.planned.mark:
        return (
            f'<p class="n">{most}: an hour there may prove it, against {stands}. Less than an hour proves nothing.</p>'
        )
    bands = {
        band.code: band for band in expected(dataset, rig.id, vehicle.id, Measured(setting_mark=marks.proving.mark))
    }
    return (
        f'<p class="n">{most}: an hour there proves no more than {stands}.</p>'
        if marks.planned_share <= DEFAULT_LOADING
        else f'<p class="n">{most}.</p>'
    ) + (
        f"<p><b>Turn to {e(mark_words(marks.proving.mark, marks.proving.output_a))}</b> to prove the engine, an hour or more, "
        f"once all above was right: up to {_share(marks.proving_share)}. Stand by and watch; "
        "end it when volts or hertz fall.</p>"
        + _readings(
            "Readings of a run to prove the engine", [bands[code] for code in PROVING], ("kWh at the meter so far",)
        )
    )


def _share(share: float) -> str:
    """Return a share to two digits, never up: a proof is not promised."""
    return f"{math.floor(100 * share + 1e-9) / 100:.2f}"


def _to_write() -> list[Cell]:
    """Return an empty cell for each time; a phone shows the first and the last."""
    return [Cell(WRITE, wide=minute not in NARROW_MIN) for minute in READ_AT_MIN]


def _minute_heads() -> list[Cell]:
    return [Cell(f"{minute} min", wide=minute not in NARROW_MIN) for minute in READ_AT_MIN]


def _band_html(band: Expected) -> str:
    return f"<b>{e(_band(band.low, band.high, band.unit, inward=band.stop_above is not None))}</b>{e(_limits(band))}"


def _limits(band: Expected | None) -> str:
    """Return where a reading ends the run, in words behind its band."""
    limits: list[str] = []
    if band is None:
        return ""
    if band.stop_below is not None:
        limits.append(f"below {number(math.ceil(band.stop_below))}")
    if band.stop_above is not None:
        limits.append(f"above {number(rounded_down(band.stop_above))}")
    return f"; stop {' or '.join(limits)} {band.unit}" if limits else ""


def _heat_table(dataset: Dataset, view: RigView) -> str:
    """Return the figure that ends the run for each part: the smallest that holds in the air of the site."""
    rows = []
    for mark in heat_marks(dataset, view.rig):
        limit_c, _ = heat_limit(mark, view.ambient_c)
        figure = f"{math.floor(fahrenheit_from_celsius(limit_c))} F ({math.floor(limit_c)} C)"
        rows.append([Cell(e(mark.name)), Cell(f"<b>{e(figure)}</b>"), *_to_write()])
    heads: list[str | Cell] = ["Part", f"Stop above, air {temperature(view.ambient_c)}", *_minute_heads()]
    return table("Temperatures of each part at four times", heads, rows) + (
        '<p class="n">Infrared meter on a dull spot or tape; inside it is hotter. In warmer air the figures stay. In colder '
        f"air, no part more than {SUPPLY_RISE_K:g} K ({SUPPLY_RISE_K * F_PER_KELVIN:g} F) above the air.</p>"
    )


def _stops(rig: Rig) -> str:
    lines = [item.text for item in ALWAYS_ABORT]
    if rig.source.engine:
        lines.append(ENGINE_ABORT.text)
    lines += [
        "A stop figure of this sheet, or a part above its mark.",
        "Volts between a frame, body or shell and ground.",
        "Volts or hertz that wander; an engine that hunts." if rig.source.engine else "Volts or hertz that wander.",
        "Order: end it at the vehicle; connector; source.",
    ]
    return bullets(e(line) for line in lines)


def _after(dataset: Dataset, rig: Rig, vehicle: VehicleClass | None) -> str:
    rows = [
        ("EVSE off and on, warm", "ready, twice"),
        ("Ground-fault devices, warm", "trip, reset, hold"),
        ("Contacts: cold, dead", "none brown or loose"),
        ("Mark as it shall stand", _standing(rig, run_marks(dataset, rig.id, vehicle.id) if vehicle else None)),
    ]
    if not rig.evse.survives_power_cycle:
        rows.append(("Mark after a loss of power", "highest mark: set it again every time"))
    return table("After the run", HEADS, _check_rows(rows))


def _standing(rig: Rig, marks: RunMarks | None) -> str:
    """Return the mark that is left after the run: that of the record, and never above the planned one."""
    left: Setting = rig.evse.standing
    if marks is None:
        return mark_words(left.mark, left.output_a)
    if marks.planned.output_a < left.output_a:
        left = marks.planned
    last = marks.proving or marks.planned
    words = mark_words(left.mark, left.output_a)
    return f"turn back to {words}" if last.mark != left.mark else words


def _signed(*labels: str) -> str:
    return "<p>" + " ".join(f"{e(label)} {WRITE_LONG}" for label in (*labels, "Date")) + "</p>"
