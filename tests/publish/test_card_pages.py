"""The crew cards: one a rig, with the planner's own figures, and nothing to turn to on a rig that is not fit."""

import html
import math
import re
from dataclasses import replace

import make
import pytest

from planner.answer import Call
from planner.chain import CHANGEABLE_ON_SITE
from planner.figures import rounded_down
from planner.loading import load
from planner.mating import never
from planner.planning import plan, plan_with_bands
from planner.publish.card_pages import NOTHING_IN_SHORT, card_pages
from planner.publish.markup import page_parts
from planner.roadside import ENGINE_ABORT, NOTHING_HAPPENS
from planner.tables import COMMONEST_CLASSES, pair, rig_view
from planner.trip import Miles
from publish import hostile
from publish.test_artefacts import read, tables_of

COLUMNS_OF_MINUTES = {10: 3, 25: 4, 50: 5}
HEADS_OF_USE = ("Turn to, then read back", "Watch", "Give up when", "Minutes on site, allow", "What to say")


def cards(data):
    views = {key: rig_view(data, key) for key in data.rigs}
    pairs = {key: [pair(data, key, vehicle) for vehicle in data.vehicle_classes] for key in data.rigs}
    return {page.path: page for page in card_pages(data, views, pairs)}, pairs


def made_card(rig, **vehicle_changes):
    """Return the card of a made rig in data that hold one made class alone."""
    vehicle = make.vehicle(**vehicle_changes)
    data = replace(make.dataset(rig, vehicle), rigs={rig.id: rig}, vehicle_classes={vehicle.id: vehicle})
    return card(cards(data)[0], rig.id)


def words(page):
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page.body)))


@pytest.fixture(scope="module")
def made():
    """Return the cards of the shipped rigs, and their pairs."""
    return cards(make.shipped_dataset())


@pytest.fixture(scope="module")
def pages(made):
    return made[0]


@pytest.fixture(scope="module")
def served(made):
    """Return the pairs with a setting of every rig that has some."""
    found = {key: [one for one in pairs if one.plan.setting is not None] for key, pairs in made[1].items()}
    return {key: pairs for key, pairs in found.items() if pairs}


def card(pages, rig_id):
    return pages[f"cards/{rig_id}.md"]


def test_every_rig_has_one_card_and_there_is_a_list(dataset, pages):
    assert set(pages) == {"cards/index.md"} | {f"cards/{key}.md" for key in dataset.rigs}
    for key, rig in dataset.rigs.items():
        assert f'<a href="{key}.html">{rig.name}</a>' in pages["cards/index.md"].body


def test_a_card_is_well_formed_inert_and_leads_to_its_rig(pages):
    for path, page in pages.items():
        found = read(page_parts(page.text())[1])
        assert (found.faults, found.open) == ([], []), path
        assert len(found.ids) == len(set(found.ids)), path
        assert found.headings.count(1) == 1, path
        assert not [name for _, name, _ in found.attributes if name.startswith("on") or name == "style"], path
        if path != "cards/index.md":
            assert ("a", path.replace("cards/", "../rigs/").replace(".md", ".html")) in found.links


def test_every_mark_of_the_unit_stands_with_its_amps(dataset, pages, served):
    for rig_id in served:
        rows = tables_of(card(pages, rig_id).text())["Marks of the unit"]
        evse = dataset.rigs[rig_id].evse
        # A unit that no crew may set at a roadside shows the mark that it stands at, and no other.
        shown = [item for item in evse.settings if evse.set_by in CHANGEABLE_ON_SITE or item.mark == evse.setting_now]
        wanted = sorted((item.output_a, item.mark) for item in shown)
        assert [(float(row[1]), row[0]) for row in rows] == wanted


