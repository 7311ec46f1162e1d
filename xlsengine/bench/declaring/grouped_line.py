"""Straight lines by least squares through the rows of one group, written with sums that every program has."""

from dataclasses import dataclass

from xlsengine.expression import Column, Condition, Node, call

STRAIGHT = 1e-6
"""Share of the variance of y beside the line below which it counts as none."""


def slope_deviation(slope: Node, explained: Node, count: Node) -> Node:
    """Return the standard uncertainty of a line's slope, |b|·√((1 − r²)/(r²·(n − 2))), with n − 2 degrees of freedom.

    Readings within a thousandth of the line count as on it, where programs would only disagree about rounding.
    """
    beside = (1 - explained > STRAIGHT).where(1 - explained, 0.0)
    return call("absolute", slope) * (beside / explained / (count - 2)).sqrt()


@dataclass(frozen=True)
class GroupedLine:
    """The line of `y` against `x` over the rows where `group`, blank in rows left out, holds `wanted`.

    Both columns are numbers in every row that `group` names, and stand in its table.
    """

    x: Column
    y: Column
    group: Column
    wanted: Node

    @property
    def count(self) -> Node:
        """Number of rows."""
        return self.group.count(*self._rows)

    @property
    def spread(self) -> Node:
        """Variance of x, with the number of rows as divisor."""
        return self._dot(self.x, self.x) / self.count - self._mean(self.x) ** 2

    @property
    def slope(self) -> Node:
        """Slope; blank where x does not vary."""
        shared = self._dot(self.x, self.y) / self.count - self._mean(self.x) * self._mean(self.y)
        return shared / (self.spread > 0).where(self.spread)

    def intercept(self, slope: Node) -> Node:
        """Value at x = 0 of the line with this slope."""
        return self._mean(self.y) - slope * self._mean(self.x)

    def explained(self, slope: Node) -> Node:
        """Share of the variance of y that the line of this slope explains: r²."""
        return slope**2 * self.spread / (self._dot(self.y, self.y) / self.count - self._mean(self.y) ** 2)

    def intercept_deviation(self, deviation: Node) -> Node:
        """Standard uncertainty of the value at x = 0, from that of the slope."""
        return deviation * (self._dot(self.x, self.x) / self.count).sqrt()

    @property
    def _rows(self) -> tuple[Condition, ...]:
        return (Condition(self.group, "=", self.wanted),)

    def _mean(self, column: Column) -> Node:
        return column.mean(*self._rows)

    def _dot(self, one: Column, other: Column) -> Node:
        return one.dot(other, *self._rows)
