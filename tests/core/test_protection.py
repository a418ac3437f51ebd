"""Findings: what makes a rig unfit whatever its setting, and what is only to be changed or noted."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from make import battery, breaker, cord, evse, generator, receptacle, rig, source, wire
from make import dataset as dataset_of

from planner.gains import gains
from planner.protection import findings

FORBIDDEN = re.compile(
    r"(remove|bypass|disable|defeat|take out|without)[^.]{0,40}(gfci|ground-fault)"
    r"|bond[^.]{0,20} at the evse|ground rod|(larger|up-?rate)[^.]{0,30}built-in",
    re.I,
)


def codes(made, ambient_c=25.0, level=None):
    return [x.code for x in findings(dataset_of(made), made, ambient_c=ambient_c) if level is None or x.level == level]


def sound(**changes):
    """Return a rig with nothing to find."""
    fields = {
        "source": source(instructions="allow"),
        "supply": [breaker(50), wire("8", grounding_awg="10")],
        "evse": evse(16, 40, 48),
        **changes,
    }
    return rig(**fields)


def test_a_sound_rig_has_no_finding():
    assert codes(sound()) == []


@pytest.mark.parametrize(
    ("changes", "code", "level"),
    [
        ({"source": source(instructions="forbid")}, "instructions_forbid", "stop"),
        ({"source": source(instructions=None)}, "instructions_not_read", "change"),
        ({"source": source(instructions="allow", neutral="floating")}, "neutral_floating", "stop"),
        ({"source": source(instructions="allow", neutral="unknown")}, "neutral_unknown", "stop"),
        ({"source": source(instructions="allow", neutral="bonded_twice")}, "neutral_bonded_twice", "stop"),
        ({"source": source(instructions="allow", sets=2)}, "pair_without_kit", "stop"),
        ({"source": source(instructions="allow", thd_percent=5.0)}, "thd_high", "note"),
        ({"source": source(instructions="allow", regulation_class="g3")}, "volts_outside_class", "change"),
        ({"supply": []}, "no_device_ahead", "stop"),
        ({"supply": [breaker(50), wire("8", grounding_awg="10", termination_column_c=60)]}, "not_protected", "stop"),
        ({"supply": [breaker(60), cord("6", grounding_awg="6", wet_rated=True)]}, "not_protected", "stop"),
        ({"supply": [breaker(50), cord("6", grounding_awg="6", wet_rated=True, on_reel=True)]}, "on_reel", "stop"),
        ({"supply": [breaker(50), cord("6", grounding_awg="6", wet_rated=False)]}, "not_wet_rated", "change"),
        ({"supply": [breaker(50), cord("6", wet_rated=None)]}, "wet_rating_unknown", "change"),
        ({"supply": [breaker(50), wire("8", grounding_awg=None)]}, "grounding_unknown", "stop"),
        ({"supply": [breaker(100), wire("1", grounding_awg="10")]}, "grounding_small", "stop"),
        ({"supply": [breaker(20), cord("12", grounding_awg="14", wet_rated=True)]}, "grounding_small", "stop"),
        ({"supply": [breaker(50), wire("2", grounding_awg="10")]}, "grounding_not_grown", "change"),
        ({"evse": evse(48, listing="none")}, "evse_not_listed", "stop"),
    ],
)
def test_each_fault_is_found_at_its_level(changes, code, level):
    made = sound(**changes)
    found = findings(dataset_of(made), made, ambient_c=25.0)

    assert [(x.code, x.level) for x in found if x.code == code] == [(code, level)]
    assert all(x.clause and x.edition and x.remedy for x in found)


def plugged(outlet="nema-14-50", device_a=50, **changes):
    """Return a rig whose EVSE is plugged into a receptacle."""
    receptacle_fields = {"grade": "industrial", "gfci": "none", **changes}
    unit = evse(12, connected_by="listed_cord_and_plug", plug=outlet, voltage_low_v=100.0)
    return {"supply": [breaker(device_a), receptacle(outlet, **receptacle_fields)], "evse": unit}


@pytest.mark.parametrize(
    ("outlet", "device_a", "code"),
    [
        # electrical trade: no grounding contact, three-phase twin, wrong volts (NEMA charts)
        ("nema-10-50", 50, "no_ground"),
        ("nema-10-30", 30, "no_ground"),
        ("cs-8369", 50, "three_phase_outlet"),
        ("nema-tt-30", 30, "outlet_voltage"),
        ("nema-5-20", 20, "outlet_voltage"),
        ("nema-14-30", 50, "not_protected"),
    ],
)
def test_receptacles_that_must_be_refused(outlet, device_a, code):
    made = sound(**plugged(outlet, device_a))

    assert code in codes(made, level="stop")


def test_a_receptacle_on_a_smaller_device_is_allowed():
    """NEC 210.21(B)(3): a 50 A receptacle may stand on a 40 A circuit."""
    assert codes(sound(**plugged("nema-14-50", 40)), level="stop") == []


@pytest.mark.parametrize(
    ("changes", "code", "level"),
    [
        ({"grade": "residential"}, "residential_grade", "change"),
        ({"grade": None}, "grade_unknown", "change"),
        ({"gfci": "class_a"}, "gfci_in_series", "note"),
        ({"gfci": None}, "gfci_unknown", "note"),
        ({}, "gfci_not_ahead", "note"),
    ],
)
def test_grade_and_ground_fault_device_of_a_receptacle(changes, code, level):
    made = sound(**plugged(**changes))

    assert (code, level) in {(x.code, x.level) for x in findings(dataset_of(made), made, ambient_c=25.0)}


def test_a_small_120_v_outlet_of_a_portable_set_needs_a_ground_fault_device():
    """NEC 445.20 and 590.6(A)(3): 15 and 20 A, 125 V receptacles of sets up to 15 kW."""
    small = generator(5000.0, connection="one_leg_120", instructions="allow", nameplate_current_a=20.0)
    small["voltage_v"] = {"low": 116.0, "typical": 120.0, "high": 122.0}
    made = sound(source=small, **plugged("nema-5-20", 20))
    assert "gfci_missing" in codes(made, level="change")

    large = {**small, "fuels": {"gasoline": {**small["fuels"]["gasoline"], "running_power_w": 20000.0}}}
    assert "gfci_missing" not in codes(sound(source=large, **plugged("nema-5-20", 20)))


def test_a_ground_fault_device_is_never_offered_for_removal():
    made = sound(**plugged(gfci="class_a"))
    found = next(x for x in findings(dataset_of(made), made, ambient_c=25.0) if x.code == "gfci_in_series")

    assert "stays" in found.remedy


def test_no_remedy_and_no_change_is_on_the_forbidden_list(dataset):
    """Design 4.1: no GFCI removed or bypassed, no bond at the EVSE, no ground rod, no up-rated built-in device."""
    texts = [x.remedy for made in dataset.rigs.values() for x in findings(dataset, made, ambient_c=25.0)]
    for changes in (
        {"source": source(neutral="floating")},
        {"source": source(neutral="bonded_twice")},
        {"supply": [breaker(60, built_in=True), cord("6")]},
        plugged(gfci="class_a", grade="residential", built_in=True),
        {"supply": [breaker(20, gfci="class_a"), wire("10")]},
    ):
        made = sound(**changes)
        texts += [x.remedy for x in findings(dataset_of(made), made, ambient_c=25.0)]
        found = gains(dataset_of(made), made.id)
        texts += [f"{item.change}. {item.confirm}" for item in found.items]
        for item in found.items:
            before = {part.id: part for part in made.supply if getattr(part, "built_in", None)}
            after = {part.id: part for part in item.rig.supply}
            assert all(after.get(key) is part for key, part in before.items()), item.change
            guards = [part for part in made.supply if getattr(part, "gfci", None) == "class_a"]
            assert all(after[part.id].gfci == "class_a" for part in guards if part.id in after)
            assert len([p for p in item.rig.supply if getattr(p, "gfci", None) == "class_a"]) == len(guards)
    assert len(texts) > 30
    assert not [text for text in texts if FORBIDDEN.search(text)]


def test_a_small_generator_without_any_gfci_statement_is_only_asked_about():
    assert codes(sound(**plugged(gfci=None)), level="stop") == []


def test_protection_is_judged_in_air_of_30_c_or_warmer():
    """A 60 A device over 8 AWG, 75 C wire (50 A): no cold day makes it protected; heat takes protection away."""
    bare = sound(supply=[breaker(60), wire("8", grounding_awg="8")])
    assert "not_protected" in codes(bare, ambient_c=-30.0)

    hot = sound(supply=[breaker(55), cord("6", grounding_awg="6", wet_rated=True, temperature_rating_c=60)])
    assert "not_protected" not in codes(hot, ambient_c=30.0)
    assert "not_protected" in codes(hot, ambient_c=40.0)


def test_more_than_three_loaded_conductors_take_ampacity_down():
    """NEC 310.15(B)(3)(a): 4 to 6 conductors 80 %, 7 to 9 70 %. 6 AWG of 90 C: 75 A to 60 and 52.5 A."""
    from planner.ampacity import ampacities

    for count, factor in ((2, 1.0), (3, 1.0), (4, 0.8), (6, 0.8), (7, 0.7), (9, 0.7)):
        made = sound(supply=[breaker(40), wire("6", grounding_awg="10", loaded_conductors=count)])
        terminations_a, own_a = ampacities(dataset_of(made), made.supply[1], ambient_c=30.0)
        assert (terminations_a, own_a) == (65, pytest.approx(75 * factor))


def test_portable_cable_has_its_own_table():
    """NEC Table 400.5(A)(2): type W, 4 AWG, two loaded conductors: 115 A at 75 C, 130 A at 90 C."""
    from planner.ampacity import ampacities

    cable = cord("4", construction="portable_cable", temperature_rating_c=90, termination_column_c=75)
    made = sound(supply=[breaker(100), {**cable, "grounding_awg": "6", "wet_rated": True}])

    assert ampacities(dataset_of(made), made.supply[1], ambient_c=30.0) == (115, 130)
    assert codes(made) == []


def test_findings_of_a_changed_copy_are_its_own():
    """A copy of a rig under the same id is not given the findings that were reckoned for the old one."""
    data = dataset_of(old := sound())
    assert findings(data, old, ambient_c=25.0) == ()
    changed = old.model_copy(update={"source": old.source.model_copy(update={"neutral": "floating"})})
    assert [x.code for x in findings(data, changed, ambient_c=25.0)] == ["neutral_floating"]
    assert findings(data, old, ambient_c=25.0) == ()


def test_a_store_and_a_site_outlet_are_judged_like_any_source():
    store = sound(source=battery(neutral="floating", instructions="allow"))
    assert codes(store) == ["neutral_floating"]
    site = {
        "kind": "site_outlet",
        "connection": "split_phase_240",
        "voltage_v": {"low": 235.0, "typical": 240.0, "high": 245.0},
        "neutral": "bonded_at_source",
        "instructions": "allow",
    }
    assert codes(sound(source=site)) == ["circuit_perhaps_shared"]
    assert codes(sound(source={**site, "individual_circuit": False})) == ["circuit_shared"]
    assert codes(sound(source={**site, "individual_circuit": True})) == []


def test_a_240_v_receptacle_on_one_leg_is_a_stop():
    """An EVSE uses both lines and ground: a 14-50 on one 120 V leg gives it half of what its plug promises."""
    leg = source(connection="one_leg_120", voltage_v={"low": 116.0, "typical": 120.0, "high": 122.0})

    assert "outlet_voltage" in codes(sound(source=leg, **plugged("nema-14-50")), level="stop")
    assert "outlet_voltage" not in codes(sound(source=leg, **plugged("nema-5-20", 20)))


def test_a_ground_fault_device_covers_only_what_is_behind_it():
    """NEC 445.20: the bare 5-20 of a small set stays a finding, whatever the crew's own breaker does further down."""
    small = generator(3500.0, connection="one_leg_120", nameplate_current_a=20.0)
    small["voltage_v"] = {"low": 116.0, "typical": 120.0, "high": 122.0}
    plug = {"part": "plug", "id": "plug", "name": "Plug", "outlet": "nema-5-20"}
    behind = [
        breaker(20, id="own", name="Own", gfci="class_a"),
        cord("12", id="cord"),
    ]
    made = sound(
        source=small,
        supply=[breaker(20), receptacle("nema-5-20", gfci="none"), plug, *behind],
        evse=evse(12, voltage_low_v=100.0),
    )
    assert {"gfci_missing", "gfci_in_series"} <= set(codes(made))
    ahead = sound(source=small, **plugged("nema-5-20", 20, gfci="class_a"))
    assert "gfci_missing" not in codes(ahead)


