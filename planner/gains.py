"""What would raise a rig: each single change that may be made, what it gives, and what holds back next.

Every figure is `plan`'s own on the changed rig. Only changes of the allowed kinds are tried: never a ground-fault
device removed or bypassed, never a bond at the EVSE or a ground rod in its place, never a source's built-in device or
outlet changed: what is built in, or not known to be the builder's own, is named as what holds back and left alone.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal, TypeVar, cast

from planner.ampacity import grounding_awg, standard_device_at_most_a, standard_ratings_a
from planner.answer import Call, Conditions, conditions
from planner.chain import (
    CHANGEABLE_ON_SITE,
    DEFAULT_LOADING,
    Link,
    SourceState,
    largest_draw_a,
    source_state,
)
from planner.circuit import continuous_limit_a, smallest_overcurrent_device_a
from planner.figures import amps, kilowatts
from planner.marks import own_links
from planner.mating import paths
from planner.pilot import DEAD_BAND_HIGH_A, DEAD_BAND_LOW_A
from planner.plan_types import Plan
from planner.planning import plan
from planner.protection import findings, largest_device_for_a
from planner.records import (
    CORD_SIZES,
    PORTABLE_CABLE_SIZES,
    Adapter,
    BatterySource,
    Breaker,
    Cable,
    Commissioning,
    Conductor,
    Dataset,
    FuelKind,
    GeneratorSource,
    OtherLoads,
    Receptacle,
    Record,
    Rig,
    Setting,
    SiteOutletSource,
    TruckExportSource,
    VehicleClass,
)
from planner.trip import Miles

__all__ = ["Gain", "Gains", "TypicalCall", "gains", "typical_class", "with_changes"]

TYPICAL_START_PERCENT = 10
TYPICAL_MILES = 25
WIRE_SIZES = ("14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0")
# common-practice: outputs that EVSEs are made with, with the size of the listed cable that comes with each
UNIT_SIZES = ((16, "12"), (24, "10"), (32, "10"), (40, "8"), (48, "6"), (64, "4"), (80, "4"))
MARK_STEP_A = 4  # a unit that is set from outside in steps of 4 A
LOWEST_MARK_A = 8
WATT_STEP = 500
LEAST_SAVED_MIN = 2  # own-judgement: nobody rewires a rig for a minute
PLACEHOLDER_DATE = "2000-01-01"  # of a run that has not been made yet; it only has to be a date
LONG_RUN_MIN = 60.0
SENSED_ID = "sensed-adapter"

Kind = Literal[
    "other_fuel",
    "long_run",
    "other_loads_off",
    "set_at_depot",
    "unit_set_on_site",
    "larger_unit",
    "larger_conductor",
    "conductor_that_is_protected",
    "grounding_conductor",
    "unwound",
    "smaller_device",
    "larger_device",
    "device_ahead",
    "larger_receptacle",
    "hard_wired",
    "sensing_adapter",
    "larger_source",
    "more_cylinders",
    "bond_at_source",
    "listed_unit",
]
BOND_WORDS = {
    "floating": "The one bond of neutral to frame, made at the source",
    "unknown": "The neutral tested and found bonded to the frame exactly once, at the source",
    "bonded_twice": "The second bond taken out; the one at the source stays",
}
BY_LICENSED = "A licensed electrician does and tests it."
BY_MAKER = "By the maker's instructions; the authority has its say."


@dataclass(frozen=True, slots=True, eq=False)
class TypicalCall:
    """The call that all changes are compared on: the class that draws most, ordinary miles, this site."""

    vehicle: str
    vehicle_name: str
    start_percent: int
    miles: int


@dataclass(frozen=True, slots=True, eq=False)
class Gain:
    """One change: what it is, what the rig then gives, and what holds back next. None where it does not serve."""

    code: Kind
    part: str
    change: str
    confirm: str  # who decides, does or tests it
    fit: bool
    makes_fit: bool  # was not fit before
    setting_a: float | None
    gain_a: float
    miles_added_per_hour: int | None
    gain_miles_per_hour: int
    minutes_on_site: int | None
    minutes_saved: int | None
    next_held_by: str
    rig: Rig
    adapters: tuple[Adapter, ...]  # adapters that the change brings along
    call: Call

    @property
    def gains_nothing(self) -> bool:
        """Return whether nothing that is asked for gets better; a minute is none."""
        better = self.gain_a > 0 or self.gain_miles_per_hour > 0 or (self.minutes_saved or 0) >= LEAST_SAVED_MIN
        return not (self.makes_fit or better)


@dataclass(frozen=True, slots=True, eq=False)
class Gains:
    """All changes for a rig on a site, the best first, beside what it gives now."""

    call: TypicalCall | None  # None where no class's port can be reached
    now: Plan | None
    held_back_by: str
    items: tuple[Gain, ...]
    left_alone: tuple[str, ...]  # what is named and never changed


R = TypeVar("R", bound=Record)


def with_changes(record: R, **changes: object) -> R:
    """Return a copy of a record with some fields changed, and nothing that the old one had reckoned once.

    `model_copy` would carry cached values along, such as the highest mark of the old unit.
    """
    fields = {name: getattr(record, name) for name in type(record).model_fields}
    return cast(R, type(record).model_construct(**{**fields, **changes}))


@dataclass(frozen=True, slots=True)
class _Change:
    code: Kind
    part: str
    words: str
    confirm: str
    rig: Rig
    adapters: tuple[Adapter, ...] = ()
    fuel: FuelKind | None = None


def typical_class(dataset: Dataset, rig: Rig) -> VehicleClass | None:
    """Return the class with an open path that would draw most from this rig; on a tie the first by its id."""
    open_to = [
        vehicle
        for _, vehicle in sorted(dataset.vehicle_classes.items())
        if not vehicle.engine and paths(dataset, rig, vehicle)[0]
    ]
    return max(open_to, key=lambda vehicle: largest_draw_a(rig, vehicle), default=None)


def gains(
    dataset: Dataset,
    rig_id: str,
    *,
    ambient_c: float | None = None,
    altitude_m: float | None = None,
    fuel: str | None = None,
    vehicle_id: str | None = None,
) -> Gains:
    """Return what each single change would give on a typical call at this site.

    Raises `UnknownIdError` for an unknown rig or class, `QuantityError` for a fuel that the rig does not run on.
    """
    rig = dataset.rig(rig_id)
    vehicle = dataset.vehicle_class(vehicle_id) if vehicle_id is not None else typical_class(dataset, rig)
    if vehicle is None:
        return Gains(None, None, "no port that its cable and adapters reach", (), ())
    call = Call(
        rig.id,
        vehicle.id,
        TYPICAL_START_PERCENT,
        Miles(TYPICAL_MILES),
        ambient_c=ambient_c,
        altitude_m=altitude_m,
        fuel=fuel,
        tank_empty=True,
    )
    site = conditions(rig, call)
    call = replace(call, ambient_c=site.ambient_c, altitude_m=site.altitude_m, fuel=site.fuel)
    now = plan(dataset, call)
    items = [_weighed(dataset, change, call, now) for change in _changes(dataset, rig, site, now)]
    items.sort(key=lambda item: (-item.fit, -item.gain_a, -item.gain_miles_per_hour, -(item.minutes_saved or 0)))
    return Gains(
        TypicalCall(vehicle.id, vehicle.name, TYPICAL_START_PERCENT, TYPICAL_MILES),
        now,
        _held_back_by(now),
        tuple(items),
        tuple(_left_alone(rig)),
    )


def _weighed(dataset: Dataset, change: _Change, call: Call, now: Plan) -> Gain:
    """Return what `plan` gives on the changed rig, against now."""
    then_call = replace(call, fuel=change.fuel) if change.fuel is not None else call
    rig = change.rig
    changed = replace(
        dataset,
        rigs={**dataset.rigs, rig.id: rig},
        adapters={**dataset.adapters, **{adapter.id: adapter for adapter in change.adapters}},
    )
    then = plan(changed, then_call)
    before_a = now.setting.output_a if now.setting is not None else 0.0
    after_a = then.setting.output_a if then.setting is not None else None
    before_mi, after_mi = now.miles_added_per_hour, then.miles_added_per_hour
    before_min, after_min = _minutes(now), _minutes(then)
    stops = [finding for finding in then.findings if finding.level == "stop"]
    return Gain(
        code=change.code,
        part=change.part,
        change=change.words,
        confirm=change.confirm,
        fit=not stops,
        makes_fit=not stops and _serves(then) and any(finding.level == "stop" for finding in now.findings),
        setting_a=after_a,
        gain_a=(after_a or 0.0) - before_a,
        miles_added_per_hour=after_mi,
        gain_miles_per_hour=(after_mi or 0) - (before_mi or 0),
        minutes_on_site=after_min,
        minutes_saved=None if before_min is None or after_min is None else before_min - after_min,
        next_held_by=_held_back_by(then),
        rig=rig,
        adapters=change.adapters,
        call=then_call,
    )


def _serves(found: Plan) -> bool:
    return found.setting is not None


def _minutes(found: Plan) -> int | None:
    if found.verdict not in {"serve", "serve_with_changes"} or found.minutes_on_site is None:
        return None
    return found.minutes_on_site.typical


def _held_back_by(found: Plan) -> str:
    """Return what holds a plan back in a few words: its first stop, its refusal, or the link that sets the current."""
    stop = next((finding for finding in found.findings if finding.level == "stop"), None)
    if stop is not None:
        return stop.text.split(". ")[0].rstrip(".")
    held = next((link for link in found.chain if link.sets_current), None)
    if held is not None:
        return held.name
    return found.reasons[0].text.split(". ")[0].rstrip(".") if found.reasons else ""


# -------------------------------------------------------------------------------------------------------- the changes


def _changes(dataset: Dataset, rig: Rig, site: Conditions, now: Plan) -> Iterator[_Change]:
    yield from _source_changes(dataset, rig, site)
    yield from _supply_changes(dataset, rig, site)
    yield from _depot_changes(dataset, rig, site)
    yield from _unit_changes(dataset, rig)
    yield from _adapter_changes(dataset, rig, now)


def _source_changes(dataset: Dataset, rig: Rig, site: Conditions) -> Iterator[_Change]:
    source = rig.source
    if source.neutral in BOND_WORDS and not isinstance(source, SiteOutletSource):
        yield _Change(
            "bond_at_source",
            "source",
            BOND_WORDS[source.neutral],
            BY_LICENSED + " " + BY_MAKER,
            _with_source(rig, neutral="bonded_at_source"),
        )
    if rig.other_loads.power_w or rig.other_loads.current_a:
        yield _Change(
            "other_loads_off",
            "source",
            f"Its other loads off while it charges ({rig.other_loads.power_w:g} W)",
            "",
            with_changes(rig, other_loads=OtherLoads()),
        )
    if isinstance(source, BatterySource):
        share = source.share_in_air(site.ambient_c).power_share
        larger_w = _larger_w(source.power_continuous_w, rig, share=share or 1.0)
        yield _Change(
            "larger_source",
            "source",
            f"An inverter of {kilowatts(larger_w / 1000)} continuous, on the same store",
            BY_MAKER,
            _with_source(
                rig,
                power_continuous_w=larger_w,
                nameplate_current_a=source.nameplate_current_a * larger_w / source.power_continuous_w,
            ),
        )
    if not isinstance(source, GeneratorSource) or site.fuel is None:
        return
    for fuel, burnt in source.fuels.items():
        if fuel != site.fuel and burnt.tank_l + burnt.spare_l > 0:
            yield _Change("other_fuel", "source", f"On {fuel}, also on board", "", rig, fuel=fuel)
    burnt = source.fuels[site.fuel]
    state = source_state(rig, altitude_m=site.altitude_m, ambient_c=site.ambient_c, fuel=site.fuel)
    # A run can prove no more than every other part carries for hours.
    others = _parts(dataset, rig, site, state)
    most_a = min(link.limit_a for link in others if link.link != "source_power")
    most_w = most_a * source.voltage_v.typical
    proof_kw = min(state.power_derated_w or 0.0, most_w, burnt.running_power_w) / 1000
    if state.loading < 1 and proof_kw > 0:
        run = Commissioning(
            date=max([PLACEHOLDER_DATE, *(run.date for run in rig.commissioning)]),
            fuel=site.fuel,
            duration_min=LONG_RUN_MIN,
            power_metered_kw=proof_kw,
            altitude_m=site.altitude_m,
            ambient_c=site.ambient_c,
        )
        yield _Change(
            "long_run",
            "source",
            f"A metered run of an hour that proves up to {kilowatts(proof_kw)} here",
            "What the run proves counts, not what is hoped for.",
            with_changes(rig, commissioning=(*rig.commissioning, run)),
        )
    # A new set has proved nothing yet: it is reckoned at the cautious share again.
    # One leg or one pair of lines gives its part of a set, whatever the set's size.
    part_of_set = min(1.0, source.nameplate_current_a * rig.nominal_v / burnt.running_power_w)
    if source.one_pair_power_w is not None:
        part_of_set = min(part_of_set, source.one_pair_power_w / burnt.running_power_w)
    share = (state.derate * DEFAULT_LOADING) or 1.0
    larger_w = _larger_w(burnt.running_power_w, rig, share=min(share, part_of_set))
    grown = larger_w / burnt.running_power_w
    fuels = {**source.fuels, site.fuel: with_changes(burnt, running_power_w=larger_w)}
    yield _Change(
        "larger_source",
        "source",
        f"A set of {kilowatts(larger_w / 1000)} running on {site.fuel}, with outlets like these",
        BY_MAKER,
        with_changes(
            _with_source(
                rig,
                fuels=fuels,
                nameplate_current_a=source.nameplate_current_a * grown,
                one_pair_power_w=None if source.one_pair_power_w is None else source.one_pair_power_w * grown,
            ),
            commissioning=(),
        ),
    )
    if burnt.cylinders is not None:
        more = with_changes(burnt.cylinders, count=2 * burnt.cylinders.count)
        fuels = {**source.fuels, site.fuel: with_changes(burnt, cylinders=more)}
        yield _Change(
            "more_cylinders",
            "gas",
            f"{more.count} cylinders feeding together instead of {burnt.cylinders.count}",
            BY_MAKER,
            _with_source(rig, fuels=fuels),
        )


def _parts(dataset: Dataset, rig: Rig, site: Conditions, state: SourceState) -> list[Link]:
    """Return the rig's own links up to the connector."""
    return own_links(dataset, rig, state, ambient_c=site.ambient_c, altitude_m=site.altitude_m)


