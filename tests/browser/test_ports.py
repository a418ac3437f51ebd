"""The pages of ports and plugs in a browser: the key followed by hand and by keys, the matrix filtered without a script,
drawings measured in pixels, paper.

What is expected comes from the data and from `plug_matrix`, never from the page. Lengths that are no record's: a quarter
dollar is 24.26 mm across (United States Mint). Contrast: relative luminance and ratio as WCAG 2.2 defines them; 3 to 1
for what is drawn is its 1.4.11, 4.5 to 1 for letters its 1.4.3.
"""

import itertools
import re

import pytest

from browser.test_pages import KINDS
from planner.publish.coupler_words import end_id, end_words, short
from planner.publish.port_key import key_ways, port_key, questions
from planner.tables import on_dc, plug_matrix

pytestmark = pytest.mark.browser

ANY = "-any"
STATES = ("yes", "dc", "no")
QUARTER_MM = 24.26
PAPER_PX = 0.75  # own judgement: 0.2 mm of paper, a dot that any printer still makes
PHONE = {"width": 360, "height": 780, "has_touch": True, "reduced_motion": "reduce"}
DESK = {"width": 1280, "height": 900, "reduced_motion": "reduce"}
TABS_AT_MOST = 40
WAIT_MS = 10_000
KINDS_WIDTH = 1280  # at which all kinds of page are examined, light and dark
CAPS = "e => ({top: e.getBoundingClientRect().top, bottom: e.getBoundingClientRect().bottom, high: innerHeight})"


@pytest.fixture(scope="module")
def port_kinds(dataset):
    """The list of ports and every port's page."""
    return ["ports/index.html", *(f"ports/{inlet}.html" for inlet in dataset.inlets)]


@pytest.fixture(scope="module")
def kinds(port_kinds):
    """All pages of ports and plugs."""
    return [*port_kinds, "plugs/index.html", "plugs/pilot.html"]


@pytest.fixture(scope="module")
def matrix(dataset):
    return plug_matrix(dataset)


def on_screen(locator):
    """Return whether an element is wholly between the upper and the lower edge of the window."""
    found = locator.evaluate(CAPS)
    return found["top"] >= 0 and found["bottom"] <= found["high"] + 0.5


# ------------------------------------------------------------------------------------------------------------ the key


def ways_of(dataset):
    """Yield every way through the key, its answers with where each leads, and check that each inlet is at one's end."""
    first = port_key(dataset)
    numbers = {id(question): f"#key-{number}" for number, question in enumerate(questions(first), 1)}
    ways = list(key_ways(first))
    assert sorted(inlet.id for _, inlet in ways) == sorted(dataset.inlets)
    for answers, inlet in ways:
        yield [(one.words, numbers.get(id(one.leads_to), f"ports/{inlet.id}.html")) for one in answers], inlet


def test_the_key_is_walked_by_touch_without_a_script(hosted, new_page, dataset):
    page = new_page(java_script_enabled=False, **PHONE)
    for answers, inlet in ways_of(dataset):
        page.goto(hosted + "ports/index.html")
        page.tap('.ways a[href="#key"]')
        at = "#key-1"
        for words, leads_to in answers:
            question = page.locator(".kq").filter(has=page.locator(at))
            assert on_screen(question.locator("h3"))
            texts = question.locator("a.kl > span:nth-of-type(2)").all_inner_texts()
            assert texts.count(words) == 1, (inlet.id, texts)
            question.locator("a.kl").nth(texts.index(words)).tap()
            page.wait_for_url(re.compile(f"{re.escape(leads_to)}$"), timeout=WAIT_MS)
            at = leads_to
        assert page.url == f"{hosted}ports/{inlet.id}.html"
        assert page.locator("h1").inner_text() == inlet.name


