"""What a path makes of a plan: its caps, a loose cable's code, volts, phases, ports, cables, where an adapter is kept.

Which paths are open at all is judged in `test_mating.py`. Parts are made, so that each test states its own numbers.
"""

import itertools
from dataclasses import replace
from pathlib import Path

import make
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from planner.answer import Call
from planner.chain import UNSENSED_ADAPTER_FACTOR
from planner.errors import DataError, QuantityError
from planner.loading import load, load_for_plan
from planner.mating import code_told_a, has_one_certain_port, paths, share_reached
from planner.planning import plan
from planner.protection import findings
from planner.records import Adapter, Cable
from planner.trip import ToPercent

SHIPPED = Path(__file__).resolve().parents[2] / "vehicle_data"
ALL_MARKS_A = (6, 12, 16, 20, 24, 32, 40, 48, 64, 80)
# iec-62196-2: 63 A on three phases, 70 A on one; the lower is what the shipped records keep for both.
TYPE_2_MAX_A = 63
# iec-62196-2, cable codes, by the readme of an open controller: the resistor's amps.
CODES_A = (13, 20, 32, 63)


def made_adapter(takes, becomes, *, rating_a=80.0, name="", **changes):
    fields = {"rating_current_a": rating_a, "rating_voltage_v": 250.0, "temperature_sensing": True, "latch": "made"}
    words = name or f"{takes} to {becomes} adapter"
    ends = {"carries": "ac", "takes": takes, "becomes": becomes, "listing": "ul2252"}
    return Adapter.model_validate(
        {"id": f"made-{words.lower().replace(' ', '-')}"[:40], "name": words, **ends, **fields, **changes}
    )


def unit(*marks_a, connector="j1772", others=(), **cable):
    """Return an EVSE on a knob with one cable, or several: each given as what it changes."""
    made = make.evse(*marks_a, connector=connector)
    made["cable"] |= cable
    return {**made, "other_cables": [{**made["cable"], **other} for other in others]}


def rated(record, world="ac", **changes):
    """Return a coupler with other ratings."""
    return record.model_copy(update={world: getattr(record, world).model_copy(update=changes)})


def data_with(rig, vehicle, *adapters, connectors=(), inlets=()):
    base = make.dataset(rig, vehicle)
    return replace(
        base,
        adapters={**base.adapters, **{adapter.id: adapter for adapter in adapters}},
        connectors={**base.connectors, **{connector.id: connector for connector in connectors}},
        inlets={**base.inlets, **{inlet.id: inlet for inlet in inlets}},
    )


def planned(rig, vehicle, *adapters, connectors=(), inlets=(), start=10, **call):
    asked = Call(rig.id, vehicle.id, start, ToPercent(80), **call)
    return plan(data_with(rig, vehicle, *adapters, connectors=connectors, inlets=inlets), asked)


def codes(found):
    return [reason.code for reason in found.reasons]


def rung(found, kind):
    return next((link for link in found.chain if link.link == kind), None)


def holding(found):
    (link,) = [link for link in found.chain if link.sets_current]
    return link.link


def ports(*shares):
    return [{"inlet": inlet, "share": share, "places": [{"at": "nose"}]} for inlet, share in shares]


# --------------------------------------------------------------------------------------------------------------- caps

# (connector, inlet, adapter's other end or None): every kind of open path of one signal, AC and one phase.
OPEN_PATHS = (
    ("j1772", "j1772", None),
    ("j1772", "ccs1", None),
    ("j3400", "j3400", None),
    ("type-2", "type-2", None),
    ("type-2", "ccs2", None),
    ("gb-t-ac", "gb-t-ac", None),
    ("j1772", "j3400", "j3400"),
    ("j1772", "type-2", "type-2"),
    ("j1772", "ccs2", "type-2"),
    ("j3400", "j1772", "j1772"),
    ("j3400", "ccs1", "j1772"),
    ("j3400", "type-2", "type-2"),
    ("type-2", "j1772", "j1772"),
    ("type-2", "ccs1", "j1772"),
    ("type-2", "j3400", "j3400"),
)
RATING_A = st.sampled_from(
    (4.0, 6.0, 7.4, 7.5, 13.0, 16.0, 20.0, 29.9, 30.0, 32.0, 40.0, 48.0, 60.0, 63.0, 80.0, 100.0)
)


@settings(max_examples=400)
@given(
    way=st.sampled_from(OPEN_PATHS),
    marks_a=st.sets(st.sampled_from(ALL_MARKS_A), min_size=1),
    label_a=RATING_A,
    sensing=st.booleans(),
    connector_a=RATING_A,
    inlet_a=RATING_A,
    cable_a=RATING_A,
)
def test_the_setting_is_the_largest_that_adapter_connector_inlet_and_cable_all_carry(
    way, marks_a, label_a, sensing, connector_a, inlet_a, cable_a
):
    connector, inlet, becomes = way
    shipped = make.shipped_dataset()
    adapters = (
        () if becomes is None else (made_adapter(connector, becomes, rating_a=label_a, temperature_sensing=sensing),)
    )
    rig = make.rig(
        evse=unit(*sorted(marks_a), connector=connector, rating_a=cable_a),
        adapters=[adapter.id for adapter in adapters],
    )
    found = planned(
        rig,
        make.vehicle(inlet=inlet),
        *adapters,
        connectors=[rated(shipped.connectors[connector], current_a=connector_a)],
        inlets=[rated(shipped.inlets[inlet], current_a=inlet_a)],
    )
    # common practice, no source: a contact without a sensor is held to 0.8 of its label.
    adapter_a = label_a * (1.0 if sensing else 0.8) if adapters else 80.0
    allowed_a = min(adapter_a, connector_a, inlet_a, cable_a)
    carried = [mark_a for mark_a in marks_a if mark_a <= allowed_a + 1e-9]

    if allowed_a < 6:
        assert (found.verdict, codes(found)[0]) == ("cannot_serve", "below_6_a")
    elif not carried:
        assert (found.verdict, codes(found)[0]) == ("cannot_serve", "no_setting_low_enough")
    else:
        assert found.setting.output_a == max(carried)
        assert found.current_a <= max(carried) + 1e-9


def test_the_share_of_an_adapter_without_a_sensor_is_that_of_the_design():
    assert UNSENSED_ADAPTER_FACTOR == 0.8


