from __future__ import annotations

import pytest

from tests.study.small_bench import Row, case, flags_of, good_table, said, without_speed
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.study.column_swaps import column_swaps

CELL_LOW, CELL_HIGH = (float(FIELDS[name].default or 0) for name in ("cell_voltage_low", "cell_voltage_high"))
PAIRS = [("voltage", "current"), ("thrust", "speed")]


def _repeated() -> list[Row]:
    """Return full throttle twice and the sweeps: peaks are a little above the steady readings."""
    peaks = [
        row | {"kind": "peak", "thrust": round(row["thrust"] * 1.04), "current": round(row["current"] * 1.06, 2)}
        for row in good_table()
        if row["throttle"] == 100
    ]
    return [row | {"run": float(run)} for run, row in enumerate([*good_table(), *peaks], start=1)]


def _exchanged(at: int, one: str, other: str) -> list[Row]:
    rows = _repeated()
    rows[at][one], rows[at][other] = rows[at][other], rows[at][one]
    return rows


@pytest.mark.parametrize("at", range(28))
def test_thrust_and_speed_exchanged_are_flagged_in_their_row_alone(at: int) -> None:
    flags = column_swaps(case(_exchanged(at, "thrust", "speed")))
    assert said(flags) == [(at + 1, "thrust", "Thrust and speed exchanged")]
    assert flags[0].severity is Severity.DOUBTFUL


@pytest.mark.parametrize("at", range(28))
def test_volts_and_amps_exchanged_are_flagged_unless_the_amps_might_be_volts(at: int) -> None:
    good = _repeated()[at]
    alike = abs(good["current"] / good["voltage"] - 1) <= 0.2
    plausible = alike and CELL_LOW <= good["current"] / good["cells"] <= CELL_HIGH
    flags = column_swaps(case(_exchanged(at, "voltage", "current")))
    assert said(flags) == ([] if plausible else [(at + 1, "voltage", "Voltage and current exchanged")])


def test_the_words_give_the_readings_as_they_fit() -> None:
    (flag,) = column_swaps(case(_exchanged(6, "voltage", "current")))
    good = good_table()[6]
    assert flag.found == f"{good['current']:g} V and {good['voltage']:g} A"
    assert flag.expected == f"{good['voltage']:g} V and {good['current']:g} A, which fit the other readings"


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_it_is_among_the_checks_and_no_other_row_is_doubted(one: str, other: str) -> None:
    flags = flags_of(_exchanged(6, one, other))
    assert f"{one.capitalize()} and {other} exchanged" in {flag.title for flag in flags}
    assert {flag.row for flag in flags if flag.severity > Severity.NOTE} == {7}


def test_good_rows_are_left_alone() -> None:
    assert column_swaps(case(_repeated())) == []
    assert column_swaps(case(without_speed(_repeated()))) == []


@pytest.mark.parametrize(
    "changes",
    [{"voltage": 11.6}, {"voltage": 1.6}, {"cells": 3.0}, {"current": 1.6}, {"thrust": 128.0}, {"thrust": 30_000.0}],
    ids=str,
)
def test_a_flat_pack_a_wrong_cell_count_and_slips_are_none(changes: Row) -> None:
    rows = _repeated()
    rows[6] |= changes
    assert column_swaps(case(rows)) == []


def test_a_speed_that_was_not_read_was_not_exchanged() -> None:
    rows = without_speed(_exchanged(6, "thrust", "speed"))
    assert column_swaps(case(rows)) == []


def test_few_rows_tell_nothing() -> None:
    assert column_swaps(case(_exchanged(6, "voltage", "current")[6:8])) == []
