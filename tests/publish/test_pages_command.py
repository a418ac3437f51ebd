"""The `pages` command: whole or not at all, the same bytes, and a server that outlives a faulty edit."""

import os
import posixpath
import pty
import re
import shutil
import signal
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from planner.cli import main
from publish.test_artefacts import read

pytest.importorskip("mkdocs")
pytest.importorskip("material")
pytestmark = pytest.mark.site

# A class and not a rig: a rig would have the tables of every class made anew, again and again.
OVERLAY = "based_on: midsize-suv\nname: {name}\n"


def overlay(folder, name="Test truck"):
    (folder / "vehicle_classes").mkdir(parents=True, exist_ok=True)
    (folder / "vehicle_classes" / "test-truck.yaml").write_text(OVERLAY.format(name=name), encoding="utf-8")
    return folder


def run(*words, **environment):
    command = [sys.executable, "-m", "planner", "pages", *map(str, words)]
    return subprocess.run(
        command, capture_output=True, text=True, env={**os.environ, **environment}, timeout=120, check=False
    )


def tree(folder):
    """Return every file of a folder with its bytes."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Hosted pages, made once."""
    out = tmp_path_factory.mktemp("pages") / "site"
    done = run("--out", out, SOURCE_DATE_EPOCH="1790000000")
    assert (done.returncode, done.stdout) == (0, "")
    return out


def test_the_pages_are_there_and_nothing_of_the_theme_but_its_search(made):
    files = set(tree(made))

    for path in (
        "index.html",
        "vehicles/midsize-suv.html",
        "safety/index.html",
        "search/worker.js",
        "data/v1/index.json",
        "sw.js",
    ):
        assert path in files
    assert {path for path in files if path.startswith("assets/")} == {
        "assets/icon.svg",
        "assets/notebook.css",
        "assets/pocket.js",
        "assets/search.js",
    }
    assert not [path for path in files if path.endswith((".map", ".png", ".gz"))]
    assert {path for path in files if path.startswith("search/")} == {"search/search_index.json", "search/worker.js"}


def test_every_link_of_every_page_leads_somewhere(made):
    """Links, anchors, styles, scripts and pictures, in pages by hand and generated ones alike."""
    pages = {path: read(content.decode()) for path, content in tree(made).items() if path.endswith(".html")}
    files = set(tree(made))
    checked = 0
    for path, page in pages.items():
        targets = [value for tag, name, value in page.attributes if name in {"href", "src"} and tag != "use"]
        for target in targets:
            address, _, anchor = target.partition("#")
            address = address.partition("?")[0]  # a list narrowed by its address is the same page
            full = posixpath.normpath(posixpath.join(posixpath.dirname(path), address)) if address else path
            assert full in files, f"{path}: {target}"
            if full == "index.html" and anchor.startswith(("class=", "port=")):  # what is known as a call begins
                known, _, named = anchor.partition("=")
                assert f"{'vehicles' if known == 'class' else 'ports'}/{named}.html" in pages, f"{path}: {target}"
            else:
                assert not anchor or anchor in pages[full].ids, f"{path}: {target}"
            checked += 1
    assert checked > 1000


def test_no_page_names_another_site(made):
    """Sources name publishers in words; nothing is fetched from, or links to, anywhere else."""
    for path, content in tree(made).items():
        if path.endswith((".html", ".css")) or path.startswith("assets/"):
            text = content.decode()
            assert not re.findall(r"https?://(?!www\.w3\.org/2000/svg)", text), path
            assert "@import" not in text
            assert "url(" not in text


def test_hosted_pages_have_a_policy_and_folder_pages_none(made, tmp_path):
    assert run("--folder", "--out", tmp_path / "pocket").returncode == 0

    for path, content in tree(made).items():
        if path.endswith(".html"):
            policy = re.search(r'Content-Security-Policy" content="([^"]+)"', content.decode())[1]
            assert "'unsafe" not in policy
            assert policy.startswith("default-src 'none'; ")
    for path, content in tree(tmp_path / "pocket").items():
        assert b"Content-Security-Policy" not in content or path == "404.html", path


def test_no_script_stands_in_a_page(made):
    for path, content in tree(made).items():
        if path.endswith(".html"):
            assert not re.findall(r"<script(?![^>]* src=)", content.decode()), path
            assert not re.findall(r'\sstyle="', content.decode()), path


def test_the_same_data_gives_the_same_bytes(made, tmp_path):
    done = run("--out", tmp_path / "again", SOURCE_DATE_EPOCH="1790000000", PYTHONHASHSEED="77", TZ="Pacific/Auckland")

    assert done.returncode == 0
    assert tree(tmp_path / "again") == tree(made)


def test_the_date_is_that_of_the_sources(made):
    assert "pages of 2026-09-21" in (made / "index.html").read_text(encoding="utf-8")


