"""What the pages look up: every rig with every class, a rig on its own, and a class's charge tables for a page.

The numbers are those of `plan`; nothing here computes its own. The look-up of a class holds the very integers that
`answer` subtracts, so that a page that subtracts them too agrees by construction.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from planner.answer import Answer, Call, answer, conditions
from planner.battery import power_at_kw
from planner.chain import (
    UNSENSED_ADAPTER_FACTOR,
    Link,
    Refusal,
    SettingChoice,
    SourceState,
    cable_code_link,
    choose_setting,
    derate_by_iso_3046,
    highest_power_factor,
    largest_draw_a,
    small_draw_limit_a,
    source_state,
    with_protection,
)
from planner.charge import loop_resistances_ohm
from planner.figures import amps, temperature, volts
from planner.genset import fuel_used_l
from planner.journey import LABEL_AIR_C, Air, Road, label_wh_per_10_miles, road_energy
from planner.marks import CableMark, cable_marks, own_links, volts_refusal
from planner.mating import never, paths, refusal, refusal_source
from planner.plan_types import Plan
from planner.planning import plan, plan_with_bands
from planner.power import ac_power_kw
from planner.protection import Finding, findings
from planner.records import (
    Adapter,
    Connector,
    Dataset,
    FuelKind,
    GeneratorSource,
    Inlet,
    Rig,
    Setting,
    StoredSource,
    VehicleClass,
)
from planner.trip import Miles, ToPercent
from planner.units import FT_PER_M, celsius_from_fahrenheit

__all__ = [
    "ALTITUDE_STEPS_FT",
    "COMMONEST_CLASSES",
    "USUAL_MILES",
    "USUAL_START_PERCENT",
    "BurnAtLoad",
    "Fitness",
    "HeightBand",
    "HeightShare",
    "NeedMinutes",
    "OnDc",
    "Pair",
    "PlugPair",
    "RigView",
    "RoadView",
    "RoadViews",
    "Stay",
    "allow_minutes",
    "full_miles_mi",
    "on_dc",
    "pair",
    "pairs",
    "places_by_inlet",
    "plug_matrix",
    "rig_view",
    "road_views",
    "stay",
]

Fitness = Literal["fit", "set_first", "change_first", "by_class", "not_fit"]
# What a crew is asked for most, from a dash that shows little: the same three for every class, so that they compare.
USUAL_START_PERCENT = 10
USUAL_MILES = (10, 25, 50)
SMALL_TOP_UP_PERCENT = 10  # judges the pair of rig and class, whatever the battery's size
MILE_STEP = 5
LOAD_STEPS = 4  # a burn at no load, a quarter, half, three quarters and all
# The steps of a page's inputs: every state that can be chosen is an entry.
ALTITUDE_STEPS_FT = tuple(range(0, 10_001, 1000))
# own-judgement: what a roadside crew is called to most. A class that is not in the data is left out, and those that are
# not named fill the table up.
COMMONEST_CLASSES = (
    "midsize-sedan",
    "compact-crossover",
    "midsize-suv",
    "compact-hatch",
    "half-ton-pickup",
    "large-three-row-suv",
    "older-short-range-hatch",
    "plug-in-hybrid-car",
)


@dataclass(frozen=True, slots=True, eq=False)
class NeedMinutes:
    """One usual need: what its plan says, and the minutes where it has some."""

    miles: int
    plan: Plan

    @property
    def minutes_on_site(self) -> int | None:
        """Return typical minutes on site, None where the need is not simply served."""
        served = self.plan.verdict in {"serve", "serve_with_changes"}
        return self.plan.minutes_on_site.typical if served and self.plan.minutes_on_site is not None else None


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """One rig with one class at the rig's usual site: the plan for a small top-up, and the usual needs."""

    rig: str
    vehicle: str
    plan: Plan
    needs: tuple[NeedMinutes, ...]

    @property
    def held_back_by(self) -> Link | None:
        """Return the link that sets the current."""
        return next((link for link in self.plan.chain if link.sets_current), None)


