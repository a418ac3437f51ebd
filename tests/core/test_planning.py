"""Plans: the cases that hurt when they are wrong, each built with only what matters."""

import re

import make
import pytest

from planner.answer import Call
from planner.errors import QuantityError, UnknownIdError
from planner.planning import plan
from planner.trip import Miles, ToPercent


def codes(found):
    return [reason.code for reason in found.reasons]


def link(found, kind):
    return next(rung for rung in found.chain if rung.link == kind)


# ------------------------------------------------------------------------------------------------ every pair answers


def test_every_rig_and_class_gives_a_plan_or_a_reasoned_refusal(dataset):
    for rig in dataset.rigs:
        for vehicle in dataset.vehicle_classes:
            for need in (ToPercent(80), ToPercent(100), Miles(45), Miles(400, 0), ToPercent(0)):
                for start in (0, 12, 100):
                    for site in ({}, {"ambient_c": -20.0, "altitude_m": 2700.0}, {"ambient_c": 45.0}):
                        found = plan(dataset, Call(rig, vehicle, start, need, **site))
                        assert found.reasons
                        assert all(reason.text and reason.source and reason.code for reason in found.reasons)
                        if found.verdict == "cannot_serve":
                            assert found.setting is None
                            assert found.minutes_charging is None
                            assert found.steps == ()
                        if found.verdict in {"serve", "serve_with_changes"}:
                            assert found.minutes_charging.typical > 0
                            assert found.path is not None
                        assert (found.verdict == "ask_first") == (found.ask is not None)


# ---------------------------------------------------------------------------------------------- the cases of the job


def test_j1772_vehicle_on_the_j3400_rig_takes_the_adapter(dataset):
    found = plan(dataset, Call("pass-truck", "older-short-range-hatch", 12, ToPercent(80)))

    assert found.verdict == "serve"
    assert (found.path.connector, found.path.adapter, found.path.inlet) == ("j3400", "j3400-to-j1772-80a", "j1772")


def test_chademo_vehicle_is_served_at_its_j1772_inlet(dataset):
    found = plan(dataset, Call("trailhead-van", "older-short-range-hatch", 12, ToPercent(80)))

    assert found.path.inlet == "j1772"
    assert found.path.adapter is None
    assert {path.code for path in found.refused_paths if path.inlet == "chademo"} == {
        "inlet_dc_only",
        "dc_adapter_on_ac",
    }


def test_ccs1_vehicle_takes_the_plain_plug_in_its_upper_half(dataset):
    found = plan(dataset, Call("trailhead-van", "compact-hatch", 12, ToPercent(80)))

    assert (found.path.adapter, found.path.inlet, found.path.inlet_part) == (None, "ccs1", "upper half")


def test_type_2_vehicle_is_refused_with_the_reason(dataset):
    found = plan(dataset, Call("pass-truck", "imported-compact-hatch", 12, ToPercent(80)))

    assert found.verdict == "cannot_serve"
    assert codes(found) == ["no_path"]
    assert found.reasons[0].text.startswith(
        "J3400 connector does not go into CCS2 inlet, and no adapter on board joins them."
    )


def test_dc_only_vehicle_is_refused_as_such():
    found = make.planned(vehicle_made=make.vehicle(inlet="chademo"))

    assert found.verdict == "cannot_serve"
    assert codes(found) == ["inlet_dc_only"]


def test_fixed_48_a_behind_a_50_a_receptacle_is_refused_with_40_a_at_most():
    """NEC 2017 210.21(B), 210.23(A), 625.41: a 50 A receptacle and breaker carry 40 A continuously."""
    rig = make.rig(
        supply=[make.breaker(50), make.receptacle("nema-14-50")],
        evse=make.evse(48, set_by="fixed", connected_by="listed_cord_and_plug", plug="nema-14-50"),
    )
    found = make.planned(rig)

    assert found.verdict == "cannot_serve"
    assert codes(found) == ["setting_too_high"]
    assert (
        "stands at mark 48 (48 A) and cannot be changed on site; Main breaker carries 40 A at most, 8 A less"
        in found.reasons[0].text
    )


def test_14_50_on_a_40_a_breaker_gives_32_a():
    """NEC 2017 Table 210.21(B)(3): a 50 A receptacle may sit on a 40 A circuit, which then carries 32 A."""
    rig = make.rig(
        supply=[make.breaker(40), make.receptacle("nema-14-50")],
        evse=make.evse(16, 24, 32, 40, connected_by="listed_cord_and_plug", plug="nema-14-50"),
    )
    found = make.planned(rig)

    assert found.setting.output_a == 32
    assert link(found, "breaker").sets_setting


