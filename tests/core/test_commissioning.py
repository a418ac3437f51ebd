"""Commissioning: the true cause among the first two, no cause without a fault, and nothing unsafe kept as proof.

The faulty readings come from the small simulation below: Ohm's law, P = V I, a charger's caps, an engine that sags,
each reading with its own noise. It shares no number and no table with the planner's scoring; the rig's marks and the
width of the copper are written here again.
"""

import json
import math
import random
import re
from dataclasses import asdict, dataclass, replace
from functools import cache

import make
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.answer import Call, answer
from planner.causes import HYPOTHESES
from planner.commissioning import (
    Measured,
    compare,
    expected,
    heat_marks,
    measured_from,
    no_load_frequency_hz,
    no_load_voltage_v,
    record_of,
)
from planner.commissioning_report import to_json, to_text
from planner.errors import QuantityError, UnknownIdError
from planner.trip import ToPercent

SEEDS = range(12)
COPPER_OHM_M = 1.72e-8  # at 20 C, from memory
MM2 = {"10": 5.26, "8": 8.37, "6": 13.3, "4": 21.15}  # square millimetres by AWG, from memory


def loop_ohm(length_m, size_awg):
    """Return the resistance out and back, a quarter up for warm copper."""
    return 1.25 * 2 * length_m * COPPER_OHM_M / (MM2[size_awg] * 1e-6)


@dataclass(frozen=True)
class Truth:
    """What is really there; a fault changes one thing of it."""

    pilot_a: float
    charger_a: float
    charger_kw: float
    size_kwh: float
    label_kwh_per_100mi: float
    no_load_v: float = 245.0
    sag_v: float = 4.0  # at full load
    no_load_hz: float = 61.6
    hz: float = 60.3
    run_ohm: float = 0.005
    cable_ohm: float = 0.03
    limit_a: float = 1000.0  # what vehicle or EVSE holds it to
    earlier_a: float | None = None  # current for the most of the run, where it fell later
    heater_kw: float = 0.0
    cabin_kw: float = 0.0
    on_share: float = 1.0  # of the minutes
    metered_factor: float = 1.0
    amps_factor: float = 1.0
    hot: tuple = ()  # part and kelvin above the air
    soc_start: float = 30.0
    ambient_c: float = 18.0
    fuel: str | None = "gasoline"
    dash_miles_factor: float = 1.0


def fuel(running_power_w):
    return {
        "running_power_w": running_power_w,
        "tank_l": 60.0,
        "burn_no_load_l_per_h": 2.0,
        "burn_slope_l_per_kwh": 0.4,
    }


# A hard-wired rig that is planned at mark 40: 13 kW x 0.8 / 246 V is 42.3 A.
WIRED = make.rig(
    id="wired",
    source=make.generator(
        13000.0,
        voltage_v={"low": 234.0, "typical": 241.0, "high": 246.0},
        nameplate_current_a=62.5,
        regulation_class="g2",
    ),
    supply=[make.breaker(60.0), make.cord("4", id="feed", temperature_rating_c=90, termination_column_c=75)],
    evse=make.evse(16, 24, 32, 40, 48, connector="j3400"),
    adapters=["j3400-to-j1772-80a"],
)
# One with a receptacle, whose marks count breaker amps, planned at mark 40, which is 32 A: 12 kW x 0.8 / 245 V is 39.2 A.
PLUGGED = make.rig(
    id="plugged",
    source=make.source(
        voltage_v={"low": 232.0, "typical": 240.0, "high": 245.0},
        nameplate_current_a=50.0,
        fuels={"gasoline": fuel(12000.0), "propane": fuel(10800.0)},
        regulation_class="g1",
    ),
    supply=[make.breaker(50.0), make.receptacle("nema-14-50")],
    evse=make.evse(
        connected_by="listed_cord_and_plug",
        plug="nema-14-50",
        setting_now="40",
        settings=[
            {"mark": mark, "marked_as": "breaker_amps", "output_a": output_a}
            for mark, output_a in (("20", 16.0), ("30", 24.0), ("40", 32.0), ("50", 40.0))
        ],
    ),
    adapters=["j1772-to-j3400-48a"],
)
PAIRS = {
    "wired": ("large-three-row-suv", Truth(40, 48, 11.5, 100, 43), ("main", "feed", "connector", "inlet")),
    "plugged": (
        "midsize-suv",
        Truth(32, 46, 11.0, 75, 35),
        ("main", "outlet", "evse-plug", "connector", "inlet"),
    ),
    # An outlet of a site, as shipped: nothing of an engine may be blamed for it.
    "fairground-outlet": (
        "midsize-suv",
        Truth(40, 46, 11.0, 75, 35, no_load_v=243.0, no_load_hz=60.0, hz=60.0, fuel=None),
        ("site-breaker", "outlet", "evse-plug", "connector", "inlet"),
    ),
}


@cache
def data():
    """Return the shipped data with the two rigs."""
    base = make.shipped_dataset()
    return replace(base, rigs={**base.rigs, WIRED.id: WIRED, PLUGGED.id: PLUGGED})


@pytest.fixture
def dataset():
    """Return the shipped data with the two rigs, in place of the shipped data alone."""
    return data()


def at(truth, current_a):
    """Return volts at source and EVSE, and kilowatts at the meter and at the inlet."""
    source_v = truth.no_load_v - truth.sag_v * min(current_a / truth.pilot_a, 1.2)
    evse_v = source_v - current_a * truth.run_ohm
    return source_v, evse_v, evse_v * current_a * 0.99 / 1000, (evse_v - current_a * truth.cable_ohm) * current_a / 1010


def draw(truth, margin):
    """Return the current: the least of pilot, charger and limit, less where the charger's kilowatts are reached."""
    current_a = min(truth.pilot_a * (1 - margin), truth.charger_a, truth.limit_a)
    while at(truth, current_a)[3] > truth.charger_kw:
        current_a -= 0.01
    return current_a


