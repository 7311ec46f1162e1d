"""A page measured in pixels from its upper left corner: elements of SVG, which are written as such or drawn as PNG."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from html import escape
from io import BytesIO
from pathlib import Path
from typing import Any, Literal, NamedTuple

from PIL import Image, ImageDraw, ImageFont
from PIL.PngImagePlugin import PngInfo

from xlsengine.workbook.formats import CELL_COUNT_FILLS, INK

Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]
_FONTS = Path(__file__).parent / "fonts"  # DejaVu Sans, which may be passed on; see the licence beside it
_MEASURED = 100
_HALF_CAPITAL = 0.365  # of the type's size: half the height of capitals in DejaVu Sans
_MORE = "…"
_ROUND = 0.5
_UNITS = re.compile(r"(?<=\d) (?=(?:V|A|g|s|W|hPa|°C|%|rpm/V|cells?)\b|%|°C)")


class Shape(NamedTuple):
    """An element of SVG: what it is, its attributes in the order in which they are written, and the text in it."""

    tag: str
    attributes: dict[str, Any]
    text: str = ""


@dataclass
class Drawing:
    """A page: its size in pixels and the shapes on it; `shortened` keeps the texts that had to be cut."""

    width: int
    height: int
    shapes: list[Shape] = field(default_factory=list)
    shortened: list[str] = field(default_factory=list)

    def add(self, tag: str, text: str = "", /, **attributes: Any) -> None:
        """Draw an element; its attributes are SVG's, with an underscore for each hyphen, and None for those left out."""
        said = {name.replace("_", "-"): value for name, value in attributes.items() if value is not None}
        self.shapes.append(Shape(tag, said, text))

    def box(self, x: float, y: float, width: float, height: float, fill: str, radius: float | None = None) -> None:
        """Draw a filled rectangle, its corners rounded or not."""
        self.add("rect", x=x, y=y, width=width, height=height, fill=fill, rx=radius)

    def rule(self, x: float, y: float, width: float, stroke: str, thick: float = 1.5) -> None:
        """Draw a level line."""
        self.path(((x, y), (x + width, y)), stroke, thick)

    def path(
        self, points: Sequence[Point], stroke: str, thick: float, dash: tuple[float, ...] = (), fill: str = ""
    ) -> None:
        """Draw a line through points; with a `fill` it is closed. `dash` gives drawn and left-out lengths."""
        tag, dashed = "polygon" if fill else "polyline", dash or None
        self.add(tag, points=points, fill=fill or "none", stroke=stroke, stroke_width=thick, stroke_dasharray=dashed)

    def dot(self, x: float, y: float, radius: float, fill: str, stroke: str, thick: float) -> None:
        """Draw a circle."""
        self.add("circle", cx=x, cy=y, r=radius, fill=fill, stroke=stroke, stroke_width=thick)

    def text(
        self,
        x: float,
        middle: float,
        text: str,
        size: float,
        fill: str = INK,
        bold: bool = False,
        anchor: Anchor = "start",
        room: float = math.inf,
        least: float = 0.0,
        turned: bool = False,
    ) -> float:
        """Write a line of text at the height of its capitals' middle; return how wide it is.

        Where it is wider than `room` it gets smaller, down to `least`; beyond that it is cut, ends in “…” and is kept
        in `shortened`.
        """
        text = _plain(text)
        size = min(size, max(least or size, size * room / max(1.0, text_width(text, size, bold))))
        whole = text
        if text_width(text, size, bold) > room + _ROUND:
            text = _cut(text, size, bold, room)
            self.shortened.append(whole)
        self.add(
            "text",
            text,
            x=x,
            y=middle if turned else middle + _HALF_CAPITAL * size,
            font_size=size,
            fill=fill,
            font_weight="bold" if bold else None,
            text_anchor=None if anchor == "start" else anchor,
            transform=f"rotate(-90 {_n(x)} {_n(middle)})" if turned else None,
        )
        return text_width(text, size, bold)

    def name(self, x: float, middle: float, text: str, size: float, room: float, high: float, least: float) -> None:
        """Write a name in bold type: in one line, in two small ones where `high` pixels hold them, or cut."""
        if text_width(text, least, True) > room and high >= 2.4 * least and len(wrap(text, least, room, True)) > 1:
            self.paragraph(x, middle - 0.62 * least, text, least, room, 2, 1.24, bold=True)
        else:
            self.text(x, middle, text, size, bold=True, room=room, least=least)

    def paragraph(
        self,
        x: float,
        middle: float,
        text: str,
        size: float,
        room: float,
        lines: int,
        step: float = 1.32,
        fill: str = INK,
        bold: bool = False,
    ) -> float:
        """Write a text in so many lines at most; return how high they are. What is left over is cut as in `text`."""
        wrapped = wrap(text, size, room, bold)
        shown = [*wrapped[: lines - 1], " ".join(wrapped[lines - 1 :])] if len(wrapped) > lines else wrapped
        for place, line in enumerate(shown):
            self.text(x, middle + place * size * step, line, size, fill, bold, room=room)
        return len(shown) * size * step


def _plain(text: str) -> str:
    """Return a text in one line, without the signs that XML cannot hold (XML 1.0, 2.2)."""
    return "".join(
        sign if sign >= " " and sign not in "\ufffe\uffff" and not "\ud800" <= sign <= "\udfff" else "\ufffd"
        for sign in text
    )


