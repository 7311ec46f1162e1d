"""Every declaration is complete: name, unit, limits, meaning and source, each stated once."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from xlsengine.bench.declare import Field, Quantity
from xlsengine.bench.model import FIELDS, FIGURE_QUANTITIES, FIGURES, FORMS, INPUT_TABLES, TABLES, declared, definitions
from xlsengine.bench.settings import SETTINGS
from xlsengine.expression import references
from xlsengine.sources import Standing
from xlsengine.words import words
from xlsengine.workbook.sheets.method_sheet import symbol

INPUTS = [f for form in FORMS for f in form.fields.values()] + [f for t in INPUT_TABLES for f in t.fields.values()]
QUANTITIES = [q for t in TABLES.values() for q in t.quantities.values()] + list(FIGURE_QUANTITIES.values())
LOOKS_LIKE_A_CELL = re.compile(r"[A-Za-z]{1,3}\d+|[rRcC]\d*")


@pytest.mark.parametrize("field", INPUTS, ids=lambda field: field.name)
def test_inputs_are_complete(field: Field) -> None:
    assert field.label
    assert field.meaning.endswith((".", "?"))
    assert field.source.text
    if field.kind in ("number", "whole"):
        assert field.low is not None
        assert field.high is not None
        assert field.low < field.high
    assert (field.kind == "choice") == bool(field.choices)
    assert not any("," in choice for choice in field.choices), "a drop-down list in a cell parts its choices by commas"


@pytest.mark.parametrize("quantity", QUANTITIES, ids=lambda quantity: quantity.name)
def test_quantities_are_complete(quantity: Quantity) -> None:
    assert quantity.label
    assert quantity.meaning
    assert quantity.source.standing is not Standing.READING
    assert words(quantity.expression, symbol)
    for cell in references(quantity.expression):
        assert declared(cell).name == cell.name


def test_every_setting_has_a_value_within_its_limits() -> None:
    for field in SETTINGS.fields.values():
        if field.kind == "choice":
            assert field.default in field.choices
            continue
        assert isinstance(field.default, int | float)
        assert field.low is not None
        assert field.high is not None
        assert field.low <= field.default <= field.high


def test_names_are_unique_and_fit_for_a_workbook() -> None:
    written = [name for group in FIGURES for name in group.written]
    names = [*FIELDS, *FIGURE_QUANTITIES, *written]
    assert [name for name, count in Counter(names).items() if count > 1] == []
    assert [name for name in names if LOOKS_LIKE_A_CELL.fullmatch(name)] == []


def test_headers_are_unique_in_their_table() -> None:
    for table in TABLES.values():
        headers = Counter(column.header.lower() for column in table.columns.values())
        assert [header for header, count in headers.items() if count > 1] == []
        assert not any(sign in header for header in headers for sign in "@[]#'")


def test_each_quantity_is_defined_once() -> None:
    cells = Counter(cell for cell, _ in definitions())
    assert max(cells.values()) == 1
