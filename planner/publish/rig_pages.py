"""The pages of rigs: the list, and one page a rig.

A rig's page goes in the order of a builder's questions: is it right, what holds it back, what would raise it, whom does
it serve, what do height and load cost, what is on board, what it was built from, what to be careful with here.
"""

import math
from collections.abc import Iterator, Mapping, Sequence

from planner.chain import CHANGEABLE_ON_SITE, DEFAULT_LOADING, SHORTEST_PROOF_MIN, LinkKind, SettingChoice, source_state
from planner.figures import amps, feet, gallons, kilowatts, rounded_down, temperature, volts
from planner.gains import Gain, Gains, gains
from planner.genset import (
    CARRIAGE_CYLINDER_KG,
    CARRIAGE_DIESEL_PACKAGE_L,
    CARRIAGE_PACKAGE_KG,
    CARRIAGE_PACKAGE_L,
    CARRIAGE_TOTAL_KG,
    ENERGY_LHV_KWH_PER_L,
    engine_efficiency,
    loading_proved,
)
from planner.leads import lead_never
from planner.marks import outlet_marks
from planner.mating import code_told_a, never
from planner.publish.drawings import Rung, burn_chart, ladder, rung_basis, share_chart
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
from planner.records import (
    Adapter,
    AnySource,
    Breaker,
    Cable,
    Commissioning,
    Conductor,
    Dataset,
    Fuel,
    FuelKind,
    GeneratorSource,
    Lead,
    Receptacle,
    Rig,
    Setting,
    SiteOutletSource,
    StoredSource,
    TruckExportSource,
)
from planner.sizing import GOOD_DROP_PERCENT
from planner.tables import (
    ALTITUDE_STEPS_FT,
    COMMONEST_CLASSES,
    USUAL_MILES,
    USUAL_START_PERCENT,
    BurnAtLoad,
    HeightBand,
    Pair,
    RigView,
)
from planner.units import FT_PER_M, KG_PER_LB, LITRES_PER_GALLON

__all__ = ["ladder_group", "rig_pages"]

