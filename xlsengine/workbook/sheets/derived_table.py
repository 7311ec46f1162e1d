"""Tables and lists without inputs: live columns and figures, and those written once."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from xlsengine.bench.advice.in_flight import flight_basis
from xlsengine.bench.declaring.declare import Field, Figures, Quantity, Table
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.expression import Column, Named
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.cell_values import decimals_of
from xlsengine.workbook.formats import ONE_LINE
from xlsengine.workbook.layout import Block, Layout

Shapes = Callable[[str], Mapping[str, Any]]


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
    texts: Shapes = lambda name: {},
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
