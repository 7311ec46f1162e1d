"""Odd readings: Rosner's generalized ESD test, which with one step is Grubbs' test.

Every function takes one column of readings in any unit. NaN is a blank: it counts for nothing and keeps its
place, so that every position handed back is a position in the column handed in.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

NORMAL_QUARTILE = 0.6745
"""Median absolute deviation of a normal distribution of standard deviation 1, as Iglewicz & Hoaglin print it."""

LEAST_SPREAD, MOST_MAGNITUDE = 1e-150, 1e150
"""Between these, squares neither vanish nor overflow in double precision."""

ROUNDING = 8 * float(np.finfo(np.float64).eps)
"""A spread below this share of the readings themselves is left over from arithmetic."""


@dataclass(frozen=True)
class EsdResult:
    """The outliers' positions, and for each step the position tried, its R and its critical value lambda."""

    outliers: tuple[int, ...]
    tried: tuple[int, ...]
    statistics: tuple[float, ...]
    criticals: tuple[float, ...]


def as_column(values: ArrayLike) -> FloatArray:
    """Return the values as a float array of shape (n,); ValueError if they are no column or above 1e150."""
    column = np.asarray(values, dtype=np.float64)
    if column.ndim != 1:
        raise ValueError(f"found an array of shape {column.shape}; wanted one column of readings")
    if (np.abs(column) > MOST_MAGNITUDE).any():
        raise ValueError(f"found a reading infinite or beyond {MOST_MAGNITUDE:g}; leave it blank (NaN)")
    return column


def grubbs_critical(n: int, significance: float) -> float:
    """Return the value that Grubbs' G exceeds by chance with at most the given probability, for n readings.

    ``(n - 1)/sqrt(n) * sqrt(t^2/(n - 2 + t^2))``, t being Student's t at n - 2 degrees of freedom and an upper
    tail of significance/(2n); one-sided it is that of twice the significance. ValueError if n < 3 or the significance
    is not between 0 and 1. Source: NIST/SEMATECH e-Handbook 1.3.5.17.1, after Grubbs (1969).

    >>> round(grubbs_critical(8, 0.05), 3), round(grubbs_critical(8, 2 * 0.05), 3)
    (2.127, 2.032)
    """
    if n < 3:
        raise ValueError(f"found {n} readings; Grubbs' test wants 3 or more")
    if not 0 < significance < 1:
        raise ValueError(f"found significance {significance}; wanted a number between 0 and 1")
    from scipy.special import stdtrit  # here, because loading it takes twice as long as numpy

    t_squared = float(stdtrit(n - 2, significance / (2 * n))) ** 2
    return (n - 1) / math.sqrt(n) * math.sqrt(t_squared / (n - 2 + t_squared))


def generalized_esd(values: ArrayLike, most: int, significance: float = 0.05) -> EsdResult:
    """Find up to `most` outliers, of either sign, that may hide one another from Grubbs' test.

    The furthest reading is taken out `most` times, or until two are left; the outliers are all those taken
    out up to the last step whose R exceeds lambda. Time grows with most times n. The critical values are
    good from n = 25 and fair from n = 15, says the source; with most = 1 it is Grubbs' test, whatever n. Beware of
    coarse rounding: of three readings, two that are equal always convict the third at 5 %. ValueError if values are no
    column or infinite, if most < 0 or if the significance is not between 0 and 1.
    Source: NIST/SEMATECH e-Handbook 1.3.5.17.1 and 1.3.5.17.3, after Grubbs (1969) and Rosner (1983).

    >>> generalized_esd([5.0, 5.1, float("nan"), 4.9, 9.0, 5.2, 5.0, 9.1, 4.8, 5.1], most=3).outliers
    (7, 4)
    """
    column = as_column(values)
    if most < 0:
        raise ValueError(f"found most = {most}; wanted 0 or more")
    positions = np.flatnonzero(~np.isnan(column))
    tried, statistics, criticals = [], [], []
    for _ in range(min(most, positions.size - 2)):
        furthest, statistic = _furthest(column[positions])
        criticals.append(grubbs_critical(positions.size, significance))
        statistics.append(statistic)
        tried.append(int(positions[furthest]))
        positions = np.delete(positions, furthest)
    beyond = [step for step, (r, limit) in enumerate(zip(statistics, criticals, strict=True), 1) if r > limit]
    outliers = tried[: max(beyond, default=0)]
    return EsdResult(tuple(outliers), tuple(tried), tuple(statistics), tuple(criticals))


def _furthest(readings: FloatArray) -> tuple[int, float]:
    """Return where the reading furthest from the mean stands, and how many standard deviations it is off."""
    # Centred on a reading first: equal readings then leave deviations of exactly 0.
    deviations = readings - np.median(readings)
    deviations -= deviations.mean()
    furthest = int(np.abs(deviations).argmax())
    farthest = float(abs(deviations[furthest]))
    if farthest <= max(ROUNDING * np.abs(readings).max(), LEAST_SPREAD):
        return furthest, 0.0
    return furthest, farthest / math.sqrt(deviations @ deviations / (readings.size - 1))
