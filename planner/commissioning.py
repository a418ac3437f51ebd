"""Commissioning: what was measured at a rig with a vehicle, against what the planner reckons.

`compare` says what agrees, what does not, which causes fit in which order, and what to check next. `record_of` makes
the dated record of a run that may prove the source's loading. The bands are the planner's own formulas at the ends
of what is uncertain: volts of the source, the charger of the class, its margin under the pilot, its losses. What a
cold pack's heater or the cabin take is left out of the bands, and is among the causes.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import date as day
from itertools import product
from typing import Literal

from pydantic import ValidationError

from planner.answer import CABIN_ON_BELOW_C, Answer, Call, answer, stop_below_v
from planner.battery import taper_start_soc
from planner.causes import Cause, likeliest
from planner.chain import (
    CHANGEABLE_ON_SITE,
    DEFAULT_LOADING,
    SHORTEST_PROOF_MIN,
    Link,
    SettingChoice,
    choose_setting,
    coupler_links,
    links,
    source_state,
    told_current_a,
    voltage_window_v,
    with_protection,
)
from planner.charge import loop_resistances_ohm
from planner.circuit import CONTINUOUS_LOAD_FACTOR
from planner.errors import QuantityError
from planner.figures import amps, kilowatts, temperature, volts
from planner.genset import loading_proved
from planner.pack import WARM_C
from planner.power import ac_power_kw, battery_power_kw, charger_output_kw, constant_power_current_a
from planner.protection import NO_LOAD_RISE, WIDEST_CLASS, regulation_share
from planner.records import (
    Adapter,
    Breaker,
    Commissioning,
    Conductor,
    Dataset,
    GeneratorSource,
    Rig,
    Setting,
    SupplyPart,
    VehicleClass,
)
from planner.roadside import STOP_ABOVE_HZ, STOP_BELOW_HZ, VOLTS_STOP_ABOVE_SHARE, WATCH_TOLERANCE
from planner.spread import EFFICIENCY_POINTS, losses_scale
from planner.trip import ToPercent
from planner.units import fahrenheit_from_celsius

__all__ = [
    "COMMISSIONING_SCHEMA_VERSION",
    "Check",
    "CommissioningResult",
    "Expected",
    "HeatMark",
    "Measured",
    "Proof",
    "RunMarks",
    "compare",
    "expected",
    "fahrenheit",
    "heat_limit",
    "heat_marks",
    "measured_from",
    "no_load_frequency_hz",
    "no_load_voltage_v",
    "record_of",
    "rounded_outward",
    "run_marks",
    "shown_digits",
]

COMMISSIONING_SCHEMA_VERSION = "1.0"

# ------------------------------------------------------------------------------------------------------- tolerances
# Whose tolerance each one is stands beside it. They widen a band that the records give; they are never fitted.

METER_VOLTS = 0.01  # own-judgement: a hand meter or an EVSE's own display, share of the reading
METER_AMPS = 0.02  # own-judgement: a clamp or an EVSE's own display, share of the reading
METER_KW = 0.02  # own-judgement: an energy meter without a class mark, share of the reading
PILOT_A = 0.3  # from memory: half a percent of duty is 0.3 A of pilot
READING_A = 0.5  # own-judgement: a display of whole amps rounds
READING_KW = 0.05  # own-judgement: a display of tenths of a kilowatt rounds
PRODUCT = 0.03  # own-judgement: three meter readings of one moment, share of V x I x power factor
ENERGY_HIGH = 1.03  # own-judgement: kWh over kW x hours, both from meters
ENERGY_LOW = 0.92  # own-judgement: the ramp, and readings that are not of the same minute
HANDSHAKE_MIN = 3.0  # own-judgement: minutes noted from the plug-in include the hand-shake
RUN_DROP = 1.3  # own-judgement: resistance of terminals and contacts on top of the conductors' own
RUN_DROP_METERS = math.sqrt(2) * METER_VOLTS  # own-derivation: two meters, one at each end, each off by its own 1 %
DASH_LOW, DASH_HIGH = 0.87, 0.97  # common-practice: what a vehicle's display shows of the metered kilowatts
MILES_LOW, MILES_HIGH = 0.87, 1.1  # own-judgement: a dash may show what is stored, and rates by its own recent use
SOC_POINTS = 1.5  # own-judgement: a dash rounds both percents
FREQUENCY_HZ = 60.0
FREQUENCY_LOW = 0.98  # own-judgement: least hertz under load, or without, of a governor that is set right
ELECTRONIC_HZ = 0.5  # own-judgement: an inverter or the grid holds this
# own-judgement: steady volts fall by no more than the class's figure from no load to load; the print allows twice that.
FALL_SHARE = 1.0
REGULATION_STORED = 0.025  # own-judgement: an inverter without load against its volts under load
REGULATION_GRID = 0.05  # nec-2017, 210.19(A) informational note 4: 5 percent of drop in feeder and branch at full load

# ----------------------------------------------------------------------------------------------------- temperatures

TERMINATION_UNMARKED_C = 60.0  # nec-2017, 110.14(C)(1)(a): circuits of 100 A or less, unless marked
COUPLER_CONTACT_C = 90.0  # from memory: contacts of a coupler, 50 K above air of 40 C
COUPLER_RISE_K = 50.0  # from memory, IEC 62196-1: rise of the terminals at rated current
SUPPLY_RISE_K = 50.0  # own-judgement: the same for device, cord and cable; from memory, UL 489 gives terminals 50 K
HAND_C = 60.0  # from memory: metal and hard plastic of about this are let go of at once
HOTTEST_APART_K = 15.0  # own-judgement: one part this much hotter than every other is hot by itself
JOINT_RISE_K = 20.0  # own-judgement: and this much above the air
LONE_RISE_K = 35.0  # own-judgement: with no other part to compare with
COUPLER_PARTS = ("connector", "adapter", "inlet")

# ------------------------------------------------------------------------------------------------------- what is read

# Field, words, unit, least and most that a reading may be; what lies outside was mistyped or is in another unit.
READINGS: tuple[tuple[str, str, str, float, float], ...] = (
    ("duration_min", "minutes charged", "min", 0.1, 1440.0),
    ("soc_start_percent", "dash at the start", "%", 0.0, 100.0),
    ("soc_end_percent", "dash at the end", "%", 0.0, 100.0),
    ("voltage_no_load_v", "volts without load", "V", 0.0, 1000.0),
    ("frequency_no_load_hz", "hertz without load", "Hz", 40.0, 80.0),
    ("frequency_hz", "hertz under load", "Hz", 40.0, 80.0),
    ("voltage_source_v", "volts at the source under load", "V", 0.0, 1000.0),
    ("voltage_evse_v", "volts at the EVSE", "V", 0.0, 1000.0),
    ("current_a", "current", "A", 0.0, 1000.0),
    ("power_metered_kw", "power at the meter", "kW", 0.0, 1000.0),
    ("energy_metered_kwh", "energy at the meter", "kWh", 0.0, 1000.0),
    ("power_dash_kw", "power that the vehicle shows", "kW", 0.0, 1000.0),
    ("miles_per_hour_dash", "miles added per hour that the vehicle shows", "mi/h", 0.0, 500.0),
    ("ambient_c", "air", "C", -60.0, 60.0),
    ("altitude_m", "height", "m", -500.0, 6000.0),
)
TEMPERATURE_LOW_C, TEMPERATURE_HIGH_C = -60.0, 300.0
WORDS_OF = {name: words for name, words, *_ in READINGS}
WITHOUT_LOAD = frozenset({"voltage_no_load_v", "frequency_no_load_hz"})
ABOUT_THE_SITE = frozenset({"duration_min", "soc_start_percent", "soc_end_percent", "ambient_c", "altitude_m"})
# How the command calls each reading; a file has the field's own name.
OPTION_OF = {
    "duration_min": "--duration",
    "soc_start_percent": "--start",
    "soc_end_percent": "--end",
    "setting_mark": "--mark",
    "voltage_no_load_v": "--no-load-volts",
    "frequency_no_load_hz": "--no-load-hertz",
    "frequency_hz": "--hertz",
    "voltage_source_v": "--source-volts",
    "voltage_evse_v": "--evse-volts",
    "current_a": "--amps",
    "power_metered_kw": "--metered",
    "energy_metered_kwh": "--kwh",
    "power_dash_kw": "--dash-power",
    "miles_per_hour_dash": "--dash-rate",
    "temperatures_c": "--hot",
    "ambient_c": "--ambient",
    "altitude_m": "--altitude",
    "fuel": "--fuel",
}
USUAL_START_PERCENT = 20  # own-judgement: where the dash was not noted; nothing in the bands rests on it


@dataclass(frozen=True, slots=True)
class Measured:
    """What was read; None is always: not measured. The temperatures are the hottest reading of each part."""

    duration_min: float | None = None
    soc_start_percent: float | None = None
    soc_end_percent: float | None = None
    setting_mark: str | None = None
    voltage_no_load_v: float | None = None
    frequency_no_load_hz: float | None = None
    frequency_hz: float | None = None
    voltage_source_v: float | None = None
    voltage_evse_v: float | None = None
    current_a: float | None = None
    power_metered_kw: float | None = None
    energy_metered_kwh: float | None = None
    power_dash_kw: float | None = None
    miles_per_hour_dash: float | None = None
    temperatures_c: Mapping[str, float] = field(default_factory=dict)
    ambient_c: float | None = None
    altitude_m: float | None = None
    fuel: str | None = None
    inlet: str | None = None  # the port that this vehicle has, where its class may have several


@dataclass(frozen=True, slots=True, eq=False)
class HeatMark:
    """The temperature that a part of this rig may reach, by the key that a reading of it has."""

    part: str
    name: str
    limit_c: float
    source: str
    touched: bool  # what a hand takes hold of: plug, coupler, cable, cord


@dataclass(frozen=True, slots=True, eq=False)
class Expected:
    """One band that a reading should lie in, with where it comes from; `stop_*` ends the run."""

    code: str
    what: str
    low: float
    high: float
    unit: str
    source: str
    stop_below: float | None = None
    stop_above: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Check:
    """One reading against its band. A band with one end open is None there."""

    code: str
    what: str
    measured: float
    low: float | None
    high: float | None
    unit: str
    result: Literal["agrees", "low", "high"]
    stops: bool
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class Proof:
    """What a run would prove once it is kept, in the air and at the height of its own day."""

    loading: float  # share of derated running watts
    current_a: float  # what the source then carries there for hours
    setting_mark: str | None  # the mark that a plan then takes there; None where it finds none
    loading_before: float


@dataclass(frozen=True, slots=True, eq=False)
class CommissioningResult:
    """What agrees, what does not, and why that may be."""

    schema_version: str
    dataset_version: str
    rig: str
    rig_name: str
    vehicle: str
    vehicle_name: str
    verdict: Literal["agrees", "differs", "stop"]
    setting_mark: str | None
    setting_a: float | None
    ambient_c: float
    altitude_m: float
    fuel: str | None
    stops: tuple[str, ...]
    do_first: tuple[str, ...]
    checks: tuple[Check, ...]
    causes: tuple[Cause, ...]
    missing: tuple[str, ...]
    notes: tuple[str, ...]
    measured: Measured
    running_power_kw: float | None  # of an engine, on this fuel
    why_no_proof: str | None  # why the run may not be kept; None when it may
    proof: Proof | None  # of an engine whose run may be kept


# ---------------------------------------------------------------------------------------------------- reading a file


def measured_from(mapping: Mapping[str, object]) -> Measured:
    """Return readings from plain keys and values, as a YAML file or options give them.

    Raises `QuantityError` for an unknown key, a value that is no number, or a number that no meter shows.
    """
    known = [item.name for item in fields(Measured)]
    values: dict[str, object] = {}
    for key, value in mapping.items():
        if key not in known:
            raise QuantityError(
                name="reading",
                given=str(key),
                expected=f"one of: {', '.join(known)}",
                next_step="correct the key; each ends in its unit",
            )
        if key == "temperatures_c":
            values[key] = _temperatures(value)
        elif key in {"setting_mark", "fuel", "inlet"}:
            if value is not None and (not isinstance(value, str | int) or isinstance(value, bool)):
                raise QuantityError(
                    name=key, given=str(value), expected="a word or a mark", next_step="write it in quotes"
                )
            values[key] = None if value is None else str(value)
        else:
            values[key] = None if value is None else _number(key, value)
    return _checked(Measured(**values))  # type: ignore[arg-type]


def _temperatures(value: object) -> dict[str, float]:
    if not isinstance(value, Mapping):
        raise QuantityError(
            name="temperatures_c",
            given=str(value),
            expected="a part and its temperature a line, such as connector: 41",
            next_step="write each hottest reading under temperatures_c",
        )
    return {str(part): _number(f"temperatures_c, {part}", reading) for part, reading in value.items()}


def _number(name: str, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise QuantityError(
            name=name,
            given=str(value),
            expected="a plain number in the unit that the key ends in",
            next_step="leave the unit out, and leave the line out where nothing was measured",
        )
    return float(value)


def _named(key: str) -> str:
    """Return how the command and a file call a reading."""
    return f"{OPTION_OF[key]} ({key} in a file)"


def _checked(measured: Measured) -> Measured:
    """Return readings that meters can show; raise for any other."""
    for name, words, unit, low, high in READINGS:
        value = getattr(measured, name)
        if value is not None and not low <= value <= high:
            raise QuantityError(
                name=_named(name),
                given=f"{value:g} {unit}",
                expected=f"{words} from {low:g} to {high:g} {unit}",
                next_step="read it again, check the unit, or leave it out",
            )
    for part, value in measured.temperatures_c.items():
        if not TEMPERATURE_LOW_C <= value <= TEMPERATURE_HIGH_C:
            raise QuantityError(
                name=f"{_named('temperatures_c')}, {part}",
                given=f"{value:g} C",
                expected=f"{TEMPERATURE_LOW_C:g} to {TEMPERATURE_HIGH_C:g} C",
                next_step="read it again in degrees Celsius, or leave it out",
            )
    start, end = measured.soc_start_percent, measured.soc_end_percent
    if start is not None and end is not None and end < start:
        raise QuantityError(
            name=_named("soc_end_percent"),
            given=f"{end:g} %",
            expected=f"at least {_named('soc_start_percent')}, {start:g} %",
            next_step="put the two percents in order",
        )
    return measured


# ------------------------------------------------------------------------------------------------- marks of the parts


def heat_marks(dataset: Dataset, rig: Rig, adapter: Adapter | None = None) -> tuple[HeatMark, ...]:
    """Return the temperature above which each part ends the run, from the source to the inlet.

    A conductor has its own rating, and no more than the column of its terminations, where it is read. A device has the
    column of the conductor that ends in it, and where none is known 60 C. A coupler's contacts have what its standard
    allows. What a hand takes hold of has no more than a hand bears.
    `adapter` None lists the adapters on board as one part.
    """
    marks: list[HeatMark] = []

    def add(part: str, name: str, limit_c: float, source: str, *, touched: bool) -> None:
        if touched and limit_c > HAND_C:
            limit_c, source = HAND_C, "too hot to keep a bare hand on, from memory"
        marks.append(HeatMark(part, name, limit_c, source, touched))

    for index, part in enumerate(rig.supply):
        limit_c, source = _supply_mark(rig.supply, index, part)
        fixed = isinstance(part, Breaker) or (isinstance(part, Conductor) and part.construction == "building_wire")
        add(part.id, part.name, limit_c, source, touched=not fixed)
    evse = rig.evse
    if evse.plug is not None:
        source = "nec-2017, 110.14(C)(1), not marked"
        add("evse-plug", "Plug of the EVSE", TERMINATION_UNMARKED_C, source, touched=True)
    rated_c = float(evse.cable.temperature_rating_c)
    add("cable", "EVSE cable", rated_c, "its rating", touched=True)
    coupler = "IEC 62196-1, from memory"
    add("connector", dataset.connectors[evse.cable.connector].name, COUPLER_CONTACT_C, coupler, touched=True)
    if rig.adapters:
        name = adapter.name if adapter is not None else "Adapter"
        add("adapter", name, COUPLER_CONTACT_C, coupler, touched=True)
    add("inlet", "Inlet of the vehicle", COUPLER_CONTACT_C, coupler, touched=True)
    return tuple(marks)


def _supply_mark(supply: Sequence[SupplyPart], index: int, part: SupplyPart) -> tuple[float, str]:
    if isinstance(part, Conductor):
        if part.termination_column_c < part.temperature_rating_c:
            return float(part.termination_column_c), "column of its terminations"
        return float(part.temperature_rating_c), "its rating"
    beside = [supply[place] for place in (index - 1, index + 1) if 0 <= place < len(supply)]
    columns = [other.termination_column_c for other in beside if isinstance(other, Conductor)]
    if columns:
        return float(min(columns)), "column of its terminations"
    return TERMINATION_UNMARKED_C, "nec-2017, 110.14(C)(1), not marked"


def heat_limit(mark: HeatMark, ambient_c: float) -> tuple[float, str]:
    """Return the temperature that ends the run for a part in this air, and what it rests on: its mark or its rise."""
    coupler = mark.part in COUPLER_PARTS
    rise_k = COUPLER_RISE_K if coupler else SUPPLY_RISE_K
    if ambient_c + rise_k >= mark.limit_c:
        return mark.limit_c, mark.source
    basis = "IEC 62196-1, from memory" if coupler else "own judgement"
    return ambient_c + rise_k, f"{rise_k:g} K above air of {ambient_c:.0f} C, {basis}"


# ----------------------------------------------------------------------------------------------- windows without load


def no_load_voltage_v(rig: Rig) -> tuple[float, float, str]:
    """Return the least and most volts without load at the connection, and what that rests on."""
    spread, nominal_v = rig.source.voltage_v, rig.nominal_v
    share = _regulation(rig)
    low_v, high_v = spread.low, max(spread.high, spread.typical * (1 + share))
    if rig.source.kind == "site_outlet":
        high_v = max(spread.high, nominal_v * (1 + share))
    return low_v, high_v, _regulation_words(rig)


def _regulation(rig: Rig) -> float:
    """Return the share by which the steady volts may differ between no load and load."""
    source = rig.source
    if isinstance(source, GeneratorSource) and source.build == "conventional":
        return regulation_share(source)
    return REGULATION_GRID if source.kind == "site_outlet" else REGULATION_STORED


def _regulation_words(rig: Rig) -> str:
    source = rig.source
    if isinstance(source, GeneratorSource) and source.build == "conventional":
        grade = source.regulation_class
        named = (
            f"class {grade.upper()}" if grade is not None else f"no class on record, taken for {WIDEST_CLASS.upper()}"
        )
        return f"{named} of ISO 8528, {100 * _regulation(rig):g} %"
    return f"own judgement, {100 * _regulation(rig):g} %"


def no_load_frequency_hz(rig: Rig) -> tuple[float, float, str]:
    """Return the least and most hertz without load, and what that rests on."""
    source = rig.source
    if isinstance(source, GeneratorSource) and source.build == "conventional":
        grade = source.regulation_class
        rise = NO_LOAD_RISE[grade or WIDEST_CLASS]
        named = (
            f"class {grade.upper()}" if grade is not None else f"no class on record, taken for {WIDEST_CLASS.upper()}"
        )
        return FREQUENCY_HZ * FREQUENCY_LOW, FREQUENCY_HZ * (1 + rise), f"{named} of ISO 8528, {100 * rise:g} % rise"
    return FREQUENCY_HZ - ELECTRONIC_HZ, FREQUENCY_HZ + ELECTRONIC_HZ, "held by electronics or the grid, own judgement"


# --------------------------------------------------------------------------------------------------- what is expected


@dataclass(frozen=True, slots=True, eq=False)
class _Reckoned:
    """The steady charge at the ends of what is uncertain, before any meter's tolerance."""

    current_a: tuple[float, float]
    voltage_evse_v: tuple[float, float]
    power_meter_kw: tuple[float, float]
    dash_share: tuple[float, float]
    supply_ohm: float
    pilot_a: float


