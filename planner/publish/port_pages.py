"""The pages of ports: the key, look-alikes side by side, all ports one by one, and one page a port."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from planner.figures import amps
from planner.marks import InletMark, marks_for_inlet
from planner.mating import KEPT_WORDS, Kept
from planner.publish.coupler_drawings import connector_drawing, pair_drawing, port_drawing, port_icon
from planner.publish.coupler_words import (
    HELD_WORDS,
    PROXIMITY_WORDS,
    REGION_WORDS,
    SIGNALLING_WORDS,
    ac_words,
    contact_words,
    dc_words,
    end_words,
    goes_mark,
    inlets_in_order,
    label_words,
    once_read,
    sensing_words,
    serves_words,
    short,
    waits_for_label,
)
from planner.publish.markup import (
    Cell,
    Page,
    anchored,
    begin_call,
    bullets,
    e,
    link,
    mark_words,
    name,
    narrow,
    notice,
    origins_section,
    section,
    table,
    verdict_mark,
)
from planner.publish.port_key import Answer, Question, port_key, questions
from planner.records import Connector, Dataset, Inlet, Rig, VehiclePort
from planner.tables import PlugPair, RigView

__all__ = ["look_alikes", "port_pages"]

KEY_LETTERS = "abcdefghijklmnopqrstuvwxyz"
# Shares are told in tenths; `0 in 10` and `10 in 10` would be false of what is only near them. Own judgement.
FEW_SHARE = 0.05
ALL_SHARE = 0.95


def port_pages(dataset: Dataset, views: Mapping[str, RigView], matrix: Sequence[PlugPair]) -> Iterator[Page]:
    """Yield the key with the list of ports, and one page a port; `views` are the rigs on their own, `matrix` what goes
    into what.
    """
    yield _index(dataset, views, matrix)
    for inlet in dataset.inlets.values():
        mine = [pair for pair in matrix if pair.inlet.id == inlet.id]
        yield _port_page(dataset, inlet, views, mine)


# ------------------------------------------------------------------------------------------------- what fits from us


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """How one cable of a rig reaches a port: directly, or by an adapter that is kept somewhere; else it does not."""

    connector: Connector
    pair: PlugPair  # the bare cable where nothing of the rig goes in
    kept: Kept | None = None

    @property
    def goes(self) -> bool:
        return self.pair.code is None

    @property
    def words(self) -> str:
        cable = f"{short(self.connector.name)} cable"
        return f"{cable}, no adapter" if self.pair.adapter is None else f"{cable}, {self.pair.adapter.name}"


_WAY_ORDER: tuple[Kept | None, ...] = (None, "on_board", "at_depot")


def _ways(rig: Rig, mine: Sequence[PlugPair]) -> list[_Way]:
    """Return one way for each cable of a rig: no adapter before one on board, one on board before one at the depot."""
    ways = []
    for cable in (rig.evse.cable, *rig.evse.other_cables):
        by_adapter = {
            pair.adapter.id if pair.adapter is not None else None: pair
            for pair in mine
            if pair.connector.id == cable.connector
        }
        bare = by_adapter[None]
        kept: dict[str | None, Kept | None] = {
            None: None,
            **dict.fromkeys(rig.adapters_at_depot, "at_depot"),
            **dict.fromkeys(rig.adapters, "on_board"),
        }
        found = [
            _Way(bare.connector, pair, kept[adapter])
            for adapter, pair in by_adapter.items()
            if adapter in kept and pair.code is None
        ]
        ways.append(min(found, key=lambda way: _WAY_ORDER.index(way.kept), default=_Way(bare.connector, bare)))
    return sorted(ways, key=lambda way: _WAY_ORDER.index(way.kept) if way.goes else len(_WAY_ORDER))


def _way_mark(way: _Way) -> str:
    if not way.goes:
        return verdict_mark("cannot_serve", "No")
    return verdict_mark("serve_with_changes", "Bring it") if way.kept == "at_depot" else verdict_mark("serve", "Yes")


def _way_words(way: _Way) -> str:
    kept = f" ({KEPT_WORDS[way.kept]})" if way.kept is not None else ""
    return f"{way.words}{kept}" if way.goes else way.pair.text


def _set_to(way: _Way, marks: Sequence[InletMark]) -> InletMark | None:
    """Return what a way is set to at the rig's usual site."""
    adapter_id = way.pair.adapter.id if way.pair.adapter is not None else None
    return next(
        (
            one
            for one in marks
            if one.connector.id == way.connector.id
            and (one.adapter.id if one.adapter is not None else None) == adapter_id
        ),
        None,
    )


