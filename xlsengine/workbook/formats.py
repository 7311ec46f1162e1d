"""Colours and cell formats: an own, quiet set with accents after Okabe and Ito, readable in grey print."""

from functools import cached_property
from typing import Any

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
            indent=1,
            **{"text_wrap": text, **shape, **more},
        )

    def input_moment(self, shown: str) -> Any:
        """Cell that holds a day or time in the number format `shown`, in a column of its sender's own."""
        return self.get(bg_color=INPUT_FILL, border=1, border_color=INPUT_RULE, locked=False, num_format=shown)

    def derived(self, decimals: int, text: bool = False, **more: Any) -> Any:
        """Cell that is computed."""
        shape = {"text_wrap": True, "indent": 1} if text else {"num_format": number_format(decimals), "align": "right"}
        return self.get(**{"border": 1, "border_color": RULE, **shape, **more})
