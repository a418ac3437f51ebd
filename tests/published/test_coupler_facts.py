"""Facts of couplers that print gives in words: contacts, which are shared, who tells a code, what holds them together.

Ratings are in `couplers.yaml`. Each value names its source; what stands in secondary print alone says so.
"""

from collections import Counter

import pytest

SIGNALS = ("ground", "pilot", "proximity")
AC, DC = {"l1", "l2", "l3", "neutral"}, {"dc_plus", "dc_minus"}

# (inlet, contacts, source)
CONTACT_COUNTS = [
    ("j1772", 5, "encyclopedia article on SAE J1772"),
    ("ccs1", 7, "a component maker's comparison of couplers, maker withheld"),
    ("j3400", 5, "encyclopedia article on the North American charging coupler"),
    ("type-2", 7, "encyclopedia article on the Type 2 connector"),
    ("ccs2", 9, "a component maker's comparison of couplers, maker withheld"),
    ("chademo", 10, "pin list of an open vehicle-side controller: 10 positions, one unused"),
    ("gb-t-ac", 7, "GB/T 20234.2, draft text, contact table"),
    ("gb-t-dc", 9, "a component maker's comparison of couplers, maker withheld"),
    ("j3068", 7, "secondary: encyclopedia article on SAE J3068"),
    ("own-cord-5-15", 3, "NEMA configuration charts: hot, neutral, ground"),
    ("own-cord-l5-30", 3, "NEMA configuration charts: hot, neutral, ground"),
    ("own-cord-iec-60309-16", 3, "IEC 60309-2 by a public catalogue: 2P+E"),
]

# Roles of the power contacts, from the pin lists of the same sources; one set for each contact.
POWER_CONTACTS = [
    ("j1772", [{"l1"}, {"l2"}]),
    ("ccs1", [{"l1"}, {"l2"}, {"dc_plus"}, {"dc_minus"}]),
    ("j3400", [{"l1", "dc_plus"}, {"l2", "dc_minus"}]),  # the pair that is shared
    ("type-2", [{"l1"}, {"l2"}, {"l3"}, {"neutral"}]),
    ("ccs2", [{"l1"}, {"l2"}, {"l3"}, {"neutral"}, {"dc_plus"}, {"dc_minus"}]),
    ("chademo", [{"dc_plus"}, {"dc_minus"}]),
    ("gb-t-ac", [{"l1"}, {"l2"}, {"l3"}, {"neutral"}]),
    ("gb-t-dc", [{"dc_plus"}, {"dc_minus"}]),
    ("j3068", [{"l1"}, {"l2"}, {"l3"}, {"neutral"}]),
]


@pytest.mark.parametrize(("inlet", "count", "source"), CONTACT_COUNTS)
def test_an_inlet_has_as_many_contacts_as_in_print(dataset, inlet, count, source):
    assert len(dataset.faces[inlet].contacts) == count, source


def test_chademo_leaves_one_of_its_ten_positions_unused(dataset):
    """Pin list of an open vehicle-side controller: 10 positions, 9 used."""
    assert Counter(role for contact in dataset.faces["chademo"].contacts for role in contact.roles)["unused"] == 1


@pytest.mark.parametrize(("inlet", "contacts"), POWER_CONTACTS)
def test_power_contacts_are_those_of_the_pin_list(dataset, inlet, contacts):
    found = [set(contact.roles) for contact in dataset.faces[inlet].contacts if set(contact.roles) & (AC | DC)]

    assert sorted(map(sorted, found)) == sorted(map(sorted, contacts))


def test_ac_and_dc_share_contacts_in_j3400_alone(dataset):
    """SAE J3400 by an encyclopedia article: DC+/L1 and DC-/L2. In CCS the power contacts are apart."""
    shared = {
        inlet
        for inlet, face in dataset.faces.items()
        for contact in face.contacts
        if set(contact.roles) & AC and set(contact.roles) & DC
    }

    assert shared == {"j3400"}


