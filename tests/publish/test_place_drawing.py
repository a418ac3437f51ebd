"""Where the ports sit, as drawn: every place of every class, on the right side, with its share."""

import math
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.publish.place_drawing import class_share_words, inlet_mark, place_drawing, place_shares, place_words
from planner.publish.site import artefacts
from planner.reach import BODY_SIZES
from planner.records import PLACE_WORDS, PortPlace, VehiclePort

BODIES = tuple(BODY_SIZES)
PLACES = tuple(PLACE_WORDS)


def em(value):
    return float(value.removesuffix("em"))


def tree(drawing):
    return ElementTree.fromstring(drawing)


def marks(drawing):
    """Return the middle and the width of every mark on the body, in em right of the middle line and down."""
    return [
        (
            em(item.get("x")) + em(item.get("width")) / 2,
            em(item.get("y")) + em(item.get("height")) / 2,
            em(item.get("width")),
        )
        for item in tree(drawing).iter("svg")
        if item.get("class") == "at"
    ]


def body_box(drawing):
    """Return left, right, top and bottom of the body, in em."""
    body = next(item for item in tree(drawing).iter("svg") if item.get("preserveAspectRatio") == "none")
    x, y, wide, high = (em(body.get(key)) for key in ("x", "y", "width", "height"))
    return x, x + wide, y, y + high


def curve(points, share):
    """Return the point at a share of the way along a line or a curve, by halving between its points over and over."""
    while len(points) > 1:
        points = [(x + share * (next_x - x), y + share * (next_y - y)) for (x, y), (next_x, next_y) in pairwise(points)]
    return points[0]


def outline(drawing):
    """Return points close to one another along the bold lines of the body, in em like its marks."""
    body = next(item for item in tree(drawing).iter("svg") if item.get("preserveAspectRatio") == "none")
    left, top, wide, high = (float(number) for number in body.get("viewBox").split())
    found = []
    for path in body:
        if path.get("class") != "l2 pf":
            continue
        start = at = (0.0, 0.0)
        for step, text in re.findall(r"([MLHVQCZ])([-\d. ]*)", path.get("d")):
            numbers = [float(number) for number in re.findall(r"-?[\d.]+", text)]
            if step == "Z":
                numbers = [*start]
            elif step == "H":
                numbers = [numbers[0], at[1]]
            elif step == "V":
                numbers = [at[0], numbers[0]]
            points = list(zip(numbers[::2], numbers[1::2], strict=True))
            if step == "M":
                start, at, points = points[0], points[0], points[1:]
            size = {"Q": 2, "C": 3}.get(step, 1)
            for first in range(0, len(points), size):
                part = [at, *points[first : first + size]]
                found += [curve(part, share / 50) for share in range(51)]
                at = part[-1]
    box = body_box(drawing)
    return [
        (box[0] + (x - left) / wide * (box[1] - box[0]), box[2] + (y - top) / high * (box[3] - box[2]))
        for x, y in found
    ]


def words(drawing):
    return [" ".join("".join(item.itertext()).split()) for item in tree(drawing).iter("text")]


def described(drawing):
    return next(tree(drawing).iter("desc")).text


def port(*places, inlet="ccs1", **more):
    """Return a port at these places, given with their shares; without shares they are equal."""
    pairs = [place if isinstance(place, tuple) else (place, 1 / len(places)) for place in places]
    return VehiclePort(inlet=inlet, places=tuple(PortPlace(at=at, share=share) for at, share in pairs), **more)


@pytest.fixture
def build(dataset):
    """Return a function that gives a class of a body with these ports."""

    def built(*ports, body="suv", **more):
        return dataset.vehicle_classes["midsize-suv"].model_copy(update={"ports": ports, "body": body, **more})

    return built


NAMES = {"ccs1": "CCS1", "j1772": "J1772", "j3400": "J3400"}


# --------------------------------------------------------------------------------------------------------- all classes


def test_every_place_of_every_class_is_drawn_and_told_with_its_share(dataset):
    for vehicle in dataset.vehicle_classes.values():
        drawing = place_drawing(vehicle, {key: inlet.name for key, inlet in dataset.inlets.items()})
        assert len(marks(drawing)) == sum(len(one.places) for one in vehicle.ports)
        for one in vehicle.ports:
            assert dataset.inlets[one.inlet].name in described(drawing)
            for place in one.places:
                share = f" {round(10 * place.share)} in 10" if len(one.places) > 1 else ""  # all shipped are tenths
                assert PLACE_WORDS[place.at] + share in described(drawing), vehicle.id
                assert not share or any(share.strip() in line for line in words(drawing)), vehicle.id


