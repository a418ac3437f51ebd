"""The command `rangeferry`: parse, call one function, print.

Results go to stdout, notes and errors to stderr. Exit codes: 0 serves (also with changes), 1 refused, ask or try,
2 wrong usage or unknown id, 3 bad data.
"""

import argparse
import contextlib
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NoReturn, TextIO

# pydantic looks through every installed distribution for plugins when the first record is built; there are none here.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

from planner import __version__
from planner.answer import Call
from planner.errors import DataError, PlannerError, QuantityError, UnknownIdError, did_you_mean, printable, quoted
from planner.loading import load, load_for_plan
from planner.planning import plan
from planner.records import KIND_WORDS, RECORD_KINDS, Dataset
from planner.report import to_json, to_text
from planner.trip import DEFAULT_RESERVE_PERCENT, Miles, Need, ToPercent
from planner.units import (
    KM_PER_MILE,
    has_unit,
    parse_altitude_m,
    parse_distance_km,
    parse_percent,
    parse_temperature_c,
)

__all__ = ["main"]

SERVES, REFUSED, WRONG_USAGE, BAD_DATA = 0, 1, 2, 3
FUELS = ("gasoline", "propane", "diesel")

EPILOG = """\
exit codes: 0 it serves (also with changes), 1 refused or a question is open, 2 wrong usage or unknown id, 3 bad data
It plans; it does not certify. The authority, the listing instructions and a licensed electrician decide.
"""


class _Parser(argparse.ArgumentParser):
    """Says what is wrong, what was perhaps meant, and where the help is."""

    typed: Sequence[str] = ()

    def error(self, message: str) -> NoReturn:
        if "required" in message:
            message += self._misspelt()
        _tell(f"{self.prog}: {message}")
        _tell(f"Try: {self.prog} --help")
        raise SystemExit(WRONG_USAGE)

    def _misspelt(self) -> str:
        """Return a hint at an option that was typed and is none: perhaps it is the one that is missing."""
        options = [option for action in self._actions for option in action.option_strings]
        for word in self.typed:
            name = word.split("=", 1)[0]
            if name.startswith("--") and name not in options:
                return f". Unknown argument {quoted(name)}.{did_you_mean(name, options)}"
        return ""

    def _print_message(self, message: str, file: Any = None) -> None:
        """Print help like every other result, so that a closed pipe is no error."""
        if message:
            _write(message) if file in (None, sys.stdout) else _tell(message.rstrip("\n"))

    def _check_value(self, action: argparse.Action, value: object) -> None:
        choices = list(action.choices) if action.choices is not None else None
        if choices is not None and value not in choices:
            name = action.option_strings[0] if action.option_strings else str(action.metavar or action.dest).lower()
            raise argparse.ArgumentError(
                None,
                f"{name}: unknown {quoted(value)}.{did_you_mean(str(value), choices)} "
                f"Choose from: {', '.join(choices)}",
            )

    def parse_all(self, arguments: Sequence[str]) -> argparse.Namespace:
        """Refuse what is left over, with the option that was perhaps meant."""
        found, rest = self.parse_known_args(arguments)
        if rest:
            parser = found.parser if hasattr(found, "parser") else self
            options = [option for action in parser._actions for option in action.option_strings]
            first = rest[0].split("=", 1)[0]
            parser.error(f"unknown argument {quoted(first)}.{did_you_mean(first, options)}")
        return found


