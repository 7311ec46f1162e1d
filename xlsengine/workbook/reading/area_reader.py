"""Reading the cells of one Excel table by its headers, with every fault and remark kept for the end."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from xlsengine.bench.bench_test import Value
from xlsengine.bench.declare import Field
from xlsengine.errors import Fault, Reason
from xlsengine.workbook.reading.cells import Formula, Found, Grid, Stored, content_of
from xlsengine.workbook.reading.package import Area
from xlsengine.workbook.reading.typed_values import Refusal, plain_text, typed_value

_LAYOUT_SIGNS = frozenset("\t\n\r")


@dataclass
class Findings:
    """All that is to be said about a workbook: its faults, and `told`, sentences that are no faults."""

    faults: list[Fault] = field(default_factory=list)
    told: list[str] = field(default_factory=list)

    def fault(self, reason: Reason, place: str, label: str, found: str, wanted: str, mend: str) -> None:
        """Keep a fault."""
        self.faults.append(Fault(reason, place, label, found, wanted, mend))

    def tell(self, sentence: str) -> None:
        """Keep a sentence."""
        self.told.append(sentence)


def key(text: str) -> str:
    """Return a header, label or name as it is compared: without capitals and spare spaces."""
    return " ".join(text.casefold().split())


def counted(places: Sequence[str], one: str, many: str) -> str:
    """Say how many places there are and where the first is.

    >>> counted(["Readings!B6", "Readings!B9"], "cell holds", "cells hold")
    '2 cells hold (the first: Readings!B6)'
    """
    return f"{places[0]}: 1 {one}" if len(places) == 1 else f"{len(places)} {many} (the first: {places[0]})"


class AreaReader:
    """One Excel table of the workbook: finds columns by header, takes values, and keeps what is wrong with them.

    `known` are the headers that the table may have; any other may be a known one misspelt.
    """

    def __init__(self, area: Area, grid: Grid, known: Iterable[str], findings: Findings) -> None:
        self.area = area
        self.grid = grid
        self.known = {key(header) for header in known}
        self.findings = findings
        self._computed: list[str] = []

    @cached_property
    def rows(self) -> list[int]:
        """Return the rows between header and totals in which anything stands."""
        return sorted(row for row in self.grid if self.area.first <= row <= self.area.last)

    @cached_property
    def headers(self) -> dict[int, str]:
        """Return the header texts by column, from the cells where they show."""
        texts = zip(self.area.columns, self.area.headers, strict=True)
        if not self.area.titled:
            return dict(texts)
        row = self.grid.get(self.area.top, {})
        return {column: plain_text(content_of(row.get(column))).strip() for column in self.area.columns}

    def stored(self, row: int, column: int) -> Stored:
        """Return what a cell holds."""
        return self.grid.get(row, {}).get(column)

    def content(self, row: int, column: int) -> Found:
        """Return what a cell holds or its formula gave; None for blanks."""
        return content_of(self.stored(row, column))

    def column(self, header: str) -> int | None:
        """Return the column of a header; keeps a fault and returns None where it is missing or stands twice."""
        columns = [column for column, text in self.headers.items() if key(text) == key(header)]
        if len(columns) == 1:
            return columns[0]
        if columns:
            self._doubled_header(header, columns)
        else:
            self._missing_header(header)
        return None

    def value(self, declared: Field, row: int, column: int, label: str, if_blank: str) -> Value:
        """Return a cell's value; keeps a fault and returns None where it cannot be taken."""
        stored = self.stored(row, column)
        content = content_of(stored)
        if content is None:
            if declared.required:
                self._refuse(declared, row, column, label, Refusal(Reason.REQUIRED_BLANK, "nothing", if_blank))
            return None
        value = typed_value(declared, content)
        if isinstance(value, Refusal):
            self._refuse(declared, row, column, label, value)
            return None
        if isinstance(stored, Formula):
            self._computed.append(self.area.place(row, column))
        self._remark(row, column, label, content, value)
        return value

    def close(self) -> None:
        """Tell of the formulas whose stored values were taken."""
        if self._computed:
            holds = counted(self._computed, "input cell holds a formula", "input cells hold formulas")
            self.findings.tell(f"{holds}; the value stored with it was taken")

    def tell_unknown_columns(self) -> None:
        """Tell of columns that hold something under a header that the table does not have."""
        for column, text in self.headers.items():
            if key(text) not in self.known and any(self.content(row, column) is not None for row in self.rows):
                named = f'column "{text}" is not known' if text else "a column without a header"
                self.findings.tell(f"{self.area.place(self.area.top, column)}: {named} and was not read")

    def typed_places(self, column: int) -> list[str]:
        """Return the places in a column that hold something other than a formula."""
        return [
            self.area.place(row, column)
            for row in self.rows
            if self.content(row, column) is not None and not isinstance(self.stored(row, column), Formula)
        ]

    def _refuse(self, declared: Field, row: int, column: int, label: str, why: Refusal) -> None:
        place = self.area.place(row, column)
        self.findings.fault(why.reason, place, label, why.found, why.wanted or declared.wanted, why.mend)

    def _remark(self, row: int, column: int, label: str, content: Found, value: Value) -> None:
        """Tell of what is taken but would hardly be noticed: signs that do not show, a time beside a date."""
        if isinstance(value, str) and not value.isprintable() and _holds_controls(value):
            self.findings.tell(f"{self.area.place(row, column)} {label}: holds control characters, kept as they are")
        elif isinstance(content, datetime.datetime) and content.time() != datetime.time():
            self.findings.tell(f"{self.area.place(row, column)} {label}: the day was read without its time of day")

    def _doubled_header(self, header: str, columns: Iterable[int]) -> None:
        places = [self.area.place(self.area.top, column) for column in columns]
        self.findings.fault(
            Reason.DOUBLED_HEADER, places[0], header, f"the header in {' and '.join(places)}", "it once in the table",
            "delete one of the columns or give it another header",
        )  # fmt: skip

    def _missing_header(self, header: str) -> None:
        misspelt = {column: text for column, text in self.headers.items() if key(text) not in self.known}
        close = closest(header, misspelt)
        found, mend = "no such header", f'add a column headed "{header}" to the table {self.area.name}'
        where = self.area.place(self.area.top, self.area.left if close is None else close)
        if close is not None:
            found, mend = f'no such header, but "{misspelt[close]}"', f'type "{header}" into {where}'
        wanted = f'a column headed "{header}" in the table {self.area.name}'
        self.findings.fault(Reason.MISSING_HEADER, where, header, found, wanted, mend)


def closest(text: str, among: Mapping[int, str]) -> int | None:
    """Return the row or column of the text that looks most like another, None where none does."""
    by_key = {key(one): place for place, one in among.items() if one}
    close = difflib.get_close_matches(key(text), by_key, 1, 0.7)
    return by_key[close[0]] if close else None


def _holds_controls(text: str) -> bool:
    return any(sign < " " or "\x7f" <= sign <= "\x9f" for sign in text if sign not in _LAYOUT_SIGNS)
