"""What a results workbook shows on Readings besides the table: the key, and the marks of flagged and left out rows."""

import math
from collections.abc import Callable, Sequence
from typing import Any

from xlsengine.bench.advice.statements import LEFT_OUT, LEFT_OUT_CELLS, left_out_count, typed_readings
from xlsengine.bench.advice.unsettled import caveat
from xlsengine.bench.checks.row_checks import entry_severity
from xlsengine.bench.checks.row_entries import SIGNS, flag_text, marked_column
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.bench.judging import counting as c
from xlsengine.bench.judging.counting import standing
from xlsengine.bench.judging.plain_checks import Severity
from xlsengine.bench.model import READINGS_SHOWN
from xlsengine.expression import Constant, Named, Node, call, join
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.formats import (
    AMBER,
    BAD_FILL,
    DOUBT_FILL,
    GREY,
    INPUT_FILL,
    INPUT_RULE,
    RED,
    RULE,
    VERMILION,
)
from xlsengine.workbook.layout import READINGS_HINT, READINGS_KEY, Layout, cell_address, column_letters
from xlsengine.workbook.page_widths import HEADERS_POINTS, ROW_POINTS, last_printed, spare_rows

CellOf = Callable[[Named, Named], Node]
"""Gives the address of a typed cell of Readings, by its row and its column, both counted from 1."""


def cell_in(layout: Layout) -> CellOf:
    """Return what gives the address of a cell in a workbook that is being written."""
    block = layout.blocks[r.READINGS.name]
    letters = [column_letters(block.column(name)) for name in r.READINGS.fields]
    return lambda row, column: join(call("choose", column, *letters), (row + block.top + 1).fixed(0))


def _cells(cell_of: CellOf, kind: float, sheet: str) -> Node:
    """Return the cells in brackets, the first few of them."""
    words: Node = join(f"{sheet} ")
    for place, (row, column) in enumerate(LEFT_OUT_CELLS[kind]):
        comma = ", " if place else ""
        words = join(words, row.present().where(join(comma, cell_of(row, column)), ""))
    return join(" (", words, (LEFT_OUT[kind] > float(len(LEFT_OUT_CELLS[kind]))).where(", …", ""), ")")


def left_out_statement(cell_of: CellOf, sheet: str = r.READINGS.name) -> Node:
    """Say how many readings are left out, why, and in which cells of a sheet."""
    parts: Node = join("")
    before: Node = Constant(0.0)
    for kind, words in c.WHY.items():
        count: Node = LEFT_OUT[kind]
        cells = join("") if kind == c.BY_TESTER else _cells(cell_of, kind, sheet)
        comma = (before > 0).where(", ", "")
        parts = join(parts, (count > 0).where(join(comma, count.fixed(0), f" {words}", cells), ""))
        before = before + count
    of_how_many = typed_readings.equals(1).where("1 reading", join(typed_readings.fixed(0), " readings"))
    said = join(left_out_count.fixed(0), " of ", of_how_many, " left out: ", parts, ".")
    every = typed_readings.equals(1).where("The reading counts.", join("All ", of_how_many, " count."))
    return (left_out_count > 0).where(said, every)


def esc_caveat(cell_of: CellOf, sheet: str = r.READINGS.name) -> Node:
    """Say which readings to settle before an ESC is chosen, with the cells that are doubted; blank where none."""
    return caveat(lambda row, column: join(f"{sheet} ", cell_of(row, column)))


TOLD_TWICE = {"left out": (left_out_statement, "Checks", 2), "caveat": (esc_caveat, "Craft", 2)}
"""The sentences that stand on several sheets, each with the sheet and row in whose first cell it is put together."""


CAVEAT: dict[str, Any] = {"bold": True, "font_color": VERMILION}


FLAG = flag_text.name
_TITLE, _KEY = 0, 1
_LINE = 12.5  # points of a line of a flag
_NOTE, _MOST_NOTE = 8, 8  # letters that a line of a note holds, and lines that are shown of one
_OUTDATED = (3, 14.0)  # row that says so, and its points
_ABOVE = 28 + 54 + 34 + _OUTDATED[1] + HEADERS_POINTS  # points above the first reading
MARKS: dict[Severity, tuple[str, str]] = {Severity.IMPOSSIBLE: (BAD_FILL, RED), Severity.DOUBTFUL: (DOUBT_FILL, AMBER)}
"""Fill and ink of what is marked; notes stand in the column of flags alone."""


