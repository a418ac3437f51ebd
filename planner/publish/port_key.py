"""The key to the ports: a few questions on what is seen, made from the faces; each way of answering leads to one port.

As in a key to plants: only what can be seen is asked, and a question is asked only where it tells some ports from
others. A port that a crew adds falls into its place by its face; one without a face is told by its words.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from planner.records import Dataset, Face, Inlet

__all__ = ["QUESTIONS_AT_MOST", "Answer", "Question", "key_ways", "port_key", "questions"]

QUESTIONS_AT_MOST = 4


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """One answer to a question, and where it leads: to a port, or to the next question."""

    words: str
    leads_to: "Question | Inlet"


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """One question of the key. The last one on a way is answered by the words that tell ports apart."""

    text: str
    answers: tuple[Answer, ...]
    by_words: bool = False

    @property
    def inlets(self) -> tuple[Inlet, ...]:
        """Return every port that this question may still lead to."""
        found: list[Inlet] = []
        for answer in self.answers:
            found += answer.leads_to.inlets if isinstance(answer.leads_to, Question) else [answer.leads_to]
        return tuple(found)


@dataclass(frozen=True, slots=True)
class _Asked:
    """A question on what is seen: what a face answers, and the words of each answer in the order they are shown."""

    text: str
    of: Callable[[Face], str]
    answers: Mapping[str, str]


_NO_FACE = "no_face"
_ASKED = (
    _Asked(
        "Open every cap and rubber bung. What is there to plug into?",
        lambda face: (
            "cord" if face.seen.outline == "plug_on_a_cord" else "joined" if face.seen.joined_below else "plain"
        ),
        {
            "cord": "A cord that stays with the vehicle, a plug on its free end; or a cup behind a flap with three "
            "bare blades or pins, no more",
            "plain": "One shape only, whatever is inside it. Two sockets beside one another: go through this once "
            "for each",
            "joined": "Two shapes in one piece: joined on below the upper one, a block with two large openings",
            _NO_FACE: "None of these, or it cannot be told",
        },
    ),
    _Asked(
        "What outline has it, or its upper shape? A small tab or notch for the catch does not count",
        lambda face: face.seen.outline,
        {
            "round": "A circle, round all the way",
            "flat_top": "A circle cut straight across, along much of its top. On a heavy truck or bus of this "
            "continent read its plate first",
            "shield": "No circle: small, straight on top, drawing in to a narrow foot",
            "plug_on_a_cord": "A plug on a cord",
        },
    ),
    _Asked(
        "How wide is its outer rim? Hold a quarter beside it, not in it",
        lambda face: "three" if face.seen.wide else "two",
        {
            "two": "About two quarters: a golf ball, an egg. Only three contacts in it: back to 1",
            "three": "About three quarters: the top of a coffee mug, a jar lid",
        },
    ),
    _Asked(
        "Shine a light in, put nothing in. What is inside?",
        lambda face: face.metal,
        {
            "pins": "A metal pin or peg in the middle of each opening",
            "holes": "A level, solid face with empty holes",
            "openings": "It cannot be told",
        },
    ),
)
_BY_WORDS = "Which of these is it?"


def port_key(dataset: Dataset) -> Question | None:
    """Return the first question of the key; None where there are not two ports to tell apart."""
    inlets = tuple(dataset.inlets.values())
    return _ask(dataset, inlets, _ASKED, QUESTIONS_AT_MOST) if len(inlets) > 1 else None


def _ask(dataset: Dataset, inlets: Sequence[Inlet], asked: Sequence[_Asked], left: int) -> Question:
    """Return the question that tells these ports apart, the first that does; the last one is by words."""
    for at, question in enumerate(asked if left > 1 else ()):
        groups: dict[str, list[Inlet]] = {}
        for inlet in inlets:
            face = dataset.faces.get(inlet.id)
            groups.setdefault(_NO_FACE if face is None else question.of(face), []).append(inlet)
        if len(groups) > 1:
            return Question(
                question.text,
                tuple(
                    Answer(words, _lead(dataset, groups[key], asked[at + 1 :], left - 1))
                    for key, words in question.answers.items()
                    if key in groups
                ),
            )
    return Question(_BY_WORDS, tuple(Answer(inlet.tell_apart, inlet) for inlet in inlets), by_words=True)


def _lead(dataset: Dataset, inlets: Sequence[Inlet], asked: Sequence[_Asked], left: int) -> Question | Inlet:
    return inlets[0] if len(inlets) == 1 else _ask(dataset, inlets, asked, left)


def questions(first: Question) -> list[Question]:
    """Return the questions in the order that they are numbered: those that stand nearer to the first before others."""
    found = [first]
    for question in found:
        found += [answer.leads_to for answer in question.answers if isinstance(answer.leads_to, Question)]
    return found


def key_ways(first: Question) -> Iterator[tuple[tuple[Answer, ...], Inlet]]:
    """Yield every way through the key: the answers given, and the port that they lead to."""
    for answer in first.answers:
        if isinstance(answer.leads_to, Question):
            yield from (((answer, *way), inlet) for way, inlet in key_ways(answer.leads_to))
        else:
            yield (answer,), answer.leads_to
