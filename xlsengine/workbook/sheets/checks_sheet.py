"""Checks: a list of things to do, the most severe first, with place, found, expected, likely cause and what to do."""

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from xlsengine.bench.advice import whole_checks as w
from xlsengine.bench.advice.statements import FLAG_COUNTS
from xlsengine.bench.checks import row_entries as c
from xlsengine.bench.checks.fingerprint import checks_stale
from xlsengine.bench.checks.row_checks import ROW_CHECKS, Severity
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import judgements
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Named, Node, as_node, call, join
from xlsengine.study.flags import Flag
from xlsengine.workbook.book import Said, Sheet
from xlsengine.workbook.formats import BAD_FILL, BLUE, GREY, RULE, SLATE, number_format
from xlsengine.workbook.layout import Block, cell_address, column_letters, quoted
from xlsengine.workbook.marked_readings import MARKS, cell_in, left_out_statement, marking_format
from xlsengine.workbook.page_widths import MARGINS, ROW_POINTS
from xlsengine.workbook.sheets.parts import Content, Kind, Page, SheetPlan, columns

# --- comparisons as they are listed: what was told of many readings in the same words is one line --------------

MOST_PIECES = 12
"""Pieces of the table that one line speaks of, so that its formula stays short."""
FEWEST = 3
"""Readings from which on one line tells of all of them."""

Line = list[Flag]


def comparison_lines(flags: Iterable[Flag]) -> list[Line]:
    """Return flags as the lines of a list, the most severe first: one flag, or those that are in the same words."""
    alike: dict[tuple[object, ...], Line] = {}
    for flag in sorted(flags, key=lambda flag: flag.row):
        words = flag.severity, flag.column, flag.title, flag.found, flag.expected, flag.cause, flag.fix
        alike.setdefault(words, []).append(flag)
    lines = [line for same in alike.values() for line in _pieces(same)]
    return sorted(lines, key=lambda line: (-line[0].severity, line[0].row))


def _pieces(same: Line) -> list[Line]:
    """Return what one line tells each: no more pieces of the table than its formula can hold."""
    if len(same) < FEWEST:
        return [[flag] for flag in same]
    pieces = spans([flag.row for flag in same])
    parts = [pieces[at : at + MOST_PIECES] for at in range(0, len(pieces), MOST_PIECES)]
    return [[flag for flag in same if part[0][0] <= flag.row <= part[-1][1]] for part in parts]


def spans(rows: Sequence[int]) -> list[tuple[int, int]]:
    """Return the first and last of each piece of rows that follow each other.

    >>> spans([1, 2, 3, 7])
    [(1, 3), (7, 7)]
    """
    numbers = np.array(sorted(rows))
    return [(int(piece[0]), int(piece[-1])) for piece in np.split(numbers, np.flatnonzero(np.diff(numbers) > 1) + 1)]


def how_many_stand(line: Line) -> Node:
    """Return how many of a line's readings hold the values that were judged."""
    held = [
        judgements.judgement_row.count(
            Condition(judgements.judgement_row, ">=", Constant(float(first))),
            Condition(judgements.judgement_row, "<=", Constant(float(last))),
        )
        for first, last in spans([flag.row for flag in line])
    ]
    return sum(held[1:], start=as_node(held[0]))


def where_it_stands(line: Line) -> Node:
    """Return the row of Readings where a line's first reading stands, else one that begins or ends a piece; else blank."""
    pieces = spans([flag.row for flag in line])
    found: Node = judgements.judgement_row.position(float(pieces[-1][1]))
    for first, _ in pieces[::-1]:
        found = judgements.judgement_row.position(float(first)).otherwise(found)
    return found


# --- lines: their columns, a comparison as it was written, and heights that fit the texts ------------------------


HEADERS = ("Severity", "Place", "Run", "Propeller", "Cells", "What", "Found", "Expected", "Likely cause", "What to do")
WIDTHS = (14, 13, 5, 13, 6, 21, 19, 19, 31, 35)
_LETTERS = (*(1.1 * width for width in WIDTHS[:-1]), WIDTHS[-1])  # what a line holds; the last is bold
SEVERITY, PLACE, RUN, WHAT = (HEADERS.index(name) for name in ("Severity", "Place", "Run", "What"))
LAST = len(HEADERS) - 1
CHANGED = "changed"
"""In place of the severity of a comparison whose reading has other values now."""
_PAGE = Page((0, LAST), sum(WIDTHS), 13.0, 4)
_HEAD, _NO_HEAD = 18, 13  # points
_USUAL, _TO_COME, _LONGEST = (_PAGE.spare + lines * _PAGE.line for lines in (4, 3, 8))
"""Points of a live entry, which another may follow, of one to come, and of one that says twice to stop."""


