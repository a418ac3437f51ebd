"""The commands `rig`, `size` and `commission`: read what was typed, call one function, return a text."""

import argparse
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from planner import commissioning_report, rig_report, sizing_report
from planner.commissioning import CommissioningResult, Measured, compare, measured_from, record_of
from planner.errors import DataError, Problem, QuantityError, quoted
from planner.gains import gains
from planner.loading import load, read_yaml, shipped
from planner.records import FuelKind
from planner.sizing import Wanted, size
from planner.tables import rig_view
from planner.units import (
    parse_altitude_m,
    parse_current_a,
    parse_duration_min,
    parse_energy_kwh,
    parse_frequency_hz,
    parse_length_m,
    parse_part_temperature_c,
    parse_percent,
    parse_power_kw,
    parse_speed_mph,
    parse_temperature_c,
    parse_voltage_v,
)

__all__ = ["FITS", "commission_command", "rig_command", "size_command"]

FITS, DOES_NOT = 0, 1
LONGEST_RUN_MIN = 24.0 * 60
FASTEST_RATE_MPH = 500.0
COMMISSIONING_FOLDER = "commissioning"


def rig_command(options: argparse.Namespace) -> tuple[int, str]:
    """Return a rig on its own: fit or not, its ladder, findings and gains."""
    dataset = load(options.data)
    ambient_c = None if options.ambient is None else parse_temperature_c(options.ambient, name="--ambient")
    altitude_m = None if options.altitude is None else parse_altitude_m(options.altitude, name="--altitude")
    site: dict[str, Any] = {"ambient_c": ambient_c, "altitude_m": altitude_m, "fuel": options.fuel}
    view = rig_view(dataset, options.rig, **site)
    found = gains(dataset, options.rig, **site, vehicle_id=options.vehicle)
    text = rig_report.to_json(view, found, dataset.version) if options.json else rig_report.to_text(view, found)
    return (DOES_NOT if view.fitness == "not_fit" else FITS), text


def size_command(options: argparse.Namespace) -> tuple[int, str]:
    """Return the least source, device, wire, cord and grounding for a current."""
    fuel: FuelKind = options.fuel or "gasoline"
    wanted = Wanted(
        current_a=parse_current_a(options.current, name="--current"),
        voltage_v=parse_voltage_v(options.volts, name="--volts"),
        altitude_m=0.0 if options.altitude is None else parse_altitude_m(options.altitude, name="--altitude"),
        ambient_c=25.0 if options.ambient is None else parse_temperature_c(options.ambient, name="--ambient"),
        length_m=parse_length_m(options.length, name="--length"),
        fuel=fuel,
    )
    sizing = size(load(options.data), wanted)
    text = sizing_report.to_json(sizing) if options.json else sizing_report.to_text(sizing)
    return (FITS if sizing.will_charge else DOES_NOT), text


def commission_command(options: argparse.Namespace) -> tuple[int, str, Callable[[], str | None]]:
    """Return a run against the plan, and what saves it: called after the result is shown, it returns a note."""
    dataset = load(options.data)
    day = _day(options.date)
    result = compare(dataset, options.rig, options.vehicle, replace(_measured(options), inlet=options.port))
    text = commissioning_report.to_json(result) if options.json else commissioning_report.to_text(result)

    def save() -> str | None:
        return None if options.save is None else _save(options.save, result, day)

    return (FITS if result.verdict == "agrees" else DOES_NOT), text, save


# --------------------------------------------------------------------------------------------------- what was measured


def _measured(options: argparse.Namespace) -> Measured:
    """Return the readings of a file and of the options; a reading in both is refused."""
    typed = dict(_typed(options))
    from_file = {} if options.readings is None else dict(_file(options.readings))
    both = sorted(set(typed) & set(from_file))
    if both:
        raise QuantityError(
            name="--readings",
            given=", ".join(both),
            expected="each reading once",
            next_step="leave it out of the file, or leave the option out",
        )
    return measured_from({**from_file, **typed})