def test_the_key_is_walked_by_keys_alone(hosted, new_page, dataset):
    """From the top of the page; after an answer the next key press stands at the first answer of the next question."""
    page = new_page(java_script_enabled=False, **DESK)
    focused = "document.activeElement.getAttribute('href')"
    for answers, inlet in ways_of(dataset):
        page.goto(hosted + "ports/index.html")
        for _ in range(TABS_AT_MOST):
            page.keyboard.press("Tab")
            if page.evaluate(focused) == "#key":
                break
        assert page.evaluate(focused) == "#key"
        page.keyboard.press("Enter")
        at = "#key-1"
        for words, leads_to in answers:
            question = page.locator(".kq").filter(has=page.locator(at))
            texts = question.locator("a.kl > span:nth-of-type(2)").all_inner_texts()
            for _ in range(texts.index(words) + 1):
                page.keyboard.press("Tab")
            reached = page.locator(":focus")
            assert reached.locator("span").nth(1).inner_text() == words, inlet.id
            ring = reached.evaluate("e => getComputedStyle(e).outlineStyle + ' ' + getComputedStyle(e).outlineWidth")
            assert ring == "solid 3px"
            assert on_screen(reached)
            page.keyboard.press("Enter")
            page.wait_for_url(re.compile(f"{re.escape(leads_to)}$"), timeout=WAIT_MS)
            at = leads_to
        assert page.url == f"{hosted}ports/{inlet.id}.html"


def test_what_is_touched_in_the_key_is_48_px_high_and_apart(hosted, new_page):
    page = new_page(**PHONE)
    page.goto(hosted + "ports/index.html")
    boxes = page.evaluate(
        "Array.from(document.querySelectorAll('.key a')).map(e => {const r = e.getBoundingClientRect();"
        "return [e.textContent, r.top, r.bottom, r.left, r.right]})"
    )
    assert len(boxes) > 12
    assert [(words, bottom - top) for words, top, bottom, _, _ in boxes if bottom - top < 48] == []
    assert [one[0] for one, other in itertools.pairwise(boxes) if other[1] < one[2] - 0.5] == []
    assert [words for words, _, _, left, right in boxes if left < 0 or right > PHONE["width"]] == []


# --------------------------------------------------------------------------------------------------------- the matrix


def state_of(dataset, pair):
    """Return how a pair stands on an AC unit: it goes, a DC unit alone would do, or it does not."""
    if pair.code is None:
        return "yes"
    return "dc" if on_dc(dataset, pair).goes else "no"


def anchor_of(pair):
    return f"{end_id(pair)}--{pair.inlet.id}"


class Facts:
    """What the filters choose from, and what must be left for a choice, from the matrix alone."""

    def __init__(self, dataset, matrix):
        self.state = {anchor_of(pair): state_of(dataset, pair) for pair in matrix}
        self.inlet = {anchor_of(pair): pair.inlet.id for pair in matrix}
        self.end = {anchor_of(pair): end_id(pair) for pair in matrix}
        assert len(self.state) == len(matrix)
        self.ports = list(dict.fromkeys(self.inlet.values()))
        self.ends = list(dict.fromkeys(self.end.values()))

    def left(self, port=ANY, end=ANY, state=ANY):
        return {
            key
            for key in self.state
            if port in (ANY, self.inlet[key]) and end in (ANY, self.end[key]) and state in (ANY, self.state[key])
        }


# The marks that are seen, the rows of the matrix whose head is seen, and the rows of reasons by the pairs they hold.
SEEN = """() => {
  const seen = e => e.checkVisibility({visibilityProperty: true, opacityProperty: true});
  const marks = Array.from(document.querySelectorAll('#matrix a.mx'));
  const ids = row => Array.from(row.querySelectorAll('[id]')).map(e => e.id);
  return {
    marks: marks.filter(seen).map(e => e.getAttribute('href').slice(1)),
    rows: Array.from(document.querySelectorAll('#matrix tbody tr')).filter(e => seen(e.querySelector('th')))
      .map(e => e.querySelector('a.mx').getAttribute('href').slice(1).split('--')[0]),
    why: Array.from(document.querySelectorAll('.why tbody tr')).filter(seen).map(ids),
    whyAll: Array.from(document.querySelectorAll('.why tbody tr')).map(ids),
  }
}"""


def unfold(page):
    """Show what a narrow page folds away behind the answer for one port."""
    page.evaluate("() => {const more = document.getElementById('more'); if (more) more.checked = true}")


def check_left(page, facts, **choice):
    """Check that exactly the marks, rows and reasons of a choice are seen."""
    wanted = facts.left(**choice)
    seen = page.evaluate(SEEN)
    assert sorted(seen["marks"]) == sorted(wanted), choice
    assert sorted(seen["rows"]) == sorted({facts.end[key] for key in wanted}), choice
    assert seen["why"] == [row for row in seen["whyAll"] if wanted & set(row)], choice
    assert wanted <= set(itertools.chain(*seen["why"])), choice
    return wanted


