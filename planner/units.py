"""Exact conversions, and reading what people type: `45 mi`, `-4 F`, `1200 ft`, `12%`.

Used at the edges only: inside, quantities are plain floats in the unit that their name ends in.
"""

import re

from planner.errors import QuantityError

__all__ = [
    "FT_PER_M",
    "KG_PER_LB",
    "KM_PER_MILE",
    "LITRES_PER_GALLON",
    "M_PER_FT",
    "celsius_from_fahrenheit",
    "fahrenheit_from_celsius",
    "has_unit",
    "parse_altitude_m",
    "parse_current_a",
    "parse_distance_km",
    "parse_duration_min",
    "parse_energy_kwh",
    "parse_frequency_hz",
    "parse_length_m",
    "parse_mass_kg",
    "parse_part_temperature_c",
    "parse_percent",
    "parse_power_kw",
    "parse_speed_mph",
    "parse_temperature_c",
    "parse_voltage_v",
    "parse_volume_l",
]

KM_PER_MILE = 1.609344  # exact: international mile of 5280 ft
M_PER_FT = 0.3048  # exact: international foot
FT_PER_M = 1 / M_PER_FT
KG_PER_LB = 0.45359237  # exact: international pound
LITRES_PER_GALLON = 3.785411784  # exact: US liquid gallon of 231 cubic inches

LOWEST_AMBIENT_C, HIGHEST_AMBIENT_C = -60.0, 60.0
LOWEST_ALTITUDE_M, HIGHEST_ALTITUDE_M = -500.0, 6000.0
LONGEST_DISTANCE_KM = 2000.0
LARGEST_CURRENT_A = 1000.0
HIGHEST_VOLTAGE_V = 1000.0
HIGHEST_FREQUENCY_HZ = 80.0
LARGEST_POWER_KW = 1000.0
LARGEST_VOLUME_L = 2000.0
LONGEST_RUN_M = 500.0
HOTTEST_PART_C = 300.0

_NUMBER = re.compile(r"([+-]?(?:\d{1,3}(?:,\d{3})+|\d{1,9})(?:\.\d{1,9})?|[+-]?\.\d{1,9})\s*([^\d\s,.].*)?", re.ASCII)


def _split(text: str) -> tuple[float, str] | None:
    """Return number and unit as typed, or None when the text is not a number with something after it."""
    match = _NUMBER.fullmatch(text.strip().replace("\N{MINUS SIGN}", "-"))
    if match is None:
        return None
    return float(match[1].replace(",", "")), (match[2] or "").strip().lower()


def has_unit(text: str) -> bool:
    """Tell whether a quantity was typed with its unit."""
    parts = _split(text)
    return parts is not None and parts[1] != ""


def fahrenheit_from_celsius(temperature_c: float) -> float:
    """Return a temperature in Fahrenheit. F = 1.8 C + 32, exact by definition.

    >>> fahrenheit_from_celsius(-20)
    -4.0
    """
    return temperature_c * 1.8 + 32


def celsius_from_fahrenheit(temperature_f: float) -> float:
    """Return a temperature in Celsius. C = (F - 32) / 1.8, exact by definition.

    >>> celsius_from_fahrenheit(77)
    25.0
    """
    return (temperature_f - 32) / 1.8


def parse_distance_km(text: str, *, name: str) -> float:
    """Read a distance such as `45mi` or `72 km`. A bare number is refused with both readings."""
    distance_km = _length(
        text, name, what="a distance", units=(_MILES, _KILOMETRES), factors=(KM_PER_MILE, 1.0), example="45mi or {}72km"
    )
    if not 0 < distance_km <= LONGEST_DISTANCE_KM:
        raise QuantityError(
            name=name,
            given=text,
            expected=f"a distance above 0 and up to {LONGEST_DISTANCE_KM / KM_PER_MILE:.0f} mi",
            next_step="check the number",
        )
    return distance_km


