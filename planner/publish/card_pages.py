"""The crew cards: one printed sheet a rig, for the cab. What to turn to, count, watch, allow, when to give up.

Every figure is one of a plan that stands on the pages already, or of the rig's own view; the card only chooses and
rounds. A rig that is not fit gets a card that says so, and nothing to turn to. Where the address is known at which the
pages will stand, a card leads to the page of its rig by a QR code, and by the same link in words.
"""

import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from planner.chain import CHANGEABLE_ON_SITE
from planner.condition import RULES as CONDITION_RULES
from planner.errors import QuantityError
from planner.figures import amps, feet, kilowatts, rounded_down, temperature
from planner.leads import lead_never
from planner.marks import OutletMark, outlet_marks
from planner.mating import never
from planner.place import RULES as PLACE_RULES
from planner.place import SHOULDER_CAP_MIN, Rule
from planner.plan_types import Plan
from planner.publish.markup import (
    Cell,
    Page,
    Row,
    bullets,
    chosen,
    e,
    fit_mark,
    link,
    name,
    notice,
    number,
    section,
    table,
)
from planner.records import Adapter, Dataset, Lead, Setting, SiteOutletSource, StoredSource
from planner.roadside import NOTHING_HAPPENS
from planner.tables import (
    ALTITUDE_STEPS_FT,
    COMMONEST_CLASSES,
    USUAL_MILES,
    USUAL_START_PERCENT,
    NeedMinutes,
    Pair,
    RigView,
    allow_minutes,
)

__all__ = ["QrModules", "card_pages", "pages_address"]

CLASSES_SHOWN = 8  # rows that the second side of A5 holds
BOX = '<span class="cb" aria-hidden="true"></span>'
BLANK = '<span class="ln" aria-hidden="true"></span><span class="vh">blank</span>'
# How a reading of the plan is called where a word has to do.
WATCHED = {
    "current at the meter": "Amps",
    "volts at the EVSE": "Volts",
    "power at the meter": "kW, meter",
    "power the car shows": "kW, car",
    "hertz at the source": "Hertz",
}
NBSP = "\N{NO-BREAK SPACE}"
FIGURE = re.compile(r"\d+(?:\.\d+)?")
# The looks of `roadside.NOTHING_HAPPENS` in as few words as a card has room for.
NOTHING_IN_SHORT = {
    "light": "Read the EVSE's light or code, write it down.",
    "ground_fault": "Ground-fault or no-ground light: stop.",
    "latched": "Connector, and adapter, home and latched?",
    "park": "In Park; key well away from it, doors locked?",
    "scheduled": "Scheduled charging off, limit 100 %, not stopped?",
    "cold": "Cold pack: wait 10 minutes.",
    "again": "Connector out, ten seconds, in again.",
    "lower": "Started, then let go: one mark lower.",
    "adapter": "Adapter out and in again.",
    "power_cycle": "Connector out, EVSE off and on, {set_again}read back, in.",
    "twelve_volt": "12 V low: a supply at its posts, never on a frozen or leaking one.",
    "last": "15 minutes, cold wait and 12 V not counted: another rig or a tow.",
}
# Cautions of a plan that are the rig's, whatever vehicle is plugged in; the deadly ones first.
RIG_CAUTIONS = (
    "carbon_monoxide",
    "refuel_cold",
    "propane_cold",
    "propane_frost",
    "setting_forgotten",
    "loose_cable",
    "dry_and_checked",
)
# Refusals that hold for every unit are printed on every card; those of an engine where one may run.
HOW_TO_STOP = "To stop: at the vehicle, wait for 0 A, then the latch. Hot: switch off, leave it in until cool. Never pull under load."
TRAFFIC_RULE = "in_traffic"
ENGINE_RULES = "engine_"
# Makes the modules of a text as a QR code, row by row, those that are dark 1.
QrModules = Callable[[str], Sequence[Sequence[int]]]
# A scheme, a host with or without its port, folders. A host in other letters has a form in these, which all phones read.
ADDRESS = re.compile(
    r"https?://"
    r"[a-z0-9]+(-+[a-z0-9]+)*(\.[a-z0-9]+(-+[a-z0-9]+)*)*(:(?P<port>[0-9]{1,5}))?"
    r"(/([a-z0-9._~!$&'()*+,;=:@-]|%[0-9a-f]{2})+)*/?",
    re.ASCII | re.IGNORECASE,
)
LAST_PORT = 65535
LONGEST_ADDRESS = 120  # characters: the modules of a longer link are too small for a worn card
QUIET = 4  # light modules around a QR code (ISO/IEC 18004:2015, 6.3.8)
ADDRESS_FORM = 1  # of a call's address, as the scripts of the call page read it
LONG_STAY = "long_stay"  # the caution of a plan that takes hours
HELD_UP_BY = frozenset({"no_key"})  # a refusal that is no danger: asked before the crew drives out


