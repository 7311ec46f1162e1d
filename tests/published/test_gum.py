"""The law of propagation of uncertainty against the worked examples of the GUM.

Values of the GUM (JCGM 100:2008) as quoted in the documentation of the GUM Tree Calculator (Measurement Standards
Laboratory of New Zealand) and in the tests of suncal (Sandia National Laboratories). Tolerances are half of the last
digit printed, unless said otherwise. Each example runs through the numeric core; H.1 and H.2 through expression trees
as well, which are what the workbook computes with.
"""

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.instruments import propagation as uncertainty
from tests.instruments.propagation import Quantity, combine, welch_satterthwaite
from xlsengine.aggregates import AGGREGATES
from xlsengine.bench.propagation.terms import (
    Input,
    change,
    coverage_factor,
    effective_freedom,
    sum_of_squares,
    together,
)
from xlsengine.expression import Aggregate, Column, Constant, Named, Node, evaluate

DATA = Path(__file__).parent / "data"
HALF = 1 / math.sqrt(3)


class Numbers:
    """Named cells by value."""

    def __init__(self, **named: float) -> None:
        self._named = named

    def named(self, name: str) -> Any:
        return np.array(self._named[name])

    def this_row(self, column: Column) -> Any:
        raise KeyError(column)

    def aggregate(self, node: Aggregate) -> Any:
        raise KeyError(node)


# --- H.1: end-gauge calibration --------------------------------------------------------------------------
# ls 50 000 623 nm (u 25, ν 18); d 215 nm with u 5.8 (ν 24), 3.9 (ν 5) and 6.7 (ν 8); α_s 11.5e-6 within ±2e-6;
# δα within ±1e-6 (ν 50); δθ within ±0.05 °C (ν 2); θ -0.1 °C, u 0.2 and an arcsine within ±0.5.

LENGTH, ALPHA, THETA, D_ALPHA, D_THETA = 50_000_623.0, 11.5e-6, -0.1, 0.0, 0.0
DIFFERENCE_PARTS = [(5.8, 24.0), (3.9, 5.0), (6.7, 8.0)]
DIFFERENCE_U = math.sqrt(sum(u**2 for u, _ in DIFFERENCE_PARTS))
DIFFERENCE_NU = welch_satterthwaite([u for u, _ in DIFFERENCE_PARTS], [nu for _, nu in DIFFERENCE_PARTS])
GAUGE = [
    Quantity(LENGTH, 25.0, 18.0),
    Quantity(215.0, DIFFERENCE_U, DIFFERENCE_NU),
    Quantity(ALPHA, 2e-6 * HALF),
    Quantity(D_ALPHA, 1e-6 * HALF, 50.0),
    Quantity(D_THETA, 0.05 * HALF, 2.0),
    Quantity(THETA, math.hypot(0.2, 0.5 / math.sqrt(2))),
]


def gauge(ls: Any, d: Any, alpha: Any, d_alpha: Any, d_theta: Any, theta: Any) -> Any:
    return ls + d - ls * (d_alpha * theta + alpha * d_theta)


def test_h1_difference() -> None:
    """The printed 25.6 was worked out with u rounded to 9.7."""
    assert pytest.approx(9.7, abs=0.05) == DIFFERENCE_U
    assert pytest.approx(25.6, abs=0.05) == DIFFERENCE_NU * (9.7 / DIFFERENCE_U) ** 4


def test_h1_end_gauge() -> None:
    result = combine(gauge, GAUGE)
    assert result.value == pytest.approx(50_000_838, abs=0.5)
    assert result.uncertainty == pytest.approx(32, abs=0.5)
    assert math.floor(result.freedom) == 16
    # GUM H.1.6, from memory: 2.92 times the rounded 32 nm
    assert uncertainty.coverage_factor(result.freedom, 0.99) * round(result.uncertainty) == pytest.approx(93, abs=0.5)
    parts = [abs(line.contribution) for line in result.budget]
    assert parts == pytest.approx([25.0, 9.7, 0.0, 2.9, 16.6, 0.0], abs=0.06)


def test_h1_as_an_expression() -> None:
    names = ("ls", "d", "alpha", "d_alpha", "d_theta", "theta")
    cells = [Named(name) for name in names]
    inputs = [
        Input(
            name,
            name,
            Constant(each.uncertainty),
            ((cell, Constant(1.0)),),
            None if math.isinf(each.freedom) else Constant(each.freedom),
        )
        for name, cell, each in zip(names, cells, GAUGE, strict=True)
    ]
    model: Node = gauge(*cells)
    values = Numbers(**{name: each.value for name, each in zip(names, GAUGE, strict=True)})
    u = sum_of_squares([change(model, each) * each.uncertainty for each in inputs]).sqrt()
    assert float(evaluate(u, values)) == pytest.approx(combine(gauge, GAUGE).uncertainty, rel=1e-7)
    assert float(evaluate(u, values)) == pytest.approx(32, abs=0.5)


# --- H.2: simultaneous resistance and reactance ----------------------------------------------------------
# R = V/I cos φ, X = V/I sin φ, Z = V/I from five sets of readings that hang together.

PRINTED = {"R": (127.732, 0.071), "X": (219.847, 0.295), "Z": (254.260, 0.236)}
IMPEDANCE = {
    "R": lambda v, i, phi: v / i * 1000 * np.cos(phi),
    "X": lambda v, i, phi: v / i * 1000 * np.sin(phi),
    "Z": lambda v, i, phi: v / i * 1000,
}
READINGS = np.loadtxt(DATA / "gum_h2.csv", delimiter=",", skiprows=2)
MEANS = READINGS.mean(axis=0)
OF_MEANS = READINGS.std(axis=0, ddof=1) / math.sqrt(len(READINGS))
CORRELATION = np.asarray(np.corrcoef(READINGS.T)).reshape(3, 3)


