"""Changes: what was typed over since the workbook that came back was written, and what it did to the figures."""

import datetime

from xlsengine.bench.inputs.bench_test import Value
from xlsengine.study.changes import Change, Effect
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.cell_values import row_height
from xlsengine.workbook.change_report import ChangeReport, derived_lines, place_in
from xlsengine.workbook.sheets.parts import Content, Kind, SheetPlan

_HEADERS = ("Place", "What", "Change", "Old value", "New value")
_FIGURE_HEADERS = ("Figure", "Seen with", "", "Old value", "New value")
_WIDTHS = (30, 46, 16, 46, 46)
_TOP = 4
_LETTERS = 46  # of a line


def _write_changes(sheet: Sheet, content: Content) -> None:
    report = content.changed
    assert report is not None
    sheet.heading("Changes", "What was typed over since the workbook that came back was written. Not live.")
    sheet.widths(_WIDTHS)
    sheet.text(_TOP - 2, 0, "Readings and settings", sheet.book.formats.section)
    top = _write_headers(sheet, _TOP - 1, _HEADERS)
    for row, change in enumerate(report.found.typed, start=top):
        _write_change(sheet, row, change)
    if not report.found.typed:
        sheet.text(top, 0, "none", sheet.book.formats.label)
    top = _write_effects(sheet, top + max(1, len(report.found.typed)) + 1, report)
    _write_derived(sheet, top, report)
    sheet.print_setup(repeat=(_TOP - 1, _TOP - 1))
    sheet.worksheet.freeze_panes(_TOP, 1)


def _write_headers(sheet: Sheet, row: int, headers: tuple[str, ...]) -> int:
    sheet.row(row, headers, sheet.book.formats.header)
    return row + 1


def _write_change(sheet: Sheet, row: int, change: Change) -> None:
    formats = sheet.book.formats
    place = place_in(sheet.book.layout, change)
    if change.row_after is None and change.table:
        sheet.text(row, 0, place, formats.label)
    else:
        sheet.worksheet.write_url(row, 0, f"internal:{place}", formats.link, place.replace("'", "").replace("!", " "))
    what = change.label or f"{change.table}, row {change.row_after or change.row_before}"
    sheet.text(row, 1, what, formats.derived(0, text=True))
    sheet.text(row, 2, str(change.kind), formats.derived(0, text=True))
    for column, value in ((3, change.before), (4, change.after)):
        _write_value(sheet, row, column, value)
    texts = [str(value or "") for value in (what, change.before, change.after)]
    sheet.height(row, row_height(texts, [_LETTERS] * len(texts), 14))


def _write_value(sheet: Sheet, row: int, column: int, value: Value) -> None:
    formats = sheet.book.formats
    if value is None:
        sheet.text(row, column, "blank", formats.derived(0, text=True, italic=True))
    elif isinstance(value, datetime.datetime | datetime.time | bool):
        sheet.text(row, column, str(value), formats.derived(0, text=True))
    else:
        form = formats.derived(0, text=True, align="left")
        sheet.value(
            row, column, value, formats.input_moment("yyyy-mm-dd") if isinstance(value, datetime.date) else form
        )


def _write_effects(sheet: Sheet, top: int, report: ChangeReport) -> int:
    """Write the figures before and after; return the row for what follows."""
    if not report.found.effects:
        return top
    formats = sheet.book.formats
    sheet.text(top, 0, "What it did to the figures", formats.section)
    top = _write_headers(sheet, top + 1, _FIGURE_HEADERS)
    for row, effect in enumerate(report.found.effects, start=top):
        _write_effect(sheet, row, effect)
    return top + len(report.found.effects) + 1


def _write_effect(sheet: Sheet, row: int, effect: Effect) -> None:
    formats = sheet.book.formats
    bold = {"bold": True} if effect.changed else {}
    texts = (
        effect.label,
        effect.note or "",
        "changed" if effect.changed else "same",
        effect.text(effect.before),
        effect.text(effect.after),
    )
    sheet.row(row, texts, formats.derived(0, text=True, **bold))
    sheet.height(row, row_height(texts[1:], [_LETTERS - 4] * len(texts), 14))


def _write_derived(sheet: Sheet, top: int, report: ChangeReport) -> None:
    lines = [*derived_lines(report.derived, report.texts), *report.told]
    if lines:
        sheet.text(top, 0, "Derived cells of the workbook that came back", sheet.book.formats.section)
    for row, line in enumerate(lines, start=top + 1):
        sheet.text(row, 0, line, sheet.book.formats.get())


SHEET = SheetPlan(
    "Changes",
    Kind.CHECK,
    "what was changed in the workbook that came back, and what that did",
    writes=_write_changes,
    printed=True,
    out_of_date=None,
)
