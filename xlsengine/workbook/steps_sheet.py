"""Steps: what only formulas read, on a hidden sheet; the columns of Readings among it stay in its table, folded away.

Nothing stands here that no shown cell, sentence or chart needs.
"""

from dataclasses import replace
from functools import cache, partial

from xlsengine.bench.declaring.declare import Quantity
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.bench.inputs.uses import USES
from xlsengine.bench.judging.plain_checks import PLAIN_CHECKS, is_raised
from xlsengine.bench.model import TABLES, declared, definitions
from xlsengine.expression import Column, Constant, Named
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.layout import Block
from xlsengine.workbook.reach import Cell, Reach, Reader
from xlsengine.workbook.unread import Folding

NAME = "Steps"
HIDDEN = "what formulas read on the way; hidden: click any tab with the right mouse button, then Unhide or Show Sheet"
_TOP = 3
WORKED_OUT = 1
"""Spare rows of Uses that are worked out."""
_SUBTITLE = "What only formulas read, on the way to what the other sheets show. Nothing is typed here."


@cache
def folding_of(unread: tuple[str, ...]) -> Folding:
    """Return the expressions of everything declared, without what was not read; worked out once for all workbooks."""
    asked = {is_raised(code): check.condition for code, check in PLAIN_CHECKS.items()}
    return Folding(definitions(), unread, asked)


def write_live_cells(book: Book) -> None:
    """Write all live cells of a workbook, and before them the steps that they need."""
    book.reach = _reach(book)
    _place(book, list(book.reach.needed()))
    book.put_live_cells()


def _reach(book: Book) -> Reach:
    assert book.layout.folding is not None
    roots = [Reader(live.node, live.cell, live.rows) for live in book.live_cells]
    roots += [Reader(cell.present(), None, 1) for cell in book.asked_for]
    reach = Reach(definitions(), book.layout.folding, book.layout.has)
    reach.find(roots, partial(_rows, book))
    return reach


def _rows(book: Book, table: str) -> int:
    assert book.scope is not None
    if table == USES.name:
        return book.scope.used_rows(table) + WORKED_OUT
    return book.layout.blocks[table].rows if table in book.layout.blocks else book.scope.rows(table)


def _place(book: Book, cells: list[Cell]) -> None:
    sheet = book.sheet(NAME)
    sheet.heading(NAME, _SUBTITLE)
    row = _TOP
    for cell in cells:
        if isinstance(cell, Named):
            _write_figure(sheet, row, cell)
            row += 1
    row += 2
    for table in TABLES:
        wanted = {cell.name for cell in cells if isinstance(cell, Column) and cell.table == table}
        names = [name for name in TABLES[table].columns if name in wanted]  # some formulas span neighbours
        if names and table == READINGS.name:
            _extend(book, names)
        elif names:
            sheet.text(row, 0, table, book.formats.section)
            row = _write_columns(sheet, row + 1, table, names) + 1
    sheet.worksheet.set_column(0, 0, 40)
    sheet.print_setup()
    sheet.print_nothing()
    sheet.worksheet.hide()


def _write_figure(sheet: Sheet, row: int, cell: Named) -> None:
    figure, form = declared(cell), sheet.book.formats.helper
    sheet.text(row, 0, figure.label, form)
    sheet.book.layout.name(cell.name, NAME, row, 1)
    sheet.book.layout.step_figures.add(cell.name)
    if isinstance(figure, Quantity):
        sheet.book.layout.unseen.add(cell)
    sheet.live(row, 1, cell, form)


def _write_columns(sheet: Sheet, top: int, table: str, names: list[str]) -> int:
    """Write columns of a table with their headers at `top`; return the row below the last."""
    headers = tuple(TABLES[table].declared(name).header for name in names)
    block = Block(table, NAME, top, 0, _rows(sheet.book, table), tuple(names), headers)
    sheet.book.layout.steps[table] = block
    for header, column in zip(headers, range(len(names)), strict=True):
        sheet.text(block.top, column, header, sheet.book.formats.helper_header)
    _write_cells(sheet, block, names)
    return block.bottom + 1


def _extend(book: Book, names: list[str]) -> None:
    """Put columns at the right end of Readings, so that they go along when its rows are sorted, and fold them away."""
    block = book.layout.blocks[READINGS.name]
    headers = tuple(READINGS.declared(name).header for name in names)
    wider = replace(block, columns=(*block.columns, *names), headers=(*block.headers, *headers))
    book.layout.blocks[READINGS.name] = wider
    sheet = book.sheet(block.sheet)
    sheet.fold(block.right + 1, wider.right, 8.5)
    _write_cells(sheet, wider, names)


def _write_cells(sheet: Sheet, block: Block, names: list[str]) -> None:
    """Write columns live; as plain values what was written once, and constants where no row will be added."""
    assert sheet.book.reach is not None
    for name in names:
        one, column, form = TABLES[block.name].declared(name), block.column(name), sheet.book.formats.helper
        cell = Column(block.name, name, one.is_text)
        held = sheet.book.reach.definition(cell) if isinstance(one, Quantity) else Constant("")
        if isinstance(one, Quantity) and (block.name == READINGS.name or not isinstance(held, Constant)):
            sheet.book.layout.unseen.add(cell)
            sheet.derived(block.top + 1, column, block.name, one, form, block.rows)
        else:
            values = sheet.book.values(cell)
            for row in range(block.rows):
                sheet.value(block.top + 1 + row, column, values[row], form)
