"""The records that come from files, and the frozen `Dataset` of all of them.

Strict: an unknown key, a text where a number belongs or a value out of range is refused. Frozen: nothing changes
after reading. The id of a record is its file name; `loading` is the only reader.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Annotated, Any, ClassVar, Literal, Self, TypeVar

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from planner.circuit import CONTINUOUS_LOAD_FACTOR
from planner.errors import UnknownIdError
from planner.pilot import DEAD_BAND_HIGH_A, DEAD_BAND_LOW_A, is_advertisable
from planner.power import charger_loss_scale

__all__ = [
    "AWG_SIZES",
    "BUILDING_WIRE_TABLE",
    "CORD_TABLE",
    "CORRECTION_TABLE",
    "HIGHWAY_SCHEDULE",
    "ID_LENGTH",
    "ID_PATTERN",
    "KIND_WORDS",
    "M_PER_S_PER_MPH",
    "RECORD_KINDS",
    "RESISTANCE_TABLE",
    "SMALL_CONDUCTOR_TABLE",
    "STANDARD_RATINGS_TABLE",
    "URBAN_SCHEDULE",
    "Adapter",
    "BatterySource",
    "Breaker",
    "CabinClimate",
    "Cable",
    "ChargingHabits",
    "Column",
    "Commissioning",
    "Conductor",
    "Connector",
    "Contacts",
    "Dataset",
    "DatasetInfo",
    "DerateRule",
    "DriveSchedule",
    "Evse",
    "Fault",
    "Folder",
    "Fuel",
    "FuelKind",
    "GeneratorSource",
    "Inlet",
    "Label",
    "OnboardCharger",
    "OtherLoads",
    "Outlet",
    "Plug",
    "Provenance",
    "Rates",
    "Receptacle",
    "Record",
    "Reference",
    "Rig",
    "RoadLoad",
    "Setting",
    "Site",
    "Source",
    "Spread",
    "Table",
    "VehicleBattery",
    "VehicleClass",
    "VehiclePort",
    "numbers_without_one_source",
    "references",
    "refuse",
]

ID_PATTERN = r"^[a-z0-9]+(-[a-z0-9]+)*$"
ID_LENGTH = 40
NAME_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9 \-/.,()+]*$"
# Text for people: any printable character of the basic Latin and Latin-1 range and common punctuation; no control
# and no direction-changing characters, which could make a page or a terminal show something else than was read.
TEXT_PATTERN = r"^[\x20-\x7e\u00a0-\u017f\u2010-\u2027\u2030-\u205e\u2070-\u209c\u2190-\u22ff]*$"
# The published tables that the chain looks up, by record id.
BUILDING_WIRE_TABLE = "nec-310-16"
CORD_TABLE = "nec-400-5-a-1"
CORRECTION_TABLE = "nec-310-15-b-1"
RESISTANCE_TABLE = "nec-chapter-9-table-8"
STANDARD_RATINGS_TABLE = "nec-240-6-a"
SMALL_CONDUCTOR_TABLE = "nec-240-4-d"
# The two drive schedules that a label's consumption is measured on, by record id.
URBAN_SCHEDULE = "epa-udds"
HIGHWAY_SCHEDULE = "epa-hwfet"

# Columns that the planner looks up, so that a crew's own table of the same id cannot lack them.
COLUMNS_LOOKED_UP = {
    BUILDING_WIRE_TABLE: tuple(f"{metal}_{rated}c" for metal in ("copper", "aluminum") for rated in (60, 75, 90)),
    CORD_TABLE: ("a", "b"),
    CORRECTION_TABLE: ("ambient_to_c", "rated_60c", "rated_75c", "rated_90c"),
    RESISTANCE_TABLE: ("copper_stranded_ohm_per_km", "aluminum_stranded_ohm_per_km"),
    STANDARD_RATINGS_TABLE: ("rating_a",),
    SMALL_CONDUCTOR_TABLE: ("copper_a", "aluminum_a"),
}

SPEED = re.compile(r"[0-9]{1,3}(\.[0-9]{1,2})?")
FASTEST_SCHEDULE_MPH = 130.0
M_PER_S_PER_MPH = 0.44704  # exact: international mile an hour

AWG_SIZES = ("18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0")

Id = Annotated[str, Field(pattern=ID_PATTERN, max_length=ID_LENGTH)]
Name = Annotated[str, Field(pattern=NAME_PATTERN, max_length=60)]
Text = Annotated[str, Field(pattern=TEXT_PATTERN, min_length=1, max_length=600)]
Amps = Annotated[float, Field(gt=0, le=1000)]
Volts = Annotated[float, Field(ge=90, le=1000)]


def _whole_number(value: object) -> object:
    """Refuse true, false and 1.0 where a choice of whole numbers is meant: Python takes them for 1."""
    if isinstance(value, bool | float):
        refuse(Fault((), "a whole number", str(value).lower(), "write one of the numbers, without a point"))
    return value


WholeNumber = BeforeValidator(_whole_number)
PhaseCount = Annotated[Literal[1, 3], WholeNumber]
Fraction = Annotated[float, Field(ge=0, le=1)]
PositiveFraction = Annotated[float, Field(gt=0, le=1)]
Kilowatts = Annotated[float, Field(gt=0, le=1000)]
Watts = Annotated[float, Field(gt=0, le=1_000_000)]
Metres = Annotated[float, Field(gt=0, le=500)]
Litres = Annotated[float, Field(ge=0, le=2000)]
Altitude = Annotated[float, Field(ge=-500, le=6000)]
Celsius = Annotated[float, Field(ge=-60, le=60)]
FuelKind = Literal["gasoline", "propane", "diesel"]


class Record(BaseModel):
    """The base of everything that comes from a file."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, defer_build=True, allow_inf_nan=False)


