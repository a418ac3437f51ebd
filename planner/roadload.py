"""What the road takes at the wheels: air, tyres, acceleration and slope, steady or along a drive schedule."""

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from planner.air import standard_pressure_kpa
from planner.errors import OutOfRangeError

__all__ = [
    "Trace",
    "TraceBin",
    "WheelEnergy",
    "air_density_kg_per_m3",
    "climb_energy_kwh",
    "descent_energy_kwh",
    "drive_energy_kwh_per_100mi",
    "regeneration_share",
    "steady_force_n",
    "trace_of",
    "tyre_factor",
    "wheel_energy",
]

GRAVITY_M_PER_S2 = 9.80665  # exact by convention: standard gravity
GAS_CONSTANT_AIR_J_PER_KG_K = 287.05287  # icao-7488: dry air
KELVIN_AT_0_C = 273.15
PA_PER_KPA = 1000.0  # exact
ROTATING_MASS_FACTOR = 1.035  # own-judgement: wheels and motor turn with the vehicle
TYRE_MILD_C = 22.0
TYRE_PER_K = 0.007  # from memory: 0.5 to 1 % more rolling resistance for each kelvin below a mild day
REGENERATION_MILD_C = 10.0  # from memory: a cold pack takes back less and less
REGENERATION_COLD_C = -20.0
REGENERATION_COLD_SHARE = 0.3
METRES_PER_100_MILES = 160934.4  # exact: 100 international miles
JOULES_PER_KWH = 3.6e6
BIN_M_PER_S = 1.0


@dataclass(frozen=True, slots=True)
class TraceBin:
    """The seconds of a schedule at about one speed, by falling acceleration, with running sums from the fastest.

    Entry n of a sum holds the n seconds that accelerate the most: exact sums, so that only the choice of the
    seconds that pull, not their energy, rests on the bin's one speed.
    """

    speed_m_per_s: float
    decelerations_m_per_s2: tuple[float, ...]  # minus the acceleration, rising
    distance_m: tuple[float, ...]  # sum of v
    distance_squared_m2_per_s: tuple[float, ...]  # sum of v^2
    distance_cubed_m3_per_s2: tuple[float, ...]  # sum of v^3
    acceleration_m2_per_s2: tuple[float, ...]  # sum of a v


@dataclass(frozen=True, slots=True)
class Trace:
    """One or more drive schedules, weighted, per metre of road."""

    bins: tuple[TraceBin, ...]
    hours_per_mile: float


@dataclass(frozen=True, slots=True)
class WheelEnergy:
    """Energy at the wheels: what pulls, and what braking has to take up."""

    traction_j_per_m: float
    braking_j_per_m: float


def air_density_kg_per_m3(*, altitude_m: float, ambient_c: float) -> float:
    """Return the density of air at a height and the temperature that it really has there.

    rho = p / (R T), p of the standard atmosphere at that height

    Parameters
    ----------
    altitude_m : float
        Height above sea level h, up to 11000. [m]
    ambient_c : float
        Air temperature; T is the same in kelvin. [C]

    Returns
    -------
    float
        Density rho. [kg/m3]

    Examples
    --------
    >>> round(air_density_kg_per_m3(altitude_m=0, ambient_c=15), 4)
    1.225

    References
    ----------
    icao-7488, pressure of the standard atmosphere; the ideal gas law for the day's own temperature.
    """
    pressure_pa = PA_PER_KPA * standard_pressure_kpa(altitude_m=altitude_m)
    return pressure_pa / (GAS_CONSTANT_AIR_J_PER_KG_K * (ambient_c + KELVIN_AT_0_C))


def tyre_factor(ambient_c: float) -> float:
    """Return how much more a cold tyre resists than on a mild day.

    f = 1 + 0.007 max(22 - T, 0)

    Parameters
    ----------
    ambient_c : float
        Air temperature T. [C]

    Returns
    -------
    float
        Factor on the rolling resistance. [unitless]

    Examples
    --------
    >>> round(tyre_factor(-8), 3), tyre_factor(30)
    (1.21, 1.0)

    References
    ----------
    own-judgement, 0.5 to 1 % a kelvin from memory.
    """
    return 1 + TYRE_PER_K * max(TYRE_MILD_C - ambient_c, 0.0)


