"""The drawings: ladder, time ruler, power curve, what height takes, what a load burns, as SVG by template.

They stretch and never scale: x in per cent, y and letters in em, strokes in pixels, so that one drawing is right on a
narrow phone, in half a column, on paper and with large letters. No style attribute, so that a strict content policy
holds. Each has a title and a description, and stands beside a table that holds its numbers.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from planner.publish.markup import e
from planner.units import LITRES_PER_GALLON

__all__ = ["Band", "Goal", "Rung", "burn_chart", "ladder", "power_curve", "rung_basis", "share_chart", "time_ruler"]

RIGHT_PERCENT = 86.0  # the scale ends here; figures stand to its right
ROW_EM = 3.0
SCALE_STEPS_A = (10, 20, 50, 100, 200, 500)
SCALE_MARKS = 5
LEAST_LETTERS, LABEL_LETTERS = 8, 28  # of a rung's label on a narrow phone
ROW_LETTERS, BASIS_LETTER = 35, 0.82  # label and basis together there, and a letter of a basis beside one of a label
HELD_LETTERS = 22  # a label before the words HOLDS BACK in its row
HELD_EM, FIGURE_EM = 6.5, 0.72  # as wide are these words, and each letter of a figure
CURVE_LETTERS = 34
NUMBER_STEPS = (1, 2, 5, 10, 15, 20, 30, 60, 120, 240, 480)
NUMBER_GAP = 8.5  # per cent of the width: two digits and air on a narrow phone
POLE_GAP = 3.5
FLIP_PERCENT = 72.0  # a pennant beyond this hangs to the left of its pole
EM_PER_PERCENT = 0.19  # a drawing on a narrow phone is 19 em wide
HALF_LETTER_EM = 0.26  # half a bold letter, at the average
BAND_LABEL_PERCENT = 32.0  # word, number and air on a narrow phone
BAND_ROW_EM = 1.5
MARK_GAP, DIGIT_GAP = 2.5, 1.4  # a line with its air, and half of each digit beside it, on a narrow phone
MILES_PERCENT, MIN_PERCENT = 87.0, 91.5  # where these units begin on a narrow phone
RULER_STEPS_MIN = (60, 120, 180, 240, 360, 480, 720, 960, 1440, 2880)
CHART_LEFT = 9.0  # figures of the scale stand to its left
CHART_TOP_EM, CHART_FOOT_EM = 1.8, 2.9
CHART_MARKS = 6
SHARE_SCALE_FROM_PERCENT = 60
LINE_GAP_EM = 1.2  # two labels closer than this would touch


@dataclass(frozen=True, slots=True)
class Rung:
    """One link of the chain as drawn."""

    label: str
    basis: str
    limit_a: float
    protected: bool = True
    holds_back: bool = False


@dataclass(frozen=True, slots=True)
class Goal:
    """A pennant on the time ruler."""

    minute: float
    label: str


@dataclass(frozen=True, slots=True)
class Band:
    """The spread of the minutes plugged in; `allow_min` is None where fewer than nine in ten get there."""

    low_min: float
    likely_min: float
    allow_min: float | None


def rung_basis(rating_a: float, limit_a: float) -> str:
    """Return how a limit follows from a rating, in the few words that fit on a rung."""
    if not limit_a:
        return "no device suits it"
    if math.isclose(limit_a, rating_a):
        return "rated"
    return f"{limit_a / rating_a:.3g} of {_amps(rating_a)} A"


def ladder(groups: Sequence[tuple[str, Sequence[Rung]]], *, rail_a: float | None, rail_label: str, name: str) -> str:
    """Return the ladder: one rung a link, its allowed amps as length, the draw or the setting as the right rail.

    Where something is not protected there is no rail at all: nothing may be drawn.
    """
    rungs = [rung for _, group in groups for rung in group]
    dead = not all(rung.protected for rung in rungs)
    rail_a = None if dead else rail_a
    largest_a = max(rung.limit_a for rung in rungs)
    step_a = next((step for step in SCALE_STEPS_A if largest_a / step <= SCALE_MARKS), SCALE_STEPS_A[-1])
    top_a = step_a * max(math.ceil(largest_a / step_a), 2)

    def x(current_a: float) -> str:
        return f"{_n(current_a / top_a * RIGHT_PERCENT)}%"

    y = 3.3
    lines: list[str] = []
    labels: list[str] = []
    for title, group in groups:
        y += 0.3
        lines.append(_line("lh", "0", "100%", y + 0.2, y + 0.2))
        labels.append(_text("0.6em", y + 1.3, title.upper(), "n b", "ko"))
        y += 1.65
        for rung in group:
            lines_of, labels_of = _rung(rung, y, rail_a, x)
            lines += lines_of
            labels += labels_of
            y += ROW_EM
    bottom = y + 0.1
    scale = [
        _line("lh", x(mark), x(mark), 2.9, bottom)
        + _text(x(mark), 2.6, f"{mark} A" if mark == top_a else str(mark), "n", "m" if mark else "")
        for mark in range(0, top_a + 1, step_a)
        if rail_a is None or abs(mark - rail_a) / top_a > 0.07 or not mark
    ]
    rails = [_line("l3", "0", "0", 2.9, bottom + 0.4)]
    if rail_a is not None:
        at = x(rail_a)
        rails.append(_line("lc", at, at, 2.9, bottom) + _line("l3", at, at, 1.35, bottom + 0.4))
        rails.append(_rail_text(rail_a / top_a * RIGHT_PERCENT, rail_label))
    return _svg(
        name,
        "ladder",
        f"Ladder: {name}",
        _ladder_words(rungs, rail_a, rail_label),
        bottom + 0.6,
        "".join(scale + lines + rails + labels),
    )


def _rail_text(at: float, label: str) -> str:
    """Return the words over the right rail: about its middle, or moved inward so far that a narrow phone holds them."""
    half_em, left_em, right_em = HALF_LETTER_EM * len(label), EM_PER_PERCENT * at, EM_PER_PERCENT * (100 - at)
    if half_em > left_em:
        return _text(f"{_n(at)}%", 1.0, label, "b", "ko", f"{_n(-left_em)}em")
    if half_em > right_em:
        return _text(f"{_n(at)}%", 1.0, label, "b", "e ko", f"{_n(right_em)}em")
    return _text(f"{_n(at)}%", 1.0, label, "b", "m ko")


def _rung(rung: Rung, y: float, rail_a: float | None, x: Callable[[float], str]) -> tuple[list[str], list[str]]:
    text_y, line_y = y + 1.15, y + 1.95
    end = x(rung.limit_a)
    letters = max(min(LABEL_LETTERS, ROW_LETTERS - math.ceil(BASIS_LETTER * len(rung.basis))), LEAST_LETTERS)
    labels = [
        _text("0.5em", text_y, _cut(rung.label, letters), "b x" if rung.holds_back else "b", "ko"),
        _text("100%", text_y, rung.basis, "n", "e ko"),
    ]
    if not rung.protected:
        at = 0.3 * RIGHT_PERCENT
        lines = [
            _line("r2 ds", "0", f"{_n(at)}%", line_y, line_y),
            f'<svg x="{_n(at * 0.4)}%" y="{_n(line_y - 0.7)}em" width="1.5em" height="1.4em" viewBox="0 0 20 20" '
            'preserveAspectRatio="none"><path class="pf" d="M5-1h13l-5 22H0z"/>'
            '<path class="l2" d="M6 0l-5 8 7 3-5 9M17 0l-5 8 7 3-5 9"/></svg>',
            f'<svg x="{_n(at + 1)}%" y="{_n(line_y - 0.62)}em" width="1.25em" height="1.25em"><use href="#no"/></svg>',
        ]
        labels += [
            f'<text class="b" x="{_n(at + 1)}%" dx="1.7em" y="{_n(line_y + 0.38)}em">NOT PROTECTED</text>',
            _text("100%", line_y + 0.4, "none", "f", "e"),
        ]
        return lines, labels
    figure = _text("100%", line_y + 0.4, _amps(rung.limit_a), "f x" if rung.holds_back else "f", "e")
    if rung.holds_back:
        cap = _line("rs", end, end, line_y - 0.72, line_y + 0.72)
        return [_line("ra", "0", end, line_y, line_y), cap], [*_held(rung, labels, end, line_y), figure]
    lines = []
    if rail_a is not None:
        lines.append(_line("r1", "0", x(min(rail_a, rung.limit_a)), line_y, line_y))
    start = x(min(rail_a, rung.limit_a)) if rail_a is not None else "0"
    lines.append(_line("r2", start, end, line_y, line_y) + _line("r2", end, end, line_y - 0.4, line_y + 0.4))
    return lines, [*labels, figure]


def _held(rung: Rung, labels: Sequence[str], end: str, line_y: float) -> list[str]:
    """Return the labels of the rung that holds back, with these words beyond its stop where the figure leaves room.

    Else they stand over the rung in place of the basis: at the stop where the label leaves room, at the right if not.
    """
    before_em, beyond_em = EM_PER_PERCENT * float(end[:-1]), EM_PER_PERCENT * (100 - float(end[:-1]))
    if beyond_em >= 0.75 + HELD_EM + FIGURE_EM * len(_amps(rung.limit_a)):
        return [*labels, _text(end, line_y + 0.38, "HOLDS BACK", "b x", "ko", "0.75em")]
    label, words_y = _cut(rung.label, HELD_LETTERS), line_y - 0.8
    shown = _text("0.5em", words_y, label, "b x", "ko")
    if before_em - 0.5 - HELD_EM > 1.0 + 2 * HALF_LETTER_EM * len(label):
        return [shown, _text(end, words_y, "HOLDS BACK", "b x", "e ko", "-0.5em")]
    return [shown, _text("100%", words_y, "HOLDS BACK", "b x", "e ko")]


def _ladder_words(rungs: Sequence[Rung], rail_a: float | None, rail_label: str) -> str:
    parts = [
        f"{rung.label}: {_amps(rung.limit_a) + ' A' if rung.protected else 'not protected'}"
        + (", holds back" if rung.holds_back else "")
        for rung in rungs
    ]
    rail = f"The line through all rungs: {rail_label}. " if rail_a is not None else "Nothing may be drawn. "
    return f"{rail}From source to vehicle, allowed for hours. {'; '.join(parts)}."


def time_ruler(
    percents: Sequence[tuple[int, float]],
    miles: Sequence[tuple[int, float]],
    goals: Sequence[Goal],
    *,
    name: str,
    band: Band | None = None,
) -> str:
    """Return the time ruler: minutes plugged in below, percent inside the top edge, likely miles above.

    `percents` and `miles` are (value, minute) pairs: taper shows as ticks that stretch. A band is a hatch over the
    body, its likely minutes a line in the overprint, those to allow one in ink; what lies beyond the scale is told in
    the description alone.
    """
    ends = [goal.minute for goal in goals]
    if band is not None:
        ends.append(band.likely_min if band.allow_min is None else band.allow_min)
    longest = max(ends, default=60)
    end_min = next((step for step in RULER_STEPS_MIN if step >= longest), RULER_STEPS_MIN[-1])
    small, large = _ruler_ticks(end_min)

    def x(minute: float) -> float:
        return 1.5 + minute / end_min * 83

    rows: list[float] = []  # the last pennant's x on each row, so that labels do not touch
    levels = []
    for goal in goals:
        level = next((row for row, last in enumerate(rows) if x(goal.minute) - last > 30), len(rows))
        rows[level : level + 1] = [x(goal.minute)]
        levels.append(level)
    height = len(rows)
    body_y = 1.7 * height + 2.6
    foot_y = body_y + 4.6
    parts = [] if band is None else [_hatch(band, end_min, x, body_y, name)]
    ticks = [(minute, 4.6 if not minute % large else 5.1, 5.6) for minute in range(0, end_min + 1, small)]
    parts.append(_ticks(body_y, ticks, x, "l1"))
    percent_ticks = [(minute, 1.0, 2.0 if not value % 5 else 1.5) for value, minute in percents if minute <= end_min]
    parts.append(_ticks(body_y, percent_ticks, x, "l1"))
    mile_ticks = [(minute, 0.5, 1.0) for value, minute in miles if minute <= end_min]
    parts.append(_ticks(body_y, mile_ticks, x, "l1"))
    for edge in (body_y, foot_y):
        parts.append(_line("l2", "0", f"{_n(RIGHT_PERCENT)}%", edge, edge))
    for side in ("0", f"{_n(RIGHT_PERCENT)}%"):
        parts.append(_line("l2", side, side, body_y, foot_y))
    for goal, level in zip(goals, levels, strict=True):
        if goal.minute > end_min:
            continue
        at, top = f"{_n(x(goal.minute))}%", 0.2 + 1.7 * (height - 1 - level)
        parts.append(_line("la", at, at, top, foot_y))
        parts.append(
            f'<svg x="{at}" y="{_n(top)}em" width="1em" height="1.1em" viewBox="0 0 16 18">'
            '<path class="if" d="M0 0L15 7 0 14z"/></svg>'
        )
        if x(goal.minute) > FLIP_PERCENT:
            parts.append(_text(at, top + 0.95, goal.label, "b", "e ko", "-0.4em"))
        else:
            parts.append(_text(at, top + 0.95, goal.label, "b", "ko", "1.3em"))
    taken = [x(goal.minute) for goal in goals]
    minutes = [(minute, float(minute)) for minute in range(0, end_min + 1, large)]
    percents, miles = ([(value, at) for value, at in pairs if at <= end_min] for pairs in (percents, miles))
    if band is None:
        height_em = foot_y + 2.0
        parts += _numbers(minutes, x, foot_y + 1.35, [], "b")
        parts += _numbers(percents, x, body_y + 3.05, taken, "n")
        parts += _numbers(miles, x, body_y - 0.65, taken, "b")
    else:
        marks, height_em = _band_marks(band, end_min, x, body_y, foot_y)
        crossed = [x(minute) for minute in (band.likely_min, band.allow_min) if minute is not None]
        parts += _numbers(minutes, x, foot_y + 1.35, [], "b", [*crossed, MIN_PERCENT])
        parts += _numbers(percents, x, body_y + 3.05, [], "n", [*taken, *crossed, RIGHT_PERCENT])
        parts += _numbers(miles, x, body_y - 0.65, [], "b", [*taken, MILES_PERCENT])
        parts += marks
    for unit, at_y in (("miles", body_y - 0.65), ("%", body_y + 3.05), ("min", foot_y + 1.35)):
        parts.append(_text("100%", at_y, unit, "n b", "e"))
    words = "; ".join(f"{goal.label} after {math.ceil(goal.minute)} minutes" for goal in goals)
    told = f"Minutes plugged in, typical. {words}." + ("" if band is None else _band_words(band))
    return _svg(name, "ruler", f"Time ruler: {name}", told, height_em, "".join(parts))


def _hatch(band: Band, end_min: int, x: Callable[[float], float], body_y: float, name: str) -> str:
    """Return the hatch from one in ten to nine in ten; to the edge of the ruler where fewer get there on its scale."""
    key = _slug("hatch", name)
    to = RIGHT_PERCENT if band.allow_min is None or band.allow_min > end_min else x(band.allow_min)
    start = min(x(band.low_min), to)
    return (
        f'<defs><pattern id="{key}" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        f'<path class="ha" d="M0 0V6"/></pattern></defs><rect fill="url(#{key})" x="{_n(start)}%" y="{_n(body_y)}em" '
        f'width="{_n(to - start)}%" height="4.6em"/>'
    )


def _band_marks(
    band: Band, end_min: int, x: Callable[[float], float], body_y: float, foot_y: float
) -> tuple[list[str], float]:
    """Return the line of the likely minutes and that of those to allow, word and number below, and how low all ends.

    Likely stands left of its line and allow right of its own, where a narrow phone has room for that. A word that has
    to stand between the lines or under one takes a row by itself, and no line of the other reaches into it.
    """
    likely_x, allow_x = x(band.likely_min), None
    if band.allow_min is not None and band.allow_min <= end_min:
        allow_x = x(band.allow_min)
    likely_left = likely_x >= BAND_LABEL_PERCENT
    allow_left = allow_x is not None and allow_x > 100 - BAND_LABEL_PERCENT
    likely_row = allow_row = 0
    if allow_x is not None:
        if allow_left:
            allow_row = 1 if likely_left or allow_x - likely_x < 2 * BAND_LABEL_PERCENT else 0
        elif not likely_left:
            likely_row = 1
    parts = []
    if band.likely_min <= end_min:
        low = foot_y + 3.2 + BAND_ROW_EM * likely_row
        parts.append(_band_mark(likely_x, body_y, low, "la", ("likely", band.likely_min, " x"), left=likely_left))
    if allow_x is not None and band.allow_min is not None:
        low = foot_y + 3.2 + BAND_ROW_EM * allow_row
        parts.append(_band_mark(allow_x, body_y, low, "l2", ("allow", band.allow_min, ""), left=allow_left))
    return parts, foot_y + 3.7 + BAND_ROW_EM * max(likely_row, allow_row)


def _band_mark(at: float, top: float, low: float, style: str, words: tuple[str, float, str], *, left: bool) -> str:
    """Return a line through the ruler, and its word and number beside its lower end; `low` is what they stand on."""
    word, minute, colour = words
    side, shift = ("e ko", "-0.4em") if left else ("ko", "0.4em")
    return (
        _line(style, f"{_n(at)}%", f"{_n(at)}%", top, low - 0.6)
        + f'<text x="{_n(at)}%" y="{_n(low)}em" dx="{shift}" class="{side}"><tspan class="n b{colour}">{word}</tspan> '
        f'<tspan class="f{colour}">{_minutes_up(minute)}</tspan></text>'
    )


def _minutes_up(minutes: float) -> int:
    return math.ceil(minutes - 1e-9)


def _band_words(band: Band) -> str:
    allow = "fewer than nine in ten get there" if band.allow_min is None else f"allow {_minutes_up(band.allow_min)}"
    best = math.floor(band.low_min + 1e-9)
    return f" Likely {_minutes_up(band.likely_min)} minutes, {allow}, {best} at best."


def _ruler_ticks(end_min: int) -> tuple[int, int]:
    """Return the steps of the short and the long ticks, and of the numbers."""
    if end_min <= 120:
        return 5, 15
    if end_min <= 240:
        return 10, 30
    if end_min <= 480:
        return 15, 60
    return (60, 240) if end_min <= 1440 else (120, 480)


def _ticks(body_y: float, ticks: Sequence[tuple[float, float, float]], x: Callable[[float], float], style: str) -> str:
    path = "".join(
        f"M{round(10 * x(minute))} {round(100 * top)}v{round(100 * (low - top))}" for minute, top, low in ticks
    )
    return (
        f'<svg y="{_n(body_y - 1)}em" width="100%" height="6em" viewBox="0 0 1000 600" preserveAspectRatio="none">'
        f'<path class="{style}" d="{path}"/></svg>'
    )


def _numbers(
    values: Sequence[tuple[int, float]],
    x: Callable[[float], float],
    y: float,
    taken: Sequence[float],
    style: str,
    marks: Sequence[float] = (),
) -> list[str]:
    """Return numbers along the ruler at round values; one that a pole or a mark would touch is left out.

    From `taken` all keep one distance, from `marks` one that grows with their digits.
    """
    step = next(
        (
            step
            for step in NUMBER_STEPS
            if _least_gap([x(at) for value, at in values if not value % step]) >= NUMBER_GAP
        ),
        NUMBER_STEPS[-1],
    )
    return [
        _text(f"{_n(x(at))}%", y, str(value), style, "m ko")
        for value, at in values
        if not value % step
        and all(abs(x(at) - pole) > POLE_GAP for pole in taken)
        and all(abs(x(at) - mark) > MARK_GAP + DIGIT_GAP * len(str(value)) for mark in marks)
    ]


def _least_gap(positions: Sequence[float]) -> float:
    return min((after - before for before, after in pairwise(positions)), default=math.inf)


def power_curve(
    curves: Sequence[tuple[str, Sequence[tuple[float, float]]]], *, name: str, height_em: float = 14.0
) -> str:
    """Return power into the battery against percent on the dash, the first curve in the overprint."""
    top_kw = max(power for _, points in curves for _, power in points)
    step_kw = next(step for step in (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100) if top_kw / step <= 6)
    end_kw = step_kw * math.ceil(top_kw / step_kw + 0.6)  # room for the label over the highest line
    base = height_em - CHART_FOOT_EM

    def x(percent: float) -> float:
        return CHART_LEFT + percent / 100 * (RIGHT_PERCENT - CHART_LEFT)

    def y(power_kw: float) -> float:
        return base - power_kw / end_kw * (base - CHART_TOP_EM)

    levels = [step_kw * count for count in range(math.floor(end_kw / step_kw + 1e-9) + 1)]
    parts = _levels([(level, y(level)) for level in levels])
    parts += _foot([(str(percent), x(percent)) for percent in range(0, 101, 20)], base)
    drawn = [
        ("la" if index == 0 else "l1 ds", [(x(percent), y(power)) for percent, power in points])
        for index, (_, points) in enumerate(curves)
    ]
    parts.append(_curves(drawn[::-1], base))
    used: list[float] = []
    for index, (label, points) in enumerate(curves):
        label_y = y(points[0][1]) - 0.35
        while any(abs(label_y - other) < LINE_GAP_EM for other in used):
            label_y += LINE_GAP_EM
        used.append(label_y)
        parts.append(_text(f"{_n(x(2))}%", label_y, _cut(label, CURVE_LETTERS), "n b x" if index == 0 else "n", "ko"))
    parts.append(_text("0", 0.9, "kW into the battery", "n"))
    parts.append(_text(f"{_n(RIGHT_PERCENT)}%", height_em - 0.1, "percent on the dash", "n", "e"))
    words = "; ".join(f"{label}: {points[0][1]:.1f} kW until the taper" for label, points in curves)
    return _svg(name, "curve", f"Power over the charge: {name}", f"{words}.", height_em, "".join(parts))


def share_chart(
    by_rule: Sequence[tuple[float, float]],
    by_iso: Sequence[tuple[float, float]],
    *,
    site_ft: float,
    name: str,
    height_em: float = 12.0,
) -> str:
    """Return what an engine keeps of its running watts against height: the rule in the overprint, ISO 3046-1 dashed.

    Points are (feet, share), rising. The scale begins where nearly every engine's does, so that two pages compare;
    lower for one that loses more.
    """
    end_ft = by_rule[-1][0]
    lowest = min(share for _, share in (*by_rule, *by_iso))
    bottom = min(max(10 * math.floor(10 * lowest - 1e-9), 0), SHARE_SCALE_FROM_PERCENT)
    step = 10 if bottom >= 40 else 20
    bottom = step * (bottom // step)
    base = height_em - CHART_FOOT_EM

    def x(height_ft: float) -> float:
        return CHART_LEFT + height_ft / end_ft * (RIGHT_PERCENT - CHART_LEFT)

    def y(share: float) -> float:
        return base - (100 * share - bottom) / (100 - bottom) * (base - CHART_TOP_EM)

    parts = _levels([(percent, y(percent / 100)) for percent in range(bottom, 101, step)])
    parts += _foot([(f"{height_ft:,}", x(height_ft)) for height_ft in range(0, int(end_ft) + 1, 2000)], base)
    if 0 <= site_ft <= end_ft:
        at = f"{_n(x(site_ft))}%"
        parts.append(_line("l1", at, at, CHART_TOP_EM, base))
        side, shift = ("e ko", "-0.4em") if x(site_ft) > FLIP_PERCENT else ("ko", "0.4em")
        parts.append(_text(at, base - 0.5, "usual site", "n", side, shift))
    curves = [("l1 ds", by_iso), ("la", by_rule)]
    parts.append(_curves([(style, [(x(ft), y(share)) for ft, share in points]) for style, points in curves], base))
    rule_y, iso_y = y(by_rule[-1][1]) + 0.35, y(by_iso[-1][1]) + 0.35
    if abs(rule_y - iso_y) < LINE_GAP_EM:
        middle, rule_is_lower = (rule_y + iso_y) / 2, by_rule[-1][1] <= by_iso[-1][1]
        rule_y = middle + (0.5 if rule_is_lower else -0.5) * LINE_GAP_EM
        iso_y = middle - (0.5 if rule_is_lower else -0.5) * LINE_GAP_EM
    parts.append(_text(f"{_n(RIGHT_PERCENT)}%", rule_y, "rule", "n b x", "ko", "0.4em"))
    parts.append(_text(f"{_n(RIGHT_PERCENT)}%", iso_y, "ISO", "n", "ko", "0.4em"))
    parts.append(_text("0", 0.9, "% kept", "n"))
    parts.append(_text(f"{_n(RIGHT_PERCENT)}%", height_em - 0.1, "feet", "n", "e"))
    words = (
        f"At sea level {100 * by_rule[0][1]:.0f} % by the rule and {100 * by_iso[0][1]:.0f} % by ISO 3046-1; "
        f"at {end_ft:,.0f} ft {100 * by_rule[-1][1]:.0f} % and {100 * by_iso[-1][1]:.0f} %."
    )
    return _svg(name, "share", f"Running watts kept by height: {name}", words, height_em, "".join(parts))


def burn_chart(points: Sequence[tuple[float, float, float]], *, name: str, height_em: float = 12.0) -> str:
    """Return what an engine burns against its load, with the hours that tank and cans last written at the points.

    Points are (kW, litres an hour, hours), rising; the last load is above nothing. Gallons stand to the left, litres to
    the right.
    """
    end_kw = points[-1][0]
    top_gal = max(burn for _, burn, _ in points) / LITRES_PER_GALLON
    step_gal, step_kw = _round_step(top_gal), _round_step(end_kw)
    end_gal = step_gal * math.ceil(top_gal / step_gal + 0.4)  # room for the hours over the highest point
    base = height_em - CHART_FOOT_EM

    def x(load_kw: float) -> float:
        return CHART_LEFT + load_kw / end_kw * (RIGHT_PERCENT - CHART_LEFT)

    def y(burn_l_per_h: float) -> float:
        return base - burn_l_per_h / LITRES_PER_GALLON / end_gal * (base - CHART_TOP_EM)

    levels = [step_gal * count for count in range(math.floor(end_gal / step_gal + 1e-9) + 1)]
    parts = _levels([(level, y(level * LITRES_PER_GALLON)) for level in levels])
    parts += [
        _text(
            f"{_n(RIGHT_PERCENT)}%",
            y(level * LITRES_PER_GALLON) + 0.3,
            f"{level * LITRES_PER_GALLON:.3g}",
            "n",
            "",
            "0.5em",
        )
        for level in levels
    ]
    loads = [step_kw * count for count in range(math.floor(end_kw / step_kw + 1e-9) + 1)]
    parts += _foot([(f"{load_kw:.6g}", x(load_kw)) for load_kw in loads], base)
    parts.append(_curves([("la", [(x(load_kw), y(burn)) for load_kw, burn, _ in points])], base))
    for load_kw, burn, hours_h in points:
        at, level = f"{_n(x(load_kw))}%", y(burn)
        parts.append(f'<circle class="x" cx="{at}" cy="{_n(level)}em" r="4"/>')
        if load_kw > 0:  # at no load there is no room beside the scale: the table says it
            parts.append(_text(at, level - 0.5, f"{_hours(hours_h)} h", "b", "e ko", "-0.2em"))
    parts.append(_text("0", 0.9, "gal an hour", "n") + _text("100%", 0.9, "L an hour", "n", "e"))
    parts.append(_text(f"{_n(RIGHT_PERCENT)}%", height_em - 0.1, "kW", "n", "e"))
    words = "; ".join(
        f"at {load_kw:.1f} kW {burn / LITRES_PER_GALLON:.2f} gallons ({burn:.1f} L) an hour, {_hours(hours_h)} hours"
        for load_kw, burn, hours_h in points
    )
    return _svg(
        name, "burn", f"Fuel an hour by load, and how long it lasts: {name}", f"{words}.", height_em, "".join(parts)
    )


# ----------------------------------------------------------------------------------------------------------- pieces


def _hours(hours_h: float) -> str:
    """Return hours rounded down to a tenth, whole from a hundred on."""
    return f"{math.floor(hours_h):,}" if hours_h >= 100 else _amps(hours_h)


def _round_step(top: float) -> float:
    """Return the least round step (1, 2 or 5 of any decade) that parts a scale in few."""
    decade = 10.0 ** math.floor(math.log10(top / CHART_MARKS))
    return next(step * decade for step in (1, 2, 5, 10) if top / (step * decade) <= CHART_MARKS + 1e-9)


def _levels(levels: Sequence[tuple[float, float]]) -> list[str]:
    """Return the hairlines of a chart with their values to the left; each is (value, y)."""
    parts = []
    for value, y in levels:
        parts.append(_line("lh", f"{CHART_LEFT}%", f"{_n(RIGHT_PERCENT)}%", y, y))
        parts.append(_text(f"{CHART_LEFT}%", y + 0.3, f"{value:.6g}", "n", "e", "-0.5em"))
    return parts


def _foot(marks: Sequence[tuple[str, float]], base: float) -> list[str]:
    """Return the base line of a chart with its ticks and their words; each is (word, x in per cent)."""
    parts = [_line("l2", f"{CHART_LEFT}%", f"{_n(RIGHT_PERCENT)}%", base, base)]
    for word, x in marks:
        at = f"{_n(x)}%"
        parts.append(_line("l1", at, at, base, base + 0.4) + _text(at, base + 1.4, word, "n", "m"))
    return parts


def _curves(curves: Sequence[tuple[str, Sequence[tuple[float, float]]]], base: float) -> str:
    """Return polylines through points given as (per cent of the width, em); a later one lies over an earlier one."""
    width, height = RIGHT_PERCENT - CHART_LEFT, base - CHART_TOP_EM
    paths = "".join(
        f'<path class="{style}" d="M'
        + "L".join(
            f"{round(1000 * (x - CHART_LEFT) / width)} {round(1000 * (y - CHART_TOP_EM) / height)}" for x, y in points
        )
        + '"/>'
        for style, points in curves
    )
    return (
        f'<svg x="{CHART_LEFT}%" y="{_n(CHART_TOP_EM)}em" width="{_n(width)}%" height="{_n(height)}em" '
        f'viewBox="0 0 1000 1000" preserveAspectRatio="none">{paths}</svg>'
    )


def _n(value: float) -> str:
    """Return a coordinate in as few characters as it needs."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _amps(current_a: float) -> str:
    """Return amps rounded down to a tenth, without the unit."""
    return f"{math.floor(current_a * 10 + 1e-9) / 10:g}"


