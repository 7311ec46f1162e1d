"""All sheets of a results workbook, in their order: names, kinds, tabs, print and the list on Start follow from it."""

from xlsengine.workbook.input_copy import NAME as INPUT_COPY
from xlsengine.workbook.sheets import (
    changes_sheet,
    charts_sheet,
    checks_sheet,
    comparison_sheet,
    craft_sheet,
    esc_sheet,
    method_sheet,
    report_sheet,
    uncertainty_sheet,
    workings,
)
from xlsengine.workbook.sheets.parts import Kind, SheetPlan
from xlsengine.workbook.steps_sheet import NAME as STEPS
from xlsengine.workbook.template import NAME as START


def _typed(name: str, line: str, printed: bool = False, out_of_date: tuple[int, int] | None = None) -> SheetPlan:
    """Return the plan of a sheet that a person fills; what stands on it is written as in the template."""
    return SheetPlan(name, Kind.TYPED, line, printed=printed, out_of_date=out_of_date)


CHANGES = changes_sheet.SHEET
"""Stands second, and only where the workbook came back."""
SHEETS: tuple[SheetPlan, ...] = (
    report_sheet.SHEET,
    CHANGES,
    *(module.SHEET for module in (comparison_sheet, craft_sheet, esc_sheet, charts_sheet)),
    SheetPlan(START, Kind.READ, "this sheet", out_of_date=None),
    checks_sheet.SHEET,
    _typed("Readings", "your readings, and beside them what each one gives", True, (3, 0)),
    _typed("Motor", "what was tested, its mass and leads, and what was seen inside"),
    _typed("Bench", "supply, air and instruments; check weights"),
    _typed("No load", "spins without a propeller, and winding resistance"),
    _typed("Settings", "factors, limits and ESC sizes; change one and the workbook follows"),
    *workings.SHEETS,
    uncertainty_sheet.SHEET,
    workings.REPEATABILITY_SHEET,
    method_sheet.SHEET,
)
WRITTEN = frozenset((*(sheet.name for sheet in SHEETS), STEPS, INPUT_COPY, "Uncertainty by row"))
"""Names of sheets that are ours; the last is one of older workbooks."""
