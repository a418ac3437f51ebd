"""The page of plugs: every end that may be held against every inlet, on an AC unit, with what a DC unit would do."""

from collections.abc import Sequence
from typing import Literal

from planner.figures import amps
from planner.mating import never
from planner.publish.coupler_drawings import port_icon
from planner.publish.coupler_words import (
    LISTING_WORDS,
    ac_words,
    dc_words,
    end_id,
    end_words,
    goes_mark,
    inlets_in_order,
    label_words,
    short,
    waits_for_label,
)
from planner.publish.markup import (
    Cell,
    Page,
    Row,
    bullets,
    choice_fieldset,
    e,
    icon,
    link,
    name,
    narrow,
    section,
    table,
    verdict_mark,
)
from planner.records import Adapter, Connector, Dataset, Inlet, Outlet
from planner.tables import PlugPair, on_dc

__all__ = ["plug_filter_styles", "plug_page"]

State = Literal["yes", "dc", "no"]
STATE_WORDS: dict[State, str] = {"yes": "Goes in", "dc": "DC only, never on our unit", "no": "Does not"}
ANY = "-any"  # no record's id begins like this
# A narrow page shows what goes into the chosen port; what is behind it is folded until this is ticked, or linked to.
MORE = "more"
MORE_WORDS = "Every pair and its reason, ratings, leads"


def _state(dataset: Dataset, pair: PlugPair) -> State:
    if pair.code is None:
        return "yes"
    return "dc" if on_dc(dataset, pair).goes else "no"


def plug_page(dataset: Dataset, matrix: Sequence[PlugPair], *, leads: str = "") -> Page:
    """Return the matrix with its reasons; `leads` is the finished part on leads of the supply side."""
    matrix = _in_order(dataset, matrix)
    port, held, state = (choice_fieldset(*group, ANY) for group in _filter_groups(dataset, matrix))
    body = (
        "<h1 data-search-exclude>Plugs</h1>"
        '<p class="lead">What our cable, with or without an adapter, goes into on an AC unit. AC and DC are separate '
        "worlds: an adapter carries one of them and never serves the other, though the contacts may look alike.</p>"
        f"<p>Which port is it? {link('../ports/index.html', 'Tell it by looking')}. What the signals are: "
        f"{link('pilot.html', 'Pilot and proximity')}.</p>"
        f'<div class="pm"><div class="one" data-search-exclude>{port}<details><summary>In our hand, goes or not</summary>'
        f'<div class="fset">{held}{state}</div></details></div>{_into_each(dataset, matrix)}'
        f'<label class="more" data-search-exclude><input type="checkbox" id="{MORE}"><span>{MORE_WORDS}</span></label>'
        '<div class="rest">'
        f'<div class="mxt" id="matrix">{_matrix(dataset, matrix)}</div>{_legend()}'
        + section(
            "Each pair, and why",
            "why",
            f'<p class="ways"><a href="#matrix">Back to the matrix</a></p>{_reasons(dataset, matrix)}',
        )
        + "</div></div>"
        + section("Adapters", "adapters", _adapters(dataset))
        + leads
        + section("Connectors and inlets, AC and DC", "carry", _carry_table(dataset))
    )
    return Page(
        "plugs/index.md",
        "Plugs",
        "Which connector and adapter goes into which inlet, yes or no, and why.",
        body,
        tags=("adapters", "connector", "matrix", "what fits", "supply lead", "dogbone", "plug adapter"),
        styles=("plugs/filters.css",),
    )


def _in_order(dataset: Dataset, matrix: Sequence[PlugPair]) -> list[PlugPair]:
    """Return the pairs as they are asked for: the cables of our rigs first, and the inlets that most classes have."""
    ours = {cable.connector for rig in dataset.rigs.values() for cable in (rig.evse.cable, *rig.evse.other_cables)}
    inlets = [inlet.id for inlet in inlets_in_order(dataset)]
    ends = list(dict.fromkeys(end_id(pair) for pair in matrix))
    return sorted(
        matrix,
        key=lambda pair: (pair.connector.id not in ours, ends.index(end_id(pair)), inlets.index(pair.inlet.id)),
    )


# ------------------------------------------------------------------------------------------------------- the filters


