"""How wide the columns of input sheets are, and which of them are shown."""

import math
from collections.abc import Sequence

from xlsengine.bench.declaring.declare import Field, Form, Quantity, Table
from xlsengine.bench.inputs.extras import EXTRA
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.bench.model import READINGS_SHOWN
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.layout import SHEETS, Block, Layout, table_name
from xlsengine.workbook.marked_readings import FLAG
from xlsengine.workbook.page_widths import LEAST_SCALE, PAGE_PIXELS, pixels
from xlsengine.workbook.unread import unread_columns

FORM_WIDTHS = (38, 26, 13, 30, 55, 46)
_WITHOUT_A_FORM = (17, 17, 23, 19, 19, 19)
"""Columns of tables that stand on no form; the third has room for “line to line true rms”."""
_WIDE_TABLE = (11,) * 10
"""Columns to the right of these, for tables that are wider."""
_KIND_WIDTHS = {"text": 17, "choice": 9, "date": 12, "number": 9.5, "whole": 8}
_OWN_WIDTHS: dict[str, float] = {
    "run": 4.5,
    "prop": 12.5,
    "diameter": 8.2,
    "pitch": 5.5,
    "blades": 6.5,
    "cells": 5.5,
    "throttle": 8,
    "kind": 7.2,
    "voltage": 8.2,
    "current": 8.2,
    "thrust": 9,
    "speed": 8.7,
    "torque": 8,
    "motor_temperature": 11,
    "use": 4.7,
    "note": 9.2,
    "flag_text": 14,
    "power": 7,
    "grams_per_watt": 7,
    "grams_per_amp": 7,
    "cell_voltage": 7,
    "flight_told": 8,
}
"""In letters; numbers that are typed have room for a mark before them. With speed and temperature they print at 8 points."""
_FLAG_WIDTH, _MOST_NAME = 30.0, 24.0


def column_letters_of(sheet: str) -> tuple[int, ...]:
    """Return how wide the columns of an input sheet are, in letters."""
    on_a_form = any(isinstance(part, Form) for part in SHEETS.get(sheet, ()))
    return (*(FORM_WIDTHS if on_a_form else _WITHOUT_A_FORM), *_WIDE_TABLE)


def placed(layout: Layout, sheet: str) -> list[tuple[Form | Table, Block]]:
    """Return the forms and tables of an input sheet with their blocks."""
    return [(part, layout.blocks[table_name(part)]) for part in SHEETS[sheet]]


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


def declared_column(table: Table, name: str) -> Field | Quantity:
    """Return the declaration of a column; a column of its sender's own counts as a text that is headed by its name."""
    if name.startswith(EXTRA):
        return Field(name, name.removeprefix(EXTRA), kind="text")
    return table.declared(name)


def set_readings_widths(sheet: Sheet) -> list[float]:
    """Give each column of Readings its width; fold away helpers, and in results what was not read.

    Returns the widths in letters, 0 for those folded away.
    """
    block, scope = sheet.book.layout.blocks[READINGS.name], sheet.book.scope
    full = {name: _width(name, declared_column(READINGS, name)) for name in block.columns}
    if scope is None:
        shown, unread = {*READINGS.fields}, set[str]()
    else:
        shown, unread = {*READINGS.fields, *(column.name for column in READINGS_SHOWN)}, {*unread_columns(scope)}
    open_ones = {name for name in block.columns if name.startswith(EXTRA) or name in shown - unread}
    widths = {name: width if name in open_ones else 0.0 for name, width in full.items()}
    if scope is not None:  # flags and names of propellers take what the columns leave of a page at readable type
        spare = (PAGE_PIXELS / LEAST_SCALE - sum(map(pixels, widths.values()))) / 7
        names = scope.column(READINGS.name, "prop").tolist()
        widths[FLAG], widths["prop"] = with_spare_room(widths[FLAG], widths["prop"], names, spare)
    for name, width in widths.items():
        sheet.width(block.column(name), width or full[name], folded=not width)
    return list(widths.values())


def _width(name: str, declared: Field | Quantity) -> float:
    if name in _OWN_WIDTHS:
        return _OWN_WIDTHS[name]
    if isinstance(declared, Quantity):
        return _KIND_WIDTHS["text"] if declared.is_text else 8.5
    return _KIND_WIDTHS[declared.kind]


def with_spare_room(flag: float, prop: float, names: Sequence[str | None], spare: float) -> tuple[float, float]:
    """Return the widths of flags and of propellers where a page has so many letters to spare: flags are widened first.

    >>> with_spare_room(14, 12.5, ["6x4", "5.1x4.6 Wren tri"], 20), with_spare_room(14, 12.5, ["6x4"], -3)
    ((30.0, 16.5), (14, 12.5))
    """
    wider = min(max(spare, 0), max(_FLAG_WIDTH - flag, 0))
    longest = max((len(name or "") for name in names), default=0)
    return flag + wider, prop + min(max(spare - wider, 0), max(min(longest + 2, _MOST_NAME) - prop, 0))
