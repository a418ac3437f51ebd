"""Generators: what is left of their watts on the site, the amps of a winding, and the fuel they burn."""

import math

from planner.errors import OutOfRangeError

__all__ = [
    "derate_common_rule",
    "fuel_line",
    "fuel_used_l",
    "loading_proved",
    "source_current_a",
]

M_PER_1000_FT = 304.8  # exact: 0.3048 m a foot
C_PER_10_F = 10 / 1.8  # exact: 1.8 F a kelvin


def derate_common_rule(
    *,
    altitude_m: float,
    ambient_c: float,
    loss_per_1000ft: float,
    loss_per_10f: float,
    free_altitude_m: float,
    free_ambient_c: float,
) -> float:
    """Return the share of its running watts that an engine keeps, by the common additive rule.

    d = 1 - a max(h - h0, 0) / 1000 ft - b max(T - T0, 0) / 10 F, held between 0 and 1: thin or warm air takes
    power away, thick or cold air gives none back.

    Parameters
    ----------
    altitude_m : float
        Height of the site h above sea level. [m]
    ambient_c : float
        Air temperature T at the site. [C]
    loss_per_1000ft : float
        Share a lost per 1000 ft (304.8 m). [unitless]
    loss_per_10f : float
        Share b lost per 10 F (5.556 C). [unitless]
    free_altitude_m : float
        Height h0 up to which the rating holds. [m]
    free_ambient_c : float
        Temperature T0 up to which the rating holds. [C]

    Returns
    -------
    float
        Factor on running watts, 0 to 1. [unitless]

    Examples
    --------
    >>> round(derate_common_rule(altitude_m=1524, ambient_c=40, loss_per_1000ft=0.035, loss_per_10f=0.01,
    ...                          free_altitude_m=0, free_ambient_c=25), 3)
    0.798

    References
    ----------
    genset-manual-a, 3.5 % per 1000 ft and 1 % per 10 F above 77 F.
    """
    lost_to_height = loss_per_1000ft * max(altitude_m - free_altitude_m, 0.0) / M_PER_1000_FT
    lost_to_heat = loss_per_10f * max(ambient_c - free_ambient_c, 0.0) / C_PER_10_F
    return min(max(1 - lost_to_height - lost_to_heat, 0.0), 1.0)


def source_current_a(*, power_w: float, voltage_v: float, power_factor: float) -> float:
    """Return the one-phase current at which a source reaches a power.

    I = P / (V pf)

    Parameters
    ----------
    power_w : float
        Active power. [W]
    voltage_v : float
        Volts across the connection. [V]
    power_factor : float
        Of the load, 0 to 1. [unitless]

    Returns
    -------
    float
        Line current. [A]

    Raises
    ------
    OutOfRangeError
        If the voltage or the power factor is not above zero.

    Examples
    --------
    >>> source_current_a(power_w=12000, voltage_v=240, power_factor=1)
    50.0

    References
    ----------
    own-derivation, P = V I pf.
    """
    if voltage_v <= 0:
        raise OutOfRangeError(name="voltage_v", value=voltage_v, low=0, high=1000, unit="V")
    if not 0 < power_factor <= 1:
        raise OutOfRangeError(name="power_factor", value=power_factor, low=0, high=1, unit="(fraction)")
    return power_w / (voltage_v * power_factor)


def loading_proved(*, power_metered_kw: float, running_power_w: float, derate: float) -> float:
    """Return the share of derated running watts that a long metered run proved, never above 1.

    f = min(P_metered / (W d), 1)

    Parameters
    ----------
    power_metered_kw : float
        Steady power over the run, at the source. [kW]
    running_power_w : float
        Running watts W for the fuel of that run. [W]
    derate : float
        Factor d of `derate_common_rule` on the day and at the place of the run. [unitless]

    Returns
    -------
    float
        Loading fraction, 0 to 1. [unitless]

    Raises
    ------
    OutOfRangeError
        If nothing was left of the running watts on that day.

    Examples
    --------
    >>> loading_proved(power_metered_kw=9, running_power_w=12000, derate=1)
    0.75

    References
    ----------
    own-derivation, measured over available.
    """
    if running_power_w * derate <= 0:
        raise OutOfRangeError(name="derate", value=derate, low=0, high=1, unit="(fraction)")
    return min(1000 * power_metered_kw / (running_power_w * derate), 1.0)


def fuel_line(
    *, power_low_kw: float, fuel_low_l_per_h: float, power_high_kw: float, fuel_high_l_per_h: float
) -> tuple[float, float]:
    """Return the affine fuel line through two published points: burn at no load, and burn per energy.

    q = q0 + b P; b = (q2 - q1) / (P2 - P1), q0 = q1 - b P1.

    Parameters
    ----------
    power_low_kw : float
        Electric power P1 of the lower point. [kW]
    fuel_low_l_per_h : float
        Burn q1 there. [L/h]
    power_high_kw : float
        Electric power P2 of the higher point. [kW]
    fuel_high_l_per_h : float
        Burn q2 there. [L/h]

    Returns
    -------
    tuple[float, float]
        q0 and b. [L/h, L/kWh]

    Raises
    ------
    OutOfRangeError
        If the two powers are equal.

    Examples
    --------
    >>> fuel_line(power_low_kw=5, fuel_low_l_per_h=2.5, power_high_kw=10, fuel_high_l_per_h=4)
    (1.0, 0.3)

    References
    ----------
    willans-line, engine fuel flow is nearly affine in power.
    """
    if power_high_kw == power_low_kw:
        raise OutOfRangeError(name="power_high_kw", value=power_high_kw, low=power_low_kw, high=math.inf, unit="kW")
    slope_l_per_kwh = (fuel_high_l_per_h - fuel_low_l_per_h) / (power_high_kw - power_low_kw)
    return fuel_low_l_per_h - slope_l_per_kwh * power_low_kw, slope_l_per_kwh


def fuel_used_l(*, hours_h: float, energy_kwh: float, no_load_l_per_h: float, slope_l_per_kwh: float) -> float:
    """Return the fuel an engine burns over a run.

    Q = q0 t + b E: the affine line integrated, exact for any course of the power.

    Parameters
    ----------
    hours_h : float
        Time t that the engine runs. [h]
    energy_kwh : float
        Electric energy E that it delivers in that time. [kWh]
    no_load_l_per_h : float
        Burn q0 at no load. [L/h]
    slope_l_per_kwh : float
        Burn b per energy delivered. [L/kWh]

    Returns
    -------
    float
        Fuel. [L]

    Examples
    --------
    >>> round(fuel_used_l(hours_h=2, energy_kwh=10, no_load_l_per_h=1.0, slope_l_per_kwh=0.3), 6)
    5.0

    References
    ----------
    willans-line, engine fuel flow is nearly affine in power.
    """
    return no_load_l_per_h * hours_h + slope_l_per_kwh * energy_kwh
