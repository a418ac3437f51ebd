"""Which connector carries AC into which inlet: every combination against a matrix written by hand.

The matrix, with the roles in the standards that it comes from, is `tests/own/mating_matrix.yaml`.
"""

import itertools
import re
from dataclasses import replace
from pathlib import Path

import make
import pytest
import yaml
from pydantic import ValidationError

from planner.mating import REFUSAL_CODES, never, paths, refusal, refusal_source
from planner.records import Adapter

MATRIX = yaml.safe_load((Path(__file__).parents[1] / "own" / "mating_matrix.yaml").read_text(encoding="utf-8"))
MARKS, INLETS = MATRIX["marks"], MATRIX["inlets"]
CONNECTORS = tuple(MATRIX["goes_in"])
OPEN_MADE = {tuple(triple) for triple in MATRIX["open_by_made_adapter"]}
DC_CONNECTORS, DC_INLETS = set(MATRIX["dc_only"]["connectors"]), set(MATRIX["dc_only"]["inlets"])
OWN_CORDS = {inlet for inlet in INLETS if inlet.startswith("own-cord")}
AC_CONNECTORS = tuple(connector for connector in CONNECTORS if connector not in DC_CONNECTORS)
SHIPPED_ADAPTERS = (
    "none",
    "j1772-to-j3400-48a",
    "j1772-to-type-2-32a",
    "j3400-to-j1772-80a",
    "j3400-to-j1772-unlisted",
    "their-j1772-to-j3400",
    "their-j3400-to-j1772",
    "ccs1-to-j3400-dc",
    "their-ccs1-to-j3400-dc",
)
# A standard, or the source record that stands for one; the class record says what one class has connected.
NAMES_A_SOURCE = re.compile(r"SAE J\d|IEC 6\d|GB/T \d|NEMA WD|ul-2252|common practice")


def made_adapter(takes, becomes, *, carries="ac", listing="ul2252", **changes):
    fields = {"rating_current_a": 80.0, "rating_voltage_v": 250.0, "temperature_sensing": True, "latch": "made"}
    ends = {"carries": carries, "takes": takes, "becomes": becomes, "listing": listing}
    name = f"Made {takes.replace('-', ' ')} to {becomes.replace('-', ' ')} adapter"
    return Adapter.model_validate({"id": f"made-{takes}-{becomes}", "name": name, **ends, **fields, **changes})


def unreadable(takes, becomes, **changes):
    return made_adapter(takes, becomes, **{"rating_current_a": None, "rating_voltage_v": None, **changes})


def every_made_adapter():
    """Return one between every two AC connectors and one between every two that carry DC: sound, unlisted, unreadable."""
    worlds = {"ac": AC_CONNECTORS, "dc": MATRIX["carries_dc"]}
    for carries, ends in worlds.items():
        for takes, becomes in itertools.permutations(ends, 2):
            yield made_adapter(takes, becomes, carries=carries)
            yield made_adapter(takes, becomes, carries=carries, listing="none")
            yield made_adapter(
                takes, becomes, carries=carries, listing="supplied_by_vehicle_maker", rating_current_a=None
            )
            yield unreadable(takes, becomes, carries=carries)


MADE = tuple(every_made_adapter())


def sound(adapter):
    return adapter.listing != "none" and adapter.rating_current_a is not None and adapter.rating_voltage_v is not None


def true_reasons(connector, adapter, inlet):
    """Return every code that holds against a path by the roles written by hand; none of them for one that is open."""
    goes_in, told_by = MATRIX["goes_in"], MATRIX["told_by"]
    last = adapter.becomes if adapter else connector
    along = {told_by.get(part) for part in (connector, last, inlet)}
    known = inlet not in DC_INLETS | OWN_CORDS and connector not in DC_CONNECTORS
    reasons = {
        "connector_dc_only": connector in DC_CONNECTORS,
        "dc_adapter_on_ac": adapter is not None and adapter.carries == "dc",
        "own_supply_cord": inlet in OWN_CORDS,
        "inlet_dc_only": inlet in DC_INLETS,
        "does_not_fit": inlet not in goes_in[last],
        "signalling_differs": known and len(along) > 1,
        "phases_differ": known and bool({connector, last, inlet} & set(MATRIX["three_phases_alone"])),
        "adapter_takes_another_connector": adapter is not None and adapter.takes != connector,
        "adapter_not_needed": adapter is not None and inlet in goes_in[connector],
        "adapter_not_listed": adapter is not None and adapter.listing == "none",
        "adapter_rating_unreadable": adapter is not None
        and (adapter.rating_current_a is None or adapter.rating_voltage_v is None),
    }
    return {code for code, holds in reasons.items() if holds}


