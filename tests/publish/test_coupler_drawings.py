"""The faces of couplers as data, against what standards say of them, and the drawings made of them."""

import math
import re
import xml.etree.ElementTree as ElementTree
from collections import Counter

import pytest

from planner.coupler_records import Contact, Face, Outline, Seen
from planner.publish.coupler_drawings import HAND, connector_drawing, mirrored, pair_drawing, port_drawing, port_icon

SVG = "{http://www.w3.org/2000/svg}"
MM_PER_INCH = 25.4
# The contacts by their roles: SAE J1772, SAE J3400, IEC 62196-2 and -3, GB/T 20234.2 and .3 as encyclopedias and a
# comparison of couplers give them; CHAdeMO by the pin list of an open vehicle-side controller: ten positions, one unused.
TYPE_1 = ["l1", "l2", "ground", "pilot", "proximity"]
TYPE_2 = ["l1", "l2", "l3", "neutral", "ground", "pilot", "proximity"]
CORD = ["l1", "neutral", "ground"]  # NEMA WD 6 5-15 and L5-30, IEC 60309-2 2P+E
DC = ["dc_plus", "dc_minus"]
CAN = ["can_high", "can_low"]
ROLES = {
    "j1772": TYPE_1,
    "ccs1": TYPE_1 + DC,
    "j3400": TYPE_1 + DC,
    "type-2": TYPE_2,
    "j3068": TYPE_2,
    "ccs2": TYPE_2 + DC,
    "gb-t-ac": TYPE_2,
    "gb-t-dc": [*DC, *CAN, "ground", "confirm_1", "confirm_2", "auxiliary_plus", "auxiliary_minus"],
    "chademo": [*DC, *CAN, "ground", "start_1", "start_2", "enable", "proximity", "unused"],
    "own-cord-5-15": CORD,
    "own-cord-l5-30": CORD,
    "own-cord-iec-60309-16": CORD,
}
CONTACTS = {"j1772": 5, "ccs1": 7, "j3400": 5, "chademo": 10, "type-2": 7, "ccs2": 9, "gb-t-ac": 7, "gb-t-dc": 9}


@pytest.fixture(scope="module")
def faces(dataset):
    return dataset.faces


def edge(face):
    """Return the part of the outline that is measured: the widest round edge, else the first."""
    edges = [line for line in face.outlines if line.part == "edge"]
    return max(edges, key=lambda line: line.diameter_mm or 0)


def size(line):
    if line.diameter_mm is not None:
        top = line.diameter_mm / 2 if line.flat_top_mm is None else line.flat_top_mm - line.center_mm[1]
        return line.diameter_mm, line.diameter_mm / 2 + top
    xs, ys = zip(*line.corners_mm, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def room(line, point):
    """Return how far inside a line a point lies, corners taken as sharp; negative outside."""
    x, y = point[0] - line.center_mm[0], point[1] - line.center_mm[1]
    if line.diameter_mm is not None:
        inside = line.diameter_mm / 2 - math.hypot(x, y)
        return inside if line.flat_top_mm is None else min(inside, line.flat_top_mm - point[1])
    corners = line.corners_mm
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    # Every edge that is drawn with corners is convex: the nearest of its sides decides.
    return min(
        math.copysign(1, area) * ((b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0])) / math.dist(a, b)
        for a, b in zip(corners, corners[1:] + corners[:1], strict=True)
    )


def tree(drawing):
    return ElementTree.fromstring(drawing)


def styled(drawing, *classes):
    return [item for item in tree(drawing).iter() if set(classes) <= set(item.get("class", "").split())]


def texts(drawing):
    return ["".join(item.itertext()) for item in tree(drawing).iter("text")]


def pair(left, right):
    return pair_drawing(left, right, names=("Left one", "Right one"), words=("it is a", "it is b."), key="k")


def drawings(faces):
    for name, face in faces.items():
        yield port_drawing(face, name=f"{name} port", words="seen so")
        yield connector_drawing(face, name=f"{name} connector", words="seen so")
        for other in face.looks_like:
            yield pair_drawing(face, faces[other], names=(name, other), words=("a", "b"), key=f"{name}-{other}")


