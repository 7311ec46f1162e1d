"""How CP and CT of a propeller fall along the advance ratio J, by open wind-tunnel sweeps, and how far that is known.

A propeller's thrust is gone at about J0 = 1.20·CP/CT + 0.13·ln(n·D²), CP, CT and n·D² (m²/s) being its static ones.
With x = J/J0, each coefficient over its static value is 1 + slope·x + curve·x², within ± 0.45·(0.15 + x − x²/2).
Figures worked from the sweeps stand here and nowhere else; the tests work each out again.
"""

from __future__ import annotations

from typing import NamedTuple

from xlsengine.expression import Node
from xlsengine.sources import practice, published

_SITE = "UIUC Propeller Data Site (Brandt, Deters, Ananda, Dantsker, Selig)"
SWEEPS = published(f"fit to sweeps of 12 two-blade propellers of the {_SITE}, each weighing the same")
BAND_WORDS = "11 of 12 propellers, each left out of fit and width, had 85 % of their points within the band"
BAND_SOURCE = published(f"{_SITE}: {BAND_WORDS}, in CP and in CT; 2 % of all points lay above")
CARE_SOURCE = practice("no open sweeps there, so the band is taken wider")


class Curve(NamedTuple):
    """A share of the static value along x: start + slope·x + bend·x²."""

    start: float | Node
    slope: float | Node
    bend: float | Node

    def aside(self, by: Node) -> Curve:
        """Return this curve `by` times the shape of the band away."""
        return Curve(*(own + by * other for own, other in zip(self, _SHAPE, strict=True)))


ZERO_THRUST, ZERO_THRUST_PER_POWER, ZERO_THRUST_PER_SIZE = 0.006, 1.199, 0.128
POWER = Curve(1.0, -0.014, -0.677)
THRUST = Curve(1.0, -0.628, -0.372)
BAND = 0.451
_SHAPE = Curve(0.15, 1.0, -0.5)
MOST_RISE = 0.098
"""By how much CP of any point of the sweeps is above its static value; the high end of current goes no higher."""
FARTHEST = 1.15
"""The x beyond which nothing is said: by then the thrust is gone, unless it fades later than the fit has it."""

LEAST_PITCH_RATIO, MOST_PITCH_RATIO = 0.40, 0.96
LEAST_DIAMETER, MOST_DIAMETER = 4.0, 12.0
LEAST_PER_THRUST, MOST_PER_THRUST = 0.30, 0.90
MOST_ADVANCE = 1.10
LEAST_SIZE, MOST_SIZE = 1.0, 14.6
"""n·D² in m²/s; in air of 15 °C Reynolds numbers n·D²/ν of 70,000 to 1,000,000."""
SWEPT_SIZE = 7.82
"""Up to here (535,000) the tunnels ran; farther on the band is wider."""
FITTED_BLADES, MOST_BLADES = 2, 4
BLADE_CARE, SIZE_CARE = 1.5, 1.25
"""How much wider the band is taken for another blade count or one not given, and beyond the tunnels' speeds."""

RULE_SHARE, RULE_SHARE_ABOVE = 17.0, 70.0
"""Percent of the sweeps' points whose current falls by 25 to 40 %, and of those where it falls by less."""
RULE_ADVANCE = (0.06, 1.02)
RULE_SOURCE = published(
    f"worked from every point that pulls of those sweeps, J from 0.06 to 1.02, {_SITE}; a motor at constant volts, "
    "loaded to 0.75 of Kv·V when static, no-load current neglected"
)
RULE_WORDS = (
    f"in open wind-tunnel data (UIUC Propeller Data Site) the current falls by 25 to 40 % at {RULE_SHARE:.0f} % of the "
    f"points, and by less at {RULE_SHARE_ABOVE:.0f} %: most draw more than this range"
)