def cell_format(sheet: Sheet, column: int) -> Any:
    """Return the format of a cell of a list by its column."""
    look: dict[str, Any] = {"text_wrap": True, "indent": 1, "align": "left", "valign": "top"}
    if column == PLACE:
        look |= {"font_color": BLUE, "underline": 1, "text_wrap": False, "indent": 0}
    elif HEADERS[column] in ("Run", "Cells"):
        look |= {"num_format": number_format(0), "align": "right", "text_wrap": False, "indent": 0}
    return sheet.book.formats.get(bold=column in (SEVERITY, LAST), **look)


def _fit(sheet: Sheet, row: int, said: Sequence[Said], least: float = 0) -> None:
    """Make a row of a list as high as its texts are long, from the propeller on; links and numbers take a line."""
    sheet.fit(row, ["", "", "", said[3], "", *said[WHAT:]], _LETTERS, _PAGE.line, _PAGE.spare, least)


def _write_line(sheet: Sheet, row: int, said: Sequence[Node | float | str | None], least: float = 0) -> None:
    """Write a line of a list, what is live and what is not, in a row as high as it says."""
    for column, each in enumerate(said):
        if isinstance(each, Node):
            sheet.live(row, column, each, cell_format(sheet, column))
        else:
            sheet.value(row, column, each, cell_format(sheet, column))
    _fit(sheet, row, [each if isinstance(each, Node) else str(each or "") for each in said], least)


def _link(address: Node, target: Node | str = "#Readings!", shown: Node | str = "Readings ") -> Node:
    """Return a live link to a cell: by default of Readings."""
    return call("link", join(target, address), join(shown, address))


def _address(column: Node | str, row: Node, block: Block) -> Node:
    """Return the address of a cell in a row of a block, counted from 1; the column is in letters."""
    return join(column, (row + (block.top + 1.0)).fixed(0))


def _write_live_headers(sheet: Sheet, row: int, raised: Node) -> None:
    """Write the headers of a live list, which stand there while anything is raised: an empty list has none."""
    look = sheet.book.formats.get(bold=True, font_color="#FFFFFF", align="center")
    for column, header in enumerate(HEADERS):
        sheet.live(row, column, (raised > 0).where(header, ""), look)
    there = {"bg_color": SLATE, "border": 1, "border_color": RULE}
    sheet.shade((row, 0, row, LAST), there, f'$A{row + 1}<>""')
    sheet.height(row, _HEAD if sheet.book.values(raised) > 0 else _NO_HEAD)


# --- the lists, below each other -------------------------------------------------------------------------------


COMPARISONS = "Comparisons between readings (computed when this workbook was written; not live)"
EACH_READING = "Each reading on its own (live)"
THE_WHOLE = "Motor and bench as a whole (live)"
TOLD_TITLE = "How your entries were read, and what was left out"
_SUBTITLE = (
    "Nothing is deleted: an impossible reading counts nowhere until it is corrected or its Use says yes; a doubtful one "
    "counts. Click a place to go there."
)
_LEFT_OUT, _FIRST = 2, 7  # rows of what is left out, and of the first comparison
_BETWEEN = 9  # points between lists
_A_PAGE = 10  # lines of a list, each some three lines of type
_SPARE_LINES = 1  # for a check of the motor and the bench that is raised later


def _write_head(sheet: Sheet, content: Content, top: int) -> int:
    """Write how many things there are to do, and which readings take no part."""
    formats = sheet.book.formats
    count = FLAG_COUNTS[Severity.IMPOSSIBLE] + FLAG_COUNTS[Severity.DOUBTFUL]
    things, looked_at = _counted(count, "thing"), FLAG_COUNTS[Severity.NOTE]
    notes = (looked_at > 0).where(join("; ", _counted(looked_at, "note"), " to look at"), "")
    nothing = (checks_stale > 0).where("make the results again", "nothing to do")
    sheet.heading("", _SUBTITLE)
    sheet.live(0, 0, join("Checks: ", (count > 0).where(join(things, " to do"), nothing), notes), formats.title)
    _PAGE.paragraphs(sheet, _LEFT_OUT, [left_out_statement(cell_in(sheet.book.layout))], valign="vcenter")
    sheet.height(_LEFT_OUT + 1, _BETWEEN)
    return _LEFT_OUT + 2