def _larger_w(power_w: float, rig: Rig, *, share: float = 1.0) -> float:
    """Return the watts with which the source would no longer hold back the unit's highest mark, a step up at least."""
    needed_w = (rig.evse.highest.output_a * rig.source.voltage_v.high + rig.other_loads.power_w) / share
    return WATT_STEP * math.ceil(max(needed_w, power_w + WATT_STEP) / WATT_STEP)


def _with_source(rig: Rig, **changes: object) -> Rig:
    return with_changes(rig, source=with_changes(rig.source, **changes))


def _supply_changes(dataset: Dataset, rig: Rig, site: Conditions) -> Iterator[_Change]:
    ahead_a: float | None = None
    if not rig.supply or not isinstance(rig.supply[0], Breaker):
        yield from _device_at_the_head(dataset, rig, site)
    for index, part in enumerate(rig.supply):
        if isinstance(part, Breaker):
            if part.built_in is False:
                yield from _larger_device(dataset, rig, index, part)
            ahead_a = part.rating_a if ahead_a is None else min(ahead_a, part.rating_a)
        elif isinstance(part, Conductor):
            yield from _conductor_changes(dataset, rig, index, part, ahead_a, site)
        elif isinstance(part, Receptacle) and part.built_in is False:
            yield from _receptacle_changes(dataset, rig, index, part)