def test_the_mark_that_is_not_passed_is_that_of_the_rigs_own_view(dataset, pages, served):
    for rig_id in served:
        setting, text = rig_view(dataset, rig_id).setting, words(card(pages, rig_id))
        rows = tables_of(card(pages, rig_id).text())["Marks of the unit"]
        assert [row[0] for row in rows if "highest at the usual site" in row[2]] == [setting.mark]
        assert f"not above mark {setting.mark} = {rounded_down(setting.output_a):g} A" in text
        assert all("never here" in row[2] for row in rows if float(row[1]) > setting.output_a)


def test_marks_follow_height_by_the_common_rule():
    # 12 kW x 0.8 / 240 V is 40 A at sea level, less 3.5 % of it for each 1,000 ft: 33.0 A at 5,000 and 31.6 A at
    # 6,000 ft; 26.0 A at 10,000. So mark 32 to 5,000 ft and mark 24 above.
    rig = make.rig(source=make.generator(12000.0), evse=make.evse(24, 32))
    page = made_card(rig)

    rows = {row[0]: row[2] for row in tables_of(page.text())["Marks of the unit"]}
    assert "on gasoline to 5,000 ft" in rows["32"]
    assert "highest on gasoline above 5,000 ft" in rows["24"]


def test_a_height_without_a_mark_is_told(pages):
    text = words(card(pages, "trailhead-van"))  # its setting stands behind a cover: too high in thin air

    assert "Gasoline above 5,000 ft: small chargers alone, by a plan." in text
    assert "Propane above 2,000 ft: small chargers alone, by a plan." in text


def test_a_rig_that_is_not_fit_gets_nothing_to_turn_to(dataset, pages):
    unfit = {key for key in dataset.rigs if rig_view(dataset, key).fitness == "not_fit"}
    assert unfit
    for key in unfit:
        view, text = rig_view(dataset, key), words(card(pages, key))
        assert "Not fit: leave it" in text
        for finding in view.findings:
            if finding.level == "stop":
                assert re.sub(r"\s+", " ", finding.text) in text
                assert re.sub(r"\s+", " ", finding.remedy) in text
        assert not [head for head in HEADS_OF_USE if head in text]
        assert tables_of(card(pages, key).text()) == {}


def test_a_rig_that_serves_no_class_has_no_mark_to_turn_to():
    page = made_card(make.rig(), inlet="chademo")

    assert "Serves nothing as it is" in words(page)
    assert not [head for head in HEADS_OF_USE if head in words(page)]
    assert tables_of(page.text()) == {}


def test_a_rig_for_small_chargers_alone_names_no_mark_for_every_vehicle():
    # 0.8 of 6 kW at 240 V is 20 A: a fixed 32 A is too high, but for a class that draws no more than 16 A.
    rig = make.rig(source=make.generator(6000.0), evse=make.evse(32, set_by="fixed"))
    page = made_card(rig, charger_current_a=16.0, charger_power_kw=3.84)

    assert rig_view(make.dataset(rig), "made").setting is None
    assert [row[2] for row in tables_of(page.text())["Marks of the unit"]] == ["by a plan alone"]
    assert "No mark for every vehicle, ask for a plan" in words(page)
    assert "highest" not in words(page)
    assert "Made class" in [
        row[0] for row in tables_of(page.text())["Minutes on site to allow, and the percent to release at"]
    ]


def test_what_is_watched_is_that_of_the_plan_with_the_largest_draw(pages, served):
    for rig_id, pairs in served.items():
        largest = max(one.plan.current_a for one in pairs)
        page = card(pages, rig_id)
        found = [one.plan for one in pairs if f"with the largest draw, {one.plan.vehicle_name}." in words(page)]
        assert [one.current_a for one in found] == [largest]
        rows = tables_of(page.text())["What the meter should read, and when to stop"]
        assert [row[0] for row in rows][:4] == ["Amps", "Volts", "kW, meter", "kW, car"]
        assert len(rows) == len(found[0].watch)
        for row, watch in zip(rows, found[0].watch, strict=True):
            low, high = (float(figure) for figure in row[1].split(" to "))
            assert low <= watch.low < low + 1
            assert high <= watch.high < high + 1
            assert ("below" in row[2]) == (watch.stop_below is not None)
            assert ("above" in row[2]) == (watch.stop_above is not None)
            if watch.stop_below is not None:
                assert f"below {math.ceil(watch.stop_below)}" in row[2]
            if watch.stop_above is not None:
                assert row[2].endswith(f"above {rounded_down(watch.stop_above):g}")


