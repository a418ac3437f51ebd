"""The records that come from files, and the frozen `Dataset` of all of them.

Strict: an unknown key, a text where a number belongs or a value out of range is refused. Frozen: nothing changes
after reading. The id of a record is its file name; `loading` is the only reader.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Annotated, Any, ClassVar, Literal, Self, TypeVar, get_args

from pydantic import Field, model_validator

from planner.coupler_records import (
    Adapter,
    Connector,
    Contact,
    ContactRole,
    Contacts,
    Coupler,
    Face,
    HeldBy,
    Inlet,
    Lead,
    Outline,
    Proximity,
    Region,
    Seen,
    Signalling,
)
from planner.errors import UnknownIdError
from planner.power import charger_loss_scale
from planner.record_base import (
    AWG_SIZES,
    ID_LENGTH,
    ID_PATTERN,
    Amps,
    Fault,
    FewWords,
    Fraction,
    FuelKind,
    Id,
    Name,
    PhaseCount,
    PositiveFraction,
    Provenance,
    Record,
    Reference,
    Spread,
    SpreadAmps,
    SpreadConsumption,
    SpreadDragArea,
    SpreadHealth,
    SpreadHeater,
    SpreadKilowattHours,
    SpreadKilowatts,
    SpreadMargin,
    SpreadMass,
    SpreadMinutes,
    SpreadPackVolts,
    Text,
    Volts,
    WholeNumber,
    refuse,
)
from planner.rig_records import (
    BUILDING_WIRE_TABLE,
    CORD_SIZES,
    CORD_TABLE,
    CORRECTION_TABLE,
    GROUNDING_TABLE,
    LEAD_TABLES,
    PORTABLE_CABLE_SIZES,
    PORTABLE_CABLE_TABLE,
    RESISTANCE_TABLE,
    SMALL_CONDUCTOR_TABLE,
    STANDARD_RATINGS_TABLE,
    AnySource,
    BatterySource,
    Breaker,
    BurnPoint,
    Cable,
    ColdPoint,
    Commissioning,
    CommissioningRun,
    Conductor,
    CostItem,
    DerateRule,
    Evse,
    Fuel,
    GeneratorSource,
    OtherLoads,
    Plug,
    PropaneCylinders,
    Receptacle,
    Rig,
    Setting,
    Site,
    SiteOutletSource,
    StoredSource,
    SupplyPart,
    TruckExportSource,
    WireSize,
    run_faults,
)

__all__ = [
    "AWG_SIZES",
    "BATTERY_WORDS",
    "BODIES_SAID",
    "BODY_SAID",
    "BUILDING_WIRE_TABLE",
    "BUILT_WORDS",
    "CORD_SIZES",
    "CORD_TABLE",
    "CORRECTION_TABLE",
    "GROUNDING_TABLE",
    "HIGHWAY_SCHEDULE",
    "ID_LENGTH",
    "ID_PATTERN",
    "KIND_WORDS",
    "LEAD_TABLES",
    "M_PER_S_PER_MPH",
    "PLACE_WORDS",
    "PORTABLE_CABLE_SIZES",
    "PORTABLE_CABLE_TABLE",
    "RECORD_KINDS",
    "RESISTANCE_TABLE",
    "SMALL_CONDUCTOR_TABLE",
    "STANDARD_RATINGS_TABLE",
    "URBAN_SCHEDULE",
    "Adapter",
    "AnySource",
    "BatterySource",
    "Body",
    "Breaker",
    "BuiltWord",
    "BurnPoint",
    "CabinClimate",
    "Cable",
    "ChargingHabits",
    "ColdPoint",
    "Column",
    "Commissioning",
    "CommissioningRun",
    "Conductor",
    "Connector",
    "Contact",
    "ContactRole",
    "Contacts",
    "CostItem",
    "Coupler",
    "Coverage",
    "Dataset",
    "DatasetInfo",
    "DcLimits",
    "DerateRule",
    "DriveSchedule",
    "EmptyCell",
    "Evse",
    "Face",
    "Fault",
    "Folder",
    "Fuel",
    "FuelKind",
    "GeneratorSource",
    "HeldBy",
    "Inlet",
    "KeptException",
    "Label",
    "Lead",
    "LintException",
    "LintExceptions",
    "OnboardCharger",
    "OtherLoads",
    "Outlet",
    "Outline",
    "Plug",
    "PortPlace",
    "PropaneCylinders",
    "Provenance",
    "Proximity",
    "Rates",
    "Receptacle",
    "Record",
    "Reference",
    "Region",
    "Rig",
    "RoadLoad",
    "Seen",
    "Setting",
    "Signalling",
    "Site",
    "SiteOutletSource",
    "Source",
    "Split",
    "Spread",
    "StoredSource",
    "SupplyPart",
    "Table",
    "TruckExportSource",
    "VehicleBattery",
    "VehicleClass",
    "VehiclePort",
    "WantedClass",
    "WireSize",
    "numbers_without_one_source",
    "references",
    "refuse",
    "run_faults",
]

LEG_V = 120.0  # a line to neutral of 120/240 V

# The two drive schedules that a label's consumption is measured on, by record id.
URBAN_SCHEDULE = "epa-udds"
HIGHWAY_SCHEDULE = "epa-hwfet"

# Columns that the planner looks up, so that a crew's own table of the same id cannot lack them.
COLUMNS_LOOKED_UP = {
    BUILDING_WIRE_TABLE: tuple(f"{metal}_{rated}c" for metal in ("copper", "aluminum") for rated in (60, 75, 90)),
    CORD_TABLE: ("a", "b"),
    PORTABLE_CABLE_TABLE: tuple(f"loaded_{count}_{rated}c" for count in (2, 3) for rated in (60, 75, 90)),
    GROUNDING_TABLE: ("copper_awg", "aluminum_awg"),
    CORRECTION_TABLE: ("ambient_to_c", "rated_60c", "rated_75c", "rated_90c"),
    RESISTANCE_TABLE: ("copper_stranded_ohm_per_km", "aluminum_stranded_ohm_per_km", "circular_mils"),
    STANDARD_RATINGS_TABLE: ("rating_a",),
    SMALL_CONDUCTOR_TABLE: ("copper_a", "aluminum_a"),
}

SPEED = re.compile(r"[0-9]{1,3}(\.[0-9]{1,2})?")
FASTEST_SCHEDULE_MPH = 130.0
M_PER_S_PER_MPH = 0.44704  # exact: international mile an hour


R = TypeVar("R", bound=Reference)


class Outlet(Reference):
    """A receptacle configuration of the supply side."""

    kind_word: ClassVar[str] = "outlet"
    configuration: Text
    rating_a: Amps
    voltage_v: Volts
    neutral: bool
    ground: bool
    locking: bool = False
    phases: PhaseCount = 1
    lines: Annotated[Literal[1, 2, 3], WholeNumber] | None = Field(
        default=None, description="Contacts that carry a line; leave out for 1 at 120 V, 2 above, 3 with three phases"
    )

    @property
    def line_count(self) -> int:
        """Return how many of its contacts carry a line."""
        return self.lines or (3 if self.phases == 3 else 1 if self.voltage_v <= LEG_V else 2)


class Column(Record):
    """One column of a published table."""

    unit: Text
    means: Text


class Table(Reference):
    """A published table, transcribed whole for the rows in use."""

    kind_word: ClassVar[str] = "table"
    edition: Text
    row_key: Text
    columns: dict[str, Column] = Field(min_length=1)
    rows: dict[str, dict[str, float]] = Field(min_length=1)

    @model_validator(mode="after")
    def rows_use_declared_columns(self) -> Self:
        refuse(*self._column_faults())
        return self

    def _column_faults(self) -> Iterator[Fault]:
        for column in COLUMNS_LOOKED_UP.get(self.id, ()):
            if column not in self.columns:
                yield Fault(
                    ("columns",),
                    f"the column {column}, which the planner looks up in {self.id}",
                    ", ".join(self.columns),
                    "give the table its columns, or another id",
                )
        first = next(iter(self.columns))
        for key, row in self.rows.items():
            if first not in row:
                yield Fault(
                    ("rows", key),
                    f"a value in the first column, {first}",
                    "none",
                    "fill in the cell, or put a column first that every row has",
                )
            for column in row:
                if column not in self.columns:
                    yield Fault(
                        ("rows", key, column),
                        "a column declared under columns",
                        column,
                        f"use one of {', '.join(self.columns)}, or declare it",
                    )

    def value(self, row: str, column: str) -> float | None:
        """Return a cell, or None where the table has none."""
        return self.rows.get(row, {}).get(column)

    @cached_property
    def rising(self) -> tuple[dict[str, float], ...]:
        """Return the rows by their first column, rising, whatever their order in the file."""
        first = next(iter(self.columns))
        return tuple(sorted(self.rows.values(), key=lambda row: row[first]))


class DriveSchedule(Reference):
    """A published drive schedule: the speed at each second."""

    kind_word: ClassVar[str] = "schedule"
    edition: Text
    speed_mph: Annotated[str, Field(min_length=3, max_length=40_000)] = Field(
        description="One speed a second in miles per hour from second 0, with spaces between"
    )

    @model_validator(mode="after")
    def is_a_drive(self) -> Self:
        for second, word in enumerate(self.speed_mph.split()):
            if not SPEED.fullmatch(word) or float(word) > FASTEST_SCHEDULE_MPH:
                refuse(
                    Fault(
                        ("speed_mph",),
                        f"at second {second} a speed from 0 to {FASTEST_SCHEDULE_MPH:g}, with at most two digits after "
                        "the point",
                        word[:40],
                        "correct it against the published schedule",
                    )
                )
        if not any(self.speeds_m_per_s):
            refuse(Fault(("speed_mph",), "a schedule that moves", "0 at every second", "write its speeds"))
        return self

    @cached_property
    def speeds_m_per_s(self) -> tuple[float, ...]:
        """Return the speed at each second."""
        return tuple(float(word) * M_PER_S_PER_MPH for word in self.speed_mph.split())


class Source(Record):
    """A published source."""

    title: Text
    publisher: Text | None = None
    edition: Text | None = None
    year: int | None = Field(default=None, ge=1800, le=2100)
    kind: Literal["code", "standard", "regulation", "handbook", "measurement", "manual", "guidance", "own"]
    read_in: Text = Field(description="The text it was read in, or that it was not read")


class DatasetInfo(Record):
    """What a folder of records says of itself."""

    version: Annotated[str, Field(pattern=r"^\d+\.\d+\.\d+$")]
    name: Name


# own-judgement: LFP holds full power later, then falls fast; a mixed class is planned with the longer tail.
LFP_TAIL_FACTOR = 0.5
HEAT_PUMP_SHARES = {"resistive": 0.0, "either": 0.5, "heat_pump": 1.0, "none": 0.0}


Place = Literal[
    "nose",
    "left_front_fender",
    "right_front_fender",
    "left_side",
    "right_side",
    "left_rear_fender",
    "right_rear_fender",
    "tail",
    "under_seat",
]
PLACE_WORDS: dict[Place, str] = {
    "nose": "front nose",
    "left_front_fender": "left front fender",
    "right_front_fender": "right front fender",
    "left_side": "left side",
    "right_side": "right side",
    "left_rear_fender": "left rear fender",
    "right_rear_fender": "right rear fender",
    "tail": "tail",
    "under_seat": "under the seat or in the tank",
}
_SHARE_SLACK = 1e-6  # shares are stated to a few digits


class PortPlace(Record):
    """One place of an inlet on the body. Left is the driver's left, looking forward."""

    at: Place
    share: PositiveFraction = Field(default=1.0, description="Share of the vehicles with this inlet that have it here")