def _mark_words(found: InletMark) -> str:
    """Return the mark with its amps, and what the vehicle is told where that is less."""
    assert found.mark is not None
    assert found.output_a is not None
    told = ""
    if found.told_a is not None and found.told_a < found.output_a:
        told = f"; its cable tells the vehicle {amps(found.told_a)}"
    return f"{mark_words(found.mark, found.output_a)}{told}"


def _fits_short(dataset: Dataset, inlet: Inlet, views: Mapping[str, RigView], mine: Sequence[PlugPair]) -> str:
    """Return what of all rigs that may be used goes into a port, each way once; or what to do instead."""
    found: dict[str, _Way] = {}
    for rig in dataset.rigs.values():
        for way in _ways(rig, mine):
            if way.goes and views[rig.id].fitness != "not_fit":
                found.setdefault(way.words, way)
    if found:
        into = f", into the {e(inlet.ac_part)}" if inlet.ac_part else ""
        return "<br>".join(f"{verdict_mark('serve', way.words)}{into}" for way in found.values())
    if inlet.plugs_into is not None:
        outlet = dataset.outlets[inlet.plugs_into]
        return verdict_mark("cannot_serve", f"No EVSE cable: it wants a receptacle, {outlet.configuration}")
    if inlet.ac is None:
        return verdict_mark("cannot_serve", "DC only: find the second port")
    return verdict_mark("cannot_serve", "No cable and no adapter of ours")


# ----------------------------------------------------------------------------------------------------------- the list


def look_alikes(dataset: Dataset) -> list[tuple[Inlet, Inlet]]:
    """Return every pair of ports that are easily mistaken for one another, once, in the order of the inlets."""
    order = list(dataset.inlets)
    found = {
        tuple(sorted((inlet_id, other), key=order.index))
        for inlet_id, face in dataset.faces.items()
        for other in face.looks_like
        if inlet_id in dataset.inlets and other in dataset.inlets and other != inlet_id
    }
    ordered = sorted(found, key=lambda pair: (order.index(pair[0]), order.index(pair[1])))
    return [(dataset.inlets[left], dataset.inlets[right]) for left, right in ordered]


def _pair_anchor(pair: tuple[Inlet, Inlet]) -> str:
    return f"pair--{pair[0].id}--{pair[1].id}"


def _index(dataset: Dataset, views: Mapping[str, RigView], matrix: Sequence[PlugPair]) -> Page:
    key = port_key(dataset)
    pairs = look_alikes(dataset)
    by_inlet = {key: [pair for pair in matrix if pair.inlet.id == key] for key in dataset.inlets}
    alike = "".join(_pair_block(dataset, pair, "", level=3) for pair in pairs)
    body = (
        "<h1 data-search-exclude>Which port is it?</h1>"
        '<p class="lead">Tell the port by looking at it, not by the vehicle: the same class may have been built with '
        "another one.</p>"
        "<p><b>Look, do not touch:</b> no tool, no coin and no finger in a port. Wet, cracked, burnt, or after a crash: "
        f"stay away. {link('../safety/index.html', 'Safety')}</p>"
        '<p class="ways" data-search-exclude>'
        + ('<a href="#key">Find it by questions</a>' if key is not None else "")
        + ('<a href="#alike">Easily confused</a>' if pairs else "")
        + '<a href="#all">One by one</a></p>'
        + (section("Find it by questions", "key", _key(dataset, key, pairs)) if key is not None else "")
        + (section("Easily confused", "alike", f'<div class="pal">{alike}</div>') if pairs else "")
        + section("One by one", "all", _every(dataset, views, by_inlet))
    )
    return Page(
        "ports/index.md",
        "Ports",
        "Which port is this: a key by what is seen, look-alikes side by side, and every port.",
        body,
        tags=("inlet", "charge port", "socket", "which plug", "which port"),
    )


