import json
import math
import re
import tracemalloc
import zipfile
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl.worksheet.cell_range import CellRange

import xlsengine
from demo_inputs.make_demo_inputs import bench_test_of
from demo_inputs.scenario import DEMO_TESTS, DemoTest
from tests.workbook.reader_workbooks import (
    DEMO,
    READINGS_PART,
    READINGS_TOP,
    assert_same,
    demo_results,
    demo_workbook,
    edited,
    part_with,
    reading_cells,
    replaced,
    with_cell,
    with_parts,
)
from xlsengine.bench.declaring.declare import Field
from xlsengine.bench.inputs.bench_test import BenchTest, bench_test, input_hash
from xlsengine.bench.inputs.forms import FIELDS, INPUT_TABLES
from xlsengine.errors import WorkbookFaulty
from xlsengine.workbook.layout import FIRST_DATE, LAST_DATE, SHEETS, is_written
from xlsengine.workbook.reading.propeller_names import is_ditto, one_spelling
from xlsengine.workbook.reading.reader import read_bench_test, read_workbook

ROWS = DEMO.rows("Readings")


@pytest.mark.parametrize("demo", DEMO_TESTS, ids=lambda demo: demo.file_name)
def test_what_was_written_is_read_back(demo: DemoTest, tmp_path: Path) -> None:
    test = bench_test_of(demo)
    reading = read_workbook(xlsengine.write_input_workbook(test, tmp_path / "in.xlsx"))
    assert_same(reading.test, test)
    assert (reading.faults, reading.told) == ((), ())
    assert reading.input_hash == input_hash(test)


def test_a_results_workbook_is_a_valid_input(tmp_path: Path) -> None:
    path = demo_results(tmp_path)
    reading = read_workbook(path)
    assert_same(reading.test, DEMO)
    assert (reading.faults, reading.told) == ((), ())
    assert reading.input_hash == input_hash(DEMO)


def test_sheets_written_for_reading_only_are_all_known(tmp_path: Path) -> None:
    path = demo_results(tmp_path)
    with zipfile.ZipFile(path) as archive:
        sheets = set(re.findall(r'<sheet name="([^"]+)"', archive.read("xl/workbook.xml").decode()))
    assert {name for name in sheets if is_written(name)} == sheets - set(SHEETS)
    assert is_written("Uncertainty by row")  # of older workbooks
    assert not is_written("Readings")


def test_an_empty_template_lacks_readings_and_nothing_else(tmp_path: Path) -> None:
    reading = read_workbook(xlsengine.write_template(tmp_path / "empty.xlsx"))
    assert reading.told == ()
    assert [str(fault) for fault in reading.faults] == [
        "Readings!A6: found no row filled in; wanted at least one reading in the table Readings; type the readings, "
        "one row each"
    ]


def test_read_bench_test_gives_the_test_or_raises_all_faults(tmp_path: Path) -> None:
    assert_same(read_bench_test(demo_workbook(tmp_path)), DEMO)
    path = edited(tmp_path, reading_cells(J6="38..2", K7="lots"))
    with pytest.raises(WorkbookFaulty) as caught:
        read_bench_test(path)
    assert [fault.place for fault in caught.value.faults] == ["Readings!J6", "Readings!K7"]
    assert json.dumps([fault.as_dict() for fault in caught.value.faults])


def test_same_readings_give_the_same_hash_and_others_another(tmp_path: Path) -> None:
    first = read_workbook(demo_workbook(tmp_path)).input_hash
    assert read_workbook(edited(tmp_path, {})).input_hash == first
    assert read_workbook(edited(tmp_path, reading_cells(K6=815))).input_hash != first


# --- round trip of anything that a person may type


