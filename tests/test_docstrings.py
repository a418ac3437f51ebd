"""The contract of every public formula: parameters, units, example and sources are there and true."""

import ast
import importlib
import inspect
import re
from typing import get_type_hints

import pytest
import yaml

MODULES = ["air", "battery", "cabin", "circuit", "genset", "pack", "pilot", "power", "proximity", "road", "roadload"]
UNITS = {
    "_a": "A",
    "_v": "V",
    "_kw": "kW",
    "_w": "W",
    "_kwh": "kWh",
    "_wh": "Wh",
    "_h": "h",
    "_m": "m",
    "_c": "C",
    "_mi": "mi",
    "_l": "L",
    "_percent": "%",
    "_ohm": "ohm",
    "_ohm_per_km": "ohm/km",
    "_per_c": "1/C",
    "_l_per_h": "L/h",
    "_l_per_kwh": "L/kWh",
    "kwh_per_l": "kWh/L",
    "_per_litre_kwh": "kWh/L",
    "_btu_per_gal": "Btu/gal",
    "_kpa": "kPa",
    "_kwh_per_100mi": "kWh/100mi",
    "_per_kw": "1/kW",
    "_mpge": "mi/gal",
    "_kg": "kg",
    "_min": "min",
    "_m2": "m2",
    "_n": "N",
    "_kg_per_m3": "kg/m3",
    "_m_per_s": "m/s",
    "_j_per_m": "J/m",
    "_kwh_per_k": "kWh/K",
    "_kw_per_k": "kW/K",
    "_per_mile": "h/mi",
}


def formulas():
    for name in MODULES:
        module = importlib.import_module(f"planner.{name}")
        for public in module.__all__:
            item = getattr(module, public)
            if inspect.isfunction(item):
                yield pytest.param(item, id=f"{name}.{public}")


FORMULAS = list(formulas())


def section(function, name):
    text = inspect.getdoc(function)
    match = re.search(rf"^{name}\n-+\n(.*?)(?=^\w[\w ]*\n-{{3,}}|\Z)", text, re.M | re.S)
    assert match, f"{function.__name__}: no section {name}"
    return match[1]


@pytest.mark.parametrize("function", FORMULAS)
def test_docstring_names_the_parameters_in_order(function):
    documented = re.findall(r"^(\w+) : ", section(function, "Parameters"), re.M)

    assert documented == list(inspect.signature(function).parameters)


@pytest.mark.parametrize("function", FORMULAS)
def test_every_quantity_states_its_unit(function):
    parameters = re.split(r"^(?=\w+ : )", section(function, "Parameters"), flags=re.M)[1:]
    for block in parameters:
        name = block.split(" : ")[0]
        unit = re.findall(r"\[([^\]]+)\]\s*\Z", block.strip())
        assert unit, f"{function.__name__}: {name} has no [unit]"
        suffix = max((suffix for suffix in UNITS if name.endswith(suffix)), key=len, default=None)
        if suffix:
            assert unit[-1] == UNITS[suffix], f"{function.__name__}: {name} in [{unit[-1]}]"
    assert re.search(r"\[[^\]]+\]", section(function, "Returns"))


@pytest.mark.parametrize("function", FORMULAS)
def test_result_unit_agrees_with_the_name(function):
    suffix = max((suffix for suffix in UNITS if function.__name__.endswith(suffix)), key=len, default=None)
    if suffix:
        assert f"[{UNITS[suffix]}]" in section(function, "Returns")


@pytest.mark.parametrize("function", FORMULAS)
def test_references_name_known_sources(function, root):
    known = yaml.safe_load((root / "vehicle_data" / "sources.yaml").read_text(encoding="utf-8"))
    cited = re.findall(r"(?:^|; )([a-z0-9]+(?:-[a-z0-9]+)+),", section(function, "References"), re.M)

    assert cited, function.__name__
    assert set(cited) <= set(known)


@pytest.mark.parametrize("function", FORMULAS)
def test_formula_has_an_example_and_takes_plain_values(function):
    assert ">>> " in section(function, "Examples")
    hints = get_type_hints(function)
    assert "return" in hints
    # A drive schedule made ready comes first and by place, like the subject of a sentence.
    several = [
        parameter
        for parameter in inspect.signature(function).parameters.values()
        if parameter.name not in {"trace", "parts"}
    ]
    if len(several) > 1:
        assert all(p.kind is inspect.Parameter.KEYWORD_ONLY for p in several)


@pytest.mark.parametrize("name", MODULES)
def test_every_number_that_is_a_constant_cites_a_source(root, name):
    """On its line or in the comment above: an id of sources.yaml, common-practice, or that it is exact."""
    known = yaml.safe_load((root / "vehicle_data" / "sources.yaml").read_text(encoding="utf-8"))
    text = (root / "planner" / f"{name}.py").read_text(encoding="utf-8")
    lines = text.splitlines()
    for node in ast.parse(text).body:
        if not isinstance(node, ast.Assign) or not any(
            isinstance(part, ast.Constant) and isinstance(part.value, int | float) for part in ast.walk(node.value)
        ):
            continue
        first = node.lineno - 1
        while (
            first > 0
            and lines[first - 1].strip()
            and not lines[first - 1].startswith(("import", "from", "__all__", "]"))
        ):
            first -= 1
        comment = " ".join(line.split("#", 1)[1] for line in lines[first : node.end_lineno] if "#" in line)
        cited = set(re.findall(r"[a-z0-9]+(?:-[a-z0-9]+)+", comment))
        assert cited & ({*known} | {"common-practice"}) or "exact" in comment, f"{name}: {lines[node.lineno - 1]}"
