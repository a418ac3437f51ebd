"""HTML by hand: escaping, the parts that every page is made of, and a page as a text.

A string that comes from data passes `e` on its way into a page, without exception; a test puts markup into every
field of every record and looks for it in every page.
"""

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from planner.figures import amps
from planner.plan_types import SettingStep
from planner.records import Reference, Source
from planner.tables import Fitness

__all__ = [
    "FINDING_WORDS",
    "FITNESS_WORDS",
    "VERDICT_WORDS",
    "Cell",
    "Page",
    "Row",
    "anchored",
    "begin_call",
    "bullets",
    "choice_fieldset",
    "chosen",
    "e",
    "field_words",
    "figure_cells",
    "fit_mark",
    "icon",
    "level_mark",
    "link",
    "mark_words",
    "name",
    "narrow",
    "notice",
    "number",
    "origins_section",
    "page_parts",
    "section",
    "setting_cell",
    "source_anchor",
    "table",
    "verdict_mark",
]

VERDICT_WORDS = {
    "serve": "Serve",
    "serve_with_changes": "Yes, after a change",
    "ask_first": "Ask first",
    "try": "Try",
    "cannot_serve": "Cannot serve",
}
FITNESS_WORDS = {
    "fit": ("serve", "Fit"),
    "set_first": ("serve_with_changes", "Fit, set first"),
    "change_first": ("serve_with_changes", "Fit, with changes"),
    "by_class": ("ask_first", "By class"),
    "not_fit": ("cannot_serve", "Not fit"),
}
FINDING_WORDS = {"stop": "Stop", "change": "Change", "note": "Note"}
# Shapes of the symbol sheet that every page carries, by verdict and by level.
SHAPES = {
    "serve": "serve",
    "serve_with_changes": "after",
    "ask_first": "ask",
    "try": "try",
    "cannot_serve": "no",
    "stop": "no",
    "change": "change",
    "note": "note",
    "yes": "serve",
}
FRONT_MATTER = "---\n"
LONGEST_WORD = 18  # letters that a narrow column holds
UNIT_ENDINGS = re.compile(r"(_wall)?_(kwh_per_100mi|kwh|kw|a|v|w|m|c|l|min)$")


def e(value: object) -> str:
    """Return a value as text that is safe inside an element and inside a quoted attribute."""
    return escape(str(value), quote=True)


def number(value: float) -> str:
    """Return a number as people read it: thousands apart, no trailing zeros."""
    return f"{value:,.10g}"


@dataclass(frozen=True, slots=True)
class Page:
    """One page: where it stands, what a search and a browser call it, and its finished HTML."""

    path: str  # such as `vehicles/midsize-suv.md`
    title: str
    description: str
    body: str
    tags: Sequence[str] = ()
    styles: Sequence[str] = ()
    scripts: Sequence[str] = ()  # run once the page has been read
    boost: float = 1.0  # weight in the search: below 1 for pages behind the numbers

    def text(self) -> str:
        """Return the page as one text: a front matter of JSON values, which is YAML too, then the HTML.

        The title is escaped here: site generators print it as it stands.
        """
        meta: dict[str, Any] = {"title": e(self.title), "description": e(self.description)}
        if self.tags:
            meta["tags"] = [e(tag) for tag in self.tags]
        if self.styles:
            meta["styles"] = list(self.styles)
        if self.scripts:
            meta["scripts"] = list(self.scripts)
        if self.boost != 1:
            meta["search"] = {"boost": self.boost}
        lines = "".join(f"{key}: {json.dumps(value, ensure_ascii=False)}\n" for key, value in meta.items())
        return f"{FRONT_MATTER}{lines}{FRONT_MATTER}\n{self.body}\n"


def page_parts(text: str) -> tuple[str, str]:
    """Return the front matter and the HTML of a page's text."""
    _, meta, body = text.split(FRONT_MATTER, 2)
    return f"{FRONT_MATTER}{meta}{FRONT_MATTER}", body.strip("\n")


