"""The page of pilot and proximity: what the two signal wires carry, for the builder with a meter."""

from collections.abc import Callable, Iterable, Iterator, Sequence

from planner.figures import amps, rounded_down
from planner.pilot import (
    CURRENT_FROM_PERCENT,
    CURRENT_TO_PERCENT,
    DEAD_BAND_HIGH_A,
    DEAD_BAND_LOW_A,
    DIGITAL_FROM_PERCENT,
    DIGITAL_PERCENT,
    DIGITAL_TO_PERCENT,
    DIODE_DROP_V,
    FIRST_SEGMENT_FROM_PERCENT,
    FIRST_SEGMENT_TO_PERCENT,
    FREQUENCY_HZ,
    HIGHEST_CURRENT_A,
    LOWEST_CURRENT_A,
    OSCILLATOR_V,
    SECOND_SEGMENT_TO_PERCENT,
    SOURCE_OHM,
    is_advertisable,
    pilot_current_a,
    pilot_duty_cycle_percent,
    pilot_level_v,
    pilot_mean_v,
)
from planner.proximity import INLET_OHM, PULL_UP_OHM, SUPPLY_V, proximity_level_v
from planner.publish.markup import (
    Cell,
    Page,
    Row,
    bullets,
    e,
    icon,
    link,
    narrow,
    notice,
    number,
    section,
    source_anchor,
    table,
)
from planner.records import Dataset, Table

__all__ = ["pilot_page", "pilot_wave"]

STATES_TABLE = "sae-j1772-pilot-states"
LATCH_TABLE = "sae-j1772-proximity"
CODES_TABLE = "iec-62196-2-cable-codes"
# Marks of common units, and the ends of what a pilot can say; every setting of the rigs comes on top.
STEPS_A = (6, 8, 10, 12, 16, 20, 24, 28, 30, 32, 36, 40, 44, 48, 51, 60, 64, 72, 80)
WAVE_A = (16.0, 48.0)  # a low and a high setting, drawn
GENERATOR_TOLERANCE_PERCENT = 0.5  # from memory: sae-j1772, of the EVSE's own duty cycle
WITHIN_SEGMENTS_PERCENT = (50.0, 90.0)  # a duty cycle on each segment, to show what the tolerance is in amps
MINUS = "\u2212"
NO_WINDOW = "–"

STATE_WORDS = {
    "A": ("no vehicle", "The EVSE shows ready; nothing is connected, or the vehicle is not felt."),
    "B": ("vehicle connected, does not ask for current", "The vehicle shows that it is plugged in and waits. No amps."),
    "C": ("vehicle asks for current", "A click in the EVSE, then amps within some seconds."),
    "D": (
        "vehicle asks for current and for moving air",
        "Old batteries that give off gas. An EVSE that has no fan to switch must not close.",
    ),
    "E": (
        "no power, or the pilot lies on ground",
        "EVSE dark, or its fault light; a vehicle says that it has no power.",
    ),
    "F": ("the EVSE is not available", "Its fault light. Nothing at the vehicle's end will change it."),
}
LATCH_WORDS = {
    "apart": ("no connector", "The vehicle takes it that nothing is plugged in, and may drive."),
    "pressed": ("connector in, button pressed", "The vehicle brings its current to nothing before the contacts part."),
    "latched": ("connector in, button free", "The vehicle may charge and will not drive."),
}


