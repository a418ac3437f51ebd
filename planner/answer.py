"""The typical answer to a call: the answer at the median of every input, in the integers that are published."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.cabin import standing_power_kw
from planner.chain import (
    Link,
    Refusal,
    SettingChoice,
    SourceState,
    cable_code_link,
    choose_setting,
    coupler_links,
    links,
    source_state,
    told_current_a,
    voltage_refusal,
)
from planner.charge import ChargeRate, ChargeTable, charge_rate
from planner.condition import Condition, condition_rulings, in_order
from planner.errors import QuantityError
from planner.figures import feet, gallons, temperature
from planner.genset import fuel_used_l
from planner.journey import MIXED_ROAD, Air, Road, RoadEnergy, road_energy
from planner.mating import Path, RefusedPath, code_told_a, has_one_certain_port, paths, share_reached, takes_ac
from planner.pack import WARM_C, temperature_at_plug_in_c
from planner.place import SHOULDER_CAP_MIN, Place, Ruling, place_rulings
from planner.protection import LEG_V, Finding, findings
from planner.records import (
    Adapter,
    Dataset,
    FuelKind,
    GeneratorSource,
    OtherLoads,
    Rig,
    SiteOutletSource,
    Spread,
    StoredSource,
    VehicleClass,
)
from planner.road import miles_added_per_hour_mi, wh_per_10_miles_wh
from planner.trip import DashWord, Goal, Miles, Need, Start, StartSoc, Target, reserve_wh, start_soc, target

if TYPE_CHECKING:
    from planner.leads import AtOutlet, LeadChoice, LeadRefusal

__all__ = [
    "CABIN_ON_BELOW_C",
    "PACK_ENDS",
    "Answer",
    "Call",
    "Conditions",
    "FuelUse",
    "Judged",
    "JudgedPath",
    "Session",
    "VehicleState",
    "answer",
    "conditions",
    "handshake_s",
    "judge",
    "make_ready",
    "rulings",
    "session_energy",
    "stop_below_v",
    "vehicle_state",
    "with_other_loads",
]


# ansi-c84-1 range B at the point of use, from memory: 216 V of 240 V.
STOP_BELOW_SHARE = 0.9
CABIN_ON_BELOW_C = 4.4  # common-practice: below 40 F people in a standing vehicle have the heat on
# own-judgement: of a tenth of the power at the inlet an hour gives what six minutes give without the cabin.
LITTLE_SHARE = 0.10
# Minutes driven and hours parked: soaked through in the air, and just off the road.
PACK_ENDS = ((0.0, 0.0), (30.0, 0.0))
USUAL_DRIVE_MIN = 30.0  # own-judgement: when only the hours parked are known
USUAL_PARKED_H = 1.0  # own-judgement: when only the last drive is known


@dataclass(frozen=True, slots=True)
class Call:
    """One request: which rig, which class, what the dash says, what it must do, and the site as far as known.

    `cabin_on` is the cabin's heat or cooling while it charges, `drove_min` and `parked_h` tell how warm its pack is,
    `tank_empty` is what is known of the tank of a class that also drives on fuel. `tank_now_l`, `cans_now_l` and
    `charge_now_percent` are the rig's own fuel or charge as it arrives. None is always: not known.
    """

    rig: str
    vehicle: str
    start: Start
    need: Need
    ambient_c: float | None = None
    altitude_m: float | None = None
    fuel: str | None = None
    cabin_on: bool | None = None
    drove_min: float | None = None
    parked_h: float | None = None
    road: Road = MIXED_ROAD
    tank_empty: bool | None = None
    tank_now_l: float | None = None
    cans_now_l: float | None = None
    charge_now_percent: int | None = None
    inlet: str | None = None  # the port that this vehicle has, where its class may have several
    customers_adapters: tuple[Adapter, ...] = ()
    outlet: str | None = None  # what a rig for site outlets finds there, where that is not what its record says
    breaker_a: float | None = None  # on the handle of the breaker that this outlet stands on
    places: tuple[tuple[str, float], ...] = ()  # names and miles to show what a stay reaches
    # Where and in what state it stands; None where the question is about rig and class alone, as on the pages.
    place: Place | None = None
    condition: Condition | None = None
    goals: tuple[Goal, ...] = ()  # places that end the emergency: the nearest by charge becomes the need
    need_known: bool = True  # false where nobody has said what it needs, and the need is a usual stay
    other_load_w: float = 0.0  # lamps, a heater: on our source beside the EVSE, over what the rig's record says
    second_setting_a: float = 0.0  # what a second EVSE on the same source is set to


@dataclass(frozen=True, slots=True, eq=False)
class Conditions:
    """The site and fuel as reckoned with, and what of it was assumed."""

    ambient_c: float
    altitude_m: float
    fuel: FuelKind | None
    assumed: tuple[str, ...]
    tank_l: float = 0.0
    cans_l: float = 0.0
    charge: float = 1.0  # of a store, 0 to 1


@dataclass(frozen=True, slots=True, eq=False)
class VehicleState:
    """The vehicle in its air: cabin and pack as reckoned with, and what of it was assumed."""

    cabin_kw: float
    cabin_known: bool
    pack_c: float
    pack_known: bool
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class FuelUse:
    """What an engine rig burns, or a battery rig gives, in one session."""

    used_l: float
    used_kwh: float  # energy taken from a battery rig
    left_l: float
    left_kwh: float
    keep_l: float  # an hour at this load, or the way home
    refuel_stops: int
    enough: bool


@dataclass(frozen=True, slots=True, eq=False)
class Session:
    """One charge from start to target in whole seconds and watt-hours."""

    seconds: int
    energy_battery_wh: int
    energy_meter_wh: int
    energy_source_wh: int
    fuel: FuelUse


@dataclass(frozen=True, slots=True, eq=False)
class JudgedPath:
    """One open way with what its chain allows: a setting, or why there is none."""

    path: Path
    chain: tuple[Link, ...]
    chosen: SettingChoice | Refusal

    @property
    def serves(self) -> bool:
        """Return whether some setting serves by this way."""
        return isinstance(self.chosen, SettingChoice)


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """What of an answer does not hang on the vehicle's state: rig, site and ways, and the setting or why there is none.

    An `Answer` adds what is reckoned of the charge.
    """

    rig: Rig
    standing: "AtOutlet | LeadRefusal | None"  # at another outlet than the rig's record says
    vehicle: VehicleClass
    conditions: Conditions
    state: SourceState
    findings: tuple[Finding, ...]
    chain: tuple[Link, ...]
    path: Path | None
    other_paths: tuple["JudgedPath", ...]  # open ways that were not chosen, best first
    refused_paths: tuple[RefusedPath, ...]
    port_open: bool  # which of its class's ports it has is not known, and the rig does not serve every one
    refusal: Refusal | None
    setting: SettingChoice | None


@dataclass(frozen=True, slots=True, eq=False)
class Answer(Judged):
    """All typical numbers of a call, as far as they could be reached; `refusal` says why not further."""

    port_known: bool  # the call says which port it has
    rate: ChargeRate | None
    table: ChargeTable | None
    start: StartSoc
    vehicle_state: VehicleState
    cabin_must_be_off: bool  # with the cabin on nothing would be left for the battery
    road: RoadEnergy
    miles_added_per_hour_mi: int
    miles_added_per_hour_label_mi: int
    target: Target | None
    session: Session | None
    planned_percent: int | None  # where the session ends
    percent_in_reach: int | None  # the most that the rig's own energy gives, where it does not reach the target
    percent_in_time: int | None  # the most that the time gives which a place allows, where that does not reach it
    too_long_min: int | None  # the minutes on site that the target takes there
    rulings: tuple[Ruling, ...]  # of place and vehicle, the deciding one first
    energy_now_wh: int
    energy_reserve_wh: int

    @property
    def lead_choice(self) -> "LeadChoice | None":
        """Return the lead that the rig stands behind, None without one."""
        standing = self.standing
        return standing.choice if standing is not None and standing.stands else None


def conditions(rig: Rig, call: Call) -> Conditions:
    """Fill in what a call leaves open from the rig's usual site, and list it as assumed.

    Raises `QuantityError` for a fuel that the rig does not run on.
    """
    assumed = []
    if not call.need_known:
        assumed.append("its need is not known: what a usual stay gives")
    if isinstance(call.need, Miles) and call.need.reserve_percent is None:
        assumed.append(f"arrives with {call.need.kept_words}")
    ambient_c, altitude_m = call.ambient_c, call.altitude_m
    if ambient_c is None:
        ambient_c = rig.usual_site.ambient_c
        assumed.append(f"air {temperature(ambient_c)}, the rig's usual site")
    if altitude_m is None:
        altitude_m = rig.usual_site.altitude_m
        assumed.append(f"height {feet(altitude_m)}, the rig's usual site")
    source = rig.source
    if not isinstance(source, GeneratorSource):
        _require_no_fuel(rig, call)
        charge = 1.0
        if isinstance(source, StoredSource):
            if call.charge_now_percent is None:
                assumed.append("the rig's battery full when it arrives")
            else:
                charge = call.charge_now_percent / 100
        return Conditions(ambient_c, altitude_m, None, tuple(assumed), charge=charge)
    if call.charge_now_percent is not None:
        raise QuantityError(
            name="--rig-charge",
            given=f"{call.charge_now_percent}%",
            expected=f"no charge: {rig.name} runs on {' or '.join(source.fuels)}",
            next_step="say what is in its tank with --rig-tank, in its cans with --rig-cans",
        )
    fuel = next((kind for kind in source.fuels if kind == call.fuel), None)
    if call.fuel is None:
        fuel = source.default_fuel
        assumed.append(f"{fuel}, the rig's default fuel")
    elif fuel is None:
        raise QuantityError(
            name="--fuel",
            given=call.fuel,
            expected=f"a fuel of {rig.name}: {', '.join(source.fuels)}",
            next_step="write one of them, or leave --fuel out for the default",
        )
    assert fuel is not None
    carried = source.fuels[fuel]
    tank_full, cans_full = call.tank_now_l is None, call.cans_now_l is None and carried.spare_l > 0
    if tank_full or cans_full:
        what = "tank and spare cans" if tank_full and cans_full else "tank" if tank_full else "spare cans"
        assumed.append(f"{what} full when the rig arrives")
    tank_l = carried.tank_l if call.tank_now_l is None else call.tank_now_l
    cans_l = carried.spare_l if call.cans_now_l is None else call.cans_now_l
    if tank_l > carried.tank_l:
        raise QuantityError(
            name="--rig-tank",
            given=gallons(tank_l),
            expected=f"at most what the tank of {rig.name} holds, {gallons(carried.tank_l)}",
            next_step="put the rest under --rig-cans",
        )
    return Conditions(ambient_c, altitude_m, fuel, tuple(assumed), tank_l, cans_l)


def _require_no_fuel(rig: Rig, call: Call) -> None:
    """Refuse words about an engine's fuel for a rig without one."""
    runs_on = "its battery" if isinstance(rig.source, StoredSource) else "the outlet of a site"
    given = {"--fuel": call.fuel, "--rig-tank": call.tank_now_l, "--rig-cans": call.cans_now_l}
    if not isinstance(rig.source, StoredSource):
        given["--rig-charge"] = call.charge_now_percent
    for name, value in given.items():
        if value is not None:
            raise QuantityError(
                name=name,
                given=f"{value:g} L" if isinstance(value, float) else str(value),
                expected=f"nothing: {rig.name} runs on {runs_on}",
                next_step=f"leave {name} out",
            )


