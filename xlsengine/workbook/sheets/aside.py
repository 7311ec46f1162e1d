"""Single figures that formulas elsewhere read by name, kept beside the page in folded columns."""

from collections.abc import Sequence

from xlsengine.bench.declaring.declare import Field, Figures, Quantity
from xlsengine.expression import Named
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.layout import Layout


def place_aside(layout: Layout, sheet: str, names: Sequence[str], column: int) -> None:
    """Give each figure a cell in `column`, from the top; its label stands to the left."""
    for row, name in enumerate(names):
        layout.name(name, sheet, row, column)


def write_aside(sheet: Sheet, group: Figures, column: int) -> None:
    """Write the figures of a group that were placed in `column`, and fold the columns away."""
    form = sheet.book.formats.helper
    everything: dict[str, Field | Quantity] = {**group.quantities, **group.written}
    for name, declared in everything.items():
        where, row, place = sheet.book.layout.cells[name]
        if (where, place) == (sheet.name, column):
            sheet.text(row, column - 1, declared.label, form)
            sheet.live(row, column, Named(name, declared.is_text), form)
    sheet.fold(column - 1, column, 20)
