"""The drawings of couplers: a port beside coin and hand, two look-alikes with what tells them apart, a connector.

All of them are drawn in millimeters by one scale a kind, so that a small port looks small beside a large one. Strokes
keep their width in pixels, and no style attribute is used, so that a strict content policy holds. A pin is a solid
disc inside a ring, a hole an open ring.
"""

import math
from collections.abc import Collection, Iterable, Sequence

from planner.coupler_records import Contact, Face, Outline
from planner.publish.markup import e

__all__ = ["connector_drawing", "mirrored", "pair_drawing", "port_drawing", "port_icon"]

Point = tuple[float, float]

COIN_MM = 24.26  # a quarter dollar, United States Mint
APPROXIMATE = "Approximate; one scale with a coin and a hand."
MARGIN_MM = 3.0
# The sheet of a port: the face and under it the coin to the left, the hand to the right.
PORT_COLUMN_MM = 76.0
PORT_SHEET_MM = (198.0, 194.0)
FACE_MIDDLE_MM = 66.0
COIN_MIDDLE_MM = 152.0
CORD_MM = 9.0  # own-judgement: a cord of three conductors, drawn to be seen
# The sheet of a pair: two columns, under each its name and, where it differs, what its metal is.
PAIR_COLUMN_MM = 88.0
LETTER_MM = 8.0  # height of the letters on a sheet; nothing smaller can be read on a phone
LETTER_WIDTH = 0.56  # of the height, of a bold letter of the text face, on the large side
LINE_MM = 10.0
# The sheet of a connector: its face and a coin above, its side below.
CONNECTOR_SHEET_MM = 186.0
ICON_LEAST = 0.06  # of an icon's height: a contact smaller than that is a blot at 24 pixels
ICON_HOLE = 1.5  # a hole without a wall, so much larger that it stays open
ICON_PIN = 0.66  # of the ring, where a pin stands in one
HEAVY_FROM_MM = 4.0  # a heavy line round a smaller hole would close it
RING_MM = 1.3  # air between a pin without a wall and the ring that is drawn round it
# Where two faces are compared.
DIFFERS_MM = 2.5  # places are known to a few millimeters: less is no difference
SAME_PLACE_MM = 4.0
SAME_SIZE = 1.6  # between the diameters of two contacts that count as alike
MARK_MM = 3.4  # between what is marked and the line drawn round it
ONE_GROUP_MM = 20.0
STEP_MM = 1.5  # between the points by which outlines are compared
ARC_STEPS = 24
CORNER_STEPS = 4
TOP_SHARE = 0.7  # of half the height: what lies above is the top edge

# A left hand laid flat, seen from the back: 190 mm from the wrist to the tip of the middle finger, 85 mm over the palm.
HAND = (
    "M17 192C17 176 9 162 5.5 146C2 130 1 116-1.5 98L-4.5 72C-6 60 10.5 57.5 12.5 69.5L17 96"
    "C17.5 99 19.7 98.5 19.5 95.5L17 34C16.5 21 33.5 20 34.5 33L38 90C38.2 93 40.6 93 40.6 90"
    "L40.3 14C40.3-1.5 58-1.5 58.2 14L59.5 90C59.6 93 62 93 62.2 90L65 33C66 19.5 83 21 82 34.5"
    "L79.3 96C78.8 107 80 116 83 121C87 122 91 117 94 109L101 91C105.5 79.5 119.5 84 116 97L107 129"
    "C102 147 90 160 82 170C77 177 75.5 184 75 192"
)
NAILS = "M-1 66.5q4-6 9.5-1.5M20.5 28q5-6 10.5-.5M44.5 9q5-6 10 0M68 28.5q5.5-5.5 10.5.5M105 89q5-3 8 2"


# --------------------------------------------------------------------------------------------------------- drawings


