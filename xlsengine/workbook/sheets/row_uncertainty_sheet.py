"""Uncertainty by row: what “±” stands for, for every derived figure of every reading."""

from __future__ import annotations

from xlsengine.bench.readings import READINGS
from xlsengine.bench.row_errors import ROW_UNCERTAINTY
from xlsengine.bench.row_uncertainty import ROW_SHARES
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book
from xlsengine.workbook.input_sheets import set_column_widths
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.page_widths import heading_beside, last_printed
from xlsengine.workbook.sheets.aside import place_aside, write_aside
from xlsengine.workbook.sheets.derived_table import place_table, write_table

NAME = "Uncertainty by row"
_TOP, _NAMING_COLUMNS = 4, 5
_SCOPE = (
    "For one reading alone; means of several are surer, and stand on the sheet Uncertainty.",
    f"Estimates of in-flight current and power are bands themselves. The first {ROW_UNCERTAINTY.most:,} rows of Readings.",
)
_ASIDE = len(ROW_UNCERTAINTY.columns) + 2


def place_row_uncertainty(layout: Layout, scope: Scope) -> None:
    """Place the table, and beside it what is the same in every row."""
    place_table(layout, scope, ROW_UNCERTAINTY, NAME, _TOP)
    place_aside(layout, NAME, [*ROW_SHARES.quantities], _ASIDE)


def write_row_uncertainty(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME)
    heading_beside(sheet, NAME, ROW_UNCERTAINTY.meaning, _NAMING_COLUMNS)
    for row, sentence in enumerate(_SCOPE, start=1):
        sheet.text(row, _NAMING_COLUMNS, sentence, book.formats.subtitle)
    set_column_widths(sheet, ROW_UNCERTAINTY)
    kind = book.layout.blocks[ROW_UNCERTAINTY.name].column("of_kind_taken")
    sheet.worksheet.set_column(kind, kind, 9)
    write_table(sheet, ROW_UNCERTAINTY, header_height=72)
    write_aside(sheet, ROW_SHARES, _ASIDE)
    shown = sum(not declared.helper for declared in ROW_UNCERTAINTY.columns.values())
    assert book.scope is not None
    block = book.layout.blocks[ROW_UNCERTAINTY.name]
    sheet.worksheet.print_area(0, 0, last_printed(block, book.scope.used_rows(READINGS.name)), shown - 1)
    sheet.print_setup(repeat=(_TOP, _TOP), scale=70)
    sheet.worksheet.repeat_columns(0, _NAMING_COLUMNS - 1)
    sheet.worksheet.print_across()
    sheet.worksheet.freeze_panes(_TOP + 1, _NAMING_COLUMNS)
