"""Simulated classes of motors whose true figures are known, and what Dunnett's distribution says of them.

`python -m tests.library.simulated_classes` prints the rates over 10,000 classes each.
"""

import sys
from collections.abc import Iterator
from functools import cache
from typing import Any

import numpy as np
from scipy import optimize, stats

from tests.library.ranked_classes import Ranks
from xlsengine.bench.comparison.ranking import SAME

SCATTER, REPEATS = 1.5, 5
"""Percent: of thrust with the propeller remounted, common practice; and readings of each motor."""
AT_ONCE = 1000
UNLIKE_OFTEN = ([5, 1, 1, 1, 1, 1], [1, 5, 5, 5, 5, 5], [1, 2, 3, 4, 5, 6])
"""Readings of each of six motors, the first being this motor."""


def measured(true: Any, readings: Any, freedom: float, seed: int) -> Ranks:
    """Rank classes by means of so many readings, the scatter being estimated with so many degrees of freedom."""
    rng = np.random.default_rng(seed)
    values = 1000 * true * (1 + rng.normal(size=true.shape) * SCATTER / 100 / np.sqrt(readings))
    found = SCATTER * np.sqrt(rng.chisquare(freedom, len(true)) / freedom)
    return Ranks(values, found, readings, freedom)


def _each(true: Any, readings: Any, freedom: float, seed: int) -> Iterator[tuple[Any, Ranks]]:
    for number, start in enumerate(range(0, len(true), AT_ONCE)):
        part = true[start : start + AT_ONCE]
        yield part, measured(part, readings, freedom, seed + number)


def called_different(classes: int, motors: int, readings: Any, freedom: float, seed: int = 100) -> float:
    """Return the share of classes of equal motors in which any peer is called different from this motor."""
    parts = _each(np.ones((classes, motors)), readings, freedom, seed)
    return sum(int(np.sum((each.verdicts[:, 1:] != SAME).any(axis=1))) for _, each in parts) / classes


@cache
def better_found(classes: int, motors: int, freedom: float, seed: int = 200) -> float:
    """Return the share of classes in which the one peer that is 4 % better than all others is called higher."""
    true = np.ones((classes, motors))
    true[:, 1] = 1.04
    return (
        sum(int(np.sum(each.verdicts[:, 1] == "higher")) for _, each in _each(true, REPEATS, freedom, seed)) / classes
    )


def places_held(true: Any, readings: Any, freedom: float, seed: int = 300) -> tuple[float, float]:
    """Return the share of motors whose true place lies in the one that is told, and how many places that is in the mean.

    Motors that are equal in truth share all the places among them, and all of these have to be told.
    """
    held = wide = 0.0
    for part, ranks in _each(true, readings, freedom, seed):
        better, worse = (np.sum(sign(part[:, None, :], part[:, :, None]), axis=2) for sign in (np.greater, np.less))
        held += float(np.sum((ranks.best <= 1 + better) & (part.shape[1] - worse <= ranks.worst)))
        wide += float(np.sum(ranks.worst - ranks.best + 1))
    return held / true.size, wide / true.size


def unlike(classes: int, motors: int, spread: float, seed: int = 7) -> Any:
    """Return true figures that differ with a standard deviation of a share `spread`."""
    return 1 + spread * np.random.default_rng(seed).normal(size=(classes, motors))


# --- Dunnett's distribution, by quadrature ------------------------------------------------------------------------


def beyond(limit: float, peers: int, freedom: float, likeness: float = 0.5) -> float:
    """Return how probably any of several |t| with one control is beyond a limit (Dunnett 1955, integrated twice)."""
    place, weight = np.polynomial.hermite_e.hermegauss(80)
    point, part = np.polynomial.legendre.leggauss(60)
    scatter = np.sqrt(stats.chi2.ppf((point + 1) / 2, freedom) / freedom)[:, None] * limit
    shift, rest = np.sqrt(likeness) * place[None, :], np.sqrt(1 - likeness)
    inside = stats.norm.cdf((scatter - shift) / rest) - stats.norm.cdf((-scatter - shift) / rest)
    return 1 - float(part / 2 @ (inside**peers @ weight) / np.sqrt(2 * np.pi))


@cache
def critical(peers: int, freedom: float, level: float = 0.05) -> float:
    """Return Dunnett's limit for means of equally many readings."""
    return float(optimize.brentq(lambda limit: beyond(limit, peers, freedom) - level, 0.3, 60))


def power(motors: int, freedom: float, better: float = 0.04) -> float:
    """Return how probably a motor that is so much better is found, by the noncentral t at Dunnett's limit."""
    off = 100 * np.log1p(better) / (SCATTER * np.sqrt(2 / REPEATS))
    return float(stats.nct.sf(critical(motors - 1, freedom), freedom, off))


def main(classes: int = 10_000) -> None:
    """Print all rates."""
    print(f"{classes} classes each, scatter {SCATTER} %")
    for motors, freedom in ((2, 8), (6, 8), (6, 24), (10, 8), (10, 40)):
        for readings in (1, REPEATS):
            rate = called_different(classes, motors, readings, freedom)
            print(f"{motors} equal motors, {readings} readings, {freedom} repeats pooled: called different {rate:.2%}")
    for unlike_often in UNLIKE_OFTEN:
        rate = called_different(classes, 6, np.array(unlike_often), 24)
        print(f"6 equal motors, {unlike_often} readings: called different {rate:.2%}")
    for motors, freedom in ((2, 8), (6, 8), (6, 24), (6, 48), (10, 8), (10, 40), (10, 80)):
        rate = better_found(classes, motors, freedom)
        print(
            f"4 % better of {motors}, 5 readings, {freedom} pooled: found {rate:.2%}; theory {power(motors, freedom):.2%}"
        )
    for motors in (6, 10):
        for spread in (0.0, 0.01, 0.02, 0.04):
            held, wide = places_held(unlike(classes // 5, motors, spread), REPEATS, 20)
            print(f"{motors} motors that differ by {spread:.0%}: place held {held:.2%}, {wide:.1f} places wide")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