def test_hertz_are_watched_at_a_generator_alone(dataset, pages, served):
    for rig_id in served:
        rows = tables_of(card(pages, rig_id).text())["What the meter should read, and when to stop"]
        assert ("Hertz" in [row[0] for row in rows]) == (dataset.rigs[rig_id].source.kind == "generator")


def test_minutes_are_the_high_end_of_the_plan_and_the_percent_its_release(dataset, pages, served):
    checked = 0
    for rig_id, pairs in served.items():
        by_name = {one.plan.vehicle_name: one for one in pairs}
        for row in tables_of(card(pages, rig_id).text())["Minutes on site to allow, and the percent to release at"]:
            one = by_name[row[0]]
            assert float(row[1]) == rounded_down(one.plan.current_a)
            for miles, column in COLUMNS_OF_MINUTES.items():
                if not row[column][0].isdigit():
                    continue
                asks = one.plan.ask is not None and one.plan.ask.code == "which_port"
                inlet = one.plan.path.inlet if asks else None
                call = Call(rig_id, one.vehicle, 10, Miles(miles), tank_empty=True, inlet=inlet)
                assert row[column] == (
                    f"{plan_with_bands(dataset, call).minutes_on_site.p90} "
                    f"{round(100 * plan(dataset, call).soc_release)} %"
                )
                checked += 1
    assert checked > 60


def test_a_need_that_takes_hours_says_tow(dataset, pages):
    row = next(
        row
        for row in tables_of(card(pages, "county-truck").text())[
            "Minutes on site to allow, and the percent to release at"
        ]
        if row[0] == "Half-ton pickup, CCS1"
    )
    call = Call("county-truck", "half-ton-pickup", 10, Miles(50), tank_empty=True)

    assert plan(dataset, call).minutes_on_site.typical > 240
    assert row[COLUMNS_OF_MINUTES[50]] == "tow"


def test_the_commonest_classes_come_first(dataset, pages, served):
    assert set(COMMONEST_CLASSES) <= set(dataset.vehicle_classes)
    names = [dataset.vehicle_classes[key].name for key in COMMONEST_CLASSES]
    for rig_id in served:
        rows = tables_of(card(pages, rig_id).text())["Minutes on site to allow, and the percent to release at"]
        assert [row[0] for row in rows] == names


def test_a_crews_own_classes_fill_the_table():
    page = made_card(make.rig())

    rows = tables_of(page.text())["Minutes on site to allow, and the percent to release at"]
    assert [row[0] for row in rows] == [make.vehicle().name]


def test_every_line_at_which_a_plan_gives_up_is_there_with_its_figures(pages, served):
    for rig_id, pairs in served.items():
        text = words(card(pages, rig_id))
        dash = re.findall(r"The dash percent has not risen after (?:(\d+) to )?(\d+)(?: \(by class\))? minutes", text)
        every = [item.text for one in pairs for item in one.plan.abort]
        wanted = [int(minutes) for line in every for minutes in re.findall(r"not risen after (\d+) minutes", line)]
        assert dash == [(str(min(wanted)) if min(wanted) < max(wanted) else "", str(max(wanted)))]
        for line in every:
            if not re.search(r"not risen after|of fuel left", line):
                assert line in text


