"""How much cable a truck beside a vehicle needs, against a shortest path found by searching, and laws of the ground.

The search knows nothing of the formula: it joins whatever sees each other past the rectangle, and tries every order.
"""

import math
from itertools import pairwise, permutations
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import OutOfRangeError, QuantityError
from planner.reach import BODY_SIZES, DROP_AND_SLACK_M, USUAL_GAP_M, Side, reach_m, required_reach_m
from planner.records import PLACE_WORDS, VehicleClass

SIDES = get_args(Side)
bodies = st.sampled_from(sorted(BODY_SIZES))
places = st.sampled_from(sorted(PLACE_WORDS))
sides = st.sampled_from(SIDES)
gaps_m = st.floats(0, 30)
MIRRORED = {"left": "right", "right": "left", "front": "front", "behind": "behind"}
TURNED = {"front": "behind", "behind": "front", "left": "left", "right": "right"}


def mirrored(place):
    """Return the place on the other side of the vehicle."""
    first, _, rest = place.partition("_")
    return f"{MIRRORED[first]}_{rest}" if first in ("left", "right") else place


def turned(place):
    """Return the place at the other end of the vehicle."""
    other = {"nose": "tail", "tail": "nose", "front": "rear", "rear": "front"}
    return "_".join(other.get(word, word) for word in place.split("_"))


def port_at(body, place):
    """Return where a place lies, forward and to the left of the middle of the vehicle, as the docstring states it."""
    length_m, width_m = BODY_SIZES[body]
    ahead_m = {"nose": length_m / 2, "tail": -length_m / 2}.get(place)
    if ahead_m is not None:
        return ahead_m, 0.0
    to_the_left_m = width_m / 2 if place.startswith("left") else -width_m / 2
    from_middle_m = length_m / 2 - length_m / 5
    return (from_middle_m if "front" in place else -from_middle_m if "rear" in place else 0.0), to_the_left_m


def truck_at(body, side, gap_m):
    length_m, width_m = BODY_SIZES[body]
    return {
        "front": (length_m / 2 + gap_m, 0.0),
        "behind": (-length_m / 2 - gap_m, 0.0),
        "left": (0.0, width_m / 2 + gap_m),
        "right": (0.0, -width_m / 2 - gap_m),
    }[side]


def sees(one, other, length_m, width_m):
    """Return whether the straight line between two points stays out of the body: tried at 400 points of it."""
    for step in range(1, 400):
        share = step / 400
        ahead_m = one[0] + share * (other[0] - one[0])
        left_m = one[1] + share * (other[1] - one[1])
        if abs(ahead_m) < length_m / 2 - 1e-6 and abs(left_m) < width_m / 2 - 1e-6:
            return False
    return True


def searched_m(body, side, gap_m, target):
    """Return the shortest way from the truck to a point of the outline over any corners in any order."""
    length_m, width_m = BODY_SIZES[body]
    start = truck_at(body, side, gap_m)
    corners = [(ahead * length_m / 2, left * width_m / 2) for ahead in (1, -1) for left in (1, -1)]
    points = [start, target, *corners]
    open_ways = {
        (one, other): math.dist(one, other) for one in points for other in points if sees(one, other, length_m, width_m)
    }
    shortest_m = math.inf
    for count in range(len(corners)):
        for between in permutations(corners, count):
            stops = [start, *between, target]
            legs = list(pairwise(stops))
            if all(leg in open_ways for leg in legs):
                shortest_m = min(shortest_m, sum(open_ways[leg] for leg in legs))
    return shortest_m


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("place", sorted(set(PLACE_WORDS) - {"under_seat"}))
@pytest.mark.parametrize("body", ["micro", "sedan", "truck", "motorcycle"])
@pytest.mark.parametrize("gap_m", [0.0, 0.9144, 4.0])
def test_way_is_the_shortest_one_round_the_body(body, place, side, gap_m):
    expected_m = searched_m(body, side, gap_m, port_at(body, place))

    assert required_reach_m(body=body, place=place, side=side, gap_m=gap_m) == pytest.approx(expected_m, abs=1e-9)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("gap_m", [0.0, 2.0])
def test_port_under_the_seat_is_reached_over_the_middle_of_the_nearer_side(side, gap_m):
    width_m = BODY_SIZES["motorcycle"][1]
    to_a_side_m = min(searched_m("motorcycle", side, gap_m, (0.0, left * width_m / 2)) for left in (1, -1))

    found_m = required_reach_m(body="motorcycle", place="under_seat", side=side, gap_m=gap_m)

    assert found_m == pytest.approx(to_a_side_m + width_m / 2, abs=1e-9)


@given(bodies, sides, gaps_m)
def test_port_in_the_middle_of_the_trucks_side_takes_the_gap_alone(body, side, gap_m):
    facing = {"front": "nose", "behind": "tail", "left": "left_side", "right": "right_side"}[side]

    assert required_reach_m(body=body, place=facing, side=side, gap_m=gap_m) == pytest.approx(gap_m)


