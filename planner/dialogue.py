"""The dialogue of a call: its questions in speaking order, what each answer means, and which need not be asked.

Pure: a `State` and what was said give the next `State` and what is said back. Answers are kept as the very texts of
the options of `rangeferry plan`, and what reads options reads them.
"""

import re
import textwrap
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import get_args

from planner.answer import Call
from planner.condition import RULES as CONDITION_RULES
from planner.condition import condition_rulings, in_order
from planner.envelope import KnownOfVehicle, matching
from planner.errors import QuantityError, nearest, printable, quoted
from planner.mating import has_one_certain_port, takes_ac
from planner.place import OPEN_PLACES, Place, Ruling, place_rulings
from planner.place import RULES as PLACE_RULES
from planner.reach import Side
from planner.records import BATTERY_WORDS, BODIES_SAID, BODY_SAID, Dataset, Rig, SiteOutletSource, VehicleClass

__all__ = [
    "LONGEST_MESSAGE",
    "QUESTIONS",
    "Choice",
    "Question",
    "Reply",
    "State",
    "Words",
    "asked_of_caller",
    "begin",
    "charger_question",
    "final_words",
    "keeps_away",
    "prompt",
    "refusals",
    "reply",
    "script",
    "text_message",
]

WIDTH = 84  # of a terminal beside a form, as in the plan's text
LONGEST_MESSAGE = 480  # three parts of a text message in plain letters
SHOWN_CLASSES = 8  # a longer list is no answer to "which of these"
LAST_YEAR = 9999  # of a class that is still built
HOURS_PER_DAY = 24
MOST_PORTS_NAMED = 3

Words = Mapping[str, str | tuple[str, ...]]  # by the names of the options, with underscores
Understand = Callable[[Words], Call]  # raises `QuantityError`: the reader of options

# What is remembered for the order of the questions alone, and is no word of a call.
_REMEMBERED = ("goal", "more", "slope")
_NEEDS = ("miles", "to", "kwh", "minutes", "home", "fast_charger")
_NOT_KNOWN = {"unknown", "not known", "not sure", "no idea", "dont know", "don't know", "cant tell", "can't tell"}
_DANGER_OPEN = ("danger_not_known", "traffic_not_known")
_WHY = ("?", "why", "help")
_YES = ("y", "yeah", "yep", "yup", "sure", "ok")
_NO = ("n", "nope", "nah")
_END = ("", "1", "no", "end", "ok", *_NO)
_SUBJECTS = {rule.code: rule.subject for rule in (*CONDITION_RULES, *PLACE_RULES)}
_NO_GOING_ON = ("danger", "traffic")
# What would have to become otherwise for a refusal to fall, by its code; else the vehicle or our truck is moved.
_OTHERWISE = {
    "no_permission": "allowed", "no_key": "found or fetched", "port_wet": "dried", "port_damaged": "looked at again",
    "cable_too_short": "moved nearer",
}  # fmt: skip
_ALWAYS_SAID_BACK = ("danger", "at", "vehicle", "start", "goal")


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer to choose: the word that is typed, how it is read aloud, what it sets, and what else people say."""

    word: str
    sets: Words
    spoken: str = ""
    also: tuple[str, ...] = ()

    @property
    def shown(self) -> str:
        """Return the word, with what it stands for where that is not plain."""
        return f"{self.word} ({self.spoken})" if self.spoken else self.word


@dataclass(frozen=True, slots=True)
class State:
    """Where a dialogue is: what was known before it, and each answer so far, in speaking order."""

    dataset: Dataset
    understand: Understand
    given: Words
    answers: tuple[tuple[str, Words], ...] = ()
    shown: tuple["Choice", ...] = ()  # the short list of the question that is asked: its numbers alone count
    denied: frozenset[str] = frozenset()  # the dangers that were ruled out one by one, until all are
    refused: Ruling | None = None  # said just now: the call ends, or something changes
    stopped: bool = False

    @property
    def words(self) -> dict[str, str | tuple[str, ...]]:
        """Return everything known so far."""
        known = dict(self.given)
        for _, words in self.answers:
            known |= words
        return known

    def word(self, name: str) -> str | None:
        """Return one word, None where it was not said."""
        found = self.words.get(name)
        return found if isinstance(found, str) else None

    @property
    def rig(self) -> Rig | None:
        """Return the rig, None where it was not said."""
        name = self.word("rig")
        return None if name is None else self.dataset.rig(name)

    @property
    def engine(self) -> bool:
        """Return whether an engine of ours may run there; any rig's while none was named."""
        rigs = self.dataset.rigs.values() if self.rig is None else (self.rig,)
        return any(rig.source.engine for rig in rigs)

    @property
    def vehicle(self) -> VehicleClass | None:
        """Return the class, None where it was not said."""
        name = self.word("vehicle")
        return None if name is None or name in self.dataset.splits else self.dataset.vehicle_class(name)

    @property
    def classes(self) -> tuple[VehicleClass, ...]:
        """Return the classes that it may be. Raises `QuantityError` where there is none."""
        if self.vehicle is not None:
            return (self.vehicle,)
        known = _known_of_vehicle(self.words)
        split = self.dataset.splits.get(self.word("vehicle") or "")
        if split is not None:
            known = replace(known, parted=split.id, among=split.into)
        return matching(self.dataset, known)


@dataclass(frozen=True, slots=True)
class Reply:
    """What an answer leads to: the next state, and what is said back."""

    state: State
    say: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """One question: as it is read aloud, why it is asked, what it sets, and when it can matter."""

    code: str
    text: str
    why: str
    sets: tuple[str, ...]
    choices: Callable[[State], tuple[Choice, ...]]
    form: str = ""  # what else is taken, in words
    free: Callable[[str, State], Words] | None = None
    several: bool = False
    numbered: bool = True  # false where a number is a figure: a dash that says 3 is not the third choice
    unknown: Words = field(default_factory=dict)  # what Enter sets
    matters: Callable[[State], bool] = lambda _: True
    when: str = ""  # for the printed script
    more: Callable[[State], tuple[str, ...]] = lambda _: ()  # what is added to the why, by what is known


def begin(dataset: Dataset, given: Words, understand: Understand) -> Reply:
    """Return a dialogue at its first question. Raises for words that cannot be read, as their options would."""
    known = dict(given)
    if "rig" not in known and len(dataset.rigs) == 1:
        known["rig"] = next(iter(dataset.rigs))
    state = State(dataset, understand, known)
    understand(_of_call(known))
    _ = (state.rig, state.classes)
    return _judged(state, "")


def prompt(state: State) -> str | None:
    """Return what is asked next, None where nothing is left to ask."""
    if state.stopped:
        return None
    if state.refused is not None:
        return f"{_way_on(state, state.refused)}\n> "
    question = _next(state)
    if question is None:
        return None
    # Asked again for what is open, the list was just seen.
    lines = [] if state.denied else _choice_lines(question, state)
    return "\n".join([question.text, *lines]) + "\n> "


def reply(state: State, said: str | None) -> Reply:
    """Return what an answer leads to; None is the end of what is said."""
    if said is None:
        return Reply(replace(state, stopped=True))
    text = " ".join(printable(said.strip()).split())
    word = text.lower().rstrip(".!")
    if word == "stop":
        return Reply(replace(state, stopped=True))
    if word == "back":
        return _back(state)
    if state.refused is not None:
        return _after_refusal(state, text)
    question = _next(state)
    if question is None:
        return Reply(replace(state, stopped=True))
    if word in _WHY:
        return Reply(state, _wrapped(" ".join([question.why, *question.more(state)])))
    return _answered(state, question, text)


def _answered(state: State, question: Question, text: str) -> Reply:
    """Take an answer to a question: what it means, or what is wrong with it."""
    word = text.lower().rstrip(".!")
    try:
        words = question.unknown if not word or word in _NOT_KNOWN else _read(question, text, state)
        answered = replace(state, answers=(*state.answers, (question.code, words)))
        answered.understand(_of_call(answered.words))
        _ = answered.classes
    except _Several as several:
        return Reply(replace(state, shown=several.choices), _wrapped(several.text))
    except _StillOpen as still:
        return Reply(replace(state, denied=still.denied), _wrapped(still.text))
    except QuantityError as error:
        return Reply(state, _complaint(error))
    answered = replace(answered, shown=(), denied=frozenset())
    return _judged(answered, _taken(question, answered, words, text))


def final_words(state: State) -> dict[str, str | tuple[str, ...]]:
    """Return the words of the call, as options would give them.

    What is known of a vehicle that leaves one class alone becomes that class: its plan tells more.
    """
    words = _of_call(state.words)
    if "vehicle" in words and "vehicle" not in state.given:
        return {name: value for name, value in words.items() if name not in ("body", "built", "battery", "fuel_door")}
    try:
        classes = state.classes
    except QuantityError:
        return words
    # One class alone because nothing else is on record is no knowledge.
    if state.vehicle is None and len(classes) == 1 and len(state.dataset.vehicle_classes) > 1:
        words = {name: value for name, value in words.items() if name not in ("body", "built", "battery", "fuel_door")}
        words["vehicle"] = classes[0].id
    return words


def refusals(state: State) -> tuple[Ruling, ...]:
    """Return what refuses the call already, the deciding one first: danger, traffic, place, key, port, reach."""
    return tuple(ruling for ruling in _rulings(state) if ruling.level == "refuse")


def keeps_away(state: State) -> Ruling | None:
    """Return what nobody is asked to go to the vehicle for: a refusal, or a danger that is not ruled out."""
    found = _rulings(state)
    return next((ruling for ruling in found if ruling.level == "refuse" or ruling.code in _DANGER_OPEN), None)


def _rulings(state: State) -> tuple[Ruling, ...]:
    call = state.understand(_of_call(state.words))
    found: list[Ruling] = []
    if call.place is not None:
        rigs = list(state.dataset.rigs.values()) if state.rig is None else [state.rig]
        cables = [one.evse.cable.length_m for rig in rigs for one in rig.by_cable]
        found += place_rulings(
            call.place,
            # An engine refuses where it runs for sure: another rig may have none.
            engine=state.rig is not None and state.engine,
            vehicle=state.classes[0],
            port=None,
            cable_length_m=max(cables, default=None),
        )
    if call.condition is not None:
        found += condition_rulings(call.condition, dash_dead=False, start_percent=100, parked_h=call.parked_h)
    return in_order(found)


# ------------------------------------------------------------------------------------------------- from answer to words


class _Several(Exception):  # noqa: N818 - no error: words that suit several answers, which are asked about
    def __init__(self, text: str, choices: tuple[Choice, ...]) -> None:
        self.text = text
        self.choices = choices


class _StillOpen(Exception):  # noqa: N818 - no error: a part of the answer, the rest of which is asked for
    def __init__(self, text: str, denied: frozenset[str]) -> None:
        self.text = text
        self.denied = denied


def _of_call(words: Words) -> dict[str, str | tuple[str, ...]]:
    return {name: value for name, value in words.items() if name not in _REMEMBERED}


