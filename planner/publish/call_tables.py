"""The tables of the call page as small scripts: one a class, one a rig, and the words that all of them share.

Scripts and not data files: a page that is opened from a folder may load nothing else.
"""

import hashlib
import json
from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import product
from typing import Any, get_args

from planner.answer import handshake_s
from planner.call_words import USUAL_STAY_MIN
from planner.chain import LinkKind
from planner.condition import Condition, condition_codes, condition_rulings, rules_in_order
from planner.envelope import KnownOfVehicle, inlet_cases
from planner.factors import MORE_PARTS, NEEDS, NEVER_STEPS, STEP
from planner.figures import MINUTE_STEPS, MOST_SHOWN_MIN, temperature
from planner.lookup import (
    ALTITUDE_STEPS_FT,
    AMBIENT_STEPS_F,
    CHANCE_SHARES,
    CHANCES,
    PACK_STATES,
    PLACES,
    SPEED_STEPS_MPH,
    class_lookup,
    rig_lookup,
)
from planner.mating import KEPT_WORDS
from planner.place import PLACE_KIND_WORDS, SHOULDER_CAP_MIN, Place, PlaceKind, place_codes
from planner.planning import (
    CABIN_OFF,
    CHARGER_ASK,
    CHARGER_OUT_TEXT,
    HAS_FUEL,
    MENU_MIN,
    MET_ASK,
    NOT_SURE_ASK,
    NOTHING_TO_DO,
    SHOULDER_SOURCE,
    SLOWER_MPH,
    TOO_SHORT_ASK,
    TOW_FACTOR,
    TOW_HOOK_MIN,
    TOW_MPH,
    WHICH_PORT_ASK,
    fuel_first,
)
from planner.publish.markup import VERDICT_WORDS
from planner.publish.rig_pages import ladder_group
from planner.publish.vehicle_pages import BODY_WORDS
from planner.records import BATTERY_WORDS, BUILT_WORDS, Dataset, VehicleClass
from planner.roadside import (
    COLD_WAIT_BELOW_C,
    COLD_WAIT_CAUTION,
    COLD_WAIT_MIN,
    DEAD_CAUTION,
    FUEL_ASK,
    LAST_PERCENTS_CAUTION,
    LONG_STAY_CAUTION,
    LONG_STAY_MIN,
    NO_CURRENT_ABORT,
    TRY_STEPS,
)
from planner.trip import (
    CHARGER_RESERVE_MI,
    CHARGER_RESERVE_PERCENT,
    DASH_MILES_HIGH,
    DASH_MILES_LOW,
    DASH_ROUNDING_PERCENT,
    DASH_SAID,
    DASH_WORDS,
    DEFAULT_RESERVE_PERCENT,
    GOAL_WORDS,
    LAST_ORDINARY_PERCENT,
)
from planner.units import FT_PER_M, LITRES_PER_GALLON, celsius_from_fahrenheit
from planner.wording import SENTENCES

__all__ = ["WORDS_PATH", "call_tables", "class_path", "rig_path", "shared_words"]

WORDS_PATH = "call/words.js"
SHARED_BY = 2  # classes: a text that one alone says stands with it
YES_NO: dict[str, bool | None] = {"": None, "yes": True, "no": False}
COMMON_PRACTICE = "common practice, no source"


def class_path(class_id: str) -> str:
    """Return where the table of a class stands."""
    return f"call/classes/{class_id}.js"


def rig_path(rig_id: str) -> str:
    """Return where the table of a rig stands."""
    return f"call/rigs/{rig_id}.js"


def call_tables(dataset: Dataset, lookups: Mapping[str, Mapping[str, Any]] | None = None) -> Iterator[tuple[str, str]]:
    """Yield the scripts of the call page by path; `lookups` are those of the classes where they were made before."""
    if lookups is None:
        lookups = {class_id: class_lookup(dataset, class_id) for class_id in dataset.vehicle_classes}
    rigs = {rig_id: rig_lookup(dataset, rig_id) for rig_id in dataset.rigs}
    counts = Counter(text for found in lookups.values() for text in found["texts"])
    shared = {text: at for at, text in enumerate(text for text, count in counts.items() if count >= SHARED_BY)}
    # A page that is open while the pages are renewed on the server must not reckon with tables of other records.
    of = {"data": _records_tag(dataset)}
    yield WORDS_PATH, _script("setWords", shared_words(dataset) | of | {"texts": list(shared)})
    for class_id, found in lookups.items():
        yield (
            class_path(class_id),
            _script("add", {**of, **found, "texts": [shared.get(text, text) for text in found["texts"]]}),
        )
    for rig_id, found in rigs.items():
        yield rig_path(rig_id), _script("addRig", of | found)


def _records_tag(dataset: Dataset) -> str:
    """Return what tells these records from all others."""
    digests = "".join(folder.digest for folder in dataset.folders)
    return hashlib.sha256(f"{dataset.version} {digests}".encode()).hexdigest()[:12]


