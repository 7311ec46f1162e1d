"""Checks in another program after an edit: a comparison whose reading was corrected loses its mark, the list stays sorted.

What must stand there follows from what was typed; nothing is taken from the engine's own formulas.
"""

from pathlib import Path
from typing import Any

import pytest

from tests.instruments.grid import cell_name
from tests.instruments.recalculate import IronSheet, Place, Value, differences
from tests.judged.full_bench import LEFT_OUT, shown
from tests.study.test_block_checks import AGAIN_2S, made_test, with_mistake
from tests.workbook.engine_values import WrittenResults, write
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.workbook.sheets.checks_sheet import CHANGED

SLIPPED, RIGHT = LEFT_OUT[1], 700.0
"""The row of a thrust of 7000 g, typed ten times too large."""
TOP = 6
"""The first row of readings on its sheet."""


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> WrittenResults:
    return write(shown().test, tmp_path_factory.mktemp("checks") / "results.xlsx")


def texts(values: dict[Place, Value], column: str) -> dict[int, Value]:
    """Return what stands in a column of Checks, by row."""
    return {
        int(cell[len(column) :]): value
        for (sheet, cell), value in values.items()
        if sheet == "Checks" and cell.rstrip("0123456789") == column
    }


def line_of(written: WrittenResults) -> int:
    """Return the row of Checks that tells of the slip: the comparisons begin three rows below their title."""
    flags = sorted(written.assessment.flags, key=lambda flag: (-flag.severity, flag.row))
    (place,) = [place for place, flag in enumerate(flags) if flag.row == SLIPPED + 1]
    return 8 + place


def edited(written: WrittenResults, *edits: tuple[str, Any]) -> dict[Place, Value]:
    return IronSheet(written.path).edit([("Readings", cell, value) for cell, value in edits])


def test_a_correction_takes_the_mark_away_on_every_sheet(written: WrittenResults) -> None:
    line, row = line_of(written), TOP + SLIPPED
    flag = cell_name(row, written.layout.blocks[READINGS.name].column("flag_text") + 1)
    before, after = edited(written, (f"P{row}", "seen again")), edited(written, (f"K{row}", RIGHT))
    assert (before["Checks", f"A{line}"], before["Checks", f"B{line}"]) == ("impossible", f"Readings K{row}")
    assert str(before["Readings", flag]).startswith("▲ Decimal slip in thrust")
    assert (after["Checks", f"A{line}"], after["Checks", f"B{line}"]) == (CHANGED, None)
    assert after["Readings", flag] is None
    assert "1 impossible" in str(before["Checks", "A3"])
    assert "impossible" not in str(after["Checks", "A3"])
    things = [int(str(values["Checks", "A1"]).split()[1]) for values in (before, after)]
    assert things[0] - things[1] == 1


def test_the_comparisons_of_the_others_stay(written: WrittenResults) -> None:
    """Another reading is corrected in its note alone; then no comparison is gone."""
    found = edited(written, (f"P{TOP}", "seen again"))
    assert CHANGED not in texts(found, "A").values()


def test_what_the_edit_makes_is_what_the_engine_gives(written: WrittenResults) -> None:
    test = shown().test
    test.tables[READINGS.name]["thrust"][SLIPPED] = RIGHT
    assert differences(written.values(test), edited(written, (f"K{TOP + SLIPPED}", RIGHT))) == []


def test_live_lines_stand_by_severity(written: WrittenResults) -> None:
    """16.8 V typed on three cells (5.6 V a cell) cannot be, and its line comes before those of rows above it."""
    row = TOP + 9
    found = edited(written, (f"I{row}", 16.8))
    title = max(line for line, said in texts(found, "A").items() if said == "impossible")
    assert found["Checks", f"B{title}"] == f"Readings I{row}"
    block = written.layout.blocks["RaisedChecks"]
    listed = [found["Checks", f"A{line}"] for line in range(block.top + 2, block.bottom + 2)]
    order = {"impossible": 0, "doubtful": 1, "note": 2, None: 3}
    assert [order[said] for said in listed] == sorted(order[said] for said in listed)  # type: ignore[index]
    assert listed[0] == "impossible"


def test_a_check_of_the_whole_comes_and_goes_with_the_label(written: WrittenResults) -> None:
    """The labelled Kv is 1700 rpm/V and near the measured one; 5000 is near no motor's that turns 1660."""
    kv = written.layout.cells["label_kv"]
    cell = (kv[0], cell_name(kv[1] + 1, kv[2] + 1), 5000)
    before, after = edited(written, (f"P{TOP}", "seen again")), IronSheet(written.path).edit([cell])
    title = "Kv is not what the label says"
    assert title not in texts(before, "F").values()
    assert title in texts(after, "F").values()
    ok = [
        [said for said in texts(found, "A").values() if str(said).startswith("Looked at, and nothing found")]
        for found in (before, after)
    ]
    assert title in str(ok[0])
    assert title not in str(ok[1])


def test_a_block_is_one_line_until_its_last_reading_is_corrected(tmp_path: Path) -> None:
    """Three cells typed for two in the second round: rows 9 to 12 of Readings, sheet rows 14 to 17."""
    rows = with_mistake(AGAIN_2S, lambda row: {"cells": 3.0})
    written = write(made_test(rows), tmp_path / "results.xlsx")

    def line(*corrected: int) -> list[Value | None]:
        found = edited(written, *((f"F{row}", 2) for row in corrected), (f"P{TOP}", "seen again"))
        return [found.get(("Checks", cell)) for cell in ("A8", "B8", "A9")]

    assert line() == ["impossible", "Readings F14", None]
    assert line(14) == ["impossible", "Readings F17", None]
    assert line(14, 15, 16, 17) == [CHANGED, None, None]