def pilot_page(dataset: Dataset) -> Page:
    """Return the page. Every figure on it is a formula's or a table's."""
    states, latch, codes = (dataset.tables[name] for name in (STATES_TABLE, LATCH_TABLE, CODES_TABLE))
    parts = [
        '<p class="crumb" data-search-exclude><a href="index.html">All plugs</a></p>',
        "<h1 data-search-exclude>Pilot and proximity</h1>",
        '<p class="lead">Two thin wires beside the heavy ones. By the control pilot the EVSE says how much a vehicle may '
        "draw and the vehicle says whether it wants it; by proximity the vehicle feels the connector and its latch. What "
        "they carry, what a meter shows of it, and what to do when it is something else.</p>",
        _caution(),
        section("Measured, meant, to do", "faults", _faults(states, latch), searched=True),
        section("Duty cycle and amps", "duty", _duty(dataset, states), searched=True),
        section("States of the pilot", "states", _states(states), searched=True),
        section("Proximity: connector and latch", "proximity", _proximity(latch), searched=True),
        section("Codes of loose Type 2 cables", "codes", _codes(codes), searched=True),
        section("Where the numbers come from", "sources", _origins(dataset, (states, latch, codes))),
    ]
    return Page(
        "plugs/pilot.md",
        "Pilot and proximity",
        "Duty cycle against amps, states A to F, the latch switch, cable codes: what a meter shows and what to do.",
        "".join(parts),
        tags=(
            "control pilot",
            "proximity",
            "duty cycle",
            "PWM",
            "state A B C D E F",
            "latch switch",
            "meter",
            "fault",
            "will not charge",
            "cable code",
        ),
    )


def _caution() -> str:
    return notice(
        "ask_first",
        "Qualified persons only",
        "<p>Beside these wires lie the line contacts. Measuring at a live coupler, or in an open EVSE, is for a qualified "
        "person with the instructions of unit and meter at hand; others use a test adapter made for it, or read the unit's "
        "own display. A crew at the roadside measures nothing here: it unplugs, looks, and tries once more.</p>"
        + bullets(
            [
                "<b>Never defeat the ground check</b>, the ground-fault protection or the self-test, for no test and no minute.",
                "<b>Never force, tie, tape or bridge the latch switch.</b> It is what stops the current before the contacts part.",
                "No resistor in place of a vehicle, to make a unit give: that closes the line contacts on an open connector.",
                "A connector or inlet that is wet, burnt, cracked or loose is out of service, whatever the meter says.",
            ]
        )
        + f"<p>Local codes, the listing and the maker's instructions go first. {link('../safety/index.html', 'Safety')}.</p>",
    )


# ------------------------------------------------------------------------------------------------------------ faults


