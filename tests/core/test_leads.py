"""Supply-side leads: which may stand ahead of an EVSE, behind which breaker, and a rig at another outlet by one."""

import itertools
from dataclasses import replace

import make
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.answer import Call
from planner.errors import QuantityError, UnknownIdError
from planner.leads import (
    LEAD_CAUTIONS,
    LEAD_REFUSAL_SOURCES,
    AtOutlet,
    LeadRefusal,
    at_outlet,
    largest_device_ahead_a,
    lead_cautions,
    lead_limit_a,
    lead_matrix,
    lead_never,
    lead_refusal,
)
from planner.planning import plan
from planner.protection import findings
from planner.records import Lead, Rig
from planner.trip import ToPercent

DEVICES_A = (15.0, 20.0, 30.0, 40.0, 50.0, 60.0)
NOT_PROTECTED = "lead_not_protected"

# By hand, a number is amps for hours: 0.8 of the smallest of breaker, plug and receptacle (210.21(B)(2), 625.41), and
# of the cord's ampacity, Table 400.5(A)(1) column B: 12 AWG 25 A, 10 AWG 30 A, 8 AWG 40 A, 6 AWG 55 A. A breaker above
# the cord's ampacity (240.5(A)), above the receptacle's or the plug's rating (210.21(B)(1)) does not protect.
# No grounding contact: 250.114 and 625.44. One leg where two lines are looked for, or other volts: 406.4(F).
EXPECTED = {
    "nema-14-30-to-14-50": (12, 16, 24, NOT_PROTECTED, NOT_PROTECTED, NOT_PROTECTED),
    "nema-14-50-to-14-30": (12, 16, 24, NOT_PROTECTED, NOT_PROTECTED, NOT_PROTECTED),
    "nema-14-50-to-14-30-breaker": (12, 16, 24, 24, 24, NOT_PROTECTED),
    "nema-14-50-to-6-50": (12, 16, 24, 32, 40, NOT_PROTECTED),
    "nema-14-50-to-6-20-breaker": (12, 16, 16, 16, 16, NOT_PROTECTED),
    "nema-l14-30-to-14-50": (12, 16, 24, NOT_PROTECTED, NOT_PROTECTED, NOT_PROTECTED),
    "nema-14-50-to-6-50-unlisted": ("lead_not_listed",) * 6,
    "nema-14-50-to-5-20-breaker": ("lead_voltage",) * 6,
    "nema-6-50-to-14-50": ("lead_needs_neutral",) * 6,
    "nema-tt-30-to-14-50": ("lead_one_leg",) * 6,
    "nema-5-15-to-14-50": ("lead_one_leg",) * 6,
    "nema-10-30-to-14-50": ("lead_no_ground",) * 6,
    "two-nema-5-20-to-14-50": ("lead_from_two_outlets",) * 6,
}


def lead(plug="nema-14-50", receptacle="nema-6-50", size_awg="6", **changes):
    """Return a listed lead whose grounding conductor is as large as its lines."""
    return Lead.model_validate(
        {
            "id": "made-lead",
            "name": "Made lead",
            "plug": plug,
            "receptacle": receptacle,
            "size_awg": size_awg,
            "grounding_awg": size_awg,
            "length_m": 0.9,
            "wet_rated": True,
            "listing": "listed",
            **changes,
        }
    )


def code(made, device_a=50.0, ambient_c=30.0):
    reason = lead_refusal(make.shipped_dataset(), made, device_a=device_a, ambient_c=ambient_c)
    return reason[0] if reason else None


# ------------------------------------------------------------------------------------------------------ a lead itself


def test_every_shipped_lead_has_an_expected_verdict(dataset):
    assert set(dataset.leads) == set(EXPECTED)