def _parser() -> _Parser:
    parser = _Parser(
        prog="rangeferry",
        description="Can this unit charge this vehicle, at which setting, for how long, and what does the crew need?",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"rangeferry {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def add(name: str, work: Callable[[argparse.Namespace], int], text: str) -> _Parser:
        command: _Parser = commands.add_parser(name, help=text, description=text, epilog=EPILOG, allow_abbrev=False)
        command.formatter_class = argparse.RawDescriptionHelpFormatter
        command.set_defaults(work=work, parser=command)
        return command

    def add_data(command: _Parser) -> None:
        command.add_argument(
            "--data",
            metavar="DIR",
            action="append",
            default=[],
            type=_folder,
            help="a crew's folder, laid over the shipped data; repeatable, the last one wins",
        )

    planning = add("plan", _plan, "Answer one call.")
    planning.add_argument("--rig", required=True, metavar="RIG", help="id of a rig (rangeferry list rigs)")
    planning.add_argument("--vehicle", required=True, metavar="CLASS", help="id of a class (rangeferry list vehicles)")
    planning.add_argument("--start", required=True, metavar="PERCENT", help="what the dash says, such as 12%%")
    need = planning.add_mutually_exclusive_group(required=True)
    need.add_argument("--to", metavar="PERCENT", help="charge to this percent, such as 80%%")
    need.add_argument("--miles", metavar="DISTANCE", help="charge for this distance, such as 45mi")
    planning.add_argument(
        "--reserve",
        metavar="PERCENT",
        help=f"arrive with this much, with --miles (default {DEFAULT_RESERVE_PERCENT}%%)",
    )
    planning.add_argument("--ambient", metavar="TEMPERATURE", help="air at the site, such as -4F or -20C")
    planning.add_argument("--altitude", metavar="HEIGHT", help="height of the site, such as 7000ft")
    planning.add_argument("--fuel", choices=FUELS, metavar="FUEL", help=f"fuel in use: {', '.join(FUELS)}")
    planning.add_argument("--json", action="store_true", help="the plan as JSON")
    add_data(planning)

    listing = add("list", _list, "List the records of a kind.")
    listing.add_argument(
        "kind", metavar="KIND", choices=[*KIND_WORDS, "sources"], help=", ".join([*KIND_WORDS, "sources"])
    )
    listing.add_argument("--json", action="store_true", help="a JSON list of whole records, each with its id")
    listing.add_argument("--origin", action="store_true", help="also show the folder that each record comes from")
    add_data(listing)

    checking = add("check", _check, "Read everything, report every fault, and plan every rig with every class.")
    add_data(checking)

    schema = add("schema", _schema, "Print a JSON Schema, or write all of them into a folder.")
    schema.add_argument("name", metavar="NAME", nargs="?", help="rig, vehicle_class, plan, ...; without it, the names")
    schema.add_argument(
        "--out", metavar="DIR", type=_folder_name, help="write <NAME>.schema.json for every name into DIR"
    )

    pages = add("pages", _pages, "Make the pages of every class, rig, port and plug, with search and data files.")
    pages.add_argument(
        "--out", metavar="DIR", type=_folder_name, help="the folder to make or to replace (default site)"
    )
    pages.add_argument("--folder", action="store_true", help="pages to open from a folder, not from a web server")
    pages.add_argument("--serve", action="store_true", help="serve them on this machine and follow every edit")
    pages.add_argument("--port", type=int, metavar="N", help="with --serve: the port (default 8000)")
    add_data(pages)

    bench = add("bench", _bench, "Measure the budgets on this machine, beside its own baseline.")
    bench.add_argument(
        "--classes", type=int, default=5000, metavar="N", help="size of the large dataset (default 5000)"
    )
    return parser


def _folder_name(text: str) -> Path:
    if not text.strip():
        raise argparse.ArgumentTypeError("expected a folder, got an empty name; write the folder, or . for this one")
    return Path(text)


def _folder(text: str) -> Path:
    path = _folder_name(text)
    try:
        found = path.is_dir()
    except OSError:
        found = False
    if not found:
        raise argparse.ArgumentTypeError(f"expected a folder of records, got {quoted(text)}; name one that exists")
    return path


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    arguments = _joined(list(sys.argv[1:] if argv is None else argv))
    _Parser.typed = arguments
    try:
        if not arguments:
            _tell(_parser().format_help().rstrip("\n"))
            return WRONG_USAGE
        parsed = _parser().parse_all(arguments)
        code: int = parsed.work(parsed)
    except DataError as error:
        count = len(error.problems)
        _tell(str(error))
        _tell(f"{count} problem{'s' if count > 1 else ''} in the data; nothing was planned.")
        return BAD_DATA
    except PlannerError as error:
        _tell(f"rangeferry: {error}")
        return WRONG_USAGE
    except _OutputError as error:
        _tell(f"rangeferry: the output could not be written: {error}; free some space, or write elsewhere")
        return WRONG_USAGE
    except KeyboardInterrupt:
        _tell("interrupted")
        return 130
    return code


class _OutputError(Exception):
    """The output could not be written: a full disk, say."""


def _write(text: str) -> None:
    """Print a result. A reader that closed the pipe has seen enough: no error, and the exit code stays what it is."""
    if sys.stdout is None:  # closed by whoever started us
        return
    encoding = getattr(sys.stdout, "encoding", None) or "utf-8"
    try:
        sys.stdout.write(text.encode(encoding, "replace").decode(encoding))
        sys.stdout.flush()
    except BrokenPipeError:
        _silence(sys.stdout)
    except OSError as error:
        _silence(sys.stdout)
        raise _OutputError(error.strerror or str(error)) from None


def _tell(text: str) -> None:
    """Print a note or an error on stderr, or nowhere where there is none."""
    if sys.stderr is None:
        return
    try:
        print(text, file=sys.stderr)
        sys.stderr.flush()
    except OSError:
        _silence(sys.stderr)


def _silence(stream: TextIO) -> None:
    """Point a broken stream at nothing, so that Python's own flush at exit does not complain again."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _joined(arguments: list[str]) -> list[str]:
    """Join `--ambient -4F` to `--ambient=-4F`: argparse would take the minus for an option."""
    result: list[str] = []
    for argument in arguments:
        numeric = (
            len(argument) > 1 and argument[0] in "-\N{MINUS SIGN}" and (argument[1].isdigit() or argument[1] == ".")
        )
        if numeric and result and result[-1].startswith("--") and "=" not in result[-1]:
            result[-1] += f"={argument}"
        else:
            result.append(argument)
    return result


# --------------------------------------------------------------------------------------------------------- commands


def _plan(options: argparse.Namespace) -> int:
    call = _call(options)
    dataset = load_for_plan(options.data, rig_id=call.rig, vehicle_id=call.vehicle)
    for kind, given in (("rigs", call.rig), ("vehicle_classes", call.vehicle)):
        records = getattr(dataset, kind)
        if given not in records:
            _note(f"{quoted(given)} is called {next(iter(records))} now")
    found = plan(dataset, call)
    _write(to_json(found) if options.json else to_text(found))
    return SERVES if found.verdict in {"serve", "serve_with_changes"} else REFUSED


def _call(options: argparse.Namespace) -> Call:
    start = parse_percent(
        options.start, name="--start", other_reading="a dash that shows {} mi, which --start cannot take yet"
    )
    need: Need
    if options.to is not None:
        if options.reserve is not None:
            raise QuantityError(
                name="--reserve",
                given=options.reserve,
                expected="no reserve with --to",
                next_step="a reserve is kept on arrival: use it with --miles, or leave it out",
            )
        percent = parse_percent(options.to, name="--to", other_reading="{} mi (then use --miles {}mi)")
        if percent < start:
            raise QuantityError(
                name="--to",
                given=options.to,
                expected=f"a percent of at least --start, {start}%",
                next_step="are the two swapped?",
            )
        need = ToPercent(percent)
    else:
        reserve = None
        if options.reserve is not None:
            reserve = parse_percent(options.reserve, name="--reserve", other_reading="{} mi in hand")
        distance_mi = parse_distance_km(options.miles, name="--miles") / KM_PER_MILE
        need = Miles(distance_mi, reserve)
    ambient_c = None if options.ambient is None else parse_temperature_c(options.ambient, name="--ambient")
    if options.ambient is not None and not has_unit(options.ambient):
        _note(f"--ambient {options.ambient} taken as Fahrenheit")
    return Call(
        rig=options.rig,
        vehicle=options.vehicle,
        soc_start_percent=start,
        need=need,
        ambient_c=ambient_c,
        altitude_m=None if options.altitude is None else parse_altitude_m(options.altitude, name="--altitude"),
        fuel=options.fuel,
    )


def _list(options: argparse.Namespace) -> int:
    dataset = load(options.data)
    folder = KIND_WORDS.get(options.kind, options.kind)
    records = getattr(dataset, folder)
    origins = {name: origin for (kind, name), origin in dataset.origins.items() if kind == folder}
    if options.json:
        import json  # wanted by `--json` alone

        listed = [
            {
                **({} if folder != "sources" else {"id": record_id}),
                **record.model_dump(mode="json"),
                **({"origin": origins[record_id]} if options.origin else {}),
            }
            for record_id, record in records.items()
        ]
        _write(json.dumps(listed, indent=2, allow_nan=False) + "\n")
        return SERVES
    names = {record_id: getattr(record, "name", None) or record.title for record_id, record in records.items()}
    widths = [max(map(len, words), default=0) for words in (names, names.values())]
    lines = []
    for record_id, name in names.items():
        line = f"{record_id:<{widths[0]}}  {name:<{widths[1]}}"
        lines.append(f"{line}  {origins[record_id]}" if options.origin else line.rstrip())
    _write("".join(f"{line}\n" for line in lines))
    return SERVES


def _check(options: argparse.Namespace) -> int:
    dataset = load(options.data)
    counts = {folder: len(getattr(dataset, folder)) for folder in (*RECORD_KINDS, "sources")}
    counts |= {f"pairs of rig and class: {verdict}": count for verdict, count in sorted(_plan_all(dataset).items())}
    _write("".join(f"{count:>6}  {what}\n" for what, count in counts.items()) + "no fault found\n")
    return SERVES


def _plan_all(dataset: Dataset) -> dict[str, int]:
    verdicts: dict[str, int] = {}
    for rig_id in dataset.rigs:
        for class_id in dataset.vehicle_classes:
            found = plan(dataset, Call(rig_id, class_id, 10, ToPercent(80)))
            verdicts[found.verdict] = verdicts.get(found.verdict, 0) + 1
    return verdicts


def _schema(options: argparse.Namespace) -> int:
    from planner.schemas import schema_documents, schema_text  # wanted by this command alone

    documents = schema_documents()
    if options.out is not None:
        if options.name is not None:
            raise QuantityError(
                name="schema", given=options.name, expected="either NAME or --out", next_step="leave one of them out"
            )
        _write_folder(options.out, {f"{name}.schema.json": schema_text(text) for name, text in documents.items()})
        _note(f"{len(documents)} schemas written to {options.out}")
        return SERVES
    if options.name is None:
        _write("".join(f"{name}\n" for name in documents))
        return SERVES
    if options.name not in documents:
        raise UnknownIdError(kind="schema", given=options.name, known=list(documents), list_command="rangeferry schema")
    _write(schema_text(documents[options.name]))
    return SERVES


def _write_folder(folder: Path, texts: dict[str, str]) -> None:
    """Write files so that each of them is whole at any time: first beside, then renamed."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in texts.items():
            beside = folder / f".{name}.part"
            beside.write_text(text, encoding="utf-8")
            beside.replace(folder / name)
    except OSError as error:
        raise QuantityError(
            name="--out",
            given=str(folder),
            expected="a folder that can be written to",
            next_step=f"{error.strerror or 'it failed'}: name another folder",
        ) from None


def _pages(options: argparse.Namespace) -> int:
    from planner.publish.build import build_pages, serve_pages  # wanted by this command alone

    if options.serve:
        for name, given in (("--out", options.out), ("--folder", options.folder)):
            if given:
                raise QuantityError(
                    name=name, given=str(given), expected="no such word with --serve", next_step="leave one of them out"
                )
        port = 8000 if options.port is None else options.port
        if not 1 <= port <= 65535:
            raise QuantityError(
                name="--port", given=str(port), expected="1 to 65535", next_step="leave it out for 8000"
            )
        return serve_pages(overlays=options.data, port=port, note=_note)
    if options.port is not None:
        raise QuantityError(
            name="--port", given=str(options.port), expected="no port without --serve", next_step="add --serve"
        )
    progress = sys.stderr is not None and sys.stderr.isatty()
    build_pages(
        options.out or Path("site"), overlays=options.data, folder=options.folder, note=_note, show_progress=progress
    )
    return SERVES


def _bench(options: argparse.Namespace) -> int:
    from planner.bench import run  # wanted by this command alone

    if options.classes < 1:
        raise QuantityError(
            name="--classes", given=str(options.classes), expected="1 or more", next_step="leave it out for 5000"
        )
    return run(_write, classes=options.classes)


def _note(text: str) -> None:
    _tell(printable(f"note: {text}"))
