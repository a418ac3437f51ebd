"""The pages of safety by situation: what to ask, what is refused and why, what instead, what is worth a try.

They are made of the planner's own rules of place and of the vehicle's state, so that a page and a plan never differ. What
a page adds is whom it is for: its title, everyday words for the search, and a sentence to say.
"""

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import get_args

from planner.condition import RULES as CONDITION_RULES
from planner.condition import Condition, assumed_of_condition
from planner.figures import temperature
from planner.place import RULES as PLACE_RULES
from planner.place import Level, Place, Rule, assumed_of_place
from planner.publish.markup import (
    Cell,
    Page,
    anchored,
    bullets,
    e,
    link,
    number,
    section,
    source_anchor,
    table,
    verdict_mark,
)
from planner.reach import DROP_AND_SLACK_M, USUAL_GAP_M, Side, reach_m, required_reach_m
from planner.record_base import Spread
from planner.records import BODY_SAID, PLACE_WORDS, Dataset, GeneratorSource, Rig, StoredSource
from planner.roadside import ALWAYS_ABORT, ENGINE_ABORT, FUEL_ASK, FUEL_FIRST_CAUTION, NOTHING_HAPPENS
from planner.tables import Pair
from planner.units import FT_PER_M

__all__ = ["SITUATIONS", "Situation", "safety_pages"]

SIDES: tuple[Side, ...] = get_args(Side)
ROUNDING_FT = 1e-6  # keeps 21 ft from becoming 20 by a rounding bit
OPEN_CHOICE = ": ...?"  # a question that ends in the places of a call
COMMON_PRACTICE = "common practice, no source"
# How a rule's level is shown: as the verdict that it brings.
LEVEL_VERDICTS: dict[Level, tuple[str, str]] = {
    "refuse": ("cannot_serve", "Refused"),
    "ask": ("ask_first", "Ask first"),
    "try": ("try", "Try"),
    "change": ("serve_with_changes", "Yes, with a limit"),
}
LEVEL_HEADS: dict[Level, str] = {
    "refuse": "What is refused, and what instead",
    "try": "What is worth a try",
    "change": "What is done with a limit",
}
# What fills the words in braces of a look that a page shows without a call.
LOOK_WORDS = {
    "adapter_too": ", the adapter too",
    "bond": "the source, or at the site's service,",
    "lower": "the next below",
    "other_adapter": ", then another one at its own mark",
    "set_again": "set and read back again",
}


@dataclass(frozen=True, slots=True)
class Situation:
    """One page: a situation as somebody on the telephone tells it, and the rules that decide it."""

    key: str
    title: str
    lead: str
    rules: tuple[str, ...]  # codes of the rules of place and of the vehicle
    say: str
    tags: tuple[str, ...]
    ask: tuple[str, ...] = ()  # what no rule asks: it chooses among them
    more: tuple[tuple[str, str], ...] = ()  # anchor on the page of safety, words


