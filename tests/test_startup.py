"""What starts with the command: a plan loads the two libraries it needs and nothing heavy."""

import json
import subprocess
import sys

# libyaml's binding brings these two names of its compiler.
COMPILED = ("_cython", "cython_runtime", "_sysconfigdata")
ALLOWED = {
    "annotated_types",
    "planner",
    "pydantic",
    "pydantic_core",
    "typing_extensions",
    "typing_inspection",
    "yaml",
    "_yaml",
}
HEAVY = {"numpy", "scipy", "jsonschema", "mkdocs", "jinja2", "markdown", "pint", "unittest", "asyncio", "http", "xml"}
SCRIPT = """
import json, sys
before = set(sys.modules)
from planner.cli import main
place = ["--at", "open-lot", "--openings", "clear", "--people", "away"]
code = main(["plan", "--rig", "pass-truck", "--vehicle", "midsize-suv", "--start", "12%", "--to", "80%", *place])
print(json.dumps([code, sorted(set(sys.modules) - before)]), file=sys.stderr)
"""


def loaded(script, root):
    done = subprocess.run([sys.executable, "-c", script], cwd=root, capture_output=True, text=True, check=True)
    return json.loads(done.stderr.splitlines()[-1])


def test_a_plan_loads_only_what_it_needs(root):
    code, modules = loaded(SCRIPT, root)
    tops = {name.split(".")[0] for name in modules}
    outside = {top for top in tops if top not in sys.stdlib_module_names and not top.startswith(("__", *COMPILED))}

    assert code == 0
    assert outside <= ALLOWED
    assert not tops & HEAVY
    not_wanted = {"bench", "envelope", "leads", "marks", "publish", "schemas", "tables"}
    assert not {f"planner.{name}" for name in not_wanted} & set(modules)


def test_our_modules_never_ask_for_installed_distributions(root):
    """pydantic imports importlib.metadata itself; ours must not, and its search for plugins must stay switched off."""
    text = "".join(path.read_text(encoding="utf-8") for path in (root / "planner").rglob("*.py"))
    assert "importlib.metadata" not in text

    script = """
import importlib.metadata, json, sys
def refuse(*_, **__):
    raise AssertionError("looked through the installed distributions")
importlib.metadata.distributions = refuse
importlib.metadata.entry_points = refuse
from planner.cli import main
code = main(["list", "rigs"])
print(json.dumps([code, []]), file=sys.stderr)
"""
    assert loaded(script, root)[0] == 0


def test_a_plan_reads_only_the_records_it_needs(monkeypatch):
    from planner import loading

    read = []
    real = loading.read_yaml

    def noting(path, problems):
        read.append(f"{path.parent.name}/{path.stem}")
        return real(path, problems)

    monkeypatch.setattr(loading, "read_yaml", noting)
    loading.load_for_plan([], rig_id="pass-truck", vehicle_id="midsize-suv")

    assert "vehicle_classes/midsize-suv" in read
    assert [name for name in read if name.startswith("vehicle_classes/")] == ["vehicle_classes/midsize-suv"]
    assert [name for name in read if name.startswith("rigs/")] == ["rigs/pass-truck"]
    assert "vehicle_data/sources" not in read
    assert "inlets/chademo" not in read
