"""The pages of vehicle classes: the filtered list, and one page a class."""

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice

from planner.figures import amps, hours_minutes, kilowatts, rounded_down
from planner.mating import REFUSAL_CODES, RefusedPath
from planner.publish.coupler_drawings import port_icon
from planner.publish.coupler_words import short
from planner.publish.drawings import Goal, power_curve, time_ruler
from planner.publish.markup import (
    Cell,
    Page,
    Row,
    begin_call,
    bullets,
    choice_fieldset,
    e,
    figure_cells,
    link,
    mark_words,
    name,
    narrow,
    notice,
    number,
    origins_section,
    section,
    setting_cell,
    table,
    verdict_mark,
)
from planner.publish.path_drawing import path_drawing
from planner.publish.place_drawing import class_share_words, inlet_mark, place_drawing, place_words
from planner.records import Dataset, VehicleClass, VehiclePort
from planner.tables import (
    USUAL_MILES,
    USUAL_START_PERCENT,
    Pair,
    allow_minutes,
    full_miles_mi,
    road_views,
    stay,
)

__all__ = ["BODY_WORDS", "filter_styles", "vehicle_pages"]

# How a body is shown, and what people call it on the telephone.
BODY_WORDS: dict[str, tuple[str, tuple[str, ...]]] = {
    "micro": ("Micro", ("tiny car", "two-seater", "quadricycle", "city car")),
    "hatch": ("Hatchback", ("small car", "five-door", "hatch", "compact car")),
    "sedan": ("Sedan", ("car", "saloon", "four-door", "liftback")),
    "crossover": ("Crossover", ("small SUV", "raised car", "wagon")),
    "suv": ("SUV", ("sport utility vehicle", "four-wheel drive", "off-roader")),
    "pickup": ("Pickup", ("truck", "pick-up", "ute", "crew cab")),
    "minivan": ("Minivan", ("people carrier", "family van", "sliding doors")),
    "van": ("Van", ("delivery van", "panel van", "work van")),
    "truck": ("Truck", ("box truck", "step van", "delivery truck", "lorry")),
    "bus": ("Bus", ("shuttle", "school bus", "coach")),
    "motorcycle": ("Motorcycle", ("motorbike", "bike", "two-wheeler")),
    "side_by_side": ("Side-by-side", ("off-road buggy", "utility vehicle", "quad", "UTV")),
    "snow_machine": ("Snow machine", ("snowmobile", "sled")),
}
CHEMISTRY_WORDS = {
    "nickel": "nickel, the taper begins early",
    "lfp": "iron-phosphate, full power until late, the dash percent may drift",
    "mixed": "nickel or iron-phosphate",
}
NO_WAY_CODES = REFUSAL_CODES | {"no_path"}
CHANGE_CODES = frozenset({"bring_adapter", "other_port", "this_class_only", "turn_setting"})
# Filter bands: key, words, then first and last year, or usable kWh from (included) and to (not included).
BUILT_BANDS = (("old", "To 2014", 0, 2014), ("mid", "2015 to 2019", 2015, 2019), ("new", "2020 on", 2020, 9999))
BATTERY_BANDS = (
    ("s", "Under 20", 0.0, 20.0),
    ("m", "20 to 50", 20.0, 50.0),
    ("l", "50 to 80", 50.0, 80.0),
    ("x", "Over 80", 80.0, 1e9),
)
NEWEST_YEAR = 2027  # model years that a search finds for a class still built
ANY = "-any"  # no record's id begins like this
_WORD = re.compile(r"[^\s,;()]+")
ALIKE_SHOWN = 6
REFUSED_SHOWN = 4


def vehicle_pages(dataset: Dataset, pairs: Mapping[str, Sequence[Pair]]) -> Iterator[Page]:
    """Yield the list and one page a class. `pairs` holds every rig's pair by class."""
    yield _index(dataset)
    by_body: dict[str, list[VehicleClass]] = {}
    for vehicle in dataset.vehicle_classes.values():
        by_body.setdefault(vehicle.body, []).append(vehicle)
    for vehicle in dataset.vehicle_classes.values():
        yield _class_page(dataset, vehicle, pairs[vehicle.id], by_body)
    yield from _former_pages(dataset)


# ------------------------------------------------------------------------------------------------------------ the list