SITUATIONS = (
    Situation(
        "indoors-and-under-a-roof",
        "Indoors and under a roof",
        "A garage, a parking structure, a car port, a canopy, below ground: the exhaust of an engine stays there and kills.",
        ("engine_indoors", "engine_underground", "engine_under_roof", "place_not_known", "permission_not_known"),
        "Our engine cannot run in there, not for a minute. Can it be rolled out into the open, well away from doors and "
        "windows? If not, we look for a rig without an engine, or a tow.",
        (
            "parking garage",
            "garage",
            "parking structure",
            "parking deck",
            "parking ramp",
            "underground",
            "basement",
            "car port",
            "carport",
            "canopy",
            "awning",
            "porch",
            "tarp",
            "warehouse",
            "barn",
            "shed",
            "roof",
            "indoors",
            "inside",
        ),
        (
            "Is there anything overhead: a roof, a deck, a canopy? Does it roll by hand, and is there level ground outside?",
        ),
        (("carbon-monoxide", "Carbon monoxide"),),
    ),
    Situation(
        "people-and-openings",
        "People and openings near the engine",
        "Exhaust gets in through a door, a window or a vent, and fills a cabin in minutes.",
        ("engine_near_openings", "engine_near_people", "clearance_not_known"),
        "While our engine runs nobody may sit in the vehicle, nor in any other one within 20 ft. Is there a warm place to "
        "wait, or a vehicle that can stand well away?",
        (
            "window",
            "door",
            "vent",
            "house",
            "building",
            "apartment",
            "motel",
            "people",
            "children",
            "sitting in the car",
            "waiting in the car",
            "sleeping",
            "exhaust",
            "fumes",
            "carbon monoxide",
            "CO alarm",
            "headache",
            "distance",
            "20 ft",
        ),
        more=(("carbon-monoxide", "Carbon monoxide"),),
    ),
    Situation(
        "shoulder-and-traffic",
        "Shoulder and traffic",
        "Moving traffic comes before every other thing, the charge included.",
        ("in_traffic", "traffic_not_known", "shoulder"),
        "If you can do it safely, get out on the side away from the traffic and behind a barrier; if not, stay belted in, hazard "
        "lights on. If it is in a lane, call 911 now: we come when it is off the road.",
        (
            "highway",
            "freeway",
            "interstate",
            "motorway",
            "roadside",
            "road",
            "lane",
            "breakdown lane",
            "ramp",
            "bridge",
            "tunnel",
            "police",
            "911",
            "hazard lights",
            "tow",
        ),
        (
            "Which road, which direction, what is the next marker or exit?",
            "Does it still roll: can it be pushed or towed?",
        ),
        (("on-the-road", "On the road"),),
    ),
    Situation(
        "crash-fire-water",
        "Crash, fire, water, warning",
        "What may have hurt the battery where nobody sees it. The planner refuses all of it.",
        ("smoke", "water", "crash", "high_voltage_warning", "danger_not_known"),
        "Please keep well away from it, upwind, and keep others away. If there is smoke, a smell or a hissing sound, call "
        "911 now. We do not charge it; we help to find a tow.",
        (
            "accident",
            "collision",
            "hit",
            "deer",
            "curb",
            "smoke",
            "smoking",
            "burning",
            "smell",
            "hissing",
            "popping",
            "flood",
            "flooded",
            "water",
            "ford",
            "submerged",
            "salt water",
            "warning light",
            "red light",
            "battery warning",
            "stop warning",
            "fire department",
        ),
        more=(("vehicles-not-to-charge", "Vehicles not to charge"),),
    ),
    Situation(
        "wet-frozen-locked-port",
        "Wet, frozen, locked or broken port",
        "What goes into a port must go in by itself, dry and whole.",
        ("port_damaged", "port_wet", "port_frozen", "port_locked"),
        "Please do not pry at it and put nothing hot on it. If the vehicle can heat its cabin, switch that on now: it warms "
        "the port too. Have the key there, and the owner's manual.",
        (
            "frozen",
            "ice",
            "iced",
            "snow",
            "frozen shut",
            "charge door",
            "flap",
            "stuck",
            "does not open",
            "will not open",
            "jammed",
            "broken",
            "burnt",
            "melted",
            "rain",
            "wet inside",
            "de-icer",
            "hair dryer",
            "hot water",
            "latch",
        ),
        ("What does the port look like inside: dry, whole, free of ice and dirt?",),
        (("wet-snow-and-ice", "Wet, snow and ice"),),
    ),
    Situation(
        "dead-dash-and-12-v",
        "Dead dash and the 12 V battery",
        "Two batteries can be empty, and each needs something else. A low percent, a turtle or dashes say nothing of the 12 V "
        "one; a dark dash does not say which.",
        ("which_battery", "twelve_volt_flat", "long_dead"),
        "Please press the unlock button and look: does the dome light come on, do the locks move, do the hazard lights blink? "
        "When did it last drive, and what did the dash show then?",
        (
            "dead",
            "dead battery",
            "12 volt",
            "12V",
            "twelve volt",
            "auxiliary battery",
            "jump start",
            "jumper cables",
            "jump box",
            "dark",
            "black screen",
            "dashes",
            "turtle",
            "no lights",
            "will not wake",
            "bricked",
            "stood for months",
            "winter storage",
            "parked for weeks",
        ),
        ("How long has it stood, and what did the dash last show?",),
        (("vehicles-not-to-charge", "Vehicles not to charge"),),
    ),
    Situation(
        "no-key",
        "No key, or the key is away",
        "Without a key it cannot be unlocked, put in Park or released.",
        ("no_key", "key_away"),
        "We need the key, the card or the phone that opens it, and a word from its owner, when we come.",
        ("key", "keys", "fob", "card", "phone", "locked out", "lost key", "locked", "owner", "rental"),
    ),
    Situation(
        "hybrids-and-fuel",
        "Hybrids: ask for fuel first",
        "A vehicle with an engine of its own drives on fuel: a can, or nothing at all, is the quicker help.",
        (),
        "Is there fuel in its tank? Then it drives without a charge, once it is switched on in the usual way. Not in a "
        "garage or under a roof: its own engine's exhaust kills too. Roll it out first.",
        (
            "hybrid",
            "plug-in hybrid",
            "PHEV",
            "range extender",
            "gas",
            "gasoline",
            "gas can",
            "out of gas",
            "fuel",
            "tank",
            "empty tank",
        ),
        more=(("fuel", "Fuel"),),
    ),
    Situation(
        "cold",
        "Cold",
        "A cold pack warms itself first; the percent may hardly move. Cabin heat comes out of what is stored.",
        ("port_frozen",),
        "It may take a while before the percent moves: the battery is warmed first. Please leave the cabin heat off while we "
        "charge, and wait somewhere warm.",
        (
            "winter",
            "freezing",
            "below zero",
            "snow",
            "cold battery",
            "cold pack",
            "does not rise",
            "slow",
            "heater",
            "preheat",
            "propane",
            "cold weather",
        ),
        ("How long has it stood in the cold, and how far did it drive before?",),
        (("wet-snow-and-ice", "Wet, snow and ice"), ("fuel", "Propane in the cold")),
    ),
    Situation(
        "quiet-hours-and-permission",
        "Quiet hours and permission",
        "Somebody runs the place, owns the outlet, sleeps next door.",
        ("no_permission", "permission_not_known", "quiet_hours"),
        "Who runs that place, and do they allow it? Our engine is loud; at night we ask first.",
        (
            "night",
            "noise",
            "loud",
            "campground",
            "campsite",
            "park",
            "hotel",
            "apartment",
            "landlord",
            "owner",
            "allowed",
            "security",
            "neighbors",
            "whose outlet",
        ),
        more=(("site-outlets", "Site outlets"),),
    ),
    Situation(
        "cable-reach",
        "Does the cable reach?",
        "Who may stand where, by the place of the port. Never an extension between couplers.",
        ("cable_too_short", "port_side_not_known"),
        "Which side is the charge door on, front or back? How near can our truck come, and to which side of the vehicle?",
        (
            "cable length",
            "too short",
            "extension",
            "extension cord",
            "reach",
            "far",
            "distance",
            "feet",
            "park",
            "nose in",
            "backed in",
            "parked between",
            "tight",
        ),
        more=(("cords-and-plugs", "Cords and plugs"),),
    ),
    Situation(
        "plugged-in-and-nothing-happens",
        "Plugged in and nothing happens",
        "What costs nothing and hurts nobody first, one look at a time, in this order.",
        (),
        "It is not charging yet; we look at a few things in turn. If it does not start in that time, another rig or a tow "
        "comes.",
        (
            "does not charge",
            "will not charge",
            "not charging",
            "no current",
            "no power",
            "nothing",
            "stops",
            "lets go",
            "blinks",
            "red light",
            "fault",
            "error",
            "code",
            "scheduled charging",
            "trips",
            "tripped",
            "GFCI",
        ),
        more=(("shock", "Shock, ground-fault devices"), ("adapters", "Adapters")),
    ),
)


