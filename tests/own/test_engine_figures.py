"""Engine figures that this project derived from published constants: never shown as outside checks."""

import pytest

from planner import genset
from planner.air import standard_pressure_kpa

LITRES_PER_GALLON = 3.785411784


@pytest.mark.parametrize(
    ("altitude_ft", "ambient_c", "gasoline", "gaseous", "diesel"),
    [
        (0, 25, 1, 1, 1),
        (1000, 25, 0.9732, 0.9769, 0.9732),
        (3000, 25, 0.8920, 0.9065, 0.8920),
        (5000, 25, 0.8156, 0.8396, 0.8156),
        (5000, 40, 0.7916, 0.8125, 0.7798),
        (7000, 30, 0.7361, 0.7672, 0.7323),
        (10000, 25, 0.6438, 0.6862, 0.6438),
    ],
)
def test_iso_rows_reckoned_by_hand(altitude_ft, ambient_c, gasoline, gaseous, diesel):
    """Rows reckoned from the printed constants with a plain barometric formula; within 0.0015, as it leaves out that
    gravity falls with height."""
    pressure_kpa = standard_pressure_kpa(altitude_m=altitude_ft * 0.3048)
    kinds = {"spark_gasoline": gasoline, "spark_gaseous": gaseous, "compression_natural": diesel}
    for kind, by_hand in kinds.items():
        m, n = genset.ISO_3046_EXPONENTS[kind]
        ours = genset.iso_3046_factor(
            pressure_kpa=pressure_kpa, ambient_c=ambient_c, pressure_exponent=m, temperature_exponent=n
        )
        assert ours == pytest.approx(by_hand, abs=0.0015), kind


@pytest.mark.parametrize(
    ("fuel", "power_kw", "gallons_per_h", "efficiency"),
    [
        ("gasoline", 0.5, 0.137, 0.107),  # measured fuel line of a 1.2 kW set
        ("gasoline", 1.0, 0.201, 0.146),
        ("gasoline", 2.5, 0.65, 0.113),  # 5 kW set at half load, a contractor's page
        ("gasoline", 3.5, 5 / 8, 0.165),  # 7 kW set at half load, 5 gal in 8 h
        ("diesel", 5, 0.6, 0.22),  # 20 kW diesel chart, a quarter to full load
        ("diesel", 10, 0.9, 0.30),
        ("diesel", 15, 1.3, 0.31),
        ("diesel", 20, 1.6, 0.33),
    ],
)
def test_efficiency_of_published_points_reckoned_by_hand(fuel, power_kw, gallons_per_h, efficiency):
    """Burns are printed, efficiencies were reckoned by hand from them to the digits given; one in the last digit."""
    kwh_per_l = power_kw / (gallons_per_h * LITRES_PER_GALLON)
    ours = genset.engine_efficiency(kwh_per_l=kwh_per_l, fuel_lhv_kwh_per_l=genset.ENERGY_LHV_KWH_PER_L[fuel])

    assert ours == pytest.approx(efficiency, abs=0.006 if fuel == "diesel" else 0.0011)


def test_heat_of_a_gallon_reckoned_by_hand():
    by_hand = {"gasoline": 34.02, "diesel": 37.65, "propane": 24.69}
    for fuel, kwh_per_gallon in by_hand.items():
        assert genset.ENERGY_LHV_KWH_PER_L[fuel] * LITRES_PER_GALLON == pytest.approx(kwh_per_gallon, abs=0.006)


def test_heat_of_a_litre_reckoned_by_hand():
    by_hand = {"gasoline": 32.36, "diesel": 35.80, "propane": 23.48}
    for fuel, megajoules in by_hand.items():
        assert 3.6 * genset.ENERGY_LHV_KWH_PER_L[fuel] == pytest.approx(megajoules, abs=0.006)
