"""The pages of safety by situation: every rule of the planner, word for word, with its source, findable by everyday words."""

import html
import math
import re

import make
import pytest

from planner.condition import RULES as CONDITION_RULES
from planner.loading import load
from planner.place import RULES as PLACE_RULES
from planner.publish.markup import page_parts, source_anchor
from planner.publish.safety_pages import SITUATIONS, safety_pages
from planner.roadside import ALWAYS_ABORT, ENGINE_ABORT, FUEL_ASK, FUEL_FIRST_CAUTION, NOTHING_HAPPENS
from planner.tables import pair
from publish import hostile
from publish.test_artefacts import read, tables_of

RULES = (*PLACE_RULES, *CONDITION_RULES)
HEADS = {"refuse": "to-refuse", "ask": "to-ask", "try": "to-try", "change": "to-change"}
# What people say, and the page that is for it.
EVERYDAY = (
    ("parking garage", "indoors-and-under-a-roof"),
    ("car port", "indoors-and-under-a-roof"),
    ("window", "people-and-openings"),
    ("highway", "shoulder-and-traffic"),
    ("flooded", "crash-fire-water"),
    ("smoke", "crash-fire-water"),
    ("frozen", "wet-frozen-locked-port"),
    ("dashes", "dead-dash-and-12-v"),
    ("turtle", "dead-dash-and-12-v"),
    ("dead", "dead-dash-and-12-v"),
    ("locked out", "no-key"),
    ("out of gas", "hybrids-and-fuel"),
    ("winter", "cold"),
    ("campground", "quiet-hours-and-permission"),
    ("too short", "cable-reach"),
    ("not charging", "plugged-in-and-nothing-happens"),
)


def made(data):
    pairs = {key: [pair(data, key, vehicle) for vehicle in data.vehicle_classes] for key in data.rigs}
    return {page.path: page for page in safety_pages(data, pairs)}


def words(text):
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", text)))


def part(page, anchor):
    """Return a headed part of a page, up to the next one of its level."""
    return page.body.partition(f'aria-labelledby="{anchor}"')[2].partition("<section aria-labelledby")[0]


@pytest.fixture(scope="module")
def pages():
    """Return the pages of the shipped data."""
    return made(make.shipped_dataset())


def shown(data, rule):
    """Return a rule with the minutes that a try is allowed: the high end of its rate."""
    return rule.with_blanks(minutes=math.ceil(getattr(data.rates, rule.minutes).high) if rule.minutes else None)


def of_rule(rule):
    return [situation for situation in SITUATIONS if rule.code in situation.rules]


def test_there_is_a_page_a_situation_and_a_list(pages):
    assert set(pages) == {"safety/situations.md"} | {f"safety/{situation.key}.md" for situation in SITUATIONS}


def test_every_rule_of_the_planner_has_a_page_and_no_page_names_another():
    named = {code for situation in SITUATIONS for code in situation.rules}

    assert named == {rule.code for rule in RULES}


def test_a_page_is_well_formed_and_inert(pages):
    for path, page in pages.items():
        found = read(page_parts(page.text())[1])
        assert (found.faults, found.open) == ([], []), path
        assert len(found.ids) == len(set(found.ids)), path
        assert found.headings.count(1) == 1, path
        assert not [name for _, name, _ in found.attributes if name.startswith("on") or name == "style"], path


def test_a_rule_stands_word_for_word_under_its_level(dataset, pages):
    for rule in RULES:
        ruled = shown(dataset, rule)
        for situation in of_rule(rule):
            text = words(part(pages[f"safety/{situation.key}.md"], HEADS[rule.level]))
            assert re.sub(r"\s+", " ", ruled.text) in text, (situation.key, rule.code)
            assert re.sub(r"\s+", " ", ruled.remedy) in text, (situation.key, rule.code)
            if rule.question:
                assert ruled.question.replace(": ...?", "?") in text, (situation.key, rule.code)