def _key(dataset: Dataset, first: Question, pairs: Sequence[tuple[Inlet, Inlet]]) -> str:
    """Return the key: numbered questions, each answer a link to the next one or to a port."""
    asked = questions(first)
    numbers = {id(question): number for number, question in enumerate(asked, 1)}
    blocks = []
    for number, question in enumerate(asked, 1):
        lines = "".join(
            _answer(dataset, letter, answer, numbers)
            for letter, answer in zip(_letters(len(question.answers)), question.answers, strict=True)
        )
        inlets = question.inlets
        beside = [pair for pair in pairs if question.by_words and pair[0] in inlets and pair[1] in inlets]
        doubt = "".join(
            f'<p class="n"><a href="#{e(_pair_anchor(pair))}">{name(_pair_words(pair))} Side by side</a></p>'
            for pair in beside
        )
        head = f'<h3 id="key-{number}" data-search-exclude><b class="f">{number}</b> {e(question.text)}</h3>'
        blocks.append(f'<div class="kq">{head}<ul>{lines}</ul>{doubt}</div>')
    lead = (
        "Start at 1; on the phone ask the same words. Two ports, side by side or behind another door? Go through it once "
        "for each. None fits, or two do: a photo of the open port settles it."
    )
    return f'<p>{lead}</p><div class="key" data-search-exclude>{"".join(blocks)}</div>'


def _letters(count: int) -> list[str]:
    return [
        KEY_LETTERS[at] if at < len(KEY_LETTERS) else str(at + 1)  # a crew's many ports without a face
        for at in range(count)
    ]


def _answer(dataset: Dataset, letter: str, answer: Answer, numbers: Mapping[int, int]) -> str:
    if isinstance(answer.leads_to, Question):
        number = numbers[id(answer.leads_to)]
        href, goal, drawn = f"#key-{number}", f"go to {number}", ""
    else:
        face = dataset.faces.get(answer.leads_to.id)
        href, goal = f"{answer.leads_to.id}.html", short(answer.leads_to.name)
        drawn = port_icon(face) if face is not None else ""
    return (
        f'<li><a class="kl" href="{e(href)}"><span class="f">{letter}</span><span>{e(answer.words)}</span>'
        f"<b>{drawn}{name(goal)}</b></a></li>"
    )


def _pair_words(pair: tuple[Inlet, Inlet]) -> str:
    return f"{short(pair[0].name)} or {short(pair[1].name)}?"


def _pair_block(dataset: Dataset, pair: tuple[Inlet, Inlet], root: str, *, level: int) -> str:
    """Return two ports side by side with what tells them apart; `root` leads to the list of ports."""
    left, right = (dataset.faces.get(inlet.id) for inlet in pair)
    ids = tuple(inlet.id for inlet in pair)
    told = "".join(
        f"<p><b>At a {name(short(inlet.name))}:</b> {e(face.mistaken_for)}</p>"
        for inlet, face, other in ((pair[0], left, ids[1]), (pair[1], right, ids[0]))
        if face is not None and face.mistaken_for and other in face.looks_like
    )
    words = (pair[0].tell_apart, pair[1].tell_apart)
    drawn = ""
    if left is not None and right is not None:
        drawn = pair_drawing(
            left, right, names=(short(pair[0].name), short(pair[1].name)), words=words, key=_pair_anchor(pair)
        )
    each = "" if told else bullets(f"<b>{name(short(inlet.name))}:</b> {e(inlet.tell_apart)}" for inlet in pair)
    ways = " ".join(link(f"{root}{inlet.id}.html", short(inlet.name)) for inlet in pair)
    head = anchored(level, _pair_words(pair), _pair_anchor(pair))
    return f'<div class="pa">{head}{drawn}{told}{each}<p class="ways">{ways}</p></div>'


