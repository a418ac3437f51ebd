"""The list of classes in a browser: found by words and squares, kept in the address, reached by a link, copied, printed.

What is expected was picked out of the records by hand, or is counted in them; never taken from the page.
"""

import gzip

import pytest

from browser.test_pages import base_of
from planner.publish.vehicle_pages import BODY_WORDS

pytestmark = pytest.mark.browser

LIST = "vehicles/index.html"
MODES = pytest.mark.parametrize("mode", ["hosted", "pocket"])
PHONE = {"width": 320, "height": 640, "has_touch": True}
FIRST_VIEW_MOST = 250_000  # bytes compressed, all that the list asks for
TABS_AT_MOST = 60

CHADEMO = {
    "Compact hatch, J1772 and CHAdeMO",
    "Imported hatch, J1772 and CHAdeMO",
    "Older short-range hatch, J1772 and CHAdeMO",
    "Tall boxy hatch, J1772 and CHAdeMO",
}
CHADEMO_2021 = {"Compact hatch, J1772 and CHAdeMO", "Imported hatch, J1772 and CHAdeMO"}
# What is typed, and the classes that it leaves. Words stand in names, years, places or what people say.
TYPED = (
    ("snowmobile", {"Snow machine"}),
    ("golf cart", {"Neighborhood vehicle, 25 mph"}),
    ("CHAdeMO", CHADEMO),
    ("  chademo   2021 ", CHADEMO_2021),
    ("2021,CHAdeMO", CHADEMO_2021),
    ("1772 chademo", CHADEMO),
    ("J-1772 chademo", CHADEMO),
    (
        "2012 hatch",
        {
            "Imported hatch, J1772 and CHAdeMO",
            "Older city hatch, J1772 or CCS1",
            "Older short-range hatch, J1772 and CHAdeMO",
        },
    ),
    ("pick-up 2022", {"Half-ton pickup, CCS1", "Large pickup, CCS1 or J3400", "Midsize pickup"}),
    (
        "pickups",
        {"Half-ton pickup, CCS1", "Large pickup, CCS1 or J3400", "Midsize pickup", "Full-size pickup, 800 V"},
    ),
)
HOSTILE = "<img src=x onerror=document.title='ran'>"


def with_port(dataset, inlet):
    return {vehicle.name for vehicle in dataset.vehicle_classes.values() if vehicle.port(inlet) is not None}


def names(page):
    """Return the classes shown, each once."""
    found = page.locator("main tbody th > a:visible").all_inner_texts()
    assert len(found) == len(set(found))
    return set(found)


def heads(page):
    return page.locator("main tbody th > b:visible").all_inner_texts()


def told(page):
    return page.locator("#list-told").inner_text()


def query(page):
    """Return what the address asks, as the page itself has it: the driver hears of a change a little later."""
    return page.evaluate("location.search.slice(1)")


@pytest.fixture
def every(dataset):
    return {vehicle.name for vehicle in dataset.vehicle_classes.values()}


# ------------------------------------------------------------------------------------------------------ words, squares


@MODES
def test_every_word_typed_narrows_the_list(mode, hosted, pocket, new_page, every):
    page = new_page(offline=mode == "pocket")
    page.goto(base_of(mode, hosted, pocket) + LIST)
    assert names(page) == every
    assert told(page) == f"{len(every)} of {len(every)} shown."
    for words, wanted in TYPED:
        page.fill("#list-find", "")
        page.locator("#list-find").press_sequentially(words)
        assert names(page) == wanted, words
        assert told(page) == f"{len(wanted)} of {len(every)} shown.", words
    page.fill("#list-find", "")
    assert names(page) == every


def test_the_list_narrows_with_every_letter(hosted, new_page):
    page = new_page()
    page.goto(hosted + LIST)
    counts = []
    for letter in "snowmobile":
        page.locator("#list-find").press(letter)
        counts.append(len(names(page)))
    assert counts == sorted(counts, reverse=True)
    assert counts[0] > counts[-1] == 1


def test_the_head_of_a_body_stands_above_its_rows_alone(hosted, new_page, dataset):
    page = new_page()
    page.goto(hosted + LIST)
    built = {vehicle.body for vehicle in dataset.vehicle_classes.values()}
    assert heads(page) == [words[0] for body, words in BODY_WORDS.items() if body in built]
    page.fill("#list-find", "chademo")
    assert heads(page) == ["Hatchback"]
    page.fill("#list-find", "")
    page.check("#p-chademo", force=True)
    assert heads(page) == ["Hatchback"]
    page.fill("#list-find", "zzzz")
    assert heads(page) == []