def check_answer(page, facts, matrix, port):
    """Check what is said of a chosen port: every end that goes in, each with a way to its reason, and no other.

    An adapter of a customer's whose label is yet to be read may be named too, and not as one that goes in.
    """
    blocks = page.locator(".go:visible")
    assert blocks.count() == 1, port
    links = [one.removeprefix("#") for one in blocks.locator("li a").evaluate_all("all => all.map(e => e.hash)")]
    going = facts.left(port=port, state="yes")
    waiting = {anchor_of(pair) for pair in matrix if pair.code == "adapter_rating_unreadable"}
    assert len(links) == len(set(links)), port
    assert going <= set(links) <= going | (waiting & facts.left(port=port)), port
    text = blocks.inner_text()
    assert [pair.inlet.id for pair in matrix if anchor_of(pair) in going and end_words(pair) not in text] == []
    assert blocks.locator('use[href="#serve"]').count() == len(going), port
    assert ("Nothing on an AC unit" in text) == (not links), port


def test_the_matrix_has_one_choice_for_each_port_end_and_answer(hosted, new_page, dataset, matrix):
    facts = Facts(dataset, matrix)
    page = new_page(java_script_enabled=False, **DESK)
    page.goto(hosted + "plugs/index.html")
    for group, values in (("i", facts.ports), ("h", facts.ends), ("g", list(STATES))):
        found = page.evaluate(f"Array.from(document.querySelectorAll('input[name={group}]')).map(e => e.id)")
        assert sorted(found) == sorted(f"{group}-{value}" for value in (ANY, *values))
    reasons = list(itertools.chain(*page.evaluate(SEEN)["whyAll"]))
    assert sorted(reasons) == sorted(facts.state)  # each pair has its reason once
    check_left(page, facts)


def test_touching_a_choice_leaves_exactly_its_own_and_any_shows_all(hosted, new_page, dataset, matrix):
    facts = Facts(dataset, matrix)
    page = new_page(java_script_enabled=False, **PHONE)
    page.goto(hosted + "plugs/index.html")

    def touch(group, value):
        page.locator(f"label:has(#{group}-{value})").tap()
        assert page.locator(f"#{group}-{value}").is_checked()

    assert page.locator("#h--any").is_hidden()  # folded away until asked for
    page.tap("summary:has-text('In our hand')")
    # Of a chosen port a phone shows what goes in; all pairs and reasons follow where they are asked for.
    touch("i", facts.ports[0])
    check_answer(page, facts, matrix, facts.ports[0])
    assert page.evaluate(SEEN)["marks"] == page.evaluate(SEEN)["why"] == []
    more = page.locator("label:has(#more)")
    assert more.evaluate("e => e.getBoundingClientRect().height") >= 48
    more.tap()
    names = {pair.inlet.id: short(pair.inlet.name) for pair in matrix}
    for port in facts.ports:
        touch("i", port)
        check_left(page, facts, port=port)
        check_answer(page, facts, matrix, port)
        # On a phone the head of the column is gone: each mark says itself which port it is of.
        labels = page.locator("#matrix a.mx:visible .mi:visible").all_inner_texts()
        assert labels == [names[port]] * len(facts.left(port=port))
    for state in STATES:
        touch("g", state)
        check_left(page, facts, port=facts.ports[-1], state=state)
    touch("g", ANY)
    touch("i", ANY)
    check_left(page, facts)
    for end in facts.ends:
        touch("h", end)
        check_left(page, facts, end=end)
    touch("h", ANY)
    for state in STATES:
        touch("g", state)
        check_left(page, facts, state=state)
    touch("g", ANY)
    assert check_left(page, facts) == set(facts.state)


