"""Straight lines through readings: weighted least squares, and Tukey's bisquare where some readings are odd.

x and y are columns of equal length in any unit; the slope is in units of y per unit of x. A point with a blank
(NaN) on either side counts for nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike

from xlsengine.study.outliers import LEAST_SPREAD, NORMAL_QUARTILE, ROUNDING, FloatArray, as_column, is_flat

BISQUARE_CUTOFF = 4.685
"""Scales from the line at which a point stops counting: 95 % efficient on normal noise (Holland & Welsch 1977)."""

PARTS = 6
"""Parts of the x range whose medians start a robust line: a quarter of odd points spoils at most three."""

MOST_ROUNDS, SETTLED = 100, 1e-9
"""Reweighting ends after so many rounds, or when the line moves by less than this share of the scale."""


@dataclass(frozen=True)
class Line:
    """``y = intercept + slope x``, the standard deviations of both, and how well the points keep to it.

    `residual_sd` is that of a point of weight 1. Standard deviations are NaN where no point is to spare, and
    `r_squared` is NaN where y does not vary.
    """

    intercept: float
    slope: float
    intercept_sd: float
    slope_sd: float
    residual_sd: float
    r_squared: float


@dataclass(frozen=True)
class RobustLine:
    """A line with its scale: the standard deviation of its good points, after the median absolute residual.

    The scale is 0, or a trace of rounding, where more than half of the points lie on the line exactly.
    """

    line: Line
    scale: float


@dataclass(frozen=True)
class _Track:
    """A line by the middle of its points, where its slope and its height do not depend on one another."""

    x: float
    y: float
    slope: float

    def residuals(self, x: FloatArray, y: FloatArray) -> FloatArray:
        return (y - self.y) - self.slope * (x - self.x)

    def raised(self, step: float) -> _Track:
        return replace(self, y=self.y + step)


def weighted_line(
    x: ArrayLike, y: ArrayLike, weights: ArrayLike | None = None, through_origin: bool = False
) -> Line | None:
    """Fit a line by least squares, centred; None if fewer than two points count, or all share one x.

    Weights are inverse variances up to a common factor; a point of weight 0 or NaN is left out. Through the
    origin one point off x = 0 is enough, the intercept and its standard deviation are 0 and R squared refers
    to y = 0, as NIST has it. ValueError for columns of different lengths, negative weights or infinities.
    Source: NIST/SEMATECH e-Handbook 4.4.3; checked against NIST StRD.

    >>> line = weighted_line([0, 1, 2, 3], [1, 3, 5, 7])
    >>> line.intercept, line.slope, line.residual_sd
    (1.0, 2.0, 0.0)
    """
    xs, ys, ws = _points(x, y, weights)
    track = _least_squares(xs, ys, ws, through_origin)
    return None if track is None else _described(track, xs, ys, ws, through_origin)


def robust_line(x: ArrayLike, y: ArrayLike) -> RobustLine | None:
    """Fit a line that up to a quarter of the points cannot pull away, however far off they lie.

    Tukey's bisquare by iteratively reweighted least squares. It starts from the line through the medians of
    two of six parts of the x range (Tukey's resistant line joins the outer two of three, which a cluster of
    odd points at one end defeats): of all pairs, the one with the smallest median absolute residual. The
    standard deviations are Huber's for M-estimators over the points that count, and `line.residual_sd` goes
    with them. The same points give the same line in any order. Time grows with n, but for one sort.
    None if fewer than three points count, or those that count share one x. ValueError as in `weighted_line`.
    Source: Holland & Welsch 1977 (cutoff), Huber 1981 section 7.6 (standard deviations), from memory.

    >>> fit = robust_line([1, 2, 3, 4, 5, 6, 7, 8], [2.1, 3.9, 6.0, 8.1, 9.9, 12.0, 99.0, 16.1])
    >>> round(fit.line.slope, 2), round(fit.scale, 2)
    (2.0, 0.12)
    """
    xs, ys, _ = _points(x, y, None)
    order = np.lexsort((ys, xs))
    xs, ys = xs[order], ys[order]
    if xs.size < 3 or is_flat(xs - xs[0], xs):
        return None
    track = min(_starts(xs, ys), key=lambda start: _scale(start.residuals(xs, ys)))
    settled = _reweighted(track, xs, ys)
    return None if settled is None else _robust_figures(settled, xs, ys)


def _points(x: ArrayLike, y: ArrayLike, weights: ArrayLike | None) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return x, y and weights of the points that count."""
    xs, ys = as_column(x), as_column(y)
    ws = np.ones_like(xs) if weights is None else as_column(weights)
    if not xs.size == ys.size == ws.size:
        raise ValueError(f"found {xs.size} x, {ys.size} y and {ws.size} weights; wanted one of each a point")
    if (ws < 0).any():
        raise ValueError("found a negative weight; wanted 0 or more")
    counting = ~np.isnan(xs) & ~np.isnan(ys) & (ws > 0)
    return xs[counting], ys[counting], ws[counting]