@pytest.mark.parametrize(("lead_id", "index"), list(itertools.product(EXPECTED, range(len(DEVICES_A)))))
def test_verdict_of_a_lead_behind_a_breaker_is_that_of_the_code(dataset, lead_id, index):
    made, device_a, expected = dataset.leads[lead_id], DEVICES_A[index], EXPECTED[lead_id][index]
    reason = lead_refusal(dataset, made, device_a=device_a)
    limit_a = lead_limit_a(dataset, made, device_a=device_a, ambient_c=30.0)

    if isinstance(expected, str):
        assert reason is not None
        assert reason[0] == expected
        assert limit_a == 0
    else:
        assert reason is None
        assert limit_a == pytest.approx(expected)


@pytest.mark.parametrize(
    ("made", "expected"),
    [
        (lead(plugs=2), "lead_from_two_outlets"),
        (lead(plug="nema-10-50"), "lead_no_ground"),
        (lead(receptacle="nema-10-30", device_a=30.0), "lead_no_ground"),
        (lead(grounding_awg=None), "lead_no_ground"),
        (lead(plug="cs-8369", receptacle="nema-6-50"), "lead_voltage"),
        (lead(plug="cs-6369", receptacle="cs-8369"), "lead_voltage"),
        (lead(plug="nema-6-20", receptacle="nema-5-20", device_a=20.0), "lead_voltage"),
        (lead(plug="nema-14-30", receptacle="nema-tt-30"), "lead_voltage"),
        (lead(plug="nema-l5-30", receptacle="nema-6-20"), "lead_one_leg"),
        (lead(plug="nema-l6-30", receptacle="nema-14-30"), "lead_needs_neutral"),
        (lead(listing="none"), "lead_not_listed"),
        (lead(), None),
        (lead(plug="cs-6369", receptacle="nema-14-50"), None),
        (lead(plug="nema-tt-30", receptacle="nema-5-20", size_awg="10", device_a=20.0), None),
    ],
)
def test_what_is_wrong_with_a_lead_whatever_the_breaker(made, expected):
    reason = lead_never(make.shipped_dataset(), made)

    assert (reason[0] if reason else None) == expected


def test_what_endangers_people_is_named_before_what_does_not_fit():
    """A lead with every fault is refused for the live plug first, then for its ground, then for its volts."""
    faults = {
        "plug": "nema-5-15",
        "receptacle": "nema-14-50",
        "size_awg": "14",
        "plugs": 2,
        "grounding_awg": None,
        "listing": "none",
    }
    found = []
    for mended in ({}, {"plugs": 1}, {"grounding_awg": "14"}, {"receptacle": "nema-5-20"}, {"listing": "listed"}):
        faults.update(mended)
        found.append(code(lead(**faults), device_a=20.0))

    assert found == ["lead_from_two_outlets", "lead_no_ground", "lead_one_leg", "lead_not_listed", NOT_PROTECTED]


@pytest.mark.parametrize(
    ("size_awg", "most_a"),
    # Table 400.5(A)(1), column B, two loaded conductors: 18, 25, 30, 40, 55 A; 240.5(A) has no next size up, so the
    # largest standard breaker (240.6(A)) at or below it. The plug is a 60 A device, which holds back 4 AWG (70 A).
    [("14", 15), ("12", 25), ("10", 30), ("8", 40), ("6", 50), ("4", 60)],
)
def test_the_cord_is_protected_by_its_own_ampacity_with_two_loaded_conductors(dataset, size_awg, most_a):
    made = lead("nema-14-60", "nema-14-60", size_awg)

    assert largest_device_ahead_a(dataset, made) == most_a


def test_a_lead_of_a_size_that_no_cord_table_has_is_not_protected():
    """Table 400.5(A)(1) ends at 2 AWG."""
    assert lead_refusal(make.shipped_dataset(), lead(size_awg="1"), device_a=15.0) == (
        NOT_PROTECTED,
        "Made lead: its cord (1 AWG, 60 C) has no ampacity in the table of flexible cords in this air, so no device "
        "protects it.",
    )