def _every(dataset: Dataset, views: Mapping[str, RigView], by_inlet: Mapping[str, Sequence[PlugPair]]) -> str:
    blocks = []
    for inlet in inlets_in_order(dataset):
        face = dataset.faces.get(inlet.id)
        svg = port_drawing(face, name=inlet.name, words=inlet.tell_apart) if face is not None else ""
        drawn = f"<div>{svg}</div>" if svg else ""
        blocks.append(
            f'<div class="{"pp" if drawn else "pa"}">{drawn}<div>'
            f'<h3 data-search-exclude><a href="{e(inlet.id)}.html">{name(inlet.name)}</a></h3>'
            f"<p>{e(inlet.tell_apart)}</p><p>{_fits_short(dataset, inlet, views, by_inlet[inlet.id])}</p></div></div>"
        )
    note = (
        "An inlet is the port on the vehicle; a connector is what goes into it. Drawings are approximate, all at one "
        "scale, beside a quarter and a hand: they show, they do not gauge. A filled disc is a metal pin, an open ring an opening "
        "of which it is not known, or a hole."
    )
    return f'<p class="n">{note}</p><div class="ps">{"".join(blocks)}</div>'


# --------------------------------------------------------------------------------------------------------- one port


def _port_page(dataset: Dataset, inlet: Inlet, views: Mapping[str, RigView], mine: Sequence[PlugPair]) -> Page:
    face = dataset.faces.get(inlet.id)
    svg = port_drawing(face, name=inlet.name, words=inlet.tell_apart) if face is not None else ""
    drawn = f'<div class="pd">{svg}</div>' if svg else ""
    called = f'<p class="n">Also called: {e(", ".join(inlet.also_called))}.</p>' if inlet.also_called else ""
    upper = f"<p>The AC connector goes into its <b>{e(inlet.ac_part)}</b>.</p>" if inlet.ac_part else ""
    notes = f"<p>{e(inlet.notes)}</p>" if inlet.notes else ""
    head = (
        '<p class="crumb" data-search-exclude><a href="index.html">All ports</a></p>'
        f'<h1 data-search-exclude>{name(inlet.name)}</h1><p class="lead">{e(inlet.tell_apart)}</p>'
        f'<div class="{"pt" if drawn else "pw"}">{drawn}<div>'
        f"{notice('cannot_serve', 'Never', f'<p>{e(inlet.never)}</p>')}{_instead(dataset, inlet)}{upper}{notes}{called}"
        "</div></div>"
        + (begin_call("port", inlet.id) if any(car.port(inlet.id) for car in dataset.vehicle_classes.values()) else "")
    )
    takes_ours = inlet.ac is not None and inlet.plugs_into is None
    parts = [
        head,
        section("With our rigs", "rigs", _by_rig(dataset, inlet, views, mine)),
        _alike_section(dataset, inlet),
        section("Plug in, check, unplug", "joints", _joints(dataset, inlet, mine)) if takes_ours else "",
        section("Frozen, locked or stuck", "release", _release(inlet, takes_ours=takes_ours), searched=True),
        section("Classes that have it", "classes", _classes(dataset, inlet)),
        section("The coupler", "coupler", _coupler(dataset, inlet, mine)),
        section("What goes into it, on an AC unit", "fits", _goes_table(dataset, mine)),
        section("Cautions", "cautions", bullets(_CAUTIONS)),
        origins_section(inlet, dataset.sources, "../", ""),
    ]
    return Page(
        f"ports/{inlet.id}.md",
        inlet.name,
        f"{inlet.name}: how to tell it, what goes into it, which classes have it.",
        "".join(parts),
        tags=(*inlet.also_called, "port", "inlet", "charge port", *_asked_by(inlet)),
    )


def _asked_by(inlet: Inlet) -> tuple[str, ...]:
    """Return what people type who do not know a port's name: what they see of it, or what is wrong at it."""
    if inlet.plugs_into is not None:
        return "cord in the trunk", "cord in trunk", "own cord", "no port", "three prongs", "blades in a cup"
    if inlet.ac is None:
        return "two round holes", "two big holes", "DC only"
    below = ("two round holes below", "two big holes") if inlet.dc is not None and inlet.ac_part is not None else ()
    return *below, "stuck", "frozen", "iced up", "locked", "won't come out", "does not come out", "won't go in"


