"""Pilot levels and proximity: limit cases, laws, and public readings that no shipped table holds."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import OutOfRangeError
from planner.pilot import pilot_level_v, pilot_mean_v, pilot_state
from planner.proximity import cable_code_a, latch_state, proximity_level_v


@pytest.fixture(scope="module")
def pilot_windows(dataset):
    rows = dataset.tables["sae-j1772-pilot-states"].rows
    return {state: (row["high_from_v"], row["high_to_v"]) for state, row in rows.items()}


@pytest.fixture(scope="module")
def latch_windows(dataset):
    rows = dataset.tables["sae-j1772-proximity"].rows
    return {state: (row["level_from_v"], row["level_to_v"]) for state, row in rows.items()}


@pytest.fixture(scope="module")
def codes(dataset):
    rows = dataset.tables["iec-62196-2-cable-codes"].rows.values()
    return [(row["resistance_from_ohm"], row["resistance_to_ohm"], row["current_a"]) for row in rows]


# ------------------------------------------------------------------------------------------------------------ pilot


def test_a_vehicle_of_endless_resistance_is_no_vehicle():
    assert pilot_level_v(None) == 12
    assert pilot_level_v(1e12) == pytest.approx(12)


def test_a_vehicle_without_resistance_leaves_its_diode():
    """Limit case: all of the 12 V but the diode's drop, 0.7 V (from memory), falls in the EVSE."""
    assert pilot_level_v(0) == pytest.approx(0.7)


def test_equal_resistances_halve_what_the_diode_leaves():
    """Law of the divider: 1 kohm against 1 kohm, (12 + 0.7) / 2."""
    assert pilot_level_v(1000) == pytest.approx(6.35)


@given(st.floats(0, 1e6), st.floats(1, 1e6))
def test_more_resistance_leaves_more_volts(resistance_ohm, more_ohm):
    assert pilot_level_v(resistance_ohm) < pilot_level_v(resistance_ohm + more_ohm) < 12


def test_resistances_in_parallel_make_state_c_and_d(dataset):
    """An open controller's wiki: 1.3 kohm beside that of state B asks for current, 270 ohm for current and air."""
    rows = dataset.tables["sae-j1772-pilot-states"].rows
    for state, beside_ohm in (("C", 1300), ("D", 270)):
        together_ohm = 1 / (1 / rows["B"]["resistance_ohm"] + 1 / beside_ohm)
        assert rows[state]["resistance_ohm"] == pytest.approx(together_ohm, abs=1)


def test_each_printed_resistance_gives_its_printed_window(dataset, pilot_windows):
    """Resistances from one public text, windows from two others: that they meet is the check of the divider."""
    rows = dataset.tables["sae-j1772-pilot-states"].rows
    with_vehicle = {state: row["resistance_ohm"] for state, row in rows.items() if "resistance_ohm" in row}

    assert set(with_vehicle) == {"B", "C", "D"}
    for state, resistance_ohm in with_vehicle.items():
        for part in (0.97, 1.0, 1.03):  # from memory: the resistors of a vehicle are within 3 %
            assert pilot_state(high_v=pilot_level_v(part * resistance_ohm), windows=pilot_windows) == state
    assert pilot_state(high_v=pilot_level_v(None), windows=pilot_windows) == "A"


@pytest.mark.parametrize("state", "ABCDEF")
def test_each_nominal_level_is_its_own_state(dataset, pilot_windows, state):
    high_v = dataset.tables["sae-j1772-pilot-states"].rows[state]["high_v"]

    assert pilot_state(high_v=high_v, windows=pilot_windows) == state
    for edge_v in pilot_windows[state]:
        assert pilot_state(high_v=edge_v, windows=pilot_windows) == state


@pytest.mark.parametrize("high_v", [-13, -11, -5, 1.5, 2.3, 4.5, 7.5, 8.0, 10.5, 11.3, 13, math.nan])
def test_a_level_between_two_windows_is_no_state(pilot_windows, high_v):
    assert pilot_state(high_v=high_v, windows=pilot_windows) is None


def test_windows_do_not_overlap(pilot_windows, latch_windows, codes):
    for windows in (pilot_windows.values(), latch_windows.values(), [code[:2] for code in codes]):
        rising = sorted(windows)
        assert all(low < high for low, high in rising)
        assert all(below[1] < above[0] for below, above in pairwise(rising))


def test_printed_windows_lie_within_a_volt_of_the_nominal_level(dataset):
    """IEC 61851-1 annex A takes 1 V either way (from memory): what SAE's windows hold, a receiver by IEC holds too."""
    for row in dataset.tables["sae-j1772-pilot-states"].rows.values():
        assert row["high_v"] - 1 <= row["high_from_v"] < row["high_to_v"] <= row["high_v"] + 1


def test_the_mean_of_a_steady_pilot_is_its_level():
    assert pilot_mean_v(high_v=9, low_v=-12, duty_cycle_percent=100) == 9
    assert pilot_mean_v(high_v=9, low_v=-12, duty_cycle_percent=0) == -12


