"""What a workbook file holds, read once and whole: its Excel tables, the cells of their sheets, and its version."""

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from xlsengine.bench.inputs.readings import READINGS
from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.layout import HASH_PROPERTY, SCHEMA_PROPERTY, is_written
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.cells import Decoder, SheetCells, cell_formats, shared_strings
from xlsengine.workbook.reading.gate import Scales
from xlsengine.workbook.reading.package import Area, Package, open_package

OTHER_WORK = {"needform": "xlsengine find FILE", "batchform": "xlsengine batch FILE"}
"""Commands for workbooks that are no bench tests, by a table that each of those has."""


_HELD = re.compile(rb"<(?:\w+:)?(?:[vt](?:\s[^<>]*)?>\s*[^<\s]|f[\s>])")


class Held(NamedTuple):
    """An Excel table with the cells of its sheet and the sheet's other tables: what stands in those is not its own."""

    area: Area
    cells: SheetCells
    neighbours: Sequence[Area] = ()


@dataclass(frozen=True)
class Contents:
    """The wanted tables' sheets cell by cell, and of all other sheets whether they hold anything.

    `areas` are all tables of the workbook; `grids` holds the cells of sheets that carry a wanted one; `other_sheets`
    names the rest, in order, with True where something stands there; `without_cells` are chart sheets and the like.
    """

    areas: tuple[Area, ...]
    grids: dict[str, SheetCells]
    other_sheets: dict[str, bool]
    properties: Mapping[str, str]
    without_cells: dict[str, str]
    leads_outside: bool

    @property
    def schema_version(self) -> str | None:
        """Return the version of the template that it was written from."""
        return self.properties.get(SCHEMA_PROPERTY)

    @property
    def written_from(self) -> str | None:
        """Return the hash of the inputs that a results workbook was written from, None for others."""
        return self.properties.get(HASH_PROPERTY)

    @property
    def sheets(self) -> set[str]:
        """Return the names of all worksheets."""
        return {*self.grids, *self.other_sheets}

    def held(self) -> dict[str, Held]:
        """Return the tables on sheets that were read, by name without capitals; the first of those of one name."""
        first = {area.name.casefold(): area for area in reversed(self.areas) if area.sheet in self.grids}
        return {
            name: Held(area, self.grids[area.sheet], [a for a in self.areas if a.sheet == area.sheet and a is not area])
            for name, area in first.items()
        }


def read_contents(path: Path, wanted: Collection[str]) -> Contents:
    """Read a workbook file for the tables of the names `wanted` (without capitals).

    Raises `WorkbookUnreadable` for whatever cannot be opened as a workbook.
    """
    with open_package(path) as package:
        properties, areas = package.custom_properties, package.areas
        other_kinds, leads_outside = package.other_kinds(), package.leads_outside()
        refuse_other_work(areas, wanted)
        sheets, grids = package.sheets(), {}
        homes = {area.sheet for area in areas if area.name.casefold() in wanted}
        others = {name: _is_filled(name, package, part) for name, part in sheets.items() if name not in homes}
        if ours := {name: part for name, part in sheets.items() if name in homes}:
            package.weigh(ours.values(), Scales(limits.SHEETS))
            decoder = decoder_of(package)
            grids = {name: package.cells(part, decoder) for name, part in ours.items()}
        contents = Contents(areas, grids, others, properties, other_kinds, leads_outside)
        _refuse_long_forms(contents, wanted)
        return contents


def refuse_other_work(areas: Iterable[Area], wanted: Collection[str]) -> None:
    """Raise `WorkbookUnreadable` for a workbook of ours that another command is for, by the names of its tables."""
    names = {area.name.casefold() for area in areas}
    for name, command in OTHER_WORK.items():
        if name in names and not names & set(wanted):
            raise WorkbookUnreadable(f"it is no bench test; hand it to: {command}")


def _refuse_long_forms(contents: Contents, wanted: Collection[str]) -> None:
    for area in (area for area in contents.areas if area.name.casefold() in {*wanted} - {READINGS.name.casefold()}):
        rows = sum(area.first <= row <= area.last for row in contents.grids[area.sheet])
        if rows > limits.MOST_OTHER_ROWS:
            raise WorkbookUnreadable(f"the table {area.name} holds more than {limits.MOST_OTHER_ROWS} rows")


def decoder_of(package: Package) -> Decoder:
    """Return what turns the cells of a package's sheets into values."""
    strings, styles = package.shared("sharedStrings"), package.shared("styles")
    texts: list[str] = []
    if strings:
        with package.stream(strings, limits.STRINGS) as stream:
            texts = shared_strings(stream)
    formats = cell_formats(package.root(styles)) if styles else []
    return Decoder(texts, formats, package.counts_from_1904)


def _is_filled(name: str, package: Package, part: str) -> bool:
    """Tell whether anything stands on a sheet that is not ours, as far as its beginning shows.

    Sheets that the engine writes for reading only are not opened.
    """
    if is_written(name):
        return True
    return package.size(part) > limits.LOOKED_INTO or holds_anything(package.content(part))


def holds_anything(sheet: bytes) -> bool:
    """Tell whether a cell holds a value or a formula, by the tags of a sheet that is not parsed.

    >>> holds_anything(b"<row><c s='4'/><c><v>1</v></c></row>"), holds_anything(b"<x:row><x:c><x:v/></x:c></x:row>")
    (True, False)
    """
    return bool(_HELD.search(sheet))
