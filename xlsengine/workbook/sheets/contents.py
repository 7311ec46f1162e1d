"""The list of sheets at the head of Start, the colours of their tabs, and what is kept out of the print.

Of a sheet for which nothing was measured the list says what to read to see it.
"""

from collections.abc import Iterable

from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.formats import BLUE, RULE
from xlsengine.workbook.layout import quoted
from xlsengine.workbook.sheets.parts import Kind, SheetPlan
from xlsengine.workbook.start_sheet import NAME as START
from xlsengine.workbook.start_sheet import TOP


def write_contents(book: Book, listed: Iterable[SheetPlan]) -> int:
    """Write the list at the head of Start, a link and one line a sheet; return the row below it.

    A workbook for readers lists what it shows.
    """
    sheet, row, kind = book.sheet(START), TOP, None
    listed = [entry for entry in listed if entry.kind is Kind.READ or not book.for_readers]
    for entry in sorted(listed, key=lambda entry: list(Kind).index(entry.kind)):
        if entry.kind is not kind:
            kind, row = entry.kind, _write_kind(sheet, row, entry.kind)
        _write_entry(sheet, row, entry, entry.measured(sheet.scope))
        row += 1
    return row + 1


def _write_kind(sheet: Sheet, row: int, kind: Kind) -> int:
    title, colour = kind.value
    form = sheet.book.formats.get(bold=True, bottom=1, bottom_color=RULE)
    sheet.value(row, 0, None, sheet.book.formats.get(bg_color=colour))
    sheet.text(row, 1, title, form)
    return row + 1


def _write_entry(sheet: Sheet, row: int, entry: SheetPlan, shown: bool) -> None:
    """Write a line that leads to its sheet; one of a sheet that is not written says what it needs."""
    formats = sheet.book.formats
    if not shown:
        sheet.text(row, 1, f"{entry.name} (not written): {entry.more[:1].lower()}{entry.more[1:]}.", formats.subtitle)
    elif entry.name == START:
        sheet.text(row, 1, f"{entry.name}: {entry.line}", formats.get())
    else:
        target = f"internal:{quoted(entry.name)}!A1"
        sheet.worksheet.write_url(
            row, 1, target, formats.get(font_color=BLUE, underline=1), f"{entry.name}: {entry.line}"
        )


def dress_sheets(book: Book, listed: Iterable[SheetPlan]) -> None:
    """Give the tabs the colours of their kinds, and keep workings out of the print."""
    scope = book.sheet(START).scope
    for entry in (entry for entry in listed if entry.measured(scope)):
        sheet = book.sheet(entry.name)
        sheet.worksheet.set_tab_color(entry.kind.value[1])
        if not entry.printed:
            sheet.print_nothing()
        if book.for_readers and entry.kind is not Kind.READ:
            sheet.worksheet.hide()