def parse_altitude_m(text: str, *, name: str) -> float:
    """Read a height above sea level such as `1200ft` or `365 m`. A bare number is refused with both readings."""
    altitude_m = _length(
        text, name, what="a height", units=(_FEET, _METRES), factors=(M_PER_FT, 1.0), example="1200ft or {}365m"
    )
    if not LOWEST_ALTITUDE_M <= altitude_m <= HIGHEST_ALTITUDE_M:
        raise QuantityError(
            name=name,
            given=text,
            expected=f"a height from {LOWEST_ALTITUDE_M * FT_PER_M:.0f} to {HIGHEST_ALTITUDE_M * FT_PER_M:.0f} ft",
            next_step="check the number and its unit",
        )
    return altitude_m


# The words for a unit, the one to show first.
_MILES = ("mi", "mile", "miles")
_KILOMETRES = ("km", "kilometer", "kilometers", "kilometre", "kilometres")
_FEET = ("ft", "foot", "feet")
_METRES = ("m", "meter", "meters", "metre", "metres")


def _length(
    text: str,
    name: str,
    *,
    what: str,
    units: tuple[tuple[str, ...], tuple[str, ...]],
    factors: tuple[float, float],
    example: str,
) -> float:
    """Read a number in one of two units; without a unit, say what it could mean in either."""
    parts = _split(text)
    first, second = units[0][0], units[1][0]
    if parts is None:
        step = f"write {name} {example.format(f'{name} ')}"
        raise QuantityError(name=name, given=text, expected=what, next_step=step)
    value, unit = parts
    for words, factor in zip(units, factors, strict=True):
        if unit in words:
            return value * factor
    write = f"write {value:g}{first} or {value:g}{second}"
    if unit:
        raise QuantityError(name=name, given=text, expected=f"{what} in {first} or {second}", next_step=write)
    ratio = factors[0] / factors[1]
    raise QuantityError(
        name=name,
        given=text,
        expected=f"{what} with its unit",
        next_step=f"it could mean {value:g} {first} ({value * ratio:.0f} {second}) or {value:g} {second} "
        f"({value / ratio:.0f} {first}): {write}",
    )


_MPH = ("mph", "mi/h")
_KMH = ("kmh", "km/h", "kph")
_POUNDS = ("lb", "lbs", "pound", "pounds")
_KILOGRAMS = ("kg", "kilogram", "kilograms")
_MINUTES = ("min", "minute", "minutes")
_GALLONS = ("gal", "gallon", "gallons")
_LITRES = ("L", "l", "liter", "liters", "litre", "litres")
_DAYS = ("d", "day", "days")
_HOURS = ("h", "hr", "hour", "hours")


def parse_speed_mph(text: str, *, name: str, low_mph: float, high_mph: float) -> float:
    """Read a speed such as `65mph` or `105 km/h`. A bare number is refused with both readings."""
    speed_mph = _length(
        text, name, what="a speed", units=(_MPH, _KMH), factors=(1.0, 1 / KM_PER_MILE), example="65mph or {}105kmh"
    )
    if not low_mph <= speed_mph <= high_mph:
        raise QuantityError(
            name=name,
            given=text,
            expected=f"a speed from {low_mph:.0f} to {high_mph:.0f} mph",
            next_step="check the number and its unit",
        )
    return speed_mph


def parse_mass_kg(text: str, *, name: str, high_kg: float) -> float:
    """Read a weight such as `400lb` or `180 kg`. A bare number is refused with both readings."""
    mass_kg = _length(
        text, name, what="a weight", units=(_POUNDS, _KILOGRAMS), factors=(KG_PER_LB, 1.0), example="400lb or {}180kg"
    )
    if not 0 <= mass_kg <= high_kg:
        raise QuantityError(
            name=name,
            given=text,
            expected=f"a weight from 0 to {high_kg / KG_PER_LB:,.0f} lb",
            next_step="check the number and its unit",
        )
    return mass_kg


def parse_duration_min(text: str, *, name: str, high_min: float) -> float:
    """Read a time such as `20min`, `1.5 h` or `3days`. A bare number is refused with both readings."""
    parts = _split(text)
    if parts is not None and parts[1] in _DAYS:
        minutes = parts[0] * 1440
    else:
        minutes = _length(
            text, name, what="a time", units=(_MINUTES, _HOURS), factors=(1.0, 60.0), example="20min or {}1.5h"
        )
    if not 0 <= minutes <= high_min:
        raise QuantityError(
            name=name,
            given=text,
            expected=f"a time from 0 to {high_min / 60:g} h",
            next_step="check the number and its unit",
        )
    return minutes


