"""Sentences with blanks that depend on a call's own numbers: the planner fills them in, and so does the call page.

One wording each, so that a page that fills in the same figures says the same. A name in braces is a blank.
"""

__all__ = ["SENTENCES", "sentence"]

SENTENCES: dict[str, str] = {
    # ------------------------------------------------------------------------------------------- why, and what to do
    "held_by": "{link} allows {amps} ({basis}).",
    "fits": "Every part carries {amps} for hours: {held_by}",
    "fits_by_code": "The cable carries {amps} and tells the vehicle so; every other part carries the setting.",
    "turn_from": "Turn the unit from mark {from_mark} to mark {mark} ({amps}): {held_by}",
    "turn_set": "Set the unit to mark {mark}, whatever it shows ({amps}): {held_by}",
    "bring_adapter": "Bring {adapter}: it is kept at the depot, not on board.",
    "this_class_only": "The unit stands at {amps}, above what the source gives ({allowed}). This class draws less. Serve "
    "this class only, and stop if the meter reads above {stop}.",
    "dash_percent": "{percent} %",
    "dash_taken": "{said}, taken for {percent} %",
    "already": "The dash says {dash}; the need takes {percent} %{cases}. Nothing has to be added.",
    "in_cases": " in nine of ten cases",
    "keeps_percent": "{percent} % left",
    "keeps_or_miles": "{percent} % or {miles} mi left, whichever is more",
    "too_far": "{distance}, arriving with {kept}, does not fit into a full battery on this road today; {most} does, in "
    "nine of ten cases.",
    "too_far_now": " It now has about {now} above its reserve. {what_would_do}A nearer goal, or a tow.",
    "would_do": "It would be made in nine of ten cases {how}. ",
    "slower": "at a steady {speed} mph",
    "no_cabin": "without cabin heat or cooling",
    "not_sure": "From {percent} % on the dash {distance} on this road today is made in about {chance} of 100 cases; {most} "
    "in 90 of 100. {what_would_do}The plan is for {percent} %.",
    "too_short": "{minutes} min plugged in give less than one percent, hand-shake and cold start included.",
    "shoulder_first": "On a shoulder {cap} minutes on site are the most",
    "shoulder_nothing": "{first}, and they give less than one percent. A tow to a safe place; it is charged there.",
    "shoulder_gives": "{first}: they bring the dash to {percent} %, {miles} mi more at least, not to the {target} % it "
    "takes. The plan is for {percent} %.",
    "ask_shoulder": "This takes {minutes} min on the shoulder and {cap} min is the most: can it roll or be towed to a safe "
    "place first?",
    "source_empty": "{rig} does not have enough {what} on board for one percent and {kept}. Fill it up first, or send "
    "another rig.",
    "source_short": "{rig}'s {what} on board can bring the dash to {percent} %, not the {target} % it takes, and keeps "
    "{kept}. The plan is for {percent} %.",
    "ask_source_short": "What we have on board ends at {percent} % on the dash, not {target} %: does that help?",
    "kept_fuel": "an hour's fuel at this load, or the way home",
    "kept_floor_home": "its floor and the way home",
    "kept_floor": "its floor",
    "tow": "A flatbed takes about {tow} over {distance} once it is there; we would stay for up to {stay}: a tow may be the "
    "better answer.",
    "goal_far": "{goal}, {distance} away",
    "goal_met": "{far}: it gets there as it stands, with {percent} % on the dash.",
    "goal_takes": "{far}: takes {percent} % on the dash",
    "goal_minutes": ", about {minutes} min on site.",
    "goal_open": " Not known: {points}.",
    "goal_fits": "whether it takes this port",
    "goal_works": "whether it is open",
    # --------------------------------------------------------------------------------------------------- in the cold
    "cold_crawls": "The pack is too cold for full power and does not warm up: it takes {power}.",
    "cold_warms": "Its pack at about {pack} warms itself first: {minutes} min until full power, {more} min more in all. A "
    "rising percent may wait for that.",
    "cold_cabin": "Cabin heat takes {cabin} kW of it ({share} %): off is faster.",
    "propane_cold": "Propane gives less and less gas in the cold, hardly any near -40 F, and this is not in the figures at {air}: use gasoline, or stop when the engine starves.",
    "cold_store": "The rig's own battery, too, gives less in the cold than is reckoned here.",
    # -------------------------------------------------------------------------------------------------------- steps
    "take": "take {things} from the depot",
    "bring": "bring {things}",
    "before_driving": "Before driving out: {things}.",
    "draws": "{amps} and {power} on the meter at {volts}",
    "cabin_off_now": "Cabin's heat or cooling off{must}.",
    "it_must": ": it must be",
    "cold_wait": "Cold pack: up to {minutes} min its heater comes first; until then a percent that hardly moves is no reason to stop.",
    "feel": "Feel every plug and coupler at {when}, glove off, back of the hand first. Too hot to hold: stop, give up; it cools in place.",
    "feel_once": "10 minutes",
    "feel_twice": "10 and at 30 minutes",
    "feel_hourly": "10, at 30 minutes and every hour",
    "refuel": "Refuel stop, {stops}: charge off, 0 A, connector out; engine off, cool; fill; engine warm; {plug_in}.",
    "once": "once",
    "times": "{count} times",
    "release": "Release at {percent} % on the dash, about {energy} kWh on the meter; not by the clock.",
    "not_there": " Not there {stay} after it began: tell the dispatcher.",
    # ----------------------------------------------------------------------------------------------- when to give up
    "no_percent": "The dash percent has not risen after {minutes} minutes of charging, cold start included.",
    "store_floor": "The rig's own battery at {percent} %, {what}: stop there.",
    "fuel_floor": "No more than {fuel} of fuel left in tank and cans: stop there.",
    "shoulder_over": "{cap} minutes on the shoulder are over: stop, pack up, a tow.",
    # ------------------------------------------------------------------------------------ which vehicle it may be
    "ask_port": "Which port does it have: {inlets}? A picture of the open flap tells.",
    "ask_body": "What kind of body does it have: {bodies}?",
    "ask_fuel_door": "Does it drive on gasoline too?",
    "ask_built": "When was it built: {years}?",
    "ask_battery": "How large is its battery when new: small (under 30 kWh), medium (30 to 70) or large?",
    # ---------------------------------------------------------------------------------------- what the customer hears
    "say_shoulder": "up to {cap} minutes from when we arrive, and no longer on a shoulder",
    "say_up_to": "up to {stay} from when we arrive",
    "say_about": "about {stay} from when we arrive",
    "say_longer": "; it may well take longer",
    "say": "Please allow {allow}. Then your dash should show {percent} %: that takes you at least {miles} in nine of ten "
    "cases, {how}.",
    "say_miles": "{miles} miles",
    "say_mile": "{miles} mile",
    "say_ordinary": "at ordinary speeds",
    "say_speed": "at {speed} mph",
    "say_no_cabin": " without cabin heat or cooling",
    "say_percent": "{how}. Go by the percent, not by the miles it shows",
    "say_engine": "While we charge, everybody stays out of the vehicles and 20 feet or more away from our engine.",
    "say_cabin": "Please leave the cabin's heat or cooling off while we charge, switch scheduled charging off, and keep the "
    "key at hand.",
    "say_warm": "It is a long wait in the cold: please have a warm place for it, and tell us if there is none.",
    "say_key": "Please switch scheduled charging off while we charge, and keep the key at hand.",
}


def sentence(name: str, **blanks: object) -> str:
    """Return a sentence with its blanks filled in.

    >>> sentence("dash_percent", percent=12)
    '12 %'
    """
    return SENTENCES[name].format(**blanks)
