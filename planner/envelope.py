"""A call about a vehicle that is not known as a class: what holds for every class it may be, and what to ask next.

The envelope goes from the least of the classes' one-in-ten to the greatest of their nine-in-ten. No class is weighed.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from planner.answer import Call
from planner.condition import RULES as CONDITION_RULES
from planner.errors import QuantityError
from planner.mating import has_one_certain_port, takes_ac
from planner.place import RULES as PLACE_RULES
from planner.plan_types import Ask, Plan, Reason, Verdict
from planner.planning import plan_with_bands
from planner.records import BATTERY_WORDS, BODY_SAID, BUILT_WORDS, Dataset, VehicleClass
from planner.wording import sentence

__all__ = [
    "BUILT_WORDS",
    "Envelope",
    "EnvelopeMember",
    "KnownOfVehicle",
    "Question",
    "envelope",
    "inlet_cases",
    "known_words",
    "matching",
    "questions",
]

OF_THE_CALL = frozenset(rule.code for rule in (*PLACE_RULES, *CONDITION_RULES))  # whichever class it is
ENVELOPE_SCHEMA_VERSION = "1.3"
SERVED: frozenset[str] = frozenset({"serve", "serve_with_changes", "try"})
# own-judgement: some served and some refused is worse than any width of minutes: a day.
DEPENDS_MIN = 1440.0


@dataclass(frozen=True, slots=True)
class KnownOfVehicle:
    """What is known of the vehicle: each as far as somebody could tell."""

    inlet: str | None = None
    body: str | None = None
    built: int | None = None
    battery: str | None = None
    fuel_door: bool | None = None  # beside the charge door: it drives on fuel too
    parted: str | None = None  # a former class that was named, which was parted into those of `among`
    among: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class EnvelopeMember:
    """One class that it may be, with what its own plan says."""

    vehicle: str
    vehicle_name: str
    inlet: str | None  # the port it is taken to have, where its class has one or another
    verdict: Verdict
    code: str
    reason: str
    minutes_likely: int | None
    minutes_p10: int | None
    minutes_p90: int | None
    soc_target: float | None
    miles_added_per_hour: int | None
    setting_mark: str | None
    adapter: str | None


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """A question, with the mean width that its answers would leave."""

    code: Literal["ask_port", "ask_body", "ask_built", "ask_battery", "ask_fuel_door"]
    text: str
    mean_width_min: float


@dataclass(frozen=True, slots=True, eq=False)
class Envelope:
    """What holds for every class that the vehicle may be."""

    schema_version: str
    dataset_version: str
    rig: str
    rig_name: str
    known: KnownOfVehicle
    verdict: Verdict
    refused: int
    minutes_p10: int | None
    minutes_p90: int | None
    soc_target_low: float | None
    soc_target_high: float | None
    miles_added_per_hour_low: int | None
    miles_added_per_hour_high: int | None
    setting_marks: tuple[str, ...]
    adapters: tuple[str, ...]
    reasons: tuple[Reason, ...]  # what holds whichever class it is: of the place, or of the state it is in
    ask: Ask | None
    members: tuple[EnvelopeMember, ...]


def matching(dataset: Dataset, known: KnownOfVehicle) -> tuple[VehicleClass, ...]:
    """Return the classes that the vehicle may be; raise `QuantityError` where there is none."""
    found = tuple(vehicle for vehicle in dataset.vehicle_classes.values() if _may_be(vehicle, known))
    if not found:
        raise QuantityError(
            name="what is known of the vehicle",
            given=", ".join(known_words(known)) or "nothing",
            expected="a combination that some class has",
            next_step="leave out what is least sure, or look through: rangeferry list vehicles; for a port that no "
            "class has, its own page says which of our cables goes in",
        )
    return found


def _may_be(vehicle: VehicleClass, known: KnownOfVehicle) -> bool:
    battery = vehicle.battery.energy_usable_kwh
    low_kwh, high_kwh = BATTERY_WORDS[known.battery] if known.battery is not None else (0.0, 1e9)
    return (
        (known.among is None or vehicle.id in known.among)
        and (known.inlet is None or known.inlet in {port.inlet for port in vehicle.ports})
        and (known.body is None or vehicle.body == known.body)
        and (known.built is None or vehicle.built_from <= known.built <= (vehicle.built_to or 9999))
        and battery.low < high_kwh
        and battery.high >= low_kwh
        and known.fuel_door in {None, vehicle.engine}
    )


def known_words(known: KnownOfVehicle) -> list[str]:
    """Return what is known of a vehicle, a phrase each."""
    told = (("port", known.inlet), ("body", known.body), ("built", known.built), ("battery", known.battery))
    words = [f"{name} {value}" for name, value in told if value is not None]
    if known.fuel_door is not None:
        words.append("a fuel door too" if known.fuel_door else "no fuel door")
    if known.parted is not None:
        words.append(f"former class {known.parted}")
    return words


def envelope(dataset: Dataset, call: Call, known: KnownOfVehicle) -> Envelope:
    """Return the envelope of a call over all matching classes; the call's own vehicle is not looked at."""
    classes = matching(dataset, known)
    # What a tank would help is asked once the class is known; here the question is what a charge takes.
    call = replace(call, tank_empty=True if call.tank_empty is None else call.tank_empty)
    by_class = {
        vehicle.id: [
            plan_with_bands(dataset, replace(call, vehicle=vehicle.id, inlet=inlet))
            for inlet in inlet_cases(dataset, vehicle, known)
        ]
        for vehicle in classes
    }
    plans = [found for several in by_class.values() for found in several]
    # A question that every plan asks, such as for the place, is about the call: what the rig gives is shown beside it.
    open_codes = {found.ask.code for found in plans if found.ask is not None and found.verdict == "ask_first"}
    asked_of_all = len(open_codes) == 1 and not any(found.verdict in SERVED for found in plans)
    served = [
        found
        for found in plans
        if found.verdict in SERVED or (asked_of_all and found.ask is not None and found.minutes_on_site is not None)
    ]
    members = tuple(_member(found) for found in plans)

    def width(group: Sequence[VehicleClass], inlet: str | None) -> float:
        several = [found for vehicle in group for found in by_class[vehicle.id]]
        at_port = [found for found in several if inlet is None or found.call.inlet in {None, inlet}]
        return _width_min(at_port or several)

    asked = questions(classes, known, width)
    next_one = asked[0] if asked and _width_min(plans) > 0 else None
    # A question that every plan asks, such as for a breaker, is about the call and not about the vehicle.
    ask = None if next_one is None else Ask(next_one.text, next_one.code)
    if asked_of_all:
        ask = next(found.ask for found in plans if found.ask is not None)
    targets = [found.soc_target for found in served if found.soc_target is not None]
    rates = [found.miles_added_per_hour for found in served if found.miles_added_per_hour is not None]
    low, high = _ends(served)
    marks = dict.fromkeys(found.setting.mark for found in served if found.setting is not None)
    adapters = dict.fromkeys(found.path.adapter_words or "no adapter" for found in served if found.path is not None)
    first = plans[0]
    # A class that this rig cannot serve anyway says so for itself.
    open_ones = [found for found in plans if found.verdict != "cannot_serve"] or plans
    reasons = tuple(
        reason
        for reason in open_ones[0].reasons
        if reason.code in OF_THE_CALL
        and all(reason.text in {other.text for other in found.reasons} for found in open_ones)
    )
    if asked_of_all:
        verdict: Verdict = "ask_first"
    elif len(served) == len(plans) and any(found.verdict == "try" for found in served):
        verdict = "try"
    elif len(served) == len(plans):
        changes = any(found.verdict == "serve_with_changes" for found in served) or len(marks) > 1
        verdict = "serve_with_changes" if changes else "serve"
    else:
        refused_all = all(found.verdict == "cannot_serve" for found in plans)
        verdict = "cannot_serve" if refused_all else "ask_first"
    return Envelope(
        schema_version=ENVELOPE_SCHEMA_VERSION,
        dataset_version=dataset.version,
        rig=first.call.rig,
        rig_name=first.rig_name,
        known=known,
        verdict=verdict,
        refused=sum(found.verdict == "cannot_serve" for found in plans),
        minutes_p10=low,
        minutes_p90=high,
        soc_target_low=min(targets, default=None),
        soc_target_high=max(targets, default=None),
        miles_added_per_hour_low=min(rates, default=None),
        miles_added_per_hour_high=max(rates, default=None),
        setting_marks=tuple(marks),
        adapters=tuple(adapters),
        reasons=reasons,
        ask=ask,
        members=members,
    )


