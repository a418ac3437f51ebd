"""The page of sizes for people who build a rig: what a setting needs, and what a source, a wire and a cord allow."""

from collections.abc import Callable, Iterator, Sequence

from planner.circuit import continuous_limit_a
from planner.errors import OutOfRangeError
from planner.figures import amps, feet, rounded_down, temperature, volts
from planner.pilot import DEAD_BAND_HIGH_A, DEAD_BAND_LOW_A, HIGHEST_CURRENT_A, LOWEST_CURRENT_A
from planner.protection import LONGEST_CABLE_M, REGULATION_G1_LARGE
from planner.publish.markup import Cell, Page, anchored, bullets, e, link, notice, number, section, table
from planner.records import Dataset
from planner.sizing import (
    GOOD_DROP_PERCENT,
    OUTLET_WORDS,
    PORTABLE_120_V_A,
    SIZING_VOLTS,
    Run,
    RunKind,
    Sizing,
    Wanted,
    current_for_hours_a,
    longest_run_m,
    outlet_verdict,
    size,
    sizes_in_tables,
)
from planner.units import FT_PER_M, M_PER_FT, celsius_from_fahrenheit

__all__ = ["sizing_pages"]

# What people build for: the settings of common units, nameplates of portable and trailer sets, heights of the country.
SETTINGS_A = (12, 16, 20, 24, 28, 32, 36, 40, 44, 48, 56, 64, 72, 80)
RUN_SETTINGS_A = (16, 24, 32, 40, 48, 64, 80)
WIDE_RUN_SETTINGS_A = frozenset({24, 40, 64})  # shown on wide pages alone
HEIGHTS_FT = (0, 5000, 7000, 10_000)
RUNNING_WATTS = (2000, 3000, 4000, 5000, 6000, 7500, 9500, 12_000, 15_000, 20_000, 25_000, 30_000)
MAIN_V = 240.0
TABLE_AIR_C = 30.0  # nec-2017: the air that the tables of ampacity are made for
SOURCE_AIR_C = celsius_from_fahrenheit(77)  # genset-manual-a: up to here the rule takes nothing for heat
WARM_AIR_C = (30.0, 35.0, 40.0, 45.0)  # nec-2017: upper ends of the rows of correction
SHORT_RUN_M = 7.5  # own-judgement: any length, where a table says nothing of lengths
LOW_OUTLET_V = 150.0  # own-judgement: parts 120 V devices from those for 208 and 240 V

Sized = Callable[..., Sizing | None]


def sizing_pages(dataset: Dataset) -> Iterator[Page]:
    """Yield the page of reference tables. Every figure comes from `size` and the functions that judge a rig."""

    def sized(current_a: float, *, altitude_m: float = 0.0, ambient_c: float = TABLE_AIR_C) -> Sizing | None:
        wanted = Wanted(float(current_a), MAIN_V, altitude_m, ambient_c, SHORT_RUN_M)
        try:
            return size(dataset, wanted)
        except OutOfRangeError:  # a crew's own table of devices may end below it
            return None

    parts = [
        '<p class="crumb" data-search-exclude><a href="index.html">All rigs</a></p>',
        "<h1 data-search-exclude>Sizing a rig</h1>",
        '<p class="lead">For people who build one: the least source, overcurrent device, wire, cord and grounding conductor '
        "for what an EVSE is set to. Anything may be larger, as long as each device still protects all that is behind it.</p>",
        _caution(),
        section("What a setting needs", "needs", _needs(sized), searched=True),
        section("Running watts by height", "watts", _watts(sized), searched=True),
        section("What a set gives for hours", "gives", _gives(), searched=True),
        section("In warmer air", "air", _warmer(sized), searched=True),
        section("How far a run may go", "runs", _lengths(dataset, sized), searched=True),
        section("Receptacles", "receptacles", _receptacles(dataset), searched=True),
    ]
    yield Page(
        "rigs/sizing.md",
        "Sizing a rig",
        "Least watts, device, wire, cord and grounding for an EVSE's setting, by height and air; longest runs; receptacles.",
        "".join(parts),
        tags=(
            "size",
            "build",
            "breaker size",
            "wire gauge",
            "AWG",
            "ampacity",
            "cord size",
            "grounding",
            "running watts",
            "altitude",
            "voltage drop",
            "receptacle",
        ),
    )


