"""A rig's page: every figure is the planner's own, every caution applies, and any rig that may be recorded has a page."""

import html
import math
import re
from dataclasses import replace

import make
import pytest

from planner.chain import source_state
from planner.gains import gains
from planner.genset import loading_proved
from planner.publish.markup import page_parts
from planner.publish.rig_pages import rig_pages
from planner.tables import pair, rig_view
from planner.units import FT_PER_M, LITRES_PER_GALLON
from publish.test_artefacts import down, drawing_of, read, tables_of

CHANGES = "What each single change would give"


def up(value, digits):
    """Round up, as what is burnt is shown."""
    return f"{math.ceil(value * 10**digits - 1e-9) / 10**digits:.{digits}f}"


def kw(power_w):
    """Kilowatts as shown: down to a tenth, to a hundredth below 1 kW."""
    if power_w <= 0:
        return "0"
    return f"{down(power_w / 1000):.1f}" if power_w >= 1000 else f"{math.floor(power_w / 10 + 1e-9) / 100:.2f}"


def built(dataset):
    views = {rig_id: rig_view(dataset, rig_id) for rig_id in dataset.rigs}
    found = {rig_id: [pair(dataset, rig_id, key) for key in dataset.vehicle_classes] for rig_id in dataset.rigs}
    return {page.path.removeprefix("rigs/").removesuffix(".md"): page for page in rig_pages(dataset, views, found)}


def words(page):
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page.body)))


def part(page, anchor):
    """Return one section of a page as words."""
    found = re.search(rf'<section aria-labelledby="{anchor}">(.*?)</section>', page.body, re.S)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", found[1]))) if found else ""


def odd(name, **fields):
    """Return the page of one made rig that only two classes meet."""
    base = make.shipped_dataset()
    rig = make.rig(id="odd", name=name, **fields)
    few = {key: base.vehicle_classes[key] for key in ("midsize-suv", "plug-in-hybrid-car")}
    dataset = replace(base, rigs={rig.id: rig}, vehicle_classes=few)
    return dataset, built(dataset)["odd"]


@pytest.fixture(scope="module")
def pages():
    return built(make.shipped_dataset())


def test_the_builders_questions_come_in_their_order(dataset, pages):
    order = [
        "ladder",
        "setting",
        "heights",
        "findings",
        "raise",
        "serves",
        "derate",
        "fuel",
        "store",
        "outlet",
        "board",
        "proved",
        "build",
        "cautions",
        "numbers",
        "sources",
    ]
    for rig_id in dataset.rigs:
        anchors = re.findall(r'<h2 id="([\w-]+)"', pages[rig_id].body)
        assert anchors == sorted(anchors, key=order.index), rig_id
        assert {"ladder", "findings", "raise", "board", "proved", "cautions"} <= set(anchors), rig_id


def test_every_section_that_the_top_leads_to_is_there(pages):
    for page in pages.values():
        ways = (
            re.findall(r'href="#([\w-]+)"', re.search(r'<p class="ways.*?</p>', page.body, re.S)[0])
            if ("ways" in page.body)
            else []
        )
        assert all(f'<h2 id="{anchor}"' in page.body for anchor in ways)
        assert not ways or "findings" in ways


def test_the_volts_that_are_left_are_those_of_the_view(dataset, pages):
    """With the two recommendations of the code: 3 and 5 % (NEC 2017, 210.19(A)(1), informational note 4)."""
    told = 0
    for rig_id in dataset.rigs:
        view, text = rig_view(dataset, rig_id), part(pages[rig_id], "ladder")
        if view.setting is None:
            assert "At mark" not in text
            continue
        assert f"At mark {view.setting.mark}: {view.voltage_evse_v:.0f} V at the EVSE" in text
        assert f"{view.voltage_vehicle_v:.0f} V at the vehicle" in text
        in_all = math.ceil(view.drop_percent * 10 - 1e-9) / 10
        assert f"all of it {in_all:g} % of {view.rig.nominal_v:.0f} V, within the 3 % and 5 %" in text
        if view.load_percent is not None:
            assert f"gives {math.ceil(view.load_percent - 1e-9)} % of its" in text
        told += 1
    assert told >= 4


def test_a_drop_that_is_too_large_is_said_to_be():
    """12 A through 60 m of 14 AWG and back: at 3.1 ohm for 1,000 ft (NEC 2017, chapter 9) 14 V, 6 % of 240 V."""
    dataset, page = odd("Long", supply=[make.breaker(15.0), make.cord("14", length_m=60.0, grounding_awg="14")])
    view = rig_view(dataset, "odd")

    assert view.setting is not None
    assert 5 < view.drop_supply_percent < 8
    assert view.setting.output_a == 12
    assert "more than the 3 % and 5 %" in part(page, "ladder")


