"""The fixed points at which uncertain inputs are tried: 1,024 of a Sobol sequence, the same ones every time.

Each input has a column of its own, so that causes which act on several results (a larger class, colder weather) act
on all of them at the same point. Order statistics read the results; nothing is fitted.
"""

import functools
import math
from collections.abc import Sequence
from statistics import NormalDist

__all__ = ["COUNT", "INPUTS", "between", "column", "normal_column", "order_statistic", "share_up_to", "together"]

BITS = 10
COUNT = 2**BITS
# What is uncertain, by the dimension of the sequence that it takes.
INPUTS = (
    "size of the battery in the class",
    "age of the battery",
    "weather",
    "driver, traffic and terrain",
    "consumption of the class",
    "cabin heat on the road",
    "volts under load",
    "margin under the pilot",
    "onboard charger of the class",
    "losses while charging",
    "cabin heat while charging",
    "how cold the pack is",
    "what the dash says",
    "hand-shake",
    "pace of the crew",
    "heater of the pack",
)
# joe-kuo-2008: degree, coefficients and first direction numbers, dimension 2 on; dimension 1 is the radical inverse.
DIRECTIONS: tuple[tuple[int, int, tuple[int, ...]], ...] = (
    (1, 0, (1,)),
    (2, 1, (1, 3)),
    (3, 1, (1, 3, 1)),
    (3, 2, (1, 1, 1)),
    (4, 1, (1, 1, 3, 3)),
    (4, 4, (1, 3, 5, 13)),
    (5, 2, (1, 1, 5, 5, 17)),
    (5, 4, (1, 1, 5, 5, 5)),
    (5, 7, (1, 1, 7, 11, 19)),
    (5, 11, (1, 1, 5, 1, 1)),
    (5, 13, (1, 1, 1, 3, 11)),
    (5, 14, (1, 3, 5, 5, 31)),
    (6, 1, (1, 3, 3, 9, 7, 49)),
    (6, 13, (1, 1, 1, 15, 21, 21)),
    (6, 16, (1, 3, 1, 13, 27, 49)),
)
NORMAL = NormalDist()


@functools.cache
def column(name: str) -> tuple[float, ...]:
    """Return the points of one input: each of 1,024 equal strata of 0 to 1 is met once, at its middle."""
    return tuple((point + 0.5) / COUNT for point in _sobol(INPUTS.index(name)))


@functools.cache
def normal_column(name: str) -> tuple[float, ...]:
    """Return the points of one input as standard normal deviates."""
    return tuple(NORMAL.inv_cdf(value) for value in column(name))


@functools.cache
def together(name: str, other: str, correlation: float) -> tuple[float, ...]:
    """Return the points of an input that partly goes with another one: 0 to 1, by a common normal factor.

    u = Phi(r z_other + sqrt(1 - r^2) z_own)
    """
    own = math.sqrt(1 - correlation * correlation)
    return tuple(
        NORMAL.cdf(correlation * common + own * alone)
        for common, alone in zip(normal_column(other), normal_column(name), strict=True)
    )


def between(low: float, typical: float, high: float, share: float) -> float:
    """Return the value at a share of all cases: half of them lie evenly below the typical one, half evenly above.

    >>> between(0.0, 2.0, 10.0, 0.25), between(0.0, 2.0, 10.0, 0.75)
    (1.0, 6.0)
    """
    if share < 0.5:
        return low + (typical - low) * 2 * share
    return typical + (high - typical) * (2 * share - 1)


def _sobol(dimension: int) -> list[int]:
    """Return the integers of one dimension of the sequence, by Gray code."""
    if dimension == 0:
        directions = [1 << (BITS - 1 - bit) for bit in range(BITS)]
    else:
        degree, coefficients, first = DIRECTIONS[dimension - 1]
        numbers = list(first)
        for place in range(degree, BITS):
            number = numbers[place - degree] ^ (numbers[place - degree] << degree)
            for step in range(1, degree):
                if coefficients >> (degree - 1 - step) & 1:
                    number ^= numbers[place - step] << step
            numbers.append(number)
        directions = [numbers[bit] << (BITS - 1 - bit) for bit in range(BITS)]
    # The Gray code of the upper half of each doubling is that of the lower half in reverse, with one bit more.
    points = [0]
    for direction in directions[:BITS]:
        points += [direction ^ point for point in reversed(points)]
    return points


def order_statistic(ordered: Sequence[float], share: float) -> float:
    """Return the smallest value that this share of a rising list does not pass. Never interpolated.

    >>> order_statistic([1.0, 2.0, 3.0, 4.0], 0.5)
    2.0
    """
    return ordered[max(math.ceil(share * len(ordered) - 1e-9) - 1, 0)]


def share_up_to(values: Sequence[float], most: float) -> float:
    """Return the share of values that are at most so much.

    >>> share_up_to([1.0, 2.0, 3.0, 4.0], 3)
    0.75
    """
    return sum(value <= most for value in values) / len(values)