def _reckon(dataset: Dataset, found: Answer, setting_a: float) -> _Reckoned:
    """Return current, volts, power and share stored over all corners; each is monotone in every input."""
    rig, vehicle = found.rig, found.vehicle
    charger, habits = vehicle.onboard_charger, vehicle.charging
    spread = rig.source.voltage_v
    if found.path is not None:
        setting_a = told_current_a(found.path, setting_a)
    typical_a = min(setting_a * (1 - habits.pilot_margin.typical), charger.current_a.typical)
    supply_ohm, cable_ohm = loop_resistances_ohm(
        dataset, rig, current_a=typical_a, ambient_c=found.conditions.ambient_c
    )
    currents, evse_v, meter_kw, shares = [], [], [], []
    corners = product(
        (spread.low, spread.high),
        (habits.pilot_margin.low, habits.pilot_margin.high),
        ((charger.current_a.low, charger.power_kw.low), (charger.current_a.high, charger.power_kw.high)),
        ((EFFICIENCY_POINTS, habits.auxiliaries_kw.low), (-EFFICIENCY_POINTS, habits.auxiliaries_kw.high)),
    )
    for source_v, margin, (charger_a, charger_kw), (points, own_kw) in corners:
        current_a = _draw_a(
            vehicle, source_v, supply_ohm + cable_ohm, min(setting_a * (1 - margin), charger_a), charger_kw
        )
        at_evse_v = source_v - current_a * supply_ohm
        factor = charger.power_factor
        metered_kw = ac_power_kw(voltage_v=at_evse_v, current_a=current_a, phases=1, power_factor=factor)
        inlet_kw = metered_kw - current_a * current_a * cable_ohm * factor / 1000
        output_kw = charger_output_kw(input_kw=inlet_kw, **vehicle.losses_at(losses_scale(vehicle, points)))
        stored_kw = battery_power_kw(
            output_kw=output_kw, auxiliaries_kw=own_kw, cell_side_factor=habits.cell_side_factor
        )
        currents.append(current_a)
        evse_v.append(at_evse_v)
        meter_kw.append(metered_kw)
        shares.append(stored_kw / metered_kw if metered_kw > 0 else 0.0)
    return _Reckoned(
        current_a=(min(currents), max(currents)),
        voltage_evse_v=(min(evse_v), max(evse_v)),
        power_meter_kw=(min(meter_kw), max(meter_kw)),
        dash_share=(min(DASH_LOW, *shares), max(DASH_HIGH, *shares)),
        supply_ohm=supply_ohm,
        pilot_a=setting_a,
    )


