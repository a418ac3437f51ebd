"""Miles to energy and back, from a class's consumption. Weather and terrain are not in these figures yet."""

import math

__all__ = [
    "consumption_battery_kwh_per_100mi",
    "consumption_wall_kwh_per_100mi",
    "energy_needed_wh",
    "gasoline_equivalent_mpge",
    "miles_added_per_hour_mi",
    "wh_per_10_miles_wh",
]

KWH_PER_GALLON_EQUIVALENT = 33.705  # epa-label: electric energy counted as one gallon of gasoline
# Distances arrive as kilometres; a relative 1e-9 keeps 45 mi from becoming one watt-hour more by a rounding bit.
ROUND_UP_SLACK = 1e-9


def consumption_battery_kwh_per_100mi(*, consumption_wall_kwh_per_100mi: float, label_efficiency: float) -> float:
    """Return consumption at the battery from the label's figure, which is wall energy.

    battery = wall x label efficiency

    Parameters
    ----------
    consumption_wall_kwh_per_100mi : float
        Label consumption: energy to refill the battery, over the miles driven. [kWh/100mi]
    label_efficiency : float
        Wall to battery efficiency inside the label's figure, 0 to 1. [unitless]

    Returns
    -------
    float
        Consumption at the battery. [kWh/100mi]

    Examples
    --------
    >>> round(consumption_battery_kwh_per_100mi(consumption_wall_kwh_per_100mi=30, label_efficiency=0.88), 6)
    26.4

    References
    ----------
    epa-label, kWh per 100 miles counts the energy taken from the wall.
    """
    return consumption_wall_kwh_per_100mi * label_efficiency


def gasoline_equivalent_mpge(consumption_wall_kwh_per_100mi: float) -> float:
    """Return miles per gallon of gasoline equivalent.

    MPGe = 3370.5 / (kWh per 100 mi)

    Parameters
    ----------
    consumption_wall_kwh_per_100mi : float
        Label consumption. [kWh/100mi]

    Returns
    -------
    float
        Miles per gallon equivalent. [mi/gal]

    Examples
    --------
    >>> gasoline_equivalent_mpge(33.705)
    100.0

    References
    ----------
    epa-label, one gallon of gasoline equivalent is 33.705 kWh.
    """
    return 100 * KWH_PER_GALLON_EQUIVALENT / consumption_wall_kwh_per_100mi


def consumption_wall_kwh_per_100mi(gasoline_equivalent_mpge: float) -> float:
    """Return label consumption from miles per gallon of gasoline equivalent.

    kWh per 100 mi = 3370.5 / MPGe

    Parameters
    ----------
    gasoline_equivalent_mpge : float
        Miles per gallon equivalent. [mi/gal]

    Returns
    -------
    float
        Label consumption. [kWh/100mi]

    Examples
    --------
    >>> round(consumption_wall_kwh_per_100mi(112), 2)
    30.09

    References
    ----------
    epa-label, one gallon of gasoline equivalent is 33.705 kWh.
    """
    return 100 * KWH_PER_GALLON_EQUIVALENT / gasoline_equivalent_mpge


def wh_per_10_miles_wh(consumption_battery_kwh_per_100mi: float) -> int:
    """Return the whole watt-hours that ten miles take: the integer that page and planner share.

    Rounded up, so that a need is never understated.

    Parameters
    ----------
    consumption_battery_kwh_per_100mi : float
        Consumption at the battery. [kWh/100mi]

    Returns
    -------
    int
        Energy for ten miles. [Wh]

    Examples
    --------
    >>> wh_per_10_miles_wh(26.4), wh_per_10_miles_wh(26.41)
    (2640, 2641)

    References
    ----------
    own-derivation, 1 kWh per 100 miles is 100 Wh per 10 miles.
    """
    return math.ceil(100 * consumption_battery_kwh_per_100mi * (1 - ROUND_UP_SLACK))


def energy_needed_wh(*, distance_mi: float, wh_per_10_miles_wh: int) -> int:
    """Return the whole watt-hours that a distance takes, rounded up.

    E = ceil(d w / 10)

    Parameters
    ----------
    distance_mi : float
        Distance d. [mi]
    wh_per_10_miles_wh : int
        Energy w for ten miles. [Wh]

    Returns
    -------
    int
        Energy at the battery. [Wh]

    Examples
    --------
    >>> energy_needed_wh(distance_mi=45, wh_per_10_miles_wh=2640)
    11880

    References
    ----------
    own-derivation, proportion.
    """
    return math.ceil(distance_mi * wh_per_10_miles_wh / 10 * (1 - ROUND_UP_SLACK))


def miles_added_per_hour_mi(*, power_w: int, wh_per_10_miles_wh: int) -> int:
    """Return the whole miles that one hour plugged in adds, rounded down.

    m = floor(10 P / w), with power and consumption on the same side of the charger.

    Parameters
    ----------
    power_w : int
        Power stored. [W]
    wh_per_10_miles_wh : int
        Energy w for ten miles. [Wh]

    Returns
    -------
    int
        Miles added in an hour. [mi]

    Examples
    --------
    >>> miles_added_per_hour_mi(power_w=6600, wh_per_10_miles_wh=2640)
    25

    References
    ----------
    own-derivation, proportion.
    """
    return 10 * power_w // wh_per_10_miles_wh