class VehiclePort(Record):
    """One inlet of a vehicle class: how many of the class have it, what it carries there, where on the body it sits."""

    inlet: Id
    share: PositiveFraction = Field(default=1.0, description="Share of the class that has this inlet")
    carries: tuple[Literal["ac", "dc"], ...] | None = Field(
        default=None, min_length=1, description="What it carries on this class, where that is less than it could"
    )
    places: tuple[PortPlace, ...] = Field(min_length=1)
    detail: Text | None = Field(default=None, description="What helps to find it, such as `under a lid`")

    @model_validator(mode="after")
    def places_add_up(self) -> Self:
        total = sum(place.share for place in self.places)
        if abs(total - 1) > _SHARE_SLACK:
            refuse(
                Fault(
                    ("places",),
                    "shares that add up to 1",
                    f"{total:g}",
                    "correct the shares; what is not known goes where it is likeliest",
                )
            )
        return self

    @property
    def place_words(self) -> str:
        """Return where to look, the likeliest place first."""
        ranked = sorted(self.places, key=lambda place: -place.share)
        words = [
            PLACE_WORDS[place.at] + (f" ({round(10 * place.share)} in 10)" if len(ranked) > 1 else "")
            for place in ranked
        ]
        return " or ".join(words) + (f", {self.detail}" if self.detail else "")


