import math
import time
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from demo_inputs.invented_motors import BENCH, PLANS
from demo_inputs.make_demo_inputs import bench_test_of
from demo_inputs.planted_faults import PLANTED_FAULTS
from demo_inputs.scenario import demo_test, density_on, readings, sheet_of
from tests.study.small_bench import Row, bench_of, flags_of, good_table, reading, said, sweep, without_speed
from xlsengine import BenchTest
from xlsengine.bench.checks.fingerprint import PAIRS
from xlsengine.bench.checks.row_checks import ROW_CHECKS, Severity
from xlsengine.bench.judging.judgements import COLUMN, SEVERITY, SPEAKS
from xlsengine.study.evaluation import Scope
from xlsengine.study.flags import Flag
from xlsengine.study.group_checks import checked, group_checks, marked

CLEAN_SEEDS = range(1000, 1012)


@cache
def _demo(motor: str) -> tuple[Scope, list[Flag]]:
    return checked(bench_test_of(demo_test(motor)))


def _doubted(motor: str) -> set[int]:
    return {flag.row for flag in _demo(motor)[1] if flag.severity > Severity.NOTE}


def _clean(motor: str, seed: int) -> BenchTest:
    """Return a motor's bench test simulated again, without faults."""
    demo, density = demo_test(motor), density_on(sheet_of(motor, BENCH))
    rng = np.random.default_rng([seed, list(PLANS).index(motor)])
    tables = demo.tables | {"readings": readings(PLANS[motor], density, rng)}
    return bench_test_of(replace(demo, tables=tables, planted=()))


class TestPlantedFaults:
    @pytest.mark.parametrize("motor", PLANS)
    def test_no_other_row_is_doubted(self, motor: str) -> None:
        planted = [fault for fault in PLANTED_FAULTS if fault.motor == motor]
        partners = {getattr(fault.deed, "run", fault.run) for fault in planted if "exchanged" in fault.what_was_done}
        assert _doubted(motor) <= {fault.run for fault in planted} | partners

    def test_the_motor_without_faults_has_no_flag(self) -> None:
        scope, flags = _demo("gherkin-2207")
        assert flags == []
        assert not (scope.column("Readings", "entry_severity") >= 2).any()


def test_false_alarms_are_rarer_than_three_in_a_thousand_rows() -> None:
    scopes = [checked(_clean(motor, seed))[0] for motor in PLANS for seed in CLEAN_SEEDS]
    doubted = sum(int(np.sum(scope.column("Readings", "written_code") >= 2 * SEVERITY)) for scope in scopes)
    assert doubted <= 0.003 * sum(scope.used_rows("Readings") for scope in scopes)


class TestMisfits:
    def _odd(self, column: str, times: float, rows: list[Row] | None = None) -> list[Row]:
        rows = rows or good_table()
        rows[9][column] = round(rows[9][column] * times, 2)
        return rows

    @pytest.mark.parametrize("times", [0.7, 1.4])
    @pytest.mark.parametrize("column", ["thrust", "current"])
    def test_a_reading_off_the_line_is_flagged_in_its_column(self, column: str, times: float) -> None:
        flags = flags_of(without_speed(self._odd(column, times)))
        other = "current" if column == "thrust" else "thrust"
        assert (10, column, f"{column.capitalize()} does not fit {other}") in said(flags)
        assert {flag.row for flag in flags} <= {9, 10}

    def test_the_words_give_what_would_fit(self) -> None:
        rows = without_speed(self._odd("current", 1.4))
        flag = next(flag for flag in flags_of(rows) if flag.column == "current")
        good = good_table()[9]
        assert flag.found == f"{round(good['current'] * 1.4, 2):g} A with {good['thrust']:g} g"
        assert flag.expected.startswith(f"about {good['current']:.1f}"[:-2])

    @pytest.mark.parametrize("at", [6, 9])
    @pytest.mark.parametrize("times", [0.96, 1.04])
    def test_a_few_percent_are_left_alone(self, at: int, times: float) -> None:
        rows = good_table()
        rows[at]["current"] = round(rows[at]["current"] * times, 2)
        assert flags_of(rows) == []

    def test_the_score_on_settings_is_heeded(self) -> None:
        rng = np.random.default_rng(5)
        rows = [row | {"current": row["current"] * (1 + 0.05 * rng.normal())} for row in good_table() * 2]
        rows = [row | {"run": None, "throttle": row["throttle"] - place % 7 / 10} for place, row in enumerate(rows)]
        rows[9]["current"] *= 1.3
        assert 10 in {flag.row for flag in flags_of(rows, score_limit=3.5)}
        assert 10 not in {flag.row for flag in flags_of(rows, score_limit=20) if "fit" in flag.title}


