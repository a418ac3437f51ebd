"""The pages as texts: complete, well formed, inert, linked, and the planner's own numbers."""

import csv
import io
import json
import posixpath
import re
import xml.etree.ElementTree as ElementTree
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from planner.checks import cases, compare, evaluate, transcriptions
from planner.loading import load
from planner.publish.evidence_pages import formulas
from planner.publish.markup import field_words, page_parts
from planner.publish.site import artefacts
from planner.tables import pair, rig_view

VOID = {"br", "input", "link", "meta", "img", "hr"}


class Reader(HTMLParser):
    """Collects what a page holds: open elements, ids, links, attributes, headings, and text."""

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.open, self.ids, self.links, self.attributes, self.headings, self.text = [], [], [], [], [], []
        self.faults = []

    def handle_starttag(self, tag, attrs):
        if tag not in VOID:
            self.open.append(tag)
        self._note(tag, attrs)

    def handle_startendtag(self, tag, attrs):
        self._note(tag, attrs)

    def _note(self, tag, attrs):
        names = [name for name, _ in attrs]
        if len(names) != len(set(names)):
            self.faults.append(f"{tag}: an attribute twice")
        for name, value in attrs:
            self.attributes.append((tag, name, value))
            if name == "id":
                self.ids.append(value)
            if name == "href" and tag in {"a", "link", "use"}:
                self.links.append((tag, value))
        if re.fullmatch(r"h[1-6]", tag):
            self.headings.append(int(tag[1]))

    def handle_endtag(self, tag):
        if not self.open or self.open[-1] != tag:
            self.faults.append(f"</{tag}> closes {self.open[-1:] or 'nothing'}")
        else:
            self.open.pop()

    def handle_data(self, data):
        self.text.append(data)


def read(body):
    reader = Reader()
    reader.feed(body)
    reader.close()
    return reader


@pytest.fixture(scope="module")
def texts(dataset):
    return artefacts(
        dataset,
        [evaluate(case, dataset) for case in cases()],
        [compare(other, dataset) for other in transcriptions()],
    )


@pytest.fixture(scope="module")
def pages(texts):
    return {path: read(page_parts(text)[1]) for path, text in texts.items() if path.endswith(".md")}


def test_every_record_that_a_crew_meets_has_a_page(dataset, texts):
    for folder, kind in (("vehicles", "vehicle_classes"), ("rigs", "rigs"), ("ports", "inlets")):
        assert {f"{folder}/{record}.md" for record in getattr(dataset, kind)} <= set(texts)
        assert f"{folder}/index.md" in texts
    for path in (
        "index.md",
        "plugs/index.md",
        "method/formulas.md",
        "checks/index.md",
        "sources/index.md",
        "data/index.md",
    ):
        assert path in texts


def test_every_page_is_well_formed(pages):
    for path, page in pages.items():
        assert page.faults == [], path
        assert page.open == [], path
        assert len(page.ids) == len(set(page.ids)), path
        assert page.headings.count(1) == 1, path
        levels = page.headings
        assert all(after <= before + 1 for before, after in pairwise(levels)), path


def test_no_page_carries_a_script_a_handler_or_a_style(pages):
    """The content policy of hosted pages refuses them; what is refused there must not be there."""
    for path, page in pages.items():
        assert not [name for _, name, _ in page.attributes if name.startswith("on") or name == "style"], path
        assert not {tag for tag, _, _ in page.attributes} & {"script", "style", "iframe", "object", "embed"}, path


def test_every_link_leads_somewhere(pages, texts, root):
    hand_written = {
        str(path.relative_to(root / "site_src").with_suffix(".html")) for path in (root / "site_src").rglob("*.md")
    }
    there = {re.sub(r"\.md$", ".html", path) for path in texts} | hand_written
    for path, page in pages.items():
        for tag, target in page.links:
            if tag == "use":
                continue
            address, _, anchor = target.partition("#")
            assert "://" not in address, path
            full = posixpath.normpath(posixpath.join(posixpath.dirname(path), address)) if address else path
            full = re.sub(r"\.md$", ".html", full)
            assert full in there, f"{path}: {target}"
            other = pages.get(re.sub(r"\.html$", ".md", full))
            if anchor and other is not None:
                assert anchor in other.ids, f"{path}: {target}"