def test_every_class_page_holds_the_drawing_and_what_each_inlet_carries(dataset):
    texts = artefacts(dataset)
    for vehicle in dataset.vehicle_classes.values():
        text = texts[f"vehicles/{vehicle.id}.md"]
        section = text[text.index('aria-labelledby="tell"') :].split("</section>")[0]
        assert section.count('<svg class="d"') == 1
        for one in vehicle.ports:
            inlet = dataset.inlets[one.inlet]
            item = section[section.index(f'href="../ports/{one.inlet}.html"') :].split("</li>")[0]
            said = item.split("</b>: ")[1].split(";")[0]
            assert ("AC" in said) == (inlet.ac is not None)
            assert ("DC" in said) == (inlet.dc is not None)
            assert PLACE_WORDS[one.places[0].at] in item
        assert section.count('class="pi"') == len(vehicle.ports)


def test_a_port_of_dc_alone_is_told_from_ours_in_drawing_and_list(dataset):
    text = artefacts(dataset)["vehicles/older-short-range-hatch.md"]
    section = text[text.index('aria-labelledby="tell"') :].split("</section>")[0]

    assert "DC only: not for our unit; about 7 in 10 of the class" in section
    assert "CHAdeMO, DC\u00a0only: front nose" in section


@pytest.mark.parametrize("body", BODIES)
def test_a_drawing_is_xml_with_title_and_description_and_no_style(build, body):
    drawing = place_drawing(build(port(*PLACES), body=body), NAMES)
    root = tree(drawing)

    assert root.get("role") == "img"
    assert root.get("aria-labelledby").split() == [root.find("title").get("id"), root.find("desc").get("id")]
    assert root.find("title").text.strip()
    assert not re.search(r"\sstyle=|<style|<script|\sfill=|\sstroke=", drawing)


# --------------------------------------------------------------------------------------------------------------- sides


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("place", PLACES)
def test_left_is_left_and_front_is_up(build, body, place):
    drawing = place_drawing(build(port(place), body=body), NAMES)
    left, right, top, bottom = body_box(drawing)
    ((x, y, _),) = marks(drawing)
    middle = (top + bottom) / 2

    assert math.isclose(left, -right, abs_tol=0.011)  # em: both are rounded to hundredths
    assert left <= x <= right
    assert top <= y <= bottom
    if place.startswith("left_"):
        assert x < 0
    if place.startswith("right_"):
        assert x > 0
    if place == "nose" or "front" in place:
        assert y < middle
    if place == "tail" or "rear" in place:
        assert y > middle
    if place in {"nose", "tail"}:
        assert x == 0


@pytest.mark.parametrize("body", BODIES)
def test_the_two_sides_are_mirror_images(build, body):
    for place in PLACES:
        if place.startswith("left_"):
            ((x, y, _),) = marks(place_drawing(build(port(place), body=body), NAMES))
            ((other_x, other_y, _),) = marks(place_drawing(build(port("right_" + place[5:]), body=body), NAMES))
            assert (x, y) == pytest.approx((-other_x, other_y))


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("place", [place for place in PLACES if place != "under_seat"])
def test_a_mark_lies_on_the_edge_of_the_body(build, body, place):
    drawing = place_drawing(build(port(place), body=body), NAMES)
    (spot,) = [(x, y) for x, y, _ in marks(drawing)]

    assert min(math.dist(spot, point) for point in outline(drawing)) < 0.42  # em: under the smallest mark


@pytest.mark.parametrize("body", ["bus", "side_by_side", "snow_machine"])
def test_a_body_is_as_long_for_its_width_as_its_size_for_the_cable(build, body):
    drawing = place_drawing(build(port("nose"), body=body), NAMES)
    (length_m, width_m), (_, _, top, bottom) = BODY_SIZES[body], body_box(drawing)
    drawn = [(x, y) for x, y in outline(drawing) if y > top + 0.1 * (bottom - top)]  # behind the mirrors
    width = max(x for x, _ in drawn) - min(x for x, _ in drawn)

    assert (bottom - top) / width == pytest.approx(length_m / width_m, rel=0.05)


def test_words_stand_on_the_side_of_their_place(build):
    texts = list(tree(place_drawing(build(port("left_rear_fender", "right_front_fender")), NAMES)).iter("text"))
    found = {"".join(item.itertext()): em(item.get("x")) for item in texts}

    assert found["left rear"] < 0 < found["right front"]
    assert found["driver’s left"] < 0 < found["driver’s right"]


def test_a_mark_is_larger_where_more_have_it(build):
    large, small = marks(place_drawing(build(port(("nose", 0.8), ("tail", 0.2))), NAMES))

    assert large[2] > 1.2 * small[2]


# --------------------------------------------------------------------------------------------------------------- words


def counts(shares):
    return [int(share.split(" in ")[0]) for share in shares.values() if not share.startswith("under")]


