"""The drawing of where the ports of a class sit: the vehicle from above, nose up, so that its left is to the left.

A mark stands at every place of every inlet, the larger the more of the vehicles have it there; inlets differ by the
shape of their mark and by word. Letters keep their size; the body keeps its own and stands in the middle.
"""

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from planner.publish.markup import e
from planner.records import PLACE_WORDS, Place, VehicleClass, VehiclePort

__all__ = ["class_share_words", "inlet_mark", "place_drawing", "place_shares", "place_words"]

Point = tuple[float, float]

LINE_EM = 1.25
HEAD_EM = 1.6
LENGTH_EM, WIDTH_EM = 12.0, 4.8  # room for a body, whatever it is
GAP_EM = 0.6  # between a body and the words beside it
SIGN_EM = 0.9  # a mark before the words, where several inlets are told apart
BLOCK_GAP_EM = 0.5
LETTERS = 11  # of a line beside the body on the narrowest phone
MARK_EM = (0.42, 0.30)  # half a mark's width: at no share, and what the whole share adds
KEY_EM = 0.36  # half the width of a mark before words
ASIDE_EM = 1.35  # between two marks at one place
SPREAD_EM = 3.6  # no wider than this, however many inlets sit at one place
WHOLE_TENTHS = 0.05  # a share this near to tenths, in tenths, is told in them
UNITS = (10, 100)
FEW_SHARE, ALL_SHARE = 0.05, 0.95  # as on the pages of ports; own-judgement
IN_UNITS = re.compile(r" in (?=100?$)")


@dataclass(frozen=True, slots=True)
class _Body:
    """An outline from above: its size as drawn, where the places lie, its lines; in mm from the middle of the nose.

    own-judgement: round sizes of the kind, and how a body of the kind looks; no vehicle was measured.
    """

    width_mm: float
    length_mm: float
    word: str
    front_mm: Point  # on the right, half the width there and back from the nose: front fender
    side_mm: Point
    rear_mm: Point
    seat_mm: Point
    lines: tuple[tuple[str, str], ...]  # style and path
    region: str | None = None  # where a place under the seat may be anywhere in it


