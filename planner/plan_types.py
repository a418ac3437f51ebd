"""What a plan is made of: the typed definition of the published plan.

Field names are the JSON's, quantities are exact here and rounded in `report`. A band that has not been computed is
absent (None and left out), never copied.
"""

from dataclasses import dataclass
from typing import Literal

from planner.chain import Link
from planner.mating import KEPT_WORDS, Kept, RefusedLead, RefusedPath
from planner.place import PlaceKind
from planner.protection import Finding
from planner.reach import Side
from planner.records import Folder
from planner.trip import GoalKind

__all__ = [
    "PLAN_SCHEMA_VERSION",
    "Abort",
    "AdapterLabel",
    "Ask",
    "BatteryUse",
    "CallAsUnderstood",
    "Caution",
    "FuelPlan",
    "GoalPlan",
    "LeadUsed",
    "MenuEntry",
    "Minutes",
    "MinutesParts",
    "OtherPath",
    "PathUsed",
    "Plan",
    "ProvenanceOfPlan",
    "Reason",
    "SettingStep",
    "Unsure",
    "Verdict",
    "Watch",
]

PLAN_SCHEMA_VERSION = "1.4"
Verdict = Literal["serve", "serve_with_changes", "ask_first", "try", "cannot_serve"]


@dataclass(frozen=True, slots=True, eq=False)
class AdapterLabel:
    """A customer's adapter with what was read off its label; None where nothing was."""

    adapter: str
    rating_current_a: float | None
    rating_voltage_v: float | None


@dataclass(frozen=True, slots=True, eq=False)
class CallAsUnderstood:
    """The call in SI units, with defaults filled in and listed."""

    rig: str
    vehicle: str
    inlet: str | None  # the port that it is said to have
    customers_adapters: tuple[AdapterLabel, ...]
    outlet: str | None  # what a rig for site outlets finds there
    breaker_a: float | None
    soc_start: float
    start_said: str | None  # what the dash says, where it is no percent
    soc_to: float | None
    distance_km: float | None
    soc_reserve: float | None
    energy_battery_kwh: float | None
    plugged_in_min: int | None
    ambient_c: float
    altitude_m: float
    fuel: str | None
    cabin_kw: float  # while it charges
    pack_c: float  # at the plug-in
    speed_kmh: float | None  # None is the mixed road
    climb_m: float
    descent_m: float
    headwind_m_per_s: float
    cargo_kg: float
    trailer_kg: float
    road_heat: bool
    goal: GoalKind | None  # what stands at the end of the distance
    reserve_km: float | None  # left on arrival, where that is more than the reserve in percent
    at: PlaceKind | None
    openings: Literal["clear", "near"] | None
    people: Literal["away", "near"] | None
    out_of_traffic: bool | None
    port_distance_m: float | None
    stand: Side | None
    gap_m: float | None
    quiet_hours: bool | None
    permission: bool | None
    danger: tuple[str, ...] | None  # none was seen where empty; None: not asked
    danger_unknown: bool  # asked, and the caller could not tell
    port_state: str | None
    twelve_volt: str | None
    key: str | None
    other_load_kw: float
    second_setting_a: float
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class GoalPlan:
    """A place that would end the emergency: what it takes, or why it is out."""

    goal: GoalKind
    distance_km: float
    soc_target: float | None
    minutes_on_site: int | None  # typical; the chosen one's band is the plan's
    chosen: bool
    code: str
    text: str


@dataclass(frozen=True, slots=True, eq=False)
class Reason:
    """Why the verdict is what it is."""

    code: str
    text: str
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class Ask:
    """The question that decides."""

    question: str
    code: str


@dataclass(frozen=True, slots=True, eq=False)
class PathUsed:
    """Connector, adapter and inlet, with the names to show."""

    connector: str
    adapter: str | None
    inlet: str
    connector_name: str
    adapter_name: str | None
    inlet_name: str
    inlet_part: str | None
    inlet_place: str
    adapter_kept: Kept | None  # on board, at the depot, or the customer's
    cable_code_a: float | None  # what a loose cable tells the vehicle

    @property
    def adapter_words(self) -> str | None:
        """Return the adapter with where it is kept, if that is not on board; None without one."""
        if self.adapter_name is None or self.adapter_kept in {None, "on_board"}:
            return self.adapter_name
        assert self.adapter_kept is not None
        return f"{self.adapter_name} ({KEPT_WORDS[self.adapter_kept]})"


@dataclass(frozen=True, slots=True, eq=False)
class OtherPath:
    """An open way that is not the one planned: its setting, or why no setting serves by it."""

    connector: str
    adapter: str | None
    inlet: str
    connector_name: str
    adapter_name: str | None
    inlet_name: str
    adapter_kept: Kept | None
    mark: str | None
    output_a: float | None
    code: str
    text: str
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class LeadUsed:
    """The supply-side lead between an outlet of the site and the EVSE's plug."""

    lead: str
    name: str
    kept: Kept
    outlet: str
    outlet_name: str
    breaker_a: float
    limit_a: float
    basis: str


