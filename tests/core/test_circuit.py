"""Circuits: limit cases and laws."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner import circuit
from planner.errors import OutOfRangeError

RATINGS_A = [15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 800, 1000]
amps = st.floats(1, 500)


@given(rating_a=amps)
def test_breaker_is_never_loaded_past_its_continuous_rating(rating_a):
    limit_a = circuit.continuous_limit_a(rating_a=rating_a, listed_for_full_rating=False)

    assert limit_a * 1.25 == pytest.approx(rating_a)
    assert circuit.continuous_limit_a(rating_a=rating_a, listed_for_full_rating=True) == rating_a


@given(load_a=st.floats(0.1, 640))
def test_smallest_device_carries_the_load_and_the_next_smaller_does_not(load_a):
    rating_a = circuit.smallest_overcurrent_device_a(continuous_load_a=load_a, standard_ratings_a=RATINGS_A)

    assert rating_a >= 1.25 * load_a
    smaller = [rating for rating in RATINGS_A if rating < rating_a]
    assert not smaller or smaller[-1] < 1.25 * load_a


def test_a_load_above_the_last_rating_is_refused_with_the_largest():
    with pytest.raises(OutOfRangeError, match=r"^continuous_load_a is 900 A, but must lie between 0 and 800 A$"):
        circuit.smallest_overcurrent_device_a(continuous_load_a=900, standard_ratings_a=RATINGS_A)


@given(ampacity_a=st.floats(10, 790))
def test_cord_gets_no_next_size_up_and_wire_gets_one_step(ampacity_a):
    cord_a = circuit.largest_protecting_device_a(
        ampacity_corrected_a=ampacity_a, next_size_up_allowed=False, standard_ratings_a=RATINGS_A
    )
    wire_a = circuit.largest_protecting_device_a(
        ampacity_corrected_a=ampacity_a, next_size_up_allowed=True, standard_ratings_a=RATINGS_A
    )

    assert cord_a == ampacity_a
    assert wire_a >= ampacity_a
    assert not [rating for rating in RATINGS_A if ampacity_a <= rating < wire_a]


def test_next_size_up_ends_at_800_a():
    """NEC 240.4(B)(3)."""
    assert (
        circuit.largest_protecting_device_a(
            ampacity_corrected_a=900, next_size_up_allowed=True, standard_ratings_a=RATINGS_A
        )
        == 900
    )


@given(terminations_a=amps, corrected_a=amps)
def test_conductor_limit_keeps_both_bounds(terminations_a, corrected_a):
    limit_a = circuit.conductor_continuous_limit_a(
        ampacity_terminations_a=terminations_a, ampacity_corrected_a=corrected_a
    )

    assert limit_a <= corrected_a
    assert limit_a * 1.25 <= terminations_a * (1 + 1e-12)
    assert limit_a in (corrected_a, terminations_a / 1.25)


def test_correction_is_one_at_30_c_and_refused_at_the_rating():
    assert circuit.ambient_correction(ambient_c=30, conductor_rated_c=75) == 1
    with pytest.raises(OutOfRangeError):
        circuit.ambient_correction(ambient_c=75, conductor_rated_c=75)


@given(current_a=st.floats(0, 100), ambient_c=st.floats(-60, 60))
def test_a_conductor_is_never_cooler_than_its_air_nor_hotter_than_its_rating(current_a, ambient_c):
    temperature_c = circuit.conductor_temperature_c(
        current_a=current_a, ampacity_a=55, ambient_c=ambient_c, conductor_rated_c=60
    )

    assert ambient_c <= temperature_c <= max(60, ambient_c)


def test_one_way_length_counts_twice_and_three_phases_by_root_three():
    one = circuit.voltage_drop_one_phase_v(current_a=10, resistance_ohm_per_km=1, length_m=100)
    three = circuit.voltage_drop_three_phase_v(current_a=10, resistance_ohm_per_km=1, length_m=100)

    assert one == pytest.approx(2.0)
    assert three == pytest.approx(one * 3**0.5 / 2)