def pages_address(text: str, *, name: str) -> str:
    """Return the address at which the pages will stand, without a slash at its end.

    Raises `QuantityError` for what no link to a page can be made of; `name` is the option it was given with.
    """
    found = ADDRESS.fullmatch(text)
    if found is None or not 1 <= int(found["port"] or 1) <= LAST_PORT:
        raise QuantityError(
            name=name,
            given=text,
            expected="the folder of the pages as http or https, without spaces, ? or #",
            next_step="write it like https://crew.example/pages",
        )
    address = text.rstrip("/")
    if address.endswith(".html"):
        raise QuantityError(
            name=name,
            given=text,
            expected="the folder of the pages, not one of them",
            next_step=f"write {address.rpartition('/')[0]}",
        )
    if len(address) > LONGEST_ADDRESS:
        raise QuantityError(
            name=name,
            given=text,
            expected=f"at most {LONGEST_ADDRESS} characters, so that its code can be read off paper",
            next_step=f"it has {len(address)}: host the pages at a shorter one",
        )
    return address


def card_pages(
    dataset: Dataset,
    views: Mapping[str, RigView],
    pairs: Mapping[str, Sequence[Pair]],
    *,
    address: str | None = None,
    qr_modules: QrModules | None = None,
) -> Iterator[Page]:
    """Yield the list of cards and one card a rig; `views` and `pairs` are by rig.

    With an `address`, as of `pages_address`, each card has the link to the page of its rig, and as a code with `qr_modules`.
    """
    yield _index(views)
    for rig_id, view in views.items():
        by_phone = "" if address is None else _by_phone(rig_id, address, qr_modules)
        yield _card(dataset, view, pairs[rig_id], by_phone)


# ------------------------------------------------------------------------------------------------------------ the list


def _index(views: Mapping[str, RigView]) -> Page:
    rows = []
    for view in views.values():
        setting = view.setting
        mark = "none" if setting is None else f'<b class="f">{e(setting.mark)}</b>'
        rows.append(
            [
                Cell(link(f"{view.rig.id}.html", view.rig.name)),
                Cell(fit_mark(view.fitness)),
                Cell(mark, figure=True),
                Cell("–" if setting is None else f'<b class="f">{number(setting.output_a)}</b>', figure=True),
            ]
        )
    heads: list[str | Cell] = [
        "Card",
        "Judged",
        Cell("Not above<br>mark", figure=True),
        Cell("Amps to<br>the vehicle", figure=True),
    ]
    body = (
        "<h1 data-search-exclude>Crew cards</h1>"
        '<p class="lead">One page a rig for the cab: marks, what to sign out and in, what to watch, minutes to allow, when '
        "to give up, what to say.</p>"
        + table("Crew cards", heads, rows)
        + section(
            "Printing",
            "printing",
            bullets(
                [
                    "Each card is one sheet, printed on both sides, on letter, A4 or A5: choose the paper, 100 % scale, the browser's own head and "
                    "foot off.",
                    "It is black on white and needs no printed backgrounds.",
                    "It holds for the data version in its foot. Print again when rig, adapters or data change.",
                    f"It shortens the page of the rig, in {link('../rigs/index.html', 'Rigs')}, and takes the place of no plan: "
                    "another site, fuel or class gives other figures.",
                ]
            ),
        )
    )
    return Page(
        "cards/index.md",
        "Crew cards",
        "One printed page a rig: marks, adapters, watch, minutes to allow, when to give up.",
        body,
        tags=("print", "printed", "paper", "cab", "cheat sheet", "crew card", "laminate"),
        boost=0.6,
    )