# ---------------------------------------------------------------------------------------------------- shipped records


def test_the_matrix_covers_every_record_of_the_shipped_data(dataset):
    assert set(CONNECTORS) == set(dataset.connectors)
    assert set(INLETS) == set(dataset.inlets)
    assert set(SHIPPED_ADAPTERS) == {"none", *dataset.adapters}
    for name in SHIPPED_ADAPTERS:
        assert set(MATRIX[name]) == set(CONNECTORS)
        assert all(len(row) == len(INLETS) and set(row) <= set(MARKS) for row in MATRIX[name].values())
    assert set(MARKS.values()) == REFUSAL_CODES - {"port_dc_only"} | {"open"}  # that one is a class's, not an inlet's


@pytest.mark.parametrize(("name", "connector"), list(itertools.product(SHIPPED_ADAPTERS, CONNECTORS)))
def test_every_cell_is_open_or_refused_as_written_by_hand(dataset, name, connector):
    adapter = None if name == "none" else dataset.adapters[name]
    found = {}
    for inlet in INLETS:
        reason = refusal(dataset, dataset.connectors[connector], adapter, dataset.inlets[inlet])
        found[inlet] = "open" if reason is None else reason[0]

    assert found == {inlet: MARKS[mark] for inlet, mark in zip(INLETS, MATRIX[name][connector], strict=True)}


def test_the_matrix_agrees_with_the_roles_beside_it(dataset):
    """Two hand-written texts: a cell is open exactly where no role speaks against it, and its code is a true one."""
    for name, connector in itertools.product(SHIPPED_ADAPTERS, CONNECTORS):
        adapter = None if name == "none" else dataset.adapters[name]
        for inlet, mark in zip(INLETS, MATRIX[name][connector], strict=True):
            reasons = true_reasons(connector, adapter, inlet)
            assert MARKS[mark] in (reasons or {"open"}), (name, connector, inlet)


@pytest.mark.parametrize("connector", CONNECTORS)
@pytest.mark.parametrize("inlet", INLETS)
def test_paths_lists_every_way_once_open_or_refused_with_its_reason(dataset, connector, inlet):
    rig = make.rig(evse=make.evse(connector=connector), adapters=list(dataset.adapters))
    vehicle = make.vehicle(inlet=inlet)
    open_paths, refused = paths(dataset, rig, vehicle)
    column = INLETS.index(inlet)
    expected = {name: MARKS[MATRIX[name][connector][column]] for name in SHIPPED_ADAPTERS}

    assert {path.adapter.id if path.adapter else "none" for path in open_paths} == {
        name for name, code in expected.items() if code == "open"
    }
    assert {path.adapter or "none": path.code for path in refused} == {
        name: code for name, code in expected.items() if code != "open"
    }
    assert len(open_paths) + len(refused) == len(SHIPPED_ADAPTERS)
    for path in refused:
        names = {dataset.connectors[connector].name, dataset.inlets[inlet].name}
        names |= {dataset.adapters[path.adapter].name} if path.adapter else set()
        assert path.text.endswith(".")
        assert any(name in path.text for name in names), path.text
        assert NAMES_A_SOURCE.search(path.source), path.source
        assert path.source == refusal_source(
            dataset,
            path.code,
            dataset.connectors[connector],
            dataset.adapters[path.adapter] if path.adapter else None,
            dataset.inlets[inlet],
        )
        assert path.kept == ("on_board" if path.adapter else None)


# ------------------------------------------------------------------------------------------------------ made adapters


