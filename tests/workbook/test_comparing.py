"""What was changed in a workbook that came back is told: by `changes`, by `results`, and on the sheet Changes."""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.command_line import run_and_hear as run
from tests.instruments.editing import Edit, edited_copy
from tests.instruments.linter import lint
from tests.instruments.office_edit import Work, do_in_libreoffice
from tests.instruments.parts import read_sheets
from tests.instruments.recalculate import differences, iron_values, requires_libreoffice, stored_values
from tests.workbook.carried_tests import HEADERS, TEST, THIMBLE, columns_of, pictures_of, places_of
from tests.workbook.engine_values import ResultsOf, WrittenResults
from tests.workbook.made_tests import ALL, DEMOS, MADE, on_purpose
from xlsengine.bench.inputs.bench_test import BenchTest, input_hash
from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.bench.judging.judgements import SEVERITY
from xlsengine.study.assessment import assess
from xlsengine.study.changes import Kind, changes
from xlsengine.workbook.comparing import INSERTED, ChangeReport, compare_workbooks, derived_lines, returned_changes
from xlsengine.workbook.derived_cells import DerivedCell, How
from xlsengine.workbook.reading.reader import read_workbook
from xlsengine.workbook.results import write_results
from xlsengine.workbook.template import write_input_workbook

READINGS_TOP = 6
EDITS: tuple[Edit, ...] = (("Readings", "J8", 15.5), ("Readings", "P9", "measured twice"), ("Motor", "B8", None))
PICTURED = ("Battery", "pack 1", "pack 2, charged again")


@pytest.fixture
def written(results_of: ResultsOf) -> WrittenResults:
    """Return the results of the test, with columns of the sender's own."""
    return results_of("carried")


