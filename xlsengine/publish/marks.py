"""The marks of points, one for each of the workbook's."""

from __future__ import annotations

import math

from xlsengine.publish.drawing import Drawing, Point
from xlsengine.workbook.charts import Look

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