def test_half_a_wave_without_a_vehicle_reads_nothing():
    """Plus and minus 12 V for the same time: a meter on direct volts shows 0 V while the pilot is sound."""
    assert pilot_mean_v(high_v=12, low_v=-12, duty_cycle_percent=50) == 0


@given(st.floats(0, 12), st.floats(0, 99), st.floats(0.1, 1))
def test_more_duty_reads_higher(high_v, duty, more):
    reading_v = pilot_mean_v(high_v=high_v, low_v=-12, duty_cycle_percent=duty)

    assert -12 <= reading_v < pilot_mean_v(high_v=high_v, low_v=-12, duty_cycle_percent=duty + more)


@pytest.mark.parametrize("duty", [-0.1, 100.1, math.nan])
def test_a_mean_needs_a_duty_from_0_to_100(duty):
    with pytest.raises(OutOfRangeError, match="between 0 and 100 %"):
        pilot_mean_v(high_v=9, low_v=-12, duty_cycle_percent=duty)


# -------------------------------------------------------------------------------------------------------- proximity


@pytest.mark.parametrize(("connector_ohm", "printed_v"), [(None, 4.46), (480, 2.77), (150, 1.53)])
def test_volts_at_the_inlet_are_those_in_print(connector_ohm, printed_v):
    """Readings to expect at a student team's vehicle board, from its public wiki; tolerance 0.05 V, set before."""
    assert proximity_level_v(connector_ohm) == pytest.approx(printed_v, abs=0.05)


def test_volts_at_the_inlet_at_the_limits():
    """No resistance: nothing is left. Endless resistance: no connector."""
    assert proximity_level_v(0) == 0
    assert proximity_level_v(1e12) == pytest.approx(proximity_level_v(None))


def test_a_connector_like_the_inlet_halves_its_resistance():
    """2.7 kohm beside 2.7 kohm is 1.35 kohm: 5 x 1350 / 1680."""
    assert proximity_level_v(2700) == pytest.approx(5 * 1350 / 1680)


@given(st.floats(0, 1e6), st.floats(1, 1e6))
def test_more_resistance_in_the_connector_leaves_more_volts(connector_ohm, more_ohm):
    lower_v, higher_v = proximity_level_v(connector_ohm), proximity_level_v(connector_ohm + more_ohm)

    assert lower_v < higher_v < proximity_level_v(None) < 5


@pytest.mark.parametrize("part", [0.9, 1.0, 1.1])
def test_connectors_in_print_are_read_as_they_are(latch_windows, part):
    """150 and 480 ohm with 10 % either way (from memory), windows from the laboratory's harness."""
    assert latch_state(connector_ohm=150 * part, windows=latch_windows) == "latched"
    assert latch_state(connector_ohm=480 * part, windows=latch_windows) == "pressed"
    assert latch_state(connector_ohm=None, windows=latch_windows) == "apart"


@pytest.mark.parametrize("connector_ohm", [0, 20, 250, 1500])
def test_another_resistance_is_no_latch(latch_windows, connector_ohm):
    """A short, half of either, and the code of a 13 A cable."""
    assert latch_state(connector_ohm=connector_ohm, windows=latch_windows) is None


@pytest.mark.parametrize(("resistance_ohm", "current_a"), [(1500, 13), (680, 20), (220, 32), (100, 63)])
def test_each_code_with_its_tolerance_is_its_current(codes, resistance_ohm, current_a):
    """Codes from the readme of an open IEC 61851-1 controller; 3 % for the resistor, from memory."""
    for part in (0.97, 1.0, 1.03):
        assert cable_code_a(resistance_ohm=part * resistance_ohm, codes=codes) == current_a


@pytest.mark.parametrize("resistance_ohm", [0, 50, 150, 350, 1000, 2700, 4500, 1e6, math.inf])
def test_outside_the_codes_there_is_no_current(codes, resistance_ohm):
    """A short, a cut wire, and what lies between two codes (windows from memory)."""
    assert cable_code_a(resistance_ohm=resistance_ohm, codes=codes) is None


def test_a_smaller_resistance_is_a_larger_cable(codes):
    rising = sorted(codes)

    assert [current_a for *_, current_a in rising] == sorted((code[2] for code in codes), reverse=True)


@pytest.mark.parametrize("wrong_ohm", [-1, math.nan])
def test_a_resistance_below_nothing_is_refused(codes, latch_windows, wrong_ohm):
    for work in (
        lambda: pilot_level_v(wrong_ohm),
        lambda: proximity_level_v(wrong_ohm),
        lambda: latch_state(connector_ohm=wrong_ohm, windows=latch_windows),
        lambda: cable_code_a(resistance_ohm=wrong_ohm, codes=codes),
    ):
        with pytest.raises(OutOfRangeError, match="ohm, but must lie between 0 and inf ohm"):
            work()
