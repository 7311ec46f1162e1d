"""What is taken from cells, and how; and that whatever is not read is told."""

import copy
import datetime
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from openpyxl.worksheet.cell_range import CellRange
from openpyxl.worksheet.table import Table as ExcelTable
from openpyxl.worksheet.table import TableColumn

import xlsengine
from tests.workbook.reader_workbooks import (
    DEMO,
    READINGS_TOP,
    assert_same,
    demo_results,
    demo_workbook,
    edited,
    part_with,
    replaced,
    with_cell,
    with_parts,
)
from xlsengine.bench.inputs.bench_test import bench_test
from xlsengine.errors import Reason
from xlsengine.workbook.reading.reader import read_bench_test, read_workbook

# --- what is taken, and how


def test_typed_values_take_their_field_s_kind(tmp_path: Path) -> None:
    moment = datetime.datetime(2026, 5, 4, 13, 30)
    edits = {
        "Readings": {"H6": " PEAK ", "B6": 91, "B7": 5.0, "P6": "  kept  inside ", "P7": True, "O6": "NO"},
        "Motor": {"B7": moment, "B12": 12},
    }
    reading = read_workbook(edited(tmp_path, edits))
    columns = reading.test.tables["Readings"]
    assert reading.faults == ()
    assert [columns[name][0] for name in ("kind", "prop", "note", "use")] == ["peak", "91", "kept  inside", "no"]
    assert [columns[name][1] for name in ("prop", "note")] == ["5", "TRUE"]
    assert reading.test.fields["test_date"] == datetime.date(2026, 5, 4)
    assert reading.test.fields["model"] == "12"
    assert reading.told == ("Motor!B7 Test date: the day was read without its time of day",)


@pytest.mark.parametrize("text", ["2026-05-04", " 2026-05-04 "])
def test_a_date_may_be_typed_as_text(text: str, tmp_path: Path) -> None:
    assert read_bench_test(edited(tmp_path, {"Motor": {"B7": text}})).fields["test_date"] == datetime.date(2026, 5, 4)


def test_dates_counted_from_1904_are_read_so(tmp_path: Path) -> None:
    path = demo_workbook(tmp_path)
    before = read_bench_test(path).fields["test_date"]
    assert isinstance(before, datetime.date)
    with_parts(path, replaced("xl/workbook.xml", "<workbookPr ", '<workbookPr date1904="1" '))
    assert read_bench_test(path).fields["test_date"] == before + datetime.timedelta(days=1462)


def test_formulas_count_with_their_stored_values(tmp_path: Path) -> None:
    path = with_cell(demo_workbook(tmp_path), "J6", "><f>25+0.5</f><v>25.5</v>")
    with_cell(path, "J7", ' t="str"><f>A1&amp;""</f><v>24.5</v>')
    reading = read_workbook(path)
    assert list(reading.test.tables["Readings"]["current"][:2]) == [25.5, 24.5]
    assert reading.faults == ()
    assert reading.told == ("2 input cells hold formulas (the first: Readings!J6); the value stored with it was taken",)


def test_an_empty_formula_is_blank_and_one_never_computed_is_a_fault(tmp_path: Path) -> None:
    path = with_cell(demo_workbook(tmp_path), "L6", ' t="str"><f>""</f><v></v>')
    with_cell(path, "L7", "><f>1+1</f>")
    reading = read_workbook(path)
    assert np.isnan(reading.test.tables["Readings"]["speed"][0])
    assert [(fault.reason, fault.place) for fault in reading.faults] == [(Reason.NO_STORED_VALUE, "Readings!L7")]


# --- what is not read is told


def test_unknown_columns_fields_and_sheets_are_told(tmp_path: Path) -> None:
    def add(workbook: Any) -> None:
        sheet = workbook["Readings"]
        sheet["Q5"], sheet["Q6"], sheet["R5"] = "Wind (m/s)", 3, "Nothing in it"
        sheet.tables["Readings"].ref = "A5:R105"
        _name_columns(sheet.tables["Readings"], "Wind (m/s)", "Nothing in it")
        craft = workbook["Craft"]
        form = craft.tables["CraftForm"]
        area = CellRange(form.ref)
        area.expand(down=1)
        form.ref = area.coord
        craft.cell(area.max_row, 1).value, craft.cell(area.max_row, 2).value = "Colour", "orange"
        workbook.create_sheet("Shopping")["B2"] = "screws"
        workbook.create_sheet("Empty")

    reading = read_workbook(edited(tmp_path, add))
    assert reading.faults == ()
    assert_same(reading.test, DEMO)
    assert reading.told == (
        'Readings!Q5: column "Wind (m/s)" is not known; it is carried to the results as it stands',
        'Craft!B13: the field "Colour" is not known and was not read',
        'the sheet "Shopping" is not known and was not read',
    )


def _name_columns(table: ExcelTable, *names: str) -> None:
    for name in names:
        number = len(table.tableColumns) + 1
        table.tableColumns.append(TableColumn(id=number, name=name))


@pytest.mark.filterwarnings("ignore::UserWarning")
def test_values_typed_over_derived_columns_are_told_and_not_read(tmp_path: Path) -> None:
    path = demo_results(tmp_path)
    workbook = openpyxl.load_workbook(path)
    row: Any = workbook["Readings"][READINGS_TOP]
    column = next(cell.column_letter for cell in row if cell.value == "Power (W)")
    workbook["Readings"][f"{column}7"] = workbook["Readings"][f"{column}9"] = 1
    workbook.save(path)
    reading = read_workbook(path)
    assert_same(reading.test, DEMO)
    assert reading.told == (
        f"Power (W): 2 cells were typed over their formulas (the first: Readings!{column}7); not read",
    )


def test_control_characters_are_kept_and_told(tmp_path: Path) -> None:
    path = xlsengine.write_input_workbook(
        bench_test({**DEMO.fields, "tester": "A\x07B\nC"}, _rows()), tmp_path / "c.xlsx"
    )
    reading = read_workbook(path)
    assert reading.test.fields["tester"] == "A\x07B\nC"
    assert reading.told == ("Motor!B8 Tester: holds control characters, kept as they are",)


def _rows() -> dict[str, Any]:
    return {"Readings": DEMO.frame("Readings")}


def test_a_table_twice_is_told(tmp_path: Path) -> None:
    def put_twice(workbook: Any) -> None:
        workbook.copy_worksheet(workbook["Craft"]).title = "Craft 2"
        table = workbook["Craft"].tables["CraftForm"]
        workbook["Craft 2"].add_table(_renamed(table, "Twin"))

    path = edited(tmp_path, put_twice)
    with_parts(path, replaced(part_with(path, '"Twin"'), 'displayName="Twin"', 'displayName="CraftForm"'))
    reading = read_workbook(path)
    assert reading.faults == ()
    assert reading.told == ("the table CraftForm stands on Craft and on Craft 2; that on Craft was read",)


def _renamed(table: Any, name: str) -> Any:
    twin = copy.deepcopy(table)
    twin.name = twin.displayName = name
    twin.id = 99
    return twin