# ------------------------------------------------------------------------------------------------------------ one card


def _card(dataset: Dataset, view: RigView, pairs: Sequence[Pair], by_phone: str) -> Page:
    rig = view.rig
    served = [pair for pair in pairs if pair.plan.verdict != "cannot_serve" and pair.plan.setting is not None]
    inside = (
        _not_fit(view, sheet=f"{rig.id}-sheet" not in dataset.rigs)
        if view.fitness == "not_fit" or not served
        else _fit(dataset, view, served)
    )
    way = f"rigs/{rig.id}.html"
    foot = (
        # The data version and its date stand in the foot of every page, on paper right below this.
        '<p class="n ft2">All of it, and whatever changed since: '
        f"{link(f'../{way}', way)}. Safety by situation: {link('../safety/index.html', 'safety/index.html')}. "
        "It plans, it does not certify: the authority, the listing instructions and a licensed electrician decide.</p>"
    )
    body = (
        '<p class="crumb" data-search-exclude><a href="index.html">All cards</a></p>'
        f'<div class="card"><div class="ch"><div><p class="k">Crew card</p><h1 data-search-exclude>{e(rig.name)}</h1>'
        f'<p class="n">{e(rig.summary)}</p></div>{_never_above(view)}</div>{inside}{by_phone}{foot}</div>'
    )
    return Page(
        f"cards/{rig.id}.md",
        f"Crew card, {rig.name}",
        f"{rig.name} on one printed sheet: marks, adapters, watch, minutes to allow, when to give up.",
        body,
        tags=("crew card", "print", rig.name),
        boost=0.5,
    )


def _never_above(view: RigView) -> str:
    """Return the mark that is not passed at the usual site, or that there is none; nothing for a rig that is not fit."""
    setting = view.setting
    if view.fitness == "not_fit":
        return ""
    if setting is None:
        return '<p class="nv"><span class="k">No mark for every vehicle,<br>ask for a plan</span></p>'
    return (
        f'<p class="nv"><span class="k">Usual site,<br>not above mark</span> <b class="f">{e(setting.mark)}</b> '
        f"<span>= {e(amps(setting.output_a))}</span></p>"
    )


def _not_fit(view: RigView, *, sheet: bool) -> str:
    """Return why nothing is turned to; `sheet` tells whether the rig has a commissioning sheet of that name."""
    text, remedy = view.why_not or ("It serves no class of these data.", "Ask for a plan before it is sent out.")
    if view.fitness == "not_fit":
        head, after = "Not fit: leave it", "No mark, no minutes: nothing is plugged into it before that is mended."
    else:
        head, after = "Serves nothing as it is", "No mark, no minutes: ask for a plan first."
    block = notice("cannot_serve", head, f"<p>{e(text)}</p><p><b>{e(remedy)}</b></p><p>{after}</p>")
    stops = [finding for finding in view.findings if finding.level == "stop" and finding.text != text]
    others = bullets(f"{e(finding.text)} <b>{e(finding.remedy)}</b>" for finding in stops)
    way = link(f"../rigs/{view.rig.id}-sheet.html", f"rigs/{view.rig.id}-sheet.html")
    then = f"<p>What is mended first, and what is tested then: {way}.</p>" if sheet else ""
    return block + (section("Also", "also", others) if others else "") + then


