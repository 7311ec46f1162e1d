"""Cautions stand where the hands are, and a check of something dangerous says to stop before it says what to type."""

from functools import cache
from pathlib import Path

import openpyxl
import pytest

import xlsengine
from demo_inputs.make_demo_inputs import bench_test_of
from demo_inputs.scenario import DEMO_TESTS
from xlsengine.bench.checks.row_checks import ROW_CHECKS
from xlsengine.cautions import CAUTIONS, DEFERENCE, IN_ONE_LINE, SHEET_CAUTIONS
from xlsengine.study.assessment import assess
from xlsengine.workbook.reading.reader import read_workbook

pytestmark = pytest.mark.filterwarnings("ignore:.*extension is not supported")  # openpyxl, of our conditional formats
ROOT = Path(__file__).parent.parent
STOP = {
    "Volts per cell too high",
    "Volts per cell too low",
    "Slow for Kv times volts at full throttle",
    "Hot motor",
    "Volts per cell impossible",
}
# What each place has to speak of, whatever its wording: (sheet, words). Common practice, no source.
HEEDED = (
    ("Bench", ("propeller off", "fuse", "polarity", "throttle at zero", "puffed", "3.0 V")),
    ("No load", ("propeller off for every spin", "driven motor are live", "insulate", "clamp")),
    ("Readings", ("guard", "eye protection", "power cut-off", "stop at smoke", "power off before you touch")),
)


@cache
def book(path: Path) -> openpyxl.Workbook:
    return openpyxl.load_workbook(path, data_only=True)


def texts(path: Path, sheet: str) -> set[str]:
    """Return every text of a sheet."""
    rows = book(path)[sheet].iter_rows(values_only=True)
    return {value for row in rows for value in row if isinstance(value, str)}


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return xlsengine.write_results(assess(bench_test_of(DEMO_TESTS[0])), tmp_path_factory.mktemp("cautions") / "r.xlsx")


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return xlsengine.write_template(tmp_path_factory.mktemp("cautions") / "template.xlsx")


def test_start_and_the_readme_hold_every_caution_in_full(template: Path, results: Path) -> None:
    readme = " ".join((ROOT / "README.md").read_text(encoding="utf-8").replace("**", "").split())
    for caution in (*(each.full for each in CAUTIONS), DEFERENCE):
        assert caution in readme
        assert caution in texts(template, "Start")
        assert caution in texts(results, "Start")


def test_the_report_holds_every_caution_whole_and_one_line_on_its_first_page(results: Path) -> None:
    assert {*(each.full for each in CAUTIONS), DEFERENCE, IN_ONE_LINE} <= texts(results, "Report")


@pytest.mark.parametrize(("sheet", "words"), HEEDED, ids=[sheet for sheet, _ in HEEDED])
def test_cautions_stand_where_the_hands_are(template: Path, results: Path, sheet: str, words: tuple[str, ...]) -> None:
    for path in (template, results):
        assert SHEET_CAUTIONS[sheet] in texts(path, sheet)
    assert [word for word in words if word.lower() not in SHEET_CAUTIONS[sheet].lower()] == []


def test_a_caution_is_no_cell_outside_the_tables(results: Path, tmp_path: Path) -> None:
    path = xlsengine.write_input_workbook(bench_test_of(DEMO_TESTS[0]), tmp_path / "in.xlsx")
    for each in (path, results):
        assert [line for line in read_workbook(each).told if "outside the tables" in line] == []


def test_a_caution_in_earlier_words_is_no_cell_outside_the_tables_either(tmp_path: Path) -> None:
    """The words of the release before, as they stand in people's workbooks."""
    path = xlsengine.write_input_workbook(bench_test_of(DEMO_TESTS[0]), tmp_path / "in.xlsx")
    held = openpyxl.load_workbook(path)
    (cell,) = [one for row in held["Readings"].iter_rows() for one in row if one.value == SHEET_CAUTIONS["Readings"]]
    cell.value = (
        "Guard up, everybody out of the propeller's plane, eye protection on, power cut-off in reach; check blades, nut, "
        "screws and clamps before each run. Stop at smoke, a smell, a screech or a new vibration. Power off before you "
        "touch anything; motor and ESC stay hot."
    )
    held.save(path)
    assert [line for line in read_workbook(path).told if "outside the tables" in line] == []


def test_checks_of_heat_cell_volts_and_lost_synchronism_say_stop_first() -> None:
    assert {check.title for check in ROW_CHECKS if check.fix.startswith("Stop")} == STOP


def test_no_demo_tells_of_an_insulation_test() -> None:
    said = [
        str(value) for demo in DEMO_TESTS for rows in demo.tables.values() for row in rows for value in row.values()
    ]
    assert [text for text in said if " V" in text or "insulation" in text.lower()] == []
