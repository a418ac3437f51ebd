"""Generators: what is left of their watts on the site, the amps of a winding, and the fuel they burn."""

import math
from collections.abc import Sequence
from itertools import pairwise

from planner.errors import OutOfRangeError

__all__ = [
    "CARRIAGE_CYLINDER_KG",
    "CARRIAGE_DIESEL_PACKAGE_L",
    "CARRIAGE_PACKAGE_KG",
    "CARRIAGE_PACKAGE_L",
    "CARRIAGE_TOTAL_KG",
    "ENERGY_LHV_KWH_PER_L",
    "ISO_3046_EXPONENTS",
    "derate_common_rule",
    "energy_kwh_per_l",
    "energy_per_litre_kwh",
    "engine_efficiency",
    "fuel_line",
    "fuel_line_above",
    "fuel_used_l",
    "iso_3046_factor",
    "loading_proved",
    "propane_vapour_l_per_h",
    "source_current_a",
]

M_PER_1000_FT = 304.8  # exact: 0.3048 m a foot
C_PER_10_F = 10 / 1.8  # exact: 1.8 F a kelvin
M_PER_IN = 0.0254  # exact: international inch
L_PER_GAL = 3.785411784  # exact: US liquid gallon
BTU_PER_KWH = 3.6e6 / 1055.05585262  # exact: international table Btu
KELVIN_AT_0_C = 273.15  # exact

# iso-3046-1: reference conditions of a declared power, 100 kPa and 25 C, which the standard writes 298 K
ISO_3046_PRESSURE_KPA = 100.0
ISO_3046_TEMPERATURE_K = 298.15
ISO_3046_MECHANICAL_EFFICIENCY = 0.80  # iso-3046-1: where the maker states none
ISO_3046_FRICTION_SHARE = 0.7  # iso-3046-1
# iso-3046-1, as genset-manual-iso prints them: exponents m of the pressure and n of the temperature, by kind of engine
ISO_3046_EXPONENTS: dict[str, tuple[float, float]] = {
    "spark_gasoline": (1.0, 0.5),
    "spark_gaseous": (0.86, 0.55),
    "compression_natural": (1.0, 0.75),
    "compression_turbocharged": (0.7, 2.0),
    "compression_turbocharged_intercooled": (0.7, 1.2),
}

# fuel-properties: Btu in a US gallon, lower heating value, what an engine can use; propane's higher value beside it,
# which is what the trade's rule for cylinders counts in
LHV_BTU_PER_GAL = {"gasoline": 116_090.0, "diesel": 128_450.0, "propane": 84_250.0}
PROPANE_HHV_BTU_PER_GAL = 91_420.0

# propane-cylinder-guide: share of liquid in the container, and Btu an hour from each square inch of diameter times
# length, in air of 0 F. Nothing at no liquid, and no more above 60 % than there, where the print ends: own-judgement
VAPOUR_BY_FILL = ((0.0, 0.0), (0.1, 45.0), (0.2, 60.0), (0.3, 70.0), (0.4, 80.0), (0.5, 90.0), (0.6, 100.0))
VAPOUR_BASE_F = 0.0  # propane-cylinder-guide: the air of that rule
VAPOUR_LIQUID_F = -20.0  # propane-cylinder-guide: as cold as the liquid may get and still drive a regulator
VAPOUR_BOILING_F = -44.0  # propane-cylinder-guide: propane boils, at the pressure of the open air

# cfr-49-173-6: materials of trade, carried for the work itself. One container of gasoline or diesel, by its gross mass
# and by what it holds; one cylinder of propane, gross; all of them on one vehicle with its trailer, gross.
CARRIAGE_PACKAGE_KG = 30.0
CARRIAGE_PACKAGE_L = 30.0
CARRIAGE_CYLINDER_KG = 100.0
CARRIAGE_TOTAL_KG = 200.0
CARRIAGE_DIESEL_PACKAGE_L = 450.0  # cfr-49-173-6: as a guide to the rule gives it for diesel in one package


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


