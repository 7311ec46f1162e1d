"""Every reason for which a workbook is sent back has its example in the reference, in the words that a person meets."""

import json
import re
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tests.command_line import run
from tests.workbook.made_tests import on_purpose
from tests.workbook.reader_workbooks import (
    READINGS_TABLE,
    demo_workbook,
    edited,
    reading_cells,
    replaced,
    with_cell,
    with_parts,
)
from xlsengine.errors import Reason
from xlsengine.workbook.reading.reader import read_workbook
from xlsengine.workbook.template import write_input_workbook

ROOT = Path(__file__).parent.parent
REFERENCE = (ROOT / "xlsengine" / "guide" / "reference.md").read_text(encoding="utf-8")
DEMO = ROOT / "demo_inputs" / "thimble-2207.xlsx"
SCHEMA = json.loads(files("xlsengine").joinpath("check_report.schema.json").read_text(encoding="utf-8"))
Made = Callable[[Path], Path]


def with_edits(edits: Any) -> Made:
    return lambda folder: edited(folder, edits)


def with_header(old: str, new: str) -> Made:
    """Return a maker of a workbook whose table Readings has another header."""

    def change(parts: dict[str, bytes]) -> None:
        for name in ("xl/sharedStrings.xml", READINGS_TABLE):
            parts[name] = parts[name].replace(old.encode(), new.encode())

    return lambda folder: with_parts(demo_workbook(folder), change)


def without_sheet(book: Any) -> None:
    del book["Readings"]


def without_readings(book: Any) -> None:
    for row in book["Readings"].iter_rows(min_row=6, max_row=200, max_col=16):
        for cell in row:
            cell.value = None


FAULTY: dict[Reason, Made] = {
    Reason.MISSING_SHEET: with_edits(without_sheet),
    Reason.MISSING_TABLE: lambda folder: with_parts(
        demo_workbook(folder), replaced(READINGS_TABLE, 'displayName="Readings"', 'displayName="Runs"')
    ),
    Reason.MISSING_HEADER: with_header("Thrust (g)", "Measured"),
    Reason.DOUBLED_HEADER: with_header("Torque (N·m)", "Thrust (g)"),
    Reason.MISSING_FIELD: with_edits({"Motor": {"A16": "Lablled K v"}}),
    Reason.DOUBLED_FIELD: with_edits({"Motor": {"A17": "Labelled Kv"}}),
    Reason.REQUIRED_BLANK: with_edits(reading_cells(J9=None)),
    Reason.WRONG_TYPE: with_edits(reading_cells(J14="38..2")),
    Reason.OUT_OF_LIMITS: with_edits(reading_cells(I8=1480)),
    Reason.NOT_A_CHOICE: with_edits(reading_cells(H9="peek")),
    Reason.ERROR_VALUE: with_edits(reading_cells(K9="#REF!")),
    Reason.NO_STORED_VALUE: lambda folder: with_cell(demo_workbook(folder), "K9", "><f>J9*2</f>"),
    Reason.NO_READINGS: with_edits(without_readings),
    Reason.OTHER_VERSION: lambda folder: with_parts(
        demo_workbook(folder), replaced("docProps/custom.xml", "<vt:lpwstr>3<", "<vt:lpwstr>9<")
    ),
    Reason.STRAY_CELLS: with_edits(reading_cells(B110="5x4", I110=12.0, J110=20.0, K110=300.0)),
    Reason.CONTRADICTION: with_edits(reading_cells(B8="5x4.3x3", E8=2)),
}


def told_in_the_reference() -> dict[str, str]:
    """Return the reference's examples by reason."""
    section = REFERENCE.partition("## What a fault says")[2].partition("\n#")[0]
    return dict(re.findall(r"^\| ([^|`]+) \| `(.+)` \|$", section, re.MULTILINE))


def test_the_reference_has_an_example_of_every_reason() -> None:
    assert list(told_in_the_reference()) == [str(reason) for reason in Reason]
    assert list(FAULTY) == list(Reason)


@pytest.mark.parametrize("reason", Reason)
def test_the_example_is_what_a_person_meets(reason: Reason, tmp_path: Path) -> None:
    faults = [fault for fault in read_workbook(FAULTY[reason](tmp_path)).faults if fault.reason is reason]
    assert told_in_the_reference()[str(reason)] in [str(fault) for fault in faults]


def test_the_reference_s_flag_is_what_check_prints(capsys: pytest.CaptureFixture[str]) -> None:
    run("check", DEMO)
    example = re.search(r"A flag then reads `([^`]+)`", REFERENCE)
    assert example is not None
    assert " ".join(example[1].split()) in [line.strip() for line in capsys.readouterr().out.splitlines()]


def checked(capsys: pytest.CaptureFixture[str], *paths: Path) -> dict[str, Any]:
    run("check", "--json", *paths)
    report: dict[str, Any] = json.loads(capsys.readouterr().out)
    return report


def test_the_report_of_check_is_as_its_schema_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sound = write_input_workbook(on_purpose({}, {"current": 300.0}), tmp_path / "sound.xlsx")
    faulty = FAULTY[Reason.WRONG_TYPE](tmp_path)
    report = checked(capsys, sound, faulty, tmp_path / "none.xlsx")
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    jsonschema.Draft202012Validator(SCHEMA).validate(report)
    assert [file["exit_code"] for file in report["files"]] == [0, 1, 2]
    assert report["files"][0]["flags"]
    assert report["files"][1]["faults"]
    assert report["files"][2]["error"]


def test_the_schema_lists_every_reason_and_allows_nothing_else(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    reasons = SCHEMA["$defs"]["fault"]["properties"]["reason"]["enum"]
    assert reasons == [str(reason) for reason in Reason]
    report = checked(capsys, FAULTY[Reason.WRONG_TYPE](tmp_path))
    report["files"][0]["surprise"] = 1
    with pytest.raises(jsonschema.ValidationError, match="surprise"):
        jsonschema.Draft202012Validator(SCHEMA).validate(report)
