"""Tables wider than a page: printed over as many pages of A4 landscape as keep their type readable."""

from __future__ import annotations

from collections.abc import Sequence

from xlsengine.workbook.book import Sheet
from xlsengine.workbook.layout import Block

LEAST_SCALE = 0.8  # type of 10 points comes out at 8
SPARE_PRINTED = 3
PAGE_PIXELS = 1045
"""What 10.89 inches between the margins hold at 96 pixels an inch and full size."""


def pixels(width: float) -> float:
    """Return how wide a column of so many letters is; nothing where it is hidden (width 0)."""
    return width * 7 + 5 if width else 0.0


def page_starts(widths: Sequence[float], repeated: int, room: float) -> list[int]:
    """Return the columns that further pages begin with, by widths in letters and a page's room in pixels.

    The first `repeated` columns stand on every page.

    >>> page_starts([10, 60, 60, 0, 60], repeated=1, room=1000)
    [4]
    """
    always = filled = sum(map(pixels, widths[:repeated]))
    starts = []
    for column, width in enumerate(map(pixels, widths[repeated:]), start=repeated):
        if filled + width > room and filled > always:
            starts.append(column)
            filled = always
        filled += width
    return starts


def pages_wide(widths: Sequence[float], repeated: int) -> int:
    """Return over how many pages columns of these widths in letters run; the first `repeated` stand on every page.

    >>> pages_wide([10, 60, 60, 0, 60], repeated=1)
    2
    """
    return len(page_starts(widths, repeated, PAGE_PIXELS / LEAST_SCALE)) + 1


def last_printed(block: Block, used: int) -> int:
    """Return the last row that is printed of a table with so many rows in use: three spare ones and no more."""
    return min(block.bottom, block.top + used + SPARE_PRINTED)


def print_over_pages(
    sheet: Sheet, widths: Sequence[float], repeated: int, repeat: tuple[int, int] | None = None
) -> None:
    """Print a sheet over as many pages as its columns need; `repeat` names rows that every page begins with.

    The program that prints fits the columns to that many pages: their widths differ with the fonts that it has.
    """
    sheet.print_setup(repeat=repeat)
    sheet.worksheet.fit_to_pages(pages_wide(widths, repeated), 0)
    if repeated:
        sheet.worksheet.repeat_columns(0, repeated - 1)
