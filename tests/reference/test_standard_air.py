"""Pressure of the standard atmosphere against a library of it (ambiance, `reference` extra). Kind: arithmetic."""

import os

import pytest

from planner.air import standard_pressure_kpa
from planner.roadload import air_density_kg_per_m3

if os.environ.get("REQUIRE_REFERENCE"):  # CI: a missing library is a failure there, not a skip
    import ambiance
else:
    ambiance = pytest.importorskip("ambiance", reason="needs the `reference` extra")
pytestmark = pytest.mark.reference

HEIGHTS_M = [*range(-4900, 11000, 300), -500, 0, 304.8, 1524, 1609.344, 3048, 6000]


@pytest.mark.parametrize("altitude_m", HEIGHTS_M)
def test_pressure_of_the_standard_atmosphere(altitude_m):
    """Within a millionth: the exponent is written to six digits here."""
    theirs = float(ambiance.Atmosphere(altitude_m).pressure[0])

    assert 1000 * standard_pressure_kpa(altitude_m=altitude_m) == pytest.approx(theirs, rel=3e-6)


@pytest.mark.parametrize("altitude_m", [0, 1524, 3048, 6000])
def test_density_on_a_standard_day(altitude_m):
    theirs = ambiance.Atmosphere(altitude_m)
    ours = air_density_kg_per_m3(altitude_m=altitude_m, ambient_c=float(theirs.temperature[0]) - 273.15)

    assert ours == pytest.approx(float(theirs.density[0]), rel=1e-5)
