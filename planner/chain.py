"""The chain: every link with its limit, the setting, and what the source gives; protection comes before it.

Passive links cap the setting; they do not throttle the vehicle. Allowed = min over the links; the factor 0.8 is
applied once, where it belongs, and limits combine by min, never by product.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from operator import attrgetter, itemgetter
from typing import Literal

from planner.air import standard_pressure_kpa
from planner.ampacity import ampacities
from planner.circuit import CONTINUOUS_LOAD_FACTOR, conductor_continuous_limit_a, continuous_limit_a
from planner.figures import amps, feet, kilowatts, temperature, volts
from planner.genset import (
    ISO_3046_EXPONENTS,
    derate_common_rule,
    iso_3046_factor,
    loading_proved,
    propane_vapour_l_per_h,
    source_current_a,
)
from planner.mating import Path, code_told_a
from planner.pilot import LOWEST_CURRENT_A
from planner.protection import UNPROTECTED_CODES, Finding
from planner.records import (
    Adapter,
    Breaker,
    Cable,
    Conductor,
    Connector,
    Dataset,
    FuelKind,
    GeneratorSource,
    Receptacle,
    Rig,
    SiteOutletSource,
    StoredSource,
    VehicleClass,
)

__all__ = [
    "CHANGEABLE_ON_SITE",
    "DEFAULT_LOADING",
    "UNSENSED_ADAPTER_FACTOR",
    "Link",
    "Refusal",
    "SettingChoice",
    "SourceState",
    "cable_code_link",
    "choose_setting",
    "coupler_links",
    "derate_by_iso_3046",
    "highest_power_factor",
    "largest_draw_a",
    "links",
    "small_draw_limit_a",
    "source_state",
    "tightest",
    "told_current_a",
    "voltage_refusal",
    "voltage_window_v",
    "with_protection",
]

DEFAULT_LOADING = 0.8  # common-practice: share of running watts for hours on end, until a long run proved more
SHORTEST_PROOF_MIN = 60.0  # own-judgement: a shorter run proves nothing about heat
UNSENSED_ADAPTER_FACTOR = 0.8  # common-practice: no sensor tells when its contacts run hot
KNOWN_CHARGER_MARGIN = (
    0.9  # own-judgement: a known class below this share of the source may be served on a fixed setting
)
# Controls that the crew can work on site: without tools, signal or opening a live box.
CHANGEABLE_ON_SITE = frozenset({"outside_control", "app_local"})
_TOLERANCE_A = 1e-6
# Which constants of ISO 3046-1 fit an engine: by its fuel, and for diesel by how it breathes.
_SPARK = {"gasoline": "spark_gasoline", "propane": "spark_gaseous"}
CONDUCTOR_WORDS = {
    "flexible_cord": ("cord", "nec-2017, 400.5(A)(1)"),
    "portable_cable": ("portable cable", "nec-2017, 400.5(A)(2)"),
    "building_wire": ("wire", "nec-2017, 310.15(B)(16), 210.19(A)(1)"),
}
SUPPLY_KINDS = frozenset({"breaker", "receptacle", "plug", "conductor"})

LinkKind = Literal[
    "source_power",
    "source_gas",
    "source_winding",
    "breaker",
    "receptacle",
    "plug",
    "conductor",
    "evse_setting",
    "evse_output",
    "cable",
    "cable_code",
    "connector",
    "adapter",
    "inlet",
    "onboard_charger",
]


@dataclass(frozen=True, slots=True, eq=False)
class Link:
    """One part that the current passes: what is marked on it, what it allows for hours, and why."""

    link: LinkKind
    id: str
    name: str
    rating_a: float
    limit_a: float
    basis: str
    source: str
    protected: bool = True
    sets_setting: bool = False
    sets_current: bool = False

    def marked(self, *, sets_setting: bool, sets_current: bool) -> "Link":
        """Return this link with its marks. Written out: `dataclasses.replace` takes three times as long."""
        return Link(
            self.link,
            self.id,
            self.name,
            self.rating_a,
            self.limit_a,
            self.basis,
            self.source,
            self.protected,
            sets_setting,
            sets_current,
        )


@dataclass(frozen=True, slots=True, eq=False)
class SourceState:
    """The source on this site and fuel: watts left, and how they came about. A site outlet has amps alone."""

    power_running_w: float | None
    power_derated_w: float | None
    power_allowed_w: float | None
    derate: float  # by the common rule; a store: its share in the cold
    loading: float
    loading_basis: str
    power_gas_w: float | None = None  # what the propane cylinders' gas is worth in this air


@dataclass(frozen=True, slots=True, eq=False)
class SettingChoice:
    """The setting for a call: where to turn it, from where, and what it rests on."""

    mark: str
    output_a: float
    from_mark: str
    must_be_moved: bool
    allowed_a: float
    set_by_link: Link
    stop_above_a: float | None  # set where only this known class may be served


@dataclass(frozen=True, slots=True, eq=False)
class Refusal:
    """Why no setting serves: code, sentence, what to do instead, source."""

    code: str
    text: str
    remedy: str
    source: str


# -------------------------------------------------------------------------------------------------------------- links


def source_state(rig: Rig, *, altitude_m: float, ambient_c: float, fuel: FuelKind | None) -> SourceState:
    """Return the source's watts on this site: running watts x derate x loading, less other loads."""
    source = rig.source
    if isinstance(source, SiteOutletSource):
        return SourceState(None, None, None, 1.0, 1.0, "a site outlet: its breaker stands in the supply")
    if isinstance(source, StoredSource):
        share = source.share_in_air(ambient_c).power_share
        in_air_w = source.power_continuous_w * share
        allowed_w = max(in_air_w - rig.other_loads.power_w, 0.0)
        return SourceState(
            source.power_continuous_w, in_air_w, allowed_w, share, 1.0, "continuous rating of the inverter"
        )
    assert fuel is not None  # `answer.conditions` fills in the default
    burnt = source.fuels[fuel]
    derate = _derate(source, altitude_m, ambient_c)
    loading, basis = _loading(rig, source, fuel)
    derated_w = burnt.running_power_w * derate
    given_w = derated_w * loading
    if source.one_pair_power_w is not None and source.one_pair_power_w < given_w:
        given_w, basis = source.one_pair_power_w, "what its maker allows on one pair of lines"
    gas_w = None
    if burnt.cylinders is not None:
        cylinders, (no_load_l_per_h, slope_l_per_kwh) = burnt.cylinders, burnt.burn_line
        vapour_l_per_h = cylinders.count * propane_vapour_l_per_h(
            diameter_m=cylinders.diameter_m,
            length_m=cylinders.length_m,
            fill=cylinders.least_fill,
            ambient_c=ambient_c,
        )
        gas_w = max(1000 * (vapour_l_per_h - no_load_l_per_h) / slope_l_per_kwh - rig.other_loads.power_w, 0.0)
    allowed_w = max(given_w - rig.other_loads.power_w, 0.0)
    return SourceState(burnt.running_power_w, derated_w, allowed_w, derate, loading, basis, gas_w)


