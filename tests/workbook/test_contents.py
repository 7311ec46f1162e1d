"""The sheets of a results workbook: their order, which are not written, and the list that leads to them."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

import xlsengine
from tests.workbook.made_tests import on_purpose
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.bench.inputs.readings import PEAK
from xlsengine.study.comparison import Comparison
from xlsengine.workbook.results import CHANGES, SHEETS, write_results
from xlsengine.workbook.template import write_input_workbook

pytestmark = pytest.mark.filterwarnings("ignore:.*extension is not supported")  # openpyxl, of our conditional formats
PEAKS_ONLY = [
    {
        "prop": prop,
        "cells": cells,
        "kind": PEAK,
        "voltage": 3.6 * cells,
        "current": 7.0 * cells,
        "speed": None,
        "thrust": 240.0 * cells + diameter,
        "diameter": diameter,
        "run": run,
    }
    for run, (prop, diameter, cells) in enumerate(
        ((prop, diameter, cells) for prop, diameter in (("6x4", 6.0), ("7x5", 7.0)) for cells in (3.0, 4.0)), start=1
    )
]
NOT_FOR_PEAKS = {"Prediction", "Motor figures", "Speed figures", "Propellers", "Uncertainty", "Repeatability"}
MOST_SHEETS = 13
_NAMES = (
    "Report|Craft|ESC|Charts|Start|Checks|Readings|Motor|Bench|No load|Settings|Summary|Prediction|"
    "Motor figures|Speed figures|Propellers|Uncertainty|Repeatability|Method|Steps|Written from"
)
NAMES = _NAMES.split("|")


def peaks_only(**fields: Any) -> BenchTest:
    return on_purpose(*PEAKS_ONLY, **fields)


@pytest.fixture
def written(tmp_path: Path) -> Callable[[BenchTest], Any]:
    """Return what writes the results of a test and opens them."""

    def open_results(test: BenchTest) -> Any:
        return openpyxl.load_workbook(xlsengine.write_results(xlsengine.evaluate(test), tmp_path / "out.xlsx"))

    return open_results


@pytest.fixture(scope="module")
def of_peaks(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the results of peaks alone."""
    return write_results(xlsengine.evaluate(peaks_only()), tmp_path_factory.mktemp("contents") / "out.xlsx")


@pytest.fixture(scope="module")
def book(of_peaks: Path) -> Any:
    return openpyxl.load_workbook(of_peaks)


def visible(book: Any) -> set[str]:
    return {sheet.title for sheet in book if sheet.sheet_state == "visible"}


def listed(book: Any) -> dict[str, Any]:
    """Return the cells of the list by the sheet that each is of; below it stands how to use the workbook."""
    rows = [row[1] for row in book["Start"].iter_rows(4, 60)]
    end = next(place for place, row in enumerate(book["Start"].iter_rows(4, 60)) if row[0].value == "How to use it")
    return {str(cell.value).partition(":")[0]: cell for cell in rows[:end] if cell.value}


def test_kinds_stand_together_and_each_has_its_colour(book: Any) -> None:
    assert book.sheetnames == [name for name in NAMES if name not in NOT_FOR_PEAKS]
    colours = [book[name].sheet_properties.tabColor.rgb for name in book.sheetnames[:-2]]
    assert [colours.index(colour) for colour in dict.fromkeys(colours)] == [0, 5, 6, 11]
    assert book.active.title == "Report"


def test_what_was_changed_stands_second_where_a_workbook_came_back() -> None:
    assert [sheet.name for sheet in SHEETS] == [NAMES[0], "Changes", "Comparison", *NAMES[1:-2]]
    assert [sheet.name for sheet in SHEETS if sheet is not CHANGES] == [NAMES[0], "Comparison", *NAMES[1:-2]]


def test_without_readings_there_are_no_charts_either(written: Callable[[BenchTest], Any]) -> None:
    book = written(xlsengine.bench_test({}, {"Readings": []}))
    assert set(NAMES) - visible(book) == NOT_FOR_PEAKS | {"Charts", "Steps", "Written from"}


def test_for_peaks_alone_nothing_else_is_written(book: Any) -> None:
    assert set(NAMES) - visible(book) == NOT_FOR_PEAKS | {"Steps", "Written from"}
    assert len(visible(book)) <= MOST_SHEETS


