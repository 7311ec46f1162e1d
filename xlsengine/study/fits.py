"""Straight lines through readings: weighted least squares, and Tukey's bisquare where some readings are odd.

x and y are columns of equal length in any unit; the slope is in units of y per unit of x. A point with a blank
(NaN) on either side counts for nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from xlsengine.study.outliers import LEAST_SPREAD, NORMAL_QUARTILE, ROUNDING, FloatArray, as_column, is_flat

BISQUARE_CUTOFF = 4.685
"""Scales from the line at which a point stops counting: 95 % efficient on normal noise (Holland & Welsch 1977)."""

PARTS = 6
"""Parts of the x range whose medians start a robust line: a quarter of odd points spoils at most three."""

MOST_ROUNDS, SETTLED = 100, 1e-9
"""Reweighting ends after so many rounds, or when the line moves by less than this share of the cutoff."""


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
    """A line with its scale: the points' standard deviation after their median absolute residual.

    A quarter of odd points, all counted in, makes the scale 1.4 times that of the good ones. It is 0, or a
    trace of rounding, where more than half of the points lie on the line exactly.
    """

    line: Line
    scale: float


class _Points(NamedTuple):
    """Points that count, of weights above 0."""

    x: FloatArray
    y: FloatArray
    weights: FloatArray


class _Track(NamedTuple):
    """A line by a point in the middle of the readings, which keeps its figures exact far from x = 0."""

    x: float
    y: float
    slope: float

    def at(self, x: FloatArray) -> FloatArray:
        return self.y + self.slope * (x - self.x)

    def residuals(self, x: FloatArray, y: FloatArray) -> FloatArray:
        return (y - self.y) - self.slope * (x - self.x)


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
    points = _points(x, y, weights)
    track = _least_squares(points, through_origin)
    if track is None:
        return None
    spare = points.x.size - (1 if through_origin else 2)
    squares = float(points.weights @ track.residuals(points.x, points.y) ** 2)
    return _line(track, points, math.sqrt(squares / spare) if spare else math.nan, through_origin)


def robust_line(x: ArrayLike, y: ArrayLike) -> RobustLine | None:
    """Fit a line that up to a quarter of the points cannot pull away, however far off they lie.

    Tukey's bisquare by iteratively reweighted least squares. It starts from the line through the medians of
    two of six parts of the x range (Tukey's resistant line joins the outer two of three, which a cluster of
    odd points at one end defeats): of all pairs, the one with the smallest median absolute residual. The
    standard deviations are Huber's for M-estimators, and `line.residual_sd` goes with them; below ten points
    they are too small, by a fifth at eight and a half at four. They and R squared are over the points that
    count. The same points give the same line in any order. Time grows with n, but for one sort.
    None if fewer than three points count, or those that count share one x. ValueError as in `weighted_line`.
    Source: Holland & Welsch 1977 (cutoff), Huber 1981 section 7.6 (standard deviations), from memory.

    >>> fit = robust_line([1, 2, 3, 4, 5, 6, 7, 8], [2.1, 3.9, 6.0, 8.1, 9.9, 12.0, 99.0, 16.1])
    >>> round(fit.line.intercept, 2), round(fit.line.slope, 2)
    (-0.01, 2.01)
    """
    xs, ys, evenly = _points(x, y, None)
    order = np.lexsort((ys, xs))
    xs, ys = xs[order], ys[order]
    plain = _least_squares(_Points(xs, ys, evenly))
    if plain is None or xs.size < 3:
        return None
    track = min(_starts(plain.slope, xs, ys), key=lambda start: _scale(start.residuals(xs, ys)))
    return _reweighted(track, xs, ys)


def _points(x: ArrayLike, y: ArrayLike, weights: ArrayLike | None) -> _Points:
    """Return the points with neither a blank nor a weight of 0."""
    xs, ys = as_column(x), as_column(y)
    ws = np.ones_like(xs) if weights is None else as_column(weights)
    if not xs.size == ys.size == ws.size:
        raise ValueError(f"found {xs.size} x, {ys.size} y and {ws.size} weights; wanted one of each a point")
    if (ws < 0).any():
        raise ValueError("found a negative weight; wanted 0 or more")
    counting = ~np.isnan(xs) & ~np.isnan(ys) & (ws > 0)
    return _Points(xs[counting], ys[counting], ws[counting])


def _least_squares(points: _Points, through_origin: bool = False) -> _Track | None:
    """Return the least-squares line, or None where the points do not fix one."""
    x, y, weights = points
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


def _line(track: _Track, points: _Points, residual_sd: float, through_origin: bool = False) -> Line:
    """Return the line with its figures; its track stands at the points' mean x, or at the origin."""
    x, y, weights = points
    dx, dy = x - track.x, y if through_origin else y - _mean(y, weights)
    slope_sd = residual_sd / math.sqrt((weights * dx) @ dx)
    level_sd = 0.0 if through_origin else residual_sd / math.sqrt(weights.sum())
    unexplained = weights @ track.residuals(x, y) ** 2
    return Line(
        intercept=track.y - track.slope * track.x,
        slope=track.slope,
        intercept_sd=math.hypot(level_sd, track.x * slope_sd),
        slope_sd=slope_sd,
        residual_sd=residual_sd,
        r_squared=math.nan if is_flat(dy, y) else float(1.0 - unexplained / (weights @ dy**2)),
    )