@pytest.mark.parametrize(("sensing", "mark_a", "allowed_a"), [(True, 40.0, 40.0), (False, 32.0, 32.0)])
def test_a_40_a_adapter_carries_40_a_with_a_sensor_and_32_a_without(sensing, mark_a, allowed_a):
    adapter = made_adapter("j1772", "j3400", rating_a=40.0, temperature_sensing=sensing)
    found = planned(make.rig(evse=unit(), adapters=[adapter.id]), make.vehicle(inlet="j3400"), adapter)

    assert found.setting.output_a == mark_a
    assert rung(found, "adapter").limit_a == pytest.approx(allowed_a)
    assert rung(found, "adapter").sets_setting
    assert rung(found, "adapter").source == ("ul-2252" if sensing else "common practice, no source")


@pytest.mark.parametrize("kind", ["connector", "inlet", "cable", "adapter"])
def test_each_part_of_the_path_holds_back_by_itself(kind):
    """The other three carry 80 A: the one left at 20 A takes the setting to 20 A and is named for it."""
    shipped = make.shipped_dataset()
    of = {part: 20.0 if part == kind else 80.0 for part in ("connector", "inlet", "cable", "adapter")}
    adapter = made_adapter("j1772", "j3400", rating_a=of["adapter"])
    found = planned(
        make.rig(evse=unit(*ALL_MARKS_A, rating_a=of["cable"]), adapters=[adapter.id]),
        make.vehicle(inlet="j3400"),
        adapter,
        connectors=[rated(shipped.connectors["j1772"], current_a=of["connector"])],
        inlets=[rated(shipped.inlets["j3400"], current_a=of["inlet"])],
    )

    assert found.setting.output_a == 20.0
    assert [link.link for link in found.chain if link.sets_setting] == [kind]


# -------------------------------------------------------------------------------------------------------- loose cable


@pytest.mark.parametrize("inlet", ["type-2", "ccs2"])
@pytest.mark.parametrize("code_a", CODES_A)
@pytest.mark.parametrize("mark_a", [6, 13, 16, 20, 24, 32, 40, 48, 63, 80])
def test_a_loose_cable_lets_the_vehicle_draw_the_less_of_pilot_and_code(inlet, code_a, mark_a):
    """iec-62196-2 and iec-61851-1, case B: the vehicle reads the resistor at its end and draws no more than that."""
    rig = make.rig(evse=unit(*sorted({6, mark_a}), connector="type-2", code_a=code_a, rating_a=63.0))
    found = planned(rig, make.vehicle(inlet=inlet))
    set_a = mark_a if mark_a <= TYPE_2_MAX_A else 6

    assert found.setting.output_a == set_a
    assert found.current_a == pytest.approx(min(set_a, code_a))
    assert found.path.cable_code_a == code_a
    assert rung(found, "cable_code").limit_a == code_a
    if code_a < set_a:
        assert holding(found) == "cable_code"
        assert not rung(found, "cable_code").sets_setting
    elif code_a > set_a:
        assert holding(found) != "cable_code"
    assert "loose_cable" in {caution.code for caution in found.cautions}


@pytest.mark.parametrize("code_a", CODES_A)
@pytest.mark.parametrize("connector", ["j1772", "type-2"])
def test_where_the_code_is_not_told_the_setting_is_held_to_it(code_a, connector):
    """Through an adapter, or with a J1772 end, the vehicle reads a latch and no code: what is set may be drawn."""
    adapters = [made_adapter("type-2", "j1772")] if connector == "type-2" else []
    rig = make.rig(
        evse=unit(*ALL_MARKS_A, 13, connector=connector, code_a=code_a, rating_a=80.0),
        adapters=[adapter.id for adapter in adapters],
    )
    found = planned(rig, make.vehicle(), *adapters)

    assert found.setting.output_a == max(mark_a for mark_a in (*ALL_MARKS_A, 13) if mark_a <= code_a)
    assert found.current_a <= code_a
    assert found.path.cable_code_a is None
    assert rung(found, "cable_code") is None
    assert rung(found, "cable").limit_a == code_a
    assert rung(found, "cable").rating_a == 80.0


@pytest.mark.parametrize("first", ["type-2", "j1772"])
def test_a_code_told_to_one_port_is_still_not_told_to_the_other(first):
    """One call, two ports: straight into Type 2 at 32 A with 20 A told; by the adapter at a mark of 20 A."""
    second = "j1772" if first == "type-2" else "type-2"
    adapter = made_adapter("type-2", "j1772")
    rig = make.rig(evse=unit(20, 32, connector="type-2", code_a=20, rating_a=32.0), adapters=[adapter.id])
    found = planned(rig, make.vehicle(ports=ports((first, 0.6), (second, 0.4))), adapter)
    (other,) = found.other_paths

    assert {found.path.inlet: found.setting.output_a, other.inlet: other.output_a} == {"type-2": 32.0, "j1772": 20.0}
    assert found.path.inlet == first
    assert found.current_a == pytest.approx(20.0)


def test_a_fixed_unit_on_a_cable_whose_code_is_not_told_is_refused():
    """Straight into Type 2 the vehicle holds itself to 20 A; by an adapter nothing does, and nobody can turn it down."""
    adapter = made_adapter("type-2", "j1772")
    fixed = {**unit(32, connector="type-2", code_a=20, rating_a=32.0), "set_by": "fixed"}
    rig = make.rig(evse=fixed, adapters=[adapter.id])
    straight, around = planned(rig, make.vehicle(inlet="type-2"), adapter), planned(rig, make.vehicle(), adapter)

    assert (straight.setting.output_a, straight.current_a) == (32.0, pytest.approx(20.0))
    assert (around.verdict, codes(around)[0]) == ("cannot_serve", "setting_too_high")
    assert around.reasons[0].text.startswith(
        "The unit stands at mark 32 (32 A) and cannot be changed on site; EVSE cable carries 20 A at most, 12 A less."
    )


def test_a_captive_cable_has_no_code_to_tell():
    found = planned(make.rig(evse=unit(connector="type-2", rating_a=32.0)), make.vehicle(inlet="type-2"))

    assert found.setting.output_a == 32.0
    assert rung(found, "cable_code") is None
    assert "loose_cable" not in {caution.code for caution in found.cautions}


