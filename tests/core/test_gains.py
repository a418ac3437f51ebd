"""What would raise a rig: never more than `plan` on the changed rig, only allowed kinds, and what gains nothing says so."""

from dataclasses import replace

import pytest
from make import battery, breaker, cord, dataset, evse, generator, receptacle, rig, shipped_dataset, source, wire

from planner.gains import gains, typical_class, with_changes
from planner.planning import plan
from planner.records import Rig
from planner.tables import rig_view


def of(made, **site):
    return gains(dataset(made), made.id, **site)


def by_code(found):
    return {item.code: item for item in found.items}


def engine(running_power_w, **changes):
    return generator(running_power_w, voltage_v={"low": 240.0, "typical": 240.0, "high": 240.0}, **changes)


def test_each_gain_is_what_plan_gives_on_the_changed_rig():
    data = shipped_dataset()
    checked = 0
    for rig_id in data.rigs:
        found = gains(data, rig_id)
        for item in found.items:
            changed = replace(
                data,
                rigs={**data.rigs, rig_id: item.rig},
                adapters={**data.adapters, **{x.id: x for x in item.adapters}},
            )
            then = plan(changed, item.call)
            setting_a = then.setting.output_a if then.setting else None
            assert item.setting_a == setting_a
            assert item.miles_added_per_hour == then.miles_added_per_hour
            assert item.fit == (not any(x.level == "stop" for x in then.findings))
            now_a = found.now.setting.output_a if found.now.setting else 0
            assert item.gain_a == (setting_a or 0) - now_a
            checked += 1
    assert checked > 20


def test_every_changed_rig_is_a_record_that_could_stand_in_a_file():
    """The change itself keeps all rules between the fields of a rig."""
    for rig_id, made in shipped_dataset().rigs.items():
        for item in gains(shipped_dataset(), rig_id).items:
            again = Rig.model_validate_json(item.rig.model_dump_json())
            assert again.id == made.id


def test_a_finer_unit_gives_what_the_engine_leaves():
    """11.4 kW x 0.8 / 240 V is 38 A: marks of 32 and 40 A give 32, a unit in steps of 4 A gives 36."""
    found = of(rig(source=engine(11400.0), supply=[breaker(60)], evse=evse(16, 32, 40)))
    item = by_code(found)["unit_set_on_site"]

    assert found.now.setting.output_a == 32
    assert (item.setting_a, item.gain_a, item.next_held_by) == (36, 4, "Engine")
    assert item.minutes_saved > 0
    assert item.gain_miles_per_hour > 0


def test_a_proving_run_lifts_the_loading_and_no_more_than_the_watts_left():
    """10 kW: 0.8 is 33.3 A; proved whole it is 41.7 A, on a unit that can draw that much."""
    made = rig(source=engine(10000.0), supply=[breaker(60)], evse=evse(32, 40, 48))
    item = by_code(of(made))["long_run"]

    assert (item.setting_a, item.gain_a) == (40, 8)
    assert item.rig.commissioning[-1].power_metered_kw == pytest.approx(10.0)
    low_unit = rig(source=engine(10000.0), supply=[breaker(60)], evse=evse(16, 24))
    assert by_code(of(low_unit))["long_run"].gains_nothing


def test_another_fuel_on_board_is_a_change_of_the_call_not_of_the_rig():
    fuels = {
        "gasoline": source()["fuels"]["gasoline"] | {"running_power_w": 12000.0},
        "propane": source()["fuels"]["gasoline"] | {"running_power_w": 9600.0},
    }
    made = rig(source=engine(1.0, fuels=fuels, default_fuel="propane"), supply=[breaker(60)], evse=evse(32, 40))
    item = by_code(of(made))["other_fuel"]

    assert (item.gain_a, item.call.fuel) == (8, "gasoline")
    assert item.rig is made or item.rig == made


def test_an_unprotected_cord_is_mended_by_a_larger_one_or_a_smaller_device():
    """8 AWG cord, 40 A, behind 50 A: 6 AWG (55 A) is protected; so is the cord behind a 40 A device of our own."""
    made = rig(supply=[breaker(50), cord("8", grounding_awg="8", wet_rated=True)], evse=evse(16, 24, 32, 40))
    found = of(made)
    items = by_code(found)

    assert found.now.verdict == "cannot_serve"
    larger, smaller = items["conductor_that_is_protected"], items["smaller_device"]
    assert "6 AWG" in larger.change
    assert (larger.makes_fit, larger.setting_a) == (True, 40)
    assert (smaller.makes_fit, smaller.setting_a) == (True, 32)
    assert {part.rating_a for part in smaller.rig.supply if part.part == "breaker"} == {50, 40}
    assert not larger.gains_nothing


