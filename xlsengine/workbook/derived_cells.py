"""Derived cells of a results workbook that came back: typed over, without their formula, or holding another value."""

import math
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import partial
from typing import Any

from xlsengine.bench.declaring.declare import Field, Quantity, Table
from xlsengine.bench.inputs.bench_test import BenchTest, array_of
from xlsengine.bench.inputs.forms import INPUT_TABLES
from xlsengine.bench.model import COMPARISON_PARTS, FIGURE_QUANTITIES, FIGURES_WRITTEN, TABLES
from xlsengine.study.assessment import Assessment
from xlsengine.study.changes import row_pairs
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.layout import cell_address, quoted
from xlsengine.workbook.reading.cells import Formula, Grid, Stored, Unstored, content_of, unescaped
from xlsengine.workbook.reading.contents import decoder_of
from xlsengine.workbook.reading.extras import plain_value
from xlsengine.workbook.reading.findings import key
from xlsengine.workbook.reading.package import Area, Package
from xlsengine.workbook.reading.reader import Reading
from xlsengine.workbook.unread import unread_columns

TOLERANCE = 1e-7
"""Relative; programs store 15 digits and add up in another order."""
Plain = float | str | None


class How(StrEnum):
    """What can be wrong with a derived cell."""

    TYPED_OVER = "typed over"
    NO_FORMULA = "without its formula"
    DIFFERS = "not what its formula gives"
    STALE = "from before the edit"


@dataclass(frozen=True)
class DerivedCell:
    """A derived cell that does not hold what it should: its place, and the values stored and recomputed.

    `shown` is the number of decimals that its sheet shows. What no formula holds counts as recomputed as it was written.
    """

    place: str
    label: str
    how: How
    stored: Plain
    recomputed: Plain
    shown: int = 2


class FileCells:
    """The cells of a workbook file on the sheets that hold declared tables or named cells, and on those asked for."""

    def __init__(self, package: Package, reading: Reading, sheets: Collection[str] = ()) -> None:
        self.where, self._areas = reading.where, reading.contents.areas
        self.names = package.named_cells()
        self._grids: dict[str, Grid] = dict(reading.contents.grids)
        decoder, parts = decoder_of(package), package.sheets()
        homes = {area.sheet for area in self.areas().values()} | {sheet for sheet, _, _ in self.names.values()}
        for sheet in (homes | set(sheets)) & parts.keys() - self._grids.keys():
            self._grids[sheet] = package.cells(parts[sheet], decoder)

    def grid(self, sheet: str) -> Grid:
        """Return the cells of a sheet; none where there is no such sheet."""
        return self._grids.get(sheet, {})

    def named(self, name: str) -> Stored:
        """Return what a named cell holds."""
        sheet, row, column = self.names[name]
        return self.grid(sheet).get(row, {}).get(column)

    def place(self, name: str) -> str:
        """Return the address of a named cell."""
        sheet, row, column = self.names[name]
        return f"{quoted(sheet)}!{cell_address(row, column)}"

    def areas(self) -> dict[str, Area]:
        """Return the Excel tables that are declared, by name."""
        return {area.name: area for area in reversed(self._areas) if area.name in TABLES}


@dataclass
class FileScope(Scope):
    """The values of a test in tables as long as they are in a file."""

    lengths: Mapping[str, int] = field(default_factory=dict)

    def rows(self, table: str) -> int:
        """Return the length of a table on its sheet."""
        return self.lengths[table] if table in self.lengths else super().rows(table)


def rows_were_inserted(cells: FileCells, lengths: Mapping[str, int]) -> bool:
    """Tell whether an input table is longer or shorter than it was written, rows typed below it included."""
    where = {table.name: cells.where[table.name] for table in INPUT_TABLES if table.name in cells.where}
    return any(_length(at.area) != lengths[name] for name, at in where.items() if name in lengths)


def read_for_the_first_time(before: Scope, test: BenchTest) -> bool:
    """Tell whether a test has readings in a column that was empty, so that its figures were not written."""
    return not set(unread_columns(before)) <= set(unread_columns(Scope(test)))