@pytest.mark.parametrize("inlet", ["j1772", "ccs1", "j3400", "type-2", "ccs2", "gb-t-ac", "j3068"])
def test_ground_pilot_and_proximity_have_a_contact_of_their_own(dataset, inlet):
    """Pin lists of the same sources; in GB/T AC the contact CC stands where proximity is."""
    roles = [contact.roles for contact in dataset.faces[inlet].contacts]

    assert all(roles.count((signal,)) == 1 for signal in SIGNALS)


@pytest.mark.parametrize(
    ("connector", "left_out"), [("ccs1", {"l1", "l2"}), ("ccs2", {"l1", "l2", "l3", "neutral"}), ("j1772", set())]
)
def test_a_ccs_connector_leaves_its_ac_contacts_empty(dataset, connector, left_out):
    """Encyclopedia articles on SAE J1772 and the Type 2 connector: the combination's DC cable has no AC contacts."""
    assert set(dataset.connectors[connector].left_out) == left_out
    assert (dataset.connectors[connector].ac is None) is bool(left_out)


@pytest.mark.parametrize(("inlet", "metal"), [("type-2", "pins"), ("ccs2", "pins"), ("gb-t-ac", "holes")])
def test_type_2_stands_in_pins_and_gb_t_ac_in_holes(dataset, inlet, metal):
    """Encyclopedia article on the GB/T standard and its draft text: same outline, the other way round.

    CCS2's upper part is Type 2.
    """
    assert dataset.faces[inlet].metal == metal


@pytest.mark.parametrize(
    ("coupler", "standard"),
    [
        ("ccs1", "IEC 62196-3 configuration EE"),
        ("ccs2", "IEC 62196-3 configuration FF"),
        ("chademo", "IEC 62196-3 configuration AA"),
        ("j1772", "IEC 62196-2 configuration Type 1"),
        ("type-2", "IEC 62196-2 configuration Type 2"),
        ("gb-t-ac", "GB/T 20234.2"),
        ("gb-t-dc", "GB/T 20234.3"),
    ],
)
def test_each_half_names_its_configuration(dataset, coupler, standard):
    """IEC 62196-3 letters: an open vehicle-signal specification in a public repository."""
    assert standard in dataset.inlets[coupler].standard
    assert standard in dataset.connectors[coupler].standard


# Lock kinds: a component maker's comparison of couplers; J1772's thumb lever also a support article on its basics.
HELD_BY = {
    "j1772": "thumb_latch",
    "ccs1": "thumb_latch",
    "gb-t-ac": "thumb_latch",
    "type-2": "vehicle_pin",
    "ccs2": "vehicle_pin",
    "j3400": "vehicle_pin",
    "j3068": "vehicle_pin",  # its shape is Type 2's: secondary print
    "chademo": "lever_and_lock",
    "gb-t-dc": "lever_and_lock",
}


@pytest.mark.parametrize(("coupler", "held_by"), HELD_BY.items())
def test_what_holds_a_coupler_together(dataset, coupler, held_by):
    assert dataset.connectors[coupler].held_by == dataset.inlets[coupler].held_by == held_by


@pytest.mark.parametrize(
    ("coupler", "phases"),
    [("j1772", (1,)), ("ccs1", (1,)), ("j3400", (1,)), ("type-2", (1, 3)), ("ccs2", (1, 3)), ("gb-t-ac", (1, 3))],
)
def test_phases_of_an_ac_coupler(dataset, coupler, phases):
    """Encyclopedia articles on SAE J1772, the North American coupler, Type 2 and GB/T."""
    assert dataset.inlets[coupler].ac.phases == phases


@pytest.mark.parametrize(
    ("coupler", "told"), [("j1772", "latch_switch"), ("j3400", "latch_switch"), ("type-2", "cable_code")]
)
def test_what_the_proximity_contact_tells(dataset, coupler, told):
    """Support article on J1772 basics: a latch and no amps. Readme of an open controller: Type 2 tells amps."""
    assert dataset.connectors[coupler].proximity == dataset.inlets[coupler].proximity == told
