"""The pages as texts: complete, well formed, inert, linked, and the planner's own numbers."""

import csv
import io
import json
import math
import posixpath
import re
import xml.etree.ElementTree as ElementTree
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from planner.answer import Call
from planner.checks import cases, compare, evaluate, transcriptions
from planner.formulas import formulas
from planner.loading import load
from planner.model_questions import MODEL_QUESTIONS
from planner.planning import plan, plan_with_bands
from planner.publish.markup import VERDICT_WORDS, e, field_words, page_parts
from planner.publish.site import artefacts
from planner.report import document
from planner.tables import pair, rig_view
from planner.trip import Miles, ToPercent
from publish import hostile

WORKBOOK = "data/v1/rangeferry.xlsx"  # not a text: made of the texts by the build
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


class Tables(HTMLParser):
    """Collects the tables of a page: caption to rows of cell texts; what stands there for narrow pages is left out."""

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.found, self.caption, self.row, self.into, self.narrow = {}, "", None, None, 0

    def handle_starttag(self, tag, attrs):
        if tag == "caption":
            self.caption, self.into = "", "caption"
        elif tag == "tr":
            self.row = []
        elif tag in {"td", "th"}:
            self.row.append("")
            self.into = "cell"
        elif tag == "br" and self.into == "cell" and not self.narrow:
            self.row[-1] += " | "
        elif tag == "span":
            self.narrow += 1 if self.narrow or ("class", "nar") in attrs else 0

    def handle_endtag(self, tag):
        if tag == "caption":
            self.found[self.caption] = []
            self.into = None
        elif tag == "tr":
            self.found[self.caption].append(self.row)
        elif tag in {"td", "th"}:
            self.into = None
        elif tag == "span" and self.narrow:
            self.narrow -= 1

    def handle_data(self, data):
        if self.into == "caption":
            self.caption += data
        elif self.into == "cell" and not self.narrow:
            self.row[-1] += data.replace("\xa0", " ")


def tables_of(text):
    """Return the tables of a page's text, each without its head row."""
    reader = Tables()
    reader.feed(page_parts(text)[1])
    return {caption: rows[1:] for caption, rows in reader.found.items()}


def down(value):
    """Round down to a tenth, as amps and kilowatts are shown."""
    return math.floor(value * 10 + 1e-9) / 10


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


def test_a_record_cannot_take_an_id_of_the_page(tmp_path):
    """An inlet called `any`, sources called like parts of the page: every id still stands once."""
    (tmp_path / "inlets").mkdir()
    (tmp_path / "vehicle_classes").mkdir()
    inlet = (hostile.SHIPPED / "inlets" / "ccs1.yaml").read_text(encoding="utf-8")
    (tmp_path / "inlets" / "any.yaml").write_text(inlet, encoding="utf-8")
    (tmp_path / "vehicle_classes" / "main.yaml").write_text(
        "based_on: midsize-suv\nname: Main\nports:\n  - {inlet: any, places: [{at: nose}]}\nsources: {ports: null}\n",
        encoding="utf-8",
    )
    (tmp_path / "sources.yaml").write_text(
        "".join(
            f"{name}: {{title: {name}, kind: own, read_in: here}}\n"
            for name in ("main", "query", "serve", "'no'", "found")
        ),
        encoding="utf-8",
    )
    texts = artefacts(load([tmp_path]))
    shell = {
        "main",
        "query",
        "found",
        "serve",
        "after",
        "ask",
        "try",
        "no",
        "change",
        "note",
        "found-count",
        "found-list",
    }
    for path, text in texts.items():
        if path.endswith(".md"):
            ids = read(page_parts(text)[1]).ids
            assert len(ids) == len(set(ids)), path
            assert not set(ids) & shell, path
    rows = [row for row in tables_of(texts["vehicles/index.md"])["Vehicle classes"] if row[0] == "Main"]
    assert [row[1:3] for row in rows] == [["CCS1", "front nose"]]