def _index(dataset: Dataset) -> Page:
    groups = _filter_groups(dataset)
    fields = [choice_fieldset(*group, ANY) for group in groups]
    rows: list[Row] = []
    group = ""
    for vehicle in _in_order(dataset):
        if vehicle.body != group:
            group = vehicle.body
            rows.append(_body_row(group))
        rows.append(_row(dataset, vehicle))
    heads: list[str | Cell] = [
        "Class",
        "Port",
        Cell("Port sits", wide=True),
        Cell("Built", wide=True),
        Cell("Usable<br>kWh", figure=True),
        Cell("Charger<br>A", figure=True),
    ]
    count = len(dataset.vehicle_classes)
    body = (
        "<h1 data-search-exclude>Vehicle classes</h1>"
        '<p class="lead">A class is a group of vehicles that charge alike. No makes, no models: go by body, port and '
        "age.</p>"
        '<div><a class="way fnd-go" id="list-go" href="#list-find" data-search-exclude hidden>Find in the list</a></div>'
        f'<div class="flt"><div class="fset">{"".join(fields[:2])}</div>'
        f'<details><summary data-search-exclude>Built, battery</summary><div class="fset">{"".join(fields[2:])}</div></details>'
        f"{_FIND}{table('Vehicle classes', heads, rows)}"
        f'<p class="k shown" data-search-exclude>of {count} shown</p></div>'
        f'<p class="n">No class fits? Go by the {link("../ports/index.html", "port")}: a rig whose cable fits can still be '
        f"judged by {link('../rigs/index.html', 'what it allows')}. One that comes again: {link('../data/add-a-class.html', 'add a class')}.</p>"
    )
    return Page(
        "vehicles/index.md",
        "Vehicle classes",
        "All vehicle classes, filtered by port, body, age and battery.",
        body,
        tags=("classes", "list", "cars", "which car"),
        styles=("vehicles/filters.css",),
        scripts=("vehicles/filter.js",),
    )


# Shown by the script alone. Its line of news is there from the start: a region that comes with its text is not read out.
_FIND = (
    '<div class="fnd" id="list-tools" data-search-exclude hidden><label for="list-find">Find in the list</label>'
    '<input id="list-find" type="search" maxlength="80" autocomplete="off" autocapitalize="off" spellcheck="false">'
    '<button type="button" id="list-all">Show all</button>'
    '<button type="button" id="list-copy">Copy link to this list</button>'
    '<label class="fnd-link" id="list-link" hidden>The link to this list <input type="text" readonly></label></div>'
    '<p class="fnd-told" id="list-told" role="status" data-search-exclude></p>'
)


def _in_order(dataset: Dataset) -> list[VehicleClass]:
    bodies = list(BODY_WORDS)
    return sorted(dataset.vehicle_classes.values(), key=lambda found: (bodies.index(found.body), found.name))


def _filter_groups(dataset: Dataset) -> list[tuple[str, str, list[tuple[str, str]]]]:
    classes = dataset.vehicle_classes.values()
    inlets = {port.inlet for vehicle in classes for port in vehicle.ports}
    bodies = {vehicle.body for vehicle in classes}
    return [
        ("p", "Port", [(key, _port_word(inlet.name)) for key, inlet in dataset.inlets.items() if key in inlets]),
        ("b", "Body", [(key, words[0]) for key, words in BODY_WORDS.items() if key in bodies]),
        ("y", "Built", [(key, words) for key, words, _, _ in BUILT_BANDS]),
        ("k", "Battery, usable kWh", [(key, words) for key, words, _, _ in BATTERY_BANDS]),
    ]


def _port_word(name: str) -> str:
    return name.removesuffix(" inlet")


def filter_styles(dataset: Dataset) -> str:
    """Return the rules that hide the rows a chosen filter leaves out: a list that filters without a script."""
    return "".join(
        f'.flt:has(#{name}-{key}:checked) tbody tr:not([data-f~="{name}-{key}"]){{display:none}}\n'
        for name, _, choices in _filter_groups(dataset)
        for key, _ in choices
    )


def _body_row(body: str) -> Row:
    """Return the head of a group: any filter but that of its body hides it, and its rows stand alone."""
    empty = [Cell(""), Cell("", wide=True), Cell("", wide=True), Cell(""), Cell("")]
    return Row([Cell(f"<b>{BODY_WORDS[body][0]}</b>"), *empty], marks=f"b-{body}")


