"""The drawing of a path: connector from the side, adapter with its two ends, port face on, arrows between.

The pieces keep their size and the gaps stretch; connector and adapter are drawn by one scale, the port larger. A way
that is refused has its arrow torn where it fails. What a piece is and what to do with it stands below it.
"""

from collections.abc import Iterable, Sequence

from planner.coupler_records import Face, Outline
from planner.mating import Kept
from planner.publish.coupler_drawings import port_icon
from planner.publish.markup import e, name
from planner.records import Adapter, Connector, Dataset, Inlet

__all__ = ["path_drawing"]

Point = tuple[float, float]
Lines = Sequence[tuple[str, str]]  # style and path

EM_PER_MM = 0.031
AXIS_EM = 2.4  # height of the line along which the pieces are joined
HEIGHT_EM = 5.5
LID_EM = 4.4  # width and height of what is drawn round a port
FACE_EM = 3.7
ICON_MARGIN = 1.06  # what `port_icon` leaves round a face
RING_MM = 3.0  # between contacts and the line round them
SLEEVE_MM, SOCKET_MM, NECK_MM = 6.0, 36.0, 22.0  # own-judgement: how an adapter of its kind looks, not a measured one
NOSE_MM = (34.0, 44.0)  # length and height of an end whose face is not on record
KEPT_DO: dict[Kept | None, str] = {
    "on_board": "sign it out",
    "at_depot": "from the depot: sign it out",
    "customers": "the customer’s own: dry, whole, label readable",
    None: "sign it out",
}
FIRST_TORN = frozenset({"connector_dc_only", "adapter_takes_another_connector"})
ARROW = "M-9 0H8M1-6L8 0 1 6"
STUMPS, TEAR = "M-19 0H-7M4 0H18M11-6L18 0 11 6", "M-4-11L-8-3-3 2-7 11M5-11L1-3 6 2 2 11"


def path_drawing(
    dataset: Dataset,
    connector: Connector,
    adapter: Adapter | None,
    inlet: Inlet,
    *,
    key: str,
    kept: Kept | None = None,
    code: str | None = None,
) -> str:
    """Return a way from our cable into a port, drawn, with a caption of two lines under each piece.

    `code` says why the way is refused, None where it is open; `kept` where the adapter is; `key` is unique on a page.
    """
    pieces = [_connector(dataset, connector)]
    if adapter is not None:
        pieces.append(_adapter(dataset, adapter))
    end = dataset.connectors[adapter.becomes] if adapter is not None else connector
    face = dataset.faces.get(inlet.id)
    torn = None if code is None else (0 if adapter is None or code in FIRST_TORN else 1)
    body = [_anchored("0", pieces[0], 0.0)]
    if adapter is None:
        body.append(_arrow("50%", (pieces[0].width_em - LID_EM) / 2, torn == 0))
    else:
        width = pieces[1].width_em
        body.append(_anchored("50%", pieces[1], -width / 2))
        body.append(_arrow("25%", pieces[0].width_em / 2 - width / 4, torn == 0))
        body.append(_arrow("75%", width / 4 - LID_EM / 2, torn == 1))
    body.append(_port(face, _met(dataset, end, face) if inlet.ac_part and code is None else ""))
    captions = _captions(connector, adapter, inlet, kept, refused=code is not None)
    told = "; ".join(f"{what}, {do}" for what, do in captions)
    if torn is not None:
        told += f". Refused between {captions[torn][0]} and {captions[torn + 1][0]}"
    slug = "path-" + "".join(letter if letter.isalnum() else "-" for letter in key.lower())
    title = ("" if torn is None else "Refused: ") + " into ".join(what for what, _ in captions)
    svg = (
        f'<svg class="d" role="img" aria-labelledby="{slug}-t {slug}-d" width="100%" height="{_n(HEIGHT_EM)}em">'
        f'<title id="{slug}-t">{e(title)}</title>'
        f'<desc id="{slug}-d">{e(told)}. Not to scale.</desc>{"".join(body)}</svg>'
    )
    below = "".join(f"<li><b>{name(what)}</b><br>{name(do)}</li>" for what, do in captions)
    return f'<div class="pth">{svg}<ol>{below}</ol></div>'


def _captions(
    connector: Connector, adapter: Adapter | None, inlet: Inlet, kept: Kept | None, *, refused: bool
) -> list[tuple[str, str]]:
    """Return what each piece is and what to do with it."""
    if refused:
        middle = [(adapter.name, "not this way")] if adapter is not None else []
        return [(connector.name, "our cable"), *middle, (inlet.name, "do not force it")]
    into = "into the adapter first" if adapter is not None else "push it straight home"
    middle = [(adapter.name, KEPT_DO[kept])] if adapter is not None else []
    part = f"{inlet.ac_part}; " if inlet.ac_part else ""
    return [(connector.name, f"our cable: {into}"), *middle, (inlet.name, f"{part}wait for the latch")]


