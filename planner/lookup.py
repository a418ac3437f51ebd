"""What the call page looks up, a class and a rig at a time: whole numbers, and constants to multiply them with.

Every state that the page's inputs can be put into is an entry. The numbers are those of `answer`; nothing here
computes its own. A page that looks them up, adds, subtracts and divides them agrees with `plan` by construction.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from planner.answer import Answer, Call, Judged, answer, judge, vehicle_state
from planner.chain import (
    CHANGEABLE_ON_SITE,
    Link,
    Refusal,
    cable_code_link,
    coupler_links,
    links,
    source_state,
    tightest,
    told_current_a,
    with_protection,
)
from planner.charge import ChargeTable
from planner.factors import MORE_PARTS, Factor, in_steps, mean_factors, rate_factors
from planner.figures import amps, kilowatts, rounded_down, temperature
from planner.journey import Air, Road, label_wh_per_10_miles, road_energy, road_factors, road_ratios
from planner.mating import Path, RefusedPath, takes_ac
from planner.pack import WARM_C
from planner.plan_types import OtherPath
from planner.planning import changes_of, other_paths, other_port, setting_step, which_port
from planner.protection import findings
from planner.reach import reach_m
from planner.records import Dataset, FuelKind, GeneratorSource, Rig, SiteOutletSource, StoredSource, VehicleClass
from planner.roadside import (
    COLD_AIR_C,
    abort_of_rig,
    cautions,
    may_frost,
    nothing_happens,
    step_parts,
    watch,
    watch_hertz,
)
from planner.samples import order_statistic
from planner.trip import ToPercent
from planner.units import FT_PER_M, celsius_from_fahrenheit, fahrenheit_from_celsius
from planner.wording import SENTENCES

__all__ = [
    "ALTITUDE_STEPS_FT",
    "AMBIENT_STEPS_F",
    "CHANCES",
    "CHANCE_SHARES",
    "PACK_STATES",
    "PLACES",
    "SPEED_STEPS_MPH",
    "class_lookup",
    "rig_lookup",
]

# The steps of the page's inputs. A height is "at least": it is rounded up to a step.
ALTITUDE_STEPS_FT = tuple(range(0, 10_001, 1000))
AMBIENT_STEPS_F = tuple(range(-30, 111, 10))
SPEED_STEPS_MPH: tuple[float | None, ...] = (None, 35.0, 45.0, 55.0, 65.0, 75.0)
# How warm a pack is, as a page asks it: minutes driven and hours parked, None where it is not known.
PACK_STATES: dict[str, tuple[float | None, float | None]] = {
    "unknown": (None, None),
    "warm": (30.0, 1.0),
    "soaked": (0.0, 24.0),
}
# In the cold a band turns from step to step; in mild air those between take the mean of both.
BAND_STEPS_F = frozenset((*range(-30, 41, 10), 50, 70, 90, 110))
TRIPLE = ("p10", "p90", "reached")  # of the factors, need by need
PLACES = ("table", "cold", "factors")  # columns of the rates that are places in other lists
CHANCES = tuple(range(10, 100, 10))  # percent of the cases
CHANCE_SHARES = tuple(range(0, 71, 10))  # hundredths of the energy that the cabin takes
Factors = tuple[Factor, ...]
# Ways that are refused because a better one stands beside them, or that no one would try.
_OF_NO_USE = frozenset({"adapter_not_needed", "adapter_takes_another_connector"})
_CLI_HINT = "; say so with --port "


@dataclass(slots=True)
class _Listed:
    """Things listed once each, with their place by what they are."""

    items: list[Any] = field(default_factory=list)
    places: dict[Any, int] = field(default_factory=dict)

    def place(self, key: Any, item: Any) -> int:
        """Return where an item is listed, after adding it where it is new. Lists and dicts stand under their `repr`."""
        found = self.places.get(key)
        if found is None:
            found = self.places[key] = len(self.items)
            self.items.append(item)
        return found

    def text(self, text: str) -> int:
        """Return where a text is listed."""
        return self.place(text, text)


@dataclass(frozen=True, slots=True)
class _Made:
    """What has been listed for a class so far."""

    texts: _Listed = field(default_factory=_Listed)
    paths: _Listed = field(default_factory=_Listed)
    sheets: _Listed = field(default_factory=_Listed)
    rates: _Listed = field(default_factory=_Listed)
    tables: _Listed = field(default_factory=_Listed)
    cold: _Listed = field(default_factory=_Listed)
    factors: _Listed = field(default_factory=_Listed)
    steps: dict[tuple[Any, ...], dict[str, Any]] = field(default_factory=dict)
    factors_at: dict[tuple[Any, ...], Factors | None] = field(default_factory=dict)
    highest: dict[tuple[Any, ...], list[int]] = field(default_factory=dict)


# ---------------------------------------------------------------------------------------------------------- a class


def class_lookup(dataset: Dataset, class_id: str) -> dict[str, Any]:
    """Return what the page needs to answer any call for one class.

    For each rig and each port the vehicle may be said to have (`""`: not said): `grid[port][pack][fuel]` holds, height
    by height and air by air, an index into `outcomes`; of a known pack as what it is more than of an unknown one. An
    outcome is a refusal, or a mark with an index into `ways`, which has the rate by pack and air, and into `sheets`. A
    rate names a table of seconds and of watt-hours at the inlet from 0 to 100 %, whole numbers written by `_by_slope`,
    and a cold start. Texts stand in `texts`.
    """
    vehicle = dataset.vehicle_class(class_id)
    made = _Made()
    inlets: list[str | None] = [None]
    if len(vehicle.ports) > 1:
        inlets += [port.inlet for port in vehicle.ports]
    rigs = {rig.id: _rig_of_class(dataset, rig, vehicle, inlets, made) for rig in dataset.rigs.values()}
    return {
        "class": class_id,
        "name": vehicle.name,
        "engine": vehicle.engine,
        "cabin": vehicle.cabin.size_factor > 0,
        "energy_kwh": vehicle.energy_now_kwh,
        "battery_wh": _by_slope([round(vehicle.energy_now_kwh * 10 * percent) for percent in range(101)]),
        "label_wh": label_wh_per_10_miles(vehicle),
        "road": _road_lookup(dataset, vehicle),
        "rigs": rigs,
        "rates": _columns(made.rates.items),
        "tables": made.tables.items,
        "cold": made.cold.items,
        "factors": _by_need([needs for needs, _ in made.factors.items], len(TRIPLE)),
        "shaped": [int(bool(shape)) for _, shape in made.factors.items],
        "shapes": _by_need([shape for _, shape in made.factors.items if shape], len(MORE_PARTS)),
        "paths": made.paths.items,
        "sheets": made.sheets.items,
        "texts": made.texts.items,
        "packs": _packs(vehicle),
    }


def _by_need(rows: Sequence[Sequence[int]], size: int) -> list[list[int]]:
    """Return rows as columns, so many a need, each but those of the first as what it is more than a need before."""
    return [
        [row[at] - (row[at - size] if at >= size else 0) for row in rows] for at in range(len(rows[0]) if rows else 0)
    ]


def _packs(vehicle: VehicleClass) -> dict[str, Any]:
    """Return how warm the pack is by what is known of it, and the kilowatts of the cabin, at each step of the air."""
    found: dict[str, Any] = {}
    for pack, (drove_min, parked_h) in PACK_STATES.items():
        states = [
            vehicle_state(
                vehicle,
                Call("", vehicle.id, 0, ToPercent(0), drove_min=drove_min, parked_h=parked_h),
                ambient_c=celsius_from_fahrenheit(ambient_f),
            )
            for ambient_f in AMBIENT_STEPS_F
            if celsius_from_fahrenheit(ambient_f) < COLD_AIR_C
        ]
        found[pack] = [temperature(state.pack_c) for state in states]
        found["cabin_kw"] = [f"{state.cabin_kw:.1f}" for state in states]
    return found


def _columns(rows: Sequence[dict[str, Any]]) -> dict[str, list[Any]]:
    """Return a list of like rows as columns: names stand once, and alike values beside each other.

    A column of places in another list is written as differences.
    """
    if not rows:
        return {}
    found = {name: [row[name] for row in rows] for name in rows[0]}
    return found | {name: _differences(found[name]) for name in PLACES}


def _road_lookup(dataset: Dataset, vehicle: VehicleClass) -> dict[str, Any]:
    """Return watt-hours for ten miles: driving by speed, height and air, cabin by speed and air; and the factors."""
    drive, cabin, largest = [], [], 0
    for speed_mph in SPEED_STEPS_MPH:
        road = Road(speed_mph)
        found = [
            [
                road_energy(dataset, vehicle, road, Air(celsius_from_fahrenheit(ambient_f), altitude_ft / FT_PER_M))
                for ambient_f in AMBIENT_STEPS_F
            ]
            for altitude_ft in ALTITUDE_STEPS_FT
        ]
        drive.append(_in_two_ways([[item.drive_wh for item in row] for row in found]))
        cabin.append([item.cabin_wh for item in found[0]])
        largest = max(largest, *(item.cabin_share for row in found for item in row))
    shares = [road_factors(dataset, vehicle, share) for share in range(largest + 1)]
    return {
        "drive_wh": drive,
        "cabin_wh": cabin,
        "climb_wh_per_100ft": road_energy(dataset, vehicle, Road(), Air(0.0, 0.0)).climb_wh_per_100ft,
        "percent_permille": _differences([percent for percent, _ in shares]),
        "miles_permille": _differences([miles for _, miles in shares]),
        "chance_permille": [_chances(vehicle, share) for share in CHANCE_SHARES if share < largest + 10],
    }


def _chances(vehicle: VehicleClass, share: int) -> list[int]:
    """Return what the road takes at most over the typical in so many of 100 cases, in thousandths, rounded up."""
    ratios = sorted(road_ratios(vehicle, share, by_percent=True))
    return [math.ceil(1000 * order_statistic(ratios, chance / 100)) for chance in CHANCES]


def _in_two_ways(rows: Sequence[Sequence[int]]) -> list[int]:
    """Return a grid as the differences of its rows from the one before, each then as differences along the row."""
    before = [0] * len(rows[0])
    found: list[int] = []
    for row in rows:
        found += _differences([value - above for value, above in zip(row, before, strict=True)])
        before = list(row)
    return found


def _rig_of_class(
    dataset: Dataset, rig: Rig, vehicle: VehicleClass, inlets: Sequence[str | None], made: _Made
) -> dict[str, Any]:
    outcomes, ways = _Listed(), _Listed()
    grid: dict[str, dict[str, dict[str, list[int]]]] = {}
    refused: dict[str, list[int]] = {}
    # By air, pack and what the heights before came to: most heights allow the same, and are answered once.
    known: dict[Any, int] = {}
    for inlet in inlets:
        key = inlet or ""
        grid[key] = {pack: {} for pack in PACK_STATES}
        for fuel in _fuels(rig):
            judged: list[Judged] = []  # cell by cell, whatever the pack
            came_to: list[Any] = []
            for pack, (drove_min, parked_h) in PACK_STATES.items():
                cells: list[int] = []
                for altitude_ft in ALTITUDE_STEPS_FT:
                    for ambient_f in AMBIENT_STEPS_F:
                        at, ambient_c = len(cells), celsius_from_fahrenheit(ambient_f)
                        if pack != "unknown":
                            if ambient_c >= WARM_C:
                                cells.append(grid[key]["unknown"][fuel or "none"][at])
                                continue
                            if (ambient_f, pack, came_to[at]) in known:
                                cells.append(known[ambient_f, pack, came_to[at]])
                                continue
                        call = Call(
                            rig.id,
                            vehicle.id,
                            0,
                            ToPercent(0),
                            ambient_c=ambient_c,
                            altitude_m=altitude_ft / FT_PER_M,
                            fuel=fuel,
                            drove_min=drove_min,
                            parked_h=parked_h,
                            inlet=inlet,
                        )
                        if pack == "unknown":
                            # Height is a matter of engines alone.
                            engine = isinstance(rig.source, GeneratorSource)
                            again = at >= len(AMBIENT_STEPS_F) and not engine
                            judged.append(judged[at - len(AMBIENT_STEPS_F)] if again else judge(dataset, call))
                            said = judged[at].port_open, takes_ac(dataset, vehicle, inlet)
                            came_to.append((fuel, *_chosen(said, judged[at])))
                        if key not in refused:
                            refused[key] = _refused(judged[at].refused_paths, made.texts)
                        where = (ambient_f, pack, came_to[at])
                        if where not in known:
                            found = answer(dataset, call, judged[at])
                            known[where] = _outcome(dataset, call, found, where, outcomes, ways, made)
                        cells.append(known[where])
                grid[key][pack][fuel or "none"] = cells
    for packs in grid.values():
        usual = packs["unknown"]
        for pack in PACK_STATES:
            if pack != "unknown":
                packs[pack] = {
                    fuel: [cell - first for cell, first in zip(cells, usual[fuel], strict=True)]
                    for fuel, cells in packs[pack].items()
                }
    return {
        "grid": grid,
        "outcomes": outcomes.items,
        "ways": [_differences(way) for way in ways.items],
        "refused": refused,
    }


def _chosen(said: tuple[bool, bool], found: Judged) -> tuple[Any, ...]:
    """Return all that height, fuel and port decide of an answer: the ways, what each allows, and what is not fit.

    `said` is whether the answer hangs on which port it has, and whether the call says so.
    """
    path, setting = found.path, found.setting
    ways = tuple((way.connector, way.adapter, way.inlet, way.mark, way.text) for way in other_paths(found))
    way = (
        None
        if path is None
        else (
            path.connector.id,
            path.adapter and path.adapter.id,
            path.inlet.id,
            path.port.share,
            path.kept,
            path.cable.length_m,
        )
    )
    if setting is None:
        return (said, way, ways, None if found.refusal is None else found.refusal.text)
    set_by = setting.set_by_link
    return (said, way, ways, setting.mark, setting.allowed_a, set_by.link, set_by.id, may_frost(found.state))


def _fuels(rig: Rig) -> list[FuelKind | None]:
    return list(rig.source.fuels) if isinstance(rig.source, GeneratorSource) else [None]


def _refused(found: Sequence[RefusedPath], texts: _Listed) -> list[int]:
    told = dict.fromkeys(path.text for path in found if path.code not in _OF_NO_USE)
    return [texts.text(text) for text in told]


def _outcome(
    dataset: Dataset, call: Call, found: Answer, where: tuple[Any, ...], outcomes: _Listed, ways: _Listed, made: _Made
) -> int:
    """Return the place of what this state comes to, in the list of the rig's outcomes."""
    texts = made.texts
    other = [
        [
            texts.text(" > ".join(part for part in (way.connector_name, way.adapter_name, way.inlet_name) if part)),
            way.mark,
            way.output_a if way.mark is not None else _why_not(found, way, texts),
        ]
        for way in other_paths(found)
    ]
    item: dict[str, Any]
    if found.refusal is not None:
        refusal = found.refusal
        stops = [
            [stop.code, texts.text(f"{stop.text} {stop.remedy}"), texts.text(f"{stop.edition}, {stop.clause}")]
            for stop in found.findings
            if stop.level == "stop" and stop.text != refusal.text
        ]
        text, set_by = _refusal_text(found, refusal)
        item = {"refused": refusal.code, "text": texts.text(text), "source": texts.text(refusal.source)}
        if set_by is not None:
            item["set_by"] = set_by
        if stops:
            item["stops"] = stops
        if found.path is not None:
            item["path"] = _path(dataset, call, found, found.path, made)
        if found.setting is not None:  # refused for what reaches the battery: the charger is a rung all the same
            item["charger"] = _link(found.chain[-1], texts)
    else:
        item = _served(dataset, call, found, where, ways, made)
    if other:
        item["other"] = other
    return outcomes.place(repr(item), item)


