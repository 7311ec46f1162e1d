"""The aggregates an expression may use: what is taken over whole columns, stated once for numbers, cells and words.

Those that take conditions are computed over the rows where all of them hold, for many such sets of rows at once. In
numbers, a blank is NaN (text: None or ""). Where a spreadsheet function gives an error (a mean of nothing), the value is
blank.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from xlsengine.operations import OPERATIONS, filled

_SIGNS = {"=": "equal", "<>": "unequal", "<": "less", "<=": "at most", ">": "more", ">=": "at least"}


class WrittenCondition(NamedTuple):
    """One condition as formula text; a `plain` one asks for equality with a number that is surely there, or compares with a
    whole number that is written out.
    """

    column: str
    sign: str
    value: str
    plain: bool


Conditions = Sequence[WrittenCondition]
InExcel = Callable[[Sequence[str], Conditions, str], str]


class Groups(NamedTuple):
    """Rows in groups: the group of each row, from 0; the group each answer is about, one or an array; how many there are."""

    of_rows: Any
    asked: Any
    number: int

    def totals(self, values: Any) -> Any:
        """Return what the values of the group asked about add up to, for each answer."""
        return np.bincount(self.of_rows, values, self.number)[self.asked]

    def where(self, rows: Any) -> "Groups":
        """Return the groups of some of the rows."""
        return Groups(self.of_rows[rows], self.asked, self.number)


ByGroup = Callable[[list[Any], Any, Groups], Any]


@dataclass(frozen=True)
class AggregateOperation:
    """How one aggregate is computed and written.

    `excel` takes the whole-column references, the conditions and the argument, all as formula text, and writes what
    can stand as a factor of a product. `numpy` takes the values of each column and the argument, one or an array, and
    gives one answer for each. `words` is a template with {0} for the columns and {1} for the argument. Only one that can
    be taken `by_group` takes conditions. One that counts `places` is given its column with the header above: a row
    inserted right below the header then counts too.
    """

    name: str
    numpy: Callable[[list[Any], Any], Any]
    excel: InExcel
    words: str
    by_group: ByGroup | None = None
    places: bool = False


def rows_where(values: Any, sign: str, wanted: Any) -> Any:
    """Tell row by row whether ``values sign wanted`` holds; a blank fulfils nothing but "", capitals do not matter."""
    if isinstance(wanted, str):
        if not wanted and sign == "=":
            return np.asarray(OPERATIONS["present"].numpy(values)) == 0.0
        same = np.asarray(OPERATIONS["same text"].numpy(values, wanted))
        return same == (1.0 if sign == "=" else 0.0)
    return np.asarray(OPERATIONS[_SIGNS[sign]].numpy(values, wanted)) == 1.0


def _written(template: str) -> InExcel:
    """Write a template with {0}, {1} for the columns and {at} for the argument; it takes no conditions."""
    return lambda columns, conditions, argument: template.format(*columns, at=argument)


def _criteria(conditions: Conditions) -> str | None:
    """Write conditions for SUMIFS and AVERAGEIFS; in these a text is a pattern, and an error equals no number."""
    if not all(condition.plain for condition in conditions):
        return None
    return ",".join(f"{c.column},{c.value}" if c.sign == "=" else f'{c.column},"{c.sign}{c.value}"' for c in conditions)


def _product(conditions: Conditions) -> str:
    return "*".join(f"({condition.column}{condition.sign}{condition.value})" for condition in conditions)


def _sum_excel(columns: Sequence[str], conditions: Conditions, argument: str) -> str:
    if not conditions:
        return f"SUM({columns[0]})"
    criteria = _criteria(conditions)
    return f"SUMIFS({columns[0]},{criteria})" if criteria else f"SUMPRODUCT({_product(conditions)}*1,{columns[0]})"


def _mean_excel(columns: Sequence[str], conditions: Conditions, argument: str) -> str:
    if not conditions:
        return f"AVERAGE({columns[0]})"
    criteria = _criteria(conditions)
    if criteria:
        return f"AVERAGEIFS({columns[0]},{criteria})"
    return f"({_sum_excel(columns, conditions, argument)}/{_count_excel(columns, conditions, argument)})"


def _count_excel(columns: Sequence[str], conditions: Conditions, argument: str) -> str:
    filled = f'({columns[0]}<>"")'
    return f"SUMPRODUCT({_product(conditions)}*{filled})" if conditions else f"SUMPRODUCT({filled}*1)"


def _largest_excel(columns: Sequence[str], conditions: Conditions, argument: str) -> str:
    """Rows left out count as 0 here; where fewer rows than asked for are left, the division by FALSE is an error."""
    if not conditions:
        return f"LARGE({columns[0]},{argument})"
    enough = f"({_count_excel(columns, conditions, argument)}>={argument})"
    return f"(SUMPRODUCT(LARGE({_product(conditions)}*{columns[0]},{argument}))/{enough})"


def _smallest_excel(columns: Sequence[str], conditions: Conditions, argument: str) -> str:
    """Take neighbouring columns of one table as one: ``S!$A$6:$A$9``, ``S!$C$6:$C$9`` as ``S!$A$6:$C$9``."""
    first, last = columns[0].rpartition(":")[0], columns[-1].rpartition(":")[2]
    return f"SMALL({first}:{last},{argument})"


_OWN_ROW = re.compile(r"\(ROW\(\)-ROW\([^()]*\)\)")


def one_cell(column: str, argument: str) -> str:
    """Fetch one cell; row 0 would mean the whole column, row -1 is an error, and row 1 is the header.

    A row below a header is never less than 1, nor is a number that is written out.
    """
    if argument.isdecimal() and int(argument) > 0:
        return f"INDEX({column},{int(argument) + 1})"
    place = f"{argument}+1" if _OWN_ROW.fullmatch(argument) else f"IF({argument}<1,-1,{argument}+1)"
    return f"INDEX({column},{place})"


def _text_at_excel(columns: Sequence[str], conditions: Conditions, argument: str) -> str:
    return f'{one_cell(columns[0], argument)}&""'


def _text_position_excel(columns: Sequence[str], conditions: Conditions, argument: str) -> str:
    """Look a text up as it stands: MATCH would take ``5*4.3`` for a pattern, and find an empty text."""
    plain = argument
    for sign in ("~", "*", "?"):
        plain = f'SUBSTITUTE({plain},"{sign}","~{sign}")'
    return f'((MATCH({plain},{columns[0]},0)-1)/({argument}<>""))'


def _filled(column: Any) -> Any:
    return np.asarray(OPERATIONS["present"].numpy(column))


def _count(columns: list[Any], argument: Any, groups: Groups) -> Any:
    return groups.totals(_filled(columns[0]))


def _sum(columns: list[Any], argument: Any, groups: Groups) -> Any:
    values = columns[0]
    return groups.totals(np.where(np.isnan(values), 0.0, values))


def _mean(columns: list[Any], argument: Any, groups: Groups) -> Any:
    return _sum(columns, argument, groups) / groups.totals(_filled(columns[0]))


def _dot(columns: list[Any], argument: Any, groups: Groups) -> Any:
    return _sum([columns[0] * columns[1]], argument, groups)


def _largest(columns: list[Any], argument: Any, groups: Groups) -> Any:
    rows = np.flatnonzero(~np.isnan(columns[0]))
    of_rows, values = groups.of_rows[rows], columns[0][rows]
    sizes = np.bincount(of_rows, minlength=groups.number)
    ranked = np.append(values[np.lexsort((values, of_rows))], np.nan)
    place = np.trunc(argument)
    inside = (place >= 1) & (place <= sizes[groups.asked])
    return ranked[np.where(inside, np.cumsum(sizes)[groups.asked] - place, -1).astype(int)]


def _smallest(columns: list[Any], argument: Any) -> Any:
    return -_over_all(_largest)([-np.concatenate(columns)], argument)


def _over_all(by_group: ByGroup) -> Callable[[list[Any], Any], Any]:
    """Take all rows for one group."""
    return lambda columns, argument: by_group(columns, argument, Groups(np.zeros(len(columns[0]), dtype=int), 0, 1))


def _at(columns: list[Any], argument: Any) -> Any:
    """Return the column's values at 1-based rows; blank outside it, while a blank text in it is an empty one."""
    text = columns[0].dtype == np.dtype(object)
    column, rows, blank = filled(columns[0]) if text else columns[0], argument, None if text else np.nan
    inside = (rows >= 1) & (rows < len(column) + 1)
    if not np.ndim(rows):
        return column[int(rows) - 1] if inside else blank
    if inside.all():
        return column[rows.astype(int) - 1]
    found = np.full(len(rows), blank, dtype=column.dtype)
    found[inside] = column[rows[inside].astype(int) - 1]
    return found