class TestTables:
    def test_good_rows_have_no_flag(self) -> None:
        assert flags_of(good_table()) == []
        assert flags_of(without_speed(good_table())) == []

    @pytest.mark.parametrize("rows", [[], [reading()], [reading(), reading("B", 6.0)], sweep()[:3]])
    def test_few_rows_have_no_flag(self, rows: list[Row]) -> None:
        assert flags_of(rows) == []

    def test_rows_all_equal_are_doubted_but_for_the_first(self) -> None:
        flags = flags_of([reading() | {"voltage": 14.83, "current": 37.21, "thrust": 1403.0}] * 6)
        assert [(flag.row, flag.severity) for flag in flags] == [(row, Severity.DOUBTFUL) for row in range(2, 7)]

    def test_rows_without_thrust_or_current_are_passed_over(self) -> None:
        rows = good_table()
        rows[3] |= {"thrust": 0.0, "current": 0.0, "speed": 0.0}
        rows[7] |= {"thrust": None}
        rows[8] |= {"voltage": None, "cells": None}
        assert flags_of(rows) == []

    def test_rows_set_aside_are_not_judged(self) -> None:
        rows = good_table()
        rows[4] |= {"thrust": rows[4]["thrust"] * 10, "use": "no"}
        assert flags_of(rows) == []

    def test_settings_left_blank_take_their_defaults(self) -> None:
        rows = good_table()
        rows[4]["thrust"] = rows[4]["thrust"] * 10
        names = ("score_limit", "outlier_significance", "slip_tolerance", "ladder_tolerance")
        assert flags_of(rows, **dict.fromkeys(names)) == flags_of(rows)

    def test_any_table_is_taken_and_gives_the_same_flags_twice(self) -> None:
        rng = np.random.default_rng(0)
        for number in range(60):
            rows = [_anything(rng) for _ in range(int(rng.integers(0, 30)))]
            flags = flags_of(rows)
            assert flags == sorted(flags, key=lambda flag: flag.order)
            assert number % 6 or flags == flags_of(rows)
            assert not any("nan" in words for flag in flags for words in (flag.found, flag.expected, flag.fix))

    def test_time_grows_with_the_rows(self) -> None:
        few, many = (_seconds(rows) for rows in (500, 5_000))
        assert many < 20 * few + 0.05


def _anything(rng: np.random.Generator) -> Row:
    """Return a row of whatever might be typed."""

    def one_of(*choices: Any) -> Any:
        return choices[rng.integers(len(choices))]

    def number(high: float) -> float | None:
        odd = one_of(None, None, None, 0.0, -1.0, math.inf, 1e200)
        return odd if rng.random() < 0.05 else round(float(rng.uniform(0, high)), int(rng.integers(0, 3)))

    return {
        "prop": one_of(None, "A", " a", "B"),
        "kind": one_of(None, "peak", "steady"),
        "use": one_of(None, "no", "yes"),
        "cells": one_of(None, 3.0, 4.0),
        "throttle": one_of(None, 0.0, 50.0, 100.0),
        "diameter": number(12),
        "pitch": number(8),
        "blades": number(3),
        "voltage": number(17),
        "current": number(60),
        "thrust": number(1500),
        "speed": number(30_000),
    }


def _seconds(rows: int) -> float:
    """Return the least of three times of the processor that the checks take, evaluation left out."""
    rng = np.random.default_rng(rows)
    table = [
        row | {"prop": f"{row['prop']} {place // 24}", "thrust": row["thrust"] * (1 + 0.004 * rng.normal())}
        for place, row in enumerate(good_table() * (rows // 24))
    ]
    scope, times = Scope(bench_of(table)), []
    group_checks(scope)
    for _ in range(3):
        start = time.process_time()
        group_checks(scope)
        times.append(time.process_time() - start)
    return min(times)


class TestWrittenValues:
    def _rows(self) -> list[Row]:
        rows = [*good_table(), good_table()[4]]
        rows[6]["thrust"] = rows[6]["thrust"] * 10
        return rows

    def test_the_columns_hold_severity_and_words_of_each_typed_row(self) -> None:
        scope = Scope(bench_of(self._rows()))
        written = marked(scope, group_checks(scope))[0].written
        severity, words = written["Readings", "written_code"] // SEVERITY, written["Readings", "written_flags"]
        assert len(severity) == len(words) == 25
        assert {row: int(worst) for row, worst in enumerate(severity, 1) if worst} == {7: 3, 25: 2}
        assert words[6] == "Decimal slip in thrust (impossible)."
        assert words[24] == "Same readings twice (doubtful)."
        assert words[0] is None

    def test_of_several_flags_the_one_that_explains_the_row_speaks(self) -> None:
        flag = flags_of(self._rows())[0]
        mild = replace(flag, title="Odd", severity=Severity.NOTE)
        written = marked(Scope(bench_of(self._rows())), [flag, mild])[0].written
        assert written["Readings", "written_flags"][6] == "Decimal slip in thrust (impossible)."
        assert written["Readings", "written_code"][6] // SEVERITY == 3
        assert written["Readings", "written_code"][6] % COLUMN // SPEAKS == len(ROW_CHECKS)

    def test_a_checked_scope_is_as_one_evaluated_with_what_was_written(self) -> None:
        test = bench_of(self._rows())
        scope, flags = checked(test)
        again = Scope(test, written=marked(Scope(test), flags)[0].written)
        assert scope.figures() == again.figures()
        for table in ("Readings", "Summary"):
            assert scope.frame(table).equals(again.frame(table))
        assert scope.column("Readings", "entry_severity")[6] == 3

    def test_the_checks_are_up_to_date_until_a_reading_changes(self) -> None:
        scope, _ = checked(bench_of(self._rows()))
        assert scope.named("checks_state") == "up to date"
        changed = bench_of([row | {"current": row["current"] + (place == 3)} for place, row in enumerate(self._rows())])
        stale = Scope(changed, written=scope.written)
        assert str(stale.named("checks_state")).startswith("OUT OF DATE")

    def test_the_fingerprint_holds_every_pair(self) -> None:
        scope = Scope(bench_of(good_table()))
        written = marked(scope, [])[0].written
        assert {name for table, name in written if not table} == {then.name for _, then in PAIRS}

    def test_an_empty_table_is_written_empty(self) -> None:
        scope, flags = checked(bench_of([]))
        assert flags == []
        assert scope.written["Readings", "written_code"].size == 0
        assert scope.named("checks_stale") == 0
