"""Connector, adapter, inlet: the paths that serve a vehicle with AC, and why every other one is refused.

AC and DC are separate worlds. An adapter carries one of them and never serves the other, though its contacts may
look alike. One adapter at most: adapters are not chained.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from planner.records import Adapter, Connector, Dataset, Inlet, Rig, VehicleClass

__all__ = ["REFUSAL_SOURCES", "Path", "RefusedPath", "never", "paths", "refusal"]

# Why each kind of path is refused: the source of the rule.
REFUSAL_SOURCES = {
    "dc_adapter_on_ac": "sae-j3400, AC and DC share contacts; ul-2252, adapters are rated for one of them",
    "inlet_dc_only": "chademo-inlet, the interface has no AC contacts",
    "connector_dc_only": "sae-j1772, DC contacts need a DC source",
    "does_not_fit": "coupler standard of the inlet",
    "adapter_takes_another_connector": "coupler standard of the adapter",
    "adapter_not_needed": "coupler standard of the inlet",
    "adapter_not_listed": "ul-2252; charin-adapters, unlisted adapters have failed",
    "adapter_rating_unreadable": "ul-2252, rating marked on the adapter",
    "phases_differ": "coupler standard of the inlet",
}


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """One way from the cable to the vehicle that carries AC."""

    connector: Connector
    adapter: Adapter | None
    inlet: Inlet


@dataclass(frozen=True, slots=True, eq=False)
class RefusedPath:
    """One way that is refused, with a code, a sentence and the source of the rule."""

    connector: str
    adapter: str | None
    inlet: str
    code: str
    text: str
    source: str


def paths(dataset: Dataset, rig: Rig, vehicle: VehicleClass) -> tuple[list[Path], list[RefusedPath]]:
    """Return every way from the rig's connector to the vehicle's inlets: those that carry AC, and the refused."""
    connector = dataset.connectors[rig.evse.cable.connector]
    open_paths: list[Path] = []
    refused: list[RefusedPath] = []
    for inlet in _inlets(dataset, vehicle):
        for adapter_id in (None, *rig.adapters):
            adapter = dataset.adapters[adapter_id] if adapter_id else None
            reason = refusal(dataset, connector, adapter, inlet)
            if reason is None:
                open_paths.append(Path(connector, adapter, inlet))
            else:
                code, text = reason
                refused.append(RefusedPath(connector.id, adapter_id, inlet.id, code, text, REFUSAL_SOURCES[code]))
    return open_paths, refused


def _inlets(dataset: Dataset, vehicle: VehicleClass) -> Iterator[Inlet]:
    seen = set()
    for port in vehicle.ports:
        if port.inlet not in seen:
            seen.add(port.inlet)
            yield dataset.inlets[port.inlet]


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
        return "adapter_rating_unreadable", f"{adapter.name} has no readable rating: it is not used."
    return None


def refusal(dataset: Dataset, connector: Connector, adapter: Adapter | None, inlet: Inlet) -> tuple[str, str] | None:
    """Return code and sentence of the first reason against a path, safety before geometry; None when it is open."""
    if connector.ac is None:
        return "connector_dc_only", f"{connector.name} carries no AC; this unit gives AC."
    if adapter is not None and adapter.carries == "dc":
        return never(adapter)
    if inlet.ac is None:
        return "inlet_dc_only", f"{inlet.name} takes DC only: look for the vehicle's other, AC port."
    if adapter is None:
        if inlet.id in connector.fits:
            return _phases(connector, inlet)
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
    return never(adapter) or _phases(becomes, inlet)


def _phases(connector: Connector, inlet: Inlet) -> tuple[str, str] | None:
    assert connector.ac is not None
    assert inlet.ac is not None
    if 1 not in connector.ac.phases or 1 not in inlet.ac.phases:
        return "phases_differ", f"{inlet.name} does not take one phase, which is what this unit gives."
    return None
