"""The pages of rigs: the list, and one page a rig with its ladder, findings, marks and what it serves."""

from collections.abc import Iterator, Mapping, Sequence

from planner.chain import CHANGEABLE_ON_SITE, Link
from planner.figures import amps, feet, gallons, kilowatts, rounded_down, temperature, volts
from planner.mating import never
from planner.publish.drawings import Rung, ladder, rung_basis
from planner.publish.markup import (
    FITNESS_WORDS,
    Cell,
    Page,
    Row,
    bullets,
    chosen,
    e,
    figure_cells,
    fit_mark,
    level_mark,
    link,
    narrow,
    notice,
    number,
    origins_section,
    section,
    setting_cell,
    table,
    verdict_mark,
)
from planner.records import Dataset, GeneratorSource, Rig, SiteOutletSource, StoredSource
from planner.tables import ALTITUDE_STEPS_FT, USUAL_MILES, USUAL_START_PERCENT, HeightBand, Pair, RigView
from planner.units import FT_PER_M

__all__ = ["rig_pages"]

HEIGHT_STEP_FT = ALTITUDE_STEPS_FT[1]
# The groups of the ladder, in the order of the current.
OUR_CABLE = frozenset({"evse_setting", "evse_output", "cable", "connector", "adapter"})
THEIR_VEHICLE = frozenset({"inlet", "onboard_charger"})
SET_BY_WORDS = {
    "fixed": "fixed, no adjustment",
    "inside_tools": "set inside with tools, at the depot",
    "outside_control": "worked from outside, no tools",
    "app_local": "set by an app at the unit, no signal needed",
    "app_needs_signal": "set by an app that needs signal",
}
NEUTRAL_WORDS = {
    "bonded_at_source": "bonded to the frame at the source, once",
    "floating": "floating",
    "bonded_twice": "bonded twice",
    "unknown": "not found out",
}


def rig_pages(dataset: Dataset, views: Mapping[str, RigView], pairs: Mapping[str, Sequence[Pair]]) -> Iterator[Page]:
    """Yield the list and one page a rig. `views` and `pairs` (every class's) are by rig."""
    yield _index(dataset, views, pairs)
    for rig_id, view in views.items():
        yield _rig_page(dataset, view, pairs[rig_id])


# ------------------------------------------------------------------------------------------------------------ the list


def _index(dataset: Dataset, views: Mapping[str, RigView], pairs: Mapping[str, Sequence[Pair]]) -> Page:
    heads: list[str | Cell] = [
        "Rig",
        Cell("Fit", wide=True),
        Cell("Cable ends in", wide=True),
        Cell("Not above<br>mark", figure=True),
        Cell("Amps to<br>the vehicle", figure=True, wide=True),
        Cell("Classes<br>it serves", figure=True),
    ]
    rows = []
    for view in views.values():
        rig = view.rig
        served = sum(1 for pair in pairs[rig.id] if pair.plan.verdict != "cannot_serve")
        connector = dataset.connectors[rig.evse.cable.connector].name.removesuffix(" connector")
        setting = view.setting
        fit = fit_mark(view.fitness)
        rows.append(
            [
                Cell(link(f"{rig.id}.html", rig.name) + narrow(fit)),
                Cell(fit, wide=True),
                Cell(e(connector), wide=True),
                Cell(f'<b class="f">{e(setting.mark)}</b>' if setting is not None else "none", figure=True),
                Cell(
                    f'<b class="f">{number(setting.output_a)}</b>' if setting is not None else "none",
                    figure=True,
                    wide=True,
                ),
                Cell(f'<b class="f">{served}</b> of {len(pairs[rig.id])}', figure=True),
            ]
        )
    body = (
        "<h1 data-search-exclude>Rigs</h1>"
        '<p class="lead">A rig is one mobile unit: source, overcurrent devices, wiring, EVSE, cable, adapters on board. '
        "Not fit is judged before any load, and no setting mends it.</p>"
        + table("Rigs", heads, rows)
        + '<p class="n">Each at its usual site and on its usual fuel, before a vehicle is plugged in.</p>'
    )
    return Page(
        "rigs/index.md",
        "Rigs",
        "All rigs: fit or not, the highest mark, the classes they serve.",
        body,
        tags=("units", "trucks", "generators"),
    )


# ----------------------------------------------------------------------------------------------------------- one rig