def inlet_cases(dataset: Dataset, vehicle: VehicleClass, known: KnownOfVehicle) -> list[str | None]:
    """Return the ports that a vehicle of a class may have: each is a case of its own where nobody has said which."""
    if known.inlet is not None:
        return [known.inlet]
    if has_one_certain_port(dataset, vehicle):
        return [None]
    return [port.inlet for port in vehicle.ports if takes_ac(dataset, vehicle, port.inlet)] or [None]


def _member(found: Plan) -> EnvelopeMember:
    minutes = found.minutes_on_site
    served = found.verdict != "cannot_serve"
    return EnvelopeMember(
        vehicle=found.call.vehicle,
        vehicle_name=found.vehicle_name,
        inlet=found.call.inlet,
        verdict=found.verdict,
        code=found.reasons[0].code,
        reason=found.reasons[0].text,
        minutes_likely=minutes.typical if minutes else None,
        minutes_p10=minutes.p10 if minutes else None,
        minutes_p90=minutes.p90 if minutes else None,
        soc_target=found.soc_target,
        miles_added_per_hour=found.miles_added_per_hour,
        setting_mark=found.setting.mark if found.setting and served else None,
        adapter=found.path.adapter_words if found.path and served else None,
    )


def _ends(served: Sequence[Plan]) -> tuple[int | None, int | None]:
    """Return the least p10 and the greatest p90; None at an end that some class never reaches."""
    bands = [found.minutes_on_site for found in served if found.minutes_on_site is not None]
    lows, highs = [band.p10 for band in bands], [band.p90 for band in bands]
    low = min((value for value in lows if value is not None), default=None)
    return low, None if None in highs else max((value for value in highs if value is not None), default=None)


