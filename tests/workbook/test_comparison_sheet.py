"""The sheet Comparison: the same in every program, live on this motor, the same bytes again, no hindrance on the way back."""

import random
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from openpyxl.worksheet.cell_range import CellRange

from tests.instruments.editing import edited_copy
from tests.instruments.findings import Finding
from tests.instruments.linter import lint
from tests.instruments.recalculate import IronSheet, differences, iron_edit, stored_values
from tests.library.made_library import comparison_of, demo, peers_of
from tests.workbook.agreement import AgreesEverywhere
from tests.workbook.engine_values import WrittenResults, write
from tests.workbook.made_edits import Change, made_change
from xlsengine.bench.comparison.class_motors import scatter_told
from xlsengine.bench.comparison.ranking import comparison_line
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.inputs.bench_test import input_hash
from xlsengine.bench.model import COMPARISON_PARTS
from xlsengine.study.assessment import assess
from xlsengine.study.comparison import Comparison
from xlsengine.workbook.comparing import returned_changes
from xlsengine.workbook.derived_cells import How
from xlsengine.workbook.reading.reader import read_workbook
from xlsengine.workbook.results import write_results

pytestmark = pytest.mark.filterwarnings("ignore:.*extension is not supported")
TEST = demo()
PEERS = peers_of(TEST, 3)


@pytest.fixture(scope="module")
def compared() -> Comparison:
    return comparison_of(TEST, PEERS)[1]


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory, compared: Comparison) -> WrittenResults:
    return write(TEST, tmp_path_factory.mktemp("compared") / "motor results.xlsx", compared)


@pytest.fixture
def written(results: WrittenResults) -> WrittenResults:
    return results


@pytest.fixture(scope="module")
def book(results: WrittenResults) -> openpyxl.Workbook:
    """Return the values as a person sees them."""
    return openpyxl.load_workbook(results.path, data_only=True)


class TestAgreement(AgreesEverywhere):
    """Of the workbook above."""

    @pytest.fixture
    def written(self, results: WrittenResults) -> Path:
        return results.path

    def test_stored_values_are_the_engines_and_live(self, results: WrittenResults) -> None:
        stored = stored_values(results.path)
        assert differences(stored, results.values(TEST)) == []
        assert sum(sheet == "Comparison" for sheet, _ in stored) > 1000


def test_the_package_is_sound(written: WrittenResults) -> None:
    found: list[Finding] = lint(written.path)
    assert found == []


def test_figures_of_a_comparison_that_are_needed_are_named_cells(written: WrittenResults) -> None:
    names = set(openpyxl.load_workbook(written.path).defined_names)
    declared = {name for part in COMPARISON_PARTS if isinstance(part, Figures) for name in part.quantities}
    assert {comparison_line.name, scatter_told.name} <= names & declared


def test_the_same_input_and_library_give_the_same_bytes(written: WrittenResults, tmp_path: Path) -> None:
    assessment, comparison = comparison_of(TEST, PEERS)
    again = write_results(assessment, tmp_path / "again.xlsx", comparison=comparison)
    assert again.read_bytes() == written.path.read_bytes()


def test_it_stands_second_and_the_report_has_its_line(book: openpyxl.Workbook) -> None:
    assert book.sheetnames[:2] == ["Report", "Comparison"]
    texts = [str(cell.value) for row in book["Report"].iter_rows(max_row=10) for cell in row if cell.value]
    line = next(text for text in texts if text.startswith("Against its class: "))
    assert "lightest of 4" in line
    assert "% are noise" in line
    assert "One sample of each." in line
    assert line in [cell.value for row in book["Comparison"].iter_rows(max_row=6) for cell in row]


def test_without_a_library_there_is_no_trace_of_it(tmp_path: Path) -> None:
    path = write_results(assess(TEST), tmp_path / "plain.xlsx", comparison=Comparison({}, 0, ("alone",)))
    book = openpyxl.load_workbook(path)
    assert "Comparison" not in book.sheetnames
    assert not any(name.startswith(("comparison_", "class_thrust")) for name in book.defined_names)
    assert "Compared" not in {cell.value for cell in book["Method"]["G"]}