def _fit(dataset: Dataset, view: RigView, served: Sequence[Pair]) -> str:
    largest = max(served, key=lambda pair: (pair.plan.current_a or 0, pair.plan.power_meter_kw or 0))
    sections = [
        section(_turn(view), "marks", _marks(dataset, view, largest.plan, served)),
        section("Watch", "watch", _watch(largest.plan)),
        section("Count out, count in", "count", _count(dataset, view)),
        section("Plugged in and nothing happens", "nothing", _nothing(view, largest.plan)),
        section("Give up when", "give-up", bullets(e(line) for line in (HOW_TO_STOP, *_abort(served)))),
        section("Not there, not that vehicle", "refused", bullets(_refused(view))),
        section("Cautions of this rig", "cautions", bullets(_cautions(view, served))),
        section("What to say", "say", _say(view)),
    ]
    minutes = section(
        f"Minutes on site to allow, from {USUAL_START_PERCENT} % on the dash", "minutes", _minutes(dataset, served)
    )
    return f'<div class="cf">{"".join(sections)}</div>{minutes}'


# --------------------------------------------------------------------------------------------------------------- marks


def _turn(view: RigView) -> str:
    """Return the head of the marks: a unit that is set inside, or by tools, stays as it is."""
    if view.rig.evse.set_by in CHANGEABLE_ON_SITE:
        return "Turn to, then read back"
    return "Leave its mark, read it back"


def _ways(plan: Plan, served: Sequence[Pair]) -> Iterator[str]:
    """Yield each way that is held lower than the rest: its least mark, and the least amps at which to stop."""
    least: dict[str, Plan] = {}
    for pair in served:
        for each in (pair.plan, *(need.plan for need in pair.needs)):
            if each.path is None or each.setting is None or _stop_a(each) is None:
                continue
            way = each.path.connector_name if each.path.adapter_name is None else each.path.adapter_name
            if way not in least or (_stop_a(each) or 0) < (_stop_a(least[way]) or 0):
                least[way] = each
    for way, each in least.items():
        stop_a = _stop_a(each)
        assert each.setting is not None
        assert stop_a is not None
        if len(least) > 1 and stop_a < (_stop_a(plan) or 0):
            mark = f"mark {e(each.setting.mark)}, reads {e(amps(each.setting.read_back_a))}"
            yield f"<b>By {e(way)}: {mark}, stop above {e(amps(stop_a))}.</b>"


def _stop_a(plan: Plan) -> float | None:
    """Return the amps above which a plan says to stop."""
    return next((item.stop_above for item in plan.watch if item.unit == "A"), None)