def _numbers(declared: Field) -> st.SearchStrategy[float]:
    low, high = declared.low or 0.0, declared.high or 1e6
    if declared.kind == "whole":
        step = declared.multiple
        return st.integers(int(low) // step, int(high) // step).map(lambda number: float(number * step))
    return st.integers(math.ceil(low * 10_000), math.floor(high * 10_000)).map(lambda number: number / 10_000)


_ODD = '=1+1|="a"|\'quoted|say "no"|_x0041_|a\nb|Grüße 🛩|5.0|#N/A|TRUE|{=A1}|<r>raw</r>|<r><t>a</t></r>'
_TEXTS = st.one_of(
    st.text(st.characters(exclude_categories=("Cs", "Cn")), min_size=1, max_size=40), st.sampled_from(_ODD.split("|"))
).filter(lambda text: text == text.strip() != "" and one_spelling(text) == text and not is_ditto(text))


def _values(declared: Field) -> st.SearchStrategy[Any]:
    match declared.kind:
        case "date":
            return st.dates(FIRST_DATE, LAST_DATE)
        case "choice":
            return st.sampled_from(declared.choices)
        case "text":
            return _TEXTS
    return _numbers(declared)


def _maybe(declared: Field) -> st.SearchStrategy[Any]:
    return _values(declared) if declared.required else st.none() | _values(declared)


def _in_order(fields: dict[str, Any]) -> dict[str, Any]:
    """Return fields with every lower limit below its upper one."""
    for name, low in fields.items():
        other = name.removesuffix("_low") + "_high"
        high = fields.get(other)
        if name.endswith("_low") and low is not None and high is not None:
            fields = {**fields, name: min(low, high), other: max(low, high)}
    return fields


_ROWS = {
    table.name: st.lists(
        st.fixed_dictionaries({name: _maybe(field) for name, field in table.fields.items()}).filter(
            lambda row: any(value is not None for value in row.values())
        ),
        min_size=1,
        max_size=4,
    )
    for table in INPUT_TABLES
}


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    fields=st.fixed_dictionaries({name: _maybe(field) for name, field in FIELDS.items()}).map(_in_order),
    tables=st.fixed_dictionaries(_ROWS),
)
def test_whatever_keeps_to_the_limits_comes_back(
    fields: dict[str, Any], tables: dict[str, Any], tmp_path_factory: pytest.TempPathFactory
) -> None:
    test = bench_test({**fields, "test_id": fields["test_id"] or "named"}, tables)
    path = tmp_path_factory.mktemp("trip") / "in.xlsx"
    reading = read_workbook(xlsengine.write_input_workbook(test, path))
    assert reading.faults == ()
    assert_same(reading.test, test)
    assert reading.input_hash == input_hash(test)


# --- found by name, header and label, never by position


def _move_table(sheet: Any, name: str, rows: int, columns: int) -> None:
    table = sheet.tables[name]
    sheet.move_range(table.ref, rows, columns)
    area = CellRange(table.ref)
    area.shift(col_shift=columns, row_shift=rows)
    table.ref = area.coord


def test_a_table_may_be_moved_on_its_sheet(tmp_path: Path) -> None:
    def move(workbook: Any) -> None:
        _move_table(workbook["Readings"], "Readings", 7, 3)
        _move_table(workbook["Craft"], "CraftForm", 2, 5)

    reading = read_workbook(edited(tmp_path, move))
    assert (reading.faults, reading.told) == ((), ())
    assert_same(reading.test, DEMO)


def test_columns_and_fields_may_change_places(tmp_path: Path) -> None:
    def shuffle(workbook: Any) -> None:
        for sheet, table in (("Readings", "Readings"), ("Motor", "MotorForm"), ("Settings", "SettingsForm")):
            _reverse(workbook[sheet][workbook[sheet].tables[table].ref], by_column=True)
        _reverse(workbook["Motor"][workbook["Motor"].tables["MotorForm"].ref][1:], by_column=False)

    reading = read_workbook(edited(tmp_path, shuffle))
    assert (reading.faults, reading.told) == ((), ())
    assert_same(reading.test, DEMO)


def _reverse(rows: Any, by_column: bool) -> None:
    shown = [[(cell.value, cell.number_format) for cell in row] for row in rows]
    mirrored = [row[::-1] for row in shown] if by_column else shown[::-1]
    for row, new in zip(rows, mirrored, strict=True):
        for cell, (value, number_format) in zip(row, new, strict=True):
            cell.value, cell.number_format = value, number_format


def test_sheets_may_change_places_and_names(tmp_path: Path) -> None:
    def rename(workbook: Any) -> None:
        workbook.move_sheet("Readings", 4)
        workbook["Readings"].title = "Bench of 4 May"
        workbook["No load"].title = "Spins"

    reading = read_workbook(edited(tmp_path, rename))
    assert reading.faults == ()
    assert_same(reading.test, DEMO)
    assert reading.told == (
        'Readings: found on the sheet "Bench of 4 May" instead of "Readings", and read there',
        'FreeSpins, DrivenSpins, WindingResistances: found on the sheet "Spins" instead of "No load", and read there',
    )


def test_headers_labels_and_table_names_are_compared_without_capitals_and_spare_spaces(tmp_path: Path) -> None:
    path = edited(tmp_path, {"Readings": {"J5": " CURRENT   (a) "}, "Motor": {"A8": " tester*", "A6": "Test id"}})
    with_parts(
        path, replaced(part_with(path, 'name="CraftForm"'), 'displayName="CraftForm"', 'displayName="craftFORM"')
    )
    reading = read_workbook(path)
    assert (reading.faults, reading.told) == ((), ())
    assert_same(reading.test, DEMO)


