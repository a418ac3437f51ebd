"""The pages without signal: kept after one visit, of one version at a time, and changed only when somebody says so."""

import os
import shutil
import threading
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from planner.loading import load

pytestmark = pytest.mark.browser

BELOW = "depot/pages/"
DAY, NEXT_DAY = "2026-11-01", "2026-11-09"
NEXT = "9.1.0"
CHANGES = "Since data 9.0.0: 2 records added."
UPLOADED_S = 1_790_000_000
DEEP = "vehicles/midsize-suv.html"
ONLY_IN_NEXT = "rigs/second-truck.html"
SCRIPT = "assets/search.js"
WORKERS = """async () => {
    const found = await navigator.serviceWorker.getRegistration();
    return found && { active: found.active && found.active.state, waiting: found.waiting && found.waiting.state };
}"""
TEXT_OF = "async path => (await fetch(path)).text()"


class Depot:
    """A host that can be changed under way, stopped and started again at the same address."""

    def __init__(self, root):
        self.root, self.asked, self.posted = root, [], []
        self.clean = False  # leaves index.html out of its addresses, as some hosts do
        self.broken = set()  # what it fails to send
        self.port, self.server = 0, None
        self.start()

    def start(self):
        depot = self

        class Handler(SimpleHTTPRequestHandler):
            def do_GET(self):
                depot.asked.append(self.path)
                if self.path.removeprefix(f"/{BELOW}") in depot.broken:
                    self.send_error(500)
                    return
                if depot.clean and self.path.endswith("/index.html"):
                    self.send_response(301)
                    self.send_header("Location", self.path.removesuffix("index.html"))
                    self.end_headers()
                    return
                super().do_GET()

            def do_POST(self):
                depot.posted.append(self.path)
                self.send_response(204)
                self.end_headers()

            def log_message(self, *_arguments):
                """Say nothing."""

        self.server = ThreadingHTTPServer(("127.0.0.1", self.port), partial(Handler, directory=str(self.root)))
        self.port = self.server.server_address[1]
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def stop(self):
        if self.server is not None:
            self.server.shutdown()
            self.server.server_close()
            self.server = None

    @property
    def origin(self):
        return f"http://127.0.0.1:{self.port}/"

    @property
    def base(self):
        return self.origin + BELOW

    @property
    def pages(self):
        return self.root / BELOW

    def put(self, site):
        """Upload a site in one go, the old one gone."""
        beside = self.root / "beside"
        shutil.copytree(site, beside)
        if self.pages.exists():
            self.pages.rename(self.root / "gone")
        self.pages.parent.mkdir(exist_ok=True)
        beside.rename(self.pages)
        shutil.rmtree(self.root / "gone", ignore_errors=True)


@pytest.fixture(scope="module")
def sites(made_pages, tmp_path_factory):
    """Two versions of the hosted pages: as built, and with another version, one page more and another script."""
    from planner.publish.mkdocs_plugin import write_worker

    place = tmp_path_factory.mktemp("versions")
    first, second = place / "first", place / "second"
    version = load().version
    for site, told, day in ((first, version, DAY), (second, NEXT, NEXT_DAY)):
        shutil.copytree(made_pages / "hosted" / "crew", site)
        for page in site.rglob("*.html"):
            text = page.read_text(encoding="utf-8")
            if 'id="kept"' not in text:
                continue
            built = text.split('data-date="')[1].split('"')[0]
            text = text.replace(
                f'data-version="{version}" data-date="{built}"', f'data-version="{told}" data-date="{day}"'
            )
            page.write_text(text.replace(f"<b>Data</b> {version}, ", f"<b>Data</b> {told}, "), encoding="utf-8")
    shutil.copy(second / "rigs" / "pass-truck.html", second / ONLY_IN_NEXT)
    with (second / SCRIPT).open("a", encoding="utf-8") as script:
        script.write("// of the second version\n")
    write_worker(first, version=version, date=DAY, changes="")
    write_worker(second, version=NEXT, date=NEXT_DAY, changes=CHANGES)
    # As from a host that gives every file the time of the release: what was fetched before is called fresh by the time
    # alone, though it is not. Only the worker itself has to be told apart, as on every host.
    for file in (*first.rglob("*"), *second.rglob("*")):
        os.utime(file, (UPLOADED_S, UPLOADED_S))
    os.utime(second / "sw.js", (UPLOADED_S + 3600, UPLOADED_S + 3600))
    return first, second


