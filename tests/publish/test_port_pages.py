"""The pages of ports and plugs: one way through the key to every port, and what goes in told as the rules tell it."""

import random
import re
from dataclasses import replace
from itertools import pairwise

import make
import pytest

from planner.marks import marks_for_inlet
from planner.mating import KEPT_WORDS, code_told_a, paths, refusal
from planner.publish.coupler_words import waits_for_label
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
    "type-2": ["One shape only", "cut straight across", "A metal pin or peg"],
    "j3068": ["One shape only", "cut straight across", "A metal pin or peg"],
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
        assert ("signed out" in told and "signed in" in told) == by_adapter
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

    # By hand: nothing binds these rigs below 80 A, and 0.8 of an adapter's 48 A is 38.4 A, above the setting of 32 A.
    assert rows["Two"][1:] == ["Yes", "mark 80 = 80 A, J3400 cable, no adapter"]
    assert rows["One"][1:] == [mark, words if mark == "No" else f"mark 32 = 32 A, {words}"]


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
            marks = {
                (one.connector.id, one.adapter and one.adapter.id): one
                for one in marks_for_inlet(dataset, rig.id, inlet.id)
            }
            told = {
                f"{set_to(marks[way.connector.id, way.adapter and way.adapter.id], way)}, "
                f"{way.connector.name.removesuffix(' connector')} cable, "
                + (f"{way.adapter.name} ({KEPT_WORDS[way.kept]})" if way.adapter else "no adapter")
                for way in ways
            }
            if ways:
                assert set(row[2].split(" | ")) <= told
                assert row[1] == ("Bring it" if {way.kept for way in ways} == {"at_depot"} else "Yes")
                checked += 1
    assert checked > 10


def set_to(found, way):
    """Return the mark of a way in the words of its row; a loose cable of a smaller code tells the vehicle less."""
    code_a = code_told_a(way.connector, way.adapter, way.cable)
    told = f"; its cable tells the vehicle {code_a:g} A" if code_a is not None and code_a < found.output_a else ""
    return f"mark {found.mark} = {found.output_a:g} A{told}"


def test_what_each_rig_is_set_to_stands_with_its_port(pages):
    """By hand: 0.8 of 50 A, 0.8 of the truck's 35 A; the loose Type 2 cable is coded 20 A; 48 A adapter: 38.4 A."""
    rows = {row[0]: row for row in tables_of_body(pages["ports/j3400.md"].body)[RIG_TABLE]}
    assert rows["Fairground outlet"][2].startswith(
        "mark 32 = 32 A, J1772 cable, J1772 to J3400 adapter, 48 A (on board)"
    )
    assert rows["Pass truck"][2].startswith("mark 40 = 40 A, J3400 cable")
    spare = rows["Fairground spare, not fit, see its findings"]
    assert spare[1] == "Not fit"
    assert "mark" not in spare[2]
    rows = {row[0]: row for row in tables_of_body(pages["ports/type-2.md"].body)[RIG_TABLE]}
    assert (
        "mark 28 = 28 A; its cable tells the vehicle 20 A, Type 2 cable, no adapter" in rows["County truck outlet"][2]
    )


def test_a_rig_without_a_mark_says_why_and_not_yes():
    """A source of 240 V is more than an adapter labeled 125 V bears: the adapter goes in, and there is no mark."""
    base = make.shipped_dataset()
    low = base.adapters["j1772-to-j3400-48a"].model_copy(update={"rating_voltage_v": 125.0})
    units = {"one": make.rig(id="one", name="One", adapters=[low.id])}
    changed = replace(base, rigs=units, adapters={**base.adapters, low.id: low})
    (row,) = tables_of_body(pages_of(changed)["ports/j3400.md"].body)[RIG_TABLE]
    assert row[:2] == ["One", "No mark"]
    assert "125 V at most" in row[2]
    assert "mark " not in row[2]


def test_an_own_cords_plug_states_its_amps_and_what_it_bears_for_hours(pages, plugs):
    # NEC 2017, Table 210.21(B)(2): 12 A on a 15 A receptacle, 24 A on one of 30 A; 16 A by the same share, judgement.
    for inlet, plug, for_hours in (
        ("5-15", "15 A", "12 A"),
        ("l5-30", "30 A", "24 A"),
        ("iec-60309-16", "16 A", "12.8 A"),
    ):
        body = words_of(pages[f"ports/own-cord-{inlet}.md"].body)
        assert f"{plug} plug, {for_hours} for hours" in body
        assert f"which is {for_hours} on one of {plug}" in body
        assert "charger off, then pull" in body
        assert f"{plug} plug, {for_hours} for hours" in words_of(plugs)