def _why_not(found: Answer, way: OtherPath, texts: _Listed) -> int:
    """Return the place of why another way does not serve; -1 where it is what refuses the first one too."""
    return -1 if found.refusal is not None and way.text == found.refusal.text else texts.text(way.text)


# What no mark is low enough for: the words hang on the link that allows the least, and that on height and air.
_BY_THE_LADDER = frozenset({"below_6_a", "no_setting_low_enough", "setting_too_high"})


def _refusal_text(found: Answer, refusal: Refusal) -> tuple[str, int | None]:
    """Return why a setting is refused, with blanks for what a page reads off the ladder, and the link that it is of."""
    text = f"{refusal.text} {refusal.remedy}"
    if refusal.code not in _BY_THE_LADDER or not found.chain:
        return text, None
    link = tightest(found.chain)
    words = {
        "{basis}": link.basis,
        "{link}": link.name,
        "{less}": amps(found.rig.evse.standing.output_a - link.limit_a),
        "{allowed}": amps(link.limit_a),
    }
    for blank, said in words.items():
        text = text.replace(said, blank)
    return text, found.chain.index(link)


def _served(
    dataset: Dataset, call: Call, found: Answer, where: tuple[Any, ...], ways: _Listed, made: _Made
) -> dict[str, Any]:
    setting, path = found.setting, found.path
    assert setting is not None
    assert path is not None
    told_a = told_current_a(path, setting.output_a)
    ambient_f, pack = where[:2]
    # Another cable of the rig has another resistance, and may tell the vehicle another current.
    way = (setting.output_a, path.connector.id, path.cable.length_m, path.cable.code_a)
    at = ways.place(way, [-1] * (len(PACK_STATES) * len(AMBIENT_STEPS_F)))
    key = (call.rig, ambient_f, pack, *way)
    if key not in made.rates.places:
        made.rates.place(key, _rate(dataset, call, found, key, made))
    cell = list(PACK_STATES).index(pack) * len(AMBIENT_STEPS_F) + AMBIENT_STEPS_F.index(ambient_f)
    ways.items[at][cell] = made.rates.places[key]
    item: dict[str, Any] = {
        "mark": setting.mark,
        "output_a": setting.output_a,
        "way": at,
        "path": _path(dataset, call, found, path, made),
        "sheet": _sheet(call, found, made),
        "set_by": next(at for at, link in enumerate(found.chain) if link is setting.set_by_link),
    }
    highest = _highest(found)
    if highest != made.highest[key]:  # what the source allows here bounds what the meter may show
        item["watch"] = highest
    if told_a != setting.output_a:
        item["told_a"] = told_a
    for name, on in (
        ("moved", setting.must_be_moved),
        ("cabin_off", found.cabin_must_be_off),
        ("this_class_only", setting.stop_above_a is not None),
    ):
        if on:
            item[name] = 1
    if found.port_open:
        item["ask"] = made.texts.text(which_port(dataset, found).text)
    other = next((reason.text for reason in changes_of(found) if reason.code == "other_port"), None)
    if other is not None:
        item["other_port"] = made.texts.text(other.split(_CLI_HINT)[0] + ".")
    return item


