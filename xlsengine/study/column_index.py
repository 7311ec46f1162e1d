"""Aggregates over whole columns for each row that asks, in time that grows in a straight line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Protocol

import numpy as np

from xlsengine.aggregates import AGGREGATES, rows_where
from xlsengine.expression import Aggregate, Column, Condition, Values, evaluate


class Columns(Values, Protocol):
    """Values that also give whole columns."""

    def column(self, table: str, name: str) -> Any:
        """Return a whole column."""

    def places(self, column: Column) -> Mapping[float, Any]:
        """Return for each number of a column the rows that hold it; see `places_in`."""


def aggregate(node: Aggregate, values: Columns) -> Any:
    """Compute an aggregate: one value, or one for each row of the table that asks."""
    columns = [values.column(column.table, column.name) for column in node.columns]
    argument = np.nan if node.argument is None else evaluate(node.argument, values)
    if not node.conditions:
        return _without_conditions(node.operation, columns, argument)
    wanted = [evaluate(condition.value, values) for condition in node.conditions]
    length = max((len(part) for part in (argument, *wanted) if np.ndim(part)), default=0)
    parts = [np.broadcast_to(np.asarray(part), length or 1) for part in (argument, *wanted)]
    picker = _Picker(node.conditions, wanted, values)
    result = np.array(list(_each(node.operation, columns, picker, parts)), dtype=float)
    return result if length else result[0]


def _each(operation: str, columns: list[Any], picker: _Picker, parts: list[Any]) -> Iterator[float]:
    compute = AGGREGATES[operation].numpy
    for argument, *wanted in zip(*(part.tolist() for part in parts), strict=True):
        if any(value != value for value in wanted):
            yield np.nan
            continue
        chosen = picker.rows(wanted)
        yield compute([column[chosen] for column in columns], argument)


class _Picker:
    """Finds the rows that meet all conditions.

    Those that ask the same of every row are answered once, and the first equality of numbers among the others from an
    index.
    """

    def __init__(self, conditions: tuple[Condition, ...], wanted: list[Any], values: Columns) -> None:
        self._tests = [(c.sign, values.column(c.column.table, c.column.name)) for c in conditions]
        once = [not np.ndim(asked) for asked in wanted]
        self._standing = np.ones(len(self._tests[0][1]), dtype=bool)
        for asked, (sign, column), alike in zip(wanted, self._tests, once, strict=True):
            if alike and asked == asked:
                self._standing &= rows_where(column, sign, asked)
        self._open = [place for place, alike in enumerate(once) if not alike]
        numbers = (place for place in self._open if conditions[place].sign == "=" and not conditions[place].column.text)
        self._indexed = next(numbers, None)
        self._index = {} if self._indexed is None else values.places(conditions[self._indexed].column)

    def rows(self, wanted: list[Any]) -> Any:
        """Return the numbers of the rows where every column compares with its wanted value."""
        if self._indexed is None:
            chosen = np.flatnonzero(self._standing)
        else:
            held = self._index.get(wanted[self._indexed], _NOWHERE)
            chosen = held[self._standing[held]]
        for place in self._open:
            if place != self._indexed:
                sign, column = self._tests[place]
                chosen = chosen[rows_where(column[chosen], sign, wanted[place])]
        return chosen


_NOWHERE = np.empty(0, dtype=int)


def places_in(column: Any) -> dict[float, Any]:
    """Return for each number of a column the rows that hold it, in their order."""
    order = np.argsort(column, kind="stable")
    numbers, starts = np.unique(column[order], return_index=True)
    return dict(zip(numbers.tolist(), np.split(order, starts[1:]), strict=True))


def _without_conditions(operation: str, columns: list[Any], argument: Any) -> Any:
    if operation in ("at", "text at"):
        return _fetched(columns[0], argument)
    if operation in ("position", "text position"):
        return _positions(columns[0], argument)
    compute = AGGREGATES[operation].numpy
    if not np.ndim(argument):
        return compute(columns, argument)
    ordered = [np.sort(np.concatenate(columns))]
    return np.array([compute(ordered, place) for place in argument], dtype=float)


def _fetched(column: Any, rows: Any) -> Any:
    """Return the column's values at 1-based `rows`; blank outside it."""
    places = np.atleast_1d(np.asarray(rows, dtype=float))
    inside = (places >= 1) & (places < len(column) + 1)
    found = np.full(len(places), None if column.dtype == np.dtype(object) else np.nan, dtype=column.dtype)
    found[inside] = column[places[inside].astype(int) - 1]
    return found if np.ndim(rows) else found[0]


def _positions(column: Any, wanted: Any) -> Any:
    """Return the first 1-based row that holds each wanted value; blank for blanks and for what is not there."""
    first: dict[Any, float] = {}
    for place, value in enumerate(column.tolist(), start=1):
        first.setdefault(_as_matched(value), float(place))
    first.pop(None, None)
    first.pop("", None)
    many = np.atleast_1d(np.asarray(wanted, dtype=object))
    found = np.array([first.get(_as_matched(value), np.nan) for value in many.tolist()], dtype=float)
    return found if np.ndim(wanted) else found[0]


def _as_matched(value: Any) -> Any:
    """Return a value as MATCH compares it: texts without regard to capitals."""
    return value.lower() if isinstance(value, str) else value
