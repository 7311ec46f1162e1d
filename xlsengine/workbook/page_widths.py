"""Tables wider than a page: printed over as many pages of A4 landscape as keep their type readable."""

from __future__ import annotations

from collections.abc import Sequence

from xlsengine.workbook.book import Sheet

LEAST_SCALE = 0.8  # type of 10 points comes out at 8
PAGE_PIXELS = 1045
"""What 10.89 inches between the margins hold at 96 pixels an inch and full size."""


def pixels(width: float) -> float:
    """Return how wide a column of so many letters is; nothing where it is hidden (width 0)."""
    return width * 7 + 5 if width else 0.0


def pages_wide(widths: Sequence[float], repeated: int) -> int:
    """Return over how many pages columns of these widths in letters run; the first `repeated` stand on every page.

    >>> pages_wide([10, 60, 60, 0, 60], repeated=1)
    2
    """
    always = sum(map(pixels, widths[:repeated]))
    pages, filled = 1, always
    for width in map(pixels, widths[repeated:]):
        if filled + width > PAGE_PIXELS / LEAST_SCALE and filled > always:
            pages, filled = pages + 1, always
        filled += width
    return pages


def print_over_pages(
    sheet: Sheet, widths: Sequence[float], repeated: int, repeat: tuple[int, int] | None = None
) -> None:
    """Print a sheet over as many pages as its columns need; `repeat` names rows that every page begins with.

    The program that prints fits the columns to that many pages: their widths differ with the fonts that it has.
    """
    sheet.print_setup(repeat=repeat)
    sheet.worksheet.fit_to_pages(pages_wide(widths, repeated), 0)
    sheet.worksheet.repeat_columns(0, repeated - 1)