@pytest.mark.parametrize(
    ("neutral", "words"),
    [("floating", "makes and tests"), ("unknown", "finds out"), ("bonded_twice", "takes the second bond out")],
)
def test_the_remedy_of_each_bond_is_its_own(neutral, words):
    made = sound(source=source(neutral=neutral))

    assert words in findings(dataset_of(made), made, ambient_c=25.0)[0].remedy


def test_a_building_s_bond_is_not_ours_to_touch():
    site = {
        "kind": "site_outlet",
        "connection": "split_phase_240",
        "voltage_v": {"low": 235.0, "typical": 240.0, "high": 245.0},
        "neutral": "floating",
        "individual_circuit": True,
    }
    made = sound(source=site, supply=[breaker(50)])
    found = findings(dataset_of(made), made, ambient_c=25.0)

    assert "Another outlet" in found[0].remedy
    assert not [item for item in gains(dataset_of(made), made.id).items if item.code == "bond_at_source"]


@pytest.mark.parametrize("built_in", [True, None])
def test_no_remedy_offers_a_larger_built_in_receptacle(built_in):
    made = sound(**plugged("nema-14-30", 50, built_in=built_in))
    found = next(x for x in findings(dataset_of(made), made, ambient_c=25.0) if x.code == "not_protected")

    assert "larger" not in found.remedy
    ours = sound(**plugged("nema-14-30", 50, built_in=False))
    assert (
        "larger rating"
        in next(x for x in findings(dataset_of(ours), ours, ambient_c=25.0) if x.code == "not_protected").remedy
    )


