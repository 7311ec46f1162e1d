"""Evaluation of everything that is declared, over one bench test: each quantity once, when first asked for."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from xlsengine.aggregates import AGGREGATES, AggregateOperation, Groups, rows_where
from xlsengine.bench.declaring.declare import Field, Quantity, Table
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.bench.model import FIGURE_QUANTITIES, FIGURES_WRITTEN, TABLES
from xlsengine.expression import Aggregate, Column, Condition, Node, Values, evaluate
from xlsengine.operations import filled

if TYPE_CHECKING:
    import pandas as pd

EPOCH = datetime.date(1899, 12, 30)


def serial(date: datetime.date) -> float:
    """Return a date as the day number that spreadsheets store (days since 1899-12-30)."""
    return float((date - EPOCH).days)


@dataclass(frozen=True)
class Declared:
    """What values are looked up in: tables, fields of forms, figures that are derived and those written once, by name."""

    tables: Mapping[str, Table]
    fields: Mapping[str, Field]
    figures: Mapping[str, Quantity]
    written: Mapping[str, Field]


OF_A_TEST = Declared(TABLES, FIELDS, FIGURE_QUANTITIES, FIGURES_WRITTEN)


@dataclass
class Scope:
    """The values of one bench test: inputs as typed, and derived ones computed on demand and kept.

    Each table is `spare` rows longer than what was typed, as it is in a workbook. `written` holds the columns and
    figures that no formula can hold, by table and column name, or by figure name under "". `placed` holds the
    expressions of cells that are not declared. What is declared is `known`.
    """

    test: BenchTest
    written: Mapping[tuple[str, str], Any] = field(default_factory=dict)
    placed: dict[Column, tuple[tuple[Node, ...], int]] = field(default_factory=dict)
    _kept: dict[Any, Any] = field(default_factory=dict, repr=False)
    known: Declared = field(default=OF_A_TEST, repr=False)

    def used_rows(self, table: str) -> int:
        """Return how many rows of a table hold something: those typed or written, or one for each number in its `per`."""
        per = self.known.tables[table].per
        if not per:
            if table in self.test.tables:
                return self.test.rows(table)
            return self._written_rows(table) or len(self.known.tables[table].rows)
        if ("rows", table) not in self._kept:
            self._kept["rows", table] = int(sum(np.sum(~np.isnan(self.this_row(column))) for column in per))
        return int(self._kept["rows", table])

    def _written_rows(self, table: str) -> int:
        return max((len(held) for (home, _), held in self.written.items() if home == table), default=0)

    def rows(self, table: str) -> int:
        """Return the length of a table on its sheet, spare rows included; a table is never without a row."""
        return max(1, self.used_rows(table) + self.known.tables[table].spare)

    def column(self, table: str, name: str) -> Any:
        """Return a column's values, spare rows included."""
        if _cell(table, name, False) in self.placed:
            return self.this_row(_cell(table, name, False))
        declared = self.known.tables[table].declared(name)
        return self.this_row(_cell(table, name, declared.is_text))

    def this_row(self, column: Column) -> Any:
        """Return a column's values, spare rows included (part of the `Values` protocol)."""
        try:
            return self._kept[column]
        except KeyError:
            return self._kept.setdefault(column, self._column(column))

    def named(self, name: str) -> Any:
        """Return a field's or figure's value: a float or str, NaN or None for blank."""
        try:
            return self._kept[name]
        except KeyError:
            return self._kept.setdefault(name, self._named(name))

    def with_written(self, written: Mapping[tuple[str, str], Any], bears_on: Collection[Column | str]) -> Scope:
        """Return the scope with other written values; what is computed stays, but for columns and figures they bear on."""
        kept = {
            cell: value for cell, value in self._kept.items() if isinstance(cell, Column | str) and cell not in bears_on
        }
        return replace(self, written=written, placed=dict(self.placed), _kept=kept)

    def place(self, cells: Column, nodes: Sequence[Node], rows: int) -> None:
        """Say what stands in cells that are not declared, such as those of charts: one expression, or one for each."""
        self.placed[cells] = (tuple(nodes), rows)

    def apart(self) -> Scope:
        """Return a scope with what is known here; cells that are placed in it are not placed here."""
        return replace(self, placed={}, _kept=dict(self._kept))

    def any_value(self, node: Node) -> Any:
        """Evaluate any expression once: a scalar, or an array over the table that its columns belong to."""
        if isinstance(node, Column):
            return filled(self.this_row(node)) if node.text else self.this_row(node)
        if node not in self._kept:
            self._kept[node] = evaluate(node, self)
        return self._kept[node]

    def value(self, node: Node, rows: int) -> Any:
        """Evaluate any expression to `rows` values."""
        found = evaluate(node, self)
        if isinstance(found, float) and found != found:
            return _blank(rows)
        text = node.is_text
        result = np.asarray(found, dtype=object if text else float)
        if not text and result.shape and np.isnan(result).all():
            return _blank(rows)
        return result if result.shape == (rows,) else np.broadcast_to(result, rows)

    def aggregate(self, node: Aggregate) -> Any:
        """Return an aggregate for each row that asks, or one for all (part of the `Values` protocol)."""
        if node.operation == "row":
            return np.arange(1.0, self.rows(node.columns[0].table) + 1)
        try:
            return self._kept[node]
        except KeyError:
            return self._kept.setdefault(node, aggregate(node, self))

    def picked(self, conditions: tuple[Condition, ...]) -> Picked:
        """Return the rows that meet conditions (part of the `Columns` protocol)."""
        if conditions not in self._kept:
            self._kept[conditions] = Picked(conditions, self)
        return self._kept[conditions]  # type: ignore[no-any-return]

    def frame(self, table: str) -> pd.DataFrame:
        """Return a table with its derived columns as a data frame, headed as on its sheet, without spare rows."""
        import pandas as pd

        shown = {
            declared.header: self.column(table, name) for name, declared in self.known.tables[table].columns.items()
        }
        return pd.DataFrame(shown).head(self.used_rows(table))

    def figures(self) -> dict[str, float | str | None]:
        """Return every derived single figure by name; None where it is blank."""
        values = {name: self.named(name) for name in self.known.figures}
        return {name: None if value != value else value for name, value in values.items()}

    def _placed(self, cells: Column) -> Any:
        nodes, rows = self.placed[cells]
        found = [self.any_value(node) for node in nodes]
        return np.resize(
            np.asarray(found[0] if len(found) == 1 else found, dtype=object if cells.is_text else float), rows
        )

    def _column(self, column: Column) -> Any:
        if column in self.placed:
            return self._placed(column)
        table, rows = self.known.tables[column.table], self.rows
        if column.name in table.quantities:
            expression = table.quantities[column.name].expression
            return self.value(expression, rows(column.table))
        if column.name in table.written:
            default = table.written[column.name].default
            always = [row[column.name] for row in table.rows]
            found = self.written.get((column.table, column.name), always or None)
            return _lengthened(found, rows(column.table), column.text, default)
        return _lengthened(self.test.tables[column.table][column.name], rows(column.table), column.text, None)

    def _named(self, name: str) -> Any:
        if name in self.known.figures:
            expression = self.known.figures[name].expression
            value = evaluate(expression, self)
            return _scalar(value, expression.is_text)
        if name in self.known.written:
            return self.written.get(("", name), np.nan)
        value = self.test.fields[name]
        return _plain(value, self.known.fields[name].is_text)


@lru_cache(maxsize=4096)
def _cell(table: str, name: str, text: bool) -> Column:
    return Column(table, name, text)


def _scalar(value: Any, text: bool) -> Any:
    if isinstance(value, np.ndarray):
        value = value.item()
    return (value or None) if text else float(value)


def _plain(value: Any, text: bool) -> Any:
    if text:
        return value or None
    return serial(value) if isinstance(value, datetime.date) else np.nan if value is None else float(value)


def _lengthened(values: Any, rows: int, text: bool, default: Any) -> Any:
    """Return a column made as long as its table, filled up with its default or blanks."""
    if values is None and default is None and not text:
        return _blank(rows)
    filler = None if text else np.nan
    whole = np.full(rows, filler if default is None else default, dtype=object if text else float)
    if values is not None:
        whole[: len(values)] = values
    return whole if text or not np.isnan(whole).all() else _blank(rows)


@lru_cache(maxsize=256)
def _blank(rows: int) -> Any:
    """Return a column of numbers that is blank throughout; one for all, so that it cannot be written to."""
    return np.broadcast_to(np.nan, rows)


# --- aggregates for each row that asks, in time that grows in a straight line -----------------------------------


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
