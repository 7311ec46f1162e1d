"""Where the input cells of a workbook that was read stand: which row of which table is which reading."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.workbook.layout import FORM_HEADERS, SHEETS, table_name
from xlsengine.workbook.reading.area_reader import AreaReader
from xlsengine.workbook.reading.cells import SheetCells
from xlsengine.workbook.reading.contents import Contents
from xlsengine.workbook.reading.findings import Findings, key
from xlsengine.workbook.reading.package import Area
from xlsengine.workbook.reading.table_reader import locate

REQUIRED_MARK = "*"


@dataclass(frozen=True)
class Position:
    """Where a form or table stands: the sheet's rows that hold something, and its columns by name.

    A form's rows are those of its fields, in the order of their declaration (-1 where one is missing), and its columns
    go by their headers. `headers` are all header texts by column.
    """

    part: Form | Table
    area: Area
    rows: tuple[int, ...]
    columns: Mapping[str, int]
    headers: Mapping[int, str]

    @cached_property
    def number_of(self) -> Mapping[int, int]:
        """Return which row of the form or table a row of the sheet is, counted from 0."""
        return {row: number for number, row in enumerate(self.rows)}

    def place(self, row: int, name: str) -> str:
        """Return the address of a cell with its sheet; `row` counts from 0 in the form or table."""
        return self.area.place(self.rows[row], self.columns[name])


def positions(contents: Contents) -> dict[str, Position]:
    """Return where every form and table of a workbook stands, by the name of its Excel table."""
    areas: dict[str, Area] = {}
    for area in contents.areas:
        areas.setdefault(area.name.casefold(), area)
    found = {}
    for part in (part for parts in SHEETS.values() for part in parts):
        held = areas.get(table_name(part).casefold())
        if held is not None:
            neighbours = [other for other in contents.areas if other.sheet == held.sheet and other is not held]
            found[table_name(part)] = position(part, held, contents.grids[held.sheet], neighbours)
    return found


def position(part: Form | Table, area: Area, cells: SheetCells, neighbours: Sequence[Area]) -> Position:
    """Return where a form or table stands in the area of an Excel table, `neighbours` being the others of its sheet."""
    if isinstance(part, Table):
        return _table(part, area, cells, neighbours)
    return _form(part, AreaReader(area, cells, FORM_HEADERS, Findings()))


def _form(form: Form, reader: AreaReader) -> Position:
    columns = {text: place for place, text in reader.headers.items() if text}
    labels = next((place for text, place in columns.items() if key(text) == key(FORM_HEADERS[0])), reader.area.left)
    written = {key(_label(reader, row, labels)): row for row in reversed(reader.rows)}
    rows = tuple(written.get(key(declared.label), -1) for declared in form.fields.values())
    return Position(form, reader.area, rows, columns, reader.headers)


def _label(reader: AreaReader, row: int, column: int) -> str:
    return str(reader.content(row, column) or "").strip().removesuffix(REQUIRED_MARK)


def _table(table: Table, area: Area, cells: SheetCells, neighbours: Sequence[Area]) -> Position:
    reader, places, rows = locate(table, area, cells, neighbours, Findings())
    by_text = {key(text): place for place, text in reversed(reader.headers.items()) if text}
    computed = {name: by_text[key(d.header)] for name, d in table.columns.items() if key(d.header) in by_text}
    typed = {name: place.column for name, place in places.items()}
    return Position(table, reader.area, tuple(rows), {**computed, **typed}, reader.headers)