def _typed(options: argparse.Namespace) -> Mapping[str, Any]:
    found: dict[str, Any] = {}
    for key, name, parse in (
        ("voltage_no_load_v", "no_load_volts", parse_voltage_v),
        ("voltage_source_v", "source_volts", parse_voltage_v),
        ("voltage_evse_v", "evse_volts", parse_voltage_v),
        ("frequency_no_load_hz", "no_load_hertz", parse_frequency_hz),
        ("frequency_hz", "hertz", parse_frequency_hz),
        # A meter may well show nothing: that is a reading too.
        ("current_a", "amps", partial(parse_current_a, zero=True)),
        ("power_metered_kw", "metered", partial(parse_power_kw, zero=True)),
        ("energy_metered_kwh", "kwh", parse_energy_kwh),
        ("power_dash_kw", "dash_power", partial(parse_power_kw, zero=True)),
        ("ambient_c", "ambient", parse_temperature_c),
        ("altitude_m", "altitude", parse_altitude_m),
    ):
        text = getattr(options, name)
        if text is not None:
            found[key] = parse(text, name=f"--{name.replace('_', '-')}")
    if options.duration is not None:
        found["duration_min"] = parse_duration_min(options.duration, name="--duration", high_min=LONGEST_RUN_MIN)
    for key, name in (("soc_start_percent", "start"), ("soc_end_percent", "end")):
        text = getattr(options, name)
        if text is not None:
            found[key] = parse_percent(text, name=f"--{name}", other_reading="{} on the dash")
    if options.dash_rate is not None:
        found["miles_per_hour_dash"] = _rate(options.dash_rate)
    if options.mark is not None:
        found["setting_mark"] = options.mark
    if options.fuel is not None:
        found["fuel"] = options.fuel
    for text in options.hot:
        part, heat_c = _part_and_heat(text)
        if part in found.setdefault("temperatures_c", {}):
            raise QuantityError(
                name="--hot",
                given=text,
                expected="each part once",
                next_step=f"give the hottest reading of {part} alone",
            )
        found["temperatures_c"][part] = heat_c
    return found


def _rate(text: str) -> float:
    """Read miles added per hour as a vehicle shows them: 25, 25mi/h, or 40km/h."""
    return parse_speed_mph(
        text if text[-1:].isalpha() else f"{text}mph", name="--dash-rate", low_mph=0.0, high_mph=FASTEST_RATE_MPH
    )


def _part_and_heat(text: str) -> tuple[str, float]:
    part, equals, heat = text.partition("=")
    if not equals or not part.strip():
        raise QuantityError(
            name="--hot",
            given=text,
            expected="a part of the rig and its hottest reading",
            next_step="write --hot connector=118F; parts: the ids of the rig's supply, connector, adapter, inlet",
        )
    return part.strip(), parse_part_temperature_c(heat, name="--hot")


def _file(path: Path) -> Mapping[str, Any]:
    """Return the readings of a YAML file, read as strictly as any record."""
    problems: list[Problem] = []
    located = read_yaml(path, problems)
    if problems or located is None:
        raise DataError(problems)
    return located.data


# -------------------------------------------------------------------------------------------------------------- saving


def _day(text: str | None) -> str:
    if text is None:
        return date.today().isoformat()
    try:
        day = date.fromisoformat(text)
        if day <= date.today():
            return day.isoformat()
        raise QuantityError(
            name="--date",
            given=text,
            expected=f"a day up to today, {date.today().isoformat()}",
            next_step="give the day that it was measured on",
        )
    except ValueError:
        raise QuantityError(
            name="--date", given=text, expected="a day of the calendar", next_step="write --date 2026-09-14"
        ) from None


def _save(folder: Path, result: CommissioningResult, day: str) -> str:
    """Write the run as a dated record into a crew's folder, whole or not at all; return what was done."""
    run = record_of(result, day)
    if folder.resolve() == (shipped() / "vehicle_data").resolve():
        raise QuantityError(
            name="--save",
            given=str(folder),
            expected="a crew's own folder: the shipped data is never written to",
            next_step="make a folder of your own and name it",
        )
    target = folder / COMMISSIONING_FOLDER / f"{result.rig}-{day}.yaml"
    values = run.model_dump(mode="json", exclude_none=True, exclude_defaults=True)
    lines = [
        f"name: Run of {result.rig_name} on {day}",
        f"rig: {result.rig}",
        "run:",
        *_yaml_lines(values, "  "),
        "sources:",
        "  run: {basis: own unit}",
    ]
    try:
        target.parent.mkdir(exist_ok=True)
        # "x": a run that is on record is never written over.
        with target.open("x", encoding="utf-8") as file:
            file.write("\n".join(lines) + "\n")
    except FileExistsError:
        raise QuantityError(
            name="--save",
            given=target.name,
            expected="a day without a run of this rig",
            next_step="give the run its own day with --date, or move the old record away",
        ) from None
    except OSError as error:
        raise QuantityError(
            name="--save",
            given=str(folder),
            expected="a folder that can be written to",
            next_step=f"{error.strerror or 'it failed'}: name another folder",
        ) from None
    return f"run written to {target}; lay the folder over with --data {quoted(folder)} and it counts"


def _yaml_lines(values: Mapping[str, Any], indent: str) -> list[str]:
    lines = []
    for key, value in values.items():
        if isinstance(value, Mapping):
            lines.append(f"{indent}{key}:")
            lines += _yaml_lines(value, indent + "  ")
        else:
            text = f'"{value}"' if isinstance(value, str) else f"{round(value, 3)}"
            lines.append(f"{indent}{key}: {text}")
    return lines