def _faults(states: Table, latch: Table) -> str:
    level = {state: _signed(row["high_v"]) for state, row in states.rows.items() if "high_v" in row}
    at_c, at_b = level.get("C", "?"), level.get("B", "?")
    top, bottom = _signed(OSCILLATOR_V), _signed(-OSCILLATOR_V)
    pressed_ohm = latch.value("pressed", "connector_ohm")
    pressed_v = _volts(proximity_level_v(pressed_ohm)) if pressed_ohm is not None else "?"
    apart_v = _volts(proximity_level_v(None))
    found = [
        (
            f"{top} V, steady, though the connector is in",
            "State A: the EVSE feels no vehicle",
            "Unplug, look into both halves, push it home until it clicks. Then without the adapter, or with another one: "
            "the pilot may end in it. Then another vehicle: that tells whose fault it is.",
        ),
        (
            f"{at_b} V, steady",
            "State B, and the EVSE offers nothing yet",
            "Not ready: it waits for its own timer, an app, its self-test, or it is too hot. Read its light and display. "
            "It is the EVSE that must move, not the vehicle.",
        ),
        (
            f"{at_b} V at the top of a wave, and it stays there",
            "Stuck in B: the EVSE offers, the vehicle does not ask",
            "Look at the vehicle: charge timer, charge limit reached, doors and port lock, its 12 V battery. Unplug, wait "
            "a minute, plug in again. A vehicle that never asks cannot be made to from here.",
        ),
        (
            f"{at_c} V at the top of a wave, no amps",
            "State C: the vehicle asks, and the EVSE has not closed; or it has closed and the vehicle draws nothing",
            "First which of the two: listen for the click, or a qualified person reads the line volts. Line volts there: "
            "the vehicle takes nothing; look at its timer, limit and charger. No line volts: the EVSE's check of ground or leakage "
            "holds it open. Read its fault code. One reset; if it comes back the unit or its supply is at fault: bond, "
            "ground, leakage. Find it, do not work around it.",
        ),
        (
            f"{level.get('D', '?')} V at the top of a wave",
            "State D: the vehicle asks for moving air",
            "Do not serve it with a unit that has no fan to switch; never indoors.",
        ),
        (
            f"{level.get('E', '?')} V, steady",
            "State E: no power in the EVSE, or the pilot lies on ground",
            "Before the plug goes in: supply and breaker of the EVSE. Only once it is in: the short is in connector, "
            "adapter or inlet. Switch off first, then unplug by the insulated handle; look for water and bent contacts. "
            "Leave that part out of service.",
        ),
        (
            f"{level.get('F', '?')} V, steady",
            "State F: the EVSE says itself that it is not available",
            "Power off, a minute, power on. If it stays, the unit is out of service until it is repaired.",
        ),
        (
            "The top of the wave falls, and the bottom comes up as much",
            "No diode: this is no vehicle, but water, dirt or a hand across the contacts",
            f"The bottom belongs at {bottom} V whatever the vehicle does. Stop, switch off, dry or replace. An EVSE that "
            "closes on it is at fault as well.",
        ),
        (
            "A top between two states",
            "A poor contact in pilot or ground",
            "Unplug, dry, look at the contacts, measure the ground of the supply. Do not serve with a pilot that wanders: "
            "the ground is the same wire that protects.",
        ),
        (
            f"{DIGITAL_PERCENT:g} % duty",
            "The EVSE asks for digital communication",
            "No amps are stated; a vehicle must not take AC on this alone. The unit is in the wrong mode, or it is no "
            "plain AC unit.",
        ),
        (
            "Another duty than the setting's",
            "The unit is not set to what was thought",
            "The pilot is what the vehicle goes by. Read the mark again: breaker amps or output amps? Was it lost when "
            "the power went? Set it, measure again, only then serve.",
        ),
        (
            "The right duty, fewer amps",
            "Sound: the pilot states a maximum",
            "The vehicle takes less, by its charger, its battery or the cold. Nothing to mend.",
        ),
        (
            f"Proximity near {pressed_v} V, and nobody presses",
            "The latch is not home, or its switch is worn",
            "Push until it clicks; clear ice and grit from the hook. If it stays, the connector is worn out: replace it. "
            "No tape, no strap, no bridge.",
        ),
        (
            f"Proximity near {apart_v} V, connector in",
            "The vehicle does not feel the connector",
            "Not seated, or the wire is cut. The vehicle may then drive off with the cable: chock it, unplug.",
        ),
        (
            "Proximity between the windows",
            "A sensor that asks for less or for a stop, or a poor contact",
            "Some connectors and adapters tell heat by this line. Stop, unplug, let it cool, look at both halves; a joint "
            "that was hot is out of service until a qualified person has looked at it.",
        ),
    ]
    rows = [
        [Cell(e(measured) + narrow(e(means))), Cell(e(means), wide=True), Cell(e(do))] for measured, means, do in found
    ]
    return (
        "<p>Volts are from pilot, or proximity, to ground. A wave has two levels, and its top tells the state; a plain meter "
        'shows neither but their mean (<a href="#duty">below</a>). Where the volts are steady the EVSE offers no current.</p>'
        + table("What you measure, what it means, what to do", ["You measure", Cell("It means", wide=True), "Do"], rows)
        + '<p class="n">What to do: common practice, no source. States: SAE J1772 and IEC 61851-1.</p>'
    )


# -------------------------------------------------------------------------------------------------------------- duty