def test_every_link_leads_somewhere(pages, texts, root):
    hand_written = {
        str(path.relative_to(root / "site_src").with_suffix(".html")) for path in (root / "site_src").rglob("*.md")
    }
    there = {re.sub(r"\.md$", ".html", path) for path in texts} | hand_written | {WORKBOOK}
    begun = 0
    for path, page in pages.items():
        for tag, target in page.links:
            if tag == "use":
                continue
            address, _, anchor = target.partition("#")
            address = address.partition("?")[0]  # a list narrowed by its address is the same page
            assert "://" not in address, path
            full = posixpath.normpath(posixpath.join(posixpath.dirname(path), address)) if address else path
            full = re.sub(r"\.md$", ".html", full)
            assert full in there, f"{path}: {target}"
            other = pages.get(re.sub(r"\.html$", ".md", full))
            if anchor.partition("=")[1]:  # what is known at the beginning of a call
                known, _, named = anchor.partition("=")
                assert full == "index.html"
                assert f"{'vehicles' if known == 'class' else 'ports'}/{named}.md" in pages, f"{path}: {target}"
                begun += 1
            elif anchor and other is not None:
                assert anchor in other.ids, f"{path}: {target}"
    assert begun > 60


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


def usual(rig_id, class_id, miles, small):
    """Return the call for a usual need: where the pair's own plan asks for the port, for the one that is served."""
    asks = small.ask is not None and small.ask.code == "which_port"
    return Call(rig_id, class_id, 10, Miles(miles), tank_empty=True, inlet=small.path.inlet if asks else None)


def test_a_class_page_shows_the_numbers_of_its_plans(dataset, texts):
    """Row by row: the mark, the amps to read back, power, miles and minutes are those of `plan`, in their columns."""
    checked = 0
    for class_id in dataset.vehicle_classes:
        rows = {row[0]: row for row in tables_of(texts[f"vehicles/{class_id}.md"])["What each rig does for this class"]}
        assert set(rows) == {rig.name for rig in dataset.rigs.values()}
        for rig_id, rig in dataset.rigs.items():
            small = plan(dataset, Call(rig_id, class_id, 10, ToPercent(20)))
            row = rows[rig.name]
            assert row[1] == VERDICT_WORDS[small.verdict]
            if small.setting is None:
                assert row[2] == small.reasons[0].text
                continue
            do = "leave" if small.setting.mark == small.setting.from_mark else "set"
            held = next(link.name for link in small.chain if link.sets_current)
            assert small.path.connector_name.removesuffix(" connector") in row[2]
            assert (small.path.adapter_name or "no adapter") in row[2]
            assert row[3] == f"{small.setting.mark} | {do}, {down(small.setting.read_back_a):g} A"
            assert float(row[4]) == down(small.power_meter_kw)
            assert row[5] == str(small.miles_added_per_hour)
            for cell, miles in zip(row[6:9], (10, 25, 50), strict=True):
                need = plan(dataset, usual(rig_id, class_id, miles, small))
                if need.verdict in {"serve", "serve_with_changes"}:
                    assert cell == str(need.minutes_on_site.typical)
                else:
                    assert cell.startswith("–")
            assert row[9] == held
            checked += 1
    assert checked > 40


def test_a_class_page_tells_the_steps_of_the_quickest_rig(dataset, texts):
    for class_id in dataset.vehicle_classes:
        text = texts[f"vehicles/{class_id}.md"]
        found = [pair(dataset, rig_id, class_id) for rig_id in dataset.rigs]
        best = max(found, key=lambda one: one.plan.miles_added_per_hour or 0)
        if best.plan.setting is None:
            assert "At the roadside" not in text
            continue
        asked = (plan(dataset, usual(best.rig, class_id, miles, best.plan)) for miles in (25, 10))
        need = next((one for one in asked if one.verdict in {"serve", "serve_with_changes"}), None)
        if need is None:
            assert "At the roadside" not in text
            continue
        for step in need.steps:
            assert f"<li>{e(step)}</li>" in text
        for item in need.abort:
            assert f"<li>{e(item.text)}</li>" in text
        rows = {row[0]: row for row in tables_of(text)["What the meter should read, and when to stop"]}
        for watch in need.watch:
            row = rows[f"{watch.what}, {watch.unit}"]
            assert row[1] == f"{down(watch.low):g} to {down(watch.high):g}"
            assert ("–" in row[2]) == (watch.stop_below is None and watch.stop_above is None)
        numbers = tables_of(text)["Minutes plugged in and on site, and the percent to release at"]
        for row in numbers:
            miles = int(row[0].removesuffix(" mi"))
            one = plan_with_bands(dataset, usual(best.rig, class_id, miles, best.plan))
            assert row[1:] == [
                str(one.minutes_charging.typical),
                str(one.minutes_on_site.typical),
                str(one.minutes_on_site.p90),
                f"{round(100 * one.soc_release)} %",
            ]


