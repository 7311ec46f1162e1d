"""Every kind of fault, each with the whole of its message, and all of them at once."""

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from openpyxl.worksheet.cell_range import CellRange

from tests.workbook.reader_workbooks import (
    DEMO,
    assert_same,
    demo_workbook,
    edited,
    reading_cells,
    replaced,
    with_cell,
    with_parts,
)
from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.errors import Reason
from xlsengine.workbook.reading.reader import read_workbook

AMPS = "wanted a number from 0 to 500 A"
TYPE_AGAIN = "format the cell as a number and type the reading again"


def faults_of(path: Path) -> list[str]:
    """Return the messages of all faults."""
    return [str(fault) for fault in read_workbook(path).faults]


# (cell of Readings, what is typed there, reason, the rest of the message after place and header)
CELLS: tuple[tuple[str, Any, Reason, str], ...] = (
    ("J6", "38..2", Reason.WRONG_TYPE, f'Current (A): found "38..2"; {AMPS}; type 38.2'),
    ("K6", "1,250", Reason.WRONG_TYPE,
     'Thrust (g): found "1,250"; wanted a number from 0 to 50,000 g; type 1.25 or 1250'),
    ("J6", "38-40", Reason.WRONG_TYPE,
     f'Current (A): found "38-40"; {AMPS}; a cell holds one number; type one, and the other as a row of its own or '
     "under Note"),
    ("J6", "n/a", Reason.REQUIRED_BLANK,
     f'Current (A): found "n/a", which says that nothing was measured; {AMPS}; type the value'),
    ("L6", "none", Reason.WRONG_TYPE,
     'Speed (rpm): found "none"; wanted a number from 0 to 150,000 rpm; leave the cell blank where nothing was measured '
     "and type 0 for a measured zero"),
    ("J6", "much", Reason.WRONG_TYPE, f'Current (A): found "much"; {AMPS}; type a plain number'),
    ("J6", True, Reason.WRONG_TYPE, f"Current (A): found TRUE; {AMPS}; type a plain number"),
    ("J6", datetime.datetime(2026, 5, 4), Reason.WRONG_TYPE,
     f"Current (A): found the date 2026-05-04; {AMPS}; a spreadsheet turned something like 5-4 or 4.5 into a date; "
     f"{TYPE_AGAIN}"),
    ("J6", datetime.datetime(1900, 2, 7), Reason.WRONG_TYPE,
     f"Current (A): found the date 1900-02-07; {AMPS}; the cell is formatted as a date, so that it shows a number as a "
     f"day long ago; {TYPE_AGAIN}"),
    ("J6", datetime.time(3, 15), Reason.WRONG_TYPE,
     f"Current (A): found the time 03:15:00; {AMPS}; a spreadsheet turned something like 3:15 into a time; "
     f"{TYPE_AGAIN}"),
    ("J6", 500.5, Reason.OUT_OF_LIMITS,
     f"Current (A): found 500.5; {AMPS}; type 0.5 if this is in milliamps, else check the reading, its unit and "
     "its decimal mark"),
    ("J6", -1, Reason.OUT_OF_LIMITS,
     f"Current (A): found -1; {AMPS}; where the instrument counts the other way, type it without the minus"),
    ("B6", None, Reason.REQUIRED_BLANK,
     "Prop: found a blank cell; wanted text such as 7x4; fill it in, or clear the whole row"),
    ("J6", None, Reason.REQUIRED_BLANK, f"Current (A): found a blank cell; {AMPS}; fill it in, or clear the whole row"),
    ("J6", "#N/A", Reason.ERROR_VALUE, f"Current (A): found #N/A; {AMPS}; fix the formula or type the value"),
    ("L6", "#DIV/0!", Reason.ERROR_VALUE,
     "Speed (rpm): found #DIV/0!; wanted a number from 0 to 150,000 rpm; fix the formula or type the value, or "
     "clear the "
     "cell"),
    ("J6", "=38+0.2", Reason.NO_STORED_VALUE,
     f"Current (A): found a formula that was never computed; {AMPS}; open the workbook in a spreadsheet "
     "program, save "
     "it and send it again"),
    ("F6", 3.5, Reason.WRONG_TYPE, "Cells: found 3.5; wanted a whole number from 1 to 14; type 3 or 4"),
    ("F6", 15, Reason.OUT_OF_LIMITS,
     "Cells: found 15; wanted a whole number from 1 to 14; check the reading, its unit and its decimal mark"),
    ("H6", "stedy", Reason.NOT_A_CHOICE, 'Kind: found "stedy"; wanted one of “peak”, “steady”; choose “steady”, or clear '
     "the cell"),
    ("H6", 1, Reason.NOT_A_CHOICE, "Kind: found 1; wanted one of “peak”, “steady”; choose from the list in the cell, "
     "or clear the cell"),
    ("C6", 46146, Reason.OUT_OF_LIMITS,
     "Diameter (in): found 46146; wanted a number from 0.5 to 40 in; 46146 is how a spreadsheet counts 2026-05-04; a "
     "spreadsheet turned something like 5-4 or 4.5 into a date; type the reading again, or clear the cell"),
    ("B6", "6x4.3x3", Reason.CONTRADICTION,
     'Prop: found "6x4.3x3", which says 6 by 4.3, 3 blades; wanted a name that agrees with diameter, pitch and blades '
     "of its row; fix the name or the figures"),
    ("B6", datetime.datetime(2026, 1, 2), Reason.WRONG_TYPE,
     "Prop: found the date 2026-01-02; wanted text such as 7x4; a spreadsheet turned something like 1-2 or 2.1 into a date; "
     "format the cell as text and type it again"),
    ("B6", "p" * 251, Reason.OUT_OF_LIMITS,
     f'Prop: found "{"p" * 80}…", 251 characters; wanted text of at most 225 characters; shorten it'),
)  # fmt: skip


