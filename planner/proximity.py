"""The proximity line: the latch of a North American connector, the volts at the inlet, the code of a loose cable.

Published windows and codes are data; these functions take them as plain numbers.
"""

from collections.abc import Mapping, Sequence

from planner.errors import OutOfRangeError

__all__ = ["INLET_OHM", "PULL_UP_OHM", "SUPPLY_V", "cable_code_a", "latch_state", "proximity_level_v"]

# From memory: sae-j1772, the inlet's resistor to ground and the vehicle's pull-up. The levels that they give with the
# connector's resistances agree with print (tests/core/test_proximity.py).
SUPPLY_V, PULL_UP_OHM, INLET_OHM = 5.0, 330.0, 2700.0


def proximity_level_v(connector_ohm: float | None) -> float:
    """Return the volts on the proximity line of a Type 1 or J3400 inlet.

    V = 5 Rp / (330 + Rp) with Rp = 2700 R / (2700 + R): the inlet's 2.7 kohm with the connector's R beside it, fed
    from 5 V through 330 ohm; Rp = 2700 with no connector. For that circuit alone: other inlets have other resistors.

    Parameters
    ----------
    connector_ohm : float or None
        Resistance R in the connector between proximity and ground, 0 or more; None with no connector. [ohm]

    Returns
    -------
    float
        Voltage between proximity and ground at the inlet. [V]

    Raises
    ------
    OutOfRangeError
        If the resistance is negative.

    Examples
    --------
    >>> [round(proximity_level_v(connector_ohm), 2) for connector_ohm in (None, 480, 150)]
    [4.46, 2.76, 1.5]

    References
    ----------
    sae-j1772, section 4, proximity detection circuit; proximity-help-article, resistances.
    """
    _refuse_negative("connector_ohm", connector_ohm)
    beside_ohm = INLET_OHM if connector_ohm is None else INLET_OHM * connector_ohm / (INLET_OHM + connector_ohm)
    return SUPPLY_V * beside_ohm / (PULL_UP_OHM + beside_ohm)


def latch_state(*, connector_ohm: float | None, windows: Mapping[str, tuple[float, float]]) -> str | None:
    """Return how a vehicle reads a connector's resistance between proximity and ground.

    The state s with low_s <= V <= high_s, V by `proximity_level_v`. None where no window holds V: a vehicle then
    does not charge.

    Parameters
    ----------
    connector_ohm : float or None
        Resistance in the connector between proximity and ground, 0 or more; None with no connector. [ohm]
    windows : Mapping[str, tuple[float, float]]
        Lowest and highest voltage of each state, without overlap. [V]

    Returns
    -------
    str or None
        The state, or None between and outside the windows. [unitless]

    Raises
    ------
    OutOfRangeError
        If the resistance is negative.

    Examples
    --------
    >>> windows = {"latched": (0.8, 1.72), "pressed": (2.51, 3.01), "apart": (4.2, 4.65)}
    >>> [latch_state(connector_ohm=connector_ohm, windows=windows) for connector_ohm in (150, 480, None, 250)]
    ['latched', 'pressed', 'apart', None]

    References
    ----------
    sae-j1772, section 4, proximity detection circuit; windows-in-test-software, windows.
    """
    level_v = proximity_level_v(connector_ohm)
    return next((state for state, (low_v, high_v) in windows.items() if low_v <= level_v <= high_v), None)


def cable_code_a(*, resistance_ohm: float, codes: Sequence[tuple[float, float, float]]) -> float | None:
    """Return the current that a detachable cable's proximity resistor permits.

    The current of the code with low <= R <= high. None for what is no code: the EVSE must then give nothing. A captive
    cable has no code: its rating must be in the EVSE's setting.

    Parameters
    ----------
    resistance_ohm : float
        Resistance R in the cable's plug between proximity and ground, 0 or more. [ohm]
    codes : Sequence[tuple[float, float, float]]
        Lowest and highest resistance of each code, and its current. [ohm, ohm, A]

    Returns
    -------
    float or None
        Largest continuous current of the cable, None for what is no code. [A]

    Raises
    ------
    OutOfRangeError
        If the resistance is negative.

    Examples
    --------
    >>> codes = [(400, 936, 20), (164, 308, 32)]
    >>> [cable_code_a(resistance_ohm=resistance_ohm, codes=codes) for resistance_ohm in (680, 220, 350)]
    [20, 32, None]

    References
    ----------
    iec-61851-1, annex B; iec-61851-1-cable-codes, resistances.
    """
    _refuse_negative("resistance_ohm", resistance_ohm)
    return next((current_a for low_ohm, high_ohm, current_a in codes if low_ohm <= resistance_ohm <= high_ohm), None)


def _refuse_negative(name: str, resistance_ohm: float | None) -> None:
    if resistance_ohm is not None and not resistance_ohm >= 0:
        raise OutOfRangeError(name=name, value=resistance_ohm, low=0, high=float("inf"), unit="ohm")