def vehicle_state(vehicle: VehicleClass, call: Call, *, ambient_c: float) -> VehicleState:
    """Fill in how warm cabin and pack are, and list what was assumed."""
    assumed = []
    cabin_on = call.cabin_on
    if cabin_on is None:
        cabin_on = ambient_c < CABIN_ON_BELOW_C and vehicle.cabin.size_factor > 0
        if cabin_on:
            assumed.append("cabin heat on while it charges")
    cabin_kw = 0.0
    if cabin_on:
        cabin_kw = standing_power_kw(
            ambient_c=ambient_c,
            size_factor=vehicle.cabin.size_factor,
            heat_pump_share=vehicle.cabin.heat_pump_share,
        )
    known = call.drove_min is not None or call.parked_h is not None
    energy_kwh = vehicle.energy_now_kwh

    def pack_c(drove_min: float, parked_h: float) -> float:
        return temperature_at_plug_in_c(
            ambient_c=ambient_c, drove_min=drove_min, parked_h=parked_h, energy_usable_kwh=energy_kwh
        )

    if known:
        found_c = pack_c(
            USUAL_DRIVE_MIN if call.drove_min is None else call.drove_min,
            USUAL_PARKED_H if call.parked_h is None else call.parked_h,
        )
        if call.drove_min is None:
            assumed.append(f"drove {USUAL_DRIVE_MIN:.0f} min before it was parked")
        elif call.parked_h is None:
            assumed.append(f"parked for {USUAL_PARKED_H:g} h")
    elif ambient_c < WARM_C:
        found_c = sum(pack_c(*end) for end in PACK_ENDS) / 2
        assumed.append("pack half cooled out, since its last drive is not known")
    else:
        found_c = ambient_c
    return VehicleState(cabin_kw, call.cabin_on is not None, found_c, known, tuple(assumed))


