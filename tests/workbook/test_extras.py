"""Columns of the sender's own, notes and pictures go through every program and every workbook, or are told."""

import shutil
import zipfile
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest
from openpyxl.chart import LineChart, Reference
from openpyxl.comments import Comment
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.table import TableColumn

from tests.instruments.linter import lint
from tests.instruments.recalculate import differences, iron_values, requires_libreoffice, stored_values
from tests.workbook.carried_tests import HEADERS, TEST, columns_of, pictures_of, places_of, png
from tests.workbook.engine_values import ResultsOf
from tests.workbook.made_tests import ALL, on_purpose
from tests.workbook.reader_workbooks import saved_by_libreoffice, with_parts
from xlsengine.bench.inputs.bench_test import input_hash
from xlsengine.bench.inputs.extras import Extras
from xlsengine.study.assessment import assess
from xlsengine.workbook.reading.reader import read_workbook
from xlsengine.workbook.results import write_results
from xlsengine.workbook.template import write_input_workbook

pytestmark = pytest.mark.filterwarnings("ignore:.*extension is not supported")  # openpyxl, of our conditional formats
FEW = "no full throttle"
"""Four readings: what openpyxl does to a workbook takes long."""


@pytest.fixture(scope="module")
def written(results_of: ResultsOf, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("carried")
    return {"input": write_input_workbook(TEST, folder / "in.xlsx"), "results": results_of("carried").path}


def assert_carried(extras: Extras) -> None:
    assert columns_of(extras) == columns_of(TEST.extras)
    assert places_of(extras) == places_of(TEST.extras)
    assert pictures_of(extras) == pictures_of(TEST.extras)


@pytest.mark.parametrize("kind", ["input", "results"])
def test_extras_are_read_as_they_were_written(written: dict[str, Path], kind: str) -> None:
    reading = read_workbook(written[kind])
    assert reading.faults == ()
    assert_carried(reading.test.extras)
    assert sorted(reading.test.extras.notes, key=str) == sorted(TEST.extras.notes, key=str)
    sizes = {(p.description, p.width, p.height, p.x_offset) for p in reading.test.extras.pictures}
    assert sizes == {("bell from inside", 200.0, 150.0, 5.0), ("the stand", 41.0, 31.0, 0.0)}


@requires_libreoffice
def test_extras_of_an_input_survive_libreoffice(written: dict[str, Path], tmp_path: Path) -> None:
    """Those of results come back in `test_comparing`."""
    reading = read_workbook(saved_by_libreoffice(written["input"], tmp_path))
    assert reading.faults == ()
    assert_carried(reading.test.extras)


def test_the_results_are_the_same_figures_and_sound(written: dict[str, Path], tmp_path: Path) -> None:
    assert [str(finding) for finding in lint(written["results"])] == []
    assert differences(stored_values(written["results"]), iron_values(written["results"])) == []
    plain = assess(ALL["thimble-2207"]())
    assert assess(TEST).headlines() == plain.headlines()


def test_the_hash_is_that_of_the_declared_cells() -> None:
    assert input_hash(TEST) == input_hash(ALL["thimble-2207"]())


def test_own_columns_stand_beside_what_is_typed(written: dict[str, Path]) -> None:
    sheet = openpyxl.load_workbook(written["results"])["Readings"]
    headers = [cell.value for cell in sheet[5]]
    at = headers.index("Note") + 1
    assert tuple(headers[at : at + len(HEADERS)]) == HEADERS
    assert sheet.cell(7, at + 2).data_type == "s"


def grown(path: Path, header: str, values: dict[int, object]) -> Path:
    """Add a column to the table Readings as a person does in a spreadsheet program."""
    book = openpyxl.load_workbook(path)
    sheet = book["Readings"]
    table = sheet.tables["Readings"]
    column = len(table.tableColumns) + 1
    first, _, last = table.ref.partition(":")
    letter = get_column_letter(column)
    table.ref = f"{first}:{letter}{last.lstrip('ABCDEFGHIJKLMNOPQRSTUVWXYZ')}"
    table.tableColumns.append(TableColumn(id=column, name=header))
    sheet.cell(5, column).value = header
    for row, value in values.items():
        sheet.cell(row, column).value = value  # type: ignore[assignment]
    sheet["J7"].comment = Comment("clipped", "somebody")
    book.save(path)
    return path


def test_a_computed_column_of_earlier_results_is_nobody_s(results_of: ResultsOf, tmp_path: Path) -> None:
    """Typed beside the readings of an input it is its sender's own, and goes through results and back."""
    gone = "Sweep throttle (%)"
    earlier = grown(Path(shutil.copy(results_of(FEW).path, tmp_path)), gone, {6: 100, 8: 20})
    reading = read_workbook(earlier)
    assert reading.test.extras.columns == {}
    assert not any("Sweep" in told for told in reading.told)
    own = grown(write_input_workbook(ALL[FEW](), tmp_path / "in.xlsx"), gone, {6: 100, 8: 20})
    results = write_results(assess(read_workbook(own).test), tmp_path / "out.xlsx")
    for path in (own, results):
        assert read_workbook(path).test.extras.columns["Readings"][gone][:3] == [100.0, None, 20.0]


def test_a_column_added_by_another_program_is_carried_and_told(tmp_path: Path) -> None:
    path = grown(write_input_workbook(ALL[FEW](), tmp_path / "in.xlsx"), "Battery", {6: "blue", 8: 3})
    reading = read_workbook(path)
    assert 'Readings!Q5: column "Battery" is not known; it is carried to the results as it stands' in reading.told
    (note,) = reading.test.extras.notes
    assert (note.row, note.name, note.text, note.author) == (1, "current", "clipped", "somebody")
    results = read_workbook(write_results(assess(reading.test), tmp_path / "out.xlsx")).test.extras
    assert list(results.columns["Readings"]["Battery"][:4]) == ["blue", None, 3.0, None]
    assert results.notes == (note,)


def test_a_header_given_in_python_never_makes_a_workbook_that_nothing_opens(tmp_path: Path) -> None:
    test = replace(
        on_purpose({}), extras=Extras({"Readings": {"Wi\x07nd": [1.0], "Ti\ufffeme": [2.0], "Da\x1by": [3.0]}})
    )
    for path in (write_input_workbook(test, tmp_path / "in.xlsx"), write_results(assess(test), tmp_path / "out.xlsx")):
        assert [str(finding) for finding in lint(path)] == []
        assert read_workbook(path).test.extras.columns["Readings"] == {"Wi nd": [1.0], "Ti me": [2.0], "Da y": [3.0]}


def test_a_cell_in_a_row_without_readings_is_told(tmp_path: Path) -> None:
    path = grown(write_input_workbook(on_purpose({}), tmp_path / "in.xlsx"), "Battery", {6: "blue", 30: "lost"})
    told = read_workbook(path).told
    assert "Readings!Q30: 1 cell stands in a row without readings; not carried to the results" in told


def test_what_stands_outside_the_tables_is_told(tmp_path: Path) -> None:
    path = write_input_workbook(on_purpose({}), tmp_path / "in.xlsx")
    book = openpyxl.load_workbook(path)
    book["Readings"]["T9"] = "a remark beside the table"
    book["Motor"]["H2"] = 5
    book.save(path)
    told = "\n".join(read_workbook(path).told)
    assert '1 cell outside the tables of Readings (the first: Readings!T9 "a remark beside the table")' in told
    assert "1 cell outside the tables of Motor (the first: Motor!H2" in told


def test_a_workbook_as_written_has_nothing_to_tell(results_of: ResultsOf, tmp_path: Path) -> None:
    for name in ("thimble-2207", "one reading"):
        assert read_workbook(write_input_workbook(ALL[name](), tmp_path / f"{name}.xlsx")).told == ()
        assert read_workbook(results_of(name).path).told == ()


def test_a_note_on_a_written_sheet_is_told(results_of: ResultsOf, tmp_path: Path) -> None:
    path = Path(shutil.copy(results_of("one reading").path, tmp_path / "a results.xlsx"))
    book = openpyxl.load_workbook(path)
    book["Summary"]["B3"].comment = Comment("Why so low?", "a reader")
    book.save(path)
    told = "\n".join(read_workbook(path).told)
    assert 'Summary!B3: the note "Why so low?" is not carried to the results' in told


def media(path: Path, change: bytes) -> Path:
    """Replace the contents of every picture in a workbook."""

    def replace_all(parts: dict[str, bytes]) -> None:
        for name in parts:
            if name.startswith("xl/media/"):
                parts[name] = change

    return with_parts(path, replace_all)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"II*\0 a tagged image", "it is no PNG, JPEG, GIF or BMP"),
        (b"\x89PNG\r\n\x1a\n", "it is damaged"),
        (b"\xff\xd8\xff\xe0", "it is damaged"),
        (b"BM", "it is damaged"),
        (b"GIF8", "it is damaged"),
        (b"", "it is no PNG, JPEG, GIF or BMP"),
    ],
)
def test_a_picture_that_cannot_be_carried_is_told(
    written: dict[str, Path], tmp_path: Path, content: bytes, said: str
) -> None:
    reading = read_workbook(media(Path(shutil.copy(written["input"], tmp_path)), content))
    assert reading.test.extras.pictures == ()
    assert f"Motor: a picture is not carried to the results: {said}" in reading.told
    assert f"Readings: a picture is not carried to the results: {said}" in reading.told