def test_drawings_are_xml_with_title_and_description(texts):
    count = 0
    for path, text in texts.items():
        if not path.endswith(".md"):
            continue
        for start in [match.start() for match in re.finditer(r'<svg class="d"', text)]:
            depth, at = 0, start
            for tag in re.finditer(r"<svg\b|</svg>", text[start:]):
                depth += 1 if tag[0] == "<svg" else -1
                if depth == 0:
                    at = start + tag.end()
                    break
            tree = ElementTree.fromstring(text[start:at])
            title, description = tree[0], tree[1]
            assert (title.tag, description.tag) == ("title", "desc")
            assert title.text
            assert description.text
            assert tree.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
            count += 1
    assert count > 30


def test_a_class_page_shows_the_numbers_of_its_plans(dataset, pages):
    for class_id in dataset.vehicle_classes:
        words = " ".join(" ".join(pages[f"vehicles/{class_id}.md"].text).split())
        for rig_id in dataset.rigs:
            shown = pair(dataset, rig_id, class_id)
            if shown.plan.setting is None:
                assert " ".join(shown.plan.reasons[0].text.split()) in words
                continue
            assert shown.held_back_by.name in words
            for need in shown.needs:
                if need.minutes_on_site is not None:
                    assert re.search(rf"\b{need.minutes_on_site}\b", words)


def test_a_need_that_is_not_served_is_told_below_the_table(pages):
    words = "".join(pages["vehicles/micro-two-seater.md"].text)

    assert "Pass truck, 50 mi: " in words
    assert "does not fit into a full battery" in words


def test_a_rig_page_tells_what_holds_back_and_what_is_not_protected(dataset, texts):
    for rig_id in dataset.rigs:
        view, text = rig_view(dataset, rig_id), texts[f"rigs/{rig_id}.md"]
        assert text.count("HOLDS BACK") == (1 if view.setting is not None else 0)
        assert text.count(">NOT PROTECTED<") == sum(not link.protected for link in view.chain)
        assert ("Not fit at any setting" in text) == bool(view.findings)


def test_no_figure_of_a_charge_stands_where_nothing_may_flow(texts):
    """A rig that is not fit shows no mark to turn to and no rail through its ladder."""
    text = texts["rigs/fairground-spare.md"]

    assert "Never above mark" not in text
    assert ">set " not in text


def test_the_matrix_agrees_with_the_mating_rules(dataset, texts):
    from planner.mating import refusal

    body = texts["plugs/index.md"]
    for connector in dataset.connectors.values():
        for inlet in dataset.inlets.values():
            (cell,) = re.findall(rf'href="#{connector.id}--{inlet.id}">.*?<span class="vh">(\w+)</span>', body)
            assert cell == ("yes" if refusal(dataset, connector, None, inlet) is None else "no")


def test_a_dc_adapter_is_never_offered(texts):
    rows = re.findall(r"<tr><th scope=\"row\">CCS1 to J3400 DC adapter</th>.*?</tr>", texts["plugs/index.md"])

    assert rows
    assert sum("Never: DC only" in row for row in rows) == 1
    assert not any('#serve"' in row for row in rows)


def test_every_formula_names_symbols_with_units_and_a_source():
    found = list(formulas())

    assert len(found) > 20
    for formula in found:
        assert formula.returns
        assert formula.sources, formula.name
        assert formula.unit, formula.name
        for name, meaning, unit in formula.symbols:
            assert meaning, (formula.name, name)
            assert unit, (formula.name, name)


def test_the_checks_page_shows_every_check_and_no_miss(texts):
    body = texts["checks/index.md"]

    assert body.count("</svg>Met</span>") == len(cases())
    assert "</svg>Missed</span>" not in body


def test_a_missed_check_is_shown_as_missed(dataset):
    from dataclasses import replace

    from planner.publish.evidence_pages import checks_page

    case = next(case for case in cases() if not isinstance(case.expect, str | bool))
    wrong = evaluate(replace(case, expect=case.expect + 1, tolerance=0.1), dataset)
    page = checks_page([wrong], [])

    assert 'id="missed"' in page.body
    assert "1 missed" in page.body


