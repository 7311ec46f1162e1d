"""Volts read at rest: amps and thrust did not rise with them, as they do on a fresh pack: as volts to the power 1.6."""

from typing import Any

import pytest

from tests.study.round_benches import bench_of, rounds
from tests.study.small_bench import bench_of as bench_of_rows
from tests.study.small_bench import case, flags_of, said
from tests.study.test_repeats_apart import two_rounds
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import case_of
from xlsengine.study.evaluation import Scope
from xlsengine.study.group_checks import checked
from xlsengine.study.volts_checks import rest_volts

Rows = list[dict[str, Any]]
TITLE = "Volts perhaps read at rest"


def sagging(rows: Rows) -> Rows:
    """Return rounds whose volts fall by 20 mΩ, thrust and amps staying as they are."""
    return [row | {"voltage": round(4.1 * row["cells"] - 0.02 * row["current"], 2)} for row in rows]


@pytest.mark.parametrize(
    ("volts", "amps", "grams", "rows"),
    [
        (15.9, 20.0, 1000.0, [2]),  # 6 % more volts would give 9.8 % more of both
        (15.9, 20.2, 1006.0, [2]),
        (15.9, 21.95, 1098.0, []),  # a fresh pack
        (15.9, 21.2, 1060.0, []),  # one that gives little more
        (15.9, 20.0, 1098.0, []),  # thrust rose: it is the amps that are odd
        (15.3, 20.0, 1000.0, []),  # 2 % tells nothing
        (14.1, 20.0, 1000.0, [1]),  # it is the higher one
        (14.1, 18.1, 906.0, []),
    ],
)
def test_beside_a_repeat_at_15_volts_20_amps_and_1000_grams(
    volts: float, amps: float, grams: float, rows: list[int]
) -> None:
    one = {"prop": "9x4.7", "cells": 4, "voltage": 15.0, "current": 20.0, "thrust": 1000.0}
    two = [one, one | {"voltage": volts, "current": amps, "thrust": grams}]
    assert [flag.row for flag in rest_volts(case(two))] == rows
    assert rest_volts(case([row | {"throttle": 50} for row in two])) == []


def test_the_volts_under_load_are_those_of_the_packs_other_readings() -> None:
    """12.3 V less 20 mΩ times 16.5 A is 11.97 V; read at rest, 12.6 V. The innocent twin in run 11 is left alone."""
    rows = sagging(two_rounds())
    assert flags_of(rows) == []
    rows[4]["voltage"] = 12.6
    (flag,) = [flag for flag in flags_of(rows) if flag.severity >= Severity.DOUBTFUL]
    assert (flag.row, flag.column, flag.title) == (5, "voltage", TITLE)
    assert flag.found == "12.6 V with 16.5 A"
    assert flag.expected == "about 12.0 V under that load, as the other readings have it"


@pytest.mark.parametrize(("volts", "rows"), [(12.75, [6]), (12.1, [])])
def test_without_a_repeat_by_the_other_readings_of_the_pack(volts: float, rows: list[int]) -> None:
    """One round: 10x4.7 draws 24.3 A on 3S, at 11.81 V by the line of the others, and 8 % more volts would give 13 % more."""
    once = sagging(two_rounds())[:6]
    assert rest_volts(case(once)) == []
    once[5]["voltage"] = volts
    assert [flag.row for flag in rest_volts(case(once))] == rows


def test_both_repeats_at_rest_by_the_other_readings_of_the_pack() -> None:
    """9x4.7 draws 16.5 A on 3S, at 11.97 V by the line of the others; a pack at rest has 12.3 V, and they read 12.6 V."""
    rows = sagging(two_rounds())
    for at in (4, 10):
        rows[at]["voltage"] = 12.6
    assert [flag.row for flag in rest_volts(case(rows))] == [5, 11]
    assert rest_volts(case(rows, supply="bench supply")) == []


def test_a_fresh_pack_in_one_round_is_none() -> None:
    assert rest_volts(case(two_rounds(1.05))) == []
    rows = two_rounds()
    rows[5] |= {"voltage": 12.4, "current": round(24.3 * (12.4 / 11.7) ** 1.6, 1), "thrust": 1350}
    assert rest_volts(case(rows)) == []


def test_what_says_to_stop_stays_in_its_words() -> None:
    """17.3 V on four cells is 4.33 V a cell: read at rest, they are the pack's own, and it is overcharged."""
    one = {"prop": "9x4.7", "cells": 4, "voltage": 16.0, "current": 30.4, "thrust": 1736.0}
    _, listed = checked(bench_of_rows([one, one | {"voltage": 17.3, "current": 31.0, "thrust": 1747.0}]))
    assert said(listed) == [(2, "voltage", f"{TITLE}, and volts per cell too high (4.325 V; at most 4.25 V)")]
    assert listed[0].fix.startswith("Stop and measure the pack")
    assert listed[0].fix.endswith("type the volts under load; otherwise repeat the point.")


def test_rounds_of_simulated_motors_are_left_alone() -> None:
    for seed in range(25):
        for times in (1, 2, 3):
            assert rest_volts(case_of(Scope(bench_of(rounds(seed, 3, times))))) == [], (seed, times)
