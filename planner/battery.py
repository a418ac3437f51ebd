"""The charge curve of a battery on an AC charger: constant power, then a tail; both ways in closed form.

Power is P_b0 up to the taper start S_t, then falls with the charge that is still missing:
P_b(S) = P_b0 (1 - S + e) / (1 - S_t + e), where e makes the power at S = 1 equal P_min. It never rises.
"""

import math

from planner.errors import OutOfRangeError

__all__ = [
    "floor_power_kw",
    "hours_from_empty_h",
    "power_at_kw",
    "soc_from_empty",
    "taper_offset",
    "taper_start_soc",
    "wall_energy_kwh",
]

# own-judgement, charge curve: constant current ends where the C-rate times resistance reaches the voltage gap.
TAPER_PER_C_RATE_H = 0.12
LONGEST_TAIL_SOC = 0.10
FLOOR_C_RATE_PER_H = 0.01
FLOOR_POWER_KW = 0.25
# Below this relative gap between full and floor power there is no tail to speak of, and e would overflow.
SMALLEST_TAIL = 1e-9


def taper_start_soc(*, energy_usable_kwh: float, power_battery_kw: float, tail_factor: float = 1.0) -> float:
    """Return the state of charge where constant power ends.

    S_t = max(1 - 0.10 f, 1 - 0.12 f C), C = P_b0 / E_u

    Parameters
    ----------
    energy_usable_kwh : float
        Usable energy E_u of the battery. [kWh]
    power_battery_kw : float
        Power stored before the taper P_b0. [kW]
    tail_factor : float
        Length of the tail against a nickel chemistry's, 0.5 for LFP. [unitless]

    Returns
    -------
    float
        State of charge, 0 to 1. [unitless]

    Examples
    --------
    >>> round(taper_start_soc(energy_usable_kwh=65, power_battery_kw=8.575), 3)
    0.984

    References
    ----------
    own-judgement, charge curve: the tail grows with the C-rate.
    """
    return 1 - tail_factor * min(LONGEST_TAIL_SOC, TAPER_PER_C_RATE_H * power_battery_kw / energy_usable_kwh)


def floor_power_kw(*, energy_usable_kwh: float, power_battery_kw: float) -> float:
    """Return the power at 100 %.

    P_min = min(max(0.01 E_u per h, 0.25 kW), P_b0): a small source into a large battery has no tail, so that the
    power never rises along the taper.

    Parameters
    ----------
    energy_usable_kwh : float
        Usable energy E_u of the battery. [kWh]
    power_battery_kw : float
        Power stored before the taper P_b0. [kW]

    Returns
    -------
    float
        Power stored as charge reaches 100 %. [kW]

    Examples
    --------
    >>> floor_power_kw(energy_usable_kwh=65, power_battery_kw=8.575)
    0.65
    >>> floor_power_kw(energy_usable_kwh=200, power_battery_kw=0.8)
    0.8

    References
    ----------
    own-judgement, charge curve.
    """
    return min(max(FLOOR_C_RATE_PER_H * energy_usable_kwh, FLOOR_POWER_KW), power_battery_kw)


def taper_offset(*, energy_usable_kwh: float, power_battery_kw: float, tail_factor: float = 1.0) -> float:
    """Return e of the charge curve, infinity where there is no tail.

    e = (1 - S_t) P_min / (P_b0 - P_min)

    Parameters
    ----------
    energy_usable_kwh : float
        Usable energy E_u of the battery. [kWh]
    power_battery_kw : float
        Power stored before the taper P_b0. [kW]
    tail_factor : float
        Length of the tail against a nickel chemistry's, 0.5 for LFP. [unitless]

    Returns
    -------
    float
        Offset e in state of charge. [unitless]

    Examples
    --------
    >>> round(taper_offset(energy_usable_kwh=65, power_battery_kw=8.575), 6)
    0.001298

    References
    ----------
    own-derivation, the tail's power at S = 1 set to P_min.
    """
    floor_kw = floor_power_kw(energy_usable_kwh=energy_usable_kwh, power_battery_kw=power_battery_kw)
    if power_battery_kw - floor_kw <= SMALLEST_TAIL * power_battery_kw:
        return math.inf
    start = taper_start_soc(
        energy_usable_kwh=energy_usable_kwh, power_battery_kw=power_battery_kw, tail_factor=tail_factor
    )
    return (1 - start) * floor_kw / (power_battery_kw - floor_kw)