@given(st.lists(st.integers(1, 1000), min_size=2, max_size=9))
def test_shares_add_up_in_words(weights):
    one = port(*[(at, weight / sum(weights)) for at, weight in zip(PLACES, weights, strict=False)])
    shares = place_shares(one)
    (unit,) = {int(share.split(" in ")[1]) for share in shares.values()}

    assert sum(counts(shares)) == unit
    assert len(shares) == len(weights)
    for place in one.places:  # never off by a whole part
        told = shares[place.at]
        assert abs((0 if told.startswith("under") else int(told.split(" ")[0])) - unit * place.share) < 1
        assert not told.startswith("0 ")


def test_tenths_are_told_in_tenths_and_thirds_in_hundredths():
    assert list(place_shares(port(("nose", 0.6), ("tail", 0.4))).values()) == ["6 in 10", "4 in 10"]
    assert sorted(place_shares(port("nose", "tail", "left_side")).values()) == ["33 in 100", "33 in 100", "34 in 100"]
    assert place_shares(port(("nose", 0.999), ("tail", 0.001)))["tail"] == "under 1 in 100"


def test_a_single_place_needs_no_share():
    assert place_shares(port("tail")) == {"tail": "all"}
    assert place_words(port("tail", detail="under a lid")) == "tail, under a lid"


def test_a_place_named_twice_has_the_sum(build):
    one = port(("nose", 0.3), ("tail", 0.4), ("nose", 0.3))

    assert place_shares(one) == {"nose": "6 in 10", "tail": "4 in 10"}
    assert len(marks(place_drawing(build(one), NAMES))) == 2


@pytest.mark.parametrize(
    ("share", "said"),
    [(1, "all"), (0.98, "nearly all"), (0.8, "about 8 in 10"), (0.06, "about 1 in 10"), (0.01, "few")],
)
def test_the_share_of_a_class_is_told_in_tenths(share, said):
    assert class_share_words(port("nose", share=share)) == f"{said} of the class"


# ------------------------------------------------------------------------------------------------------ several inlets


def test_several_inlets_differ_by_shape_and_word(build):
    drawing = place_drawing(build(port("nose"), port("nose", inlet="j1772"), port("nose", inlet="j3400")), NAMES)
    shapes = {item.get("d") for mark in tree(drawing).iter("svg") if mark.get("class") == "at" for item in mark}

    assert len(shapes) == 3
    assert {"CCS1", "J1772", "J3400"} <= set(words(drawing))
    xs = sorted(x for x, _, _ in marks(drawing))
    assert len({round(x, 2) for x in xs}) == 3
    assert "all" not in " ".join(words(drawing))  # would be taken for all of the class


def test_the_marks_of_eight_inlets_all_differ():
    drawn = [inlet_mark(number) for number in range(8)]

    assert len(set(drawn)) == 8


@pytest.mark.parametrize("count", [1, 3])
def test_no_words_lie_over_others_at_nine_places(build, count):
    ports = [port(*PLACES, inlet=inlet) for inlet in list(NAMES)[:count]]
    drawing = place_drawing(build(*ports), NAMES)
    rows = {}
    for item in tree(drawing).iter("text"):
        at = em(item.get("x"))
        # Columns: left of the body, right of it, and the middle, which holds what is before and behind it.
        column = "left" if at < -2.2 else "right" if at > 2.2 else "middle"
        rows.setdefault(column, []).append(em(item.get("y")))

    assert len(marks(drawing)) == 9 * count
    for column, found in rows.items():
        ordered = sorted(found)
        assert min(after - before for before, after in pairwise(ordered)) > 1.0, column
        assert ordered[-1] < em(tree(drawing).get("height"))


# -------------------------------------------------------------------------------------------------------- foreign data


def test_text_from_data_is_escaped_and_long_names_are_cut(build):
    bad = '<b onclick="x">&</b>'
    vehicle = build(port("nose", "tail", detail=bad), port("nose", "tail", inlet="j1772"), name=bad)
    drawing = place_drawing(vehicle, {"ccs1": bad, "j1772": "W" * 60})

    assert not list(tree(drawing).iter("b"))
    assert "<b" not in drawing
    assert all(len(line) <= 16 for line in words(drawing))


def test_an_inlet_without_a_name_is_told_by_its_id(build):
    assert "ccs1: tail." in described(place_drawing(build(port("tail")), {}))


def test_a_class_page_lists_an_inlet_that_has_no_face(dataset):
    bare = replace(dataset, faces={key: face for key, face in dataset.faces.items() if key != "ccs1"})
    text = artefacts(bare)["vehicles/midsize-suv.md"]
    section = text[text.index('aria-labelledby="tell"') :].split("</section>")[0]

    assert 'href="../ports/ccs1.html"' in section
    assert 'class="pi"' not in section
    assert section.count('<svg class="at"') == 2
