"""The Report's charts: bars by propeller and cell count, and grams per watt against thrust, from cells beside the page."""

from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.declaring.spoken import in_cells
from xlsengine.bench.groups import by_propeller as by
from xlsengine.bench.groups import summary as g
from xlsengine.bench.judging.round_thrusts import round_thrusts
from xlsengine.expression import Aggregate, Column, Constant, Node, call, join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook import charts as c
from xlsengine.workbook.book import Sheet, Span
from xlsengine.workbook.chart_data import MOST_LINES, ChartCells, Drawn, looks, throttle_sweeps
from xlsengine.workbook.formats import CELL_COUNT_FILLS, GREY
from xlsengine.workbook.sheets.report_table import POINTS, Grid

_GAP, _LEAST, _FEW = 5, 85, 7  # points of a gap and of room for bars; propellers of two charts beside each other
_WIDEST, _NARROWEST, _THINNEST = 70, 34, 9  # pixels of a bar; a label on a narrower one would lie over its neighbours
_ABOVE, _BELOW = 32, 22  # pixels of title and names, where the bars have no labels
_BAR, _AROUND, _STEPS, _BETWEEN = 14, 90, 460, 12  # pixels on the second page
_TYPE = 10  # points
_WIDE = 560  # pixels that hold a title and a legend beside each other


class Shown(NamedTuple):
    """What a chart of bars shows, in which digits; `described` is its alt text."""

    title: str
    column: Column
    digits: str
    described: str


THRUST = Shown(
    "Thrust at full throttle (g)",
    g.full["thrust"],
    "[<99.5]0.0;#,##0",
    "Bar chart of static full-throttle thrust in grams by propeller, the strongest first, a bar for each cell count.",
)
CURRENT = Shown(
    "Highest current (A), and ESC size by cells",
    g.static_current,
    "[<2.95]0.00;[<9.95]0.0;#,##0",  # as the table has them
    "Bar chart of the highest static current in amps by propeller, a bar for each cell count; beside each the smallest "
    "ESC size that has room for it, with full throttle held or in short bursts.",
)
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


class _Spot(NamedTuple):
    """Where a chart stands: at a cell or so many pixels `down`, its width and height in pixels."""

    cell: tuple[int, int]
    size: tuple[int, int]
    down: int = 0