def _draw_a(vehicle: VehicleClass, source_v: float, loop_ohm: float, capped_a: float, charger_kw: float) -> float:
    factor = vehicle.onboard_charger.power_factor
    if (source_v - capped_a * loop_ohm) * capped_a * factor / 1000 <= charger_kw:
        return capped_a
    return constant_power_current_a(
        power_kw=charger_kw, voltage_v=source_v, loop_resistance_ohm=loop_ohm, power_factor=factor
    )


def expected(dataset: Dataset, rig_id: str, vehicle_id: str, measured: Measured | None = None) -> tuple[Expected, ...]:
    """Return the bands in which the readings of a sound rig with this class lie, at the planned setting.

    With readings, their site and their mark count. Empty where the pair cannot be run at all.
    """
    measured = measured or Measured()
    run = _run(dataset, rig_id, vehicle_id, measured)
    if run.setting is None or run.reckoned is None or run.stops:
        return ()
    return tuple(_bands(run))


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """The pair as it was run: the answer to it, the setting it ran at, and why it must not run."""

    found: Answer
    setting: Setting | None
    allowed_a: float | None
    stops: tuple[str, ...]
    notes: tuple[str, ...]
    reckoned: _Reckoned | None


def _run(dataset: Dataset, rig_id: str, vehicle_id: str, measured: Measured) -> _Run:
    start = USUAL_START_PERCENT if measured.soc_start_percent is None else math.floor(measured.soc_start_percent)
    start = min(start, 99)
    call = Call(
        rig_id,
        vehicle_id,
        start,
        ToPercent(start + 1),
        ambient_c=measured.ambient_c,
        altitude_m=measured.altitude_m,
        fuel=measured.fuel,
        cabin_on=False,
        drove_min=30.0,
        parked_h=0.0,
        inlet=measured.inlet,
    )
    found = answer(dataset, call)
    rig = found.rig
    setting = _setting_of(rig, found, measured.setting_mark)
    findings = tuple(f"{item.text} {item.remedy}" for item in found.findings if item.level == "stop")
    if findings:
        return _Run(found, setting, None, findings, (), None)
    if found.path is None:
        text = f"{found.refusal.text} {found.refusal.remedy}" if found.refusal is not None else "No path carries AC."
        return _Run(found, None, None, (text,), (), None)
    passive = [link for link in found.chain if link.link != "onboard_charger"]
    allowed_a = found.setting.stop_above_a if found.setting is not None else None
    if allowed_a is None:
        allowed_a = min(link.limit_a for link in passive)
    over = [link for link in passive if link.link != "evse_setting" and link.limit_a < setting.output_a - PILOT_A / 10]
    stops: list[str] = []
    notes: list[str] = []
    if over and not (found.setting is not None and found.setting.output_a == setting.output_a):
        proving_a = _proving_a(found, over)
        if proving_a is not None and setting.output_a <= proving_a:
            notes.append(
                f"Mark {setting.mark} is above what the source's loading allows so far: a run to prove it. Stand by "
                "and watch, and end it when volts or hertz fall."
            )
            others = [link.limit_a for link in passive if link.link not in {"source_power", "evse_setting"}]
            allowed_a = min(proving_a, *others)
        else:
            # What a run might prove is the last to be blamed: another part in the way is there whatever it proves.
            least = min(over, key=lambda link: (link.link == "source_power", link.limit_a))
            stops.append(
                f"Mark {setting.mark} gives {amps(setting.output_a)}, but {least.name} allows {amps(least.limit_a)} "
                f"for hours: {least.basis}. Turn it down before anything else is measured."
            )
    elif found.refusal is not None and found.refusal.code not in {"setting_too_high", "no_setting_low_enough"}:
        stops.append(f"{found.refusal.text} {found.refusal.remedy}")
    return _Run(found, setting, allowed_a, tuple(stops), tuple(notes), _reckon(dataset, found, setting.output_a))


