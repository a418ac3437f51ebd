"""Connector, adapter, inlet: the paths that serve a vehicle with AC, and why every other one is refused.

AC and DC are separate worlds. An adapter carries one of them and never serves the other, though its contacts may
look alike. One adapter at most: adapters are not chained.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from planner.records import Adapter, Cable, Connector, Dataset, Inlet, Rig, VehicleClass, VehiclePort

__all__ = [
    "ALL_BUT_CERTAIN",
    "KEPT_WORDS",
    "REFUSAL_CODES",
    "Kept",
    "Path",
    "RefusedLead",
    "RefusedPath",
    "code_told_a",
    "has_one_certain_port",
    "kept_adapters",
    "never",
    "paths",
    "refusal",
    "refusal_source",
    "share_reached",
    "takes_ac",
]

Kept = Literal["on_board", "at_depot", "customers"]
KEPT_WORDS: dict[Kept, str] = {
    "on_board": "on board",
    "at_depot": "from the depot",
    "customers": "the customer's own",
}
CUSTOMERS: Kept = "customers"
_SHARE_SLACK = 1e-6
# Below this share of a class a rig does not reach the class as it stands: own judgement, one in two hundred.
ALL_BUT_CERTAIN = 0.995

# Why each kind of path is refused: the source of the rule. {inlet}, {connector} and {adapter} stand for the standard
# of that half: of the inlet, of the cable's connector, of the connector that the adapter takes.
_REFUSAL_SOURCES = {
    "connector_dc_only": "{connector}: its contacts carry DC alone",
    "dc_adapter_on_ac": "{adapter}; ul-2252, adapters are rated for AC or for DC",
    "own_supply_cord": "{inlet}: the plug of a supply cord goes into a receptacle",
    "inlet_dc_only": "{inlet}: the interface has no AC contacts",
    "port_dc_only": "class record: its AC contacts are not connected",
    "does_not_fit": "{inlet}: shape of the inlet",
    "signalling_differs": "{inlet}: how the current is agreed",
    "phases_differ": "{inlet}: phases it takes",
    "adapter_takes_another_connector": "{adapter}: shape of what it takes",
    "adapter_not_needed": "{inlet}: takes the connector directly",
    "adapter_not_listed": "ul-2252; charin-adapters, unlisted adapters have failed",
    "adapter_rating_unreadable": "ul-2252, rating marked on the adapter",
}
REFUSAL_CODES = frozenset(_REFUSAL_SOURCES)


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """One way from the cable to the vehicle that carries AC."""

    rig: Rig  # as if it had this way's cable alone
    connector: Connector
    adapter: Adapter | None
    inlet: Inlet
    port: VehiclePort
    kept: Kept | None = None  # where the adapter is, None without one

    @property
    def cable(self) -> Cable:
        """Return the cable of this way."""
        return self.rig.evse.cable


@dataclass(frozen=True, slots=True, eq=False)
class RefusedPath:
    """One way that is refused, with a code, a sentence and the source of the rule."""

    connector: str
    adapter: str | None
    inlet: str
    code: str
    text: str
    source: str
    kept: Kept | None = None


@dataclass(frozen=True, slots=True, eq=False)
class RefusedLead:
    """A lead of the rig that is not used, with code, sentence and the source of the rule."""

    lead: str
    name: str
    kept: Kept
    code: str
    text: str
    source: str


def paths(
    dataset: Dataset,
    rig: Rig,
    vehicle: VehicleClass,
    *,
    inlet: str | None = None,
    customers: Sequence[Adapter] = (),
) -> tuple[list[Path], list[RefusedPath]]:
    """Return every way from the rig's cables to the vehicle's inlets: those that carry AC, and the refused.

    `inlet` is the one that this vehicle is known to have, `customers` are adapters that the customer has. A port that
    takes DC alone says nothing of an AC port that may stand beside it: then all are looked at.
    """
    open_paths: list[Path] = []
    refused: list[RefusedPath] = []
    known = tuple(port for port in vehicle.ports if port.inlet == inlet)
    beside = sum(port.share for port in vehicle.ports) > 1 + _SHARE_SLACK
    ports = vehicle.ports if not known or (beside and not _takes_ac(dataset, known[0])) else known
    candidates = [*kept_adapters(dataset, rig), *((adapter, CUSTOMERS) for adapter in customers)]
    for variant in rig.by_cable:
        connector = dataset.connectors[variant.evse.cable.connector]
        for port in ports:
            half = dataset.inlets[port.inlet]
            for adapter, kept in candidates:
                reason = refusal(dataset, connector, adapter, half, port)
                if reason is None:
                    open_paths.append(Path(variant, connector, adapter, half, port, kept))
                    continue
                code, text = reason
                source = refusal_source(dataset, code, connector, adapter, half)
                adapter_id = adapter.id if adapter is not None else None
                refused.append(RefusedPath(connector.id, adapter_id, half.id, code, text, source, kept))
    return open_paths, refused


def kept_adapters(dataset: Dataset, rig: Rig) -> Iterator[tuple[Adapter | None, Kept | None]]:
    """Yield no adapter, those on board, and those at the depot that are not on board."""
    yield None, None
    for adapter_id in rig.adapters:
        yield dataset.adapters[adapter_id], "on_board"
    for adapter_id in rig.adapters_at_depot:
        if adapter_id not in rig.adapters:
            yield dataset.adapters[adapter_id], "at_depot"


def has_one_certain_port(dataset: Dataset, vehicle: VehicleClass) -> bool:
    """Return whether every vehicle of a class charges with AC through one and the same inlet."""
    return (
        any(port.share >= ALL_BUT_CERTAIN and _takes_ac(dataset, port) for port in vehicle.ports)
        and sum(_takes_ac(dataset, port) for port in vehicle.ports) == 1
    )


def share_reached(dataset: Dataset, vehicle: VehicleClass, inlets: set[str]) -> tuple[float, bool]:
    """Return which share of a class is sure to have one of these inlets, and whether that is all but all of it.

    Ports are either-or while their shares add up to 1 at most. Beyond that some vehicles have two of them, nobody has
    stated which, and only the commonest one is counted on.
    """
    shares = {port.inlet: port.share for port in vehicle.ports if _takes_ac(dataset, port)}
    reached = [share for inlet, share in shares.items() if inlet in inlets]
    either_or = sum(shares.values()) <= 1 + _SHARE_SLACK
    total = sum(reached) if either_or else max(reached, default=0.0)
    return total, total + _SHARE_SLACK >= ALL_BUT_CERTAIN


def takes_ac(dataset: Dataset, vehicle: VehicleClass, inlet: str | None) -> bool:
    """Return whether an inlet of a class is known and takes AC there."""
    port = vehicle.port(inlet) if inlet is not None else None
    return port is not None and _takes_ac(dataset, port)


def _takes_ac(dataset: Dataset, port: VehiclePort) -> bool:
    return dataset.inlets[port.inlet].ac is not None and (port.carries is None or "ac" in port.carries)


def code_told_a(connector: Connector, adapter: Adapter | None, cable: Cable) -> float | None:
    """Return the amps that a loose cable's resistor tells the vehicle; None where the vehicle is not told.

    Only a coupler whose proximity contact carries a code tells it, and only straight: an adapter has its own.
    """
    told = cable.code_a is not None and connector.proximity == "cable_code" and adapter is None
    return float(cable.code_a) if told and cable.code_a is not None else None


def never(adapter: Adapter) -> tuple[str, str] | None:
    """Return why an adapter is never used on an AC unit, whatever it is held to; None where it may be."""
    if adapter.carries == "dc":
        return (
            "dc_adapter_on_ac",
            f"{adapter.name} carries DC only. It may seem to fit, but it has no AC path: never use it on this unit.",
        )
    if adapter.listing == "none":
        return "adapter_not_listed", f"{adapter.name} has no listing: it is not used, whatever it says on its label."
    if adapter.rating_current_a is None or adapter.rating_voltage_v is None:
        return (
            "adapter_rating_unreadable",
            f"{adapter.name} has no readable rating: it is not used until its amps and volts are read off its label.",
        )
    return None


def refusal(
    dataset: Dataset, connector: Connector, adapter: Adapter | None, inlet: Inlet, port: VehiclePort | None = None
) -> tuple[str, str] | None:
    """Return code and sentence of the first reason against a path, safety before geometry; None when it is open.

    `port` says what the inlet carries on one class, where that is less than the inlet could.
    """
    if connector.ac is None:
        return "connector_dc_only", f"{connector.name} carries no AC; this unit gives AC."
    if adapter is not None and adapter.carries == "dc":
        return never(adapter)
    if inlet.plugs_into is not None:
        outlet = dataset.outlets[inlet.plugs_into]
        return (
            "own_supply_cord",
            f"{inlet.name}: it charges by a cord of its own, straight from a {outlet.configuration} receptacle; no "
            "EVSE cable goes into it.",
        )
    if inlet.ac is None:
        return "inlet_dc_only", f"{inlet.name} takes DC only: look for the vehicle's other, AC port."
    if port is not None and port.carries is not None and "ac" not in port.carries:
        return "port_dc_only", f"{inlet.name} takes DC only on this class: look for the vehicle's other, AC port."
    if adapter is None:
        if inlet.id in connector.fits:
            return _agrees(connector, inlet, f"{connector.name} goes into {inlet.name}")
        return "does_not_fit", f"{connector.name} does not go into {inlet.name}. Do not force it."
    if adapter.takes != connector.id:
        taken = dataset.connectors[adapter.takes]
        return (
            "adapter_takes_another_connector",
            f"{adapter.name} takes {taken.name}; this unit's cable ends in {connector.name}.",
        )
    becomes = dataset.connectors[adapter.becomes]
    if inlet.id not in becomes.fits:
        if inlet.id in connector.fits:
            return "adapter_not_needed", f"{inlet.name} takes {connector.name} directly: no adapter is wanted."
        return "does_not_fit", f"{adapter.name} does not go into {inlet.name}. Do not force it."
    # An adapter joins contacts: it makes no other signal and no phase, so that the cable's own end counts as well.
    joined = f"{adapter.name} brings {connector.name} to {inlet.name}"
    return never(adapter) or _agrees(connector, inlet, joined) or _agrees(becomes, inlet, joined)


def _agrees(connector: Connector, inlet: Inlet, joined: str) -> tuple[str, str] | None:
    """Return why two halves that are joined still carry nothing: another signal, or other phases."""
    assert connector.ac is not None
    assert inlet.ac is not None
    if connector.signalling != inlet.signalling:
        return (
            "signalling_differs",
            f"{joined}, but the two agree on the current in different ways. Do not plug it in, unless the vehicle's "
            "maker says that it also takes this one.",
        )
    if 1 not in connector.ac.phases or 1 not in inlet.ac.phases:
        return "phases_differ", f"{inlet.name} does not take one phase, which is what this unit gives."
    return None


def refusal_source(dataset: Dataset, code: str, connector: Connector, adapter: Adapter | None, inlet: Inlet) -> str:
    """Return the source of a refusal's rule, with the standard of the half that it speaks of."""
    taken = dataset.connectors[adapter.takes].standard if adapter is not None else ""
    return _REFUSAL_SOURCES[code].format(connector=connector.standard, adapter=taken, inlet=inlet.standard)
