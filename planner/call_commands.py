"""The commands that answer a call: what they read, run and print."""

from argparse import Namespace
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from planner.answer import Call
from planner.call_words import adapter_label, call_from_words
from planner.errors import QuantityError, UnknownIdError, quoted
from planner.loading import load, load_for_plan
from planner.plan_types import Ask, Plan
from planner.planning import plan_with_bands
from planner.records import BODIES_SAID, Adapter, Dataset, Reference
from planner.report import (
    VERDICT_WORDS,
    envelope_to_json,
    envelope_to_text,
    to_json,
    to_text,
    turns_to_json,
    turns_to_text,
)

if TYPE_CHECKING:
    from planner.call_file import CallFile
    from planner.dialogue import State, Words
    from planner.envelope import Envelope, KnownOfVehicle

__all__ = ["REFUSED", "SERVES", "answered", "call_command", "plan_command", "planned"]

SERVES, REFUSED = 0, 1


def plan_command(options: Namespace, note: Callable[[str], None]) -> tuple[int, str]:
    """Answer one call. Returns the exit code and the text or JSON."""
    found = answered(options, note)
    code = SERVES if found.verdict in {"serve", "serve_with_changes"} else REFUSED
    if isinstance(found, Plan):
        return code, to_json(found) if options.json else to_text(found)
    return code, envelope_to_json(found) if options.json else envelope_to_text(found)


def answered(options: Namespace, note: Callable[[str], None]) -> "Plan | Envelope":
    """Return the plan of a call whose class is named, else what holds for every class that it may be."""
    known = _known(options)
    if known is not None:
        return _envelope(options, known, note)
    try:
        return planned(options, note)
    except UnknownIdError as error:
        known = _parted(options, note) if error.kind == "vehicle" else None
        if known is None:
            raise
    return _envelope(options, known, note)


def _parted(options: Namespace, note: Callable[[str], None]) -> "KnownOfVehicle | None":
    """Return what a former class that was parted stands for now, or None where no such class was."""
    splits = load(options.data).splits
    split = next((item for item in splits.values() if options.vehicle in (item.id, *item.formerly)), None)
    if split is None:
        return None
    from planner.envelope import KnownOfVehicle  # wanted without a class alone

    note(f"{quoted(options.vehicle)} was parted into {' and '.join(split.into)} in data {split.since}: {split.why}")
    return KnownOfVehicle(inlet=options.port, parted=options.vehicle, among=split.into)


def planned(options: Namespace, note: Callable[[str], None]) -> Plan:
    """Return the plan of a call whose class is named, from the words of its options."""
    call = call_from_words(options, note)
    dataset = load_for_plan(
        options.data,
        rig_id=call.rig,
        vehicle_id=call.vehicle,
        adapters=[adapter_label(text)[0] for text in options.customer_adapter],
        outlet=call.outlet,
    )
    call = _resolved(dataset, options, note, call=call)
    for kind, given in (("rigs", call.rig), ("vehicle_classes", call.vehicle)):
        records = getattr(dataset, kind)
        if given not in records:
            note(f"{quoted(given)} is called {next(iter(records))} now")
    return plan_with_bands(dataset, call)


def _resolved(dataset: Dataset, options: Namespace, note: Callable[[str], None], *, call: Call | None = None) -> Call:
    """Return the call that the words say, with the records that it names."""
    call = call_from_words(options, note) if call is None else call
    labels = [adapter_label(text) for text in options.customer_adapter]
    return replace(
        call,
        customers_adapters=tuple(_customers_adapter(dataset, *label) for label in labels),
        inlet=_now(dataset.inlets, call.inlet),
        outlet=_now(dataset.outlets, call.outlet),
    )


def _known(options: Namespace) -> "KnownOfVehicle | None":
    """Return what is known of a vehicle without a class; None where its class is named."""
    given = {name: getattr(options, name) for name in ("port", "body", "built", "battery", "fuel_door")}
    told = [name for name, value in given.items() if value is not None]
    if options.vehicle is not None:
        told = [name for name in told if name != "port"]
        if told:
            raise QuantityError(
                name=f"--{told[0].replace('_', '-')}",
                given=str(given[told[0]]),
                expected="no such word beside --vehicle",
                next_step="name the class, or leave --vehicle out and say what is known",
            )
        return None
    if not told and not getattr(options, "half_known", False):
        raise QuantityError(
            name="--vehicle",
            given="",
            expected="a class, or what is known: --port, --body, --built, --battery, --fuel-door",
            next_step="write --vehicle midsize-suv, or --port j1772",
        )
    body = BODIES_SAID.get(options.body, options.body)
    from planner.envelope import KnownOfVehicle  # wanted without a class alone

    fuel_door = {"yes": True, "no": False}.get(options.fuel_door)
    return KnownOfVehicle(options.port, body, options.built, options.battery, fuel_door)