@pytest.mark.parametrize("setting_a", [6, 16, 24, 32, 40])
def test_an_unprotected_cord_is_not_fit_at_any_setting(setting_a):
    """NEC 2017 240.5(A): 8 AWG cord carries 40 A with two loaded conductors; a 50 A device does not protect it."""
    rig = make.rig(
        supply=[make.breaker(50), make.cord("8")], evse=make.evse(setting_a, set_by="fixed", output_max_a=40)
    )
    found = make.planned(rig)

    assert found.verdict == "cannot_serve"
    assert codes(found) == ["not_protected"]
    assert found.findings[0].remedy == "A smaller device, 40 A at most, or a larger conductor."


@pytest.mark.parametrize(
    ("part", "device_a", "fit"),
    [
        (make.cord("8"), 40, True),
        (make.cord("8"), 45, False),
        (make.cord("6"), 50, True),  # column B, 55 A: 50 A device, and 60 A only by a size up that cord does not get
        (make.cord("6"), 60, False),
        (make.cord("6", loaded_conductors=3), 45, True),  # column A
        (make.cord("6", loaded_conductors=3), 50, False),
        (make.wire("6"), 70, True),  # 65 A at 75 C terminations, next standard size 70 A: 240.4(B)
        (make.wire("6"), 80, False),
        (make.wire("6", temperature_rating_c=60, termination_column_c=60), 60, True),  # 55 A, next size 60 A
        (make.wire("6", temperature_rating_c=60, termination_column_c=60), 70, False),
        (make.wire("10"), 30, True),  # 35 A in the table, but 240.4(D) stops at 30 A
        (make.wire("10"), 35, False),
        (make.wire("14"), 20, False),
        (make.wire("4", material="aluminum"), 70, True),  # 65 A at 75 C, next size 70 A
        (make.wire("4", material="aluminum"), 80, False),
    ],
)
def test_conductor_is_protected_up_to_its_ampacity(part, device_a, fit):
    found = make.planned(make.rig(supply=[make.breaker(device_a), part]))

    assert ("not_protected" in codes(found)) == (not fit)


def test_the_smallest_device_ahead_protects():
    """A 100 A main with a 50 A branch breaker: the branch protects what is behind it, and nothing protects before it."""
    good = make.rig(supply=[make.breaker(100), make.breaker(50, id="branch", name="Branch"), make.cord("6")])
    bad = make.rig(supply=[make.breaker(100), make.cord("6"), make.breaker(50, id="branch", name="Branch")])

    assert make.planned(good).verdict != "cannot_serve"
    assert codes(make.planned(bad)) == ["not_protected"]


def test_a_part_without_any_device_ahead_is_not_fit():
    found = make.planned(make.rig(supply=[make.cord("6"), make.breaker(50)]))

    assert codes(found) == ["no_device_ahead"]


def test_an_evse_without_any_device_ahead_is_not_fit():
    found = make.planned(make.rig(supply=[]))

    assert (found.verdict, codes(found)) == ("cannot_serve", ["no_device_ahead"])


@pytest.mark.parametrize(
    ("connection", "volts", "outlet", "code"),
    [
        ("split_phase_240", (235, 240, 245), "nema-tt-30", "outlet_voltage"),
        ("split_phase_240", (235, 240, 245), "nema-5-20", "outlet_voltage"),
        ("one_leg_120", (116, 120, 124), "nema-6-50", "no_neutral"),
    ],
)
def test_an_outlet_is_made_for_its_volts(connection, volts, outlet, code):
    """TT-30 and 5-20 are 120 V devices, 6-50 has no neutral (NEMA WD 6)."""
    source = make.source(
        connection=connection, voltage_v=dict(zip(("low", "typical", "high"), map(float, volts), strict=True))
    )
    rig = make.rig(
        source=source,
        supply=[make.breaker(20), make.receptacle(outlet)],
        evse=make.evse(12, connected_by="listed_cord_and_plug", plug=outlet),
    )

    assert codes(make.planned(rig)) == [code]


def test_a_conductor_without_ampacity_in_this_heat_is_not_fit():
    """The 60 C column ends at 55 C."""
    rig = make.rig(supply=[make.breaker(15), make.wire("10", temperature_rating_c=60, termination_column_c=60)])

    assert codes(make.planned(rig, ambient_c=58.0)) == ["no_ampacity"]


def test_an_unprotected_rung_carries_nothing_and_no_other_is_marked(dataset):
    found = plan(dataset, Call("fairground-spare", "midsize-suv", 12, ToPercent(80)))

    assert [(rung.id, rung.limit_a) for rung in found.chain if not rung.protected] == [("cord", 0.0)]
    assert not any(rung.sets_setting or rung.sets_current for rung in found.chain)


