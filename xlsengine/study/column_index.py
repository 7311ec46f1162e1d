"""Aggregates over whole columns for each row that asks, in time that grows in a straight line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Protocol

import numpy as np

from xlsengine.aggregates import AGGREGATES, rows_where
from xlsengine.expression import Aggregate, Condition, Values, evaluate


class Columns(Values, Protocol):
    """Values that also give whole columns."""

    def column(self, table: str, name: str) -> Any:
        """Return a whole column."""


def aggregate(node: Aggregate, values: Columns) -> Any:
    """Compute an aggregate: one value, or one for each row of the table that asks."""
    columns = [values.column(column.table, column.name) for column in node.columns]
    argument = np.nan if node.argument is None else evaluate(node.argument, values)
    if not node.conditions:
        return _without_conditions(node.operation, columns, argument)
    wanted = [evaluate(condition.value, values) for condition in node.conditions]
    length = max((len(part) for part in (argument, *wanted) if np.ndim(part)), default=0)
    parts = [np.broadcast_to(np.asarray(part), length or 1) for part in (argument, *wanted)]
    picker = _Picker(node.conditions, [values.column(c.column.table, c.column.name) for c in node.conditions])
    result = np.array(list(_each(node.operation, columns, picker, parts)), dtype=float)
    return result if length else result[0]


def _each(operation: str, columns: list[Any], picker: _Picker, parts: list[Any]) -> Iterator[float]:
    compute = AGGREGATES[operation].numpy
    for argument, *wanted in zip(*parts, strict=True):
        if any(value != value for value in wanted):
            yield np.nan
            continue
        chosen = picker.rows(wanted)
        yield compute([column[chosen] for column in columns], argument)


class _Picker:
    """Finds the rows that meet all conditions; the first equality of numbers is answered from an index."""

    def __init__(self, conditions: tuple[Condition, ...], columns: list[Any]) -> None:
        self._signs = [condition.sign for condition in conditions]
        self._columns = columns
        numbers = [condition.sign == "=" and not condition.column.text for condition in conditions]
        self._indexed = numbers.index(True) if True in numbers else None
        self._index: dict[float, Any] = {}
        if self._indexed is not None:
            self._index = _places(columns[self._indexed])

    def rows(self, wanted: list[Any]) -> Any:
        """Return the numbers of the rows where every column compares with its wanted value."""
        chosen = self._start(wanted)
        for place, (sign, column) in enumerate(zip(self._signs, self._columns, strict=True)):
            if place != self._indexed:
                chosen = chosen[rows_where(column[chosen], sign, wanted[place])]
        return chosen

    def _start(self, wanted: list[Any]) -> Any:
        if self._indexed is None:
            return np.arange(len(self._columns[0]))
        return self._index.get(float(wanted[self._indexed]), np.empty(0, dtype=int))


def _places(column: Any) -> dict[float, Any]:
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