def _setting_of(rig: Rig, found: Answer, mark: str | None) -> Setting:
    """Return the setting that the run stood at: the mark that was read back, else the planned one."""
    if mark is not None:
        for setting in rig.evse.settings:
            if setting.mark == mark:
                return setting
        raise QuantityError(
            name=_named("setting_mark"),
            given=mark,
            expected=f"a mark of {rig.name}: {', '.join(setting.mark for setting in rig.evse.settings)}",
            next_step="write what the unit shows",
        )
    if found.setting is not None:
        return next(setting for setting in rig.evse.settings if setting.mark == found.setting.mark)
    return rig.evse.standing


def _proving_a(found: Answer, over: Sequence[Link]) -> float | None:
    """Return the amps at the whole of the derated running watts, where the loading fraction alone is in the way."""
    source = found.rig.source
    if not isinstance(source, GeneratorSource) or any(link.link != "source_power" for link in over):
        return None
    derated_w = found.state.power_derated_w
    if derated_w is None:
        return None
    left_w = derated_w - found.rig.other_loads.power_w
    return left_w / (source.voltage_v.high * found.vehicle.onboard_charger.power_factor)


def _bands(run: _Run) -> Iterator[Expected]:
    found, setting, reckoned = run.found, run.setting, run.reckoned
    assert setting is not None
    assert reckoned is not None
    rig, path = found.rig, found.path
    assert path is not None
    _, (_, bears_v) = voltage_window_v(rig, path, found.vehicle)
    most_v = min(bears_v, VOLTS_STOP_ABOVE_SHARE * rig.nominal_v)
    low_v, high_v, basis = no_load_voltage_v(rig)
    # Without load a class may allow more than the crew bears under load, up to where EVSE and charger let go.
    most_no_load_v = min(
        rig.evse.voltage_high_v,
        found.vehicle.onboard_charger.voltage_high_v,
        max(VOLTS_STOP_ABOVE_SHARE * rig.nominal_v, high_v * (1 + METER_VOLTS)),
    )
    yield Expected(
        "voltage_no_load_v",
        WORDS_OF["voltage_no_load_v"],
        max(low_v * (1 - METER_VOLTS), stop_below_v(rig)),
        min(high_v * (1 + METER_VOLTS), most_no_load_v),
        "V",
        basis,
        stop_below=stop_below_v(rig),  # under load it is less still
        stop_above=most_no_load_v,
    )
    low_hz, high_hz, basis = no_load_frequency_hz(rig)
    hertz_stops = {"stop_below": STOP_BELOW_HZ, "stop_above": STOP_ABOVE_HZ}
    yield Expected(
        "frequency_no_load_hz", WORDS_OF["frequency_no_load_hz"], low_hz, high_hz, "Hz", basis, **hertz_stops
    )
    yield Expected(
        "frequency_hz",
        WORDS_OF["frequency_hz"],
        low_hz,
        high_hz,
        "Hz",
        "rated hertz less 2 %, own judgement"
        if isinstance(rig.source, GeneratorSource) and rig.source.build == "conventional"
        else basis,
        **hertz_stops,
    )
    spread = rig.source.voltage_v
    yield Expected(
        "voltage_source_v",
        WORDS_OF["voltage_source_v"],
        spread.low * (1 - METER_VOLTS),
        min(spread.high * (1 + METER_VOLTS), most_v),
        "V",
        "volts under load of the record; meter 1 %",
        stop_below=stop_below_v(rig),  # at the EVSE it is no more
        stop_above=most_v,
    )
    yield Expected(
        "voltage_evse_v",
        WORDS_OF["voltage_evse_v"],
        reckoned.voltage_evse_v[0] * (1 - METER_VOLTS),
        min(reckoned.voltage_evse_v[1] * (1 + METER_VOLTS), most_v),
        "V",
        "the source's volts less the drop in the run; meter 1 %",
        stop_below=stop_below_v(rig),
        stop_above=most_v,
    )
    planned = found.setting
    stop_a = planned.stop_above_a if planned is not None and planned.output_a == setting.output_a else None
    if stop_a is None:
        told_a = setting.output_a if found.path is None else told_current_a(found.path, setting.output_a)
        most_a = told_a * (1 + WATCH_TOLERANCE)
        stop_a = most_a if run.allowed_a is None else min(most_a, max(run.allowed_a, setting.output_a))
    stop_a = stop_a * (1 + METER_AMPS) + PILOT_A
    yield Expected(
        "current_a",
        WORDS_OF["current_a"],
        reckoned.current_a[0] * (1 - METER_AMPS) - PILOT_A,
        min(reckoned.current_a[1] * (1 + METER_AMPS) + PILOT_A, stop_a),
        "A",
        f"mark {setting.mark}, margin and charger of the class; meter 2 %, pilot {PILOT_A:g} A",
        stop_above=stop_a,
    )
    stop_kw = stop_a * spread.high / 1000  # the most amps at the most volts
    yield Expected(
        "power_metered_kw",
        WORDS_OF["power_metered_kw"],
        reckoned.power_meter_kw[0] * (1 - METER_KW) - READING_KW,
        min(reckoned.power_meter_kw[1] * (1 + METER_KW) + READING_KW, stop_kw),
        "kW",
        "volts times amps times power factor; meter 2 %",
        stop_above=stop_kw,
    )
    yield Expected(
        "power_dash_kw",
        WORDS_OF["power_dash_kw"],
        reckoned.power_meter_kw[0] * reckoned.dash_share[0] - READING_KW,
        reckoned.power_meter_kw[1] * reckoned.dash_share[1] + READING_KW,
        "kW",
        _share_words(reckoned),
    )
    low_mi, high_mi = _miles_per_hour(found.vehicle, *reckoned.power_meter_kw)
    yield Expected(
        "miles_per_hour_dash", WORDS_OF["miles_per_hour_dash"], low_mi, high_mi, "mi/h", "window label of the class"
    )


def _share_words(reckoned: _Reckoned) -> str:
    low, high = reckoned.dash_share
    return f"{low:.2f} to {high:.2f} of what is metered: common practice, and the losses of the class"


def _miles_per_hour(vehicle: VehicleClass, low_kw: float, high_kw: float) -> tuple[float, float]:
    """Return the rate that a vehicle may show: by its label, as the label-rate figure, over the spread of the class."""
    label = vehicle.label.consumption_wall_kwh_per_100mi
    return 100 * low_kw * MILES_LOW / label.high, 100 * high_kw * MILES_HIGH / label.low


# --------------------------------------------------------------------------------------------------------- comparing


