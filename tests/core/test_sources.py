"""What each kind of source gives on its site, and what a rig keeps of its own energy at the end."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from make import battery, breaker, dataset, evse, generator, planned, receptacle, rig, source, vehicle, wire
from pydantic import ValidationError

from planner.answer import Call, answer
from planner.chain import derate_by_iso_3046, links, source_state
from planner.errors import QuantityError
from planner.planning import plan
from planner.trip import ToPercent


def site_outlet(**changes):
    return {
        "kind": "site_outlet",
        "connection": "split_phase_240",
        "voltage_v": {"low": 235.0, "typical": 240.0, "high": 245.0},
        "neutral": "bonded_at_source",
        "individual_circuit": True,
        **changes,
    }


def truck(**changes):
    fields = {key: value for key, value in battery().items() if key != "kind"}
    return {**fields, "kind": "truck_export", "engine_may_start": False, **changes}


def ladder(made, **site):
    fields = {"altitude_m": 0.0, "ambient_c": 25.0, **site}
    fuel = getattr(made.source, "default_fuel", None)
    state = source_state(made, fuel=fuel, **fields)
    return {x.link: x for x in links(dataset(made), made, state, power_factor=1.0, **fields)}


# ------------------------------------------------------------------------------------------------- the source's limit


def test_a_site_outlet_gives_what_its_breaker_may_carry_for_hours():
    """50 A breaker and receptacle: 40 A; no watts, no fuel, no height."""
    unit = evse(16, 40, connected_by="listed_cord_and_plug", plug="nema-14-50")
    made = rig(source=site_outlet(), supply=[breaker(50), receptacle(grade="evse_listed")], evse=unit)
    high = planned(made, altitude_m=3000.0, ambient_c=40.0)

    assert high.verdict == "serve"
    assert (high.setting.output_a, high.source_load_percent, high.fuel, high.battery) == (40, None, None, None)
    assert not {"source_power", "source_winding"} & {link.link for link in high.chain}
    assert not any(caution.code == "carbon_monoxide" for caution in high.cautions)
    assert high.minutes_parts.warm_up == high.minutes_parts.cool_down == 0


def test_a_site_outlet_without_a_stated_breaker_is_no_record():
    with pytest.raises(ValidationError):
        rig(source=site_outlet(), supply=[])
    with pytest.raises(ValidationError):
        rig(source=site_outlet(), supply=[receptacle(), breaker(50)])


def test_other_loads_of_a_shared_circuit_come_off_its_breaker():
    made = rig(source=site_outlet(), supply=[breaker(50)], other_loads={"power_w": 1200.0, "current_a": 10.0})

    assert ladder(made)["breaker"].limit_a == pytest.approx(50 * 0.8 - 10)


def test_an_export_truck_is_bound_by_its_inverter_not_by_its_outlet():
    """7.2 kW behind a 50 A outlet: 30 A at 240 V."""
    made = rig(
        source=truck(power_continuous_w=7200.0, voltage_v={"low": 240.0, "typical": 240.0, "high": 240.0}),
        supply=[breaker(50)],
    )

    assert ladder(made)["source_power"].limit_a == pytest.approx(30.0)
    assert planned(made).setting.output_a == 24
    assert any(x.code == "carbon_monoxide" for x in planned(made).cautions) is False
    hybrid = rig(source=truck(engine_may_start=True), supply=[breaker(50)])
    assert any(x.code == "carbon_monoxide" for x in planned(hybrid).cautions)


def test_one_pair_of_lines_gives_no_more_than_its_maker_allows():
    """A three-phase set on one line-line load: nameplate amps and the maker's limit, never its total."""
    three = generator(15000.0, connection="three_phase_208_line_to_line", nameplate_current_a=41.6)
    three["voltage_v"] = {"low": 205.0, "typical": 208.0, "high": 208.0}
    whole = ladder(rig(source=three))
    assert whole["source_winding"].limit_a == pytest.approx(41.6)  # 15 kVA / (sqrt(3) x 208 V)

    pair = ladder(rig(source={**three, "one_pair_power_w": 8660.0}))
    assert pair["source_power"].limit_a == pytest.approx(8660 / 208)


