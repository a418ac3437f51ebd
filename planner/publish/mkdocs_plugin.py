"""The thin adapter to the site generator: it reads the data, hands over the pages, and strips what is not ours.

Pages are kept out of the generator's navigation and their finished HTML is put in after Markdown has run, which
keeps a large site linear and halves its time. Only the search index and the search worker of the theme are used.
"""

import hashlib
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from mkdocs.config import base
from mkdocs.config import config_options as option
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.plugins import BasePlugin, event_priority
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.nav import Navigation
from mkdocs.structure.pages import Page
from mkdocs.utils import get_build_date
from mkdocs.utils.templates import TemplateContext

from planner.checks import cases, compare, evaluate, transcriptions
from planner.errors import DataError, PlannerError
from planner.loading import load, shipped
from planner.open_data import open_data
from planner.publish.call_page import PAGE_SCRIPTS
from planner.publish.card_pages import pages_address
from planner.publish.data_check import check_texts
from planner.publish.made_tables import FEW, made_tables, store_folder
from planner.publish.markup import page_parts
from planner.publish.pocket import WORKER_PATH, changes_text, kept, worker
from planner.publish.site import artefacts
from planner.publish.workbook import WORKBOOK_PATH, workbook
from planner.records import Dataset
from planner.release_files import moved_since

__all__ = ["SiteConfig", "SitePlugin", "write_worker"]

PROGRAM = Path(__file__).resolve().parent
THEME = PROGRAM / "theme"
POCKET_SCRIPT = "assets/pocket.js"
WORKER_TEMPLATE = PROGRAM / "call" / "sw.js"
SEARCH_WORKER = "search/worker.js"
SEARCH_INDEX = "search/search_index"
# Stands in for a worker in pages opened from a folder.
SEARCH_FRAME = "search/frame.html"
SEARCH_FRAME_SCRIPT = "search/frame.js"
SEARCH_FRAME_HTML = (
    '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<meta name="robots" content="noindex">\n'
    "<title>Search</title>\n"
    '<script src="frame.js"></script>\n<script src="worker.js"></script>\n</head>\n<body></body>\n</html>\n'
)


class SiteConfig(base.Config):
    """Options of the plugin in `mkdocs.yml`."""

    overlays = option.ListOfItems(option.Type(str), default=[])
    hosted = option.Type(bool, default=True)
    address = option.Optional(option.Type(str))
    tables = option.Type(bool, default=True)


