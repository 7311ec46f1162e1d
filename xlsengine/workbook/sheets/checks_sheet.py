"""Checks: every flag with its place, what was found, what was expected, the usual cause and what to do."""

from __future__ import annotations

import math
from collections.abc import Sequence

from xlsxwriter.utility import xl_col_to_name

from xlsengine.bench import raised_checks as c
from xlsengine.bench import readings as r
from xlsengine.bench.fingerprint import FINGERPRINT
from xlsengine.bench.row_checks import ROW_CHECKS, Severity
from xlsengine.bench.whole_checks import CHECKS_OF_THE_WHOLE, WHOLE_CHECKS, WholeCheck
from xlsengine.expression import BLANK, Column, Constant, Named, Node, call, join
from xlsengine.study.evaluation import Scope
from xlsengine.study.flags import Flag
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.formats import BAD_FILL, MIDDLE_FILL
from xlsengine.workbook.layout import Block, Layout, quoted
from xlsengine.workbook.sheets.figure_list import place_figures, write_figures

NAME = "Checks"
_HEADERS = ("Place", "Table row", "Prop", "Cells", "Severity", "What", "Found", "Expected", "Usual cause", "What to do")
_WIDTHS = (14, 7, 16, 7, 11, 28, 28, 24, 42, 42)
_GROUP_TOP = 6
_TALLEST = 400  # a spreadsheet refuses rows above 409 points
TOLD_TITLE = "What was understood or left out on reading"
_SEVERITY = _HEADERS.index("Severity")


def place_checks(layout: Layout, scope: Scope, flags: Sequence[Flag]) -> None:
    """Place the list of raised row checks; the fingerprint and the figures of the whole to its right."""
    columns = c.RAISED_CHECKS.columns
    headers = tuple(declared.header for declared in columns.values())
    top, rows = _whole_top(flags) + len(CHECKS_OF_THE_WHOLE) + 5, scope.rows(c.RAISED_CHECKS.name)
    layout.place(Block(c.RAISED_CHECKS.name, NAME, top, 1, rows, tuple(columns), headers, listed=False))
    below = place_figures(layout, NAME, FINGERPRINT, 2, left=len(columns) + 3)
    place_figures(layout, NAME, WHOLE_CHECKS, below, left=len(columns) + 3)


def _whole_top(flags: Sequence[Flag]) -> int:
    """Return the first row below the headers of the checks of the whole."""
    return _GROUP_TOP + max(1, len(flags)) + 3


def write_checks(book: Book, flags: Sequence[Flag]) -> None:
    """Write the sheet."""
    sheet, block = book.sheet(NAME), book.layout.blocks[c.RAISED_CHECKS.name]
    sheet.heading(
        "Checks", "Nothing is dropped: a flagged row stays in the figures until its Use says no. Mend it on Readings."
    )
    for column, width in enumerate(_WIDTHS):
        sheet.worksheet.set_column(column, column, width)
    folded = {"level": 1, "hidden": True}
    sheet.worksheet.set_column(len(_WIDTHS), block.right, 10, None, folded)
    _write_group_flags(sheet, flags)
    _write_whole(sheet, _whole_top(flags))
    _write_raised(sheet, block)
    write_figures(sheet, FINGERPRINT)
    write_figures(sheet, WHOLE_CHECKS)
    _shade(sheet, block.bottom)
    sheet.print_setup()
    sheet.worksheet.print_area(0, 0, block.bottom, len(_HEADERS) - 1)
    sheet.worksheet.freeze_panes(2, 1)


