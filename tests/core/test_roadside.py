"""What the crew reads beside the vehicle: steps, the ladder where nothing happens, when to give up, what is said."""

import re
from dataclasses import replace

import make
import pytest

from planner.answer import Call, answer
from planner.condition import Condition
from planner.figures import spoken_minutes
from planner.journey import Road
from planner.planning import plan, plan_with_bands
from planner.roadside import ALWAYS_ABORT, ENGINE_ABORT, NOTHING_HAPPENS, abort, nothing_happens, sentence_to_say
from planner.spread import bands
from planner.trip import DashWord, Miles, ToPercent

TO_J1772 = "j3400-to-j1772-80a"
STORE = make.battery(energy_usable_kwh=200.0, power_continuous_w=60000.0, nameplate_current_a=200.0)


def truck(**changes):
    fields = {key: value for key, value in STORE.items() if key != "kind"}
    return {**fields, "kind": "truck_export", "engine_may_start": False, **changes}


def outlet_rig(**changes):
    source = {
        "kind": "site_outlet",
        "connection": "split_phase_240",
        "voltage_v": {"low": 235.0, "typical": 240.0, "high": 245.0},
        "neutral": "bonded_at_source",
        "instructions": "allow",
        "individual_circuit": True,
    }
    evse = make.evse(16, 32, 40, connected_by="listed_cord_and_plug", plug="nema-14-50")
    supply = [make.breaker(50.0, gfci="class_a"), make.receptacle(built_in=True)]
    return make.rig(source=source, supply=supply, evse=evse, **changes)


def found_for(rig, vehicle=None, *, need=None, start=10, **site):
    vehicle = vehicle or make.vehicle()
    return answer(make.dataset(rig, vehicle), Call(rig.id, vehicle.id, start, need or ToPercent(80), **site))


def indices(steps, words):
    """Return where each word stands; it must stand in one step alone."""
    places = []
    for word in words:
        (place,) = [index for index, step in enumerate(steps) if word in step]
        places.append(place)
    return places


# ------------------------------------------------------------------------------------------------------------- steps

ARRIVAL = ["Look before anything", "Look at the port"]
MADE_SAFE = ["in Park, brakes set, chocks", "High-visibility on, cones and lights", '("cable out")']
CHARGE = ["Feel every plug", "Release at", "meter reads 0 A"]
END = ["shut the port door", "Pack up, walk around, the cone off our hood last", "Tell the customer"]


def test_a_set_that_can_be_stepped_up_has_every_step_once_and_in_order():
    source = make.source()
    source["fuels"]["gasoline"] = {**source["fuels"]["gasoline"], "tank_l": 10.0, "spare_l": 60.0}
    rig = make.rig(
        source=source,
        supply=[make.breaker(60.0, gfci="class_a"), make.cord("4", temperature_rating_c=90, termination_column_c=75)],
        evse=make.evse(16, 24, 32, 40, connector="j3400"),
        adapters_at_depot=[TO_J1772],
    )
    steps = make.planned(rig, cabin_on=True, ambient_c=-25.0).steps

    words = [
        "Before driving out",
        *ARRIVAL,
        "CO alarm on and worn",
        *MADE_SAFE,
        "Engine outdoors, 20 ft",
        "Nobody sits in a vehicle within 20 ft",
        "Supply cord and cable off the reel",
        "Engine up and warm. ",
        "Without load: 216 to 250 V, 57 to 66 Hz",
        "EVSE's self-test light good",
        "ground-fault button trips, resets, holds",
        "Sign the adapter out",
        "turn it from mark 40 down to mark 16, its lowest",
        "wait for the latch",
        "Amps, volts and hertz steady for two minutes: up to mark 40",
        "Read back 40 A on the unit. Then expect",
        "Cabin's heat or cooling off",
        "Cold pack: up to",
        "Feel every plug",
        "Refuel stop",
        "Release at",
        "meter reads 0 A",
        "Connector out of the adapter first",
        "Sign the adapter back in",
        "cool down without load",
        *END[1:],
    ]
    assert indices(steps, words) == sorted(indices(steps, words))
    assert len(steps) == 21


