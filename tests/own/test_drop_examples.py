"""Drops worked by hand from chapter 9 Table 8: the arithmetic of units and of out and back, our own derivation."""

import pytest

from planner.circuit import resistance_at_ohm_per_km, voltage_drop_one_phase_v


@pytest.mark.parametrize(
    ("current_a", "size", "volts"),
    [
        (40, "6", 3.928),  # 2 x 40 x 0.491 x 100 / 1000
        (32, "8", 4.979),  # 2 x 32 x 0.778 x 100 / 1000
        (24, "10", 5.952),  # 2 x 24 x 1.24 x 100 / 1000
        (32, "6", 3.142),  # 2 x 32 x 0.491 x 100 / 1000
    ],
)
def test_drop_over_100_ft_from_the_table(dataset, current_a, size, volts):
    per_kft = dataset.tables["nec-chapter-9-table-8"].value(size, "copper_stranded_ohm_per_kft")

    drop_v = voltage_drop_one_phase_v(current_a=current_a, resistance_ohm_per_km=per_kft / 0.3048, length_m=30.48)
    assert drop_v == pytest.approx(volts, abs=5e-4)


@pytest.mark.parametrize(("temperature_c", "per_kft"), [(20, 0.40377), (75, 0.491), (90, 0.51479)])
def test_resistance_of_6_awg_by_note_2(temperature_c, per_kft):
    """0.491 (1 + 0.00323 (T - 75))."""
    ours = resistance_at_ohm_per_km(
        resistance_75c_ohm_per_km=0.491, temperature_c=temperature_c, temperature_coefficient_per_c=0.00323
    )

    assert ours == pytest.approx(per_kft, abs=5e-6)


@pytest.mark.parametrize(
    ("energy_kwh", "power_kw", "low", "high", "minutes"),
    [(60, 6, 0.2, 0.8, 360), (60, 6, 0.0, 0.5, 300), (24, 3, 0.1, 0.9, 384)],
)
def test_minutes_below_the_taper_are_energy_over_power(energy_kwh, power_kw, low, high, minutes):
    """By hand: share x kWh / kW x 60."""
    from planner.battery import hours_from_empty_h

    curve = {"energy_usable_kwh": energy_kwh, "power_battery_kw": power_kw}
    ours = 60 * (hours_from_empty_h(soc=high, **curve) - hours_from_empty_h(soc=low, **curve))

    assert ours == pytest.approx(minutes)


@pytest.mark.parametrize(
    ("soc_from", "soc_to", "minutes"),
    [(0.2, 0.8, 272.88), (0.8, 1.0, 103.86), (0.1, 0.95, 386.58)],
)
def test_a_curve_integrated_elsewhere(soc_from, soc_to, minutes):
    """65 kWh at 8.575 kW: figures of an independent integration of the same law (a second implementation, not a source)."""
    from planner.battery import hours_from_empty_h

    curve = {"energy_usable_kwh": 65, "power_battery_kw": 8.575}
    ours = 60 * (hours_from_empty_h(soc=soc_to, **curve) - hours_from_empty_h(soc=soc_from, **curve))

    assert ours == pytest.approx(minutes, abs=0.02)
