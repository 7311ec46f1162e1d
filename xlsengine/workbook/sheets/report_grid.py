"""The Report's grid: a column for names and equal ones for figures, as wide as a page of A4 whose type stays readable."""

import numpy as np

from xlsengine.bench.groups.by_propeller import BY_PROPELLER, MOST_CELL_COUNTS, tested_cells
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet

SMALLEST = 10
"""Points of the smallest type: 8.0 to 8.5 on paper."""
LETTERS = 212
"""Letters of the smallest type in a line of the page."""
MOST_PROPELLERS = 24
_NAMES, _FIGURES = 144, 1098  # pixels; programs that measure digits in halves of them draw columns 6 % wider
_MARGINS = (0.35, 0.35, 0.4, 0.5)
_PAGE = (11.69, 8.27)
POINTS = 0.75  # of a pixel


class Grid:
    """The columns that follow from how many propellers and cell counts are shown; widths in pixels."""

    def __init__(self, propellers: int, cell_counts: int) -> None:
        self.propellers, self.cell_counts = propellers, cell_counts
        self.beside = (
            2 if cell_counts == 4 else min(cell_counts, 3)
        )  # cell counts beside each other; others follow below
        self.bands = -(-cell_counts // self.beside)  # tables below each other
        self.fields = (
            12 if self.beside == 1 else 6
        )  # figures of a propeller on a cell count: one alone has room for more
        self.last = self.fields * self.beside  # column of the page
        self.aside = self.last + 3  # first column of what formats and charts go by, beside the page
        self.widths = [_NAMES, *[_FIGURES // self.last] * self.last]
        self.width = sum(self.widths)
        left, right, top, bottom = _MARGINS
        printed = (_PAGE[1] - top - bottom) / (_PAGE[0] - left - right)
        self.page_height = printed * self.width * POINTS  # points of rows that a page holds, fitted to its width

    def spans(self, *shares: float) -> list[tuple[int, int]]:
        """Return the first and last columns of parts that share the width in this proportion, as near as columns allow."""
        ends = np.cumsum(self.widths)
        wanted = np.cumsum(shares) / sum(shares) * self.width
        lasts = [int(np.argmin(np.abs(ends - each))) for each in wanted]
        firsts = [0, *(last + 1 for last in lasts[:-1])]
        return list(zip(firsts, lasts, strict=True))

    def span_width(self, span: tuple[int, int]) -> int:
        """Return the width of such a part in pixels."""
        return sum(self.widths[span[0] : span[1] + 1])


def grid_of(scope: Scope) -> Grid:
    """Return the grid for a test: never without a propeller and a cell count."""
    counts = sum(scope.named(cells.name) == scope.named(cells.name) for cells in tested_cells)
    propellers = min(max(1, scope.used_rows(BY_PROPELLER.name)), MOST_PROPELLERS)
    return Grid(propellers, min(max(1, counts), MOST_CELL_COUNTS))


def set_page(sheet: Sheet, grid: Grid, footer: str) -> None:
    """Set the widths and the print: two pages of A4 landscape, the footer as large as it is declared."""
    sheet.widths((*((width - 5) / 7 for width in grid.widths), 1))
    sheet.print_setup(margins=_MARGINS)
    sheet.worksheet.set_footer(footer, {"scale_with_doc": False})
    sheet.worksheet.fit_to_pages(1, 0)  # so many pages as there are breaks: with a number of pages they are void
    sheet.worksheet.set_zoom(130)  # beside the panels of a screen 1,920 pixels wide
