"""Quantiles of Student's t and of chi-square; loading a library for them would take longer than a whole bench test.

Both are found by Newton's method, from a start on that side of the root from which it never oversteps.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

_MOST_STEPS = 500
_NEAR = 1e-8
"""A last step of Newton's method, relative to the root: what is left then is about its square."""
_ALIKE = 1e-15


@lru_cache(4096)
def t_quantile(beyond: float, freedom: float) -> float:
    """Return what Student's t exceeds either way with probability `beyond`, above 0 and at most 1.

    >>> round(t_quantile(0.05, 4), 3), round(t_quantile(0.05, 1), 3)
    (2.776, 12.706)
    """
    root = (1 - beyond) / (2 * _gamma_ratio(freedom / 2)) * math.sqrt(freedom * math.pi)
    for _ in range(_MOST_STEPS if root else 0):
        outside, density = _t_outside(root, freedom)
        step = (outside - beyond) / density
        root += step
        if abs(step) <= _NEAR * root:
            break
    return root


def _t_outside(t: float, freedom: float) -> tuple[float, float]:
    """Return the probability of a larger \\|t\\|, and its density: DLMF 8.17 with x = ν/(ν + t²)."""
    a, b, square = freedom / 2, 0.5, t * t / freedom
    front = _gamma_ratio(a) * math.exp(-a * math.log1p(square)) * math.sqrt(square / (1 + square) / math.pi)
    if square * (a + 1) > b + 1:
        outside = front / a * _fraction(a, b, 1 / (1 + square))
    else:
        outside = 1 - front / b * _fraction(b, a, square / (1 + square))
    return outside, 2 * front / t


def _gamma_ratio(a: float) -> float:
    """Return Γ(a + 1/2)/Γ(a); by its asymptotic series where that is exact to the last digit."""
    if a < 50:
        return math.gamma(a + 0.5) / math.gamma(a)
    return math.sqrt(a) * math.exp((-1 / 8 + (1 / 192 + (-1 / 640 + 17 / 14336 / a**2) / a**2) / a**2) / a)


def _fraction(a: float, b: float, x: float) -> float:
    """Return the continued fraction of the incomplete beta function, DLMF 8.17.22, by Lentz's method."""
    above = 1.0
    below = 1 / (1 - (a + b) * x / (a + 1))
    found = below
    for m in range(1, _MOST_STEPS):
        for part in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            below, above = 1 / (1 + part * below), 1 + part / above
            found *= below * above
        if abs(below * above - 1) <= _ALIKE:
            break
    return found


@lru_cache(4096)
def chi_square_quantile(beyond: float, freedom: int) -> float:
    """Return what chi-square exceeds with probability `beyond`, above 0 and at most 1.

    >>> round(chi_square_quantile(0.05, 4), 3), round(chi_square_quantile(0.95, 1), 5)
    (9.488, 0.00393)
    """
    root = math.sqrt(freedom - 1) if beyond < 1 else 0.0  # the mode of chi
    for _ in range(_MOST_STEPS if beyond < 1 else 0):
        outside, density = _chi_outside(root, freedom)
        step = (outside - beyond) / density
        root += step
        if abs(step) <= _NEAR * root:
            break
    return root**2


def _chi_outside(chi: float, freedom: int) -> tuple[float, float]:
    """Return the probability of a larger chi, and its density: Abramowitz and Stegun (1964), 26.4.4 and 26.4.5."""
    odd, half = freedom % 2, chi**2 / 2
    normal = math.sqrt(2 / math.pi) * math.exp(-half), math.erfc(math.sqrt(half))
    if freedom == 1:
        return normal[1], normal[0]
    first = math.log(math.sqrt(2 / math.pi) * chi if odd else 1.0) - half
    ratios = np.log(chi**2 / np.arange(2 + odd, freedom - 1, 2))
    terms = np.exp(first + np.concatenate(([0.0], np.cumsum(ratios))))
    return float(terms.sum()) + odd * normal[1], chi * float(terms[-1])
