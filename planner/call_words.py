"""The words of a call to a `Call`: what a dispatcher types as options, or keeps in a file, in the same words."""

import re
from argparse import Namespace
from collections.abc import Callable, Mapping
from typing import Literal, TypeVar, get_args

from planner.answer import Call
from planner.condition import Condition
from planner.errors import QuantityError, printable
from planner.journey import Road
from planner.place import PLACE_KIND_WORDS, Place, PlaceKind
from planner.reach import Side
from planner.records import M_PER_S_PER_MPH
from planner.trip import (
    DASH_WORDS,
    DashBars,
    DashMiles,
    DashWord,
    Energy,
    Goal,
    Miles,
    Need,
    Start,
    TimePluggedIn,
    ToPercent,
)
from planner.units import (
    FT_PER_M,
    KM_PER_MILE,
    has_unit,
    parse_altitude_m,
    parse_current_a,
    parse_distance_km,
    parse_duration_min,
    parse_energy_kwh,
    parse_length_m,
    parse_mass_kg,
    parse_percent,
    parse_power_kw,
    parse_speed_mph,
    parse_temperature_c,
    parse_voltage_v,
    parse_volume_l,
)

__all__ = ["DANGERS", "PORT_STATES", "adapter_label", "call_from_words"]

T = TypeVar("T")

SLOWEST_MPH, FASTEST_MPH = 5.0, 130.0
STRONGEST_WIND_MPH = 80.0
HEAVIEST_LOAD_KG, HEAVIEST_TRAILER_KG = 5000.0, 8000.0
LONGEST_TIME_MIN = 60.0 * 24 * 60
LONGEST_PLACE = 30
FARTHEST_M = 60.0  # of a truck from a port: longer than any cable
USUAL_STAY_MIN = 45  # own-judgement: what is reckoned with where nobody has said what it needs
YES_NO = {"yes": True, "no": False}
DANGERS = ("crash", "water", "smoke", "warning")
PortState = Literal["good", "wet", "damaged", "frozen", "locked"]
PORT_STATES: tuple[PortState, ...] = get_args(PortState)
MOST_BARS = 40
BARS = re.compile(r"(\d{1,2})\s*/\s*(\d{1,2})\s*bars?")
NO_MILES = re.compile(r"0+(\.0+)?\s*[a-z]")
DASH_FORMS = "12%, 8mi, 1/12bars, turtle, dashes, dead or unknown"


def call_from_words(options: Namespace, note: Callable[[str], None]) -> Call:
    """Return the call that words say. Raises `QuantityError` with the word, what was found, and what to do."""
    start = _start(options.start)
    ambient_c = None if options.ambient is None else parse_temperature_c(options.ambient, name="--ambient")
    if options.ambient is not None and not has_unit(options.ambient):
        note(f"--ambient {options.ambient} taken as Fahrenheit")
    if options.breaker is not None and options.outlet is None:
        raise QuantityError(
            name="--breaker",
            given=options.breaker,
            expected="--outlet beside it: which outlet stands on that breaker",
            next_step="write --outlet nema-14-30, or the outlet that is there",
        )
    drove_min = _optional(options.drove, "--drove", LONGEST_TIME_MIN)
    parked_min = _optional(options.parked, "--parked", LONGEST_TIME_MIN)
    return Call(
        rig=options.rig,
        vehicle=options.vehicle or "",
        start=start,
        need=_need(options, start),
        ambient_c=ambient_c,
        altitude_m=None if options.altitude is None else parse_altitude_m(options.altitude, name="--altitude"),
        fuel=options.fuel,
        cabin_on={"on": True, "off": False}.get(options.cabin),
        drove_min=drove_min,
        parked_h=None if parked_min is None else parked_min / 60,
        road=_road(options),
        tank_empty={"empty": True, "fuel": False}.get(options.tank),
        tank_now_l=None if options.rig_tank is None else parse_volume_l(options.rig_tank, name="--rig-tank"),
        cans_now_l=None if options.rig_cans is None else parse_volume_l(options.rig_cans, name="--rig-cans"),
        inlet=options.port if options.vehicle else None,
        outlet=options.outlet,
        breaker_a=None if options.breaker is None else parse_current_a(options.breaker, name="--breaker"),
        charge_now_percent=None
        if options.rig_charge is None
        else parse_percent(options.rig_charge, name="--rig-charge", other_reading="{} kWh"),
        places=tuple(_place(text) for text in options.place),
        place=_where(options),
        condition=_condition(options),
        goals=_goals(options),
        need_known=_need_words(options) != (),
        other_load_w=_other_load_w(options.other_load),
        second_setting_a=0.0
        if options.second_setting is None
        else parse_current_a(options.second_setting, name="--second-setting"),
    )


