"""Reading a figure at a given thrust off one group's steady readings, with its uncertainty.

Between the two readings that stand nearest, a figure goes with a power b of thrust, so it scatters there as the figure
over thrust to that power.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from xlsengine.bench.declaring.declare import Figures, Heading, Table
from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.settings import hover_gap, hover_range
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import INFINITE, expanded, sum_of_squares
from xlsengine.expression import ONE, Column, Condition, Named, Node, Operand, lesser
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION

STEEPEST = 1.5
"""Power of thrust taken where the thrust itself was read: that of power; current and throttle go with less."""
SCATTERS = Figures("Scatter at a thrust", "How a figure scatters that is read off at a thrust.", source=GUM_PROPAGATION)
single_variance = SCATTERS.figure(
    "single_thrust_variance", "Relative variance: thrust, as it was read", decimals=7
).derive((p.scatter_by({"thrust": ONE}) / 100) ** 2, "Of one reading, by repeats; until there are enough by Settings.")


def _of_meters(name: str, *meters: Node) -> Named:
    return SCATTERS.figure(f"{name}_meters_variance", f"Relative variance: {name}, by its meters", decimals=7).derive(
        sum_of_squares(meters)
    )


_bow = SCATTERS.figure("reading_off_bow", "Reading off: deviation over share·(1 − share)·gap²", decimals=5).derive(
    hover_range * (4 * a.LIMIT_TO_DEVIATION / 100) / hover_gap.ln() ** 2,
    "The range on Settings is for the middle of the widest gap; a half-width over √3.",
)


@dataclass(frozen=True)
class Kind:
    """What is read off: a column of Readings, and the powers of thrust and amps that it scatters with at a throttle.

    `meters` is the variance of its meters, and `unread` what a blank of the column stands for.
    """

    column: Column
    powers: Mapping[str, Node] = field(default_factory=dict)
    meters: Operand = 0.0
    unread: float | None = None

    def mean(self, *where: Condition) -> Node:
        """Take the mean over the rows of these conditions."""
        found = self.column.mean(*where)
        return found if self.unread is None else found.otherwise(self.unread)


_AMPS = {"current": ONE}
CURRENT = Kind(r.current, _AMPS, _of_meters("current", a.AMMETER))
POWER = Kind(r.power, _AMPS, _of_meters("power", a.VOLTMETER, a.AMMETER))


class ReadOff(NamedTuple):
    """A figure that was read off: its relative variance, the part of it that is scatter, and its ±."""

    value: Column
    variance: Node
    scatter: Node
    expanded: Column


def with_doubt(heading: Heading[Column], value: Column, variance: Node, scatter: Node) -> ReadOff:
    """Add the uncertainty of `value` from two relative variances: all of it, and the part of it that is scatter."""
    whole = heading.expanded.derive(
        value * expanded_share(variance, scatter),
        "Expanded: scatter, reading off between two readings, and the instruments.",
        GUM_FREEDOM,
    )
    return ReadOff(value, variance, scatter, whole)


def expanded_share(variance: Node, scatter: Node) -> Node:
    """Return the relative expanded uncertainty; only the scatter in it has finite degrees of freedom (GUM G.4.1)."""
    freedom = (p.scatter_freedom * (variance / scatter) ** 2).otherwise(INFINITE)
    return expanded(variance.sqrt(), lesser(freedom, INFINITE))


class Sweep:
    """Reads throttle, current and power at a thrust off one group's steady readings, straight in logarithms."""

    def __init__(self, make: Table, group: Column, thrust: Column) -> None:
        self._group = group

        above, within = self._where(">=", thrust), Condition(r.group, "=", group)
        self._upper = make.helper("upper", "Thrust read, next up").derive(
            g.sweep_clean.largest(within, place=g.sweep_clean.count(*above))
        )
        self._lower = make.helper("lower", "Thrust read, next down").derive(
            g.sweep_clean.largest(*self._where("<=", thrust))
        )
        self.nearest: Node = self._upper.otherwise(self._lower).otherwise(0.0)
        """The next thrust up, or where there is none the highest; 0 where none was read."""
        self._below = make.helper("below", "Below the upper, in logarithms").derive(
            (self._upper <= self._lower * hover_gap).where((thrust / self._upper).ln())
        )
        self._gap = (self._upper / self._lower).ln()
        self._share = make.helper("share", "Place between the two").derive((1 + self._below / self._gap).otherwise(1.0))
        self._bend = make.helper("bend", "Reading off: relative standard uncertainty").derive(
            _bow * self._share * (1 - self._share) * self._gap**2
        )

    def read_off(self, heading: Heading[Column], kind: Kind) -> ReadOff:
        """Add a figure at the thrust, and its uncertainty."""
        up, down = (kind.mean(*self._where("=", thrust)) for thrust in (self._upper, self._lower))
        power = heading.part("power", "as a power of thrust").derive(((up / down).ln() / self._gap).otherwise(STEEPEST))
        value = heading.derive(
            up * (power * self._below).exp(),
            "At that thrust: between the steady readings next above and below it, straight in logarithms.",
        )
        single = p.scatter_by({**kind.powers, "thrust": -power}) / 100
        scatter = heading.part("scatter", "variance of scatter").derive(
            single**2 * (self._share**2 + (1 - self._share) ** 2)
        )
        per_gram = self._share / self._upper + (1 - self._share) / self._lower
        stand = power * a.STAND * per_gram
        return with_doubt(heading, value, scatter + sum_of_squares([self._bend, stand]) + kind.meters, scatter)

    def _where(self, sign: str, value: Node) -> tuple[Condition, ...]:
        return Condition(r.group, "=", self._group), Condition(g.sweep_clean, sign, value)