# ------------------------------------------------------------------------------------------------------------- data


def test_every_inlet_has_a_face_and_every_face_an_inlet(dataset):
    assert set(dataset.faces) == set(dataset.inlets) == set(ROLES)


@pytest.mark.parametrize("name", ROLES)
def test_the_contacts_are_those_of_the_standard(faces, name):
    assert Counter(role for contact in faces[name].contacts for role in contact.roles) == Counter(ROLES[name])


@pytest.mark.parametrize(("name", "count"), CONTACTS.items())
def test_the_number_of_contacts_is_that_of_the_standard(faces, name, count):
    assert len(faces[name].contacts) == count


def test_j3400_alone_has_contacts_for_ac_and_dc(faces):
    shared = {
        name: [contact.roles for contact in face.contacts if len(contact.roles) > 1] for name, face in faces.items()
    }

    assert shared.pop("j3400") == [
        ("l1", "dc_plus"),
        ("l2", "dc_minus"),
    ]  # contact list of SAE J3400 in an encyclopedia
    assert not any(shared.values())


@pytest.mark.parametrize("name", ROLES)
def test_every_contact_lies_inside_the_outer_edge(faces, name):
    face = faces[name]
    edges = [line for line in face.outlines if line.part == "edge"]
    for contact in face.contacts:
        wall = max(contact.sleeve_mm or 0, contact.diameter_mm) / 2
        assert max(room(line, contact.at_mm) for line in edges) > wall, contact


@pytest.mark.parametrize("name", ROLES)
def test_no_contact_lies_over_another(faces, name):
    contacts = faces[name].contacts
    for index, one in enumerate(contacts):
        for other in contacts[index + 1 :]:
            walls = ((one.sleeve_mm or one.diameter_mm) + (other.sleeve_mm or other.diameter_mm)) / 2
            assert math.dist(one.at_mm, other.at_mm) >= walls, (one, other)


@pytest.mark.parametrize(
    ("name", "expected_mm"),
    [
        ("j1772", (43.8, 43.8)),  # encyclopedia on SAE J1772
        ("ccs1", (43.8, 43.8)),  # its upper part is that
        ("type-2", (70, 63)),  # encyclopedia on the Type 2 connector
        ("j3068", (70, 63)),  # the Type 2 shape
        ("ccs2", (70, 63)),
        ("gb-t-ac", (70, 63)),  # the same outline
        ("chademo", (70, 70)),  # CHAdeMO Association: interface round, 70 mm
        ("own-cord-5-15", (1.550 * MM_PER_INCH, 1.550 * MM_PER_INCH)),  # NEMA WD 6-2016, transcribed: plug face
        ("own-cord-l5-30", (1.880 * MM_PER_INCH, 1.880 * MM_PER_INCH)),
    ],
)
def test_confirmed_sizes(faces, name, expected_mm):
    assert size(edge(faces[name])) == pytest.approx(expected_mm, abs=0.06)


def test_the_household_plug_has_the_places_of_its_standard(faces):
    where = {contact.roles[0]: contact for contact in faces["own-cord-5-15"].contacts}
    across, up = (where["neutral"].at_mm[axis] - where["l1"].at_mm[axis] for axis in (0, 1))

    # NEMA WD 6-2016, transcribed: blades 0.500 in apart, ground pin 0.468 in below them and 0.190 in across.
    assert (across, up) == pytest.approx((0.500 * MM_PER_INCH, 0))
    assert where["l1"].at_mm[1] - where["ground"].at_mm[1] == pytest.approx(0.468 * MM_PER_INCH, abs=0.06)
    assert where["ground"].diameter_mm == pytest.approx(0.190 * MM_PER_INCH, abs=0.06)


def test_the_twist_plugs_blades_lie_on_one_circle(faces):
    # NEMA WD 6-2016, transcribed: L5-30 blades on a radius of 0.500 in.
    for contact in faces["own-cord-l5-30"].contacts:
        assert math.hypot(*contact.at_mm) == pytest.approx(0.500 * MM_PER_INCH, abs=0.08)