def port_drawing(face: Face, *, name: str, words: str) -> str:
    """Return an inlet as it is met, beside a quarter dollar and a hand: the scale is the same for every port.

    Only a face wider than the sheet has room for widens the sheet, with coin and hand.
    """
    left, right, bottom, top = face.bounds_mm
    column = max(PORT_COLUMN_MM, right - left + 2 * MARGIN_MM)
    wide, high = column + PORT_SHEET_MM[0] - PORT_COLUMN_MM, max(PORT_SHEET_MM[1], top - bottom + 90)
    middle = (column / 2 - (left + right) / 2, max(FACE_MIDDLE_MM, (top - bottom) / 2 + MARGIN_MM) + (top + bottom) / 2)
    body = (
        _placed((_cord(face) if face.seen.outline == "plug_on_a_cord" else "") + _face(face), *middle)
        + _placed(_coin(), column / 2, COIN_MIDDLE_MM + high - PORT_SHEET_MM[1])
        + _placed(f'<path class="l1 hand" d="{HAND}{NAILS}"/>', column + 5, high - 193)
    )
    return _svg("port", name, name, f"{_sentence(words)} {APPROXIMATE}", (wide, high), body)


def pair_drawing(left: Face, right: Face, *, names: tuple[str, str], words: tuple[str, str], key: str) -> str:
    """Return two faces side by side at one scale, what tells them apart drawn round in the overprint.

    What is drawn round follows from the data alone: where the outlines reach differently far, contacts that one has and
    the other lacks, and pins against holes. Where nothing differs, the drawing says so.
    """
    faces = (left, right)
    metal = _metal_differs(left, right)
    marks = _differences(left, right)
    column = max(PAIR_COLUMN_MM, *(face.size_mm[0] + 4 * MARGIN_MM for face in faces))
    up = max(face.bounds_mm[3] for face in faces) + MARK_MM + MARGIN_MM
    down = max(-face.bounds_mm[2] for face in faces) + MARK_MM + MARGIN_MM
    parts = []
    foot = up + down + LETTER_MM
    for index, face in enumerate(faces):
        x = column * (index + 0.5)
        middle = (face.bounds_mm[0] + face.bounds_mm[1]) / 2
        parts.append(_placed(_face(face) + marks[index], x - middle, up))
        lines = _lines(names[index], column)
        parts += [_text(x, foot + LINE_MM * row, line) for row, line in enumerate(lines)]
        if metal:
            parts.append(_text(x, foot + LINE_MM * len(lines), face.metal, "x"))
    rows = max(len(_lines(name, column)) for name in names)
    same = not metal and not any(marks)
    if same:
        parts.append(_text(column, foot + LINE_MM * rows, "no difference to see", "x"))
    high = foot + LINE_MM * (rows - 1 + (metal or same)) + MARGIN_MM
    told = " ".join(f"{name}: {_sentence(word)}" for name, word in zip(names, words, strict=True))
    differs = f" Metal: {left.metal} to the left, {right.metal} to the right." if metal else ""
    if same:
        differs = " The two faces do not differ."
    return _svg(
        "pair",
        key,
        f"{names[0]} beside {names[1]}",
        f"{told}{differs} Approximate; one scale.",
        (2 * column, high),
        "".join(parts),
    )


def connector_drawing(face: Face, *, name: str, words: str, left_out: Collection[str] = ()) -> str:
    """Return the connector of an inlet: its own face, its side, and a coin.

    Its face is the mirror image of the inlet's with pins and holes exchanged; contacts whose every role is left out are
    not drawn. A plug on a cord of the vehicle's own is its own other half: it is drawn as it is.
    """
    own = face if face.seen.outline == "plug_on_a_cord" else mirrored(face)
    kept = tuple(contact for contact in own.contacts if not set(contact.roles) <= set(left_out))
    left, right, bottom, top = own.bounds_mm
    face_middle = max(PORT_COLUMN_MM, right - left + 2 * MARGIN_MM) / 2
    wide = max(CONNECTOR_SHEET_MM, 2 * face_middle + COIN_MM + 4 * MARGIN_MM)
    parts = [
        _placed(_face(own, kept), face_middle - (left + right) / 2, top + MARGIN_MM),
        _placed(_coin(), wide - COIN_MM / 2 - 4 * MARGIN_MM, (top - bottom) / 2 + MARGIN_MM),
    ]
    high = top - bottom + 2 * MARGIN_MM
    views = "From the front"
    if face.side:
        views += " and from the side"
        points = [point for line in face.side for point in _points(line)]
        side_left, side_right = min(x for x, _ in points), max(x for x, _ in points)
        side_low, side_high = min(y for _, y in points), max(y for _, y in points)
        high += 2 * MARGIN_MM
        wide = max(wide, side_right - side_left + 2 * MARGIN_MM)
        lines = "".join(_line(line, "l2 pf") for line in face.side)
        parts.append(_placed(lines, MARGIN_MM - side_left, high + side_high))
        high += side_high - side_low + MARGIN_MM
    return _svg(
        "connector",
        name,
        name,
        f"{_sentence(words)} {views}. Approximate; one scale with a coin.",
        (wide, high),
        "".join(parts),
    )


