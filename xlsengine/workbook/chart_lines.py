"""Throttle steps as lines: which propellers and cell counts have any, and the cells of each, in the order of thrust."""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import counting
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Node
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.chart_data import Cells, ChartCells, Drawn

MOST_LINES, MOST_POINTS = 12, 40
_SPARE_POINTS = 2
_FULL = 100.0


class Sweep(NamedTuple):
    """The throttle steps of a propeller on a cell count: its row on Summary, from 1, and how many readings it has."""

    place: int
    prop: str
    cells: float
    points: int
    thrust: float


class Plot(NamedTuple):
    """The sweeps of one chart, and what its title says of them."""

    words: str
    sweeps: Sequence[Sweep]


def throttle_sweeps(scope: Scope) -> list[Sweep]:
    """Return the groups whose steady readings that count were taken at more than one throttle, most thrust first."""
    groups, read = scope.this_row(r.group), scope.this_row(r.thrust_read)
    thrust = np.where(scope.this_row(counting.point) >= r.AT_STEADY, read, 0.0)
    typed = (read > 0) & (scope.this_row(r.kind_taken) == r.STEADY)
    throttle, found = np.nan_to_num(scope.this_row(r.throttle), nan=_FULL), []
    named: tuple[Any, ...] = tuple(scope.this_row(column).tolist() for column in (g.first_row, g.prop, g.cells))
    for place, (first, prop, cells) in enumerate(zip(*named, strict=True), start=1):
        here = groups == first
        if len(np.unique(throttle[here & (thrust > 0)])) > 1:
            points, most = int(np.sum(here & typed)), float(np.max(thrust[here]))
            found.append(Sweep(place, prop.lower(), cells, points, most))
    return sorted(found, key=lambda sweep: -sweep.thrust)


def plots(sweeps: Sequence[Sweep]) -> list[Plot]:
    """Put sweeps, most thrust first, into one chart, or, where they are more than its lines, into one a cell count.

    Of a cell count with more propellers than lines, those with the highest thrust are drawn, and the title says so.

    >>> [plot.words for plot in plots([Sweep(1, "5x4", 3, 9, 900.0), Sweep(2, "5x4", 4, 9, 1200.0)])]
    ['']
    >>> [plot.words for plot in plots([Sweep(n, str(n), 3 + n % 2, 9, 900.0) for n in range(26)])]
    [' on 3S (12 of 13 propellers)', ' on 4S (12 of 13 propellers)']
    """
    if len(sweeps) <= MOST_LINES:
        return [Plot("", sweeps)] if sweeps else []
    return [_plot(cells, sweeps) for cells in sorted({sweep.cells for sweep in sweeps})]


def _plot(cells: float, sweeps: Sequence[Sweep]) -> Plot:
    here = [sweep for sweep in sweeps if sweep.cells == cells]
    thinned = "" if len(here) <= MOST_LINES else f" ({MOST_LINES} of {len(here)} propellers)"
    return Plot(f" on {cells:.0f}S{thinned}", here[:MOST_LINES])


class ChartLines:
    """Writes the cells of sweeps, each once, and gives the series of a chart.

    In all charts a propeller has one colour and mark, and a cell count one dash.
    """

    def __init__(self, cells: ChartCells, sweeps: Sequence[Sweep]) -> None:
        self._cells = cells
        self._written: dict[int, dict[str, Cells]] = {}
        self._props = list(dict.fromkeys(sweep.prop for sweep in sweeps))
        self._packs = sorted({sweep.cells for sweep in sweeps})

    def series(self, plot: Plot, x: str, y: str) -> list[Drawn]:
        """Return the lines of a chart; `x` and `y` name the cells that `_write` writes."""
        drawn = []
        for sweep in plot.sweeps:
            if sweep.place not in self._written:
                self._written[sweep.place] = self._write(sweep)
            line, look = self._written[sweep.place], (self._props.index(sweep.prop), self._packs.index(sweep.cells))
            drawn.append(Drawn(line[x], line[y], look=look))
        return drawn

    def _write(self, sweep: Sweep) -> dict[str, Cells]:
        """Write the cells of one line, the reading with the most thrust first."""
        cells, place = self._cells, Constant(float(sweep.place))
        rows = min(sweep.points + _SPARE_POINTS, MOST_POINTS)
        first = cells.figure("First row", Aggregate("at", (g.first_row,), (), place))
        name: Node = Aggregate("text at", (g.label,), (), place)
        group, nth = Condition(r.group, "=", first), cells.places(rows).column
        thrust = cells.across(
            Constant("Thrust (g)"), Aggregate("largest", (r.thrust_read,), (group, counting.STEADY_POINTS), nth), rows
        )
        same = (group, counting.STEADY_POINTS, Condition(r.thrust_read, "=", thrust.column))

        def where_any(node: Node) -> Node:
            return (thrust.column > 0).where(node, BLANK)

        def mean(column: Column) -> Node:
            return Aggregate("mean", (column,), same)

        throttle = where_any(mean(r.throttle).otherwise(_FULL))
        return {
            "throttle": cells.across(Constant("Throttle (%)"), throttle, rows),
            "thrust": thrust,
            "thrust_up": cells.up(name, where_any(thrust.column), rows),
            "current": cells.up(name, where_any(mean(r.current)), rows),
            "efficiency": cells.up(name, where_any(thrust.column / mean(r.power)), rows),
        }


def cut_short(sweeps: Sequence[Sweep]) -> bool:
    """Tell whether a line has more readings than it shows."""
    return any(sweep.points > MOST_POINTS for sweep in sweeps)
