"""The three ways to learn what a workbook's formulas come to agree, and notice when they should not."""

import re
import zipfile
from pathlib import Path

import pytest
import xlsxwriter

from tests.instruments.office_edit import libreoffice_values
from tests.instruments.recalculate import (
    Edit,
    ErrorValue,
    IronSheet,
    Place,
    Value,
    differences,
    edited_copy,
    iron_edit,
    iron_values,
    requires_libreoffice,
    soffice_missing,
    stored_values,
)

VOLTS = "bench[[#This Row],[Voltage (V)]]"
AMPS = "bench[[#This Row],[Current (A)]]"
POWER = f'=IF(COUNT({VOLTS},{AMPS})<2,"",{VOLTS}*{AMPS}*factor)'
STORED: dict[Place, Value] = {
    ("Readings", "D2"): 44.0,
    ("Readings", "D3"): 84.0,
    ("Readings", "D4"): None,
    ("Set up", "D1"): 128.0,
    ("Set up", "D2"): "ran Mk 1 & 2",
    ("Set up", "D3"): True,
    ("Set up", "D4"): ErrorValue("#N/A"),
    ("Set up", "D5"): ErrorValue("#DIV/0!"),
    ("Set up", "D6"): 10.5,
    ("Set up", "D7"): 11.0,
    ("Set up", "D8"): 10.5,
    ("Set up", "D9"): 0.0,
    ("Set up", "D10"): True,
    ("Set up", "D11"): 3.182446305283709,
}


def write_bench(path: Path, watts_of_first: float = 44.0) -> Path:
    """Write a table, a setting and formulas on them; `watts_of_first` is stored whether right or wrong."""
    with xlsxwriter.Workbook(str(path)) as workbook:
        readings, settings = workbook.add_worksheet("Readings"), workbook.add_worksheet("Set up")
        settings.write_row("A1", ["factor", 1])
        workbook.define_name("factor", "='Set up'!$B$1")
        headers = [{"header": header} for header in ("Note", "Voltage (V)", "Current (A)")]
        columns = [*headers, {"header": "Power (W)", "formula": POWER}]
        readings.add_table("A1:D4", {"name": "bench", "columns": columns})
        readings.write_row("A2", ["Mk 1 & 2", 11.0, 4.0])
        readings.write_row("A3", ["hot", 10.5, 8.0], workbook.add_format({"bold": True}))
        for row, watts in ((2, watts_of_first), (3, 84.0), (4, "")):
            readings.write_formula(f"D{row}", POWER, None, watts)
        write_summary(settings)
    return path


def write_summary(settings: xlsxwriter.worksheet.Worksheet) -> None:
    settings.write_formula("D1", "=SUM(bench[Power (W)])", None, 128.0)
    settings.write_formula("D2", '="ran "&Readings!A2', None, "ran Mk 1 & 2")
    settings.write_formula("D3", "=Readings!B2>10", None, True)
    settings.write_formula("D4", "=NA()", None, "#N/A")
    settings.write_formula("D5", "=1/(factor-factor)", None, "#DIV/0!")
    settings.write_array_formula("D6:D6", "{=MIN(IF(Readings!B2:B4>0,Readings!B2:B4))}", None, 10.5)
    settings.write_array_formula("D7:D8", "{=Readings!B2:B3+0}", None, 11.0)
    settings.write_number("D8", 10.5)
    settings.write_formula("D9", "=COUNTIF(bench[Note],D2)+LEN(Readings!A4)", None, 0)
    settings.write_formula("D10", "=ISBLANK(Readings!A4)", None, True)
    settings.write_formula("D11", "=_xlfn.T.INV.2T(0.05,3)", None, 3.182446305283709)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_bench(tmp_path_factory.mktemp("recalculate") / "bench.xlsx")


EDITS: dict[str, list[Edit]] = {
    "a reading": [("Readings", "B2", 12.25)],
    "a whole number": [("Readings", "C3", 7)],
    "a setting": [("Set up", "B1", 0.9)],
    "a spare row filled": [("Readings", "B4", 9.5), ("Readings", "C4", 16.0)],
    "a reading emptied": [("Readings", "C3", None)],
    "a reading overwritten by nothing": [("Readings", "C3", "")],
    "a text where a number was": [("Readings", "C3", "n/a")],
    "a text like a date": [("Readings", "A2", "5-4")],
    "a text like a formula": [("Readings", "A2", "=1+1")],
    "a text like a number": [("Readings", "B2", "12")],
    "a text like a truth value": [("Readings", "A2", "TRUE")],
    "a text like an error": [("Readings", "A2", "#N/A")],
    "a text with an apostrophe": [("Readings", "A2", "'Mk 1'")],
    "a text with blanks around": [("Readings", "A2", "  Mk 1 ")],
    "a text with marks of XML": [("Readings", "A2", '<b>&"é μ</b>')],
    "a text with a line feed": [("Readings", "A2", "Mk 1\nhot")],
    "a text like an escape": [("Readings", "A2", "_x0041_")],
    "a truth value": [("Set up", "B1", False)],
    "a formula typed over": [("Readings", "D3", 50.0)],
    "a cell in a row that was not there": [("Readings", "A40", 3.0)],
    "a cell between others": [("Set up", "C1", 3.0)],
}


