import math
from typing import Any

import numpy as np
import pytest

from tests.bench.ideal_bench import PROPELLERS, reading, scope_of
from tests.instruments.propagation import coverage_factor
from xlsengine.bench.groups.repeats import GROUPS
from xlsengine.study.evaluation import Scope

THRUSTS = {4: (1000.0, 1012.0, 990.0, 1004.0), 3: (700.0, 707.0, 698.0)}


def rows_of(thrusts: dict[int, tuple[float, ...]] = THRUSTS, **more: Any) -> list[dict[str, Any]]:
    """Return repeats of one propeller, cell counts in turn, runs numbered on."""
    rows: list[dict[str, Any]] = []
    for cells, readings in thrusts.items():
        for thrust in readings:
            rows.append({**reading(PROPELLERS[0], cells), "thrust": thrust, "run": float(len(rows) + 1), **more})
    return rows


def with_fields(rows: list[dict[str, Any]], **tables: Any) -> Scope:
    return scope_of(rows, None, **tables)


def test_pooled_scatter_is_that_of_all_groups() -> None:
    scope = with_fields(rows_of())
    squares = sum(float(np.sum((np.array(t) / np.mean(t) - 1) ** 2)) for t in THRUSTS.values())
    assert scope.named("repeats_read") == 5.0
    assert scope.named("repeat_groups") == 2.0
    assert scope.named("thrust_scatter") == pytest.approx(100 * math.sqrt(squares / 5))
    by_group = scope.column(GROUPS.name, "repeat_thrust_scatter")[:2]
    assert by_group == pytest.approx([100 * np.std(t, ddof=1) / np.mean(t) for t in THRUSTS.values()])


def test_two_repeats_at_four_percent_other_volts_worked_by_hand() -> None:
    """15.00 V 30.0 A 1,000 g, and on a fresher pack 15.60 V 32.0 A 1,070 g; the speed ratio is taken as 0.75.

    Volts are ±1.9608 % about 15.30 V, which makes ±3.1373 % of thrust and amps by their power 1.6. Thrust is ±3.3816 %
    about 1,035 g, amps ±3.2258 % about 31.0 A: 0.2443 % and 0.0885 % are left, and two readings d apart about their mean
    have a deviation of √2·d. Both are left on the same side, so that grams per watt have √2·(0.2443 − 0.0885) %.
    """
    first = {**reading(PROPELLERS[0], 4), "voltage": 15.0, "current": 30.0, "thrust": 1000.0}
    second = {**first, "voltage": 15.6, "current": 32.0, "thrust": 1070.0, "run": 2.0}
    scope = scope_of([first, second], {"least_repeats": 1, "current_accuracy": 1.5})
    for name, left in (("thrust", 0.2443), ("current", 0.0885), ("thrust_per_current", 0.1558)):
        assert scope.named(f"scatter_of_{name}") == pytest.approx(left * math.sqrt(2), rel=1e-3), name
    ammeter, scatter = 1.5 / math.sqrt(3), 0.0885 * math.sqrt(2)
    u = math.hypot(ammeter, scatter)
    factor = coverage_factor(u**4 / scatter**4)  # one degree of freedom; some 2,300 of the whole
    assert factor == pytest.approx(1.96, abs=0.002)
    assert 100 * scope.named("current_share") == pytest.approx(factor * u, rel=1e-3)


def test_published_figures_stay_what_was_read() -> None:
    """Means of the readings at their own volts; the amps that an ESC is chosen by are the highest ones read."""
    first = {**reading(PROPELLERS[0], 4), "voltage": 15.0, "current": 30.0, "thrust": 1000.0}
    scope = scope_of([first, {**first, "voltage": 15.6, "current": 32.0, "thrust": 1070.0}])
    for name, value in (("thrust", 1035.0), ("current", 31.0), ("voltage", 15.3)):
        assert scope.column("Summary", f"full_{name}")[0] == pytest.approx(value)
    assert scope.column("Summary", "static_current")[0] == 32.0


def test_other_throttle_kind_or_propeller_is_no_repeat() -> None:
    first = reading(PROPELLERS[0], 4)
    others = [
        {**first, "throttle": 80.0},
        {**first, "kind": "peak"},
        {**first, "prop": "another"},
        {**first, "cells": 3.0},
        {**first, "use": "no"},
    ]
    assert with_fields([first, *others]).named("repeats_read") == 0.0
    blank = {**first, "throttle": None, "prop": first["prop"].upper() + " ", "thrust": first["thrust"] + 1}
    assert with_fields([first, blank]).named("repeats_read") == 1.0


def test_a_doubtful_reading_is_no_scatter() -> None:
    rows = rows_of()
    rows[1]["current"] = 0.01  # more grams per watt than physics allows
    scope = with_fields(rows)
    assert scope.named("repeats_read") == 4.0


def test_a_row_with_the_readings_of_an_earlier_one_is_no_repeat() -> None:
    rows = rows_of()
    told = with_fields(rows)
    copied = with_fields([*rows, {**rows[1], "run": 30.0}, {**rows[0], "throttle": None, "note": "again"}])
    for name in ("repeats_read", "repeat_groups", "thrust_scatter", "current_scatter", "drift"):
        assert copied.named(name) == pytest.approx(told.named(name), nan_ok=True), name
    last = {**rows[1], "run": 30.0}
    for change in ({"voltage": 1.0001}, {"current": 1.001}, {"thrust": 1.001}, {"speed": 1.0005}):
        ((name, factor),) = change.items()
        assert with_fields([*rows, {**last, name: last[name] * factor}]).named("repeats_read") == 6.0, name


def test_readings_that_are_all_alike_are_one_reading() -> None:
    scope = with_fields(rows_of({4: (1000.0,) * 8}))
    assert (scope.named("repeats_read"), scope.named("repeat_groups")) == (0.0, 0.0)
    assert math.isnan(float(scope.named("thrust_scatter")))
    assert str(scope.named("scatter_basis")).startswith("common practice")


def test_thrusts_that_are_all_alike_scatter_by_nothing() -> None:
    rows = rows_of({4: (1000.0,) * 8})
    scope = with_fields([{**row, "current": row["current"] + place / 100} for place, row in enumerate(rows)])
    assert scope.named("thrust_scatter") == 0.0
    assert scope.named("thrust_current") == 0.0
    assert scope.column("Uncertainties", "sure_thrust_scatter")[0] == 0.0
    assert scope.column("Uncertainties", "sure_thrust_freedom")[0] == 10_000.0
