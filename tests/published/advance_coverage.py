"""What the band holds of propellers that took no part in it: neither in the fit, nor in its width."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from tests.published.advance_fit import Fit, band, fit, most_rise, shape
from tests.published.propeller_sweeps import FloatArray, Points

HELD = 0.85
REACH = 1.15
"""The x beyond which nothing is said; points beyond it count as not held."""


@dataclass(frozen=True)
class Coverage:
    """Shares of one propeller's points inside in CP and in CT and above in each.

    `points` is how many there are.
    """

    propeller: str
    points: int
    inside: tuple[float, float]
    above: tuple[float, float]

    @property
    def held(self) -> bool:
        """Tell whether 85 % of the points lie inside in CP and in CT."""
        return min(self.inside) >= HELD


@dataclass(frozen=True)
class Band:
    """A fit, the factor of its width, and how far CP may rise above its static value."""

    fit: Fit
    factor: float
    rise: float

    def ends(self, x: FloatArray) -> tuple[tuple[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]:
        """Return low and high ends of CP and of CT over their static values, for an array of x."""
        half, power, thrust = self.factor * shape(x), self.fit.power(x), self.fit.thrust(x)
        return (power - half, np.minimum(power + half, 1 + self.rise)), (thrust - half, thrust + half)


def covered(by: Band, of: Points, misread: float = 1.0) -> Coverage:
    """Return what a band holds of the points of one propeller, shaft power being read `misread` times what it was."""
    x, weight = by.fit.scaled(of, misread), of.weight
    inside, above = [], []
    for (low, high), value in zip(by.ends(x), (of.power, of.thrust), strict=True):
        inside.append(float(weight @ ((value >= low) & (value <= high) & (x <= REACH))))
        above.append(float(weight @ (value > high)))
    return Coverage(of.propellers[0], len(x), (inside[0], inside[1]), (above[0], above[1]))


def judged(everything: Points, left_out: Iterable[str]) -> Iterator[Coverage]:
    """Yield the coverage of each propeller left out, fit and width being those of the others alone."""
    names = list(left_out)
    out = np.isin(everything.propeller, names)
    others = everything.only(~out)
    by = Band(fit(others), band(others), most_rise(others))
    for name in names:
        yield covered(by, everything.only(everything.propeller == name))


def one_left_out(everything: Points) -> list[Coverage]:
    """Return the coverage of every propeller, each left out alone."""
    return [found for name in everything.propellers for found in judged(everything, [name])]


def half_left_out(everything: Points, draws: int = 5) -> list[Coverage]:
    """Return the coverage of halves drawn at random (always the same ones), judged by the other halves."""
    draw = np.random.default_rng(1)
    return [
        found
        for _ in range(draws)
        for half in np.split(draw.permutation(everything.propellers), 2)
        for found in judged(everything, half.tolist())
    ]


def points_above(found: list[Coverage]) -> tuple[float, float]:
    """Return the shares of all points above the high end, in CP and in CT."""
    total = sum(one.points for one in found)
    power, thrust = (sum(one.above[k] * one.points for one in found) / total for k in (0, 1))
    return power, thrust
