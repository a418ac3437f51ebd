"""The drawings: the ladder, the time ruler and the power curve, as SVG by template.

They stretch and never scale: x in per cent, y and letters in em, strokes in pixels, so that one drawing is right on a
narrow phone, in half a column, on paper and with large letters. No style attribute, so that a strict content policy
holds. Each has a title and a description, and stands beside a table that holds its numbers.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from planner.publish.markup import e

__all__ = ["Goal", "Rung", "ladder", "power_curve", "rung_basis", "time_ruler"]

RIGHT_PERCENT = 86.0  # the scale ends here; figures stand to its right
ROW_EM = 3.0
SCALE_STEPS_A = (10, 20, 50, 100, 200, 500)
SCALE_MARKS = 5
LABEL_LETTERS = 28  # beside a rung's basis on a narrow phone
CURVE_LETTERS = 34
NUMBER_STEPS = (1, 2, 5, 10, 15, 20, 30, 60, 120, 240, 480)
NUMBER_GAP = 8.5  # per cent of the width: two digits and air on a narrow phone
POLE_GAP = 3.5
FLIP_PERCENT = 72.0  # a pennant beyond this hangs to the left of its pole
RULER_STEPS_MIN = (60, 120, 180, 240, 360, 480, 720, 960, 1440, 2880)


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
        rails.append(_text(at, 1.0, rail_label, "b", "m ko"))
    return _svg(
        name,
        "ladder",
        f"Ladder: {name}",
        _ladder_words(rungs, rail_a, rail_label),
        bottom + 0.6,
        "".join(scale + lines + rails + labels),
    )


def _rung(rung: Rung, y: float, rail_a: float | None, x: Callable[[float], str]) -> tuple[list[str], list[str]]:
    text_y, line_y = y + 1.15, y + 1.95
    end = x(rung.limit_a)
    labels = [
        _text("0.5em", text_y, _cut(rung.label, LABEL_LETTERS), "b x" if rung.holds_back else "b", "ko"),
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
        held = _text(end, line_y + 0.38, "HOLDS BACK", "b x", "ko", "0.75em")
        if rung.limit_a and float(end[:-1]) > 0.72 * RIGHT_PERCENT:
            held = _text(end, line_y - 0.8, "HOLDS BACK", "b x", "e ko", "-0.5em")
            labels[1] = ""
        return [_line("ra", "0", end, line_y, line_y), cap], [*labels, held, figure]
    lines = []
    if rail_a is not None:
        lines.append(_line("r1", "0", x(min(rail_a, rung.limit_a)), line_y, line_y))
    start = x(min(rail_a, rung.limit_a)) if rail_a is not None else "0"
    lines.append(_line("r2", start, end, line_y, line_y) + _line("r2", end, end, line_y - 0.4, line_y + 0.4))
    return lines, [*labels, figure]


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
) -> str:
    """Return the time ruler: minutes plugged in below, percent inside the top edge, likely miles above.

    `percents` and `miles` are (value, minute) pairs: taper shows as ticks that stretch.
    """
    longest = max((goal.minute for goal in goals), default=60)
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
    parts = []
    ticks = [(minute, 4.6 if not minute % large else 5.1, 5.6) for minute in range(0, end_min + 1, small)]
    parts.append(_ticks(body_y, ticks, x, "l1"))
    percent_ticks = [(minute, 1.0, 2.0 if not value % 5 else 1.5) for value, minute in percents if minute <= end_min]
    parts.append(_ticks(body_y, percent_ticks, x, "l1"))
    mile_ticks = [(minute, 0.5, 1.0) for value, minute in miles if minute <= end_min]
    parts.append(_ticks(body_y, mile_ticks, x, "l1"))
    for edge in (body_y, foot_y):
        parts.append(_line("l2", "0", f"{RIGHT_PERCENT}%", edge, edge))
    for side in ("0", f"{RIGHT_PERCENT}%"):
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
    parts += _numbers(minutes, x, foot_y + 1.35, [], "b")
    parts += _numbers([(value, at) for value, at in percents if at <= end_min], x, body_y + 3.05, taken, "n")
    parts += _numbers([(value, at) for value, at in miles if at <= end_min], x, body_y - 0.65, taken, "b")
    for unit, at_y in (("miles", body_y - 0.65), ("%", body_y + 3.05), ("min", foot_y + 1.35)):
        parts.append(_text("100%", at_y, unit, "n b", "e"))
    words = "; ".join(f"{goal.label} after {math.ceil(goal.minute)} minutes" for goal in goals)
    return _svg(
        name, "ruler", f"Time ruler: {name}", f"Minutes plugged in, typical. {words}.", foot_y + 2.0, "".join(parts)
    )


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
) -> list[str]:
    """Return numbers along the ruler at round values; one that a pole would touch is left out."""
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
        if not value % step and all(abs(x(at) - pole) > POLE_GAP for pole in taken)
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
    left, right = 9.0, RIGHT_PERCENT
    top, base = 1.8, height_em - 2.9

    def x(percent: float) -> float:
        return left + percent / 100 * (right - left)

    def y(power_kw: float) -> float:
        return base - power_kw / end_kw * (base - top)

    parts = []
    value = 0.0
    while value <= end_kw + 1e-9:
        parts.append(_line("lh", f"{left}%", f"{right}%", y(value), y(value)))
        parts.append(_text(f"{left}%", y(value) + 0.3, f"{value:g}", "n", "e", "-0.5em"))
        value += step_kw
    for percent in range(0, 101, 20):
        at = f"{_n(x(percent))}%"
        parts.append(_line("l1", at, at, base, base + 0.4) + _text(at, base + 1.4, str(percent), "n", "m"))
    parts.append(_line("l2", f"{left}%", f"{right}%", base, base))
    paths = "".join(
        f'<path class="{"la" if index == 0 else "l1 ds"}" d="M'
        + "L".join(f"{round(10 * percent)} {round(1000 - power / end_kw * 1000)}" for percent, power in points)
        + '"/>'
        for index, (_, points) in reversed(list(enumerate(curves)))
    )
    parts.append(
        f'<svg x="{left}%" y="{_n(top)}em" width="{_n(right - left)}%" height="{_n(base - top)}em" '
        f'viewBox="0 0 1000 1000" preserveAspectRatio="none">{paths}</svg>'
    )
    used: list[float] = []
    for index, (label, points) in enumerate(curves):
        label_y = y(points[0][1]) - 0.35
        while any(abs(label_y - other) < 1.2 for other in used):
            label_y += 1.2
        used.append(label_y)
        parts.append(_text(f"{_n(x(2))}%", label_y, _cut(label, CURVE_LETTERS), "n b x" if index == 0 else "n", "ko"))
    parts.append(_text("0", 0.9, "kW into the battery", "n"))
    parts.append(_text(f"{right}%", height_em - 0.1, "percent on the dash", "n", "e"))
    words = "; ".join(f"{label}: {points[0][1]:.1f} kW until the taper" for label, points in curves)
    return _svg(name, "curve", f"Power over the charge: {name}", f"{words}.", height_em, "".join(parts))


# ----------------------------------------------------------------------------------------------------------- pieces


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


def _svg(name: str, kind: str, title: str, description: str, height_em: float, body: str) -> str:
    """Return a drawing with its title and description; ids are unique where `name` is unique on the page."""
    slug = kind + "-" + "".join(letter if letter.isalnum() else "-" for letter in name.lower())
    return (
        f'<svg class="d" role="img" aria-labelledby="{slug}-t {slug}-d" width="100%" height="{_n(height_em)}em">'
        f'<title id="{slug}-t">{e(title)}</title><desc id="{slug}-d">{e(description)}</desc>{body}</svg>'
    )
