"""What a device keeps of the hosted pages: which files, and the worker's list of them."""

import hashlib
import json
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.publish import pocket
from planner.publish.pocket import PocketError, changes_text, kept, worker
from planner.releases import Move, Moves

TEMPLATE = (Path(pocket.__file__).parent / "call" / "sw.js").read_text(encoding="utf-8")
FILES = {"index.html": "aa" * 32, "a/b.html": "bb" * 32}
GIVEN = {"version": "1.2.3", "date": "2026-11-01", "changes": "More."}
HEX = st.text("0123456789abcdef", min_size=64, max_size=64)


def filled(text):
    """Return what the worker was told, read back from its text."""
    literal = re.search(r"var POCKET = (\{.*?\n  \});", text, re.DOTALL)[1]
    literal = re.sub(r"^    (\w+):", r'"\1":', literal, flags=re.MULTILINE)
    return json.loads(re.sub(r",(\s*[\]}])", r"\1", literal))


def move(before, after):
    return Move("rigs/one", "genset.watts", before, after, "measured")


def moves(**given):
    empty = {"added": (), "gone": (), "renamed": (), "parted": (), "moved": (), "words": 0}
    return Moves("0.5.0", "0.6.0", **{**empty, **given})


def test_everything_that_a_page_shows_is_kept_and_nothing_else():
    sizes = dict.fromkeys(
        (
            "index.html",
            "assets/notebook.css",
            "call/classes/van.js",
            "search/search_index.json",
            "data/v1/rigs.csv",
            "data/v1/rangeferry.xlsx",
            "data/v1/schema/rigs.schema.json",
            "sw.js",
            "404.html",
            "search/worker.js.map",
            ".rangeferry-pages",
            "a/.hidden/x.html",
            "sitemap.xml",
            "sitemap.xml.gz",
        ),
        1,
    )
    assert kept(sizes) == (
        "assets/notebook.css",
        "call/classes/van.js",
        "data/v1/rangeferry.xlsx",
        "data/v1/rigs.csv",
        "data/v1/schema/rigs.schema.json",
        "index.html",
        "search/search_index.json",
    )


@pytest.mark.parametrize(
    ("most_bytes", "names"),
    [
        (100, {"index.html", "search/x.json", "data/v1/a.json", "data/v1/a.csv", "data/v1/a.xlsx", "other/a.csv"}),
        (99, {"index.html", "search/x.json", "data/v1/a.json", "other/a.csv"}),
        (80, {"index.html", "search/x.json", "data/v1/a.json", "other/a.csv"}),
        (79, {"index.html", "search/x.json", "other/a.csv"}),
        (1, {"index.html", "search/x.json", "other/a.csv"}),
    ],
)
def test_downloads_go_first_and_pages_never(most_bytes, names):
    sizes = {
        "index.html": 30,
        "search/x.json": 20,
        "other/a.csv": 10,
        "data/v1/a.json": 20,
        "data/v1/a.csv": 10,
        "data/v1/a.xlsx": 10,
    }
    assert set(kept(sizes, most_bytes=most_bytes)) == names


def test_the_worker_is_the_template_with_its_list():
    text = worker(TEMPLATE, FILES, **GIVEN)
    told = filled(text)

    assert told["files"] == [["a/b.html", "bb" * 32], ["index.html", "aa" * 32]]
    assert {name: told[name] for name in GIVEN} == GIVEN
    before, after = TEMPLATE.split(pocket.POCKET_LINE)
    assert text.startswith(before)
    assert text.endswith(after)


def test_the_name_of_the_cache_is_a_digest_of_the_list_alone():
    # Worked by hand: the lines `path, newline, digest, newline`, sorted by path.
    lines = f"a/b.html\n{'bb' * 32}\nindex.html\n{'aa' * 32}\n"
    told = filled(worker(TEMPLATE, FILES, **GIVEN))

    assert told["id"] == hashlib.sha256(lines.encode()).hexdigest()
    assert filled(worker(TEMPLATE, FILES, **{**GIVEN, "version": "9.9.9"}))["id"] == told["id"]


@given(st.dictionaries(st.text(min_size=1), HEX), st.text(), st.text())
def test_order_does_not_matter_and_any_text_is_read_back(files, version, changes):
    given_text = {"version": version, "date": "2026-11-01", "changes": changes}
    backwards = dict(reversed(list(files.items())))
    text = worker(TEMPLATE, files, **given_text)

    assert text == worker(TEMPLATE, backwards, **given_text)
    assert dict(filled(text)["files"]) == files
    assert filled(text)["version"] == version
    assert text.isascii()  # no sign that ends a line in a script


@given(st.dictionaries(st.text("abc/.", min_size=1), HEX, min_size=1), st.data())
def test_one_byte_in_one_file_is_another_version(files, data):
    path = data.draw(st.sampled_from(sorted(files)))
    other = {**files, path: files[path][:-1] + ("0" if files[path][-1] != "0" else "1")}

    one, two = (filled(worker(TEMPLATE, each, **GIVEN))["id"] for each in (files, other))
    assert one != two


def test_a_template_without_its_line_is_refused():
    with pytest.raises(PocketError, match="needs this line once: var POCKET = "):
        worker("// nothing here\n", FILES, **GIVEN)


def test_the_worker_goes_over_to_a_new_version_in_one_place_alone():
    """When a person says so: `skipWaiting` is called once, under the message, and no open page is ever claimed."""
    assert TEMPLATE.count("skipWaiting") == 1
    assert re.search(r'ask === "use"\) \{\s+worker\.skipWaiting\(\);', TEMPLATE)
    assert "claim(" not in TEMPLATE


@pytest.mark.parametrize(
    ("found", "text"),
    [
        (None, ""),
        (moves(), "Since data 0.5.0: no number moved."),
        (moves(added=("rigs/one",)), "Since data 0.5.0: 1 record added."),
        (
            moves(
                added=("rigs/one", "rigs/two"),
                gone=("rigs/old",),
                parted=(("van", ("van-a", "van-b")),),
                renamed=(("a", "b"),),
                # New or lost values of a record are not numbers that moved.
                moved=(move(1.0, 2.0), move(None, 2.0), move(1.0, None)),
            ),
            "Since data 0.5.0: 2 records added, 2 records gone or parted, 1 record renamed, 1 value moved.",
        ),
    ],
)
def test_what_changed_is_one_sentence(found, text):
    assert changes_text(found) == text
