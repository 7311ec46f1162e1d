"""Tables without inputs: a block of live columns, as an Excel table or as plain cells."""

from __future__ import annotations

from collections.abc import Sequence

from xlsengine.bench.declaring.declare import Quantity, Table
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.expression import Column
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.formats import ONE_LINE
from xlsengine.workbook.layout import Block, Layout


def place_table(
    layout: Layout,
    scope: Scope,
    table: Table,
    sheet: str,
    top: int,
    listed: bool = True,
    left: int = 0,
    order: Sequence[str] = (),
) -> Block:
    """Place the columns of a table that a reader sees with their header row at `top`; those in `order` come first."""
    shown = [name for name, declared in table.columns.items() if not declared.helper]
    columns = tuple(
        name
        for name in (*order, *(name for name in shown if name not in order))
        if not layout.is_left_out(Column(table.name, name, table.columns[name].is_text))
    )
    headers = tuple(table.columns[name].header for name in columns)
    return layout.place(Block(table.name, sheet, top, left, scope.rows(table.name), columns, headers, listed))


def write_table(sheet: Sheet, table: Table, header_height: int | None = 45) -> None:
    """Write a table of live columns where it was placed; None leaves the height of its header row as it is."""
    block = sheet.book.layout.blocks[table.name]
    quantities = [table.quantities[name] for name in block.columns]
    if header_height is not None:
        sheet.worksheet.set_row(block.top, header_height)
    if block.listed:
        sheet.book.table(sheet, block, [_forms(sheet, quantity) for quantity in quantities])
    else:
        for column, quantity in enumerate(quantities, start=block.left):
            sheet.text(block.top, column, quantity.header, _forms(sheet, quantity)[0])
    for quantity in quantities:
        form = _forms(sheet, quantity)[1]
        sheet.derived(block.top + 1, block.column(quantity.name), table.name, quantity, form, block.rows)


def _forms(sheet: Sheet, quantity: Quantity) -> tuple[object, object]:
    formats = sheet.book.formats
    shape = ONE_LINE if quantity.label == READINGS.fields["prop"].label else {}
    return formats.header, formats.derived(quantity.shown, quantity.is_text, **shape)