def _steps(dataset: Dataset) -> dict[float, list[str]]:
    """Return the amps of the table, rising, each with the ids of the rigs that have a setting for it."""
    found: dict[float, list[str]] = {float(step_a): [] for step_a in STEPS_A}
    for rig in dataset.rigs.values():
        for setting in rig.evse.settings:
            rigs = found.setdefault(setting.output_a, [])
            if rig.id not in rigs:
                rigs.append(rig.id)
    return dict(sorted(found.items()))


def _duty(dataset: Dataset, states: Table) -> str:
    high = {state: row["high_v"] for state, row in states.rows.items() if state in {"B", "C"} and "high_v" in row}
    heads: list[str | Cell] = [
        Cell("EVSE<br>set to"),
        Cell("Duty<br>%", figure=True),
        *(Cell(f"Meter, V<br>in {e(state)}", figure=True) for state in high),
        Cell("Rigs with<br>this setting", wide=True),
    ]

    def rows() -> Iterator[Row]:
        told_dead_band = False
        for current_a, rigs in _steps(dataset).items():
            if current_a > DEAD_BAND_LOW_A and not told_dead_band:
                told_dead_band = True
                dead = f"above {amps(DEAD_BAND_LOW_A)}, to {amps(DEAD_BAND_HIGH_A)}"
                yield Row([Cell(e(dead)), Cell(_no("no duty cycle says it"), span=len(heads) - 1)])
            links = ", ".join(link(f"../rigs/{rig_id}.html", dataset.rigs[rig_id].name) for rig_id in rigs)
            if not is_advertisable(current_a):
                yield Row(
                    [
                        Cell(e(amps(current_a))),
                        Cell(_no("no duty cycle says it"), span=len(high) + 1),
                        Cell(links, wide=True),
                    ]
                )
                continue
            duty = pilot_duty_cycle_percent(current_a)
            means = [
                pilot_mean_v(high_v=level_v, low_v=-OSCILLATOR_V, duty_cycle_percent=duty) for level_v in high.values()
            ]
            yield Row(
                [
                    Cell(e(amps(current_a))),
                    _figure(f"{duty:.1f}"),
                    *(Cell(e(_signed(mean_v, 1)), figure=True) for mean_v in means),
                    Cell(links, wide=True),
                ]
            )

    notes = [
        f"The wave repeats {FREQUENCY_HZ:,.0f} times a second, between the state's level and {_signed(-OSCILLATOR_V)} V; the duty "
        "cycle is the share of the time at the top.",
        "Meter: what a meter on direct volts shows, the mean of the wave. It is below zero for most settings, and that is "
        "sound. The top of the wave takes an oscilloscope or a tester for EVSE; the duty cycle takes a meter with Hz and %, which shows "
        f"{FREQUENCY_HZ:,.0f} Hz beside it.",
        f"From {FIRST_SEGMENT_FROM_PERCENT:g} to {FIRST_SEGMENT_TO_PERCENT:g} %: amps = 0.6 x duty. Above, to "
        f"{SECOND_SEGMENT_TO_PERCENT:g} %: amps = 2.5 x (duty less 64). They do not meet: at {FIRST_SEGMENT_TO_PERCENT:g} % one gives "
        f"{amps(DEAD_BAND_LOW_A)}, the other {amps(DEAD_BAND_HIGH_A)}, so what lies between cannot be said.",
        f"A sound EVSE is within {GENERATOR_TOLERANCE_PERCENT:g} % of duty (from memory), which is {_tolerance_words()}. What a meter shows "
        "beyond that is the setting or the meter.",
        f"Below {amps(LOWEST_CURRENT_A)} an EVSE can only pause; above {amps(HIGHEST_CURRENT_A)} nothing on AC can be said.",
    ]
    formulas = f'<p class="n">{link("../method/formulas.html#pilot", "The formulas")}.</p>'
    return (
        f"{pilot_wave(WAVE_A, high.get('C', OSCILLATOR_V))}"
        + table("Duty cycle against amps", heads, rows())
        + bullets(e(note) for note in notes)
        + table("What a duty cycle says", ["Duty", "It says"], _bands())
        + formulas
    )