def test_a_crews_records_are_on_the_pages(tmp_path):
    assert run("--data", overlay(tmp_path / "ours"), "--out", tmp_path / "site").returncode == 0

    assert "Test truck" in (tmp_path / "site" / "vehicles" / "test-truck.html").read_text(encoding="utf-8")
    assert "Test truck" in (tmp_path / "site" / "vehicles" / "index.html").read_text(encoding="utf-8")


def test_faulty_data_leaves_what_was_there(made, tmp_path):
    out = shutil.copytree(made, tmp_path / "site")
    before = tree(out)
    folder = overlay(tmp_path / "ours", name="<b>")
    done = run("--data", folder, "--out", out)

    assert done.returncode == 3
    assert re.match(r"\S+test-truck\.yaml:2:\d+: name: expected ", done.stderr)
    assert "Traceback" not in done.stderr
    assert tree(out) == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["ours", "site"]


def test_what_breaks_its_published_schema_is_never_published(made, tmp_path, monkeypatch, capsys):
    from planner.publish import data_files

    out = shutil.copytree(made, tmp_path / "site")
    before = tree(out)
    broken = {**data_files.PAIR_SCHEMA, "required": [*data_files.PAIR_SCHEMA["required"], "not_there"]}
    monkeypatch.setattr(data_files, "PAIR_SCHEMA", broken)
    capsys.readouterr()
    assert main(["pages", "--out", str(out)]) == 2
    assert "data/v1/by-rig.json: records/0: 'not_there' is a required property" in capsys.readouterr().err
    assert tree(out) == before
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_build_that_is_stopped_leaves_what_was_there(made, tmp_path, number):
    out = shutil.copytree(made, tmp_path / "site")
    before = tree(out)
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "planner", "pages", "--out", str(out)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=theirs) as process:
        os.close(theirs)
        heard = b""
        while b"page 3 of" not in heard:
            heard += os.read(ours, 4096)
        process.send_signal(number)
        process.wait(timeout=60)
    assert process.returncode == 128 + number
    assert tree(out) == before
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


def test_pages_left_aside_by_a_killed_build_are_brought_back(made, tmp_path):
    out = shutil.copytree(made, tmp_path / "site")
    before = tree(out)
    aside = tmp_path / ".site-killed"
    aside.mkdir()
    out.rename(aside / "old")
    faulty = overlay(tmp_path / "ours", name="<b>")
    assert run("--out", out, "--data", faulty).returncode == 3
    assert tree(out) == before


def test_a_folder_with_anything_of_ones_own_is_never_replaced(made, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    shutil.copytree(made, "site")
    Path("site/CNAME").write_text("mine", encoding="utf-8")
    capsys.readouterr()

    assert main(["pages", "--out", "site"]) == 2
    assert capsys.readouterr().err == (
        "rangeferry: --out: expected an empty or new folder, or one that holds nothing but pages made before, got 'site'; "
        "CNAME would be lost: name another folder\n"
    )
    assert Path("site/CNAME").read_text(encoding="utf-8") == "mine"
    Path("site/CNAME").unlink()
    assert main(["pages", "--out", "site"]) == 0


def test_a_folder_that_looks_like_ours_but_has_no_list_is_never_replaced(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("project/data/v1").mkdir(parents=True)
    Path("project/data/v1/index.json").write_text("{}", encoding="utf-8")
    Path("project/thesis.txt").write_text("years of work", encoding="utf-8")

    assert main(["pages", "--out", "project"]) == 2
    assert Path("project/thesis.txt").read_text(encoding="utf-8") == "years of work"


def test_the_shipped_data_is_never_written_into(root, capsys):
    for place in ("vehicle_data/site", "site_src/site"):
        assert main(["pages", "--out", str(root / place)]) == 2
        assert "is read for the pages: name a folder beside it" in capsys.readouterr().err
        assert not (root / place).exists()


def test_a_link_is_followed_and_stays_a_link(made, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shutil.copytree(made, "real")
    Path("link").symlink_to("real")
    Path("real/index.html").write_text("old", encoding="utf-8")

    assert main(["pages", "--out", "link"]) == 0
    assert Path("link").is_symlink()
    assert "rangeferry" in Path("real/index.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            ["--out", "letters"],
            "rangeferry: --out: expected an empty or new folder, or one that holds nothing but pages made before, got "
            "'letters'; one.txt would be lost: name another folder\n",
        ),
        (
            ["--out", "letters/one.txt"],
            "rangeferry: --out: expected a folder, got 'letters/one.txt'; it is a file: name a folder\n",
        ),
        (
            ["--out", "."],
            "rangeferry: --out: expected a folder below the one you are in, or elsewhere, got '.'; name one, such as site\n",
        ),
        (
            ["--data", "ours", "--out", "ours/site"],
            "rangeferry: --out: expected a folder apart from the data, got 'ours/site'; ours is read for the pages: name "
            "a folder beside it\n",
        ),
        (
            ["--data", "ours/../ours", "--out", "ours"],
            "rangeferry: --out: expected a folder apart from the data, got 'ours'; ours is read for the pages: name a folder "
            "beside it\n",
        ),
        (["--port", "80"], "rangeferry: --port: expected no port without --serve, got '80'; add --serve\n"),
        (
            ["--serve", "--out", "x"],
            "rangeferry: --out: expected no such word with --serve, got 'x'; leave one of them out\n",
        ),
        (
            ["--serve", "--port", "70000"],
            "rangeferry: --port: expected 1 to 65535, got '70000'; leave it out for 8000\n",
        ),
    ],
)
def test_a_mistake_says_what_was_expected(tmp_path, monkeypatch, capsys, words, message):
    monkeypatch.chdir(tmp_path)
    Path("letters").mkdir()
    Path("letters/one.txt").write_text("keep me", encoding="utf-8")
    overlay(Path("ours"))
    code = main(["pages", *words])
    out, err = capsys.readouterr()

    assert (code, out, err) == (2, "", message)
    assert Path("letters/one.txt").read_text(encoding="utf-8") == "keep me"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["letters", "ours"]


def test_without_the_generator_it_says_what_to_install(tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "material", None)

    assert main(["pages", "--out", str(tmp_path / "site")]) == 2
    assert capsys.readouterr().err == (
        "rangeferry: rangeferry pages needs the site extra: python3 -m pip install 'rangeferry[site]', or in a checkout "
        "'.[site]'\n"
    )


def test_progress_is_shown_on_a_terminal_alone(tmp_path):
    quiet = run("--out", tmp_path / "quiet")
    assert "page 1 of" not in quiet.stderr
    assert "plan " not in quiet.stderr

    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "planner", "pages", "--out", str(tmp_path / "loud")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=theirs) as process:
        process.wait(timeout=120)
    os.close(theirs)
    heard = b""
    try:
        while piece := os.read(ours, 4096):
            heard += piece
    except OSError:  # the other end is closed
        pass
    assert b"\rplan " in heard
    last = re.findall(rb"\rpage (\d+) of (\d+)", heard)[-1]
    assert last[0] == last[1]
    assert re.search(rb"note: \d+ pages in ", heard)


