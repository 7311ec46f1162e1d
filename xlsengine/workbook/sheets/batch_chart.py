"""The run chart of one characteristic: each motor in the order of its test, mean, limits of chance and of the label."""

from typing import Any

from xlsengine.bench.boxes.batch_figures import Outcome, run_place, run_serial
from xlsengine.expression import BLANK, Constant, Node
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.chart_data import Cells, ChartCells
from xlsengine.workbook.charts import GRID
from xlsengine.workbook.formats import BLUE, FONT, GREY, INK, VERMILION

_LIMITS = (
    ("mean", "mean", INK, "solid"),
    ("chart_low", "limits of chance", BLUE, "dash"),
    ("chart_high", "", BLUE, "dash"),
    ("low", "limits of the label", VERMILION, "long_dash_dot"),
    ("high", "", VERMILION, "long_dash_dot"),
)


def draw_run(sheet: Sheet, cells: ChartCells, o: Outcome) -> tuple[Any, str]:
    """Return the chart and its alt text; what it is drawn from is written beside the page."""
    scope = sheet.scope
    rows = max(1, scope.rows(o.value.table))
    there = run_serial.present()
    across = cells.across(Constant("Tested as"), there.where(run_place, BLANK), rows)
    chart = sheet.book.workbook.add_chart({"type": "scatter", "subtype": "straight_with_markers"})
    chart.add_series(_series(cells.up(Constant(o.of.label), o.value, rows), across, GREY, "solid", True))
    hidden = []
    for place, (name, words, colour, dash) in enumerate(_LIMITS, start=1):
        node: Node = there.where(o.figures[name], BLANK)
        drawn = cells.up(Constant(words or f"{_LIMITS[place - 2][1]}, upper"), node, rows)
        chart.add_series(_series(drawn, across, colour, dash, False))
        if not words:
            hidden.append(place)
    _dress(chart, o, hidden)
    return chart, _described(scope.named(o.figures["count"].name), o)


def _series(y: Cells, x: Cells, colour: str, dash: str, marked: bool) -> dict[str, Any]:
    mark = (
        {"type": "circle", "size": 6, "fill": {"color": INK}, "border": {"color": INK}} if marked else {"type": "none"}
    )
    return {
        "name": y.name,
        "categories": x.where,
        "values": y.where,
        "values_data": list(y.values),
        "categories_data": list(x.values),
        "marker": mark,
        "line": {"color": colour, "width": 1.0 if marked else 1.75, "dash_type": dash},
    }


def _dress(chart: Any, o: Outcome, hidden: list[int]) -> None:
    font = {"name": FONT, "size": 10, "color": INK}
    title = f"{o.of.label} ({o.of.unit})"
    chart.set_title(
        {"name": title, "name_font": {"name": FONT, "size": 12, "bold": True, "color": INK}, "overlay": False}
    )
    lines = {"visible": True, "line": {"color": GRID, "width": 0.75}}
    axis = {"name_font": font, "num_font": {"name": FONT, "size": 10, "color": GREY}, "line": {"color": GREY}}
    chart.set_x_axis(
        {
            **axis,
            "name": "Motor, in the order of the tests",
            "min": 0,
            "major_gridlines": {"visible": False},
            "num_format": "0",
            "crossing": 0,
            "label_position": "low",
        }
    )
    number = "#,##0" if o.of.shown == 0 else "0." + "0" * o.of.shown
    chart.set_y_axis({**axis, "name": o.of.unit, "major_gridlines": lines, "num_format": number})
    chart.set_legend({"position": "right", "font": font, "delete_series": hidden})
    chart.set_chartarea({"border": {"color": "#C3CDD6"}, "fill": {"color": "#FFFFFF"}})
    chart.show_na_as_empty_cell()
    chart.show_hidden_data()


def _described(motors: float, o: Outcome) -> str:
    return (
        f"Run chart of {o.of.label}: {motors:.0f} motors in the order of their tests, their mean, the limits that chance "
        "explains, and the limits of the label. The sheet Run chart lists the values."
    )
