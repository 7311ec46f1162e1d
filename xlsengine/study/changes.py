"""What somebody changed between two bench tests, cell by cell and row by row, and what it did to the figures."""

import datetime
import difflib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from typing import Any

from xlsengine.bench.groups.headline import HEADLINE_LIST
from xlsengine.bench.inputs.bench_test import BenchTest, Value, canonical
from xlsengine.bench.inputs.extras import EXTRA, extra_name
from xlsengine.bench.inputs.forms import FIELDS, INPUT_TABLES
from xlsengine.bench.inputs.readings import run
from xlsengine.bench.model import FIGURE_QUANTITIES, TABLES
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.study.assessment import Assessment
from xlsengine.study.row_alignment import Row, RowPair, aligned_rows
from xlsengine.text_operations import fixed_text

ADVICE = ("esc_held_sentence", "esc_flight_sentence", "flight_note")
Shown = float | str | None


class Kind(StrEnum):
    """What can happen to what was typed."""

    CHANGED = "changed"
    ADDED = "row added"
    REMOVED = "row removed"
    MOVED = "row moved"
    SORTED = "rows sorted"


MOST_MOVED = 3
"""Rows that are told one by one where they went; of more the first is told, and how many."""


@dataclass(frozen=True)
class Change:
    """One cell changed, one row added, removed or moved, or many rows sorted.

    `table` is "" for single fields; `name` and `label` are the cell's column or field, "" for a row. Rows count from 1
    in their table; None where there is none. Of an added or removed row, `after` or `before` tells all it holds.
    """

    kind: Kind
    table: str
    name: str
    label: str
    row_before: int | None
    row_after: int | None
    before: Value
    after: Value


@dataclass(frozen=True)
class Effect:
    """A figure or sentence of advice before and after; `note` tells where it was seen."""

    label: str
    unit: str
    shown: int
    before: Shown
    after: Shown
    note: str = ""

    @property
    def changed(self) -> bool:
        """Tell whether it differs, as far as it is shown."""
        return self.text(self.before) != self.text(self.after)

    def text(self, value: Shown) -> str:
        """Return a value as it is shown, with its unit."""
        if value is None:
            return "none"
        if isinstance(value, str):
            return value
        return f"{Decimal(fixed_text(value, self.shown) or 'NaN'):,} {self.unit}".rstrip()

    @property
    def told(self) -> tuple[str, str]:
        """Return before and after as they are shown, of sentences only what differs, with a few words around it."""
        if isinstance(self.before, str) and isinstance(self.after, str):
            return differing(self.before, self.after)
        return self.text(self.before), self.text(self.after)


_AROUND = 3


def differing(before: str, after: str) -> tuple[str, str]:
    """Return what differs between two sentences, each stretch with the words around it.

    >>> differing("35 A or larger for your craft (820 g on 3S).", "35 A or larger for your craft (820 g).")
    ('… your craft (820 g on 3S).', '… your craft (820 g).')
    """
    old, new = before.split(), after.split()
    grouped = difflib.SequenceMatcher(None, old, new, autojunk=False).get_grouped_opcodes(_AROUND)
    stretches = [(group[0], group[-1]) for group in grouped]
    if not stretches:
        return before, after
    sides = []
    for words, first, last in ((old, 1, 2), (new, 3, 4)):
        ends = [(int(start[first]), int(stop[last])) for start, stop in stretches]
        said = " … ".join(" ".join(words[start:stop]) for start, stop in ends)
        sides.append(f"{'… ' * (ends[0][0] > 0)}{said}{' …' * (ends[-1][1] < len(words))}")
    return sides[0], sides[1]


@dataclass(frozen=True)
class Changes:
    """Everything that was changed in what was typed, and the figures it bears on."""

    typed: tuple[Change, ...]
    effects: tuple[Effect, ...]


def changes(before: Assessment, after: Assessment, typed: tuple[BenchTest, BenchTest] | None = None) -> Changes:
    """Return what was changed from one bench test to the other, and what it did to headlines, advice and flags.

    `typed` are both tests as they were typed, where something stands in for a blank in those that were assessed.
    """
    return Changes(tuple(typed_changes(*(typed or (before.test, after.test)))), tuple(effects(before, after)))


def typed_changes(before: BenchTest, after: BenchTest) -> Iterator[Change]:
    """Yield every change of fields and rows, in the order of the input sheets; numbers are compared at 15 digits."""
    for name, declared in FIELDS.items():
        old, new = before.fields.get(name), after.fields.get(name)
        if canonical(old) != canonical(new):
            yield Change(Kind.CHANGED, "", name, declared.label, None, None, old, new)
    for table in INPUT_TABLES:
        yield from _table_changes(table.name, before, after)


