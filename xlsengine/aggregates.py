"""The aggregates an expression may use: what is taken over whole columns, stated once for numbers, cells and words.

Every aggregate is computed over the rows where all conditions hold. In numbers, a blank is NaN (text: None). Where a
spreadsheet function gives an error (a mean of nothing), the value is blank.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np


@dataclass(frozen=True)
class AggregateOperation:
    """How one aggregate is computed and written.

    `excel` takes the whole-column references, the conditions as (column, sign, value) and the argument, all as
    formula text. `numpy` takes the selected values of each column and the argument. `words` is a template with {0}
    for the columns and {1} for the argument.
    """

    name: str
    numpy: Callable[[list[Any], Any], Any]
    excel: Callable[[Sequence[str], Sequence[tuple[str, str, str]], str], str]
    words: str


def _criteria(conditions: Sequence[tuple[str, str, str]]) -> str:
    """Write conditions for SUMIFS and AVERAGEIFS, which take equality with a number without going through text."""
    if any(sign != "=" for _, sign, _ in conditions):
        raise ValueError("sum and mean take only conditions of equality")
    return ",".join(f"{column},{value}" for column, _, value in conditions)


def _product(conditions: Sequence[tuple[str, str, str]]) -> str:
    return "*".join(f"({column}{sign}{value})" for column, sign, value in conditions)


def _sum_excel(columns: Sequence[str], conditions: Sequence[tuple[str, str, str]], argument: str) -> str:
    return f"SUMIFS({columns[0]},{_criteria(conditions)})" if conditions else f"SUM({columns[0]})"


def _mean_excel(columns: Sequence[str], conditions: Sequence[tuple[str, str, str]], argument: str) -> str:
    return f"AVERAGEIFS({columns[0]},{_criteria(conditions)})" if conditions else f"AVERAGE({columns[0]})"


def _count_excel(columns: Sequence[str], conditions: Sequence[tuple[str, str, str]], argument: str) -> str:
    return f"SUMPRODUCT({_product(conditions)}*1)" if conditions else f"COUNT({columns[0]})"


def _largest_excel(columns: Sequence[str], conditions: Sequence[tuple[str, str, str]], argument: str) -> str:
    if not conditions:
        return f"LARGE({columns[0]},{argument})"
    return f"SUMPRODUCT(LARGE({_product(conditions)}*{columns[0]},{argument}))"


def _smallest_excel(columns: Sequence[str], conditions: Sequence[tuple[str, str, str]], argument: str) -> str:
    return f"SMALL({_span(columns)},{argument})"


def _span(columns: Sequence[str]) -> str:
    """Join neighbouring columns of one table into one reference: ``T[A]``, ``T[C]`` give ``T[[A]:[C]]``."""
    if len(columns) == 1:
        return columns[0]
    table, first = columns[0].split("[", 1)
    last = columns[-1].split("[", 1)[1]
    return f"{table}[[{first}:[{last}]"


def _at_excel(columns: Sequence[str], conditions: Sequence[tuple[str, str, str]], argument: str) -> str:
    cell = f"INDEX({columns[0]},{argument})"
    return f'IF(COUNT({cell})=0,"",{cell})'


def _text_at_excel(columns: Sequence[str], conditions: Sequence[tuple[str, str, str]], argument: str) -> str:
    return f'INDEX({columns[0]},{argument})&""'


def _position_excel(columns: Sequence[str], conditions: Sequence[tuple[str, str, str]], argument: str) -> str:
    return f"MATCH({argument},{columns[0]},0)"


def _text_position_excel(columns: Sequence[str], conditions: Sequence[tuple[str, str, str]], argument: str) -> str:
    """Look a text up as it stands: MATCH would take ``5*4.3`` for a pattern."""
    plain = argument
    for sign in ("~", "*", "?"):
        plain = f'SUBSTITUTE({plain},"{sign}","~{sign}")'
    return f"MATCH({plain},{columns[0]},0)"


def _numbers(column: Any) -> Any:
    return column[~np.isnan(column)]


def _nth(values: Any, place: Any, descending: bool) -> float:
    if np.isnan(place) or not 1 <= int(place) <= len(values):
        return float("nan")
    order = int(place) - 1
    return float(
        np.partition(values, len(values) - 1 - order if descending else order)[
            len(values) - 1 - order if descending else order
        ]
    )


def _mean(columns: list[Any], argument: Any) -> float:
    values = _numbers(columns[0])
    return float(values.mean()) if len(values) else float("nan")


def _at(columns: list[Any], argument: Any) -> Any:
    text = columns[0].dtype == np.dtype(object)
    if np.isnan(argument) or not 1 <= int(argument) <= len(columns[0]):
        return None if text else float("nan")
    return columns[0][int(argument) - 1]


def _position(columns: list[Any], argument: Any) -> float:
    if argument is None or argument != argument or argument == "":
        return float("nan")
    found = np.flatnonzero(columns[0] == argument)
    return float(found[0] + 1) if len(found) else float("nan")


def _dot(columns: list[Any], argument: Any) -> float:
    return float(np.nansum(columns[0] * columns[1]))


def _row_excel(columns: Sequence[str], conditions: Sequence[tuple[str, str, str]], argument: str) -> str:
    return f"ROW()-ROW({argument})"


_ROWS = (
    AggregateOperation("count", lambda c, a: float(len(c[0])), _count_excel, "number of {0}"),
    AggregateOperation("sum", lambda c, a: float(np.nansum(c[0])), _sum_excel, "sum of {0}"),
    AggregateOperation("mean", _mean, _mean_excel, "mean of {0}"),
    AggregateOperation(
        "largest",
        lambda c, a: _nth(_numbers(c[0]), a, descending=True),
        _largest_excel,
        "largest number {1} of {0}",
    ),
    AggregateOperation(
        "smallest",
        lambda c, a: _nth(_numbers(np.concatenate(c)), a, descending=False),
        _smallest_excel,
        "smallest number {1} of {0}",
    ),
    AggregateOperation("at", _at, _at_excel, "{0} in row {1}"),
    AggregateOperation("text at", _at, _text_at_excel, "{0} in row {1}"),
    AggregateOperation("position", _position, _position_excel, "row of {0} that holds {1}"),
    AggregateOperation("text position", _position, _text_position_excel, "row of {0} that holds {1}"),
    AggregateOperation(
        "dot",
        _dot,
        lambda columns, conditions, argument: f"SUMPRODUCT({','.join(columns)})",
        "sum of products of {0}",
    ),
    AggregateOperation("row", lambda c, a: float("nan"), _row_excel, "row number"),
)

AGGREGATES: dict[str, AggregateOperation] = {row.name: row for row in _ROWS}