@pytest.mark.parametrize("connector", CONNECTORS)
def test_a_made_adapter_opens_exactly_the_paths_written_by_hand(dataset, connector):
    opened = {
        (connector, adapter.becomes, inlet, sound(adapter), adapter.carries)
        for adapter, inlet in itertools.product(MADE, INLETS)
        if refusal(dataset, dataset.connectors[connector], adapter, dataset.inlets[inlet]) is None
    }

    assert opened == {(*triple, True, "ac") for triple in OPEN_MADE if triple[0] == connector}


@pytest.mark.parametrize("connector", CONNECTORS)
def test_every_refusal_of_a_made_adapter_is_true_and_says_its_part_and_source(dataset, connector):
    half = dataset.connectors[connector]
    for adapter, inlet in itertools.product(MADE, INLETS):
        reason = refusal(dataset, half, adapter, dataset.inlets[inlet])
        if reason is None:
            continue
        code, text = reason
        assert code in REFUSAL_CODES
        assert code in true_reasons(connector, adapter, inlet), (adapter.id, inlet, code)
        assert text.endswith(".")
        assert any(name in text for name in (half.name, adapter.name, dataset.inlets[inlet].name))
        assert NAMES_A_SOURCE.search(refusal_source(dataset, code, half, adapter, dataset.inlets[inlet]))


def test_dc_is_named_before_anything_else(dataset):
    """Safety before geometry: where DC speaks against a path, that is what the crew reads."""
    for connector, adapter, inlet in itertools.product(CONNECTORS, MADE, INLETS):
        reason = refusal(dataset, dataset.connectors[connector], adapter, dataset.inlets[inlet])
        if connector in DC_CONNECTORS:
            assert reason[0] == "connector_dc_only"
        elif adapter.carries == "dc":
            assert reason[0] == "dc_adapter_on_ac"
        elif inlet in OWN_CORDS:
            assert reason[0] == "own_supply_cord"
        elif inlet in DC_INLETS:
            assert reason[0] == "inlet_dc_only"


def test_an_adapter_that_would_serve_but_for_its_label_is_refused_for_its_label(dataset):
    for connector, becomes, inlet in OPEN_MADE:
        ends = dataset.connectors[connector], dataset.inlets[inlet]

        def code(adapter, ends=ends):
            return refusal(dataset, ends[0], adapter, ends[1])[0]

        assert code(made_adapter(connector, becomes, listing="none")) == "adapter_not_listed"
        assert code(unreadable(connector, becomes)) == "adapter_rating_unreadable"
        assert code(made_adapter(connector, becomes, rating_current_a=None)) == "adapter_rating_unreadable"
        assert code(made_adapter(connector, becomes, rating_voltage_v=None)) == "adapter_rating_unreadable"
        # Both: without a listing its label would not be believed either.
        assert code(unreadable(connector, becomes, listing="none")) == "adapter_not_listed"


@pytest.mark.parametrize(
    "adapter",
    MADE,
    ids=lambda made: f"{made.id}-{made.carries}-{made.listing}-{made.rating_current_a}-{made.rating_voltage_v}",
)
def test_never_is_said_of_dc_of_no_listing_and_of_no_label_alone(adapter):
    said = never(adapter)

    if adapter.carries == "dc":
        assert said[0] == "dc_adapter_on_ac"
    elif adapter.listing == "none":
        assert said[0] == "adapter_not_listed"
    elif not sound(adapter):
        assert said[0] == "adapter_rating_unreadable"
    else:
        assert said is None
    assert said is None or (adapter.name in said[1] and said[1].endswith("."))


# ------------------------------------------------------------------------------------------------- AC and DC, one only


