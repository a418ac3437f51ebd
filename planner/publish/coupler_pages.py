"""The pages of ports and plugs: one page an inlet, and the matrix of connector, adapter and inlet with its reasons."""

from collections.abc import Iterator, Mapping, Sequence

from planner.chain import UNSENSED_ADAPTER_FACTOR
from planner.figures import amps, volts
from planner.mating import REFUSAL_SOURCES, never, refusal
from planner.publish.markup import Cell, Page, bullets, e, icon, link, section, table, verdict_mark
from planner.records import Adapter, Connector, Contacts, Dataset, Inlet
from planner.tables import RigView, places_by_inlet

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


def port_pages(dataset: Dataset, views: Mapping[str, RigView]) -> Iterator[Page]:
    """Yield the list of inlets and one page an inlet; `views` are the rigs on their own."""
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
        '<p class="lead">Tell the port by looking at it, not by the vehicle: the same class may have left the works with '
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
        yield _port_page(dataset, inlet, views)


def _classes_with(dataset: Dataset, inlet: Inlet) -> list[tuple[str, str, str]]:
    """Return id, name and place of every class that has an inlet."""
    return [
        (vehicle.id, vehicle.name, places[inlet.id])
        for vehicle in dataset.vehicle_classes.values()
        if inlet.id in (places := places_by_inlet(vehicle))
    ]


def _port_page(dataset: Dataset, inlet: Inlet, views: Mapping[str, RigView]) -> Page:
    rows = []
    for connector, adapter in _ends(dataset):
        code = _against(dataset, connector, adapter, inlet)
        rows.append(
            [
                Cell(e(_end_words(connector, adapter))),
                Cell(verdict_mark("serve", "Yes") if code is None else verdict_mark("cannot_serve", "No")),
                Cell(e(code[1]) if code is not None else e(_yes_words(adapter, inlet))),
            ]
        )
    rows.sort(key=lambda cells: ">No<" in cells[1].html)
    listed = [
        f"{link(f'../vehicles/{class_id}.html', name)}, {e(place)}"
        for class_id, name, place in _classes_with(dataset, inlet)
    ]
    rigs = [
        link(f"../rigs/{rig.id}.html", rig.name)
        + (", <b>not fit, see its findings</b>" if views[rig.id].fitness == "not_fit" else "")
        for rig in dataset.rigs.values()
        if any(
            refusal(dataset, dataset.connectors[rig.evse.cable.connector], adapter, inlet) is None
            for adapter in (None, *(dataset.adapters[key] for key in rig.adapters))
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


def _against(dataset: Dataset, connector: Connector, adapter: Adapter | None, inlet: Inlet) -> tuple[str, str] | None:
    """Return the reason to tell: what is never used is told so wherever it is held to, then what does not fit."""
    return (never(adapter) if adapter is not None else None) or refusal(dataset, connector, adapter, inlet)


def _yes_words(adapter: Adapter | None, inlet: Inlet) -> str:
    into = f"Into the {inlet.ac_part}." if inlet.ac_part else "Directly."
    if adapter is None:
        return into
    label_a = adapter.rating_current_a or 0.0
    if adapter.temperature_sensing:
        return f"{amps(label_a)} on its label, senses temperature."
    return f"{amps(label_a)} on its label, senses no temperature: {amps(UNSENSED_ADAPTER_FACTOR * label_a)} for hours."


# ----------------------------------------------------------------------------------------------------------- plugs


def _ends(dataset: Dataset) -> list[tuple[Connector, Adapter | None]]:
    """Return every end that a crew may hold: a bare connector, then each adapter that it goes into; DC alone last."""
    ends: list[tuple[Connector, Adapter | None]] = []
    for connector in sorted(dataset.connectors.values(), key=lambda record: record.ac is None):
        ends.append((connector, None))
        ends += [(connector, adapter) for adapter in dataset.adapters.values() if adapter.takes == connector.id]
    return ends


def _end_words(connector: Connector, adapter: Adapter | None) -> str:
    return connector.name if adapter is None else adapter.name


def plug_page(dataset: Dataset) -> Page:
    """Return the matrix: what goes into what on an AC unit, and why not."""
    inlets = list(dataset.inlets.values())
    heads: list[str | Cell] = ["On our cable", *(Cell(f"<span>{e(_word(inlet.name))}</span>") for inlet in inlets)]
    rows, reasons = [], []
    for connector, adapter in _ends(dataset):
        cells = [Cell(e(_end_words(connector, adapter)))]
        for inlet in inlets:
            code = _against(dataset, connector, adapter, inlet)
            word = "yes" if code is None else "no"
            anchor = f"{(adapter or connector).id}--{inlet.id}"
            shape = icon("yes" if code is None else "cannot_serve")
            cells.append(Cell(f'<a class="mx" href="#{e(anchor)}">{shape}<span class="vh">{word}</span></a>'))
            reasons.append((anchor, connector, adapter, inlet, code))
        rows.append(cells)
    body = (
        "<h1 data-search-exclude>Plugs</h1>"
        '<p class="lead">What our cable, with or without an adapter, goes into on an AC unit. AC and DC are separate '
        "worlds: an adapter carries one of them and never serves the other, though the contacts may look alike.</p>"
        f'<div class="mxt" id="matrix">{table("Connector and adapter against inlet", heads, rows)}</div>'
        '<p class="n">Touch a mark for its reason. One adapter at most; no extension between equal couplers; a plug '
        "that does not go in is never forced.</p>"
        + section("Adapters", "adapters", _adapters(dataset))
        + section("Each pair, and why", "why", f'<p><a href="#matrix">Back to the matrix</a></p>{_reasons(reasons)}')
        + section("Connectors and inlets, AC and DC", "carry", _carry_table(dataset))
    )
    return Page(
        "plugs/index.md",
        "Plugs",
        "Which connector and adapter goes into which inlet, yes or no, and why.",
        body,
        tags=("adapters", "connector", "matrix", "what fits"),
    )


def _reasons(
    reasons: Sequence[tuple[str, Connector, Adapter | None, Inlet, tuple[str, str] | None]],
) -> str:
    """Return every pair with its reason; inlets that one end is refused by for one reason share a row."""
    rows: dict[tuple[str, str], list[tuple[str, str]]] = {}
    sources: dict[tuple[str, str], tuple[bool, str]] = {}
    for anchor, connector, adapter, inlet, code in reasons:
        text = _yes_words(adapter, inlet) if code is None else code[1]
        if code is not None and code[0] == "does_not_fit":
            text = "Does not go in. Do not force it."
        key = (_end_words(connector, adapter), text)
        rows.setdefault(key, []).append((anchor, _word(inlet.name)))
        sources[key] = (code is None, "coupler standard of the inlet" if code is None else REFUSAL_SOURCES[code[0]])
    return table(
        "Each pair, and why",
        ["Pair", "Goes", "Why", Cell("By", wide=True)],
        [
            [
                Cell(f'{e(end)} <span class="into">into {_anchored_words(inlets)}</span>'),
                Cell(verdict_mark("serve", "Yes") if sources[end, text][0] else verdict_mark("cannot_serve", "No")),
                Cell(e(text)),
                Cell(f'<span class="n">{e(sources[end, text][1])}</span>', wide=True),
            ]
            for (end, text), inlets in rows.items()
        ],
    )


def _anchored_words(inlets: Sequence[tuple[str, str]]) -> str:
    return ", ".join(f'<span id="{e(anchor)}">{e(word)}</span>' for anchor, word in inlets)


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