@pytest.fixture
def depot(sites, tmp_path):
    host = Depot(tmp_path)
    host.put(sites[0])
    yield host
    host.stop()


@pytest.fixture
def visit(new_page):
    """Return a maker of pages that may keep what they find. Failed downloads are said on the console as well."""
    return partial(new_page, service_workers="allow", expect_errors=True)


def told(page, words):
    """Wait until the bar says these words; return all that it says."""
    place = page.locator("#kept-told")
    place.filter(has_text=words).wait_for(timeout=20_000)
    return place.inner_text()


def kept(page, depot, path=DEEP):
    """Open a page and wait until everything is on the device; then open it once more, now from there."""
    page.goto(depot.base + path)
    told(page, "Kept on this device")
    page.reload()
    told(page, "Kept on this device")


def no_signal(page, depot):
    page.context.set_offline(True)
    depot.stop()


def signal(page, depot):
    depot.start()
    page.context.set_offline(False)


def new_version_ready(page, depot, site):
    depot.put(site)
    # Twice: the first may be taken for the look that the page itself has under way, which saw the old list.
    for _ in range(2):
        page.evaluate("async () => { await (await navigator.serviceWorker.getRegistration()).update(); }")
    return told(page, "New version ready")


def foot(page):
    return page.locator(".ft p").first.inner_text()


def cache_names(page):
    return set(page.evaluate("() => caches.keys()"))


def test_everything_opens_without_signal_after_one_visit(depot, visit):
    page = visit()
    page.goto(depot.base + DEEP)
    assert told(page, "Kept on this device") == (
        f"Kept on this device: data {load().version} of {DAY}, works without signal."
    )
    no_signal(page, depot)
    for path in sorted(depot.pages.rglob("*.html")):
        name = path.relative_to(depot.pages).as_posix()
        if name == "404.html" or "search" in name:
            continue
        answer = page.goto(depot.base + name)
        assert answer.status == 200, name
        assert answer.from_service_worker, name
        assert page.locator("h1").count() == 1, name
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(250, 251, 246)", name
    for address in ("", "vehicles/", "vehicles", "vehicles?port=ccs1", "vehicles/midsize-suv"):
        assert page.goto(depot.base + address).status == 200, address
        assert page.locator("h1").count() == 1
    assert page.goto(depot.base + "vehicles?port=ccs1").url == depot.base + "vehicles/?port=ccs1"
    assert page.goto(depot.base + "data/v1/rigs.json").json()["kind"] == "rigs"


def test_query_and_anchor_are_no_hindrance_and_stay(depot, visit):
    page = visit()
    kept(page, depot)
    no_signal(page, depot)
    address = depot.base + "safety/index.html?from=card&x=1#carbon-monoxide"
    assert page.goto(address).status == 200
    assert page.url == address


def test_the_search_answers_without_signal(depot, visit):
    page = visit()
    kept(page, depot)
    no_signal(page, depot)
    page.goto(depot.base + "rigs/pass-truck.html")
    page.locator("#query").press_sequentially("snowmobile")
    page.locator('#found[data-answered="snowmobile"]').wait_for()
    page.keyboard.press("Enter")
    page.wait_for_url(depot.base + "vehicles/snow-machine.html")


def test_an_unknown_address_is_no_page_and_says_so(depot, visit):
    page = visit()
    kept(page, depot)
    no_signal(page, depot)
    answer = page.goto(depot.base + "vehicles/no-such.html")
    assert answer.status == 404
    assert "not among the pages kept on this device" in page.locator("main").inner_text()
    page.get_by_role("link", name="front page").click()
    page.wait_for_url(depot.base + "index.html")
    assert page.evaluate("async () => (await fetch('no-such.json')).status") == 404
    signal(page, depot)
    # With signal the server is asked, and its answer is its own.
    (depot.pages / "added-by-hand.txt").write_text("by hand", encoding="utf-8")
    assert page.goto(depot.base + "added-by-hand.txt").text() == "by hand"


