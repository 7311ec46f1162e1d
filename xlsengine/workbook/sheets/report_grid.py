"""The Report's grid: a column for names and equal ones for figures, as wide as a page of A4 whose type stays readable."""

from dataclasses import dataclass

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


@dataclass(frozen=True)
class Grid:
    """How many propellers and cell counts are shown, and the columns that follow from it."""

    propellers: int
    cell_counts: int

    @property
    def beside(self) -> int:
        """Return how many cell counts stand beside each other; further ones follow below."""
        return 2 if self.cell_counts == 4 else min(self.cell_counts, 3)

    @property
    def bands(self) -> int:
        """Return how many tables stand below each other."""
        return -(-self.cell_counts // self.beside)

    @property
    def fields(self) -> int:
        """Return how many figures a propeller has on one cell count: one alone leaves room for more."""
        return 12 if self.beside == 1 else 6

    @property
    def last(self) -> int:
        """Return the last column of the page."""
        return self.fields * self.beside

    @property
    def aside(self) -> int:
        """Return the first column of what formats and charts go by, beside the page."""
        return self.last + 3

    @property
    def widths(self) -> list[int]:
        """Return the columns' widths in pixels."""
        return [_NAMES, *[_FIGURES // self.last] * self.last]

    @property
    def width(self) -> int:
        """Return the page's width in pixels."""
        return sum(self.widths)

    @property
    def page_height(self) -> float:
        """Return how many points of rows a printed page holds, fitted to the page's width."""
        left, right, top, bottom = _MARGINS
        return (_PAGE[1] - top - bottom) / (_PAGE[0] - left - right) * self.width * POINTS

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