@dataclass(frozen=True, slots=True, eq=False)
class Stay:
    """A charge from `USUAL_START_PERCENT` on: when each percent and each few miles are reached, and the power."""

    percents: tuple[tuple[int, float], ...]  # percent, minutes plugged in
    miles: tuple[tuple[int, float], ...]  # likely miles added, minutes plugged in
    powers_kw: tuple[tuple[float, float], ...]  # percent, power stored


@dataclass(frozen=True, slots=True)
class HeightBand:
    """Heights at which one setting is the highest allowed for any vehicle; without one, `refused` says why.

    Refused as `setting_too_high` may still serve a class that draws little: a fixed unit's one exception.
    """

    from_ft: int
    to_ft: int
    mark: str | None
    output_a: float | None
    refused: str | None


@dataclass(frozen=True, slots=True, eq=False)
class PlugPair:
    """One end that a crew may hold, against one inlet on an AC unit; `code` is None where it goes in."""

    connector: Connector
    adapter: Adapter | None
    inlet: Inlet
    code: str | None
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class HeightShare:
    """What an engine keeps of its running watts at one height: by the common rule that binds, and by ISO 3046-1."""

    height_ft: int
    by_rule: float
    by_iso_3046: float


@dataclass(frozen=True, slots=True)
class BurnAtLoad:
    """What an engine burns at one load: litres an hour, and how long what is on board lasts."""

    load_kw: float
    burn_l_per_h: float
    hours_h: float
    kwh_per_l: float


@dataclass(frozen=True, slots=True, eq=False)
class RigView:
    """A rig on its own on a site, as far as its connector, for the highest power factor of any class."""

    rig: Rig
    ambient_c: float
    altitude_m: float
    fuel: FuelKind | None
    state: SourceState
    findings: tuple[Finding, ...]
    chain: tuple[Link, ...]
    setting: SettingChoice | None
    refusal: Refusal | None
    small_draw_a: float | None  # without a setting for every vehicle: the draw up to which a class is still served
    power_highest_kw: float | None  # at the EVSE, at the setting
    minutes_on_board: Mapping[FuelKind, int]  # how long tank and cans last at the highest load allowed
    energy_to_give_kwh: float | None  # AC out of a battery rig, down to its floor
    by_height: Mapping[str, tuple[HeightBand, ...]]  # fuel (or `battery`) to its bands, rising
    shares: Mapping[FuelKind, tuple[HeightShare, ...]]  # in the air of this site
    share_iso_3046: float | None  # at this height
    power_factor: float  # that the source's amps are reckoned for
    burns: Mapping[FuelKind, tuple[BurnAtLoad, ...]]  # from no load to all that is allowed here
    voltage_evse_v: float | None  # at the setting, from the source's typical volts
    voltage_vehicle_v: float | None
    drop_supply_percent: float | None  # of nominal, at the setting
    drop_percent: float | None
    load_percent: float | None  # of derated running watts, at the setting
    told_a: float | None  # what the first cable lets a vehicle draw at the setting
    cables: tuple[CableMark, ...]  # empty where there is one cable

    @property
    def depot_mark(self) -> Setting | None:
        """Return the highest mark that suits, where the unit stands too high and can be set lower at the depot."""
        evse = self.rig.evse
        if self.refusal is None or self.refusal.code != "setting_too_high" or evse.set_by == "fixed":
            return None
        allowed_a = min(link.limit_a for link in self.chain if link.link != "evse_setting")
        lower = [mark for mark in evse.settings if mark.output_a <= allowed_a and evse.survives_power_cycle]
        return max(lower, key=lambda mark: mark.output_a, default=None)

    @property
    def why_not(self) -> tuple[str, str] | None:
        """Return what stands in the way of every vehicle, with its remedy: the first stop, else the refusal."""
        stop = next((finding for finding in self.findings if finding.level == "stop"), None)
        if stop is not None:
            return stop.text, stop.remedy
        return None if self.refusal is None else (self.refusal.text, self.refusal.remedy)

    @property
    def fitness(self) -> Fitness:
        """Return whether it may be used: not at all, by class alone, after a change, once set, or as it stands."""
        if any(finding.level == "stop" for finding in self.findings):
            return "not_fit"
        if self.setting is None:
            if self.small_draw_a is not None:
                return "by_class"
            mended = self.depot_mark is not None or (self.refusal is not None and self.refusal.code == "voltage_drop")
            return "change_first" if mended else "not_fit"
        if any(finding.level == "change" for finding in self.findings):
            return "change_first"
        return "set_first" if self.setting.must_be_moved else "fit"