def _least_squares(x: FloatArray, y: FloatArray, weights: FloatArray, through_origin: bool = False) -> _Track | None:
    """Return the least-squares line, or None where the points do not fix one."""
    if x.size < (1 if through_origin else 2):
        return None
    middle_x, middle_y = (0.0, 0.0) if through_origin else (_mean(x, weights), _mean(y, weights))
    dx = x - middle_x
    if is_flat(dx, x):
        return None
    return _Track(middle_x, middle_y, float((weights * dx) @ (y - middle_y) / ((weights * dx) @ dx)))


def _mean(values: FloatArray, weights: FloatArray) -> float:
    """Return the weighted mean, exact where all values are equal."""
    return float(values[0] + weights @ (values - values[0]) / weights.sum())


def _described(
    track: _Track, x: FloatArray, y: FloatArray, weights: FloatArray, through_origin: bool = False
) -> Line:
    """Return the least-squares line with its figures."""
    dx, dy = x - track.x, y - track.y
    spare = x.size - (1 if through_origin else 2)
    squares = float(weights @ track.residuals(x, y) ** 2)
    residual_sd = math.sqrt(squares / spare) if spare > 0 else math.nan
    slope_sd = residual_sd / math.sqrt((weights * dx) @ dx)
    level_sd = 0.0 if through_origin else residual_sd / math.sqrt(weights.sum())
    r_squared = math.nan if is_flat(dy, y) else 1.0 - squares / float(weights @ dy**2)
    intercept_sd = math.hypot(level_sd, track.x * slope_sd)
    return Line(track.y - track.slope * track.x, track.slope, intercept_sd, slope_sd, residual_sd, r_squared)


def _starts(x: FloatArray, y: FloatArray) -> Iterator[_Track]:
    """Yield the lines to start from, for points sorted by x: least squares, then through pairs of medians."""
    plain = _least_squares(x, y, np.ones_like(x))
    slopes = [] if plain is None else [plain.slope]
    parts = [(xs, ys) for xs, ys in zip(np.array_split(x, PARTS), np.array_split(y, PARTS), strict=True) if xs.size]
    medians = [(float(np.median(xs)), float(np.median(ys))) for xs, ys in parts]
    for (x1, y1), (x2, y2) in combinations(medians, 2):
        if not is_flat(np.array([x2 - x1]), x):
            slopes.append((y2 - y1) / (x2 - x1))
    middle = float(np.median(x))
    for slope in slopes:
        yield _Track(middle, float(np.median(y - slope * (x - middle))), slope)


def _scale(residuals: FloatArray) -> float:
    """Return the robust standard deviation of residuals about a line: their median size over 0.6745.

    The smallest is left out, since a line can always be laid through one point (common practice, no source).
    """
    sizes = np.abs(residuals)
    sizes[sizes.argmin()] = sizes[-1]
    return float(np.median(sizes[:-1])) / NORMAL_QUARTILE


def _distances(track: _Track, x: FloatArray, y: FloatArray) -> tuple[FloatArray, float]:
    """Return the residuals as shares of the cutoff, and the scale in force, which is never 0."""
    residuals = track.residuals(x, y)
    scale = max(_scale(residuals), ROUNDING * float(np.median(np.abs(y))), LEAST_SPREAD)
    return residuals / (BISQUARE_CUTOFF * scale), scale


def _weights(distances: FloatArray) -> FloatArray:
    """Return Tukey's bisquare weights, 1 on the line and 0 from the cutoff on."""
    return (1.0 - np.minimum(np.abs(distances), 1.0) ** 2) ** 2


def _reweighted(track: _Track, x: FloatArray, y: FloatArray) -> _Track | None:
    """Return the line at which reweighting settles, or None where the points left do not fix one."""
    for _ in range(MOST_ROUNDS):
        distances, scale = _distances(track, x, y)
        weights = _weights(distances)
        counting = weights > 0
        better = _least_squares(x[counting], y[counting], weights[counting])
        if better is None:
            return None
        moved = np.abs(better.residuals(x[[0, -1]], y[[0, -1]]) - track.residuals(x[[0, -1]], y[[0, -1]])).max()
        track = better
        if moved <= SETTLED * scale:
            break
    return track


def _robust_figures(track: _Track, x: FloatArray, y: FloatArray) -> RobustLine | None:
    """Return the line with Huber's standard deviations over the points that count."""
    distances, scale = _distances(track, x, y)
    counting = np.abs(distances) < 1
    x, y, distances = x[counting], y[counting], distances[counting]
    ...
