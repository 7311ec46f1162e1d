"""A sheet that is put together of parts: it is placed, written, listed, coloured and computed like those of the engine."""

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.instruments.linter import lint
from tests.instruments.recalculate import differences, iron_values, stored_values
from tests.workbook.engine_values import WrittenResults, write
from tests.workbook.made_tests import ALL
from xlsengine.bench.groups.repeatability import PEAKS
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.propagation.accuracies import ACCURACIES
from xlsengine.expression import Aggregate, Constant, join
from xlsengine.workbook import results
from xlsengine.workbook.results import SHEETS
from xlsengine.workbook.sheets.parts import FiguresPart, Kind, Sentences, SheetPlan, TablePart, any_of

pytestmark = pytest.mark.filterwarnings("ignore:.*extension is not supported")  # openpyxl, of our conditional formats
WARMTH = SheetPlan(
    "Warmth",
    Kind.WORKING,
    "how much it is loaded",
    heading="A trial of a sheet with everything on it.",
    parts=(
        Sentences((join("Most watts: ", Aggregate("largest", (r.power,), (), Constant(1.0)).fixed(0), "."),)),
        TablePart(PEAKS, "Peaks", ("peak_prop",), above={"peak_prop": join("below: propellers")}, row_height=30),
        FiguresPart(ACCURACIES),
    ),
    measured=any_of(r.power),
    more="Read amps to see how much it is loaded",
)


def with_trial(monkeypatch: pytest.MonkeyPatch) -> None:
    others = [sheet for sheet in SHEETS if sheet.name != "Repeatability"]  # its table and list are on the trial
    monkeypatch.setattr(results, "SHEETS", (*others[:-1], WARMTH, others[-1]))


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> WrittenResults:
    with pytest.MonkeyPatch.context() as monkeypatch:
        with_trial(monkeypatch)
        return write(ALL["thimble-2207"](), tmp_path_factory.mktemp("trial") / "results.xlsx")


def start_lines(book: Any) -> list[str]:
    return [str(row[1].value) for row in book["Start"].iter_rows(4, 60)]


def test_all_of_it_stands_there_and_computes(written: WrittenResults) -> None:
    assert lint(written.path) == []
    assert differences(stored_values(written.path), iron_values(written.path)) == []
    assert differences(stored_values(written.path), written.values(written.assessment.test)) == []
    sheet: Any = openpyxl.load_workbook(written.path, data_only=True)["Warmth"]
    assert sheet["A2"].value == "A trial of a sheet with everything on it."
    assert str(sheet["A4"].value).startswith("Most watts: ")
    header = written.layout.blocks[PEAKS.name].top + 1
    assert sheet.cell(header, 1).value == "Prop"
    assert sheet.cell(header - 1, 1).value == "below: propellers"
    assert sheet.row_dimensions[header + 1].height == 30
    assert written.layout.blocks[ACCURACIES.name].top > written.layout.blocks[PEAKS.name].bottom


def test_list_and_tabs_follow(written: WrittenResults) -> None:
    book: Any = openpyxl.load_workbook(written.path)
    assert book.sheetnames[-4:] == ["Warmth", "Method", "Steps", "Written from"]
    assert "Warmth: how much it is loaded" in start_lines(book)
    tabs = [book[name].sheet_properties.tabColor.rgb for name in ("Warmth", "Summary", "Report")]
    assert tabs[0] == tabs[1] != tabs[2]


def test_where_nothing_was_read_it_is_not_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with_trial(monkeypatch)
    book = openpyxl.load_workbook(write(ALL["nothing at all"](), tmp_path / "results.xlsx").path)
    assert "Warmth" not in book.sheetnames
    assert "Warmth (not written): read amps to see how much it is loaded." in start_lines(book)