def test_a_set_with_a_setting_that_stays_goes_on_in_one_step():
    rig = make.rig(
        supply=[make.breaker(50.0, gfci="none"), make.receptacle(gfci="none")],
        evse=make.evse(16, 24, 32, set_by="inside_tools", connected_by="listed_cord_and_plug", plug="nema-14-50"),
    )
    steps = make.planned(rig).steps

    words = [
        *ARRIVAL,
        "CO alarm on and worn",
        *MADE_SAFE,
        "Engine outdoors, 20 ft",
        "Cable off the reel",
        "Engine up and warm",
        "Leave it at mark 32. Read back 32 A",
        "wait for the latch",
        "Expect ",
        *CHARGE,
        "shut the port door",
        "cool down without load",
        *END[1:],
    ]
    assert indices(steps, words) == sorted(indices(steps, words))
    assert not any("ground-fault button" in step or "steady for two minutes" in step for step in steps)


def test_a_battery_has_no_word_of_an_engine():
    rig = make.rig(source=STORE, evse=make.evse(16, 32, set_by="app_local", survives_power_cycle=False))
    steps = make.planned(rig).steps

    words = [
        *ARRIVAL,
        *MADE_SAFE,
        "Cable off the reel",
        "Without load: 216 to 250 V; EVSE's self-test light good",
        "set it to mark 32, whatever it shows. Read back 32 A",
        "wait for the latch",
        "Expect ",
        *CHARGE,
        *END,
    ]
    assert indices(steps, words) == sorted(indices(steps, words))
    assert not re.search("engine|exhaust|CO alarm|Hz|hertz|mark 16", " ".join(steps), re.IGNORECASE)


def test_a_truck_outlet_has_its_export_read_and_an_engine_that_may_start_is_named():
    without = make.planned(make.rig(source=truck())).steps
    with_engine = make.planned(make.rig(source=truck(engine_may_start=True))).steps

    words = [*ARRIVAL, *MADE_SAFE, "Cable off", "Export on, its settings read", "wait for the latch", *CHARGE, *END]
    assert indices(without, words) == sorted(indices(without, words))
    assert not any("ngine" in step for step in without)
    words[5:5] = ["Engine may start by itself: it stands 20 ft from doors"]
    assert indices(with_engine, words) == sorted(indices(with_engine, words))
    assert "CO alarm on and worn" in with_engine[2]
    assert any("Amps and volts steady for two minutes" in step for step in with_engine)
    assert not any("cool down" in step or "warm" in step for step in with_engine)


def test_an_outlet_of_the_site_is_read_at_the_panel_and_left_as_it_was():
    steps = make.planned(outlet_rig()).steps

    words = [
        *ARRIVAL,
        *MADE_SAFE,
        "At the panel: the handle says 50 A; all else on this circuit off",
        "Breaker off; unit's plug home in the outlet; breaker on",
        "Cable off the reel",
        "ground-fault button trips, resets, holds",
        "Leave it at mark 40. Read back 40 A",
        "wait for the latch",
        "Expect ",
        *CHARGE,
        "shut the port door",
        "Breaker off; unit's plug out of the outlet; breaker as we found it",
        *END[1:],
    ]
    assert indices(steps, words) == sorted(indices(steps, words))


def test_a_lead_goes_in_with_the_breaker_off_and_is_counted_out_and_in(dataset):
    call = Call("fairground-outlet", "large-sedan", 12, ToPercent(30), outlet="nema-14-30", breaker_a=30.0)
    steps = plan(dataset, call).steps

    words = ["the handle says 30 A", "Sign the lead out", "off the reel", "wait for the latch", "meter reads 0 A"]
    words += ["sign the lead back in", "Pack up"]
    assert indices(steps, words) == sorted(indices(steps, words))
    assert not any("unit's plug home" in step for step in steps)


@pytest.mark.parametrize("ambient_c", [-20.0, 20.0])
def test_no_plan_has_more_steps_than_a_crew_reads_and_none_is_said_twice(dataset, ambient_c):
    for rig in dataset.rigs:
        for vehicle in dataset.vehicle_classes:
            found = plan(dataset, Call(rig, vehicle, 12, Miles(20.0), ambient_c=ambient_c, altitude_m=300.0))
            assert len(found.steps) <= 20
            assert len(set(found.steps)) == len(found.steps)
            # What to do where a loose cable is not read is the setting's own text, and longer.
            own = found.setting.steps if found.setting is not None else ()
            assert all(len(step.split()) <= 32 for step in found.steps if step not in own), (rig, vehicle)


