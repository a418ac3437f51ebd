"""The canonical form: a fixed point, the same data before and after, every comment kept, in the order of the model."""

import random
from pathlib import Path

import pytest

from planner.cli import main
from planner.formatting import canonical
from planner.loading import SINGLE_FILES, read_yaml
from planner.records import RECORD_KINDS

DATA = Path(__file__).resolve().parents[2] / "vehicle_data"
RECORDS = [path for kind in RECORD_KINDS for path in sorted((DATA / kind).glob("*.yaml"))]
SINGLES = [DATA / name for name in SINGLE_FILES]
UNTIDY = """\
# Ours since spring.
battery:
    # read off the plate
    energy_usable_kwh: {low: 25,   typical: 32, high: 40}
    chemistry: nickel   # asked
name: "County van"
sources:
    battery: {basis: own unit}
based_on: small-cargo-van
"""
TIDY = """\
# Ours since spring.
based_on: small-cargo-van
name: "County van"
battery:
  # read off the plate
  energy_usable_kwh: {low: 25, typical: 32, high: 40}
  chemistry: nickel     # asked
sources:
  battery: {basis: own unit}
"""


def form(path):
    located = read_yaml(path, [])
    assert located is not None
    kind = path.name if path.name in SINGLE_FILES else path.parent.name
    return canonical(path.read_text(encoding="utf-8"), kind, located)


@pytest.mark.parametrize("path", [*RECORDS, *SINGLES], ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_every_shipped_file_is_canonical(path):
    assert form(path) == path.read_text(encoding="utf-8"), f"run: rangeferry format {path}"


@pytest.fixture
def untidy(tmp_path):
    path = tmp_path / "crew" / "vehicle_classes" / "county-van.yaml"
    path.parent.mkdir(parents=True)
    path.write_text(UNTIDY, encoding="utf-8")
    return path


def test_fields_take_the_order_of_the_model_with_the_comments_that_stand_above_them(untidy, capsys):
    assert main(["format", str(untidy)]) == 0
    assert untidy.read_text(encoding="utf-8") == TIDY
    assert capsys.readouterr().out == f"laid out: {untidy}\n0 of 1 as they should be\n"


def test_the_form_of_the_form_is_the_form(untidy):
    untidy.write_text(form(untidy), encoding="utf-8")

    assert form(untidy) == untidy.read_text(encoding="utf-8")


def test_what_is_read_stays_the_same(untidy):
    before = read_yaml(untidy, []).data
    untidy.write_text(form(untidy), encoding="utf-8")

    assert read_yaml(untidy, []).data == before


def test_check_names_what_differs_and_writes_nothing(untidy, capsys):
    assert main(["format", "--check", str(untidy)]) == 1
    assert untidy.read_text(encoding="utf-8") == UNTIDY
    assert capsys.readouterr().out == f"not canonical: {untidy}\n0 of 1 as they should be\n"


def test_a_file_with_a_fault_is_told_and_left_alone(untidy, capsys):
    faulty = UNTIDY + "name: again\n"
    untidy.write_text(faulty, encoding="utf-8")

    assert main(["format", str(untidy)]) == 3
    assert "each key once" in capsys.readouterr().err
    assert untidy.read_text(encoding="utf-8") == faulty


def test_a_file_that_is_no_record_is_refused(tmp_path, capsys):
    path = tmp_path / "notes.yaml"
    path.write_text("a: 1\n", encoding="utf-8")

    assert main(["format", str(path)]) == 2
    assert (
        f"rangeferry: FILE: expected a file in one of the folders {', '.join(RECORD_KINDS)}" in capsys.readouterr().err
    )


def test_line_ends_of_another_system_become_ours(untidy):
    untidy.write_bytes(UNTIDY.replace("\n", "\r\n").encode())

    assert "\r" not in form(untidy)


PLAIN = [path for path in RECORDS if "\n#" not in path.read_text(encoding="utf-8")]  # a comment goes with its block


@pytest.mark.parametrize("path", PLAIN[::7], ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_a_shuffled_record_comes_back_to_its_form(path, tmp_path):
    """The blocks of the first level turned round: the form does not depend on how a person wrote them down."""
    text = path.read_text(encoding="utf-8")
    head, *lines = text.splitlines(keepends=True)
    starts = [place for place, line in enumerate(lines) if line[0] not in " #-"]
    blocks = [lines[start:end] for start, end in zip(starts, [*starts[1:], len(lines)], strict=True)]
    turned = tmp_path / path.parent.name / path.name
    turned.parent.mkdir()
    turned.write_text(head + "".join(line for block in reversed(blocks) for line in block), encoding="utf-8")

    assert form(turned) == text


def commented(text, chance):
    """Return a record's text with comments and empty lines strewn in, and how many comments."""
    lines, count = [], 0
    for line in text.splitlines():
        if chance.random() < 0.08:
            lines.append(" " * chance.choice([0, 2, 4, 6, len(line) - len(line.lstrip())]) + f"# mark {count};")
            count += 1
        if chance.random() < 0.05:
            lines.append("")
        if chance.random() < 0.06 and line.strip() and not line.lstrip().startswith("#"):
            line += f"   # mark {count};"
            count += 1
        lines.append(line)
    return "\n".join(lines) + "\n", count


@pytest.mark.parametrize("seed", range(60))
def test_no_comment_and_no_value_is_lost_wherever_a_person_puts_it(seed, tmp_path):
    chance = random.Random(seed)
    path = chance.choice(RECORDS)
    text, count = commented(path.read_text(encoding="utf-8"), chance)
    file = tmp_path / path.parent.name / path.name
    file.parent.mkdir()
    file.write_text(text, encoding="utf-8")
    faults = []
    before = read_yaml(file, faults)
    if faults or before is None:
        return  # a comment fell into a text over several lines: no record any more, and left alone by the command
    file.write_text(form(file), encoding="utf-8")
    after = read_yaml(file, [])

    assert after.data == before.data
    told = file.read_text(encoding="utf-8")
    assert [mark for mark in range(count) if f"# mark {mark};" not in told] == []
    assert form(file) == told
