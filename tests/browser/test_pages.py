"""The pages as people meet them: hosted under a sub-path, from a folder without signal, on a phone, dark, on paper."""

import re

import pytest

pytestmark = pytest.mark.browser

# One page of every kind.
KINDS = (
    "index.html",
    "vehicles/index.html",
    "vehicles/midsize-suv.html",
    "vehicles/micro-two-seater.html",
    "vehicles/imported-compact-hatch.html",
    "vehicles/plug-in-hybrid-car.html",
    "vehicles/step-van.html",
    "rigs/index.html",
    "rigs/pass-truck.html",
    "rigs/trailhead-van.html",
    "rigs/ski-hill-battery.html",
    "rigs/fairground-spare.html",
    "rigs/county-truck.html",
    "rigs/fairground-outlet.html",
    "rigs/pass-truck-sheet.html",
    "rigs/fairground-spare-sheet.html",
    "rigs/sizing.html",
    "ports/index.html",
    "ports/ccs1.html",
    "ports/chademo.html",
    "ports/gb-t-ac.html",
    "ports/own-cord-5-15.html",
    "plugs/index.html",
    "plugs/pilot.html",
    "safety/index.html",
    "method/index.html",
    "method/formulas.html",
    "checks/index.html",
    "words/index.html",
    "sources/index.html",
    "data/index.html",
    "changes/index.html",
)
# What a dispatcher types, and a page that must be among the first found.
QUESTIONS = (
    ("pickup", "Half-ton pickup, CCS1"),
    ("chademo", "Older short-range hatch, J1772 and CHAdeMO"),
    ("2012 hatchback", "Older short-range hatch, J1772 and CHAdeMO"),
    ("hybrid", "Hybrids: ask for fuel first"),
    ("hybrid car", "Plug-in hybrid car"),
    ("family van", "Minivan, CCS1"),
    ("delivery truck", "Step van, CCS1"),
    ("j3400 sedan", "Midsize sedan, J3400"),
    ("egg", "J3400 inlet"),
    ("pass truck", "Pass truck"),
    ("propane", "Trailhead van"),
    ("backfeed", "Safety"),
    ("seven pins", "Type 2 inlet"),
    ("household plug", "Own cord, 5-15 plug"),
    ("dogbone", "Plugs"),
    ("proximity resistor", "Pilot and proximity"),
    ("frozen port", "Safety"),
    ("frozen", "CCS1 inlet"),
    ("stuck", "CCS1 inlet"),
    ("raining", "Safety"),
    ("tripped", "Safety"),
    ("generator indoors", "Safety"),
    ("cord in trunk", "Own cord, 5-15 plug"),
    ("motorbike", "Electric motorcycle, J1772 or own cord"),
)


# The tables that are wider than their place.
WIDER = (
    "Array.from(document.querySelectorAll('.tw')).filter(e => e.scrollWidth > e.clientWidth + 1)"
    ".map(e => e.querySelector('caption').textContent + ' ' + e.scrollWidth + ' in ' + e.clientWidth)"
)


def search(page, words):
    """Type words into the search and return the pages found, once the answer to these very words is there."""
    page.fill("#query", "")
    page.locator("#query").press_sequentially(words)
    page.locator(f'#found[data-answered="{words}"]').wait_for()
    return page.locator("#found-list a").all_inner_texts()


def base_of(mode, hosted, pocket):
    return hosted if mode == "hosted" else pocket


@pytest.mark.parametrize("mode", ["hosted", "pocket"])
def test_every_kind_of_page_opens_and_asks_nothing_of_anyone(mode, hosted, pocket, new_page):
    base = base_of(mode, hosted, pocket)
    page = new_page(offline=mode == "pocket")
    for kind in KINDS:
        page.goto(base + kind)
        assert page.locator("h1").count() == 1
        assert page.title().endswith(" - rangeferry")
        # The styles are there: the paper is ours.
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(250, 251, 246)"
    assert [url for url in page.watched.requests if not url.startswith(base)] == []


@pytest.mark.parametrize("mode", ["hosted", "pocket"])
def test_the_search_finds_what_a_dispatcher_types(mode, hosted, pocket, new_page):
    base = base_of(mode, hosted, pocket)
    page = new_page(offline=mode == "pocket")
    page.goto(base + "rigs/pass-truck.html")
    for words, wanted in QUESTIONS:
        found = search(page, words)
        assert wanted in found[:4], (words, found)
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.wait_for_url(base + "vehicles/electric-motorcycle.html")
    assert [url for url in page.watched.requests if not url.startswith(base)] == []