@pytest.mark.parametrize(("cell", "typed", "reason", "message"), CELLS)
def test_a_faulty_cell(cell: str, typed: Any, reason: Reason, message: str, tmp_path: Path) -> None:
    reading = read_workbook(edited(tmp_path, reading_cells(**{cell: typed})))
    assert [(fault.reason, str(fault)) for fault in reading.faults] == [(reason, f"Readings!{cell} {message}")]


def test_a_number_shown_as_a_percentage(tmp_path: Path) -> None:
    def as_percentage(workbook: Any) -> None:
        for cell, value in (("G6", 0.55), ("J6", 0.38)):
            workbook["Readings"][cell].value = value
            workbook["Readings"][cell].number_format = "0%"

    assert faults_of(edited(tmp_path, as_percentage)) == [
        f"Readings!J6 Current (A): found 38%; {AMPS}; format the cell as a number and type 0.38"
    ]


# (value of the field Test date, the rest of the message)
DATES = (
    ("04.05.2026", 'found "04.05.2026"; wanted a date such as 2026-05-31; type 2026-05-04 or 2026-04-05, or clear the cell'),
    ("last May", 'found "last May"; wanted a date such as 2026-05-31; type the date as year-month-day, or clear the cell'),
    ("2026-02-30",
     'found "2026-02-30"; wanted a date such as 2026-05-31; type the date as year-month-day, or clear the cell'),
    (504, "found 504; wanted a date such as 2026-05-31; format the cell as a date and type the day again, or clear the "
     "cell"),
    (datetime.datetime(1926, 5, 4),
     "found the date 1926-05-04; wanted a date from 1990-01-01 to 2099-12-31; check the year, or clear the cell"),
)  # fmt: skip


@pytest.mark.parametrize(("typed", "message"), DATES)
def test_a_faulty_date(typed: Any, message: str, tmp_path: Path) -> None:
    def put(workbook: Any) -> None:
        workbook["Motor"]["B7"].value = typed
        workbook["Motor"]["B7"].number_format = "yyyy-mm-dd" if isinstance(typed, datetime.datetime) else "General"

    assert faults_of(edited(tmp_path, put)) == [f"Motor!B7 Test date: {message}"]


# (label of a field, a number in another unit, what to type)
OTHER_UNITS = (
    ("Station pressure", 29.5, "type 999 if this is in inches of mercury, else "),  # 29.5 · 33.86389 is 998.98
    ("Station pressure", 99.8, "type 998 if this is in kilopascals, else "),
    ("Mass as supplied", 0.056, "type 56 if this is in kilograms, else "),
    ("Air temperature", 77, "type 25 if this is in °F, else "),
    ("Altitude of the place", 7000, "type 2130 if this is in feet, else "),  # 2,133.6 m
    ("Station pressure", 12, ""),  # in none of them is it a pressure of air
)


