"""Every declaration is complete: name, unit, limits, meaning and source, each stated once."""

import re
from collections import Counter
from collections.abc import Iterator

from xlsengine.bench.declaring.declare import Field, Quantity
from xlsengine.bench.inputs.forms import FIELDS, FORMS, INPUT_TABLES
from xlsengine.bench.inputs.settings import SETTINGS
from xlsengine.bench.model import FIGURE_QUANTITIES, FIGURES, TABLES, declared
from xlsengine.expression import Aggregate, Column, Node, children, references
from xlsengine.sources import Standing
from xlsengine.words import words
from xlsengine.workbook.results import SHEETS
from xlsengine.workbook.sheets.method_sheet import SECTIONS, symbol
from xlsengine.workbook.sheets.parts import FiguresPart

INPUTS = [f for form in FORMS for f in form.fields.values()] + [f for t in INPUT_TABLES for f in t.fields.values()]
QUANTITIES = [q for t in TABLES.values() for q in t.quantities.values()] + list(FIGURE_QUANTITIES.values())
LOOKS_LIKE_A_CELL = re.compile(r"[A-Za-z]{1,3}\d+|[rRcC]\d*")


def input_faults(field: Field) -> Iterator[str]:
    """Yield what an input's declaration lacks."""
    measured = field.kind in ("number", "whole")
    lacking = {
        "label": not field.label,
        "full stop after its meaning": not field.meaning.endswith((".", "?")),
        "source": not field.source.text,
        "limits": measured and (field.low is None or field.high is None or field.low >= field.high),
        "choices if and only if it is a choice, one example at most if a text": (
            len(field.choices) > 1 if field.kind == "text" else (field.kind == "choice") != bool(field.choices)
        ),
        "choices without commas, which part them in a drop-down list": any("," in each for each in field.choices),
    }
    return (f"{field.name}: {what}" for what, is_lacking in lacking.items() if is_lacking)


def quantity_faults(quantity: Quantity) -> Iterator[str]:
    """Yield what a quantity's declaration lacks, and references that lead to something else."""
    lacking = {
        "label": not quantity.label,
        "source": quantity.source.standing is Standing.READING,
        "words": not words(quantity.expression, symbol),
    }
    yield from (f"{quantity.name}: {what}" for what, is_lacking in lacking.items() if is_lacking)
    yield from (
        f"{quantity.name}: {cell.name}" for cell in references(quantity.expression) if declared(cell).name != cell.name
    )


def test_inputs_are_complete() -> None:
    assert INPUTS
    assert [fault for field in INPUTS for fault in input_faults(field)] == []


def test_quantities_are_complete() -> None:
    assert QUANTITIES
    assert [fault for quantity in QUANTITIES for fault in quantity_faults(quantity)] == []


def test_what_is_printed_with_its_meaning_says_more_than_its_label() -> None:
    """On Method, in the guide and in lists of figures; a step that only formulas read needs none."""
    listed = [part.group for plan in SHEETS for part in plan.parts if isinstance(part, FiguresPart)]
    printed = [q for group in listed for q in group.quantities.values()]
    printed += [quantity for section in SECTIONS.values() for _, quantity in section]
    assert len(printed) > 100
    assert [quantity.name for quantity in printed if quantity.meaning == quantity.label] == []


def test_every_setting_has_a_value_within_its_limits() -> None:
    for field in SETTINGS.fields.values():
        if field.kind == "choice":
            assert field.default in field.choices
            continue
        assert field.low is not None
        assert field.high is not None
        if not field.required:
            continue  # blank follows the readings
        assert isinstance(field.default, int | float)
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
    names = Counter(name for group in FIGURES for name in group.quantities)
    assert max(names.values()) == 1


def own_row(node: Node) -> Iterator[Column]:
    """Yield the columns that an expression reads in its own row."""
    match node:
        case Column():
            yield node
        case Aggregate(_, _, conditions, argument):
            for part in (*(condition.value for condition in conditions), *([] if argument is None else [argument])):
                yield from own_row(part)
        case _:
            for part in children(node):
                yield from own_row(part)


def aggregates_in(node: Node) -> Iterator[Aggregate]:
    """Yield every aggregate of an expression."""
    if isinstance(node, Aggregate):
        yield node
    for part in children(node):
        yield from aggregates_in(part)


def test_rows_of_different_tables_are_never_taken_for_the_same() -> None:
    """A row inserted into one table makes it longer than the others, so places are asked for, never shared."""
    in_rows = [
        (table.name, name)
        for table in TABLES.values()
        for name, quantity in table.quantities.items()
        if any(column.table != table.name for column in own_row(quantity.expression))
    ]
    mixed = [
        (quantity.name, aggregate.operation)
        for quantity in QUANTITIES
        for aggregate in aggregates_in(quantity.expression)
        if len({column.table for column in (*aggregate.columns, *(each.column for each in aggregate.conditions))}) > 1
    ]
    assert (in_rows, mixed) == ([], [])