def _filter_groups(dataset: Dataset, matrix: Sequence[PlugPair]) -> list[tuple[str, str, list[tuple[str, str]]]]:
    held = {end_id(pair): end_words(pair) for pair in matrix}
    return [
        ("i", "The vehicle's port", [(inlet.id, short(inlet.name)) for inlet in inlets_in_order(dataset)]),
        ("h", "In our hand", [(key, words.removesuffix(" connector")) for key, words in held.items()]),
        ("g", "On our AC unit", list(STATE_WORDS.items())),
    ]


def plug_filter_styles(dataset: Dataset, matrix: Sequence[PlugPair]) -> str:
    """Return the rules of the filters: columns by place, rows by what they say of themselves."""
    (_, _, inlets), (_, _, held), (_, _, states) = _filter_groups(dataset, matrix)
    rules = []
    for column, (inlet, _) in enumerate(inlets, 2):
        chosen = f".pm:has(#i-{inlet}:checked)"
        rules.append(f'{chosen} .go[data-f="i-{inlet}"]{{display:block}}')
        rules.append(f"{chosen} .mxt tr>:nth-child(n+2):not(:nth-child({column})){{display:none}}")
        rules.append(f'{chosen} tbody tr:not([data-f~="i-{inlet}"]){{display:none}}')
        rules += [
            f'{chosen}:has(#g-{state}:checked) tbody tr:not([data-f~="{state}-{inlet}"]){{display:none}}'
            for state, _ in states
        ]
    rules += [f'.pm:has(#h-{key}:checked) tbody tr:not([data-f~="h-{key}"]){{display:none}}' for key, _ in held]
    for state, _ in states:
        chosen = f".pm:has(#g-{state}:checked)"
        rules.append(f'{chosen} tbody tr:not([data-f~="g-{state}"]){{display:none}}')
        rules.append(f"{chosen} .mx:not(.is-{state}){{visibility:hidden}}")
        rules.append(f"@media(max-width:52em){{{chosen} .mxt td:not(:has(.is-{state})){{display:none}}}}")
    return "\n".join(rules) + "\n"


def _marks(dataset: Dataset, pairs: Sequence[PlugPair]) -> str:
    """Return what the filters look for in a row: what is held, which inlets, and how each of them stands."""
    found = []
    for pair in pairs:
        state = _state(dataset, pair)
        found += [f"h-{end_id(pair)}", f"i-{pair.inlet.id}", f"g-{state}", f"{state}-{pair.inlet.id}"]
    return " ".join(dict.fromkeys(found))


# --------------------------------------------------------------------------------------------------- the chosen port


def _into_each(dataset: Dataset, matrix: Sequence[PlugPair]) -> str:
    """Return what goes into each port, of which the chosen one is shown."""
    blocks = []
    for inlet in inlets_in_order(dataset):
        mine = [pair for pair in matrix if pair.inlet.id == inlet.id]
        items = [
            f"{verdict_mark('serve', f'{end_words(pair)}:')} {name(pair.text)} {_to_reason(pair)}"
            for pair in mine
            if pair.code is None
        ]
        items += [
            f"{verdict_mark('ask_first', f'{end_words(pair)}:')} {label_words(pair.adapter)} {_to_reason(pair)}"
            for pair in mine
            if pair.adapter is not None and waits_for_label(dataset, pair)
        ]
        nothing = (
            "" if items else f"<p>{verdict_mark('cannot_serve', 'Nothing on an AC unit')} {_why_nothing(mine)}</p>"
        )
        dc = [end_words(pair) for pair in mine if pair.code is not None and on_dc(dataset, pair).goes]
        never_ours = f"<p><b>DC only, never on our unit:</b> {name(', '.join(dc))}.</p>" if dc else ""
        blocks.append(
            f'<div class="go" data-f="i-{e(inlet.id)}"><p><b>What goes into {name(inlet.name)}</b></p>{nothing}'
            f"{bullets(items)}{never_ours}<p>Nothing else: what does not go in by itself is never forced. "
            f"{link(f'../ports/{inlet.id}.html', f'{short(inlet.name)}: tell it, plug in, free it')}</p></div>"
        )
    return f"<div data-search-exclude>{''.join(blocks)}</div>"


def _to_reason(pair: PlugPair) -> str:
    return f'<a href="#{e(_anchor(pair))}">Why<span class="vh">: {name(end_words(pair))}</span></a>'