def _envelope(options: Namespace, known: "KnownOfVehicle", note: Callable[[str], None]) -> "Envelope":
    from planner.envelope import envelope  # wanted without a class alone

    dataset = load(options.data)
    if known.inlet is not None and known.inlet not in dataset.inlets:
        raise UnknownIdError(
            kind="port", given=known.inlet, known=sorted(dataset.inlets), list_command="rangeferry list inlets"
        )
    dataset.rig(options.rig)
    labels = [adapter_label(text) for text in options.customer_adapter]
    adapters = tuple(_customers_adapter(dataset, *label) for label in labels)
    return envelope(dataset, replace(call_from_words(options, note), customers_adapters=adapters), known)


def _now(records: Mapping[str, Reference], given: str | None) -> str | None:
    """Return the present id of a record that may have been named by a former one."""
    return next((record.id for record in records.values() if given in (record.id, *record.formerly)), given)


def _customers_adapter(dataset: Dataset, adapter_id: str, current_a: float | None, voltage_v: float | None) -> Adapter:
    """Return the customer's adapter as its label says; the record's own label where none was read."""
    found = next(
        (adapter for adapter in dataset.adapters.values() if adapter_id in (adapter.id, *adapter.formerly)), None
    )
    if found is None:
        raise UnknownIdError(
            kind="adapter", given=adapter_id, known=sorted(dataset.adapters), list_command="rangeferry list adapters"
        )
    # What is on record is our own label, or nobody's: the customer's counts once it was read.
    return found.model_copy(update={"rating_current_a": current_a, "rating_voltage_v": voltage_v})


# ------------------------------------------------------------------------------------------------------ a call in words


def call_command(
    options: Namespace, ask: Callable[[str], str | None], tell: Callable[[str], None], note: Callable[[str], None]
) -> int:
    """Answer a call that is spoken, or kept in a file. Returns the exit code, that of `plan`.

    `ask` shows a prompt and returns the answer, None at the end of input; what is said in between goes with the next
    prompt, so that `tell` is given results alone.
    """
    from planner.call_file import read_call, words_of  # wanted by this command alone

    if options.script:
        from planner.dialogue import script

        tell(script(load(options.data), options.rig))
        return SERVES
    typed = words_of(options)
    for name, beside in (("--save", options.save), ("--from", options.from_file)):
        if beside is not None and options.save is not None and options.from_file is not None:
            raise QuantityError(
                name=name, given=str(beside), expected="a call that is spoken", next_step="leave --save or --from out"
            )
    if options.then == "-":
        raise QuantityError(
            name="--then",
            given=options.then,
            expected="a file: the call before it may be piped in",
            next_step="write it to a file and name that",
        )
    dataset = load(options.data)
    second = None if options.then is None else read_call(options.then, lambda: ask(""))
    if options.from_file is None:
        kept = None
        words = _spoken(options, dataset, typed, ask, note)
    else:
        kept = read_call(options.from_file, lambda: ask(""))
        words = {**kept.words, **_not_twice(kept.words, typed)}
    if second is not None:
        return _then(options, dataset, (words, kept), second, tell, note)
    return _tell_answer(options, dataset, words, kept, tell, note)


def _not_twice(in_file: "Words", typed: "Words") -> "Words":
    """Return what was typed beside a file; refuse a word that stands in both."""
    twice = next((name for name in typed if name in in_file), None)
    if twice is not None:
        raise QuantityError(
            name=f"--{twice.replace('_', '-')}",
            given=str(typed[twice]),
            expected="each word once, and it stands in the file too",
            next_step="leave it out of the file, or leave the option out",
        )
    return typed


def _spoken(
    options: Namespace,
    dataset: Dataset,
    typed: "Words",
    ask: Callable[[str], str | None],
    note: Callable[[str], None],
) -> "Words":
    """Return the words of a call that is asked for, and keep them where that is wanted."""
    from planner.call_dialogue import run_dialogue
    from planner.call_file import call_of, require_new, save_call
    from planner.dialogue import begin, final_words

    if options.save is not None:
        require_new(options.save)  # before a customer is asked a dozen questions for nothing
    _refuse_parted(dataset, typed)
    first = begin(dataset, typed, call_of)
    said = [first.say] if first.say else []

    def ask_with_said(prompt: str) -> str | None:
        text = "\n".join([*said, prompt])
        said.clear()
        return ask(text)

    state = first.state

    def keep(now: "State") -> None:
        nonlocal state
        state = now

    try:
        run_dialogue(state, ask_with_said, said.append, keep)
    finally:
        # Interrupted too: what a customer has said is not asked for again.
        if options.save is not None:
            save_call(options.save, final_words(state))
            note(f"call written to {options.save}; --from answers it again")
    for text in said:
        note(text)
    return final_words(state)


def _refuse_parted(dataset: Dataset, typed: "Words") -> None:
    """Refuse a former class that was parted, before a customer is asked: what is seen narrows better than its name."""
    split = dataset.splits.get(str(typed.get("vehicle", "")))
    if split is not None:
        raise QuantityError(
            name="--vehicle",
            given=split.id,
            expected=f"a class of now: it was parted into {' and '.join(split.into)}",
            next_step="name one of them, or leave --vehicle out and say what is seen",
        )


