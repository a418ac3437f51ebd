"""The crew cards and the pages of safety as people meet them: on paper, on a small phone, in the dark, by the search."""

import pytest

from browser.conftest import serve
from browser.test_pages import pages_of, search

pytestmark = pytest.mark.browser

CARDS = (
    "cards/pass-truck.html",
    "cards/trailhead-van.html",
    "cards/ski-hill-battery.html",
    "cards/county-truck.html",
    "cards/fairground-outlet.html",
    "cards/fairground-spare.html",
)
SITUATIONS = (
    "safety/situations.html",
    "safety/indoors-and-under-a-roof.html",
    "safety/people-and-openings.html",
    "safety/shoulder-and-traffic.html",
    "safety/crash-fire-water.html",
    "safety/wet-frozen-locked-port.html",
    "safety/dead-dash-and-12-v.html",
    "safety/no-key.html",
    "safety/hybrids-and-fuel.html",
    "safety/cold.html",
    "safety/quiet-hours-and-permission.html",
    "safety/cable-reach.html",
    "safety/plugged-in-and-nothing-happens.html",
)
EVERY = ("cards/index.html", *CARDS, *SITUATIONS)
# As long as an address may be: its links take the most room.
ADDRESS = "https://crew.example/" + 99 * "a"
# What a dispatcher hears, and a page that must be among the first found.
HEARD = (
    ("parking garage", "Indoors and under a roof"),
    ("carport", "Indoors and under a roof"),
    ("highway", "Shoulder and traffic"),
    ("flooded", "Crash, fire, water, warning"),
    ("smoke", "Crash, fire, water, warning"),
    ("frozen shut", "Wet, frozen, locked or broken port"),
    ("frozen", "Wet, frozen, locked or broken port"),
    ("dashes", "Dead dash and the 12 V battery"),
    ("turtle", "Dead dash and the 12 V battery"),
    ("dead", "Dead dash and the 12 V battery"),
    ("jump start", "Dead dash and the 12 V battery"),
    ("lost key", "No key, or the key is away"),
    ("out of gas", "Hybrids: ask for fuel first"),
    ("campground", "Quiet hours and permission"),
    ("cable too short", "Does the cable reach?"),
    ("not charging", "Plugged in and nothing happens"),
    ("crew card", "Crew cards"),
    ("pass truck card", "Crew card, Pass truck"),
)
# Tables that would have to be scrolled sideways within their own box.
SCROLLED = (
    "Array.from(document.querySelectorAll('.tw')).filter(e => e.scrollWidth > e.clientWidth + 1)"
    ".map(e => e.querySelector('caption').textContent)"
)


@pytest.fixture(scope="module")
def addressed(tmp_path_factory):
    """Return the address of pages whose cards carry codes: made for one address, and served at another as a test is."""
    pytest.importorskip("mkdocs")
    pytest.importorskip("segno")
    from planner.publish.build import build_pages

    place = tmp_path_factory.mktemp("addressed") / "crew"
    build_pages(place, address=ADDRESS, note=lambda _text: None, show_progress=False)
    server, address = serve(place.parent)
    yield f"{address}/crew/"
    server.shutdown()
    server.server_close()


@pytest.mark.parametrize("coded", [False, True], ids=["plain", "coded"])
@pytest.mark.parametrize("paper", ["A5", "Letter", "A4"])
@pytest.mark.parametrize("kind", CARDS)
def test_a_card_is_one_sheet_of_two_sides(request, new_page, kind, paper, coded):
    page = new_page()
    page.goto(request.getfixturevalue("addressed" if coded else "hosted") + kind)

    assert page.locator("svg.qr").count() == coded
    assert pages_of(page.pdf(format=paper, prefer_css_page_size=False)) <= 2


