"""Lists of single figures: label, value, unit, what it is and where it comes from."""

from typing import Any

from xlsengine.bench.declaring.declare import Field, Figures, Quantity
from xlsengine.expression import Named
from xlsengine.workbook.book import Sheet, decimals_of
from xlsengine.workbook.layout import Block, Layout

HEADERS = ("Figure", "Value", "Unit", "What it is", "Source")
WIDTHS = (42, 30, 9, 56, 60)


def place_figures(layout: Layout, sheet: str, group: Figures, top: int, left: int = 0) -> int:
    """Place a list of figures below `top`, with its title above; return the row for the next list."""
    names = _names(layout, group)
    layout.place(Block(group.name, sheet, top + 2, left, len(names), HEADERS, HEADERS, listed=False))
    for place, name in enumerate(names):
        layout.name(name, sheet, top + 3 + place, left + 1)
    return top + len(names) + 5


def _names(layout: Layout, group: Figures) -> list[str]:
    """Return the figures of a group, without those that what they need was not read for."""
    live = [n for n, figure in group.quantities.items() if not layout.is_left_out(Named(n, figure.is_text))]
    return [*live, *group.written]


def write_figures(sheet: Sheet, group: Figures) -> None:
    """Write a list of figures where it was placed."""
    formats, block = sheet.book.formats, sheet.book.layout.blocks[group.name]
    sheet.text(block.top - 2, block.left, group.name, formats.section)
    sheet.text(block.top - 1, block.left, group.meaning, formats.subtitle)
    sheet.row(block.top, HEADERS, formats.header, block.left)
    everything: dict[str, Field | Quantity] = {**group.quantities, **group.written}
    for row, name in enumerate(_names(sheet.book.layout, group), start=block.top + 1):
        declared = everything[name]
        _write_figure(sheet, row, block.left, name, declared)
        if block.left == 0:
            _set_height(sheet, row, name, declared)


def _write_figure(sheet: Sheet, row: int, left: int, name: str, declared: Any) -> None:
    formats = sheet.book.formats
    form = formats.derived(decimals_of(declared), declared.is_text)
    sheet.text(row, left, declared.label, formats.label)
    if isinstance(declared, Quantity):
        sheet.live(row, left + 1, declared.expression, form)
    else:
        sheet.value(row, left + 1, sheet.book.values(Named(name)), form)
    sheet.row(row, (declared.unit, declared.meaning, declared.source.text), formats.quiet, left + 2)


def _set_height(sheet: Sheet, row: int, name: str, declared: Any) -> None:
    lines = max(len(declared.meaning) // 60, len(declared.source.text) // 64, len(declared.label) // WIDTHS[0]) + 1
    value = sheet.book.values(Named(name, declared.is_text)) if declared.is_text else ""
    sheet.worksheet.set_row(row, 14 * max(lines, -(-len(value or "") // 28)) + 3)
