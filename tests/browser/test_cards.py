"""The crew cards and the pages of safety as people meet them: on paper, on a small phone, in the dark, by the search."""

import pytest

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


@pytest.mark.parametrize("paper", ["A5", "Letter", "A4"])
@pytest.mark.parametrize("kind", CARDS)
def test_a_card_is_one_sheet_of_two_sides(hosted, new_page, kind, paper):
    page = new_page()
    page.goto(hosted + kind)

    assert pages_of(page.pdf(format=paper, prefer_css_page_size=False)) <= 2


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
