"""Makes the pages: whole or not at all, with progress on a terminal, or serves them and follows every edit."""

import contextlib
import logging
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import yaml

from planner.errors import PlannerError, QuantityError
from planner.loading import load, shipped
from planner.publish.data_files import DATA_FOLDER

__all__ = ["LOOKUP_SCRIPT", "PagesError", "build_pages", "serve_pages"]

# What a call page will answer with; no page carries it yet, and a browser test holds it equal to the planner.
LOOKUP_SCRIPT = Path(__file__).with_name("call") / "lookup.js"
MADE_BY_US = Path(DATA_FOLDER) / "index.json"  # what tells a folder of pages from anything else
NEEDED = "rangeferry pages needs the site extra: python3 -m pip install 'rangeferry[site]', or in a checkout '.[site]'"


class PagesError(PlannerError):
    """The pages could not be made; the text says why and what to do."""


def build_pages(
    out: Path, *, overlays: Sequence[Path] = (), folder: bool = False, note: Callable[[str], None], show_progress: bool
) -> int:
    """Make the pages in `out`; return how many pages there are.

    They are made beside it first and then moved into its place, so that `out` is always a whole site or what it was.
    Raises `QuantityError` for a folder that holds something else, `DataError` for faulty data, `PagesError` else.
    """
    _refuse_foreign(out)
    load(overlays)  # a fault in the data is told as by every other command, before anything is made
    _require_generator()
    parent = out.absolute().parent
    try:
        parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=parent))
    except OSError as error:
        raise _unwritable(out, error) from None
    made, old = beside / "new", beside / "old"
    try:
        written = _build(overlays=overlays, folder=folder, site_dir=made, told=_progress if show_progress else None)
        if show_progress:
            print(file=sys.stderr)
        _open_to_readers(made)
        if out.exists():
            out.rename(old)
        made.rename(out)
        note(f"{written} pages in {out}" + (f": open {out / 'index.html'} in a browser" if folder else ""))
        return written
    except OSError as error:
        raise _unwritable(out, error) from None
    finally:
        if old.exists() and not out.exists():
            old.rename(out)
        shutil.rmtree(beside, ignore_errors=True)


def _unwritable(out: Path, error: OSError) -> QuantityError:
    return QuantityError(
        name="--out",
        given=str(out),
        expected="a folder that can be written",
        next_step=f"{error.strerror or error}: name another folder",
    )


def _refuse_foreign(out: Path) -> None:
    """Refuse to replace a folder that pages were not made in before."""
    if not out.exists():
        return
    if not out.is_dir():
        raise QuantityError(name="--out", given=str(out), expected="a folder", next_step="it is a file: name a folder")
    try:
        holds_something = any(out.iterdir())
    except OSError as error:
        raise _unwritable(out, error) from None
    if holds_something and not (out / MADE_BY_US).is_file():
        raise QuantityError(
            name="--out",
            given=str(out),
            expected="an empty or new folder, or one with pages made before",
            next_step="it holds something else, which would be lost: name another folder",
        )


def _progress(done: int, every: int) -> None:
    print(f"\rpage {done} of about {every}", end="", file=sys.stderr, flush=True)


def _open_to_readers(folder: Path) -> None:
    """Give the new folder the mode of any other: temporary folders are closed to a web server."""
    umask = os.umask(0)
    os.umask(umask)
    folder.chmod(0o777 & ~umask)


def serve_pages(*, overlays: Sequence[Path] = (), port: int, note: Callable[[str], None]) -> int:
    """Serve the pages on this machine until interrupted; an edit of the data is shown at once.

    A fault in the data is told in one line, and the last good pages stay until it is mended.
    """
    load(overlays)
    _require_generator()
    from mkdocs.commands.serve import serve
    from mkdocs.exceptions import Abort

    note(f"http://127.0.0.1:{port}/ shows every edit of a YAML file at once, not those of the program; Ctrl-C stops")
    with _messages(logging.INFO):
        try:
            serve(
                str(_config_file()),
                plugins=_plugins(overlays, hosted=False),
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


def _build(*, overlays: Sequence[Path], folder: bool, site_dir: Path, told: Callable[[int, int], None] | None) -> int:
    """Run the generator once; return how many pages it wrote."""
    from mkdocs.commands.build import build
    from mkdocs.config import load_config
    from mkdocs.exceptions import Abort

    with _messages(logging.WARNING):
        config = load_config(
            str(_config_file()), plugins=_plugins(overlays, hosted=not folder), site_dir=str(site_dir), strict=True
        )
        plugin = config.plugins["rangeferry"]
        if told is not None:
            plugin.told = told  # type: ignore[attr-defined]
        config.plugins.on_startup(command="build", dirty=False)
        try:
            build(config)
        except Abort as error:
            raise PagesError(f"{error}: the lines above say why; nothing was written") from None
        finally:
            config.plugins.on_shutdown()
    return int(plugin.written)  # type: ignore[attr-defined]


def _config_file() -> Path:
    return shipped() / "mkdocs.yml"


def _plugins(overlays: Sequence[Path], *, hosted: bool) -> dict[str, object]:
    """Return the plugins of the configuration file, ours with the folders and the kind of pages that are wanted.

    A mapping: the generator empties a list as it reads it, and a server reads it again at every edit.
    """
    plugins: dict[str, object] = {}
    for item in yaml.safe_load(_config_file().read_text(encoding="utf-8"))["plugins"]:
        plugins |= item if isinstance(item, dict) else {item: {}}
    return plugins | {"rangeferry": {"overlays": [str(folder.absolute()) for folder in overlays], "hosted": hosted}}


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


def _require_generator() -> None:
    os.environ.setdefault("NO_MKDOCS_2_WARNING", "1")
    try:
        import jsonschema  # noqa: F401
        import material  # noqa: F401
    except ImportError:
        raise PagesError(NEEDED) from None
