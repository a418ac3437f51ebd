"""By what the minutes of a charge differ from the typical ones, for a page that cannot try 1,024 cases by itself.

The dash is left out: a page knows the typical minutes from any start, and puts the spread of the start in by itself.
"""

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

from planner.answer import Answer, Call
from planner.charge import ColdPack, WarmUp, cold_pack
from planner.pack import WARM_C
from planner.samples import COUNT, column, order_statistic
from planner.spread import HIGH, KEPT, LOW, MIDDLE, Cases, Packs, Points, session_cases

__all__ = ["MORE_PARTS", "NEEDS", "NEVER_STEPS", "STEP", "Factor", "in_steps", "mean_factors", "rate_factors"]

# Percent of charge. Each can end before any taper: its minutes are then those of a rate and of a cold start, from
# whichever percent it begins. The first percent of a cold start is mostly waiting, so short needs lie closer.
NEEDS = (1, 4, 12, 35, 80)
# Parts of all cases besides one and nine of ten, for minutes that no smooth curve tells: where some packs charge as
# they are and others wait to be warm, or where power is all but used up.
MORE_PARTS = (MIDDLE, 0.7, 0.8, 0.85, 0.95)
PARTS = (LOW, HIGH, *MORE_PARTS)
SMOOTH = math.log(1.15)  # own-judgement: from a smooth curve it is less than minutes are rounded by as they are shown
STEP = 0.03  # factors are published as whole powers of 1 + STEP
NEVER_STEPS = 255  # and never as this one
FEW = COUNT // 4  # the first points of the sequence fill the cube as evenly as all of them do
# A few cases without end say that power is nearly used up: the longest of the others then differ by hours, and only
# all points tell where nine of ten are.
NEARLY_SURE = 0.85
# Those that never get there bend the curve, unless they are so few, or so many that nine of ten are out of reach even
# where some need no charge at all.
VERY_FEW, VERY_MANY = 0.03, 0.25
TYPICAL_AND_FEW = Points(lambda name: (MIDDLE, *column(name)[:FEW]))
OTHER_POINTS = Points(lambda name: column(name)[FEW:])
SHARES = [need / 100 for need in NEEDS]
NEVER = [math.inf] * len(NEEDS)
NORMAL = NormalDist()
TENTH = NORMAL.inv_cdf(HIGH)  # standard deviations from the middle to one in ten
MORE_DEVIATES = tuple(NORMAL.inv_cdf(part) for part in MORE_PARTS)


@dataclass(frozen=True, slots=True, eq=False)
class Factor:
    """The minutes of a need over the typical ones at each of `PARTS`, infinite where fewer get there."""

    times: tuple[float, ...]
    reached: float  # share of all cases that get there


def rate_factors(call: Call, found: Answer) -> tuple[Factor, ...]:
    """Return by what minutes differ from the typical ones at each of `NEEDS`. The answer is one that charges."""
    typical, *tried = _hours_by_need(session_cases(call, found, TYPICAL_AND_FEW))
    if NEARLY_SURE <= 1 - [hours[-1] for hours in tried].count(math.inf) / FEW < 1:
        tried += _hours_by_need(session_cases(call, found, OTHER_POINTS))
    by_need = zip(zip(*tried, strict=True), typical, strict=True)
    return tuple([_factor(sorted(hours), typical_h) for hours, typical_h in by_need])


def _factor(hours: list[float], typical_h: float) -> Factor:
    """Return rising hours over the typical."""
    times = tuple([order_statistic(hours, part) / typical_h for part in PARTS])
    return Factor(times, bisect_left(hours, math.inf) / len(hours))


def mean_factors(parts: Sequence[Sequence[Factor]]) -> tuple[Factor, ...]:
    """Return the mean of factors, need by need; never reached in one is never reached."""
    return tuple(
        [
            Factor(
                tuple([sum(times) / len(times) for times in zip(*(one.times for one in several), strict=True)]),
                min(one.reached for one in several),
            )
            for several in zip(*parts, strict=True)
        ]
    )


def in_steps(factors: Sequence[Factor]) -> tuple[list[int], list[int]]:
    """Return factors as they are published: need by need, and the shape of those that no smooth curve tells.

    Of each need one and nine of ten, in powers of 1 + `STEP`, and who gets there, in thousandths. The shape holds of
    each need what `MORE_PARTS` take, in the same powers; it is empty where a smooth curve is as good at every need but
    the least, of which a charge is seldom made.
    """
    needs = [
        value
        for factor in factors
        for value in (
            _in_steps(factor.times[0]),
            _in_steps(factor.times[1]),
            math.floor(1000 * factor.reached + 1e-9),
        )
    ]
    if all(map(_smooth, factors[1:])):
        return needs, []
    return needs, [_in_steps(times) for factor in factors for times in factor.times[2:]]