def _caution() -> str:
    return notice(
        "ask_first",
        "It plans, it does not certify",
        "<p>NEC 2017, as good practice: a unit on a vehicle lies mostly outside that code. The authority, the listing "
        "instructions and a licensed electrician decide, and do the work. Read first: "
        f"{link('../safety/index.html', 'Safety')}.</p>"
        "<p>One EVSE on a circuit of its own, one phase, two loaded conductors. For another height, air, volts, length or "
        "fuel, with the arithmetic and what to confirm:</p>"
        "<pre><code>rangeferry size --current 48A --volts 240V --altitude 7000ft --ambient 95F --length 25ft</code></pre>",
    )


def _figure(text: str) -> Cell:
    return Cell(f'<b class="f">{e(text)}</b>', figure=True)


def _awg(run: Run | None, *, wide: bool = False) -> Cell:
    """Return a size; portable power cable is told apart from flexible cord."""
    if run is None:
        return Cell("none", figure=True, wide=wide)
    kind = '<br><span class="n">W, G</span>' if run.construction == "portable_cable" else ""
    return Cell(f'<b class="f">{e(run.size_awg)}</b>{kind}', figure=True, wide=wide)


def _needs(sized: Sized) -> str:
    heads: list[str | Cell] = [
        Cell("EVSE<br>set to"),
        Cell("Device<br>A", figure=True),
        Cell("Copper<br>60 C", figure=True),
        Cell("Copper<br>75 C", figure=True, wide=True),
        Cell("Aluminum<br>75 C", figure=True, wide=True),
        Cell("Cord", figure=True),
        Cell("Ground", figure=True),
        Cell("Receptacle", wide=True),
    ]
    rows = []
    for setting_a in SETTINGS_A:
        found = sized(setting_a)
        if found is None:
            rows.append([Cell(e(amps(setting_a))), Cell("no standard device", span=7)])
            continue
        serves = [choice.configuration for choice in found.outlets if choice.verdict == "may_serve"]
        rows.append(
            [
                Cell(e(amps(setting_a))),
                _figure(number(found.device_a)),
                _awg(found.wire_60c),
                _awg(found.wire_75c, wide=True),
                _awg(found.wire_75c_aluminum, wide=True),
                _awg(found.cord),
                _ground(found),
                Cell(e(" or ".join(serves) or "hard-wired"), wide=True),
            ]
        )
    notes = [
        f"Sizes in AWG, in air up to {e(temperature(TABLE_AIR_C))}; not for wire in one pipe or bundle with other loaded wire.",
        "75 C and 60 C are the marks of the terminations at both ends: without a mark, 60 C holds. Wire for 75 C ends is rated "
        "90 C, wire for 60 C ends 60 C.",
        "Cord: two loaded conductors, 60 C, of a hard-usage type with a W, unwound; W, G: portable power cable on 60 C "
        "terminations. A cord gets no next size up: its device is never above its amps.",
        "Ground: the copper grounding conductor in copper wire; in a cord of 10 AWG or smaller it is as large as the lines.",
        f"Above {amps(_largest_by_plug(sized))} the EVSE is hard-wired.",
    ]
    source = "NEC 2017: 625.41, 240.4, 240.5, 240.6(A), 310.15(B)(16), 400.5(A), 250.122, 625.44."
    return table("What a setting needs", heads, rows) + bullets(notes) + f'<p class="n">{source}</p>'


def _ground(found: Sizing) -> Cell:
    wire, cord = found.wire_75c or found.wire_60c, found.cord
    in_wire = wire.grounding_awg if wire is not None else None
    in_cord = cord.grounding_awg if cord is not None else None
    html = f'<b class="f">{e(in_wire or "none")}</b>'
    if in_cord is not None and in_cord != in_wire:
        html += f'<br><span class="n">cord {e(in_cord)}</span>'
    return Cell(html, figure=True)


def _largest_by_plug(sized: Sized) -> float:
    """Return the largest of the settings that a receptacle of the code's list may serve."""
    found = ((setting_a, sized(setting_a)) for setting_a in SETTINGS_A)
    return max((float(setting_a) for setting_a, one in found if one is not None and not one.hard_wired), default=0.0)