def readings(truth, parts, seed, *, minutes=60.0, **more):
    """Return what the crew's meters show, each with its own error."""
    dice = random.Random(seed)
    current_a = draw(truth, dice.uniform(0.0, 0.03))
    source_v, evse_v, metered_kw, inlet_kw = at(truth, current_a)
    earlier_kw = metered_kw if truth.earlier_a is None else at(truth, truth.earlier_a)[2]
    energy_kwh = (0.8 * earlier_kw + 0.2 * metered_kw) * truth.on_share * (minutes - 1.5) / 60
    into_kw = max(0.945 * inlet_kw - 0.15 - truth.heater_kw - truth.cabin_kw, 0.0) if current_a > 0 else 0.0
    into_share = into_kw / inlet_kw if inlet_kw > 0 else 0.0
    gained = 100 * energy_kwh * into_share / truth.size_kwh
    heat = {part: 4 + (current_a / truth.pilot_a) ** 2 * dice.uniform(8, 16) for part in parts}
    heat |= dict(truth.hot)

    def noisy(value, share):
        return value * dice.uniform(1 - share, 1 + share)

    return Measured(
        duration_min=minutes,
        soc_start_percent=truth.soc_start,
        soc_end_percent=min(round(truth.soc_start + gained), 100),
        voltage_no_load_v=noisy(truth.no_load_v, 0.004),
        frequency_no_load_hz=noisy(truth.no_load_hz, 0.001),
        frequency_hz=noisy(truth.hz, 0.001),
        voltage_source_v=noisy(source_v, 0.002),
        voltage_evse_v=noisy(evse_v, 0.002),
        current_a=noisy(current_a, 0.008) * truth.amps_factor,
        power_metered_kw=noisy(metered_kw, 0.008) * truth.metered_factor,
        energy_metered_kwh=noisy(energy_kwh, 0.01) * truth.metered_factor,
        power_dash_kw=noisy(into_kw, 0.008),
        miles_per_hour_dash=noisy(100 * inlet_kw / truth.label_kwh_per_100mi, 0.02) * truth.dash_miles_factor,
        temperatures_c={part: truth.ambient_c + value + dice.uniform(-1.5, 1.5) for part, value in heat.items()},
        ambient_c=truth.ambient_c,
        altitude_m=0.0,
        fuel=truth.fuel,
        **more,
    )


# What is done to the truth, on which rig, and what the crew read back, if they did.
FAULTS = {
    "setting_low": ("wired", {"pilot_a": 24.0}, {}),
    "setting_high": ("wired", {"pilot_a": 48.0}, {}),
    "mark_is_breaker_amps": ("wired", {"pilot_a": 32.0}, {"setting_mark": "40"}),
    "mark_is_output_amps": ("plugged", {"pilot_a": 40.0}, {"setting_mark": "40"}),
    "vehicle_limits_itself": ("wired", {"limit_a": 20.0}, {}),
    "taper": ("plugged", {"limit_a": 11.0, "earlier_a": 19.0, "soc_start": 92.0}, {}),
    "no_charge": ("wired", {"limit_a": 0.0}, {}),
    "pack_heater": ("wired", {"heater_kw": 3.5, "ambient_c": -8.0}, {}),
    "cabin": ("plugged", {"cabin_kw": 2.2, "ambient_c": 36.0}, {}),
    "engine_overloaded": ("wired", {"hz": 56.4, "sag_v": 20.0}, {}),
    "other_load": ("plugged", {"hz": 57.2, "sag_v": 19.0}, {}),
    "fuel_starved": ("plugged", {"hz": 56.0, "sag_v": 9.0, "fuel": "propane", "ambient_c": -14.0}, {}),
    "governor_low": ("wired", {"no_load_hz": 57.6, "hz": 56.2, "no_load_v": 240.0}, {}),
    "governor_high": ("plugged", {"no_load_hz": 66.5, "hz": 65.2}, {}),
    "regulator_low": ("plugged", {"no_load_v": 224.0}, {}),
    "regulator_high": ("wired", {"no_load_v": 258.0}, {}),
    "poor_regulation": ("wired", {"sag_v": 21.0}, {}),
    "weak_feed": ("fairground-outlet", {"sag_v": 22.0}, {}),
    "long_cord": ("wired", {"run_ohm": loop_ohm(75, "8")}, {}),
    "loose_joint": ("wired", {"run_ohm": 0.16, "hot": (("main", 46.0),)}, {}),
    "bad_coupler": ("plugged", {"hot": (("connector", 56.0), ("inlet", 47.0))}, {}),
    "foldback": ("wired", {"limit_a": 26.0, "earlier_a": 39.0, "hot": (("connector", 52.0),)}, {}),
    "supply_208": ("plugged", {"no_load_v": 210.0, "sag_v": 3.0}, {}),
    "one_leg": ("wired", {"no_load_v": 123.0, "sag_v": 3.0}, {}),
    "half_volts": ("plugged", {"no_load_v": 122.0, "sag_v": 3.0}, {}),
    "meter_wrong": ("plugged", {"metered_factor": 1.15}, {}),
    "interrupted": ("wired", {"on_share": 0.55}, {}),
    "other_class": ("plugged", {"size_kwh": 28.0, "dash_miles_factor": 1.6}, {}),
}


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("fault", FAULTS)
def test_the_true_cause_is_among_the_first_two(dataset, fault, seed):
    rig, changes, read_back = FAULTS[fault]
    vehicle, truth, parts = PAIRS[rig]
    result = compare(dataset, rig, vehicle, readings(replace(truth, **changes), parts, seed, **read_back))

    assert result.verdict != "agrees"
    assert fault in [cause.code for cause in result.causes[:2]]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_larger_charger_than_the_class_is_found(dataset, seed):
    _, truth, parts = PAIRS["wired"]
    result = compare(dataset, "wired", "older-short-range-hatch", readings(truth, parts, seed))

    assert "larger_charger" in [cause.code for cause in result.causes[:2]]


