"""One entry a reading: the check that explains it speaks for the others; what says to stop stands in its words."""

from collections import Counter
from typing import Any

import numpy as np
import pytest

from tests.study.small_bench import Row, bench_of, good_table
from tests.workbook.made_tests import ALL, DEMOS
from xlsengine.bench.checks.row_checks import ROW_CHECKS
from xlsengine.bench.checks.row_entries import STOP_CODES
from xlsengine.bench.judging.judgements import severity
from xlsengine.study.assessment import Assessment, assess
from xlsengine.study.case import raised_checks
from xlsengine.study.evaluation import Scope
from xlsengine.study.group_checks import group_checks
from xlsengine.workbook.flag_places import flag_lines


def changed(row: int, **changes: Any) -> Assessment:
    """Return the assessment of good rows of which one, from 1, was changed; a number multiplies what stood there."""
    rows: list[Row] = good_table()
    rows[row - 1] |= {name: rows[row - 1].get(name, 1.0) * value for name, value in changes.items()}
    return assess(bench_of(rows))


def entries(assessment: Assessment, row: int) -> list[tuple[str, str]]:
    return [(flag["severity"], flag["what"]) for flag in assessment.flag_list() if flag["row"] == row]


def raised(assessment: Assessment, row: int) -> set[str]:
    """Return the titles of all live checks that stand on a row, absorbed or not."""
    return {c.title for c, raised in zip(ROW_CHECKS, raised_checks(assessment.scope), strict=True) if raised[row - 1]}


def test_a_slip_absorbs_what_it_causes_and_is_as_severe_as_that() -> None:
    found = changed(7, thrust=10)
    assert "More thrust than an ideal propeller" in raised(found, 7)
    assert entries(found, 7) == [("impossible", "Decimal slip in thrust")]
    assert found.scope.column("Readings", "entry")[6] == 0
    assert found.scope.column("Readings", "written_flags")[6] == "Decimal slip in thrust (impossible)."


def test_what_says_to_stop_stands_in_it_and_comes_first() -> None:
    found = changed(7, thrust=10, motor_temperature=130)
    ((severity, what),) = entries(found, 7)
    assert (severity, what) == ("impossible", "Decimal slip in thrust, and hot motor (130 °C; at most 80 °C)")
    (fix,) = [flag["fix"] for flag in found.flag_list() if flag["row"] == 7]
    assert fix.startswith("Stop and let it cool")
    assert "If your bench notes agree, type" in fix
    assert found.scope.column("Readings", "entry")[6] == 0
    assert str(found.scope.column("Readings", "flag_text")[6]).startswith(
        "▲ Decimal slip in thrust (impossible). Hot motor."
    )


def test_an_exchange_that_explains_the_volts_comes_before_stopping_for_them() -> None:
    """11.68 V and 20.83 A on three cells the other way round: 20.83 V is 6.9 V a cell, beyond any pack of the trade."""
    rows = good_table()
    rows[0] |= {"voltage": rows[0]["current"], "current": rows[0]["voltage"]}
    assert rows[0]["voltage"] / rows[0]["cells"] > 4.4
    found = assess(bench_of(rows))
    (flag,) = [flag for flag in found.flag_list() if flag["row"] == 1]
    assert flag["severity"] == "impossible"
    assert flag["what"].startswith("Voltage and current exchanged, and volts per cell impossible (")
    exchange, stop = (flag["fix"].index(words) for words in ("If your bench notes agree", "If not, stop: check Cells"))
    assert exchange < stop
    assert found.flag_counts()["impossible"] == 1


def test_a_stop_that_comes_later_stands_in_a_line_of_its_own() -> None:
    """The comparison was written without it: a motor temperature typed since makes the live list say stop."""
    found = changed(7, thrust=10)
    written = dict(found.scope.written)
    rows = good_table()
    rows[6] |= {"thrust": rows[6]["thrust"] * 10, "motor_temperature": 130.0}
    after = Assessment(Scope(bench_of(rows), written), ())
    assert [(flag["row"], flag["what"]) for flag in after.flag_list() if flag["row"] == 7] == [(7, "Hot motor")]
    assert after.scope.column("Readings", "written_flags")[6] == "Decimal slip in thrust (impossible)."