def test_a_lead_from_two_lines_to_a_small_receptacle_says_what_would_happen():
    for plug, why in (
        ("nema-14-30", "which of its contacts it joins is not on record"),
        ("nema-6-30", "without a neutral it can give 240 V alone"),
    ):
        assert lead_never(make.shipped_dataset(), lead(plug, "nema-5-20", device_a=20.0)) == (
            "lead_voltage",
            f"Made lead leads from 240 V to a receptacle made for 120 V: {why}, and two lines there destroy what is "
            "plugged in.",
        )


def test_the_leads_own_device_protects_cord_and_receptacle_but_not_its_plug(dataset):
    own = lead("nema-14-30", "nema-6-20", "12", device_a=20.0)

    assert [code(own, device_a) for device_a in (20.0, 30.0, 40.0)] == [None, None, NOT_PROTECTED]
    assert lead_refusal(dataset, own, device_a=40.0)[1] == (
        "Made lead: its plug is a 30 A device, but the breaker ahead is 40 A. Not fit at any setting. It may be used "
        "behind 30 A or less."
    )
    assert code(lead("nema-14-30", "nema-6-20", "12"), 30.0) == NOT_PROTECTED


def test_an_own_device_larger_than_its_cord_protects_nothing_behind_a_large_breaker():
    """10 AWG carries 30 A: its own 40 A device protects nothing, a 30 A breaker ahead does."""
    made = lead("nema-14-50", "nema-6-50", "10", device_a=40.0)

    assert [code(made, device_a) for device_a in (30.0, 40.0, 50.0)] == [None, NOT_PROTECTED, NOT_PROTECTED]
    assert lead_refusal(make.shipped_dataset(), made, device_a=50.0)[1] == (
        "Made lead: its cord (10 AWG) is protected up to 30 A, but its own device is 40 A. Not fit at any setting. It "
        "may be used behind 30 A or less."
    )


@pytest.mark.parametrize(
    ("size_awg", "grounding_awg", "device_a", "expected"),
    [
        # 250.122(E): lines of 10 AWG and smaller have a grounding conductor as large; (A): behind 50 A 10 AWG.
        ("10", "12", 15.0, "lead_ground_small"),
        ("10", "10", 30.0, None),
        ("6", "10", 50.0, None),
        ("6", "12", 50.0, "lead_ground_small"),
        ("6", "12", 20.0, None),
    ],
)
def test_the_grounding_conductor_is_judged_as_that_of_a_cord(size_awg, grounding_awg, device_a, expected):
    assert code(lead(size_awg=size_awg, grounding_awg=grounding_awg), device_a) == expected


def test_a_breaker_that_nobody_has_read_is_refused_and_no_rating_is_assumed():
    for made in (lead(), lead("nema-14-50", "nema-6-20", "12", device_a=20.0)):
        assert code(made, device_a=None) == "breaker_not_read"
    assert code(lead(listing="none"), device_a=None) == "lead_not_listed"


def test_heat_takes_protection_away_and_cold_gives_none(dataset):
    """Cord of 60 C at 40 C: 0.82 of 30 A is 24.6 A (Table 310.15(B)(2)(a)), which a 30 A breaker does not protect."""
    made = lead("nema-14-30", "nema-14-50", "10")

    assert [code(made, 30.0, ambient_c) for ambient_c in (-20.0, 30.0, 40.0)] == [None, None, NOT_PROTECTED]
    assert code(made, 60.0, -20.0) == NOT_PROTECTED
    assert lead_limit_a(dataset, made, device_a=20.0, ambient_c=40.0) == pytest.approx(16)


