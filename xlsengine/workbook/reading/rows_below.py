"""Rows typed below a table: no formula sees them, so they are read where they follow it, and never left out in silence."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from xlsengine.errors import Reason
from xlsengine.workbook.reading.cells import Formula, Grid, content_of
from xlsengine.workbook.reading.findings import Findings
from xlsengine.workbook.reading.package import Area

_TITLE_LINES = 2  # title and meaning stand above a table that follows another


def taken_in(area: Area, grid: Grid, columns: Collection[int], neighbours: Sequence[Area]) -> Area:
    """Return the table with the rows that follow it without a gap; formulas below it, such as means, end it."""
    bottom = area.bottom
    if area.last != area.bottom:
        return area
    while mine := _mine(grid, bottom + 1, columns, neighbours):
        if any(isinstance(grid[bottom + 1][column], Formula) for column in mine):
            break
        bottom += 1
    return replace(area, last=bottom, bottom=bottom)


def tell_rows_below(
    area: Area, taken: Area, grid: Grid, columns: Collection[int], neighbours: Sequence[Area], findings: Findings
) -> None:
    """Tell of the rows that were taken in below a table, and keep a fault for readings further below."""
    if taken.bottom > area.bottom:
        rows = list(range(area.bottom + 1, taken.bottom + 1))
        findings.tell(f"{_span(area, rows, columns)}: {_counted(rows)} below the table {area.name}, read as part of it")
    stray = list(_stray_rows(taken, grid, columns, neighbours))
    if stray:
        findings.fault(
            Reason.STRAY_CELLS,
            _span(area, stray, columns),
            "",
            f"{_counted(stray)} below the table {area.name}, which ends at row {area.bottom + 1}",
            "every row inside the table",
            "drag the table's lower right corner down over them, or move them up into its blank rows",
        )


def _span(area: Area, rows: Sequence[int], columns: Collection[int]) -> str:
    last = area.place(rows[-1], max(columns)).rpartition("!")[2]
    return f"{area.place(rows[0], min(columns))}:{last}"


def _counted(rows: Sequence[int]) -> str:
    return "1 row" if len(rows) == 1 else f"{len(rows)} rows"


def _stray_rows(area: Area, grid: Grid, columns: Collection[int], neighbours: Sequence[Area]) -> Iterator[int]:
    """Yield rows that follow the table without a gap, and further ones that hold numbers as its rows do."""
    unbroken = area.bottom
    for row in sorted(row for row in grid if row > area.bottom):
        mine = _mine(grid, row, columns, neighbours)
        numbers = sum(isinstance(content_of(grid[row][column]), float) for column in mine)
        if mine and row == unbroken + 1:
            unbroken = row
        elif numbers < 2:
            continue
        yield row


def _mine(grid: Grid, row: int, columns: Collection[int], neighbours: Sequence[Area]) -> list[int]:
    """Return the columns in which a row holds something that belongs to no other table."""
    held = grid.get(row, {})
    return [c for c in columns if content_of(held.get(c)) is not None and not _belongs_to(neighbours, row, c)]


def _belongs_to(neighbours: Sequence[Area], row: int, column: int) -> bool:
    return any(area.top - _TITLE_LINES <= row <= area.bottom and column in area.columns for area in neighbours)
