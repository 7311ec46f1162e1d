"""What a person types, as the rows of the tables beside this file: typed.csv, and settings.csv for the form Settings."""

import csv
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import TypeVar, cast

import xlsengine.sources as sources
from xlsengine.bench.declaring.declare import Field, FieldKind, Form, Table
from xlsengine.expression import Named

Part = TypeVar("Part", Form, Table)


@cache
def rows_of(name: str) -> list[dict[str, str]]:
    """Return the rows of a table that stands beside this file, each by its headers; what is blank is left out."""
    with Path(__file__).with_name(name).open(encoding="utf-8", newline="") as file:
        return [{header: cell for header, cell in row.items() if cell} for row in csv.DictReader(file)]


def _number(text: str | None) -> float | None:
    return None if text is None else float(text) if "." in text else int(text)


def field_of(row: Mapping[str, str]) -> Field:
    """Return the field of a row, whose headers are the names of `Field`.

    What has a value in a new workbook is required unless it says no; choices are parted by semicolons, and of a
    text are an example; `source` is a name
    of `sources`, and `detail` what is said to it; an even number is of the kind “even”.
    """
    kind, value = row.get("kind", "choice" if "choices" in row else "number"), row.get("value")
    source = getattr(sources, row.get("source", "READING"))
    return Field(
        row["name"],
        row["label"],
        row.get("unit", ""),
        row["meaning"],
        cast(FieldKind, "whole" if kind == "even" else kind),
        row.get("symbol", ""),
        _number(row.get("low")),
        _number(row.get("high")),
        multiple=2 if kind == "even" else 1,
        choices=tuple(row["choices"].split("; ")) if "choices" in row else (),
        required=row.get("required", "yes" if value else "no") == "yes",
        without=row.get("without", ""),
        default=value if kind == "choice" else _number(value),
        decimals=int(row.get("decimals", 2)),
        source=source(row.get("detail", "")) if callable(source) else source,
        kept=row["name"] if "kept" in row else "",
    )


def rows_for(part: str) -> Iterator[dict[str, str]]:
    """Yield the rows of a form or table in typed.csv, where they begin with its name."""
    begun = ""
    for row in rows_of("typed.csv"):
        begun = row.get("part", begun)
        if begun == part:
            yield row


def filled(part: Part) -> Part:
    """Add its fields to a form or table, and return it."""
    for row in rows_for(part.name):
        part.input(field_of(row))
    return part


def cells_of(declared: Form) -> Callable[[str], Named]:
    """Return the `__getattr__` of a module in which each field of a form is found by its name, as its cell.

    It raises AttributeError for other names.
    """

    def cell(name: str) -> Named:
        if name not in declared.fields:
            raise AttributeError(f"{declared.name} has no field {name}")
        return declared.typed(name)

    return cell