def _known_of_vehicle(words: Words) -> KnownOfVehicle:
    port, body, built, battery = (
        value if isinstance(value := words.get(name), str) else None for name in ("port", "body", "built", "battery")
    )
    year = int(built) if built is not None and built.isdecimal() else None
    fuel_door = {"yes": True, "no": False}.get(str(words.get("fuel_door")))
    return KnownOfVehicle(port, BODIES_SAID.get(body or "", body), year, battery, fuel_door)


def _next(state: State) -> Question | None:
    """Return the first question that has no answer and can matter."""
    known = state.words
    answered = {code for code, _ in state.answers}
    return next(
        (
            question
            for question in QUESTIONS
            if question.code not in answered
            and not any(name in known for name in question.sets)
            and question.matters(state)
        ),
        None,
    )


def _back(state: State) -> Reply:
    if not state.answers:
        return Reply(state, "This is the first question.")
    return Reply(replace(state, answers=state.answers[:-1], shown=(), denied=frozenset(), refused=None))


def _way_on(state: State, ruling: Ruling) -> str:
    """Return what is asked after a refusal: what could change it; nothing could after danger and in traffic."""
    if not state.answers:
        return "The call ends here: Enter."
    if _SUBJECTS[ruling.code] in _NO_GOING_ON:
        return "The call ends here: Enter. Or back, if the answer was another one."
    return f"Does that change if it is {_OTHERWISE.get(ruling.code, 'moved')}? Say what changes, or Enter to end."


def _after_refusal(state: State, text: str) -> Reply:
    """End the call, or take what changes as the new answer to the question that was answered last."""
    assert state.refused is not None
    word = text.lower().rstrip(".!")
    if word in _WHY:
        return Reply(state, "It is refused whatever else is said.")
    if word in _NOT_KNOWN or not word or _first_word(word) in _END:
        return Reply(replace(state, stopped=True))
    if _SUBJECTS[state.refused.code] in _NO_GOING_ON or not state.answers:
        return Reply(state, _wrapped(f"Got {quoted(text)}; expected Enter to end the call, or back."))
    before = _back(state).state
    if _first_word(word) in ("yes", *_YES):
        return Reply(before, "Then as it will be:")
    question = next(each for each in QUESTIONS if each.code == state.answers[-1][0])
    answered = _answered(before, question, text)
    if len(answered.state.answers) > len(before.answers) or answered.state.shown:
        return answered
    return Reply(state, answered.say)


def _judged(state: State, say: str) -> Reply:
    """Say a refusal as soon as it stands, with what to tell the caller."""
    now = refusals(state)
    state = replace(state, refused=now[0] if now else None)
    lines = [line for line in (say,) if line]
    for ruling in now:
        lines += [f"CANNOT SERVE: {ruling.text}", f"Tell the caller: {ruling.remedy}"]
    return Reply(state, "\n".join(_wrapped(line) for line in lines))


def _taken(question: Question, state: State, words: Words, text: str) -> str:
    """Say how an answer was taken: always where much hangs on it, else where it is not what was typed."""
    if state.vehicle is not None and "vehicle" in words:
        used = _used_words(text, state)
        by = f", by: {', '.join(used)}" if used else ""
        return f"Taken: {state.vehicle.name}{by}."
    taken = _said_back(question, state, words)
    typed = text.lower().rstrip(".!")
    plain = typed in {choice.word for choice in question.choices(state)} | set(map(str, words.values()))
    if not text and question.code not in _ALWAYS_SAID_BACK:
        taken = ""
    if question.code in ("charger-fits", "charger-open") and {"charger_fits", "charger_open"} <= set(state.words):
        still = charger_question(state.words)
        if still is not None:
            return f"To find out: {still}"
    lines = [f"Taken: {taken}."] if taken and (question.code in _ALWAYS_SAID_BACK or not plain) else []
    if question.sets[0] in _OF_VEHICLE and words and state.vehicle is None and len(state.classes) == 1:
        lines.append(f"That leaves one class: {state.classes[0].name}.")
    return " ".join(lines)


def _said_back(question: Question, state: State, words: Words) -> str:
    """Return what words mean, as a person says it."""
    if not words or all(value in ("unknown", ("unknown",)) for value in words.values()):
        return "not known"
    told = []
    for name, value in words.items():
        if name in ("more", "slope") and len(words) > 1:
            continue
        if name == "climb" and words.get("slope") == "down":
            told.append("downhill, no climb")
            continue
        texts = (value,) if isinstance(value, str) else value
        if name == "port":
            told += [state.dataset.inlets[text].name + _below(text) for text in texts]
            continue
        choice = next((each for each in question.choices(state) if each.sets.get(name) == value), None)
        if choice is not None:
            told.append((choice.spoken or choice.word) if choice.word in ("yes", "no", "beside") else choice.shown)
        else:
            named = name.replace("_", " ") if name in ("home", "fast_charger", "parked", "stand") else ""
            told += [f"{named} {text}".strip() for text in texts]
    return ", ".join(told)


def _first_word(text: str) -> str:
    """Return the first word of what was said, without its comma."""
    return re.split(r"[\s,;:.!]+", text, maxsplit=1)[0]


def _complaint(error: QuantityError) -> str:
    step = re.sub(r"--[a-z-]+ ", "", error.next_step)
    return _wrapped(f"Got {quoted(error.given)}; expected {error.expected}; {step}.")


def _read(question: Question, text: str, state: State) -> Words:
    choices = question.choices(state)
    if state.shown:
        found = _chosen(text, state.shown)
        if found is None and len(state.shown) == 1 and _first_word(text.lower()) in ("yes", *_YES):
            found = state.shown[0]
        if found is not None:
            return found.sets
        if text.isdecimal():
            raise _none_of(question, text, state.shown, form=f"a number from 1 to {len(state.shown)}")
    if question.several:
        return _read_several(question, text, choices, state)
    found = _chosen(text, choices) if question.numbered or not text.isdecimal() else None
    if found is None and {choice.word for choice in choices} == {"yes", "no"}:
        found = _by_first_word(text, choices)
        if found is not None and _contradicts(question.code, found.word, text):
            raise _none_of(question, text, choices)
    if found is not None:
        return found.sets
    if question.free is not None:
        return question.free(text, state)
    raise _none_of(question, text, choices)


# What makes a yes or a no less than one: it is asked again.
_HEDGES = re.compile(
    r"\b(but|except|though|unless|maybe|perhaps|might|guess|think|not sure|idea|clue|not know|problem|depends|probably|"
    r"and no|and yes|until|not yet|or no|or yes|hardly|barely|hope|almost|just about|however)\b"
)
_CLOSER_FT = 20  # what is asked of our engine


def _contradicts(code: str, word: str, text: str) -> bool:
    """Return whether the rest of a yes or no to a question of safety may say the opposite."""
    rest = _figures(_spelled_out(text))
    if code == "openings" and word == "no":
        return any(int(feet) < _CLOSER_FT for feet in re.findall(r"\b(\d{1,4}) ?(?:ft|feet|foot|')", rest))
    if code == "people" and word == "yes":
        inside = re.search(r"\b(?:car|vehicle|van|truck|suv|cab|inside|in it)\b", rest)
        away = re.search(r"\b(?:other|another|hers?|his|friend|nobody|no one|none|away|across|out|far)\b", rest)
        return inside is not None and away is None
    return code == "traffic" and word == "yes" and re.search(r"\b(?:lane|middle|in the road)\b", rest) is not None


def _by_first_word(text: str, choices: Sequence[Choice]) -> Choice | None:
    """Return what the first word of a sentence says: `no, in the lane`. None where the rest takes it back."""
    plain = _spelled_out(text)
    first, rest = _first_word(plain), re.split(r"[\s,;:.!]+", plain, maxsplit=1)[1:]
    if rest and _HEDGES.search(rest[0]):
        return None
    return next((choice for choice in choices if first in (choice.word, *choice.also)), None)


def _none_of(question: Question, text: str, choices: Sequence[Choice], form: str | None = None) -> QuantityError:
    words = [choice.word for choice in choices]
    near = nearest(text.lower(), words)
    form = question.form if form is None else form
    return QuantityError(
        name=question.code,
        given=text,
        expected=" or ".join([*([", ".join(words)] if words else []), *([form] if form else [])]),
        next_step=f"did you mean {near}?" if near else "say the number or the word, or ? for why",
    )


def _chosen(text: str, choices: Sequence[Choice]) -> Choice | None:
    """Return the choice that a number, a word, the beginning of one, or what else people say names."""
    plain = text.lower().rstrip(".!")
    if plain.isascii() and plain.isdecimal():
        number = int(plain[:4])
        return choices[number - 1] if 1 <= number <= len(choices) else None
    for choice in choices:
        if plain in (choice.word.lower(), choice.spoken.lower(), *choice.also):
            return choice
    starting = [choice for choice in choices if plain and choice.word.lower().startswith(plain)]
    return starting[0] if len(starting) == 1 else None


