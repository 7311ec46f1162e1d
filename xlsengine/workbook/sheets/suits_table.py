"""What the motor suits, below the answers on Craft: a row for each use of Settings."""

from typing import Any

from xlsengine.bench.advice import suits
from xlsengine.bench.advice.suits import HEADERS, LIMITS, LINES, SUITS_SHOWN, TITLE
from xlsengine.bench.inputs.uses import USES
from xlsengine.expression import Named
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.formats import BAD_FILL, BLUE, GOOD_FILL, GREY, MIDDLE_FILL, RULE
from xlsengine.workbook.layout import Layout, cell_address, quoted

_TITLE, _HEADER, _LINE = 20, 15, 13.5  # points
_LETTERS = (31, 30, 140)  # of a line in each span, on Craft
_ABOVE = 3
"""Rows above the first use: title, where the limits stand, headers."""
_SHADES = ((suits.SUITS, GOOD_FILL), (suits.BORDERLINE, MIDDLE_FILL), (suits.DOES_NOT, BAD_FILL))
Spans = tuple[tuple[int, int], ...]


def _lines(layout: Layout) -> tuple[tuple[Named, ...], ...]:
    """Return what is shown: a line for each row of Uses, as far as there are lines."""
    return LINES[: layout.blocks[USES.name].rows]


def place_suits(layout: Layout, sheet: str, top: int, spans: Spans) -> None:
    """Place what is shown from a row on over three spans of columns."""
    for row, line in enumerate(_lines(layout), start=top + _ABOVE):
        for (column, _), figure in zip(spans, line, strict=True):
            layout.name(figure.name, sheet, row, column)


def write_suits(sheet: Sheet, top: int, spans: Spans) -> tuple[int, float]:
    """Write the table from a row on over three spans of columns; return its last row that is used, and its height."""
    first, heights, lines = top + _ABOVE, [], _lines(sheet.book.layout)
    _write_heads(sheet, top, spans)
    for row, line in enumerate(lines, start=first):
        for place, (span, figure) in enumerate(zip(spans, line, strict=True)):
            form = _form(sheet, bold=place == 1)
            sheet.across(row, *span, SUITS_SHOWN.quantities[figure.name].expression, form)
        heights.append(3 + _LINE * max(1, *map(sheet.lines, line, _LETTERS)))
        sheet.worksheet.set_row(row, heights[-1])
    _shade(sheet, first, first + len(lines) - 1, spans[1])
    used = min(max(1, int(sheet.scope.used_rows(USES.name))), len(lines))
    return first + used - 1, _TITLE + 2 * _HEADER + sum(heights[:used])


def _form(sheet: Sheet, **more: Any) -> Any:
    look = {"bottom": 1, "bottom_color": RULE, "text_wrap": True, "indent": 1, **more}
    return sheet.book.formats.get(**look)


def _write_heads(sheet: Sheet, top: int, spans: Spans) -> None:
    formats, place = sheet.book.formats, sheet.book.layout.blocks[USES.name]
    sheet.text(top, 0, TITLE, formats.section)
    sheet.worksheet.set_row(top, _TITLE)
    where = f"{quoted(place.sheet)}!{cell_address(place.top, place.left)}"
    link = formats.get(font_color=BLUE, underline=1)
    sheet.worksheet.write_url(top + 1, 0, f"internal:{where}", link, LIMITS)
    sheet.worksheet.set_row(top + 1, _HEADER)
    for span, words in zip(spans, HEADERS, strict=True):
        form = _form(sheet, font_color=GREY)
        sheet.across(top + 2, *span, words, form)
    sheet.worksheet.set_row(top + 2, _HEADER)


def _shade(sheet: Sheet, first: int, last: int, span: tuple[int, int]) -> None:
    """Shade by verdict, which the cell says in words."""
    for word, fill in _SHADES:
        area = (first, span[0], last, span[1])
        sheet.shade(area, {"bg_color": fill}, type="text", criteria="begins with", value=word)
