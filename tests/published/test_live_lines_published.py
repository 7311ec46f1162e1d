"""The live slope, intercept and scatter against NIST's certified Norris line, in numbers and in two spreadsheets."""

import csv
from pathlib import Path

import numpy as np
import pytest
import xlsxwriter

from tests.instruments.office_edit import libreoffice_values
from tests.instruments.recalculate import iron_values, requires_libreoffice
from xlsengine.aggregates import AGGREGATES
from xlsengine.expression import Aggregate, Column, Node
from xlsengine.formula import formula
from xlsengine.workbook.layout import Block, CellAddresses, Layout

DATA = Path(__file__).parent / "data"
X, Y = Column("Norris", "x"), Column("Norris", "y")
CERTIFIED = 1e-11
"""LibreOffice keeps 15 digits, of which the sums of squares lose some."""


def _norris() -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.loadtxt(DATA / "strd_norris.csv", delimiter=",", skiprows=2)


def _certified() -> dict[str, float]:
    with (DATA / "strd_lines.csv").open() as lines:
        next(lines)
        rows = {row["parameter"]: row for row in csv.DictReader(lines) if row["dataset"] == "Norris"}
    return {
        "slope": float(rows["B1"]["value"]),
        "intercept": float(rows["B0"]["value"]),
        "residual deviation": float(rows["B1"]["residual_sd"]),
    }


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path, data, layout = tmp_path_factory.mktemp("norris") / "norris.xlsx", _norris(), Layout()
    layout.place(Block("Norris", "Line", 0, 0, len(data), ("x", "y"), ("x", "y")))
    with xlsxwriter.Workbook(path) as workbook:
        sheet = workbook.add_worksheet("Line")
        for row, pair in enumerate(data, start=1):
            sheet.write_row(row, 0, pair.tolist())
        for row, name in enumerate(_certified()):
            node: Node = Aggregate(name, (Y, X))
            sheet.write_formula(row, 3, "=" + formula(node, CellAddresses(layout, "Line")), None, 0)
    return path


@pytest.mark.parametrize("name", _certified())
def test_number(name: str) -> None:
    x, y = _norris().T
    assert AGGREGATES[name].numpy([y, x], np.nan) == pytest.approx(_certified()[name], rel=1e-12)


def test_ironcalc(book: Path) -> None:
    found = iron_values(book)
    for row, (name, value) in enumerate(_certified().items(), start=1):
        assert found["Line", f"D{row}"] == pytest.approx(value, rel=CERTIFIED), name


@requires_libreoffice
def test_libreoffice(book: Path) -> None:
    found = libreoffice_values([book])[0]
    for row, (name, value) in enumerate(_certified().items(), start=1):
        assert found["Line", f"D{row}"] == pytest.approx(value, rel=CERTIFIED), name