def handshake_s(dataset: Dataset) -> int:
    """Return the seconds from the plug-in until the charge runs."""
    return math.ceil(60 * dataset.rates.handshake_min.typical)


def judge(dataset: Dataset, call: Call) -> Judged:
    """Return what rig, outlet, site and ways decide of a call, before anything is reckoned of a charge."""
    rig = with_other_loads(dataset.rig(call.rig), call)
    vehicle = dataset.vehicle_class(call.vehicle)
    _require_port(vehicle, call.inlet)
    site = conditions(rig, call)
    standing: AtOutlet | LeadRefusal | None = None
    if call.outlet is not None:
        from planner.leads import at_outlet  # wanted for another outlet alone

        standing = at_outlet(dataset, rig, outlet=call.outlet, device_a=call.breaker_a, ambient_c=site.ambient_c)
    if standing is not None and standing.stands:
        rig = standing.rig
        as_recorded = "volts, and the bond at the service, as at the outlet on record"
        site = replace(site, assumed=(*site.assumed, as_recorded))
    state, found, judged, refused = _ways(dataset, rig, vehicle, call, site)
    best = judged[0] if judged else None
    path = best.path if best is not None else None
    chosen = best.chosen if best is not None else None
    chain: tuple[Link, ...] = best.chain if best is not None else _own_links(dataset, rig, vehicle, site, state)
    if path is not None:
        rig = path.rig
    stop = next((finding for finding in found if finding.level == "stop"), None)
    refusal: Refusal | None = None
    if standing is not None and not standing.stands:
        # It does not stand at its own outlet: nothing that holds there is shown for this one.
        refusal = Refusal(standing.code, standing.text, standing.remedy, standing.source)
        path, found, chain = None, (), ()
    elif stop is not None:
        refusal = Refusal(stop.code, stop.text, stop.remedy, f"{stop.edition}, {stop.clause}")
    elif path is None:
        refusal = _no_path(dataset, refused)
    elif isinstance(chosen, Refusal):
        refusal = chosen
    return Judged(
        rig=rig,
        standing=standing,
        vehicle=vehicle,
        conditions=site,
        state=state,
        findings=found,
        chain=chain,
        path=path,
        other_paths=judged[1:],
        refused_paths=refused,
        port_open=_port_open(dataset, vehicle, call, judged),
        refusal=refusal,
        setting=chosen if isinstance(chosen, SettingChoice) and refusal is None else None,
    )