def _row(dataset: Dataset, vehicle: VehicleClass) -> Row:
    built_to = vehicle.built_to or 9999
    energy_kwh = vehicle.battery.energy_usable_kwh.typical
    marks = [f"p-{port.inlet}" for port in vehicle.ports]
    marks.append(f"b-{vehicle.body}")
    marks += [f"y-{key}" for key, _, low, high in BUILT_BANDS if vehicle.built_from <= high and built_to >= low]
    marks += [f"k-{key}" for key, _, low, high in BATTERY_BANDS if low <= energy_kwh < high]
    ports = " and ".join(_port_word(dataset.inlets[key].name) for key in [port.inlet for port in vehicle.ports])
    places = "; ".join(place_words(port) for port in vehicle.ports)
    built = _built(vehicle)
    return Row(
        marks=" ".join(marks),
        words=" ".join(_unseen(_tags(dataset, vehicle), [vehicle.name, ports, places, built])),
        cells=[
            Cell(link(f"{vehicle.id}.html", vehicle.name)),
            Cell(e(ports)),
            Cell(e(places), wide=True),
            Cell(e(built), wide=True),
            Cell(f'<b class="f">{number(energy_kwh)}</b>', figure=True),
            Cell(f'<b class="f">{number(vehicle.onboard_charger.current_a.typical)}</b>', figure=True),
        ],
    )


def _unseen(tags: Sequence[str], seen: Sequence[str]) -> list[str]:
    """Return the words of the tags, each once, that are not among the words that a row shows."""
    shown = {word for text in seen for word in _WORD.findall(text.lower())}
    return [word for word in dict.fromkeys(_WORD.findall(" ".join(tags).lower())) if word not in shown]


def _built(vehicle: VehicleClass) -> str:
    return f"{vehicle.built_from} on" if vehicle.built_to is None else f"{vehicle.built_from} to {vehicle.built_to}"


# --------------------------------------------------------------------------------------------------------- one class


def _class_page(
    dataset: Dataset,
    vehicle: VehicleClass,
    pairs: Sequence[Pair],
    by_body: Mapping[str, Sequence[VehicleClass]],
) -> Page:
    charger, battery, label = vehicle.onboard_charger, vehicle.battery, vehicle.label
    body_word = BODY_WORDS[vehicle.body][0]
    ports = ", ".join(dict.fromkeys(_port_word(dataset.inlets[port.inlet].name) for port in vehicle.ports))
    figures = figure_cells(
        [
            ("Usable", number(battery.energy_usable_kwh.typical), "kWh"),
            ("Onboard charger", number(charger.current_a.typical), f"A, {number(charger.power_kw.typical)} kW"),
            ("Full battery, by its label", str(full_miles_mi(dataset, vehicle.id)), "mi"),
            ("Label, at the wall", number(label.consumption_wall_kwh_per_100mi.typical), "kWh per 100 mi"),
        ]
    )
    best = _best(pairs)
    where = "; ".join(f"{dataset.inlets[port.inlet].name}, {place_words(port)}" for port in vehicle.ports)
    parts = [
        f'<p class="crumb" data-search-exclude><a href="index.html">All classes</a> / {e(body_word)}</p>',
        f"<h1 data-search-exclude>{e(vehicle.name)}</h1>",
        f'<p class="lead">{e(vehicle.summary)}</p><p><b>Port:</b> {e(where)}.</p>' + begin_call("class", vehicle.id),
        _fuel_first() if vehicle.engine else "",
        section("With each rig", "rigs", _by_rig(pairs)),
        section("Tell it, and find its port", "tell", _tell(dataset, vehicle, by_body)),
        section("The class in figures", "figures", figures),
        _ruler_section(dataset, vehicle, best),
        _road_section(dataset, vehicle, best),
        _roadside_section(dataset, vehicle, best, pairs),
    ]
    curve = _curve_section(dataset, vehicle, pairs)
    parts.append(f'<div class="sp"><div>{_band_section(vehicle)}</div><div>{curve}</div></div>')
    limits = (
        f"Charger: {charger.phases} phase{'s' if charger.phases > 1 else ''}, {charger.voltage_low_v:.0f} to "
        f"{charger.voltage_high_v:.0f} V, at most {e(amps(charger.current_a.high))} in the class. "
    )
    parts.append(origins_section(vehicle, dataset.sources, "../", limits))
    return Page(
        f"vehicles/{vehicle.id}.md",
        vehicle.name,
        f"{vehicle.name}: {ports} port, which rig serves it, what to set, minutes and miles.",
        "".join(parts),
        tags=_tags(dataset, vehicle),
    )


