"""The drawings on their own: scales that hold whatever they are given, labels that fit."""

import itertools
import re
import xml.etree.ElementTree as ElementTree

import pytest

from planner.publish.drawings import (
    Band,
    Goal,
    Rung,
    burn_chart,
    ladder,
    power_curve,
    rung_basis,
    share_chart,
    time_ruler,
)


def texts(drawing):
    return ["".join(element.itertext()) for element in ElementTree.fromstring(drawing).iter("text")]


@pytest.mark.parametrize("largest_a", [6, 16, 60, 99, 140, 300, 1000])
def test_the_ladders_scale_holds_its_longest_rung_with_few_marks(largest_a):
    drawing = ladder([("Ours", [Rung("Part", "rated", largest_a)])], rail_a=None, rail_label="", name="x")
    marks = [text for text in texts(drawing) if re.fullmatch(r"\d+( A)?", text)][:-1]  # the last is the rung's figure
    top = [mark for mark in marks if mark.endswith(" A")]

    assert 2 <= len(marks) <= 7
    assert len(top) == 1
    assert int(top[0].removesuffix(" A")) >= largest_a
    assert not [x for x in re.findall(r'x\d?="([\d.]+)%"', drawing) if float(x) > 100]


@pytest.mark.parametrize(
    ("goals", "end_min"),
    [([12], 60), ([61], 120), ([200], 240), ([500], 720), ([2000], 2880), ([5000], 2880), ([0.5, 1, 1.5], 60)],
)
def test_the_rulers_end_holds_its_last_goal(goals, end_min):
    drawing = time_ruler(
        [(10, 0.0), (11, 2.0)], [(0, 0.0), (5, 9.0)], [Goal(minute, "a") for minute in goals], name="x"
    )
    shown = [int(text) for text in texts(drawing) if text.isdigit()]

    assert max(shown) <= end_min
    assert not [x for x in re.findall(r' x="([\d.]+)%"', drawing) if float(x) > 100]


def per_cent(minute, end_min):
    """Return where a minute stands, by the scale that the drawings document."""
    return pytest.approx(1.5 + minute / end_min * 83, abs=0.0051)  # written to a hundredth


def banded(band, goals=(), percents=((10, 0.0), (11, 2.0)), miles=((0, 0.0), (5, 9.0))):
    return ElementTree.fromstring(time_ruler(percents, miles, goals, name="x", band=Band(*band)))


def hatch_of(tree):
    """Return where the hatch begins and ends."""
    (hatch,) = tree.iter("rect")
    start, width = (float(hatch.get(key).removesuffix("%")) for key in ("x", "width"))
    return start, start + width


def marks_of(tree):
    """Return the marks of a band by their word: number, place, side of the label, and how low line and label reach."""
    lines = {
        (line.get("class"), line.get("x1")): float(line.get("y2").removesuffix("em"))
        for line in tree.iter("line")
        if line.get("x1") == line.get("x2") and line.get("x1") not in ("0", "86%")
    }
    found = {}
    for text in tree.iter("text"):
        words = "".join(text.itertext()).split()
        if words[0] in ("likely", "allow") and len(words) == 2:
            style = "la" if words[0] == "likely" else "l2"
            side = "left" if text.get("class") == "e ko" else "right"
            at, low = float(text.get("x").removesuffix("%")), float(text.get("y").removesuffix("em"))
            found[words[0]] = (int(words[1]), at, side, lines[style, text.get("x")], low)
    return found


def test_a_band_is_hatched_from_one_in_ten_to_nine_in_ten_with_its_lines_at_their_minutes():
    tree = banded((64.0, 68.2, 77.0), [Goal(68.2, "home")])
    marks = marks_of(tree)

    assert hatch_of(tree) == (per_cent(64, 120), per_cent(77, 120))
    assert marks["likely"][:3] == (69, per_cent(68.2, 120), "left")  # minutes go up
    assert marks["allow"][:3] == (77, per_cent(77, 120), "right")
    assert marks["likely"][4] == marks["allow"][4]