def lines_of_the_setting(rig, vehicle=None):
    steps = make.planned(rig, vehicle).steps
    return [step for step in steps if "mark" in step]


def test_the_load_comes_in_two_steps_from_wherever_the_unit_stands():
    assert lines_of_the_setting(make.rig(evse=make.evse(16, 32, setting_now="16"))) == [
        "Before the connector goes in: leave it at mark 16, its lowest.",
        "Amps, volts and hertz steady for two minutes: up to mark 32; a unit that takes it only unplugged: "
        "stop at the vehicle, 0 A, connector out, up, in.",
    ]
    assert lines_of_the_setting(make.rig(evse=make.evse(16, 32, survives_power_cycle=False)))[0] == (
        "Before the connector goes in, set it to mark 16, its lowest, whatever it shows."
    )
    assert lines_of_the_setting(make.rig(evse=make.evse(32))) == [
        "Leave it at mark 32. Read back 32 A on its display, " + ("or its pilot's where it has none.")
    ]


def test_two_marks_that_tell_the_vehicle_the_same_are_not_two_steps():
    """A loose cable of 20 A tells 20 A at mark 24 and at mark 48."""
    cable = {"connector": "type-2", "rating_a": 20.0, "size_awg": "12", "temperature_rating_c": 90, "length_m": 5.0}
    evse = {**make.evse(24, 48), "cable": {**cable, "code_a": 20}}
    lines = lines_of_the_setting(make.rig(evse=evse), make.vehicle(inlet="type-2"))

    assert lines == ["Leave it at mark 48."]


def test_building_wire_is_on_no_reel():
    wired = make.planned(make.rig(supply=[make.breaker(60.0), make.wire("4")])).steps
    corded = make.planned(make.rig(supply=[make.breaker(40.0), make.cord("4")])).steps

    assert not any("Supply cord" in step for step in wired)
    assert any(step.startswith("Supply cord and cable off the reel to the last turn") for step in corded)


def test_what_is_thawed_or_woken_first_stands_between_the_safe_place_and_the_cable():
    condition = Condition(port="frozen", twelve_volt="flat")
    steps = make.planned(condition=condition).steps

    assert steps[0].startswith("Before driving out: bring a 12 V supply with its leads; ")
    assert steps[0].endswith("; de-icer for the seam of the door; dry cloths.")
    words = ["Engine outdoors", "Wake the 12 V battery first", "Thaw the port first", "Cable off the reel"]
    assert indices(steps, words) == sorted(indices(steps, words))


# ------------------------------------------------------------------------------------------------------------ ladder


def test_the_ladder_is_in_its_fixed_order():
    rig = make.rig(evse=make.evse(16, 24, 32, connector="j3400"), adapters=[TO_J1772])

    assert nothing_happens(found_for(rig)) == (
        "Read the EVSE's light or code and write it down: ready means that it waits for the vehicle, a fault that it "
        "stopped itself.",
        "A ground-fault or no-ground light means stop: the bond at the source is missing or double, or something leaks; "
        "never defeat it.",
        "Push the connector home until it latches, the adapter too: half in, neither side knows that the other is there.",
        "Vehicle in Park; key well away from it, then doors locked: some start to charge only then.",
        "Dash and owner's phone: scheduled charging and departure time off, limit 100 %, charge not stopped there: else "
        "it only waits.",
        "In the cold wait 10 minutes: a cold pack warms itself first, with a few kW on the meter and no percent.",
        "Connector out, ten seconds, in again: if it starts, the two had only missed each other's signal.",
        "If it started and let go: one mark lower, 24, and read back; if that holds, the set's volts had folded.",
        "Adapter out and in again: if it starts, a contact in that joint had not closed.",
        "Connector out, EVSE off and on, set to mark 16, read back 16 A, in again: if it starts, the EVSE had hung.",
        "12 V low: supply at its posts, by the owner's manual, never on a frozen or leaking one; if the dash wakes, it "
        "was too weak to switch the big battery on.",
        "After 15 minutes, a cold wait and a 12 V supply not counted, another rig or a tow: what is left is not mended "
        "at a roadside.",
    )
    assert len(NOTHING_HAPPENS) == 12