class VehicleBattery(Record):
    """The traction battery."""

    energy_usable_kwh: SpreadKilowattHours = Field(description="Usable energy when new")
    health: SpreadHealth = Field(description="Share of it that is left at the age of the class")
    chemistry: Literal["nickel", "lfp", "mixed"]
    voltage_v: SpreadPackVolts | None = Field(default=None, description="Nominal volts of the pack")
    heater_kw: SpreadHeater | None = Field(default=None, description="Electric pack heater; leave out without one")

    @property
    def tail_factor(self) -> float:
        """Return the length of the charge curve's tail against a nickel chemistry's."""
        return LFP_TAIL_FACTOR if self.chemistry == "lfp" else 1.0


class DcLimits(Record):
    """What a DC station could give the class: told to people, never planned with. No rig of ours gives DC."""

    power_kw: SpreadKilowatts = Field(description="Largest DC power into the pack, for minutes at best")


class OnboardCharger(Record):
    """The onboard charger: what it can take, and what it loses before the one scaling to the label."""

    phases: PhaseCount
    current_a: SpreadAmps = Field(description="Largest line current on one phase")
    power_kw: SpreadKilowatts = Field(description="Largest AC input on one phase")
    voltage_low_v: Volts
    voltage_high_v: Volts
    power_factor: PositiveFraction
    loss_no_load_kw: Annotated[float, Field(ge=0, le=2)]
    loss_linear: PositiveFraction
    loss_quadratic_per_kw: Annotated[float, Field(ge=0, le=0.1)]


