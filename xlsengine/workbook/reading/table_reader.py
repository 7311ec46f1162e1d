"""Reading an input table: its rows that hold anything, column by column as declared."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from xlsengine.bench.bench_test import Array, Value, array_of
from xlsengine.bench.declare import Table
from xlsengine.bench.readings import READINGS
from xlsengine.errors import Reason
from xlsengine.workbook.reading.area_reader import AreaReader, Findings, counted, key
from xlsengine.workbook.reading.cells import Grid, Row, content_of
from xlsengine.workbook.reading.package import Area

FILL_OR_CLEAR = "fill it in, or clear the whole row"
_TITLE_LINES = 2  # title and meaning stand above a table that follows another


def read_table(
    table: Table, area: Area, grid: Grid, neighbours: Sequence[Area], findings: Findings
) -> dict[str, Array]:
    """Return a table's columns as typed, blank rows left out; derived and unknown columns are not read.

    `neighbours` are the other tables on the sheet: what stands in them is not taken for stray cells below this one.
    """
    reader = AreaReader(area, grid, [declared.header for declared in table.columns.values()], findings)
    sought = {name: reader.column(declared.header) for name, declared in table.fields.items()}
    places = {name: column for name, column in sought.items() if column is not None}
    filled = [row for row in reader.rows if _holds_any(grid[row], places.values())]
    columns = _values(table, reader, places, filled)
    if table is READINGS and not filled:
        _no_readings(area, findings)
    _find_stray_rows(area, grid, places.values(), neighbours, findings)
    reader.tell_unknown_columns()
    _tell_typed_over(table, reader)
    reader.close()
    return {name: array_of(declared, columns[name]) for name, declared in table.fields.items()}


def _holds_any(row: Row, columns: Iterable[int]) -> bool:
    return any(content_of(row.get(column)) is not None for column in columns)


def _values(
    table: Table, reader: AreaReader, places: Mapping[str, int], filled: Sequence[int]
) -> dict[str, list[Value]]:
    columns: dict[str, list[Value]] = {name: [] if name in places else [None] * len(filled) for name in table.fields}
    plan = [(table.fields[name], table.fields[name].header, place, columns[name]) for name, place in places.items()]
    for row in filled:
        for declared, header, place, values in plan:
            values.append(reader.value(declared, row, place, header, FILL_OR_CLEAR))
    return columns


def _no_readings(area: Area, findings: Findings) -> None:
    findings.fault(
        Reason.NO_READINGS, area.place(area.first, area.left), "", "no row filled in",
        f"at least one reading in the table {area.name}", "type the readings, one row each",
    )  # fmt: skip


def _find_stray_rows(
    area: Area, grid: Grid, columns: Collection[int], neighbours: Sequence[Area], findings: Findings
) -> None:
    """Keep a fault for rows typed below the table: no formula sees them, and they would be left out in silence."""
    stray = list(_stray_rows(area, grid, columns, neighbours))
    if not stray:
        return
    first, last = area.place(stray[0], min(columns)), area.place(stray[-1], max(columns)).rpartition("!")[2]
    rows = "1 row" if len(stray) == 1 else f"{len(stray)} rows"
    findings.fault(
        Reason.STRAY_CELLS, f"{first}:{last}", "", f"{rows} below the table {area.name}, which ends at row "
        f"{area.bottom + 1}", "every row inside the table",
        "drag the table's lower right corner down over them, or move them up into its blank rows",
    )  # fmt: skip


def _stray_rows(area: Area, grid: Grid, columns: Collection[int], neighbours: Sequence[Area]) -> Iterator[int]:
    """Yield rows that follow the table without a gap, and further ones that hold numbers as its rows do."""
    unbroken = area.bottom
    for row in sorted(row for row in grid if row > area.bottom):
        mine = [c for c in columns if content_of(grid[row].get(c)) is not None and not _belongs_to(neighbours, row, c)]
        numbers = sum(isinstance(content_of(grid[row][column]), float) for column in mine)
        if mine and row == unbroken + 1:
            unbroken = row
        elif numbers < 2:
            continue
        yield row


def _belongs_to(neighbours: Sequence[Area], row: int, column: int) -> bool:
    return any(area.top - _TITLE_LINES <= row <= area.bottom and column in area.columns for area in neighbours)


def _tell_typed_over(table: Table, reader: AreaReader) -> None:
    """Tell of values that were typed over the formulas of derived columns."""
    derived = {key(quantity.header): quantity.header for quantity in table.quantities.values()}
    for column, text in reader.headers.items():
        typed = reader.typed_places(column) if key(text) in derived else []
        if typed:
            holds = counted(typed, "cell was typed over its formula", "cells were typed over their formulas")
            reader.findings.tell(f"{derived[key(text)]}: {holds}; not read")
