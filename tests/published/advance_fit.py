"""The fit of CP and CT along J, and the width of its band, both from whichever points are given.

A propeller's thrust is taken to be gone at J0 = t0 + t1·CP(0)/CT(0) + t2·ln(n·D²), n·D² in m²/s: its own static speed,
thrust and power say more of it than the pitch on its label, and n·D² is the Reynolds number but for the viscosity of
air. With x = J/J0, CT/CT(0) = 1 + a·x − (1 + a)·x² and CP/CP(0) = 1 + c·x + d·x².

The band is ± k·(0.15 + x − x²/2): a floor where J is small, and little growth beyond x = 0.7. Each propeller gets a
score, the least k that holds nine in ten of its points in CP and in CT when it is left out of the fit, whether its
shaft power was read right or 5 % wrong; k is the score that ten twelfths of unknown propellers stay within (split
conformal prediction: of n scores the one of rank 10/12·(n + 1), rounded up). The high end of CP goes no higher than CP
of any point has risen above its static value.
"""

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from tests.published.propeller_sweeps import FloatArray, Points

START = (0.0, 1.0, 0.1, -0.6, 0.0, -0.7)
FLOOR, BEND = 0.15, -0.5
HELD_POINTS, HELD_PROPELLERS = 0.90, 10 / 12
MISREAD = (0.95, 1.0, 1.05)


def shape(x: FloatArray) -> FloatArray:
    """Return how the band's half width goes along an array of x, for k = 1."""
    return FLOOR + x + BEND * x**2


@dataclass(frozen=True)
class Fit:
    """The six fitted numbers."""

    zero: tuple[float, float, float]
    thrust_slope: float
    power_slope: float
    power_curve: float

    def scaled(self, of: Points, misread: float = 1.0) -> FloatArray:
        """Return x as an array of one value for each point, with shaft powers read `misread` times what they were."""
        constant, per_thrust, size = self.zero
        return of.advance / (constant + per_thrust * misread * of.per_thrust + size * np.log(of.size))

    def power(self, x: FloatArray) -> FloatArray:
        """Return CP/CP(0) for an array of x."""
        return 1 + self.power_slope * x + self.power_curve * x**2

    def thrust(self, x: FloatArray) -> FloatArray:
        """Return CT/CT(0) for an array of x."""
        return 1 + self.thrust_slope * x - (1 + self.thrust_slope) * x**2

    def errors(self, of: Points, misread: float = 1.0) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return x, and measured less fitted shares of CP and of CT: arrays of one value for each point."""
        x = self.scaled(of, misread)
        return x, of.power - self.power(x), of.thrust - self.thrust(x)


def fit(chosen: Points) -> Fit:
    """Return the fit by least squares over CP and CT of all points, each propeller counting the same."""
    root = np.sqrt(chosen.weight)

    def of(numbers: FloatArray) -> Fit:
        return Fit((numbers[0], numbers[1], numbers[2]), *numbers[3:])

    def errors(numbers: FloatArray) -> FloatArray:
        _, power, thrust = of(numbers).errors(chosen)
        return np.concatenate([root * power, root * thrust])

    return of(least_squares(errors, START).x)


def share_at(values: FloatArray, weight: FloatArray, share: float) -> float:
    """Return the value that `share` of the weights stay at or below; both are arrays of one shape."""
    order = np.argsort(values)
    reached = np.cumsum(weight[order]) / weight.sum()
    return float(values[order][np.searchsorted(reached, share - 1e-9)])


def score(found: Fit, of: Points) -> float:
    """Return the least k that holds nine in ten points of one propeller in CP and in CT."""
    scores = []
    for misread in MISREAD:
        x, power, thrust = found.errors(of, misread)
        scores += [share_at(np.abs(error) / shape(x), of.weight, HELD_POINTS) for error in (power, thrust)]
    return max(scores)


def band(chosen: Points) -> float:
    """Return k from the scores of all propellers, each left out of the fit that it is judged by."""
    scores = []
    for propeller in chosen.propellers:
        own = chosen.propeller == propeller
        scores.append(score(fit(chosen.only(~own)), chosen.only(own)))
    rank = math.ceil(HELD_PROPELLERS * (len(scores) + 1) - 1e-9)
    return sorted(scores)[min(rank, len(scores)) - 1]


def most_rise(chosen: Points) -> float:
    """Return by how much CP of any point is above its static value, as a share of it."""
    return float(chosen.power.max()) - 1
