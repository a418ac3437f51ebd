"""The pages that say how far the numbers of the classes can be trusted, and which kinds of vehicle they cover."""

from collections.abc import Callable, Sequence

from planner.coverage import built_at, cells
from planner.provenance import PUBLISHED, Origin, by_field, kind_origins, origins, shares, weakest
from planner.publish.markup import Cell, Page, e, field_words, link, number, section, table
from planner.records import BODY_SAID, BUILT_WORDS, BuiltWord, Dataset, VehicleClass

__all__ = ["coverage_page", "provenance_page"]

WEAKEST_SHOWN = 40
ORIGIN_WORDS = {
    PUBLISHED: "a published source",
    "common practice": "common practice of the trade, no source",
    "from memory": "from memory, to be read in print",
    "judgement": "a judgement of ours",
    "own unit": "read off or measured at a unit",
    "invented": "invented, for the demonstration",
}
# What would settle a number, by the field it stands in.
SETTLES: dict[str, str] = {
    "battery.energy_usable_kwh": "energy into the pack over a full charge, metered at several vehicles of the class",
    "battery.health": "the same at vehicles of known age",
    "onboard_charger": "the plate of the charger, or amps on our own meter at a setting above them",
    "label": "the window labels of the class, one by one",
    "charging": "our meter against the dash over an hour at a steady setting",
    "road": "coast-down figures of certification",
    "ports": "a count in a parking lot",
    "battery": "the service book of each kind",
    "cabin": "the vehicle's own power display, standing in the cold",
    "dc": "a log of a fast station",
}
KINDS = ("rigs", "connectors", "inlets", "adapters", "leads", "outlets", "tables")


def provenance_page(dataset: Dataset) -> Page:
    """Return the page of shares by origin, and the weakest numbers first."""
    found = origins(dataset)
    counted = shares(found)
    total = sum(counted.values())
    overall = [
        [
            Cell(e(ORIGIN_WORDS[origin])),
            Cell(f'<b class="f">{count:,}</b>', figure=True),
            Cell(_percent(count, total), figure=True),
        ]
        for origin, count in counted.items()
    ]
    others = [
        [Cell(e(kind.replace("_", " "))), Cell(e(_sentence(kind_origins(getattr(dataset, kind).values()))))]
        for kind in KINDS
    ]
    fields = by_field(found)
    field_rows = [
        [Cell(e(field_words(field))), Cell(f'<b class="f">{sum(by.values())}</b>', figure=True), Cell(e(_sentence(by)))]
        for field, by in sorted(
            fields.items(), key=lambda item: (item[1].get(PUBLISHED, 0) / sum(item[1].values()), item[0])
        )
    ]
    body = (
        '<p class="crumb" data-search-exclude><a href="index.html">Data</a></p>'
        "<h1 data-search-exclude>How far the numbers can be trusted</h1>"
        f'<p class="lead">{total:,} numbers of {len(dataset.vehicle_classes)} classes, a band counted as one. '
        f"{_percent(counted.get(PUBLISHED, 0), total)} stand in a published source that we have read; the others say that "
        "they do not, and their bands are wider for it.</p>"
        + table(
            "Numbers by origin",
            ["Where it comes from", Cell("Numbers", figure=True), Cell("Share", figure=True)],
            overall,
        )
        + section("The weakest first", "weakest", _weakest(found))
        + section(
            "By field",
            "fields",
            "<p>Those with the least in print first.</p>"
            + table("Numbers by field", ["Field", Cell("Numbers", figure=True), "From"], field_rows),
        )
        + section(
            "Other records", "others", table("Other records by origin", ["Records", "Entries of sources, from"], others)
        )
    )
    return Page(
        "data/provenance.md",
        "How far the numbers can be trusted",
        "Where the numbers of the classes come from, the weakest first.",
        body,
        tags=("provenance", "sources", "judgement", "from memory"),
        boost=0.4,
    )


def _weakest(found: Sequence[Origin]) -> str:
    rows = []
    for origin in weakest(found)[:WEAKEST_SHOWN]:
        band = f"{number(origin.low)} to {number(origin.high)}" if origin.high > origin.low else "no band"
        rows.append(
            [
                Cell(link(f"../vehicles/{origin.record}.html", origin.name)),
                Cell(e(field_words(origin.field))),
                Cell(f'<b class="f">{e(number(origin.typical))}</b><br><span class="n">{e(band)}</span>', figure=True),
                Cell(f"±{100 * origin.half_width:.0f}&nbsp;%", figure=True),
                Cell(e(origin.origin), wide=True),
                Cell(e(_settles(origin.field)), wide=True),
            ]
        )
    heads: list[str | Cell] = [
        "Class",
        "Number",
        Cell("Typical, band", figure=True),
        Cell("Half the band", figure=True),
        Cell("From", wide=True),
        Cell("What would settle it", wide=True),
    ]
    return (
        "<p>A number is weak when an answer follows it, its band is wide and no published source stands behind it: half "
        "the band over the typical value, times how far minutes or miles follow (1 for battery, charger and label, less "
        "for what acts through a part of them, 0 for what is only told), halved where it is in print. These are the "
        f"first {WEAKEST_SHOWN} of {len(found):,}.</p>" + table("The weakest numbers", heads, rows)
    )


def _settles(field: str) -> str:
    return next(
        (words for path, words in SETTLES.items() if f"{field}.".startswith(f"{path}.")), "the vehicle's papers"
    )


def _percent(count: int, total: int) -> str:
    return f"{100 * count / total:.0f} %" if total else "0 %"