@pytest.fixture(scope="module")
def in_libreoffice(bench: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[Place, Value]]:
    """Recalculate every edited copy in one run."""
    folder = tmp_path_factory.mktemp("edited")
    copies = [edited_copy(bench, folder / f"{title}.xlsx", edits) for title, edits in EDITS.items()]
    return dict(zip(EDITS, libreoffice_values(copies), strict=True))


def test_stored_values_are_those_that_were_written(bench: Path) -> None:
    assert stored_values(bench) == STORED


@requires_libreoffice
def test_libreoffice_recalculates_hard_and_keeps_files_apart(tmp_path: Path) -> None:
    """A wrong stored value does not survive; files of one name in two folders keep their order."""
    (tmp_path / "other").mkdir()
    wrong = write_bench(tmp_path / "bench.xlsx", watts_of_first=1.0)
    doubled = edited_copy(wrong, tmp_path / "other" / "bench.xlsx", [("Set up", "B1", 2.0)])
    before = wrong.read_bytes()
    found = libreoffice_values([wrong, doubled, wrong])
    assert stored_values(wrong)["Readings", "D2"] == 1.0
    assert [values["Readings", "D2"] for values in found] == [44.0, 88.0, 44.0]
    assert differences(stored_values(wrong), found[0]) == ["Readings!D2: 1.0 against 44.0"]
    assert wrong.read_bytes() == before


def test_ironcalc_does_not_trust_stored_values(tmp_path: Path) -> None:
    wrong = write_bench(tmp_path / "bench.xlsx", watts_of_first=1.0)
    assert differences(STORED, iron_values(wrong)) == []


@requires_libreoffice
@pytest.mark.parametrize("title", EDITS)
def test_an_edit_comes_to_the_same_in_both(
    bench: Path, in_libreoffice: dict[str, dict[Place, Value]], title: str
) -> None:
    ours = iron_edit(bench, EDITS[title])
    if title == "a formula typed over":
        assert "D3" not in {place for sheet, place in in_libreoffice[title] if sheet == "Readings"}
        del ours["Readings", "D3"]
    assert differences(in_libreoffice[title], ours) == []


def test_edits_of_one_sheet_add_up(bench: Path) -> None:
    sheet = IronSheet(bench)
    sheet.edit([("Readings", "B2", 12.0)])
    assert sheet.edit([("Set up", "B1", 0.5)])["Readings", "D2"] == 24.0
    restored: list[Edit] = [("Readings", "B2", "11"), ("Readings", "B2", 11.0), ("Set up", "B1", 1)]
    assert differences(STORED, sheet.edit(restored)) == []


def test_a_copy_differs_in_the_edited_cells_alone(bench: Path, tmp_path: Path) -> None:
    edits: list[Edit] = [("Readings", "B3", 12.5), ("Readings", "A4", "new"), ("Readings", "A9", 1)]
    out = edited_copy(bench, tmp_path / "out.xlsx", edits)
    sheet = "xl/worksheets/sheet1.xml"
    with zipfile.ZipFile(bench) as before, zipfile.ZipFile(out) as after:
        assert before.namelist() == after.namelist()
        for name in before.namelist():
            if name != sheet:
                assert before.read(name) == after.read(name)
        expected = before.read(sheet).decode()
        written = after.read(sheet).decode()
    style = re.search(r'<c r="B3" (s="\d+")><v>10.5</v></c>', expected)
    assert style is not None
    expected = expected.replace(style[0], f'<c r="B3" {style[1]}><v>12.5</v></c>')
    new = '<c r="A4" t="inlineStr"><is><t xml:space="preserve">new</t></is></c><c r="D4">'
    expected = expected.replace('<c r="D4">', new)
    assert written == expected.replace("</sheetData>", '<row r="9"><c r="A9"><v>1.0</v></c></row></sheetData>')


