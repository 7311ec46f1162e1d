"""The charts of the workbook as drawings: bars by propeller, lines and points between axes, from the same series."""

import math
from collections.abc import Sequence

from xlsengine.publish.drawing import Drawing, Point, draw_bar, text_width
from xlsengine.text_operations import fixed_text
from xlsengine.workbook.chart_data import Drawn
from xlsengine.workbook.charts import GRID, Look, Picture, look_of
from xlsengine.workbook.formats import GREY, INK, SLATE

WIDTH = 720
_TITLE, _TYPE, _SMALL = 25, 20, 18
_BAR, _BETWEEN, _HEAD, _FOOT = 26, 12, 56, 14
_PLOT, _LEFT, _BELOW, _RIGHT = 400, 96, 74, 24
_LEGEND = 30
_NAMES = 190
_MOST_STEPS, _SCALES, _ROUND = 6, (1.0, 2.0, 2.5, 5.0, 10.0), 1e-9  # of an axis, and by what its steps grow
_DASHES = {
    "solid": (),
    "dash": (10.0, 6.0),
    "round_dot": (3.0, 4.0),
    "dash_dot": (10.0, 5.0, 3.0, 5.0),
    "long_dash": (18.0, 6.0),
    "long_dash_dot": (18.0, 6.0, 3.0, 6.0),
}


def draw_chart(picture: Picture, drawn: Sequence[Drawn]) -> Drawing:
    """Return a chart of the workbook as a drawing, 720 pixels wide, with type that reads on a phone's width."""
    return _bars(picture, drawn) if picture.bars else _plot(picture, drawn)


def shown_number(value: float, decimals: int) -> str:
    """Return a number with so many decimals, halves away from zero, whole ones with a mark between thousands."""
    text = fixed_text(value, decimals) or ""
    return f"{int(text):,}" if decimals == 0 and text else text


def _bars(picture: Picture, drawn: Sequence[Drawn]) -> Drawing:
    names = drawn[0].x.texts
    rows = [
        [(series, series.y.values[place]) for series in drawn if series.y.values[place] is not None]
        for place in range(len(names))
    ]
    height = _HEAD + sum(max(1, len(row)) * _BAR + _BETWEEN for row in rows) + _FOOT
    page = Drawing(WIDTH, height)
    unit = picture.y.rpartition("(")[2].rstrip(")")
    _title(page, picture.title if unit in ("", "g/W") else f"{picture.title} ({unit})")
    most = max((value for row in rows for _, value in row if value is not None), default=1.0)
    room = WIDTH - _NAMES - 100
    top = float(_HEAD)
    for name, row in zip(names, rows, strict=True):
        high = max(1, len(row)) * _BAR
        page.text(12, top + high / 2, name, _TYPE, bold=True, room=_NAMES - 22, least=15)
        for place, (series, value) in enumerate(row):
            assert value is not None
            bar = _NAMES, top + place * _BAR, room * value / most, _BAR - 3
            shown = shown_number(value, picture.decimals)
            draw_bar(page, bar, series.look[0], _SMALL, series.y.label, shown)
        top += high + _BETWEEN
    page.path(((_NAMES, _HEAD - 4), (_NAMES, top - _BETWEEN + 4)), INK, 2)
    return page


def _title(page: Drawing, words: str) -> None:
    page.text(12, 28, words, _TITLE, SLATE, bold=True, room=page.width - 24, least=17)


def _plot(picture: Picture, drawn: Sequence[Drawn]) -> Drawing:
    rows = [*_legend_rows([series.y.label for series in drawn])]
    page = Drawing(WIDTH, _HEAD + _PLOT + _BELOW + _LEGEND * len(rows) + _FOOT)
    _title(page, picture.title)
    points = [_points(series) for series in drawn]
    area = _Area(points, picture)
    area.draw(page, picture)
    for series, found in zip(drawn, points, strict=True):
        _draw_series(page, look_of(series), [area.place(point) for point in found], picture.lines)
    _write_legend(page, drawn, rows, picture.lines)
    return page


def _points(series: Drawn) -> list[Point]:
    pairs = zip(series.x.values, series.y.values, strict=True)
    return [(x, y) for x, y in pairs if x is not None and y is not None]