def test_the_server_follows_edits_and_outlives_a_fault(tmp_path):
    folder = overlay(tmp_path / "ours", name="First name")
    record = folder / "vehicle_classes" / "test-truck.yaml"
    port = 8000 + os.getpid() % 1000 + 137
    log = tmp_path / "log.txt"
    with log.open("w") as stream:
        process = subprocess.Popen(
            [sys.executable, "-m", "planner", "pages", "--serve", "--port", str(port), "--data", str(folder)],
            stdout=stream,
            stderr=stream,
        )

    def page():
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/vehicles/test-truck.html", timeout=2) as answer:
                return answer.read().decode()
        except OSError:
            return ""

    def wait_for(words, where):
        end = time.monotonic() + 150  # of a machine whose every core makes pages; it ends as soon as they are there
        while time.monotonic() < end:
            if words in where():
                return True
            assert process.poll() is None, log.read_text()
            time.sleep(0.2)
        return False

    try:
        assert wait_for("First name", page), log.read_text()
        record.write_text("based_on: midsize-suv\nname: [\n", encoding="utf-8")
        assert wait_for("test-truck.yaml:", log.read_text)
        assert wait_for("First name", page), log.read_text()  # at once, but for a machine that is busy making pages
        record.write_text(OVERLAY.format(name="Second name"), encoding="utf-8")
        assert wait_for("Second name", page), log.read_text()
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(timeout=20)
    text = log.read_text()
    assert re.search(r"test-truck\.yaml:\d+:\d+: ", text)
    assert "Traceback" not in text


def test_a_hand_written_page_cannot_take_the_place_of_a_generated_one(tmp_path, root):
    shutil.copytree(root / "site_src", tmp_path / "site_src")
    shutil.copy(root / "mkdocs.yml", tmp_path)
    (tmp_path / "site_src" / "vehicles").mkdir()
    (tmp_path / "site_src" / "vehicles" / "midsize-suv.md").write_text("# Mine\n", encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "-q", "-d", "site"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 1
    assert "vehicles/midsize-suv.md: also stands in " in done.stderr
    assert "rename the hand-written page" in done.stderr


def test_the_texts_can_be_written_to_disk_for_another_generator(dataset):
    """The way out: the same texts as plain Markdown files give the same pages without our plugin."""
    from markdown import Markdown

    from planner.publish.markup import page_parts
    from planner.publish.site import artefacts

    for path, text in artefacts(dataset).items():
        if path.endswith(".md"):
            _, body = page_parts(text)
            made = Markdown().convert(body)
            assert re.sub(r"\s+", "", made) == re.sub(r"\s+", "", body), path