JOINED = [
    (plug, receptacle)
    for plug in ("nema-14-50", "nema-14-30", "nema-l14-30", "nema-6-50", "nema-6-20", "nema-tt-30", "nema-5-20")
    for receptacle in ("nema-14-50", "nema-14-30", "nema-6-50", "nema-6-20", "nema-tt-30", "nema-5-20")
]
LEADS = st.builds(
    lambda ends, grounding_awg, listing, **fields: lead(
        *ends, grounding_awg=grounding_awg or fields["size_awg"], listing=listing, **fields
    ),
    ends=st.sampled_from(JOINED),
    size_awg=st.sampled_from(("14", "12", "10", "8", "6", "4", "2", "1")),
    grounding_awg=st.sampled_from((None, None, "14", "12", "10", "8")),
    device_a=st.sampled_from((None, 15.0, 20.0, 30.0, 40.0, 50.0)),
    temperature_rating_c=st.sampled_from((60, 75, 90)),
    listing=st.sampled_from(("listed", "listed", "listed", "none")),
)


@given(LEADS, st.sampled_from(DEVICES_A), st.sampled_from(DEVICES_A), st.sampled_from((-20.0, 25.0, 38.0, 47.0)))
def test_a_smaller_device_never_takes_a_lead_out_of_use(made, one_a, other_a, ambient_c):
    small_a, large_a = sorted((one_a, other_a))

    if code(made, large_a, ambient_c) is None:
        assert code(made, small_a, ambient_c) is None


# Table 400.5(A)(1), column B
COLUMN_B_A = {"14": 18.0, "12": 25.0, "10": 30.0, "8": 40.0, "6": 55.0, "4": 70.0, "3": 82.0, "2": 95.0}


@given(LEADS, st.sampled_from(DEVICES_A), st.sampled_from((-20.0, 25.0, 38.0, 47.0)))
def test_the_limit_is_never_above_four_fifths_of_the_smallest_part(made, device_a, ambient_c):
    data = make.shipped_dataset()
    limit_a = lead_limit_a(data, made, device_a=device_a, ambient_c=ambient_c)
    ratings = [device_a, data.outlets[made.plug].rating_a, data.outlets[made.receptacle].rating_a]
    ratings += [made.device_a] if made.device_a is not None else []
    ratings.append(COLUMN_B_A.get(made.size_awg, 0.0))

    assert limit_a <= 0.8 * min(ratings) + 1e-9
    assert (limit_a > 0) == (code(made, device_a, ambient_c) is None)


@given(LEADS, st.sampled_from(DEVICES_A), st.sampled_from((25.0, 38.0, 47.0)))
def test_a_lead_is_refused_for_protection_where_the_same_parts_in_a_supply_are(made, device_a, ambient_c):
    """The parts as a supply of their own, judged by the one place of protection: the two never disagree."""
    data = make.shipped_dataset()
    if lead_never(data, made) is not None or made.size_awg == "1" or device_a > data.outlets[made.plug].rating_a:
        return
    one_leg = data.outlets[made.plug].voltage_v == 120
    supply = [
        make.breaker(device_a),
        make.receptacle(made.plug),
        {"part": "plug", "id": "p", "name": "P", "outlet": made.plug},
        *([make.breaker(made.device_a, id="own")] if made.device_a is not None else []),
        make.cord(
            made.size_awg,
            grounding_awg=made.grounding_awg,
            temperature_rating_c=made.temperature_rating_c,
            length_m=0.9,
        ),
        make.receptacle(made.receptacle, id="end"),
    ]
    source = make.source()
    if one_leg:
        source = make.source(connection="one_leg_120", voltage_v={"low": 118.0, "typical": 120.0, "high": 120.0})
    unit = make.evse(12, connected_by="listed_cord_and_plug", plug=made.receptacle)
    rig = make.rig(source=source, supply=supply, evse=unit)
    stops = [x.code for x in findings(make.dataset(rig), rig, ambient_c=ambient_c) if x.level == "stop"]

    assert bool(stops) == (code(made, device_a, ambient_c) is not None)
    assert set(stops) <= {"not_protected", "no_ampacity", "grounding_small"}