def _rig_page(dataset: Dataset, view: RigView, pairs: Sequence[Pair]) -> Page:
    rig, setting = view.rig, view.setting
    parts = [
        '<p class="crumb" data-search-exclude><a href="index.html">All rigs</a></p>',
        f"<h1 data-search-exclude>{e(rig.name)}</h1>",
        f'<p class="lead">{e(rig.summary)}</p>',
    ]
    if setting is not None:
        parts.append(_figures(view))
    elif view.fitness == "not_fit":
        first = next(finding for finding in view.findings if finding.level == "stop")
        parts.append(
            notice("cannot_serve", "Not fit at any setting", f"<p>{e(first.text)}</p><p><b>{e(first.remedy)}</b></p>")
        )
    elif view.refusal is not None:
        text = f"<p>{e(view.refusal.text)} {e(view.refusal.remedy)}</p><p>What that leaves stands below, class by class.</p>"
        parts.append(notice("ask_first", "No setting suits every vehicle", text))
    left = section("What each part allows", "ladder", _ladder(view)) + _heights(view)
    right = section("How it is set", "setting", _settings(view)) + section(
        "On board", "board", _on_board(dataset, view)
    )
    parts.append(f'<div class="sp"><div>{left}</div><div>{right}</div></div>')
    parts.append(section("Findings", "findings", _findings(view)))
    parts.append(section("What it serves", "serves", _serves(view, pairs)))
    parts.append(section("The ladder in numbers", "numbers", _ladder_table(view)))
    parts.append(origins_section(rig, dataset.sources, "../", ""))
    verdict = FITNESS_WORDS[view.fitness][1].lower()
    return Page(
        f"rigs/{rig.id}.md",
        rig.name,
        f"{rig.name}: {verdict}; what each part allows, what holds it back, what it serves.",
        "".join(parts),
        tags=_tags(dataset, rig),
    )


def _tags(dataset: Dataset, rig: Rig) -> list[str]:
    """Return the words that a search should find the rig by."""
    source = rig.source
    kind = ["outlet", "site"]
    if isinstance(source, GeneratorSource):
        kind = ["generator", "engine", *source.fuels]
    elif isinstance(source, StoredSource):
        kind = ["battery", "inverter"]
    cable = dataset.connectors[rig.evse.cable.connector].name
    return [*rig.also_called, *kind, cable, *(dataset.adapters[key].name for key in rig.adapters), "rig", "unit"]


def _figures(view: RigView) -> str:
    setting = view.setting
    assert setting is not None
    cells = [
        ("Not above mark, usual site", setting.mark, f"= {amps(setting.output_a)}"),
        ("At the EVSE, typically", kilowatts(view.power_highest_kw or 0).removesuffix(" kW"), "kW"),
    ]
    cells.append(("Held back by", setting.set_by_link.name, ""))
    if view.energy_to_give_kwh is not None:
        cells.append(("At the outlet, at most", f"{rounded_down(view.energy_to_give_kwh):g}", "kWh, less in the cold"))
    return figure_cells(cells)


def _group(part: Link) -> str:
    if part.link in OUR_CABLE:
        return "Our EVSE and cable"
    return "Their vehicle" if part.link in THEIR_VEHICLE else "Our source and wiring"


def _ladder(view: RigView) -> str:
    groups: dict[str, list[Rung]] = {}
    for part in view.chain:
        basis = rung_basis(part.rating_a, part.limit_a)
        if part.link == "evse_setting":
            basis = "highest mark" if view.rig.evse.set_by in CHANGEABLE_ON_SITE else "as it stands"
        rung = Rung(part.name, basis, part.limit_a, part.protected, part.sets_current)
        groups.setdefault(_group(part), []).append(rung)
    setting = view.setting
    rail_a = setting.output_a if setting is not None else None
    label = f"set {amps(setting.output_a)}" if setting is not None else ""
    drawing = ladder(list(groups.items()), rail_a=rail_a, rail_label=label, name=view.rig.name)
    site = f"{temperature(view.ambient_c)}, {feet(view.altitude_m)}"
    if view.fuel is not None:
        site += f", on {view.fuel}"
    note = (
        f'<p class="n">Amps allowed for hours, at the usual site: {e(site)}; the setting is the highest mark that is not above '
        "the shortest rung. For a vehicle of power factor 1: a call may show up to half an amp more. A vehicle draws what "
        "its own charger takes, never more than the setting.</p>"
    )
    if setting is None and any(not part.protected for part in view.chain):
        note = (
            '<p class="n">A device ahead must protect a part before any current is counted: nothing may be drawn '
            "through this chain, whatever its setting.</p>"
        )
    return drawing + note