def port_icon(face: Face) -> str:
    """Return the face alone, small, for a list or the head of a table: the words beside it carry the meaning."""
    left, right, bottom, top = face.bounds_mm
    size = max(right - left, top - bottom)
    half = 1.06 * size / 2
    edges = [line for line in face.outlines if line.part in ("edge", "latch")]
    blades = _blades(face)
    parts = [_line(line, "l2 pf") for line in edges] + [_line(line, "l1") for line in _ringed_groups(face)]
    parts += [_line(blade, "if") for blade in blades.values()]
    for contact in face.contacts:
        ring = contact.sleeve_mm or contact.diameter_mm * ICON_HOLE
        if ring < ICON_LEAST * size or contact in blades:
            continue
        if face.metal == "pins":
            parts.append(_circle("if", contact.at_mm, max(contact.diameter_mm, ICON_PIN * ring)))
        else:
            parts.append(_circle("l1", contact.at_mm, ring))
    x, y = (left + right) / 2 - half, -(top + bottom) / 2 - half
    return (
        f'<svg class="pi" aria-hidden="true" focusable="false" viewBox="{_n(x)} {_n(y)} {_n(2 * half)} {_n(2 * half)}">'
        f"{''.join(parts)}</svg>"
    )


def mirrored(face: Face) -> Face:
    """Return the face of the other half: left and right changed over, pins for holes, holes for pins; openings stay."""
    return face.model_copy(
        update={
            "metal": {"pins": "holes", "holes": "pins"}.get(face.metal, face.metal),
            "outlines": tuple(
                line.model_copy(
                    update={
                        "center_mm": (-line.center_mm[0], line.center_mm[1]),
                        "corners_mm": tuple((-x, y) for x, y in line.corners_mm),
                    }
                )
                for line in face.outlines
            ),
            "contacts": tuple(
                contact.model_copy(update={"at_mm": (-contact.at_mm[0], contact.at_mm[1])}) for contact in face.contacts
            ),
        }
    )


# ------------------------------------------------------------------------------------------------------------- face


def _face(face: Face, contacts: Iterable[Contact] | None = None) -> str:
    """Return the lines of a face round its own middle. A later edge lies over an earlier one, as it was given."""
    blades = _blades(face)
    edges = [_line(line, "l3 pf") for line in face.outlines if line.part in ("edge", "latch", "handle")]
    inner = [
        _line(line, "l1") for line in face.outlines if line.part in ("inner", "cap") and line not in blades.values()
    ]
    shown = face.contacts if contacts is None else contacts
    return "".join(edges + inner + [_contact(contact, face.metal, blades.get(contact)) for contact in shown])


def _cord(face: Face) -> str:
    """Return the cord behind a plug, so that nobody takes the plug for a port."""
    r = face.size_mm[0] / 2
    near, far, foot = -1.2 * r, -1.2 * r + CORD_MM, 2.4 * r
    lines = (
        f"M{_n(-0.9 * r)} {_n(0.4 * r)}C{_n(-1.1 * r)} {_n(0.7 * r)} {_n(near)} {_n(r)} {_n(near)} {_n(foot)}",
        f"M{_n(-0.5 * r)} {_n(0.8 * r)}C{_n(-0.7 * r)} {_n(1.1 * r)} {_n(far)} {_n(1.4 * r)} {_n(far)} {_n(foot)}",
    )
    return f'<path class="l2" d="{"".join(lines)}"/>'


