"""The front page: the three questions that decide a call, and where their answers are."""

from collections.abc import Sequence

from planner.publish.markup import Cell, Page, bullets, e, link, section, table, verdict_mark
from planner.records import Dataset
from planner.tables import USUAL_MILES, Pair

__all__ = ["front_page"]

COMMAND = "rangeferry plan --rig {rig} --vehicle {vehicle} --start 12% --miles 45mi"


def front_page(dataset: Dataset, pairs: Sequence[Pair]) -> Page:
    """Return the front page. It leads to the pages until a call can be answered on a page of its own."""
    counts = {rig_id: [pair for pair in pairs if pair.rig == rig_id] for rig_id in dataset.rigs}
    rows = []
    for rig_id, found in counts.items():
        served = [pair for pair in found if pair.plan.verdict != "cannot_serve"]
        fastest = max((pair.plan.miles_added_per_hour or 0 for pair in found), default=0)
        rows.append(
            [
                Cell(link(f"rigs/{rig_id}.html", dataset.rigs[rig_id].name)),
                Cell(verdict_mark("serve", "Serves") if served else verdict_mark("cannot_serve", "Not fit")),
                Cell(f'<b class="f">{len(served)}</b> of {len(found)}', figure=True),
                Cell(f'<b class="f">{fastest}</b>' if served else "–", figure=True),
            ]
        )
    rigs = table(
        "Rigs at a glance",
        ["Rig", "Now", Cell("Classes", figure=True), Cell("Miles added<br>per hour, most", figure=True)],
        rows,
    )
    example = next((pair for pair in pairs if pair.plan.verdict == "serve"), None)
    command = ""
    if example is not None:
        command = (
            "<p>The whole answer to one call, with steps, watch, fuel and a sentence for the customer, comes from the "
            f"command line:</p><pre><code>{e(COMMAND.format(rig=example.rig, vehicle=example.vehicle))}</code></pre>"
        )
    body = (
        "<h1>Can we serve this vehicle, here?</h1>"
        '<p class="lead">Three questions decide a call. The wrong answer costs a wasted drive, a tripped breaker, a '
        "burnt plug or worse.</p>"
        '<ol class="q3">'
        f'<li><h2 id="can">Can we serve it?</h2><p>Does our cable fit its port, by which adapter, at which setting; may '
        f"every part carry that for hours?</p><p>{link('ports/index.html', 'Which port is it')}, "
        f"{link('plugs/index.html', 'what goes into it')}, {link('rigs/index.html', 'what each rig may do')}.</p></li>"
        f'<li><h2 id="long">How long will it take?</h2><p>The real rate after every limit and loss, miles added per hour '
        f"plugged in, minutes for {USUAL_MILES[0]}, {USUAL_MILES[1]} and {USUAL_MILES[2]} miles.</p>"
        f"<p>{link('vehicles/index.html', f'All {len(dataset.vehicle_classes)} classes')}, by port, body, age and "
        "battery.</p></li>"
        f'<li><h2 id="roadside">What does the crew need?</h2><p>What to plug, turn, read back and watch; when to stop; what '
        f"must not be done.</p><p>{link('safety/index.html', 'Safety')}, and the page of the class, which prints.</p></li>"
        "</ol>"
        + section("Our rigs", "our-rigs", rigs)
        + section("A whole call", "call", command + "<p>A page that answers a call by itself is to follow.</p>")
        + section(
            "What these pages are",
            "what",
            bullets(
                [
                    "Numbers come from one planner and one checked set of generic vehicle classes: "
                    f"{link('method/index.html', 'how they are made')}, {link('checks/index.html', 'how they were checked')}.",
                    "Figures are typical ones in mild air. Weather, hills and speed are not in the miles yet.",
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
