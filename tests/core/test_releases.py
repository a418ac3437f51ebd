"""Versions of the data: what moved is found, a band around an old number did not move, and every move has its reason."""

import json

import pytest

from planner.cli import main
from planner.loading import load
from planner.release_files import moved_since, releases, snapshot_text, versions
from planner.releases import Move, Reason, least_version, moves, reason_of, snapshot

OLD = {
    "vehicle_classes/a": {"name": "A", "battery.energy_usable_kwh.low": 10.0, "road.mass_kg": 900.0},
    "vehicle_classes/b": {"name": "B", "built_from": 2010.0},
    "vehicle_classes/c": {"name": "C"},
    "vehicle_classes/d": {"name": "D"},
}


def found(new, version=("0.5.0", "0.6.0"), **more):
    fields = {"formerly": {}, "parted": {}, **more}
    return moves((version[0], OLD), (version[1], new), **fields)


def test_nothing_moved_between_a_version_and_itself():
    same = found(OLD)

    assert (same.added, same.gone, same.renamed, same.parted, same.moved, same.words) == ((), (), (), (), (), 0)
    assert least_version(same) == "0.5.0"


def test_a_number_that_moved_is_told_with_its_percent_and_reason():
    new = {**OLD, "vehicle_classes/a": {**OLD["vehicle_classes/a"], "battery.energy_usable_kwh.low": 12.0}}
    (move,) = found(new, reasons=[Reason("vehicle_classes/*/battery.*", "measured")]).moved

    assert move == Move("vehicle_classes/a", "battery.energy_usable_kwh.low", 10.0, 12.0, "measured")
    assert move.percent == pytest.approx(20)


def test_a_band_around_an_old_number_is_new_and_the_number_did_not_move():
    values = {key: value for key, value in OLD["vehicle_classes/a"].items() if key != "road.mass_kg"}
    band = {"road.mass_kg.low": 800.0, "road.mass_kg.typical": 900.0, "road.mass_kg.high": 990.0}
    moved = found({**OLD, "vehicle_classes/a": {**values, **band}}).moved

    assert [(move.field, move.before, move.after) for move in moved] == [
        ("road.mass_kg.high", None, 990.0),
        ("road.mass_kg.low", None, 800.0),
    ]


def test_a_typical_value_that_moved_as_it_got_its_band_is_told():
    values = {key: value for key, value in OLD["vehicle_classes/a"].items() if key != "road.mass_kg"}
    band = {"road.mass_kg.low": 800.0, "road.mass_kg.typical": 950.0, "road.mass_kg.high": 990.0}
    moved = found({**OLD, "vehicle_classes/a": {**values, **band}}).moved

    assert ("road.mass_kg.typical", 900.0, 950.0) in [(move.field, move.before, move.after) for move in moved]


def test_records_are_added_gone_renamed_or_parted():
    new = {
        "vehicle_classes/a": OLD["vehicle_classes/a"],
        "vehicle_classes/b2": OLD["vehicle_classes/b"],
        "vehicle_classes/c1": {"name": "C1"},
        "vehicle_classes/c2": {"name": "C2"},
    }
    moved = found(
        new,
        formerly={"vehicle_classes/b": "vehicle_classes/b2"},
        parted={"vehicle_classes/c": ("c1", "c2")},
    )

    assert moved.renamed == (("vehicle_classes/b", "vehicle_classes/b2"),)
    assert moved.parted == (("vehicle_classes/c", ("c1", "c2")),)
    assert moved.gone == ("vehicle_classes/d",)
    assert moved.added == ("vehicle_classes/c1", "vehicle_classes/c2")
    assert moved.moved == ()