def test_no_remedy_is_on_the_forbidden_list():
    """No larger breaker or source device, no GFCI taken out, no rod, no second bond."""
    for device_a in (7, 15, 30):
        for change in (
            {"set_by": "fixed"},
            {"set_by": "app_needs_signal"},
            {"set_by": "inside_tools", "survives_power_cycle": False},
        ):
            text = (
                make.planned(
                    make.rig(
                        supply=[make.breaker(device_a)],
                        evse=make.evse(48, **change) if change["set_by"] == "fixed" else make.evse(**change),
                    )
                )
                .reasons[0]
                .text
            )
            assert "larger part" not in text
            assert "Raise" not in text


def test_a_receptacle_behind_a_larger_breaker_is_not_fit():
    rig = make.rig(
        supply=[make.breaker(60), make.receptacle("nema-14-50")],
        evse=make.evse(40, connected_by="listed_cord_and_plug", plug="nema-14-50"),
    )

    assert codes(make.planned(rig)) == ["not_protected"]


def test_a_receptacle_without_ground_is_not_fit():
    rig = make.rig(
        supply=[make.breaker(50), make.receptacle("nema-10-50")],
        evse=make.evse(32, connected_by="listed_cord_and_plug", plug="nema-10-50"),
    )

    assert codes(make.planned(rig)) == ["no_ground"]


def test_no_cold_day_makes_an_unprotected_cord_protected():
    """At -20 C the correction is 1.29: 40 A x 1.29 = 51.6 A would cover the 50 A device. It does not count."""
    rig = make.rig(supply=[make.breaker(50), make.cord("8")])

    assert codes(make.planned(rig, ambient_c=-20.0)) == ["not_protected"]


def test_a_hot_day_can_take_protection_away():
    """6 AWG cord of 60 C at 40 C: 55 A x 0.82 = 45.1 A, no longer protected by 50 A."""
    rig = make.rig(supply=[make.breaker(50), make.cord("6")])

    assert make.planned(rig, ambient_c=30.0).verdict != "cannot_serve"
    assert codes(make.planned(rig, ambient_c=40.0)) == ["not_protected"]


@pytest.mark.parametrize(
    ("neutral", "code"),
    [("floating", "neutral_floating"), ("unknown", "neutral_unknown"), ("bonded_twice", "neutral_bonded_twice")],
)
def test_any_neutral_but_one_bond_at_the_source_is_not_fit(neutral, code):
    found = make.planned(make.rig(source=make.source(neutral=neutral)))

    assert codes(found) == [code]
    assert "rod" not in found.findings[0].remedy
    assert "GFCI" not in found.findings[0].remedy


def test_an_unlisted_evse_is_not_fit():
    assert codes(make.planned(make.rig(evse=make.evse(listing="none")))) == ["evse_not_listed"]


def test_below_6_a_is_refused():
    found = make.planned(make.rig(source=make.generator(1700)))  # 1700 x 0.8 / 240 = 5.67 A

    assert codes(found) == ["below_6_a"]
    assert "5.6 A" in found.reasons[0].text


def test_a_lowest_mark_above_the_limit_is_refused():
    found = make.planned(make.rig(source=make.generator(3000), evse=make.evse(16, 32)))  # 10 A

    assert codes(found) == ["no_setting_low_enough"]


def test_1_44_kw_into_a_200_kwh_pack_is_slow_and_finite():
    """12 A at 120 V, 1.44 kW (SAE J1772 level 1): days, not infinity, and no faster at the top than below."""
    source = make.source(connection="one_leg_120", voltage_v={"low": 118.0, "typical": 120.0, "high": 120.0})
    source["fuels"]["gasoline"]["tank_l"] = 1500.0
    vehicle = make.vehicle(energy_usable_kwh=200.0)
    found = make.planned(make.rig(source=source, evse=make.evse(12)), vehicle, start=0, need=ToPercent(100))

    assert found.power_meter_kw == pytest.approx(1.44, rel=1e-6)
    hours = found.minutes_charging.typical / 60
    assert 200 / 1.44 < hours < 1000
    first_half = make.planned(make.rig(source=source, evse=make.evse(12)), vehicle, start=0, need=ToPercent(50))
    assert found.minutes_charging.typical >= 2 * first_half.minutes_charging.typical - 1


def test_nothing_left_for_the_battery_will_not_charge():
    source = make.source(connection="one_leg_120", voltage_v={"low": 118.0, "typical": 120.0, "high": 120.0})
    found = make.planned(make.rig(source=source, evse=make.evse(6)), make.vehicle(auxiliaries_kw=0.7))

    assert codes(found) == ["will_not_charge"]


# ------------------------------------------------------------------------------------------------------ the setting


def test_a_dial_that_must_be_moved_is_a_change():
    rig = make.rig(supply=[make.breaker(50)], evse=make.evse(16, 24, 32, 40, 48, setting_now="48"))
    found = make.planned(rig)

    assert found.verdict == "serve_with_changes"
    assert (found.setting.from_mark, found.setting.mark, found.setting.output_a) == ("48", "40", 40)
    assert (
        make.planned(make.rig(supply=[make.breaker(50)], evse=make.evse(16, 40, setting_now="40"))).verdict == "serve"
    )


