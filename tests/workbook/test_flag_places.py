"""A flag names the cell to look at, in whatever workbook the readings came from."""

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.bench.ideal_bench import SWING, bench_of, full_throttle
from tests.workbook.engine_values import ResultsOf
from tests.workbook.made_tests import DEMOS, MOTOR, on_purpose
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.bench.inputs.no_load import PEAK_TO_PEAK
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.study.assessment import assess
from xlsengine.workbook.flag_places import flag_line, flag_lines, placed_flags
from xlsengine.workbook.layout import TITLE_ROWS, cell_address
from xlsengine.workbook.reading.reader import read_workbook
from xlsengine.workbook.results import write_results
from xlsengine.workbook.template import write_input_workbook

WHOLE = ("Wrong pole count in the speeds", "Kv by different methods differs", "Kv is not what the label says")
HOT = {"motor_temperature": 120.0}


def flags_of(path: Path) -> list[dict[str, object]]:
    reading = read_workbook(path)
    assert reading.faults == ()
    return placed_flags(assess(reading.test), reading.where)


@pytest.mark.parametrize("name", DEMOS)
def test_every_flag_of_the_demos_has_its_cell(results_of: ResultsOf, tmp_path: Path, name: str) -> None:
    """In the input as in the results, the cell lies in the flag's row, under the header that is named."""
    assessment = results_of(name).assessment
    first = TITLE_ROWS + 1
    for path in (write_input_workbook(assessment.test, tmp_path / "in.xlsx"), results_of(name).path):
        found = flags_of(path)
        assert len(found) == len(assessment.flag_list())
        for flag, known in zip(found, assessment.flag_list(), strict=True):
            column = list(READINGS.fields).index(known["column"])
            assert flag["place"] == f"Readings!{cell_address(first + known['at'] - 1, column)}"
            assert flag["label"] == READINGS.columns[known["column"]].header


def wrong_poles() -> BenchTest:
    """Return readings whose speeds were worked out for 12 magnets instead of 14, and a label as far off."""
    rows = [row | {"speed": row["speed"] * 7 / 6} for row in full_throttle()]
    spin = {"driven_speed": 2400.0, "driven_voltage": SWING, "driven_as": PEAK_TO_PEAK}
    fields = {**MOTOR, "label_kv": 2800.0, "voltage_accuracy": 0.5, "speed_accuracy": 0.2}
    return bench_of(rows, fields, DrivenSpins=[spin] * 3)


def test_a_flag_of_the_whole_names_its_field_and_counts_everywhere(tmp_path: Path) -> None:
    """Speeds by 12 magnets for 14 on Readings alone; the label is as wrong."""
    assessment = assess(wrong_poles())
    for path in (
        write_input_workbook(assessment.test, tmp_path / "in.xlsx"),
        write_results(assessment, tmp_path / "out results.xlsx"),
    ):
        said = {flag["what"]: flag for flag in flags_of(path) if flag["row"] is None}
        assert set(said) == set(WHOLE)
        poles, label = said[WHOLE[0]], said[WHOLE[2]]
        assert (poles["label"], label["label"]) == ("Magnet poles", "Labelled Kv (rpm/V)")
        assert "is 1.16" in str(poles["found"])
        assert (poles["place"], label["place"]) == ("Motor!B17", "Motor!B16")
    doubtful = sum(flag["severity"] == "doubtful" for flag in assessment.flag_list())
    assert assessment.flag_counts()["doubtful"] == doubtful
    assert f" {doubtful} doubtful" in str(assessment.scope.named("checks_statement"))


def test_a_workbook_without_the_field_names_the_first_row(tmp_path: Path) -> None:
    path = write_input_workbook(wrong_poles(), tmp_path / "in.xlsx")
    book = openpyxl.load_workbook(path)
    (row,) = [row for row in range(1, 60) if str(book["Motor"].cell(row, 1).value).startswith("Magnet poles")]
    book["Motor"].cell(row, 1).value = None
    book["Motor"].cell(row, 2).value = None
    book.save(path)
    (flag,) = [flag for flag in flags_of(path) if flag["what"] == WHOLE[0]]
    assert flag["place"] == "Readings!6:6"


