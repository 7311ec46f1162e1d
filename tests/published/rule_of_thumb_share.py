"""How many open wind-tunnel points the rule of thumb holds: a current 25 to 40 % below the static one.

The current is that of a motor at constant volts, by the first-order model n = Kv·(V − R·I), loaded to 0.75 of Kv·V by
the propeller at rest, no-load current neglected. With m the speed over the static one at the J of the point, and torque
going as n²·CP, 0.75·m + 0.25·m²·CP/CP(0) = 1, and the current is m²·CP/CP(0) of the static one. Each point counts once.
"""

import numpy as np

from tests.published.propeller_sweeps import FloatArray, Points

LOADED = 0.75
LEAST, MOST = 0.25, 0.40


def falls(of: Points, loaded: float = LOADED) -> FloatArray:
    """Return the fall of the current below the static one, as an array of one share for each point."""
    speed = 2 / (loaded + np.sqrt(loaded**2 + 4 * (1 - loaded) * of.power))
    return np.asarray(1 - speed**2 * of.power)


def shares(of: Points, loaded: float = LOADED) -> tuple[float, float, float]:
    """Return the shares of points that fall by less than the rule, within it, and by more."""
    fall = falls(of, loaded)
    less, more = float(np.mean(fall < LEAST)), float(np.mean(fall > MOST))
    return less, 1 - less - more, more