# Reasons that name the end alone: one row for all of them.
_SAME_FOR_ALL = {
    "does_not_fit": "Does not go in. Do not force it.",
    "connector_dc_only": "Carries no AC; our unit gives AC.",
}
_CAUTIONS = (
    "Only an adapter with a listing and a readable label, or the one that the vehicle's maker supplied. <b>One at most, "
    "never two in a row.</b> No extension between equal couplers.",
    "An adapter carries AC or DC, never both: a DC adapter may slide in, and is never used on our unit.",
    "Hot to the hand, a smell, a browned or loose contact: stop at the vehicle, or switch off at the EVSE or its breaker. "
    "It is tagged and goes out of service.",
    "The vehicle's own handbook, the listing instructions and a licensed electrician decide; this page only plans. "
    '<a href="../safety/index.html">Safety</a>',
)


def _instead(dataset: Dataset, inlet: Inlet) -> str:
    """Return what to do where no cable of an AC unit goes in: the second port, or a receptacle for the own cord."""
    if inlet.plugs_into is not None:
        return _own_cord(dataset, inlet)
    if inlet.ac is not None:
        return ""
    others = dict.fromkeys(
        port.inlet
        for vehicle in dataset.vehicle_classes.values()
        if vehicle.port(inlet.id) is not None
        for port in vehicle.ports
        if dataset.inlets[port.inlet].ac is not None and (port.carries is None or "ac" in port.carries)
    )
    named = " or ".join(link(f"{key}.html", dataset.inlets[key].name) for key in others)
    seen = f"Classes that have it take our charge through: {named}." if named else "No class on record has another."
    text = (
        f"<p><b>Look for the second port.</b> {seen} Beside this one, under a door of its own, or on another side of the "
        "body. No second port: we cannot charge it; a tow, or a DC station.</p>"
    )
    return f"<p>{verdict_mark('cannot_serve', 'No AC here')}</p>{text}"


def _own_cord(dataset: Dataset, inlet: Inlet) -> str:
    assert inlet.plugs_into is not None
    outlet = dataset.outlets[inlet.plugs_into]
    with_one = [
        link(f"../rigs/{rig.id}.html", rig.name)
        for rig in dataset.rigs.values()
        if any(part.part == "receptacle" and part.outlet == outlet.id for part in rig.supply)
    ]
    most = f", which is {amps(inlet.ac.current_a)} on one of {amps(outlet.rating_a)}" if inlet.ac is not None else ""
    have = f"Rigs that have one: {', '.join(with_one)}." if with_one else "None of our rigs has one on its supply."
    steps = (
        f"A receptacle of its own kind, {e(outlet.configuration)}, with ground and ground-fault protection, or nothing. {have}",
        "A site's own receptacle: only one that its owner allows, whole, tight and dry, with nothing else on its breaker. "
        "No lead that changes the plug, no cheater for the ground pin, no household extension cord.",
        f"Read the amps on the vehicle's charger: for hours, no more than 0.8 of the receptacle's breaker{most}.",
        "Nothing agrees on the current here, and the blades are live: charger off, then plug in, then charger on. At the "
        "end: charger off, then pull.",
        "Feel plug and receptacle at 10 and 30 minutes. Warm is normal, hot is the end of it.",
    )
    return (
        f"<p>{verdict_mark('cannot_serve', 'No EVSE cable goes in')}</p><p><b>Instead:</b></p>{bullets(steps)}"
        '<p class="n">Common practice, no source; 0.8 for hours: NEC 210.21(B)(2), as good practice.</p>'
    )