NOT_ON_PAPER = "more"  # marks the rows that a sheet for the cab has no room for
HEIGHT_STEP_FT = ALTITUDE_STEPS_FT[1]
GOOD_DROP_IN_ALL_PERCENT = 5.0  # nec-2017, 210.19(A)(1) informational note 4: to the farthest outlet, a recommendation
NBSP = "\N{NO-BREAK SPACE}"
LEVELS = ("stop", "change", "note")
NOISE_AT_M = 7.0  # where `noise_dba_7m` is measured
# The groups of the ladder, in the order of the current.
OUR_CABLE = frozenset({"evse_setting", "evse_output", "cable", "cable_code", "connector", "adapter"})
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
INSTRUCTION_WORDS = {
    "allow": "The maker's instructions allow charging vehicles from it.",
    "forbid": "<b>The maker's instructions forbid charging vehicles from it.</b>",
    "silent": "The maker's instructions say nothing of charging vehicles.",
    None: "Nobody has stated what the maker's instructions say of charging vehicles.",
}
ROLES = {"source": "Source", "evse": "EVSE", "gas": "Propane gas"}  # parts of findings that are no part of the supply


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
        connector = " and ".join(
            dict.fromkeys(_connector_word(dataset, variant.evse.cable) for variant in rig.by_cable)
        )
        setting = view.setting
        fit = fit_mark(view.fitness)
        rows.append(
            [
                Cell(link(f"{rig.id}.html", rig.name) + narrow(fit)),
                Cell(fit, wide=True),
                Cell(e(connector), wide=True),
                Cell(_mark_html(setting), figure=True),
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
        + '<p class="n">Each at its usual site and on its usual fuel, before a vehicle is plugged in. For those who build '
        f"one: {link('sizing.html', 'sizes of source, device, wire and cord')}.</p>"
    )
    return Page(
        "rigs/index.md",
        "Rigs",
        "All rigs: fit or not, the highest mark, the classes they serve.",
        body,
        tags=("units", "trucks", "generators"),
    )


def _mark_html(setting: SettingChoice | None) -> str:
    """Return the highest mark; on a narrow page with its amps, since some marks count breaker amps."""
    if setting is None:
        return "none"
    return f'<b class="f">{e(setting.mark)}</b>{narrow(f"= {e(amps(setting.output_a))}")}'


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
    elif view.why_not is not None:
        parts.append(_why_not(view))
    sections = [*_sections(dataset, view, pairs)]
    parts.append(_ways([(anchor, title) for anchor, title, _ in sections if anchor in WAYS]))
    done = {anchor: section(title, anchor, body) for anchor, title, body in sections}
    parts += [_spread(columns, done) for columns in ABOVE]
    # On paper these flow through two columns, whatever stands beside what on the screen.
    parts.append(f'<div class="flow">{"".join(_spread(columns, done) for columns in FLOW)}</div>')
    parts.append(done["numbers"])
    parts.append(origins_section(rig, dataset.sources, "../", ""))
    verdict = FITNESS_WORDS[view.fitness][1].lower()
    return Page(
        f"rigs/{rig.id}.md",
        rig.name,
        f"{rig.name}: {verdict}; what each part allows, what holds it back, what it serves.",
        "".join(parts),
        tags=_tags(dataset, rig),
    )


def _why_not(view: RigView) -> str:
    """Return the block that says why no setting suits every vehicle: none at any setting, none here, or some classes."""
    assert view.why_not is not None
    text, remedy = view.why_not
    if view.fitness == "not_fit":
        stopped = any(finding.level == "stop" for finding in view.findings)
        head = "Not fit at any setting" if stopped else "Not fit here"
        return notice("cannot_serve", head, f"<p>{e(text)}</p><p><b>{e(remedy)}</b></p>")
    if view.fitness == "change_first":
        return notice("serve_with_changes", "Fit after a change", f"<p>{e(text)}</p><p><b>{e(remedy)}</b></p>")
    up_to = f": those that draw up to {e(amps(view.small_draw_a))}" if view.small_draw_a is not None else ""
    left = f"<p>What that leaves stands below, class by class{up_to}.</p>"
    return notice("ask_first", "No setting suits every vehicle", f"<p>{e(text)} {e(remedy)}</p>{left}")


# How the sections stand on a wide page: each row one or two columns, each column its sections; on a phone in this order.
ABOVE = ((("ladder",), ("setting", "heights")), (("findings",),), (("raise",),), (("serves",),))
FLOW = ((("derate",), ("fuel",)), (("store",), ("outlet",)), (("board", "proved"), ("build", "cautions")))
# Which of them the top of the page leads to; the first ones and the last stand where anybody finds them.
WAYS = frozenset({"findings", "raise", "serves", "derate", "fuel", "store", "outlet", "board", "build", "cautions"})


def _sections(dataset: Dataset, view: RigView, pairs: Sequence[Pair]) -> Iterator[tuple[str, str, str]]:
    """Yield the sections of a rig's page as anchor, title and body; what a rig has nothing to say on is left out."""
    rig = view.rig
    weighed = gains(dataset, rig.id)
    yield "ladder", "What each part allows", _ladder(view)
    yield "setting", "How it is set", _settings(view)
    if view.by_height:
        yield "heights", "By height and fuel", _heights(view)
    yield "findings", "Findings", _findings(view)
    yield "raise", "What would raise it", _raise(weighed)
    yield "serves", "What it serves", _serves(view, pairs)
    if view.shares:
        yield "derate", "What height takes", _derate(view)
    if view.burns:
        yield "fuel", "Fuel and hours", _fuel(view, weighed)
    if isinstance(rig.source, StoredSource):
        yield "store", "What the store gives", _store(view, rig.source)
    if isinstance(rig.source, SiteOutletSource):
        yield "outlet", "The outlet it hangs on", _outlet(dataset, view, rig.source)
    yield "board", "On board", _on_board(dataset, view)
    yield "proved", "What has been proved", _proved(dataset, view)
    if rig.build_list:
        yield "build", "What it was built from", _build_list(rig)
    yield "cautions", "Cautions here", bullets(_cautions(view))
    yield "numbers", "The ladder in numbers", _ladder_table(view)


def _spread(columns: Sequence[Sequence[str]], done: Mapping[str, str]) -> str:
    """Return sections side by side; a column that has nothing beside it takes the whole width."""
    filled = [html for column in columns if (html := "".join(done.get(anchor, "") for anchor in column))]
    if len(filled) < 2:
        return "".join(filled)
    return f'<div class="sp">{"".join(f"<div>{html}</div>" for html in filled)}</div>'


def _ways(sections: Sequence[tuple[str, str]]) -> str:
    """Return links to the sections: a crew on a phone need not pass the builder's part."""
    links = " ".join(f'<a href="#{anchor}">{e(title)}</a>' for anchor, title in sections)
    return f'<p class="ways n" data-search-exclude>{links}</p>'


def _tags(dataset: Dataset, rig: Rig) -> list[str]:
    """Return the words that a search should find the rig by."""
    source = rig.source
    kind = ["outlet", "site"]
    if isinstance(source, GeneratorSource):
        kind = ["generator", "engine", *source.fuels]
    elif isinstance(source, StoredSource):
        kind = ["battery", "inverter", *(["truck outlet", "export"] if isinstance(source, TruckExportSource) else [])]
    cables = [dataset.connectors[variant.evse.cable.connector].name for variant in rig.by_cable]
    adapters = [dataset.adapters[key].name for key in (*rig.adapters, *rig.adapters_at_depot)]
    return [*rig.also_called, *kind, *cables, *adapters, "rig", "unit"]


def _connector_word(dataset: Dataset, cable: Cable) -> str:
    return dataset.connectors[cable.connector].name.removesuffix(" connector")


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


def ladder_group(link: LinkKind) -> str:
    """Return under which head of the ladder a kind of link stands."""
    if link in OUR_CABLE:
        return "Our EVSE and cable"
    return "Their vehicle" if link in THEIR_VEHICLE else "Our source and wiring"


def _ladder(view: RigView) -> str:
    groups: dict[str, list[Rung]] = {}
    for part in view.chain:
        basis = rung_basis(part.rating_a, part.limit_a)
        if part.link == "evse_setting":
            basis = "highest mark" if view.rig.evse.set_by in CHANGEABLE_ON_SITE else "as it stands"
        rung = Rung(part.name, basis, part.limit_a, part.protected, part.sets_current)
        groups.setdefault(ladder_group(part.link), []).append(rung)
    setting = view.setting
    rail_a = setting.output_a if setting is not None else None
    label = f"set {amps(setting.output_a)}" if setting is not None else ""
    drawing = ladder(list(groups.items()), rail_a=rail_a, rail_label=label, name=view.rig.name)
    site = f"{temperature(view.ambient_c)}, {feet(view.altitude_m)}"
    if view.fuel is not None:
        site += f", on {view.fuel}"
    note = (
        f'<p class="n">Amps allowed for hours, at the usual site: {e(site)}; the setting is the highest mark that is not above '
        "the shortest rung. The source's amps are those at the highest power factor of any class. A vehicle draws what "
        "its own charger takes, never more than the setting.</p>"
    )
    if setting is None and any(not part.protected for part in view.chain):
        note = (
            '<p class="n">A device ahead must protect a part before any current is counted: nothing may be drawn '
            "through this chain, whatever its setting.</p>"
        )
    return drawing + _volts_left(view) + note


def _volts_left(view: RigView) -> str:
    """Return the volts that are left at the setting, what the runs take, and how hard the source then works."""
    setting, evse_v, vehicle_v = view.setting, view.voltage_evse_v, view.voltage_vehicle_v
    if setting is None or evse_v is None or vehicle_v is None:
        return ""
    supply, in_all = view.drop_supply_percent or 0.0, view.drop_percent or 0.0
    within = supply <= GOOD_DROP_PERCENT and in_all <= GOOD_DROP_IN_ALL_PERCENT
    runs = any(isinstance(part, Conductor) for part in view.rig.supply)
    takes = f"the supply run takes {_percent_up(supply)}, " if runs else "no run in the supply, "
    load = ""
    if view.load_percent is not None:
        # Thin air takes from an engine, the cold from a store.
        of = "derated running watts" if isinstance(view.rig.source, GeneratorSource) else "continuous watts in this air"
        load = f" The source then gives {math.ceil(view.load_percent - 1e-9)} % of its {of}, typically."
    return (
        f"<p><b>At mark {e(setting.mark)}:</b> {e(volts(evse_v))} at the EVSE, {e(volts(vehicle_v))} at the vehicle; "
        f"{takes}all of it {_percent_up(in_all)} of {e(volts(view.rig.nominal_v))}, "
        f"{'within' if within else '<b>more than</b>'} the {GOOD_DROP_PERCENT:g} % and {GOOD_DROP_IN_ALL_PERCENT:g} % "
        f"that the code's informational notes look for.{load}</p>"
    )


def _percent_up(percent: float) -> str:
    """Return a loss in per cent, rounded up to a tenth; the sign stays on its line."""
    return f"{math.ceil(percent * 10 - 1e-9) / 10:g}{NBSP}%"


def _heights(view: RigView) -> str:
    """Return the highest mark by height and fuel: a crew that climbs carries the table along."""
    rows = []
    for fuel, bands in view.by_height.items():
        for band in bands:
            high = f"to {band.to_ft:,} ft" if band.from_ft == 0 else f"above {band.from_ft - HEIGHT_STEP_FT:,} ft"
            if band.from_ft > 0:
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
    return table("The highest mark by height and fuel", heads, rows) + note


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
            state = _state_without_setting(view, item.output_a)
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
        + _by_cable(view)
    )