def _tolerance_words() -> str:
    """Return what the generator's tolerance is in amps, on either segment."""
    low, high = (
        pilot_current_a(duty + GENERATOR_TOLERANCE_PERCENT) - pilot_current_a(duty) for duty in WITHIN_SEGMENTS_PERCENT
    )
    return f"{low:.1f} A up to {amps(DEAD_BAND_LOW_A)}, {high:.2f} A above {amps(DEAD_BAND_HIGH_A)}"


def _bands() -> list[list[Cell]]:
    """Return the ranges of the duty cycle with what a receiver takes them for, rising."""
    digital = f"digital communication asked for ({DIGITAL_PERCENT:g} % is meant): no AC on the pilot alone"
    first = f"{LOWEST_CURRENT_A:g} to {amps(pilot_current_a(FIRST_SEGMENT_TO_PERCENT))}"
    second = f"above {DEAD_BAND_HIGH_A:g} to {amps(pilot_current_a(SECOND_SEGMENT_TO_PERCENT))}"
    ranges = [
        (f"below {DIGITAL_FROM_PERCENT:g} %", _no("error, no charging")),
        (f"{DIGITAL_FROM_PERCENT:g} to {DIGITAL_TO_PERCENT:g} %", e(digital)),
        (f"above {DIGITAL_TO_PERCENT:g}, below {CURRENT_FROM_PERCENT:g} %", _no("error, no charging")),
        (
            f"{CURRENT_FROM_PERCENT:g} to {FIRST_SEGMENT_FROM_PERCENT:g} %",
            e(amps(pilot_current_a(CURRENT_FROM_PERCENT))),
        ),
        (f"{FIRST_SEGMENT_FROM_PERCENT:g} to {FIRST_SEGMENT_TO_PERCENT:g} %", e(first)),
        (f"above {FIRST_SEGMENT_TO_PERCENT:g}, to {SECOND_SEGMENT_TO_PERCENT:g} %", e(second)),
        (
            f"above {SECOND_SEGMENT_TO_PERCENT:g}, to {CURRENT_TO_PERCENT:g} %",
            e(amps(pilot_current_a(CURRENT_TO_PERCENT))),
        ),
        (f"above {CURRENT_TO_PERCENT:g} %", e("not ready, no charging; at 100 % the volts are steady")),
    ]
    return [[Cell(e(duty)), Cell(words)] for duty, words in ranges]


# ----------------------------------------------------------------------------------------------- states, proximity


def _states(states: Table) -> str:
    heads: list[str | Cell] = [
        "State",
        Cell("Top<br>V", figure=True),
        Cell("Window<br>V", figure=True, wide=True),
        Cell("Vehicle<br>ohm", figure=True),
        Cell("Reckoned<br>V", figure=True, wide=True),
        "Means, and what a crew sees",
    ]
    rows = []
    for state, row in states.rows.items():
        resistance_ohm = row.get("resistance_ohm")
        reckoned = resistance_ohm is not None or state == "A"
        means, sees = STATE_WORDS.get(state, ("", ""))
        rows.append(
            [
                Cell(f'<b class="f">{e(state)}</b>'),
                _figure(_signed(row["high_v"])) if "high_v" in row else Cell("–", figure=True),
                Cell(e(_window(row, "high_from_v", "high_to_v", 2)), figure=True, wide=True),
                Cell(e(number(resistance_ohm)) if resistance_ohm is not None else "–", figure=True),
                Cell(e(_volts(pilot_level_v(resistance_ohm))) if reckoned else "–", figure=True, wide=True),
                Cell(
                    f'<b>{e(means)}</b><br><span class="n">{e(sees)}</span>'
                    f"{_window_below(_window(row, 'high_from_v', 'high_to_v', 2))}"
                ),
            ]
        )
    notes = [
        "Top: the high level of the wave, or the steady volts. Steady volts (written A1, B1, C1) say that the EVSE offers no "
        "current; a wave (A2, B2, C2) that it does.",
        f"The EVSE feeds the pilot through a resistor of {_kilo(SOURCE_OHM)}; the vehicle's resistance, behind a diode of {DIODE_DROP_V:g} V, pulls the top down. "
        f"Reckoned: the volts that this resistance gives. The bottom stays at {_signed(-OSCILLATOR_V)} V because of the diode.",
        "Window: what test software by SAE J1772 takes for the state; that of E from memory. A receiver may be wider, a volt "
        "either way by IEC 61851-1 (from memory).",
        "A vehicle changes from B to C by itself; an EVSE that sees C and is satisfied closes its contacts.",
    ]
    return table("States of the control pilot", heads, rows) + bullets(e(note) for note in notes)


