"""``xlsengine FILE ...``: each file gets what it asks for, folders too, and what a person saved is never written over."""

from pathlib import Path

import openpyxl
import pytest

from tests.command_line import run
from tests.doors.made_files import TABLE, THRUST, motor, names, typed
from tests.instruments.office_edit import Work, do_in_libreoffice
from tests.instruments.recalculate import cell_values, requires_libreoffice
from xlsengine.commands import files
from xlsengine.jobs import make_results
from xlsengine.workbook.beside import is_open
from xlsengine.workbook.reading.kinds import Kind, kind_of
from xlsengine.workbook.template import STEPS

Capture = pytest.CaptureFixture[str]


def test_a_workbook_gets_its_results_beside_it(tmp_path: Path, capsys: Capture) -> None:
    path = motor(tmp_path)
    before = path.read_bytes()
    assert run(path) == 0
    said = capsys.readouterr().out
    assert "Highest static thrust" in said
    assert "flags: " in said
    assert said.rstrip().endswith("motor results.xlsx")
    assert path.read_bytes() == before
    by_command = make_results(path, tmp_path / "other.xlsx").output
    assert (tmp_path / "motor results.xlsx").read_bytes() == Path(str(by_command)).read_bytes()


def test_a_workbook_with_faults_gets_a_list_and_the_worst_is_the_exit_code(tmp_path: Path, capsys: Capture) -> None:
    good, bad = motor(tmp_path), typed(motor(tmp_path, "bad.xlsx"), {THRUST: "9..1"})
    assert run(bad, good) == 1
    said = capsys.readouterr().out.splitlines()
    assert any(line.startswith('  Readings!K6 Thrust (g): found "9..1"') for line in said)
    assert said[-1] == "2 files: 1 with faults, 1 with results written"
    assert names(tmp_path) == ["bad.xlsx", "motor results.xlsx", "motor.xlsx"]
    assert run(good, tmp_path / "none.xlsx") == 2


def test_a_folder_gives_each_workbook_its_results_once(tmp_path: Path, capsys: Capture) -> None:
    motor(tmp_path)
    motor(tmp_path, "second.xlsx")
    for name in ("~$motor.xlsx", ".~lock.motor.xlsx#", ".hidden.xlsx", "old (before).xlsx", "letter.txt"):
        (tmp_path / name).write_bytes(b"none of ours")
    assert run(tmp_path) == 0
    assert capsys.readouterr().out.rstrip().endswith("2 files: 2 with results written")
    written = {name: (tmp_path / name).read_bytes() for name in names(tmp_path)}
    assert {"motor results.xlsx", "second results.xlsx"} < set(written)
    assert run(tmp_path) == 0
    assert capsys.readouterr().out.rstrip().endswith("2 files: 2 up to date")
    assert written == {name: (tmp_path / name).read_bytes() for name in names(tmp_path)}


def test_plain_tables_in_a_folder_are_named_and_left(tmp_path: Path, capsys: Capture) -> None:
    motor(tmp_path)
    for name in ("readings.csv", "taken.csv", ".hidden.csv"):
        (tmp_path / name).write_text(TABLE, encoding="utf-8")
    book = openpyxl.Workbook()
    book.worksheets[0].append(["Prop", "Cells", "Volts", "Amps", "Thrust (g)"])
    book.save(tmp_path / "other.xlsx")
    assert run(tmp_path / "taken.csv") == 0
    capsys.readouterr()
    assert run(tmp_path) == 0
    last = capsys.readouterr().out.splitlines()[-1]
    assert last == "2 not taken in, as plain tables are where they are named: other.xlsx, readings.csv"
    assert "readings bench.xlsx" not in names(tmp_path)


def test_a_folder_without_work_says_so(tmp_path: Path, capsys: Capture) -> None:
    assert run(tmp_path) == 0
    assert capsys.readouterr().out == "no workbook there that waits for results\n"


def test_results_follow_what_is_typed(tmp_path: Path) -> None:
    path, results = motor(tmp_path), tmp_path / "motor results.xlsx"
    run(path)
    typed(path, {THRUST: 901})
    assert run(tmp_path) == 0
    assert cell_values(results, [("Readings", THRUST)]) == {("Readings", THRUST): 901.0}
    assert names(tmp_path) == ["motor results (before).xlsx", "motor results.xlsx", "motor.xlsx"]


def test_what_a_person_saved_stays_and_results_are_numbered_on(tmp_path: Path) -> None:
    path, results = motor(tmp_path), tmp_path / "motor results.xlsx"
    run(path)
    looked_at = typed(results, {}).read_bytes()
    typed(path, {THRUST: 901})
    assert run(path) == 0
    assert results.read_bytes() == looked_at
    second = tmp_path / "motor results 2.xlsx"
    assert cell_values(second, [("Readings", THRUST)]) == {("Readings", THRUST): 901.0}
    typed(path, {THRUST: 902})
    assert run(path) == 0, "the second was saved by nobody and gives way"
    assert cell_values(second, [("Readings", THRUST)]) == {("Readings", THRUST): 902.0}
    assert "motor results 3.xlsx" not in names(tmp_path)