def test_what_is_no_question_for_a_page_passes_through(depot, visit, tmp_path_factory):
    elsewhere = Depot(tmp_path_factory.mktemp("elsewhere"))
    try:
        page = visit(bypass_csp=True)
        kept(page, depot)
        assert page.evaluate("async path => (await fetch(path, { method: 'POST' })).status", depot.base + DEEP) == 204
        assert depot.posted == ["/" + BELOW + DEEP]
        page.evaluate("async path => { await fetch(path, { mode: 'no-cors' }); }", elsewhere.origin + "x")
        assert elsewhere.asked == ["/x"]
        before = len(depot.asked)
        page.evaluate(TEXT_OF, depot.origin)
        assert depot.asked[before:] == ["/"]
    finally:
        elsewhere.stop()


def test_a_host_that_redirects_is_followed_and_pages_open(depot, visit):
    """A browser refuses a redirected answer for a page, so it has to be built anew."""
    depot.clean = True
    page = visit()
    kept(page, depot)
    assert f"/{BELOW}vehicles/" in depot.asked
    no_signal(page, depot)
    assert page.goto(depot.base + "vehicles/index.html").status == 200
    assert page.goto(depot.base).status == 200


def test_a_new_version_waits_for_the_tap_and_an_old_page_keeps_old_data(depot, sites, visit):
    page = visit()
    kept(page, depot)
    page.goto(depot.base + DEEP + "#serves")
    old = page.evaluate(TEXT_OF, "../" + SCRIPT)
    text = new_version_ready(page, depot, sites[1])
    assert text == f"New version ready: data {NEXT} of {NEXT_DAY}. {CHANGES}"
    # It waits, whatever is opened or loaded again meanwhile, and what is shown is of one version: the old one.
    for _ in range(3):
        page.wait_for_timeout(300)
        assert page.evaluate(WORKERS) == {"active": "activated", "waiting": "installed"}
        assert f"Data {load().version}, " in foot(page)
        assert page.evaluate(TEXT_OF, "../" + SCRIPT) == old
        page.reload()
        told(page, "New version ready")
    page.goto(depot.base + "rigs/pass-truck.html")
    told(page, "New version ready")
    assert f"Data {load().version}, " in foot(page)
    assert page.evaluate(WORKERS) == {"active": "activated", "waiting": "installed"}
    page.goto(depot.base + DEEP + "#serves")
    told(page, "New version ready")
    loads = []
    page.on("load", lambda _page: loads.append(page.url))
    before = cache_names(page)
    page.get_by_role("button", name="Use the new version").click()
    assert told(page, "Kept on this device") == (
        f"Kept on this device: data {NEXT} of {NEXT_DAY}, works without signal."
    )
    assert f"Data {NEXT}, " in foot(page)
    assert page.evaluate(TEXT_OF, "../" + SCRIPT) == old + "// of the second version\n"
    assert page.evaluate(WORKERS) == {"active": "activated", "waiting": None}
    page.wait_for_timeout(1000)
    assert loads == [depot.base + DEEP + "#serves"]  # once, and where it stood
    assert len(before) == 2
    assert len(cache_names(page)) == 1
    no_signal(page, depot)
    assert page.goto(depot.base + ONLY_IN_NEXT).status == 200
    assert f"Data {NEXT}, " in foot(page)


def test_what_changed_is_shown_from_the_version_that_waits(depot, sites, visit):
    page = visit()
    kept(page, depot)
    new_version_ready(page, depot, sites[1])
    no_signal(page, depot)
    page.get_by_role("link", name="What changed").click()
    page.wait_for_url("**/changes/index.html?*")
    assert page.locator("h1").inner_text() == "What changed"
    assert f"Data {NEXT}, " in foot(page)
    assert told(page, "New version ready").startswith(
        f"This page is data {NEXT} of {NEXT_DAY}; the pages kept on this device are data {load().version} of {DAY}."
    )
    # Its parts are of its own version too, and a page without that address is still the old one.
    assert page.evaluate(TEXT_OF, "../" + SCRIPT).endswith("// of the second version\n")
    page.goto(depot.base + "changes/index.html")
    assert f"Data {load().version}, " in foot(page)


