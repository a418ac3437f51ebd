"""Independent laws that published tables follow: a slip of the pen breaks one of them."""

import itertools
import math

import pytest

from planner.circuit import ambient_correction

AWG = ("18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0")


@pytest.mark.parametrize("rated_c", [60, 75, 90])
def test_correction_factors_follow_the_square_root_law(dataset, rated_c):
    """NEC 310.15(B)(2) equation, at the warm end of each row; tolerance is half a printed digit and a little."""
    rows = dataset.tables["nec-310-15-b-1"].rows
    checked = 0
    for row in rows.values():
        factor = row.get(f"rated_{rated_c}c")
        if factor is not None and row["ambient_to_c"] >= 10:
            law = ambient_correction(ambient_c=row["ambient_to_c"], conductor_rated_c=rated_c)
            assert factor == pytest.approx(law, abs=0.0051)
            checked += 1
    assert checked >= 10


@pytest.mark.parametrize(("column", "constant"), [("copper", 12.9), ("aluminum", 21.2)])
def test_resistance_times_circular_mils_is_a_constant(dataset, column, constant):
    """The K of the circular-mil method, 12.9 copper and 21.2 aluminum (electrician-exam-drops); stranding adds 1.5 %."""
    for size, row in dataset.tables["nec-chapter-9-table-8"].rows.items():
        k = row[f"{column}_stranded_ohm_per_kft"] * row["circular_mils"] / 1000
        assert k == pytest.approx(constant, rel=0.015), size


@pytest.mark.parametrize("column", ["copper", "aluminum"])
def test_both_units_of_resistance_say_the_same(dataset, column):
    """1 kft is 0.3048 km; both columns are printed to three digits."""
    for size, row in dataset.tables["nec-chapter-9-table-8"].rows.items():
        per_km = row[f"{column}_stranded_ohm_per_kft"] / 0.3048
        assert row[f"{column}_stranded_ohm_per_km"] == pytest.approx(per_km, rel=0.005), size


def test_copper_resistance_follows_from_the_international_annealed_standard():
    """1.7241e-8 ohm m at 20 C, 0.00393 per C, 10 AWG of 5.261 mm2 (IACS): table prints 1.21 ohm/kft solid at 75 C."""
    ohm_per_kft = 1.7241e-8 / 5.261e-6 * (1 + 0.00393 * 55) * 304.8

    assert ohm_per_kft == pytest.approx(1.21, abs=0.006)


@pytest.mark.parametrize(
    ("table", "columns"),
    [
        ("nec-310-16", [f"{m}_{t}c" for m in ("copper", "aluminum") for t in (60, 75, 90)]),
        ("nec-400-5-a-1", ["a", "b"]),
        ("nec-400-5-a-2", [f"{n}_{t}c" for n in ("loaded_2", "loaded_3", "single") for t in (60, 75, 90)]),
    ],
)
def test_larger_conductors_carry_more(dataset, table, columns):
    rows = dataset.tables[table].rows
    sizes = [size for size in AWG if size in rows]
    for column in columns:
        values = [rows[size][column] for size in sizes if column in rows[size]]
        assert all(smaller < larger for smaller, larger in itertools.pairwise(values)), column


def test_hotter_ratings_and_copper_carry_more(dataset):
    for size, row in dataset.tables["nec-310-16"].rows.items():
        assert row["copper_60c"] < row["copper_75c"] < row["copper_90c"], size
        if "aluminum_60c" in row:
            assert row["aluminum_60c"] < row["aluminum_75c"] < row["aluminum_90c"], size
            assert all(row[f"aluminum_{t}c"] < row[f"copper_{t}c"] for t in (60, 75, 90)), size


def test_two_loaded_conductors_carry_more_than_three(dataset):
    assert all(row["b"] > row["a"] for row in dataset.tables["nec-400-5-a-1"].rows.values())


@pytest.mark.parametrize("rated_c", [60, 75, 90])
def test_portable_cable_carries_less_the_more_conductors_are_loaded(dataset, rated_c):
    """One by itself above two above three; three carry 0.8 to 0.9 of two, as heat from half as many again asks for."""
    for size, row in dataset.tables["nec-400-5-a-2"].rows.items():
        two, three = row[f"loaded_2_{rated_c}c"], row[f"loaded_3_{rated_c}c"]
        assert row.get(f"single_{rated_c}c", math.inf) > two > three, size
        assert math.sqrt(2 / 3) - 0.02 <= three / two <= 0.9, size


@pytest.mark.parametrize("column", ["loaded_2", "loaded_3", "single"])
def test_portable_cable_follows_its_temperature_rise(dataset, column):
    """Heat I^2 R grows with the rise over 30 C, and R of copper by 0.00323 a kelvin of 75 C; within 5 %."""

    def law(from_c, to_c):
        hotter_copper = (1 + 0.00323 * (from_c - 75)) / (1 + 0.00323 * (to_c - 75))
        return math.sqrt((to_c - 30) / (from_c - 30) * hotter_copper)

    checked = 0
    for size, row in dataset.tables["nec-400-5-a-2"].rows.items():
        if f"{column}_60c" in row:
            low, middle, high = (row[f"{column}_{t}c"] for t in (60, 75, 90))
            assert middle / low == pytest.approx(law(60, 75), rel=0.05), size
            assert high / middle == pytest.approx(law(75, 90), rel=0.05), size
            checked += 1
    assert checked >= 7


@pytest.mark.parametrize("loaded", [2, 3])
def test_portable_cable_rated_60_c_carries_more_than_cord(dataset, loaded):
    """Heavier walls and the same copper: never less than a cord of table 400.5(A)(1)."""
    cord = dataset.tables["nec-400-5-a-1"].rows
    shared = [size for size in dataset.tables["nec-400-5-a-2"].rows if size in cord]
    for size in shared:
        heavy = dataset.tables["nec-400-5-a-2"].rows[size][f"loaded_{loaded}_60c"]
        assert heavy > cord[size]["b" if loaded == 2 else "a"], size
    assert len(shared) >= 7


def test_ampacity_columns_follow_their_temperature_rise(dataset):
    """By the same square-root law 75 C over 60 C is sqrt(45/30) = 1.22; the printed tables keep within 20 % of it."""
    for size, row in dataset.tables["nec-310-16"].rows.items():
        assert row["copper_75c"] / row["copper_60c"] == pytest.approx(math.sqrt(45 / 30), rel=0.2), size