def test_results_that_are_open_are_left_and_numbered_on(tmp_path: Path, capsys: Capture) -> None:
    """The names of the locks are those that LibreOffice 24.8 and Excel 365 put beside an open file (from memory)."""
    path, results = motor(tmp_path), tmp_path / "motor results.xlsx"
    lock, of_excel = ".~lock.motor results.xlsx#", "~$motor results.xlsx"
    run(path)
    assert not is_open(results)
    (tmp_path / of_excel).write_bytes(b"somebody's")
    assert is_open(results)
    (tmp_path / of_excel).unlink()
    shown = results.read_bytes()
    (tmp_path / lock).write_bytes(b"somebody's")
    typed(path, {THRUST: 901})
    assert run(path) == 0
    assert results.read_bytes() == shown
    assert "motor results.xlsx is open in another program, so it was left" in capsys.readouterr().out
    second = tmp_path / "motor results 2.xlsx"
    assert cell_values(second, [("Readings", THRUST)]) == {("Readings", THRUST): 901.0}
    (tmp_path / lock).unlink()
    typed(path, {THRUST: 902})
    assert run(path) == 0, "closed again, it gives way"
    assert cell_values(results, [("Readings", THRUST)]) == {("Readings", THRUST): 902.0}
    assert "open in another program" not in capsys.readouterr().out


def test_results_replaced_on_purpose_while_open_say_so(tmp_path: Path) -> None:
    path, results = motor(tmp_path), tmp_path / "motor results.xlsx"
    make_results(path)
    (tmp_path / ".~lock.motor results.xlsx#").write_bytes(b"somebody's")
    typed(path, {THRUST: 901})
    told = make_results(path, overwrite=True).told
    assert any(f"{results} is open in another program" in line for line in told)


def test_results_of_another_workbook_beside_do_not_give_way(tmp_path: Path) -> None:
    """What was typed into the results has results of its own; those of the input go elsewhere."""
    path, results = motor(tmp_path), tmp_path / "motor results.xlsx"
    run(path)
    typed(results, {THRUST: 950})
    assert run(tmp_path) == 0
    of_results = (tmp_path / "motor results 2.xlsx").read_bytes()
    typed(path, {THRUST: 901})
    assert run(tmp_path) == 0
    assert (tmp_path / "motor results 2.xlsx").read_bytes() == of_results
    third = tmp_path / "motor results 3.xlsx"
    assert cell_values(third, [("Readings", THRUST)]) == {("Readings", THRUST): 901.0}
    before = names(tmp_path)
    assert run(tmp_path) == 0
    assert names(tmp_path) == before


def test_a_plain_table_is_taken_in_and_what_comes_next_is_told(tmp_path: Path, capsys: Capture) -> None:
    table = tmp_path / "night.csv"
    table.write_text(TABLE)
    assert run(table) == 0
    assert (
        capsys.readouterr()
        .out.rstrip()
        .endswith("night bench.xlsx, 2 readings; add what else you know, then run: xlsengine FILE")
    )
    assert run(tmp_path / "night bench.xlsx") == 0
    written = names(tmp_path)
    assert run(table) == 2
    assert "night bench.xlsx is there already: fill that in" in capsys.readouterr().out
    assert names(tmp_path) == written


def test_a_file_may_be_called_like_a_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    monkeypatch.chdir(tmp_path)
    motor(tmp_path).rename("check")
    assert run("./check") == 0
    assert "Highest static thrust" in capsys.readouterr().out
    assert run("check") == 2
    assert "Missing argument" in capsys.readouterr().err


def test_a_word_that_is_nothing_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("resluts") == 2
    assert "there is no such file, nor such a command: xlsengine --help lists them" in capsys.readouterr().out


def test_the_sheet_start_says_the_same_word() -> None:
    assert 'type  xlsengine "my motor.xlsx"  ' in STEPS[-1]


def test_the_window_stays_open_only_where_it_is_our_own(monkeypatch: pytest.MonkeyPatch) -> None:
    pauses: list[str] = []
    monkeypatch.setattr("click.pause", pauses.append)
    files.wait_for_a_reader()
    assert pauses == []
    monkeypatch.setattr("sys.platform", "win32")
    for programs, paused in ((3, 0), (0, 0), (2, 1)):
        monkeypatch.setattr(files, "programs_of_the_window", lambda programs=programs: programs)
        files.wait_for_a_reader()
        assert len(pauses) == paused


@requires_libreoffice
def test_libreoffice_signs_what_it_saves(tmp_path: Path) -> None:
    run(motor(tmp_path))
    results, saved = tmp_path / "motor results.xlsx", tmp_path / "saved.xlsx"
    do_in_libreoffice([Work(str(results), str(saved))])
    assert (kind_of(results), kind_of(saved)) == (Kind.RESULTS, Kind.RETURNED)
