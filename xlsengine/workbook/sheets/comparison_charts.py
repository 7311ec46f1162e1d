"""The charts of Comparison: bars of thrust, of grams per watt at one thrust, and of mass, this motor's set apart."""

from typing import Any, NamedTuple

import numpy as np

from xlsengine.bench.comparison import class_motors as k
from xlsengine.bench.comparison import compared as c
from xlsengine.bench.comparison import peers as p
from xlsengine.bench.comparison.ranking import drawn_name
from xlsengine.expression import BLANK, Aggregate, Column, Constant, Node, join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.chart_data import Cells, ChartCells
from xlsengine.workbook.charts import font
from xlsengine.workbook.formats import BLUE, INK, ORANGE

HEIGHT = 18
"""Rows that the charts stand over."""
MOST_BARS = 16
_SIZE = (402, 330)
_GRID = "#E4E9ED"
_INKS = {BLUE: "#FFFFFF", ORANGE: INK}
"""Of the figures on bars of a colour."""


class Bars(NamedTuple):
    """One chart: its title, what is drawn of which rows of a table, and its alt text."""

    title: Node
    value: Column
    name: Column
    own: Node
    rows: int
    decimals: int
    described: str


def write_charts(sheet: Sheet, scope: Scope, place: tuple[int, int], left: int) -> None:
    """Put the charts beside each other from a cell on, and what they are drawn from at column `left`."""
    cells = ChartCells(sheet, scope, left)
    for number, bars in enumerate(each for each in _charts(scope) if cells.shows(each.value, each.rows)):
        chart = _chart(sheet, cells, bars)
        sheet.chart(place, chart, _SIZE, bars.described, x_offset=4 + number * (_SIZE[0] + 12))


def _charts(scope: Scope) -> list[Bars]:
    """Return the charts: of the propeller and cell count with most peers, and of the class."""
    group = scope.this_row(p.group)
    here = min(int(np.sum(group == 1)), MOST_BARS)
    motors = min(scope.rows(k.CLASS_MOTORS.name), MOST_BARS)
    first = Aggregate("text at", (c.label,), (), Constant(1.0))
    at = Aggregate("at", (c.at,), (), Constant(1.0)).fixed(0).otherwise("equal thrust")
    more = "this motor in another colour than its peers."
    return [
        Bars(
            join("Thrust at full throttle (g), ", first),
            p.thrust.value,
            drawn_name,
            p.is_own,
            here,
            0,
            f"Bar chart of static thrust at full throttle in grams by motor, {more}",
        ),
        Bars(
            join("Grams per watt at ", at, " g, ", first),
            p.at_thrust,
            drawn_name,
            p.is_own,
            here,
            2,
            f"Bar chart of grams per watt at one thrust by motor, {more}",
        ),
        Bars(
            join("Trimmed mass (g)"),
            k.mass,
            k.name,
            k.own.equals(1),
            motors,
            1,
            f"Bar chart of the mass with trimmed leads in grams by motor, {more}",
        ),
    ]


def _chart(sheet: Sheet, cells: ChartCells, bars: Bars) -> Any:
    rows = [Aggregate("text at", (bars.name,), (), Constant(number + 1.0)) for number in range(bars.rows)]
    names = cells.texts(join("Motor"), rows)
    chart = sheet.book.workbook.add_chart({"type": "bar"})
    for title, node, colour in (
        ("Peers", bars.own.where(BLANK, bars.value), BLUE),
        ("This motor", bars.own.where(bars.value, BLANK), ORANGE),
    ):
        drawn = cells.up(Constant(title), node, bars.rows)
        chart.add_series(_series(names, drawn, colour, bars.decimals))
    heading = cells.texts(join("Title"), [bars.title])
    chart.set_title({"name": heading.where, "name_font": font(12, bold=True), "overlay": False})
    chart.set_legend({"position": "bottom", "font": font(10)})
    chart.set_y_axis({"num_font": font(10), "reverse": True, "line": {"color": _GRID}, "major_tick_mark": "none"})
    chart.set_x_axis({"min": 0, "visible": False, "major_gridlines": {"visible": False}})
    chart.set_chartarea({"border": {"color": _GRID}, "fill": {"color": "#FFFFFF"}})
    chart.show_na_as_empty_cell()
    return chart


def _series(names: Cells, drawn: Cells, colour: str, decimals: int) -> dict[str, Any]:
    shown = "#,##0" if decimals == 0 else "0." + "0" * decimals
    return {
        "name": drawn.name,
        "categories": names.where,
        "values": drawn.where,
        "values_data": list(drawn.values),
        "fill": {"color": colour},
        "overlap": 100,
        "gap": 45,
        "data_labels": {
            "value": True,
            "num_format": shown,
            "position": "inside_end",  # beyond the longest bar there is no room
            "font": {**font(10, bold=True), "color": _INKS[colour]},
        },
    }