@pytest.mark.parametrize(("look", "step"), [(PHONE, 5), (DESK, 1)], ids=["phone", "desk"])
def test_any_three_choices_together_leave_exactly_what_fits_all_of_them(hosted, new_page, dataset, matrix, look, step):
    """All of them at once in the page, for speed: the choices are set, what is then shown is read. On a phone every fifth
    of them, which meets every port, end and answer.
    """
    facts = Facts(dataset, matrix)
    page = new_page(**look)
    page.goto(hosted + "plugs/index.html")
    unfold(page)
    choices = list(itertools.product((ANY, *facts.ports), (ANY, *facts.ends), (ANY, *STATES)))[::step]
    assert [len(set(group)) for group in zip(*choices, strict=True)] == [
        len(facts.ports) + 1,
        len(facts.ends) + 1,
        len(STATES) + 1,
    ]
    found = page.evaluate(
        """choices => {
          const seen = e => e.checkVisibility({visibilityProperty: true}) ? '1' : '0';
          const marks = Array.from(document.querySelectorAll('#matrix a.mx'));
          const rows = Array.from(document.querySelectorAll('.why tbody tr'));
          return {
            marks: marks.map(e => e.getAttribute('href').slice(1)),
            rows: rows.map(row => Array.from(row.querySelectorAll('[id]')).map(e => e.id)),
            shown: choices.map(([port, end, state]) => {
              for (const id of [`i-${port}`, `h-${end}`, `g-${state}`]) document.getElementById(id).checked = true;
              return [marks.map(seen).join(''), rows.map(seen).join('')];
            }),
          };
        }""",
        choices,
    )
    assert sorted(found["marks"]) == sorted(facts.state)
    for choice, (marks, rows) in zip(choices, found["shown"], strict=True):
        wanted = facts.left(*choice)
        assert {key for key, seen in zip(found["marks"], marks, strict=True) if seen == "1"} == wanted, choice
        shown = [set(row) for row, seen in zip(found["rows"], rows, strict=True) if seen == "1"]
        assert shown == [set(row) for row in found["rows"] if wanted & set(row)], choice


def test_a_column_stands_under_its_own_head(hosted, new_page, dataset, matrix):
    facts = Facts(dataset, matrix)
    names = {pair.inlet.id: short(pair.inlet.name) for pair in matrix}
    page = new_page(java_script_enabled=False, **DESK)
    page.goto(hosted + "plugs/index.html")
    for port in (ANY, *facts.ports):
        page.check(f"#i-{port}", force=True)
        heads = page.evaluate(
            "Array.from(document.querySelectorAll('#matrix thead th')).slice(1).filter(e => e.checkVisibility())"
            ".map(e => {const r = e.getBoundingClientRect(); return [e.innerText.trim(), r.left, r.right]})"
        )
        assert sorted(head[0] for head in heads) == sorted(names.values() if port == ANY else [names[port]])
        marks = page.evaluate(
            "Array.from(document.querySelectorAll('#matrix a.mx')).filter(e => e.checkVisibility()).map(e => {"
            "const r = e.getBoundingClientRect(); return [e.getAttribute('href').slice(1), (r.left + r.right) / 2]})"
        )
        assert len(marks) == len(facts.left(port=port))
        for key, middle in marks:
            (left, right) = next(head[1:] for head in heads if head[0] == names[facts.inlet[key]])
            assert left <= middle <= right, key


def test_the_filters_work_by_keys_alone(hosted, new_page, dataset, matrix):
    facts = Facts(dataset, matrix)
    page = new_page(java_script_enabled=False, **DESK)
    page.goto(hosted + "plugs/index.html")
    focused = "document.activeElement.id || document.activeElement.tagName"

    def tab_to(wanted):
        for _ in range(TABS_AT_MOST):
            page.keyboard.press("Tab")
            if page.evaluate(focused) == wanted:
                return
        pytest.fail(f"no way to {wanted} by Tab")

    def walk(group):
        """Go through all choices of a group with the arrow, round to the first one."""
        values = []
        while True:
            page.keyboard.press("ArrowRight")
            value = page.evaluate(focused).removeprefix(f"{group}-")
            assert page.locator(":focus + span").evaluate("e => getComputedStyle(e).outlineWidth") == "3px"
            values.append(value)
            check_left(page, facts, **{{"i": "port", "h": "end", "g": "state"}[group]: value})
            if value == ANY:
                return values

    tab_to("i--any")
    assert sorted(walk("i")) == sorted([ANY, *facts.ports])
    tab_to("SUMMARY")
    page.keyboard.press("Enter")
    tab_to("h--any")
    assert sorted(walk("h")) == sorted([ANY, *facts.ends])
    tab_to("g--any")
    assert sorted(walk("g")) == sorted([ANY, *STATES])
    page.keyboard.press("Tab")
    mark = page.evaluate("document.activeElement.getAttribute('href')")
    assert mark.removeprefix("#") in facts.state
    page.keyboard.press("Enter")
    assert on_screen(page.locator(":target"))


def reason_of(pair):
    """Return what must be read beside a pair."""
    return pair.code if pair.code is not None else pair.text


