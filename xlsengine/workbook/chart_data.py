"""The cells that charts are drawn from: numbers, and ``#N/A`` where there is nothing to draw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from xlsxwriter.utility import xl_range_abs, xl_rowcol_to_cell

from xlsengine.bench import measured_points as m
from xlsengine.bench import readings as r
from xlsengine.bench import speed_rows as t
from xlsengine.bench import summary as g
from xlsengine.bench.counting import counted_cells, counts
from xlsengine.bench.model import TABLES
from xlsengine.bench.prediction_trials import trials, tried_thrust
from xlsengine.bench.round_thrusts import round_thrusts
from xlsengine.bench.row_uncertainty import MARGINS
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Node, join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.layout import quoted

LEFT, TOP = 30, 4
MOST_ROWS = 2000
MOST_CELL_COUNTS = 4
MOST_GROUPS = 12


@dataclass(frozen=True)
class Drawn:
    """One series: its name's cell, and the ranges of its x and y, all as chart references; a `line` has no marks.

    `margin` is the range of what stands behind “±”, for error bars, and `margins` the numbers there, None for blank.
    """

    name: str
    x: str
    y: str
    line: bool = False
    margin: str = ""
    margins: tuple[float | None, ...] = ()


def cell_count(place: int) -> Node:
    """Return the `place`-th smallest cell count among the readings that count, from 1."""
    found: Node = Constant(0.0)
    for _ in range(place):
        above = (Condition(counted_cells, ">", found),)
        found = Aggregate("largest", (counted_cells,), above, Aggregate("count", (counted_cells,), above))
    return found


def by_cell_count(x: Column, y: Column, place: int) -> Node:
    """Return `y` in rows that count, have an `x` and the `place`-th cell count; blank elsewhere.

    Programs draw points without an x at 1, 2, 3 and so on.
    """
    same = r.cells.equals(cell_count(place)).where(y, BLANK)
    return counts.equals(1).where(x.present().where(same, BLANK), BLANK)


class ChartData:
    """Writes chart cells to the right of the charts, a column a series, and says where each stands."""

    def __init__(self, sheet: Sheet, scope: Scope) -> None:
        self._sheet = sheet
        self._scope = scope
        self._next = LEFT
        self.rows = min(scope.rows(r.READINGS.name), MOST_ROWS)
        self.counts = min(len({value for value in scope.this_row(counted_cells).tolist() if value}), MOST_CELL_COUNTS)
        sheet.text(TOP - 2, LEFT, "Cells that the charts are drawn from", sheet.book.formats.section)

    def reading_series(self, x: Column, y: Column) -> list[Drawn]:
        """Write one x column and one y column for each cell count, row by row; nothing where no reading has both."""
        if not self._any_drawn(x, y):
            return []
        across = self._column(Constant(self._label(x)), [x], self.rows)
        names = [join(cell_count(place).fixed(0), "S") for place in range(1, self.counts + 1)]
        drawn = [
            self._column(name, [by_cell_count(x, y, place)], self.rows) for place, name in enumerate(names, start=1)
        ]
        return [Drawn(name, across[1], values) for name, values in drawn]

    def _any_drawn(self, x: Column, y: Column) -> bool:
        both = self._scope.this_row(x) + self._scope.this_row(y)
        return bool(np.any((self._scope.this_row(counts) == 1) & ~np.isnan(both)))

    def speed_series(self, columns: Sequence[Column]) -> list[Drawn]:
        """Write the speed of each row that counts and, against it, row-by-row figures with their margins."""
        _, across = self._used(t.speed)
        return [self._with_margin(column, across) for column in columns]

    def _with_margin(self, column: Column, across: str) -> Drawn:
        name, values = self._used(column)
        _, margin = self._column(Constant("±"), [MARGINS[column]], self.rows)
        numbers = self._scope.this_row(MARGINS[column])[: self.rows].tolist()
        return Drawn(name, across, values, margin=margin, margins=tuple(None if n != n else n for n in numbers))

    def _used(self, column: Column) -> tuple[str, str]:
        """Write a column of a row-by-row table, blank in rows that do not count or have no speed; return name and range.

        Programs draw points without an x at 1, 2, 3 and so on.
        """
        kept = (t.counts.equals(1) & t.speed.present()).where(column, BLANK)
        return self._column(Constant(TABLES[column.table].columns[column.name].label), [kept], self.rows)

    def equal_thrust_series(self) -> list[Drawn]:
        """Write grams per watt at the round thrusts, a column a propeller and cell count that has any."""
        groups = self._groups_with_sweeps()
        if not groups:
            return []
        thrusts: list[Node] = list(round_thrusts)
        across = self._column(Constant("Thrust (g)"), thrusts, len(thrusts))
        drawn = []
        for group in groups:
            place = Constant(float(group))
            values: list[Node] = [Aggregate("at", (column,), (), place) for column in g.round_efficiency]
            name = Aggregate("text at", (g.label,), (), place)
            drawn.append(self._column(name, values, len(values)))
        return [Drawn(name, across[1], values) for name, values in drawn]

    def trial_series(self) -> list[Drawn]:
        """Write measured thrust and, against it, what predictions made of it, a column a cell count, and their line.

        Nothing where no prediction could be tried.
        """
        if not self._scope.named(trials.name):
            return []
        rows, largest = self._scope.rows(m.MEASURED.name), Aggregate("largest", (m.thrust,), (), Constant(1.0))
        across = self._column(Constant("Thrust, measured (g)"), [m.thrust], rows)
        ends = self._column(Constant("predicted as measured"), [Constant(0.0), largest], 2)
        drawn = [Drawn(ends[0], ends[1], ends[1], line=True)]
        for place in range(1, self.counts + 1):
            same = m.cells.equals(cell_count(place)).where(tried_thrust, BLANK)
            name, values = self._column(join(cell_count(place).fixed(0), "S, left out"), [same], rows)
            drawn.append(Drawn(name, across[1], values))
        return drawn

    def _groups_with_sweeps(self) -> list[int]:
        """Return the summary rows, from 1, that have a figure at some round thrust."""
        columns = [self._scope.column(g.SUMMARY.name, column.name) for column in g.round_efficiency]
        drawn = np.any(~np.isnan(np.array(columns)), axis=0)
        return [int(row) + 1 for row in np.flatnonzero(drawn)[:MOST_GROUPS]]

    def _label(self, column: Column) -> str:
        return r.READINGS.columns[column.name].header

    def _column(self, name: Node, nodes: list[Node], rows: int) -> tuple[str, str]:
        """Write a column: one expression row by row, or one expression a row; return its name and range."""
        formats, column = self._sheet.book.formats, self._next
        self._next += 1
        self._sheet.live(TOP, column, name, formats.helper_header)
        if len(nodes) == 1:
            self._sheet.chart_column(TOP + 1, column, nodes[0], formats.helper(0), rows)
        for row, node in enumerate(nodes if len(nodes) > 1 else ()):
            self._sheet.chart_column(TOP + 1 + row, column, node, formats.helper(0), 1)
        where = quoted(self._sheet.name)
        return (
            f"={where}!{xl_rowcol_to_cell(TOP, column, row_abs=True, col_abs=True)}",
            f"={where}!{xl_range_abs(TOP + 1, column, TOP + rows, column)}",
        )