def _sentence(counted: dict[str, int]) -> str:
    total = sum(counted.values())
    return ", ".join(f"{origin} {_percent(count, total)}" for origin, count in counted.items()) or "no numbers"


# --------------------------------------------------------------------------------------------------------- coverage


def coverage_page(dataset: Dataset) -> Page:
    """Return the matrix of bodies, inlets and other kinds against age, with the classes in each cell."""
    blocks = []
    if dataset.coverage is not None:
        every = list(cells(dataset, dataset.coverage))
        bodies = {cell.row for cell in every if cell.row in {item.body for item in dataset.vehicle_classes.values()}}
        region = dataset.coverage.region.replace("_", " ").title()
        for title, anchor, rows in (
            ("Bodies", "bodies", [cell for cell in every if cell.row in bodies or cell.row not in dataset.inlets]),
            ("Inlets of the region", "inlets", [cell for cell in every if cell.row in dataset.inlets]),
        ):
            by_row: dict[str, dict[BuiltWord, tuple[tuple[str, ...], str]]] = {}
            for cell in rows:
                by_row.setdefault(cell.row, {})[cell.built] = (cell.classes, cell.why_empty)
            table_rows = [
                [Cell(e(_row_words(dataset, row))), *(Cell(_cell(dataset, *by_age[built])) for built in BUILT_WORDS)]
                for row, by_age in by_row.items()
            ]
            blocks.append(
                section(title, anchor, table(title, ["", *(f"Built {word}" for word in BUILT_WORDS)], table_rows))
            )
        wanted = [
            f"{BODY_SAID.get(item.body, item.body)}, {item.built}"
            + (f", {item.inlet}" if item.inlet else "")
            + (f", {item.battery} battery" if item.battery else "")
            + (", with an engine" if item.engine else "")
            + f": {item.why}"
            for item in dataset.coverage.wanted
        ]
        inner = "".join(f"<li>{e(text)}</li>" for text in wanted)
        blocks.append(section("What the region's crews meet", "wanted", f"<p>Each has a class.</p><ul>{inner}</ul>"))
    else:
        region = "Any region"
    kinds = [
        [Cell(e(words)), Cell(_names(dataset, [one.id for one in dataset.vehicle_classes.values() if holds(one)]))]
        for words, holds in KIND_ROWS
    ]
    blocks.append(section("Other kinds", "kinds", table("Other kinds", ["Kind", "Classes"], kinds)))
    count = len(dataset.vehicle_classes)
    body = (
        '<p class="crumb" data-search-exclude><a href="index.html">Data</a></p>'
        "<h1 data-search-exclude>What the classes cover</h1>"
        f'<p class="lead">{count} classes. {e(region)}: every body and every inlet at every age has one, or says why '
        "none is needed.</p>" + "".join(blocks)
    )
    return Page(
        "data/coverage.md",
        "What the classes cover",
        "Bodies, inlets, ages, chemistries, pack volts and chargers, with the classes of each.",
        body,
        tags=("coverage", "matrix", "gaps"),
        boost=0.4,
    )


def _row_words(dataset: Dataset, row: str) -> str:
    if row in dataset.inlets:
        return dataset.inlets[row].name.removesuffix(" inlet")
    return "SUV" if row == "suv" else BODY_SAID.get(row, row).capitalize()


def _cell(dataset: Dataset, classes: Sequence[str], why_empty: str) -> str:
    if classes:
        return f'<b class="f">{len(classes)}</b><span class="wide"><br>{_names(dataset, classes)}</span>'
    return f'<span class="n">none: {e(why_empty)}</span>' if why_empty else "none"


def _names(dataset: Dataset, classes: Sequence[str]) -> str:
    if not classes:
        return "none"
    return ", ".join(link(f"../vehicles/{one}.html", dataset.vehicle_classes[one].name) for one in classes)


def _charger(low_a: float, high_a: float) -> Callable[[VehicleClass], bool]:
    return lambda one: low_a < one.onboard_charger.current_a.typical <= high_a


def _volts(low_v: float, high_v: float) -> Callable[[VehicleClass], bool]:
    return lambda one: one.battery.voltage_v is not None and low_v <= one.battery.voltage_v.typical < high_v


KIND_ROWS: Sequence[tuple[str, Callable[[VehicleClass], bool]]] = (
    ("Charger to 16 A", _charger(0, 16)),
    ("Charger 16 to 32 A", _charger(16, 32)),
    ("Charger 32 to 44 A", _charger(32, 44)),
    ("Charger 44 to 48 A", _charger(44, 48)),
    ("Charger above 48 A", _charger(48, 1000)),
    ("Some take 80 A", lambda one: one.onboard_charger.current_a.high >= 80),
    ("Three-phase charger, on one phase here", lambda one: one.onboard_charger.phases == 3),
    ("Pack to 200 V", _volts(0, 200)),
    ("Pack of the 400 V kind", _volts(200, 500)),
    ("Pack of the 800 V kind", _volts(500, 2000)),
    ("Iron-phosphate cells", lambda one: one.battery.chemistry == "lfp"),
    ("Nickel cells", lambda one: one.battery.chemistry == "nickel"),
    ("Cells of either kind", lambda one: one.battery.chemistry == "mixed"),
    ("A cord of its own", lambda one: any(port.inlet.startswith("own-cord") for port in one.ports)),
    ("Also drives on fuel", lambda one: one.engine),
    ("Imported", lambda one: one.imported),
    ("Ten years old and more, some of them", lambda one: built_at(one, "to 2014")),
)