@pytest.mark.parametrize(
    ("rig", "missing", "power_cycle"),
    [
        (make.rig(evse=make.evse(16, 32, set_by="inside_tools")), {"adapter", "lower"}, "on, read back 32 A, in"),
        (
            make.rig(source=STORE, evse=make.evse(16, 32)),
            {"adapter", "lower"},
            "on, set to mark 32, read back 32 A, in",
        ),
        (make.rig(evse=make.evse(32)), {"adapter", "lower"}, "on, set to mark 32, read back 32 A, in"),
        (make.rig(evse=make.evse(16, 32)), {"adapter"}, "on, set to mark 16, read back 16 A, in"),
    ],
)
def test_the_ladder_leaves_out_what_the_rig_and_its_way_do_not_have(rig, missing, power_cycle):
    looks = nothing_happens(found_for(rig))

    kept = [look.text.split("{")[0] for look in NOTHING_HAPPENS if look.code not in missing]
    assert [look.startswith(text) for look, text in zip(looks, kept, strict=True)] == [True] * len(kept)
    assert any(power_cycle in look for look in looks)


def test_the_ladder_names_the_bond_where_it_is_and_the_other_adapter_with_its_mark(dataset):
    outlet = nothing_happens(found_for(outlet_rig()))
    call = Call("trailhead-van", "midsize-sedan", 12, ToPercent(30))
    first = dataset.adapters["j1772-to-j3400-48a"]
    other = first.model_copy(update={"id": "second", "name": "Second adapter", "rating_current_a": 44.0})
    rig = dataset.rigs["trailhead-van"].model_copy(update={"adapters": (first.id, "second")})
    both = replace(dataset, adapters={**dataset.adapters, "second": other}, rigs={**dataset.rigs, rig.id: rig})

    assert any("the bond at the site's service is missing or double" in look for look in outlet)
    # 0.8 of 44 A is 35.2 A: the same mark 40, which tells 32 A.
    (look,) = [look for look in nothing_happens(answer(both, call)) if look.startswith("Adapter out")]
    assert look.startswith("Adapter out and in again, then ")
    assert " at mark 40 at most: " in look


def test_there_is_no_ladder_where_nothing_may_be_plugged_in(dataset):
    assert nothing_happens(answer(dataset, Call("fairground-spare", "compact-hatch", 12, ToPercent(30)))) == ()


# ------------------------------------------------------------------------------------------------------------- abort


def test_an_engine_is_given_up_by_what_can_hurt_first():
    found = found_for(make.rig())
    lines = [line.text for line in abort(found, make.dataset(), give_up=("Stop if nothing lights up.",))]

    assert lines[:9] == [
        "Smoke, hissing, a smell, a warning: breaker off if that is safe, 75 ft (25 m) away, 911.",
        "CO alarm, headache: engine off, all out, upwind, 911.",
        "A breaker or the EVSE trips twice.",
        "A plug or coupler too hot for a bare hand.",
        "Hertz or volts past their stop figures for a minute: stop the charge.",
        "Water rising round the vehicle or our gear, or lightning.",
        "Traffic or the place gets unsafe.",
        "Somebody gets into a vehicle within 20 ft of the engine: engine off until they are out.",
        "No current 15 minutes after plugging in.",
    ]
    assert lines[9].startswith("The dash percent has not risen after ")
    assert "of fuel left in tank and cans: stop there." in lines[10]
    assert lines[11:] == ["Stop if nothing lights up."]


def test_a_store_is_given_up_without_a_word_of_an_engine():
    lines = [line.text for line in abort(found_for(make.rig(source=STORE)), make.dataset())]

    assert lines[:7] == [
        "Smoke, hissing, a smell, a warning: breaker off if that is safe, 75 ft (25 m) away, 911.",
        "A breaker or the EVSE trips twice.",
        "A plug or coupler too hot for a bare hand.",
        "Volts past their stop figures for a minute: stop the charge.",
        "Water rising round the vehicle or our gear, or lightning.",
        "Traffic or the place gets unsafe.",
        "No current 15 minutes after plugging in.",
    ]
    assert lines[8:] == ["The rig's own battery at 10 %, its floor: stop there."]


