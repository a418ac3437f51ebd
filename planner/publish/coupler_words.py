"""What the pages of ports and plugs have in common: the words for couplers, and how an end on our cable is shown."""

from collections import Counter

from planner.figures import amps, volts
from planner.mating import refusal
from planner.publish.markup import e, verdict_mark
from planner.records import (
    Adapter,
    Connector,
    Contact,
    ContactRole,
    Contacts,
    Dataset,
    Face,
    HeldBy,
    Inlet,
    Outlet,
    Proximity,
    Region,
    Signalling,
)
from planner.tables import PlugPair

__all__ = [
    "HELD_WORDS",
    "LISTING_WORDS",
    "PROXIMITY_WORDS",
    "REGION_WORDS",
    "ROLE_WORDS",
    "SIGNALLING_WORDS",
    "ac_words",
    "contact_words",
    "dc_words",
    "end_id",
    "end_words",
    "goes_mark",
    "inlets_in_order",
    "label_words",
    "once_read",
    "sensing_words",
    "serves_words",
    "short",
    "waits_for_label",
]

LISTING_WORDS = {
    "ul2252": "listed to UL 2252",
    "supplied_by_vehicle_maker": "supplied with the vehicle",
    "none": "none",
}
HELD_WORDS: dict[HeldBy, str] = {
    "thumb_latch": "a thumb latch on the connector",
    "vehicle_pin": "a pin that the vehicle drives in",
    "lever_and_lock": "a latch and a lock in the connector",
    "friction": "friction alone",
    "twist": "a twist of the plug",
}
SIGNALLING_WORDS: dict[Signalling, str] = {
    "pilot": "the 1 kHz pilot",
    "pilot_gb_t": "the 1 kHz pilot, with confirmation contacts of its own scheme",
    "pilot_lin": "a digital bus, LIN, on the pilot contact for three phases; the plain pilot is optional",
    "can": "a data bus of its own",
    "none": "nothing: the charger draws what it is built for",
}
PROXIMITY_WORDS: dict[Proximity, str] = {
    "latch_switch": "whether the latch is shut, no amps",
    "cable_code": "the amps that the cable carries",
    "own_scheme": "a scheme of its own",
    "none": "nothing, it has none",
}
REGION_WORDS: dict[Region, str] = {
    "north_america": "North America",
    "europe": "Europe",
    "japan": "Japan",
    "korea": "Korea",
    "china": "China",
    "elsewhere": "elsewhere",
}
ROLE_WORDS: dict[ContactRole, str] = {
    "l1": "L1",
    "l2": "L2",
    "l3": "L3",
    "neutral": "N",
    "ground": "ground",
    "pilot": "control pilot",
    "proximity": "proximity",
    "dc_plus": "DC+",
    "dc_minus": "DC-",
    "can_high": "data bus, high",
    "can_low": "data bus, low",
    "start_1": "start 1",
    "start_2": "start 2",
    "enable": "enable",
    "auxiliary_plus": "auxiliary +",
    "auxiliary_minus": "auxiliary -",
    "confirm_1": "confirmation 1",
    "confirm_2": "confirmation 2",
    "unused": "not used",
}


LOADED_ROLES = {"l1", "l2", "l3", "neutral"}
DC_ROLES = {"dc_plus", "dc_minus"}


def contact_words(face: Face, contact: Contact) -> str:
    """Return what a contact is; the second one is L2 or N where the face has no contact for the neutral."""
    neutral = any("neutral" in other.roles for other in face.contacts)
    words = ("L2 or N" if role == "l2" and not neutral else ROLE_WORDS[role] for role in contact.roles)
    return " and ".join(words)


def serves_words(face: Face, contact: Contact) -> str:
    """Return whether a contact serves AC, DC or both: where both come through one face, the small ones serve both."""
    every = {role for other in face.contacts for role in other.roles}
    roles = set(contact.roles)
    if every & LOADED_ROLES and every & DC_ROLES:
        ac, dc = not roles <= DC_ROLES, not roles <= LOADED_ROLES
    else:
        ac, dc = bool(every & LOADED_ROLES), bool(every & DC_ROLES)
    return " and ".join(word for word, on in (("AC", ac), ("DC", dc)) if on)


def short(name: str) -> str:
    """Return the name of a coupler without the word for its half."""
    return name.removesuffix(" inlet").removesuffix(" connector")


def inlets_in_order(dataset: Dataset) -> list[Inlet]:
    """Return the inlets as a crew meets them: those of more classes first, then in the order of the data."""
    met = Counter(port.inlet for vehicle in dataset.vehicle_classes.values() for port in vehicle.ports)
    return sorted(dataset.inlets.values(), key=lambda inlet: -met[inlet.id])


def ac_words(contacts: Contacts | None, outlet: Outlet | None = None) -> str:
    """Return what a coupler carries as AC, or no; of a cord's plug also the amps that stand on it."""
    if contacts is None:
        return "no"
    phases = " or ".join(str(count) for count in contacts.phases)
    carried = amps(contacts.current_a)
    if outlet is not None:
        carried = f"{amps(outlet.rating_a)} plug, {carried} for hours"
    return f"{carried}, {volts(contacts.voltage_v)}, {phases} phase"


def dc_words(contacts: Contacts | None) -> str:
    """Return what a coupler carries as DC, or no."""
    return "no" if contacts is None else f"{amps(contacts.current_a)}, {volts(contacts.voltage_v)}"


def sensing_words(coupler: Connector | Inlet) -> str:
    """Return whether a coupler's standard asks for a sensor of temperature at its contacts."""
    return {True: "asked for by its standard", False: "not asked for: feel it", None: "not known: feel it"}[
        coupler.temperature_sensing
    ]


def end_words(pair: PlugPair) -> str:
    """Return the name of what is held: an adapter on our cable, or the bare connector."""
    return pair.connector.name if pair.adapter is None else pair.adapter.name


def end_id(pair: PlugPair) -> str:
    """Return an id of the end held: connectors and adapters have ids of their own kinds."""
    return f"adapter-{pair.adapter.id}" if pair.adapter is not None else f"connector-{pair.connector.id}"


def once_read(dataset: Dataset, pair: PlugPair) -> tuple[str, str] | None:
    """Return what would still be against a pair once its adapter's label is read: code and sentence, or None."""
    if pair.adapter is None or pair.code != "adapter_rating_unreadable":
        return None if pair.code is None else (pair.code, pair.text)
    # Any amps and volts do: they are read to be counted on, and the rules of what goes in do not weigh them.
    read = pair.adapter.model_copy(update={"rating_current_a": 1.0, "rating_voltage_v": 250.0})
    return refusal(dataset, pair.connector, read, pair.inlet)


def waits_for_label(dataset: Dataset, pair: PlugPair) -> bool:
    """Return whether an adapter that came with the vehicle would do at an inlet, its label once read."""
    return (
        pair.adapter is not None
        and pair.code == "adapter_rating_unreadable"
        and pair.adapter.listing == "supplied_by_vehicle_maker"
        and once_read(dataset, pair) is None
    )


def label_words(adapter: Adapter) -> str:
    """Return, as HTML, what makes a customer's adapter count, as it is typed; its figures stand for the label's."""
    return f"Only once its label has been read: <code>--customer-adapter {e(adapter.id)}=80A,250V</code>"


def goes_mark(pair: PlugPair) -> str:
    """Return whether an end goes in on an AC unit, as shape and word."""
    return verdict_mark("serve", "Yes") if pair.code is None else verdict_mark("cannot_serve", "No")
