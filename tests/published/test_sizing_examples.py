"""Worked sizing examples that several public notes on NEC 625 print, looked up in the shipped tables.

48 A EVSE: 60 A device; 6 AWG copper on 75 C terminations, 4 AWG copper on 60 C (NM cable, 334.80), 4 AWG aluminum on
75 C; grounding conductor 10 AWG copper. 32 A: 40 A device, 8 AWG. 40 A: 50 A device, 8 AWG on 75 C (50 A exactly), 6 AWG
on 60 C.
"""

import pytest

from planner.chain import standard_ratings_a
from planner.circuit import conductor_continuous_limit_a, smallest_overcurrent_device_a

RISING = ("14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0")


@pytest.mark.parametrize(
    ("setting_a", "device_a"), [(12, 15), (16, 20), (24, 30), (32, 40), (40, 50), (48, 60), (64, 80), (80, 100)]
)
def test_device_of_an_evse(dataset, setting_a, device_a):
    assert (
        smallest_overcurrent_device_a(continuous_load_a=setting_a, standard_ratings_a=standard_ratings_a(dataset))
        == device_a
    )


@pytest.mark.parametrize(
    ("setting_a", "column", "size"),
    [
        (48, "copper_75c", "6"),
        (48, "copper_60c", "4"),
        (48, "aluminum_75c", "4"),
        (32, "copper_75c", "8"),
        (40, "copper_75c", "8"),
        (40, "copper_60c", "6"),
    ],
)
def test_smallest_wire_for_an_evse(dataset, setting_a, column, size):
    rows = dataset.tables["nec-310-16"].rows
    fits = [
        awg
        for awg in RISING
        if column in rows[awg]
        and conductor_continuous_limit_a(
            ampacity_terminations_a=rows[awg][column], ampacity_corrected_a=rows[awg][column]
        )
        >= setting_a
    ]

    assert fits[0] == size


@pytest.mark.parametrize(("device_a", "awg"), [(50, 10), (60, 10), (70, 8), (15, 14), (20, 12), (40, 10)])
def test_grounding_conductor_of_a_device(dataset, device_a, awg):
    """Table 250.122 rows read "not exceeding": 30, 40 and 50 A all take the 60 A row."""
    rows = {float(limit): row for limit, row in dataset.tables["nec-250-122"].rows.items()}
    row = rows[min(limit for limit in rows if limit >= device_a)]

    assert row["copper_awg"] == awg
