"""What the craft asks of its pack: amps of all motors, how many times its capacity they are, and minutes at full throttle.

Each is of one row of the summary: that which Craft answers for, or one after the other.
"""

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs.craft import motor_count, pack_capacity
from xlsengine.bench.inputs.settings import pack_rate_most, usable_capacity
from xlsengine.expression import Node, Operand, greater, say


def on_stand(row: Operand) -> Node:
    """Return the amps of one motor that were read, or that stand in for a peak not read."""
    return greater(n.launch.at(row), g.static_current.at(row))


def wiring(row: Operand) -> Node:
    """Return the amps of one motor that the wiring must carry: those of the stand, or more in flight by estimate."""
    return greater(on_stand(row), f.flight_high.at(row).otherwise(0.0))


def rate(amps: Node) -> Node:
    """Return how many times the pack's capacity in Ah the amps of the craft are: its C."""
    return 1000 * amps / pack_capacity


def is_beyond(rate: Node) -> Node:
    """Tell whether no pack is sold for such a rate."""
    return rate > pack_rate_most


def minutes_at(amps: Node) -> Node:
    """Return how long the usable charge of the pack lasts at these amps of each motor."""
    return pack_capacity / 1000 * usable_capacity / 100 * 60 / motor_count / amps


def least_minutes(row: Operand) -> Node:
    """Return the minutes at full throttle by what is certain: the highest static current, or more in flight."""
    return minutes_at(greater(f.flight_high.at(row), g.static_current.at(row)))


def minutes_said(row: Operand) -> Node:
    """Write the minutes at full throttle, on the stand to in flight, as one number where they are the same."""
    least, most = least_minutes(row), minutes_at(f.flight_low.at(row))
    return (most > least).where(say("{:.1f}–{:.1f}", least, most), say("{:.1f}", least))
