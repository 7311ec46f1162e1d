"""The Report's charts: bars by propeller and cell count, and grams per watt against thrust, from cells beside the page."""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from typing import Any

import numpy as np

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.declaring.spoken import in_cells
from xlsengine.bench.groups import by_propeller as by
from xlsengine.bench.groups import summary as g
from xlsengine.bench.judging.round_thrusts import round_thrusts
from xlsengine.expression import Aggregate, Column, Constant, Node, call, join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.chart_data import MOST_LINES, ChartCells, Drawn, looks, throttle_sweeps
from xlsengine.workbook.charts import AXIS_NUMBERS, PALE, finish, font, series_of, where_drawn
from xlsengine.workbook.formats import (
    CELL_COUNT_FILLS,
    CELL_COUNT_HEADS,
    GREY,
)
from xlsengine.workbook.sheets.report_table import Grid

SMALLEST = 10
"""Points of the smallest type: 8.0 to 8.5 on paper."""

_WIDEST, _NARROWEST, _THINNEST = 70, 34, 9  # pixels of a bar; a label on a narrower one would lie over its neighbours
_ABOVE, _BELOW = 32, 22  # pixels of title and names, where the bars have no labels
_AMPS = "[<9.95]0.0;#,##0"  # as the table has them
_WIDE = 560  # pixels that hold a title and a legend beside each other
assert len(CELL_COUNT_FILLS) == len(CELL_COUNT_HEADS) == by.MOST_CELL_COUNTS


@dataclass(frozen=True)
class Shown:
    """What a chart of bars shows; `described` is its alt text."""

    title: str
    column: Column
    described: str


THRUST = Shown(
    "Thrust at full throttle (g)",
    g.full["thrust"],
    "Bar chart of static full-throttle thrust in grams by propeller, the strongest first, a bar for each cell count.",
)
CURRENT = Shown(
    "Highest current (A), and ESC size by cells",
    g.static_current,
    "Bar chart of the highest static current in amps by propeller, a bar for each cell count; beside each the smallest "
    "ESC size that has room for it, with full throttle held or in short bursts.",
)


class Steps(Enum):
    """Where grams per watt against thrust are drawn: of one propeller on the first page, since bars would say little."""

    NONE, FIRST, SECOND = range(3)


PER_WATT = "Grams per watt against thrust"
_PER_WATT_SAID = (
    "Line chart of grams per watt against thrust between steady readings, a line for each propeller and cells."
)


def stepped_looks(scope: Scope) -> dict[int, tuple[int, int]]:
    """Return the rows of the summary, from 1, that have grams per watt at two round thrusts or more, most thrust first.

    A propeller and cell count looks as on the sheet Charts.
    """
    found = np.array([scope.column(g.SUMMARY.name, column.name) for column in g.round_efficiency])
    told = {int(row) + 1 for row in np.flatnonzero(np.sum(~np.isnan(found), axis=0) > 1)}
    drawn = [(place, look) for place, look in looks(throttle_sweeps(scope)).items() if place in told]
    return dict(drawn[:MOST_LINES])


