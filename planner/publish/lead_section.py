"""The section on supply-side leads: which joins an outlet to our plug, behind which breaker, for how many amps."""

from collections.abc import Iterable

from planner.circuit import AMPACITY_BASE_C
from planner.figures import amps, rounded_down
from planner.leads import LEAD_CAUTIONS, LeadPair, lead_cautions, lead_limit_a, lead_matrix, lead_never
from planner.publish.markup import Cell, bullets, e, icon, name, section, table, verdict_mark
from planner.records import Dataset, Lead, Outlet
from planner.units import FT_PER_M

__all__ = ["BREAKERS_SHOWN_A", "leads_section"]

# Breakers that site outlets of charging units stand on: the ratings of the tables of receptacles.
BREAKERS_SHOWN_A = (15.0, 20.0, 30.0, 40.0, 50.0, 60.0)  # nec-2017, Table 210.21(B)(3), and 60 A of a 14-60
VERDICT_MARKS = {
    "yes": ("serve", "Yes"),
    "word": ("serve_with_changes", "Yes, if agreed"),
    "behind": ("serve_with_changes", "Yes, behind"),
    "no": ("cannot_serve", "No"),
}
NOT_FIT = " Not fit at any setting. "  # how the reason of a lead ends that a larger breaker leaves unprotected


def leads_section(dataset: Dataset) -> str:
    """Return the section on leads as HTML, the same for the same data; a sentence where none is on record."""
    pairs = [pair for pair in lead_matrix(dataset) if pair.goes_in]
    intro = (
        "<p>A lead stands between an outlet of the site and the EVSE's own plug: a plug for one, a short cord, a "
        "receptacle for the other. It is part of the supply, so a breaker must protect its cord and both its ends. "
        "Judged by NEC 2017, as good practice; local rules, the EVSE's instructions and a licensed electrician "
        "decide.</p>"
    )
    if not pairs:
        return section("Leads, ahead of the EVSE", "leads", intro + "<p>No lead is on record.</p>", searched=True)
    body = (
        intro
        + _outlet_table(dataset, pairs)
        + '<p class="n">Touch a mark for the lead and its reason. An outlet without a mark has no lead on record for '
        "that plug.</p>"
        + _lead_table(dataset, pairs)
        + _breaker_table(dataset, [pair.lead for pair in pairs])
        + f"<p>{_WORD_OF_AUTHORITY}</p><p>{_STRICTER}</p>"
        + "<p><b>With every lead</b></p>"
        + bullets(_caution_items())
    )
    return section("Leads, ahead of the EVSE", "leads", body, searched=True)


_WORD_OF_AUTHORITY = (
    "<b>With the authority's word:</b> a lead whose receptacle is larger than what feeds it hides the smaller breaker. "
    "It is used only where the authority that has the say over the site agrees, and the EVSE is set by the smaller one."
)
_STRICTER = (
    "<b>NEC 2026, 625.44, is stricter:</b> a receptacle for an EVSE is to be listed for it, and none of 50 A stands on "
    "a circuit of 40 A. Where that edition is in force it goes first. Read in a trade magazine: secondary print."
)


def _anchor(lead: Lead) -> str:
    return f"lead--{lead.id}"


def _short(outlet: Outlet) -> str:
    return outlet.configuration.removeprefix("NEMA ")


def _outlet_table(dataset: Dataset, pairs: list[LeadPair]) -> str:
    """Return outlets of a site against the plugs that an EVSE may have: direct, by a lead, or not."""
    ends = {pair.lead.receptacle for pair in pairs} | {rig.evse.plug for rig in dataset.rigs.values() if rig.evse.plug}
    starts = {pair.lead.plug for pair in pairs} | ends
    plugs = [outlet for outlet in dataset.outlets.values() if outlet.id in ends]
    heads: list[str | Cell] = ["Outlet of the site", *(Cell(f"<span>{e(_short(plug))}</span>") for plug in plugs)]
    rows = [
        [Cell(name(_short(outlet))), *(Cell(_join_cell(dataset, outlet, plug, pairs)) for plug in plugs)]
        for outlet in dataset.outlets.values()
        if outlet.id in starts
    ]
    return f'<div class="mxt">{table("Outlet of the site against the plug of our EVSE", heads, rows)}</div>'


def _kind(dataset: Dataset, pair: LeadPair) -> str:
    """Return how a lead stands; a receptacle larger than what feeds it wants the authority's word."""
    larger = any(caution.code == "lead_looks_larger" for caution in lead_cautions(dataset, pair.lead))
    return "word" if pair.verdict == "yes" and larger else pair.verdict


