"""The commands that answer a call: what they read, run and print."""

from argparse import Namespace
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from planner.call_words import adapter_label, call_from_words
from planner.errors import QuantityError, UnknownIdError, quoted
from planner.loading import load, load_for_plan
from planner.planning import plan_with_bands
from planner.records import Adapter, Dataset, Reference
from planner.report import envelope_to_json, envelope_to_text, to_json, to_text

if TYPE_CHECKING:
    from planner.envelope import KnownOfVehicle

__all__ = ["REFUSED", "SERVES", "plan_command"]

SERVES, REFUSED = 0, 1


def plan_command(options: Namespace, note: Callable[[str], None]) -> tuple[int, str]:
    """Answer one call. Returns the exit code and the text or JSON."""
    known = _known(options)
    if known is not None:
        return _envelope(options, known, note)
    call = call_from_words(options, note)
    labels = [adapter_label(text) for text in options.customer_adapter]
    dataset = load_for_plan(
        options.data,
        rig_id=call.rig,
        vehicle_id=call.vehicle,
        adapters=[label[0] for label in labels],
        outlet=call.outlet,
    )
    call = replace(
        call,
        customers_adapters=tuple(_customers_adapter(dataset, *label) for label in labels),
        inlet=_now(dataset.inlets, call.inlet),
        outlet=_now(dataset.outlets, call.outlet),
    )
    for kind, given in (("rigs", call.rig), ("vehicle_classes", call.vehicle)):
        records = getattr(dataset, kind)
        if given not in records:
            note(f"{quoted(given)} is called {next(iter(records))} now")
    found = plan_with_bands(dataset, call)
    code = SERVES if found.verdict in {"serve", "serve_with_changes"} else REFUSED
    return code, to_json(found) if options.json else to_text(found)


def _known(options: Namespace) -> "KnownOfVehicle | None":
    """Return what is known of a vehicle without a class; None where its class is named."""
    given = {name: getattr(options, name) for name in ("port", "body", "built", "battery")}
    told = [name for name, value in given.items() if value is not None]
    if options.vehicle is not None:
        told = [name for name in told if name != "port"]
        if told:
            raise QuantityError(
                name=f"--{told[0]}",
                given=str(given[told[0]]),
                expected="no such word beside --vehicle",
                next_step="name the class, or leave --vehicle out and say what is known",
            )
        return None
    if not told:
        raise QuantityError(
            name="--vehicle",
            given="",
            expected="a class, or what is known: --port, --body, --built, --battery",
            next_step="write --vehicle midsize-suv, or --port j1772",
        )
    body = {"hatchback": "hatch"}.get(options.body, options.body)
    from planner.envelope import KnownOfVehicle  # wanted without a class alone

    return KnownOfVehicle(options.port, body, options.built, options.battery)


def _envelope(options: Namespace, known: "KnownOfVehicle", note: Callable[[str], None]) -> tuple[int, str]:
    from planner.envelope import envelope  # wanted without a class alone

    dataset = load(options.data)
    if known.inlet is not None and known.inlet not in dataset.inlets:
        raise UnknownIdError(
            kind="port", given=known.inlet, known=sorted(dataset.inlets), list_command="rangeferry list inlets"
        )
    dataset.rig(options.rig)
    labels = [adapter_label(text) for text in options.customer_adapter]
    adapters = tuple(_customers_adapter(dataset, *label) for label in labels)
    found = envelope(dataset, replace(call_from_words(options, note), customers_adapters=adapters), known)
    code = SERVES if found.verdict in {"serve", "serve_with_changes"} else REFUSED
    return code, envelope_to_json(found) if options.json else envelope_to_text(found)


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