def _heights(view: RigView) -> str:
    """Return the highest mark by height and fuel: a crew that climbs carries the table along."""
    if not view.by_height:
        return ""
    rows = []
    for fuel, bands in view.by_height.items():
        for band in bands:
            high = f"to {band.to_ft:,} ft" if band.from_ft == 0 else f"above {band.from_ft - HEIGHT_STEP_FT:,} ft"
            if band.from_ft > 0 and band is not bands[-1]:
                high += f", to {band.to_ft:,} ft"
            if band is bands[-1] and band.from_ft == 0:
                high = f"to {band.to_ft:,} ft and no further reckoned"
            first = Cell(e(f"{fuel.capitalize()}, {high}"))
            if band.mark is None or band.output_a is None:
                rows.append([first, Cell(e(_without_mark(band)), span=2)])
                continue
            mark = Cell(f'<b class="f">{e(band.mark)}</b>', figure=True)
            rows.append([first, mark, Cell(e(amps(band.output_a)), figure=True)])
    heads: list[str | Cell] = ["Fuel, height", Cell("Not above<br>mark", figure=True), Cell("Gives", figure=True)]
    note = f'<p class="n">In steps of {HEIGHT_STEP_FT:,} ft, taken up to the next; air {e(temperature(view.ambient_c))}.</p>'
    return section("By height and fuel", "heights", table("The highest mark by height and fuel", heads, rows) + note)


def _without_mark(band: HeightBand) -> str:
    """Return what a band without a mark for every vehicle still allows."""
    return "small chargers alone: ask for a plan" if band.refused == "setting_too_high" else "none"


def _settings(view: RigView) -> str:
    evse, setting = view.rig.evse, view.setting
    marked_as = {item.marked_as for item in evse.settings}
    words = "breaker amps" if marked_as == {"breaker_amps"} else "amps to the vehicle"
    if len(marked_as) > 1:
        words = "partly breaker amps, partly amps to the vehicle"
    rows = []
    for item in sorted(evse.settings, key=lambda item: item.output_a):
        on = setting is not None and item.mark == setting.mark
        allowed = setting is not None and item.output_a <= setting.output_a
        state = "highest allowed" if on else ("allowed" if allowed else "too high here")
        if setting is None:
            state = "not at any setting"
        rows.append(
            Row(
                on=on,
                cells=[
                    Cell(chosen(e(item.mark)) if on else f'<b class="f">{e(item.mark)}</b>'),
                    Cell(number(item.output_a), figure=True),
                    Cell(e(state)),
                ],
            )
        )
    keeps = "keeps it after a loss of power" if evse.survives_power_cycle else "<b>forgets it after a loss of power</b>"
    return (
        f"<p>Its marks are <b>{words}</b>; {e(SET_BY_WORDS[evse.set_by])}; it stands at mark {e(evse.setting_now)} and "
        f"{keeps}.</p>"
        + table("Marks of the unit", ["Mark", Cell("Amps to the vehicle", figure=True), "At the usual site"], rows)
    )


def _on_board(dataset: Dataset, view: RigView) -> str:
    rig = view.rig
    cable, source = rig.evse.cable, rig.source
    output = ""
    if not isinstance(source, SiteOutletSource):
        words = "winding" if isinstance(source, GeneratorSource) else "inverter output"
        output = f"{words} {e(amps(source.nameplate_current_a))}; "
    items = [
        f"Source: {e(volts(rig.nominal_v))} nominal, typically {e(volts(source.voltage_v.typical))} under load; {output}"
        f"neutral {e(NEUTRAL_WORDS[source.neutral])}.",
        f"Cable: {e(dataset.connectors[cable.connector].name)}, {e(amps(cable.rating_a))}, {cable.length_m * FT_PER_M:.0f} ft "
        f"({number(cable.length_m)} m).",
    ]
    if isinstance(source, GeneratorSource):
        for fuel, record in source.fuels.items():
            minutes = view.minutes_on_board[fuel]
            hours = (
                f", {minutes // 60} h {minutes % 60:02d} min at its full allowed load, refuel stops not counted"
                if minutes
                else ""
            )
            carried_l = record.tank_l + record.spare_l
            items.append(
                f"{e(fuel.capitalize())}: {e(kilowatts(record.running_power_w / 1000))} running; {e(gallons(carried_l))} "
                f"in tank and cans{e(hours)}."
            )
    elif isinstance(source, StoredSource):
        items.append(
            f"Battery: {number(source.energy_usable_kwh)} kWh usable, keeps {100 * source.soc_floor:.0f} %; "
            f"{e(kilowatts(source.power_continuous_w / 1000))} continuous."
        )
    for adapter_id in rig.adapters:
        adapter = dataset.adapters[adapter_id]
        against = never(adapter)
        name = link("../plugs/index.html#adapters", adapter.name)
        items.append(f"Adapter: {name}." if against is None else f"Adapter: {name}. <b>NEVER: {e(against[1])}</b>")
    if not rig.adapters:
        items.append("No adapter.")
    if rig.notes:
        items.append(e(rig.notes))
    return bullets(items)