def _largest_protecting_a(dataset: Dataset, rig: Rig, site: Conditions) -> float:
    """Return the largest standard device that protects everything in the supply, 0 where none does."""
    most_a = math.inf
    for part in rig.supply:
        if isinstance(part, Conductor):
            most_a = min(most_a, largest_device_for_a(dataset, part, ambient_c=site.ambient_c)[0])
        elif not isinstance(part, Breaker):
            most_a = min(most_a, dataset.outlets[part.outlet].rating_a)
    if math.isinf(most_a):  # the EVSE alone: what its highest mark asks for
        ratings_a = standard_ratings_a(dataset)
        return smallest_overcurrent_device_a(continuous_load_a=rig.evse.highest.output_a, standard_ratings_a=ratings_a)
    return standard_device_at_most_a(dataset, most_a)


def _device_at_the_head(dataset: Dataset, rig: Rig, site: Conditions) -> Iterator[_Change]:
    first = rig.supply[0] if rig.supply else None
    if isinstance(first, Receptacle) and first.built_in is not False:
        return  # nothing of ours can stand ahead of a source's own receptacle
    rating_a = _largest_protecting_a(dataset, rig, site)
    if rating_a > 0:
        device = Breaker(part="breaker", id=_free_id(rig), name="Device ahead", rating_a=rating_a, built_in=False)
        yield _Change(
            "device_ahead",
            first.id if first is not None else "evse",
            f"An overcurrent device of {amps(rating_a)} at the supply end",
            BY_LICENSED,
            with_changes(rig, supply=(device, *rig.supply)),
        )


