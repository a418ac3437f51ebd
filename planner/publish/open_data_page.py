"""The page that holds the classes against open data of real vehicles."""

from planner.open_data import OpenData
from planner.publish.markup import Cell, Page, bullets, e, section, table

__all__ = ["open_data_page"]

FIELD_WORDS = {"battery": "usable battery energy", "mass": "mass", "drag_area": "drag area"}
PACKAGE_WORDS = {
    "carculator": "Cars and vans",
    "carculator-truck": "Trucks to 18 t",
    "carculator-bus": "Buses of 9 and 13 m",
    "carculator-two-wheeler": "Scooter and motorcycles",
}


def open_data_page(found: OpenData) -> Page:
    """Return the page: what was compared, how many rows lie inside a class, and what the others share."""
    cars, chargers = found.cars, found.chargers
    rows = [
        [
            Cell(e(item["name"])),
            Cell(f'<b class="f">{item["inside"]}</b> of {item["rows"]}', figure=True),
            Cell(f"{100 * item['inside'] / item['rows']:.0f}&nbsp;%", figure=True),
            Cell(f"{item['first_run_inside']}", figure=True),
            Cell("yes" if item["seen_before"] else "no", wide=True),
        ]
        for item in (cars, chargers)
    ]
    heads: list[str | Cell] = [
        "List",
        Cell("Inside one class", figure=True),
        Cell("Share", figure=True),
        Cell("First run", figure=True),
        Cell("Seen while the bands were drawn", wide=True),
    ]
    widths = ", ".join(f"{FIELD_WORDS[name]} {value:g} %" for name, value in cars["half_width_percent"].items())
    missed = [
        [Cell(e(item["words"])), Cell(f'<b class="f">{item["rows"]}</b>', figure=True)] for item in cars["misses"]
    ]
    defaults = [
        [
            Cell(e(PACKAGE_WORDS[package])),
            Cell(f'<b class="f">{item["sizes"] - len(item["missed"])}</b> of {item["sizes"]}', figure=True),
            Cell(f"{item['sizes'] - len(found.defaults_first_run.get(package, []))} of {item['sizes']}", figure=True),
        ]
        for package, item in found.defaults.items()
    ]
    body = (
        '<p class="crumb" data-search-exclude><a href="index.html">Checks</a></p>'
        "<h1 data-search-exclude>The classes against open data</h1>"
        '<p class="lead">Lists of real vehicles, out of packages of the public registry, laid over the bands of the '
        "classes. No make and no model is named; rows count by mass, energy and drag area alone.</p>"
        + table("Rows inside one class", heads, rows)
        + bullets(e(item["list"]) for item in (cars, chargers))
        + f"<p>A row counts when one class holds its mass, its usable energy and its drag area at once. The bands of the "
        f"{cars['classes']} classes that hold any are narrow: half a band is at the median {e(widths)}. The same widths at "
        f"random places hold {cars['at_random_percent']} % of the cars. Whoever drew the bands had seen the first list, "
        "so it shows that they fit together and predicts nothing; the second had not been seen.</p>"
        + section(
            "What lies outside",
            "outside",
            table("Cars outside", ["What they share", Cell("Rows", figure=True)], missed)
            + f"<p>{e(chargers['moved'])}</p>",
        )
        + section(
            "Drag areas",
            "drag",
            f"<p>{e(found.defaults_words['list'])}: inside the band of a class of the same body.</p>"
            + table(
                "Drag areas inside", ["Kind", Cell("Inside", figure=True), Cell("First run", figure=True)], defaults
            )
            + f"<p>{e(found.defaults_words['moved'])}</p>",
        )
        + '<p class="n">Conversions, written before the run: mass as tested is curb mass and 136 kg (40 CFR 86.1803, '
        "loaded vehicle weight); usable is 0.93 of nominal energy (from memory, 5 to 10 % is held back); frontal area "
        "is 0.82 of width times height (Wong, Theory of Ground Vehicles, from memory: 0.79 to 0.84).</p>"
    )
    return Page(
        "checks/open-data.md",
        "The classes against open data",
        "How many real vehicles of open lists lie inside one class, and what the others share.",
        body,
        tags=("validation", "battery", "mass", "drag"),
        boost=0.4,
    )
