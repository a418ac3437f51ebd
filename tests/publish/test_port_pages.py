"""The pages of ports and plugs: one way through the key to every port, and what goes in told as the rules tell it."""

import random
import re
from dataclasses import replace
from itertools import pairwise

import make
import pytest

from planner.mating import KEPT_WORDS, paths, refusal
from planner.publish.markup import e
from planner.publish.plug_pages import STATE_WORDS, on_dc, plug_filter_styles, plug_page
from planner.publish.port_key import QUESTIONS_AT_MOST, key_ways, port_key, questions
from planner.publish.port_pages import look_alikes, port_pages
from planner.tables import plug_matrix, rig_view
from publish.test_artefacts import read, tables_of

# What is seen of each inlet, written by hand: IEC 62196-2 and -3 configurations and SAE J3400 for the outlines,
# GB/T 20234.2 for holes where Type 2 has pins, NEMA WD 6 and IEC 60309-2 for plugs on a cord. Widths: J1772 43.8 mm,
# CHAdeMO 70 mm across, against a quarter dollar of 24.26 mm (US Mint).
SEEN = {
    "j1772": ["One shape only", "A circle, round all the way", "About two quarters"],
    "ccs1": ["Two shapes in one piece", "A circle, round all the way"],
    "ccs2": ["Two shapes in one piece", "cut straight across"],
    "type-2": ["One shape only", "cut straight across", "A metal pin"],
    "j3068": ["One shape only", "cut straight across", "A metal pin"],
    "gb-t-ac": ["One shape only", "cut straight across", "empty holes"],
    "j3400": ["One shape only", "drawing in to a narrow foot"],
    "chademo": ["One shape only", "A circle, round all the way", "About three quarters"],
    "gb-t-dc": ["One shape only", "A circle, round all the way", "About three quarters"],
    "own-cord-5-15": ["a plug on its free end"],
    "own-cord-l5-30": ["a plug on its free end"],
    "own-cord-iec-60309-16": ["a plug on its free end"],
}
RIG_TABLE = "What goes into it from each rig"
# Ends and inlets that carry DC between them on a DC unit: the configurations of IEC 62196-3, SAE J3400, GB/T 20234.3,
# and the shipped adapter that is listed for DC. One for which no label can be read is none of them.
DC_WAYS = {
    ("ccs1", None, "ccs1"),
    ("ccs2", None, "ccs2"),
    ("j3400", None, "j3400"),
    ("chademo", None, "chademo"),
    ("gb-t-dc", None, "gb-t-dc"),
    ("ccs1", "ccs1-to-j3400-dc", "j3400"),
}


@pytest.fixture(scope="module")
def matrix(dataset):
    return plug_matrix(dataset)


def pages_of(dataset):
    views = {rig_id: rig_view(dataset, rig_id) for rig_id in dataset.rigs}
    return {page.path: page for page in port_pages(dataset, views, plug_matrix(dataset))}


@pytest.fixture(scope="module")
def pages(dataset):
    return pages_of(dataset)


@pytest.fixture(scope="module")
def plugs(dataset, matrix):
    return plug_page(dataset, matrix).body


def words_of(html):
    return re.sub(r"\s+", " ", " ".join(read(html).text))


def assert_sound(dataset):
    """Exactly one way to every port, no question with one answer or with one answer twice, and few questions."""
    first = port_key(dataset)
    ways = list(key_ways(first))
    assert sorted(inlet.id for _, inlet in ways) == sorted(dataset.inlets)
    assert max(len(answers) for answers, _ in ways) <= QUESTIONS_AT_MOST == 4
    for question in questions(first):
        assert len(question.answers) > 1
        if not question.by_words:
            assert len({answer.words for answer in question.answers}) == len(question.answers)
    return {inlet.id: [answer.words for answer in answers] for answers, inlet in ways}


# ------------------------------------------------------------------------------------------------------------ the key