def test_after_an_unknown_power_up_the_highest_mark_is_assumed():
    evse = make.evse(16, 24, 40, setting_now="24", survives_power_cycle=False)
    found = make.planned(make.rig(supply=[make.breaker(30)], evse=evse))

    assert (found.verdict, found.setting.from_mark, found.setting.mark) == ("serve_with_changes", None, "24")
    assert "whatever it shows" in found.reasons[0].text
    assert any(caution.code == "setting_forgotten" for caution in found.cautions)


def test_a_unit_that_forgets_is_set_again_even_where_its_highest_would_do():
    evse = make.evse(16, 24, 40, setting_now="24", survives_power_cycle=False)
    found = make.planned(make.rig(evse=evse))

    assert (found.verdict, found.setting.mark) == ("serve_with_changes", "40")


def test_a_refuel_stop_of_a_unit_that_forgets_says_to_set_it_again():
    source = make.source(nameplate_current_a=35.0)
    source["fuels"]["gasoline"] = {**source["fuels"]["gasoline"], "tank_l": 10.0, "spare_l": 60.0}
    found = make.planned(make.rig(source=source, evse=make.evse(16, 32, 48, survives_power_cycle=False)))

    assert found.fuel.refuel_stops > 0
    (step,) = [step for step in found.steps if step.startswith("Refuel stop")]
    in_order = [
        "charge off, 0 A",  # nothing is pulled under load
        "connector out",
        "engine off, cool",
        "fill",
        "engine warm",
        "set it to mark 16",
        "plug in",
        "up to mark 32 and read back 32 A",
    ]
    assert [step.index(part) for part in in_order] == sorted(step.index(part) for part in in_order)
    assert step.count("plug in") == 1


def test_the_crew_stops_the_charge_before_it_pulls_and_counts_the_adapter():
    rig = make.rig(evse=make.evse(32, connector="j3400"), adapters=["j3400-to-j1772-80a"])
    steps = make.planned(rig).steps
    order = [
        next(index for index, step in enumerate(steps) if part in step)
        for part in (
            "Sign the adapter out",
            "wait for the latch",
            "Release at",
            "meter reads 0 A",
            "Connector out of the adapter first",
            "Sign the adapter back in",
        )
    ]

    assert order == sorted(order)
    assert "its own thumb latch to the vehicle" in steps[order[4]]
    assert "unlock the vehicle" not in steps[order[4]]
    direct = make.planned(make.rig(evse=make.evse(32))).steps
    assert any("meter reads 0 A. Then the connector: a thumb latch on the connector" in step for step in direct)


def test_expected_amps_and_kilowatts_agree_and_the_chain_is_never_passed():
    """A 16 A charger on an 80 A unit: 25 A on the meter must not look normal."""
    found = make.planned(vehicle_made=make.vehicle(charger_current_a=16.0, charger_power_kw=3.8))
    current, _, power, *_ = found.watch

    assert current.high <= 16 * 1.05 + 1e-9
    assert current.high * 0.24 <= power.high * 1.02
    for made in (make.rig(supply=[make.breaker(50)]), make.rig(source=make.generator(12000))):
        current = make.planned(made).watch[0]
        assert current.stop_above <= 40 + 1e-9


def test_propane_in_the_cold_is_not_passed_over():
    """Cylinders that nobody has measured are a caution below 20 F; measured ones are a link of the chain."""
    fuel = {**make.source()["fuels"]["gasoline"], "running_power_w": 12000.0}
    measured = {**fuel, "cylinders": {"count": 2, "diameter_m": 0.37, "length_m": 1.1}}

    def found(burnt, ambient_c):
        source = make.source(fuels={"propane": burnt}, default_fuel="propane")
        return make.planned(make.rig(source=source), ambient_c=ambient_c)

    for ambient_c, warned in ((-30.0, True), (10.0, False)):
        assert any(caution.code == "propane_cold" for caution in found(fuel, ambient_c).cautions) == warned
    gas = {at: next(x for x in found(measured, at).chain if x.link == "source_gas").limit_a for at in (-30, -10, 20)}
    assert gas[-30] == 0
    assert 0 < gas[-10] < gas[20]
    assert not any(caution.code == "propane_cold" for caution in found(measured, -10.0).cautions)
    assert any(caution.code == "propane_frost" for caution in found(measured, -10.0).cautions)
    plenty = {**measured, "cylinders": {"count": 20, "diameter_m": 0.6, "length_m": 1.5}}
    assert not any(caution.code == "propane_frost" for caution in found(plenty, 20.0).cautions)
    assert "Propane gas" in found(measured, -30.0).reasons[0].text