def test_a_band_that_nine_in_ten_do_not_reach_is_open_to_the_edge_of_the_ruler():
    tree = banded((20.0, 50.0, None))

    assert hatch_of(tree) == (per_cent(20, 60), pytest.approx(86))
    assert list(marks_of(tree)) == ["likely"]
    assert "Likely 50 minutes, fewer than nine in ten get there, 20 at best." in tree[1].text


@pytest.mark.parametrize(
    ("band", "end_min"), [((10.0, 20.0, 60.0), 60), ((10.0, 20.0, 60.1), 120), ((1.0, 61.0, None), 120)]
)
def test_the_scale_holds_what_is_to_be_allowed(band, end_min):
    tree = banded(band, [Goal(15, "near")])

    assert marks_of(tree)["likely"][1] == per_cent(band[1], end_min)
    assert hatch_of(tree)[0] == per_cent(band[0], end_min)


def test_a_band_beyond_the_longest_scale_is_told_and_not_drawn():
    tree = banded((2000.0, 2500.0, 3000.0))

    assert hatch_of(tree) == (per_cent(2000, 2880), pytest.approx(86))
    assert list(marks_of(tree)) == ["likely"]
    assert "allow 3000" in tree[1].text
    assert marks_of(banded((2000.0, 2900.0, None))) == {}


def test_a_band_without_spread_has_no_width_and_both_words():
    tree = banded((30.0, 30.0, 30.0))

    assert hatch_of(tree) == (per_cent(30, 60), per_cent(30, 60))
    assert sorted(marks_of(tree)) == ["allow", "likely"]


@pytest.mark.parametrize("allow_min", [None, *range(0, 121, 6)])
def test_words_of_a_band_touch_neither_each_other_nor_a_line_nor_the_edge(allow_min):
    """Word, number and air take at most 32 per cent of a phone 320 px wide (measured in the browser's tests)."""
    for likely_min in range(0, 121 if allow_min is None else allow_min + 1, 3):
        # A goal at 120 minutes holds the scale.
        marks = marks_of(banded((0.0, float(likely_min), allow_min), [Goal(120, "a")]))
        boxes = {}
        for word, (_, at, side, line_low, low) in marks.items():
            boxes[word] = (at - 32, at) if side == "left" else (at, at + 32)
            assert boxes[word][0] >= 0
            assert boxes[word][1] <= 100
            assert line_low == pytest.approx(low - 0.6)
        for word, other in itertools.permutations(marks, 2):
            top = marks[word][4] - 1.1  # where the number begins
            if marks[other][3] > top:
                assert not boxes[word][0] < marks[other][1] < boxes[word][1], (likely_min, word)
            if marks[word][4] == marks[other][4]:
                assert boxes[word][1] <= boxes[other][0] or boxes[other][1] <= boxes[word][0], likely_min


def test_numbers_that_a_line_of_a_band_would_cross_are_left_out():
    """Minutes stand at 0, 15, 30 and so on; 61 and 91 lie beside 60 and 90."""
    percents = [(percent, 2.0 * percent) for percent in range(61)]
    tree = banded((50.0, 61.0, 91.0), [], percents, [(mile, 4.0 * mile) for mile in range(31)])
    rows = {}
    for text in tree.iter("text"):
        words = "".join(text.itertext())
        if words.isdigit():
            rows.setdefault(float(text.get("y").removesuffix("em")), []).append(int(words))
    miles, shown_percents, minutes = (rows[y] for y in sorted(rows))

    assert minutes == [0, 15, 30, 45, 75, 105, 120]
    # Ten percent take 20 minutes: 30 is crossed at 61, and 60 would touch the edge of the ruler.
    assert shown_percents == [0, 10, 20, 40, 50]
    assert miles == [0, 5, 10, 15, 20, 25]  # 30 would touch its unit


