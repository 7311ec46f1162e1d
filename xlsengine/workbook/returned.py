"""What a results workbook that comes back says of itself: what it was written from, and how its derived cells fared."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from xlsengine.bench.inputs.bench_test import BenchTest, input_hash
from xlsengine.bench.model import TABLES
from xlsengine.errors import WorkbookUnreadable
from xlsengine.study.assessment import Assessment, assess
from xlsengine.workbook import input_copy
from xlsengine.workbook.derived_cells import (
    DerivedCell,
    FileCells,
    derived_cells,
    overwritten_cells,
    read_for_the_first_time,
    rows_were_inserted,
)
from xlsengine.workbook.layout import HASH_PROPERTY, SCHEMA_VERSION
from xlsengine.workbook.reading.cells import content_of
from xlsengine.workbook.reading.package import open_package
from xlsengine.workbook.reading.reader import Reading
from xlsengine.workbook.results import results_layout

EARLIER = (
    "an earlier version of this program wrote it, so what was changed since cannot be told; its readings are taken as they "
    "stand"
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

    written: Assessment | None
    derived: tuple[DerivedCell, ...]
    told: tuple[str, ...]

    @property
    def before(self) -> BenchTest | None:
        """Return the test that it was written from."""
        return None if self.written is None else self.written.test


def read_returned(path: Path, reading: Reading) -> Returned | None:
    """Return what a results workbook says of itself, `reading` being what was read from it; None for other workbooks.

    What cannot be read of its computed sheets is told: the readings count, and they were read.
    """
    try:
        return _read_returned(path, reading)
    except WorkbookUnreadable as error:
        return Returned(None, (), (f"{error}; so what was changed on its computed sheets cannot be told",))


def _read_returned(path: Path, reading: Reading) -> Returned | None:
    with open_package(path) as package:
        written_as = package.custom_property(HASH_PROPERTY)
        if written_as is None:
            return None
        if reading.contents.schema_version not in (None, SCHEMA_VERSION):
            return Returned(None, (), (EARLIER,))
        cells = FileCells(package, reading.contents, (input_copy.NAME,))
    before, told = _before(cells, written_as)
    if before is None:
        return Returned(None, tuple(derived_cells(cells, reading.test, {})), told)
    written = assess(before)
    lengths = {name: written.scope.rows(name) for name in TABLES}
    lengths |= {name: block.rows for name, block in results_layout(written).blocks.items()}
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
