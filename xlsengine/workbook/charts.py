"""Charts with one look: large type, strong lines, explicit colours, marks and dashes, and an alt text."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from xlsengine.workbook.book import Book
from xlsengine.workbook.chart_data import Cells, Drawn
from xlsengine.workbook.formats import (
    CELL_COUNT_FILLS,
    CELL_COUNT_HATCHES,
    FONT,
    GREY,
    INK,
    MARKERS,
    RULE,
    SERIES_COLOURS,
    plain_number_format,
    stored,
)

GRID, PALE = "#E0E0E0", "#E4E9ED"
"""Of the lines in charts that stand alone, and in those beside tables."""
AXIS_NUMBERS = "[>=1000]#,##0;General"
"""Of axes: thousands with their mark, all others as they are."""
LINES, POINTS = ({"type": "scatter", "subtype": each} for each in ("straight_with_markers", "marker_only"))
BARS, LYING = {"type": "column"}, {"type": "bar"}
DASHES = ("solid", "dash", "round_dot", "dash_dot", "long_dash", "long_dash_dot")
_MOST_LABELLED = 20
Properties = dict[str, Any]


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
    """Make the chart of a picture: points, or a group of upright bars over each name."""
    legend, y = {"position": "right", "font": font(12)}, _axis(picture.y) | {"min": 0}
    if not picture.bars:
        kind, series = LINES if picture.lines else POINTS, [series_of(each, picture.lines) for each in drawn]
        x = _axis(picture.x) | {"min": 0, "max": picture.x_max}
        return chart(book, kind, series, (x, y), picture.title, 18, legend)
    numbers = [value for series in drawn for value in series.y.values]
    labelled = len(numbers) <= _MOST_LABELLED and None not in numbers
    label = {"value": True, "num_format": plain_number_format(picture.decimals), "font": font(12)}
    bars = [_bars(series) | ({"data_labels": label} if labelled else {}) for series in drawn]
    x = _axis(picture.x) | {"major_gridlines": {"visible": False}, "major_tick_mark": "none"}
    return chart(book, BARS, bars, (x, y), picture.title, 18, legend)


def _bars(series: Drawn) -> Properties:
    place = series.look[0] % len(CELL_COUNT_FILLS)
    colour, pattern = CELL_COUNT_FILLS[place], CELL_COUNT_HATCHES[place]
    hatched = {"pattern": {"pattern": pattern, "fg_color": "#FFFFFF", "bg_color": colour}}
    fill = hatched if pattern else {"fill": {"color": colour}}  # the format takes one of the two
    border = {"color": INK, "width": 0.75} if pattern else {"none": True}
    return where_drawn(series.x, series.y) | {"border": border, "gap": 60, "overlap": 0, **fill}


def chart(
    book: Book,
    kind: Properties,
    series: Iterable[Properties],
    axes: tuple[Properties, Properties],
    title: str,
    size: float,
    legend: Properties,
    border: str = RULE,
    **titled: Any,
) -> Any:
    """Make a chart of series between axes, x and y, with a title in type of so many points, on white within a border."""
    made = book.workbook.add_chart(kind)
    for each in series:
        made.add_series(each)
    made.set_x_axis(axes[0])
    made.set_y_axis(axes[1])
    made.set_title({"name": title, "name_font": font(size, bold=True), "overlay": False, **titled})
    made.set_legend(legend)
    made.set_chartarea({"border": {"color": border} if border else {"none": True}, "fill": {"color": "#FFFFFF"}})
    made.show_na_as_empty_cell()
    return made


def where_drawn(x: Cells, y: Cells) -> Properties:
    """Say where name, x and y stand, and what the chart keeps of them for programs that only show it."""
    names = x.values or map(stored, x.texts)
    kept = {"name_data": [stored(y.label)], "categories_data": list(names), "values_data": list(y.values)}
    return {"name": y.name, "categories": x.where, "values": y.where, **kept}


class Look(NamedTuple):
    """Colour, mark and dash of a series; a `hollow` mark is white inside."""

    colour: str
    mark: str
    dash: str
    hollow: bool


def look_of(series: Drawn) -> Look:
    """Return how a series looks in all charts: one colour and mark a propeller and one dash a cell count.

    Where its colour is that of a cell count, so are colour and mark.
    """
    place, pack = series.look
    turn, colours = place // len(SERIES_COLOURS) * 3, CELL_COUNT_FILLS if series.by_cells else SERIES_COLOURS
    mark, dash = MARKERS[(place + turn) % len(MARKERS)], DASHES[(pack + turn) % len(DASHES)]
    return Look(colours[place % len(colours)], mark, dash, pack % 2 == 1)


def series_of(series: Drawn, lines: bool = True, thin: bool = False) -> Properties:
    """Return a series of points, joined by `lines` or not, in type for a chart of its own or a `thin` one."""
    look = look_of(series)
    size, width, border = (6, 2, {}) if thin else (8, 2.25, {"width": 1.25})
    line = {"color": look.colour, "width": width, "dash_type": look.dash}
    marked = {
        "type": look.mark,
        "size": size,
        "border": {"color": look.colour, **border},
        "fill": {"color": "#FFFFFF" if look.hollow else look.colour},
    }
    shown = {"line": line if lines else {"none": True}, "marker": marked}
    margin = _error_bars(series.margin, look.colour) if series.margin else {}
    return where_drawn(series.x, series.y) | shown | margin


def _error_bars(margin: Cells, colour: str) -> Properties:
    """Draw what stands behind “±” up and down from each point."""
    ends = {f"{end}_values": margin.where for end in ("plus", "minus")}
    kept = {f"{end}_data": list(margin.values) for end in ("plus", "minus")}
    return {"y_error_bars": {"type": "custom", **ends, **kept, "line": {"color": colour, "width": 1.25}}}


def font(size: float, bold: bool = False, colour: str = INK) -> Properties:
    """Return the type of a chart's words."""
    return {"name": FONT, "size": size, "bold": bold, "color": colour}


def _axis(name: str) -> Properties:
    return {
        "name": name,
        "name_font": font(13),
        "num_font": {"name": FONT, "size": 12, "color": GREY},
        "major_gridlines": {"visible": True, "line": {"color": GRID, "width": 0.75}},
        "line": {"color": GREY},
        "num_format": AXIS_NUMBERS,
    }