def _choice(text: str | None, name: str, meaning: Mapping[str, T]) -> T | None:
    """Return what a word means; None where it was not said, or is `unknown`."""
    if text is None or text == "unknown":
        return None
    if text not in meaning:
        raise QuantityError(
            name=name,
            given=text,
            expected=f"one of {', '.join([*meaning, 'unknown'])}",
            next_step=f"write {name} {next(iter(meaning))}, or leave it out where it is not known",
        )
    return meaning[text]


def _where(options: Namespace) -> Place:
    """Read where the vehicle stands, and where our truck can stand."""
    for name, beside in (("gap", "stand"),):
        if getattr(options, name) is not None and getattr(options, beside) is None:
            raise QuantityError(
                name=f"--{name}",
                given=getattr(options, name),
                expected=f"--{beside} beside it: on which side our truck can stand",
                next_step=f"write --{beside} front, behind, left or right",
            )
    kinds: dict[str, PlaceKind] = {kind.replace("_", "-"): kind for kind in PLACE_KIND_WORDS}
    return Place(
        kind=_choice(options.at, "--at", kinds),
        openings=_choice(options.openings, "--openings", {"clear": "clear", "near": "near"}),
        people=_choice(options.people, "--people", {"away": "away", "near": "near"}),
        out_of_traffic=_choice(options.traffic, "--traffic", {"clear": True, "in": False}),
        port_distance_m=_close_m(options.distance, "--distance"),
        stand=_choice(options.stand, "--stand", {side: side for side in get_args(Side)}),
        gap_m=_close_m(options.gap, "--gap"),
        quiet_hours=_choice(options.quiet_hours, "--quiet-hours", YES_NO),
        permission=_choice(options.permission, "--permission", YES_NO),
    )


def _close_m(text: str | None, name: str) -> float | None:
    """Read a few feet on the ground."""
    if text is None:
        return None
    found_m = parse_length_m(text, name=name)
    if not 0 <= found_m <= FARTHEST_M:
        raise QuantityError(
            name=name,
            given=text,
            expected=f"0 to {FARTHEST_M * FT_PER_M:.0f} ft",
            next_step=f"write {name} 20ft; farther than that no cable goes",
        )
    return found_m


def _condition(options: Namespace) -> Condition:
    """Read what is known of the vehicle itself."""
    told = list(dict.fromkeys(options.danger))
    for word in told:
        _choice(word, "--danger", {"none": True, **dict.fromkeys(DANGERS, True)})
    alone = next((word for word in ("none", "unknown") if word in told), None)
    if alone is not None and len(told) > 1:
        raise QuantityError(
            name="--danger",
            given=" and ".join(told),
            expected=f"{alone} alone, or what was seen",
            next_step=f"leave out {alone}, or the others",
        )
    seen: dict[str, bool | None] = {word: None if not told or alone == "unknown" else word in told for word in DANGERS}
    return Condition(
        **seen,
        danger_unknown=alone == "unknown",
        port=_choice(options.port_state, "--port-state", {state: state for state in PORT_STATES}),
        twelve_volt=_choice(options.twelve_volt, "--twelve-volt", {"good": "good", "flat": "flat"}),
        key=_choice(options.key, "--key", {"here": "here", "away": "away", "none": "none"}),
    )


