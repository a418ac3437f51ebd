"""What the call page looks up: the planner's own integers, as differences, and a reason where nothing serves."""

import math
from dataclasses import replace
from itertools import accumulate

import make
import pytest

from planner.answer import Call, answer
from planner.lookup import ALTITUDE_STEPS_FT, AMBIENT_STEPS_F, PACK_STATES, class_lookup, rig_lookup
from planner.planning import changes_of
from planner.trip import ToPercent
from planner.units import FT_PER_M, celsius_from_fahrenheit


def whole(written):
    """Return the table that a slope, its last entry and the differences beyond stand for."""
    slope, last, *steps = written
    first = [math.floor(slope * place + 0.5) for place in range(last + 1)]
    return (*first[:-1], *accumulate([first[-1], *steps]))


def test_sums_of_the_looked_up_steps_are_the_integers_of_the_answer(dataset):
    lookup = class_lookup(dataset, "midsize-suv")
    rig, cells = lookup["rigs"]["pass-truck"], lookup["rigs"]["pass-truck"]["grid"][""]["unknown"]["gasoline"]
    states = [(height, air) for height in ALTITUDE_STEPS_FT for air in AMBIENT_STEPS_F]
    for (height, air), index in zip(states, cells, strict=True):
        call = Call(
            "pass-truck",
            "midsize-suv",
            10,
            ToPercent(80),
            ambient_c=celsius_from_fahrenheit(air),
            altitude_m=height / FT_PER_M,
        )
        found, outcome = answer(dataset, call), rig["outcomes"][index]
        rate = list(accumulate(rig["ways"][outcome["way"]]))[AMBIENT_STEPS_F.index(air)]
        columns = lookup["rates"]
        tables, colds = (list(accumulate(columns[name])) for name in ("table", "cold"))
        table = lookup["tables"][tables[rate]]
        assert outcome["mark"] == found.setting.mark
        assert found.chain[outcome["set_by"]].name == found.setting.set_by_link.name
        assert whole(table["seconds"]) == found.table.seconds
        assert whole(table["inlet_wh"]) == tuple(found.table.inlet_wh_at(percent) for percent in range(101))
        assert (colds[rate] >= 0) == (found.table.cold is not None)
        assert whole(lookup["battery_wh"]) == found.table.battery_wh


def test_every_state_of_the_page_has_an_outcome(dataset):
    lookup = class_lookup(dataset, "compact-crossover")  # one port or another
    ports = {"", *(port.inlet for port in dataset.vehicle_classes["compact-crossover"].ports)}
    for rig_id, rig in lookup["rigs"].items():
        assert set(rig["grid"]) == ports
        fuels = set(rig_lookup(dataset, rig_id)["supply"].get("fuels", {"none": None}))
        for packs in rig["grid"].values():
            assert set(packs) == set(PACK_STATES)
            for pack, cells_by_fuel in packs.items():
                assert set(cells_by_fuel) == fuels
                for fuel, cells in cells_by_fuel.items():
                    usual = packs["unknown"][fuel] if pack != "unknown" else [0] * len(cells)
                    places = [cell + first for cell, first in zip(cells, usual, strict=True)]
                    assert len(places) == len(ALTITUDE_STEPS_FT) * len(AMBIENT_STEPS_F)
                    assert 0 <= min(places) <= max(places) < len(rig["outcomes"])


def test_a_lookup_says_why_nothing_serves(dataset):
    only_dc = make.vehicle(inlet="chademo")
    lookup = class_lookup(replace(dataset, vehicle_classes={only_dc.id: only_dc}), only_dc.id)

    assert all("refused" in outcome for rig in lookup["rigs"].values() for outcome in rig["outcomes"])
    assert lookup["rates"] == {}


@pytest.mark.parametrize("class_id", ["small-cargo-van", "older-short-range-hatch", "touring-motorcycle"])
def test_each_port_that_is_said_has_the_answer_of_its_own_call(dataset, class_id):
    """A class is not answered again for a port that changes nothing; where one does, the table says what a call says."""
    found = class_lookup(dataset, class_id)
    at = AMBIENT_STEPS_F.index(50)  # at the first height
    asked = set()
    for rig_id, table in found["rigs"].items():
        for inlet, packs in table["grid"].items():
            for fuel, cells in packs["unknown"].items():
                item = table["outcomes"][cells[at]]
                call = Call(
                    rig_id,
                    class_id,
                    0,
                    ToPercent(0),
                    ambient_c=celsius_from_fahrenheit(50),
                    altitude_m=0.0,
                    fuel=None if fuel == "none" else fuel,
                    inlet=inlet or None,
                )
                told = answer(dataset, call)
                assert ("refused" in item) == (told.refusal is not None), (rig_id, inlet)
                if told.refusal is not None:
                    continue
                other = any(reason.code == "other_port" for reason in changes_of(told))
                assert ("ask" in item) == told.port_open, (rig_id, inlet)
                assert ("other_port" in item) == other, (rig_id, inlet)
                assert found["paths"][item["path"]]["inlet"] == told.path.inlet.id, (rig_id, inlet)
                asked |= {(inlet, told.port_open, other)}
    assert len(asked) > 1
