"""The budgets, measured on this machine beside its own baseline in the same run.

Absolute times on a shared machine mean little, so each figure is a median of alternating runs and is shown as a ratio
to a baseline where its budget is one. It prints; it judges nothing in the tests.
"""

import gc
import gzip
import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from time import perf_counter

from planner.answer import Call
from planner.lint import findings
from planner.loading import load, shipped
from planner.lookup import class_lookup
from planner.planning import plan, plan_with_bands
from planner.publish.build import CALL_SCRIPTS
from planner.publish.call_page import DRAWINGS_PATH
from planner.publish.call_tables import WORDS_PATH, call_tables, class_path
from planner.publish.site import artefacts
from planner.records import Dataset
from planner.trip import Miles, ToPercent

__all__ = ["Measurement", "run"]

BASELINE_IMPORTS = "import yaml, argparse; from pydantic import BaseModel"
PROCESS_RUNS = 15
SHIPPED_RUNS = 9
SITE_CLASSES = (50, 300)
# The tables of the call page are measured by themselves.
WRITE_PAGES = """
import sys
from pathlib import Path
from planner.publish.build import build_pages
data, out = map(Path, sys.argv[1:])
build_pages(out, overlays=[data], note=print, show_progress=False, tables=False)
"""
# The same pages for a generator without our plugin: their texts as Markdown files, in the same templates.
WRITE_TEXTS = """
import sys
from pathlib import Path
from planner.loading import load
from planner.publish.site import artefacts
folder = Path(sys.argv[1])
for path, text in artefacts(load([folder / "data"])).items():
    target = folder / "docs" / path
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(text, encoding="utf-8")
"""
PLAIN_SITE = """
site_name: plain
docs_dir: docs
site_dir: plain
use_directory_urls: false
theme: {{name: material, font: false, custom_dir: {theme}}}
markdown_extensions: [tables]
plugins: [search]
not_in_nav: "*"
nav:
  - Look up: [rigs/index.md]
  - Behind: [data/index.md]
"""
# One port and several, cold pack and none, small and large.
LOOKED_UP = (
    "midsize-suv",
    "compact-crossover",
    "pickup-800v",
    "large-pickup",
    "older-short-range-hatch",
    "plug-in-hybrid-car",
    "step-van",
    "electric-motorcycle",
)
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
    rows = [
        _process(),
        *_in_process(baseline_us),
        _shipped_load(baseline_us),
        _large_load(classes, baseline_us),
        _lookup(baseline_us),
        _call_page(),
        *_pages(write),
    ]
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
    gc.freeze()  # like every program that plans many calls: what stays to the end is not looked through for garbage
    call = Call("pass-truck", "midsize-suv", 12, Miles(45.0))
    # A dataset remembers what of a pair does not hang on its need: the first plan of a pair is told beside it.
    firsts = []
    for name in dataset.vehicle_classes:
        plan(dataset, replace(call, vehicle=name, rig="county-truck"))  # what hangs on the class alone
        firsts.append(_median_us(partial(plan, dataset, replace(call, vehicle=name)), repeat=1))
    first_us = statistics.median(firsts)
    one_us = _median_us(lambda: plan(dataset, call), repeat=500)
    sure_us = _median_us(lambda: plan_with_bands(dataset, call), repeat=30)
    cold = replace(call, ambient_c=-10.0)
    cold_us = _median_us(lambda: plan_with_bands(dataset, cold), repeat=30)
    calls = _mixed_calls(dataset)
    start = perf_counter()
    for item in calls:
        plan(dataset, item)
    rate = len(calls) / (perf_counter() - start)
    return [
        Measurement(
            "plan(), typical, in process",
            f"{one_us:.0f} us ({one_us / baseline_us:.1f} x baseline), new pair {first_us:.0f}",
            "150 us",
            one_us <= 150,
        ),
        Measurement(
            "plan with bands, mild",
            f"{sure_us / 1000:.1f} ms ({sure_us / baseline_us:.0f} x baseline)",
            "6 ms",
            sure_us <= 6000,
        ),
        Measurement(
            "plan with bands, in the cold",
            f"{cold_us / 1000:.1f} ms ({cold_us / baseline_us:.0f} x baseline)",
            "6 ms",
            cold_us <= 6000,
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
    seconds = _median_us(lambda: findings(load()), repeat=SHIPPED_RUNS) / 1e6
    measured = f"{1000 * seconds:.0f} ms ({1e6 * seconds / baseline_us:.0f} x baseline)"
    return Measurement("load, validate and lint the shipped data", measured, "400 ms", seconds <= 0.4)


def _large_load(classes: int, baseline_us: float) -> Measurement:
    """The shipped data with one class copied many times under other ids, in a folder of its own."""
    text = (shipped() / "vehicle_data" / "vehicle_classes" / "midsize-suv.yaml").read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as name:
        _copies([text], classes, Path(name))
        start = perf_counter()
        dataset = load([Path(name)])
        gc.freeze()  # as `check` does
        findings(dataset)
        seconds = perf_counter() - start
    allowed = 6 * max(classes, 1) / 5000
    return Measurement(
        f"load, validate and lint {classes:,} classes",
        f"{seconds:.2f} s ({1e6 * seconds / baseline_us:,.0f} x baseline)",
        f"{allowed:g} s",
        seconds <= max(allowed, 0.4),
    )


def _copies(texts: Sequence[str], count: int, folder: Path) -> None:
    """Write so many classes under other ids, in turn from these texts."""
    (folder / "vehicle_classes").mkdir(parents=True)
    for number in range(count):
        path = folder / "vehicle_classes" / f"class-{number}.yaml"
        path.write_text(texts[number % len(texts)], encoding="utf-8")


def _lookup(baseline_us: float) -> Measurement:
    """The tables that a page looks a class up in, for every rig, port, fuel, height and air, as they are published."""
    dataset = load()
    gc.freeze()  # as the helpers do that make them
    few = replace(dataset, vehicle_classes={name: dataset.vehicle_class(name) for name in LOOKED_UP})
    one_us = statistics.mean(_median_us(partial(class_lookup, few, name), repeat=1) for name in LOOKED_UP)
    scripts = dict(call_tables(few))
    size = max(len(gzip.compress(scripts[class_path(name)].encode(), mtime=0)) for name in LOOKED_UP)
    return Measurement(
        f"look-ups of {len(LOOKED_UP)} classes, each",
        f"{one_us / 1000:.0f} ms ({one_us / baseline_us:.0f} x baseline), {size / 1000:.1f} kB",
        "500 ms a core, 12 kB compressed",
        one_us <= 500_000 and size <= 12_000,
    )


def _call_page() -> Measurement:
    """What a phone loads of the call page before a class is chosen, compressed; times in a browser are CI's."""
    dataset = load()
    few = {name: class_lookup(dataset, name) for name in LOOKED_UP[:1]}
    texts = artefacts(dataset, lookups=few)
    theme = Path(__file__).resolve().parent / "publish" / "theme" / "assets"
    loaded = [texts[path] for path in ("index.md", WORDS_PATH, DRAWINGS_PATH)]
    loaded += [path.read_text(encoding="utf-8") for path in (*CALL_SCRIPTS, *theme.iterdir())]
    size = sum(len(gzip.compress(text.encode(), mtime=0)) for text in loaded)
    return Measurement("call page, first view", f"{size / 1000:.0f} kB compressed", "250 kB", size <= 250_000)


def _pages(write: Callable[[str], None]) -> list[Measurement]:
    """The pages of small and large data, against the same content given to the generator as Markdown."""
    try:
        import material  # noqa: F401
    except ImportError:
        write("the pages are not measured: the site extra is not installed\n")
        return []
    texts = [
        path.read_text(encoding="utf-8")
        for path in sorted((shipped() / "vehicle_data" / "vehicle_classes").glob("*.yaml"))
    ]
    found = {}
    for count in SITE_CLASSES:
        with tempfile.TemporaryDirectory() as name:
            _copies(texts, count, Path(name) / "data")
            ours_s = _processor_s([sys.executable, "-c", WRITE_PAGES, f"{name}/data", f"{name}/site"])
            texts_s = _processor_s([sys.executable, "-c", WRITE_TEXTS, name])
            theme = Path(__file__).resolve().parent / "publish" / "theme"
            (Path(name) / "mkdocs.yml").write_text(PLAIN_SITE.format(theme=theme), encoding="utf-8")
            plain_s = _processor_s([sys.executable, "-m", "mkdocs", "build", "-q", "-f", f"{name}/mkdocs.yml"])
            index = (Path(name) / "site" / "search" / "search_index.json").read_bytes()
            found[count] = (ours_s, ours_s / (texts_s + plain_s), len(gzip.compress(index, mtime=0)))
    small, large = SITE_CLASSES
    each_ms = 1000 * (found[large][0] - found[small][0]) / (large - small)
    return [
        Measurement(
            f"pages of {count} classes more",
            f"{found[count][0]:.1f} s of processor, {found[count][1]:.2f} x",
            "1.0 x the same content as Markdown",
            found[count][1] <= 1.0,
        )
        for count in SITE_CLASSES
    ] + [
        Measurement(
            "pages, each class more",
            f"{each_ms:.0f} ms, {each_ms * large / 1000 / found[large][0]:.2f} of the whole",
            "linear: at most 1 of the whole",
            each_ms * large / 1000 <= found[large][0],
        ),
        Measurement(
            f"search index with {small} classes more",
            f"{found[small][2] / 1000:.1f} kB compressed",
            "60 kB compressed",
            found[small][2] <= 60_000,
        ),
    ]


def _processor_s(command: Sequence[str]) -> float:
    """Run a command and return the processor seconds it took: waiting for a busy machine does not count."""
    import resource  # not on every system, and wanted here alone

    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, capture_output=True, env={**os.environ, "NO_MKDOCS_2_WARNING": "1"})
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