def derate_by_iso_3046(source: GeneratorSource, *, altitude_m: float, ambient_c: float, fuel: FuelKind) -> float:
    """Return what ISO 3046-1 leaves of the running watts: the second opinion beside the common rule, never above 1."""
    pressure_exponent, temperature_exponent = ISO_3046_EXPONENTS[_SPARK.get(fuel, f"compression_{source.induction}")]
    return iso_3046_factor(
        pressure_kpa=standard_pressure_kpa(altitude_m=altitude_m),
        ambient_c=ambient_c,
        pressure_exponent=pressure_exponent,
        temperature_exponent=temperature_exponent,
    )


def _derate(source: GeneratorSource, altitude_m: float, ambient_c: float) -> float:
    rule = source.derate
    return derate_common_rule(
        altitude_m=altitude_m,
        ambient_c=ambient_c,
        loss_per_1000ft=rule.loss_per_1000ft,
        loss_per_10f=rule.loss_per_10f,
        free_altitude_m=rule.free_altitude_m,
        free_ambient_c=rule.free_ambient_c,
    )


def _loading(rig: Rig, source: GeneratorSource, fuel: FuelKind) -> tuple[float, str]:
    """Return the loading fraction: what the latest long run on this fuel proved, else the cautious default.

    A run at light load proves nothing, neither for the set nor against what an earlier run has proved.
    """
    best = ("", DEFAULT_LOADING)
    lighter = ""
    for run in rig.commissioning:
        if run.fuel != fuel or run.duration_min < SHORTEST_PROOF_MIN:
            continue
        derate = _derate(source, run.altitude_m, run.ambient_c)
        if derate <= 0:
            continue
        proved = loading_proved(
            power_metered_kw=run.power_metered_kw,
            running_power_w=source.fuels[fuel].running_power_w,
            derate=derate,
        )
        if proved <= DEFAULT_LOADING:
            lighter = max(lighter, run.date)
        else:
            best = max(best, (run.date, proved))
    date, proved = best
    if date:
        return proved, f"{proved:.2f} of derated watts, proved on {date}"
    if lighter:
        return DEFAULT_LOADING, f"{DEFAULT_LOADING:.2f} of derated watts, the run of {lighter} was lighter"
    return DEFAULT_LOADING, f"{DEFAULT_LOADING:.2f} of derated watts, no long run on record"


