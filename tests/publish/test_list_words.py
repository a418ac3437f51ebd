"""What the rows of the list of classes carry for the script that narrows it, and the links that lead to it."""

import re
from html import unescape

import pytest

from planner.loading import load
from planner.publish.markup import Page, Row, page_parts, table
from planner.publish.port_pages import port_pages
from planner.publish.vehicle_pages import vehicle_pages
from planner.tables import plug_matrix, rig_view
from publish import hostile


def list_of(dataset):
    return next(vehicle_pages(dataset, {}))  # the list comes first


@pytest.fixture(scope="module")
def page(dataset):
    return list_of(dataset)


def carried(page):
    """Return what each row shows and what it carries, by class."""
    rows = re.findall(r'<tr data-f="[^"]*" data-w="([^"]*)">(.*?)</tr>', page.body)
    return {
        re.search(r'href="([\w-]+)\.html"', inner)[1]: (
            unescape(re.sub(r"<[^>]+>", " ", inner)).lower(),
            unescape(words).split(" "),
        )
        for words, inner in rows
    }


def test_a_row_is_found_by_body_port_years_and_what_people_say(dataset, page):
    rows = carried(page)

    assert set(rows) == set(dataset.vehicle_classes)
    _, words = rows["older-short-range-hatch"]  # built from 2010 to 2017
    for word in ("hatchback", "small", "2012", "2016", "old", "electric", "round"):
        assert word in words
    for word in ("2009", "2018", "chademo", "j1772", "still"):
        assert word not in words
    assert "snowmobile" in rows["snow-machine"][1]
    assert "2027" in rows["cargo-van"][1]  # still built


def test_a_row_carries_no_word_twice_and_none_that_it_shows(page):
    for seen, words in carried(page).values():
        assert len(words) == len(set(words))
        assert not set(words) & set(re.split(r"[\s,;()]+", seen))


def test_the_list_names_its_script(page):
    assert '\nscripts: ["vehicles/filter.js"]\n' in page_parts(page.text())[0]
    assert "scripts" not in page_parts(Page("a.md", "A", "a", "<p>a</p>").text())[0]


def test_the_tools_wait_for_the_script(page):
    assert '<div class="fnd" id="list-tools" data-search-exclude hidden>' in page.body
    assert '<p class="fnd-told" id="list-told" role="status" data-search-exclude></p>' in page.body


def test_words_of_a_row_are_escaped():
    html = table("T", ["A"], [Row([], words='"><script>')])
    assert 'data-w="&quot;&gt;&lt;script&gt;"' in html


def test_hostile_words_stay_in_their_attribute(tmp_path):
    found = list_of(load([hostile.write(tmp_path)])).body
    assert "hostilia" in found
    assert not re.search(r"<(?:script|img|svg onload)", found)


def test_a_port_leads_to_the_list_of_its_classes_where_there_are_any(dataset, page):
    views = {rig_id: rig_view(dataset, rig_id) for rig_id in dataset.rigs}
    bodies = {found.path: found.body for found in port_pages(dataset, views, plug_matrix(dataset))}
    without = 0
    for inlet in dataset.inlets:
        used = any(vehicle.port(inlet) is not None for vehicle in dataset.vehicle_classes.values())
        links = re.findall(r'href="\.\./vehicles/index\.html\?port=([^"]*)"', bodies[f"ports/{inlet}.md"])
        assert links == ([inlet] if used else [])
        assert (f'id="p-{inlet}"' in page.body) == used  # the square that the link sets
        without += not used
    assert without > 0
