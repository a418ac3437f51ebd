"""The control pilot: both segments both ways, the dead band, the floor."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from planner.errors import OutOfRangeError
from planner.pilot import is_advertisable, pilot_current_a, pilot_duty_cycle_percent, pilot_meaning


@given(st.one_of(st.floats(6, 51), st.floats(52.6, 80)))
def test_a_current_survives_the_way_to_the_vehicle_and_back(current_a):
    assert pilot_current_a(pilot_duty_cycle_percent(current_a)) == pytest.approx(current_a)


@given(st.floats(8, 97), st.floats(0, 89))
def test_more_duty_never_permits_less_current(duty, step):
    assume(duty + step <= 97)

    assert pilot_current_a(duty + step) >= pilot_current_a(duty)


@pytest.mark.parametrize("current_a", [51.01, 52, 52.5])
def test_the_dead_band_has_no_duty_cycle(current_a):
    assert not is_advertisable(current_a)
    with pytest.raises(OutOfRangeError, match="between 6 and 51"):
        pilot_duty_cycle_percent(current_a)


@pytest.mark.parametrize("current_a", [0, 5.99, 80.01, -1, float("nan")])
def test_below_6_a_and_above_80_a_cannot_be_advertised(current_a):
    assert not is_advertisable(current_a)
    with pytest.raises(OutOfRangeError):
        pilot_duty_cycle_percent(current_a)


@pytest.mark.parametrize("duty", [0, 2.9, 5, 7, 7.99, 97.1, 100])
def test_a_duty_that_states_no_current_is_refused(duty):
    """5 % would be 3 A by the first segment's formula: the trap."""
    assert pilot_meaning(duty) != "current"
    with pytest.raises(OutOfRangeError):
        pilot_current_a(duty)


@pytest.mark.parametrize("duty", [-0.1, 100.1])
def test_a_duty_outside_0_to_100_is_refused(duty):
    with pytest.raises(OutOfRangeError):
        pilot_meaning(duty)
