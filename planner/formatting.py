"""Canonical form of a record's text: one layout, fields in the order of the model, comments where they were.

Two steps: a library that keeps comments lays the text out anew, then blocks of lines are put in order, each with the
comments above it. What a reader takes from the file is the same before and after: `commands` prove it before writing.
"""

import io
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, get_args

from pydantic import BaseModel
from ruamel.yaml import YAML

from planner.loading import Located
from planner.records import RECORD_KINDS, Rates

__all__ = ["canonical"]

WIDEST = 4096  # a line is never folded: a text may be as long as its field allows
# Fields that stand elsewhere in a file than in the model: where numbers come from stands last.
FIRST, LAST = ("name", "formerly", "also_called", "notes"), ("sources",)
TEXT_BELOW = re.compile(r"^[^#]*:\s+[|>][-+0-9]*\s*(#.*)?$")
KEY = re.compile(r"^( *)([A-Za-z0-9_.'\"-]+):(?: |$)")


def canonical(text: str, kind: str, located: Located) -> str:
    """Return a file's text in canonical form.

    `kind` is the folder of the record, or the name of a single file such as `rates.yaml`; `located` is what our own
    reader takes from the text, which has to be free of faults.
    """
    laid_out = _laid_out(text.replace("\r\n", "\n").removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}"))
    model = Rates if kind == "rates.yaml" else RECORD_KINDS.get(kind)
    if model is None:
        return laid_out
    lines = laid_out.split("\n")[:-1]
    order = ["based_on", *FIRST, *(name for name in model.model_fields if name not in (*FIRST, *LAST, "id")), *LAST]
    ranked = [path for path in _paths(located.data, model, ()) if path[0] != "sources"]
    head, body = _head(lines)
    return "\n".join([*head, *_in_order(body, 0, order, model, ranked)]) + "\n"


def _laid_out(text: str) -> str:
    layout = YAML(typ="rt")
    layout.preserve_quotes = True
    layout.width = WIDEST
    layout.brace_single_entry_mapping_in_flow_sequence = True
    layout.indent(mapping=2, sequence=4, offset=2)
    out = io.StringIO()
    layout.dump(layout.load(text), out)
    found = out.getvalue()
    if _own_comments(found) != _own_comments(text):
        found = text  # the library loses a comment between two short items of a list: then the lines stay as written
    return "".join(f"{line}\n" for line in _comments_beside(list(_without_blanks(found.splitlines()))))


def _own_comments(text: str) -> Counter[str]:
    """Return the comments that stand on a line of their own."""
    return Counter(line.strip() for line in text.splitlines() if line.lstrip().startswith("#"))


def _without_blanks(lines: Sequence[str]) -> Iterator[str]:
    """Yield the lines that say something, without what trails them; a text over several lines stays as it is."""
    inside: int | None = None  # indentation of the key whose text these lines are
    for line in lines:
        if inside is not None and (not line.strip() or _indent(line) > inside):
            yield line
            continue
        inside = _indent(line) if TEXT_BELOW.search(line) else None
        if line.strip():
            yield line.rstrip()


def _comments_beside(lines: Sequence[str]) -> Iterator[str]:
    """Yield the lines; a comment that stands further in than what is above and below it moves to what is below."""
    inside: int | None = None
    for place, line in enumerate(lines):
        if inside is not None and (not line.strip() or _indent(line) > inside):
            yield line
            continue
        inside = _indent(line) if TEXT_BELOW.search(line) else None
        if line.lstrip().startswith("#"):
            below = _next_said(lines[place + 1 :])
            above = _next_said(lines[:place][::-1])
            if below and _indent(line) > max(_indent(above), _indent(below)):
                yield " " * _indent(below) + line.lstrip()
                continue
        yield line


def _next_said(lines: Sequence[str]) -> str:
    """Return the first line that is no comment, empty where there is none."""
    return next((line for line in lines if line.strip() and not line.lstrip().startswith("#")), "")


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip())


