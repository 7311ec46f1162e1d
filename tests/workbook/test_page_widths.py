"""How many pages wide tables are printed."""

import math
from functools import cache
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.worksheet.cell_range import CellRange

from tests.instruments.parts import MAIN, read_sheets
from tests.instruments.recalculate import IronSheet
from tests.workbook.engine_values import ResultsOf
from tests.workbook.made_tests import on_purpose
from xlsengine.study.assessment import assess
from xlsengine.workbook.page_widths import LEAST_SCALE, PAGE_PIXELS, SPARE_PRINTED, page_breaks, pages_wide, pixels
from xlsengine.workbook.results import write_results

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
    (setup,) = (
        read_sheets(results_of("colander-2306").path, [sheet]).sheets[sheet.lower()].root.iter(f"{MAIN}pageSetup")
    )
    assert (setup.get("paperSize"), setup.get("orientation")) == ("9", "landscape")
    assert setup.get("fitToWidth", "1") == pages


@cache
def opened(path: Path) -> Any:
    """Open a workbook that nobody changes, once."""
    return openpyxl.load_workbook(path)


def _sheet(results_of: ResultsOf, name: str) -> Any:
    return opened(results_of("colander-2306").path)[name]


@pytest.mark.parametrize("sheet", ["Readings"])
def test_three_spare_rows_are_printed_and_no_more(results_of: ResultsOf, sheet: str) -> None:
    found = _sheet(results_of, sheet)
    (table,) = found.tables.values()
    header, last = CellRange(table.ref).min_row, CellRange(found.print_area.partition("!")[2].replace("$", "")).max_row
    used = results_of("colander-2306").assessment.test.rows("Readings")
    assert header + used <= last <= header + used + SPARE_PRINTED


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
        assert (sheet.row_dimensions[row].height or 15) >= min(12 * len(text or "") / 24, 12 * 20)


def test_a_row_is_as_high_as_its_note(tmp_path: Path) -> None:
    """A note of two words is wider than its column of nine letters."""
    note = "stand shook twice, and the mount was loose in the wind"
    path = write_results(assess(on_purpose({"note": "stand shook"}, {"note": note})), tmp_path / "out.xlsx")
    sheet: Any = openpyxl.load_workbook(path)["Readings"]
    headers = {cell.value: cell.column for cell in sheet[5]}
    assert sheet.cell(6, headers["Note"]).alignment.wrap_text
    assert sheet.row_dimensions[6].height >= 2 * 12.5
    assert sheet.row_dimensions[7].height >= 12.5 * len(note) / 9.2


# --- on paper ------------------------------------------------------------------------------------------------------

PAGE = (11.69, 8.27)
"""Inches of A4 on its side (ISO 216)."""
WIDER = 1.06
"""LibreOffice measures a digit of Arial at 10 points by printed type, 7.41 pixels; a column's width counts 7."""


def _pixels(sheet: Any) -> dict[int, float]:
    """Return how wide columns are on a screen, by their number; hidden ones are 0."""
    wide: dict[int, float] = {}
    for each in sheet.column_dimensions.values():
        wide |= dict.fromkeys(range(each.min, each.max + 1), 0.0 if each.hidden else int(each.width * 7))
    return wide


def _area(sheet: Any) -> CellRange:
    return CellRange(sheet.print_area.partition("!")[2].replace("$", ""))


def _scale(sheet: Any) -> float:
    """Return at which scale A4 prints a sheet that has one, or is fitted to a page's width."""
    if not (sheet.sheet_properties.pageSetUpPr and sheet.sheet_properties.pageSetUpPr.fitToPage):
        return float(sheet.page_setup.scale) / 100
    wide, area, margins = _pixels(sheet), _area(sheet), sheet.page_margins
    width = WIDER * sum(wide.get(column, 64.0) for column in range(area.min_col, area.max_col + 1))
    return float(min(1.0, 96 * (PAGE[0] - margins.left - margins.right) / width))


@pytest.mark.parametrize("demo", ["colander-2306", "thimble-2207"])
@pytest.mark.parametrize("sheet", ["Report", "Craft", "ESC", "Charts", "Checks", "Readings"])
def test_type_is_printed_at_eight_points(results_of: ResultsOf, sheet: str, demo: str) -> None:
    found = opened(results_of(demo).path)[sheet]
    area = _area(found)
    rows = found.iter_rows(area.min_row, area.max_row, area.min_col, area.max_col)
    smallest = min(cell.font.sz for row in rows for cell in row if cell.value not in (None, ""))
    assert smallest * _scale(found) >= 7.95


def _points(sheet: Any, cell: Any) -> float:
    """Return how high a cell is, over all rows that it is merged of."""
    rows = next((range(a.min_row, a.max_row + 1) for a in sheet.merged_cells if cell.coordinate in a), (cell.row,))
    return sum(sheet.row_dimensions[row].height or 15 for row in rows)