def _width_min(plans: Sequence[Plan]) -> float:
    """Return how far a group of classes leaves it open: minutes from end to end, a day where it depends on which."""
    served = [found for found in plans if found.verdict in SERVED]
    if not served:
        return 0.0 if all(found.verdict == "cannot_serve" for found in plans) else DEPENDS_MIN
    if len(served) < len(plans):
        return DEPENDS_MIN
    low, high = _ends(served)
    return DEPENDS_MIN if low is None or high is None else float(high - low)


def questions(
    classes: Sequence[VehicleClass], known: KnownOfVehicle, width: Callable[[Sequence[VehicleClass], str | None], float]
) -> tuple[Question, ...]:
    """Return what could be asked next, the best first: the smallest mean width over its answers.

    Ties go to what can be seen: the port, the body, then the year, then the battery. A question that would tell no
    class from another is not asked, nor one with an answer that leaves all of them where no answer brings the minutes
    closer; the port always is, since it decides on the plug.
    """
    found: list[Question] = []
    as_it_is = width(classes, known.inlet)

    def idle(groups: Sequence[Sequence[VehicleClass]], mean: float) -> bool:
        """Return whether an answer would leave every class, and none brings the minutes closer."""
        return mean >= as_it_is and any(len(group) == len(classes) for group in groups)

    def consider(
        code: Literal["ask_port", "ask_body", "ask_built", "ask_battery", "ask_fuel_door"],
        text: str,
        answers: dict[str, KnownOfVehicle],
    ) -> None:
        told = list(answers.values())
        groups = [(tuple(vehicle for vehicle in classes if _may_be(vehicle, one)), one.inlet) for one in told]
        groups = [(group, inlet) for group, inlet in groups if group]
        if len(groups) > 1 and (code == "ask_port" or any(len(group) < len(classes) for group, _ in groups)):
            mean = sum(width(*one) for one in groups) / len(groups)
            if code == "ask_port" or not idle([group for group, _ in groups], mean):
                found.append(Question(code, text, mean))

    if known.inlet is None:
        inlets = dict.fromkeys(port.inlet for vehicle in classes for port in vehicle.ports)
        consider(
            "ask_port",
            sentence("ask_port", inlets=" or ".join(inlets)),
            {inlet: replace(known, inlet=inlet) for inlet in inlets},
        )
    if known.body is None:
        bodies = dict.fromkeys(vehicle.body for vehicle in classes)
        consider(
            "ask_body",
            sentence("ask_body", bodies=", ".join(BODY_SAID.get(body, body) for body in bodies)),
            {body: replace(known, body=body) for body in bodies},
        )
    if known.fuel_door is None:
        consider(
            "ask_fuel_door",
            sentence("ask_fuel_door"),
            {word: replace(known, fuel_door=there) for word, there in (("yes", True), ("no", False))},
        )
    if known.built is None:
        groups = {
            word: tuple(
                vehicle for vehicle in classes if vehicle.built_from <= last and (vehicle.built_to or 9999) >= first
            )
            for word, (first, last) in BUILT_WORDS.items()
        }
        whole = [group for group in groups.values() if group]
        if len(whole) > 1 and any(len(group) < len(classes) for group in whole):
            words = ", ".join(word for word, group in groups.items() if group)
            mean = sum(width(group, None) for group in whole) / len(whole)
            if not idle(whole, mean):
                found.append(Question("ask_built", sentence("ask_built", years=words), mean))
    if known.battery is None:
        consider(
            "ask_battery",
            sentence("ask_battery"),
            {word: replace(known, battery=word) for word in BATTERY_WORDS},
        )
    # Sorting keeps the order of equals, which is that of what can be seen.
    return tuple(sorted(found, key=lambda question: question.mean_width_min))
