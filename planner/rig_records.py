"""The records of a rig: its source, overcurrent devices, wiring, EVSE and cable."""

import re
from collections.abc import Iterator
from datetime import date
from functools import cached_property
from itertools import pairwise
from typing import Annotated, ClassVar, Literal, NamedTuple, Self

from pydantic import Field, model_validator

from planner.circuit import CONTINUOUS_LOAD_FACTOR
from planner.genset import fuel_line_above
from planner.pilot import DEAD_BAND_HIGH_A, DEAD_BAND_LOW_A, is_advertisable
from planner.record_base import (
    Altitude,
    Amps,
    Celsius,
    Fault,
    Fraction,
    FuelKind,
    Id,
    Kilowatts,
    Litres,
    Metres,
    Name,
    PositiveFraction,
    Record,
    Reference,
    SpreadVolts,
    Text,
    Volts,
    Watts,
    WholeNumber,
    refuse,
)

__all__ = [
    "BUILDING_WIRE_TABLE",
    "CORD_SIZES",
    "CORD_TABLE",
    "CORRECTION_TABLE",
    "GROUNDING_TABLE",
    "LEAD_TABLES",
    "PORTABLE_CABLE_SIZES",
    "PORTABLE_CABLE_TABLE",
    "RESISTANCE_TABLE",
    "SMALL_CONDUCTOR_TABLE",
    "STANDARD_RATINGS_TABLE",
    "AnySource",
    "BatterySource",
    "Breaker",
    "BurnPoint",
    "Cable",
    "ColdPoint",
    "ColdShares",
    "Commissioning",
    "CommissioningRun",
    "Conductor",
    "ConnectedSource",
    "CostItem",
    "DerateRule",
    "Evse",
    "Fuel",
    "GeneratorSource",
    "OtherLoads",
    "Plug",
    "PropaneCylinders",
    "Receptacle",
    "Rig",
    "Setting",
    "Site",
    "SiteOutletSource",
    "StoredSource",
    "SupplyPart",
    "TruckExportSource",
    "WireSize",
    "run_faults",
]

# The published tables that the chain looks up, by record id.
BUILDING_WIRE_TABLE = "nec-310-16"
CORD_TABLE = "nec-400-5-a-1"
PORTABLE_CABLE_TABLE = "nec-400-5-a-2"
CORRECTION_TABLE = "nec-310-15-b-1"
GROUNDING_TABLE = "nec-250-122"
RESISTANCE_TABLE = "nec-chapter-9-table-8"
STANDARD_RATINGS_TABLE = "nec-240-6-a"
SMALL_CONDUCTOR_TABLE = "nec-240-4-d"

# The tables that a supply-side lead is judged by: a rig without cord needs them once a lead joins it to an outlet.
LEAD_TABLES = (CORD_TABLE, CORRECTION_TABLE, GROUNDING_TABLE, RESISTANCE_TABLE, STANDARD_RATINGS_TABLE)

WireSize = Literal["14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0"]
CORD_SIZES = ("14", "12", "10", "8", "6", "4", "3", "2")
PORTABLE_CABLE_SIZES = ("12", "10", "8", "6", "4", "3", "2", "1", "1/0")
Grade = Literal["evse_listed", "industrial", "residential"]
Gfci = Literal["none", "class_a"]
BuiltIn = Annotated[
    bool | None,
    Field(description="True for the source maker's own part, which is named and never changed; leave out if not known"),
]


class DerateRule(Record):
    """An engine's common rule: shares of running watts lost to height and heat."""

    loss_per_1000ft: Fraction = 0.035
    loss_per_10f: Fraction = 0.01
    free_altitude_m: Altitude = 0.0
    free_ambient_c: Celsius = 25.0


class BurnPoint(Record):
    """One point of a maker's fuel table."""

    power_kw: Annotated[float, Field(ge=0, le=1000)]
    burn_l_per_h: Annotated[float, Field(gt=0, le=500)]