# ------------------------------------------------------------------------------------------------------------ pieces


class _Piece:
    """Lines in millimeters, right and down of the point on the axis where they are joined, with their extent."""

    def __init__(self, lines: Lines, left_mm: float, right_mm: float) -> None:
        self.lines, self.left_mm, self.right_mm = lines, left_mm, right_mm

    @property
    def width_em(self) -> float:
        """Return its width as drawn."""
        return (self.right_mm - self.left_mm) * EM_PER_MM


def _connector(dataset: Dataset, connector: Connector) -> _Piece:
    """Return a connector from the side, what goes in to the right, its cable to the left."""
    face = dataset.faces.get(connector.mates)
    if face is None or not face.side:
        return _Piece([("l2 pf", "M0-14H90V14H0Z"), ("l2 pf", "M90-22H130V22H90Z")], 0, 130)
    lines = [("l2 pf", _path(_turned(line))) for line in face.side]
    xs = [-(line.center_mm[0] + x) for line in face.side for x, _ in line.corners_mm]
    xs += [
        -line.center_mm[0] + sign * line.diameter_mm / 2 for line in face.side if line.diameter_mm for sign in (-1, 1)
    ]
    return _Piece(lines, min(xs), max(xs))


def _adapter(dataset: Dataset, adapter: Adapter) -> _Piece:
    """Return an adapter from the side: to the left a socket for what it takes, to the right its other end."""
    _, taken = _nose(dataset, adapter.takes)
    length, (low, high) = _nose(dataset, adapter.becomes)
    bottom, top = taken[0] - SLEEVE_MM, taken[1] + SLEEVE_MM
    lines = [
        ("l2 pf", f"M0 {_n(-top)}H{_n(SOCKET_MM)}V{_n(-bottom)}H0Z"),
        ("l1 ds", f"M0 {_n(-taken[1])}H{_n(SOCKET_MM - 5)}V{_n(-taken[0])}H0"),
        (
            "l2 pf",
            f"M{_n(SOCKET_MM)} {_n(-top)}L{_n(SOCKET_MM + NECK_MM)} {_n(-high - 3)}V{_n(-low + 3)}"
            f"L{_n(SOCKET_MM)} {_n(-bottom)}Z",
        ),
        ("l2 pf", f"M{_n(SOCKET_MM + NECK_MM)} {_n(-high)}h{_n(length)}V{_n(-low)}h{_n(-length)}Z"),
    ]
    return _Piece(lines, 0, SOCKET_MM + NECK_MM + length)


def _nose(dataset: Dataset, connector_id: str) -> tuple[float, Point]:
    """Return how long the end of a connector is that goes in, and how far down and up of the axis it reaches."""
    face = dataset.faces.get(dataset.connectors[connector_id].mates)
    corners = [
        (line.center_mm[0] + x, line.center_mm[1] + y)
        for line in (face.side if face is not None else ())
        if line.part == "edge"
        for x, y in line.corners_mm
    ]
    if not corners:
        length, height = NOSE_MM
        return length, (-height / 2, height / 2)
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return max(xs) - min(xs), (min(ys), max(ys))


def _port(face: Face | None, met: str) -> str:
    """Return a port face on behind its open lid; an empty lid where the face is not on record."""
    lid = (
        '<svg width="100%" height="100%" viewBox="0 0 100 100"><path class="l1" d="M14 2H86Q98 2 98 14V86Q98 98 86 '
        '98H14Q2 98 2 86V14Q2 2 14 2ZM2 34H-6V66H2"/></svg>'
    )
    inside = ""
    if face is not None:
        at = (LID_EM - FACE_EM) / 2
        inside = (
            f'<svg class="fc" x="{_n(at)}em" y="{_n(at)}em" width="{_n(FACE_EM)}em" height="{_n(FACE_EM)}em">'
            f"{port_icon(face)}{met}</svg>"
        )
    top = AXIS_EM - LID_EM / 2
    return (
        f'<svg x="100%"><svg x="{_n(-LID_EM)}em" y="{_n(top)}em" width="{_n(LID_EM)}em" height="{_n(LID_EM)}em">'
        f"{lid}{inside}</svg></svg>"
    )