def test_a_short_rating_is_never_counted_on():
    with_short = ladder(rig(source=battery(power_short_w=24000.0)))

    assert with_short["source_power"].limit_a == ladder(rig(source=battery()))["source_power"].limit_a


def test_a_store_gives_less_power_and_energy_in_the_cold():
    """Straight between points, level beyond them."""
    points = [
        {"ambient_c": -20.0, "power_share": 0.5, "energy_share": 0.6},
        {"ambient_c": 0.0, "power_share": 1.0, "energy_share": 1.0},
    ]
    made = rig(source=battery(in_the_cold=points))
    for ambient_c, power, energy in ((-40, 0.5, 0.6), (-20, 0.5, 0.6), (-10, 0.75, 0.8), (0, 1, 1), (30, 1, 1)):
        state = source_state(made, altitude_m=0.0, ambient_c=float(ambient_c), fuel=None)
        assert state.power_allowed_w == pytest.approx(12000 * power)
        assert made.source.spendable_kwh(float(ambient_c)) == pytest.approx(40 * energy * 0.9)


heights = st.floats(0, 4000)
airs = st.floats(-40, 50)


@given(heights, airs, st.sampled_from(["gasoline", "propane", "diesel"]))
def test_a_derate_is_never_above_one_by_rule_or_by_standard(altitude_m, ambient_c, fuel):
    fuels = {fuel: source()["fuels"]["gasoline"]}
    made = rig(source=source(fuels=fuels, default_fuel=fuel))
    state = source_state(made, altitude_m=altitude_m, ambient_c=ambient_c, fuel=fuel)
    iso = derate_by_iso_3046(made.source, altitude_m=altitude_m, ambient_c=ambient_c, fuel=fuel)

    assert 0 <= state.derate <= 1
    assert 0 <= iso <= 1
    assert state.power_allowed_w == pytest.approx(60000 * state.derate * 0.8)  # once, and once alone


def test_the_two_derates_are_near_each_other_below_10_000_ft():
    """The sheet: the rule of thumb sits within about 0.02 of the ISO gasoline curve; 0.03 in cold air up high."""
    made = rig()
    for height_ft in range(0, 10_001, 1000):
        state = source_state(made, altitude_m=height_ft * 0.3048, ambient_c=25.0, fuel="gasoline")
        iso = derate_by_iso_3046(made.source, altitude_m=height_ft * 0.3048, ambient_c=25.0, fuel="gasoline")
        assert state.derate == pytest.approx(iso, abs=0.02)


# ------------------------------------------------------------------------------------------ fuel and charge of its own


def hourly_l(found):
    """Return what the engine of `source()` burns in an hour at the load of a plan: 1.0 + 0.4 x kW."""
    return 1.0 + 0.4 * found.rate.power_source_kw


def asked(made, **call):
    return answer(dataset(made, vehicle()), Call(made.id, "made", 10, ToPercent(80), **call))


def test_an_engine_rig_ends_with_an_hour_at_this_load():
    made = rig()
    found = asked(made)
    use = found.session.fuel
    assert use.keep_l == pytest.approx(hourly_l(found))

    just_enough = asked(made, tank_now_l=use.used_l + use.keep_l + 1e-6)
    assert (just_enough.percent_in_reach, just_enough.planned_percent) == (None, 80)
    a_little_less = asked(made, tank_now_l=use.used_l + use.keep_l - 0.01)
    assert a_little_less.percent_in_reach == 79
    kept = a_little_less.session.fuel
    assert kept.left_l >= kept.keep_l


def test_the_way_home_is_kept_where_it_takes_more_than_an_hour():
    fuels = {"gasoline": {**source()["fuels"]["gasoline"], "keep_l": 30.0}}
    found = asked(rig(source=source(fuels=fuels)))

    assert found.session.fuel.keep_l == 30.0


