"""Rows inserted, deleted and sorted on Readings in LibreOffice, and edits: no sheet shows a figure of another reading.

What every formula must come to is what the engine gives for the readings in their new order.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.instruments.grid import cell_name
from tests.instruments.office_edit import LOOK, Act, Look, Work, do_in_libreoffice
from tests.instruments.recalculate import Place, Value, differences, requires_libreoffice
from tests.workbook.engine_values import ResultsOf, Standing, WrittenResults, value_of
from tests.workbook.made_edits import Cells, Change
from tests.workbook.made_tests import FULL
from xlsengine.bench.inputs.readings import READINGS, row_number
from xlsengine.bench.model import TABLES
from xlsengine.expression import Column
from xlsengine.workbook.derived_cells import FileScope

NAME = "thimble-2207"
TOP, SHEET = 6, "Readings"
"""The first row of readings on its sheet."""
STATE: Place = ("Checks", "A6")
"""Where it says whether the comparisons belong to the readings."""
Order = list[int | None]
"""By row of the table after the work: the row it was before, from 0, or None for one inserted."""


def rows_of(written: WrittenResults) -> int:
    return written.layout.blocks[READINGS.name].rows


def inserted_at(rows: Order, place: int, count: int = 1) -> Order:
    return [*rows[:place], *[None] * count, *rows[place:]]


def sorted_by(written: WrittenResults, name: str, rows: Order) -> Order:
    """Return the rows by a column, downwards; equal ones stay in their order and blanks come last."""
    values = written.assessment.scope.column(READINGS.name, name)
    return sorted(rows, key=lambda row: -values[row] if values[row] == values[row] else np.inf)


def works(written: WrittenResults) -> dict[str, tuple[list[Act], Order]]:
    """Return what is done by name, with the order it makes."""
    block, used = written.layout.blocks[READINGS.name], written.assessment.test.rows(READINGS.name)
    rows: Order = list(range(block.rows))
    area = f"A{TOP}:{cell_name(TOP + used - 1, block.right + 1)}"
    current = block.column("current") - block.left
    return {
        "a row inserted among others": ([("insert", SHEET, 12, 1)], inserted_at(rows, 12 - TOP)),
        "rows inserted below the header": ([("insert", SHEET, TOP, 2)], inserted_at(rows, 0, 2)),
        "first, last and rows between deleted": (
            [("delete", SHEET, TOP + used - 1, 1), ("delete", SHEET, 12, 2), ("delete", SHEET, TOP, 1)],
            rows[1 : 12 - TOP] + rows[12 - TOP + 2 : used - 1] + rows[used:],
        ),
        "sorted, then a row inserted": (
            [("sort", SHEET, area, current, False), ("insert", SHEET, 20, 1)],
            inserted_at(sorted_by(written, "current", rows[:used]) + rows[used:], 20 - TOP),
        ),
    }


NAMES = (
    "a row inserted among others",
    "rows inserted below the header",
    "first, last and rows between deleted",
    "sorted, then a row inserted",
)

SPARE: Cells = {("Readings", 31, name): value for name, value in FULL.items() if name != "speed"}  # none was read
EDIT = Change({("Readings", 1, "prop"): "9x9 new", ("Readings", 9, "thrust"): 845.0, **SPARE})
"""What formulas shared by cells do not survive in LibreOffice."""


@pytest.fixture(scope="module")
def moved(results_of: ResultsOf) -> Mapping[str, Look]:
    """Return the workbook after each piece of work and each edit, and with a reading typed in, by one run of LibreOffice."""
    written = results_of(NAME)
    acts = {name: done for name, (done, _) in works(written).items()}
    last = TOP + written.assessment.test.rows(READINGS.name)
    block = written.layout.blocks[READINGS.name]
    typed: list[Act] = [("type", SHEET, cell_name(last, block.column(name) + 1), value) for name, value in FULL.items()]
    acts["typed"] = [("insert", SHEET, last, 1), *typed]
    acts["edited"] = [("type", *edit) for edit in EDIT.edits(written.layout)]
    looks = do_in_libreoffice([Work(str(written.path), acts=[*each, LOOK]) for each in acts.values()])
    return {name: look for name, (look,) in zip(acts, looks, strict=True)}


def rearranged(values: Any, order: Order) -> Any:
    """Return a column in its new order, blank where a row was inserted."""
    blank = np.nan if values.dtype.kind == "f" else None
    kept = [values[row] if row is not None and row < len(values) else blank for row in order]
    return np.array(kept, dtype=values.dtype)


def scope_after(written: WrittenResults, order: Order) -> FileScope:
    """Return the engine's values of the readings in their new order, in tables as long as the sheets' are."""
    whole = written.assessment.scope
    test, held = whole.test, dict(whole.written)
    columns = {name: rearranged(values, order) for name, values in test.tables[READINGS.name].items()}
    for table, name in held:
        if table == READINGS.name:
            held[table, name] = rearranged(held[table, name], order)
    lengths = written.lengths() | {READINGS.name: len(order)}
    test = replace(test, tables={**test.tables, READINGS.name: columns})
    return FileScope(test, held, dict(whole.placed), lengths=lengths)


def is_by_row(standing: Standing) -> bool:
    """Tell whether a cell stands in a table with one row for each row of Readings."""
    node = standing.node
    return isinstance(node, Column) and node.table in TABLES and row_number in TABLES[node.table].per


def expected(written: WrittenResults, order: Order) -> dict[Place, Value]:
    """Return what every formula must come to, but for the rows inserted, which LibreOffice leaves without formulas."""
    scope, block = scope_after(written, order), written.layout.blocks[READINGS.name]
    inserted = {row for row, before in enumerate(order) if before is None}
    values = {
        place: value_of(standing, scope.any_value(standing.node))
        for place, standing in written.standing.items()
        if place[0] not in (SHEET, "Charts") and not (is_by_row(standing) and standing.row in inserted)
    }
    for name in TABLES[READINGS.name].quantities.keys() & set(block.columns):
        column, letters = scope.column(READINGS.name, name), block.column(name) + 1
        for row in (row for row, before in enumerate(order) if before is not None):
            value = column[row]
            values[SHEET, cell_name(TOP + row, letters)] = None if value in (None, "") or value != value else value
    return values


@requires_libreoffice
@pytest.mark.parametrize("name", NAMES)
def test_every_sheet_shows_what_belongs_to_the_readings(
    results_of: ResultsOf, moved: Mapping[str, Look], name: str
) -> None:
    written = results_of(NAME)
    wanted = expected(written, works(written)[name][1])
    assert differences(wanted, moved[name].values(wanted)) == []


@requires_libreoffice
def test_an_edit_reaches_every_cell(results_of: ResultsOf, moved: Mapping[str, Look]) -> None:
    written = results_of(NAME)
    wanted = written.values(EDIT.applied(written.assessment.test))
    assert differences(wanted, moved["edited"].values(wanted)) == []


@requires_libreoffice
@pytest.mark.parametrize("name", NAMES)
def test_checks_of_rows_against_each_other_are_called_stale(
    results_of: ResultsOf, moved: Mapping[str, Look], name: str
) -> None:
    """They were written for the rows as they stood; their places are those of before."""
    (said,) = moved[name].values([STATE]).values()
    assert str(said).startswith("They are OUT OF DATE")


@requires_libreoffice
def test_a_reading_without_its_formulas_is_not_passed_over_in_silence(
    results_of: ResultsOf, moved: Mapping[str, Look]
) -> None:
    """LibreOffice gives an inserted row no formulas; what is typed there moves no figure, and the checks say so."""
    written = results_of(NAME)
    last, block = TOP + written.assessment.test.rows(READINGS.name), written.layout.blocks[READINGS.name]
    power = (SHEET, cell_name(last, block.column("power") + 1))
    found = moved["typed"].values([power, STATE])
    assert found[power] is None
    assert str(found[STATE]).startswith("They are OUT OF DATE")


@requires_libreoffice
@pytest.mark.parametrize("name", NAMES)
def test_written_flags_stay_with_their_reading(results_of: ResultsOf, moved: Mapping[str, Look], name: str) -> None:
    written = results_of(NAME)
    block, order = written.layout.blocks[READINGS.name], works(written)[name][1]
    flags = rearranged(written.assessment.scope.column(READINGS.name, "written_flags"), order)
    assert any(flags)
    places = [(SHEET, cell_name(TOP + row, block.column("written_flags") + 1)) for row in range(len(order))]
    assert list(moved[name].values(places).values()) == [flag or None for flag in flags]
