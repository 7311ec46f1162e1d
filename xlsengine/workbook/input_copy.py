"""The copy of the inputs that a results workbook carries, so that what was changed since can be told.

It stands as JSON text in the cells of a hidden sheet. Cells survive every spreadsheet program; custom document
properties would be cut at 255 letters.
"""

from __future__ import annotations

import datetime
import json
import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from xlsengine.bench.declaring.declare import Field, Table
from xlsengine.bench.inputs.bench_test import BenchTest, Value, columns_of
from xlsengine.bench.inputs.extras import Extras, ExtraValue
from xlsengine.bench.inputs.forms import FIELDS, INPUT_TABLES

if TYPE_CHECKING:
    from xlsengine.workbook.book import Book

NAME = "Written from"
MARK = "copy of the inputs, 1"
EXPLAINED = "What this workbook was written from, for `xlsengine changes`; deleting the sheet only loses that."
FIRST_ROW = 2
PIECE = 30_000


def write_copy(book: Book, test: BenchTest) -> None:
    """Write the copy to its hidden sheet."""
    sheet = book.sheet(NAME)
    plain = book.formats.get()
    sheet.text(0, 0, MARK, plain)
    sheet.text(1, 0, "" if book.for_readers else EXPLAINED, plain)
    text = encoded(test)
    for row, start in enumerate(range(0, len(text), PIECE), start=FIRST_ROW):
        sheet.text(row, 0, text[start : start + PIECE], plain)
    sheet.print_setup()
    sheet.worksheet.very_hidden()


def encoded(test: BenchTest) -> str:
    """Return everything typed as JSON in ASCII, free of what spreadsheet programs take for escapes."""
    tables = {
        table: {name: [_json(value) for value in column.tolist()] for name, column in columns.items()}
        for table, columns in test.tables.items()
    }
    columns = {
        table: {header: [_json(value) for value in values] for header, values in held.items()}
        for table, held in test.extras.columns.items()
    }
    fields = {name: _json(value) for name, value in test.fields.items()}
    whole = {"fields": fields, "tables": tables, "columns": columns}
    return json.dumps(whole, separators=(",", ":"), sort_keys=True).replace("_x", "\\u005fx")


def _json(value: Any) -> Any:
    if value is None or value != value:
        return None
    if isinstance(value, datetime.date | datetime.time):
        return {type(value).__name__: value.isoformat()}
    if isinstance(value, str):
        return value.strip() or None  # as it will be read from its cell
    is_whole = not isinstance(value, bool) and value and not value % 1  # a zero keeps its sign
    return int(value) if is_whole else value


def decoded(text: str) -> BenchTest:
    """Return what `encoded` wrote; raises ValueError for anything else.

    Fields and columns that are not declared any more are left out; new fields and tables hold what a new workbook does.
    """
    try:
        whole = json.loads(text, parse_constant=_refuse)
        columns = {
            str(table): {str(header): tuple(_extra(value) for value in values) for header, values in held.items()}
            for table, held in whole["columns"].items()
        }
        fields = {
            name: _typed(declared, whole["fields"][name]) if name in whole["fields"] else declared.default
            for name, declared in FIELDS.items()
        }
        tables = {table.name: _table(table, whole["tables"].get(table.name)) for table in INPUT_TABLES}
    except (AttributeError, KeyError, TypeError, OverflowError, RecursionError) as error:
        raise ValueError("no copy of the inputs") from error
    return BenchTest(fields, tables, Extras(columns))


def _refuse(constant: str) -> None:
    raise ValueError(f"{constant} is no reading")


def _table(table: Table, held: Mapping[str, list[Any]] | None) -> dict[str, Any]:
    if held is None:
        return columns_of(table, table.rows)
    fields = table.fields
    kept = {name: [_typed(fields[name], value) for value in values] for name, values in held.items() if name in fields}
    return columns_of(table, [dict(zip(kept, values, strict=True)) for values in zip(*kept.values(), strict=True)])


def _typed(declared: Field, value: Any) -> Value:
    """Return a value of a field's kind; raises ValueError for another kind."""
    plain = _extra(value)
    if plain is None:
        return None
    kind = str if declared.is_text else datetime.date if declared.kind == "date" else float
    if not isinstance(plain, kind):
        raise ValueError(f"{declared.name} holds another kind of value")
    return plain


def _extra(value: Any) -> ExtraValue:
    match value:
        case None | bool() | str():
            return value
        case int() | float() if math.isfinite(value):
            return float(value)
        case {"date": str(text)}:
            return datetime.date.fromisoformat(text)
        case {"datetime": str(text)}:
            return datetime.datetime.fromisoformat(text)
        case {"time": str(text)}:
            return datetime.time.fromisoformat(text)
    raise ValueError("holds what no cell holds")
