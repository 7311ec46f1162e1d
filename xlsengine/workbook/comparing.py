"""Comparing workbooks: two files, or a results workbook that came back with what it was written from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from xlsengine.bench.declaring.declare import Form
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.bench.inputs.extras import EXTRA
from xlsengine.bench.inputs.motor import test_id
from xlsengine.errors import WorkbookFaulty
from xlsengine.study.assessment import Assessment, assess
from xlsengine.study.changes import Change, Changes, changes
from xlsengine.workbook.change_report import ChangeReport, place_in_words
from xlsengine.workbook.layout import SHEETS, table_name
from xlsengine.workbook.reading.findings import ReadCell
from xlsengine.workbook.reading.positions import Position, positions
from xlsengine.workbook.reading.reader import Reading, read_workbook
from xlsengine.workbook.returned import read_returned

_FORM_OF = {name: part for parts in SHEETS.values() for part in parts if isinstance(part, Form) for name in part.fields}


def compare_workbooks(before: str | Path, after: str | Path) -> ChangeReport:
    """Say what was changed from one workbook to another, inputs or results.

    The report holds every change of a reading or setting with its cell, what that did to the headline figures, and the
    derived cells of `after` that were typed over or not recalculated; `lines` gives it in words, `as_dict` as plain
    values. Raises `WorkbookFaulty` when either has faults, `WorkbookUnreadable` when it cannot be opened.
    """
    readings = [_sound(Path(path)) for path in (before, after)]
    old, new = (assess(reading.test) for reading in readings)
    found = changes(old, new, (_typed(readings[0]), _typed(readings[1])))
    where = [positions(reading.contents) for reading in readings]
    returned = read_returned(Path(after), readings[1])
    places = tuple(_file_place(change, where[1], where[0]) for change in found.typed)
    derived, told = (returned.derived, returned.told) if returned else ((), ())
    return ChangeReport(found, places, derived, (*told, *readings[1].told), _texts(readings[1]))


def _sound(path: Path) -> Reading:
    reading = read_workbook(path)
    if reading.faults:
        raise WorkbookFaulty(reading.faults)
    return reading


def _texts(reading: Reading) -> tuple[ReadCell, ...]:
    """Return the cells in which a text was read as a number."""
    return tuple(cell for cell in reading.cells if cell.found.startswith('"') and cell.taken[:1] in "-.0123456789")


def _typed(reading: Reading) -> BenchTest:
    """Return the test as it was typed: without the name of its file in the place of a blank id."""
    if not reading.named_by_file:
        return reading.test
    return replace(reading.test, fields={**reading.test.fields, test_id.name: None})


def _file_place(change: Change, after: Mapping[str, Position], before: Mapping[str, Position]) -> str:
    """Return the cell of a change in the changed workbook, or in words where it has no such cell."""
    if not change.table:
        return _field_place(change, after)
    if change.row_after is not None and change.table in after:
        return _cell_place(change, after[change.table], change.row_after)
    if change.row_before is not None and change.table in before:
        return f"{_cell_place(change, before[change.table], change.row_before)} (before)"
    return place_in_words(change)


def _field_place(change: Change, after: Mapping[str, Position]) -> str:
    form = _FORM_OF[change.name]
    position = after.get(table_name(form))
    return (position and position.field(change.name)) or f"{form.name} (no such cell)"


def _cell_place(change: Change, position: Position, row: int) -> str:
    if row > len(position.rows):
        return place_in_words(change)
    column = position.area.left
    if change.name.startswith(EXTRA):
        header = change.name.removeprefix(EXTRA)
        column = next((c for c, text in position.headers.items() if " ".join(text.split()) == header), column)
    elif change.name:
        column = position.columns.get(change.name, column)
    return position.area.place(position.rows[row - 1], column)


def returned_changes(path: Path, reading: Reading, assessment: Assessment) -> ChangeReport | None:
    """Return what was changed in a results workbook since it was written; None for other workbooks.

    `reading` is what was read from it and `assessment` what that comes to; places are those in the workbook that came
    back.
    """
    returned = read_returned(path, reading)
    if returned is None:
        return None
    found = Changes((), ())
    if returned.written is not None:
        found = changes(returned.written, assessment, (returned.written.test, _typed(reading)))
    where = positions(reading.contents)
    places = tuple(_file_place(change, where, {}) for change in found.typed)
    return ChangeReport(found, places, returned.derived, returned.told, _texts(reading))
