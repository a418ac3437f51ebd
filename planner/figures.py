"""How a figure is written in a sentence: one place, so that a link, a finding and a page round alike.

Amps and miles go down, minutes and fuel go up, so that no rounding promises more than the arithmetic gives.
"""

import math

from planner.units import FT_PER_M, LITRES_PER_GALLON, fahrenheit_from_celsius

__all__ = [
    "MINUTE_STEPS",
    "MOST_SHOWN_MIN",
    "amps",
    "asked_miles",
    "feet",
    "gallons",
    "hours_minutes",
    "kilowatts",
    "miles",
    "rounded_down",
    "shown_minutes",
    "spoken_minutes",
    "temperature",
    "volts",
]

# Up to so many minutes, and how finely they are shown.
MINUTE_STEPS = ((120, 5), (240, 15), (480, 30), (1440, 60))
MOST_SHOWN_MIN = 1440  # longer than this is only that: nobody plans a second day by the hour
_SLACK = 1e-9  # keeps 38.4 from becoming 38.3 by a rounding bit


def rounded_down(value: float) -> float:
    """Return a value rounded down to a tenth.

    >>> rounded_down(38.46), rounded_down(40.0)
    (38.4, 40.0)
    """
    return math.floor(value * 10 + _SLACK) / 10


def amps(current_a: float) -> str:
    """Return amps, rounded down to a tenth.

    >>> amps(38.46), amps(40.0)
    ('38.4 A', '40 A')
    """
    return f"{rounded_down(current_a):g} A"


def volts(voltage_v: float) -> str:
    """Return whole volts.

    >>> volts(238.6)
    '239 V'
    """
    return f"{voltage_v:.0f} V"


def kilowatts(power_kw: float) -> str:
    """Return kilowatts, rounded down to a tenth; two digits below 1 kW.

    >>> kilowatts(9.57), kilowatts(0.826)
    ('9.5 kW', '0.82 kW')
    """
    steps = 10 if power_kw >= 1 else 100
    return f"{math.floor(power_kw * steps + _SLACK) / steps:.{1 if steps == 10 else 2}f} kW"


def miles(distance_mi: float) -> str:
    """Return whole miles, rounded down.

    >>> miles(45.0)
    '45 mi'
    """
    return f"{math.floor(distance_mi + _SLACK)} mi"


def gallons(volume_l: float) -> str:
    """Return US gallons rounded up to a tenth, with litres beside.

    >>> gallons(7.5)
    '2 gal (7.5 L)'
    """
    return f"{_up(volume_l / LITRES_PER_GALLON)} gal ({_up(volume_l)} L)"


def _up(value: float) -> str:
    return f"{math.ceil(value * 10 - _SLACK) / 10:g}"


def feet(altitude_m: float) -> str:
    """Return whole feet with metres beside.

    >>> feet(1524)
    '5,000 ft (1524 m)'
    """
    return f"{altitude_m * FT_PER_M:,.0f} ft ({altitude_m:.0f} m)"


def asked_miles(distance_mi: float) -> str:
    """Return a distance as somebody asked for it: to a tenth, whole where it is whole.

    >>> asked_miles(45.0), asked_miles(0.5), asked_miles(27.96)
    ('45 mi', '0.5 mi', '28 mi')
    """
    return f"{round(distance_mi, 1):g} mi"


def temperature(temperature_c: float) -> str:
    """Return whole Fahrenheit with Celsius beside.

    >>> temperature(-20)
    '-4 F (-20 C)'
    """
    return f"{fahrenheit_from_celsius(temperature_c):.0f} F ({temperature_c:.0f} C)"


def hours_minutes(minutes: int) -> str:
    """Return minutes, with hours beside from two hours on.

    >>> hours_minutes(95), hours_minutes(292)
    ('95 min', '292 min (4 h 52 min)')
    """
    return f"{minutes} min" if minutes < 120 else f"{minutes} min ({minutes // 60} h {minutes % 60:02d} min)"


def shown_minutes(minutes: float) -> int:
    """Return minutes as every sheet shows them, never less: in fives up to two hours, in quarters of an hour up to
    four, in half hours up to eight, in hours up to a day; one hour more than a day is any time beyond.

    >>> shown_minutes(91), shown_minutes(121), shown_minutes(241), shown_minutes(481), shown_minutes(5784)
    (95, 135, 270, 540, 1500)
    """
    if minutes > MOST_SHOWN_MIN + _SLACK:
        return MOST_SHOWN_MIN + 60
    step = next(step for most, step in MINUTE_STEPS if minutes <= most + _SLACK)
    return step * math.ceil(minutes / step - _SLACK)


def spoken_minutes(minutes: float) -> str:
    """Return minutes as people say them, in the steps of `shown_minutes`.

    >>> spoken_minutes(91), spoken_minutes(119), spoken_minutes(121), spoken_minutes(5784)
    ('95 minutes', '2 hours', '2 hours and 15 minutes', 'more than 24 hours')
    """
    shown = shown_minutes(minutes)
    if shown > MOST_SHOWN_MIN:
        return f"more than {MOST_SHOWN_MIN // 60} hours"
    if shown < 120:
        return f"{shown} minutes"
    hours, rest = divmod(shown, 60)
    return f"{hours} hours" + (f" and {rest} minutes" if rest else "")
