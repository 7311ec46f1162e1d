"""A reading changed after the comparisons were made: every sheet whose figures rest on them says so, others do not."""

import re
from pathlib import Path

import pytest

from tests.bench.test_esc import judged, row
from tests.instruments.recalculate import IronSheet
from tests.workbook.engine_values import WrittenResults, write
from xlsengine.bench.checks.fingerprint import FINGERPRINT, OUT_OF_DATE
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.workbook.results import SHEETS


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> WrittenResults:
    rows = [
        row("peak", amps, prop=f"6x{pitch}", pitch=pitch) for amps, pitch in ((30.0, 4.0), (36.0, 4.5), (41.0, 5.0))
    ]
    return write(judged(*rows).test, tmp_path_factory.mktemp("stale") / "results.xlsx")


def said(path: Path, cell: str | None, content: float | str) -> dict[str, bool]:
    """Return for each sheet whether the line stands on it after a cell of Readings was typed over."""
    sheet = IronSheet(path)
    found = sheet.edit([] if cell is None else [("Readings", cell, content)])
    sheets = {sheet.name for sheet in SHEETS if sheet.out_of_date} & {place[0] for place in found}
    return {name: any(place[0] == name and value == OUT_OF_DATE for place, value in found.items()) for name in sheets}


def test_nothing_is_said_as_written(written: WrittenResults) -> None:
    assert not any(said(written.path, None, "").values())


@pytest.mark.parametrize(("column", "content"), [("thrust", 1500.0), ("current", 33.3), ("voltage", 14.1)])
def test_every_sheet_says_so(written: WrittenResults, column: str, content: float) -> None:
    cell = written.layout.blocks[READINGS.name].local(column, 1).replace("$", "")
    found = said(written.path, cell, content)
    assert all(found.values()), found


@pytest.mark.parametrize(("column", "content", "unread"), [("kind", "steady", "steady"), ("prop", "6x4.0", "repeated")])
def test_a_first_steady_reading_and_a_first_repeat_are_said(
    written: WrittenResults, column: str, content: str, unread: str
) -> None:
    """What takes steady readings, or two of the same, is not written where there are none."""
    assert unread in written.layout.folding.unread  # type: ignore[union-attr]
    cell = written.layout.blocks[READINGS.name].local(column, 1).replace("$", "")
    found = said(written.path, cell, content)
    assert all(found.values()), found


@pytest.mark.parametrize(("column", "content"), [("torque", 0.1), ("motor_temperature", 60.0)])
def test_what_is_read_for_the_first_time_says_so_too(written: WrittenResults, column: str, content: float) -> None:
    """Its figures are not written before the next results; all others stay as they were."""
    assert column in written.layout.folding.unread  # type: ignore[union-attr]
    cell = written.layout.blocks[READINGS.name].local(column, 1).replace("$", "")
    before, after = (IronSheet(written.path).edit(edits) for edits in ([], [("Readings", cell, content)]))
    own = {written.place(name) for name in FINGERPRINT.quantities if name in written.layout.cells}
    changed = {place: value for place, value in after.items() if before[place] != value and place not in own}
    assert changed
    assert all(re.search("OUT OF DATE|make the results again", str(value)) for value in changed.values())


def test_a_note_changes_nothing(written: WrittenResults) -> None:
    cell = written.layout.blocks[READINGS.name].local("note", 1).replace("$", "")
    assert not any(said(written.path, cell, "looked at again").values())


def test_more_propellers_than_have_room_leave_no_answer_standing(written: WrittenResults) -> None:
    """One more is live; with two the ESC is not named, since the one without a row may draw more than all others."""
    place = written.layout.blocks[READINGS.name].local
    typed: dict[str, float | str] = {
        "prop": "7x{}",
        "diameter": 7.0,
        "pitch": 4.0,
        "cells": 4.0,
        "voltage": 15.0,
        "current": 68.0,
        "thrust": 2900.0,
    }
    edits = [
        ("Readings", place(name, at).replace("$", ""), value.format(at) if isinstance(value, str) else value)
        for at in (3, 4)
        for name, value in (typed | {"kind": "peak"}).items()
    ]
    one, two = (IronSheet(written.path).edit(edits[: len(edits) * rows // 2]) for rows in (1, 2))
    texts = [{str(value) for (sheet, _), value in found.items() if sheet == "Report"} for found in (one, two)]
    assert {"100 A or larger", "2900.0"} <= texts[0]
    assert not any("or larger" in text for text in texts[1])
    assert any("1 of the propellers and cell counts typed since have no room" in text for text in texts[1])
    assert any("typed since: make the results again" in text for text in texts[1])
