"""Summary: the headline figures, and one row for each propeller and cell count."""

from __future__ import annotations

from xlsengine.bench.headline import HEADLINE_LIST, HEADLINES
from xlsengine.bench.round_thrusts import round_thrusts
from xlsengine.bench.summary import SUMMARY
from xlsengine.expression import join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.input_sheets import set_column_widths
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.page_widths import heading_beside, last_printed, print_over_pages
from xlsengine.workbook.sheets.derived_table import place_table, write_table

NAME = "Summary"
_HEADLINE_TOP = 4
_LEFT = 2  # clear of the columns that every page begins with
_PARTS = ((5, ""), (7, "_place"), (9, "_clean"), (10, "_all"), (11, "_note"), (15, "_row"))
_SPANS = (
    (2, 4, "Headline"), (5, 5, "Value"), (6, 6, "Unit"), (7, 8, "Seen with"), (9, 9, "Without flagged rows"),
    (10, 10, "With rows left out"),
    (11, 14, "Note"), (15, 15, "Summary row"),
)  # fmt: skip
_TABLE_TOP = _HEADLINE_TOP + len(HEADLINE_LIST) + 5


def place_summary(layout: Layout, scope: Scope) -> None:
    """Place the headline figures and the table."""
    for row, headline in enumerate(HEADLINE_LIST, start=_HEADLINE_TOP + 1):
        name = headline.value.name
        for column, part in _PARTS:
            layout.name(f"{name}{part}", NAME, row, column)
    place_table(layout, scope, SUMMARY, NAME, _TABLE_TOP)


def write_summary(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME)
    heading_beside(
        sheet,
        "Summary",
        "One row for each propeller and cell count; means of full-throttle readings, leads trimmed.",
        _LEFT,
    )
    widths = set_column_widths(sheet, SUMMARY)
    _write_headlines(sheet)
    formats, block = book.formats, book.layout.blocks[SUMMARY.name]
    sheet.text(_TABLE_TOP - 2, 0, "By propeller and cell count", formats.section)
    for place, thrust in enumerate(round_thrusts, start=1):
        column = block.column(f"round_efficiency_{place}")
        sheet.live(
            _TABLE_TOP - 1, column, join(f"{place}: ", thrust.fixed(0), " g"), formats.get(bold=True, align="center")
        )
    write_table(sheet, SUMMARY, header_height=60)
    print_over_pages(sheet, widths, _LEFT, (_TABLE_TOP, _TABLE_TOP))
    assert book.scope is not None
    sheet.worksheet.print_area(0, 0, last_printed(block, book.scope.used_rows(SUMMARY.name)), block.right)
    sheet.worksheet.freeze_panes(_TABLE_TOP + 1, 2)


def _write_headlines(sheet: Sheet) -> None:
    formats = sheet.book.formats
    for left, right, words in _SPANS:
        sheet.merged(_HEADLINE_TOP, left, right, formats.header)
        sheet.text(_HEADLINE_TOP, left, words, formats.header)
    sheet.worksheet.set_row(_HEADLINE_TOP, 30)
    for row, headline in enumerate(HEADLINE_LIST, start=_HEADLINE_TOP + 1):
        name = headline.value.name
        number, words = formats.derived(headline.shown), formats.derived(0, text=True)
        for left, right, _ in _SPANS:
            sheet.merged(row, left, right, formats.label)
        sheet.live(row, _LEFT, headline.label, words)
        for column, part in _PARTS:
            quantity = HEADLINES.quantities[f"{name}{part}"]
            form = words if quantity.is_text else formats.derived(0) if part == "_row" else number
            sheet.live(row, column, quantity.expression, form)
        sheet.text(row, 6, headline.unit, formats.label)
        sheet.worksheet.set_row(row, 30)
