"""Circuits: protection, continuous load, what a conductor may carry, and the volts it costs.

Published tables are data; these functions take their values as plain numbers.
"""

import math
from collections.abc import Sequence

from planner.errors import OutOfRangeError

__all__ = [
    "AMPACITY_BASE_C",
    "CONTINUOUS_LOAD_FACTOR",
    "ambient_correction",
    "conductor_continuous_limit_a",
    "conductor_temperature_c",
    "continuous_limit_a",
    "largest_protecting_device_a",
    "resistance_at_ohm_per_km",
    "smallest_overcurrent_device_a",
    "voltage_drop_one_phase_v",
    "voltage_drop_three_phase_v",
]

CONTINUOUS_LOAD_FACTOR = 1.25  # nec-2017, 210.20(A) and 625.41: loads of three hours or more
AMPACITY_BASE_C = 30.0  # nec-2017, Table 310.15(B)(16) and Table 400.5(A)(1): ambient the tables are made for
RESISTANCE_BASE_C = 75.0  # nec-2017, chapter 9 Table 8
LARGEST_NEXT_SIZE_A = 800.0  # nec-2017, 240.4(B)(3)


def continuous_limit_a(*, rating_a: float, listed_for_full_rating: bool) -> float:
    """Return the continuous current that an overcurrent device, receptacle or plug may carry.

    I = rating / 1.25, or the whole rating where the assembly is listed for continuous operation at 100 %.

    Parameters
    ----------
    rating_a : float
        What is marked on the device. [A]
    listed_for_full_rating : bool
        True only where the listing says so; a plain breaker in a generator's panel is not. [unitless]

    Returns
    -------
    float
        Largest continuous current. [A]

    Examples
    --------
    >>> continuous_limit_a(rating_a=50, listed_for_full_rating=False)
    40.0

    References
    ----------
    nec-2017, 210.20(A), 210.21(B)(2) and 625.41.
    """
    return rating_a if listed_for_full_rating else rating_a / CONTINUOUS_LOAD_FACTOR


def smallest_overcurrent_device_a(*, continuous_load_a: float, standard_ratings_a: Sequence[float]) -> float:
    """Return the smallest standard overcurrent device for a continuous load.

    Smallest rating >= 1.25 I.

    Parameters
    ----------
    continuous_load_a : float
        Largest continuous current I of the equipment. [A]
    standard_ratings_a : Sequence[float]
        Standard ratings, rising. [A]

    Returns
    -------
    float
        Rating. [A]

    Raises
    ------
    OutOfRangeError
        If the load needs more than the largest standard rating.

    Examples
    --------
    >>> smallest_overcurrent_device_a(continuous_load_a=33, standard_ratings_a=[15, 20, 25, 30, 35, 40, 45, 50, 60])
    45

    References
    ----------
    nec-2017, 625.41 and 240.6(A).
    """
    needed_a = CONTINUOUS_LOAD_FACTOR * continuous_load_a
    for rating_a in standard_ratings_a:
        if rating_a >= needed_a:
            return rating_a
    raise OutOfRangeError(
        name="continuous_load_a",
        value=continuous_load_a,
        low=0,
        high=max(standard_ratings_a, default=0) / CONTINUOUS_LOAD_FACTOR,
        unit="A",
    )


def ambient_correction(*, ambient_c: float, conductor_rated_c: float) -> float:
    """Return the ampacity correction for air other than 30 C, by the equation behind the printed factors.

    f = sqrt((Tc - Ta) / (Tc - 30)). The planner reads the printed table; this is its independent law.

    Parameters
    ----------
    ambient_c : float
        Air temperature Ta, below Tc. [C]
    conductor_rated_c : float
        Temperature rating Tc of the conductor, above 30. [C]

    Returns
    -------
    float
        Factor on the 30 C ampacity. [unitless]

    Raises
    ------
    OutOfRangeError
        If the air is not cooler than the conductor's rating.

    Examples
    --------
    >>> round(ambient_correction(ambient_c=40, conductor_rated_c=75), 4)
    0.8819

    References
    ----------
    nec-2017, 310.15(B)(2), equation 310.15(B)(2).
    """
    if ambient_c >= conductor_rated_c:
        raise OutOfRangeError(name="ambient_c", value=ambient_c, low=-60, high=conductor_rated_c, unit="C")
    return math.sqrt((conductor_rated_c - ambient_c) / (conductor_rated_c - AMPACITY_BASE_C))


def conductor_continuous_limit_a(*, ampacity_terminations_a: float, ampacity_corrected_a: float) -> float:
    """Return the continuous current of building wire or field-made cord.

    I = min(0.8 x ampacity in the column of the terminations before correction, corrected ampacity).

    Parameters
    ----------
    ampacity_terminations_a : float
        Table value in the column that the terminations allow, at 30 C. [A]
    ampacity_corrected_a : float
        Table value in the conductor's own column, corrected for ambient and number of loaded conductors. [A]

    Returns
    -------
    float
        Largest continuous current. [A]

    Examples
    --------
    >>> conductor_continuous_limit_a(ampacity_terminations_a=65, ampacity_corrected_a=57.2)
    52.0

    References
    ----------
    nec-2017, 210.19(A)(1) and 110.14(C)(1).
    """
    return min(ampacity_terminations_a / CONTINUOUS_LOAD_FACTOR, ampacity_corrected_a)


