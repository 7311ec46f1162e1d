"""The workbook of a box of motors: live in other programs, an input again, and what is wrong with one is told by its cell."""

import math
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from openpyxl.worksheet.table import TableColumn

import xlsengine
from tests.instruments.linter import lint
from tests.instruments.recalculate import differences, iron_edit, iron_values, stored_values
from tests.workbook.agreement import AgreesEverywhere
from xlsengine.bench.boxes.batch import SERIALS
from xlsengine.bench.inputs.bench_test import bench_test, columns_of
from xlsengine.cli import cli
from xlsengine.commands.workbooks import batch_path
from xlsengine.errors import WorkbookFaulty
from xlsengine.study.batch import scope_of
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.batch_workbook import write_batch, write_batch_template
from xlsengine.workbook.reading.batch_reader import gather

ROWS: list[dict[str, Any]] = [
    {"serial": "A7", "tested": 3.0, "kv": 1948.0, "resistance": 61.2, "no_load": 1.1, "mass": 33.1},
    {"serial": "A2", "tested": 1.0, "kv": 1961.0, "resistance": 60.4, "no_load": 1.07, "mass": 33.4},
    {"serial": "A9", "tested": 2.0, "kv": 1955.0, "resistance": None, "no_load": 1.12, "mass": 33.0},
    {"serial": "A4", "tested": 5.0, "kv": 1790.0, "resistance": 63.0, "no_load": 1.35, "mass": 33.2},
    {"serial": "A5", "tested": 4.0, "kv": 1970.0, "resistance": 59.8, "no_load": 1.09, "mass": 33.3},
]
LABEL: dict[str, Any] = {
    "batch_model": "Invented 2207",
    "kv_promised": 1960.0,
    "resistance_promised": 60.0,
    "no_load_promised": 1.1,
}


def box(*rows: dict[str, Any], **fields: Any) -> Scope:
    return scope_of(LABEL | fields, columns_of(SERIALS, rows or ROWS))


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_batch(tmp_path_factory.mktemp("box") / "box.xlsx", box())


class TestAgreement(AgreesEverywhere):
    """Of the workbook above."""


def test_the_workbook_is_sound(written: Path) -> None:
    assert [str(finding) for finding in lint(written)] == []


@pytest.mark.parametrize("rows", [1, 2, 3])
def test_few_motors(rows: int, tmp_path: Path) -> None:
    """Nothing is judged from one or two; every formula agrees."""
    scope = box(*ROWS[:rows])
    path = write_batch(tmp_path / "few.xlsx", scope)
    assert differences(stored_values(path), iron_values(path)) == []
    assert scope.named("kv_verdict") == "cannot be told"
    assert math.isnan(scope.named("kv_cpk")) == (rows < 3)


def test_motors_that_are_all_alike(tmp_path: Path) -> None:
    scope = box(*({"serial": f"B{place}", "kv": 1960.0} for place in range(4)))
    path = write_batch(tmp_path / "alike.xlsx", scope)
    assert differences(stored_values(path), iron_values(path)) == []
    assert scope.named("kv_why") == "4 motors, all alike: the readings are too coarse to show a spread"


CELLS = {"tested": "B", "kv": "C", "resistance": "D", "no_load": "E", "mass": "F"}


def test_a_mean_and_its_margin_have_the_same_two_digits(written: Path) -> None:
    """Kv: mean 1924.8, s 75.79 of five, times 2.776/√5 is 94.1; resistance: 61.10, s 1.390 of four, 3.182/√4: 2.21."""
    sheet = openpyxl.load_workbook(written, data_only=True)["Batch"]
    heads = {str(cell.value): cell.column for row in sheet.iter_rows(max_row=6) for cell in row if cell.value}
    rows = {str(row[0].value): row for row in sheet.iter_rows()}
    said = {name: rows[name][heads["Mean"] - 1].value for name in ("Kv, rpm/V", "Resistance, mΩ")}
    assert said == {"Kv, rpm/V": "1925 ± 94", "Resistance, mΩ": "61.1 ± 2.2"}