def _highest(found: Answer) -> list[int]:
    """Return the highest that the meter should show, and where to stop: amps, then kilowatts."""
    lines = {line.what: line for line in watch(found)}
    current, power = lines["current at the meter"], lines["power at the meter"]
    return [_tenths(value) for value in (current.high, current.stop_above, power.high, power.stop_above)]


def _tenths(value: float | None) -> int:
    """Return a value in whole tenths, rounded down as it is shown."""
    return 0 if value is None else round(10 * rounded_down(value))


def _path(dataset: Dataset, call: Call, found: Answer, path: Path, made: _Made) -> int:
    """Return the place of a way: its parts, where the port sits, and the links behind the connector."""
    known = made.paths.places.get(path)
    if known is not None:
        return known
    cables = [one.evse.cable for one in dataset.rig(call.rig).by_cable]
    cable = next(at for at, one in enumerate(cables) if one is path.cable)
    code = cable_code_link(path.connector, path.adapter, path.cable)
    texts = made.texts
    item = {
        "connector": path.connector.id,
        "adapter": path.adapter.id if path.adapter is not None else None,
        "inlet": path.inlet.id,
        "kept": path.kept,
        "port": texts.text(path.port.place_words),
        "ladder": _ladder_key(cable, found.vehicle.onboard_charger.power_factor, _coded(path)),
        "links": [_link(link, texts) for link in coupler_links(path)],
        "code": None if code is None else _link(code, texts),
        "reach_m": reach_m(path.cable.length_m),
    }
    place = made.paths.places[path] = made.paths.place(repr(item), item)
    return place


