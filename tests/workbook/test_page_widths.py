"""How many pages wide tables are printed."""

from __future__ import annotations

import pytest

from tests.instruments.parts import read_book
from tests.workbook.engine_values import ResultsOf
from xlsengine.workbook.page_widths import LEAST_SCALE, PAGE_PIXELS, pages_wide, pixels

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


@pytest.mark.parametrize(("sheet", "pages"), [("Readings", "3"), ("Summary", "2"), ("ESC", "2"), ("Checks", "1")])
def test_wide_sheets_are_printed_on_a4(results_of: ResultsOf, sheet: str, pages: str) -> None:
    book, findings = read_book(results_of("turnip-2306").path)
    assert book is not None, findings
    (setup,) = book.sheets[sheet.lower()].root.iter(
        "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}pageSetup"
    )
    assert (setup.get("paperSize"), setup.get("orientation")) == ("9", "landscape")
    assert setup.get("fitToWidth", "1") == pages