def _contact(contact: Contact, metal: str, blade: Outline | None) -> str:
    if blade is not None:
        return _line(blade, "if" if metal == "pins" else "l2")
    if metal == "pins":
        ring = contact.sleeve_mm or contact.diameter_mm + 2 * RING_MM
        return _circle("l1", contact.at_mm, ring) + _circle("if", contact.at_mm, contact.diameter_mm)
    wall = _circle("l1", contact.at_mm, contact.sleeve_mm) if contact.sleeve_mm else ""
    line = "l2 pf" if contact.diameter_mm >= HEAVY_FROM_MM else "l1 pf"
    return wall + _circle(line, contact.at_mm, contact.diameter_mm)


def _blades(face: Face) -> dict[Contact, Outline]:
    """Return the contacts that are no circles: a cornered inner line round one contact without a wall is its shape."""
    found = {}
    for line in face.outlines:
        if line.part == "inner" and line.corners_mm:
            inside = [contact for contact in face.contacts if _holds(line, contact.at_mm)]
            if len(inside) == 1 and inside[0].sleeve_mm is None:
                found[inside[0]] = line
    return found


def _holds(line: Outline, point: Point) -> bool:
    """Return whether a point lies inside a line."""
    inside = False
    corners = _points(line)
    for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True):
        if (y1 > point[1]) != (y2 > point[1]) and point[0] < (x2 - x1) * (point[1] - y1) / (y2 - y1) + x1:
            inside = not inside
    return inside


def _coin() -> str:
    """Return a quarter dollar round its middle: its edge, the rim inside it, and its worth."""
    return (
        _circle("l2", (0, 0), COIN_MM)
        + _circle("l1 mill", (0, 0), COIN_MM - 3)
        + '<text class="coin m" x="0" y="3.1">25¢</text>'
    )


# ------------------------------------------------------------------------------------------------------ differences


def _differences(left: Face, right: Face) -> tuple[str, str]:
    """Return the marks on either face."""
    runs = (_unlike_runs(left, right), _unlike_runs(right, left))
    lone = (_unmatched(left, right), _unmatched(right, left))
    alike = 2 * len(lone[0]) < len(left.contacts) and 2 * len(lone[1]) < len(right.contacts)
    marks = []
    for index, (face, other) in enumerate(((left, right), (right, left))):
        parts = [_trace(runs[index])]
        if alike:
            # What stands out beyond the other's outline is already drawn round with its own.
            inside = [contact for contact in lone[index] if _covers(other, contact.at_mm)]
            parts += [_round(group) for group in _groups(inside)]
        elif not any(runs):
            parts += _apart(face, lone[index])
        if _metal_differs(left, right) and alike:
            parts.append(_round([_middle_contact(face)]))
        marks.append("".join(parts))
    return marks[0], marks[1]


def _metal_differs(left: Face, right: Face) -> bool:
    """Return whether one is known to have pins where the other is known to have holes."""
    return {left.metal, right.metal} == {"pins", "holes"}


def _apart(face: Face, lone: Sequence[Contact]) -> list[str]:
    """Return the marks where outlines agree and most contacts do not: ringed groups, else the largest lone one."""
    rings = _ringed_groups(face)
    if rings:
        return [_circle("la", line.center_mm, _width(line) + 2 * MARK_MM) for line in rings]
    return [_round([max(lone, key=_ring_mm)])] if lone else []


def _ringed_groups(face: Face) -> list[Outline]:
    """Return the inner lines that hold several contacts and not all."""
    return [
        line
        for line in face.outlines
        if line.part == "inner"
        and 1 < sum(_holds(line, contact.at_mm) for contact in face.contacts) < len(face.contacts)
    ]


def _unmatched(face: Face, other: Face) -> list[Contact]:
    """Return the contacts that have none of about their size at about their place on the other face."""
    return [
        contact
        for contact in face.contacts
        if not any(
            math.dist(contact.at_mm, there.at_mm) <= SAME_PLACE_MM
            and max(contact.diameter_mm, there.diameter_mm) <= SAME_SIZE * min(contact.diameter_mm, there.diameter_mm)
            for there in other.contacts
        )
    ]


def _groups(contacts: Iterable[Contact]) -> list[list[Contact]]:
    """Return contacts in groups of neighbors."""
    groups: list[list[Contact]] = []
    for contact in contacts:
        near = [
            group
            for group in groups
            if any(
                math.dist(contact.at_mm, other.at_mm) - (_ring_mm(contact) + _ring_mm(other)) / 2 < ONE_GROUP_MM
                for other in group
            )
        ]
        groups = [group for group in groups if group not in near] + [
            [contact, *(one for group in near for one in group)]
        ]
    return groups