def _by_rig(dataset: Dataset, inlet: Inlet, views: Mapping[str, RigView], mine: Sequence[PlugPair]) -> str:
    """Return how each rig reaches a port, and what it is set to; where none does for one reason, that reason once."""
    ways = {rig.id: _ways(rig, mine) for rig in dataset.rigs.values()}
    every = [way for found in ways.values() for way in found]
    reasons = {way.pair.text for way in every}
    if not every:
        return "<p>No rig on record.</p>"
    if not any(way.goes for way in every) and len(reasons) == 1:
        return f"<p>{verdict_mark('cannot_serve', 'None of them')} {e(reasons.pop())}</p>"
    rows = []
    for rig_id, found in ways.items():
        rig = link(f"../rigs/{rig_id}.html", dataset.rigs[rig_id].name)
        shown = [way for way in found if way.goes] or found
        mark = _way_mark(shown[0])
        told = [name(_way_words(way)) for way in shown]
        if views[rig_id].fitness == "not_fit":
            rig = f"<span>{rig}, <b>not fit, see its findings</b></span>"
            mark = verdict_mark("cannot_serve", "Not fit")
        elif shown[0].goes:
            marks = marks_for_inlet(dataset, rig_id, inlet.id)
            set_to = [_set_to(way, marks) for way in shown]
            told = [
                f"{_set_to_html(one)}{words}" if one is not None else words
                for one, words in zip(set_to, told, strict=True)
            ]
            if all(one is not None and one.mark is None for one in set_to):
                mark = verdict_mark("cannot_serve", "No mark")
        rows.append([Cell(rig), Cell(mark), Cell("<br>".join(told))])
    set_somewhere = any(found[0].goes and views[rig_id].fitness != "not_fit" for rig_id, found in ways.items())
    note = (
        '<p class="n">The mark is what a rig is set to at its usual site for any vehicle with this port; higher up, in '
        "warmer air or behind another breaker it may be lower, and an older vehicle may draw less. Read the amps back at "
        "the unit: some marks count breaker amps.</p>"
    )
    return table("What goes into it from each rig", ["Rig", "Goes", "Set to; cable, adapter"], rows) + (
        note if set_somewhere else ""
    )


def _set_to_html(found: InletMark) -> str:
    """Return what leads the words of a way: the mark, or why there is none."""
    if found.mark is None:
        return f"{e(found.refused or '')} "
    return f"<b>{e(_mark_words(found))}</b>, "


def _alike_section(dataset: Dataset, inlet: Inlet) -> str:
    pairs = [pair for pair in look_alikes(dataset) if inlet in pair]
    if not pairs:
        return ""
    blocks = "".join(_pair_block(dataset, pair, "", level=3) for pair in pairs)
    return section("Easily mistaken for", "alike", f'<div class="pal">{blocks}</div>')


# What is looked at inside a port before anything goes in, by what its metal is.
_LOOK_IN = {"pins": "its pins straight", "holes": "its holes clear", "openings": "nothing in its openings"}


def _joints(dataset: Dataset, inlet: Inlet, mine: Sequence[PlugPair]) -> str:
    """Return the steps at the port, as boxes to tick; those of an adapter only where one may be used."""
    open_pairs = [pair for pair in mine if pair.code is None]
    if not open_pairs:
        return "<p>Nothing on record goes into it: leave it shut.</p>"
    straight = [pair.connector for pair in open_pairs if pair.adapter is None]
    adapters = [pair.adapter for pair in open_pairs if pair.adapter is not None]
    into = f" into its {e(inlet.ac_part)}" if inlet.ac_part else ""
    face = dataset.faces.get(inlet.id)
    look_in = _LOOK_IN[face.metal if face is not None else "openings"]
    steps = [f"Port dry, whole and clean, {look_in}; cable and label whole."]
    if adapters:
        steps.append('With an adapter: listing and label read, <b>signed out</b>. <span class="ln"></span> out')
        steps.append("Connector into the adapter first, then the adapter into the vehicle: <b>two joints</b>.")
    steps.append(f"Pushed straight home{into} by hand, no force, no twist. Held by {e(HELD_WORDS[inlet.held_by])}.")
    if adapters:
        steps.append(
            "Tug at both joints: connector to adapter, adapter to vehicle. A latch may hold one and not the other."
        )
    joints = "both joints" if adapters else "the joint"
    steps.append(f"Felt at 10 min, {joints}, glove off, back of the hand first.")
    steps.append(f"Felt at 30 min, {joints}. Too hot to keep a hand on: stop at the vehicle.")
    steps.append(
        "Before unplugging: stopped at the vehicle, 0 A on the meter, vehicle unlocked. Then the latch, then straight out."
    )
    if adapters:
        steps.append(
            'The adapter comes out with the connector or after it, and is <b>signed in</b>. <span class="ln"></span> in'
        )
    held = {record.name: record.latch for record in straight} | {record.name: record.latch for record in adapters}
    rows = [[Cell(name(what)), Cell(name(latch))] for what, latch in held.items()]
    ticks = "".join(f'<li><span class="bx" aria-hidden="true"></span><span>{step}</span></li>' for step in steps)
    return (
        f'<ol class="tk">{ticks}</ol>{table("How each is held, and comes out", ["Connector, adapter", "Held by"], rows)}'
        '<p class="n">Common practice, no source; the minutes are judgement.</p>'
    )


