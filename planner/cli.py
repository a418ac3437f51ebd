"""The command `rangeferry`: parse, call one function, print.

Results go to stdout, notes and errors to stderr. Exit codes: 0 serves (also with changes), 1 refused, ask or try,
2 wrong usage or unknown id, 3 bad data.
"""

import argparse
import contextlib
import gc
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NoReturn, TextIO, get_args

# pydantic looks through every installed distribution for plugins when the first record is built; there are none here.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
# Nothing that is made while modules and records are built is garbage; looking for it costs 6 % of a plan (measured).
# `main` looks again for every other command.
gc.disable()

from planner import __version__
from planner.call_commands import SERVES, call_command, plan_command
from planner.call_words import DANGERS, PORT_STATES
from planner.errors import DataError, PlannerError, QuantityError, UnknownIdError, did_you_mean, printable, quoted
from planner.place import PLACE_KIND_WORDS
from planner.reach import Side
from planner.records import BATTERY_WORDS, BODIES_SAID, KIND_WORDS
from planner.trip import DEFAULT_RESERVE_PERCENT

__all__ = ["main"]

WRONG_USAGE, BAD_DATA = 2, 3
FUELS = ("gasoline", "propane", "diesel")
YES_NO_UNKNOWN = ("yes", "no", "unknown")
AT = (*(kind.replace("_", "-") for kind in PLACE_KIND_WORDS), "unknown")
SIDES: tuple[str, ...] = get_args(Side)

