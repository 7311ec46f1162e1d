"""Checks: a list of things to do, the most severe first, with place, found, expected, likely cause and what to do."""

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from xlsengine.bench.advice import whole_checks as w
from xlsengine.bench.advice.statements import FLAG_COUNTS
from xlsengine.bench.checks import raised_checks as c
from xlsengine.bench.checks.fingerprint import checks_stale
from xlsengine.bench.checks.row_checks import ROW_CHECKS, Severity
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import judgements
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Named, Node, as_node, call, join
from xlsengine.study.flags import Flag
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.cell_values import row_height, stored
from xlsengine.workbook.formats import BAD_FILL, BLUE, GREY, RULE, SLATE, number_format
from xlsengine.workbook.layout import Block, Layout, cell_address, column_letters, quoted
from xlsengine.workbook.marked_readings import MARKS, left_out_statement, marking_format
from xlsengine.workbook.page_widths import MARGINS, ROW_POINTS
from xlsengine.workbook.sheets.parts import Content, Kind, SheetPlan, columns

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
WIDTHS = (13, 13, 5, 13, 6, 21, 19, 19, 31, 36)
_LETTERS = (*(1.1 * width for width in WIDTHS[:-1]), WIDTHS[-1])  # what a line holds; the last is bold
SEVERITY, PLACE, RUN, WHAT = (HEADERS.index(name) for name in ("Severity", "Place", "Run", "What"))
LAST = len(HEADERS) - 1
CHANGED = "changed"
"""In place of the severity of a comparison whose reading has other values now."""
_TYPE, _LINE = 10, 13.0
_HEAD, _NO_HEAD = 18, 13  # points
_USUAL, _TO_COME, _LONGEST = (4 + lines * _LINE for lines in (4, 3, 8))
"""Points of a live entry, which another may follow, of one to come, and of one that says twice to stop."""
_LONGEST_TEXT = 255  # in a formula and in what MATCH looks for


def text_format(sheet: Sheet, **more: Any) -> Any:
    """Return the format of a text in a list."""
    return sheet.book.formats.get(
        **{"text_wrap": True, "indent": 1, "font_size": _TYPE, "align": "left", "valign": "top", **more}
    )


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


def write_live_headers(sheet: Sheet, row: int, raised: Node) -> None:
    """Write the headers of a live list, which stand there while anything is raised: an empty list has none."""
    look = {"bold": True, "font_color": "#FFFFFF", "align": "center"}
    for column, header in enumerate(HEADERS):
        sheet.live(row, column, (raised > 0).where(header, ""), sheet.book.formats.get(**look))
    there = {"bg_color": SLATE, "border": 1, "border_color": RULE}
    sheet.shade((row, 0, row, LAST), there, type="formula", criteria=f'=$A{row + 1}<>""')
    sheet.height(row, _HEAD if sheet.book.values(raised) > 0 else _NO_HEAD)


def write_sentence(sheet: Sheet, row: int, node: Node, form: Any = None) -> None:
    """Write a live sentence over the whole width, its row as high as the sentence is long."""
    sheet.paragraph(row, (0, LAST), node, form or plain_format(sheet), sum(WIDTHS), _LINE, 4)


def standing_row(flag: Flag, values: str) -> Node:
    """Return the row of Readings where the values that were judged stand now; blank where one was corrected.

    It is where they stood, if they still do: a copy of them may stand above.
    """
    stays = Aggregate("text at", (judgements.row_print,), (), Constant(float(flag.row))).equals(values)
    found = Aggregate("text position", (judgements.row_print,), (), Constant(values))
    return stays.otherwise(0.0).equals(1).where(float(flag.row), found)