_CAR_SHELL = (
    "M-330 40C-620 60-800 190-850 480C-880 700-885 900-885 1150L-880 3300C-880 3700-870 4050-820 4260"
    "C-780 4400-600 4460-350 4470L350 4470C600 4460 780 4400 820 4260C870 4050 880 3700 880 3300"
    "L885 1150C885 900 880 700 850 480C800 190 620 60 330 40Q0-10-330 40Z"
)
_LAMPS = "M-800 330Q-740 170-560 110M800 330Q740 170 560 110"
_MIRRORS = "M-880 1500L-1010 1480L-1020 1390L-885 1360M880 1500L1010 1480L1020 1390L885 1360"
_WINDSHIELD = "M-760 1330Q0 1060 760 1330L640 1850Q0 1720-640 1850Z"
_CAR = _Body(
    2040,
    4480,
    "car",
    (877, 790),
    (883, 2300),
    (874, 3700),
    (-330, 2250),
    (
        ("l1 pf", _MIRRORS),
        ("l2 pf", _CAR_SHELL),
        ("l1", _LAMPS + _WINDSHIELD),
        ("l1", "M-640 1850L-660 3760M640 1850L660 3760M-660 3760Q0 3890 660 3760L740 4240Q0 4360-740 4240Z"),
    ),
)
_SEDAN = _Body(
    2040,
    4480,
    "sedan",
    (877, 790),
    (883, 2250),
    (874, 3800),
    (-330, 2250),
    (
        ("l1 pf", _MIRRORS),
        ("l2 pf", _CAR_SHELL),
        ("l1", _LAMPS + _WINDSHIELD),
        ("l1", "M-640 1850L-640 3000M640 1850L640 3000M-640 3000Q0 3090 640 3000L760 3560Q0 3700-760 3560Z"),
        ("l1", "M-790 4210Q-700 4370-520 4400M790 4210Q700 4370 520 4400"),
    ),
)
_PICKUP = _Body(
    2400,
    5900,
    "pickup",
    (985, 900),
    (990, 3000),
    (990, 4700),
    (-400, 2350),
    (
        ("l1 pf", "M-985 1800L-1180 1780L-1190 1620L-985 1600M985 1800L1180 1780L1190 1620L985 1600"),
        (
            "l2 pf",
            "M-800 40C-920 60-980 200-985 420L-990 5700Q-990 5860-850 5870L850 5870Q990 5860 990 5700L985 420"
            "C980 200 920 60 800 40Q0 0-800 40Z",
        ),
        ("l1", "M-930 420L-600 330L-600 130M930 420L600 330L600 130"),
        ("l1", "M-860 1620Q0 1420 860 1620L760 2080Q0 1960-760 2080Z"),
        ("l1", "M-760 2080L-780 3650M760 2080L780 3650M-860 3820L-780 3650H780L860 3820Z"),
        ("l2", "M-820 3990H820V5700H-820Z"),
        ("l1", "M-500 3990V5700M0 3990V5700M500 3990V5700"),
    ),
)
_VAN = _Body(
    2440,
    5900,
    "van",
    (975, 900),
    (1000, 2700),
    (1000, 5000),
    (-420, 1900),
    (
        ("l1 pf", "M-985 1400L-1190 1370L-1210 1150L-980 1180M985 1400L1190 1370L1210 1150L980 1180"),
        (
            "l2 pf",
            "M-560 40C-840 70-950 260-970 640L-1000 1500L-1000 5750Q-1000 5880-880 5880L880 5880Q1000 5880 1000 5750"
            "L1000 1500L970 640C950 260 840 70 560 40Q0 0-560 40Z",
        ),
        ("l1", "M-910 430Q-860 230-660 150M910 430Q860 230 660 150"),
        ("l1", "M-890 1180Q0 820 890 1180L860 1640Q0 1470-860 1640Z"),
        ("l1", "M-860 1640L-880 5740M860 1640L880 5740M0 5640V5880"),
        ("l1", "M-880 2600H880M-880 3600H880M-880 4600H880"),
    ),
)
_TRUCK = _Body(
    2900,
    7000,
    "truck",
    (1090, 900),
    (1150, 2700),
    (1150, 6100),
    (-450, 1200),
    (
        ("l1 pf", "M-1100 820L-1420 760L-1440 560L-1100 620M1100 820L1420 760L1440 560L1100 620"),
        ("l2 pf", "M-900 60Q-1070 70-1080 260L-1090 1500H1090L1080 260Q1070 70 900 60Q0 0-900 60Z"),
        ("l2 pf", "M-1150 1500H1150V6800H-1150Z"),
        ("l1", "M-940 260Q0 130 940 260L930 620Q0 520-930 620Z"),
        ("l1", "M-1150 2800H1150M-1150 4100H1150M-1150 5400H1150"),
        ("l2 pf", "M-900 6800H900V6990H-900Z"),
    ),
)
_MOTORCYCLE = _Body(
    820,
    2150,
    "motorcycle",
    (95, 420),
    (180, 1080),
    (135, 1620),
    (0, 1130),
    (
        ("l2 pf", "M-55 90Q-55 10 0 10Q55 10 55 90V560Q55 640 0 640Q-55 640-55 560Z"),
        ("l2 pf", "M-60 1560H60V2040Q60 2130 0 2130Q-60 2130-60 2040Z"),
        ("l2 pf", "M-95 300Q0 240 95 300L85 560Q0 620-85 560Z"),
        (
            "l3",
            "M-395 760L-300 720Q-200 640-120 620H120Q200 640 300 720L395 760",
        ),
        ("l2 pf", "M-110 700Q0 620 110 700Q190 800 170 960Q150 1080 60 1120H-60Q-150 1080-170 960Q-190 800-110 700Z"),
        (
            "l2 pf",
            "M-90 1100Q0 1060 90 1100L150 1300Q160 1500 120 1640L60 1800Q0 1840-60 1800L-120 1640Q-160 1500-150 1300Z",
        ),
        ("l1", "M-140 1010L-290 1030M140 1010L290 1030M-110 1420H110"),
    ),
    # The dummy tank and the seat.
    "M-130 680Q0 590 130 680Q225 800 200 980L185 1300Q195 1520 150 1660L80 1830Q0 1880-80 1830L-150 1660"
    "Q-195 1520-185 1300L-200 980Q-225 800-130 680Z",
)
_BUS = _Body(
    2900,
    8600,
    "bus",
    (1160, 1000),
    (1200, 4300),
    (1200, 7700),
    (-520, 1350),
    (
        ("l1 pf", "M-1150 340L-1430 300L-1450 110L-1150 170M1150 340L1430 300L1450 110L1150 170"),
        (
            "l2 pf",
            "M-1000 40Q-1180 60-1190 260L-1200 8440Q-1200 8580-1060 8590L1060 8590Q1200 8580 1200 8440L1190 260"
            "Q1180 60 1000 40Q0 0-1000 40Z",
        ),
        ("l1", "M-1080 330Q0 190 1080 330L1060 660Q0 560-1060 660Z"),
        ("l1", "M-480 2100H480V2900H-480ZM-480 5600H480V6400H-480Z"),
        ("l1", "M-1080 900V8300M1080 1750V8300M1080 850V1600M980 850H1190M980 1600H1190"),
    ),
)
_SIDE_BY_SIDE = _Body(
    1600,
    3000,
    "side-by-side",
    (650, 620),
    (560, 1500),
    (650, 2500),
    (-230, 1500),
    (
        (
            "l2 pf",
            "M-790 330H-540V1000H-790ZM540 330H790V1000H540ZM-790 2060H-540V2730H-790ZM540 2060H790V2730H540Z",
        ),
        ("l2 pf", "M-400 60Q0 0 400 60L540 480V2900Q540 2980 460 2980H-460Q-540 2980-540 2900V480Z"),
        ("l1", "M-380 250L-440 520M380 250L440 520M-250 620H250"),
        ("l2", "M-490 880H490L460 1960H-460Z"),
        ("l1", "M-490 880L460 1960M490 880L-460 1960M-400 1250H-60V1720H-400ZM60 1250H400V1720H60Z"),
        ("l2", "M-480 2090H480V2900H-480Z"),
        ("l1", "M-240 2090V2900M0 2090V2900M240 2090V2900"),
    ),
)
_SNOW_MACHINE = _Body(
    1240,
    3100,
    "snow machine",
    (390, 940),
    (330, 1500),
    (250, 2450),
    (0, 1900),
    (
        ("l2 pf", "M-600 260Q-530 140-460 260V1160H-600ZM460 260Q530 140 600 260V1160H460Z"),
        ("l1", "M-460 700L-360 620M460 700L360 620M-460 800L-390 740M460 800L390 740"),
        ("l2 pf", "M-250 1700H250V3060H-250Z"),
        ("l1", "M-250 2640H250M-250 2780H250M-250 2920H250"),
        (
            "l2 pf",
            "M-200 60Q0 0 200 60L400 780L370 1380L230 1660V2440Q230 2540 140 2540H-140Q-230 2540-230 2440V1660"
            "L-370 1380L-400 780Z",
        ),
        ("l1", "M-300 560Q0 440 300 560M-420 1290Q0 1180 420 1290M-130 1480H130V2440H-130Z"),
    ),
)
# Which outline a body has, and its size as a kind: width and length in millimeters. own-judgement, as above.
_BODIES: dict[str, tuple[_Body, float, float, str]] = {
    "micro": (_CAR, 1.0, 0.66, "small car"),
    "hatch": (_CAR, 1.0, 0.92, "hatchback"),
    "sedan": (_SEDAN, 1.0, 1.05, "sedan"),
    "crossover": (_CAR, 1.0, 0.98, "crossover"),
    "suv": (_CAR, 1.04, 1.06, "SUV"),
    "pickup": (_PICKUP, 1.0, 1.0, "pickup"),
    "minivan": (_CAR, 1.06, 1.12, "minivan"),
    "van": (_VAN, 1.0, 1.0, "van"),
    "truck": (_TRUCK, 1.0, 1.0, "truck"),
    "bus": (_BUS, 1.0, 1.05, "bus"),
    "motorcycle": (_MOTORCYCLE, 1.0, 1.0, "motorcycle"),
    "side_by_side": (_SIDE_BY_SIDE, 1.0, 1.07, "side-by-side"),
    "snow_machine": (_SNOW_MACHINE, 1.0, 1.03, "snow machine"),
}
# The marks, in a box of 20 by 20 round its middle: four solid, then the same four open.
_SHAPES = (
    "M0-9A9 9 0 0 1 0 9A9 9 0 0 1 0-9Z",
    "M-8-8H8V8H-8Z",
    "M0-10L9.5 7.5H-9.5Z",
    "M-3.5-9H3.5V-3.5H9V3.5H3.5V9H-3.5V3.5H-9V-3.5H-3.5Z",
)
_LEFT: tuple[Place, ...] = ("left_front_fender", "left_side", "left_rear_fender")
_RIGHT: tuple[Place, ...] = ("right_front_fender", "right_side", "right_rear_fender", "under_seat")
_ALONG_X: tuple[Place, ...] = ("nose", "tail", "under_seat")


