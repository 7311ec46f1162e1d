"""Texts that no cell can hold are refused before anything is written; line ends and markup survive the way round."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import xlsengine
from tests.workbook.reader_workbooks import DEMO, demo_workbook, edited, reading_cells
from tests.workbook.test_extras import grown
from xlsengine.bench.inputs.bench_test import BenchTest, bench_test, input_hash
from xlsengine.bench.inputs.extras import CellNote, Extras
from xlsengine.errors import Reason, WorkbookFaulty
from xlsengine.study.assessment import assess
from xlsengine.workbook.reading.reader import read_bench_test, read_workbook

ROW = {
    "prop": "5x4",
    "diameter": 5.0,
    "pitch": 4.0,
    "blades": 2.0,
    "cells": 4.0,
    "kind": "steady",
    "voltage": 15.0,
    "current": 20.0,
    "thrust": 700.0,
}
LONG, HALF = "x" * 32_768, "a\ud800b"
NOTE = CellNote("see log", "tester", "Readings", 0, "Readings", "current")

REFUSED: dict[str, tuple[dict[str, Any], Reason, str]] = {
    "half a pair in a field": ({"fields": {"tester": HALF}}, Reason.WRONG_TYPE, "bench test"),
    "a long field": ({"fields": {"tester": LONG}}, Reason.OUT_OF_LIMITS, "bench test"),
    "a text long only as cells count": ({"fields": {"tester": "🛩" * 16_384}}, Reason.OUT_OF_LIMITS, "bench test"),
    "half a pair in a row": ({"tables": {"Readings": [ROW | {"note": HALF}]}}, Reason.WRONG_TYPE, "Readings row 1"),
    "a long note of a row": (
        {"tables": {"Readings": [ROW, ROW | {"note": LONG}]}},
        Reason.OUT_OF_LIMITS,
        "Readings row 2",
    ),
    "a long propeller": ({"tables": {"Readings": [ROW | {"prop": "p" * 256}]}}, Reason.OUT_OF_LIMITS, "Readings row 1"),
    "half a pair in a column of its own": (
        {"extras": Extras({"Readings": {"Pack": [HALF]}})},
        Reason.WRONG_TYPE,
        "Readings row 1",
    ),
    "a long header": ({"extras": Extras({"Readings": {"h" * 256: [1.0]}})}, Reason.OUT_OF_LIMITS, "Readings"),
    "half a pair in a note": ({"extras": Extras({}, (replace(NOTE, text=HALF),))}, Reason.WRONG_TYPE, "Readings row 1"),
    "half a pair in an author": (
        {"extras": Extras({}, (replace(NOTE, author=HALF),))},
        Reason.WRONG_TYPE,
        "Readings row 1",
    ),
}


@pytest.mark.parametrize(("given", "reason", "place"), REFUSED.values(), ids=REFUSED)
def test_texts_that_no_cell_holds(given: dict[str, Any], reason: Reason, place: str) -> None:
    with pytest.raises(WorkbookFaulty) as caught:
        bench_test(**given)
    assert [(fault.reason, fault.place) for fault in caught.value.faults] == [(reason, place)]


def test_all_of_them_are_told_at_once() -> None:
    with pytest.raises(WorkbookFaulty) as caught:
        bench_test({"tester": HALF, "model": LONG}, {"Readings": [ROW | {"note": HALF}]})
    assert len(caught.value.faults) == 3


def _round(test: BenchTest, folder: Path, results: bool) -> BenchTest:
    if results:
        return read_bench_test(xlsengine.write_results(assess(test), folder / "a results.xlsx"))
    return read_bench_test(xlsengine.write_input_workbook(test, folder / "a.xlsx"))


@pytest.mark.parametrize("results", [False, True], ids=["input", "results"])
def test_line_ends_come_back_as_they_went(results: bool, tmp_path: Path) -> None:
    fields = {**DEMO.fields, "tester": "one\r\ntwo\rthree\nfour"}
    rows = [ROW | {"note": "first\r\nsecond"}]
    extras = Extras({"Readings": {"Pack": ["red\nblue"]}}, (replace(NOTE, text="up\ndown"),))
    test = bench_test(fields, {"Readings": rows}, extras)
    assert test.fields["tester"] == "one\ntwo\nthree\nfour"
    back = _round(test, tmp_path, results)
    assert input_hash(back) == input_hash(test)
    assert back.tables["Readings"]["note"][0] == "first\nsecond"
    assert list(back.extras.columns["Readings"]["Pack"]) == ["red\nblue"]
    assert back.extras.notes[0].text == "up\ndown"


def test_line_ends_typed_elsewhere_are_read_as_ours(tmp_path: Path) -> None:
    reading = read_workbook(edited(tmp_path, reading_cells(P6="first_x000D_\nsecond")))
    assert reading.test.tables["Readings"]["note"][0] == "first\nsecond"


@pytest.mark.parametrize("results", [False, True], ids=["input", "results"])
def test_headers_that_look_like_markup_come_back(results: bool, tmp_path: Path) -> None:
    headers = ["<r>Pack", "<b>&amp;</b>", "=1+1", "_x0041_", "{=A1}"]
    test = replace(DEMO, extras=Extras({"Readings": dict.fromkeys(headers, ["seen"] * DEMO.rows("Readings"))}))
    assert list(_round(test, tmp_path, results).extras.columns["Readings"]) == headers


def test_a_header_written_as_markup_goes_on_under_another_and_is_told(tmp_path: Path) -> None:
    """XlsxWriter takes a text written as <r>…</r> for the markup of a rich text and hands it on as it is."""
    path = grown(demo_workbook(tmp_path), "<r>Pack</r>", {6: "blue"})
    reading = read_workbook(path)
    assert 'Readings!Q5: the header "<r>Pack</r>" goes on as "<r>Pack</r> (own)"' in reading.told
    back = _round(reading.test, tmp_path, results=True)
    assert list(back.extras.columns["Readings"]) == ["<r>Pack</r> (own)"]
    with pytest.raises(WorkbookFaulty, match="which stands for markup"):
        bench_test(None, {}, Extras({"Readings": {"<r>Pack</r>": []}}))


def test_choices_that_match_no_row_are_told(tmp_path: Path) -> None:
    assert [told for told in read_workbook(demo_workbook(tmp_path)).told if "stands in no row" in told] == []
    fields = {**DEMO.fields, "lead_gauge": 29.0, "pack_cells": 12.0, "craft_propeller": "99x9"}
    path = xlsengine.write_input_workbook(replace(DEMO, fields=fields), tmp_path / "unmatched.xlsx")
    told = "\n".join(read_workbook(path).told)
    assert "29 stands in no row of the table Wires; what follows from the wire stays blank" in told
    assert "12 stands in no row of the table Readings; no row decides the advice" in told
    assert '"99x9" stands in no row of the table Readings; no row decides the advice' in told


@pytest.mark.parametrize(
    ("divisor", "told"),
    [(1, []), (100, ["Throttle (%): 0.2 to 1 look like shares, and are read as percent; type 50 for half throttle"])],
)
def test_throttles_as_shares_are_told_and_taken_as_they_stand(divisor: int, told: list[str], tmp_path: Path) -> None:
    rows = [ROW | {"throttle": throttle} for throttle in (None, 100 / divisor, 20 / divisor)]
    path = xlsengine.write_input_workbook(bench_test(None, {"Readings": rows}), tmp_path / "shares.xlsx")
    reading = read_workbook(path)
    assert [sentence for sentence in reading.told if sentence.startswith("Throttle")] == told
    assert reading.test.tables["Readings"]["throttle"].tolist()[1:] == [100 / divisor, 20 / divisor]
