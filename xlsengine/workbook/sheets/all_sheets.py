"""All sheets of a results workbook, in their order: names, kinds, tabs, print and the list on Start follow from it."""

from collections.abc import Iterator
from importlib import import_module

from xlsengine.workbook.input_copy import NAME as INPUT_COPY
from xlsengine.workbook.sheets.parts import Kind, SheetPlan
from xlsengine.workbook.steps_sheet import NAME as STEPS
from xlsengine.workbook.template import NAME as START


def _of(names: str) -> Iterator[SheetPlan]:
    """Yield the plan in each ``<name>_sheet.py``."""
    for name in names.split():
        yield import_module(f"xlsengine.workbook.sheets.{name}_sheet").SHEET


def _typed(name: str, line: str, printed: bool = False, out_of_date: tuple[int, int] | None = None) -> SheetPlan:
    """Return the plan of a sheet that a person fills; what stands on it is written as in the template."""
    return SheetPlan(name, Kind.TYPED, line, printed=printed, out_of_date=out_of_date)


SHEETS: tuple[SheetPlan, ...] = (
    *_of("report changes comparison craft esc charts"),
    SheetPlan(START, Kind.READ, "this sheet", out_of_date=None),
    *_of("checks"),
    _typed("Readings", "your readings, and beside them what each one gives", True, (3, 0)),
    _typed("Motor", "what was tested, its mass and leads, and what was seen inside"),
    _typed("Bench", "supply, air and instruments; check weights"),
    _typed("No load", "spins without a propeller, and winding resistance"),
    _typed("Settings", "factors, limits and ESC sizes; change one and the workbook follows"),
    *_of("summary prediction motor speed propellers uncertainty repeatability method"),
)
CHANGES = SHEETS[1]
"""Stands second, and only where the workbook came back."""
WRITTEN = frozenset((*(sheet.name for sheet in SHEETS), STEPS, INPUT_COPY, "Uncertainty by row"))
"""Names of sheets that are ours; the last is one of older workbooks."""
