"""Repeatability: how well the bench repeats itself, and each reading against its repeats."""

from __future__ import annotations

from xlsengine.bench.accuracies import ACCURACIES
from xlsengine.bench.declare import Table
from xlsengine.bench.peaks import PEAKS
from xlsengine.bench.repeatability import REPEATABILITY, drift_verdict, scatter_basis, third_verdict, zero_verdict
from xlsengine.bench.repeats import GROUPS, REPEATS
from xlsengine.expression import join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.sheets.derived_table import place_table, write_table
from xlsengine.workbook.sheets.figure_list import place_figures, set_figure_widths, write_figures

NAME = "Repeatability"
_TOP = 8
_LISTS = (REPEATABILITY, ACCURACIES)
_TABLES: tuple[tuple[Table, str], ...] = (
    (GROUPS, "Scatter by group"), (PEAKS, "Peak against steady"), (REPEATS, "Each reading against its repeats"),
)  # fmt: skip
_LEFT = 6


def _shown(table: Table) -> tuple[str, ...]:
    return tuple(name for name, declared in table.columns.items() if not declared.helper)


_WIDEST = max(len(_shown(table)) for table, _ in _TABLES)


def place_repeatability(layout: Layout, scope: Scope) -> None:
    """Place the lists on the left, and the tables below each other to their right."""
    top = _TOP
    for group in _LISTS:
        top = place_figures(layout, NAME, group, top - 2)
    top = _TOP
    for table, _ in _TABLES:
        top = place_table(layout, scope, table, NAME, top, left=_LEFT, listed=True).bottom + 4


def write_repeatability(book: Book) -> None:
    """Write the sheet."""
    sheet, formats = book.sheet(NAME), book.formats
    sheet.heading("Repeatability", "The same thing read again: what a single reading is worth.")
    set_figure_widths(sheet)
    said = (
        join("Scatter is taken from ", scatter_basis, "."),
        join("Drift over the runs is ", drift_verdict, ". Last third against the first: ", third_verdict, "."),
        join("Zero of the stand: ", zero_verdict, "."),
    )
    for row, sentence in enumerate(said, start=2):
        sheet.live(row, 0, sentence, formats.get(bold=True))
    for group in _LISTS:
        write_figures(sheet, group)
    _write_tables(sheet)
    sheet.print_setup()
    sheet.worksheet.set_paper(8)
    sheet.worksheet.freeze_panes(2, 0)


def _write_tables(sheet: Sheet) -> None:
    formats, blocks = sheet.book.formats, sheet.book.layout.blocks
    for table, title in _TABLES:
        top = blocks[table.name].top
        sheet.text(top - 2, _LEFT, title, formats.section)
        sheet.text(top - 1, _LEFT, table.meaning, formats.subtitle)
        write_table(sheet, table, header_height=46)
    sheet.worksheet.set_column(_LEFT - 1, _LEFT - 1, 3)
    sheet.worksheet.set_column(_LEFT, _LEFT, 17)
    sheet.worksheet.set_column(_LEFT + 1, _LEFT + _WIDEST - 1, 10)
    last = max(blocks[table.name].right for table, _ in _TABLES)
    sheet.worksheet.set_column(_LEFT + _WIDEST, last, 10, None, {"level": 1, "hidden": True})
