"""The law of propagation of uncertainty in numbers, for any model function: what the live formulas are held against."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
STEP = 1e-3  # of a standard uncertainty: far above rounding, far below any bend worth the name
ALIKE = 1e-12


@dataclass(frozen=True)
class Quantity:
    """A measured input: its estimate, standard uncertainty and degrees of freedom."""

    value: float
    uncertainty: float
    freedom: float = math.inf


@dataclass(frozen=True)
class Line:
    """One line of an uncertainty budget: the sensitivity c, c·u, and the share of the variance by itself."""

    sensitivity: float
    contribution: float
    share: float


@dataclass(frozen=True)
class Result:
    """A figure with its combined standard uncertainty, effective degrees of freedom and budget."""

    value: float
    uncertainty: float
    freedom: float
    budget: tuple[Line, ...]

    def expanded(self, confidence: float = 0.95) -> float:
        """Return the half-width of the interval at a level of confidence: t(ν)·u, ν without its decimals."""
        return coverage_factor(self.freedom, confidence) * self.uncertainty


def combine(model: Callable[..., float], inputs: Sequence[Quantity], correlation: ArrayLike | None = None) -> Result:
    """Propagate uncertainties through ``model(x1, x2, ...)`` to first order (GUM 5.1.2, 5.2.2).

    `correlation` is the square array of correlation coefficients of the inputs, in their order; without it they are
    independent. Sensitivities are central differences over a thousandth of u. The degrees of freedom follow Welch
    and Satterthwaite; inputs that are correlated with one another count as one part, with the fewest degrees of
    freedom among them.

    >>> result = combine(lambda volts, amps: volts / amps, [Quantity(10.0, 0.1), Quantity(2.0, 0.02)])
    >>> round(result.value, 3), round(result.uncertainty, 4)
    (5.0, 0.0707)
    """
    correlated = np.eye(len(inputs)) if correlation is None else np.asarray(correlation, dtype=float)
    values = np.array([each.value for each in inputs])
    slopes = [_slope(model, values, place, each.uncertainty) for place, each in enumerate(inputs)]
    parts = np.array([slope * each.uncertainty for slope, each in zip(slopes, inputs, strict=True)])
    variance = max(float(parts @ correlated @ parts), 0.0)
    freedom = _effective_freedom(parts, correlated, [each.freedom for each in inputs], variance)
    shares = parts**2 / variance if variance > 0 else np.zeros(len(parts))
    budget = tuple(Line(*(float(x) for x in line)) for line in zip(slopes, parts, shares, strict=True))
    return Result(float(model(*values)), math.sqrt(variance), freedom, budget)


def welch_satterthwaite(parts: ArrayLike, freedoms: ArrayLike) -> float:
    """Return the effective degrees of freedom of independent parts c·u, given as an array beside their own.

    Infinite ones add nothing. Source: GUM (JCGM 100:2008) G.4.1.

    >>> round(welch_satterthwaite([0.57, 0.25], [9.0, math.inf]), 1)
    12.8
    """
    squares = np.asarray(parts, dtype=float) ** 2
    below = float(np.sum(squares**2 / np.asarray(freedoms, dtype=float)))
    return float(squares.sum()) ** 2 / below if below > 0 else math.inf


def coverage_factor(freedom: float, confidence: float = 0.95) -> float:
    """Return Student's t for a two-sided level of confidence; decimals of the degrees of freedom are dropped.

    Source: GUM Table G.2.

    >>> round(coverage_factor(4), 2), round(coverage_factor(math.inf), 2)
    (2.78, 1.96)
    """
    from scipy.special import ndtri, stdtrit  # here, because loading it takes twice as long as numpy

    upper = (1 + confidence) / 2
    return float(ndtri(upper) if math.isinf(freedom) else stdtrit(math.floor(freedom), upper))


def _slope(model: Callable[..., float], values: FloatArray, place: int, uncertainty: float) -> float:
    step = STEP * uncertainty or ALIKE * max(abs(float(values[place])), 1.0)
    up, down = values.copy(), values.copy()
    up[place] += step
    down[place] -= step
    return float((model(*up) - model(*down)) / (up[place] - down[place]))


def _effective_freedom(parts: FloatArray, correlated: FloatArray, freedoms: Sequence[float], variance: float) -> float:
    """Treat inputs that hang together, directly or through others, as one part."""
    bunches = _bunches(correlated)
    joint = [math.sqrt(max(float(parts[b] @ correlated[np.ix_(b, b)] @ parts[b]), 0.0)) for b in bunches]
    fewest = [min(freedoms[place] for place in bunch) for bunch in bunches]
    return welch_satterthwaite(joint, fewest) if variance > 0 else math.inf


def _bunches(correlated: FloatArray) -> list[list[int]]:
    waiting, found = set(range(len(correlated))), []
    while waiting:
        bunch, edge = set(), {min(waiting)}
        while edge:
            bunch |= edge
            edge = {int(j) for i in edge for j in np.flatnonzero(correlated[i])} - bunch
        waiting -= bunch
        found.append(sorted(bunch))
    return found
