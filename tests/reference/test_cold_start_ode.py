"""The cold start against an ordinary differential equation solver (scipy, `reference` extra). Kind: arithmetic."""

import math
import os
import random

import pytest

from planner.battery import power_at_kw, taper_start_soc
from planner.charge import cold_start, session_hours_h
from planner.power import charger_output_kw

if os.environ.get("REQUIRE_REFERENCE"):  # CI: a missing library is a failure there, not a skip
    import scipy.integrate as scipy_integrate
else:
    scipy_integrate = pytest.importorskip("scipy.integrate", reason="needs the `reference` extra")
pytestmark = pytest.mark.reference

LONGEST_H = 2000.0  # a hundred time constants of the largest pack: what is not warm by then never is


def solved_hours(case):
    """Integrate pack temperature and energy stored side by side until the energy is there; written from the method page."""
    energy = case["energy_usable_kwh"]
    capacity = energy * 6.5 / 3600  # kWh/K: 6.5 kg per kWh, 1 kJ per kg and kelvin
    loss = 0.008 * (energy / 65) ** (2 / 3)
    air, left, cell = case["ambient_c"], case["power_available_kw"], case["cell_side_factor"]
    heater = min(case["heater_kw"], left)
    wanted = (case["soc_target"] - case["soc_start"]) * energy
    pack, stored, hours = case["pack_c"], 0.0, 0.0
    for limit, most in ((-10.0, 0.0), (0.0, 0.05 * energy), (5.0, math.inf)):
        if pack >= limit:
            continue
        power = min((left - heater) * cell, most)

        def slope(_, state, power=power):
            return [(0.9 * heater - loss * (state[0] - air)) / capacity, power]

        def warm(_, state, limit=limit):
            return state[0] - limit

        def full(_, state):
            return state[1] - wanted

        warm.terminal = full.terminal = True
        found = scipy_integrate.solve_ivp(
            slope, (0, LONGEST_H), [pack, stored], events=(warm, full), rtol=1e-10, atol=1e-12, method="DOP853"
        )
        hours += found.t[-1]
        pack, stored = found.y[0, -1], found.y[1, -1]
        if found.t_events[1].size:
            return hours
        if not found.t_events[0].size:
            return hours + (wanted - stored) / power if power > 0 else math.inf  # a crawl ends with the session
        pack = limit
    hold = min(loss * max(5.0 - air, 0.0) / 0.9, heater)
    power = (left - hold) * cell
    return hours + (wanted - stored) / power if power > 0 else math.inf


def cases(count):
    chance = random.Random(2211)
    while count:
        energy = chance.uniform(8, 200)
        left = chance.uniform(1, 18)
        heater = chance.uniform(0.5, 8)
        if count % 4 == 0:  # weak heaters in large packs, which crawl
            energy, left, heater = chance.uniform(80, 200), chance.uniform(0.05, 2), chance.uniform(0.02, 0.5)
        tail = chance.choice((0.5, 1.0))
        air = chance.uniform(-30, 4)
        start = chance.uniform(0, 0.6)
        most = taper_start_soc(energy_usable_kwh=energy, power_battery_kw=left, tail_factor=tail)
        # A third of the sessions are short enough to end inside the cold start.
        target = start + chance.choice((0.01, 0.05, 1.0)) * chance.random() * (most - start)
        count -= 1
        yield {
            "soc_start": start,
            "soc_target": target,
            "power_available_kw": left,
            "cell_side_factor": 0.985,
            "energy_usable_kwh": energy,
            "tail_factor": tail,
            "heater_kw": heater,
            "ambient_c": air,
            "pack_c": chance.uniform(air, 15),
        }


def test_closed_form_of_a_cold_start_equals_the_solver():
    """300 random cases, within 0.05 min before any rounding; sessions that never end are without end in both."""
    seen = {"inside": 0, "after": 0, "crawls": 0, "never": 0}
    for case in cases(300):
        ours, solved = session_hours_h(**case), solved_hours(case)
        start = record_of(case)
        gained = (case["soc_target"] - case["soc_start"]) * case["energy_usable_kwh"]
        kind = "inside" if gained < start.gained_kwh else "crawls" if start.crawls else "after"
        seen["never" if math.isinf(ours) else kind] += 1
        assert math.isinf(ours) == math.isinf(solved), case
        assert math.isinf(ours) or abs(60 * (ours - solved)) <= 0.05, case
    assert min(seen.values()) >= 5, seen