def _window_below(window: str) -> str:
    """Return the window of a level as a line that a narrow page shows, since rows of faults speak of windows."""
    return narrow(f"Window: {e(window)} V") if window != NO_WINDOW else ""


def _proximity(latch: Table) -> str:
    heads: list[str | Cell] = [
        "Connector",
        Cell("In it<br>ohm", figure=True),
        Cell("At inlet<br>V", figure=True),
        Cell("Window<br>V", figure=True, wide=True),
        Cell("What follows"),
    ]
    rows = []
    for state, row in latch.rows.items():
        ohm = row.get("connector_ohm")
        name, follows = LATCH_WORDS.get(state, (state, ""))
        rows.append(
            [
                Cell(e(name)),
                Cell(e(number(ohm)) if ohm is not None else "–", figure=True),
                _figure(_volts(proximity_level_v(ohm))),
                Cell(e(_window(row, "level_from_v", "level_to_v", 2)), figure=True, wide=True),
                Cell(e(follows) + _window_below(_window(row, "level_from_v", "level_to_v", 2))),
            ]
        )
    notes = [
        "Type 1 and J3400. The button of the latch opens a switch in the connector: more ohm, and the vehicle knows before "
        "the contacts part. Ohm are measured on a connector that is unplugged and dead.",
        f"Volts for a vehicle that feeds the line from {SUPPLY_V:g} V through {number(PULL_UP_OHM)} ohm, with {_kilo(INLET_OHM)} to ground in the "
        "inlet (circuit from memory; the volts agree with public readings). Other vehicles, and Type 2 inlets, have others.",
        "<b>A captive Type 1 or J3400 cable carries no code for its amps.</b> The vehicle cannot know what the cable bears, so the "
        "rating of the cable must be in the EVSE's setting.",
        "An adapter moves the latch: the connector may be latched to the adapter and the adapter not to the vehicle. Look at "
        "both joints.",
    ]
    return table("Proximity at the inlet", heads, rows) + bullets(notes)


def _codes(codes: Table) -> str:
    heads: list[str | Cell] = [
        Cell("Resistor<br>ohm"),
        Cell("Cable bears<br>A", figure=True),
        Cell("One phase<br>A", figure=True, wide=True),
        Cell("Read as this<br>ohm", figure=True),
    ]
    rows = [
        [
            Cell(e(number(float(key))) if key.replace(".", "", 1).isdigit() else e(key)),
            _figure(f"{rounded_down(row['current_a']):g}") if "current_a" in row else Cell("–", figure=True),
            Cell(
                e(f"{rounded_down(row['current_one_phase_a']):g}") if "current_one_phase_a" in row else "the same",
                figure=True,
                wide=True,
            ),
            Cell(e(_window(row, "resistance_from_ohm", "resistance_to_ohm", 0)), figure=True),
        ]
        for key, row in codes.rows.items()
    ]
    notes = [
        "A cable with a Type 2 plug at either end has a resistor between proximity and ground in its plugs. The EVSE reads the "
        "one at its own socket and states the least of its own amps and the cable's.",
        "Anything else is no code: a cut wire, a short, a value between two rows. Then nothing may be given, and the cable is "
        "not used.",
        "What is read as which code, and the one-phase figure: from memory. The resistors and amps are in print.",
        "The code is what the maker of the cable says of it. A burnt or stiff cable has the same resistor.",
    ]
    return table("Codes of detachable Type 2 cables", heads, rows) + bullets(e(note) for note in notes)