# Where a target and its reason stand on the screen, and what is on top there.
REASON = """id => {
  const target = document.getElementById(id), row = target.closest('tr'), cell = row.querySelector('td:nth-child(3)');
  const t = target.getBoundingClientRect(), r = cell.getBoundingClientRect();
  const onTop = document.elementFromPoint(r.left + 3, r.top + 8);
  return {
    text: cell.innerText, goes: row.querySelector('td').innerText.trim(), current: document.querySelector(':target')?.id,
    shown: row.checkVisibility() && [t, r].every(b => b.top >= 0 && b.bottom <= innerHeight + 0.5 && b.left >= 0
      && b.right <= innerWidth + 0.5 && b.width > 0) && row.contains(onTop),
  }
}"""


@pytest.mark.parametrize("look", [PHONE, DESK], ids=["phone", "desk"])
def test_every_mark_leads_to_its_reason_on_the_screen(hosted, new_page, dataset, matrix, look):
    facts = Facts(dataset, matrix)
    page = new_page(java_script_enabled=False, **look)
    page.goto(hosted + "plugs/index.html")
    by_anchor = {anchor_of(pair): pair for pair in matrix}

    def check(key, found):
        assert found["current"] == key
        assert found["shown"], key
        assert reason_of(by_anchor[key]) in found["text"], key
        assert found["goes"] == ("Yes" if by_anchor[key].code is None else "No"), key

    # Touched: one mark of every end and of every port, and one of each state.
    told = set()
    for key in facts.state:
        traits = {facts.end[key], facts.inlet[key], facts.state[key]}
        if traits <= told:
            continue
        told |= traits
        mark = page.locator(f'#matrix a[href="#{key}"]')
        (mark.tap if look is PHONE else mark.click)()
        check(key, page.evaluate(REASON, key))
    # Followed: all of them, on a desk every third.
    followed = list(facts.state)[:: 1 if look is PHONE else 3]
    found = page.evaluate(f"ids => ids.map(id => {{location.hash = id; return ({REASON})(id)}})", followed)
    for key, one in zip(followed, found, strict=True):
        check(key, one)
    # A filter that leaves the mark leaves its reason.
    page.check(f"#i-{facts.ports[0]}", force=True)
    for key in sorted(facts.left(port=facts.ports[0])):
        page.locator(f'#matrix a[href="#{key}"]').click()
        check(key, page.evaluate(REASON, key))


# ------------------------------------------------------------------------------------------------------- the drawings

# Every drawing of a coupler: where it stands, what its contacts and its coin measure, in pixels.
DRAWN = """() => Array.from(document.querySelectorAll('svg.cd')).map(svg => {
  const box = e => { const r = e.getBoundingClientRect();
    return {x: (r.left + r.right) / 2, y: (r.top + r.bottom) / 2, w: r.width, h: r.height,
      left: r.left, right: r.right, top: r.top, bottom: r.bottom} };
  svg.scrollIntoView({block: 'center', behavior: 'instant'});
  const coin = svg.querySelector('.mill')?.previousElementSibling;
  // A group with a heavy line is a face. After its outline its contacts: filled, or open and covering; no thin steps.
  const faces = Array.from(svg.querySelectorAll('g')).filter(g => g.querySelector('.l3')).map(g =>
    Array.from(g.querySelectorAll('.l3 ~ .if, .l3 ~ .pf:not(.l3), .l3 ~ path.l2:not(.pf)')).map(e => {
      const style = getComputedStyle(e), filled = style.fill === style.color && style.stroke === 'none';
      return {...box(e), round: e.tagName === 'circle', pen: filled ? 0 : parseFloat(style.strokeWidth)} }));
  const parts = Array.from(svg.querySelectorAll('path, circle, rect, text')).map(box);
  return {
    title: svg.querySelector(':scope > title')?.textContent, kind: svg.querySelector('title').id.split('-')[0],
    svg: box(svg), shown: svg.checkVisibility({visibilityProperty: true, opacityProperty: true}),
    coin: coin ? box(coin).w : null, hand: svg.querySelector('.hand') ? box(svg.querySelector('.hand')).h : null,
    faces, within: {left: Math.min(...parts.map(p => p.left)), right: Math.max(...parts.map(p => p.right)),
      top: Math.min(...parts.map(p => p.top)), bottom: Math.max(...parts.map(p => p.bottom))},
    window: [innerWidth, innerHeight],
  }
})"""


def ports_on(dataset, kind):
    """Return the names of the ports that are drawn beside coin and hand on a page: all of them, or its own."""
    inlet = kind.removeprefix("ports/").removesuffix(".html")
    return sorted(one.name for one in dataset.inlets.values() if one.id in dataset.faces and inlet in ("index", one.id))