class PropaneCylinders(Record):
    """The cylinders that feed the engine at one time: in the cold their wetted wall sets how much gas there is."""

    count: Annotated[int, Field(ge=1, le=20), WholeNumber]
    diameter_m: Annotated[float, Field(ge=0.1, le=1.5)]
    length_m: Annotated[float, Field(ge=0.1, le=5)]
    least_fill: Annotated[float, Field(ge=0.1, le=0.8)] = Field(
        default=0.2, description="Share of liquid down to which a plan counts on them"
    )


class Fuel(Record):
    """One fuel of a generator: its running watts on it, its burn, and what is on board when full."""

    running_power_w: Annotated[float, Field(ge=300, le=1_000_000)]
    tank_l: Litres
    spare_l: Litres = 0.0
    keep_l: Litres = Field(
        default=0.0, description="What the way home takes, where the set draws from the truck's own tank"
    )
    burn_no_load_l_per_h: Annotated[float, Field(ge=0, le=100)] | None = None
    burn_slope_l_per_kwh: Annotated[float, Field(gt=0, le=5)] | None = None
    burn_points: tuple[BurnPoint, ...] = Field(
        default=(), description="The maker's points instead of the line: at least two loads"
    )
    cylinders: PropaneCylinders | None = None

    @model_validator(mode="after")
    def burns_by_line_or_points(self) -> Self:
        has_line = self.burn_no_load_l_per_h is not None and self.burn_slope_l_per_kwh is not None
        either = self.burn_no_load_l_per_h is not None or self.burn_slope_l_per_kwh is not None
        loads = {point.power_kw for point in self.burn_points}
        if self.burn_points and either:
            refuse(
                Fault(
                    ("burn_points",),
                    "either burn_points or the two numbers of the line",
                    "both",
                    "keep the maker's points, or the line",
                )
            )
        if not has_line and len(loads) < 2:
            refuse(
                Fault(
                    ("burn_points",) if self.burn_points else ("burn_no_load_l_per_h",),
                    "burn_no_load_l_per_h with burn_slope_l_per_kwh, or burn_points at two loads or more",
                    "one load" if self.burn_points else "neither",
                    "state how much it burns at no load and per kWh, or the maker's points",
                )
            )
        if not has_line and self.burn_line[1] <= 0:
            refuse(
                Fault(
                    ("burn_points",),
                    "more fuel for more load",
                    "points that fall",
                    "put each burn beside its own load",
                )
            )
        return self

    @cached_property
    def burn_line(self) -> tuple[float, float]:
        """Return litres an hour at no load and litres per kWh: as stated, or a line that no point lies above."""
        if self.burn_no_load_l_per_h is not None and self.burn_slope_l_per_kwh is not None:
            return self.burn_no_load_l_per_h, self.burn_slope_l_per_kwh
        return fuel_line_above([(point.power_kw, point.burn_l_per_h) for point in self.burn_points])


Connection = Literal["split_phase_240", "one_leg_120", "three_phase_208_line_to_line", "line_to_neutral_277"]
# Steady volts that each connection may show under load; what lies outside was measured elsewhere or mistyped.
CONNECTION_VOLTS = {
    "split_phase_240": (210.0, 264.0),
    "one_leg_120": (105.0, 132.0),
    "three_phase_208_line_to_line": (182.0, 229.0),
    "line_to_neutral_277": (242.0, 305.0),
}
NOMINAL_V = {
    "split_phase_240": 240.0,
    "one_leg_120": 120.0,
    "three_phase_208_line_to_line": 208.0,
    "line_to_neutral_277": 277.0,
}
Neutral = Literal["bonded_at_source", "floating", "bonded_twice", "unknown"]