@pytest.mark.parametrize("connector", ["j1772", "j3400", "ccs1", "type-2", "ccs2", "j3068", "gb-t-ac", "chademo"])
def test_only_a_type_2_contact_tells_a_code_and_only_straight(dataset, connector):
    """iec-62196-2 codes cables of configuration 2 and its combo; J3068 has that shape. Type 1 and J3400 tell a latch."""
    half = dataset.connectors[connector]
    cable = Cable(connector=connector, rating_a=63.0, size_awg="4", temperature_rating_c=105, length_m=5.0, code_a=32)
    plain = cable.model_copy(update={"code_a": None})
    adapter = made_adapter(connector, "ccs1" if connector == "j1772" else "j1772")

    assert code_told_a(half, None, cable) == (32.0 if connector in {"type-2", "ccs2", "j3068"} else None)
    assert code_told_a(half, adapter, cable) is None
    assert code_told_a(half, None, plain) is None


@pytest.mark.parametrize(("code_a", "rating_a"), [(63, 32), (32, 31), (20, 16), (13, 12)])
def test_a_cable_that_tells_more_than_it_carries_is_refused_when_read(tmp_path, code_a, rating_a):
    text = (SHIPPED / "rigs" / "fairground-spare.yaml").read_text(encoding="utf-8")
    old = "    connector: j1772\n    rating_a: 32\n"
    assert text.count(old) == 1
    text = text.replace(old, f"    connector: type-2\n    rating_a: {rating_a}\n    code_a: {code_a}\n")
    (tmp_path / "rigs").mkdir()
    (tmp_path / "rigs" / "loose.yaml").write_text(text, encoding="utf-8")
    line = next(number for number, row in enumerate(text.splitlines(), 1) if row.startswith("    code_a:"))
    with pytest.raises(DataError) as caught:
        load([tmp_path])

    assert [str(problem).replace(f"{tmp_path}/", "") for problem in caught.value.problems] == [
        f"rigs/loose.yaml:{line}:13: evse.cable.code_a: expected at most rating_a, {rating_a} A, got {code_a} A; measure the "
        "resistor and read the jacket again: a cable that tells too much is scrapped"
    ]


def test_a_code_up_to_the_rating_is_read(tmp_path):
    text = (SHIPPED / "rigs" / "fairground-spare.yaml").read_text(encoding="utf-8")
    old = "    connector: j1772\n    rating_a: 32\n"
    (tmp_path / "rigs").mkdir()
    (tmp_path / "rigs" / "loose.yaml").write_text(
        text.replace(old, "    connector: type-2\n    rating_a: 32\n    code_a: 32\n"), encoding="utf-8"
    )

    assert load([tmp_path]).rigs["loose"].evse.cable.code_a == 32


# -------------------------------------------------------------------------------------------------------------- volts

# Steady volts around each nominal; all but the last lie under 250 V.
SOURCES_V = {
    "one_leg_120": (116.0, 120.0, 124.0),
    "three_phase_208_line_to_line": (203.0, 208.0, 212.0),
    "split_phase_240": (235.0, 240.0, 245.0),
    "line_to_neutral_277": (270.0, 277.0, 284.0),
}
PARTS = ("connector", "inlet", "adapter", "evse", "charger")
LOWER_V, UPPER_V = 250.0, 300.0


def planned_at(connection, for_250_v, *, evse_low_v=100.0, charger_low_v=100.0):
    """Plan J1772 by an adapter into J3400 with these parts made for 250 V and the others for 300 V."""
    shipped = make.shipped_dataset()
    bears_v = {part: LOWER_V if part in for_250_v else UPPER_V for part in PARTS}
    low_v, typical_v, high_v = SOURCES_V[connection]
    adapter = made_adapter("j1772", "j3400", name="Made adapter", rating_voltage_v=bears_v["adapter"])
    vehicle = make.vehicle(inlet="j3400")
    charger = vehicle.onboard_charger.model_copy(
        update={"voltage_high_v": bears_v["charger"], "voltage_low_v": charger_low_v}
    )
    rig = make.rig(
        source=make.source(connection=connection, voltage_v={"low": low_v, "typical": typical_v, "high": high_v}),
        evse={**unit(), "voltage_high_v": bears_v["evse"], "voltage_low_v": evse_low_v},
        adapters=[adapter.id],
    )
    return planned(
        rig,
        vehicle.model_copy(update={"onboard_charger": charger}),
        adapter,
        connectors=[rated(shipped.connectors["j1772"], voltage_v=bears_v["connector"])],
        inlets=[rated(shipped.inlets["j3400"], voltage_v=bears_v["inlet"])],
    )


EVERY_CHOICE = [parts for count in range(len(PARTS) + 1) for parts in itertools.combinations(PARTS, count)]


@pytest.mark.parametrize("connection", SOURCES_V)
@pytest.mark.parametrize("for_250_v", EVERY_CHOICE, ids=lambda parts: "+".join(parts) or "none")
def test_volts_are_served_only_where_every_part_bears_them(connection, for_250_v):
    found = planned_at(connection, for_250_v)

    if SOURCES_V[connection][2] > LOWER_V and for_250_v:
        assert (found.verdict, codes(found)[0]) == ("cannot_serve", "voltage_too_high")
        assert found.setting is None
    else:
        assert found.verdict in {"serve", "serve_with_changes"}
        # Served at the volts of this source less what a short run of large wire takes.
        assert 0.9 * SOURCES_V[connection][1] < found.voltage_inlet_v <= SOURCES_V[connection][2]


@pytest.mark.parametrize(
    ("part", "name"),
    [
        ("connector", "J1772 connector"),
        ("inlet", "J3400 inlet"),
        ("adapter", "Made adapter"),
        ("evse", "The EVSE"),
        ("charger", "Made class's charger"),
    ],
)
def test_the_one_part_for_250_v_refuses_277_v_by_name(part, name):
    reason = planned_at("line_to_neutral_277", (part,)).reasons[0]

    assert reason.code == "voltage_too_high"
    assert reason.text == (
        f"{name} takes 250 V at most; this source gives up to 284 V. "
        "Use a source of lower voltage, or a part rated for it."
    )


def test_an_evse_for_208_v_and_up_refuses_120_v():
    reason = planned_at("one_leg_120", (), evse_low_v=208.0).reasons[0]

    assert reason.code == "voltage_too_low"
    assert reason.text == "The EVSE needs 208 V; this source may fall to 116 V. Use a source of higher voltage."
    assert planned_at("split_phase_240", (), evse_low_v=208.0).verdict in {"serve", "serve_with_changes"}