_DANGERS = ("crash", "water", "smoke", "warning")
# What is a sign of danger in what people say. Each stands for its kind where it is said; only the plain words rule
# their kind out where they are denied: `no damage` is no word about a crash, nor `no flames` about smoke.
_SIGNS: tuple[tuple[str, str], ...] = (
    ("smoke", r"(?:sharp|sweet|acrid|chemical) smells?|(?:warm|hot) floor|floor is (?:warm|hot)|stinks?|odou?r|fumes?|"
              r"hiss(?:es|ed|ing)?|pop(?:s|ped|ping)?|sizzl\w*|crackl\w*|burn(?:s|t|ed|ing)?|fire|flames?|sparks?|"
              r"melt(?:ed|ing)|scorched|steam(?:ing)?|vapou?r"),
    ("crash", r"(?:fell|fallen|came down|landed|dropped) on(?:to)?(?: top of)?(?= (?:it|me|us|him|her|my|our|the "
              r"(?:car|roof|hood|van|truck|trunk|windshield|vehicle|suv)))|airbags?|wreck(?:ed)?|ran into|ran over|"
              r"slid(?:e|ing)?|skid(?:ded)?|spun|ditch|roll(?:ed)? ?over|flipped|overturned|fender bender|rear ended|"
              r"t boned|bumped|dent(?:s|ed)?|damaged?|scraped|bent|went off the road|bottomed out|knocked"),
    ("water", r"stream|river|lake|pond|forded|fording|float(?:s|ed|ing)?|(?:door )?sills?|submerged|soaked|swamped|"
              r"drowned|deep puddle|creek"),
    ("warning", r"high voltage|overheat\w*|too hot|stop safely|pull over|do not drive|isolation|faults?|alerts?|"
                r"malfunction|battery (?:fault|failure|error|hot|malfunction|light|symbol|message)"),
)  # fmt: skip
_PLAIN_SIGNS = (
    ("smoke", r"smok(?:e|es|ed|ing|y)|smell(?:s|ed|ing|y)?|smelt"),
    ("crash", r"crash(?:ed|es|ing)?|accidents?|collisions?|collided|hits?|hitting|struck"),
    ("water", r"under ?water|waters?|flood\w*"),
    ("warning", r"warnings?|red"),
)
# A weak sign is one only if it is said with more; a light or a message that is denied is a warning that is.
_WEAK_SIGNS = (
    ("warning", r"lights?|lamps?|messages?|symbols?|chimes?|beep\w*"),
    ("smoke", r"noises?|sounds?|hot|warm"),
    ("crash", r"branch|tree|limb|rock|deer|moose|elk|fell|impact"),
    ("water", r"puddles?|rain|surf|tide"),
)
_MARKS = "+@~"  # of a sign, a plain sign and a weak one, before the number of its kind
# A low battery is why they call, and no warning of danger.
_HARMLESS = re.compile(
    r"\b(?:low (?:traction )?(?:battery|charge|range|fuel|tire pressure|washer fluid)"
    r"|(?:battery|charge|range) (?:is |was |got |too |very |getting )*low|empty battery|battery (?:is )?empty"
    r"|tire pressure|seat ?belt|washer fluid)(?: (?:warning|message|light|alert|lamp|symbol|indicator|one|only))*\b"
)
_NEGATIONS = frozenset({"no", "not", "never", "without", "nothing", "neither", "nor", "none"})
# Between a negation and its sign these change nothing: `not been in a crash`, `no sign of smoke`. Any other word may.
_PASSED = frozenset(
    ("a", "an", "any", "of", "the", "sign", "signs", "been", "in", "or", "nor", "get", "got", "had", "have", "has",
     "ever", "be", "was", "were", "is", "there", "into", "hint", "trace", "dash", "at", "all")
)  # fmt: skip
_NOT_AFTER_NO = frozenset({"the", "is", "was", "were", "be", "been", "there", "had", "have", "has", "get", "got"})
# After a denied sign these take the denial back: `not smoking any more`, `no smoke now`.
_TAKES_BACK = frozenset(
    ("anymore", "more", "longer", "now", "yet", "currently", "since", "much", "badly", "bad", "until", "again",
     "unless", "without", "today", "far", "speak", "moment", "really", "strong", "strongly", "very", "lately", "so",
     "too", "than", "see", "visible", "alarm")
)  # fmt: skip
_UNSURE = re.compile(
    r"\b(maybe|perhaps|might|may|guess|think|sure|know|dunno|could be|probably|possibly|hardly|barely|certain|doubt|"
    r"tell|slight|slightly|faint|a bit|a little|remember|hope|suppose|seems?)\b"
)
_ALL_DENIED = re.compile(
    r"no+|none|nope|nah|nothing|nothing (?:else|at all|wrong(?: with it)?|like that|of that|of the (?:kind|sort))"
    r"|none of (?:it|that|those|these|them)|nothing (?:has )?(?:ever )?happened(?: to it)?|not at all|no dangers?"
    r"|nothing like that(?: has)?(?: ever)? happened|nothing has ever been wrong with it"
)


@dataclass(frozen=True, slots=True)
class _Heard:
    """What a sentence says of danger."""

    found: tuple[str, ...]
    denied: frozenset[str]
    all_denied: bool
    unclear: bool


def _hear_dangers(text: str) -> _Heard:
    """Read a sentence about danger, clause by clause. What cannot be read safely is unclear, never a denial."""
    plain = _spelled_out(text)
    harmless = _HARMLESS.search(plain) is not None
    only_harmless = harmless and re.search(r"\b(only|just|apart from|except|other than|besides)\b", plain) is not None
    plain = _HARMLESS.sub(" ", plain)
    for mark, signs in zip(_MARKS, (_SIGNS, _PLAIN_SIGNS, _WEAK_SIGNS), strict=True):
        for kind, pattern in signs:
            plain = re.sub(rf"\b(?:{pattern})(?![a-z])", f" {mark}{_DANGERS.index(kind)} ", plain)
    pieces = re.split(
        r"([,;/&])|[.:!?()\"]|\bbut\b|\bexcept(?: for)?\b|\bapart from\b|\bother than\b|\bbesides\b|\bthough\b|"
        r"\bthen\b|\bjust\b|\bonly\b|\bhowever\b|\s-+\s",
        plain,
    )
    # A capture of the split: every second piece is what stands between two clauses, None for a full stop or a word.
    clauses = [re.findall(r"[+@~]?[a-z0-9]+", piece or "") for piece in pieces[::2]]
    in_list = [False, *(piece is not None for piece in pieces[1::2])]
    found: dict[str, None] = {}
    denied: set[str] = set()
    all_denied = unclear = False
    after_denial = False  # `no crash, water or smoke`: a bare list goes on with the denial, or does not
    for number, clause in enumerate(clauses):
        if not clause:
            continue
        if _ALL_DENIED.fullmatch(" ".join(clause)):
            # `smoke? no` and `none, smoke` say two things.
            all_denied = True
            continue
        kinds = [_heard_sign(clause, index) for index, token in enumerate(clause) if token[0] in _MARKS]
        bare = all(token[0] in _MARKS or token in {"or", "and", "a", "an", "any", "the"} for token in clause)
        if bare and after_denial and in_list[number]:
            rest = [token for other in clauses[number:] for token in other]
            goes_on = (
                "or" in rest and all(token[0] in _MARKS or token in _PASSED for token in rest) and "and" not in rest
            )
            kinds = [(kind, "denied" if goes_on else "unclear") for kind, _ in kinds]
        for kind, how in kinds:
            if how == "found":
                found[kind] = None
            elif how == "denied":
                denied.add(kind)
            elif how == "unclear":
                unclear = True
        after_denial = bool(kinds) and all(how in ("denied", "nothing") for _, how in kinds)
    if _UNSURE.search(plain):
        unclear = True
    if only_harmless and not (found or denied or unclear):
        all_denied = True
    in_order = tuple(kind for kind in _DANGERS if kind in found)
    return _Heard(in_order, frozenset(denied - set(found)), all_denied, unclear)


def _spelled_out(text: str) -> str:
    """Return text in plain letters, with `doesn't` as `does not`."""
    plain = text.lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")
    plain = re.sub(r"\b(ca|wo|do|does|did|is|was|has|have|are|were|had|could|would|ai)n'?t\b", r"\1 not", plain)
    plain = re.sub(r"\b(it|that|there|what|he|she)'s\b", r"\1 is", plain)
    return re.sub(r"(?<=[a-z])-(?=[a-z])", " ", plain)


def _heard_sign(clause: Sequence[str], index: int) -> tuple[str, str]:
    """Return the kind of one sign, and whether it is found, denied, unclear, or says nothing of its kind."""
    token = clause[index]
    before = index - 1
    while before >= 0 and (clause[before][0] in _MARKS or clause[before] in _PASSED):
        before -= 1
    # A negation that is passed over counts: `neither smoke nor water`.
    nearest_one = next((at for at in range(index - 1, before, -1) if clause[at] in _NEGATIONS), before)
    kind = _DANGERS[int(token[1:])]
    if nearest_one >= 0 and clause[nearest_one] in _NEGATIONS:
        twice = nearest_one > 0 and clause[nearest_one - 1] in _NEGATIONS
        # `no the crash was last week` answers with no, and denies no crash.
        answers = clause[nearest_one] == "no" and any(word in _NOT_AFTER_NO for word in clause[nearest_one + 1 : index])
        taken_back = any(word in _TAKES_BACK for word in clause[index + 1 :])
        if twice or answers or taken_back:
            return kind, "unclear"
        rules_out = token[0] == "@" or (token[0] == "~" and kind == "warning")
        return kind, "denied" if rules_out else "nothing"
    negated_before = any(word in _NEGATIONS for word in clause[:index])
    negated_at_end = clause[-1] in {"no", "not", "none", "never", "nope"}
    if negated_before or negated_at_end or token[0] == "~":
        return kind, "unclear"
    return kind, "found"


def _read_several(question: Question, text: str, choices: Sequence[Choice], state: State) -> Words:
    """Read one or several answers. A sentence with a sign of danger in it is that danger.

    A danger that is ruled out by itself leaves the others open: they are asked about until all are ruled out.
    """
    name = question.sets[0]
    whole = _chosen(text, choices)
    if whole is not None:
        return whole.sets
    parts = re.split(r"[\s,;+&/]+", text.lower())
    if all(part.isdecimal() or part in ("", "and") for part in parts):
        numbered = [_chosen(part, choices) for part in parts if part.isdecimal()]
        if not numbered or None in numbered or (len(numbered) > 1 and choices[0] in numbered):
            raise _none_of(question, text, choices)
        return {name: tuple(dict.fromkeys(item for one in numbered if one is not None for item in one.sets[name]))}
    heard = _hear_dangers(text)
    if heard.found and not heard.all_denied:
        return {name: heard.found}
    if heard.found or heard.unclear:
        raise QuantityError(
            name=name,
            given=text,
            expected="a clear yes or no of each: crash, water, smoke or smell, warning",
            next_step="say none, or name what there is or was",
        )
    denied = state.denied | heard.denied
    if heard.all_denied or denied >= set(_DANGERS):
        return {name: ("none",)}
    if heard.denied:
        words = {"crash": "no crash", "water": "no water", "smoke": "no smoke or smell", "warning": "no warning"}
        gone = ", ".join(words[kind] for kind in _DANGERS if kind in denied)
        left = [words[kind].removeprefix("no ") for kind in _DANGERS if kind not in denied]
        raise _StillOpen(f"Taken: {gone}. And any {' or '.join(left)}? Say none, or name it.", frozenset(denied))
    if _HARMLESS.search(_spelled_out(text)):
        raise _StillOpen("A low battery is no danger by itself. Any of these? Say none, or name it.", state.denied)
    raise _none_of(question, text, choices)


def _yes_no(name: str, yes: str, no: str, yes_words: str = "", no_words: str = "") -> tuple[Choice, ...]:
    return Choice("yes", {name: yes}, yes_words, _YES), Choice("no", {name: no}, no_words, _NO)


def _fixed(*choices: Choice) -> Callable[[State], tuple[Choice, ...]]:
    return lambda _: choices


def _text(name: str, tidy: Callable[[str], str] = str.strip) -> Callable[[str, State], Words]:
    """Return a reader that keeps what was said; the reader of options judges it."""
    return lambda text, _: {name: tidy(text)}


_FIGURES = {
    word: str(number)
    for number, word in enumerate(
        ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"), 1
    )
}
_ABOUT = re.compile(r"^(?:(?:about|around|roughly|maybe|some|like|it is|it's|only|at|for|since) )+")
OVERNIGHT_H = 10  # own-judgement: from evening to morning, or a day at work
BESIDE_FT, FEW_FT = 3, 5  # own-judgement: what people mean by "right next to it" and "a few feet"
_TIMES = {
    "an hour": "1h", "one hour": "1h", "half an hour": "30min", "a day": "24h", "a week": "168h", "an hour or so": "1h",
    "a couple of hours": "2h", "a few minutes": "5min", "all weekend": "48h", "just now": "0min",
} | dict.fromkeys(
    ("overnight", "over night", "all night", "the night", "since last night", "last night", "all day", "the day"),
    f"{OVERNIGHT_H}h",
)  # fmt: skip


