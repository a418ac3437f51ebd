"""All published texts by path, from a dataset and the outside checks. Pure: the same input gives the same bytes."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from planner.checks import Outcome, Transcription
from planner.open_data import OpenData
from planner.publish.call_page import DRAWINGS_PATH, call_drawings, call_page
from planner.publish.call_tables import call_tables
from planner.publish.card_pages import QrModules, card_pages
from planner.publish.data_files import data_files, data_page, data_texts
from planner.publish.evidence_pages import checks_page, formulas_page, sources_page
from planner.publish.lead_section import leads_section
from planner.publish.markup import Page
from planner.publish.open_data_page import open_data_page
from planner.publish.pilot_page import pilot_page
from planner.publish.plug_pages import plug_filter_styles, plug_page
from planner.publish.port_pages import port_pages
from planner.publish.provenance_pages import coverage_page, provenance_page
from planner.publish.release_pages import moved_page
from planner.publish.rig_pages import rig_pages
from planner.publish.safety_pages import safety_pages
from planner.publish.sheet_pages import sheet_pages
from planner.publish.sizing_pages import sizing_pages
from planner.publish.vehicle_pages import filter_styles, vehicle_pages
from planner.records import Dataset
from planner.releases import Moves
from planner.tables import Pair, pairs, plug_matrix, rig_view

__all__ = ["artefacts"]


def artefacts(
    dataset: Dataset,
    outcomes: Sequence[Outcome] = (),
    texts: Sequence[Transcription] = (),
    *,
    moves: Moves | None = None,
    open_data: OpenData | None = None,
    address: str | None = None,
    qr_modules: QrModules | None = None,
    lookups: Mapping[str, Mapping[str, Any]] | None = None,
    told: Callable[[int, int], None] | None = None,
) -> dict[str, str]:
    """Return every generated text by its path: pages as `.md` (front matter, then finished HTML), files as they are.

    `moves` is what moved since a former version of the data, `open_data` what was compared with it, `address` where the
    pages will stand, for links on paper, which `qr_modules` makes codes of; `lookups` are the tables of the classes for
    the call page, which has no answers without them; `told` hears how many of how many pairs of rig and class have been
    planned.
    """
    every: list[Pair] = []
    count = len(dataset.vehicle_classes) * len(dataset.rigs)
    for pair in pairs(dataset):
        every.append(pair)
        if told is not None:
            told(len(every), count)
    by_class: dict[str, list[Pair]] = {class_id: [] for class_id in dataset.vehicle_classes}
    by_rig: dict[str, list[Pair]] = {rig_id: [] for rig_id in dataset.rigs}
    for pair in every:
        by_class[pair.vehicle].append(pair)
        by_rig[pair.rig].append(pair)
    views = {rig_id: rig_view(dataset, rig_id) for rig_id in dataset.rigs}
    matrix = plug_matrix(dataset)
    files = data_files(dataset, every, matrix, outcomes)
    pages: list[Page] = [
        call_page(dataset, views, by_rig, address=address),
        *vehicle_pages(dataset, by_class),
        *rig_pages(dataset, views, by_rig),
        *sheet_pages(dataset, views),
        *card_pages(dataset, views, by_rig, address=address, qr_modules=qr_modules),
        *safety_pages(dataset, by_rig),
        *sizing_pages(dataset),
        *port_pages(dataset, views, matrix),
        plug_page(dataset, matrix, leads=leads_section(dataset)),
        pilot_page(dataset),
        formulas_page(),
        checks_page(outcomes, texts, open_data=open_data is not None),
        *(() if open_data is None else (open_data_page(open_data),)),
        sources_page(dataset),
        data_page(dataset, files),
        provenance_page(dataset),
        coverage_page(dataset),
        moved_page(dataset, moves),
    ]
    found = {page.path: page.text() for page in pages}
    found["vehicles/filters.css"] = filter_styles(dataset)
    found["plugs/filters.css"] = plug_filter_styles(dataset, matrix)
    found |= data_texts(files, dataset_version=dataset.version)
    if lookups is not None:
        found |= dict(call_tables(dataset, lookups))
        found[DRAWINGS_PATH] = call_drawings(dataset, lookups.values())
    return found
