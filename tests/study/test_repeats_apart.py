"""Repeats far apart: what was exchanged between neighbours, and two that cannot both be right.

Limits are common practice, no source: one bench repeats itself within 2 to 5 %.
"""

import math
from typing import Any

import pytest

from tests.study.round_benches import bench_of, rounds
from tests.study.small_bench import case, flags_of, said
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import case_of
from xlsengine.study.evaluation import Scope
from xlsengine.study.exchange_checks import exchanged_propellers
from xlsengine.study.repeat_checks import repeats_apart

Rows = list[dict[str, Any]]
NAME = ("prop", "diameter", "pitch", "blades")
AMPS, GRAMS = {"8x4": 5.2, "9x4.7": 8.6, "10x4.7": 12.7}, {"8x4": 330, "9x4.7": 486, "10x4.7": 650}


def two_rounds(again: float = 1.0) -> Rows:
    """Return three propellers on 2S and 3S, twice: thrust and amps as volts to the power 1.6.

    The second round is read at `again` times the volts.
    """
    rows: Rows = []
    for share in (1.0, again):
        for cells in (2, 3):
            for name in AMPS:
                volts = round(3.9 * cells * share, 2)
                went = (volts / 7.8) ** 1.6 * (1 + 0.003 * math.sin(7 * len(rows)))
                diameter, pitch = map(float, name.split("x"))
                read = {"voltage": volts, "current": round(AMPS[name] * went, 1), "thrust": round(GRAMS[name] * went)}
                rows.append(
                    {"run": len(rows) + 1, "prop": name, "diameter": diameter, "pitch": pitch, "cells": cells} | read
                )
    return rows


def exchange(rows: Rows, one: int, other: int, columns: tuple[str, ...]) -> Rows:
    """Return rows in which two, by their places, have some columns exchanged."""
    turned = [dict(row) for row in rows]
    for column in columns:
        turned[one][column], turned[other][column] = rows[other].get(column), rows[one].get(column)
    return turned


def test_sound_rounds_have_no_flag() -> None:
    assert flags_of(two_rounds(0.98)) == []


@pytest.mark.parametrize(("upper", "lower"), [(4, 5), (10, 11)])
def test_names_exchanged_in_one_of_two_rounds_are_told_by_the_other_cell_count(upper: int, lower: int) -> None:
    flags = flags_of(exchange(two_rounds(0.98), upper, lower, NAME))
    doubtful = [flag for flag in flags if flag.severity >= Severity.DOUBTFUL]
    assert said(doubtful) == [
        (upper + 1, "prop", f"Propeller exchanged with run {lower + 1}"),
        (lower + 1, "prop", f"Propeller exchanged with run {upper + 1}"),
    ]
    assert doubtful[0].fix == f"If your bench notes agree, exchange the propellers of this reading and run {lower + 1}."


def test_the_words_tell_what_stands_under_which_name() -> None:
    """On 3S, 1.5 to the power 1.6 is 1.913: 8.6 A are 16.5 A, 12.7 A are 24.3 A."""
    first, _ = exchanged_propellers(case(exchange(two_rounds(), 4, 5, NAME)))
    assert (first.found, first.expected) == ("10x4.7 with 16.5 A and 931 g", "9x4.7, whose other readings agree")


@pytest.mark.parametrize("column", ["thrust", "current"])
def test_one_column_exchanged_is_told_as_such(column: str) -> None:
    flags = exchanged_propellers(case(exchange(two_rounds(), 7, 8, (column,))))
    assert said(flags) == [
        (8, column, f"{column.capitalize()} exchanged with run 9"),
        (9, column, f"{column.capitalize()} exchanged with run 8"),
    ]


def test_where_either_round_may_be_the_wrong_one_all_four_are_doubted() -> None:
    """On one cell count, nothing tells in which round two propellers of blank size were exchanged."""
    rows = [{key: row[key] for key in row if key not in NAME[1:]} for row in two_rounds() if row["cells"] == 2]
    flags = repeats_apart(case(exchange(rows, 1, 2, NAME)))
    assert exchanged_propellers(case(exchange(rows, 1, 2, NAME))) == []
    assert [(flag.row, flag.title, flag.also_rows) for flag in flags] == [
        (2, "Repeats far apart", (6,)),
        (3, "Repeats far apart", (5,)),
        (5, "Repeats far apart", (3,)),
        (6, "Repeats far apart", (2,)),
    ]


def pair(thrust: float, throttle: float | None = None, volts: float = 15.0) -> Rows:
    """Return two repeats: 1,000 g with 20 A at 15 V, and a thrust with the amps that belong to it."""
    row = {"prop": "9x4.7", "cells": 4, "throttle": throttle, "voltage": 15.0, "current": 20.0, "thrust": 1000.0}
    return [row, row | {"voltage": volts, "current": 20.0 * thrust / 1000, "thrust": thrust}]


@pytest.mark.parametrize(
    ("thrust", "throttle", "volts", "rows"),
    [
        (1110, None, 15.0, []),
        (1180, None, 15.0, [1, 2]),
        (830, 100.0, 15.0, [1, 2]),
        (1250, 50.0, 15.0, []),
        (1400, 50.0, 15.0, [1, 2]),
        (875, None, 13.8, []),  # 8 % fewer volts are 12.5 % less thrust: 0.92 to the power 1.6 is 0.875
        (1143, None, 13.8, [1, 2]),  # that is 31 % more at equal volts
    ],
)
def test_two_repeats_at_equal_volts(thrust: float, throttle: float | None, volts: float, rows: list[int]) -> None:
    assert [flag.row for flag in repeats_apart(case(pair(thrust, throttle, volts)))] == rows


def test_of_two_both_readings_are_printed() -> None:
    flag = repeats_apart(case(pair(1250)))[0]
    assert flag.found == "20 A and 1,000 g; reading 2: 25 A and 1,250 g"
    assert (flag.severity, flag.also_rows) == (Severity.DOUBTFUL, (2,))


def test_of_three_the_odd_one_is_told() -> None:
    rows = [*pair(1010), pair(1300)[1]]
    assert said(repeats_apart(case(rows))) == [(3, "thrust", "Thrust out of line with its repeats")]


def test_a_coarse_display_is_forgiven_its_steps() -> None:
    rows = [
        row | {"throttle": 10.0, "current": amps, "thrust": 20.0}
        for row, amps in zip(pair(1000), (0.3, 0.4), strict=True)
    ]
    assert repeats_apart(case(rows)) == []


@pytest.mark.parametrize("propellers", [2, 3, 4])
def test_rounds_of_simulated_motors(propellers: int) -> None:
    """Nothing is said of sound ones; names of neighbours at least 15 % apart are found, and no other row is named."""
    for seed in range(8):
        rows = rounds(seed, propellers)
        assert exchanged_propellers(case_of(Scope(bench_of(rows)))) == []
        assert repeats_apart(case_of(Scope(bench_of(rows)))) == []
        for at in range(seed % 2, len(rows) - 1, 2):
            if rows[at]["cells"] == rows[at + 1]["cells"] and _are_apart(rows[at], rows[at + 1]):
                found = exchanged_propellers(case_of(Scope(bench_of(exchange(rows, at, at + 1, NAME)))))
                assert [(flag.row, flag.column) for flag in found] == [(at + 1, "prop"), (at + 2, "prop")], (seed, at)


def _are_apart(upper: dict[str, Any], lower: dict[str, Any]) -> bool:
    return all(abs(math.log(upper[name] / lower[name])) >= 0.15 for name in ("thrust", "current"))
