"""The results workbook: every sheet placed first, then written with live formulas and the engine's values."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from xlsengine.bench.bench_test import input_hash
from xlsengine.study.assessment import Assessment
from xlsengine.workbook.book import Book, strict
from xlsengine.workbook.carried import write_attachments
from xlsengine.workbook.change_report import ChangeReport
from xlsengine.workbook.input_copy import NAME as COPY_SHEET
from xlsengine.workbook.input_copy import write_copy
from xlsengine.workbook.input_sheets import place_inputs, write_input_sheet
from xlsengine.workbook.layout import HASH_PROPERTY, SCHEMA_PROPERTY, SCHEMA_VERSION, SHEETS, Layout
from xlsengine.workbook.output import whole_file
from xlsengine.workbook.sheets import (
    changes_sheet,
    charts_sheet,
    checks_sheet,
    craft_sheet,
    esc_sheet,
    method_sheet,
    motor_sheet,
    prediction_sheet,
    propellers_sheet,
    repeatability_sheet,
    report_sheet,
    speed_sheet,
    summary_sheet,
    uncertainty_sheet,
)
from xlsengine.workbook.sheets.contents import dress_sheets, entries, write_contents
from xlsengine.workbook.stale import write_stale
from xlsengine.workbook.start_sheet import write_start_sheet

Progress = Callable[[str], None]


def results_layout(assessment: Assessment) -> Layout:
    """Place every block and named cell of the results workbook."""
    layout, scope = Layout(), assessment.scope
    tables = [part for parts in SHEETS.values() for part in parts]
    rows = {table.name: scope.rows(table.name) for table in tables if table.name in scope.test.tables}
    place_inputs(layout, rows, derived=True, extras=scope.test.extras)
    summary_sheet.place_summary(layout, scope)
    esc_sheet.place_esc(layout, scope)
    craft_sheet.place_craft(layout, scope)
    prediction_sheet.place_prediction(layout, scope)
    motor_sheet.place_motor(layout, scope)
    speed_sheet.place_speed(layout, scope)
    propellers_sheet.place_propellers(layout, scope)
    uncertainty_sheet.place_uncertainty(layout, scope)
    repeatability_sheet.place_repeatability(layout, scope)
    checks_sheet.place_checks(layout, scope, assessment.flags)
    report_sheet.place_report(layout, scope)
    return layout


def write_results(
    assessment: Assessment, path: str | Path, overwrite: bool = False, progress: Progress = lambda sheet: None,
    changed: ChangeReport | None = None, told: Sequence[str] = (),
) -> Path:  # fmt: skip
    """Write the results workbook; returns its path. `progress` is told each sheet's name before it is written.

    `changed` is what was changed in the results workbook that came back; where anything was, it makes the sheet Changes.
    `told` is what was understood or left out on reading; it stands at the foot of the sheet Checks.
    Raises `OutputRefused` when the file exists and `overwrite` is false, or cannot be written.
    """
    target, layout = Path(path), results_layout(assessment)
    changed = None if changed is None or changed.is_empty else changed
    with whole_file(target, overwrite) as unfinished, strict():
        book = Book(unfinished, layout, assessment.scope)
        listed = entries(returned=changed is not None)
        for name in (*(entry.name for entry in listed), COPY_SHEET):
            book.sheet(name)
        _write_sheets(book, assessment, progress)
        checks_sheet.write_told(book, told)
        if changed is not None:
            changes_sheet.write_changes(book, changed)
        write_start_sheet(book, write_contents(book, listed))
        dress_sheets(book, listed)
        book.define_names()
        custom = {SCHEMA_PROPERTY: SCHEMA_VERSION, HASH_PROPERTY: input_hash(assessment.test)}
        book.properties("Bench test, results", custom)
        progress("saving")
        book.close()
    return target


def _write_sheets(book: Book, assessment: Assessment, progress: Progress) -> None:
    test = assessment.scope.test
    for name in SHEETS:
        progress(name)
        write_input_sheet(book, name, test)
    progress("results")
    summary_sheet.write_summary(book)
    esc_sheet.write_esc(book)
    craft_sheet.write_craft(book)
    prediction_sheet.write_prediction(book)
    motor_sheet.write_motor(book)
    speed_sheet.write_speed(book)
    propellers_sheet.write_propellers(book)
    uncertainty_sheet.write_uncertainty(book)
    repeatability_sheet.write_repeatability(book)
    charts_sheet.write_charts(book)
    checks_sheet.write_checks(book, assessment.flags)
    method_sheet.write_method(book, input_hash(assessment.test))
    report_sheet.write_report(book)
    write_stale(book)
    write_attachments(book, test.extras)
    write_copy(book, test)
