"""A cold traction battery: how warm it is at the plug-in, and how long its heater takes before it charges."""

import math

from planner.errors import OutOfRangeError

__all__ = [
    "CHARGES_FROM_C",
    "COOLS_FROM_C",
    "FULL_POWER_FROM_C",
    "HEATER_EFFICIENCY",
    "WARM_C",
    "cold_power_kw",
    "cooling_power_kw",
    "heat_capacity_kwh_per_k",
    "heating_hours_h",
    "hold_power_kw",
    "loss_kw_per_k",
    "steady_pack_c",
    "temperature_at_plug_in_c",
]

# own-judgement: a lumped pack; heater, limits and losses are the usual ones of the kind, none is measured here.
MASS_KG_PER_KWH = 6.5
HEAT_KJ_PER_KG_K = 1.0
LOSS_KW_PER_K_AT_65_KWH = 0.008
REFERENCE_KWH = 65.0
HEATER_EFFICIENCY = 0.9
WARM_C = 5.0  # the heater works up to here
FULL_POWER_FROM_C = 0.0
CHARGES_FROM_C = -10.0
SLOW_C_RATE_PER_H = 0.05
COOLS_FROM_C = 30.0
COOLING_KW_PER_K_AT_65_KWH = 0.05
DRIVEN_WARM_C = 15.0
DRIVEN_WARM_MIN = 30.0
KJ_PER_KWH = 3600.0


def heat_capacity_kwh_per_k(energy_usable_kwh: float) -> float:
    """Return the heat that warms a pack by one kelvin.

    C = 6.5 kg per kWh x 1.0 kJ per kg and kelvin

    Parameters
    ----------
    energy_usable_kwh : float
        Usable energy of the battery. [kWh]

    Returns
    -------
    float
        Heat capacity C. [kWh/K]

    Examples
    --------
    >>> round(1000 * heat_capacity_kwh_per_k(1.0), 2)
    1.81

    References
    ----------
    own-judgement, lumped pack.
    """
    return energy_usable_kwh * MASS_KG_PER_KWH * HEAT_KJ_PER_KG_K / KJ_PER_KWH


def loss_kw_per_k(energy_usable_kwh: float) -> float:
    """Return the heat that a pack loses for each kelvin above the air.

    UA = 8 W per kelvin at 65 kWh, by the two-thirds power of its size, as a surface grows

    Parameters
    ----------
    energy_usable_kwh : float
        Usable energy of the battery. [kWh]

    Returns
    -------
    float
        Heat loss UA. [kW/K]

    Examples
    --------
    >>> loss_kw_per_k(65.0)
    0.008

    References
    ----------
    own-judgement, lumped pack.
    """
    return LOSS_KW_PER_K_AT_65_KWH * math.pow(energy_usable_kwh / REFERENCE_KWH, 2 / 3)


def temperature_at_plug_in_c(*, ambient_c: float, drove_min: float, parked_h: float, energy_usable_kwh: float) -> float:
    """Return how warm a pack still is.

    T = T_a + (T_d - T_a) exp(-t UA / C), T_d = T_a + min(d / 30, 1) max(15 - T_a, 0): half an hour of driving brings
    it to 15 C, and then it cools in the air. In warm air it is as warm as the air.

    Parameters
    ----------
    ambient_c : float
        Air temperature T_a. [C]
    drove_min : float
        Minutes d of the last drive. [min]
    parked_h : float
        Hours t parked since. [h]
    energy_usable_kwh : float
        Usable energy of the battery, which sets C and UA. [kWh]

    Returns
    -------
    float
        Pack temperature T. [C]

    Raises
    ------
    OutOfRangeError
        If a time is below zero.

    Examples
    --------
    >>> round(temperature_at_plug_in_c(ambient_c=-20, drove_min=30, parked_h=0, energy_usable_kwh=65), 1)
    15.0
    >>> round(temperature_at_plug_in_c(ambient_c=-20, drove_min=20, parked_h=6, energy_usable_kwh=65), 1)
    -4.5
    >>> temperature_at_plug_in_c(ambient_c=-20, drove_min=0, parked_h=0, energy_usable_kwh=65)
    -20.0

    References
    ----------
    own-judgement, lumped pack; own-derivation for the cooling.
    """
    for name, value, unit in (("drove_min", drove_min, "min"), ("parked_h", parked_h, "h")):
        if not value >= 0:
            raise OutOfRangeError(name=name, value=value, low=0, high=math.inf, unit=unit)
    risen_k = min(drove_min / DRIVEN_WARM_MIN, 1.0) * max(DRIVEN_WARM_C - ambient_c, 0.0)
    rate_per_h = loss_kw_per_k(energy_usable_kwh) / heat_capacity_kwh_per_k(energy_usable_kwh)
    return ambient_c + risen_k * math.exp(-parked_h * rate_per_h)