def test_the_list_of_files_by_rig_holds_the_numbers_of_plans(dataset, texts):
    records = json.loads(texts["data/v1/by-rig.json"])["records"]
    assert len(records) == len(dataset.rigs) * len(dataset.vehicle_classes)
    for record in records:
        asked = plan(dataset, Call(record["rig"], record["vehicle"], 10, ToPercent(20)))
        small = document(asked)
        assert record["verdict"] == small["verdict"]
        assert record["mark"] == (small["setting"] or {}).get("mark")
        assert record["power_meter_kw"] == small["power_meter_kw"]
        for miles in (10, 25, 50):
            need = plan(dataset, usual(record["rig"], record["vehicle"], miles, asked))
            served = need.verdict in {"serve", "serve_with_changes"}
            assert record[f"minutes_on_site_{miles}_mi"] == (need.minutes_on_site.typical if served else None)


def x_of(element, name="x1"):
    return float(element.get(name).removesuffix("%"))


def drawing_of(text, kind):
    start = text.index(f'aria-labelledby="{kind}-')
    start = text.rindex("<svg", 0, start)
    depth = 0
    for tag in re.finditer(r"<svg\b|</svg>", text[start:]):
        depth += 1 if tag[0] == "<svg" else -1
        if depth == 0:
            return ElementTree.fromstring(text[start : start + tag.end()])
    raise AssertionError(kind)


def test_rungs_and_rail_of_the_ladder_stand_at_their_amps(dataset, texts):
    """One scale: a rung ends where its amps are, the rail stands where the setting is."""
    for rig_id in dataset.rigs:
        view = rig_view(dataset, rig_id)
        tree = drawing_of(texts[f"rigs/{rig_id}.md"], "ladder")
        zero = [
            element
            for element in tree.iter("text")
            if "".join(element.itertext()).endswith(" A") and element.get("y") == "2.6em"
        ]
        top_a = float("".join(zero[0].itertext()).removesuffix(" A"))
        percent_per_a = x_of(zero[0], "x") / top_a
        ends = sorted(
            round(x_of(line, "x2") / percent_per_a, 1)
            for line in tree.iter("line")
            if line.get("class") in {"ra", "r2"} and line.get("x1") != line.get("x2")
        )
        # A rung that ends on the rail has nothing beyond it: what flows is all of it.
        at_rail = {view.setting.output_a} if view.setting else set()
        shown = [link for link in view.chain if link.protected and (link.sets_current or link.limit_a not in at_rail)]
        limits = sorted(round(link.limit_a, 1) for link in shown)
        assert ends == pytest.approx(limits, abs=0.11)
        rails = (
            [line for line in tree.iter("line") if line.get("class") == "l3" and x_of(line) > 0] if view.setting else []
        )
        assert len(rails) == (1 if view.setting else 0)
        if rails:
            assert x_of(rails[0]) / percent_per_a == pytest.approx(view.setting.output_a, abs=0.1)


def test_poles_of_the_time_ruler_stand_at_their_minutes(dataset, texts):
    for class_id in dataset.vehicle_classes:
        text = texts[f"vehicles/{class_id}.md"]
        if 'aria-labelledby="ruler-' not in text:
            continue
        tree = drawing_of(text, "ruler")
        labels = {}
        for element in tree.iter("text"):
            words = "".join(element.itertext())
            if words.isdigit():
                labels.setdefault(element.get("y"), []).append((int(words), x_of(element, "x")))
        minutes = labels[max(labels, key=lambda y: float(y.removesuffix("em")))]  # the lowest row
        (first, x0), (last, x1) = minutes[0], minutes[-1]
        poles = sorted(x_of(line) for line in tree.iter("line") if line.get("class") == "la")
        found = [first + (pole - x0) / (x1 - x0) * (last - first) for pole in poles]
        rows = tables_of(text)["Minutes plugged in and on site, and the percent to release at"]
        assert found == pytest.approx([float(row[1]) for row in rows], rel=0.01, abs=0.5)


def test_a_need_that_is_not_served_is_told_below_the_table(pages):
    words = "".join(pages["vehicles/micro-two-seater.md"].text)

    assert "Pass truck, 50 mi: " in words
    assert "does not fit into a full battery" in words


