"""A path as drawn: as many pieces as it has, arrows whole or torn, captions that say what to do."""

import itertools
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import pytest

from planner.coupler_records import Outline
from planner.mating import refusal
from planner.publish.path_drawing import path_drawing
from planner.publish.site import artefacts
from planner.tables import pair


def drawn(dataset, connector, adapter, inlet, **more):
    return path_drawing(
        dataset,
        dataset.connectors[connector],
        dataset.adapters[adapter] if adapter else None,
        dataset.inlets[inlet],
        key="k",
        **more,
    )


def tree(drawing):
    return ElementTree.fromstring(drawing.replace("<br>", "<br/>"))


def captions(drawing):
    """Return the two lines below each piece."""
    return [
        (item.find("b").text or item.find("b/span").text, item.find("br").tail) for item in tree(drawing).iter("li")
    ]


def arrows(drawing):
    """Return whether each arrow is torn, from the left."""
    kinds = {"-11 -13 22 26": False, "-20 -13 40 26": True}
    return [kinds[box] for item in tree(drawing).iter("svg") if (box := item.get("viewBox")) in kinds]


def title(drawing):
    return next(tree(drawing).iter("title")).text


def description(drawing):
    return next(tree(drawing).iter("desc")).text


def test_no_adapter_is_two_pieces_and_one_arrow(dataset):
    drawing = drawn(dataset, "j1772", None, "ccs1")

    assert captions(drawing) == [
        ("J1772 connector", "our cable: push it straight home"),
        ("CCS1 inlet", "upper half; wait for the latch"),
    ]
    assert arrows(drawing) == [False]


def test_an_adapter_is_a_piece_of_its_own_and_is_counted_out(dataset):
    drawing = drawn(dataset, "j3400", "j3400-to-j1772-80a", "j1772", kept="on_board")

    assert captions(drawing) == [
        ("J3400 connector", "our cable: into the adapter first"),
        ("J3400 to J1772 adapter, 80 A", "sign it out"),
        ("J1772 inlet", "wait for the latch"),
    ]
    assert arrows(drawing) == [False, False]


@pytest.mark.parametrize(("kept", "word"), [("at_depot", "from the depot"), ("customers", "customer’s own")])
def test_an_adapter_that_is_not_on_board_says_where_it_is(dataset, kept, word):
    drawing = drawn(dataset, "j1772", "j1772-to-j3400-48a", "j3400", kept=kept)

    assert word in captions(drawing)[1][1]


def test_every_combination_is_xml_with_title_and_description(dataset):
    keys = itertools.product(dataset.connectors, [None, *dataset.adapters], dataset.inlets)
    for connector, adapter, inlet in keys:
        found = refusal(
            dataset,
            dataset.connectors[connector],
            dataset.adapters[adapter] if adapter else None,
            dataset.inlets[inlet],
        )
        drawing = drawn(dataset, connector, adapter, inlet, code=found[0] if found else None)
        root = next(tree(drawing).iter("svg"))

        assert root.get("role") == "img"
        assert root.get("aria-labelledby").split() == [root.find("title").get("id"), root.find("desc").get("id")]
        assert not re.search(r"\sstyle=|\sfill=|\sstroke=|nan|inf\b", drawing)
        assert sum(arrows(drawing)) == (found is not None)
        assert ("Refused" in description(drawing)) == ("Refused" in title(drawing)) == (found is not None)
        # A way that is refused never tells anyone to plug in.
        assert ("wait for the latch" in drawing) == (found is None)
        assert all(what in title(drawing) for what, _ in captions(drawing))


def test_the_arrow_is_torn_where_the_way_fails(dataset):
    # J3400 does not go into an adapter that takes J1772: the first; an unlisted adapter fits, and is not used: the second.
    assert arrows(drawn(dataset, "j3400", "j1772-to-j3400-48a", "j3400", code="adapter_takes_another_connector")) == [
        True,
        False,
    ]
    assert arrows(drawn(dataset, "j3400", "j3400-to-j1772-unlisted", "j1772", code="adapter_not_listed")) == [
        False,
        True,
    ]