class ReportCharts(ChartCells):
    """Puts charts on both pages, and their cells to the right of the figures beside the first.

    `later` are the bars that the first page has no room for; grams per watt against thrust stand there where there is one
    propeller, of which bars would say little.
    """

    def __init__(self, sheet: Sheet, grid: Grid) -> None:
        super().__init__(sheet, sheet.scope, grid.aside + grid.cell_counts, titled=False)
        self._grid = grid
        self._names = self.down(join("Propeller"), call("in short", by.prop), grid.propellers)
        self._sized = self.down(join("Propeller, ESC"), _with_sizes(grid.cell_counts), grid.propellers)
        self.later = [THRUST, CURRENT] if self.shows(g.static_current, self._scope.rows(g.SUMMARY.name)) else []
        self.steps_later = bool(stepped_looks(self._scope))

    @property
    def last_column(self) -> int:
        """Return the last column that was written to."""
        return self._next - 1

    def on_first_page(self, row: int, room: float) -> int:
        """Put the bars into two rows with the points that are left; return the row below."""
        drawn, grid = self.later and room >= _LEAST, self._grid
        for place in (row, row + 1):
            self._sheet.height(place, room / 2 if drawn else _GAP)
        if not drawn:
            return row + 2
        if grid.propellers == 1 and self.steps_later:
            spans, shown = grid.spans(2, 1), [CURRENT]
            self._per_watt(_Spot((row, 0), (grid.span_width(spans[0]) - 10, int(room / POINTS) - 4)))
            self.steps_later = False
        elif grid.propellers > _FEW:
            spans, shown = [grid.page.span], [THRUST]
        else:
            spans, shown = grid.spans(1, 1), [THRUST, CURRENT]
        for span, each in zip(spans[-len(shown) :], shown, strict=True):
            self._bars(each, _Spot((row, span[0]), (grid.span_width(span) - 10, int(room / POINTS) - 4)), upright=True)
        self.later = [each for each in self.later if each not in shown]
        return row + 2

    def on_second_page(self, row: int, span: Span, points: float) -> None:
        """Put grams per watt and the bars that are left below each other into so many points."""
        place, width, grid = (row, span[0]), self._grid.span_width(span) - _BETWEEN, self._grid
        room, down = int(points / POINTS), 0
        steps = min(_STEPS, room // (1 + len(self.later))) if self.steps_later else 0
        for left, shown in zip(range(len(self.later), 0, -1), self.later, strict=True):
            wanted = _BAR * grid.propellers * grid.cell_counts + _AROUND
            height = min(wanted, (room - steps - down) // left)
            self._bars(shown, _Spot(place, (width, height - _BETWEEN), down), upright=False)
            down += height
        if self.steps_later:
            self._per_watt(_Spot(place, (width, steps - _BETWEEN), down))

    def _bars(self, shown: Shown, spot: _Spot, upright: bool) -> None:
        """Put a chart of bars, lying or `upright`, in its place."""
        counts, room = self._grid.cell_counts, spot.size[0 if upright else 1] / self._grid.propellers
        gap = int(min(500, max(18 if self._grid.propellers > 6 else 45, 100 * (room / _WIDEST - counts))))
        labelled = room / (counts + gap / 100) > (_NARROWEST if upright else _THINNEST)
        bars = [self._bar(shown, number, gap, labelled) for number in range(counts)]
        names = {
            "num_font": c.font(_TYPE),
            "line": {"color": c.PALE},
            "major_tick_mark": "none",
            "reverse": not upright,
        }
        lines = {"visible": not labelled, "line": {"color": c.PALE}}
        scale = {"min": 0, "visible": not labelled, "major_gridlines": lines, "num_format": "#,##0"}
        scale |= {} if labelled else {"num_font": c.font(_TYPE, colour=GREY), "line": {"none": True}}
        kind, axes = (c.BARS, (names, scale)) if upright else (c.LYING, (scale, names))
        made = self._insert(spot, shown.title, shown.described, kind, bars, axes)
        if upright and not labelled:
            above, below = _ABOVE / spot.size[1], _BELOW / spot.size[1]
            made.set_plotarea({"layout": {"x": 0.045, "y": above, "width": 0.95, "height": 1 - above - below}})

    def _bar(self, shown: Shown, number: int, gap: int, labelled: bool) -> dict[str, Any]:
        name = in_cells(by.tested_cells[number]).otherwise("No cell count")
        values = self.up(name, Aggregate("at", (shown.column,), (), by.row_on[number]), self._grid.propellers)
        labels = {"value": True, "num_format": shown.digits, "font": c.font(_TYPE)}
        drawn = c.where_drawn(self._sized if shown is CURRENT else self._names, values)
        look = {"fill": {"color": CELL_COUNT_FILLS[number]}, "gap": gap, "overlap": 0}
        return {**drawn, **look, **({"data_labels": labels} if labelled else {})}

    def _per_watt(self, spot: _Spot) -> None:
        """Put grams per watt against thrust in its place, a line for each propeller and cell count."""
        series, quiet = [c.series_of(drawn, thin=True) for drawn in self._lines()], c.font(_TYPE, colour=GREY)
        lines = {"visible": True, "line": {"color": c.PALE}}
        axis = {"name_font": quiet, "num_font": quiet, "min": 0, "major_gridlines": lines, "num_format": c.AXIS_NUMBERS}
        axes = {**axis, "name": "Thrust (g)"}, {**axis, "name": "Thrust per power (g/W)"}
        self._insert(spot, PER_WATT, _PER_WATT_SAID, c.LINES, series, axes)

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
        spot: _Spot,
        title: str,
        described: str,
        kind: c.Properties,
        series: list[c.Properties],
        axes: tuple[c.Properties, c.Properties],
    ) -> Any:
        """Make a chart and put it in its place; wide bars have title and legend in one line above them."""
        legend: dict[str, Any] = {"position": "bottom", "font": c.font(_TYPE)}
        above = {}
        width, height = spot.size
        if width >= _WIDE and title != PER_WATT:
            share, high = min(0.45, 95 * self._grid.cell_counts / width), min(0.3, 26 / height)
            above = {"layout": {"x": 0.005, "y": 0.01}}
            legend |= {"position": "top", "layout": {"x": 1 - share, "y": 0.01, "width": share, "height": high}}
        made = c.chart(self._sheet.book, kind, series, axes, title, 12, legend, "", **above)
        made.show_hidden_data()
        self._sheet.chart(spot.cell, made, spot.size, described, x_offset=4, y_offset=spot.down)
        return made


def _with_sizes(cell_counts: int) -> Node:
    """Name the propeller with the ESC size for what is flown, on each cell count: ``7x4: 25/30``."""
    sizes: Node = join("")
    for number in range(cell_counts):
        each = (Aggregate("at", (sizes_of,), (), by.row_on[number]) for sizes_of in (n.flight_size, n.held_size))
        size = rule.flown_in_bursts(*each)
        sizes = join(sizes, "/" if number else "", size.fixed(0).otherwise("–"))
    return by.prop.present().where(join(call("in short", by.prop), ": ", sizes), "")
