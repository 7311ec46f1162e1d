"""A straight line through readings of which some are odd: Tukey's bisquare.

x and y are columns of equal length in any unit; the slope is in units of y per unit of x. A point with a blank
(NaN) on either side counts for nothing.
"""

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
class RobustLine:
    """``y = intercept + slope x``, and its scale: the points' standard deviation after their median absolute residual.

    A quarter of odd points, all counted in, makes the scale 1.4 times that of the good ones. It is 0, or a
    trace of rounding, where more than half of the points lie on the line exactly.
    """

    intercept: float
    slope: float
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
    track = min(_starts(plain.slope, xs, ys), key=lambda start: _scale(start.residuals(xs, ys)))
    return _reweighted(track, xs, ys)


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
    middle_x, middle_y = _mean(x, weights), _mean(y, weights)
    dx = x - middle_x
    if is_flat(dx, x):
        return None
    return _Track(middle_x, middle_y, float((weights * dx) @ (y - middle_y) / ((weights * dx) @ dx)))


def _mean(values: FloatArray, weights: FloatArray) -> float:
    """Return the weighted mean, exact where all values are equal."""
    return float(values[0] + weights @ (values - values[0]) / weights.sum())


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


def _counting(track: _Track, x: FloatArray, y: FloatArray) -> tuple[_Points, float]:
    """Return the points within the cutoff by bisquare weight, and the cutoff."""
    residuals = track.residuals(x, y)
    # Points exactly on the line have no scale: rounding stands in for it, so that nothing is divided by 0.
    scale = max(_scale(residuals), ROUNDING * float(np.abs(track.at(x[[0, -1]])).max()), LEAST_SPREAD)
    shares = residuals / (BISQUARE_CUTOFF * scale)
    within = np.abs(shares) < 1
    return _Points(x[within], y[within], (1.0 - shares[within] ** 2) ** 2), BISQUARE_CUTOFF * scale


def _reweighted(track: _Track, x: FloatArray, y: FloatArray) -> RobustLine | None:
    """Return the line at which reweighting settles, or None where the points left do not fix one."""
    ends = x[[0, -1]]
    for _ in range(MOST_ROUNDS):
        points, cutoff = _counting(track, x, y)
        better = _least_squares(points)
        if better is None:
            return None
        before, after = track.at(ends), better.at(ends)
        track = better
        if np.abs(after - before).max() <= max(SETTLED * cutoff, ROUNDING * np.abs(after).max()):
            break
    return RobustLine(track.y - track.slope * track.x, track.slope, _scale(track.residuals(x, y)))