def _counted(count: Node, what: str) -> Node:
    return count.equals(1).where(f"1 {what}", join(count.fixed(0), f" {what}s"))


def _write_comparisons(sheet: Sheet, content: Content, top: int) -> int:
    formats, lines = sheet.book.formats, comparison_lines(content.assessment.flags)
    sheet.text(top, 0, COMPARISONS, formats.section)
    sheet.live(top + 1, 0, join("They are ", Named("checks_state", text=True), "."), formats.get(bold=True))
    outdated = f'ISNUMBER(FIND("OUT OF DATE",$A{top + 2}))'
    sheet.shade((top + 1, 0, top + 1, WHAT), {"bg_color": BAD_FILL}, outdated)
    if lines:
        sheet.row(_FIRST - 1, HEADERS, formats.header)
        sheet.height(_FIRST - 1, _HEAD)
    else:
        sheet.text(_FIRST - 1, 0, c.NOTHING, formats.get())
        sheet.height(_FIRST, _BETWEEN)
    for row, line in enumerate(lines, start=_FIRST):
        _write_comparison(sheet, row, line)
    below = _FIRST + max(1, len(lines))
    sheet.height(below, _BETWEEN)
    return below + 1


def _write_comparison(sheet: Sheet, row: int, line: Line) -> None:
    """Write what comparing readings found; severity and link follow the readings, and are gone with their correction."""
    flag, scope, block = line[0], sheet.scope, sheet.book.layout.blocks[r.READINGS.name]
    run, prop, cells = (scope.column(r.READINGS.name, name)[flag.row - 1] for name in ("run", "prop", "cells"))
    if len(line) > 1:
        prop, cells = f"{len(line)} readings", None
    severity = (how_many_stand(line) > 0).where(flag.severity.word, CHANGED)
    link = _link(_address(column_letters(block.column(flag.column)), where_it_stands(line), block))
    told = (flag.title, flag.found, flag.expected, flag.cause, flag.fix)
    _write_line(sheet, row, (severity, link, run, prop, cells, *told))


_RAISED = ("raised_severity", "place", *columns("raised", "run prop cells title found expected cause fix"))
"""The columns of a live line, in the order of the headers; the place is a link and no column of the table."""


def _write_raised(sheet: Sheet, content: Content, top: int) -> int:
    """Write the live list; each line finds its row and check from the checks raised on Readings."""
    table, scope, formats = c.RAISED_CHECKS, content.scope, sheet.book.formats
    block = Block(table.name, sheet.name, top + 2, 0, scope.rows(table.name), _RAISED, HEADERS)
    sheet.book.layout.place(block)
    sheet.text(top, 0, EACH_READING, formats.section)
    beyond = call("trim", join(c.beyond_list(block.rows), " ", c.remarks))
    _PAGE.paragraphs(sheet, top + 1, [beyond], valign="vcenter")
    _write_live_headers(sheet, block.top, c.listed)
    texts = [[""] * block.rows] * len(_RAISED)
    for column, quantity in ((column, table.quantities.get(name)) for column, name in enumerate(_RAISED)):
        if quantity is not None:
            sheet.derived(block.top + 1, column, block.name, quantity, cell_format(sheet, column), block.rows)
        if quantity is not None and quantity.is_text:
            texts[column] = sheet.book.values(Column(block.name, quantity.name, True))[: block.rows]
    readings = sheet.book.layout.blocks[r.READINGS.name]
    letters = c.by_check(*(column_letters(readings.column(check.look_at.name)) for check in ROW_CHECKS))
    link = _link(_address(letters, c.raised_row, readings))
    sheet.live(block.top + 1, PLACE, link, cell_format(sheet, PLACE), block.rows)
    for row, said in enumerate(zip(*texts, strict=True), start=block.top + 1):
        _fit(sheet, row, said, _USUAL if any(said) else _LONGEST)
    sheet.height(block.bottom + 1, _BETWEEN)
    return block.bottom + 2


def _write_whole(sheet: Sheet, content: Content, top: int) -> int:
    """Name the checks that are not raised, then write those that are, one a line, with room for one more."""
    raised = sum(bool(sheet.book.values(check.doubt) == 1) for check in w.CHECKS_OF_THE_WHOLE)
    lines = w.WHOLE_LINES[: raised + _SPARE_LINES]
    sheet.text(top, 0, THE_WHOLE, sheet.book.formats.section)
    _PAGE.paragraphs(sheet, top + 1, [w.others(len(lines))], font_color=GREY, valign="vcenter")
    _write_live_headers(sheet, top + 2, w.raised_count)
    for row, line in enumerate(lines, start=top + 3):
        _write_whole_line(sheet, row, line)
    return top + 3 + len(lines)