def test_the_contacts_that_are_met_are_drawn_round_where_they_are_not_all(dataset):
    def rings(*way):
        return [item for item in tree(drawn(dataset, *way)).iter("rect") if item.get("class") == "la"]

    assert len(rings("j1772", None, "ccs1")) == 1
    assert rings("j1772", None, "j1772") == []
    assert rings("j3400", None, "j3400") == []
    (ring,) = rings("j1772", None, "ccs1")
    low = -float(ring.get("y")) - float(ring.get("height"))
    upper = [contact for contact in dataset.faces["ccs1"].contacts if "dc_plus" not in contact.roles]
    lower = next(contact for contact in dataset.faces["ccs1"].contacts if "dc_plus" in contact.roles)
    assert (
        lower.at_mm[1] + lower.sleeve_mm / 2
        < low
        < min(contact.at_mm[1] for contact in upper if "dc_minus" not in contact.roles)
    )


def test_a_connector_points_at_the_port(dataset):
    """What goes in lies to the right: its record has it to the left."""
    drawing = drawn(dataset, "j1772", None, "j1772")
    first = next(
        item for item in tree(drawing).iter("svg") if item.get("viewBox") and "-11 " not in item.get("viewBox")
    )
    left, _, wide, _ = map(float, first.get("viewBox").split())
    face = dataset.faces["j1772"]
    xs = [x for line in face.side for x, _ in line.corners_mm]
    nose = [-x for line in face.side if line.part == "edge" for x, _ in line.corners_mm]

    assert (left, left + wide) == (-max(xs), -min(xs))
    assert min(nose) > left + wide / 2


def test_couplers_without_a_face_are_drawn_plain(dataset):
    bare = replace(dataset, faces={})
    drawing = drawn(bare, "j1772", "j1772-to-j3400-48a", "j3400")

    assert len(captions(drawing)) == 3
    assert 'class="pi"' not in drawing


def test_a_side_drawn_with_a_circle_has_its_extent(dataset):
    face = dataset.faces["j1772"].model_copy(update={"side": (Outline(part="edge", diameter_mm=40),)})
    drawing = drawn(replace(dataset, faces={**dataset.faces, "j1772": face}), "j1772", "j1772-to-j3400-48a", "j3400")

    assert 'viewBox="-20 ' in drawing
    assert "nan" not in drawing


def test_text_from_data_is_escaped(dataset):
    bad = '<b onclick="x">&</b>'
    connector = dataset.connectors["j1772"].model_copy(update={"name": bad})
    inlet = dataset.inlets["ccs1"].model_copy(update={"name": bad, "ac_part": bad})
    drawing = path_drawing(dataset, connector, None, inlet, key=bad)

    assert "<b o" not in drawing
    assert [what for what, _ in captions(drawing)] == [bad, bad]


# --------------------------------------------------------------------------------------------------------------- pages


def test_a_class_page_draws_the_path_of_the_quickest_rig(dataset):
    texts = artefacts(dataset)
    for class_id in dataset.vehicle_classes:
        best = max(
            (pair(dataset, rig, class_id) for rig in dataset.rigs), key=lambda one: one.plan.miles_added_per_hour or 0
        )
        path, text = best.plan.path, texts[f"vehicles/{class_id}.md"]
        if 'aria-labelledby="roadside"' not in text:
            continue
        section = text[text.index('aria-labelledby="roadside"') :].split("</section>")[0]
        below = section[section.index('class="pth"') :].split("</ol>")[0]
        assert re.findall(r"<li><b>(?:<span[^>]*>)?([^<]*)", below) == [
            one for one in (path.connector_name, path.adapter_name, path.inlet_name) if one
        ]


def test_a_class_that_no_cable_serves_shows_the_torn_arrow_and_says_why(dataset):
    """A class with the DC port alone: no AC unit serves it."""
    vehicle = dataset.vehicle_classes["older-short-range-hatch"]
    port = next(port for port in vehicle.ports if port.inlet == "chademo")
    only = vehicle.model_copy(update={"id": "only-dc", "ports": (port.model_copy(update={"share": 1.0}),)})
    text = artefacts(replace(dataset, vehicle_classes={"only-dc": only}))["vehicles/only-dc.md"]
    section = text[text.index('aria-labelledby="refused"') :].split("</section>")[0]

    assert 'aria-labelledby="roadside"' not in text
    assert 'href="#no"' in section
    assert "takes DC only" in section
    assert "wait for the latch" not in section


def test_a_rig_that_is_not_fit_is_no_reason_to_draw_a_refused_path(dataset):
    """The cable fits: what is wrong is the rig's protection, and its own page says so."""
    rigs = {"fairground-spare": dataset.rigs["fairground-spare"]}
    text = artefacts(replace(dataset, rigs=rigs, commissioning={}))["vehicles/midsize-suv.md"]

    assert 'aria-labelledby="refused"' not in text
    assert 'class="pth"' not in text
