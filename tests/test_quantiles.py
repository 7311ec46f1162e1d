"""Quantiles against printed tables and against scipy, from one degree of freedom to as many as count as infinite."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from xlsengine.quantiles import chi_square_quantile, t_quantile

FREEDOMS = (*range(1, 41), 49, 99, 100, 101, 102, 499, 1000, 9999, 10_000, 100_001)
BEYOND = (1e-12, 1e-7, 1e-5, 1e-3, 0.01, 0.05, 0.1, 0.3173, 0.5, 0.9, 0.999)


@pytest.mark.parametrize(
    ("beyond", "freedom", "printed"),
    [(0.05, 1, 12.71), (0.05, 10, 2.23), (0.05, 50, 2.01), (0.01, 5, 4.03), (0.0027, 20, 3.42), (0.3173, 4, 1.14)],
)
def test_t_is_that_of_the_gum(beyond: float, freedom: int, printed: float) -> None:
    """JCGM 100:2008, Table G.2."""
    assert round(t_quantile(beyond, freedom), 2) == printed


@pytest.mark.parametrize(
    ("beyond", "freedom", "printed"), [(0.05, 1, 3.841), (0.05, 10, 18.307), (0.01, 30, 50.892), (0.95, 10, 3.940)]
)
def test_chi_square_is_that_of_the_handbook(beyond: float, freedom: int, printed: float) -> None:
    """NIST/SEMATECH e-Handbook 1.3.6.7.4."""
    assert round(chi_square_quantile(beyond, freedom), 3) == printed


@pytest.mark.parametrize("freedom", FREEDOMS)
def test_they_are_those_of_scipy(freedom: int) -> None:
    for beyond in BEYOND:
        assert t_quantile(beyond, freedom) == pytest.approx(stats.t.isf(beyond / 2, freedom), rel=1e-10)
        assert chi_square_quantile(beyond, freedom) == pytest.approx(stats.chi2.isf(beyond, freedom), rel=1e-9)


def test_one_degree_of_freedom_is_the_cauchy_distribution() -> None:
    for beyond in BEYOND:
        assert t_quantile(beyond, 1) == pytest.approx(1 / math.tan(math.pi / 2 * beyond), rel=1e-12)


@pytest.mark.parametrize("freedom", [1, 2, 3, 7, 10_000])
def test_what_is_surely_exceeded(freedom: int) -> None:
    assert t_quantile(1.0, freedom) == 0.0
    assert chi_square_quantile(1.0, freedom) == 0.0