def test_search_words_hold_body_port_years_and_everyday_names(texts):
    meta = page_parts(texts["vehicles/older-short-range-hatch.md"])[0]

    for word in ("Hatchback", "small car", "J1772 inlet", "CHAdeMO inlet", "2012", "old electric hatch"):
        assert word in meta
    assert "2012" not in page_parts(texts["vehicles/cargo-van.md"])[0]


def test_filters_hide_by_what_a_row_says(dataset, texts):
    rules, body = texts["vehicles/filters.css"], texts["vehicles/index.md"]
    keys = set(re.findall(r"#([\w-]+):checked", rules))

    assert keys == set(re.findall(r'id="([pbyk]-[\w-]+)"', body)) - {"p-any", "b-any", "y-any", "k-any"}
    rows = re.findall(r'data-f="([^"]+)"', body)
    assert len(rows) == len(dataset.vehicle_classes)
    for row in rows:
        assert {key[0] for key in row.split()} == {"p", "b", "y", "k"}
        assert set(row.split()) <= keys


def test_every_list_has_a_twin_with_the_same_records(texts):
    for path, text in texts.items():
        if not re.fullmatch(r"data/v1/[\w-]+\.json", path) or path.endswith("index.json"):
            continue
        value = json.loads(text)
        rows = list(csv.DictReader(io.StringIO(texts[path.replace(".json", ".csv")])))
        assert len(rows) == len(value["records"]), path
        for record, row in zip(value["records"], rows, strict=True):
            for name, shown in record.items():
                if isinstance(shown, dict) and shown:
                    continue
                if isinstance(shown, str):
                    assert row[name].removeprefix("'") == shown
                elif shown is None:
                    assert row[name] == ""
                else:
                    assert json.loads(row[name]) == shown


def test_a_text_is_never_a_formula_in_a_spreadsheet(texts):
    for path, text in texts.items():
        if path.endswith(".csv"):
            for row in csv.reader(io.StringIO(text)):
                for cell in row:
                    assert cell[:1] not in {"=", "+", "@"}, (path, cell)
                    assert not cell.startswith("-") or re.fullmatch(r"-[\d.]+(e-?\d+)?", cell), (path, cell)


def test_every_file_meets_its_schema_and_a_wrong_one_is_refused(texts):
    from planner.publish.data_check import PublishError, check_texts

    assert check_texts(texts) == sum(bool(re.fullmatch(r"data/v1/[\w-]+\.json", path)) for path in texts)
    value = json.loads(texts["data/v1/by-rig.json"])
    value["records"][3]["verdict"] = "perhaps"
    with pytest.raises(PublishError, match=r"^data/v1/by-rig\.json: records/3/verdict: 'perhaps' is not one of"):
        check_texts({**texts, "data/v1/by-rig.json": json.dumps(value)})


def test_the_index_of_files_names_what_is_there(texts):
    index = json.loads(texts["data/v1/index.json"])
    for entry in index["records"]:
        value = json.loads(texts[f"data/v1/{entry['json']}"])
        assert (value["kind"], len(value["records"])) == (entry["kind"], entry["records"])
        assert f"data/v1/{entry['csv']}" in texts
        assert f"data/v1/{entry['schema']}" in texts


def test_the_same_data_gives_the_same_texts(dataset, texts):
    again = artefacts(
        load(),
        [evaluate(case, dataset) for case in cases()],
        [compare(other, dataset) for other in transcriptions()],
    )

    assert list(again.items()) == list(texts.items())


def test_no_text_tells_where_it_was_made(texts, root):
    for path, text in texts.items():
        assert str(root) not in text, path


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("label.consumption_wall_kwh_per_100mi", "label, consumption"),
        ("label.voltage_v", "label, voltage"),
        ("built_from", "built from"),
        ("supply", "supply"),
    ],
)
def test_a_field_is_told_in_words(path, words):
    assert field_words(path) == words
