"""Charts with one look: large type, strong lines, explicit colours, marks and dashes, and an alt text."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from xlsengine.workbook.book import Book
from xlsengine.workbook.chart_data import Cells, Drawn
from xlsengine.workbook.formats import CELL_COUNT_FILLS, CELL_COUNT_HATCHES, FONT, GREY, INK, MARKERS, SERIES_COLOURS

GRID = "#E0E0E0"
AXIS_NUMBERS = "[>=1000]#,##0;General"
"""Of axes: thousands with their mark, all others as they are."""
DASHES = ("solid", "dash", "round_dot", "dash_dot", "long_dash", "long_dash_dot")
_MOST_LABELLED = 20


@dataclass(frozen=True)
class Picture:
    """What one chart shows; `lines` joins the points of a series, `bars` stand over names, `described` is its alt text.

    `x_max` is where the x axis ends; without one the program that draws it chooses.
    """

    title: str
    x: str
    y: str
    described: str
    lines: bool = False
    bars: bool = False
    x_max: float | None = None
    decimals: int = 0


def draw(book: Book, picture: Picture, drawn: Sequence[Drawn]) -> Any:
    """Make the chart of a picture."""
    return _columns(book, picture, drawn) if picture.bars else _scatter(book, picture, drawn)


def _scatter(book: Book, picture: Picture, drawn: Sequence[Drawn]) -> Any:
    subtype = "straight_with_markers" if picture.lines else "marker_only"
    chart = book.workbook.add_chart({"type": "scatter", "subtype": subtype})
    for series in drawn:
        chart.add_series(_series(series, picture.lines))
    _dress(chart, picture)
    chart.set_x_axis(_axis(picture.x) | {"min": 0, "max": picture.x_max})
    return chart


def _columns(book: Book, picture: Picture, drawn: Sequence[Drawn]) -> Any:
    """Make a chart of upright bars, a group of them over each name."""
    chart = book.workbook.add_chart({"type": "column"})
    numbers = [value for series in drawn for value in series.y.values]
    labelled = len(numbers) <= _MOST_LABELLED and None not in numbers
    for series in drawn:
        chart.add_series(_bars(series) | ({"data_labels": _labels(picture.decimals)} if labelled else {}))
    _dress(chart, picture)
    chart.set_x_axis(_axis(picture.x) | {"major_gridlines": {"visible": False}, "major_tick_mark": "none"})
    return chart


def _bars(series: Drawn) -> dict[str, Any]:
    place = series.look[0] % len(CELL_COUNT_FILLS)
    colour, pattern = CELL_COUNT_FILLS[place], CELL_COUNT_HATCHES[place]
    hatched = {"pattern": {"pattern": pattern, "fg_color": "#FFFFFF", "bg_color": colour}}
    fill = hatched if pattern else {"fill": {"color": colour}}  # the format takes one of the two
    border = {"color": INK, "width": 0.75} if pattern else {"none": True}
    return _cells(series) | {"border": border, "gap": 60, "overlap": 0, **fill}


def _labels(decimals: int) -> dict[str, Any]:
    return {"value": True, "num_format": "0." + "0" * decimals if decimals else "#,##0", "font": font(12)}


def _dress(chart: Any, picture: Picture) -> None:
    """Set what all charts have in common."""
    chart.set_title({"name": picture.title, "name_font": font(18, bold=True), "overlay": False})
    chart.set_y_axis(_axis(picture.y) | {"min": 0})
    chart.set_legend({"position": "right", "font": font(12)})
    chart.set_chartarea({"border": {"color": "#C3CDD6"}, "fill": {"color": "#FFFFFF"}})
    chart.show_na_as_empty_cell()


def _cells(series: Drawn) -> dict[str, Any]:
    """Say where name, x and y stand, and what the chart keeps of them for programs that only show it."""
    kept = {"values_data": list(series.y.values)} | (
        {"categories_data": list(series.x.values)} if series.x.values else {}
    )
    return {"name": series.name, "categories": series.x.where, "values": series.y.where, **kept}


class Look(NamedTuple):
    """Colour, mark and dash of a series; a `hollow` mark is white inside."""

    colour: str
    mark: str
    dash: str
    hollow: bool


def look_of(series: Drawn) -> Look:
    """Return how a series looks: one colour and mark a propeller and one dash a cell count, or one colour a cell count."""
    look = look_at(*series.look)
    colours = CELL_COUNT_FILLS if series.by_cells else SERIES_COLOURS
    return look._replace(colour=GREY if series.line else colours[series.look[0] % len(colours)])


def look_at(place: int, pack: int) -> Look:
    """Return how the line of a propeller and a cell count looks, by their places: the same in all charts."""
    turn, colour = place // len(SERIES_COLOURS) * 3, SERIES_COLOURS[place % len(SERIES_COLOURS)]
    return Look(colour, MARKERS[(place + turn) % len(MARKERS)], DASHES[(pack + turn) % len(DASHES)], pack % 2 == 1)


def _series(series: Drawn, lines: bool) -> dict[str, Any]:
    look = look_of(series)
    line = {"color": look.colour, "width": 2.25, "dash_type": look.dash}
    marked = {
        "type": look.mark,
        "size": 8,
        "border": {"color": look.colour, "width": 1.25},
        "fill": {"color": "#FFFFFF" if look.hollow else look.colour},
    }
    shown = {
        "line": line if lines or series.line else {"none": True},
        "marker": {"type": "none"} if series.line else marked,
    }
    return _cells(series) | shown | (_error_bars(series.margin, look.colour) if series.margin else {})


def _error_bars(margin: Cells, colour: str) -> dict[str, Any]:
    """Draw what stands behind “±” up and down from each point."""
    ends = {f"{end}_values": margin.where for end in ("plus", "minus")}
    kept = {f"{end}_data": list(margin.values) for end in ("plus", "minus")}
    return {"y_error_bars": {"type": "custom", **ends, **kept, "line": {"color": colour, "width": 1.25}}}


def font(size: float, bold: bool = False) -> dict[str, Any]:
    """Return the type of a chart's words."""
    return {"name": FONT, "size": size, "bold": bold, "color": INK}


def _axis(name: str) -> dict[str, Any]:
    return {
        "name": name,
        "name_font": font(13),
        "num_font": {"name": FONT, "size": 12, "color": GREY},
        "major_gridlines": {"visible": True, "line": {"color": GRID, "width": 0.75}},
        "line": {"color": GREY},
        "num_format": AXIS_NUMBERS,
    }