def test_stops_come_first_then_changes_then_notes_and_parts_have_names(dataset, pages):
    for rig_id in dataset.rigs:
        view = rig_view(dataset, rig_id)
        if not view.findings:
            assert "No finding in what is judged" in part(pages[rig_id], "findings")
            continue
        rows = tables_of(pages[rig_id].text())["Findings and their remedies"]
        levels = [row[0].split(" | ")[1] for row in rows]
        assert levels == sorted(levels, key=["Stop", "Change", "Note"].index)
        assert sorted(levels) == sorted(finding.level.capitalize() for finding in view.findings)
        names = {"Source", "EVSE", *(item.name for item in view.rig.supply)}
        assert {row[0].split(" | ")[0] for row in rows} <= names
        for finding in view.findings:
            assert any(row[1] == f"{finding.text} | {finding.remedy}" and finding.clause in row[2] for row in rows), (
                finding.code
            )


def test_the_changes_are_those_of_the_gains(dataset, pages):
    shown = 0
    for rig_id in dataset.rigs:
        found = gains(dataset, rig_id)
        rows = tables_of(pages[rig_id].text())[CHANGES]
        assert [row[0].split(" | ")[0] for row in rows] == [item.change for item in found.items]
        for row, item in zip(rows, found.items, strict=True):
            if item.confirm:
                assert item.confirm in row[0]
            if not item.fit:
                assert row[1].startswith("Still not fit"), item.change
            elif item.setting_a is None:
                gone = "No stop then, but no" if rig_view(dataset, rig_id).fitness == "not_fit" else "Gains nothing: no"
                assert row[1].startswith(f"{gone} setting serves this call"), item.change
            elif item.gains_nothing:
                assert row[1] == f"Gains nothing: {item.next_held_by} holds back next."
            else:
                assert float(row[1]) == item.setting_a
                assert float(row[2].replace("\N{MINUS SIGN}", "-")) == item.gain_a
                assert int(row[3].replace("\N{MINUS SIGN}", "-")) == item.gain_miles_per_hour
                if item.minutes_saved is not None:
                    assert int(row[4].replace("\N{MINUS SIGN}", "-")) == item.minutes_saved
                assert row[5] == item.next_held_by.rstrip(".")
                shown += 1
        text = part(pages[rig_id], "raise")
        assert f"typical call: {found.call.vehicle_name}, from 10 % for 25 miles" in text
        for sentence in found.left_alone:
            assert sentence in text
    assert shown >= 4


def test_a_rig_whose_cable_reaches_no_port_says_so_instead_of_changes():
    _, page = odd("Lonely", evse=make.evse(32, connector="type-2"))

    assert CHANGES not in tables_of(page.text())
    assert "no port that its cable and adapters reach" in part(page, "raise")


def test_the_shares_by_height_are_those_of_the_view(dataset, pages):
    for rig_id in dataset.rigs:
        view = rig_view(dataset, rig_id)
        if not view.shares:
            assert part(pages[rig_id], "derate") == ""
            continue
        rows = tables_of(pages[rig_id].text())["Share of running watts by height"]
        steps = view.shares[view.fuel]
        assert len(rows) == len(steps)
        for row, step in zip(rows, steps, strict=True):
            state = source_state(
                view.rig, altitude_m=step.height_ft / FT_PER_M, ambient_c=view.ambient_c, fuel=view.fuel
            )
            assert row[0] == f"{step.height_ft:,}"
            assert float(row[1]) == down(100 * step.by_rule)
            assert float(row[2]) == down(100 * step.by_iso_3046)
            assert row[-1] == kw(state.power_allowed_w)
        text = part(pages[rig_id], "derate")
        assert "The rule binds" in text
        here = f"the rule leaves {down(100 * view.state.derate):g} %, ISO 3046-1 {down(100 * view.share_iso_3046):g} %"
        assert here in text