def _marks(dataset: Dataset, view: RigView, plan: Plan, served: Sequence[Pair]) -> str:
    rig, setting = view.rig, view.setting
    rows = [
        Row(
            on=setting is not None and item.mark == setting.mark,
            cells=[
                Cell(
                    chosen(e(item.mark))
                    if setting is not None and item.mark == setting.mark
                    else f'<b class="f">{e(item.mark)}</b>'
                ),
                Cell(f'<b class="f">{number(item.output_a)}</b>', figure=True),
                Cell(_when(view, item)),
            ],
        )
        for item in sorted(rig.evse.settings, key=lambda item: item.output_a)
        if rig.evse.set_by in CHANGEABLE_ON_SITE or item.mark == rig.evse.setting_now
    ]
    site = f"{temperature(view.ambient_c)}, {feet(view.altitude_m)}" + (f", {view.fuel}" if view.fuel else "")
    forgets = "" if rig.evse.survives_power_cycle else " <b>Forgets it after a loss of power.</b>"
    notes = [f"Usual site: {e(site)}. It stands at mark {e(rig.evse.setting_now)}.{forgets}"]
    if plan.setting is not None and plan.setting.start_mark is not None:
        notes.append(f"<b>Plug in at mark {e(plan.setting.start_mark)}; steady for two minutes, then up.</b>")
    if rig.evse.set_by not in CHANGEABLE_ON_SITE:
        notes.append("<b>Set at the depot only, never opened at a roadside.</b>")
    notes += _ways(plan, served)
    if setting is None and view.why_not is not None:
        notes.append(f"<b>{e(view.why_not[0])}</b> {e(view.why_not[1])}")
    for fuel, bands in view.by_height.items():
        for band in (band for band in bands if band.mark is None):
            left = "small chargers alone, by a plan" if band.refused == "setting_too_high" else "<b>no mark</b>"
            notes.append(f"{e(fuel.capitalize())} {e(_heights(band.from_ft, band.to_ft))}: {left}.")
    for item in view.cables:
        told = f", the vehicle is told {e(amps(item.told_a))}" if item.told_a and item.told_a != item.output_a else ""
        mark = f"not above mark {e(item.mark)}{told}" if item.mark is not None else f"none: {e(item.refused or '')}"
        notes.append(f"{e(item.connector.name)}: {mark}.")
    heads: list[str | Cell] = ["Mark", Cell(f"A{NBSP}to{NBSP}car", figure=True), "When"]
    breakers = _by_breaker(outlet_marks(dataset, rig.id)) if isinstance(rig.source, SiteOutletSource) else ""
    return table("Marks of the unit", heads, rows) + f'<p class="n">{"<br>".join(notes)}</p>' + breakers


def _when(view: RigView, item: Setting) -> str:
    """Return where a mark is the highest one that may be set for any vehicle."""
    setting = view.setting
    if setting is not None and item.mark == setting.mark:
        here = ["<b>highest at the usual site</b>"]
    elif setting is None:
        here = []
    else:
        here = ["allowed" if item.output_a < setting.output_a else "<b>never here</b>"]
    # A source that thins with no height has one band: it says nothing more.
    moves = any(len(bands) > 1 for bands in view.by_height.values())
    for fuel, bands in view.by_height.items():
        mine = [band for band in bands if band.mark == item.mark] if moves else []
        for band in mine:
            highest = "highest " if here == ["allowed"] else ""
            here.append(e(f"{highest}on {fuel} {_heights(band.from_ft, band.to_ft)}"))
    return "; ".join(here) or "by a plan alone"


def _heights(from_ft: int, to_ft: int) -> str:
    """Return a band of heights; each step of the table stands for all below it, down to the step before."""
    step_ft = ALTITUDE_STEPS_FT[1]
    if to_ft == 0:
        return "at sea level"
    if from_ft == 0:
        return f"to {to_ft:,}{NBSP}ft"
    if to_ft >= ALTITUDE_STEPS_FT[-1]:
        return f"above {from_ft - step_ft:,}{NBSP}ft"
    return f"{from_ft - step_ft:,} to {to_ft:,}{NBSP}ft"


def _by_breaker(found: Sequence[OutletMark]) -> str:
    """Return the mark behind each breaker that is read at the panel, an outlet a row."""
    breakers_a = sorted({item.breaker_a for item in found if item.mark is not None})
    by_outlet: dict[str, dict[float, OutletMark]] = {}
    for item in found:
        by_outlet.setdefault(item.outlet.configuration, {})[item.breaker_a] = item
    rows = []
    for outlet, items in by_outlet.items():
        lead = next((item.lead for item in items.values() if item.lead is not None), None)
        way = "" if lead is None else ' <span class="n">by its lead</span>'
        first = Cell(name(outlet) + way)
        if all(item.mark is None for item in items.values()):
            why = next((item.refused for item in items.values() if item.refused), "")
            rows.append([first, Cell(f"<b>never:</b> {e(why)}", span=len(breakers_a))])
            continue
        marks = [items[breaker_a].mark if breaker_a in items else None for breaker_a in breakers_a]
        rows.append([first, *(Cell(f'<b class="f">{e(mark)}</b>' if mark else "–", figure=True) for mark in marks)])
    heads: list[str | Cell] = ["Breaker, read at the panel"]
    heads += [Cell(f"{number(breaker_a)}{NBSP}A", figure=True) for breaker_a in breakers_a]
    return table("Not above mark, by outlet and breaker", heads, rows)


