"""Texts that a new record and a new folder begin with: valid as they are, every field with a comment."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from planner.errors import QuantityError
from planner.records import ID_LENGTH, ID_PATTERN, RECORD_KINDS

__all__ = ["CREW_FOLDERS", "NEW_KINDS", "Names", "crew_texts", "names_of", "skeleton", "skeleton_like"]

# What people say for a kind, and the folder it lives in.
NEW_KINDS: Mapping[str, str] = {"vehicle": "vehicle_classes", "rig": "rigs", "adapter": "adapters"}
CREW_FOLDERS = ("vehicle_classes", "rigs", "adapters", "commissioning")
NAME_LENGTH = 60
SHOWN_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 \-/.,()+]*")
SAMPLE = "Change me"
LIKE = {
    "vehicle_classes": """\
# also_called: ["change me"]             # words a caller says; never a brand
summary: "{name}: one sentence that gives the picture at one look."
recognize:                               # something to be seen in each; no other class says the same
  - "{name}: its shape, and its size beside something known."
  - "{name}: where its flap is, and what the dash shows when it is full."
tell_tale: "{name}: what tells it"       # from others of its body and port, in a few words that are read to a caller
size: {size}                             # small, midsize or large among vehicles of that body
# A list is replaced whole, a group field by field: write only what differs.
# built_from: 2020
# ports:
#   - inlet: j1772
#     places: [{{at: nose}}]
# battery:
#   energy_usable_kwh: {{low: 25, typical: 32, high: 40}}
# onboard_charger:
#   current_a: {{low: 24, typical: 27.5, high: 30}}
#   power_kw: {{low: 5.8, typical: 6.6, high: 7.2}}
# label:
#   consumption_wall_kwh_per_100mi: {{low: 39, typical: 44, high: 50}}
# road:
#   mass_kg: {{low: 2000, typical: 2250, high: 2500}}
""",
    "rigs": """\
summary: "{name}: source, EVSE and cable in one sentence."
# A list is replaced whole, a group field by field: write only what differs. A commissioning run is of one unit alone.
commissioning: []
# usual_site: {{altitude_m: 300, ambient_c: 15}}
# evse:
#   setting_now: "32"
# adapters: []
sources:
  commissioning: null                    # the runs of the other unit have gone with their numbers
""",
    "adapters": """\
# From its own label; null where it cannot be read, and the adapter is then refused.
# rating_current_a: 48
# rating_voltage_v: 250
# listing: none                          # ul2252, supplied_by_vehicle_maker or none
# temperature_sensing: false
""",
}


@dataclass(frozen=True, slots=True)
class Names:
    """The id of a new record, and the name that people see."""

    record_id: str
    shown: str


def names_of(given: str) -> Names:
    """Return id and name from what was typed: `County van` and `county-van` mean the same record.

    Raises `QuantityError` for a name that no id can be made of, or with characters that a name may not have.
    """
    shown = " ".join(given.split())
    if not SHOWN_NAME.fullmatch(shown) or len(shown) > NAME_LENGTH:
        raise QuantityError(
            name="NAME",
            given=given,
            expected=f"letters, digits, space and -/.,()+, at most {NAME_LENGTH} characters",
            next_step="write a plain name, such as 'County van'; never a brand",
        )
    record_id = re.sub(r"[^a-z0-9]+", "-", shown.lower()).strip("-")
    if len(record_id) > ID_LENGTH or not re.fullmatch(ID_PATTERN, record_id):
        raise QuantityError(
            name="NAME",
            given=given,
            expected=f"a name that makes an id of at most {ID_LENGTH} characters",
            next_step="shorten it: the name for people can be changed in the file afterwards",
        )
    if shown == record_id:
        shown = shown.replace("-", " ").capitalize()
    return Names(record_id, shown)


def skeleton(template: str, names: Names) -> str:
    """Return a template as a new record: without its line for editors, under its own name everywhere."""
    lines = template.splitlines(keepends=True)
    text = "".join(line for line in lines if not line.startswith("# yaml-language-server:"))
    text = re.sub(r"^name: Change me +#", f"name: {names.shown}  #", text, count=1, flags=re.MULTILINE)
    return text.replace(f'"{SAMPLE}: ', f'"{names.shown}: ')


def skeleton_like(kind: str, names: Names, base_id: str, size: str | None) -> str:
    """Return a record that changes another in part: what people change most stands there, as comments."""
    head = (
        f"# Like {base_id} but for what stands here; everything else follows that record.\n"
        f"based_on: {base_id}\nname: {names.shown}\n"
    )
    return head + LIKE[kind].format(name=names.shown, size=size or "midsize")


def crew_texts(name: str) -> dict[str, str]:
    """Return the files of a crew's folder that is empty of records, by path."""
    kinds = ", ".join(f"{folder}/" for folder in RECORD_KINDS)
    return {
        "dataset.yaml": (
            "# Raise the version when a record or a number changes: the pages show it.\n"
            f'version: "0.1.0"\nname: {name}\n'
        ),
        "exceptions.yaml": (
            "# Findings of `rangeferry check` that are let stand, each with its reason, up to a version of your data:\n"
            "#   - rule: recognized_without_a_brand\n"
            "#     record: vehicle_classes/county-van\n"
            '#     reason: "Our own van: everybody knows it."\n'
            '#     until: "0.3.0"\n'
            "exceptions: []\n"
        ),
        "README.txt": (
            f"{name}: records laid over the shipped data of rangeferry\n"
            "\n"
            "One record a file; its name is its id. A record here covers the shipped one of the same kind and id.\n"
            f"Folders: {kinds}made as they are needed.\n"
            "\n"
            "  rangeferry new vehicle|rig|adapter NAME --data .   a record to write over\n"
            "  rangeferry check --data .                          what is wrong, with file, line and what to do\n"
            "  rangeferry format --data .                         the layout that all records have\n"
            "  rangeferry pages --serve --data .                  the pages, made anew at every save\n"
            "  rangeferry list vehicles --origin --data .         which folder each record comes from\n"
            "\n"
            "Sources of your own go into sources.yaml, in the form of the shipped one (rangeferry list sources).\n"
            "Keep this folder under version control. An upgrade of rangeferry never touches it.\n"
        ),
        **{f"{folder}/.keep": "" for folder in CREW_FOLDERS},
    }