@pytest.mark.parametrize(("label", "typed", "hint"), OTHER_UNITS)
def test_a_number_in_another_unit_names_it_and_what_to_type(
    label: str, typed: float, hint: str, tmp_path: Path
) -> None:
    def put(workbook: Any) -> None:
        for sheet in (workbook["Motor"], workbook["Bench"]):
            for (cell,) in sheet.iter_rows(min_col=1, max_col=1):
                if cell.value == label:
                    cell.offset(0, 1).value = typed

    (fault,) = faults_of(edited(tmp_path, put))
    assert fault.endswith(f"; {hint}check the reading, its unit and its decimal mark, or clear the cell")


def test_electrical_speed_is_named(tmp_path: Path) -> None:
    """155,280 beyond 150,000 rpm: with twelve magnets 25,880 rpm."""
    (fault,) = faults_of(edited(tmp_path, {"Readings": {"L6": 155_280}}))
    assert "type it divided by half the number of magnets if this is electrical speed (eRPM), else check" in fault


def test_magnets_come_in_pairs(tmp_path: Path) -> None:
    def put(workbook: Any) -> None:
        workbook["Motor"]["B17"].value = 13

    wanted = "found 13; wanted an even number from 2 to 60; type 12 or 14, or clear the cell"
    assert faults_of(edited(tmp_path, put)) == [f"Motor!B17 Magnet poles: {wanted}"]


def test_a_blank_setting_names_what_a_new_workbook_holds(tmp_path: Path) -> None:
    assert faults_of(edited(tmp_path, {"Settings": {"B7": None}})) == [
        "Settings!B7 In-flight current reduction, minimum: found a blank cell; wanted a number from 0 to 90 %; fill it "
        "in; 25 is "
        "what a new workbook holds"
    ]


# --- headers and fields


def test_headers_missing_misspelt_and_doubled(tmp_path: Path) -> None:
    path = edited(tmp_path, {"Readings": {"J5": "Curent (A)", "K5": "Measured", "D5": "Diameter (in)"}})
    reading = read_workbook(path)
    assert [str(fault) for fault in reading.faults] == [
        "Readings!C5 Diameter (in): found the header in Readings!C5 and Readings!D5; wanted it once in the "
        "table; delete "
        "one of the columns or give it another header",
        'Readings!J5 Current (A): found no such header, but "Curent (A)"; wanted a column headed "Current (A)" in the '
        'table Readings; type "Current (A)" into Readings!J5',
        'Readings!A5 Thrust (g): found no such header; wanted a column headed "Thrust (g)" in the table '
        "Readings; add a "
        'column headed "Thrust (g)" to the table Readings',
    ]
    assert [fault.reason for fault in reading.faults] == [
        Reason.DOUBLED_HEADER, Reason.MISSING_HEADER, Reason.MISSING_HEADER,
    ]  # fmt: skip
    assert 'Readings!A5: the table Readings has no column "Pitch (in)"; read as blank' in reading.told
    assert np.isnan(reading.test.tables["Readings"]["thrust"]).all()
    assert reading.test.rows("Readings") == DEMO.rows("Readings")


def test_a_form_without_its_headers(tmp_path: Path) -> None:
    assert faults_of(edited(tmp_path, {"Craft": {"A5": "Feld"}})) == [
        'Craft!A5 Field: found no such header, but "Feld"; wanted a column headed "Field" in the table CraftForm; type '
        '"Field" into Craft!A5'
    ]


def test_fields_missing_misspelt_and_doubled(tmp_path: Path) -> None:
    reading = read_workbook(
        edited(tmp_path, {"Motor": {"A8": "Testr", "A12": "Maker", "A9": "?!", "A16": "Labeled K v"}})
    )
    assert [str(fault) for fault in reading.faults] == [
        "Motor!A11 Maker: found the field in Motor!A11 and Motor!A12; wanted it once in the form; delete one "
        "of the rows",
        'Motor!A16 Labelled Kv: found no such field, but "Labeled K v"; wanted the field "Labelled Kv" in the table '
        'MotorForm; type "Labelled Kv" into Motor!A16',
    ]
    assert [fault.reason for fault in reading.faults] == [
        Reason.DOUBLED_FIELD, Reason.MISSING_FIELD,
    ]  # fmt: skip
    assert reading.told[:2] == (
        'Motor: "Tester" is not in this workbook; it stays blank',
        'Motor: "How the sample was obtained" is not in this workbook; it stays blank',
    )