# ----------------------------------------------------------------------------------------------------------- parts


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table: its cells, and what marks it."""

    cells: Sequence["Cell"]
    on: bool = False  # the chosen row
    marks: str = ""  # what a filter looks for
    words: str = ""  # what a row is found by besides what it shows


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table: finished HTML, and whether it is a figure or hidden on a narrow page."""

    html: str
    figure: bool = False
    wide: bool = False  # shown on wide pages alone
    span: int = 1


def name(text: str) -> str:
    """Return a name; one with an endless word may break within it, so that no table leaves a narrow page."""
    endless = any(len(word) > LONGEST_WORD for word in text.split())
    return f'<span class="any">{e(text)}</span>' if endless else e(text)


def link(href: str, text: str) -> str:
    """Return a link; the text is escaped."""
    return f'<a href="{e(href)}">{name(text)}</a>'


def begin_call(known: str, record_id: str) -> str:
    """Return the way from a page one folder down to a call in which a class or a port is known, by its name there."""
    address = f"../index.html#{known}={record_id}"
    return f'<div data-search-exclude><a class="way" href="{e(address)}">Begin a call with this {known}</a></div>'


def icon(shape: str) -> str:
    """Return one of the drawn shapes; the word beside it carries the meaning."""
    return f'<svg class="ic" aria-hidden="true" focusable="false"><use href="#{SHAPES[shape]}"/></svg>'


def verdict_mark(verdict: str, word: str | None = None) -> str:
    """Return a verdict as shape and word."""
    return f'<span class="v">{icon(verdict)}{e(word or VERDICT_WORDS[verdict])}</span>'


def fit_mark(fitness: Fitness) -> str:
    """Return whether a rig may be used: fit, fit once it is set, for some classes alone, or not fit."""
    verdict, words = FITNESS_WORDS[fitness]
    return verdict_mark(verdict, words)


def level_mark(level: str) -> str:
    """Return the level of a finding as shape and word."""
    return f'<span class="v">{icon(level)}{FINDING_WORDS[level]}</span>'


def anchored(level: int, text: str, anchor: str, *, searched: bool = False) -> str:
    """Return a heading with its anchor. Only what is `searched` opens a section of its own in the search."""
    return f'<h{level} id="{e(anchor)}"{"" if searched else " data-search-exclude"}>{e(text)}</h{level}>'


def section(title: str, anchor: str, body: str, *, searched: bool = False) -> str:
    """Return a headed part of a page."""
    return f'<section aria-labelledby="{e(anchor)}">{anchored(2, title, anchor, searched=searched)}{body}</section>'


def figure_cells(cells: Iterable[tuple[str, str, str]]) -> str:
    """Return the row of deciding figures: label, figure, unit."""
    inner = "".join(
        f'<p><span class="k">{e(label)}</span> <b class="f f2">{e(value)}</b> {e(unit)}</p>'
        for label, value, unit in cells
    )
    return f'<div class="fg">{inner}</div>'


def table(caption: str, heads: Sequence[str | Cell], rows: Iterable[Row | Sequence[Cell]]) -> str:
    """Return a ruled table. The first cell of a row is its head; a row that needs no mark is its cells alone."""
    head_cells = [head if isinstance(head, Cell) else Cell(e(head)) for head in heads]
    head_html = "".join(f'<th scope="col"{_classes(cell)}>{cell.html}</th>' for cell in head_cells)
    body = []
    for given in rows:
        row = given if isinstance(given, Row) else Row(given)
        inner = "".join(
            f'<th scope="row"{_classes(cell)}>{cell.html}</th>'
            if index == 0
            else f"<td{_classes(cell)}{_span(cell)}>{cell.html}</td>"
            for index, cell in enumerate(row.cells)
        )
        chosen_row = ' class="on"' if row.on else ""
        marks = f' data-f="{e(row.marks)}"' if row.marks else ""
        words = f' data-w="{e(row.words)}"' if row.words else ""
        body.append(f"<tr{chosen_row}{marks}{words}>{inner}</tr>")
    return (
        f'<div class="tw" data-search-exclude><table class="t"><caption class="vh">{e(caption)}</caption>'
        f"<thead><tr>{head_html}</tr></thead><tbody>{''.join(body)}</tbody></table></div>"
    )