def test_every_cause_of_the_catalogue_is_tried():
    assert {item.code for item in HYPOTHESES} == {*FAULTS, "larger_charger"}


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("rig", PAIRS)
def test_a_sound_rig_agrees_and_has_no_cause(dataset, rig, seed):
    vehicle, truth, parts = PAIRS[rig]
    result = compare(dataset, rig, vehicle, readings(truth, parts, seed))

    assert [check for check in result.checks if check.result != "agrees"] == []
    assert (result.verdict, result.stops, result.causes, result.missing) == ("agrees", (), (), ())


READ = ("voltage_no_load_v", "frequency_no_load_hz", "frequency_hz", "voltage_source_v", "voltage_evse_v", "current_a")
READ += ("power_metered_kw", "energy_metered_kwh", "power_dash_kw", "miles_per_hour_dash")


@settings(deadline=None)
@given(st.sets(st.sampled_from(READ), min_size=1), st.sampled_from(sorted(PAIRS)), st.integers(0, 50))
def test_what_was_not_measured_invents_no_cause(kept, rig, seed):
    vehicle, truth, parts = PAIRS[rig]
    every = readings(truth, parts, seed)
    some = replace(every, **{name: None for name in READ if name not in kept}, temperatures_c={})
    result = compare(data(), rig, vehicle, some)

    assert (result.verdict, result.causes) == ("agrees", ())


@pytest.mark.parametrize("fault", ["setting_low", "long_cord", "one_leg", "governor_high"])
def test_a_fault_that_no_reading_shows_has_no_cause(dataset, fault):
    rig, changes, _ = FAULTS[fault]
    vehicle, truth, parts = PAIRS[rig]
    every = readings(replace(truth, **changes), parts, 1)
    off = {check.code for check in compare(dataset, rig, vehicle, every).checks if check.result != "agrees"}
    hidden = replace(every, **{name: None for name in asdict(every) if name in READ and name in off})
    hidden = replace(hidden, voltage_no_load_v=None, voltage_source_v=None, energy_metered_kwh=None)
    hidden = replace(hidden, miles_per_hour_dash=None, power_dash_kw=None, power_metered_kw=None)
    result = compare(dataset, rig, vehicle, hidden)

    assert (result.verdict, result.causes) == ("agrees", ())


def test_what_would_decide_is_named(dataset):
    rig, changes, _ = FAULTS["long_cord"]
    vehicle, truth, parts = PAIRS[rig]
    every = readings(replace(truth, **changes), parts, 3)
    result = compare(dataset, rig, vehicle, Measured(voltage_evse_v=every.voltage_evse_v, current_a=every.current_a))

    assert result.verdict == "differs"
    assert len(result.causes) >= 2
    assert result.missing
    assert all("volts" in text or "hertz" in text or "temperature" in text for text in result.missing)


# ------------------------------------------------------------------------------------------------------ from the trade


def test_the_trade_s_own_case_agrees():
    # Common practice, no source: a unit set to 48 A meters 46 A and 11.2 kW, while the display of a large SUV shows
    # 10.4 to 10.7 kW going in and 22 to 30 miles an hour. Tolerances are the planner's own bands.
    evse = make.evse(48, connector="j3400")
    source = make.source(voltage_v={"low": 236.0, "typical": 242.0, "high": 247.0})
    made = make.dataset(make.rig(evse=evse, source=source))
    for dash_kw, miles in ((10.4, 22.0), (10.55, 26.0), (10.7, 30.0)):
        measured = Measured(current_a=46.0, power_metered_kw=11.2, power_dash_kw=dash_kw, miles_per_hour_dash=miles)
        result = compare(made, "made", "large-three-row-suv", measured)

        assert (result.verdict, result.causes) == ("agrees", ())


@pytest.mark.parametrize(
    ("grade", "rise_hz", "share"),
    # DGUV Information 203-032, Annex 5: ISO 8528 classes at 50 Hz (54.0, 52.5 Hz), here of 60 Hz; G1 above 10 kW.
    [("g1", 64.8, 0.05), ("g2", 63.0, 0.025), ("g3", 61.8, 0.01)],
)
def test_windows_without_load_are_those_of_the_class(grade, rise_hz, share):
    rig = make.rig(source=make.source(regulation_class=grade))

    assert no_load_frequency_hz(rig)[1] == pytest.approx(rise_hz)
    assert no_load_voltage_v(rig)[1] == pytest.approx(240 * (1 + share))


def test_a_small_set_of_the_lowest_class_may_rise_by_a_tenth():
    # The same print: G1 up to 10 kW is 10 percent.
    rig = make.rig(source=make.generator(9000.0, regulation_class="g1"))

    assert no_load_voltage_v(rig)[1] == pytest.approx(264.0)


# --------------------------------------------------------------------------------------------------------- what stops


@pytest.mark.parametrize(
    ("part", "limit_c", "ambient_c"),
    # The breaker is in 75 C terminations, and 50 K over air of 18 C; what a hand takes hold of has 60 C, from memory.
    [
        ("main", 75.0, 35.0),
        ("main", 68.0, 18.0),
        ("feed", 60.0, 18.0),
        ("connector", 60.0, 18.0),
        ("inlet", 60.0, 18.0),
    ],
)
def test_above_the_mark_of_a_part_is_a_stop(dataset, part, limit_c, ambient_c):
    vehicle, truth, parts = PAIRS["wired"]
    sound = readings(replace(truth, ambient_c=ambient_c), parts, 4)
    for over, verdict in ((0.5, {"stop"}), (-0.5, {"agrees", "differs"})):
        heat = {**sound.temperatures_c, part: limit_c + over}
        result = compare(dataset, "wired", vehicle, replace(sound, temperatures_c=heat))

        assert result.verdict in verdict


