"""The committed schemas equal the generated ones, every record fits its schema, every plan fits the plan's."""

import json

import jsonschema
import make
import pytest

from planner.cli import main
from planner.loading import read_yaml
from planner.report import document
from planner.schemas import SCHEMA_FILES, schema_documents, schema_text
from planner.trip import Miles, ToPercent

DOCUMENTS = schema_documents()


@pytest.mark.parametrize("name", DOCUMENTS)
def test_committed_schema_is_current(name, root):
    committed = (root / "vehicle_data" / "schema" / f"{name}.schema.json").read_text(encoding="utf-8")

    assert committed == schema_text(DOCUMENTS[name]), "run: rangeferry schema --out vehicle_data/schema"


def test_no_schema_is_left_over(root):
    found = {path.name for path in (root / "vehicle_data" / "schema").iterdir()}

    assert found == {f"{name}.schema.json" for name in DOCUMENTS}


@pytest.mark.parametrize("name", DOCUMENTS)
def test_schema_is_a_valid_schema(name):
    jsonschema.Draft202012Validator.check_schema(DOCUMENTS[name])


def records(root):
    for name, folder in SCHEMA_FILES.items():
        for path in sorted((root / "vehicle_data" / folder).glob("*.yaml")):
            yield name, path


def plain(value):
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    return [plain(item) for item in value] if isinstance(value, tuple) else value


def test_every_record_fits_its_schema_and_names_it(root):
    count = 0
    for name, path in records(root):
        jsonschema.Draft202012Validator(DOCUMENTS[name]).validate(plain(read_yaml(path, []).data))
        first = path.read_text(encoding="utf-8").splitlines()[0]
        assert first == f"# yaml-language-server: $schema=../schema/{name}.schema.json", path
        count += 1
    for name in ("sources", "rates"):
        path = root / "vehicle_data" / f"{name}.yaml"
        jsonschema.Draft202012Validator(DOCUMENTS[name]).validate(plain(read_yaml(path, []).data))
        assert path.read_text(encoding="utf-8").startswith(f"# yaml-language-server: $schema=schema/{name}.schema.json")
    assert count > 40


@pytest.mark.parametrize(
    "spoil",
    [
        lambda data: data.pop("name"),
        lambda data: data.update(colour="red"),
        lambda data: data.update(carries="both"),
        lambda data: data.update(rating_current_a="48 A"),
    ],
)
def test_schema_refuses_what_the_loader_refuses(root, spoil):
    data = plain(read_yaml(root / "vehicle_data" / "adapters" / "j3400-to-j1772-80a.yaml", []).data)
    spoil(data)

    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(DOCUMENTS["adapter"]).validate(data)


def test_a_partial_record_fits_its_schema():
    jsonschema.Draft202012Validator(DOCUMENTS["adapter"]).validate({"based_on": "j3400-to-j1772-80a", "name": "Ours"})


@pytest.mark.parametrize(
    "found",
    [
        make.planned(),
        make.planned(need=Miles(40)),
        make.planned(need=Miles(900)),
        make.planned(make.rig(source=make.battery())),
        make.planned(make.rig(supply=[])),
        make.planned(vehicle_made=make.vehicle(inlet="ccs2")),
        make.planned(start=90, need=ToPercent(20)),
    ],
    ids=lambda found: found.reasons[0].code,
)
def test_every_kind_of_plan_fits_the_published_schema(found):
    published = json.loads(json.dumps(document(found)))

    jsonschema.Draft202012Validator(DOCUMENTS["plan"]).validate(published)


@pytest.mark.parametrize(
    ("name", "arguments"),
    [
        ("rig_report", ["rig", "pass-truck"]),
        ("rig_report", ["rig", "fairground-spare"]),
        ("rig_report", ["rig", "fairground-outlet"]),
        ("sizing", ["size", "--current", "48A"]),
        ("commissioning_result", ["commission", "pass-truck", "--vehicle", "midsize-suv", "--amps", "30A"]),
    ],
)
def test_json_of_the_builders_commands_fits_its_schema(name, arguments, capsys):
    main([*arguments, "--json"])
    found = json.loads(capsys.readouterr().out)

    schema = DOCUMENTS[name]
    jsonschema.Draft202012Validator(schema).validate(found)
    assert set(found) == set(schema["properties"])
