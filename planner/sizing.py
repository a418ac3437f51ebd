"""The inverse of a plan: for an EVSE set to a current, the least source, device, wire, cord and grounding that do.

Candidates are ordinary conductors, judged by the same functions as a rig's own, so that a rig built from the result is
fit and one built from anything one size smaller is not. It plans; it does not certify.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from planner.air import standard_pressure_kpa
from planner.ampacity import ampacities, circular_mils, grounding_awg, standard_ratings_a
from planner.answer import STOP_BELOW_SHARE
from planner.chain import DEFAULT_LOADING
from planner.charge import TEMPERATURE_COEFFICIENT_PER_C
from planner.circuit import (
    AMPACITY_BASE_C,
    CONTINUOUS_LOAD_FACTOR,
    conductor_continuous_limit_a,
    conductor_temperature_c,
    resistance_at_ohm_per_km,
    smallest_overcurrent_device_a,
    voltage_drop_one_phase_v,
)
from planner.errors import QuantityError
from planner.figures import amps, feet, rounded_down, temperature, volts
from planner.genset import (
    ENERGY_LHV_KWH_PER_L,
    ISO_3046_EXPONENTS,
    derate_common_rule,
    iso_3046_factor,
    source_current_a,
)
from planner.pilot import DEAD_BAND_HIGH_A, DEAD_BAND_LOW_A, is_advertisable, pilot_duty_cycle_percent
from planner.power import ac_power_kw
from planner.protection import (
    CORD_GROUNDING_BY_TABLE_ABOVE_AWG,
    DISCONNECT_ABOVE_A,
    LARGEST_CORD_CONNECTED_A,
    LONGEST_CABLE_M,
    REGULATION_G1_LARGE,
    REGULATION_G1_SMALL,
    largest_device_for_a,
)
from planner.records import (
    AWG_SIZES,
    BUILDING_WIRE_TABLE,
    CORD_SIZES,
    CORD_TABLE,
    CORRECTION_TABLE,
    GROUNDING_TABLE,
    PORTABLE_CABLE_SIZES,
    PORTABLE_CABLE_TABLE,
    RESISTANCE_TABLE,
    SMALL_CONDUCTOR_TABLE,
    STANDARD_RATINGS_TABLE,
    Conductor,
    Dataset,
    DerateRule,
    FuelKind,
    Outlet,
)
from planner.units import (
    FT_PER_M,
    HIGHEST_ALTITUDE_M,
    HIGHEST_AMBIENT_C,
    LITRES_PER_GALLON,
    LOWEST_ALTITUDE_M,
    LOWEST_AMBIENT_C,
)

__all__ = [
    "GOOD_DROP_PERCENT",
    "OUTLET_WORDS",
    "PORTABLE_120_V_A",
    "SIZING_SCHEMA_VERSION",
    "SIZING_TABLES",
    "SIZING_VOLTS",
    "Drop",
    "FuelRate",
    "OutletChoice",
    "Run",
    "Sizing",
    "SizingLine",
    "Wanted",
    "current_for_hours_a",
    "drop",
    "longest_run_m",
    "outlet_verdict",
    "run_part",
    "size",
    "sizes_in_tables",
]

SIZING_SCHEMA_VERSION = "1.0"
# What has to be loaded before `size` can look anything up.
SIZING_TABLES = (
    BUILDING_WIRE_TABLE,
    CORD_TABLE,
    CORRECTION_TABLE,
    GROUNDING_TABLE,
    PORTABLE_CABLE_TABLE,
    RESISTANCE_TABLE,
    SMALL_CONDUCTOR_TABLE,
    STANDARD_RATINGS_TABLE,
)
ONE_LEG_V, THREE_PHASE_V = 120.0, 208.0  # exact: one leg of 120/240 V; two lines of a three-phase set
SIZING_VOLTS = (240.0, THREE_PHASE_V, ONE_LEG_V)  # exact: nominal volts of the connections that a rig knows
LEGS_OF_A_SET = 2  # exact: a 120/240 V set has half of its watts on each
WIRE_SIZES: tuple[str, ...] = AWG_SIZES[AWG_SIZES.index("14") :]  # 16 and 18 AWG are no supply run

LOAD_POWER_FACTOR = 1.0  # common-practice: an onboard charger that corrects its power factor; also the chain's own
WATT_STEP = 100.0  # own-judgement: nameplates are stated in hundreds of watts
GOOD_DROP_PERCENT = 3.0  # nec-2017, 210.19(A)(1) informational note 4: a recommendation, not a rule
DISCONNECT_ABOVE_V = 150.0  # nec-2017, 625.43: volts to ground; the connections here have 120 V
PORTABLE_120_V_A = 20.0  # nec-2017, 625.44(A)(1): a portable EVSE at 125 V; (B)(1) goes to 50 A where fastened in place
LONGEST_RUN_M = 500.0  # own-judgement: the longest run that a rig record may state
_TOLERANCE_A = 1e-6
LARGEST_SETTING_A = 80.0  # sae-j1772, section 4.2
_SLACK = 1e-9

# From memory, bracketed by published points (a 5 kW gasoline set 11 %, a 7 kW set 16 %, a 20 kW diesel set 22 to 33 %):
# share of the lower heating value that comes out as electricity. Propane is taken as gasoline, in the same engines.
_SPARK_SETS = (("conventional", 0.10, 0.22), ("inverter", 0.15, 0.25))
SET_EFFICIENCY: dict[FuelKind, tuple[tuple[str, float, float], ...]] = {
    "gasoline": _SPARK_SETS,
    "propane": _SPARK_SETS,
    "diesel": (("conventional", 0.25, 0.35),),
}
INVERTER_EFFICIENCY = (0.85, 0.95)  # from memory: AC out over energy out of the battery
ISO_ENGINES: dict[FuelKind, str] = {
    "gasoline": "spark_gasoline",
    "propane": "spark_gaseous",
    "diesel": "compression_natural",
}

PRACTICE = "common practice, no source"
OutletVerdict = Literal["may_serve", "fastened", "not_in_list", "no_ground", "no_neutral", "three_phase"]
OUTLET_WORDS: dict[OutletVerdict, str] = {
    "may_serve": "may serve",
    "fastened": "only where the EVSE is fastened in place and the authority agrees",
    "not_in_list": "only if listing and authority allow",
    "no_ground": "refused, no grounding contact",
    "three_phase": "refused, three-phase",
    "no_neutral": "refused, no neutral contact",
}
RunKind = Literal["wire_60c", "wire_75c", "wire_75c_aluminum", "cord", "portable_60c", "portable_75c"]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What somebody wants to build for: the EVSE's setting, the source's nominal volts, the site, the supply run."""

    current_a: float
    voltage_v: float
    altitude_m: float
    ambient_c: float
    length_m: float  # one way, from the overcurrent device to the EVSE
    fuel: FuelKind = "gasoline"


