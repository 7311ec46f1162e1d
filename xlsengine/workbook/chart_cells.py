"""Cells that charts are drawn from: numbers alone along x, and ``#N/A`` up y where there is nothing to draw.

A program that finds a text or an error among the x of a scatter chart takes 1, 2, 3 for all of them. So a point
without an x stands at 0 and has no y. What a chart keeps of its cells, for programs that only show, leaves such a
point out; XlsxWriter by itself would keep a 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from xlsxwriter.utility import xl_range_abs, xl_rowcol_to_cell

from xlsengine.expression import Aggregate, Column, Constant, Node
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.layout import Block, quoted

LEFT, TOP = 30, 4
Numbers = tuple[float | None, ...]


class Cells(NamedTuple):
    """A column of chart cells: references to its header and to its cells, the cell column, and what stands there.

    `values` has None for ``#N/A``; of a column of texts it is empty, and they stand in `texts`. `label` is what the
    header says.
    """

    name: str
    where: str
    column: Column
    values: Numbers
    label: str = ""
    texts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Drawn:
    """One series: the cell of its name, its x (or categories) and its y; a `line` has no marks.

    `margin` holds what stands behind “±”, for error bars. `look` says which colour and mark, and which dash; the
    colours of series `by_cells` are those of cell counts.
    """

    name: str
    x: Cells
    y: Cells
    line: bool = False
    margin: Cells | None = None
    look: tuple[int, int] = (0, 0)
    by_cells: bool = False


class ChartCells:
    """Writes chart cells to the right of the charts, each column once, and says where it stands."""

    def __init__(self, sheet: Sheet, scope: Scope, left: int = LEFT) -> None:
        self._sheet = sheet
        self._scope = scope
        self._next = left
        self._said = ""
        sheet.text(TOP - 2, left, "Cells that the charts are drawn from", sheet.book.formats.section)

    def figure(self, label: str, node: Node) -> Node:
        """Write a single figure; return what fetches it: the largest number of its one cell, which needs no name."""
        column = self._header(Constant(label))
        self._sheet.live(TOP + 1, column, node, self._sheet.book.formats.helper)
        return Aggregate("largest", (self._cells(column, [node], 1).column,), (), Constant(1.0))

    def places(self, rows: int) -> Cells:
        """Write 1, 2, 3 and so on."""
        column = self._header(Constant("Place"))
        for row in range(rows):
            self._sheet.value(TOP + 1 + row, column, row + 1.0, self._sheet.book.formats.helper)
        return self._cells(column, [Constant(row + 1.0) for row in range(rows)], rows)

    def across(self, name: Node, node: Node, rows: int) -> Cells:
        """Write the x of points, 0 where it is blank."""
        column, node = self._header(name), node.otherwise(0.0)
        self._sheet.live_column(TOP + 1, column, node, self._sheet.book.formats.helper, rows)
        return self._cells(column, [node], rows)

    def up(self, name: Node, node: Node, rows: int) -> Cells:
        """Write the y of points, ``#N/A`` where it is blank."""
        column = self._header(name)
        self._sheet.chart_column(TOP + 1, column, node, self._sheet.book.formats.helper, rows)
        return self._cells(column, [node], rows)

    def texts(self, name: Node, nodes: Sequence[Node]) -> Cells:
        """Write texts below each other, one expression each."""
        column = self._header(name)
        for row, node in enumerate(nodes, start=TOP + 1):
            self._sheet.live(row, column, node, self._sheet.book.formats.helper)
        return self._cells(column, nodes, len(nodes))

    def shows(self, node: Node, rows: int) -> bool:
        """Tell whether an expression has a value in any row; a series without one is not written."""
        return not np.isnan(np.atleast_1d(self._scope.any_value(node))[:rows]).all()

    def _header(self, name: Node) -> int:
        self._next += 1
        self._said = str(self._scope.any_value(name) or "")
        self._sheet.live(TOP, self._next - 1, name, self._sheet.book.formats.helper_header)
        return self._next - 1

    def _cells(self, column: int, nodes: Sequence[Node], rows: int) -> Cells:
        """Place a written column, so that others can speak of it."""
        block = Block(
            f"{self._sheet.name} {column}", self._sheet.name, TOP, column, rows, ("value",), ("",), listed=False
        )
        cells = Column(self._sheet.book.layout.place(block).name, "value", nodes[0].is_text)
        self._scope.place(cells, nodes, rows)
        held = self._scope.this_row(cells).tolist()
        values, texts = ([], tuple(map(str, held))) if cells.text else (held, ())
        where = quoted(self._sheet.name)
        return Cells(
            f"={where}!{xl_rowcol_to_cell(TOP, column, row_abs=True, col_abs=True)}",
            f"={where}!{xl_range_abs(TOP + 1, column, TOP + rows, column)}",
            cells,
            tuple(None if value != value else value for value in values),
            self._said,
            texts,
        )
