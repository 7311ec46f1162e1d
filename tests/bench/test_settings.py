"""What a person types is declared in tables: each row is of a known part, its cell stands under its own name."""

from dataclasses import fields
from types import ModuleType

import pytest

from xlsengine.bench.boxes.batch import BATCH, SERIALS
from xlsengine.bench.declaring.declare import Field, Form, Table
from xlsengine.bench.inputs import conditions, craft, motor, no_load, readings, settings
from xlsengine.bench.inputs.forms import FIELDS, FORMS, INPUT_TABLES
from xlsengine.bench.inputs.need import NEED
from xlsengine.bench.inputs.settings import SETTINGS, TOPICS
from xlsengine.bench.inputs.typed import rows_of
from xlsengine.expression import Column, Named
from xlsengine.workbook.reading.findings import key
from xlsengine.workbook.reading.trade_words import header_meant


def test_rows_begin_with_parts_that_there_are() -> None:
    parts: list[Form | Table] = [*FORMS, *INPUT_TABLES, BATCH, SERIALS, NEED]
    begun = {row["part"] for row in rows_of("typed.csv") if "part" in row}
    assert begun == {part.name for part in parts} - {SETTINGS.name}


def test_headers_are_what_a_field_is_made_of() -> None:
    known = {each.name for each in fields(Field)} | {"part", "topic", "value", "detail"}
    assert {header for name in ("typed.csv", "settings.csv") for row in rows_of(name) for header in row} <= known


@pytest.mark.parametrize("module", [conditions, craft, motor, no_load, readings, settings])
def test_cells_stand_under_their_own_names(module: ModuleType) -> None:
    typed = {*FIELDS, *(name for table in INPUT_TABLES for name in table.fields)}
    cells = {name: cell for name, cell in vars(module).items() if isinstance(cell, Column | Named)}
    bound = {name: cell.name for name, cell in cells.items() if cell.name in typed}
    assert len(bound) >= 2
    assert {name: cell for name, cell in bound.items() if name != cell} == {}


def test_no_heading_can_be_taken_for_a_field() -> None:
    declared = [each for form in FORMS for each in form.fields.values()]
    assert not {key(title) for title in TOPICS} & {key(each.label) for each in declared}
    assert not [(t, d.name) for t in TOPICS for d in SETTINGS.fields.values() if header_meant(t, d)]