def test_printed_sheets_and_plans_say_the_same_in_the_same_order():
    lines = [line.text for line in abort(found_for(make.rig()), make.dataset())]

    printed = [line.text for line in ALWAYS_ABORT]
    assert [text for text in lines if text in printed] == printed
    assert ENGINE_ABORT.text in lines


# ------------------------------------------------------------------------------------------------------------- watch


def test_every_line_holds_what_is_expected_and_stops_within_the_parts():
    cord = make.cord("4", temperature_rating_c=90, termination_column_c=75)
    for evse_a in (16, 32, 48):
        rig = make.rig(supply=[make.breaker(60.0), cord], evse=make.evse(evse_a))
        found = found_for(rig)
        expected = [found.rate.current_a, found.rate.voltage_evse_v, found.rate.power_meter_kw]
        lines = plan(make.dataset(rig), Call(rig.id, "made", 10, ToPercent(80))).watch

        for line, value in zip(lines, expected, strict=False):
            assert line.low <= value <= line.high <= line.stop_above
        assert lines[0].stop_above <= min(link.limit_a for link in found.chain)


def test_the_kilowatts_to_stop_at_are_the_amps_at_the_highest_volts():
    """16 A at 250 V, the highest that this source steadily shows: 4 kW, less than 1.05 of 16 A at 240 V."""
    source = make.source(voltage_v={"low": 235.0, "typical": 240.0, "high": 250.0})
    found = make.planned(make.rig(source=source, evse=make.evse(16)))
    power = next(line for line in found.watch if line.what == "power at the meter")

    assert power.stop_above == pytest.approx(4.0)
    assert power.high == pytest.approx(4.0)


def test_the_volts_to_stop_below_leave_the_charger_what_it_needs():
    """A charger from 230 V up: at the EVSE that is 230 V and the drop in the cable, not the 216 V of the service."""
    made = make.vehicle()
    charger = made.onboard_charger.model_copy(update={"voltage_low_v": 230.0})
    found = make.planned(make.rig(evse=make.evse(16)), made.model_copy(update={"onboard_charger": charger}))
    volts = next(line for line in found.watch if line.unit == "V")

    drop_v = found.voltage_evse_v - found.voltage_inlet_v
    assert volts.stop_below == pytest.approx(230.0 + drop_v)
    assert 230.0 < volts.stop_below < volts.low


# ---------------------------------------------------------------------------------------------------------- sentence


def sure_plan(rig=None, vehicle=None, need=None, **site):
    rig, vehicle = rig or make.rig(), vehicle or make.vehicle()
    return plan_with_bands(make.dataset(rig, vehicle), Call(rig.id, vehicle.id, 10, need or ToPercent(80), **site))


def test_the_customer_hears_the_high_end_of_the_minutes_and_the_low_end_of_the_miles():
    found = sure_plan(make.rig(evse=make.evse(16)), need=Miles(60.0))

    assert found.say == (
        f"Please allow up to {spoken_minutes(found.minutes_on_site.p90)} from when we arrive. Then your dash should show "
        f"{100 * found.soc_target:.0f} %: that takes you at least 60 miles in nine of ten cases, at ordinary speeds. Go by "
        "the percent, not by the miles it shows. While we charge, everybody stays out of the vehicles and 20 feet or more "
        "away from our engine. Please leave the cabin's heat or cooling off while we charge, switch scheduled charging "
        "off, and keep the key at hand."
    )
    likely = spoken_minutes(found.minutes_on_site.typical)
    assert likely != spoken_minutes(found.minutes_on_site.p90)
    assert f"{likely} from when" not in found.say
    assert "likely" not in found.say
    assert not re.search(r"\d:\d|o'clock|\b[ap]m\b", found.say)


