"""Where a vehicle stands: what forbids charging there, what has to be asked first, and what is assumed."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from planner.reach import USUAL_GAP_M, Side, reach_m, required_reach_m
from planner.records import PLACE_WORDS, VehicleClass, VehiclePort
from planner.units import FT_PER_M

__all__ = [
    "LEVELS",
    "OPEN_PLACES",
    "PLACE_KIND_WORDS",
    "RULES",
    "SHOULDER_CAP_MIN",
    "Level",
    "Place",
    "PlaceKind",
    "Rule",
    "Ruling",
    "Subject",
    "assumed_of_place",
    "place_codes",
    "place_rulings",
]

PlaceKind = Literal["open_lot", "driveway", "street", "shoulder", "open_ramp", "garage", "car_port", "underground"]
PLACE_KIND_WORDS: dict[PlaceKind, str] = {
    "open_lot": "an open lot",
    "driveway": "a driveway",
    "street": "a street",
    "shoulder": "the shoulder of a road",
    "open_ramp": "an open-sided parking deck with another deck above",
    "garage": "a garage or another closed room",
    "car_port": "a car port, porch, canopy or awning",
    "underground": "an underground garage",
}
OPEN_PLACES: tuple[PlaceKind, ...] = ("open_lot", "driveway", "street", "shoulder")
_ON_A_ROAD = ("street", "shoulder")
_SOMEBODYS = ("garage", "open_ramp", "underground")  # a place that somebody runs and is asked for

# own-judgement: as long as an incident that mutcd-6, 6I.01, calls minor, under 30 minutes. It sets no limit of a stay.
SHOULDER_CAP_MIN = 30

Level = Literal["refuse", "ask", "try", "change"]
LEVELS: tuple[Level, ...] = ("refuse", "ask", "try", "change")
Subject = Literal["danger", "traffic", "place", "key", "battery", "port", "reach"]

_COMMON_PRACTICE = "common practice, no source"
_JUDGEMENT = "own-judgement"
_EXHAUST = "cpsc-generators; osha-4105"
_DISTANCE = "cpsc-generators; cdc-generator-distance"
_ROADSIDE = "roadside-breakdown"
_FILLED_IN = ("needed_ft", "reach_ft", "in_reach", "out_of_reach", "places", "days")  # what a call puts into a rule
_ROUNDING_M = 1e-9  # keeps 20 ft from becoming 21 by a rounding bit


@dataclass(frozen=True, slots=True)
class Place:
    """Where the vehicle stands and where our truck can stand; None is not known."""

    kind: PlaceKind | None = None
    openings: Literal["clear", "near"] | None = None  # of a building, within 20 ft of where our engine can stand
    people: Literal["away", "near"] | None = None  # in any vehicle within 20 ft of the engine while it runs
    out_of_traffic: bool | None = None
    port_distance_m: float | None = None  # from where our truck can stand
    stand: Side | None = None
    gap_m: float | None = None
    quiet_hours: bool | None = None
    permission: bool | None = None  # of whoever runs the place, or whose outlet it is


@dataclass(frozen=True, slots=True)
class Ruling:
    """What one rule says of one call: the decisive sentence, what instead, and for `try` what it takes."""

    code: str
    level: Level
    text: str
    remedy: str
    source: str
    question: str
    minutes: str | None  # the name of the rate that is allowed for a try
    bring: tuple[str, ...] = ()
    give_up: str = ""

    def allowing(self, minutes: int) -> "Ruling":
        """Return the ruling of a try with the minutes that are allowed for it."""
        blank, number = "{minutes}", str(minutes)
        return replace(self, remedy=self.remedy.replace(blank, number), give_up=self.give_up.replace(blank, number))


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule as the pages list it; a name in braces is a figure or a place of the call."""

    code: str
    level: Level
    situation: str
    text: str
    remedy: str
    source: str
    subject: Subject = "place"
    question: str = ""
    minutes: str | None = None
    bring: tuple[str, ...] = ()
    give_up: str = ""
    on_pages: str = ""  # the text of a page, where no call fills in its figures
    question_on_pages: str = ""

    def ruling(self, **words: object) -> Ruling:
        """Return what this rule says of a call, with the call's figures and places filled in.

        The minutes of a try stay a blank of their own: only who knows the rates fills them in, by `Ruling.allowing`.
        """
        told = {"minutes": "{minutes}", **words}
        return Ruling(
            self.code,
            self.level,
            self.text.format(**told),
            self.remedy.format(**told),
            self.source,
            self.question.format(**told),
            self.minutes,
            self.bring,
            self.give_up.format(**told),
        )

    def with_blanks(self, *, minutes: int | None = None) -> "Rule":
        """Return the rule as a page shows it, where no call fills in the figures; `minutes` are those of a try."""
        blanks = {**dict.fromkeys(_FILLED_IN, "..."), "minutes": "..." if minutes is None else str(minutes)}
        return replace(
            self,
            text=self.on_pages or self.text.format(**blanks),
            remedy=self.remedy.format(**blanks),
            question=self.question_on_pages or self.question.format(**blanks),
            give_up=self.give_up.format(**blanks),
        )