def _middle_contact(face: Face) -> Contact:
    """Return the contact nearest the middle of the face, the larger of two."""
    return min(face.contacts, key=lambda contact: (round(math.hypot(*contact.at_mm)), -contact.diameter_mm))


def _ring_mm(contact: Contact) -> float:
    return contact.sleeve_mm or contact.diameter_mm + 2 * RING_MM


def _round(contacts: Sequence[Contact]) -> str:
    """Return a line drawn round a group of contacts."""
    left = min(contact.at_mm[0] - _ring_mm(contact) / 2 for contact in contacts) - MARK_MM / 2
    right = max(contact.at_mm[0] + _ring_mm(contact) / 2 for contact in contacts) + MARK_MM / 2
    low = min(contact.at_mm[1] - _ring_mm(contact) / 2 for contact in contacts) - MARK_MM / 2
    high = max(contact.at_mm[1] + _ring_mm(contact) / 2 for contact in contacts) + MARK_MM / 2
    return (
        f'<rect class="la" x="{_n(left)}" y="{_n(-high)}" width="{_n(right - left)}" height="{_n(high - low)}" '
        f'rx="{_n(min(right - left, high - low) / 2)}"/>'
    )


def _edges(face: Face) -> list[Outline]:
    return [line for line in face.outlines if line.part in ("edge", "latch")]


def _covers(face: Face, point: Point) -> bool:
    """Return whether a point lies inside the outline of a face, all its edges together."""
    return any(_holds(line, point) for line in _edges(face))


def _rim(face: Face) -> list[list[tuple[Point, Point] | None]]:
    """Return the edges of a face as points with the way outwards at each; nothing for a point inside another edge."""
    rim = []
    for line in _edges(face):
        others = [other for other in _edges(face) if other is not line]
        points = _dense(_points(line))
        turn = 1 if _area(points) > 0 else -1
        edge: list[tuple[Point, Point] | None] = []
        for before, here, after in zip(points[-1:] + points[:-1], points, points[1:] + points[:1], strict=True):
            length = math.dist(before, after) or 1.0
            out = (turn * (after[1] - before[1]) / length, -turn * (after[0] - before[0]) / length)
            edge.append(None if any(_holds(other, here) for other in others) else (here, out))
        rim.append(edge)
    return rim


def _unlike_runs(face: Face, other: Face) -> list[list[tuple[Point, Point]]]:
    """Return where a face's outline runs otherwise than the other's; of two kinds of outline, the top edge alone."""
    rim = _rim(face)
    own = [step[0] for edge in rim for step in edge if step]
    there = [step[0] for edge in _rim(other) for step in edge if step]
    clear = [[step if step and _stands_clear(step, own) else None for step in edge] for edge in rim]
    unlike = [[step if step and _nearest(step[0], there) > DIFFERS_MM else None for step in edge] for edge in clear]
    if face.seen.outline != other.seen.outline:
        least = TOP_SHARE * face.bounds_mm[3]
        unlike = [[step if step and step[0][1] > least else None for step in edge] for edge in clear]
    return [run for edge in unlike for run in _runs(edge)]


def _stands_clear(step: tuple[Point, Point], own: Sequence[Point]) -> bool:
    """Return whether a mark beside a point of the outline stays off the rest of it, as in a nook it would not."""
    (x, y), (across, up) = step
    return _nearest((x + MARK_MM * across, y + MARK_MM * up), own) > 0.9 * MARK_MM


def _nearest(point: Point, others: Sequence[Point]) -> float:
    return min((math.dist(point, other) for other in others), default=math.inf)


def _runs(edge: Sequence[tuple[Point, Point] | None]) -> list[list[tuple[Point, Point]]]:
    """Return the unbroken runs of two points or more in a closed line."""
    start = next((index for index, step in enumerate(edge) if step is None), None)
    if start is None:
        return [[step for step in (*edge, edge[0]) if step]]
    runs: list[list[tuple[Point, Point]]] = [[]]
    for step in (*edge[start:], *edge[:start]):
        if step:
            runs[-1].append(step)
        elif runs[-1]:
            runs.append([])
    return [run for run in runs if len(run) > 1]