def test_a_charger_for_200_v_and_up_refuses_120_v():
    reason = planned_at("one_leg_120", (), charger_low_v=200.0).reasons[0]

    assert reason.code == "voltage_too_low"
    assert reason.text.startswith("Made class's charger needs 200 V; this source may fall to 116 V.")


@pytest.mark.parametrize(("bears_v", "refused"), [(283.9, True), (284.0, False), (277.0, True), (270.0, True)])
def test_the_highest_steady_volts_decide_and_not_the_typical(bears_v, refused):
    """The source shows 270 to 284 V under load."""
    low_v, typical_v, high_v = SOURCES_V["line_to_neutral_277"]
    vehicle = make.vehicle()
    charger = vehicle.onboard_charger.model_copy(update={"voltage_high_v": 300.0})
    connector, inlet = (
        rated(kind["j1772"], voltage_v=300.0)
        for kind in (make.shipped_dataset().connectors, make.shipped_dataset().inlets)
    )
    volts_v = {"low": low_v, "typical": typical_v, "high": high_v}
    rig = make.rig(
        source=make.source(connection="line_to_neutral_277", voltage_v=volts_v),
        evse={**unit(), "voltage_high_v": bears_v},
    )
    found = planned(
        rig, vehicle.model_copy(update={"onboard_charger": charger}), connectors=[connector], inlets=[inlet]
    )

    assert (codes(found)[0] == "voltage_too_high") is refused


@pytest.mark.parametrize(("needs_v", "refused"), [(116.0, False), (116.1, True), (120.0, True), (124.0, True)])
def test_the_lowest_steady_volts_decide_and_not_the_typical(needs_v, refused):
    """The source shows 116 to 124 V under load."""
    found = planned_at("one_leg_120", (), charger_low_v=needs_v)

    assert (codes(found)[0] == "voltage_too_low") is refused


def test_power_follows_the_volts_of_the_connection():
    """Limit case: the same 32 A gives the ratio of the volts, 120 : 208 : 240 : 277, at the meter of a short run."""
    low = {}
    for connection, (_, typical_v, _) in SOURCES_V.items():
        found = planned_at(connection, ())
        low[connection] = found.power_meter_kw / (found.current_a * typical_v / 1000)

    assert all(0.98 < share <= 1.0 for share in low.values())


def test_shipped_couplers_bear_240_v_and_none_of_north_america_277_v(dataset):
    """sae-j1772: 240 V nominal. J3400's 277 V stands in secondary print alone, so it is not taken up."""
    for kind in (dataset.connectors, dataset.inlets):
        for part in ("j1772", "j3400"):
            assert 245 < kind[part].ac.voltage_v < 277


# ----------------------------------------------------------------------------------------- one phase of a three-phase


def three_phase(**changes):
    vehicle = make.vehicle(**changes)
    return vehicle.model_copy(update={"onboard_charger": vehicle.onboard_charger.model_copy(update={"phases": 3})})


@pytest.mark.parametrize(("charger_a", "charger_kw"), [(16.0, 3.7), (32.0, 7.4), (32.0, 3.7)])
@pytest.mark.parametrize("inlet", ["type-2", "ccs2"])
def test_a_three_phase_charger_draws_on_one_phase_what_its_record_says(inlet, charger_a, charger_kw):
    vehicle = three_phase(inlet=inlet, charger_current_a=charger_a, charger_power_kw=charger_kw)
    found = planned(make.rig(evse=unit(40, connector="type-2")), vehicle)

    assert found.setting.output_a == 40.0
    assert holding(found) == "onboard_charger"
    assert "one phase of its three" in rung(found, "onboard_charger").basis
    assert "one_phase_of_three" in {caution.code for caution in found.cautions}
    # P = V I of one phase; never the 11 or 22 kW of its three.
    assert found.current_a == pytest.approx(min(charger_a, 1000 * charger_kw / found.voltage_inlet_v), rel=0.01)
    assert found.power_inlet_kw <= charger_kw + 1e-6
    assert found.power_inlet_kw == pytest.approx(found.voltage_inlet_v * found.current_a / 1000, rel=1e-6)


def test_a_charger_of_one_phase_has_no_word_of_three():
    found = planned(make.rig(evse=unit(40, connector="type-2")), make.vehicle(inlet="type-2"))

    assert "three" not in rung(found, "onboard_charger").basis
    assert "one_phase_of_three" not in {caution.code for caution in found.cautions}


def test_phases_do_not_change_what_one_phase_gives():
    """Held fixed: rig, amps and kilowatts on one phase. The number of phases is then a matter of words alone."""
    one = planned(make.rig(evse=unit(32, connector="type-2")), make.vehicle(inlet="type-2"))
    three = planned(make.rig(evse=unit(32, connector="type-2")), three_phase(inlet="type-2"))

    def numbers(found):
        return found.current_a, found.power_meter_kw, found.power_battery_kw, found.minutes_charging.typical

    assert numbers(one) == numbers(three)


# -------------------------------------------------------------------------------------------------------------- ports

EITHER_OR = ports(("j1772", 0.7), ("j3400", 0.3))
TO_J3400 = "j1772-to-j3400-48a"


def test_a_rig_that_reaches_both_ports_serves_and_plans_for_the_commoner():
    found = planned(make.rig(adapters=[TO_J3400]), make.vehicle(ports=EITHER_OR))

    # Never a plain yes: the other port takes other means, and who is there must look first.
    assert found.verdict == "serve_with_changes"
    assert (found.path.inlet, found.path.adapter) == ("j1772", None)
    assert any(step.startswith("Look at the port: this plan is for J1772 inlet.") for step in found.steps)
    (other,) = [reason for reason in found.reasons if reason.code == "other_port"]
    # The label says 48 A and it senses nothing: 38.4 A, so mark 32.
    assert other.text == (
        "Look at the port first: this is for J1772 inlet (70 % of the class). With J3400 inlet (30 %): J1772 to J3400 "
        "adapter, 48 A (on board), mark 32 (32 A); say so with --port j3400."
    )


def test_the_commoner_port_is_planned_for_even_where_it_takes_the_adapter():
    found = planned(make.rig(adapters=[TO_J3400]), make.vehicle(ports=ports(("j1772", 0.3), ("j3400", 0.7))))

    assert (found.path.inlet, found.path.adapter) == ("j3400", TO_J3400)
    assert "other_port" in codes(found)
    assert found.setting.output_a == 32.0