class Label(Record):
    """The label's consumption, which is wall energy, and the conditions it was measured under."""

    consumption_wall_kwh_per_100mi: SpreadConsumption
    efficiency: PositiveFraction = Field(description="Wall to battery inside the label's figure")
    voltage_v: Volts


class ChargingHabits(Record):
    """What the vehicle does while it charges."""

    auxiliaries_kw: SpreadKilowatts
    cell_side_factor: PositiveFraction
    pilot_margin: SpreadMargin = Field(description="Share by which it draws less than the pilot allows")


class RoadLoad(Record):
    """What the road takes from the class, before the one scaling to its label.

    The bands of mass and drag area say which vehicles belong to the class. A plan uses the typical values: how far
    consumption spreads is the label's band, and it would be counted twice.
    """

    mass_kg: SpreadMass = Field(description="With a driver and some load, as tested; a plain number has no band")
    drag_area_m2: SpreadDragArea = Field(description="Drag coefficient times frontal area; a plain number has no band")
    rolling_resistance: Annotated[float, Field(gt=0, le=0.05)] = Field(description="Coefficient, on a mild day")
    accessories_kw: Annotated[float, Field(ge=0, le=10)] = Field(description="Lights, pumps, computers; no cabin heat")
    drive_efficiency: PositiveFraction = Field(description="Battery to wheels")
    regeneration: Fraction = Field(description="Wheels back to battery, on a mild day")
    top_speed_mph: Annotated[float, Field(ge=15, le=130)] = Field(default=130.0, description="If below the road's")


