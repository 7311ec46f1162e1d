"""Scatter charts with one look: large type, strong lines, explicit colours and marks, and an alt text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from xlsengine.workbook.book import Book
from xlsengine.workbook.chart_data import Drawn
from xlsengine.workbook.formats import FONT, GREY, INK, MARKERS, SERIES_COLOURS

GRID = "#E0E0E0"
SIZE = (960, 640)


@dataclass(frozen=True)
class Picture:
    """What one chart shows; `lines` joins the points of a series, `described` is its alt text."""

    title: str
    x: str
    y: str
    described: str
    lines: bool = False


def scatter(book: Book, picture: Picture, drawn: Sequence[Drawn], small: bool = False) -> Any:
    """Make a scatter chart of the series; `small` is for the Report."""
    chart = book.workbook.add_chart(
        {"type": "scatter", "subtype": "straight_with_markers" if picture.lines else "marker_only"}
    )
    for place, series in enumerate(drawn):
        chart.add_series(_series(place, series, picture.lines, small))
    title, axis, number = (12, 9, 9) if small else (20, 15, 13)
    chart.set_title({"name": picture.title, "name_font": _font(title, bold=True), "overlay": False})
    chart.set_x_axis(_axis(picture.x, axis, number))
    chart.set_y_axis(_axis(picture.y, axis, number))
    chart.set_legend({"position": "bottom", "font": _font(8 if small else 12)} if drawn else {"none": True})
    chart.set_chartarea({"border": {"color": "#C3CDD6"}, "fill": {"color": "#FFFFFF"}})
    chart.show_na_as_empty_cell()
    return chart


def _series(place: int, series: Drawn, lines: bool, small: bool) -> dict[str, Any]:
    colour = SERIES_COLOURS[place % len(SERIES_COLOURS)]
    dash = ("solid", "dash")[place // len(SERIES_COLOURS) % 2]
    drawn = {"color": colour, "width": 1.75 if small else 2.5, "dash_type": dash}
    line = drawn if lines or series.line else {"none": True}
    mark = MARKERS[place % 5]
    marked = {"type": mark, "size": 5 if small else 8, "border": {"color": colour, "width": 1.25},
              "fill": {"color": colour}}  # fmt: skip
    marker = {"type": "none"} if series.line else marked
    cells = {"name": series.name, "categories": series.x, "values": series.y}
    return cells | {"line": line, "marker": marker} | _error_bars(series, colour)


def _error_bars(series: Drawn, colour: str) -> dict[str, Any]:
    """Draw what stands behind “±” up and down from each point."""
    if not series.margin:
        return {}
    ends = {f"{end}_values": series.margin for end in ("plus", "minus")}
    cached = {f"{end}_data": list(series.margins) for end in ("plus", "minus")}
    return {"y_error_bars": {"type": "custom", **ends, **cached, "line": {"color": colour, "width": 1.25}}}


def _font(size: int, bold: bool = False) -> dict[str, Any]:
    return {"name": FONT, "size": size, "bold": bold, "color": INK}


def _axis(name: str, size: int, number: int) -> dict[str, Any]:
    return {
        "name": name, "name_font": _font(size), "num_font": {"name": FONT, "size": number, "color": GREY}, "min": 0,
        "major_gridlines": {"visible": True, "line": {"color": GRID, "width": 0.75}}, "line": {"color": GREY},
        "num_format": "General",
    }  # fmt: skip