def _by_cable(view: RigView) -> str:
    """Return the highest mark of each cable where there are several, and what a vehicle is told by it."""
    if not view.cables:
        return ""
    rows = []
    for item in view.cables:
        told = item.refused or ""
        if item.told_a is not None and item.output_a is not None:
            told = "the setting" if item.told_a == item.output_a else f"{amps(item.told_a)}, its code"
        rows.append(
            [
                Cell(e(item.connector.name)),
                Cell(number(item.cable.rating_a), figure=True),
                Cell(f'<b class="f">{e(item.mark or "none")}</b>', figure=True),
                Cell(e(told)),
            ]
        )
    heads: list[str | Cell] = [
        "Cable, one at a time",
        Cell("Rated A", figure=True),
        Cell("Not above<br>mark", figure=True),
        "The vehicle is told",
    ]
    return table("Marks by cable, at the usual site", heads, rows)


def _state_without_setting(view: RigView, output_a: float) -> str:
    """Return how a mark stands where the unit as it is suits no vehicle, or not every one."""
    if view.fitness == "not_fit":
        return "not at any setting"
    if view.depot_mark is not None and output_a <= view.depot_mark.output_a:
        return "allowed, set at the depot"
    return "small draws alone" if view.small_draw_a is not None else "too high here"


def _source_facts(source: AnySource) -> str:
    """Return what is known of the source itself in one line: how it is built, its noise, mass and volts."""
    facts = []
    if isinstance(source, GeneratorSource):
        pair = ""
        if source.sets == 2:
            kit = "joined by its maker's kit" if source.paired_by_makers_kit else "joined without its maker's kit"
            pair = f", two sets {kit}"
        facts.append(f"{'Inverter' if source.build == 'inverter' else 'Conventional'} set{pair}")
        if source.regulation_class is not None:
            facts.append(f"class {source.regulation_class.upper()} of ISO 8528")
        if source.thd_percent is not None:
            facts.append(f"distortion {number(source.thd_percent)} %")
        if source.one_pair_power_w is not None:
            facts.append(f"at most {kilowatts(source.one_pair_power_w / 1000)} on one pair of lines")
    if source.noise_dba_7m is not None:
        facts.append(f"{number(source.noise_dba_7m)} dBA at {NOISE_AT_M * FT_PER_M:.0f} ft ({NOISE_AT_M:g} m)")
    if source.mass_kg is not None:
        facts.append(f"{math.ceil(source.mass_kg / KG_PER_LB - 1e-9):,} lb ({number(source.mass_kg)} kg)")
    return e(", ".join(facts))


def _on_board(dataset: Dataset, view: RigView) -> str:
    rig = view.rig
    source = rig.source
    output = ""
    own, neutral = _source_facts(source), NEUTRAL_WORDS[source.neutral]
    if isinstance(source, SiteOutletSource) and source.neutral == "bonded_at_source":
        neutral = "bonded at the service, once"
    if not isinstance(source, SiteOutletSource):
        words = "winding" if isinstance(source, GeneratorSource) else "inverter output"
        output = f"{words} {e(amps(source.nameplate_current_a))}; "
    items = [
        f"Source: {e(volts(rig.nominal_v))} nominal, typically {e(volts(source.voltage_v.typical))} under load; {output}"
        f"neutral {e(neutral)}.",
        *([f"{own}."] if own else []),
        INSTRUCTION_WORDS[source.instructions],
        *(_cable_words(dataset, variant.evse.cable) for variant in rig.by_cable),
    ]
    if isinstance(source, GeneratorSource):
        watts = ", ".join(
            f"{kilowatts(record.running_power_w / 1000)} on {fuel}" for fuel, record in source.fuels.items()
        )
        items.append(f"Running: {e(watts)}.")
    elif isinstance(source, StoredSource):
        items.append(
            f"Battery: {number(source.energy_usable_kwh)} kWh usable, keeps {100 * source.soc_floor:.0f} %; "
            f"{e(kilowatts(source.power_continuous_w / 1000))} continuous."
        )
    kept = (
        ("Adapters", "adapters", [dataset.adapters[key] for key in rig.adapters], rig.adapters_at_depot),
        ("Supply-side leads", "leads", [dataset.leads[key] for key in rig.leads], rig.leads_at_depot),
    )
    for word, anchor, on_board, at_depot in kept:
        parts = [_kept_words(dataset, anchor, item) for item in on_board]
        if at_depot:
            records = dataset.adapters if anchor == "adapters" else dataset.leads
            parts.append("at the depot: " + "; ".join(_kept_words(dataset, anchor, records[key]) for key in at_depot))
        if parts:
            items.append(f"{word}: {'; '.join(parts)}.")
    if not rig.adapters:
        items.append("No adapter on board.")
    if rig.notes:
        items.append(e(rig.notes))
    return bullets(items)


def _kept_words(dataset: Dataset, anchor: str, item: Adapter | Lead) -> str:
    """Return an adapter or a lead with a link to what is known of it, and why it is never used, where it is not."""
    against = lead_never(dataset, item) if isinstance(item, Lead) else never(item)
    name = link(f"../plugs/index.html#{anchor}", item.name)
    return name if against is None else f"{name}, <b>NEVER: {e(against[1].rstrip('.'))}</b>"


def _cable_words(dataset: Dataset, cable: Cable) -> str:
    """Return one cable of a rig: connector, amps, length, and what a loose one tells the vehicle."""
    connector = dataset.connectors[cable.connector]
    length = f"{cable.length_m * FT_PER_M:.0f} ft ({number(cable.length_m)} m)"
    loose = ""
    if cable.code_a is not None:
        told = code_told_a(connector, None, cable) is not None
        code = link("../plugs/pilot.html", f"coded {cable.code_a} A")
        loose = f"; loose, {code}" + (", which the vehicle reads" if told else ", which the vehicle does not read")
    return f"Cable: {e(connector.name)}, {e(amps(cable.rating_a))}, {length}{loose}."