def safety_pages(dataset: Dataset, pairs: Mapping[str, Sequence[Pair]]) -> Iterator[Page]:
    """Yield the list of situations and one page a situation; `pairs` are by rig, for what the cold adds."""
    yield _index(dataset)
    for situation in SITUATIONS:
        yield _page(dataset, situation, pairs)


def _rules(dataset: Dataset, codes: Iterable[str]) -> list[Rule]:
    """Return rules as a page shows them: the minutes of a try filled in, a call's own figures left open."""
    by_code = {rule.code: rule for rule in (*PLACE_RULES, *CONDITION_RULES)}
    found = []
    for code in codes:
        spread = _minutes(dataset, by_code[code])
        found.append(by_code[code].with_blanks(minutes=None if spread is None else math.ceil(spread.high)))
    return found


def _minutes(dataset: Dataset, rule: Rule) -> Spread | None:
    """Return the minutes that a try takes."""
    if rule.minutes is None:
        return None
    spread = getattr(dataset.rates, rule.minutes)
    assert isinstance(spread, Spread)
    return spread


# ------------------------------------------------------------------------------------------------------------ the list


def _index(dataset: Dataset) -> Page:
    rows = []
    for situation in SITUATIONS:
        cases = "".join(
            f"<li>{verdict_mark(*LEVEL_VERDICTS[rule.level])}: {e(rule.situation)}.</li>"
            for rule in _rules(dataset, situation.rules)
        )
        rows.append(
            f'<section class="ru"><h2><a href="{situation.key}.html">{e(situation.title)}</a></h2>'
            f"<p>{e(situation.lead)}</p>{f'<ul>{cases}</ul>' if cases else ''}</section>"
        )
    taken = [
        ("A rig with an engine", assumed_of_place(Place(), engine=True, site_outlet=False)),
        ("A rig without one", assumed_of_place(Place(), engine=False, site_outlet=False)),
        ("The vehicle", assumed_of_condition(Condition(), dash_dead=False)),
    ]
    assumed = bullets(f"<b>{e(of)}:</b> {e('; '.join(what))}." for of, what in taken if what)
    body = (
        '<p class="crumb" data-search-exclude><a href="index.html">Safety</a></p>'
        "<h1 data-search-exclude>Safety by situation</h1>"
        '<p class="lead">What a dispatcher hears, and what the planner makes of it. These pages and every plan come from the '
        "same rules. No option overrides a refusal.</p>"
        f'<div class="sits">{"".join(rows)}</div>'
        + section(
            "Taken for granted until somebody says otherwise",
            "assumed",
            assumed + '<p class="n">Each plan lists what it took for granted. Ask where it does not suit.</p>',
        )
    )
    return Page(
        "safety/situations.md",
        "Safety by situation",
        "What a dispatcher hears: asked, refused, tried, and what instead.",
        body,
        tags=("situations", "what to ask", "refused", "questions"),
        boost=0.7,
    )


