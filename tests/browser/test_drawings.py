"""Ladder and ruler of the call page, run in Node: letter by letter what the planner draws of the same figures."""

import random
from pathlib import Path

import pytest

from browser.node import run
from planner.publish import build
from planner.publish.build import CALL_SCRIPTS
from planner.publish.drawings import RULER_STEPS_MIN, Band, Goal, Rung, ladder, rung_basis, time_ruler

STYLE = Path(build.__file__).with_name("theme") / "assets" / "notebook.css"
DRAWN = 400
LETTERS = "abcXYZ019 -/.,()+éßЖ"
HOSTILE = "<script>\"'&</script>"
HARNESS = """
var fs = require("fs"), vm = require("vm");
var page = vm.createContext({rangeferry: {}});
vm.runInContext(fs.readFileSync(process.argv[1], "utf8"), page);
var asked = JSON.parse(fs.readFileSync(0, "utf8"));
console.log(JSON.stringify(asked.map(function (words) {
  return page.rangeferry.drawings[words[0]].apply(null, words.slice(1));
})));
"""


def by_page(asked):
    return run(CALL_SCRIPTS[0].with_name("drawings.js"), HARNESS, asked)


def some_text(draw):
    if draw.random() < 0.1:
        return HOSTILE
    return "".join(draw.choice(LETTERS) for _ in range(draw.randrange(1, 45))).strip() or "x"


def some_amps(draw):
    """Return amps of any kind: whole, in tenths, in eighths (which end in a tie), and what a division leaves."""
    return draw.choice(
        (
            float(draw.randrange(1, 120)),
            draw.randrange(10, 2000) / 10,
            draw.randrange(8, 900) / 8,
            draw.uniform(0.01, 400),
            0.8 * draw.randrange(15, 200),
        )
    )


def ladders():
    draw = random.Random("ladders")
    for _ in range(DRAWN):
        rungs = [
            [some_text(draw), some_text(draw), some_amps(draw), draw.random() > 0.04, False]
            for _ in range(draw.randrange(2, 12))
        ]
        rungs[draw.randrange(len(rungs))][4] = draw.random() < 0.9
        if draw.random() < 0.2:
            for rung in rungs:
                rung[2] = rungs[0][2]
        cut = draw.randrange(1, len(rungs))
        groups = [(some_text(draw), rungs[:cut]), (some_text(draw), rungs[cut:])]
        rail = draw.choice((None, rungs[0][2], some_amps(draw)))
        yield groups, rail, some_text(draw), some_text(draw)


def rulers():
    draw = random.Random("rulers")
    for number in range(DRAWN):
        longest = RULER_STEPS_MIN[number % len(RULER_STEPS_MIN)] * draw.choice((0.3, 0.9, 1.0))
        start = draw.randrange(0, 95)
        minute, percents = 0.0, []
        for percent in range(start, 101):
            percents.append((percent, minute))
            minute += draw.choice((0.125, 0.5, draw.uniform(0.01, 9), longest / 100))
        miles = [(mile, at) for mile, (_, at) in enumerate(percents) if not mile % 5]
        goals = [
            (draw.choice((longest, draw.uniform(0, longest))), some_text(draw)) for _ in range(draw.randrange(0, 4))
        ]
        band = None
        if draw.random() < 0.7:
            likely = draw.choice((longest / 2, draw.uniform(0, longest)))
            low = draw.choice((likely, likely * draw.uniform(0.3, 1)))
            band = (low, likely, draw.choice((None, likely, likely * draw.uniform(1, 1.9), longest)))
            if band[2] is not None and band[2] < likely:
                band = (low, likely, likely)
        yield percents, miles, goals, band, some_text(draw)


def differing(drawn, expected):
    return next((pair for pair in zip(drawn, expected, strict=True) if pair[0] != pair[1]), None)


def test_every_ladder_is_the_planners():
    asked, expected = [], []
    for groups, rail_a, rail_label, name in ladders():
        expected.append(
            ladder([(title, [Rung(*rung) for rung in rungs]) for title, rungs in groups], rail_a=rail_a, rail_label=rail_label, name=name)
        )  # fmt: skip
        fields = ("label", "basis", "limit_a", "protected", "holds_back")
        listed = [[title, [dict(zip(fields, rung, strict=True)) for rung in rungs]] for title, rungs in groups]
        asked.append(["ladder", {"groups": listed, "rail_a": rail_a, "rail_label": rail_label, "name": name}])
    assert differing(by_page(asked), expected) is None