def _larger_device(dataset: Dataset, rig: Rig, index: int, part: Breaker) -> Iterator[_Change]:
    rating_a = next((rating for rating in standard_ratings_a(dataset) if rating > part.rating_a), None)
    if rating_a is None:
        return
    larger = _with_part(rig, index, with_changes(part, rating_a=rating_a))
    codes = {finding.code for finding in findings(dataset, larger, ambient_c=rig.usual_site.ambient_c)}
    before = {finding.code for finding in findings(dataset, rig, ambient_c=rig.usual_site.ambient_c)}
    # A larger device that leaves a part behind it bare is no gain: that part comes first.
    if not ({"not_protected", "grounding_small"} & codes) - before:
        yield _Change(
            "larger_device",
            part.id,
            f"{part.name} of {amps(rating_a)} instead of {amps(part.rating_a)}",
            BY_LICENSED,
            larger,
        )


def _conductor_changes(
    dataset: Dataset, rig: Rig, index: int, part: Conductor, ahead_a: float | None, site: Conditions
) -> Iterator[_Change]:
    if part.on_reel:
        yield _Change(
            "unwound",
            part.id,
            f"{part.name} unwound fully",
            "",
            _with_part(rig, index, with_changes(part, on_reel=False)),
        )
    if ahead_a is None:
        return
    sizes = {"flexible_cord": CORD_SIZES, "portable_cable": PORTABLE_CABLE_SIZES}.get(part.construction, WIRE_SIZES)
    larger = sizes[sizes.index(part.size_awg) + 1 :]
    protected_a = largest_device_for_a(dataset, part, ambient_c=site.ambient_c)[0]
    if protected_a < ahead_a:
        size = next((size for size in larger if _protects(dataset, part, size, ahead_a, site)), None)
        if size is not None:
            yield _Change(
                "conductor_that_is_protected",
                part.id,
                f"{part.name} of {size} AWG instead of {part.size_awg} AWG, its grounding conductor as large",
                BY_LICENSED,
                _with_part(rig, index, _grown(part, size)),
            )
        device_a = standard_device_at_most_a(dataset, protected_a)
        if device_a > 0:
            device = Breaker(part="breaker", id=_free_id(rig), name="Own device", rating_a=device_a, built_in=False)
            supply = (*rig.supply[:index], device, *rig.supply[index:])
            yield _Change(
                "smaller_device",
                part.id,
                f"A device of {amps(device_a)} of our own ahead of {part.name}",
                BY_LICENSED,
                with_changes(rig, supply=supply),
            )
        return
    needed = grounding_awg(dataset, device_a=ahead_a, material=part.material)
    codes = {
        finding.code
        for finding in findings(dataset, rig, ambient_c=site.ambient_c)
        if finding.part == part.id and finding.level == "stop"
    }
    if "grounding_small" in codes and needed is not None:
        yield _Change(
            "grounding_conductor",
            part.id,
            f"{part.name} with a grounding conductor that suits its device",
            BY_LICENSED,
            _with_part(rig, index, _grown(part, part.size_awg)),
        )
    if larger:
        yield _Change(
            "larger_conductor",
            part.id,
            f"{part.name} of {larger[0]} AWG instead of {part.size_awg} AWG, its grounding conductor as large",
            BY_LICENSED,
            _with_part(rig, index, _grown(part, larger[0])),
        )