def test_a_rig_page_tells_what_holds_back_and_what_is_not_protected(dataset, texts):
    for rig_id in dataset.rigs:
        view, text = rig_view(dataset, rig_id), texts[f"rigs/{rig_id}.md"]
        assert text.count("HOLDS BACK") == (1 if view.setting is not None else 0)
        assert text.count(">NOT PROTECTED<") == sum(not link.protected for link in view.chain)
        assert ("Not fit at any setting" in text) == (view.fitness == "not_fit")


def test_no_figure_of_a_charge_stands_where_nothing_may_flow(texts):
    """A rig that is not fit shows no mark to turn to and no rail through its ladder."""
    text = texts["rigs/fairground-spare.md"]

    assert "Never above mark" not in text
    assert ">set " not in text


def test_the_matrix_agrees_with_the_mating_rules(dataset, texts):
    from planner.mating import refusal

    body = texts["plugs/index.md"].partition('id="matrix"')[2]
    for connector in dataset.connectors.values():
        for inlet in dataset.inlets.values():
            (cell,) = re.findall(
                rf'href="#connector-{connector.id}--{inlet.id}">.*?<span class="vh">(\w+)</span>', body
            )
            assert cell == ("yes" if refusal(dataset, connector, None, inlet) is None else "no")


def test_page_and_file_of_plugs_tell_the_same(dataset, texts):
    body = texts["plugs/index.md"].partition('id="matrix"')[2]
    records = json.loads(texts["data/v1/plugs.json"])["records"]
    assert len(records) == (len(dataset.connectors) + len(dataset.adapters)) * len(dataset.inlets)
    for record in records:
        end = f"adapter-{record['adapter']}" if record["adapter"] else f"connector-{record['connector']}"
        (word,) = re.findall(rf'href="#{end}--{record["inlet"]}">.*?<span class="vh">(\w+)</span>', body)
        assert word == ("yes" if record["goes"] else "no")
        assert record["goes"] == (record["code"] is None)
        assert record["code"] == "does_not_fit" or e(record["text"]) in body


def test_every_number_of_the_checks_has_its_unit(dataset, texts):
    """A number without one is a factor, a yes or a wire size that carries its own."""
    outcomes = [evaluate(case, dataset) for case in cases()]
    bare = {one.case.question.split(",")[0] for one in outcomes if isinstance(one.ours, float) and not one.unit}
    factors = {name for name, question in MODEL_QUESTIONS.items() if not question.unit}
    assert all(name.endswith(("_factor", "_ratio", "_share", "_gain", "_over_label")) for name in factors)
    formulas_of_a_factor = {"circuit.ambient_correction", "genset.derate_common_rule", "genset.iso_3046_factor"}
    assert bare <= {"nec-310-15-b-1"} | formulas_of_a_factor | factors
    rows = [row for table in tables_of(texts["checks/index.md"]).values() for row in table]
    assert any(row[1:3] == ["40 A", "40 A"] for row in rows)


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


def test_the_checks_page_shows_every_check_and_every_miss(dataset, texts):
    """No table and no arithmetic is missed; of the checks on the whole, a miss is one that says why, twice on the page."""
    body = texts["checks/index.md"]
    missed = [case for case in cases() if not evaluate(case, dataset).met]

    assert {case.proves for case in missed} <= {"model"}
    assert [case.case for case in missed] == [case.case for case in cases() if case.missed]
    assert body.count("</svg>Met</span>") == len(cases()) - len(missed)
    assert body.count("</svg>Missed</span>") == 2 * len(missed)
    assert f"{len(cases()) - len(missed)} met, {len(missed)} missed" in body
    for case in missed:
        assert e(case.missed) in body
    for case in cases():
        if case.band is not None:
            assert e(str(case.expect)) in body
            assert f"band {case.band[0]:g} to {case.band[1]:g}" in body


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

    assert keys == set(re.findall(r'id="([pbyk]-[\w-]+)"', body)) - {"p--any", "b--any", "y--any", "k--any"}
    rows = re.findall(r'data-f="([^"]+)"', body)
    heads = [row for row in rows if " " not in row]
    assert set(heads) == {f"b-{vehicle.body}" for vehicle in dataset.vehicle_classes.values()}
    rows = [row for row in rows if row not in heads]
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


def test_a_text_is_never_a_formula_in_a_spreadsheet(texts, tmp_path):
    """The hostile folder holds texts that begin with every sign a spreadsheet takes for a formula."""
    hostile_texts = artefacts(load([hostile.write(tmp_path)]))
    assert any("'=HYPERLINK" in text for text in hostile_texts.values())
    for path, text in (*texts.items(), *hostile_texts.items()):
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