def iso_3046_factor(
    *, pressure_kpa: float, ambient_c: float, pressure_exponent: float, temperature_exponent: float
) -> float:
    """Return the share of its declared power that an engine keeps, by ISO 3046-1.

    a = k - 0.7 (1 - k) (1 / 0.80 - 1), k = (p / 100 kPa)^m (298.15 K / T)^n, held between 0 and 1: thick or cold air
    gives nothing back. The humidity of the air and the coolant of a charge cooler are left out.

    Parameters
    ----------
    pressure_kpa : float
        Pressure of the air on the site p, not reduced to sea level. [kPa]
    ambient_c : float
        Temperature of the air that the engine draws; T is the same in kelvin. [C]
    pressure_exponent : float
        Exponent m of `ISO_3046_EXPONENTS`. [unitless]
    temperature_exponent : float
        Exponent n of `ISO_3046_EXPONENTS`. [unitless]

    Returns
    -------
    float
        Factor on running watts, 0 to 1. [unitless]

    Raises
    ------
    OutOfRangeError
        If the pressure is not above zero, or the air not above absolute zero.

    Examples
    --------
    >>> round(iso_3046_factor(pressure_kpa=84.307, ambient_c=25, pressure_exponent=1, temperature_exponent=0.5), 4)
    0.8156

    References
    ----------
    iso-3046-1, power adjustment for the ambient conditions; genset-manual-iso, exponents.
    """
    if pressure_kpa <= 0:
        raise OutOfRangeError(name="pressure_kpa", value=pressure_kpa, low=0, high=math.inf, unit="kPa")
    if ambient_c <= -KELVIN_AT_0_C:
        raise OutOfRangeError(name="ambient_c", value=ambient_c, low=-KELVIN_AT_0_C, high=math.inf, unit="C")
    indicated: float = (pressure_kpa / ISO_3046_PRESSURE_KPA) ** pressure_exponent
    indicated *= (ISO_3046_TEMPERATURE_K / (ambient_c + KELVIN_AT_0_C)) ** temperature_exponent
    friction = ISO_3046_FRICTION_SHARE * (1 / ISO_3046_MECHANICAL_EFFICIENCY - 1)
    return min(max(indicated - friction * (1 - indicated), 0.0), 1.0)


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