def _coded(path: Path) -> bool:
    return path.adapter is not None and path.cable.code_a is not None


def _ladder_key(cable: int, power_factor: float, coded: bool) -> str:
    """Return by what a rig's own links differ: its cable, the power factor of the vehicle, a coded cable's adapter."""
    return f"{cable} {power_factor:g}{' coded' if coded else ''}"


def _link(link: Link, texts: _Listed) -> list[Any]:
    """Return a link as a list: kind, name, rating, limit, basis, source, and 0 where nothing protects it."""
    return [
        link.link,
        texts.text(link.name),
        link.rating_a,
        link.limit_a,
        texts.text(link.basis),
        texts.text(link.source),
        int(link.protected),
    ]


def _sheet(call: Call, found: Answer, made: _Made) -> int:
    """Return the place of what crew and dispatcher read, as far as no length of a charge changes it."""
    texts = made.texts
    setting = setting_step(found)
    assert setting is not None

    def placed(several: Iterable[str]) -> list[int]:
        return [texts.text(text) for text in several]

    # Most heights and airs have the same way at the same mark, beside the same others: its steps are written once.
    port = other_port(found)
    others = tuple([(way.path, getattr(way.chosen, "mark", None)) for way in found.other_paths])
    key = (found.path, setting.steps, setting.read_back_a, setting.start_mark, port, others)
    steps = made.steps.get(key)
    if steps is None:
        parts = step_parts(found, setting, other_port=port)
        steps = made.steps[key] = {
            "fetched": placed(parts.fetched),
            "arrival": placed(parts.arrival),
            "supply": placed(parts.supply),
            "plug_in": placed(parts.plug_in),
            "again": texts.text(parts.again),
            "end": placed(parts.end),
            "turn": placed(setting.steps),
            "start_mark": setting.start_mark,
            "nothing": placed(nothing_happens(found)),
        }
    item = {
        **steps,
        # Words that hang on the air alone are put in by the page: the same sheet then holds in any.
        "cautions": [
            [
                item.code,
                item.level,
                texts.text(SENTENCES[item.code] if item.code == "propane_cold" else item.text),
                texts.text(item.source),
            ]
            for item in cautions(call, found, None, changes_of(found), None)
            if item.code != "cold_vehicle"
        ],
    }
    return made.sheets.place(repr(item), item)