def test_exactly_one_way_through_the_key_leads_to_each_port(dataset):
    ways = assert_sound(dataset)

    assert set(SEEN) == set(ways)
    for inlet_id, answers in ways.items():
        seen = SEEN[inlet_id]
        for words, wanted in zip(answers, seen, strict=False):
            assert wanted in words, (inlet_id, words)
        # What is left over after what is seen is told by the words of the record.
        assert answers[len(seen) :] in ([], [dataset.inlets[inlet_id].tell_apart])


def test_no_two_ports_that_are_told_apart_by_sight_share_a_way(dataset):
    ways = {inlet_id: tuple(answers) for inlet_id, answers in assert_sound(dataset).items()}

    assert len(set(ways.values())) == len(ways)
    by_words = {inlet_id for inlet_id, answers in ways.items() if len(answers) > len(SEEN[inlet_id])}
    cords = {inlet_id for inlet_id in SEEN if inlet_id.startswith("own-cord")}
    assert by_words == {"type-2", "j3068", "chademo", "gb-t-dc"} | cords


def test_the_key_holds_for_any_choice_of_ports_and_faces():
    """Some ports taken away, some faces not known, some changed for another's: the key is sound all the same."""
    base, draw = make.shipped_dataset(), random.Random(5)
    ids = list(base.inlets)
    for _ in range(200):
        chosen = draw.sample(ids, draw.randint(2, len(ids)))
        faces = {
            inlet_id: base.faces[draw.choice(ids) if draw.random() < 0.3 else inlet_id]
            for inlet_id in chosen
            if draw.random() < 0.8
        }
        assert_sound(replace(base, inlets={key: base.inlets[key] for key in chosen}, faces=faces))


def test_one_port_alone_needs_no_key():
    base = make.shipped_dataset()
    assert port_key(replace(base, inlets={"j1772": base.inlets["j1772"]})) is None


def test_following_the_links_from_the_first_question_reaches_every_page_once(dataset, pages):
    body = pages["ports/index.md"].body
    blocks = dict(re.findall(r'<h3 id="key-(\d+)".*?</h3>(.*?)</ul>', body))
    reached, open_questions = [], ["1"]
    while open_questions:
        for target in re.findall(r'class="kl" href="([^"]+)"', blocks.pop(open_questions.pop())):
            if target.startswith("#key-"):
                open_questions.append(target.removeprefix("#key-"))
            else:
                reached.append(target.removesuffix(".html"))
    assert blocks == {}
    assert sorted(reached) == sorted(dataset.inlets)


def test_the_first_thing_said_is_not_to_touch(pages):
    body = pages["ports/index.md"].body
    assert body.index("Look, do not touch") < body.index('id="key"')
    assert "stay away" in words_of(body[: body.index('id="key"')])


# --------------------------------------------------------------------------------------------------------- the pages


def crew_port(*, with_face):
    """Return the shipped data with a port of a crew's own, which has the face of J1772, or none."""
    base = make.shipped_dataset()
    own = base.inlets["j1772"].model_copy(update={"id": "yard-port", "name": "Yard port", "tell_apart": "Orange rim."})
    faces = dict(base.faces)
    if with_face:
        faces["yard-port"] = base.faces["j1772"].model_copy(update={"id": "yard-port", "name": "Yard port"})
    return replace(base, inlets={**base.inlets, own.id: own}, faces=faces)


@pytest.mark.parametrize("with_face", [True, False], ids=["face", "words alone"])
def test_a_port_of_a_crews_own_is_in_the_key_and_has_its_page(with_face):
    dataset = crew_port(with_face=with_face)
    ways, found = assert_sound(dataset), pages_of(dataset)

    assert ways["yard-port"][-1] == ("Orange rim." if with_face else "None of these, or it cannot be told")
    head = found["ports/yard-port.md"].body.partition('id="rigs"')[0]
    assert ("<svg" in head.replace('<svg class="ic"', "")) == with_face
    assert "Orange rim." in head
    assert 'href="yard-port.html"' in found["ports/index.md"].body
    for page in found.values():
        assert (read(page.body).faults, read(page.body).open) == ([], [])