def gap_px(one, other):
    """Return the paper between two contacts, pen strokes taken off; between boxes where one is no circle."""
    pens = (one["pen"] + other["pen"]) / 2
    across, down = abs(one["x"] - other["x"]), abs(one["y"] - other["y"])
    if one["round"] and other["round"]:
        return (across**2 + down**2) ** 0.5 - (one["w"] + other["w"]) / 2 - pens
    return max(across - (one["w"] + other["w"]) / 2, down - (one["h"] + other["h"]) / 2) - pens


def test_port_drawings_are_whole_on_a_phone_and_of_one_scale(hosted, new_page, dataset, port_kinds):
    """Of one scale over all pages of a phone; on a wider page the list has a scale of its own, smaller than a page's."""
    page = new_page(java_script_enabled=False)
    scales = {}
    for kind in port_kinds:
        page.goto(hosted + kind)
        for width in (320, 360, 768, 1280):
            page.set_viewport_size({"width": width, "height": 780})
            drawn = [one for one in page.evaluate(DRAWN) if one["kind"] == "port"]
            assert sorted(one["title"] for one in drawn) == ports_on(dataset, kind)
            for one in drawn:
                where = (width, kind, one["title"])
                assert one["shown"], where
                for side, most in (("left", width), ("right", width), ("top", 780), ("bottom", 780)):
                    assert -0.5 <= one["svg"][side] <= most + 0.5, (*where, side)
                inside, svg = one["within"], one["svg"]
                assert inside["left"] >= svg["left"], where
                assert inside["right"] <= svg["right"], where
                assert inside["top"] >= svg["top"], where
                assert inside["bottom"] <= svg["bottom"], where
                listed = kind == "ports/index.html" and width > 360
                scales.setdefault((width, listed), []).append((one["coin"] / QUARTER_MM, where))
    assert len(scales) == 6
    for found in scales.values():
        least, most = min(found), max(found)
        assert most[0] / least[0] <= 1.01, (least, most)


def test_contacts_are_drawn_where_they_are_large_enough_and_apart(hosted, new_page, dataset, port_kinds):
    """On a phone, where all drawings are smallest. Places and sizes by the coin that stands beside them."""
    inlets = {inlet.name: inlet.id for inlet in dataset.inlets.values()}
    page = new_page(java_script_enabled=False, **PHONE)
    for kind in port_kinds:
        page.goto(hosted + kind)
        for one in page.evaluate(DRAWN):
            assert len(one["faces"]) == (2 if one["kind"] == "pair" else 1), (kind, one["title"])
            for contacts in one["faces"]:
                where = (kind, one["kind"], one["title"])
                assert contacts, where
                assert [min(each["w"], each["h"]) for each in contacts if min(each["w"], each["h"]) < 1.5] == [], where
                # A hole is open: the pen leaves paper in it.
                assert [
                    each["w"] - each["pen"] for each in contacts if min(each["w"], each["h"]) - each["pen"] < 1
                ] == []
                gaps = [gap_px(left, right) for left, right in itertools.combinations(contacts, 2)]
                assert [gap for gap in gaps if gap <= 0] == [], where
            if one["kind"] != "port":
                continue
            face = dataset.faces[inlets[one["title"]]]
            px_per_mm = one["coin"] / QUARTER_MM
            assert len(one["faces"][0]) == len(face.contacts), one["title"]
            first = (one["faces"][0][0], face.contacts[0])
            for each, contact in zip(one["faces"][0], face.contacts, strict=True):
                across = (each["x"] - first[0]["x"]) / px_per_mm
                up = (first[0]["y"] - each["y"]) / px_per_mm
                if each["round"]:
                    assert each["w"] / px_per_mm == pytest.approx(contact.diameter_mm, abs=0.2), (kind, one["title"])
                if each["round"] and first[0]["round"]:
                    assert across == pytest.approx(contact.at_mm[0] - first[1].at_mm[0], abs=0.3)
                    assert up == pytest.approx(contact.at_mm[1] - first[1].at_mm[1], abs=0.3)


# What each line, disc and letter of a drawing is painted with, and the ground it stands on; each kind once.
PAINT = """() => {
  const ground = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor;
    if (!/, 0\\)$|transparent/.test(c)) return c } return 'none' };
  const found = new Map();
  for (const svg of document.querySelectorAll('svg.cd, svg.pi')) {
    const on = ground(svg);
    for (const e of svg.querySelectorAll('path, circle, rect, text')) {
      const s = getComputedStyle(e);
      const one = {what: e.getAttribute('class'), letter: e.tagName === 'text', stroke: s.stroke, fill: s.fill, on,
        pen: parseFloat(s.strokeWidth), still: s.vectorEffect, opacity: [s.opacity, s.strokeOpacity, s.fillOpacity].join()};
      found.set(JSON.stringify(one), one);
    }
  }
  return Array.from(found.values());
}"""