class ConnectedSource(Record):
    """What every source has: its connection and volts, its neutral, and what its instructions say."""

    connection: Connection
    voltage_v: SpreadVolts = Field(description="Steady volts under load at the connection, lowest to highest seen")
    neutral: Neutral = Field(description="Bonded to the frame at the source (a site outlet: at the service)")
    instructions: Literal["allow", "forbid", "silent"] | None = Field(
        default=None, description="What the maker's instructions say of charging vehicles; leave out if not read"
    )
    noise_dba_7m: Annotated[float, Field(ge=20, le=120)] | None = None
    mass_kg: Annotated[float, Field(gt=0, le=20_000)] | None = None

    @model_validator(mode="after")
    def volts_suit_the_connection(self) -> Self:
        low_v, high_v = CONNECTION_VOLTS[self.connection]
        if self.voltage_v.low < low_v or self.voltage_v.high > high_v:
            end = "low" if self.voltage_v.low < low_v else "high"
            refuse(
                Fault(
                    ("voltage_v", end),
                    f"{low_v:g} to {high_v:g} V for {self.connection}",
                    f"{getattr(self.voltage_v, end):g} V",
                    "correct the volts, or the connection they were measured at",
                )
            )
        return self

    @property
    def engine(self) -> bool:
        """Return whether an engine may run where it stands."""
        return False


class GeneratorSource(ConnectedSource):
    """An engine generator, at the connection that the rig uses. A second connection is a second rig."""

    kind: Literal["generator"]
    nameplate_current_a: Amps = Field(description="What the winding or leg carries continuously at this connection")
    fuels: dict[FuelKind, Fuel] = Field(description="For a parallel pair: the running watts and burn of both together")
    default_fuel: FuelKind
    derate: DerateRule
    induction: Literal["natural", "turbocharged", "turbocharged_intercooled"] = "natural"
    build: Literal["conventional", "inverter"] = "conventional"
    sets: Annotated[Literal[1, 2], WholeNumber] = Field(default=1, description="2 for a parallel pair")
    paired_by_makers_kit: bool = Field(default=False, description="True where the pair is joined by the maker's kit")
    one_pair_power_w: Watts | None = Field(
        default=None, description="What the maker allows on one pair of lines, where that is less than the whole"
    )
    regulation_class: Literal["g1", "g2", "g3"] | None = Field(
        default=None, description="Performance class of ISO 8528 for volts and frequency"
    )
    thd_percent: Annotated[float, Field(ge=0, le=60)] | None = Field(
        default=None, description="Total harmonic distortion of the volts under load"
    )

    @property
    def engine(self) -> bool:
        """Return whether an engine may run where it stands."""
        return True

    @model_validator(mode="after")
    def parts_agree(self) -> Self:
        if self.default_fuel not in self.fuels:
            refuse(
                Fault(
                    ("default_fuel",),
                    f"one of the fuels listed: {', '.join(self.fuels) or 'none'}",
                    self.default_fuel,
                    "add that fuel under fuels, or name another",
                )
            )
        for name, fuel in self.fuels.items():
            if fuel.cylinders is not None and name != "propane":
                refuse(
                    Fault(
                        ("fuels", name, "cylinders"),
                        "cylinders under propane alone",
                        f"under {name}",
                        "move them to propane, or remove them",
                    )
                )
        if self.paired_by_makers_kit and self.sets == 1:
            refuse(
                Fault(
                    ("paired_by_makers_kit",),
                    "sets: 2 with it",
                    "sets: 1",
                    "write sets: 2 for a parallel pair, or leave it out",
                )
            )
        return self


class ColdPoint(Record):
    """What a store gives in air of one temperature, as shares of its rating."""

    ambient_c: Celsius
    power_share: Fraction
    energy_share: Fraction


class ColdShares(NamedTuple):
    """What is left of a store's power and energy in air of one temperature."""

    power_share: float
    energy_share: float


