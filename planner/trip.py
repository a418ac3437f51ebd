"""What the dash says to percent, and need to target: in whole percent and whole watt-hours."""

import math
from dataclasses import dataclass
from typing import Literal

from planner.charge import ChargeTable
from planner.journey import RoadEnergy, label_wh_per_10_miles
from planner.records import VehicleClass
from planner.wording import sentence

__all__ = [
    "CHARGER_RESERVE_MI",
    "CHARGER_RESERVE_PERCENT",
    "DASH_MILES_HIGH",
    "DASH_MILES_LOW",
    "DASH_ROUNDING_PERCENT",
    "DASH_SAID",
    "DASH_WORDS",
    "DEFAULT_RESERVE_PERCENT",
    "GOAL_WORDS",
    "LAST_ORDINARY_PERCENT",
    "DashBars",
    "DashMiles",
    "DashWord",
    "Energy",
    "Goal",
    "GoalKind",
    "Miles",
    "Need",
    "Start",
    "StartSoc",
    "Target",
    "TimePluggedIn",
    "ToPercent",
    "reserve_wh",
    "start_soc",
    "target",
]

DEFAULT_RESERVE_PERCENT = 10  # own-judgement: kept on arrival when a call does not say
CHARGER_RESERVE_PERCENT, CHARGER_RESERVE_MI = 5, 10.0  # own-judgement: kept on arrival at a charger, the more of both
LAST_ORDINARY_PERCENT = 98  # own-judgement: the last two percent take long and are uncertain
DASH_ROUNDING_PERCENT = 1  # own-judgement: a dash rounds, and is a percent off
# own-judgement: a dash goes by label or by recent driving, which may have been quite another road.
DASH_MILES_LOW, DASH_MILES_HIGH = 0.6, 1.25
# own-judgement, from memory: what is left at least, likely and at most when a dash shows this.
DASH_WORDS: dict[str, tuple[int, int, int]] = {
    "turtle": (0, 2, 5),
    "dashes": (0, 3, 8),
    "dead": (0, 0, 2),
    "unknown": (0, 8, 30),
}
DASH_SAID = {"turtle": "a turtle", "dashes": "dashes for the range", "dead": "nothing", "unknown": "not known"}
DashName = Literal["turtle", "dashes", "dead", "unknown"]


@dataclass(frozen=True, slots=True)
class DashMiles:
    """A dash that shows miles: energy by label or recent driving, never by today's road."""

    distance_mi: float


@dataclass(frozen=True, slots=True)
class DashBars:
    """A dash that shows bars: `lit` of `of`."""

    lit: int
    of: int


@dataclass(frozen=True, slots=True)
class DashWord:
    """A dash that shows a turtle, or dashes for the range, or nothing, or that nobody has read."""

    word: DashName


Start = int | DashMiles | DashBars | DashWord


@dataclass(frozen=True, slots=True)
class StartSoc:
    """The charge at the start: likely in whole percent, with its ends, and what the dash said where not a percent."""

    percent: int
    low_percent: float
    high_percent: float
    said: str | None = None


def start_soc(start: Start, vehicle: VehicleClass) -> StartSoc:
    """Return what a dash means in percent of the battery as it is now, rounded down."""
    if isinstance(start, int):
        return StartSoc(start, max(start - DASH_ROUNDING_PERCENT, 0), min(start + DASH_ROUNDING_PERCENT, 100))
    if isinstance(start, DashMiles):
        percent = start.distance_mi * label_wh_per_10_miles(vehicle) / (100 * vehicle.energy_now_kwh)
        return StartSoc(
            min(math.floor(percent + 1e-9), 100),
            min(DASH_MILES_LOW * percent, 100.0),
            min(DASH_MILES_HIGH * percent, 100.0),
            f"{round(start.distance_mi, 1):g} mi",
        )
    if isinstance(start, DashBars):
        # The last bar goes out somewhere between its own length and nothing.
        low, high = (start.lit - 1, start.lit) if start.lit else (0, 0.5)
        ends = 100 * low / start.of, 100 * high / start.of
        return StartSoc(math.floor((ends[0] + ends[1]) / 2 + 1e-9), *ends, f"{start.lit} of {start.of} bars")
    low, likely, high = DASH_WORDS[start.word]
    return StartSoc(likely, low, high, DASH_SAID[start.word])


@dataclass(frozen=True, slots=True)
class ToPercent:
    """A wish in percent of charge."""

    percent: int


GoalKind = Literal["home", "fast_charger"]
GOAL_WORDS: dict[GoalKind, str] = {"home": "home", "fast_charger": "fast charger"}


