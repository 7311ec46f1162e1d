"""What the charts draw: bars by propeller, throttle steps as lines, readings by cell count, figures against speed."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from xlsengine.bench.groups import by_propeller as by
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import counting
from xlsengine.bench.judging.counting import counts
from xlsengine.bench.model import TABLES
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.uncertainty.row_uncertainty import MARGIN_OF
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Node, join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.layout import cell_address, place_cells, quoted

LEFT, TOP = 30, 4
Numbers = tuple[float | None, ...]


class Cells(NamedTuple):
    """A column of chart cells: references to its header and to its cells, the cell column, and what stands there.

    `values` has None for ``#N/A``; of a column of texts it is empty, and they stand in `texts`. `label` is what the
    header says.
    """

    name: str
    where: str
    column: Column
    values: Numbers
    label: str = ""
    texts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Drawn:
    """One series: its x (or categories) and its y, whose header names it.

    `margin` holds what stands behind “±”, for error bars. `look` says which colour and mark, and which dash; the
    colours of series `by_cells` are those of cell counts.
    """

    x: Cells
    y: Cells
    margin: Cells | None = None
    look: tuple[int, int] = (0, 0)
    by_cells: bool = False


class ChartCells:
    """Writes chart cells to the right of the charts, each column once, and says where it stands."""

    def __init__(self, sheet: Sheet, scope: Scope, left: int = LEFT, titled: bool = True) -> None:
        self._sheet = sheet
        self._scope = scope
        self._next = left
        if titled:
            sheet.text(TOP - 2, left, "Cells that the charts are drawn from", sheet.book.formats.section)

    def figure(self, label: str, node: Node) -> Node:
        """Write a single figure; return what fetches it: the largest number of its one cell, which needs no name."""
        return Aggregate("largest", (self.each(Constant(label), [node]).column,), (), Constant(1.0))

    def places(self, rows: int) -> Cells:
        """Write 1, 2, 3 and so on."""
        numbers = [Constant(row + 1.0) for row in range(rows)]
        cells = self._cells(Constant("Place"), numbers, rows)
        for row, number in enumerate(numbers, start=TOP + 1):
            self._sheet.value(row, self._next - 1, number.value, self._sheet.book.formats.helper)
        return cells

    def across(self, name: Node, node: Node, rows: int) -> Cells:
        """Write the x of points, 0 where it is blank."""
        return self.down(name, node.otherwise(0.0), rows)

    def up(self, name: Node, node: Node, rows: int) -> Cells:
        """Write the y of points, ``#N/A`` where it is blank."""
        return self.down(name, node, rows, for_chart=True)

    def down(self, name: Node, node: Node, rows: int, for_chart: bool = False) -> Cells:
        """Write an expression down a column."""
        cells = self._cells(name, [node], rows)
        self._live(TOP + 1, node, for_chart, rows)
        return cells

    def each(self, name: Node, nodes: Sequence[Node], for_chart: bool = False) -> Cells:
        """Write expressions below each other."""
        cells = self._cells(name, nodes, len(nodes))
        for row, node in enumerate(nodes, start=TOP + 1):
            self._live(row, node, for_chart)
        return cells

    def shows(self, node: Node, rows: int) -> bool:
        """Tell whether an expression has a value in any row; a series without one is not written."""
        return not np.isnan(np.atleast_1d(self._scope.any_value(node))[:rows]).all()

    def _live(self, row: int, node: Node, for_chart: bool, rows: int = 1) -> None:
        form = self._sheet.book.formats.helper
        self._sheet.live(row, self._next - 1, node, form, rows, for_chart=for_chart)

    def _cells(self, name: Node, nodes: Sequence[Node], rows: int) -> Cells:
        """Take the next column, write its header, and place its cells, so that others can speak of them."""
        sheet, column = self._sheet, self._next
        self._next += 1
        sheet.live(TOP, column, name, sheet.book.formats.helper_header)
        cells = place_cells(sheet.book.layout, self._scope, sheet.name, TOP, column, nodes, rows)
        held = self._scope.this_row(cells).tolist()
        where = f"={quoted(sheet.name)}!"
        return Cells(
            where + cell_address(TOP, column, fixed=True),
            where + sheet.book.layout.blocks[cells.table].span("value"),
            cells,
            () if cells.text else tuple(None if value != value else value for value in held),
            str(self._scope.any_value(name) or ""),
            tuple(text or "" for text in held) if cells.text else (),
        )


