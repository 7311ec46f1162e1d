"""The input workbook: empty as a template, or filled with what a bench test holds."""

from pathlib import Path

from xlsengine.bench.inputs.bench_test import BenchTest, bench_test
from xlsengine.workbook.book import new_book
from xlsengine.workbook.carried import write_attachments
from xlsengine.workbook.input_sheets import finish_tables, place_inputs, template_rows, write_input_sheet
from xlsengine.workbook.layout import SCHEMA_PROPERTY, SCHEMA_VERSION, SHEETS, Layout
from xlsengine.workbook.start_sheet import write_paper_sheet, write_start_sheet


def write_input_workbook(test: BenchTest, path: str | Path, overwrite: bool = False) -> Path:
    """Write an input workbook filled with `test`; returns its path.

    Raises `OutputRefused` when the file exists and `overwrite` is false, or cannot be written.
    """
    layout, version = Layout(), {SCHEMA_PROPERTY: SCHEMA_VERSION}
    place_inputs(layout, template_rows(test), derived=False, extras=test.extras)
    with new_book(path, overwrite, layout, "Bench test, input", custom=version) as book:
        write_start_sheet(book)
        for name in SHEETS:
            write_input_sheet(book, name, test)
        write_paper_sheet(book)
        finish_tables(book)
        write_attachments(book, test.extras)
    return Path(path)


def write_template(path: str | Path, overwrite: bool = False) -> Path:
    """Write the empty input workbook; returns its path. Raises as `write_input_workbook`."""
    return write_input_workbook(bench_test(), path, overwrite)