def test_both_curves_of_the_share_chart_stand_at_their_shares(dataset, pages):
    for rig_id in dataset.rigs:
        view = rig_view(dataset, rig_id)
        if not view.shares:
            continue
        tree = drawing_of(pages[rig_id].text(), "share")
        scale = sorted(
            (int("".join(text.itertext())), float(text.get("y").removesuffix("em")) - 0.3)
            for text in tree.iter("text")
            if text.get("x") == "9.0%" and "".join(text.itertext()).isdigit() and text.get("class") == "e"
        )
        (low, low_y), (high, high_y) = scale[0], scale[-1]
        assert high == 100
        inner = next(element for element in tree.iter("svg") if element.get("viewBox") == "0 0 1000 1000")
        top, height = (float(inner.get(name).removesuffix("em")) for name in ("y", "height"))
        steps = view.shares[view.fuel]
        for path, wanted in zip(inner, ([s.by_iso_3046 for s in steps], [s.by_rule for s in steps]), strict=True):
            points = [tuple(map(int, point.split())) for point in path.get("d").removeprefix("M").split("L")]
            assert [x for x, _ in points] == [round(1000 * step.height_ft / 10_000) for step in steps]
            shares = [low + (low_y - (top + y / 1000 * height)) / (low_y - high_y) * (high - low) for _, y in points]
            assert shares == pytest.approx([100 * share for share in wanted], abs=0.15)
        assert [path.get("class") for path in inner] == ["l1 ds", "la"]  # the rule lies on top, in the overprint


def test_burns_and_hours_are_those_of_the_view(dataset, pages):
    """Heat of a gallon from print: 116,090 Btu gasoline, 84,250 propane (fuel-properties); 3,412.14 Btu a kWh."""
    heat_kwh = {"gasoline": 116_090 / 3412.14, "propane": 84_250 / 3412.14}
    for rig_id in dataset.rigs:
        view = rig_view(dataset, rig_id)
        for fuel, burns in view.burns.items():
            rows = tables_of(pages[rig_id].text())[f"Fuel by load, {fuel}"]
            for row, burn in zip(rows, burns, strict=True):
                assert row[0] == kw(1000 * burn.load_kw)
                assert row[1] == up(burn.burn_l_per_h / LITRES_PER_GALLON, 2)
                assert float(row[2].replace(",", "")) == down(burn.hours_h)
                assert float(row[3]) == down(burn.kwh_per_l * LITRES_PER_GALLON)
                assert row[4] == up(burn.burn_l_per_h, 2)
                efficiency = burn.kwh_per_l * LITRES_PER_GALLON / heat_kwh[fuel]
                assert int(row[5]) == pytest.approx(100 * efficiency - 0.5, abs=0.51)
            assert f"A gallon holds {down(heat_kwh[fuel]):g} kWh of heat" in part(pages[rig_id], "fuel")


def test_points_of_the_burn_chart_stand_at_their_burns_with_the_hours_beside(dataset, pages):
    for rig_id in dataset.rigs:
        view = rig_view(dataset, rig_id)
        if not view.burns:
            continue
        tree = drawing_of(pages[rig_id].text(), "burn")  # the usual fuel comes first
        burns = view.burns[view.fuel]

        def scale(left, y_of, tree=tree):
            return [
                (float("".join(text.itertext())), y_of(text))
                for text in tree.iter("text")
                if left(text) and re.fullmatch(r"[\d.]+", "".join(text.itertext()))
            ]

        gallons = scale(
            lambda text: text.get("x") == "9.0%" and text.get("class") == "e",
            lambda text: float(text.get("y").removesuffix("em")) - 0.3,
        )
        loads = scale(lambda text: text.get("class") == "m", lambda text: float(text.get("x").removesuffix("%")))
        (gal0, y0), (gal1, y1) = gallons[0], gallons[-1]
        (kw0, x0), (kw1, x1) = loads[0], loads[-1]
        points = [
            (float(dot.get("cx").removesuffix("%")), float(dot.get("cy").removesuffix("em")))
            for dot in tree.iter("circle")
        ]
        found_kw = [kw0 + (x - x0) / (x1 - x0) * (kw1 - kw0) for x, _ in points]
        found_gal = [gal0 + (y - y0) / (y1 - y0) * (gal1 - gal0) for _, y in points]
        assert found_kw == pytest.approx([burn.load_kw for burn in burns], abs=0.01 * burns[-1].load_kw)
        assert found_gal == pytest.approx([burn.burn_l_per_h / LITRES_PER_GALLON for burn in burns], abs=0.01)
        hours = ["".join(text.itertext()) for text in tree.iter("text") if "".join(text.itertext()).endswith(" h")]
        assert hours == [f"{down(burn.hours_h):g} h" for burn in burns[1:]]