def _trace(runs: Sequence[Sequence[tuple[Point, Point]]]) -> str:
    """Return a line that follows runs of an outline from outside."""
    path = "".join(
        "M" + "L".join(_at((x + MARK_MM * across, y + MARK_MM * up)) for (x, y), (across, up) in run) for run in runs
    )
    return f'<path class="la" d="{path}"/>' if path else ""


def _dense(points: Sequence[Point]) -> list[Point]:
    """Return a closed line with points no further apart than a step."""
    result = []
    for (x1, y1), (x2, y2) in zip(points, [*points[1:], points[0]], strict=True):
        count = max(1, math.ceil(math.dist((x1, y1), (x2, y2)) / STEP_MM))
        result += [(x1 + (x2 - x1) * step / count, y1 + (y2 - y1) * step / count) for step in range(count)]
    return result


def _area(points: Sequence[Point]) -> float:
    """Return the area within a closed line, positive where it runs counterclockwise."""
    return sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(points, [*points[1:], points[0]], strict=True)) / 2


# ------------------------------------------------------------------------------------------------------------ lines


def _line(line: Outline, style: str) -> str:
    """Return a closed line."""
    if line.diameter_mm is not None and line.flat_top_mm is None:
        return _circle(style, line.center_mm, line.diameter_mm)
    return f'<path class="{style}" d="{_path(line)}"/>'


def _path(line: Outline) -> str:
    x, y = line.center_mm
    if line.diameter_mm is not None:
        assert line.flat_top_mm is not None
        radius = line.diameter_mm / 2
        inset = line.rounding_mm
        half = _half_chord(line)
        height = line.flat_top_mm - y
        # Down the circle from the corner by about as much as the corner is cut off along the flat.
        turn = math.atan2(height, half) - inset / radius
        below = (radius * math.cos(turn), radius * math.sin(turn))
        return (
            f"M{_at((x - half + inset, y + height))}L{_at((x + half - inset, y + height))}"
            f"Q{_at((x + half, y + height))} {_at((x + below[0], y + below[1]))}"
            f"A{_n(radius)} {_n(radius)} 0 1 1 {_at((x - below[0], y + below[1]))}"
            f"Q{_at((x - half, y + height))} {_at((x - half + inset, y + height))}Z"
        )
    parts: list[str] = []
    for start, end, radius, left_turn in _corners(line):
        parts.append(("L" if parts else "M") + _at(start))
        if radius:
            parts.append(f"A{_n(radius)} {_n(radius)} 0 0 {0 if left_turn else 1} {_at(end)}")
    return "".join(parts) + "Z"


def _corners(line: Outline) -> list[tuple[Point, Point, float, bool]]:
    """Return every corner of a line as the arc that rounds it: start, end, radius, and whether it turns left."""
    x, y = line.center_mm
    corners = [(x + across, y + up) for across, up in line.corners_mm]
    result = []
    for before, here, after in zip(corners[-1:] + corners[:-1], corners, corners[1:] + corners[:1], strict=True):
        back, ahead = math.dist(here, before), math.dist(here, after)
        if not back or not ahead or not line.rounding_mm:
            result.append((here, here, 0.0, False))
            continue
        into = ((before[0] - here[0]) / back, (before[1] - here[1]) / back)
        out = ((after[0] - here[0]) / ahead, (after[1] - here[1]) / ahead)
        opening = math.acos(max(-1.0, min(1.0, into[0] * out[0] + into[1] * out[1])))
        if opening > math.pi - 1e-6 or opening < 1e-6:
            result.append((here, here, 0.0, False))
            continue
        # An arc takes at most half of either side, so that two neighbors never meet.
        inset = min(line.rounding_mm / math.tan(opening / 2), back / 2, ahead / 2)
        start = (here[0] + inset * into[0], here[1] + inset * into[1])
        end = (here[0] + inset * out[0], here[1] + inset * out[1])
        result.append((start, end, inset * math.tan(opening / 2), into[0] * out[1] - into[1] * out[0] < 0))
    return result


