"""The Report's charts: bars by propeller and cell count, and grams per watt against thrust, from cells beside the page."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from xlsxwriter.utility import xl_range_abs, xl_rowcol_to_cell

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.groups import by_propeller as by
from xlsengine.bench.groups import summary as g
from xlsengine.bench.judging.round_thrusts import round_thrusts
from xlsengine.expression import Aggregate, Column, Constant, Node, join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.chart_lines import throttle_sweeps
from xlsengine.workbook.charts import AXIS_NUMBERS, Look, look_at
from xlsengine.workbook.formats import (
    CELL_COUNT_FILLS,
    CELL_COUNT_HEADS,
    FONT,
    GREY,
    INK,
)
from xlsengine.workbook.layout import quoted
from xlsengine.workbook.sheets.report_grid import SMALLEST, Grid

_TOP = 4
_MOST_LINES = 12
_WIDEST, _NARROWEST = 70, 34  # pixels of a bar; a label on a narrower one would lie over its neighbours
_ABOVE, _BELOW = 32, 22  # pixels of title and names, where the bars have no labels
_WIDE = 560  # pixels that hold a title and a legend beside each other
_GRID = "#E4E9ED"
assert len(CELL_COUNT_FILLS) == len(CELL_COUNT_HEADS) == by.MOST_CELL_COUNTS


@dataclass(frozen=True)
class Series:
    """One line: references of its name, its x and its values; and how it looks."""

    name: str
    across: str
    values: str
    look: Look


@dataclass(frozen=True)
class Shown:
    """What a chart of bars shows; `described` is its alt text."""

    title: str
    column: Column
    decimals: int
    described: str


THRUST = Shown(
    "Thrust at full throttle (g)",
    g.full["thrust"],
    0,
    "Bar chart of static full-throttle thrust in grams by propeller, the strongest first, a bar for each cell count.",
)
CURRENT = Shown(
    "Highest current (A), with the ESC size",
    g.static_current,
    0,
    "Bar chart of the highest static current in amps by propeller, a bar for each cell count; beside each the smallest "
    "ESC size that has room for it, with full throttle held or in short bursts.",
)
PER_WATT = "Grams per watt against thrust"
_PER_WATT_SAID = (
    "Line chart of grams per watt against thrust between steady readings, a line for each propeller and cells."
)


def stepped_looks(scope: Scope) -> dict[int, Look]:
    """Return the rows of the summary, from 1, that have grams per watt at two round thrusts or more, most thrust first.

    A propeller and cell count looks as on the sheet Charts.
    """
    found = np.array([scope.column(g.SUMMARY.name, column.name) for column in g.round_efficiency])
    told = {int(row) + 1 for row in np.flatnonzero(np.sum(~np.isnan(found), axis=0) > 1)}
    sweeps = throttle_sweeps(scope)
    props, packs = list(dict.fromkeys(each.prop for each in sweeps)), sorted({each.cells for each in sweeps})
    drawn = [each for each in sweeps if each.place in told][:_MOST_LINES]
    return {each.place: look_at(props.index(each.prop), packs.index(each.cells)) for each in drawn}


class ReportCharts:
    """Writes the charts' cells to the right of the figures beside the page, and puts charts on the page."""

    def __init__(self, sheet: Sheet, grid: Grid, first_column: int) -> None:
        self._sheet, self._grid, self._next = sheet, grid, first_column
        self._names = self._put(join("Propeller"), by.prop, grid.propellers)[1]
        self._sized = self._put(join("Propeller, ESC"), self._with_sizes(), grid.propellers)[1]

    @property
    def last_column(self) -> int:
        """Return the last column that was written to."""
        return self._next - 1

    @property
    def has_bars(self) -> bool:
        """Tell whether anything was read at full throttle."""
        return not bool(np.all(np.isnan(self._sheet.scope.column(g.SUMMARY.name, g.static_current.name))))

    @property
    def has_steps(self) -> bool:
        """Tell whether grams per watt were read at several thrusts."""
        return len(stepped_looks(self._sheet.scope)) > 0

    def bars(self, shown: Shown, place: tuple[int, int], size: tuple[int, int], upright: bool, down: int = 0) -> None:
        """Put a chart of bars, lying or `upright`, at a cell or so many pixels `down`, `size` in pixels."""
        chart = self._sheet.book.workbook.add_chart({"type": "column" if upright else "bar"})
        each = (size[0] if upright else size[1]) / self._grid.propellers / _WIDEST - self._grid.cell_counts
        gap = int(min(500, max(18 if self._grid.propellers > 6 else 45, 100 * each)))
        bar = (size[0] if upright else size[1]) / self._grid.propellers / (self._grid.cell_counts + gap / 100)
        labelled = not upright or bar > _NARROWEST
        for number in range(self._grid.cell_counts):
            chart.add_series(self._bar(shown, number, gap, labelled))
        names = {
            "num_font": _font(SMALLEST),
            "line": {"color": _GRID},
            "major_tick_mark": "none",
            "reverse": not upright,
        }
        lines = {"visible": not labelled, "line": {"color": _GRID}}
        scale = {"min": 0, "visible": not labelled, "major_gridlines": lines, "num_format": "#,##0"}
        scale |= {} if labelled else {"num_font": _font(SMALLEST, GREY), "line": {"none": True}}
        (chart.set_x_axis if upright else chart.set_y_axis)(names)
        (chart.set_y_axis if upright else chart.set_x_axis)(scale)
        if not labelled:
            above, below = _ABOVE / size[1], _BELOW / size[1]
            chart.set_plotarea({"layout": {"x": 0.045, "y": above, "width": 0.95, "height": 1 - above - below}})
        self._finish(chart, shown.title, size)
        self._insert(chart, place, size, shown.described, down)

    def per_watt(self, place: tuple[int, int], size: tuple[int, int], down: int = 0) -> None:
        """Put grams per watt against thrust at a cell, a line for each propeller and cell count."""
        chart = self._sheet.book.workbook.add_chart({"type": "scatter", "subtype": "straight_with_markers"})
        for series in self._lines():
            look = series.look
            fill = {"color": "#FFFFFF" if look.hollow else look.colour}
            marker = {"type": look.mark, "size": 6, "border": {"color": look.colour}, "fill": fill}
            chart.add_series(
                {
                    "name": series.name,
                    "categories": series.across,
                    "values": series.values,
                    "marker": marker,
                    "line": {"color": look.colour, "width": 2, "dash_type": look.dash},
                }
            )
        for set_axis, words in ((chart.set_x_axis, "Thrust (g)"), (chart.set_y_axis, "Thrust per power (g/W)")):
            set_axis(
                {
                    "name": words,
                    "name_font": _font(SMALLEST, GREY),
                    "num_font": _font(SMALLEST, GREY),
                    "min": 0,
                    "major_gridlines": {"visible": True, "line": {"color": _GRID}},
                    "num_format": AXIS_NUMBERS,
                }
            )
        self._finish(chart, PER_WATT)
        chart.show_na_as_empty_cell()
        self._insert(chart, place, size, _PER_WATT_SAID, down)

    def _bar(self, shown: Shown, number: int, gap: int, labelled: bool) -> dict[str, Any]:
        name = join(by.tested_cells[number].fixed(0), " cells").otherwise("No cell count")
        row = by.row_on[number]
        series = self._put(name, Aggregate("at", (shown.column,), (), row), self._grid.propellers, chart=True)
        labels: dict[str, Any] = {"value": True, "num_format": "#,##0", "font": _font(SMALLEST)}
        return {
            "name": series[0],
            "categories": self._sized if shown is CURRENT else self._names,
            "values": series[1],
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
        return by.prop.present().where(join(by.prop, ", ESC ", sizes, flown), "")

    def _lines(self) -> list[Series]:
        """Write grams per watt at the round thrusts, a column for each of these rows."""
        across = self._each(join("Thrust (g)"), round_thrusts)[1]
        lines = []
        looks = stepped_looks(self._sheet.scope)
        for row in looks:
            place = Constant(float(row))
            values = [Aggregate("at", (column,), (), place) for column in g.round_efficiency]
            name, cells = self._each(Aggregate("text at", (g.label,), (), place), values)
            lines.append(Series(name, across, cells, looks[row]))
        return lines

    def _each(self, name: Node, nodes: Sequence[Node]) -> tuple[str, str]:
        """Write a column of one expression a row."""
        form, column = self._sheet.book.formats.helper, self._next
        for row, node in enumerate(nodes):
            self._sheet.chart_column(_TOP + 1 + row, column, node, form, 1)
        return self._named(name, len(nodes))

    def _put(self, name: Node, node: Node, rows: int, chart: bool = False) -> tuple[str, str]:
        """Write a column of one expression down the propellers; return the references of its name and of its cells."""
        write = self._sheet.chart_column if chart else self._sheet.live_column
        write(_TOP + 1, self._next, node, self._sheet.book.formats.helper, rows)
        return self._named(name, rows)

    def _named(self, name: Node, rows: int) -> tuple[str, str]:
        column, where = self._next, quoted(self._sheet.name)
        self._sheet.live(_TOP, column, name, self._sheet.book.formats.helper_header)
        self._next += 1
        return (
            f"={where}!{xl_rowcol_to_cell(_TOP, column, True, True)}",
            f"={where}!{xl_range_abs(_TOP + 1, column, _TOP + rows, column)}",
        )

    def _finish(self, chart: Any, title: str, size: tuple[int, int] | None = None) -> None:
        """Title a chart; a wide one of bars, whose `size` is given, has title and legend in one line above them."""
        named = {"name": title, "name_font": _font(12, bold=True), "overlay": False}
        legend: dict[str, Any] = {"position": "bottom", "font": _font(SMALLEST)}
        if size is not None and size[0] >= _WIDE:
            above = min(0.3, 26 / size[1])
            share = min(0.45, 95 * self._grid.cell_counts / size[0])
            named |= {"layout": {"x": 0.005, "y": 0.01}}
            legend |= {"position": "top", "layout": {"x": 1 - share, "y": 0.01, "width": share, "height": above}}
        chart.set_title(named)
        chart.set_legend(legend)
        chart.set_chartarea({"border": {"none": True}, "fill": {"color": "#FFFFFF"}})

    def _insert(self, chart: Any, place: tuple[int, int], size: tuple[int, int], described: str, down: int) -> None:
        chart.show_hidden_data()
        self._sheet.chart(place, chart, size, described, x_offset=4, y_offset=down)


def _font(size: float, colour: str = INK, bold: bool = False) -> dict[str, Any]:
    return {"name": FONT, "size": size, "bold": bold, "color": colour}