EPILOG = """\
exit codes: 0 it serves, fits or agrees (also with changes); 1 refused, not fit, differs, or a question is open;
2 wrong usage or unknown id; 3 bad data
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


def _parser(*, plan_alone: bool = False) -> _Parser:
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

    def add_site(command: _Parser, default: str) -> None:
        command.add_argument("--ambient", metavar="TEMPERATURE", help=f"air, such as 95F or 35C (default: {default})")
        command.add_argument("--altitude", metavar="HEIGHT", help=f"height, such as 7000ft (default: {default})")

    planning = add("plan", _plan, "Answer one call.")
    _add_words(planning, required=True)
    add_data(planning)

    if plan_alone:
        return parser  # a dispatcher waits: the other commands have their words only when one of them is asked for

    calling = add("call", _call, "Take a call: a short dialogue in speaking order, or a call kept in a file.")
    kept = calling.add_argument_group("the call: without these words it is asked for, question by question")
    kept.add_argument(
        "--from", dest="from_file", metavar="FILE", help="answer a call kept as YAML; - reads it from stdin"
    )
    kept.add_argument("--save", metavar="FILE", type=Path, help="keep the call just spoken as YAML")
    kept.add_argument("--then", metavar="FILE", help="and a second call that the same rig serves after it")
    kept.add_argument("--script", action="store_true", help="print the questions on one page, to read from")
    _add_words(calling, required=False)
    add_data(calling)

    rig = add("rig", _rig, "Judge a rig: fit or not, what each part allows, findings, what would raise it.")
    rig.add_argument("rig", metavar="RIG", help="id of a rig (rangeferry list rigs)")
    add_site(rig, "the rig's usual site")
    rig.add_argument("--fuel", choices=FUELS, metavar="FUEL", help=f"fuel in use: {', '.join(FUELS)}")
    rig.add_argument("--vehicle", metavar="CLASS", help="class of the typical call (default: the one that draws most)")
    rig.add_argument("--json", action="store_true", help="the result as JSON")
    add_data(rig)

    sizing = add("size", _size, "Size a rig for a current: source, overcurrent device, wire, cord, grounding, fuel.")
    sizing.add_argument("--current", required=True, metavar="CURRENT", help="what the EVSE shall give, such as 48A")
    sizing.add_argument("--volts", default="240V", metavar="VOLTS", help="240V (the default), 208V or 120V")
    sizing.add_argument("--length", default="25ft", metavar="LENGTH", help="one way, source to EVSE (default 25ft)")
    add_site(sizing, "sea level and 77F")
    sizing.add_argument("--fuel", choices=FUELS, metavar="FUEL", help=f"{', '.join(FUELS)} (default gasoline)")
    sizing.add_argument("--json", action="store_true", help="the result as JSON")
    add_data(sizing)

    _add_commission(add, add_site, add_data)

    listing = add("list", _list, "List the records of a kind.")
    listing.add_argument(
        "kind", metavar="KIND", choices=[*KIND_WORDS, "sources"], help=", ".join([*KIND_WORDS, "sources"])
    )
    listing.add_argument("--json", action="store_true", help="a JSON list of whole records, each with its id")
    listing.add_argument("--origin", action="store_true", help="also show the folder that each record comes from")
    add_data(listing)

    beginning = add("new", _new, "Begin a record of your own, or a folder for them: valid as it is, to write over.")
    beginning.add_argument("what", metavar="vehicle|rig|adapter|DIR", help="the kind of record, or the folder to make")
    beginning.add_argument(
        "name", metavar="NAME", nargs="?", help="its name, such as 'County van'; the id is made of it"
    )
    beginning.add_argument("--like", metavar="ID", help="change only what differs from this record")
    add_data(beginning)

    layout = add("format", _format, "Lay records out as all of them are: order of fields, indentation; comments stay.")
    layout.add_argument("files", metavar="FILE", nargs="*", help="records (default: all of the crew's folder)")
    layout.add_argument("--check", action="store_true", help="write nothing, name what differs, exit 1")
    add_data(layout)

    moving = add("moved", _moved, "What moved in the shipped data since a former version, and why.")
    moving.add_argument("--since", metavar="VERSION", help="a version that was kept (default: the newest)")
    moving.add_argument(
        "--keep", metavar="DIR", type=_folder_name, help="write the present data down as DIR/VERSION.json"
    )

    checking = add("check", _check, "Read everything, hold it against every rule, and plan every rig with every class.")
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
    pages.add_argument(
        "--address", metavar="URL", help="where the pages will stand: printed on each card, with its QR code"
    )
    pages.add_argument("--serve", action="store_true", help="serve them on this machine and follow every edit")
    pages.add_argument("--port", type=int, metavar="N", help="with --serve: the port (default 8000)")
    add_data(pages)

    bench = add("bench", _bench, "Measure the budgets on this machine, beside its own baseline.")
    bench.add_argument(
        "--classes", type=int, default=5000, metavar="N", help="size of the large dataset (default 5000)"
    )
    return parser


def _add_words(planning: _Parser, *, required: bool) -> None:
    """Add the words of a call; what a plan cannot be without is required of it alone."""
    planning.add_argument("--rig", required=required, metavar="RIG", help="id of a rig (rangeferry list rigs)")
    which = planning.add_argument_group("which vehicle: its class, or what is known of it")
    which.add_argument("--vehicle", metavar="CLASS", help="id of a class (rangeferry list vehicles)")
    which.add_argument(
        "--port", metavar="INLET", help="its port, such as j1772 (rangeferry list inlets); also beside --vehicle"
    )
    which.add_argument(
        "--customer-adapter",
        metavar="ADAPTER[=AMPS,VOLTS]",
        action="append",
        default=[],
        help="an adapter that the customer has (rangeferry list adapters), with what its label says, such as "
        "their-j3400-to-j1772=80A,250V; repeatable",
    )
    which.add_argument("--body", choices=tuple(BODIES_SAID), metavar="BODY", help=f"its body: {', '.join(BODIES_SAID)}")
    which.add_argument("--built", type=int, metavar="YEAR", help="the year it was built, such as 2013")
    which.add_argument(
        "--battery", choices=tuple(BATTERY_WORDS), metavar="SIZE", help=f"its battery: {', '.join(BATTERY_WORDS)}"
    )
    which.add_argument(
        "--fuel-door", choices=YES_NO_UNKNOWN, metavar="STATE", help="a fuel door beside the charge door: yes or no"
    )
    planning.add_argument(
        "--start",
        required=required,
        metavar="DASH",
        help="what the dash says: 12%%, 8mi, 1/12bars, turtle, dashes, dead or unknown",
    )
    need = planning.add_argument_group("what it needs: one of these; a home and a fast charger may stand together")
    need.add_argument("--miles", metavar="DISTANCE", help="charge for this distance, such as 45mi")
    need.add_argument("--to", metavar="PERCENT", help="charge to this percent, such as 80%%")
    need.add_argument("--kwh", metavar="ENERGY", help="charge so much into the battery, such as 10kWh")
    need.add_argument("--minutes", metavar="TIME", help="what this time plugged in gives, such as 45min")
    need.add_argument("--home", metavar="DISTANCE", help="home is so far away, such as 32mi")
    need.add_argument("--fast-charger", metavar="DISTANCE", help="a fast charger is so far away, such as 12mi")
    need.add_argument("--charger-fits", choices=YES_NO_UNKNOWN, metavar="STATE", help="it takes this port: yes or no")
    need.add_argument("--charger-open", choices=YES_NO_UNKNOWN, metavar="STATE", help="it is open then: yes or no")
    planning.add_argument(
        "--reserve",
        metavar="PERCENT",
        help=f"arrive with this much, with a distance (default {DEFAULT_RESERVE_PERCENT}%%; at a fast charger 5%% or "
        "10 mi, whichever is more)",
    )
    planning.add_argument("--ambient", metavar="TEMPERATURE", help="air at the site, such as -4F or -20C")
    planning.add_argument("--altitude", metavar="HEIGHT", help="height of the site and the road, such as 7000ft")
    where = planning.add_argument_group("where it stands; with an engine of ours an unknown place is asked about first")
    where.add_argument("--at", choices=AT, metavar="PLACE", help=f"{', '.join(AT)}")
    where.add_argument(
        "--openings",
        choices=("clear", "near", "unknown"),
        metavar="STATE",
        help="a door, window or vent within 20 ft of where our engine can stand: near; none: clear",
    )
    where.add_argument(
        "--people",
        choices=("away", "near", "unknown"),
        metavar="STATE",
        help="anybody in a vehicle within 20 ft of our engine: near; nobody: away",
    )
    where.add_argument(
        "--traffic", choices=("clear", "in", "unknown"), metavar="STATE", help="out of moving traffic: clear; or in it"
    )
    where.add_argument("--distance", metavar="LENGTH", help="from where our truck can stand to its port, such as 20ft")
    where.add_argument(
        "--stand",
        choices=SIDES,
        metavar="SIDE",
        help=f"or its side where our truck can stand: {', '.join(SIDES)}",
    )
    where.add_argument("--gap", metavar="LENGTH", help="and the gap between our truck and that side, such as 3ft")
    where.add_argument("--quiet-hours", choices=YES_NO_UNKNOWN, metavar="STATE", help="quiet hours hold there: yes, no")
    where.add_argument(
        "--permission", choices=YES_NO_UNKNOWN, metavar="STATE", help="whoever runs the place allows it: yes or no"
    )
    vehicle = planning.add_argument_group("the vehicle, as far as it is known")
    vehicle.add_argument(
        "--danger",
        choices=("none", *DANGERS, "unknown"),
        metavar="SIGN",
        action="append",
        default=[],
        help=f"none, or what was seen: {', '.join(DANGERS)}; unknown where nobody there can tell; repeatable",
    )
    vehicle.add_argument(
        "--port-state",
        choices=(*PORT_STATES, "unknown"),
        metavar="STATE",
        help=f"its charge port: {', '.join(PORT_STATES)}",
    )
    vehicle.add_argument(
        "--twelve-volt",
        choices=("good", "flat", "unknown"),
        metavar="STATE",
        help="its 12 V battery: flat where nothing lights up or unlocks",
    )
    vehicle.add_argument(
        "--key",
        choices=("here", "away", "none", "unknown"),
        metavar="STATE",
        help="its key, card or phone: here, away",
    )
    vehicle.add_argument(
        "--cabin",
        choices=("on", "off", "unknown"),
        metavar="STATE",
        help="cabin heat or cooling while it charges: on, off or unknown (default: on below 40F)",
    )
    vehicle.add_argument("--drove", metavar="TIME", help="how long it drove before it stopped, such as 20min")
    vehicle.add_argument("--parked", metavar="TIME", help="how long it has stood since, such as 6h")
    vehicle.add_argument(
        "--tank",
        choices=("empty", "fuel", "unknown"),
        metavar="STATE",
        help="for a class that also drives on fuel: empty, fuel or unknown",
    )
    road = planning.add_argument_group("the road ahead")
    way = road.add_mutually_exclusive_group()
    way.add_argument("--speed", metavar="SPEED", help="a steady speed, such as 65mph")
    way.add_argument("--road", choices=("mixed",), metavar="KIND", help="mixed, as on its label (the default)")
    road.add_argument("--climb", metavar="HEIGHT", help="all its rises together, such as 2500ft")
    road.add_argument("--descent", metavar="HEIGHT", help="all its falls together, such as 800ft")
    road.add_argument("--headwind", metavar="SPEED", help="wind against it, such as 20mph; -10mph from behind")
    road.add_argument("--cargo", metavar="WEIGHT", help="people and things beside the driver, such as 400lb")
    road.add_argument("--trailer", metavar="WEIGHT", help="a trailer's weight, such as 3000lb")
    road.add_argument(
        "--road-heat",
        choices=("on", "off"),
        default="on",
        metavar="STATE",
        help="cabin heat or cooling on the road: on (default) or off",
    )
    road.add_argument(
        "--place",
        metavar="NAME=DISTANCE",
        action="append",
        default=[],
        help="a goal to name in the menu, such as home=32mi; repeatable",
    )
    there = planning.add_argument_group("for a rig that is plugged in at the site, where the outlet is another one")
    there.add_argument("--outlet", metavar="OUTLET", help="what is there, such as nema-14-30 (rangeferry list outlets)")
    there.add_argument("--breaker", metavar="CURRENT", help="what stands on the handle of its breaker, such as 30A")
    own = planning.add_argument_group("the rig's own fuel or charge as it arrives (default: full)")
    own.add_argument("--fuel", choices=FUELS, metavar="FUEL", help=f"fuel in use: {', '.join(FUELS)}")
    own.add_argument("--rig-tank", metavar="VOLUME", help="fuel in its tank, such as 5gal")
    own.add_argument("--rig-cans", metavar="VOLUME", help="fuel in spare cans, such as 20L")
    own.add_argument("--rig-charge", metavar="PERCENT", help="charge of its battery, such as 70%%")
    own.add_argument("--other-load", metavar="POWER", help="what else hangs on our source, such as 500W")
    own.add_argument(
        "--second-setting", metavar="CURRENT", help="what a second EVSE on the same source is set to, such as 16A"
    )
    planning.add_argument("--json", action="store_true", help="the plan as JSON")


def _add_commission(
    add: Callable[[str, Callable[[argparse.Namespace], int], str], _Parser],
    add_site: Callable[[_Parser, str], None],
    add_data: Callable[[_Parser], None],
) -> None:
    command = add("commission", _commission, "Compare a metered run with the plan: what agrees, what differs, and why.")
    command.add_argument("rig", metavar="RIG", help="id of a rig (rangeferry list rigs)")
    command.add_argument("--vehicle", required=True, metavar="CLASS", help="id of the class that was charged")
    command.add_argument("--port", metavar="INLET", help="the port that it has, where its class may have several")
    read = command.add_argument_group("what was measured, as far as it was")
    read.add_argument("--readings", metavar="FILE", type=Path, help="a YAML file of readings, such as current_a: 46")
    for name, metavar, text in (
        ("--mark", "MARK", "the mark that the unit stood at"),
        ("--no-load-volts", "VOLTS", "at the source before the load"),
        ("--no-load-hertz", "HERTZ", "at the source before the load"),
        ("--source-volts", "VOLTS", "at the source under load"),
        ("--hertz", "HERTZ", "under load"),
        ("--evse-volts", "VOLTS", "at the EVSE under load"),
        ("--amps", "AMPS", "at the EVSE"),
        ("--metered", "POWER", "at the meter, such as 11.2kW"),
        ("--kwh", "ENERGY", "on the meter over the run"),
        ("--duration", "TIME", "plugged in at this power, such as 75min"),
        ("--dash-power", "POWER", "what the vehicle shows going in, such as 10.5kW"),
        ("--start", "PERCENT", "on the dash at the plug-in"),
        ("--end", "PERCENT", "on the dash at the end"),
    ):
        read.add_argument(name, metavar=metavar, help=text)
    read.add_argument("--dash-rate", metavar="RATE", help="miles added per hour that the vehicle shows, such as 25")
    read.add_argument(
        "--hot",
        metavar="PART=TEMPERATURE",
        action="append",
        default=[],
        help="hottest reading of a part, such as connector=118F; repeatable",
    )
    add_site(command, "the rig's usual site")
    command.add_argument("--fuel", choices=FUELS, metavar="FUEL", help=f"fuel in use: {', '.join(FUELS)}")
    command.add_argument("--save", metavar="DIR", type=_folder, help="write a dated record into this crew's folder")
    command.add_argument("--date", metavar="DAY", help="the day of the run, such as 2026-09-14 (default: today)")
    command.add_argument("--json", action="store_true", help="the result as JSON")
    add_data(command)


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
        parsed = _parser(plan_alone=arguments[0] == "plan").parse_all(arguments)
        if parsed.work is not _plan:
            gc.enable()
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
    code, text = plan_command(options, _note)
    _write(text)
    return code


def _call(options: argparse.Namespace) -> int:
    if sys.stdin is not None and hasattr(sys.stdin, "reconfigure"):
        sys.stdin.reconfigure(errors="surrogateescape")  # a stray byte is a wrong answer, never a traceback
    return call_command(options, _ask, _write, _note)


def _ask(prompt: str) -> str | None:
    """Show a prompt on stderr and return the answer, None at the end of input; a piped answer is shown after it."""
    if sys.stderr is not None and prompt:
        try:
            sys.stderr.write(prompt)
            sys.stderr.flush()
        except OSError:
            _silence(sys.stderr)
    if sys.stdin is None:
        return None
    line = sys.stdin.readline()
    if not line:
        _tell("")
        return None
    answer = line.rstrip("\r\n")
    if prompt and not sys.stdin.isatty():
        _tell(printable(answer))
    return answer


def _rig(options: argparse.Namespace) -> int:
    from planner.rig_commands import rig_command  # wanted by this command alone

    code, text = rig_command(options)
    _write(text)
    return code


def _size(options: argparse.Namespace) -> int:
    from planner.rig_commands import size_command  # wanted by this command alone

    code, text = size_command(options)
    _write(text)
    return code


def _commission(options: argparse.Namespace) -> int:
    from planner.rig_commands import commission_command  # wanted by this command alone

    code, text, save = commission_command(options)
    _write(text)
    saved = save()
    if saved is not None:
        _note(saved)
    return code


def _list(options: argparse.Namespace) -> int:
    from planner.data_commands import list_command  # wanted by this command alone

    _write(list_command(options))
    return SERVES


def _new(options: argparse.Namespace) -> int:
    from planner.data_commands import new_command  # wanted by this command alone

    return new_command(options, _note)


def _format(options: argparse.Namespace) -> int:
    from planner.data_commands import format_command  # wanted by this command alone

    code, text = format_command(options)
    _write(text)
    return code


def _moved(options: argparse.Namespace) -> int:
    from planner.release_commands import moved_command  # wanted by this command alone

    _write(moved_command(options))
    return SERVES


def _check(options: argparse.Namespace) -> int:
    from planner.check_command import check_command  # wanted by this command alone

    code, text = check_command(options)
    _write(text)
    return code


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
        return serve_pages(overlays=options.data, address=options.address, port=port, note=_note)
    if options.port is not None:
        raise QuantityError(
            name="--port", given=str(options.port), expected="no port without --serve", next_step="add --serve"
        )
    progress = sys.stderr is not None and sys.stderr.isatty()
    build_pages(
        options.out or Path("site"),
        overlays=options.data,
        folder=options.folder,
        address=options.address,
        note=_note,
        show_progress=progress,
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