@settings(deadline=None)
@given(st.sampled_from(["main", "feed", "connector", "inlet", "cable"]), st.floats(-20, 200), st.floats(0, 90))
def test_hotter_is_never_better(part, value_c, more_k):
    vehicle, truth, parts = PAIRS["wired"]
    order = {"agrees": 0, "differs": 1, "stop": 2}
    sound = readings(truth, parts, 5)

    def verdict(temperature_c):
        heat = {**sound.temperatures_c, part: temperature_c}
        result = compare(data(), "wired", vehicle, replace(sound, temperatures_c=heat))
        return order[result.verdict]

    assert verdict(value_c) <= verdict(value_c + more_k)


def test_a_rig_that_is_not_fit_is_a_stop_before_any_reading_counts(dataset):
    result = compare(dataset, "fairground-spare", "compact-hatch", Measured(current_a=30.0))

    assert result.verdict == "stop"
    assert result.causes == ()
    assert expected(dataset, "fairground-spare", "compact-hatch") == ()


def test_a_vehicle_that_no_path_serves_is_a_stop(dataset):
    result = compare(dataset, "wired", "imported-compact-hatch", Measured(current_a=30.0))

    assert result.verdict == "stop"


def test_a_mark_above_what_a_part_allows_is_a_stop():
    made = make.dataset(make.rig(supply=[make.breaker(50.0)]))
    result = compare(made, "made", "made", Measured(setting_mark="48", current_a=47.0))

    assert result.verdict == "stop"
    assert "40 A" in result.stops[0]


def test_a_run_that_proves_the_loading_may_stand_above_it():
    # 12 kW running at 240 V is 50 A, 40 A at 0.8: 48 A is within the engine's watts and beyond its loading.
    made = make.dataset(make.rig(source=make.generator(12000.0)))
    result = compare(made, "made", "made", Measured(setting_mark="48", current_a=47.5, power_metered_kw=11.3))

    assert result.verdict == "agrees"
    assert "prove" in result.notes[0]
    assert "stand by and watch" in result.notes[0].lower()


def test_a_failing_run_is_not_encouraged():
    # Mark 48 of the pass truck is a proving run; 58 Hz is below 60 Hz less 2 %.
    failing = pass_truck(frequency_hz=58.0)

    assert failing.verdict == "differs"
    assert "run to prove it" not in " ".join(failing.notes)
    assert "run to prove it" in " ".join(pass_truck().notes)


def test_volts_below_the_crew_s_limit_are_a_stop(dataset):
    result = compare(dataset, "wired", "large-three-row-suv", Measured(voltage_evse_v=214.0))

    assert result.verdict == "stop"  # 0.9 of 240 V


def test_marks_name_every_part(dataset):
    parts = [mark.part for mark in heat_marks(dataset, dataset.rig("plugged"))]

    assert parts == ["main", "outlet", "evse-plug", "cable", "connector", "adapter", "inlet"]


# ---------------------------------------------------------------------------------------------------------- bad input


@pytest.mark.parametrize(
    ("mapping", "said"),
    [
        ({"power_metered_kw": -3}, "power_metered_kw"),
        ({"power_metered_kw": math.nan}, "power_metered_kw"),
        ({"voltage_evse_v": "238 V"}, "plain number"),
        ({"current_a": True}, "plain number"),
        ({"volts": 238}, "voltage_evse_v"),
        ({"soc_start_percent": 60, "soc_end_percent": 40}, "soc_end_percent"),
        ({"temperatures_c": 40}, "connector: 41"),
        ({"temperatures_c": {"connector": 900}}, "connector"),
        ({"setting_mark": ["40"]}, "mark"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(mapping, said):
    with pytest.raises(QuantityError, match=said):
        measured_from(mapping)


def test_readings_are_taken_as_they_stand():
    found = measured_from(
        {"voltage_evse_v": 238, "setting_mark": 40, "temperatures_c": {"inlet": 30}, "current_a": None}
    )

    assert found == Measured(voltage_evse_v=238.0, setting_mark="40", temperatures_c={"inlet": 30.0})


@pytest.mark.parametrize(
    ("measured", "said"),
    [
        (Measured(), "at least one"),
        (Measured(power_metered_kw=-1.0), "power_metered_kw"),
        (Measured(current_a=30.0, setting_mark="47"), "a mark of"),
        (Measured(temperatures_c={"hood": 40.0}), "connector"),
        (Measured(current_a=30.0, fuel="diesel"), "fuel"),
    ],
)
def test_readings_that_do_not_suit_the_rig_are_refused(dataset, measured, said):
    with pytest.raises(QuantityError, match=said):
        compare(dataset, "wired", "large-three-row-suv", measured)


def test_an_unknown_rig_is_refused(dataset):
    with pytest.raises(UnknownIdError):
        compare(dataset, "no-such-rig", "compact-hatch", Measured(current_a=30.0))


# ------------------------------------------------------------------------------------------------------------- record


def run_of(rig="wired", **changes):
    vehicle, truth, parts = PAIRS[rig]
    measured = replace(readings(truth, parts, 2, minutes=75.0), **changes)
    return compare(data(), rig, vehicle, measured)


def test_a_long_run_is_kept_with_what_was_measured():
    result = run_of()
    record = record_of(result, "2026-10-02")

    assert record.date == "2026-10-02"
    assert record.duration_min == 75.0
    assert record.power_metered_kw == result.measured.power_metered_kw
    assert (record.fuel, record.vehicle, record.altitude_m) == ("gasoline", "large-three-row-suv", 0.0)
    assert record.temperatures_c == result.measured.temperatures_c


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"duration_min": 45.0, "energy_metered_kwh": None}, "shorter than 60"),
        ({"duration_min": None}, "duration_min"),
        ({"power_metered_kw": None, "energy_metered_kwh": None}, "power_metered_kw"),
        ({"power_metered_kw": 13.4, "current_a": None, "energy_metered_kwh": None}, "never kept"),
        ({"altitude_m": None}, "altitude_m"),
        ({"temperatures_c": {"main": 80.0}}, "never kept"),
        ({"temperatures_c": {"connector": 66.0}}, "never kept"),
        ({"frequency_hz": 56.0}, "never kept"),
        ({"frequency_hz": 57.5}, "did not carry"),
        ({"energy_metered_kwh": 5.0}, "not held"),
        ({"current_a": 33.0}, "wrong meter"),
    ],
)
def test_a_run_that_proves_nothing_is_not_kept(changes, said):
    with pytest.raises(QuantityError, match=said):
        record_of(run_of(**changes), "2026-10-02")