@dataclass(frozen=True, slots=True)
class SizingLine:
    """One line of the answer: the result, its arithmetic, its source, and what a licensed person must confirm.

    Lines of one group share their arithmetic and what to confirm; a text says those once.
    """

    code: str
    what: str
    value: float | None
    unit: str
    text: str
    why: str
    source: str
    confirm: str
    group: str


@dataclass(frozen=True, slots=True)
class Run:
    """A supply run: how it is made, its smallest size, and the smallest grounding conductor that goes with it."""

    kind: RunKind
    size_awg: str
    grounding_awg: str | None  # None: the device lies beyond the table

    @property
    def construction(self) -> str:
        """Return how it is made, as a rig record says it."""
        return _MAKE[self.kind][0]


@dataclass(frozen=True, slots=True)
class Drop:
    """What a run of one size costs at the wanted current, at its working temperature."""

    kind: RunKind
    size_awg: str
    temperature_c: float
    drop_v: float
    percent: float  # of nominal volts
    voltage_evse_v: float
    grounding_awg: str | None  # grown with the lines, where these are larger than they need to be

    @property
    def is_good(self) -> bool:
        """Tell whether the drop stays within the recommended 3 %."""
        return self.percent <= GOOD_DROP_PERCENT + _SLACK

    @property
    def charges(self) -> bool:
        """Tell whether it leaves the volts below which an EVSE stops."""
        return self.percent <= 100 * (1 - STOP_BELOW_SHARE) + _SLACK


@dataclass(frozen=True, slots=True)
class OutletChoice:
    """A receptacle configuration of enough amps at these volts, and whether it may serve."""

    outlet: str
    configuration: str
    rating_a: float
    verdict: OutletVerdict


@dataclass(frozen=True, slots=True)
class FuelRate:
    """What a kind of set burns in an hour at this load, as an honest range."""

    build: str  # conventional or inverter
    low_l_per_h: float
    high_l_per_h: float


@dataclass(frozen=True, slots=True)
class Sizing:
    """The least everything for an EVSE's setting: the numbers, and the lines that people read."""

    schema_version: str
    dataset_version: str
    wanted: Wanted
    duty_cycle_percent: float
    power_kw: float
    derate: float
    derate_iso: float
    running_power_w: float  # by the common rule, which binds
    running_power_iso_w: float
    running_power_high_w: float  # by the common rule, for a set whose steady volts run 5 % above nominal
    set_power_w: float  # of the whole set: at 120 V one leg of a 120/240 V set has half of it
    set_kva: float | None  # of a three-phase set one pair of whose lines carries it all
    nameplate_current_a: float
    device_a: float
    wire_60c: Run | None  # copper, conductor and terminations of 60 C
    wire_75c: Run | None  # copper of 90 C on 75 C terminations
    wire_75c_aluminum: Run | None
    cord: Run | None  # flexible cord, else portable power cable on 60 C terminations
    cord_75c: Run | None  # the same on 75 C terminations: smaller for portable power cable alone
    drops: tuple[Drop, ...]  # of each run, rising: the smallest, the next, those for the volts
    will_charge: bool  # some size of some run leaves the volts that an EVSE needs
    outlets: tuple[OutletChoice, ...]
    hard_wired: bool  # no receptacle of the code's list carries it
    fuel: tuple[FuelRate, ...]
    battery_low_kwh: float  # out of a battery in an hour
    battery_high_kwh: float
    lines: tuple[SizingLine, ...]

    @property
    def wire_awg_60c(self) -> str | None:
        """Return the smallest copper building wire with 60 C terminations."""
        return None if self.wire_60c is None else self.wire_60c.size_awg

    @property
    def wire_awg_75c(self) -> str | None:
        """Return the smallest copper building wire with 75 C terminations."""
        return None if self.wire_75c is None else self.wire_75c.size_awg

    @property
    def wire_awg_75c_aluminum(self) -> str | None:
        """Return the smallest aluminum building wire with 75 C terminations."""
        return None if self.wire_75c_aluminum is None else self.wire_75c_aluminum.size_awg


# ------------------------------------------------------------------------------------------------------------ the sizes