def test_a_rig_that_reaches_one_of_two_ports_asks_which():
    found = planned(make.rig(), make.vehicle(ports=EITHER_OR))

    assert found.verdict == "ask_first"
    assert codes(found)[0] == found.ask.code == "which_port"
    assert found.reasons[0].text == (
        "Made rig serves it by its J1772 inlet (70 % of the class), not by its J3400 inlet (30 % of the class)."
    )


@pytest.mark.parametrize("connector", ["j1772", "j3400"])
def test_the_port_that_is_told_decides(connector):
    rig, vehicle = make.rig(evse=unit(connector=connector)), make.vehicle(ports=EITHER_OR)
    for inlet in ("j1772", "j3400"):
        found = planned(rig, vehicle, inlet=inlet)
        assert found.ask is None
        assert found.verdict == ("serve" if inlet == connector else "cannot_serve")
        if found.verdict == "serve":
            assert found.path.inlet == inlet
            assert "other_port" not in codes(found)
        else:
            assert codes(found)[0] == "no_path"
            assert {path.inlet for path in found.refused_paths} == {inlet}


def test_the_told_port_is_planned_for_though_it_is_the_rarer():
    found = planned(make.rig(adapters=[TO_J3400]), make.vehicle(ports=EITHER_OR), inlet="j3400")

    assert (found.path.inlet, found.path.adapter) == ("j3400", TO_J3400)


def test_a_dc_port_that_is_told_does_not_decide_which_ac_port_it_has():
    """The caller sees CHAdeMO first: the AC port is another one, known where the class has one, else asked for."""
    one = make.vehicle(ports=ports(("j1772", 1.0), ("chademo", 0.6)))
    several = make.vehicle(ports=[*EITHER_OR, *ports(("chademo", 0.6))])
    known, open_question = (planned(make.rig(), vehicle, inlet="chademo") for vehicle in (one, several))

    assert (known.verdict, known.path.inlet) == ("serve", "j1772")
    assert (open_question.verdict, codes(open_question)[0]) == ("ask_first", "which_port")


def test_a_port_that_the_class_does_not_have_is_a_clear_error():
    with pytest.raises(QuantityError) as caught:
        planned(make.rig(), make.vehicle(ports=EITHER_OR), inlet="ccs1")

    assert str(caught.value) == (
        "--port: expected a port of Made class: j1772, j3400, got 'ccs1'; look again; or leave --vehicle out and say what "
        "is known: --port with --body, --built"
    )


def test_a_port_that_carries_dc_alone_on_this_class_is_refused_for_that():
    dc_only = {"inlet": "j3400", "carries": ["dc"], "places": [{"at": "tail"}]}
    alone = planned(make.rig(evse=unit(connector="j3400")), make.vehicle(ports=[dc_only]))
    beside = planned(
        make.rig(evse=unit(connector="j3400"), adapters=["j3400-to-j1772-80a"]),
        make.vehicle(ports=[dc_only, *ports(("j1772", 1.0))]),
    )

    assert alone.verdict == "cannot_serve"
    assert [path.code for path in alone.refused_paths] == ["port_dc_only"]
    assert (
        alone.refused_paths[0].text == "J3400 inlet takes DC only on this class: look for the vehicle's other, AC port."
    )
    assert alone.reasons[0].text == (
        "J3400 inlet: DC only, and no AC port on this class. An AC unit cannot serve it. A DC unit, or a tow to a charger."
    )
    assert beside.verdict == "serve"
    assert beside.path.inlet == "j1772"
    assert {path.code for path in beside.refused_paths if path.inlet == "j3400"} == {"port_dc_only"}


def test_a_port_that_carries_ac_and_dc_by_name_is_open():
    both = {"inlet": "j3400", "carries": ["ac", "dc"], "places": [{"at": "tail"}]}

    assert planned(make.rig(evse=unit(connector="j3400")), make.vehicle(ports=[both])).verdict == "serve"


@pytest.mark.parametrize("adapters", [[], [TO_J3400]])
def test_ports_that_stand_together_are_never_asked_about_where_the_certain_one_is_reached(adapters):
    """1.0 + 0.7: every one has J1772, most have J3400 beside it. A J1772 cable serves them all."""
    found = planned(make.rig(adapters=adapters), make.vehicle(ports=ports(("j1772", 1.0), ("j3400", 0.7))))

    assert found.verdict == "serve"
    assert (found.path.inlet, found.path.adapter) == ("j1772", None)
    assert found.ask is None
    assert "other_port" not in codes(found)


def test_where_only_the_uncertain_of_two_ports_is_reached_it_asks():
    found = planned(make.rig(evse=unit(connector="j3400")), make.vehicle(ports=ports(("j1772", 1.0), ("j3400", 0.7))))

    assert (found.verdict, codes(found)[0]) == ("ask_first", "which_port")


def test_a_port_that_three_in_ten_lack_is_not_planned_for_without_a_word():
    """A J3400 cable goes straight into the port that 7 in 10 have; the others need the adapter, and the crew must know."""
    found = planned(
        make.rig(evse=unit(connector="j3400"), adapters=["j3400-to-j1772-80a"]),
        make.vehicle(ports=ports(("j1772", 1.0), ("j3400", 0.7))),
    )

    assert found.verdict == "serve"
    assert found.path.inlet == "j1772" or "other_port" in codes(found)


@pytest.mark.parametrize(
    ("shares", "reached_inlets", "share", "whole", "one_certain"),
    [
        ((("j1772", 1.0),), {"j1772"}, 1.0, True, True),
        ((("j1772", 1.0),), set(), 0.0, False, True),
        ((("j1772", 0.7), ("j3400", 0.3)), {"j1772"}, 0.7, False, False),
        ((("j1772", 0.7), ("j3400", 0.3)), {"j1772", "j3400"}, 1.0, True, False),
        ((("j1772", 1.0), ("j3400", 0.7)), {"j1772", "j3400"}, 1.0, True, False),
        ((("j1772", 1.0), ("chademo", 0.6)), {"j1772"}, 1.0, True, True),  # DC only: no port for us
        ((("j1772", 0.6), ("chademo", 1.0)), {"chademo"}, 0.0, False, False),
        ((("j1772", 0.6), ("chademo", 1.0)), {"j1772"}, 0.6, False, False),
        ((("j1772", 0.999), ("j3400", 0.001)), {"j1772"}, 0.999, True, False),  # own judgement: 1 in 200 is none
        ((("j1772", 0.99), ("j3400", 0.01)), {"j1772"}, 0.99, False, False),
    ],
)
def test_the_share_of_a_class_that_a_rig_reaches(dataset, shares, reached_inlets, share, whole, one_certain):
    vehicle = make.vehicle(ports=ports(*shares))
    reached, all_but_all = share_reached(dataset, vehicle, reached_inlets)

    assert reached == pytest.approx(share)
    assert all_but_all is whole
    assert has_one_certain_port(dataset, vehicle) is one_certain