def compare(dataset: Dataset, rig_id: str, vehicle_id: str, measured: Measured) -> CommissioningResult:
    """Compare what was measured with what the planner reckons, and say why the two may differ.

    Raises `UnknownIdError` for a rig or class that is not in the dataset, `QuantityError` for a reading that no meter
    shows, a mark or part that the rig does not have, or no reading at all.
    """
    _checked(measured)
    read = [name for name, *_ in READINGS if name not in ABOUT_THE_SITE and getattr(measured, name) is not None]
    if not read and not measured.temperatures_c:
        raise QuantityError(
            name="readings",
            given="none",
            expected="at least one of volts, amps, kilowatts, hertz or a temperature",
            next_step="give what was measured",
        )
    run = _run(dataset, rig_id, vehicle_id, measured)
    found, reckoned = run.found, run.reckoned
    adapter = found.path.adapter if found.path is not None else None
    marks = {mark.part: mark for mark in heat_marks(dataset, found.rig, adapter)}
    _known_parts(found.rig, marks, measured)
    checks: list[Check] = []
    if run.setting is not None and reckoned is not None:
        checks += _against_bands(run, measured)
        checks += _against_each_other(run, measured)
    checks += _heat_checks(found, marks, measured)
    stops = [*run.stops, *(_stop_text(check) for check in checks if check.stops)]
    differs = any(check.result != "agrees" for check in checks)
    causes: tuple[Cause, ...] = ()
    missing: tuple[str, ...] = ()
    if reckoned is not None and differs:
        assert run.setting is not None
        causes, missing = likeliest(
            _features(run, measured, checks),
            source=found.rig.source.kind,
            marked_as=run.setting.marked_as,
            fuel=found.conditions.fuel,
        )
    source = found.rig.source
    fuel = found.conditions.fuel
    running_kw = (
        source.fuels[fuel].running_power_w / 1000 if isinstance(source, GeneratorSource) and fuel is not None else None
    )
    verdict: Literal["agrees", "differs", "stop"] = "stop" if stops else "differs" if differs else "agrees"
    why_no_proof = _why_no_proof(run, measured, checks, verdict, running_kw)
    return CommissioningResult(
        schema_version=COMMISSIONING_SCHEMA_VERSION,
        dataset_version=dataset.version,
        rig=found.rig.id,
        rig_name=found.rig.name,
        vehicle=found.vehicle.id,
        vehicle_name=found.vehicle.name,
        verdict=verdict,
        setting_mark=run.setting.mark if run.setting is not None else None,
        setting_a=run.setting.output_a if run.setting is not None else None,
        ambient_c=found.conditions.ambient_c,
        altitude_m=found.conditions.altitude_m,
        fuel=fuel,
        stops=tuple(stops),
        do_first=tuple(_do_first(dataset, run, checks, causes, verdict)),
        checks=tuple(checks),
        causes=causes,
        missing=missing,
        notes=tuple(_notes(run, measured, differs=differs)),
        measured=measured,
        running_power_kw=running_kw,
        why_no_proof=why_no_proof,
        proof=_proof(dataset, run, measured) if why_no_proof is None else None,
    )


def _known_parts(rig: Rig, marks: Mapping[str, HeatMark], measured: Measured) -> None:
    for part in measured.temperatures_c:
        if part not in marks:
            raise QuantityError(
                name=_named("temperatures_c"),
                given=part,
                expected=f"a part of {rig.name}: {', '.join(marks)}",
                next_step="write one of them",
            )


def _judged(band: Expected, value: float) -> Check:
    result: Literal["agrees", "low", "high"] = "agrees"
    if value < band.low:
        result = "low"
    elif value > band.high:
        result = "high"
    below = band.stop_below is not None and value < band.stop_below
    above = band.stop_above is not None and value > band.stop_above
    if below or above:
        result = "low" if below else "high"
    return Check(band.code, band.what, value, band.low, band.high, band.unit, result, below or above, band.source)


def _metered_kw(run: _Run, measured: Measured) -> float | None:
    """Return the power as metered, else as volts times amps."""
    if measured.power_metered_kw is not None:
        return measured.power_metered_kw
    return _product_kw(run, measured)


def _product_kw(run: _Run, measured: Measured) -> float | None:
    if measured.voltage_evse_v is None or measured.current_a is None:
        return None
    return ac_power_kw(
        voltage_v=measured.voltage_evse_v,
        current_a=measured.current_a,
        phases=1,
        power_factor=run.found.vehicle.onboard_charger.power_factor,
    )


def _against_bands(run: _Run, measured: Measured) -> Iterator[Check]:
    reckoned = run.reckoned
    assert reckoned is not None
    metered_kw = _metered_kw(run, measured)
    for band in _bands(run):
        value = getattr(measured, band.code)
        if value is None:
            continue
        if metered_kw and band.code == "power_dash_kw":
            low, high = reckoned.dash_share
            band = replace(
                band,
                low=metered_kw * low - READING_KW,
                high=metered_kw * high + READING_KW,
                source=f"{low:.2f} to {high:.2f} of the {kilowatts(metered_kw)} metered: common practice",
            )
        elif metered_kw and band.code == "miles_per_hour_dash":
            low_mi, high_mi = _miles_per_hour(run.found.vehicle, metered_kw, metered_kw)
            band = replace(
                band, low=low_mi, high=high_mi, source=f"window label of the class at {kilowatts(metered_kw)} metered"
            )
        yield _judged(band, value)


def _against_each_other(run: _Run, measured: Measured) -> Iterator[Check]:
    """Yield the checks of readings against one another: they hold whatever the rig."""
    reckoned, rig = run.reckoned, run.found.rig
    assert reckoned is not None
    product_kw = _product_kw(run, measured)
    evse_v, current_a = measured.voltage_evse_v, measured.current_a
    if measured.power_metered_kw is not None and product_kw is not None:
        assert evse_v is not None
        slack_kw = PRODUCT * product_kw + READING_A * evse_v / 1000
        band = Expected(
            "product",
            "metered kW against V x A x power factor",
            product_kw - slack_kw,
            product_kw + slack_kw,
            "kW",
            "P = V I pf; readings 3 % and half an amp, own judgement",
        )
        yield _judged(band, measured.power_metered_kw)
    metered_kw = _metered_kw(run, measured)
    if metered_kw and measured.energy_metered_kwh is not None and measured.duration_min is not None:
        most_kwh = metered_kw * measured.duration_min / 60
        least_kwh = ENERGY_LOW * metered_kw * max(measured.duration_min - HANDSHAKE_MIN, 0.0) / 60
        band = Expected(
            "energy_metered_kwh",
            "energy against kW x hours",
            least_kwh - READING_KW,
            ENERGY_HIGH * most_kwh + READING_KW,
            "kWh",
            "kW times hours, less a hand-shake and 8 %, own judgement",
        )
        yield _judged(band, measured.energy_metered_kwh)
    elif metered_kw is None and measured.energy_metered_kwh is not None and measured.duration_min is not None:
        hours_h = measured.duration_min / 60
        least_h = max(hours_h - HANDSHAKE_MIN / 60, 0.0)
        band = Expected(
            "energy_alone",
            "energy against the kW reckoned",
            ENERGY_LOW * reckoned.power_meter_kw[0] * least_h,
            ENERGY_HIGH * reckoned.power_meter_kw[1] * hours_h + READING_KW,
            "kWh",
            "power reckoned times hours, less a hand-shake and 8 %",
        )
        yield _judged(band, measured.energy_metered_kwh)
    amps_for_drop = reckoned.current_a[1] if current_a is None else current_a
    run_v = amps_for_drop * reckoned.supply_ohm
    share = FALL_SHARE * _regulation(rig)
    no_load_v, source_v = measured.voltage_no_load_v, measured.voltage_source_v
    if no_load_v is not None and (source_v is not None or evse_v is not None):
        at_source = source_v is not None
        fall_v = no_load_v - (source_v if source_v is not None else evse_v or 0.0)
        most_v = share * rig.nominal_v + (0.0 if at_source else run_v * RUN_DROP) + METER_VOLTS * rig.nominal_v
        where = "at the source" if at_source else "at the EVSE"
        band = Expected(
            "fall",
            f"volts lost from no load to load, {where}",
            -METER_VOLTS * rig.nominal_v,
            most_v,
            "V",
            f"{_regulation_words(rig)}; the run's own drop; meter 1 %",
        )
        yield _judged(band, fall_v)
    if source_v is not None and evse_v is not None:
        band = Expected(
            "run_drop",
            "volts lost in the run to the EVSE",
            -RUN_DROP_METERS * rig.nominal_v,
            RUN_DROP * run_v + RUN_DROP_METERS * rig.nominal_v,
            "V",
            "current times the run's resistance; 30 % for terminals, 1 % for each of two meters, own judgement",
        )
        yield _judged(band, source_v - evse_v)
    yield from _percent_check(run, measured)


