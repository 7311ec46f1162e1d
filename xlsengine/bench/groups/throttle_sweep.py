"""Reading a figure at a given thrust off one group's steady readings, with its uncertainty."""

from collections.abc import Sequence
from itertools import combinations
from typing import NamedTuple

from xlsengine.bench.declaring.declare import Heading, Table
from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.settings import default_scatter, hover_gap, hover_range
from xlsengine.bench.propagation.accuracies import LIMIT_TO_DEVIATION, taken_thrust_accuracy
from xlsengine.bench.propagation.terms import effective_freedom, expanded, sum_of_squares
from xlsengine.expression import Column, Condition, Node, call
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION

STEEPEST = 1.5
"""Power of thrust taken where one reading alone is near: that of power; current and throttle go with less."""
THRUST = "thrust"
_SCATTERS = {THRUST: p.thrust_scatter, "voltage": p.voltage_scatter, "current": p.current_scatter}
_TOGETHER = {
    frozenset((THRUST, "voltage")): p.thrust_voltage,
    frozenset((THRUST, "current")): p.thrust_current,
    frozenset(("voltage", "current")): p.voltage_current,
}


class ReadOff(NamedTuple):
    """A figure that was read off: its relative standard uncertainty with degrees of freedom, and its ±."""

    value: Column
    uncertainty: Column
    freedom: Column
    expanded: Column


class Sweep:
    """Reads throttle, current and power at a thrust off one group's steady readings, straight in logarithms."""

    def __init__(self, table: Table, group: Column, thrust: Column) -> None:
        self._group, self._thrust = group, thrust
        above = g.sweep_clean.count(*self._where(">=", thrust))
        self._upper = table.helper("upper", "Next thrust up").derive(self._nth(above), "g.")
        self._lower = table.helper("lower", "Next thrust down").derive(self._nth(above + 1), "g.")
        gap = (self._upper / self._lower).ln()
        close = (self._upper <= self._lower * hover_gap).where((thrust / self._lower).ln() / gap)
        self._share = table.helper("share", "Place between the two").derive(
            self._upper.equals(thrust).where(1.0, close),
            "In logarithms; blank outside the readings and across gaps wider than Settings allows.",
        )
        bow = 4 * self._share * (1 - self._share) * (gap / hover_gap.ln()) ** 2 * hover_range / 100
        self._bend = table.helper("bend", "Reading off: relative standard uncertainty").derive(
            self._share.equals(1).where(0.0, bow) * LIMIT_TO_DEVIATION,
            "The range on Settings is for the middle of the widest gap; it falls as a parabola to either reading, "
            "with the square of the gap in logarithms; a half-width over √3.",
        )

    def read_off(
        self, heading: Heading[Column], column: Column, meters: Sequence[Node] = (), parts: Sequence[str] = ()
    ) -> ReadOff:
        """Add `column` at the thrust, and its uncertainty from the relative ones of its `meters`.

        `parts` are the readings that it is the product of, by the names of their scatter; none for the throttle.
        """
        up, down = self._mean(column, self._upper), self._mean(column, self._lower)
        between = (down.ln() + self._share * (up / down).ln()).exp()
        value = heading.derive(
            self._share.equals(1).where(up, between),
            "At that thrust: between the steady readings next above and below it, straight in logarithms.",
        )
        power = heading.part("power", "as a power of thrust").derive(
            ((up / down).ln() / (self._upper / self._lower).ln()).otherwise(STEEPEST),
            "Between the two.",
            GUM_PROPAGATION,
        )
        scatter = heading.part("scatter", "scatter").derive(self._scatter(power, parts), "Relative.", GUM_PROPAGATION)
        per_gram = (self._share / self._upper + (1 - self._share) / self._lower).otherwise(1 / self._thrust)
        stand = power * taken_thrust_accuracy * LIMIT_TO_DEVIATION * per_gram
        return self.expand(heading, value, [scatter, self._bend, stand, *meters], [(scatter, p.scatter_freedom)])

    def expand(
        self, heading: Heading[Column], value: Column, errors: Sequence[Node], finite: Sequence[tuple[Node, Node]]
    ) -> ReadOff:
        """Add the uncertainty of `value` from relative parts, of which the `finite` have degrees of freedom."""
        u = heading.part("u", "u").derive(
            value.present().where(sum_of_squares(errors).sqrt()), "Relative standard uncertainty.", GUM_PROPAGATION
        )
        freedom = heading.part("freedom", "ν").derive(
            effective_freedom(u, finite), "Welch-Satterthwaite.", GUM_PROPAGATION
        )
        whole = heading.expanded.derive(
            value * expanded(u, freedom),
            "Expanded: scatter, reading off between two readings, and the instruments.",
            GUM_FREEDOM,
        )
        return ReadOff(value, u, freedom, whole)

    def _scatter(self, power: Node, parts: Sequence[str]) -> Node:
        """Return the relative scatter of a figure at a thrust, between two readings; below enough repeats the default.

        At one thrust a reading that is high in both thrust and current is not off.
        """
        moved: dict[str, Node] = {part: _SCATTERS[part] for part in parts} | {THRUST: -power * _SCATTERS[THRUST]}
        variance = sum_of_squares(list(moved.values()))
        for one, other in combinations(moved, 2):
            variance = variance + 2 * (_TOGETHER[frozenset((one, other))] * moved[one] * moved[other])
        single = p.enough_repeats.where(call("greater", variance, 0.0).sqrt(), default_scatter) / 100
        return single * (self._share**2 + (1 - self._share) ** 2).sqrt()

    def _where(self, sign: str, value: Node) -> tuple[Condition, ...]:
        return Condition(r.group, "=", self._group), Condition(g.sweep_clean, sign, value)

    def _nth(self, place: Node) -> Node:
        return g.sweep_clean.largest(Condition(r.group, "=", self._group), place=place)

    def _mean(self, column: Column, thrust: Node) -> Node:
        return column.mean(*self._where("=", thrust))