def test_a_long_stay_and_a_can_of_fuel_are_named(dataset):
    long = plan(dataset, Call("pass-truck", "large-pickup", 5, ToPercent(98)))
    hybrid = plan(dataset, Call("pass-truck", "plug-in-hybrid-car", 5, ToPercent(80)))

    assert any(caution.code == "long_stay" for caution in long.cautions)
    assert "ask_fuel_first" in codes(hybrid)


def test_the_menu_reaches_a_target_above_98_and_stops_there():
    found = make.planned(start=94, need=ToPercent(99), vehicle_made=make.vehicle(energy_usable_kwh=10.0))

    assert found.menu[-1].soc == 0.99
    assert [entry.soc for entry in found.menu] == sorted({entry.soc for entry in found.menu})


@pytest.mark.parametrize(
    ("set_by", "where"),
    [("inside_tools", "At the depot, power off"), ("app_needs_signal", "Where there is signal, before driving out")],
)
def test_a_control_that_cannot_be_worked_on_site_stays_where_it_stands(set_by, where):
    evse = make.evse(16, 24, 40, setting_now="40", set_by=set_by)
    refused = make.planned(make.rig(supply=[make.breaker(30)], evse=evse))
    kept = make.planned(make.rig(supply=[make.breaker(60)], evse={**evse, "setting_now": "24"}))

    assert codes(refused) == ["setting_too_high"]
    assert f"{where}: set it to mark 24 (24 A)." in refused.reasons[0].text
    assert (kept.verdict, kept.setting.output_a) == ("serve", 24)


def test_a_known_small_charger_may_be_served_on_a_setting_above_the_source():
    """Source 30 A, unit fixed at 40 A: a 16 A charger is within 0.9 of the source, this class only; a 30 A one is not."""
    rig = make.rig(source=make.generator(9000), evse=make.evse(40, set_by="fixed"))
    small = make.planned(rig, make.vehicle(charger_current_a=16.0, charger_power_kw=3.8))
    large = make.planned(rig, make.vehicle(charger_current_a=30.0, charger_power_kw=7.2))

    assert small.verdict == "serve_with_changes"
    assert codes(small) == ["this_class_only"]
    assert next(watch for watch in small.watch if watch.unit == "A").stop_above == pytest.approx(30)
    assert codes(large) == ["setting_too_high"]


def test_the_exception_is_for_source_watts_alone():
    """The same small charger, but the breaker is what is too small: refused."""
    rig = make.rig(supply=[make.breaker(40)], evse=make.evse(40, set_by="fixed"))

    assert codes(make.planned(rig, make.vehicle(charger_current_a=16.0, charger_power_kw=3.8))) == ["setting_too_high"]


def test_0_8_is_applied_once_and_limits_combine_by_min():
    """50 A breaker, 50 A of engine: 40 A each, and 40 A together, not 32 A."""
    found = make.planned(make.rig(source=make.generator(12000), supply=[make.breaker(50)]))

    assert link(found, "source_power").limit_a == pytest.approx(40)
    assert link(found, "breaker").limit_a == pytest.approx(40)
    assert found.setting.output_a == 40


def test_already_continuous_ratings_are_not_reduced():
    rig = make.rig(evse=make.evse(40, output_max_a=40, connector="j3400"), adapters=["j3400-to-j1772-80a"])
    found = make.planned(rig)

    for kind, limit_a in (("evse_output", 40), ("cable", 80), ("connector", 80), ("adapter", 80), ("inlet", 80)):
        assert link(found, kind).limit_a == limit_a


def test_an_adapter_without_sensing_carries_0_8_of_its_label():
    """common practice, no source: 48 A label, 38.4 A allowed."""
    rig = make.rig(adapters=["j1772-to-j3400-48a"])
    found = make.planned(rig, make.vehicle(inlet="j3400"))

    assert link(found, "adapter").limit_a == pytest.approx(38.4)
    assert found.setting.output_a == 32


def test_a_breaker_listed_for_full_load_carries_its_rating():
    found = make.planned(make.rig(supply=[make.breaker(40, listed_for_full_rating=True)]))

    assert found.setting.output_a == 40


@pytest.mark.parametrize(
    ("running_w", "altitude_m", "expected_a"),
    [(12000, 0, 40), (12000, 1524, 33), (60000, 0, 80)],  # 12000 x 0.825 x 0.8 / 240 = 33.0 A
)
def test_source_amps_after_derate_and_loading(running_w, altitude_m, expected_a):
    found = make.planned(make.rig(source=make.generator(running_w)), altitude_m=float(altitude_m))

    assert min(link(found, "source_power").limit_a, 80) == pytest.approx(expected_a)


def commissioned(**changes):
    run = {
        "date": "2026-06-01",
        "fuel": "gasoline",
        "duration_min": 75.0,
        "power_metered_kw": 11.4,
        "altitude_m": 0.0,
        "ambient_c": 20.0,
        **changes,
    }
    return make.rig(source=make.generator(12000), commissioning=[run])


