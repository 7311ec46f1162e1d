"""A drawing as a PNG of its size in pixels, by matplotlib, in few colours; the same bytes for the same drawing."""

from functools import cache
from io import BytesIO

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, FancyBboxPatch, Polygon, Rectangle
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from xlsengine.publish.drawing import Box, Dot, Drawing, Shape, Stroke, Words, font_file

_DPI = 100
_POINTS = 72 / _DPI
_COLOURS = 128
_LAYER = 2.0


def png(drawing: Drawing, title: str, described: str) -> bytes:
    """Return the picture; title and description stand in it as texts too."""
    figure = Figure(figsize=(drawing.width / _DPI, drawing.height / _DPI), dpi=_DPI, facecolor="white")
    canvas = FigureCanvasAgg(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_xlim(0, drawing.width)
    axes.set_ylim(drawing.height, 0)
    axes.axis("off")
    for place, shape in enumerate(drawing.shapes):
        _draw(axes, shape, _LAYER + place / 1000)
    canvas.draw()  # type: ignore[no-untyped-call]
    drawn = np.asarray(canvas.buffer_rgba())  # type: ignore[no-untyped-call]
    image = Image.fromarray(drawn).convert("RGB")
    return _packed(image.quantize(_COLOURS, dither=Image.Dither.NONE), title, described)


def _packed(image: Image.Image, title: str, described: str) -> bytes:
    told, packed = PngInfo(), BytesIO()
    for key, text in (("Title", title), ("Description", described)):
        told.add_itxt(key, text.encode("utf-8", "replace").decode().replace("\0", "\ufffd"))
    image.save(packed, "PNG", optimize=True, pnginfo=told)
    return packed.getvalue()


def _draw(axes: Axes, shape: Shape, layer: float) -> None:
    match shape:
        case Box(x, y, width, height, fill, radius):
            plain = Rectangle((x, y), width, height, facecolor=fill, linewidth=0, zorder=layer)
            axes.add_patch(_rounded(shape, layer) if radius else plain)
        case Stroke(points, stroke, thick, dash, fill):
            if fill:
                axes.add_patch(
                    Polygon(
                        points, closed=True, facecolor=fill, edgecolor=stroke, linewidth=thick * _POINTS, zorder=layer
                    )
                )
            else:
                xs, ys = zip(*points, strict=True)
                axes.add_line(
                    Line2D(
                        xs,
                        ys,
                        color=stroke,
                        linewidth=thick * _POINTS,
                        zorder=layer,
                        solid_capstyle="butt",
                        linestyle=(0, tuple(each / thick for each in dash)) if dash else "solid",
                    )
                )
        case Dot(x, y, radius, fill, stroke, thick):
            axes.add_patch(
                Circle((x, y), radius, facecolor=fill, edgecolor=stroke, linewidth=thick * _POINTS, zorder=layer)
            )
        case Words():
            _write(axes, shape, layer)


def _rounded(box: Box, layer: float) -> FancyBboxPatch:
    """Return a box with round corners; its style grows it by the radius."""
    r = box.radius
    return FancyBboxPatch(
        (box.x + r, box.y + r),
        box.width - 2 * r,
        box.height - 2 * r,
        boxstyle=f"round,pad={r}",
        facecolor=box.fill,
        linewidth=0,
        zorder=layer,
    )


def _write(axes: Axes, words: Words, layer: float) -> None:
    at = {"start": "left", "middle": "center", "end": "right"}[words.anchor]
    axes.text(
        words.x,
        words.y,
        known(words.text, words.bold),
        fontsize=words.size * _POINTS,
        color=words.fill,
        ha=at,
        va="baseline",
        rotation=90 if words.turned else 0,
        rotation_mode="anchor",
        parse_math=False,
        zorder=layer,
        fontproperties=FontProperties(fname=str(font_file(words.bold)), size=words.size * _POINTS),
    )


def lacks_signs(drawing: Drawing) -> bool:
    """Tell whether a text of a drawing holds a sign that the type does not have."""
    written = (shape for shape in drawing.shapes if isinstance(shape, Words))
    return any(known(words.text, words.bold) != words.text for words in written)


def known(text: str, bold: bool = False) -> str:
    """Return a text with “�” in place of signs that the type does not have.

    >>> known("5x4 ☃ 中")
    '5x4 ☃ �'
    """
    return "".join(sign if ord(sign) in _signs(bold) else "\ufffd" for sign in text)


@cache
def _signs(bold: bool) -> frozenset[int]:
    from matplotlib.ft2font import FT2Font

    return frozenset(FT2Font(str(font_file(bold))).get_charmap())