def _rate(dataset: Dataset, call: Call, found: Answer, key: tuple[Any, ...], made: _Made) -> dict[str, Any]:
    rate, table = found.rate, found.table
    assert rate is not None
    assert table is not None
    cold, in_vehicle = table.cold, found.vehicle_state
    lines = {line.what: line for line in watch(found)}
    evse, car = lines["volts at the EVSE"], lines["power the car shows"]
    charger = found.chain[-1]
    at_cold = -1
    if cold is not None:
        at_cold = made.cold.place(
            (cold.seconds, cold.inlet_wh, cold.offset_s, cold.offset_wh),
            {
                "seconds": _differences(cold.seconds),
                "inlet_wh": _differences(cold.inlet_wh),
                "offset_s": cold.offset_s,
                "offset_wh": cold.offset_wh,
            },
        )
    made.highest[key] = _highest(found)
    assert evse.stop_below is not None
    assert evse.stop_above is not None
    cabin_kw = 0.0 if found.cabin_must_be_off else in_vehicle.cabin_kw
    return {
        "table": _table(table, made),
        "cold": at_cold,
        "factors": _factors(dataset, call, found, key, made),
        "source_w": rate.power_source_w,
        "meter_ppm": rate.meter_ppm,
        "over_meter_ppm": rate.source_ppm - rate.meter_ppm,
        "battery_w": math.floor(1000 * rate.power_battery_kw),
        "label_mi": found.miles_added_per_hour_label_mi,
        # As they are shown: tenths of an amp, hundredths of a kilowatt, whole volts.
        "current": _tenths(rate.current_a),
        "power_meter": _hundredths_kw(rate.power_meter_kw),
        "volts_evse": round(rate.voltage_evse_v),
        "volts_inlet": round(rate.voltage_inlet_v),
        "highest": made.highest[key],
        "lowest": [
            _tenths(lines["current at the meter"].low),
            _tenths(lines["power at the meter"].low),
            _tenths(evse.low),
            _tenths(car.low),
        ],
        "volts": [
            _tenths(evse.high),
            round(evse.stop_below),
            _tenths(evse.stop_above),
            math.ceil(evse.stop_below - 1e-9),
            math.floor(evse.stop_above + 1e-9),
        ],
        "power_inlet": _tenths(car.high),
        "charger": [math.floor(1000 * rate.vehicle_limit_a + 1e-6) / 1000, made.texts.text(charger.basis)],
        "crawls": _hundredths_kw(rate.power_battery_kw) if rate.cold.crawls else 0,
        "warm_min": math.ceil(60 * rate.cold.hours_h) if rate.cold.steps else 0,
        "cabin_share": math.ceil(100 * cabin_kw / (rate.power_inlet_kw or 1)),
    }