def test_what_is_looked_at_in_a_port_follows_from_its_metal(pages):
    # GB/T 20234.2 and IEC 62196-2: holes and pins.
    assert "its holes clear" in pages["ports/gb-t-ac.md"].body or 'id="joints"' not in pages["ports/gb-t-ac.md"].body
    assert "its pins straight" in pages["ports/type-2.md"].body
    assert "its pins straight" not in pages["ports/gb-t-ac.md"].body


def test_a_port_with_holes_is_not_said_to_have_pins():
    """A crew's unit with a GB/T cable has the checklist; the port has holes."""
    base = make.shipped_dataset()
    units = {"one": make.rig(id="one", name="One", evse=make.evse(connector="gb-t-ac"))}
    body = pages_of(replace(base, rigs=units))["ports/gb-t-ac.md"].body
    assert "its holes clear" in body
    assert "its pins straight" not in body


# What is never to be done to a port that does not let go, and what comes first: common practice, no source.
UNSTUCK = (
    "wait for 0 a",
    "push in a little",
    "promptly",
    "preheating",
    "owner's handbook",
    "seam of the door",
    "by hand",
)
NEVER_AT_A_PORT = ("prying", "flame", "heat gun", "hot water", "pressure washer", "never on contacts")


def test_a_stuck_port_is_freed_in_order_and_without_force(dataset, pages):
    for inlet in dataset.inlets.values():
        part = pages[f"ports/{inlet.id}.md"].body.partition('id="release"')[2].partition("</section>")[0].lower()
        if inlet.ac is not None and inlet.plugs_into is None:
            for words in (*UNSTUCK, *NEVER_AT_A_PORT):
                assert words in part, (inlet.id, words)
            assert part.index("0 a") < part.index("push in a little") < part.index("preheating")
        elif inlet.plugs_into is not None:
            assert "charger off first" in part


def test_only_connectors_that_are_used_are_drawn(dataset, matrix, pages):
    for inlet in dataset.inlets.values():
        body = pages[f"ports/{inlet.id}.md"].body
        drawn = re.findall(r'<div class="pc"><h3 data-search-exclude>(.*?)</h3>', body)
        used = {
            pair.connector.name for pair in matrix if pair.inlet is inlet and pair.code is None and pair.adapter is None
        }
        own = {record.name for record in dataset.connectors.values() if record.mates == inlet.id}
        assert set(drawn) == used or (not used and all("not ours" in one for one in drawn))
        assert {one.partition(",")[0] for one in drawn} == (used or own)
    assert "J3068" not in "".join(re.findall(r'<div class="pc">.*?</h3>', pages["ports/type-2.md"].body))


def test_contacts_say_what_they_serve(pages):
    """By the roles: combos share ground, pilot and proximity; J3400 shares all; L2 may be N where there is no N."""
    rows = {
        port: dict(
            next(
                rows
                for name, rows in tables_of_body(pages[f"ports/{port}.md"].body).items()
                if name.startswith("Contacts,")
            )
        )
        for port in ("ccs1", "ccs2", "j3400", "j1772", "type-2", "chademo")
    }
    for port in ("ccs1", "ccs2"):
        assert {rows[port][small] for small in ("ground", "control pilot", "proximity")} == {"AC and DC"}
        assert rows[port]["L1"] == "AC"
        assert rows[port]["DC+"] == "DC"
    assert set(rows["j3400"].values()) == {"AC and DC"}
    assert set(rows["j1772"].values()) == set(rows["type-2"].values()) == {"AC"}
    assert set(rows["chademo"].values()) == {"DC"}
    assert "L2 or N" in rows["j1772"]
    assert "L2 or N" in rows["ccs1"]
    assert {"L2", "N"} <= set(rows["type-2"])


def test_j3068_is_not_used_unless_the_maker_says_so_and_a_plate_is_read(dataset, pages):
    body = words_of(pages["ports/j3068.md"].body)
    assert "not used unless the vehicle's maker says that it also takes the plain pilot" in body
    assert "LIN" in body
    assert "AC6" not in dataset.inlets["j3068"].standard + dataset.connectors["j3068"].standard
    assert "configuration not named" in body
    for port in ("type-2", "ccs2"):
        assert "read its plate first" in dataset.inlets[port].never
        assert "read its plate first" in words_of(pages[f"ports/{port}.md"].body.partition('id="rigs"')[0])
    ways = {inlet.id: [answer.words for answer in answers] for answers, inlet in key_ways(port_key(dataset))}
    assert any("read its plate first" in words for words in ways["ccs2"])
    assert "read its plate first" in ways["type-2"][-1]


