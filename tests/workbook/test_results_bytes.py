"""The same input gives the same bytes, typed texts stay texts, and prepared formulas are those XlsxWriter writes."""

import re
import zipfile
from collections.abc import Iterator, Sequence
from itertools import cycle
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from xlsxwriter.worksheet import Worksheet

from tests.expression_trees import filled_in
from tests.instruments.recalculate import IronSheet, differences, stored_values
from tests.workbook.engine_values import ResultsOf
from tests.workbook.made_edits import Change
from tests.workbook.made_tests import ALL, DEMOS, FULL, MADE, ODD_TEXTS, Row, on_purpose
from xlsengine.bench.declaring.declare import Field
from xlsengine.bench.inputs.bench_test import BenchTest, Value, bench_test
from xlsengine.bench.inputs.forms import FIELDS, INPUT_TABLES
from xlsengine.study.assessment import assess
from xlsengine.workbook import book
from xlsengine.workbook.results import write_results
from xlsengine.workbook.template import write_input_workbook

MARK = "typed(1)"
STARTS = ("=", "+", "-", "@", '="', "{=", "=HYPERLINK(", "internal:", "https://", "\t=")


def as_written(path: Path) -> dict[str, bytes]:
    """Return the parts but for the columns that a row spans, digits from the sixteenth on, and the numbers of formats."""

    def digits(value: re.Match[bytes]) -> bytes:
        return f"<v>{float(value[1]):.15G}</v>".encode()

    left_out = rb' (spans|s|style)="[^"]*"'
    found = {name: re.sub(left_out, b"", content) for name, content in parts(path).items() if "styles" not in name}
    return {name: re.sub(rb"<v>(-?[0-9][0-9.eE+-]*)</v>", digits, content) for name, content in found.items()}


def parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


@pytest.mark.parametrize("name", [next(iter(DEMOS)), "nothing at all", next(iter(MADE))])
def test_writing_twice_gives_the_same_bytes(results_of: ResultsOf, tmp_path: Path, name: str) -> None:
    again = write_results(assess(ALL[name]()), tmp_path / "again.xlsx")
    assert again.read_bytes() == results_of(name).path.read_bytes()


def test_writing_inputs_twice_gives_the_same_bytes(tmp_path: Path) -> None:
    one, two = (write_input_workbook(ALL["colander-2306"](), tmp_path / f"{place}.xlsx") for place in "ab")
    assert one.read_bytes() == two.read_bytes()


class _AsTheManualSays(Worksheet):  # type: ignore[misc]
    """Writes every formula by XlsxWriter's own route."""

    def declare_formulas(self, formulas: Sequence[str]) -> None:
        for column, text in zip(self.tables[-1]["columns"], formulas, strict=True):
            column["formula"] = self._prepare_formula(self._prepare_table_formula(text), True)

    def fill_down(self, row: int, col: int, pattern: str, cell_format: Any, values: Sequence[Any], at: int = 0) -> int:
        for place, value in enumerate(values):
            self.write_formula(row + place, col, filled_in(pattern, at + place), cell_format, value)
        return 0


def test_prepared_formulas_are_those_xlsxwriter_writes(
    results_of: ResultsOf, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The private override in `book` only saves time."""
    monkeypatch.setattr(book, "PreparedFormulas", _AsTheManualSays)
    plain = write_results(assess(ALL["colander-2306"]()), tmp_path / "plain.xlsx")
    assert as_written(plain) == as_written(results_of("colander-2306").path)


def full_of_formulas(turn: int) -> BenchTest:
    """Return a test whose every text begins like a formula: propellers in every way, others in one by turns."""
    starts = cycle((*STARTS[turn:], *STARTS[:turn]))

    def typed(declared: Field) -> str | None:
        return next(starts) + MARK if declared.kind == "text" else None

    fields: dict[str, Value] = {name: declared.default or typed(declared) for name, declared in FIELDS.items()}
    tables: dict[str, list[Row]] = {
        table.name: [*table.rows] or [{name: typed(declared) for name, declared in table.fields.items()}] * 2
        for table in INPUT_TABLES
    }
    tables["Readings"] = [
        {**FULL, "prop": start + MARK, "note": start + MARK, "thrust": 1000.0 + 7 * n, "current": 30 + 0.3 * n}
        for n, start in enumerate((*STARTS, STARTS[0]))
    ]
    return bench_test(fields, tables)


def marked(path: Path) -> Iterator[str]:
    """Yield the tag, or attribute, of everything in a workbook's parts that holds the mark."""
    for content in parts(path).values():
        for element in ET.fromstring(content).iter():
            if MARK in (element.text or ""):
                yield element.tag.rpartition("}")[2]
            yield from (f"@{name}" for name, value in element.attrib.items() if MARK in value)


@pytest.mark.parametrize("turn", [0, 4, 8])
def test_a_typed_text_stays_a_text_everywhere(tmp_path: Path, turn: int) -> None:
    """It stands in strings and in stored values: in no formula, name, rule, link, chart reference or property.

    Of a flagged reading the name stands in formulas of Checks too, as a quoted text.
    """
    test = full_of_formulas(turn)
    results = write_results(assess(test), tmp_path / "results.xlsx")
    inputs = write_input_workbook(test, tmp_path / "inputs.xlsx")
    assert set(marked(results)) == {"t", "v"}
    assert set(marked(inputs)) == {"t"}


def test_a_text_like_a_formula_is_shown_as_typed(results_of: ResultsOf) -> None:
    values = stored_values(results_of("names like formulas").path)
    shown = [str(value) for value in values.values()]
    assert "=1+1 on 4S" in shown
    assert "tested by @A1" in shown
    assert any(value.startswith("Test “=1+1”. ") for value in shown)


def test_a_text_typed_later_is_followed_as_a_text(results_of: ResultsOf) -> None:
    """Several at once, which is faster, and shows which of them a program takes for another."""
    written = results_of("names that are patterns")
    iron, rows = IronSheet(written.path), written.assessment.test.rows("Readings")
    for start in range(0, len(ODD_TEXTS), rows):
        texts = ODD_TEXTS[start : start + rows]
        typed = {("Readings", row, "prop"): text for row, text in enumerate(texts)}
        change = Change({**typed, ("", 0, "model"): texts[0], ("", 0, "craft_propeller"): texts[-1]})
        found = iron.edit(change.edits(written.layout))
        assert differences(written.values(change.applied(written.assessment.test)), found) == []


def test_the_properties_hold_nothing_typed(tmp_path: Path) -> None:
    path = write_results(assess(on_purpose({}, model=MARK, test_id=MARK)), tmp_path / "results.xlsx")
    assert not any(MARK.encode() in content for name, content in parts(path).items() if name.startswith("docProps"))