def luminance(color):
    """Return the relative luminance of a computed color, as WCAG 2.2 defines it."""
    match = re.fullmatch(r"rgb\((\d+), (\d+), (\d+)\)", color)
    assert match, color
    parts = [int(value) / 255 for value in match.groups()]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    bright, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def test_contrast_is_reckoned_as_in_print():
    assert contrast("rgb(0, 0, 0)", "rgb(255, 255, 255)") == pytest.approx(21)  # WCAG 2.2: ratios range from 1 to 21
    assert contrast("rgb(0, 0, 0)", "rgb(0, 0, 0)") == 1
    # A mid gray that is well known for just passing 4.5 to 1 on white, and the next that does not; from memory.
    assert (
        contrast("rgb(118, 118, 118)", "rgb(255, 255, 255)")
        >= 4.5
        > contrast("rgb(119, 119, 119)", "rgb(255, 255, 255)")
    )


def check_paint(found, where):
    assert found, where
    for one in found:
        told = (where, one)
        assert one["opacity"] == "1,1,1", told
        if one["letter"]:
            assert contrast(one["fill"], one["on"]) >= 4.5, told
            continue
        if one["stroke"] == "none":
            assert contrast(one["fill"], one["on"]) >= 3, told
            continue
        assert contrast(one["stroke"], one["on"]) >= 3, told
        assert one["pen"] >= 1, told
        assert one["still"] == "non-scaling-stroke", told
        # What covers is of the color of the ground: a line on it has the same contrast.
        assert one["fill"] in ("none", one["on"]), told


def test_lines_stand_out_in_light_in_the_dark_and_on_paper(hosted, new_page, port_kinds):
    page = new_page()
    for kind in (*port_kinds, "plugs/index.html"):
        page.goto(hosted + kind)
        grounds = {}
        for media, scheme in (("screen", "light"), ("screen", "dark"), ("print", "light"), ("print", "dark")):
            page.emulate_media(media=media, color_scheme=scheme)
            found = page.evaluate(PAINT)
            check_paint(found, (kind, media, scheme))
            grounds[media, scheme] = max(luminance(one["on"]) for one in found)
        assert grounds["screen", "dark"] < 0.05 < 0.9 < grounds["screen", "light"]
        assert grounds["print", "light"] == grounds["print", "dark"] == pytest.approx(1)


def test_drawings_are_on_paper_too(hosted, new_page, dataset, port_kinds):
    page = new_page(java_script_enabled=False)
    for kind in port_kinds:
        page.goto(hosted + kind)
        on_page = [(one["kind"], one["title"]) for one in page.evaluate(DRAWN)]
        page.emulate_media(media="print")
        drawn = page.evaluate(DRAWN)
        assert [(one["kind"], one["title"]) for one in drawn] == on_page
        assert sorted(one["title"] for one in drawn if one["kind"] == "port") == ports_on(dataset, kind)
        for one in drawn:
            assert one["shown"], (kind, one["title"])
            for contacts in one["faces"]:
                assert min(min(each["w"], each["h"]) for each in contacts) >= PAPER_PX, (kind, one["title"])
        page.emulate_media(media="screen")


def test_each_drawing_is_told_by_its_title_and_described_by_its_description(hosted, new_page, kinds):
    """As the browser tells it to a screen reader. A name may go on with the description, as on the other pages."""
    page = new_page()
    teller = page.context.new_cdp_session(page)
    for kind in kinds:
        page.goto(hosted + kind)
        drawn = page.evaluate(
            "Array.from(document.querySelectorAll('svg[role=img]')).map(e =>"
            "[e.querySelector(':scope > title')?.textContent, e.querySelector(':scope > desc')?.textContent])"
        )
        bare = page.locator("svg:not([role=img]):not([aria-hidden=true])").evaluate_all(
            "all => all.filter(e => !e.closest('[aria-hidden=true]')).map(e => e.outerHTML.slice(0, 80))"
        )
        assert bare == [], kind
        ids = page.evaluate("Array.from(document.querySelectorAll('[id]')).map(e => e.id)")
        assert len(ids) == len(set(ids)), kind
        tree = teller.send("Accessibility.getFullAXTree")["nodes"]
        told = [
            (node["name"]["value"], node.get("description", {}).get("value"))
            for node in tree
            if not node["ignored"] and node["role"]["value"] in ("image", "img")
        ]
        assert len(told) == len(drawn), kind
        for (title, description), (name, described) in zip(drawn, told, strict=True):
            assert title, kind
            assert description, (kind, title)
            assert name in (title, f"{title} {description}"), kind
            assert described == description, kind