def test_a_try_tells_minutes_what_to_bring_and_when_to_give_up(dataset, pages):
    tries = [rule for rule in RULES if rule.level == "try"]
    assert tries
    for rule in tries:
        rate, ruled = getattr(dataset.rates, rule.minutes), shown(dataset, rule)
        for situation in of_rule(rule):
            text = words(part(pages[f"safety/{situation.key}.md"], "to-try"))
            assert f"Allow {math.ceil(rate.high)} min for it, likely {math.ceil(rate.typical)}." in text
            assert re.sub(r"\s+", " ", ruled.give_up) in text
            for thing in rule.bring:
                assert thing in text


def test_every_rule_leads_to_its_source_or_says_that_it_has_none(dataset, pages):
    for rule in RULES:
        ids = [key for key in dataset.sources if rule.source.startswith(key)]
        for situation in of_rule(rule):
            body = part(pages[f"safety/{situation.key}.md"], HEADS[rule.level])
            if ids:
                assert f'href="../sources/index.html#{source_anchor(max(ids, key=len))}"' in body, rule.code
            else:
                assert f'<a href="../sources/index.html#bases">{rule.source}</a>' in body, rule.code


def test_no_name_in_braces_is_left(pages):
    for path, page in pages.items():
        assert not re.search(r"[{}]", page.body), path


def test_the_list_and_the_page_of_safety_lead_to_every_situation(pages, root):
    by_hand = (root / "site_src" / "safety" / "index.md").read_text(encoding="utf-8")
    for situation in SITUATIONS:
        assert (
            f'<a href="{situation.key}.html">{html.escape(situation.title)}</a>' in pages["safety/situations.md"].body
        )
        assert f"[{situation.title}]({situation.key}.md)" in by_hand
    assert "(situations.md)" in by_hand


def test_what_a_page_of_safety_is_linked_for_stands_there(root):
    by_hand = (root / "site_src" / "safety" / "index.md").read_text(encoding="utf-8")
    anchors = {
        re.sub(r"[^a-z0-9]+", "-", head.lower()).strip("-") for head in re.findall(r"^## (.+)$", by_hand, flags=re.M)
    }

    assert {anchor for situation in SITUATIONS for anchor, _ in situation.more} <= anchors


def test_the_list_tells_what_is_taken_for_granted(pages):
    text = words(pages["safety/situations.md"].body)

    for assumed in ("out of moving traffic", "port within reach of the cable", "no crash", "12 V battery good"):
        assert assumed in text


@pytest.mark.parametrize(("said", "key"), EVERYDAY)
def test_everyday_words_are_tags(said, key):
    assert [said in situation.tags for situation in SITUATIONS if situation.key == key] == [True]


def test_every_page_has_words_to_say_and_words_to_find_it_by(pages):
    for situation in SITUATIONS:
        assert html.escape(situation.say, quote=True) in pages[f"safety/{situation.key}.md"].body
        assert len(situation.tags) == len(set(situation.tags)) >= 8


def test_the_looks_stand_in_their_order_and_the_ends_beside_them(pages):
    page = pages["safety/plugged-in-and-nothing-happens.md"]
    looks = [words(item) for item in re.findall(r"<li>(.*?)</li>", part(page, "looks"))]
    ends = words(part(page, "abort"))

    for look, text in zip(NOTHING_HAPPENS, looks, strict=True):
        for piece in re.split(r"\{\w+\}", look.text):
            assert re.sub(r"\s+", " ", piece.strip(" ,")) in text
    for item in (*ALWAYS_ABORT, ENGINE_ABORT):
        assert item.text in ends


def test_a_vehicle_with_an_engine_is_asked_about_fuel(dataset, pages):
    text = words(pages["safety/hybrids-and-fuel.md"].body)

    assert FUEL_ASK.question in text
    assert FUEL_FIRST_CAUTION.text in text
    for vehicle in dataset.vehicle_classes.values():
        assert (f" {vehicle.name} " in text) == vehicle.engine