def write_comparison(sheet: Sheet, row: int, line: Line) -> None:
    """Write what comparing readings found; severity and link follow the readings, and are gone with their correction."""
    flag, scope, block = line[0], sheet.scope, sheet.book.layout.blocks[r.READINGS.name]
    values = scope.column(r.READINGS.name, judgements.row_print.name)[flag.row - 1]
    run, prop, cells = (scope.column(r.READINGS.name, name)[flag.row - 1] for name in ("run", "prop", "cells"))
    if len(line) > 1:
        prop, cells = f"{len(line)} readings", None
    texts = (flag.title, flag.found, flag.expected, flag.cause, flag.fix)
    for column, value in enumerate((run, prop, cells, *texts), start=RUN):
        sheet.value(row, column, value, cell_format(sheet, column))
    letters, severity = column_letters(block.column(flag.column)), cell_format(sheet, SEVERITY)
    stands: Node = Constant(float(flag.row))
    if len(line) > 1:
        stands = where_it_stands(line)
        sheet.live(row, SEVERITY, (how_many_stand(line) > 0).where(flag.severity.word, CHANGED), severity)
    elif is_writable(values):
        stands = standing_row(flag, values)
        word = (stands > 0).where(flag.severity.word, CHANGED).otherwise(CHANGED)
        sheet.live(row, SEVERITY, word, severity)
    else:
        sheet.text(row, SEVERITY, flag.severity.word, severity)
    address = join(letters, (stands + (block.top + 1.0)).fixed(0))
    link = call("link", join("#Readings!", address), join("Readings ", address))
    sheet.live(row, PLACE, link, cell_format(sheet, PLACE))
    sheet.height(row, row_height(["", "", "", str(prop), "", *texts], _LETTERS, _LINE, 4))


def is_writable(values: str | None) -> bool:
    """Tell whether a formula can hold a text and look it up."""
    text = values or ""
    plain = text.isprintable() and stored(text) == text
    return bool(text) and plain and len(text.encode("utf-16-le")) <= 2 * _LONGEST_TEXT


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
_RAISED = ("raised_severity", "place", *columns("raised", "run prop cells title found expected cause fix"))
"""The columns of a live line, in the order of the headers; the place is a link and no column of the table."""


def _place_checks(layout: Layout, content: Content, sheet: str) -> None:
    layout.say("left out", left_out_statement(layout), content.scope, sheet, _LEFT_OUT)
    top = _FIRST + max(1, len(comparison_lines(content.assessment.flags))) + 3
    block = Block(c.RAISED_CHECKS.name, sheet, top, 0, content.scope.rows(c.RAISED_CHECKS.name), _RAISED, HEADERS)
    layout.place(block)


def _whole_top(block: Block) -> int:
    """Return the row of the title of the checks of the whole, below the live list."""
    return block.bottom + 2


def _whole_lines(book: Book) -> int:
    """Return how many lines the checks of the whole have: those raised on writing, and a few."""
    raised = sum(bool(book.values(check.doubt) == 1) for check in w.CHECKS_OF_THE_WHOLE)
    return min(raised + _SPARE_LINES, len(w.WHOLE_LINES))


def _write_checks(sheet: Sheet, content: Content) -> None:
    block = sheet.book.layout.blocks[c.RAISED_CHECKS.name]
    sheet.widths(WIDTHS)
    _write_head(sheet)
    lines = comparison_lines(content.assessment.flags)
    _write_comparisons(sheet, lines)
    _write_raised(sheet, block)
    bottom = _write_whole(sheet, _whole_top(block))
    _shade(sheet, bottom)
    listed = len(lines) + content.scope.used_rows(c.RAISED_CHECKS.name)
    sheet.print_setup(repeat=(_FIRST - 1, _FIRST - 1) if listed > _A_PAGE else None, margins=MARGINS)
    sheet.worksheet.print_area(0, 0, bottom, LAST)
    sheet.usual_height(ROW_POINTS)
    for row in (3, block.top - 3, _whole_top(block) - 1):
        sheet.height(row, _BETWEEN)
    sheet.worksheet.freeze_panes(2, 1)
    _write_told(sheet, content.told)


def _write_told(sheet: Sheet, told: Sequence[str]) -> None:
    """Write below the checks what was understood or left out on reading, as plain text; nothing where all was plain."""
    book, form = sheet.book, sheet.book.formats.get(text_wrap=True, valign="top")
    top = _whole_top(book.layout.blocks[c.RAISED_CHECKS.name]) + _whole_lines(book) + 5
    if told and not book.for_readers:
        sheet.text(top - 1, 0, TOLD_TITLE, book.formats.section)
        sheet.worksheet.print_area(0, 0, top + len(told) - 1, LAST)
    for row, line in enumerate(told, start=top):
        sheet.paragraph(row, (0, LAST), line, form, 1.2 * sum(WIDTHS), _LINE)