def _findings(view: RigView) -> str:
    if not view.findings:
        return (
            "<p><b>No finding in what is judged:</b> every part has a device ahead that protects it, its grounding "
            "conductor suits that device, the neutral is bonded once at the source, ground-fault devices are known, the "
            "EVSE is listed.</p><p><b>Not judged:</b> whether a device trips, terminations, the state of cords and plugs. "
            "Test and look before each use.</p>"
        )
    rows = [
        [
            Cell(f"{e(_part_name(view.rig, finding.part))}<br>{level_mark(finding.level)}"),
            Cell(f"{e(finding.text)}<br><b>{e(finding.remedy)}</b>"),
            Cell(f'<span class="n">{e(_measured_against(finding.clause, finding.edition))}</span>', wide=True),
        ]
        for finding in sorted(view.findings, key=lambda finding: LEVELS.index(finding.level))
    ]
    return table(
        "Findings and their remedies", ["Part, level", "Finding, remedy", Cell("Measured against", wide=True)], rows
    )


def _part_name(rig: Rig, part: str) -> str:
    """Return the name of a part that a finding or a reading speaks of."""
    return {**ROLES, **{item.id: item.name for item in rig.supply}}.get(part, part)


def _measured_against(clause: str, edition: str) -> str:
    return clause if clause == edition else f"{clause}, {edition}"


# ------------------------------------------------------------------------------------------------ what would raise it


def _raise(weighed: Gains) -> str:
    left_alone = bullets(e(text) for text in weighed.left_alone)
    call, now = weighed.call, weighed.now
    if call is None or now is None:
        return f"<p>No change is weighed: its cable and adapters reach {e(weighed.held_back_by)}.</p>{left_alone}"
    then = "not served now"
    if now.setting is not None:
        then = f"now mark {now.setting.mark} = {amps(now.setting.output_a)}"
        if now.miles_added_per_hour is not None:
            then += f", {now.miles_added_per_hour} miles added an hour"
        minutes = _typical_minutes(now.verdict, now.minutes_on_site.typical if now.minutes_on_site else None)
        then += f", {minutes} min on site" if minutes is not None else ", this need not simply served"
    heads: list[str | Cell] = [
        "Change, one at a time",
        Cell("Setting<br>then A", figure=True, wide=True),
        Cell("Amps<br>more", figure=True),
        Cell("Miles an<br>hour more", figure=True),
        Cell("Minutes<br>saved", figure=True),
        Cell("Held back next by", wide=True),
    ]
    held = weighed.held_back_by.rstrip(".")
    body = f"<p><b>Now held back by:</b> {e(held)}.</p>" if held else ""
    if weighed.items:
        body += table("What each single change would give", heads, [_gain_row(item, weighed) for item in weighed.items])
    else:
        body += "<p>No change of the allowed kinds is left to weigh.</p>"
    note = (
        f'<p class="n">Weighed on a typical call: {e(call.vehicle_name)}, from {call.start_percent} % for {call.miles} miles, '
        f"usual site and fuel; {e(then)}. Every figure is the plan of the changed rig. Never among the changes: a ground-fault "
        "device removed or bypassed, a bond at the EVSE, a ground rod in place of the bond, a built-in device changed.</p>"
    )
    return body + left_alone + note


def _typical_minutes(verdict: str, minutes: int | None) -> int | None:
    return minutes if verdict in {"serve", "serve_with_changes"} else None


def _gain_row(item: Gain, weighed: Gains) -> list[Cell]:
    confirm = f'<br><span class="n">{e(item.confirm)}</span>' if item.confirm else ""
    next_by = item.next_held_by.rstrip(".")
    # What holds back an unfit rig is a sentence, which stands above the table.
    same = next_by == weighed.held_back_by.rstrip(".")
    had_stop = weighed.now is not None and any(finding.level == "stop" for finding in weighed.now.findings)
    if not item.fit:
        words = "<b>Still not fit:</b> " + ("the same stop holds." if same else f"{e(next_by)}.")
    elif item.setting_a is None:
        gone = "<b>No stop then,</b> but no" if had_stop else "Gains nothing: no"
        words = f"{gone} setting serves this call: {e(next_by)}."
    elif item.gains_nothing:
        worse = item.gain_a < 0 or item.gain_miles_per_hour < 0 or (item.minutes_saved or 0) < 0
        words = f"{'Gains nothing, gives less' if worse else 'Gains nothing'}: {e(next_by)} holds back next."
    else:
        fits = "<br><b>Fit then.</b>" if item.makes_fit else ""
        head = Cell(e(item.change) + confirm + fits + narrow(f"Next: {e(next_by)}"))
        if item.minutes_saved is not None:
            saved = f'<b class="f">{_signed(item.minutes_saved)}</b>'
        elif item.minutes_on_site is not None:
            saved = f'<b class="f">{item.minutes_on_site}</b><br><span class="n">in all; not served now</span>'
        else:
            saved = '–<span class="vh"> not simply served</span>'
        return [
            head,
            Cell(f'<b class="f">{number(item.setting_a)}</b>', figure=True, wide=True),
            Cell(f'<b class="f">{_signed(item.gain_a)}</b>', figure=True),
            Cell(f'<b class="f">{_signed(item.gain_miles_per_hour)}</b>', figure=True),
            Cell(saved, figure=True),
            Cell(e(next_by), wide=True),
        ]
    return [Cell(e(item.change) + confirm), Cell(words, span=5)]