def _why_nothing(mine: Sequence[PlugPair]) -> str:
    """Return why nothing goes into a port: what the connector says of it that is an AC unit's own, if anything does."""
    for code in ("own_supply_cord", "inlet_dc_only", "signalling_differs", "phases_differ", "does_not_fit"):
        for pair in mine:
            if pair.code == code and pair.adapter is None:
                return "No connector of an AC unit goes in." if code == "does_not_fit" else name(pair.text)
    return ""


# -------------------------------------------------------------------------------------------------------- the matrix


def _matrix(dataset: Dataset, matrix: Sequence[PlugPair]) -> str:
    heads: list[str | Cell] = ["In our hand", *(Cell(_column(dataset, inlet)) for inlet in inlets_in_order(dataset))]
    rows = [
        Row(
            [Cell(name(end_words(pairs[0]))), *(Cell(_mark(dataset, pair)) for pair in pairs)],
            marks=_marks(dataset, pairs),
        )
        for pairs in _by_end(matrix).values()
    ]
    return table("What is held against the vehicle's port", heads, rows)


def _by_end(matrix: Sequence[PlugPair]) -> dict[str, list[PlugPair]]:
    found: dict[str, list[PlugPair]] = {}
    for pair in matrix:
        found.setdefault(end_id(pair), []).append(pair)
    return found


def _column(dataset: Dataset, inlet: Inlet) -> str:
    face = dataset.faces.get(inlet.id)
    drawn = port_icon(face) if face is not None else ""
    return f"<span>{name(short(inlet.name))}</span>{drawn}"


def _mark(dataset: Dataset, pair: PlugPair) -> str:
    """Return one cell: a link to the reason. The inlet's name stands in it on a narrow page alone."""
    state = _state(dataset, pair)
    shape = {
        "yes": f'{icon("yes")}<span class="vh">yes</span>',
        "no": '<span class="nope" aria-hidden="true">×</span><span class="vh">no</span>',
        "dc": '<b class="dc" aria-hidden="true">DC</b><span class="vh">no</span><span class="vh">, DC only</span>',
    }[state]
    if waits_for_label(dataset, pair):
        shape = f'{icon("ask_first")}<span class="vh">no</span><span class="vh">, until its label is read</span>'
    label = f'<span class="mi">{name(short(pair.inlet.name))}</span>'
    return f'<a class="mx is-{state}" href="#{e(_anchor(pair))}">{shape}{label}</a>'


def _legend() -> str:
    return (
        f'<p class="n">{icon("yes")}goes in on an AC unit. <span class="nope">×</span> does not: never force it. '
        f"{icon('ask_first')}not before the label of the customer's adapter has been read. "
        '<b class="dc">DC</b> a DC unit alone: <b>DC only, never on our unit</b>, though it may slide in. Touch a mark for its '
        "reason, code and source. Nothing left in the table: nothing of that kind goes. One adapter at most; no extension "
        "between equal couplers.</p>"
    )


def _anchor(pair: PlugPair) -> str:
    return f"{end_id(pair)}--{pair.inlet.id}"


def _reasons(dataset: Dataset, matrix: Sequence[PlugPair]) -> str:
    """Return every pair with its reason, those with one reason in one row: of an end, or of an inlet that refuses all."""
    ends_by_text: dict[str, set[str]] = {}
    for pair in matrix:
        ends_by_text.setdefault(pair.text, set()).add(end_id(pair))
    groups: dict[tuple[str, str, str], list[PlugPair]] = {}
    for pair in matrix:
        by_inlet = pair.code is not None and len(ends_by_text[pair.text]) > 1
        text = "Does not go in. Do not force it." if pair.code == "does_not_fit" else pair.text
        what = f"inlet {pair.inlet.id}" if by_inlet else f"end {end_id(pair)}"
        groups.setdefault((what, text, _on_dc_words(dataset, pair)), []).append(pair)
    rows = [
        Row(
            [
                Cell(_pairs_of(found, by_inlet=what.startswith("inlet "))),
                Cell(goes_mark(found[0])),
                Cell(
                    f"{name(text)}{_label_first(dataset, found)}{narrow(f'On a DC unit: {e(dc_words)}') if dc_words != 'no' else ''}{_by(found)}"
                ),
                Cell(e(dc_words), wide=True),
            ],
            marks=_marks(dataset, found),
        )
        for (what, text, dc_words), found in groups.items()
    ]
    heads: list[str | Cell] = ["Pair", "Goes", "Why, by which rule", Cell("On a DC unit", wide=True)]
    return f'<div class="why">{table("Each pair, and why", heads, rows)}</div>'


