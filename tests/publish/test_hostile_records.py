"""What a crew's folder may say is inert on every page, or refused where it is read."""

import json
import re

import pytest

from planner.errors import DataError
from planner.loading import load
from planner.publish.markup import page_parts
from planner.publish.site import artefacts
from publish import hostile
from publish.test_artefacts import read


@pytest.fixture(scope="module")
def texts(tmp_path_factory):
    return artefacts(load([hostile.write(tmp_path_factory.mktemp("hostile"))]))


def test_hostile_texts_reach_the_pages_as_text_alone(texts):
    seen = 0
    for path, text in texts.items():
        if not path.endswith(".md"):
            continue
        page = read(page_parts(text)[1])
        assert page.faults == [], path
        assert page.open == [], path
        tags = {tag for tag, _, _ in page.attributes}
        assert not tags & {"script", "img", "iframe", "style", "object"}, path
        assert not [name for _, name, _ in page.attributes if name.startswith("on")], path
        assert not [target for _, target in page.links if "javascript:" in target.lower()], path
        seen += "".join(page.text).count("hostilia")
    assert seen > 100


def test_hostile_texts_cannot_leave_the_front_matter(texts):
    for path, text in texts.items():
        if path.endswith(".md"):
            head, _ = page_parts(text)
            lines = head.splitlines()
            assert (lines[0], lines[-1]) == ("---", "---")
            for line in lines[1:-1]:
                name, _, value = line.partition(": ")
                assert re.fullmatch(r"title|description|tags|styles|scripts|search", name)
                assert "<" not in json.dumps(json.loads(value))


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", "<script>"),
        ("name", "a\u202egnp.exe"),
        ("name", "x" * 61),
        ("name", "a & b"),
        ("summary", "left \u202e right"),
        ("summary", "bell \u0007"),
        ("summary", "w" * 601),
        ("notes", "isolate \u2066 text"),
    ],
)
def test_names_and_texts_that_could_mislead_are_refused_where_they_stand(tmp_path, field, value):
    path = tmp_path / "rigs" / "misleading.yaml"
    path.parent.mkdir()
    path.write_text(f"based_on: pass-truck\n{field}: {json.dumps(value)}\n", encoding="utf-8")

    with pytest.raises(DataError) as caught:
        load([tmp_path])
    assert "misleading.yaml:2:" in str(caught.value)
