"""The form of the call page: what it may send is what the planner takes, and every word from data is text."""

import re
from html.parser import HTMLParser

import pytest

from planner.condition import Condition, condition_codes
from planner.lookup import ALTITUDE_STEPS_FT, AMBIENT_STEPS_F, PACK_STATES, SPEED_STEPS_MPH
from planner.place import PLACE_KIND_WORDS
from planner.publish.build import CALL_SCRIPTS
from planner.publish.call_page import PAGE_SCRIPTS, call_drawings
from planner.publish.call_tables import shared_words
from planner.publish.site import artefacts
from planner.records import BATTERY_WORDS, BUILT_WORDS, GeneratorSource
from planner.trip import DASH_WORDS


class Form(HTMLParser):
    """Reads every field of a page with what it may hold."""

    def __init__(self):
        super().__init__()
        self.fields, self.chosen, self.rows, self.selected, self.ids, self.labels = {}, {}, [], "", [], 0

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if "id" in given:
            self.ids.append(given["id"])
        if tag == "input" and given.get("name"):
            self.fields.setdefault(given["name"], []).append(given.get("value", ""))
            if "checked" in given:
                self.chosen[given["name"]] = given.get("value", "")
            if "data-most" in given:
                self.fields[given["name"]] = range(int(given["data-least"]), int(given["data-most"]) + 1)
        if tag == "select":
            self.selected = given["name"]
            self.fields[self.selected] = []
        if tag == "option":
            self.fields[self.selected].append(given["value"])
        if "data-row" in given:
            self.rows.append(given["data-row"])


@pytest.fixture(scope="module")
def page(dataset):
    return artefacts(dataset)["index.md"]


@pytest.fixture(scope="module")
def form(page):
    found = Form()
    found.feed(page)
    return found


def without_empty(values):
    return [value for value in values if value]


def test_the_form_offers_what_the_planner_knows(form, dataset):
    words = shared_words(dataset)
    assert set(without_empty(form.fields["at"])) == set(PLACE_KIND_WORDS)
    assert set(without_empty(form.fields["pack"])) == set(PACK_STATES)
    assert form.fields["air"] == ["", *map(str, AMBIENT_STEPS_F)]
    assert form.fields["height"] == ["", *map(str, ALTITUDE_STEPS_FT)]
    assert form.fields["speed"] == ["mixed", *(f"{speed:.0f}" for speed in SPEED_STEPS_MPH if speed)]
    assert form.fields["rig"] == list(dataset.rigs)
    assert set(without_empty(form.fields["built"])) == set(BUILT_WORDS)
    assert set(without_empty(form.fields["battery"])) == set(BATTERY_WORDS)
    assert set(form.fields["dash"]) == {"percent", "miles", "bars", *DASH_WORDS}
    assert set(without_empty(form.fields["inside"])) == set(words["port"])
    assert set(without_empty(form.fields["key"])) == set(words["key"])
    assert set(without_empty(form.fields["v12"])) == set(words["twelve_volt"])
    assert set(without_empty(form.fields["danger"])) - {"none"} == set(words["danger"])
    ports = {port.inlet for vehicle in dataset.vehicle_classes.values() for port in vehicle.ports}
    assert set(without_empty(form.fields["port"])) == ports
    assert set(without_empty(form.fields["body"])) == {vehicle.body for vehicle in dataset.vehicle_classes.values()}
    fuels = {
        fuel for rig in dataset.rigs.values() if isinstance(rig.source, GeneratorSource) for fuel in rig.source.fuels
    }
    assert set(without_empty(form.fields["fuel"])) == fuels
    assert condition_codes(Condition()) == ()


def test_unasked_is_chosen_at_first_and_names_stand_once(form):
    asked = {"pack": "unknown", "dash": "unknown", "need": "usual", "heat": "on", "speed": "mixed"}
    for name, value in form.chosen.items():
        assert value == asked.get(name, "" if name != "rig" else value), name
    assert len(set(form.rows)) == len(form.rows)
    assert len(set(form.ids)) == len(form.ids)


def test_the_address_knows_each_field_of_the_form(form):
    """The names of the codec, read off its text: a field that it lacks would be lost on the way to the crew."""
    script = next(path for path in CALL_SCRIPTS if path.name == "state.js").read_text(encoding="utf-8")
    fields = dict(re.findall(r'\["(\w+)"(?:, (\d+, \d+))?\]', script.split("var FIELDS")[1].split("];")[0]))
    assert set(fields) - {"class"} == set(form.fields)
    for name, ends in fields.items():
        if ends:
            least, most = map(int, ends.split(", "))
            assert form.fields[name] == range(least, most + 1), name


def test_every_script_of_the_page_is_there(page):
    assert all(path.is_file() for path in CALL_SCRIPTS)
    assert {f"call/{path.name}" for path in CALL_SCRIPTS} | {"call/words.js", "call/paths.js"} == set(PAGE_SCRIPTS)
    loaded = next(line for line in page.splitlines() if line.startswith("scripts:"))
    assert loaded.count("call/") == len(PAGE_SCRIPTS)


def test_every_way_of_every_class_is_drawn_once(dataset):
    lookups = [
        {"paths": [{"connector": "j3400", "adapter": "j3400-to-j1772-80a", "inlet": "ccs1", "kept": "on_board"}]},
        {"paths": [{"connector": "j1772", "adapter": None, "inlet": "ccs1", "kept": None}]},
        {"paths": [{"connector": "j1772", "adapter": None, "inlet": "ccs1", "kept": None}]},
    ]
    script = call_drawings(dataset, lookups)
    assert script.startswith("rangeferry.paths = {")
    assert script.count('class=\\"pth\\"') == 2
    ids = re.findall(r'id=\\"(path-[^"]+)\\"', script)
    assert len(set(ids)) == len(ids) == 4


def test_what_only_the_command_line_can_do_is_said(page):
    for word in ("wind", "cargo", "trailer", "descent", "second vehicle", "command line"):
        assert word in page


def test_every_question_of_a_rule_is_answered_by_squares_of_the_form(form, dataset):
    script = next(path for path in CALL_SCRIPTS if path.name == "answer.js").read_text(encoding="utf-8")
    answered = dict(re.findall(r"(\w+): \[([^\]]+)\]", script.split("var ANSWERED = {")[1].split("};")[0]))
    words = shared_words(dataset)
    asked = {rule["code"] for rule in words["rules"] if rule["level"] == "ask"}
    asked |= {item["code"] for item in words.values() if isinstance(item, dict) and "question" in item}
    # What keeps it from driving is no field, and is asked in words.
    assert asked - set(answered) == {"need_already_met"}
    for code, fields in answered.items():
        assert {field.strip(' "') for field in fields.split(",")} <= set(form.fields), code


def test_a_tank_is_answered_in_words_that_fit_either_question(page):
    """One asks whether there is fuel, the other whether the tank is empty: yes and no would mean opposite things."""
    row = re.search(r'data-row="tank">(.*?)</div></div>', page, re.S)[1]
    assert re.findall(r'value="(\w*)"[^>]*><span>([^<]+)', row) == [
        ("no", "There is fuel"),
        ("yes", "Empty"),
        ("", "Not asked"),
    ]