def parse_energy_kwh(text: str, *, name: str) -> float:
    """Read an energy such as `10kWh`; a bare number is kilowatt-hours."""
    parts = _split(text)
    if parts is None or parts[1] not in {"", "kwh"}:
        raise QuantityError(name=name, given=text, expected="an energy in kWh", next_step=f"write {name} 10kWh")
    if not 0 < parts[0] <= 500:
        raise QuantityError(
            name=name, given=text, expected="an energy above 0 and up to 500 kWh", next_step="check the number"
        )
    return parts[0]


def _in_unit(
    text: str,
    name: str,
    *,
    what: str,
    units: dict[str, float],
    high: float,
    unit: str,
    example: str,
    zero: bool = False,
) -> float:
    """Read a number above 0, or from 0, in one of some units; a bare number is in the first of them."""
    parts = _split(text)
    if parts is None or parts[1] not in {"", *units}:
        raise QuantityError(name=name, given=text, expected=what, next_step=f"write {name} {example}")
    value = parts[0] * units.get(parts[1], next(iter(units.values())))
    if not (0 < value <= high or (zero and value == 0)):
        raise QuantityError(
            name=name,
            given=text,
            expected=f"{what} {'from 0' if zero else 'above 0 and up'} to {high:g} {unit}",
            next_step="check the number and its unit",
        )
    return value


def parse_current_a(text: str, *, name: str, zero: bool = False) -> float:
    """Read a current such as `48A`; a bare number is amps."""
    return _in_unit(
        text,
        name,
        what="a current in A",
        units={"a": 1.0, "amp": 1.0, "amps": 1.0},
        high=LARGEST_CURRENT_A,
        unit="A",
        example="48A",
        zero=zero,
    )


def parse_voltage_v(text: str, *, name: str) -> float:
    """Read a voltage such as `240V`; a bare number is volts."""
    return _in_unit(
        text,
        name,
        what="a voltage in V",
        units={"v": 1.0, "volt": 1.0, "volts": 1.0},
        high=HIGHEST_VOLTAGE_V,
        unit="V",
        example="240V",
    )


def parse_frequency_hz(text: str, *, name: str) -> float:
    """Read a frequency such as `61.5Hz`; a bare number is hertz."""
    return _in_unit(
        text, name, what="a frequency in Hz", units={"hz": 1.0}, high=HIGHEST_FREQUENCY_HZ, unit="Hz", example="61.5Hz"
    )


def parse_power_kw(text: str, *, name: str, zero: bool = False) -> float:
    """Read a power such as `11.2kW` or `9500W`; a bare number is kilowatts."""
    return _in_unit(
        text,
        name,
        what="a power in kW",
        units={"kw": 1.0, "w": 0.001, "watts": 0.001},
        high=LARGEST_POWER_KW,
        unit="kW",
        example="11.2kW",
        zero=zero,
    )


def parse_volume_l(text: str, *, name: str) -> float:
    """Read a volume such as `5gal` or `20L`. A bare number is refused with both readings; 0 is a dry tank."""
    volume_l = _length(
        text,
        name,
        what="a volume",
        units=(_GALLONS, _LITRES),
        factors=(LITRES_PER_GALLON, 1.0),
        example="5gal or {}20L",
    )
    if not 0 <= volume_l <= LARGEST_VOLUME_L:
        raise QuantityError(
            name=name,
            given=text,
            expected=f"a volume from 0 to {LARGEST_VOLUME_L / LITRES_PER_GALLON:.0f} gal",
            next_step="check the number and its unit",
        )
    return volume_l


def parse_length_m(text: str, *, name: str) -> float:
    """Read the length of a run such as `25ft` or `7.6 m`. A bare number is refused with both readings."""
    length_m = _length(
        text, name, what="a length", units=(_FEET, _METRES), factors=(M_PER_FT, 1.0), example="25ft or {}7.6m"
    )
    if not 0 < length_m <= LONGEST_RUN_M:
        raise QuantityError(
            name=name,
            given=text,
            expected=f"a length above 0 and up to {LONGEST_RUN_M * FT_PER_M:.0f} ft",
            next_step="check the number and its unit",
        )
    return length_m