def test_another_unit_beside_a_field(tmp_path: Path) -> None:
    assert faults_of(edited(tmp_path, {"Motor": {"C14": "V", "C6": "s"}})) == [
        'Motor!C6 Test id: found the unit "s"; wanted no unit; clear that cell, and give the value so',
        'Motor!C14 Diameter: found the unit "V"; wanted the unit "mm"; type "mm" there, and give the value so',
    ]


# --- sheets and tables


def _delete(*sheets: str) -> Callable[[Any], None]:
    def delete(workbook: Any) -> None:
        for sheet in sheets:
            del workbook[sheet]

    return delete


def test_missing_sheets(tmp_path: Path) -> None:
    reading = read_workbook(edited(tmp_path, _delete("Craft", "No load", "Motor", "Readings")))
    from_a_copy = (
        "bring it back from an earlier copy of the workbook, or copy the readings into a new one (xlsengine template)"
    )
    assert [str(fault) for fault in reading.faults] == [
        f'Readings: found no sheet "Readings"; wanted the sheet with the table Readings; {from_a_copy}'
    ]
    assert {fault.reason for fault in reading.faults} == {Reason.MISSING_SHEET}
    assert reading.test.rows("FreeSpins") == 0
    assert reading.test.fields["way_of_flying"] == FIELDS["way_of_flying"].default
    assert reading.told == (
        "Motor: the table MotorForm is not in this workbook; it is read as blank",
        "Motor: the table Inspection is not in this workbook; what a new workbook holds there is used",
        "No load: the table FreeSpins is not in this workbook; it is read as blank",
        "No load: the table DrivenSpins is not in this workbook; it is read as blank",
        "No load: the table WindingResistances is not in this workbook; what a new workbook holds there is used",
        "Craft: the table CraftForm is not in this workbook; it is read as blank",
    )


def test_missing_and_renamed_tables(tmp_path: Path) -> None:
    def change(workbook: Any) -> None:
        del workbook["Bench"].tables["CheckWeights"]
        readings = workbook["Readings"].tables.pop("Readings")
        readings.name = readings.displayName = "Table1"
        workbook["Readings"].add_table(readings)

    reading = read_workbook(edited(tmp_path, change))
    assert [str(fault) for fault in reading.faults] == [
        f"{sheet}: found no table {name}; wanted the table {name}; select its cells, make them a table and name it {name}, "
        "or copy the readings into a new one (xlsengine template)"
        for sheet, name in (("Readings", "Readings"), ("Bench", "CheckWeights"))
    ]
    assert {fault.reason for fault in reading.faults} == {Reason.MISSING_TABLE}


def test_an_emptied_table_of_readings(tmp_path: Path) -> None:
    def empty(workbook: Any) -> None:
        for row in workbook["Readings"]["A6:P105"]:
            for cell in row:
                cell.value = None

    assert faults_of(edited(tmp_path, empty)) == [
        "Readings!A6: found no row filled in; wanted at least one reading in the table Readings; type the "
        "readings, one "
        "row each"
    ]


def test_another_template_version(tmp_path: Path) -> None:
    path = demo_workbook(tmp_path)
    with_parts(path, replaced("docProps/custom.xml", "<vt:lpwstr>3<", "<vt:lpwstr>99<"))
    (fault,) = read_workbook(path).faults
    assert fault.reason == Reason.OTHER_VERSION
    assert str(fault) == (
        'Start template version: found "99"; wanted "3"; copy the readings into a new workbook (xlsengine '
        "template), or "
        "use the program that wrote this one"
    )


def test_a_workbook_without_a_version_is_taken(tmp_path: Path) -> None:
    path = demo_workbook(tmp_path)
    with_parts(path, replaced("docProps/custom.xml", 'name="xlsengine schema version"', 'name="other"'))
    assert read_workbook(path).faults == ()


