from __future__ import annotations

import math
from dataclasses import astuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from xlsengine.study.fits import BISQUARE_CUTOFF, RobustLine, robust_line
from xlsengine.study.outliers import ROUNDING, FloatArray

BLANK = math.nan

Points = tuple[FloatArray, FloatArray]

# Columns as instruments show them: hundredths, up to 100.
columns = st.lists(st.tuples(st.integers(-10_000, 10_000), st.integers(-10_000, 10_000)), min_size=5, max_size=40).map(
    lambda points: (np.array(points)[:, 0] / 100, np.array(points)[:, 1] / 100)
)
shifts = st.integers(-10_000, 10_000).map(lambda hundredths: hundredths / 100)


def _robust(x: object, y: object) -> RobustLine:
    fit = robust_line(np.asarray(x), np.asarray(y))
    assert fit is not None
    return fit


def _noisy(n: int, seed: int = 3, noise: float = 0.1) -> Points:
    """Points about y = 3 + 2 x, x from 0 to 10."""
    generator = np.random.default_rng(seed)
    x = np.sort(generator.uniform(0, 10, n))
    return x, 3 + 2 * x + noise * generator.normal(size=n)


def _places(name: str, n: int) -> list[int]:
    """Where a quarter of n points go wrong."""
    bad = n // 4
    starts = {"at the low end": 0, "in the middle": n // 2 - bad // 2, "at the high end": n - bad}
    if name in starts:
        return list(range(starts[name], starts[name] + bad))
    return list(range(0, 4 * bad, 4)) if name == "spread out" else list(range(0, 2 * bad, 2))


class TestRobustLine:
    @pytest.mark.parametrize("n", [8, 12, 20, 24, 40, 200])
    @pytest.mark.parametrize("error", [-15.0, 50.0, 1e9])
    @pytest.mark.parametrize(
        "place", ["at the low end", "in the middle", "at the high end", "spread out", "every other low"]
    )
    def test_a_quarter_of_gross_outliers_cannot_pull_it(self, place: str, error: float, n: int) -> None:
        x, y = _noisy(n)
        bad = _places(place, n)
        good = stats.linregress(np.delete(x, bad), np.delete(y, bad))
        y[bad] += error
        line = _robust(x, y)
        at_ends = [line.intercept - good.intercept + (line.slope - good.slope) * end for end in (0, 10)]
        # Three times the noise at most; least squares is out by 4 or more in every case.
        assert np.abs(at_ends).max() < 0.3
        plain = stats.linregress(x, y)
        assert abs(plain.intercept - good.intercept) + abs(plain.slope - good.slope) * 10 > 2

    def test_a_quarter_of_points_far_out_in_x_cannot_tip_it(self) -> None:
        x, y = _noisy(40)
        x[:10], y[:10] = 100.0, -50.0
        assert _robust(x, y).slope == pytest.approx(2, abs=0.05)

    def test_a_quarter_of_outliers_to_one_side_at_random(self) -> None:
        generator = np.random.default_rng(8)
        for seed in range(100):
            x, y = _noisy(24, seed)
            y[generator.permutation(24)[:6]] -= 3
            assert _robust(x, y).slope == pytest.approx(2, abs=0.05)

    @given(data=st.data())
    def test_order_does_not_matter_to_the_last_bit(self, data: st.DataObject) -> None:
        x, y = _noisy(14)
        x, y = np.round(x), y + np.where(np.arange(14) % 5 == 0, 30, 0)
        order = data.draw(st.permutations(range(14)))
        shuffled, fit = _robust(x[order], y[order]), _robust(x, y)
        assert astuple(shuffled) == astuple(fit)

    @given(factor=st.floats(0.001, 1000), x_shift=shifts, y_shift=shifts, tilt=shifts)
    def test_moves_with_unit_zero_and_tilt(self, factor: float, x_shift: float, y_shift: float, tilt: float) -> None:
        x, y = _noisy(30)
        y[:7] += 25
        fit = _robust(x, y)
        moved = _robust(x + x_shift, factor * (y + tilt * x) + y_shift)
        slope = factor * (fit.slope + tilt)
        assert moved.slope == pytest.approx(slope, rel=1e-6, abs=1e-6 * factor)
        expected = factor * fit.intercept + y_shift - slope * x_shift
        assert moved.intercept == pytest.approx(expected, rel=1e-5, abs=1e-4 * factor)
        assert moved.scale == pytest.approx(factor * fit.scale, rel=1e-5)

    @pytest.mark.parametrize("seed", range(10))
    def test_solves_tukeys_estimating_equations(self, seed: int) -> None:
        x, y = _noisy(30, seed)
        y[:5] += 20
        fit = _robust(x, y)
        residuals = y - fit.intercept - fit.slope * x
        u = residuals / (BISQUARE_CUTOFF * fit.scale)
        psi = np.where(np.abs(u) < 1, residuals * (1 - u**2) ** 2, 0)
        assert abs(psi.sum()) < 1e-5
        assert abs(psi @ x) < 1e-4

    def test_lies_near_least_squares_and_theil_and_sen_on_clean_points(self) -> None:
        x, y = _noisy(60)
        fit, plain = _robust(x, y), stats.linregress(x, y)
        theil_sen = stats.theilslopes(y, x)
        assert fit.slope == pytest.approx(plain.slope, abs=plain.stderr)
        assert fit.slope == pytest.approx(float(theil_sen.slope), abs=plain.stderr)
        assert fit.intercept == pytest.approx(float(theil_sen.intercept), abs=plain.intercept_stderr)
        assert fit.scale == pytest.approx(0.1, rel=0.3)

    def test_efficiency_on_normal_noise(self) -> None:
        columns = [_noisy(40, seed) for seed in range(800)]
        x = columns[0][0]
        levels = [3 + 2 * x + (y - 3 - 2 * own_x) for own_x, y in columns]
        # 95 % for many points (Holland & Welsch 1977, from memory); a little less at 40.
        slopes = [_robust(x, y).slope for y in levels]
        efficiency = np.var([stats.linregress(x, y).slope for y in levels]) / np.var(slopes)
        assert 0.88 < efficiency < 1

    def test_points_exactly_on_a_line_but_for_a_few(self) -> None:
        x = np.arange(12.0)
        y = 0.1 + 0.7 * x
        y[[3, 10]] = 50, -70
        fit = _robust(x, y)
        assert fit.slope == pytest.approx(0.7, rel=1e-12)
        assert fit.intercept == pytest.approx(0.1, rel=1e-12)
        assert fit.scale <= ROUNDING * np.abs(y).max()

    @pytest.mark.parametrize("rise", np.arange(1, 30) / 10)
    @pytest.mark.parametrize("level", [0.1, 0.3, 0.7, 2.9])
    def test_rounding_of_exact_points_is_no_deviation(self, level: float, rise: float) -> None:
        x = np.array([0.0] * 7 + [1.0] * 4)
        assert _robust(x, level + rise * x).slope == pytest.approx(rise, rel=1e-12)

    def test_few_points_off_a_common_x(self) -> None:
        x, y = [0.0] * 40 + [1.0, 1.0], [*np.linspace(-1, 1, 40), 100.0, 101.0]
        assert _robust(x, y).slope == pytest.approx(100.5, abs=0.1)

    def test_level_readings(self) -> None:
        fit = _robust([1, 2, 3, 4, 5], [0, 0, 7, 0, 0])
        assert (fit.slope, fit.intercept, fit.scale) == (0, 0, 0)

    def test_two_values_of_x_with_one_odd_point(self) -> None:
        y = [1.0, 1.1, 0.9, 1.05, 30.0, 3.0, 3.1, 2.9, 2.95, 3.0]
        assert _robust([0] * 5 + [1] * 5, y).slope == pytest.approx(2, abs=0.1)

    def test_blanks_count_for_nothing(self) -> None:
        x, y = _noisy(12)
        assert _robust([BLANK, *x, 5], [1, *y, BLANK]) == _robust(x, y)

    @pytest.mark.parametrize(
        ("x", "y"),
        [
            ([], []),
            ([1.0, 2.0], [1.0, 2.0]),
            ([1.0, 2.0, BLANK], [1.0, 2.0, 3.0]),
            ([2.0, 2.0, 2.0, 2.0], [1.0, 2.0, 3.0, 4.0]),
            ([1.0, 1.0, 1.0, 1.0 + 1.5e-15], [1.0, 2.0, 3.0, 4.0]),
        ],
    )
    def test_no_line_through_points_that_fix_none(self, x: list[float], y: list[float]) -> None:
        assert robust_line(x, y) is None

    def test_no_line_where_the_only_points_off_one_x_contradict_each_other(self) -> None:
        x, y = [0.0] * 20 + [1.0, 1.0], [*np.linspace(-1, 1, 20), -1000.0, 1000.0]
        assert robust_line(x, y) is None

    @given(points=columns)
    def test_any_readings_give_figures_or_none(self, points: Points) -> None:
        fit = robust_line(*points)
        assert (fit is None) or np.isfinite([fit.intercept, fit.slope, fit.scale]).all()
        assert (fit is not None) or np.unique(points[0]).size < points[0].size

    def test_a_hundred_thousand_points(self) -> None:
        x, y = _noisy(100_000)
        y[75_000:] += 5
        fit = _robust(x, y)
        assert fit.slope == pytest.approx(2, abs=0.002)

    def test_refuses_what_does_not_go_together(self) -> None:
        with pytest.raises(ValueError, match="2 x and 3 y"):
            robust_line([1, 2], [1, 2, 3])
