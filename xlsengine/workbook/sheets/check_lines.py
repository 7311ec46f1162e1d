"""The lines of the sheet Checks: their columns, a comparison as it was written, and heights that fit the texts."""

import math
from collections.abc import Sequence
from typing import Any

from xlsxwriter.utility import xl_col_to_name

from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import judgements
from xlsengine.expression import Aggregate, Constant, Node, call, join
from xlsengine.study.flags import Flag
from xlsengine.workbook.book import Sheet, stored
from xlsengine.workbook.formats import BLUE, RULE, SLATE, number_format

HEADERS = ("Severity", "Place", "Run", "Propeller", "Cells", "What", "Found", "Expected", "Likely cause", "What to do")
WIDTHS = (15, 13, 5, 13, 6, 21, 19, 19, 30, 31)
SEVERITY, PLACE, RUN, WHAT = (HEADERS.index(name) for name in ("Severity", "Place", "Run", "What"))
LAST = len(HEADERS) - 1
CORRECTED = "corrected"
"""In place of the severity of a comparison whose reading has other values now."""
_TYPE, _LINE = 10, 13.0
_HEAD, _NO_HEAD = 18, 13  # points
_LONGEST_TEXT = 255  # in a formula and in what MATCH looks for
_TALLEST = 400  # a spreadsheet refuses rows above 409 points


def text_format(sheet: Sheet, **more: Any) -> Any:
    """Return the format of a text in a list."""
    return sheet.book.formats.get(**{"text_wrap": True, "indent": 1, "font_size": _TYPE, **more})


def cell_format(sheet: Sheet, column: int) -> Any:
    """Return the format of a cell of a list by its column."""
    if column == PLACE:
        return text_format(sheet, font_color=BLUE, underline=1, text_wrap=False, indent=0)
    if HEADERS[column] in ("Run", "Cells"):
        return text_format(sheet, num_format=number_format(0), align="right", text_wrap=False, indent=0)
    return text_format(sheet, bold=column in (SEVERITY, LAST))


def plain_format(sheet: Sheet, **more: Any) -> Any:
    """Return the format of a sentence that runs over the whole width."""
    return sheet.book.formats.get(**{"text_wrap": True, "font_size": _TYPE, **more})


def write_headers(sheet: Sheet, row: int) -> None:
    """Write the headers of a list."""
    sheet.row(row, HEADERS, sheet.book.formats.header)
    sheet.worksheet.set_row(row, _HEAD)


def write_live_headers(sheet: Sheet, row: int, raised: Node) -> None:
    """Write the headers of a live list, which stand there while anything is raised: an empty list has none."""
    look = {"bold": True, "font_color": "#FFFFFF", "align": "center"}
    for column, header in enumerate(HEADERS):
        sheet.live(row, column, (raised > 0).where(header, ""), sheet.book.formats.get(**look))
    there = {"bg_color": SLATE, "border": 1, "border_color": RULE}
    sheet.shade((row, 0, row, LAST), there, type="formula", criteria=f'=$A{row + 1}<>""')
    sheet.worksheet.set_row(row, _HEAD if sheet.book.values(raised) > 0 else _NO_HEAD)


def write_sentence(sheet: Sheet, row: int, node: Node, form: Any = None) -> None:
    """Write a live sentence over the whole width, its row as high as the sentence is long."""
    form = form or plain_format(sheet)
    sheet.across(row, 0, LAST, node, form, height=height_of([str(sheet.book.values(node) or "")], [sum(WIDTHS)]))


def height_of(texts: Sequence[str], widths: Sequence[float] = WIDTHS) -> float:
    """Return the height in points of a row with these texts in columns of so many letters."""
    lines = [math.ceil(len(text) / width) for text, width in zip(texts, widths, strict=True)]
    return min(_TALLEST, _LINE * max(1, *lines) + 4)


def standing_row(flag: Flag, values: str) -> Node:
    """Return the row of Readings where the values that were judged stand now; blank where one was corrected.

    It is where they stood, if they still do: a copy of them may stand above.
    """
    stays = Aggregate("text at", (judgements.row_print,), (), Constant(float(flag.row))).equals(values)
    found = Aggregate("text position", (judgements.row_print,), (), Constant(values))
    return stays.otherwise(0.0).equals(1).where(float(flag.row), found)


def write_comparison(sheet: Sheet, row: int, flag: Flag) -> None:
    """Write what comparing readings found; severity and link follow the reading, and are gone with its correction."""
    scope, block = sheet.scope, sheet.book.layout.blocks[r.READINGS.name]
    values = scope.column(r.READINGS.name, judgements.row_print.name)[flag.row - 1]
    run, prop, cells = (scope.column(r.READINGS.name, name)[flag.row - 1] for name in ("run", "prop", "cells"))
    texts = (flag.title, flag.found, flag.expected, flag.cause, flag.fix)
    for column, value in enumerate((run, prop, cells, *texts), start=RUN):
        sheet.value(row, column, value, cell_format(sheet, column))
    letters, severity = xl_col_to_name(block.column(flag.column)), cell_format(sheet, SEVERITY)
    stands: Node = Constant(float(flag.row))
    if is_writable(values):
        stands = standing_row(flag, values)
        word = (stands > 0).where(flag.severity.word, CORRECTED).otherwise(CORRECTED)
        sheet.live(row, SEVERITY, word, severity)
    else:
        sheet.text(row, SEVERITY, flag.severity.word, severity)
    address = join(letters, (stands + (block.top + 1.0)).fixed(0))
    link = call("link", join("#Readings!", address), join("Readings ", address))
    sheet.live(row, PLACE, link, cell_format(sheet, PLACE))
    sheet.worksheet.set_row(row, height_of(["", "", "", str(prop), "", *texts]))


def is_writable(values: str | None) -> bool:
    """Tell whether a formula can hold a text and look it up."""
    text = values or ""
    plain = text.isprintable() and stored(text) == text
    return bool(text) and plain and len(text.encode("utf-16-le")) <= 2 * _LONGEST_TEXT