def regeneration_share(ambient_c: float) -> float:
    """Return the share of its usual regeneration that a vehicle still takes back in the cold.

    1 from 10 C up, 0.3 from -20 C down, a straight line between.

    Parameters
    ----------
    ambient_c : float
        Air temperature. [C]

    Returns
    -------
    float
        Share, 0.3 to 1. [unitless]

    Examples
    --------
    >>> regeneration_share(20), round(regeneration_share(-5), 2), regeneration_share(-30)
    (1.0, 0.65, 0.3)

    References
    ----------
    own-judgement, from memory: a cold pack takes little.
    """
    place = (ambient_c - REGENERATION_COLD_C) / (REGENERATION_MILD_C - REGENERATION_COLD_C)
    return REGENERATION_COLD_SHARE + (1 - REGENERATION_COLD_SHARE) * min(max(place, 0.0), 1.0)


def steady_force_n(
    *,
    mass_kg: float,
    rolling_resistance: float,
    drag_area_m2: float,
    air_density_kg_per_m3: float,
    speed_m_per_s: float,
    headwind_m_per_s: float,
) -> float:
    """Return the force at the wheels at a steady speed on the level.

    F = m g Crr + 0.5 rho CdA (v + w) |v + w|

    Parameters
    ----------
    mass_kg : float
        Mass m with all that is on board. [kg]
    rolling_resistance : float
        Coefficient Crr. [unitless]
    drag_area_m2 : float
        Drag coefficient times frontal area CdA. [m2]
    air_density_kg_per_m3 : float
        Density rho. [kg/m3]
    speed_m_per_s : float
        Speed over ground v. [m/s]
    headwind_m_per_s : float
        Wind against the vehicle w, below zero from behind. [m/s]

    Returns
    -------
    float
        Force F; below zero where a wind from behind pushes more than the tyres resist. [N]

    Examples
    --------
    >>> force_n = steady_force_n(mass_kg=2000, rolling_resistance=0.01, drag_area_m2=0.8, air_density_kg_per_m3=1.2,
    ...                          speed_m_per_s=25, headwind_m_per_s=5)
    >>> round(force_n, 3)
    628.133

    References
    ----------
    road-load, the common equation of vehicle resistance.
    """
    against = speed_m_per_s + headwind_m_per_s
    drag_n = 0.5 * air_density_kg_per_m3 * drag_area_m2 * against * abs(against)
    return mass_kg * GRAVITY_M_PER_S2 * rolling_resistance + drag_n


def trace_of(parts: Sequence[tuple[Sequence[float], float]], *, top_speed_m_per_s: float) -> Trace:
    """Return drive schedules put together, each with its share of the distance, ready for `wheel_energy`.

    Each second of a schedule has the mean of its two speeds and their difference as acceleration; a vehicle that
    cannot follow drives at its top speed.

    Parameters
    ----------
    parts : Sequence[tuple[Sequence[float], float]]
        For each schedule its speeds, one a second, in m/s, and its share of the distance. [m/s]
    top_speed_m_per_s : float
        Speed that is never passed. [m/s]

    Returns
    -------
    Trace
        Sums by speed and acceleration, per metre. [1/m]

    Raises
    ------
    OutOfRangeError
        If a schedule covers no distance.

    Examples
    --------
    >>> trace = trace_of([([0.0, 10.0, 10.0, 0.0], 1.0)], top_speed_m_per_s=50)
    >>> round(1 / (trace.hours_per_mile / 1609.344 * 3600), 3)
    6.667

    References
    ----------
    own-derivation, sums over the seconds of a schedule.
    """
    steps: dict[int, list[tuple[float, float, float]]] = {}
    hours_per_m = 0.0
    for speeds, share in parts:
        capped = [min(speed, top_speed_m_per_s) for speed in speeds]
        distance_m = sum((before + after) / 2 for before, after in pairwise(capped))
        if distance_m <= 0:
            raise OutOfRangeError(name="parts", value=distance_m, low=0, high=math.inf, unit="m")
        weight = share / distance_m
        hours_per_m += weight * (len(capped) - 1) / 3600
        for before, after in pairwise(capped):
            speed = (before + after) / 2
            if speed > 0:
                steps.setdefault(int(speed / BIN_M_PER_S), []).append((before - after, speed, weight))
    return Trace(tuple(_bin(steps[key]) for key in sorted(steps)), hours_per_m * METRES_PER_100_MILES / 100)