def answer(dataset: Dataset, call: Call, judged: Judged | None = None) -> Answer:
    """Return the typical answer to a call. Nothing raises for a pair that cannot be served: `refusal` says why.

    `judged` is what `judge` has found for this call, or for one that differs in the vehicle's state alone.
    """
    if judged is None:
        judged = judge(dataset, call)
    rig, vehicle, site, path, chain = judged.rig, judged.vehicle, judged.conditions, judged.path, judged.chain
    refusal, setting = judged.refusal, judged.setting
    in_vehicle = vehicle_state(vehicle, call, ambient_c=site.ambient_c)
    road = road_energy(dataset, vehicle, call.road, Air(site.ambient_c, site.altitude_m))
    start = start_soc(call.start, vehicle)
    ruled = rulings(dataset, rig, vehicle, call, path, start)
    rate: ChargeRate | None = None
    table: ChargeTable | None = None
    cabin_must_be_off = False
    if setting is not None:
        assert path is not None
        code = cable_code_link(path.connector, path.adapter, path.cable)
        told_a = told_current_a(path, setting.output_a)
        rate, table = _rate(dataset, rig, vehicle, told_a, site.ambient_c, in_vehicle.cabin_kw, in_vehicle.pack_c)
        if in_vehicle.cabin_kw > 0 and (table is None or rate.power_battery_kw < LITTLE_SHARE * rate.power_inlet_kw):
            without, table_without = _rate(dataset, rig, vehicle, told_a, site.ambient_c, 0.0, in_vehicle.pack_c)
            # Cold alone may leave as little: then the cabin is not what it hangs on.
            cabin_must_be_off = table_without is not None and (
                table is None or without.power_battery_kw >= 2 * rate.power_battery_kw
            )
            if cabin_must_be_off:
                # Said to be on, it is refused: hours of it would add nothing worth the name.
                rate, table = (rate, None) if in_vehicle.cabin_known else (without, table_without)
        chain = (*chain, *(() if code is None else (code,)), _charger_link(vehicle, rate))
        refusal = _rate_refusal(rig, vehicle, rate, table, in_vehicle, cabin_must_be_off=cabin_must_be_off)
    goal: Target | None = None
    session: Session | None = None
    in_reach: int | None = None
    in_time: int | None = None
    too_long_min: int | None = None
    planned: int | None = None
    per_hour = label_per_hour = 0
    if table is not None and rate is not None and refusal is None:
        per_hour = miles_added_per_hour_mi(
            power_w=math.floor(1000 * rate.power_battery_kw), wh_per_10_miles_wh=road.wh_per_10_miles
        )
        label_per_hour = miles_added_per_hour_mi(
            power_w=math.floor(1000 * rate.power_inlet_kw),
            wh_per_10_miles_wh=wh_per_10_miles_wh(vehicle.label.consumption_wall_kwh_per_100mi.typical),
        )
        goal = target(call.need, table, road, start_percent=start.percent, handshake_s=handshake_s(dataset))
        reach = goal.goal_percent
        if start.percent < reach <= 100:
            planned = reach
            session = session_energy(dataset, rig, site, rate, table, start.percent, reach)
            if not session.fuel.enough:
                in_reach, session = _in_reach(dataset, rig, site, rate, table, start.percent, reach)
                planned = in_reach
            cap_min = _stay_cap_min(ruled)
            if cap_min is not None and session is not None and planned is not None:
                charging_s = 60 * (cap_min - _around_min(dataset, rig, ruled))
                last = table.percent_after(start.percent, charging_s) if charging_s > 0 else start.percent
                if last < planned:
                    too_long_min = _around_min(dataset, rig, ruled) + math.ceil(session.seconds / 60)
                    in_time, planned, session = last, None, None
                if in_time is not None and in_time > start.percent:
                    planned = in_time
                    session = session_energy(dataset, rig, site, rate, table, start.percent, planned)
    return Answer(
        rig=rig,
        standing=judged.standing,
        vehicle=vehicle,
        conditions=site,
        state=judged.state,
        findings=judged.findings,
        chain=chain,
        path=path,
        other_paths=judged.other_paths,
        refused_paths=judged.refused_paths,
        port_open=judged.port_open,
        port_known=takes_ac(dataset, vehicle, call.inlet),
        refusal=refusal,
        setting=setting,
        rate=rate,
        table=table,
        start=start,
        vehicle_state=in_vehicle,
        cabin_must_be_off=cabin_must_be_off,
        road=road,
        miles_added_per_hour_mi=per_hour,
        miles_added_per_hour_label_mi=label_per_hour,
        target=goal,
        session=session,
        planned_percent=planned,
        percent_in_reach=in_reach,
        percent_in_time=in_time,
        too_long_min=too_long_min,
        rulings=ruled,
        energy_now_wh=table.battery_wh_at(start.percent) if table else 0,
        energy_reserve_wh=reserve_wh(call.need, table, road) if table and isinstance(call.need, Miles) else 0,
    )


