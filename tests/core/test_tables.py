"""What the pages look up: the planner's own numbers, in the shape of a look-up."""

import make
import pytest

from planner import tables
from planner.answer import Call
from planner.planning import plan
from planner.trip import Miles, ToPercent
from planner.units import FT_PER_M


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


@pytest.mark.parametrize("power_factor", [0.9, 0.97, 1.0])
def test_a_rig_alone_never_shows_more_than_with_a_vehicle(power_factor):
    """A lower power factor can only raise the amps that the same watts give; the rig is judged by the highest there is."""
    rig = make.rig(source=make.generator(8000))
    vehicle = make.vehicle(
        onboard_charger={**make.vehicle().onboard_charger.model_dump(), "power_factor": power_factor}
    )
    dataset = make.dataset(rig, vehicle)
    view = tables.rig_view(dataset, rig.id)
    found = plan(dataset, Call(rig.id, vehicle.id, 10, ToPercent(20)))

    alone, together = view.chain[0].limit_a, found.chain[0].limit_a
    highest = max(other.onboard_charger.power_factor for other in dataset.vehicle_classes.values())
    assert highest >= power_factor
    assert alone == pytest.approx(together * power_factor / highest)
    assert view.setting.output_a <= found.setting.output_a


def test_the_likely_miles_of_a_whole_battery_follow_from_energy_and_consumption(dataset):
    """85 kWh at 36 kWh of wall energy for 100 mi, 0.88 of which is stored: 85 / 31.68 x 100 = 268.3."""
    assert tables.full_miles_mi(dataset, "midsize-suv") == 268


def test_a_stay_reaches_each_percent_when_a_plan_says(dataset):
    run = tables.stay(dataset, "pass-truck", "midsize-suv")
    at = dict(run.percents)
    for percent in (11, 40, 80, 98):
        found = plan(dataset, Call("pass-truck", "midsize-suv", 10, ToPercent(percent)))
        assert found.minutes_charging.typical - 1 < at[percent] <= found.minutes_charging.typical
    assert at[10] == 0
    for miles, minutes in run.miles[1:8]:
        found = plan(dataset, Call("pass-truck", "midsize-suv", 10, Miles(miles)))
        assert found.minutes_charging.typical - 1 < minutes <= found.minutes_charging.typical


def test_a_stay_has_constant_power_and_then_less(dataset):
    powers = [power for _, power in tables.stay(dataset, "pass-truck", "midsize-suv").powers_kw]
    steady = plan(dataset, Call("pass-truck", "midsize-suv", 10, ToPercent(20))).power_battery_kw

    assert powers[0] == pytest.approx(steady)
    assert powers == sorted(powers, reverse=True)
    assert tables.stay(dataset, "fairground-spare", "midsize-suv") is None


def test_tank_and_cans_last_as_long_as_their_fuel_line_says():
    """50 L at 2 L/h and 0.4 L/kWh under 10 kW: 6 L an hour, 8 h 20 min."""
    source = make.generator(12_500)
    fuel = {**source["fuels"]["gasoline"], "tank_l": 40, "spare_l": 10}
    fuel |= {"burn_no_load_l_per_h": 2.0, "burn_slope_l_per_kwh": 0.4}
    rig = make.rig(source={**source, "fuels": {"gasoline": fuel}}, usual_site={"altitude_m": 0, "ambient_c": 15})
    view = tables.rig_view(make.dataset(rig), rig.id)

    assert view.state.power_allowed_w == pytest.approx(10_000)
    assert view.minutes_on_board == {"gasoline": 500}


def test_what_a_battery_rig_can_give_stops_at_its_floor_and_pays_the_inverter(dataset):
    source = dataset.rigs["ski-hill-battery"].source
    view = tables.rig_view(dataset, "ski-hill-battery")

    # At its usual -5 C: a third of the way from 0 C (0.9 of its energy) to -15 C (0.75).
    assert view.ambient_c == -5
    assert view.energy_to_give_kwh == pytest.approx(38 * (0.9 - 0.15 / 3) * 0.9 * 0.92)
    assert (source.energy_usable_kwh, source.soc_floor, source.efficiency) == (38, 0.1, 0.92)
    assert tables.rig_view(dataset, "pass-truck").energy_to_give_kwh is None


