"""The front page: the three questions that decide a call, and where their answers are."""

from collections.abc import Mapping, Sequence

from planner.publish.markup import Cell, Page, bullets, e, fit_mark, link, section, table
from planner.records import Dataset
from planner.tables import USUAL_MILES, Pair, RigView

__all__ = ["front_page"]

COMMAND = (
    "rangeferry plan --rig {rig} --vehicle {vehicle} --start 12% --miles 45mi "
    "--at open-lot --openings clear --people away"
)


def _question(anchor: str, title: str, text: str, ways: Sequence[tuple[str, str]]) -> str:
    """Return one of the three questions with the ways to its answer, each large enough for a glove."""
    links = "".join(f'<a class="way" href="{e(href)}">{e(words)}</a>' for href, words in ways)
    return f'<li><h2 id="{e(anchor)}" data-search-exclude>{e(title)}</h2><p>{e(text)}</p>{links}</li>'


def front_page(dataset: Dataset, views: Mapping[str, RigView], pairs: Mapping[str, Sequence[Pair]]) -> Page:
    """Return the front page; `views` and `pairs` are by rig. It leads to the pages until a call can be answered on a page of its own."""
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
    example = next((pair for found in pairs.values() for pair in found if pair.plan.verdict == "serve"), None)
    command = ""
    if example is not None:
        command = (
            "<p>The whole answer to one call, with steps, watch, fuel and a sentence for the customer, comes from the "
            f"command line (<code>rangeferry call</code> asks for it question by question):</p><pre><code>{e(COMMAND.format(rig=example.rig, vehicle=example.vehicle))}</code></pre>"
        )
    body = (
        "<h1 data-search-exclude>Can we serve this vehicle, here?</h1>"
        '<p class="lead">Three questions decide a call. The wrong answer costs a wasted drive, a tripped breaker, a '
        "burnt plug or worse.</p>"
        '<ol class="q3">'
        + _question(
            "can",
            "Can we serve it?",
            "May we run where it stands, and is it safe to touch; does our cable fit its port, by which adapter, at which "
            "setting; may every part carry that for hours?",
            (
                ("safety/situations.html", "Where it stands, and its state"),
                ("ports/index.html", "Which port is it"),
                ("plugs/index.html", "What goes into it"),
                ("rigs/index.html", "What each rig may do"),
            ),
        )
        + _question(
            "long",
            "How long will it take?",
            "The real rate after every limit and loss, miles added per hour plugged in, minutes for "
            f"{USUAL_MILES[0]}, {USUAL_MILES[1]} and {USUAL_MILES[2]} miles.",
            (("vehicles/index.html", f"All {len(dataset.vehicle_classes)} classes, by port, body, age"),),
        )
        + _question(
            "roadside",
            "What does the crew need?",
            "What to plug, set, read back and watch; when to give up; what must not be done. The page of a class says it for "
            "the quickest rig, and prints.",
            (
                ("vehicles/index.html", "Look up the class"),
                ("cards/index.html", "A card for the cab"),
                ("safety/situations.html", "Safety by situation"),
            ),
        )
        + "</ol>"
        + section("Our rigs", "our-rigs", rigs)
        + section("A whole call", "call", command)
        + section(
            "What these pages are",
            "what",
            bullets(
                [
                    "Numbers come from one planner and one checked set of generic vehicle classes: "
                    f"{link('method/index.html', 'how they are made')}, {link('checks/index.html', 'how they were checked')}.",
                    "Miles are for the mixed road of a label in the air of each rig's usual site; a percent to release at makes them in nine of ten cases.",
                    "Copied to a folder on a phone or a stick, they work with no signal.",
                ]
            ),
        )
    )
    return Page(
        "index.md",
        "Rigs, vehicles, minutes",
        "Which rig serves which vehicle, at which setting, and how long it takes.",
        body,
        tags=("start", "home", "call"),
    )
