"""The line on every sheet whose figures rest on comparisons between readings that were made before a reading changed."""

from __future__ import annotations

from collections.abc import Iterable

from xlsengine.bench.checks.fingerprint import checks_stale
from xlsengine.expression import Node
from xlsengine.workbook.book import Book
from xlsengine.workbook.formats import VERMILION
from xlsengine.workbook.sheets.parts import SheetPlan

WORDS = "OUT OF DATE: readings changed after they were compared with each other; make the results again."


def notice() -> Node:
    """Return the line; nothing while the comparisons belong to the readings."""
    return (checks_stale > 0).where(WORDS, "")


def write_stale(book: Book, sheets: Iterable[SheetPlan]) -> None:
    """Write the line on each of the sheets that have a cell for it: one that they leave free below their title."""
    form = book.formats.get(bold=True, font_size=11, font_color=VERMILION)
    for sheet in sheets:
        if sheet.out_of_date is not None:
            book.sheet(sheet.name).live(*sheet.out_of_date, notice(), form)