def test_energy_into_the_battery_and_what_is_kept_are_those_of_the_typical_call(dataset, pages):
    told = 0
    for rig_id in dataset.rigs:
        now = gains(dataset, rig_id).now
        if now.fuel is None:
            continue
        text = part(pages[rig_id], "fuel")
        assert f"battery: {down(now.fuel.battery_kwh_per_gallon):g} kWh a gallon" in text
        assert f"Kept at the end: {float(up(now.fuel.keep_litres / LITRES_PER_GALLON, 1)):g} gal" in text
        assert "an hour at that load" in text
        told += 1
    assert told >= 2


@pytest.mark.parametrize(
    ("fuel", "printed"),
    [
        # 49 CFR 173.6(a)(1)(ii): 30 kg (66 pounds) or 30 L (8 gallons); (d): 200 kg (440 pounds) in all.
        ("gasoline", ("30 L (7.9 gal)", "30 kg (66 lb)", "200 kg (440 lb)", "25 L) here are 1 can or more")),
        # 49 CFR 173.6(a)(2): 100 kg (220 pounds) a cylinder.
        ("propane", ("100 kg (220 lb)", "200 kg (440 lb)")),
        # A guide to the rule: 450 L of diesel in one package.
        ("diesel", ("450 L (118.8 gal)", "200 kg (440 lb)")),
    ],
)
def test_what_may_be_carried_is_what_the_rule_prints(fuel, printed):
    burnt = {**make.source()["fuels"]["gasoline"], "spare_l": 25.0}
    _, page = odd("Carrier", source=make.source(fuels={fuel: burnt}, default_fuel=fuel))

    for figure in printed:
        assert figure in part(page, "fuel")


def test_more_fuel_than_one_can_may_hold_needs_more_cans():
    """61 L in cans of 30 L at most are three (49 CFR 173.6(a)(1)(ii))."""
    burnt = {**make.source()["fuels"]["gasoline"], "spare_l": 61.0}
    _, page = odd("Carrier", source=make.source(fuels={"gasoline": burnt}))

    assert "(61 L) here are 3 cans or more" in part(page, "fuel")


def test_the_way_home_is_kept_where_the_record_says_so():
    burnt = {**make.source()["fuels"]["gasoline"], "keep_l": 60.0}
    _, page = odd("Truck tank", source=make.source(fuels={"gasoline": burnt}))

    assert "Kept at the end: 15.9 gal (60 L), the way home" in part(page, "fuel")


def test_what_a_store_gives_is_what_its_record_gives(dataset, pages):
    for rig_id, rig in dataset.rigs.items():
        if rig.source.kind not in {"battery_inverter", "truck_export"}:
            assert part(pages[rig_id], "store") == ""
            continue
        view, source = rig_view(dataset, rig_id), rig.source
        rows = tables_of(pages[rig_id].text())["What the store gives by air temperature"]
        airs_c = sorted({*(point.ambient_c for point in source.in_the_cold), view.ambient_c})
        assert len(rows) == len(airs_c)
        for row, air_c in zip(rows, airs_c, strict=True):
            given_w = source.power_continuous_w * source.share_in_air(air_c).power_share
            energy_kwh = source.spendable_kwh(air_c) * source.efficiency
            # The mark is that of the rig judged in this air; hours are at that mark, not at the usual site's.
            setting = rig_view(dataset, rig_id, ambient_c=air_c).setting
            load_w = min(setting.output_a * source.voltage_v.typical, given_w)
            assert row[1] == kw(given_w)
            assert float(row[2]) == down(energy_kwh)
            assert row[3] == setting.mark
            assert float(row[4]) == down(1000 * energy_kwh / load_w)
        text = part(pages[rig_id], "store")
        assert f"{100 * source.soc_floor:.0f} % is kept" in text
        if source.way_home_kwh:
            assert f"Way home: {source.way_home_kwh:g} kWh" in text
    # 38 kWh usable, 10 % kept, at 5.5 kW: 34.2 / 5.5 = 6.22 h.
    assert "6.3 h at 5.5 kW" in part(pages["ski-hill-battery"], "store")


def test_a_site_outlet_shows_its_breaker(pages):
    """A 50 A breaker serves 40 A for hours: 80 % (NEC 2017, 210.20(A))."""
    text = part(pages["fairground-outlet"], "outlet")

    assert "Site breaker: 50 A, 40 A for hours" in text
    assert "Nothing else hangs on its circuit" in text