def test_what_is_the_same_is_not_fetched_again(depot, sites, visit):
    page = visit()
    kept(page, depot)
    before = len(depot.asked)
    new_version_ready(page, depot, sites[1])
    fetched = set(depot.asked[before:])
    assert f"/{BELOW}{DEEP}" in fetched
    assert f"/{BELOW}{ONLY_IN_NEXT}" in fetched
    same = [
        path
        for path in ("assets/notebook.css", "search/worker.js", "data/v1/rigs.json")
        if f"/{BELOW}{path}" in fetched
    ]
    assert same == []


def test_a_half_uploaded_deployment_changes_nothing(depot, sites, visit):
    page = visit()
    kept(page, depot)
    (depot.pages / "sw.js").write_bytes((sites[1] / "sw.js").read_bytes())  # the worker is there, its pages are not
    page.reload()
    assert told(page, "are being changed") == (
        f"Kept on this device: data {load().version} of {DAY}, works without signal. "
        "The pages on the server are being changed; the ones on this device stay."
    )
    assert page.evaluate(WORKERS) == {"active": "activated", "waiting": None}
    page.goto(depot.base + DEEP)
    assert f"Data {load().version}, " in foot(page)
    told(page, "are being changed")
    # One byte is enough, in a file that the old version has as well.
    depot.put(sites[1])
    with (depot.pages / DEEP).open("a", encoding="utf-8") as half:
        half.write(" ")
    page.get_by_role("button", name="Try again").click()
    page.locator("#kept[data-state=kept]").wait_for()
    told(page, "are being changed")
    assert page.evaluate(WORKERS) == {"active": "activated", "waiting": None}
    # Once the upload is whole, the same page gets it.
    depot.put(sites[1])
    page.get_by_role("button", name="Try again").click()
    told(page, "New version ready")


def test_a_first_visit_that_fails_keeps_nothing_and_can_be_tried_again(depot, visit):
    page = visit()
    gone = depot.pages / "words" / "index.html"
    aside = gone.with_name("aside")
    gone.rename(aside)
    page.goto(depot.base + DEEP)
    assert told(page, "are being changed") == (
        "The pages on the server are being changed; nothing is kept on this device yet."
    )
    assert not page.evaluate(WORKERS) or page.evaluate(WORKERS)["active"] is None
    aside.rename(gone)
    page.get_by_role("button", name="Try again").click()
    told(page, "Kept on this device")
    no_signal(page, depot)
    assert page.goto(depot.base + "words/index.html").status == 200


def test_a_download_that_fails_is_told_and_the_old_pages_stay(depot, sites, visit):
    page = visit()
    kept(page, depot)
    depot.put(sites[1])
    depot.broken.add(ONLY_IN_NEXT)
    page.reload()
    assert told(page, "A download failed").endswith(f"A download failed: {ONLY_IN_NEXT}; the ones on this device stay.")
    assert page.evaluate(WORKERS) == {"active": "activated", "waiting": None}
    assert f"Data {load().version}, " in foot(page)


def test_caches_of_others_on_the_same_host_are_left_alone(depot, sites, visit):
    """Even one that looks like ours: another copy of these pages, above this one or beside it."""
    others = {
        "someone-else",
        "rangeferry-pocket /depot/ 00",
        "rangeferry-pocket /depot/pages2/ 00",
        "rangeferry-pocket",
    }
    page = visit()
    kept(page, depot)
    page.evaluate(
        "async names => { for (const name of names) await (await caches.open(name)).put('/x', new Response('theirs')); }",
        sorted(others),
    )
    stale = f"rangeferry-pocket /{BELOW} 00"
    page.evaluate("async name => { await caches.open(name); }", stale)
    new_version_ready(page, depot, sites[1])
    page.get_by_role("button", name="Use the new version").click()
    told(page, f"Kept on this device: data {NEXT}")
    names = cache_names(page)
    assert others <= names
    assert len(names) == len(others) + 1
    assert stale not in names
    for name in others:
        assert page.evaluate("async name => (await (await caches.open(name)).match('/x')).text()", name) == "theirs"


