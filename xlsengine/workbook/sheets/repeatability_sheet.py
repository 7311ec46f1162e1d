"""Repeatability: how well the bench repeats itself, and each reading against its repeats.

The list of figures stands to the right of the tables.
"""

from __future__ import annotations

from xlsengine.bench.accuracies import ACCURACIES
from xlsengine.bench.declare import Table
from xlsengine.bench.peaks import PEAKS
from xlsengine.bench.readings import READINGS
from xlsengine.bench.repeatability import REPEATABILITY, drift_verdict, scatter_basis, third_verdict, zero_verdict
from xlsengine.bench.repeats import GROUPS, REPEATS
from xlsengine.expression import join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.page_widths import last_printed
from xlsengine.workbook.sheets.derived_table import place_table, write_table
from xlsengine.workbook.sheets.figure_list import place_figures, write_figures

NAME = "Repeatability"
_TOP = 8
_LISTS = (REPEATABILITY, ACCURACIES)
_LIST_WIDTHS = (48, 62, 9, 84, 84)
_TABLES: tuple[tuple[Table, str], ...] = (
    (GROUPS, "Scatter by group"), (PEAKS, "Peak against steady"), (REPEATS, "Each reading against its repeats"),
)  # fmt: skip


_WIDEST = max(sum(not declared.helper for declared in table.columns.values()) for table, _ in _TABLES)
_LIST = _WIDEST + 1


def place_repeatability(layout: Layout, scope: Scope) -> None:
    """Place the tables below each other, and the lists to their right."""
    top = _TOP
    for table, _ in _TABLES:
        order = (next(name for name in table.columns if name.endswith("_prop")),)
        placed = place_table(layout, scope, table, NAME, top, order=order)
        top = placed.bottom + 4
    top = _TOP - 2
    for group in _LISTS:
        top = place_figures(layout, NAME, group, top, left=_LIST)


def write_repeatability(book: Book) -> None:
    """Write the sheet."""
    sheet, formats = book.sheet(NAME), book.formats
    sheet.worksheet.set_row(0, 28)
    sheet.text(0, 0, NAME, formats.title)
    sheet.text(1, 0, "The same thing read again: what a single reading is worth.", formats.subtitle)
    said = (
        join("Scatter is taken from ", scatter_basis, "."),
        join("Drift over the runs is ", drift_verdict, ". Last third against the first: ", third_verdict, "."),
        join("Zero of the stand: ", zero_verdict, "."),
    )
    for row, sentence in enumerate(said, start=2):
        sheet.live(row, 0, sentence, formats.get(bold=True))
    _write_tables(sheet)
    for group in _LISTS:
        write_figures(sheet, group)
    _set_widths(sheet)
    assert book.scope is not None
    last = last_printed(book.layout.blocks[REPEATS.name], book.scope.used_rows(READINGS.name))
    bottom = max(last, *(book.layout.blocks[part.name].bottom for part in _LISTS))
    sheet.worksheet.print_area(0, 0, bottom, _LIST + 2)
    sheet.print_setup()
    sheet.worksheet.set_paper(8)
    sheet.worksheet.freeze_panes(2, 1)


def _write_tables(sheet: Sheet) -> None:
    formats, blocks = sheet.book.formats, sheet.book.layout.blocks
    for table, title in _TABLES:
        top = blocks[table.name].top
        sheet.text(top - 2, 0, title, formats.section)
        sheet.text(top - 1, 0, table.meaning, formats.subtitle)
        write_table(sheet, table, header_height=46)


def _set_widths(sheet: Sheet) -> None:
    sheet.worksheet.set_column(0, 0, 17)
    sheet.worksheet.set_column(1, _WIDEST - 1, 10)
    sheet.worksheet.set_column(_LIST - 1, _LIST - 1, 3)
    for column, width in enumerate(_LIST_WIDTHS, start=_LIST):
        sheet.worksheet.set_column(column, column, width)