# --- rows typed below a table


def test_rows_further_below_the_readings(tmp_path: Path) -> None:
    path = edited(tmp_path, reading_cells(A108=40, B108="5x4", I108=11.0, A109=41, I109=9, A112=42, J112=20.5))
    (fault,) = read_workbook(path).faults
    assert fault.reason == Reason.STRAY_CELLS
    assert str(fault) == (
        "Readings!A108:P112: found 3 rows below the table Readings, which ends at row 105; wanted every row inside the "
        "table; drag the table's lower right corner down over them, or move them up into its blank rows"
    )


def test_a_remark_further_below_is_no_stray_row(tmp_path: Path) -> None:
    reading = read_workbook(edited(tmp_path, reading_cells(A108="windy afternoon", A110=4)))
    assert reading.faults == ()
    assert_same(reading.test, DEMO)


def test_rows_below_a_table_that_another_follows(tmp_path: Path) -> None:
    def type_below(workbook: Any) -> None:
        area = CellRange(workbook["No load"].tables["FreeSpins"].ref)
        workbook["No load"].cell(area.max_row + 1, 1).value = 11.1

    reading = read_workbook(edited(tmp_path, type_below))
    assert "1 row below the table FreeSpins, read as part of it" in "".join(reading.told)
    assert reading.test.tables["FreeSpins"]["free_voltage"][-1] == 11.1
    assert {fault.reason for fault in reading.faults} == {Reason.REQUIRED_BLANK}


def test_a_table_dragged_down_to_the_next_title_has_no_stray_rows(tmp_path: Path) -> None:
    def drag(workbook: Any) -> None:
        table = workbook["No load"].tables["FreeSpins"]
        area = CellRange(table.ref)
        area.expand(down=1)
        table.ref = area.coord

    assert faults_of(edited(tmp_path, drag)) == []


# --- all of them at once


def test_all_faults_are_told_at_once_in_reading_order(tmp_path: Path) -> None:
    def spoil(workbook: Any) -> None:
        del workbook["Craft"]
        workbook["Motor"]["A16"] = "Printed on it"
        for cell, _, _, _ in CELLS:
            workbook["Readings"][cell] = "#REF!"
        workbook["Readings"]["L30"] = "fast"
        workbook["Readings"]["D7"] = "four"
        workbook["Readings"]["A108"] = workbook["Readings"]["C108"] = 1
        workbook["Settings"]["B7"] = 91

    reading = read_workbook(edited(tmp_path, spoil))
    assert [fault.place for fault in reading.faults] == [
        "Readings!B6", "Readings!C6", "Readings!F6", "Readings!H6", "Readings!J6",
        "Readings!K6", "Readings!L6", "Readings!D7", "Readings!L30", "Readings!A108:P108", "Settings!B7",
    ]  # fmt: skip
    assert reading.told[:2] == (
        "Craft: the table CraftForm is not in this workbook; it is read as blank",
        'Motor: "Labelled Kv" is not in this workbook; it stays blank',
    )
    assert 'Motor!B16: the field "Printed on it" is not known and was not read' in reading.told


def test_faulty_cells_are_blank_in_the_test_and_the_rest_stands(tmp_path: Path) -> None:
    reading = read_workbook(edited(tmp_path, reading_cells(J7="38..2")))
    expected = DEMO.tables["Readings"]["current"].copy()
    expected[1] = np.nan
    np.testing.assert_array_equal(reading.test.tables["Readings"]["current"], expected)
    np.testing.assert_array_equal(reading.test.tables["Readings"]["thrust"], DEMO.tables["Readings"]["thrust"])


def test_numbers_no_cell_can_hold(tmp_path: Path) -> None:
    for text, shown in (("1E400", "inf"), ("NaN", "nan")):
        path = with_cell(demo_workbook(tmp_path), "J6", f"><v>{text}</v>")
        with_cell(path, "F6", f"><v>{text}</v>")
        cells, current = faults_of(path)
        assert cells.startswith(f"Readings!F6 Cells: found {shown}; wanted a whole number from 1 to 14; check")
        assert current.startswith(f"Readings!J6 Current (A): found {shown}; {AMPS}; check")