def _tags(dataset: Dataset, vehicle: VehicleClass) -> list[str]:
    """Return the words that a search should find the class by: body, ports, years, engine, everyday names."""
    word, everyday = BODY_WORDS[vehicle.body]
    words = [word, *everyday, *vehicle.also_called]
    for port in vehicle.ports:
        inlet = dataset.inlets[port.inlet]
        words += [inlet.name, *inlet.also_called]
    words += [
        str(year) for year in range(vehicle.built_from, (vehicle.built_to or max(NEWEST_YEAR, vehicle.built_from)) + 1)
    ]
    words.append("older" if vehicle.built_to is not None else "still built")
    words += ["plug-in hybrid", "PHEV", "gasoline engine"] if vehicle.engine else ["battery electric", "EV"]
    return list(dict.fromkeys(words))


def _best(pairs: Sequence[Pair]) -> Pair | None:
    """Return the pair that adds the most miles an hour; the first of equals."""
    served = [pair for pair in pairs if pair.plan.miles_added_per_hour]
    return max(served, key=lambda pair: pair.plan.miles_added_per_hour or 0, default=None)


def _by_rig(pairs: Sequence[Pair]) -> str:
    heads: list[str | Cell] = [
        "Rig",
        Cell("Verdict", wide=True),
        Cell("Plug", wide=True),
        Cell("Setting,<br>read back", figure=True),
        Cell("kW at<br>meter", figure=True, wide=True),
        Cell("Miles added<br>per hour", figure=True),
        *(Cell(f"Min for<br>{miles} mi", figure=True) for miles in USUAL_MILES),
        Cell("Held back by", wide=True),
    ]
    best = _best(pairs)
    in_order = sorted(pairs, key=lambda pair: pair.plan.setting is None)  # what serves first
    rows = [_rig_row(pair, on=pair is best) for pair in in_order]
    notes = (
        f"From {USUAL_START_PERCENT} % on the dash, arriving with {USUAL_START_PERCENT} % left. Minutes on site, "
        "likely: parking, warm-up, a cold pack, charging, cool-down and packing up. The percent to release at makes the "
        "miles in nine of ten cases. Each rig at its usual site, on a level mixed road in that air; a faster road, hills: by a "
        "call."
    )
    why = [item for pair in in_order for item in _remarks(pair)]
    return table("What each rig does for this class", heads, rows) + f'<p class="n">{notes}</p>' + bullets(why)


def _remarks(pair: Pair) -> Iterator[str]:
    """Yield what the row cannot say: the change that is needed, what the cold does, needs that are not served."""
    plan = pair.plan
    rig = f"<b>{e(plan.rig_name)}:</b>"
    if plan.verdict == "serve_with_changes":
        yield f"{rig} {' '.join(e(reason.text) for reason in plan.reasons if reason.code in CHANGE_CODES)}"
    if plan.ask is not None and plan.ask.code == "which_port":
        yield f"{rig} {e(plan.reasons[0].text)} The minutes are for the port that it serves."
    if plan.setting is not None:
        yield from (f"{rig} {e(caution.text)}" for caution in plan.cautions if caution.code == "cold_vehicle")
    long = [need for need in pair.needs if any(caution.code == "long_stay" for caution in need.plan.cautions)]
    if long and long[0].minutes_on_site is not None:
        yield (
            f"{rig} {hours_minutes(long[0].minutes_on_site)} for {long[0].miles} mi: a tow to a charger may be the quicker "
            "help."
        )
    for need in pair.needs:
        if need.minutes_on_site is None and need.plan.reasons:
            yield f"<b>{e(plan.rig_name)}, {need.miles} mi:</b> {e(need.plan.reasons[0].text)}"


def _rig_row(pair: Pair, *, on: bool) -> Row:
    plan = pair.plan
    name = link(f"../rigs/{pair.rig}.html", plan.rig_name)
    verdict = Cell(verdict_mark(plan.verdict), wide=True)
    if plan.setting is None or plan.path is None or plan.power_meter_kw is None:
        text = plan.reasons[0].text if plan.reasons else ""
        rig = Cell(name + narrow(verdict_mark(plan.verdict)))
        return Row([rig, verdict, Cell(f'<span class="n">{e(text)}</span>', span=8)])
    connector = plan.path.connector_name.removesuffix(" connector")
    way = f"{connector}, {plan.path.adapter_words or 'no adapter'}"
    held = pair.held_back_by
    needs = [Cell(_minutes(need.minutes_on_site), figure=True) for need in pair.needs]
    return Row(
        on=on,
        cells=[
            Cell(name + narrow(f"{verdict_mark(plan.verdict)}<br>{e(way)}")),
            verdict,
            Cell(e(way), wide=True),
            Cell(setting_cell(plan.setting, on=on), figure=True),
            Cell(f'<b class="f">{e(kilowatts(plan.power_meter_kw).removesuffix(" kW"))}</b>', figure=True, wide=True),
            Cell(f'<b class="f">{plan.miles_added_per_hour}</b>', figure=True),
            *needs,
            Cell(e(held.name if held is not None else ""), wide=True),
        ],
    )


