"""By what the minutes of a charge differ from the typical ones, for a page that cannot try 1,024 cases by itself.

The dash is left out: a page knows the typical minutes from any start, and puts the spread of the start in by itself.
"""

import math

from planner.answer import Answer, Call
from planner.charge import ColdStart, cold_start
from planner.pack import WARM_C
from planner.samples import COUNT, column, order_statistic
from planner.spread import CHARGE_INPUTS, HIGH, LOW, MIDDLE, session_at

__all__ = ["NEEDS", "rate_factors"]

# Percent of charge. Each can end before any taper: its minutes are then those of a rate and of a cold start, from
# whichever percent it begins.
NEEDS = (5, 10, 20, 40, 80)
FEW = COUNT // 4  # the first points of the sequence fill the cube as evenly as all of them do
# A few cases without end say that power is nearly used up: the longest of the others then differ by hours, and only
# all points tell where nine of ten are.
NEARLY_SURE = 0.85


def rate_factors(call: Call, found: Answer) -> tuple[tuple[int, int | None, int], ...]:
    """Return p10 and p90 over the typical minutes at each of `NEEDS`, and the share that gets there, in thousandths.

    The answer is one that charges. p90 is None where fewer than nine of ten get there.
    """
    columns = [column(name) for name in CHARGE_INPUTS]
    hours_at = session_at(call, found, 1.0, _hours_by_need)
    typical = hours_at(*[MIDDLE] * len(CHARGE_INPUTS))
    tried = list(map(hours_at, *(points[:FEW] for points in columns)))
    if NEARLY_SURE <= sum(hours[-1] < math.inf for hours in tried) / FEW < 1:
        tried += map(hours_at, *(points[FEW:] for points in columns))
    by_need = zip(zip(*tried, strict=True), typical, strict=True)
    return tuple(_factors(sorted(hours), typical_h) for hours, typical_h in by_need)


def _factors(hours: list[float], typical_h: float) -> tuple[int, int | None, int]:
    """Return one in ten and nine of ten of rising hours over the typical, rounded outward, and the share that ends."""
    reached = sum(value < math.inf for value in hours) / len(hours)
    low, high = (order_statistic(hours, share) / typical_h for share in (LOW, HIGH))
    return (
        math.floor(1000 * min(low, 1.0) + 1e-9),
        None if high == math.inf else math.ceil(1000 * max(high, 1.0) - 1e-9),
        math.floor(1000 * reached + 1e-9),
    )


def _hours_by_need(
    *,
    power_available_kw: float,
    cell_side_factor: float,
    energy_usable_kwh: float,
    heater_kw: float,
    ambient_c: float,
    pack_c: float,
    **_of_start_and_taper: float,
) -> tuple[float, ...]:
    """Return the hours of each need, as `session_hours_h` has them before the taper."""
    if pack_c >= WARM_C and ambient_c >= WARM_C:
        power_kw = power_available_kw * cell_side_factor
        whole_h = energy_usable_kwh / power_kw if power_kw > 0 else math.inf
        return tuple([need / 100 * whole_h for need in NEEDS])
    start = cold_start(
        power_available_kw=power_available_kw,
        cell_side_factor=cell_side_factor,
        energy_usable_kwh=energy_usable_kwh,
        heater_kw=heater_kw,
        ambient_c=ambient_c,
        pack_c=pack_c,
    )
    return tuple([_hours_until(start, need / 100 * energy_usable_kwh) for need in NEEDS])


def _hours_until(start: ColdStart, missing_kwh: float) -> float:
    """Return the hours until a charge that begins cold has stored so much."""
    hours_h = 0.0
    for step in start.steps:
        stored_kwh = step.hours_h * step.power_battery_kw
        if stored_kwh >= missing_kwh:
            return hours_h + missing_kwh / step.power_battery_kw
        hours_h += step.hours_h
        missing_kwh -= stored_kwh
    return hours_h + missing_kwh / start.power_battery_kw if start.power_battery_kw > 0 else math.inf
