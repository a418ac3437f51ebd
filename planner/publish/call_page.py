"""The front page: the call, asked in speaking order, and the place where its answer appears.

The page is whole without a script but for the answer: then it says so, and the lists below lead on. Squares, steps and
names come from the planner; which of them an address may hold is read off this form.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from planner.lookup import ALTITUDE_STEPS_FT, AMBIENT_STEPS_F, SPEED_STEPS_MPH
from planner.place import PlaceKind
from planner.publish.call_tables import WORDS_PATH
from planner.publish.coupler_drawings import port_icon
from planner.publish.coupler_words import inlets_in_order, short
from planner.publish.markup import Cell, Page, bullets, e, fit_mark, link, name, section, table
from planner.publish.path_drawing import path_drawing
from planner.publish.vehicle_pages import BODY_WORDS
from planner.records import BATTERY_WORDS, BUILT_WORDS, Dataset, GeneratorSource
from planner.tables import Pair, RigView

__all__ = ["DRAWINGS_PATH", "PAGE_SCRIPTS", "call_drawings", "call_page"]

DRAWINGS_PATH = "call/paths.js"
# In the order in which they need each other.
PAGE_SCRIPTS = (
    "call/lookup.js",
    WORDS_PATH,  # made from the data, as the drawn ways are
    DRAWINGS_PATH,
    "call/bands.js",
    "call/sheet.js",
    "call/drawings.js",
    "call/qr.js",
    "call/state.js",
    "call/known.js",
    "call/answer.js",
    "call/page.js",
)
PLACE_SQUARES: dict[PlaceKind, str] = {
    "open_lot": "Open lot",
    "driveway": "Driveway",
    "street": "Street",
    "shoulder": "Shoulder",
    "open_ramp": "Open parking deck",
    "garage": "Garage, closed room",
    "car_port": "Car port, canopy",
    "underground": "Under ground",
}
BATTERY_SQUARES = {"small": "Under 30 kWh", "medium": "30 to 70", "large": "70 and more"}
CLIMB_STEPS_FT = tuple(range(0, 6001, 500))
QUARTERS = (("4", "Full"), ("3", "3/4"), ("2", "Half"), ("1", "1/4"), ("0", "Empty"), ("", "Not asked: full"))
CANS = (("4", "Full"), ("2", "Half"), ("0", "None"), ("", "Not asked: full"))
OFFERED_PORTS = 5  # at first; the rest unfolds
SOURCE_SQUARES = {
    "generator": "generator",
    "battery_inverter": "battery",
    "truck_export": "outlet of a truck",
    "site_outlet": "outlet of a site",
}
TANK = (("no", "There is fuel"), ("yes", "Empty"), ("", "Not asked"))
YES_NO_ASK = (("yes", "Yes"), ("no", "No"), ("", "Not asked"))


@dataclass(frozen=True, slots=True)
class _Row:
    """Some squares of one question: its name in the address, what it is called, and what may be chosen."""

    key: str
    label: str
    choices: Sequence[tuple[str, str]]  # value, finished HTML
    chosen: str = ""


def _squares(row: _Row) -> str:
    inner = "".join(
        f'<label><input type="radio" name="{e(row.key)}" value="{e(value)}"{" checked" if value == row.chosen else ""}>'
        f"<span>{html}</span></label>"
        for value, html in row.choices
    )
    return (
        f'<div class="cr" role="radiogroup" aria-label="{e(row.label)}" data-row="{e(row.key)}"><p class="cl" '
        f'aria-hidden="true">{e(row.label)}</p><div class="o">{inner}</div></div>'
    )


def _amount(key: str, label: str, most: int, step: int, *, least: int = 0, value: str = "") -> str:
    """Return a number with a button on either side, for a thumb in a glove."""
    return (
        f'<div class="st" data-row="{e(key)}"><button type="button" data-add="-{step}" aria-label="{step} less, '
        f'{e(label)}">&minus;</button><label><input name="{e(key)}" type="text" inputmode="numeric" enterkeyhint="next" '
        f'pattern="[0-9]*" maxlength="3" autocomplete="off" data-least="{least}" data-most="{most}" value="{e(value)}"><span>{e(label)}</span></label>'
        f'<button type="button" data-add="{step}" aria-label="{step} more, {e(label)}">+</button></div>'
    )


def _select(key: str, label: str, options: Iterable[tuple[str, str]]) -> str:
    inner = "".join(f'<option value="{e(value)}">{e(words)}</option>' for value, words in options)
    return (
        f'<div class="se" data-row="{e(key)}"><label>{e(label)} <select name="{e(key)}">{inner}</select></label></div>'
    )


def _question(number: int, anchor: str, said: str, body: str) -> str:
    return f'<fieldset id="{e(anchor)}" tabindex="-1"><legend><span class="qn" aria-hidden="true">{number}</span>{e(said)}</legend><a class="vh to" href="#answer">To the answer</a>{body}</fieldset>'


def _more(words: str, body: str) -> str:
    return f"<details><summary>{e(words)}</summary>{body}</details>"


def _plain(choices: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    return [(value, e(words)) for value, words in choices]


def _form(dataset: Dataset) -> str:
    questions = [
        ("q-rig", "Which of our rigs goes?", _rig(dataset)),
        (
            "q-safe",
            "“Are you safe, and is it out of moving traffic?”",
            _squares(_Row("traffic", "Out of moving traffic, room to work beside it", _plain(YES_NO_ASK)))
            + _squares(
                _Row(
                    "danger",
                    "“Any crash, water, smoke, smell, sound, or warning on the dash?”",
                    _plain(
                        (
                            ("none", "None of it"),
                            ("crash", "Crash"),
                            ("water", "Water"),
                            ("smoke", "Smoke, smell"),
                            ("warning", "Warning"),
                            ("unknown", "Cannot tell"),
                            ("", "Not asked"),
                        )
                    ),
                )
            ),
        ),
        ("q-place", "“Where does it stand? Is anything over it?”", _place()),
        ("q-vehicle", "“What vehicle is it? Does it take fuel too?”", _vehicle(dataset)),
        ("q-dash", "“What does the dash say?”", _dash()),
        ("q-need", "“Where must it get to? How cold is it?”", _need()),
        ("q-state", "“How long has it stood? Key, port, small battery?”", _state()),
        ("q-road", "How high it stands, and the road", _road()),
    ]
    inner = "".join(_question(number, *question) for number, question in enumerate(questions, 1))
    return (
        f'<form id="call" autocomplete="off" data-search-exclude>{inner}'
        '<p class="acts"><button type="button" id="new-call">New call</button></p>'
        '<p class="n">Not reckoned here, but on the command line by whoever keeps these pages: wind, cargo, a trailer, a '
        "descent, heat in the cabin while it charges, another outlet or breaker, a second vehicle, an adapter of the "
        "customer's, two weeks without charge.</p></form>"
    )


def _place() -> str:
    kinds = [*_plain(PLACE_SQUARES.items()), ("", "Not asked")]
    near = (("clear", "20 ft clear"), ("near", "Nearer"), ("", "Not asked"))
    people = (("away", "Nobody"), ("near", "Somebody"), ("", "Not asked"))
    return (
        _squares(_Row("at", "Place", kinds))
        + '<p class="cl" data-row="clear"><button type="button" class="sq" data-set="open=clear" data-also="people=away">'
        "Nothing and nobody within 20 ft of our engine</button></p>"
        + _squares(_Row("open", "Doors, windows, vents from our engine", _plain(near)))
        + _squares(_Row("people", "Anybody in a vehicle within 20 ft", _plain(people)))
        + _more(
            "Permission, quiet hours, how near we get",
            _squares(_Row("allowed", "Allowed by whoever runs the place, for so long", _plain(YES_NO_ASK)))
            + _squares(_Row("quiet", "Quiet hours", _plain(YES_NO_ASK)))
            + _amount("reach", "ft from our truck to the port", 200, 5),
        )
    )


def _vehicle(dataset: Dataset) -> str:
    met = inlets_in_order(dataset)
    used = {port.inlet for vehicle in dataset.vehicle_classes.values() for port in vehicle.ports}
    squares = []
    for inlet in met:
        if inlet.id not in used:
            continue
        face = dataset.faces.get(inlet.id)
        squares.append(
            (inlet.id, f"{port_icon(face) if face is not None else ''}<small>{name(short(inlet.name))}</small>")
        )
    first, rest = squares[:OFFERED_PORTS], squares[OFFERED_PORTS:]
    bodies = {vehicle.body for vehicle in dataset.vehicle_classes.values()}
    ports = [*first, *rest, ("", "Not asked")]
    return (
        '<div class="cf1"><label for="find-class">Class, in words</label><input id="find-class" type="search" maxlength="60" '
        'autocomplete="off" autocapitalize="off" spellcheck="false" aria-describedby="find-told">'
        '<p class="n" id="find-told" role="status">Such as “small hatch”, “pickup”, “city car”. Or by what is known of it:</p>'
        '<div class="o ol" id="find-list"></div>'
        '<p class="on1" id="chosen" hidden><b></b> <button type="button" id="other-class">Another class</button></p></div>'
        + _squares(_Row("port", "Its port", ports)).replace('class="o"', 'class="o op"')
        + f'<p class="n ask-port">{link("ports/index.html", "Tell the port by looking")}: pictures beside a hand and a coin.</p>'
        + '<div id="by-known">'
        + _squares(
            _Row(
                "body",
                "Body",
                [*_plain((key, words[0]) for key, words in BODY_WORDS.items() if key in bodies), ("", "Not asked")],
            )
        )
        + _squares(
            _Row(
                "built",
                "Built",
                [*_plain((word, word[:1].upper() + word[1:]) for word in BUILT_WORDS), ("", "Not asked")],
            )
        )
        + _squares(
            _Row(
                "battery",
                "Battery when new",
                [*_plain((word, BATTERY_SQUARES[word]) for word in BATTERY_WORDS), ("", "Not asked")],
            )
        )
        + _squares(_Row("door", "Drives on gasoline too: a fuel door tells", _plain(YES_NO_ASK)))
        + "</div>"
        + f'<div id="by-engine">{_squares(_Row("tank", "Its fuel tank", _plain(TANK)))}</div>'
    )


def _dash() -> str:
    kinds = (
        ("percent", "Percent"),
        ("miles", "Miles"),
        ("bars", "Bars"),
        ("turtle", "Turtle"),
        ("dashes", "Dashes"),
        ("dead", "Dark"),
        ("unknown", "Not asked"),
    )
    return (
        _amount("percent", "percent on the dash", 100, 1)
        + _squares(_Row("dash", "It shows", _plain(kinds), "unknown"))
        + _amount("shown", "miles on the dash", 999, 1)
        + _amount("bars", "bars lit", 20, 1)
        + _amount("of", "bars in all", 20, 1, least=1, value="12")
    )


def _need() -> str:
    wants = (
        ("home", "Home, or where it must go"),
        ("charger", "A fast charger"),
        ("to", "A percent"),
        ("minutes", "Has so many minutes"),
        ("usual", "Not asked"),
    )
    climbs = [
        ("", "Not asked: none"),
        *((str(step), f"{step:,} ft ({round(step * 0.3048):,} m)" if step else "None") for step in CLIMB_STEPS_FT),
    ]
    airs = [
        ("", "As usual at our rig's place"),
        *((str(step), f"{step} F ({round((step - 32) / 1.8)} C)") for step in AMBIENT_STEPS_F),
    ]
    return (
        _amount("home", "miles it must go", 999, 5, least=1)
        + _select("climb", "Climb on the way", climbs)
        + _select("air", "Air there", airs)
        + _amount("charger", "miles to a fast charger", 999, 5, least=1)
        + _squares(_Row("need", "It wants", _plain(wants), "usual"))
        + _squares(
            _Row(
                "fits",
                "That charger takes its port and is open",
                _plain((("yes", "Yes"), ("no", "No"), ("", "Not known"))),
            )
        )
        + _amount("to", "percent wanted", 100, 5, least=1, value="80")
        + _amount("minutes", "minutes it has, plugged in", 600, 15, least=1, value="45")
        + _squares(
            _Row(
                "keep",
                "Left on arrival",
                _plain((("", "Usual"), ("0", "0 %"), ("5", "5 %"), ("10", "10 %"), ("20", "20 %"), ("30", "30 %"))),
            )
        )
    )


def _state() -> str:
    packs = (("warm", "Just driven half an hour"), ("soaked", "Stood overnight"), ("unknown", "In between, not asked"))
    inside = (
        ("good", "Dry and whole"),
        ("wet", "Wet inside"),
        ("damaged", "Broken, burnt"),
        ("frozen", "Frozen shut"),
        ("locked", "Locked"),
        ("", "Not asked"),
    )
    key = (("here", "There"), ("away", "Somewhere else"), ("none", "None anywhere"), ("", "Not asked"))
    small = (("good", "Good"), ("flat", "Flat"), ("", "Not asked"))
    return (
        _squares(_Row("pack", "It has", _plain(packs), "unknown"))
        + _squares(_Row("key", "Key, card or phone", _plain(key)))
        + _squares(_Row("inside", "Port", _plain(inside)))
        + _squares(_Row("v12", "12 V battery", _plain(small)))
    )


def _road() -> str:
    heights = [
        ("", "As usual at our rig's place"),
        *((str(step), f"{step:,} ft ({round(step * 0.3048):,} m)") for step in ALTITUDE_STEPS_FT),
    ]
    speeds = [("mixed", "Mixed"), *((f"{step:.0f}", f"{step:.0f}") for step in SPEED_STEPS_MPH if step is not None)]
    return (
        _select("height", "Height of the place", heights)
        + _squares(_Row("speed", "Road, mph", _plain(speeds), "mixed"))
        + _squares(_Row("heat", "Cabin heat or cooling on the road", _plain((("on", "On"), ("off", "Off"))), "on"))
    )


def _rig(dataset: Dataset) -> str:
    rigs = list(dataset.rigs.values())
    fuels = list(
        dict.fromkeys(fuel for rig in rigs if isinstance(rig.source, GeneratorSource) for fuel in rig.source.fuels)
    )
    charges = [("100", "Full"), *((str(percent), f"{percent} %") for percent in (80, 60, 40, 20))]
    charges.append(("", "Not asked: full"))
    squares = [(rig.id, f"{name(rig.name)}<small>{SOURCE_SQUARES[rig.source.kind]}</small>") for rig in rigs]
    return (
        '<details id="rigs-to-choose" open><summary>Rig: <b id="rig-chosen">not chosen</b></summary>'
        + _squares(_Row("rig", "Rig", squares)).replace('class="o"', 'class="o orig"')
        + '<p class="n">The rig chosen here is remembered on this device alone; nothing is sent anywhere.</p></details>'
        + '<div id="on-board">'
        + _more(
            "Fuel and charge on board",
            _squares(
                _Row("fuel", "Runs on", [*_plain((fuel, fuel.capitalize()) for fuel in fuels), ("", "Its usual fuel")])
            )
            + _squares(_Row("own_tank", "Our tank", _plain(QUARTERS)))
            + _squares(_Row("own_cans", "Our spare cans", _plain(CANS)))
            + _squares(_Row("own_charge", "Our battery", _plain(charges))),
        )
        + "</div>"
    )


# ------------------------------------------------------------------------------------------------------------ the page


def call_page(
    dataset: Dataset, views: Mapping[str, RigView], pairs: Mapping[str, Sequence[Pair]], *, address: str | None
) -> Page:
    """Return the front page; `views` and `pairs` are by rig, `address` is where the pages will stand, if known."""
    held = f' data-address="{e(address)}"' if address is not None else ""
    body = (
        "<h1 data-search-exclude>Can we serve it, and how long?</h1>"
        '<noscript><p class="lead">Answers to a call need a script. Without one these lists lead on: vehicles, rigs, ports, '
        "cards.</p></noscript>"
        f'<div class="call" id="call-page"{held}>'
        f'<div class="ask">{_form(dataset)}</div>'
        '<div class="ans" id="answer" tabindex="-1" data-search-exclude><p class="vh" id="news" role="status"></p>'
        '<div id="notes"></div><div id="sheet"></div><div id="stay"></div><details id="share" class="np"><summary>Send this call to the crew, print'
        '</summary><div class="qc"></div></details><div id="rest"></div><div id="compared" class="np"></div><div id="print-link" class="po"></div></div>'
        '<a class="bar" id="bar" href="#answer" data-search-exclude hidden></a></div>' + _lists(dataset, views, pairs)
    )
    return Page(
        "index.md",
        "Call: verdict, minutes, what to plug",
        "Whether a rig can serve a vehicle, what to plug and set, how long it takes and what to tell the customer.",
        body,
        tags=("start", "home", "call", "plan", "minutes"),
        scripts=PAGE_SCRIPTS,
    )


def _lists(dataset: Dataset, views: Mapping[str, RigView], pairs: Mapping[str, Sequence[Pair]]) -> str:
    rows = []
    for rig_id, found in pairs.items():
        served = [pair for pair in found if pair.plan.verdict != "cannot_serve"]
        fastest = max((pair.plan.miles_added_per_hour or 0 for pair in found), default=0)
        rows.append(
            [
                Cell(link(f"rigs/{rig_id}.html", dataset.rigs[rig_id].name)),
                Cell(fit_mark(views[rig_id].fitness)),
                Cell(f'<b class="f">{len(served)}</b> of {len(found)}', figure=True),
                Cell(f'<b class="f">{fastest}</b>' if served else "–", figure=True),
            ]
        )
    rigs = table(
        "Rigs at a glance",
        ["Rig", "Judged", Cell("Classes", figure=True), Cell("Miles added<br>per hour, most", figure=True)],
        rows,
    )
    ways = (
        ("ports/index.html", "Which port is it"),
        ("vehicles/index.html", f"All {len(dataset.vehicle_classes)} classes"),
        ("plugs/index.html", "What goes into it"),
        ("cards/index.html", "A card for the cab"),
        ("safety/situations.html", "Safety by situation"),
    )
    links = "".join(f'<a class="way" href="{e(href)}">{e(words)}</a>' for href, words in ways)
    return (
        section("Look it up", "look-up", f'<div class="q3 wy">{links}</div>')
        + section("Our rigs", "our-rigs", rigs)
        + section(
            "What these pages are",
            "what",
            bullets(
                [
                    "Numbers come from one planner and one checked set of generic vehicle classes: "
                    f"{link('method/index.html', 'how they are made')}, {link('checks/index.html', 'how they were checked')}.",
                    "Copied to a folder on a phone or a stick, they work with no signal; so they do after a first visit.",
                ]
            ),
        )
    )


# ---------------------------------------------------------------------------------------------------------- the drawings


def call_drawings(dataset: Dataset, lookups: Iterable[Mapping[str, Any]]) -> str:
    """Return the script with every way that an answer may show, drawn, by connector, adapter, inlet, and where the
    adapter is."""
    drawn: dict[str, str] = {}
    for path in (path for found in lookups for path in found["paths"]):
        key = "|".join((path["connector"], path["adapter"] or "", path["inlet"], path["kept"] or ""))
        if key not in drawn:
            drawn[key] = path_drawing(
                dataset,
                dataset.connectors[path["connector"]],
                dataset.adapters[path["adapter"]] if path["adapter"] else None,
                dataset.inlets[path["inlet"]],
                key=key.replace("|", "-"),
                kept=path["kept"],
            )
    return f"rangeferry.paths = {json.dumps(drawn, ensure_ascii=False, separators=(',', ':'))};\n"