def links(
    dataset: Dataset,
    rig: Rig,
    state: SourceState,
    *,
    ambient_c: float,
    altitude_m: float,
    power_factor: float,
    adapter: Adapter | None = None,
) -> list[Link]:
    """Return every passive link from source to connector with the amps it allows.

    `adapter` is what the connector goes into: it keeps a loose cable's code from the vehicle.
    """
    # What stands behind the source hangs on the air alone: a rig is asked about at many heights, for many vehicles.
    cable = rig.evse.cable
    carries = code_told_a(dataset.connectors[cable.connector], adapter, cable) is None
    # A rig with other loads of a call is a copy under its id, with the same cables: it takes the old one's place here.
    key = ("links", rig.id, id(cable), ambient_c, carries)
    known = dataset.memo.get(key)
    if known is None or known[0] is not rig:
        behind = (*_supply_links(dataset, rig, ambient_c), *_evse_links(dataset, rig, carries=carries))
        known = dataset.memo[key] = (rig, behind)
    return [*_source_links(rig, state, altitude_m, ambient_c, power_factor), *known[1]]


def _source_links(
    rig: Rig, state: SourceState, altitude_m: float, ambient_c: float, power_factor: float
) -> Iterator[Link]:
    source = rig.source
    if isinstance(source, SiteOutletSource):
        return  # the breaker that the outlet stands on is the first part of the supply
    assert state.power_running_w is not None
    assert state.power_allowed_w is not None

    def current_a(power_w: float) -> float:
        return source_current_a(power_w=power_w, voltage_v=source.voltage_v.high, power_factor=power_factor)

    engine = isinstance(source, GeneratorSource)
    basis = kilowatts(state.power_running_w / 1000)
    if engine:
        basis += f" x {state.derate:.2f} at {feet(altitude_m)}; {state.loading_basis}"
    elif state.derate < 1:
        basis += f" x {state.derate:.2f} at {temperature(ambient_c)}, continuous"
    else:
        basis += ", continuous"
    less = f"; less {rig.other_loads.power_w:g} W of other loads" if rig.other_loads.power_w else ""
    at = f"; at {volts(source.voltage_v.high)}"
    yield Link(
        "source_power",
        "source",
        "Engine" if engine else "Inverter",
        current_a(state.power_running_w),
        current_a(state.power_allowed_w),
        basis + less + at,
        "genset-manual-a, derate; loading common practice" if engine else "rating plate of the inverter",
    )
    if state.power_gas_w is not None:
        yield Link(
            "source_gas",
            "gas",
            "Propane gas",
            current_a(state.power_running_w),
            current_a(state.power_gas_w),
            f"what its cylinders turn into gas at {temperature(ambient_c)}, nearly empty; frost may halve it{less}{at}",
            "propane-cylinder-guide, rule of the trade",
        )
    yield Link(
        "source_winding",
        "winding",
        "Winding" if engine else "Inverter output",
        source.nameplate_current_a,
        max(source.nameplate_current_a - rig.other_loads.current_a, 0.0),
        "nameplate amps at this connection"
        + (f", less {rig.other_loads.current_a:g} A of other loads" if rig.other_loads.current_a else ""),
        "nameplate",
    )