# --------------------------------------------------------------------------------------------------------------- count


def _count(dataset: Dataset, view: RigView) -> str:
    rig = view.rig
    rows: list[list[Cell]] = []
    for variant in rig.by_cable:
        cable = variant.evse.cable
        connector = dataset.connectors[cable.connector].name.removesuffix(" connector")
        rows.append(_counted(f"Cable {connector}, {amps(cable.rating_a)}", ""))
    kept: list[tuple[Adapter | Lead, str]] = [
        *((dataset.adapters[key], "") for key in rig.adapters),
        *((dataset.adapters[key], "at the depot") for key in rig.adapters_at_depot),
        *((dataset.leads[key], "") for key in rig.leads),
        *((dataset.leads[key], "at the depot") for key in rig.leads_at_depot),
    ]
    for item, where in kept:
        against = lead_never(dataset, item) if isinstance(item, Lead) else never(item)
        if against is None:
            rows.append(_counted(f"Lead {item.name}" if isinstance(item, Lead) else item.name, where))
            continue
        place = f"{where}: " if where else ""
        rows.append([Cell(name(item.name)), Cell(f"{place}<b>never used</b>, stays in its box", span=2)])
    return table("What is signed out and in", ["Part", "Out", "In"], rows)


def _counted(part: str, where: str) -> list[Cell]:
    there = f' <span class="n">{where}</span>' if where else ""
    return [Cell(name(part) + there), Cell(BOX), Cell(BOX)]


# --------------------------------------------------------------------------------------------- watch, minutes, give up


def _watch(plan: Plan) -> str:
    setting = plan.setting
    assert setting is not None  # chosen among those that have one
    rows = []
    for item in plan.watch:
        stops = [f"below{NBSP}{math.ceil(item.stop_below)}"] if item.stop_below is not None else []
        stops += [f"above{NBSP}{rounded_down(item.stop_above):g}"] if item.stop_above is not None else []
        low, high = (math.floor(item.low), math.floor(item.high)) if item.unit == "V" else (item.low, item.high)
        band = f"{rounded_down(low):g} to {rounded_down(high):g}"
        rows.append(
            [
                Cell(e(WATCHED.get(item.what, f"{item.what}, {item.unit}"))),
                Cell(f'<b class="f">{e(band)}</b>', figure=True),
                Cell(f"<b>{', <br>'.join(stops)}</b>" if stops else "–", figure=True),
            ]
        )
    heads: list[str | Cell] = ["What", Cell("Should read", figure=True), Cell("Stop", figure=True)]
    note = (
        f'<p class="n">At mark {e(setting.mark)} with the largest draw, {e(plan.vehicle_name)}. A smaller charger draws '
        "less all along: no fault. At a lower mark stop above that mark's own amps.</p>"
    )
    return table("What the meter should read, and when to stop", heads, rows) + note


def _abort(served: Sequence[Pair]) -> list[str]:
    """Return the lines at which any call with this rig ends; one figure that differs by class is given from least to most."""
    lines: dict[str, list[str]] = {}
    for pair in served:
        for item in pair.plan.abort:
            lines.setdefault(FIGURE.sub("#", item.text), []).append(item.text)
    return [_of_all(key, sorted(set(texts), key=_largest_figure)) for key, texts in lines.items()]


def _of_all(key: str, texts: Sequence[str]) -> str:
    """Return one line for every class: with its one figure from least to most, else the one with the largest."""
    if len(texts) == 1 or key.count("#") != 1:
        return texts[-1]
    return key.replace("#", f"{_largest_figure(texts[0]):g} to {_largest_figure(texts[-1]):g} (by class)")


