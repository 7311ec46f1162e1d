"""What whoever gets a results workbook does with it: reads numbers below each other, copies tables, looks at lines."""

import re
from typing import Any

import openpyxl
import pytest

from tests.judged.worked_benches import SESSION, assessed
from tests.workbook.engine_values import ResultsOf
from xlsengine.workbook.chart_data import throttle_sweeps
from xlsengine.workbook.results import write_results

pytestmark = pytest.mark.filterwarnings("ignore:.*xtension is not supported")
SHOWN = ("Report", "Craft", "ESC", "Charts", "Checks", "Summary", "Propellers")


@pytest.fixture(scope="module")
def thimble(results_of: ResultsOf) -> Any:
    return openpyxl.load_workbook(results_of("thimble-2207").path)


def test_numbers_that_were_typed_stand_below_each_other(thimble: Any) -> None:
    """24 A beside 23.2 A is 24.0 A, and 16.1 V beside 16.34 V is 16.10 V."""
    sheet = thimble["Readings"]
    shown = {str(head.value): sheet.cell(6, head.column).number_format for head in sheet[5]}
    assert (shown["Current (A)"], shown["Voltage (V)"]) == ("0.0_)", "0.00_)")
    assert (shown["Thrust (g)"], shown["Cells"]) == ("#,##0_)", "#,##0_)")


@pytest.mark.parametrize("sheet", SHOWN)
def test_a_table_that_is_pasted_elsewhere_reads_the_same_cells(thimble: Any, sheet: str) -> None:
    """A row without its mark moves with the place that the formula is pasted to."""
    formulas = [cell.value for row in thimble[sheet].iter_rows() for cell in row if cell.data_type == "f"]
    texts = [formula if isinstance(formula, str) else formula.text for formula in formulas]
    assert [text for text in texts if re.search(r"!\$?[A-Z]{1,3}\d", text)] == []
    assert any("!$" in text for text in texts)


def test_start_says_what_to_do_without_the_program(thimble: Any) -> None:
    said = " ".join(str(cell.value) for row in thimble["Start"].iter_rows() for cell in row if cell.value)
    assert "cream cells" in said
    assert "paste its values only (Paste Special)" in said
    assert "marked “needed”" not in said


def test_peaks_alone_draw_no_dots_without_names(tmp_path: Any) -> None:
    peaks = [row | {"prop": prop} for row in SESSION if row["kind"] == "peak" for prop in ("6x4", "6x4.5")]
    book = openpyxl.load_workbook(write_results(assessed(peaks), tmp_path / "r.xlsx"))
    texts = {str(cell.value) for row in book["Charts"].iter_rows() for cell in row}
    assert '="Propeller"' in texts  # of the bars
    assert '="Power (W)"' not in texts


def test_a_doubtful_reading_bends_no_line(results_of: ResultsOf) -> None:
    """Marmalade's runs 20 and 21 exchanged their currents: 45 % and 60 % of one propeller, drawn in none of its lines."""
    written = results_of("marmalade-2826")
    scope = written.assessment.scope
    doubted = {flag.row for flag in written.assessment.flags if "exchanged" in flag.title}
    (sweep,) = [each for each in throttle_sweeps(scope) if each.prop == "9x4.5x2 h" and each.cells == 3]
    assert doubted == {20, 21}
    assert sweep.sound
    thrusts = [float(scope.column("Readings", "thrust")[row - 1]) for row in doubted]
    chart = openpyxl.load_workbook(written.path, data_only=True)["Charts"]
    line = [head.column for head in chart[5] if head.value == "9x4.5x2 H on 3S"]
    drawn = {row[column - 1].value for row in chart.iter_rows(6) for column in line}
    assert 987.0 in drawn  # at 90 % of throttle
    assert not drawn & set(thrusts)