class CabinClimate(Record):
    """How the cabin is heated and cooled."""

    heating: Literal["resistive", "either", "heat_pump", "none"]
    size_factor: Annotated[float, Field(ge=0, le=6)] = Field(description="Power against a car's; 0 without a heater")

    @model_validator(mode="after")
    def heats_or_not(self) -> Self:
        if (self.heating == "none") != (self.size_factor == 0):
            refuse(
                Fault(
                    ("size_factor",),
                    "0 with heating none, above 0 with any other",
                    f"{self.size_factor:g} with {self.heating}",
                    "correct one of the two",
                )
            )
        return self

    @property
    def heat_pump_share(self) -> float:
        """Return the share of the class that heats by a heat pump."""
        return HEAT_PUMP_SHARES[self.heating]


Body = Literal[
    "micro",
    "hatch",
    "sedan",
    "crossover",
    "suv",
    "pickup",
    "minivan",
    "van",
    "truck",
    "bus",
    "motorcycle",
    "side_by_side",
    "snow_machine",
]


class VehicleClass(Reference):
    """A generic group of vehicles that charge alike; never a make or model."""

    kind_word: ClassVar[str] = "class"
    summary: Text = Field(description="How to recognise it, without a brand")
    recognize: tuple[Text, ...] = Field(
        default=(), max_length=6, description="What a person sees of it, a sentence each; no other class says the same"
    )
    tell_tale: FewWords | None = Field(
        default=None, description="What tells it from others of its body and port, in a few words read to a caller"
    )
    body: Body
    size: Literal["small", "midsize", "large"] | None = Field(default=None, description="Among its body's kind")
    built_from: int = Field(ge=1990, le=2100)
    built_to: int | None = Field(default=None, ge=1990, le=2100)
    engine: bool = Field(default=False, description="True when it also drives on fuel")
    imported: bool = Field(default=False, description="True when it was not sold new in the region")
    ports: tuple[VehiclePort, ...] = Field(min_length=1)
    battery: VehicleBattery
    onboard_charger: OnboardCharger
    label: Label
    charging: ChargingHabits
    road: RoadLoad
    cabin: CabinClimate
    dc: DcLimits | None = Field(default=None, description="For a class with a DC port: for information")

    @model_validator(mode="after")
    def years_and_volts_rise(self) -> Self:
        charger = self.onboard_charger
        if self.built_to is not None and self.built_to < self.built_from:
            refuse(
                Fault(("built_to",), f"{self.built_from} or later", f"{self.built_to}", "put the two years in order")
            )
        if charger.voltage_low_v >= charger.voltage_high_v:
            refuse(
                Fault(
                    ("onboard_charger", "voltage_low_v"),
                    f"volts below voltage_high_v, {charger.voltage_high_v:g} V",
                    f"{charger.voltage_low_v:g} V",
                    "put the two in order",
                )
            )
        return self

    @model_validator(mode="after")
    def each_inlet_once(self) -> Self:
        inlets = [port.inlet for port in self.ports]
        refuse(
            *(
                Fault(
                    ("ports", index, "inlet"),
                    "each inlet once",
                    f"{inlet} again",
                    "put all places of one inlet under its places",
                )
                for index, inlet in enumerate(inlets)
                if inlet in inlets[:index]
            )
        )
        return self

    def port(self, inlet_id: str) -> VehiclePort | None:
        """Return the port with this inlet, or None."""
        return next((port for port in self.ports if port.inlet == inlet_id), None)

    @model_validator(mode="after")
    def label_efficiency_can_be_reached(self) -> Self:
        if self.loss_scale <= 0:
            refuse(
                Fault(
                    ("charging", "auxiliaries_kw"),
                    "auxiliaries small enough for the label efficiency "
                    f"{self.label.efficiency:g} at {self.label_input_kw():.1f} kW",
                    f"{self.charging.auxiliaries_kw.typical:g} kW",
                    "lower auxiliaries_kw or label.efficiency: together they leave the charger no loss",
                )
            )
        return self

    def label_input_kw(self) -> float:
        """Return the AC power at which the label's consumption was measured: the full charger."""
        charger = self.onboard_charger
        at_current_kw = charger.current_a.typical * self.label.voltage_v * charger.power_factor / 1000
        return min(at_current_kw, charger.power_kw.typical)

    @cached_property
    def energy_now_kwh(self) -> float:
        """Return the usable energy at the age of the class: the median of new times the median health."""
        return self.battery.energy_usable_kwh.typical * self.battery.health.typical

    @cached_property
    def loss_scale(self) -> float:
        """Return the one factor on the charger's losses under load that reproduces the label's efficiency."""
        charger = self.onboard_charger
        return charger_loss_scale(
            label_input_kw=self.label_input_kw(),
            label_efficiency=self.label.efficiency,
            auxiliaries_kw=self.charging.auxiliaries_kw.typical,
            cell_side_factor=self.charging.cell_side_factor,
            loss_no_load_kw=charger.loss_no_load_kw,
            loss_linear=charger.loss_linear,
            loss_quadratic_per_kw=charger.loss_quadratic_per_kw,
        )

    @cached_property
    def charger_losses(self) -> dict[str, float]:
        """Return the onboard charger's loss line, scaled to the label, by the names that `power` takes them."""
        return self.losses_at(self.loss_scale)

    def losses_at(self, scale: float) -> dict[str, float]:
        """Return the loss line with what is lost under load times a factor."""
        charger = self.onboard_charger
        return {
            "loss_no_load_kw": charger.loss_no_load_kw,
            "loss_linear": charger.loss_linear * scale,
            "loss_quadratic_per_kw": charger.loss_quadratic_per_kw * scale,
        }