class StoredSource(ConnectedSource):
    """A battery with an inverter, on a rig or in a truck: both give what they hold, down to a floor."""

    nameplate_current_a: Amps
    power_continuous_w: Watts = Field(description="What the inverter gives for hours; its outlet may be larger")
    power_short_w: Watts | None = Field(default=None, description="For seconds; never counted on")
    energy_usable_kwh: Annotated[float, Field(gt=0, le=2000)]
    soc_floor: Fraction = Field(description="Share of the usable energy that is kept")
    way_home_kwh: Annotated[float, Field(ge=0, le=500)] = Field(
        default=0.0, description="What the way home takes out of the same store, on top of the floor"
    )
    efficiency: PositiveFraction = Field(description="AC out over energy taken from the battery")
    in_the_cold: tuple[ColdPoint, ...] = Field(
        default=(), description="Rising by temperature; the warmest point is at full power and energy"
    )
    recharge_kw: Kilowatts | None = Field(default=None, description="AC power it takes to fill up again")

    @model_validator(mode="after")
    def cold_points_rise(self) -> Self:
        for before, after in pairwise(self.in_the_cold):
            if not (
                before.ambient_c < after.ambient_c
                and before.power_share <= after.power_share
                and before.energy_share <= after.energy_share
            ):
                refuse(
                    Fault(
                        ("in_the_cold",),
                        "points that rise: warmer, and no less power or energy",
                        f"{before.ambient_c:g} C before {after.ambient_c:g} C",
                        "put the points in order",
                    )
                )
        return self

    def spendable_kwh(self, ambient_c: float, charge_now: float = 1.0) -> float:
        """Return what may be taken out in air of a temperature: what is there, less the floor and the way home."""
        energy_kwh = self.energy_usable_kwh * self.share_in_air(ambient_c).energy_share
        return max(energy_kwh * (charge_now - self.soc_floor) - self.way_home_kwh, 0.0)

    def share_in_air(self, ambient_c: float) -> ColdShares:
        """Return the shares in air of a temperature: straight between points, level beyond them, all without any."""
        points = self.in_the_cold
        if not points:
            return ColdShares(1.0, 1.0)
        if ambient_c <= points[0].ambient_c or ambient_c >= points[-1].ambient_c:
            end = points[0] if ambient_c <= points[0].ambient_c else points[-1]
            return ColdShares(end.power_share, end.energy_share)
        before, after = next(pair for pair in pairwise(points) if ambient_c <= pair[1].ambient_c)
        part = (ambient_c - before.ambient_c) / (after.ambient_c - before.ambient_c)
        return ColdShares(
            before.power_share + part * (after.power_share - before.power_share),
            before.energy_share + part * (after.energy_share - before.energy_share),
        )


class BatterySource(StoredSource):
    """A battery with an inverter, on the rig."""

    kind: Literal["battery_inverter"]


class TruckExportSource(StoredSource):
    """A truck's own export outlet: what its inverter gives for hours binds, not the outlet's rating."""

    kind: Literal["truck_export"]
    engine_may_start: bool = Field(description="True where the truck may start its engine to keep exporting")

    @property
    def engine(self) -> bool:
        """Return whether an engine may run where it stands."""
        return self.engine_may_start


class SiteOutletSource(ConnectedSource):
    """An outlet of a building or a site: the breaker that it stands on comes first in the supply."""

    kind: Literal["site_outlet"]
    individual_circuit: bool | None = Field(
        default=None, description="True where nothing else hangs on its circuit; leave out if not known"
    )


AnySource = Annotated[
    GeneratorSource | BatterySource | TruckExportSource | SiteOutletSource, Field(discriminator="kind")
]


class Breaker(Record):
    """An overcurrent device."""

    part: Literal["breaker"]
    id: Id
    name: Name
    rating_a: Amps
    listed_for_full_rating: bool = False
    built_in: BuiltIn = None
    gfci: Gfci | None = Field(default=None, description="Ground-fault device in it: class_a trips at 4 to 6 mA")


class Receptacle(Record):
    """A receptacle of the supply."""

    part: Literal["receptacle"]
    id: Id
    name: Name
    outlet: Id
    grade: Grade | None = Field(default=None, description="What it is made for; leave out if not marked")
    built_in: BuiltIn = None
    gfci: Gfci | None = Field(default=None, description="Ground-fault device in it: class_a trips at 4 to 6 mA")


class Plug(Record):
    """A field-fitted plug or cord connector of the supply."""

    part: Literal["plug"]
    id: Id
    name: Name
    outlet: Id