def _head(lines: Sequence[str]) -> tuple[list[str], list[str]]:
    """Part the comments on top of a file, which belong to the whole of it, from the rest."""
    count = 0
    while count < len(lines) and lines[count].startswith("#"):
        count += 1
    return list(lines[:count]), list(lines[count:])


def _in_order(
    lines: Sequence[str], indent: int, order: Sequence[str], model: type[BaseModel] | None, ranked: Sequence[Any]
) -> list[str]:
    """Return the lines of a mapping, its blocks in order: a key, what is below it, and the comments above it."""
    blocks: list[tuple[str, list[str]]] = []
    above: list[str] = []
    for line in lines:
        found = KEY.match(line)
        if found is not None and len(found[1]) == indent:
            blocks.append((found[2].strip("'\""), [*above, line]))
            above = []
        elif line.lstrip().startswith("#") and _indent(line) <= indent:
            above.append(line)
        elif blocks:
            blocks[-1][1].extend([*above, line])
            above = []
        else:
            above.append(line)
    places = {name: place for place, name in enumerate(order)}
    blocks.sort(key=lambda block: places.get(block[0], len(places)))
    result: list[str] = []
    for name, block in blocks:
        result += _inside(name, block, indent, model, ranked)
    return [*result, *above]


def _inside(
    name: str, block: Sequence[str], indent: int, model: type[BaseModel] | None, ranked: Sequence[Any]
) -> list[str]:
    """Return a block with the mapping below its key in order as well; the items of a list stay as they are."""
    start = next(place for place, line in enumerate(block) if (found := KEY.match(line)) and len(found[1]) == indent)
    head, below = list(block[: start + 1]), list(block[start + 1 :])
    first = next((line for line in below if not line.lstrip().startswith("#")), None)
    if first is None or first.lstrip().startswith("- ") or KEY.match(first) is None:
        return [*head, *below]
    deeper = _indent(first)
    if name == "sources" and indent == 0:
        keys = [found[2] for line in below if (found := KEY.match(line)) and len(found[1]) == deeper]
        return [*head, *_in_order(below, deeper, sorted(keys, key=lambda key: _rank(key, ranked)), None, ranked)]
    keys = [found[2] for line in below if (found := KEY.match(line)) and len(found[1]) == deeper]
    inner = _model_of(model, name, keys)
    fields = list(inner.model_fields) if inner is not None else []
    return [*head, *_in_order(below, deeper, _kind_first(fields), inner, ranked)]


def _kind_first(fields: Sequence[str]) -> list[str]:
    """What a source is comes before what it has."""
    return sorted(fields, key=lambda name: name != "kind")


def _rank(key: str, ranked: Sequence[tuple[str, ...]]) -> int:
    """Return the place of the first field that a path of `sources` covers."""
    steps = tuple(key.split("."))
    return next((place for place, path in enumerate(ranked) if path[: len(steps)] == steps), len(ranked))


def _paths(data: object, model: type[BaseModel] | None, path: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Yield the path of every value, in canonical order."""
    if isinstance(data, Mapping):
        fields = _kind_first(list(model.model_fields)) if model is not None else []
        places = {name: place for place, name in enumerate(fields)}
        for name in sorted(data, key=lambda key: places.get(key, len(places))):
            yield from _paths(data[name], _model_of(model, name, list(_keys(data[name]))), (*path, name))
    elif isinstance(data, tuple):
        yield path
        for index, item in enumerate(data):
            yield from _paths(item, None, (*path, str(index)))
    else:
        yield path


def _keys(value: object) -> Iterator[str]:
    yield from value if isinstance(value, Mapping) else ()


def _model_of(model: type[BaseModel] | None, name: str, keys: Sequence[str]) -> type[BaseModel] | None:
    """Return the record below a field: of several that it may be, the first that has all of these keys."""
    if model is None or name not in model.model_fields:
        return None
    return next(
        (found for found in _models(model.model_fields[name].annotation) if set(keys) <= set(found.model_fields)), None
    )


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from _models(part)
