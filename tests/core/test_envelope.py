"""A vehicle that is not known as a class: the envelope holds every class it may be, and a question never widens it."""

import itertools

import pytest

from planner import envelope as unknown
from planner.answer import Call
from planner.envelope import KnownOfVehicle, envelope, matching
from planner.errors import QuantityError
from planner.planning import plan_with_bands
from planner.trip import Miles, ToPercent

SERVED = {"serve", "serve_with_changes"}
KNOWN = [
    KnownOfVehicle(inlet="j1772"),
    KnownOfVehicle(body="hatch"),
    KnownOfVehicle(inlet="ccs1"),
    KnownOfVehicle(battery="large"),
    KnownOfVehicle(inlet="j1772", body="hatch", built=2013, battery="small"),
]


@pytest.mark.parametrize("known", KNOWN, ids=str)
def test_the_envelope_contains_every_member(dataset, known):
    call = Call("pass-truck", "", 10, Miles(20), tank_empty=True)
    found = envelope(dataset, call, known)
    for member in found.members:
        one = plan_with_bands(
            dataset, Call("pass-truck", member.vehicle, 10, Miles(20), tank_empty=True, inlet=member.inlet)
        )
        assert member.verdict == one.verdict
        if one.verdict in SERVED:
            assert found.minutes_p10 <= one.minutes_on_site.p10
            assert found.minutes_p90 >= one.minutes_on_site.p90
            assert found.soc_target_low <= one.soc_target <= found.soc_target_high
            assert one.setting.mark in found.setting_marks
    assert found.refused == sum(member.verdict == "cannot_serve" for member in found.members)
    # One case a class; one a port where its vehicles have one port or another and nobody has said which.
    assert {member.vehicle for member in found.members} == {vehicle.id for vehicle in matching(dataset, known)}
    cases = [(member.vehicle, member.inlet) for member in found.members]
    assert len(set(cases)) == len(cases)


@pytest.mark.parametrize("known", KNOWN, ids=str)
def test_an_answer_to_the_question_never_widens_the_envelope(dataset, known):
    call = Call("pass-truck", "", 10, ToPercent(40), tank_empty=True)
    whole = envelope(dataset, call, known)
    answers = [KnownOfVehicle(known.inlet, known.body, known.built, word) for word in unknown.BATTERY_WORDS]
    answers += [KnownOfVehicle(inlet, known.body, known.built, known.battery) for inlet in ("ccs1", "j1772", "j3400")]
    for told in answers:
        if (known.battery and told.battery != known.battery) or (known.inlet and told.inlet != known.inlet):
            continue
        try:
            part = envelope(dataset, call, told)
        except QuantityError:
            continue
        assert {item.vehicle for item in part.members} <= {item.vehicle for item in whole.members}
        if part.minutes_p10 is not None and whole.minutes_p90 is not None:
            assert part.minutes_p10 >= whole.minutes_p10
            assert part.minutes_p90 <= whole.minutes_p90


def test_the_question_asked_leaves_the_smallest_mean_width(dataset):
    """Widths given by hand: the year tells the two apart, the body does not, and no class is weighed."""
    classes = matching(dataset, KnownOfVehicle(inlet="j1772"))

    asked = unknown.questions(classes, KnownOfVehicle(inlet="j1772"), lambda group, _: float(len(group) ** 2))
    assert [question.mean_width_min for question in asked] == sorted(question.mean_width_min for question in asked)
    assert {question.code for question in asked} <= {"ask_body", "ask_built", "ask_battery", "ask_fuel_door"}
    assert asked[0].code == "ask_body"  # every body stands alone: one class each


def test_of_equal_questions_the_one_that_can_be_seen_is_asked(dataset):
    classes = matching(dataset, KnownOfVehicle())

    asked = unknown.questions(classes, KnownOfVehicle(), lambda *_: 7.0)
    assert [question.code for question in asked] == [
        "ask_port",
        "ask_body",
        "ask_fuel_door",
        "ask_built",
        "ask_battery",
    ]


def test_a_question_is_not_asked_that_may_leave_every_class_and_brings_no_minutes_closer(dataset):
    """Five hatches, all of them built between 2015 and 2019: the year is worth asking only where it closes minutes."""
    known = KnownOfVehicle(inlet="j1772", body="hatch", fuel_door=False)
    classes = matching(dataset, known)
    assert all(vehicle.built_from <= 2019 and (vehicle.built_to or 9999) >= 2015 for vehicle in classes)

    alike = unknown.questions(classes, known, lambda *_: 7.0)
    assert "ask_built" not in {question.code for question in alike}
    closer = unknown.questions(classes, known, lambda group, _: float(len(group)))
    assert "ask_built" in {question.code for question in closer}


def test_some_served_and_some_refused_is_a_question(dataset):
    found = envelope(dataset, Call("pass-truck", "", 10, ToPercent(40)), KnownOfVehicle(body="hatch"))

    verdicts = {member.verdict for member in found.members}
    assert "cannot_serve" in verdicts
    assert verdicts & SERVED
    assert found.verdict == "ask_first"
    assert found.ask.code == "ask_port"


def test_all_refused_is_a_refusal_and_all_served_is_served(dataset):
    call = Call("pass-truck", "", 10, ToPercent(40))

    assert envelope(dataset, call, KnownOfVehicle(inlet="ccs2")).verdict == "cannot_serve"
    assert envelope(dataset, call, KnownOfVehicle(inlet="ccs1", body="suv")).verdict in SERVED


def test_what_no_class_has_is_told(dataset):
    with pytest.raises(QuantityError, match="expected a combination that some class has"):
        matching(dataset, KnownOfVehicle(inlet="ccs2", body="motorcycle"))


def test_every_class_is_found_by_its_own_words(dataset):
    for vehicle, port in itertools.chain.from_iterable(
        ((vehicle, port) for port in vehicle.ports) for vehicle in dataset.vehicle_classes.values()
    ):
        assert vehicle in matching(dataset, KnownOfVehicle(port.inlet, vehicle.body, vehicle.built_from))