@dataclass(frozen=True, slots=True)
class Fault:
    """One broken rule between fields: where in the record, what was expected, what stands there, what to do."""

    where: tuple[str | int, ...]
    expected: str
    got: str
    next_step: str


def refuse(*faults: Fault) -> None:
    """Raise all faults of a validator at once, for `loading` to place; nothing happens without one."""
    if faults:
        raise PydanticCustomError("rule", "a rule between fields", {"faults": faults})


class Spread(Record):
    """A number with its honest band: low, typical (the median) and high."""

    low: float
    typical: float
    high: float

    @model_validator(mode="after")
    def rises(self) -> Self:
        if not self.low <= self.typical <= self.high:
            refuse(
                Fault(
                    ("typical",),
                    "low <= typical <= high",
                    f"low {self.low:g}, typical {self.typical:g}, high {self.high:g}",
                    "put the three numbers in rising order; typical is the median",
                )
            )
        return self


def _within(low: float, high: float) -> AfterValidator:
    """Return a validator that holds both ends of a spread between two values, both included."""

    def check(spread: Spread) -> Spread:
        for end, value in (("low", spread.low), ("high", spread.high)):
            if not low <= value <= high:
                refuse(
                    Fault(
                        (end,),
                        f"a number from {low:g} to {high:g}",
                        f"{value:g}",
                        f"correct the {end} end, or its unit",
                    )
                )
        return spread

    return AfterValidator(check)


SpreadKilowatts = Annotated[Spread, _within(0.001, 1000)]
SpreadKilowattHours = Annotated[Spread, _within(0.1, 2000)]
SpreadAmps = Annotated[Spread, _within(0.1, 1000)]
SpreadVolts = Annotated[Spread, _within(90, 1000)]
SpreadMinutes = Annotated[Spread, _within(0, 240)]
SpreadConsumption = Annotated[Spread, _within(1, 1000)]
SpreadMargin = Annotated[Spread, _within(0, 0.5)]
SpreadHealth = Annotated[Spread, _within(0.3, 1)]
SpreadHeater = Annotated[Spread, _within(0, 30)]


class Provenance(Record):
    """Where numbers come from: a source of `sources.yaml`, or an honest basis where there is none."""

    ref: Id | None = None
    where: Text | None = Field(default=None, description="Clause, table, page or section in the source")
    basis: Literal["common practice", "from memory", "judgement", "own unit", "invented"] | None = Field(
        default=None,
        description="When no published source exists: `own unit` is read off or measured at the crew's own unit, "
        "`invented` is for demonstration data alone",
    )
    note: Text | None = None

    @model_validator(mode="after")
    def names_one_origin(self) -> Self:
        if (self.ref is None) == (self.basis is None):
            refuse(
                Fault(
                    (),
                    "either ref or basis",
                    "both" if self.ref else "neither",
                    "write ref: with an id of sources.yaml, or basis: when there is no source",
                )
            )
        return self


