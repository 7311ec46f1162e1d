"""How wide the columns of input sheets are, and which of them are shown."""

import math

from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.workbook.layout import SHEETS, Block, Layout, form_table

FORM_WIDTHS = (38, 26, 13, 30, 55, 46)
_WITHOUT_A_FORM = (17, 17, 23, 19, 19, 19)
"""Columns of tables that stand on no form; the third has room for “line to line true rms”."""
_WIDE_TABLE = (11,) * 10
"""Columns to the right of these, for tables that are wider."""


def column_letters_of(sheet: str) -> tuple[int, ...]:
    """Return how wide the columns of an input sheet are, in letters."""
    on_a_form = any(isinstance(part, Form) for part in SHEETS.get(sheet, ()))
    return (*(FORM_WIDTHS if on_a_form else _WITHOUT_A_FORM), *_WIDE_TABLE)


def placed(layout: Layout, sheet: str) -> list[tuple[Form | Table, Block]]:
    """Return the forms and tables of an input sheet with their blocks."""
    return [(part, layout.blocks[form_table(part) if isinstance(part, Form) else part.name]) for part in SHEETS[sheet]]


def shown_columns(layout: Layout, sheet: str) -> set[int]:
    """Return the columns of a sheet in which a form stands, or a column of a table that is typed or shown."""
    return {
        place
        for part, block in placed(layout, sheet)
        for place, name in enumerate(block.columns, start=block.left)
        if isinstance(part, Form) or not is_helper(part, name)
    }


def folded_columns(layout: Layout, sheet: str) -> set[int]:
    """Return the columns of a sheet in which nothing but helpers stands."""
    return set(range(1 + max(block.right for _, block in placed(layout, sheet)))) - shown_columns(layout, sheet)


def is_helper(table: Table, name: str) -> bool:
    """Tell whether a column is there for formulas only."""
    return name in table.quantities and table.quantities[name].helper


def header_height(table: Table, block: Block) -> float:
    """Return how high the headers of a table are, in points."""
    shown = [text for name, text in zip(block.columns, block.headers, strict=True) if not is_helper(table, name)]
    widths = column_letters_of(block.sheet)[block.left :]
    return 6.0 + 14 * max(math.ceil(len(text) * 1.1 / width) for text, width in zip(shown, widths, strict=False))