@pytest.mark.parametrize(
    ("run", "limit_a"),
    [
        ({}, 47.5),  # 11.4 kW of 12 kW proved: 0.95 x 12000 / 240
        ({"duration_min": 59.0}, 40),  # under an hour proves nothing
        ({"power_metered_kw": 11.0, "altitude_m": 1524.0}, 50),  # 11 of 9.9 kW left: never above 1.0
        ({"power_metered_kw": 4.0}, 40),  # a light run proves nothing against the default
        ({"altitude_m": 1524.0, "power_metered_kw": 8.0}, 40.4),  # 8.0 / (12 x 0.825) = 0.808 at height
    ],
)
def test_a_commissioning_run_lifts_the_loading(run, limit_a):
    found = make.planned(commissioned(**run))

    assert link(found, "source_power").limit_a == pytest.approx(limit_a, abs=0.05)


def test_other_loads_take_watts_and_amps_off_the_source():
    rig = make.rig(
        source=make.generator(12000, nameplate_current_a=50.0), other_loads={"power_w": 1200.0, "current_a": 12.0}
    )
    found = make.planned(rig)

    assert link(found, "source_power").limit_a == pytest.approx((9600 - 1200) / 240)
    assert link(found, "source_winding").limit_a == pytest.approx(38)


def test_other_loads_are_in_fuel_and_battery():
    """2 kW beside it for the whole charge: hours x 2 kWh more from the source."""
    source, evse = make.battery(energy_usable_kwh=400.0), make.evse(32)
    quiet = make.planned(make.rig(source=source, evse=evse))
    busy = make.planned(make.rig(source=source, evse=evse, other_loads={"power_w": 2000.0, "current_a": 9.0}))
    hours = busy.minutes_charging.typical / 60

    assert quiet.setting.output_a == busy.setting.output_a == 32
    assert busy.battery.used_kwh - quiet.battery.used_kwh == pytest.approx(2 * hours / 0.92, rel=0.005)


def test_a_fuel_that_cannot_mend_the_refusal_is_not_named():
    fuels = make.source()["fuels"]
    rig = make.rig(
        source=make.source(fuels={**fuels, "propane": fuels["gasoline"]}), evse=make.evse(voltage_high_v=239.0)
    )

    assert codes(make.planned(rig)) == ["voltage_too_high"]


def test_the_class_only_condition_is_kept_where_the_source_runs_short():
    source = make.generator(9000)
    source["fuels"]["gasoline"]["tank_l"] = 5.0
    found = make.planned(
        make.rig(source=source, evse=make.evse(40, set_by="fixed")),
        make.vehicle(charger_current_a=16.0, charger_power_kw=3.8),
    )

    assert codes(found) == ["source_short", "this_class_only"]
    assert any(caution.code == "this_class_only" for caution in found.cautions)
    assert all(entry.soc <= found.soc_target for entry in found.menu)


def test_the_stop_volts_are_within_every_rating_on_the_path(dataset):
    """J1772, CCS1, J3400 and the adapters here are 250 V parts."""
    for vehicle in ("midsize-suv", "midsize-sedan", "older-short-range-hatch"):
        found = plan(dataset, Call("pass-truck", vehicle, 12, ToPercent(80)))
        volts = next(watch for watch in found.watch if watch.unit == "V")
        assert volts.stop_above <= 250
        assert volts.stop_below <= volts.low <= volts.high <= volts.stop_above


def test_patience_is_longer_than_two_percents_of_charge(dataset):
    found = plan(dataset, Call("ski-hill-battery", "large-pickup", 12, ToPercent(30), ambient_c=20.0))
    (line,) = [line for line in (item.text for item in found.abort) if "dash percent" in line]
    minutes = int(line.split(" after ")[1].split()[0])

    assert minutes >= 2 * (found.minutes_charging.typical / 18)


def test_another_fuel_on_board_that_would_serve_better_is_named():
    fuels = make.source()["fuels"]
    fuels = {"propane": {**fuels["gasoline"], "running_power_w": 6000.0}, "gasoline": fuels["gasoline"]}
    rig = make.rig(source=make.source(fuels=fuels, default_fuel="propane"))

    assert "better_fuel" in codes(make.planned(rig))
    assert "--fuel gasoline" in make.planned(rig).reasons[-1].text
    assert "better_fuel" not in codes(make.planned(rig, fuel="propane"))
    with pytest.raises(QuantityError, match=r"^--fuel: expected a fuel of Made rig: propane, gasoline, got 'diesel'"):
        make.planned(rig, fuel="diesel")


# ------------------------------------------------------------------------------------------------- volts and power