def size(dataset: Dataset, wanted: Wanted) -> Sizing:
    """Return the least source, device, conductors and grounding for an EVSE that is set to a current.

    Raises
    ------
    QuantityError
        If no EVSE can be set to the current, or the site, the length or the volts are impossible.
    OutOfRangeError
        If the current needs more than the largest standard overcurrent device of the table.
    """
    _refuse_impossible(wanted)
    current_a, nominal_v = wanted.current_a, wanted.voltage_v
    power_kw = ac_power_kw(voltage_v=nominal_v, current_a=current_a, phases=1, power_factor=LOAD_POWER_FACTOR)
    derate = _derate(wanted.altitude_m, wanted.ambient_c)
    derate_iso = _derate_iso(wanted)
    device_a = smallest_overcurrent_device_a(
        continuous_load_a=current_a, standard_ratings_a=standard_ratings_a(dataset)
    )
    runs = {kind: _smallest(dataset, wanted, device_a, kind) for kind in _SIZES}
    flexible = runs["cord"]
    if flexible is not None:
        runs |= {"portable_60c": None, "portable_75c": None}
    drops = tuple(found for run in runs.values() if run is not None for found in _drops(dataset, wanted, device_a, run))
    outlets = tuple(_outlets(dataset, wanted, device_a))
    sized = Sizing(
        schema_version=SIZING_SCHEMA_VERSION,
        dataset_version=dataset.version,
        wanted=wanted,
        duty_cycle_percent=pilot_duty_cycle_percent(current_a),
        power_kw=power_kw,
        derate=derate,
        derate_iso=derate_iso,
        running_power_w=_running_power_w(power_kw, derate),
        running_power_iso_w=_running_power_w(power_kw, derate_iso),
        running_power_high_w=_running_power_w(power_kw * (1 + REGULATION_G1_LARGE), derate),
        set_power_w=_running_power_w(power_kw, derate) * (LEGS_OF_A_SET if nominal_v == ONE_LEG_V else 1),
        set_kva=math.sqrt(3) * nominal_v * current_a / 1000 if nominal_v == THREE_PHASE_V else None,
        nameplate_current_a=current_a,
        device_a=device_a,
        wire_60c=runs["wire_60c"],
        wire_75c=runs["wire_75c"],
        wire_75c_aluminum=runs["wire_75c_aluminum"],
        cord=flexible or runs["portable_60c"],
        cord_75c=flexible or runs["portable_75c"],
        drops=drops,
        will_charge=any(one.charges for one in drops),
        outlets=outlets,
        hard_wired=not any(choice.verdict == "may_serve" for choice in outlets),
        fuel=tuple(_fuel(wanted.fuel, power_kw)),
        battery_low_kwh=power_kw / max(INVERTER_EFFICIENCY),
        battery_high_kwh=power_kw / min(INVERTER_EFFICIENCY),
        lines=(),
    )
    return replace(sized, lines=tuple(_lines(sized)))


def _refuse_impossible(wanted: Wanted) -> None:
    """Refuse what no EVSE can say and no rig record may hold, each with what is allowed and what to do."""
    current_a = wanted.current_a
    if not is_advertisable(current_a):
        unsaid = DEAD_BAND_LOW_A < current_a <= DEAD_BAND_HIGH_A
        step = "take 6 A or more" if current_a < DEAD_BAND_LOW_A else "take 80 A or less: an AC pilot says no more"
        if unsaid:
            step = "no duty cycle of the pilot says it: take 51 A, or 53 A"
        raise QuantityError(
            name="--current",
            given=f"{current_a:g} A",
            expected="6 to 51 A, or above 52.5 up to 80 A",
            next_step=step,
        )
    if wanted.voltage_v not in SIZING_VOLTS:
        raise QuantityError(
            name="--volts",
            given=f"{wanted.voltage_v:g} V",
            expected="240, 208 or 120 V, the nominal volts of the connection",
            next_step="write the nominal volts, not a reading of the meter",
        )
    for name, value, low, high, unit in (
        ("--altitude", wanted.altitude_m, LOWEST_ALTITUDE_M, HIGHEST_ALTITUDE_M, "m"),
        ("--ambient", wanted.ambient_c, LOWEST_AMBIENT_C, HIGHEST_AMBIENT_C, "C"),
        ("--length", wanted.length_m, 0.0, LONGEST_RUN_M, "m"),
    ):
        if not low <= value <= high or (name == "--length" and value == 0):
            raise QuantityError(
                name=name,
                given=f"{value:g} {unit}",
                expected=f"{'above ' if name == '--length' else ''}{low:g} to {high:g} {unit}",
                next_step="check the number and its unit",
            )


def _derate(altitude_m: float, ambient_c: float) -> float:
    rule = DerateRule()
    return derate_common_rule(
        altitude_m=altitude_m,
        ambient_c=ambient_c,
        loss_per_1000ft=rule.loss_per_1000ft,
        loss_per_10f=rule.loss_per_10f,
        free_altitude_m=rule.free_altitude_m,
        free_ambient_c=rule.free_ambient_c,
    )


def _derate_iso(wanted: Wanted) -> float:
    pressure_exponent, temperature_exponent = ISO_3046_EXPONENTS[ISO_ENGINES[wanted.fuel]]
    factor = iso_3046_factor(
        pressure_kpa=standard_pressure_kpa(altitude_m=wanted.altitude_m),
        ambient_c=wanted.ambient_c,
        pressure_exponent=pressure_exponent,
        temperature_exponent=temperature_exponent,
    )
    return min(factor, 1.0)


def current_for_hours_a(*, running_power_w: float, voltage_v: float, altitude_m: float, ambient_c: float) -> float:
    """Return the amps that running watts give for hours at a height and in an air: the inverse of `size`'s watts."""
    derate = _derate(altitude_m, ambient_c)
    return source_current_a(
        power_w=running_power_w * derate * DEFAULT_LOADING, voltage_v=voltage_v, power_factor=LOAD_POWER_FACTOR
    )


def _running_power_w(power_kw: float, derate: float) -> float:
    """Return running watts, up to the next hundred, of which loading and derate leave the power."""
    exact_w = 1000 * power_kw / (DEFAULT_LOADING * derate)
    # The chain lets a setting stand that is a millionth of an amp over: the last bit shall not cost a hundred watts.
    return WATT_STEP * math.ceil(exact_w * (1 - _TOLERANCE_A / LARGEST_SETTING_A) / WATT_STEP)


# ------------------------------------------------------------------------------------------------------- conductors