def _supply_links(dataset: Dataset, rig: Rig, ambient_c: float) -> Iterator[Link]:
    for part in rig.supply:
        if isinstance(part, Breaker):
            limit_a = continuous_limit_a(rating_a=part.rating_a, listed_for_full_rating=part.listed_for_full_rating)
            basis = "listed for 100 %" if part.listed_for_full_rating else "0.8 of its rating, continuous load"
            if part is rig.supply[0] and isinstance(rig.source, SiteOutletSource) and rig.other_loads.current_a:
                limit_a = max(limit_a - rig.other_loads.current_a, 0.0)
                basis += f", less {rig.other_loads.current_a:g} A of other loads"
            yield Link("breaker", part.id, part.name, part.rating_a, limit_a, basis, "nec-2017, 210.20(A), 625.41")
        elif isinstance(part, Conductor):
            terminations_a, corrected_a = ampacities(dataset, part, ambient_c=ambient_c)
            limit_a = conductor_continuous_limit_a(
                ampacity_terminations_a=terminations_a, ampacity_corrected_a=corrected_a
            )
            first = corrected_a >= terminations_a / CONTINUOUS_LOAD_FACTOR
            basis = f"0.8 of {amps(terminations_a)}" if first else f"{amps(corrected_a)} after correction for the air"
            kind, source = CONDUCTOR_WORDS[part.construction]
            yield Link(
                "conductor",
                part.id,
                part.name,
                terminations_a,
                limit_a,
                f"{part.size_awg} AWG {part.material} {kind}, {basis}",
                source,
            )
        else:
            outlet = dataset.outlets[part.outlet]
            limit_a = continuous_limit_a(rating_a=outlet.rating_a, listed_for_full_rating=False)
            basis = f"{outlet.configuration}, 0.8 of its rating, continuous load"
            yield Link(part.part, part.id, part.name, outlet.rating_a, limit_a, basis, "nec-2017, 210.21(B), 210.23(A)")


def _evse_links(dataset: Dataset, rig: Rig, *, carries: bool) -> Iterator[Link]:
    evse, cable = rig.evse, rig.evse.cable
    connector = dataset.connectors[cable.connector]
    if evse.set_by in CHANGEABLE_ON_SITE:
        highest_a = evse.highest.output_a
        yield Link(
            "evse_setting", "setting", "EVSE setting", highest_a, highest_a, "highest mark of the unit", "rig record"
        )
    else:
        fixed = rig.evse.standing
        yield Link(
            "evse_setting",
            "setting",
            "EVSE setting",
            fixed.output_a,
            fixed.output_a,
            f"stands at mark {fixed.mark}, not changeable on site",
            "rig record",
        )
    yield Link("evse_output", "evse", "EVSE output", evse.output_max_a, evse.output_max_a, "rated for hours", "ul-2594")
    if carries:
        # A loose cable that cannot tell the vehicle what it carries is held to by the setting, like a fixed one.
        carries_a = min(cable.rating_a, cable.code_a or cable.rating_a)
        basis = "rated for hours" if cable.code_a is None else "loose cable; its code is not told to this vehicle"
        yield Link("cable", "cable", "EVSE cable", cable.rating_a, carries_a, basis, "ul-2594")
    if connector.ac is not None:
        yield Link(
            "connector",
            connector.id,
            connector.name,
            connector.ac.current_a,
            connector.ac.current_a,
            "rated for hours",
            "ul-2251",
        )


def coupler_links(path: Path) -> Iterator[Link]:
    """Yield the links of one path behind the connector: adapter and inlet."""
    adapter = path.adapter
    if adapter is not None and adapter.rating_current_a is not None:
        sensed = adapter.temperature_sensing
        factor = 1.0 if sensed else UNSENSED_ADAPTER_FACTOR
        yield Link(
            "adapter",
            adapter.id,
            adapter.name,
            adapter.rating_current_a,
            adapter.rating_current_a * factor,
            "its label, senses temperature" if sensed else "0.8 of its label, senses no temperature",
            "ul-2252" if sensed else "common practice, no source",
        )
    assert path.inlet.ac is not None
    yield Link(
        "inlet",
        path.inlet.id,
        path.inlet.name,
        path.inlet.ac.current_a,
        path.inlet.ac.current_a,
        "rated for hours",
        "coupler standard",
    )


def cable_code_link(connector: Connector, adapter: Adapter | None, cable: Cable) -> Link | None:
    """Return the rung of a loose cable whose resistor tells the vehicle what it carries; None for any other.

    It does not cap the setting: the vehicle draws the less of pilot and code, and the EVSE reads its own end.
    """
    told_a = code_told_a(connector, adapter, cable)
    if told_a is None:
        return None
    return Link(
        "cable_code",
        "cable",
        "Loose cable",
        cable.rating_a,
        told_a,
        f"its proximity code tells {amps(told_a)}: the vehicle draws no more",
        "iec-62196-2, iec-61851-1",
    )


