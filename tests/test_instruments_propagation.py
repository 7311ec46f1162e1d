from __future__ import annotations

import math

import numpy as np
import pytest

from tests.instruments.propagation import Quantity, combine, coverage_factor, welch_satterthwaite


def product(*factors: float) -> float:
    return math.prod(factors)


def test_relative_uncertainties_of_a_product_add_in_squares() -> None:
    result = combine(product, [Quantity(15.0, 0.15), Quantity(30.0, 0.6), Quantity(2.0, 0.04)])
    assert result.value == pytest.approx(900.0)
    assert result.uncertainty == pytest.approx(900.0 * math.sqrt(0.01**2 + 0.02**2 + 0.02**2))
    assert [line.share for line in result.budget] == pytest.approx([1 / 9, 4 / 9, 4 / 9])
    assert result.budget[0].sensitivity == pytest.approx(60.0)


def test_a_reading_used_twice_is_not_two() -> None:
    square = combine(lambda x: x * x, [Quantity(3.0, 0.1)])
    assert square.uncertainty == pytest.approx(0.6)
    assert combine(lambda x: x / x, [Quantity(3.0, 0.1)]).uncertainty == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("r", [-1.0, -0.4, 0.0, 0.7, 1.0])
def test_correlation_of_a_difference(r: float) -> None:
    together = np.array([[1.0, r], [r, 1.0]])
    result = combine(lambda a, b: a - b, [Quantity(5.0, 0.3), Quantity(4.0, 0.4)], together)
    assert result.uncertainty == pytest.approx(math.sqrt(0.3**2 + 0.4**2 - 2 * r * 0.12), abs=1e-9)


def test_correlated_inputs_count_as_one_part() -> None:
    inputs = [Quantity(1.0, 1.0, 4), Quantity(1.0, 1.0, 9), Quantity(1.0, 1.0, 5)]
    together = np.array([[1, 0.5, 0], [0.5, 1, 0], [0, 0, 1]])
    bound = combine(lambda a, b, c: a + b + c, inputs, together)
    assert bound.freedom == pytest.approx(welch_satterthwaite([math.sqrt(3), 1.0], [4, 5]))
    assert combine(lambda a: a, [Quantity(1.0, 0.0, 3)]).freedom == math.inf


def test_against_monte_carlo() -> None:
    inputs = [Quantity(10.0, 0.05), Quantity(3.0, 0.02), Quantity(0.5, 0.004)]
    correlation = np.array([[1, 0.6, 0], [0.6, 1, -0.3], [0, -0.3, 1]])
    result = combine(lambda a, b, c: a * b**1.5 / (1 + c), inputs, correlation)
    u = np.array([each.uncertainty for each in inputs])
    means = [each.value for each in inputs]
    a, b, c = np.random.default_rng(4).multivariate_normal(means, correlation * np.outer(u, u), 200_000).T
    assert float(np.std(a * b**1.5 / (1 + c))) == pytest.approx(result.uncertainty, rel=0.01)


@pytest.mark.parametrize(
    "correlation", [[[1, 2], [2, 1]], [[1, 0.5], [0.2, 1]], [[0.5, 0], [0, 1]], [[1, 0, 0], [0, 1, 0], [0, 0, 1]]]
)
def test_what_is_no_correlation_is_refused(correlation: list[list[float]]) -> None:
    with pytest.raises(ValueError, match="2 by 2"):
        combine(lambda a, b: a + b, [Quantity(1.0, 0.1), Quantity(1.0, 0.1)], correlation)


def test_coverage_factor_wants_sense() -> None:
    assert coverage_factor(4.99) == coverage_factor(4.0)
    with pytest.raises(ValueError, match="degrees of freedom"):
        coverage_factor(0.5)
    with pytest.raises(ValueError, match="confidence"):
        coverage_factor(5, 95)
