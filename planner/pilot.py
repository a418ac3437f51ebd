"""The control pilot: duty cycle to amps and back.

The pilot states a maximum, not a demand: the vehicle may always take less.
"""

from typing import Literal

from planner.errors import OutOfRangeError

__all__ = [
    "DEAD_BAND_HIGH_A",
    "DEAD_BAND_LOW_A",
    "HIGHEST_CURRENT_A",
    "LOWEST_CURRENT_A",
    "PilotMeaning",
    "is_advertisable",
    "pilot_current_a",
    "pilot_duty_cycle_percent",
    "pilot_meaning",
]

LOWEST_CURRENT_A = 6.0  # sae-j1772: below it an EVSE pauses instead of advertising less
HIGHEST_CURRENT_A = 80.0  # sae-j1772: the AC maximum
# Both segments give 85 % here, 51.0 A by the first and 52.5 A by the second; a receiver reads 85 % as 51 A.
DEAD_BAND_LOW_A, DEAD_BAND_HIGH_A = 51.0, 52.5

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
    if 3 <= duty_cycle_percent <= 7:
        return "digital_communication"
    if duty_cycle_percent < 8:
        return "error"
    return "current" if duty_cycle_percent <= 97 else "not_ready"


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
        raise OutOfRangeError(name="duty_cycle_percent", value=duty_cycle_percent, low=8, high=97, unit="%")
    if duty_cycle_percent < 10:
        return LOWEST_CURRENT_A
    if duty_cycle_percent <= 85:
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
