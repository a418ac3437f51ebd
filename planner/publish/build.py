"""Makes the pages: whole or not at all, with progress on a terminal, or serves them and follows every edit."""

import contextlib
import json
import logging
import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import yaml

from planner.errors import PlannerError, QuantityError
from planner.loading import load, shipped
from planner.publish.call_page import PAGE_SCRIPTS
from planner.publish.card_pages import pages_address

__all__ = ["CALL_SCRIPTS", "PagesError", "build_pages", "serve_pages"]

# What the call page answers with, in the order in which it is loaded, but for what is made from the data.
CALL_SCRIPTS = tuple(
    path for name in PAGE_SCRIPTS if (path := Path(__file__).with_name("call") / Path(name).name).is_file()
)
MARK = ".rangeferry-pages"  # lists what a build made: what a later one may replace
OLD = "old"
PROGRESS_EVERY = 50
NEEDED = "rangeferry pages needs the site extra: python3 -m pip install 'rangeferry[site]', or in a checkout '.[site]'"


class PagesError(PlannerError):
    """The pages could not be made; the text says why and what to do."""


def build_pages(
    out: Path,
    *,
    overlays: Sequence[Path] = (),
    folder: bool = False,
    address: str | None = None,
    note: Callable[[str], None],
    show_progress: bool,
    tables: bool = True,
) -> int:
    """Make the pages in `out`; return how many pages there are. `address` is where they will stand, for printed links.
    Without `tables` the call page has no answers: for measuring pages alone.

    They are made beside it first and then moved into its place, so that `out` is always a whole site or what it was.
    Raises `QuantityError` for a folder that may not be replaced and for what is no address, `DataError` for faulty
    data, `PagesError` else.
    """
    address = _read(address)
    place = _replaceable(out, overlays)
    with contextlib.suppress(OSError):  # told below, where it is written to
        _restore(place)
    load(overlays)  # a fault in the data is told as by every other command, before anything is made
    _require_generator(address)
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{place.name}-", dir=place.parent))
    except OSError as error:
        raise _unwritable(out, error) from None
    made, old = beside / "new", beside / OLD
    try:
        with _stopped_by_signals():
            written = _build(
                _plugins(overlays, hosted=not folder, address=address, tables=tables),
                site_dir=made,
                show_progress=show_progress,
            )
            _mark(made)
            _open_to_readers(made)
            if place.exists():
                place.rename(old)
            made.rename(place)
    except OSError as error:
        raise _unwritable(out, error) from None
    finally:
        _restore(place)
        shutil.rmtree(beside, ignore_errors=True)
    note(f"{written} pages in {out}" + (f": open {out / 'index.html'} in a browser" if folder else ""))
    return written


def _unwritable(out: Path, error: OSError) -> QuantityError:
    return QuantityError(
        name="--out",
        given=str(out),
        expected="a folder that can be written",
        next_step=f"{error.strerror or error}: name another folder",
    )


def _refused(out: Path, expected: str, next_step: str) -> QuantityError:
    return QuantityError(name="--out", given=str(out), expected=expected, next_step=next_step)


def _replaceable(out: Path, overlays: Sequence[Path]) -> Path:
    """Return the folder meant, links followed, after refusing every one whose replacing would lose something."""
    try:
        place = out.resolve()
        if place.exists() and not place.is_dir():
            raise _refused(out, "a folder", "it is a file: name a folder")
        here = Path.cwd().resolve()
        if place == here or place in here.parents:
            raise _refused(out, "a folder below the one you are in, or elsewhere", "name one, such as site")
        for data in (shipped() / "vehicle_data", shipped() / "site_src", *overlays):
            folder = data.resolve()
            if folder == place or place in folder.parents or folder in place.parents:
                raise _refused(
                    out, "a folder apart from the data", f"{folder.name} is read for the pages: name a folder beside it"
                )
        foreign = _foreign(place) if place.exists() else None
    except OSError as error:
        raise _unwritable(out, error) from None
    if foreign is not None:
        raise _refused(
            out,
            "an empty or new folder, or one that holds nothing but pages made before",
            f"{foreign} would be lost: name another folder",
        )
    return place


