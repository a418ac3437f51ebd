"""Laws that every plan keeps, whatever the rig and the class."""

import itertools

import make
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.charge import charge_rate
from planner.report import document, to_text
from planner.trip import Miles, ToPercent

MARKS = (6, 12, 16, 24, 32, 40, 48, 64, 80)
running_w = st.floats(1500, 40000)
device_a = st.sampled_from([15, 20, 30, 40, 50, 60, 80, 100])
size = st.sampled_from(["12", "10", "8", "6", "4", "2"])
ambient_c = st.floats(-40, 50)
altitude_m = st.floats(0, 4000)


def rig(watts, device, wire_size, length_m=5.0):
    return make.rig(
        source=make.generator(watts), supply=[make.breaker(device), make.wire(wire_size, length_m=length_m)]
    )


@st.composite
def vehicles(draw):
    amps = draw(st.floats(8, 80))
    return make.vehicle(
        energy_usable_kwh=draw(st.floats(4, 220)),
        charger_current_a=amps,
        charger_power_kw=draw(st.floats(0.5, 1.0)) * amps * 0.24,
        auxiliaries_kw=draw(st.floats(0.01, 0.03)),
        loss_no_load_kw=draw(st.floats(0.0, 0.03)),
        pilot_margin=draw(st.floats(0, 0.05)),
    )


@settings(max_examples=150, deadline=None)
@given(running_w, device_a, size, vehicles(), ambient_c, altitude_m)
def test_draw_is_at_most_the_setting_and_the_setting_at_most_every_link(
    watts, device, wire_size, vehicle, air_c, height_m
):
    found = make.planned(rig(watts, device, wire_size), vehicle, ambient_c=air_c, altitude_m=height_m)
    if found.setting is None:
        return
    passive = [link for link in found.chain if link.link != "onboard_charger"]

    assert found.current_a <= found.setting.output_a + 1e-9
    assert all(found.setting.output_a <= link.limit_a + 1e-6 for link in passive)
    assert found.power_meter_kw >= found.power_inlet_kw >= found.power_battery_kw > 0
    assert found.voltage_evse_v >= found.voltage_inlet_v
    assert found.setting.output_a in MARKS


@settings(max_examples=100, deadline=None)
@given(vehicles(), st.integers(0, 60), st.integers(1, 38), st.sampled_from([(16, 24), (24, 32), (32, 48), (48, 80)]))
def test_more_allowed_amps_are_never_slower_in_the_same_air(vehicle, start, more, pair):
    """Held fixed: vehicle, source volts, air, wiring. Only the setting rises."""
    slow, fast = (
        make.planned(make.rig(evse=make.evse(setting)), vehicle, start=start, need=ToPercent(start + more))
        for setting in pair
    )

    assert fast.minutes_charging.typical <= slow.minutes_charging.typical


@settings(max_examples=100, deadline=None)
@given(vehicles(), st.integers(0, 97), st.integers(0, 97), st.integers(0, 97))
def test_typical_seconds_add_up(vehicle, first, second, third):
    """Held fixed: rig and air. A charge in two parts takes as long as in one, to the second."""
    made = make.rig(evse=make.evse(32))
    _, table = charge_rate(make.dataset(made, vehicle), made, vehicle, setting_a=32, ambient_c=20)
    low, middle, high = sorted((first, second, third))
    seconds = table.seconds

    assert (seconds[high] - seconds[middle]) + (seconds[middle] - seconds[low]) == seconds[high] - seconds[low]
    assert all(later >= earlier for earlier, later in itertools.pairwise(seconds))


@settings(max_examples=200, deadline=None)
@given(vehicles(), st.sampled_from(MARKS), st.integers(0, 400_000))
def test_the_percent_reached_in_a_time_is_the_last_entry_of_the_table_that_fits(vehicle, setting, until_s):
    made = make.rig(evse=make.evse(setting))
    _, table = charge_rate(make.dataset(made, vehicle), made, vehicle, setting_a=setting, ambient_c=20)
    by_walking = max(percent for percent in range(101) if table.seconds[percent] <= until_s)

    assert table.percent_at(until_s) == by_walking
    assert table.percent_at(table.seconds[50]) == 50


