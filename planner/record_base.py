"""What all records share: strictness, identity, numbers with their bands, and where a number comes from."""

from dataclasses import dataclass
from functools import cached_property
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

__all__ = [
    "AWG_SIZES",
    "ID_LENGTH",
    "ID_PATTERN",
    "NAME_PATTERN",
    "TEXT_PATTERN",
    "Altitude",
    "Amps",
    "Celsius",
    "Fault",
    "FewWords",
    "Fraction",
    "FuelKind",
    "Id",
    "Kilowatts",
    "Litres",
    "Metres",
    "Name",
    "PhaseCount",
    "PositiveFraction",
    "Provenance",
    "Record",
    "Reference",
    "Spread",
    "SpreadAmps",
    "SpreadConsumption",
    "SpreadDragArea",
    "SpreadHealth",
    "SpreadHeater",
    "SpreadKilowattHours",
    "SpreadKilowatts",
    "SpreadMargin",
    "SpreadMass",
    "SpreadMinutes",
    "SpreadPackVolts",
    "SpreadVolts",
    "Text",
    "Volts",
    "Watts",
    "WholeNumber",
    "refuse",
]

ID_PATTERN = r"^[a-z0-9]+(-[a-z0-9]+)*$"
ID_LENGTH = 40
NAME_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9 \-/.,()+]*$"
# Text for people: any printable character of the basic Latin and Latin-1 range and common punctuation; no control
# and no direction-changing characters, which could make a page or a terminal show something else than was read.
TEXT_PATTERN = r"^[\x20-\x7e\u00a0-\u017f\u2010-\u2027\u2030-\u205e\u2070-\u209c\u2190-\u22ff]*$"

AWG_SIZES = ("18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0")

Id = Annotated[str, Field(pattern=ID_PATTERN, max_length=ID_LENGTH)]
Name = Annotated[str, Field(pattern=NAME_PATTERN, max_length=60)]
Text = Annotated[str, Field(pattern=TEXT_PATTERN, min_length=1, max_length=600)]
FewWords = Annotated[str, Field(pattern=TEXT_PATTERN, min_length=1, max_length=60)]
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


def _plain_number(value: object) -> object:
    """Return a plain number as a spread of no width: a crew's record from before there was a band stays good."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return {"low": value, "typical": value, "high": value}
    return value


PLAIN_NUMBER = BeforeValidator(_plain_number, json_schema_input_type=float | Spread)

SpreadKilowatts = Annotated[Spread, _within(0.001, 1000)]
SpreadKilowattHours = Annotated[Spread, _within(0.1, 2000)]
SpreadAmps = Annotated[Spread, _within(0.1, 1000)]
SpreadVolts = Annotated[Spread, _within(90, 1000)]
SpreadMinutes = Annotated[Spread, _within(0, 240)]
SpreadConsumption = Annotated[Spread, _within(1, 1000)]
SpreadMargin = Annotated[Spread, _within(0, 0.5)]
SpreadHealth = Annotated[Spread, _within(0.3, 1)]
SpreadHeater = Annotated[Spread, _within(0, 30)]
SpreadPackVolts = Annotated[Spread, _within(20, 1200)]
SpreadMass = Annotated[Spread, _within(50, 40_000), PLAIN_NUMBER]
SpreadDragArea = Annotated[Spread, _within(0.1, 20), PLAIN_NUMBER]


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
