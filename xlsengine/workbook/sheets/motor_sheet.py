"""Motor figures: mass and leads, Kv against the label, resistance, no-load current, the air, and the inspection."""

from xlsengine.bench.inputs.conditions import AIR
from xlsengine.bench.inputs.motor import GRADES, INSPECTION, MASS_AND_LEADS
from xlsengine.bench.inputs.no_load import NO_LOAD, no_load_current, winding_resistance
from xlsengine.bench.physics.motor_model import MOTOR_MODEL, best_kv, model_resistance
from xlsengine.bench.uncertainty.motor_uncertainty import MOTOR_UNCERTAINTY
from xlsengine.expression import Column
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.formats import BAD_FILL, MIDDLE_FILL
from xlsengine.workbook.sheets.parts import WIDTHS, Content, FiguresPart, Kind, SheetPlan, any_of

_GROUPS = (NO_LOAD, MOTOR_MODEL, MOTOR_UNCERTAINTY, MASS_AND_LEADS, AIR)
_COLUMNS = ("inspected", "observation", "grade", "inspection_remark")


def _write_inspection(sheet: Sheet, content: Content, top: int) -> int:
    """Repeat the inspection list from the Motor sheet, live."""
    formats, block = sheet.book.formats, sheet.book.layout.blocks[INSPECTION.name]
    top += 2
    sheet.text(top - 2, 0, "Inspection", formats.section)
    sheet.text(top - 1, 0, "One sample, opened; observations, not taste. Typed on the sheet Motor.", formats.subtitle)
    for column, name in enumerate(_COLUMNS):
        sheet.text(top, column, INSPECTION.fields[name].header, formats.header)
        for row in range(block.rows):
            sheet.live(
                top + 1 + row, column, Column(INSPECTION.name, name, True), formats.derived(0, text=True), at=row
            )
    grades = ((GRADES[1], MIDDLE_FILL), (GRADES[2], BAD_FILL))
    sheet.shade_words((top + 1, 2, top + block.rows, 2), grades, bold=True)
    return top + block.rows + 2


SHEET = SheetPlan(
    "Motor figures",
    Kind.WORKING,
    "Kv against the label, resistance, no-load current, inspection",
    heading="Figures of the motor alone, measured or estimated, each with its source.",
    parts=(*(FiguresPart(group) for group in _GROUPS), _write_inspection),
    widths=WIDTHS,
    freeze=(2, 0),
    measured=any_of(
        best_kv, model_resistance, winding_resistance, no_load_current, Column(INSPECTION.name, "observation", True)
    ),
    more="Read spins without a propeller, or the winding resistance, to see Kv and what the motor loses",
)