def largest_protecting_device_a(
    *, ampacity_corrected_a: float, next_size_up_allowed: bool, standard_ratings_a: Sequence[float]
) -> float:
    """Return the largest overcurrent device that protects a conductor.

    The corrected ampacity itself; where the next standard size is allowed (building wire, up to 800 A), the
    smallest standard rating at or above it. Flexible cord gets no such allowance: 240.4 covers conductors other
    than flexible cord, and 240.5 asks for protection at the cord's ampacity.

    Parameters
    ----------
    ampacity_corrected_a : float
        Ampacity after correction and adjustment. [A]
    next_size_up_allowed : bool
        True for building wire. [unitless]
    standard_ratings_a : Sequence[float]
        Standard ratings, rising. [A]

    Returns
    -------
    float
        Largest rating that protects the conductor. [A]

    Examples
    --------
    >>> ratings_a = [15, 20, 25, 30, 35, 40, 45, 50, 60, 70]
    >>> largest_protecting_device_a(ampacity_corrected_a=55, next_size_up_allowed=True, standard_ratings_a=ratings_a)
    60
    >>> largest_protecting_device_a(ampacity_corrected_a=55, next_size_up_allowed=False, standard_ratings_a=ratings_a)
    55

    References
    ----------
    nec-2017, 240.4(B) and 240.5(A).
    """
    if next_size_up_allowed and 0 < ampacity_corrected_a <= LARGEST_NEXT_SIZE_A:
        for rating_a in standard_ratings_a:
            if rating_a >= ampacity_corrected_a:
                return rating_a
    return ampacity_corrected_a


def resistance_at_ohm_per_km(
    *, resistance_75c_ohm_per_km: float, temperature_c: float, temperature_coefficient_per_c: float
) -> float:
    """Return a conductor's resistance at a working temperature.

    R2 = R75 (1 + a (T2 - 75)); a = 0.00323 for copper, 0.00330 for aluminium.

    Parameters
    ----------
    resistance_75c_ohm_per_km : float
        DC resistance at 75 C, one conductor. [ohm/km]
    temperature_c : float
        Working temperature T2. [C]
    temperature_coefficient_per_c : float
        Coefficient a at 75 C. [1/C]

    Returns
    -------
    float
        Resistance at T2. [ohm/km]

    Examples
    --------
    >>> round(resistance_at_ohm_per_km(resistance_75c_ohm_per_km=1.608, temperature_c=20,
    ...                                temperature_coefficient_per_c=0.00323), 4)
    1.3223

    References
    ----------
    nec-2017, chapter 9 Table 8 note 2.
    """
    return resistance_75c_ohm_per_km * (1 + temperature_coefficient_per_c * (temperature_c - RESISTANCE_BASE_C))


def conductor_temperature_c(
    *, current_a: float, ampacity_a: float, ambient_c: float, conductor_rated_c: float
) -> float:
    """Return the working temperature of a conductor.

    T = Ta + (Tc - 30) (I / I30)^2: the rise goes with the heat, and at its 30 C ampacity in 30 C air a conductor
    reaches its rating. Not above the rating, where a plan does not go.

    Parameters
    ----------
    current_a : float
        Continuous current I. [A]
    ampacity_a : float
        Ampacity I30 at 30 C in the conductor's own column. [A]
    ambient_c : float
        Air temperature Ta. [C]
    conductor_rated_c : float
        Temperature rating Tc. [C]

    Returns
    -------
    float
        Working temperature. [C]

    Examples
    --------
    >>> conductor_temperature_c(current_a=55, ampacity_a=55, ambient_c=30, conductor_rated_c=60)
    60.0
    >>> conductor_temperature_c(current_a=0, ampacity_a=55, ambient_c=-20, conductor_rated_c=60)
    -20.0

    References
    ----------
    nec-2017, 310.15(B)(2): the square-root law that the correction factors follow.
    """
    rise_c = (conductor_rated_c - AMPACITY_BASE_C) * (current_a / ampacity_a) ** 2
    return min(ambient_c + rise_c, max(conductor_rated_c, ambient_c))


def voltage_drop_one_phase_v(*, current_a: float, resistance_ohm_per_km: float, length_m: float) -> float:
    """Return the drop of a two-wire run, line to line or line to neutral.

    VD = 2 I R L

    Parameters
    ----------
    current_a : float
        Current I. [A]
    resistance_ohm_per_km : float
        Resistance R of one conductor. [ohm/km]
    length_m : float
        One-way length L. [m]

    Returns
    -------
    float
        Volts lost. [V]

    Examples
    --------
    >>> round(voltage_drop_one_phase_v(current_a=16, resistance_ohm_per_km=1.2 / 0.3048, length_m=15.24), 3)
    1.92

    References
    ----------
    nec-2017, 210.19(A)(1) informational note 4; electrician-exam-drops, the worked example above.
    """
    return 2 * current_a * resistance_ohm_per_km * length_m / 1000


def voltage_drop_three_phase_v(*, current_a: float, resistance_ohm_per_km: float, length_m: float) -> float:
    """Return the line-to-line drop of a balanced three-phase run.

    VD = sqrt(3) I R L

    Parameters
    ----------
    current_a : float
        Line current I. [A]
    resistance_ohm_per_km : float
        Resistance R of one conductor. [ohm/km]
    length_m : float
        One-way length L. [m]

    Returns
    -------
    float
        Volts lost, line to line. [V]

    Examples
    --------
    >>> round(voltage_drop_three_phase_v(current_a=10, resistance_ohm_per_km=1, length_m=1000), 3)
    17.321

    References
    ----------
    ufc-3-520-01, appendix B voltage drop equation at unity power factor.
    """
    return math.sqrt(3) * current_a * resistance_ohm_per_km * length_m / 1000