def test_a_receptacle_larger_than_what_feeds_it_comes_with_the_setting_to_hold(dataset):
    """0.8 of the 30 A plug is 24 A, of a 20 A device of its own 16 A (210.21(B)(2))."""
    (first, *rest) = lead_cautions(dataset, dataset.leads["nema-14-30-to-14-50"])
    assert first.code == "lead_looks_larger"
    assert first.text == (
        "Its receptacle looks like 50 A, but 30 A is what feeds it: an EVSE may take it for 50 A. Hold the setting to "
        "24 A or less, and read it back before the vehicle is plugged in."
    )
    assert tuple(rest) == LEAD_CAUTIONS
    own = lead_cautions(dataset, lead("nema-14-50", "nema-6-30", "10", device_a=20.0))
    assert "Hold the setting to 16 A" in own[0].text
    assert lead_cautions(dataset, dataset.leads["nema-14-50-to-6-50"]) == LEAD_CAUTIONS


# ------------------------------------------------------------------------------------------- a rig at another outlet


def fairground(**changes):
    """Return a rig for site outlets: 14-50 plug, marks of 12 to 40 A, standing at 40."""
    source = {
        "kind": "site_outlet",
        "connection": "split_phase_240",
        "voltage_v": {"low": 235.0, "typical": 240.0, "high": 245.0},
        "neutral": "bonded_at_source",
        "instructions": "allow",
        "individual_circuit": True,
    }
    fields = {
        "source": source,
        "supply": [make.breaker(50.0), make.receptacle("nema-14-50", grade="evse_listed", gfci="none")],
        "evse": make.evse(12, 16, 24, 32, 40, connected_by="listed_cord_and_plug", plug="nema-14-50"),
        "leads": ["nema-14-30-to-14-50", "nema-tt-30-to-14-50", "nema-10-30-to-14-50"],
        "leads_at_depot": ["nema-l14-30-to-14-50"],
        **changes,
    }
    return make.rig(**fields)


def standing(rig, outlet, device_a, dataset=None, ambient_c=25.0):
    return at_outlet(dataset or make.dataset(rig), rig, outlet=outlet, device_a=device_a, ambient_c=ambient_c)


def planned(found, dataset=None):
    data = replace(dataset or make.dataset(), rigs={found.rig.id: found.rig})
    return plan(data, Call(found.rig.id, "made", 10, ToPercent(80)))


def test_the_recorded_outlet_on_its_recorded_breaker_is_the_rig_as_recorded():
    rig = fairground()
    found = standing(rig, "nema-14-50", 50.0)

    assert found.rig is rig
    assert found.choice is None


def test_the_same_outlet_on_a_smaller_breaker_is_planned_by_that_breaker():
    """14-50 on 40 A (Table 210.21(B)(3)): 32 A."""
    found = standing(fairground(), "nema-14-50", 40.0)

    assert found.choice is None
    assert [part.id for part in found.rig.supply] == ["main", "outlet"]
    assert planned(found).setting.output_a == 32


def test_a_lead_joins_the_outlet_and_the_plan_is_held_to_its_parts():
    """14-30 on 30 A by the lead to 14-50: 24 A, though the unit's plug and its mark would give 40."""
    rig = fairground()
    found = standing(rig, "nema-14-30", 30.0)

    assert isinstance(found, AtOutlet)
    assert (found.choice.lead.id, found.choice.kept) == ("nema-14-30-to-14-50", "on_board")
    assert found.choice.limit_a == pytest.approx(24)
    assert [(part.part, getattr(part, "outlet", None)) for part in found.rig.supply] == [
        ("breaker", None),
        ("receptacle", "nema-14-30"),
        ("plug", "nema-14-30"),
        ("conductor", None),
        ("receptacle", "nema-14-50"),
    ]
    served = planned(found)
    assert served.verdict == "serve_with_changes"
    assert served.setting.output_a == 24
    assert not [finding for finding in served.findings if finding.level == "stop"]
    assert {link.id for link in served.chain} >= {"lead-plug", "lead-cord", "lead-receptacle"}
    assert next(link.limit_a for link in served.chain if link.id == "lead-cord") == pytest.approx(24)
    assert {caution.code for caution in found.choice.cautions} >= {"lead_looks_larger", "lead_evse_instructions"}