@MODES
def test_squares_and_words_work_together(mode, hosted, pocket, new_page, dataset, every):
    page = new_page(offline=mode == "pocket")
    page.goto(base_of(mode, hosted, pocket) + LIST)
    page.check("#p-chademo", force=True)
    assert names(page) == CHADEMO
    assert query(page) == "port=chademo"
    page.fill("#list-find", "2021")
    assert names(page) == CHADEMO_2021
    assert query(page) == "port=chademo&find=2021"
    page.check("#p--any", force=True)
    assert CHADEMO_2021 < names(page) < every
    page.fill("#list-find", "")
    page.check("#b-pickup", force=True)
    page.click("summary")
    page.check("#y-old", force=True)
    assert names(page) == set()
    page.check("#y--any", force=True)
    page.check("#k-x", force=True)
    large = {
        vehicle.name
        for vehicle in dataset.vehicle_classes.values()
        if vehicle.body == "pickup" and vehicle.battery.energy_usable_kwh.typical >= 80
    }
    assert names(page) == large
    assert query(page) == "body=pickup&battery=x"
    page.click("#list-all")
    assert names(page) == every
    assert query(page) == ""


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("find=zzzz", "Nothing found, 0 of {}. No class has “zzzz”: leave it out, or go by the port."),
        (
            "find=hatch+zzzz+yyyy",
            "Nothing found, 0 of {}. No class has “zzzz”, “yyyy”: leave it out, or go by the port.",
        ),
        ("find=snowmobile+chademo", "Nothing found, 0 of {}. Leave out a word, or go by the port."),
        (
            "port=chademo&find=snowmobile",
            "Nothing found, 0 of {}. Leave out a word, set a square back to Any, or go by the port.",
        ),
        ("port=chademo&body=pickup", "Nothing found, 0 of {}. Set a square back to Any, or go by the port."),
    ],
)
def test_nothing_found_says_what_to_do(hosted, new_page, every, asked, said):
    page = new_page()
    page.goto(f"{hosted}{LIST}?{asked}")
    assert names(page) == set()
    assert page.locator("main thead").is_hidden()
    assert told(page) == said.format(len(every))
    page.click("#list-told a")
    page.wait_for_url(hosted + "ports/index.html")


# --------------------------------------------------------------------------------------------------------- the address


@MODES
def test_a_link_leads_to_the_narrowed_list(mode, hosted, pocket, new_page, dataset):
    base = base_of(mode, hosted, pocket)
    page = new_page(offline=mode == "pocket")
    page.goto(f"{base}{LIST}?port=J1772&body=hatch&built=old&battery=m&find=2012")
    assert names(page) == {
        vehicle.name
        for vehicle in dataset.vehicle_classes.values()
        if vehicle.port("j1772") is not None
        and vehicle.body == "hatch"
        and vehicle.built_from <= 2012
        and 20 <= vehicle.battery.energy_usable_kwh.typical < 50
    }
    assert names(page) >= {"Older short-range hatch, J1772 and CHAdeMO"}
    for square in ("#p-j1772", "#b-hatch", "#y-old", "#k-m"):
        assert page.locator(square).is_checked()
    assert page.locator("#y-old").locator("xpath=ancestor::details").get_attribute("open") is not None
    assert page.input_value("#list-find") == "2012"
    page.reload()
    assert page.locator("#b-hatch").is_checked()
    assert page.input_value("#list-find") == "2012"


@MODES
def test_ports_lead_to_the_classes_with_them(mode, hosted, pocket, new_page, dataset):
    page = new_page(offline=mode == "pocket")
    base = base_of(mode, hosted, pocket)
    for inlet in dataset.inlets:
        wanted = with_port(dataset, inlet)
        page.goto(f"{base}ports/{inlet}.html")
        way = page.get_by_role("link", name="Classes with this port")
        assert way.count() == (1 if wanted else 0)
        if wanted:
            assert way.bounding_box()["height"] >= 48
            way.click()
            page.wait_for_url(f"{base}{LIST}?port={inlet}")
            assert names(page) == wanted, inlet


def test_a_changed_address_is_read_again(hosted, new_page, every):
    page = new_page()
    page.goto(f"{hosted}{LIST}#port=chademo")
    assert names(page) == CHADEMO
    page.evaluate("location.hash = '#port=chademo&find=2021'")
    page.locator("#list-told").filter(has_text="2 of").wait_for()
    assert names(page) == CHADEMO_2021
    page.evaluate("history.replaceState(null, '', location.pathname); history.pushState(null, '', '?port=chademo')")
    page.fill("#list-find", "2021")
    page.go_back()
    page.locator("#list-told").filter(has_text=f"{len(every)} of").wait_for()
    assert names(page) == every