def test_ranks_and_verdicts_follow_every_change(written: WrittenResults) -> None:
    iron, rng, undo = IronSheet(written.path), random.Random(4), Change({})
    for _ in range(8):
        change = made_change(TEST, written.layout, rng)
        found = iron.edit([*undo.edits(written.layout), *change.edits(written.layout)])
        assert differences(written.values(change.applied(TEST)), found) == [], str(change)
        undo = change.undone(TEST)


def test_a_reading_changed_by_hand_moves_the_comparison(written: WrittenResults) -> None:
    """A third more thrust typed into every reading of this motor: verdicts, places, sentence and the Report's line."""
    peers, compared_rows = (written.layout.blocks[name] for name in ("Peers", "Compared"))
    readings = written.layout.blocks["Readings"]
    places = [readings.local("thrust", row).replace("$", "") for row in range(1, TEST.rows("Readings") + 1)]
    more = np.round(TEST.tables["Readings"]["thrust"] * 1.33).tolist()
    edits = [("Readings", place, value) for place, value in zip(places, more, strict=True)]
    before, after = stored_values(written.path), iron_edit(written.path, edits)
    against = [
        ("Comparison", peers.local("peer_thrust_against", row).replace("$", "")) for row in range(1, peers.rows + 1)
    ]
    assert {str(after[cell]).split(", ")[-1] for cell in against if after.get(cell)} == {"lower"}
    assert {str(before[cell]).split(", ")[-1] for cell in against if before.get(cell)} != {"lower"}
    standing = ("Comparison", compared_rows.local("compared_thrust_standing", 1).replace("$", ""))
    assert str(after[standing]).startswith("1st of ")
    lines = [
        {str(value) for value in values.values() if str(value).startswith("Against its class")}
        for values in (before, after)
    ]
    assert len(lines[0]) == len(lines[1]) == 1
    assert "thrust 1st of" in lines[1].pop()
    assert lines[0] != lines[1]


def test_it_comes_back(written: WrittenResults) -> None:
    reading = read_workbook(written.path)
    assert reading.faults == ()
    assert input_hash(reading.test) == input_hash(TEST)
    changed = returned_changes(written.path, reading, assess(reading.test))
    assert changed is not None
    assert changed.is_empty


def test_a_rank_that_was_typed_over_is_told(written: WrittenResults, tmp_path: Path) -> None:
    block = written.layout.blocks["Peers"]
    place = block.local("peer_thrust_against", 1).replace("$", "")
    edited = edited_copy(written.path, tmp_path / "edited results.xlsx", [("Comparison", place, "far ahead")])
    reading = read_workbook(edited)
    changed = returned_changes(edited, reading, assess(reading.test))
    assert changed is not None
    assert [(cell.place, cell.how) for cell in changed.derived] == [(f"Comparison!{place}", How.TYPED_OVER)]


def test_ranks_from_before_an_edit_are_called_that(written: WrittenResults, tmp_path: Path) -> None:
    """As a program leaves them that saves without recalculating."""
    edits = [("Readings", f"K{row}", 1300.0) for row in range(6, 16)]
    edited = edited_copy(written.path, tmp_path / "edited results.xlsx", edits)
    reading = read_workbook(edited)
    changed = returned_changes(edited, reading, assess(reading.test))
    assert changed is not None
    found = {cell.how for cell in changed.derived if cell.place.startswith("Comparison!")}
    assert found == {How.STALE}


def test_every_figure_of_a_motor_is_printed(book: openpyxl.Workbook) -> None:
    """What a page has no room for beside the other figures stands below them, with the same motors in the same order."""
    sheet = book["Comparison"]
    area = CellRange(sheet.print_area.partition("!")[2].replace("$", ""))
    printed = sheet.iter_rows(area.min_row, area.max_row, area.min_col, area.max_col)
    cells = {str(cell.value): cell for row in printed for cell in row if cell.value not in (None, "")}
    for header in ("Different conditions", "Thrust, read (g)", "Voltage (V)", "Nothing beats it", "Trimmed mass (g)"):
        assert header in cells, header
    first, further = (
        [cell.value for cell in sheet[letter]][cells[header].row : cells[header].row + 3]
        for header in ("Different conditions", "Nothing beats it")
        for letter in (cells["Motor"].column_letter,)
    )
    assert first == further
    assert all(first)
