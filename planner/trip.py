"""Need to target: how many percent a distance or a wish takes, in whole percent and whole watt-hours."""

from dataclasses import dataclass

from planner.charge import ChargeTable
from planner.road import energy_needed_wh

__all__ = ["DEFAULT_RESERVE_PERCENT", "LAST_ORDINARY_PERCENT", "Miles", "Need", "Target", "ToPercent", "target"]

DEFAULT_RESERVE_PERCENT = 10  # own-judgement: kept on arrival when a call does not say
LAST_ORDINARY_PERCENT = 98  # own-judgement: the last two percent take long and are uncertain


@dataclass(frozen=True, slots=True)
class ToPercent:
    """A wish in percent of charge."""

    percent: int


@dataclass(frozen=True, slots=True)
class Miles:
    """A distance to drive, arriving with a reserve in percent; None asks for the default."""

    distance_mi: float
    reserve_percent: int | None = None

    @property
    def kept_percent(self) -> int:
        """Return the reserve that is reckoned with."""
        return DEFAULT_RESERVE_PERCENT if self.reserve_percent is None else self.reserve_percent


Need = ToPercent | Miles


@dataclass(frozen=True, slots=True)
class Target:
    """Where the charge must go; above 100 the need does not fit into the battery."""

    percent: int
    energy_road_wh: int
    most_miles_mi: float  # what a full battery gives above the reserve


def target(need: Need, table: ChargeTable, *, wh_per_10_miles_wh: int) -> Target:
    """Return the target in whole percent, rounded up.

    For miles: the smallest percent whose energy covers the road above the reserve.
    """
    full_wh = table.battery_wh_at(100)
    if isinstance(need, ToPercent):
        return Target(need.percent, 0, 10 * full_wh / wh_per_10_miles_wh)
    road_wh = energy_needed_wh(distance_mi=need.distance_mi, wh_per_10_miles_wh=wh_per_10_miles_wh)
    reserve_wh = table.battery_wh_at(need.kept_percent)
    needed_wh = reserve_wh + road_wh
    percent = -(-100 * needed_wh // full_wh)
    while percent > 0 and percent <= 100 and table.battery_wh_at(percent - 1) >= needed_wh:
        percent -= 1
    while percent <= 100 and table.battery_wh_at(percent) < needed_wh:
        percent += 1
    return Target(percent, road_wh, 10 * (full_wh - reserve_wh) / wh_per_10_miles_wh)