def _signed(value: float) -> str:
    """Return a difference with its sign; none where there is no difference."""
    shown = math.floor(value * 10 + 1e-9) / 10
    return f"+{shown:g}" if shown > 0 else f"{shown:g}".replace("-", "\N{MINUS SIGN}")


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
    if view.fitness == "not_fit" and not any(pair.plan.setting is not None for pair in pairs):
        stopped = any(finding.level == "stop" for finding in view.findings)
        return (
            f"<p>{verdict_mark('cannot_serve', 'Nothing')} None of the {len(pairs)} classes is served before "
            f"{'the findings are' if stopped else 'that is'} mended.</p>"
        )
    rows: list[Row] = []
    some_common = any(pair.vehicle in COMMONEST_CLASSES for pair in pairs)
    for pair in sorted(pairs, key=_commonest_first):
        plan = pair.plan
        paper = NOT_ON_PAPER if some_common and pair.vehicle not in COMMONEST_CLASSES else ""
        mark = verdict_mark(plan.verdict)
        name = Cell(link(f"../vehicles/{pair.vehicle}.html", plan.vehicle_name) + narrow(mark))
        if plan.setting is None or plan.path is None:
            text = plan.reasons[0].text if plan.reasons else ""
            refused = [name, Cell(mark, wide=True), Cell(f'<span class="n">{e(text)}</span>', span=5)]
            rows.append(Row(refused, marks=paper))
            continue
        need = next((need for need in pair.needs if need.miles == miles), None)
        minutes = need.minutes_on_site if need is not None else None
        held = pair.held_back_by
        cells = [
            name,
            Cell(mark, wide=True),
            Cell(e((plan.path.adapter_words or "none").replace(" adapter", "")), wide=True),
            Cell(setting_cell(plan.setting), figure=True),
            Cell(f'<b class="f">{plan.miles_added_per_hour}</b>', figure=True),
            Cell(f'<b class="f">{minutes}</b>' if minutes is not None else "–", figure=True),
            Cell(e(held.name if held is not None else ""), wide=True),
        ]
        rows.append(Row(cells, marks=paper))
    note = (
        f'<p class="n">Minutes on site, typical, from {USUAL_START_PERCENT} % and arriving with {USUAL_START_PERCENT} %; '
        "a dash: see the page of the class."
        f"{' The commonest classes stand first, and they alone are on paper.' if some_common else ''}</p>"
    )
    looked_at = {pair.vehicle: words for pair in pairs if (words := _other_port_words(pair))}
    common = [words for key, words in looked_at.items() if key in COMMONEST_CLASSES]
    others = [words for key, words in looked_at.items() if key not in COMMONEST_CLASSES]
    ports = f'<p class="n"><b>Look at the port first.</b> {" ".join(common)}</p>' if common else ""
    if others:
        ports += f"<details><summary>Ports to look at first, other classes</summary>{bullets(others)}</details>"
    return table("Classes that this rig serves", heads, rows) + note + ports


def _commonest_first(pair: Pair) -> int:
    """Return where a class stands in the list of a rig: what crews are called to most, then the others as they come."""
    common = pair.vehicle in COMMONEST_CLASSES
    return COMMONEST_CLASSES.index(pair.vehicle) if common else len(COMMONEST_CLASSES)


def _other_port_words(pair: Pair) -> str:
    """Return in few words what another port of a class takes; nothing where all of the class have one and the same."""
    plan = pair.plan
    if plan.setting is None or plan.path is None:
        return ""
    codes = {reason.code for reason in plan.reasons}
    name = f"{e(plan.vehicle_name)}: the row is for its {e(plan.path.inlet_name)}"
    if "which_port" in codes:
        return f"{name}; not served by another one."
    if "other_port" not in codes:
        return ""
    found: dict[str, str] = {}
    for way in plan.other_paths:
        if way.inlet != plan.path.inlet and way.mark is not None:
            by = f"by {way.adapter_name}" if way.adapter_name is not None else "no adapter"
            found.setdefault(way.inlet, f"at {way.inlet_name} {by}, mark {way.mark}")
    return f"{name}; {e('; '.join(found.values()))}."


# ------------------------------------------------------------------------------------------------- height, fuel, store


def _derate(view: RigView) -> str:
    """Return what height takes from an engine: the rule that binds beside ISO 3046-1, drawn and in a table."""
    rig, source = view.rig, view.rig.source
    assert isinstance(source, GeneratorSource)
    assert view.fuel is not None
    fuels = [view.fuel, *(fuel for fuel in view.shares if fuel != view.fuel)]
    usual = view.shares[view.fuel]
    drawing = share_chart(
        [(float(step.height_ft), step.by_rule) for step in usual],
        [(float(step.height_ft), step.by_iso_3046) for step in usual],
        site_ft=view.altitude_m * FT_PER_M,
        name=rig.name,
    )
    heads: list[str | Cell] = [
        Cell("Height<br>ft"),
        Cell("Rule<br>%", figure=True),
        *(Cell(f"ISO, {e(fuel)}<br>%", figure=True, wide=fuel != view.fuel) for fuel in fuels),
        Cell(f"Allowed, {e(view.fuel)}<br>kW", figure=True),
    ]
    rows = []
    for at, step in enumerate(usual):
        state = source_state(rig, altitude_m=step.height_ft / FT_PER_M, ambient_c=view.ambient_c, fuel=view.fuel)
        rows.append(
            [
                Cell(f"{step.height_ft:,}"),
                Cell(f'<b class="f">{_share(step.by_rule)}</b>', figure=True),
                *(
                    Cell(_share(view.shares[fuel][at].by_iso_3046), figure=True, wide=fuel != view.fuel)
                    for fuel in fuels
                ),
                Cell(_kw(state.power_allowed_w or 0.0), figure=True),
            ]
        )
    here = ""
    if view.share_iso_3046 is not None:
        less = (
            "; ISO 3046-1 leaves less here: let a long run here prove what holds"
            if view.share_iso_3046 < view.state.derate
            else ""
        )
        here = (
            f" At the usual site the rule leaves {_share(view.state.derate)}{NBSP}%, ISO 3046-1 "
            f"{_share(view.share_iso_3046)}{NBSP}%{less}."
        )
    rule = source.derate
    lead = (
        f"<p><b>The rule binds</b> (heavy line): {100 * rule.loss_per_1000ft:g} % less for each 1,000 ft above "
        f"{e(feet(rule.free_altitude_m)) if rule.free_altitude_m else 'the sea'}, {100 * rule.loss_per_10f:g} % for each 10 F above "
        f"{e(temperature(rule.free_ambient_c))}. ISO 3046-1 (dashed) is the second opinion, never taken on top.{here}</p>"
    )
    note = (
        f'<p class="n">Share of running watts kept, air {e(temperature(view.ambient_c))}. Allowed: for hours, after '
        f"{e(view.state.loading_basis)}{_less_other_loads(rig)}. Neither is ever above 100 %.</p>"
    )
    return lead + drawing + _twin(table("Share of running watts by height", heads, rows)) + note


def _share(share: float) -> str:
    """Return a share in per cent, rounded down to a tenth."""
    return f"{rounded_down(100 * share):g}"


def _kw(power_w: float) -> str:
    """Return kilowatts without the unit, rounded down."""
    return "0" if power_w <= 0 else kilowatts(power_w / 1000).removesuffix(" kW")