def mark_readings(sheet: Sheet, naming: int, widths: Sequence[float]) -> None:
    """Write the key and the state of the readings above the table, beside the `naming` columns, and mark its rows.

    `widths` are those of its columns, in letters.
    """
    _write_key(sheet, naming)
    _fit_rows(sheet, widths)
    sheet.book.asked_for += [entry_severity, marked_column, standing]


def marking_format(severity: Severity) -> str:
    """Return the number format that puts the sign of a severity before a number, which stays one, or a text.

    >>> marking_format(Severity.DOUBTFUL)
    '"● "General;"● -"General;"● "General;"● "@'
    """
    sign = SIGNS[severity]
    return f'"{sign} "General;"{sign} -"General;"{sign} "General;"{sign} "@'


def _write_key(sheet: Sheet, naming: int) -> None:
    formats, block = sheet.book.formats, sheet.book.layout.blocks[READINGS.name]
    sheet.live(_TITLE, naming, sheet.book.layout.said["left out"], formats.get(bold=True, font_size=12))
    typed, *marked, out = READINGS_KEY
    keys = [(typed, {"bg_color": INPUT_FILL, "border": 1, "border_color": INPUT_RULE})]
    for words, (fill, ink) in zip(marked, MARKS.values(), strict=True):
        style = {"bg_color": fill, "font_color": ink, "bold": True, "border": 1, "border_color": ink}
        keys.append((words, style))
    keys.append((out, {"font_color": GREY, "font_strikeout": True, "border": 1, "border_color": RULE}))
    for place, (words, style) in enumerate(keys):
        form, column = formats.get(align="center", **style), naming + 2 * place
        sheet.across(_KEY, column, column + 1, words, form)
    form, beside = formats.get(font_color=GREY, text_wrap=True, indent=1), naming + 2 * len(keys)
    sheet.across(_KEY, beside, block.column(READINGS_SHOWN[-1].name), READINGS_HINT, form)


def mark_rows(sheet: Sheet) -> None:
    """Shade flags and the typed cells they are about, and grey out rows that are left out; done last of all."""
    block = sheet.book.layout.blocks[READINGS.name]
    severe, about, stands, use = (
        block.local(name, 0) for name in (entry_severity.name, marked_column.name, standing.name, "use")
    )
    typed, shown = block.left + len(READINGS.fields) - 1, block.column(READINGS_SHOWN[-1].name)
    place = f"COLUMN()-COLUMN({cell_address(block.top, block.left, fixed=True)})+1"
    for severity, (fill, ink) in MARKS.items():
        level, style = f"INT(N({severe}))={severity:d}", {"bg_color": fill, "font_color": ink, "bold": True}
        marked = {**style, "border": 1, "border_color": ink, "num_format": marking_format(severity)}
        _rule(sheet, block.left, typed, f"AND({level},{place}=N({about}))", marked)
        _rule(sheet, block.column(FLAG), block.column(FLAG), level, style)
    _rule(sheet, block.left, typed, f'{use}="no"', {"font_color": GREY, "font_strikeout": True})
    for first, last in ((block.left, typed), (block.column(FLAG) + 1, shown)):
        _rule(sheet, first, last, f"N({stands})<0", {"font_color": GREY, "italic": True})


def _rule(sheet: Sheet, left: int, right: int, criteria: str, style: dict[str, Any]) -> None:
    block = sheet.book.layout.blocks[READINGS.name]
    sheet.shade((block.top + 1, left, block.bottom, right), style, criteria)


def _fit_rows(sheet: Sheet, widths: Sequence[float]) -> None:
    """Make rows as high as their flags are long, and print the shown columns and no more than a few spare rows."""
    block, scope = sheet.book.layout.blocks[READINGS.name], sheet.scope
    used = scope.used_rows(READINGS.name)
    sheet.usual_height(ROW_POINTS)
    sheet.height(*_OUTDATED)
    height = _ABOVE + used * ROW_POINTS
    letters = widths[block.column(FLAG) - block.left] + 1
    texts = (scope.column(READINGS.name, name).tolist() for name in (FLAG, "note"))
    for row, (text, note) in enumerate(zip(*texts, strict=True), start=block.top + 1):
        lines = max(math.ceil(len(text or "") / letters), min(_MOST_NOTE, math.ceil(len(note or "") / _NOTE)))
        if lines > 1:
            sheet.height(row, _LINE * lines + 2)
            height += _LINE * lines + 2 - ROW_POINTS
    last = last_printed(block, used, spare_rows(height, widths, HEADERS_POINTS))
    sheet.worksheet.print_area(0, 0, last, block.column(READINGS_SHOWN[-1].name))