def _starts(plain_slope: float, x: FloatArray, y: FloatArray) -> Iterator[_Track]:
    """Yield lines to start from, for points sorted by x: of the slope given, and of the parts' medians in pairs."""
    slopes = [plain_slope]
    parts = zip(np.array_split(x, PARTS), np.array_split(y, PARTS), strict=True)
    medians = [(_median(xs), _median(ys)) for xs, ys in parts if xs.size]
    for (x1, y1), (x2, y2) in combinations(medians, 2):
        if not is_flat(np.array([x2 - x1]), x):
            slopes.append((y2 - y1) / (x2 - x1))
    middle = _median(x)
    for slope in slopes:
        yield _Track(middle, _median(y - slope * (x - middle)), slope)


def _median(values: FloatArray) -> float:
    """Return the median of values without blanks; numpy's own takes five times as long for a few."""
    ranked = np.sort(values)
    return float(ranked[(ranked.size - 1) // 2] + ranked[ranked.size // 2]) / 2


def _scale(residuals: FloatArray) -> float:
    """Return the robust standard deviation of residuals about a line: their median size over 0.6745.

    The smallest is left out, since a line can always be laid through one point (common practice, no source).
    """
    sizes = np.abs(residuals)
    sizes[sizes.argmin()] = sizes[-1]
    return _median(sizes[:-1]) / NORMAL_QUARTILE


def _counting(track: _Track, x: FloatArray, y: FloatArray) -> tuple[_Points, FloatArray, float]:
    """Return the points within the cutoff by bisquare weight, their residuals as shares of it, and the cutoff."""
    residuals = track.residuals(x, y)
    # Points exactly on the line have no scale: rounding stands in for it, so that nothing is divided by 0.
    scale = max(_scale(residuals), ROUNDING * float(np.abs(track.at(x[[0, -1]])).max()), LEAST_SPREAD)
    shares = residuals / (BISQUARE_CUTOFF * scale)
    within = np.abs(shares) < 1
    shares = shares[within]
    return _Points(x[within], y[within], (1.0 - shares**2) ** 2), shares, BISQUARE_CUTOFF * scale


def _reweighted(track: _Track, x: FloatArray, y: FloatArray) -> RobustLine | None:
    """Return the line at which reweighting settles, or None where the points left do not fix one."""
    ends = x[[0, -1]]
    for _ in range(MOST_ROUNDS):
        points, shares, cutoff = _counting(track, x, y)
        better = _least_squares(points)
        if better is None:
            return None
        before, after = track.at(ends), better.at(ends)
        track = better
        if np.abs(after - before).max() <= max(SETTLED * cutoff, ROUNDING * np.abs(after).max()):
            break
    middle = points.x.mean()
    centred = _Track(float(middle), float(track.at(middle)), track.slope)
    even = points._replace(weights=np.ones_like(points.x))
    return RobustLine(_line(centred, even, cutoff * _huber_sd(shares)), _scale(track.residuals(x, y)))


def _huber_sd(shares: FloatArray) -> float:
    """Return the spread that gives a bisquare line's standard deviations, as a share of the cutoff.

    ``K sqrt(sum(psi^2)/(n - 2))/mean(psi')`` with ``K = 1 + 2/n var(psi')/mean(psi')^2``.
    """
    squares = shares**2
    psi, psi_slopes = shares * (1.0 - squares) ** 2, (1.0 - squares) * (1.0 - 5.0 * squares)
    spare, mean_slope = shares.size - 2, float(psi_slopes.mean())
    if spare < 1 or mean_slope <= 0:
        return math.nan
    correction = 1.0 + 2.0 / shares.size * float(psi_slopes.var()) / mean_slope**2
    return correction * math.sqrt(psi @ psi / spare) / mean_slope