# ------------------------------------------------------------------------------------------------------ one situation


def _page(dataset: Dataset, situation: Situation, pairs: Mapping[str, Sequence[Pair]]) -> Page:
    rules = _rules(dataset, situation.rules)
    parts = [
        '<p class="crumb" data-search-exclude><a href="index.html">Safety</a> / <a href="situations.html">By situation</a></p>',
        f"<h1 data-search-exclude>{e(situation.title)}</h1>",
        f'<p class="lead">{e(situation.lead)}</p>',
    ]
    asked = _asked(dataset, situation, rules)
    say = section("Say", "say", f"<blockquote>{e(situation.say)}</blockquote>")
    parts.append(_beside([section("Ask", "to-ask", asked)] if asked else [], [say]))
    for level, head in LEVEL_HEADS.items():
        found = [rule for rule in rules if rule.level == level]
        if found:
            inner = "".join(_rule(dataset, rule) for rule in found)
            parts.append(section(head, f"to-{level}", f'<div class="rus">{inner}</div>'))
    parts.append(_own_part(dataset, situation, pairs))
    if situation.more:
        ways = "; ".join(link(f"index.html#{anchor}", words) for anchor, words in situation.more)
        parts.append(f'<p class="n">More: {ways}.</p>')
    return Page(
        f"safety/{situation.key}.md",
        situation.title,
        f"{situation.title}: what to ask, what to say, what is refused and what instead.",
        "".join(parts),
        tags=situation.tags,
    )


