from __future__ import annotations

import pytest

from tests.bench.ideal_bench import PROPELLERS, STEPS, Row, full_throttle, reading, scope_of, spins
from xlsengine.bench.checks.row_checks import MODEL_CHECKS, ROW_CHECKS
from xlsengine.bench.judging.plain_checks import IN_GRAMS
from xlsengine.study.evaluation import Scope
from xlsengine.study.judged_rows import raised_checks

TITLES = {*(check.title for check in MODEL_CHECKS), *(f"Thrust perhaps in {unit}" for unit in IN_GRAMS)}


def raised(scope: Scope, row: int) -> set[str]:
    """Return the titles of the checks of model and unit that stand on a row, from 0."""
    found = {check.title for check, column in zip(ROW_CHECKS, raised_checks(scope), strict=True) if column[row]}
    return found & TITLES


def altered(row: int, **factors: float) -> Scope:
    rows: list[Row] = [reading(p, c) for p in PROPELLERS[:2] for c in (3, 4) for _ in range(2)]
    for name, factor in factors.items():
        rows[row] = rows[row] | {name: rows[row][name] * factor}
    return scope_of(rows, FreeSpins=spins())


def test_clean_rows_raise_nothing() -> None:
    rows = [reading(p, c, duty, torque=True) for p in PROPELLERS for c in (3, 4) for duty in STEPS]
    scope = scope_of(rows, FreeSpins=spins())
    assert [raised(scope, row) for row in range(len(rows))] == [set()] * len(rows)


@pytest.mark.parametrize("factor", [7 / 6, 6 / 7])
def test_wrong_pole_count(factor: float) -> None:
    scope = altered(3, speed=factor)
    assert "Speed fits the wrong pole count" in raised(scope, 3)
    assert all(not raised(scope, row) for row in range(8) if row != 3)


def test_speed_off_the_line() -> None:
    scope = altered(5, speed=0.91)
    assert raised(scope, 5) >= {"Speed off the motor's line"}
    assert all(not raised(scope, row) for row in range(8) if row != 5)


@pytest.mark.parametrize("factor", [1.3, 0.75])
def test_thrust_coefficient(factor: float) -> None:
    scope = altered(2, thrust=factor)
    assert "Thrust coefficient unlike the propeller's others" in raised(scope, 2)
    assert all(not raised(scope, row) for row in range(8) if row != 2)


def test_figure_of_merit() -> None:
    good = reading(PROPELLERS[0], 4, torque=True)
    assert raised(scope_of([good]), 0) == set()
    assert raised(scope_of([good | {"torque": good["torque"] / 2}]), 0) == {"Figure of merit too good"}


@pytest.mark.parametrize("unit", IN_GRAMS)
@pytest.mark.parametrize("duty", STEPS)
def test_thrust_in_another_unit(unit: str, duty: float) -> None:
    good = reading(PROPELLERS[2], 4, duty)
    scope = scope_of([good | {"thrust": good["thrust"] / IN_GRAMS[unit]}])
    words = {title for title in raised(scope, 0) if title.startswith("Thrust perhaps")}
    assert words == {f"Thrust perhaps in {unit}"}


@pytest.mark.parametrize("factor", [0.1, 10.0])
def test_decimal_slip_is_no_unit(factor: float) -> None:
    good = reading(PROPELLERS[2], 4)
    found = raised(scope_of([good | {"thrust": good["thrust"] * factor}]), 0)
    assert not {title for title in found if title.startswith("Thrust perhaps")}


def test_full_table_raises_nothing() -> None:
    scope = scope_of(full_throttle())
    assert all(not raised(scope, row) for row in range(8))