class Conductor(Record):
    """Building wire, field-made flexible cord, or portable power cable (types W, G, SC and the like)."""

    part: Literal["conductor"]
    id: Id
    name: Name
    construction: Literal["building_wire", "flexible_cord", "portable_cable"]
    material: Literal["copper", "aluminum"]
    size_awg: WireSize
    temperature_rating_c: Annotated[Literal[60, 75, 90], WholeNumber]
    termination_column_c: Annotated[Literal[60, 75], WholeNumber]
    loaded_conductors: Annotated[int, Field(ge=2, le=9), WholeNumber] = Field(
        description="Conductors that carry current at one time, all runs in the same jacket, bundle or pipe together"
    )
    length_m: Metres
    grounding_awg: WireSize | None = Field(default=None, description="Its grounding conductor; leave out if not known")
    on_reel: bool = Field(default=False, description="True where part of it stays wound up while it carries current")
    wet_rated: bool | None = Field(default=None, description="True with a W in its type; leave out if not known")

    @model_validator(mode="after")
    def is_copper_and_in_its_table(self) -> Self:
        sizes = {"flexible_cord": CORD_SIZES, "portable_cable": PORTABLE_CABLE_SIZES}.get(self.construction)
        words = self.construction.replace("_", " ")
        if sizes is not None and self.material != "copper":
            refuse(
                Fault(
                    ("material",),
                    f"copper for {words}",
                    self.material,
                    f"the table of {words} covers copper alone: correct the material or the construction",
                )
            )
        if sizes is not None and self.size_awg not in sizes:
            refuse(
                Fault(
                    ("size_awg",),
                    f"{sizes[0]} to {sizes[-1]} AWG for {words}",
                    self.size_awg,
                    "correct the size, or the construction: portable_cable is type W, G, SC and the like",
                )
            )
        return self


SupplyPart = Annotated[Breaker | Receptacle | Plug | Conductor, Field(discriminator="part")]


class Setting(Record):
    """One position of the EVSE's own adjustment."""

    mark: Name = Field(description="What the unit shows there")
    marked_as: Literal["output_amps", "breaker_amps"]
    output_a: Amps = Field(description="What the pilot then advertises")


class Cable(Record):
    """The EVSE's output cable and the connector at its end."""

    connector: Id
    rating_a: Amps
    size_awg: WireSize
    temperature_rating_c: Annotated[Literal[60, 75, 90, 105], WholeNumber]
    length_m: Metres
    code_a: Annotated[Literal[13, 20, 32, 63], WholeNumber] | None = Field(
        default=None,
        description="For a loose cable out of a Type 2 socket: the amps that its proximity resistor tells",
    )

    @model_validator(mode="after")
    def carries_what_its_code_tells(self) -> Self:
        if self.code_a is not None and self.code_a > self.rating_a:
            refuse(
                Fault(
                    ("code_a",),
                    f"at most rating_a, {self.rating_a:g} A",
                    f"{self.code_a} A",
                    "measure the resistor and read the jacket again: a cable that tells too much is scrapped",
                )
            )
        return self