# ------------------------------------------------------------------------------------------------------------- words


def place_shares(port: VehiclePort) -> dict[Place, str]:
    """Return each place of a port, the likeliest first, with its share in words that add up: tenths, else hundredths.

    One place alone has all of them.
    """
    shares = _sums(port)
    ranked = sorted(shares, key=lambda at: -shares[at])
    if len(ranked) == 1:
        return {ranked[0]: "all"}
    tenths, hundredths = UNITS
    in_tenths = all(
        abs(tenths * share - round(tenths * share)) <= WHOLE_TENTHS and round(tenths * share)
        for share in shares.values()
    )
    unit = tenths if in_tenths else hundredths
    counts = _parts([shares[at] for at in ranked], unit)
    return {
        at: f"{count} in {unit}" if count else f"under 1 in {unit}" for at, count in zip(ranked, counts, strict=True)
    }


def place_words(port: VehiclePort) -> str:
    """Return where a port sits, the likeliest place first, and what helps to find it."""
    shares = place_shares(port)
    words = [PLACE_WORDS[at] + (f" ({share})" if len(shares) > 1 else "") for at, share in shares.items()]
    return " or ".join(words) + (f", {port.detail}" if port.detail else "")


def class_share_words(port: VehiclePort) -> str:
    """Return how many of a class have a port, in tenths; what is near none or all of them is not told as such."""
    if port.share >= ALL_SHARE:
        return "all of the class" if port.share == 1 else "nearly all of the class"
    return f"{'few' if port.share < FEW_SHARE else f'about {max(round(10 * port.share), 1)} in 10'} of the class"