def _figures(text: str) -> str:
    """Return text in small letters without `about`, its number in figures: `about six feet` is `6 feet`."""
    plain = _ABOUT.sub("", text.lower().rstrip(".!"))
    return re.sub(r"[a-z]+", lambda word: _FIGURES.get(word[0], word[0]), plain)


def _time(text: str) -> str:
    """Return a time as options take it: days become hours, and an hour has its number."""
    plain = _ABOUT.sub("", text.lower().rstrip(".!"))
    if plain in _TIMES:
        return _TIMES[plain]
    plain = _figures(plain)
    days = re.fullmatch(r"(\d{1,3}) ?(d|days?|weeks?)", plain)
    if days is not None:
        return f"{int(days[1]) * HOURS_PER_DAY * (7 if days[2].startswith('week') else 1)}h"
    return plain


def _feet(text: str) -> str:
    return re.sub(r"^(\d[\d,.]*) ?(?:'|foot|feet)$", r"\1ft", _figures(text))


def _degrees(text: str) -> str:
    """Return a temperature as options take it: degrees without a letter are Fahrenheit, as they are spoken there."""
    return re.sub(r" ?degrees?(?: ?(f|c)\w*)?$", lambda unit: (unit[1] or "f").upper(), _figures(text))


_BESIDE = (
    "right next to it",
    "next to it",
    "right beside it",
    "beside it",
    "right there",
    "right up to it",
    "right by it",
)


def _read_distance(text: str, state: State) -> Words:
    """Read how close our truck can come: feet, or the side where it can stand."""
    plain = text.lower().rstrip(".!")
    if any(phrase in plain for phrase in _BESIDE):
        return {"distance": f"{BESIDE_FT}ft"}
    if plain in ("a few feet", "few feet", "a couple of feet", "close", "a step"):
        return {"distance": f"{FEW_FT}ft"}
    side = _by_first_word(plain, _SIDES) if state.vehicle is not None else None
    return side.sets if side is not None else {"distance": _feet(text)}


_SIDES = (
    Choice("front", {"stand": "front"}, "", ("nose", "ahead")),
    Choice("behind", {"stand": "behind"}, "", ("rear", "tail", "back")),
    Choice("left", {"stand": "left"}, "the driver's left", ("driver",)),
    Choice("right", {"stand": "right"}, "", ("passenger",)),
)


def _close(state: State) -> tuple[Choice, ...]:
    """Return where our truck can stand; without a class a side tells nothing of its port."""
    beside = Choice("beside", {"distance": f"{BESIDE_FT}ft"}, "right next to the port", ("yes", *_YES))
    return (beside, *(_SIDES if state.vehicle is not None else ()))


# ------------------------------------------------------------------------------------------------------ rig and vehicle


def _rigs(state: State) -> tuple[Choice, ...]:
    return tuple(Choice(rig.id, {"rig": rig.id}, rig.name) for rig in state.dataset.rigs.values())


# own-judgement: what a caller can say of a port without a word of the trade.
_SHAPES = {
    "j1772": "round, five holes, nothing below",
    "ccs1": "round, five holes, two big ones under",
    "j3400": "slim or flat oval, five contacts, one slot for AC and DC",
    "chademo": "two ports: a big round one beside the small one",
    "type-2": "European: round, flat on top, seven holes",
    "ccs2": "European: seven holes, two big ones under",
    "gb-t-ac": "flat-topped round, seven empty holes in a solid face",
    "gb-t-dc": "big round, nine openings",
    "own-cord-5-15": "a cord of its own, household plug",
    "own-cord-l5-30": "a cord of its own, twist plug",
    "own-cord-iec-60309-16": "a cord of its own, round blue plug",
}


def _below(inlet: str) -> str:
    """Return what to say after the name of a port that another one looks like under its cap."""
    return ", nothing below it (look for a second cap)" if inlet == "j1772" else ""


def _ports(state: State) -> tuple[Choice, ...]:
    """Return the ports that tell its classes apart, by their shape; of one class those that take AC."""
    inlets = dict.fromkeys(
        port.inlet
        for vehicle in state.classes
        for port in vehicle.ports
        if state.vehicle is None or takes_ac(state.dataset, vehicle, port.inlet)
    )
    records = state.dataset.inlets
    return tuple(
        Choice(inlet, _sets_port(inlet, state), _SHAPES.get(inlet, records[inlet].name), records[inlet].also_called)
        for inlet in inlets
    )


def _sets_port(inlet: str, state: State) -> Words:
    """Return the words of a port. One that takes DC only tells the class: what is charged by is the port beside it."""
    having = [vehicle for vehicle in state.classes if vehicle.port(inlet) is not None]
    if state.dataset.inlets[inlet].ac is None and len(having) == 1 and state.vehicle is None:
        return {"vehicle": having[0].id}
    return {"port": inlet}


def _read_port(text: str, state: State) -> Words:
    """Read a port by its shape: `round with five holes, two fat ones under it`."""
    choices = {choice.word: choice for choice in _ports(state)}
    plain = _spelled_out(text)
    said = [
        (inlet, words)
        for inlet, choice in choices.items()
        for words in (*choice.also, state.dataset.inlets[inlet].name, inlet)
        if re.search(rf"\b{re.escape(words.lower().replace('-', ' '))}\b", plain.replace("-", " "))
    ]
    found = _by_shape(plain)
    if found is None and said:
        longest = max(len(words) for _, words in said)
        named = dict.fromkeys(inlet for inlet, words in said if len(words) == longest)
        found = next(iter(named)) if len(named) == 1 else None
    if found in choices:
        return choices[found].sets
    raise QuantityError(
        name="port",
        given=text,
        expected=", ".join(choice.shown for choice in choices.values()),
        next_step="say the number, the shape or the name; a photo of the open flap tells",
    )


def _by_shape(plain: str) -> str | None:
    """Return the port that a shape is of, None where it is of none or of several."""
    big = r"(?:two|2|a pair of)(?: \w+)? ?(?:big|bigger|large|larger|fat|fatter|huge)"
    below = re.search(
        rf"{big}\b.*\b(?:below|under\w*|beneath|lower|bottom)|\b(?:below|under\w*|beneath)\b.*{big}", plain
    )
    denied = re.search(
        r"\b(?:no|not|without|nothing)\b[^,.;]*\b(?:below|under\w*|beneath|big|bigger|large|fat)\b", plain
    )
    seven = re.search(r"\b(?:seven|7)\b", plain)
    five = re.search(r"\b(?:five|5)\b", plain)
    slim = re.search(r"\b(?:slim|flat oval|oval|egg|narrow|shield|smallest|slender)\b", plain)
    slim = slim or re.search(r"\b(?:two|2) (?:big|large)\w* (?:\w+ )?(?:and|with) (?:three|3) (?:little|small)", plain)
    if re.search(r"\b(?:two|2) (?:charge )?(?:ports|plugs|doors|lids|inlets|sockets)\b|chademo", plain):
        return "chademo"
    if slim:
        return None if seven or "round" in plain else "j3400"
    if seven and five:
        return None
    if below and not denied:
        return "ccs2" if seven else "ccs1" if five or "round" in plain else None
    if seven:
        return "type-2" if not re.search(r"empty|solid", plain) else "gb-t-ac"
    return "j1772" if five and not re.search(big, plain) else None


def _port_matters(state: State) -> bool:
    if state.vehicle is not None:
        return not has_one_certain_port(state.dataset, state.vehicle) and len(_ports(state)) > 1
    return len(state.classes) > 1 and len(_ports(state)) > 1


def _bodies(state: State) -> tuple[Choice, ...]:
    bodies = dict.fromkeys(BODY_SAID.get(vehicle.body, vehicle.body) for vehicle in state.classes)
    return tuple(Choice(body, {"body": body}) for body in bodies)


def _tells_apart(name: str, values: Callable[[State], Iterable[str]]) -> Callable[[State], bool]:
    """Return whether a word would leave fewer classes for some of its values."""

    def matters(state: State) -> bool:
        if state.vehicle is not None or len(state.classes) < 2:
            return False
        for value in values(state):
            try:
                left = replace(state, given={**state.given, name: value}).classes
            except QuantityError:
                return True
            if len(left) < len(state.classes):
                return True
        return False

    return matters


def _years(state: State) -> Iterator[str]:
    for vehicle in state.classes:
        yield str(vehicle.built_from)
        yield from (str(vehicle.built_to),) if vehicle.built_to is not None else ()


_FILLING = frozenset(
    {
        "a",
        "an",
        "the",
        "i",
        "my",
        "we",
        "for",
        "to",
        "it",
        "its",
        "is",
        "with",
        "and",
        "or",
        "of",
        "one",
        "some",
        "kind",
        "no",
        "not",
        "yes",
        "dont",
    }
    | {
        "know",
        "car",
        "electric",
        "ev",
        "vehicle",
        "miles",
        "mile",
        "percent",
        "about",
        "size",
        "think",
        "in",
        "on",
        "at",
        "around",
        "here",
        "there",
        "this",
        "that",
        "built",
    }
)
_SAME_WORD = {
    "hatchback": "hatch",
    "small": "compact",
    "little": "compact",
    "tiny": "micro",
    "big": "large",
    "huge": "large",
    "medium": "midsize",
    "bike": "motorcycle",
    "motorbike": "motorcycle",
    "phev": "hybrid",
    "plugin": "plug",
    "old": "older",
    "vans": "van",
    "delivery": "step",
    "foreign": "imported",
}


def _read_vehicle(text: str, state: State) -> Words:
    """Read a class: its id, its number in the list, or words that it is found by."""
    records = state.dataset.vehicle_classes
    plain = text.lower().strip(" .!")
    listed = tuple(records.values())
    if plain in ("list", "all"):
        raise _Several("All of them:", _class_choices(listed))
    if plain.isascii() and plain.isdecimal():
        if 1 <= int(plain[:5]) <= len(listed):
            return {"vehicle": listed[int(plain[:5]) - 1].id}
        raise QuantityError(
            name="vehicle",
            given=text,
            expected=f"a number from 1 to {len(listed)}",
            next_step="say list to see them, or words such as small hatch",
        )
    named = _by_name(plain, listed)
    if named is not None:
        return {"vehicle": named.id}
    split = state.dataset.splits.get(plain)
    if split is not None:
        raise _Several(
            f"{split.name} was parted. Which of these?", _class_choices([records[one] for one in split.into])
        )
    found, used, sure = _by_words(plain, listed)
    if len(found) == 1 and sure:
        return {"vehicle": found[0].id}
    if not found:
        raise QuantityError(
            name="vehicle",
            given=text,
            expected="a class, or words that one is found by",
            next_step="say list to see them all, words such as small hatch, or Enter and go by what is seen",
        )
    shown = found[:SHOWN_CLASSES]
    more = "" if len(shown) == len(found) else f" {len(found) - len(shown)} more suit: say another word of it."
    which = "Which of these?" if len(shown) > 1 else "Is it this one? Enter if not."
    raise _Several(f"By: {', '.join(used)}. {which}{more}", _class_choices(shown))