def test_without_any_face_the_pages_are_words(dataset):
    found = pages_of(replace(dataset, faces={}))
    assert_sound(replace(dataset, faces={}))
    for inlet in dataset.inlets.values():
        assert e(inlet.tell_apart) in found["ports/index.md"].body
        assert e(inlet.tell_apart) in found[f"ports/{inlet.id}.md"].body


def test_pages_are_well_formed_and_their_own_links_lead_somewhere(pages, plugs):
    bodies = {path: page.body for path, page in pages.items()} | {"plugs/index.md": plugs}
    for path, body in bodies.items():
        page = read(body)
        assert (page.faults, page.open) == ([], []), path
        assert len(page.ids) == len(set(page.ids)), path
        assert page.headings.count(1) == 1, path
        assert all(after <= before + 1 for before, after in pairwise(page.headings)), path
        for tag, target in page.links:
            if tag == "a" and target.startswith("#"):
                assert target[1:] in page.ids, (path, target)
            elif tag == "a" and "/" not in target and path.startswith("ports/"):
                assert f"ports/{target.partition('#')[0].removesuffix('.html')}.md" in pages, (path, target)
        assert not [name for _, name, _ in page.attributes if name == "style"], path


def test_look_alikes_stand_side_by_side_once_and_on_both_pages(dataset, pages):
    pairs = {frozenset((left.id, right.id)) for left, right in look_alikes(dataset)}

    # Those that a crew mixes up, by hand: one outline, or one upper part, or as many holes.
    for wanted in (
        {"type-2", "gb-t-ac"},
        {"j1772", "ccs1"},
        {"chademo", "gb-t-dc"},
        {"type-2", "j3068"},
        {"j3400", "j1772"},
    ):
        assert wanted in pairs
    assert len(look_alikes(dataset)) == len(pairs)
    for left, right in look_alikes(dataset):
        for path in ("ports/index.md", f"ports/{left.id}.md", f"ports/{right.id}.md"):
            assert pages[path].body.count(f'id="pair--{left.id}--{right.id}"') == 1


def test_each_page_tells_what_must_never_be_done_how_to_release_it_and_where_to_stop(dataset, pages):
    for inlet in dataset.inlets.values():
        body = pages[f"ports/{inlet.id}.md"].body
        assert re.search(rf'<div class="vd no">.*?<b>Never</b><div><p>{re.escape(e(inlet.never))}</p>', body)
        assert e(inlet.release) in body
        assert "Where to stop" in body
        assert "never two in a row" in body
        assert "licensed electrician decide" in body


def test_steps_of_an_adapter_count_it_out_and_in_and_feel_both_joints(dataset, matrix, pages):
    for inlet in dataset.inlets.values():
        steps = re.findall(
            r'<span class="bx" aria-hidden="true"></span><span>(.*?)</span></li>', pages[f"ports/{inlet.id}.md"].body
        )
        goes = [pair for pair in matrix if pair.inlet.id == inlet.id and pair.code is None]
        told = words_of(" ".join(steps))
        assert bool(steps) == bool(goes)
        by_adapter = any(pair.adapter is not None for pair in goes)
        assert ("counted out" in told and "counted in" in told) == by_adapter
        assert ("Tug at both joints" in told) == by_adapter
        if goes:
            assert "at 10 min" in told
            assert "at 30 min" in told


def test_a_dc_port_sends_to_the_second_port_and_an_own_cord_to_its_receptacle(dataset, pages):
    chademo = words_of(pages["ports/chademo.md"].body.partition('id="rigs"')[0])
    assert "Look for the second port" in chademo
    assert "J1772 inlet" in chademo  # the older hatch has both
    for inlet in dataset.inlets.values():
        head = words_of(pages[f"ports/{inlet.id}.md"].body.partition('id="rigs"')[0])
        assert ("Look for the second port" in head) == (inlet.ac is None)
        assert ("No EVSE cable goes in" in head) == (inlet.plugs_into is not None)
        if inlet.plugs_into is not None:
            assert dataset.outlets[inlet.plugs_into].configuration in head


