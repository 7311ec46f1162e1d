"""The sheet Settings has headings by topic, and is read by labels: with them, without them, in any order."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.workbook.made_tests import on_purpose
from xlsengine.bench.inputs.extras import CellNote, Extras
from xlsengine.bench.inputs.settings import SETTINGS, TOPICS
from xlsengine.workbook.layout import FORM_VALUE, TITLE_ROWS
from xlsengine.workbook.reading.reader import read_workbook
from xlsengine.workbook.template import write_input_workbook

FIRST = TITLE_ROWS + 2
LINES = len(SETTINGS.fields) + len(TOPICS)
CHANGED = {"score_limit": 4.5, "coverage": 90.0, "esc_burst_ratio": 1.3}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return write_input_workbook(on_purpose({}, **CHANGED), tmp_path / "in.xlsx")


def test_each_heading_stands_above_its_settings(path: Path) -> None:
    sheet = openpyxl.load_workbook(path)["Settings"]
    texts = [str(sheet.cell(row, 1).value).removesuffix(" *") for row in range(FIRST, FIRST + LINES)]
    expected = []
    for title, names in TOPICS.items():
        expected += [title, *(SETTINGS.fields[name].label for name in names)]
    assert texts == expected


def without_headings(rows: list[list[Any]]) -> list[list[Any]]:
    """Return the list as workbooks had it before there were headings."""
    return [row for row in rows if row[0] not in TOPICS]


def backwards(rows: list[list[Any]]) -> list[list[Any]]:
    return rows[::-1]


@pytest.mark.parametrize("arranged", [without_headings, backwards])
def test_settings_are_found_by_their_labels(path: Path, arranged: Callable[[Any], Any]) -> None:
    book = openpyxl.load_workbook(path)
    sheet = book["Settings"]
    rows = arranged([[cell.value for cell in row] for row in sheet.iter_rows(FIRST, FIRST + LINES - 1, 1, 6)])
    for place in range(LINES):
        for column in range(6):
            sheet.cell(FIRST + place, column + 1).value = rows[place][column] if place < len(rows) else None
    book.save(path)
    reading = read_workbook(path)
    assert (reading.faults, reading.told) == ((), ())
    assert {name: reading.test.fields[name] for name in CHANGED} == CHANGED


def test_a_number_beside_a_heading_is_told(path: Path) -> None:
    book = openpyxl.load_workbook(path)
    book["Settings"].cell(FIRST, FORM_VALUE + 1).value = 3
    book.save(path)
    assert f'the field "{next(iter(TOPICS))}" is not known' in " ".join(read_workbook(path).told)


@pytest.mark.parametrize("name", ["flight_share_low", "score_limit", "budget_figure"])
def test_a_note_on_a_setting_stays_with_it(tmp_path: Path, name: str) -> None:
    note = CellNote(
        "as in the club's rules", "Invented", "Settings", list(SETTINGS.fields).index(name), "SettingsForm", "Value"
    )
    test = replace(on_purpose({}), extras=Extras({}, (note,), ()))
    path = write_input_workbook(test, tmp_path / "in.xlsx")
    sheet = openpyxl.load_workbook(path)["Settings"]
    noted = [cell for row in sheet.iter_rows() for cell in row if cell.comment]
    assert [str(sheet.cell(cell.row or 0, 1).value) for cell in noted] == [f"{SETTINGS.fields[name].label} *"]
    assert [kept.row for kept in read_workbook(path).test.extras.notes] == [note.row]
