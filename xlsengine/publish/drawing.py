"""A page measured in pixels from its upper left corner: shapes first, then written as SVG or drawn as PNG."""

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from html import escape
from io import BytesIO
from pathlib import Path
from typing import Literal

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


@dataclass(frozen=True)
class Box:
    """A filled rectangle, its corners rounded or not."""

    x: float
    y: float
    width: float
    height: float
    fill: str
    radius: float = 0.0


@dataclass(frozen=True)
class Stroke:
    """A line through points, `closed` and filled or not; `dash` gives drawn and left-out lengths."""

    points: tuple[Point, ...]
    stroke: str
    thick: float
    dash: tuple[float, ...] = ()
    fill: str = ""


@dataclass(frozen=True)
class Dot:
    """A filled circle."""

    x: float
    y: float
    radius: float
    fill: str
    stroke: str
    thick: float


@dataclass(frozen=True)
class Words:
    """A line of text; `y` is its base line."""

    x: float
    y: float
    text: str
    size: float
    fill: str
    bold: bool
    anchor: Anchor
    turned: bool = False


Shape = Box | Stroke | Dot | Words


@dataclass
class Drawing:
    """A page: its size in pixels and the shapes on it; `shortened` keeps the texts that had to be cut."""

    width: int
    height: int
    shapes: list[Shape] = field(default_factory=list)
    shortened: list[str] = field(default_factory=list)

    def box(self, x: float, y: float, width: float, height: float, fill: str, radius: float = 0.0) -> None:
        """Draw a filled rectangle."""
        self.shapes.append(Box(x, y, width, height, fill, radius))

    def rule(self, x: float, y: float, width: float, stroke: str, thick: float = 1.5) -> None:
        """Draw a level line."""
        self.path(((x, y), (x + width, y)), stroke, thick)

    def path(
        self, points: Sequence[Point], stroke: str, thick: float, dash: tuple[float, ...] = (), fill: str = ""
    ) -> None:
        """Draw a line through points; with a `fill` it is closed."""
        self.shapes.append(Stroke(tuple(points), stroke, thick, dash, fill))

    def dot(self, x: float, y: float, radius: float, fill: str, stroke: str, thick: float) -> None:
        """Draw a circle."""
        self.shapes.append(Dot(x, y, radius, fill, stroke, thick))

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
        y = middle if turned else middle + _HALF_CAPITAL * size
        self.shapes.append(Words(x, y, text, size, fill, bold, anchor, turned))
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
    return "\n".join((head, *_shapes(drawing), "</svg>"))


def _shapes(drawing: Drawing) -> Iterator[str]:
    yield f'<rect width="{drawing.width}" height="{drawing.height}" fill="#FFFFFF"/>'
    for shape in drawing.shapes:
        yield _shape(shape)


def _shape(shape: Shape) -> str:
    match shape:
        case Box(x, y, width, height, fill, radius):
            rounded = f' rx="{_n(radius)}"' if radius else ""
            return f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(width)}" height="{_n(height)}" fill="{fill}"{rounded}/>'
        case Stroke(points, stroke, thick, dash, fill):
            dashed = f' stroke-dasharray="{" ".join(map(_n, dash))}"' if dash else ""
            kind, inside = ("polygon", fill) if fill else ("polyline", "none")
            listed = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
            return f'<{kind} points="{listed}" fill="{inside}" stroke="{stroke}" stroke-width="{_n(thick)}"{dashed}/>'
        case Dot(x, y, radius, fill, stroke, thick):
            line = f' stroke="{stroke}" stroke-width="{_n(thick)}"'
            return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}" fill="{fill}"{line}/>'
        case Words():
            return _words(shape)


def _words(words: Words) -> str:
    bold = ' font-weight="bold"' if words.bold else ""
    at = f' text-anchor="{words.anchor}"' if words.anchor != "start" else ""
    turned = f' transform="rotate(-90 {_n(words.x)} {_n(words.y)})"' if words.turned else ""
    place = f'x="{_n(words.x)}" y="{_n(words.y)}" font-size="{_n(words.size)}" fill="{words.fill}"'
    return f"<text {place}{bold}{at}{turned}>{escape(words.text)}</text>"


def _n(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")


# --- as PNG, in few colours; the same bytes for the same drawing -------------------------------------------------

_COLOURS = 128
_FINER = 3
"""Times that a picture is drawn larger at first, so that its edges come out smooth."""
_ANCHORS = {"start": "ls", "middle": "ms", "end": "rs"}


def png(drawing: Drawing, title: str, described: str) -> bytes:
    """Return the picture; title and description stand in it as texts too.

    Raises TypeError for what only charts have, which are drawn as SVG: circles, dashes and texts that are turned.
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
        case Box(x, y, width, height, fill, radius):
            left, top, right, bottom = _finer(x, y, x + width, y + height)
            corners = (left, top, max(left, right - 1), max(top, bottom - 1))  # both ends are drawn
            pen.rounded_rectangle(corners, radius * _FINER, fill)
        case Stroke(points, stroke, thick, dash=(), fill=""):
            pen.line([number for point in points for number in _finer(*point)], stroke, round(thick * _FINER))
        case Words(x, y, text, size, fill, bold, anchor, turned=False):
            large = font(bold, round(size * _FINER))
            pen.text((round(x * _FINER), round(y * _FINER)), text, fill, large, _ANCHORS[anchor])
        case _:
            raise TypeError(f"a picture has no {shape}")


def _finer(*numbers: float) -> tuple[float, ...]:
    return tuple(round(number * _FINER) for number in numbers)