def _protects(dataset: Dataset, part: Conductor, size: str, device_a: float, site: Conditions) -> bool:
    grown = with_changes(part, size_awg=size)
    return largest_device_for_a(dataset, grown, ambient_c=site.ambient_c)[0] >= device_a


def _grown(part: Conductor, size: str) -> Conductor:
    """Return a conductor of a size, its grounding conductor as large as its lines: never too small for any device."""
    return with_changes(part, size_awg=size, grounding_awg=size)


def _receptacle_changes(dataset: Dataset, rig: Rig, index: int, part: Receptacle) -> Iterator[_Change]:
    outlet = dataset.outlets[part.outlet]
    if rig.evse.connected_by != "listed_cord_and_plug" or index != len(rig.supply) - 1:
        return
    if part.gfci == "none":  # a receptacle with a ground-fault device in it, or perhaps, stays
        evse = with_changes(rig.evse, connected_by="hard_wired", plug=None)
        yield _Change(
            "hard_wired",
            part.id,
            f"The EVSE hard-wired instead of plugged into {part.name}",
            BY_LICENSED + " Only where the EVSE's instructions provide for it.",
            with_changes(rig, supply=rig.supply[:index], evse=evse),
        )
    larger = min(
        (
            other
            for other in dataset.outlets.values()
            if other.rating_a > outlet.rating_a
            and other.voltage_v == outlet.voltage_v
            and other.ground
            and other.phases == 1
            and not other.locking
            and other.neutral == outlet.neutral
        ),
        key=lambda other: (other.rating_a, other.id),
        default=None,
    )
    if larger is not None:
        receptacle = with_changes(part, outlet=larger.id, grade="evse_listed")
        fitted = with_changes(rig.evse, plug=larger.id)
        yield _Change(
            "larger_receptacle",
            part.id,
            f"{part.name} {larger.configuration}, listed for EVSE, instead of {outlet.configuration}, with an EVSE "
            "made for it",
            BY_LICENSED,
            with_changes(_with_part(rig, index, receptacle), evse=fitted),
        )