@settings(max_examples=100, deadline=None)
@given(vehicles(), st.sampled_from(MARKS), st.floats(0, 1), st.floats(0, 1))
def test_published_table_is_within_two_percent_of_charge_and_a_second_of_the_exact_curve(
    vehicle, setting, first, second
):
    from planner.battery import hours_from_empty_h

    made = make.rig(evse=make.evse(setting))
    _, table = charge_rate(make.dataset(made, vehicle), made, vehicle, setting_a=setting, ambient_c=20)
    low, high = sorted((first * 0.98, second * 0.98))
    curve = {"energy_usable_kwh": table.energy_usable_kwh, "power_battery_kw": table.power_battery_kw}
    exact_s = 3600 * (hours_from_empty_h(soc=high, **curve) - hours_from_empty_h(soc=low, **curve))
    start, target = int(low * 100), -int(-high * 100 // 1)
    published_s = table.seconds[target] - table.seconds[start]
    two_percent_s = max(table.seconds[target] - table.seconds[max(target - 1, 0)], table.seconds[1]) * 2

    assert exact_s - 1 <= published_s <= exact_s + two_percent_s + 1


@settings(max_examples=150, deadline=None)
@given(device_a, size, ambient_c, st.sampled_from(MARKS), st.sampled_from(MARKS))
def test_no_setting_turns_a_protection_finding_green(device, wire_size, air_c, first, second):
    """Held fixed: wiring and air. Whatever the unit is set to, the findings are the same."""

    def stops(setting):
        made = make.rig(supply=[make.breaker(device), make.cord(wire_size)], evse=make.evse(setting, set_by="fixed"))
        found = make.planned(made, ambient_c=air_c)
        return [(item.code, item.part) for item in found.findings if item.level == "stop"], found.verdict

    (found_first, verdict_first), (found_second, verdict_second) = stops(first), stops(second)
    assert found_first == found_second
    if found_first:
        assert verdict_first == verdict_second == "cannot_serve"


@settings(max_examples=100, deadline=None)
@given(device_a, size, st.floats(30, 50), st.floats(0, 10))
def test_warmer_air_never_protects_and_never_allows_more(device, wire_size, air_c, warming_c):
    """Held fixed: wiring and source at sea level."""
    made = make.rig(supply=[make.breaker(device), make.wire(wire_size)])
    cool = make.planned(made, ambient_c=air_c)
    warm = make.planned(made, ambient_c=air_c + warming_c)
    limits = [{link.id: link.limit_a for link in found.chain} for found in (cool, warm)]

    assert {item.part for item in cool.findings} <= {item.part for item in warm.findings}
    assert all(
        limits[1][name] <= limit + 1e-9 for name, limit in limits[0].items() if name != "charger" and name in limits[1]
    )


@settings(max_examples=60, deadline=None)
@given(vehicles(), st.integers(0, 90), st.floats(1, 150), st.integers(0, 20))
def test_miles_and_percent_agree(vehicle, start, distance_mi, reserve):
    """A plan for miles and one for the percent that it came to are the same plan."""
    by_miles = make.planned(vehicle_made=vehicle, start=start, need=Miles(distance_mi, reserve))
    if by_miles.minutes_charging is None:
        return
    by_percent = make.planned(vehicle_made=vehicle, start=start, need=ToPercent(round(100 * by_miles.soc_target)))

    assert by_percent.minutes_charging.typical == by_miles.minutes_charging.typical
    assert by_percent.energy_meter_kwh == by_miles.energy_meter_kwh


@settings(max_examples=60, deadline=None)
@given(running_w, device_a, vehicles(), st.integers(0, 100), st.integers(0, 100), ambient_c, altitude_m)
def test_json_and_text_of_every_plan_hold(watts, device, vehicle, start, to, air_c, height_m):
    import json

    found = make.planned(
        make.rig(source=make.generator(watts), supply=[make.breaker(device)]),
        vehicle,
        start=start,
        need=ToPercent(to),
        ambient_c=air_c,
        altitude_m=height_m,
    )

    json.dumps(document(found), allow_nan=False)
    text = to_text(found)
    assert found.reasons[0].text.split()[0] in text
    assert max(map(len, text.splitlines())) <= 100
