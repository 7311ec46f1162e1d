"""Reading the cells of one table by its headers, with every fault and remark kept for the end."""

import datetime
import difflib
from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import islice
from typing import NamedTuple

from xlsengine.bench.declaring.declare import Field, Form, Table
from xlsengine.bench.inputs.bench_test import Value
from xlsengine.errors import Reason
from xlsengine.workbook.layout import FORM_HEADERS, FORM_VALUE
from xlsengine.workbook.reading.cells import Formula, Found, Rectangle, SheetCells, Stored, content_of
from xlsengine.workbook.reading.findings import Findings, counted, key
from xlsengine.workbook.reading.package import Area
from xlsengine.workbook.reading.trade_words import Meant, computed_meant, header_meant
from xlsengine.workbook.reading.typed_texts import would_take
from xlsengine.workbook.reading.typed_values import ReadAs, Refusal, plain_text, shown, typed_value

_MOST_COMPARED, _LONGEST_NAME = 300, 100
_LAYOUT_SIGNS = frozenset("\t\n\r")


class Place(NamedTuple):
    """The column where a field stands, and the unit that its header states where it is not the field's own."""

    column: int
    unit: str | None = None


class AreaReader:
    """One table of the workbook: finds columns by header, takes values, and keeps what is wrong with them.

    `known` are the headers that the table may have; any other may be a known one misspelt.
    """

    def __init__(self, area: Area, cells: SheetCells, known: Iterable[str], findings: Findings) -> None:
        self.area = area
        self.cells = cells
        self.known = {key(header) for header in known}
        self.findings = findings
        self.named: set[int] = set()
        self._computed: list[str] = []
        self._merged: dict[int, list[Rectangle]] = {}
        for merged in sorted(cells.merged):
            self._merged.setdefault(merged.left, []).append(merged)

    @cached_property
    def rows(self) -> list[int]:
        """Return the rows between header and totals in which anything stands."""
        return sorted(row for row in self.cells if self.area.first <= row <= self.area.last)

    @cached_property
    def headers(self) -> dict[int, str]:
        """Return the header texts by column, from the cells where they show."""
        texts = zip(self.area.columns, self.area.headers, strict=True)
        if not self.area.titled:
            return dict(texts)
        row = self.cells.get(self.area.top, {})
        return {column: plain_text(content_of(row.get(column))).strip() for column in self.area.columns}

    @cached_property
    def keys(self) -> dict[int, str]:
        """Return the header texts by column as they are compared."""
        return {column: key(text) for column, text in self.headers.items()}

    @cached_property
    def filled_columns(self) -> set[int]:
        """Return the columns in which anything stands below the header."""
        held = {column for row in self.rows for column in self.cells[row]}
        return {
            column for column in held if any(content_of(self.cells[row].get(column)) is not None for row in self.rows)
        }

    def stored(self, row: int, column: int) -> Stored:
        """Return what a cell holds; a cell merged into one above holds what that one does."""
        held = self.cells.get(row, {}).get(column)
        if held is None and column in self._merged:
            above = self._merged[column][max(0, bisect_left(self._merged[column], (row,)) - 1)]
            if above.top < row <= above.bottom:
                return self.cells.get(above.top, {}).get(column)
        return held

    def content(self, row: int, column: int) -> Found:
        """Return what a cell holds or its formula gave; None for blanks."""
        return content_of(self.stored(row, column))

    def column(self, header: str) -> int | None:
        """Return the column of a header; keeps a fault and returns None where it is missing or stands twice."""
        columns = self._headed(header)
        if len(columns) == 1:
            return columns[0]
        if columns:
            self._doubled_header(header, columns)
        else:
            self._missing_header(header)
        return None

    def place_of(self, declared: Field) -> Place | None:
        """Return where a field's column stands, by its header or by the trade's words for it.

        Keeps a fault where it stands twice, states a unit of another kind, or is missing and needed.
        """
        columns = self._headed(declared.header)
        if columns:
            return Place(column) if (column := self.column(declared.header)) is not None else None
        meant = {
            column: meaning
            for column, text in self.headers.items()
            if self.keys[column] not in self.known and (meaning := header_meant(text, declared))
        }
        meant = {column: each for column, each in meant.items() if not each.second} or meant
        self.named.update(meant)
        if len(meant) == 1:
            return self._in_other_words(declared, *next(iter(meant.items())))
        if meant:
            self._doubled_header(declared.header, meant)
        else:
            self._not_found(declared)
        return None

    def value(self, declared: Field, row: int, place: Place, label: str, if_blank: str) -> Value:
        """Return a cell's value; keeps a fault and returns None where it cannot be taken."""
        stored = self.stored(row, place.column)
        if type(stored) is float and place.unit is None and declared.kind == "number" and would_take(declared, stored):
            return stored
        content = content_of(stored)
        if content is None:
            if declared.required:
                self.refuse(declared, row, place.column, label, Refusal(Reason.REQUIRED_BLANK, "nothing", if_blank))
            return None
        value = typed_value(declared, content, place.unit)
        if isinstance(value, Refusal):
            self.refuse(declared, row, place.column, label, value if declared.required else _or_clear(value))
            return None
        where = self.area.place(row, place.column)
        if isinstance(stored, Formula):
            self._computed.append(where)
        if isinstance(value, ReadAs):
            self.findings.read(where, label, shown(content), value.words, value.news, value.changed)
            return value.value
        self._remark(where, label, content, value)
        return value

    def close(self, filled: Iterable[str] = ()) -> None:
        """Tell of formulas whose stored values were taken, of what was `filled`, and of what was read in other words."""
        if self._computed:
            holds = counted(self._computed, "input cell holds a formula", "input cells hold formulas")
            self.findings.tell(f"{holds}; the value stored with it was taken")
        self.findings.told.extend(filled)
        self.findings.tell_read()

    def tell_unknown_columns(self, carried: bool = False) -> None:
        """Tell of columns that hold something under a header that the table does not have, and if they are `carried`."""
        for column, text in self.headers.items():
            if key(text) in self.known or column in self.named:
                continue
            if column in self.filled_columns:
                computed = computed_meant(text)
                why = f"is {computed}" if computed else "is not known"
                named = f'column "{text}" {why}' if text else "a column without a header"
                fate = "; it is carried to the results as it stands" if carried and text else " and was not read"
                self.findings.tell(f"{self.area.place(self.area.top, column)}: {named}{fate}")

    def typed_places(self, column: int) -> list[str]:
        """Return the places in a column that hold something other than a formula."""
        return [
            self.area.place(row, column)
            for row in self.rows
            if self.content(row, column) is not None and not isinstance(self.stored(row, column), Formula)
        ]

    def refuse(self, declared: Field, row: int, column: int, label: str, why: Refusal) -> None:
        """Keep a fault for a cell."""
        place = self.area.place(row, column)
        self.findings.fault(why.reason, place, label, why.found, why.wanted or declared.wanted, why.fix)

    def _headed(self, header: str) -> list[int]:
        wanted = key(header)
        return [column for column, text in self.keys.items() if text == wanted]

    def _in_other_words(self, declared: Field, column: int, meant: Meant) -> Place | None:
        where, text = self.area.place(self.area.top, column), self.headers[column]
        if meant.foreign:
            wanted = f'the header "{declared.header}", or a unit that can be converted to {declared.unit or "it"}'
            self.findings.fault(
                Reason.WRONG_TYPE,
                where,
                declared.header,
                f'the header "{text}"',
                wanted,
                f'type "{declared.header}" there, and give the values so',
            )
            return None
        unit = None if meant.unit == declared.unit else meant.unit
        told = f'{where}: the header "{text}" was read as "{declared.header}"'
        if unit:
            told += f"; its numbers were converted from {unit}"
        elif meant.unit is None and declared.unit:
            told += f"; it states no unit, and {declared.unit} was taken"
        self.findings.tell(told)
        return Place(column, unit)

    def _remark(self, where: str, label: str, content: Found, value: Value) -> None:
        """Tell of what is taken but would hardly be noticed: signs that do not show, a time beside a date."""
        if isinstance(value, str) and not value.isprintable() and _holds_controls(value):
            self.findings.tell(f"{where} {label}: holds control characters, kept as they are")
        elif isinstance(content, datetime.datetime) and content.time() != datetime.time():
            self.findings.tell(f"{where} {label}: the day was read without its time of day")

    def _doubled_header(self, header: str, columns: Iterable[int]) -> None:
        places = [self.area.place(self.area.top, column) for column in columns]
        fix = "delete one of the columns or give it another header"
        self.findings.doubled(Reason.DOUBLED_HEADER, places, header, "header", "table", fix)

    def _not_found(self, declared: Field) -> None:
        """Keep a fault where a column is needed, or may be there misspelt and would be missed; else tell that it is not."""
        if declared.required or (declared.without and self._misspelt(declared.header) in self.filled_columns):
            self._missing_header(declared.header)
        else:
            where = f"{self.area.place(self.area.top, self.area.left)}"
            self.findings.tell(f'{where}: the table {self.area.name} has no column "{declared.header}"; read as blank')

    def _misspelt(self, header: str) -> int | None:
        unknown = {
            c: text for c, text in self.headers.items() if self.keys[c] not in self.known and c not in self.named
        }
        return closest(header, unknown)

    def _missing_header(self, header: str) -> None:
        close = self._misspelt(header)
        found, fix = "no such header", f'add a column headed "{header}" to the table {self.area.name}'
        where = self.area.place(self.area.top, self.area.left if close is None else close)
        if close is not None:
            found, fix = f'no such header, but "{self.headers[close]}"', f'type "{header}" into {where}'
        wanted = f'a column headed "{header}" in the table {self.area.name}'
        self.findings.fault(Reason.MISSING_HEADER, where, header, found, wanted, fix)