def _less_other_loads(rig: Rig) -> str:
    return f", less {rig.other_loads.power_w:g} W of other loads" if rig.other_loads.power_w else ""


def _twin(html: str) -> str:
    """Return the table that holds a drawing's numbers: on paper the drawing alone is printed."""
    return f'<div class="twin">{html}</div>'


def _fuel(view: RigView, weighed: Gains) -> str:
    """Return what the engine burns by load, how long what is on board lasts, what is kept, what may be carried."""
    source = view.rig.source
    assert isinstance(source, GeneratorSource)
    fuels = sorted(view.burns, key=lambda fuel: fuel != view.fuel)
    parts = []
    for fuel in fuels:
        if len(fuels) > 1:
            parts.append(f"<h3>{e(fuel.capitalize())}</h3>")
        parts.append(_burn(view, fuel, view.burns[fuel]))
        parts.append(bullets(_fuel_facts(fuel, source.fuels[fuel], view.burns[fuel], weighed)))
    parts.append(
        '<p class="n">From no load to all that is allowed for hours at the usual site, in quarters; hours: tank and cans '
        "full, refuel stops not counted, nothing kept.</p>"
    )
    parts.append(
        f"<p><b>Carried as materials of trade</b> (49 CFR 173.6, as information): "
        f"{' '.join(_carriage(fuel, source.fuels[fuel]) for fuel in fuels)} All such goods on one vehicle with its trailer: "
        f"{_kilograms(CARRIAGE_TOTAL_KG)} gross.</p>"
    )
    return "".join(parts)


def _burn(view: RigView, fuel: FuelKind, burns: Sequence[BurnAtLoad]) -> str:
    heads: list[str | Cell] = [
        Cell("Load<br>kW"),
        Cell("Gal an<br>hour", figure=True),
        Cell("Hours", figure=True),
        Cell("kWh<br>a gal", figure=True),
        Cell("L an<br>hour", figure=True, wide=True),
        Cell("Of its<br>heat %", figure=True, wide=True),
    ]
    rows = [
        [
            Cell(_kw(1000 * burn.load_kw)),
            Cell(f'<b class="f">{_up(burn.burn_l_per_h / LITRES_PER_GALLON, 2)}</b>', figure=True),
            Cell(f'<b class="f">{rounded_down(burn.hours_h):,g}</b>', figure=True),
            Cell(f"{rounded_down(burn.kwh_per_l * LITRES_PER_GALLON):g}", figure=True),
            Cell(_up(burn.burn_l_per_h, 2), figure=True, wide=True),
            Cell(f"{_efficiency_percent(fuel, burn)}", figure=True, wide=True),
        ]
        for burn in burns
    ]
    if burns[-1].load_kw <= 0:
        return f"<p>Nothing is allowed on {e(fuel)} at the usual site.</p>"
    drawing = burn_chart(
        [(burn.load_kw, burn.burn_l_per_h, burn.hours_h) for burn in burns], name=f"{view.rig.name}, {fuel}"
    )
    return drawing + _twin(table(f"Fuel by load, {fuel}", heads, rows))


def _efficiency_percent(fuel: FuelKind, burn: BurnAtLoad) -> int:
    share = engine_efficiency(kwh_per_l=burn.kwh_per_l, fuel_lhv_kwh_per_l=ENERGY_LHV_KWH_PER_L[fuel])
    return math.floor(100 * share + 1e-9)


def _up(value: float, digits: int) -> str:
    """Return a burn, rounded up."""
    return f"{math.ceil(value * 10**digits - 1e-9) / 10**digits:.{digits}f}"


def _fuel_facts(fuel: FuelKind, record: Fuel, burns: Sequence[BurnAtLoad], weighed: Gains) -> Iterator[str]:
    yield (
        f"On board when full: {_held(record.tank_l)} in the {'cylinders' if fuel == 'propane' else 'tank'}"
        + (f", {_held(record.spare_l)} in cans." if record.spare_l else "; no cans.")
    )
    heat_kwh = ENERGY_LHV_KWH_PER_L[fuel] * LITRES_PER_GALLON
    full = burns[-1]
    if full.load_kw > 0:
        yield (
            f"A gallon holds {rounded_down(heat_kwh):g} kWh of heat (lower heating value); at the full allowed load "
            f"{rounded_down(full.kwh_per_l * LITRES_PER_GALLON):g} kWh of it leave the set, {_efficiency_percent(fuel, full)} %."
        )
    used = weighed.now.fuel if weighed.now is not None else None
    if used is not None and used.kind == fuel and weighed.call is not None:
        yield (
            f"<b>Into a vehicle's battery: {rounded_down(used.battery_kwh_per_gallon):g} kWh a gallon</b> on the typical "
            "call of the table of changes, warm-up and cool-down counted."
        )
        way = record.keep_l > 0 and math.isclose(used.keep_litres, record.keep_l)
        yield f"Kept at the end: {e(gallons(used.keep_litres))}, {'the way home' if way else 'an hour at that load'}."
    else:
        home = f"{gallons(record.keep_l)} for the way home, or what is more: " if record.keep_l else ""
        yield f"Kept at the end: {e(home)}an hour at the load."


def _carriage(fuel: FuelKind, record: Fuel) -> str:
    """Return what 49 CFR 173.6 lets a crew carry of a fuel, beside what is on record here."""
    if fuel == "propane":
        count = record.cylinders.count if record.cylinders is not None else 0
        ours = f"; the {count} here hold {_held(record.tank_l)} of liquid" if count else ""
        return f"A cylinder of propane: {_kilograms(CARRIAGE_CYLINDER_KG)} gross{ours}: read the mark, weigh it full."
    package_l = CARRIAGE_DIESEL_PACKAGE_L if fuel == "diesel" else CARRIAGE_PACKAGE_L
    most = f"at most {package_l:g} L ({rounded_down(package_l / LITRES_PER_GALLON):g} gal)"
    # The mass is stated for a can of gasoline; for diesel a guide to the rule gives the volume alone.
    most += " by a guide to the rule" if fuel == "diesel" else f", {_kilograms(CARRIAGE_PACKAGE_KG)} gross"
    ours = "none on record here."
    if record.spare_l:
        least = math.ceil(record.spare_l / package_l - 1e-9)
        ours = f"the {_held(record.spare_l)} here are {least} can{'s' if least > 1 else ''} or more."
    return f"A can of {e(fuel)}: {most}; {ours}"


