"""One honest mistake at a time in sound sweeps of throttle: the right cell, what to type there, and nobody else blamed.

Two invented propellers on 3 and 4 cells, at 20 to 100 % (`small_bench`); runs 19 to 24 are the larger one on 4 cells.
"""

import pytest

from tests.study.small_bench import Row, flags_of, good_table, without_speed
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.flags import Flag

WITH_SPEED = pytest.mark.parametrize("speed", [True, False], ids=["speeds", "no speeds"])


def told(rows: list[Row], speed: bool) -> list[Flag]:
    """Return what is doubtful or worse."""
    flags = flags_of(rows if speed else without_speed(rows))
    return [flag for flag in flags if flag.severity >= Severity.DOUBTFUL]


@WITH_SPEED
@pytest.mark.parametrize(("one", "other"), [(22, 23), (23, 24), (19, 24), (20, 22)])
def test_two_rows_of_a_sweep_that_changed_places(speed: bool, one: int, other: int) -> None:
    """65 with 80, 50 with 65, 80 with 100 and 20 with 50 %: volts, amps, grams and speeds."""
    rows = good_table()
    here, there = rows[one - 1], rows[other - 1]
    rows[one - 1] = there | {"run": here["run"], "throttle": here["throttle"]}
    rows[other - 1] = here | {"run": there["run"], "throttle": there["throttle"]}
    found = told(rows, speed)
    assert [(flag.row, flag.column) for flag in found] == [(one, "throttle"), (other, "throttle")]
    assert all("exchanged with run" in flag.title for flag in found)


@WITH_SPEED
@pytest.mark.parametrize(
    ("run", "typed", "meant"), [(22, 80.0, "50"), (24, 20.0, "80"), (23, 100.0, "65"), (23, 56.0, "65")]
)
def test_a_wrong_throttle_and_not_the_sound_reading_that_has_it_too(
    speed: bool, run: int, typed: float, meant: str
) -> None:
    rows = good_table()
    rows[run - 1]["throttle"] = typed
    (flag,) = told(rows, speed)
    assert (flag.row, flag.column, flag.title) == (run, "throttle", f"Throttle perhaps {meant} %")
    assert f"type {meant} %" in flag.fix


@WITH_SPEED
@pytest.mark.parametrize("run", [15, 16, 21, 22, 24])
def test_another_propellers_name_in_one_row_of_a_sweep(speed: bool, run: int) -> None:
    rows = good_table()
    rows[run - 1] |= {"prop": "A", "diameter": 5.0}
    found = flags_of(rows if speed else without_speed(rows))
    assert [(flag.row, flag.column, flag.title) for flag in found] == [(run, "prop", "Propeller perhaps B")]


@WITH_SPEED
@pytest.mark.parametrize("run", [2, 8, 14, 20])
def test_milliamps_in_one_row(speed: bool, run: int) -> None:
    rows = good_table()
    meant = rows[run - 1]["current"]
    rows[run - 1]["current"] = round(1000 * meant, 6)
    (flag,) = told(rows, speed)
    assert (flag.row, flag.column, flag.title) == (run, "current", "Current perhaps in milliamps")
    assert f"type {meant:.10g} A" in flag.fix