def _by_name(plain: str, classes: Sequence[VehicleClass]) -> VehicleClass | None:
    """Return the class whose id or name this is, with or without its ports."""
    wanted = re.sub(r"[^a-z0-9]+", " ", re.sub(r"^(?:an?|the|it is an?|it's an?) ", "", plain)).strip()
    for vehicle in classes:
        names = (vehicle.id, vehicle.name.lower(), vehicle.name.lower().partition(",")[0], *vehicle.formerly)
        if wanted in {re.sub(r"[^a-z0-9]+", " ", name).strip() for name in names}:
            return vehicle
    return None


def _bags(classes: Sequence[VehicleClass]) -> tuple[dict[str, set[str]], dict[str, set[str]]]:
    """Return the words of each class: those of its name, and those that it is recognized by as well."""
    named = {vehicle.id: f"{vehicle.id} {vehicle.name} {vehicle.body} {vehicle.size or ''}" for vehicle in classes}
    seen = {vehicle.id: f"{named[vehicle.id]} {vehicle.summary} {' '.join(vehicle.also_called)}" for vehicle in classes}
    return tuple(  # type: ignore[return-value]
        {name: set(re.findall(r"[a-z0-9]+", text.lower())) for name, text in told.items()} for told in (named, seen)
    )


def _known_words(text: str, classes: Sequence[VehicleClass]) -> dict[tuple[str, ...], str]:
    """Return the words that some class is found by, each with the word as it was said; all others are ignored.

    A word that means the same as another is found by both: some small cars are called small, others compact.
    """
    _, seen = _bags(classes)
    every = set().union(*seen.values())
    found: dict[tuple[str, ...], str] = {}
    for said in re.findall(r"[a-z0-9]+", text.lower()):
        words = tuple(sorted({said, _SAME_WORD.get(said, said)}))
        if said not in _FILLING and not said.isdecimal() and any(inner.startswith(words) for inner in every):
            found.setdefault(words, said)
    return found


def _used_words(text: str, state: State) -> tuple[str, ...]:
    """Return the words that a class was found by, as they were said; none where it was named or chosen by number."""
    classes = tuple(state.dataset.vehicle_classes.values())
    if text.isdecimal() or _by_name(text.lower().strip(" .!"), classes) is not None:
        return ()
    return tuple(_known_words(text, classes).values())


def _by_words(text: str, classes: Sequence[VehicleClass]) -> tuple[tuple[VehicleClass, ...], tuple[str, ...], bool]:
    """Return the classes that most of the words suit, those words, and whether all words suit.

    Those by name first, then those by how they are recognized. A year leaves out what was not built then.
    """
    known = _known_words(text, classes)
    if not known:
        return (), (), False
    named, seen = _bags(classes)

    def suits(bags: Mapping[str, set[str]], vehicle: VehicleClass) -> int:
        return sum(any(inner.startswith(words) for inner in bags[vehicle.id]) for words in known)

    found: tuple[VehicleClass, ...] = ()
    for bags in (named, seen):
        wholly = (vehicle for vehicle in classes if suits(bags, vehicle) == len(known))
        found += tuple(vehicle for vehicle in wholly if vehicle not in found)
    sure = bool(found)
    if not found:
        most = max(suits(seen, vehicle) for vehicle in classes)
        found = tuple(vehicle for vehicle in classes if suits(seen, vehicle) == most)
    # What was sold here is likelier than what was brought in; the order is else that of the list.
    found = tuple(sorted(found, key=lambda vehicle: vehicle.imported))
    used = tuple(known.values())
    year = re.search(r"\b(?:19|20)\d\d\b", text)
    if year is not None and len(found) > 1:
        # own-judgement: a year that is not certain may be off by one.
        built = int(year[0])
        of_year = tuple(
            vehicle for vehicle in found if vehicle.built_from - 1 <= built <= (vehicle.built_to or LAST_YEAR) + 1
        )
        if of_year and len(of_year) < len(found):
            return of_year, (*used, year[0]), sure
    return found, used, sure


def _class_choices(classes: Iterable[VehicleClass]) -> tuple[Choice, ...]:
    return tuple(Choice(vehicle.id, {"vehicle": vehicle.id}, vehicle.name) for vehicle in classes)


def _class_lines(classes: Iterable[VehicleClass]) -> str:
    return "\n".join(f"  {number} {vehicle.name}" for number, vehicle in enumerate(classes, 1))


_OF_VEHICLE = ("port", "fuel_door", "body", "built", "battery")


# ------------------------------------------------------------------------------------------------------ where it stands

_PLACES = (
    Choice("open-lot", {"at": "open-lot"}, "nothing above, no walls"),
    Choice("driveway", {"at": "driveway"}),
    Choice("street", {"at": "street"}, "parked at the curb"),
    Choice("shoulder", {"at": "shoulder"}, "beside a fast road"),
    Choice("open-ramp", {"at": "open-ramp"}, "open-sided parking deck, another deck above"),
    Choice("garage", {"at": "garage"}, "any closed room, its door open or not"),
    Choice("car-port", {"at": "car-port"}, "any roof with open sides"),
    Choice("underground", {"at": "underground"}),
)
_PARKING = ("open-ramp", "garage", "underground", "open-lot")
# What people say, and where that may be. More than one: it is asked which, since an exhaust tells them apart.
_SAID_OF_PLACES: dict[tuple[str, ...], tuple[str, ...]] = {
    ("open-lot",): (
        "parking lot", "car park lot", "lot", "campground", "campsite", "camp site", "camp", "rest area", "rest stop",
        "in the open", "truck stop", "field", "fairground", "fairgrounds", "trailhead", "open lot", "outside", "fair",
        "roof level", "top level", "rooftop", "top deck", "park and ride", "meadow", "beach", "plaza", "land",
        "scenic pull out", "scenic pullout", "scenic turnout", "overlook", "viewpoint",
    ),
    ("driveway",): ("driveway", "drive way", "front yard", "yard", "farmyard", "end of the lane", "private lane"),
    ("street",): ("street", "curb", "kerb", "road", "alley", "avenue", "cul de sac", "side street"),
    ("shoulder",): (
        "shoulder", "highway", "freeway", "interstate", "expressway", "turnpike", "roadside", "breakdown lane",
        "side of the road", "side of the highway", "hard shoulder", "off ramp", "on ramp",
    ),
    ("open-ramp",): (
        "open ramp", "open deck", "open sided garage", "open sided parking garage", "open sides", "open sided",
    ),
    ("garage",): (
        "garage", "barn", "shed", "workshop", "shop", "warehouse", "hangar", "showroom", "indoors", "inside",
        "car wash", "closed room", "house garage", "home garage", "attached garage", "walls", "walls all round",
        "walls all around",
    ),
    ("car-port",): (
        "car port", "carport", "porch", "canopy", "awning", "tarp", "roof", "overhang", "shelter", "under a bridge",
        "under the bridge", "overpass", "underpass", "porte cochere",
    ),
    ("underground",): (
        "underground", "under ground", "basement", "cellar", "below ground", "underground garage",
        "underground parking garage", "underground parking", "tunnel",
    ),
    _PARKING: (
        "parking garage", "parking structure", "parking deck", "parking ramp", "ramp", "car park", "multi storey",
        "multi story", "multilevel parking", "deck",
    ),
    ("open-lot", "car-port"): ("gas station", "service station", "charging station", "drive through"),
    ("driveway", "garage", "car-port"): ("home", "house", "at home"),
    ("garage", "car-port"): ("tent",),
    ("shoulder", "car-port"): ("bridge",),
    ("open-lot", "shoulder"): ("pull out", "pullout", "turnout", "turn out", "pull off", "pulloff", "ditch"),
    ("driveway", "street"): ("lane",),
    ("street", "shoulder"): ("access road",),
}  # fmt: skip
_KINDS_SAID = {phrase: kinds for kinds, phrases in _SAID_OF_PLACES.items() for phrase in phrases}
_PLACE_WORDS = {choice.word: choice.shown for choice in _PLACES}
# Where two words are of places that are treated alike, the first one counts.
_ALIKE = frozenset({"open-lot", "driveway"})
_TELLING = {
    "open-ramp": "open sides, another deck above", "garage": "walls all round", "open-lot": "roof level, nothing above",
}  # fmt: skip


def _read_place(text: str, _: State) -> Words:
    """Read where it stands by what people say. Where that may be several kinds of place, it is asked which."""
    kinds = _kinds_said(text)
    if len(kinds) == 1 or (kinds and set(kinds) <= _ALIKE):
        return {"at": kinds[0]}
    if kinds:
        shown = tuple(choice for choice in _PLACES if choice.word in kinds)
        which = "may be one of these; which?"
        if kinds == _PARKING:
            shown = tuple(replace(choice, spoken=_TELLING.get(choice.word, choice.spoken)) for choice in shown)
            which = "walls all round, or open sides?"
        elif "ditch" in text.lower():
            which = "a vehicle that slid off the road is a crash: then say back, and crash. Else which?"
        raise _Several(f"{quoted(text)}: {which}", shown)
    raise QuantityError(
        name="at",
        given=text,
        expected=", ".join(_PLACE_WORDS),
        next_step="say the number, the word, or what it is called, such as parking lot or basement",
    )


def _kinds_said(text: str) -> tuple[str, ...]:
    """Return the kinds of place that words can mean: what all of them allow, else all that one of them allows."""
    # Punctuation ends what a `not` is about: `not in the garage, in the driveway`.
    plain = f" {' '.join(re.findall(r'[a-z0-9]+|[,;.:!?]', _spelled_out(text)))} "
    off_road = " off the road " in plain
    plain = plain.replace(" off the road ", " ")
    sets: list[tuple[int, tuple[str, ...]]] = []
    for phrase in sorted(_KINDS_SAID, key=len, reverse=True):
        while (at := plain.find(f" {phrase} ")) >= 0:
            denied = re.search(r" (?:no|not|never|without|nor)(?: [a-z0-9]+){0,3} $", plain[: at + 1])
            if denied is None:
                sets.append((at, _KINDS_SAID[phrase]))
            # A word of a longer phrase is not a place of its own; the length stays, so that the order does.
            plain = plain[:at] + f" {'_' * len(phrase)} " + plain[at + len(phrase) + 2 :]
    if not sets:
        return ()
    said = [kinds for _, kinds in sorted(sets)]
    shared = tuple(kind for kind in said[0] if all(kind in kinds for kinds in said))
    found = shared or tuple(dict.fromkeys(kind for kinds in said for kind in kinds))
    if off_road and set(found) == {"open-lot", "shoulder"}:
        return ("open-lot",)
    return found


