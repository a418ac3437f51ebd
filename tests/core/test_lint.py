"""Each rule over the data: the smallest dataset that it passes, the smallest that it finds, and how exceptions end."""

from dataclasses import replace
from typing import get_args

import make
import pytest

from planner.coverage import cells
from planner.lint import RULES, findings, plan_findings
from planner.lint import classes_can_be_told_apart as told_apart
from planner.records import Body, Coverage, Folder, KeptException, LintException, Source

SENTENCES = ("It has a short hood.", "Its flap is at the nose.")


def spread(low, typical, high):
    return {"low": float(low), "typical": float(typical), "high": float(high)}


def good(**changes):
    """Return a class that no rule finds fault with: its label is what its road load takes."""
    fields = {
        "recognize": SENTENCES,
        "tell_tale": f"Made {changes.get('id', 'class')}",
        "label": {"consumption_wall_kwh_per_100mi": spread(30, 33.4, 37), "efficiency": 0.88, "voltage_v": 240.0},
        "road": make.road(mass_kg=spread(1900, 2000, 2100), drag_area_m2=spread(0.6, 0.7, 0.8)),
        **changes,
    }
    return make.vehicle(**fields)


def data(*classes, **changes):
    """Return shipped couplers and rigs with these classes alone, without coverage and exceptions."""
    fields = {"coverage": None, "exceptions": (), "sources": {}, "inlets": {}, **changes}
    base = make.shipped_dataset()
    used = {port.inlet: base.inlets[port.inlet] for one in classes for port in one.ports}
    fields["inlets"] = {**used, **fields["inlets"]}
    return replace(base, vehicle_classes={one.id: one for one in classes}, **fields)


def found(dataset, rule):
    return [finding for finding in findings(dataset) if finding.rule == rule]


def texts(dataset, rule):
    return [finding.text for finding in found(dataset, rule)]


def test_a_good_class_passes_every_rule():
    assert findings(data(good())) == ()


def test_the_shipped_data_is_clean(dataset):
    from planner.check_command import cited_sources

    assert findings(dataset, cited_sources(dataset)) == ()


def test_a_label_far_from_the_road_load_is_found():
    fields = {"consumption_wall_kwh_per_100mi": spread(40, 50, 60), "efficiency": 0.88, "voltage_v": 240.0}
    (one,) = found(data(good(label=fields)), "label_is_reproduced")

    assert one.record == "vehicle_classes/made"
    assert one.text.endswith("0.8 to 1.2 is allowed")


@pytest.mark.parametrize(
    ("charger_kw", "clean"), [(19.2, True), (17.5, True), (17.2, False), (21.0, True), (21.2, False)]
)
def test_kilowatts_are_the_amps_at_240_volts_within_a_tenth(charger_kw, clean):
    """80 A at 240 V is 19.2 kW; a tenth of it is 1.92."""
    assert (texts(data(good(charger_power_kw=charger_kw)), "charger_kilowatts_match_amps") == []) is clean


def test_kilowatts_of_a_household_charger_are_counted_at_120_volts():
    charger = good().onboard_charger
    small = {
        "current_a": charger.current_a.model_copy(update={"low": 12.0, "typical": 12.0, "high": 12.0}),
        "power_kw": charger.power_kw.model_copy(update={"low": 1.4, "typical": 1.44, "high": 1.5}),
    }
    household = charger.model_copy(update={**small, "voltage_high_v": 132.0})
    both = charger.model_copy(update=small)

    assert texts(data(good().model_copy(update={"onboard_charger": household})), "charger_kilowatts_match_amps") == []
    assert texts(data(good().model_copy(update={"onboard_charger": both})), "charger_kilowatts_match_amps") == [
        "onboard_charger low: 1.4 kW, and 12 A at 240 V is 2.9"
    ]


@pytest.mark.parametrize(
    ("origin", "count"),
    [({"basis": "from memory"}, 1), ({"basis": "own unit"}, 0), ({"ref": "sae-j1772"}, 0)],
    ids=str,
)
def test_a_number_from_memory_has_a_band(origin, count):
    one = good(
        road=make.road(mass_kg=spread(1990, 2000, 2010), drag_area_m2=spread(0.6, 0.7, 0.8)),
        sources={"road.mass_kg": origin},
    )

    assert len(texts(data(one), "bands_without_source_are_wide")) == count