def _largest_figure(text: str) -> float:
    return max((float(figure) for figure in FIGURE.findall(text)), default=0.0)


def _minutes(dataset: Dataset, served: Sequence[Pair]) -> str:
    rows = []
    for pair in _commonest(served)[:CLASSES_SHOWN]:
        plan = pair.plan
        assert plan.current_a is not None
        assert plan.power_meter_kw is not None
        needs = {need.miles: need for need in pair.needs}
        rows.append(
            [
                Cell(e(plan.vehicle_name)),
                Cell(number(rounded_down(plan.current_a)), figure=True),
                Cell(kilowatts(plan.power_meter_kw).removesuffix(" kW"), figure=True, wide=True),
                *(Cell(_allow(dataset, pair, needs.get(miles)), figure=True) for miles in USUAL_MILES),
            ]
        )
    heads: list[str | Cell] = [
        "Class",
        Cell("A", figure=True),
        Cell("kW", figure=True, wide=True),
        *(Cell(f"{miles} mi", figure=True) for miles in USUAL_MILES),
    ]
    note = (
        f'<p class="n">Nine of ten take no longer, from {USUAL_START_PERCENT} % on the dash, arriving with '
        f"{USUAL_START_PERCENT} %; the percent is where to release, and makes at least those miles in nine of ten. Usual "
        "site, mixed road in its air. Tow: hours on site, a tow to a charger may be the quicker help. –: not served, or too "
        "long to promise.</p>"
    )
    return table("Minutes on site to allow, and the percent to release at", heads, rows) + note


def _commonest(served: Sequence[Pair]) -> list[Pair]:
    """Return the pairs that give minutes, the commonest classes first, the others as the data list them."""
    rank = {key: number for number, key in enumerate(COMMONEST_CLASSES)}
    with_minutes = [pair for pair in served if any(need.minutes_on_site is not None for need in pair.needs)]
    return sorted(with_minutes, key=lambda pair: rank.get(pair.vehicle, len(rank)))


def _allow(dataset: Dataset, pair: Pair, need: NeedMinutes | None) -> str:
    """Return the minutes that nine of ten take at most, with the percent to release at."""
    none = '–<span class="vh"> not served</span>'
    if need is None or need.minutes_on_site is None or need.plan.soc_release is None:
        return none
    if any(caution.code == LONG_STAY for caution in need.plan.cautions):
        return "tow"
    minutes = allow_minutes(dataset, pair.rig, pair.vehicle, need.miles)
    if minutes is None:
        return none
    return f'<b class="f">{minutes}</b> <span class="n">{100 * need.plan.soc_release:.0f}{NBSP}%</span>'


# ------------------------------------------------------------------------------------------------------ cautions, words


def _nothing(view: RigView, plan: Plan) -> str:
    """Return the ladder of looks in a few words each; what this rig has no means for is left out."""
    without = set()
    if view.rig.source.kind != "generator" or view.rig.evse.set_by not in CHANGEABLE_ON_SITE:
        without.add("lower")
    if not view.rig.adapters:
        without.add("adapter")
    set_again = ""
    if plan.setting is not None and view.rig.evse.set_by in CHANGEABLE_ON_SITE:
        set_again = f"set to mark {plan.setting.start_mark or plan.setting.mark}, "
    looks = [
        NOTHING_IN_SHORT[look.code].format(set_again=set_again) for look in NOTHING_HAPPENS if look.code not in without
    ]
    return f'<ol class="nh">{"".join(f"<li>{e(words)}</li>" for words in looks)}</ol>'


