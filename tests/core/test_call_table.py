"""Calls written by hand with the answer that a dispatcher ought to get, each with its source."""

from collections import Counter
from pathlib import Path

import pytest
import yaml

from planner.call_commands import answered
from planner.cli import _parser
from tests.make import shipped_dataset

ROWS = yaml.safe_load((Path(__file__).parent / "calls.yaml").read_text(encoding="utf-8"))
NO_SOURCE = {"common practice, no source", "from memory", "own-judgement", "own-derivation"}


def words(facts):
    """Return the words of a call as a dispatcher types them."""
    for name, value in facts.items():
        for each in value if isinstance(value, list) else [value]:
            yield f"--{name}={each}"


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"].replace(" ", "-"))
def test_call_has_the_verdict_and_the_sentence_written_for_it(row):
    options = _parser(plan_alone=True).parse_all(["plan", *words(row["facts"])])

    found = answered(options, print)
    decisive = found.ask.code if found.ask is not None else found.reasons[0].code
    spoken = " ".join([found.reasons[0].text, *([found.ask.question] if found.ask is not None else [])])

    assert (found.verdict, decisive) == (row["verdict"], row["code"]), spoken
    assert [part for part in row["says"] if part not in spoken] == [], spoken


def test_every_row_names_a_source_of_the_data():
    known = set(shipped_dataset().sources) | NO_SOURCE

    assert {row["source"] for row in ROWS} <= known


def test_the_rules_are_not_simply_no():
    verdicts = Counter(row["verdict"] for row in ROWS)

    assert len(ROWS) >= 60
    assert verdicts["serve"] + verdicts["serve_with_changes"] >= 12
    assert set(verdicts) == {"serve", "serve_with_changes", "try", "ask_first", "cannot_serve"}
