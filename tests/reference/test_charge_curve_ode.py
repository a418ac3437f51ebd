"""The charge curve against an ordinary differential equation solver (scipy, `reference` extra). Kind: arithmetic."""

import itertools
import os
import random

import pytest

from planner.battery import hours_from_empty_h, power_at_kw, taper_start_soc

if os.environ.get("REQUIRE_REFERENCE"):  # CI: a missing library is a failure there, not a skip
    import scipy.integrate as scipy_integrate
else:
    scipy_integrate = pytest.importorskip("scipy.integrate", reason="needs the `reference` extra")
pytestmark = pytest.mark.reference


def solved_minutes(energy_kwh, power_kw, soc_start, soc_target):
    """Integrate dS/dt = P(S) / E until the target, as time against charge: dt/dS = E / P(S)."""
    start = taper_start_soc(energy_usable_kwh=energy_kwh, power_battery_kw=power_kw)
    minutes = 0.0
    edges = sorted({soc_start, min(max(start, soc_start), soc_target), soc_target})
    for low, high in itertools.pairwise(edges):
        solution = scipy_integrate.solve_ivp(
            lambda soc, _: [
                60 * energy_kwh / power_at_kw(soc=soc, energy_usable_kwh=energy_kwh, power_battery_kw=power_kw)
            ],
            (low, high),
            [0.0],
            method="DOP853",
            rtol=1e-10,
            atol=1e-9,
        )
        minutes += float(solution.y[0, -1])
    return minutes


def test_closed_form_equals_the_solver_within_a_hundredth_of_a_minute():
    """200 random cases over 1 to 250 kWh and 0.3 to 22 kW, before any rounding."""
    chance = random.Random(1124)
    worst = 0.0
    for _ in range(200):
        energy_kwh, power_kw = chance.uniform(1, 250), chance.uniform(0.3, 22)
        low, high = sorted((chance.random(), chance.random()))
        curve = {"energy_usable_kwh": energy_kwh, "power_battery_kw": power_kw}
        ours = 60 * (hours_from_empty_h(soc=high, **curve) - hours_from_empty_h(soc=low, **curve))
        worst = max(worst, abs(ours - solved_minutes(energy_kwh, power_kw, low, high)))

    assert worst <= 0.01