def test_the_miles_of_a_percent_are_those_of_nine_of_ten_cases():
    for road in (Road(), Road(climb_m=300.0), Road(descent_m=300.0)):
        rig, vehicle = make.rig(), make.vehicle()
        call = Call(rig.id, vehicle.id, 10, ToPercent(60), road=road)
        found = answer(make.dataset(rig, vehicle), call)
        said = plan_with_bands(make.dataset(rig, vehicle), call).say
        (miles,) = re.findall(r"(\d+) miles in nine of ten", said)

        stored_wh = found.table.battery_wh_at(60)
        assert found.road.sure_wh(int(miles)) <= stored_wh < found.road.sure_wh(int(miles) + 1) + 1
        assert int(miles) < 10 * stored_wh / found.road.wh_per_10_miles - found.road.hills_wh / 100


def test_without_a_high_end_the_minutes_are_about_and_may_be_more():
    rig, vehicle = make.rig(), make.vehicle()
    data, call = make.dataset(rig, vehicle), Call(rig.id, vehicle.id, 10, ToPercent(80))
    found = answer(data, call)
    shown = plan(data, call)
    sure = bands(data, call, found)
    no_end = replace(sure, on_site=replace(sure.on_site, p90=None))
    said = sentence_to_say(call, found, "serve", shown.minutes_parts, 80, no_end)

    typical = spoken_minutes(shown.minutes_parts.total)
    assert shown.say.startswith(f"Please allow about {typical} from when we arrive. Then")
    assert said.startswith(f"Please allow about {typical} from when we arrive; it may well take longer. Then")


def test_the_sentence_speaks_of_an_engine_and_of_a_cabin_only_where_there_is_one(dataset):
    store = sure_plan(make.rig(source=STORE)).say
    motorcycle = plan(dataset, Call("pass-truck", "electric-motorcycle", 12, ToPercent(80), inlet="j1772")).say

    assert "engine" not in store
    assert "cabin's heat" in store
    assert motorcycle
    assert "cabin" not in motorcycle.split("away from our engine.")[1]
    assert "switch scheduled charging off" in motorcycle


def test_how_to_drive_is_said_with_the_speed_and_the_heat_that_the_miles_rest_on():
    said = sure_plan(need=Miles(30.0), road=Road(speed_mph=45.0, cabin_heat=False)).say

    assert "30 miles in nine of ten cases, at 45 mph without cabin heat or cooling. Go by the percent" in said


def test_nothing_is_said_while_a_question_is_open(dataset):
    found = plan_with_bands(dataset, Call("pass-truck", "plug-in-hybrid-suv", 5, Miles(15.0)))

    assert found.verdict == "ask_first"
    assert found.say == ""


# ---------------------------------------------------------------------------------------------------------- cautions


def texts(found):
    return {caution.code: caution.text for caution in found.cautions}


def test_a_dead_dash_is_cautioned_for_only_while_the_12_v_battery_is_not_known():
    def codes(condition):
        return texts(make.planned(start=DashWord("dead"), condition=condition))

    assert "dead_dash" in codes(None)
    assert "dead_dash" in codes(Condition())
    assert "dead_dash" not in codes(Condition(twelve_volt="good"))
    assert "dead_dash" not in codes(Condition(twelve_volt="flat"))


def test_what_else_hangs_on_the_source_is_kept_to():
    """500 W of lamps; a second EVSE counts with its 16 A, not as a load of its own."""
    alone = texts(make.planned())
    lamps = texts(make.planned(other_load_w=500.0))
    second = texts(make.planned(second_setting_a=16.0))

    assert not {"other_loads", "second_evse"} & set(alone)
    assert lamps["other_loads"] == (
        "500 W of other loads on this source are reckoned with: nothing more is plugged in meanwhile."
    )
    assert "second_evse" not in lamps
    assert second["second_evse"] == (
        "The second EVSE on this source stays at 16 A or less, behind a breaker of its own: its setting counts, not what "
        "its vehicle draws."
    )
    assert "other_loads" not in second


def test_only_a_set_is_refuelled_but_every_engine_is_kept_outdoors():
    of_set, of_truck = texts(make.planned()), texts(make.planned(make.rig(source=truck(engine_may_start=True))))

    assert {"carbon_monoxide", "refuel_cold"} <= set(of_set)
    assert "carbon_monoxide" in of_truck
    assert "refuel_cold" not in of_truck
    assert not {"carbon_monoxide", "refuel_cold"} & set(texts(make.planned(make.rig(source=STORE))))
