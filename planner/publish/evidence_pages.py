"""The pages that let a reader check the numbers: formulas, outside checks and sources."""

from collections import Counter
from collections.abc import Sequence

from planner.checks import Case, Outcome, Transcription
from planner.errors import PlannerError
from planner.formulas import Formula, formulas
from planner.publish.markup import (
    Cell,
    Page,
    Row,
    bullets,
    e,
    link,
    narrow,
    section,
    source_anchor,
    table,
    verdict_mark,
)
from planner.records import RECORD_KINDS, Dataset

__all__ = ["checks_page", "formulas_page", "sources_page"]

FORMULA_GROUPS = {
    "circuit": "Circuits",
    "pilot": "The control pilot",
    "proximity": "Proximity",
    "genset": "Generators",
    "power": "Power and losses",
    "battery": "The charge curve",
    "pack": "A cold pack",
    "cabin": "The cabin",
    "air": "The air",
    "roadload": "The road",
    "road": "Miles",
}
PROVES_WORDS = {"table": "a table", "arithmetic": "arithmetic", "model": "a model"}
SUBJECT_WORDS = {
    "circuit": "Circuits",
    "devices": "Receptacles and inlets",
    "genset": "Generators",
    "model": "The whole model against published tests",
    "pilot": "The control pilot",
    "power": "Power",
    "proximity": "Proximity",
    "road": "Miles",
    "tables": "Published tables",
}


# --------------------------------------------------------------------------------------------------------- formulas


def formulas_page() -> Page:
    """Return the page of formulas with symbols, units and sources."""
    groups: dict[str, list[Formula]] = {}
    for formula in formulas():
        groups.setdefault(formula.module, []).append(formula)
    if not groups:
        raise PlannerError("the texts beside the formulas are not there: make the pages without Python's -OO")
    body = [
        '<p class="crumb" data-search-exclude><a href="index.html">How the numbers are made</a></p>',
        "<h1 data-search-exclude>Formulas</h1>",
        '<p class="lead">Every formula of the planner, as the text beside its code states it: what it returns, its symbols '
        "with their units, its source. Plain floats; nothing is rounded before it is shown.</p>",
    ]
    for module, found in groups.items():
        inner = "".join(_formula_block(formula) for formula in found)
        body.append(section(FORMULA_GROUPS[module], module, inner, searched=True))
    return Page(
        "method/formulas.md",
        "Formulas",
        "Every formula with its symbols, units and source.",
        "".join(body),
        tags=("equation", "symbols", "units"),
        boost=0.4,
    )


def _formula_block(formula: Formula) -> str:
    rows = [
        [Cell(f"<code>{e(name)}</code>"), Cell(e(meaning)), Cell(e(unit))] for name, meaning, unit in formula.symbols
    ]
    rows.append([Cell("<code>result</code>"), Cell(e(formula.returns)), Cell(e(formula.unit))])
    return (
        f'<h3 id="{e(formula.module)}-{e(formula.name)}" data-search-exclude><code>{e(formula.name)}</code></h3>'
        f'<p class="fx">{e(formula.statement or formula.returns)}</p>'
        + table(f"Symbols of {formula.name}", ["Symbol", "Means", "Unit"], rows)
        + f'<p class="n">Source: {e(formula.sources)}</p>'
    )


# ----------------------------------------------------------------------------------------------------------- checks


def checks_page(outcomes: Sequence[Outcome], texts: Sequence[Transcription], *, open_data: bool = False) -> Page:
    """Return the outside checks: the value in print, ours, the difference, the source. A miss is shown as a miss."""
    missed = [outcome for outcome in outcomes if not outcome.met]
    differing = [text for text in texts if text.differing]
    questions = {outcome.case.question for outcome in outcomes}
    kinds = Counter(outcome.case.proves for outcome in outcomes)
    head = (
        f"<p>{len(outcomes)} published values, {len(outcomes) - len(missed)} met, {len(missed)} missed; they ask "
        f"{len(questions)} different formulas, cells and fields. "
        + ", ".join(f"{count} prove {PROVES_WORDS[kind]}" for kind, count in sorted(kinds.items()))
        + f". {sum(text.compared for text in texts)} cells of our tables stand in a second text too, "
        f"{sum(len(text.differing) for text in differing)} differ.</p>"
        "<p>Tolerances and bands were written before the run. A check of arithmetic shows that we reckon as the source "
        "does; it does not prove that a vehicle behaves so. The constants marked as judgement on the method page are "
        "checked only as parts of the whole model, if at all.</p>"
    )
    if open_data:
        head += (
            f"<p>{link('open-data.html', 'The classes against open data')}: real vehicles laid over their bands.</p>"
        )
    body = [
        "<h1 data-search-exclude>Checks</h1>",
        '<p class="lead">What the planner says, held against what is in print.</p>',
        head,
    ]
    if missed:
        body.append(section("Missed", "missed", _outcome_table("Missed checks", missed)))
    subjects: dict[str, list[Outcome]] = {}
    for outcome in outcomes:
        subjects.setdefault(outcome.case.subject, []).append(outcome)
    for subject, found in subjects.items():
        title = SUBJECT_WORDS.get(subject, subject.capitalize())
        body.append(section(title, f"c-{subject}", _outcome_table(title, found)))
    second = [f'{e(text.source)}; <span class="n">{e(text.read_in)}</span>' for text in texts]
    rows = [
        [
            Cell(f"<code>{e(text.table)}</code>{narrow(words)}"),
            Cell(f'<b class="f">{text.compared}</b>', figure=True),
            Cell(
                f'<b class="f">{len(text.differing)}</b>' + "".join(f"<br>{e(line)}" for line in text.differing),
                figure=True,
            ),
            Cell(words, wide=True),
        ]
        for text, words in zip(texts, second, strict=True)
    ]
    heads: list[str | Cell] = [
        "Table",
        Cell("Cells<br>compared", figure=True),
        Cell("Differ", figure=True),
        Cell("Second text", wide=True),
    ]
    body.append(section("Second texts of our tables", "texts", table("Second texts of our tables", heads, rows)))
    return Page(
        "checks/index.md",
        "Checks",
        "Published values, ours, the difference and the source.",
        "".join(body),
        tags=("proof", "published values", "tests"),
        boost=0.4,
    )


