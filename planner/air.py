"""The air at a height: what the standard atmosphere says of its pressure."""

from planner.errors import OutOfRangeError

__all__ = ["standard_pressure_kpa"]

# icao-7488, the lower layer: p = 101.325 (1 - 0.0065 H / 288.15)^5.25588 kPa, valid from -5 km to 11 km; gravity falls
# with height, so H = h r / (r + h) with the earth's radius r
EARTH_RADIUS_M = 6_356_766.0
SEA_LEVEL_KPA = 101.325
LAPSE_PER_M = 0.0065 / 288.15
PRESSURE_EXPONENT = 5.25588
LOWEST_M = -5000.0
HIGHEST_M = 11000.0


def standard_pressure_kpa(*, altitude_m: float) -> float:
    """Return the pressure of the standard atmosphere at a height.

    p = 101.325 (1 - 0.0065 H / 288.15)^5.25588, H = h r / (r + h) with r 6356766 m: the pressure that a barometer on
    the site shows on an average day, not the one of a weather report, which is reduced to sea level.

    Parameters
    ----------
    altitude_m : float
        Height above sea level h, -5000 to 11000. [m]

    Returns
    -------
    float
        Pressure p. [kPa]

    Raises
    ------
    OutOfRangeError
        If the height lies outside the lower layer of the standard atmosphere.

    Examples
    --------
    >>> standard_pressure_kpa(altitude_m=0), round(standard_pressure_kpa(altitude_m=1524), 2)
    (101.325, 84.31)

    References
    ----------
    icao-7488, pressure of the standard atmosphere.
    """
    if not LOWEST_M <= altitude_m <= HIGHEST_M:
        raise OutOfRangeError(name="altitude_m", value=altitude_m, low=LOWEST_M, high=HIGHEST_M, unit="m")
    geopotential_m = altitude_m * EARTH_RADIUS_M / (EARTH_RADIUS_M + altitude_m)
    pressure: float = SEA_LEVEL_KPA * (1 - LAPSE_PER_M * geopotential_m) ** PRESSURE_EXPONENT
    return pressure
