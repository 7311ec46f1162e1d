"""What the craft asks of motor and pack on a propeller and cell count: hovering, amps of all motors, and minutes.

Each is an expression of a row of the summary: `of_row` asks it of the row that Craft answers for, or of one after the
other, and `pairs` of kept figures.
"""

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice.suitability import HOVER, craft_power, from_full_throttle, hover_total
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.exponents import CURRENT_EXPONENT, CURRENT_EXPONENT_EXPANDED
from xlsengine.bench.inputs.craft import all_up_mass, motor_count, pack_capacity
from xlsengine.bench.inputs.settings import flight_time_range, usable_capacity
from xlsengine.expression import Column, Node, Operand, call, flag, greater, replaced, say


def of_row(node: Node, row: Operand) -> Node:
    """Return what an expression of a row of the summary comes to in the row with a number.

    Columns of the table that names the row stay as they are.
    """
    here = row.table if isinstance(row, Column) else ""
    return replaced(node, lambda part: part.at(row) if isinstance(part, Column) and part.table != here else None)


# --- hovering: between steady readings, or else estimated from full throttle ---------------------------------------

READ_OFF, ESTIMATED = 2.0, 1.0
BY_STEPS, ESTIMATE, OUT_OF_REACH = "steps", "estimate", "out of reach"
_full = g.full["thrust"], g.full["current"]
estimated, estimated_off = from_full_throttle(
    CURRENT_EXPONENT, CURRENT_EXPONENT_EXPANDED, all_up_mass / motor_count, *_full
)
_read, _reached = (flag(amps > 0).otherwise(0.0) for amps in (HOVER["current"].value, estimated))
hover_by = READ_OFF * _read + ESTIMATED * (1 - _read) * _reached
"""Where the amps come from; 0 where they are out of reach."""
hover_basis = call("choose", hover_by + 1, OUT_OF_REACH, ESTIMATE, BY_STEPS)
hover_current = HOVER["current"].value.otherwise(estimated)
hover_current_doubt = HOVER["current"].expanded.otherwise(estimated * estimated_off)
estimated_watts = craft_power(estimated * g.full["voltage"])
hover_watts = hover_total.otherwise(estimated_watts)
"""Of the craft."""


def watts_off(watts: Node) -> Node:
    """Return the relative ± of the power of the craft, where it is estimated."""
    return motor_count * estimated * g.full["voltage"] * estimated_off / watts


def minutes_doubt(minutes: Node, watts_off: Node) -> Node:
    """Return the ± of the minutes: of the power, and of going by a static table."""
    by_estimate = minutes * (watts_off * watts_off + (flight_time_range / 100) ** 2).sqrt()
    return HOVER["time"].expanded.otherwise(by_estimate)


# --- at full throttle ----------------------------------------------------------------------------------------------

on_stand = greater(n.launch, g.static_current)
"""Amps of one motor that were read, or that stand in for a peak not read."""
wiring = greater(on_stand, f.flight_high.otherwise(0.0))
"""Amps of one motor that the wiring must carry: those of the stand, or more in flight by estimate."""


def rate(amps: Node) -> Node:
    """Return how many times the pack's capacity in Ah the amps of the craft are: its C."""
    return 1000 * amps / pack_capacity


def full_minutes(amps: Node) -> Node:
    """Return how long the usable charge of the pack lasts at these amps of each motor."""
    return pack_capacity / 1000 * usable_capacity / 100 * 60 / motor_count / amps


least_minutes = full_minutes(greater(f.flight_high, g.static_current))
"""By what is certain: the highest static current, or more in flight."""
most_minutes = full_minutes(f.flight_low)
minutes_said = (most_minutes > least_minutes).where(
    say("{:.1f}–{:.1f}", least_minutes, most_minutes), say("{:.1f}", least_minutes)
)
"""On the stand to in flight, as one number where they are the same."""
