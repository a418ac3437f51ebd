"""The section on leads: every lead with its verdict, reason and source; amps by breaker; cautions; inert texts."""

import re
from dataclasses import replace

import make
import pytest

from planner.leads import LEAD_CAUTIONS, LEAD_REFUSAL_SOURCES, lead_matrix
from planner.publish.lead_section import leads_section
from publish.test_artefacts import read, tables_of


@pytest.fixture(scope="module")
def html():
    return leads_section(make.shipped_dataset())


def rows_of(html, caption):
    return tables_of(f"---\n---\n{html}")[caption]


# Leads that may be used whose receptacle is larger than the plug, by their designations.
LARGER = {"14-30 plug to 14-50 receptacle", "L14-30 plug to 14-50 receptacle"}
EXPECTED_ROWS = {
    # By hand: 0.8 of the smallest of breaker, plug, receptacle and cord (210.21(B)(2), 625.41, Table 400.5(A)(1)).
    "14-30 plug to 14-50 receptacle": ["12", "16", "24", "no", "no", "no"],
    "14-50 plug to 14-30 receptacle": ["12", "16", "24", "no", "no", "no"],
    "14-50 plug to 14-30, own 30 A breaker": ["12", "16", "24", "24", "24", "no"],
    "14-50 plug to 6-20, own 20 A breaker": ["12", "16", "16", "16", "16", "no"],
    "14-50 plug to 6-50 receptacle": ["12", "16", "24", "32", "40", "no"],
    "L14-30 plug to 14-50 receptacle": ["12", "16", "24", "no", "no", "no"],
}


def test_amps_by_breaker_are_those_of_the_code(html):
    rows = rows_of(html, "Amps for hours by the breaker ahead")

    assert {row[0]: row[1:] for row in rows} == EXPECTED_ROWS


def test_every_lead_has_a_row_with_verdict_reason_and_source(html):
    rows = {row[0].split(" | ")[0]: row[1:] for row in rows_of(html, "Each lead, and why")}
    pairs = [pair for pair in lead_matrix(make.shipped_dataset()) if pair.goes_in]

    assert set(rows) == {lead.name for lead in make.shipped_dataset().leads.values()}
    for pair in pairs:
        verdict, limit, why, by = rows[pair.lead.name]
        larger = pair.lead.name in LARGER
        yes = "Yes, if agreed" if larger else "Yes"
        assert verdict == {"yes": yes, "behind": "Yes, behind 30 A or less", "no": "No"}[pair.verdict]
        assert why.startswith("With the authority's word.") == larger
        assert (limit == "none") == (pair.verdict == "no")
        assert why.strip()
        assert by.startswith(LEAD_REFUSAL_SOURCES[pair.code] if pair.code else "nec-2017, 240.5(A)")
        assert by.endswith(pair.code or "210.21(B)(1)")


def test_a_lead_that_looks_larger_says_the_setting_to_hold(html):
    rows = {row[0].split(" | ")[0]: row for row in rows_of(html, "Each lead, and why")}

    assert "Hold the setting to 24 A or less" in rows["14-30 plug to 14-50 receptacle"][3]
    assert "Hold the setting" not in rows["14-50 plug to 6-50 receptacle"][3]
    assert "Hold the setting" not in rows["TT-30 plug to 14-50 receptacle"][3]


def test_a_lead_behind_a_smaller_breaker_does_not_contradict_itself(html):
    rows = {row[0].split(" | ")[0]: row for row in rows_of(html, "Each lead, and why")}
    why = rows["14-50 plug to 14-30 receptacle"][3]

    assert why.startswith("Used only where the breaker at the panel reads 30 A or less.")
    assert "Not fit at any setting. It may be used" not in html
    assert (
        "it is not fit at any setting: its cord (10 AWG) is protected up to 30 A, but the breaker ahead is 50 A." in why
    )


def test_the_stricter_edition_is_named_with_where_it_was_read(html):
    assert "NEC 2026, 625.44, is stricter" in html
    assert "secondary print" in html


def test_the_outlet_table_names_what_joins_and_what_does_not(html):
    rows = {row[0]: row[1:] for row in rows_of(html, "Outlet of the site against the plug of our EVSE")}
    heads = re.findall(r'<th scope="col"[^>]*>(.*?)</th>', html[: html.index("</thead>")])
    at = {re.sub("<[^>]+>", "", head): index - 1 for index, head in enumerate(heads)}

    assert rows["14-50"][at["14-50"]] == "direct"
    assert rows["14-30"][at["14-50"]] == "Yes, if agreed"
    assert rows["10-30"][at["14-50"]] == "No"
    assert rows["6-50"][at["14-50"]] == "No"
    assert rows["14-50"][at["6-50"]] == "Yes"  # the listed one, not the one without listing
    assert rows["14-50"][at["14-30"]] == "Yes"  # the one with its own breaker
    assert rows["6-20"][at["14-50"]] == ""


def test_the_section_is_well_formed_and_its_marks_lead_somewhere(html):
    page = read(html)

    assert page.faults == []
    assert page.open == []
    assert len(page.ids) == len(set(page.ids))
    inner = {target[1:] for tag, target in page.links if tag == "a"}
    assert inner
    assert inner <= set(page.ids)
    assert not {name for _, name, _ in page.attributes} & {"style", "onclick"}


def test_every_caution_and_whose_word_counts_stand_on_the_page(html):
    text = "".join(read(html).text)

    for caution in LEAD_CAUTIONS:
        assert caution.text in text
    assert "Read the breaker at the panel" in text
    assert "licensed electrician" in text
    assert "as good practice" in text


def test_without_leads_the_section_says_so(dataset):
    html = leads_section(replace(dataset, leads={}))

    assert "No lead is on record." in html
    assert "<table" not in html


def test_texts_of_a_crew_reach_the_section_as_text_alone(dataset):
    outlets = {
        key: one.model_copy(update={"configuration": f"<b onclick=x>{key}</b> & more"})
        for key, one in dataset.outlets.items()
    }
    leads = {key: one.model_copy(update={"name": "<i>hostilia</i>"}) for key, one in dataset.leads.items()}
    page = read(leads_section(replace(dataset, outlets=outlets, leads=leads)))

    assert page.faults == []
    assert not [name for _, name, _ in page.attributes if name.startswith("on")]
    assert "".join(page.text).count("<i>hostilia</i>") > len(leads)
    assert "<b onclick=x>nema-10-30</b> & more" in "".join(page.text)


def test_the_same_data_gives_the_same_bytes(dataset, html):
    assert leads_section(dataset) == leads_section(dataset) == html