def row_pairs(table: str, before: BenchTest, after: BenchTest) -> list[RowPair]:
    """Return which row of an input table was which row before, in the order of `after`, removed rows last."""
    names = list(_labels(table, before, after))
    name = names.index(run.name) if table == run.table else None
    return aligned_rows(_rows(before, table, names), _rows(after, table, names), name)


def _table_changes(table: str, before: BenchTest, after: BenchTest) -> Iterator[Change]:
    labels, pairs = _labels(table, before, after), row_pairs(table, before, after)
    moved = [(pair.before, pair.after) for pair in pairs if pair.moved]
    if len(moved) > MOST_MOVED:
        old, new = (1 + (row or 0) for row in moved[0])
        to = f"row {new}, and {len(moved) - 1} rows more"
        yield Change(Kind.SORTED, table, "", "", old, new, f"row {old}", to)
        pairs = [replace(pair, moved=False) for pair in pairs]
    for pair in pairs:
        yield from _row_changes(table, labels, pair, before, after)


def _labels(table: str, before: BenchTest, after: BenchTest) -> dict[str, str]:
    """Return the header of each column of a table, columns that only its sender knows included."""
    known = {name: declared.header for name, declared in TABLES[table].fields.items()}
    unknown = (header for test in (before, after) for header in test.extras.columns.get(table, {}))
    return {**known, **{extra_name(header): header for header in unknown}}


def _rows(test: BenchTest, table: str, names: list[str]) -> list[Row]:
    columns = [[canonical(_cell(test, table, name, row)) for row in range(test.rows(table))] for name in names]
    return list(zip(*columns, strict=True)) if columns else []


def _cell(test: BenchTest, table: str, name: str, row: int) -> Any:
    if not name.startswith(EXTRA):
        return test.tables[table][name][row]
    values = test.extras.columns.get(table, {}).get(name.removeprefix(EXTRA), ())
    return values[row] if row < len(values) else None


def _row_changes(
    table: str, labels: dict[str, str], pair: RowPair, before: BenchTest, after: BenchTest
) -> Iterator[Change]:
    old, new = (None if row is None else row + 1 for row in (pair.before, pair.after))
    if pair.before is None or pair.after is None:
        test, row, kind = (before, pair.before, Kind.REMOVED) if pair.after is None else (after, pair.after, Kind.ADDED)
        told = _described(test, table, labels, row or 0)
        yield Change(kind, table, "", "", old, new, *((told, None) if kind is Kind.REMOVED else (None, told)))
        return
    if pair.moved:
        yield Change(Kind.MOVED, table, "", "", old, new, f"row {old}", f"row {new}")
    for name, label in labels.items():
        one, other = _cell(before, table, name, pair.before), _cell(after, table, name, pair.after)
        if canonical(one) != canonical(other):
            yield Change(Kind.CHANGED, table, name, label, old, new, _plain(one), _plain(other))


def _described(test: BenchTest, table: str, labels: dict[str, str], row: int) -> str:
    cells = ((label, _plain(_cell(test, table, name, row))) for name, label in labels.items())
    return "; ".join(f"{label}: {text_of(value)}" for label, value in cells if value is not None)


def _plain(value: Any) -> Value:
    if value is None or value != value or value == "":
        return None
    return value if isinstance(value, str | bool | datetime.date | datetime.time) else float(value)  # type: ignore[return-value]


def text_of(value: Value) -> str:
    """Return a typed value in words; "blank" for None.

    >>> text_of(38.0), text_of(None), text_of("5x4.3")
    ('38', 'blank', '5x4.3')
    """
    if value is None:
        return "blank"
    return f"{value:.15g}" if isinstance(value, float) else str(value)


def effects(before: Assessment, after: Assessment) -> Iterator[Effect]:
    """Yield every headline figure, the measured Kv, the counts of flags and the advice, before and after."""
    for headline, old, new in zip(HEADLINE_LIST, before.headlines(), after.headlines(), strict=True):
        places = (line["place"] or "nowhere" for line in (old, new))
        note = " → ".join(dict.fromkeys(places))
        yield Effect(new["label"], new["unit"], headline.shown, old["value"], new["value"], note)
    old_figures, new_figures = before.figures(), after.figures()
    kv = FIGURE_QUANTITIES[best_kv.name]
    yield Effect(kv.label, kv.unit, kv.shown, old_figures[kv.name], new_figures[kv.name])
    new_counts = after.flag_counts()
    for word, count in before.flag_counts().items():
        yield Effect(f"Flags, {word}", "", 0, float(count), float(new_counts[word]))
    for name in ADVICE:
        yield Effect(FIGURE_QUANTITIES[name].label, "", 0, old_figures[name], new_figures[name])