def _bin(steps: list[tuple[float, float, float]]) -> TraceBin:
    steps.sort()
    meters = [weight * speed for _, speed, weight in steps]
    squared = [first * speed for first, (_, speed, _) in zip(meters, steps, strict=True)]
    cubed = [first * speed**2 for first, (_, speed, _) in zip(meters, steps, strict=True)]
    slowed = [-first * deceleration for first, (deceleration, _, _) in zip(meters, steps, strict=True)]
    sums = [tuple(accumulate(values, initial=0.0)) for values in (meters, squared, cubed, slowed)]
    return TraceBin(
        speed_m_per_s=sums[1][-1] / sums[0][-1],
        decelerations_m_per_s2=tuple([step[0] for step in steps]),
        distance_m=sums[0],
        distance_squared_m2_per_s=sums[1],
        distance_cubed_m3_per_s2=sums[2],
        acceleration_m2_per_s2=sums[3],
    )


def wheel_energy(
    trace: Trace,
    *,
    mass_kg: float,
    rolling_resistance: float,
    drag_area_m2: float,
    air_density_kg_per_m3: float,
    headwind_m_per_s: float,
) -> WheelEnergy:
    """Return the energy at the wheels along a trace, for each metre of it.

    F = m g Crr + 0.5 rho CdA (v + w)^2 + 1.035 m a; traction is the sum of F v over the seconds with F > 0, braking
    that over the others. The seconds that pull are chosen by one speed a bin, their energy is the exact sum.

    Parameters
    ----------
    trace : Trace
        Schedules from `trace_of`. [1/m]
    mass_kg : float
        Mass m with all that is on board. [kg]
    rolling_resistance : float
        Coefficient Crr. [unitless]
    drag_area_m2 : float
        Drag coefficient times frontal area CdA. [m2]
    air_density_kg_per_m3 : float
        Density rho. [kg/m3]
    headwind_m_per_s : float
        Wind against the vehicle w; the square keeps its sign where a wind from behind is faster. [m/s]

    Returns
    -------
    WheelEnergy
        Traction and braking, both above zero. [J/m]

    Examples
    --------
    >>> level = trace_of([([20.0] * 100, 1.0)], top_speed_m_per_s=50)
    >>> found = wheel_energy(level, mass_kg=2000, rolling_resistance=0.01, drag_area_m2=0.8,
    ...                      air_density_kg_per_m3=1.2, headwind_m_per_s=0)
    >>> round(found.traction_j_per_m, 3), found.braking_j_per_m
    (388.133, 0.0)

    References
    ----------
    road-load, the common equation of vehicle resistance; own-derivation for the sums.
    """
    rolling_n = mass_kg * GRAVITY_M_PER_S2 * rolling_resistance
    drag_kg_per_m = 0.5 * air_density_kg_per_m3 * drag_area_m2
    inertia_kg = ROTATING_MASS_FACTOR * mass_kg
    traction = net = 0.0
    wind = headwind_m_per_s
    for step in trace.bins:
        against = step.speed_m_per_s + wind
        resistance_n = rolling_n + drag_kg_per_m * against * abs(against)
        pulling = bisect_left(step.decelerations_m_per_s2, resistance_n / inertia_kg)
        sign = drag_kg_per_m if against >= 0 else -drag_kg_per_m
        first, second, third = step.distance_m, step.distance_squared_m2_per_s, step.distance_cubed_m3_per_s2
        fourth = step.acceleration_m2_per_s2
        traction += (
            rolling_n * first[pulling]
            + sign * (third[pulling] + wind * (2 * second[pulling] + wind * first[pulling]))
            + inertia_kg * fourth[pulling]
        )
        net += (
            rolling_n * first[-1]
            + sign * (third[-1] + wind * (2 * second[-1] + wind * first[-1]))
            + inertia_kg * fourth[-1]
        )
    return WheelEnergy(traction, max(traction - net, 0.0))