def _refused(view: RigView) -> Iterator[str]:
    """Yield what the planner refuses whatever a call says: where this rig may not work, and at which vehicle."""
    engine = view.rig.source.engine
    there = [
        rule
        for rule in PLACE_RULES
        if rule.level == "refuse" and (rule.code == TRAFFIC_RULE or (engine and rule.code.startswith(ENGINE_RULES)))
    ]
    yield f"<b>Not there:</b> {e(_situations(there))}."
    yield f"<b>A shoulder:</b> only out of traffic, {SHOULDER_CAP_MIN} minutes on site at most; no key, no charge."
    vehicle = [rule for rule in CONDITION_RULES if rule.level == "refuse" and rule.code not in HELD_UP_BY]
    yield f"<b>Not that vehicle:</b> {e(_situations(vehicle))}."


def _situations(rules: Iterable[Rule]) -> str:
    """Return situations in one line; what all of them begin with is said once, by the words before."""
    words = [rule.situation.removeprefix("Our engine, and ").removesuffix(".") for rule in rules]
    return "; ".join(text[0].lower() + text[1:] for text in words)


def _cautions(view: RigView, served: Sequence[Pair]) -> Iterator[str]:
    """Yield the cautions of the rig's own plans, and what its kind of source asks for."""
    found: dict[str, str] = {}
    for pair in served:
        for plan in (pair.plan, *(need.plan for need in pair.needs)):
            for caution in plan.cautions:
                if caution.code in RIG_CAUTIONS:
                    found.setdefault(caution.code, caution.text)
    for code in RIG_CAUTIONS:
        if code in found:
            yield e(found[code])
    yield "Feel every plug and coupler at 10 and at 30 minutes, glove off, back of the hand first."
    source = view.rig.source
    if isinstance(source, SiteOutletSource):
        yield "Ask whose outlet it is; read its breaker at the panel; everything else on that circuit off."
    if isinstance(source, StoredSource):
        home = " and the way home" if source.way_home_kwh else ""
        yield f"Its own battery stops at {100 * source.soc_floor:.0f} %{home}; colder air leaves less."


def _by_phone(rig_id: str, address: str, qr_modules: QrModules | None) -> str:
    """Return the way to a call with the rig: a code for a camera, and the same link in words for whoever has to type it."""
    page = f"index.html#v={ADDRESS_FORM}&rig={rig_id}"
    words, code = "Type the link", ""
    if qr_modules is not None:
        words, code = "Point a phone's camera at the code, or type the link", _code(qr_modules(f"{address}/{page}"))
    return section(
        "This rig on a phone",
        "by-phone",
        f'<div class="qc" data-search-exclude>{code}<p>{e(words)}: a call with this rig chosen, answered on the phone.<br>'
        f'<a class="any" href="../{e(page)}">{e(f"{address}/{page}")}</a></p></div>',
    )


def _code(modules: Sequence[Sequence[int]]) -> str:
    """Return a QR code as a drawing, dark on white whatever the page: many readers take nothing else."""
    size = len(modules) + 2 * QUIET
    runs = []
    for row, line in enumerate(modules, QUIET):
        column = QUIET
        for dark, run in groupby(line):
            length = len(list(run))
            if dark:
                runs.append(f"M{column} {row}h{length}v1h-{length}z")
            column += length
    return (
        f'<svg class="qr" role="img" aria-label="QR code of the link" viewBox="0 0 {size} {size}" '
        f'shape-rendering="crispEdges"><rect width="{size}" height="{size}" fill="#fff"/>'
        f'<path fill="#000" d="{"".join(runs)}"/></svg>'
    )


def _say(view: RigView) -> str:
    engine = view.rig.source.engine
    out = " everybody stays 20 feet or more away from our engine and nobody sits in the vehicle," if engine else ""
    return (
        f"<blockquote>Please allow up to {BLANK} minutes from when we arrive. Then your dash should show {BLANK} percent: "
        f"that takes you at least {BLANK} miles in nine of ten cases. Go by the percent, not by the miles it shows. While "
        f"we charge,{out} heat and cooling of the vehicle stay off, and the key is at hand.</blockquote>"
    )
