"""What the command writes: every file, whole, the same each time; the workbook for readers; refusals."""

import csv
import io
import re
import shutil
import zipfile
from contextlib import closing
from pathlib import Path

import openpyxl
import pytest

import xlsengine
from tests.command_line import run
from tests.instruments.editing import edited_copy
from tests.library.made_library import demo, peers_of
from tests.publish.conftest import DEMO
from tests.publish.published_benches import session
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.jobs import make_results
from xlsengine.library.store import Library
from xlsengine.publish.assessed import Publication, Published, names_of, publish
from xlsengine.publish.content import AIR
from xlsengine.publish.tables import readings_csv, table_csv, table_markdown
from xlsengine.workbook.formats import CELL_COUNT_FILLS
from xlsengine.workbook.input_copy import NAME as COPY

SHOWN = ["Report", "Craft", "ESC", "Charts", "Start", "Checks", "Readings"]


def readers_workbook(published: Published) -> Path:
    return next(path for path in published.files if path.suffix == ".xlsx")


def test_command_writes_everything(published: Published, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Into a folder where one of the files stands; the bytes are those of another run."""
    source = Path(shutil.copy(DEMO, tmp_path / DEMO.name))
    before, name = source.read_bytes(), DEMO.stem
    folder = tmp_path / f"{name} to publish"
    folder.mkdir()
    (folder / f"{name}.html").write_text("an earlier page")
    assert run("publish", source) == 2
    assert "--overwrite" in capsys.readouterr().err
    assert [path.name for path in folder.iterdir()] == [f"{name}.html"]
    assert run("publish", source, "--overwrite") == 0
    (folder / f"{name} (before).html").unlink()
    assert sorted(path.name for path in folder.iterdir()) == sorted(names_of(name))
    said = capsys.readouterr().out
    assert said.startswith("Tarrowby (invented) Thimble 2207\n")
    assert said.count("\nwrote ") == len(names_of(name))
    doubts = said.partition("  look at these before you publish:\n")[2].partition("\nwrote ")[0]
    assert [line.split(":")[0].strip() for line in doubts.splitlines()[:4]] == 3 * ["impossible"] + ["doubtful"]
    same = {path.name: path.read_bytes() for path in folder.iterdir()} == {
        path.name: path.read_bytes() for path in published.files
    }
    assert same  # by itself, since to show where long bytes differ takes minutes
    assert source.read_bytes() == before


def test_readers_get_the_comparison_with_a_library(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Shown among the sheets to read, with this motor's line on the Report; and live, as every other sheet."""
    shelf = Library(tmp_path / "some.library")
    for test in peers_of(demo(), 2):
        shelf.add(test, "made")
    shelf.close()
    assert run("publish", DEMO, "-o", tmp_path / "out", "--library", tmp_path / "some.library") == 0
    assert "not compared" not in capsys.readouterr().out
    path = next((tmp_path / "out").glob("*.xlsx"))
    with closing(openpyxl.load_workbook(path, read_only=True)) as book:
        shown = [sheet.title for sheet in book if sheet.sheet_state == "visible"]
        live = [str(cell.value).startswith("=") for row in book["Comparison"] for cell in row]
    assert shown == ["Report", "Comparison", *SHOWN[1:]]
    assert any(live)
    with closing(openpyxl.load_workbook(path, read_only=True, data_only=True)) as book:
        texts = [str(cell.value) for row in book["Report"] for cell in row]
    assert any(text.startswith("Against its class: ") and "lightest of 3" in text for text in texts)


def test_faults_are_told_and_nothing_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    empty = xlsengine.write_template(tmp_path / "empty.xlsx")
    assert run("publish", empty) == 1
    assert "no row filled in" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["empty.xlsx"]


def test_results_workbook_is_published_under_its_tests_name(tmp_path: Path) -> None:
    results = xlsengine.write_results(session(2, [3, 4]), tmp_path / "motor results.xlsx")
    standing = tmp_path / "motor to publish" / "motor 1920x1080.png"
    standing.parent.mkdir()
    standing.write_text("an earlier picture")
    with pytest.raises(xlsengine.OutputRefused, match=r"motor to publish holds motor 1920x1080\.png already"):
        publish(results)


def test_folder_that_cannot_be_made_is_refused(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(xlsengine.OutputRefused, match="taken"):
        publish(DEMO, tmp_path / "taken")


def test_readers_see_the_sheets_to_read_alone(published: Published) -> None:
    with zipfile.ZipFile(readers_workbook(published)) as package:
        book = package.read("xl/workbook.xml").decode()
    sheets = re.findall(r'<sheet name="([^"]+)"[^>]*?(state="\w+")?[^>]*?/>', book)
    hidden = set(re.findall(r'<sheet name="([^"]+)"[^>]*state="(?:h|veryH)idden"', book))
    names = [name for name, _ in sheets]
    assert [name for name in names if name not in hidden] == SHOWN
    assert {"Settings", "Summary", "Method", "Motor"} <= hidden
    assert re.findall('<sheet name="([^"]+)"[^>]*veryHidden', book) == [COPY]


def test_readers_are_told_of_no_command(published: Published) -> None:
    """The name of the program stands in the file's properties and behind “Written by” alone."""
    with zipfile.ZipFile(readers_workbook(published)) as package:
        parts = {
            name: package.read(name).decode()
            for name in package.namelist()
            if name.startswith("xl/") and name.endswith("xml")
        }
    named = [found for text in parts.values() for found in re.findall(r"xlsengine[^<]{0,40}", text)]
    assert [found for found in named if not re.match(r"xlsengine \d", found)] == []
    assert not any(re.search(r"--overwrite|command line|\bFILE\b", text) for text in parts.values())


def test_workbook_for_readers_is_an_input_too(published: Published, assessment: xlsengine.Assessment) -> None:
    again = xlsengine.evaluate(xlsengine.read_bench_test(readers_workbook(published)))
    assert again.figures() == assessment.figures()


def test_what_was_changed_in_a_workbook_for_readers_is_told(published: Published, tmp_path: Path) -> None:
    handed_on = readers_workbook(published)
    untouched = make_results(handed_on, tmp_path / "again.xlsx").changes
    assert untouched is not None
    assert list(untouched.lines()) == ["nothing that is typed was changed"]
    edited = edited_copy(handed_on, tmp_path / "edited.xlsx", [("Readings", "A6", 77.0)])
    told = make_results(edited, tmp_path / "other.xlsx").changes
    assert told is not None
    assert [change.after for change in told.found.typed] == [77.0]


def test_table_csv_holds_what_the_page_shows(assessment: xlsengine.Assessment) -> None:
    content = Publication(assessment).content
    rows = list(csv.reader(io.StringIO(table_csv(content))))
    assert rows[0][:4] == ["Propeller", "Cells", "Thrust (g)", "Current (A)"]
    assert [(row[0], row[1], row[2]) for row in rows[1:]] == [
        (line.prop, line.cells, line.shown[0].replace(",", "")) for line in content.lines
    ]
    low, high = (rows[0].index(f"In flight, {end} (A)") for end in ("low", "high"))
    assert [f"{row[low]}–{row[high]}" for row in rows[1:]] == [line.shown[AIR] for line in content.lines]
    assert all(row[low].isdigit() and row[high].isdigit() for row in rows[1:])


def test_readings_csv_is_as_typed(assessment: xlsengine.Assessment) -> None:
    rows = list(csv.DictReader(io.StringIO(readings_csv(assessment.scope))))
    thrusts = assessment.scope.column(READINGS.name, "thrust").tolist()[: len(rows)]
    assert [float(row["Thrust (g)"]) for row in rows] == thrusts
    assert any(row["Flag"] for row in rows)


def test_no_cell_of_a_csv_is_a_formula() -> None:
    made = session(2, [4], name='=HYPERLINK("x") {}')
    for text in (table_csv(Publication(made).content), readings_csv(made.scope)):
        for row in csv.reader(io.StringIO(text)):
            assert not any(cell.startswith(("=", "+", "@")) for cell in row)


def test_markdown_keeps_its_table_whole() -> None:
    made = session(2, [3, 4], name="a|b *c* {}")
    text = table_markdown(Publication(made).content, [("motor.png", "What it [shows]")])
    lines = [line for line in text.splitlines() if line.startswith("| ")]
    assert len(lines) == 2 + 4
    assert {len(re.findall(r"(?<!\\)\|", line)) for line in lines} == {len(re.findall(r"\|", lines[0]))}
    assert "![What it \\[shows\\]](<motor.png>)" in text
    assert " \\* Amps in the air:" in text  # the note of "In flight* (A)"


def test_cell_counts_have_the_same_colours_everywhere(published: Published, assessment: xlsengine.Assessment) -> None:
    """On the charts of Report and Charts, in the SVG and in the page's table: 4S and 5S, the first and second of all."""
    wanted = {"4S": CELL_COUNT_FILLS[0], "5S": CELL_COUNT_FILLS[1]}
    with zipfile.ZipFile(readers_workbook(published)) as package:
        charts = [package.read(name).decode() for name in package.namelist() if name.startswith("xl/charts/chart")]
    found = set()
    for chart in charts:
        for series in re.findall(r"<c:ser>.*?</c:ser>", chart, re.DOTALL):
            name = re.search(r"<c:v>(\d)( cells|S)</c:v>", series)
            colour = re.search(r'srgbClr val="(\w+)"', series)
            if name and colour:
                found.add((f"{name[1]}S", name[2], f"#{colour[1]}"))
    assert found == {(count, words, colour) for count, colour in wanted.items() for words in (" cells", "S")}
    drawings = Publication(assessment).charts_svg()
    for title in ("Thrust at full throttle, by propeller", "Thrust against power"):
        assert [each for each in wanted.values() if each not in drawings[title]] == []
