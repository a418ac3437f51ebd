"""The records of couplers: connectors, inlets with the face that is drawn of them, adapters, and supply-side leads."""

from functools import cached_property
from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from planner.record_base import (
    Amps,
    Fault,
    Id,
    Metres,
    PhaseCount,
    Record,
    Reference,
    Text,
    WholeNumber,
    refuse,
)
from planner.rig_records import WireSize

__all__ = [
    "Adapter",
    "Connector",
    "Contact",
    "ContactRole",
    "Contacts",
    "Coupler",
    "Face",
    "HeldBy",
    "Inlet",
    "Lead",
    "Outline",
    "Proximity",
    "Region",
    "Seen",
    "Signalling",
]

Region = Literal["north_america", "europe", "japan", "korea", "china", "elsewhere"]
ContactRole = Literal[
    "l1",
    "l2",
    "l3",
    "neutral",
    "ground",
    "pilot",
    "proximity",
    "dc_plus",
    "dc_minus",
    "can_high",
    "can_low",
    "start_1",
    "start_2",
    "enable",
    "auxiliary_plus",
    "auxiliary_minus",
    "confirm_1",
    "confirm_2",
    "unused",
]
# How vehicle and supply agree on the current: the 1 kHz pilot, the same with the national scheme of confirmation
# contacts, a digital bus on the pilot wire, a CAN bus of its own, or nothing at all (a vehicle's own cord).
Signalling = Literal["pilot", "pilot_gb_t", "pilot_lin", "can", "none"]
# What the proximity contact tells: that a latch is shut, or what the cable carries, or neither.
Proximity = Literal["latch_switch", "cable_code", "own_scheme", "none"]
HeldBy = Literal["thumb_latch", "vehicle_pin", "lever_and_lock", "friction", "twist"]
Millimetres = Annotated[float, Field(ge=-200, le=200)]
Diameter = Annotated[float, Field(gt=0, le=200)]
Volts = Annotated[float, Field(ge=90, le=2000)]


class Contacts(Record):
    """What a coupler carries in one of the two worlds, AC or DC, as continuous ratings."""

    current_a: Amps
    voltage_v: Volts
    phases: tuple[PhaseCount, ...] = Field(
        default=(1,), min_length=1, description="For AC: the phase counts it can carry"
    )


class Outline(Record):
    """One closed line of a face: a circle, which may be cut flat at the top, or corners joined and rounded off."""

    part: Literal["edge", "inner", "latch", "cap", "handle"] = Field(
        description="edge: the outer line; inner: a step inside it; latch: the notch for it; handle: of a connector"
    )
    center_mm: tuple[Millimetres, Millimetres] = (0.0, 0.0)
    diameter_mm: Diameter | None = Field(default=None, description="Of a circle")
    flat_top_mm: Millimetres | None = Field(default=None, description="Height at which a circle is cut flat")
    corners_mm: tuple[tuple[Millimetres, Millimetres], ...] = Field(default=(), description="In order, right and up")
    rounding_mm: Annotated[float, Field(ge=0, le=100)] = 0.0

    @model_validator(mode="after")
    def is_one_shape(self) -> Self:
        if (self.diameter_mm is None) == (len(self.corners_mm) < 3):
            refuse(
                Fault(
                    ("diameter_mm",),
                    "either diameter_mm for a circle, or three corners_mm or more",
                    "neither" if self.diameter_mm is None else "both",
                    "keep the one that the line is",
                )
            )
        return self


class Contact(Record):
    """One contact of a face."""

    roles: tuple[ContactRole, ...] = Field(min_length=1, description="Several where AC and DC share the contact")
    at_mm: tuple[Millimetres, Millimetres]
    diameter_mm: Diameter
    sleeve_mm: Diameter | None = Field(default=None, description="Outer diameter of the wall around it")


class Seen(Record):
    """What a person sees of an inlet before knowing its name: what the questions on the ports page ask for."""

    outline: Literal["round", "flat_top", "shield", "plug_on_a_cord"]
    joined_below: bool = Field(default=False, description="Two large holes in a block joined on below the upper part")
    wide: bool = Field(default=False, description="About three quarter-dollar coins across, where its twin has two")