RULES: tuple[Rule, ...] = (
    Rule(
        "in_traffic",
        "refuse",
        "In a traveled lane, or right at its edge with no room",
        "Nobody works in moving traffic: call 911 or the police now, hazard lights on.",
        "People get out and behind a barrier where they can do it safely, else they stay belted in; first a tow to a "
        "safe place.",
        _ROADSIDE,
        "traffic",
    ),
    Rule(
        "engine_indoors",
        "refuse",
        "Our engine, and a garage or any closed room, its door open or not",
        "Our engine's exhaust kills in a closed room, its door open or not.",
        "Roll the vehicle out into the open, 20 ft (6 m) from any door, window or vent, or send a rig without an "
        "engine, or a tow.",
        _EXHAUST,
    ),
    Rule(
        "engine_underground",
        "refuse",
        "Our engine, and an underground garage",
        "No engine runs below ground, fans or not.",
        "A tow up into the open, or a rig without an engine.",
        _EXHAUST,
    ),
    Rule(
        "engine_under_roof",
        "refuse",
        "Our engine, and a roof or a deck above, its sides open or not",
        "A roof or a deck overhead holds our engine's exhaust, open sides or not.",
        "Roll the vehicle out from under it, 20 ft (6 m) from any door, window or vent, or send a rig without an "
        "engine, or a tow.",
        _EXHAUST,
    ),
    Rule(
        "engine_near_openings",
        "refuse",
        "Our engine, and a door, window or vent of a building within 20 ft",
        "A door, window or vent is within 20 ft (6 m) of our engine, open or closed.",
        "So move the vehicle or our truck until 20 ft are clear, 25 ft in still air, or send a rig without an engine.",
        _DISTANCE,
    ),
    Rule(
        "engine_near_people",
        "refuse",
        "Our engine, and anybody in a vehicle within 20 ft of it, ours too",
        "Nobody sits in a vehicle within 20 ft (6 m) of our engine, ours included.",
        "Everybody out and 20 ft away, upwind, in the cold in another vehicle well away; nowhere warm to wait there: "
        "911; or a rig without an engine.",
        _JUDGEMENT,  # the guidance names 20 ft from a house, and no vehicle
    ),
    Rule(
        "no_permission",
        "refuse",
        "Whoever runs the place, or owns the outlet, says no",
        "Whoever runs the place or owns the outlet says no, so we do not charge there.",
        "It takes another spot, or a tow.",
        _COMMON_PRACTICE,
    ),
    Rule(
        "cable_too_short",
        "refuse",
        "The port is farther than the cable reaches",
        "It takes {needed_ft} ft of cable to the port and ours reaches {reach_ft} ft.",
        "So park nearer or the other way round; never an extension between couplers.",
        "nfpa-ev-charging, no extension; reach own-judgement",
        "reach",
        on_pages="It takes more cable to the port than ours reaches.",
    ),
    Rule(
        "traffic_not_known",
        "ask",
        "A street or a shoulder, and nobody has said whether it is out of traffic",
        "On a street or a shoulder the traffic comes first.",
        "In a lane, or right at its edge: 911 or the police, and a tow.",
        _ROADSIDE,
        "traffic",
        question="Is it well out of moving traffic, with room to work on the side away from it?",
    ),
    Rule(
        "place_not_known",
        "ask",
        "Our engine, and nobody has said where the vehicle stands",
        "Our rig runs an engine, and its exhaust kills indoors or under a roof: the place has to be known first.",
        "Anywhere but in the open: out of there first, or a rig without an engine.",
        _EXHAUST,
        question="Where does it stand: in the open, under a roof, in a garage or below ground?",
    ),
    Rule(
        "clearance_not_known",
        "ask",
        "Our engine in the open, and nobody has said what is within 20 ft of it",
        "Our engine needs 20 ft (6 m) to any opening of a building and to anybody in a vehicle.",
        "Nearer than that, or than 25 ft in still air: move the vehicle or our truck, and everybody out of the "
        "vehicles.",
        _DISTANCE,
        question="Is any door, window or vent, or anybody in a vehicle, within 20 ft of where our engine can stand?",
    ),
    Rule(
        "permission_not_known",
        "ask",
        "A garage, a parking deck or underground, a rig without an engine, and nobody has said that it is allowed",
        "Somebody runs that garage or parking deck, and has to allow it.",
        "Not allowed: out into the open.",
        _COMMON_PRACTICE,
        question="Does whoever runs the place, or owns the outlet, allow us to charge it there?",
    ),
    Rule(
        "quiet_hours",
        "ask",
        "Our engine during quiet hours, and nobody has said that it is allowed",
        "Our engine is loud, and quiet hours hold there.",
        "Not allowed: a rig without an engine, or after the quiet hours.",
        "cfr-36-327-12",
        question="Does whoever runs the place allow it now, in the quiet hours?",
    ),
    Rule(
        "port_side_not_known",
        "ask",
        "The cable reaches the port at some of the places where this class has it",
        "Our cable reaches a port on the {in_reach} from there, and not one on the {out_of_reach}.",
        "Park our truck on the side of the port.",
        _JUDGEMENT,
        "reach",
        question="Which side is the charge door on, and is it near the front or the back: {places}?",
        on_pages="Our cable reaches the port at one of its places from there, and not at another.",
        question_on_pages="Which side is the charge door on, and is it near the front or the back?",
    ),
    Rule(
        "shoulder",
        "change",
        "The shoulder of a road, out of traffic",
        f"On the shoulder only until it can move again, {SHOULDER_CAP_MIN} minutes on site at most.",
        "Where its own wheels or a tow can take it to a safe place, that comes first.",
        "mutcd-6, a minor incident is under 30 min; own-judgement",
        "traffic",
    ),
)
_BY_CODE = {rule.code: rule for rule in RULES}
_ORDER = {rule.code: number for number, rule in enumerate(RULES)}