@pytest.mark.parametrize("demo", ["marmalade-2826", "colander-2306", "thimble-2207"])
@pytest.mark.parametrize("sheet", ["Report", "Craft", "ESC", "Charts", "Checks", "Readings"])
def test_what_only_an_edit_brings_has_its_line(results_of: ResultsOf, sheet: str, demo: str) -> None:
    """Out of date, doubtful, left out: nobody sees it in a row that was made low because nothing stood there."""
    found = opened(results_of(demo).path)[sheet]
    area = _area(found)
    live = [
        cell
        for row in found.iter_rows(area.min_row, area.max_row, area.min_col, area.max_col)
        for cell in row
        if cell.data_type == "f"
    ]
    assert not [cell.coordinate for cell in live if _points(found, cell) < 1.2 * cell.font.sz]
    assert len(live) > 5 or sheet == "Charts"


def test_a_flag_that_an_edit_brings_is_read_whole(results_of: ResultsOf) -> None:
    """A letter of bold Arial at 10 points is 6 pixels wide on average: so many lines in LibreOffice's print."""
    written = results_of("marmalade-2826")
    typed = written.layout.blocks["Readings"]
    planted = [("Readings", typed.local(name, row).replace("$", ""), value) for row, name, value in _LATER]
    changed = IronSheet(written.path).edit(planted)
    sheet = opened(written.path)["Checks"]
    wide, words = _pixels(sheet), 0
    for (name, place), text in changed.items():
        cell = sheet[place]
        if name != "Checks" or not cell.alignment.wrap_text or not 7 <= cell.column <= 10 or not text:
            continue
        words += 1
        lines = math.ceil(len(str(text)) * 6 / wide[cell.column])
        assert 12.5 * lines <= (sheet.row_dimensions[cell.row].height or 15), text
    assert words >= 4  # the first of them; there is one row to come


_LATER = ((0, "voltage", 24.1), (1, "thrust", 100.0))
"""Typed over readings of a clean workbook: row, column, content."""


@pytest.mark.parametrize("demo", ["colander-2306", "thimble-2207"])
def test_craft_is_one_page(results_of: ResultsOf, demo: str) -> None:
    sheet = opened(results_of(demo).path)["Craft"]
    assert not sheet.row_breaks.brk
    height = sum(sheet.row_dimensions[row].height or 15 for row in range(1, _area(sheet).max_row + 1))
    margins = sheet.page_margins
    assert height * _scale(sheet) <= 72 * (PAGE[1] - margins.top - margins.bottom)


@pytest.mark.parametrize("sheet", ["ESC", "Craft", "Charts"])
def test_what_has_a_scale_fits_a_page_of_letter_too(results_of: ResultsOf, sheet: str) -> None:
    """Letter is 11 inches wide on its side (ANSI Y14.1)."""
    found = _sheet(results_of, sheet)
    wide, area, margins = _pixels(found), _area(found), found.page_margins
    width = WIDER * sum(wide.get(column, 64.0) for column in range(area.min_col, area.max_col + 1)) / 96
    assert width * _scale(found) <= 11 - margins.left - margins.right


def test_no_filter_button_takes_room_from_a_header(results_of: ResultsOf) -> None:
    """LibreOffice 7.4 breaks a header before its button: "Volta / ge (V)", and cuts what has four lines (observed)."""
    book = opened(results_of("colander-2306").path)
    tables = [table for sheet in book for table in sheet.tables.values()]
    assert len(tables) > 10
    assert not [table.name for table in tables if table.autoFilter]


def test_words_that_head_readings_are_not_broken(results_of: ResultsOf) -> None:
    """A letter of bold Arial at 10 points takes 7 pixels at most in these words."""
    sheet = _sheet(results_of, "Readings")
    (table,) = sheet.tables.values()
    wide, shown = _pixels(sheet), 0
    for cell in sheet[CellRange(table.ref).min_row][: _area(sheet).max_col]:
        if wide.get(cell.column, 64.0) and cell.value:
            room = wide.get(cell.column, 64.0)
            assert 7 * max(map(len, cell.value.split())) <= room + 1, cell.value
            shown += 1
    assert shown >= 18


def test_report_is_seen_whole_across_a_screen(results_of: ResultsOf) -> None:
    """1,840 pixels of 1,920: LibreOffice's side bar takes 40 beside row numbers and the scroll bar."""
    sheet = _sheet(results_of, "Report")
    wide, zoom = _pixels(sheet), sheet.sheet_view.zoomScale / 100
    shown = sum(wide.get(column, 64.0) for column in range(1, _area(sheet).max_col + 1))
    assert 1500 < WIDER * zoom * shown <= 1840


def test_what_stands_between_sheets_to_read_is_not_printed(results_of: ResultsOf) -> None:
    book = opened(results_of("colander-2306").path)
    printed = {sheet.title for sheet in book if sheet.sheet_state == "visible" and _area(sheet).size["rows"] > 1}
    assert printed == {"Report", "Craft", "ESC", "Charts", "Checks", "Readings"}


@pytest.mark.parametrize(
    ("blocks", "breaks"),
    [
        ([(0, 500.0)], []),
        ([(0, 300.0), (9, 200.0)], []),
        ([(0, 300.0), (9, 201.0)], [9]),
        ([(0, 300.0), (9, 1200.0), (30, 300.0), (40, 1.0)], [9, 40]),
        ([(0, 300.0), (9, 1200.0), (30, 301.0)], [9, 30]),
    ],
)
def test_a_block_is_not_split_that_a_page_of_500_points_holds(
    blocks: list[tuple[int, float]], breaks: list[int]
) -> None:
    assert page_breaks(blocks, 500.0) == breaks