class Split(Reference):
    """A former class that was parted: its id stands for all the classes that took its place."""

    kind_word: ClassVar[str] = "split"
    into: tuple[Id, ...] = Field(min_length=2, description="Ids of the classes it was parted into")
    since: Annotated[str, Field(pattern=r"^\d+\.\d+\.\d+$")] = Field(description="Data version that parted it")
    why: Text


BuiltWord = Literal["to 2014", "2015 to 2019", "2020 or later"]
# The years behind the words that a caller has for an age.
BUILT_WORDS: dict[BuiltWord, tuple[int, int]] = {
    "to 2014": (0, 2014),
    "2015 to 2019": (2015, 2019),
    "2020 or later": (2020, 9999),
}


class WantedClass(Record):
    """A kind of vehicle that the region's crews meet, so that some class has to hold it."""

    body: Body
    built: BuiltWord
    inlet: Id | None = None
    battery: Literal["small", "medium", "large"] | None = None
    engine: bool = False
    why: Text


class EmptyCell(Record):
    """A body or an inlet of an age that no class needs to hold, and why."""

    body: Body | None = None
    inlet: Id | None = None
    built: BuiltWord
    why: Text

    @model_validator(mode="after")
    def names_one_row(self) -> Self:
        if (self.body is None) == (self.inlet is None):
            refuse(
                Fault(
                    (),
                    "either body or inlet",
                    "neither" if self.body is None else "both",
                    "keep the one that the cell is about",
                )
            )
        return self


class Coverage(Record):
    """What the classes have to cover: every body and every inlet of the region at every age, but for what is empty."""

    region: Region
    wanted: tuple[WantedClass, ...] = ()
    empty: tuple[EmptyCell, ...] = ()


class LintException(Record):
    """A finding that is let stand: for a reason, and until the folder's data reaches a version."""

    rule: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=60)]
    record: Annotated[str, Field(pattern=r"^[a-z_]+/[a-z0-9-]+$", max_length=60)] = Field(
        description="Folder and id, such as vehicle_classes/compact-hatch"
    )
    reason: Text
    until: Annotated[str, Field(pattern=r"^\d+\.\d+\.\d+$")] = Field(
        description="Data version at which it is void: by then the record is mended, or the reason is given again"
    )


