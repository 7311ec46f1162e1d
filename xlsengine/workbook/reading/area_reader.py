"""Reading the cells of one table by its headers or labels, with every fault and remark kept for the end.

Fields are found by their own headers and labels, or by the trade's words for them.
"""

import datetime
import difflib
import re
from bisect import bisect_left
from collections.abc import Callable, Iterable, Mapping, Sequence
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

REQUIRED_MARK = "*"
_MOST_COMPARED, _LONGEST_NAME = 300, 100


class Kind(NamedTuple):
    """What labels are: the word for one and for their home, and the reasons of faults."""

    word: str
    home: str
    doubled: Reason
    missing: Reason
    fix_doubled: str


HEADERS = Kind(
    "header",
    "table",
    Reason.DOUBLED_HEADER,
    Reason.MISSING_HEADER,
    "delete one of the columns or give it another header",
)
FIELDS = Kind("field", "form", Reason.DOUBLED_FIELD, Reason.MISSING_FIELD, "delete one of the rows")


@dataclass(frozen=True)
class Labels:
    """Labels as they are written, by their columns or rows; `place` gives their cells.

    `known` are those that may be there, as they are compared: any other may be one in other words, or misspelt where
    something stands by it (`is_filled`). `named` collects those that were found in other words.
    """

    kind: Kind
    texts: Mapping[int, str]
    known: frozenset[str]
    place: Callable[[int], str]
    is_filled: Callable[[int], bool]
    findings: Findings
    named: set[int] = field(default_factory=set)

    @cached_property
    def keys(self) -> dict[int, str]:
        """Return the labels as they are compared."""
        return {at: label_key(text) for at, text in self.texts.items()}

    @property
    def unknown(self) -> dict[int, str]:
        """Return the labels that nothing declares."""
        return {at: text for at, text in self.texts.items() if self.keys[at] not in self.known and at not in self.named}

    def labelled(self, label: str) -> list[int]:
        """Return where a label stands."""
        wanted = key(label)
        return [at for at, text in self.keys.items() if text == wanted]

    def find(self, declared: Field, label: str) -> tuple[int, Meant | None] | None:
        """Return where a field stands by its label, or in what other words; keeps a fault where it stands twice."""
        found: dict[int, Meant | None] = dict.fromkeys(self.labelled(label))
        if not found:
            words = {at: header_meant(text.removesuffix(REQUIRED_MARK), declared) for at, text in self.unknown.items()}
            meant = {at: each for at, each in words.items() if each}
            found.update({at: each for at, each in meant.items() if not each.second} or meant)
            self.named.update(found)
        if len(found) > 1:
            places = [self.place(at) for at in found]
            said, wanted = f"the {self.kind.word} in {' and '.join(places)}", f"it once in the {self.kind.home}"
            self.findings.fault(self.kind.doubled, places[0], label, said, wanted, self.kind.fix_doubled)
        return next(iter(found.items()), None)

    def misspelt(self, label: str) -> int | None:
        """Return the unknown label with something by it that looks most like another, None where none does."""
        by_key = {
            key(text): at
            for at, text in islice(self.unknown.items(), _MOST_COMPARED)
            if 0 < len(text) <= _LONGEST_NAME and self.is_filled(at)
        }
        close = difflib.get_close_matches(key(label), by_key, 1, 0.7)
        return by_key[close[0]] if close else None

    def miss(self, label: str, nowhere: str, wanted: str, fix: str) -> None:
        """Keep a fault for a label that is missing, at the one that was meant for it or else `nowhere`."""
        close, found = self.misspelt(label), f"no such {self.kind.word}"
        where = nowhere if close is None else self.place(close)
        if close is not None:
            found, fix = f'{found}, but "{self.texts[close]}"', f'type "{label}" into {where}'
        self.findings.fault(self.kind.missing, where, label, found, wanted, fix)


def label_key(label: str) -> str:
    """Return a label as it is compared: without the mark of what is needed."""
    return key(label.strip().removesuffix(REQUIRED_MARK))


# --- a table of the workbook ---


_CONTROLS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")


class Place(NamedTuple):
    """The column where a field stands, and the unit that its header states where it is not the field's own."""

    column: int
    unit: str | None = None


