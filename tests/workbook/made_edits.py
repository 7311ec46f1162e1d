"""Changes of single input cells by chance: as typed into a workbook, and as the bench test they make."""

from __future__ import annotations

import datetime
import random
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from tests.instruments.grid import cell_name
from tests.instruments.recalculate import Edit
from tests.workbook.made_tests import ODD_TEXTS, made_reading, made_value
from xlsengine.bench.inputs.bench_test import BenchTest, Value, array_of
from xlsengine.bench.inputs.forms import FIELDS, INPUT_TABLES
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.bench.inputs.settings import SETTINGS
from xlsengine.bench.model import TABLES
from xlsengine.study.evaluation import serial
from xlsengine.workbook.layout import Layout

Cells = dict[tuple[str, int, str], Value]
"""Contents by table, row from 0, and column; or by "", 0 and field."""


@dataclass(frozen=True)
class Change:
    """Input cells with what is typed into them."""

    cells: Mapping[tuple[str, int, str], Value]

    def applied(self, test: BenchTest) -> BenchTest:
        """Return the bench test that the changed workbook holds."""
        for (table, row, name), value in self.cells.items():
            test = _with_cell(test, table, row, name, value) if table else _with_field(test, name, value)
        return test

    def edits(self, layout: Layout) -> list[Edit]:
        """Return the change as it is typed into the workbook."""
        return [(*place_of(layout, *at), _typed(value)) for at, value in self.cells.items()]

    def undone(self, test: BenchTest) -> Change:
        """Return the change that brings back what `test` holds."""
        return Change({at: content(test, *at) for at in self.cells})

    def __str__(self) -> str:
        return "; ".join(f"{table}[{row + 1}].{name} = {value!r}" for (table, row, name), value in self.cells.items())


def place_of(layout: Layout, table: str, row: int, name: str) -> tuple[str, str]:
    """Return sheet and place of an input cell."""
    if not table:
        sheet, at, column = layout.cells[name]
        return sheet, cell_name(at + 1, column + 1)
    block = layout.blocks[table]
    return block.sheet, cell_name(block.top + row + 2, block.column(name) + 1)


def content(test: BenchTest, table: str, row: int, name: str) -> Value:
    """Return what an input cell of a test holds."""
    if not table:
        return test.fields[name]
    column = test.tables[table][name]
    value = column[row] if row < len(column) else None
    return None if value is None or value != value else value if isinstance(value, str) else float(value)


def made_change(test: BenchTest, layout: Layout, rng: random.Random) -> Change:
    """Return one change: of a reading, of a row, of a field or setting, or of a cell of another table."""
    draw = rng.random()
    if draw < 0.45:
        return _table_cell(READINGS.name, test, layout, rng)
    if draw < 0.6:
        return _whole_row(test, layout, rng)
    if draw < 0.75:
        return _table_cell(rng.choice(INPUT_TABLES).name, test, layout, rng)
    return _field(rng.choice(list(SETTINGS.fields if rng.random() < 0.5 else FIELDS)), rng)


def _field(name: str, rng: random.Random) -> Change:
    return Change({("", 0, name): _new_value(FIELDS[name], rng)})


def _table_cell(table: str, test: BenchTest, layout: Layout, rng: random.Random) -> Change:
    """Change one cell: mostly of a row that holds something, now and then of a spare one."""
    spare = rng.random() < 0.1
    rows = layout.blocks[table].rows if spare else max(1, test.rows(table))
    name = rng.choice([name for name in TABLES[table].fields if name not in _unread(layout, table)])
    return Change({(table, rng.randrange(rows), name): _new_value(TABLES[table].fields[name], rng)})


def _new_value(declared: Any, rng: random.Random) -> Value:
    return None if rng.random() < 0.2 else made_value(declared, rng)


def _whole_row(test: BenchTest, layout: Layout, rng: random.Random) -> Change:
    """Fill a row of Readings, spare or not: with a new group, with another row again, or with nothing."""
    row = rng.randrange(min(test.rows(READINGS.name) + 2, layout.blocks[READINGS.name].rows))
    match rng.randrange(4):
        case 0:
            values: dict[str, Any] = {}
        case 1:
            other = rng.randrange(max(1, test.rows(READINGS.name)))
            values = {name: content(test, READINGS.name, other, name) for name in READINGS.fields}
        case _:
            values = made_reading(rng.choice(ODD_TEXTS), float(rng.randint(1, 6)), rng)
    read = [name for name in READINGS.fields if name not in _unread(layout, READINGS.name)]
    return Change({(READINGS.name, row, name): values.get(name) for name in read})


def _unread(layout: Layout, table: str) -> tuple[str, ...]:
    """Return the columns whose figures are not written; what is typed there makes the workbook out of date."""
    return layout.folding.unread if layout.folding is not None and table == READINGS.name else ()


def _with_field(test: BenchTest, name: str, value: Value) -> BenchTest:
    return replace(test, fields={**test.fields, name: value})


def _with_cell(test: BenchTest, table: str, row: int, name: str, value: Value) -> BenchTest:
    """Change one cell; a table is made longer with blank rows where the cell lies below its last one."""
    length = max(test.rows(table), row + 1)
    columns = {}
    for each, declared in TABLES[table].fields.items():
        values: list[Any] = [content(test, table, place, each) for place in range(length)]
        if each == name:
            values[row] = value
        columns[each] = array_of(declared, values)
    return replace(test, tables={**test.tables, table: columns})


def _typed(value: Value) -> float | str | None:
    return serial(value) if isinstance(value, datetime.date) else value