@pytest.mark.parametrize(
    ("adapters", "at_depot", "mark", "words"),
    [
        (["j1772-to-j3400-48a"], [], "Yes", "J1772 cable, J1772 to J3400 adapter, 48 A (on board)"),
        ([], ["j1772-to-j3400-48a"], "Bring it", "J1772 cable, J1772 to J3400 adapter, 48 A (from the depot)"),
        (["j1772-to-j3400-48a"], ["j1772-to-j3400-48a"], "Yes", "J1772 cable, J1772 to J3400 adapter, 48 A (on board)"),
        ([], [], "No", "J1772 connector does not go into J3400 inlet. Do not force it."),
        (["ccs1-to-j3400-dc"], [], "No", "J1772 connector does not go into J3400 inlet. Do not force it."),
    ],
)
def test_a_rigs_way_to_a_port_says_where_the_adapter_is(adapters, at_depot, mark, words):
    base = make.shipped_dataset()
    units = {
        "one": make.rig(id="one", name="One", adapters=adapters, adapters_at_depot=at_depot),
        "two": make.rig(id="two", name="Two", evse=make.evse(connector="j3400")),
    }
    body = pages_of(replace(base, rigs=units))["ports/j3400.md"].body
    rows = {row[0]: row for row in tables_of_body(body)[RIG_TABLE]}

    assert rows["One"][1:] == [mark, words]
    assert rows["Two"][1:] == ["Yes", "J3400 cable, no adapter"]


def test_the_ways_on_a_port_page_are_those_of_the_mating_rules(dataset, pages):
    """A rig reaches a port on its page where the rules leave a path to a vehicle that has that port alone, and by one."""
    checked = 0
    for inlet in dataset.inlets.values():
        rows = {row[0]: row for row in tables_of_body(pages[f"ports/{inlet.id}.md"].body).get(RIG_TABLE, [])}
        for rig in dataset.rigs.values():
            ways, _ = paths(dataset, rig, make.vehicle(inlet=inlet.id))
            if rig_view(dataset, rig.id).fitness == "not_fit":
                row = rows.get(f"{rig.name}, not fit, see its findings")
                assert row is None or row[1] == "Not fit"
                continue
            row = rows.get(rig.name)
            assert (row is not None and row[1] != "No") == bool(ways), (inlet.id, rig.id)
            told = {
                f"{way.connector.name.removesuffix(' connector')} cable, "
                + (f"{way.adapter.name} ({KEPT_WORDS[way.kept]})" if way.adapter else "no adapter")
                for way in ways
            }
            if ways:
                assert set(row[2].split(" | ")) <= told
                assert row[1] == ("Bring it" if {way.kept for way in ways} == {"at_depot"} else "Yes")
                checked += 1
    assert checked > 10


def tables_of_body(body):
    return tables_of(f"---\n---\n{body}")


# ------------------------------------------------------------------------------------------------------------- plugs


def cells_of(plugs):
    """Return end and inlet to state and to what the cell says without a picture."""
    found = re.findall(r'<a class="mx is-(\w+)" href="#((?:adapter|connector)-[^"]+?)--([^"]+)">(.*?)</a>', plugs)
    return {(end, inlet): (state, words_of(inner)) for state, end, inlet, inner in found}


def end_of(connector, adapter):
    return f"adapter-{adapter}" if adapter else f"connector-{connector}"


def test_the_matrix_holds_every_end_against_every_inlet(dataset, plugs):
    cells = cells_of(plugs)
    ends = {f"connector-{key}" for key in dataset.connectors} | {f"adapter-{key}" for key in dataset.adapters}

    assert set(cells) == {(end, inlet) for end in ends for inlet in dataset.inlets}
    for connector in dataset.connectors.values():
        for inlet in dataset.inlets.values():
            state, _ = cells[f"connector-{connector.id}", inlet.id]
            assert (state == "yes") == (refusal(dataset, connector, None, inlet) is None)