def _in_steps(times: float) -> int:
    """Return the nearest whole power of 1 + `STEP`."""
    return NEVER_STEPS if times == math.inf else min(round(math.log(times) / math.log1p(STEP)), NEVER_STEPS - 1)


def _smooth(factor: Factor) -> bool:
    """Return whether minutes beyond the typical ones grow with the standard normal deviate z as high^(z / 1.28)."""
    never = 1 - factor.reached
    if never > VERY_FEW:
        return never > VERY_MANY
    _, high, *more = factor.times
    slope = math.log(max(high, 1.0)) / TENTH
    return all(
        times == math.inf or abs(deviate * slope - math.log(times)) <= SMOOTH
        for deviate, times in zip(MORE_DEVIATES, more, strict=True)
    )


def _hours_by_need(cases: Cases) -> list[Sequence[float]]:
    """Return the hours of each need, case by case, as `session_hours_h` has them before the taper."""
    cell, packs = cases.cell_side_factor, cases.packs
    first, second, third, fourth, last = SHARES  # written out, for each of so many cases
    found: list[Sequence[float]] = []
    for available_kw, energy_kwh, heater_kw, cold in zip(
        cases.power_available_kw, packs.energy_usable_kwh, packs.heater_kw, _cold_packs(packs), strict=True
    ):
        if available_kw <= 0:
            found.append(NEVER)
            continue
        if cold is None:
            warm_h, from_kwh, steady_kw = 0.0, 0.0, available_kw * cell
        elif available_kw >= heater_kw:
            _, (steps, steady_kw, beside_kw, _) = cold
            # What is stored, and how long it takes, until it charges steadily; nearly always before the least need.
            beside_heater_kw, warm_h, stored_kwh = (available_kw - heater_kw) * cell, 0.0, 0.0
            for hours_h, most_kw in steps:
                warm_h += hours_h
                stored_kwh += hours_h * (beside_heater_kw if beside_heater_kw < most_kw else most_kw)
            if stored_kwh >= first * energy_kwh:
                found.append(_cold_hours_by_need(cold[1], available_kw, beside_heater_kw, cell, energy_kwh))
                continue
            from_kwh = stored_kwh
            if (available_kw - beside_kw) * cell < steady_kw:
                steady_kw = (available_kw - beside_kw) * cell
        else:  # the heater takes it all, and warms the pack as slowly
            pack = cold[0]
            warm_h, from_kwh = pack.warms_in_h(available_kw), 0.0
            if warm_h == math.inf:
                found.append(NEVER)
                continue
            steady_kw = (available_kw - (pack.hold_kw if pack.hold_kw < available_kw else available_kw)) * cell
        if steady_kw <= 0:
            found.append(NEVER)
            continue
        whole_h, from_h = energy_kwh / steady_kw, warm_h - from_kwh / steady_kw
        found.append(
            (
                from_h + first * whole_h,
                from_h + second * whole_h,
                from_h + third * whole_h,
                from_h + fourth * whole_h,
                from_h + last * whole_h,
            )
        )
    return found


@lru_cache(maxsize=KEPT)
def _cold_packs(packs: Packs) -> list[tuple[ColdPack, WarmUp] | None]:
    """Return each pack, and how it warms up with all that its heater can take; None where pack and air are warm."""
    found: list[tuple[ColdPack, WarmUp] | None] = []
    for energy_kwh, heater_kw, ambient_c, pack_c in zip(
        packs.energy_usable_kwh, packs.heater_kw, packs.ambient_c, packs.pack_c, strict=True
    ):
        if pack_c >= WARM_C and ambient_c >= WARM_C:
            found.append(None)
            continue
        cold = cold_pack(energy_usable_kwh=energy_kwh, ambient_c=ambient_c, pack_c=pack_c)
        found.append((cold, cold.warm_up(heater_kw)))
    return found


def _cold_hours_by_need(
    warming: WarmUp, available_kw: float, beside_heater_kw: float, cell: float, energy_kwh: float
) -> list[float]:
    """Return the hours until a charge that begins cold has stored each need, which rise."""
    found: list[float] = []
    before_h = 0.0
    missing_kwh = [share * energy_kwh for share in SHARES]
    for hours_h, most_kw in warming.steps:
        stored_kw = min(beside_heater_kw, most_kw)
        if stored_kw > 0:
            stored_kwh = hours_h * stored_kw
            while missing_kwh and missing_kwh[0] <= stored_kwh:
                found.append(before_h + missing_kwh.pop(0) / stored_kw)
            missing_kwh = [kwh - stored_kwh for kwh in missing_kwh]
        before_h += hours_h
    steady_kw = min((available_kw - warming.beside_kw) * cell, warming.most_kw)
    if steady_kw <= 0:
        return found + NEVER[len(found) :]
    return found + [before_h + kwh / steady_kw for kwh in missing_kwh]
