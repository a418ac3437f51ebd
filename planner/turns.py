"""Two calls for one rig, one after the other: what the first leaves of fuel or charge, the second starts with."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.answer import Call
from planner.plan_types import Plan
from planner.planning import plan_with_bands
from planner.records import Dataset, GeneratorSource, StoredSource

__all__ = ["Turns", "in_turn"]

TURNS_SCHEMA_VERSION = "1.0"
SERVED = frozenset({"serve", "serve_with_changes", "try"})


@dataclass(frozen=True, slots=True, eq=False)
class Turns:
    """Calls served in turn: their plans, and what they take together. The way from one to the next is not in it."""

    schema_version: str
    plans: tuple[Plan, ...]
    all_served: bool
    minutes_on_site: int | None  # typical, of those that are served
    minutes_allow: int | None  # nine of ten for each of them; None where one of them never gets there in so many cases
    fuel_litres: float | None
    fuel_left_litres: float | None
    battery_used_kwh: float | None
    battery_left_kwh: float | None
    shorter_first: bool  # the calls are in the order in which people wait least in all


def in_turn(dataset: Dataset, calls: Sequence[Call]) -> Turns:
    """Return the plans of calls served one after the other with one rig, in the order given.

    A call that is not served leaves the rig as it was. One EVSE serves one vehicle at a time; a second EVSE on the same
    source is an other load (`Call.second_setting_a`). Raises what `plan` raises.
    """
    plans: list[Plan] = []
    fuel_left_l: dict[str, float] = {}  # by kind: a rig may carry two, and each call burns one
    charge_percent: int | None = None
    for call in calls:
        source = dataset.rig(call.rig).source
        if isinstance(source, GeneratorSource):
            kind = call.fuel or source.default_fuel
            if kind in fuel_left_l:
                tank_l = next(record.tank_l for name, record in source.fuels.items() if name == kind)
                left_l = fuel_left_l[kind]
                call = replace(call, tank_now_l=min(left_l, tank_l), cans_now_l=max(left_l - tank_l, 0.0))
        elif charge_percent is not None:
            call = replace(call, charge_now_percent=charge_percent)
        found = plan_with_bands(dataset, call)
        plans.append(found)
        if found.verdict not in SERVED:
            continue
        if found.fuel is not None:
            fuel_left_l[found.fuel.kind] = max(found.fuel.left_after, 0.0)
        if isinstance(source, StoredSource) and found.battery is not None:
            charge_percent = math.floor(100 * max(found.battery.soc_left, 0.0) + 1e-9)
    return _together(plans)


def _together(plans: Sequence[Plan]) -> Turns:
    served = [found for found in plans if found.verdict in SERVED and found.minutes_on_site is not None]
    stays = [found.minutes_on_site for found in served if found.minutes_on_site is not None]
    allow = [stay.p90 for stay in stays]
    fuels = [found.fuel for found in served if found.fuel is not None]
    stores = [found.battery for found in served if found.battery is not None]
    typical = [stay.typical for stay in stays]
    return Turns(
        schema_version=TURNS_SCHEMA_VERSION,
        plans=tuple(plans),
        all_served=len(served) == len(plans),
        minutes_on_site=sum(typical) if typical else None,
        minutes_allow=None if not allow or None in allow else sum(most for most in allow if most is not None),
        fuel_litres=sum(fuel.litres for fuel in fuels) if fuels else None,
        fuel_left_litres=fuels[-1].left_after if fuels else None,
        battery_used_kwh=sum(store.used_kwh for store in stores) if stores else None,
        battery_left_kwh=stores[-1].left_after_kwh if stores else None,
        shorter_first=typical == sorted(typical),
    )
