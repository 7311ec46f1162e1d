"""A box of motors against published examples: capability and its interval, run charts, intervals, how many to test."""

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from scipy import stats

from xlsengine.bench.boxes.batch import SERIALS
from xlsengine.bench.inputs.bench_test import columns_of
from xlsengine.study.batch import scope_of
from xlsengine.study.evaluation import Scope


def box(values: Sequence[float], **fields: Any) -> Scope:
    """Return a box whose motors have these resistances in mΩ."""
    rows = [{"serial": f"M{place}", "resistance": float(value)} for place, value in enumerate(values, start=1)]
    return scope_of({"batch_model": "invented", **fields}, columns_of(SERIALS, rows))


def found(scope: Scope, *names: str) -> list[float]:
    """Return figures of the resistance."""
    return [float(scope.named(f"resistance_{name}")) for name in names]


def two_sided(low: float, high: float) -> dict[str, float]:
    """Return the label's value halfway between two limits, with its allowance in percent on either side."""
    middle = (low + high) / 2
    share = 100 * (high - middle) / middle
    return {"resistance_promised": middle, "resistance_below": share, "resistance_above": share}


def spread_of(mean: float, deviation: float, motors: int) -> list[float]:
    """Return an even number of values with this mean and standard deviation: half of them above it, half below."""
    step = deviation * math.sqrt((motors - 1) / motors)
    return [mean + step, mean - step] * (motors // 2)


def test_capability_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 6.1.6, from memory: limits 8 and 20, mean 16, s 2: Cp 1.0, Cpk 0.6667."""
    assert found(box([14, 16, 18], **two_sided(8, 20)), "mean", "s", "cp", "cpk") == pytest.approx([16, 2, 1.0, 2 / 3])


def test_interval_of_cpk() -> None:
    """30 pieces with Cpk 1.45: 1.06 to 1.84 at 95 % (an article on quality statistics; by Bissell's approximation)."""
    values = spread_of(100.0, 1.0, 30)
    low, high = found(box(values, **two_sided(100 - 4.35, 100 + 4.35)), "cpk_low", "cpk_high")
    assert (round(low, 2), round(high, 2)) == (1.06, 1.84)


def test_one_limit_gives_cpk_alone() -> None:
    scope = box([14, 16, 18], resistance_promised=20.0, resistance_above=0.0, resistance_below=None)
    cp, cpk = found(scope, "cp", "cpk")
    assert math.isnan(cp)
    assert cpk == pytest.approx((20 - 16) / 6)


def test_interval_of_cp_by_chi_square() -> None:
    """Chi-square table of the handbook, 1.3.6.7.4: 10 degrees of freedom, 3.247 and 20.483 at 0.025 either way."""
    values = [*spread_of(50.0, 1.0, 10), 50.0]
    scope = box(values, **two_sided(46, 54))
    s, cp = found(scope, "s", "cp")
    assert found(scope, "s_low", "s_high") == pytest.approx(
        [s * (10 / 20.483) ** 0.5, s * (10 / 3.247) ** 0.5], rel=1e-4
    )
    assert found(scope, "cp_low", "cp_high") == pytest.approx(
        [cp * (3.247 / 10) ** 0.5, cp * (20.483 / 10) ** 0.5], rel=1e-4
    )


FLOW = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)


def test_limits_of_the_run_chart() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.2, from memory: flow rates of ten batches, limits 45.8159 and 55.8041."""
    scope = box(FLOW)
    assert found(scope, "mean", "moved") == pytest.approx([50.81, 1.8778], abs=5e-5)
    assert found(scope, "chart_low", "chart_high") == pytest.approx([45.8159, 55.8041], abs=2e-4)
    assert found(scope, "moved_high") == pytest.approx([3.267 * 1.8778], abs=2e-4)
    assert found(scope, "beyond") == [0.0]


@pytest.mark.parametrize(("value", "beyond"), [(53.4, 0.0), (65.0, 2.0)])
def test_a_motor_beyond_chance_is_counted_and_not_dropped(value: float, beyond: float) -> None:
    """One of twelve far above: it is outside, and so is the range to the next."""
    values = [*FLOW, value, 50.0]
    scope = box(values)
    assert found(scope, "count", "mean") == pytest.approx([12, np.mean(values)])
    assert found(scope, "beyond") == [beyond]


# t(0.975; n − 1)/√n, by which a standard deviation is multiplied: ISO 2602, table of the mean's interval, from memory.
FACTORS = {2: 8.985, 3: 2.484, 4: 1.591, 5: 1.242, 6: 1.049, 8: 0.836, 10: 0.715, 15: 0.554, 20: 0.468, 30: 0.373}


@pytest.mark.parametrize("motors", FACTORS)
def test_how_many_for_a_width_by_the_table(motors: int) -> None:
    """A width just above the factor takes that many motors, one just below takes more."""
    s, goal = 1.0, FACTORS[motors]
    for width, more in ((goal + 0.001, 0), (goal - 0.001, 1)):
        values = spread_of(100.0, s, 12)
        (needed,) = found(box(values, resistance_promised=100.0, wanted_mean_width=width), "for_mean")
        assert (needed == motors) if not more else (needed > motors)


@pytest.mark.parametrize("confidence", [80.0, 95.0, 99.0, 99.9])
@pytest.mark.parametrize("width", [0.2, 0.5, 1.0, 3.0, 20.0])
def test_how_many_for_a_width_by_trial(width: float, confidence: float) -> None:
    """The smallest n with t·s/√n within the width, tried one by one with scipy.stats."""
    tail = 1 - (1 - confidence / 100) / 2
    fits = next(n for n in range(2, 5000) if stats.t.ppf(tail, n - 1) / math.sqrt(n) <= width)
    scope = box(
        spread_of(100.0, 1.0, 12), resistance_promised=100.0, wanted_mean_width=width, batch_confidence=confidence
    )
    assert found(scope, "for_mean") == [fits]


@pytest.mark.parametrize("width", [0.05, 0.1, 0.3, 0.6, 2.0])
def test_how_many_for_a_width_of_cpk(width: float) -> None:
    """The smallest n with z·√(1/(9n) + Cpk²/(2(n − 1))) within the width, tried one by one."""
    scope = box(spread_of(100.0, 1.0, 12), wanted_index_width=width, **two_sided(96, 104))
    (cpk,) = found(scope, "cpk")
    z = stats.norm.ppf(0.975)
    fits = next(n for n in range(2, 9000) if z * math.sqrt(1 / (9 * n) + cpk**2 / (2 * (n - 1))) <= width)
    assert found(scope, "for_index")[0] == pytest.approx(fits, abs=0 if width > 0.1 else 1)


def test_the_worked_kv_limit() -> None:
    """A label kept to ± 5 % with a scatter of 1.2 %, centred: Cpk 5/3.6 = 1.39 (worked out)."""
    (cpk,) = found(box(spread_of(2000.0, 24.0, 10), **two_sided(1900, 2100)), "cpk")
    assert cpk == pytest.approx(5 / 3.6)