@pytest.mark.parametrize("kind", CARDS)
def test_a_code_on_paper_is_large_enough_with_all_its_light_border(addressed, new_page, kind):
    page = new_page(width=480)  # about as wide as a sheet of A5 without its margins
    page.goto(addressed + kind)
    page.emulate_media(media="print")
    code = page.locator("svg.qr")
    box, text = code.bounding_box(), page.locator(".qc p").bounding_box()

    # 96 px are an inch. The smallest code that holds such a link has 29 modules, and 4 light ones on each side.
    assert box["width"] / 96 * 25.4 >= 25 * (29 + 8) / 29
    assert box["height"] == pytest.approx(box["width"])
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= text["x"]
    assert text["x"] + text["width"] <= 480


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_a_code_is_dark_on_white_by_day_and_night(addressed, new_page, dark):
    page = new_page(dark=dark)
    page.goto(addressed + CARDS[0])
    for media in ("screen", "print"):
        page.emulate_media(media=media, color_scheme="dark" if dark else "light")
        fills = "Array.from(document.querySelectorAll('svg.qr > *')).map(e => getComputedStyle(e).fill)"
        assert page.evaluate(fills) == ["rgb(255, 255, 255)", "rgb(0, 0, 0)"]


def test_the_link_beside_a_code_opens_the_page_that_is_at_hand(addressed, new_page):
    page = new_page()
    page.goto(addressed + CARDS[0])
    shown = page.locator(".qc a").inner_text()
    page.click(".qc a")

    assert shown == f"{ADDRESS}/index.html#v=1&rig=pass-truck"
    assert page.url.startswith(f"{addressed}index.html#v=1&")


@pytest.mark.parametrize("width", [320, 1280])
def test_a_card_with_a_code_stays_within_the_page_and_axe_finds_nothing(addressed, new_page, width):
    from axe_playwright_python.sync_playwright import Axe

    page = new_page(width=width, height=780, bypass_csp=True)
    for kind in CARDS:
        page.goto(addressed + kind)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, kind
        assert page.locator(".qc a").bounding_box()["height"] >= 48
        found = Axe().run(page).response["violations"]
        assert [(rule["id"], node["html"][:120]) for rule in found for node in rule["nodes"]] == [], kind


def test_a_card_on_paper_is_the_card_with_the_version_of_its_data(hosted, new_page):
    page = new_page(dark=True)
    page.goto(hosted + "cards/pass-truck.html")
    page.emulate_media(media="print", color_scheme="dark")

    assert page.locator(".hd").is_hidden()
    assert page.locator(".ft nav").is_hidden()
    assert page.locator(".ft p").first.is_visible()
    assert page.locator(".ft p").first.inner_text().startswith("Data ")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("getComputedStyle(document.querySelector('.card')).color") == "rgb(0, 0, 0)"


def test_a_card_is_light_on_a_dark_page(hosted, new_page):
    page = new_page(dark=True)
    page.goto(hosted + "cards/pass-truck.html")

    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(17, 23, 26)"
    assert page.evaluate("getComputedStyle(document.querySelector('.card')).backgroundColor") == "rgb(255, 255, 255)"


@pytest.mark.parametrize("width", [320, 360, 768, 1280])
def test_no_page_scrolls_sideways(hosted, new_page, width):
    page = new_page(width=width, height=780)
    for kind in EVERY:
        page.goto(hosted + kind)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, kind
        assert page.evaluate(SCROLLED) == [], kind


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_axe_finds_nothing(hosted, new_page, dark):
    from axe_playwright_python.sync_playwright import Axe

    page = new_page(dark=dark, bypass_csp=True)
    for kind in EVERY:
        page.goto(hosted + kind)
        found = Axe().run(page).response["violations"]
        assert [(rule["id"], node["html"][:120]) for rule in found for node in rule["nodes"]] == [], kind


def test_the_search_finds_a_situation_by_what_is_heard(hosted, new_page):
    page = new_page()
    page.goto(hosted + "index.html")
    for words, wanted in HEARD:
        found = search(page, words)
        assert wanted in found[:4], (words, found)


def test_the_ways_to_situations_are_large_enough_for_a_thumb(hosted, new_page):
    page = new_page(width=360, height=780, has_touch=True)
    page.goto(hosted + "safety/situations.html")
    low = page.evaluate(
        "Array.from(document.querySelectorAll('.ru h2 a')).filter(e => e.getBoundingClientRect().height < 36)"
        ".map(e => e.textContent)"
    )

    assert low == []