def _outcome_table(title: str, outcomes: Sequence[Outcome]) -> str:
    heads: list[str | Cell] = [
        "Check",
        Cell("In print", figure=True),
        Cell("Ours", figure=True),
        Cell("Difference", figure=True, wide=True),
        Cell("Tolerance", figure=True, wide=True),
        "Met",
        Cell("Source", wide=True),
    ]
    rows = []
    for outcome in outcomes:
        case = outcome.case
        source = (
            f'{e(case.source)}<br><span class="n">proves {e(PROVES_WORDS[case.proves])}'
            f"{'; ' + e(case.note) if case.note else ''}</span>"
            f"{'<br>Missed, because: ' + e(case.missed) if case.missed else ''}"
        )
        published: float | str | bool = case.expect
        if isinstance(outcome.ours, bool) and not isinstance(published, str):
            published = bool(published)
        rows.append(
            [
                Cell(
                    f'<span class="any">{e(case.case)}</span><br><span class="n any"><code>{e(case.question)}</code></span>{narrow(source)}'
                ),
                _value(published, outcome.unit) if case.band is None else _band(case, outcome.unit),
                _value(outcome.ours, outcome.unit),
                Cell(
                    "" if outcome.difference is None else f"{outcome.difference:+.3g} {e(outcome.unit)}".rstrip(),
                    figure=True,
                    wide=True,
                ),
                Cell(
                    _tolerance(case, outcome.unit),
                    figure=True,
                    wide=True,
                ),
                Cell(verdict_mark("serve", "Met") if outcome.met else verdict_mark("cannot_serve", "Missed")),
                Cell(source, wide=True),
            ]
        )
    return table(title, heads, rows)


def _tolerance(case: Case, unit: str) -> str:
    if case.band is not None:
        return "band"
    return "exact" if case.tolerance <= 1e-9 else f"{case.tolerance:g} {e(unit)}".rstrip()


def _band(case: Case, unit: str) -> Cell:
    """Return what the text says and the band that was made of it."""
    assert case.band is not None
    low, high = case.band
    return Cell(
        f'<span class="any">{e(str(case.expect))}</span><br>'
        f'<span class="n any">band {low:g} to {high:g} {e(unit)}</span>'.replace(" </s", "</s")
    )


def _value(value: float | str | bool | None, unit: str) -> Cell:
    if value is None:
        return Cell("none", figure=True)
    if isinstance(value, bool):
        return Cell("yes" if value else "no", figure=True)
    if isinstance(value, str):
        return Cell(f"<code>{e(value)}</code>")  # may break within its letters on a narrow page
    return Cell(f'{value:.7g} <span class="u">{e(unit)}</span>' if unit else f"{value:.7g}", figure=True)


# ---------------------------------------------------------------------------------------------------------- sources


def sources_page(dataset: Dataset) -> Page:
    """Return every source with what was read, and how many records rest on it."""
    used: Counter[str] = Counter()
    bases: Counter[str] = Counter()
    for kind in RECORD_KINDS:
        for record in getattr(dataset, kind).values():
            for origin in record.sources.values():
                used.update([origin.ref] if origin.ref else [])
                bases.update([origin.basis] if origin.basis else [])
    for origin in dataset.rates.sources.values():
        used.update([origin.ref] if origin.ref else [])
        bases.update([origin.basis] if origin.basis else [])
    parts = [
        "<h1 data-search-exclude>Sources</h1>",
        '<p class="lead">Every source that a number, a formula or a check names, and which text was read. Where a source '
        "was not read in print, it says so: it is then cited for its existence, not for its wording.</p>",
    ]
    rows = []
    for source_id, source in dataset.sources.items():
        facts = ", ".join(str(fact) for fact in (source.publisher, source.edition, source.year) if fact)
        rows.append(
            Row(
                [
                    Cell(
                        f'<span id="{e(source_anchor(source_id))}">{e(source.title)}</span><br><span class="n"><code>{e(source_id)}</code> {e(facts)}</span>'
                    ),
                    Cell(e(source.kind), wide=True),
                    Cell(e(source.read_in)),
                    Cell(f'<b class="f">{used[source_id]}</b>', figure=True),
                ]
            )
        )
    heads: list[str | Cell] = ["Source", Cell("Kind", wide=True), "Read in", Cell("Named in<br>records", figure=True)]
    parts.append(table("Sources", heads, rows))
    items = [f"{e(basis)}: <b>{count}</b> entries" for basis, count in bases.most_common()]
    parts.append(section("Numbers without a published source", "bases", bullets(items)))
    parts.append(
        f'<p class="n">What each record rests on stands at the foot of its page, and in {link("../data/index.html", "the data files")}.</p>'
    )
    return Page(
        "sources/index.md",
        "Sources",
        "Every source a number rests on, and which text was read.",
        "".join(parts),
        tags=("citations", "references", "standards"),
        boost=0.4,
    )