def _write_whole_line(sheet: Sheet, row: int, line: Named) -> None:
    checks = w.CHECKS_OF_THE_WHOLE
    sheets, cells = zip(*(_place(sheet, check) for check in checks), strict=True)
    tab, quoted_tab = (call("choose", line, *map(name, sheets)) for name in (str, quoted))
    link = _link(call("choose", line, *cells), join("#", quoted_tab, "!"), join(tab, " "))
    parts = ([getattr(check, part) for check in checks] for part in ("title", "found", "expected", "cause", "fix"))
    severity = call("choose", line, *(Severity.DOUBTFUL.word for _ in checks))
    run, said = call("choose", line, *map(_run, checks)), [call("choose", line, *each) for each in parts]
    raised = bool(sheet.book.values(severity))
    _write_line(sheet, row, (severity, link, run, None, None, *said), _USUAL if raised else _TO_COME)


def _run(check: w.WholeCheck) -> Node:
    """Return the run of the reading that a check looks at first; blank where it looks at something else."""
    is_reading = isinstance(check.look_at, Column) and check.look_at.table == r.READINGS.name
    return Aggregate("at", (r.run,), (), check.row) if is_reading else BLANK


def _place(sheet: Sheet, check: w.WholeCheck) -> tuple[str, Node]:
    """Return the sheet and the cell that a check looks at first."""
    layout, look_at = sheet.book.layout, check.look_at
    if isinstance(look_at, Named):
        where, row, column = layout.cells[look_at.name]
        return where, Constant(cell_address(row, column))
    block = layout.blocks[look_at.table]
    return block.sheet, _address(column_letters(block.column(look_at.name)), check.row, block)


def _write_told(sheet: Sheet, content: Content, top: int) -> int:
    """Write what was understood or left out on reading, as plain text; nothing where all was plain. Return the row below."""
    if content.told and not sheet.book.for_readers:
        sheet.text(top + 1, 0, TOLD_TITLE, sheet.book.formats.section)
    letters = 1.2 * _PAGE.letters
    return Page(_PAGE.span, letters, _PAGE.line).paragraphs(sheet, top + 2, content.told)


def _set_page(sheet: Sheet, content: Content, below: int) -> None:
    """Set widths and print, and dress the lists; what was told is printed, the empty rows above it are not."""
    listed = len(comparison_lines(content.assessment.flags)) + content.scope.used_rows(c.RAISED_CHECKS.name)
    told = content.told and not sheet.book.for_readers
    whole = below - len(content.told) - 3
    _shade(sheet, whole)
    sheet.widths(WIDTHS)
    sheet.usual_height(ROW_POINTS)
    sheet.print_setup(repeat=(_FIRST - 1, _FIRST - 1) if listed > _A_PAGE else None, margins=MARGINS)
    sheet.worksheet.print_area(0, 0, below - 1 if told else whole, LAST)
    sheet.worksheet.freeze_panes(2, 1)


def _shade(sheet: Sheet, last: int) -> None:
    """Shade severities, with their signs before the words, and grey out what was corrected."""
    for severity, (fill, ink) in MARKS.items():
        look = {"bg_color": fill, "font_color": ink, "num_format": marking_format(severity)}
        sheet.shade((_FIRST, SEVERITY, last, SEVERITY), look, type="cell", criteria="==", value=f'"{severity.word}"')
    own = f"$A{_FIRST + 1}"
    words = ",".join(f'{own}="{word}"' for word in (CHANGED, *(severity.word for severity in Severity)))
    area, corrected = (_FIRST, 0, last, LAST), f'{own}="{CHANGED}"'
    sheet.shade(area, {"font_color": GREY, "italic": True}, corrected)
    sheet.shade(area, {"bottom": 1, "bottom_color": RULE}, f"OR({words})")


SHEET = SheetPlan(
    "Checks",
    Kind.CHECK,
    "readings that look odd, each with its cell, the likely cause and what to do",
    parts=(_write_head, _write_comparisons, _write_whole, _write_raised, _write_told),
    page=_set_page,
    printed=True,
    out_of_date=None,
)