def _write_head(sheet: Sheet) -> None:
    """Write how many things there are to do, and which readings take no part."""
    formats = sheet.book.formats
    count = FLAG_COUNTS[Severity.IMPOSSIBLE] + FLAG_COUNTS[Severity.DOUBTFUL]
    things, looked_at = _counted(count, "thing"), FLAG_COUNTS[Severity.NOTE]
    notes = (looked_at > 0).where(join("; ", _counted(looked_at, "note"), " to look at"), "")
    nothing = (checks_stale > 0).where("make the results again", "nothing to do")
    sheet.live(0, 0, join("Checks: ", (count > 0).where(join(things, " to do"), nothing), notes), formats.title)
    sheet.height(0, 28)
    sheet.text(1, 0, _SUBTITLE, formats.subtitle)
    write_sentence(sheet, _LEFT_OUT, left_out_statement(sheet.book.layout))


def _counted(count: Node, what: str) -> Node:
    return count.equals(1).where(f"1 {what}", join(count.fixed(0), f" {what}s"))


def _write_comparisons(sheet: Sheet, lines: Sequence[Line]) -> None:
    formats = sheet.book.formats
    sheet.text(4, 0, COMPARISONS, formats.section)
    sheet.live(
        5, 0, join("They are ", Named("checks_state", text=True), "."), plain_format(sheet, bold=True, text_wrap=False)
    )
    sheet.shade((5, 0, 5, WHAT), {"bg_color": BAD_FILL}, type="formula", criteria='=ISNUMBER(FIND("OUT OF DATE",$A6))')
    if lines:
        sheet.row(_FIRST - 1, HEADERS, formats.header)
        sheet.height(_FIRST - 1, _HEAD)
    else:
        sheet.text(_FIRST - 1, 0, c.NOTHING, plain_format(sheet, text_wrap=False))
        sheet.height(_FIRST, _BETWEEN)
    for row, line in enumerate(lines, start=_FIRST):
        write_comparison(sheet, row, line)


def _write_raised(sheet: Sheet, block: Block) -> None:
    """Write the live list; each line finds its row and check from the checks raised on Readings."""
    formats = sheet.book.formats
    sheet.text(block.top - 2, 0, EACH_READING, formats.section)
    write_sentence(sheet, block.top - 1, call("trim", join(c.beyond_list(block.rows), " ", c.remarks())))
    write_live_headers(sheet, block.top, c.raised_count())
    for column, name in enumerate(block.columns):
        if name not in c.RAISED_CHECKS.quantities:
            continue
        quantity = c.RAISED_CHECKS.quantities[name]
        sheet.derived(block.top + 1, column, block.name, quantity, cell_format(sheet, column), block.rows)
    readings = sheet.book.layout.blocks[r.READINGS.name]
    letters = c.by_check(*(column_letters(readings.column(check.look_at.name)) for check in ROW_CHECKS))
    address = join(letters, (c.raised_row + readings.top + 1).fixed(0))
    link = call("link", join("#Readings!", address), join("Readings ", address))
    sheet.live(block.top + 1, PLACE, link, cell_format(sheet, PLACE), block.rows)
    _fit(sheet, block.top + 1, [_said(sheet, name) for name in _RAISED], _LONGEST)


def _said(sheet: Sheet, name: str) -> list[str]:
    """Return what a column of the live list says; nothing for its numbers and links."""
    quantity = c.RAISED_CHECKS.quantities.get(name)
    rows = sheet.book.layout.blocks[c.RAISED_CHECKS.name].rows
    if quantity is None or not quantity.is_text:
        return [""] * rows
    return [text or "" for text in sheet.book.values(Column(c.RAISED_CHECKS.name, name, True))[:rows]]


def _fit(sheet: Sheet, top: int, columns: Sequence[Sequence[str]], to_come: float = _TO_COME) -> None:
    """Make rows as high as their texts are long, and as those that may come to stand there."""
    for row, texts in enumerate(zip(*columns, strict=True), start=top):
        sheet.height(row, max(_USUAL if any(texts) else to_come, row_height(texts, _LETTERS, _LINE, 4)))