def impedance(figure: str, correlation: Any) -> uncertainty.Result:
    inputs = [Quantity(mean, u, 4.0) for mean, u in zip(MEANS, OF_MEANS, strict=True)]
    return combine(IMPEDANCE[figure], inputs, correlation)


@pytest.mark.parametrize("figure", PRINTED)
def test_h2_with_correlations(figure: str) -> None:
    value, u = PRINTED[figure]
    result = impedance(figure, CORRELATION)
    assert result.value == pytest.approx(value, abs=6e-4)
    assert result.uncertainty == pytest.approx(u, abs=6e-4)
    assert result.freedom == pytest.approx(4.0)


@pytest.mark.parametrize("figure", PRINTED)
def test_h2_fails_without_correlations(figure: str) -> None:
    _, u = PRINTED[figure]
    alone = impedance(figure, None).uncertainty
    assert abs(alone - u) > 0.03
    assert alone == pytest.approx({"R": 0.195, "X": 0.201, "Z": 0.204}[figure], abs=6e-4)  # worked out


def test_h2_as_an_expression() -> None:
    names = ("v", "i", "phi")
    cells = [Named(name) for name in names]
    inputs = tuple(
        Input(name, name, Constant(u), ((cell, Constant(1.0)),))
        for name, cell, u in zip(names, cells, OF_MEANS, strict=True)
    )
    pairs = {frozenset((names[j], names[k])): Constant(CORRELATION[j, k]) for j in range(3) for k in range(j)}
    values = Numbers(**dict(zip(names, MEANS, strict=True)))
    moved = {each.name: change(cells[0] / cells[1] * 1000, each) * each.uncertainty for each in inputs}
    for correlations, printed in ((pairs, 0.236), ({}, 0.204)):
        assert float(evaluate(together(moved, correlations), values)) == pytest.approx(printed, abs=6e-4)


def test_h2_second_approach() -> None:
    """Figures of each set, then their scatter: the same as correlated means (GUM H.2.4)."""
    for figure in PRINTED:
        each = IMPEDANCE[figure](*READINGS.T)
        scatter = each.std(ddof=1) / math.sqrt(5)
        assert impedance(figure, CORRELATION).uncertainty == pytest.approx(scatter, rel=4e-3)


# --- H.3: calibration of a thermometer -------------------------------------------------------------------


def test_h3_thermometer() -> None:
    t, correction = np.loadtxt(DATA / "gum_h3.csv", delimiter=",", skiprows=2, unpack=True)
    x = t - 20.0
    slope, intercept, s = (
        AGGREGATES[name].numpy([correction, x], None) for name in ("slope", "intercept", "residual deviation")
    )
    spread = float(((x - x.mean()) ** 2).sum())
    u_slope, u_intercept = s / math.sqrt(spread), s * math.sqrt(1 / len(x) + x.mean() ** 2 / spread)
    r = -x.mean() / math.sqrt(spread / len(x) + x.mean() ** 2)
    assert intercept == pytest.approx(-0.1712, abs=5e-5)
    assert u_intercept == pytest.approx(0.0029, abs=5e-5)
    assert slope == pytest.approx(0.00218, abs=5e-6)
    assert u_slope == pytest.approx(0.00067, abs=5e-6)
    assert r == pytest.approx(-0.930, abs=5e-4)
    assert s == pytest.approx(0.0035, abs=5e-5)
    inputs = [Quantity(intercept, u_intercept, 9.0), Quantity(slope, u_slope, 9.0)]
    at_30 = combine(lambda a, b: a + b * 10, inputs, [[1, r], [r, 1]])
    assert at_30.value == pytest.approx(-0.1494, abs=5e-5)
    assert at_30.uncertainty == pytest.approx(0.0041, abs=5e-5)
    assert at_30.freedom == pytest.approx(9.0)
    alone = combine(lambda a, b: a + b * 10, inputs)
    assert alone.uncertainty > 0.007  # without the covariance it is far off


# --- Welch-Satterthwaite, and Table G.2 ------------------------------------------------------------------


def test_welch_satterthwaite() -> None:
    """Suncal's test of degrees of freedom: u 0.57 (ν 9) and 0.25 (ν infinite) give 12.8."""
    assert welch_satterthwaite([0.57, 0.25], [9.0, math.inf]) == pytest.approx(12.8, abs=0.05)
    live = effective_freedom(Constant(math.hypot(0.57, 0.25)), [(Constant(0.57), Constant(9.0))])
    assert float(evaluate(live, Numbers())) == pytest.approx(12.8, abs=0.05)


G2 = [  # GUM Table G.2, as quoted in suncal's tests: level, degrees of freedom, t
    (0.6827, 1, 1.84),
    (0.95, 1, 12.71),
    (0.9973, 5, 5.51),
    (0.90, 20, 1.72),
    (0.9545, math.inf, 2.00),
    (0.9973, 1, 235.8),
    (0.90, 10, 1.81),
    (0.95, 20, 2.09),
    (0.9973, 2, 19.21),
    (0.99, 11, 3.11),
]


@pytest.mark.parametrize(("level", "freedom", "t"), G2)
def test_table_g2(level: float, freedom: float, t: float) -> None:
    step = 0.05 if t > 100 else 0.005
    assert uncertainty.coverage_factor(freedom, level) == pytest.approx(t, abs=step * 1.05)
    if math.isfinite(freedom):
        live = coverage_factor(Constant(freedom + 0.9))
        assert float(evaluate(live, Numbers(coverage=level * 100))) == pytest.approx(t, abs=step * 1.05)