def test_the_search_is_not_fetched_before_it_is_wanted(hosted, new_page):
    page = new_page()
    page.goto(hosted + "vehicles/midsize-suv.html")
    page.wait_for_timeout(300)
    assert not [url for url in page.watched.requests if "/search/" in url]
    page.focus("#query")
    search(page, "van")
    assert [url for url in page.watched.requests if "/search/" in url]


def test_a_search_without_result_says_what_to_try(hosted, new_page):
    page = new_page()
    page.goto(hosted + "index.html")
    assert search(page, "zzzz") == []
    assert page.locator("#found-count").inner_text().startswith("Nothing found")
    page.keyboard.press("Escape")
    assert page.locator("#found").is_hidden()


def test_a_search_that_cannot_be_read_says_so_and_tries_again(hosted, new_page):
    page = new_page(expect_errors=True)
    page.goto(hosted + "index.html")
    page.route("**/search_index.json", lambda route: route.abort())
    page.locator("#query").press_sequentially("pi")
    page.locator("#found-count").filter(has_text="could not be read").wait_for()
    page.unroute("**/search_index.json")
    assert "Half-ton pickup, CCS1" in search(page, "pickup")


def test_a_search_worker_that_fails_says_so(hosted, new_page):
    page = new_page(expect_errors=True)
    page.goto(hosted + "index.html")
    page.route("**/search/worker.js", lambda route: route.abort())
    page.locator("#query").press_sequentially("pickup")
    page.locator("#found-count").filter(has_text="could not be read").wait_for()


def test_enter_opens_the_answer_to_what_stands_in_the_field(hosted, new_page):
    """Pressed before the answer is there, it waits for it: never for the answer to older words."""
    page = new_page()
    page.goto(hosted + "index.html")
    search(page, "pickup")
    page.evaluate(
        """() => {
            const field = document.getElementById("query");
            field.value = "snowmobile";
            field.dispatchEvent(new Event("input"));
            field.form.requestSubmit();
        }"""
    )
    page.wait_for_url(hosted + "vehicles/snow-machine.html")


def test_a_short_word_is_not_taken_for_the_beginning_of_a_longer_one(hosted, new_page):
    page = new_page()
    page.goto(hosted + "index.html")
    assert search(page, "co")[0] == "Safety"


def test_the_list_closes_when_the_focus_leaves_it(hosted, new_page):
    page = new_page()
    page.goto(hosted + "vehicles/midsize-suv.html")
    search(page, "snowmobile")
    page.keyboard.press("Tab")
    assert page.locator("#found").is_visible()
    page.keyboard.press("Tab")
    assert page.locator("#found").is_hidden()
    page.keyboard.press("Escape")
    assert page.evaluate("document.activeElement.id") != "query"


def test_the_list_filters_without_a_script(hosted, new_page):
    page = new_page(java_script_enabled=False)
    page.goto(hosted + "vehicles/index.html")
    rows = page.locator(".flt tbody tr:visible")
    every = rows.count()
    page.check("#p-chademo", force=True)
    assert rows.all_inner_texts()[0].startswith("Compact hatch, J1772 and CHAdeMO")
    assert rows.count() == 4
    page.check("#p--any", force=True)
    page.check("#b-pickup", force=True)
    assert rows.count() == 5  # the head of the group and its four classes
    page.check("#b--any", force=True)
    assert rows.count() == every
    assert page.locator("form[role=search]").is_hidden()


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_axe_finds_nothing_on_any_kind_of_page(hosted, new_page, dark):
    from axe_playwright_python.sync_playwright import Axe

    page = new_page(dark=dark, bypass_csp=True)
    for kind in KINDS:
        page.goto(hosted + kind)
        found = Axe().run(page).response["violations"]
        assert [(rule["id"], node["html"][:120]) for rule in found for node in rule["nodes"]] == [], kind
    search(page, "pickup")
    found = Axe().run(page).response["violations"]
    assert [rule["id"] for rule in found] == []


@pytest.mark.parametrize("width", [320, 360, 768, 1280])
def test_no_page_scrolls_sideways(hosted, new_page, width):
    page = new_page(width=width, height=780)
    for kind in KINDS:
        page.goto(hosted + kind)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, kind
        if width >= 360:
            assert page.evaluate(WIDER) == [], kind


def test_what_is_touched_is_large_enough(hosted, new_page):
    """Gloves: controls and the main ways are at least 48 px high; links in tables at least 24."""
    page = new_page(width=360, height=780, has_touch=True)
    for kind in KINDS:
        page.goto(hosted + kind)
        for selector, least in (
            (".hd nav a, .home, #query, summary, .o label, .ft nav a, .mx", 47.5),
            ("tbody th > a, .crumb a", 24),
        ):
            small = page.evaluate(
                "([selector, least]) => Array.from(document.querySelectorAll(selector))"
                ".filter(e => e.offsetParent && e.getBoundingClientRect().height < least).map(e => e.textContent)",
                [selector, least],
            )
            assert small == [], (kind, selector)