class Face(Reference):
    """What is seen of the inlet of the same id from the front, in millimeters right and up of a middle; approximate."""

    kind_word: ClassVar[str] = "face"

    metal: Literal["pins", "holes", "openings"] = Field(
        description="What the metal of its contacts is: pins, or holes for pins; openings where it is not known"
    )
    outlines: tuple[Outline, ...] = Field(min_length=1)
    contacts: tuple[Contact, ...] = Field(min_length=1)
    side: tuple[Outline, ...] = Field(
        default=(), description="Its connector from the side, what goes in to the left, the cable to the right"
    )
    seen: Seen
    mistaken_for: Text | None = Field(default=None, description="What else it looks like, and what tells the two apart")
    looks_like: tuple[Id, ...] = Field(default=(), description="Inlets that it is easily mistaken for")

    @cached_property
    def size_mm(self) -> tuple[float, float]:
        """Return width and height of what is drawn."""
        left, right, bottom, top = self.bounds_mm
        return right - left, top - bottom

    @cached_property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """Return left, right, bottom and top of what is drawn."""
        xs: list[float] = []
        ys: list[float] = []
        for line in self.outlines:
            x, y = line.center_mm
            if line.diameter_mm is not None:
                radius = line.diameter_mm / 2
                xs += [x - radius, x + radius]
                ys += [y - radius, y + radius if line.flat_top_mm is None else line.flat_top_mm]
            for corner_x, corner_y in line.corners_mm:
                xs.append(x + corner_x)
                ys.append(y + corner_y)
        return min(xs), max(xs), min(ys), max(ys)


class Coupler(Reference):
    """What connector and inlet share."""

    standard: Text
    regions: tuple[Region, ...] = Field(min_length=1, description="Where vehicles are built with it")
    ac: Contacts | None = None
    dc: Contacts | None = None
    signalling: Signalling
    proximity: Proximity
    temperature_sensing: bool | None = Field(
        default=None, description="Whether its standard asks for it at the contacts; leave out if not known"
    )
    held_by: HeldBy = Field(description="What keeps the two halves together")

    @model_validator(mode="after")
    def carries_something(self) -> Self:
        if self.ac is None and self.dc is None:
            refuse(Fault(("ac",), "ac or dc (or both)", "neither", "say what it carries, with current_a and voltage_v"))
        return self


class Connector(Coupler):
    """A connector: the end of a cable that goes into a vehicle (or into an adapter)."""

    kind_word: ClassVar[str] = "connector"
    fits: tuple[Id, ...] = Field(
        min_length=1, description="Inlets it can be inserted into; what may flow is decided by ac, dc and signalling"
    )
    mates: Id = Field(description="The inlet that it is the other half of: its face is that one's mirror image")
    left_out: tuple[ContactRole, ...] = Field(default=(), description="Contacts of that inlet which it does not have")
    latch: Text = Field(description="How it is held and how it comes out")


class Inlet(Coupler):
    """An inlet: the port on a vehicle, or the plug of a cord that belongs to the vehicle."""

    kind_word: ClassVar[str] = "inlet"
    ac_part: Text | None = Field(default=None, description="Where the AC connector goes, if not into the whole of it")
    plugs_into: Id | None = Field(
        default=None, description="For a vehicle with a supply cord of its own: the outlet that its plug goes into"
    )
    first_year: int | None = Field(
        default=None, ge=1990, le=2100, description="Year in which vehicles with it were first sold"
    )
    last_year: int | None = Field(
        default=None, ge=1990, le=2100, description="Last such year in the scenario's region, where it has gone"
    )
    tell_apart: Text = Field(description="What to look for, in words that need no picture")
    never: Text = Field(description="What must never be forced into it, or used on it")
    release: Text = Field(description="How a locked or frozen one is freed, and where to stop")


class Adapter(Reference):
    """A vehicle-side adapter: takes one connector and behaves like another. It carries AC or DC, never both."""

    kind_word: ClassVar[str] = "adapter"
    carries: Literal["ac", "dc"]
    takes: Id = Field(description="The connector that is inserted into it")
    becomes: Id = Field(description="The connector that it then is, towards the vehicle")
    rating_current_a: Amps | None = Field(default=None, description="From its own label; leave out if unreadable")
    rating_voltage_v: Volts | None = None
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


class Lead(Reference):
    """A supply-side lead: a plug for one outlet and a receptacle of another kind, ahead of the EVSE."""

    kind_word: ClassVar[str] = "lead"
    plug: Id = Field(description="The outlet that its plug goes into")
    plugs: Annotated[Literal[1, 2], WholeNumber] = Field(
        default=1, description="2 for a lead that takes from two outlets at a time"
    )
    receptacle: Id = Field(description="The outlet that it then is, for the EVSE's plug")
    size_awg: WireSize
    temperature_rating_c: Annotated[Literal[60, 75, 90], WholeNumber] = 60
    grounding_awg: WireSize | None = Field(default=None, description="Leave out if there is none, or if not known")
    length_m: Metres
    device_a: Amps | None = Field(default=None, description="An overcurrent device built into it, at its plug")
    wet_rated: bool | None = Field(default=None, description="True with a W in its type; leave out if not known")
    listing: Literal["listed", "none"]