def _table(table: ChargeTable, made: _Made) -> int:
    """Return the place of a table of seconds and watt-hours; how it begins in the cold is no part of it."""
    warm = replace(table, cold=None)
    place = made.tables.places.get(warm)
    if place is None:
        seconds, inlet_wh = table.seconds, tuple([table.inlet_wh_at(percent) for percent in range(101)])
        place = made.tables.places.get((seconds, inlet_wh))
        if place is None:
            item = {"seconds": _by_slope(seconds), "inlet_wh": _by_slope(inlet_wh)}
            place = made.tables.place((seconds, inlet_wh), item)
        made.tables.places[warm] = place
    return place


def _hundredths_kw(power_kw: float) -> int:
    """Return kilowatts in hundredths as they are shown: in tenths from 1 kW on, rounded down."""
    return round(100 * float(kilowatts(power_kw).split()[0]))


def _factors(dataset: Dataset, call: Call, found: Answer, key: tuple[Any, ...], made: _Made) -> int:
    """Return the place of the band factors of a rate: of its own, or in mild air the mean of both beside.

    With them stands their shape; none where a smooth curve is as good.
    """
    ambient_f = key[1]
    if ambient_f in BAND_STEPS_F:
        own = _factors_at(dataset, call, found, key, made)
    else:
        beside = [ambient_f - 10, ambient_f + 10]
        parts = [_factors_at(dataset, call, None, (key[0], step_f, *key[2:]), made) for step_f in beside]
        known = [part for part in parts if part is not None]
        own = mean_factors(known) if len(known) == len(beside) else _factors_at(dataset, call, found, key, made)
    assert own is not None
    needs, shape = map(tuple, in_steps(own))
    return made.factors.place((needs, shape), (needs, shape))