class SitePlugin(BasePlugin[SiteConfig]):
    """Adds the generated pages and files to a build."""

    def __init__(self) -> None:
        """Start empty; `told` may be replaced by a caller that wants to hear of every page written."""
        self.bodies: dict[str, str] = {}
        self.dataset_version = ""
        self.changes = ""
        self.told: Callable[[str, int, int], None] = lambda _what, _done, _all: None
        self.written = 0
        self.expected = 0
        self.serving = False
        self.last_texts: dict[str, str] = {}

    def on_startup(self, *, command: str, dirty: bool) -> None:
        """Remember whether this is a server. Having this, the plugin lives on from one build of it to the next."""
        self.serving = command == "serve"

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Put our templates before the theme's, and watch the data."""
        config.theme.dirs.insert(0, str(THEME))
        config.theme.static_templates = {"404.html"}  # no list of addresses: nobody knows them yet
        for folder in self._folders(config):
            config.watch.append(str(folder))
        config.watch.append(str(shipped() / "vehicle_data"))
        return config

    def _folders(self, config: MkDocsConfig) -> list[Path]:
        beside = Path(config.config_file_path or ".").parent
        return [beside / folder for folder in self.config.overlays]

    def on_files(self, files: Files, *, config: MkDocsConfig) -> Files:
        """Add what is generated; keep of the theme only its search worker."""
        _strip_theme(files, config, hosted=self.config.hosted)
        try:
            texts = self._texts(config)
        except PlannerError as error:
            message = _lines(error) if isinstance(error, DataError) else str(error)
            if not (self.serving and self.last_texts):
                raise PluginError(message) from None
            print(message, "The pages stay as they were.", file=sys.stderr, flush=True)
            texts = self.last_texts
        self.last_texts = texts
        self.bodies = {}
        self.written = 0
        for path, text in texts.items():
            if files.get_file_from_path(path) is not None:
                raise PluginError(f"{path}: also stands in {config.docs_dir}; rename the hand-written page")
            if path.endswith(".md"):
                meta, self.bodies[path] = page_parts(text)
                files.append(File.generated(config, path, content=meta, inclusion=InclusionLevel.NOT_IN_NAV))
            else:
                files.append(File.generated(config, path, content=text))
        files.append(File.generated(config, WORKBOOK_PATH, content=workbook(texts)))
        for path in PAGE_SCRIPTS:
            if (PROGRAM / path).is_file():
                script = (PROGRAM / path).read_text(encoding="utf-8")
                files.append(File.generated(config, path, content=script))
        self.expected = len(files.documentation_pages())
        return files

    def _texts(self, config: MkDocsConfig) -> dict[str, str]:
        given = self.config.address
        address = None if given is None else pages_address(given, name="address of the plugin rangeferry")
        dataset = load(self._folders(config))
        moves = moved_since(dataset)
        texts = artefacts(
            dataset,
            [evaluate(case, dataset) for case in cases()],
            [compare(text, dataset) for text in transcriptions()],
            moves=moves,
            open_data=open_data(),
            address=address,
            qr_modules=_qr_modules,
            lookups=self._tables(dataset) if self.config.tables else None,
            told=lambda done, every: self.told("plan", done, every),
        )
        check_texts(texts)
        self.dataset_version = dataset.version
        self.changes = changes_text(moves)
        return texts

    def _tables(self, dataset: Dataset) -> dict[str, dict[str, Any]]:
        """Return the tables of the call page. A server that follows edits does not wait for many of them."""
        edited = self.serving and bool(self.last_texts)
        found = made_tables(
            dataset,
            store=store_folder(),
            told=lambda done, every: self.told("table", done, every),
            at_most=FEW if edited else None,
        )
        missing = len(dataset.vehicle_classes) - len(found)
        if missing:
            text = (
                f"The call page has no answers for {missing} classes that this edit changes: start again to have them."
            )
            print(text, file=sys.stderr, flush=True)
        return found

    def on_page_content(self, html: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:
        """Return the finished HTML of a generated page, or what Markdown made of a hand-written one."""
        return self.bodies.get(page.file.src_uri, html)

    def on_page_context(
        self, context: TemplateContext, *, page: Page, config: MkDocsConfig, nav: Navigation
    ) -> TemplateContext:
        """Tell the templates the version of the data and how the pages are opened."""
        context["dataset_version"] = self.dataset_version  # type: ignore[typeddict-unknown-key]
        context["hosted"] = self.config.hosted  # type: ignore[typeddict-unknown-key]
        return context

    def on_post_page(self, output: str, *, page: Page, config: MkDocsConfig) -> str:
        """Count the pages for whoever listens."""
        self.written += 1
        self.told("page", self.written, self.expected)
        return output

    @event_priority(-200)  # after the search has written its index
    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Write what one kind of pages alone has: the worker that keeps hosted ones, a folder's index as a script."""
        if self.config.hosted:
            write_worker(
                Path(config.site_dir), version=self.dataset_version, date=get_build_date(), changes=self.changes
            )
            return
        index = Path(config.site_dir) / f"{SEARCH_INDEX}.json"
        text = index.read_text(encoding="utf-8")
        index.with_suffix(".js").write_text(f"var __index = {text};\n", encoding="utf-8")


def write_worker(site: Path, *, version: str, date: str, changes: str) -> None:
    """Write the service worker that keeps the pages of a folder on a device, from the files as they stand there."""
    files = {path.relative_to(site).as_posix(): path for path in sorted(site.rglob("*")) if path.is_file()}
    digests = {
        name: hashlib.sha256(files[name].read_bytes()).hexdigest()
        for name in kept({name: path.stat().st_size for name, path in files.items()})
    }
    text = worker(WORKER_TEMPLATE.read_text(encoding="utf-8"), digests, version=version, date=date, changes=changes)
    (site / WORKER_PATH).write_text(text, encoding="utf-8")


def _qr_modules(text: str) -> Sequence[Sequence[int]]:
    import segno  # wanted with an address alone

    return segno.make(text, error="m", micro=False).matrix


def _lines(error: DataError) -> str:
    count = len(error.problems)
    return f"{error}\n{count} problem{'s' if count > 1 else ''} in the data."


def _strip_theme(files: Files, config: MkDocsConfig, *, hosted: bool) -> None:
    """Drop the theme's own assets: styles, scripts, pictures. Its search worker stays, under a name of ours."""
    worker = None
    for file in list(files):
        if file.src_dir is None or not file.abs_src_path:
            continue
        source = Path(file.abs_src_path)
        if source.is_relative_to(THEME) or source.is_relative_to(config.docs_dir):
            continue
        if file.src_uri.startswith("assets/javascripts/workers/search.") and file.src_uri.endswith(".js"):
            worker = source
        files.remove(file)
    if worker is None:
        raise PluginError("the theme's search worker was not found: install mkdocs-material of a version that has it")
    script = worker.read_text(encoding="utf-8")
    script = "\n".join(line for line in script.splitlines() if not line.startswith("//# sourceMappingURL="))
    files.append(File.generated(config, SEARCH_WORKER, content=script + "\n"))
    unused = SEARCH_FRAME_SCRIPT if hosted else POCKET_SCRIPT
    files.remove(next(file for file in files if file.src_uri == unused))
    if not hosted:
        files.append(File.generated(config, SEARCH_FRAME, content=SEARCH_FRAME_HTML))