def _by_height(captions: tuple[str, str], first: str, rows: Iterator[tuple[str, Sequence[str]]]) -> str:
    heads: list[str | Cell] = [Cell(first), *(Cell(f"{height:,}<br>ft", figure=True) for height in HEIGHTS_FT)]
    body = [[Cell(e(head)), *(_figure(text) for text in texts)] for head, texts in rows]
    return table(captions[0], heads, body) + f'<p class="n">{captions[1]}</p>'


def _watts(sized: Sized) -> str:
    def rows() -> Iterator[tuple[str, Sequence[str]]]:
        for setting_a in SETTINGS_A:
            found = [sized(setting_a, altitude_m=height * M_PER_FT, ambient_c=SOURCE_AIR_C) for height in HEIGHTS_FT]
            yield amps(setting_a), [f"{one.running_power_w / 1000:.1f}" if one is not None else "none" for one in found]

    note = (
        f"Least running watts, in kW, on the fuel that is burnt, at {e(volts(MAIN_V))} and up to {e(temperature(SOURCE_AIR_C))}: amps x "
        "volts over 0.8 for hours of load and over what the height leaves, 3.5 % less for each 1,000 ft; 1 % less for each "
        "10 F above. Never starting watts. The maker's own rule goes before this one. A set whose steady volts run high needs "
        f"more: a percent for each percent above {e(volts(MAIN_V))}, and class G1 allows {100 * REGULATION_G1_LARGE:.0f} %. Nameplate amps of the "
        "winding are the setting or more."
    )
    return _by_height(("Least running kilowatts by setting and height", note), "EVSE<br>set to", rows())


def _gives() -> str:
    def rows() -> Iterator[tuple[str, Sequence[str]]]:
        for watts in RUNNING_WATTS:
            yield (
                f"{watts:,} W",
                [
                    _setting_words(
                        current_for_hours_a(
                            running_power_w=float(watts),
                            voltage_v=MAIN_V,
                            altitude_m=height * M_PER_FT,
                            ambient_c=SOURCE_AIR_C,
                        )
                    )
                    for height in HEIGHTS_FT
                ],
            )

    note = (
        f"Amps for hours by running watts, at {e(volts(MAIN_V))} and up to {e(temperature(SOURCE_AIR_C))}; the winding and the set's "
        f"own device may allow less. Where it says none, that is below {e(amps(LOWEST_CURRENT_A))}, which no EVSE can say; above "
        f"{e(amps(HIGHEST_CURRENT_A))} none can either. One 120 V leg of a 120/240 V set has half of its watts: the same amps."
    )
    return _by_height(("Amps for hours by running watts and height", note), "Running<br>watts", rows())


def _setting_words(current_a: float) -> str:
    """Return the most that a pilot can say within a current, rounded down to a tenth."""
    if current_a < LOWEST_CURRENT_A:
        return "none"
    if DEAD_BAND_LOW_A < current_a <= DEAD_BAND_HIGH_A:
        return f"{DEAD_BAND_LOW_A:g}"
    return f"{rounded_down(min(current_a, HIGHEST_CURRENT_A)):g}"


def _warmer(sized: Sized) -> str:
    def part(caption: str, anchor: str, pick: Callable[[Sizing], Run | None]) -> str:
        heads: list[str | Cell] = [
            Cell("EVSE<br>set to"),
            *(Cell(e(temperature(air_c)).replace(" (", "<br>("), figure=True) for air_c in WARM_AIR_C),
        ]
        rows = []
        for setting_a in RUN_SETTINGS_A:
            found = [sized(setting_a, ambient_c=air_c) for air_c in WARM_AIR_C]
            rows.append([Cell(e(amps(setting_a))), *(_awg(pick(one) if one is not None else None) for one in found)])
        return anchored(3, caption, anchor) + table(f"{caption}, AWG by air", heads, rows)

    return (
        "<p>Air takes ampacity away, and protection is judged in the warmest air the run will lie in; in a closed box or in "
        "sun that is more than the weather says.</p>"
        + part("Cord", "air-cord", lambda found: found.cord)
        + part("Copper wire, 75 C ends", "air-75c", lambda found: found.wire_75c)
        + part("Copper wire, 60 C ends", "air-60c", lambda found: found.wire_60c)
        + '<p class="n">NEC 2017, Table 310.15(B)(2)(a). W, G: portable power cable, where no flexible cord does.</p>'
    )