def _factors_at(
    dataset: Dataset, call: Call, found: Answer | None, key: tuple[Any, ...], made: _Made
) -> Factors | None:
    """Return the band factors at one step of the air; None where the same mark does not serve there by the same way."""
    if key not in made.factors_at:
        if found is None:
            call = replace(call, ambient_c=celsius_from_fahrenheit(key[1]))
            found = answer(dataset, call)
            path, setting = found.path, found.setting
            same = (
                found.refusal is None
                and path is not None
                and setting is not None
                and (setting.output_a, path.connector.id, path.cable.length_m, path.cable.code_a) == key[3:]
            )
            found = found if same else None
        made.factors_at[key] = None if found is None else rate_factors(call, found)
    return made.factors_at[key]


# ------------------------------------------------------------------------------------------------------------ a rig


def rig_lookup(dataset: Dataset, rig_id: str) -> dict[str, Any]:
    """Return what the page needs of a rig, whatever it charges: its links by height and air, its energy, its marks.

    `ladders` is by what a rig's own links differ (`_ladder_key`), then by fuel: height by height and air by air an
    index into `chains`, and those hold indices into `links`.
    """
    rig = dataset.rig(rig_id)
    source, texts, rung, chain = rig.source, _Listed(), _Listed(), _Listed()
    coded = any(cable.code_a is not None for cable in (rig.evse.cable, *rig.evse.other_cables))
    factors = sorted({vehicle.onboard_charger.power_factor for vehicle in dataset.vehicle_classes.values()})
    # With a coded cable it tells that there is an adapter, not which one.
    coded_adapter = next(iter(dataset.adapters.values()), None) if coded else None
    ladders: dict[str, dict[str, list[int]]] = {}
    derated: dict[str, list[float | None]] = {}
    for fuel in _fuels(rig):
        states = [
            (
                celsius_from_fahrenheit(ambient_f),
                altitude_ft / FT_PER_M,
                source_state(
                    rig, altitude_m=altitude_ft / FT_PER_M, ambient_c=celsius_from_fahrenheit(ambient_f), fuel=fuel
                ),
            )
            for altitude_ft in ALTITUDE_STEPS_FT
            for ambient_f in AMBIENT_STEPS_F
        ]
        if not isinstance(source, SiteOutletSource):
            derated[fuel or "none"] = [state.power_derated_w for _, _, state in states]
        for cable, variant in enumerate(rig.by_cable):
            for power_factor in factors:
                for adapter in (None,) if coded_adapter is None else (None, coded_adapter):
                    cells = []
                    for ambient_c, altitude_m, state in states:
                        own = links(
                            dataset,
                            variant,
                            state,
                            ambient_c=ambient_c,
                            altitude_m=altitude_m,
                            power_factor=power_factor,
                            adapter=adapter,
                        )
                        found = findings(dataset, rig, ambient_c=ambient_c)
                        items = [_link(link, texts) for link in with_protection(tuple(own), found)]
                        places = [rung.place(tuple(item), item) for item in items]
                        cells.append(chain.place(tuple(places), places))
                    ladders.setdefault(_ladder_key(cable, power_factor, adapter is not None), {})[fuel or "none"] = (
                        cells
                    )
    hertz = watch_hertz(rig)
    evse = rig.evse
    return {
        "rig": rig.id,
        "name": rig.name,
        "engine": source.engine,
        "outlet": isinstance(source, SiteOutletSource),
        "reach_m": reach_m(rig.evse.cable.length_m),
        "default_fuel": source.default_fuel if isinstance(source, GeneratorSource) else "none",
        "usual": [
            _step(AMBIENT_STEPS_F, fahrenheit_from_celsius(rig.usual_site.ambient_c)),
            min(math.ceil(rig.usual_site.altitude_m * FT_PER_M / 1000 - 1e-9), len(ALTITUDE_STEPS_FT) - 1),
        ],
        "marks": [[setting.mark, setting.output_a] for setting in evse.settings],
        "stands": evse.standing.mark,
        "changeable": evse.set_by in CHANGEABLE_ON_SITE,
        "survives": evse.survives_power_cycle,
        "ladders": ladders,
        "links": rung.items,
        "chains": chain.items,
        "derated_w": derated,
        "supply": _supply(dataset, rig),
        "hertz": [
            [_tenths(line.low), _tenths(line.high), round(line.stop_below or 0), _tenths(line.stop_above)]
            for line in hertz
        ],
        "abort": [line.text for line in abort_of_rig(rig)],
        "notes": [
            [item.level, f"{item.text} {item.remedy}", f"{item.edition}, {item.clause}"]
            for item in findings(dataset, rig, ambient_c=rig.usual_site.ambient_c)
            if item.level != "note"
        ],
        "texts": texts.items,
    }