def _cut(text: str, size: float, bold: bool, room: float) -> str:
    while text and text_width(text + _MORE, size, bold) > room:
        text = text[:-1]
    return text.rstrip() + _MORE


def wrap(text: str, size: float, room: float, bold: bool = False) -> list[str]:
    """Break a text into lines at its blanks, but not between a number and its unit; a long word stands alone.

    >>> wrap("one two three", 20, 90)
    ['one two', 'three']
    """
    lines: list[str] = []
    for word in _UNITS.sub("\u00a0", text).split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, bold) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def draw_bar(
    page: Drawing,
    place: tuple[float, float, float, float],
    number: int,
    size: float,
    name: str,
    shown: str,
) -> None:
    """Draw a level bar at (x, y, width, height) in the colour of a cell count: its name inside where it fits, its figure
    behind it.
    """
    x, y, width, height = place
    number %= len(CELL_COUNT_FILLS)
    page.box(x, y, width, height, CELL_COUNT_FILLS[number])
    if name and width > text_width(name, size, True) + 14:
        page.text(x + 8, y + height / 2, name, size, "#FFFFFF" if number in (0, 5) else INK, bold=True)
    if shown:
        page.text(x + width + 8, y + height / 2, shown, size)


@cache
def font(bold: bool, size: int = _MEASURED) -> ImageFont.FreeTypeFont:
    """Return the type in a size in pixels."""
    file = _FONTS / ("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf")
    return ImageFont.truetype(str(file), size, layout_engine=ImageFont.Layout.BASIC)


@cache
def text_width(text: str, size: float, bold: bool = False) -> float:
    """Return the width of a line of text in pixels."""
    return float(font(bold).getlength(text)) * size / _MEASURED


# --- as SVG ------------------------------------------------------------------------------------------------------

FAMILY = "DejaVu Sans, Verdana, Arial, sans-serif"


def svg(drawing: Drawing, name: str, title: str, described: str) -> str:
    """Return the drawing; `name` tells its ids from those of other drawings on a page. It holds no styles and no links."""
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {drawing.width} {drawing.height}" '
        f'role="img" aria-labelledby="{name}-title {name}-desc" font-family="{FAMILY}">'
        f'<title id="{name}-title">{escape(title)}</title><desc id="{name}-desc">{escape(described)}</desc>'
    )
    ground = f'<rect width="{drawing.width}" height="{drawing.height}" fill="#FFFFFF"/>'
    return "\n".join((head, ground, *map(_element, drawing.shapes), "</svg>"))


def _element(shape: Shape) -> str:
    said = " ".join(f'{name}="{_written(value)}"' for name, value in shape.attributes.items())
    return f"<{shape.tag} {said}>{escape(shape.text)}</{shape.tag}>" if shape.text else f"<{shape.tag} {said}/>"


def _written(value: Any) -> str:
    """Return an attribute: a text, a number, several of them, or points."""
    if isinstance(value, Sequence) and not isinstance(value, str):
        return " ".join(",".join(map(_n, each)) if isinstance(each, tuple) else _n(each) for each in value)
    return value if isinstance(value, str) else _n(value)


def _n(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")


# --- as PNG, in few colours; the same bytes for the same drawing -------------------------------------------------

_COLOURS = 128
_FINER = 3
"""Times that a picture is drawn larger at first, so that its edges come out smooth."""
_ANCHORS = {"start": "ls", "middle": "ms", "end": "rs"}


def png(drawing: Drawing, title: str, described: str) -> bytes:
    """Return the picture; title and description stand in it as texts too.

    Raises TypeError for what only charts have, which are drawn as SVG: circles and closed lines.
    """
    image = Image.new("RGB", (drawing.width * _FINER, drawing.height * _FINER), "white")
    pen = ImageDraw.Draw(image)
    for shape in drawing.shapes:
        _draw(pen, shape)
    few = image.reduce(_FINER).quantize(_COLOURS, dither=Image.Dither.NONE)
    told, packed = PngInfo(), BytesIO()
    for key, text in (("Title", title), ("Description", described)):
        told.add_itxt(key, text.encode("utf-8", "replace").decode().replace("\0", "\ufffd"))
    few.save(packed, "PNG", optimize=True, pnginfo=told)
    return packed.getvalue()


def _draw(pen: ImageDraw.ImageDraw, shape: Shape) -> None:
    match shape:
        case Shape("rect", {"x": x, "y": y, "width": width, "height": height, "fill": fill} as more):
            left, top, right, bottom = _finer(x, y, x + width, y + height)
            corners = (left, top, max(left, right - 1), max(top, bottom - 1))  # both ends are drawn
            pen.rounded_rectangle(corners, more.get("rx", 0) * _FINER, fill)
        case Shape("polyline", {"points": points, "stroke": stroke, "stroke-width": thick}):
            pen.line([number for point in points for number in _finer(*point)], stroke, round(thick * _FINER))
        case Shape("text", {"x": x, "y": y, "font-size": size, "fill": fill} as more, text):
            large = font("font-weight" in more, round(size * _FINER))
            at, anchor = _finer(x, y), _ANCHORS[more.get("text-anchor", "start")]
            pen.text((at[0], at[1]), text, fill, large, anchor)
        case _:
            raise TypeError(f"a picture has no {shape.tag}")


def _finer(*numbers: float) -> tuple[float, ...]:
    return tuple(round(number * _FINER) for number in numbers)