def _lengths(dataset: Dataset, sized: Sized) -> str:
    found = {setting_a: sized(setting_a) for setting_a in RUN_SETTINGS_A}
    heads: list[str | Cell] = [
        Cell("AWG"),
        *(
            Cell(f"{setting_a}<br>A", figure=True, wide=setting_a in WIDE_RUN_SETTINGS_A)
            for setting_a in RUN_SETTINGS_A
        ),
    ]

    others = ", ".join(
        f"at {volts(nominal_v)} {nominal_v / MAIN_V:.2f} of that" for nominal_v in SIZING_VOLTS if nominal_v != MAIN_V
    )

    def part(caption: str, anchor: str, kind: RunKind, pick: Callable[[Sizing], Run | None]) -> str:
        sizes = sizes_in_tables(dataset, kind)
        rows = []
        for awg in sizes:
            cells = [Cell(e(awg))]
            for setting_a, one in found.items():
                run = pick(one) if one is not None else None
                cells.append(_length_cell(dataset, kind, sizes, awg, run, setting_a))
            rows.append(cells)
        return anchored(3, caption, anchor) + table(f"{caption}, feet one way", heads, rows)

    return (
        f"<p>Feet one way, at {e(volts(MAIN_V))}, until {GOOD_DROP_PERCENT:g} % of the volts are lost in the supply run, at its working "
        f"temperature in air of {e(temperature(TABLE_AIR_C))}. The {GOOD_DROP_PERCENT:g} % is a recommendation; {others}. A dash: too small for the amps.</p>"
        + part("Copper wire, 75 C ends", "runs-wire", "wire_75c", lambda one: one.wire_75c)
        + part("Cord", "runs-cord", "cord", lambda one: one.cord)
        + "<p>Where lines are made larger for the length, the grounding conductor grows in the same proportion (250.122(B)). "
        f"The EVSE's own cable is {e(feet(LONGEST_CABLE_M))} at most without cable management (625.17(C)): distance goes into the "
        "supply run, never into an extension at the coupler.</p>"
        '<p class="n">NEC 2017, chapter 9 Table 8, and 210.19(A)(1) informational note 4.</p>'
    )


def _length_cell(
    dataset: Dataset, kind: RunKind, sizes: Sequence[str], awg: str, run: Run | None, setting_a: float
) -> Cell:
    wide = setting_a in WIDE_RUN_SETTINGS_A
    if run is None or run.kind != kind or sizes.index(awg) < sizes.index(run.size_awg):
        return Cell("–", figure=True, wide=wide)
    longest_m = longest_run_m(dataset, kind, awg, current_a=float(setting_a), voltage_v=MAIN_V, ambient_c=TABLE_AIR_C)
    return Cell(f'<b class="f">{int(longest_m * FT_PER_M)}</b>', figure=True, wide=wide)


def _receptacles(dataset: Dataset) -> str:
    heads: list[str | Cell] = [
        "Configuration",
        Cell("Volts", figure=True),
        Cell("A for<br>hours", figure=True),
        "For an EVSE",
    ]
    rows = [
        [
            Cell(e(outlet.configuration)),
            Cell(e(number(outlet.voltage_v)), figure=True),
            _figure(f"{rounded_down(continuous_limit_a(rating_a=outlet.rating_a, listed_for_full_rating=False)):g}"),
            Cell(e(OUTLET_WORDS[outlet_verdict(outlet, 120.0 if outlet.voltage_v < LOW_OUTLET_V else MAIN_V)])),
        ]
        for outlet in sorted(dataset.outlets.values(), key=lambda one: (one.voltage_v, one.rating_a, one.configuration))
    ]
    return (
        "<p>Four fifths of its rating for hours, behind a device that is not above its rating, on a circuit of its own. An "
        "EVSE's own cord and plug are part of its listing: no other plug, no adapter, no home-made cord.</p>"
        + table("Receptacles for an EVSE", heads, rows)
        + f'<p class="n">NEC 2017: 625.44(A) and (B), 210.21(B), 625.40. A portable EVSE at 120 V: {e(amps(PORTABLE_120_V_A))} at most. Public '
        "summaries differ on 250 V for a portable EVSE before 2020: ask the authority by which edition and amendments it goes. By "
        "such summaries the list has 125/250 V, 60 A as well from 2023 on, and from 2026 on those of 30 A and more must be listed "
        "for EVSE.</p>"
    )
