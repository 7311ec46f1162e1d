"""The input workbook, empty or filled: its first sheet, with how to fill it, and the one for pencil and paper.

Paper is printed, written on by hand at the bench and typed into Readings later; nothing on it is read.
"""

from pathlib import Path

from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.bench_test import BenchTest, bench_test
from xlsengine.cautions import CAUTIONS, DEFERENCE, SHEET_CAUTIONS
from xlsengine.glossary import GLOSSARY
from xlsengine.workbook.book import Book, Sheet, new_book
from xlsengine.workbook.carried import write_attachments
from xlsengine.workbook.formats import BLUE, GREY, INK, INPUT_RULE, MIST, VERMILION
from xlsengine.workbook.input_sheets import finish_tables, place_inputs, template_rows, write_input_sheet
from xlsengine.workbook.layout import SCHEMA_PROPERTY, SCHEMA_VERSION, SHEETS, Layout

STEPS = (
    "Readings: one row per reading, straight from the bench. Paper is a sheet to print and write on there. Only the five "
    "columns marked “needed” (brown headers) must be filled: propeller, cells, volts, amps and grams. The same propeller "
    "gets the same name in all its rows.",
    "Motor: what was tested, what it weighs with full and with trimmed leads, and what you saw inside. Nothing there is "
    "needed; the program says which figures are then missing.",
    "Bench and No load: whether the readings are peaks or steady, supply, air, instruments; spins without a propeller. "
    "Leave blank what you did not measure.",
    "Craft: what the motor is meant for, if you know; it decides the amps in flight and which ESC answer stands first, "
    "that for full throttle held or that for short bursts.",
    "Settings: factors and limits. They are common practice to begin with and yours to change.",
    'Save. Then type  xlsengine "my motor.xlsx"  (the name of this workbook) in its folder, or type  xlsengine page  and '
    "drop the workbook on the page that opens. You get a list of what is wrong, each with its cell, or the results.",
)
IN_RESULTS = (
    "Craft: type your craft into the cream cells; ESC, amps, hover and minutes follow at once.",
    "Readings: correct a reading, or set its Use to no, which leaves it out; figures, sentences and charts follow. Settings: "
    "change a factor or a limit.",
    "To copy a table into another workbook, paste its values only (Paste Special).",
    "With the program xlsengine: save this workbook and hand it over like the first one. The new results compare readings "
    "with each other again and say what was changed.",
)
FOR_READERS = (
    "Report answers what most people ask: which propeller, which ESC, which amps in the air, under which conditions. Its "
    "second page explains the answers.",
    "Craft: type your own model into the cream cells; ESC, hover and minutes follow at once.",
    "ESC holds every propeller and cell count at three sizes; Charts draws the readings, Readings lists them, and Checks "
    "what is odd among them.",
    "Everything here computes: settings and workings behind these sheets are kept but hidden. To see one, click "
    "any tab with the right mouse button and choose Unhide or Show Sheet.",
    "Figures are of one sample on one bench. “±” holds the true value in about 95 of 100 cases; in-flight figures are "
    "estimates.",
)
NAME = "Start"
TOP = 3
_WIDTH = 158
_LETTERS = 180  # of running text in that width


def write_start_sheet(book: Book, top: int = TOP) -> None:
    """Write the Start sheet, from row `top` on: below the list of sheets that a results workbook has at its head."""
    sheet, formats = book.sheet(NAME), book.formats
    sheet.worksheet.set_column(0, 0, 4)
    sheet.worksheet.set_column(1, 1, _WIDTH)
    sheet.height(0, 28)
    kind = "Input" if book.scope is None else "Results"
    sheet.text(0, 0, "Bench test of a small brushless motor", formats.title)
    sheet.text(
        1, 0, f"{kind} workbook, template version {SCHEMA_VERSION}. Cream cells are yours to fill.", formats.subtitle
    )
    title, steps = _told(book)
    sheet.text(top, 0, title, formats.section)
    mark = formats.get(bold=True, align="center", valign="top")
    for number, step in enumerate(steps, start=1):
        sheet.value(top + number, 0, float(number), mark)
        _paragraph(sheet, top + number, step)
    top += 2 + len(steps)
    sheet.text(top, 0, "Cautions", formats.section)
    for row, caution in enumerate((*(each.full for each in CAUTIONS), DEFERENCE), start=top + 1):
        sheet.text(row, 0, "!", mark)
        _paragraph(sheet, row, caution)
    top += len(CAUTIONS) + 3
    sheet.text(top, 0, "Terms", formats.section)
    for row, (term, meaning) in enumerate(GLOSSARY, start=top + 1):
        _paragraph(sheet, row, f"{term}: {meaning}")
    sheet.print_setup(one_page=True)