def test_what_else_the_address_says_stays(hosted, new_page):
    page = new_page()
    page.goto(f"{hosted}{LIST}?from=card&port=chademo#list-told")
    page.fill("#list-find", "2021")
    assert query(page) == "from=card&port=chademo&find=2021"


def test_a_browser_that_refuses_a_new_address_filters_all_the_same(hosted, new_page):
    page = new_page()
    page.goto(hosted + LIST)
    page.evaluate("() => {history.replaceState = () => {throw new Error('too many')}}")
    page.fill("#list-find", "chademo")
    assert names(page) == CHADEMO


def test_unknown_values_are_left_out_and_told(hosted, new_page, every):
    page = new_page()
    page.goto(f"{hosted}{LIST}?port=nema&body=hatch&built=1066&battery=&find=chademo")
    assert names(page) == CHADEMO
    assert told(page) == f"Not on this list, so left out: port “nema”, built “1066”. 4 of {len(every)} shown."
    assert page.locator("#p--any").is_checked()
    page.fill("#list-find", "chademo 2021")
    assert told(page) == f"2 of {len(every)} shown."
    assert query(page) == "body=hatch&find=chademo+2021"


@MODES
@pytest.mark.parametrize("named", [("find",), ("port",), ("port", "find")], ids="-".join)
def test_markup_in_the_address_stays_text(mode, hosted, pocket, new_page, named):
    page = new_page(offline=mode == "pocket")
    page.goto(base_of(mode, hosted, pocket) + LIST)
    page.evaluate("pairs => {location.hash = new URLSearchParams(pairs)}", [[name, HOSTILE] for name in named])
    page.locator("#list-told").filter(has_text="<img").wait_for()
    page.wait_for_timeout(100)
    assert page.title().startswith("Vehicle classes")
    assert page.locator("main img").count() == 0
    if "find" in named:
        assert page.input_value("#list-find") == HOSTILE
        assert "No class has “<img”" in told(page)
    if "port" in named:
        assert f"port “{HOSTILE}”" in told(page)