def _origins(dataset: Dataset, tables: Iterable[Table]) -> str:
    rows = []
    for one in tables:
        seen: dict[str, None] = {}
        for origin in one.sources.values():
            if origin.ref is None:
                words = e(", ".join(part for part in (str(origin.basis), origin.note) if part))
            else:
                title = dataset.sources[origin.ref].title if origin.ref in dataset.sources else origin.ref
                words = link(f"../sources/index.html#{source_anchor(origin.ref)}", title)
            seen[words] = None
        rows.append([Cell(e(one.name)), Cell("<br>".join(seen)), Cell(f"<code>{e(one.id)}</code>", wide=True)])
    heads: list[str | Cell] = ["Table", "Source", Cell("Id", wide=True)]
    duty = link(f"../sources/index.html#{source_anchor('sae-j1772')}", "SAE J1772")
    foot = f'<p class="n">Duty cycle and amps: {duty}, and IEC 61851-1 annex A. What is here is a summary; the standards go before it.</p>'
    return table("Where the tables come from", heads, rows) + foot


# -------------------------------------------------------------------------------------------------------------- words


def _figure(text: str) -> Cell:
    return Cell(f'<b class="f">{e(text)}</b>', figure=True)


def _no(words: str) -> str:
    return f'<span class="v">{icon("cannot_serve")}{e(words)}</span>'


def _signed(voltage_v: float, digits: int = 0) -> str:
    """Return volts with a true minus; more digits where the value has them."""
    text = f"{abs(voltage_v):.{digits}f}" if digits else f"{abs(voltage_v):g}"
    return f"{MINUS}{text}" if voltage_v < 0 and float(text) else text


def _volts(voltage_v: float) -> str:
    """Return volts to a tenth."""
    return _signed(voltage_v, 1)


def _kilo(resistance_ohm: float) -> str:
    return f"{resistance_ohm / 1000:g} kohm"


def _window(row: dict[str, float], low: str, high: str, digits: int) -> str:
    if low not in row or high not in row:
        return NO_WINDOW
    ends = [f"{MINUS if value < 0 else ''}{abs(value):,.{digits}f}" for value in (row[low], row[high])]
    return f"{ends[0]} to {ends[1]}"


# ------------------------------------------------------------------------------------------------------------ drawing

WAVE_LEFT, WAVE_RIGHT = 9.0, 86.0  # per cent; volts stand to the left, amps to the right
WAVE_EM, WAVE_GAP_EM, WAVE_TOP_EM, WAVE_FOOT_EM = 5.0, 2.4, 2.2, 2.4
WAVE_MS = 2.0
TICKS_MS = (0.0, 0.5, 1.0, 1.5, 2.0)


