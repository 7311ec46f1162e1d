"""Tables and lists without inputs: live columns and figures, and those written once."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from xlsengine.bench.advice.in_flight import flight_basis
from xlsengine.bench.declaring.declare import Field, Figures, Quantity, Table
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.expression import Column, Named
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet, Span
from xlsengine.workbook.cell_values import decimals_of, row_height
from xlsengine.workbook.formats import ONE_LINE
from xlsengine.workbook.layout import Block, Layout

Shapes = Callable[[str], Mapping[str, Any]]


def as_they_are(name: str) -> Mapping[str, Any]:
    """Return no shape of its own for the texts of a column."""
    return {}


def shown_columns(layout: Layout, table: Table, order: Sequence[str] = ()) -> tuple[str, ...]:
    """Return the columns of a table that a reader sees, those in `order` first; none where all would stay blank."""
    rest = (name for name, declared in table.columns.items() if not declared.helper and name not in order)
    cells = [Column(table.name, name, table.columns[name].is_text) for name in (*order, *rest)]
    return tuple(cell.name for cell in cells if not layout.is_left_out(cell))


def place_table(
    layout: Layout,
    scope: Scope,
    table: Table,
    sheet: str,
    top: int,
    left: int = 0,
    order: Sequence[str] = (),
) -> Block:
    """Place the columns of a table that a reader sees with their header row at `top`; those in `order` come first."""
    columns = shown_columns(layout, table, order)
    headers = tuple(table.columns[name].header for name in columns)
    return layout.place(Block(table.name, sheet, top, left, scope.rows(table.name), columns, headers))


def write_table(
    sheet: Sheet,
    table: Table,
    header_height: float | None = 45,
    texts: Shapes = as_they_are,
    look: Mapping[str, Any] = MappingProxyType({}),
) -> None:
    """Write a table where it was placed: live columns and those written once, texts in shapes of their own.

    Its cells, but those that only formulas read, have a `look` in common.
    """
    block = sheet.book.layout.blocks[table.name]
    if header_height is not None:
        sheet.height(block.top, header_height)
    declared_columns = [table.declared(name) for name in block.columns]
    columns = [(each, _forms(sheet, each, texts, look)) for each in declared_columns]
    sheet.book.table(sheet, block, [forms for _, forms in columns])
    for column, (declared, (_, form)) in enumerate(columns, start=block.left):
        if isinstance(declared, Quantity):
            sheet.derived(block.top + 1, column, table.name, declared, form, block.rows)
        else:
            for row, value in enumerate(sheet.scope.column(block.name, declared.name).tolist(), start=block.top + 1):
                sheet.value(row, column, value, form)


def _forms(sheet: Sheet, declared: Field | Quantity, texts: Shapes, look: Mapping[str, Any]) -> tuple[Any, Any]:
    formats = sheet.book.formats
    if declared.helper:
        return formats.helper_header, formats.helper
    one_line = declared.label == READINGS.fields["prop"].label or declared.name == flight_basis.name
    shape = ONE_LINE if one_line else texts(declared.name) if declared.is_text else {}
    return formats.header, formats.derived(decimals_of(declared), declared.is_text, **look, **shape)


# --- figures beside the page, which formulas elsewhere read by name ----------------------------------------------


def place_aside(layout: Layout, sheet: str, names: Sequence[str], column: int) -> None:
    """Give each figure a cell in `column`, from the top; its label stands to the left."""
    for row, name in enumerate(names):
        layout.name(name, sheet, row, column)


def write_aside(sheet: Sheet, group: Figures, column: int) -> None:
    """Write the figures of a group that were placed in `column`, and fold the columns away."""
    form = sheet.book.formats.helper
    everything: dict[str, Field | Quantity] = {**group.quantities, **group.written}
    for name, declared in everything.items():
        where, row, place = sheet.book.layout.cells[name]
        if (where, place) == (sheet.name, column):
            sheet.text(row, column - 1, declared.label, form)
            sheet.live(row, column, Named(name, declared.is_text), form)
    sheet.fold(column - 1, column, 20)


# --- lists of single figures: label, value, unit, what it is and where it comes from -----------------------------


HEADERS = ("Figure", "Value", "Unit", "What it is", "Source")
WIDTHS = (42, 30, 9, 56, 60)
ROOM = (42, 28, 9, 60, 64)
"""Letters in a line of each part, at these widths."""
Spans = tuple[Span, ...]
COLUMNS: Spans = tuple((column, column) for column in range(len(HEADERS)))
"""From which column to which each part of a line stands."""


def place_figures(layout: Layout, sheet: str, group: Figures, top: int, spans: Spans = COLUMNS) -> int:
    """Place a list of figures below `top`, with its title above; return the row for the next list."""
    names = _names(layout, group)
    layout.place(Block(group.name, sheet, top + 2, 0, len(names), HEADERS, HEADERS))
    for place, name in enumerate(names):
        layout.name(name, sheet, top + 3 + place, spans[1][0])
    return top + len(names) + 5


def _names(layout: Layout, group: Figures) -> list[str]:
    """Return the figures of a group, without those that what they need was not read for."""
    live = [n for n, figure in group.quantities.items() if not layout.is_left_out(Named(n, figure.is_text))]
    return [*live, *group.written]


def write_figures(sheet: Sheet, group: Figures, spans: Spans = COLUMNS, room: Sequence[int] = ROOM) -> None:
    """Write a list of figures where it was placed; `room` is that of the parts of a line, in letters."""
    formats, block = sheet.book.formats, sheet.book.layout.blocks[group.name]
    sheet.text(block.top - 2, 0, group.name, formats.section)
    sheet.text(block.top - 1, 0, group.meaning, formats.subtitle)
    sheet.over(block.top, spans, HEADERS, formats.header)
    everything: dict[str, Field | Quantity] = {**group.quantities, **group.written}
    for row, name in enumerate(_names(sheet.book.layout, group), start=block.top + 1):
        declared = everything[name]
        _write_figure(sheet, row, spans, name, declared)
        value = str(sheet.book.values(Named(name, True)) or "") if declared.is_text else ""
        texts = (declared.label, value, "", declared.meaning, declared.source.text)
        sheet.height(row, row_height(texts, room, 14))


def _write_figure(sheet: Sheet, row: int, spans: Spans, name: str, declared: Any) -> None:
    formats = sheet.book.formats
    form = formats.derived(decimals_of(declared), declared.is_text)
    value = Named(name, declared.is_text)
    texts = (declared.label, value, declared.unit, declared.meaning, declared.source.text)
    forms = (formats.label, form, formats.quiet, formats.quiet, formats.quiet)
    sheet.over(row, spans, texts, forms)
