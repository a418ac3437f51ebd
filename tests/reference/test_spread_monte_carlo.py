"""Percentiles of the fixed points against one million random draws (numpy, `reference` extra). Kind: arithmetic."""

import os

import pytest

from planner import samples
from planner.answer import Call, answer
from planner.journey import road_ratios
from planner.loading import load
from planner.spread import bands
from planner.trip import ToPercent

if os.environ.get("REQUIRE_REFERENCE"):  # CI: a missing library is a failure there, not a skip
    import numpy
    from scipy.stats import norm, qmc
else:
    numpy = pytest.importorskip("numpy", reason="needs the `reference` extra")
    stats = pytest.importorskip("scipy.stats", reason="needs the `reference` extra")
    norm, qmc = stats.norm, stats.qmc
pytestmark = pytest.mark.reference

DRAWS = 1_000_000


def even(chance, low, typical, high):
    """Draw values of which half lie evenly below the typical one and half above."""
    share = chance.random(DRAWS)
    return at(share, low, typical, high)


def at(share, low, typical, high):
    return numpy.where(share < 0.5, low + (typical - low) * 2 * share, typical + (high - typical) * (2 * share - 1))


def spread(chance, record):
    return even(chance, record.low, record.typical, record.high)


def drawn_minutes(chance, found):
    """The minutes of a mild charge that ends before any taper, written anew on whole arrays."""
    vehicle, rig, rate = found.vehicle, found.rig, found.rate
    charger = vehicle.onboard_charger
    of_charger, of_losses = chance.random(DRAWS), chance.random(DRAWS)

    def of(record, share):
        return at(share, record.low, record.typical, record.high)

    current = numpy.minimum(
        found.setting.output_a * (1 - spread(chance, vehicle.charging.pilot_margin)), of(charger.current_a, of_charger)
    )
    loop = (rig.source.voltage_v.typical - rate.voltage_inlet_v) / rate.current_a
    volts = spread(chance, rig.source.voltage_v)
    inlet = numpy.minimum(
        (volts - current * loop) * current * charger.power_factor / 1000, of(charger.power_kw, of_charger)
    )
    own = vehicle.charging.auxiliaries_kw

    def scale(efficiency):
        output = efficiency * vehicle.label_input_kw() / vehicle.charging.cell_side_factor + own.typical
        loss = charger.loss_linear * output + charger.loss_quadratic_per_kw * output**2
        return max((vehicle.label_input_kw() - output - charger.loss_no_load_kw) / loss, 0.2 * vehicle.loss_scale)

    label = vehicle.label.efficiency
    factor = at(of_losses, scale(label + 0.02), scale(label), scale(label - 0.02))
    slope, curve = 1 + charger.loss_linear * factor, charger.loss_quadratic_per_kw * factor
    above = inlet - charger.loss_no_load_kw
    output = (-slope + numpy.sqrt(slope**2 + 4 * curve * above)) / (2 * curve)
    stored = (output - of(own, of_losses)) * vehicle.charging.cell_side_factor
    energy = spread(chance, vehicle.battery.energy_usable_kwh) * spread(chance, vehicle.battery.health)
    start = even(chance, found.start.low_percent, found.start.percent, found.start.high_percent)
    return 60 * energy * (found.planned_percent - start) / 100 / stored


@pytest.mark.parametrize(
    ("rig", "vehicle"),
    [("pass-truck", "midsize-suv"), ("trailhead-van", "compact-crossover"), ("ski-hill-battery", "compact-hatch")],
)
def test_percentiles_of_the_minutes_meet_a_million_draws(rig, vehicle):
    """Cabin known to be off and a mild day, so that every other input is in play; within 1 %."""
    dataset = load()
    call = Call(rig, vehicle, 20, ToPercent(40), ambient_c=20.0, cabin_on=False)
    found = answer(dataset, call)
    band = bands(dataset, call, found).charging
    drawn = numpy.percentile(drawn_minutes(numpy.random.default_rng(20261125), found), [10, 50, 90])

    for ours, theirs in zip((band.p10, band.p50, band.p90), drawn, strict=True):
        assert ours == pytest.approx(theirs, rel=0.01)


@pytest.mark.parametrize("vehicle", ["midsize-suv", "plug-in-hybrid-car", "electric-motorcycle"])
@pytest.mark.parametrize("cabin_share", [0, 40])
@pytest.mark.parametrize("by_percent", [True, False])
def test_nine_of_ten_of_the_road_meet_a_million_draws(vehicle, cabin_share, by_percent):
    record = load().vehicle_class(vehicle)
    chance = numpy.random.default_rng(11)
    label, battery = record.label.consumption_wall_kwh_per_100mi, record.battery
    size = chance.standard_normal(DRAWS)
    consumption = norm.cdf(0.6 * size + 0.8 * chance.standard_normal(DRAWS))
    weather = chance.random(DRAWS)
    drive = numpy.exp(0.12 * chance.standard_normal(DRAWS)) * (1 + 0.02 * (1 - 2 * weather))
    drive *= at(consumption, label.low, label.typical, label.high) / label.typical
    cabin = even(chance, 0.75, 1.0, 1.3) * (1 + 0.3 * (1 - 2 * weather))
    whole = (1 - cabin_share / 100) * drive + cabin_share / 100 * cabin
    if by_percent:
        new = battery.energy_usable_kwh
        whole /= at(norm.cdf(size), new.low, new.typical, new.high) / new.typical
        whole /= spread(chance, battery.health) / battery.health.typical
    ours = samples.order_statistic(sorted(road_ratios(record, cabin_share, by_percent=by_percent)), 0.9)

    assert ours == pytest.approx(float(numpy.percentile(whole, 90)), rel=0.01)


def test_the_points_are_those_of_a_statistics_library():
    """The first 1,024 points of its unscrambled sequence (direction numbers of Joe and Kuo), in its order."""
    count = len(samples.INPUTS)
    theirs = qmc.Sobol(d=count, scramble=False).random(samples.COUNT)
    for dimension, name in enumerate(samples.INPUTS):
        ours = numpy.array(samples.column(name)) - 0.5 / samples.COUNT
        assert numpy.array_equal(numpy.sort(ours), numpy.sort(numpy.floor(theirs[:, dimension] * 1024) / 1024))
        assert numpy.allclose(ours, theirs[:, dimension], atol=1e-12), name