class Evse(Record):
    """The AC EVSE and how it is set."""

    listing: Literal["listed", "none"]
    output_max_a: Amps
    voltage_low_v: Volts
    voltage_high_v: Volts
    connected_by: Literal["hard_wired", "listed_cord_and_plug"]
    plug: Id | None = Field(default=None, description="The outlet its own listed plug is made for")
    set_by: Literal["fixed", "inside_tools", "outside_control", "app_local", "app_needs_signal"]
    survives_power_cycle: bool
    setting_now: Name = Field(description="The mark it stands at")
    settings: tuple[Setting, ...] = Field(min_length=1)
    cable: Cable
    other_cables: tuple[Cable, ...] = Field(
        default=(), max_length=5, description="Further cables of the same unit, used one at a time on the same setting"
    )

    @model_validator(mode="after")
    def settings_are_possible(self) -> Self:
        refuse(*self._setting_faults(), *self._standing_faults(), *self._cable_faults())
        return self

    def _cable_faults(self) -> Iterator[Fault]:
        """Yield each cable whose connector another one has: nobody could say which of the two a plan means."""
        known = [self.cable.connector]
        for index, cable in enumerate(self.other_cables):
            if cable.connector in known:
                yield Fault(
                    ("other_cables", index, "connector"),
                    "a connector that no other cable of this unit has",
                    f"{cable.connector} again",
                    "make a rig of its own for that cable, based_on this one",
                )
            known.append(cable.connector)

    @cached_property
    def highest(self) -> Setting:
        """Return the position that advertises the most."""
        return max(self.settings, key=lambda setting: setting.output_a)

    @cached_property
    def standing(self) -> Setting:
        """Return the position to reckon with before anyone touches the unit.

        It is where the unit stands; where that does not outlast a loss of power, the highest it offers.
        """
        if self.survives_power_cycle:
            return next(setting for setting in self.settings if setting.mark == self.setting_now)
        return self.highest

    def _setting_faults(self) -> Iterator[Fault]:
        marks = [setting.mark for setting in self.settings]
        for index, setting in enumerate(self.settings):
            where = ("settings", index, "output_a")
            if not is_advertisable(setting.output_a):
                unsaid = DEAD_BAND_LOW_A < setting.output_a <= DEAD_BAND_HIGH_A
                yield Fault(
                    where,
                    "6 to 51 A, or above 52.5 up to 80 A",
                    f"{setting.output_a:g} A" + (" (no duty cycle says it)" if unsaid else ""),
                    "give the amps that the pilot advertises at this mark",
                )
            elif setting.output_a > self.output_max_a:
                yield Fault(
                    where,
                    f"at most output_max_a, {self.output_max_a:g} A",
                    f"{setting.output_a:g} A",
                    "correct the setting or the EVSE's rating",
                )
            if marks.index(setting.mark) < index:
                yield Fault(
                    ("settings", index, "mark"),
                    "every mark once",
                    f"{setting.mark} again",
                    "give each position its own mark",
                )
            marked = re.fullmatch(r"(\d+(\.\d+)?) ?[Aa]?", setting.mark, re.ASCII)
            if marked is not None:
                breaker = setting.marked_as == "breaker_amps"
                advertised_a = float(marked[1]) / (CONTINUOUS_LOAD_FACTOR if breaker else 1)
                if abs(advertised_a - setting.output_a) > 0.5:
                    yield Fault(
                        where,
                        f"{advertised_a:g} A for a mark of {setting.mark} {setting.marked_as.replace('_', ' ')}",
                        f"{setting.output_a:g} A",
                        "a breaker mark advertises 80 % of it: correct output_a, or marked_as"
                        if breaker
                        else "correct output_a, or marked_as",
                    )

    def _standing_faults(self) -> Iterator[Fault]:
        marks = [setting.mark for setting in self.settings]
        if self.setting_now not in marks:
            yield Fault(
                ("setting_now",),
                f"one of the marks: {', '.join(marks)}",
                self.setting_now,
                "write the mark that the unit stands at",
            )
        if self.set_by == "fixed" and len(self.settings) > 1:
            yield Fault(
                ("settings",),
                "one setting for a fixed unit",
                f"{len(self.settings)} settings",
                "keep the one it is fixed at, or correct set_by",
            )
        if (self.plug is not None) != (self.connected_by == "listed_cord_and_plug"):
            yield Fault(
                ("plug",),
                "plug: exactly when connected_by is listed_cord_and_plug",
                f"{self.connected_by} {'with' if self.plug else 'without'} plug",
                "name the outlet its own plug is made for, or correct connected_by",
            )
        if self.voltage_low_v >= self.voltage_high_v:
            yield Fault(
                ("voltage_low_v",),
                f"volts below voltage_high_v, {self.voltage_high_v:g} V",
                f"{self.voltage_low_v:g} V",
                "put the two in order",
            )