def _percent_check(run: _Run, measured: Measured) -> Iterator[Check]:
    """Yield what the dash gained against what was put in."""
    reckoned, battery = run.reckoned, run.found.vehicle.battery
    assert reckoned is not None
    start, end = measured.soc_start_percent, measured.soc_end_percent
    energy_kwh = measured.energy_metered_kwh
    if start is None or end is None or energy_kwh is None or end >= 99:
        return
    low, high = reckoned.dash_share
    least = 100 * energy_kwh * low / (battery.energy_usable_kwh.high * battery.health.high)
    most = 100 * energy_kwh * high / (battery.energy_usable_kwh.low * battery.health.low)
    band = Expected(
        "percent_gained",
        "percent gained against energy metered",
        least - SOC_POINTS,
        most + SOC_POINTS,
        "%",
        "battery sizes of the class, and the share that is stored",
    )
    yield _judged(band, end - start)


def _heat_checks(found: Answer, marks: Mapping[str, HeatMark], measured: Measured) -> Iterator[Check]:
    """Yield each temperature: above its mark, or too far above the air, ends the run."""
    air_c = found.conditions.ambient_c
    for part, value in measured.temperatures_c.items():
        mark = marks[part]
        limit_c, source = heat_limit(mark, air_c)
        over = value > limit_c
        yield Check(
            f"temperature:{part}", mark.name, value, None, limit_c, "C", "high" if over else "agrees", over, source
        )


# Digits behind the point by unit; the rest are shown to a tenth.
DIGITS = {"kW": 2, "kWh": 2, "V": 1, "A": 1, "Hz": 1, "%": 0, "mi/h": 0, "C": 0}
MORE_DIGITS = 3  # at most so many more, until a reading and the end of its band that it misses look apart


def shown_digits(check: Check) -> int:
    """Return the digits behind the point of a check: those of its unit, more where a miss would look like a hit."""
    least = DIGITS.get(check.unit, 1)
    if check.result == "agrees":
        return least
    for digits in range(least, least + MORE_DIGITS):
        if check.unit == "C":
            if check.high is None or fahrenheit(check.measured, digits) != fahrenheit(check.high, digits):
                return digits
            continue
        value = round(check.measured, digits)
        missed_low = check.low is not None and check.measured < check.low
        missed_high = check.high is not None and check.measured > check.high
        if missed_low and check.low is not None and value >= rounded_outward(check.low, digits, up=False):
            continue
        if missed_high and check.high is not None and value <= rounded_outward(check.high, digits, up=True):
            continue
        return digits
    return least + MORE_DIGITS


def rounded_outward(value: float, digits: int, *, up: bool) -> float:
    """Return the end of a band to some digits, never narrower than it is."""
    scale = 10.0**digits
    return (math.ceil(value * scale - 1e-9) if up else math.floor(value * scale + 1e-9)) / scale


def fahrenheit(temperature_c: float, digits: int) -> str:
    """Return Fahrenheit to some digits; without any, whole with Celsius beside."""
    if digits == 0:
        return temperature(temperature_c)
    return f"{fahrenheit_from_celsius(temperature_c):.{digits}f} F"


def _stop_text(check: Check) -> str:
    if check.code.startswith("temperature:"):
        assert check.high is not None
        digits = shown_digits(check)
        return (
            f"{check.what}: {fahrenheit(check.measured, digits)}, above its mark of {fahrenheit(check.high, digits)}: "
            f"{check.source}. End the charge at the vehicle, let it cool, and do not use the part before it has been "
            "looked at."
        )
    side = "below" if check.result == "low" else "above"
    shown = _shown(check.measured, check.unit)
    what = check.what[0].upper() + check.what[1:]
    then = "Plug in no vehicle before it is right." if check.code in WITHOUT_LOAD else "End the charge."
    return f"{what}: {shown} is {side} where the crew stops. {then}"


def _shown(value: float, unit: str) -> str:
    if unit == "V":
        return volts(value)
    return f"{value:.1f} {unit}"


def _notes(run: _Run, measured: Measured, *, differs: bool) -> Iterator[str]:
    if not differs:  # a run that fails is not to be gone on with
        yield from run.notes
    site = run.found.conditions
    if site.ambient_c < WARM_C:
        yield (
            f"The air is {temperature(site.ambient_c)}. The bands are for a warm pack with the cabin off: while the "
            "pack warms itself, the vehicle shows less going in."
        )
    if measured.ambient_c is None or measured.altitude_m is None:
        yield "Air or height were not given: those of the rig's usual site are used."


# Readings that say by themselves that the source does not hold its load.
_OF_THE_SOURCE = frozenset({"frequency_hz", "voltage_source_v"})


def _do_first(
    dataset: Dataset, run: _Run, checks: Sequence[Check], causes: Sequence[Cause], verdict: str
) -> Iterator[str]:
    """Yield what comes before everything else in the result; where the run must end, that is said by its stops."""
    if any(check.code in _OF_THE_SOURCE and check.result == "low" for check in checks):
        yield from _proof_in_doubt(dataset, run)
    if verdict == "differs":
        yield (
            causes[0].check_next
            if causes
            else "No cause that is kept here fits: read the odd meter again, then ask a licensed electrician."
        )


def _proof_in_doubt(dataset: Dataset, run: _Run) -> Iterator[str]:
    """Yield that an earlier proof still counts, though the source did not hold this load."""
    found, setting = run.found, run.setting
    rig, fuel = found.rig, found.conditions.fuel
    if fuel is None or setting is None or found.state.loading <= DEFAULT_LOADING:
        return
    dates = [item.date for item in rig.commissioning if item.fuel == fuel and item.duration_min >= SHORTEST_PROOF_MIN]
    _, _, choice = _with_runs(dataset, run, ())
    most_a = choice.output_a if choice is not None else 0.0
    kept = [item for item in rig.evse.settings if item.output_a <= most_a and item.output_a < setting.output_a]
    text = (
        f"The proof of {max(dates)} still counts, {found.state.loading:.2f} of derated watts: take it out of the rig's "
        "record or the crew's folder. "
    )
    if kept and rig.evse.set_by in CHANGEABLE_ON_SITE:
        best = max(kept, key=lambda item: item.output_a)
        yield f"{text}Until it holds its load again, mark {best.mark} ({amps(best.output_a)}) and no higher."
    else:
        yield f"{text}No vehicle before it holds its load again."


# ---------------------------------------------------------------------------------------------- what the readings say

_CODE_OF_FEATURE = {
    "voltage_evse_v": "volts",
    "voltage_no_load_v": "volts_no_load",
    "frequency_no_load_hz": "hertz_no_load",
    "frequency_hz": "hertz",
    "voltage_source_v": "volts_source",
    "fall": "fall",
    "run_drop": "run_drop",
    "product": "product",
    "energy_metered_kwh": "energy",
    "percent_gained": "percent",
    "miles_per_hour_dash": "miles",
}

_VOLTS_FROM_THE_VEHICLE = (
    ("volts", "voltage_evse_v"),
    ("volts_source", "voltage_source_v"),
    ("volts_no_load", "voltage_no_load_v"),
)


def _features(run: _Run, measured: Measured, checks: Sequence[Check]) -> dict[str, frozenset[str]]:
    """Return what the readings say, one word or a few for each thing that a cause may move."""
    by_code = {check.code: check for check in checks}
    seen: dict[str, frozenset[str]] = {}
    for code, name in _CODE_OF_FEATURE.items():
        if code in by_code:
            seen[name] = frozenset({by_code[code].result})
    _add_current(run, measured, by_code, seen)
    metered_kw = _metered_kw(run, measured)
    if metered_kw and "power_dash_kw" in by_code:
        seen["dash"] = frozenset({by_code["power_dash_kw"].result})
    for name, code in _VOLTS_FROM_THE_VEHICLE:
        value = getattr(measured, code)
        if value is not None and "low" in seen.get(name, frozenset()):
            seen["volts_place"] = frozenset({_volts_place(run.found.rig, value)})
            if _is_half(run.found.rig, value):
                seen["half_volts"] = frozenset({"yes"})  # only a cause that halves them explains it
            break
    _add_heat(run, measured, checks, seen)
    _add_circumstances(run, measured, seen)
    return seen