def places_by_inlet(vehicle: VehicleClass) -> dict[str, str]:
    """Return each inlet of a class with the places it may sit at in one phrase."""
    return {port.inlet: port.place_words for port in vehicle.ports}


def pair(dataset: Dataset, rig_id: str, class_id: str) -> Pair:
    """Return what a rig does for a class at the rig's usual site, from a dash of `USUAL_START_PERCENT`."""
    start = USUAL_START_PERCENT
    small = plan(dataset, Call(rig_id, class_id, start, ToPercent(start + SMALL_TOP_UP_PERCENT)))
    needs: tuple[NeedMinutes, ...] = ()
    if small.verdict != "cannot_serve":
        # Where the plan asks which port it is, the minutes are for the one that is served.
        which = small.ask is not None and small.ask.code == "which_port" and small.path is not None
        inlet = small.path.inlet if which and small.path is not None else None
        needs = tuple(
            NeedMinutes(miles, plan(dataset, Call(rig_id, class_id, start, Miles(miles), tank_empty=True, inlet=inlet)))
            for miles in USUAL_MILES
        )
    return Pair(rig_id, class_id, small, needs)


def pairs(dataset: Dataset) -> Iterator[Pair]:
    """Yield every class with every rig, class by class."""
    for class_id in dataset.vehicle_classes:
        for rig_id in dataset.rigs:
            yield pair(dataset, rig_id, class_id)


@dataclass(frozen=True, slots=True, eq=False)
class RoadView:
    """What one road on one day takes and gives, beside the label: energy, miles of a battery, miles an hour."""

    name: str
    wh_per_10_miles: int
    full_miles_mi: int  # a full battery as it is now
    miles_added_per_hour: int
    power_battery_kw: float | None  # None for the label, which knows no rig


@dataclass(frozen=True, slots=True, eq=False)
class RoadViews:
    """Label, the rig's usual site, and a winter highway; and where the winter's extra energy goes, for ten miles."""

    views: tuple[RoadView, ...]
    speed_wh: int
    air_wh: int  # denser air, colder tyres, less taken back
    cabin_wh: int
    cabin_while_charging_kw: float


WINTER_C = celsius_from_fahrenheit(20)
HIGHWAY_MPH = 65.0