def steady_pack_c(*, ambient_c: float, heater_kw: float, loss_kw_per_k: float) -> float:
    """Return the temperature at which a pack loses as much as its heater gives it.

    T_e = T_a + 0.9 P / UA

    Parameters
    ----------
    ambient_c : float
        Air temperature T_a. [C]
    heater_kw : float
        Electric power of the heater P. [kW]
    loss_kw_per_k : float
        Heat loss of the pack UA. [kW/K]

    Returns
    -------
    float
        Temperature T_e. [C]

    Examples
    --------
    >>> steady_pack_c(ambient_c=-20, heater_kw=0.4, loss_kw_per_k=0.008)
    25.0

    References
    ----------
    own-derivation, C dT/dt = 0.9 P - UA (T - T_a) at rest.
    """
    return ambient_c + HEATER_EFFICIENCY * heater_kw / loss_kw_per_k


def heating_hours_h(*, from_c: float, to_c: float, steady_c: float, time_constant_h: float) -> float:
    """Return the time a heater takes to warm a pack, infinite where it never gets there.

    t = tau ln((T_e - T_1) / (T_e - T_2)), tau = C / UA

    Parameters
    ----------
    from_c : float
        Pack temperature at the start T_1. [C]
    to_c : float
        Pack temperature at the end T_2, at least T_1. [C]
    steady_c : float
        Temperature at which the pack loses as much as its heater gives T_e, above T_1. [C]
    time_constant_h : float
        Heat capacity of the pack over its heat loss tau. [h]

    Returns
    -------
    float
        Time t. [h]

    Examples
    --------
    >>> tau_h = heat_capacity_kwh_per_k(65) / loss_kw_per_k(65)
    >>> steady_c = steady_pack_c(ambient_c=-20, heater_kw=3.5, loss_kw_per_k=loss_kw_per_k(65))
    >>> round(60 * heating_hours_h(from_c=-20, to_c=5, steady_c=steady_c, time_constant_h=tau_h), 1)
    57.7
    >>> heating_hours_h(from_c=-20, to_c=5, steady_c=-9, time_constant_h=tau_h)
    inf

    References
    ----------
    own-derivation, C dT/dt = 0.9 P - UA (T - T_a) solved.
    """
    if steady_c <= to_c:
        return math.inf
    return time_constant_h * math.log((steady_c - from_c) / (steady_c - to_c))


def hold_power_kw(*, loss_kw_per_k: float, ambient_c: float) -> float:
    """Return what the heater takes to keep a warmed pack warm.

    P = UA max(5 - T_a, 0) / 0.9

    Parameters
    ----------
    loss_kw_per_k : float
        Heat loss of the pack UA. [kW/K]
    ambient_c : float
        Air temperature T_a. [C]

    Returns
    -------
    float
        Electric power of the heater P, on average. [kW]

    Examples
    --------
    >>> round(hold_power_kw(loss_kw_per_k=0.008, ambient_c=-20), 3)
    0.222

    References
    ----------
    own-derivation, heat lost at 5 C; the pack's own warmth from charging is left out, 1 to 2 % of the power.
    """
    return loss_kw_per_k * (WARM_C - ambient_c) / HEATER_EFFICIENCY if ambient_c < WARM_C else 0.0


def cooling_power_kw(*, ambient_c: float, energy_usable_kwh: float) -> float:
    """Return what the vehicle takes to keep a charging pack cool on a hot day.

    P = 50 W for each kelvin above 30 C at 65 kWh, by the two-thirds power of its size

    Parameters
    ----------
    ambient_c : float
        Air temperature. [C]
    energy_usable_kwh : float
        Usable energy of the battery. [kWh]

    Returns
    -------
    float
        Electric power P, on average. [kW]

    Examples
    --------
    >>> round(cooling_power_kw(ambient_c=40, energy_usable_kwh=65), 3)
    0.5
    >>> cooling_power_kw(ambient_c=20, energy_usable_kwh=65)
    0.0

    References
    ----------
    own-judgement, 0.5 to 2 kW on hot days from memory, at higher charging power than here.
    """
    surface = math.pow(energy_usable_kwh / REFERENCE_KWH, 2 / 3)
    return COOLING_KW_PER_K_AT_65_KWH * surface * max(ambient_c - COOLS_FROM_C, 0.0)


def cold_power_kw(*, pack_c: float, power_battery_kw: float, energy_usable_kwh: float) -> float:
    """Return the power that a pack accepts at its temperature, of what is there for it.

    0 below -10 C, at most 0.05 E_u per h below 0 C, all of it above

    Parameters
    ----------
    pack_c : float
        Pack temperature. [C]
    power_battery_kw : float
        Power that would be stored in a warm pack. [kW]
    energy_usable_kwh : float
        Usable energy of the battery E_u. [kWh]

    Returns
    -------
    float
        Power stored. [kW]

    Examples
    --------
    >>> [cold_power_kw(pack_c=pack_c, power_battery_kw=8.0, energy_usable_kwh=60) for pack_c in (-11, -5, 1)]
    [0.0, 3.0, 8.0]

    References
    ----------
    own-judgement, limits of a battery management in the cold.
    """
    if pack_c < CHARGES_FROM_C:
        return 0.0
    if pack_c < FULL_POWER_FROM_C:
        return min(power_battery_kw, SLOW_C_RATE_PER_H * energy_usable_kwh)
    return power_battery_kw