def _minutes(minutes: int | None) -> str:
    return f'<b class="f">{minutes}</b>' if minutes is not None else '–<span class="vh"> see below</span>'


def _road_section(dataset: Dataset, vehicle: VehicleClass, best: Pair | None) -> str:
    """Return label, a mild day and a winter highway side by side, with the reasons for the difference."""
    found = road_views(dataset, best.rig, vehicle.id) if best is not None else None
    if best is None or found is None:
        return ""
    heads: list[str | Cell] = ["What", *(Cell(e(view.name), figure=True) for view in found.views)]

    def row(name: str, values: Sequence[str]) -> list[Cell]:
        return [Cell(name), *(Cell(f'<b class="f">{value}</b>', figure=True) for value in values)]

    rows = [
        row("kWh per 100 mi, at the battery", [f"{view.wh_per_10_miles / 100:.1f}" for view in found.views]),
        row("Miles of a full battery as it is now", [str(view.full_miles_mi) for view in found.views]),
        row(
            "kW into the battery",
            [number(rounded_down(view.power_battery_kw)) if view.power_battery_kw else "–" for view in found.views],
        ),
        row("Miles added per hour plugged in", [str(view.miles_added_per_hour) for view in found.views]),
    ]
    parts = [
        f"{name} {wh / 100:+.1f}"
        for name, wh in (
            ("the speed", found.speed_wh),
            ("cold air, tyres and pack", found.air_wh),
            ("cabin heat", found.cabin_wh),
        )
        if wh
    ]
    why = f"From the label to the winter highway, in kWh per 100 mi: {'; '.join(parts)}."
    if found.cabin_while_charging_kw > 0:
        why += (
            f" Cabin heat left on while it charges takes another {found.cabin_while_charging_kw:.1f} kW: off is faster."
        )
    return section(
        f"Label, a usual day and a winter highway, with {best.plan.rig_name}",
        "road",
        table("What the road takes and what an hour adds", heads, rows) + f'<p class="n">{e(why)}</p>',
    )


def _ruler_section(dataset: Dataset, vehicle: VehicleClass, best: Pair | None) -> str:
    """Return the time ruler of the rig that is quickest, with the minutes on site besides."""
    if best is None or best.plan.setting is None:
        return ""
    run = stay(dataset, best.rig, vehicle.id)
    served = [
        (need, charging, need.minutes_on_site)
        for need in best.needs
        if (charging := need.plan.minutes_charging) is not None and need.minutes_on_site is not None
    ]
    if run is None or not served:
        return ""
    goals = [Goal(charging.typical, f"{need.miles} mi") for need, charging, _ in served]
    drawing = time_ruler(run.percents, run.miles, goals, name=vehicle.name)
    heads: list[str | Cell] = [
        "Need",
        Cell("Minutes<br>plugged in", figure=True),
        Cell("On site,<br>likely", figure=True),
        Cell("On site,<br>allow", figure=True),
        Cell("Release at", figure=True),
    ]
    allowed = {
        need.miles: allow_minutes(dataset, best.rig, vehicle.id, need.miles) or on_site for need, _, on_site in served
    }
    rows = [
        [
            Cell(f"{need.miles} mi"),
            Cell(f'<b class="f">{charging.typical}</b>', figure=True),
            Cell(f'<b class="f">{on_site}</b>', figure=True),
            Cell(f'<b class="f">{allowed[need.miles]}</b>', figure=True),
            Cell(f'<b class="f">{100 * (need.plan.soc_release or 0):.0f}</b> %', figure=True),
        ]
        for need, charging, on_site in served
    ]
    numbers = table("Minutes plugged in and on site, and the percent to release at", heads, rows)
    need, charging, on_site = served[0]
    parts = need.plan.minutes_parts
    besides = ""
    if parts is not None:
        pieces = [
            f"{name} {minutes}"
            for name, minutes in (
                ("parking", parts.park),
                ("warm-up", parts.warm_up),
                ("hand-shake", parts.handshake),
                ("cool-down", parts.cool_down),
                ("packing up", parts.pack_up),
            )
            if minutes
        ]
        stops = any(one.plan.minutes_parts and one.plan.minutes_parts.refuel for one, _, _ in served)
        refuel = "; refuel stops on top where the tank runs out" if stops else ""
        besides = f'<p class="n">On site {on_site - charging.typical} min more: {", ".join(pieces)}{refuel}.</p>'
    title = f"Minutes plugged in with {best.plan.rig_name}, {mark_words(best.plan.setting.mark, best.plan.setting.output_a)}"
    return section(title, "minutes", f"{drawing}{besides}<details><summary>The numbers</summary>{numbers}</details>")


