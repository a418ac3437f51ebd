"""The charge curve: an independent quadrature, limit cases, laws."""

import math
import random

import mpmath
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planner import battery
from planner.charge import session_hours_h
from planner.errors import OutOfRangeError

energies = st.floats(1, 250)
powers = st.floats(0.05, 22)
socs = st.floats(0, 1)


def hours(soc, energy, power):
    return battery.hours_from_empty_h(soc=soc, energy_usable_kwh=energy, power_battery_kw=power)


def test_curve_equals_a_quadrature_of_its_power():
    """mpmath integrates E dS / P(S), split at the taper start; 60 random cases within 0.01 min. Arithmetic, not model."""
    chance = random.Random(20261124)
    for _ in range(60):
        energy, power = chance.uniform(1, 250), chance.uniform(0.3, 22)
        start = battery.taper_start_soc(energy_usable_kwh=energy, power_battery_kw=power)
        low, high = sorted((chance.random(), chance.random()))

        def slowness(soc, energy=energy, power=power):
            at = battery.power_at_kw(soc=float(soc), energy_usable_kwh=energy, power_battery_kw=power)
            return energy / at

        points = [low, *([start] if low < start < high else []), high]
        independent_h = float(mpmath.quad(slowness, points))
        ours_h = hours(high, energy, power) - hours(low, energy, power)

        assert abs(ours_h - independent_h) * 60 <= 0.01


@given(energies, powers, socs, socs)
def test_time_rises_with_charge(energy, power, first, second):
    low, high = sorted((first, second))
    assume(high - low > 1e-9)

    assert hours(high, energy, power) > hours(low, energy, power)


@given(energies, powers, socs)
def test_inverse_returns_the_charge(energy, power, soc):
    back = battery.soc_from_empty(hours_h=hours(soc, energy, power), energy_usable_kwh=energy, power_battery_kw=power)

    assert back == pytest.approx(soc, abs=1e-7)


@given(energies, powers, st.floats(1, 3), socs)
def test_more_power_is_never_slower_at_a_fixed_battery(energy, power, factor, soc):
    assert hours(soc, energy, power * factor) <= hours(soc, energy, power) * (1 + 1e-12)


@given(energies, powers, socs, socs)
def test_power_never_rises_along_the_taper_and_never_falls_below_its_floor(energy, power, first, second):
    low, high = sorted((first, second))
    at_low = battery.power_at_kw(soc=low, energy_usable_kwh=energy, power_battery_kw=power)
    at_high = battery.power_at_kw(soc=high, energy_usable_kwh=energy, power_battery_kw=power)
    floor = battery.floor_power_kw(energy_usable_kwh=energy, power_battery_kw=power)

    assert floor * (1 - 1e-9) <= at_high <= at_low * (1 + 1e-12) <= power * (1 + 1e-11)


def test_a_small_source_into_a_huge_battery_has_no_tail():
    """0.8 kW into 200 kWh: 1 % an hour would be 2 kW, more than there is; the power stays, the time is finite."""
    assert hours(1.0, 200, 0.8) == pytest.approx(250)
    assert math.isinf(battery.taper_offset(energy_usable_kwh=200, power_battery_kw=0.8))


@settings(max_examples=60)
@given(energies, st.floats(1e-6, 1e-2))
def test_time_is_continuous_where_the_tail_vanishes(energy, excess):
    floor = max(0.01 * energy, 0.25)

    assert hours(1.0, energy, floor * (1 + excess)) == pytest.approx(hours(1.0, energy, floor), rel=2 * excess + 1e-9)


@given(energies, powers, socs, socs)
def test_wall_energy_is_at_least_what_is_stored_and_adds_up(energy, power, first, second):
    low, high = sorted((first, second))
    middle = (low + high) / 2
    loss = {"input_no_load_kw": 0.2, "input_linear": 1.05, "input_quadratic_per_kw": 0.002}

    def wall(a, b):
        return battery.wall_energy_kwh(
            soc_start=a, soc_target=b, energy_usable_kwh=energy, power_battery_kw=power, **loss
        )

    assert wall(low, high) >= energy * (high - low) * (1 - 1e-9) - 1e-12
    assert wall(low, middle) + wall(middle, high) == pytest.approx(wall(low, high), rel=1e-6, abs=1e-9)


def test_wall_energy_equals_a_quadrature_of_the_input():
    """The closed form of the tail's energy against mpmath: input over the session, in time steps of charge."""
    loss = (0.2, 1.05, 0.002)
    for energy, power in ((65, 8.6), (24, 5.9), (12, 3.1), (130, 17.3)):
        start = battery.taper_start_soc(energy_usable_kwh=energy, power_battery_kw=power)

        def rate(soc, energy=energy, power=power):
            at = battery.power_at_kw(soc=float(soc), energy_usable_kwh=energy, power_battery_kw=power)
            return (loss[0] + loss[1] * at + loss[2] * at * at) * energy / at

        independent = float(mpmath.quad(rate, [0.3, start, 0.995]))
        ours = battery.wall_energy_kwh(
            soc_start=0.3,
            soc_target=0.995,
            energy_usable_kwh=energy,
            power_battery_kw=power,
            input_no_load_kw=loss[0],
            input_linear=loss[1],
            input_quadratic_per_kw=loss[2],
        )

        assert ours == pytest.approx(independent, rel=1e-6)


@pytest.mark.parametrize(
    ("soc", "power"), [(-0.01, 5), (1.01, 5), (0.5, 0), (0.5, -1), (0.5, math.inf), (0.5, math.nan)]
)
def test_impossible_charge_or_power_is_refused(soc, power):
    with pytest.raises(OutOfRangeError):
        hours(soc, 60, power)


@pytest.mark.parametrize(("hours_h", "power"), [(-0.1, 5), (math.nan, 5), (1, 0), (1, math.nan)])
def test_impossible_time_or_power_is_refused(hours_h, power):
    with pytest.raises(OutOfRangeError):
        battery.soc_from_empty(hours_h=hours_h, energy_usable_kwh=60, power_battery_kw=power)


@pytest.mark.parametrize("ambient_c", [20.0, -10.0], ids=["mild", "cold air, warm pack"])
@pytest.mark.parametrize("tail_factor", [1.0, 0.5])
@pytest.mark.parametrize("soc_target", [0.5, 0.89, 0.9, 0.91, 0.95, 0.97, 1.0])
def test_a_session_follows_the_charge_curve_before_its_taper_and_into_it(soc_target, tail_factor, ambient_c):
    """The way that leaves the taper out is only for targets that no taper begins before."""
    curve = {"energy_usable_kwh": 20.0, "power_battery_kw": 19.0, "tail_factor": tail_factor}
    found = session_hours_h(
        soc_start=0.1,
        soc_target=soc_target,
        power_available_kw=19.0,
        cell_side_factor=1.0,
        energy_usable_kwh=20.0,
        tail_factor=tail_factor,
        heater_kw=0.0,
        ambient_c=ambient_c,
        pack_c=20.0,
    )
    assert found == pytest.approx(
        battery.hours_from_empty_h(soc=soc_target, **curve) - battery.hours_from_empty_h(soc=0.1, **curve), rel=1e-12
    )