@pytest.mark.parametrize(
    ("known", "unknown"),
    [
        (
            {"supply": [breaker(100), wire("1", grounding_awg="10")]},
            {"supply": [breaker(100), wire("1", grounding_awg=None)]},
        ),
        (plugged(grade="residential"), plugged(grade=None)),
        (
            {"supply": [breaker(50), cord("6", wet_rated=False)]},
            {"supply": [breaker(50), cord("6", wet_rated=None)]},
        ),
        ({"source": source(instructions="forbid")}, {"source": source(instructions=None)}),
    ],
)
def test_leaving_a_fact_out_never_makes_a_rig_look_right(known, unknown):
    assert not {"change", "stop"}.isdisjoint(
        {x.level for x in findings(dataset_of(sound(**known)), sound(**known), ambient_c=25.0)}
    )
    assert not {"change", "stop"}.isdisjoint(
        {x.level for x in findings(dataset_of(sound(**unknown)), sound(**unknown), ambient_c=25.0)}
    )


# ------------------------------------------------------------------------------- a worse part never makes a rig fit

SIZES = ("14", "12", "10", "8", "6", "4", "3", "2")


def _smaller(size):
    return SIZES[max(SIZES.index(size) - 1, 0)] if size in SIZES else size


def worse_conductors(part):
    """Yield a conductor with one thing worse about it, by the name of that thing."""
    yield "thinner", {**part, "size_awg": _smaller(part["size_awg"])}
    if part["grounding_awg"] is not None:
        yield "smaller ground", {**part, "grounding_awg": _smaller(part["grounding_awg"])}
    yield "ground not known", {**part, "grounding_awg": None}
    yield "rated for less heat", {**part, "temperature_rating_c": 60}
    yield "colder terminations", {**part, "termination_column_c": 60}
    yield "more loaded", {**part, "loaded_conductors": min(part["loaded_conductors"] + 1, 9)}
    yield "on a reel", {**part, "on_reel": True}