def told_current_a(path: Path, setting_a: float) -> float:
    """Return what the vehicle is told that it may draw: the setting, or a loose cable's code where that is less."""
    code_a = code_told_a(path.connector, path.adapter, path.cable)
    return setting_a if code_a is None else min(setting_a, code_a)


def with_protection(chain: Sequence[Link], found: Sequence[Finding]) -> Sequence[Link]:
    """Return the links as they are; one that nothing protects carries nothing, and says so."""
    bare = {finding.part for finding in found if finding.code in UNPROTECTED_CODES}
    if not bare:
        return chain
    return [
        replace(link, limit_a=0.0, protected=False) if link.link in SUPPLY_KINDS and link.id in bare else link
        for link in chain
    ]


def voltage_window_v(rig: Rig, path: Path, vehicle: VehicleClass) -> tuple[tuple[str, float], tuple[str, float]]:
    """Return the part that needs the most volts and the one that bears the least, each with its volts."""
    charger = f"{vehicle.name}'s charger"
    lowest = [("The EVSE", rig.evse.voltage_low_v), (charger, vehicle.onboard_charger.voltage_low_v)]
    highest = [("The EVSE", rig.evse.voltage_high_v), (charger, vehicle.onboard_charger.voltage_high_v)]
    highest += [(part.name, part.ac.voltage_v) for part in (path.connector, path.inlet) if part.ac is not None]
    if path.adapter is not None and path.adapter.rating_voltage_v is not None:
        highest.append((path.adapter.name, path.adapter.rating_voltage_v))
    return max(lowest, key=itemgetter(1)), min(highest, key=itemgetter(1))


def voltage_refusal(rig: Rig, path: Path, vehicle: VehicleClass) -> Refusal | None:
    """Return why the source's volts do not suit a part of the path, or None. The drop under load comes later."""
    (needs, low_v), (bears, high_v) = voltage_window_v(rig, path, vehicle)
    source = rig.source.voltage_v
    if source.high > high_v:
        return Refusal(
            "voltage_too_high",
            f"{bears} takes {volts(high_v)} at most; this source gives up to {volts(source.high)}.",
            "Use a source of lower voltage, or a part rated for it.",
            "rating of the part",
        )
    if source.low < low_v:
        return Refusal(
            "voltage_too_low",
            f"{needs} needs {volts(low_v)}; this source may fall to {volts(source.low)}.",
            "Use a source of higher voltage.",
            "rating of the part",
        )
    return None


# ------------------------------------------------------------------------------------------------------- the setting


def tightest(chain: Sequence[Link]) -> Link:
    """Return the link with the smallest limit; on a tie the first from the source."""
    return min(chain, key=attrgetter("limit_a"))