def test_a_second_tab_goes_over_to_the_new_version_too(depot, sites, visit):
    page = visit()
    kept(page, depot)
    second = page.context.new_page()
    second.goto(depot.base + "rigs/pass-truck.html#raise")
    told(second, "Kept on this device")
    new_version_ready(page, depot, sites[1])
    told(second, "New version ready")
    assert f"Data {load().version}, " in foot(second)
    loads = []
    second.on("load", lambda _page: loads.append(second.url))
    page.get_by_role("button", name="Use the new version").click()
    for tab in (page, second):
        told(tab, f"Kept on this device: data {NEXT}")
        assert f"Data {NEXT}, " in foot(tab)
    second.wait_for_timeout(500)
    assert loads == [depot.base + "rigs/pass-truck.html#raise"]


def test_a_page_of_the_new_version_never_gets_parts_of_the_old_one(depot, sites, visit):
    """A code on a new card leads to a page that the version on this device does not have."""
    page = visit()
    kept(page, depot)
    new_version_ready(page, depot, sites[1])
    page.goto(depot.base + ONLY_IN_NEXT)
    assert f"Data {NEXT}, " in foot(page)
    assert page.evaluate(TEXT_OF, "../" + SCRIPT).endswith("// of the second version\n")
    assert told(page, "New version ready").startswith(f"This page is data {NEXT} of {NEXT_DAY}; the pages kept on")


def test_what_the_browser_threw_away_is_fetched_again_if_it_is_the_same(depot, sites, visit):
    page = visit()
    kept(page, depot)
    drop = """async part => {
        const cache = await caches.open((await caches.keys())[0]);
        for (const request of await cache.keys()) if (request.url.includes(part)) await cache.delete(request);
        return (await cache.keys()).length;
    }"""
    before = page.evaluate(drop, "no such part")
    assert page.evaluate(drop, "/rigs/") < before
    page.reload()
    told(page, "works without signal")
    page.locator("#kept[data-state=kept]").wait_for()
    page.wait_for_function(
        "async all => (await (await caches.open((await caches.keys())[0])).keys()).length === all", arg=before
    )
    # What the server has by now is of another version: it is not shown among the old ones.
    depot.put(sites[1])
    os.utime(depot.pages / DEEP)  # or the browser's own copy is called fresh, which is still the same
    page.evaluate(drop, "/" + DEEP)
    assert page.goto(depot.base + DEEP).status == 404


def test_the_bar_is_quiet_reachable_by_gloves_and_not_on_paper(depot, sites, visit):
    from axe_playwright_python.sync_playwright import Axe

    page = visit(width=360, height=740, bypass_csp=True)
    kept(page, depot)
    assert page.evaluate("getComputedStyle(document.getElementById('kept')).position") == "static"
    new_version_ready(page, depot, sites[1])
    bar = page.locator("#kept")
    box = bar.bounding_box()
    assert box["y"] + box["height"] == pytest.approx(740, abs=1)  # seen without scrolling
    for target in bar.locator("a, button").all():
        assert target.bounding_box()["height"] >= 47.5
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert [rule["id"] for rule in Axe().run(page).response["violations"]] == []
    page.emulate_media(media="print")
    assert bar.is_hidden()
    page.emulate_media(media="screen")
    page.get_by_role("button", name="Later").click()
    assert page.evaluate("getComputedStyle(document.getElementById('kept')).position") == "static"
    page.reload()
    told(page, "New version ready")
    assert page.evaluate("getComputedStyle(document.getElementById('kept')).position") == "static"
    assert page.get_by_role("button", name="Use the new version").count() == 1


def test_the_first_view_is_not_slowed_by_what_is_kept(depot, visit):
    page = visit()
    page.goto(depot.base + DEEP)
    page.wait_for_timeout(800)
    assert f"/{BELOW}sw.js" not in depot.asked
    told(page, "Kept on this device")
    assert f"/{BELOW}sw.js" in depot.asked


def test_pages_in_a_folder_keep_nothing(pocket, new_page):
    page = new_page(service_workers="allow")
    page.goto(pocket + DEEP)
    assert page.locator("#kept").count() == 0
    assert not (Path(pocket.removeprefix("file://")) / "sw.js").exists()
