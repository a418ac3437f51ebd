"""The look-up that a call page will grow from: one class as a classic script on a bare page in a folder, equal to
`plan` on 600 random states."""

import gzip
import json
import random

import pytest

from planner import tables
from planner.answer import Call
from planner.journey import Road
from planner.planning import plan
from planner.publish.build import LOOKUP_SCRIPT
from planner.records import GeneratorSource
from planner.trip import Miles, ToPercent
from planner.units import FT_PER_M, celsius_from_fahrenheit

pytestmark = pytest.mark.browser

CLASSES = (
    "midsize-suv",
    "plug-in-hybrid-car",
    "step-van",
    "imported-compact-hatch",
    "micro-two-seater",
    "electric-motorcycle",
)
STATES = 600


def states(dataset, class_id, count):
    """Return random states of a page's inputs, the same ones every time; each rig and need as often."""
    draw = random.Random(f"{class_id} {STATES}")
    for _ in range(count):
        rig = draw.choice(list(dataset.rigs.values()))
        fuel = draw.choice(list(rig.source.fuels)) if isinstance(rig.source, GeneratorSource) else None
        start = draw.randrange(0, 100)
        need = {"to": draw.randrange(0, 101)}
        if draw.random() < 0.6:
            need = {"miles": draw.randrange(1, 160), "reserve": draw.randrange(0, 31)}
        yield {
            "class": class_id,
            "rig": rig.id,
            "fuel": fuel,
            "altitude": draw.randrange(len(tables.ALTITUDE_STEPS_FT)),
            "ambient": draw.randrange(len(tables.AMBIENT_STEPS_F)),
            "speed": draw.randrange(len(tables.SPEED_STEPS_MPH)),
            "climb_ft": draw.choice((0, 0, 500, 2500)),
            "pack": draw.choice(list(tables.PACK_STATES)),
            "start": start,
            "need": need,
        }


def by_planner(dataset, state):
    """Return the same answer from `plan`, in the page's words."""
    need = state["need"]
    found = plan(
        dataset,
        Call(
            state["rig"],
            state["class"],
            state["start"],
            ToPercent(need["to"]) if "to" in need else Miles(need["miles"], need["reserve"]),
            ambient_c=celsius_from_fahrenheit(tables.AMBIENT_STEPS_F[state["ambient"]]),
            altitude_m=tables.ALTITUDE_STEPS_FT[state["altitude"]] / FT_PER_M,
            fuel=state["fuel"],
            drove_min=tables.PACK_STATES[state["pack"]][0],
            parked_h=tables.PACK_STATES[state["pack"]][1],
            road=Road(tables.SPEED_STEPS_MPH[state["speed"]], climb_m=state["climb_ft"] / FT_PER_M),
        ),
    )
    result = {"verdict": found.verdict, "code": found.reasons[0].code}
    if found.soc_target is not None:
        result |= {
            "mark": found.setting.mark,
            "miles_added_per_hour": found.miles_added_per_hour,
            "target": round(100 * found.soc_target),
            "minutes_charging": found.minutes_charging.typical,
            "minutes_on_site": found.minutes_on_site.typical,
            "battery_wh": round(1000 * found.energy_battery_kwh),
            "meter_wh": round(1000 * found.energy_meter_kwh),
        }
    return result


@pytest.fixture(scope="module")
def folder(tmp_path_factory, dataset):
    """A bare page with the look-up and one script a class."""
    place = tmp_path_factory.mktemp("lookup")
    (place / "lookup.js").write_text(LOOKUP_SCRIPT.read_text(encoding="utf-8"), encoding="utf-8")
    names = ["lookup.js"]
    for class_id in CLASSES:
        text = json.dumps(tables.class_lookup(dataset, class_id), separators=(",", ":"), allow_nan=False)
        (place / f"{class_id}.js").write_text(f"rangeferry.add({text});\n", encoding="utf-8")
        names.append(f"{class_id}.js")
    scripts = "".join(f'<script src="{name}"></script>' for name in names)
    (place / "index.html").write_text(
        f'<!doctype html><html lang="en"><meta charset="utf-8"><title>Look-up</title>{scripts}</html>', encoding="utf-8"
    )
    return place


def test_a_page_in_a_folder_answers_like_the_planner(folder, dataset, new_page):
    page = new_page()
    page.goto((folder / "index.html").as_uri())
    asked = [state for class_id in CLASSES for state in states(dataset, class_id, STATES // len(CLASSES))]
    found = page.evaluate("states => states.map(rangeferry.answer)", asked)

    assert len(found) == STATES
    codes = set()
    for state, answer in zip(asked, found, strict=True):
        expected = by_planner(dataset, state)
        codes.add(expected["code"])
        assert {name: answer.get(name) for name in expected} == expected, state
    assert {"fits", "turn_setting", "need_exceeds_battery", "need_already_met", "not_protected"} <= codes
    assert {"need_not_sure", "ask_fuel_first", "bring_adapter", "which_port"} <= codes
    assert {"source_short", "below_6_a"} & codes
    assert "no_path" in codes


def test_a_class_is_small_enough_to_load_by_itself(folder):
    for class_id in CLASSES:
        size = len(gzip.compress((folder / f"{class_id}.js").read_bytes(), mtime=0))
        assert size <= 12_000, f"{class_id}: {size} bytes compressed"
