import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import ArrayLike

from xlsengine.study.outliers import EsdResult, FloatArray, as_column, generalized_esd, grubbs_critical

BLANK = math.nan

# Readings as an instrument shows them: hundredths, up to 100.
readings_of_an_instrument = st.lists(st.integers(-10_000, 10_000), min_size=4, max_size=40).map(
    lambda hundredths: np.array(hundredths) / 100
)
factors = st.floats(0.01, 100) | st.floats(-100, -0.01)
shifts = st.integers(-10_000, 10_000).map(lambda hundredths: hundredths / 100)


def _noise(n: int, seed: int = 1) -> FloatArray:
    return np.random.default_rng(seed).normal(size=n)


def grubbs(values: ArrayLike) -> EsdResult:
    """Grubbs' test: the generalized ESD test with one step."""
    return generalized_esd(values, 1)


class TestGrubbsCritical:
    @pytest.mark.parametrize("n", [2, 0, -1])
    def test_refuses_too_few(self, n: int) -> None:
        with pytest.raises(ValueError, match="wants 3 or more"):
            grubbs_critical(n, 0.05)

    @pytest.mark.parametrize("significance", [0.0, 1.0, -0.1, 5.0, math.nan])
    def test_refuses_a_significance_that_is_none(self, significance: float) -> None:
        with pytest.raises(ValueError, match="between 0 and 1"):
            grubbs_critical(10, significance)


class TestGrubbs:
    def test_false_alarms_come_as_often_as_the_significance_says(self) -> None:
        samples = np.random.default_rng(7).normal(size=(4000, 8))
        alarms = sum(bool(grubbs(sample).outliers) for sample in samples)
        # 5 % of 4000 is 200, with a binomial standard deviation of 14.
        assert 200 - 3 * 14 < alarms < 200 + 3 * 14

    def test_position_counts_the_blanks(self) -> None:
        assert grubbs([BLANK, 5.0, 5.1, BLANK, 4.9, 5.0, 9.0, 5.1, BLANK]).outliers == (6,)

    def test_low_outlier(self) -> None:
        assert grubbs([5.0, 5.1, 4.9, 5.0, 1.0, 5.1]).outliers == (4,)

    @pytest.mark.parametrize("values", [[], [BLANK], [1.0], [1.0, 9.0], [1.0, BLANK, 9.0]])
    def test_fewer_than_three_readings_give_no_outlier(self, values: list[float]) -> None:
        assert grubbs(values) == EsdResult((), (), (), ())

    @pytest.mark.parametrize("value", [0.0, 0.1, 38.2, -1e9])
    def test_equal_readings_give_no_outlier(self, value: float) -> None:
        result = grubbs([value] * 7)
        assert (result.outliers, result.statistics) == ((), (0.0,))

    def test_spread_left_over_from_arithmetic_is_none(self) -> None:
        assert grubbs([0.3, 0.3, 0.3, 0.3, 0.1 + 0.2]).statistics == (0.0,)

    def test_two_equal_of_three_convict_the_third(self) -> None:
        # The trap the docstring warns of: G is 2/sqrt(3) whatever the difference.
        result = grubbs([38.2, 38.2, 38.3])
        assert result.outliers == (2,)
        assert result.statistics == pytest.approx((2 / math.sqrt(3),))


class TestGeneralizedEsd:
    def test_finds_outliers_that_mask_one_another(self) -> None:
        values = [*np.linspace(-1, 1, 12), 9.0, 9.1, 9.2]
        assert grubbs(values).outliers == ()
        assert sorted(generalized_esd(values, 4).outliers) == [12, 13, 14]

    def test_outliers_on_both_sides(self) -> None:
        values = [-30.0, *np.linspace(-1, 1, 30), 30.0, BLANK]
        assert sorted(generalized_esd(values, 5).outliers) == [0, 31]

    def test_steps_stop_when_two_readings_are_left(self) -> None:
        result = generalized_esd([1.0, 2.0, BLANK, 4.0, 8.0, 16.0], most=10)
        assert len(result.tried) == len(result.statistics) == len(result.criticals) == 3

    @pytest.mark.parametrize("values", [[], [BLANK, BLANK], [1.0, 2.0]])
    def test_too_few_readings_give_no_steps(self, values: list[float]) -> None:
        assert generalized_esd(values, 3).tried == ()

    def test_refuses_a_negative_number_and_a_bad_significance(self) -> None:
        with pytest.raises(ValueError, match="most = -1"):
            generalized_esd([1.0, 2.0, 3.0], -1)
        with pytest.raises(ValueError, match="significance 5"):
            generalized_esd([1.0, 2.0, 3.0], 1, significance=5)

    @given(values=readings_of_an_instrument, factor=factors, shift=shifts)
    def test_statistics_do_not_depend_on_unit_or_zero(self, values: FloatArray, factor: float, shift: float) -> None:
        assume(np.ptp(values) > 0)
        before, after = grubbs(values), grubbs(values * factor + shift)
        assert after.statistics == pytest.approx(before.statistics, rel=1e-9)

    @given(values=readings_of_an_instrument, data=st.data())
    def test_a_planted_outlier_is_found_wherever_it_stands(self, values: FloatArray, data: st.DataObject) -> None:
        assume(values.size > 6)
        place = data.draw(st.integers(0, values.size))
        sign = data.draw(st.sampled_from([-1, 1]))
        far = np.median(values) + sign * (1.0 + 1000 * np.ptp(values))
        assert grubbs(np.insert(values, place, far)).outliers == (place,)

    @given(data=st.data())
    def test_order_does_not_matter(self, data: st.DataObject) -> None:
        values = np.array([*_noise(20), 9.0, 12.0, BLANK, -15.0])
        shuffled = values[data.draw(st.permutations(range(values.size)))]
        result = generalized_esd(shuffled, 6)
        assert list(shuffled[list(result.outliers)]) == [-15.0, 12.0, 9.0]


class TestColumns:
    @pytest.mark.parametrize("value", [math.inf, -math.inf, 1e200])
    def test_refuses_infinities_and_what_cannot_be_squared(self, value: float) -> None:
        for call in (as_column, grubbs):
            with pytest.raises(ValueError, match="infinite or beyond"):
                call([1.0, 2.0, value, 3.0])

    def test_refuses_what_is_no_column(self) -> None:
        with pytest.raises(ValueError, match="one column"):
            as_column([[1.0, 2.0], [3.0, 4.0]])

    def test_leaves_the_callers_array_alone(self) -> None:
        values = np.array([1.0, BLANK, 2.0, 50.0, 3.0])
        before = values.copy()
        generalized_esd(values, 2)
        assert np.array_equal(values, before, equal_nan=True)

    def test_loading_stays_light(self) -> None:
        code = (
            "import sys, xlsengine; before = set(sys.modules); import xlsengine.study.case as _;"
            "from xlsengine.study.outliers import generalized_esd;"
            "assert 'scipy' not in set(sys.modules) - before; generalized_esd([1, 2, 3], 1);"
            "assert not {'scipy.stats', 'pandas'} & (set(sys.modules) - before)"
        )
        subprocess.run([sys.executable, "-c", code], check=True)