@pytest.mark.parametrize(
    ("change", "version", "least"),
    [
        ({"vehicle_classes/a": {**OLD["vehicle_classes/a"], "name": "Other"}}, "0.5.3", "0.5.4"),
        ({"vehicle_classes/b": {"name": "B", "built_from": 2011.0}}, "0.5.3", "0.6.0"),
        ({"vehicle_classes/e": {"name": "E"}}, "0.5.3", "0.6.0"),
        ({"vehicle_classes/e": {"name": "E"}}, "1.5.3", "1.6.0"),
        ({"vehicle_classes/d": None}, "0.5.3", "0.6.0"),
        ({"vehicle_classes/d": None}, "1.5.3", "2.0.0"),
    ],
    ids=str,
)
def test_the_version_rises_with_what_moved(change, version, least):
    new = {name: values for name, values in {**OLD, **change}.items() if values is not None}

    assert least_version(found(new, (version, "9.9.9"))) == least


def test_the_first_pattern_that_covers_a_value_gives_its_reason():
    reasons = [Reason("vehicle_classes/a/*", "first"), Reason("vehicle_classes/*/battery.*", "second")]

    assert reason_of(reasons, "vehicle_classes/a", "battery.health.low") == "first"
    assert reason_of(reasons, "vehicle_classes/b", "battery.health.low") == "second"
    assert reason_of(reasons, "vehicle_classes/b", "road.mass_kg") == ""


# ------------------------------------------------------------------------------------------------------ shipped versions


def test_every_value_that_moved_since_the_newest_version_has_its_reason(dataset):
    moved = moved_since(dataset)

    assert moved is not None
    assert moved.moved or moved.added
    assert moved.without_reason == ()


def test_what_a_crew_lays_over_the_shipped_data_is_no_move_of_ours(dataset, tmp_path, root):
    folder = tmp_path / "crew" / "vehicle_classes"
    folder.mkdir(parents=True)
    text = (root / "vehicle_data" / "vehicle_classes" / "minivan.yaml").read_text(encoding="utf-8")
    (folder / "minivan.yaml").write_text(text.replace("typical: 88", "typical: 80"), encoding="utf-8")

    assert moved_since(load([tmp_path / "crew"])) == moved_since(dataset)


def test_the_data_bear_a_version_that_what_moved_asks_for(dataset):
    moved = moved_since(dataset)
    least = [int(part) for part in least_version(moved).split(".")]

    assert [int(part) for part in dataset.folders[0].version.split(".")] >= least


def test_no_class_of_a_kept_version_is_lost_without_a_trace(dataset):
    """An id is never used again and never just goes: it is there, was renamed, or was parted."""
    for release in releases():
        for name in release.values:
            kind, record_id = name.split("/")
            records = getattr(dataset, kind).values()
            known = {record.id for record in records} | {former for record in records for former in record.formerly}
            assert record_id in known | set(dataset.splits), name


def test_a_snapshot_reads_back_as_it_was_taken(dataset):
    assert json.loads(snapshot_text(dataset)) == snapshot(dataset)
    assert snapshot_text(dataset) == snapshot_text(load())


def test_versions_stand_in_the_order_of_their_numbers(tmp_path):
    for name in ("0.10.0", "0.9.0", "0.9.10"):
        (tmp_path / f"{name}.json").write_text("{}", encoding="utf-8")

    assert versions(tmp_path) == ("0.9.0", "0.9.10", "0.10.0")


def test_the_command_tells_what_moved_and_keeps_a_version(tmp_path, capsys, dataset):
    assert main(["moved"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("data 0.5.0 to 0.6.0; what moved asks for 0.6.0 at least\n45 added\n")
    assert "vehicle_classes/cargo-van battery.energy_usable_kwh.high: 120 to 105\n" in told

    assert main(["moved", "--keep", str(tmp_path / "kept")]) == 0
    assert (tmp_path / "kept" / "0.6.0.json").read_text(encoding="utf-8") == snapshot_text(dataset)


def test_a_version_that_was_not_kept_is_told(capsys):
    assert main(["moved", "--since", "0.4.0"]) == 2
    assert "--since: expected a version that was kept: 0.5.0, got '0.4.0'" in capsys.readouterr().err