def _held(volume_l: float) -> str:
    """Return what a tank or a can holds, rounded down: nobody counts on more than is there."""
    return f"{rounded_down(volume_l / LITRES_PER_GALLON):g} gal ({rounded_down(volume_l):g} L)"


def _kilograms(mass_kg: float) -> str:
    return f"at most {mass_kg:g} kg ({math.floor(mass_kg / KG_PER_LB):,} lb)"


def _mark_within(view: RigView, power_kw: float) -> Setting | None:
    """Return the highest mark that the other parts allow and so many kilowatts feed at the source's highest volts."""
    evse, high_v = view.rig.evse, view.rig.source.voltage_v.high
    allowed_a = min(
        (link.limit_a for link in view.chain if link.link not in {"source_power", "cable_code"}), default=0.0
    )
    allowed_a = min(allowed_a, 1000 * power_kw / (high_v * view.power_factor))
    offered = evse.settings if evse.set_by in CHANGEABLE_ON_SITE else (evse.standing,)
    return max((mark for mark in offered if mark.output_a <= allowed_a), key=lambda mark: mark.output_a, default=None)


def _store(view: RigView, source: StoredSource) -> str:
    """Return what a store gives in cold and warm air, what it keeps, and how long it takes to fill."""
    loads_kw = view.rig.other_loads.power_w / 1000
    airs_c = sorted({*(point.ambient_c for point in source.in_the_cold), view.ambient_c})
    heads: list[str | Cell] = [
        "Air",
        Cell("For hours<br>kW", figure=True),
        Cell("Gives<br>kWh", figure=True),
        Cell("Highest<br>mark", figure=True),
        Cell("Hours<br>at it", figure=True),
    ]
    rows = []
    for air_c in airs_c:
        given_kw = source.power_continuous_w / 1000 * source.share_in_air(air_c).power_share
        mark = _mark_within(view, given_kw - loads_kw)
        energy_kwh = source.spendable_kwh(air_c) * source.efficiency
        wanted_kw = given_kw if mark is None else mark.output_a * source.voltage_v.typical / 1000 + loads_kw
        hours_h = energy_kwh / min(wanted_kw, given_kw) if given_kw else 0.0
        rows.append(
            Row(
                on=air_c == view.ambient_c,
                cells=[
                    Cell(e(temperature(air_c))),
                    Cell(f'<b class="f">{_kw(1000 * given_kw)}</b>', figure=True),
                    Cell(f'<b class="f">{rounded_down(energy_kwh):g}</b>', figure=True),
                    Cell(e(mark.mark) if mark is not None else "none", figure=True),
                    Cell(f"{rounded_down(hours_h):g}" if mark is not None else "", figure=True),
                ],
            )
        )
    kept_kwh = source.energy_usable_kwh * source.soc_floor
    items = [
        f"Floor: {100 * source.soc_floor:.0f} % is kept, {number(round(kept_kwh, 1))} kWh in warm air; "
        f"of what leaves the store {100 * source.efficiency:.0f} % comes out."
    ]
    if source.way_home_kwh:
        items.append(f"Way home: {number(source.way_home_kwh)} kWh on top of the floor.")
    elif isinstance(source, TruckExportSource):
        items.append("<b>Way home: nothing is set aside for it on record.</b>")
    if source.power_short_w is not None:
        items.append(f"For seconds {e(kilowatts(source.power_short_w / 1000))}: never counted on.")
    if source.recharge_kw is not None:
        fill_h = (source.energy_usable_kwh - kept_kwh) / source.recharge_kw
        items.append(
            f"To fill it again from the floor: {_up(fill_h, 1)} h at {number(source.recharge_kw)} kW, its own losses on top."
        )
    else:
        items.append("How fast it fills again is not on record.")
    cold = "" if source.in_the_cold else "No figures for the cold on record: reckoned the same in all air. "
    note = (
        f'<p class="n">{cold}Full at the start, down to what is kept{_less_other_loads(view.rig)}; the marked row is the '
        "usual site.</p>"
    )
    return table("What the store gives by air temperature", heads, rows) + note + bullets(items)


def _outlet(dataset: Dataset, view: RigView, source: SiteOutletSource) -> str:
    """Return the breaker that a site outlet stands on, and what else may hang there."""
    breaker = view.rig.supply[0]
    assert isinstance(breaker, Breaker)
    allowed_a = next((part.limit_a for part in view.chain if part.id == breaker.id), None)
    hours = f", {e(amps(allowed_a))} for hours" if allowed_a is not None else ""
    shared = {
        True: "Nothing else hangs on its circuit.",
        False: "<b>Other loads hang on its circuit:</b> off, and kept off, while it charges.",
        None: "Nobody has stated whether other loads hang on its circuit: ask, and look at the panel.",
    }[source.individual_circuit]
    items = [
        f"{e(breaker.name)}: {e(amps(breaker.rating_a))}{hours}. Read it at the panel before each use: another panel may "
        "have another one.",
        shared,
        f"Volts seen: {e(volts(source.voltage_v.low))} to {e(volts(source.voltage_v.high))}.",
    ]
    if view.rig.other_loads.power_w:
        items.append(f"Our own other loads: {view.rig.other_loads.power_w:g} W.")
    return bullets(items) + _at_outlets(dataset, view.rig)


def _at_outlets(dataset: Dataset, rig: Rig) -> str:
    """Return the mark behind every common breaker of every outlet that its plug or one of its leads goes into."""
    rows = []
    for item in outlet_marks(dataset, rig.id):
        way = "its own plug"
        if item.lead is not None:
            way = f"{item.lead.name}{', at the depot' if item.kept == 'at_depot' else ''}"
        rows.append(
            [
                Cell(e(item.outlet.configuration)),
                Cell(number(item.breaker_a), figure=True),
                Cell(f'<b class="f">{e(item.mark or "none")}</b>', figure=True),
                Cell(e(way if item.refused is None else item.refused)),
            ]
        )
    heads: list[str | Cell] = [
        "Outlet there",
        Cell("Breaker,<br>read, A", figure=True),
        Cell("Not above<br>mark", figure=True),
        "By",
    ]
    return table("Marks by outlet and breaker", heads, rows) if rows else ""


# ----------------------------------------------------------------------------------------- proof, costs, cautions