def _met(dataset: Dataset, connector: Connector, face: Face | None) -> str:
    """Return a line round the contacts of a port that a connector meets, where those are not all of them."""
    own = dataset.faces.get(connector.mates)
    if own is None or face is None:
        return ""
    roles = {role for contact in own.contacts for role in contact.roles} - set(connector.left_out)
    met = [contact for contact in face.contacts if roles & set(contact.roles)]
    if not met or len(met) == len(face.contacts):
        return ""
    walls = [(contact.at_mm, max(contact.sleeve_mm or 0.0, contact.diameter_mm) / 2 + RING_MM) for contact in met]
    left, right = min(x - wall for (x, _), wall in walls), max(x + wall for (x, _), wall in walls)
    low, high = min(y - wall for (_, y), wall in walls), max(y + wall for (_, y), wall in walls)
    across = face.bounds_mm[0] + face.bounds_mm[1]
    up = face.bounds_mm[2] + face.bounds_mm[3]
    half = ICON_MARGIN * max(face.size_mm) / 2
    return (
        f'<svg width="100%" height="100%" viewBox="{_n(across / 2 - half)} {_n(-up / 2 - half)} {_n(2 * half)} '
        f'{_n(2 * half)}"><rect class="la" x="{_n(left)}" y="{_n(-high)}" width="{_n(right - left)}" '
        f'height="{_n(high - low)}" rx="{_n(min(right - left, high - low) / 3)}"/></svg>'
    )


def _anchored(x: str, piece: _Piece, shift_em: float) -> str:
    """Return a piece with its left end so far from a place in per cent, its axis on the axis of all."""
    inside = "".join(f'<path class="{style}" d="{path}"/>' for style, path in piece.lines)
    high = HEIGHT_EM / EM_PER_MM
    return (
        f'<svg x="{x}"><svg x="{_n(shift_em)}em" width="{_n(piece.width_em)}em" height="{_n(HEIGHT_EM)}em" '
        f'viewBox="{_n(piece.left_mm)} {_n(-AXIS_EM / EM_PER_MM)} {_n(piece.right_mm - piece.left_mm)} {_n(high)}">'
        f"{inside}</svg></svg>"
    )


def _arrow(x: str, shift_em: float, torn: bool) -> str:
    """Return an arrow; torn, it is two stumps with ragged ends under the sign of a no."""
    if not torn:
        return (
            f'<svg x="{x}"><svg x="{_n(shift_em - 0.65)}em" y="{_n(AXIS_EM - 0.8)}em" width="1.3em" height="1.6em" '
            f'viewBox="-11 -13 22 26"><path class="la" d="{ARROW}"/></svg></svg>'
        )
    return (
        f'<svg x="{x}"><svg x="{_n(shift_em - 1.2)}em" y="{_n(AXIS_EM - 0.8)}em" width="2.4em" height="1.6em" '
        f'viewBox="-20 -13 40 26"><path class="l3" d="{STUMPS}"/><path class="l2" d="{TEAR}"/></svg>'
        f'<svg x="{_n(shift_em - 0.65)}em" y="{_n(AXIS_EM - 2.3)}em" width="1.3em" height="1.3em">'
        '<use href="#no"/></svg></svg>'
    )


# ------------------------------------------------------------------------------------------------------------- lines


def _turned(line: Outline) -> Outline:
    """Return a line with left and right changed over."""
    x, y = line.center_mm
    return line.model_copy(
        update={"center_mm": (-x, y), "corners_mm": tuple((-across, up) for across, up in line.corners_mm)}
    )


def _path(line: Outline) -> str:
    """Return a closed line on paper, where y runs down; its corners are rounded off."""
    x, y = line.center_mm
    if line.diameter_mm is not None:
        radius = _n(line.diameter_mm / 2)
        return (
            f"M{_n(x - line.diameter_mm / 2)} {_n(-y)}a{radius} {radius} 0 1 1 {_n(line.diameter_mm)} 0"
            f"a{radius} {radius} 0 1 1 {_n(-line.diameter_mm)} 0Z"
        )
    corners = [(x + across, -(y + up)) for across, up in line.corners_mm]
    steps: list[str] = []
    for before, here, after in zip(corners[-1:] + corners[:-1], corners, corners[1:] + corners[:1], strict=True):
        start, end = _toward(here, before, line.rounding_mm), _toward(here, after, line.rounding_mm)
        steps.append(f"{'L' if steps else 'M'}{_at(start)}Q{_at(here)} {_at(end)}")
    return "".join(steps) + "Z"


def _toward(here: Point, other: Point, reach: float) -> Point:
    """Return the point a little way from one corner to the next, half of it at most."""
    length = ((other[0] - here[0]) ** 2 + (other[1] - here[1]) ** 2) ** 0.5
    part = min(reach / length, 0.5) if length else 0.0
    return here[0] + part * (other[0] - here[0]), here[1] + part * (other[1] - here[1])


def _at(point: Iterable[float]) -> str:
    return " ".join(_n(value) for value in point)


def _n(value: float) -> str:
    """Return a coordinate in as few characters as it needs."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text