def parse_part_temperature_c(text: str, *, name: str) -> float:
    """Read how hot a part is, such as `118F` or `48C`. A bare number is refused: it could be either."""
    parts = _split(text)
    unit = "" if parts is None else parts[1].removeprefix("°").removeprefix("deg").strip()
    if parts is None or unit not in {"f", "fahrenheit", "c", "celsius"}:
        raise QuantityError(
            name=name, given=text, expected="a temperature with its unit", next_step=f"write {name} 118F or {name} 48C"
        )
    found_c = parts[0] if unit.startswith("c") else celsius_from_fahrenheit(parts[0])
    if not LOWEST_AMBIENT_C <= found_c <= HOTTEST_PART_C:
        raise QuantityError(
            name=name,
            given=text,
            expected=f"a temperature from {LOWEST_AMBIENT_C:.0f} to {HOTTEST_PART_C:.0f} C",
            next_step="check the number and its unit",
        )
    return found_c


def parse_temperature_c(text: str, *, name: str) -> float:
    """Read an air temperature such as `-4F` or `-20C`. A bare number is Fahrenheit."""
    parts = _split(text)
    if parts is None:
        raise QuantityError(
            name=name, given=text, expected="a temperature", next_step=f"write {name} -4F or {name} -20C"
        )
    value, unit = parts
    unit = unit.removeprefix("°").removeprefix("deg").strip()
    if unit in {"", "f", "fahrenheit"}:
        temperature_c = celsius_from_fahrenheit(value)
    elif unit in {"c", "celsius"}:
        temperature_c = value
    else:
        raise QuantityError(
            name=name, given=text, expected="a temperature in F or C", next_step=f"write {value:g}F or {value:g}C"
        )
    if not LOWEST_AMBIENT_C <= temperature_c <= HIGHEST_AMBIENT_C:
        raise QuantityError(
            name=name,
            given=text,
            expected=f"an air temperature from {fahrenheit_from_celsius(LOWEST_AMBIENT_C):.0f} to "
            f"{fahrenheit_from_celsius(HIGHEST_AMBIENT_C):.0f} F ({LOWEST_AMBIENT_C:.0f} to {HIGHEST_AMBIENT_C:.0f} C)",
            next_step="check the number and its unit",
        )
    return temperature_c


def parse_percent(text: str, *, name: str, other_reading: str, or_else: str | None = None) -> int:
    """Read a whole percent from 0 to 100 such as `12%`. A bare number is refused with both readings.

    `or_else` names the other forms that are taken as well, for a text that is none of them.
    """
    parts = _split(text)
    if parts is None:
        expected = "a percent" if or_else is None else f"one of {or_else}"
        raise QuantityError(name=name, given=text, expected=expected, next_step=f"write {name} 12%")
    value, unit = parts
    if unit == "":
        percent = value * 100 if 0 < value < 1 else value
        also = f"{value:g} % or {percent:g} %" if percent != value else f"{value:g} % of charge or {other_reading}"
        raise QuantityError(
            name=name,
            given=text,
            expected="a percent with its sign",
            next_step=f"it could mean {also.replace('{}', f'{value:g}')}: write {percent:g}%",
        )
    if unit in {*_MILES, *_KILOMETRES}:
        raise QuantityError(
            name=name,
            given=text,
            expected="a percent",
            next_step="a distance cannot be taken here: ask for the percent",
        )
    if unit not in {"%", "percent"}:
        raise QuantityError(name=name, given=text, expected="a percent", next_step=f"write {value:g}%")
    if not 0 <= value <= 100:
        raise QuantityError(
            name=name, given=text, expected="a percent from 0% to 100%", next_step="read it off the dash again"
        )
    if value != int(value):
        raise QuantityError(
            name=name, given=text, expected="a whole percent", next_step=f"write {int(value)}% or {int(value) + 1}%"
        )
    return int(value)