def test_the_source_of_a_whole_group_covers_its_numbers():
    one = good(
        road=make.road(mass_kg=2000.0, drag_area_m2=spread(0.6, 0.7, 0.8)), sources={"road": {"basis": "judgement"}}
    )

    assert texts(data(one), "bands_without_source_are_wide") == [
        "road.mass_kg rests on judgement with a band of 0% either way"
    ]


def test_dc_is_told_for_a_dc_port_and_for_no_other():
    stated = {"dc": {"power_kw": spread(40, 50, 60)}}

    assert texts(data(good(inlet="ccs1")), "dc_limits_stand_with_a_dc_port") == [
        "a port carries DC, and nothing says how much"
    ]
    assert texts(data(good(inlet="ccs1", **stated)), "dc_limits_stand_with_a_dc_port") == []
    assert texts(data(good(**stated)), "dc_limits_stand_with_a_dc_port") == ["dc is stated, and no port carries DC"]


def test_a_combo_port_that_carries_ac_alone_needs_no_dc():
    ports = [{"inlet": "ccs1", "carries": ("ac",), "places": [{"at": "nose"}]}]

    assert texts(data(good(ports=ports)), "dc_limits_stand_with_a_dc_port") == []


def test_a_class_that_no_rig_could_charge_is_found():
    dc = {"dc": {"power_kw": spread(40, 50, 60)}}

    assert texts(data(good(inlet="chademo", built_to=2020, **dc)), "some_port_takes_ac") == ["no port of it takes AC"]
    assert texts(data(good()), "some_port_takes_ac") == []


REGION = {"coverage": Coverage(region="north_america")}