class Reference(Record):
    """What every record in a folder of records has."""

    id: Annotated[str, Field(pattern=ID_PATTERN, max_length=ID_LENGTH)]
    name: Name
    formerly: tuple[Id, ...] = Field(default=(), description="Ids that this record had before a rename")
    also_called: tuple[Text, ...] = Field(
        default=(), max_length=20, description="Everyday words for it that a search should find; never a brand"
    )
    notes: Text | None = None
    sources: dict[str, Provenance] = Field(
        default_factory=dict, description="Field path to origin; every number is covered by exactly one path"
    )

    @cached_property
    def origin_names(self) -> frozenset[str]:
        """Return the source ids, and the bases where there is no source, that this record's numbers rest on."""
        return frozenset(origin.ref or str(origin.basis) for origin in self.sources.values())


class Contacts(Record):
    """What a coupler carries in one of the two worlds, AC or DC, as continuous ratings."""

    current_a: Amps
    voltage_v: Annotated[float, Field(ge=90, le=2000)]
    phases: tuple[PhaseCount, ...] = Field(
        default=(1,), min_length=1, description="For AC: the phase counts it can carry"
    )


R = TypeVar("R", bound=Reference)


class Connector(Reference):
    """A connector: the end of a cable that goes into a vehicle (or into an adapter)."""

    kind_word: ClassVar[str] = "connector"
    standard: Text
    ac: Contacts | None = None
    dc: Contacts | None = None
    fits: tuple[Id, ...] = Field(
        min_length=1, description="Inlets it can be inserted into; what may flow is decided by ac and dc"
    )
    latch: Text

    @model_validator(mode="after")
    def carries_something(self) -> Self:
        _require_contacts(self)
        return self


class Inlet(Reference):
    """An inlet: the port on a vehicle."""

    kind_word: ClassVar[str] = "inlet"
    standard: Text
    ac: Contacts | None = None
    dc: Contacts | None = None
    ac_part: Text | None = Field(default=None, description="Where the AC connector goes, if not into the whole of it")
    tell_apart: Text = Field(description="What to look for")

    @model_validator(mode="after")
    def carries_something(self) -> Self:
        _require_contacts(self)
        return self


def _require_contacts(record: "Connector | Inlet") -> None:
    if record.ac is None and record.dc is None:
        refuse(Fault(("ac",), "ac or dc (or both)", "neither", "say what it carries, with current_a and voltage_v"))


class Adapter(Reference):
    """A vehicle-side adapter: takes one connector and behaves like another. It carries AC or DC, never both."""

    kind_word: ClassVar[str] = "adapter"
    carries: Literal["ac", "dc"]
    takes: Id = Field(description="The connector that is inserted into it")
    becomes: Id = Field(description="The connector that it then is, towards the vehicle")
    rating_current_a: Amps | None = Field(default=None, description="From its own label; leave out if unreadable")
    rating_voltage_v: Annotated[float, Field(ge=90, le=2000)] | None = None
    listing: Literal["ul2252", "supplied_by_vehicle_maker", "none"]
    temperature_sensing: bool = False
    latch: Text

    @model_validator(mode="after")
    def changes_something(self) -> Self:
        if self.takes == self.becomes:
            refuse(
                Fault(
                    ("becomes",),
                    "another connector than takes",
                    self.becomes,
                    "an extension between equal couplers is not an adapter and is never used",
                )
            )
        return self


class Outlet(Reference):
    """A receptacle configuration of the supply side."""

    kind_word: ClassVar[str] = "outlet"
    configuration: Text
    rating_a: Amps
    voltage_v: Volts
    neutral: bool
    ground: bool
    locking: bool = False


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


class DerateRule(Record):
    """An engine's common rule: shares of running watts lost to height and heat."""

    loss_per_1000ft: Fraction = 0.035
    loss_per_10f: Fraction = 0.01
    free_altitude_m: Altitude = 0.0
    free_ambient_c: Celsius = 25.0