@pytest.mark.parametrize(
    ("edit", "message"),
    [
        (("Nowhere", "A1", 1.0), "no sheet 'Nowhere'"),
        (("Readings", "B2", float("nan")), "cannot hold nan"),
        (("Readings", "B2", float("-inf")), "cannot hold -inf"),
        (("Readings", "2B", 1.0), "2B is no cell"),
    ],
)
def test_an_edit_that_no_cell_can_take_is_refused(bench: Path, tmp_path: Path, edit: Edit, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        edited_copy(bench, tmp_path / "out.xlsx", [edit])
    with pytest.raises(ValueError, match=message):
        iron_edit(bench, [edit])


def test_an_array_formula_is_not_edited_in_a_copy(bench: Path, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="D7 holds an array or shared formula"):
        edited_copy(bench, tmp_path / "out.xlsx", [("Set up", "D7", 1.0)])


@requires_libreoffice
def test_known_gaps_of_ironcalc(tmp_path: Path) -> None:
    """Observed with IronCalc 0.9.1; where one closes, the workbook may rely on both engines there."""
    gaps = {"A1": "=_xlfn.AGGREGATE(4,6,bench[Thrust (g)])", "A2": "=ROWS(bench[])", "A3": "=IFERROR(1E308*10,3)"}
    alike = {
        "B1": "=bench[[#Headers],[Thrust (g)]]",
        "B2": "=SUM(bench[[a'#b]:[x '[1']]])",
        "B3": "=ROWS(bench[Thrust (g)])",
        "B4": "=SUMPRODUCT(--(bench[a'#b]>1),bench[Thrust (g)])",
    }
    path = tmp_path / "gaps.xlsx"
    with xlsxwriter.Workbook(str(path)) as workbook:
        sheet, table = workbook.add_worksheet("Sums"), workbook.add_worksheet("Readings")
        headers = [{"header": header} for header in ("Thrust (g)", "a#b", "x [1]")]
        table.add_table("A1:C3", {"name": "bench", "columns": headers})
        table.write_row("A2", [100, 1, 5])
        table.write_row("A3", [200, 2, 6])
        for place, text in (gaps | alike).items():
            sheet.write_formula(place, text, None, 0)
    theirs, ours = libreoffice_values([path])[0], iron_values(path)
    assert theirs == {
        **{("Sums", "A1"): 200.0, ("Sums", "A2"): 2.0, ("Sums", "A3"): 3.0},
        **{("Sums", "B1"): "Thrust (g)", ("Sums", "B2"): 14.0, ("Sums", "B3"): 2.0, ("Sums", "B4"): 200.0},
    }
    assert {line.partition(":")[0] for line in differences(theirs, ours)} == {f"Sums!{at}" for at in gaps}


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        (1.0, 1.0 + 5e-10, True),
        (1.0, 1.0 + 5e-9, False),
        (0.0, 5e-13, True),
        (0.0, 5e-12, False),
        ("", None, True),
        (None, 0.0, False),
        (1.0, True, False),
        (False, 0.0, False),
        ("a", "A", False),
        ("1", 1.0, False),
        (ErrorValue("#N/A"), ErrorValue("#N/A"), True),
        (ErrorValue("#N/A"), ErrorValue("#NUM!"), False),
        (ErrorValue("#N/A"), "#N/A", False),
    ],
)
def test_what_counts_as_the_same(one: Value, other: Value, expected: bool) -> None:
    place = ("Readings", "A1")
    for first, second in ((one, other), (other, one)):
        lines = differences({place: first}, {place: second})
        assert lines == ([] if expected else [f"Readings!A1: {first!r} against {second!r}"])


def test_a_cell_that_only_one_side_has_is_a_difference() -> None:
    lines = differences({("R", "A1"): 1.0, ("R", "A2"): None}, {("R", "A1"): 1.0, ("S", "A1"): 2.0})
    assert lines == ["R!A2: only in the first", "S!A1: only in the second"]


def skips(environment: dict[str, str], path: str, monkeypatch: pytest.MonkeyPatch) -> bool:
    """Return whether a test marked now, with this environment and search path, would be skipped."""
    for name in ("CI", "XLSENGINE_NEED_LIBREOFFICE"):
        monkeypatch.delenv(name, raising=False)
    for name, value in {**environment, "PATH": path}.items():
        monkeypatch.setenv(name, value)

    def marked() -> None:
        """Stand in for a test."""

    requires_libreoffice(marked)
    marks = {mark.name: mark for mark in getattr(marked, "pytestmark", [])}
    assert set(marks) == {"libreoffice", "skipif"}
    return bool(marks["skipif"].args[0])


@pytest.mark.parametrize(
    ("environment", "expected"),
    [({}, True), ({"CI": "true"}, False), ({"XLSENGINE_NEED_LIBREOFFICE": "1"}, False), ({"CI": "no"}, True)],
)
def test_a_missing_libreoffice_skips_unless_it_is_demanded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, environment: dict[str, str], expected: bool
) -> None:
    assert skips(environment, str(tmp_path), monkeypatch) is expected
    assert soffice_missing() == "LibreOffice Calc is not installed: no soffice on the path"


def test_a_libreoffice_that_is_there_is_never_skipped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "soffice").touch(mode=0o755)
    assert not skips({}, str(tmp_path), monkeypatch)
    assert soffice_missing() is None


def test_a_missing_libreoffice_fails_the_test_that_runs_all_the_same(
    bench: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(RuntimeError, match="not installed"):
        libreoffice_values([bench])


def test_a_libreoffice_that_writes_nothing_is_told(
    bench: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = tmp_path / "soffice"
    program.write_text("#!/bin/sh\necho no export filter\n")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path), prepend=":")
    with pytest.raises(RuntimeError, match=r"(?s)failed on .*bench\.xlsx: .*no export filter"):
        libreoffice_values([bench])


def test_a_libreoffice_that_hangs_is_ended(bench: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    program = tmp_path / "soffice"
    program.write_text("#!/bin/sh\nsleep 60\n")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path), prepend=":")
    with pytest.raises(RuntimeError, match=r"took more than 0\.2 s"):
        libreoffice_values([bench], timeout=0.2)