def test_what_does_not_mend_the_stop_is_told_to_leave_it_unfit():
    made = rig(source=source(neutral="floating"), supply=[breaker(50), wire("8", grounding_awg="10")])
    items = by_code(of(made))

    assert items["bond_at_source"].makes_fit
    assert "licensed" in items["bond_at_source"].confirm
    assert not items["larger_conductor"].fit
    assert not items["larger_conductor"].gains_nothing or items["larger_conductor"].setting_a is None


def test_a_change_that_gains_nothing_says_so_and_names_what_holds_back():
    made = rig(source=engine(11000.0), supply=[breaker(60), wire("6", grounding_awg="10")], evse=evse(32, 40))
    item = by_code(of(made))["larger_conductor"]

    assert item.gains_nothing
    assert item.next_held_by == "Engine"


@pytest.mark.parametrize("built_in", [True, None])
def test_a_built_in_part_or_one_not_known_to_be_ours_is_left_alone(built_in):
    made = rig(
        supply=[
            breaker(50, built_in=built_in),
            receptacle(built_in=built_in, grade="industrial"),
        ],
        evse=evse(32, 40, 48, connected_by="listed_cord_and_plug", plug="nema-14-50"),
    )
    found = of(made)

    assert found.held_back_by == "Main breaker"
    assert not {"larger_device", "larger_receptacle", "hard_wired", "smaller_device"} & set(by_code(found))
    assert any("Main breaker" in sentence for sentence in found.left_alone)
    for item in found.items:
        assert item.rig.supply[:2] == made.supply[:2]


def test_our_own_device_may_grow_only_as_far_as_what_stands_behind_it():
    """40 A over 6 AWG wire (65 A): 45 A and up to 70 A next size; over 8 AWG cord (40 A) no device may grow."""
    grows = of(rig(supply=[breaker(40, built_in=False), wire("6", grounding_awg="6")], evse=evse(32, 36, 40)))
    assert by_code(grows)["larger_device"].gain_a == 4
    bare = of(rig(supply=[breaker(40, built_in=False), cord("8", grounding_awg="8")], evse=evse(32, 40)))
    assert "larger_device" not in by_code(bare)


def test_hard_wiring_lifts_a_receptacle_of_our_own():
    """A 50 A receptacle serves 40 A; a 60 A circuit without one 48 A (common practice)."""
    unit = evse(32, 40, 48, connected_by="listed_cord_and_plug", plug="nema-14-60")
    made = rig(supply=[breaker(60, built_in=False), receptacle("nema-14-60", built_in=False, gfci="none")], evse=unit)
    assert by_code(of(made))["hard_wired"].gain_a == 0

    unit = evse(32, 40, 48, connected_by="listed_cord_and_plug", plug="nema-14-50")
    made = rig(supply=[breaker(50, built_in=False), receptacle(built_in=False, gfci="none")], evse=unit)
    items = by_code(of(made))
    assert items["hard_wired"].next_held_by == "Main breaker"


def test_a_larger_source_is_reckoned_as_unproved():
    run = {
        "date": "2026-01-01",
        "fuel": "gasoline",
        "duration_min": 90.0,
        "power_metered_kw": 9.5,
        "altitude_m": 0.0,
        "ambient_c": 20.0,
    }
    made = rig(source=engine(10000.0), commissioning=[run], supply=[breaker(60)], evse=evse(32, 40, 48))
    item = by_code(of(made))["larger_source"]

    assert item.rig.commissioning == ()
    running_w = item.rig.source.fuels["gasoline"].running_power_w
    assert running_w * 0.8 / 240 >= item.setting_a
    assert item.setting_a == 48


def test_a_sensing_adapter_carries_its_whole_label():
    """48 A label: 38.4 A without a sensor, 48 A with one."""
    made = rig(adapters=["j1772-to-j3400-48a"], evse=evse(32, 36, 40, 44, 48))
    adapter_class = next(
        (
            vehicle.id
            for vehicle in shipped_dataset().vehicle_classes.values()
            if {port.inlet for port in vehicle.ports} == {"j3400"}
        ),
    )
    found = gains(dataset(made), made.id, vehicle_id=adapter_class)
    item = by_code(found)["sensing_adapter"]

    assert found.now.setting.output_a == 36
    assert item.setting_a == 48


def test_a_rig_that_reaches_no_port_has_nothing_to_raise():
    made = rig(evse=evse(connector="ccs1"))

    found = of(made)
    assert found.call is None
    assert found.items == ()