def _beside(left: Sequence[str], right: Sequence[str]) -> str:
    if not left:
        return "".join(right)
    return f'<div class="sp"><div>{"".join(left)}</div><div>{"".join(right)}</div></div>'


def _asked(dataset: Dataset, situation: Situation, rules: Sequence[Rule]) -> str:
    """Return what to ask: the questions that decide by the rules, with why, then what chooses among the answers."""
    items = [
        f"<b>{e(rule.question.replace(OPEN_CHOICE, '?'))}</b><br>{e(rule.text)} {e(rule.remedy)} "
        f'<span class="n">When: {_lower(e(rule.situation))}. {_source(dataset, rule.source)}</span>'
        for rule in rules
        if rule.level == "ask"
    ]
    if situation.key == "hybrids-and-fuel":
        items.append(f"<b>{e(FUEL_ASK.question)}</b>")
    items += [f"<b>{e(question)}</b>" for question in situation.ask]
    return bullets(items)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _rule(dataset: Dataset, rule: Rule) -> str:
    """Return one rule as a block: the case, how it is judged, why, what instead, and what a try takes."""
    parts = [
        anchored(3, rule.situation, f"rule-{rule.code.replace('_', '-')}"),
        f"<p>{verdict_mark(*LEVEL_VERDICTS[rule.level])}: {e(rule.text)} <b>{e(rule.remedy)}</b></p>",
    ]
    facts = []
    spread = _minutes(dataset, rule)
    if spread is not None:
        facts.append(f"Allow <b>{math.ceil(spread.high)} min</b> for it, likely {math.ceil(spread.typical)}.")
    if rule.bring:
        facts.append(f"Bring {e(' and '.join(rule.bring))}.")
    if rule.give_up:
        facts.append(e(rule.give_up))
    return f'<section class="ru">{"".join(parts)}{bullets(facts)}<p class="n">{_source(dataset, rule.source)}</p></section>'


def _source(dataset: Dataset, source: str) -> str:
    """Return a rule's source in words, each id in it as a link to what was read; what has none says so."""
    ids = [key for key in dataset.sources if re.search(rf"(?<![\w-]){re.escape(key)}(?![\w-])", source)]
    if not ids:
        return f"Source: {link('../sources/index.html#bases', source)}."
    first = min(ids, key=source.index)
    rest = source[source.index(first) + len(first) :].lstrip(",; ")
    others = [key for key in ids if key != first]
    for key in others:
        rest = rest.replace(key, dataset.sources[key].title.lower(), 1)
    words = link(f"../sources/index.html#{source_anchor(first)}", dataset.sources[first].title)
    return f"Source: {words}{f'; {e(rest)}' if rest else ''}."


# ----------------------------------------------------------------------------------------------- what one page adds


def _own_part(dataset: Dataset, situation: Situation, pairs: Mapping[str, Sequence[Pair]]) -> str:
    """Return what one situation shows besides its rules."""
    if situation.key == "cable-reach":
        return _reach_tables(dataset, pairs)
    if situation.key == "plugged-in-and-nothing-happens":
        return _looks(dataset)
    if situation.key == "hybrids-and-fuel":
        text = f"<p><b>{e(FUEL_FIRST_CAUTION.text)}</b></p>" + _with_engine(dataset)
        return section(
            "What instead", "instead", f'{text}<p class="n">{_source(dataset, FUEL_FIRST_CAUTION.source)}</p>'
        )
    if situation.key == "cold":
        return _cold(dataset, pairs)
    if situation.key == "quiet-hours-and-permission":
        return _noise(dataset)
    return ""


