"""``xlsengine library`` on the command line."""

import json
from pathlib import Path

import pytest

from tests import command_line
from tests.library.made import small_test, workbooks
from xlsengine.library import where
from xlsengine.library.store import Library
from xlsengine.workbook.template import write_input_workbook


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    """Run the command line and return its exit code, what it printed, and what it complained of."""
    return command_line.run_apart(capsys, "library", *arguments)


def test_a_library_from_its_first_workbook_to_its_last(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place, folder = tmp_path / "library", tmp_path / "books"
    workbooks(folder, 2)
    write_input_workbook(small_test("wrong", label_kv=5e6), folder / "wrong.xlsx")
    code, said, complained = run(capsys, "add", folder, "--library", place)
    assert (code, complained) == (1, "")
    assert f"{folder / 'wrong.xlsx'}: not added\n  Motor!" in said
    assert said.endswith(f"{place}: 2 added, 1 not added\n")
    code, said, _ = run(capsys, "add", folder / "motor 000.xlsx", "--library", place)
    assert (code, said.splitlines()[-1]) == (0, f"{place}: 1 unchanged")

    code, said, _ = run(capsys, "list", "--library", place)
    assert (code, said.splitlines()[0]) == (0, "2 tests")
    assert "1  motor 0  Made up 2207  size 22.0×7.0 mm  1900 rpm/V  2026-05-31  thrust 1,010 g" in said
    code, said, _ = run(capsys, "show", "motor 1", "--library", place)
    assert code == 0
    assert "  Labelled Kv: 1900 rpm/V\n" in said
    assert "  Mass as supplied: 33.0 ± 0.2 g\n" in said
    assert "  5x4x3 on 4S, steady, 3 readings\n" in said
    assert "    Thrust, full throttle: 1011 ±" in said

    assert run(capsys, "remove", "1", "--library", place)[0] == 0
    assert run(capsys, "list", "--library", place)[1].splitlines()[0] == "1 test"
    assert "motor 0 Made up 2207  removed" in run(capsys, "list", "--earlier", "--library", place)[1]
    code, said, _ = run(capsys, "export", tmp_path / "out.csv", "--library", place, "--of", "propellers")
    assert (code, said) == (0, f"wrote {tmp_path / 'out.csv'}, 1 rows\n")


def test_lists_for_programs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with Library(tmp_path / "library") as library:
        library.add(small_test(), "a.xlsx")
    _, said, _ = run(capsys, "list", "--library", tmp_path / "library", "--json")
    (test,) = json.loads(said)["tests"]
    assert (test["id"], test["test_id"], test["mass_as_supplied"], test["poles"]) == (1, "one", 33.0, None)
    _, said, _ = run(capsys, "show", "one", "--library", tmp_path / "library", "--json")
    whole = json.loads(said)
    assert whole["test"]["label_kv"] == 1900.0
    assert [group["full_thrust"] for group in whole["groups"]] == [1010.0]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("list",), "found no library there; make it with xlsengine library add FILE"),
        (("show", "x"), "found no library there"),
        (("remove", "x"), "found no library there"),
        (("export", "out.csv"), "found no library there"),
    ],
)
def test_without_a_library_each_says_so(
    arguments: tuple[str, ...],
    said: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(where.VARIABLE, str(tmp_path / "library"))
    code, printed, complained = run(capsys, *arguments)
    assert (code, printed) == (2, "")
    assert said in complained
    assert list(tmp_path.iterdir()) == []


def test_a_folder_without_workbooks_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "empty").mkdir()
    code, said, _ = run(capsys, "add", tmp_path / "empty", "--library", tmp_path / "library")
    assert (code, said) == (1, f"{tmp_path / 'library'}: found no workbook (.xlsx) there\n")
