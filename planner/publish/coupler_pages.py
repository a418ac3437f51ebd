"""The pages of ports and plugs: one page an inlet, and the matrix of connector, adapter and inlet with its reasons."""

from collections.abc import Iterator, Mapping, Sequence

from planner.figures import amps, volts
from planner.mating import never
from planner.publish.markup import Cell, Page, bullets, e, icon, link, section, table, verdict_mark
from planner.records import Adapter, Connector, Contacts, Dataset, Inlet
from planner.tables import PlugPair, RigView, places_by_inlet

__all__ = ["plug_page", "port_pages"]

LISTING_WORDS = {
    "ul2252": "listed to UL 2252",
    "supplied_by_vehicle_maker": "supplied with the vehicle",
    "none": "none",
}


def _word(name: str) -> str:
    return name.removesuffix(" inlet").removesuffix(" connector")


def _carries(contacts: Contacts | None) -> str:
    if contacts is None:
        return "no"
    phases = " or ".join(str(count) for count in contacts.phases)
    return f"{amps(contacts.current_a)}, {volts(contacts.voltage_v)}, {phases} phase"


def _carries_dc(contacts: Contacts | None) -> str:
    return "no" if contacts is None else f"{amps(contacts.current_a)}, {volts(contacts.voltage_v)}"


# ----------------------------------------------------------------------------------------------------------- ports


def port_pages(dataset: Dataset, views: Mapping[str, RigView], matrix: Sequence[PlugPair]) -> Iterator[Page]:
    """Yield the list of inlets and one page an inlet; `views` are the rigs on their own, `matrix` what goes into what."""
    heads: list[str | Cell] = ["Port", "Look for", Cell("Takes AC", wide=True), Cell("Classes", figure=True)]
    rows = [
        [
            Cell(link(f"{inlet.id}.html", inlet.name)),
            Cell(e(inlet.tell_apart)),
            Cell(e(_carries(inlet.ac)), wide=True),
            Cell(f'<b class="f">{len(_classes_with(dataset, inlet))}</b>', figure=True),
        ]
        for inlet in dataset.inlets.values()
    ]
    body = (
        "<h1 data-search-exclude>Ports</h1>"
        '<p class="lead">Tell the port by looking at it, not by the vehicle: the same class may have been built with '
        "another one. An inlet is the port on the vehicle; a connector is what goes into it. In words for now; drawings follow.</p>"
        + table("Ports", heads, rows)
    )
    yield Page(
        "ports/index.md",
        "Ports",
        "Which port is this: what to look for on every inlet.",
        body,
        tags=("inlet", "charge port", "socket", "which plug"),
    )
    for inlet in dataset.inlets.values():
        yield _port_page(dataset, inlet, views, matrix)


def _classes_with(dataset: Dataset, inlet: Inlet) -> list[tuple[str, str, str]]:
    """Return id, name and place of every class that has an inlet."""
    return [
        (vehicle.id, vehicle.name, places[inlet.id])
        for vehicle in dataset.vehicle_classes.values()
        if inlet.id in (places := places_by_inlet(vehicle))
    ]


def _port_page(dataset: Dataset, inlet: Inlet, views: Mapping[str, RigView], matrix: Sequence[PlugPair]) -> Page:
    mine = sorted((pair for pair in matrix if pair.inlet.id == inlet.id), key=lambda pair: pair.code is not None)
    rows = [[Cell(e(_end_words(pair))), Cell(_goes_mark(pair)), Cell(e(pair.text))] for pair in mine]
    listed = [
        f"{link(f'../vehicles/{class_id}.html', name)}, {e(place)}"
        for class_id, name, place in _classes_with(dataset, inlet)
    ]
    rigs = [
        link(f"../rigs/{rig.id}.html", rig.name)
        + (", <b>not fit, see its findings</b>" if views[rig.id].fitness == "not_fit" else "")
        for rig in dataset.rigs.values()
        if any(
            pair.code is None
            and pair.connector.id == rig.evse.cable.connector
            and (pair.adapter is None or pair.adapter.id in rig.adapters)
            for pair in mine
        )
    ]
    upper = f"<p>The AC connector goes into its <b>{e(inlet.ac_part)}</b>.</p>" if inlet.ac_part else ""
    facts = f"<p>{e(inlet.standard)}. AC: {e(_carries(inlet.ac))}. DC: {e(_carries_dc(inlet.dc))}.</p>{upper}" + (
        f"<p>{e(inlet.notes)}</p>" if inlet.notes else ""
    )
    no_ac = "" if inlet.ac else f"<p>{verdict_mark('cannot_serve', 'No AC')} Look for the vehicle's other port.</p>"
    body = (
        '<p class="crumb" data-search-exclude><a href="index.html">All ports</a></p>'
        f'<h1 data-search-exclude>{e(inlet.name)}</h1><p class="lead">{e(inlet.tell_apart)}</p>{no_ac}{facts}'
        + section(
            "What goes into it, on an AC unit",
            "fits",
            table("Connectors and adapters for this port", ["Connector, adapter", "Goes", "Why"], rows),
        )
        + section("Rigs that reach it", "rigs", bullets(rigs) or "<p>None of the rigs.</p>")
        + section("Classes that have it", "classes", bullets(listed) or "<p>None of the classes.</p>")
    )
    return Page(
        f"ports/{inlet.id}.md",
        inlet.name,
        f"{inlet.name}: how to tell it, what goes into it, which classes have it.",
        body,
        tags=(*inlet.also_called, "port", "inlet", "charge port"),
    )


