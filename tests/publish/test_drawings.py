"""The drawings on their own: scales that hold whatever they are given, labels that fit."""

import re
import xml.etree.ElementTree as ElementTree

import pytest

from planner.publish.drawings import (
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