def _step(steps: Sequence[int], value: float) -> int:
    """Return the step nearest to a value."""
    return min(range(len(steps)), key=lambda at: (abs(steps[at] - value), at))


def _supply(dataset: Dataset, rig: Rig) -> dict[str, Any]:
    """Return what the rig's own energy is reckoned by, and the minutes on site besides charging."""
    source, rates = rig.source, dataset.rates
    names = ("park", "warm_up", "handshake", "refuel_stop", "cool_down", "pack_up")
    tries = ("wake_low_voltage", "thaw_port", "open_port", "long_dead")
    minutes = {
        name: [spread.low, spread.typical, spread.high]
        for name in (*names, *tries)
        if (spread := getattr(rates, f"{name}_min"))
    }
    supply: dict[str, Any] = {"other_loads_w": rig.other_loads.power_w, "minutes": minutes}
    if isinstance(source, StoredSource):
        airs_c = [celsius_from_fahrenheit(ambient_f) for ambient_f in AMBIENT_STEPS_F]
        supply["battery"] = {
            "efficiency": source.efficiency,
            "in_air_kwh": [source.energy_usable_kwh * source.share_in_air(air_c).energy_share for air_c in airs_c],
            "floor": source.soc_floor,
            "way_home_kwh": source.way_home_kwh,
            "cold_known": bool(source.in_the_cold),
        }
    elif isinstance(source, GeneratorSource):
        supply["fuels"] = {
            fuel: {
                "no_load_l_per_h": record.burn_line[0],
                "slope_l_per_kwh": record.burn_line[1],
                "tank_l": record.tank_l,
                "spare_l": record.spare_l,
                "keep_l": record.keep_l,
            }
            for fuel, record in source.fuels.items()
        }
    return supply


def _by_slope(cumulative: Sequence[int]) -> list[float]:
    """Return a rising table from 0 on: a slope, the last entry that it gives, and the differences of those beyond it.

    Entry n is the floor of slope x n + 1/2, which is tried here, entry by entry, on the very slope that is published.
    """
    low, high, last = 0.0, math.inf, 0
    for place, value in enumerate(cumulative[1:], 1):
        low_here, high_here = max(low, (value - 0.5) / place), min(high, (value + 0.5) / place)
        if low_here >= high_here:
            break
        low, high, last = low_here, high_here, place
    for digits in range(12):
        slope = round((low + high) / 2, digits)
        if all(math.floor(slope * place + 0.5) == cumulative[place] for place in range(last + 1)):
            return [slope, last, *_differences([0, *cumulative[last:]])[2:]]
    return [0, 0, *_differences(cumulative)[1:]]


def _differences(cumulative: Sequence[int]) -> list[int]:
    """Return the first value and then the steps: whole numbers, so that their sums are exact."""
    return [*cumulative[:1], *(after - before for before, after in pairwise(cumulative))]
