"""How many pages wide tables are printed."""

from __future__ import annotations

from typing import Any

import openpyxl
import pytest
from openpyxl.worksheet.cell_range import CellRange

from tests.instruments.parts import read_book
from tests.workbook.engine_values import ResultsOf
from xlsengine.workbook.page_widths import LEAST_SCALE, PAGE_PIXELS, SPARE_PRINTED, pages_wide, pixels

pytestmark = pytest.mark.filterwarnings("ignore:.*extension is not supported")  # openpyxl, of our conditional formats
LETTERS = (PAGE_PIXELS / LEAST_SCALE - 5) / 7
"""Letters of one column that fills a page."""


@pytest.mark.parametrize(
    ("widths", "repeated", "pages"),
    [
        ([], 0, 1),
        ([LETTERS], 0, 1),
        ([LETTERS * 3], 0, 1),
        ([LETTERS, 5], 0, 2),
        ([LETTERS / 2, LETTERS / 2 - 1], 0, 1),
        ([LETTERS / 2, LETTERS / 3, LETTERS / 3], 1, 2),
        ([LETTERS, 0, 0], 0, 1),
        ([10, *[8.5] * 100], 1, 6),
    ],
)
def test_pages(widths: list[float], repeated: int, pages: int) -> None:
    assert pages_wide(widths, repeated) == pages


def test_a_hidden_column_takes_no_room() -> None:
    assert (pixels(0), pixels(10)) == (0, 75)


@pytest.mark.parametrize(("sheet", "pages"), [("Readings", "1"), ("Summary", "2"), ("Checks", "1")])
def test_wide_sheets_are_printed_on_a4(results_of: ResultsOf, sheet: str, pages: str) -> None:
    book, findings = read_book(results_of("colander-2306").path)
    assert book is not None, findings
    (setup,) = book.sheets[sheet.lower()].root.iter(
        "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}pageSetup"
    )
    assert (setup.get("paperSize"), setup.get("orientation")) == ("9", "landscape")
    assert setup.get("fitToWidth", "1") == pages


def _sheet(results_of: ResultsOf, name: str) -> Any:
    return openpyxl.load_workbook(results_of("colander-2306").path)[name]


@pytest.mark.parametrize("sheet", ["Readings"])
def test_three_spare_rows_are_printed_and_no_more(results_of: ResultsOf, sheet: str) -> None:
    found = _sheet(results_of, sheet)
    (table,) = found.tables.values()
    header, last = CellRange(table.ref).min_row, CellRange(found.print_area.partition("!")[2].replace("$", "")).max_row
    assert last == header + results_of("colander-2306").assessment.test.rows("Readings") + SPARE_PRINTED


def test_esc_keeps_the_lines_of_a_propeller_on_one_page(results_of: ResultsOf) -> None:
    sheet = _sheet(results_of, "ESC")
    heads = int(sheet.print_title_rows.split(":")[1].replace("$", ""))
    assert all((each.id - heads) % 2 == 0 for each in sheet.row_breaks.brk)
    assert not sheet.sheet_properties.pageSetUpPr.fitToPage
    assert sheet.page_setup.scale == 80  # type of 10 points comes out at 8


def test_names_and_flags_stay_within_their_rows(results_of: ResultsOf) -> None:
    sheet = _sheet(results_of, "Readings")
    headers = {cell.value: cell.column for cell in sheet[5]}
    named = sheet.cell(6, headers["Prop"]).alignment
    assert (named.shrink_to_fit, bool(named.wrap_text)) == (True, False)
    column = headers["Flag"]
    assert sheet.cell(6, column).alignment.wrap_text
    flags = results_of("colander-2306").assessment.scope.column("Readings", "flag_text")
    for row, text in enumerate(flags[: results_of("colander-2306").assessment.test.rows("Readings")], start=6):
        assert (sheet.row_dimensions[row].height or 15) >= min(12 * len(text or "") / 38, 12 * 20)