@settings(deadline=None, max_examples=150)
@given(
    device_a=st.sampled_from([15, 20, 30, 40, 50, 60, 70, 100]),
    build=st.sampled_from([cord, wire]),
    size=st.sampled_from(SIZES),
    ground=st.sampled_from([*SIZES, None]),
    rated_c=st.sampled_from([60, 75, 90]),
    loaded=st.sampled_from([2, 3, 5]),
    neutral=st.sampled_from(["bonded_at_source", "floating"]),
    ambient_c=st.sampled_from([-20.0, 30.0, 42.0]),
)
def test_a_worse_part_never_makes_an_unfit_rig_fit(device_a, build, size, ground, rated_c, loaded, neutral, ambient_c):
    part = build(size, grounding_awg=ground, temperature_rating_c=rated_c, loaded_conductors=loaded)
    base = {"source": source(neutral=neutral), "supply": [breaker(device_a), part]}

    def stops(**changes):
        return codes(sound(**{**base, **changes}), ambient_c=ambient_c, level="stop")

    if not stops():
        return
    for what, worse in worse_conductors(part):
        # The one exception, by the letter of 250.122(E): a small cord's grounding wire is as large as its lines, so
        # thinner lines ask for less of it.
        if what == "thinner" and build is cord and set(stops()) == {"grounding_small"}:
            continue
        assert stops(supply=[breaker(device_a), worse]), what
    larger = next(rating for rating in (15, 20, 30, 40, 50, 60, 70, 100, 200) if rating > device_a)
    assert stops(supply=[breaker(larger), part]), "a larger device"
    assert stops(source=source(neutral="bonded_twice"))
    assert stops(source=source(neutral=neutral, instructions="forbid"))
    assert stops(evse=evse(16, 40, 48, listing="none"))
    assert stops(supply=[part, breaker(device_a)]), "the device behind it"
