"""What a workbook file holds, read once and whole: its Excel tables, the cells of their sheets, and its version."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from xlsengine.workbook.layout import SCHEMA_PROPERTY, WRITTEN_SHEETS
from xlsengine.workbook.reading.cells import Decoder, SheetCells, cell_formats, content_of, shared_strings
from xlsengine.workbook.reading.package import Area, Package, open_package


@dataclass(frozen=True)
class Contents:
    """The wanted tables' sheets cell by cell, and of all other sheets whether they hold anything.

    `areas` are all tables of the workbook; `grids` holds the cells of sheets that carry a wanted one; `other_sheets`
    names the rest, in order, with True where something stands there; `without_cells` are chart sheets and the like.
    """

    areas: tuple[Area, ...]
    grids: dict[str, SheetCells]
    other_sheets: dict[str, bool]
    schema_version: str | None
    without_cells: dict[str, str]
    leads_outside: bool

    @property
    def sheets(self) -> set[str]:
        """Return the names of all worksheets."""
        return {*self.grids, *self.other_sheets}


def read_contents(path: Path, wanted: Collection[str]) -> Contents:
    """Read a workbook file for the tables of the names `wanted` (without capitals).

    Raises `WorkbookUnreadable` for whatever cannot be opened as a workbook.
    """
    with open_package(path) as package:
        decoder = decoder_of(package)
        areas = package.areas()
        carrying = {area.sheet for area in areas if area.name.casefold() in wanted}
        sheets = package.sheets()
        grids = {name: _grid(package, part, decoder) for name, part in sheets.items() if name in carrying}
        others = {name: _is_filled(name, package, part, decoder) for name, part in sheets.items() if name not in grids}
        version = package.custom_property(SCHEMA_PROPERTY)
        return Contents(areas, grids, others, version, package.other_kinds(), package.leads_outside())


def decoder_of(package: Package) -> Decoder:
    """Return what turns the cells of a package's sheets into values."""
    strings, styles = package.shared("sharedStrings"), package.shared("styles")
    texts: list[str] = []
    if strings:
        with package.stream(strings) as stream:
            texts = shared_strings(stream)
    formats = cell_formats(package.root(styles)) if styles else []
    return Decoder(texts, formats, package.counts_from_1904)


def _grid(package: Package, part: str, decoder: Decoder) -> SheetCells:
    with package.stream(part) as stream:
        return decoder.sheet(stream)


def _is_filled(name: str, package: Package, part: str, decoder: Decoder) -> bool:
    """Tell whether anything stands on a sheet; sheets that the engine writes for reading only are not opened."""
    if name in WRITTEN_SHEETS:
        return True
    with package.stream(part) as stream:
        return any(content_of(stored) is not None for _, row in decoder.rows(stream) for stored in row.values())