_SIZES: dict[RunKind, Sequence[str]] = {
    "wire_60c": WIRE_SIZES,
    "wire_75c": WIRE_SIZES,
    "wire_75c_aluminum": WIRE_SIZES,
    "cord": CORD_SIZES,
    "portable_60c": PORTABLE_CABLE_SIZES,
    "portable_75c": PORTABLE_CABLE_SIZES,
}
# Construction, material, rating of the conductor, column of the terminations.
_MAKE: dict[RunKind, tuple[str, str, int, int]] = {
    "wire_60c": ("building_wire", "copper", 60, 60),
    "wire_75c": ("building_wire", "copper", 90, 75),
    "wire_75c_aluminum": ("building_wire", "aluminum", 90, 75),
    "cord": ("flexible_cord", "copper", 60, 60),
    "portable_60c": ("portable_cable", "copper", 90, 60),
    "portable_75c": ("portable_cable", "copper", 90, 75),
}
LOADED_CONDUCTORS = 2  # exact: one phase loads two conductors, line to line or line to neutral


@cache
def run_part(kind: RunKind, size_awg: str, *, length_m: float = 1.0, grounding: str | None = None) -> Conductor:
    """Return a run as the conductor that a rig record would hold, for the same functions to judge."""
    construction, material, rated_c, column_c = _MAKE[kind]
    return Conductor.model_validate(
        {
            "part": "conductor",
            "id": "run",
            "name": "Supply run",
            "construction": construction,
            "material": material,
            "size_awg": size_awg,
            "temperature_rating_c": rated_c,
            "termination_column_c": column_c,
            "loaded_conductors": LOADED_CONDUCTORS,
            "length_m": length_m,
            "grounding_awg": grounding,
            "wet_rated": True,
        }
    )


def _carries(dataset: Dataset, wanted: Wanted, device_a: float, part: Conductor) -> bool:
    """Tell whether a conductor carries the current for hours and its device protects it."""
    terminations_a, corrected_a = ampacities(dataset, part, ambient_c=wanted.ambient_c)
    limit_a = conductor_continuous_limit_a(ampacity_terminations_a=terminations_a, ampacity_corrected_a=corrected_a)
    protected_a, _ = largest_device_for_a(dataset, part, ambient_c=wanted.ambient_c)
    return limit_a + _TOLERANCE_A >= wanted.current_a and protected_a + _TOLERANCE_A >= device_a


def sizes_in_tables(dataset: Dataset, kind: RunKind) -> tuple[str, ...]:
    """Return the sizes of a kind of run, rising, that the tables give amps and ohms for."""
    resistances = dataset.tables[RESISTANCE_TABLE]
    return tuple(
        size_awg
        for size_awg in _SIZES[kind]
        if resistances.value(size_awg, f"{_MAKE[kind][1]}_stranded_ohm_per_km") is not None
        and ampacities(dataset, run_part(kind, size_awg), ambient_c=AMPACITY_BASE_C)[1] > 0
    )


def _smallest(dataset: Dataset, wanted: Wanted, device_a: float, kind: RunKind) -> Run | None:
    for size_awg in sizes_in_tables(dataset, kind):
        if _carries(dataset, wanted, device_a, run_part(kind, size_awg)):
            return Run(kind, size_awg, _grounding(dataset, device_a, kind, size_awg, size_awg))
    return None


def _grounding(dataset: Dataset, device_a: float, kind: RunKind, size_awg: str, least_awg: str) -> str | None:
    """Return the smallest grounding conductor: by the table or a small cord's own size, grown as the lines are."""
    if kind == "cord" and size_awg not in CORD_GROUNDING_BY_TABLE_ABOVE_AWG:
        return size_awg
    table_awg = grounding_awg(dataset, device_a=device_a, material=_MAKE[kind][1])
    if kind == "cord" and least_awg not in CORD_GROUNDING_BY_TABLE_ABOVE_AWG:
        table_awg = least_awg  # what the smallest cord has is what grows
    if table_awg is None:
        return None
    table_mils = circular_mils(dataset, table_awg)
    lines_mils, least_mils = circular_mils(dataset, size_awg), circular_mils(dataset, least_awg)
    if min(table_mils, lines_mils, least_mils) <= 0:  # without cross-sections, the table's own size at least
        return table_awg
    grown = lines_mils / least_mils
    # A grounding conductor need not be larger than the lines it runs with.
    needed_mils = min(table_mils * grown, lines_mils)
    return next((awg for awg in WIRE_SIZES if circular_mils(dataset, awg) >= needed_mils - _SLACK), None)


# --------------------------------------------------------------------------------------------------------------- drop


def _resistance(dataset: Dataset, part: Conductor, *, current_a: float, ambient_c: float) -> tuple[float, float]:
    """Return ohms per kilometre of one conductor and its working temperature."""
    _, own_a = ampacities(dataset, part, ambient_c=AMPACITY_BASE_C)
    temperature_c = conductor_temperature_c(
        current_a=current_a,
        ampacity_a=own_a,
        ambient_c=ambient_c,
        conductor_rated_c=part.temperature_rating_c,
    )
    at_75c = dataset.tables[RESISTANCE_TABLE].rows[part.size_awg][f"{part.material}_stranded_ohm_per_km"]
    ohm_per_km = resistance_at_ohm_per_km(
        resistance_75c_ohm_per_km=at_75c,
        temperature_c=temperature_c,
        temperature_coefficient_per_c=TEMPERATURE_COEFFICIENT_PER_C[part.material],
    )
    return ohm_per_km, temperature_c


def drop(dataset: Dataset, wanted: Wanted, kind: RunKind, size_awg: str, grounding: str | None) -> Drop:
    """Return what a run of one size costs at the wanted current and length, at its working temperature."""
    part = run_part(kind, size_awg)
    ohm_per_km, temperature_c = _resistance(dataset, part, current_a=wanted.current_a, ambient_c=wanted.ambient_c)
    drop_v = voltage_drop_one_phase_v(
        current_a=wanted.current_a, resistance_ohm_per_km=ohm_per_km, length_m=wanted.length_m
    )
    return Drop(
        kind,
        size_awg,
        temperature_c,
        drop_v,
        100 * drop_v / wanted.voltage_v,
        wanted.voltage_v - drop_v,
        grounding,
    )