def test_a_date_that_is_none_is_refused():
    for date in ("2026-02-31", "20261002", "yesterday"):
        with pytest.raises(QuantityError, match=date):
            record_of(run_of(), date)


def test_a_reading_that_the_record_cannot_hold_is_refused_in_words():
    result = run_of()
    with pytest.raises(QuantityError, match="voltage_no_load_v"):
        record_of(replace(result, measured=replace(result.measured, voltage_no_load_v=60.0)), "2026-10-02")


# ------------------------------------------------------------------------------------------- a run that may be kept

PASS = ("pass-truck", "large-three-row-suv")
# A day at 1200 m and 8 C: the common rule keeps 1 - 0.035 x 1200 / 304.8 of 15 kW, 12.93 kW. 246 V at most.
PASS_DERATED_KW = 15 * (1 - 0.035 * 1200 / 304.8)
KEPT = Measured(
    duration_min=70.0,
    setting_mark="48",
    voltage_evse_v=240.0,
    current_a=46.0,
    power_metered_kw=11.0,
    ambient_c=8.0,
    altitude_m=1200.0,
    fuel="gasoline",
)


def pass_truck(**changes):
    return compare(data(), *PASS, replace(KEPT, **changes))


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"frequency_hz": 60.2},
        {"voltage_source_v": 241.0},
        {"miles_per_hour_dash": 15.0},  # its own recent use, not the source
        {
            "voltage_evse_v": 240.0,
            "current_a": 30.0,
            "power_metered_kw": 7.1,
        },  # a lighter load proves less, and is true
    ],
)
def test_what_may_be_kept(changes):
    assert pass_truck(**changes).why_no_proof is None


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"power_metered_kw": 14.9, "voltage_evse_v": None, "current_a": None, "setting_mark": "24"}, "never kept"),
        ({"voltage_no_load_v": 290.0}, "never kept"),
        ({"frequency_no_load_hz": 50.0}, "never kept"),
        ({"voltage_no_load_v": 252.0}, "volts without load"),
        ({"frequency_no_load_hz": 64.5}, "hertz without load"),
        ({"power_dash_kw": 3.0}, "power that the vehicle shows"),
        ({"energy_metered_kwh": 12.8, "soc_start_percent": 10.0, "soc_end_percent": 90.0}, "percent gained"),
        ({"voltage_evse_v": 249.0, "power_metered_kw": 11.4}, "volts at the EVSE"),
        ({"frequency_hz": 64.0}, "hertz under load: too high"),
        ({"voltage_evse_v": None, "frequency_hz": 60.0, "power_metered_kw": 9.0}, "wrong meter"),
        ({"voltage_evse_v": None, "current_a": None}, "hertz under load"),
    ],
)
def test_a_run_that_does_not_agree_with_itself_is_no_proof(changes, said):
    result = pass_truck(**changes)

    assert said in result.why_no_proof
    with pytest.raises(QuantityError):
        record_of(result, "2026-10-02")


def test_more_than_the_day_leaves_of_the_running_watts_is_no_proof():
    # 11.7 kW running at sea level and 25 C; a meter may be 2 % off: up to 11.93 kW.
    made = make.dataset(
        make.rig(
            source=make.generator(11700.0, voltage_v={"low": 234.0, "typical": 241.0, "high": 246.0}),
            evse=make.evse(48, connector="j3400"),
        )
    )
    for power_kw, reason in ((11.9, None), (12.0, "running watts")):
        measured = Measured(
            duration_min=70.0, setting_mark="48", voltage_evse_v=246.0, power_metered_kw=power_kw, ambient_c=20.0
        )
        result = compare(made, "made", "large-three-row-suv", replace(measured, altitude_m=0.0, fuel="gasoline"))

        assert result.verdict != "stop"
        assert (result.why_no_proof is None) == (reason is None)
        assert reason is None or reason in result.why_no_proof


def test_a_kept_run_says_what_it_proves_and_what_stood_before():
    # Measured over derated watts; amps by P = V I pf at the most volts; the mark is the highest that they carry.
    result = pass_truck(power_metered_kw=11.0)
    factor = data().vehicle_classes[PASS[1]].onboard_charger.power_factor

    assert result.proof.loading == pytest.approx(11.0 / PASS_DERATED_KW)
    assert result.proof.current_a == pytest.approx(11000 / (246 * factor))
    assert result.proof.setting_mark == "40"
    assert result.proof.loading_before == pytest.approx(11.3 / PASS_DERATED_KW)  # its record: 11.3 kW at 1200 m, 14 C
    text = " ".join(to_text(result).split())
    assert "proves 0.85" in text
    assert "up to mark 40" in text
    assert "before it was 0.87" in text
    assert "lowers" in text