MOST_ROWS = 2000


def propellers_drawn(scope: Scope) -> int:
    """Return how many propellers gave thrust at full throttle."""
    return len(np.unique(scope.this_row(by.own_place)[scope.this_row(g.full["thrust"]) > 0]))


class ChartData(ChartCells):
    """Writes the cells of the series; a method gives no series where no reading has what it draws."""

    def __init__(self, sheet: Sheet, scope: Scope) -> None:
        super().__init__(sheet, scope)
        self.rows = min(scope.rows(r.READINGS.name), MOST_ROWS)
        self.speeds = min(scope.rows(t.SPEED_FIGURES.name), MOST_ROWS)
        self.counts = [cells for cells in by.tested_cells if scope.named(cells.name) > 0]

    def reading_series(self, x: Column, y: Column) -> list[Drawn]:
        """Write one x column and one y column for each cell count, row by row."""
        there = [x.present().where(r.cells.equals(cells).where(y, BLANK), BLANK) for cells in self.counts]
        nodes = [counts.where(each, BLANK) for each in there]
        if not any(self.shows(node, self.rows) for node in nodes):
            return []
        across = self.across(Constant(r.READINGS.columns[x.name].header), counts.where(x, BLANK), self.rows)
        return self._by_cells(across, nodes, self.rows)

    def bar_series(self, column: Column, rows: int) -> list[Drawn]:
        """Write a full-throttle figure of Summary, a row a propeller, most thrust first, and a column a cell count."""
        if not rows:
            return []
        names = self.down(Constant("Propeller"), by.prop, rows)
        nodes = [Aggregate("at", (column,), (), by.row_on[place]) for place in range(len(self.counts))]
        return self._by_cells(names, nodes, rows)

    def _by_cells(self, across: Cells, nodes: Sequence[Node], rows: int) -> list[Drawn]:
        """Write a y column for each cell count that has any; its colour is that of its place, here as on the Report."""
        drawn = []
        for place, (cells, node) in enumerate(zip(self.counts, nodes, strict=True)):
            if self.shows(node, rows):
                up = self.up(join(cells.fixed(0), "S"), node, rows)
                drawn.append(Drawn(across, up, look=(place, 0), by_cells=True))
        return drawn

    def speed_series(self, columns: Sequence[Column]) -> list[Drawn]:
        """Write the speed of each row that counts and, against it, row-by-row figures with their margins."""
        shown = [column for column in columns if self.shows(self._at_speed(column), self.speeds)]
        if not shown:
            return []
        across = self.across(Constant("Speed"), self._at_speed(t.speed), self.speeds)
        drawn = []
        for place, column in enumerate(shown):
            label = Constant(TABLES[column.table].columns[column.name].label)
            up = self.up(label, self._at_speed(column), self.speeds)
            margin = self.up(Constant("±"), MARGIN_OF[column], self.speeds)
            drawn.append(Drawn(across, up, margin=margin, look=(place, 0)))
        return drawn

    def _at_speed(self, column: Column) -> Node:
        """Return a column of a row-by-row table, blank in rows that do not count or have no speed."""
        return (t.COUNTS & t.speed.present()).where(column, BLANK)


# --- throttle steps as lines -----------------------------------------------------------------------------------

MOST_LINES, MOST_POINTS = 12, 40
_SPARE_POINTS = 2
_FULL = 100.0


class Sweep(NamedTuple):
    """The throttle steps of a propeller on a cell count: its row on Summary, from 1, and how many readings it has.

    Where enough of them are `sound`, a doubtful one does not bend its line.
    """

    place: int
    prop: str
    cells: float
    points: int
    thrust: float
    sound: bool = True


