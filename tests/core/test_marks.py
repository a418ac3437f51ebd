"""Marks before a vehicle is known: by cable, by inlet, by outlet and breaker."""

from dataclasses import replace

import make
import pytest

from planner.marks import marks_for_inlet, outlet_marks
from planner.tables import rig_view


def data_of(rig):
    return replace(make.shipped_dataset(), rigs={rig.id: rig})


def test_the_mark_for_an_inlet_is_held_to_the_adapter_that_leads_there():
    # The shipped adapter says 48 A and senses nothing: 0.8 of it is 38.4 A, below the mark of 40 A.
    rig = make.rig(adapters=["j1772-to-j3400-48a"])
    (straight,) = marks_for_inlet(data_of(rig), rig.id, "ccs1")
    (by_adapter,) = marks_for_inlet(data_of(rig), rig.id, "j3400")

    assert (straight.adapter, straight.output_a) == (None, 80.0)
    assert (by_adapter.adapter.id, by_adapter.kept, by_adapter.output_a) == ("j1772-to-j3400-48a", "on_board", 32.0)
    assert marks_for_inlet(data_of(rig), rig.id, "chademo") == ()


def test_a_rig_that_is_not_fit_has_no_mark_for_any_inlet():
    rig = make.rig(supply=[make.breaker(50.0), make.cord("10")])
    (way,) = marks_for_inlet(data_of(rig), rig.id, "j1772")

    assert (way.mark, way.output_a) == (None, None)
    assert "Not fit at any setting" in way.refused


def test_each_cable_has_its_own_mark_and_a_coded_one_tells_less():
    evse = make.evse(16, 24, 32)
    loose = {**evse["cable"], "connector": "type-2", "rating_a": 20.0, "code_a": 20}
    thin = {**evse["cable"], "connector": "j3400", "rating_a": 16.0}
    rig = make.rig(evse={**evse, "other_cables": [loose, thin]})
    cables = rig_view(data_of(rig), rig.id).cables

    assert [(item.connector.id, item.output_a, item.told_a) for item in cables] == [
        ("j1772", 32.0, 32.0),
        ("type-2", 32.0, 20.0),
        ("j3400", 16.0, 16.0),
    ]


def test_a_rig_whose_only_cable_is_coded_shows_what_a_vehicle_is_told():
    evse = make.evse(16, 24, 32)
    evse["cable"] |= {"connector": "type-2", "rating_a": 20.0, "code_a": 20}
    rig = make.rig(evse=evse)
    view = rig_view(data_of(rig), rig.id)

    assert (view.setting.output_a, view.told_a, view.cables) == (32.0, 20.0, ())
    assert [link.limit_a for link in view.chain if link.link == "cable_code"] == [20.0]
    # 20 A at 240 V and a power factor of at most 1, less the drop in 7.6 m of 4 AWG, under half a percent.
    assert 0.98 * 20 * 240 / 1000 < view.power_highest_kw <= 20 * 240 / 1000


@pytest.mark.parametrize(
    ("outlet", "breaker_a", "output_a"),
    # nec-2017, 210.20(A): 0.8 of the breaker; the marks of the unit are 16, 24, 32 and 40 A.
    [
        ("nema-14-50", 20.0, 16.0),
        ("nema-14-50", 30.0, 24.0),
        ("nema-14-50", 40.0, 32.0),
        ("nema-14-50", 50.0, 40.0),
        ("nema-14-30", 30.0, 24.0),
        ("nema-14-30", 20.0, 16.0),
        ("nema-l14-30", 30.0, 24.0),
    ],
)
def test_the_mark_at_an_outlet_is_four_fifths_of_its_breaker(dataset, outlet, breaker_a, output_a):
    found = outlet_marks(dataset, "fairground-outlet")
    (row,) = [item for item in found if (item.outlet.id, item.breaker_a) == (outlet, breaker_a)]

    assert row.output_a == output_a
    assert (row.lead is None) == (outlet == "nema-14-50")


def test_an_outlet_without_ground_has_no_mark_behind_any_breaker(dataset):
    rows = [item for item in outlet_marks(dataset, "fairground-outlet") if item.outlet.id == "nema-10-30"]

    assert rows
    assert all(item.mark is None and "no grounding contact" in item.refused for item in rows)
