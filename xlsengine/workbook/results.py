"""The results workbook: every sheet written with the engine's values, and live formulas once all have their places."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from xlsengine.bench.checks.fingerprint import out_of_date
from xlsengine.bench.inputs.bench_test import input_hash
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.study.assessment import Assessment
from xlsengine.study.comparison import Comparison, compared_with
from xlsengine.workbook.book import Book, Sheet, new_book
from xlsengine.workbook.carried import write_attachments
from xlsengine.workbook.comparing import ChangeReport
from xlsengine.workbook.formats import BLUE, RULE, VERMILION
from xlsengine.workbook.input_copy import NAME as COPY_SHEET
from xlsengine.workbook.input_copy import write_copy
from xlsengine.workbook.input_sheets import finish_tables, place_inputs, write_input_sheet
from xlsengine.workbook.layout import HASH_PROPERTY, STATED, Layout, quoted
from xlsengine.workbook.layout import SHEETS as TYPED
from xlsengine.workbook.marked_readings import TOLD_TWICE, cell_in, mark_rows
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
from xlsengine.workbook.sheets.parts import Content, Kind, SheetPlan
from xlsengine.workbook.steps_sheet import HIDDEN, folding_of, write_live_cells
from xlsengine.workbook.steps_sheet import NAME as STEPS
from xlsengine.workbook.template import NAME as START
from xlsengine.workbook.template import TOP, write_start_sheet
from xlsengine.workbook.unread import unread_columns

Progress = Callable[[str], None]

# --- all sheets in their order: names, kinds, tabs, print and the list on Start follow from it ---------------------


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
WRITTEN = frozenset((*(sheet.name for sheet in SHEETS), STEPS, COPY_SHEET, "Uncertainty by row"))
"""Names of sheets that are ours; the last is one of older workbooks."""


# --- the whole ---------------------------------------------------------------------------------------------------


def results_layout(assessment: Assessment) -> Layout:
    """Place what is typed, and the sentences that stand on several sheets; all else says where it is as it is written."""
    scope = assessment.scope
    layout = Layout(folding=folding_of(unread_columns(scope)))
    tables = [part for parts in TYPED.values() for part in parts]
    rows = {table.name: scope.rows(table.name) for table in tables if table.name in scope.test.tables}
    place_inputs(layout, rows, derived=True, extras=scope.test.extras)
    for name, (sentence, sheet, row) in TOLD_TWICE.items():
        layout.say(name, sentence(cell_in(layout)), scope, sheet, row)
    return layout


def _listed(content: Content, comparison: Comparison | None) -> list[SheetPlan]:
    """Return the sheets of the list on Start, which says why a library that was asked made no sheet Comparison."""
    sheets = [sheet for sheet in SHEETS if sheet is not CHANGES or content.changed is not None]
    if comparison is None or comparison.peers or not comparison.told:
        return sheets
    return [replace(sheet, more=comparison.told[0]) if sheet is comparison_sheet.SHEET else sheet for sheet in sheets]


def write_results(
    assessment: Assessment,
    path: str | Path,
    overwrite: bool = False,
    progress: Progress = lambda sheet: None,
    changed: ChangeReport | None = None,
    told: Sequence[str] = (),
    comparison: Comparison | None = None,
    for_readers: bool = False,
) -> Path:
    """Write the results workbook; returns its path. `progress` is told each sheet's name before it is written.

    `changed` is what was changed in the results workbook that came back; where anything was, it makes the sheet Changes.
    `told` is what was understood or left out on reading; it stands at the foot of the sheet Checks. `comparison` holds the
    motors of the class, where there are any, for the sheet Comparison.
    One `for_readers` shows the sheets to read only and holds neither notes nor pictures of whoever filled it.
    Raises `OutputRefused` when the file exists and `overwrite` is false, or cannot be written.
    """
    assessment = assessment if comparison is None else compared_with(assessment, comparison)
    layout = results_layout(assessment)
    content = Content(assessment, None if changed is None or changed.is_empty else changed, told)
    custom = {**STATED, HASH_PROPERTY: input_hash(assessment.test)}
    listed = _listed(content, comparison)
    written = [sheet for sheet in listed if sheet.measured(content.scope)]
    with new_book(path, overwrite, layout, "Bench test, results", assessment.scope, custom, for_readers) as book:
        for name in (*(sheet.name for sheet in written), STEPS, COPY_SHEET):
            book.sheet(name)
        _write_sheets(book, content, written, progress)
        write_start_sheet(book, _write_contents(book, listed))
        _dress_sheets(book, written)
        progress("saving")
    return Path(path)


def _write_sheets(book: Book, content: Content, sheets: Sequence[SheetPlan], progress: Progress) -> None:
    """Write the sheets, then all that waits until it is known which cells they need."""
    test = content.scope.test
    for name in TYPED:
        progress(name)
        write_input_sheet(book, name, test)
    progress("results")
    for sheet in (sheet for sheet in sheets if not sheet.late):
        sheet.write(book, content)
    _write_stale(book, sheets)
    write_live_cells(book)
    for sheet in (sheet for sheet in sheets if sheet.late):
        sheet.write(book, content)
    finish_tables(book)
    mark_rows(book.sheet(READINGS.name))
    write_copy(book, test)
    if not book.for_readers:
        write_attachments(book, test.extras)


def _write_stale(book: Book, sheets: Iterable[SheetPlan]) -> None:
    """Write on each sheet that has a cell for it, below its title, that its figures rest on comparisons out of date."""
    form = book.formats.get(bold=True, font_size=11, font_color=VERMILION)
    for sheet in sheets:
        if sheet.out_of_date is not None:
            book.sheet(sheet.name).live(*sheet.out_of_date, out_of_date, form)


# --- the list of sheets on Start, and their tabs -----------------------------------------------------------------


def _write_contents(book: Book, listed: Iterable[SheetPlan]) -> int:
    """Write the list at the head of Start, a link and one line a sheet; return the row below it.

    A workbook for readers lists what it shows.
    """
    sheet, row, kind = book.sheet(START), TOP, None
    listed = [entry for entry in listed if entry.seen_by_readers or not book.for_readers]
    for entry in sorted(listed, key=lambda entry: list(Kind).index(entry.kind)):
        if entry.kind is not kind:
            kind, (title, colour) = entry.kind, entry.kind.value
            sheet.value(row, 0, None, book.formats.get(bg_color=colour))
            sheet.text(row, 1, title, book.formats.get(bold=True, bottom=1, bottom_color=RULE))
            row += 1
        _write_entry(sheet, row, entry, entry.measured(sheet.scope))
        row += 1
    if not book.for_readers:
        sheet.text(row, 1, f"{STEPS}: {HIDDEN}", book.formats.subtitle)
    return row + 2


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


def _dress_sheets(book: Book, written: Iterable[SheetPlan]) -> None:
    """Give the tabs the colours of their kinds, and keep workings out of the print."""
    for entry in written:
        sheet = book.sheet(entry.name)
        sheet.worksheet.set_tab_color(entry.kind.value[1])
        if not entry.printed:
            sheet.print_nothing()
        if book.for_readers and not entry.seen_by_readers:
            sheet.worksheet.hide()