def throttle_sweeps(scope: Scope) -> list[Sweep]:
    """Return the groups whose steady readings that count were taken at more than one throttle, most thrust first."""
    groups, read = scope.this_row(r.group), scope.this_row(r.thrust_read)
    thrust, clean = np.where(scope.this_row(counting.point) >= r.AT_STEADY, read, 0.0), scope.this_row(g.sweep_clean)
    typed = (read > 0) & (scope.this_row(r.kind_taken) == r.STEADY)
    throttle, found = np.nan_to_num(scope.this_row(r.throttle), nan=_FULL), []
    named: tuple[Any, ...] = tuple(scope.this_row(column).tolist() for column in (g.first_row, g.prop, g.cells))
    for place, (first, prop, cells) in enumerate(zip(*named, strict=True), start=1):
        here = groups == first
        if len(np.unique(throttle[here & (thrust > 0)])) > 1:
            points, most = int(np.sum(here & typed)), float(np.max(thrust[here]))
            sound = len(np.unique(throttle[here & (clean > 0)])) > 1
            found.append(Sweep(place, prop.lower(), cells, points, most, sound))
    return sorted(found, key=lambda sweep: -sweep.thrust)


def plots(sweeps: Sequence[Sweep]) -> dict[str, Sequence[Sweep]]:
    """Put sweeps, most thrust first, into one chart, or, where they are more than its lines, into one a cell count.

    Charts go by what their titles say. Of a cell count with more propellers than lines, those with the highest thrust are
    drawn, and the title says so.

    >>> list(plots([Sweep(1, "5x4", 3, 9, 900.0), Sweep(2, "5x4", 4, 9, 1200.0)]))
    ['']
    >>> list(plots([Sweep(n, str(n), 3 + n % 2, 9, 900.0) for n in range(26)]))
    [' on 3S (12 of 13 propellers)', ' on 4S (12 of 13 propellers)']
    """
    if len(sweeps) <= MOST_LINES:
        return {"": sweeps} if sweeps else {}
    found: dict[str, Sequence[Sweep]] = {}
    for cells in sorted({sweep.cells for sweep in sweeps}):
        here = [sweep for sweep in sweeps if sweep.cells == cells]
        thinned = "" if len(here) <= MOST_LINES else f" ({MOST_LINES} of {len(here)} propellers)"
        found[f" on {cells:.0f}S{thinned}"] = here[:MOST_LINES]
    return found


def looks(sweeps: Sequence[Sweep]) -> dict[int, tuple[int, int]]:
    """Return how each row of Summary looks in all charts: one colour and mark a propeller, and one dash a cell count."""
    props, packs = list(dict.fromkeys(each.prop for each in sweeps)), sorted({each.cells for each in sweeps})
    return {each.place: (props.index(each.prop), packs.index(each.cells)) for each in sweeps}


def write_sweep(cells: ChartCells, sweep: Sweep) -> dict[str, Cells]:
    """Write the cells of one line, the reading with the most thrust first; return them by what stands there."""
    place, rows = Constant(float(sweep.place)), min(sweep.points + _SPARE_POINTS, MOST_POINTS)
    first = cells.figure("First row", Aggregate("at", (g.first_row,), (), place))
    name: Node = Aggregate("text at", (g.label,), (), place)
    group, nth = Condition(r.group, "=", first), cells.places(rows).column
    read, counting_ones = (g.sweep_clean, ()) if sweep.sound else (r.thrust_read, (counting.STEADY_POINTS,))
    largest = Aggregate("largest", (read,), (group, *counting_ones), nth)
    thrust = cells.across(Constant("Thrust (g)"), largest, rows)
    same = (group, *counting_ones, Condition(read, "=", thrust.column))
    throttle, current, power = (Aggregate("mean", (column,), same) for column in (r.throttle, r.current, r.power))

    def where_any(node: Node) -> Node:
        return (thrust.column > 0).where(node, BLANK)

    return {
        "throttle": cells.across(Constant("Throttle (%)"), where_any(throttle.otherwise(_FULL)), rows),
        "thrust": thrust,
        "thrust_up": cells.up(name, where_any(thrust.column), rows),
        "current": cells.up(name, where_any(current), rows),
        "efficiency": cells.up(name, where_any(thrust.column / power), rows),
    }