def derived_cells(
    cells: FileCells, test: BenchTest, lengths: Mapping[str, int], before: Scope | None = None
) -> Iterator[DerivedCell]:
    """Yield the doubtful derived cells of a file whose inputs are `test`.

    `lengths` are those of the tables as they were written; without them values are not compared. Where rows were
    inserted, only the input tables are: other sheets leave out a reading in a row that has no formulas.
    `before` holds the values as they were written: a cell that still holds its own was not recalculated since. Where
    something was read for the first time, values are not compared: the workbook did not compute what follows from it.
    """
    areas, inputs = cells.areas(), {table.name for table in INPUT_TABLES}
    read = {name: position.area for name, position in cells.where.items() if name in TABLES}
    all_lengths = {**lengths, **{name: _length(area) for name, area in {**areas, **read}.items()}}
    written = _written(cells, areas)
    scope = FileScope(_with_blank_rows(cells, test, all_lengths), written, lengths=all_lengths)
    before = _with_peers(before, written)
    compare = bool(lengths) and not rows_were_inserted(cells, lengths)
    if before is not None and read_for_the_first_time(before, test):
        compare, inputs = False, set()
    for name, area in areas.items():
        yield from _of_table(cells, area, TABLES[name], scope, before, compare or (bool(lengths) and name in inputs))
    for name, quantity in FIGURE_QUANTITIES.items():
        if name in cells.names:
            earlier = partial(_before, before, "", name, 0)
            found = _judged(cells.named(name), scope.named(name), cells.place(name), quantity, compare, earlier)
            yield from [found] if found else []


def _with_peers(before: Scope | None, written: Mapping[tuple[str, str], Any]) -> Scope | None:
    """Put what the file says of other motors, which is no input of its test, beside the values as they were written."""
    peers = {part.name for part in COMPARISON_PARTS}
    typed = {key: held for key, held in written.items() if key[0] in peers}
    return Scope(before.test, {**before.written, **typed}) if before is not None and typed else before


def overwritten_cells(cells: FileCells, test: BenchTest, before: Assessment) -> Iterator[DerivedCell]:
    """Yield the cells that no formula holds and that do not hold what was written there any more.

    `test` is what the file's inputs are; rows that were moved are looked for where they are now, and a column that stayed
    behind as it was written is not told cell by cell.
    """
    for name, declared in FIGURES_WRITTEN.items():
        if name in cells.names:
            yield from _overwritten(cells.named(name), before.scope.named(name), cells.place(name), declared)
    for table in (table for table in INPUT_TABLES if table.written and table.name in cells.where):
        at, pairs = cells.where[table.name], row_pairs(table.name, before.test, test)
        for name, declared in table.written.items():
            if name not in at.columns:
                continue
            values = before.scope.column(table.name, name)
            both = [(p.before, p.after) for p in pairs if p.before is not None and p.after is not None]
            held = [_at(cells, at.area, at.rows[new], at.columns[name]) for _, new in both]
            if Counter(map(_key, map(_plain, held))) == Counter(_key(_plain_value(values[old])) for old, _ in both):
                continue  # readings were sorted without it: that rows were moved is told
            for stored, (old, new) in zip(held, both, strict=True):
                yield from _overwritten(stored, values[old], at.place(new, name), declared)


def _key(held: Plain) -> Plain:
    """Return what is the same for values that are: programs store 15 digits."""
    return f"{held:.12g}" if isinstance(held, float) else held


def _overwritten(stored: Stored, written: Any, place: str, declared: Field) -> Iterator[DerivedCell]:
    held, wanted = _plain(stored), _plain_value(written)
    if not _same(held, wanted):
        decimals = 0 if declared.kind == "whole" else declared.decimals
        yield DerivedCell(place, declared.header, How.TYPED_OVER, held, wanted, decimals)


def _with_blank_rows(cells: FileCells, test: BenchTest, lengths: Mapping[str, int]) -> BenchTest:
    """Put the blank rows of the file's tables back between the readings: formulas count them."""
    tables = {}
    where = cells.where
    for name, columns in test.tables.items():
        position, declared = where.get(name), TABLES[name].fields
        if position is None or len(position.rows) != test.rows(name):
            tables[name] = columns
            continue
        at = [row - position.area.first for row in position.rows]
        tables[name] = {
            each: array_of(declared[each], _spread(column, at, lengths[name])) for each, column in columns.items()
        }
    return replace(test, tables=tables)


