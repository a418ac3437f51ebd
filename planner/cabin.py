"""What heating or cooling the cabin takes, in kilowatts, on the road and standing."""

from bisect import bisect_right

__all__ = ["cabin_power_kw", "heat_pump_factor", "standing_power_kw"]

# own-judgement, from memory: steady power of a resistive heater, and of cooling above 22 C, in a car.
POINTS = ((-18.0, 5.0), (-7.0, 4.0), (0.0, 2.5), (10.0, 1.0), (22.0, 0.0), (35.0, 1.5))
MILD_C = 22.0
MOST_KW = 7.0  # from memory: what a car's heater is made for
HEAT_PUMP_FACTOR = 0.5  # from memory: 0.4 to 0.6 of the resistive power above -10 C
HEAT_PUMP_WELL_C = -10.0
# club-standing-heat: 2.1 and 3.0 kW over a night at -9 to -14 C, where the line above has 4.2 to 4.6 kW on the road.
STANDING_FACTOR = 0.6
HEAT_PUMP_OFF_C = -20.0


def heat_pump_factor(ambient_c: float) -> float:
    """Return what a heat pump takes over what a resistive heater takes.

    0.5 from -10 C up, 1 from -20 C down, a straight line between.

    Parameters
    ----------
    ambient_c : float
        Air temperature. [C]

    Returns
    -------
    float
        Factor, 0.5 to 1. [unitless]

    Examples
    --------
    >>> heat_pump_factor(0), heat_pump_factor(-15), heat_pump_factor(-30)
    (0.5, 0.75, 1.0)

    References
    ----------
    own-judgement, 0.4 to 0.6 from memory.
    """
    place = (HEAT_PUMP_WELL_C - ambient_c) / (HEAT_PUMP_WELL_C - HEAT_PUMP_OFF_C)
    return HEAT_PUMP_FACTOR + (1 - HEAT_PUMP_FACTOR) * min(max(place, 0.0), 1.0)


def cabin_power_kw(*, ambient_c: float, size_factor: float, heat_pump_share: float) -> float:
    """Return the steady electric power that keeps a cabin at a comfortable temperature.

    P = s p(T) (1 - h (1 - f(T))); p is a line through 5.0, 4.0, 2.5, 1.0, 0 and 1.5 kW at -18, -7, 0, 10, 22 and 35 C,
    carried on beyond its ends up to 7 kW; f is `heat_pump_factor` where it heats, 1 where it cools.

    Parameters
    ----------
    ambient_c : float
        Air temperature T. [C]
    size_factor : float
        Size of the cabin against a car's s; 0 for a vehicle without a heater. [unitless]
    heat_pump_share : float
        Share h of the class that has a heat pump, 0 to 1. [unitless]

    Returns
    -------
    float
        Electric power P. [kW]

    Examples
    --------
    >>> cabin_power_kw(ambient_c=-7, size_factor=1, heat_pump_share=0)
    4.0
    >>> cabin_power_kw(ambient_c=-7, size_factor=1, heat_pump_share=1)
    2.0
    >>> cabin_power_kw(ambient_c=22, size_factor=1, heat_pump_share=0)
    0.0

    References
    ----------
    own-judgement, cabin power from memory.
    """
    place = min(max(bisect_right(POINTS, (ambient_c, 0.0)), 1), len(POINTS) - 1)
    (low_c, low_kw), (high_c, high_kw) = POINTS[place - 1], POINTS[place]
    power_kw = min(low_kw + (high_kw - low_kw) * (ambient_c - low_c) / (high_c - low_c), MOST_KW)
    if ambient_c < MILD_C:
        power_kw *= 1 - heat_pump_share * (1 - heat_pump_factor(ambient_c))
    return size_factor * power_kw


def standing_power_kw(*, ambient_c: float, size_factor: float, heat_pump_share: float) -> float:
    """Return the power that keeps the cabin comfortable while the vehicle stands, with no wind of its own.

    P = 0.6 of `cabin_power_kw`

    Parameters
    ----------
    ambient_c : float
        Air temperature T. [C]
    size_factor : float
        Size of the cabin against a car's s; 0 for a vehicle without a heater. [unitless]
    heat_pump_share : float
        Share h of the class that has a heat pump, 0 to 1. [unitless]

    Returns
    -------
    float
        Electric power P. [kW]

    Examples
    --------
    >>> round(standing_power_kw(ambient_c=-7, size_factor=1, heat_pump_share=0), 3)
    2.4

    References
    ----------
    club-standing-heat, two cars over a night, against the line for the road.
    """
    return STANDING_FACTOR * cabin_power_kw(
        ambient_c=ambient_c, size_factor=size_factor, heat_pump_share=heat_pump_share
    )
