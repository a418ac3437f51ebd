"""AC power, and what an onboard charger makes of it."""

import math

from planner.errors import OutOfRangeError

__all__ = [
    "ac_power_kw",
    "battery_power_kw",
    "charger_input_kw",
    "charger_loss_scale",
    "charger_output_kw",
    "constant_power_current_a",
]


def ac_power_kw(*, voltage_v: float, current_a: float, phases: int, power_factor: float) -> float:
    """Return the active power of a balanced AC circuit.

    P = V I pf / 1000 for one phase, P = sqrt(3) V I pf / 1000 for three phases.

    Parameters
    ----------
    voltage_v : float
        Volts between the two conductors that carry the current; line to line for three phases. [V]
    current_a : float
        Line current. [A]
    phases : int
        1 or 3. [unitless]
    power_factor : float
        Active over apparent power, 0 to 1. [unitless]

    Returns
    -------
    float
        Active power. [kW]

    Raises
    ------
    OutOfRangeError
        If `phases` is neither 1 nor 3.

    Examples
    --------
    >>> ac_power_kw(voltage_v=240, current_a=80, phases=1, power_factor=1)
    19.2
    >>> round(ac_power_kw(voltage_v=400, current_a=16, phases=3, power_factor=1), 3)
    11.085

    References
    ----------
    sae-j1772, AC level 1 and level 2 ratings (the two one-phase products it states).
    """
    if phases not in (1, 3):
        raise OutOfRangeError(name="phases", value=phases, low=1, high=3, unit="phases (1 or 3)")
    line_factor = math.sqrt(3) if phases == 3 else 1.0
    return line_factor * voltage_v * current_a * power_factor / 1000


def constant_power_current_a(
    *, power_kw: float, voltage_v: float, loop_resistance_ohm: float, power_factor: float
) -> float:
    """Return the current of a constant-power load behind a one-phase loop resistance.

    P = (V - I R) I pf, so I = 2 (P / pf) / (V + sqrt(V^2 - 4 R P / pf)): the smaller root, in the form that
    stays exact as R goes to zero.

    Parameters
    ----------
    power_kw : float
        Active power that the load takes at its own terminals. [kW]
    voltage_v : float
        Volts at the stiff end of the loop. [V]
    loop_resistance_ohm : float
        Out and back. [ohm]
    power_factor : float
        Of the load, 0 to 1. [unitless]

    Returns
    -------
    float
        Line current. [A]

    Raises
    ------
    OutOfRangeError
        If the loop cannot deliver this power at any current (above V^2 pf / 4 R).

    Examples
    --------
    >>> constant_power_current_a(power_kw=6.6, voltage_v=240, loop_resistance_ohm=0, power_factor=1)
    27.5
    >>> current_a = constant_power_current_a(power_kw=6.6, voltage_v=240, loop_resistance_ohm=0.1, power_factor=1)
    >>> round((240 - 0.1 * current_a) * current_a / 1000, 9)
    6.6

    References
    ----------
    own-derivation, Kirchhoff's voltage law around one loop.
    """
    apparent_w = 1000 * power_kw / power_factor
    discriminant = voltage_v * voltage_v - 4 * loop_resistance_ohm * apparent_w
    if discriminant < 0:
        highest_kw = voltage_v * voltage_v * power_factor / (4000 * loop_resistance_ohm)
        raise OutOfRangeError(name="power_kw", value=power_kw, low=0, high=highest_kw, unit="kW")
    return 2 * apparent_w / (voltage_v + math.sqrt(discriminant))


def charger_input_kw(
    *, output_kw: float, loss_no_load_kw: float, loss_linear: float, loss_quadratic_per_kw: float
) -> float:
    """Return the AC power an onboard charger takes for a DC output.

    P_ac = P_o + a0 + a1 P_o + a2 P_o^2

    Parameters
    ----------
    output_kw : float
        DC output P_o. [kW]
    loss_no_load_kw : float
        Loss a0 that does not depend on the load. [kW]
    loss_linear : float
        Loss a1 per unit of output. [unitless]
    loss_quadratic_per_kw : float
        Loss a2 that grows with the square of the output. [1/kW]

    Returns
    -------
    float
        AC input. [kW]

    Examples
    --------
    >>> round(charger_input_kw(output_kw=10, loss_no_load_kw=0.1, loss_linear=0.025, loss_quadratic_per_kw=0.0016), 3)
    10.51

    References
    ----------
    own-judgement, onboard charger loss line: fitted to nothing, see the method page.
    """
    return output_kw + loss_no_load_kw + loss_linear * output_kw + loss_quadratic_per_kw * output_kw * output_kw