def _points(line: Outline) -> list[Point]:
    """Return a line as points close enough to measure by; the flat of a circle keeps sharp corners."""
    x, y = line.center_mm
    if line.diameter_mm is None:
        return [point for corner in _corners(line) for point in _arc_points(*corner)]
    radius = line.diameter_mm / 2
    if line.flat_top_mm is None:
        turns = [2 * math.pi * step / (4 * ARC_STEPS) for step in range(4 * ARC_STEPS)]
    else:
        corner = math.atan2(line.flat_top_mm - y, _half_chord(line))
        turns = [corner - (math.pi + 2 * corner) * step / (4 * ARC_STEPS) for step in range(4 * ARC_STEPS + 1)]
    return [(x + radius * math.cos(turn), y + radius * math.sin(turn)) for turn in turns]


def _arc_points(start: Point, end: Point, radius: float, left_turn: bool) -> list[Point]:
    """Return the points of the arc that rounds a corner."""
    chord = math.dist(start, end)
    if not radius or not chord:
        return [start]
    half = math.asin(min(1.0, chord / (2 * radius)))
    side = 1 if left_turn else -1
    along = ((end[0] - start[0]) / chord, (end[1] - start[1]) / chord)
    sag = radius * math.cos(half)
    center = (
        (start[0] + end[0]) / 2 - side * along[1] * sag,
        (start[1] + end[1]) / 2 + side * along[0] * sag,
    )
    first = math.atan2(start[1] - center[1], start[0] - center[0])
    return [
        (center[0] + radius * math.cos(turn), center[1] + radius * math.sin(turn))
        for turn in (first + side * 2 * half * step / CORNER_STEPS for step in range(CORNER_STEPS + 1))
    ]


def _half_chord(line: Outline) -> float:
    """Return half the length of the flat that cuts a circle."""
    assert line.diameter_mm is not None
    assert line.flat_top_mm is not None
    return math.sqrt(max((line.diameter_mm / 2) ** 2 - (line.flat_top_mm - line.center_mm[1]) ** 2, 0.0))


def _width(line: Outline) -> float:
    points = _points(line)
    return max(x for x, _ in points) - min(x for x, _ in points)


def _circle(style: str, center: Point, diameter: float) -> str:
    x, y = center
    return f'<circle class="{style}" cx="{_n(x)}" cy="{_n(-y)}" r="{_n(diameter / 2)}"/>'


def _placed(body: str, x: float, y: float) -> str:
    return f'<g transform="translate({_n(x)} {_n(y)})">{body}</g>'


def _text(x: float, y: float, text: str, style: str = "b") -> str:
    return f'<text class="mm m {style}" x="{_n(x)}" y="{_n(y)}">{e(text)}</text>'


def _lines(name: str, width_mm: float) -> list[str]:
    """Return a name in lines that fit the width; a word that is too long for any is cut."""
    letters = int(width_mm / (LETTER_MM * LETTER_WIDTH))
    lines = [""]
    for word in name.split():
        short = word if len(word) <= letters else word[: letters - 1] + "…"
        if lines[-1] and len(lines[-1]) + 1 + len(short) > letters:
            lines.append("")
        lines[-1] = f"{lines[-1]} {short}".strip()
    return lines


def _sentence(words: str) -> str:
    return words if words.endswith((".", "?", "!")) else f"{words}."


def _at(point: Point) -> str:
    """Return a point of the paper: up in the record is up on the paper, where y runs down."""
    return f"{_n(point[0])} {_n(-point[1])}"


def _n(value: float) -> str:
    """Return a coordinate to a tenth of a millimeter, in as few characters as it needs."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def _svg(kind: str, key: str, title: str, description: str, size_mm: Point, body: str) -> str:
    """Return a drawing with its title and description; ids are unique where `key` is unique on the page."""
    slug = f"{kind}-" + "".join(letter if letter.isalnum() else "-" for letter in key.lower())
    return (
        f'<svg class="cd" role="img" aria-labelledby="{slug}-t {slug}-d" '
        f'viewBox="0 0 {_n(size_mm[0])} {_n(size_mm[1])}">'
        f'<title id="{slug}-t">{e(title)}</title><desc id="{slug}-d">{e(description)}</desc>{body}</svg>'
    )