def test_endless_words_are_cut(hosted, new_page):
    page = new_page(**PHONE)
    page.goto(f"{hosted}{LIST}?port={'w' * 500}&find={'y' * 500}")
    assert len(page.input_value("#list-find")) == 80
    assert "w" * 41 not in told(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


# ----------------------------------------------------------------------------------------------------------- the link


def test_the_link_to_the_list_is_copied(hosted, new_page):
    page = new_page(permissions=["clipboard-read", "clipboard-write"])
    page.goto(hosted + LIST)
    page.check("#p-chademo", force=True)
    page.fill("#list-find", "2021")
    page.click("#list-copy")
    page.locator("#list-told").filter(has_text="Link copied.").wait_for()
    link = page.evaluate("navigator.clipboard.readText()")
    assert link == f"{hosted}{LIST}?port=chademo&find=2021"
    other = new_page()
    other.goto(link)
    assert names(other) == CHADEMO_2021


@pytest.mark.parametrize("board", ["undefined", "{writeText: () => Promise.reject(new Error('no'))}"])
def test_where_nothing_may_be_copied_the_link_stands_in_a_field(hosted, new_page, board):
    page = new_page()
    page.goto(hosted + LIST + "?port=chademo")
    assert page.locator("#list-link").is_hidden()
    page.evaluate(f"Object.defineProperty(navigator, 'clipboard', {{value: {board}}}) && 0")
    page.click("#list-copy")
    page.locator("#list-link").wait_for()
    assert told(page) == "Copy the link from its field."
    assert page.evaluate("getSelection().toString()") == f"{hosted}{LIST}?port=chademo"
    page.fill("#list-find", "2021")
    assert page.locator("#list-link").is_hidden()


# -------------------------------------------------------------------------------------------------------- every reader


@MODES
def test_without_a_script_a_link_shows_the_whole_list(mode, hosted, pocket, new_page, every):
    page = new_page(java_script_enabled=False)
    page.goto(f"{base_of(mode, hosted, pocket)}{LIST}?port=chademo&find=zzzz")
    assert names(page) == every
    for hidden in ("#list-find", "#list-copy", "#list-all", "#list-go", "#list-link"):
        assert page.locator(hidden).is_hidden()
    assert told(page) == ""
    assert page.locator(".shown").is_visible()
    page.check("#p-chademo", force=True)
    assert names(page) == CHADEMO


def test_the_list_is_worked_by_keys_alone(hosted, new_page, dataset):
    page = new_page()
    page.goto(hosted + LIST)

    def focused():
        return page.evaluate("document.activeElement.id || document.activeElement.textContent")

    def tab_to(wanted):
        for _ in range(TABS_AT_MOST):
            page.keyboard.press("Tab")
            if focused() == wanted:
                return
        pytest.fail(f"{wanted} is not reached")

    tab_to("p--any")
    page.keyboard.press("ArrowRight")
    first = page.evaluate("document.activeElement.id.slice(2)")
    assert names(page) == with_port(dataset, first)
    page.keyboard.press("ArrowLeft")
    tab_to("list-find")
    page.keyboard.type("chademo")
    assert names(page) == CHADEMO
    tab_to("list-all")
    page.keyboard.press("Enter")
    assert len(names(page)) == len(dataset.vehicle_classes)
    assert focused() == "list-all"
    page.keyboard.press("Shift+Tab")
    page.keyboard.type("snowmobile")
    page.keyboard.press("Enter")
    assert focused() == "Snow machine"
    page.keyboard.press("Enter")
    page.wait_for_url(hosted + "vehicles/snow-machine.html")
    page.go_back()
    page.locator("#list-told").filter(has_text="1 of").wait_for()
    assert names(page) == {"Snow machine"}


def test_enter_with_nothing_found_stays_in_the_field(hosted, new_page):
    page = new_page()
    page.goto(hosted + LIST + "?find=zzzz")
    page.press("#list-find", "Enter")
    assert page.evaluate("document.activeElement.id") == "list-find"
    page.press("#list-find", "Escape")
    assert page.input_value("#list-find") == ""
    assert query(page) == ""


@pytest.mark.parametrize("asked", ["", "?port=nema&find=zzzz", "?port=chademo&built=old&battery=m"])
def test_a_narrow_page_has_room_for_gloves(hosted, new_page, asked):
    page = new_page(**PHONE)
    page.goto(hosted + LIST + asked)
    page.evaluate("Object.defineProperty(navigator, 'clipboard', {value: undefined}) && 0")
    for at_hand in (
        "#list-go",
        "#list-find",
        "#list-all",
        "#list-copy",
        *(["#list-told a"] if "zzzz" in asked else []),
    ):
        box = page.locator(at_hand).bounding_box()
        assert box["height"] >= 47.5, at_hand
        assert box["width"] >= 47.5, at_hand
    page.tap("#list-copy")
    assert page.locator("#list-link input").bounding_box()["height"] >= 47.5
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_a_tap_leads_from_the_top_to_the_field(hosted, new_page):
    page = new_page(**PHONE)
    page.goto(hosted + LIST)
    page.tap("#list-go")
    page.wait_for_function("document.activeElement.id === 'list-find'")
    page.keyboard.type("chademo")
    assert names(page) == CHADEMO
    assert query(page) == "find=chademo"
    wide = new_page()
    wide.goto(hosted + LIST)
    assert wide.locator("#list-go").is_hidden()


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_axe_finds_nothing_in_any_state(hosted, new_page, dark):
    from axe_playwright_python.sync_playwright import Axe

    page = new_page(dark=dark, bypass_csp=True, width=360)
    for asked in ("?port=chademo&find=2021", "?port=nema&find=zzzz"):
        page.goto(hosted + LIST + asked)
        page.evaluate("Object.defineProperty(navigator, 'clipboard', {value: undefined}) && 0")
        page.click("#list-copy")
        found = Axe().run(page).response["violations"]
        assert [(rule["id"], node["html"][:120]) for rule in found for node in rule["nodes"]] == [], asked


def test_news_is_told_to_those_who_do_not_see_it(hosted, new_page):
    page = new_page()
    page.goto(hosted + LIST)
    page.fill("#list-find", "chademo")
    assert page.get_by_role("status").filter(has_text="4 of").count() == 1
    assert page.get_by_role("searchbox", name="Find in the list").count() == 1
    assert page.get_by_role("row").filter(has=page.get_by_role("rowheader").get_by_role("link")).count() == 4


def test_paper_shows_the_rows_that_are_shown(hosted, new_page):
    page = new_page()
    page.goto(hosted + LIST + "?find=chademo")
    page.emulate_media(media="print")
    assert names(page) == CHADEMO
    assert heads(page) == ["Hatchback"]
    assert page.locator("#list-told").is_visible()
    for hidden in ("#list-find", "#list-copy", "#list-all", "#list-go"):
        assert page.locator(hidden).is_hidden()


def test_the_first_view_is_small(hosted, new_page):
    page = new_page()
    answers = []
    page.on("response", lambda answer: answers.append(answer))
    page.goto(hosted + LIST)
    page.wait_for_load_state("networkidle")
    assert any(answer.url.endswith("vehicles/filter.js") for answer in answers)
    assert sum(len(gzip.compress(answer.body())) for answer in answers) <= FIRST_VIEW_MOST
