"""Which connector carries AC into which inlet: every combination against a matrix written by hand."""

import itertools

import make
import pytest

from planner.mating import REFUSAL_SOURCES, paths

# From the roles in the coupler standards (electrical sheet of the trade: SAE J1772, SAE J3400, IEC 62196-2 and -3,
# CHAdeMO): which plain connector may be inserted into which inlet and carries AC there.
DIRECT_AC = {("j1772", "j1772"), ("j1772", "ccs1"), ("j3400", "j3400"), ("type-2", "type-2"), ("type-2", "ccs2")}
# With exactly one listed AC adapter between them.
BY_ADAPTER = {
    ("j3400", "j3400-to-j1772-80a", "j1772"),
    ("j3400", "j3400-to-j1772-80a", "ccs1"),
    ("j1772", "j1772-to-j3400-48a", "j3400"),
}
CONNECTORS = ("j1772", "j3400", "ccs1", "chademo", "type-2", "ccs2")
INLETS = ("j1772", "j3400", "ccs1", "chademo", "type-2", "ccs2")
ADAPTERS = ("j3400-to-j1772-80a", "j3400-to-j1772-unlisted", "j1772-to-j3400-48a", "ccs1-to-j3400-dc")


def found(connector, inlet):
    rig = make.rig(evse=make.evse(connector=connector), adapters=list(ADAPTERS))
    vehicle = make.vehicle(inlet=inlet)
    return paths(make.dataset(rig, vehicle), rig, vehicle)


@pytest.mark.parametrize(("connector", "inlet"), list(itertools.product(CONNECTORS, INLETS)))
def test_open_paths_are_those_of_the_matrix(connector, inlet):
    open_paths, refused = found(connector, inlet)

    expected = {(connector, None, inlet)} if (connector, inlet) in DIRECT_AC else set()
    expected |= {triple for triple in BY_ADAPTER if triple[0] == connector and triple[2] == inlet}
    assert {(p.connector.id, p.adapter.id if p.adapter else None, p.inlet.id) for p in open_paths} == expected
    assert len(open_paths) + len(refused) == 1 + len(ADAPTERS)
    for path in refused:
        assert path.code in REFUSAL_SOURCES
        assert path.source == REFUSAL_SOURCES[path.code]
        assert path.text.endswith(".")


@pytest.mark.parametrize(("connector", "inlet"), list(itertools.product(CONNECTORS, INLETS)))
def test_a_dc_adapter_never_serves_ac(connector, inlet):
    open_paths, refused = found(connector, inlet)

    assert all(path.adapter is None or path.adapter.carries == "ac" for path in open_paths)
    verdicts = {path.code for path in refused if path.adapter == "ccs1-to-j3400-dc"}
    assert verdicts == ({"connector_dc_only"} if connector in {"ccs1", "chademo", "ccs2"} else {"dc_adapter_on_ac"})


def test_a_j1772_plug_on_the_dc_adapter_is_refused_though_its_face_looks_alike():
    open_paths, refused = found("j1772", "j3400")

    assert [path.adapter.id for path in open_paths] == ["j1772-to-j3400-48a"]
    (dc,) = [path for path in refused if path.adapter == "ccs1-to-j3400-dc"]
    assert dc.text == (
        "CCS1 to J3400 DC adapter carries DC only. It may seem to fit, but it has no AC path: never use it on this unit."
    )


def test_an_unlisted_adapter_and_an_unreadable_label_are_refused():
    rig = make.rig(evse=make.evse(connector="j3400"), adapters=["j3400-to-j1772-unlisted"])
    vehicle = make.vehicle()
    open_paths, refused = paths(make.dataset(rig, vehicle), rig, vehicle)

    assert open_paths == []
    assert [path.code for path in refused] == ["does_not_fit", "adapter_not_listed"]


def test_a_vehicle_with_two_inlets_is_served_by_the_ac_one():
    rig = make.rig()
    vehicle = make.shipped_dataset().vehicle_classes["older-short-range-hatch"]
    open_paths, refused = paths(make.shipped_dataset(), rig, vehicle)

    assert [path.inlet.id for path in open_paths] == ["j1772"]
    assert [(path.inlet, path.code) for path in refused] == [("chademo", "inlet_dc_only")]