def with_other_loads(rig: Rig, call: Call) -> Rig:
    """Return the rig with what else a call hangs on its source: off its watts, and off the leg that it uses.

    A second EVSE counts with its setting, not with what its vehicle draws. Each hangs on a breaker of its own.
    """
    if not (call.other_load_w or call.second_setting_a):
        return rig
    # A small load of two lines may hang on one leg, and that leg then binds.
    leg_v = LEG_V if rig.nominal_v > LEG_V and rig.source.connection in _TWO_LEGS else rig.nominal_v
    own = rig.other_loads
    loads = OtherLoads.model_construct(
        power_w=own.power_w + call.other_load_w + call.second_setting_a * rig.source.voltage_v.high,
        current_a=own.current_a + call.other_load_w / leg_v + call.second_setting_a,
    )
    fields = {name: getattr(rig, name) for name in type(rig).model_fields}  # no copy: that would carry cached values
    return Rig.model_construct(**{**fields, "other_loads": loads})


_TWO_LEGS = frozenset({"split_phase_240", "three_phase_208_line_to_line"})


def rulings(
    dataset: Dataset, rig: Rig, vehicle: VehicleClass, call: Call, path: Path | None, start: StartSoc
) -> tuple[Ruling, ...]:
    """Return what place and vehicle forbid, ask, take and change, the deciding one first; none where not asked."""
    found: list[Ruling] = []
    if call.place is not None:
        found += place_rulings(
            call.place,
            engine=rig.source.engine,
            vehicle=vehicle,
            port=path.port if path is not None else None,
            cable_length_m=path.cable.length_m if path is not None else rig.evse.cable.length_m,
        )
    if call.condition is not None:
        found += condition_rulings(
            call.condition,
            dash_dead=call.start == DashWord("dead"),
            start_percent=start.percent,
            parked_h=call.parked_h,
        )
    allowed = (
        ruling if ruling.minutes is None else ruling.allowing(math.ceil(getattr(dataset.rates, ruling.minutes).high))
        for ruling in found
    )
    return in_order(allowed)


def make_ready(dataset: Dataset, ruled: Sequence[Ruling]) -> tuple[Spread, ...]:
    """Return the minutes that have to be tried for before a vehicle takes a charge, one spread each."""
    return tuple(
        getattr(dataset.rates, ruling.minutes)
        for ruling in ruled
        if ruling.level == "try" and ruling.minutes is not None
    )


def _stay_cap_min(ruled: Sequence[Ruling]) -> int | None:
    """Return the minutes on site that a place allows, None without a bound."""
    return SHOULDER_CAP_MIN if any(ruling.code == "shoulder" for ruling in ruled) else None


def _around_min(dataset: Dataset, rig: Rig, ruled: Sequence[Ruling]) -> int:
    """Return the typical minutes on site that no charge comes in, each part rounded up as they are shown."""
    rates = dataset.rates
    parts = [rates.park_min, rates.handshake_min, rates.pack_up_min, *make_ready(dataset, ruled)]
    if isinstance(rig.source, GeneratorSource):
        parts += [rates.warm_up_min, rates.cool_down_min]
    return sum(math.ceil(part.typical) for part in parts)


def _require_port(vehicle: VehicleClass, inlet: str | None) -> None:
    """Refuse a port that no vehicle of the class is known to have."""
    if inlet is not None and vehicle.port(inlet) is None:
        ports = ", ".join(port.inlet for port in vehicle.ports)
        raise QuantityError(
            name="--port",
            given=inlet,
            expected=f"a port of {vehicle.name}: {ports}",
            next_step="look again; or leave --vehicle out and say what is known: --port with --body, --built",
        )


Rated = tuple[ChargeRate, ChargeTable | None]
Ways = tuple[SourceState, tuple[Finding, ...], tuple["JudgedPath", ...], tuple[RefusedPath, ...]]