def test_a_heavier_run_warns_of_nothing():
    text = " ".join(to_text(pass_truck(power_metered_kw=11.45, voltage_evse_v=243.0, current_a=47.4)).split())

    assert "proves 0.89" in text  # 11.45 of 12.93 kW is 0.885
    assert "lowers" not in text


def test_a_light_run_says_that_it_lifts_nothing():
    text = " ".join(to_text(pass_truck(current_a=30.0, power_metered_kw=7.1)).split())

    assert "proves 0.55" in text  # 7.1 of 12.93 kW is 0.549
    assert "lifts nothing" in text
    assert "lowers" in text


def test_what_a_kept_run_shows_is_what_the_planner_then_uses():
    result = pass_truck(power_metered_kw=11.45, voltage_evse_v=243.0, current_a=47.4)
    rig = data().rigs["pass-truck"]
    kept = rig.model_copy(update={"commissioning": (*rig.commissioning, record_of(result, "2026-10-02"))})
    found = answer(replace(data(), rigs={"pass-truck": kept}), Call(*PASS, 20, ToPercent(60), ambient_c=8.0))

    assert found.state.loading == pytest.approx(result.proof.loading)
    assert found.setting.mark == result.proof.setting_mark
    link = next(link for link in found.chain if link.link == "source_power")
    assert link.limit_a == pytest.approx(result.proof.current_a)


@pytest.mark.parametrize("rig", ["ski-hill-battery", "fairground-outlet"])
def test_a_source_without_an_engine_proves_no_loading(rig):
    nominal = {"ski-hill-battery": ("28", 240.0, 27.5), "fairground-outlet": ("40", 238.0, 39.0)}[rig]
    mark, evse_v, current_a = nominal
    measured = Measured(
        duration_min=70.0,
        setting_mark=mark,
        voltage_evse_v=evse_v,
        current_a=current_a,
        power_metered_kw=evse_v * current_a * 0.99 / 1000,
        ambient_c=15.0,
        altitude_m=300.0,
    )
    result = compare(data(), rig, "midsize-suv", measured)
    text = " ".join(to_text(result).split())

    assert (result.why_no_proof, result.proof) == (None, None)
    assert "may be kept" in text
    assert "proves nothing" in text


def test_every_reading_is_in_the_record():
    record = record_of(run_of(), "2026-10-02")
    measured = run_of().measured

    assert (record.frequency_hz, record.voltage_source_v) == (measured.frequency_hz, measured.voltage_source_v)
    assert record.frequency_hz is not None


def test_a_source_that_failed_and_still_has_a_proof_is_told():
    # 0.8 of 12.93 kW at 246 V is 42 A, mark 40: the run failed there, so no more than the mark below it, 32.
    result = pass_truck(
        setting_mark="40",
        frequency_hz=57.2,
        voltage_source_v=222.0,
        current_a=39.0,
        voltage_evse_v=None,
        power_metered_kw=8.6,
    )
    text = " ".join(to_text(result).split())

    assert result.verdict == "differs"
    assert "the proof of 2026-09-14 still counts" in text.lower()
    assert "mark 32" in text
    assert text.index("2026-09-14") < text.index("Check measured")
    stopped = pass_truck(frequency_hz=56.0)
    assert stopped.verdict == "stop"
    assert "the proof of 2026-09-14 still counts" in " ".join(to_text(stopped).split()).lower()


def test_nothing_is_said_of_a_proof_that_is_not_there_or_did_not_fail():
    without = data().rigs["pass-truck"].model_copy(update={"commissioning": ()})
    made = replace(data(), rigs={"pass-truck": without})
    failed = replace(KEPT, setting_mark="40", frequency_hz=57.2, voltage_evse_v=None, current_a=39.0)

    assert "still counts" not in to_text(compare(made, *PASS, replace(failed, power_metered_kw=8.6)))
    assert "still counts" not in to_text(pass_truck())
    assert "still counts" not in to_text(pass_truck(voltage_no_load_v=252.0))


# ------------------------------------------------------------------------------------------------- more that is a stop


@pytest.mark.parametrize(
    "changes",
    [
        {"power_metered_kw": 14.9, "setting_mark": "40"},  # 62 A at 240 V, through a 60 A breaker
        {"voltage_no_load_v": 290.0},  # the EVSE bears 264 V
        {"voltage_source_v": 290.0},
        {"voltage_source_v": 210.0},  # at the EVSE it is no more; 0.9 of 240 V is 216
        {"frequency_hz": 70.0},  # 57 to 66 Hz, from memory: where onboard chargers let go
        {"frequency_hz": 56.5},
        {"frequency_no_load_hz": 70.0},
    ],
)
def test_power_volts_and_hertz_have_a_stop(changes):
    result = compare(data(), *PASS, Measured(**changes))

    assert result.verdict == "stop"
    assert result.stops[0][0].isupper()
    assert "evse" not in result.stops[0]
    if "voltage_no_load_v" in changes or "frequency_no_load_hz" in changes:
        assert "End the charge" not in result.stops[0]  # nothing is plugged in yet
        assert "no vehicle" in result.stops[0].lower()


def test_the_evse_is_written_as_it_is():
    assert compare(data(), *PASS, Measured(voltage_evse_v=206.0)).stops[0].startswith("Volts at the EVSE")


def test_a_small_set_of_the_lowest_class_may_stand_where_its_class_allows():
    # G1 up to 10 kW may rise by a tenth: 264 V without load, which the EVSE still bears.
    made = make.dataset(make.rig(source=make.generator(9000.0, regulation_class="g1")))

    assert compare(made, "made", "compact-hatch", Measured(voltage_no_load_v=262.0)).verdict == "agrees"


HEAT = Measured(current_a=38.6, voltage_evse_v=240.0, ambient_c=8.0, altitude_m=1200.0)