def _sums(port: VehiclePort) -> dict[Place, float]:
    """Return the share at each place; a place named twice has the sum."""
    shares: dict[Place, float] = {}
    for place in port.places:
        shares[place.at] = shares.get(place.at, 0.0) + place.share
    return shares


def _parts(shares: Sequence[float], whole: int) -> list[int]:
    """Return shares as whole parts that add up to the whole: what is left over goes to the largest remainders."""
    counts = [math.floor(whole * share + 1e-9) for share in shares]
    left = whole - sum(counts)
    for index in sorted(range(len(shares)), key=lambda index: counts[index] - whole * shares[index])[: max(left, 0)]:
        counts[index] += 1
    return counts


# ----------------------------------------------------------------------------------------------------------- drawing


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A port as drawn: its number among the class's, its name, its share at each place as a number and in words."""

    number: int
    name: str
    shares: Mapping[Place, float]
    words: Mapping[Place, str]
    detail: str | None


@dataclass(frozen=True, slots=True)
class _Line:
    """A line of words beside a place; the first of an inlet has that inlet's mark before it."""

    text: str
    bold: bool = False
    number: int | None = None


def inlet_mark(number: int) -> str:
    """Return the mark of a class's inlet by its number, for a list beside the drawing; the words carry the meaning."""
    return f'<svg class="mk" aria-hidden="true" focusable="false" viewBox="-11 -11 22 22">{_shape(number)}</svg>'