def _write_whole(sheet: Sheet, top: int) -> int:
    """Write the checks that are raised, one a line, and name the others; returns the last row."""
    lines = _whole_lines(sheet.book)
    sheet.text(top, 0, THE_WHOLE, sheet.book.formats.section)
    write_live_headers(sheet, top + 1, w.raised_count())
    for row, line in enumerate(w.WHOLE_LINES[:lines], start=top + 2):
        _write_whole_line(sheet, row, line)
    last = top + 2 + lines
    rest = w.others(lines)
    write_sentence(sheet, last, rest, plain_format(sheet, font_color=GREY))
    return last


def _write_whole_line(sheet: Sheet, row: int, line: Named) -> None:
    checks = w.CHECKS_OF_THE_WHOLE
    said: dict[int, Node] = {
        SEVERITY: call("choose", line, *(Severity.DOUBTFUL.word for _ in checks)),
        PLACE: _link(sheet, line),
        RUN: call("choose", line, *(_run(check) for check in checks)),
    }
    for column, part in enumerate(("title", "found", "expected", "cause", "fix"), start=WHAT):
        said[column] = call("choose", line, *(getattr(check, part) for check in checks))
    for column in range(LAST + 1):
        form = cell_format(sheet, column)
        if column in said:
            sheet.live(row, column, said[column], form)
        else:
            sheet.value(row, column, None, text_format(sheet))
    texts = [str(sheet.book.values(said[column]) or "") if column >= WHAT else "" for column in range(LAST + 1)]
    _fit(sheet, row, [[text] for text in texts])


def _run(check: w.WholeCheck) -> Node:
    """Return the run of the reading that a check looks at first; blank where it looks at something else."""
    is_reading = isinstance(check.look_at, Column) and check.look_at.table == r.READINGS.name
    return Aggregate("at", (r.run,), (), check.row) if is_reading else BLANK


def _link(sheet: Sheet, line: Named) -> Node:
    """Return a live link to the input cell that the check of a line looks at first."""
    sheets, cells = zip(*(_place(sheet, check) for check in w.CHECKS_OF_THE_WHOLE), strict=True)
    address = call("choose", line, *cells)
    target = join("#", call("choose", line, *map(quoted, sheets)), "!", address)
    return call("link", target, join(call("choose", line, *sheets), " ", address))


def _place(sheet: Sheet, check: w.WholeCheck) -> tuple[str, Node]:
    """Return the sheet and the cell that a check looks at first."""
    layout, look_at = sheet.book.layout, check.look_at
    if isinstance(look_at, Named):
        where, row, column = layout.cells[look_at.name]
        return where, Constant(cell_address(row, column))
    block = layout.blocks[look_at.table]
    return block.sheet, join(column_letters(block.column(look_at.name)), (check.row + block.top + 1).fixed(0))


def _shade(sheet: Sheet, last: int) -> None:
    """Shade severities, with their signs before the words, and grey out what was corrected."""
    for severity, (fill, ink) in MARKS.items():
        look = {"bg_color": fill, "font_color": ink, "num_format": marking_format(severity)}
        sheet.shade((_FIRST, SEVERITY, last, SEVERITY), look, type="cell", criteria="==", value=f'"{severity.word}"')
    own = f"$A{_FIRST + 1}"
    words = ",".join(f'{own}="{word}"' for word in (CHANGED, *(severity.word for severity in Severity)))
    area, corrected = (_FIRST, 0, last, LAST), f'={own}="{CHANGED}"'
    sheet.shade(area, {"font_color": GREY, "italic": True}, type="formula", criteria=corrected)
    sheet.shade(area, {"bottom": 1, "bottom_color": RULE}, type="formula", criteria=f"=OR({words})")


SHEET = SheetPlan(
    "Checks",
    Kind.CHECK,
    "readings that look odd, each with its cell, the likely cause and what to do",
    writes=_write_checks,
    places=_place_checks,
    printed=True,
    out_of_date=None,
)
