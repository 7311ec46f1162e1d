"""Changes: what was typed over since the workbook that came back was written, and what it did to the figures."""

import datetime

from xlsengine.bench.inputs.bench_test import Value
from xlsengine.study.changes import Change
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.comparing import ChangeReport, derived_lines, place_in
from xlsengine.workbook.sheets.parts import Content, Kind, SheetPlan

_HEADERS = ("Place", "What", "Change", "Old value", "New value")
_FIGURE_HEADERS = ("Figure", "Seen with", "", "Old value", "New value")
_TOP = 2
_LETTERS = 46  # of a line


def _report(content: Content) -> ChangeReport:
    assert content.changed is not None
    return content.changed


def _write_typed(sheet: Sheet, content: Content, top: int) -> int:
    """Write what was typed over, each with a link to its cell."""
    typed, formats = _report(content).found.typed, sheet.book.formats
    sheet.heading("Changes", "What was typed over since the workbook that came back was written. Not live.")
    sheet.text(_TOP, 0, "Readings and settings", formats.section)
    sheet.row(_TOP + 1, _HEADERS, formats.header)
    for row, change in enumerate(typed, start=_TOP + 2):
        _write_change(sheet, row, change)
    if not typed:
        sheet.text(_TOP + 2, 0, "none", formats.label)
    return _TOP + 3 + max(1, len(typed))


def _write_change(sheet: Sheet, row: int, change: Change) -> None:
    formats, place = sheet.book.formats, place_in(sheet.book.layout, change)
    if change.row_after is None and change.table:
        sheet.text(row, 0, place, formats.label)
    else:
        sheet.worksheet.write_url(row, 0, f"internal:{place}", formats.link, place.replace("'", "").replace("!", " "))
    what = change.label or f"{change.table}, row {change.row_after or change.row_before}"
    sheet.row(row, (what, str(change.kind)), formats.derived(0, text=True), 1)
    for column, value in ((3, change.before), (4, change.after)):
        _write_value(sheet, row, column, value)
    sheet.fit(row, (what, *(str(value or "") for value in (change.before, change.after))), [_LETTERS] * 3, 14)


def _write_value(sheet: Sheet, row: int, column: int, value: Value) -> None:
    formats = sheet.book.formats
    if value is None:
        sheet.text(row, column, "blank", formats.derived(0, text=True, italic=True))
    elif isinstance(value, datetime.datetime | datetime.time | bool):
        sheet.text(row, column, str(value), formats.derived(0, text=True))
    elif isinstance(value, datetime.date):
        sheet.value(row, column, value, formats.input_moment("yyyy-mm-dd"))
    else:
        sheet.value(row, column, value, formats.derived(0, text=True, align="left"))


def _write_effects(sheet: Sheet, content: Content, top: int) -> int:
    """Write the figures before and after."""
    effects, formats = _report(content).found.effects, sheet.book.formats
    if not effects:
        return top
    sheet.text(top, 0, "What it did to the figures", formats.section)
    sheet.row(top + 1, _FIGURE_HEADERS, formats.header)
    for row, each in enumerate(effects, start=top + 2):
        bold = {"bold": True} if each.changed else {}
        told = (each.text(each.before), each.text(each.after))
        texts = (each.label, each.note or "", "changed" if each.changed else "same", *told)
        sheet.row(row, texts, formats.derived(0, text=True, **bold))
        sheet.fit(row, texts[1:], [_LETTERS - 4] * 4, 14)
    return top + len(effects) + 3


def _write_derived(sheet: Sheet, content: Content, top: int) -> int:
    """Write which derived cells are doubtful, and what else is told."""
    report = _report(content)
    lines = [*derived_lines(report.derived, report.texts), *report.told]
    if lines:
        sheet.text(top, 0, "Derived cells of the workbook that came back", sheet.book.formats.section)
    for row, line in enumerate(lines, start=top + 1):
        sheet.text(row, 0, line, sheet.book.formats.get())
    return top + len(lines) + 1


def _set_page(sheet: Sheet, content: Content, below: int) -> None:
    sheet.widths((30, 46, 16, 46, 46))
    sheet.print_setup(repeat=(_TOP + 1, _TOP + 1))
    sheet.worksheet.freeze_panes(_TOP + 2, 1)


SHEET = SheetPlan(
    "Changes",
    Kind.CHECK,
    "what was changed in the workbook that came back, and what that did",
    parts=(_write_typed, _write_effects, _write_derived),
    page=_set_page,
    printed=True,
    out_of_date=None,
)