class Fuel(Record):
    """One fuel of a generator: its running watts on it, its burn, and what is on board."""

    running_power_w: Annotated[float, Field(ge=300, le=1_000_000)]
    tank_l: Litres
    spare_l: Litres = 0.0
    burn_no_load_l_per_h: Annotated[float, Field(ge=0, le=100)]
    burn_slope_l_per_kwh: Annotated[float, Field(gt=0, le=5)]


Connection = Literal["split_phase_240", "one_leg_120", "three_phase_208_line_to_line"]
# Steady volts that each connection may show under load; what lies outside was measured elsewhere or mistyped.
CONNECTION_VOLTS = {
    "split_phase_240": (210.0, 264.0),
    "one_leg_120": (105.0, 132.0),
    "three_phase_208_line_to_line": (182.0, 229.0),
}
NOMINAL_V = {"split_phase_240": 240.0, "one_leg_120": 120.0, "three_phase_208_line_to_line": 208.0}
Neutral = Literal["bonded_at_source", "floating", "bonded_twice", "unknown"]


class GeneratorSource(Record):
    """An engine generator, at the connection that the rig uses."""

    kind: Literal["generator"]
    connection: Connection
    voltage_v: SpreadVolts = Field(description="Steady volts under load at the connection, coldest to warmest set")
    nameplate_current_a: Amps = Field(description="What the winding or leg carries continuously at this connection")
    neutral: Neutral
    fuels: dict[FuelKind, Fuel]
    default_fuel: FuelKind
    derate: DerateRule

    @model_validator(mode="after")
    def volts_suit_the_connection(self) -> Self:
        _require_connection_volts(self)
        return self

    @model_validator(mode="after")
    def default_fuel_is_on_board(self) -> Self:
        if self.default_fuel not in self.fuels:
            refuse(
                Fault(
                    ("default_fuel",),
                    f"one of the fuels listed: {', '.join(self.fuels) or 'none'}",
                    self.default_fuel,
                    "add that fuel under fuels, or name another",
                )
            )
        return self


class BatterySource(Record):
    """A battery with an inverter."""

    kind: Literal["battery_inverter"]
    connection: Connection
    voltage_v: SpreadVolts = Field(description="Steady volts under load at the connection")
    nameplate_current_a: Amps
    neutral: Neutral
    power_continuous_w: Watts
    energy_usable_kwh: Annotated[float, Field(gt=0, le=2000)]
    soc_floor: Fraction = Field(description="Share of the usable energy that is kept")
    efficiency: PositiveFraction = Field(description="AC out over energy taken from the battery")

    @model_validator(mode="after")
    def volts_suit_the_connection(self) -> Self:
        _require_connection_volts(self)
        return self


def _require_connection_volts(source: "GeneratorSource | BatterySource") -> None:
    low_v, high_v = CONNECTION_VOLTS[source.connection]
    if source.voltage_v.low < low_v or source.voltage_v.high > high_v:
        end = "low" if source.voltage_v.low < low_v else "high"
        refuse(
            Fault(
                ("voltage_v", end),
                f"{low_v:g} to {high_v:g} V for {source.connection}",
                f"{getattr(source.voltage_v, end):g} V",
                "correct the volts, or the connection they were measured at",
            )
        )


class Breaker(Record):
    """An overcurrent device."""

    part: Literal["breaker"]
    id: Id
    name: Name
    rating_a: Amps
    listed_for_full_rating: bool = False


class Receptacle(Record):
    """A receptacle of the supply."""

    part: Literal["receptacle"]
    id: Id
    name: Name
    outlet: Id


class Plug(Record):
    """A field-fitted plug or cord connector of the supply."""

    part: Literal["plug"]
    id: Id
    name: Name
    outlet: Id