def _add_current(run: _Run, measured: Measured, by_code: Mapping[str, Check], seen: dict[str, frozenset[str]]) -> None:
    """Add how the current lies against its band, and where else it may belong.

    Without a current it follows from kilowatts and volts; without either, kWh or the vehicle's own display speak alone.
    """
    reckoned = run.reckoned
    assert reckoned is not None
    factor = run.found.vehicle.onboard_charger.power_factor
    current_a, slack_a = measured.current_a, PILOT_A
    if current_a is None and measured.power_metered_kw is not None:
        evse_v = measured.voltage_evse_v or run.found.rig.source.voltage_v.typical
        current_a = 1000 * measured.power_metered_kw / (evse_v * factor)
        slack_a = PILOT_A + READING_A
    if current_a is None:
        for code in ("power_dash_kw", "energy_alone"):
            if code in by_code:
                check = by_code[code]
                seen["alone"] = frozenset({"zero" if check.measured <= READING_KW else check.result})
        return
    low_a = reckoned.current_a[0] * (1 - METER_AMPS) - slack_a
    high_a = reckoned.current_a[1] * (1 + METER_AMPS) + slack_a
    pilot_a = reckoned.pilot_a * (1 + METER_AMPS) + slack_a
    if current_a < READING_A:
        seen["current"] = frozenset({"zero"})
    elif current_a < low_a:
        seen["current"] = frozenset({"low"})
    elif current_a > pilot_a:
        seen["current"] = frozenset({"above_pilot"})
    elif current_a > high_a:
        seen["current"] = frozenset({"high"})
    else:
        seen["current"] = frozenset({"agrees"})
    if seen["current"] & {"low", "above_pilot"}:
        seen["place"] = frozenset(_places(run, current_a, slack_a)) or frozenset({"elsewhere"})


def _places(run: _Run, current_a: float, slack_a: float) -> Iterator[str]:
    """Yield what a current outside its band may belong to: another mark, or a mark that counts the other amps."""
    setting, margin = run.setting, run.found.vehicle.charging.pilot_margin
    assert setting is not None

    def belongs(pilot_a: float) -> bool:
        least_a = pilot_a * (1 - margin.high) * (1 - METER_AMPS) - slack_a
        return least_a <= current_a <= pilot_a * (1 - margin.low) * (1 + METER_AMPS) + slack_a

    for other in run.found.rig.evse.settings:
        if other.output_a < setting.output_a and belongs(other.output_a):
            yield "mark_lower"
        if other.output_a > setting.output_a and belongs(other.output_a):
            yield "mark_higher"
    if setting.marked_as == "output_amps" and belongs(setting.output_a / CONTINUOUS_LOAD_FACTOR):
        yield "ratio_breaker"
    if setting.marked_as == "breaker_amps" and belongs(setting.output_a * CONTINUOUS_LOAD_FACTOR):
        yield "ratio_output"


# Around 208 V and around one 120 V leg, with a source's usual regulation. own-judgement
AT_208_V = (194.0, 215.0)
AT_120_V = (96.0, 132.0)


def _volts_place(rig: Rig, voltage_v: float) -> str:
    at_208 = rig.nominal_v > AT_208_V[1] and AT_208_V[0] <= voltage_v <= AT_208_V[1]
    return "at_208" if at_208 else "elsewhere"


def _is_half(rig: Rig, voltage_v: float) -> bool:
    return rig.nominal_v > AT_120_V[1] and AT_120_V[0] <= voltage_v <= AT_120_V[1]


def _add_heat(run: _Run, measured: Measured, checks: Sequence[Check], seen: dict[str, frozenset[str]]) -> None:
    """Add which joint is hot: above its mark, too hot to hold, or far above the air and every other part."""
    readings = measured.temperatures_c
    joints = {part: value for part, value in readings.items() if part != "cable" and not _is_conductor(run, part)}
    hot_codes = [check.code for check in checks if check.result == "high" and check.code.startswith("temperature:")]
    high = {code.removeprefix("temperature:") for code in hot_codes}
    if not joints:
        if high:
            seen["hot"] = frozenset({"conductor"})
        return
    air_c = run.found.conditions.ambient_c
    hottest = max(joints, key=lambda part: joints[part])
    others = [value for part, value in joints.items() if part != hottest]
    rise_k = joints[hottest] - air_c
    hot = {part for part in joints if part in high}
    if others and rise_k >= JOINT_RISE_K and all(joints[hottest] - value >= HOTTEST_APART_K for value in others):
        hot.add(hottest)
    if rise_k >= LONE_RISE_K and not others:
        hot.add(hottest)
    groups = {"coupler" if part in COUPLER_PARTS else "supply" for part in hot}
    if high - joints.keys():
        groups.add("conductor")
    seen["hot"] = frozenset(groups or {"none"})


def _is_conductor(run: _Run, part_id: str) -> bool:
    return any(part.id == part_id and isinstance(part, Conductor) for part in run.found.rig.supply)


def _add_circumstances(run: _Run, measured: Measured, seen: dict[str, frozenset[str]]) -> None:
    vehicle, reckoned = run.found.vehicle, run.reckoned
    assert reckoned is not None

    def add(name: str, *, holds: bool) -> None:
        seen[name] = frozenset({"yes" if holds else "no"})

    dash = measured.soc_end_percent if measured.soc_end_percent is not None else measured.soc_start_percent
    if dash is not None:
        stored_kw = reckoned.power_meter_kw[1] * reckoned.dash_share[1]
        taper = taper_start_soc(
            energy_usable_kwh=vehicle.energy_now_kwh,
            power_battery_kw=max(stored_kw, READING_KW),
            tail_factor=vehicle.battery.tail_factor,
        )
        add("nearly_full", holds=dash >= 100 * taper - 2 * SOC_POINTS)
    if measured.ambient_c is not None:
        add("cold", holds=measured.ambient_c < WARM_C)
        if measured.fuel is not None:
            add("propane_cold", holds=measured.fuel == "propane" and measured.ambient_c < CABIN_ON_BELOW_C)
    if measured.setting_mark is not None:
        add("readback", holds=True)


# ------------------------------------------------------------------------------------------------------------ record


def record_of(result: CommissioningResult, date: str) -> Commissioning:
    """Return the dated record of a run for the crew's folder, in which a long run lifts the loading fraction.

    Raises `QuantityError` with the reason where the run may not be kept.
    """
    if result.why_no_proof is not None:
        raise QuantityError(
            name="--save",
            given=result.verdict,
            expected="a run that may be kept",
            next_step=result.why_no_proof,
        )
    measured = result.measured
    assert measured.duration_min is not None
    assert measured.power_metered_kw is not None
    values: dict[str, object] = {
        "date": date,
        "duration_min": measured.duration_min,
        "power_metered_kw": measured.power_metered_kw,
        "altitude_m": result.altitude_m,
        "ambient_c": result.ambient_c,
        "vehicle": result.vehicle,
        "fuel": result.fuel,
        "setting_mark": result.setting_mark,
        "temperatures_c": dict(measured.temperatures_c),
    }
    for name in (
        "voltage_no_load_v",
        "frequency_no_load_hz",
        "frequency_hz",
        "voltage_source_v",
        "voltage_evse_v",
        "current_a",
        "energy_metered_kwh",
        "power_dash_kw",
        "miles_per_hour_dash",
    ):
        values[name] = getattr(measured, name)
    try:
        day.fromisoformat(date)
        return Commissioning.model_validate({key: value for key, value in values.items() if value not in (None, {})})
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(str(step) for step in first["loc"])
        raise QuantityError(
            name=_named(key) if key in OPTION_OF else key or "record",
            given=str(first["input"]),
            expected=first["msg"],
            next_step="read it again, or leave it out",
        ) from None
    except ValueError:
        raise QuantityError(
            name="date",
            given=date,
            expected="a day of the calendar",
            next_step="write year-month-day, such as 2026-10-02",
        ) from None


# own-judgement: what may differ in a run that is kept. A lighter load than planned proves less, and is true; what a
# vehicle shows of miles rests on its own recent use.
MAY_DIFFER = frozenset(
    {
        ("current_a", "low"),
        ("power_metered_kw", "low"),
        ("miles_per_hour_dash", "low"),
        ("miles_per_hour_dash", "high"),
    }
)
UNDER_LOAD = ("voltage_source_v", "voltage_evse_v", "frequency_hz")


def _why_no_proof(
    run: _Run, measured: Measured, checks: Sequence[Check], verdict: str, running_kw: float | None
) -> str | None:
    """Return why a run may not be kept as a proof of what the source carries for hours; None when it may."""
    if verdict == "stop":
        return "a run that had to be stopped is never kept as proof: mend what it shows, then run it again"
    return _what_is_missing(run.found, measured) or _what_is_wrong(run, measured, checks, running_kw)