def charger_output_kw(
    *, input_kw: float, loss_no_load_kw: float, loss_linear: float, loss_quadratic_per_kw: float
) -> float:
    """Return the DC output of an onboard charger: the inverse of `charger_input_kw`, never below zero.

    P_o = 2 (P_ac - a0) / ((1 + a1) + sqrt((1 + a1)^2 + 4 a2 (P_ac - a0))), the root that stays exact as a2 -> 0.

    Parameters
    ----------
    input_kw : float
        AC input P_ac. [kW]
    loss_no_load_kw : float
        Loss a0 that does not depend on the load. [kW]
    loss_linear : float
        Loss a1 per unit of output. [unitless]
    loss_quadratic_per_kw : float
        Loss a2 that grows with the square of the output. [1/kW]

    Returns
    -------
    float
        DC output; 0 when the input does not cover the no-load loss. [kW]

    Examples
    --------
    >>> round(charger_output_kw(input_kw=10.51, loss_no_load_kw=0.1, loss_linear=0.025,
    ...                         loss_quadratic_per_kw=0.0016), 9)
    10.0
    >>> charger_output_kw(input_kw=0.05, loss_no_load_kw=0.1, loss_linear=0.025, loss_quadratic_per_kw=0.0016)
    0.0

    References
    ----------
    own-derivation, the quadratic of `charger_input_kw` solved for its output.
    """
    above_no_load_kw = input_kw - loss_no_load_kw
    if above_no_load_kw <= 0:
        return 0.0
    slope = 1 + loss_linear
    return 2 * above_no_load_kw / (slope + math.sqrt(slope * slope + 4 * loss_quadratic_per_kw * above_no_load_kw))


def charger_loss_scale(
    *,
    label_input_kw: float,
    label_efficiency: float,
    auxiliaries_kw: float,
    cell_side_factor: float,
    loss_no_load_kw: float,
    loss_linear: float,
    loss_quadratic_per_kw: float,
) -> float:
    """Return the factor on a charger's losses under load that makes wall to battery equal the label's efficiency.

    P_o = eta P_ac / eta_c + P_aux, then k = (P_ac - P_o - a0) / (a1 P_o + a2 P_o^2). This is the one anchor between
    label (wall) figures and battery figures: it is applied once a class, at label charging conditions. What is lost
    without load is left as it is: a label, measured at full power, says little of it, and at a small source it counts.

    Parameters
    ----------
    label_input_kw : float
        AC input P_ac while the label's consumption was measured. [kW]
    label_efficiency : float
        Wall to battery efficiency eta inside the label's figure, 0 to 1. [unitless]
    auxiliaries_kw : float
        What the vehicle itself uses while charging, P_aux. [kW]
    cell_side_factor : float
        Stored over delivered at the pack, eta_c, 0 to 1. [unitless]
    loss_no_load_kw : float
        Loss a0 without load, which is not scaled. [kW]
    loss_linear : float
        Unscaled loss a1. [unitless]
    loss_quadratic_per_kw : float
        Unscaled loss a2. [1/kW]

    Returns
    -------
    float
        Factor k on a1 and a2; not positive when auxiliaries and the loss without load already cost more than the
        label's efficiency allows, which `records` refuses. [unitless]

    Examples
    --------
    >>> k = charger_loss_scale(label_input_kw=11.52, label_efficiency=0.88, auxiliaries_kw=0.3, cell_side_factor=0.985,
    ...                        loss_no_load_kw=0.13, loss_linear=0.025, loss_quadratic_per_kw=0.0016)
    >>> output_kw = charger_output_kw(input_kw=11.52, loss_no_load_kw=0.13, loss_linear=0.025 * k,
    ...                               loss_quadratic_per_kw=0.0016 * k)
    >>> round((output_kw - 0.3) * 0.985 / 11.52, 6)
    0.88

    References
    ----------
    own-derivation, the energy balance of one charge at label conditions.
    """
    output_kw = label_efficiency * label_input_kw / cell_side_factor + auxiliaries_kw
    under_load_kw = loss_linear * output_kw + loss_quadratic_per_kw * output_kw * output_kw
    return (label_input_kw - output_kw - loss_no_load_kw) / under_load_kw


def battery_power_kw(*, output_kw: float, auxiliaries_kw: float, cell_side_factor: float) -> float:
    """Return the power that is stored in the battery, never below zero.

    P_b = max(P_o - P_aux, 0) eta_c

    Parameters
    ----------
    output_kw : float
        DC output of the onboard charger P_o. [kW]
    auxiliaries_kw : float
        What the vehicle itself uses while charging, P_aux. [kW]
    cell_side_factor : float
        Stored over delivered at the pack, eta_c, 0 to 1. [unitless]

    Returns
    -------
    float
        Power stored; 0 means that the vehicle will not charge. [kW]

    Examples
    --------
    >>> battery_power_kw(output_kw=1.3, auxiliaries_kw=0.3, cell_side_factor=0.985)
    0.985
    >>> battery_power_kw(output_kw=0.2, auxiliaries_kw=0.3, cell_side_factor=0.985)
    0.0

    References
    ----------
    own-derivation, energy balance at the pack.
    """
    return max(output_kw - auxiliaries_kw, 0.0) * cell_side_factor