def test_not_every_vehicle_of_a_class_having_an_ac_port_is_asked_about():
    found = planned(make.rig(), make.vehicle(ports=ports(("j1772", 0.6), ("chademo", 1.0))))

    assert (found.verdict, codes(found)[0]) == ("ask_first", "which_port")
    assert found.reasons[0].text == (
        "Made rig serves it by its J1772 inlet (60 % of the class); not every vehicle of the class is sure to have one of "
        "them."
    )


# ------------------------------------------------------------------------------------------------------ several cables


@pytest.mark.parametrize("first", ["j1772", "j3400"])
def test_of_several_cables_the_one_that_needs_no_adapter_is_taken(first):
    """Also where the adapter would allow the higher setting: the straight way comes before the amps."""
    second = "j3400" if first == "j1772" else "j1772"
    adapter = made_adapter("j1772", "j3400", rating_a=80.0)
    rig = make.rig(
        evse=unit(
            connector=first,
            rating_a=32.0 if first == "j3400" else 80.0,
            others=[{"connector": second, "rating_a": 32.0 if second == "j3400" else 80.0}],
        ),
        adapters=[adapter.id],
    )
    found = planned(rig, make.vehicle(inlet="j3400"), adapter)

    assert (found.path.connector, found.path.adapter) == ("j3400", None)
    assert found.setting.output_a == 32.0
    (other,) = found.other_paths
    assert (other.connector, other.adapter, other.output_a) == ("j1772", adapter.id, 80.0)


def test_two_cables_with_one_connector_are_refused_since_no_plan_could_tell_them_apart():
    with pytest.raises(ValidationError) as error:
        make.rig(evse=unit(rating_a=24.0, others=[{"rating_a": 48.0}]))

    (fault,) = error.value.errors()[0]["ctx"]["faults"]
    assert fault.where == ("other_cables", 0, "connector")
    assert fault.got == "j1772 again"


def test_each_cable_lists_its_refused_paths(dataset):
    evse = unit(connector="j1772", others=[{"connector": "j3400"}, {"connector": "ccs1"}])
    rig, vehicle = make.rig(evse=evse, adapters=["ccs1-to-j3400-dc"]), make.vehicle()
    open_paths, refused = paths(dataset, rig, vehicle)

    assert [(path.connector.id, path.cable.connector, path.adapter) for path in open_paths] == [
        ("j1772", "j1772", None)
    ]
    assert [(path.connector, path.adapter, path.code) for path in refused] == [
        ("j1772", "ccs1-to-j3400-dc", "dc_adapter_on_ac"),
        ("j3400", None, "does_not_fit"),
        ("j3400", "ccs1-to-j3400-dc", "dc_adapter_on_ac"),
        ("ccs1", None, "connector_dc_only"),
        ("ccs1", "ccs1-to-j3400-dc", "connector_dc_only"),
    ]


def test_a_way_that_serves_comes_before_a_straighter_one_that_does_not():
    """The J3400 cable goes straight in but carries 4 A, below what a pilot can say: then by the adapter."""
    adapter = made_adapter("j1772", "j3400", rating_a=40.0)
    evse = unit(connector="j3400", rating_a=4.0, others=[{"connector": "j1772", "rating_a": 80.0}])
    found = planned(make.rig(evse=evse, adapters=[adapter.id]), make.vehicle(inlet="j3400"), adapter)

    assert (found.path.connector, found.path.adapter, found.setting.output_a) == ("j1772", adapter.id, 40.0)
    assert [(other.connector, other.code) for other in found.other_paths] == [("j3400", "below_6_a")]


@pytest.mark.parametrize(("lengths_m", "too_long"), [((5.0, 7.6), False), ((5.0, 7.7), True), ((7.7, 5.0), True)])
def test_findings_look_at_the_longest_cable(dataset, lengths_m, too_long):
    """nec-2017, 625.17(C): 25 ft, 7.62 m, without cable management."""
    rig = make.rig(evse=unit(length_m=lengths_m[0], others=[{"connector": "j3400", "length_m": lengths_m[1]}]))

    assert ("cable_long" in {finding.code for finding in findings(dataset, rig, ambient_c=25.0)}) is too_long


def test_by_cable_gives_the_rig_once_for_each_cable_and_itself_for_one():
    one = make.rig()
    three = make.rig(evse=unit(others=[{"connector": "j3400"}, {"connector": "type-2", "code_a": 32}]))

    assert one.by_cable == (one,)
    assert [variant.evse.cable for variant in three.by_cable] == [three.evse.cable, *three.evse.other_cables]
    for variant in three.by_cable:
        assert variant.evse.other_cables == ()
        assert variant.by_cable == (variant,)
        assert variant.id == three.id
        assert (variant.source, variant.supply, variant.evse.settings) == (
            three.source,
            three.supply,
            three.evse.settings,
        )
    assert three.evse.other_cables  # the rig itself is left as it was


# ------------------------------------------------------------------------------------------- where an adapter is kept


def kept_adapters():
    """Return three adapters alike: what tells them apart is where they are kept."""
    return [made_adapter("j1772", "j3400", name=f"Made adapter {place}", rating_a=40.0) for place in ("A", "B", "C")]


def test_an_adapter_at_the_depot_is_to_be_brought():
    on_depot = kept_adapters()[1]
    found = planned(make.rig(adapters_at_depot=[on_depot.id]), make.vehicle(inlet="j3400"), on_depot)

    assert found.verdict == "serve_with_changes"
    (bring,) = [reason for reason in found.reasons if reason.code == "bring_adapter"]
    assert bring.text == "Bring Made adapter B: it is kept at the depot, not on board."
    assert found.steps[0] == "Before driving out: take Made adapter B from the depot."
    assert found.path.adapter_kept == "at_depot"