def test_a_ruler_with_a_band_keeps_to_the_content_policy_and_names_its_hatch_once():
    drawings = [time_ruler([], [], [], name=name, band=Band(1, 2, 3)) for name in ("call 1", "Call/2", 'é"b')]
    ids = re.findall(r' id="([^"]+)"', "".join(drawings))

    assert len(ids) == len(set(ids)) == 9
    for drawing in drawings:
        assert "style=" not in drawing
        assert re.search(r'fill="url\(#([^)]+)\)"', drawing).group(1) in ids


@pytest.mark.parametrize("top_kw", [0.3, 1.2, 7, 19, 80, 350])
def test_the_curve_stays_under_its_highest_line(top_kw):
    drawing = power_curve([("rig", [(0.0, top_kw), (90.0, top_kw), (100.0, top_kw / 10)])], name="x")
    lines = [float(text) for text in texts(drawing) if re.fullmatch(r"[\d.]+", text)]

    assert max(lines) >= top_kw
    assert all(0 <= int(y) <= 1000 for y in re.findall(r"\d+ (\d+)(?=L|\")", drawing))


@pytest.mark.parametrize(
    ("rule", "iso"),
    [((1.0, 0.65), (1.0, 0.67)), ((1.0, 1.0), (1.0, 1.0)), ((0.9, 0.0), (1.0, 0.4)), ((0.0, 0.0), (0.3, 0.0))],
)
@pytest.mark.parametrize("site_ft", [-300, 0, 4000, 9900, 15_000])
def test_the_share_charts_scale_holds_every_share_and_its_labels_do_not_touch(rule, iso, site_ft):
    rule, iso = ([(0.0, ends[0]), (10_000.0, ends[1])] for ends in (rule, iso))
    drawing = share_chart(rule, iso, site_ft=site_ft, name="x")
    tree = ElementTree.fromstring(drawing)
    percents = [int(text) for text in texts(drawing) if re.fullmatch(r"\d{1,3}", text)]
    labels = {"".join(item.itertext()): float(item.get("y").removesuffix("em")) for item in tree.iter("text")}

    assert max(percents) == 100
    assert min(percents) <= 100 * min(share for _, share in (*rule, *iso))
    assert 4 <= len({percent for percent in percents if percent}) <= 8
    assert all(0 <= int(y) <= 1000 for y in re.findall(r"\d+ (-?\d+)(?=L|\")", drawing))
    assert abs(labels["rule"] - labels["ISO"]) >= 1.19
    assert ("usual site" in labels) == (0 <= site_ft <= 10_000)


@pytest.mark.parametrize("full_kw", [0.02, 0.7, 3, 9.9, 48, 800])
@pytest.mark.parametrize("burn_l_per_h", [0.05, 1.3, 7, 400])
def test_the_burn_charts_scales_hold_their_last_point_with_few_marks(full_kw, burn_l_per_h):
    points = [(full_kw * share, burn_l_per_h * (1 + share), 1234 / (1 + share)) for share in (0, 0.25, 0.5, 0.75, 1)]
    drawing = burn_chart(points, name="x")
    tree = ElementTree.fromstring(drawing)
    loads = [float("".join(item.itertext())) for item in tree.iter("text") if item.get("class") == "m"]
    gallons = [float("".join(item.itertext())) for item in tree.iter("text") if item.get("x") == "9.0%"]
    dots = [(float(dot.get("cx")[:-1]), float(dot.get("cy")[:-2])) for dot in tree.iter("circle")]

    assert 3 <= len(loads) <= 7
    assert 3 <= len(gallons) <= 9
    assert max(gallons) >= 2 * burn_l_per_h / 3.785411784  # litres in a US gallon: 231 cubic inches
    assert [x for x, _ in dots] == pytest.approx([9 + 77 * share for share in (0, 0.25, 0.5, 0.75, 1)], abs=0.01)
    assert all(1.8 <= y <= 9.1 for _, y in dots)
    assert [text for text in texts(drawing) if text.endswith(" h")] == ["987 h", "822 h", "705 h", "617 h"]