def test_type_2_has_rows_of_two_three_and_two_with_ground_in_the_middle(faces):
    # Encyclopedia on the Type 2 connector; ground contact 6 mm.
    rows = Counter(contact.at_mm[1] for contact in faces["type-2"].contacts)
    ground = next(contact for contact in faces["type-2"].contacts if contact.roles == ("ground",))

    assert [rows[height] for height in sorted(rows, reverse=True)] == [2, 3, 2]
    assert ground.at_mm == (0, 0)
    assert ground.diameter_mm == 6


def test_type_2_has_pins_where_gb_t_has_holes(faces):
    # GB/T 20234.2 and IEC 62196-2 in encyclopedias: one outline, opposite gender.
    assert faces["type-2"].metal == "pins"
    assert faces["gb-t-ac"].metal == "holes"
    assert [contact.at_mm for contact in faces["type-2"].contacts] == [
        contact.at_mm for contact in faces["gb-t-ac"].contacts
    ]


def test_j3400_is_the_smallest_port(faces):
    areas = {name: math.prod(face.size_mm) for name, face in faces.items() if not name.startswith("own-cord")}

    assert min(areas, key=areas.get) == "j3400"


def test_what_is_seen_agrees_with_the_outline(faces):
    for face in faces.values():
        assert (face.seen.outline == "flat_top") == (edge(face).flat_top_mm is not None)
        # A quarter dollar is 24.26 mm across: about three of them are more than two and a half.
        if face.seen.outline in ("round", "flat_top"):
            assert face.seen.wide == (edge(face).diameter_mm > 2.5 * 24.26)
        below = [contact for contact in face.contacts if room(edge(face), contact.at_mm) < 0]
        assert face.seen.joined_below == (len(below) == 2)


def test_look_alikes_name_each_other_and_say_the_difference(faces):
    for name, face in faces.items():
        assert bool(face.looks_like) == bool(face.mistaken_for)
        for other in face.looks_like:
            assert name in faces[other].looks_like


def test_numbers_not_read_in_print_say_so(faces):
    for face in faces.values():
        assert face.sources["side"].basis == "judgement"
        assert face.sources["contacts"].ref in (None, "nema-wd-6", "sae-j3068")


# --------------------------------------------------------------------------------------------------------- drawings


def test_every_drawing_is_xml_with_title_and_description_and_no_style(faces):
    for drawing in drawings(faces):
        root = tree(drawing)
        named = [root.find("title"), root.find("desc")]

        assert root.get("role") == "img"
        assert root.get("aria-labelledby").split() == [item.get("id") for item in named]
        assert all(item.text.strip() for item in named)
        assert not re.search(r"\sstyle=|<style|<script|\sfill=|\sstroke=", drawing)


def test_ids_differ_between_drawings_of_one_page(faces):
    ids = re.findall(r' id="([^"]+)"', "".join(drawings(faces)))

    assert len(ids) == len(set(ids))


def test_coordinates_have_one_decimal_at_most(faces):
    for drawing in (*drawings(faces), *map(port_icon, faces.values())):
        assert not re.search(r"\d\.\d\d", re.sub(r"<(title|desc|text).*?</\1>", "", drawing))


def test_a_description_says_that_it_is_approximate(faces):
    words = tree(port_drawing(faces["j1772"], name="J1772", words="Round, five contacts")).find("desc").text

    assert words == "Round, five contacts. Approximate; one scale with a coin and a hand."


def test_all_ports_are_drawn_by_one_scale(faces):
    ports = [port_drawing(face, name=name, words="x") for name, face in faces.items()]
    boxes = {tree(drawing).get("viewBox") for drawing in ports}
    coins = {max(float(item.get("r")) for item in styled(drawing, "mill")) for drawing in ports}

    assert len(boxes) == 1
    assert len(coins) == 1