def longest_run_m(
    dataset: Dataset,
    kind: RunKind,
    size_awg: str,
    *,
    current_a: float,
    voltage_v: float,
    ambient_c: float,
) -> float:
    """Return the one-way length at which a run has lost the recommended 3 % of its nominal volts."""
    ohm_per_km, _ = _resistance(dataset, run_part(kind, size_awg), current_a=current_a, ambient_c=ambient_c)
    per_metre_v = voltage_drop_one_phase_v(current_a=current_a, resistance_ohm_per_km=ohm_per_km, length_m=1.0)
    return voltage_v * GOOD_DROP_PERCENT / 100 / per_metre_v


def _drops(dataset: Dataset, wanted: Wanted, device_a: float, run: Run) -> Iterator[Drop]:
    """Yield the drop of the smallest size, the next larger one, the first that charges, the first within 3 %."""
    sizes = sizes_in_tables(dataset, run.kind)
    found = [
        drop(
            dataset,
            wanted,
            run.kind,
            size_awg,
            _grounding(dataset, device_a, run.kind, size_awg, run.size_awg),
        )
        for size_awg in sizes[sizes.index(run.size_awg) :]
    ]
    good = next((index for index, one in enumerate(found) if one.is_good), None)
    charges = next((index for index, one in enumerate(found) if one.charges), None)
    for index, one in enumerate(found):
        if index < 2 or index in {good, charges}:
            yield one


# ------------------------------------------------------------------------------------------------------- receptacles


def _outlets(dataset: Dataset, wanted: Wanted, device_a: float) -> Iterator[OutletChoice]:
    """Yield the receptacles for these volts that carry the current behind this device, the smallest that do."""
    nominal_v = wanted.voltage_v
    fitting = [
        OutletChoice(outlet.id, outlet.configuration, outlet.rating_a, outlet_verdict(outlet, nominal_v))
        for outlet in dataset.outlets.values()
        # Devices for 208 and 240 V are the same; one for 240 V does not serve 120 V, nor the other way round.
        if nominal_v <= outlet.voltage_v <= CONTINUOUS_LOAD_FACTOR * nominal_v
        and outlet.rating_a + _TOLERANCE_A >= device_a
        and outlet.rating_a / CONTINUOUS_LOAD_FACTOR + _TOLERANCE_A >= wanted.current_a
    ]
    largest_a = min((choice.rating_a for choice in fitting if choice.verdict == "may_serve"), default=math.inf)
    for choice in sorted(fitting, key=lambda choice: (choice.rating_a, choice.configuration)):
        if choice.rating_a <= largest_a:
            yield choice


def outlet_verdict(outlet: Outlet, nominal_v: float) -> OutletVerdict:
    """Return whether a receptacle of enough amps may serve an EVSE at these volts, and if not, why."""
    if not outlet.ground:
        return "no_ground"
    if outlet.phases == 3:
        return "three_phase"
    if nominal_v <= ONE_LEG_V and not outlet.neutral:
        return "no_neutral"
    if outlet.locking or outlet.rating_a > LARGEST_CORD_CONNECTED_A:
        return "not_in_list"
    if nominal_v <= ONE_LEG_V and outlet.rating_a > PORTABLE_120_V_A:
        return "fastened"
    return "may_serve"


# --------------------------------------------------------------------------------------------------------------- fuel


def _fuel(fuel: FuelKind, power_kw: float) -> Iterator[FuelRate]:
    for build, worst, best in SET_EFFICIENCY[fuel]:
        per_hour_l = power_kw / ENERGY_LHV_KWH_PER_L[fuel]
        yield FuelRate(build, per_hour_l / best, per_hour_l / worst)


# -------------------------------------------------------------------------------------------------------------- lines


def _lines(sized: Sizing) -> Iterator[SizingLine]:
    yield from _warning_lines(sized)
    yield _setting_line(sized)
    yield from _source_lines(sized)
    yield _device_line(sized)
    yield from _wire_lines(sized)
    yield _cord_line(sized)
    yield _grounding_line(sized)
    yield from _drop_lines(sized)
    yield _outlet_line(sized)
    yield from _evse_lines(sized)
    yield from _energy_lines(sized)
    yield _iso_line(sized)
    yield from _caution_lines()


def _line(
    code: str,
    what: str,
    value: float | None,
    unit: str,
    text: str,
    why: str,
    source: str,
    confirm: str = "",
    group: str = "",
) -> SizingLine:
    return SizingLine(code, what, value, unit, text, why, source, confirm, group or what)


def _up(value: float) -> float:
    """Return a value rounded up to a tenth: what is needed or lost is never understated."""
    return math.ceil(value * 10 - _SLACK) / 10


def _amps_up(current_a: float) -> str:
    return f"{_up(current_a):g} A"


def _watts(power_w: float) -> str:
    return f"{power_w:,.0f} W"


def _length(length_m: float) -> str:
    return f"{length_m * FT_PER_M:,.0f} ft ({length_m:.1f} m)"


def _site(wanted: Wanted) -> str:
    return f"{feet(wanted.altitude_m)}, {temperature(wanted.ambient_c)}"