def _join_cell(dataset: Dataset, outlet: Outlet, plug: Outlet, pairs: Iterable[LeadPair]) -> str:
    """Return how an outlet reaches a plug: the plug itself, or the best of the leads between the two."""
    if outlet.id == plug.id:
        fits = outlet.ground and outlet.phases == 1
        return '<span class="n">direct</span>' if fits else verdict_mark("cannot_serve", "no")
    between = [pair for pair in pairs if (pair.lead.plug, pair.lead.receptacle) == (outlet.id, plug.id)]
    if not between:
        return ""
    best = min(between, key=lambda pair: (list(VERDICT_MARKS).index(_kind(dataset, pair)), -pair.limit_a, pair.lead.id))
    verdict, word = VERDICT_MARKS[_kind(dataset, best)]
    more = f" {amps(best.device_a)} or less" if best.verdict == "behind" else ""
    return f'<a class="mx" href="#{e(_anchor(best.lead))}">{icon(verdict)}<span class="vh">{e(word + more)}</span></a>'


def _lead_table(dataset: Dataset, pairs: Iterable[LeadPair]) -> str:
    heads: list[str | Cell] = [
        "Lead",
        "Ahead of an EVSE",
        Cell("For hours", figure=True),
        "Why",
        Cell("By", wide=True),
    ]
    rows = [
        [
            Cell(
                f'<span id="{e(_anchor(pair.lead))}">{name(pair.lead.name)}</span><br>'
                f'<span class="n">{e(_made_of(pair.lead))}</span>'
            ),
            Cell(_verdict(dataset, pair)),
            Cell(f'<b class="f">{e(amps(pair.limit_a))}</b>' if pair.limit_a > 0 else "none", figure=True),
            Cell(_agreed(dataset, pair) + e(_why(pair)) + _own_cautions(dataset, pair)),
            Cell(f'<span class="n">{e(pair.source)}{f"<br>{e(pair.code)}" if pair.code else ""}</span>', wide=True),
        ]
        for pair in pairs
    ]
    return table("Each lead, and why", heads, rows)


def _why(pair: LeadPair) -> str:
    """Return the reason without the lead's name, which heads the row; of a breaker that is too large, what is not."""
    text = pair.text.removeprefix(pair.lead.name).removeprefix(":").strip()
    if pair.verdict == "behind":
        reason = text.partition(NOT_FIT)[0].removesuffix(".")
        text = (
            f"Used only where the breaker at the panel reads {amps(pair.device_a)} or less. Behind the largest one "
            f"that such an outlet may have it is not fit at any setting: {reason}."
        )
    return text[0].upper() + text[1:]


def _agreed(dataset: Dataset, pair: LeadPair) -> str:
    return "<b>With the authority's word.</b> " if _kind(dataset, pair) == "word" else ""


def _verdict(dataset: Dataset, pair: LeadPair) -> str:
    verdict, word = VERDICT_MARKS[_kind(dataset, pair)]
    return verdict_mark(verdict, f"{word} {amps(pair.device_a)} or less" if pair.verdict == "behind" else word)


def _made_of(lead: Lead) -> str:
    ground = f"ground {lead.grounding_awg} AWG" if lead.grounding_awg else "no ground on record"
    own = f", own device {amps(lead.device_a)}" if lead.device_a is not None else ""
    return f"{lead.size_awg} AWG, {ground}, {_length(lead)}{own}"


def _length(lead: Lead) -> str:
    """Return a length in tenths: a lead is short."""
    return f"{lead.length_m * FT_PER_M:.1f} ft ({lead.length_m:.1f} m)"


def _own_cautions(dataset: Dataset, pair: LeadPair) -> str:
    """Return the cautions of this lead alone, below its reason."""
    if pair.verdict == "no":
        return ""
    common = {caution.code for caution in LEAD_CAUTIONS}
    own = [caution for caution in lead_cautions(dataset, pair.lead) if caution.code not in common]
    return "".join(f'<br><span class="n">{e(caution.text)}</span>' for caution in own)


def _breaker_table(dataset: Dataset, leads: Iterable[Lead]) -> str:
    """Return what each lead that may be used allows behind each breaker, in air of 30 C."""
    heads: list[str | Cell] = [
        "Amps for hours, by the amps of the breaker",
        *(Cell(f"{device_a:g}", figure=True) for device_a in BREAKERS_SHOWN_A),
    ]
    rows = [
        [
            Cell(name(lead.name)),
            *(Cell(_limit_cell(dataset, lead, device_a), figure=True) for device_a in BREAKERS_SHOWN_A),
        ]
        for lead in leads
        if lead_never(dataset, lead) is None
    ]
    return table("Amps for hours by the breaker ahead", heads, rows) if rows else ""


def _limit_cell(dataset: Dataset, lead: Lead, device_a: float) -> str:
    limit_a = lead_limit_a(dataset, lead, device_a=device_a, ambient_c=AMPACITY_BASE_C)
    return f'<b class="f">{rounded_down(limit_a):g}</b>' if limit_a > 0 else "no"


def _caution_items() -> list[str]:
    first = (
        "<b>Read the breaker at the panel.</b> The face of an outlet does not tell what it stands on; a breaker that "
        "nobody has read is not assumed."
    )
    return [first, *(e(caution.text) for caution in LEAD_CAUTIONS)]