def test_208_v_gives_13_percent_less_power_at_the_same_amps():
    """208/240 = 0.867; NEC practice, and the trap of taking every source for 240 V."""
    at_208 = make.source(
        connection="three_phase_208_line_to_line", voltage_v={"low": 205.0, "typical": 208.0, "high": 208.0}
    )
    power_240 = make.planned(make.rig(evse=make.evse(32))).power_meter_kw
    power_208 = make.planned(make.rig(source=at_208, evse=make.evse(32))).power_meter_kw

    assert power_240 == pytest.approx(7.68, rel=1e-6)
    assert power_208 == pytest.approx(6.656, rel=1e-6)


def test_volts_fall_along_supply_and_cable():
    """40 A over 100 ft of 6 AWG is 3.928 V by Table 8 at 75 C (0.491 ohm/kft).

    In 25 C air this 55 A cord reaches 25 + 30 (40 / 55)^2 = 40.9 C, so by note 2 of the table the drop is
    3.928 x (1 + 0.00323 (40.9 - 75)) = 3.495 V.
    """
    rig = make.rig(supply=[make.breaker(50), make.cord("6", length_m=30.48)], evse=make.evse(40))
    found = make.planned(rig)

    assert 240 - found.voltage_evse_v == pytest.approx(3.495, rel=0.003)
    assert found.voltage_inlet_v < found.voltage_evse_v


def test_a_kw_cap_and_an_amp_cap_hold_the_current():
    by_power = make.planned(make.rig(evse=make.evse(40)), make.vehicle(charger_power_kw=6.6))
    by_amps = make.planned(make.rig(evse=make.evse(40)), make.vehicle(charger_current_a=27.5))

    assert by_power.power_inlet_kw == pytest.approx(6.6)
    assert by_amps.current_a == 27.5
    for found in (by_power, by_amps):
        assert link(found, "onboard_charger").sets_current
        assert not link(found, "evse_setting").sets_current
        assert sum(rung.sets_current for rung in found.chain) == 1


@pytest.mark.parametrize(
    ("window", "code"),
    [
        ({"voltage_low_v": 100.0, "voltage_high_v": 239.0}, "voltage_too_high"),
        ({"voltage_low_v": 236.0, "voltage_high_v": 264.0}, "voltage_too_low"),
    ],
)
def test_volts_outside_the_window_of_a_part_are_refused(window, code):
    found = make.planned(make.rig(evse=make.evse(**window)))  # the source gives 235 to 240 V

    assert codes(found) == [code]


def test_volts_below_the_stop_reading_after_the_drop_are_refused():
    """40 A over 150 m of 8 AWG costs more than 20 V: below 216 V of 240 V, which the crew would be told to stop at."""
    found = make.planned(make.rig(supply=[make.breaker(40), make.cord("8", length_m=150.0)], evse=make.evse(32)))

    assert codes(found) == ["voltage_drop"]


def test_a_long_thin_120_v_cord_is_refused_and_does_not_raise():
    leg = make.source(connection="one_leg_120", voltage_v={"low": 116.0, "typical": 120.0, "high": 124.0})
    rig = make.rig(source=leg, supply=[make.breaker(20), make.cord("12", length_m=30.0)], evse=make.evse(16))

    assert make.planned(rig).verdict in {"serve", "cannot_serve", "ask_first"}
    assert codes(
        make.planned(
            make.rig(source=leg, supply=[make.breaker(20), make.cord("12", length_m=400.0)], evse=make.evse(16))
        )
    ) == ["voltage_drop"]


def test_label_efficiency_is_reached_at_label_conditions():
    """Certification runs print 0.884 and 0.879 wall to battery; a class carries 0.88 and must give it at its full charger."""
    vehicle = make.vehicle(charger_current_a=48.0, charger_power_kw=11.52)
    rig = make.rig(evse=make.evse(48, cable={**make.evse()["cable"], "length_m": 0.001}))
    found = make.planned(rig, vehicle)

    assert found.power_battery_kw / found.power_inlet_kw == pytest.approx(0.88, abs=1e-4)


# ------------------------------------------------------------------------------------------------------ the target


def test_need_beyond_a_full_battery_is_refused_with_the_largest_that_works():
    found = make.planned(need=Miles(300))

    assert codes(found) == ["need_exceeds_battery"]
    most = int(re.search(r"; (\d+) mi does, in nine of ten cases. It now has about 0 mi", found.reasons[0].text)[1])
    # 60 kWh x 0.9 above the reserve / 26.4 kWh per 100 mi = 204.5 mi typically, less in nine of ten cases
    assert 150 < most <= 204
    assert make.planned(need=Miles(most)).verdict == "serve"
    assert make.planned(need=Miles(most + 2)).ask.code == "need_not_sure"


def test_a_vehicle_with_an_engine_is_asked_about_fuel_and_never_refused_for_its_battery():
    found = make.planned(vehicle_made=make.vehicle(engine=True), need=Miles(300))

    assert found.verdict == "ask_first"
    assert found.ask.code == "ask_fuel_first"


