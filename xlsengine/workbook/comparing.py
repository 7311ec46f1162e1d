"""Comparing workbooks: two files, or a results workbook that came back with what it was written from; and what is said."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from xlsengine.bench.declaring.declare import Form
from xlsengine.bench.inputs.bench_test import BenchTest, input_hash
from xlsengine.bench.inputs.extras import EXTRA
from xlsengine.bench.inputs.motor import test_id
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.bench.model import TABLES
from xlsengine.errors import WorkbookUnreadable
from xlsengine.study.assessment import Assessment, assess
from xlsengine.study.changes import Change, Changes, Kind, changes, text_of
from xlsengine.workbook import derived_cells as d
from xlsengine.workbook import input_copy
from xlsengine.workbook.layout import (
    RESULTS_PROPERTY,
    RESULTS_VERSION,
    SCHEMA_VERSION,
    SHEETS,
    Layout,
    cell_address,
    quoted,
    table_name,
)
from xlsengine.workbook.reading.area_reader import Position
from xlsengine.workbook.reading.cells import content_of
from xlsengine.workbook.reading.findings import ReadCell
from xlsengine.workbook.reading.package import open_package
from xlsengine.workbook.reading.reader import Reading, Where, read_sound

MOST_LINES = 40
_BY_HAND = (d.How.TYPED_OVER, d.How.NO_FORMULA)
"""What a person does to a cell: typing over it, or emptying it."""
_HOME = {table_name(part): sheet for sheet, parts in SHEETS.items() for part in parts}


@dataclass(frozen=True)
class ChangeReport:
    """Changes with their places, doubtful derived cells of the changed workbook, and what else is to be told.

    `texts` are the cells in which a text was read as a number: formulas of the workbook could not reckon with those.
    """

    found: Changes
    places: tuple[str, ...] = ()
    derived: tuple[d.DerivedCell, ...] = ()
    told: tuple[str, ...] = ()
    texts: tuple[ReadCell, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Tell whether nothing was changed and no derived cell is doubtful."""
        return not (self.found.typed or self.derived)

    def as_dict(self) -> dict[str, Any]:
        """Return the report as plain values, for ``--json``."""
        typed = [
            {
                **asdict(change),
                "kind": str(change.kind),
                "before": _json(change.before),
                "after": _json(change.after),
                "place": place,
            }
            for change, place in zip(self.found.typed, self.places, strict=True)
        ]
        effects = [_picked(effect, "label unit before after note changed") for effect in self.found.effects]
        derived = [_picked(cell, "place label how stored recomputed") for cell in self.derived]
        return {"changes": typed, "effects": effects, "derived_cells": derived, "told": list(self.told)}

    def lines(self) -> Iterator[str]:
        """Yield the report as lines of text: what was typed, over formulas first, then what came of it."""
        yield from derived_lines(self.derived, self.texts, self._typed_lines())
        yield from self.told

    def _typed_lines(self) -> Iterator[str]:
        for change, place in list(zip(self.found.typed, self.places, strict=True))[:MOST_LINES]:
            yield line_of(change, place)
        if len(self.found.typed) > MOST_LINES:
            yield f"and {len(self.found.typed) - MOST_LINES} more; --json lists them all"
        if self.found.effects and not self.found.typed:  # without effects it is not known what was there before
            yield "nothing that is typed was changed"
        for effect in self.found.effects:
            if effect.changed:
                note = f" ({effect.note})" if effect.note else ""
                before, after = effect.told
                yield f"{effect.label}: {before} → {after}{note}"


def _picked(found: object, names: str) -> dict[str, Any]:
    return {name: getattr(found, name) for name in names.split()}


def _json(value: Any) -> Any:
    return value.isoformat() if isinstance(value, datetime.date | datetime.time) else value


def line_of(change: Change, place: str) -> str:
    """Return a change as a line of text."""
    if change.kind is Kind.CHANGED:
        return f"{place} {change.label}: {text_of(change.before)} → {text_of(change.after)}"
    if change.kind is Kind.MOVED:
        return f"{place}: {change.table}, row {change.row_before} moved to row {change.row_after}"
    if change.kind is Kind.SORTED:
        return f"{change.table}: rows were sorted or moved: {change.before} to {change.after}"
    told = change.after if change.kind is Kind.ADDED else change.before
    return f"{place}: {change.kind}: {told}"


def derived_lines(
    derived: Sequence[d.DerivedCell], texts: Sequence[ReadCell] = (), between: Iterable[str] = ()
) -> Iterator[str]:
    """Yield a line for each cell typed over, one for all that follow from those, and lines for what else is doubtful.

    What no person touched goes by texts, those that were read as numbers, or by cells that were typed over; `between` are
    lines before it.
    """
    causes = [cell for cell in derived if cell.how in _BY_HAND]
    rest = [cell for cell in derived if cell.how not in _BY_HAND]
    yield from _cell_lines(causes)
    yield from between
    doubted = (d.How.DIFFERS, d.How.STALE) if texts else (d.How.DIFFERS,) if causes else ()
    following = [cell for cell in rest if cell.how in doubted]
    told = f"{len(following)} derived cell{' follows' if len(following) == 1 else 's follow'} from"
    if following and texts:
        more = f" and {len(texts) - 1} more" * (len(texts) > 1)
        yield f"{told} text that was read as a number ({texts[0]}{more}); written again"
    elif following:
        first = _first(following)
        yield f"and {told} what was typed over ({first.place} {first.label}: {_held(first)}); written again"
    yield from _cell_lines([cell for cell in rest if cell not in following])


