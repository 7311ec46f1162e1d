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
    """The line of `y` against `x`, two columns of a table, over the `rows` where both hold numbers, or neither does."""

    x: Column
    y: Column
    rows: tuple[Condition, ...]

    @property
    def count(self) -> Node:
        """Number of rows."""
        return self.x.count(*self.rows)

    @property
    def spread(self) -> Node:
        """Variance of x, with the number of rows as divisor."""
        return self._about_mean(self.x) / self.count

    @property
    def slope(self) -> Node:
        """Slope; blank where x does not vary."""
        shared = self._dot(self.x, self.y) - self.x.sum(*self.rows) * self._mean(self.y)
        return shared / self._about_mean(self.x)

    def intercept(self, slope: Node) -> Node:
        """Value at x = 0 of the line with this slope."""
        return self._mean(self.y) - slope * self._mean(self.x)

    def explained(self, slope: Node) -> Node:
        """Share of the variance of y that the line of this slope explains: r²."""
        return slope**2 * self._about_mean(self.x) / self._about_mean(self.y)

    def _about_mean(self, column: Column) -> Node:
        """Sum of squares about the mean."""
        return self._dot(column, column) - column.sum(*self.rows) * self._mean(column)

    def _mean(self, column: Column) -> Node:
        return column.mean(*self.rows)

    def _dot(self, one: Column, other: Column) -> Node:
        return one.dot(other, *self.rows)