def _with_engine(dataset: Dataset) -> str:
    classes = [vehicle for vehicle in dataset.vehicle_classes.values() if vehicle.engine]
    ways = "; ".join(link(f"../vehicles/{vehicle.id}.html", vehicle.name) for vehicle in classes)
    return f"<p>Classes with an engine of their own: {ways}.</p>" if ways else ""


def _looks(dataset: Dataset) -> str:
    looks = "".join(f"<li>{e(look.text.format(**LOOK_WORDS))}</li>" for look in NOTHING_HAPPENS)
    give_up = bullets(e(item.text) for item in (*ALWAYS_ABORT, ENGINE_ABORT))
    source = f'<p class="n">{_source(dataset, COMMON_PRACTICE)}</p>'
    return _beside(
        [section("Look, in this order", "looks", f'<ol class="steps">{looks}</ol>{source}')],
        [section("Give up when", "abort", give_up)],
    )


def _noise(dataset: Dataset) -> str:
    """Return how loud each rig with an engine is, as far as it was measured."""
    rows = []
    for rig in dataset.rigs.values():
        if not rig.source.engine:
            words = "no engine"
        elif isinstance(rig.source, GeneratorSource) and rig.source.noise_dba_7m is not None:
            words = f"{number(rig.source.noise_dba_7m)} dBA at 23 ft (7 m)"
        else:
            words = "engine, not measured"
        rows.append([Cell(link(f"../rigs/{rig.id}.html", rig.name)), Cell(e(words))])
    return section("How loud each rig is", "noise", table("Noise by rig", ["Rig", "Noise"], rows)) if rows else ""


def _cold(dataset: Dataset, pairs: Mapping[str, Sequence[Pair]]) -> str:
    """Return what the cold does to each class, by the plans of the rig with the coldest usual site, and to our stores."""
    rigs = [rig for rig in dataset.rigs.values() if any(pair.plan.setting is not None for pair in pairs[rig.id])]
    if not rigs:
        return ""
    rig = min(rigs, key=lambda rig: rig.usual_site.ambient_c)
    rows = []
    for pair in pairs[rig.id]:
        text = next((item.text for item in pair.plan.cautions if item.code == "cold_vehicle"), None)
        if pair.plan.setting is not None and text is not None:
            rows.append([Cell(link(f"../vehicles/{pair.vehicle}.html", pair.plan.vehicle_name)), Cell(e(text))])
    note = (
        f'<p class="n">At mark and site of {link(f"../rigs/{rig.id}.html", rig.name)}, '
        f"{e(temperature(rig.usual_site.ambient_c))}, with nothing said of how long it stood. Another site, and a pack that "
        "is colder, or still warm from driving, by a plan.</p>"
    )
    by_class = table("What the cold does", ["Class", "Plan says"], rows) + note
    return (section("What the cold does, by class", "by-class", by_class) if rows else "") + _stores(rigs)


def _stores(rigs: Sequence[Rig]) -> str:
    """Return what is left of a battery's power and energy in cold air, where a record states it."""
    rows = []
    for rig in rigs:
        if not isinstance(rig.source, StoredSource):
            continue
        for point in rig.source.in_the_cold:
            rows.append(
                [
                    Cell(link(f"../rigs/{rig.id}.html", rig.name)),
                    Cell(e(temperature(point.ambient_c))),
                    Cell(f'<b class="f">{number(100 * point.power_share)}</b>', figure=True),
                    Cell(f'<b class="f">{number(100 * point.energy_share)}</b>', figure=True),
                ]
            )
    heads: list[str | Cell] = ["Rig", "Air", Cell("Power<br>%", figure=True), Cell("Energy<br>%", figure=True)]
    body = table("What a store gives in the cold", heads, rows)
    return section("What our own batteries give in the cold", "stores", body) if rows else ""


