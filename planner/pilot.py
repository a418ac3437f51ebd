"""The control pilot: duty cycle to amps and back, the volts of its states and what puts them there.

The pilot states a maximum, not a demand: the vehicle may always take less. The windows of the states are a published
table; the function that reads them takes them as plain numbers.
"""

from collections.abc import Mapping
from typing import Literal

from planner.errors import OutOfRangeError

__all__ = [
    "CURRENT_FROM_PERCENT",
    "CURRENT_TO_PERCENT",
    "DEAD_BAND_HIGH_A",
    "DEAD_BAND_LOW_A",
    "DIGITAL_FROM_PERCENT",
    "DIGITAL_PERCENT",
    "DIGITAL_TO_PERCENT",
    "DIODE_DROP_V",
    "FIRST_SEGMENT_FROM_PERCENT",
    "FIRST_SEGMENT_TO_PERCENT",
    "FREQUENCY_HZ",
    "HIGHEST_CURRENT_A",
    "LOWEST_CURRENT_A",
    "OSCILLATOR_V",
    "SECOND_SEGMENT_TO_PERCENT",
    "SOURCE_OHM",
    "PilotMeaning",
    "is_advertisable",
    "pilot_current_a",
    "pilot_duty_cycle_percent",
    "pilot_level_v",
    "pilot_mean_v",
    "pilot_meaning",
    "pilot_state",
]

LOWEST_CURRENT_A = 6.0  # sae-j1772: below it an EVSE pauses instead of advertising less
HIGHEST_CURRENT_A = 80.0  # sae-j1772: the AC maximum
# Both segments give 85 % here, 51.0 A by the first and 52.5 A by the second; a receiver reads 85 % as 51 A.
DEAD_BAND_LOW_A, DEAD_BAND_HIGH_A = 51.0, 52.5
# sae-j1772: what a receiver takes a duty cycle for; between the two bands, and below the first, it is an error
DIGITAL_FROM_PERCENT, DIGITAL_PERCENT, DIGITAL_TO_PERCENT = 3.0, 5.0, 7.0
CURRENT_FROM_PERCENT, CURRENT_TO_PERCENT = 8.0, 97.0
# sae-j1772: 6 A flat below the first segment, 80 A flat above the second
FIRST_SEGMENT_FROM_PERCENT, FIRST_SEGMENT_TO_PERCENT, SECOND_SEGMENT_TO_PERCENT = 10.0, 85.0, 96.0
FREQUENCY_HZ = 1000.0  # sae-j1772
OSCILLATOR_V = 12.0  # sae-j1772: plus and minus, before the source resistor
# From memory: sae-j1772, the EVSE's source resistor and the drop of the diode in the vehicle. The levels that they give
# with the vehicle's resistances agree with print (tests/published/pilot.yaml).
SOURCE_OHM, DIODE_DROP_V = 1000.0, 0.7

PilotMeaning = Literal["error", "digital_communication", "current", "not_ready"]


def pilot_meaning(duty_cycle_percent: float) -> PilotMeaning:
    """Return what a duty cycle of the 1 kHz pilot says.

    Below 3 %: error. 3 to 7 %: digital communication required, no AC charging on the pilot alone. Between 7 and
    8 %: error. 8 to 97 %: a current. Above 97 %, a steady voltage included: not ready.

    Parameters
    ----------
    duty_cycle_percent : float
        Duty cycle D, 0 to 100. [%]

    Returns
    -------
    PilotMeaning
        `error`, `digital_communication`, `current` or `not_ready`. [unitless]

    Raises
    ------
    OutOfRangeError
        If D lies outside 0 to 100 %.

    Examples
    --------
    >>> pilot_meaning(5), pilot_meaning(7.5), pilot_meaning(53.3), pilot_meaning(100)
    ('digital_communication', 'error', 'current', 'not_ready')

    References
    ----------
    sae-j1772, section 4.2, control pilot; iec-61851-1, annex A.
    """
    if not 0 <= duty_cycle_percent <= 100:
        raise OutOfRangeError(name="duty_cycle_percent", value=duty_cycle_percent, low=0, high=100, unit="%")
    if DIGITAL_FROM_PERCENT <= duty_cycle_percent <= DIGITAL_TO_PERCENT:
        return "digital_communication"
    if duty_cycle_percent < CURRENT_FROM_PERCENT:
        return "error"
    return "current" if duty_cycle_percent <= CURRENT_TO_PERCENT else "not_ready"


