"""What the pages look up: the planner's own numbers, in the shape of a look-up."""

from itertools import accumulate

import make
import pytest

from planner import tables
from planner.answer import Call, answer
from planner.planning import plan
from planner.trip import Miles, ToPercent
from planner.units import FT_PER_M, celsius_from_fahrenheit


def test_a_pair_is_the_plan_of_a_small_top_up_and_of_the_usual_needs(dataset):
    pair = tables.pair(dataset, "pass-truck", "midsize-suv")

    alone = plan(dataset, Call("pass-truck", "midsize-suv", 10, Miles(25)))
    assert pair.plan.verdict == "serve"
    assert [need.miles for need in pair.needs] == [10, 25, 50]
    assert pair.needs[1].minutes_on_site == alone.minutes_on_site.typical
    assert pair.held_back_by.link == "source_power"


def test_a_refused_pair_has_no_minutes(dataset):
    pair = tables.pair(dataset, "fairground-spare", "midsize-suv")

    assert pair.plan.verdict == "cannot_serve"
    assert pair.needs == ()
    assert pair.held_back_by is None


def test_a_need_beyond_the_battery_has_no_minutes_though_the_pair_serves(dataset):
    pair = tables.pair(dataset, "pass-truck", "micro-two-seater")

    assert pair.plan.verdict == "serve"
    assert [need.minutes_on_site is None for need in pair.needs] == [False, False, True]


@pytest.mark.parametrize("rig_id", ["pass-truck", "trailhead-van", "ski-hill-battery"])
def test_a_rig_alone_never_shows_more_than_with_a_vehicle(dataset, rig_id):
    """The power factor of a vehicle can only raise the amps that the same watts give."""
    view = tables.rig_view(dataset, rig_id)
    for class_id in dataset.vehicle_classes:
        setting = plan(dataset, Call(rig_id, class_id, 10, ToPercent(20))).setting
        if setting is not None and not dataset.rigs[rig_id].adapters:
            assert view.setting.output_a <= setting.output_a


def test_a_rig_that_is_not_fit_has_findings_and_no_setting(dataset):
    view = tables.rig_view(dataset, "fairground-spare")

    assert view.setting is None
    assert [finding.code for finding in view.findings] == ["not_protected"]
    assert [link.name for link in view.chain if not link.protected] == ["Extension cord"]
    assert not any(link.sets_current for link in view.chain)


def test_exactly_one_rung_of_a_fit_rig_holds_back():
    rig = make.rig()
    view = tables.rig_view(make.dataset(rig), rig.id)

    assert sum(link.sets_current for link in view.chain) == 1
    assert min(link.limit_a for link in view.chain) == next(link.limit_a for link in view.chain if link.sets_current)


def test_sums_of_the_looked_up_steps_are_the_integers_of_the_answer(dataset):
    lookup = tables.class_lookup(dataset, "midsize-suv")
    rig = lookup["rigs"]["pass-truck"]
    for fuel in ("gasoline",):
        for height, row in zip(lookup["altitude_steps_ft"], rig["grid"][fuel], strict=True):
            for air, index in zip(lookup["ambient_steps_f"], row, strict=True):
                call = Call(
                    "pass-truck",
                    "midsize-suv",
                    10,
                    ToPercent(80),
                    ambient_c=celsius_from_fahrenheit(air),
                    altitude_m=height / FT_PER_M,
                )
                found, outcome = answer(dataset, call), rig["outcomes"][index]
                rate = lookup["rates"][outcome["rate"]]
                assert outcome["mark"] == found.setting.mark
                assert tuple(accumulate(rate["seconds"])) == found.table.seconds
                assert tuple(accumulate(lookup["battery_wh"])) == found.table.battery_wh


def test_a_lookup_says_why_nothing_serves(dataset):
    lookup = tables.class_lookup(dataset, "imported-compact-hatch")

    assert {code for rig in lookup["rigs"].values() for outcome in rig["outcomes"] for code in outcome} == {"refused"}
    assert lookup["rates"] == []