def _ways(dataset: Dataset, rig: Rig, vehicle: VehicleClass, call: Call, site: Conditions) -> Ways:
    """Return what the source gives, what is found at the rig, and the ways of a pair, open and refused.

    They hang on the site, not on what the vehicle needs: a pair that is asked about again there has its former ones.
    """
    key = ("ways", rig.id, vehicle.id, call.inlet)
    at = (site.ambient_c, site.altitude_m, site.fuel)
    known: tuple[Rig, VehicleClass, tuple[float, float, str | None], Ways] | None = dataset.memo.get(key)
    # `is`, not equality: a changed copy under its old id has its own ways.
    if known is not None and known[0] is rig and known[1] is vehicle and known[2] == at and not call.customers_adapters:
        return known[3]
    state = source_state(rig, altitude_m=site.altitude_m, ambient_c=site.ambient_c, fuel=site.fuel)
    found = findings(dataset, rig, ambient_c=site.ambient_c)
    open_paths, refused = _known_paths(dataset, rig, vehicle, call)
    judged = _judged(dataset, vehicle, site, state, open_paths)
    ways: Ways = (state, found, tuple(judged), tuple(refused))
    if not call.customers_adapters:
        dataset.memo[key] = (rig, vehicle, at, ways)
    return ways


def _rate(
    dataset: Dataset,
    rig: Rig,
    vehicle: VehicleClass,
    told_a: float,
    ambient_c: float,
    cabin_kw: float,
    pack_c: float,
) -> Rated:
    """Return the charge of a pair: the former one where it is asked for again at the same setting, air and pack."""
    rates: dict[tuple[object, ...], tuple[Rig, VehicleClass, Rated]] = dataset.memo.setdefault(("rates",), {})
    key = (rig.id, vehicle.id, told_a, ambient_c, cabin_kw, pack_c)
    known = rates.get(key)
    if known is None or known[0] is not rig or known[1] is not vehicle:
        if len(rates) >= MOST_RATES:
            rates.clear()
        found = charge_rate(
            dataset, rig, vehicle, setting_a=told_a, ambient_c=ambient_c, cabin_kw=cabin_kw, pack_c=pack_c
        )
        known = rates[key] = (rig, vehicle, found)
    return known[2]


MOST_RATES = 2000  # kept, a few kilobytes each


def _known_paths(dataset: Dataset, rig: Rig, vehicle: VehicleClass, call: Call) -> tuple[list[Path], list[RefusedPath]]:
    """Return the paths of a pair, looked for once: they depend on the records and on what is known of the port."""
    if call.customers_adapters:
        return paths(dataset, rig, vehicle, inlet=call.inlet, customers=call.customers_adapters)
    key = ("paths", rig.id, vehicle.id, call.inlet)
    known = dataset.memo.get(key)
    # `is`, not equality: a changed copy under its old id has its own paths.
    if known is None or known[0] is not rig or known[1] is not vehicle:
        known = dataset.memo[key] = (rig, vehicle, paths(dataset, rig, vehicle, inlet=call.inlet))
    found: tuple[list[Path], list[RefusedPath]] = known[2]
    return found


def _own_links(
    dataset: Dataset,
    rig: Rig,
    vehicle: VehicleClass,
    site: Conditions,
    state: SourceState,
    *,
    adapter: Adapter | None = None,
) -> tuple[Link, ...]:
    return tuple(
        links(
            dataset,
            rig,
            state,
            ambient_c=site.ambient_c,
            altitude_m=site.altitude_m,
            power_factor=vehicle.onboard_charger.power_factor,
            adapter=adapter,
        )
    )


def _judged(
    dataset: Dataset,
    vehicle: VehicleClass,
    site: Conditions,
    state: SourceState,
    open_paths: Sequence[Path],
) -> list[JudgedPath]:
    """Return every open path with its chain and setting, the preferred one first.

    A path that serves before one that does not; the port that more of the class have; no adapter, ours, the customer's;
    the highest setting; on board before at the depot; temperature sensing.
    """
    own: dict[tuple[int, bool], tuple[Link, ...]] = {}  # the links up to the cable, once for each cable

    def _ours_of(path: Path) -> tuple[Link, ...]:
        key = (id(path.rig), path.adapter is not None and path.cable.code_a is not None)
        if key not in own:
            own[key] = _own_links(dataset, path.rig, vehicle, site, state, adapter=path.adapter)
        return own[key]

    judged: list[tuple[tuple[bool, float, bool, bool, float, bool, bool], JudgedPath]] = []
    for path in open_paths:
        ours = _ours_of(path)
        chain = (*ours, *coupler_links(path))
        told_a = code_told_a(path.connector, path.adapter, path.cable)
        chosen = voltage_refusal(path.rig, path, vehicle) or choose_setting(path.rig, chain, vehicle, enough_a=told_a)
        preference = (
            not isinstance(chosen, SettingChoice),
            -path.port.share,
            path.adapter is not None,
            path.kept == "customers",
            -chosen.output_a if isinstance(chosen, SettingChoice) else 0.0,
            path.kept == "at_depot",
            path.adapter is not None and not path.adapter.temperature_sensing,
        )
        judged.append((preference, JudgedPath(path, chain, chosen)))
    judged.sort(key=lambda item: item[0])
    return [item for _, item in judged]


