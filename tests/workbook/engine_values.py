"""What the engine says must stand in every formula cell of a results workbook, for any input typed into it."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np

from tests.instruments.grid import cell_name
from tests.instruments.recalculate import ErrorValue, Place, Value
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.expression import Node
from xlsengine.study.assessment import Assessment, assess
from xlsengine.study.comparison import Comparison, compared_with
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, LiveCells, Sheet
from xlsengine.workbook.derived_cells import FileScope
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.results import write_results


@dataclass(frozen=True)
class Standing:
    """An expression in a cell: the row that its columns mean, and whether a chart reads it."""

    node: Node
    row: int
    for_chart: bool = False


@dataclass(frozen=True)
class WrittenResults:
    """A results workbook, what it was written from, and the expression in each of its formula cells."""

    path: Path
    assessment: Assessment
    layout: Layout
    standing: Mapping[Place, Standing]

    def lengths(self) -> dict[str, int]:
        """Return how many rows each table has."""
        return {block.name: block.rows for block in (*self.layout.blocks.values(), *self.layout.steps.values())}

    def scope(self, test: BenchTest) -> Scope:
        """Return the engine's values after the workbook's input became `test`; the group checks stay as written."""
        whole = self.assessment.scope
        return FileScope(test, dict(whole.written), dict(whole.placed), lengths=self.lengths())

    def values(self, test: BenchTest) -> dict[Place, Value]:
        """Return what every formula must come to after the workbook's input became `test`."""
        scope = self.scope(test)
        return {place: value_of(each, scope.any_value(each.node)) for place, each in self.standing.items()}

    def place(self, name: str) -> Place:
        """Return where a named cell stands."""
        sheet, row, column = self.layout.cells[name]
        return sheet, cell_name(row + 1, column + 1)


ResultsOf = Callable[[str], WrittenResults]


def write(test: BenchTest, path: Path, comparison: Comparison | None = None) -> WrittenResults:
    """Write a results workbook, and note which expression goes into which cell."""
    plain = assess(test)
    assessment = plain if comparison is None else compared_with(plain, comparison)
    standing: dict[Place, Standing] = {}
    with _noting(standing) as books:
        write_results(assessment, path)
    (book,) = books
    return WrittenResults(path, assessment, book.layout, standing)


@contextmanager
def _noting(standing: dict[Place, Standing]) -> Iterator[list[Book]]:
    """Note the expressions as they are declared, before the workbook makes anything shorter; give the book."""
    put, close = Sheet.put, Book.close
    books: list[Book] = []

    def note(self: Sheet, live: LiveCells) -> None:
        for at in range(live.rows):
            place = self.name, cell_name(live.row + at + 1, live.column + 1)
            standing[place] = Standing(live.node if live.cell is None else live.cell, live.at + at, live.for_chart)
        put(self, live)

    def note_book(self: Book) -> None:
        books.append(self)
        close(self)

    with patch.object(Sheet, "put", note), patch.object(Book, "close", note_book):
        yield books


def value_of(standing: Standing, values: Any) -> Value:
    """Return what stands in a cell, out of the values of its expression."""
    value = values[standing.row] if np.ndim(values) else np.asarray(values, dtype=object).item()
    if value is None or value == "" or value != value:
        return ErrorValue("#N/A") if standing.for_chart else None
    return value if isinstance(value, str) else float(value)