class _Area:
    """The axes of a plot: from 0 to a round number beyond the largest value."""

    def __init__(self, points: Sequence[Sequence[Point]], picture: Picture) -> None:
        flat = [point for found in points for point in found]
        self.x_ticks = _ticks(picture.x_max or max((x for x, _ in flat), default=1.0))
        self.y_ticks = _ticks(max((y for _, y in flat), default=1.0))

    def place(self, point: Point) -> Point:
        """Return where a point lies on the page."""
        x, y = point[0] / self.x_ticks[-1], point[1] / self.y_ticks[-1]
        return _LEFT + x * (WIDTH - _LEFT - _RIGHT), _HEAD + (1 - y) * _PLOT

    def draw(self, page: Drawing, picture: Picture) -> None:
        """Draw grid, numbers and names of the axes."""
        across, up = _decimals(self.x_ticks), _decimals(self.y_ticks)
        for x in self.x_ticks:
            at, bottom = self.place((x, 0.0))
            page.path(((at, _HEAD), (at, bottom)), GRID, 1)
            page.text(at, bottom + 18, shown_number(x, across), _SMALL, GREY, anchor="middle")
        for y in self.y_ticks:
            left, at = self.place((0.0, y))
            page.rule(left, at, WIDTH - _LEFT - _RIGHT, GREY if y == 0 else GRID, 1)
            page.text(left - 8, at, shown_number(y, up), _SMALL, GREY, anchor="end")
        page.text(_LEFT + (WIDTH - _LEFT) / 2, _HEAD + _PLOT + 48, picture.x, _TYPE, INK, anchor="middle")
        page.text(22, _HEAD + _PLOT / 2, picture.y, _TYPE, INK, anchor="middle", turned=True)


def _ticks(most: float) -> list[float]:
    """Return round numbers from 0 to beyond a value.

    >>> _ticks(100.0)
    [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]
    """
    most = most or 1.0
    power = 10.0 ** math.floor(math.log10(most / _MOST_STEPS))
    step = next(scale * power for scale in _SCALES if most / (scale * power) <= _MOST_STEPS + _ROUND)
    return [round(step * place, 10) for place in range(math.ceil(most / step - _ROUND) + 1)]


def _decimals(ticks: Sequence[float]) -> int:
    return next((places for places in range(4) if all(abs(round(t, places) - t) < 1e-9 for t in ticks)), 4)


def _draw_series(page: Drawing, look: Look, places: Sequence[Point], lines: bool) -> None:
    if lines and len(places) > 1:
        page.path(places, look.colour, 3, _DASHES[look.dash])
    for x, y in places:
        draw_mark(page, look, x, y, 7)


def _legend_rows(names: Sequence[str]) -> list[list[int]]:
    """Put the names of series into rows of the page's width; returns their places."""
    rows: list[list[int]] = []
    used = 0.0
    for place, name in enumerate(names):
        wide = _entry_width(name)
        if not rows or used + wide > WIDTH - 24:
            rows.append([])
            used = 0.0
        rows[-1].append(place)
        used += wide
    return rows


def _entry_width(name: str) -> float:
    return 62 + min(text_width(name, _SMALL), WIDTH - 110) + 22


def _write_legend(page: Drawing, drawn: Sequence[Drawn], rows: Sequence[Sequence[int]], lines: bool) -> None:
    for number, row in enumerate(rows):
        x, middle = 12.0, _HEAD + _PLOT + _BELOW + (number + 0.5) * _LEGEND
        for place in row:
            look, name = look_of(drawn[place]), drawn[place].y.label
            _draw_series(page, look, [(x + 26, middle)], False)
            if lines:
                page.path(((x, middle), (x + 52, middle)), look.colour, 3, _DASHES[look.dash])
            page.text(x + 62, middle, name, _SMALL, room=WIDTH - 110)
            x += _entry_width(name)


_THICK = 2.0


def draw_mark(page: Drawing, look: Look, x: float, y: float, size: float) -> None:
    """Draw a mark of a radius of `size` pixels around a point."""
    if look.mark == "circle":
        page.dot(x, y, size * 0.9, "#FFFFFF" if look.hollow else look.colour, look.colour, _THICK)
    elif look.mark in _CORNERS:
        corners = tuple((x + size * across, y + size * down) for across, down in _CORNERS[look.mark])
        page.path(corners, look.colour, _THICK, fill="#FFFFFF" if look.hollow else look.colour)
    else:
        for angle in _STROKES[look.mark]:
            across, down = size * math.cos(math.radians(angle)), size * math.sin(math.radians(angle))
            page.path(((x - across, y - down), (x + across, y + down)), look.colour, 3)


_CORNERS: dict[str, tuple[Point, ...]] = {
    "square": ((-0.8, -0.8), (0.8, -0.8), (0.8, 0.8), (-0.8, 0.8)),
    "diamond": ((0.0, -1.1), (1.1, 0.0), (0.0, 1.1), (-1.1, 0.0)),
    "triangle": ((0.0, -1.0), (1.0, 0.8), (-1.0, 0.8)),
}
_STROKES: dict[str, tuple[float, ...]] = {
    "x": (45.0, 135.0),
    "plus": (0.0, 90.0),
    "star": (0.0, 60.0, 120.0),
    "short_dash": (0.0,),
}