def fuel_line_above(points: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Return the affine fuel line that follows a maker's points and lies below none of them.

    The least-squares line q = q0 + b P, then q0 raised until no point stands above it: a plan may carry a little too
    much fuel, never too little. Two points give the line through both.

    Parameters
    ----------
    points : Sequence[tuple[float, float]]
        Electric power P and burn q at two different powers or more. [kW, L/h]

    Returns
    -------
    tuple[float, float]
        q0 and b. [L/h, L/kWh]

    Raises
    ------
    OutOfRangeError
        If there are no two different powers.

    Examples
    --------
    >>> [round(value, 6) for value in fuel_line_above([(5, 2.5), (10, 4)])]
    [1.0, 0.3]

    References
    ----------
    willans-line, engine fuel flow is nearly affine in power; the lift is own-derivation.
    """
    count = len(points)
    mean_kw = sum(power for power, _ in points) / count if count else 0.0
    mean_l_per_h = sum(burn for _, burn in points) / count if count else 0.0
    spread = sum((power - mean_kw) ** 2 for power, _ in points)
    if spread <= 0:
        raise OutOfRangeError(name="points", value=count, low=2, high=math.inf, unit="different powers")
    slope_l_per_kwh = sum((power - mean_kw) * (burn - mean_l_per_h) for power, burn in points) / spread
    no_load_l_per_h = max(burn - slope_l_per_kwh * power for power, burn in points)
    return no_load_l_per_h, slope_l_per_kwh


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


def energy_kwh_per_l(*, btu_per_gal: float) -> float:
    """Return the heat in a litre of fuel from the figure that is printed for a gallon.

    h = H / (3412.142 Btu/kWh) / (3.785412 L/gal)

    Parameters
    ----------
    btu_per_gal : float
        Heating value H of a US gallon. [Btu/gal]

    Returns
    -------
    float
        Heating value h, lower or higher as H is. [kWh/L]

    Examples
    --------
    >>> round(energy_kwh_per_l(btu_per_gal=116090), 3)
    8.988

    References
    ----------
    own-derivation, units alone.
    """
    return btu_per_gal / BTU_PER_KWH / L_PER_GAL


# fuel-properties: lower heating values, in kilowatt-hours a litre
ENERGY_LHV_KWH_PER_L: dict[str, float] = {
    fuel: energy_kwh_per_l(btu_per_gal=btu) for fuel, btu in LHV_BTU_PER_GAL.items()
}


def energy_per_litre_kwh(*, power_kw: float, no_load_l_per_h: float, slope_l_per_kwh: float) -> float:
    """Return the electric energy that an engine makes of each litre, at a steady load.

    e = P / (q0 + b P)

    Parameters
    ----------
    power_kw : float
        Electric power P. [kW]
    no_load_l_per_h : float
        Burn q0 at no load. [L/h]
    slope_l_per_kwh : float
        Burn b per energy delivered. [L/kWh]

    Returns
    -------
    float
        Electric energy per litre e; none at no load. [kWh/L]

    Raises
    ------
    OutOfRangeError
        If the engine burns nothing at that load.

    Examples
    --------
    >>> energy_per_litre_kwh(power_kw=10, no_load_l_per_h=1.0, slope_l_per_kwh=0.3)
    2.5

    References
    ----------
    willans-line, engine fuel flow is nearly affine in power.
    """
    burn_l_per_h = no_load_l_per_h + slope_l_per_kwh * power_kw
    if burn_l_per_h <= 0:
        raise OutOfRangeError(name="no_load_l_per_h", value=no_load_l_per_h, low=0, high=math.inf, unit="L/h")
    return power_kw / burn_l_per_h


def engine_efficiency(*, kwh_per_l: float, fuel_lhv_kwh_per_l: float) -> float:
    """Return the share of the fuel's heat that comes out as electric energy.

    eta = e / h

    Parameters
    ----------
    kwh_per_l : float
        Electric energy per litre e. [kWh/L]
    fuel_lhv_kwh_per_l : float
        Lower heating value of the fuel h, one of `ENERGY_LHV_KWH_PER_L`. [kWh/L]

    Returns
    -------
    float
        Efficiency of engine and alternator together, on the lower heating value. [unitless]

    Raises
    ------
    OutOfRangeError
        If the fuel has no heat.

    Examples
    --------
    >>> engine_efficiency(kwh_per_l=2.5, fuel_lhv_kwh_per_l=10)
    0.25

    References
    ----------
    own-derivation, energy out over energy in.
    """
    if fuel_lhv_kwh_per_l <= 0:
        raise OutOfRangeError(name="fuel_lhv_kwh_per_l", value=fuel_lhv_kwh_per_l, low=0, high=math.inf, unit="kWh/L")
    return kwh_per_l / fuel_lhv_kwh_per_l


def propane_vapour_l_per_h(*, diameter_m: float, length_m: float, fill: float, ambient_c: float) -> float:
    """Return the liquid propane that one cylinder, standing free in air, can steadily turn into gas.

    V = D L K(s) f(T) / 91420 Btu/gal, D and L in inches; K is 45, 60, 70, 80, 90, 100 Btu/h at a liquid share s of 0.1
    to 0.6, straight between, down to nothing at none, and not above 100. f = min((T + 20) / 20, (T + 44) / 44) with T
    in F, never below 0. The first is the trade's rule: heat flows from the air to liquid that may cool to -20 F. The
    second, smaller in air above 0 F, follows printed continuous draws, which rise with the distance to propane's
    boiling point.
    Frost, a box around the cylinder and cylinders that touch take from it.

    Parameters
    ----------
    diameter_m : float
        Outside diameter D. [m]
    length_m : float
        Overall length L. [m]
    fill : float
        Share of the container that is liquid s, 0 to 1. [unitless]
    ambient_c : float
        Temperature T of the air around it. [C]

    Returns
    -------
    float
        Liquid propane turned into gas V; 0 at -20 F (-28.9 C) and below. [L/h]

    Raises
    ------
    OutOfRangeError
        If the share of liquid is not between 0 and 1, or the cylinder has no size.

    Examples
    --------
    >>> round(propane_vapour_l_per_h(diameter_m=0.375, length_m=1.168, fill=0.5, ambient_c=-17.78), 2)
    2.53

    References
    ----------
    propane-cylinder-guide, D L K and draws of a 100 lb cylinder; own-judgement, the smaller of the two in warm air.
    """
    for name, value in (("diameter_m", diameter_m), ("length_m", length_m)):
        if value <= 0:
            raise OutOfRangeError(name=name, value=value, low=0, high=math.inf, unit="m")
    if not 0 <= fill <= 1:
        raise OutOfRangeError(name="fill", value=fill, low=0, high=1, unit="(fraction)")
    ambient_f = 1.8 * ambient_c + 32
    by_rule, by_draws = (
        (ambient_f - coldest) / (VAPOUR_BASE_F - coldest) for coldest in (VAPOUR_LIQUID_F, VAPOUR_BOILING_F)
    )
    square_inches = diameter_m * length_m / M_PER_IN**2
    btu_per_h = square_inches * _vapour_btu_per_h_in2(fill) * max(min(by_rule, by_draws), 0.0)
    return btu_per_h / PROPANE_HHV_BTU_PER_GAL * L_PER_GAL


def _vapour_btu_per_h_in2(fill: float) -> float:
    """Return K at a share of liquid, straight between the printed ones."""
    for (low, k_low), (high, k_high) in pairwise(VAPOUR_BY_FILL):
        if fill <= high:
            return k_low + (k_high - k_low) * (fill - low) / (high - low)
    return VAPOUR_BY_FILL[-1][1]