def test_blank_rows_are_dropped_wherever_they_stand(tmp_path: Path) -> None:
    def blank_a_row(workbook: Any) -> None:
        for cell in workbook["Readings"][READINGS_TOP + 3]:
            cell.value = "  " if cell.column == 2 else None

    reading = read_workbook(edited(tmp_path, blank_a_row))
    assert reading.faults == ()
    kept = np.delete(np.arange(ROWS), 2)
    np.testing.assert_array_equal(reading.test.tables["Readings"]["thrust"], DEMO.tables["Readings"]["thrust"][kept])


def test_a_totals_row_and_a_hidden_header_row_are_heeded(tmp_path: Path) -> None:
    def last_row_is_totals(workbook: Any) -> None:
        sheet = workbook["Readings"]
        sheet.tables["Readings"].totalsRowCount = 1
        sheet["K105"] = 12345

    reading = read_workbook(edited(tmp_path, last_row_is_totals))
    assert (reading.faults, reading.test.rows("Readings")) == ((), ROWS)

    def hide_header(workbook: Any) -> None:
        table = workbook["Bench"].tables["CheckWeights"]
        area = CellRange(table.ref)
        for cell in workbook["Bench"][area.min_row][:2]:
            cell.value = None
        area.shrink(top=1)
        table.ref, table.headerRowCount = area.coord, 0

    assert_same(read_workbook(edited(tmp_path, hide_header)).test, DEMO)


# --- size


def test_ten_thousand_rows(tmp_path: Path) -> None:
    readings = {name: np.resize(column, 10_000) for name, column in DEMO.tables["Readings"].items()}
    large = BenchTest(DEMO.fields, {**DEMO.tables, "Readings": readings})
    path = xlsengine.write_input_workbook(large, tmp_path / "large.xlsx")
    assert_same(read_bench_test(path), large)


def test_no_part_is_unpacked_more_than_twice_for_its_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Once by the gate that counts, once by the parser: work is counted in bytes, since time is the machine's."""
    readings = {name: np.resize(column, 3_000) for name, column in DEMO.tables["Readings"].items()}
    path = xlsengine.write_input_workbook(
        BenchTest(DEMO.fields, {**DEMO.tables, "Readings": readings}), tmp_path / "large.xlsx"
    )
    unpacked: Counter[str] = Counter()
    plain = zipfile.ZipExtFile.read

    def counted(part: zipfile.ZipExtFile, size: int | None = -1) -> bytes:
        found = plain(part, size)
        unpacked[part.name] += len(found)
        return found

    monkeypatch.setattr(zipfile.ZipExtFile, "read", counted)
    read_workbook(path)
    with zipfile.ZipFile(path) as package:
        whole = package.getinfo(READINGS_PART).file_size
    assert whole <= unpacked[READINGS_PART] <= 2 * whole


def test_a_lone_cell_in_the_last_corner_costs_nothing(tmp_path: Path) -> None:
    path = demo_workbook(tmp_path)
    corner = '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'
    with_parts(path, replaced(READINGS_PART, "</sheetData>", corner))
    with_parts(path, replaced(READINGS_PART, '<dimension ref="A1:P105"/>', '<dimension ref="A1:A2"/>'))
    tracemalloc.start()
    reading = read_workbook(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert_same(reading.test, DEMO)
    assert reading.faults == ()
    assert peak < 20e6


# --- as other programs save it


def test_prefixed_parts_and_inline_strings_are_read(tmp_path: Path) -> None:
    def prefix(parts: dict[str, bytes]) -> None:
        sheet = parts[READINGS_PART].decode()
        for tag in ("worksheet", "sheetData", "row", "c", "v", "is", "r", "t"):
            for end in (" ", ">", "/"):
                sheet = sheet.replace(f"<{tag}{end}", f"<x:{tag}{end}").replace(f"</{tag}>", f"</x:{tag}>")
        sheet = sheet.replace("xmlns=", "xmlns:x=", 1)
        parts[READINGS_PART] = _only_data(sheet).encode()

    path = with_cell(demo_workbook(tmp_path), "P6", ' t="inlineStr"><is><r><t>one </t></r><r><t>two</t></r></is>')
    reading = read_workbook(with_parts(path, prefix))
    assert reading.faults == ()
    assert reading.test.tables["Readings"]["note"][0] == "one two"


def _only_data(sheet: str) -> str:
    """Leave out everything but the cells: the rest would need the prefix too."""
    start = sheet.index("<x:sheetData")
    return (
        sheet[: sheet.index(">", sheet.index("<x:worksheet")) + 1]
        + sheet[start : sheet.index("</x:sheetData>")]
        + ("</x:sheetData></x:worksheet>")
    )