def _depot_changes(dataset: Dataset, rig: Rig, site: Conditions) -> Iterator[_Change]:
    """Yield the highest mark that suits, where the crew cannot turn the unit but the depot can."""
    evse = rig.evse
    if evse.set_by not in {"inside_tools", "app_needs_signal"} or not evse.survives_power_cycle:
        return
    state = source_state(rig, altitude_m=site.altitude_m, ambient_c=site.ambient_c, fuel=site.fuel)
    parts = _parts(dataset, rig, site, state)
    allowed_a = min(link.limit_a for link in parts if link.link != "evse_setting")
    suits = [mark for mark in evse.settings if mark.output_a <= allowed_a]
    best = max(suits, key=lambda mark: mark.output_a, default=None)
    if best is not None and best.mark != evse.setting_now:
        where = "At the depot, power off" if evse.set_by == "inside_tools" else "Where there is signal"
        yield _Change(
            "set_at_depot",
            "evse",
            f"{where}: the unit set to mark {best.mark} ({amps(best.output_a)}) instead of {evse.setting_now}",
            BY_MAKER,
            _with_evse(rig, setting_now=best.mark),
        )


def _unit_changes(dataset: Dataset, rig: Rig) -> Iterator[_Change]:
    evse = rig.evse
    if evse.listing == "none":
        yield _Change("listed_unit", "evse", "A listed EVSE of the same output", "", _with_evse(rig, listing="listed"))
    top_a = min(evse.output_max_a, float(UNIT_SIZES[-1][0]))
    marks = _marks(top_a)
    offered = {setting.output_a for setting in evse.settings}
    if evse.set_by not in CHANGEABLE_ON_SITE or not {mark.output_a for mark in marks} <= offered:
        yield _Change(
            "unit_set_on_site",
            "evse",
            f"A unit of {amps(top_a)} that is set from outside in steps of {MARK_STEP_A} A, its cable as now",
            BY_MAKER,
            _with_unit(rig, top_a, marks, evse.cable),
        )
    larger = next((size for size in UNIT_SIZES if size[0] > evse.output_max_a), None)
    # A unit that the wiring could never fill gains nothing over one that it can.
    if larger is not None and _supply_limit_a(dataset, rig) > evse.output_max_a:
        output_a, size_awg = float(larger[0]), larger[1]
        cable = evse.cable
        if cable.rating_a < output_a:
            cable = with_changes(cable, rating_a=output_a, size_awg=size_awg)
        yield _Change(
            "larger_unit",
            "evse",
            f"A unit and cable of {amps(output_a)}, set from outside in steps of {MARK_STEP_A} A",
            BY_MAKER,
            _with_unit(rig, output_a, _marks(output_a), cable),
        )


