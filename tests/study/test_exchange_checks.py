"""Two propellers exchanged in all readings on one cell count, and thrust that does not go with the volts.

Thrust and amps go as volts to the power 1.6, grams per amp hardly at all (T/I = 2π·Kt·CT/(CP·D)).
"""

from itertools import combinations
from typing import Any

import pytest

from tests.study.round_benches import bench_of, rounds
from tests.study.small_bench import case, flags_of
from tests.study.test_repeats_apart import NAME, exchange, two_rounds
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import case_of
from xlsengine.study.count_checks import thrust_by_volts
from xlsengine.study.evaluation import Scope
from xlsengine.study.exchange_checks import exchanged_propellers

Rows = list[dict[str, Any]]
COLUMNS = {"prop": NAME, "thrust": ("thrust",), "current": ("current",)}


def exchange_all(rows: Rows, one: str, other: str, cells: float, columns: tuple[str, ...]) -> tuple[Rows, list[int]]:
    """Exchange columns of two propellers on one cell count, round by round; returns the places of the rows too."""
    own, others = (
        [at for at, row in enumerate(rows) if (row["prop"], row["cells"]) == (name, cells)] for name in (one, other)
    )
    for here, there in zip(own, others, strict=True):
        rows = exchange(rows, here, there, columns)
    return rows, sorted(own + others)


@pytest.mark.parametrize("column", COLUMNS)
@pytest.mark.parametrize("cells", [2, 3])
def test_an_exchange_in_both_rounds_is_named_with_its_cell_count(column: str, cells: int) -> None:
    """Of 9x4.7 and 10x4.7, which lie 29 % apart in thrust and 39 % in amps."""
    rows, places = exchange_all(two_rounds(0.98), "9x4.7", "10x4.7", cells, COLUMNS[column])
    doubtful = [flag for flag in flags_of(rows) if flag.severity >= Severity.DOUBTFUL]
    what = "Propeller" if column == "prop" else column.capitalize()
    assert {flag.row: flag.title for flag in doubtful} == {
        at + 1: f"{what} exchanged with {'10x4.7' if rows[at]['prop'] == '9x4.7' else '9x4.7'} on {cells}S"
        for at in places
    }
    assert {flag.column for flag in doubtful} == {column}


def test_the_words_show_grams_per_amp() -> None:
    """On 3S 8.6 A and 12.7 A are 1.913 times that; 930 g over 24.3 A is 38.3 g/A, and 486 g over 8.6 A 56.5."""
    rows, _ = exchange_all(two_rounds(), "9x4.7", "10x4.7", 3, ("current",))
    flag = next(flag for flag in exchanged_propellers(case(rows)) if flag.row == 5)
    assert flag.found == "9x4.7 with 24.3 A and 931 g: 38.3 g/A, and 56.5 g/A on 2S"
    assert (
        flag.fix == "If your bench notes agree, exchange the currents of the two on 3S; otherwise repeat both points."
    )
    assert len(flag.also_rows) == 2


def test_two_propellers_are_enough() -> None:
    kept = [row for row in two_rounds() if row["prop"] != "8x4"]
    assert exchanged_propellers(case(kept)) == []
    rows, places = exchange_all(kept, "9x4.7", "10x4.7", 3, NAME)
    assert [flag.row - 1 for flag in sorted(exchanged_propellers(case(rows)), key=lambda flag: flag.row)] == places


def test_where_sizes_say_nothing_both_cell_counts_are_named() -> None:
    """Alike in all but thrust and amps, two propellers of one size may have been exchanged on 2S as well as on 3S."""
    blank = [row | {"diameter": 9.0, "pitch": 4.7} for row in two_rounds()]
    rows, _ = exchange_all(blank, "9x4.7", "10x4.7", 3, NAME)
    flags = exchanged_propellers(case(rows))
    assert len(flags) == 8
    assert {flag.title.partition(" on ")[2] for flag in flags} == {"2S or 3S"}


def test_one_reading_that_is_off_is_no_exchange() -> None:
    rows = two_rounds()
    rows[4]["current"] = rows[10]["current"] = 12.0
    assert exchanged_propellers(case(rows)) == []
    assert exchanged_propellers(case(rows[:1])) == []
    assert exchanged_propellers(case(rows[:3])) == []


@pytest.mark.parametrize(
    ("thrust", "rows"),
    [
        (650, [2]),  # no more than on 2S
        (990, []),  # 1.5 to the power 1.1 is 1.56 times: 1,015 g, and 6 % for scatter
        (930, [2]),
        (1350, []),
        (1850, [2]),  # to the power 2.4 it is 2.65 times: 1,720 g, and 6 %: 1,827 g
        (1800, []),
    ],
)
def test_thrust_has_to_rise_with_the_volts(thrust: float, rows: list[int]) -> None:
    lower = {"prop": "10x4.7", "cells": 2, "voltage": 7.8, "current": 12.7, "thrust": 650.0}
    upper = lower | {"cells": 3, "voltage": 11.7, "current": 12.7 * thrust / 650, "thrust": float(thrust)}
    flags = thrust_by_volts(case([lower, upper]))
    assert [flag.row for flag in flags] == rows
    if rows:
        assert flags[0].found == f"{thrust:,} g at 11.7 V, and 650 g at 7.8 V"
        assert flags[0].expected == "about 1,150 g to 1,520 g"  # 650 g times 1.5 to the powers 1.4 and 2.1


@pytest.mark.parametrize("times", [1, 2])
def test_rounds_of_simulated_motors(times: int) -> None:
    """Nothing is said of sound ones; of exchanged names that lie 15 % apart in thrust, all rows are doubted."""
    for seed in range(9):
        rows = rounds(seed, 3, times)
        sound = case_of(Scope(bench_of(rows)))
        assert exchanged_propellers(sound) == []
        assert thrust_by_volts(sound) == []
        read = {(row["prop"], row["cells"]): float(row["thrust"]) for row in rows}  # type: ignore[arg-type]
        for (one, cells), (other, others_cells) in combinations(read, 2):
            if cells == others_cells and not 0.86 < read[one, cells] / read[other, cells] < 1.16:
                turned, places = exchange_all(rows, str(one), str(other), cells, NAME)  # type: ignore[arg-type]
                found = exchanged_propellers(case_of(Scope(bench_of(turned))))
                assert {*places} <= {flag.row - 1 for flag in found}, (seed, one, other, cells)
