"""What stands in cells, and formats: an own, quiet set of colours with accents after Okabe and Ito, clear in grey print."""

import re
from functools import cached_property
from typing import Any

import numpy as np

from xlsengine.bench.declaring.declare import Field, Quantity
from xlsengine.workbook.layout import LONGEST_CELL

_NO_XML = re.compile(
    "_(?=x[0-9A-Fa-f]{4}_)|[\\x00-\\x08\\x0b-\\x1f\\ufffe\\uffff]"
)  # escaped as in strings: ECMA-376 part 1, ST_Xstring
# Signs that XML cannot hold or that steer whatever shows them: a workbook with one of the former in the header of a table
# cannot be opened.
_NO_HEADER = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")
TALLEST = 400
"""Points of a row: spreadsheet programs refuse more than 409."""


def stored(value: Any) -> Any:
    """Return what stands in a cell as a formula's value: blanks become empty texts."""
    if isinstance(value, np.ndarray | np.generic):
        value = value.item()
    if isinstance(value, str):
        return _NO_XML.sub(lambda sign: f"_x{ord(sign[0]):04X}_", value)
    return "" if value is None or value != value else value


def all_stored(values: Any) -> list[Any]:
    """Return what stands in the cells of a column of formulas as their values."""
    listed = values.tolist()
    return ["" if v != v else v for v in listed] if values.dtype.kind == "f" else [stored(value) for value in listed]


def fitted(text: str) -> str:
    """Return a text cut to what a cell or note can hold, counted as the format counts: in units of two bytes."""
    if len(text) <= LONGEST_CELL // 2:
        return text
    return text.encode("utf-16-le", "replace")[: 2 * LONGEST_CELL].decode("utf-16-le", "ignore")


def decimals_of(declared: Field | Quantity) -> int:
    """Return how many decimals a declared cell shows."""
    return declared.decimals if isinstance(declared, Field) else declared.shown


def writable_header(text: str) -> str:
    """Return a header with blanks in place of the signs that no table's header can hold."""
    return _NO_HEADER.sub(" ", text)


FONT = "Arial"
INK, SLATE, MIST, RULE = "#1B2733", "#2F4858", "#EEF2F5", "#C3CDD6"
INPUT_FILL, INPUT_RULE, TYPED_FILL = "#FFF8DC", "#B8A76A", "#F3DFA2"
BLUE, ORANGE, GREEN, VERMILION, SKY, PURPLE, GREY = (
    "#0072B2",
    "#E69F00",
    "#009E73",
    "#D55E00",
    "#56B4E9",
    "#CC79A7",
    "#5F6B76",
)
SERIES_COLOURS = (BLUE, VERMILION, GREEN, ORANGE, PURPLE, SKY, INK, GREY)
CELL_COUNT_FILLS = (BLUE, ORANGE, GREEN, PURPLE, SKY, VERMILION)
"""Of bars, points and lines, one for each cell count that was tested, the fewest first; everywhere the same."""
CELL_COUNT_HEADS = (BLUE, "#9A6700", "#00795A", "#8A3B6E", "#2C6E91", "#A04000")
"""The same colours behind white type, dark enough for it to be read."""
CELL_COUNT_HATCHES = ("", "", "light_upward_diagonal", "", "light_downward_diagonal", "small_grid")
"""Drawn in white over those fills that are alike in grey print."""
MARKERS = ("circle", "square", "diamond", "triangle", "x", "plus", "star", "short_dash")
ONE_LINE = {"text_wrap": False, "shrink": True}
"""Of names in rows of one height: made smaller rather than run into the row below."""
NEEDED_FILL = "#9A4200"
RED, AMBER = "#9C3D00", "#7A5200"
"""Of words on these fills; dark enough to be read on them."""
GOOD_FILL, MIDDLE_FILL, BAD_FILL, DOUBT_FILL = "#D5EFE6", "#FBE9C6", "#F8D3BF", "#FFE49A"


def plain_number_format(decimals: int) -> str:
    """Return the number format with so many decimals, whole numbers with a thousands mark."""
    return "#,##0" if decimals == 0 else "0." + "0" * decimals


def number_format(decimals: int) -> str:
    """Return the same number format, clear of the right border."""
    return plain_number_format(decimals) + "_)"


_HEADING: dict[str, Any] = {"text_wrap": True, "border": 1, "border_color": RULE, "align": "center"}


def _named(**properties: Any) -> cached_property[Any]:
    """Make a format that is asked for by name."""
    return cached_property(lambda formats: formats.get(**properties))


class Formats:
    """The cell formats of one workbook; `get` makes each combination of properties once."""

    def __init__(self, workbook: Any) -> None:
        self._workbook = workbook
        self._made: dict[tuple[tuple[str, Any], ...], Any] = {}

    def get(self, **properties: Any) -> Any:
        """Return the format with these properties on top of the font."""
        whole = {"font_name": FONT, "font_size": 10, "font_color": INK, "valign": "vcenter", **properties}
        key = tuple(sorted(whole.items()))
        if key not in self._made:
            self._made[key] = self._workbook.add_format(whole)
        return self._made[key]

    title = _named(bold=True, font_size=18, font_color=SLATE)
    subtitle = _named(font_color=GREY, italic=True)
    section = _named(bold=True, font_size=12, font_color=SLATE)
    header = _named(bold=True, font_color="#FFFFFF", bg_color=SLATE, **_HEADING)
    needed_header = _named(bold=True, font_color="#FFFFFF", bg_color=NEEDED_FILL, **_HEADING)
    typed_header = _named(bold=True, bg_color=TYPED_FILL, **_HEADING)
    """Of a typed column of Readings in results, where the others are computed."""
    label = _named(border=1, border_color=RULE, text_wrap=True, indent=1)
    link = _named(font_color=BLUE, underline=1, border=1, border_color=RULE)
    quiet = _named(border=1, border_color=RULE, font_color=GREY, text_wrap=True, font_size=9, indent=1)
    """Of explanations beside fields."""
    paragraph = _named(text_wrap=True, valign="top")
    helper = _named(font_color=GREY, font_size=8, border=1, border_color=RULE)
    """Of cells that only formulas read; the next is that of what heads them."""
    helper_header = _named(font_color=GREY, bg_color=MIST, font_size=8, **_HEADING)

    def input_cell(self, decimals: int | None, text: bool = False, date: bool = False, **more: Any) -> Any:
        """Cell that a person fills."""
        shape = {"num_format": "yyyy-mm-dd"} if date else {} if text or decimals is None else {"num_format": "General"}
        return self.get(
            bg_color=INPUT_FILL,
            border=1,
            border_color=INPUT_RULE,
            locked=False,
            align="left" if text else "right",
            **{"indent": 1, "text_wrap": text, **shape, **more},
        )

    def input_moment(self, shown: str) -> Any:
        """Cell that holds a day or time in the number format `shown`, in a column of its sender's own."""
        return self.get(bg_color=INPUT_FILL, border=1, border_color=INPUT_RULE, locked=False, num_format=shown)

    def derived(self, decimals: int, text: bool = False, **more: Any) -> Any:
        """Cell that is computed."""
        shape = {"text_wrap": True, "indent": 1} if text else {"num_format": number_format(decimals), "align": "right"}
        return self.get(**{"border": 1, "border_color": RULE, **shape, **more})