def _cell_lines(derived: Sequence[d.DerivedCell]) -> Iterator[str]:
    """Yield a line for each cell typed over, for each column that differs, and one for all that are out of date."""
    alike: dict[tuple[str, ...], list[d.DerivedCell]] = defaultdict(list)
    for cell in derived:
        alike[cell.how, *_told_apart_by(cell)].append(cell)
    for cells in list(alike.values())[:MOST_LINES]:
        yield _derived_line(cells)
    if len(alike) > MOST_LINES:
        yield f"and derived cells of {len(alike) - MOST_LINES} more places; --json lists them all"


def _first(cells: Sequence[d.DerivedCell]) -> d.DerivedCell:
    """Return the cell to name of many: of the readings, where there is one."""
    return next((cell for cell in cells if cell.place.startswith(f"{READINGS.name}!")), cells[0])


def _told_apart_by(cell: d.DerivedCell) -> tuple[str, ...]:
    """Return what a line is about besides the kind of trouble: the cell, its column, or nothing more."""
    match cell.how:
        case d.How.STALE:
            return ()
        case d.How.TYPED_OVER:
            return (cell.place,)
    return cell.place.rpartition("!")[0], cell.label


def _derived_line(cells: Sequence[d.DerivedCell]) -> str:
    count, first = len(cells), _first(cells)
    if first.how is d.How.STALE:
        many = f"{count} derived cells hold" if count > 1 else "1 derived cell holds"
        return (
            f"{many} values from before the edit: the program that saved it did not recalculate "
            f"({first.place} {first.label}: {_held(first)}); written again"
        )
    more = "" if count == 1 else f" and {count - 1} more"
    return f"{first.place}{more} {first.label}: {first.how}: {_held(first)}; not read, and written again"


def _held(cell: d.DerivedCell) -> str:
    """Return what a cell holds and should hold, rounded as its sheet shows them where that tells them apart."""
    rounded = [_shown(value, f".{cell.shown}f") for value in (cell.stored, cell.recomputed)]
    exact = [_shown(value, ".10g") for value in (cell.stored, cell.recomputed)]
    stored, recomputed = rounded if rounded[0] != rounded[1] else exact
    return f"holds {stored}, recomputed {recomputed}"


def _shown(value: float | str | None, decimals: str) -> str:
    return "nothing" if value is None else f'"{value}"' if isinstance(value, str) else f"{value:{decimals}}"


def place_in(layout: Layout, change: Change) -> str:
    """Return the cell of a change in a workbook that is being written; of a removed row, its table and row."""
    if not change.table:
        sheet, row, column = layout.cells[change.name]
        return f"{quoted(sheet)}!{cell_address(row, column)}"
    if change.row_after is None:
        return place_in_words(change)
    block = layout.blocks[change.table]
    column = block.column(change.name) if change.name in block.columns else block.left
    return f"{quoted(block.sheet)}!{cell_address(block.top + change.row_after, column)}"


def place_in_words(change: Change) -> str:
    """Return the row of a change in words, where there is no cell to point at; of a removed row, where it was."""
    if change.row_after is None:
        return f"{_HOME[change.table]}, row {change.row_before} of the table {change.table} before"
    return f"{_HOME[change.table]}, row {change.row_after} of the table {change.table}"


# --- what a results workbook that comes back says of itself -----------------------------------------------------

EARLIER = (
    "an earlier version of this program wrote it, so what was changed since cannot be told; its readings are taken as they "
    "stand"
)
OTHER_CELLS = (
    "another version of this program wrote it, so whether computed cells were typed over cannot be told; they are computed "
    "again"
)
LOST = (
    f"the hidden sheet {input_copy.NAME} is gone or was changed and is no copy of the inputs: what was changed since cannot "
    "be told"
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
    derived: tuple[d.DerivedCell, ...] = ()
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
        cells = d.FileCells(package, reading, (input_copy.NAME,))
    before = _before(cells, contents.written_from)
    if before is None:
        return Returned(None, tuple(d.derived_cells(cells, reading.test, {})) if alike else (), (LOST,))
    written = assess(before)
    if not alike:
        return Returned(written, (), (OTHER_CELLS,))
    lengths = {name: written.scope.rows(name) for name in TABLES}
    inserted, first_read = d.rows_were_inserted(cells, lengths), d.read_for_the_first_time(written.scope, reading.test)
    told = (*[INSERTED] * inserted, *[FIRST_READ] * first_read)
    doubtful = d.derived_cells(cells, reading.test, lengths, written.scope)
    return Returned(written, (*doubtful, *d.overwritten_cells(cells, reading.test, written)), told)


def _before(cells: d.FileCells, written_as: str) -> BenchTest | None:
    """Return the test that the workbook was written from; None where it carries no sound copy of that."""
    grid = cells.grid(input_copy.NAME)
    pieces = [content_of(grid[row].get(0)) for row in sorted(grid) if row >= input_copy.FIRST_ROW]
    try:
        before = input_copy.decoded("".join(str(piece) for piece in pieces))
    except ValueError:
        return None
    return before if input_hash(before) == written_as else None


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