@pytest.mark.parametrize(
    "change",
    [{"kv": 1952.0}, {"tested": 9.0}, {"resistance": 70.0, "mass": 40.0}, {"no_load": 0.9, "kv": 2100.0}],
    ids=lambda change: " ".join(change),
)
def test_a_changed_motor_is_followed(written: Path, change: dict[str, float], tmp_path: Path) -> None:
    rows = [dict(row) for row in ROWS]
    rows[3] |= change
    wanted = stored_values(write_batch(tmp_path / "changed.xlsx", box(*rows)))
    edits = [("Serials", f"{CELLS[name]}9", value) for name, value in change.items()]
    assert differences(wanted, iron_edit(written, edits)) == []


def test_order_of_the_tests() -> None:
    """By the numbers typed: A2, A9, A7, A5, A4; ranges by hand, none where a neighbour was not measured."""
    scope = box()
    assert [str(each) for each in scope.column("RunChart", "run_serial")[:5]] == ["A2", "A9", "A7", "A5", "A4"]
    moved = scope.column("RunChart", "run_kv_moved")[:5].tolist()
    assert moved[1:] == [6.0, 7.0, 22.0, 180.0]
    resistance = scope.column("RunChart", "run_resistance_moved")[:5].tolist()
    assert [math.isnan(each) for each in resistance] == [True, True, True, False, False]


def test_what_the_label_allows_from_both_sides() -> None:
    """1960 rpm/V ± 5 %: 1862 to 2058; 1.1 A and 20 %: 1.32."""
    edges = {1861.9: 1, 1862.0: 0, 2058.0: 0, 2058.1: 1}
    for kv, outside in edges.items():
        assert box({"serial": "a", "kv": kv}, {"serial": "b", "kv": 1960.0}).named("kv_outside") == outside
    for amps, outside in {0.01: 0, 1.32: 0, 1.321: 1}.items():
        assert box({"serial": "a", "no_load": amps}).named("no_load_outside") == outside


def test_what_was_written_is_read_again(written: Path) -> None:
    found = gather([written])
    assert found.told == ()
    assert found.fields == {**box().test.fields}
    assert found.serials["serial"].tolist() == [row["serial"] for row in ROWS]
    assert found.serials["kv"].tolist() == [row["kv"] for row in ROWS]


# --- faults ----------------------------------------------------------------------------------------------------


def edited(path: Path, **cells: Any) -> Path:
    """Return a new workbook of serials with one motor and a model, and with values typed into cells of its sheets."""
    write_batch_template(path)
    workbook = openpyxl.load_workbook(path)
    typed: dict[str, Any] = {"Label_B6": "Invented 2207", "Serials_A6": "A1", "Serials_C6": 1960} | cells
    for place, value in typed.items():
        sheet, cell = place.split("_")
        workbook[sheet][cell] = value
    workbook.save(path)
    return path


@pytest.mark.parametrize(
    ("cells", "fault"),
    [
        ({"Label_B6": None}, "Label!B6 Model: found a blank cell; wanted text; fill it in"),
        (
            {"Serials_A6": None, "Serials_C6": None},
            "Serials!A6: found no row filled in; wanted at least one motor in the table "
            "Serials; type the motors, one row each",
        ),
        (
            {"Serials_A6": None},
            "Serials!A6 Serial: found a blank cell; wanted text; fill it in, or clear the whole row",
        ),
        (
            {"Serials_C6": "about two"},
            'Serials!C6 Kv (rpm/V): found "about two"; wanted a number from 50 to 30,000 rpm/V; '
            "type a plain number, or clear the cell",
        ),
        (
            {"Serials_A7": " a1"},
            'Serials!A7 Serial: found "a1", which stands in Serials!A6 already; wanted each motor once; '
            "type this motor's own serial, or delete the row that is not meant",
        ),
    ],
)
def test_a_fault_names_its_cell(cells: dict[str, Any], fault: str, tmp_path: Path) -> None:
    with pytest.raises(WorkbookFaulty) as caught:
        gather([edited(tmp_path / "box.xlsx", **cells)])
    assert [str(each) for each in caught.value.faults] == [fault]


