"""The command line as a person meets it: messages, exit codes, files; never a traceback."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import openpyxl
import pytest

import xlsengine
from tests.command_line import run
from tests.instruments.recalculate import stored_values
from xlsengine.cli import cli
from xlsengine.outcome import JUDGED_LATER

DEMO = Path(__file__).parent.parent / "demo_inputs" / "thimble-2207.xlsx"


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    return Path(shutil.copy(DEMO, tmp_path / "motor.xlsx"))


def broken(demo: Path) -> Path:
    book = openpyxl.load_workbook(demo)
    book["Readings"]["J14"] = "38..2"
    book["Readings"]["I20"] = None
    book.save(demo)
    return demo


def test_template_is_written_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "new.xlsx"
    assert run("template", "-o", target) == 0
    before = target.read_bytes()
    assert run("template", "-o", target) == 2
    assert "--overwrite" in capsys.readouterr().err
    assert run("template", "-o", target, "--overwrite") == 0
    assert target.read_bytes() == before


def test_faults_are_all_told_and_nothing_is_written(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("results", broken(demo)) == 1
    said = capsys.readouterr().err
    assert 'Readings!J14 Current (A): found "38..2"; wanted a number from 0 to 500 A; type 38.2' in said
    assert "Readings!I20 Voltage (V): found a blank cell" in said
    assert list(demo.parent.iterdir()) == [demo]


def test_a_flag_names_its_cell(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In the demo, a decimal slipped in the thrust of run 28."""
    assert run("check", demo) == 0
    said = capsys.readouterr().out
    assert (
        "  impossible: Readings!K33 Thrust (g), 6.5x3.5x2 N on 4S: Decimal slip in thrust; 10,730 g; expected near"
        in said
    )
    assert run("check", demo, "--json") == 0
    flags = json.loads(capsys.readouterr().out)["files"][0]["flags"]
    (slip,) = [flag for flag in flags if flag["what"] == "Decimal slip in thrust"]
    assert (slip["place"], slip["label"], slip["row"]) == ("Readings!K33", "Thrust (g)", 28)


def test_readings_are_judged_once_there_are_no_faults(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("check", broken(demo)) == 1
    said = capsys.readouterr().out.splitlines()
    assert said[-1] == f"  2 faults; {JUDGED_LATER}"
    assert run("results", demo) == 1
    assert capsys.readouterr().err.splitlines()[-1] == f"2 faults; nothing was written; {JUDGED_LATER}"


def test_headlines_are_those_of_the_report(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("results", demo, "--json") == 0
    report = json.loads(capsys.readouterr().out)
    assert report["results"].endswith("motor results.xlsx")
    assert report["headlines"][0]["unit"] == "g"
    values = stored_values(Path(report["results"]))
    on_report = [value for (sheet, _), value in values.items() if sheet == "Report" and isinstance(value, float)]
    for line in report["headlines"]:
        assert any(number == pytest.approx(line["value"], rel=0.005) for number in on_report), line["label"]
    assert run("results", demo, "-o", demo.parent / "other.xlsx") == 0
    said = capsys.readouterr().out
    assert all(f"{line['label']}: {line['shown']}, {line['place']}" in said for line in report["headlines"])


def test_every_public_name_is_there_and_told(demo: Path) -> None:
    """What a command does can be done in Python; constants for static checkers and names at run time agree."""
    assert list(xlsengine.__all__) == sorted(xlsengine.__all__)
    for name in xlsengine.__all__:
        assert getattr(xlsengine, name).__doc__
    with pytest.raises(AttributeError, match="nonsense"):
        _ = xlsengine.nonsense
    of_commands = {"template": "write_template", "results": "write_results", "changes": "compare_workbooks"}
    assert set(of_commands.values()) < set(xlsengine.__all__)
    assert set(of_commands) | {"check"} <= set(cli.commands)
    report = xlsengine.compare_workbooks(demo, str(demo))
    assert isinstance(report, xlsengine.ChangeReport)
    assert list(report.lines()) == ["nothing that is typed was changed"]


def test_help_lists_what_is_needed_first_first_and_each_in_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("--help") == 0
    lines = capsys.readouterr().out.partition("Commands:\n")[2].splitlines()
    assert [line.split()[0] for line in lines][:4] == ["template", "check", "results", "page"]
    assert len(lines) == len(cli.commands)
    assert all(line.endswith(".") and not line.endswith("...") for line in lines)


def test_check_ends_with_the_worst_of_its_files(demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good = Path(shutil.copy(DEMO, tmp_path / "good.xlsx"))
    assert run("check", good) == 0
    assert run("check", good, broken(demo)) == 1
    assert run("check", good, tmp_path / "missing.xlsx", demo) == 2
    assert "missing.xlsx" in capsys.readouterr().out


def test_a_results_workbook_is_an_input_and_is_never_written_to(demo: Path) -> None:
    assert run("results", demo) == 0
    first = demo.parent / "motor results.xlsx"
    before = first.read_bytes()
    assert run("results", first) == 0
    assert (first.read_bytes() == before) is True  # bytes themselves would be compared letter by letter for minutes
    assert ((demo.parent / "motor results 2.xlsx").read_bytes() == before) is True
    assert run("results", first, "-o", first, "--overwrite") == 2
    assert (first.read_bytes() == before) is True


def test_a_lack_of_memory_is_one_line(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def lacks(*_: object) -> None:
        raise MemoryError

    monkeypatch.setattr("xlsengine.jobs.read_workbook", lacks)
    assert run("results", demo) == 2
    assert capsys.readouterr().err.splitlines() == [
        "this takes more memory than there is; close other programs, and try again. Nothing was changed"
    ]


@pytest.mark.parametrize(
    "arguments", [[], ["nonsense"], ["results"], ["check"], ["results", "a", "b"], ["check", "--what", "a"]]
)
def test_a_wrong_command_line_is_exit_code_2(arguments: list[str]) -> None:
    assert run(*arguments) == 2


def test_python_m_and_light_imports() -> None:
    """Help is answered without loading what only the work needs."""
    code = "import sys\nfrom xlsengine.cli import main\ntry:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
    code += "print([m for m in ('numpy', 'pandas', 'openpyxl', 'xlsxwriter', 'scipy') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.rstrip().endswith("[]")
    helped = subprocess.run(
        [sys.executable, "-m", "xlsengine", "--version"], capture_output=True, text=True, check=True
    )
    assert "xlsengine" in helped.stdout