def test_the_exhaust_is_on_the_card_of_an_engine_alone(dataset, pages, served):
    for rig_id in served:
        text, engine = words(card(pages, rig_id)), dataset.rigs[rig_id].source.engine
        assert (ENGINE_ABORT.text in text) == engine
        assert ("Engine outdoors only" in text) == engine
        assert ("a roof or a deck above" in text) == engine
        assert ("nobody sits in the vehicle" in text) == engine
        assert "in a traveled lane" in text
        assert "water above the sills" in text


def test_what_is_on_board_has_boxes_to_count_and_what_is_never_used_has_none(dataset, pages, served):
    for rig_id in served:
        rig = dataset.rigs[rig_id]
        rows = re.findall(r"<tr><th scope=\"row\">(.*?)</tr>", card(pages, rig_id).body)
        for key in (*rig.adapters, *rig.adapters_at_depot):
            adapter = dataset.adapters[key]
            (row,) = [row for row in rows if row.startswith((f"{adapter.name}<", f"{adapter.name} <"))]
            used = never(adapter) is None
            assert row.count('class="cb"') == (2 if used else 0), (rig_id, key)
            assert ("never used" in row) == (not used)
            assert ("at the depot" in row) == (key not in rig.adapters)


def test_a_rig_for_site_outlets_has_its_mark_behind_each_breaker(pages):
    # 0.8 of 20, 30, 40 and 50 A (nec-2017, continuous load): 16, 24, 32 and 40 A, its four marks. A 14-30 ends at 30 A.
    rows = {
        row[0]: row[1:]
        for row in tables_of(card(pages, "fairground-outlet").text())["Not above mark, by outlet and breaker"]
    }

    assert rows["NEMA 14-50"] == ["16", "24", "32", "40"]
    assert rows["NEMA 14-30 by its lead"] == ["16", "24", "–", "–"]
    assert rows["NEMA 10-30"][0].startswith("never: ")


def test_the_short_looks_are_those_of_the_ladder_and_change_no_figure():
    assert list(NOTHING_IN_SHORT) == [look.code for look in NOTHING_HAPPENS]
    for look in NOTHING_HAPPENS:
        figures = set(re.findall(r"\d+|ten", NOTHING_IN_SHORT[look.code]))
        assert figures <= set(re.findall(r"\d+|ten", look.text)), look.code


def test_a_way_that_is_held_lower_has_its_own_mark_and_stop(pages):
    """By hand from the records: adapters of 48 A (0.8 of it without sensing) and 32 A, a loose cable of code 20."""
    assert "J1772 to Type 2 adapter" in words(card(pages, "fairground-outlet"))
    for rig_id, most in (("fairground-outlet", 32), ("county-truck", 20)):
        stops = [
            float(amps)
            for amps in re.findall(
                r"By [^:]+: mark \S+ reads [\d.]+ A, stop above ([\d.]+) A",
                words(card(pages, rig_id)).replace(", reads", " reads"),
            )
        ]
        assert stops
        assert min(stops) <= most


def test_a_card_says_how_to_stop_and_how_long_on_a_shoulder(pages, served):
    for rig_id in served:
        text = words(card(pages, rig_id))
        assert "wait for 0 A, then the latch" in text
        assert "30 minutes on site at most" in text


def test_looks_that_need_what_a_rig_has_not_are_left_out(pages):
    assert "one mark lower" in words(card(pages, "pass-truck"))
    assert "one mark lower" not in words(card(pages, "trailhead-van"))  # set inside, with tools
    assert "one mark lower" not in words(card(pages, "county-truck"))  # no generator


def test_a_unit_that_forgets_its_mark_says_so(dataset, pages, served):
    for rig_id in served:
        forgets = not dataset.rigs[rig_id].evse.survives_power_cycle
        assert ("Forgets it after a loss of power." in words(card(pages, rig_id))) == forgets


def test_hostile_records_stay_text(tmp_path):
    for page in cards(load([hostile.write(tmp_path)]))[0].values():
        found = read(page_parts(page.text())[1])
        assert found.faults == []
        assert not {tag for tag, _, _ in found.attributes} & {"script", "img", "iframe"}