def _roadside_section(dataset: Dataset, vehicle: VehicleClass, best: Pair | None, pairs: Sequence[Pair]) -> str:
    """Return what the crew does and watches with the quickest rig: for the need in the middle, or for the small one."""
    mind = section("Mind", "mind", bullets(e(text) for text in _mind(vehicle)))
    if best is None:
        return _refused_section(dataset, pairs) + mind
    needs = reversed(best.needs[:2])
    need = next((need for need in needs if need.minutes_on_site is not None), None)
    if need is None:
        return mind
    plan = need.plan
    steps = "".join(f"<li>{e(step)}</li>" for step in plan.steps)
    rows = []
    for watch in plan.watch:
        stops = [f"below {watch.stop_below:.0f}"] if watch.stop_below is not None else []
        stops += [f"above {rounded_down(watch.stop_above):g}"] if watch.stop_above is not None else []
        band = f"{rounded_down(watch.low):g} to {rounded_down(watch.high):g}"
        rows.append(
            [
                Cell(e(f"{watch.what}, {watch.unit}")),
                Cell(f'<b class="f">{e(band)}</b>', figure=True),
                Cell(" or <br>".join(stops) or "–", figure=True),
            ]
        )
    heads: list[str | Cell] = ["What", Cell("Should read", figure=True), Cell("Stop", figure=True)]
    watch_table = table("What the meter should read, and when to stop", heads, rows)
    stop = bullets(f"<b>{e(caution.text)}</b>" for caution in plan.cautions if caution.level != "note")
    give_up = bullets(e(item.text) for item in plan.abort)
    left = section("Give up when", "abort", give_up) + mind
    return section(
        f"At the roadside with {plan.rig_name}, {need.miles} mi from {USUAL_START_PERCENT} %",
        "roadside",
        f'{stop}<div class="sp"><div>{_path_used(dataset, best)}<ol class="steps">{steps}</ol></div>'
        f"<div>{watch_table}{left}</div></div>",
    )


def _path_used(dataset: Dataset, pair: Pair | None) -> str:
    """Return the way from our cable into the port, drawn."""
    path = pair.plan.path if pair is not None else None
    if path is None:
        return ""
    return path_drawing(
        dataset,
        dataset.connectors[path.connector],
        dataset.adapters[path.adapter] if path.adapter is not None else None,
        dataset.inlets[path.inlet],
        key=path.inlet,
        kept=path.adapter_kept,
    )


def _refused_section(dataset: Dataset, pairs: Sequence[Pair]) -> str:
    """Return why no rig's cable serves a class, drawn: the bare cables, one for each thing there is to say."""
    found: dict[str, RefusedPath] = {}
    for pair in pairs:
        if any(reason.code in NO_WAY_CODES for reason in pair.plan.reasons):
            for way in pair.plan.refused_paths:
                if way.adapter is None:
                    found.setdefault(way.text, way)
    drawn = [
        path_drawing(
            dataset,
            dataset.connectors[way.connector],
            None,
            dataset.inlets[way.inlet],
            key=f"{way.connector}-{way.inlet}",
            code=way.code,
        )
        + f"<p>{e(way.text)}</p>"
        for way in islice(found.values(), REFUSED_SHOWN)
    ]
    blocks = "".join(f"<div>{one}</div>" for one in drawn)
    return section("Why no cable of ours serves it", "refused", f'<div class="sp">{blocks}</div>') if drawn else ""


def _fuel_first() -> str:
    return notice(
        "ask_first",
        "Is there fuel in its tank?",
        "<p>It also drives on fuel: a can of fuel may be the quicker help, and with fuel in it no battery strands it.</p>",
    )


