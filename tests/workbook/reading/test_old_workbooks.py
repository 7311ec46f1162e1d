"""Tables of strangers in .xls, saved by LibreOffice, and files of that ending that are none."""

import datetime
import time
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from tests.instruments.office_edit import Work, do_in_libreoffice
from tests.instruments.recalculate import requires_libreoffice
from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading.kinds import read_foreign
from xlsengine.workbook.reading.plain_tables import take_in

ROWS = (
    ("A motor of my own",),
    ("Prop", "Cells", "Volts", "Amps", "Thrust (g)", "Day"),
    ("5x4.3x3", 4, 15.9, "38,2", 1420, datetime.date(2026, 5, 31)),
    ("6x4", 4, 16.1, "=1/0", "=700*2", None),
)


@pytest.fixture(scope="module")
def old_workbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("old")
    book = openpyxl.Workbook()
    sheet = book.create_sheet("Runs", 0)
    for row in ROWS:
        sheet.append(row)
    book.save(folder / "runs.xlsx")
    do_in_libreoffice([Work(str(folder / "runs.xlsx"), str(folder / "runs.xls"), filter="MS Excel 97")])
    return folder / "runs.xls"


@requires_libreoffice
def test_its_cells_are_those_that_were_typed(old_workbook: Path) -> None:
    cells = read_foreign(old_workbook)["Runs"]
    assert cells[2] == {0: "5x4.3x3", 1: 4.0, 2: 15.9, 3: "38,2", 4: 1420.0, 5: datetime.datetime(2026, 5, 31)}
    assert cells[3] == {0: "6x4", 1: 4.0, 2: 16.1, 4: 1400.0}  # an error has no value


@requires_libreoffice
def test_its_table_is_taken_in_and_what_is_lost_is_told(old_workbook: Path) -> None:
    taken = take_in(old_workbook)
    readings = taken.test.tables["Readings"]
    assert readings["thrust"].tolist() == [1420, 1400]
    assert readings["current"][0] == 38.2
    assert np.isnan(readings["current"][1])
    assert any("a cell that shows 50% holds 0.5" in line for line in taken.told)


@pytest.mark.parametrize("content", [b"", b"Prop,Volts\n", bytes.fromhex("D0CF11E0A1B11AE1") + bytes(3000)])
@pytest.mark.parametrize("ending", [".xls", ".xlsb"])
def test_what_is_none_is_told_in_plain_words(content: bytes, ending: str, tmp_path: Path) -> None:
    path = tmp_path / f"table{ending}"
    path.write_bytes(content)
    with pytest.raises(WorkbookUnreadable, match="open it in a spreadsheet program and save it as"):
        take_in(path)


def hangs(path: str) -> None:
    """Read a workbook for ever."""
    time.sleep(60)


def test_a_child_that_hangs_is_ended(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "table.xls").write_bytes(b"x")
    monkeypatch.setattr("xlsengine.workbook.reading.kinds._MOST_SECONDS", 0.01)
    monkeypatch.setattr("xlsengine.workbook.reading.kinds.foreign_cells", hangs)
    with pytest.raises(WorkbookUnreadable, match="cannot be read"):
        read_foreign(tmp_path / "table.xls")
