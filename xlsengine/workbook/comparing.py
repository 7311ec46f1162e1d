"""Comparing workbooks: two files, or a results workbook that came back with what it was written from."""

from dataclasses import dataclass, replace
from pathlib import Path

from xlsengine.bench.declaring.declare import Form
from xlsengine.bench.inputs.bench_test import BenchTest, input_hash
from xlsengine.bench.inputs.extras import EXTRA
from xlsengine.bench.inputs.motor import test_id
from xlsengine.bench.model import TABLES
from xlsengine.errors import WorkbookUnreadable
from xlsengine.study.assessment import Assessment, assess
from xlsengine.study.changes import Change, Changes, changes
from xlsengine.workbook import input_copy
from xlsengine.workbook.change_report import ChangeReport, place_in_words
from xlsengine.workbook.derived_cells import (
    DerivedCell,
    FileCells,
    derived_cells,
    overwritten_cells,
    read_for_the_first_time,
    rows_were_inserted,
)
from xlsengine.workbook.layout import (
    RESULTS_PROPERTY,
    RESULTS_VERSION,
    SCHEMA_VERSION,
    SHEETS,
    table_name,
)
from xlsengine.workbook.reading.area_reader import Position
from xlsengine.workbook.reading.cells import content_of
from xlsengine.workbook.reading.package import open_package
from xlsengine.workbook.reading.reader import Reading, Where, read_sound

# --- what a results workbook that comes back says of itself -----------------------------------------------------

EARLIER = (
    "an earlier version of this program wrote it, so what was changed since cannot be told; its readings are taken as they "
    "stand"
)
OTHER_CELLS = (
    "another version of this program wrote it, so whether computed cells were typed over cannot be told; they are computed "
    "again"
)
LOST = "the workbook does not carry what it was written from any more: what was changed since cannot be told"
DAMAGED = (
    f"the hidden sheet {input_copy.NAME} was changed and is no copy of the inputs: what was changed cannot be told"
)
INSERTED = (
    "rows were inserted into or deleted from an input table: what other sheets of that workbook show may leave them out; "
    "the new results count them"
)
FIRST_READ = (
    "a speed, torque or motor temperature was typed where none had been read: the workbook did not compute what follows "
    "from it; the new results do"
)


@dataclass(frozen=True)
class Returned:
    """A results workbook that came back: what it was written from (None: not known), and its doubtful derived cells."""

    written: Assessment | None = None
    derived: tuple[DerivedCell, ...] = ()
    told: tuple[str, ...] = ()


def read_returned(path: Path, reading: Reading) -> Returned | None:
    """Return what a results workbook says of itself, `reading` being what was read from it; None for other workbooks.

    What cannot be read of its computed sheets is told: the readings count, and they were read.
    """
    try:
        return _read_returned(path, reading)
    except WorkbookUnreadable as error:
        return Returned(told=(f"{error}; so what was changed on its computed sheets cannot be told",))


def _read_returned(path: Path, reading: Reading) -> Returned | None:
    contents = reading.contents
    if contents.written_from is None:
        return None
    if contents.schema_version not in (None, SCHEMA_VERSION):
        return Returned(told=(EARLIER,))
    alike = contents.properties.get(RESULTS_PROPERTY) == RESULTS_VERSION
    with open_package(path) as package:
        cells = FileCells(package, reading, (input_copy.NAME,))
    before, told = _before(cells, contents.written_from)
    if before is None:
        return Returned(None, tuple(derived_cells(cells, reading.test, {})) if alike else (), told)
    written = assess(before)
    if not alike:
        return Returned(written, (), (*told, OTHER_CELLS))
    lengths = {name: written.scope.rows(name) for name in TABLES}
    if rows_were_inserted(cells, lengths):
        told = (*told, INSERTED)
    if read_for_the_first_time(written.scope, reading.test):
        told = (*told, FIRST_READ)
    doubtful = derived_cells(cells, reading.test, lengths, written.scope)
    return Returned(written, (*doubtful, *overwritten_cells(cells, reading.test, written)), told)


def _before(cells: FileCells, written_as: str) -> tuple[BenchTest | None, tuple[str, ...]]:
    """Return the test that the workbook was written from, or why it is not known."""
    grid = cells.grid(input_copy.NAME)
    if not grid:
        return None, (LOST,)
    pieces = [content_of(grid[row].get(0)) for row in sorted(grid) if row >= input_copy.FIRST_ROW]
    try:
        before = input_copy.decoded("".join(str(piece) for piece in pieces))
    except ValueError:
        return None, (DAMAGED,)
    return (before, ()) if input_hash(before) == written_as else (None, (DAMAGED,))


# --- what was changed ------------------------------------------------------------------------------------------

_FORM_OF = {name: part for parts in SHEETS.values() for part in parts if isinstance(part, Form) for name in part.fields}


def compare_workbooks(before: str | Path, after: str | Path) -> ChangeReport:
    """Say what was changed from one workbook to another, inputs or results.

    The report holds every change of a reading or setting with its cell, what that did to the headline figures, and the
    derived cells of `after` that were typed over or not recalculated; `lines` gives it in words, `as_dict` as plain
    values. Raises `WorkbookFaulty` when either has faults, `WorkbookUnreadable` when it cannot be opened.
    """
    old, new = map(read_sound, (before, after))
    found = changes(assess(old.test), assess(new.test), (_typed(old), _typed(new)))
    returned = read_returned(Path(after), new) or Returned()
    return _report(found, new, old.where, replace(returned, told=(*returned.told, *new.told)))


def _report(found: Changes, reading: Reading, before: Where, returned: Returned) -> ChangeReport:
    """Give changes their places: cells of the changed workbook, else where they were before."""
    places = tuple(_file_place(change, reading.where, before) for change in found.typed)
    numbers = (cell for cell in reading.cells if cell.found.startswith('"') and cell.taken[:1] in "-.0123456789")
    return ChangeReport(found, places, returned.derived, returned.told, tuple(numbers))


def _typed(reading: Reading) -> BenchTest:
    """Return the test as it was typed: without the name of its file in the place of a blank id."""
    if not reading.named_by_file:
        return reading.test
    return replace(reading.test, fields={**reading.test.fields, test_id.name: None})


def _file_place(change: Change, after: Where, before: Where) -> str:
    """Return the cell of a change in the changed workbook, or in words where it has no such cell."""
    if not change.table:
        form = _FORM_OF[change.name]
        position = after.get(table_name(form))
        return (position and position.field(change.name)) or f"{form.name} (no such cell)"
    if change.row_after is not None and change.table in after:
        return _cell_place(change, after[change.table], change.row_after)
    if change.row_before is not None and change.table in before:
        return f"{_cell_place(change, before[change.table], change.row_before)} (before)"
    return place_in_words(change)


def _cell_place(change: Change, position: Position, row: int) -> str:
    if row > len(position.rows):
        return place_in_words(change)
    column = position.area.left
    if change.name.startswith(EXTRA):
        header = change.name.removeprefix(EXTRA)
        column = next((c for c, text in position.reader.headers.items() if " ".join(text.split()) == header), column)
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
    return _report(found, reading, {}, returned)