def _label_first(dataset: Dataset, found: Sequence[PlugPair]) -> str:
    """Return what makes a customer's adapter count, and into which inlets it then goes."""
    waiting = [pair for pair in found if waits_for_label(dataset, pair)]
    if not waiting or waiting[0].adapter is None:
        return ""
    inlets = ", ".join(short(pair.inlet.name) for pair in waiting)
    return f" <b>{label_words(waiting[0].adapter)}</b>, and then into {name(inlets)} alone."


def _on_dc_words(dataset: Dataset, pair: PlugPair) -> str:
    found = on_dc(dataset, pair)
    return found.text if found.goes else "no"


def _by(found: Sequence[PlugPair]) -> str:
    """Return code and source; of inlets that share a row each has its own standard, which the last table names."""
    code = f"<code>{e(found[0].code)}</code>, " if found[0].code is not None else ""
    sources = {pair.source for pair in found}
    rules = {pair.source.removeprefix(pair.inlet.standard) for pair in found}
    if len(sources) == 1:
        source = e(found[0].source)
    elif len(rules) == 1:
        source = f'<a href="#carry">standard of each inlet</a>{e(rules.pop())}'
    else:
        source = e("; ".join(dict.fromkeys(pair.source for pair in found)))
    return f'<span class="n by">{code}{source}</span>'


def _pairs_of(found: Sequence[PlugPair], *, by_inlet: bool) -> str:
    """Return the pairs of one row, each with its anchor: an end into its inlets, or an inlet with the ends it refuses."""
    if by_inlet:
        ends = ", ".join(f'<span id="{e(_anchor(pair))}">{name(end_words(pair))}</span>' for pair in found)
        return f'Into {name(short(found[0].inlet.name))} <span class="into">with {ends}</span>'
    inlets = ", ".join(f'<span id="{e(_anchor(pair))}">{name(short(pair.inlet.name))}</span>' for pair in found)
    return f'{name(end_words(found[0]))} <span class="into">into {inlets}</span>'


# -------------------------------------------------------------------------------------------------- adapters, ratings


def _adapters(dataset: Dataset) -> str:
    rows = [
        [
            Cell(name(adapter.name)),
            Cell(_use_words(adapter)),
            Cell(adapter.carries.upper(), wide=True),
            Cell(e(LISTING_WORDS[adapter.listing]), wide=True),
            Cell(e(amps(adapter.rating_current_a)) if adapter.rating_current_a else "unreadable", figure=True),
            Cell("yes" if adapter.temperature_sensing else "no", wide=True),
            Cell(name(adapter.latch), wide=True),
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
    note = (
        '<p class="n">UL 2252, adapters for EV couplers: that it exists and what for was read; what a label says is common '
        "practice. 80A,250V stands for the figures of that label.</p>"
    )
    return table("Adapters", heads, rows) + note


def _use_words(adapter: Adapter) -> str:
    reason = never(adapter)
    if reason is None:
        return verdict_mark("serve", "Yes")
    if reason[0] == "adapter_rating_unreadable" and adapter.listing == "supplied_by_vehicle_maker":
        return f"{verdict_mark('ask_first')} {label_words(adapter)}"
    words = {"dc_adapter_on_ac": "DC only", "adapter_not_listed": "no listing"}.get(reason[0], "no readable label")
    return verdict_mark("cannot_serve", f"Never: {words}")


def _carry_table(dataset: Dataset) -> str:
    halves: list[Connector | Inlet] = [*dataset.connectors.values(), *dataset.inlets.values()]
    rows = [
        [
            Cell(name(record.name)),
            Cell(e(ac_words(record.ac, _plug_of(dataset, record)))),
            Cell(e(dc_words(record.dc))),
            Cell(name(record.standard), wide=True),
        ]
        for record in halves
    ]
    return table("Continuous ratings", ["Coupler half", "AC", "DC", Cell("Standard", wide=True)], rows)


def _plug_of(dataset: Dataset, record: Connector | Inlet) -> Outlet | None:
    """Return the receptacle of a vehicle's own cord, of which its plug is the other half."""
    return dataset.outlets[record.plugs_into] if isinstance(record, Inlet) and record.plugs_into is not None else None
