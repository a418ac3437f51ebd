"""The command `check`: read everything, hold it against every rule, and plan every rig with every class."""

import gc
from argparse import Namespace
from collections.abc import Sequence

from planner.lint import AMBIENT_STEPS_C, RULES, Finding, findings, plan_findings
from planner.loading import load, shipped
from planner.records import RECORD_KINDS, Dataset

__all__ = ["check_command", "cited_sources"]

CLEAN, FAULTY = 0, 3
SECTIONS = {"coverage": "coverage.yaml", "sources": "sources.yaml"}


def check_command(options: Namespace) -> tuple[int, str]:
    """Check the data. Returns the exit code, 3 where something must be mended, and the text."""
    dataset = load(options.data)
    gc.freeze()  # it is read to the end: no use in looking through it for garbage
    counts = {folder: len(getattr(dataset, folder)) for folder in (*RECORD_KINDS, "sources")}
    plans = plan_findings(dataset)
    found = (*findings(dataset, cited_sources(dataset)), *plans.findings)
    must = [finding for finding in found if finding.level == "must"]
    should = [finding for finding in found if finding.level == "should"]
    lines = [f"{count:>6,}  {what.replace('_', ' ')}" for what, count in counts.items()]
    lines.append(
        f"{plans.plans:>6,}  plans: {len(dataset.rigs)} rigs x {len(dataset.vehicle_classes)} classes x "
        f"{len(AMBIENT_STEPS_C)} temperatures from -20 F to 110 F, each with figures or a reason"
    )
    lines += [f"{count:>6,}  {verdict.replace('_', ' ')}" for verdict, count in sorted(plans.by_verdict.items())]
    lines.append(f"{len(RULES) + 2:>6,}  rules, {len(dataset.exceptions)} let stand by exceptions.yaml")
    lines += _told(dataset, "must be mended", must) + _told(dataset, "worth a look", should)
    lines.append("no fault found" if not found else f"{len(must)} to mend, {len(should)} worth a look")
    return (FAULTY if must else CLEAN), "".join(f"{line}\n" for line in lines)


def cited_sources(dataset: Dataset) -> frozenset[str]:
    """Return the sources that the program, its checks or its pages name: no number of a record needs to."""
    root = shipped()
    program = (root / "planner") if (root / "planner").is_dir() else root.parent
    folders = ((program, "**/*.py"), (root / "tests" / "published", "**/*.yaml"))
    text = "".join(path.read_text(encoding="utf-8") for folder, kind in folders for path in sorted(folder.glob(kind)))
    return frozenset(source for source in dataset.sources if source in text)


def _told(dataset: Dataset, heading: str, found: Sequence[Finding]) -> list[str]:
    """Return the findings, a file and what to do in each."""
    if not found:
        return []
    lines = ["", f"{heading}:"]
    for item in found:
        kind, name = item.record.split("/")
        folder = dataset.origins.get((kind, name), "")
        file = SECTIONS.get(kind, f"{item.record}.yaml")
        place = f"{folder}/{file}" if folder else file
        lines += [f"  {place}: {item.text}", f"      {item.tip} ({item.rule})"]
    return [*lines, ""]
