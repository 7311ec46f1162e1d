"""A drawing as SVG: plain shapes with text as text, a title and a description for those who cannot see it."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from xlsengine.publish.drawing import Box, Dot, Drawing, Shape, Stroke, Words

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
    return f"<text {place}{bold}{at}{turned}>{escape(_plain(words.text))}</text>"


def _plain(text: str) -> str:
    """Return a text without the signs that XML cannot hold (XML 1.0, 2.2)."""
    return "".join(
        sign if sign >= " " and sign not in "\ufffe\uffff" and not "\ud800" <= sign <= "\udfff" else "\ufffd"
        for sign in text
    )


def _n(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")