def test_all_connectors_are_drawn_by_one_scale(faces):
    drawn = [connector_drawing(face, name=name, words="x") for name, face in faces.items()]

    assert len({tree(drawing).get("viewBox").split()[2] for drawing in drawn}) == 1


def test_port_and_coin_have_their_size(faces):
    radii = [float(item.get("r")) for item in tree(port_drawing(faces["j1772"], name="x", words="x")).iter("circle")]

    assert 21.9 in radii  # 43.8 mm
    assert 12.1 in radii  # 24.26 mm, United States Mint


def test_nothing_of_a_port_lies_outside_its_sheet_or_over_the_hand(faces):
    for name, face in faces.items():
        root = tree(port_drawing(face, name=name, words="x"))
        _, _, wide, high = map(float, root.get("viewBox").split())
        shapes = [list(map(float, re.findall(r"-?[\d.]+", item.get("transform")))) for item in root.findall("g")]
        (x, y), _, (hand_x, hand_y) = shapes
        left, right, bottom, top = face.bounds_mm
        hand = hand_points()

        assert 0 <= x + left < x + right < hand_x + min(across for across, _ in hand)
        assert 0 <= y - top < y - bottom <= high
        assert hand_x + max(across for across, _ in hand) <= wide
        assert hand_y + min(down for _, down in hand) >= 0


