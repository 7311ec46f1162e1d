"""Propellers by their names: filled in where one reading is left, held against what was typed."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.workbook.reader_workbooks import edited, reading_cells
from xlsengine.errors import Reason
from xlsengine.workbook.reading.propeller_names import named
from xlsengine.workbook.reading.reader import read_workbook

# readings: the names that have just these; common practice, no source
NAMES: dict[tuple[str, ...], str] = {
    (
        "5 by 4.3, 3 blades",
    ): "5x4.3x3|5×4,3×3|5X4.3X3|5x4.3 3-blade|5x4.3 Dreiblatt|5x4.3 tripale|5043 tri|5043x3|5043-3",
    ("5 by 4.3",): "5*4.3|5 x 4.3|5043",
    ("7 by 4",): '7" x 4"',
    ("5.2 by 3.5",): "Invented 5.2x3.5 M2",
    ("6 by 4",): "6x4q",
    ("5 by 4.3, 2 blades",): "5x4.3 2 pales",
    ("6 by 4.5, 2 blades",): "6045 2B",
    ("5 by 4",): "5040",
    ("10 by 4.5",): "1045",
    ("13 by 4",): "1340",
    ("14 by 4.7",): "1447",
    ("5.2 by 3.53", "5.2 by 3.5, 3 blades"): "52353",
    ("5.2 by 3.77",): "52377",
    ("5.2 by 3.66", "5.2 by 3.6, 6 blades"): "52366",
    ("1 by 1", "10 by 10"): "1010",
    # a millimetre is 1/25.4 inch: 31 is 1.220, 18 is 0.709, 40 is 1.575
    ("1.22 in",): "31mm|31 mm|Fan 31 mm",
    ("1.22 by 0.709",): "31x18mm|31mm x 18mm|31 x 18 mm",
    ("1.22 by 0.709, 3 blades",): "31x18x3 mm|31x18mm 3-blade|31mm x 18mm x 3",
    ("1.22 by 0.7",): "31mm x 0.7|31x0.7 mm",
    ("1.575 in, 2 blades",): "40mm-2|40 mm bi",
    ("1.2 in",): '1.2 inch|1.2"|1.2 in',
    ("1.6 by 1", "16 by 10"): "1610",
    ("1.6 by 0.9, 4 blades", "16 by 9, 4 blades"): "1609-4|1609x4|1609 quad",
    (): "2040|5235.5 tri|2x5x4.3x3|5x4.3x3x2|127x109|2.1 x|hello||5x4.3 or 6x4|8x4 mm",
}
LONG = ("9" * 5000, "1x" * 5000)


@pytest.mark.parametrize("readings", NAMES)
def test_readings_of_names(readings: tuple[str, ...]) -> None:
    for name in (*NAMES[readings].split("|"), *(LONG if not readings else ())):
        assert tuple(str(reading) for reading in named(name).readings) == readings, name[:20]


def _first_row(folder: Path, **cells: Any) -> tuple[list[float], tuple[str, ...], list[Any]]:
    reading = read_workbook(edited(folder, reading_cells(**cells)))
    columns = reading.test.tables["Readings"]
    return [columns[name][0] for name in ("diameter", "pitch", "blades")], reading.told, list(reading.faults)


def test_blanks_are_filled_from_a_name_with_one_reading(tmp_path: Path) -> None:
    values, told, faults = _first_row(tmp_path, B6="5x4.3x3", C6=None, D6=None, E6=None)
    assert (values, faults) == ([5, 4.3, 3], [])
    assert told[0] == (
        'Readings, Prop: blank diameter, pitch and blades of 1 reading filled from the names: "5x4.3x3" as 5 by 4.3, 3 blades'
    )
    values, _, faults = _first_row(tmp_path, B6="5043", C6=None, D6=None, E6=None)
    assert faults == []
    np.testing.assert_array_equal(values, [5, 4.3, np.nan])


def test_what_names_filled_is_told_in_one_line_and_listed_cell_by_cell(tmp_path: Path) -> None:
    blanks = {f"{column}{row}": None for column in "CDE" for row in range(6, 16)}
    names = {f"B{row}": "6x4x2" if row % 2 else "5043" for row in range(6, 16)}
    reading = read_workbook(edited(tmp_path, reading_cells(**blanks, **names)))
    assert reading.faults == ()
    assert [told for told in reading.told if "filled" in told] == [
        'Readings, Prop: blank diameter, pitch and blades of 10 readings filled from the names: "5043" as 5 by 4.3; '
        '"6x4x2" as 6 by 4, 2 blades'
    ]
    assert len([cell for cell in reading.cells if "under Prop" in cell.found]) == 5 * 2 + 5 * 3


def test_what_was_typed_leaves_one_reading(tmp_path: Path) -> None:
    values, _, faults = _first_row(tmp_path, B6="52353", C6=None, D6=None, E6=2)
    assert (values, faults) == ([5.2, 3.53, 2], [])
    values, _, faults = _first_row(tmp_path, B6="52377", C6=None, D6=None, E6=3)
    assert (values, faults) == ([5.2, 3.77, 3], [])


def test_a_name_with_two_readings_leaves_the_blank_and_shows_them(tmp_path: Path) -> None:
    said = 'Readings!B6 Prop: "52353" can mean 5.2 by 3.53 or 5.2 by 3.5, 3 blades; what it leaves open stays blank'
    values, told, faults = _first_row(tmp_path, B6="52353", C6=None, D6=None, E6=None)
    assert faults == []
    assert np.isnan(values).all()
    assert told[0] == said
    values, told, faults = _first_row(tmp_path, B6="52353", C6=5.2, D6=None, E6=None)
    assert faults == []
    assert np.isnan(values[1])
    assert told[0] == said


@pytest.mark.parametrize(
    ("cells", "contradiction"),
    [
        ({"C6": 6}, True),
        ({"D6": 3.4}, True),
        ({"E6": 2}, True),
        ({"C6": 5.02, "D6": 4.35}, False),
        ({"C6": 5.5}, False),
    ],
)
def test_a_name_that_contradicts_its_row_is_a_fault(
    cells: dict[str, float], contradiction: bool, tmp_path: Path
) -> None:
    typed = {"B6": "5x4.3x3", "C6": 5, "D6": 4.3, "E6": 3, **cells}
    _, _, faults = _first_row(tmp_path, **typed)
    assert [fault.reason for fault in faults] == [Reason.CONTRADICTION] * contradiction


def test_bare_digits_that_differ_are_told_once(tmp_path: Path) -> None:
    _, told, faults = _first_row(tmp_path, B6="2207", B7=2207)
    assert faults == []
    assert told == ('Readings!B6 Prop: "2207" looks like 2.2 by 0.7 or 22 by 7; the row\'s own figures were taken',)


@pytest.mark.parametrize(("name", "typed"), [("1609-4", 1.6), ("1210x4", 1.2), ("1610", 1.6)])
def test_of_two_sizes_ten_times_apart_the_power_tells_which_it_was(name: str, typed: float, tmp_path: Path) -> None:
    """A disk of 1.6 in and 24 g ask for 24 g * 9.81 m/s2 * sqrt(T/(2*1.2*A)) = 2.0 W, one of 16 in for 0.2 W of 4 W."""
    cells: dict[str, Any] = {"B6": name, "C6": None, "D6": None, "E6": None}
    values, _, _ = _first_row(tmp_path, **cells, I6=3.6, J6=1.6, K6=24.0)
    assert values[0] == typed


def test_a_diameter_in_mm_beside_a_name_in_mm_is_told_at_the_diameter(tmp_path: Path) -> None:
    _, _, (fault,) = _first_row(tmp_path, B6="35mm", C6=35.0, D6=1.0, E6=2)
    assert (fault.reason, fault.place) == (Reason.CONTRADICTION, "Readings!C6")
    assert "type 1.378" in str(fault)


def test_one_spelling_of_a_name_in_mm(tmp_path: Path) -> None:
    reading = read_workbook(edited(tmp_path, reading_cells(B6="31 x 18 mm", B7="31x18mm", C6=None, C7=None)))
    assert reading.test.tables["Readings"]["prop"][:2].tolist() == ["31x18mm", "31x18mm"]


def test_a_name_whose_figures_changed_places_is_told_so(tmp_path: Path) -> None:
    _, _, (fault,) = _first_row(tmp_path, B6="4.7x10", C6=None, D6=None)
    assert "exchanged? type 10x4.7 if so" in str(fault)
