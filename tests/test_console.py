"""What is printed, and where it cannot be: full and closed outputs, empty names, texts that would steer the terminal."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.command_line import run
from tests.workbook.made_tests import on_purpose
from xlsengine.workbook.template import write_input_workbook

FULL = Path("/dev/full")
HEADER = "Wi\x1b[31mnd \x9b2J\u202eleft"


@pytest.fixture
def source(tmp_path: Path) -> Path:
    return write_input_workbook(on_purpose({}), tmp_path / "in.xlsx")


def ended(redirected: str, *arguments: str | Path) -> tuple[int, str, str]:
    """Run the command line in a shell with its outputs led elsewhere; returns exit code, output and errors."""
    command = ["bash", "-c", f'"$0" -m xlsengine "$@" {redirected}', sys.executable, *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    return done.returncode, done.stdout, done.stderr


@pytest.mark.skipif(not FULL.exists(), reason="the system has no device that is always full")
@pytest.mark.parametrize(
    "arguments",
    [("results", "in.xlsx", "--overwrite"), ("--help",), ("changes", "in.xlsx", "in.xlsx", "--json")],
)
def test_a_full_output_is_told_in_one_line(source: Path, arguments: tuple[str, ...]) -> None:
    placed = [source.parent / argument if argument.endswith(".xlsx") else argument for argument in arguments]
    code, _, errors = ended("> /dev/full", *placed)
    assert (code, errors.count("\n")) == (2, 1)
    assert errors.startswith("cannot print to standard output: No space left on device")
    if arguments[0] == "results":
        assert (source.parent / "in results.xlsx").exists()


@pytest.mark.parametrize(("closed", "command"), [("2>&-", "check"), (">&- 2>&-", "results")])
def test_closed_outputs_do_no_harm(source: Path, closed: str, command: str) -> None:
    code, _, errors = ended(closed, command, source)
    assert (code, errors) == (0, "")
    assert (source.parent / "in results.xlsx").exists() == (command == "results")


@pytest.mark.skipif(not FULL.exists(), reason="the system has no device that is always full")
@pytest.mark.parametrize("redirected", ["2>/dev/full", "2>&-"])
def test_the_exit_code_stands_where_no_error_can_be_printed(tmp_path: Path, redirected: str) -> None:
    assert ended(redirected, "results", tmp_path / "none.xlsx")[0] == 2


def test_a_reader_that_has_read_enough_is_no_fault_of_the_workbook(source: Path) -> None:
    code, _, errors = ended("| true; exit ${PIPESTATUS[0]}", "check", source)
    assert (code, errors) == (2, "")


@pytest.mark.parametrize("name", ["", ".", "..", "/"])
def test_names_that_no_file_can_have_are_told(
    source: Path, name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(source.parent)
    for arguments in (("results", source, "-o", name), ("template", "-o", name)):
        assert run(*arguments) == 2
        assert "is a folder; name a file in it with -o" in capsys.readouterr().err
    assert run("results", name) == 2
    assert "it is a folder; name the workbook inside it" in capsys.readouterr().err
    assert [path.name for path in source.parent.iterdir()] == ["in.xlsx"]


def test_texts_that_would_steer_the_terminal_are_printed_as_texts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "table.csv"
    table.write_text(f"Prop,Cells,Volts,Amps,Thrust (g),{HEADER}\n5x4,4,14.8,31,900,5\nFoot\x1b]0;x\x07,,,,,\n")
    assert run("template", "--from", table) == 0
    written = tmp_path / "table bench.xlsx"
    assert run("check", written) == 0
    assert run("results", written) == 0
    assert run("check", tmp_path / "none\x1b[2J\n.xlsx") == 2
    captured = capsys.readouterr()
    said = captured.out + captured.err
    assert "31mnd" in said
    assert not {sign for sign in said if not sign.isprintable()} - {"\n"}


def test_json_holds_such_texts_as_numbers(tmp_path: Path, source: Path, capsys: pytest.CaptureFixture[str]) -> None:
    strange = source.rename(tmp_path / f"{HEADER}.xlsx")
    assert run("check", strange, "--json") == 0
    said = capsys.readouterr().out
    assert not {sign for sign in said if not sign.isprintable()} - {"\n"}
    assert json.loads(said)["files"][0]["file"] == str(strange)


def test_a_table_is_never_replaced_by_what_is_taken_from_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "table.csv"
    table.write_text("Prop,Cells,Volts,Amps,Thrust (g)\n5x4,4,14.8,31,900\n")
    link = tmp_path / "link.csv"
    os.link(table, link)
    for output in (table, link):
        assert run("template", "--from", table, "-o", output, "--overwrite") == 2
        assert "is the input itself" in capsys.readouterr().err
    assert table.read_text().startswith("Prop")


def test_what_is_replaced_is_never_kept_over_the_input(source: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kept = source.rename(source.parent / "out (before).xlsx")
    (source.parent / "out.xlsx").write_bytes(b"old")
    before = kept.read_bytes()
    assert run("results", kept, "-o", source.parent / "out.xlsx", "--overwrite") == 2
    assert "would be kept as out (before).xlsx, which is the input itself" in capsys.readouterr().err
    assert kept.read_bytes() == before