def pilot_current_a(duty_cycle_percent: float) -> float:
    """Return the largest current that a duty cycle permits.

    I = 6 for 8 <= D < 10, 0.6 D for 10 <= D <= 85, 2.5 (D - 64) for 85 < D <= 96, 80 for 96 < D <= 97.

    Parameters
    ----------
    duty_cycle_percent : float
        Duty cycle D of the 1 kHz pilot, 8 to 97. [%]

    Returns
    -------
    float
        Largest continuous line current that the vehicle may draw. [A]

    Raises
    ------
    OutOfRangeError
        If the duty cycle does not state a current (outside 8 to 97 %).

    Examples
    --------
    >>> pilot_current_a(50), pilot_current_a(85), pilot_current_a(90), pilot_current_a(8.5)
    (30.0, 51.0, 65.0, 6.0)

    References
    ----------
    sae-j1772, section 4.2, control pilot; iec-61851-1, annex A.
    """
    if pilot_meaning(duty_cycle_percent) != "current":
        raise OutOfRangeError(
            name="duty_cycle_percent",
            value=duty_cycle_percent,
            low=CURRENT_FROM_PERCENT,
            high=CURRENT_TO_PERCENT,
            unit="%",
        )
    if duty_cycle_percent < FIRST_SEGMENT_FROM_PERCENT:
        return LOWEST_CURRENT_A
    if duty_cycle_percent <= FIRST_SEGMENT_TO_PERCENT:
        return 0.6 * duty_cycle_percent
    return min(2.5 * (duty_cycle_percent - 64), HIGHEST_CURRENT_A)


def is_advertisable(current_a: float) -> bool:
    """Tell whether a pilot can state this current: 6 to 51 A, or above 52.5 up to 80 A.

    Parameters
    ----------
    current_a : float
        Line current. [A]

    Returns
    -------
    bool
        True when a duty cycle exists that a vehicle reads as this current. [unitless]

    Examples
    --------
    >>> [is_advertisable(current_a) for current_a in (5.9, 6, 51, 52, 52.5, 53, 80, 80.1)]
    [False, True, True, False, False, True, True, False]

    References
    ----------
    sae-j1772, section 4.2: the two segments of the duty cycle meet at 85 % with different currents.
    """
    if not LOWEST_CURRENT_A <= current_a <= HIGHEST_CURRENT_A:
        return False
    return not DEAD_BAND_LOW_A < current_a <= DEAD_BAND_HIGH_A


def pilot_duty_cycle_percent(current_a: float) -> float:
    """Return the duty cycle that advertises a current: the inverse of `pilot_current_a`.

    D = I / 0.6 for 6 <= I <= 51, D = I / 2.5 + 64 for 52.5 < I <= 80.

    Parameters
    ----------
    current_a : float
        Current to advertise. [A]

    Returns
    -------
    float
        Duty cycle of the 1 kHz pilot. [%]

    Raises
    ------
    OutOfRangeError
        If the current is below 6 A, above 80 A, or in the dead band above 51 and up to 52.5 A.

    Examples
    --------
    >>> round(pilot_duty_cycle_percent(32), 2), pilot_duty_cycle_percent(60)
    (53.33, 88.0)

    References
    ----------
    sae-j1772, section 4.2, control pilot; iec-61851-1, annex A.
    """
    if DEAD_BAND_LOW_A < current_a <= DEAD_BAND_HIGH_A:
        raise OutOfRangeError(
            name="current_a", value=current_a, low=LOWEST_CURRENT_A, high=DEAD_BAND_LOW_A, unit="A (or above 52.5 A)"
        )
    if not is_advertisable(current_a):
        raise OutOfRangeError(name="current_a", value=current_a, low=LOWEST_CURRENT_A, high=HIGHEST_CURRENT_A, unit="A")
    return current_a / 0.6 if current_a <= DEAD_BAND_LOW_A else current_a / 2.5 + 64