# After the steps of the record, in this order; the battery that thaws a port is the one that is to be charged.
_THAW_STEPS = (
    "Ice on the door or round the port: tap it or press lightly, warm it by hand, or stand the vehicle in a warm place.",
    "Let the vehicle thaw it: its own preheating, cabin on high, for 30 to 45 minutes. It takes battery: not with a nearly "
    "empty one.",
    "The manual release, if it has one: only after charging has stopped, where the owner's handbook says, pulled lightly. "
    "Nobody hunts for it.",
    "De-icer on the seam of the door or on the latch only, never on contacts, nothing live, away from a running engine; "
    "then let it dry.",
)


def _release(inlet: Inlet, *, takes_ours: bool) -> str:
    stop = (
        "Where to stop: no tool and no prying at the port, no force beyond one hand, no flame, heat gun, hot water or "
        "pressure washer; nothing sprayed on contacts. After a few quiet tries it is the owner's handbook, the maker's "
        "help line or a tow."
    )
    hands_off = (
        "Hot, cracked, scorched, or after a crash: hands off, and the vehicle's emergency guide alone. A flat 12 V battery "
        "leaves lock and door without power: that first."
    )
    steps = "".join(f"<li>{step}</li>" for step in _THAW_STEPS)
    thaw = f"<p><b>Then, in this order:</b></p><ol>{steps}</ol>" if takes_ours else ""
    return (
        f"<p>{e(inlet.release)}</p>{thaw}<p><b>{stop}</b></p><p>{hands_off}</p>"
        '<p class="n">Common practice, no source; where to stop, and de-icer: judgement.</p>'
    )


def _classes(dataset: Dataset, inlet: Inlet) -> str:
    rows = []
    for vehicle in dataset.vehicle_classes.values():
        port = vehicle.port(inlet.id)
        if port is not None:
            share = _share_words(port)
            rows.append(
                [
                    Cell(link(f"../vehicles/{vehicle.id}.html", vehicle.name) + narrow(e(share))),
                    Cell(e(share), wide=True),
                    Cell(name(port.place_words)),
                ]
            )
    if not rows:
        return "<p>None of the classes.</p>"
    heads: list[str | Cell] = ["Class", Cell("Of the class", wide=True), "Where, as the driver sits"]
    narrowed = f"../vehicles/index.html?port={inlet.id}"
    return (
        table("Classes that have it", heads, rows)
        + f'<a class="way" href="{e(narrowed)}" data-search-exclude>Classes with this port</a>'
    )


def _share_words(port: VehiclePort) -> str:
    """Return how many of a class have a port, in tenths, and what it is short of there."""
    if port.share >= ALL_SHARE:
        words = "all" if port.share == 1 else "nearly all"
    else:
        words = "few" if port.share < FEW_SHARE else f"about {max(round(10 * port.share), 1)} in 10"
    if port.carries is None:
        return words
    return f"{words}, there {' and '.join(kind.upper() for kind in port.carries)} alone"