def _position(columns: list[Any], argument: Any) -> Any:
    """Return the first 1-based row that holds each wanted value; blank for blanks and for what is not there."""
    first: dict[Any, float] = {}
    for place, value in enumerate(columns[0].tolist(), start=1):
        first.setdefault(_as_matched(value), float(place))
    first |= {None: np.nan, "": np.nan}
    if not np.ndim(argument):
        return first.get(_as_matched(argument), np.nan)
    return np.array([first.get(_as_matched(value), np.nan) for value in argument.tolist()], dtype=float)


def _as_matched(value: Any) -> Any:
    """Return a value as MATCH compares it: texts without regard to capitals."""
    return value.lower() if isinstance(value, str) else value


def _dot_excel(columns: Sequence[str], conditions: Conditions, argument: str) -> str:
    """Texts count as 0 between the commas, but not among the factors of a condition."""
    kept = f"{_product(conditions)}*1," if conditions else ""
    return f"SUMPRODUCT({kept}{','.join(columns)})"


def _deviation(columns: list[Any], argument: Any) -> float:
    values = columns[0][~np.isnan(columns[0])]
    return float(values.std(ddof=1)) if len(values) > 1 else float("nan")


def _line(columns: list[Any]) -> tuple[float, float, float]:
    """Slope, intercept and residual standard deviation of the first column against the second, by least squares."""
    y, x = (column[~np.isnan(columns[0] + columns[1])] for column in columns)
    if len(x) < 2 or x.min() == x.max():
        return (float("nan"),) * 3
    across, up = x - x.mean(), y - y.mean()
    slope = float((across * up).sum() / (across * across).sum())
    rest = float(((up - slope * across) ** 2).sum())
    scatter = (rest / (len(x) - 2)) ** 0.5 if len(x) > 2 else float("nan")
    return slope, float(y.mean() - slope * x.mean()), scatter


