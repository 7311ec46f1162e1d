import pytest

from tests.study.small_bench import Row, case, flags_of, good_table, said, without_speed
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag
from xlsengine.study.row_words import row_mistakes

PAIRS = [("voltage", "current"), ("thrust", "speed")]


def _found(judged: Case) -> list[Flag]:
    return [flag for flag in row_mistakes(judged) if flag.title.endswith("exchanged")]


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
    flags = _found(case(_exchanged(at, "thrust", "speed")))
    assert said(flags) == [(at + 1, "thrust", "Thrust and speed exchanged")]
    assert flags[0].severity is Severity.DOUBTFUL


@pytest.mark.parametrize("at", range(28))
def test_volts_and_amps_exchanged_are_flagged_unless_the_amps_might_be_volts(at: int) -> None:
    good = _repeated()[at]
    alike = abs(good["current"] / good["voltage"] - 1) <= 0.2
    flags = _found(case(_exchanged(at, "voltage", "current")))
    told = [(at + 1, "voltage", "Voltage and current exchanged")]
    assert said(flags) == told or (alike and not flags)


@pytest.mark.parametrize(
    "at", [row for row in range(28) if _repeated()[row]["thrust"] > 1.5 * _repeated()[row]["current"]]
)
def test_thrust_and_amps_exchanged_are_flagged_in_their_row_alone(at: int) -> None:
    """485 A with 8.6 g for 8.6 A with 485 g: more amps than grams is no reading of a bench (common practice, no source)."""
    flags = flags_of(_exchanged(at, "thrust", "current"))
    assert said(flags) == [(at + 1, "thrust", "Thrust and current exchanged")]


def test_the_words_give_the_readings_as_they_fit() -> None:
    (flag,) = _found(case(_exchanged(6, "voltage", "current")))
    good = good_table()[6]
    assert flag.found == f"{good['current']:g} V and {good['voltage']:g} A"
    assert flag.expected == f"{good['voltage']:g} V and {good['current']:g} A, which fit the other readings"


_ONE_EACH = (
    ("A", 7.0, 11.9, 10.1, 560.0),
    ("B", 8.0, 11.7, 13.1, 760.0),
    ("C", 9.0, 11.5, 16.8, 900.0),
    ("D", 9.5, 11.3, 19.4, 1000.0),
    ("E", 10.0, 11.1, 23.0, 1120.0),
)
"""One reading a propeller at full throttle on 3S, made up: nothing but other propellers to compare the amps with."""


def _one_each(**second: float) -> list[Row]:
    names = ("prop", "diameter", "voltage", "current", "thrust")
    common: Row = {"pitch": 4.0, "blades": 2.0, "cells": 3.0, "throttle": 100.0, "kind": "steady"}
    rows = [common | dict(zip(names, row, strict=True)) for row in _ONE_EACH]
    rows[1] |= second
    return rows


def test_volts_a_high_voltage_pack_might_give_are_found_exchanged_among_single_readings() -> None:
    """By hand: 13.1 V on 3S are 4.37 V a cell, above 4.25 and below 4.40; 11.7 V are 3.9, as the others' 3.7 to 3.97."""
    (flag,) = _found(case(_one_each(voltage=13.1, current=11.7)))
    assert (flag.row, flag.title) == (2, "Voltage and current exchanged")
    assert (flag.found, flag.severity) == ("13.1 V and 11.7 A", Severity.DOUBTFUL)
    assert flag.expected == "11.7 V and 13.1 A, which fit the other readings"


def test_a_charged_pack_or_a_high_one_is_no_exchange() -> None:
    """Exchanged, the volts would be far off (10.1, 15.0), or the amps farther from a repeat than they are as typed."""
    for amps in (9.3, 10.1, 13.1, 15.0):
        assert _found(case(_one_each(voltage=13.1, current=amps))) == []
    repeated = [*_one_each(voltage=13.1, current=11.7), _one_each(current=11.6)[1]]
    assert _found(case(repeated)) == []


def test_a_table_read_on_high_voltage_packs_has_none() -> None:
    high = [row | {"voltage": round(row["voltage"] * 4.35 / 3.95, 2)} for row in _one_each()]
    assert _found(case(high)) == []


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_it_is_among_the_checks_and_no_other_row_is_doubted(one: str, other: str) -> None:
    flags = flags_of(_exchanged(6, one, other))
    assert f"{one.capitalize()} and {other} exchanged" in {flag.title for flag in flags}
    assert {flag.row for flag in flags if flag.severity > Severity.NOTE} == {7}


def test_good_rows_are_left_alone() -> None:
    assert _found(case(_repeated())) == []
    assert _found(case(without_speed(_repeated()))) == []


@pytest.mark.parametrize(
    "changes",
    [{"voltage": 11.6}, {"voltage": 1.6}, {"cells": 3.0}, {"current": 1.6}, {"thrust": 128.0}, {"thrust": 30_000.0}],
    ids=str,
)
def test_a_flat_pack_a_wrong_cell_count_and_slips_are_none(changes: Row) -> None:
    rows = _repeated()
    rows[6] |= changes
    assert _found(case(rows)) == []


def test_a_speed_that_was_not_read_was_not_exchanged() -> None:
    rows = without_speed(_exchanged(6, "thrust", "speed"))
    assert _found(case(rows)) == []


def test_few_rows_tell_nothing() -> None:
    assert _found(case(without_speed(_exchanged(6, "voltage", "current")[6:8]))) == []
