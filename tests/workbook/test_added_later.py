"""Uses came later: workbooks without them come back, take those of a new workbook, and still know their inputs."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.instruments.recalculate import IronSheet, differences
from tests.judged.worked_benches import MOTOR, READING
from tests.workbook.engine_values import WrittenResults, write
from tests.workbook.reader_workbooks import edited
from xlsengine.bench.inputs.bench_test import BenchTest, bench_test, input_hash
from xlsengine.bench.inputs.uses import USES
from xlsengine.workbook.input_copy import decoded, encoded
from xlsengine.workbook.reading.reader import read_workbook

LATER = "hover_throttle_most"


def judged(**fields: Any) -> BenchTest:
    return bench_test(MOTOR | fields, {"Readings": [READING]})


def without_uses(test: BenchTest) -> BenchTest:
    """Return a test as an earlier program held it."""
    fields = {name: value for name, value in test.fields.items() if name != LATER}
    return BenchTest(fields, {name: table for name, table in test.tables.items() if name != USES.name})


def test_the_hash_is_the_earlier_one_while_they_are_as_new() -> None:
    assert input_hash(judged()) == input_hash(without_uses(judged()))


@pytest.mark.parametrize("change", ["a field", "a table"])
def test_the_hash_follows_what_was_set(change: str) -> None:
    rows = [{**row, "use_mass_high": 999.0} for row in USES.rows]
    other = judged(**{LATER: 60.0}) if change == "a field" else bench_test(MOTOR, {"Readings": [READING], "Uses": rows})
    assert input_hash(other) != input_hash(judged())


def test_the_copy_of_an_earlier_program_is_known_again() -> None:
    whole = json.loads(encoded(judged()))
    del whole["tables"][USES.name], whole["fields"][LATER]
    before = decoded(json.dumps(whole))
    assert input_hash(before) == input_hash(judged())
    assert before.fields[LATER] == 65.0
    assert before.tables[USES.name]["use_name"].tolist() == [row["use_name"] for row in USES.rows]


def test_a_workbook_without_the_table_takes_that_of_a_new_one(tmp_path: Path) -> None:
    def older(workbook: Any) -> None:
        sheet = workbook["Settings"]
        if USES.name in sheet.tables:
            area = sheet.tables.pop(USES.name).ref
            for row in sheet[area]:
                for cell in row:
                    cell.value = None

    reading = read_workbook(edited(tmp_path, older))
    assert reading.faults == ()
    assert "Settings: the table Uses is not in this workbook; what a new workbook holds there is used" in reading.told
    assert len(reading.test.tables[USES.name]["use_name"]) == len(USES.rows)


# --- live ------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> WrittenResults:
    return write(judged(), tmp_path_factory.mktemp("uses") / "results.xlsx")


def uses_with(**change: float | None) -> BenchTest:
    """Return the test with figures of the fast flying wing changed."""
    rows = [dict(row) for row in USES.rows]
    rows[6] |= {name: value for name, value in change.items() if value is not None}
    rows[6] = {name: value for name, value in rows[6].items() if change.get(name, value) is not None}
    return bench_test(MOTOR, {"Readings": [READING], "Uses": rows})


def test_changed_uses_are_followed(written: WrittenResults) -> None:
    """Step by step, every cell comes to what the engine gives: verdicts of size, thrust, speed, watts, and not tested."""
    block, sheet, whole = written.layout.blocks[USES.name], IronSheet(written.path), dict[str, float | None]()
    for change in (
        {"use_cells_high": 6.0, "use_ratio_high": 0.8},
        {"use_mass_high": 1250.0},
        {"use_mass_low": 9000.0},
        {"use_mass_low": 100.0, "use_airspeed_low": 60.0, "use_airspeed_high": 70.0},
        {"use_diameter_low": 7.0},
        {"use_motors": None},
    ):
        whole |= change
        edits = [("Settings", block.local(name, 6).replace("$", ""), value) for name, value in change.items()]
        assert differences(written.values(uses_with(**whole)), sheet.edit(edits)) == [], change