def test_no_open_path_has_a_dc_adapter_a_dc_connector_or_a_dc_inlet(dataset):
    """All adapters at once, at every place they may be kept, before a vehicle that has every inlet there is."""
    adapters = {f"made-{index}": made.model_copy(update={"id": f"made-{index}"}) for index, made in enumerate(MADE)}
    everything = replace(dataset, adapters={**dataset.adapters, **adapters})
    ports = [{"inlet": inlet, "share": 0.05, "places": [{"at": "nose"}]} for inlet in INLETS]
    vehicle = make.vehicle(ports=ports)
    known = list(everything.adapters)
    for connector in CONNECTORS:
        rig = make.rig(evse=make.evse(connector=connector), adapters=known[::2], adapters_at_depot=known[1::2])
        customers = tuple(everything.adapters.values())
        open_paths, refused = paths(everything, rig, vehicle, customers=customers)

        assert len(open_paths) + len(refused) == len(INLETS) * (1 + 2 * len(known))
        assert bool(open_paths) == (connector in {"j1772", "j3400", "type-2", "gb-t-ac"})
        for path in open_paths:
            assert path.adapter is None or (path.adapter.carries == "ac" and sound(path.adapter))
            assert path.connector.id not in DC_CONNECTORS
            assert path.inlet.id not in DC_INLETS | OWN_CORDS


def test_adapters_are_not_chained():
    """J1772 to J3400 and J3400 to Type 2 on board: a Type 2 inlet is not reached by both in a row."""
    first, second = made_adapter("j1772", "j3400"), made_adapter("j3400", "type-2")
    rig = make.rig(adapters=[first.id, second.id])
    vehicle = make.vehicle(inlet="type-2")
    data = replace(make.dataset(rig, vehicle), adapters={first.id: first, second.id: second})
    open_paths, refused = paths(data, rig, vehicle)

    assert open_paths == []
    assert {path.adapter: path.code for path in refused} == {
        None: "does_not_fit",
        first.id: "does_not_fit",
        second.id: "adapter_takes_another_connector",
    }


@pytest.mark.parametrize("connector", CONNECTORS)
def test_an_extension_between_equal_couplers_is_no_adapter(connector):
    with pytest.raises(ValidationError) as caught:
        made_adapter(connector, connector, carries="dc" if connector in DC_CONNECTORS else "ac")

    (fault,) = caught.value.errors()[0]["ctx"]["faults"]
    assert (fault.where, fault.got) == (("becomes",), connector)
    assert fault.next_step == "an extension between equal couplers is not an adapter and is never used"


# ---------------------------------------------------------------------------------------------------- whole sentences


def test_a_j1772_connector_on_the_dc_adapter_is_refused_though_its_face_looks_alike(dataset):
    rig, vehicle = make.rig(adapters=["j1772-to-j3400-48a", "ccs1-to-j3400-dc"]), make.vehicle(inlet="j3400")
    open_paths, refused = paths(dataset, rig, vehicle)

    assert [path.adapter.id for path in open_paths] == ["j1772-to-j3400-48a"]
    (dc,) = [path for path in refused if path.adapter == "ccs1-to-j3400-dc"]
    assert dc.text == (
        "CCS1 to J3400 DC adapter carries DC only. It may seem to fit, but it has no AC path: never use it on this unit."
    )
    assert dc.source.startswith("IEC 62196-3 configuration EE")


def test_a_type_2_connector_goes_into_j3068_and_still_nothing_may_flow(dataset):
    code, text = refusal(dataset, dataset.connectors["type-2"], None, dataset.inlets["j3068"])

    assert code == "signalling_differs"
    assert text == (
        "Type 2 connector goes into J3068 inlet, but the two agree on the current in different ways. Do not plug it in, "
        "unless the vehicle's maker says that it also takes this one."
    )


def test_type_2_and_gb_t_ac_have_one_outline_and_do_not_go_together(dataset):
    for connector, inlet in (("type-2", "gb-t-ac"), ("gb-t-ac", "type-2"), ("gb-t-ac", "ccs2")):
        code, text = refusal(dataset, dataset.connectors[connector], None, dataset.inlets[inlet])
        assert code == "does_not_fit"
        assert (
            text
            == f"{dataset.connectors[connector].name} does not go into {dataset.inlets[inlet].name}. Do not force it."
        )


def test_a_vehicle_with_two_inlets_is_served_by_the_ac_one(dataset):
    open_paths, refused = paths(dataset, make.rig(), dataset.vehicle_classes["older-short-range-hatch"])

    assert [path.inlet.id for path in open_paths] == ["j1772"]
    assert [(path.inlet, path.code) for path in refused] == [("chademo", "inlet_dc_only")]