@dataclass(frozen=True, slots=True, eq=False)
class SettingStep:
    """What to turn the unit to, from where, and how; from_mark is None where nobody knows what it shows."""

    mark: str
    output_a: float
    read_back_a: float  # what the unit then states: less than the mark gives with a loose cable of a smaller code
    from_mark: str | None
    allowed_a: float
    start_mark: str | None  # where it stands for the plug-in, with an engine that is loaded in two steps
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Minutes:
    """Minutes; the band is left out where it was not asked for. None in a band: that many cases never get there."""

    typical: int
    p10: int | None = None
    p50: int | None = None
    p90: int | None = None
    chance_reached: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class MinutesParts:
    """The minutes on site, part by part; cold is what a cold pack adds, make_ready what has to be tried first."""

    park: int
    make_ready: int
    warm_up: int
    handshake: int
    cold: int
    charging: int
    refuel: int
    cool_down: int
    pack_up: int

    @property
    def total(self) -> int:
        """Return all of them together: the minutes on site."""
        return (
            self.park
            + self.make_ready
            + self.warm_up
            + self.handshake
            + self.cold
            + self.charging
            + self.refuel
            + self.cool_down
            + self.pack_up
        )


@dataclass(frozen=True, slots=True, eq=False)
class MenuEntry:
    """What a stay of so many minutes plugged in gives: miles on top of those that are there, and what all reaches."""

    minutes: int
    kwh: float  # into the battery
    soc: float
    miles_likely: int
    miles_at_least: int  # in nine of ten cases, of the energy stated
    reaches: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class FuelPlan:
    """What the engine burns from warm-up to cool-down."""

    kind: str
    litres: float
    gallons: float
    left_after: float  # litres in tank and cans
    keep_litres: float  # of that, an hour at this load or the way home
    refuel_stops: int
    hours_left: float  # at this load
    battery_kwh_per_gallon: float  # into the vehicle's battery, for each gallon of this session


@dataclass(frozen=True, slots=True, eq=False)
class BatteryUse:
    """What a battery rig, or a truck's own battery, gives."""

    used_kwh: float
    left_after_kwh: float
    soc_left: float
    soc_floor: float
    way_home_kwh: float


@dataclass(frozen=True, slots=True, eq=False)
class Watch:
    """What a meter should read, and when to stop."""

    what: str
    low: float
    high: float
    stop_below: float | None
    stop_above: float | None
    unit: str


@dataclass(frozen=True, slots=True, eq=False)
class Abort:
    """When to give up."""

    text: str


@dataclass(frozen=True, slots=True, eq=False)
class Unsure:
    """How much of the spread of the minutes one input brings; empty where no band was asked for."""

    input: str
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Caution:
    """A caution that applies to this call."""

    code: str
    text: str
    source: str
    level: Literal["stop", "change", "note"]


@dataclass(frozen=True, slots=True, eq=False)
class ProvenanceOfPlan:
    """Which records a plan rests on, and their sources."""

    folders: tuple[Folder, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """The answer to a call."""

    schema_version: str
    dataset_version: str
    call: CallAsUnderstood
    verdict: Verdict
    reasons: tuple[Reason, ...]
    ask: Ask | None
    path: PathUsed | None
    lead: LeadUsed | None
    refused_leads: tuple[RefusedLead, ...]
    other_paths: tuple[OtherPath, ...]
    refused_paths: tuple[RefusedPath, ...]
    findings: tuple[Finding, ...]
    chain: tuple[Link, ...]
    setting: SettingStep | None
    current_a: float | None
    voltage_evse_v: float | None
    voltage_inlet_v: float | None
    power_meter_kw: float | None
    power_inlet_kw: float | None
    power_battery_kw: float | None
    source_load_percent: float | None
    miles_added_per_hour: int | None
    miles_added_per_hour_label: int | None
    miles_at_start: int  # what is in the battery, likely, on the road asked about
    consumption_battery_kwh_per_100mi: float
    soc_start: float
    soc_target: float | None
    soc_release: float | None
    energy_battery_kwh: float | None
    energy_meter_kwh: float | None
    minutes_charging: Minutes | None
    minutes_on_site: Minutes | None
    minutes_parts: MinutesParts | None
    goals: tuple[GoalPlan, ...]
    menu: tuple[MenuEntry, ...]
    fuel: FuelPlan | None
    battery: BatteryUse | None
    watch: tuple[Watch, ...]
    abort: tuple[Abort, ...]
    cautions: tuple[Caution, ...]
    bring: tuple[str, ...]  # what is not on board, or is needed beside what is
    steps: tuple[str, ...]
    nothing_happens: tuple[str, ...]  # where nothing happens after the plug-in: what to look at, in this order
    say: str
    unsure: tuple[Unsure, ...]
    provenance: ProvenanceOfPlan
    rig_name: str
    vehicle_name: str