def test_the_leads_cord_costs_volts():
    """R of 10 AWG stranded, 1.24 ohm/kft at 75 C (chapter 9 Table 8): at most 24 A x 2 x 0.6 m, 0.117 V."""
    found = standing(fairground(), "nema-14-30", 30.0)
    drop_v = 240.0 - planned(found).voltage_evse_v

    assert 0 < drop_v <= 24 * 2 * 1.24 * 0.6 / 304.8 + 1e-9
    assert drop_v == pytest.approx(0.117, rel=0.2)  # the cord is cooler than 75 C


def test_the_leads_own_breaker_stands_in_the_supply():
    """14-50 on 50 A, a lead to 6-20 with its own 20 A breaker: 16 A."""
    rig = fairground(
        supply=[make.breaker(20.0), make.receptacle("nema-6-20", grade="industrial")],
        evse=make.evse(12, 16, 24, connected_by="listed_cord_and_plug", plug="nema-6-20"),
        leads=["nema-14-50-to-6-20-breaker"],
        leads_at_depot=[],
    )
    found = standing(rig, "nema-14-50", 50.0)

    assert [part.rating_a for part in found.rig.supply if part.part == "breaker"] == [50.0, 20.0]
    served = planned(found)
    assert served.setting.output_a == 16
    assert not [finding for finding in served.findings if finding.level == "stop"]


def test_a_rig_with_a_cord_of_its_own_keeps_it_behind_the_lead():
    own = [
        {"part": "plug", "id": "lead-plug", "name": "Cord plug", "outlet": "nema-14-50"},
        make.cord("6", grounding_awg="6"),
    ]
    rig = fairground(
        supply=[make.breaker(50.0), make.receptacle("nema-14-50"), *own],
        evse=make.evse(12, 16, 24, 40),
    )
    found = standing(rig, "nema-14-30", 30.0)

    assert [part.id for part in found.rig.supply][-2:] == ["lead-plug", "cord"]
    assert len({part.id for part in found.rig.supply}) == len(found.rig.supply) == 7
    assert planned(found).setting.output_a == 24


def test_what_is_known_of_the_recorded_outlet_is_not_claimed_of_another():
    run = {"date": "2026-05-03", "duration_min": 90.0, "power_metered_kw": 9.0, "altitude_m": 0.0, "ambient_c": 25.0}
    rig = fairground(commissioning=[run])
    found = standing(rig, "nema-14-30", 30.0)

    assert rig.commissioning
    assert found.rig.commissioning == ()
    assert found.rig.source.individual_circuit is None
    assert (found.rig.supply[1].grade, found.rig.supply[1].gfci) == (None, None)
    codes = {finding.code for finding in planned(found).findings}
    assert {"circuit_perhaps_shared", "grade_unknown"} <= codes


def test_a_variant_obeys_the_rules_of_a_record_and_carries_no_stale_cache():
    rig = fairground()
    assert rig.tables_needed  # cached on the rig where it stood
    found = standing(rig, "nema-14-30", 30.0)

    fields = {name: getattr(found.rig, name) for name in Rig.model_fields}
    assert Rig.model_validate(fields).supply == found.rig.supply
    assert "nec-400-5-a-1" in found.rig.tables_needed
    assert "nec-400-5-a-1" not in rig.tables_needed