def _told(book: Book) -> tuple[str, tuple[str, ...]]:
    """Return what is told of the workbook at hand, with its title."""
    if book.for_readers:
        return "How to read it", FOR_READERS
    return ("How to fill it", STEPS) if book.scope is None else ("How to use it", IN_RESULTS)


def _paragraph(sheet: Sheet, row: int, text: str) -> None:
    sheet.paragraph(row, (1, 1), text, sheet.book.formats.paragraph, _LETTERS, 15, 4)


# --- pencil and paper ------------------------------------------------------------------------------------------

PAPER = "Paper"
_COLUMNS = (
    (r.run, 6),
    (r.prop, 20),
    (r.cells, 8),
    (r.throttle, 9),
    (r.kind, 9),
    (r.voltage, 9),
    (r.current, 9),
    (r.thrust, 9),
    (r.speed, 9),
    (r.motor_temperature, 13),
    (r.note, 58),
)
_HEAD = (
    ("Motor, label and Kv", "Mass with leads (g)", "Date and tester"),
    ("Supply or pack, rest volts", "ESC and timing", "Air: °C, hPa, %"),
)
_SPANS = ((0, 3), (4, 7), (8, 10))
_ROWS, _ROW_HEIGHT = 18, 21
_CAUTIONS = (SHEET_CAUTIONS[r.READINGS.name], *(caution.short for caution in CAUTIONS[1:]))
_PAPER_LETTERS = 185  # of type 9 across the page


def write_paper_sheet(book: Book) -> None:
    """Write the sheet: what to note once, an empty ruled table of readings, and what to heed."""
    sheet = book.sheet(PAPER)
    sheet.heading("Readings, by hand", "Print, fill at the stand, type into Readings. Nothing on this sheet is read.")
    sheet.widths(width for _, width in _COLUMNS)
    line, room_to_write = {"font_size": 9, "font_color": GREY}, {"bottom": 1, "bottom_color": INK, "valign": "bottom"}
    for row, labels in enumerate(_HEAD, start=2):
        sheet.over(row, _SPANS, (f"{label}:" for label in labels), sheet.book.formats.get(**line, **room_to_write))
        sheet.height(row, 22)
    form = sheet.book.formats.get(font_size=9, font_color=VERMILION, bold=True, text_wrap=True)
    for row, text in enumerate(_CAUTIONS, start=4):
        sheet.paragraph(row, (0, len(_COLUMNS) - 1), text, form, _PAPER_LETTERS, 13, 3)
    _write_grid(sheet, 4 + len(_CAUTIONS))
    sheet.print_setup(one_page=True)


def _write_grid(sheet: Sheet, top: int) -> None:
    """Write headers and ruled rows; what every reading needs is marked as on Readings."""
    formats = sheet.book.formats
    for column, (reading, _) in enumerate(_COLUMNS):
        declared = r.READINGS.fields[reading.name]
        mark = "\u00a0*" if declared.required else ""
        sheet.text(
            top,
            column,
            declared.header + mark,
            formats.get(bold=True, bg_color=MIST, border=1, text_wrap=True, align="center"),
        )
        for row in range(top + 1, top + 1 + _ROWS):
            sheet.value(row, column, None, formats.get(border=1))
    sheet.height(top, 42)
    for row in range(top + 1, top + 1 + _ROWS):
        sheet.height(row, _ROW_HEIGHT)
    foot = f"* Every reading needs these. {r.KIND_IN_SHORT}"
    sheet.text(top + 1 + _ROWS, 0, foot, formats.get(font_size=9, font_color=GREY))


# --- the whole ---------------------------------------------------------------------------------------------------


def write_input_workbook(test: BenchTest, path: str | Path, overwrite: bool = False) -> Path:
    """Write an input workbook filled with `test`, its tabs coloured as in results; returns its path.

    Raises `OutputRefused` when the file exists and `overwrite` is false, or cannot be written.
    """
    layout, version = Layout(), {SCHEMA_PROPERTY: SCHEMA_VERSION}
    place_inputs(layout, template_rows(test), derived=False, extras=test.extras)
    with new_book(path, overwrite, layout, "Bench test, input", custom=version) as book:
        write_start_sheet(book)
        book.sheet(NAME).worksheet.set_tab_color(BLUE)
        for name in SHEETS:
            write_input_sheet(book, name, test)
            book.sheet(name).worksheet.set_tab_color(INPUT_RULE)
        write_paper_sheet(book)
        finish_tables(book)
        write_attachments(book, test.extras)
    return Path(path)


def write_template(path: str | Path, overwrite: bool = False) -> Path:
    """Write the empty workbook; returns its path. Raises as `write_input_workbook`."""
    return write_input_workbook(bench_test(), path, overwrite)
