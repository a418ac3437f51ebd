"""The budgets, measured on this machine beside its own baseline in the same run.

Absolute times on a shared machine mean little, so each figure is a median of alternating runs and is shown as a ratio
to a baseline where its budget is one. It prints; it judges nothing in the tests.
"""

import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

from planner.answer import Call
from planner.loading import load, shipped
from planner.planning import plan
from planner.records import Dataset
from planner.trip import Miles, ToPercent

__all__ = ["Measurement", "run"]

BASELINE_IMPORTS = "import yaml, argparse; from pydantic import BaseModel"
PROCESS_RUNS = 15
SHIPPED_RUNS = 9
PLAN_CALL = (
    "from planner.cli import main; "
    "main(['plan','--rig','pass-truck','--vehicle','midsize-suv','--start','12%','--miles','45mi'])"
)


@dataclass(frozen=True, slots=True)
class Measurement:
    """One budget, what was measured, and whether it holds."""

    what: str
    measured: str
    budget: str
    holds: bool


def run(write: Callable[[str], None], *, classes: int) -> int:
    """Print every budget that exists so far. Always returns 0: a slow machine is not a wrong use."""
    baseline_us = _arithmetic_baseline_us()
    write(f"baseline: 1,000 logarithms and additions in pure Python take {baseline_us:.0f} us here\n")
    rows = [_process(), *_in_process(baseline_us), _shipped_load(baseline_us), _large_load(classes, baseline_us)]
    width = max(len(row.what) for row in rows)
    for row in rows:
        word = "holds" if row.holds else "OVER"
        write(f"{row.what:<{width}}  {row.measured:<34}  budget {row.budget:<34}  {word}\n")
    return 0


def _arithmetic_baseline_us() -> float:
    from math import log

    def work() -> None:
        total = 0.0
        for step in range(1, 1001):
            total += log(step)

    return _median_us(work, repeat=50)


def _median_us(work: Callable[[], object], *, repeat: int) -> float:
    times = []
    for _ in range(repeat):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return 1e6 * statistics.median(times)


def _process() -> Measurement:
    """Whole processes, alternating, so that a noisy neighbour hits both alike.

    An installed package has its bytecode; a checkout that may not write any would be compiled at every start. Both
    sides get a cache of their own, filled by a first pair that does not count.
    """
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPATH"] = str(Path(__file__).resolve().parent.parent)

    def seconds(code: str) -> float:
        start = perf_counter()
        subprocess.run([sys.executable, "-c", code], check=True, stdout=subprocess.DEVNULL, env=environment)
        return perf_counter() - start

    with tempfile.TemporaryDirectory() as cache:
        environment["PYTHONPYCACHEPREFIX"] = cache
        pairs = [(seconds(BASELINE_IMPORTS), seconds(PLAN_CALL)) for _ in range(PROCESS_RUNS + 1)][1:]
    base_s = statistics.median(pair[0] for pair in pairs)
    ratio = statistics.median(pair[1] / pair[0] for pair in pairs)
    return Measurement(
        "rangeferry plan, whole process",
        f"{ratio:.2f} x imports ({1000 * ratio * base_s:.0f} ms)",
        "2.5 x yaml, argparse, pydantic",
        ratio <= 2.5,
    )


def _in_process(baseline_us: float) -> list[Measurement]:
    dataset = load()
    call = Call("pass-truck", "midsize-suv", 12, Miles(45.0))
    one_us = _median_us(lambda: plan(dataset, call), repeat=500)
    calls = _mixed_calls(dataset)
    start = perf_counter()
    for item in calls:
        plan(dataset, item)
    rate = len(calls) / (perf_counter() - start)
    return [
        Measurement(
            "plan(), typical, in process",
            f"{one_us:.0f} us ({one_us / baseline_us:.1f} x baseline)",
            "150 us",
            one_us <= 150,
        ),
        Measurement(
            "plan(), every rig, class and target",
            f"{rate:,.0f} a second ({1e6 / rate / baseline_us:.1f} x baseline)",
            "3,000 a second",
            rate >= 3000,
        ),
    ]


def _mixed_calls(dataset: Dataset) -> Sequence[Call]:
    return [
        Call(rig, vehicle, 10, ToPercent(target))
        for rig in dataset.rigs
        for vehicle in dataset.vehicle_classes
        for target in range(20, 99, 6)
    ]


def _shipped_load(baseline_us: float) -> Measurement:
    seconds = _median_us(load, repeat=SHIPPED_RUNS) / 1e6
    measured = f"{1000 * seconds:.0f} ms ({1e6 * seconds / baseline_us:.0f} x baseline)"
    return Measurement("load and validate the shipped data", measured, "400 ms", seconds <= 0.4)


def _large_load(classes: int, baseline_us: float) -> Measurement:
    """The shipped data with one class copied many times under other ids, in a folder of its own."""
    text = (shipped() / "vehicle_data" / "vehicle_classes" / "midsize-suv.yaml").read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "vehicle_classes"
        folder.mkdir()
        for number in range(classes):
            (folder / f"class-{number}.yaml").write_text(text, encoding="utf-8")
        start = perf_counter()
        load([Path(name)])
        seconds = perf_counter() - start
    allowed = 6 * max(classes, 1) / 5000
    return Measurement(
        f"load and validate {classes:,} classes",
        f"{seconds:.2f} s ({1e6 * seconds / baseline_us:,.0f} x baseline)",
        f"{allowed:g} s",
        seconds <= max(allowed, 0.4),
    )
