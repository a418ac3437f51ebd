"""A crew's own records: begun from a form, laid out, checked, listed with where they come from; nothing is lost."""

import re
import shutil

import pytest
import yaml
from pydantic import BaseModel

from planner.cli import main
from planner.formatting import _models
from planner.loading import load
from planner.records import Adapter, VehicleClass
from planner.rig_records import Breaker, Cable, Conductor, Evse, Fuel, GeneratorSource, Rig, Setting

KINDS = {"vehicle": "vehicle_classes", "rig": "rigs", "adapter": "adapters"}


def run(capsys, *arguments):
    """Return exit code, stdout and stderr of one command."""
    try:
        code = main([str(word) for word in arguments])
    except SystemExit as stop:
        code = stop.code
    out, err = capsys.readouterr()
    return code, out, err


@pytest.fixture
def crew(tmp_path, capsys):
    folder = tmp_path / "crew"
    run(capsys, "new", folder)
    return folder


def test_a_new_folder_is_made_whole_and_reads_clean(tmp_path, capsys):
    code, out, err = run(capsys, "new", tmp_path / "ashmoor-north")

    assert (code, out) == (0, "")
    assert (
        err
        == f"note: {tmp_path}/ashmoor-north made; next: rangeferry new vehicle NAME --data {tmp_path}/ashmoor-north\n"
    )
    assert "name: Ashmoor north" in (tmp_path / "ashmoor-north" / "dataset.yaml").read_text(encoding="utf-8")
    assert run(capsys, "check", "--data", tmp_path / "ashmoor-north")[1].endswith("no fault found\n")


def test_a_folder_that_holds_something_is_left_alone(tmp_path, capsys):
    (tmp_path / "kept.txt").write_text("mine", encoding="utf-8")
    code, _, err = run(capsys, "new", tmp_path)

    assert code == 2
    assert err.startswith("rangeferry: DIR: expected a folder that is not there yet, or holds nothing, got '")
    assert err.endswith("; it holds kept.txt: name another\n")
    assert [path.name for path in tmp_path.iterdir()] == ["kept.txt"]


@pytest.mark.parametrize("word", KINDS)
def test_a_new_record_reads_clean_as_it_is(word, crew, capsys):
    code, out, err = run(capsys, "new", word, "County van", "--data", crew)
    path = crew / KINDS[word] / "county-van.yaml"

    assert (code, out) == (0, "")
    assert err == (
        f"note: {path} written: an example to write over, with what each field is beside it\n"
        f"note: next: rangeferry check --data {crew}; to see it: rangeferry pages --serve --data {crew}\n"
    )
    assert yaml.safe_load(path.read_text(encoding="utf-8"))["name"] == "County van"
    assert "Change me:" not in path.read_text(encoding="utf-8")
    code, out, _ = run(capsys, "check", "--data", crew)
    assert (code, out.endswith("no fault found\n")) == (0, True)


@pytest.mark.parametrize("word", KINDS)
def test_a_new_record_is_already_laid_out(word, crew, capsys):
    run(capsys, "new", word, "County van", "--data", crew)

    assert run(capsys, "format", "--check", "--data", crew)[0] == 0


@pytest.mark.parametrize(
    ("word", "base"), [("vehicle", "cargo-van"), ("rig", "pass-truck"), ("adapter", "j3400-to-j1772-80a")]
)
def test_a_record_like_another_follows_it_but_for_what_it_says(word, base, crew, capsys):
    code, _, _ = run(capsys, "new", word, "Our own one", "--like", base, "--data", crew)
    dataset = load([crew])
    records = getattr(dataset, KINDS[word])

    assert code == 0
    assert records["our-own-one"].name == "Our own one"
    same = {"vehicle": "battery", "rig": "evse", "adapter": "becomes"}[word]
    assert getattr(records["our-own-one"], same) == getattr(records[base], same)
    assert run(capsys, "check", "--data", crew)[0] == 0


def test_a_rig_like_another_has_none_of_its_commissioning(crew, capsys):
    run(capsys, "new", "rig", "Twin", "--like", "pass-truck", "--data", crew)

    assert load([crew]).rigs["twin"].commissioning == ()


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["vehicle"], "NAME: expected a name for the vehicle, got ''; write rangeferry new vehicle 'County van' --data DIR; a folder is ./vehicle"),
        (["vehicle", "cargo-van"], "NAME: expected an id that no vehicle has, got 'cargo-van'; it stands in vehicle_data: choose another name, or copy its file to cover the whole of it"),
        (["vehicle", "Größe"], "NAME: expected letters, digits, space and -/.,()+, at most 60 characters, got 'Größe'; write a plain name, such as 'County van'; never a brand"),
        (["vehicle", "Van", "--like", "cargo-vann"], "unknown vehicle 'cargo-vann'. Did you mean 'cargo-van'? List them with: rangeferry list vehicles"),
        (["vehicel", "Van"], "NAME: expected none beside a folder, and 'vehicel' is no kind, got 'Van'; write vehicle"),
        (["adapter", "a" * 60], f"NAME: expected a name that makes an id of at most 40 characters, got '{'a' * 60}'; shorten it: the name for people can be changed in the file afterwards"),
    ],
    ids=lambda value: " ".join(value)[:20] if isinstance(value, list) else "",
)  # fmt: skip
def test_a_mistake_is_told_and_nothing_is_written(arguments, message, crew, capsys, root, monkeypatch):
    monkeypatch.chdir(root)
    before = sorted(path.name for path in crew.rglob("*"))
    code, out, err = run(capsys, "new", *arguments, "--data", crew)

    assert (code, out, err) == (2, "", f"rangeferry: {message}\n")
    assert sorted(path.name for path in crew.rglob("*")) == before