def _supply_limit_a(dataset: Dataset, rig: Rig) -> float:
    """Return what the devices and outlets of the supply carry for hours; conductors are changed on their own."""
    most_a = math.inf
    for part in rig.supply:
        if isinstance(part, Breaker):
            full = part.listed_for_full_rating
            most_a = min(most_a, continuous_limit_a(rating_a=part.rating_a, listed_for_full_rating=full))
        elif not isinstance(part, Conductor):
            rating_a = dataset.outlets[part.outlet].rating_a
            most_a = min(most_a, continuous_limit_a(rating_a=rating_a, listed_for_full_rating=False))
    return most_a


def _marks(output_a: float) -> tuple[Setting, ...]:
    steps = [float(current) for current in range(LOWEST_MARK_A, math.floor(output_a) + 1, MARK_STEP_A)]
    if steps[-1:] != [output_a]:
        steps.append(output_a)
    return tuple(
        Setting(mark=f"{current:g}".replace(".", "-"), marked_as="output_amps", output_a=current)
        for current in steps
        if not DEAD_BAND_LOW_A < current <= DEAD_BAND_HIGH_A
    )


def _with_unit(rig: Rig, output_a: float, marks: tuple[Setting, ...], cable: Cable) -> Rig:
    return _with_evse(
        rig,
        output_max_a=output_a,
        set_by="outside_control",
        survives_power_cycle=True,
        setting_now=marks[-1].mark,
        settings=marks,
        cable=cable,
    )


def _with_evse(rig: Rig, **changes: object) -> Rig:
    return with_changes(rig, evse=with_changes(rig.evse, **changes))


def _adapter_changes(dataset: Dataset, rig: Rig, now: Plan) -> Iterator[_Change]:
    used = now.path.adapter if now.path is not None else None
    if used is None:
        return
    adapter = dataset.adapters[used]
    if adapter.temperature_sensing:
        return
    sensing = with_changes(adapter, id=SENSED_ID, name=f"{adapter.name}, sensing", temperature_sensing=True)
    ours, at_depot = (
        tuple(SENSED_ID if key == used else key for key in kept) for kept in (rig.adapters, rig.adapters_at_depot)
    )
    yield _Change(
        "sensing_adapter",
        adapter.id,
        f"A listed adapter of {amps(adapter.rating_current_a or 0)} that senses temperature, instead of {adapter.name}",
        "",
        with_changes(rig, adapters=ours, adapters_at_depot=at_depot),
        adapters=(sensing,),
    )


def _with_part(rig: Rig, index: int, part: Breaker | Conductor | Receptacle) -> Rig:
    return with_changes(rig, supply=(*rig.supply[:index], part, *rig.supply[index + 1 :]))


def _free_id(rig: Rig) -> str:
    taken = {part.id for part in rig.supply}
    return next(f"own-device-{count}" for count in range(1, len(taken) + 2) if f"own-device-{count}" not in taken)


def _left_alone(rig: Rig) -> Iterator[str]:
    """Return in a sentence each what is named and never changed here."""
    built_in = [part.name for part in rig.supply if isinstance(part, Breaker | Receptacle) and part.built_in]
    if isinstance(rig.source, TruckExportSource):
        yield "The truck's own inverter and outlet: as its maker built them; they are not among the changes."
    unknown = [part.name for part in rig.supply if isinstance(part, Breaker | Receptacle) and part.built_in is None]
    if built_in:
        yield (
            f"{', '.join(built_in)}: built into the source. A larger one is the maker's or a licensed person's "
            "decision, and the listing's; it is not among the changes."
        )
    if unknown:
        yield (
            f"{', '.join(unknown)}: the record does not say whether it is the source's own (built_in), so it is left "
            "alone."
        )