def write_told(book: Book, told: Sequence[str]) -> None:
    """Write below the checks what was understood or left out on reading, as plain text; nothing where all was plain."""
    sheet, last = book.sheet(NAME), len(_HEADERS) - 1
    top, form = book.layout.blocks[c.RAISED_CHECKS.name].bottom + 3, book.formats.get(text_wrap=True, valign="top")
    if told:
        sheet.text(top - 1, 0, TOLD_TITLE, book.formats.section)
        sheet.worksheet.print_area(0, 0, top + len(told), last)
    for row, line in enumerate(told, start=top):
        sheet.merged(row, 0, last, form)
        sheet.text(row, 0, line, form)
        sheet.worksheet.set_row(row, min(_TALLEST, 14 * -(-len(line) // sum(_WIDTHS))))


def _write_headers(sheet: Sheet, row: int) -> None:
    for column, header in enumerate(_HEADERS):
        sheet.text(row, column, header, sheet.book.formats.header)


def _write_group_flags(sheet: Sheet, flags: Sequence[Flag]) -> None:
    formats = sheet.book.formats
    sheet.text(2, 0, "Group checks: rows against each other, computed when this workbook was written", formats.section)
    sheet.live(3, 0, join("These checks are ", Named("checks_state", text=True), "."), formats.get(bold=True))
    stale = {
        "type": "formula",
        "criteria": "=checks_stale>0",
        "format": sheet.book.workbook.add_format({"bg_color": BAD_FILL}),
    }
    sheet.worksheet.conditional_format(3, 0, 3, 5, stale)
    _write_headers(sheet, _GROUP_TOP - 1)
    for row, flag in enumerate(flags, start=_GROUP_TOP):
        _write_flag(sheet, row, flag)
    if not flags:
        sheet.text(_GROUP_TOP, 0, "none", formats.label)


def _write_flag(sheet: Sheet, row: int, flag: Flag) -> None:
    book = sheet.book
    assert book.scope is not None
    place, formats = flag.row - 1, book.formats
    cell = book.layout.blocks[r.READINGS.name].local(flag.column, place).replace("$", "")
    sheet.worksheet.write_url(row, 0, f"internal:Readings!{cell}", formats.link, f"Readings {cell}")
    prop, cells = (book.scope.column(r.READINGS.name, name)[place] for name in ("prop", "cells"))
    values = (
        float(flag.row),
        prop,
        cells,
        flag.severity.word,
        flag.title,
        flag.found,
        flag.expected,
        flag.cause,
        flag.mend,
    )
    for column, value in enumerate(values, start=1):
        sheet.value(row, column, value, formats.derived(0, text=isinstance(value, str)))
    _set_height(sheet, row, [str(value) for value in values])


def _write_whole(sheet: Sheet, top: int) -> None:
    """Write one line a check, live; where nothing speaks against it, the line says so."""
    formats = sheet.book.formats
    sheet.text(top - 2, 0, "The motor and the bench as a whole: what many rows say together, live", formats.section)
    _write_headers(sheet, top - 1)
    for row, check in enumerate(CHECKS_OF_THE_WHOLE, start=top):
        raised = check.doubt.equals(1)
        sheet.live(row, 0, raised.where(_link(sheet, check), ""), formats.link)
        of_row = check.row if isinstance(check.look_at, Column) else BLANK
        sheet.live(row, 1, raised.where(of_row, BLANK), formats.derived(0))
        for column in (2, 3):
            sheet.text(row, column, "", formats.derived(0, text=True))
        said: tuple[Node, ...] = (
            raised.where(Severity.DOUBTFUL.word, ""), Constant(check.title), raised.where(check.found, "nothing"),
            raised.where(check.expected, ""), raised.where(check.cause, ""), raised.where(check.mend, ""),
        )  # fmt: skip
        for column, words in enumerate(said, start=_SEVERITY):
            sheet.live(row, column, words, formats.derived(0, text=True))
        is_raised = sheet.book.values(check.doubt) == 1
        sheet.worksheet.set_row(row, 43 if is_raised else 15)


def _link(sheet: Sheet, check: WholeCheck) -> Node:
    """Return a live link to the input cell to look at first."""
    layout, look_at = sheet.book.layout, check.look_at
    if isinstance(look_at, Named):
        target = layout.address(look_at.name).replace("$", "")
        return call("link", f"#{target}", target.replace("'", "").replace("!", " "))
    block = layout.blocks[look_at.table]
    address = join(xl_col_to_name(block.column(look_at.name)), (check.row + block.top + 1).fixed(0))
    return call("link", join(f"#{quoted(block.sheet)}!", address), join(f"{block.sheet} ", address))


def _set_height(sheet: Sheet, row: int, texts: list[str]) -> None:
    lines = [-(-len(text) // width) for text, width in zip(texts, _WIDTHS[1:], strict=True)]
    sheet.worksheet.set_row(row, 13 * max(1, *lines) + 4)


def _write_raised(sheet: Sheet, block: Block) -> None:
    """Write the live list; each line finds its row and check from the checks raised on Readings."""
    formats = sheet.book.formats
    sheet.text(block.top - 2, 0, "Row checks: each row by itself, live", formats.section)
    _write_headers(sheet, block.top)
    names = tuple(c.RAISED_CHECKS.columns)
    for name in names:
        quantity = c.RAISED_CHECKS.quantities[name]
        form = formats.helper(0) if quantity.helper else formats.derived(0, quantity.is_text)
        if quantity.helper:
            sheet.text(block.top, block.column(name), quantity.header, formats.helper_header)
        for row in range(block.rows):
            sheet.live(block.top + 1 + row, block.column(name), quantity.expression, form, row)
    readings = sheet.book.layout.blocks[r.READINGS.name]
    letters = c.by_check(*(xl_col_to_name(readings.column(check.look_at.name)) for check in ROW_CHECKS))
    address = join(letters, (c.raised_row + readings.top + 1).fixed(0))
    link = call("link", join("#Readings!", address), join("Readings ", address))
    for row in range(block.rows):
        sheet.live(block.top + 1 + row, 0, link, formats.link, row)
    said = [sheet.book.values(column) for column in (c.raised_cause, c.raised_mend)]
    for row, texts in enumerate(zip(*said, strict=True), start=block.top + 1):
        lines = max(math.ceil(len(text or "") / _WIDTHS[-1]) for text in texts)
        sheet.worksheet.set_row(row, max(15, 13 * lines + 4))


def _shade(sheet: Sheet, last: int) -> None:
    for severity, fill in ((Severity.IMPOSSIBLE, BAD_FILL), (Severity.DOUBTFUL, MIDDLE_FILL)):
        form = sheet.book.workbook.add_format({"bg_color": fill, "bold": True})
        rule = {"type": "cell", "criteria": "==", "value": f'"{severity.word}"', "format": form}
        sheet.worksheet.conditional_format(_GROUP_TOP, _SEVERITY, last, _SEVERITY, rule)