def test_feet_of_cable_are_those_of_the_outline(pages):
    # A sedan of 4.8 m by 1.85 m, its port on the left rear fender, 0.96 m from the tail; our truck 3 ft (0.914 m) off.
    # Left: hypot(0.914, 1.44) = 1.71 m, 5.6 ft. Behind: hypot(0.914, 0.925) + 0.96 = 2.26 m, 7.4 ft.
    # Front: 1.30 + 3.84 = 5.14 m, 16.9 ft. Right: hypot(0.914, 2.4) + 1.85 + 0.96 = 5.38 m, 17.6 ft.
    rows = {
        row[0]: row[1:] for row in tables_of(pages["safety/cable-reach.md"].text())["Feet of cable by port and side"]
    }

    assert rows["Sedan, left rear fender"] == ["17", "8", "6", "18"]


def test_reach_is_the_cable_less_a_meter_never_up(pages):
    # 7.6 m less 1 m is 6.6 m, 21.65 ft; 5 m less 1 m is 4 m, 13.1 ft.
    rows = tables_of(pages["safety/cable-reach.md"].text())["Cables"]

    assert ["Pass truck", "J3400", "25", "21"] in rows
    assert ["County truck outlet", "Type 2", "16", "13"] in rows
    assert "Fairground spare" not in [row[0] for row in rows]  # it serves nobody


def test_a_way_that_no_cable_reaches_says_so(pages):
    # A step van of 8 m by 2.4 m, port in the middle of its left side, our truck on the right: hypot(0.914, 4) + 2.4 + 4
    # = 10.5 m, beyond 6.6 m. From the left 0.914 m, 3 ft.
    rows = {
        row[0]: row[1:] for row in tables_of(pages["safety/cable-reach.md"].text())["Feet of cable by port and side"]
    }

    assert rows["Truck, left side"][2:] == ["3", "35 | none"]


def test_noise_is_that_of_the_record(dataset, pages):
    rows = dict(tables_of(pages["safety/quiet-hours-and-permission.md"].text())["Noise by rig"])
    for rig in dataset.rigs.values():
        noise_dba = rig.source.noise_dba_7m
        if rig.source.engine and noise_dba is not None:
            assert rows[rig.name] == f"{noise_dba:g} dBA at 23 ft (7 m)"
        else:
            assert rows[rig.name] == ("engine, not measured" if rig.source.engine else "no engine")


def test_the_cold_is_told_by_the_plans_of_the_coldest_rig(dataset, pages):
    coldest = min(dataset.rigs.values(), key=lambda rig: rig.usual_site.ambient_c)
    rows = dict(tables_of(pages["safety/cold.md"].text())["What the cold does"])
    told = 0
    for vehicle in dataset.vehicle_classes.values():
        plan = pair(dataset, coldest.id, vehicle.id).plan
        texts = [item.text for item in plan.cautions if item.code == "cold_vehicle"]
        assert [rows[vehicle.name]] == texts if texts and plan.setting else vehicle.name not in rows
        told += len(texts)
    assert told > 5


def test_what_a_store_gives_in_the_cold_is_that_of_its_record(dataset, pages):
    rows = tables_of(pages["safety/cold.md"].text())["What a store gives in the cold"]
    wanted = [
        [rig.name, f"{100 * point.power_share:g}", f"{100 * point.energy_share:g}"]
        for rig in dataset.rigs.values()
        for point in getattr(rig.source, "in_the_cold", ())
    ]

    assert wanted
    assert [[row[0], *row[2:]] for row in rows] == wanted


def test_hostile_records_stay_text(tmp_path):
    for page in made(load([hostile.write(tmp_path)])).values():
        found = read(page_parts(page.text())[1])
        assert found.faults == []
        assert not {tag for tag, _, _ in found.attributes} & {"script", "img", "iframe"}
