"""Workbooks of an earlier template version; version 0 is invented, since 1 is the first."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.workbook.reader_workbooks import DEMO, assert_same, edited
from xlsengine.errors import Reason
from xlsengine.workbook.layout import SCHEMA_PROPERTY, SCHEMA_VERSION
from xlsengine.workbook.reading import versions
from xlsengine.workbook.reading.reader import read_workbook
from xlsengine.workbook.reading.versions import Changes

INVENTED = Changes(
    tables={"Runs": "Readings"},
    headers={"Readings": {"Pull of the propeller": "Thrust (g)"}},
    labels={"MotorForm": {"Printed on the motor": "Labelled Kv"}, "SettingsForm": {"Nothing like it": "Kv label tolerance"}},
)  # fmt: skip


def _of_version(folder: Path, version: str) -> Path:
    def older(workbook: Any) -> None:
        workbook["Motor"]["A16"] = "Printed on the motor *"
        workbook["Readings"]["K5"] = "Pull of the propeller"
        table = workbook["Readings"].tables.pop("Readings")
        table.name = table.displayName = "Runs"
        workbook["Readings"].add_table(table)
        workbook.custom_doc_props[SCHEMA_PROPERTY].value = version

    return edited(folder, older)


def test_an_earlier_version_is_read_and_what_changed_is_listed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(versions.CHANGES, 0, INVENTED)
    reading = read_workbook(_of_version(tmp_path, "0"))
    assert reading.faults == ()
    assert_same(reading.test, DEMO)
    assert reading.told == (
        "the workbook is of template version 0; it was read as version 1",
        "Readings: the table Runs is now Readings",
        'Motor!A16: "Printed on the motor *" is now "Labelled Kv"',
        'Readings!K5: "Pull of the propeller" is now "Thrust (g)"',
    )


@pytest.mark.parametrize("version", ["2", "0", "x", "-1", "9" * 30, "²"])
def test_a_version_that_no_one_knows_is_a_fault(version: str, tmp_path: Path) -> None:
    faults = read_workbook(_of_version(tmp_path, version)).faults
    assert faults[0].reason is Reason.OTHER_VERSION
    assert faults[0].found == f'"{version}"'


def test_every_version_before_this_one_is_known() -> None:
    assert set(versions.CHANGES) == set(range(1, int(SCHEMA_VERSION)))