def test_a_store_keeps_its_floor_and_the_way_home():
    made = rig(source=truck(way_home_kwh=10.0, energy_usable_kwh=90.0))
    found = asked(made, charge_now_percent=70)
    use = found.session.fuel

    assert made.source.spendable_kwh(25.0, 0.7) == pytest.approx(90 * (0.7 - 0.1) - 10)
    assert found.percent_in_reach is not None
    assert use.left_kwh >= 90 * 0.1 + 10 - 1e-9
    one_more = asked(made, charge_now_percent=70).session.energy_source_wh / 1000 * 1.05 / made.source.efficiency
    assert one_more > made.source.spendable_kwh(25.0, 0.7) - 1.0


def test_what_is_left_is_served_and_said():
    made = rig()
    found = planned(made, tank_now_l=12.0)

    assert found.verdict == "ask_first"
    assert found.reasons[0].code == "source_short"
    assert "an hour's fuel" in found.reasons[0].text
    assert found.fuel.left_after >= found.fuel.keep_litres


def test_a_refuel_stop_is_counted_from_what_is_in_the_tank_now():
    fuels = {"gasoline": {**source()["fuels"]["gasoline"], "tank_l": 30.0, "spare_l": 40.0}}
    made = rig(source=source(fuels=fuels))
    full, low = planned(made), planned(made, tank_now_l=6.0)

    assert (full.fuel.refuel_stops, low.fuel.refuel_stops) == (0, 1)
    assert low.minutes_on_site.typical - full.minutes_on_site.typical == 20


def test_words_about_the_wrong_energy_are_refused():
    for made, call in (
        (rig(), {"charge_now_percent": 50}),
        (rig(source=battery()), {"tank_now_l": 5.0}),
        (rig(source=site_outlet(), supply=[breaker(50)]), {"charge_now_percent": 50}),
        (rig(), {"tank_now_l": 101.0}),
    ):
        with pytest.raises(QuantityError):
            asked(made, **call)


def test_a_makers_points_make_a_line_that_no_point_lies_above():
    fuel = {k: v for k, v in source()["fuels"]["gasoline"].items() if not k.startswith("burn")}
    points = [{"power_kw": p, "burn_l_per_h": q} for p, q in ((2.5, 2.0), (5.0, 2.9), (7.5, 4.0), (10.0, 5.4))]
    made = rig(source=source(fuels={"gasoline": {**fuel, "burn_points": points}}))
    no_load, slope = made.source.fuels["gasoline"].burn_line

    assert all(no_load + slope * p["power_kw"] >= p["burn_l_per_h"] - 1e-9 for p in points)
    assert any(no_load + slope * p["power_kw"] == pytest.approx(p["burn_l_per_h"]) for p in points)
    for wrong in ({"burn_points": points[:1]}, {"burn_points": points, "burn_no_load_l_per_h": 1.0}, {}):
        with pytest.raises(ValidationError):
            rig(source=source(fuels={"gasoline": {**fuel, **wrong}}))


# ------------------------------------------------------------------------------------------------------ watch, abort


def test_watch_and_abort_come_from_the_rigs_own_numbers():
    """ISO 8528-5: without load G1 may show 64.8 Hz, G2 63.0, G3 61.8 at 60 Hz."""
    for regulation, high_hz in (("g1", 64.8), ("g2", 63.0), ("g3", 61.8), (None, 64.8)):
        found = planned(rig(source=source(regulation_class=regulation)))
        hertz = next(line for line in found.watch if line.unit == "Hz")
        assert hertz.high == pytest.approx(high_hz)
        assert hertz.stop_below < hertz.low < 60 < hertz.high < hertz.stop_above
    assert any("Hertz" in line.text for line in planned(rig()).abort)
    store = planned(rig(source=battery()))
    assert not any(line.unit == "Hz" for line in store.watch)
    assert not any("Hertz" in line.text or "CO alarm" in line.text for line in store.abort)


def test_kwh_into_the_battery_per_gallon_is_energy_over_fuel():
    found = planned(rig())
    by_hand = found.energy_battery_kwh / (found.fuel.litres / 3.785411784)

    assert found.fuel.battery_kwh_per_gallon == pytest.approx(by_hand)