# ----------------------------------------------------------------------------------------------------------- plugs


def _end_words(pair: PlugPair) -> str:
    return pair.connector.name if pair.adapter is None else pair.adapter.name


def _goes_mark(pair: PlugPair) -> str:
    return verdict_mark("serve", "Yes") if pair.code is None else verdict_mark("cannot_serve", "No")


def plug_page(dataset: Dataset, matrix: Sequence[PlugPair]) -> Page:
    """Return the matrix: what goes into what on an AC unit, and why not."""
    inlets = dataset.inlets.values()
    heads: list[str | Cell] = ["On our cable", *(Cell(f"<span>{e(_word(inlet.name))}</span>") for inlet in inlets)]
    lines: dict[str, list[Cell]] = {}
    for pair in matrix:
        word = "yes" if pair.code is None else "no"
        shape = icon("yes" if pair.code is None else "cannot_serve")
        cells = lines.setdefault(_end_id(pair), [Cell(e(_end_words(pair)))])
        cells.append(Cell(f'<a class="mx" href="#{e(_anchor(pair))}">{shape}<span class="vh">{word}</span></a>'))
    rows = list(lines.values())
    body = (
        "<h1 data-search-exclude>Plugs</h1>"
        '<p class="lead">What our cable, with or without an adapter, goes into on an AC unit. AC and DC are separate '
        "worlds: an adapter carries one of them and never serves the other, though the contacts may look alike.</p>"
        f'<div class="mxt" id="matrix">{table("Connector and adapter against inlet", heads, rows)}</div>'
        '<p class="n">Touch a mark for its reason. One adapter at most; no extension between equal couplers; a plug '
        "that does not go in is never forced.</p>"
        + section("Adapters", "adapters", _adapters(dataset))
        + section("Each pair, and why", "why", f'<p><a href="#matrix">Back to the matrix</a></p>{_reasons(matrix)}')
        + section("Connectors and inlets, AC and DC", "carry", _carry_table(dataset))
    )
    return Page(
        "plugs/index.md",
        "Plugs",
        "Which connector and adapter goes into which inlet, yes or no, and why.",
        body,
        tags=("adapters", "connector", "matrix", "what fits"),
    )


def _end_id(pair: PlugPair) -> str:
    """Return an id of the end held: connectors and adapters have ids of their own kinds."""
    return f"adapter-{pair.adapter.id}" if pair.adapter is not None else f"connector-{pair.connector.id}"


def _anchor(pair: PlugPair) -> str:
    return f"{_end_id(pair)}--{pair.inlet.id}"


def _reasons(matrix: Sequence[PlugPair]) -> str:
    """Return every pair with its reason; inlets that one end is refused by for one reason share a row."""
    rows: dict[tuple[str, str], list[PlugPair]] = {}
    for pair in matrix:
        text = "Does not go in. Do not force it." if pair.code == "does_not_fit" else pair.text
        rows.setdefault((_end_id(pair), text), []).append(pair)
    return table(
        "Each pair, and why",
        ["Pair", "Goes", "Why", Cell("By", wide=True)],
        [
            [
                Cell(f'{e(_end_words(found[0]))} <span class="into">into {_inlets_of(found)}</span>'),
                Cell(_goes_mark(found[0])),
                Cell(e(text)),
                Cell(f'<span class="n">{e(found[0].source)}</span>', wide=True),
            ]
            for (_, text), found in rows.items()
        ],
    )


def _inlets_of(found: Sequence[PlugPair]) -> str:
    return ", ".join(f'<span id="{e(_anchor(pair))}">{e(_word(pair.inlet.name))}</span>' for pair in found)


def _adapters(dataset: Dataset) -> str:
    rows = [
        [
            Cell(e(adapter.name)),
            Cell(_use_words(adapter)),
            Cell(adapter.carries.upper(), wide=True),
            Cell(e(LISTING_WORDS[adapter.listing]), wide=True),
            Cell(e(amps(adapter.rating_current_a)) if adapter.rating_current_a else "unreadable", figure=True),
            Cell("yes" if adapter.temperature_sensing else "no", wide=True),
            Cell(e(adapter.latch), wide=True),
        ]
        for adapter in dataset.adapters.values()
    ]
    heads: list[str | Cell] = [
        "Adapter",
        "On an AC unit",
        Cell("Carries", wide=True),
        Cell("Listing", wide=True),
        Cell("Label", figure=True),
        Cell("Senses<br>temperature", wide=True),
        Cell("How it comes out", wide=True),
    ]
    return table("Adapters", heads, rows)


def _use_words(adapter: Adapter) -> str:
    reason = never(adapter)
    if reason is None:
        return verdict_mark("serve", "Yes")
    words = {"dc_adapter_on_ac": "DC only", "adapter_not_listed": "no listing"}.get(reason[0], "no readable label")
    return verdict_mark("cannot_serve", f"Never: {words}")


def _carry_table(dataset: Dataset) -> str:
    halves: list[Connector | Inlet] = [*dataset.connectors.values(), *dataset.inlets.values()]
    rows = [
        [
            Cell(e(record.name)),
            Cell(e(_carries(record.ac))),
            Cell(e(_carries_dc(record.dc))),
            Cell(e(record.standard), wide=True),
        ]
        for record in halves
    ]
    return table("Continuous ratings", ["Coupler half", "AC", "DC", Cell("Standard", wide=True)], rows)