def pilot_wave(currents_a: Sequence[float], high_v: float) -> str:
    """Return the pilot's wave over two thousandths of a second at some settings, the time at the top in the overprint.

    It stretches and never scales, like the drawings of the other pages; the table of duty cycles is its twin.
    """
    top_v, bottom_v = OSCILLATOR_V, -OSCILLATOR_V

    def x(time_ms: float) -> float:
        return WAVE_LEFT + time_ms / WAVE_MS * (WAVE_RIGHT - WAVE_LEFT)

    parts, words, y = [], [], WAVE_TOP_EM
    for current_a in currents_a:
        duty = pilot_duty_cycle_percent(current_a)
        base = y

        def level(voltage_v: float, base: float = base) -> float:
            return base + (top_v - voltage_v) / (top_v - bottom_v) * WAVE_EM

        for mark_v in (top_v, high_v, 0.0, bottom_v):
            parts.append(
                f'<line class="lh" x1="{WAVE_LEFT:g}%" x2="{WAVE_RIGHT:g}%" y1="{level(mark_v):.2f}em" y2="{level(mark_v):.2f}em"/>'
                + _label(f"{WAVE_LEFT:g}%", level(mark_v) + 0.3, _signed(mark_v), "n", "e", "-0.3em")
            )
        parts += _wave(duty, level(high_v), level(bottom_v), x)
        start = f"{WAVE_LEFT:g}%"
        parts.append(_label(start, level(high_v) - 0.35, f"{duty:.1f} %", "b x", "ko", "0.3em"))
        parts.append(_label("100%", level(high_v) + 0.3, amps(current_a), "f", "e"))
        words.append(
            f"{amps(current_a)}: {duty:.1f} % of the time at {_signed(high_v)} V, the rest at {_signed(bottom_v)} V"
        )
        y += WAVE_EM + WAVE_GAP_EM
    foot = y - WAVE_GAP_EM + 0.8
    parts.append(f'<line class="l2" x1="{WAVE_LEFT:g}%" x2="{WAVE_RIGHT:g}%" y1="{foot:.2f}em" y2="{foot:.2f}em"/>')
    for tick_ms in TICKS_MS:
        at = f"{x(tick_ms):.2f}%"
        parts.append(f'<line class="l1" x1="{at}" x2="{at}" y1="{foot:.2f}em" y2="{foot + 0.4:.2f}em"/>')
        parts.append(_label(at, foot + 1.5, f"{tick_ms:g}", "n", "m"))
    parts.append(_label("0", 0.9, "volts, vehicle asks for current", "n"))
    parts.append(_label("100%", foot + 1.5, "ms", "n", "e"))
    height = foot + WAVE_FOOT_EM
    title, described = "The pilot's wave at two settings", f"Over two thousandths of a second. {'; '.join(words)}."
    return (
        f'<svg class="d" role="img" aria-labelledby="wave-t wave-d" width="100%" height="{height:.2f}em">'
        f'<title id="wave-t">{e(title)}</title><desc id="wave-d">{e(described)}</desc>{"".join(parts)}</svg>'
    )


def _wave(duty_percent: float, high_y: float, low_y: float, x: Callable[[float], float]) -> list[str]:
    """Return the lines of the wave: up, along the top, down, along the bottom, period after period."""
    period_ms = 1000 / FREQUENCY_HZ

    def line(style: str, from_ms: float, to_ms: float, from_y: float, to_y: float) -> str:
        return (
            f'<line class="{style}" x1="{x(from_ms):.2f}%" x2="{x(to_ms):.2f}%" y1="{from_y:.2f}em" y2="{to_y:.2f}em"/>'
        )

    parts = []
    for start_ms in (period_ms * count for count in range(round(WAVE_MS / period_ms))):
        fall_ms, end_ms = start_ms + period_ms * duty_percent / 100, start_ms + period_ms
        parts.append(line("l2", start_ms, start_ms, low_y, high_y))
        parts.append(line("l2", fall_ms, fall_ms, high_y, low_y))
        parts.append(line("l2", fall_ms, end_ms, low_y, low_y))
        parts.append(line("la", start_ms, fall_ms, high_y, high_y))
    return parts


def _label(at: str, y: float, text: str, size: str, anchor: str = "", dx: str = "") -> str:
    """Return a text; its y is in em of the drawing, so its size stands on the inner span alone."""
    shift = f' dx="{dx}"' if dx else ""
    outer = f' class="{anchor}"' if anchor else ""
    return f'<text x="{at}" y="{y:.2f}em"{shift}{outer}><tspan class="{size}">{e(text)}</tspan></text>'