class Conductor(Record):
    """Building wire or field-made flexible cord."""

    part: Literal["conductor"]
    id: Id
    name: Name
    construction: Literal["building_wire", "flexible_cord"]
    material: Literal["copper", "aluminum"]
    size_awg: Literal["14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0"]
    temperature_rating_c: Annotated[Literal[60, 75, 90], WholeNumber]
    termination_column_c: Annotated[Literal[60, 75], WholeNumber]
    loaded_conductors: Annotated[Literal[2, 3], WholeNumber]
    length_m: Metres

    @model_validator(mode="after")
    def cord_is_copper_and_in_its_table(self) -> Self:
        if self.construction == "flexible_cord" and self.material != "copper":
            refuse(
                Fault(
                    ("material",),
                    "copper for flexible cord",
                    self.material,
                    "the cord table covers copper alone: correct the material or the construction",
                )
            )
        if self.construction == "flexible_cord" and self.size_awg in ("1", "1/0"):
            refuse(
                Fault(
                    ("size_awg",),
                    "14 to 2 AWG for flexible cord",
                    self.size_awg,
                    "larger portable cable has another table that is not carried yet",
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
    size_awg: Literal["14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0"]
    temperature_rating_c: Annotated[Literal[60, 75, 90, 105], WholeNumber]
    length_m: Metres


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

    @model_validator(mode="after")
    def settings_are_possible(self) -> Self:
        refuse(*self._setting_faults(), *self._standing_faults())
        return self

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
    fuel: FuelKind
    duration_min: Annotated[float, Field(gt=0, le=1440)]
    power_metered_kw: Kilowatts
    altitude_m: Altitude
    ambient_c: Celsius

    @model_validator(mode="after")
    def date_exists(self) -> Self:
        try:
            date.fromisoformat(self.date)
        except ValueError:
            refuse(Fault(("date",), "a day of the calendar", self.date, "write year-month-day in quotes"))
        return self


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


class Rig(Reference):
    """One mobile unit: source, overcurrent devices, wiring, EVSE, cable, adapters on board."""

    kind_word: ClassVar[str] = "rig"
    summary: Text
    source: Annotated[GeneratorSource | BatterySource, Field(discriminator="kind")]
    commissioning: tuple[Commissioning, ...] = ()
    usual_site: Site
    other_loads: OtherLoads = OtherLoads()
    supply: tuple[SupplyPart, ...] = Field(description="From the source to the EVSE, in the order of the current")
    evse: Evse
    adapters: tuple[Id, ...] = ()

    @model_validator(mode="after")
    def parts_suit_one_another(self) -> Self:
        refuse(*self._supply_faults(), *self._commissioning_faults())
        return self

    def _supply_faults(self) -> Iterator[Fault]:
        ids = [part.id for part in self.supply]
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
        if isinstance(self.source, BatterySource):
            if self.commissioning:
                yield Fault(
                    ("commissioning",),
                    "no fuel run for a battery source",
                    f"{len(self.commissioning)} run(s)",
                    "remove them: an inverter's continuous rating is already continuous",
                )
            return
        for index, run in enumerate(self.commissioning):
            fuel = self.source.fuels.get(run.fuel)
            if fuel is None:
                yield Fault(
                    ("commissioning", index, "fuel"),
                    f"a fuel of this source: {', '.join(self.source.fuels)}",
                    run.fuel,
                    "correct the fuel of that run",
                )
            elif 1000 * run.power_metered_kw > fuel.running_power_w:
                yield Fault(
                    ("commissioning", index, "power_metered_kw"),
                    f"at most the running watts on {run.fuel}, {fuel.running_power_w / 1000:g} kW",
                    f"{run.power_metered_kw:g} kW",
                    "read the meter again: for an hour an engine gives no more than its running watts",
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
            *((CORRECTION_TABLE,) if constructions else ()),
            *((CORD_TABLE,) if "flexible_cord" in constructions else ()),
            *((BUILDING_WIRE_TABLE, SMALL_CONDUCTOR_TABLE) if "building_wire" in constructions else ()),
        )


# own-judgement: LFP holds full power later, then falls fast; a mixed class is planned with the longer tail.
LFP_TAIL_FACTOR = 0.5
HEAT_PUMP_SHARES = {"resistive": 0.0, "either": 0.5, "heat_pump": 1.0, "none": 0.0}


class VehiclePort(Record):
    """One inlet of a vehicle class and where on the body it sits."""

    inlet: Id
    place: Text


class VehicleBattery(Record):
    """The traction battery."""

    energy_usable_kwh: SpreadKilowattHours = Field(description="Usable energy when new")
    health: SpreadHealth = Field(description="Share of it that is left at the age of the class")
    chemistry: Literal["nickel", "lfp", "mixed"]
    heater_kw: SpreadHeater | None = Field(default=None, description="Electric pack heater; leave out without one")

    @property
    def tail_factor(self) -> float:
        """Return the length of the charge curve's tail against a nickel chemistry's."""
        return LFP_TAIL_FACTOR if self.chemistry == "lfp" else 1.0


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
    """What the road takes from the class, before the one scaling to its label."""

    mass_kg: Annotated[float, Field(ge=50, le=40_000)] = Field(description="With a driver and some load, as tested")
    drag_area_m2: Annotated[float, Field(gt=0, le=20)] = Field(description="Drag coefficient times frontal area")
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


class VehicleClass(Reference):
    """A generic group of vehicles that charge alike; never a make or model."""

    kind_word: ClassVar[str] = "class"
    summary: Text = Field(description="How to recognise it, without a brand")
    body: Literal["micro", "hatch", "sedan", "crossover", "suv", "pickup", "minivan", "van", "truck", "motorcycle"]
    built_from: int = Field(ge=1990, le=2100)
    built_to: int | None = Field(default=None, ge=1990, le=2100)
    engine: bool = Field(default=False, description="True when it also drives on fuel")
    ports: tuple[VehiclePort, ...] = Field(min_length=1)
    battery: VehicleBattery
    onboard_charger: OnboardCharger
    label: Label
    charging: ChargingHabits
    road: RoadLoad
    cabin: CabinClimate

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


class Rates(Record):
    """Minutes that a stop takes besides charging."""

    park_min: SpreadMinutes
    warm_up_min: SpreadMinutes
    handshake_min: SpreadMinutes
    refuel_stop_min: SpreadMinutes
    cool_down_min: SpreadMinutes
    pack_up_min: SpreadMinutes
    sources: dict[str, Provenance] = Field(default_factory=dict)


RECORD_KINDS: dict[str, type[Reference]] = {
    "vehicle_classes": VehicleClass,
    "rigs": Rig,
    "connectors": Connector,
    "inlets": Inlet,
    "adapters": Adapter,
    "outlets": Outlet,
    "tables": Table,
    "schedules": DriveSchedule,
}

# What people type for a kind, and the folder it lives in.
KIND_WORDS = {"vehicles": "vehicle_classes", **{folder: folder for folder in RECORD_KINDS}}


@dataclass(frozen=True, slots=True)
class Folder:
    """A folder that a dataset was read from, with a digest of the records it gave."""

    path: str
    version: str
    digest: str


@dataclass(frozen=True)
class Dataset:
    """All records that were read, by kind and id. `origins` tells which folder each came from."""

    vehicle_classes: Mapping[str, VehicleClass]
    rigs: Mapping[str, Rig]
    connectors: Mapping[str, Connector]
    inlets: Mapping[str, Inlet]
    adapters: Mapping[str, Adapter]
    outlets: Mapping[str, Outlet]
    tables: Mapping[str, Table]
    schedules: Mapping[str, DriveSchedule]
    rates: Rates
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
    "connectors": ((("fits", "*"), "inlets"),),
    "adapters": ((("takes",), "connectors"), (("becomes",), "connectors")),
    "vehicle_classes": ((("ports", "*", "inlet"), "inlets"),),
    "rigs": (
        (("supply", "*", "outlet"), "outlets"),
        (("evse", "plug"), "outlets"),
        (("evse", "cable", "connector"), "connectors"),
        (("adapters", "*"), "adapters"),
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


def numbers_without_one_source(data: Mapping[str, object]) -> Iterator[tuple[tuple[str | int, ...], list[str]]]:
    """Yield the path of each number that is not covered by exactly one entry of `sources`, with those that cover it.

    `data` is a record as read, before validation. An entry covers the number at its path and all numbers below it.
    """
    sources = data.get("sources")
    covers = [tuple(str(key).split(".")) for key in sources] if isinstance(sources, Mapping) else []
    for path in _numbers(data, ()):
        if path[0] == "sources":
            continue
        as_text = tuple(str(step) for step in path)
        covering = [".".join(cover) for cover in covers if as_text[: len(cover)] == cover]
        if len(covering) != 1:
            yield path, covering


def _numbers(value: object, path: tuple[str | int, ...]) -> Iterator[tuple[str | int, ...]]:
    if isinstance(value, bool):
        return
    if isinstance(value, int | float):
        yield path
    elif isinstance(value, Mapping):
        for key, item in value.items():
            yield from _numbers(item, (*path, key))
    elif isinstance(value, tuple | list):
        for index, item in enumerate(value):
            yield from _numbers(item, (*path, index))