def _tell(dataset: Dataset, vehicle: VehicleClass, by_body: Mapping[str, Sequence[VehicleClass]]) -> str:
    """Return where the ports sit, drawn and in words, what each carries, and what else the class looks like."""
    names = {}
    for port in vehicle.ports:
        alone = "" if "AC" in _carried(dataset, port) else ", DC\u00a0only"  # found first, it may be taken for ours
        names[port.inlet] = short(dataset.inlets[port.inlet].name) + alone
    items = "".join(f"<li>{_port_item(dataset, vehicle, port)}</li>" for port in vehicle.ports)
    note = "Left and right as the driver sits, looking forward. Shares are rounded: look at the vehicle."
    if len(vehicle.ports) > 1 and any(len(port.places) > 1 for port in vehicle.ports):
        note += " Those at the places are of the vehicles that have that port."
    parts = [f'<ul class="pk">{items}</ul><p class="n">{note}</p><p>Built {e(_built(vehicle))}.</p>']
    alike = [
        f"{link(f'{other.id}.html', other.name)} ({e(_told_by(dataset, vehicle, other))})"
        for other in _alike(vehicle, by_body[vehicle.body])
    ]
    if alike:
        parts.append(f"<p data-search-exclude>Looks alike: {', '.join(alike)}.</p>")
    drawn = f'<div class="sp"><div>{place_drawing(vehicle, names)}</div><div>{"".join(parts)}</div></div>'
    return bullets(e(sentence) for sentence in vehicle.recognize) + drawn


def _alike(vehicle: VehicleClass, of_body: Sequence[VehicleClass]) -> list[VehicleClass]:
    """Return the classes that are likeliest taken for this one: one body, years that overlap, a battery that is near."""
    last = vehicle.built_to or NEWEST_YEAR

    def apart(other: VehicleClass) -> tuple[bool, float, str]:
        overlap = other.built_from <= last and (other.built_to or NEWEST_YEAR) >= vehicle.built_from
        energy, own = other.battery.energy_usable_kwh.typical, vehicle.battery.energy_usable_kwh.typical
        return not overlap, max(energy, own) / min(energy, own), other.id

    return sorted((other for other in of_body if other.id != vehicle.id), key=apart)[:ALIKE_SHOWN]


def _told_by(dataset: Dataset, vehicle: VehicleClass, other: VehicleClass) -> str:
    """Return what tells another class from this one, the first thing that can be seen or asked."""
    if vehicle.engine != other.engine:
        return "with a fuel door" if other.engine else "no fuel door"
    ports = {port.inlet for port in vehicle.ports}, {port.inlet for port in other.ports}
    if ports[0] != ports[1]:
        return " or ".join(_port_word(dataset.inlets[port.inlet].name) for port in other.ports)
    if vehicle.size != other.size and other.size is not None:
        return other.size
    return f"{number(other.battery.energy_usable_kwh.typical)} kWh, built {_built(other)}"


def _port_item(dataset: Dataset, vehicle: VehicleClass, port: VehiclePort) -> str:
    """Return one inlet of a class: its mark and face, its name, what it carries there, how many have it, and where."""
    inlet, face = dataset.inlets[port.inlet], dataset.faces.get(port.inlet)
    mark = inlet_mark(vehicle.ports.index(port)) if len(vehicle.ports) > 1 else ""
    kinds = _carried(dataset, port)
    carries = " and ".join(kinds) or "nothing that is connected"
    if inlet.plugs_into is not None:
        carries = "AC, by a cord of its own"
    elif kinds == ["DC"]:
        carries = "DC only: not for our unit"
    return (
        f"<span>{mark}{port_icon(face) if face is not None else ''}</span>"
        f"<div><b>{link(f'../ports/{port.inlet}.html', inlet.name)}</b>: {e(carries)}; {e(class_share_words(port))}.<br>"
        f'Where: {name(place_words(port))}.<br><span class="n">{name(inlet.tell_apart)}</span></div>'
    )


def _carried(dataset: Dataset, port: VehiclePort) -> list[str]:
    """Return what an inlet carries on a class: what its contacts could, less what is not connected there."""
    inlet = dataset.inlets[port.inlet]
    could = [kind for kind, contacts in (("ac", inlet.ac), ("dc", inlet.dc)) if contacts is not None]
    return [kind.upper() for kind in could if port.carries is None or kind in port.carries]


def _mind(vehicle: VehicleClass) -> Iterator[str]:
    if vehicle.notes:
        yield vehicle.notes
    habit = vehicle.charging.pilot_margin
    if habit.high > 0:
        yield (
            f"It may draw up to {100 * habit.high:.0f} % less than the pilot allows: a little less on the meter is "
            "no fault."
        )
    yield "Release by the percent on its dash and the kWh on the meter, never by the clock."