class Commissioning(Record):
    """A long metered run: what lifts the loading fraction above its cautious default."""

    date: Annotated[str, Field(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$")]
    fuel: FuelKind | None = Field(default=None, description="Of an engine; leave out for any other source")
    duration_min: Annotated[float, Field(gt=0, le=1440)]
    power_metered_kw: Kilowatts
    altitude_m: Altitude
    ambient_c: Celsius
    vehicle: Id | None = Field(default=None, description="The class that was charged")
    setting_mark: Name | None = None
    voltage_no_load_v: Volts | None = None
    frequency_no_load_hz: Annotated[float, Field(ge=40, le=80)] | None = None
    frequency_hz: Annotated[float, Field(ge=40, le=80)] | None = Field(default=None, description="Under load")
    voltage_source_v: Volts | None = Field(default=None, description="Under load")
    voltage_evse_v: Volts | None = None
    current_a: Annotated[float, Field(ge=0, le=1000)] | None = None
    energy_metered_kwh: Annotated[float, Field(ge=0, le=1000)] | None = None
    power_dash_kw: Annotated[float, Field(ge=0, le=1000)] | None = None
    miles_per_hour_dash: Annotated[float, Field(ge=0, le=500)] | None = None
    temperatures_c: dict[Id, Annotated[float, Field(ge=-60, le=300)]] = Field(
        default_factory=dict, description="Hottest reading of a part by its id in the rig"
    )

    @model_validator(mode="after")
    def date_exists(self) -> Self:
        try:
            date.fromisoformat(self.date)
        except ValueError:
            refuse(Fault(("date",), "a day of the calendar", self.date, "write year-month-day in quotes"))
        return self


class CommissioningRun(Reference):
    """One dated run of one rig, in a file of its own: kept beside the rig's record, never written into it."""

    kind_word: ClassVar[str] = "commissioning run"
    rig: Id = Field(description="The rig that was run; the file's name begins with it")
    run: Commissioning


class OtherLoads(Record):
    """What else hangs on the source while it charges: its watts off the engine, its amps off the winding."""

    power_w: Annotated[float, Field(ge=0, le=100_000)] = 0.0
    current_a: Annotated[float, Field(ge=0, le=500)] = 0.0

    @model_validator(mode="after")
    def watts_come_with_amps(self) -> Self:
        if (self.power_w > 0) != (self.current_a > 0):
            missing = "current_a" if self.power_w > 0 else "power_w"
            refuse(
                Fault(
                    (missing,),
                    "both power_w and current_a above 0",
                    f"{missing} 0",
                    "state the watts off the engine and the amps off the winding or leg it uses",
                )
            )
        return self


class Site(Record):
    """Where a rig usually works: used, and said to be assumed, when a call does not say."""

    altitude_m: Altitude
    ambient_c: Celsius


def run_faults(source: ConnectedSource, run: Commissioning) -> Iterator[Fault]:
    """Yield what in a run cannot be true of a source."""
    if not isinstance(source, GeneratorSource):
        if run.fuel is not None:
            yield Fault(("fuel",), "no fuel: this source has none", run.fuel, "remove the fuel of that run")
        return
    fuel = source.fuels.get(run.fuel) if run.fuel is not None else None
    if fuel is None:
        expected = f"a fuel of this source: {', '.join(source.fuels)}"
        yield Fault(("fuel",), expected, run.fuel or "none", "state the fuel of that run")
    elif 1000 * run.power_metered_kw > fuel.running_power_w:
        yield Fault(
            ("power_metered_kw",),
            f"at most the running watts on {run.fuel}, {fuel.running_power_w / 1000:g} kW",
            f"{run.power_metered_kw:g} kW",
            "read the meter again: for an hour an engine gives no more than its running watts",
        )


class CostItem(Record):
    """A line of the build list."""

    item: Text
    count: Annotated[int, Field(ge=1, le=1000), WholeNumber] = 1
    cost_usd: Annotated[float, Field(ge=0, le=1_000_000)] = Field(description="Of one")


class Rig(Reference):
    """One mobile unit: source, overcurrent devices, wiring, EVSE, cable, adapters on board."""

    kind_word: ClassVar[str] = "rig"
    summary: Text
    source: AnySource
    commissioning: tuple[Commissioning, ...] = ()
    usual_site: Site
    other_loads: OtherLoads = OtherLoads()
    supply: tuple[SupplyPart, ...] = Field(description="From the source to the EVSE, in the order of the current")
    evse: Evse
    adapters: tuple[Id, ...] = Field(default=(), description="On board")
    adapters_at_depot: tuple[Id, ...] = Field(default=(), description="To take along when a call needs one")
    leads: tuple[Id, ...] = Field(default=(), description="Supply-side leads on board")
    leads_at_depot: tuple[Id, ...] = ()
    build_list: tuple[CostItem, ...] = Field(default=(), description="What the rig was built from, with its cost")

    @model_validator(mode="after")
    def parts_suit_one_another(self) -> Self:
        refuse(*self._supply_faults(), *self._commissioning_faults())
        return self

    def _supply_faults(self) -> Iterator[Fault]:
        ids = [part.id for part in self.supply]
        first = self.supply[0] if self.supply else None
        if isinstance(self.source, SiteOutletSource) and not isinstance(first, Breaker):
            yield Fault(
                ("supply",),
                "the breaker that the site outlet stands on, first",
                first.part if first is not None else "no part",
                "read the breaker at the panel and put it first; without it the outlet is not used",
            )
        for index, part in enumerate(self.supply):
            if part.id in ids[:index]:
                yield Fault(
                    ("supply", index, "id"),
                    "an id no other part of this supply has",
                    part.id,
                    "rename one of the two",
                )
            ahead = self.supply[index - 1] if index else None
            behind = self.supply[index + 1] if index + 1 < len(self.supply) else None
            if isinstance(part, Plug) and not (isinstance(ahead, Receptacle) and ahead.outlet == part.outlet):
                yield Fault(
                    ("supply", index, "outlet"),
                    "a plug right behind a receptacle of the same outlet",
                    f"{part.outlet} behind {ahead.outlet if isinstance(ahead, Receptacle) else 'no receptacle'}",
                    "correct the outlet, or add the receptacle it goes into",
                )
            if isinstance(part, Receptacle) and behind is not None and not isinstance(behind, Plug):
                yield Fault(
                    ("supply", index + 1, "part"),
                    f"a plug behind the receptacle {part.id}",
                    behind.part,
                    "add the plug that goes into it, or take the receptacle out",
                )
        last = self.supply[-1] if self.supply else None
        end = last.outlet if isinstance(last, Receptacle) else None
        if self.evse.plug != end:
            yield Fault(
                ("evse", "plug") if self.evse.plug is not None else ("evse", "connected_by"),
                f"listed_cord_and_plug with plug: {end}, since the supply ends in that receptacle"
                if end
                else "hard_wired, since the supply does not end in a receptacle",
                self.evse.plug or self.evse.connected_by,
                "end the supply with the receptacle it plugs into, or correct how it is connected",
            )

    def _commissioning_faults(self) -> Iterator[Fault]:
        for index, run in enumerate(self.commissioning):
            for fault in run_faults(self.source, run):
                yield Fault(("commissioning", index, *fault.where), fault.expected, fault.got, fault.next_step)

    @property
    def by_cable(self) -> "tuple[Rig, ...]":
        """Return this rig once for each of its cables, as if it had that one alone; itself where it has one."""
        if not self.evse.other_cables:
            return (self,)
        return self._by_cable

    @cached_property
    def _by_cable(self) -> "tuple[Rig, ...]":
        cables = (self.evse.cable, *self.evse.other_cables)
        # A copy carries what was cached: taken from the plain fields, so that none of it is.
        fields = {name: getattr(self, name) for name in type(self).model_fields}
        evse = {name: getattr(self.evse, name) for name in type(self.evse).model_fields}
        return tuple(
            Rig.model_construct(
                **{**fields, "evse": Evse.model_construct(**{**evse, "cable": cable, "other_cables": ()})}
            )
            for cable in cables
        )

    @cached_property
    def nominal_v(self) -> float:
        """Return the nominal volts of the connection."""
        return NOMINAL_V[self.source.connection]

    @cached_property
    def tables_needed(self) -> tuple[str, ...]:
        """Return the ids of the published tables that this rig's wiring is judged by."""
        constructions = {part.construction for part in self.supply if isinstance(part, Conductor)}
        return (
            RESISTANCE_TABLE,
            STANDARD_RATINGS_TABLE,
            *((CORRECTION_TABLE, GROUNDING_TABLE) if constructions else ()),
            *((CORD_TABLE,) if "flexible_cord" in constructions else ()),
            *((PORTABLE_CABLE_TABLE,) if "portable_cable" in constructions else ()),
            *((BUILDING_WIRE_TABLE, SMALL_CONDUCTOR_TABLE) if "building_wire" in constructions else ()),
        )