def test_pictures_beyond_all_measure_are_told(written: dict[str, Path], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("xlsengine.workbook.reading.attachments.LARGEST_PICTURES", len(png(40, 30)) + 10)
    reading = read_workbook(written["input"])
    assert len(reading.test.extras.pictures) == 1
    assert any("all pictures together are too large" in told for told in reading.told)


def test_a_chart_that_somebody_drew_on_an_input_sheet_is_told(tmp_path: Path) -> None:
    path = write_input_workbook(on_purpose({}), tmp_path / "in.xlsx")
    book = openpyxl.load_workbook(path)
    chart = LineChart()
    chart.add_data(Reference(book["Readings"], min_col=10, min_row=5, max_row=8))
    book["Readings"].add_chart(chart, "T20")  # type: ignore[call-arg]
    book.save(path)
    assert "Readings: a chart is not carried to the results" in read_workbook(path).told


@pytest.mark.parametrize("number", ["9" * 30, "-5", "inf", "nan", "1e308"])
def test_places_and_sizes_beyond_a_sheet_do_no_harm(written: dict[str, Path], tmp_path: Path, number: str) -> None:
    """A stranger's drawing may state anything; it is kept to what a sheet can show, or the file is refused."""
    path = Path(shutil.copy(written["input"], tmp_path / "in.xlsx"))

    def change(parts: dict[str, bytes]) -> None:
        for name in parts:
            if name.startswith("xl/drawings/drawing"):
                parts[name] = parts[name].replace(b'cx="1905000"', f'cx="{number}"'.encode())

    with_parts(path, change)
    assert f'cx="{number}"'.encode() in b"".join(
        zipfile.ZipFile(path).read(f"xl/drawings/drawing{i}.xml") for i in (1, 2)
    )
    write_input_workbook(read_workbook(path).test, tmp_path / "out.xlsx")
