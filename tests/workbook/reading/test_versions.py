"""Workbooks of an earlier template version; version 0 is invented."""

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
    {
        "Readings": {"Pull of the propeller": "Thrust (g)"},
        "MotorForm": {"Printed on the motor": "Labelled Kv"},
        "SettingsForm": {"Nothing like it": "Kv label tolerance"},
    }
)


def _of_version(folder: Path, version: str) -> Path:
    def older(workbook: Any) -> None:
        workbook["Motor"]["A16"] = "Printed on the motor *"
        workbook["Readings"]["K5"] = "Pull of the propeller"
        workbook.custom_doc_props[SCHEMA_PROPERTY].value = version

    return edited(folder, older)


def test_an_earlier_version_is_read_and_what_changed_is_listed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(versions.CHANGES, 0, INVENTED)
    reading = read_workbook(_of_version(tmp_path, "0"))
    assert reading.faults == ()
    assert_same(reading.test, DEMO)
    assert reading.told == (
        "the workbook is of template version 0; it was read as version 3",
        'Motor!A16: "Printed on the motor *" is now "Labelled Kv"',
        'Readings!K5: "Pull of the propeller" is now "Thrust (g)"',
    )


@pytest.mark.parametrize("version", ["4", "0", "x", "-1", "9" * 30, "²"])
def test_a_version_that_no_one_knows_is_a_fault(version: str, tmp_path: Path) -> None:
    faults = read_workbook(_of_version(tmp_path, version)).faults
    assert faults[0].reason is Reason.OTHER_VERSION
    assert faults[0].found == f'"{version}"'


def _first_version(tmp_path: Path, **values: Any) -> Path:
    """Return the demo as version 1 would have it, with values typed into cells by their address on Readings or Settings."""

    def older(workbook: Any) -> None:
        workbook.custom_doc_props[SCHEMA_PROPERTY].value = "1"
        labels = {str(row[0].value).removesuffix(" *"): row[1] for row in workbook["Settings"].iter_rows(max_col=2)}
        for row in range(6, 9):
            workbook["Readings"][f"O{row}"] = "yes"
        workbook["Readings"]["O9"] = "no"
        for label, value in values.items():
            labels[label.replace("_", " ")].value = value

    return edited(tmp_path, older)


def test_what_was_only_a_default_in_the_first_version_follows_the_present_one(tmp_path: Path) -> None:
    pitch, thrust = "Pitch_over_diameter_without_reduction_from", "Thrust_for_the_efficiency_headline"
    reading = read_workbook(_first_version(tmp_path, **{pitch: 0.8, thrust: 500}))
    assert reading.faults == ()
    assert reading.test.tables["Readings"]["use"][:4].tolist() == [None, None, None, "no"]
    assert reading.test.fields["pitch_ratio_limit"] == 1.0
    assert reading.test.fields["headline_thrust"] is None
    assert (
        'Readings!O6 and 2 more Use: "yes" is now blank: blank then meant the same; now “yes” overrules the checks'
        in (reading.told)
    )


def test_what_somebody_set_in_the_first_version_stays(tmp_path: Path) -> None:
    pitch, thrust = "Pitch_over_diameter_without_reduction_from", "Thrust_for_the_efficiency_headline"
    fields = read_workbook(_first_version(tmp_path, **{pitch: 0.9, thrust: 400})).test.fields
    assert (fields["pitch_ratio_limit"], fields["headline_thrust"]) == (0.9, 400.0)


def test_what_the_second_version_called_otherwise_is_read_alike(tmp_path: Path) -> None:
    older = {
        new: old
        for table, names in versions.CHANGES[2].names.items()
        for old, new in names.items()
        if table.endswith("Form")
    }

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
    assert 'Motor!A9: "Sample was" is now "How the sample was obtained"' in reading.told
    assert "13 more labels and headers read otherwise now" in reading.told


def test_every_version_before_this_one_is_known() -> None:
    assert set(versions.CHANGES) == set(range(1, int(SCHEMA_VERSION)))