@pytest.mark.parametrize(
    ("on_board", "at_depot", "customers", "taken"),
    [
        (True, True, True, "at_depot"),
        (True, True, False, "at_depot"),
        (True, False, True, "on_board"),
        (False, True, True, "at_depot"),
        (False, True, False, "at_depot"),
        (False, False, True, "customers"),
        (False, False, False, None),
    ],
)
def test_the_highest_setting_of_ours_is_taken_and_the_customers_last(on_board, at_depot, customers, taken):
    """Each further one would allow more amps; the customer's, which nobody of ours has seen, comes last even so."""
    board, depot, theirs = (
        adapter.model_copy(update={"rating_current_a": rating_a})
        for adapter, rating_a in zip(kept_adapters(), (24.0, 48.0, 80.0), strict=True)
    )
    found = planned(
        make.rig(adapters=[board.id] * on_board, adapters_at_depot=[depot.id] * at_depot),
        make.vehicle(inlet="j3400"),
        *([board] * on_board + [depot] * at_depot),
        customers_adapters=(theirs,) * customers,
    )

    if taken is None:
        assert (found.verdict, codes(found)[0]) == ("cannot_serve", "no_path")
        return
    assert found.path.adapter_kept == taken
    assert found.setting.output_a == {"on_board": 24.0, "at_depot": 48.0, "customers": 80.0}[taken]
    assert len(found.other_paths) == on_board + at_depot + customers - 1
    assert ("bring_adapter" in codes(found)) is (taken == "at_depot")
    assert ("customers_adapter" in codes(found)) is (taken == "customers")


def test_of_adapters_that_allow_the_same_the_one_on_board_is_taken():
    board, depot, _ = kept_adapters()
    rig = make.rig(adapters=[board.id], adapters_at_depot=[depot.id])
    found = planned(rig, make.vehicle(inlet="j3400"), board, depot)

    assert found.path.adapter_kept == "on_board"


def test_an_adapter_on_board_that_may_not_be_used_gives_way_to_one_at_the_depot():
    board = made_adapter("j1772", "j3400", name="Made adapter A", listing="none")
    depot = kept_adapters()[1]
    found = planned(
        make.rig(adapters=[board.id], adapters_at_depot=[depot.id]), make.vehicle(inlet="j3400"), board, depot
    )

    assert found.path.adapter_kept == "at_depot"
    assert [(path.adapter, path.code) for path in found.refused_paths if path.adapter] == [
        (board.id, "adapter_not_listed")
    ]


def test_an_adapter_both_on_board_and_at_the_depot_is_looked_at_once():
    adapter = kept_adapters()[0]
    found = planned(
        make.rig(adapters=[adapter.id], adapters_at_depot=[adapter.id]), make.vehicle(inlet="j3400"), adapter
    )

    assert found.path.adapter_kept == "on_board"
    assert found.other_paths == ()


def test_the_customers_adapter_with_a_readable_label_serves_and_its_label_is_asked_for():
    theirs = made_adapter("j1772", "j3400", name="Their adapter", rating_a=40.0, temperature_sensing=False)
    found = planned(make.rig(), make.vehicle(inlet="j3400"), customers_adapters=(theirs,))

    assert found.verdict == "serve_with_changes"
    assert found.setting.output_a == 32.0  # 0.8 of 40 A, as for any adapter that senses nothing
    (reason,) = [reason for reason in found.reasons if reason.code == "customers_adapter"]
    assert "Their adapter" in reason.text
    assert "40 A and 250 V" in reason.text
    assert found.path.adapter_kept == "customers"
    (label,) = found.call.customers_adapters
    assert (label.adapter, label.rating_current_a, label.rating_voltage_v) == (theirs.id, 40.0, 250.0)
    assert not any("depot" in step for step in found.steps)


@pytest.mark.parametrize("missing", ["rating_current_a", "rating_voltage_v"])
def test_the_customers_adapter_with_an_unreadable_label_is_refused(missing):
    theirs = made_adapter("j1772", "j3400", name="Their adapter", **{missing: None})
    found = planned(make.rig(), make.vehicle(inlet="j3400"), customers_adapters=(theirs,))

    assert (found.verdict, codes(found)[0]) == ("cannot_serve", "adapter_rating_unreadable")
    assert found.reasons[0].text == (
        "Their adapter has no readable rating: it is not used until its amps and volts are read off its label. Bring a "
        "listed adapter with a readable label."
    )
    (refused,) = [path for path in found.refused_paths if path.adapter]
    assert (refused.code, refused.kept) == ("adapter_rating_unreadable", "customers")


@pytest.mark.parametrize("connector", ["j1772", "j3400", "type-2", "ccs1"])
@pytest.mark.parametrize("inlet", ["j1772", "j3400", "ccs1", "type-2", "ccs2"])
def test_a_customers_dc_adapter_never_serves(dataset, connector, inlet):
    """With or without a label, whatever it seems to fit."""
    theirs = dataset.adapters["their-ccs1-to-j3400-dc"]
    marked = theirs.model_copy(update={"rating_current_a": 300.0, "rating_voltage_v": 1000.0, "id": "marked"})
    rig, vehicle = make.rig(evse=unit(connector=connector)), make.vehicle(inlet=inlet)
    with_it = planned(rig, vehicle, customers_adapters=(theirs, marked))
    without = planned(rig, vehicle)

    assert with_it.verdict == without.verdict
    assert with_it.path is None or with_it.path.adapter is None
    offered = [path.code for path in with_it.refused_paths if path.kept == "customers"]
    assert offered == ["connector_dc_only" if connector == "ccs1" else "dc_adapter_on_ac"] * 2


def test_the_customers_adapter_is_not_kept_for_the_next_call():
    """Paths of a pair are remembered; an adapter that one customer has is not among them."""
    theirs = made_adapter("j1772", "j3400", name="Their adapter")
    rig, vehicle = make.rig(), make.vehicle(inlet="j3400")
    data = data_with(rig, vehicle)
    call = Call(rig.id, vehicle.id, 10, ToPercent(80))

    assert plan(data, call).verdict == "cannot_serve"
    assert plan(data, replace(call, customers_adapters=(theirs,))).verdict == "serve_with_changes"
    assert plan(data, call).verdict == "cannot_serve"


# ------------------------------------------------------------------------------------ what must not be led to


def test_a_rig_that_is_not_fit_shows_no_other_way():
    """Design 4.1: no setting turns a protection finding green, so no mark of another way may stand beside it."""
    supply = [make.breaker(50.0), make.cord("10")]
    found = planned(make.rig(supply=supply, adapters=[TO_J3400]), make.vehicle(ports=EITHER_OR))

    assert found.verdict == "cannot_serve"
    assert found.other_paths == ()
    assert found.setting is None