def place_rulings(
    place: Place, *, engine: bool, vehicle: VehicleClass, port: VehiclePort | None, cable_length_m: float | None
) -> tuple[Ruling, ...]:
    """Return what the place forbids, asks and changes, the decisive one first.

    `engine` says whether our unit may run one. A distance that was given decides on the cable; else the side where
    our truck can stand does, with the places of `port`; without a cable, or without either, nothing is said of it.
    """
    rulings = [_BY_CODE[code].ruling() for code in place_codes(place, engine=engine)]
    if cable_length_m is not None:
        rulings += _reach(place, vehicle, port, reach_m(cable_length_m))
    return tuple(sorted(rulings, key=lambda ruling: _ORDER[ruling.code]))


def place_codes(place: Place, *, engine: bool) -> tuple[str, ...]:
    """Return the codes of the rules that a place meets, but for how far a cable reaches."""
    codes = [*_traffic(place), *(_exhaust(place) if engine else ()), *_permission(place, engine=engine)]
    return tuple(sorted(codes, key=lambda code: _ORDER[code]))


def _traffic(place: Place) -> Iterable[str]:
    if place.out_of_traffic is False:
        yield "in_traffic"
    elif place.out_of_traffic is None and place.kind in _ON_A_ROAD:
        yield "traffic_not_known"
    elif place.out_of_traffic and place.kind == "shoulder":
        yield "shoulder"