def _warning_lines(sized: Sizing) -> Iterator[SizingLine]:
    """Yield what comes before everything else: a run so long that the EVSE stops."""
    pieces = []
    for run in _main_runs(sized):
        first, *larger = _drops_of(sized, run)
        if first.charges:
            continue
        charges = next((one.size_awg for one in larger if one.charges), None)
        remedy = f"{charges} AWG would charge" if charges is not None else "no size in the tables would charge"
        name = _NAMES[run.kind]
        left_v = rounded_down(first.voltage_evse_v)
        pieces.append(f"{name[0].upper()}{name[1:]}: {first.size_awg} AWG leaves {left_v:g} V, {remedy}.")
    if pieces:
        wanted = sized.wanted
        yield _line(
            "warning",
            "Warning",
            _stop_v(wanted),
            "V",
            f"the smallest size will not charge over {_length(wanted.length_m)}: an EVSE stops below about "
            f"{_stop_v(wanted):g} V. {' '.join(pieces)} A shorter run or less current needs less.",
            f"{STOP_BELOW_SHARE:g} of {volts(wanted.voltage_v)}; the EVSE's own cable takes more",
            "ansi-c84-1, from memory",
        )


def _stop_v(wanted: Wanted) -> float:
    return round(STOP_BELOW_SHARE * wanted.voltage_v, 1)


def _setting_line(sized: Sizing) -> SizingLine:
    current_a = sized.wanted.current_a
    duty = f"{sized.duty_cycle_percent:.1f} %"
    law = f"{current_a:g} / 0.6" if current_a <= DEAD_BAND_LOW_A else f"{current_a:g} / 2.5 + 64"
    return _line(
        "evse_setting",
        "EVSE setting",
        current_a,
        "A",
        f"{current_a:g} A, {sized.power_kw:.2f} kW at {volts(sized.wanted.voltage_v)}",
        f"duty cycle {law} = {duty}, amps for hours",
        "sae-j1772, 4.2",
        "listed for these volts and amps; no passer-by can turn it higher.",
    )


def _source_lines(sized: Sizing) -> Iterator[SizingLine]:
    wanted = sized.wanted
    exact_w = 1000 * sized.power_kw / (DEFAULT_LOADING * sized.derate)
    yield _line(
        "source_power",
        "Running watts",
        sized.running_power_w,
        "W",
        _source_text(sized),
        f"{wanted.current_a:g} A x {volts(wanted.voltage_v)} / ({DEFAULT_LOADING:g} for hours x {sized.derate:.3f} "
        f"left at {_site(wanted)}) = {_watts(math.ceil(exact_w - _SLACK))}, up to the next {WATT_STEP:g} W; power "
        f"factor {LOAD_POWER_FACTOR:g}",
        f"genset-manual-a, 3.5 % per 1000 ft, 1 % per 10 F above 77 F; {DEFAULT_LOADING:g} {PRACTICE}",
        f"of the nameplate on {wanted.fuel}, never starting watts; the maker's own derate; volts under load by meter: "
        "each percent above nominal takes a percent more, and class G1 allows "
        f"{100 * REGULATION_G1_LARGE:.0f} %, up to 10 kW {100 * REGULATION_G1_SMALL:.0f} % (iso-8528-5).",
    )
    yield _line(
        "winding",
        "Winding amps",
        sized.nameplate_current_a,
        "A",
        f"{_amps_up(sized.nameplate_current_a)} or more on the nameplate, at this connection",
        _winding_why(sized),
        "nec-2017, 445.13",
        "of the leg in use; neutral bonded to the frame once, at the source.",
    )


def _source_text(sized: Sizing) -> str:
    """Return what the set must be as a whole, and what it must be if its volts run high: a plan reckons with those."""
    nominal_v, high_w = sized.wanted.voltage_v, sized.running_power_high_w
    text = f"{_watts(sized.running_power_w)} at {volts(nominal_v)}"
    text += f"{{}} {_watts(high_w)} if it runs at {nominal_v * (1 + REGULATION_G1_LARGE):g} V"
    if nominal_v == ONE_LEG_V:
        whole = f"{_watts(sized.set_power_w)} set, or {_watts(LEGS_OF_A_SET * high_w)}"
        return f"{text.format(',')}; where that is one leg of 120/240 V, a {whole}"
    if sized.set_kva is not None:
        return f"{text.format(',')}; {_up(sized.set_kva):g} kVA three-phase"
    return text.format(";")


def _winding_why(sized: Sizing) -> str:
    wanted = sized.wanted
    if wanted.voltage_v == ONE_LEG_V:
        return "the leg bounds them, not the engine; it has half the watts"
    if sized.set_kva is not None:
        return (
            f"line amps bind: sqrt(3) x {volts(wanted.voltage_v)} x {wanted.current_a:g} A = "
            f"{_up(sized.set_kva):g} kVA, all on one pair of lines, within the maker's limit for that"
        )
    return "the winding bounds them, not the engine"


def _iso_line(sized: Sizing) -> SizingLine:
    more = sized.running_power_iso_w - sized.running_power_w
    beside = "the same" if more == 0 else f"{_watts(abs(more))} {'more' if more > 0 else 'less'}"
    pressure_exponent, temperature_exponent = ISO_3046_EXPONENTS[ISO_ENGINES[sized.wanted.fuel]]
    pressure_kpa = standard_pressure_kpa(altitude_m=sized.wanted.altitude_m)
    return _line(
        "source_power_iso",
        "Watts by ISO 3046-1",
        sized.running_power_iso_w,
        "W",
        f"{_watts(sized.running_power_iso_w)}, {beside}: a second opinion",
        f"{sized.derate_iso:.3f} left at {pressure_kpa:.1f} kPa, exponents {pressure_exponent:g} of pressure, "
        f"{temperature_exponent:g} of heat, turbocharged others; running watts hold",
        "iso-3046-1, dry air",
    )


def _device_line(sized: Sizing) -> SizingLine:
    current_a = sized.wanted.current_a
    poles = "one-pole" if sized.wanted.voltage_v == ONE_LEG_V else "two-pole"
    return _line(
        "device",
        "Overcurrent device",
        sized.device_a,
        "A",
        f"{amps(sized.device_a)}, {poles}, for this EVSE alone",
        f"{CONTINUOUS_LOAD_FACTOR:g} x {current_a:g} A = {_amps_up(CONTINUOUS_LOAD_FACTOR * current_a)}, next rating",
        "nec-2017, 625.40, 625.41, 240.6(A)",
        "each in series is this or more; one built into the source stays as it is.",
        "Device",
    )