def _findings(view: RigView) -> str:
    if not view.findings:
        return (
            "<p><b>No finding in what is judged:</b> every part has a device ahead that protects it, the neutral is bonded "
            "once at the source, the EVSE is listed.</p><p><b>Not judged:</b> ground-fault devices, grounding conductors, "
            "terminations, the state of cords and plugs. Test and look before each use.</p>"
        )
    names = {part.id: part.name for part in view.rig.supply}
    rows = [
        [
            Cell(f"{e(names.get(finding.part, finding.part))}<br>{level_mark(finding.level)}"),
            Cell(f"{e(finding.text)}<br><b>{e(finding.remedy)}</b>"),
            Cell(f'<span class="n">{e(finding.clause)}, {e(finding.edition)}</span>', wide=True),
        ]
        for finding in view.findings
    ]
    return table(
        "Findings and their remedies", ["Part, level", "Finding, remedy", Cell("Measured against", wide=True)], rows
    )


def _serves(view: RigView, pairs: Sequence[Pair]) -> str:
    miles = USUAL_MILES[1]
    heads: list[str | Cell] = [
        "Class",
        Cell("Verdict", wide=True),
        Cell("Adapter", wide=True),
        Cell("Setting,<br>read back", figure=True),
        Cell("Miles added<br>per hour", figure=True),
        Cell(f"Min for<br>{miles} mi", figure=True),
        Cell("Held back by", wide=True),
    ]
    if view.fitness == "not_fit":
        return (
            f"<p>{verdict_mark('cannot_serve', 'Nothing')} None of the {len(pairs)} classes is served before the findings "
            "are mended.</p>"
        )
    rows = []
    for pair in pairs:
        plan = pair.plan
        mark = verdict_mark(plan.verdict)
        name = Cell(link(f"../vehicles/{pair.vehicle}.html", plan.vehicle_name) + narrow(mark))
        if plan.setting is None or plan.path is None:
            text = plan.reasons[0].text if plan.reasons else ""
            rows.append([name, Cell(mark, wide=True), Cell(f'<span class="n">{e(text)}</span>', span=5)])
            continue
        need = next((need for need in pair.needs if need.miles == miles), None)
        minutes = need.minutes_on_site if need is not None else None
        held = pair.held_back_by
        rows.append(
            [
                name,
                Cell(mark, wide=True),
                Cell(e(plan.path.adapter_name or "none"), wide=True),
                Cell(setting_cell(plan.setting), figure=True),
                Cell(f'<b class="f">{plan.miles_added_per_hour}</b>', figure=True),
                Cell(f'<b class="f">{minutes}</b>' if minutes is not None else "–", figure=True),
                Cell(e(held.name if held is not None else ""), wide=True),
            ]
        )
    note = (
        f'<p class="n">Minutes on site, typical, from {USUAL_START_PERCENT} % and arriving with {USUAL_START_PERCENT} %; '
        "a dash: see the page of the class.</p>"
    )
    return table("Classes that this rig serves", heads, rows) + note


def _ladder_table(view: RigView) -> str:
    heads: list[str | Cell] = [
        "Part",
        Cell("Allows<br>A", figure=True),
        "Why",
        Cell("Source", wide=True),
    ]
    rows = [
        Row(
            on=part.sets_current,
            cells=[
                Cell(e(part.name)),
                Cell(
                    f'<b class="f{" a" if part.sets_current else ""}">{e(amps(part.limit_a).removesuffix(" A"))}</b>'
                    if part.protected
                    else '<b class="f">none</b>',
                    figure=True,
                ),
                Cell(
                    e(part.basis)
                    + ("; <b>holds back</b>" if part.sets_current else "")
                    + ("" if part.protected else "; <b>not protected</b>")
                ),
                Cell(f'<span class="n">{e(part.source)}</span>', wide=True),
            ],
        )
        for part in view.chain
    ]
    return table("What each part allows, and why", heads, rows)