@pytest.mark.parametrize(
    ("fields", "text"),
    [
        (
            {"inlet": "ccs1", "built_from": 2005, "built_to": 2010},
            "ccs1 was first sold in 2013, after the class's last year",
        ),
        ({"inlet": "ccs1", "built_from": 2012}, "ccs1 was first sold in 2013, and the class is built from 2012"),
        ({"inlet": "chademo", "built_from": 2026}, "chademo was last sold in 2025, before the class's first year"),
        ({"inlet": "type-2"}, "type-2 is no port of north america"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_port_out_of_its_time_or_place_is_found(fields, text):
    assert text in texts(data(good(**fields), **REGION), "ports_suit_age_and_region")


def test_an_imported_class_may_have_a_port_of_elsewhere():
    assert texts(data(good(inlet="type-2", imported=True), **REGION), "ports_suit_age_and_region") == []


def test_one_port_of_two_may_have_come_later():
    ports = [{"inlet": name, "share": 0.5, "places": [{"at": "nose"}]} for name in ("j1772", "ccs1")]

    assert texts(data(good(ports=ports, built_from=2011), **REGION), "ports_suit_age_and_region") == []


def test_a_class_without_sentences_is_worth_a_look():
    (one,) = found(data(good(recognize=("It has a short hood.",))), "recognized_without_a_brand")

    assert one.level == "should"
    assert one.text == "recognize has 1 sentences; 2 or more help on the telephone"


def test_a_class_without_a_few_words_to_tell_it_by_is_worth_a_look():
    (one,) = found(data(good(tell_tale=None)), "recognized_without_a_brand")

    assert one.level == "should"
    assert one.text == "tell_tale is missing: a caller is asked by it which of several classes it is"


def test_a_few_words_that_two_classes_share_are_found():
    other = good(id="other", name="Other class", summary="another", tell_tale="Made made.", recognize=("Red.", "Long."))

    assert texts(data(good(), other), "no_sentence_stands_twice") == []
    same = good(id="other", name="Other class", summary="another", tell_tale="Flat roof", recognize=("Red.", "Long."))
    assert texts(data(good(tell_tale="flat roof"), same), "no_sentence_stands_twice") == [
        "'Flat roof' stands in made too"
    ]


def test_a_sentence_in_two_classes_is_found_whatever_its_case_and_points():
    other = good(id="other", name="Other class", summary="another", recognize=("It has a short hood!", "It is red."))

    assert texts(data(good(), other), "no_sentence_stands_twice") == ["'It has a short hood!' stands in made too"]


def test_a_name_in_two_classes_is_found():
    other = good(id="other", name="made class", summary="another", recognize=("It is red.", "It is long."))

    assert texts(data(good(), other), "no_name_stands_twice") == ["'made class' is the name of made too"]


def pair(**changes):
    """Return a class with a battery and a mass in bands, and another that differs in what is given."""
    battery = {"health": spread(1, 1, 1), "chemistry": "nickel"}

    def one(name, **fields):
        kwh = fields.pop("kwh", (50, 60, 70))
        mass = fields.pop("mass", (1900, 2000, 2100))
        return good(
            id=name,
            name=f"Class {name}",
            battery={**battery, "energy_usable_kwh": spread(*kwh)},
            road=make.road(mass_kg=spread(*mass), drag_area_m2=spread(0.6, 0.7, 0.8)),
            **fields,
        )

    return one("first"), one("second", **changes)


@pytest.mark.parametrize(
    ("changes", "alike"),
    [
        ({}, True),
        ({"kwh": (66, 75, 85)}, False),
        ({"mass": (2080, 2200, 2300)}, False),
        ({"body": "sedan"}, False),
        ({"size": "large"}, False),
        ({"engine": True}, False),
        ({"imported": True}, False),
        ({"inlet": "j3400"}, False),
        ({"built_from": 2001, "built_to": 2014}, False),
        ({"built_from": 2001, "built_to": 2015}, True),
    ],
    ids=str,
)
def test_two_classes_that_nothing_parts_are_found(changes, alike):
    assert bool(list(told_apart(data(*pair(**changes))))) is alike


def test_a_cell_without_a_class_is_a_hole_and_one_said_to_be_empty_is_not():
    empty = [{"body": body, "built": built, "why": "none was sold"} for body in BODIES for built in AGES]
    hatches = [item for item in empty if item["body"] == "hatch"]
    others = [item for item in empty if item["body"] != "hatch"]
    base = make.shipped_dataset()

    def holes(entries):
        coverage = Coverage.model_validate({"region": "elsewhere", "empty": tuple(entries)})
        return texts(data(good(built_from=2015, built_to=2016), coverage=coverage), "coverage_has_no_hole")

    assert base.inlets["j1772"].regions == ("north_america",) or "elsewhere" not in base.inlets["j1772"].regions
    assert holes(others) == ["no class is a hatch, to 2014", "no class is a hatch, 2020 or later"]
    assert holes([*others, hatches[0], hatches[2]]) == []
    assert holes(empty) == ["hatch, 2015 to 2019 is said to be empty, but holds made"]


BODIES = get_args(Body)
AGES = ("to 2014", "2015 to 2019", "2020 or later")


@pytest.mark.parametrize(
    ("wanted", "clean"),
    [
        ({}, True),
        ({"inlet": "j1772"}, True),
        ({"battery": "medium"}, True),
        ({"inlet": "ccs1"}, False),
        ({"battery": "small"}, False),
        ({"engine": True}, False),
        ({"built": "to 2014"}, False),
    ],
    ids=str,
)
def test_a_kind_that_is_wanted_has_a_class(wanted, clean):
    one = {"body": "hatch", "built": "2015 to 2019", "why": "it is met", **wanted}
    coverage = Coverage.model_validate({"region": "elsewhere", "wanted": (one,)})
    text = [item for item in texts(data(good(), coverage=coverage), "coverage_has_no_hole") if "it is met" in item]

    assert (text == []) is clean


def test_every_cell_of_the_shipped_region_is_held_or_explained(dataset):
    every = list(cells(dataset, dataset.coverage))

    assert len(every) == 3 * (len(BODIES) + 7)  # seven inlets are of the region
    assert all(bool(cell.classes) != bool(cell.why_empty) for cell in every)


def test_a_source_that_nothing_names_is_found():
    source = Source(title="A handbook", kind="handbook", read_in="whole")
    one = good(sources={"road": {"ref": "named"}})
    dataset = data(one, sources={"named": source, "cited": source, "idle": source})

    assert [item.record for item in findings(dataset, {"cited"}) if item.rule == "every_source_is_used"] == [
        "sources/idle"
    ]


def test_an_inlet_that_no_class_has_is_found():
    extra = {"chademo": make.shipped_dataset().inlets["chademo"]}

    assert [item.record for item in found(data(good(), inlets=extra), "every_inlet_is_on_a_class")] == [
        "inlets/chademo"
    ]


# ------------------------------------------------------------------------------------------------------- exceptions


def excepted(rule, *, until="1.0.0", version="0.6.0", record="vehicle_classes/made"):
    exception = LintException(rule=rule, record=record, reason="it is so", until=until)
    return {"exceptions": (KeptException(exception, "crew", version),)}


def test_an_exception_lets_its_finding_stand_and_no_other():
    unclear = good(recognize=(), charger_power_kw=10.0)
    dataset = data(unclear, **excepted("recognized_without_a_brand"))

    assert [finding.rule for finding in findings(dataset)] == ["charger_kilowatts_match_amps"]


def test_an_exception_ends_at_its_version():
    dataset = data(good(recognize=()), **excepted("recognized_without_a_brand", until="0.6.0"))

    assert [finding.text for finding in findings(dataset)] == [
        "recognize has 0 sentences; 2 or more help on the telephone",
        "its exception from recognized_without_a_brand was for data before 0.6.0, and this is 0.6.0",
    ]


def test_versions_are_compared_as_numbers():
    dataset = data(good(recognize=()), **excepted("recognized_without_a_brand", until="0.10.0", version="0.9.0"))

    assert findings(dataset) == ()


def test_an_exception_that_nothing_needs_is_found():
    dataset = data(good(), **excepted("recognized_without_a_brand"))

    assert [finding.text for finding in findings(dataset)] == [
        "it no longer needs its exception from recognized_without_a_brand"
    ]


def test_an_exception_from_no_rule_is_found():
    (one,) = findings(data(good(), **excepted("no_such_rule")))

    assert one.text == "exceptions.yaml lets no_such_rule stand, and no rule is called so"


def test_an_exception_from_the_plans_is_judged_with_the_plans():
    dataset = data(good(), **excepted("plans_stay_within_what_can_be"))

    assert findings(dataset) == ()
    assert [finding.text for finding in plan_findings(dataset).findings] == [
        "it no longer needs its exception from plans_stay_within_what_can_be"
    ]


# ------------------------------------------------------------------------------------------------------- every plan


def test_every_rig_with_every_class_at_every_temperature_plans_or_says_why_not(dataset):
    """14 steps from -20 F to 110 F by 10 F."""
    every = plan_findings(dataset)

    assert every.findings == ()
    assert every.plans == sum(every.by_verdict.values()) == 14 * len(dataset.rigs) * len(dataset.vehicle_classes)
    assert set(every.by_verdict) <= {"serve", "serve_with_changes", "ask_first", "try", "cannot_serve"}


def test_a_plan_outside_what_can_be_is_found():
    """A class that takes a tenth of a car's energy gains hundreds of miles an hour on 48 A: no vehicle does."""
    feather = good(
        label={"consumption_wall_kwh_per_100mi": spread(2, 3, 4), "efficiency": 0.88, "voltage_v": 240.0},
        energy_usable_kwh=30.0,
    )
    every = plan_findings(data(feather))

    assert any("added per hour plugged in" in finding.text for finding in every.findings)
    assert {finding.record for finding in every.findings} == {"vehicle_classes/made"}


def test_rules_have_names_and_purposes():
    assert len({rule.__name__ for rule in RULES}) == len(RULES)
    assert all(rule.__doc__ for rule in RULES)


def test_the_folder_of_the_data_is_at_the_version_its_exceptions_are_held_against(dataset):
    shipped = dataset.folders[0]

    assert isinstance(shipped, Folder)
    assert all(kept.version == shipped.version for kept in dataset.exceptions)
