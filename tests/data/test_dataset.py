"""The shipped data: complete, sourced, generic, and able to answer."""

import re

import pytest

from planner.answer import Call
from planner.planning import plan
from planner.records import Conductor, Plug, Receptacle
from planner.trip import ToPercent


def test_the_scenario_has_what_it_needs(dataset):
    couplers = {"j1772", "j3400", "ccs1", "chademo", "type-2", "ccs2", "gb-t-ac", "gb-t-dc", "j3068"}
    assert set(dataset.connectors) == couplers
    own_cords = {"own-cord-5-15", "own-cord-l5-30", "own-cord-iec-60309-16"}
    assert set(dataset.inlets) == set(dataset.faces) == couplers | own_cords
    assert {inlet.id for inlet in dataset.inlets.values() if inlet.plugs_into} == own_cords
    assert {adapter.carries for adapter in dataset.adapters.values()} == {"ac", "dc"}
    assert {"ul2252", "supplied_by_vehicle_maker", "none"} == {item.listing for item in dataset.adapters.values()}
    assert {rig.source.kind for rig in dataset.rigs.values()} == {
        "generator",
        "battery_inverter",
        "truck_export",
        "site_outlet",
    }
    assert len(dataset.vehicle_classes) >= 14


def test_every_source_is_named_somewhere(dataset, root):
    named = {
        origin.ref
        for kind in (
            "vehicle_classes",
            "rigs",
            "connectors",
            "inlets",
            "adapters",
            "faces",
            "leads",
            "outlets",
            "tables",
            "schedules",
        )
        for record in getattr(dataset, kind).values()
        for origin in record.sources.values()
    }
    code = "".join(path.read_text(encoding="utf-8") for path in (root / "planner").glob("*.py"))
    unused = [source for source in dataset.sources if source not in named and source not in code]

    assert unused == []


def test_sources_named_by_findings_and_links_exist(dataset, root):
    """A link or refusal that cites a source id in code cites one that is known."""
    text = "".join(
        (root / "planner" / f"{name}.py").read_text(encoding="utf-8")
        for name in ("chain", "mating", "planning", "answer")
    )
    cited = set(re.findall(r'"((?:nec|sae|ul|iec|osha|cpsc|ansi|charin|chademo|genset)-[a-z0-9-]+)', text))

    assert cited
    assert cited <= set(dataset.sources)


def test_invented_numbers_stay_in_the_demonstration(dataset):
    """Rigs and adapters are invented and say so; classes and couplers are not."""
    for kind in ("vehicle_classes", "connectors", "inlets", "outlets", "tables"):
        for record in getattr(dataset, kind).values():
            assert "invented" not in record.origin_names, record.id


@pytest.mark.parametrize("field", ["energy_usable_kwh", "power_kw", "current_a", "consumption_wall_kwh_per_100mi"])
def test_every_class_states_its_band(dataset, field):
    for record in dataset.vehicle_classes.values():
        spread = next(
            getattr(part, field)
            for part in (record.battery, record.onboard_charger, record.label)
            if hasattr(part, field)
        )
        assert spread.low < spread.high or field in {"power_kw", "current_a"}, record.id
        assert spread.low <= spread.typical <= spread.high


def test_charger_watts_and_amps_agree(dataset):
    """kW at 240 V within 10 % of the amps, as the label of a charger would have it; of a household one at 120 V."""
    for record in dataset.vehicle_classes.values():
        charger = record.onboard_charger
        volts = 240 if charger.voltage_high_v > 200 else 120
        at_volts_kw = charger.current_a.typical * volts / 1000
        assert charger.power_kw.typical == pytest.approx(at_volts_kw, rel=0.1), record.id


def test_loss_scaling_stays_near_one(dataset):
    """The anchor to the label may not turn the charger's loss line into something else."""
    for record in dataset.vehicle_classes.values():
        assert 0.4 <= record.loss_scale <= 2.0, (record.id, record.loss_scale)


def test_ids_in_a_rig_are_not_those_of_its_fixed_parts(dataset):
    for rig in dataset.rigs.values():
        assert not {part.id for part in rig.supply} & {"source", "winding", "setting", "evse", "cable", "charger"}


def test_rigs_differ_in_kind(dataset):
    rigs = dataset.rigs
    assert rigs["pass-truck"].commissioning
    assert rigs["pass-truck"].evse.set_by == "outside_control"
    assert rigs["pass-truck"].evse.cable.connector == "j3400"
    assert set(rigs["trailhead-van"].source.fuels) == {"gasoline", "propane"}
    assert rigs["trailhead-van"].evse.set_by == "inside_tools"
    assert any(isinstance(part, Receptacle) for part in rigs["trailhead-van"].supply)
    assert rigs["ski-hill-battery"].source.kind == "battery_inverter"
    assert any(isinstance(part, Plug | Conductor) for part in rigs["fairground-spare"].supply)
    for vehicle in dataset.vehicle_classes:
        assert plan(dataset, Call("fairground-spare", vehicle, 10, ToPercent(80))).verdict == "cannot_serve"


def test_energy_to_80_percent_lies_in_the_governments_bands(dataset):
    """US DOT rural toolkit: level 2 fills a battery vehicle to 80 % from empty in 4 to 10 h. Kind: model, wide band.

    Written before the run: every class with a charger of 6 to 12 kW on the 32 A van, between 2.5 and 15 h; classes with
    more than 120 kWh or with less than 25 are outside by their size.
    """
    outside = []
    for vehicle in dataset.vehicle_classes.values():
        if not 6 <= vehicle.onboard_charger.power_kw.typical <= 12 or vehicle.engine:
            continue
        found = plan(dataset, Call("trailhead-van", vehicle.id, 0, ToPercent(80)))
        usual = 25 <= vehicle.battery.energy_usable_kwh.typical <= 120
        if usual and found.minutes_charging is not None and not 2.5 <= found.minutes_charging.typical / 60 <= 15:
            outside.append(vehicle.id)

    assert outside == []
