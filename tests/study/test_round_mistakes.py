"""Whole rounds that one mistake explains, planted in a table of peaks: all are told in one line, with the cure, and no other.

The table is that of `test_block_checks`, worked by hand; what is expected follows from it: half of 13.2 A is 6.6 A.
"""

from collections.abc import Callable

import pytest

from tests.study.round_benches import bench_of, rounds
from tests.study.test_block_checks import AGAIN_2S, AGAIN_3S, FIRST_3S, Row, table, told, with_mistake
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.evaluation import Scope
from xlsengine.study.group_checks import group_checks

AGAIN = [*AGAIN_2S, *AGAIN_3S]


def times(column: str, factor: float, decimals: int = 1) -> Callable[[Row], Row]:
    return lambda row: {column: round(row[column] * factor, decimals)}


def test_amps_of_a_round_on_another_range_are_not_told_of_the_other_round() -> None:
    """A tenth of 13.2 A is 1.32 A; on two cells the same propellers have ten times as many amps for their thrust."""
    title, found, _, fix, severity, rows = told(with_mistake(FIRST_3S, times("current", 0.1, 2)))
    assert (title, severity, rows) == ("Amps off by one factor", Severity.IMPOSSIBLE, list(FIRST_3S))
    assert found.startswith("runs 5-8: 0.1 times what the same propellers have in runs 13-16")
    assert fix.startswith("If your bench notes agree, type 10 times as much in each: in run 5 13.2 A for 1.32 A")


@pytest.mark.parametrize("at", [AGAIN_3S, [*FIRST_3S, *AGAIN_3S]])
def test_amps_read_in_one_of_two_leads(at: list[int]) -> None:
    title, found, _, fix, severity, rows = told(with_mistake(at, times("current", 0.5)))
    assert (title, severity, rows) == ("Amps off by one factor", Severity.IMPOSSIBLE, list(at))
    assert ("2S" if len(at) > 4 else "runs 5-8") in found
    assert "type 2 times as much in each" in fix or len(at) > 4


def test_a_lever_arm_left_out() -> None:
    """396 g over 1.5 are 264 g."""
    title, _, expected, fix, severity, rows = told(with_mistake(AGAIN, times("thrust", 1 / 1.5, 0)))
    assert (title, severity, rows) == ("Thrusts off by one factor", Severity.IMPOSSIBLE, AGAIN)
    assert "in run 9 39" in fix
    assert "type 1.5 times as much" in fix
    assert expected.endswith("g, as there")


def test_a_clamp_that_was_not_zeroed_in_one_of_two_rounds() -> None:
    """Which of two cannot be told here: both are named; that of fewer amps, by which an ESC may be chosen, is doubted."""
    title, found, _, fix, severity, rows = told(with_mistake(AGAIN, lambda row: {"current": row["current"] + 1.5}))
    assert (title, severity, rows) == ("Amps off by one amount", Severity.DOUBTFUL, [*range(1, 9)])
    assert "runs 1-8 read about 1.5 A less than runs 9-16" in found
    assert "add the 1.5 A to each; if it was off in runs 9-16, take the 1.5 A off there" in fix


def test_throttle_that_was_not_full_in_a_round() -> None:
    rows = with_mistake(
        AGAIN, lambda row: {"current": round(row["current"] * 0.8, 1), "thrust": round(row["thrust"] * 0.85)}
    )
    title, found, _, _, severity, at = told(rows)
    assert (title, severity, at) == ("A whole round reads otherwise", Severity.DOUBTFUL, AGAIN)
    assert found.startswith("runs 9-16: 0.85 times the thrust and 0.8 times the amps of runs 1-8")


def test_volts_of_another_cell_count_copied_into_a_round() -> None:
    """8.00 V on three cells are 2.67 V a cell; the repeats had 11.51 to 11.80 V."""
    volts = [row["voltage"] for row in table()[:4]]
    rows = with_mistake(FIRST_3S, lambda row: {"voltage": volts[int(row["run"]) - 5]})
    title, found, expected, fix, severity, at = told(rows)
    assert (title, severity, at) == ("Volts not those of these readings", Severity.IMPOSSIBLE, list(FIRST_3S))
    assert found == "7.85 to 8.00 V in runs 5-8, with the amps and thrust of runs 13-16"
    assert expected == "about 11.5 to 11.8 V, as there"
    assert "stop and measure the pack: below 3.0 V" in fix


@pytest.mark.parametrize("end", ["its own", "the first's"])
def test_thrusts_that_slipped_by_one_row(end: str) -> None:
    """Each reads the thrust of the row above; the first its own, or that of the last."""
    above = [row["thrust"] for row in table()[12:15]]
    first = table()[15 if end == "the first's" else 12]["thrust"]
    moved = dict(zip(AGAIN_3S, [first, *above], strict=True))
    title, _, _, fix, severity, rows = told(with_mistake(AGAIN_3S, lambda row: {"thrust": moved[int(row["run"])]}))
    assert (title, severity, rows) == ("Thrusts moved by one row", Severity.IMPOSSIBLE, list(AGAIN_3S))
    assert "move the thrusts of runs 13-16 one row up" in fix


@pytest.mark.parametrize("share", [0.92, 1.08])
def test_another_day_is_no_mistake(share: float) -> None:
    """Air 8 % denser takes as many more amps as it gives grams."""
    rows = with_mistake(AGAIN, lambda row: {"current": row["current"] * share, "thrust": row["thrust"] * share})
    assert not [flag for flag in group_checks(Scope(bench_of(rows))) if "round" in flag.title or "Amps" in flag.title]


TITLES = (
    "Amps off",
    "Thrusts off",
    "A whole round",
    "Volts not those",
    "Thrusts moved",
    "Amps moved",
    "Propellers moved",
)


@pytest.mark.parametrize("seed", range(12))
def test_on_simulated_benches(seed: int) -> None:
    """Nothing is said of sound ones; amps of a round that are half are told of that round on every bench."""
    rows: list[Row] = rounds(seed, 4)
    half = range(len(rows) // 2, len(rows))
    wrong = [row | {"current": round(row["current"] / 2, 1)} if at in half else row for at, row in enumerate(rows)]
    assert _told_of(rows) == []
    assert _told_of(wrong) == [(at, "Amps off by one factor") for at in half]


def _told_of(rows: list[Row]) -> list[tuple[int, str]]:
    return [(flag.row - 1, flag.title) for flag in group_checks(Scope(bench_of(rows))) if flag.title.startswith(TITLES)]