def test_the_first_question_minds_two_sockets_and_bare_blades_in_a_cup(dataset):
    words = [answer.words for answer in port_key(dataset).answers]
    assert "a cup behind a flap with three bare blades or pins" in words[0]
    assert "Two sockets beside one another" in words[1]


def test_holes_are_said_of_gb_t_ac_alone(dataset):
    for inlet in dataset.inlets.values():
        face = dataset.faces[inlet.id]
        seen = " ".join((inlet.tell_apart, inlet.never, *inlet.also_called, face.mistaken_for or ""))
        assert ("hole" in seen) <= (inlet.id in ("gb-t-ac", "type-2")), inlet.id


def test_a_port_page_is_found_by_what_people_say(dataset, pages):
    for inlet in dataset.inlets.values():
        page = pages[f"ports/{inlet.id}.md"]
        tags = set(page.tags)
        if inlet.plugs_into is not None:
            assert "cord in the trunk" in tags
        elif inlet.ac is None:
            assert "two round holes" in tags
        else:
            assert {"stuck", "frozen", "locked", "won't come out"} <= tags
        assert '<h2 id="release">' in page.body  # a section of its own in the index


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


# ------------------------------------------------------------------------------------------------- the chosen port


def into(plugs, inlet_id):
    """Return what the chosen port's short list says: marks with their words, and the whole of it."""
    found = re.search(rf'<div class="go" data-f="i-{inlet_id}">(.*?)</div>', plugs)[1]
    marks = re.findall(r'href="#(serve|ask|no)".*?</svg>(.*?)</span>', found)
    return {words.removesuffix(":"): mark for mark, words in marks}, words_of(found)


def test_the_chosen_ports_list_is_what_the_rules_let_in(dataset, matrix, plugs):
    for inlet in dataset.inlets.values():
        marks, words = into(plugs, inlet.id)
        goes = {(pair.adapter or pair.connector).name for pair in matrix if pair.inlet is inlet and pair.code is None}
        assert {e(one) for one in goes} == {name for name, mark in marks.items() if mark == "serve"}
        assert ("Nothing on an AC unit" in words) == (not goes and "ask" not in marks.values())
        dc = {
            e((pair.adapter or pair.connector).name)
            for pair in matrix
            if pair.inlet is inlet and pair.code and on_dc(dataset, pair).goes
        }
        assert ("DC only, never on our unit" in words) == bool(dc)
        assert all(name in words for name in dc)


def test_a_chosen_port_shows_its_list_and_no_other(dataset, matrix):
    rules = plug_filter_styles(dataset, matrix)
    for inlet_id in dataset.inlets:
        assert f'.pm:has(#i-{inlet_id}:checked) .go[data-f="i-{inlet_id}"]{{display:block}}' in rules
    assert rules.count(".go[") == len(dataset.inlets)


# ------------------------------------------------------------------------------------------- a label nobody has read


def test_a_customers_adapter_waits_for_its_label_where_it_would_go_in(dataset, matrix):
    """By hand: J1772 to J3400 into J3400; J3400 to J1772 into J1772 and into the upper half of CCS1. No DC, no other."""
    waiting = {(pair.adapter.id, pair.inlet.id) for pair in matrix if waits_for_label(dataset, pair)}
    assert waiting == {
        ("their-j1772-to-j3400", "j3400"),
        ("their-j3400-to-j1772", "j1772"),
        ("their-j3400-to-j1772", "ccs1"),
    }


def test_a_customers_adapter_is_asked_for_not_refused_for_good(pages, plugs):
    words = "Only once its label has been read: --customer-adapter their-j1772-to-j3400=80A,250V"
    (row,) = (row for row in tables_of_body(plugs)["Adapters"] if row[0] == "Adapter of the customer, J1772 to J3400")
    assert words in row[1]
    assert "Never" not in row[1]
    assert into(plugs, "j3400")[0]["Adapter of the customer, J1772 to J3400"] == "ask"
    rows = {
        row[0]: row for row in tables_of_body(pages["ports/j3400.md"].body)["Connectors and adapters for this port"]
    }
    assert rows["Adapter of the customer, J1772 to J3400"][1:] == ["Ask first", words]
    # Where it would not go in with any label, the label is not the reason.
    rows = tables_of_body(pages["ports/type-2.md"].body)["Connectors and adapters for this port"]
    (row,) = (row for row in rows if "Adapter of the customer, J1772 to J3400" in row[0])
    assert row[1:] == ["No", "Does not go in. Do not force it."]
    # An adapter without listing is never used.
    (row,) = (row for row in tables_of_body(plugs)["Adapters"] if row[0] == "J3400 to J1772 adapter without listing")
    assert row[1] == "Never: no listing"