def _in_the_open(state: State) -> bool:
    return (state.word("at") or "unknown") in {"unknown", *(kind.replace("_", "-") for kind in OPEN_PLACES)}


def _quiet_matters(state: State) -> bool:
    return state.engine and state.word("at") != "shoulder"  # nobody keeps quiet hours on the shoulder of a fast road


def _permission_matters(state: State) -> bool:
    outlet = state.rig is not None and isinstance(state.rig.source, SiteOutletSource)
    quiet = state.engine and state.word("quiet_hours") == "yes"
    return outlet or quiet or (not state.engine and state.word("at") in ("garage", "open-ramp", "underground"))


def _reach_matters(state: State) -> bool:
    """Return whether our cable can fall short: where our truck cannot stand as it likes, or from some side."""
    if state.word("at") not in {"open-lot", "driveway"} or state.rig is None:
        return True
    shortest_m = min((one.evse.cable.length_m for one in state.rig.by_cable), default=0.0)
    return any(
        place_rulings(
            Place("open_lot", out_of_traffic=True, stand=side),
            engine=False,
            vehicle=vehicle,
            port=port,
            cable_length_m=shortest_m,
        )
        for vehicle in state.classes
        for port in vehicle.ports
        for side in get_args(Side)
    )


# -------------------------------------------------------------------------------------------------------- dash and need

_DASHES = (
    Choice("dead", {"start": "dead"}, "nothing on the dash", ("nothing", "dark", "black", "blank", "off")),
    Choice("turtle", {"start": "turtle"}, "", ("tortoise", "limp", "reduced power", "a turtle")),
    Choice("dashes", {"start": "dashes"}, "---", ("---", "--", "three dashes")),
)


_DASH_FIGURE = re.compile(r"(?<![\d.,])(\d{1,3}) ?(%|percent|mi|miles?|km)(?![a-z])")
_DASH_BARS = re.compile(r"(\d{1,2}) ?(?:bars? )?(?:of|out of|/) ?(\d{1,2})(?: ?bars?)?")


def _read_dash(text: str, _: State) -> Words:
    """Read what the dash says; a bare number is refused with its readings, like the option."""
    plain = text.lower().rstrip(".!")
    bars = _DASH_BARS.fullmatch(_figures(plain))
    if bars is not None:
        return {"start": f"{bars[1]}/{bars[2]}bars"}
    figures = _DASH_FIGURE.findall(plain)
    if len(figures) == 1 and not re.search(r"\b(?:not|over|under|less|more|than|plenty)\b", _spelled_out(plain)):
        number, unit = figures[0]
        # What stands alone is kept as it was said; the option takes it as well.
        alone = _DASH_FIGURE.fullmatch(plain) is not None
        return {"start": plain if alone else f"{number}{'%' if unit in ('%', 'percent') else unit}"}
    words = _spelled_out(plain)
    told = [
        start
        for start, pattern in (
            ("turtle", r"\b(?:turtle|tortoise|limp|reduced power)\b"),
            ("dashes", r"\bdashes\b|--"),
            ("0%", r"\b(?:zero|empty|nothing left|flat empty)\b"),
            ("50%", r"\bhalf\b"),
            ("100%", r"\bfull\b"),
            ("dead", r"\b(?:dead|dark|black|blank|nothing lights up|not one light)\b"),
        )
        if re.search(pattern, words)
    ]
    if "turtle" in told and "dashes" in told:
        told.remove("dashes")  # a turtle says more than a range that shows none
    denied = re.search(r"\b(?:no|not|never|without|more|less|almost|nearly)\b", words.replace("not one light", ""))
    if len(told) == 1 and not figures and denied is None:
        return {"start": told[0]}
    return {"start": plain}


_GOALS = (
    Choice("home", {"goal": "home"}),
    Choice("charger", {"goal": "charger"}, "a fast charger", ("fast charger", "fast-charger")),
    Choice("both", {"goal": "both"}, "home or a fast charger"),
    Choice("miles", {"goal": "miles"}, "so far"),
    Choice("percent", {"goal": "percent"}),
    Choice("minutes", {"goal": "minutes"}, "the time they have"),
)


_QUANTITY = re.compile(r"(\d[\d,.]*) ?(mi|miles?|km|%|percent|minutes?|mins?|hours?|hrs?|h|kwh)(?![a-z])")
_HOME = re.compile(r"\bhome\b")
_CHARGER = re.compile(r"\b(?:fast|quick)?[ -]?charg(?:er|ing station)\b")
_THERE_AND_BACK = re.compile(r",? (?:there and back|and back|round trip|both ways|in all|total)\b")


def _read_goal(text: str, _: State) -> Words:
    """Read a need said at once: `home 32mi`, `18 miles to the charger`, `45mi`, `80%`, `45min`."""
    plain = _THERE_AND_BACK.sub("", _figures(text))
    found: dict[str, str] = {}
    for part in re.split(r"\s*(?:,(?!\d)|;| and | or )\s*", plain):
        figures = list(_QUANTITY.finditer(part))
        home, charger = _HOME.search(part) is not None, _CHARGER.search(part) is not None
        if (home and charger) or len(figures) > 1 or "each way" in part:
            raise _no_goal(text)
        if not figures:
            if part in ("full", "to full", "half", "to half"):
                found["to"] = "100%" if "full" in part else "50%"
                continue
            raise _no_goal(text)
        said, unit = figures[0][0], figures[0][2]
        if (unit.startswith("mi") and not unit.startswith("min")) or unit == "km":
            name = "home" if home else "fast_charger" if charger else "miles"
        else:
            name = {"%": "to", "percent": "to", "kwh": "kwh"}.get(unit, "minutes")
        if name in found:
            raise _no_goal(text)
        found[name] = said
    return found


def _no_goal(text: str) -> QuantityError:
    return QuantityError(
        name="goal",
        given=text,
        expected=", ".join(choice.word for choice in _GOALS) + ", or one figure with its unit for each",
        next_step="say home 32mi, charger 18mi, 45mi, 80% or 45min",
    )


def _distance_wanted(state: State) -> bool:
    """Return whether the road matters: only where the need is a distance."""
    return any(state.word(name) is not None for name in ("miles", "home", "fast_charger"))


# What can be given besides, by the words that ask for it.
_MORE = {
    "ambient": r"temperature|degrees|weather",
    "parked": r"parked|parking|stood|standing",
    "drove": r"drove|driven|drive|driving",
    "altitude": r"height|elevation|altitude|pass",
    "road": r"road|speed|highway|freeway|mph",
    "climb": r"climb|hills?|uphill|downhill|mountain|grade|flat|level",
}


def _read_more(text: str, state: State) -> Words:
    """Read what else there is to give: names of it, which are asked for, or the thing itself: `parked 6h`."""
    asked: list[str] = []
    given: dict[str, str | tuple[str, ...]] = {}
    for part in re.split(r"\s*(?:,(?!\d)|;| and | or )\s*", text.lower().rstrip(".!")):
        names = [name for name, pattern in _MORE.items() if re.search(rf"\b(?:{pattern})\b", part)]
        names = names or [name for name, pattern in (("road", r"\d ?(?:mph|kmh|km/h)$"),) if re.search(pattern, part)]
        if len(names) != 1:
            raise QuantityError(
                name="more",
                given=text,
                expected="no, yes, or which: height, road, hills, parked, drove",
                next_step="say parked 6h, height 4200ft, 65mph, or the word alone to be asked",
            )
        name = names[0]
        asked.append(name)
        if re.search(r"\d", part) or part in ("uphill", "downhill", "flat"):
            value = re.sub(rf"\b(?:{_MORE[name]})\b(?! ?/)", "", part) if name != "road" else part
            value = re.sub(r"\b(?:for|is|at|of|ft up|the|it|was|been|has|an?)\b", "", value).strip()
            question = next(each for each in QUESTIONS if each.code == name)
            value = part if name == "climb" and not re.search(r"\d", part) else value
            if name == "road":
                value = re.sub(r".*?(\d+ ?(?:mph|kmh|km/h)).*", r"\1", part)
            given |= _read(question, value, replace(state, shown=()))
    return {"more": " ".join(asked), **given}


def _asked_for(name: str, *, always: Callable[[State], bool] = lambda _: False) -> Callable[[State], bool]:
    """Return whether somebody wanted to give this, or something else makes it matter."""
    return lambda state: (
        always(state) or (state.word("more") or "") == "all" or name in (state.word("more") or "").split()
    )


def _more_matters(state: State) -> bool:
    """Return whether any of what can be given besides is still open."""
    known = state.words
    road = _distance_wanted(state) and not {"road", "speed"} & set(known)
    return (
        road
        or any(name not in known for name in ("parked", "drove", "altitude"))
        or (_distance_wanted(state) and "climb" not in known)
    )


def _empty_or_dead(state: State) -> bool:
    """Return whether how long it stood tells if it may wake."""
    return state.word("start") in ("dead", "0%") or state.word("twelve_volt") == "flat"


def _goal(*goals: str) -> Callable[[State], bool]:
    return lambda state: state.word("goal") in goals


def _read_road(text: str, _: State) -> Words:
    return {"speed": text}


def _read_climb(text: str, _: State) -> Words:
    """Read a climb in feet; `downhill` is none, and what it goes down is asked next."""
    plain = _spelled_out(text)
    if re.search(r"\bdown(?:hill)?\b", plain) and not re.search(r"\d|\bup(?:hill)?\b|\b(?:not|no|then)\b", plain):
        return {"climb": "0ft", "slope": "down"}
    return {"climb": _feet(text)}


def _ports_to_look_up(state: State) -> tuple[str, ...]:
    """Return which plug a charger has to have for what is known of the car."""
    known = state.word("port")
    ports = [known] if known is not None else dict.fromkeys(p.inlet for v in state.classes for p in v.ports)
    names = [
        state.dataset.inlets[inlet].name.removesuffix(" inlet") for inlet in ports if inlet in state.dataset.inlets
    ]
    return (f"For this car: {' or '.join(names)}.",) if len(names) <= MOST_PORTS_NAMED else ()


_PORT_STATES = {
    "good": r"good|fine|clean|dry|opens?|opened|whole|ok|new",
    "wet": r"wet|water|soaked|damp|rain",
    "damaged": r"damaged?|broken|burnt|burned|loose|cracked|bent|melted|browned",
    "frozen": r"frozen|ice|iced|icy|snow|snowed",
    "locked": r"locked|stuck|shut|closed",
}


def _read_port_state(text: str, _: State) -> Words:
    """Read how the charge door is. What is said of two states, or with a denial of the good one, is asked again."""
    plain = re.sub(r"(?<=[a-z]) (?=[,;.])", "", _spelled_out(text))
    states: set[str] = set()
    for state, pattern in _PORT_STATES.items():
        for found in re.finditer(rf"\b(?:{pattern})\b", plain):
            denied = re.search(r"\b(?:no|not|never|without|nor)(?: [a-z]+){0,2} $", plain[: found.start()]) is not None
            if denied and state == "good":
                states |= {"good", "locked"}  # `does not open`: of ice or of a lock
            elif not denied:
                states.add(state)
    if states == {"frozen", "locked"} and re.search(r"\b(?:frozen|iced) (?:shut|stuck|closed)\b", plain):
        states.discard("locked")  # it is the ice that holds it
    if len(states) == 1 and not _HEDGES.search(plain):
        return {"port_state": states.pop()}
    raise QuantityError(
        name="port-state",
        given=text,
        expected=f"one of {', '.join(_PORT_STATES)}",
        next_step="say the number or the word; does not open: is it ice, or a lock?",
    )