def place_drawing(vehicle: VehicleClass, names: Mapping[str, str]) -> str:
    """Return a class from above, nose up, with a mark at every place of every inlet; `names` are the inlets' by id.

    A share is of the vehicles that have that inlet. Left and right are the driver's.
    """
    body, wide, long, word = _BODIES[vehicle.body]
    scale = min(LENGTH_EM / (long * body.length_mm), WIDTH_EM / (wide * body.width_mm))
    length_em, half_em = scale * long * body.length_mm, scale * wide * body.width_mm / 2
    ports = [
        _Drawn(number, names.get(port.inlet, port.inlet), _sums(port), place_shares(port), port.detail)
        for number, port in enumerate(vehicle.ports)
    ]
    at_place: dict[Place, list[_Drawn]] = {}
    for port in ports:
        for place in port.words:
            at_place.setdefault(place, []).append(port)
    several = len(ports) > 1
    labels = {place: _label(place, here, several) for place, here in at_place.items()}
    top = HEAD_EM + LINE_EM * len(labels.get("nose", ())) + 0.8
    spots = {
        place: (scale * wide * across, top + scale * long * back) for place, (across, back) in _places(body).items()
    }
    parts = [
        _text(-half_em - GAP_EM, 1.0, "driver’s left", "n", "e"),
        _text(0, 1.0, "FRONT", "n b", "m"),
        _text(half_em + GAP_EM, 1.0, "driver’s right", "n"),
        _lines(body.lines, body, half_em, top, length_em),
    ]
    if body.region is not None and "under_seat" in at_place:
        parts.append(_lines((("la ds", body.region),), body, half_em, top, length_em))
    bottom = top + length_em
    for sign, side in ((-1, _LEFT), (1, _RIGHT)):
        free = top - 0.4
        edge = sign * (half_em + GAP_EM)
        for place in sorted(set(side) & set(labels), key=lambda place: spots[place][1]):
            (x, y), label = spots[place], labels[place]
            start = max(free, y - LINE_EM * len(label) / 2)
            parts.append(_written(label, edge, start, sign, several))
            # Out of the body first, then to the words: a line along its edge would be taken for its own.
            turn = sign * (half_em + 0.1)
            end = min(max(y, start + LINE_EM / 2), start + LINE_EM * (len(label) - 0.5))
            parts.append(_leader(x, turn, y, y) + _leader(turn, edge - sign * 0.1, y, end))
            free = start + LINE_EM * len(label) + BLOCK_GAP_EM
        bottom = max(bottom, free - BLOCK_GAP_EM)
    if "nose" in labels:
        parts.append(_written(labels["nose"], 0, HEAD_EM, 0, several))
    if "tail" in labels:
        x, y = spots["tail"]
        parts.append(_leader(x, x, y, bottom + 0.5) + _written(labels["tail"], 0, bottom + 0.6, 0, several))
        bottom += 0.6 + LINE_EM * len(labels["tail"])
    for place, here in at_place.items():
        for index, port in enumerate(here):
            x, y = _aside(place, spots[place], index, len(here))
            parts.append(_mark(port.number, MARK_EM[0] + MARK_EM[1] * min(port.shares[place], 1.0), x, y, "at"))
    words = f"A {word} from above, front up; left and right are the driver’s. {' '.join(map(_told, ports))}"
    return _svg(vehicle.id, f"Where the port sits: {vehicle.name}", words, bottom + 0.6, "".join(parts))


def _told(port: _Drawn) -> str:
    where = ", ".join(
        PLACE_WORDS[at] + (f" {share}" if len(port.words) > 1 else "") for at, share in port.words.items()
    )
    return f"{port.name}: {where}{f', {port.detail}' if port.detail else ''}."


def _places(body: _Body) -> dict[Place, Point]:
    """Return every place of a body in millimeters right of its middle and back from its nose."""
    (front_x, front_y), (side_x, side_y), (rear_x, rear_y) = body.front_mm, body.side_mm, body.rear_mm
    return {
        "nose": (0.0, 40.0),
        "left_front_fender": (-front_x, front_y),
        "right_front_fender": (front_x, front_y),
        "left_side": (-side_x, side_y),
        "right_side": (side_x, side_y),
        "left_rear_fender": (-rear_x, rear_y),
        "right_rear_fender": (rear_x, rear_y),
        "tail": (0.0, body.length_mm - 30.0),
        "under_seat": body.seat_mm,
    }


def _label(place: Place, here: Iterable[_Drawn], several: bool) -> list[_Line]:
    """Return the lines beside a place: its words, then each inlet there with its share, named if there are several."""
    lines = [_Line(line, bold=True) for line in _wrapped(PLACE_WORDS[place])]
    for port in here:
        share = port.words[place]
        if several:  # `all` beside a name would be taken for the whole class
            share = port.name if len(port.words) == 1 else f"{port.name} {share}"
        rows = _wrapped(share)
        lines += [_Line(row, number=port.number if several and not index else None) for index, row in enumerate(rows)]
    return lines


