"""One motor's bench test: everything a person typed, and nothing derived."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from xlsengine.bench.declare import Field, Table
from xlsengine.bench.extras import NO_EXTRAS, Extras
from xlsengine.bench.model import FIELDS, INPUT_TABLES, TABLES

if TYPE_CHECKING:
    import pandas as pd

Value = float | str | datetime.date | None
Array = Any  # numpy array: float with NaN for blank, or object with None for blank


@dataclass(frozen=True)
class BenchTest:
    """What the input sheets hold.

    `fields` maps field names to values (None: blank). `tables` maps table names to columns by name: float arrays
    with NaN for blank, or object arrays of str with None for blank; all of one length in a table. `extras` are carried
    along and bear on no figure.
    """

    fields: Mapping[str, Value]
    tables: Mapping[str, Mapping[str, Array]] = field(repr=False)
    extras: Extras = field(default=NO_EXTRAS, repr=False)

    def rows(self, table: str) -> int:
        """Return the number of rows of a table."""
        columns = self.tables[table]
        return len(next(iter(columns.values()))) if columns else 0

    def frame(self, table: str) -> pd.DataFrame:
        """Return an input table as a data frame, headed as on its sheet."""
        import pandas as pd

        named = TABLES[table].fields
        return pd.DataFrame({named[name].header: column for name, column in self.tables[table].items()})


def bench_test(
    fields: Mapping[str, Value] | None = None,
    tables: Mapping[str, Iterable[Mapping[str, Any]] | pd.DataFrame] | None = None,
) -> BenchTest:
    """Build a bench test from values by field name, and tables as data frames or rows of name to value.

    Data frames may be headed by column names or by the sheet's headers. What is not given takes the value that a new
    workbook holds. Raises KeyError for names that are not declared.
    """
    given = dict(fields or {})
    unknown = set(given) - set(FIELDS) | set(tables or {}) - {table.name for table in INPUT_TABLES}
    if unknown:
        raise KeyError(f"not declared: {', '.join(sorted(unknown))}")
    values = {name: given.get(name, declared.default) for name, declared in FIELDS.items()}
    content = {
        table.name: columns_of(table, _records(table, (tables or {}).get(table.name, table.rows)))
        for table in INPUT_TABLES
    }
    return BenchTest(values, content)


def input_hash(test: BenchTest) -> str:
    """Return the SHA-256 of every declared cell, the same for the same readings wherever they were read from.

    Extras stay out of it: no figure comes from them.
    """
    digest = hashlib.sha256()
    for name in sorted(test.fields):
        digest.update(f"{name}={canonical(test.fields[name])}\n".encode())
    for table in sorted(test.tables):
        for name, column in sorted(test.tables[table].items()):
            digest.update(f"{table}.{name}={[canonical(value) for value in column.tolist()]}\n".encode())
    return digest.hexdigest()


def canonical(value: Any) -> str:
    """Write a value as it will be read from its cell: blanks alike, numbers to 15 digits, texts without outer spaces.

    >>> canonical(None), canonical(0.1 + 0.2), canonical(" 5x4")
    ('', '0.3', "'5x4'")
    """
    if isinstance(value, str):
        value = value.strip()
    if value is None or value != value or value == "":
        return ""
    return f"{value:.15g}" if isinstance(value, int | float) else repr(str(value))


def columns_of(table: Table, records: Sequence[Mapping[str, Any]]) -> dict[str, Array]:
    """Turn rows of name to value into one array a column; raises KeyError for columns that are not declared."""
    unknown = {name for record in records for name in record} - set(table.fields)
    if unknown:
        raise KeyError(f"{table.name} has no column {', '.join(sorted(unknown))}")
    return {
        name: array_of(declared, [record.get(name) for record in records]) for name, declared in table.fields.items()
    }


def array_of(declared: Field, values: Sequence[Any]) -> Array:
    """Return typed values as a column's array; blanks (None, NaN, "") become NaN or None."""
    blank = [value is None or value != value or value == "" for value in values]
    if declared.is_text:
        texts = np.empty(len(values), dtype=object)
        texts[:] = [None if empty else str(value) for value, empty in zip(values, blank, strict=True)]
        return texts
    return np.array([np.nan if empty else float(v) for v, empty in zip(values, blank, strict=True)], dtype=float)


def _records(table: Table, given: Any) -> list[Mapping[str, Any]]:
    if hasattr(given, "to_dict"):
        headers = {declared.header: name for name, declared in table.fields.items()}
        return list(given.rename(columns=headers).to_dict("records"))
    return list(given)
