"""One motor's bench test: everything a person typed, and nothing derived."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from xlsengine.bench.declaring.declare import Field, Table
from xlsengine.bench.inputs.extras import NO_EXTRAS, Extras
from xlsengine.bench.inputs.forms import FIELDS, INPUT_TABLES, TYPED
from xlsengine.errors import Fault, Reason, WorkbookFaulty

if TYPE_CHECKING:
    import pandas as pd

# What a cell holds, counted in units of UTF-16, and what a header of a table does (from memory). A lookup takes 255
# characters, and behind a propeller's name stand up to 24 with its kind and readings.
LONGEST_TEXT, LONGEST_HEADER, LONGEST_PROPELLER = 32_767, 255, 225
PROPELLER = "prop"
# Fields and tables that came later: while they hold what a new workbook does they stay out of the hash, so that older
# results know their inputs again.
ADDED_LATER = frozenset(
    [
        "readings_are",
        "price",
        "class_size_band",
        "class_kv_band",
        "least_for_percentile",
        "efficiency_least",
        "hover_throttle_most",
        "pack_rate_high",
        "pack_rate_most",
        "Uses",
    ]
)
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

        named = TYPED[table].fields
        return pd.DataFrame({named[name].header: column for name, column in self.tables[table].items()})


def bench_test(
    fields: Mapping[str, Value] | None = None,
    tables: Mapping[str, Iterable[Mapping[str, Any]] | pd.DataFrame] | None = None,
    extras: Extras = NO_EXTRAS,
) -> BenchTest:
    """Build a bench test from values by field name, and tables as data frames or rows of name to value.

    Data frames may be headed by column names or by the sheet's headers. What is not given takes the value that a new
    workbook holds. Raises KeyError for names that are not declared, and `WorkbookFaulty` with every text that no cell
    can hold.
    """
    given = dict(fields or {})
    unknown = set(given) - set(FIELDS) | set(tables or {}) - {table.name for table in INPUT_TABLES}
    if unknown:
        raise KeyError(f"not declared: {', '.join(sorted(unknown))}")
    values = {name: _in_plain_lines(given.get(name, declared.default)) for name, declared in FIELDS.items()}
    content = {
        table.name: columns_of(table, _records(table, (tables or {}).get(table.name, table.rows)))
        for table in INPUT_TABLES
    }
    test = BenchTest(values, content, extras)
    faults = tuple(text_faults(test))
    if faults:
        raise WorkbookFaulty(faults)
    return test


def text_faults(test: BenchTest) -> Iterator[Fault]:
    """Yield a fault for every text of a test, extras included, that no cell can hold."""
    for name, value in test.fields.items():
        yield from _text_faults("bench test", FIELDS[name].label if name in FIELDS else name, value)
    for table, columns in test.tables.items():
        for name, column in columns.items():
            declared = TYPED[table].fields[name]
            for row, value in enumerate(column) if declared.is_text else ():
                most = LONGEST_PROPELLER if name == PROPELLER else LONGEST_TEXT
                yield from _text_faults(f"{table} row {row + 1}", declared.header, value, most)
    for table, own in test.extras.columns.items():
        for header, values in own.items():
            yield from _text_faults(table, "header", header, LONGEST_HEADER)
            if looks_like_markup(header):
                wanted = "a header that is not written as <r>…</r>, which stands for markup"
                yield Fault(Reason.WRONG_TYPE, table, "header", f'"{header}"', wanted, "give the column another header")
            for row, held in enumerate(values):
                yield from _text_faults(f"{table} row {row + 1}", header, held)
    for note in test.extras.notes:
        yield from _text_faults(f"{note.sheet} row {note.row + 1}", "note", note.text)
        yield from _text_faults(f"{note.sheet} row {note.row + 1}", "author of a note", note.author)


def _text_faults(place: str, label: str, value: object, most: int = LONGEST_TEXT) -> Iterator[Fault]:
    if not isinstance(value, str):
        return
    try:
        length = len(value.encode("utf-16-le")) // 2
    except UnicodeEncodeError as error:
        found = f"half of a surrogate pair at character {error.start + 1}"
        yield Fault(Reason.WRONG_TYPE, place, label, found, "a text of whole characters", "type that character again")
        return
    if length > most:
        wanted = f"text of at most {most} characters"
        yield Fault(Reason.OUT_OF_LIMITS, place, label, f"a text of {length} characters", wanted, "shorten it")


def looks_like_markup(header: str) -> bool:
    """Tell whether a header would be taken for the markup of a rich text, and be lost."""
    return header.startswith("<r>") and header.endswith("</r>")


def plain_lines(text: str) -> str:
    r"""Return a text with one way of ending its lines, as cells and XML have it.

    >>> plain_lines("a\r\nb\rc\n")
    'a\nb\nc\n'
    """
    return text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text


def _in_plain_lines(value: Value) -> Value:
    return plain_lines(value) if isinstance(value, str) else value


def input_hash(test: BenchTest) -> str:
    """Return the SHA-256 of every declared cell, the same for the same readings wherever they were read from.

    Extras stay out of it: no figure comes from them.
    """
    digest = hashlib.sha256()
    for name, value in sorted(test.fields.items()):
        if name not in ADDED_LATER or canonical(value) != canonical(FIELDS[name].default):
            digest.update(f"{name}={canonical(value)}\n".encode())
    for table, columns in sorted(test.tables.items()):
        told = _told(table, columns)
        if table not in ADDED_LATER or told != _told(table, columns_of(TYPED[table], TYPED[table].rows)):
            digest.update(told.encode())
    return digest.hexdigest()


def _told(table: str, columns: Mapping[str, Array]) -> str:
    values = ((name, [canonical(value) for value in column.tolist()]) for name, column in sorted(columns.items()))
    return "".join(f"{table}.{name}={column}\n" for name, column in values)


def canonical(value: Any) -> str:
    """Write a value as it will be read from its cell: blanks alike, numbers to 15 digits, texts without outer spaces.

    >>> canonical(None), canonical(0.1 + 0.2), canonical(" 5x4")
    ('', '0.3', "'5x4'")
    """
    if isinstance(value, str):
        value = plain_lines(value).strip()
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
        texts[:] = [None if empty else plain_lines(str(value)) for value, empty in zip(values, blank, strict=True)]
        return texts
    return np.array([np.nan if empty else float(v) for v, empty in zip(values, blank, strict=True)], dtype=float)


def _records(table: Table, given: Any) -> list[Mapping[str, Any]]:
    if hasattr(given, "to_dict"):
        headers = {declared.header: name for name, declared in table.fields.items()}
        return list(given.rename(columns=headers).to_dict("records"))
    return list(given)
