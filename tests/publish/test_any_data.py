"""Pages of data that nobody shipped: tiny and huge batteries, weak and mighty sources, rigs that serve nothing."""

import random
import re
from dataclasses import replace

import make
import pytest
from pydantic import ValidationError

from planner import tables
from planner.lookup import class_lookup
from planner.publish.markup import FITNESS_WORDS, page_parts
from planner.publish.site import artefacts
from publish.test_artefacts import read, tables_of


def drawn(maker, **fields):
    """Return a record, or None where the draw is not a valid one."""
    try:
        return maker(**fields)
    except ValidationError:
        return None


def vehicles(draw, inlets):
    for number in range(20):
        consumption = draw.uniform(3, 800)
        yield drawn(
            make.vehicle,
            id=f"v-{number}",
            name=f"V {number}",
            energy_usable_kwh=10 ** draw.uniform(-0.9, 3.2),
            charger_current_a=draw.choice([0.5, 6, 16, 48, 200]),
            charger_power_kw=draw.choice([0.1, 1.4, 7.2, 19.2, 80]),
            inlet=draw.choice(inlets),
            auxiliaries_kw=draw.choice([0.001, 0.1, 0.3]),
            pilot_margin=draw.choice([0, 0.05, 0.4]),
            engine=draw.random() < 0.3,
            body=draw.choice(["micro", "suv", "truck"]),
            label={
                "consumption_wall_kwh_per_100mi": make.exactly(consumption),
                "efficiency": draw.choice([0.5, 0.88, 0.97]),
                "voltage_v": 240.0,
            },
        )


def rigs(draw):
    for number in range(6):
        watts = draw.choice([400, 1500, 4000, 9000, 100_000])
        source = draw.choice([make.source(), make.generator(watts), make.battery(), make.source(neutral="floating")])
        fields = {"source": source}
        if draw.random() < 0.3:
            cord = make.cord(draw.choice(["14", "6", "2"]))
            fields["supply"] = [make.breaker(draw.choice([5, 15, 50, 1000])), cord]
        elif draw.random() < 0.2:
            fields["supply"] = []
        yield drawn(make.rig, id=f"r-{number}", name=f"R {number}", **fields)


@pytest.mark.parametrize("seed", range(4))
def test_pages_of_any_valid_data_are_whole(seed):
    draw = random.Random(seed)
    base = make.shipped_dataset()
    made = {record.id: record for record in vehicles(draw, list(base.inlets)) if record is not None}
    units = {record.id: record for record in rigs(draw) if record is not None}
    dataset = replace(base, vehicle_classes=made, rigs=units)
    assert len(made) > 5
    assert len(units) > 3

    for path, text in artefacts(dataset).items():
        assert not re.search(r"\b(nan|inf|NaN|Infinity)\b", text), path
        if path.endswith(".md"):
            page = read(page_parts(text)[1])
            assert (page.faults, page.open) == ([], []), path
            at = [float(x) for x in re.findall(r' x[12]?="(-?[\d.]+)%"', text)]
            assert not at or (min(at) >= 0 and max(at) <= 100), path
    for class_id in made:
        assert class_lookup(dataset, class_id)["class"] == class_id


def fixed(output_a):
    evse = make.evse(output_a, set_by="fixed", setting_now=f"{output_a}")
    return {**evse, "settings": [{"mark": f"{output_a}", "marked_as": "output_amps", "output_a": output_a}]}


def test_every_page_says_the_same_of_a_rigs_fitness():
    """By class alone, not fit, and fit though its cable goes into nothing: one word on front page, list and own page."""
    base = make.shipped_dataset()
    units = [
        make.rig(id="by-class", name="By class rig", source=make.generator(8000), evse=fixed(48)),
        make.rig(id="not-fit", name="Not fit rig", source=make.source(neutral="floating")),
        make.rig(id="lonely", name="Lonely rig", evse=make.evse(32, connector="type-2")),
        make.rig(id="plain", name="Plain rig"),
    ]
    vehicle = make.vehicle(charger_current_a=16.0, charger_power_kw=3.6)
    dataset = replace(base, vehicle_classes={vehicle.id: vehicle}, rigs={unit.id: unit for unit in units})
    texts = artefacts(dataset)

    front = {row[0]: row for row in tables_of(texts["index.md"])["Rigs at a glance"]}
    listed = {row[0]: row for row in tables_of(texts["rigs/index.md"])["Rigs"]}
    for unit in units:
        word = FITNESS_WORDS[tables.rig_view(dataset, unit.id).fitness][1]
        assert front[unit.name][1] == word
        assert listed[unit.name][1] == word
    own = {unit.id: texts[f"rigs/{unit.id}.md"] for unit in units}
    assert "No setting suits every vehicle" in own["by-class"]
    assert "Not fit at any setting" in own["not-fit"]
    assert "before the findings are mended" in own["not-fit"]
    for unit_id in ("by-class", "lonely", "plain"):
        assert "before the findings" not in own[unit_id]
    port = texts["ports/j1772.md"]
    assert re.search(r">Not fit rig</a>, <b>not fit", port)
    assert not re.search(r">By class rig</a>, <b>", port)
    assert "Type 2 connector does not go into" in own["lonely"]