PHONE_EM = 19.2  # 320 px less 32 px of margin, at 15 px to the em
LETTER_EM = 0.52  # a bold letter at the average


@pytest.mark.parametrize("rail_a", [0.5, 6, 12, 16, 24, 40, 64, 79, 80])
@pytest.mark.parametrize("label", ["set 48 A", "vehicle draws 12.5 A"])
def test_the_words_over_the_rail_stay_on_a_narrow_phone(rail_a, label):
    rungs = [Rung("Part", "rated", 80)]
    tree = ElementTree.fromstring(ladder([("Ours", rungs)], rail_a=rail_a, rail_label=label, name="x"))
    (text,) = (text for text in tree.iter("text") if "".join(text.itertext()) == label)
    at, width = float(text.get("x").removesuffix("%")) / 100 * PHONE_EM, LETTER_EM * len(label)
    at += float((text.get("dx") or "0em").removesuffix("em"))
    start = {"m": at - width / 2, "e": at - width}.get(text.get("class").split()[0], at)

    assert start >= -0.1
    assert start + width <= PHONE_EM + 0.1
    assert start <= rail_a / 80 * 0.86 * PHONE_EM <= start + width  # the rail stands under its words


@pytest.mark.parametrize("limit_a", [1, 20, 40, 48, 50.5, 56, 60.5, 62, 66, 72, 80])
@pytest.mark.parametrize("label", ["Main", "Main breaker", "J1772 to J3400 adapter, 48 A"])
def test_what_holds_back_touches_neither_its_label_nor_its_figure_on_a_narrow_phone(limit_a, label):
    rungs = [Rung(label, "0.8 of 60 A", limit_a, holds_back=True), Rung("Other", "rated", 80)]
    tree = ElementTree.fromstring(ladder([("Ours", rungs)], rail_a=None, rail_label="", name="x"))
    found = {"".join(text.itertext()): text for text in tree.iter("text")}
    held, figure = found["HOLDS BACK"], found[f"{limit_a:g}"]
    start = float(held.get("x").removesuffix("%")) / 100 * PHONE_EM + float(
        (held.get("dx") or "0em").removesuffix("em")
    )
    ends = (start - 6.5, start) if held.get("class").startswith("e") else (start, start + 6.5)

    assert ends[1] <= PHONE_EM
    if abs(float(held.get("y").removesuffix("em")) - float(figure.get("y").removesuffix("em"))) < 1:
        assert ends[1] <= PHONE_EM - 0.7 * len(f"{limit_a:g}")
        assert "0.8 of 60 A" in found
    else:
        shown = next(words for words in found if words.startswith(label[:4]))
        assert ends[0] >= 0.5 + LETTER_EM * len(shown)
        assert "0.8 of 60 A" not in found


def test_a_label_too_long_is_cut_and_stands_whole_in_the_description():
    name = "Middle breaker of the trailer with a long name of sixty"
    drawing = ladder([("Ours", [Rung(name, "rated", 40)])], rail_a=32, rail_label="set 32 A", name="x")

    assert name not in texts(drawing)
    assert any(text.endswith("…") and len(text) <= 28 for text in texts(drawing))
    assert name in drawing


@pytest.mark.parametrize(
    ("rating_a", "limit_a", "words"),
    [
        (60.0, 48.0, "0.8 of 60 A"),
        (48.0, 48.0, "rated"),
        (40.0, 0.0, "no device suits it"),
        (60.97, 45.97, "0.754 of 60.9 A"),
    ],
)
def test_a_basis_multiplies_out(rating_a, limit_a, words):
    assert rung_basis(rating_a, limit_a) == words