def choose_setting(
    rig: Rig, chain: Sequence[Link], vehicle: VehicleClass | None, *, enough_a: float | None = None
) -> SettingChoice | Refusal:
    """Return the largest offered setting that every link allows, or why there is none; no vehicle: any vehicle.

    A control that the crew cannot work on site stays where it stands. One exception, for source watts alone: a
    known class whose largest charger draws at most 0.9 of the source's limit may be served on a higher setting.
    `enough_a` is what the vehicle is told at most, whatever the mark: a dial that gives it already is not turned.
    """
    binding = tightest(chain)
    allowed_a = binding.limit_a
    standing = rig.evse.standing
    if allowed_a + _TOLERANCE_A < LOWEST_CURRENT_A:
        return Refusal(
            "below_6_a",
            f"{binding.name} allows {amps(allowed_a)}: below 6 A no EVSE can advertise a current.",
            f"Another rig. What holds it back: {binding.basis}.",
            "sae-j1772, section 4.2",
        )
    if rig.evse.set_by in CHANGEABLE_ON_SITE:
        offered = [setting for setting in rig.evse.settings if setting.output_a <= allowed_a + _TOLERANCE_A]
        if not offered:
            lowest = min(rig.evse.settings, key=lambda setting: setting.output_a)
            return Refusal(
                "no_setting_low_enough",
                f"{binding.name} carries {amps(allowed_a)} at most; the lowest mark, {lowest.mark}, gives "
                f"{amps(lowest.output_a)}.",
                "Another rig, or a unit with a lower mark.",
                binding.source,
            )
        chosen = max(offered, key=lambda setting: setting.output_a)
        if enough_a is not None and standing in offered and standing.output_a >= enough_a:
            chosen = standing
        # After a loss of power nobody knows where a unit that forgets stands: it is set again, whatever it shows.
        moved = chosen.mark != standing.mark if rig.evse.survives_power_cycle else len(rig.evse.settings) > 1
        return SettingChoice(chosen.mark, chosen.output_a, standing.mark, moved, allowed_a, binding, None)
    if standing.output_a <= allowed_a + _TOLERANCE_A:
        return SettingChoice(standing.mark, standing.output_a, standing.mark, False, allowed_a, binding, None)
    small_a = small_draw_limit_a(rig, chain)
    if vehicle is not None and small_a is not None and largest_draw_a(rig, vehicle) <= small_a:
        return SettingChoice(standing.mark, standing.output_a, standing.mark, False, allowed_a, binding, allowed_a)
    remedy = _remedy_for_a_high_setting(rig, binding, allowed_a)
    return Refusal(
        "setting_too_high",
        f"The unit stands at mark {standing.mark} ({amps(standing.output_a)}) and cannot be changed on site; "
        f"{binding.name} carries "
        f"{amps(allowed_a)} at most, {amps(standing.output_a - allowed_a)} less.",
        remedy,
        binding.source,
    )


def highest_power_factor(dataset: Dataset) -> float:
    """Return the highest power factor of any class: what a rig is judged by before a class is known.

    The source's watts then allow a class at most what they allow the rig, so that rig and plan name one mark.
    """
    return max((vehicle.onboard_charger.power_factor for vehicle in dataset.vehicle_classes.values()), default=1.0)


def small_draw_limit_a(rig: Rig, chain: Sequence[Link]) -> float | None:
    """Return the largest draw that may be served on a setting that stands too high; None where none may.

    The one exception, for source watts alone: 0.9 of what the source gives.
    """
    over = [link for link in chain if link.limit_a + _TOLERANCE_A < rig.evse.standing.output_a]
    if rig.evse.set_by in CHANGEABLE_ON_SITE or not over or any(link.link != "source_power" for link in over):
        return None
    allowed_a = tightest(chain).limit_a
    return KNOWN_CHARGER_MARGIN * allowed_a if allowed_a + _TOLERANCE_A >= LOWEST_CURRENT_A else None


# Parts that a builder may replace by a larger one; a source's own devices and windings are not among them.
_REPLACEABLE = frozenset({"receptacle", "plug", "conductor", "cable", "connector", "adapter"})


def _remedy_for_a_high_setting(rig: Rig, binding: Link, allowed_a: float) -> str:
    """Say what may be changed. A larger breaker, winding or source device is never offered."""
    evse = rig.evse
    lower = [setting for setting in evse.settings if setting.output_a <= allowed_a + _TOLERANCE_A]
    if lower and evse.survives_power_cycle and evse.set_by in {"inside_tools", "app_needs_signal"}:
        best = max(lower, key=lambda setting: setting.output_a)
        where = (
            "At the depot, power off" if evse.set_by == "inside_tools" else "Where there is signal, before driving out"
        )
        return f"{where}: set it to mark {best.mark} ({amps(best.output_a)})."
    remedy = f"A unit that can be set to {amps(allowed_a)} or less on site, or another rig."
    built_in = {part.id for part in rig.supply if isinstance(part, Receptacle) and part.built_in is not False}
    if binding.link in _REPLACEABLE and binding.id not in built_in:
        remedy = f"A unit that can be set to {amps(allowed_a)} or less on site, or a larger part: {binding.name}."
    return remedy


def largest_draw_a(rig: Rig, vehicle: VehicleClass) -> float:
    """Return the most that the largest charger of a class may draw from this source, at its lowest volts."""
    charger = vehicle.onboard_charger
    by_power_a = source_current_a(
        power_w=charger.power_kw.high * 1000,
        voltage_v=rig.source.voltage_v.low,
        power_factor=charger.power_factor,
    )
    return min(charger.current_a.high, by_power_a)