def test_on_board_comes_before_the_depot_and_more_amps_before_less_loss(dataset):
    def other(name, **changes):
        fields = {"plug": "nema-14-30", "receptacle": "nema-14-50", "size_awg": "10", **changes}
        return lead(**fields).model_copy(update={"id": name})

    thin = other("thin", device_a=20.0, length_m=0.3)
    long = other("long", length_m=5.0)
    heavy = other("very-heavy", size_awg="6")  # last by its name, first by its loss
    data = replace(dataset, leads={one.id: one for one in (thin, long, heavy)})

    def chosen(on_board, at_depot=()):
        rig = fairground(leads=list(on_board), leads_at_depot=list(at_depot))
        return standing(rig, "nema-14-30", 30.0, data).choice

    assert chosen(["thin", "long", "very-heavy"]).lead.id == "very-heavy"
    assert chosen(["thin", "long"]).lead.id == "long"
    assert (chosen(["thin"], ["very-heavy"]).lead.id, chosen(["thin"], ["very-heavy"]).kept) == ("thin", "on_board")
    assert chosen([], ["very-heavy"]).kept == "at_depot"
    assert chosen(["long"], ["long"]).kept == "on_board"


@pytest.mark.parametrize(
    ("outlet", "device_a", "expected"),
    [
        ("nema-14-30", None, "breaker_not_read"),
        ("nema-14-50", None, "breaker_not_read"),
        ("nema-14-30", 50.0, "outlet_not_protected"),
        ("nema-10-30", 30.0, "outlet_no_ground"),
        ("nema-tt-30", 30.0, "outlet_voltage"),
        ("nema-5-20", 20.0, "outlet_voltage"),
        ("cs-8369", 50.0, "outlet_voltage"),
        ("nema-6-50", 50.0, "no_lead"),
    ],
)
def test_an_outlet_that_does_not_serve_is_refused_with_every_lead_and_its_reason(outlet, device_a, expected):
    board = ["nema-tt-30-to-14-50", "nema-10-30-to-14-50", "nema-6-50-to-14-50", "nema-14-30-to-14-50"]
    rig = fairground(leads=board, leads_at_depot=["nema-l14-30-to-14-50", "nema-tt-30-to-14-50"])
    found = standing(rig, outlet, device_a)

    assert isinstance(found, LeadRefusal)
    assert found.code == expected
    assert found.source == LEAD_REFUSAL_SOURCES[expected]
    assert found.text.endswith(".")
    assert found.remedy.endswith(".")
    assert [one.kept for one in found.refused].count("at_depot") == 1
    assert len(found.refused) >= len(rig.leads)
    for one in found.refused:
        assert one.source == LEAD_REFUSAL_SOURCES[one.code]
        assert one.text.endswith(".")


def test_every_lead_is_refused_by_its_own_reason():
    rig = fairground(leads=[*EXPECTED], leads_at_depot=[])
    found = standing(rig, "nema-6-50", 50.0)

    assert {one.lead: one.code for one in found.refused} == {
        **{key: "lead_other_plug" for key, values in EXPECTED.items() if not isinstance(values[0], str)},
        **{key: values[0] for key, values in EXPECTED.items() if isinstance(values[0], str)},
    }


def test_a_lead_that_ends_in_another_receptacle_is_named_so():
    rig = fairground(leads=["nema-14-50-to-6-50"], leads_at_depot=[])
    found = standing(rig, "nema-14-50", 40.0)

    assert [(one.lead, one.code) for one in found.refused] == [("nema-14-50-to-6-50", "lead_other_receptacle")]


def test_a_unit_that_is_wired_in_has_no_plug_for_another_outlet():
    rig = fairground(supply=[make.breaker(50.0)], evse=make.evse(16, 40))

    assert standing(rig, "nema-14-50", 50.0).code == "rig_without_plug"


def test_a_question_that_makes_no_sense_gets_a_clear_error():
    with pytest.raises(QuantityError) as brings:
        standing(make.rig(), "nema-14-50", 50.0)
    assert str(brings.value) == (
        "--outlet: expected no outlet: Made rig brings its own source, got 'nema-14-50'; leave it out, or name a rig for "
        "site outlets"
    )
    with pytest.raises(UnknownIdError):
        standing(fairground(), "nema-99", 50.0)
    for device_a in (0.0, -30.0, float("nan"), 5000.0):
        with pytest.raises(QuantityError):
            standing(fairground(), "nema-14-50", device_a)


