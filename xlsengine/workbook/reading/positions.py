"""Where the input cells of a workbook that was read stand: which row of which table is which reading."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.workbook.layout import FORM_HEADERS, FORM_VALUE, SHEETS, table_name
from xlsengine.workbook.reading.area_reader import AreaReader
from xlsengine.workbook.reading.contents import Contents, Held
from xlsengine.workbook.reading.findings import Findings, key
from xlsengine.workbook.reading.form_reader import label_key
from xlsengine.workbook.reading.package import Area
from xlsengine.workbook.reading.table_reader import locate


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

    def field(self, name: str) -> str | None:
        """Return the address of the value of a form's field; None where the workbook has no such cell."""
        row, value = self.rows[list(self.part.fields).index(name)], self.columns.get(FORM_HEADERS[FORM_VALUE])
        return None if row < 0 or value is None else self.area.place(row, value)


def positions(contents: Contents) -> dict[str, Position]:
    """Return where every form and table of a workbook stands, by the name of its Excel table."""
    held = contents.held()
    named = {table_name(part): part for parts in SHEETS.values() for part in parts}
    return {name: position(part, held[name.casefold()]) for name, part in named.items() if name.casefold() in held}


def position(part: Form | Table, held: Held) -> Position:
    """Return where a form or table stands."""
    return _table(part, held) if isinstance(part, Table) else _form(part, held)


def _form(form: Form, held: Held) -> Position:
    reader = AreaReader(held.area, held.cells, FORM_HEADERS, Findings())
    columns = {text: place for place, text in reader.headers.items() if text}
    labels = next((place for text, place in columns.items() if key(text) == key(FORM_HEADERS[0])), reader.area.left)
    written = {label_key(str(reader.content(row, labels) or "")): row for row in reversed(reader.rows)}
    rows = tuple(written.get(key(declared.label), -1) for declared in form.fields.values())
    return Position(form, reader.area, rows, columns, reader.headers)


def _table(table: Table, held: Held) -> Position:
    reader, places, rows = locate(table, held, Findings())
    by_text = {key(text): place for place, text in reversed(reader.headers.items()) if text}
    computed = {name: by_text[key(d.header)] for name, d in table.columns.items() if key(d.header) in by_text}
    typed = {name: place.column for name, place in places.items()}
    return Position(table, reader.area, tuple(rows), {**computed, **typed}, reader.headers)
