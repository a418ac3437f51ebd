"""What a class takes for ten miles of a given road in a given air, likely and in nine of ten cases.

The road load of the class is scaled once, so that on the two drive schedules of its label it takes what the label
says. The cabin is added in kilowatts over the hours driven. Published as whole watt-hours, which a page shares.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from planner.cabin import cabin_power_kw
from planner.records import HIGHWAY_SCHEDULE, M_PER_S_PER_MPH, URBAN_SCHEDULE, Dataset, Spread, VehicleClass
from planner.road import consumption_battery_kwh_per_100mi, energy_needed_wh, wh_per_10_miles_wh
from planner.roadload import (
    Trace,
    air_density_kg_per_m3,
    climb_energy_kwh,
    descent_energy_kwh,
    drive_energy_kwh_per_100mi,
    regeneration_share,
    steady_force_n,
    trace_of,
    tyre_factor,
    wheel_energy,
)
from planner.samples import between, column, normal_column, order_statistic, share_up_to, together
from planner.units import FT_PER_M

__all__ = [
    "LABEL_AIR_C",
    "MIXED_ROAD",
    "Air",
    "LevelEnergy",
    "Road",
    "RoadEnergy",
    "chance_of_reaching",
    "label_scale",
    "label_wh_per_10_miles",
    "level_energy",
    "road_energy",
    "road_factors",
    "road_ratios",
]

LABEL_AIR_C = 22.0
URBAN_SHARE = 0.55  # epa-label: the combined figure is 55 % city, 45 % highway
LABEL_ADJUSTMENT = 0.7  # from memory: what is measured on the schedules is divided by about this for the label
STEADY_ROAD_FACTOR = 1.05  # own-judgement: gusts, surface and small changes of speed on a real road
TRAILER_DRAG_M2 = 0.3  # own-judgement: a low trailer behind a vehicle, and how it grows to a tall one
TRAILER_DRAG_M2_PER_KG = 0.0007
HILL_SLOPE = 0.06  # own-judgement: a mountain road falls about this steeply
MIXED_HILL_M_PER_S = 15.6  # own-judgement: 35 mph on a hill of a mixed road
SIZE_OF_BATTERY = "size of the battery in the class"
DRIVER_SIGMA = 0.12  # from memory: 10 to 15 % from driver to driver and road to road
WEATHER_DRIVE = 0.02  # own-judgement: how far a few degrees and some wind move the drive, and below the cabin
WEATHER_CABIN = 0.3
CABIN_HABIT = (0.75, 1.0, 1.3)  # own-judgement: thermostat, number of people, heat pump or not
SIZE_GOES_WITH_CONSUMPTION = 0.6  # own-judgement: within a class the larger battery sits in the thirstier vehicle
NINE_OF_TEN = 0.9
STEPS = 100  # the cabin's share of the energy is known to a hundredth


@dataclass(frozen=True, slots=True)
class Road:
    """The road ahead and how it is driven; without a speed it is the mixed road of the label."""

    speed_mph: float | None = None
    climb_m: float = 0.0
    descent_m: float = 0.0
    headwind_m_per_s: float = 0.0
    cargo_kg: float = 0.0
    trailer_kg: float = 0.0
    cabin_heat: bool = True


MIXED_ROAD = Road()


@dataclass(frozen=True, slots=True)
class Air:
    """The air on the road."""

    ambient_c: float
    altitude_m: float


@dataclass(frozen=True, slots=True)
class LevelEnergy:
    """What a level road takes before the scaling to the label, without cabin, and how long a mile of it lasts."""

    energy_kwh_per_100mi: float
    hours_per_mile: float


@dataclass(frozen=True, slots=True)
class RoadEnergy:
    """Whole watt-hours at the battery: level road and cabin for ten miles, the hills once, and the factors of 1,000.

    `percent_permille` is what nine of ten cases take at most as a share of their battery, over the typical;
    `miles_permille` the same for a stated energy, whatever the battery.
    """

    drive_wh: int
    cabin_wh: int
    hills_wh: int
    climb_wh_per_100ft: int
    percent_permille: int
    miles_permille: int

    @property
    def wh_per_10_miles(self) -> int:
        """Return what ten miles of level road typically take, cabin included."""
        return self.drive_wh + self.cabin_wh

    @property
    def cabin_share(self) -> int:
        """Return the cabin's share in whole hundredths, by which the factors were looked up."""
        return STEPS * self.cabin_wh // max(self.wh_per_10_miles, 1)

    @property
    def wh_per_10_miles_at_most(self) -> int:
        """Return what ten miles take in nine of ten cases, for a stated energy."""
        return -(-self.wh_per_10_miles * self.miles_permille // 1000)

    def level_wh(self, distance_mi: float) -> int:
        """Return what a distance of level road typically takes, rounded up."""
        return energy_needed_wh(distance_mi=distance_mi, wh_per_10_miles_wh=self.wh_per_10_miles)

    def typical_wh(self, distance_mi: float) -> int:
        """Return what a distance typically takes, hills included, rounded up."""
        return max(self.level_wh(distance_mi) + self.hills_wh, 0)

    def sure_wh(self, distance_mi: float) -> int:
        """Return the charge, on a typical battery, that makes a distance in nine of ten cases.

        The factor is on the level road and on what hills take; what they give back makes no road surer.
        """
        unsure_wh = self.level_wh(distance_mi) + max(self.hills_wh, 0)
        return max(-(-unsure_wh * self.percent_permille // 1000) + min(self.hills_wh, 0), 0)

    def sure_miles_mi(self, energy_wh: int) -> float:
        """Return the miles that a charge, on a typical battery, makes in nine of ten cases: `sure_wh` turned round."""
        unsure_wh = 1000 * (energy_wh - min(self.hills_wh, 0)) / self.percent_permille - max(self.hills_wh, 0)
        return max(10 * unsure_wh / self.wh_per_10_miles, 0.0)


def label_wh_per_10_miles(vehicle: VehicleClass) -> int:
    """Return what ten miles take at the battery by the label alone."""
    return wh_per_10_miles_wh(
        consumption_battery_kwh_per_100mi(
            consumption_wall_kwh_per_100mi=vehicle.label.consumption_wall_kwh_per_100mi.typical,
            label_efficiency=vehicle.label.efficiency,
        )
    )


def road_energy(dataset: Dataset, vehicle: VehicleClass, road: Road, air: Air) -> RoadEnergy:
    """Return what the road takes. The same road, air and class are reckoned once for a dataset."""
    key = ("road", vehicle.id, road, air)
    found: RoadEnergy | None = dataset.memo.get(key)
    if found is None:
        found = _road_energy(dataset, vehicle, road, air)
        if len(dataset.memo) > MOST_REMEMBERED:
            dataset.memo.clear()
        dataset.memo[key] = found
    return found


MOST_REMEMBERED = 20_000


def _road_energy(dataset: Dataset, vehicle: VehicleClass, road: Road, air: Air) -> RoadEnergy:
    trace = _trace(dataset, vehicle)
    scale = label_scale(dataset, vehicle)
    level = level_energy(vehicle, road, air, trace)
    cabin_kw = 0.0
    if road.cabin_heat:
        cabin_kw = cabin_power_kw(
            ambient_c=air.ambient_c,
            size_factor=vehicle.cabin.size_factor,
            heat_pump_share=vehicle.cabin.heat_pump_share,
        )
    drive_wh = max(wh_per_10_miles_wh(scale * level.energy_kwh_per_100mi), 1)
    cabin_wh = math.ceil(10_000 * cabin_kw * level.hours_per_mile - 1e-6)
    load = vehicle.road
    mass_kg = load.mass_kg.typical + road.cargo_kg + road.trailer_kg
    climb_wh = math.ceil(
        1000 * climb_energy_kwh(mass_kg=mass_kg, climb_m=100 / FT_PER_M, drive_efficiency=load.drive_efficiency) - 1e-6
    )
    hills_wh = math.ceil(road.climb_m * FT_PER_M * climb_wh / 100 - 1e-6)
    if road.descent_m > 0:
        hills_wh -= math.floor(1000 * _descent_kwh(vehicle, road, air, mass_kg))
    share = STEPS * cabin_wh // (drive_wh + cabin_wh)
    percent_permille, miles_permille = road_factors(dataset, vehicle, share)
    return RoadEnergy(drive_wh, cabin_wh, hills_wh, climb_wh, percent_permille, miles_permille)


def _trace(dataset: Dataset, vehicle: VehicleClass) -> Trace:
    """Return the mixed road as far as this class can follow it."""
    top = vehicle.road.top_speed_mph
    key = ("trace", top)
    found: Trace | None = dataset.memo.get(key)
    if found is None:
        parts = [
            (dataset.schedules[name].speeds_m_per_s, share)
            for name, share in ((URBAN_SCHEDULE, URBAN_SHARE), (HIGHWAY_SCHEDULE, 1 - URBAN_SHARE))
        ]
        found = dataset.memo[key] = trace_of(parts, top_speed_m_per_s=top * M_PER_S_PER_MPH)
    return found


def label_scale(dataset: Dataset, vehicle: VehicleClass) -> float:
    """Return the one factor that makes the class take its label's energy on the label's road."""
    key = ("scale", vehicle.id)
    found: float | None = dataset.memo.get(key)
    if found is None:
        raw_kwh = level_energy(
            vehicle, MIXED_ROAD, Air(LABEL_AIR_C, 0.0), _trace(dataset, vehicle)
        ).energy_kwh_per_100mi
        label_kwh = consumption_battery_kwh_per_100mi(
            consumption_wall_kwh_per_100mi=vehicle.label.consumption_wall_kwh_per_100mi.typical,
            label_efficiency=vehicle.label.efficiency,
        )
        found = dataset.memo[key] = label_kwh / raw_kwh
    return found


def level_energy(vehicle: VehicleClass, road: Road, air: Air, trace: Trace) -> LevelEnergy:
    """Return the unscaled energy of a level road; without a speed it is that of the trace, over the label's 0.7."""
    load = vehicle.road
    mass_kg = load.mass_kg.typical + road.cargo_kg + road.trailer_kg
    drag_area_m2 = load.drag_area_m2.typical
    if road.trailer_kg > 0:
        drag_area_m2 += TRAILER_DRAG_M2 + TRAILER_DRAG_M2_PER_KG * road.trailer_kg
    rolling = load.rolling_resistance * tyre_factor(air.ambient_c)
    density = air_density_kg_per_m3(altitude_m=air.altitude_m, ambient_c=air.ambient_c)
    regeneration = load.regeneration * regeneration_share(air.ambient_c)
    if road.speed_mph is None:
        wheels = wheel_energy(
            trace,
            mass_kg=mass_kg,
            rolling_resistance=rolling,
            drag_area_m2=drag_area_m2,
            air_density_kg_per_m3=density,
            headwind_m_per_s=road.headwind_m_per_s,
        )
        traction, braking, factor = wheels.traction_j_per_m, wheels.braking_j_per_m, 1 / LABEL_ADJUSTMENT
        hours_per_mile = trace.hours_per_mile
    else:
        speed_mph = min(road.speed_mph, load.top_speed_mph)
        force_n = steady_force_n(
            mass_kg=mass_kg,
            rolling_resistance=rolling,
            drag_area_m2=drag_area_m2,
            air_density_kg_per_m3=density,
            speed_m_per_s=speed_mph * M_PER_S_PER_MPH,
            headwind_m_per_s=road.headwind_m_per_s,
        )
        # A wind from behind that pushes is not counted as charge.
        traction, braking, factor = max(force_n, 0.0), 0.0, STEADY_ROAD_FACTOR
        hours_per_mile = 1 / speed_mph
    energy_kwh = drive_energy_kwh_per_100mi(
        traction_j_per_m=traction,
        braking_j_per_m=braking,
        drive_efficiency=load.drive_efficiency,
        regeneration=regeneration,
        accessories_kw=load.accessories_kw,
        hours_per_mile=hours_per_mile,
    )
    return LevelEnergy(factor * energy_kwh, hours_per_mile)


def _descent_kwh(vehicle: VehicleClass, road: Road, air: Air, mass_kg: float) -> float:
    load = vehicle.road
    speed = MIXED_HILL_M_PER_S
    if road.speed_mph is not None:
        speed = min(road.speed_mph, load.top_speed_mph) * M_PER_S_PER_MPH
    resistance_n = steady_force_n(
        mass_kg=mass_kg,
        rolling_resistance=load.rolling_resistance * tyre_factor(air.ambient_c),
        drag_area_m2=load.drag_area_m2.typical,
        air_density_kg_per_m3=air_density_kg_per_m3(altitude_m=air.altitude_m, ambient_c=air.ambient_c),
        speed_m_per_s=speed,
        headwind_m_per_s=0.0,
    )
    return descent_energy_kwh(
        mass_kg=mass_kg,
        descent_m=road.descent_m,
        slope=HILL_SLOPE,
        resistance_n=resistance_n,
        drive_efficiency=load.drive_efficiency,
        regeneration=load.regeneration * regeneration_share(air.ambient_c),
    )


# ---------------------------------------------------------------------------------------------------------- the band


def road_factors(dataset: Dataset, vehicle: VehicleClass, cabin_share: int) -> tuple[int, int]:
    """Return both factors of nine in ten cases, in thousandths, rounded up and never below 1,000."""
    key = ("factors", vehicle.id, cabin_share)
    found: tuple[int, int] | None = dataset.memo.get(key)
    if found is None:
        found = dataset.memo[key] = (
            _permille(road_ratios(vehicle, cabin_share, by_percent=True)),
            _permille(road_ratios(vehicle, cabin_share, by_percent=False)),
        )
    return found


def _permille(ratios: list[float]) -> int:
    return max(math.ceil(1000 * order_statistic(sorted(ratios), NINE_OF_TEN) - 1e-6), 1000)


def road_ratios(vehicle: VehicleClass, cabin_share: int, *, by_percent: bool) -> list[float]:
    """Return what the road takes over the typical at each of the fixed points.

    By percent it is the energy over the battery's, both uncertain; else it is the energy alone.
    """
    share = cabin_share / STEPS
    whole = drive = _drives_over_typical(_over_typical(vehicle.label.consumption_wall_kwh_per_100mi))
    if share > 0:
        driven = 1 - share
        whole = [
            driven * of_drive + share * of_cabin
            for of_drive, of_cabin in zip(drive, _cabins_over_typical(), strict=True)
        ]
    if not by_percent:
        return list(whole)
    batteries = _batteries_over_typical(
        _over_typical(vehicle.battery.energy_usable_kwh), _over_typical(vehicle.battery.health)
    )
    return [energy / battery for energy, battery in zip(whole, batteries, strict=True)]


# What goes into the ratios, case by case. It hangs on the class alone, which is asked about with many shares in turn.


@lru_cache(maxsize=8)
def _drives_over_typical(consumption: tuple[float, float, float]) -> Sequence[float]:
    return [
        math.exp(DRIVER_SIGMA * driver) * between(*consumption, of_class) * (1 + WEATHER_DRIVE * (1 - 2 * weather))
        for driver, of_class, weather in zip(
            normal_column("driver, traffic and terrain"),
            together("consumption of the class", SIZE_OF_BATTERY, SIZE_GOES_WITH_CONSUMPTION),
            column("weather"),
            strict=True,
        )
    ]


@lru_cache(maxsize=1)
def _cabins_over_typical() -> Sequence[float]:
    return [
        between(*CABIN_HABIT, habit) * (1 + WEATHER_CABIN * (1 - 2 * weather))
        for habit, weather in zip(column("cabin heat on the road"), column("weather"), strict=True)
    ]


@lru_cache(maxsize=8)
def _batteries_over_typical(new: tuple[float, float, float], health: tuple[float, float, float]) -> Sequence[float]:
    return [
        between(*new, of_size) * between(*health, of_age)
        for of_size, of_age in zip(column(SIZE_OF_BATTERY), column("age of the battery"), strict=True)
    ]


def _over_typical(spread: Spread) -> tuple[float, float, float]:
    return spread.low / spread.typical, 1.0, spread.high / spread.typical


def chance_of_reaching(vehicle: VehicleClass, road: RoadEnergy, *, distance_mi: float, energy_wh: int) -> float:
    """Return the share of cases in which a charge, on a typical battery, makes a distance."""
    unsure_wh = road.level_wh(distance_mi) + max(road.hills_wh, 0)
    most = (energy_wh - min(road.hills_wh, 0)) / unsure_wh
    return share_up_to(road_ratios(vehicle, road.cabin_share, by_percent=True), most)