def _cut(text: str, letters: int) -> str:
    """Return a label that fits; the whole of it stands in the description and in the table beside."""
    return text if len(text) <= letters else text[: letters - 1].rstrip() + "…"


def _line(style: str, x1: str, x2: str, y1: float, y2: float) -> str:
    return f'<line class="{style}" x1="{x1}" x2="{x2}" y1="{_n(y1)}em" y2="{_n(y2)}em"/>'


def _text(x: str, y: float, text: str, size: str = "", anchor: str = "", dx: str = "") -> str:
    """Return a text. Its y is in em of the drawing, so its size stands on the inner span alone."""
    shift = f' dx="{dx}"' if dx else ""
    outer = f' class="{anchor}"' if anchor else ""
    inner = f'<tspan class="{size}">{e(text)}</tspan>' if size else e(text)
    return f'<text x="{x}" y="{_n(y)}em"{shift}{outer}>{inner}</text>'


def _slug(kind: str, name: str) -> str:
    return kind + "-" + "".join(letter if letter.isalnum() else "-" for letter in name.lower())


def _svg(name: str, kind: str, title: str, description: str, height_em: float, body: str) -> str:
    """Return a drawing with its title and description; ids are unique where `name` is unique on the page."""
    slug = _slug(kind, name)
    return (
        f'<svg class="d" role="img" aria-labelledby="{slug}-t {slug}-d" width="100%" height="{_n(height_em)}em">'
        f'<title id="{slug}-t">{e(title)}</title><desc id="{slug}-d">{e(description)}</desc>{body}</svg>'
    )