def drive_energy_kwh_per_100mi(
    *,
    traction_j_per_m: float,
    braking_j_per_m: float,
    drive_efficiency: float,
    regeneration: float,
    accessories_kw: float,
    hours_per_mile: float,
) -> float:
    """Return what the wheels and the accessories take from the battery.

    E = E_t / eta_t - eta_r E_b + P h, for 100 miles

    Parameters
    ----------
    traction_j_per_m : float
        Energy E_t that pulls at the wheels. [J/m]
    braking_j_per_m : float
        Energy E_b that braking takes up. [J/m]
    drive_efficiency : float
        Battery to wheels eta_t, 0 to 1. [unitless]
    regeneration : float
        Wheels back to battery eta_r, 0 to 1. [unitless]
    accessories_kw : float
        What lights, pumps and computers use P. [kW]
    hours_per_mile : float
        Time on the road h. [h/mi]

    Returns
    -------
    float
        Energy from the battery. [kWh/100mi]

    Examples
    --------
    >>> round(drive_energy_kwh_per_100mi(traction_j_per_m=500, braking_j_per_m=0, drive_efficiency=0.88,
    ...                                  regeneration=0.7, accessories_kw=0.3, hours_per_mile=1 / 60), 3)
    25.9

    References
    ----------
    own-derivation, energy balance at the battery.
    """
    wheels_j_per_m = traction_j_per_m / drive_efficiency - regeneration * braking_j_per_m
    return wheels_j_per_m * METRES_PER_100_MILES / JOULES_PER_KWH + 100 * accessories_kw * hours_per_mile


def climb_energy_kwh(*, mass_kg: float, climb_m: float, drive_efficiency: float) -> float:
    """Return what a climb takes from the battery, on top of the level road.

    E = m g H / eta_t

    Parameters
    ----------
    mass_kg : float
        Mass m with all that is on board. [kg]
    climb_m : float
        Height gained H, every rise counted. [m]
    drive_efficiency : float
        Battery to wheels eta_t, 0 to 1. [unitless]

    Returns
    -------
    float
        Energy from the battery. [kWh]

    Examples
    --------
    >>> round(climb_energy_kwh(mass_kg=2400, climb_m=1000, drive_efficiency=0.88), 2)
    7.43

    References
    ----------
    own-derivation, potential energy.
    """
    return mass_kg * GRAVITY_M_PER_S2 * climb_m / drive_efficiency / JOULES_PER_KWH


def descent_energy_kwh(
    *,
    mass_kg: float,
    descent_m: float,
    slope: float,
    resistance_n: float,
    drive_efficiency: float,
    regeneration: float,
) -> float:
    """Return what a descent gives back against the level road.

    E = (H / s) ((m g s - F) eta_r + F / eta_t) where the slope pushes more than the road resists (m g s > F),
    else E = m g H / eta_t: the hill then only saves what would have pulled.

    Parameters
    ----------
    mass_kg : float
        Mass m with all that is on board. [kg]
    descent_m : float
        Height lost H, every fall counted. [m]
    slope : float
        Rise over run s of the falling road, above zero. [unitless]
    resistance_n : float
        What tyres and air take on the level F, above zero. [N]
    drive_efficiency : float
        Battery to wheels eta_t, 0 to 1. [unitless]
    regeneration : float
        Wheels back to battery eta_r, 0 to 1. [unitless]

    Returns
    -------
    float
        Energy saved or stored. [kWh]

    Examples
    --------
    >>> round(descent_energy_kwh(mass_kg=2400, descent_m=1000, slope=0.06, resistance_n=600, drive_efficiency=0.88,
    ...                          regeneration=0.72), 2)
    5.87

    References
    ----------
    own-derivation, energy balance on a uniform slope; the cosine of the slope is taken as 1.
    """
    push_n = mass_kg * GRAVITY_M_PER_S2 * slope
    length_m = descent_m / slope
    if push_n <= resistance_n:
        return length_m * push_n / drive_efficiency / JOULES_PER_KWH
    return length_m * ((push_n - resistance_n) * regeneration + resistance_n / drive_efficiency) / JOULES_PER_KWH