def _read_key(text: str, state: State) -> Words:
    """Read who has the key by the first word of what is said."""
    question = next(each for each in QUESTIONS if each.code == "key")
    found = _by_first_word(text, question.choices(state))
    if found is None:
        raise _none_of(question, text, question.choices(state))
    return found.sets


# ----------------------------------------------------------------------------------------------------------- the script

QUESTIONS: tuple[Question, ...] = (
    Question(
        "rig",
        "Which rig goes?",
        "Cable, setting and fuel are the rig's; whether an engine comes along decides where it may run.",
        ("rig",),
        _rigs,
    ),
    Question(
        "traffic",
        "Is everybody safe and out of traffic?",
        "In a lane or right at its edge nobody works on a vehicle: people first, then a tow to a safe place.",
        ("traffic",),
        _fixed(
            Choice("yes", {"traffic": "clear"}, "out of moving traffic", (*_YES, "clear", "safe", "off the road")),
            Choice("no", {"traffic": "in"}, "in a lane, or right at its edge", (*_NO, "in traffic", "in")),
        ),
        unknown={"traffic": "unknown"},
    ),
    Question(
        "danger",
        "Any crash, water, smoke or smell, or a red warning? Name all.",
        "A hurt, flooded or hot battery can burn hours later: it is not charged, and people keep away.",
        ("danger",),
        _fixed(
            Choice("none", {"danger": ("none",)}, "", ("no", *_NO, "nothing", "no danger")),
            Choice("crash", {"danger": ("crash",)}, "also slid, or something fell on it"),
            Choice("water", {"danger": ("water",)}, "above the sills, now or earlier"),
            Choice("smoke", {"danger": ("smoke",)}, "or a hiss, a pop, a smell, a warm floor"),
            Choice("warning", {"danger": ("warning",)}, "high voltage, battery or stop; not low battery"),
        ),
        several=True,
        unknown={"danger": ("unknown",)},
    ),
    Question(
        "at",
        "Where does it stand?",
        "An engine's exhaust kills under any roof; a road needs room beside it; a garage has an owner.",
        ("at",),
        _fixed(*_PLACES),
        form="what it is called, such as parking lot or basement",
        free=_read_place,
        unknown={"at": "unknown"},
    ),
    Question(
        "openings",
        "Any door, window or vent within 20 ft of where our engine can stand?",
        "Exhaust goes in by openings and kills whoever is inside.",
        ("openings",),
        _fixed(*_yes_no("openings", "near", "clear", "one within 20 ft", "20 ft clear")),
        unknown={"openings": "unknown"},
        matters=lambda state: state.engine and _in_the_open(state),
        when="a rig with an engine, in the open",
    ),
    Question(
        "people",
        "Can everybody wait 20 ft away from our engine, nobody in a vehicle?",
        "Exhaust fills a vehicle in minutes: nobody sits in one near our engine.",
        ("people",),
        _fixed(*_yes_no("people", "away", "near", "all 20 ft away", "somebody stays near")),
        unknown={"people": "unknown"},
        matters=lambda state: state.engine and _in_the_open(state),
        when="a rig with an engine, in the open",
    ),
    Question(
        "quiet-hours",
        "Do quiet hours hold there now?",
        "An engine is loud: in quiet hours whoever runs the place is asked.",
        ("quiet_hours",),
        _fixed(*_yes_no("quiet_hours", "yes", "no", "quiet hours hold", "none now")),
        unknown={"quiet_hours": "unknown"},
        matters=_quiet_matters,
        when="a rig with an engine, not on a shoulder",
    ),
    Question(
        "permission",
        "Does whoever runs the place, or owns the outlet, allow it?",
        "A garage, a deck, an outlet and a quiet night are somebody's.",
        ("permission",),
        _fixed(*_yes_no("permission", "yes", "no", "it is allowed", "it is not")),
        unknown={"permission": "unknown"},
        matters=_permission_matters,
        when="quiet hours, a rig on a site's outlet, or a rig without engine in a garage, on a deck or underground",
    ),
    Question(
        "vehicle",
        "What car is it?",
        "Battery, charger and port are those of its class. Not known: what can be seen tells nearly as much.",
        ("vehicle",),
        _fixed(),
        form="words such as small hatch, a class, or list for all of them",
        free=_read_vehicle,
        matters=lambda state: not any(name in state.words for name in _OF_VEHICLE),
    ),
    Question(
        "port",
        "Which port does it have?",
        "The port decides whether our cable goes in. A photo of the open flap tells.",
        ("port",),
        _ports,
        form="its shape, as the caller sees it",
        free=_read_port,
        matters=_port_matters,
        when="the class is not known, or may have one port or another",
    ),
    Question(
        "fuel-door",
        "Does it drive on gasoline too?",
        "With fuel in the tank it drives without a charge. A fuel door beside the charge door tells.",
        ("fuel_door",),
        _fixed(*_yes_no("fuel_door", "yes", "no")),
        unknown={"fuel_door": "unknown"},
        matters=_tells_apart("fuel_door", lambda _: ("yes", "no")),
        when="the class is not known",
    ),
    Question(
        "body",
        "What kind of body does it have?",
        "Fewer classes, closer minutes.",
        ("body",),
        _bodies,
        matters=lambda state: state.vehicle is None and len(_bodies(state)) > 1,
        when="the class is not known",
    ),
    Question(
        "built",
        "Which year was it built?",
        "Ports and batteries changed with the years.",
        ("built",),
        _fixed(),
        form="a year, such as 2013",
        free=_text("built"),
        matters=_tells_apart("built", _years),
        when="the class is not known",
    ),
    Question(
        "battery",
        "How large is its battery?",
        "Percent mean more or less energy by the size of the battery.",
        ("battery",),
        _fixed(
            Choice("small", {"battery": "small"}, "under 30 kWh"),
            Choice("medium", {"battery": "medium"}, "30 to 70"),
            Choice("large", {"battery": "large"}, "70 and more"),
        ),
        matters=_tells_apart("battery", lambda _: tuple(BATTERY_WORDS)),
        when="the class is not known",
    ),
    Question(
        "tank",
        "Is there fuel in its tank?",
        "With fuel it drives: a can is quicker than a charge.",
        ("tank",),
        _fixed(*_yes_no("tank", "fuel", "empty")),
        unknown={"tank": "unknown"},
        matters=lambda state: all(vehicle.engine for vehicle in state.classes),
        when="it drives on gasoline too",
    ),
    Question(
        "start",
        "What does the dash say?",
        "It is where the charge starts. An unlit dash is another matter: see the next question.",
        ("start",),
        _fixed(*_DASHES),
        form="12%, 8mi, zero, half or 1/12bars",
        numbered=False,
        free=_read_dash,
        unknown={"start": "unknown"},
    ),
    Question(
        "twelve-volt",
        "Does anything light up: dome light, locks, hazard lights?",
        "Nothing at all: the small 12 V battery is flat, and is woken first.",
        ("twelve_volt",),
        _fixed(*_yes_no("twelve_volt", "good", "flat")),
        unknown={"twelve_volt": "unknown"},
        matters=lambda state: state.word("start") == "dead",
        when="the dash is dead",
    ),
    Question(
        "goal",
        "How far must it get: home, a fast charger, miles, percent, minutes?",
        "Only what ends the emergency is charged. Not known: 45 minutes plugged in.",
        _NEEDS,
        _fixed(*_GOALS),
        form="home 32mi, charger 18mi, hotel 22mi, 45mi, 80%, full or 45min",
        free=_read_goal,
    ),
    Question(
        "home",
        "How far is it home?",
        "The charge is for this distance, with a tenth of the battery left.",
        ("home",),
        _fixed(),
        form="a distance, such as 32mi",
        free=_text("home", _figures),
        matters=_goal("home", "both"),
        when="it goes home",
    ),
    Question(
        "charger",
        "How far is the fast charger?",
        "The charge is for this distance, with some miles left.",
        ("fast_charger",),
        _fixed(),
        form="a distance, such as 18mi",
        free=_text("fast_charger", _figures),
        matters=_goal("charger", "both"),
        when="it goes to a fast charger",
    ),
    Question(
        "charger-fits",
        "Does that charger take this port?",
        "One that does not fit is no goal. Its sign, its page or the map names its plugs: look for this port.",
        ("charger_fits",),
        _fixed(*_yes_no("charger_fits", "yes", "no")),
        more=_ports_to_look_up,
        unknown={"charger_fits": "unknown"},
        matters=lambda state: state.word("fast_charger") is not None,
        when="it goes to a fast charger",
    ),
    Question(
        "charger-open",
        "Is that charger open?",
        "A closed one is no goal. Its page or a call tells whether it is open and works tonight.",
        ("charger_open",),
        _fixed(*_yes_no("charger_open", "yes", "no")),
        unknown={"charger_open": "unknown"},
        matters=lambda state: state.word("fast_charger") is not None,
        when="it goes to a fast charger",
    ),
    Question(
        "miles",
        "How many miles?",
        "The charge is for this distance, with a tenth of the battery left.",
        ("miles",),
        _fixed(),
        form="a distance, such as 45mi",
        free=_text("miles", _figures),
        matters=_goal("miles"),
        when="miles are wanted",
    ),
    Question(
        "percent",
        "To which percent?",
        "The charge ends there.",
        ("to",),
        _fixed(),
        form="a percent, such as 80%",
        free=_text("to"),
        matters=_goal("percent"),
        when="a percent is wanted",
    ),
    Question(
        "minutes",
        "How many minutes plugged in?",
        "The plan says what this time gives.",
        ("minutes",),
        _fixed(),
        form="a time, such as 45min",
        free=_text("minutes", _time),
        matters=_goal("minutes"),
        when="a time is wanted",
    ),
    Question(
        "key",
        "Who has the key, card or phone?",
        "Without it nothing unlocks.",
        ("key",),
        _fixed(
            Choice("here", {"key": "here"}, "somebody there", ("me", "the caller", "i do", "driver", "with it", "yes")),
            Choice("away", {"key": "away"}, "somewhere else", ("elsewhere", "somebody else", "not here")),
            Choice("none", {"key": "none"}, "nobody", ("lost", "gone", "no one", "no")),
        ),
        free=_read_key,
        unknown={"key": "unknown"},
    ),
    Question(
        "port-state",
        "How is the charge door: opens, or wet, damaged, frozen, locked?",
        "A wet or damaged port is not used; a frozen or locked one takes time and tools.",
        ("port_state",),
        _fixed(
            Choice("good", {"port_state": "good"}, "opens, dry, whole", ("opens", "open", "dry", "fine", "yes")),
            Choice("wet", {"port_state": "wet"}, "water inside"),
            Choice("damaged", {"port_state": "damaged"}, "broken, burnt, loose", ("broken", "burnt", "loose")),
            Choice("frozen", {"port_state": "frozen"}, "", ("ice", "iced", "icy")),
            Choice("locked", {"port_state": "locked"}, "does not open", ("stuck", "shut", "closed", "no")),
        ),
        form="what the caller says of it",
        free=_read_port_state,
        unknown={"port_state": "unknown"},
    ),
    Question(
        "cabin",
        "Can heat and cooling stay off while we charge?",
        "What heats or cools the cabin does not go into the battery.",
        ("cabin",),
        _fixed(
            Choice("yes", {"cabin": "off"}, "off", (*_YES, "off")),
            Choice("no", {"cabin": "on"}, "on", (*_NO, "on")),
        ),
        unknown={"cabin": "unknown"},
        matters=lambda state: any(vehicle.cabin.size_factor > 0 for vehicle in state.classes),
        when="a vehicle with a cabin",
    ),
    Question(
        "ambient",
        "What is the temperature there?",
        "Cold slows the charge and eats miles; heat and cold take from our source.",
        ("ambient",),
        _fixed(),
        form="a temperature, such as 20F or -5C",
        free=_text("ambient", _degrees),
    ),
    Question(
        "more",
        "Anything else to give: height, road, hills, how long parked or driven?",
        "Each makes the minutes closer; none of them has to be known. A cold stand and a pass matter most.",
        ("more",),
        _fixed(
            Choice("no", {"more": "none"}, "Enter", (*_NO, "none", "nothing")),
            Choice("yes", {"more": "all"}, "each is asked", (*_YES, "all")),
        ),
        form="which, or the thing itself: parked overnight, height 4200ft, 65mph",
        free=_read_more,
        matters=_more_matters,
        unknown={"more": "none"},
    ),
    Question(
        "parked",
        "How long has it been parked?",
        "A battery that cooled out takes its charge slower; one that stood empty for weeks may not wake.",
        ("parked",),
        _fixed(),
        form="a time, such as 6h, 20min, overnight or 2 days",
        free=_text("parked", _time),
        matters=_asked_for("parked", always=_empty_or_dead),
        when="wanted, or nothing is left on the dash",
    ),
    Question(
        "drove",
        "How long did it drive before?",
        "A long drive warms the battery, and a warm one charges sooner.",
        ("drove",),
        _fixed(),
        form="a time, such as 20min",
        free=_text("drove", _time),
        matters=_asked_for("drove"),
        when="wanted",
    ),
    Question(
        "altitude",
        "What is the elevation there?",
        "An engine gives less in thin air.",
        ("altitude",),
        _fixed(),
        form="a height, such as 4200ft",
        free=_text("altitude", _feet),
        matters=_asked_for("altitude"),
        when="wanted",
    ),
    Question(
        "road",
        "What road lies ahead: mixed, or a steady speed?",
        "Fast miles take more than slow ones.",
        ("road", "speed"),
        _fixed(Choice("mixed", {"road": "mixed"}, "town and highway")),
        form="a speed, such as 65mph",
        numbered=False,
        free=_read_road,
        matters=lambda state: _asked_for("road")(state) and _distance_wanted(state),
        when="wanted, and the need is a distance",
    ),
    Question(
        "climb",
        "How many feet does the road climb in all: or is it flat, or downhill?",
        "Every thousand feet up takes as much as some miles.",
        ("climb",),
        _fixed(
            Choice("flat", {"climb": "0ft"}, "", ("none", "no", "level")),
            Choice(
                "downhill",
                {"climb": "0ft", "slope": "down"},
                "no climb",
                ("down", "all downhill", "nearly all downhill"),
            ),
        ),
        form="a height, such as 2500ft",
        numbered=False,
        free=_read_climb,
        matters=lambda state: _asked_for("climb")(state) and _distance_wanted(state),
        when="wanted, and the need is a distance",
    ),
    Question(
        "descent",
        "How many feet does it go down in all?",
        "A long way down gives miles back. Not known: none are counted on.",
        ("descent",),
        _fixed(),
        form="a height, such as 2500ft",
        free=_text("descent", _feet),
        matters=lambda state: state.word("slope") == "down" and _distance_wanted(state),
        when="it goes downhill",
    ),
    Question(
        "distance",
        "How close can our truck come to the port, or on which side can it stand?",
        "The cable has to reach; nothing is put between couplers.",
        ("distance", "stand"),
        _close,
        form="a length, such as 20ft or a few feet",
        numbered=False,
        free=_read_distance,
        matters=_reach_matters,
        when="our cable can fall short: from some side of it, or where our truck cannot stand as it likes",
    ),
)


