"""AC power and the onboard charger: limit cases and laws."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner import power
from planner.errors import OutOfRangeError

LOSS = {"loss_no_load_kw": 0.13, "loss_linear": 0.025, "loss_quadratic_per_kw": 0.0016}


@given(st.floats(0, 22))
def test_charger_output_is_the_inverse_of_its_input(output_kw):
    input_kw = power.charger_input_kw(output_kw=output_kw, **LOSS)

    assert power.charger_output_kw(input_kw=input_kw, **LOSS) == pytest.approx(output_kw, abs=1e-9)


@given(st.floats(0, 22))
def test_charger_never_gives_more_than_it_takes(input_kw):
    assert 0 <= power.charger_output_kw(input_kw=input_kw, **LOSS) <= input_kw


def test_a_charger_without_losses_passes_everything():
    no_loss = {"loss_no_load_kw": 0.0, "loss_linear": 0.0, "loss_quadratic_per_kw": 0.0}

    assert power.charger_output_kw(input_kw=7.2, **no_loss) == 7.2


@given(st.floats(0.1, 19), st.floats(100, 277), st.floats(0, 0.3))
def test_constant_power_reaches_the_load(power_kw, voltage_v, loop_ohm):
    try:
        current_a = power.constant_power_current_a(
            power_kw=power_kw, voltage_v=voltage_v, loop_resistance_ohm=loop_ohm, power_factor=1
        )
    except OutOfRangeError:
        assert 4 * loop_ohm * power_kw * 1000 > voltage_v**2
        return
    assert (voltage_v - current_a * loop_ohm) * current_a == pytest.approx(1000 * power_kw)


def test_phases_other_than_one_and_three_are_refused():
    with pytest.raises(OutOfRangeError, match="phases is 2 phases"):
        power.ac_power_kw(voltage_v=240, current_a=10, phases=2, power_factor=1)


@given(st.floats(2, 19), st.floats(0.8, 0.93), st.floats(0.05, 0.1))
def test_the_anchor_reproduces_the_label_efficiency(input_kw, efficiency, auxiliaries_kw):
    scale = power.charger_loss_scale(
        label_input_kw=input_kw,
        label_efficiency=efficiency,
        auxiliaries_kw=auxiliaries_kw,
        cell_side_factor=0.985,
        **LOSS,
    )
    if scale <= 0:
        return
    scaled = {name: value * (1 if name == "loss_no_load_kw" else scale) for name, value in LOSS.items()}
    output_kw = power.charger_output_kw(input_kw=input_kw, **scaled)
    stored_kw = power.battery_power_kw(output_kw=output_kw, auxiliaries_kw=auxiliaries_kw, cell_side_factor=0.985)

    assert stored_kw / input_kw == pytest.approx(efficiency)
