"""A browser, where there is one: Debian's Chromium, driven by Playwright. REQUIRE_BROWSER=1 forbids to skip."""

import os
import threading
import time
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer

import pytest

from browser import chromium
from browser.node import missing

# What the driver says on the console where a page may keep nothing.
BLOCKED = "Service Worker registration blocked by Playwright"
MADE_WITHIN_S = 900
WAIT_S = 0.5


@pytest.fixture(scope="session")
def browser():
    """Return a running browser, or skip with what is missing."""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing("no Playwright: install the `browser` extra")
    path = chromium.path()
    if path is None:
        missing("no Chromium on the path")
    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=path, headless=True, args=chromium.ARGUMENTS)
        yield running
        running.close()


class Watched:
    """What a page said and asked for."""

    def __init__(self):
        self.errors, self.requests = [], []


@pytest.fixture
def new_page(browser):
    """Return a maker of pages. Each is watched; what it says on the console as an error fails the test.

    A page keeps nothing on the device unless a test asks for it by `service_workers="allow"`: it would be slower, and
    what one test keeps must not answer another.
    """
    contexts, watched = [], []

    def make(*, width=1280, height=900, dark=False, offline=False, expect_errors=False, **options):
        options = {"service_workers": "block", **options}
        context = browser.new_context(
            viewport={"width": width, "height": height}, color_scheme="dark" if dark else "light", **options
        )
        context.set_offline(offline)
        contexts.append(context)
        page = context.new_page()
        page.watched = Watched()
        if not expect_errors:
            watched.append(page.watched)
        page.on(
            "console",
            lambda message: (
                message.type in {"error", "warning"}
                and message.text != BLOCKED
                and page.watched.errors.append(message.text)
            ),
        )
        page.on("pageerror", lambda error: page.watched.errors.append(str(error)))
        page.on("request", lambda request: page.watched.requests.append(request.url))
        return page

    yield make
    for context in contexts:
        context.close()
    assert [error for one in watched for error in one.errors] == []


def once(done, make):
    """Make something that a file says is done: by the first worker that comes, while the others wait for it."""
    begun, failed = done.with_suffix(".begun"), done.with_suffix(".failed")
    try:
        begun.touch(exist_ok=False)
    except FileExistsError:
        waited_s = 0.0
        while not done.exists():
            assert not failed.exists(), f"another worker could not make it: {failed.read_text(encoding='utf-8')}"
            assert waited_s < MADE_WITHIN_S, f"no worker made it within {MADE_WITHIN_S} s: {done}"
            time.sleep(WAIT_S)
            waited_s += WAIT_S
        return
    try:
        make()
    except BaseException as error:
        failed.write_text(repr(error), encoding="utf-8")
        raise
    done.touch()


@pytest.fixture(scope="session")
def made_pages(tmp_path_factory):
    """Make the pages hosted under a sub-path and as a folder, one set for all workers; return both places."""
    pytest.importorskip("mkdocs")
    from planner.publish.build import build_pages

    ours = tmp_path_factory.getbasetemp()
    place = (ours.parent if "PYTEST_XDIST_WORKER" in os.environ else ours) / "made"
    (place / "hosted").mkdir(parents=True, exist_ok=True)
    for folder, out in ((False, place / "hosted" / "crew"), (True, place / "pocket")):
        make = partial(build_pages, out, folder=folder, note=lambda _text: None, show_progress=False)
        once(place / f"{out.name}.done", make)
    return place


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, *_arguments):
        """Say nothing."""


def serve(folder):
    """Serve a folder; return the server and its address."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(_Quiet, directory=str(folder)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server, f"http://127.0.0.1:{server.server_address[1]}"


@pytest.fixture(scope="session")
def hosted(made_pages):
    """Return the address of the hosted pages, under a sub-path."""
    server, address = serve(made_pages / "hosted")
    yield f"{address}/crew/"
    server.shutdown()
    server.server_close()


@pytest.fixture(scope="session")
def pocket(made_pages):
    """Return the address of the pages in a folder."""
    return (made_pages / "pocket").as_uri() + "/"
