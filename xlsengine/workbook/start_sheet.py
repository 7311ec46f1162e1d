"""The first sheet of an input workbook: how to fill it, the cautions, and the template's version."""

from __future__ import annotations

from xlsengine.cautions import CAUTIONS, DEFERENCE
from xlsengine.glossary import GLOSSARY
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.layout import SCHEMA_VERSION

STEPS = (
    "Readings: one row per reading, straight from the bench.{} Needed are only the five columns marked “needed” (brown "
    "headers): propeller, cells, volts, amps and grams. The same propeller gets the same name in all its rows.",
    "Motor: what was tested, what it weighs with full and with trimmed leads, and what you saw inside. Nothing there is "
    "needed; xlsengine check says what a blank costs.",
    "Bench and No load: whether the readings are peaks or steady, supply, air, instruments; spins without a propeller. "
    "Leave blank what you did not measure.",
    "Craft: what the motor is meant for, if you know; it decides the amps in flight and which ESC answer stands first, "
    "that for full throttle held or that for short bursts.",
    "Settings: factors and limits. They are common practice to begin with and yours to change.",
    "Save, then run  xlsengine FILE  in the folder of this workbook, or drop the workbook onto xlsengine: it lists what is "
    "wrong, each with its cell, or writes the results beside it.",
)
ON_PAPER = " Paper is a sheet to print and write on there."
FOR_READERS = (
    "Report answers what most people ask: which propeller, which ESC, which amps in the air, under which conditions. Its "
    "second page explains the answers.",
    "Craft: type your own model into the cream cells; ESC, hover and minutes follow at once.",
    "ESC holds every propeller and cell count at three sizes; Charts draws the readings.",
    "Everything here computes: readings, settings and workings behind these sheets are kept but hidden. To see one, click "
    "any tab with the right mouse button and choose Unhide or Show Sheet.",
    "Figures are of one sample on one bench. “±” holds the true value in about 95 of 100 cases; in-flight figures are "
    "estimates.",
)
NAME = "Start"
TOP = 3
_WIDTH = 110
_LETTERS = 120  # of running text in that width


def write_start_sheet(book: Book, top: int = TOP) -> None:
    """Write the Start sheet, from row `top` on: below the list of sheets that a results workbook has at its head."""
    sheet, formats = book.sheet(NAME), book.formats
    sheet.worksheet.set_column(0, 0, 4)
    sheet.worksheet.set_column(1, 1, _WIDTH)
    sheet.worksheet.set_row(0, 28)
    kind = "Input" if book.scope is None else "Results"
    sheet.text(0, 0, "Bench test of a small brushless motor", formats.title)
    sheet.text(
        1, 0, f"{kind} workbook, template version {SCHEMA_VERSION}. Cream cells are yours to fill.", formats.subtitle
    )
    steps = FOR_READERS if book.for_readers else STEPS
    sheet.text(top, 0, "How to read it" if book.for_readers else "How to fill it", formats.section)
    for number, step in enumerate(steps, start=1):
        sheet.value(top + number, 0, float(number), formats.get(bold=True, align="center", valign="top"))
        _paragraph(sheet, top + number, step.format(ON_PAPER if book.scope is None else ""))
    top += 2 + len(steps)
    sheet.text(top, 0, "Cautions", formats.section)
    for number, caution in enumerate((*(each.full for each in CAUTIONS), DEFERENCE), start=1):
        sheet.text(top + number, 0, "!", formats.get(bold=True, align="center", valign="top"))
        _paragraph(sheet, top + number, caution)
    top += len(CAUTIONS) + 3
    sheet.text(top, 0, "Terms", formats.section)
    for row, (term, meaning) in enumerate(GLOSSARY, start=top + 1):
        _paragraph(sheet, row, f"{term}: {meaning}")
    sheet.print_setup(one_page=True)


def _paragraph(sheet: Sheet, row: int, text: str) -> None:
    sheet.text(row, 1, text, sheet.book.formats.paragraph)
    sheet.worksheet.set_row(row, 15 * -(-len(text) // _LETTERS) + 4)
