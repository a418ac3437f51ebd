"""Tables of the classes: made once, on every core, and never taken for those of other records."""

import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from planner.lookup import class_lookup
from planner.publish import made_tables as module
from planner.publish.made_tables import made_tables, store_folder

CLASSES = ("electric-motorcycle", "micro-two-seater", "snow-machine", "electric-scooter")


@pytest.fixture(scope="module")
def few(dataset):
    """Return the records with four small classes and one rig: the tests are about the store."""
    every = dataset.vehicle_classes
    chosen = [class_id for class_id in CLASSES if class_id in every]
    chosen += [class_id for class_id in every if class_id not in chosen][: 4 - len(chosen)]
    return replace(
        dataset,
        vehicle_classes={class_id: every[class_id] for class_id in chosen},
        rigs={"county-truck": dataset.rigs["county-truck"]},
    )


@pytest.fixture(scope="module")
def expected(few):
    """Return the tables as they are without a store or helpers."""
    return {class_id: json.loads(json.dumps(class_lookup(few, class_id))) for class_id in few.vehicle_classes}


@pytest.fixture
def made(monkeypatch):
    """Return the classes that were made in this process, as they are made."""
    seen = []

    def watched(dataset, class_id):
        seen.append(class_id)
        return class_lookup(dataset, class_id)

    monkeypatch.setattr(module, "class_lookup", watched)
    return seen


def plain(found):
    return json.loads(json.dumps(found))


def test_they_are_what_is_looked_up_in_the_order_of_the_data(few, expected):
    told = []
    found = made_tables(few, store=None, cores=1, told=lambda done, every: told.append((done, every)))
    assert plain(found) == expected
    assert list(found) == list(few.vehicle_classes)
    assert told == [(1, 4), (2, 4), (3, 4), (4, 4)]


def test_helpers_make_the_same(few, expected, tmp_path):
    found = made_tables(few, store=tmp_path, cores=2)
    assert plain(found) == expected


def test_what_was_made_is_not_made_again(few, expected, tmp_path, made):
    made_tables(few, store=tmp_path, cores=1)
    assert made == list(few.vehicle_classes)
    assert made_tables(few, store=tmp_path, cores=1) == expected
    assert len(made) == 4


def test_a_class_that_changed_is_made_alone_and_a_rig_that_changed_makes_all(few, tmp_path, made):
    made_tables(few, store=tmp_path, cores=1)
    del made[:]
    class_id, vehicle = next(iter(few.vehicle_classes.items()))
    other = vehicle.model_copy(update={"name": "Another class"})
    changed = replace(few, vehicle_classes={**few.vehicle_classes, class_id: other})
    found = made_tables(changed, store=tmp_path, cores=1)
    assert made == [class_id]
    assert plain(found[class_id]) == plain(class_lookup(changed, class_id))
    del made[:]
    rig = few.rigs["county-truck"].model_copy(update={"name": "Another name"})
    made_tables(replace(few, rigs={"county-truck": rig}), store=tmp_path, cores=1)
    assert made == list(few.vehicle_classes)


def test_where_records_came_from_makes_nothing_anew(few, tmp_path, made):
    made_tables(few, store=tmp_path, cores=1)
    del made[:]
    made_tables(replace(few, folders=(), origins={}, splits={}), store=tmp_path, cores=1)
    assert made == []


@pytest.mark.parametrize("harm", [lambda text: text[:-20], lambda text: text.replace("1", "2", 3), lambda _text: "", lambda text: "x" + text])  # fmt: skip
def test_a_damaged_file_is_made_anew(harm, few, expected, tmp_path, made):
    made_tables(few, store=tmp_path, cores=1)
    for path in tmp_path.iterdir():
        path.write_text(harm(path.read_text(encoding="utf-8")), encoding="utf-8")
    del made[:]
    assert plain(made_tables(few, store=tmp_path, cores=1)) == expected
    assert len(made) == 4
    assert made_tables(few, store=tmp_path, cores=1) == expected
    assert len(made) == 4


def test_a_store_that_cannot_be_had_costs_time_alone(few, expected, tmp_path):
    file = tmp_path / "file"
    file.write_text("no folder", encoding="utf-8")
    assert plain(made_tables(few, store=file / "tables", cores=1)) == expected
    assert file.read_text(encoding="utf-8") == "no folder"


def test_more_than_are_wanted_at_once_are_left_out(few, tmp_path, made):
    assert made_tables(few, store=tmp_path, cores=1, at_most=3) == {}
    assert made == []
    assert len(made_tables(few, store=tmp_path, cores=1, at_most=4)) == 4
    assert len(made_tables(few, store=tmp_path, cores=1, at_most=0)) == 4


def test_the_store_keeps_the_newest_alone(few, tmp_path, monkeypatch):
    monkeypatch.setattr(module, "KEPT_FILES", 5)
    old = [tmp_path / f"{number}.json" for number in range(4)]
    for path in old:
        path.write_text("x\ny", encoding="utf-8")
        os.utime(path, (1, 1))
    made_tables(few, store=tmp_path, cores=1)
    assert len(list(tmp_path.iterdir())) == 5


def test_the_store_lies_in_the_users_folder_for_what_may_go(monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", "/some/where")
    assert store_folder() == Path("/some/where/rangeferry/tables")
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setenv("HOME", "/home/crew")
    if os.name == "posix":
        assert store_folder() == Path("/home/crew/.cache/rangeferry/tables")


WORK = """
from planner.loading import load
from planner.publish.made_tables import made_tables
if __name__ == "__main__":
    made_tables(load(()), store=None, cores=2)
"""


@pytest.mark.skipif(not Path("/proc/self/stat").is_file(), reason="looks at processes as Linux tells them")
def test_no_helper_outlives_a_killed_build(tmp_path):
    script = tmp_path / "work.py"
    script.write_text(WORK, encoding="utf-8")
    running = subprocess.Popen([sys.executable, str(script)], cwd=Path(__file__).parents[2], env={**os.environ, "PYTHONPATH": "."})  # fmt: skip
    try:
        helpers = wait_for(lambda: len(helpers_of(running.pid)) >= 2 and helpers_of(running.pid), 30)
        assert helpers
        time.sleep(1)
    finally:
        running.send_signal(signal.SIGKILL)
        running.wait()
    assert wait_for(lambda: not [pid for pid in helpers if Path(f"/proc/{pid}").exists()], 20)


def helpers_of(pid):
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            parent = int(path.read_text(encoding="utf-8").rpartition(")")[2].split()[1])
            words = (path.parent / "cmdline").read_bytes()
        except (OSError, ValueError, IndexError):
            continue
        if parent == pid and b"spawn_main" in words:
            found.append(int(path.parent.name))
    return found


def wait_for(reached, most_s):
    end = time.monotonic() + most_s
    while time.monotonic() < end:
        found = reached()
        if found:
            return found
        time.sleep(0.1)
    return False


def test_every_module_that_a_table_can_depend_on_is_in_its_digest():
    """What is loaded with the look-up, as Python tells it, against what is found by reading imports."""
    told = "import planner.lookup, sys; print(*(name[8:] for name in sys.modules if name.startswith('planner.')))"
    done = subprocess.run(
        [sys.executable, "-c", told], cwd=module.PROGRAM.parent, capture_output=True, text=True, check=True
    )
    loaded = set(done.stdout.split())
    assert {"lookup", "records", "answer", "wording"} <= loaded
    assert loaded <= set(module.program_texts())