def _script(call: str, data: Mapping[str, Any]) -> str:
    """Return a script that hands data over. A script of its own: nothing in it needs to be escaped for HTML."""
    text = json.dumps(data, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return f"rangeferry.{call}({text});\n"


def shared_words(dataset: Dataset) -> dict[str, Any]:
    """Return what every answer may need: the steps of the inputs, the sentences, the rules of place and vehicle."""
    return {
        "data_version": dataset.version,
        "sentences": SENTENCES,
        "ambient_steps_f": list(AMBIENT_STEPS_F),
        "altitude_steps_ft": list(ALTITUDE_STEPS_FT),
        "speed_steps_mph": [None if speed is None else int(speed) for speed in SPEED_STEPS_MPH],
        "packs": list(PACK_STATES),
        "places": list(PLACES),
        "needs": list(NEEDS),
        "more_parts": list(MORE_PARTS),
        "factor_step": 1 + STEP,
        "never_steps": NEVER_STEPS,
        "chances": list(CHANCES),
        "chance_shares": list(CHANCE_SHARES),
        "handshake_s": handshake_s(dataset),
        "usual_stay_min": USUAL_STAY_MIN,
        "menu_min": list(MENU_MIN),
        "dash_rounding": DASH_ROUNDING_PERCENT,
        "dash_miles": [DASH_MILES_LOW, DASH_MILES_HIGH],
        "dash_words": {word: [*ends, DASH_SAID[word]] for word, ends in DASH_WORDS.items()},
        "default_reserve": DEFAULT_RESERVE_PERCENT,
        "charger_reserve": [CHARGER_RESERVE_PERCENT, CHARGER_RESERVE_MI],
        "last_ordinary": LAST_ORDINARY_PERCENT,
        "slower_mph": [int(speed) for speed in SLOWER_MPH],
        "ft_per_m": FT_PER_M,
        "litres_per_gallon": LITRES_PER_GALLON,
        "shoulder_cap_min": SHOULDER_CAP_MIN,
        "shoulder_source": SHOULDER_SOURCE,
        "tow_hook_min": TOW_HOOK_MIN,
        "tow_mph": TOW_MPH,
        "tow_factor": TOW_FACTOR,
        "minute_steps": list(map(list, MINUTE_STEPS)),
        "most_shown_min": MOST_SHOWN_MIN,
        "long_stay_min": LONG_STAY_MIN,
        "cold_wait_min": COLD_WAIT_MIN,
        "cold_wait_airs": sum(celsius_from_fahrenheit(step) < COLD_WAIT_BELOW_C for step in AMBIENT_STEPS_F),
        "nothing_to_do": sorted(NOTHING_TO_DO),
        "common_practice": COMMON_PRACTICE,
        "better_fuel": "{fuel}, also on board, does more here: choose it above.",
        "charger_name": f"The {GOAL_WORDS['fast_charger']}",
        "cold_source": "method page",
        "airs": [temperature(celsius_from_fahrenheit(ambient_f)) for ambient_f in AMBIENT_STEPS_F],
        "charger_out": CHARGER_OUT_TEXT["charger_does_not_fit"],
        "no_current_abort": NO_CURRENT_ABORT.text,
        "too_short_ask": TOO_SHORT_ASK.question,
        **{
            name: {"code": item.code, "text": item.text, "source": item.source}
            for name, item in (("has_fuel", HAS_FUEL), ("fuel_first", fuel_first()), ("cabin_off", CABIN_OFF))
        },
        **{
            name: {"question": ask.question, "code": ask.code}
            for name, ask in (
                ("met_ask", MET_ASK),
                ("fuel_ask", FUEL_ASK),
                ("which_port_ask", WHICH_PORT_ASK),
                ("charger_ask", CHARGER_ASK),
                ("not_sure_ask", NOT_SURE_ASK),
            )
        },
        **{
            name: {"code": item.code, "text": item.text, "source": item.source, "level": item.level}
            for name, item in (
                ("dead_caution", DEAD_CAUTION),
                ("long_stay_caution", LONG_STAY_CAUTION),
                ("cold_wait_caution", COLD_WAIT_CAUTION),
                ("last_percents_caution", LAST_PERCENTS_CAUTION),
            )
        },
        "place": _place_tables(),
        **_condition_tables(),
        "sources": sorted(dataset.sources),
        "ladder_groups": {kind: ladder_group(kind) for kind in get_args(LinkKind)},
        "rules": [
            {
                "code": rule.code,
                "level": rule.level,
                "subject": rule.subject,
                "text": rule.text,
                "remedy": rule.remedy,
                "source": rule.source,
                "question": rule.question,
                "minutes": None if rule.minutes is None else rule.minutes.removesuffix("_min"),
                "bring": list(rule.bring),
                "give_up": rule.give_up,
                "step": TRY_STEPS.get(rule.code, "") if rule.level == "try" else "",
            }
            for rule in rules_in_order()
        ],
        "verdicts": VERDICT_WORDS,
        "kept": {kept: "" if kept == "on_board" else f" ({words})" for kept, words in KEPT_WORDS.items()},
        "adapters": {adapter.id: adapter.name for adapter in dataset.adapters.values()},
        "connectors": {connector.id: connector.name for connector in dataset.connectors.values()},
        "inlets": {inlet.id: [inlet.name, inlet.ac_part] for inlet in dataset.inlets.values()},
        "rigs": {rig.id: rig.name for rig in dataset.rigs.values()},
        "bodies": {body: words[0] for body, words in BODY_WORDS.items()},
        "built": {word: list(years) for word, years in BUILT_WORDS.items()},
        "batteries": {word: [low, min(high, 1e6)] for word, (low, high) in BATTERY_WORDS.items()},
        "classes": {vehicle.id: _class_words(dataset, vehicle) for vehicle in dataset.vehicle_classes.values()},
    }


def _class_words(dataset: Dataset, vehicle: VehicleClass) -> list[Any]:
    """Return what is known of a class before its table is loaded: by what it is found, and by what it may be told."""
    battery = vehicle.battery.energy_usable_kwh
    return [
        vehicle.name,
        vehicle.body,
        [port.inlet for port in vehicle.ports],
        vehicle.built_from,
        vehicle.built_to or 9999,
        battery.low,
        battery.high,
        int(vehicle.engine),
        list(vehicle.also_called),
        [inlet or "" for inlet in inlet_cases(dataset, vehicle, KnownOfVehicle())],
        list(vehicle.recognize),
        vehicle.tell_tale or "",
    ]


def _place_tables() -> dict[str, dict[str, list[str]]]:
    """Return the codes of the rules that each answer about the place meets, by the answers they depend on."""
    kinds: dict[str, PlaceKind | None] = {"": None, **{kind: kind for kind in PLACE_KIND_WORDS}}
    traffic, exhaust, permission = {}, {}, {}
    clear: dict[str, Any] = {"openings": "clear", "people": "away", "out_of_traffic": True, "permission": True}
    calm = set(place_codes(Place(kind="open_lot", **clear), engine=True))

    def codes(engine: bool, **known: Any) -> list[str]:
        place = Place(**{**clear, **known})
        return [code for code in place_codes(place, engine=engine) if code not in calm]

    for word_of_kind, kind in kinds.items():
        for word, out in YES_NO.items():
            found = place_codes(Place(**{**clear, "kind": kind, "out_of_traffic": out}), engine=False)
            traffic[f"{word_of_kind}|{word}"] = [code for code in found if code in _TRAFFIC]
        for openings, people in product(("", "clear", "near"), ("", "away", "near")):
            found_list = codes(True, kind=kind, openings=openings or None, people=people or None)
            exhaust[f"{word_of_kind}|{openings}|{people}"] = [code for code in found_list if code not in _TRAFFIC]
        for engine, (word, given), (quiet_word, quiet) in product((False, True), YES_NO.items(), YES_NO.items()):
            found_list = codes(engine, kind=kind, permission=given, quiet_hours=quiet)
            without = codes(engine, kind=kind)
            key = f"{'engine' if engine else ''}|{word_of_kind}|{word}|{quiet_word}"
            permission[key] = [code for code in found_list if code not in without]
    return {"traffic": traffic, "exhaust": exhaust, "permission": permission}


_TRAFFIC = frozenset({"in_traffic", "traffic_not_known", "shoulder"})


def _condition_tables() -> dict[str, Any]:
    """Return the code of the rule that each answer about the vehicle meets."""
    seen = (Condition(crash=True), Condition(water=True), Condition(smoke=True), Condition(warning=True))
    danger = dict(zip(("crash", "water", "smoke", "warning"), map(condition_codes, seen), strict=True))
    danger["unknown"] = condition_codes(Condition(danger_unknown=True))
    ports = get_args(get_args(Condition.__annotations__["port"])[0])
    return {
        "danger": {name: codes[0] for name, codes in danger.items()},
        "port": {port: "".join(condition_codes(Condition(port=port))) for port in ports},
        "key": {key: "".join(condition_codes(Condition(key=key))) for key in ("here", "away", "none")},
        "twelve_volt": {word: _battery_code(Condition(twelve_volt=word), dark=False) for word in ("flat", "good")},
        "dark_dash": _battery_code(Condition(), dark=True),
    }


def _battery_code(condition: Condition, *, dark: bool) -> str:
    """Return the code of the rule that what is known of the 12 V battery meets; empty for none."""
    found = condition_rulings(condition, dash_dead=dark, start_percent=50, parked_h=None)
    return "".join(ruling.code for ruling in found)
