"""Grams per watt at a thrust off readings that are numbers already: what `summary.equal_thrust` does live."""

from typing import Any

import numpy as np


def grams_per_watt_at(thrust: Any, power: Any, wanted: float, widest_gap: float) -> float:
    """Return g/W at `wanted` grams, straight in logarithms between the readings next above and below; NaN outside them.

    `thrust` [g] and `power` [W] are arrays of one value a steady reading; readings of one thrust count with their mean
    power. NaN too where the thrust above is more than `widest_gap` times the one below.

    >>> round(grams_per_watt_at(np.array([100.0, 400.0]), np.array([10.0, 80.0]), 200.0, 5.0), 3)
    7.071
    """
    above, below = thrust[thrust >= wanted], thrust[thrust < wanted]
    if not above.size:
        return float("nan")
    upper = float(above.min())
    power_up = float(power[thrust == upper].mean())
    if upper == wanted:
        return wanted / power_up
    if not below.size or upper > below.max() * widest_gap:
        return float("nan")
    lower = float(below.max())
    power_down = float(power[thrust == lower].mean())
    share = np.log(wanted / lower) / np.log(upper / lower)
    return float(wanted / (power_down * (power_up / power_down) ** share))
