"""The workbook of a box of motors: empty to be filled, or with what its serials say; that one is an input again."""

from pathlib import Path

from xlsengine.bench.boxes.batch import BATCH, OUTCOMES, SERIALS, headline
from xlsengine.bench.inputs.bench_test import BenchTest, columns_of
from xlsengine.study.batch import new_fields
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, new_book
from xlsengine.workbook.formats import VERMILION
from xlsengine.workbook.input_sheets import make_table, place_parts, write_form_sheet, write_input_table
from xlsengine.workbook.layout import TITLE_ROWS, Layout
from xlsengine.workbook.page_widths import last_printed
from xlsengine.workbook.sheets import batch_sheet

LABEL, SERIALS_SHEET = "Label", "Serials"
_BLANK_ROWS = 50
_HOW_TO = "Fill in the cream cells of Label and Serials, save, then run: xlsengine batch FILE"
_CAUTION = (
    "Take the propeller off for every spin. Leads of a driven motor are live. Clamp the motor; keep fingers, hair and cords "
    "off the shaft. Measure resistance at rest, with the ESC disconnected, and all motors alike."
)
_SERIAL_WIDTHS = (18, 12, 11, 12, 12, 10, 30)


def write_batch_template(path: str | Path, overwrite: bool = False) -> Path:
    """Write the empty workbook of serials; returns its path. Raises `OutputRefused` as `write_input_workbook`."""
    blank = columns_of(SERIALS, ())
    layout = Layout()
    _place_inputs(layout, _BLANK_ROWS, derived=False)
    with new_book(path, overwrite, layout, "Box of motors, input") as book:
        _write_inputs(book, BenchTest(new_fields(), {SERIALS.name: blank}))
    return Path(path)


def write_batch(path: str | Path, scope: Scope, overwrite: bool = False) -> Path:
    """Write a box with all that follows from it, live; returns the path. Raises `OutputRefused` likewise."""
    layout = Layout()
    _place_inputs(layout, scope.rows(SERIALS.name), derived=True)
    with new_book(path, overwrite, layout, "Box of motors, results", scope) as book:
        for name in (batch_sheet.NAME, LABEL, SERIALS_SHEET, batch_sheet.RUN_SHEET, batch_sheet.METHOD):
            book.sheet(name)
        _write_inputs(book, scope.test)
        batch_sheet.write_batch_sheet(book)
        batch_sheet.write_run_sheet(book)
        batch_sheet.write_batch_method(book)
        book.put_live_cells()
        book.sheet(batch_sheet.NAME).worksheet.activate()
    return Path(path)


def lines_of(scope: Scope) -> list[str]:
    """Return what a box comes to in a few lines: one a characteristic that was measured."""
    lines = [str(scope.named(headline.name))]
    for outcome in OUTCOMES:
        if scope.named(outcome.figures["count"].name) > 0:
            stands, why = (scope.named(outcome.figures[name].name) for name in ("verdict", "why"))
            lines.append(f"  {outcome.label}: {stands}. {why}")
    return lines


def _place_inputs(layout: Layout, rows: int, derived: bool) -> None:
    place_parts(layout, LABEL, [BATCH])
    place_parts(layout, SERIALS_SHEET, [SERIALS], {SERIALS.name: rows}, derived)


def _write_inputs(book: Book, box: BenchTest) -> None:
    sheet = write_form_sheet(book, LABEL, BATCH, box, "Label", BATCH.meaning)
    sheet.text(2, 0, _HOW_TO, book.formats.get(bold=True))
    sheet.print_setup()
    _write_serials(book, box)


def _write_serials(book: Book, box: BenchTest) -> None:
    sheet, block = book.sheet(SERIALS_SHEET), book.layout.blocks[SERIALS.name]
    sheet.heading("Serials", SERIALS.meaning)
    form = book.formats.get(bold=True, font_color=VERMILION, text_wrap=True, valign="vcenter")
    sheet.across(2, 0, len(SERIALS.fields) - 1, _CAUTION, form, height=34)
    write_input_table(sheet, SERIALS, box)
    make_table(sheet, SERIALS)
    sheet.height(block.top, 32)
    for column, name in enumerate(block.columns):
        is_typed = name in SERIALS.fields
        sheet.width(column, _SERIAL_WIDTHS[column] if is_typed else 9, not is_typed)
    sheet.worksheet.freeze_panes(TITLE_ROWS + 1, 1)
    sheet.print_setup(repeat=(TITLE_ROWS, TITLE_ROWS))
    used = block.rows if book.scope is None else book.scope.used_rows(SERIALS.name)
    sheet.worksheet.print_area(0, 0, last_printed(block, used), len(SERIALS.fields) - 1)