def _spread(values: Any, at: list[int], length: int) -> list[Any]:
    spread: list[Any] = [None] * length
    for value, row in zip(values.tolist(), at, strict=True):
        spread[row] = value
    return spread


def _written(cells: FileCells, areas: Mapping[str, Area]) -> dict[tuple[str, str], Any]:
    """Return the columns and figures that no formula holds, as they stand in the file."""
    written: dict[tuple[str, str], Any] = {}
    for name, declared in FIGURES_WRITTEN.items():
        if name in cells.names:
            written["", name] = _column(declared, [_plain(cells.named(name))])[0]
    for name, area in areas.items():
        places = {key(header): column for column, header in zip(area.columns, area.headers, strict=True)}
        for column, held in TABLES[name].written.items():
            if key(held.header) in places:
                texts = [_plain(_at(cells, area, row, places[key(held.header)])) for row in _rows(area)]
                written[name, column] = _column(held, texts)
    return written


def _column(declared: Field, held: list[Plain]) -> Any:
    """Return what stands in cells as values of a field; a text in a number's place counts as blank."""
    return array_of(declared, held if declared.is_text else [one if isinstance(one, float) else None for one in held])


def _rows(area: Area) -> range:
    return range(area.first, area.last + 1)


def _length(area: Area) -> int:
    return max(1, len(_rows(area)))


def _at(cells: FileCells, area: Area, row: int, column: int) -> Stored:
    return cells.grid(area.sheet).get(row, {}).get(column)


def _of_table(
    cells: FileCells, area: Area, table: Table, scope: Scope, before: Scope | None, compare: bool
) -> Iterator[DerivedCell]:
    by_header = {key(quantity.header): quantity for quantity in table.quantities.values()}
    inputs = [column for column, header in zip(area.columns, area.headers, strict=True) if key(header) not in by_header]
    for column, header in zip(area.columns, area.headers, strict=True):
        quantity = by_header.get(key(header))
        if quantity is None:
            continue
        values = scope.column(table.name, quantity.name)
        for place, row in enumerate(_rows(area)):
            stored = _at(cells, area, row, column)
            if stored is None and not any(_at(cells, area, row, other) is not None for other in inputs):
                continue
            earlier = partial(_before, before, table.name, quantity.name, place)
            found = _judged(stored, values[place], area.place(row, column), quantity, compare, earlier)
            yield from [found] if found else []


def _before(before: Scope | None, table: str, name: str, row: int) -> Any:
    """Return what was written into a cell of a table, or of a figure where the table is ""."""
    if before is None or not table:
        return None if before is None else before.named(name)
    values = before.column(table, name)
    return values[row] if row < len(values) else None


def _judged(
    stored: Stored, value: Any, place: str, quantity: Quantity, compare: bool, earlier: Callable[[], Any]
) -> DerivedCell | None:
    """Return what is wrong with a derived cell, if anything; `earlier` tells what was written there."""
    held, wanted = _plain(stored), _plain_value(value)
    how = None
    if not isinstance(stored, Formula):
        how = How.NO_FORMULA if held is None else How.TYPED_OVER
    elif isinstance(stored.value, Unstored):  # a blank text looks the same
        how = None if wanted is None else How.STALE
    elif compare and not _same(held, wanted):
        how = How.STALE if _same(held, _plain_value(earlier())) else How.DIFFERS
    return None if how is None else DerivedCell(place, quantity.header, how, held, wanted, quantity.shown)


def _plain_value(value: Any) -> Plain:
    """Return a value of the engine as a cell holds it: None for blanks."""
    if value is None or value != value or value == "":
        return None
    return value if isinstance(value, str) else float(value)


def _same(one: Plain, other: Plain) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=TOLERANCE, abs_tol=1e-12)
    if isinstance(one, str) and isinstance(other, str):
        return unescaped(one).split() == unescaped(other).split()  # reading takes spare spaces off names
    return one == other


def _plain(stored: Stored) -> Plain:
    """Return what a cell holds as a number or text."""
    found = plain_value(content_of(stored))
    return found if found is None else float(found) if isinstance(found, bool | int | float) else str(found)