def test_what_must_be_changed_is_said_whatever_the_question():
    evse = make.evse(16, 32, setting_now="16")
    found = make.planned(make.rig(evse=evse), make.vehicle(engine=True), need=Miles(300))

    assert codes(found) == ["need_exceeds_battery", "turn_setting"]


def test_a_named_fuel_that_runs_short_names_the_other_one():
    fuels = make.source()["fuels"]
    little = {**fuels["gasoline"], "tank_l": 12.0}
    rig = make.rig(source=make.source(fuels={"propane": little, "gasoline": fuels["gasoline"]}, default_fuel="propane"))

    assert codes(make.planned(rig, fuel="propane")) == ["source_short", "better_fuel"]
    assert "Gasoline, also on board, reaches 80 %" in make.planned(rig).reasons[-1].text


def test_a_need_that_is_met_already_is_a_question():
    assert make.planned(start=80, need=ToPercent(80)).ask.code == "need_already_met"
    assert make.planned(start=90, need=Miles(20)).ask.code == "need_already_met"


def test_target_is_the_smallest_whole_percent_that_covers_road_and_reserve():
    """45 mi x 264 Wh = 11.88 kWh of 60 kWh = 19.8 %, and 10 % kept: 30 %. At 22 C and sea level, as on the label."""
    found = make.planned(start=5, need=Miles(45, 10), ambient_c=22.0)

    assert found.soc_target == 0.30
    # Without a reserve nine of ten cases set it: 12 % from driver to driver alone are 17 % at one in ten.
    assert 0.23 <= make.planned(start=5, need=Miles(45, 0), ambient_c=22.0).soc_target <= 0.25


def test_a_rig_battery_that_falls_short_says_what_it_gives():
    rig = make.rig(source=make.battery(energy_usable_kwh=20.0))
    found = make.planned(rig, start=10, need=ToPercent(98))

    assert found.verdict == "ask_first"
    assert found.ask.code == "source_short"
    # 20 kWh x 0.9 x 0.92 = 16.56 kWh AC, x 0.88 or a little better = 14.6 to 15.3 kWh of 60 kWh: 24 or 25 %
    assert found.soc_target in (0.34, 0.35)
    assert found.battery.soc_left >= 0.1
    assert make.planned(make.rig(source=make.battery(energy_usable_kwh=0.5)), start=10).verdict == "cannot_serve"


def test_an_engine_refuels_and_the_stop_is_in_the_time_on_site():
    source = make.source()
    source["fuels"]["gasoline"] = {**source["fuels"]["gasoline"], "tank_l": 10.0, "spare_l": 20.0}
    found = make.planned(make.rig(source=source))

    assert 20 < found.fuel.litres < 30  # a tank of 10 L, filled twice more
    assert found.fuel.refuel_stops == 2
    assert found.minutes_parts.refuel == 40
    assert found.minutes_on_site.typical == sum(
        part or 0
        for part in (
            found.minutes_parts.park,
            found.minutes_parts.warm_up,
            found.minutes_parts.handshake,
            found.minutes_parts.charging,
            found.minutes_parts.refuel,
            found.minutes_parts.cool_down,
            found.minutes_parts.pack_up,
        )
    )


def test_the_cold_is_in_the_minutes_and_in_the_sentence():
    mild, cold = make.planned(ambient_c=20.0), make.planned(ambient_c=-20.0)

    assert "heat or cooling off while we charge" in cold.say
    assert "heat or cooling off while we charge" in mild.say
    assert "cold_vehicle" in codes(cold)
    assert cold.minutes_parts.cold > 0 == mild.minutes_parts.cold
    assert cold.minutes_charging.typical > mild.minutes_charging.typical


def test_bands_are_absent_where_they_were_not_asked_for():
    from planner.report import document

    published = document(make.planned())
    assert published["minutes_charging"] == {"typical": published["minutes_charging"]["typical"]}
    assert published["unsure"] == []


def test_unknown_ids_name_the_nearest():
    with pytest.raises(UnknownIdError) as caught:
        plan(make.shipped_dataset(), Call("pass-trucks", "midsize-suv", 10, ToPercent(80)))

    assert (
        str(caught.value)
        == "unknown rig 'pass-trucks'. Did you mean 'pass-truck'? List them with: rangeferry list rigs"
    )


def test_a_former_id_still_works():
    from dataclasses import replace

    base = make.shipped_dataset()
    rig = base.rigs["pass-truck"].model_copy(update={"formerly": ("summit-truck",)})
    renamed = replace(base, rigs={**base.rigs, "pass-truck": rig})

    assert plan(renamed, Call("summit-truck", "midsize-suv", 10, ToPercent(80))).call.rig == "pass-truck"