def hand_points():
    """Return the hand's line as points; its curves are sampled."""
    points = []
    for command, numbers in re.findall(r"([MLC])([^MLC]*)", HAND):
        values = [float(value) for value in re.findall(r"-?[\d.]+", numbers)]
        steps = list(zip(values[::2], values[1::2], strict=True))
        if command != "C":
            points += steps
            continue
        for first, second, end in zip(steps[::3], steps[1::3], steps[2::3], strict=True):
            start = points[-1]
            points += [
                tuple(
                    (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t * t * (1 - t) * c + t**3 * d
                    for a, b, c, d in zip(start, first, second, end, strict=True)
                )
                for t in (step / 20 for step in range(1, 21))
            ]
    return points


def test_the_hand_is_190_mm_long_and_85_mm_over_the_palm():
    points = hand_points()
    knuckles = [x for x, y in points if 96 < y < 118]  # below the fingers, above where the thumb leaves
    outer, inner = min(knuckles), min(x for x in knuckles if x > 70)

    assert max(y for _, y in points) - min(y for _, y in points) == pytest.approx(190, abs=3)
    assert inner - outer == pytest.approx(85, abs=6)


def test_pins_are_discs_and_holes_are_open(faces):
    pins = port_drawing(faces["type-2"], name="a", words="x")
    holes = port_drawing(faces["gb-t-ac"], name="b", words="x")

    assert len(styled(pins, "if")) == 7
    assert len(styled(holes, "if")) == 0
    assert len(styled(holes, "pf")) - len(styled(pins, "pf")) == 7 + 1  # the holes, and the notch


def test_a_blade_is_drawn_by_its_own_shape(faces):
    solid = styled(port_drawing(faces["own-cord-5-15"], name="a", words="x"), "if")

    assert Counter(item.tag for item in solid) == {"path": 2, "circle": 1}


def test_a_face_mirrored_twice_is_itself(faces):
    for face in faces.values():
        assert mirrored(mirrored(face)) == face


def test_a_mirrored_face_is_the_other_half():
    face = Face(
        id="x",
        name="x",
        metal="pins",
        outlines=(
            Outline(part="edge", center_mm=(3, 1), diameter_mm=40),
            Outline(part="latch", corners_mm=((1, 2), (4, 2), (4, 9))),
        ),
        contacts=(Contact(roles=("l1",), at_mm=(5, 6), diameter_mm=2),),
        seen=Seen(outline="round"),
    )
    other = mirrored(face)

    assert other.metal == "holes"
    assert other.outlines[0].center_mm == (-3, 1)
    assert other.outlines[1].corners_mm == ((-1, 2), (-4, 2), (-4, 9))
    assert other.contacts[0].at_mm == (-5, 6)


def test_a_connector_has_holes_for_pins_and_pins_for_holes(faces):
    assert len(styled(connector_drawing(faces["j1772"], name="x", words="x"), "if")) == 0
    assert len(styled(connector_drawing(faces["gb-t-ac"], name="x", words="x"), "if")) == 7


def test_a_connector_is_drawn_without_what_it_leaves_out(faces):
    def holes(left_out):
        drawing = connector_drawing(faces["ccs1"], name="x", words="x", left_out=left_out)
        return len(styled(drawing, "pf")) - len(
            styled(connector_drawing(faces["ccs1"], name="x", words="x", left_out=TYPE_1 + DC), "pf")
        )

    assert holes(()) == 7
    assert holes(("l1", "l2")) == 5


def test_a_shared_contact_stays_while_one_of_its_roles_does(faces):
    def count(left_out):
        return len(styled(connector_drawing(faces["j3400"], name="x", words="x", left_out=left_out), "pf"))

    assert count(()) == count(DC) == count(("l1", "l2")) == count((*DC, "l1", "l2")) + 2


def test_a_plug_on_a_cord_is_drawn_as_it_is(faces):
    assert len(styled(connector_drawing(faces["own-cord-5-15"], name="x", words="x"), "if")) == 3


# ------------------------------------------------------------------------------------------------------------ pairs


def marks(drawing):
    """Return the marks of either half as extents in millimeters right and up of its middle."""
    halves = []
    for half in tree(drawing).findall("g"):
        found = []
        for item in half.iter():
            if item.get("class") != "la":
                continue
            if item.tag == "path":
                numbers = [float(value) for value in re.findall(r"-?[\d.]+", item.get("d"))]
                xs, ys = numbers[::2], [-value for value in numbers[1::2]]
            elif item.tag == "rect":
                x, y, wide, high = (float(item.get(key)) for key in ("x", "y", "width", "height"))
                xs, ys = [x, x + wide], [-y - high, -y]
            else:
                x, y, radius = (float(item.get(key)) for key in ("cx", "cy", "r"))
                xs, ys = [x - radius, x + radius], [-y - radius, -y + radius]
            found.append((min(xs), max(xs), min(ys), max(ys)))
        halves.append(found)
    return halves


def test_faces_that_do_not_differ_are_said_not_to(faces):
    drawing = pair(faces["type-2"], faces["j3068"])

    assert marks(drawing) == [[], []]
    assert "no difference to see" in texts(drawing)
    assert "do not differ" in tree(drawing).find("desc").text


@pytest.mark.parametrize("name", ROLES)
def test_no_face_differs_from_itself(faces, name):
    assert marks(pair(faces[name], faces[name])) == [[], []]


def test_the_block_of_ccs1_is_drawn_round_whole(faces):
    ((mark,), (bare,)) = marks(pair(faces["ccs1"], faces["j1772"]))
    block = next(line for line in faces["ccs1"].outlines if line.part == "edge" and line.corners_mm)
    xs, ys = zip(*block.corners_mm, strict=True)

    assert mark[0] < min(xs) < max(xs) < mark[1]
    assert mark[2] < min(ys)
    assert mark[3] < 0  # nothing of the upper part, which both share
    assert bare[3] < 0


def test_pins_against_holes_are_named_and_marked(faces):
    drawing = pair(faces["type-2"], faces["gb-t-ac"])
    left, right = marks(drawing)

    assert texts(drawing) == ["Left one", "pins", "Right one", "holes"]
    assert any(mark[0] < 0 < mark[1] and mark[2] < 0 < mark[3] for mark in left)  # the ground contact in the middle
    assert any(mark[0] < 0 < mark[1] and mark[2] < 0 < mark[3] for mark in right)
    assert any(mark[2] > 20 for mark in right)  # the notch on top


def test_outlines_of_two_kinds_are_marked_along_their_tops(faces):
    left, right = marks(pair(faces["j3400"], faces["j1772"]))

    assert left[0][3] > faces["j3400"].bounds_mm[3]
    assert right[0][3] > faces["j1772"].bounds_mm[3]
    assert left[0][2] > 0
    assert right[0][2] > 0


def test_the_ringed_groups_of_chademo_are_marked_against_gb_t_dc(faces):
    left, right = marks(pair(faces["chademo"], faces["gb-t-dc"]))
    ground = next(contact for contact in faces["gb-t-dc"].contacts if contact.roles == ("ground",))

    assert sorted((low + high) / 2 for _, _, low, high in left) == pytest.approx([-18.5, 18.5])
    assert len(right) == 1
    assert ((right[0][0] + right[0][1]) / 2, (right[0][2] + right[0][3]) / 2) == pytest.approx(ground.at_mm, abs=0.1)


def test_a_pair_turned_about_has_its_marks_turned_about(faces):
    for name, face in faces.items():
        for other in face.looks_like:
            assert marks(pair(face, faces[other])) == marks(pair(faces[other], face))[::-1], (name, other)


def test_every_pair_of_look_alikes_but_one_shows_a_difference(faces):
    alike = {
        frozenset((name, other))
        for name, face in faces.items()
        for other in face.looks_like
        if "no difference to see" in texts(pair(face, faces[other]))
    }

    assert alike == {frozenset(("type-2", "j3068"))}  # SAE J3068 AC6 has the Type 2 geometry


def test_a_long_name_is_broken_and_stays_within_its_column(faces):
    drawing = pair_drawing(
        faces["j1772"], faces["ccs1"], names=("A port with a name of many words", "W" * 60), words=("a", "b"), key="k"
    )

    assert all(len(line) <= 20 for line in texts(drawing))
    assert "".join(texts(drawing)[:2]).replace(" ", "") == "Aportwithanameofmanywords"


# ------------------------------------------------------------------------------------------------- icons, foreign data


def test_an_icon_is_hidden_from_readers_and_has_no_ids(faces):
    for face in faces.values():
        root = tree(port_icon(face))

        assert root.get("aria-hidden") == "true"
        assert " id=" not in port_icon(face)
        assert len(set(root.get("viewBox").split()[2:])) == 1  # square, so that lists line up


def test_an_icon_drops_what_would_be_a_blot(faces):
    # At 24 pixels a height of 70 mm is 0.34 pixels a millimeter: 2.6 mm are less than one.
    assert len(styled(port_icon(faces["chademo"]), "l1")) == 2 + 2  # two large contacts, two ringed groups
    assert len(styled(port_icon(faces["type-2"]), "if")) == 7


@pytest.mark.parametrize(
    "outline",
    [
        Outline(part="edge", diameter_mm=200),
        Outline(part="edge", diameter_mm=20, flat_top_mm=10),  # cut at its very top
        Outline(part="edge", diameter_mm=20, flat_top_mm=-200),  # cut below its foot
        Outline(part="edge", corners_mm=((0, 0), (0, 0), (0, 0))),
        Outline(part="edge", corners_mm=((0, 0), (10, 0), (20, 0)), rounding_mm=100),
        Outline(part="inner", corners_mm=((-100, -100), (100, -100), (0, 200)), rounding_mm=3),
    ],
)
def test_any_outline_that_a_crew_may_write_is_drawn(faces, outline):
    face = faces["j1772"].model_copy(update={"outlines": (outline,)})

    for drawing in (
        port_drawing(face, name="x", words="x"),
        connector_drawing(face, name="x", words="x"),
        pair(face, faces["ccs1"]),
        pair(faces["type-2"], face),
        port_icon(face),
    ):
        assert "nan" not in drawing
        assert tree(drawing) is not None


def test_text_from_data_is_escaped(faces):
    bad = '<b onclick="x">&</b>'
    for drawing in (
        port_drawing(faces["j1772"], name=bad, words=bad),
        connector_drawing(faces["j1772"], name=bad, words=bad),
        pair_drawing(faces["j1772"], faces["ccs1"], names=(bad, bad), words=(bad, bad), key=bad),
    ):
        assert not list(tree(drawing).iter("b"))
        assert "<b" not in drawing