def power_at_kw(*, soc: float, energy_usable_kwh: float, power_battery_kw: float, tail_factor: float = 1.0) -> float:
    """Return the power stored at a state of charge.

    P_b = P_b0 for S <= S_t, P_b0 (1 - S + e) / (1 - S_t + e) above.

    Parameters
    ----------
    soc : float
        State of charge S, 0 to 1. [unitless]
    energy_usable_kwh : float
        Usable energy E_u of the battery. [kWh]
    power_battery_kw : float
        Power stored before the taper P_b0, above zero. [kW]
    tail_factor : float
        Length of the tail against a nickel chemistry's, 0.5 for LFP. [unitless]

    Returns
    -------
    float
        Power stored. [kW]

    Raises
    ------
    OutOfRangeError
        If S lies outside 0 to 1, or the power is not above zero.

    Examples
    --------
    >>> power_at_kw(soc=0.5, energy_usable_kwh=65, power_battery_kw=8.575)
    8.575
    >>> round(power_at_kw(soc=1, energy_usable_kwh=65, power_battery_kw=8.575), 6)
    0.65

    References
    ----------
    own-judgement, charge curve.
    """
    _check(soc, power_battery_kw)
    start = taper_start_soc(
        energy_usable_kwh=energy_usable_kwh, power_battery_kw=power_battery_kw, tail_factor=tail_factor
    )
    offset = taper_offset(
        energy_usable_kwh=energy_usable_kwh, power_battery_kw=power_battery_kw, tail_factor=tail_factor
    )
    if soc <= start or math.isinf(offset):
        return power_battery_kw
    return power_battery_kw * (1 - soc + offset) / (1 - start + offset)


def hours_from_empty_h(
    *, soc: float, energy_usable_kwh: float, power_battery_kw: float, tail_factor: float = 1.0
) -> float:
    """Return the time to charge from empty to a state of charge.

    T(S) = S E_u / P_b0 for S <= S_t; above, T(S_t) + tau ln((1 - S_t + e) / (1 - S + e)) with
    tau = E_u (1 - S_t + e) / P_b0. The logarithm is taken as ln(1 + (S - S_t) / (1 - S + e)), which keeps its
    digits where the tail is nearly flat. A session from S1 to S2 takes T(S2) - T(S1).

    Parameters
    ----------
    soc : float
        State of charge S, 0 to 1. [unitless]
    energy_usable_kwh : float
        Usable energy E_u of the battery. [kWh]
    power_battery_kw : float
        Power stored before the taper P_b0, above zero. [kW]
    tail_factor : float
        Length of the tail against a nickel chemistry's, 0.5 for LFP. [unitless]

    Returns
    -------
    float
        Time T. [h]

    Raises
    ------
    OutOfRangeError
        If S lies outside 0 to 1, or the power is not above zero.

    Examples
    --------
    >>> hours_from_empty_h(soc=0.8, energy_usable_kwh=60, power_battery_kw=6)
    8.0

    References
    ----------
    own-derivation, the integral of E_u dS / P_b(S).
    """
    if not 0 <= soc <= 1:
        raise _soc_error(soc)
    if not 0 < power_battery_kw < math.inf:
        raise _power_error(power_battery_kw)
    start = taper_start_soc(
        energy_usable_kwh=energy_usable_kwh, power_battery_kw=power_battery_kw, tail_factor=tail_factor
    )
    if soc <= start:
        return soc * energy_usable_kwh / power_battery_kw
    offset = taper_offset(
        energy_usable_kwh=energy_usable_kwh, power_battery_kw=power_battery_kw, tail_factor=tail_factor
    )
    if math.isinf(offset):
        return soc * energy_usable_kwh / power_battery_kw
    tau_h = energy_usable_kwh * (1 - start + offset) / power_battery_kw
    return start * energy_usable_kwh / power_battery_kw + tau_h * math.log1p((soc - start) / (1 - soc + offset))


def soc_from_empty(
    *, hours_h: float, energy_usable_kwh: float, power_battery_kw: float, tail_factor: float = 1.0
) -> float:
    """Return the state of charge after a time from empty: the inverse of `hours_from_empty_h`.

    S = t P_b0 / E_u up to S_t; above, S = 1 + e - (1 - S_t + e) exp(-(t - T(S_t)) / tau). Never above 1.

    Parameters
    ----------
    hours_h : float
        Time t plugged in, from empty. [h]
    energy_usable_kwh : float
        Usable energy E_u of the battery. [kWh]
    power_battery_kw : float
        Power stored before the taper P_b0, above zero. [kW]
    tail_factor : float
        Length of the tail against a nickel chemistry's, 0.5 for LFP. [unitless]

    Returns
    -------
    float
        State of charge, 0 to 1. [unitless]

    Raises
    ------
    OutOfRangeError
        If the time is below zero, or the power is not above zero.

    Examples
    --------
    >>> round(soc_from_empty(hours_h=3, energy_usable_kwh=60, power_battery_kw=6), 9)
    0.3

    References
    ----------
    own-derivation, `hours_from_empty_h` solved for its state of charge.
    """
    if not hours_h >= 0:
        raise OutOfRangeError(name="hours_h", value=hours_h, low=0, high=math.inf, unit="h")
    if not 0 < power_battery_kw < math.inf:
        raise _power_error(power_battery_kw)
    start = taper_start_soc(
        energy_usable_kwh=energy_usable_kwh, power_battery_kw=power_battery_kw, tail_factor=tail_factor
    )
    to_taper_h = start * energy_usable_kwh / power_battery_kw
    if hours_h <= to_taper_h:
        return hours_h * power_battery_kw / energy_usable_kwh
    offset = taper_offset(
        energy_usable_kwh=energy_usable_kwh, power_battery_kw=power_battery_kw, tail_factor=tail_factor
    )
    if math.isinf(offset):
        return min(hours_h * power_battery_kw / energy_usable_kwh, 1.0)
    tau_h = energy_usable_kwh * (1 - start + offset) / power_battery_kw
    # 1 - exp(-x) by expm1: S_t + (1 - S_t + e)(1 - exp(-x)) is the same line with its digits kept for a large e.
    return min(start - (1 - start + offset) * math.expm1(-(hours_h - to_taper_h) / tau_h), 1.0)