def test_a_column_of_ones_own_is_told(tmp_path: Path) -> None:
    path = edited(tmp_path / "box.xlsx", Serials_H5="Bearing feel", Serials_H6="rough")
    workbook = openpyxl.load_workbook(path)
    workbook["Serials"].tables["Serials"].ref = "A5:H55"
    workbook["Serials"].tables["Serials"].tableColumns.append(TableColumn(id=8, name="Bearing feel"))
    workbook.save(path)
    assert gather([path]).told == ('Serials!H5: column "Bearing feel" is not known and was not read',)


# --- bench tests as serials ------------------------------------------------------------------------------------


def bench_of(
    path: Path, name: str, model: str = "Invented 2207", label: float = 1960.0, turns: float = 19_400.0
) -> Path:
    """Write a bench test with two free spins at 10 V, so that its Kv is what it turned over volts and drop."""
    spins = [{"free_voltage": 10.0, "free_current": 1.0, "free_speed": turns}]
    fields: dict[str, Any] = {"test_id": name, "model": model, "label_kv": label, "mass_as_supplied": 33.0}
    readings = [{"prop": "5x4", "cells": 4.0, "voltage": 15.0, "current": 20.0, "thrust": 800.0}]
    return xlsengine.write_input_workbook(bench_test(fields, {"FreeSpins": spins, "Readings": readings}), path)


def test_bench_tests_make_a_box(tmp_path: Path) -> None:
    files = [bench_of(tmp_path / f"{name}.xlsx", name, turns=19_400.0 + 10 * place) for place, name in enumerate("xyz")]
    found = gather(files)
    assert found.serials["serial"].tolist() == ["x", "y", "z"]
    assert found.serials["mass"].tolist() == [33.0] * 3
    kv = found.serials["kv"].tolist()
    assert kv[0] < kv[1] < kv[2]
    assert (found.fields["batch_model"], found.fields["kv_promised"]) == ("Invented 2207", 1960.0)


def test_a_box_and_a_bench_test_together(tmp_path: Path) -> None:
    files = [edited(tmp_path / "box.xlsx", Label_B11=1960), bench_of(tmp_path / "one.xlsx", "A2")]
    assert gather(files).serials["serial"].tolist() == ["A1", "A2"]


def test_another_model_is_a_fault_with_its_cell(tmp_path: Path) -> None:
    files = [bench_of(tmp_path / "a.xlsx", "x"), bench_of(tmp_path / "b.xlsx", "y", model="Other")]
    with pytest.raises(WorkbookFaulty) as caught:
        gather(files)
    assert [str(each) for each in caught.value.faults] == [
        'b.xlsx Motor!B12 Model: found "Other"; wanted "Invented 2207", as in the files before it; correct it, or leave '
        "this file out: all motors of a box are of one model"
    ]


def test_the_same_serial_in_two_files(tmp_path: Path) -> None:
    files = [bench_of(tmp_path / "a.xlsx", "x"), bench_of(tmp_path / "b.xlsx", "X")]
    with pytest.raises(WorkbookFaulty, match=r"which stands in a\.xlsx Motor!B"):
        gather(files)


# --- the command -----------------------------------------------------------------------------------------------


def test_new_then_judged(tmp_path: Path) -> None:
    new, out = tmp_path / "my batch.xlsx", tmp_path / "my batch results.xlsx"
    made = CliRunner().invoke(cli, ["batch", "--new", str(new)])
    assert (made.exit_code, new.exists()) == (0, True)
    new.unlink()
    judged = CliRunner().invoke(cli, ["batch", str(edited(new))])
    assert judged.exit_code == 0
    assert "1 motor: 0 outside a limit of the label" in judged.output
    assert out.exists()


def test_neither_files_nor_new() -> None:
    assert CliRunner().invoke(cli, ["batch"]).exit_code == 2


@pytest.mark.parametrize(
    ("name", "output"),
    [
        ("my batch", "my batch results"),
        ("my batch results", "my batch results 2"),
        ("my batch results 2", "my batch results 3"),
        ("box", "box batch results"),
        ("motor 1 results", "motor 1 batch results"),
    ],
)
def test_names_of_outputs(name: str, output: str) -> None:
    """As of other commands: results of the file, and never the results of one motor of it."""
    assert batch_path(Path(f"{name}.xlsx")) == Path(f"{output}.xlsx")
