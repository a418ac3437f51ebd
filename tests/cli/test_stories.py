"""Twelve invented calls, each played through `rangeferry call` with what a dispatcher answers from the caller's words."""

from pathlib import Path

import pytest
import yaml

from planner.call_commands import call_command
from planner.call_file import blank_options

HERE = Path(__file__).parent
STORIES = yaml.safe_load((HERE / "stories.yaml").read_text(encoding="utf-8"))
ANSWERS = {
    found["name"]: found for found in yaml.safe_load((HERE / "stories_answers.yaml").read_text(encoding="utf-8"))
}
VERDICTS = {
    "served": ("SERVE: ", "YES, AFTER A CHANGE: "),
    "tried": ("TRY: ",),
    "asked": ("ASK FIRST: ",),
    "refused": ("CANNOT SERVE: ",),
}
LONGEST_MESSAGE = 480
MOST_QUESTIONS = 18  # of the longest story, with all that it is asked again


def play(story):
    """Return the exit code, all that was shown, the message to the caller, the line of the verdict, and what is left."""
    options = blank_options()
    options.rig, options.script = story["rig"], False
    options.from_file = options.save = options.then = None
    left = list(ANSWERS[story["name"]]["answers"])
    shown, told = [], []

    def ask(prompt):
        shown.append(prompt)
        return left.pop(0) if left else None

    code = call_command(options, ask, told.append, shown.append)
    out = "".join(told)
    message = out.split("\n")[1] if out.startswith("Text message") else ""
    every = tuple(word for words in VERDICTS.values() for word in words)
    verdict = next(line for line in out.split("\n") if line.startswith(every))
    return code, shown, out, message, verdict, left


def test_every_story_has_its_answers():
    assert [story["name"] for story in STORIES] == list(ANSWERS)
    assert len(STORIES) == 12


def test_exactly_five_stories_are_to_be_refused_and_are():
    refused = [story["name"] for story in STORIES if play(story)[4].startswith("CANNOT SERVE: ")]

    assert refused == [story["name"] for story in STORIES if story["must"] == "refused"]
    assert len(refused) == 5


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story["name"])
def test_a_story_ends_in_what_the_crew_has_to_do(story):
    code, shown, out, _, verdict, left = play(story)

    assert verdict.startswith(VERDICTS[story["must"]])
    assert code == (0 if story["must"] == "served" else 1)
    assert left == []
    text = " ".join(("\n".join(shown) + out).split()).lower()
    assert ANSWERS[story["name"]]["code_words"].lower() in text


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story["name"])
def test_no_answer_of_a_story_is_refused_as_not_understood(story):
    _, shown, *_ = play(story)

    assert not [text for text in shown if text.startswith("Got ")]
    assert len([text for text in shown if text.endswith("> ")]) <= MOST_QUESTIONS


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story["name"])
def test_the_message_of_a_story_is_plain_short_and_asks_nobody_to_go_near_what_is_refused(story):
    message = play(story)[3]

    assert 0 < len(message) <= LONGEST_MESSAGE
    assert message.isascii()
    assert ("photo" in message) is (story["must"] != "refused")


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("dark after five weeks", "leave the car where it is"),
        ("iced charge door", "no kettle, no hot water, no screwdriver"),
        ("borrowed hybrid", "Please find out and tell us: Is there fuel in its tank?"),
        ("campground at night", "Please find out and tell us: Does whoever runs the place allow it now"),
        ("smell in the ditch", "call 911"),
        ("creek last week", "Please keep away from it"),
        ("staying in with the kids", "children too, to a warm place"),
        ("stopped on the pass road", "call 911 or the police"),
    ],
)
def test_the_message_of_a_story_fits_its_case(name, part):
    story = next(story for story in STORIES if story["name"] == name)

    assert part in play(story)[3]


def test_a_dark_car_is_not_asked_to_move_or_to_set_anything():
    story = next(story for story in STORIES if story["name"] == "dark after five weeks")
    message = play(story)[3]

    assert "moves" not in message
    assert "scheduled" not in message
    assert "dash" not in message
