"""A drawing as a PNG of its size in pixels, in few colours; the same bytes for the same drawing."""

from functools import cache
from io import BytesIO

from PIL import Image, ImageDraw
from PIL.PngImagePlugin import PngInfo

from xlsengine.publish.drawing import Box, Drawing, Shape, Stroke, Words, font

_COLOURS = 128
_FINER = 3
"""Times that a picture is drawn larger at first, so that its edges come out smooth."""
_NO_SIGN = "\U0010ffff"
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
            pen.text((round(x * _FINER), round(y * _FINER)), known(text, bold), fill, large, _ANCHORS[anchor])
        case _:
            raise TypeError(f"a picture has no {shape}")


def _finer(*numbers: float) -> tuple[float, ...]:
    return tuple(round(number * _FINER) for number in numbers)


def lacks_signs(drawing: Drawing) -> bool:
    """Tell whether a text of a drawing holds a sign that the type does not have."""
    written = (shape for shape in drawing.shapes if isinstance(shape, Words))
    return any(known(words.text, words.bold) != words.text for words in written)


def known(text: str, bold: bool = False) -> str:
    """Return a text with “�” in place of signs that the type does not have.

    >>> known("5x4 ☃ 中")
    '5x4 ☃ �'
    """
    return "".join(sign if _drawn(sign, bold) != _drawn(_NO_SIGN, bold) else "\ufffd" for sign in text)


@cache
def _drawn(sign: str, bold: bool) -> bytes:
    """Return a sign as it is drawn: all that the type does not have look alike."""
    return bytes(font(bold).getmask(sign))