def record_of(case):
    return cold_start(**{name: case[name] for name in case if name not in {"soc_start", "soc_target", "tail_factor"}})


def test_a_band_walks_the_very_steps_that_the_typical_answer_records():
    """`session_hours_h` walks them without `cold_start`; both must stay one."""
    for case in cases(300):
        start, missing, hours = (
            record_of(case),
            (case["soc_target"] - case["soc_start"]) * case["energy_usable_kwh"],
            0.0,
        )
        for step in start.steps:
            full = step.power_battery_kw * step.hours_h
            if full >= missing:
                hours, missing = hours + missing / step.power_battery_kw, 0.0
                break
            hours, missing = hours + step.hours_h, missing - full
        if missing > 0:
            hours += missing / start.power_battery_kw if start.power_battery_kw > 0 else math.inf
        assert session_hours_h(**case) == pytest.approx(hours, rel=1e-9)


@pytest.mark.parametrize(("air_c", "minutes"), [(-20.0, 41.7), (-10.0, 18.5), (-5.0, 11.4), (0.0, 4.45)])
def test_minutes_that_a_cold_start_adds_meet_an_earlier_integration(air_c, minutes):
    """65 kWh on 9.408 kW AC, heater 3.5 kW: own earlier integration by an equation solver, 0.2 min, printed to 0.1."""
    output_kw = charger_output_kw(input_kw=9.408, loss_no_load_kw=0.10, loss_linear=0.025, loss_quadratic_per_kw=0.0016)
    found = cold_start(
        power_available_kw=output_kw - 0.25,
        cell_side_factor=0.985,
        energy_usable_kwh=65,
        heater_kw=3.5,
        ambient_c=air_c,
        pack_c=air_c,
    )
    warm_kw = (output_kw - 0.25) * 0.985

    assert 60 * (found.hours_h - found.gained_kwh / warm_kw) == pytest.approx(minutes, abs=0.25)


def solved_into_taper(case):
    """Like `solved_hours`, in small explicit steps of one second with the taper over every power."""
    energy, left, cell = case["energy_usable_kwh"], case["power_available_kw"], case["cell_side_factor"]
    capacity, loss = energy * 6.5 / 3600, 0.008 * (energy / 65) ** (2 / 3)
    air, heater = case["ambient_c"], min(case["heater_kw"], left)
    hold = min(loss * max(5.0 - air, 0.0) / 0.9, heater)
    steady = (left - hold) * cell
    pack, soc, seconds = case["pack_c"], case["soc_start"], 0
    while soc < case["soc_target"]:
        if pack < 5.0:
            power = (left - heater) * cell
            power = 0.0 if pack < -10.0 else min(power, 0.05 * energy) if pack < 0.0 else power
            pack += (0.9 * heater - loss * (pack - air)) / capacity / 3600
        else:
            power = steady
        power = min(power, power_at_kw(soc=min(soc, 1.0), energy_usable_kwh=energy, power_battery_kw=steady))
        soc += power / energy / 3600
        seconds += 1
        if seconds > 40 * 3600:
            return math.inf
    return seconds / 3600


@pytest.mark.parametrize("pack_c", [-15.0, -5.0, 0.0, 2.0, 5.0])
@pytest.mark.parametrize(("soc_start", "soc_target"), [(0.97, 0.995), (0.985, 0.995), (0.90, 0.99)])
def test_a_cold_start_in_the_taper_stores_the_smaller_of_both_powers(pack_c, soc_start, soc_target):
    case = {
        "soc_start": soc_start,
        "soc_target": soc_target,
        "power_available_kw": 9.0,
        "cell_side_factor": 0.985,
        "energy_usable_kwh": 60.0,
        "tail_factor": 1.0,
        "heater_kw": 2.0,
        "ambient_c": -15.0,
        "pack_c": pack_c,
    }

    assert 60 * session_hours_h(**case) == pytest.approx(60 * solved_into_taper(case), abs=0.15)