def _port_open(dataset: Dataset, vehicle: VehicleClass, call: Call, judged: Sequence[JudgedPath]) -> bool:
    """Return whether the answer hangs on which of its class's ports this vehicle has."""
    if has_one_certain_port(dataset, vehicle) or takes_ac(dataset, vehicle, call.inlet):
        return False
    served = {item.path.inlet.id for item in judged if item.serves}
    reached, all_but_all = share_reached(dataset, vehicle, served)
    return reached > 0 and not all_but_all


_DC_ONLY = frozenset({"inlet_dc_only", "port_dc_only"})
_NOT_OURS = frozenset({"signalling_differs", "phases_differ"})


def _no_path(dataset: Dataset, refused: Sequence[RefusedPath]) -> Refusal:
    """Say in one sentence why no path carries AC: the direct way first, then the nearest miss by adapter."""
    every = [path for path in refused if path.adapter is None]
    direct = [path for path in every if path.code != "connector_dc_only"]
    if not direct:
        return Refusal("connector_dc_only", every[0].text, "A unit with an AC connector.", every[0].source)
    ac = [path for path in direct if path.code not in _DC_ONLY]
    if not ac:
        inlets = " and ".join(dict.fromkeys(dataset.inlets[path.inlet].name for path in direct))
        return Refusal(
            "inlet_dc_only",
            f"{inlets}: DC only, and no AC port on this class. An AC unit cannot serve it.",
            "A DC unit, or a tow to a charger.",
            direct[0].source,
        )
    signal = next((path for path in ac if path.code in _NOT_OURS), None)
    if signal is not None and len({path.inlet for path in ac}) == 1:
        return Refusal(
            signal.code, signal.text, "A unit made for this port, or a tow to a charger that is.", signal.source
        )
    own_cord = next((path for path in ac if path.code == "own_supply_cord"), None)
    if own_cord is not None and all(path.code == "own_supply_cord" for path in ac):
        return Refusal(
            "own_supply_cord",
            own_cord.text,
            "Its own cord, dry and whole, in a receptacle of its kind behind a breaker and a ground-fault device, by "
            "its maker's instructions; this plan does not reckon it.",
            own_cord.source,
        )
    by_adapter = next(
        (path for path in refused if path.code in {"adapter_not_listed", "adapter_rating_unreadable"}), None
    )
    if by_adapter is not None:
        return Refusal(
            by_adapter.code, by_adapter.text, "Bring a listed adapter with a readable label.", by_adapter.source
        )
    connectors = " and ".join(dict.fromkeys(dataset.connectors[path.connector].name for path in ac))
    inlets = ", ".join(dict.fromkeys(dataset.inlets[path.inlet].name for path in ac))
    verb = "do not go" if " and " in connectors else "does not go"
    kept = "on board or at the depot" if any(path.kept == "at_depot" for path in refused) else "on board"
    return Refusal(
        "no_path",
        f"{connectors} {verb} into {inlets}, and no adapter {kept} joins them.",
        f"A rig whose cable fits {inlets}, or a tow to a charger that does.",
        "coupler standards of both",
    )


def _charger_link(vehicle: VehicleClass, rate: ChargeRate) -> Link:
    charger = vehicle.onboard_charger
    why = rate.held_back_by_vehicle
    return Link(
        "onboard_charger",
        "charger",
        "Onboard charger",
        charger.current_a.typical,
        rate.vehicle_limit_a,
        f"{charger.power_kw.typical:g} kW and {charger.current_a.typical:g} A"
        + (" on one phase of its three" if charger.phases == 3 else "")
        + ", typical of the class"
        + (f"; draws to {why}" if why else ""),
        "class record",
    )


def _rate_refusal(
    rig: Rig,
    vehicle: VehicleClass,
    rate: ChargeRate,
    table: ChargeTable | None,
    in_vehicle: VehicleState,
    *,
    cabin_must_be_off: bool,
) -> Refusal | None:
    low_v, high_v = rig.source.voltage_v.low, rig.source.voltage_v.typical
    evse_v = low_v - (high_v - rate.voltage_evse_v)
    inlet_v = low_v - (high_v - rate.voltage_inlet_v)
    charger_v = vehicle.onboard_charger.voltage_low_v
    least_v = stop_below_v(rig)
    if evse_v < least_v or inlet_v < charger_v:
        where, found_v, need_v = ("EVSE", evse_v, least_v) if evse_v < least_v else ("vehicle", inlet_v, charger_v)
        return Refusal(
            "voltage_drop",
            f"After the drop in cord and cable the {where} may see {found_v:.0f} V; it should not fall below "
            f"{need_v:.0f} V.",
            "A shorter or larger cord, or a lower setting.",
            "ansi-c84-1 and the rating of the part",
        )
    if table is None and cabin_must_be_off:
        return Refusal(
            "cabin_takes_all",
            f"The cabin takes {in_vehicle.cabin_kw:.1f} kW of the {rate.power_inlet_kw:.1f} kW at the inlet and leaves "
            "next to nothing for the battery.",
            "Turn the cabin's heat or cooling off while it charges.",
            "energy balance, method page",
        )
    if table is None and rate.power_available_kw > 0:
        return Refusal(
            "too_cold_to_charge",
            f"The pack is at about {temperature(in_vehicle.pack_c)} and does not get warm enough to take a charge from "
            f"{rate.power_inlet_kw:.1f} kW at the inlet.",
            "A warm place, a drive first if it still drives, or a tow.",
            "cold start, method page",
        )
    if table is None:
        return Refusal(
            "will_not_charge",
            f"{rate.power_inlet_kw:.2f} kW at the inlet does not cover the vehicle's own use and its charger's losses: "
            "it will not charge.",
            "A rig with a higher setting.",
            "energy balance, method page",
        )
    return None