def pilot_level_v(resistance_ohm: float | None) -> float:
    """Return the pilot's high level that a vehicle's resistance to ground leaves of the EVSE's 12 V.

    V = 0.7 + (12 - 0.7) R / (1000 + R): 12 V behind 1 kohm, the vehicle's diode in series with R; 12 V with no vehicle.
    The diode's drop is taken as constant; a short to ground ahead of the diode gives 0 V, which is no vehicle's doing.

    Parameters
    ----------
    resistance_ohm : float or None
        Resistance R between the vehicle's pilot diode and ground, 0 or more; None with no vehicle. [ohm]

    Returns
    -------
    float
        High level between pilot and ground at the EVSE. [V]

    Raises
    ------
    OutOfRangeError
        If the resistance is negative.

    Examples
    --------
    >>> [round(pilot_level_v(resistance_ohm), 1) for resistance_ohm in (None, 2740, 882, 246)]
    [12.0, 9.0, 6.0, 2.9]

    References
    ----------
    sae-j1772, section 4.2, control pilot circuit; pilot-states-wiki, resistances.
    """
    if resistance_ohm is None:
        return OSCILLATOR_V
    if not resistance_ohm >= 0:
        raise OutOfRangeError(name="resistance_ohm", value=resistance_ohm, low=0, high=float("inf"), unit="ohm")
    return DIODE_DROP_V + (OSCILLATOR_V - DIODE_DROP_V) * resistance_ohm / (SOURCE_OHM + resistance_ohm)


def pilot_state(*, high_v: float, windows: Mapping[str, tuple[float, float]]) -> str | None:
    """Return the state whose window holds the pilot's high level.

    The state s with low_s <= V <= high_s; none between the windows, where a receiver may read either neighbor.

    Parameters
    ----------
    high_v : float
        High level between pilot and ground: the top of the wave, or the steady voltage. [V]
    windows : Mapping[str, tuple[float, float]]
        Lowest and highest level of each state, without overlap. [V]

    Returns
    -------
    str or None
        The state, or None between and outside the windows. [unitless]

    Examples
    --------
    >>> windows = {"A": (11.4, 12.6), "B": (8.36, 9.56), "C": (5.48, 6.49)}
    >>> [pilot_state(high_v=high_v, windows=windows) for high_v in (12, 9, 7.5)]
    ['A', 'B', None]

    References
    ----------
    sae-j1772, section 4.2, pilot states; windows-in-test-software, windows.
    """
    return next((state for state, (low_v, top_v) in windows.items() if low_v <= high_v <= top_v), None)


def pilot_mean_v(*, high_v: float, low_v: float, duty_cycle_percent: float) -> float:
    """Return what a meter on direct volts reads of the pilot's wave: its mean, which is not its high level.

    V = D V_high + (1 - D) V_low. Neglected: the edges of the wave, some microseconds of each millisecond, and what the
    meter itself draws.

    Parameters
    ----------
    high_v : float
        High level between pilot and ground. [V]
    low_v : float
        Low level between pilot and ground, -12 where the vehicle's diode does its work. [V]
    duty_cycle_percent : float
        Duty cycle D, 0 to 100. [%]

    Returns
    -------
    float
        Mean voltage. [V]

    Raises
    ------
    OutOfRangeError
        If D lies outside 0 to 100 %.

    Examples
    --------
    >>> pilot_mean_v(high_v=6, low_v=-12, duty_cycle_percent=50)
    -3.0

    References
    ----------
    own-derivation, mean of a rectangular wave.
    """
    if not 0 <= duty_cycle_percent <= 100:
        raise OutOfRangeError(name="duty_cycle_percent", value=duty_cycle_percent, low=0, high=100, unit="%")
    share = duty_cycle_percent / 100
    return share * high_v + (1 - share) * low_v