def test_the_typical_class_draws_most_and_is_the_same_every_time():
    made = rig()
    chosen = typical_class(dataset(made), made)
    draws = [vehicle.onboard_charger.current_a.high for vehicle in shipped_dataset().vehicle_classes.values()]

    assert chosen is not None
    assert chosen.onboard_charger.current_a.high == max(draws)


def test_a_changed_copy_carries_no_old_reckoning():
    made = rig(evse=evse(16, 32))
    assert made.evse.highest.output_a == 32
    changed = with_changes(made.evse, settings=made.evse.settings[:1], setting_now="16")

    assert changed.highest.output_a == 16
    assert made.evse.highest.output_a == 32


def test_a_rig_view_reckons_volts_and_load_at_its_setting():
    """30 m of 4 AWG cord: by hand from NEC chapter 9 Table 8, at 25 + 30 x (40/70)^2 = 34.8 C."""
    made = rig(
        source=engine(15000.0),
        supply=[breaker(60), cord("4", grounding_awg="6", length_m=30.0)],
        evse=evse(40),
    )
    view = rig_view(dataset(made), made.id)
    ohm_per_km = 1.010 * (1 + 0.00323 * (34.796 - 75))  # 4 AWG stranded copper, from 75 C

    assert 240 - view.voltage_evse_v == pytest.approx(2 * 40 * ohm_per_km * 30 / 1000, rel=1e-4)
    assert view.drop_supply_percent == pytest.approx(100 * (240 - view.voltage_evse_v) / 240)
    assert view.load_percent == pytest.approx(100 * 40 * 240 / 15000)
    assert view.voltage_vehicle_v < view.voltage_evse_v
    assert [share.height_ft for share in view.shares["gasoline"]][:2] == [0, 1000]
    burn = view.burns["gasoline"]
    assert burn[0].burn_l_per_h == pytest.approx(1.0)
    assert burn[-1].load_kw == pytest.approx(12.0)
    assert burn[-1].burn_l_per_h == pytest.approx(1.0 + 0.4 * 12.0)


def test_a_store_gains_by_its_inverter():
    made = rig(source=battery(power_continuous_w=7200.0), supply=[breaker(60)], evse=evse(24, 32, 40, 48))
    item = by_code(of(made))["larger_source"]

    assert item.setting_a == 48


def test_a_leg_or_a_pair_of_lines_gives_its_part_of_a_larger_set():
    """Half of a split-phase set on one leg, 1/sqrt(3) of a three-phase one on one pair: its size is reckoned so."""
    leg = engine(3000.0, connection="one_leg_120", nameplate_current_a=12.5)
    leg["voltage_v"] = {"low": 116.0, "typical": 120.0, "high": 120.0}
    made = rig(source=leg, supply=[breaker(60)], evse=evse(8, 12, 16, 24, voltage_low_v=100.0))
    item = by_code(of(made))["larger_source"]
    watts = item.rig.source.fuels["gasoline"].running_power_w

    assert item.rig.source.nameplate_current_a == pytest.approx(watts / 2 / 120)
    assert item.setting_a <= watts / 2 / 120


def test_a_trucks_own_inverter_is_named_and_left_alone():
    fields = {key: value for key, value in battery().items() if key != "kind"}
    truck = rig(source={**fields, "kind": "truck_export", "engine_may_start": False}, supply=[breaker(60)])
    found = of(truck)

    assert "larger_source" not in by_code(found)
    assert any("inverter" in sentence for sentence in found.left_alone)


@pytest.mark.parametrize("gfci", ["class_a", None])
def test_hard_wiring_never_takes_a_ground_fault_device_along(gfci):
    unit = evse(32, 40, 48, connected_by="listed_cord_and_plug", plug="nema-14-50")
    made = rig(supply=[breaker(50, built_in=True), receptacle(built_in=False, gfci=gfci)], evse=unit)

    assert "hard_wired" not in by_code(of(made))


def test_a_run_of_the_day_counts_by_what_it_proved():
    def run(kw):
        return {
            "date": "2026-01-01",
            "fuel": "gasoline",
            "duration_min": 90.0,
            "power_metered_kw": kw,
            "altitude_m": 0.0,
            "ambient_c": 20.0,
        }

    for runs in ([run(8.5), run(9.5)], [run(9.5), run(8.5)]):
        made = rig(source=engine(10000.0), commissioning=runs, supply=[breaker(60)], evse=evse(32, 40, 48))
        assert rig_view(dataset(made), made.id).state.loading == pytest.approx(0.95)
    assert by_code(of(made))["long_run"].rig.commissioning[-1].power_metered_kw == pytest.approx(10.0)