@pytest.fixture(scope="module")
def files(results_of: ResultsOf, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder, written = tmp_path_factory.mktemp("compared"), results_of("carried")
    inputs = write_input_workbook(TEST, folder / "motor.xlsx")
    edited = edited_copy(written.path, folder / "edited results.xlsx", EDITS)
    return {"input": inputs, "results": written.path, "edited": edited}


def test_an_id_that_only_the_file_gives_is_no_change(tmp_path: Path) -> None:
    """Two files of a test without an id differ in nothing; one that is typed is told from blank, not from a file's name."""
    unnamed = replace(TEST, fields={**TEST.fields, "test_id": None})
    before, copied = (write_input_workbook(unnamed, tmp_path / f"{name}.xlsx") for name in ("one", "other"))
    assert compare_workbooks(before, copied).is_empty
    typed = compare_workbooks(before, write_input_workbook(TEST, tmp_path / "typed.xlsx"))
    assert [(change.name, change.before, change.after) for change in typed.found.typed] == [
        ("test_id", None, TEST.fields["test_id"])
    ]


def test_nor_is_it_in_results_that_come_back(tmp_path: Path) -> None:
    unnamed = replace(TEST, fields={**TEST.fields, "test_id": None})
    results = write_results(assess(unnamed), tmp_path / "some results.xlsx")
    reading = read_workbook(results)
    changed = returned_changes(results, reading, assess(reading.test))
    assert changed is not None
    assert changed.found.typed == ()


def summed_up(report: dict[str, Any]) -> list[tuple[Any, ...]]:
    return [(change["place"], change["label"], change["before"], change["after"]) for change in report["changes"]]


@pytest.mark.parametrize("before", ["input", "results"])
def test_changes_lists_every_cell(files: dict[str, Path], capsys: pytest.CaptureFixture[str], before: str) -> None:
    code, said = run(capsys, "changes", files[before], files["edited"], "--json")
    report = json.loads(said)
    assert code == report["exit_code"] == 0
    fields = {name: TEST.tables["Readings"][name] for name in ("current", "note")}
    assert summed_up(report) == [
        ("Motor!B8", FIELDS["tester"].label, TEST.fields["tester"], None),
        ("Readings!J8", "Current (A)", fields["current"][2], 15.5),
        ("Readings!P9", "Note", fields["note"][3], "measured twice"),
    ]
    changed = {effect["label"]: effect["changed"] for effect in report["effects"]}
    assert changed["Highest static thrust"] is False
    assert any(changed.values())


def test_changes_in_words(files: dict[str, Path], capsys: pytest.CaptureFixture[str]) -> None:
    code, said = run(capsys, "changes", files["results"], files["edited"])
    assert code == 0
    assert "Readings!J8 Current (A): 23.2 → 15.5" in said
    assert f"Motor!B8 {FIELDS['tester'].label}: {TEST.fields['tester']} → blank" in said
    code, said = run(capsys, "changes", files["results"], files["results"])
    assert code == 0
    assert said.splitlines()[0] == "nothing that is typed was changed"


def test_changes_of_what_cannot_be_read(
    files: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(capsys, "changes", files["input"], tmp_path / "none.xlsx")[0] == 2
    broken = edited_copy(files["input"], tmp_path / "broken.xlsx", [("Readings", "J8", "much")])
    code, said = run(capsys, "changes", files["input"], broken)
    assert code == 1
    assert "Readings!J8" in said


def test_stored_values_of_before_the_edit_are_told(files: dict[str, Path]) -> None:
    """The cells were edited in the file, and nothing computed them again: stored values are those of before."""
    found = compare_workbooks(files["results"], files["edited"]).derived
    (power,) = [cell for cell in found if cell.label == "Power (W)" and cell.place.startswith("Readings!")]
    volts = float(TEST.tables["Readings"]["voltage"][2])
    assert re.fullmatch(r"Readings![A-Z]+8", power.place)
    assert power.how is How.STALE
    assert {cell.how for cell in found} == {How.STALE}
    assert power.stored == pytest.approx(volts * TEST.tables["Readings"]["current"][2])
    assert power.recomputed == pytest.approx(volts * 15.5)


def test_results_of_an_edited_workbook_carry_the_sheet_changes(
    files: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "again.xlsx"
    code, said = run(capsys, "results", files["edited"], "-o", target)
    assert code == 0
    assert "since it was written: Readings!J8 Current (A): 23.2 → 15.5" in said
    cells = texts_of(target, "Changes")
    assert {"Readings J8", "Current (A)", "23.2", "15.5", "measured twice", "blank"} <= cells
    assert [str(finding) for finding in lint(target)] == []
    assert differences(stored_values(target), iron_values(target)) == []


def texts_of(path: Path, sheet: str) -> set[str]:
    book = read_sheets(path, [sheet])
    return {str(book.words(cell)) for cell in book.sheets[sheet.lower()].cells}


def test_without_changes_there_is_no_sheet_changes(files: dict[str, Path], tmp_path: Path) -> None:
    reading = read_workbook(files["results"])
    report = returned_changes(files["results"], reading, assess(reading.test))
    assert report is not None
    assert report.is_empty
    again = write_results(assess(reading.test), tmp_path / "again.xlsx", changed=report)
    assert again.read_bytes() == files["results"].read_bytes()
    reading = read_workbook(files["input"])
    assert returned_changes(files["input"], reading, assess(reading.test)) is None


@pytest.mark.parametrize("name", [*list(DEMOS)[::2], "one reading", "nothing used", "names like formulas", *MADE])
def test_what_the_engine_stored_is_what_it_recomputes(results_of: ResultsOf, name: str) -> None:
    """No derived cell of a workbook as written is doubted; some made at random are no sound inputs, or have no id.

    One without an id goes by its file's name, once it is read.
    """
    path = results_of(name).path
    reading = read_workbook(path)
    if reading.faults or ALL[name]().fields["test_id"] is None:
        assert name in MADE
        return
    report = returned_changes(path, reading, assess(reading.test))
    assert report is not None
    assert [str(cell) for cell in report.derived][:5] == []
    assert report.found.typed == ()


@pytest.mark.parametrize(
    ("edit", "how", "place"),
    [
        (("Readings", "V8", 99.0), How.TYPED_OVER, "Readings!V8"),
        (("Readings", "V8", "about 600"), How.TYPED_OVER, "Readings!V8"),
        (("Readings", "V8", None), How.NO_FORMULA, "Readings!V8"),
        (("Summary", "F6", 1.0), How.TYPED_OVER, "Summary!F6"),
    ],
)
def test_derived_cells_that_were_typed_over_are_told(
    files: dict[str, Path], tmp_path: Path, edit: Edit, how: How, place: str
) -> None:
    path = edited_copy(files["results"], tmp_path / "over.xlsx", [edit])
    (found,) = compare_workbooks(files["results"], path).derived
    assert (found.how, found.place) == (how, place)


def test_the_cause_goes_before_what_was_typed_and_what_follows(files: dict[str, Path]) -> None:
    cells = (
        doubtful("Summary!N17", How.DIFFERS, 310.0, 319.0, 0),
        doubtful("Readings!R10", How.TYPED_OVER, 300.0, 318.1, 1),
    )
    found = compare_workbooks(files["results"], files["results"])
    lines = list(replace(found, derived=cells).lines())
    assert lines[:3] == [
        "Readings!R10 Power (W): typed over: holds 300.0, recomputed 318.1; not read, and written again",
        "nothing that is typed was changed",
        "and 1 derived cell follows from what was typed over (Summary!N17 Power (W): holds 310, recomputed 319); "
        "written again",
    ]


def test_a_text_read_as_a_number_is_one_line_and_what_follows_from_it_another(
    written: WrittenResults, tmp_path: Path
) -> None:
    """To formulas "900 g" is no number: what follows from it is neither out of date nor a fault of the program."""
    sheet, mass = written.place("all_up_mass")
    typed = edited_copy(written.path, tmp_path / "typed.xlsx", [(sheet, mass, "900 g")])
    found = compare_workbooks(written.path, typed)
    lines = list(found.lines())
    assert sum("All-up mass: " in line and "→" in line for line in lines) == 1
    said = [line for line in lines if "derived" in line or "holds" in line]
    assert len(said) == 1
    assert said[0].endswith(f' (Craft!{mass} All-up mass: "900 g" read as 900 g); written again')
    assert said[0].split(" follow")[0].split()[1:] in (["derived", "cells"], ["derived", "cell"])
    assert len(found.derived) == int(said[0].split()[0])


@pytest.mark.parametrize(
    ("name", "typed"), [("written_flags", "looked at, is right"), ("written_flags", None), ("written_code", 2.0)]
)
def test_cells_that_no_formula_holds_are_told_when_typed_over(
    written: WrittenResults, tmp_path: Path, name: str, typed: Any
) -> None:
    flagged = int(np.flatnonzero(written.assessment.scope.column("Readings", "written_code") > 2 * SEVERITY)[0])
    place = written.layout.blocks["Readings"].local(name, flagged).replace("$", "")
    path = edited_copy(written.path, tmp_path / "over.xlsx", [("Readings", place, typed)])
    found = compare_workbooks(written.path, path).derived
    (told,) = [cell for cell in found if cell.how is not How.STALE]
    assert (told.how, told.place, told.stored) == (How.TYPED_OVER, f"Readings!{place}", typed)


def test_a_figure_that_no_formula_holds_is_told_when_typed_over(written: WrittenResults, tmp_path: Path) -> None:
    sheet, place = written.place("then_run")
    path = edited_copy(written.path, tmp_path / "over.xlsx", [(sheet, place, 7.0)])
    lines = list(compare_workbooks(written.path, path).lines())
    assert [line for line in lines if "typed over: holds 7" in line], lines


@pytest.mark.parametrize("whole", [True, False])
def test_rows_that_changed_places_are_told_as_moved_and_as_nothing_else(
    results_of: ResultsOf, tmp_path: Path, whole: bool
) -> None:
    """Somebody sorted the table, or what is typed alone: cells that were written once went along or stayed as they were."""
    plain = results_of(THIMBLE)
    block, edits = plain.layout.blocks["Readings"], []
    moved = {*block.columns} - {*READINGS.quantities} if whole else {*READINGS.fields}
    for name in moved:
        values = plain.assessment.scope.column("Readings", name)
        for row, other in ((5, 27), (27, 5)):
            value = values[other] if isinstance(values[other], str) else _number(values[other])
            edits.append(("Readings", block.local(name, row).replace("$", ""), value))
    report = compare_workbooks(plain.path, edited_copy(plain.path, tmp_path / "sorted.xlsx", edits))
    assert {change.kind for change in report.found.typed} == {Kind.MOVED}
    assert {cell.how for cell in report.derived} <= {How.STALE, How.DIFFERS}


def _number(value: Any) -> float | None:
    return None if value is None or value != value else float(value)


def doubtful(place: str, how: How, stored: Any, recomputed: Any, shown: int = 2) -> DerivedCell:
    return DerivedCell(place, "Power (W)", how, stored, recomputed, shown)


@pytest.mark.parametrize(
    ("cells", "lines"),
    [
        ([], []),
        (
            [doubtful("Summary!B2", How.STALE, "a", "b"), doubtful("Readings!V8", How.STALE, 585.04999, 382.5012, 1)],
            [
                "2 derived cells hold values from before the edit: the program that saved it did not recalculate "
                "(Readings!V8 Power (W): holds 585.0, recomputed 382.5); written again"
            ],
        ),
        (
            [doubtful("Readings!V8", How.TYPED_OVER, 1.0, 2.0), doubtful("Readings!V9", How.TYPED_OVER, "x", None)],
            [
                "Readings!V8 Power (W): typed over: holds 1.00, recomputed 2.00; not read, and written again",
                'Readings!V9 Power (W): typed over: holds "x", recomputed nothing; not read, and written again',
            ],
        ),
        (
            [doubtful(f"Readings!V{row}", How.DIFFERS, 1.001, 1.002) for row in (8, 9)],
            [
                "Readings!V8 and 1 more Power (W): not what its formula gives: holds 1.001, recomputed 1.002; not read, "
                "and written again"
            ],
        ),
        (
            [doubtful("Readings!V8", How.STALE, None, 2.0)],
            [
                "1 derived cell holds values from before the edit: the program that saved it did not recalculate "
                "(Readings!V8 Power (W): holds nothing, recomputed 2.00); written again"
            ],
        ),
    ],
    ids=["none", "not recalculated", "typed over", "other values", "no values"],
)
def test_doubtful_cells_in_words(cells: list[DerivedCell], lines: list[str]) -> None:
    assert list(derived_lines(cells)) == lines


OWN: Edit = ("Readings", f"Q{READINGS_TOP + 1}", PICTURED[2])


@pytest.fixture(scope="module")
def direct(files: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> tuple[BenchTest, Path]:
    """Return the edited readings as they are read from the input workbook, and their results."""
    folder = tmp_path_factory.mktemp("direct")
    test = read_workbook(edited_copy(files["input"], folder / "edited.xlsx", [*EDITS, OWN])).test
    return test, write_results(assess(test), folder / "results.xlsx")


@pytest.fixture(scope="module")
def returned(files: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> dict[int, Path]:
    """Return what LibreOffice saves after the edits, by how many rows were inserted before, both done in one run."""
    folder, typed = tmp_path_factory.mktemp("returned"), [("type", *edit) for edit in (*EDITS, OWN)]
    paths = {count: folder / f"{count}.xlsx" for count in (0, 1)}
    inserted = [("insert", "Readings", 10, 1)]
    source = str(files["results"])
    do_in_libreoffice([Work(source, str(path), [*inserted * count, *typed]) for count, path in paths.items()])
    return paths


@requires_libreoffice
@pytest.mark.parametrize("inserted", [0, 1], ids=["cells", "cells and a row"])
def test_round_trip_through_libreoffice_equals_a_direct_run(
    tmp_path: Path, returned: dict[int, Path], direct: tuple[BenchTest, Path], inserted: int
) -> None:
    """Template, filled, results, edited in LibreOffice by a macro and saved there, results again.

    The figures are those of the edited readings computed directly, own columns, notes and pictures included; what
    LibreOffice computed meanwhile is what the engine computes.
    """
    saved = returned[inserted]
    reading = read_workbook(saved)
    assert reading.faults == ()
    report = returned_changes(saved, reading, assess(reading.test))
    assert report is not None
    assert [(c.label, c.after) for c in report.found.typed] == [
        (FIELDS["tester"].label, None),
        (PICTURED[0], PICTURED[2]),
        ("Current (A)", 15.5),
        ("Note", "measured twice"),
    ]
    assert [str(cell) for cell in report.derived][:5] == []
    assert report.told == ((INSERTED,) if inserted else ())
    expected, other = direct
    assert input_hash(reading.test) == input_hash(expected)
    assert columns_of(reading.test.extras) == columns_of(expected.extras)
    assert tuple(columns_of(reading.test.extras)["Readings"]) == HEADERS
    assert places_of(reading.test.extras) == places_of(expected.extras)
    assert pictures_of(reading.test.extras) == pictures_of(expected.extras)
    one = write_results(assess(reading.test), tmp_path / "one.xlsx")
    assert differences(stored_values(one), stored_values(other)) == []


def test_rows_removed_added_and_fields_without_a_cell_have_a_place_in_words(tmp_path: Path) -> None:
    """An older workbook may lack a field, or a table; rows that are gone are pointed at where they were."""
    before = write_input_workbook(on_purpose({}, {"prop": "other", "thrust": 700.0}), tmp_path / "before.xlsx")
    after = write_input_workbook(on_purpose({}), tmp_path / "after.xlsx")
    assert compare_workbooks(before, after).places == ("Readings!A7 (before)",)
    assert compare_workbooks(after, before).places == ("Readings!A7",)


@pytest.mark.parametrize(
    "names", [(THIMBLE, "one reading"), ("names like formulas", THIMBLE), ("hover", "nothing used")]
)
def test_any_two_sound_tests_can_be_compared_and_shown(
    results_of: ResultsOf, tmp_path: Path, names: tuple[str, str]
) -> None:
    """Whatever differs, the sheet Changes of the new results can be written and breaks no rule."""
    one, other = map(results_of, names)
    reading = read_workbook(other.path)
    found = changes(one.assessment, assess(reading.test))
    report = ChangeReport(found, tuple("" for _ in found.typed))
    target = write_results(assess(reading.test), tmp_path / "a.xlsx", changed=report)
    assert [str(finding) for finding in lint(target)] == []
    assert len(report.as_dict()["changes"]) == len(found.typed)
    json.dumps(report.as_dict())