def with_cells(path: Path, cells: dict[str, Any]) -> Path:
    book = openpyxl.load_workbook(path)
    for address, value in cells.items():
        book["Readings"][address] = value
    book.save(path)
    return path


def test_blank_rows_and_repeated_headers_count_for_the_cell_and_not_for_the_row(tmp_path: Path) -> None:
    path = write_input_workbook(on_purpose({}, {**HOT, "thrust": 1013.0}), tmp_path / "in.xlsx")
    sheet = openpyxl.load_workbook(path)["Readings"]
    columns = range(1, len(READINGS.fields) + 1)
    moved = {cell_address(11, column - 1): sheet.cell(7, column).value for column in columns}
    headers = {cell_address(6, column - 1): sheet.cell(5, column).value for column in columns}
    (flag,) = [flag for flag in flags_of(with_cells(path, moved | headers)) if flag["what"] == "Hot motor"]
    assert (flag["place"], flag["row"]) == ("Readings!N12", 2)


def test_a_flag_whose_column_the_workbook_lacks_names_the_row(tmp_path: Path) -> None:
    """The pitch came from the propeller's name."""
    steep = {"prop": "5x5.5x3", "diameter": 5.0, "pitch": None, "blades": None}
    path = write_input_workbook(on_purpose(steep), tmp_path / "in.xlsx")
    (flag,) = [flag for flag in flags_of(with_cells(path, {"D5": "Steepness"})) if "Pitch over" in str(flag["what"])]
    assert (flag["place"], flag["label"]) == ("Readings!6:6", "Pitch (in)")


def test_a_flag_in_words() -> None:
    said = {
        "severity": "note",
        "place": "Readings!N7",
        "label": "Motor temperature (°C)",
        "row": 2,
        "seen_with": "5x4 on 4S",
        "what": "Hot motor",
        "found": "Motor temperature 120 °C",
        "expected": "at most 80 °C",
        "cause": "Long run.",
        "fix": "Let it cool.",
    }
    assert flag_line(said) == (
        "note: Readings!N7 Motor temperature (°C), 5x4 on 4S: Hot motor; Motor temperature 120 °C; "
        "expected at most 80 °C. Let it cool."
    )


def test_notes_of_one_kind_stand_in_one_line() -> None:
    def flag(severity: str, what: str, place: str) -> dict[str, Any]:
        said = {"label": "Pitch (in)", "seen_with": "5x4 on 3S", "found": "0.9", "expected": "0.8", "fix": "Look."}
        return {"severity": severity, "what": what, "place": place, **said}

    notes = [flag("note", "High", f"Readings!D{row}") for row in range(6, 21)]
    doubts = [flag("doubtful", "Low", f"Readings!D{row}") for row in (6, 7)]
    lines = flag_lines([*doubts, *notes, flag("note", "Fast", "Readings!D6")])
    assert lines[:2] == [flag_line(doubt) for doubt in doubts]
    assert lines[2] == "note: Readings!D6:D20 Pitch (in), 15 readings: High; 0.9; expected 0.8. Look."
    assert lines[3] == flag_line(flag("note", "Fast", "Readings!D6"))


def test_one_mistake_in_many_readings_is_one_line() -> None:
    """From three readings on, whatever was found: of several figures the first is told."""

    def flag(row: int, found: str) -> dict[str, Any]:
        said = {"label": "Cells", "seen_with": "5x4 on 3S", "expected": "2", "cause": "Typed.", "fix": "Type 2."}
        return {"severity": "doubtful", "what": "Cells perhaps 2", "place": f"Readings!F{row}", "found": found, **said}

    (line,) = flag_lines([flag(row, "3") for row in (6, 7, 8, 12)])
    assert line == "doubtful: Readings!F6:F8, F12 Cells, 4 readings: Cells perhaps 2; 3; expected 2. Type 2."
    assert len(flag_lines([flag(row, str(row)) for row in range(6, 8)])) == 2
    (line,) = flag_lines([flag(row, str(row)) for row in range(6, 9)])
    assert line == "doubtful: Readings!F6:F8 Cells, 3 readings: Cells perhaps 2; the first: 6; expected 2. Type 2."