def _coupler(dataset: Dataset, inlet: Inlet, mine: Sequence[PlugPair]) -> str:
    """Return the connector that goes in as drawn, and the facts of the coupler."""
    face = dataset.faces.get(inlet.id)
    outlet = dataset.outlets[inlet.plugs_into] if inlet.plugs_into is not None else None
    rows = [
        ("Standard", name(inlet.standard)),
        ("Built into vehicles for", e(", ".join(REGION_WORDS[region] for region in inlet.regions))),
        ("AC, continuous", e(ac_words(inlet.ac, outlet))),
        ("DC, continuous", f"{e(dc_words(inlet.dc))}{', never on our unit' if inlet.dc is not None else ''}"),
        ("Held by", e(HELD_WORDS[inlet.held_by])),
        ("Agrees on the current by", e(SIGNALLING_WORDS[inlet.signalling])),
        ("Proximity contact tells", f"{e(PROXIMITY_WORDS[inlet.proximity])}"),
        ("Temperature at the contacts", e(sensing_words(inlet))),
    ]
    facts = table("The coupler in figures", ["What", "This one"], [[Cell(what), Cell(told)] for what, told in rows])
    pilot = (
        ""
        if inlet.signalling in {"none", "can"}
        else '<p>What the signals are, and how they are measured: <a href="../plugs/pilot.html">Pilot and proximity</a>.</p>'
    )
    contacts = _contacts(inlet, dataset) if face is not None else ""
    drawn = _connectors(dataset, inlet, mine)
    return f'<div class="sp"><div>{facts}{pilot}</div><div>{drawn}{contacts}</div></div>'


def _connectors(dataset: Dataset, inlet: Inlet, mine: Sequence[PlugPair]) -> str:
    """Return the connectors that are used on an AC unit, drawn; where none is, the port's own one as not ours."""
    used = [pair.connector for pair in mine if pair.code is None and pair.adapter is None]
    own = [record for record in dataset.connectors.values() if record.mates == inlet.id and inlet.id in record.fits]
    drawn = []
    for record in used or own:
        face = dataset.faces.get(record.mates)
        if face is None:
            continue
        ours = "" if used else ", DC: not ours" if record.ac is None else ", not ours"
        svg = connector_drawing(
            face, name=f"{record.name}{ours}", words=f"Held by {HELD_WORDS[record.held_by]}.", left_out=record.left_out
        )
        drawn.append(f'<div class="pc"><h3 data-search-exclude>{name(record.name)}{ours}</h3>{svg}</div>')
    return "".join(drawn)


def _contacts(inlet: Inlet, dataset: Dataset) -> str:
    face = dataset.faces[inlet.id]
    rows = [[Cell(e(contact_words(face, contact))), Cell(e(serves_words(face, contact)))] for contact in face.contacts]
    return table(f"Contacts, {len(rows)}", [f"Contacts, {len(rows)}", "Serves"], rows)


def _goes_table(dataset: Dataset, mine: Sequence[PlugPair]) -> str:
    """Return what goes in, and what does not with its reason; what is refused for one reason shares a row."""
    groups: dict[str, list[PlugPair]] = {}
    for pair in sorted(mine, key=lambda pair: (pair.code is not None, not waits_for_label(dataset, pair))):
        against = once_read(dataset, pair)  # a label that nobody has read is no reason where it would not go in anyway
        if pair.adapter is not None and waits_for_label(dataset, pair):
            why = label_words(pair.adapter)
        elif against is None:
            why = name(pair.text)
        else:
            why = name(_SAME_FOR_ALL.get(*against))
        groups.setdefault(why if pair.code is not None else f"{why} {end_words(pair)}", []).append(pair)
    rows = [
        [
            Cell(", ".join(name(end_words(pair)) for pair in found)),
            Cell(verdict_mark("ask_first") if waits_for_label(dataset, found[0]) else goes_mark(found[0])),
            Cell(why if found[0].code is not None else name(found[0].text)),
        ]
        for why, found in groups.items()
    ]
    return table("Connectors and adapters for this port", ["Connector, adapter", "Goes", "Why"], rows)