def test_every_ruler_is_the_planners():
    asked, expected = [], []
    for percents, miles, goals, band, name in rulers():
        drawn_band = None if band is None else Band(*band)
        expected.append(time_ruler(percents, miles, [Goal(*goal) for goal in goals], name=name, band=drawn_band))
        listed = None if band is None else dict(zip(("low_min", "likely_min", "allow_min"), band, strict=True))
        goals_listed = [{"minute": minute, "label": label} for minute, label in goals]
        words = {"percents": percents, "miles": miles, "goals": goals_listed, "band": listed, "name": name}
        asked.append(["ruler", words])
    assert differing(by_page(asked), expected) is None


def test_every_basis_is_the_planners():
    """Among them ratios that lie exactly between two of three digits, such as 65 of 80: 0.8125. All from 0.0001 to 999."""
    draw = random.Random("bases")
    pairs = [(max(some_amps(draw), 1.0), max(some_amps(draw), 0.1)) for _ in range(DRAWN)]
    pairs += [(float(rating_a), rating_a * part / 16) for rating_a in (16, 48, 64, 80) for part in range(1, 17)]
    pairs += [(60.0, 60.0), (60.0, 60.0 + 1e-9), (60.0, 0.0), (0.5, 400.0), (400.0, 0.05)]
    assert differing(by_page([["basis", *pair] for pair in pairs]), [rung_basis(*pair) for pair in pairs]) is None


@pytest.mark.parametrize(
    ("rating_a", "limit_a", "words"),
    [
        (60.0, 48.0, "0.8 of 60 A"),
        (48.0, 48.0, "rated"),
        (30.0, 0.0, "no device suits it"),
        (62.5, 46.25, "0.74 of 62.5 A"),
        (80.0, 65.0, "0.812 of 80 A"),
        (70.0, 23.333333333333332, "0.333 of 70 A"),
    ],
)
def test_why_a_rung_is_so_long_is_told_alike(rating_a, limit_a, words):
    assert rung_basis(rating_a, limit_a) == words
    assert by_page([["basis", rating_a, limit_a]]) == [words]


# Texts that touch, that a line of the ruler crosses, and that leave their drawing; the boxes are those of the letters.
TOUCHING = """() => {
  var found = [];
  document.querySelectorAll("svg.d").forEach(function (svg) {
    var whole = svg.getBoundingClientRect();
    var texts = Array.from(svg.querySelectorAll("text")).map(function (text) {
      var box = text.getBoundingClientRect(), lean = 0.2 * box.height;
      return { words: text.textContent, left: box.left, right: box.right, top: box.top + lean, low: box.bottom - lean };
    });
    var lines = Array.from(svg.querySelectorAll("line.la, line.l2")).map(function (line) {
      return line.getBoundingClientRect();
    }).filter(function (box) { return box.width < 5 && box.left > whole.left + 5; });
    texts.forEach(function (one, place) {
      if (one.left < whole.left - 1 || one.right > whole.right + 1) found.push([svg.textContent, one.words, "out"]);
      texts.slice(place + 1).forEach(function (other) {
        if (one.left < other.right && other.left < one.right && one.top < other.low && other.top < one.low) {
          found.push([svg.textContent, one.words, other.words]);
        }
      });
      lines.forEach(function (line) {
        if (line.right > one.left && line.left < one.right && line.top < one.low && line.bottom > one.top) {
          found.push([svg.textContent, one.words, "line"]);
        }
      });
    });
  });
  return found;
}"""


@pytest.mark.parametrize("width", [320, 360, 700])
@pytest.mark.parametrize("dark", [False, True])
def test_nothing_on_a_ruler_touches(new_page, width, dark):
    """Bands of every length at every place of every scale."""
    drawings = []
    for end_min in RULER_STEPS_MIN:
        for likely in (0.04, 0.2, 0.33, 0.36, 0.4, 0.6, 0.66, 0.8, 0.95):
            for allow in (None, 1.0, 1.1, 1.7, 2.5):
                minutes = [end_min * share for share in (0.7 * likely, likely, likely * (allow or 1))]
                if minutes[2] <= end_min:
                    band = Band(*minutes[:2], None if allow is None else minutes[2])
                    percents = [(percent, end_min * (percent - 3) / 60) for percent in range(5, 101)]
                    miles = [(mile, end_min * mile / 70) for mile in range(0, 200, 5)]
                    # As on the call page; not on a scale that is made for a longer band than this one.
                    goals = [Goal(minutes[1], "22 mi")] if end_min / 2 < minutes[2] else []
                    drawings.append(time_ruler(percents, miles, goals, name=f"{len(drawings)}", band=band))
    page = new_page(width=width, dark=dark)
    page.set_content(
        f'<meta charset="utf-8"><style>{STYLE.read_text()}</style><div class="w">{"".join(drawings)}</div>'
    )
    assert page.evaluate(TOUCHING) == []