def stop_below_v(rig: Rig) -> float:
    """Return the volts at the EVSE below which the crew stops: 0.9 of nominal, or what the EVSE needs."""
    return max(STOP_BELOW_SHARE * rig.nominal_v, rig.evse.voltage_low_v)


def session_energy(
    dataset: Dataset,
    rig: Rig,
    site: Conditions,
    rate: ChargeRate,
    table: ChargeTable,
    soc_start_percent: int,
    soc_target_percent: int,
) -> Session:
    """Return time and energies of a charge between two whole percents, from the published integers."""
    seconds = table.session_seconds(soc_start_percent, soc_target_percent)
    battery_wh = table.battery_wh_at(soc_target_percent) - table.battery_wh_at(soc_start_percent)
    inlet_wh = table.session_inlet_wh(soc_start_percent, soc_target_percent)
    # The share lost in cord and cable is taken at full current; along the tail it is a little less.
    meter_wh = -(-inlet_wh * rate.meter_ppm // 1_000_000)
    charging_wh = -(-inlet_wh * rate.source_ppm // 1_000_000)
    source_wh = charging_wh + math.ceil(rig.other_loads.power_w * seconds / 3600)
    load_kw = (rate.power_source_w + rig.other_loads.power_w) / 1000
    fuel = _fuel_use(dataset, rig, site, seconds=seconds, energy_source_kwh=source_wh / 1000, load_kw=load_kw)
    return Session(seconds, battery_wh, meter_wh, source_wh, fuel)


def _fuel_use(
    dataset: Dataset, rig: Rig, site: Conditions, *, seconds: int, energy_source_kwh: float, load_kw: float
) -> FuelUse:
    """Return what the rig's own energy does in a session: it ends with an hour at this load, or with the way home."""
    source = rig.source
    if isinstance(source, SiteOutletSource):
        return FuelUse(0.0, 0.0, 0.0, 0.0, 0.0, 0, True)
    if isinstance(source, StoredSource):
        used_kwh = energy_source_kwh / source.efficiency
        there_kwh = source.energy_usable_kwh * source.share_in_air(site.ambient_c).energy_share * site.charge
        enough = used_kwh <= source.spendable_kwh(site.ambient_c, site.charge)
        return FuelUse(0.0, used_kwh, 0.0, there_kwh - used_kwh, 0.0, 0, enough)
    assert site.fuel is not None
    fuel = source.fuels[site.fuel]
    no_load_l_per_h, slope_l_per_kwh = fuel.burn_line
    rates = dataset.rates
    idle_h = (rates.warm_up_min.typical + rates.handshake_min.typical + rates.cool_down_min.typical) / 60
    used_l = fuel_used_l(
        hours_h=seconds / 3600 + idle_h,
        energy_kwh=energy_source_kwh + rig.other_loads.power_w / 1000 * idle_h,
        no_load_l_per_h=no_load_l_per_h,
        slope_l_per_kwh=slope_l_per_kwh,
    )
    keep_l = max(fuel.keep_l, no_load_l_per_h + slope_l_per_kwh * load_kw)
    carried_l = site.tank_l + site.cans_l
    stops = max(math.ceil((used_l - site.tank_l) / fuel.tank_l), 0) if fuel.tank_l else 0
    return FuelUse(used_l, 0.0, carried_l - used_l, 0.0, keep_l, stops, used_l + keep_l <= carried_l)


def _in_reach(
    dataset: Dataset,
    rig: Rig,
    site: Conditions,
    rate: ChargeRate,
    table: ChargeTable,
    soc_start_percent: int,
    soc_target_percent: int,
) -> tuple[int | None, Session | None]:
    """Return the largest target that the rig's own energy reaches, with its session; None when not one percent."""
    best: tuple[int | None, Session | None] = (None, None)
    low, high = soc_start_percent, soc_target_percent  # more percent takes more energy: halved until they meet
    while high - low > 1:
        percent = (low + high) // 2
        session = session_energy(dataset, rig, site, rate, table, soc_start_percent, percent)
        if session.fuel.enough:
            low, best = percent, (percent, session)
        else:
            high = percent
    return best