@pytest.mark.parametrize(("outlet", "breaker_a"), [("nema-14-50", 60.0), ("nema-10-30", 30.0), ("nema-14-30", None)])
def test_an_outlet_that_is_refused_or_not_read_shows_no_way_at_all(dataset, outlet, breaker_a):
    asked = Call("fairground-outlet", "large-pickup", 10, ToPercent(30), outlet=outlet, breaker_a=breaker_a)
    found = plan(dataset, asked)

    assert found.verdict == ("ask_first" if breaker_a is None else "cannot_serve")
    assert (found.path, found.other_paths, found.chain, found.setting) == (None, (), (), None)


def test_an_outlet_that_no_lead_joins_is_refused_without_sending_anyone_to_the_panel(dataset):
    found = plan(dataset, Call("fairground-outlet", "midsize-suv", 10, ToPercent(30), outlet="nema-6-50"))

    assert (found.verdict, codes(found)[0]) == ("cannot_serve", "no_lead")


def test_at_another_outlet_the_recorded_volts_and_bond_are_told_as_assumed(dataset):
    asked = Call("fairground-outlet", "midsize-suv", 10, ToPercent(30), outlet="nema-14-30", breaker_a=30.0)

    assert "volts, and the bond at the service, as at the outlet on record" in plan(dataset, asked).call.assumed


def test_a_loose_cable_is_read_back_at_its_code_and_stopped_at_its_rating():
    evse = unit(32, 48, connector="type-2", rating_a=20.0, code_a=20)
    found = planned(make.rig(evse=evse), make.vehicle(inlet="type-2"))

    assert (found.setting.output_a, found.setting.read_back_a) == (48.0, 20.0)
    assert found.reasons[0].text == (
        "The cable carries 20 A and tells the vehicle so; every other part carries the setting."
    )
    (current,) = [watch for watch in found.watch if watch.what == "current at the meter"]
    assert current.stop_above == 20.0
    assert any("does not read the cable" in step for step in found.steps)


def test_a_dial_that_gives_a_loose_cable_its_code_already_is_not_turned():
    evse = {**unit(16, 24, 48, connector="type-2", rating_a=20.0, code_a=20), "setting_now": "24"}
    found = planned(make.rig(evse=evse), make.vehicle(inlet="type-2"))

    assert (found.verdict, found.setting.mark, found.setting.read_back_a) == ("serve", "24", 20.0)
    below = planned(make.rig(evse={**evse, "setting_now": "16"}), make.vehicle(inlet="type-2"))
    assert (below.verdict, below.setting.mark) == ("serve_with_changes", "48")


def test_which_port_does_not_hide_that_the_rigs_own_energy_falls_short():
    source = make.battery(energy_usable_kwh=12.0)
    found = planned(make.rig(source=source), make.vehicle(ports=ports(("j1772", 0.5), ("type-2", 0.5))))

    assert found.ask.code == "which_port"
    assert codes(found)[:2] == ["which_port", "source_short"]


@pytest.mark.parametrize("inlet", ["ccs1", "chademo"])
def test_a_port_for_dc_that_stands_instead_of_one_for_ac_is_refused_once_it_is_named(inlet):
    carries = {"carries": ["dc"]} if inlet == "ccs1" else {}
    shares = [{**port, **(carries if port["inlet"] == inlet else {})} for port in ports((inlet, 0.5), ("j1772", 0.5))]
    vehicle = make.vehicle(ports=shares)

    assert planned(make.rig(), vehicle).ask.code == "which_port"
    assert planned(make.rig(), vehicle, inlet=inlet).verdict == "cannot_serve"
    assert planned(make.rig(), vehicle, inlet="j1772").verdict == "serve"


@pytest.mark.parametrize(
    ("shares", "code", "words"),
    [
        ((("chademo", 1.0),), "inlet_dc_only", "CHAdeMO inlet: DC only, and no AC port on this class."),
        ((("own-cord-5-15", 1.0),), "own_supply_cord", "Own cord, 5-15 plug: it charges by a cord of its own"),
        ((("j3068", 1.0),), "signalling_differs", "Type 2 connector goes into J3068 inlet, but"),
        (
            (("j3400", 1.0),),
            "no_path",
            "J1772 connector and Type 2 connector do not go into J3400 inlet, and no adapter",
        ),
    ],
)
def test_a_cable_for_dc_and_a_second_one_for_ac_do_not_blur_why_nothing_serves(shares, code, words):
    evse = unit(connector="j1772", others=[{"connector": "type-2"}, {"connector": "ccs1"}])
    found = planned(make.rig(evse=evse), make.vehicle(ports=ports(*shares)))

    assert codes(found) == [code]
    assert found.reasons[0].text.startswith(words)


def test_an_adapter_that_becomes_a_dc_connector_is_a_fault_of_its_file_in_a_plan_too(tmp_path):
    (tmp_path / "adapters").mkdir()
    (tmp_path / "rigs").mkdir()
    text = (SHIPPED / "adapters" / "j3400-to-j1772-80a.yaml").read_text(encoding="utf-8")
    (tmp_path / "adapters" / "ours.yaml").write_text(text.replace("becomes: j1772", "becomes: ccs1"), encoding="utf-8")
    (tmp_path / "rigs" / "ours.yaml").write_text(
        "based_on: pass-truck\nname: Ours\nadapters: [ours]\n", encoding="utf-8"
    )
    with pytest.raises(DataError, match="becomes: expected a connector that carries ac, got 'ccs1'"):
        load_for_plan([tmp_path], rig_id="ours", vehicle_id="midsize-suv")


def test_a_way_refused_for_its_volts_leads_to_no_mark_of_another_one():
    """200 ft of 10 AWG at 30 A takes 30 A x 2 x 1.24 ohm/kft x 0.2 = 15 V (nec-2017, ch. 9 Table 8): below 216 V."""
    source = make.source(voltage_v={"low": 225.0, "typical": 230.0, "high": 240.0})
    supply = [make.breaker(30.0), make.cord("10", length_m=61.0)]
    rig = make.rig(source=source, supply=supply, evse=unit(24), adapters=[TO_J3400])
    found = planned(rig, make.vehicle(ports=EITHER_OR))

    assert (found.verdict, codes(found)[0]) == ("cannot_serve", "voltage_drop")
    assert found.other_paths == ()