@pytest.mark.parametrize("setting_a", [6, 12, 24, 40])
def test_no_setting_makes_a_refused_outlet_serve(setting_a):
    unit = make.evse(setting_a, connected_by="listed_cord_and_plug", plug="nema-14-30")
    rig = fairground(
        supply=[make.breaker(30.0), make.receptacle("nema-14-30")],
        evse=unit,
        leads=["nema-14-50-to-14-30"],
        leads_at_depot=[],
    )

    found = standing(rig, "nema-14-50", 50.0)
    assert isinstance(found, LeadRefusal)
    assert [one.code for one in found.refused] == [NOT_PROTECTED]
    assert isinstance(standing(rig, "nema-14-50", 30.0), AtOutlet)


@given(
    st.sampled_from(sorted(make.shipped_dataset().outlets)),
    st.sampled_from(DEVICES_A),
    st.lists(st.sampled_from(sorted(EXPECTED)), unique=True),
    st.sampled_from(("nema-14-50", "nema-14-30", "nema-6-50", "nema-6-20")),
)
def test_a_rig_at_an_outlet_has_no_stop_and_a_setting_within_every_part(outlet, device_a, leads, plug):
    rig = fairground(
        supply=[make.breaker(15.0), make.receptacle(plug)],
        evse=make.evse(6, 12, 16, 24, 32, 40, connected_by="listed_cord_and_plug", plug=plug),
        leads=leads,
        leads_at_depot=[],
    )
    found = standing(rig, outlet, device_a)
    if isinstance(found, LeadRefusal):
        assert found.code in LEAD_REFUSAL_SOURCES
        return
    served = planned(found)
    ratings = [part.rating_a for part in found.rig.supply if part.part == "breaker"]
    ratings += [
        make.shipped_dataset().outlets[part.outlet].rating_a
        for part in found.rig.supply
        if part.part in {"plug", "receptacle"}
    ]

    assert not [finding for finding in served.findings if finding.level == "stop"]
    assert served.setting.output_a <= 0.8 * min(ratings) + 1e-9
    if found.choice is not None:
        assert served.setting.output_a <= found.choice.limit_a + 1e-9


# ------------------------------------------------------------------------------------------------------------- matrix


def test_the_matrix_holds_every_lead_against_every_outlet(dataset):
    rows = lead_matrix(dataset)

    assert len(rows) == len(dataset.leads) * len(dataset.outlets)
    assert all(row.goes_in == (row.lead.plug == row.outlet.id) for row in rows)
    assert all((row.verdict == "yes") == (row.code is None) for row in rows)
    assert all(row.verdict == "no" for row in rows if not row.goes_in)
    assert all((row.verdict == "no") == (row.device_a == 0) == (row.limit_a == 0) for row in rows)


def test_the_matrix_says_behind_which_breaker_and_how_many_amps(dataset):
    """By EXPECTED: the largest of its breakers up to the outlet's rating, and the amps there."""
    found = {row.lead.id: row for row in lead_matrix(dataset) if row.goes_in}
    for lead_id, values in EXPECTED.items():
        row = found[lead_id]
        open_to = [(device_a, x) for device_a, x in zip(DEVICES_A, values, strict=True) if not isinstance(x, str)]
        if not open_to:
            assert (row.verdict, row.code) == ("no", values[0])
            continue
        device_a, limit_a = open_to[-1]
        assert row.verdict == ("yes" if device_a == row.outlet.rating_a else "behind")
        assert (row.device_a, row.limit_a) == (device_a, pytest.approx(limit_a))


def test_a_lead_of_one_line_and_neutral_never_feeds_a_receptacle_for_two_lines():
    """iec-60309-2: 2P+E is line, neutral and ground; nema-wd-6: 14-50 is two lines, neutral and ground."""
    blue = lead("iec-60309-32-6h", "nema-14-50")
    reason = lead_never(make.shipped_dataset(), blue)

    assert reason is not None
    assert reason[0] == "lead_one_leg"