class ReportCharts(ChartCells):
    """Writes the charts' cells to the right of the figures beside the page, and puts charts on the page."""

    def __init__(self, sheet: Sheet, grid: Grid) -> None:
        super().__init__(sheet, sheet.scope, grid.aside + grid.cell_counts, titled=False)
        self._grid = grid
        self._names = self.down(join("Propeller"), call("in short", by.prop), grid.propellers)
        self._sized = self.down(join("Propeller, ESC"), self._with_sizes(), grid.propellers)
        self.has_bars = self.shows(g.static_current, self._scope.rows(g.SUMMARY.name))
        there = Steps.FIRST if grid.propellers == 1 else Steps.SECOND
        self.steps = there if stepped_looks(self._scope) else Steps.NONE

    @property
    def last_column(self) -> int:
        """Return the last column that was written to."""
        return self._next - 1

    def bars(self, shown: Shown, place: tuple[int, int], size: tuple[int, int], upright: bool, down: int = 0) -> None:
        """Put a chart of bars, lying or `upright`, at a cell or so many pixels `down`, `size` in pixels."""
        chart = self._sheet.book.workbook.add_chart({"type": "column" if upright else "bar"})
        counts, room = self._grid.cell_counts, (size[0] if upright else size[1]) / self._grid.propellers
        gap = int(min(500, max(18 if self._grid.propellers > 6 else 45, 100 * (room / _WIDEST - counts))))
        labelled = room / (counts + gap / 100) > (_NARROWEST if upright else _THINNEST)
        for number in range(counts):
            chart.add_series(self._bar(shown, number, gap, labelled))
        names = {"num_font": font(SMALLEST), "line": {"color": PALE}, "major_tick_mark": "none", "reverse": not upright}
        lines = {"visible": not labelled, "line": {"color": PALE}}
        scale = {"min": 0, "visible": not labelled, "major_gridlines": lines, "num_format": "#,##0"}
        scale |= {} if labelled else {"num_font": font(SMALLEST, colour=GREY), "line": {"none": True}}
        (chart.set_x_axis if upright else chart.set_y_axis)(names)
        (chart.set_y_axis if upright else chart.set_x_axis)(scale)
        if upright and not labelled:
            above, below = _ABOVE / size[1], _BELOW / size[1]
            chart.set_plotarea({"layout": {"x": 0.045, "y": above, "width": 0.95, "height": 1 - above - below}})
        self._insert(chart, shown.title, place, size, shown.described, down)

    def per_watt(self, place: tuple[int, int], size: tuple[int, int], down: int = 0) -> None:
        """Put grams per watt against thrust at a cell, a line for each propeller and cell count."""
        chart = self._sheet.book.workbook.add_chart({"type": "scatter", "subtype": "straight_with_markers"})
        for drawn in self._lines():
            chart.add_series(series_of(drawn, thin=True))
        quiet = font(SMALLEST, colour=GREY)
        lines = {"visible": True, "line": {"color": PALE}}
        axis = {"name_font": quiet, "num_font": quiet, "min": 0, "major_gridlines": lines, "num_format": AXIS_NUMBERS}
        chart.set_x_axis({**axis, "name": "Thrust (g)"})
        chart.set_y_axis({**axis, "name": "Thrust per power (g/W)"})
        self._insert(chart, PER_WATT, place, size, _PER_WATT_SAID, down, one_line=False)

    def _bar(self, shown: Shown, number: int, gap: int, labelled: bool) -> dict[str, Any]:
        name = in_cells(by.tested_cells[number]).otherwise("No cell count")
        values = self.up(name, Aggregate("at", (shown.column,), (), by.row_on[number]), self._grid.propellers)
        digits = _AMPS if shown is CURRENT else "#,##0"
        labels: dict[str, Any] = {"value": True, "num_format": digits, "font": font(SMALLEST)}
        return {
            **where_drawn(self._sized if shown is CURRENT else self._names, values),
            "fill": {"color": CELL_COUNT_FILLS[number]},
            "gap": gap,
            "overlap": 0,
            **({"data_labels": labels} if labelled else {}),
        }

    def _with_sizes(self) -> Node:
        """Name the propeller with the ESC size for what is flown, on each cell count."""
        sizes: Node = join("")
        for number in range(self._grid.cell_counts):
            each = (Aggregate("at", (sizes_of,), (), by.row_on[number]) for sizes_of in (n.flight_size, n.held_size))
            size = rule.flown_in_bursts(*each)
            sizes = join(sizes, "/" if number else "", size.fixed(0).otherwise("–"))
        flown = rule.flown_in_bursts(" bursts", " held")
        return by.prop.present().where(join(call("in short", by.prop), ", ESC ", sizes, flown), "")

    def _lines(self) -> Iterator[Drawn]:
        """Write grams per watt at the round thrusts, a column for each of these rows of the summary."""
        across = self.each(join("Thrust (g)"), round_thrusts, for_chart=True)
        for row, look in stepped_looks(self._scope).items():
            place = Constant(float(row))
            values = [Aggregate("at", (column,), (), place) for column in g.round_efficiency]
            up = self.each(Aggregate("text at", (g.label,), (), place), values, for_chart=True)
            yield Drawn(across, up, look=look)

    def _insert(
        self,
        chart: Any,
        title: str,
        place: tuple[int, int],
        size: tuple[int, int],
        described: str,
        down: int,
        one_line: bool = True,
    ) -> None:
        """Title a chart and put it in its place; a wide one has title and legend in `one_line` above it."""
        legend: dict[str, Any] = {"position": "bottom", "font": font(SMALLEST)}
        above = {}
        if one_line and size[0] >= _WIDE:
            share, height = min(0.45, 95 * self._grid.cell_counts / size[0]), min(0.3, 26 / size[1])
            above = {"layout": {"x": 0.005, "y": 0.01}}
            legend |= {"position": "top", "layout": {"x": 1 - share, "y": 0.01, "width": share, "height": height}}
        finish(chart, title, 12, legend, {"none": True}, **above)
        chart.show_hidden_data()
        self._sheet.chart(place, chart, size, described, x_offset=4, y_offset=down)