def _proved(dataset: Dataset, view: RigView) -> str:
    """Return the long runs on record with what each proved, and the way to the sheet and to the sizes."""
    rig = view.rig
    heads: list[str | Cell] = [
        "Run",
        Cell("kW", figure=True),
        Cell("Min", figure=True),
        Cell("Proved<br>%", figure=True),
        Cell("Where", wide=True),
    ]
    rows = []
    for run in sorted(rig.commissioning, key=lambda run: run.date, reverse=True):
        vehicle = dataset.vehicle_classes.get(run.vehicle or "")
        what = run.fuel or (vehicle.name if vehicle is not None else "")
        rows.append(
            [
                Cell(e(run.date) + (f'<br><span class="n">{e(what)}</span>' if what else "")),
                Cell(f'<b class="f">{number(run.power_metered_kw)}</b>', figure=True),
                Cell(number(run.duration_min), figure=True),
                Cell(_proved_share(rig, run), figure=True),
                Cell(f'<span class="n">{e(feet(run.altitude_m))}, {e(temperature(run.ambient_c))}</span>', wide=True),
            ]
        )
    body = table("Commissioning runs", heads, rows) if rows else "<p>No long run on record.</p>"
    if isinstance(rig.source, GeneratorSource):
        body += (
            f'<p class="n">Proved: metered watts over the derated running watts of that day. The latest run of '
            f"{SHORTEST_PROOF_MIN:g} minutes or more that proved over {100 * DEFAULT_LOADING:.0f} % counts. Counted on now"
            f"{f' on {e(view.fuel)}' if view.fuel else ''}: {e(view.state.loading_basis)}.</p>"
        )
    ways = [link("sizing.html", "Sizes for builders")]
    if f"{rig.id}-sheet" not in dataset.rigs:  # else the page of that rig has this name
        ways.insert(0, link(f"{rig.id}-sheet.html", "Commissioning sheet to print"))
    ways.insert(0, link(f"../cards/{rig.id}.html", "Card for the cab"))
    return body + "".join(f'<p class="way">{way}</p>' for way in ways)


def _proved_share(rig: Rig, run: Commissioning) -> str:
    source = rig.source
    if not isinstance(source, GeneratorSource) or run.fuel is None:
        return '–<span class="vh"> not for this source</span>'
    derate = source_state(rig, altitude_m=run.altitude_m, ambient_c=run.ambient_c, fuel=run.fuel).derate
    if derate <= 0:
        return '–<span class="vh"> nothing was left that day</span>'
    share = loading_proved(
        power_metered_kw=run.power_metered_kw, running_power_w=source.fuels[run.fuel].running_power_w, derate=derate
    )
    return f'<b class="f">{_share(share)}</b>'


def _build_list(rig: Rig) -> str:
    rows = [
        [
            Cell(e(item.item)),
            Cell(str(item.count), figure=True),
            Cell(_dollars(item.cost_usd), figure=True, wide=True),
            Cell(_dollars(item.count * item.cost_usd), figure=True),
        ]
        for item in rig.build_list
    ]
    total = sum(item.count * item.cost_usd for item in rig.build_list)
    rows.append(
        [
            Cell("In all"),
            Cell("", figure=True),
            Cell("", figure=True, wide=True),
            Cell(f'<b class="f">{_dollars(total)}</b>', figure=True),
        ]
    )
    heads: list[str | Cell] = [
        "Part",
        Cell("Count", figure=True),
        Cell("Each $", figure=True, wide=True),
        Cell("In all $", figure=True),
    ]
    origin = next((found for path, found in rig.sources.items() if path.split(".")[0] == "build_list"), None)
    note = ""
    if origin is not None and origin.basis == "invented":
        note = '<p class="n">Invented for the demonstration: no prices of anything that is sold.</p>'
    return table("Build list with costs", heads, rows) + note


def _dollars(cost_usd: float) -> str:
    return f"{cost_usd:,.0f}" if float(cost_usd).is_integer() else f"{cost_usd:,.2f}"


def _cautions(view: RigView) -> Iterator[str]:
    """Yield the cautions that this rig calls for, the deadly ones first; the page of safety says more."""
    rig, source = view.rig, view.rig.source

    def head(words: str, anchor: str) -> str:
        return f'<b><a href="../safety/index.html#{anchor}">{e(words)}</a>:</b>'

    if source.engine:
        truck = "its own engine may start while it exports. " if isinstance(source, TruckExportSource) else ""
        yield (
            f"{head('Carbon monoxide', 'carbon-monoxide')} {truck}Engine outdoors only, 20 ft or more from any building, "
            "window or occupied vehicle, exhaust downwind; nobody sits in a vehicle within that."
        )
    yield f"{head('Backfeed', 'backfeed')} never feed a building with it, nor another outlet."
    if isinstance(source, SiteOutletSource):
        yield (
            f"{head('Site outlet', 'site-outlets')} ask whose it is, read its breaker, test its ground-fault device, keep "
            "other loads off. The bond is the service's: none is made here."
        )
    else:
        yield f"{head('One bond', 'shock')} of neutral to frame, at the source; no rod in its place."
    guards = [part.name for part in rig.supply if isinstance(part, Breaker | Receptacle) and part.gfci == "class_a"]
    if guards:
        yield (
            f"{head('Ground-fault device', 'shock')} {e(', '.join(guards))}: it stays, and is tested before each use. It may "
            "trip without a fault; after a second trip, stop."
        )
    if isinstance(source, GeneratorSource) and "propane" in source.fuels:
        yield (
            f"{head('Propane in the cold', 'fuel')} less and less gas as a cylinder empties and chills. When the engine "
            "starves, stop; never warm a cylinder."
        )
    if isinstance(source, GeneratorSource) and source.sets == 2:
        yield f"{head('Two sets', 'parallel-pairs')} joined by their maker's kit alone, both off while it is plugged in."
    if isinstance(source, StoredSource):
        way = ", with the way home still in it" if source.way_home_kwh else ""
        yield (
            f"{head('Floor', 'stores-and-truck-outlets')} stop at {100 * source.soc_floor:.0f} %{way}; colder air leaves "
            "less."
        )
    if isinstance(source, TruckExportSource):
        yield (
            f"{head('Truck outlet', 'stores-and-truck-outlets')} its inverter binds, not the outlet's rating. Parked, brake "
            "set, wheels chocked; its export settings read before each use."
        )
    if any(isinstance(part, Conductor) and part.construction != "building_wire" for part in rig.supply):
        yield f"{head('Cords', 'cords-and-plugs')} off the reel, unwound to their full length, out of the traffic."
    yield f"{head('Coupler', 'adapters')} no extension; the EVSE's own cable goes to the vehicle, one adapter at most."
    yield "It plans, it does not certify: the authority, the listing instructions and a licensed electrician decide."


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