def test_a_plan_for_another_copy_of_the_data_is_not_remembered():
    data = dataset(made := rig())
    assert plan(data, Call(made.id, "midsize-suv", 10, ToPercent(80))).verdict == "serve"
    floating = made.model_copy(update={"source": made.source.model_copy(update={"neutral": "floating"})})
    changed = replace(data, rigs={**data.rigs, made.id: floating})
    assert plan(changed, Call(made.id, "midsize-suv", 10, ToPercent(80))).verdict == "cannot_serve"


def test_the_menu_promises_no_more_than_the_rig_has():
    """What the rig has ends the longer stays, also where the target itself is within reach."""
    made = rig(source=battery(energy_usable_kwh=20.0))
    data = dataset(made, vehicle())
    short = plan(data, Call(made.id, "made", 10, ToPercent(15), charge_now_percent=40))
    most = plan(data, Call(made.id, "made", 10, ToPercent(98), charge_now_percent=40)).soc_target

    assert short.verdict in {"serve", "serve_with_changes"}
    assert max(entry.soc for entry in short.menu) <= most


def test_watch_never_contradicts_itself_and_has_a_line_for_the_car():
    for connection, low, typical, high in (
        ("split_phase_240", 235.0, 240.0, 250.0),
        ("three_phase_208_line_to_line", 205.0, 208.0, 225.0),
        ("one_leg_120", 116.0, 120.0, 130.0),
    ):
        spread = {"low": low, "typical": typical, "high": high}
        found = planned(rig(source=source(connection=connection, voltage_v=spread), evse=evse(16)))
        assert found.verdict != "cannot_serve"
        for line in found.watch:
            assert line.stop_above is None or line.high <= line.stop_above
            assert line.stop_below is None or line.stop_below <= line.low
        car = next(line for line in found.watch if line.what == "power the car shows")
        assert car.low < found.power_battery_kw < car.high == found.power_inlet_kw


def test_the_rigs_own_energy_is_a_reason_to_give_up():
    """Floor 10 % and 10 kWh home of 90: 21.1 %, so 22 %; an engine at an hour's fuel."""
    truck_plan = planned(rig(source=truck(way_home_kwh=10.0, energy_usable_kwh=90.0)))
    assert any("at 22 %" in line.text and "way home" in line.text for line in truck_plan.abort)
    engine_plan = planned(rig())
    assert any("of fuel left in tank and cans" in line.text for line in engine_plan.abort)
    outlet = planned(rig(source=site_outlet(), supply=[breaker(50)]))
    assert not any("stop there" in line.text for line in outlet.abort)


def test_links_of_a_changed_copy_and_of_another_air_are_its_own():
    """What stands behind the source is remembered by the rig and the air: never by the rig's id."""
    old = rig(supply=[breaker(50.0), wire("6", temperature_rating_c=75)])
    data = dataset(old)

    def limits(made, *, ambient_c=25.0):
        state = source_state(made, altitude_m=0.0, ambient_c=ambient_c, fuel=made.source.default_fuel)
        found = links(data, made, state, altitude_m=0.0, ambient_c=ambient_c, power_factor=1.0)
        return [(link.link, link.limit_a) for link in found]

    first = limits(old)
    smaller = old.model_copy(update={"supply": (old.supply[0].model_copy(update={"rating_a": 20.0}), *old.supply[1:])})
    assert smaller.id == old.id
    assert dict(limits(smaller))["breaker"] == 16.0  # NEC 210.20(A): 0.8 of its rating
    assert dict(first)["breaker"] == 40.0
    assert limits(old) == first
    # NEC 2017, Tables 310.15(B)(16) and (B)(2)(a): 65 A for 6 AWG copper at 75 C, in air of 41 to 45 C 0.82 of it: 53.3 A, above 0.8 of 65.
    assert dict(first)["conductor"] == pytest.approx(52.0)
    assert dict(limits(old, ambient_c=43.0))["conductor"] == pytest.approx(52.0)
    assert dict(limits(old, ambient_c=58.0))["conductor"] == pytest.approx(65 * 0.58)  # 56 to 60 C
    assert limits(old) == first