@dataclass(frozen=True, slots=True)
class Miles:
    """A distance to drive, arriving with a reserve in percent; None asks for the default.

    `goal` says what stands at its end: where a charger waits, less has to be left.
    """

    distance_mi: float
    reserve_percent: int | None = None
    goal: GoalKind | None = None

    @property
    def kept_percent(self) -> int:
        """Return the reserve that is reckoned with."""
        if self.reserve_percent is not None:
            return self.reserve_percent
        return CHARGER_RESERVE_PERCENT if self.goal == "fast_charger" else DEFAULT_RESERVE_PERCENT

    @property
    def kept_mi(self) -> float:
        """Return the miles that are left on arrival, where those are more than the reserve in percent."""
        return CHARGER_RESERVE_MI if self.goal == "fast_charger" and self.reserve_percent is None else 0.0

    @property
    def kept_words(self) -> str:
        """Return what is left on arrival, in words."""
        if self.kept_mi:
            return sentence("keeps_or_miles", percent=self.kept_percent, miles=f"{self.kept_mi:g}")
        return sentence("keeps_percent", percent=self.kept_percent)


@dataclass(frozen=True, slots=True)
class Goal:
    """A place that ends the emergency; of a charger, whether it takes this port and is open. None: not known."""

    kind: GoalKind
    distance_mi: float
    fits: bool | None = None
    is_open: bool | None = None


@dataclass(frozen=True, slots=True)
class Energy:
    """A wish in kilowatt-hours into the battery."""

    energy_battery_kwh: float


@dataclass(frozen=True, slots=True)
class TimePluggedIn:
    """The minutes that the customer has, plugged in: hand-shake, cold start and charging."""

    minutes: int


Need = ToPercent | Miles | Energy | TimePluggedIn


@dataclass(frozen=True, slots=True)
class Target:
    """Where the charge must go; above 100 the need does not fit into the battery."""

    percent: int
    percent_typical: int  # what the road typically takes, with the reserve that was asked for by name
    energy_road_wh: int
    most_miles_mi: float  # what a full battery gives above the reserve, in nine of ten cases too
    nine_of_ten: bool  # the nine of ten cases, not the reserve, set the target

    @property
    def goal_percent(self) -> int:
        """Return where a charge ends: the target, or where nine of ten cases do not fit, what typically does."""
        if self.percent <= 100 or self.percent_typical > 100:
            return self.percent
        return max(self.percent_typical, LAST_ORDINARY_PERCENT)


def target(need: Need, table: ChargeTable, road: RoadEnergy, *, start_percent: int, handshake_s: int) -> Target:
    """Return the target in whole percent, rounded up.

    For miles: the smallest percent that typically leaves the reserve and that makes the road in nine of ten cases.
    """
    full_wh = table.battery_wh_at(100)
    if isinstance(need, Miles):
        return _for_miles(need, table, road, full_wh)
    if isinstance(need, ToPercent):
        percent = need.percent
    elif isinstance(need, Energy):
        wanted_wh = table.battery_wh_at(start_percent) + math.ceil(1000 * need.energy_battery_kwh * (1 - 1e-9))
        percent = _percent_for(wanted_wh, table, full_wh)
    else:
        percent = table.percent_after(start_percent, 60 * need.minutes - handshake_s)
    return Target(percent, percent, 0, 10 * full_wh / road.wh_per_10_miles, False)


def reserve_wh(need: Miles, table: ChargeTable, road: RoadEnergy) -> int:
    """Return what is to be left on arrival: the percent, or the miles where those take more."""
    kept_mi_wh = -(-math.ceil(need.kept_mi) * road.wh_per_10_miles // 10)
    return max(table.battery_wh_at(need.kept_percent), kept_mi_wh)


def _for_miles(need: Miles, table: ChargeTable, road: RoadEnergy, full_wh: int) -> Target:
    road_wh = road.typical_wh(need.distance_mi)
    kept_wh = reserve_wh(need, table, road)
    with_reserve = _percent_for(road_wh + kept_wh, table, full_wh)
    sure = _percent_for(road.sure_wh(need.distance_mi), table, full_wh)
    asked_wh = kept_wh if need.reserve_percent is not None else 0
    typical = with_reserve if asked_wh else _percent_for(road_wh, table, full_wh)
    kept_mi = 10 * (full_wh - kept_wh - road.hills_wh) / road.wh_per_10_miles
    return Target(
        percent=max(with_reserve, sure),
        percent_typical=typical,
        energy_road_wh=road_wh,
        most_miles_mi=max(min(kept_mi, road.sure_miles_mi(full_wh)), 0.0),
        nine_of_ten=sure > with_reserve,
    )


def _percent_for(needed_wh: int, table: ChargeTable, full_wh: int) -> int:
    """Return the smallest whole percent whose energy covers so much; above 100 where a full battery does not."""
    percent = -(-100 * needed_wh // full_wh)
    while percent > 0 and percent <= 100 and table.battery_wh_at(percent - 1) >= needed_wh:
        percent -= 1
    while percent <= 100 and table.battery_wh_at(percent) < needed_wh:
        percent += 1
    return percent
