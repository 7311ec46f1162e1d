"""Lists of single figures: label, value, unit, what it is and where it comes from."""

from collections.abc import Sequence
from typing import Any

from xlsengine.bench.declaring.declare import Field, Figures, Quantity
from xlsengine.expression import Named
from xlsengine.workbook.book import Sheet, decimals_of
from xlsengine.workbook.layout import Block, Layout

HEADERS = ("Figure", "Value", "Unit", "What it is", "Source")
WIDTHS = (42, 30, 9, 56, 60)
ROOM = (42, 28, 9, 60, 64)
"""Letters in a line of each part, at these widths."""
Spans = tuple[tuple[int, int], ...]
COLUMNS: Spans = tuple((column, column) for column in range(len(HEADERS)))
"""From which column to which each part of a line stands."""


def place_figures(layout: Layout, sheet: str, group: Figures, top: int, spans: Spans = COLUMNS) -> int:
    """Place a list of figures below `top`, with its title above; return the row for the next list."""
    names = _names(layout, group)
    layout.place(Block(group.name, sheet, top + 2, 0, len(names), HEADERS, HEADERS, listed=False))
    for place, name in enumerate(names):
        layout.name(name, sheet, top + 3 + place, spans[1][0])
    return top + len(names) + 5


def _names(layout: Layout, group: Figures) -> list[str]:
    """Return the figures of a group, without those that what they need was not read for."""
    live = [n for n, figure in group.quantities.items() if not layout.is_left_out(Named(n, figure.is_text))]
    return [*live, *group.written]


def write_figures(sheet: Sheet, group: Figures, spans: Spans = COLUMNS, room: Sequence[int] = ROOM) -> None:
    """Write a list of figures where it was placed; `room` is that of the parts of a line, in letters."""
    formats, block = sheet.book.formats, sheet.book.layout.blocks[group.name]
    sheet.text(block.top - 2, 0, group.name, formats.section)
    sheet.text(block.top - 1, 0, group.meaning, formats.subtitle)
    for (left, right), words in zip(spans, HEADERS, strict=True):
        sheet.across(block.top, left, right, words, formats.header)
    everything: dict[str, Field | Quantity] = {**group.quantities, **group.written}
    for row, name in enumerate(_names(sheet.book.layout, group), start=block.top + 1):
        declared = everything[name]
        _write_figure(sheet, row, spans, name, declared)
        sheet.worksheet.set_row(row, 14 * _lines(sheet, room, name, declared) + 3)


def _write_figure(sheet: Sheet, row: int, spans: Spans, name: str, declared: Any) -> None:
    formats = sheet.book.formats
    form = formats.derived(decimals_of(declared), declared.is_text)
    value = Named(name, declared.is_text)
    texts = (declared.label, value, declared.unit, declared.meaning, declared.source.text)
    forms = (formats.label, form, formats.quiet, formats.quiet, formats.quiet)
    for span, said, look in zip(spans, texts, forms, strict=True):
        sheet.across(row, *span, said, look)


def _lines(sheet: Sheet, room: Sequence[int], name: str, declared: Any) -> int:
    value = sheet.book.values(Named(name, True)) if declared.is_text else ""
    texts = (declared.label, value or "", "", declared.meaning, declared.source.text)
    return max(1, *(-(-len(text) // letters) for text, letters in zip(texts, room, strict=True)))
