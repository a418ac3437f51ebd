"""The page of what moved between two versions of the data, and why."""

from planner.publish.markup import Cell, Page, e, field_words, link, number, section, table
from planner.records import Dataset
from planner.releases import Move, Moves

__all__ = ["moved_page"]

FOLDERS = {"vehicle_classes": "vehicles", "rigs": "rigs", "inlets": "ports"}


def moved_page(dataset: Dataset, found: Moves | None) -> Page:
    """Return the page; without a kept version it says that there is none."""
    blocks = []
    if found is None:
        lead = "No former version was kept."
    else:
        lead = f"From data {found.before} to {found.after}: what was added, what moved, and why."
        if found.added:
            names = ", ".join(_record(dataset, name) for name in found.added)
            blocks.append(section(f"{len(found.added)} added", "added", f"<p>{names}</p>"))
        other = [f"{e(was)} is now {_record(dataset, now)}" for was, now in found.renamed]
        other += [
            f"{e(was)} was parted into {', '.join(_record(dataset, f'vehicle_classes/{one}') for one in into)}"
            for was, into in found.parted
        ]
        other += [f"{e(name)} is gone" for name in found.gone]
        if other:
            blocks.append(
                section(
                    "Renamed, parted, gone", "renamed", "<ul>" + "".join(f"<li>{one}</li>" for one in other) + "</ul>"
                )
            )
        blocks.append(_moved(dataset, found))
    body = (
        '<p class="crumb" data-search-exclude><a href="index.html">Data</a></p>'
        f'<h1 data-search-exclude>What moved in the data</h1><p class="lead">{e(lead)}</p>' + "".join(blocks)
    )
    return Page(
        "data/moved.md",
        "What moved in the data",
        "Records added, numbers moved, and why, between two versions of the data.",
        body,
        tags=("version", "release", "changed numbers"),
        boost=0.3,
    )


def _moved(dataset: Dataset, found: Moves) -> str:
    groups: dict[str, list[Move]] = {}
    for move in found.moved:
        groups.setdefault(move.because, []).append(move)
    parts = []
    for because, moves in groups.items():
        changed = [move for move in moves if move.before is not None]
        new = [move for move in moves if move.before is None]
        parts.append(f"<p><b>{e(because or 'No reason is given.')}</b></p>")
        if new:
            records = sorted({move.record for move in new})
            parts.append(f'<p class="n">{len(new)} new values of {len(records)} records.</p>')
        if changed:
            rows = [
                [
                    Cell(_record(dataset, move.record)),
                    Cell(e(field_words(move.field))),
                    Cell(e(_value(move.before)), figure=True),
                    Cell(f'<b class="f">{e(_value(move.after))}</b>', figure=True),
                    Cell(e("" if move.percent is None else f"{move.percent:+.0f} %"), figure=True),
                ]
                for move in changed
            ]
            heads: list[str | Cell] = ["Record", "Value", *(Cell(word, figure=True) for word in ("Was", "Is", "By"))]
            parts.append(table(because or "Moved", heads, rows))
    parts.append(f'<p class="n">{found.words} texts for people changed as well.</p>')
    return section(f"{len(found.moved)} values moved or new", "moved", "".join(parts))


def _record(dataset: Dataset, name: str) -> str:
    kind, record_id = name.split("/")
    record = getattr(dataset, kind).get(record_id)
    if record is None or kind not in FOLDERS:
        return e(record.name if record is not None else name)
    return link(f"../{FOLDERS[kind]}/{record_id}.html", record.name)


def _value(value: float | str | bool | None) -> str:
    if value is None:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return number(value) if isinstance(value, float) else str(value)
