"""Workbooks of an earlier template version."""

from pathlib import Path
from typing import Any

import pytest

from tests.workbook.reader_workbooks import DEMO, assert_same, edited
from xlsengine.bench.declaring.declare import Form
from xlsengine.errors import Reason
from xlsengine.workbook.layout import SCHEMA_PROPERTY, SHEETS, table_name
from xlsengine.workbook.reading import versions
from xlsengine.workbook.reading.findings import key
from xlsengine.workbook.reading.reader import read_workbook

INVENTED = {
    "Readings": {"pull of the propeller": "Thrust (g)"},
    "MotorForm": {"printed on the motor": "Labelled Kv"},
}


def _of_version(folder: Path, version: str) -> Path:
    def older(workbook: Any) -> None:
        workbook["Motor"]["A16"] = "Printed on the motor *"
        workbook["Readings"]["K5"] = "Pull of the propeller"
        workbook.custom_doc_props[SCHEMA_PROPERTY].value = version

    return edited(folder, older)


def test_an_earlier_version_is_read_and_what_changed_is_listed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(versions, "RENAMED", INVENTED)
    reading = read_workbook(_of_version(tmp_path, "2"))
    assert reading.faults == ()
    assert_same(reading.test, DEMO)
    assert reading.told == (
        "the workbook is of template version 2; it was read as version 3",
        'Readings!K5: "Pull of the propeller" is now "Thrust (g)"',
        'Motor!A16: "Printed on the motor *" is now "Labelled Kv"',
    )


@pytest.mark.parametrize("version", ["4", "0", "x", "-1", "9" * 30, "²"])
def test_a_version_that_no_one_knows_is_a_fault(version: str, tmp_path: Path) -> None:
    faults = read_workbook(_of_version(tmp_path, version)).faults
    assert faults[0].reason is Reason.OTHER_VERSION
    assert faults[0].found == f'"{version}"'


def test_what_the_second_version_called_otherwise_is_read_alike(tmp_path: Path) -> None:
    labels = {table: names for table, names in versions.RENAMED.items() if table.endswith("Form")}
    older = {now: before for names in labels.values() for before, now in names.items()}

    def second(workbook: Any) -> None:
        workbook.custom_doc_props[SCHEMA_PROPERTY].value = "2"
        for sheet in ("Motor", "Bench", "Craft", "Settings"):
            for (cell,) in workbook[sheet].iter_rows(max_col=1):
                label = str(cell.value).removesuffix(" *")
                cell.value = older.pop(label, cell.value)

    reading = read_workbook(edited(tmp_path, second))
    assert older == {}
    assert reading.faults == ()
    assert_same(reading.test, DEMO)
    assert 'Motor!A9: "sample was" is now "How the sample was obtained"' in reading.told
    assert "14 more labels and headers read otherwise now" in reading.told


def test_nothing_of_now_goes_by_a_name_of_before() -> None:
    for parts in SHEETS.values():
        for part in parts:
            named = part.fields.values() if isinstance(part, Form) else part.columns.values()
            now = {key(one.label if isinstance(part, Form) else one.header) for one in named}
            assert not now & set(versions.RENAMED.get(table_name(part), ()))


@pytest.mark.parametrize("text", versions.GONE_TEXTS)
def test_heads_of_earlier_results_are_no_remarks_of_their_sender(tmp_path: Path, text: str) -> None:
    def headed(workbook: Any) -> None:
        workbook["Craft"]["L19"] = text

    assert read_workbook(edited(tmp_path, headed)).told == read_workbook(edited(tmp_path, lambda workbook: None)).told