@pytest.mark.parametrize(
    ("part", "heat_c"),
    [
        ("cable", 102.0),  # a cable that is held in the hand
        ("feed", 88.0),  # a cord on the ground
        ("cable", 61.0),  # 60 C: too hot to keep a bare hand on
        ("feed", 61.0),
        ("main", 74.0),  # 66 K over air of 8 C
        ("main", 59.0),  # 50 K over that air is 58 C
        ("connector", 66.0),
    ],
)
def test_a_hot_part_ends_the_run(part, heat_c):
    result = compare(data(), *PASS, replace(HEAT, temperatures_c={part: heat_c}))

    assert result.verdict == "stop"
    assert "End the charge" in result.stops[0]
    assert to_text(result).splitlines()[2].startswith("! ")


def test_a_warm_part_ends_nothing():
    heat = {"cable": 45.0, "feed": 45.0, "main": 56.0, "connector": 55.0, "inlet": 55.0}

    assert compare(data(), *PASS, replace(HEAT, temperatures_c=heat)).verdict != "stop"


def test_a_hot_cord_has_a_cause():
    result = compare(data(), *PASS, replace(HEAT, temperatures_c={"feed": 70.0, "main": 25.0}))

    assert result.causes[0].code == "long_cord"


# --------------------------------------------------------------------------------------------------------- which cause

ENGINE_WORDS = ("engine", "governor", "fuel", "brushes", "choke")


@pytest.mark.parametrize(
    "changes",
    [
        {"power_metered_kw": 6.6, "voltage_evse_v": 206.0, "current_a": 32.0, "ambient_c": 21.0, "altitude_m": 274.0},
        {"frequency_hz": 58.0},
        {"voltage_source_v": 224.0, "voltage_no_load_v": 241.0},
        {"voltage_no_load_v": 256.0},
    ],
)
@pytest.mark.parametrize("rig", ["fairground-outlet", "ski-hill-battery"])
def test_a_rig_without_an_engine_has_no_cause_in_an_engine(rig, changes):
    result = compare(data(), rig, "midsize-suv", Measured(**changes))

    assert result.verdict != "agrees"
    for cause in result.causes:
        words = f"{cause.text} {cause.check_next}".lower()
        assert not [word for word in ENGINE_WORDS if word in words]


def test_208_volts_at_an_outlet_are_the_first_cause():
    measured = Measured(power_metered_kw=6.6, voltage_evse_v=206.0, current_a=32.0, ambient_c=21.0, altitude_m=274.0)
    result = compare(data(), "fairground-outlet", "midsize-suv", measured)

    assert result.causes[0].code == "supply_208"


@pytest.mark.parametrize("current_a", [39.0, 32.0])
def test_208_volts_by_volts_and_current_alone(current_a):
    result = compare(data(), *PASS, Measured(voltage_evse_v=206.0, current_a=current_a))

    assert "supply_208" in [cause.code for cause in result.causes[:2]]


@pytest.mark.parametrize("rig", ["pass-truck", "ski-hill-battery", "fairground-outlet"])
def test_half_the_volts_without_load_stop_and_have_their_own_cause(rig):
    # 120/240 V: line to neutral is half, 122 V of 244 V. 0.9 of 240 V, 216 V, is where a crew stops.
    result = compare(data(), rig, "midsize-suv", Measured(voltage_no_load_v=122.0))

    assert result.verdict == "stop"
    assert "no vehicle" in result.stops[0].lower()
    assert result.causes[0].code == "half_volts"
    assert "neutral" in result.causes[0].text
    assert "supply_208" not in [cause.code for cause in result.causes[:2]]


def test_low_volts_without_load_stop_at_nine_tenths_of_nominal():
    assert compare(data(), *PASS, Measured(voltage_no_load_v=215.0)).verdict == "stop"
    assert compare(data(), *PASS, Measured(voltage_no_load_v=217.0)).verdict == "differs"


def starved(rig, **changes):
    vehicle, truth, parts = PAIRS[rig]
    truth = replace(truth, hz=56.0, sag_v=9.0, **changes)
    causes = compare(data(), rig, vehicle, readings(truth, parts, 3)).causes
    return next((f"{cause.text} {cause.check_next}".lower() for cause in causes if cause.code == "fuel_starved"), None)


def test_a_cylinder_is_named_only_with_propane_and_never_heated():
    propane = starved("plugged", fuel="propane", ambient_c=-14.0)
    gasoline = starved("plugged", fuel="gasoline", ambient_c=-14.0)

    assert "never heated" in propane
    assert gasoline is not None
    assert "cylinder" not in gasoline
    assert "propane" not in gasoline
    for item in HYPOTHESES:
        text = f"{item.text} {item.check_next}".lower()
        assert "warm or" not in text
        assert "warmer" not in text
        assert "cylinder" not in text or item.fuels == {"propane"}


def test_a_reading_that_differs_never_looks_equal_to_its_limit():
    measured = Measured(voltage_evse_v=212.0, current_a=30.0, power_metered_kw=6.0)
    result = compare(data(), *PASS, measured)
    hot = [replace(HEAT, temperatures_c={"main": 58.0 + over_k}) for over_k in (0.01, 0.03, 0.2)]
    for reading in (result, *(compare(data(), *PASS, each) for each in hot)):
        for line in to_text(reading).splitlines():
            found = re.search(r" ([\d.]+) \w+  +([\d.]+) to ([\d.]+) \w+  TOO", line)
            assert found is None or found[1] not in found.groups()[1:], line
            heat = re.search(r"([\d.]+ F)( \(\d+ C\))? +to ([\d.]+ F)", line)
            assert heat is None or heat[1] != heat[3], line
        assert max(map(len, to_text(reading).splitlines())) <= 84
        for check in json.loads(to_json(reading))["checks"]:
            assert check["result"] != "low" or check["measured"] < check["low"] or check["stops"]
            assert check["result"] != "high" or check["measured"] > check["high"] or check["stops"]
    product = next(line for line in to_text(result).splitlines() if line.startswith("metered kW against"))
    assert "6.00 kW" not in product