_WIRE_WORDS: dict[RunKind, str] = {
    "wire_60c": "Copper, 60 C ends",
    "wire_75c": "Copper, 75 C ends",
    "wire_75c_aluminum": "Aluminum, 75 C ends",
}
_NAMES: dict[RunKind, str] = {
    "wire_60c": "copper wire",
    "wire_75c": "copper wire",
    "wire_75c_aluminum": "aluminum",
    "cord": "cord",
    "portable_60c": "portable cable",
    "portable_75c": "portable cable",
}


def _main_runs(sized: Sizing) -> list[Run]:
    """Return the runs that the drop is told of: copper wire and cord."""
    return [run for run in (sized.wire_75c or sized.wire_60c, sized.cord or sized.cord_75c) if run is not None]


def _drops_of(sized: Sizing, run: Run) -> list[Drop]:
    return [one for one in sized.drops if one.kind == run.kind]


def _grown(sized: Sizing, run: Run) -> Drop | None:
    """Return the first larger size within 3 %, else the first that charges; None where the smallest does or none."""
    first, *larger = _drops_of(sized, run)
    if first.is_good:
        return None
    good = next((one for one in larger if one.is_good), None)
    return good or (None if first.charges else next((one for one in larger if one.charges), None))


def _run_text(sized: Sizing, run: Run) -> str:
    """Return the smallest size by amps, and what the length makes of it."""
    first, grown = _drops_of(sized, run)[0], _grown(sized, run)
    if not first.charges:
        does = f"{grown.size_awg} AWG will" if grown is not None else "nor will any size here"
        return f"{run.size_awg} AWG will not charge this far, {does}"
    return f"{run.size_awg} AWG" + (f" ({grown.size_awg} AWG for the drop)" if grown is not None else "")


def _wire_lines(sized: Sizing) -> Iterator[SizingLine]:
    wanted = sized.wanted
    runs: dict[RunKind, Run | None] = {
        "wire_60c": sized.wire_60c,
        "wire_75c": sized.wire_75c,
        "wire_75c_aluminum": sized.wire_75c_aluminum,
    }
    for kind, run in runs.items():
        text = _run_text(sized, run) if run is not None else f"none up to {WIRE_SIZES[-1]} AWG in this air"
        yield _line(
            kind,
            _WIRE_WORDS[kind],
            None,
            "AWG",
            text,
            f"0.8 of its amps in its ends' column, and of its own corrected for {temperature(wanted.ambient_c)}, is "
            f"{wanted.current_a:g} A or more, and {amps(sized.device_a)} protects it; unmarked ends are 60 C; for 75 C "
            "ends wire of 90 C",
            "nec-2017, 310.15(B)(16), 110.14(C)(1), 240.4(B), (D)",
            "marks on wire and ends (AL for aluminum); at most three loaded in a pipe.",
            "Wire",
        )


def _cord_line(sized: Sizing) -> SizingLine:
    run, run_75c = sized.cord, sized.cord_75c
    if run is None and run_75c is None:
        text = "none in the tables for this air"
    elif run is not None and run.kind == "cord":
        text = f"{_run_text(sized, run)}; hard-usage cord of a type with a W"
    else:
        sizes = [
            f"with {column} ends {_run_text(sized, one)}"
            for one, column in ((run, "60 C"), (run_75c, "75 C"))
            if one is not None
        ]
        text = f"no flexible cord; portable power cable (types W, G): {'; '.join(sizes)}"
    return _line(
        "cord",
        "Cord",
        None,
        "AWG",
        text,
        f"its own amps for two loaded conductors, corrected for {temperature(sized.wanted.ambient_c)}, are "
        f"{amps(sized.device_a)} or more",
        "nec-2017, 400.5(A)(1) column B, 400.5(A)(2), 240.5",
        "that it may be the supply run: an EVSE's own is 12 in., or 6 to 15 ft with its ground-fault device at the "
        "plug (625.17(A)); jacket letters; unwound.",
    )


def _grounding_line(sized: Sizing) -> SizingLine:
    runs = [sized.wire_75c or sized.wire_60c, sized.wire_75c_aluminum, sized.cord or sized.cord_75c]
    pieces, larger = [], []
    for run in runs:
        if run is None:
            continue
        name, grown = _NAMES[run.kind], _grown(sized, run)
        pieces.append(f"{run.grounding_awg} AWG in {name}" if run.grounding_awg else f"beyond the table in {name}")
        if grown is not None and grown.grounding_awg is not None:
            larger.append(f"{grown.grounding_awg} AWG with {grown.size_awg} AWG {name}")
    text = ", ".join(pieces) or "by the conductors, none of which are in the tables for this air"
    text += f"; for the drop {', '.join(larger)}" if larger else ""
    small = sized.cord is not None and sized.cord.size_awg not in CORD_GROUNDING_BY_TABLE_ABOVE_AWG
    return _line(
        "grounding",
        "Grounding conductor",
        None,
        "AWG",
        text,
        f"table row that covers {amps(sized.device_a)}, "
        + ("in a cord of 10 AWG or smaller as large as the lines, " if small else "never larger than the lines, ")
        + "growing as they grow",
        "nec-2017, 250.122(A), (B), (E)",
        "unbroken from the source's frame to the EVSE, tested.",
    )


