"""A module imports only from layers below it; the core touches no file, clock, environment, network or terminal."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "planner"

LAYERS = [
    {"errors"},
    {
        "units",
        "figures",
        "wording",
        "samples",
        "power",
        "circuit",
        "pilot",
        "proximity",
        "genset",
        "battery",
        "pack",
        "cabin",
        "air",
        "roadload",
        "road",
    },
    {"record_base"},
    {"rig_records"},
    {"coupler_records"},
    {"records"},
    {"ampacity", "mating"},
    {"protection"},
    {"chain", "leads"},
    {"charge", "journey", "trip"},
    {"reach"},
    {"place"},
    {"condition"},
    {"answer"},
    {"spread"},
    {"factors", "plan_types"},
    {"roadside"},
    {"causes", "planning"},
    {"marks"},
    {
        "commissioning",
        "coverage",
        "envelope",
        "gains",
        "lookup",
        "provenance",
        "releases",
        "sizing",
        "tables",
        "turns",
    },
    {"lint"},
    {"call_words", "dialogue", "formulas", "loading", "report", "sizing_report"},
    {
        "call_dialogue",
        "call_file",
        "commissioning_report",
        "formatting",
        "model_questions",
        "release_files",
        "rig_report",
        "skeletons",
    },
    {"checks", "open_data", "schemas"},
    {"publish.markup"},
    {"publish.coupler_drawings", "publish.drawings", "publish.lead_section"},
    {"publish.coupler_words", "publish.path_drawing", "publish.place_drawing", "publish.port_key"},
    {
        "publish.card_pages",
        "publish.data_files",
        "publish.evidence_pages",
        "publish.open_data_page",
        "publish.pilot_page",
        "publish.plug_pages",
        "publish.port_pages",
        "publish.provenance_pages",
        "publish.release_pages",
        "publish.rig_pages",
        "publish.safety_pages",
        "publish.sheet_pages",
        "publish.sizing_pages",
        "publish.vehicle_pages",
    },
    {"publish.call_tables", "publish.data_check", "publish.made_tables", "publish.pocket", "publish.workbook"},
    {"publish.call_page"},
    {"publish.site"},
    {"publish.mkdocs_plugin"},
    {"publish.build"},
    {"bench"},
    {"call_commands", "check_command", "data_commands", "release_commands", "rig_commands"},
    {"cli"},
    {"__main__", "first_run"},
]
# Within one layer of the design, `trip` reads `charge` and `journey`, `figures` reads `units`, and `roadload` takes the
# pressure of `air`: never the other way round.
SAME_LAYER = {("trip", "charge"), ("trip", "journey"), ("figures", "units"), ("roadload", "air")}
FORMULAS = LAYERS[1] - {"units", "figures", "samples"}
CORE = set().union(*LAYERS[:21])
# What the core may know of the standard library: no os, io, pathlib, time, random, socket, logging.
CORE_STANDARD = {
    "bisect",
    "collections",
    "dataclasses",
    "datetime",
    "difflib",
    "fnmatch",
    "functools",
    "itertools",
    "math",
    "operator",
    "re",
    "statistics",
    "typing",
}
THIRD_PARTY = {"pydantic", "pydantic_core", "yaml"}
# What makes the pages is pure up to here: no file, no clock, no generator.
PURE_PAGES = {name for layer in LAYERS for name in layer if name.startswith("publish.")} - {
    "publish.data_check",
    "publish.made_tables",
    "publish.mkdocs_plugin",
    "publish.build",
    "publish.workbook",
}
PAGES_STANDARD = CORE_STANDARD | {"csv", "hashlib", "html", "importlib", "inspect", "io", "json"}
FORBIDDEN_CALLS = {"open", "print", "input", "exec", "eval", "__import__"}


def modules():
    """Return every module by its dotted name below the package."""
    paths = [path.relative_to(PACKAGE).with_suffix("") for path in PACKAGE.rglob("*.py") if path.stem != "__init__"]
    return sorted(".".join(path.parts) for path in paths if path.parts[0] != "shipped")


def level(module):
    return next(number for number, layer in enumerate(LAYERS) if module in layer)


def tree(module):
    return ast.parse((PACKAGE / f"{module.replace('.', '/')}.py").read_text(encoding="utf-8"))


def imports(module):
    """Return every imported module, wherever in the file, relative forms included."""
    found = set()
    for node in ast.walk(tree(module)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: write imports in full"
            if node.module == "planner":
                found |= {f"planner.{alias.name}" for alias in node.names if (PACKAGE / f"{alias.name}.py").exists()}
            else:
                found.add(node.module)
    return found


def test_every_module_has_a_layer():
    assert set(modules()) == set().union(*LAYERS)


@pytest.mark.parametrize("module", modules())
def test_module_imports_only_lower_layers(module):
    for name in imports(module):
        if name.startswith("planner."):
            other = name.removeprefix("planner.")
            assert level(other) < level(module) or (module, other) in SAME_LAYER, f"{module} imports {other}"


@pytest.mark.parametrize("module", sorted(CORE))
def test_core_touches_nothing_outside(module):
    outside = {name.split(".")[0] for name in imports(module)} - {"planner"}
    allowed = CORE_STANDARD | (THIRD_PARTY - {"yaml"})

    assert outside <= allowed
    called = {
        node.func.id
        for node in ast.walk(tree(module))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not called & FORBIDDEN_CALLS
    assert not {node.attr for node in ast.walk(tree(module)) if isinstance(node, ast.Attribute)} & {
        "today",
        "now",
        "utcnow",
    }


@pytest.mark.parametrize("module", sorted(PURE_PAGES))
def test_pages_touch_no_file_clock_or_generator(module):
    outside = {name.split(".")[0] for name in imports(module)} - {"planner"}
    called = {
        node.func.id
        for node in ast.walk(tree(module))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }

    assert outside <= PAGES_STANDARD
    assert not called & FORBIDDEN_CALLS


@pytest.mark.parametrize("module", sorted(FORMULAS))
def test_formula_modules_import_only_arithmetic_and_errors(module):
    arithmetic = {"bisect", "collections.abc", "dataclasses", "itertools", "math", "typing"}
    shared = {f"planner.{other}" for one, other in SAME_LAYER if one == module}
    assert imports(module) <= arithmetic | shared | {"planner.errors"}


@pytest.mark.parametrize("module", sorted(set(modules()) - {"__main__", "first_run"}))
def test_public_names_are_listed_and_sorted(module):
    import importlib

    if module == "publish.mkdocs_plugin":
        pytest.importorskip("mkdocs")
    if module == "publish.data_check":
        pytest.importorskip("jsonschema")
    if module == "publish.workbook":
        pytest.importorskip("xlsxwriter")
    listed = importlib.import_module(f"planner.{module}").__all__
    defined = {
        node.name
        for node in tree(module).body
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_")
    }

    assert list(listed) == sorted(listed, key=lambda name: (not name.isupper(), not name[0].isupper(), name))
    assert defined <= set(listed)


def test_first_run_imports_nothing_of_the_package():
    assert not {name for name in imports("first_run") if name.startswith("planner")}
