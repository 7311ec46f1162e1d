"""A results workbook carries what it was written from, through every program; a copy that was changed is no copy."""

import datetime
import shutil
import zipfile
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.instruments.editing import edited_copy
from tests.workbook.made_tests import ALL, on_purpose
from tests.workbook.reader_workbooks import replaced, with_parts
from xlsengine.bench.inputs.bench_test import BenchTest, input_hash
from xlsengine.bench.inputs.extras import Extras
from xlsengine.study.assessment import assess
from xlsengine.study.changes import typed_changes
from xlsengine.workbook import input_copy
from xlsengine.workbook.comparing import LOST, read_returned
from xlsengine.workbook.input_copy import decoded, encoded
from xlsengine.workbook.reading.reader import read_workbook
from xlsengine.workbook.results import write_results
from xlsengine.workbook.template import write_input_workbook


def with_extras(test: BenchTest) -> BenchTest:
    """Give a test a column of every kind of value."""
    moments = (datetime.date(2026, 5, 31), datetime.datetime(2026, 5, 31, 12, 30), datetime.time(8, 15))
    rows = test.rows("Readings")
    kinds = {f"kind {place}": [value] * rows for place, value in enumerate((None, True, 1.5, "=1+1", *moments))}
    return replace(test, extras=Extras({"Readings": kinds}))


@pytest.mark.parametrize("name", ALL)
def test_what_was_encoded_is_decoded(name: str) -> None:
    test = with_extras(ALL[name]())
    again = decoded(encoded(test))
    assert input_hash(again) == input_hash(test)
    assert list(typed_changes(test, again)) == []
    columns = {header: list(values) for header, values in again.extras.columns["Readings"].items()}
    assert columns == test.extras.columns["Readings"]


@pytest.mark.parametrize("name", ["names like formulas", "signs that XML cannot hold", "colander-2306"])
def test_the_text_holds_nothing_that_a_program_could_take_for_more(name: str) -> None:
    text = encoded(ALL[name]())
    assert text.isascii()
    assert text.isprintable()
    assert "_x" not in text


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{}",
        "[]",
        "null",
        "1",
        '{"fields":1,"tables":{},"columns":{}}',
        "[" * 100_000,
        '{"fields":{"label_kv":"fast"},"tables":{},"columns":{}}',
        '{"fields":{"label_kv":1e999},"tables":{},"columns":{}}',
        '{"fields":{"label_kv":NaN},"tables":{},"columns":{}}',
        '{"fields":{"test_date":{"date":"yesterday"}},"tables":{},"columns":{}}',
        '{"fields":{},"tables":{"Readings":{"thrust":[1,2],"prop":["a"]}},"columns":{}}',
        '{"fields":{},"tables":{"Readings":{"thrust":7}},"columns":{}}',
        '{"fields":{},"tables":{},"columns":{"Readings":{"Pack":[{"a":1}]}}}',
        '{"fields":{"label_kv":' + "9" * 400 + '},"tables":{},"columns":{}}',
    ],
)
def test_what_is_no_copy_is_refused(text: str) -> None:
    with pytest.raises(ValueError):  # noqa: PT011  whatever is wrong with it
        decoded(text)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("written")
    return write_results(assess(with_extras(on_purpose({}, {"prop": "9x6"}))), folder / "a results.xlsx")


@pytest.fixture
def results(written: Path, tmp_path: Path) -> Path:
    return shutil.copyfile(written, tmp_path / "a results.xlsx")


def before_of(path: Path) -> tuple[BenchTest | None, tuple[str, ...]]:
    returned = read_returned(path, read_workbook(path))
    assert returned is not None
    return None if returned.written is None else returned.written.test, returned.told


def test_the_copy_is_out_of_sight(results: Path) -> None:
    with zipfile.ZipFile(results) as archive:
        sheets = ElementTree.fromstring(archive.read("xl/workbook.xml")).iter()
    states = {sheet.get("name"): sheet.get("state") for sheet in sheets if sheet.tag.endswith("}sheet")}
    assert states.pop(input_copy.NAME) == "veryHidden"
    assert set(states.values()) <= {None, "hidden"}


def test_the_copy_is_found_again(results: Path) -> None:
    before, told = before_of(results)
    assert before is not None
    assert told == ()
    assert list(typed_changes(before, with_extras(on_purpose({}, {"prop": "9x6"})))) == []


def test_a_copy_cut_into_pieces_is_found_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(input_copy, "PIECE", 7)
    before, _ = before_of(write_results(assess(on_purpose({})), tmp_path / "a.xlsx"))
    assert before is not None
    assert input_hash(before) == input_hash(on_purpose({}))


@pytest.mark.parametrize("text", ["", "{}", "something else", encoded(on_purpose({"thrust": 5.0}))])
def test_a_copy_that_was_changed_is_told(results: Path, tmp_path: Path, text: str) -> None:
    """Even a sound copy of other inputs is none of these: its hash is not the one the workbook states."""
    changed = edited_copy(results, tmp_path / "changed.xlsx", [(input_copy.NAME, f"A{input_copy.FIRST_ROW + 1}", text)])
    assert before_of(changed) == (None, (LOST,))


def test_a_copy_that_was_deleted_is_told(results: Path) -> None:
    with_parts(results, replaced("xl/workbook.xml", f'name="{input_copy.NAME}"', 'name="Other"'))
    assert before_of(results) == (None, (LOST,))


def test_an_input_workbook_carries_no_copy(tmp_path: Path) -> None:
    path = write_input_workbook(on_purpose({}), tmp_path / "in.xlsx")
    assert read_returned(path, read_workbook(path)) is None