def test_two_live_checks_are_one_entry_and_to_stop_comes_first() -> None:
    rows = good_table()
    rows[6] |= {"motor_temperature": 130.0, "thrust": round(rows[6]["thrust"] / 28.35, 1)}
    (flag,) = [flag for flag in assess(bench_of(rows)).flag_list() if flag["row"] == 7]
    assert flag["what"] == "Thrust perhaps in ounces, and hot motor (130 °C; at most 80 °C)"
    assert flag["fix"].startswith("Stop and let it cool")
    assert "Type oz behind the number" in flag["fix"]


def test_heat_cell_volts_and_lost_synchronism_say_to_stop() -> None:
    figures = {ROW_CHECKS[code - 1].figure.name for code in STOP_CODES}
    assert figures == {"cell_voltage", "motor_temperature", "speed_ratio"}
    assert len(STOP_CODES) == 5  # cell volts: impossible, too high, too low


@pytest.mark.parametrize(("unit", "grams"), [("ounces", 28.35), ("pounds", 453.6), ("newtons", 101.97)])
@pytest.mark.parametrize("row", [1, 7, 9])
def test_a_live_check_that_says_what_happened_speaks_before_a_group_check_that_does_not(
    unit: str, grams: float, row: int
) -> None:
    """An ounce is 28.35 g, a pound 453.6 g, a newton 101.97 gram-force (NIST SP 811).

    At full throttle no motor gives so few grams for its watts: it is left out, and no comparison takes it in.
    """
    found, full = changed(row, thrust=1 / grams), row in (1, 7)
    assert (row in {flag.row for flag in group_checks(Scope(found.test))}) is not full
    assert entries(found, row) == [("impossible" if full else "doubtful", f"Thrust perhaps in {unit}")]
    assert int(found.scope.any_value(severity)[row - 1]) == (0 if full else 2)
    assert found.scope.column("Readings", "written_flags")[row - 1] is None


def test_a_note_that_asks_for_nothing_is_one_sentence_of_all_its_readings() -> None:
    rows = [row | {"pitch": 6.5} for row in good_table()]
    found = [flag for flag in assess(bench_of(rows)).flag_list() if flag["fix"] == ""]
    assert {flag["what"] for flag in found} == {"Pitch over diameter above the limit"}
    assert len(found) == 4
    (line,) = flag_lines([flag | {"place": f"Readings!D{flag['row'] + 5}", "label": "Pitch (in)"} for flag in found])
    assert line.startswith("note: Readings!D6, D12, D18, D24: Pitch over diameter above the limit; ")
    assert line.count(".") == 1


@pytest.mark.parametrize("name", DEMOS)
def test_every_reading_has_one_entry_and_all_are_counted(name: str) -> None:
    assessment = assess(ALL[name]())
    flags = assessment.flag_list()
    told = Counter(flag["row"] for flag in flags if flag["row"])
    assert max(told.values(), default=1) == 1
    assert Counter(flag["severity"] for flag in flags) == Counter(assessment.flag_counts())


@pytest.mark.parametrize("name", DEMOS)
def test_the_list_of_live_checks_has_no_row_of_the_written_one(name: str) -> None:
    assessment = assess(ALL[name]())
    used = assessment.scope.used_rows("RaisedChecks")
    rows = assessment.scope.column("RaisedChecks", "raised_row")[:used]
    titles = assessment.scope.column("RaisedChecks", "raised_title")[:used]
    assert not set(rows) & {flag.row for flag in assessment.flags}
    assert len(rows) == len(set(rows))
    assert all(titles)
    assert not np.isnan(rows).any()
