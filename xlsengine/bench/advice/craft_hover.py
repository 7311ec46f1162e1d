"""Hovering the craft on one row of the summary: between steady readings, or else estimated from full throttle."""

from xlsengine.bench.advice.suitability import HOVER, craft_power, from_full_throttle, minutes_at
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.exponents import CURRENT_EXPONENT, CURRENT_EXPONENT_EXPANDED
from xlsengine.bench.inputs.craft import all_up_mass, motor_count
from xlsengine.bench.inputs.settings import flight_time_range
from xlsengine.expression import Column, Named, Node, Operand, flag

READ_OFF, ESTIMATED = 2.0, 1.0
"""Where hovering comes from."""


def _at(cell: Column | Named, row: Operand) -> Node:
    assert isinstance(cell, Column)
    return cell.at(row)


class AtRest:
    """What hovering takes on the propeller and cell count in a row of the summary; blank where it is out of reach."""

    def __init__(self, row: Operand) -> None:
        self._row, thrust = row, all_up_mass / motor_count
        known = CURRENT_EXPONENT.at(row), CURRENT_EXPONENT_EXPANDED.at(row)
        full = g.full["thrust"].at(row), g.full["current"].at(row)
        self._estimate, self._off = from_full_throttle(*known, thrust, *full)
        self.throttle: Node = _at(HOVER.throttle.value, row)
        self._stepped: Node = _at(HOVER.current.value, row)
        read = flag(self._stepped > 0).otherwise(0.0)
        reached = flag(self._estimate > 0).otherwise(0.0)
        self.by: Node = READ_OFF * read + ESTIMATED * (1 - read) * reached
        """Where the amps come from; 0 where they are out of reach."""

    @property
    def current(self) -> Node:
        """Return the amps of one motor."""
        return self._stepped.otherwise(self._estimate)

    @property
    def current_doubt(self) -> Node:
        """Return the ± of the amps."""
        return _at(HOVER.current.expanded, self._row).otherwise(self._estimate * self._off)

    @property
    def watts(self) -> Node:
        """Return the power of the craft."""
        return _at(HOVER.total, self._row).otherwise(self._estimated_watts)

    @property
    def _estimated_watts(self) -> Node:
        return craft_power(self._estimate * g.full["voltage"].at(self._row))

    def minutes(self, watts: Node) -> Node:
        """Return how long the pack lasts at the power of the craft."""
        return minutes_at(watts, g.cells.at(self._row))

    def minutes_doubt(self, minutes: Named, watts: Named) -> Node:
        """Return the ± of the minutes: of the power, and of going by a static table."""
        off = motor_count * self._estimate * g.full["voltage"].at(self._row) * self._off / watts
        estimated = minutes * (off * off + (flight_time_range / 100) ** 2).sqrt()
        return _at(HOVER.time.expanded, self._row).otherwise(estimated)
