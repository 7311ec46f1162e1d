from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

from tests.expression_trees import ABSENT, ROWS, SETTING, A, B, SheetValues, T, random_trees
from xlsengine.computing import of_rows
from xlsengine.expression import Column, Named, Node, call, evaluate


@dataclass
class OneRow(SheetValues):
    """The table with one of its rows in the place of all, each column as one value or written out."""

    row: int = 0
    written_out: bool = False

    def this_row(self, column: Column) -> Any:
        self.read.add(column)
        held = super().this_row(column)
        once = np.broadcast_to(np.asarray(held[self.row], dtype=held.dtype), ROWS)
        return once.copy() if self.written_out else once


@pytest.mark.parametrize("row", [0, 2, 9, 12])
def test_what_stands_in_every_row_is_computed_as_if_it_were_written_out(row: int) -> None:
    for tree in random_trees(150, depth=4, seed=row):
        once, in_full = (evaluate(tree, OneRow(row=row, written_out=written)) for written in (False, True))
        for one, other in zip(by_row(once), by_row(in_full), strict=True):
            assert one == (pytest.approx(other, rel=1e-12) if isinstance(other, float) else other)


def by_row(found: Any) -> list[Any]:
    """Return what an expression came to row by row, blanks of all kinds as None."""
    values = np.broadcast_to(np.asarray(found, dtype=object), ROWS).tolist()
    return [None if value is None or value != value or value == "" else value for value in values]


def test_columns_that_are_held_once() -> None:
    assert of_rows(np.broadcast_to(2.5, 4)) == 2.5
    assert of_rows(np.broadcast_to(np.asarray(None, dtype=object), 4)) is None
    assert of_rows(np.full(4, 2.5)).tolist() == [2.5] * 4


@pytest.mark.parametrize(
    ("tree", "read"),
    [
        ((SETTING > 1.0).where(A, B), {SETTING, A}),
        ((SETTING > 9.0).where(A, B), {SETTING, B}),
        ((ABSENT > 1.0).where(A, B), {ABSENT}),
        (SETTING.otherwise(A), {SETTING}),
        (ABSENT.otherwise(A), {ABSENT, A}),
        (A.otherwise(B), {A, B}),
        (ABSENT * A, {ABSENT}),
        (ABSENT.sqrt() + A, {ABSENT}),
        (A * ABSENT, {ABSENT, A}),
        (call("join", ABSENT.fixed(1), T), {ABSENT, T}),
    ],
)
def test_what_is_not_needed_is_not_read(tree: Node, read: set[Column | Named]) -> None:
    values = PlainNames()
    evaluate(tree, values)
    assert values.read == read


@dataclass
class PlainNames(SheetValues):
    """The table, with its named cells as plain numbers."""

    def named(self, name: str) -> Any:
        found = super().named(name)
        return float(found) if isinstance(found, np.ndarray | np.floating) else found
