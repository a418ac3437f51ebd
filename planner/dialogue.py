"""The dialogue of a call: its questions in speaking order, what each answer means, and which need not be asked.

Pure: a `State` and what was said give the next `State` and what is said back. Answers are kept as the very texts of
the options of `rangeferry plan`, and what reads options reads them.
"""

import re
import textwrap
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from planner.answer import Call
from planner.condition import condition_rulings, in_order
from planner.envelope import KnownOfVehicle, matching
from planner.errors import QuantityError, nearest, printable, quoted
from planner.mating import has_one_certain_port, takes_ac
from planner.place import OPEN_PLACES, Ruling, place_rulings
from planner.records import BATTERY_WORDS, Dataset, Rig, SiteOutletSource, VehicleClass

__all__ = [
    "LONGEST_MESSAGE",
    "QUESTIONS",
    "Choice",
    "Question",
    "Reply",
    "State",
    "Words",
    "begin",
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
HOURS_PER_DAY = 24

Words = Mapping[str, str | tuple[str, ...]]  # by the names of the options, with underscores
Understand = Callable[[Words], Call]  # raises `QuantityError`: the reader of options

# What is remembered for the order of the questions alone, and is no word of a call.
_REMEMBERED = ("goal",)
_NEEDS = ("miles", "to", "kwh", "minutes", "home", "fast_charger")
_NOT_KNOWN = {"unknown", "not known", "not sure", "no idea", "dont know", "don't know", "cant tell", "can't tell"}
_DENIALS = ("not", "never", "without", "isnt", "isn't", "wasnt", "wasn't", "didnt", "didn't")
_DANGER_OPEN = ("danger_not_known", "traffic_not_known")
_WHY = ("?", "why", "help")
_YES = ("y", "yeah", "yep", "yup", "sure", "ok")
_NO = ("n", "nope", "nah")


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
    shown: tuple[str, ...] = ()  # the classes of the list shown last
    heard: frozenset[str] = frozenset()  # codes of refusals that were said, and gone on after
    refused: Ruling | None = None  # said just now: whether to go on is asked
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
        return None if name is None else self.dataset.vehicle_class(name)

    @property
    def classes(self) -> tuple[VehicleClass, ...]:
        """Return the classes that it may be. Raises `QuantityError` where there is none."""
        if self.vehicle is not None:
            return (self.vehicle,)
        return matching(self.dataset, _known_of_vehicle(self.words))


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
        return "Go on all the same? 1 no  2 yes\n> "
    question = _next(state)
    if question is None:
        return None
    return "\n".join([question.text, *_choice_lines(question, state)]) + "\n> "


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
        return _go_on(state, word)
    question = _next(state)
    if question is None:
        return Reply(replace(state, stopped=True))
    if word in _WHY:
        return Reply(state, _wrapped(question.why))
    try:
        words = question.unknown if not word or word in _NOT_KNOWN else _read(question, text, state)
        answered = replace(state, answers=(*state.answers, (question.code, words)))
        answered.understand(_of_call(answered.words))
        _ = answered.classes
    except _Several as several:
        return Reply(replace(state, shown=several.classes), several.text)
    except QuantityError as error:
        return Reply(state, _complaint(error))
    return _judged(replace(answered, shown=()), _taken(question, answered, words))


def final_words(state: State) -> dict[str, str | tuple[str, ...]]:
    """Return the words of the call, as options would give them.

    What is known of a vehicle that leaves one class alone becomes that class: its plan tells more.
    """
    words = _of_call(state.words)
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


class _Several(Exception):  # noqa: N818 - no error: words that suit several classes, which are asked about
    def __init__(self, text: str, classes: tuple[str, ...] = ()) -> None:
        self.text = text
        self.classes = classes


def _of_call(words: Words) -> dict[str, str | tuple[str, ...]]:
    return {name: value for name, value in words.items() if name not in _REMEMBERED}


def _known_of_vehicle(words: Words) -> KnownOfVehicle:
    port, body, built, battery = (
        value if isinstance(value := words.get(name), str) else None for name in ("port", "body", "built", "battery")
    )
    year = int(built) if built is not None and built.isdecimal() else None
    fuel_door = {"yes": True, "no": False}.get(str(words.get("fuel_door")))
    return KnownOfVehicle(port, {"hatchback": "hatch"}.get(body or "", body), year, battery, fuel_door)


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
    before = replace(state, answers=state.answers[:-1], shown=(), refused=None)
    return Reply(replace(before, heard=state.heard & {ruling.code for ruling in refusals(before)}))


def _go_on(state: State, word: str) -> Reply:
    assert state.refused is not None
    if word in _WHY:
        return Reply(state, "It is refused whatever else is said; the rest of the answers can be kept for later.")
    if word in ("2", "yes", *_YES):
        return Reply(replace(state, refused=None))
    if word in ("", "1", "no", *_NO):
        return Reply(replace(state, stopped=True))
    return Reply(state, f"Got {quoted(word)}; expected no or yes. Enter is no.")


def _judged(state: State, say: str) -> Reply:
    """Say a refusal as soon as it stands, with what to tell the caller."""
    now = refusals(state)
    new = [ruling for ruling in now if ruling.code not in state.heard]
    state = replace(state, heard=frozenset(ruling.code for ruling in now), refused=new[0] if new else None)
    if not new:
        return Reply(state, say)
    lines = [line for line in (say,) if line]
    for ruling in new:
        lines += [f"CANNOT SERVE: {ruling.text}", f"Tell the caller: {ruling.remedy}"]
    return Reply(state, "\n".join(_wrapped(line) for line in lines))


def _taken(question: Question, state: State, words: Words) -> str:
    """Say what was understood where it is not what was typed: a class by words, a single class left."""
    if question.code == "vehicle" and state.vehicle is not None:
        return f"{state.vehicle.name}."
    if question.sets[0] in _OF_VEHICLE and words and state.vehicle is None and len(state.classes) == 1:
        return f"That leaves one class: {state.classes[0].name}."
    return ""


def _complaint(error: QuantityError) -> str:
    step = re.sub(r"--[a-z-]+ ", "", error.next_step)
    return _wrapped(f"Got {quoted(error.given)}; expected {error.expected}; {step}.")


def _read(question: Question, text: str, state: State) -> Words:
    choices = question.choices(state)
    if question.several:
        return _read_several(question, text, choices)
    found = _chosen(text, choices) if question.numbered or not text.isdecimal() else None
    if found is not None:
        return found.sets
    if question.free is not None:
        return question.free(text, state)
    raise _none_of(question, text, choices)


def _none_of(question: Question, text: str, choices: Sequence[Choice]) -> QuantityError:
    words = [choice.word for choice in choices]
    near = nearest(text.lower(), words)
    return QuantityError(
        name=question.code,
        given=text,
        expected=" or ".join([*([", ".join(words)] if words else []), *([question.form] if question.form else [])]),
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


def _read_several(question: Question, text: str, choices: Sequence[Choice]) -> Words:
    """Read one or several answers. A sentence with a sign of danger in it is that danger."""
    whole = _chosen(text, choices)
    if whole is not None:
        return whole.sets
    parts = [part for part in re.split(r"[\s,;+&/]+", text.lower()) if part not in ("", "and", "or", "a", "the")]
    found: dict[str, Choice] = {}
    strange = []
    for part in parts:
        choice = _chosen(part, choices)
        if choice is None:
            strange.append(part)
        else:
            found[choice.word] = choice
    denied = any(part in _DENIALS for part in strange)
    if not found or denied or ("none" in found and (strange or len(found) > 1)):
        raise _none_of(question, text, choices)
    name = question.sets[0]
    return {name: tuple(item for choice in found.values() for item in choice.sets[name])}


def _yes_no(name: str, yes: str, no: str) -> tuple[Choice, ...]:
    return Choice("yes", {name: yes}, also=_YES), Choice("no", {name: no}, also=_NO)


def _fixed(*choices: Choice) -> Callable[[State], tuple[Choice, ...]]:
    return lambda _: choices


def _text(name: str, tidy: Callable[[str], str] = str.strip) -> Callable[[str, State], Words]:
    """Return a reader that keeps what was said; the reader of options judges it."""
    return lambda text, _: {name: tidy(text)}


def _time(text: str) -> str:
    """Return a time as options take it: days become hours, and an hour has its number."""
    plain = text.lower()
    days = re.fullmatch(r"(\d{1,3}) ?(d|days?|weeks?)", plain)
    if days is not None:
        return f"{int(days[1]) * HOURS_PER_DAY * (7 if days[2].startswith('week') else 1)}h"
    return {"an hour": "1h", "one hour": "1h", "half an hour": "30min", "a day": "24h", "a week": "168h"}.get(
        plain, text
    )


def _feet(text: str) -> str:
    return re.sub(r"^(\d+) ?(?:'|foot|feet)$", r"\1ft", text.lower())


# ------------------------------------------------------------------------------------------------------ rig and vehicle


def _rigs(state: State) -> tuple[Choice, ...]:
    return tuple(Choice(rig.id, {"rig": rig.id}, rig.name) for rig in state.dataset.rigs.values())


def _ports(state: State) -> tuple[Choice, ...]:
    """Return the ports that tell its classes apart; of one class those that take AC."""
    inlets = dict.fromkeys(
        port.inlet
        for vehicle in state.classes
        for port in vehicle.ports
        if state.vehicle is None or takes_ac(state.dataset, vehicle, port.inlet)
    )
    return tuple(Choice(inlet, {"port": inlet}, state.dataset.inlets[inlet].name) for inlet in inlets)


def _port_matters(state: State) -> bool:
    if state.vehicle is not None:
        return not has_one_certain_port(state.dataset, state.vehicle) and len(_ports(state)) > 1
    return len(state.classes) > 1 and len(_ports(state)) > 1


def _bodies(state: State) -> tuple[Choice, ...]:
    bodies = dict.fromkeys({"hatch": "hatchback"}.get(vehicle.body, vehicle.body) for vehicle in state.classes)
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
    {"a", "an", "the", "it", "its", "is", "with", "and", "or", "of", "one", "some", "kind", "no", "not", "yes", "dont"}
    | {"know", "car", "electric", "ev", "vehicle"}
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
    listed = state.shown or tuple(records)
    if plain in ("list", "all"):
        raise _Several(_class_lines(records[name] for name in records), tuple(records))
    if plain.isascii() and plain.isdecimal():
        if 1 <= int(plain[:5]) <= len(listed):
            return {"vehicle": listed[int(plain[:5]) - 1]}
        raise QuantityError(
            name="vehicle",
            given=text,
            expected=f"a number from 1 to {len(listed)}",
            next_step="say list to see them, or words such as small hatch",
        )
    for vehicle in records.values():
        if plain in (vehicle.id, vehicle.name.lower(), *vehicle.formerly):
            return {"vehicle": vehicle.id}
    found = _by_words(plain, tuple(records.values()))
    if len(found) == 1:
        return {"vehicle": found[0].id}
    if not found:
        raise QuantityError(
            name="vehicle",
            given=text,
            expected="a class, or words that one is found by",
            next_step="say list to see them all, words such as small hatch, or Enter and go by what is seen",
        )
    shown = found[:SHOWN_CLASSES]
    more = "" if len(shown) == len(found) else f"\n  and {len(found) - len(shown)} more: say another word of it"
    raise _Several(f"Which of these?\n{_class_lines(shown)}{more}", tuple(vehicle.id for vehicle in shown))


def _by_words(text: str, classes: Sequence[VehicleClass]) -> tuple[VehicleClass, ...]:
    """Return the classes that all words suit: by name first, else by how they are recognized."""
    words = [_SAME_WORD.get(word, word) for word in re.findall(r"[a-z0-9]+", text) if word not in _FILLING]
    if not words:
        return ()
    named = {vehicle.id: f"{vehicle.id} {vehicle.name} {vehicle.body}" for vehicle in classes}
    for told in (named, {vehicle.id: f"{named[vehicle.id]} {vehicle.summary}" for vehicle in classes}):
        bags = {name: set(re.findall(r"[a-z0-9]+", text.lower())) for name, text in told.items()}
        found = tuple(
            vehicle
            for vehicle in classes
            if all(any(inner.startswith(word) for inner in bags[vehicle.id]) for word in words)
        )
        if found:
            return found
    return ()


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
        "parking lot", "car park lot", "lot", "campground", "campsite", "camp", "rest area", "rest stop",
        "in the open", "truck stop", "field", "fairground", "fairgrounds", "trailhead", "open lot", "outside",
        "roof level", "top level", "rooftop", "top deck", "park and ride", "meadow", "beach", "plaza",
    ),
    ("driveway",): ("driveway", "drive way", "front yard", "yard", "farmyard"),
    ("street",): ("street", "curb", "kerb", "road", "alley", "avenue", "cul de sac", "side street"),
    ("shoulder",): (
        "shoulder", "highway", "freeway", "interstate", "expressway", "turnpike", "roadside", "breakdown lane",
        "side of the road", "side of the highway", "hard shoulder", "pullout", "off ramp", "on ramp",
    ),
    ("open-ramp",): ("open ramp", "open deck", "open sided garage", "open sided parking garage"),
    ("garage",): (
        "garage", "barn", "shed", "workshop", "shop", "warehouse", "hangar", "showroom", "indoors", "inside",
        "car wash", "closed room", "house garage", "home garage",
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
}  # fmt: skip
_KINDS_SAID = {phrase: kinds for kinds, phrases in _SAID_OF_PLACES.items() for phrase in phrases}
_PLACE_WORDS = {choice.word: choice.shown for choice in _PLACES}


def _read_place(text: str, _: State) -> Words:
    """Read where it stands by what people say. Where that may be two kinds of place, it is asked which."""
    plain = f" {' '.join(re.findall(r'[a-z0-9]+', text.lower()))} "
    kinds: dict[str, None] = {}
    for phrase in sorted(_KINDS_SAID, key=len, reverse=True):
        if f" {phrase} " in plain:
            kinds |= dict.fromkeys(_KINDS_SAID[phrase])
            plain = plain.replace(f" {phrase} ", " | ")  # a word of a longer phrase is not a place of its own
    if len(kinds) == 1:
        return {"at": next(iter(kinds))}
    if kinds:
        # The numbers stay those of the question, so that one number always means one place.
        numbers = {choice.word: number for number, choice in enumerate(_PLACES, 1)}
        lines = [f"  {numbers[kind]} {_PLACE_WORDS[kind]}" for kind in sorted(kinds, key=lambda kind: numbers[kind])]
        raise _Several("\n".join([f"{quoted(text)} may be one of these; which?", *lines]))
    raise QuantityError(
        name="at",
        given=text,
        expected=", ".join(_PLACE_WORDS),
        next_step="say the number, the word, or what it is called, such as parking lot or basement",
    )


def _in_the_open(state: State) -> bool:
    return (state.word("at") or "unknown") in {"unknown", *(kind.replace("_", "-") for kind in OPEN_PLACES)}


def _permission_matters(state: State) -> bool:
    outlet = state.rig is not None and isinstance(state.rig.source, SiteOutletSource)
    quiet = state.engine and state.word("quiet_hours") == "yes"
    return outlet or quiet or (not state.engine and state.word("at") in ("garage", "open-ramp", "underground"))


# -------------------------------------------------------------------------------------------------------- dash and need

_DASHES = (
    Choice("dead", {"start": "dead"}, "nothing on the dash", ("nothing", "dark", "black", "blank", "off")),
    Choice("turtle", {"start": "turtle"}, "", ("tortoise", "limp", "reduced power", "a turtle")),
    Choice("dashes", {"start": "dashes"}, "---", ("---", "--", "three dashes")),
)


def _read_dash(text: str, _: State) -> Words:
    """Read what the dash says; a bare number is refused with its readings, like the option."""
    plain = text.lower()
    bars = re.fullmatch(r"(\d{1,2}) ?(?:bars? )?(?:of|out of|/) ?(\d{1,2})(?: ?bars?)?", plain)
    return {"start": f"{bars[1]}/{bars[2]}bars" if bars is not None else plain}


_GOALS = (
    Choice("home", {"goal": "home"}),
    Choice("charger", {"goal": "charger"}, "a fast charger", ("fast charger", "fast-charger")),
    Choice("both", {"goal": "both"}, "home or a fast charger"),
    Choice("miles", {"goal": "miles"}, "so far"),
    Choice("percent", {"goal": "percent"}),
    Choice("minutes", {"goal": "minutes"}, "the time they have"),
)


def _read_goal(text: str, _: State) -> Words:
    """Read a need said at once: `home 32mi`, `charger 18mi`, `45mi`, `80%`, `45min`."""
    plain = text.lower()
    found: dict[str, str] = {}
    for part in re.split(r"\s*(?:,|;| and | or )\s*", plain):
        named = re.fullmatch(r"(home|(?:fast[ -]?)?charger)\s+(?:in |is |at )?(.*)", part)
        if named is not None:
            found["home" if named[1] == "home" else "fast_charger"] = named[2]
        elif re.search(r"\d ?(mi|miles?|km)$", part):
            found["miles"] = part
        elif re.search(r"\d ?(%|percent)$", part):
            found["to"] = part
        elif re.search(r"\d ?(min|minutes?|h|hours?)$", part):
            found["minutes"] = part
        elif re.search(r"\d ?kwh$", part):
            found["kwh"] = part
        else:
            raise QuantityError(
                name="goal",
                given=text,
                expected=", ".join(choice.word for choice in _GOALS) + ", or a figure with its unit",
                next_step="say home 32mi, charger 18mi, 45mi, 80% or 45min",
            )
    return found


def _goal(*goals: str) -> Callable[[State], bool]:
    return lambda state: state.word("goal") in goals


def _read_road(text: str, _: State) -> Words:
    return {"speed": text}


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
            Choice("yes", {"traffic": "clear"}, "out of moving traffic", (*_YES, "clear", "safe")),
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
            Choice("crash", {"danger": ("crash",)}, "", ("accident", "collision", "wreck", "rollover", "hit")),
            Choice(
                "water",
                {"danger": ("water",)},
                "above the sills, now or earlier",
                ("flood", "flooded", "submerged", "river"),
            ),
            Choice(
                "smoke",
                {"danger": ("smoke",)},
                "or a hiss, a pop, a smell, a warm floor",
                (
                    "smell",
                    "smells",
                    "smoking",
                    "fire",
                    "burning",
                    "burnt",
                    "hiss",
                    "hissing",
                    "popping",
                    "fumes",
                    "flames",
                ),
            ),
            Choice(
                "warning",
                {"danger": ("warning",)},
                "high voltage, battery or stop",
                ("red", "red warning", "red light"),
            ),
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
        _fixed(*_yes_no("openings", "near", "clear")),
        unknown={"openings": "unknown"},
        matters=lambda state: state.engine and _in_the_open(state),
        when="a rig with an engine, in the open",
    ),
    Question(
        "people",
        "Can everybody wait 20 ft away from our engine, nobody in a vehicle?",
        "Exhaust fills a vehicle in minutes: nobody sits in one near our engine.",
        ("people",),
        _fixed(*_yes_no("people", "away", "near")),
        unknown={"people": "unknown"},
        matters=lambda state: state.engine and _in_the_open(state),
        when="a rig with an engine, in the open",
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
        "start",
        "What does the dash say?",
        "It is where the charge starts. An unlit dash is another matter: see the next question.",
        ("start",),
        _fixed(*_DASHES),
        form="12%, 8mi or 1/12bars",
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
        "goal",
        "How far must it get: home, a fast charger, miles, percent, minutes?",
        "Only what ends the emergency is charged. Not known: 45 minutes plugged in.",
        _NEEDS,
        _fixed(*_GOALS),
        form="home 32mi, charger 18mi, 45mi, 80% or 45min",
        free=_read_goal,
    ),
    Question(
        "home",
        "How far is it home?",
        "The charge is for this distance, with a tenth of the battery left.",
        ("home",),
        _fixed(),
        form="a distance, such as 32mi",
        free=_text("home"),
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
        free=_text("fast_charger"),
        matters=_goal("charger", "both"),
        when="it goes to a fast charger",
    ),
    Question(
        "charger-fits",
        "Does that charger take this port?",
        "One that does not fit is no goal.",
        ("charger_fits",),
        _fixed(*_yes_no("charger_fits", "yes", "no")),
        unknown={"charger_fits": "unknown"},
        matters=lambda state: state.word("fast_charger") is not None,
        when="it goes to a fast charger",
    ),
    Question(
        "charger-open",
        "Is that charger open?",
        "A closed one is no goal.",
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
        free=_text("miles"),
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
        "parked",
        "How long has it been parked?",
        "A battery that cooled out takes its charge slower; one that stood empty for weeks may not wake.",
        ("parked",),
        _fixed(),
        form="a time, such as 6h, 20min or 2 days",
        free=_text("parked", _time),
    ),
    Question(
        "drove",
        "How long did it drive before?",
        "A long drive warms the battery, and a warm one charges sooner.",
        ("drove",),
        _fixed(),
        form="a time, such as 20min",
        free=_text("drove", _time),
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
        unknown={"key": "unknown"},
    ),
    Question(
        "cabin",
        "Is the heat or cooling on?",
        "What heats the cabin does not go into the battery.",
        ("cabin",),
        _fixed(
            Choice("on", {"cabin": "on"}, "", ("yes", *_YES)),
            Choice("off", {"cabin": "off"}, "", ("no", *_NO)),
        ),
        unknown={"cabin": "unknown"},
        matters=lambda state: any(vehicle.cabin.size_factor > 0 for vehicle in state.classes),
        when="a vehicle with a cabin",
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
        unknown={"port_state": "unknown"},
    ),
    Question(
        "ambient",
        "What is the temperature there?",
        "Cold slows the charge and eats miles; heat and cold take from our source.",
        ("ambient",),
        _fixed(),
        form="a temperature, such as 20F or -5C",
        free=_text("ambient"),
    ),
    Question(
        "altitude",
        "What is the elevation there?",
        "An engine gives less in thin air.",
        ("altitude",),
        _fixed(),
        form="a height, such as 4200ft",
        free=_text("altitude", _feet),
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
    ),
    Question(
        "climb",
        "How many feet does the road climb in all?",
        "Every thousand feet up takes as much as some miles.",
        ("climb",),
        _fixed(Choice("flat", {"climb": "0ft"}, "", ("none", "no", "level"))),
        form="a height, such as 2500ft",
        numbered=False,
        free=_text("climb", _feet),
    ),
    Question(
        "distance",
        "How close can our truck come to the port?",
        "The cable has to reach; nothing is put between couplers.",
        ("distance", "stand"),
        _fixed(),
        form="a length, such as 20ft",
        free=_text("distance", _feet),
    ),
    Question(
        "stand",
        "On which side of it can our truck stand?",
        "The way round the body is part of the cable's length.",
        ("stand", "distance"),
        _fixed(
            Choice("front", {"stand": "front"}, "", ("nose", "ahead")),
            Choice("behind", {"stand": "behind"}, "", ("rear", "tail")),
            Choice("left", {"stand": "left"}, "the driver's left", ("driver",)),
            Choice("right", {"stand": "right"}, "", ("passenger",)),
        ),
        matters=lambda state: state.vehicle is not None,
        when="the distance is not known, the class is",
    ),
    Question(
        "quiet-hours",
        "Do quiet hours hold there now?",
        "An engine is loud: in quiet hours whoever runs the place is asked.",
        ("quiet_hours",),
        _fixed(*_yes_no("quiet_hours", "yes", "no")),
        unknown={"quiet_hours": "unknown"},
        matters=lambda state: state.engine,
        when="a rig with an engine",
    ),
    Question(
        "permission",
        "Does whoever runs the place, or owns the outlet, allow it?",
        "A garage, a deck, an outlet and a quiet night are somebody's.",
        ("permission",),
        _fixed(*_yes_no("permission", "yes", "no")),
        unknown={"permission": "unknown"},
        matters=_permission_matters,
        when="quiet hours, a rig on a site's outlet, or a rig without engine in a garage, on a deck or underground",
    ),
)


# -------------------------------------------------------------------------------------------------------- what is shown


def _choice_lines(question: Question, state: State) -> list[str]:
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


def text_message(*, engine: bool, dash_dead: bool = False, ruling: Ruling | None = None) -> str:
    """Return the message to the caller before we come: at most 480 plain characters, no link.

    Where a ruling keeps people away, nothing is asked for at the vehicle: the message says what instead.
    """
    if ruling is not None and ruling.level == "ask":
        return f"{_FROM_US}, please tell us first: {ruling.question} Until then please keep away. {ruling.remedy}"
    if ruling is not None:
        return f"{_FROM_US}: sorry, we cannot charge it as it is. {ruling.text} {ruling.remedy}"
    photos = "a photo of the open charge port" + ("" if dash_dead else " and one of the dash")
    away = " Everybody stays 20 ft from our engine and out of vehicles near it while it runs." if engine else ""
    return (
        f"{_FROM_US}, please, if it is safe: send {photos}; switch scheduled charging off and set the charge limit "
        "to 100 %; have the key, card or phone at hand; if the car still moves, park so that the charge door side is "
        f"free. Please keep heat and cooling off while it charges.{away} Thank you."
    )


_FROM_US = "From your roadside charging crew"