def _written(label: Sequence[_Line], edge: float, top: float, sign: int, several: bool) -> str:
    """Return the lines of a label: away from the body on either side, under one another before and behind it."""
    anchor = {-1: "e", 0: "m", 1: ""}[sign]
    x, mark_x = edge + sign * (SIGN_EM if several else 0), edge + sign * SIGN_EM / 2
    if several and not sign:
        anchor, x, mark_x = "", -1.9, -2.4  # a mark stands before words whose width is not known
    parts = []
    for row, line in enumerate(label):
        y = top + LINE_EM * (row + 0.78)
        parts.append(_text(x, y, line.text, "b" if line.bold else "", anchor))
        if line.number is not None:
            parts.append(_mark(line.number, KEY_EM, mark_x, y - 0.35, "key"))
    return "".join(parts)


def _aside(place: Place, at: Point, index: int, count: int) -> Point:
    """Return where one of several marks at a place stands: beside one another along the edge of the body."""
    step = min(ASIDE_EM, SPREAD_EM / max(count - 1, 1))
    shift = step * (index - (count - 1) / 2)
    return (at[0] + shift, at[1]) if place in _ALONG_X else (at[0], at[1] + shift)


def _wrapped(words: str) -> list[str]:
    """Return words in lines that fit beside the body; a word that is too long for any is cut, an `in 10` kept whole."""
    lines = [""]
    for word in IN_UNITS.sub("\u00a0in\u00a0", words).split(" "):
        short = word if len(word) <= LETTERS else word[: LETTERS - 1] + "…"
        if lines[-1] and len(lines[-1]) + 1 + len(short) > LETTERS:
            lines.append("")
        lines[-1] = f"{lines[-1]} {short}".strip(" ")
    return lines


def _shape(number: int) -> str:
    """Return the mark of an inlet: four shapes, solid, then open."""
    style = "la pf" if number // len(_SHAPES) % 2 else "x"
    return f'<path class="{style}" d="{_SHAPES[number % len(_SHAPES)]}"/>'


def _mark(number: int, half: float, x: float, y: float, kind: str) -> str:
    """Return an inlet's mark round a point; `half` is half its width."""
    return (
        f'<svg class="{kind}" x="{_n(x - half)}em" y="{_n(y - half)}em" width="{_n(2 * half)}em" '
        f'height="{_n(2 * half)}em" viewBox="-11 -11 22 22">{_shape(number)}</svg>'
    )


def _lines(lines: Iterable[tuple[str, str]], body: _Body, half_em: float, top: float, length_em: float) -> str:
    """Return lines of a body, stretched to the size that it is drawn in."""
    paths = "".join(f'<path class="{style}" d="{path}"/>' for style, path in lines)
    return (
        f'<svg x="{_n(-half_em)}em" y="{_n(top)}em" width="{_n(2 * half_em)}em" height="{_n(length_em)}em" '
        f'viewBox="{_n(-body.width_mm / 2)} 0 {_n(body.width_mm)} {_n(body.length_mm)}" '
        f'preserveAspectRatio="none">{paths}</svg>'
    )


def _leader(x1: float, x2: float, y1: float, y2: float) -> str:
    return f'<line class="l1" x1="{_n(x1)}em" x2="{_n(x2)}em" y1="{_n(y1)}em" y2="{_n(y2)}em"/>'


def _text(x: float, y: float, text: str, size: str = "", anchor: str = "") -> str:
    """Return a text. Its place is in em of the drawing, so its size stands on the inner span alone."""
    outer = f' class="{anchor}"' if anchor else ""
    inner = f'<tspan class="{size}">{e(text)}</tspan>' if size else e(text)
    return f'<text{outer} x="{_n(x)}em" y="{_n(y)}em">{inner}</text>'


def _n(value: float) -> str:
    """Return a coordinate in as few characters as it needs."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _svg(key: str, title: str, description: str, height_em: float, body: str) -> str:
    """Return a drawing round the middle of the paper, with its title and description."""
    slug = f"place-{e(key)}"
    return (
        f'<svg class="d" role="img" aria-labelledby="{slug}-t {slug}-d" width="100%" height="{_n(height_em)}em">'
        f'<title id="{slug}-t">{e(title)}</title><desc id="{slug}-d">{e(description)}</desc>'
        f'<svg x="50%">{body}</svg></svg>'
    )
