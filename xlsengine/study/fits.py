"""A straight line through readings of which some are odd: Tukey's bisquare.

x and y are columns of equal length in any unit; the slope is in units of y per unit of x. A point with a blank
(NaN) on either side counts for nothing.
"""

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from xlsengine.study.outliers import LEAST_SPREAD, NORMAL_QUARTILE, ROUNDING, FloatArray, as_column

BISQUARE_CUTOFF = 4.685
"""Scales from the line at which a point stops counting: 95 % efficient on normal noise (Holland & Welsch 1977)."""

PARTS = 6
"""Parts of the x range whose medians start a robust line: a quarter of odd points spoils at most three."""

MOST_ROUNDS, SETTLED = 100, 1e-9
"""Reweighting ends after so many rounds, or when the line moves by less than this share of the cutoff."""


@dataclass(frozen=True)
class RobustLine:
    """``y = intercept + slope x``, and its scale: the points' standard deviation after their median absolute residual.

    A quarter of odd points, all counted in, makes the scale 1.4 times that of the good ones. It is 0, or a
    trace of rounding, where more than half of the points lie on the line exactly.
    """

    intercept: float
    slope: float
    scale: float


class _Points(NamedTuple):
    """Points that count, sorted by x, of weights above 0."""

    x: FloatArray
    y: FloatArray
    weights: FloatArray


class _Track(NamedTuple):
    """A line by a point in the middle of the readings, which keeps its figures exact far from x = 0."""

    x: float
    y: float
    slope: float

    def at(self, x: float) -> float:
        return self.y + self.slope * (x - self.x)

    def residuals(self, x: FloatArray, y: FloatArray) -> FloatArray:
        return (y - self.y) - self.slope * (x - self.x)


def robust_line(x: ArrayLike, y: ArrayLike) -> RobustLine | None:
    """Fit a line that up to a quarter of the points cannot pull away, however far off they lie.

    Tukey's bisquare by iteratively reweighted least squares. It starts from the line through the medians of
    two of six parts of the x range (Tukey's resistant line joins the outer two of three, which a cluster of
    odd points at one end defeats): of all pairs, the one with the smallest median absolute residual. The same
    points give the same line in any order. Time grows with n, but for one sort. None if fewer than three points
    count, or those that count share one x. ValueError for columns of different lengths or infinities.
    Source: Holland & Welsch 1977 (cutoff), from memory.

    >>> fit = robust_line([1, 2, 3, 4, 5, 6, 7, 8], [2.1, 3.9, 6.0, 8.1, 9.9, 12.0, 99.0, 16.1])
    >>> round(fit.intercept, 2), round(fit.slope, 2)
    (-0.01, 2.01)
    """
    xs, ys = _counting_points(x, y)
    plain = _least_squares(_Points(xs, ys, np.ones_like(xs)))
    if plain is None or xs.size < 3:
        return None
    return _reweighted(_start(plain.slope, xs, ys), xs, ys)


def _counting_points(x: ArrayLike, y: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return the points without a blank, sorted."""
    xs, ys = as_column(x), as_column(y)
    if xs.size != ys.size:
        raise ValueError(f"found {xs.size} x and {ys.size} y; wanted one of each a point")
    counting = ~np.isnan(xs) & ~np.isnan(ys)
    xs, ys = xs[counting], ys[counting]
    order = np.lexsort((ys, xs))
    return xs[order], ys[order]


def _least_squares(points: _Points) -> _Track | None:
    """Return the least-squares line, or None where the points do not fix one."""
    x, y, weights = points
    if x.size < 2:
        return None
    shares = weights / weights.sum()
    middle_x, middle_y = _mean(x, shares), _mean(y, shares)
    dx = x - middle_x
    if _farthest(dx) <= _rounding(x):
        return None
    shares *= dx
    return _Track(middle_x, middle_y, float(shares.dot(y - middle_y) / shares.dot(dx)))


def _farthest(ranked: FloatArray) -> float:
    """Return how far from 0 sorted values get."""
    return max(abs(float(ranked[0])), abs(float(ranked[-1])))


def _rounding(ranked: FloatArray) -> float:
    """Return the distance between sorted values that is nothing but their rounding."""
    return max(ROUNDING * _farthest(ranked), LEAST_SPREAD)


def _mean(values: FloatArray, shares: FloatArray) -> float:
    """Return the weighted mean, exact where all values are equal."""
    return float(values[0] + shares.dot(values - values[0]))


def _start(plain_slope: float, x: FloatArray, y: FloatArray) -> _Track:
    """Return the line to start from, for points sorted by x: of the slope given, or of the parts' medians in pairs."""
    parts = [slice(x.size * part // PARTS, x.size * (part + 1) // PARTS) for part in range(PARTS)]
    medians = np.array([(_middle(x[part]), _median(y[part])) for part in parts if part.stop > part.start])
    one, other = np.triu_indices(len(medians), 1)
    run, rise = (medians[other] - medians[one]).T
    apart = np.abs(run) > _rounding(x)
    slopes = np.append(plain_slope, rise[apart] / run[apart])
    middle = _median(x)
    above = y - slopes[:, None] * (x - middle)
    levels = _median(above)
    best = _scale(above - levels[:, None]).argmin()
    return _Track(middle, float(levels[best]), float(slopes[best]))


def _median(values: FloatArray) -> Any:
    """Return the median of values without blanks, or of each row; numpy's own takes five times as long for a few."""
    return _middle(np.sort(values))


def _middle(ranked: FloatArray) -> Any:
    size = ranked.shape[-1]
    return (ranked.T[(size - 1) // 2] + ranked.T[size // 2]) / 2


def _scale(residuals: FloatArray) -> Any:
    """Return the robust standard deviation of residuals about a line, or of each row: their median size over 0.6745.

    The smallest is left out, since a line can always be laid through one point (common practice, no source).
    """
    return _middle(np.sort(np.abs(residuals))[..., 1:]) / NORMAL_QUARTILE


def _counting(track: _Track, x: FloatArray, y: FloatArray) -> tuple[_Points, float]:
    """Return the points within the cutoff by bisquare weight, and the cutoff."""
    residuals = track.residuals(x, y)
    # Points exactly on the line have no scale: rounding stands in for it, so that nothing is divided by 0.
    scale = max(_scale(residuals), ROUNDING * _height(track, x), LEAST_SPREAD)
    weights = 1.0 - (residuals / (BISQUARE_CUTOFF * scale)) ** 2
    within = weights > 0
    return _Points(x[within], y[within], weights[within] ** 2), BISQUARE_CUTOFF * scale


def _height(track: _Track, x: FloatArray) -> float:
    """Return how far from 0 the line gets over sorted values."""
    return max(abs(track.at(float(x[0]))), abs(track.at(float(x[-1]))))


def _reweighted(track: _Track, x: FloatArray, y: FloatArray) -> RobustLine | None:
    """Return the line at which reweighting settles, or None where the points left do not fix one."""
    for _ in range(MOST_ROUNDS):
        points, cutoff = _counting(track, x, y)
        better = _least_squares(points)
        if better is None:
            return None
        moved = max(abs(better.at(end) - track.at(end)) for end in (float(x[0]), float(x[-1])))
        track = better
        if moved <= max(SETTLED * cutoff, ROUNDING * _height(track, x)):
            break
    return RobustLine(track.y - track.slope * track.x, track.slope, float(_scale(track.residuals(x, y))))
