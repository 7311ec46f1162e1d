"""Method: every quantity with its equation in words, its meaning and source; versions and the hash of the inputs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from importlib.metadata import version

from xlsengine.bench.declare import Figures, Quantity, Table
from xlsengine.bench.model import FIGURES, TABLES, declared
from xlsengine.expression import Column, Named
from xlsengine.words import words
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.layout import SCHEMA_VERSION

NAME = "Method"
_HEADERS = ("Where", "Quantity", "Symbol", "Unit", "Equation", "Meaning", "Source")
_WIDTHS = (18, 34, 11, 9, 78, 54, 46)
_TOP = 9
_TALLEST = 400  # a spreadsheet refuses rows above 409 points


def write_method(book: Book, input_hash: str) -> None:
    """Write the sheet."""
    sheet, formats = book.sheet(NAME), book.formats
    sheet.heading(
        "Method", "How every figure comes about. The factors and limits stand on Settings, where they can be changed."
    )
    for row, (label, text) in enumerate(_facts(input_hash), start=3):
        sheet.text(row, 0, label, formats.get(bold=True))
        sheet.text(row, 1, text, formats.get())
    for column, (header, width) in enumerate(zip(_HEADERS, _WIDTHS, strict=True)):
        sheet.worksheet.set_column(column, column, width)
        sheet.text(_TOP, column, header, formats.header)
    last = _write_lines(sheet, _TOP + 1, _lines(helpers=False))
    sheet.text(last + 2, 0, "Helpers: columns and figures that only formulas read; not printed", formats.section)
    _write_lines(sheet, last + 3, _lines(helpers=True))
    sheet.print_setup(repeat=(_TOP, _TOP))
    sheet.worksheet.print_area(0, 0, last, len(_HEADERS) - 1)
    sheet.worksheet.freeze_panes(_TOP + 1, 2)


def _write_lines(sheet: Sheet, top: int, lines: Iterable[tuple[str, ...]]) -> int:
    """Write a line a row; return the last row."""
    formats, row = sheet.book.formats, top - 1
    for row, texts in enumerate(lines, start=top):
        for column, text in enumerate(texts):
            sheet.text(row, column, text, formats.label if column < 4 else formats.quiet)
        heights = [-(-len(text) // int(width * 1.2)) for text, width in zip(texts, _WIDTHS, strict=True)]
        sheet.worksheet.set_row(row, min(_TALLEST, 12 * max(heights) + 4))
    return row


def _facts(input_hash: str) -> Iterator[tuple[str, str]]:
    yield "Written by", f"xlsengine {version('xlsengine')}, template version {SCHEMA_VERSION}"
    yield "Hash of the inputs", input_hash
    yield (
        "Live",
        "Derived columns, summaries, advice, row checks and charts follow every change of a reading or setting.",
    )
    yield (
        "Not live",
        "Group checks (robust lines, outlier tests, slips, swaps, copies): computed on writing; Checks says when stale.",
    )
    yield "Blank", "A blank reading was not measured; what needs it stays blank too. 0 is a measured zero."


def symbol(cell: Column | Named) -> str:
    """Return how a quantity is called in an equation: its symbol, else its label."""
    found = declared(cell)
    return found.symbol or found.label


def _lines(helpers: bool) -> Iterator[tuple[str, ...]]:
    """Yield a line for each quantity that a reader wants, or for each helper in folded columns."""
    groups: tuple[Table | Figures, ...] = (*TABLES.values(), *FIGURES)
    for group in groups:
        for quantity in group.quantities.values():
            if quantity.helper is helpers:
                yield _line(group.name, quantity)


def _line(where: str, quantity: Quantity) -> tuple[str, ...]:
    equation = f"{quantity.symbol or quantity.label} = {quantity.equation or words(quantity.expression, symbol)}"
    return (where, quantity.label, quantity.symbol, quantity.unit, equation, quantity.meaning, quantity.source.text)