def _exhaust(place: Place) -> Iterable[str]:
    if place.kind == "garage":
        yield "engine_indoors"
    elif place.kind == "underground":
        yield "engine_underground"
    elif place.kind in ("car_port", "open_ramp"):
        yield "engine_under_roof"
    elif place.kind is None:
        yield "place_not_known"
    elif place.openings is None or place.people is None:
        yield "clearance_not_known"
    if place.openings == "near":
        yield "engine_near_openings"
    if place.people == "near":
        yield "engine_near_people"


def _permission(place: Place, *, engine: bool) -> Iterable[str]:
    if place.permission is False:
        yield "no_permission"
    elif place.permission is None:
        if not engine and place.kind in _SOMEBODYS:
            yield "permission_not_known"
        if engine and place.quiet_hours:
            yield "quiet_hours"


def _reach(place: Place, vehicle: VehicleClass, port: VehiclePort | None, cable_m: float) -> Iterable[Ruling]:
    needed_m: dict[str, float] = {}  # by the place of the port, in words
    if place.port_distance_m is not None:
        needed_m = {"": place.port_distance_m}
    elif place.stand is not None and port is not None:
        gap_m = USUAL_GAP_M if place.gap_m is None else place.gap_m
        needed_m = {
            PLACE_WORDS[each.at]: required_reach_m(body=vehicle.body, place=each.at, side=place.stand, gap_m=gap_m)
            for each in port.places
        }
    far = [words for words, way_m in needed_m.items() if way_m > cable_m + _ROUNDING_M]
    if not far:
        return
    if len(far) == len(needed_m):
        # The way is rounded up and the reach down, so that the two never read alike.
        needed_ft = math.ceil(min(needed_m.values()) * FT_PER_M - _ROUNDING_M)
        reach_ft = math.floor(cable_m * FT_PER_M + _ROUNDING_M)
        yield _BY_CODE["cable_too_short"].ruling(needed_ft=needed_ft, reach_ft=reach_ft)
        return
    near = [words for words in needed_m if words not in far]
    yield _BY_CODE["port_side_not_known"].ruling(
        in_reach=_either(near), out_of_reach=_either(far), places=_either(list(needed_m))
    )


def _either(words: list[str]) -> str:
    return " or ".join((", ".join(words[:-1]), words[-1])) if len(words) > 1 else words[0]


def assumed_of_place(place: Place, *, engine: bool, site_outlet: bool, port_known: bool = True) -> tuple[str, ...]:
    """Return what is taken for granted of the place because nobody has said it.

    What is asked is not assumed. `port_known` is False where the place of the port is not known, so that the side where
    our truck stands tells nothing.
    """
    asked = {*_traffic(place), *(_exhaust(place) if engine else ()), *_permission(place, engine=engine)}
    assumed = []
    if place.kind is None and not engine:
        assumed.append("a place that suits a rig without an engine")
    if place.out_of_traffic is None and "traffic_not_known" not in asked:
        assumed.append("out of moving traffic")
    if place.port_distance_m is None:
        if place.stand is None or not port_known:
            assumed.append("port within reach of the cable")
        elif place.gap_m is None:
            assumed.append(f"our truck {USUAL_GAP_M * FT_PER_M:.0f} ft from the vehicle")
    if place.quiet_hours is None and engine:
        assumed.append("no quiet hours")
    if place.permission is None and not asked & {"permission_not_known", "quiet_hours"}:
        whose = "whose outlet it is" if site_outlet else "whoever runs the place"
        assumed.append(f"allowed by {whose}")
    return tuple(assumed)