def test_the_keyboard_reaches_the_page_and_shows_where_it_is(hosted, new_page):
    page = new_page()
    page.goto(hosted + "vehicles/midsize-suv.html")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    assert page.evaluate("document.activeElement.getBoundingClientRect().top") >= 0
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    page.keyboard.press("Tab")
    assert page.evaluate("getComputedStyle(document.activeElement).outlineWidth") == "3px"


def test_dark_is_dark_and_paper_is_white(hosted, new_page):
    page = new_page(dark=True)
    page.goto(hosted + "rigs/fairground-spare.html")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(17, 23, 26)"
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"
    assert page.evaluate("getComputedStyle(document.querySelector('.vd.no')).color") == "rgb(0, 0, 0)"
    assert page.locator(".sr").is_hidden()


def pages_of(pdf):
    """Return how many sheets a printed document has, counted in the file itself."""
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


@pytest.mark.parametrize(
    ("kind", "most"),
    [
        ("vehicles/midsize-suv.html", 2),
        ("rigs/pass-truck.html", 3),
        ("rigs/trailhead-van.html", 3),
        ("rigs/pass-truck-sheet.html", 2),
        ("rigs/trailhead-van-sheet.html", 2),
    ],
)
def test_a_page_prints_on_few_sheets(hosted, new_page, kind, most):
    page = new_page()
    page.goto(hosted + kind)
    sheets = pages_of(page.pdf(format="Letter", prefer_css_page_size=False))
    assert 1 <= sheets <= most


def test_drawings_keep_their_letters_on_a_narrow_page(hosted, new_page):
    """They stretch and never scale: the same letters at any width, none outside the drawing."""
    sizes = []
    for width in (320, 1280):
        page = new_page(width=width, height=780)
        page.goto(hosted + "rigs/pass-truck.html")
        sizes.append(page.evaluate("getComputedStyle(document.querySelector('svg.d text')).fontSize"))
        outside = page.evaluate(
            "Array.from(document.querySelectorAll('svg.d text')).filter(e => {const r = e.getBoundingClientRect();"
            "return r.left < -1 || r.right > innerWidth + 1}).map(e => e.textContent)"
        )
        assert outside == []
    assert sizes[0] == sizes[1]


def test_one_ladder_one_rung_that_holds_back(hosted, new_page):
    page = new_page()
    page.goto(hosted + "rigs/pass-truck.html")
    assert page.locator("svg.d .ra").count() == 1
    page.goto(hosted + "rigs/fairground-spare.html")
    assert page.locator("svg.d .ra").count() == 0
    assert page.locator("svg.d .lc").count() == 0  # no rail: nothing may be drawn


def test_a_mark_of_the_matrix_leads_to_its_reason(hosted, new_page):
    page = new_page()
    page.goto(hosted + "plugs/index.html")
    page.click('#matrix a[href="#adapter-j3400-to-j1772-80a--ccs1"]')
    target = page.locator(":target")
    assert target.inner_text() == "CCS1"
    assert target.evaluate("e => e.closest('tr').innerText").find("senses temperature") > 0


def test_hostile_records_stay_inert_on_pages_in_titles_and_in_the_search(tmp_path, new_page):
    from publish import hostile

    from planner.publish.build import build_pages

    ours = hostile.write(tmp_path / "ours")
    # The call page with such records has a test of its own: the tables of all these would take minutes.
    build_pages(
        tmp_path / "site", overlays=[ours], folder=True, note=lambda _text: None, show_progress=False, tables=False
    )
    base = (tmp_path / "site").as_uri() + "/"
    page = new_page(width=360, height=780)  # without the policy: escaping alone must hold
    dialogs = []
    page.on("dialog", lambda dialog: dialogs.append(dialog.message))
    kinds = ["vehicles/index.html", "plugs/index.html", "data/index.html"]
    for number in range(len(hostile.PAYLOADS)):
        kinds += [f"vehicles/hostile-compact-hatch-{number}.html", f"rigs/hostile-pass-truck-{number}.html"]
        kinds += [f"ports/hostile-ccs1-{number}.html"]
    for kind in kinds:
        page.goto(base + kind)
        assert page.title() != hostile.MARK, kind
        assert page.locator("main img, main iframe, main script").count() == 0, kind
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, kind
    search(page, "hostilia")
    assert page.locator("#found-list li").count() > 3
    assert page.locator("#found-list img, #found-list script").count() == 0
    page.wait_for_timeout(200)
    assert page.title() != hostile.MARK
    assert dialogs == []
    assert [url for url in page.watched.requests if not url.startswith(base)] == []