def _goals(options: Namespace) -> tuple[Goal, ...]:
    """Read the places that would end the emergency."""
    goals = []
    if options.home is not None:
        goals.append(Goal("home", parse_distance_km(options.home, name="--home") / KM_PER_MILE))
    fits = _choice(options.charger_fits, "--charger-fits", YES_NO)
    is_open = _choice(options.charger_open, "--charger-open", YES_NO)
    if options.fast_charger is not None:
        distance_mi = parse_distance_km(options.fast_charger, name="--fast-charger") / KM_PER_MILE
        goals.append(Goal("fast_charger", distance_mi, fits, is_open))
    for name, given in (("--charger-fits", options.charger_fits), ("--charger-open", options.charger_open)):
        if given is not None and options.fast_charger is None:
            raise QuantityError(
                name=name,
                given=given,
                expected="--fast-charger beside it: how far that charger is",
                next_step="write --fast-charger 12mi",
            )
    return tuple(goals)


def _other_load_w(text: str | None) -> float:
    """Read what else hangs on our source."""
    if text is None:
        return 0.0
    if not has_unit(text):
        raise QuantityError(
            name="--other-load", given=text, expected="a power with its unit", next_step="write 500W or 1.5kW"
        )
    return 1000 * parse_power_kw(text, name="--other-load", zero=True)


NEED_WORDS = ("miles", "to", "kwh", "minutes", "home", "fast_charger")


def _need_words(options: Namespace) -> tuple[str, ...]:
    """Return the words of its need that were said."""
    return tuple(name for name in NEED_WORDS if getattr(options, name) is not None)


def adapter_label(text: str) -> tuple[str, float | None, float | None]:
    """Read a customer's adapter: its id, and amps and volts where they were read off its label."""
    adapter_id, equals, label = text.partition("=")
    current_text, comma, voltage_text = label.partition(",")
    if not equals:
        return adapter_id.strip(), None, None
    if not comma:
        raise QuantityError(
            name="--customer-adapter",
            given=text,
            expected="an adapter with the amps and the volts of its label",
            next_step=f"write --customer-adapter {adapter_id}=80A,250V, or the id alone",
        )
    return (
        adapter_id.strip(),
        parse_current_a(current_text, name="--customer-adapter"),
        parse_voltage_v(voltage_text, name="--customer-adapter"),
    )


def _optional(text: str | None, name: str, high_min: float) -> float | None:
    return None if text is None else parse_duration_min(text, name=name, high_min=high_min)


def _start(text: str) -> Start:
    """Read what a dash shows: a percent, miles, bars, or a word."""
    plain = text.strip().lower()
    if plain in DASH_WORDS:
        return DashWord(plain)  # type: ignore[arg-type]
    bars = BARS.fullmatch(plain)
    if bars is not None:
        lit, of = int(bars[1]), int(bars[2])
        if not (1 <= of <= MOST_BARS and lit <= of):
            raise QuantityError(
                name="--start",
                given=text,
                expected=f"bars lit of bars in all, up to {MOST_BARS}",
                next_step="write --start 1/12bars",
            )
        return DashBars(lit, of)
    if plain.endswith(("mi", "mile", "miles", "km")):
        return DashMiles(0.0 if NO_MILES.match(plain) else parse_distance_km(plain, name="--start") / KM_PER_MILE)
    return parse_percent(
        text, name="--start", other_reading="a dash that shows {} mi (then write --start {}mi)", or_else=DASH_FORMS
    )