def _foreign(place: Path) -> str | None:
    """Return the first thing in a folder that no earlier build of ours made, None where there is none."""
    try:
        ours = set(json.loads((place / MARK).read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        ours = set()
    for path in sorted(place.rglob("*")):
        name = path.relative_to(place).as_posix()
        if name == MARK and ours:
            continue
        if path.is_symlink() or (path.is_file() and name not in ours):
            return name
        if path.is_dir() and not any(path.iterdir()):
            return name
    return None


def _mark(made: Path) -> None:
    """Leave a list of what was made, by which a later build knows what it may replace."""
    names = sorted(path.relative_to(made).as_posix() for path in made.rglob("*") if path.is_file())
    (made / MARK).write_text(json.dumps(names, indent=0) + "\n", encoding="utf-8")


def _restore(place: Path) -> None:
    """Bring back pages that a build killed between two renames has left aside."""
    if place.exists():
        return
    for left in sorted(place.parent.glob(f".{place.name}-*")):
        if (left / OLD / MARK).is_file():
            (left / OLD).rename(place)
            return


@contextlib.contextmanager
def _stopped_by_signals() -> Iterator[None]:
    """Let a request to end unwind like Ctrl-C does, so that nothing half-made stays."""

    def end(number: int, _frame: object) -> None:
        raise SystemExit(128 + number)

    signals = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    try:
        before = {number: signal.signal(number, end) for number in signals}
    except ValueError:  # not the main thread
        before = {}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _progress(what: str, done: int, every: int) -> None:
    if what == "page" or done % PROGRESS_EVERY == 0 or done == every:
        print(f"\r{what} {done} of {every}", end="", file=sys.stderr, flush=True)


def _open_to_readers(folder: Path) -> None:
    """Give the new folder the mode of any other: temporary folders are closed to a web server."""
    umask = os.umask(0)
    os.umask(umask)
    folder.chmod(0o777 & ~umask)


def _read(address: str | None) -> str | None:
    return None if address is None else pages_address(address, name="--address")


def serve_pages(
    *, overlays: Sequence[Path] = (), address: str | None = None, port: int, note: Callable[[str], None]
) -> int:
    """Serve the pages on this machine until interrupted; an edit of the data is shown at once.

    A fault in the data is told in one line, and the last good pages stay until it is mended.
    """
    address = _read(address)
    load(overlays)
    _require_generator(address)
    from mkdocs.commands.serve import serve
    from mkdocs.exceptions import Abort

    note(f"http://127.0.0.1:{port}/ shows every edit of a YAML file at once, not those of the program; Ctrl-C stops")
    with _messages(logging.INFO):
        try:
            serve(
                str(_config_file()),
                plugins=_plugins(overlays, hosted=False, address=address),
                dev_addr=f"127.0.0.1:{port}",
                strict=True,
            )
        except Abort as error:
            raise PagesError(f"{error}: the lines above say why") from None
        except OSError as error:
            raise QuantityError(
                name="--port",
                given=str(port),
                expected="a free port",
                next_step=f"{error.strerror or error}: name another one",
            ) from None
    return 0


def _build(plugins: dict[str, object], *, site_dir: Path, show_progress: bool) -> int:
    """Run the generator once; return how many pages it wrote."""
    from mkdocs.commands.build import build
    from mkdocs.config import load_config
    from mkdocs.exceptions import Abort

    with _messages(logging.WARNING):
        config = load_config(
            str(_config_file()),
            plugins=plugins,
            site_dir=str(site_dir),
            strict=True,
        )
        plugin = config.plugins["rangeferry"]
        if show_progress:
            plugin.told = _progress  # type: ignore[attr-defined]
        config.plugins.on_startup(command="build", dirty=False)
        try:
            build(config)
        except Abort as error:
            raise PagesError(f"{error}: the lines above say why; nothing was written") from None
        finally:
            config.plugins.on_shutdown()
            if show_progress:
                print(file=sys.stderr)
    return int(plugin.written)  # type: ignore[attr-defined]


def _config_file() -> Path:
    return shipped() / "mkdocs.yml"


def _plugins(overlays: Sequence[Path], *, hosted: bool, address: str | None, tables: bool = True) -> dict[str, object]:
    """Return the plugins of the configuration file, ours with the folders and the kind of pages that are wanted.

    A mapping: the generator empties a list as it reads it, and a server reads it again at every edit.
    """
    plugins: dict[str, object] = {}
    for item in yaml.safe_load(_config_file().read_text(encoding="utf-8"))["plugins"]:
        plugins |= item if isinstance(item, dict) else {item: {}}
    folders = [str(folder.absolute()) for folder in overlays]
    return plugins | {"rangeferry": {"overlays": folders, "hosted": hosted, "address": address, "tables": tables}}


@contextlib.contextmanager
def _messages(level: int) -> Iterator[None]:
    """Show the generator's messages on stderr while it works."""
    log = logging.getLogger("mkdocs")
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(logging.Formatter("%(message)s"))
    handler.setLevel(level)
    log.addHandler(handler)
    log.setLevel(level)
    try:
        yield
    finally:
        log.removeHandler(handler)


def _require_generator(address: str | None) -> None:
    os.environ.setdefault("NO_MKDOCS_2_WARNING", "1")
    try:
        import jsonschema  # noqa: F401
        import material  # noqa: F401
        import xlsxwriter  # noqa: F401

        if address is not None:
            import segno  # noqa: F401
    except ImportError:
        raise PagesError(NEEDED) from None
