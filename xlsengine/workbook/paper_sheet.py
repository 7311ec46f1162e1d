"""The sheet for pencil and paper at the bench: printed, written on by hand, typed into Readings later, never read."""

from __future__ import annotations

from xlsengine.bench.inputs import readings as r
from xlsengine.cautions import CAUTIONS, SHEET_CAUTIONS
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.formats import GREY, INK, MIST, VERMILION

NAME = "Paper"
_COLUMNS = (
    (r.run, 5),
    (r.prop, 16),
    (r.cells, 7),
    (r.throttle, 9),
    (r.kind, 8),
    (r.voltage, 9),
    (r.current, 9),
    (r.thrust, 9),
    (r.speed, 9),
    (r.motor_temperature, 12),
    (r.note, 24),
)
_HEAD = (
    ("Motor, label and Kv", "Mass with leads (g)", "Date and tester"),
    ("Supply or pack, rest volts", "ESC and timing", "Air: °C, hPa, %"),
)
_SPANS = ((0, 3), (4, 7), (8, 10))
_ROWS, _ROW_HEIGHT = 18, 21
_CAUTIONS = (SHEET_CAUTIONS[r.READINGS.name], *(caution.short for caution in CAUTIONS[1:]))
_LETTERS = 135  # of type 9 across the page


def write_paper_sheet(book: Book) -> None:
    """Write the sheet: what to note once, an empty ruled table of readings, and what to heed."""
    sheet = book.sheet(NAME)
    sheet.heading("Readings, by hand", "Print, fill at the stand, type into Readings. Nothing on this sheet is read.")
    for column, (_, width) in enumerate(_COLUMNS):
        sheet.worksheet.set_column(column, column, width)
    for row, labels in enumerate(_HEAD, start=2):
        _write_labels(sheet, row, labels)
    _write_cautions(sheet, 4)
    _write_grid(sheet, 4 + len(_CAUTIONS))
    sheet.print_setup(one_page=True)


def _write_labels(sheet: Sheet, row: int, labels: tuple[str, ...]) -> None:
    """Write what to note once, each with room to its right to write on."""
    form = sheet.book.formats.get(font_size=9, font_color=GREY, bottom=1, bottom_color=INK, valign="bottom")
    for (first, last), label in zip(_SPANS, labels, strict=True):
        sheet.across(row, first, last, f"{label}:", form)
    sheet.worksheet.set_row(row, 22)


def _write_cautions(sheet: Sheet, top: int) -> None:
    form = sheet.book.formats.get(font_size=9, font_color=VERMILION, bold=True, text_wrap=True)
    for row, text in enumerate(_CAUTIONS, start=top):
        sheet.across(row, 0, len(_COLUMNS) - 1, text, form, height=13 * -(-len(text) // _LETTERS) + 3)


def _write_grid(sheet: Sheet, top: int) -> None:
    """Write headers and ruled rows; what every reading needs is marked as on Readings."""
    formats = sheet.book.formats
    for column, (reading, _) in enumerate(_COLUMNS):
        declared = r.READINGS.fields[reading.name]
        mark = " *" if declared.required else ""
        sheet.text(
            top,
            column,
            declared.header + mark,
            formats.get(bold=True, bg_color=MIST, border=1, text_wrap=True, align="center"),
        )
        for row in range(top + 1, top + 1 + _ROWS):
            sheet.value(row, column, None, formats.get(border=1))
    sheet.worksheet.set_row(top, 42)
    for row in range(top + 1, top + 1 + _ROWS):
        sheet.worksheet.set_row(row, _ROW_HEIGHT)
    foot = f"* Every reading needs these. {r.KIND_IN_SHORT}"
    sheet.text(top + 1 + _ROWS, 0, foot, formats.get(font_size=9, font_color=GREY))
