"""What was understood or left out on reading stands in the results too, and is in nobody's way when they come back."""

from pathlib import Path

import pytest

from tests.command_line import run
from tests.instruments.linter import lint
from tests.instruments.parts import read_book, read_sheets
from tests.instruments.recalculate import differences, stored_values
from tests.workbook.engine_values import ResultsOf
from tests.workbook.reader_workbooks import edited, reading_cells
from tests.workbook.reading.mutations import packed, parts_of
from xlsengine.bench.inputs.bench_test import input_hash
from xlsengine.study.assessment import assess
from xlsengine.workbook.comparing import returned_changes
from xlsengine.workbook.reading.reader import read_workbook
from xlsengine.workbook.results import write_results
from xlsengine.workbook.sheets.checks_sheet import TOLD_TITLE

LINES = (
    'Readings!J6 Current (A): "38,2 A" read as 38.2 A',
    "=1+1",
    "@SUM(A1)",
    "<r>bold</r>",
    "one_x0041_ two\nthree",
    "long " * 400,
)


def checks_texts(path: Path) -> list[str]:
    """Return the texts of the first column of Checks, from the top."""
    book = read_sheets(path, ["Checks"])
    return [str(book.words(cell)) for cell in book.sheets["checks"].cells if cell.column == 1 and book.words(cell)]


def formulas_of(path: Path) -> dict[tuple[str, str], str]:
    book, findings = read_book(path)
    assert book is not None, findings
    return {
        (sheet.name, cell.place): cell.formula
        for sheet in book.sheets.values()
        for cell in sheet.cells
        if cell.formula is not None
    }


@pytest.fixture(scope="module")
def written_twice(results_of: ResultsOf, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Return the same results without and with lines that were told."""
    plain, folder = results_of("thimble-2207"), tmp_path_factory.mktemp("told")
    return plain.path, write_results(plain.assessment, folder / "told results.xlsx", told=LINES)


def test_every_line_stands_on_checks_as_text(written_twice: tuple[Path, Path]) -> None:
    plain, told = written_twice
    texts = checks_texts(told)
    assert texts[texts.index(TOLD_TITLE) :] == [TOLD_TITLE, *LINES]
    assert TOLD_TITLE not in checks_texts(plain)
    assert [str(finding) for finding in lint(told)] == []


def test_they_change_no_formula(written_twice: tuple[Path, Path]) -> None:
    plain, told = written_twice
    assert differences(stored_values(plain), stored_values(told)) == []
    assert formulas_of(plain) == formulas_of(told)


def test_the_results_are_an_input_as_they_were_without_them(written_twice: tuple[Path, Path]) -> None:
    plain, told = (read_workbook(path) for path in written_twice)
    assert (told.faults, told.told, input_hash(told.test)) == (plain.faults, plain.told, input_hash(plain.test))
    report = returned_changes(written_twice[1], told, assess(told.test))
    assert report is not None
    assert report.is_empty


def test_results_writes_what_it_was_told_on_reading(tmp_path: Path) -> None:
    path = edited(tmp_path, reading_cells(J8="38,2 A?"))
    told = read_workbook(path).told
    assert any("38,2 A?" in line for line in told)
    assert run("results", path, "-o", tmp_path / "out.xlsx") == 0
    assert set(told) < set(checks_texts(tmp_path / "out.xlsx"))


def test_a_damaged_computed_sheet_does_not_stand_in_the_way(
    written_twice: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What `check` accepts, `results` computes: only what was changed on that sheet cannot be told."""
    parts = parts_of(written_twice[0])
    book = parts["xl/workbook.xml"].decode()
    number = book[: book.index('name="Summary"')].count("<sheet ")
    name = f"xl/worksheets/sheet{number}.xml"
    parts[name] = parts[name].replace(b"<sheetData>", b'<sheetData><row r="none"><c r="??"><v>1</v></c></row>', 1)
    damaged = tmp_path / "damaged results.xlsx"
    damaged.write_bytes(packed(parts))
    for command in ("check", "results"):
        assert run(command, damaged) == 0, capsys.readouterr()
    said = capsys.readouterr().out
    assert "cannot be told" in said
    assert "nothing that is typed was changed" not in said