def _need(options: Namespace, start: Start) -> Need:
    told = _need_words(options)
    goals = [name for name in told if name in {"home", "fast_charger"}]
    if len(told) > 1 and len(goals) < len(told):
        words = [f"--{name.replace('_', '-')}" for name in told]
        raise QuantityError(
            name=words[1],
            given=str(getattr(options, told[1])),
            expected=f"one need, and {words[0]} is given",
            next_step="leave one of them out; --home and --fast-charger alone may stand beside each other",
        )
    if options.reserve is not None and not goals and options.miles is None:
        given = f"with --{told[0]}" if told else "without a distance"
        raise QuantityError(
            name="--reserve",
            given=options.reserve,
            expected=f"no reserve {given}",
            next_step="a reserve is kept on arrival: use it with --miles, --home or --fast-charger, or leave it out",
        )
    reserve = None
    if options.reserve is not None:
        reserve = parse_percent(options.reserve, name="--reserve", other_reading="{} mi in hand")
    if not told:
        if not getattr(options, "half_known", False):
            raise QuantityError(
                name="what it needs",
                given="",
                expected="one of --miles, --to, --kwh, --minutes, --home, --fast-charger",
                next_step="write --miles 45mi, or what is known of it",
            )
        return TimePluggedIn(USUAL_STAY_MIN)
    if goals:
        return Miles(_goals(options)[0].distance_mi, reserve)
    if options.to is not None:
        percent = parse_percent(options.to, name="--to", other_reading="{} mi (then use --miles {}mi)")
        if isinstance(start, int) and percent < start:
            raise QuantityError(
                name="--to",
                given=options.to,
                expected=f"a percent of at least --start, {start}%",
                next_step="are the two swapped?",
            )
        return ToPercent(percent)
    if options.kwh is not None:
        return Energy(parse_energy_kwh(options.kwh, name="--kwh"))
    if options.minutes is not None:
        minutes = parse_duration_min(options.minutes, name="--minutes", high_min=LONGEST_TIME_MIN)
        if minutes < 1:
            raise QuantityError(
                name="--minutes", given=options.minutes, expected="a minute or more", next_step="write --minutes 45min"
            )
        return TimePluggedIn(int(minutes))
    return Miles(parse_distance_km(options.miles, name="--miles") / KM_PER_MILE, reserve)


def _road(options: Namespace) -> Road:
    def height_m(text: str | None, name: str) -> float:
        if text is None:
            return 0.0
        found_m = parse_altitude_m(text, name=name)
        if found_m < 0:
            raise QuantityError(
                name=name, given=text, expected="a height of 0 or more", next_step="use --climb up, --descent down"
            )
        return found_m

    speed_mph = None
    if options.speed is not None:
        speed_mph = parse_speed_mph(options.speed, name="--speed", low_mph=SLOWEST_MPH, high_mph=FASTEST_MPH)
    headwind_mph = 0.0
    if options.headwind is not None:
        headwind_mph = parse_speed_mph(
            options.headwind, name="--headwind", low_mph=-STRONGEST_WIND_MPH, high_mph=STRONGEST_WIND_MPH
        )
    return Road(
        speed_mph=speed_mph,
        climb_m=height_m(options.climb, "--climb"),
        descent_m=height_m(options.descent, "--descent"),
        headwind_m_per_s=headwind_mph * M_PER_S_PER_MPH,
        cargo_kg=0.0
        if options.cargo is None
        else parse_mass_kg(options.cargo, name="--cargo", high_kg=HEAVIEST_LOAD_KG),
        trailer_kg=0.0
        if options.trailer is None
        else parse_mass_kg(options.trailer, name="--trailer", high_kg=HEAVIEST_TRAILER_KG),
        cabin_heat=options.road_heat == "on",
    )


def _place(text: str) -> tuple[str, float]:
    """Read a goal and its distance: `home=32mi`."""
    name, equals, distance = text.partition("=")
    name = printable(name).strip()
    if not equals or not name or len(name) > LONGEST_PLACE:
        raise QuantityError(
            name="--place",
            given=text,
            expected=f"a name of up to {LONGEST_PLACE} letters and a distance",
            next_step="write --place home=32mi",
        )
    return name, parse_distance_km(distance, name="--place") / KM_PER_MILE