class AreaReader:
    """One table of the workbook: finds columns by header, takes values, and keeps what is wrong with them.

    `known` are the headers that the table may have.
    """

    def __init__(self, area: Area, cells: SheetCells, known: Iterable[str], findings: Findings) -> None:
        self.area = area
        self.cells = cells
        self.findings = findings
        self.headers = self._headers()
        self.labels = Labels(
            HEADERS,
            self.headers,
            frozenset(map(key, known)),
            self._title_place,
            lambda column: column in self.filled_columns,
            findings,
        )
        self._computed: list[str] = []
        self._merged: dict[int, list[Rectangle]] = {}
        for merged in sorted(cells.merged):
            self._merged.setdefault(merged.left, []).append(merged)

    def _headers(self) -> dict[int, str]:
        """Return the header texts by column, from the cells where they show."""
        if not self.area.titled:
            return dict(zip(self.area.columns, self.area.headers, strict=True))
        row = self.cells.get(self.area.top, {})
        return {column: plain_text(content_of(row.get(column))).strip() for column in self.area.columns}

    def _title_place(self, column: int) -> str:
        return self.area.place(self.area.top, column)

    def extend(self, area: Area) -> None:
        """Take in the rows that follow the table."""
        self.area = area
        for known in ("rows", "filled_columns"):
            self.__dict__.pop(known, None)

    @cached_property
    def rows(self) -> list[int]:
        """Return the rows between header and totals in which anything stands."""
        return sorted(row for row in self.cells if self.area.first <= row <= self.area.last)

    @cached_property
    def filled_columns(self) -> set[int]:
        """Return the columns in which anything stands below the header."""
        return {c for row in self.rows for c, stored in self.cells[row].items() if content_of(stored) is not None}

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

    def place_of(self, declared: Field) -> Place | None:
        """Return where a field's column stands, by its header or by the trade's words for it.

        Keeps a fault where it stands twice, states a unit of another kind, or is missing and needed.
        """
        found = self.labels.find(declared, declared.header)
        if found is None:
            self._not_found(declared)
            return None
        column, meant = found
        return Place(column) if meant is None else self._in_other_words(declared, column, meant)

    def value(self, declared: Field, row: int, place: Place, label: str, if_blank: str) -> Value:
        """Return a cell's value; keeps a fault and returns None where it cannot be taken."""
        stored = self.stored(row, place.column)
        if type(stored) is float and place.unit is None and declared.kind == "number" and would_take(declared, stored):
            return stored
        content = content_of(stored)
        if content is None:
            if declared.required:
                self.refuse(
                    declared, row, place.column, label, Refusal(Reason.REQUIRED_BLANK, "a blank cell", if_blank)
                )
            return None
        value = typed_value(declared, content, place.unit)
        if isinstance(value, Refusal):
            self.refuse(declared, row, place.column, label, value if declared.required else _or_clear(value))
            return None
        if type(value) is str and value is stored and value.isprintable():
            return value
        where = self.area.place(row, place.column)
        if isinstance(stored, Formula):
            self._computed.append(where)
        if isinstance(value, ReadAs):
            self.findings.read(where, label, shown(content), value.words, value.news, value.changed)
            return value.value
        if isinstance(content, datetime.datetime) and content.time() != datetime.time():
            self.findings.tell(f"{where} {label}: the day was read without its time of day")
        elif isinstance(value, str) and _CONTROLS.search(value):
            self.findings.tell(f"{where} {label}: holds control characters, kept as they are")
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
        for column, text in self.labels.unknown.items():
            if column in self.filled_columns:
                computed = computed_meant(text)
                why = f"is {computed}" if computed else "is not known"
                named = f'column "{text}" {why}' if text else "a column without a header"
                fate = "; it is carried to the results as it stands" if carried and text else " and was not read"
                self.findings.tell(f"{self._title_place(column)}: {named}{fate}")

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

    def _in_other_words(self, declared: Field, column: int, meant: Meant) -> Place | None:
        where, text = self._title_place(column), self.headers[column]
        if meant.foreign:
            wanted = f'the header "{declared.header}", or a unit that can be converted to {declared.unit or "it"}'
            fix = f'type "{declared.header}" there, and give the values so'
            self.findings.fault(Reason.WRONG_TYPE, where, declared.header, f'the header "{text}"', wanted, fix)
            return None
        unit = None if meant.unit == declared.unit else meant.unit
        told = f'{where}: the header "{text}" was read as "{declared.header}"'
        if unit:
            told += f"; its numbers were converted from {unit}"
        elif meant.unit is None and declared.unit:
            told += f"; it states no unit, and {declared.unit} was taken"
        self.findings.tell(told)
        return Place(column, unit)

    def _not_found(self, declared: Field) -> None:
        """Keep a fault where a column is needed, or may be there misspelt and would be missed; else tell that it is not."""
        header, table, corner = declared.header, f"the table {self.area.name}", self._title_place(self.area.left)
        if declared.required or (declared.without and self.labels.misspelt(header) is not None):
            wanted = f'a column headed "{header}"'
            self.labels.miss(header, corner, f"{wanted} in {table}", f"add {wanted} to {table}")
        else:
            self.findings.tell(f'{corner}: {table} has no column "{header}"; read as blank')


def _or_clear(why: Refusal) -> Refusal:
    """Offer to clear an optional cell, where the fix does not speak of a blank already."""
    if any(word in why.fix for word in ("clear", "blank")):
        return why
    return why._replace(fix=f"{why.fix}, or clear the cell")


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