def test_the_same_name_twice_is_refused_and_the_first_stays(crew, capsys):
    run(capsys, "new", "vehicle", "County van", "--data", crew)
    path = crew / "vehicle_classes" / "county-van.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("built_from: 2015", "built_from: 2016"), encoding="utf-8")
    code, _, err = run(capsys, "new", "vehicle", "county-van", "--data", crew)

    assert code == 2
    assert "an id that no vehicle has" in err
    assert "built_from: 2016" in path.read_text(encoding="utf-8")


def test_an_id_that_was_parted_is_never_used_again(crew, capsys):
    (crew / "splits").mkdir()
    (crew / "splits" / "family-car.yaml").write_text(
        'name: Family car\ninto: [compact-hatch, compact-crossover]\nsince: "0.6.0"\nwhy: "Two kinds."\n',
        encoding="utf-8",
    )
    code, _, err = run(capsys, "new", "vehicle", "Family car", "--data", crew)

    assert code == 2
    assert "family-car was parted into compact-hatch and compact-crossover: choose another name" in err


def test_without_a_folder_the_one_a_crew_stands_in_is_taken(crew, capsys, monkeypatch):
    monkeypatch.chdir(crew)
    code, _, _ = run(capsys, "new", "vehicle", "County van")

    assert code == 0
    assert (crew / "vehicle_classes" / "county-van.yaml").is_file()


def test_without_a_folder_elsewhere_it_is_asked_for(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, _, err = run(capsys, "new", "vehicle", "County van")

    assert code == 2
    assert err == (
        "rangeferry: --data: expected the crew's folder, or a current folder that holds dataset.yaml, got ''; "
        "write --data DIR; rangeferry new DIR makes one\n"
    )


def test_shipped_data_are_not_written_into(capsys, monkeypatch, root):
    monkeypatch.chdir(root / "vehicle_data")
    code, _, _ = run(capsys, "new", "vehicle", "County van")

    assert code == 2
    assert not (root / "vehicle_data" / "vehicle_classes" / "county-van.yaml").exists()


# ----------------------------------------------------------------------------------------------------------- templates


def fields_of(model: type[BaseModel]):
    """Yield every field of a record and of what is below it."""
    for name, field in model.model_fields.items():
        if name != "id":
            yield name
            for inner in _models(field.annotation):
                if inner.__name__ not in {"Spread", "Provenance"}:
                    yield from fields_of(inner)


@pytest.mark.parametrize(
    ("folder", "models"),
    [
        ("vehicle_classes", [VehicleClass]),
        ("adapters", [Adapter]),
        ("rigs", [GeneratorSource, Evse, Breaker, Conductor, Setting, Cable]),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_form_names_every_field(folder, models, root):
    text = (root / "vehicle_data" / folder / "_template.yaml").read_text(encoding="utf-8")
    named = set(re.findall(r"([a-z_0-9]+):", text))

    assert {field for model in models for field in fields_of(model)} - named == set()


def test_the_form_of_a_rig_names_every_field_of_its_first_level_and_of_a_fuel(root):
    text = (root / "vehicle_data" / "rigs" / "_template.yaml").read_text(encoding="utf-8")
    named = set(re.findall(r"([a-z_0-9]+):", text))

    assert ({*Rig.model_fields, *Fuel.model_fields} - {"id"}) - named == set()


# ---------------------------------------------------------------------------------------------------------------- list


def test_a_list_tells_a_record_that_covers_a_shipped_one(crew, capsys, root):
    shutil.copy(root / "vehicle_data" / "vehicle_classes" / "minivan.yaml", crew / "vehicle_classes" / "minivan.yaml")
    _, out, _ = run(capsys, "list", "vehicles", "--origin", "--data", crew)
    lines = {line.split()[0]: line for line in out.splitlines()}

    assert lines["minivan"].endswith(f"{crew} (covers shipped)")
    assert "covers" not in lines["cargo-van"]


def test_a_list_of_classes_shows_port_years_and_battery(capsys):
    _, out, _ = run(capsys, "list", "vehicles")
    line = next(line for line in out.splitlines() if line.startswith("older-short-range-hatch"))

    assert re.search(r"  j1772, chademo +2010-2017 +21.5 kWh$", line)