# -------------------------------------------------------------------------------------------------------- what is shown


def _choice_lines(question: Question, state: State) -> list[str]:
    if state.shown:  # a short list has the numbers alone: no old ones beside them
        # A class is known by its name; its id is for files.
        names = [choice.spoken if question.code == "vehicle" else choice.shown for choice in state.shown]
        return [f"  {number} {name}" for number, name in enumerate(names, 1)]
    shown = [choice.shown for choice in question.choices(state)]
    words = [f"{number} {word}" for number, word in enumerate(shown, 1)] if question.numbered else shown
    if question.form:
        words = [*words, f"or {question.form}" if words else question.form]
    # A choice is not broken in two: its spaces hold together until the lines are made.
    glued = "  ".join(word.replace(" ", "\N{NO-BREAK SPACE}") for word in words)
    lines = textwrap.wrap(glued, WIDTH, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False)
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]


def _wrapped(text: str) -> str:
    return "\n".join(
        textwrap.fill(line, WIDTH, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)
        for line in text.split("\n")
    )


def script(dataset: Dataset, rig_id: str | None = None) -> str:
    """Return all questions with their why, to read from: of one rig what can matter for it, else of all."""
    given: Words = {} if rig_id is None else {"rig": rig_id}
    state = State(dataset, _no_reader, given)
    engine = state.engine  # raises for a rig that is not on record
    lines = [
        "The call, in speaking order" + ("" if state.rig is None else f", with {state.rig.name}"),
        "A number, a letter or the word answers; Enter is not known; ? why; back; stop ends with what is known.",
        "",
    ]
    number = 0
    for question in QUESTIONS:
        if (question.code == "rig" and (state.rig is not None or len(dataset.rigs) == 1)) or (
            question.when.startswith("a rig with an engine") and not engine
        ):
            continue
        number += 1
        lines.append(f"{number:>2} {question.text}")
        if question.when:
            lines += textwrap.wrap(f"Only: {question.when}", WIDTH, initial_indent="     ", subsequent_indent="     ")
        lines += ["   " + line for line in _choice_lines(question, state)]
        lines += textwrap.wrap(f"Why: {question.why}", WIDTH, initial_indent="     ", subsequent_indent="     ")
    lines += ["", "Cars by number", _class_lines(dataset.vehicle_classes.values())]
    return "\n".join(lines) + "\n"


def _no_reader(words: Words) -> Call:
    raise AssertionError(f"a script reads no answer, got {words}")


def asked_of_caller(code: str, question: str, words: Words) -> str:
    """Return the question of an answer as the caller can find it out: in plain words, and without what was said."""
    if code == "charger_not_known":
        return charger_question(words) or question
    if code == "ask_port":
        return "Which shape is its charge port: round with five holes, the same with two big ones under, or slim?"
    return question.replace("help the customer", "help you")


def charger_question(words: Words) -> str | None:
    """Return what is still to be found out of a fast charger, and nothing that was said; None where nothing is."""
    if words.get("fast_charger") is None:
        return None
    fits, is_open = (words.get(name) in (None, "unknown") for name in ("charger_fits", "charger_open"))
    if fits and is_open:
        return "Does that charger take this port, and is it open and working now?"
    if fits:
        return "Does that charger take this port?"
    return "Is that charger open and working now?" if is_open else None


_FROM_US = "From your roadside charging crew"
_911 = "Smoke, a smell or a hiss: call 911."


def text_message(
    *,
    engine: bool,
    dash_dead: bool = False,
    port_frozen: bool = False,
    ruling: Ruling | None = None,
    question: str | None = None,
) -> str:
    """Return the message to the caller before we come: at most 480 plain characters, no link.

    Where a ruling keeps people away, nothing is asked for at the vehicle: the message says what instead. `question` is
    what the answer hangs on, for the caller to find out.
    """
    if ruling is not None and ruling.code == "engine_near_people":
        return (
            f"{_FROM_US}: sorry, we cannot charge it while anybody sits in a vehicle within 20 ft of our engine: its "
            "exhaust can kill, windows shut or not. Please go, children too, to a warm place or another vehicle, 20 ft "
            "or more from where our engine will run and upwind, and tell us when you are there. Nowhere warm to go in "
            "the cold: call 911."
        )
    if ruling is not None and ruling.level == "ask":
        asked = f"{_FROM_US}, please tell us first: {ruling.question}"
        return _as_fits(asked, (f"Until then please keep away. {ruling.remedy}",))
    if ruling is not None:
        parts = [f"{_FROM_US}: sorry, we cannot charge it as it is. {ruling.text} {ruling.remedy}"]
        away = _SUBJECTS.get(ruling.code) == "danger"
        last = ("Please keep away from it.", _911) if away and "911" not in parts[0] else ("Please keep away from it.",)
        return _as_fits(parts[0], last if away else ())
    # The first ones matter most: what does not fit any more is left out.
    parts = []
    if question is not None:
        parts.append(f"Please find out and tell us: {question}")
    if engine:
        parts.append(
            "Everybody stays 20 ft from our engine and out of vehicles near it while it runs; in the cold, wait in a "
            "warm place away from it."
        )
    if port_frozen:
        parts.append(
            "The frozen door: no kettle, no hot water, no screwdriver, no prying; preheat the cabin if the car can, we "
            "warm it by hand."
        )
    parts.append("Have the key, card or phone at hand.")
    if dash_dead:
        parts.append("Please leave the car where it is; no jump start before we come.")
    photo = "of the charge door as it is" if port_frozen else "of the open charge port"
    parts.append(f"If it is safe, send a photo {photo}{'' if dash_dead else ' and one of the dash'}.")
    if not dash_dead:
        parts.append("Switch scheduled charging off and set the charge limit to 100 %.")
        parts.append("If it still moves, park so that the charge door side is free.")
    parts.append("Keep heat and cooling off while it charges.")
    return _as_fits(f"{_FROM_US}, please:", parts)


def _as_fits(first: str, parts: Iterable[str]) -> str:
    """Return the parts of a message, in their order, that fit into one."""
    text = first
    for part in parts:
        if len(text) + 1 + len(part) <= LONGEST_MESSAGE:
            text += f" {part}"
    return text
