"""Rows, columns, sheets and tables that stand otherwise than the template has them: read, or told."""

from pathlib import Path
from typing import Any

import numpy as np
from openpyxl.cell.cell import MergedCell
from openpyxl.worksheet.cell_range import CellRange

from tests.workbook.reader_workbooks import DEMO, assert_same, edited, reading_cells
from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.bench.inputs.settings import ESC_SIZES
from xlsengine.errors import Reason
from xlsengine.workbook.reading.reader import Reading, read_workbook

ROWS = DEMO.rows("Readings")
LAST = 105  # last row of the table Readings
READING = dict(zip("BCDEFHIJK", ("5x4.3x3", 5, 4.3, 3, 3, "steady", 11.1, 20.5, 700), strict=True))


def _row(number: int, **cells: Any) -> dict[str, Any]:
    return {f"{column}{number}": value for column, value in {**READING, **cells}.items()}


def test_rows_directly_below_the_table_are_read_and_told(tmp_path: Path) -> None:
    reading = read_workbook(edited(tmp_path, reading_cells(**_row(LAST + 1), **_row(LAST + 2, K=710))))
    assert reading.faults == ()
    assert list(reading.test.tables["Readings"]["thrust"][-2:]) == [700, 710]
    assert f"Readings!A{LAST + 1}:P{LAST + 2}: 2 rows below the table Readings, read as part of it" in reading.told


def test_a_row_of_formulas_below_the_table_is_no_reading(tmp_path: Path) -> None:
    path = edited(tmp_path, reading_cells(**_row(LAST + 1, B="mean", C=1, K=f"=AVERAGE(K6:K{LAST})")))
    (fault,) = read_workbook(path).faults
    assert fault.reason is Reason.STRAY_CELLS


def test_hidden_and_filtered_rows_and_hidden_columns_are_read_and_told(tmp_path: Path) -> None:
    def hide(workbook: Any) -> None:
        sheet = workbook["Readings"]
        sheet.row_dimensions[7].hidden = sheet.row_dimensions[9].hidden = True
        sheet.row_dimensions[90].hidden = True
        sheet.column_dimensions["J"].hidden = True

    reading = read_workbook(edited(tmp_path, hide))
    assert_same(reading.test, DEMO)
    assert reading.told == (
        "2 rows are hidden or filtered away (the first: Readings!A7); read as the others",
        "Readings!J5: the column is hidden; it was read as the others",
    )


def test_merged_cells_hold_for_each_of_their_rows(tmp_path: Path) -> None:
    prop = DEMO.tables["Readings"]["prop"]
    assert prop[0] == prop[1]

    def merge(workbook: Any) -> None:
        workbook["Readings"].merge_cells("B6:B7")

    reading = read_workbook(edited(tmp_path, merge))
    assert reading.faults == ()
    assert_same(reading.test, DEMO)
    assert reading.told == ("Readings!B6: 1 cell is merged with others; the value was read in each of their rows",)


def test_headers_and_units_repeated_between_rows_are_told(tmp_path: Path) -> None:
    headers = dict(zip("BIJK", ("Prop", "Voltage (V)", "Current (A)", "Thrust (g)"), strict=True))
    units = dict(zip("IJK", ("V", "Amps", "[g]"), strict=True))
    row = ROWS + 6
    cells = {f"{column}{row}": text for column, text in headers.items()}
    cells |= {f"{column}{row + 1}": text for column, text in units.items()}
    reading = read_workbook(edited(tmp_path, reading_cells(**cells)))
    assert reading.faults == ()
    assert_same(reading.test, DEMO)
    assert reading.told == (
        f"Readings!A{row}: row {row} repeats headers or units; it was not taken for readings",
        f"Readings!A{row + 1}: row {row + 1} repeats headers or units; it was not taken for readings",
    )


def _without(sheet: str, table: str, *labels: str) -> Any:
    def remove(workbook: Any) -> None:
        for row in workbook[sheet][workbook[sheet].tables[table].ref]:
            if row[0].value in labels:
                for cell in row:
                    cell.value = None

    return remove


def test_a_setting_or_optional_field_that_is_not_there_is_told_and_taken_from_its_default(tmp_path: Path) -> None:
    label = FIELDS["esc_burst_ratio"].label + " *"
    reading = read_workbook(edited(tmp_path, _without("Settings", "SettingsForm", label)))
    assert reading.faults == ()
    assert reading.told == (f'Settings: "{FIELDS["esc_burst_ratio"].label}" is not in this workbook; 1.15 is used',)
    assert reading.test.fields["esc_burst_ratio"] == FIELDS["esc_burst_ratio"].default
    reading = read_workbook(edited(tmp_path, _without("Bench", "BenchForm", "Air temperature")))
    assert reading.told == ('Bench: "Air temperature" is not in this workbook; it stays blank',)


def test_a_field_that_is_not_there_is_told_with_what_that_costs(tmp_path: Path) -> None:
    reading = read_workbook(edited(tmp_path, _without("Motor", "MotorForm", "Model")))
    assert reading.faults == ()
    assert reading.told == (
        'Motor: "Model" is not in this workbook; it stays blank',
        "Motor, Model: blank; without it the report names no motor",
    )


def _without_table(sheet: str, table: str) -> Any:
    def remove(workbook: Any) -> None:
        area = CellRange(workbook[sheet].tables[table].ref)
        area.expand(up=2)
        for row in workbook[sheet][area.coord]:
            for cell in row:
                if not isinstance(cell, MergedCell):
                    cell.value = None
        del workbook[sheet].tables[table]

    return remove


def test_an_optional_table_that_is_not_there_is_told(tmp_path: Path) -> None:
    reading = read_workbook(edited(tmp_path, _without_table("Settings", "EscSizes")))
    assert reading.faults == ()
    assert reading.told == (
        "Settings: the table EscSizes is not in this workbook; what a new workbook holds there is used",
    )
    sizes = [row["esc_size"] for row in ESC_SIZES.rows]
    np.testing.assert_array_equal(reading.test.tables["EscSizes"]["esc_size"], sizes)
    reading = read_workbook(edited(tmp_path, _without_table("Bench", "CheckWeights")))
    assert reading.told == ("Bench: the table CheckWeights is not in this workbook; it is read as blank",)


def test_a_sheet_that_holds_no_cells_is_told(tmp_path: Path) -> None:
    reading = read_workbook(edited(tmp_path, lambda workbook: workbook.create_chartsheet("Drawing")))
    assert reading.told == ('the sheet "Drawing" holds no cells (chartsheet) and was not read',)
    assert_same(reading.test, DEMO)


def test_a_column_that_is_not_needed_may_be_missing(tmp_path: Path) -> None:
    reading: Reading = read_workbook(edited(tmp_path, reading_cells(M5=None)))
    assert reading.faults == ()
    assert reading.told[0] == 'Readings!A5: the table Readings has no column "Torque (N·m)"; read as blank'