def _drop_lines(sized: Sizing) -> Iterator[SizingLine]:
    wanted = sized.wanted
    runs = _main_runs(sized)
    each = ", ".join(
        f"{_NAMES[run.kind]} at {temperature(first.temperature_c)}"
        for run in runs
        for first in _drops_of(sized, run)[:1]
    )
    for run in runs:
        first = _drops_of(sized, run)[0]
        grown = _grown(sized, run)
        text = "; ".join(_drop_text(one) for one in (first, grown) if one is not None)
        if not any(one.is_good for one in _drops_of(sized, run)):
            text += f"; no size in the tables keeps within {GOOD_DROP_PERCENT:g} %"
        wire = run.kind in _WIRE_WORDS
        yield _line(
            "drop_wire" if wire else "drop_cord",
            "Drop in copper wire" if wire else "Drop in the cord",
            first.percent,
            "%",
            text,
            f"2 x {wanted.current_a:g} A x ohms over {_length(wanted.length_m)}, {each}; {GOOD_DROP_PERCENT:g} % "
            f"({wanted.voltage_v * GOOD_DROP_PERCENT / 100:g} V) advised",
            "nec-2017, ch. 9 Table 8, 210.19(A)(1)",
            group="Drop",
        )


def _drop_text(one: Drop) -> str:
    text = f"{one.size_awg} AWG {_up(one.drop_v):g} V, {_up(one.percent):g} %"
    text += f", leaves {rounded_down(one.voltage_evse_v):g} V"
    return text if one.charges else f"{text}: will not charge"


def _outlet_line(sized: Sizing) -> SizingLine:
    def of(verdict: OutletVerdict) -> str:
        found = [choice.configuration for choice in sized.outlets if choice.verdict == verdict]
        return " or ".join(configuration.partition(",")[0] for configuration in found)

    largest_a = LARGEST_CORD_CONNECTED_A / CONTINUOUS_LOAD_FACTOR
    text = "none: hard-wired" if sized.hard_wired else of("may_serve")
    for verdict, words in OUTLET_WORDS.items():
        # A device for three phases is no choice for one: it stands in the JSON alone.
        if verdict not in {"may_serve", "three_phase"} and of(verdict):
            text += f"; {of(verdict)} {words}"
    return _line(
        "receptacle",
        "Receptacle",
        None,
        "",
        text,
        f"{amps(sized.device_a)} or more; the code's list ends at {amps(LARGEST_CORD_CONNECTED_A)} ({amps(largest_a)} "
        f"for hours), for a portable EVSE at 120 V at {amps(PORTABLE_120_V_A)}, none locking",
        "nec-2017, 625.44, 210.21(B)(1)",
        "with the authority the edition (625.44): summaries differ on 250 V for a portable EVSE before 2020, and list "
        "125/250 V, 60 A from 2023; industrial grade or listed for EVSE; ground-fault device (625.54).",
    )


def _evse_lines(sized: Sizing) -> Iterator[SizingLine]:
    yield _line(
        "evse_cable",
        "EVSE cable",
        LONGEST_CABLE_M,
        "m",
        f"{_length(LONGEST_CABLE_M)} at most without cable management, {_amps_up(sized.wanted.current_a)} or more",
        "from its plug where portable; more distance goes into the supply run, never an extension at the coupler",
        "nec-2017, 625.17(C); ul-2594",
        "connector and any adapter carry the amps too.",
    )
    needed = sized.wanted.current_a > DISCONNECT_ABOVE_A
    yield _line(
        "disconnect",
        "Disconnect",
        None,
        "",
        "needed, lockable open, within reach" if needed else "not asked for by amps or volts",
        f"above {amps(DISCONNECT_ABOVE_A)} rated or {volts(DISCONNECT_ABOVE_V)} to ground, here 120 V",
        "nec-2017, 625.43",
        "the EVSE's rating counts, which may be above its setting.",
    )


def _range(low: float, high: float) -> str:
    """Return a band rounded outward to tenths."""
    return f"{rounded_down(low):g} to {_up(high):g}"


def _gallons(rate: FuelRate) -> str:
    return _range(rate.low_l_per_h / LITRES_PER_GALLON, rate.high_l_per_h / LITRES_PER_GALLON)


def _energy_lines(sized: Sizing) -> Iterator[SizingLine]:
    fuel = sized.wanted.fuel
    first, *others = sized.fuel
    text = f"{_gallons(first)} gal ({_range(first.low_l_per_h, first.high_l_per_h)} L)"
    text += "".join(f"; {rate.build} set {_gallons(rate)} gal" for rate in others)
    gallon_kwh = ENERGY_LHV_KWH_PER_L[fuel] * LITRES_PER_GALLON
    shares = ", ".join(
        f"{build} {100 * worst:.0f} to {100 * best:.0f} %" for build, worst, best in SET_EFFICIENCY[fuel]
    )
    yield _line(
        "fuel",
        "Fuel an hour",
        max(rate.high_l_per_h for rate in sized.fuel),
        "L/h",
        text,
        f"{sized.power_kw:.2f} kW out of {gallon_kwh:.1f} kWh a gallon, lower heating value: {shares}"
        + (", taken as for gasoline" if fuel == "propane" else ""),
        "fuel-properties; shares from memory",
        "the maker's own burn at this load; a far larger set burns more."
        + (" Cylinders that give so much gas in this air." if fuel == "propane" else ""),
    )
    yield _line(
        "battery",
        "Battery instead",
        sized.battery_high_kwh,
        "kWh",
        f"{sized.power_kw:.2f} kW for hours, {_range(sized.battery_low_kwh, sized.battery_high_kwh)} kWh an hour",
        f"{sized.power_kw:.2f} kWh by an inverter of {100 * min(INVERTER_EFFICIENCY):.0f} to "
        f"{100 * max(INVERTER_EFFICIENCY):.0f} %, no derate",
        "from memory",
        "the inverter's continuous watts; what it gives in the cold.",
    )


def _caution_lines() -> Iterator[SizingLine]:
    for text in (
        "It plans, it does not certify. NEC 2017 is taken as good practice; the authority, the listing instructions "
        "and a licensed electrician decide.",
        "Parts may be larger; a device never above what the smallest part behind it bears, nor a source's own.",
    ):
        yield _line("caution", "Caution", None, "", text, "", "method page")