def test_a_proving_run_asks_no_part_for_more_than_it_carries():
    made = rig(source=engine(19200.0), supply=[breaker(50)], evse=evse(16, 40, 80))
    run = by_code(of(made))["long_run"].rig.commissioning[-1]

    assert run.power_metered_kw == pytest.approx(40 * 240 / 1000)


def test_a_slower_change_gains_nothing():
    fuel = source()["fuels"]["gasoline"] | {"running_power_w": 12000.0}
    fuels = {"gasoline": fuel, "propane": fuel | {"tank_l": 12.0}}
    made = rig(source=engine(1.0, fuels=fuels, default_fuel="gasoline"), supply=[breaker(60)], evse=evse(32, 40))
    item = by_code(of(made))["other_fuel"]

    assert item.gains_nothing


def test_a_unit_set_on_site_keeps_its_cable_and_no_unit_passes_the_pilot():
    small_cable = {**evse(16, 48)["cable"], "rating_a": 32.0, "size_awg": "10"}
    made = rig(
        evse=evse(16, 48, set_by="fixed", cable=small_cable) | {"settings": evse(48)["settings"], "setting_now": "48"}
    )
    item = by_code(of(made))["unit_set_on_site"]
    assert item.rig.evse.cable == made.evse.cable

    large = rig(evse=evse(16, 80, output_max_a=100.0, set_by="inside_tools"))
    assert by_code(of(large))["unit_set_on_site"].rig.evse.output_max_a == 80


def test_a_device_is_offered_where_none_stands_ahead():
    """A 6 AWG cord (55 A) behind nothing: 50 A protects it; behind a device it is not helped by one at its end."""
    for supply in ([cord("6")], [cord("6"), breaker(50)]):
        items = by_code(of(rig(supply=supply, evse=evse(16, 40))))
        assert items["device_ahead"].makes_fit
        assert items["device_ahead"].rig.supply[0].rating_a == 50
    bare = by_code(of(rig(supply=[], evse=evse(16, 40))))
    assert bare["device_ahead"].rig.supply[0].rating_a == 50


def test_a_rig_is_not_fit_where_its_volts_do_not_suit():
    """The same three that `plan` refuses: an EVSE made for higher volts, for lower ones, and a run that takes too much."""
    leg = source(connection="one_leg_120", voltage_v={"low": 116.0, "typical": 120.0, "high": 122.0})
    high = source(voltage_v={"low": 250.0, "typical": 255.0, "high": 260.0})
    for made, code, fitness in (
        (rig(source=leg, evse=evse(12, voltage_low_v=200.0)), "voltage_too_low", "not_fit"),
        (rig(source=high, evse=evse(12, voltage_high_v=250.0)), "voltage_too_high", "not_fit"),
        # A class that draws less may still be served over that run, and a larger cord mends it.
        (rig(supply=[breaker(20), cord("12", length_m=120.0)], evse=evse(16)), "voltage_drop", "change_first"),
    ):
        view = rig_view(dataset(made), made.id)
        assert (view.fitness, view.refusal.code, view.setting) == (fitness, code, None)
        assert of(made).now is None or of(made).now.verdict == "cannot_serve"


def test_a_unit_that_is_set_lower_at_the_depot_is_a_change_and_a_fixed_one_is_not_fit():
    """The builder's classic: 48 A behind a 50 A receptacle, which carries 40 A."""

    def made(set_by, *marks):
        unit = evse(*marks, connected_by="listed_cord_and_plug", plug="nema-14-50", set_by=set_by)
        return rig(supply=[breaker(50), receptacle()], evse=unit)

    depot = rig_view(dataset(one := made("inside_tools", 32, 48)), one.id)
    assert (depot.fitness, depot.depot_mark.output_a) == ("change_first", 32)
    fixed = rig_view(dataset(two := made("fixed", 48)), two.id)
    assert fixed.fitness == "not_fit"


def test_the_depot_may_turn_a_unit_up_or_down():
    """40 A is allowed behind 50 A: a unit that stands at 24 may be set to 40, one that stands at 48 must be."""
    for standing, gain_a in (("24", 16), ("48", 40)):
        unit = evse(16, 24, 40, 48, set_by="inside_tools", setting_now=standing)
        found = of(rig(supply=[breaker(50)], evse=unit))
        item = by_code(found)["set_at_depot"]
        assert (item.setting_a, item.gain_a) == (40, gain_a)
    forgetful = evse(16, 40, 48, set_by="inside_tools", setting_now="16", survives_power_cycle=False)
    assert "set_at_depot" not in by_code(of(rig(supply=[breaker(50)], evse=forgetful)))