def test_runs_on_record_show_what_they_proved(dataset, pages):
    for rig_id, rig in dataset.rigs.items():
        rows = tables_of(pages[rig_id].text()).get("Commissioning runs", [])
        assert len(rows) == len(rig.commissioning)
        for row, run in zip(rows, rig.commissioning, strict=True):
            state = source_state(rig, altitude_m=run.altitude_m, ambient_c=run.ambient_c, fuel=run.fuel)
            proved = loading_proved(
                power_metered_kw=run.power_metered_kw,
                running_power_w=rig.source.fuels[run.fuel].running_power_w,
                derate=state.derate,
            )
            assert row[0].startswith(run.date)
            assert float(row[3]) == down(100 * proved)
    assert rig_view(dataset, "pass-truck").state.loading_basis in part(pages["pass-truck"], "proved")


def test_the_build_list_adds_up_and_says_that_it_is_invented(dataset, pages):
    for rig_id, rig in dataset.rigs.items():
        if not rig.build_list:
            assert part(pages[rig_id], "build") == ""
            continue
        *rows, last = tables_of(pages[rig_id].text())["Build list with costs"]
        assert [row[0] for row in rows] == [item.item for item in rig.build_list]
        costs = [float(row[3].replace(",", "")) for row in rows]
        assert costs == [item.count * item.cost_usd for item in rig.build_list]
        assert float(last[3].replace(",", "")) == sum(costs)
        assert "Invented for the demonstration" in part(pages[rig_id], "build")


def test_a_crews_own_costs_are_not_called_invented():
    _, page = odd("Costed", build_list=[{"item": "Cord", "count": 3, "cost_usd": 10.5}])

    assert tables_of(page.text())["Build list with costs"] == [
        ["Cord", "3", "10.50", "31.50"],
        ["In all", "", "", "31.50"],
    ]
    assert "Invented" not in part(page, "build")


ENGINE = "Carbon monoxide"
CAUTIONS = {
    "pass-truck": ({ENGINE, "One bond", "Cords", "Backfeed"}, {"Propane", "Floor", "Site outlet", "Two sets"}),
    "trailhead-van": ({ENGINE, "Propane in the cold", "One bond"}, {"Cords", "Truck outlet", "Floor"}),
    "ski-hill-battery": ({"Floor", "One bond", "Coupler"}, {ENGINE, "Propane", "Truck outlet"}),
    "county-truck": ({"Floor", "Truck outlet", "Ground-fault device"}, {ENGINE, "Site outlet"}),
    "fairground-outlet": ({"Site outlet", "Backfeed", "Coupler"}, {ENGINE, "One bond", "Floor"}),
}


@pytest.mark.parametrize("rig_id", CAUTIONS)
def test_a_rig_shows_the_cautions_that_apply_and_no_other(pages, rig_id):
    there, absent = CAUTIONS[rig_id]
    text = part(pages[rig_id], "cautions")

    for head in there:
        assert head in text
    for head in absent:
        assert head not in text
    assert "It plans, it does not certify" in text


def test_cautions_lead_to_headings_of_the_safety_page(root, pages):
    headings = re.findall(r"^## (.+)$", (root / "site_src" / "safety" / "index.md").read_text(encoding="utf-8"), re.M)
    there = {heading.lower().replace(",", "").replace(" ", "-") for heading in headings}
    asked = {anchor for page in pages.values() for anchor in re.findall(r"safety/index\.html#([\w-]+)", page.body)}

    assert len(asked) > 6
    assert asked <= there


def test_two_sets_a_reel_and_an_engine_that_may_start_are_cautioned():
    _, two = odd("Two", source=make.source(sets=2, paired_by_makers_kit=True))
    _, reel = odd("Reel", supply=[make.breaker(50.0), make.cord("6", on_reel=True)])
    _, truck = odd("Hybrid", source=truck_export(engine_may_start=True))

    assert "Two sets" in part(two, "cautions")
    assert "joined by its maker's kit" in part(two, "board")
    assert "off the reel" in part(reel, "cautions")
    assert "its own engine may start" in part(truck, "cautions")
    assert "nothing is set aside" in part(truck, "store")


def truck_export(**changes):
    fields = make.battery(kind="truck_export", engine_may_start=False)
    return {**fields, **changes}