def _curve_section(dataset: Dataset, vehicle: VehicleClass, pairs: Sequence[Pair]) -> str:
    best = _best(pairs)
    served = [pair for pair in pairs if pair.plan.setting is not None]
    served.sort(key=lambda pair: (pair is not best, -(pair.plan.power_battery_kw or 0)))
    alike: dict[str, list[Pair]] = {}  # rigs that give this class the same power share a curve
    for pair in served:
        alike.setdefault(kilowatts(pair.plan.power_battery_kw or 0), []).append(pair)
    curves = []
    for group in list(alike.values())[:4]:
        run = stay(dataset, group[0].rig, vehicle.id)
        setting = group[0].plan.setting
        if run is not None and setting is not None:
            label = f"{group[0].plan.rig_name}, {mark_words(setting.mark, setting.output_a)}"
            if len(group) > 1:
                label = f"{group[0].plan.rig_name} and {len(group) - 1} more alike"
            curves.append((label, run.powers_kw))
    if not curves:
        return ""
    note = '<p class="n">Constant until the taper, then falling; the taper is a judgement, see the method.</p>'
    return section("Power over the charge", "power", power_curve(curves, name=vehicle.name) + note)


def _band_section(vehicle: VehicleClass) -> str:
    rows = []
    for words, spread, unit in (
        ("Usable energy", vehicle.battery.energy_usable_kwh, "kWh"),
        ("Onboard charger", vehicle.onboard_charger.current_a, "A"),
        ("Onboard charger", vehicle.onboard_charger.power_kw, "kW"),
        ("Label, at the wall", vehicle.label.consumption_wall_kwh_per_100mi, "kWh per 100 mi"),
        ("Own use while charging", vehicle.charging.auxiliaries_kw, "kW"),
        ("Mass with driver and load", vehicle.road.mass_kg, "kg"),
        ("Drag area", vehicle.road.drag_area_m2, "m²"),
        ("Pack, nominal", vehicle.battery.voltage_v, "V"),
        ("At a DC station, at best", vehicle.dc.power_kw if vehicle.dc is not None else None, "kW"),
    ):
        if spread is None:
            continue
        rows.append(
            [
                Cell(e(f"{words}, {unit}")),
                Cell(number(spread.low), figure=True),
                Cell(f'<b class="f">{number(spread.typical)}</b>', figure=True),
                Cell(number(spread.high), figure=True),
            ]
        )
    heads: list[str | Cell] = [
        "Within the class",
        Cell("low", figure=True),
        Cell("typical", figure=True),
        Cell("high", figure=True),
    ]
    note = f'<p class="n">Cells: {CHEMISTRY_WORDS[vehicle.battery.chemistry]}.'
    note += " DC is for information: no rig of ours gives it.</p>" if vehicle.dc is not None else "</p>"
    return section("How the class varies", "band", table("Low, typical and high of the class", heads, rows) + note)


# -------------------------------------------------------------------------------------------------------- former ids


def _former_pages(dataset: Dataset) -> Iterator[Page]:
    """Yield a page at the address of every class that was parted or renamed: an old link still leads somewhere."""
    for split in dataset.splits.values():
        items = [
            f"{link(f'{one}.html', dataset.vehicle_classes[one].name)}: {e(dataset.vehicle_classes[one].summary)}"
            for one in split.into
        ]
        body = (
            '<p class="crumb" data-search-exclude><a href="index.html">All classes</a></p>'
            f"<h1 data-search-exclude>{e(split.name)}</h1>"
            f'<p class="lead">It was parted into {len(split.into)} classes in data {e(split.since)}. {e(split.why)}</p>'
            + bullets(items)
            + f'<p class="n">By the command line <code>{e(split.id)}</code> still answers, for all of them.</p>'
        )
        yield Page(
            f"vehicles/{split.id}.md",
            split.name,
            f"{split.name}: parted into others.",
            body,
            split.also_called,
            boost=0.5,
        )
    for vehicle in dataset.vehicle_classes.values():
        for former in vehicle.formerly:
            body = (
                '<p class="crumb" data-search-exclude><a href="index.html">All classes</a></p>'
                f"<h1 data-search-exclude>{e(vehicle.name)}</h1>"
                f'<p class="lead">It was called <code>{e(former)}</code>. {link(f"{vehicle.id}.html", "To its page")}.</p>'
            )
            yield Page(f"vehicles/{former}.md", vehicle.name, f"{vehicle.name}: renamed.", body, boost=0.3)
