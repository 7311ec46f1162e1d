"""What a person types into results in LibreOffice reaches every cell, as it does in a second engine.

The edits are those that formulas shared by cells do not survive: a propeller's name, a reading in a spare row, a thrust.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.instruments.office_edit import Work, do_in_libreoffice, requires_bridge
from tests.instruments.recalculate import IronSheet, differences, stored_values
from tests.workbook.engine_values import ResultsOf

SPARE: tuple[tuple[str, float | str], ...] = tuple(
    zip("BCDEFIJK", ("5x4x3 Z", 5.0, 4.0, 3.0, 4.0, 14.9, 30.0, 1100.0), strict=True)
)
DEMO, FIRST_ROW = "thimble-2207", 6


@pytest.fixture
def edits(results_of: ResultsOf) -> list[list[tuple[str, str, float | str]]]:
    row = FIRST_ROW + results_of(DEMO).assessment.test.rows("Readings")
    reading = [("Readings", f"{column}{row}", value) for column, value in SPARE]
    return [[("Readings", "B7", "9x9 new")], reading, [("Readings", "K15", 845.0)]]


@requires_bridge
def test_edits_reach_every_cell(
    results_of: ResultsOf, edits: list[list[tuple[str, str, float | str]]], tmp_path: Path
) -> None:
    path = results_of(DEMO).path
    targets = [tmp_path / f"{number}.xlsx" for number in range(len(edits))]
    acts = [[("type", *edit) for edit in each] for each in edits]
    do_in_libreoffice([Work(str(path), str(target), each) for target, each in zip(targets, acts, strict=True)])
    for target, each in zip(targets, edits, strict=True):
        assert differences(IronSheet(path).edit(each), stored_values(target)) == []