def _tell_answer(
    options: Namespace,
    dataset: Dataset,
    words: "Words",
    kept: "CallFile | None",
    tell: Callable[[str], None],
    note: Callable[[str], None],
) -> int:
    """Tell the message to the caller, and the plan."""
    from planner.call_file import options_of

    if "rig" not in words:
        return _tell_by_rig(options, dataset, words, kept, tell, note)
    try:
        found = answered(_beside(options, options_of(words)), note)
    except (QuantityError, UnknownIdError) as error:
        if kept is None:
            raise
        raise kept.faults(error) from None
    if isinstance(found, Plan):
        text = to_json(found) if options.json else to_text(found)
    else:
        text = envelope_to_json(found) if options.json else envelope_to_text(found)
    _tell_message(options, dataset, words, tell, note, refused=found.verdict == "cannot_serve", ask=found.ask)
    tell(text)
    return SERVES if found.verdict in {"serve", "serve_with_changes"} else REFUSED


def _beside(options: Namespace, said: Namespace) -> Namespace:
    """Return the options that a call says, with the folders and the form of the answer as typed."""
    said.data, said.json = options.data, options.json
    return said


def _tell_message(
    options: Namespace,
    dataset: Dataset,
    words: "Words",
    tell: Callable[[str], None],
    note: Callable[[str], None],
    *,
    refused: bool,
    ask: "Ask | None" = None,
) -> None:
    """Tell the message that goes to the caller; none where the answer is no for a reason that is ours."""
    from planner.call_file import call_of
    from planner.dialogue import asked_of_caller, begin, keeps_away, text_message

    state = begin(dataset, words, call_of).state
    ruling = keeps_away(state)
    if refused and ruling is None:
        return
    message = text_message(
        engine=state.engine,
        dash_dead=words.get("start") == "dead",
        port_frozen=words.get("port_state") == "frozen",
        ruling=ruling,
        question=None if ask is None else asked_of_caller(ask.code, ask.question, words),
    )
    if options.json:
        note(f"text message to the caller: {message}")
    else:
        tell(f"Text message to the caller, ready to copy:\n{message}\n\n")


def _tell_by_rig(
    options: Namespace,
    dataset: Dataset,
    words: "Words",
    kept: "CallFile | None",
    tell: Callable[[str], None],
    note: Callable[[str], None],
) -> int:
    """Tell what each rig would answer, where nobody has said which one goes: the question is which."""
    from planner.call_file import options_of

    question = "Which rig goes?"
    verdicts: dict[str, str] = {}
    for rig in dataset.rigs.values():
        try:
            found = answered(_beside(options, options_of({**words, "rig": rig.id})), lambda _: None)
        except UnknownIdError as error:
            if kept is None:
                raise
            raise kept.faults(error) from None
        except QuantityError as error:  # a fuel or an outlet that this rig has no use for
            verdicts[rig.id] = str(error)
        else:
            verdicts[rig.id] = VERDICT_WORDS[found.verdict]
    if options.json:
        import json

        ask = {"question": question, "code": "ask_rig"}
        tell(json.dumps({"verdict": "ask_first", "ask": ask, "by_rig": verdicts}, indent=2) + "\n")
        return REFUSED
    _tell_message(options, dataset, words, tell, note, refused=False)
    width = max(map(len, verdicts), default=0)
    lines = [f"{VERDICT_WORDS['ask_first']}: no rig is named", f"? {question}", ""]
    lines += [f"  {rig:<{width}}  {text}" for rig, text in verdicts.items()]
    tell("\n".join([*lines, "", "Name it with --rig for the plan."]) + "\n")
    return REFUSED


def _then(
    options: Namespace,
    dataset: Dataset,
    first: "tuple[Words, CallFile | None]",
    second: "CallFile",
    tell: Callable[[str], None],
    note: Callable[[str], None],
) -> int:
    """Answer two calls that one rig serves in turn: the second starts with what the first leaves."""
    from planner.call_file import options_of
    from planner.turns import SERVED, in_turn

    words, kept = first
    rig = words.get("rig")
    if "rig" in second.words and rig != second.words["rig"]:
        raise second.faults(
            QuantityError(
                name="--rig",
                given=str(second.words["rig"]),
                expected=f"the rig of the call before it, {rig or 'which is not named'}",
                next_step="leave it out, or ask for each call on its own",
            )
        )
    calls = []
    for each, file in ((words, kept), ({**({"rig": rig} if rig else {}), **second.words}, second)):
        for name in ("rig", "vehicle"):
            if name not in each:
                raise QuantityError(
                    name=f"--{name}",
                    given="",
                    expected=f"a {name} in both calls: what the first leaves depends on it",
                    next_step=f"say it with --{name}, or in the file",
                )
        try:
            calls.append(_resolved(dataset, options_of(each), note))
        except (QuantityError, UnknownIdError) as error:
            if file is None:
                raise
            raise file.faults(error) from None
    found = in_turn(dataset, calls)
    tell(turns_to_json(found) if options.json else turns_to_text(found))
    return SERVES if all(each.verdict in SERVED - {"try"} for each in found.plans) else REFUSED
