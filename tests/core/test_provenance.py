"""Where numbers come from: each counted once, shares that add up, and the weakest by a rule that can be followed."""

from dataclasses import replace

import make
import pytest

from planner.provenance import PUBLISHED, Origin, by_field, kind_origins, origins, shares, weakest
from planner.records import numbers_without_one_source


def one(field="battery.energy_usable_kwh", low=9.0, typical=10.0, high=11.0, origin="from memory"):
    return Origin("made", "Made", field, low, typical, high, origin, None, "")


@pytest.mark.parametrize(
    ("number", "weakness"),
    [
        (one(), 0.1),  # half of 2 over 10, and an answer follows it wholly
        (one(origin=PUBLISHED), 0.05),
        (one(low=10.0, high=10.0), 0.1),  # without a band: a tenth either way
        (one(field="battery.voltage_v"), 0.0),  # only told
        (one(field="road.mass_kg"), 0.03),
        (one(field="charging.auxiliaries_kw"), 0.01),
        (one(low=5.0, high=15.0), 0.5),
    ],
    ids=str,
)
def test_weakness_is_band_times_how_far_an_answer_follows(number, weakness):
    assert number.weakness == pytest.approx(weakness)


def test_the_weakest_stands_first_and_equals_by_name():
    wide, narrow, same = one(low=5.0, high=15.0), one(), replace(one(), record="another")

    assert weakest([narrow, wide, same]) == (wide, same, narrow)


def test_every_number_of_every_class_is_counted_once(dataset):
    """Spreads count as one: low, typical and high stand behind one entry."""
    found = origins(dataset)
    keys = [(origin.record, origin.field) for origin in found]

    assert len(set(keys)) == len(keys)
    assert {origin.record for origin in found} == set(dataset.vehicle_classes)
    for vehicle in dataset.vehicle_classes.values():
        data = vehicle.model_dump(exclude_unset=True)
        assert list(numbers_without_one_source(data)) == []


def test_shares_add_up_and_nothing_invented_is_among_them(dataset):
    found = origins(dataset)

    assert sum(shares(found).values()) == len(found)
    assert sum(count for by in by_field(found).values() for count in by.values()) == len(found)
    assert set(shares(found)) <= {PUBLISHED, "from memory", "judgement", "common practice"}


def test_a_published_source_is_told_by_its_id():
    made = make.vehicle(sources={"battery": {"ref": "sae-j1772", "where": "table 1"}, "road": {"basis": "judgement"}})
    data = replace(make.shipped_dataset(), vehicle_classes={"made": made})
    found = {origin.field: origin for origin in origins(data)}

    assert (found["battery.health"].origin, found["battery.health"].source) == (PUBLISHED, "sae-j1772")
    assert found["battery.health"].note == "table 1"
    assert found["road.regeneration"].origin == "judgement"
    assert kind_origins([made]) == {"judgement": 1, PUBLISHED: 1}


def test_the_share_in_print_is_what_the_pages_and_the_notes_say(dataset, capsys):
    """Honest, and not to be made better by words: a number moves here only when a source was read."""
    counted = shares(origins(dataset))
    total = sum(counted.values())
    with capsys.disabled():
        print(f"\nnumbers of classes by origin, of {total}: {counted}")

    assert counted[PUBLISHED] / total == pytest.approx(0.085, abs=0.01)