def _reach_tables(dataset: Dataset, pairs: Mapping[str, Sequence[Pair]]) -> str:
    """Return how far each cable reaches, and how far it is to each place of a port from each side of a vehicle."""
    rigs = [rig for rig in dataset.rigs.values() if any(pair.plan.setting is not None for pair in pairs[rig.id])]
    cables = [(rig, variant.evse.cable) for rig in rigs for variant in rig.by_cable]
    by_cable = []
    for rig, cable in cables:
        connector = dataset.connectors[cable.connector].name.removesuffix(" connector")
        by_cable.append(
            [
                Cell(link(f"../rigs/{rig.id}.html", rig.name)),
                Cell(e(connector)),
                Cell(f"{cable.length_m * FT_PER_M:.0f}", figure=True),
                Cell(f'<b class="f">{_feet_down(reach_m(cable.length_m))}</b>', figure=True),
            ]
        )
    heads: list[str | Cell] = [
        "Rig",
        "Cable",
        Cell("Length<br>ft", figure=True),
        Cell("Reaches<br>ft", figure=True),
    ]
    slack = f"{DROP_AND_SLACK_M * FT_PER_M:.0f} ft"
    note = f'<p class="n">Length less {slack} for the drop at both ends and slack: a judgement.</p>'
    first = section("How far each cable reaches", "cables", table("Cables", heads, by_cable) + note)
    # The first cable of a rig is the one on its holder; another one, for another port, may be shorter.
    reaches_m = [reach_m(rig.evse.cable.length_m) for rig in rigs]
    return first + _by_place(dataset, reaches_m)


def _by_place(dataset: Dataset, reaches_m: Sequence[float]) -> str:
    """Return the feet from a truck on each side to each place of a port that a class of the data has."""
    found = dict.fromkeys(
        (vehicle.body, place.at)
        for vehicle in dataset.vehicle_classes.values()
        for port in vehicle.ports
        for place in port.places
    )
    rows = []
    for body, at in sorted(found):
        cells = [Cell(e(f"{_body_word(body)}, {PLACE_WORDS[at]}"))]
        for side in SIDES:
            needed_m = required_reach_m(body=body, place=at, side=side, gap_m=USUAL_GAP_M)
            cells.append(Cell(_needed(needed_m, reaches_m), figure=True))
        rows.append(cells)
    heads: list[str | Cell] = ["Body, port"]
    heads += [Cell(side.capitalize(), figure=True) for side in SIDES]
    note = (
        f'<p class="n">Feet of cable along the ground with our truck {USUAL_GAP_M * FT_PER_M:.0f} ft from that side of the '
        "vehicle; left is the driver's left, looking forward. Unmarked: the first cable of every rig reaches; <b>some</b>: of "
        "some; <b>none</b>: of none. Typical sizes of a body, a judgement: a longer vehicle takes more.</p>"
    )
    return section(
        "Where our truck may stand, by port", "stand", table("Feet of cable by port and side", heads, rows) + note
    )


def _body_word(body: str) -> str:
    """Return a body as a row's head."""
    return "SUV" if body == "suv" else BODY_SAID.get(body, body).replace("snow-", "snow ").capitalize()


def _needed(needed_m: float, reaches_m: Sequence[float]) -> str:
    """Return the feet needed, never less, and which cables do not reach that far."""
    feet = f'<b class="f">{math.ceil(needed_m * FT_PER_M - ROUNDING_FT)}</b>'
    reach = sum(needed_m <= each_m for each_m in reaches_m)
    if reach == len(reaches_m):
        return feet
    return f'{feet}<br><span class="n">{"some" if reach else "none"}</span>'


def _feet_down(length_m: float) -> int:
    return math.floor(length_m * FT_PER_M + ROUNDING_FT)
