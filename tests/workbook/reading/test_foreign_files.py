"""Hundreds of files that this engine did not write: exit code 1 or 2 with a message, and 0 only for what is sound."""

import io
import warnings
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout, suppress
from pathlib import Path

import pytest

import xlsengine
from tests.instruments.office_edit import EXCEL, Work, do_in_libreoffice
from tests.instruments.recalculate import requires_libreoffice
from tests.workbook.made_tests import on_purpose
from tests.workbook.reader_workbooks import demo_workbook
from tests.workbook.reading.foreign_files import FOREIGN, TEXTS, ironcalc_parts, packages
from tests.workbook.reading.foreign_parts import CHANGES, pivot_table
from tests.workbook.reading.mutations import Parts, packed, parts_of
from xlsengine.cli import main
from xlsengine.errors import WorkbookFaulty, WorkbookUnreadable
from xlsengine.workbook.reading.plain_tables import take_in
from xlsengine.workbook.reading.reader import read_workbook

MIXTURES = 40


def outcome(*arguments: str) -> tuple[int, str]:
    """Return the exit code and all that is said; warnings are errors."""
    said = io.StringIO()
    with redirect_stdout(said), redirect_stderr(said), warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            main(list(arguments))
        except SystemExit as stopped:
            return int(stopped.code or 0), said.getvalue()
    return 0, said.getvalue()


def hold_to_the_rules(path: Path, ours: bool, write: bool = True) -> None:
    """Check a file and take its table in, and `write` what comes of both: what may happen, and nothing else."""
    new, results = path.parent / "new.xlsx", path.parent / "results.xlsx"
    code, said = outcome("check", str(path))
    assert code in ((0, 1, 2) if ours else (1, 2)), said
    assert len(said.strip()) > len(str(path)), "no message"
    if not write:
        with suppress(WorkbookFaulty, WorkbookUnreadable):
            take_in(path)
        return
    taken, told = outcome("template", "--from", str(path), "-o", str(new))
    assert taken in (0, 1, 2), told
    assert new.exists() == (taken == 0)
    if code:
        assert outcome("results", str(path), "-o", str(results))[0] == code
        assert not results.exists()
    for made in path.parent.iterdir():
        made.unlink()


@pytest.fixture(scope="module")
def bases(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Parts]:
    folder = tmp_path_factory.mktemp("bases")
    ours = xlsengine.write_input_workbook(on_purpose({}), folder / "ours.xlsx")
    return {**{name: make() for name, make in FOREIGN.items()}, "ours": parts_of(ours)}


def _named(bases: dict[str, Parts]) -> Iterator[tuple[str, bytes]]:
    """Yield every change by hand and to our own workbook, and mixtures of all."""
    for name, content in packages(bases, seed=7, number=MIXTURES):
        if name.startswith(("by hand", "ours")) or name.count(",") > 1:
            yield name, content


def test_strange_packages(bases: dict[str, Parts], tmp_path: Path) -> None:
    number = 0
    for name, content in _named(bases):
        path = tmp_path / "file.xlsx"
        path.write_bytes(content)
        hold_to_the_rules(path, ours=name.startswith("ours"), write=number % 4 == 0)
        number += 1
    assert number > 2 * len(CHANGES)


@pytest.mark.parametrize("name", TEXTS)
def test_files_that_are_no_package(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(TEXTS[name])
    hold_to_the_rules(path, ours=False)


def test_a_workbook_of_ours_with_a_pivot_table_is_read_and_the_pivot_table_told(tmp_path: Path) -> None:
    parts = parts_of(demo_workbook(tmp_path))
    sheet = "xl/worksheets/sheet1.xml"
    assert sheet in parts
    pivot_table(parts)
    path = tmp_path / "pivot.xlsx"
    path.write_bytes(packed(parts))
    assert read_workbook(path).faults == ()


def test_a_results_workbook_saved_by_ironcalc(tmp_path: Path) -> None:
    """IronCalc drops tables, so there is nothing to read by name: one fault a table, and the way back."""
    parts = ironcalc_parts(demo_workbook(tmp_path), tmp_path)
    assert not any(name.startswith("xl/tables/") for name in parts)
    path = tmp_path / "saved.xlsx"
    path.write_bytes(packed(parts))
    code, said = outcome("check", str(path))
    assert code == 1
    assert "Readings: found no table Readings; wanted the table Readings; select its cells, make them a table" in said


@requires_libreoffice
def test_a_workbook_under_a_real_password(tmp_path: Path) -> None:
    source = str(demo_workbook(tmp_path))
    kinds = {"xlsx": (EXCEL, "it is encrypted"), "ods": ("calc8", "it is protected by a password")}
    paths = {ending: tmp_path / f"locked.{ending}" for ending in kinds}
    do_in_libreoffice(
        [Work(source, str(paths[ending]), filter=kind, secret="secret") for ending, (kind, _) in kinds.items()]
    )
    for ending, (_, said) in kinds.items():
        code, found = outcome("template", "--from", str(paths[ending]), "-o", str(tmp_path / "new.xlsx"))
        assert (code, f"{said}; remove the password" in found) == (2, True), found
        assert outcome("check", str(paths[ending]))[0] == 2
        assert not (tmp_path / "new.xlsx").exists()