def test_a_dc_path_is_dc_only_and_never_a_yes_of_our_unit(dataset, matrix, plugs):
    cells = cells_of(plugs)
    for pair in matrix:
        way = (pair.connector.id, pair.adapter.id if pair.adapter else None, pair.inlet.id)
        assert on_dc(dataset, pair).goes == (way in DC_WAYS), way
        state, words = cells[end_of(*way[:2]), pair.inlet.id]
        if pair.code is not None:
            assert state == ("dc" if way in DC_WAYS else "no")
            assert ("DC only" in words) == (way in DC_WAYS)
        else:
            assert state == "yes"
    # A DC unit through the listed adapter: its label of 300 A is less than either half carries.
    (way,) = (
        pair for pair in matrix if pair.adapter and pair.adapter.id == "ccs1-to-j3400-dc" and pair.inlet.id == "j3400"
    )
    assert on_dc(dataset, way).text == "Yes, a DC unit alone: at most 300 A, 1000 V."


def test_an_unlisted_or_unreadable_dc_adapter_carries_nothing(dataset, matrix):
    (way,) = (
        pair for pair in matrix if pair.adapter and pair.adapter.id == "ccs1-to-j3400-dc" and pair.inlet.id == "j3400"
    )
    for change in ({"listing": "none"}, {"rating_current_a": None}):
        assert not on_dc(dataset, replace(way, adapter=way.adapter.model_copy(update=change))).goes


def test_each_mark_leads_to_a_row_with_reason_code_and_source(matrix, plugs):
    rows = re.findall(r"<tr data-f=.*?</tr>", plugs.partition('id="why"')[2])
    for pair in matrix:
        anchor = f'id="{end_of(pair.connector.id, pair.adapter and pair.adapter.id)}--{pair.inlet.id}"'
        (row,) = (row for row in rows if anchor in row)
        assert pair.code is None or f"<code>{pair.code}</code>" in row
        assert pair.code == "does_not_fit" or e(pair.text) in row
        assert e(pair.source) in row or "standard of each inlet" in row
        assert ('#serve"' in row) == (pair.code is None)


def test_filters_hide_columns_and_rows_by_what_they_are(dataset, matrix, plugs):
    rules = plug_filter_styles(dataset, matrix)
    chosen = set(re.findall(r'type="radio" name="[ihg]" id="([\w-]+)"', plugs)) - {"i--any", "h--any", "g--any"}

    assert set(re.findall(r"#([\w-]+):checked", rules)) == chosen
    head = re.search(r"<thead><tr>(.*?)</tr></thead>", plugs)[1]
    columns = [words_of(cell).strip() for cell in re.findall(r"<th\b.*?</th>", head)]
    for inlet_id, column in re.findall(
        r"#i-([\w-]+):checked\) \.mxt tr>:nth-child\(n\+2\):not\(:nth-child\((\d+)\)", rules
    ):
        assert dataset.inlets[inlet_id].name.removesuffix(" inlet") == columns[int(column) - 1]
    body = re.search(r"<tbody>(.*?)</tbody>", plugs)[1]
    for marks, row in re.findall(r'<tr data-f="([^"]+)">(.*?)</tr>', body):
        states = re.findall(r'is-(\w+)" href="#([\w-]+?)--([\w-]+)"', row)
        assert set(marks.split()) == {
            mark
            for state, end, inlet in states
            for mark in (f"h-{end}", f"i-{inlet}", f"g-{state}", f"{state}-{inlet}")
        }
    assert {f"g-{state}" for state in STATE_WORDS} <= chosen


def test_the_leads_have_their_place_between_adapters_and_ratings(dataset, matrix):
    body = plug_page(dataset, matrix, leads='<section id="made-leads"></section>').body
    assert body.index('id="adapters"') < body.index('id="made-leads"') < body.index('id="carry"')
