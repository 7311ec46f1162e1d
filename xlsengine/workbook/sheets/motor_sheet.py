"""Motor figures: mass and leads, Kv against the label, resistance, no-load current, the air, and the inspection."""

from __future__ import annotations

from xlsengine.bench.conditions import AIR
from xlsengine.bench.motor import GRADES, INSPECTION, MASS_AND_LEADS
from xlsengine.bench.motor_model import MOTOR_MODEL
from xlsengine.bench.motor_uncertainty import MOTOR_UNCERTAINTY
from xlsengine.bench.no_load import NO_LOAD
from xlsengine.expression import Column
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.formats import BAD_FILL, MIDDLE_FILL
from xlsengine.workbook.layout import TITLE_ROWS, Layout
from xlsengine.workbook.sheets.figure_list import place_figures, set_figure_widths, write_figures

NAME = "Motor figures"
_GROUPS = (NO_LOAD, MOTOR_MODEL, MOTOR_UNCERTAINTY, MASS_AND_LEADS, AIR)
_COLUMNS = ("inspected", "observation", "grade", "inspection_remark")


def place_motor(layout: Layout, scope: Scope) -> None:
    """Place the lists of figures."""
    top = TITLE_ROWS - 1
    for group in _GROUPS:
        top = place_figures(layout, NAME, group, top)


def write_motor(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME)
    sheet.heading(
        "Motor figures", "What the motor is by itself, measured or estimated, with where each figure comes from."
    )
    set_figure_widths(sheet)
    for group in _GROUPS:
        write_figures(sheet, group)
    _write_inspection(sheet, book.layout.blocks[_GROUPS[-1].name].bottom + 5)
    sheet.print_setup()
    sheet.worksheet.freeze_panes(2, 0)


def _write_inspection(sheet: Sheet, top: int) -> None:
    """Repeat the inspection list from the Motor sheet, live."""
    formats, block = sheet.book.formats, sheet.book.layout.blocks[INSPECTION.name]
    sheet.text(top - 2, 0, "Inspection", formats.section)
    sheet.text(top - 1, 0, "One sample, opened; observations, not taste. Typed on the sheet Motor.", formats.subtitle)
    for column, name in enumerate(_COLUMNS):
        sheet.text(top, column, INSPECTION.fields[name].header, formats.header)
        for row in range(block.rows):
            sheet.live(top + 1 + row, column, Column(INSPECTION.name, name, True), formats.derived(0, text=True), row)
    for grade, fill in ((GRADES[1], MIDDLE_FILL), (GRADES[2], BAD_FILL)):
        form = sheet.book.workbook.add_format({"bg_color": fill, "bold": True})
        rule = {"type": "cell", "criteria": "==", "value": f'"{grade}"', "format": form}
        sheet.worksheet.conditional_format(top + 1, 2, top + block.rows, 2, rule)