def wall_energy_kwh(
    *,
    soc_start: float,
    soc_target: float,
    energy_usable_kwh: float,
    power_battery_kw: float,
    input_no_load_kw: float,
    input_linear: float,
    input_quadratic_per_kw: float,
    tail_factor: float = 1.0,
) -> float:
    """Return the AC energy at the inlet for a charge, the tail's worse efficiency included.

    The input is P_ac = c0 + c1 P_b + c2 P_b^2. At constant power E = P_ac t. Along the tail
    P_b = P_1 exp(-t / tau), so E = c0 t + c1 P_1 tau (1 - x) + c2 P_1^2 (tau / 2) (1 - x^2) with x = exp(-t / tau).

    Parameters
    ----------
    soc_start : float
        State of charge at the start, 0 to 1. [unitless]
    soc_target : float
        State of charge at the end, from `soc_start` to 1. [unitless]
    energy_usable_kwh : float
        Usable energy E_u of the battery. [kWh]
    power_battery_kw : float
        Power stored before the taper P_b0, above zero. [kW]
    input_no_load_kw : float
        c0, what is drawn with nothing stored. [kW]
    input_linear : float
        c1, AC power per power stored. [unitless]
    input_quadratic_per_kw : float
        c2. [1/kW]
    tail_factor : float
        Length of the tail against a nickel chemistry's, 0.5 for LFP. [unitless]

    Returns
    -------
    float
        AC energy. [kWh]

    Raises
    ------
    OutOfRangeError
        If a state of charge lies outside 0 to 1, or the power is not above zero.

    Examples
    --------
    >>> round(wall_energy_kwh(soc_start=0.2, soc_target=0.8, energy_usable_kwh=60, power_battery_kw=6,
    ...                       input_no_load_kw=0.6, input_linear=1.0, input_quadratic_per_kw=0.0), 9)
    39.6

    References
    ----------
    own-derivation, the integral of the input over the session.
    """
    _check(soc_start, power_battery_kw)
    curve = {
        "energy_usable_kwh": energy_usable_kwh,
        "power_battery_kw": power_battery_kw,
        "tail_factor": tail_factor,
    }
    start = taper_start_soc(**curve)
    full_input_kw = (
        input_no_load_kw
        + input_linear * power_battery_kw
        + input_quadratic_per_kw * power_battery_kw * power_battery_kw
    )
    offset = taper_offset(**curve) if soc_target > start else math.inf
    if math.isinf(offset):
        start = 1.0
    flat_soc = max(min(soc_target, start) - soc_start, 0.0)
    flat_kwh = full_input_kw * flat_soc * energy_usable_kwh / power_battery_kw
    tail_from = max(soc_start, start)
    if soc_target <= tail_from:
        return flat_kwh
    tail_h = hours_from_empty_h(soc=soc_target, **curve) - hours_from_empty_h(soc=tail_from, **curve)
    tau_h = energy_usable_kwh * (1 - start + offset) / power_battery_kw
    first_kw = power_at_kw(soc=tail_from, **curve)
    fallen = -math.expm1(-tail_h / tau_h)
    fallen_squared = -math.expm1(-2 * tail_h / tau_h)
    tail_kwh = (
        input_no_load_kw * tail_h
        + input_linear * first_kw * tau_h * fallen
        + input_quadratic_per_kw * first_kw * first_kw * (tau_h / 2) * fallen_squared
    )
    return flat_kwh + tail_kwh


def _check(soc: float, power_battery_kw: float) -> None:
    if not 0 <= soc <= 1:
        raise _soc_error(soc)
    if not 0 < power_battery_kw < math.inf:
        raise _power_error(power_battery_kw)


def _soc_error(soc: float) -> OutOfRangeError:
    return OutOfRangeError(name="soc", value=soc, low=0, high=1, unit="(fraction of usable energy)")


def _power_error(power_battery_kw: float) -> OutOfRangeError:
    return OutOfRangeError(name="power_battery_kw", value=power_battery_kw, low=0, high=math.inf, unit="kW")
