"""Conversions against a general unit library; what people type, and what is refused with both readings."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner import units
from planner.errors import QuantityError
from planner.road import KWH_PER_GALLON_EQUIVALENT

UNITS = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("ours", "quantity", "unit"),
    [
        (units.KM_PER_MILE, "1 mile", "km"),
        (units.M_PER_FT, "1 foot", "m"),
        (units.LITRES_PER_GALLON, "1 gallon", "L"),
        (units.celsius_from_fahrenheit(-4), (-4, "degF"), "degC"),
        (units.fahrenheit_from_celsius(40), (40, "degC"), "degF"),
    ],
)
def test_conversion_equals_pint(ours, quantity, unit):
    theirs = UNITS.Quantity(*quantity) if isinstance(quantity, tuple) else UNITS(quantity)

    assert ours == pytest.approx(theirs.to(unit).magnitude, rel=1e-12)


def test_gallon_equivalent_agrees_with_115000_btu():
    """EPA counts 115,000 Btu a gallon; 33.705 kWh is that to 0.01 % (pint's Btu)."""
    assert UNITS("115000 Btu").to("kWh").magnitude == pytest.approx(KWH_PER_GALLON_EQUIVALENT, rel=1e-4)


@pytest.mark.parametrize(
    ("text", "km"),
    [
        ("45mi", 72.42048),
        ("45 mi", 72.42048),
        ("72km", 72),
        (" 1,200 km ", 1200),
        ("0.5 miles", 0.804672),
        ("72 KM", 72),
    ],
)
def test_distance_is_read(text, km):
    assert units.parse_distance_km(text, name="--miles") == pytest.approx(km)


@pytest.mark.parametrize(
    ("text", "c"), [("-4F", -20), ("-4", -20), ("−4 F", -20), ("-20C", -20), ("50°F", 10), ("+10 C", 10), ("0C", 0)]
)
def test_temperature_is_read(text, c):
    assert units.parse_temperature_c(text, name="--ambient") == pytest.approx(c)


@pytest.mark.parametrize(
    ("work", "text", "message"),
    [
        (
            units.parse_distance_km,
            "45",
            "--x: expected a distance with its unit, got '45'; it could mean 45 mi (72 km) or 45 km (28 mi): "
            "write 45mi or 45km",
        ),
        (units.parse_distance_km, "far", "--x: expected a distance, got 'far'; write --x 45mi or --x 72km"),
        (units.parse_distance_km, "45 m", "--x: expected a distance in mi or km, got '45 m'; write 45mi or 45km"),
        (
            units.parse_distance_km,
            "0mi",
            "--x: expected a distance above 0 and up to 1243 mi, got '0mi'; check the number",
        ),
        (
            units.parse_distance_km,
            "-5mi",
            "--x: expected a distance above 0 and up to 1243 mi, got '-5mi'; check the number",
        ),
        (
            units.parse_altitude_m,
            "7000",
            "--x: expected a height with its unit, got '7000'; it could mean 7000 ft (2134 m) or 7000 m (22966 ft): "
            "write 7000ft or 7000m",
        ),
        (
            units.parse_altitude_m,
            "70000ft",
            "--x: expected a height from -1640 to 19685 ft, got '70000ft'; check the number and its unit",
        ),
        (
            units.parse_temperature_c,
            "300F",
            "--x: expected an air temperature from -76 to 140 F (-60 to 60 C), got '300F'; check the number and its unit",
        ),
        (units.parse_temperature_c, "cold", "--x: expected a temperature, got 'cold'; write --x -4F or --x -20C"),
        (units.parse_temperature_c, "10K", "--x: expected a temperature in F or C, got '10K'; write 10F or 10C"),
    ],
)
def test_a_quantity_that_cannot_be_read_says_what_to_write(work, text, message):
    with pytest.raises(QuantityError) as caught:
        work(text, name="--x")

    assert str(caught.value) == message


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("12", "--start: expected a percent with its sign, got '12'; it could mean 12 % of charge or 12 mi: write 12%"),
        ("0.8", "--start: expected a percent with its sign, got '0.8'; it could mean 0.8 % or 80 %: write 80%"),
        ("12.5%", "--start: expected a whole percent, got '12.5%'; write 12% or 13%"),
        ("120%", "--start: expected a percent from 0% to 100%, got '120%'; read it off the dash again"),
        ("12mi", "--start: expected a percent, got '12mi'; a distance cannot be taken here: ask for the percent"),
        ("", "--start: expected a percent, got ''; write --start 12%"),
        ("nan%", "--start: expected a percent, got 'nan%'; write --start 12%"),
        ("1e1%", "--start: expected a percent, got '1e1%'; write 1%"),
    ],
)
def test_a_percent_that_cannot_be_read_says_what_to_write(text, message):
    with pytest.raises(QuantityError) as caught:
        units.parse_percent(text, name="--start", other_reading="{} mi")

    assert str(caught.value) == message


@given(st.integers(0, 100))
def test_every_whole_percent_is_read(percent):
    assert units.parse_percent(f"{percent}%", name="--to", other_reading="{} mi") == percent
    assert units.parse_percent(f"{percent} %", name="--to", other_reading="{} mi") == percent


@given(st.text(max_size=20))
def test_nothing_typed_ever_crashes(text):
    for work in (units.parse_distance_km, units.parse_altitude_m, units.parse_temperature_c):
        try:
            assert isinstance(work(text, name="--x"), float)
        except QuantityError as error:
            if not str(error).startswith("--x: expected "):
                raise
