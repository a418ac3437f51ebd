"""Runs the dialogue of a call over whatever asks and tells: a terminal, a pipe, a test."""

from collections.abc import Callable

from planner.dialogue import State, prompt, reply

__all__ = ["run_dialogue"]

Ask = Callable[[str], str | None]  # shows a prompt, returns what was answered, None at the end of input
Tell = Callable[[str], None]


def run_dialogue(state: State, ask: Ask, tell: Tell, keep: Callable[[State], None] = lambda _: None) -> State:
    """Ask until nothing is left that can matter, or nobody answers; return where it ended.

    `keep` is given each state as it is reached, so that an interrupted call is not lost.
    """
    while (question := prompt(state)) is not None:
        answer = reply(state, ask(question))
        state = answer.state
        keep(state)
        if answer.say:
            tell(answer.say)
    return state