@pytest.mark.parametrize(
    ("test", "sheet"),
    [
        (lambda: on_purpose(*PEAKS_ONLY, {"speed": 20_000.0, "kind": PEAK, "run": 9.0}), "Speed figures"),
        (lambda: on_purpose(*PEAKS_ONLY, {"speed": None, "run": 9.0}), "Prediction"),
        (lambda: on_purpose(*PEAKS_ONLY, PEAKS_ONLY[0] | {"run": 9.0, "thrust": 735.0}), "Repeatability"),
        (lambda: peaks_only(thrust_accuracy=5.0), "Uncertainty"),
    ],
    ids=["a speed", "a steady reading", "a repeat", "an accuracy"],
)
def test_one_reading_shows_its_sheet(
    written: Callable[[BenchTest], Any], test: Callable[[], BenchTest], sheet: str
) -> None:
    book = written(test())
    assert sheet in visible(book)
    assert listed(book)[sheet].hyperlink.location.replace("'", "") == f"{sheet}!A1"


def test_a_comparison_that_a_library_could_not_make_gives_its_reason(tmp_path: Path) -> None:
    why = "not compared: the library has no other motor of its class"
    found = xlsengine.evaluate(peaks_only())
    for comparison, said in ((Comparison({}, 0, (why,)), why), (None, "compare with a library of earlier tests")):
        write_results(found, tmp_path / "out.xlsx", overwrite=True, comparison=comparison)
        cells = listed(openpyxl.load_workbook(tmp_path / "out.xlsx"))
        assert cells["Comparison (not written)"].value.startswith(f"Comparison (not written): {said}")


def test_start_speaks_of_paper_only_where_there_is_such_a_sheet(book: Any, tmp_path: Path) -> None:
    inputs = openpyxl.load_workbook(write_input_workbook(peaks_only(), tmp_path / "in.xlsx"))
    for each in (book, inputs):
        texts = " ".join(str(cell.value) for row in each["Start"].iter_rows() for cell in row if cell.value)
        assert ("Paper is a sheet" in texts) is ("Paper" in each.sheetnames)
        assert "{" not in texts
    assert "Report: two pages to publish" in " ".join(str(cell.value) for cell in listed(book).values())


def test_tabs_of_an_empty_workbook_stand_in_the_order_of_its_steps(book: Any, tmp_path: Path) -> None:
    """And have the colours of results; nobody types on Paper."""
    inputs: Any = openpyxl.load_workbook(xlsengine.write_template(tmp_path / "in.xlsx"))
    assert inputs.sheetnames == ["Start", "Readings", "Motor", "Bench", "No load", "Craft", "Settings", "Paper"]
    assert inputs.active.title == "Start"
    colours = {sheet.title: sheet.sheet_properties.tabColor for sheet in inputs}
    assert colours.pop("Paper") is None
    of_results = {name: book[name].sheet_properties.tabColor.rgb for name in ("Start", "Motor")}
    assert colours.pop("Start").rgb == of_results["Start"]
    assert {colour.rgb for colour in colours.values()} == {of_results["Motor"]}
    steps = [str(inputs["Start"].cell(row, 2).value).partition(":")[0] for row in range(5, 10)]
    assert steps == ["Readings", "Motor", "Bench and No load", "Craft", "Settings"]


def test_the_list_leads_to_every_sheet_that_is_written(book: Any) -> None:
    cells = listed(book)
    led = {name for name in NAMES if name in cells and cells[name].hyperlink is not None}
    assert led == visible(book) - {"Start"}
    for name in NOT_FOR_PEAKS:
        said = cells[f"{name} (not written)"]
        assert said.hyperlink is None
        assert " to see " in said.value
    assert cells["Speed figures (not written)"].value == (
        "Speed figures (not written): read the speed to see figures of merit, and where the watts went."
    )


def test_no_link_of_a_sheet_leads_to_one_that_is_not_written(book: Any) -> None:
    targets = {
        str(cell.hyperlink.location).partition("!")[0].strip("'")
        for name in visible(book)
        for row in book[name].iter_rows()
        for cell in row
        if cell.hyperlink is not None
    }
    assert targets <= visible(book)
    assert targets