@given(bodies, places, sides, gaps_m)
def test_mirrored_vehicle_takes_the_same(body, place, side, gap_m):
    as_it_is_m = required_reach_m(body=body, place=place, side=side, gap_m=gap_m)

    other_m = required_reach_m(body=body, place=mirrored(place), side=MIRRORED[side], gap_m=gap_m)
    assert as_it_is_m == pytest.approx(other_m)


@given(bodies, places, sides, gaps_m)
def test_vehicle_the_other_way_round_takes_the_same(body, place, side, gap_m):
    as_it_is_m = required_reach_m(body=body, place=place, side=side, gap_m=gap_m)

    other_m = required_reach_m(body=body, place=turned(place), side=TURNED[side], gap_m=gap_m)
    assert as_it_is_m == pytest.approx(other_m)


@given(bodies, places, sides, gaps_m)
def test_way_is_no_shorter_than_the_straight_line_and_no_longer_than_once_half_round(body, place, side, gap_m):
    length_m, width_m = BODY_SIZES[body]
    target = (0.0, 0.0) if place == "under_seat" else port_at(body, place)

    way_m = required_reach_m(body=body, place=place, side=side, gap_m=gap_m)

    inside_m = width_m / 2 if place == "under_seat" else 0.0
    assert way_m >= math.dist(truck_at(body, side, gap_m), target) - 1e-9
    assert way_m <= gap_m + length_m + width_m + inside_m + 1e-9


@given(bodies, places, sides, gaps_m, st.floats(0, 10))
def test_backing_off_costs_something_and_never_more_than_the_distance(body, place, side, gap_m, more_m):
    near_m = required_reach_m(body=body, place=place, side=side, gap_m=gap_m)

    far_m = required_reach_m(body=body, place=place, side=side, gap_m=gap_m + more_m)
    assert near_m - 1e-9 <= far_m <= near_m + more_m + 1e-9


@settings(max_examples=200)
@given(bodies, places, places, sides, gaps_m)
def test_two_ports_differ_by_no_more_than_the_way_between_them(body, one, other, side, gap_m):
    """The triangle: whoever is at one port walks on along half the outline at most, and half the width into a seat."""
    length_m, width_m = BODY_SIZES[body]
    one_m, other_m = (required_reach_m(body=body, place=each, side=side, gap_m=gap_m) for each in (one, other))

    assert abs(one_m - other_m) <= length_m + width_m + width_m / 2 + 1e-9


@pytest.mark.parametrize("body", sorted(BODY_SIZES))
def test_body_is_longer_than_it_is_wide_and_fits_a_lane(body):
    length_m, width_m = BODY_SIZES[body]

    assert 2 < length_m <= 9
    assert 0.7 <= width_m < length_m
    assert width_m <= 2.6  # 23 USC 127, 49 USC 31113: 102 in, without mirrors


def test_every_body_of_a_class_has_its_size():
    assert set(BODY_SIZES) == set(get_args(VehicleClass.model_fields["body"].annotation))


@pytest.mark.parametrize("place", sorted(PLACE_WORDS))
def test_every_place_of_a_port_is_found(place):
    assert required_reach_m(body="sedan", place=place, side="front", gap_m=1.0) >= 1.0


def test_reach_is_the_cable_less_drop_and_slack_and_never_negative():
    assert DROP_AND_SLACK_M == 1.0
    assert [reach_m(7.6), reach_m(1.0), reach_m(0.4), reach_m(0.0)] == pytest.approx([6.6, 0.0, 0.0, 0.0])


def test_usual_gap_is_three_feet():
    assert pytest.approx(3 * 0.3048) == USUAL_GAP_M  # exact: international foot


def test_gap_below_nothing_is_refused():
    with pytest.raises(OutOfRangeError) as refused:
        required_reach_m(body="sedan", place="nose", side="front", gap_m=-0.5)

    assert str(refused.value) == "gap_m is -0.5 m, but must lie between 0 and inf m"


def test_cable_below_nothing_is_refused():
    with pytest.raises(OutOfRangeError) as refused:
        reach_m(-1.0)

    assert str(refused.value) == "cable_length_m is -1 m, but must lie between 0 and inf m"


@pytest.mark.parametrize("length_m", [math.nan, -math.inf])
def test_length_that_is_no_number_is_refused(length_m):
    with pytest.raises(OutOfRangeError, match="must lie between 0 and inf m"):
        reach_m(length_m)


def test_unknown_side_is_refused_with_those_that_are_known():
    with pytest.raises(QuantityError) as refused:
        required_reach_m(body="sedan", place="nose", side="above", gap_m=1.0)

    assert str(refused.value) == ("side: expected one of front, behind, left, right, got 'above'; use one of these")


@pytest.mark.parametrize(("name", "wrong"), [("body", {"body": "tricycle"}), ("place", {"place": "roof"})])
def test_unknown_body_or_place_is_refused(name, wrong):
    with pytest.raises(QuantityError, match=f"^{name}: expected one of .*; use one of these$"):
        required_reach_m(**{"body": "sedan", "place": "nose", "side": "left", "gap_m": 1.0, **wrong})