def _span(cell: Cell) -> str:
    return f' colspan="{cell.span}"' if cell.span > 1 else ""


def _classes(cell: Cell) -> str:
    names = [name for name, on in (("r", cell.figure), ("wide", cell.wide)) if on]
    return f' class="{" ".join(names)}"' if names else ""


def mark_words(mark: str, output_a: float) -> str:
    """Return a mark with its amps: a mark may count breaker amps, and the two must not be mixed up."""
    return f"mark {mark} = {amps(output_a)}"


def setting_cell(setting: SettingStep, *, on: bool = False) -> str:
    """Return the mark, whether it is left or set, and the amps to read back."""
    figure = chosen(e(setting.mark)) if on else f'<b class="f">{e(setting.mark)}</b>'
    do = "leave" if setting.mark == setting.from_mark else "set"
    return f'{figure}<br><span class="n">{do}, {e(amps(setting.read_back_a)).replace(" ", "&nbsp;")}</span>'


def source_anchor(source_id: str) -> str:
    """Return the anchor of a source: no id of a record may meet an id of the page."""
    return f"source--{source_id}"


def origins_section(record: Reference, sources: Mapping[str, Source], root: str, note: str) -> str:
    """Return where the numbers of a record come from: a source by its title, or the basis where there is none."""
    rows = []
    for path, origin in record.sources.items():
        where = ", ".join(part for part in (origin.where, origin.note) if part)
        if origin.ref is None:
            name_html = e(str(origin.basis))
        else:
            title = sources[origin.ref].title if origin.ref in sources else origin.ref
            name_html = link(f"{root}sources/index.html#{source_anchor(origin.ref)}", title)
        rows.append([Cell(e(field_words(path))), Cell(name_html), Cell(e(where))])
    body = table(f"Where the numbers of {record.name} come from", ["Numbers", "Source", "Where, how"], rows)
    foot = f'<p class="n">{note}Id for the command line: <code>{e(record.id)}</code>.</p>'
    return section("Where the numbers come from", "sources", body + foot)


def narrow(html: str) -> str:
    """Return a line under a row's name that stands there on a narrow page alone."""
    return f'<span class="nar">{html}</span>'


def field_words(path: str) -> str:
    """Return the path of a field as words: no underscores, no unit endings."""
    return ", ".join(UNIT_ENDINGS.sub("", step).replace("_", " ") for step in path.split("."))


def choice_fieldset(group: str, legend: str, choices: Iterable[tuple[str, str]], any_key: str) -> str:
    """Return joined squares of which one is chosen, `Any` at first; ids are the group and the choice's key."""
    inner = "".join(
        f'<label><input type="radio" name="{group}" id="{group}-{e(key)}"{" checked" if key == any_key else ""}>'
        f"<span>{name(words)}</span></label>"
        for key, words in [(any_key, "Any"), *choices]
    )
    return f'<fieldset data-search-exclude><legend>{e(legend)}</legend><div class="o">{inner}</div></fieldset>'


def chosen(html: str) -> str:
    """Return a deciding figure in the overprint."""
    return f'<b class="f a">{html}</b>'


def bullets(items: Iterable[str]) -> str:
    """Return a list of finished HTML items, nothing for none."""
    inner = "".join(f"<li>{item}</li>" for item in items)
    return f"<ul>{inner}</ul>" if inner else ""


def notice(verdict: str, head: str, html: str) -> str:
    """Return the block that says how a thing stands: shape, word, sentence; inverted where it is a no."""
    look = {"cannot_serve": " no", "ask_first": " open", "try": " open"}.get(verdict, "")
    return f'<div class="vd{look}">{icon(verdict)}<b>{e(head)}</b><div>{html}</div></div>'
