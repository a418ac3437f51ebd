"""How much cable it takes from a truck beside a vehicle to the port: plain geometry on the ground."""

import math
from collections.abc import Mapping
from typing import Literal, TypeVar, get_args

from planner.errors import OutOfRangeError, QuantityError

__all__ = ["BODY_SIZES", "DROP_AND_SLACK_M", "USUAL_GAP_M", "Side", "reach_m", "required_reach_m"]

T = TypeVar("T")
Side = Literal["front", "behind", "left", "right"]

# own-judgement: length and width in meters of an ordinary vehicle of each body, without mirrors. A motorcycle's width
# is that of its handlebar.
BODY_SIZES: dict[str, tuple[float, float]] = {
    "micro": (2.8, 1.6),
    "hatch": (4.2, 1.8),
    "sedan": (4.8, 1.85),
    "crossover": (4.6, 1.85),
    "suv": (5.0, 2.0),
    "pickup": (5.9, 2.05),
    "minivan": (5.2, 2.0),
    "van": (6.0, 2.05),
    "truck": (8.0, 2.4),
    "bus": (9.0, 2.4),
    "motorcycle": (2.2, 0.8),
    "side_by_side": (3.2, 1.6),
    "snow_machine": (3.2, 1.2),
}
DROP_AND_SLACK_M = 1.0  # own-judgement: from the holder to the ground, up to the port, and no pull on either end
USUAL_GAP_M = 0.9144  # own-judgement: 3 ft, room to walk between the truck and the vehicle
FENDER_SHARE = 0.2  # own-judgement: a fender's port lies a fifth of the length from its end, about over the wheel

# Sides in the order in which a person walks round the outline, seen from above against the clock.
_ROUND: tuple[Side, ...] = ("front", "left", "behind", "right")
# Each place: the side that it lies on, and where along it as a share from the corner at which the walk meets it first.
_ON_OUTLINE: dict[str, tuple[Side, float]] = {
    "nose": ("front", 0.5),
    "left_front_fender": ("left", FENDER_SHARE),
    "left_side": ("left", 0.5),
    "left_rear_fender": ("left", 1 - FENDER_SHARE),
    "tail": ("behind", 0.5),
    "right_rear_fender": ("right", FENDER_SHARE),
    "right_side": ("right", 0.5),
    "right_front_fender": ("right", 1 - FENDER_SHARE),
}
_INSIDE = "under_seat"


def reach_m(cable_length_m: float) -> float:
    """Return how far along the ground a cable reaches.

    R = max(L - 1, 0): a meter goes into the drop at both ends and into slack.

    Parameters
    ----------
    cable_length_m : float
        Length L of the cable, 0 or more. [m]

    Returns
    -------
    float
        Reach R along the ground. [m]

    Raises
    ------
    OutOfRangeError
        If the length is negative.

    Examples
    --------
    >>> [reach_m(cable_length_m) for cable_length_m in (7.5, 1.0, 0.5)]
    [6.5, 0.0, 0.0]

    References
    ----------
    own-judgement, the meter of drop and slack.
    """
    _refuse_negative("cable_length_m", cable_length_m)
    return max(cable_length_m - DROP_AND_SLACK_M, 0.0)


def required_reach_m(*, body: str, place: str, side: Side, gap_m: float) -> float:
    """Return the shortest way along the ground from a truck beside a vehicle to its port.

    The body is a rectangle of length l and width w (`BODY_SIZES`), and the truck a point at gap g from the middle of
    one side, of length s. A port on that side at u from the middle: D = sqrt(g^2 + u^2). Any other: the shorter of
    the two ways round, D = sqrt(g^2 + (s/2)^2) to a corner, then along the outline. On the outline lie: `nose` and
    `tail` in the middle of the front and of the rear; `left_side` and `right_side` in the middle of that side; a
    fender's port on that side, l/5 from the nose or the tail; `under_seat` w/2 inside the middle of either side, so
    that D is that of the nearer side with w/2 on top. The ground is flat and the way is free but for the vehicle.

    Parameters
    ----------
    body : str
        Body of the vehicle, a key of `BODY_SIZES`. [unitless]
    place : str
        Place of the port on it, as in `records.PLACE_WORDS`. [unitless]
    side : Literal['front', 'behind', 'left', 'right']
        Side of the vehicle where the truck stands; left is the driver's left, looking forward. [unitless]
    gap_m : float
        Gap g between the truck and the middle of that side, 0 or more. [m]

    Returns
    -------
    float
        Way D along the ground. [m]

    Raises
    ------
    OutOfRangeError
        If the gap is negative.
    QuantityError
        If body, place or side is none of the known ones.

    Examples
    --------
    >>> required_reach_m(body="suv", place="nose", side="front", gap_m=1.5)
    1.5
    >>> required_reach_m(body="suv", place="left_side", side="front", gap_m=0.0)
    3.5
    >>> required_reach_m(body="suv", place="tail", side="front", gap_m=0.0)
    7.0

    References
    ----------
    own-judgement, sizes of the bodies and places of the ports; own-derivation, the way round a rectangle.
    """
    length_m, width_m = _known("body", body, BODY_SIZES)
    _known("side", side, dict.fromkeys(get_args(Side)))
    _refuse_negative("gap_m", gap_m)
    if place == _INSIDE:
        nearer_m = min(
            required_reach_m(body=body, place=middle, side=side, gap_m=gap_m) for middle in ("left_side", "right_side")
        )
        return nearer_m + width_m / 2
    on, share = _known("place", place, _ON_OUTLINE | {_INSIDE: ("left", 0.5)})
    lengths_m = {"front": width_m, "left": length_m, "behind": width_m, "right": length_m}
    half_m = lengths_m[side] / 2
    if on == side:
        return math.hypot(gap_m, (share - 0.5) * lengths_m[on])
    # Round against the clock from the last corner of the truck's side; with the clock it is the rest of the outline.
    between = (_ROUND.index(on) - _ROUND.index(side)) % len(_ROUND)
    passed = [_ROUND[(_ROUND.index(side) + step) % len(_ROUND)] for step in range(1, between)]
    along_m = sum(lengths_m[each] for each in passed) + share * lengths_m[on]
    rest_m = 2 * (length_m + width_m) - lengths_m[side] - along_m
    return math.hypot(gap_m, half_m) + min(along_m, rest_m)


def _known(name: str, given: str, known: Mapping[str, T]) -> T:
    if given not in known:
        allowed = f"one of {', '.join(known)}"
        raise QuantityError(name=name, given=given, expected=allowed, next_step="use one of these")
    return known[given]


def _refuse_negative(name: str, value_m: float) -> None:
    if not value_m >= 0:
        raise OutOfRangeError(name=name, value=value_m, low=0, high=math.inf, unit="m")
