"""By what the minutes of a charge differ from the typical ones, for a page that cannot try 1,024 cases by itself.

The dash is left out: a page knows the typical minutes from any start, and puts the spread of the start in by itself.
"""

import math
from bisect import bisect_left
from functools import lru_cache

from planner.answer import Answer, Call
from planner.charge import WarmUp, warm_up
from planner.pack import WARM_C
from planner.samples import COUNT, column, order_statistic
from planner.spread import HIGH, KEPT, LOW, MIDDLE, Cases, Packs, Points, session_cases

__all__ = ["NEEDS", "rate_factors"]

# Percent of charge. Each can end before any taper: its minutes are then those of a rate and of a cold start, from
# whichever percent it begins.
NEEDS = (5, 10, 20, 40, 80)
FEW = COUNT // 4  # the first points of the sequence fill the cube as evenly as all of them do
# A few cases without end say that power is nearly used up: the longest of the others then differ by hours, and only
# all points tell where nine of ten are.
NEARLY_SURE = 0.85
TYPICAL_AND_FEW = Points(lambda name: (MIDDLE, *column(name)[:FEW]))
OTHER_POINTS = Points(lambda name: column(name)[FEW:])
SHARES = [need / 100 for need in NEEDS]
NEVER = [math.inf] * len(NEEDS)


def rate_factors(call: Call, found: Answer) -> tuple[tuple[int, int | None, int], ...]:
    """Return p10 and p90 over the typical minutes at each of `NEEDS`, and the share that gets there, in thousandths.

    The answer is one that charges. p90 is None where fewer than nine of ten get there.
    """
    typical, *tried = _hours_by_need(session_cases(call, found, TYPICAL_AND_FEW))
    if NEARLY_SURE <= 1 - [hours[-1] for hours in tried].count(math.inf) / FEW < 1:
        tried += _hours_by_need(session_cases(call, found, OTHER_POINTS))
    by_need = zip(zip(*tried, strict=True), typical, strict=True)
    return tuple(_factors(sorted(hours), typical_h) for hours, typical_h in by_need)


def _factors(hours: list[float], typical_h: float) -> tuple[int, int | None, int]:
    """Return one in ten and nine of ten of rising hours over the typical, rounded outward, and the share that ends."""
    reached = bisect_left(hours, math.inf) / len(hours)
    low, high = (order_statistic(hours, share) / typical_h for share in (LOW, HIGH))
    return (
        math.floor(1000 * min(low, 1.0) + 1e-9),
        None if high == math.inf else math.ceil(1000 * max(high, 1.0) - 1e-9),
        math.floor(1000 * reached + 1e-9),
    )


def _hours_by_need(cases: Cases) -> list[list[float]]:
    """Return the hours of each need, case by case, as `session_hours_h` has them before the taper."""
    cell, packs = cases.cell_side_factor, cases.packs
    found = []
    for available_kw, energy_kwh, heater_kw, ambient_c, pack_c, warming in zip(
        cases.power_available_kw,
        packs.energy_usable_kwh,
        packs.heater_kw,
        packs.ambient_c,
        packs.pack_c,
        _warm_ups(packs),
        strict=True,
    ):
        if available_kw <= 0:
            found.append(NEVER)
        elif warming is None:
            whole_h = energy_kwh / (available_kw * cell)
            found.append([share * whole_h for share in SHARES])
        elif available_kw >= heater_kw:
            found.append(_cold_hours_by_need(warming, available_kw, available_kw - heater_kw, cell, energy_kwh))
        else:  # the heater takes it all, and warms the pack as slowly
            slower = warm_up(heater_kw=available_kw, energy_usable_kwh=energy_kwh, ambient_c=ambient_c, pack_c=pack_c)
            found.append(NEVER if slower.crawls else _cold_hours_by_need(slower, available_kw, 0.0, cell, energy_kwh))
    return found


@lru_cache(maxsize=KEPT)
def _warm_ups(packs: Packs) -> list[WarmUp | None]:
    """Return how each pack warms up with all that its heater can take; None where pack and air are warm."""
    return [
        None
        if pack_c >= WARM_C and ambient_c >= WARM_C
        else warm_up(heater_kw=heater_kw, energy_usable_kwh=energy_kwh, ambient_c=ambient_c, pack_c=pack_c)
        for energy_kwh, heater_kw, ambient_c, pack_c in zip(
            packs.energy_usable_kwh, packs.heater_kw, packs.ambient_c, packs.pack_c, strict=True
        )
    ]


def _cold_hours_by_need(
    warming: WarmUp, available_kw: float, beside_heater_kw: float, cell: float, energy_kwh: float
) -> list[float]:
    """Return the hours until a charge that begins cold has stored each need, which rise."""
    found: list[float] = []
    before_h = 0.0
    missing_kwh = [share * energy_kwh for share in SHARES]
    for hours_h, most_kw in warming.steps:
        stored_kw = beside_heater_kw * cell
        if stored_kw > most_kw:
            stored_kw = most_kw
        if stored_kw > 0:
            stored_kwh = hours_h * stored_kw
            while missing_kwh and missing_kwh[0] <= stored_kwh:
                found.append(before_h + missing_kwh.pop(0) / stored_kw)
            missing_kwh = [kwh - stored_kwh for kwh in missing_kwh]
        before_h += hours_h
    steady_kw = (available_kw - warming.beside_kw) * cell
    if steady_kw > warming.most_kw:
        steady_kw = warming.most_kw
    if steady_kw <= 0:
        return found + NEVER[len(found) :]
    rest = [before_h + kwh / steady_kw for kwh in missing_kwh]
    return found + rest if found else rest