def test_a_conductor_ends_in_its_terminations():
    # Feed wire of the ski hill: 90 C insulation, 75 C terminations.
    found = {mark.part: mark.limit_c for mark in heat_marks(data(), data().rig("ski-hill-battery"))}

    assert found["feed"] == 75.0


def test_what_a_mark_counts_is_a_cause_only_where_the_record_says_the_other():
    high = [cause.code for cause in compare(data(), *PASS, Measured(current_a=60.0, setting_mark="40")).causes]
    low = Measured(current_a=25.6, setting_mark="40")

    assert "mark_is_output_amps" not in high
    assert "mark_is_breaker_amps" not in [cause.code for cause in compare(data(), "plugged", "midsize-suv", low).causes]


def test_two_good_meters_give_no_loose_joint():
    # Two meters of 1 % each differ by up to 3.4 V at 240 V and nobody is wrong: the root of two times 1 %.
    result = compare(
        data(), *PASS, Measured(current_a=45.8, voltage_source_v=242.0, voltage_evse_v=240.0, setting_mark="48")
    )

    assert (result.verdict, result.causes) == ("agrees", ())


# ---------------------------------------------------------------------------------------------------- what is said


def test_that_the_rig_delivers_is_said_only_where_its_power_was_read():
    said = "the rig delivers what is reckoned"

    assert said not in to_text(compare(data(), *PASS, Measured(frequency_no_load_hz=61.0)))
    assert "kilowatts were not" in " ".join(
        to_text(compare(data(), *PASS, Measured(frequency_no_load_hz=61.0))).split()
    )
    assert said not in to_text(compare(data(), *PASS, Measured(current_a=38.6)))
    assert said in to_text(compare(data(), *PASS, Measured(current_a=38.6, voltage_evse_v=240.0)))
    assert said in to_text(compare(data(), *PASS, Measured(power_metered_kw=9.2)))


def test_what_to_do_first_stands_before_the_table():
    result = compare(data(), *PASS, Measured(current_a=23.5, voltage_evse_v=241.0, setting_mark="40"))
    text = " ".join(to_text(result).split())

    assert result.verdict == "differs"
    assert text.index(result.causes[0].check_next) < text.index("Check measured")


def test_the_tests_without_a_vehicle_are_pointed_at():
    text = " ".join(to_text(pass_truck()).split())

    assert "dead and grounding tests" in text
    assert "commissioning sheet" in text


@pytest.mark.parametrize(
    ("measured", "option", "key"),
    [
        (Measured(current_a=-1.0), "--amps", "current_a"),
        (Measured(power_metered_kw=-1.0), "--metered", "power_metered_kw"),
        (Measured(current_a=30.0, setting_mark="47"), "--mark", "setting_mark"),
        (Measured(temperatures_c={"hood": 40.0}), "--hot", "temperatures_c"),
        (Measured(soc_start_percent=60.0, soc_end_percent=40.0), "--end", "soc_end_percent"),
    ],
)
def test_a_mistake_names_the_option_and_the_key(measured, option, key):
    with pytest.raises(QuantityError) as caught:
        compare(data(), *PASS, measured)

    assert option in str(caught.value)
    assert key in str(caught.value)


def test_what_is_missing_for_a_record_names_the_option_and_the_key():
    for changes, option, key in (
        ({"power_metered_kw": None}, "--metered", "power_metered_kw"),
        ({"duration_min": None}, "--duration", "duration_min"),
        ({"altitude_m": None}, "--altitude", "altitude_m"),
        ({"voltage_evse_v": None, "current_a": None}, "--hertz", "frequency_hz"),
    ):
        reason = pass_truck(**changes).why_no_proof

        assert option in reason
        assert key in reason


def test_a_proof_that_is_shown_fits_a_terminal():
    for changes in ({}, {"power_metered_kw": 7.1, "current_a": 30.0}, {"frequency_hz": 57.2}, {"power_dash_kw": 3.0}):
        assert max(map(len, to_text(pass_truck(**changes)).splitlines())) <= 84


# --------------------------------------------------------------------------------------------------------------- text


@pytest.mark.parametrize("fault", FAULTS)
def test_a_result_reads_in_a_terminal(dataset, fault):
    rig, changes, read_back = FAULTS[fault]
    vehicle, truth, parts = PAIRS[rig]
    result = compare(dataset, rig, vehicle, readings(replace(truth, **changes), parts, 1, **read_back))
    text = to_text(result)

    assert max(map(len, text.splitlines())) <= 84
    assert text.startswith({"stop": "STOP", "differs": "DIFFERS"}[result.verdict])
    flat = " ".join(text.split())
    places = [flat.index(cause.text) for cause in result.causes]
    assert places == sorted(places)
    assert all(cause.check_next in flat for cause in result.causes)
    assert all(stop in flat for stop in result.stops)
    assert sum(cause.weight for cause in result.causes) == pytest.approx(1)


def test_a_result_is_one_json_document(dataset):
    vehicle, truth, parts = PAIRS["wired"]
    result = compare(dataset, "wired", vehicle, readings(truth, parts, 1))
    found = json.loads(to_json(result))

    assert found["verdict"] == "agrees"
    assert len(found["checks"]) == len(result.checks)
    for shown, check in zip(found["checks"], result.checks, strict=True):
        assert check.low is None or shown["low"] <= check.low
        assert check.high is None or shown["high"] >= check.high


def test_no_cause_offers_a_forbidden_remedy():
    for item in HYPOTHESES:
        text = f"{item.text} {item.check_next}".lower()
        assert not [word for word in ("bypass", "ground rod", "bond at the evse", "larger breaker") if word in text]