def _or_clear(why: Refusal) -> Refusal:
    """Offer to clear an optional cell, where the fix does not speak of a blank already."""
    if any(word in why.fix for word in ("clear", "blank")):
        return why
    return why._replace(fix=f"{why.fix}, or clear the cell")


def closest(text: str, among: Mapping[int, str]) -> int | None:
    """Return the row or column of the text that looks most like another, None where none does."""
    by_key = {key(one): place for place, one in islice(among.items(), _MOST_COMPARED) if 0 < len(one) <= _LONGEST_NAME}
    close = difflib.get_close_matches(key(text), by_key, 1, 0.7)
    return by_key[close[0]] if close else None


def _holds_controls(text: str) -> bool:
    return any(sign < " " or "\x7f" <= sign <= "\x9f" for sign in text if sign not in _LAYOUT_SIGNS)


@dataclass(frozen=True)
class Position:
    """Where a form or table stands that was read: its rows on the sheet that hold something, and its columns by name.

    A form's rows are those of its fields, in the order of their declaration (-1 where one is missing), and its columns
    go by their headers. `typed` are the columns that fields of a table were read from.
    """

    part: Form | Table
    reader: AreaReader
    rows: Sequence[int]
    typed: Mapping[str, int] = field(default_factory=dict)

    @property
    def area(self) -> Area:
        """Return the rectangle."""
        return self.reader.area

    @cached_property
    def columns(self) -> Mapping[str, int]:
        """Return all columns that have a name, those of computed ones included."""
        headed = [(text, place) for place, text in reversed(self.reader.headers.items()) if text]
        if isinstance(self.part, Form):
            return dict(headed)
        by_key = {key(text): place for text, place in headed}
        found = {name: by_key[key(d.header)] for name, d in self.part.columns.items() if key(d.header) in by_key}
        return found | dict(self.typed)

    @cached_property
    def number_of(self) -> Mapping[int, int]:
        """Return which row of the form or table a row of the sheet is, counted from 0."""
        return {row: number for number, row in enumerate(self.rows)}

    def place(self, row: int, name: str) -> str:
        """Return the address of a cell with its sheet; `row` counts from 0 in the form or table."""
        return self.area.place(self.rows[row], self.columns[name])

    def field(self, name: str) -> str | None:
        """Return the address of the value of a form's field; None where the workbook has no such cell."""
        row, value = self.rows[list(self.part.fields).index(name)], self.columns.get(FORM_HEADERS[FORM_VALUE])
        return None if row < 0 or value is None else self.area.place(row, value)