class LintExceptions(Record):
    """What a folder lets stand."""

    exceptions: tuple[LintException, ...] = ()


class Rates(Record):
    """Minutes that a stop takes besides charging."""

    park_min: SpreadMinutes
    warm_up_min: SpreadMinutes
    handshake_min: SpreadMinutes
    refuel_stop_min: SpreadMinutes
    cool_down_min: SpreadMinutes
    pack_up_min: SpreadMinutes
    wake_low_voltage_min: SpreadMinutes = Field(description="Until a vehicle with a flat 12 V battery takes a charge")
    thaw_port_min: SpreadMinutes = Field(description="Until a frozen port is open and dry")
    open_port_min: SpreadMinutes = Field(description="Until a locked port is open")
    long_dead_min: SpreadMinutes = Field(description="Until it is known whether a long dead vehicle takes a charge")
    sources: dict[str, Provenance] = Field(default_factory=dict)


RECORD_KINDS: dict[str, type[Reference]] = {
    "vehicle_classes": VehicleClass,
    "rigs": Rig,
    "connectors": Connector,
    "inlets": Inlet,
    "faces": Face,
    "adapters": Adapter,
    "leads": Lead,
    "outlets": Outlet,
    "tables": Table,
    "schedules": DriveSchedule,
    "commissioning": CommissioningRun,
    "splits": Split,
}

# What people say of a battery, in usable kWh of a new one: from, and up to.
BATTERY_WORDS: dict[str, tuple[float, float]] = {"small": (0.0, 30.0), "medium": (30.0, 70.0), "large": (70.0, 1e9)}

# A body as people type and say it, where the record's word is another.
BODY_SAID: dict[str, str] = {"hatch": "hatchback", "side_by_side": "side-by-side", "snow_machine": "snow-machine"}
BODIES_SAID: dict[str, str] = {BODY_SAID.get(body, body): body for body in get_args(Body)}

# What people type for a kind, and the folder it lives in.
KIND_WORDS = {"vehicles": "vehicle_classes", **{folder: folder for folder in RECORD_KINDS}}


@dataclass(frozen=True, slots=True)
class Folder:
    """A folder that a dataset was read from, with a digest of the records it gave."""

    path: str
    version: str
    digest: str


@dataclass(frozen=True, slots=True)
class KeptException:
    """An exception with the folder that holds it, and that folder's version."""

    exception: LintException
    folder: str
    version: str


@dataclass(frozen=True)
class Dataset:
    """All records that were read, by kind and id. `origins` tells which folder each came from."""

    vehicle_classes: Mapping[str, VehicleClass]
    rigs: Mapping[str, Rig]
    connectors: Mapping[str, Connector]
    inlets: Mapping[str, Inlet]
    faces: Mapping[str, Face]
    adapters: Mapping[str, Adapter]
    leads: Mapping[str, Lead]
    outlets: Mapping[str, Outlet]
    tables: Mapping[str, Table]
    schedules: Mapping[str, DriveSchedule]
    rates: Rates
    commissioning: Mapping[str, CommissioningRun] = field(default_factory=dict)  # each is also in its rig's record
    splits: Mapping[str, Split] = field(default_factory=dict)
    coverage: Coverage | None = None
    exceptions: tuple["KeptException", ...] = ()
    sources: Mapping[str, Source] = field(default_factory=dict)
    origins: Mapping[tuple[str, str], str] = field(default_factory=dict)
    folders: tuple[Folder, ...] = ()
    # What was reckoned once from these records: a call does not walk two drive schedules again (measured: 60 us).
    memo: dict[tuple[object, ...], Any] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def version(self) -> str:
        """Return the versions of the folders, shipped data first."""
        return "+".join(folder.version for folder in self.folders) or "unversioned"

    def rig(self, rig_id: str) -> Rig:
        """Return a rig, or raise `UnknownIdError`."""
        return _lookup("rig", "rigs", self.rigs, rig_id)

    def vehicle_class(self, class_id: str) -> VehicleClass:
        """Return a vehicle class, or raise `UnknownIdError`."""
        return _lookup("vehicle", "vehicles", self.vehicle_classes, class_id)