def test_the_marks_by_height_are_those_of_plans_there(dataset):
    """Band by band, and never rising: thinner air gives no more."""
    view = tables.rig_view(dataset, "pass-truck")
    bands = view.by_height["gasoline"]
    amps = [band.output_a or 0 for band in bands]

    assert amps == sorted(amps, reverse=True)
    assert len(bands) > 1
    assert (bands[0].from_ft, bands[-1].to_ft) == (0, 10_000)
    for band in bands:
        for height_ft in (band.from_ft, band.to_ft):
            call = Call("pass-truck", "midsize-suv", 10, ToPercent(20), altitude_m=height_ft / FT_PER_M)
            assert band.output_a <= plan(dataset, call).setting.output_a


@pytest.mark.parametrize("rig_id", ["pass-truck", "trailhead-van", "ski-hill-battery"])
def test_a_height_without_a_mark_promises_and_denies_nothing_that_a_plan_does_not(dataset, rig_id):
    """Where no mark suits every vehicle, a fixed unit may still serve what draws little; where none does, nothing."""
    for fuel, bands in tables.rig_view(dataset, rig_id).by_height.items():
        for band in bands:
            for height_ft in {band.from_ft, band.to_ft}:
                verdicts = set()
                for class_id in dataset.vehicle_classes:
                    call = Call(
                        rig_id,
                        class_id,
                        10,
                        ToPercent(20),
                        altitude_m=height_ft / FT_PER_M,
                        fuel=None if fuel == "battery" else fuel,
                    )
                    found = plan(dataset, call)
                    verdicts.add(found.verdict)
                    if band.refused == "setting_too_high" and found.verdict != "cannot_serve":
                        assert "this_class_only" in {reason.code for reason in found.reasons}
                if band.mark is None and band.refused != "setting_too_high":
                    assert verdicts == {"cannot_serve"}


def test_above_its_height_the_fixed_van_still_serves_small_chargers(dataset):
    bands = tables.rig_view(dataset, "trailhead-van").by_height["gasoline"]

    assert bands[-1].refused == "setting_too_high"
    call = Call("trailhead-van", "plug-in-hybrid-car", 10, ToPercent(20), altitude_m=bands[-1].from_ft / FT_PER_M)
    assert plan(dataset, call).verdict == "serve_with_changes"


def fixed(output_a):
    evse = make.evse(output_a, set_by="fixed", setting_now=f"{output_a}")
    return {**evse, "settings": [{"mark": f"{output_a}", "marked_as": "output_amps", "output_a": output_a}]}


def test_a_rig_is_fit_as_it_stands_once_it_is_set_by_class_or_not_at_all(dataset):
    """Four words, and every page uses the same one."""
    plain = make.rig()
    small = make.rig(source=make.generator(8000), evse=fixed(48))
    floating = make.rig(source=make.source(neutral="floating"))

    assert tables.rig_view(make.dataset(plain), plain.id).fitness == "fit"
    assert tables.rig_view(dataset, "ski-hill-battery").fitness == "set_first"
    assert tables.rig_view(make.dataset(small), small.id).fitness == "by_class"
    assert tables.rig_view(make.dataset(floating), floating.id).fitness == "not_fit"
    assert tables.rig_view(make.dataset(floating), floating.id).by_height == {}


def test_the_places_of_a_port_are_told_likeliest_first_with_their_shares():
    places = ({"at": "left_rear_fender", "share": 0.3}, {"at": "nose", "share": 0.7})
    vehicle = make.vehicle(ports=({"inlet": "j1772", "places": places, "detail": "under a lid"},))

    words = "front nose (7 in 10) or left rear fender (3 in 10), under a lid"
    assert tables.places_by_inlet(vehicle) == {"j1772": words}


def test_a_rig_that_is_not_fit_has_findings_and_no_setting(dataset):
    view = tables.rig_view(dataset, "fairground-spare")

    assert view.setting is None
    assert [finding.code for finding in view.findings if finding.level == "stop"] == ["not_protected"]
    assert [link.name for link in view.chain if not link.protected] == ["Extension cord"]
    assert not any(link.sets_current for link in view.chain)


def test_exactly_one_rung_of_a_fit_rig_holds_back():
    rig = make.rig()
    view = tables.rig_view(make.dataset(rig), rig.id)

    assert sum(link.sets_current for link in view.chain) == 1
    assert min(link.limit_a for link in view.chain) == next(link.limit_a for link in view.chain if link.sets_current)