ODD = {
    "zero tank": {"source": make.source(fuels={"gasoline": {**make.source()["fuels"]["gasoline"], "tank_l": 0.0}})},
    "no watts left": {"usual_site": {"altitude_m": 6000.0, "ambient_c": 60.0}, "source": make.generator(300.0)},
    "all lost to height": {
        "source": make.source(
            derate={"loss_per_1000ft": 1.0, "loss_per_10f": 0.0, "free_altitude_m": 0.0, "free_ambient_c": 25.0}
        ),
        "usual_site": {"altitude_m": 1000.0, "ambient_c": 25.0},
    },
    "nothing lost": {
        "source": make.source(
            derate={"loss_per_1000ft": 0.0, "loss_per_10f": 0.0, "free_altitude_m": 0.0, "free_ambient_c": 25.0}
        )
    },
    "below the sea": {"usual_site": {"altitude_m": -100.0, "ambient_c": -40.0}},
    "no supply": {"supply": []},
    "floating": {"source": make.source(neutral="floating")},
    "large loads": {"other_loads": {"power_w": 90_000.0, "current_a": 300.0}},
    "cylinders": {
        "source": make.source(
            fuels={
                "propane": {
                    **make.source()["fuels"]["gasoline"],
                    "cylinders": {"count": 1, "diameter_m": 0.3, "length_m": 0.5},
                }
            },
            default_fuel="propane",
        )
    },
    "store at its floor": {"source": make.battery(soc_floor=1.0)},
    "store dead in the cold": {
        "source": make.battery(
            in_the_cold=[
                {"ambient_c": -20, "power_share": 0, "energy_share": 0},
                {"ambient_c": 20, "power_share": 1, "energy_share": 1},
            ]
        ),
        "usual_site": {"altitude_m": 0.0, "ambient_c": -30.0},
    },
    "store that goes home": {"source": make.battery(way_home_kwh=500.0)},
    "run of another source": {
        "source": make.battery(),
        "commissioning": [
            {"date": "2026-01-02", "duration_min": 70, "power_metered_kw": 6, "altitude_m": 0, "ambient_c": 10}
        ],
    },
    "huge": {"source": make.generator(1_000_000.0, nameplate_current_a=1000.0)},
    "tiny": {"source": make.generator(301.0)},
}


@pytest.mark.parametrize("name", ODD)
def test_any_rig_that_may_be_recorded_has_a_whole_page(name):
    dataset, page = odd(name, **ODD[name])
    text = page.text()
    found = read(page_parts(text)[1])

    assert (found.faults, found.open) == ([], [])
    assert len(found.ids) == len(set(found.ids))
    assert not re.search(r"\b(nan|inf|None(?! of the)|NaN|Infinity)\b", words(page))
    at = [float(x) for x in re.findall(r' (?:x[12]?|cx)="(-?[\d.]+)%"', text)]
    assert min(at) >= 0
    assert max(at) <= 100
    if rig_view(dataset, "odd").fitness == "not_fit":
        assert "Not fit at any setting" in words(page) or "Not fit here" in words(page)


def test_a_unit_that_stands_too_high_says_what_is_left():
    """8 kW x 0.8 / (240 V x 0.99) is 26.9 A: a draw up to 0.9 of it, 24.2 A; behind a 30 A breaker 24 A, by the depot."""
    inside = make.evse(16, 24, 32, set_by="inside_tools")
    _, small = odd("Small", source=make.generator(8000.0), evse=make.evse(32, set_by="fixed"))
    _, depot = odd("Depot", supply=[make.breaker(30.0)], evse=inside)
    _, neither = odd("Neither", supply=[make.breaker(30.0)], evse=make.evse(32, set_by="fixed"))

    assert "those that draw up to 24.2 A" in words(small)
    assert [row[2] for row in tables_of(small.text())["Marks of the unit"]] == ["small draws alone"]
    states = [row[2] for row in tables_of(depot.text())["Marks of the unit"]]
    assert states == ["allowed, set at the depot", "allowed, set at the depot", "too high here"]
    assert [row[2] for row in tables_of(neither.text())["Marks of the unit"]] == ["not at any setting"]
    assert "served before that is mended" in words(neither)


def test_a_rig_called_like_a_sheet_is_not_linked_as_one():
    base = make.shipped_dataset()
    rigs = [make.rig(id="odd", name="Odd"), make.rig(id="odd-sheet", name="Odd sheet")]
    dataset = replace(
        base,
        rigs={rig.id: rig for rig in rigs},
        vehicle_classes={"midsize-suv": base.vehicle_classes["midsize-suv"]},
    )
    found = built(dataset)

    assert 'href="odd-sheet.html"' not in found["odd"].body
    assert 'href="odd-sheet-sheet.html"' in found["odd-sheet"].body
    assert 'href="sizing.html"' in found["odd"].body
