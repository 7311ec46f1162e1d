"""Aggregates over whole columns for each row that asks, in time that grows in a straight line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Protocol

import numpy as np

from xlsengine.aggregates import AGGREGATES, AggregateOperation, Groups, rows_where
from xlsengine.expression import Aggregate, Condition, Values


class Columns(Values, Protocol):
    """Values that also keep what conditions pick."""

    def picked(self, conditions: tuple[Condition, ...]) -> Picked:
        """Return the rows that meet conditions."""


def aggregate(node: Aggregate, values: Columns) -> Any:
    """Compute an aggregate: one value, or one for each row of the table that asks."""
    columns = [values.this_row(column) for column in node.columns]
    argument = np.nan if node.argument is None else node.argument.compute(values)
    operation = AGGREGATES[node.operation]
    if not node.conditions:
        return operation.numpy(columns, argument)
    return values.picked(node.conditions).taken(operation, columns, argument)


class Picked:
    """The rows of a table that meet all of some conditions, for each row that asks or for all at once.

    Conditions that ask the same of every row are answered once, and equalities of numbers by the groups of rows that hold
    the same. What is left is answered for one row after another.
    """

    def __init__(self, conditions: tuple[Condition, ...], values: Values) -> None:
        """Find the rows."""
        tests = [(each.sign, values.this_row(each.column), each.value.compute(values)) for each in conditions]
        standing = np.ones(len(tests[0][1]), dtype=bool)
        self._blank: Any = 0.0
        self._left, equal = [], []
        for condition, (sign, column, wanted) in zip(conditions, tests, strict=True):
            if not condition.column.text:
                self._blank = self._blank + (wanted - wanted)  # NaN for a blank
            if not np.ndim(wanted):
                standing &= rows_where(column, sign, wanted)
            elif sign == "=" and not condition.column.text:
                equal.append((column, wanted))
            else:
                self._left.append((sign, column, wanted))
        self._rows = np.flatnonzero(standing)
        self._groups = _alike([(column[self._rows], wanted) for column, wanted in equal], len(self._rows))

    def taken(self, operation: AggregateOperation, columns: list[Any], argument: Any) -> Any:
        """Return an aggregate that takes conditions, of the rows that were picked; blank where a condition is."""
        if self._left:
            return np.array(list(self._one_by_one(operation, columns, argument)), dtype=float) + self._blank
        assert operation.by_group is not None
        return operation.by_group([column[self._rows] for column in columns], argument, self._groups) + self._blank

    def _one_by_one(self, operation: AggregateOperation, columns: list[Any], argument: Any) -> Iterator[Any]:
        of_rows, asked, number = self._groups
        order = np.argsort(of_rows, kind="stable")
        ends = np.searchsorted(of_rows[order], np.arange(number + 1))
        wanted = np.broadcast_arrays(asked, argument, *(each for *_, each in self._left))
        for group, own, *limits in zip(*(each.tolist() for each in wanted), strict=True):
            rows = self._rows[order[ends[group] : ends[group + 1]]]
            for (sign, column, _), limit in zip(self._left, limits, strict=True):
                rows = rows[rows_where(column[rows], sign, limit)]
            yield operation.numpy([column[rows] for column in columns], own)


def _alike(equal: list[tuple[Any, Any]], rows: int) -> Groups:
    """Return rows in groups of those that hold the same in some columns, each of which comes with what is wanted of it.

    The last group is empty: it is asked for, as -1, where nothing is what is wanted.
    """
    asked: Any = 0
    of_rows, number = np.zeros(rows, dtype=int), 1
    for column, wanted in equal:
        held, places = np.unique(column, return_inverse=True)
        here = _place(held, wanted)
        of_rows = of_rows * len(held) + places
        asked = np.where((asked < 0) | (here < 0), -1, asked * len(held) + here)
        if number > 1:
            held, of_rows = np.unique(of_rows, return_inverse=True)
            asked = _place(held, asked)
        number = len(held)
    return Groups(of_rows, asked, number + 1)


def _place(ordered: Any, wanted: Any) -> Any:
    """Return where numbers stand in an ordered array, and -1 where they do not."""
    places = np.searchsorted(ordered, wanted)
    return np.where(np.append(ordered, np.nan)[places] == wanted, places, -1)