def _lookup(word: str, kind: str, records: Mapping[str, R], record_id: str) -> R:
    found = records.get(record_id)
    if found is not None:
        return found
    for record in records.values():
        if record_id in record.formerly:
            return record
    raise UnknownIdError(kind=word, given=record_id, known=sorted(records), list_command=f"rangeferry list {kind}")


def references(kind: str, data: object) -> Iterator[tuple[tuple[str | int, ...], str, str]]:
    """Yield each id that a record as read names: path, folder of the record named, id. Never trips over a bad shape."""
    for pattern, folder in REFERENCES.get(kind, ()):
        for path, value in _at(data, pattern, ()):
            if isinstance(value, str):
                yield path, folder, value


REFERENCES: dict[str, tuple[tuple[tuple[str, ...], str], ...]] = {
    "connectors": ((("fits", "*"), "inlets"), (("mates",), "inlets")),
    "inlets": ((("plugs_into",), "outlets"),),
    "faces": ((("looks_like", "*"), "inlets"),),
    "leads": ((("plug",), "outlets"), (("receptacle",), "outlets")),
    "adapters": ((("takes",), "connectors"), (("becomes",), "connectors")),
    "vehicle_classes": ((("ports", "*", "inlet"), "inlets"),),
    "commissioning": ((("rig",), "rigs"),),
    "splits": ((("into", "*"), "vehicle_classes"),),
    "rigs": (
        (("supply", "*", "outlet"), "outlets"),
        (("evse", "plug"), "outlets"),
        (("evse", "cable", "connector"), "connectors"),
        (("evse", "other_cables", "*", "connector"), "connectors"),
        (("adapters", "*"), "adapters"),
        (("adapters_at_depot", "*"), "adapters"),
        (("leads", "*"), "leads"),
        (("leads_at_depot", "*"), "leads"),
    ),
}


def _at(
    value: object, pattern: tuple[str, ...], path: tuple[str | int, ...]
) -> Iterator[tuple[tuple[str | int, ...], object]]:
    if not pattern:
        yield path, value
    elif pattern[0] == "*":
        for index, item in enumerate(value if isinstance(value, tuple) else ()):
            yield from _at(item, pattern[1:], (*path, index))
    elif isinstance(value, Mapping) and pattern[0] in value:
        yield from _at(value[pattern[0]], pattern[1:], (*path, pattern[0]))


def numbers_without_one_source(data: Mapping[str, object]) -> list[tuple[tuple[str | int, ...], list[str]]]:
    """Return the path of each number that is not covered by exactly one entry of `sources`, with those that cover it.

    `data` is a record as read, before validation. An entry covers the number at its path and all numbers below it.
    """
    sources = data.get("sources")
    covers: dict[str | None, Any] = {}  # the paths of the entries, step by step; under None where one ends
    for key in sources if isinstance(sources, Mapping) else ():
        node = covers
        for step in str(key).split("."):
            node = node.setdefault(step, {})
        node[None] = {}
    found: list[tuple[tuple[str | int, ...], list[str]]] = []

    def look(
        value: object, path: tuple[str | int, ...], node: Mapping[str | None, Any], covering: tuple[str, ...]
    ) -> None:
        if None in node:
            covering = (*covering, ".".join(map(str, path)))
        if isinstance(value, dict):  # as it was read: no other mapping
            for key, item in value.items():
                if type(item) is not str:
                    look(item, (*path, key), node.get(key, _NOWHERE), covering)
        elif isinstance(value, tuple | list):
            for index, item in enumerate(value):
                if type(item) is not str:
                    look(item, (*path, index), node.get(str(index), _NOWHERE), covering)
        elif len(covering) != 1 and isinstance(value, int | float) and not isinstance(value, bool):
            found.append((path, list(covering)))

    look({key: value for key, value in data.items() if key != "sources"}, (), covers, ())
    return found


_NOWHERE: Mapping[str | None, Any] = {}
