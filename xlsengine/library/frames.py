"""Rows of a library as data frames: numbers as float with NaN for blank, texts as str with None."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from sqlalchemy import Column as DatabaseColumn
from sqlalchemy import ColumnElement, Connection, Double, Integer, Select, Table, and_, select
from sqlalchemy.types import TypeEngine

if TYPE_CHECKING:
    import pandas as pd

MOST_LISTED = 5_000
"""Ids that are asked for one by one; of more, the whole table is read, which is faster then."""


def fetched(connection: Connection, query: Select[Any]) -> Sequence[Sequence[Any]]:
    """Return the rows of a query as the driver of the database gives them, which is fastest where there are many."""
    cursor: Any = connection.execute(query).cursor
    return cursor.fetchall()  # type: ignore[no-any-return]


def frame(connection: Connection, query: Select[Any], columns: Sequence[DatabaseColumn[Any]]) -> pd.DataFrame:
    """Return the rows of a query, one column for each of `columns`."""
    import pandas as pd

    rows = pd.DataFrame(fetched(connection, query), columns=[column.name for column in columns], dtype=object)
    return rows.astype({column.name: _dtype(column.type) for column in columns})


def _dtype(kind: TypeEngine[Any]) -> str:
    """Return what a column is held as; texts as plain objects, so that a blank is None in every version of pandas."""
    return "float64" if isinstance(kind, Double) else "int64" if isinstance(kind, Integer) else "object"


def of_tests(connection: Connection, table: Table, ids: Iterable[int] | None) -> pd.DataFrame:
    """Return the rows of some tests, or of all, in the order of the tests."""
    query = select(table).order_by(table.c.test, table.c.place)
    wanted = None if ids is None else sorted({int(number) for number in ids})
    if wanted is not None and len(wanted) <= MOST_LISTED:
        query = query.where(table.c.test.in_(wanted))
        wanted = None
    found = frame(connection, query, list(table.c))
    return found if wanted is None else found[found["test"].isin(wanted)].reset_index(drop=True)


def condition(column: DatabaseColumn[Any], wanted: Any) -> ColumnElement[bool]:
    """Return what a filter asks of a column: a value, None for blank, one of a list, or (low, high), both inclusive."""
    if wanted is None:
        return column.is_(None)
    if isinstance(wanted, tuple):
        low, high = wanted
        return and_(
            column.is_not(None),
            *([column >= low] if low is not None else []),
            *([column <= high] if high is not None else []),
        )
    return column.in_(list(wanted)) if isinstance(wanted, list | set | frozenset) else column == wanted