def _of_line(place: int, name: str, function: str, words: str) -> AggregateOperation:
    """One figure of the line of the first column against the second; rows where one is blank are left out."""
    return AggregateOperation(
        name, lambda columns, argument: _line(columns)[place], _written(function + "({0},{1})"), words
    )


def _by_group(name: str, by_group: ByGroup, excel: InExcel, words: str) -> AggregateOperation:
    return AggregateOperation(name, _over_all(by_group), excel, words, by_group)


# The argument of "at" is the fetched cell, see `one_cell`, and the mean of a cell without a number is an error; that of
# "row" is the header cell.
_PLACE = "row of {0} that holds {1}"
_ROWS = (
    _by_group("count", _count, _count_excel, "number of {0}"),
    _by_group("sum", _sum, _sum_excel, "sum of {0}"),
    _by_group("mean", _mean, _mean_excel, "mean of {0}"),
    _by_group("largest", _largest, _largest_excel, "largest number {1} of {0}"),
    AggregateOperation("smallest", _smallest, _smallest_excel, "smallest number {1} of {0}"),
    AggregateOperation("at", _at, _written("AVERAGE({at})"), "{0} in row {1}", places=True),
    AggregateOperation("text at", _at, _text_at_excel, "{0} in row {1}", places=True),
    AggregateOperation("position", _position, _written("(MATCH({at},{0},0)-1)"), _PLACE, places=True),
    AggregateOperation("text position", _position, _text_position_excel, _PLACE, places=True),
    _by_group("dot", _dot, _dot_excel, "sum of products of {0}"),
    AggregateOperation("standard deviation", _deviation, _written("STDEV({0})"), "standard deviation of {0}"),
    _of_line(0, "slope", "SLOPE", "slope of the straight line through {0}"),
    _of_line(1, "intercept", "INTERCEPT", "intercept of the straight line through {0}"),
    _of_line(2, "residual deviation", "STEYX", "standard deviation about the straight line through {0}"),
    AggregateOperation("row", lambda c, a: np.nan, _written("(ROW()-ROW({at}))"), "row number below the header of {0}"),
)

AGGREGATES: dict[str, AggregateOperation] = {row.name: row for row in _ROWS}