def _what_is_missing(found: Answer, measured: Measured) -> str | None:
    source = found.rig.source
    if measured.power_metered_kw is None or measured.power_metered_kw <= 0:
        return f"the record rests on metered kilowatts: read the meter and give {_named('power_metered_kw')}"
    if measured.duration_min is None:
        return f"the record rests on the minutes at that load: give {_named('duration_min')}"
    if isinstance(source, GeneratorSource) and measured.duration_min < SHORTEST_PROOF_MIN:
        return (
            f"{measured.duration_min:g} min prove nothing about heat: a run shorter than {SHORTEST_PROOF_MIN:g} min "
            "does not lift the loading fraction; run it for an hour"
        )
    if measured.altitude_m is None or measured.ambient_c is None:
        return (
            "the proof counts at the height and in the air of that day: give "
            f"{_named('altitude_m')} and {_named('ambient_c')}"
        )
    if isinstance(source, GeneratorSource) and len(source.fuels) > 1 and measured.fuel is None:
        return f"the proof counts for one fuel: say which ran, {' or '.join(source.fuels)}, with {_named('fuel')}"
    if all(getattr(measured, name) is None for name in UNDER_LOAD):
        return (
            "kilowatts alone do not show that the source held the load: give volts or hertz under load, "
            f"{_named('voltage_evse_v')} or {_named('frequency_hz')}"
        )
    return None


def _what_is_wrong(run: _Run, measured: Measured, checks: Sequence[Check], running_kw: float | None) -> str | None:
    found = run.found
    by_code = {check.code: check for check in checks}
    power_kw, derated_w = measured.power_metered_kw, found.state.power_derated_w
    assert power_kw is not None
    if derated_w is not None and power_kw > derated_w / 1000 * (1 + METER_KW):
        whole = "its rating" if running_kw is None else "its running watts on that fuel"
        return (
            f"{power_kw:g} kW is above what that height and air leave of {whole}, {derated_w / 1000:.1f} kW: for an "
            "hour it gives no more; read the meter again"
        )
    if by_code.get("product") is not None and by_code["product"].result != "agrees":
        return "volts times amps are not the metered kilowatts: find the wrong meter first"
    if not _amps_make_the_power(run, measured):
        return (
            f"{measured.current_a:g} A do not make {power_kw:g} kW at this source's volts: find the wrong meter first"
        )
    energy = by_code.get("energy_metered_kwh")
    if energy is not None and energy.result != "agrees":
        return "kWh over the minutes are not the metered kilowatts: the load was not held, or a reading is wrong"
    off = {check.code: check for check in checks if (check.code, check.result) not in MAY_DIFFER}
    off = {code: check for code, check in off.items() if check.result != "agrees"}
    if any(check.result == "low" for code, check in off.items() if code in _OF_THE_SOURCE):
        return "volts or hertz at the source were not right under the load: it did not carry it"
    for code in sorted(off.keys() & WITHOUT_LOAD):
        return _what_is_off(off[code])
    if off.keys() & {"fall", "run_drop"} or ("voltage_evse_v" in off and off["voltage_evse_v"].result == "low"):
        return "volts were lost on the way: mend the run or the joint, then run it again"
    if "power_dash_kw" in off:
        return (
            f"the meter and the {off['power_dash_kw'].what} do not go together: heat or cooling off, read both again "
            "in the same minute, find the wrong one"
        )
    for check in off.values():
        return _what_is_off(check)
    return None


def _what_is_off(check: Check) -> str:
    return f"{check.what}: too {check.result}; find out why first, then run it again"


def _amps_make_the_power(run: _Run, measured: Measured) -> bool:
    """Return whether amps and kilowatts go together where no volts were read, at any volts that are reckoned."""
    reckoned, current_a, power_kw = run.reckoned, measured.current_a, measured.power_metered_kw
    if reckoned is None or current_a is None or power_kw is None or measured.voltage_evse_v is not None:
        return True
    factor = run.found.vehicle.onboard_charger.power_factor
    least_v, most_v = reckoned.voltage_evse_v
    if measured.voltage_source_v is not None:
        most_v = measured.voltage_source_v
        least_v = max(most_v - RUN_DROP * current_a * reckoned.supply_ohm, 0.0)
    least_kw, most_kw = (
        ac_power_kw(voltage_v=voltage_v, current_a=current_a, phases=1, power_factor=factor)
        for voltage_v in (least_v, most_v)
    )
    slack_kw = PRODUCT * most_kw + READING_A * most_v / 1000
    return least_kw - slack_kw <= power_kw <= most_kw + slack_kw


# -------------------------------------------------------------------------------------------------- what a run proves


ANY_DAY = "2000-01-01"  # of a run that stands alone: the latest of one


def _with_runs(
    dataset: Dataset, run: _Run, runs: tuple[Commissioning, ...]
) -> tuple[float, float, SettingChoice | None]:
    """Return loading, the source's amps and the setting of a plan, had the rig these runs on record."""
    found = run.found
    site = found.conditions
    rig = found.rig.model_copy(update={"commissioning": runs})
    state = source_state(rig, altitude_m=site.altitude_m, ambient_c=site.ambient_c, fuel=site.fuel)
    path = found.path
    chain = [
        *links(
            dataset,
            rig,
            state,
            ambient_c=site.ambient_c,
            altitude_m=site.altitude_m,
            power_factor=found.vehicle.onboard_charger.power_factor,
            adapter=path.adapter if path is not None else None,
        ),
        *(coupler_links(path) if path is not None else ()),
    ]
    current_a = min(link.limit_a for link in chain if link.link == "source_power")
    choice = choose_setting(rig, with_protection(chain, found.findings), found.vehicle)
    return state.loading, current_a, choice if isinstance(choice, SettingChoice) else None


def _proof(dataset: Dataset, run: _Run, measured: Measured) -> Proof | None:
    """Return what a run proves that may be kept; None where the source has no engine, and no loading to prove."""
    found = run.found
    source, fuel = found.rig.source, found.conditions.fuel
    if not isinstance(source, GeneratorSource) or fuel is None:
        return None
    assert measured.power_metered_kw is not None
    loading = loading_proved(
        power_metered_kw=measured.power_metered_kw,
        running_power_w=source.fuels[fuel].running_power_w,
        derate=found.state.derate,
    )
    alone = Commissioning(
        date=ANY_DAY,
        fuel=fuel,
        duration_min=max(measured.duration_min or 0.0, SHORTEST_PROOF_MIN),
        power_metered_kw=measured.power_metered_kw,
        altitude_m=found.conditions.altitude_m,
        ambient_c=found.conditions.ambient_c,
    )
    _, current_a, choice = _with_runs(dataset, run, (alone,))
    return Proof(loading, current_a, choice.mark if choice is not None else None, found.state.loading)


@dataclass(frozen=True, slots=True, eq=False)
class RunMarks:
    """The mark that a pair is planned at, and the one of an engine's proving run; shares of derated running watts."""

    planned: Setting
    planned_share: float | None  # None where the source has no engine
    proving: Setting | None  # None where no mark proves more than stands without a proof
    proving_share: float | None


def run_marks(dataset: Dataset, rig_id: str, vehicle_id: str) -> RunMarks | None:
    """Return the marks at which a rig is run with a class at its usual site; None where the pair cannot be run.

    The proving mark is the highest that all of the derated running watts carry and every other part allows, where it
    loads the engine beyond what a plan counts on without a proof.
    """
    run = _run(dataset, rig_id, vehicle_id, Measured())
    if run.setting is None or run.reckoned is None or run.stops:
        return None
    rig, derated_w = run.found.rig, run.found.state.power_derated_w
    if not isinstance(rig.source, GeneratorSource) or not derated_w:
        return RunMarks(run.setting, None, None, None)

    def share(tried: _Run) -> float:
        assert tried.reckoned is not None
        return 1000 * tried.reckoned.power_meter_kw[1] / derated_w

    offered = [run.setting]
    if rig.evse.set_by in CHANGEABLE_ON_SITE:
        offered += sorted(rig.evse.settings, key=lambda item: item.output_a)
    proving, proving_share = None, None
    for setting in offered:
        tried = _run(dataset, rig_id, vehicle_id, Measured(setting_mark=setting.mark))
        if tried.stops or tried.reckoned is None or not DEFAULT_LOADING < share(tried) <= 1:
            continue
        if proving is None or setting.output_a > proving.output_a:
            proving, proving_share = setting, share(tried)
    return RunMarks(run.setting, share(run), proving, proving_share)