def road_views(dataset: Dataset, rig_id: str, class_id: str) -> RoadViews | None:
    """Return label, usual day and winter highway side by side, with one rig; None where the pair is refused."""
    vehicle = dataset.vehicle_class(class_id)
    start, goal = USUAL_START_PERCENT, ToPercent(USUAL_START_PERCENT + SMALL_TOP_UP_PERCENT)
    usual = answer(dataset, Call(rig_id, class_id, start, goal))
    highway = Road(HIGHWAY_MPH)
    winter = answer(dataset, Call(rig_id, class_id, start, goal, ambient_c=WINTER_C, road=highway))
    if usual.rate is None or usual.refusal is not None or winter.rate is None or winter.refusal is not None:
        return None
    height_m = usual.conditions.altitude_m
    mild = road_energy(dataset, vehicle, highway, Air(LABEL_AIR_C, height_m))
    unheated = road_energy(dataset, vehicle, replace(highway, cabin_heat=False), Air(WINTER_C, height_m))
    label_wh = label_wh_per_10_miles(vehicle)
    full_wh = round(1000 * vehicle.energy_now_kwh)

    def view(name: str, found: Answer) -> RoadView:
        assert found.rate is not None
        wh = found.road.wh_per_10_miles
        return RoadView(name, wh, 10 * full_wh // wh, found.miles_added_per_hour_mi, found.rate.power_battery_kw)

    return RoadViews(
        views=(
            RoadView("By its label", label_wh, 10 * full_wh // label_wh, usual.miles_added_per_hour_label_mi, None),
            view(f"Mixed road, {temperature(usual.conditions.ambient_c)}", usual),
            view(f"{HIGHWAY_MPH:.0f} mph, {temperature(WINTER_C)}, heat on", winter),
        ),
        speed_wh=mild.drive_wh - label_wh,
        air_wh=unheated.drive_wh - mild.drive_wh,
        cabin_wh=winter.road.wh_per_10_miles - unheated.wh_per_10_miles,
        cabin_while_charging_kw=0.0 if winter.cabin_must_be_off else winter.vehicle_state.cabin_kw,
    )


def allow_minutes(dataset: Dataset, rig_id: str, class_id: str, miles: int) -> int | None:
    """Return the minutes on site that nine of ten charges for a usual need take at most; None where it is not so."""
    call = Call(rig_id, class_id, USUAL_START_PERCENT, Miles(miles), tank_empty=True)
    found = plan_with_bands(dataset, call).minutes_on_site
    return None if found is None else found.p90


def full_miles_mi(dataset: Dataset, class_id: str) -> int:
    """Return the miles of a whole new battery by the label's consumption, rounded down."""
    vehicle = dataset.vehicle_class(class_id)
    return 10 * round(1000 * vehicle.battery.energy_usable_kwh.typical) // label_wh_per_10_miles(vehicle)


def stay(dataset: Dataset, rig_id: str, class_id: str) -> Stay | None:
    """Return how a charge at the rig's usual site runs from `USUAL_START_PERCENT`; None where the pair is refused."""
    found = answer(dataset, Call(rig_id, class_id, USUAL_START_PERCENT, ToPercent(100)))
    table = found.table
    if found.refusal is not None or table is None:
        return None
    start = USUAL_START_PERCENT
    minutes = [table.session_seconds(start, percent) / 60 for percent in range(101)]
    added_wh = [wh - table.battery_wh[start] for wh in table.battery_wh]
    miles = []
    percent = start
    for mile in range(0, 10 * added_wh[100] // found.road.wh_per_10_miles + 1, MILE_STEP):
        while 10 * added_wh[percent] < mile * found.road.wh_per_10_miles:
            percent += 1
        miles.append((mile, minutes[percent]))
    powers = tuple(
        (
            float(percent),
            power_at_kw(
                soc=percent / 100,
                energy_usable_kwh=table.energy_usable_kwh,
                power_battery_kw=table.power_battery_kw,
                tail_factor=table.tail_factor,
            ),
        )
        for percent in range(0, 101, 2)
    )
    return Stay(tuple(enumerate(minutes))[start:], tuple(miles), powers)


def plug_matrix(dataset: Dataset) -> tuple[PlugPair, ...]:
    """Return every end against every inlet: each bare connector, then each adapter it goes into; DC alone last.

    What is never used on an AC unit is told so wherever it is held to, before what does not fit.
    """
    found = []
    for connector in sorted(dataset.connectors.values(), key=lambda record: record.ac is None):
        fitting = [adapter for adapter in dataset.adapters.values() if adapter.takes == connector.id]
        for adapter in (None, *fitting):
            for inlet in dataset.inlets.values():
                reason = (never(adapter) if adapter is not None else None) or refusal(
                    dataset, connector, adapter, inlet
                )
                if reason is None:
                    words = _goes_words(adapter, inlet)
                    found.append(PlugPair(connector, adapter, inlet, None, words, f"{inlet.standard}: what it takes"))
                else:
                    code, text = reason
                    source = refusal_source(dataset, code, connector, adapter, inlet)
                    found.append(PlugPair(connector, adapter, inlet, code, text, source))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class OnDc:
    """What a DC unit would do with one end at one inlet: the upper bounds of current and voltage, or why nothing."""

    goes: bool
    text: str


def on_dc(dataset: Dataset, pair: PlugPair) -> OnDc:
    """Return what a DC unit would do with a pair: both halves carry DC, fit, and agree on the current alike."""
    connector, adapter, inlet = pair.connector, pair.adapter, pair.inlet
    if adapter is not None and adapter.carries == "ac":
        return OnDc(False, "The adapter carries AC alone.")
    if connector.dc is None:
        return OnDc(False, "The connector carries AC alone.")
    if inlet.dc is None:
        return OnDc(False, "The inlet takes AC alone.")
    half = connector if adapter is None else dataset.connectors[adapter.becomes]
    if half.dc is None or inlet.id not in half.fits:
        return OnDc(False, "Does not go in.")
    if half.signalling != inlet.signalling:
        return OnDc(False, "The two agree on the current in different ways.")
    current_a = min(connector.dc.current_a, half.dc.current_a, inlet.dc.current_a)
    voltage_v = min(connector.dc.voltage_v, half.dc.voltage_v, inlet.dc.voltage_v)
    if adapter is not None:
        if adapter.listing == "none":
            return OnDc(False, "The adapter has no listing.")
        if adapter.rating_current_a is None or adapter.rating_voltage_v is None:
            return OnDc(False, "The adapter has no readable rating.")
        current_a = min(current_a, adapter.rating_current_a)
        voltage_v = min(voltage_v, adapter.rating_voltage_v)
    return OnDc(True, f"Yes, a DC unit alone: at most {amps(current_a)}, {volts(voltage_v)}.")


def _goes_words(adapter: Adapter | None, inlet: Inlet) -> str:
    """Return how an end goes in, and what an adapter then carries for hours."""
    if adapter is None or adapter.rating_current_a is None:
        return f"Into the {inlet.ac_part}." if inlet.ac_part else "Directly."
    label_a = adapter.rating_current_a
    if adapter.temperature_sensing:
        return f"{amps(label_a)} on its label, senses temperature."
    return f"{amps(label_a)} on its label, senses no temperature: {amps(UNSENSED_ADAPTER_FACTOR * label_a)} for hours."


def rig_view(
    dataset: Dataset,
    rig_id: str,
    *,
    ambient_c: float | None = None,
    altitude_m: float | None = None,
    fuel: str | None = None,
) -> RigView:
    """Return a rig's ladder, findings and highest setting, before any vehicle is plugged in.

    What is not told of the site is that of the rig's usual one. Raises `QuantityError` for a fuel that it does not run
    on.
    """
    rig = dataset.rig(rig_id)
    asked = Call(
        rig.id,
        "",
        USUAL_START_PERCENT,
        ToPercent(USUAL_START_PERCENT),
        ambient_c=ambient_c,
        altitude_m=altitude_m,
        fuel=fuel,
    )
    site = conditions(rig, asked)
    state = source_state(rig, altitude_m=site.altitude_m, ambient_c=site.ambient_c, fuel=site.fuel)
    found = tuple(findings(dataset, rig, ambient_c=site.ambient_c))
    power_factor = highest_power_factor(dataset)
    chain = own_links(dataset, rig, state, ambient_c=site.ambient_c, altitude_m=site.altitude_m)
    fit = not any(finding.level == "stop" for finding in found)
    chosen = choose_setting(rig, chain, None) if fit else None
    setting = chosen if isinstance(chosen, SettingChoice) else None
    if setting is not None:
        chosen = volts_refusal(dataset, rig, setting, site.ambient_c) or setting
        setting = chosen if isinstance(chosen, SettingChoice) else None
    rungs = tuple(
        link.marked(sets_setting=True, sets_current=True)
        if setting is not None and link is setting.set_by_link
        else link
        for link in with_protection(chain, found)
    )
    source_v = rig.source.voltage_v.typical
    evse_v = vehicle_v = load_percent = None
    told_a: float | None = None
    code = cable_code_link(dataset.connectors[rig.evse.cable.connector], None, rig.evse.cable)
    if setting is not None:
        told_a = setting.output_a if code is None else min(setting.output_a, code.limit_a)
        supply_ohm, cable_ohm = loop_resistances_ohm(dataset, rig, current_a=told_a, ambient_c=site.ambient_c)
        evse_v = source_v - told_a * supply_ohm
        vehicle_v = evse_v - told_a * cable_ohm
        if state.power_derated_w:
            load_percent = 100 * (told_a * source_v * power_factor + rig.other_loads.power_w) / state.power_derated_w
    if code is not None:
        rungs = (*rungs, code)
    source, iso = rig.source, None
    if isinstance(source, GeneratorSource) and site.fuel is not None:
        iso = derate_by_iso_3046(source, altitude_m=site.altitude_m, ambient_c=site.ambient_c, fuel=site.fuel)
    return RigView(
        rig=rig,
        ambient_c=site.ambient_c,
        altitude_m=site.altitude_m,
        fuel=site.fuel,
        state=state,
        findings=found,
        chain=rungs,
        setting=setting,
        refusal=chosen if isinstance(chosen, Refusal) else None,
        small_draw_a=_small_draw_a(dataset, rig, chain) if fit and setting is None else None,
        power_highest_kw=None
        if told_a is None or evse_v is None
        else ac_power_kw(voltage_v=evse_v, current_a=told_a, phases=1, power_factor=power_factor),
        minutes_on_board=_minutes_on_board(rig, site.altitude_m, site.ambient_c),
        energy_to_give_kwh=_energy_to_give_kwh(rig, site.ambient_c),
        by_height=_by_height(dataset, rig, site.ambient_c) if fit else {},
        shares=_shares(rig, site.ambient_c),
        share_iso_3046=iso,
        power_factor=power_factor,
        burns=_burns(rig, site.altitude_m, site.ambient_c),
        voltage_evse_v=evse_v,
        voltage_vehicle_v=vehicle_v,
        drop_supply_percent=None if evse_v is None else 100 * (source_v - evse_v) / rig.nominal_v,
        drop_percent=None if vehicle_v is None else 100 * (source_v - vehicle_v) / rig.nominal_v,
        load_percent=load_percent,
        told_a=told_a,
        cables=cable_marks(dataset, rig, site) if len(rig.by_cable) > 1 else (),
    )


def _small_draw_a(dataset: Dataset, rig: Rig, chain: Sequence[Link]) -> float | None:
    """Return the draw up to which a class is served on a setting that stands too high, where there is such a class."""
    small_a = small_draw_limit_a(rig, chain)
    if small_a is None:
        return None
    served = (
        vehicle
        for vehicle in dataset.vehicle_classes.values()
        if largest_draw_a(rig, vehicle) <= small_a
        and vehicle.onboard_charger.voltage_low_v <= rig.nominal_v <= vehicle.onboard_charger.voltage_high_v
        and paths(dataset, rig, vehicle)[0]
    )
    return small_a if next(served, None) is not None else None


def _shares(rig: Rig, ambient_c: float) -> dict[FuelKind, tuple[HeightShare, ...]]:
    """Return what an engine keeps of its watts, by fuel and step of height."""
    source = rig.source
    if not isinstance(source, GeneratorSource):
        return {}
    return {
        fuel: tuple(
            HeightShare(
                height_ft,
                source_state(rig, altitude_m=height_ft / FT_PER_M, ambient_c=ambient_c, fuel=fuel).derate,
                derate_by_iso_3046(source, altitude_m=height_ft / FT_PER_M, ambient_c=ambient_c, fuel=fuel),
            )
            for height_ft in ALTITUDE_STEPS_FT
        )
        for fuel in source.fuels
    }


def _burns(rig: Rig, altitude_m: float, ambient_c: float) -> dict[FuelKind, tuple[BurnAtLoad, ...]]:
    """Return what an engine burns from no load to all that is allowed here, in quarters."""
    source = rig.source
    if not isinstance(source, GeneratorSource):
        return {}
    found: dict[FuelKind, tuple[BurnAtLoad, ...]] = {}
    for fuel, record in source.fuels.items():
        no_load_l_per_h, slope_l_per_kwh = record.burn_line
        allowed_w = source_state(rig, altitude_m=altitude_m, ambient_c=ambient_c, fuel=fuel).power_allowed_w or 0.0
        full_kw = (allowed_w + rig.other_loads.power_w) / 1000
        rows = []
        for quarter in range(LOAD_STEPS + 1):
            load_kw = full_kw * quarter / LOAD_STEPS
            burn_l_per_h = no_load_l_per_h + slope_l_per_kwh * load_kw
            hours_h = (record.tank_l + record.spare_l) / burn_l_per_h if burn_l_per_h else 0.0
            rows.append(BurnAtLoad(load_kw, burn_l_per_h, hours_h, load_kw / burn_l_per_h if burn_l_per_h else 0.0))
        found[fuel] = tuple(rows)
    return found


def _energy_to_give_kwh(rig: Rig, ambient_c: float) -> float | None:
    source = rig.source
    if not isinstance(source, StoredSource):
        return None
    return source.spendable_kwh(ambient_c) * source.efficiency


def _by_height(dataset: Dataset, rig: Rig, ambient_c: float) -> dict[str, tuple[HeightBand, ...]]:
    """Return the highest setting in steps of height, in the air of the usual site; equal steps are one band."""
    fuels: list[FuelKind | None] = list(rig.source.fuels) if isinstance(rig.source, GeneratorSource) else [None]
    found: dict[str, tuple[HeightBand, ...]] = {}
    for fuel in fuels:
        bands: list[HeightBand] = []
        for height_ft in ALTITUDE_STEPS_FT:
            altitude_m = height_ft / FT_PER_M
            state = source_state(rig, altitude_m=altitude_m, ambient_c=ambient_c, fuel=fuel)
            chain = own_links(dataset, rig, state, ambient_c=ambient_c, altitude_m=altitude_m)
            chosen = choose_setting(rig, chain, None)
            if isinstance(chosen, SettingChoice):
                band = HeightBand(height_ft, height_ft, chosen.mark, chosen.output_a, None)
            else:
                band = HeightBand(height_ft, height_ft, None, None, chosen.code)
            if bands and (bands[-1].mark, bands[-1].refused) == (band.mark, band.refused):
                bands[-1] = replace(bands[-1], to_ft=height_ft)
            else:
                bands.append(band)
        found[fuel or "battery"] = tuple(bands)
    return found


def _minutes_on_board(rig: Rig, altitude_m: float, ambient_c: float) -> dict[FuelKind, int]:
    if not isinstance(rig.source, GeneratorSource):
        return {}
    minutes = {}
    for fuel, record in rig.source.fuels.items():
        state = source_state(rig, altitude_m=altitude_m, ambient_c=ambient_c, fuel=fuel)
        assert state.power_allowed_w is not None
        no_load_l_per_h, slope_l_per_kwh = record.burn_line
        hourly_l = fuel_used_l(
            hours_h=1.0,
            energy_kwh=(state.power_allowed_w + rig.other_loads.power_w) / 1000,
            no_load_l_per_h=no_load_l_per_h,
            slope_l_per_kwh=slope_l_per_kwh,
        )
        minutes[fuel] = math.floor(60 * (record.tank_l + record.spare_l) / hourly_l) if hourly_l else 0
    return minutes