# ------------------------------------------------------------------------------------------------- all of these pages


@pytest.mark.parametrize(("width", "dark"), [(360, False), (1280, True)], ids=["phone-light", "desk-dark"])
def test_axe_finds_nothing_on_any_page_of_ports_and_plugs(hosted, new_page, width, dark, kinds):
    """All rules at one look; then those that judge colors at the other scheme, where nothing else differs. The kinds of
    page that are examined at this width together with all others are not examined twice.
    """
    from axe_playwright_python.sync_playwright import Axe

    page = new_page(width=width, height=800, dark=dark, bypass_csp=True)
    axe = Axe()
    every = {"resultTypes": ["violations"]}
    colors = every | {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
    for kind in kinds:
        if width == KINDS_WIDTH and kind in KINDS:
            continue
        for scheme, options in (("dark" if dark else "light", every), ("light" if dark else "dark", colors)):
            page.emulate_media(color_scheme=scheme)
            if options is every:
                page.goto(hosted + kind)
                unfold(page)
            found = axe.run(page, options=options).response
            assert found["testEngine"]["name"] == "axe-core"
            told = [(rule["id"], node["html"][:120]) for rule in found["violations"] for node in rule["nodes"]]
            assert told == [], (kind, width, scheme)


def test_no_page_of_ports_and_plugs_scrolls_sideways(hosted, new_page, kinds):
    page = new_page(java_script_enabled=False)
    found = []
    for kind in kinds:
        page.goto(hosted + kind)
        unfold(page)
        for width in (320, 360, 768, 1280):
            page.set_viewport_size({"width": width, "height": 780})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, (kind, width)
            if width >= 360:
                wider = page.evaluate(
                    "Array.from(document.querySelectorAll('.tw')).filter(e => e.scrollWidth > e.clientWidth + 1)"
                    ".map(e => e.querySelector('caption').textContent)"
                )
                found += [(kind, width, caption) for caption in wider]
    assert found == []


def sheets_of(pdf):
    """Return how many sheets a printed document has, counted in the file itself."""
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


def figures_of(pdf):
    """Return for each drawing of a tagged document the sheets that it is painted on, from its structure tree."""
    found = []
    for body in re.findall(rb"\d+ 0 obj\s*(<</Type /StructElem\s*/S /Figure\b.*?)endobj", pdf, re.DOTALL):
        own = re.search(rb"/Pg (\d+) 0 R\s*/K", body)
        kids = body[own.start() :] if own else body
        sheets = set(re.findall(rb"/Pg (\d+) 0 R", kids))
        assert sheets, body
        found.append(sheets)
    return found


def test_pages_print_on_few_sheets_with_every_drawing_whole(hosted, new_page, port_kinds):
    page = new_page()
    most = dict.fromkeys(port_kinds, 4) | {"plugs/index.html": 8}
    del most["ports/index.html"]  # all ports at once: as many as it takes
    too_many = []
    for kind in (*port_kinds, "plugs/index.html"):
        page.goto(hosted + kind)
        pdf = page.pdf(format="Letter", prefer_css_page_size=False, tagged=True)
        figures = figures_of(pdf)
        assert len(figures) == page.locator("svg[role=img]").count(), kind
        assert [sheets for sheets in figures if len(sheets) > 1] == [], kind
        if kind in most and sheets_of(pdf) > most[kind]:
            too_many.append((kind, sheets_of(pdf)))
    assert too_many == []


def test_a_drawing_that_is_cut_in_two_would_be_found(new_page):
    """The check above can fail: a drawing that is higher than a sheet is painted on two of them."""
    page = new_page()
    for high, sheets in ((1300, 2), (300, 1)):
        page.set_content(
            f'<svg role="img" aria-label="bar" width="90" height="{high}"><rect width="90" height="{high}"/></svg>'
        )
        assert [len(each) for each in figures_of(page.pdf(format="Letter", tagged=True))] == [sheets]
