"""Tables wider than a page, printed over as many of A4 landscape as keep their type readable."""

from collections.abc import Sequence

from xlsengine.workbook.book import Sheet
from xlsengine.workbook.layout import Block

HEADERS_POINTS = 66
"""How high the headers of Readings are: four lines."""
LEAST_SCALE = 0.8  # type of 10 points comes out at 8
SPARE_PRINTED = 3
MARGINS = (0.25, 0.25, 0.3, 0.45)
"""Inches at the left, right, top and bottom of tables."""
PAGE_PIXELS = 1013
"""What 11.19 inches between the margins hold at full size: 1,074 pixels, and programs that measure columns by printed
type, as LibreOffice does, make them 6 % wider."""
PAGE_POINTS = 7.52 * 72 - 4
"""What the same page holds in height, with a little to spare."""
ROW_POINTS = 12.75
_SPARE_WIDTH = 0.99  # of a page: programs measure columns a little wider or narrower


def pixels(width: float) -> float:
    """Return how wide a column of so many letters is; nothing where it is hidden (width 0)."""
    return width * 7 + 5 if width else 0.0


def pages_wide(widths: Sequence[float], repeated: int, least: float = LEAST_SCALE) -> int:
    """Return over how many pages columns of these widths in letters run; the first `repeated` stand on every page.

    >>> pages_wide([10, 60, 60, 0, 60], repeated=1)
    2
    """
    room, pages = PAGE_PIXELS / least, 1
    always = filled = sum(map(pixels, widths[:repeated]))
    for width in map(pixels, widths[repeated:]):
        if filled + width > room and filled > always:
            pages, filled = pages + 1, always
        filled += width
    return pages


def last_printed(block: Block, used: int, spare: int = SPARE_PRINTED) -> int:
    """Return the last row that is printed of a table with so many rows in use, and so many spare ones."""
    return min(block.bottom, block.top + used + spare)


def spare_rows(height: float, widths: Sequence[float], headers: float) -> int:
    """Return how many spare rows are printed: three, or those that a page with room for no more has left.

    One row is kept free, and none is spare where a row or two begin the last page, since programs measure pages a little
    differently: no page shall hold spare rows alone. `height` is that of what is printed above
    them, `headers` that of what further pages repeat, in points; `widths` are in letters, of one page.

    >>> [spare_rows(height, [100] * 2, 50) for height in (300, 700, 745)]
    [3, 2, 0]
    """
    room = PAGE_POINTS * max(1.0, sum(map(pixels, widths)) / PAGE_PIXELS)
    over = (height - room) % (room - headers) if height > room else room
    left = room - height if height <= room else room - headers - over
    return max(0, min(SPARE_PRINTED, int(min(left, over) // ROW_POINTS) - 1))


def page_breaks(blocks: Sequence[tuple[int, float]], room: float) -> list[int]:
    """Return the rows that further pages begin with, so that no block is split that a page can hold.

    A block is its first row and its height in points; `room` is the height of a page.

    >>> page_breaks([(0, 300), (10, 300), (20, 900), (50, 100)], room=500)
    [10, 20]
    """
    starts, filled = [], 0.0
    for row, height in blocks:
        if filled and filled + height > room:
            starts.append(row)
            filled = 0.0
        filled += height
        filled = filled % room if filled > room else filled
    return starts


def print_blocks(sheet: Sheet, width: float, starts: Sequence[int], last: tuple[int, int]) -> None:
    """Print a sheet that is `width` pixels wide at a scale, which keeps page breaks, as `page_breaks` sets them.

    `starts` are the first rows of its blocks; the print area ends with the cell `last`.
    """
    scale = min(1.0, PAGE_PIXELS / width) * _SPARE_WIDTH
    sheet.print_setup(scale=int(100 * scale), margins=MARGINS)
    sheet.worksheet.print_area(0, 0, *last)
    ends = (*starts[1:], last[0] + 1)
    blocks = [(start, sheet.points(start, end - 1)) for start, end in zip(starts, ends, strict=True)]
    sheet.worksheet.set_h_pagebreaks(page_breaks(blocks, PAGE_POINTS / scale))


def print_over_pages(
    sheet: Sheet,
    widths: Sequence[float],
    repeated: int,
    repeat: tuple[int, int] | None = None,
    least: float = LEAST_SCALE,
) -> None:
    """Print a sheet over as many pages as its columns need at the `least` scale; `repeat` names rows of every page.

    The program that prints fits the columns to that many pages: their widths differ with the fonts that it has.
    """
    sheet.print_setup(repeat=repeat, margins=MARGINS)
    sheet.worksheet.fit_to_pages(pages_wide(widths, repeated, least), 0)
    if repeated:
        sheet.worksheet.repeat_columns(0, repeated - 1)
