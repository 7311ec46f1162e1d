"""The rule of thumb for current in forward flight, where no speed and airspeed say more: a share below the static one."""

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.craft import BURSTS, HELD, HOVER, motor_count, on_rotors, way_of_flying
from xlsengine.bench.inputs.settings import pitch_ratio_limit
from xlsengine.expression import Node, Operand, flag, greater
from xlsengine.sources import practice

STATIC, REDUCED, MAY_RISE = 0.0, 1.0, 2.0
SOURCE = practice("in-flight current 25 to 40 % below static; a rule of thumb")


FLYING = Figures("Flying", "What the type of flying on Craft comes to.", source=SOURCE)
_forward = FLYING.figure("flies_forward", "Full throttle in forward flight").derive(
    (way_of_flying.equals(HOVER) | way_of_flying.equals(HELD)).where(0.0, 1.0), "1 where it can be used in it, else 0."
)

_hovers = FLYING.figure("flies_hovering", "Hovers").derive(motor_count.present().where(flag(on_rotors), 1.0))


def hovers(yes: Operand, no: Operand) -> Node:
    """Choose by whether the craft hovers, or flies on a wing; where it is not known, by hovering."""
    return _hovers.equals(1).where(yes, no)


def flies_forward(yes: Operand, no: Operand) -> Node:
    """Choose by whether full throttle can be used in forward flight: not in hover, 3D and ducted flying, nor held.

    A blank type of flying leaves it open, so that the estimate is told as what it would be in forward flight.
    """
    return _forward.equals(1).where(yes, no)


def flown_in_bursts(yes: Operand, no: Operand) -> Node:
    """Choose by what Craft says is flown; a blank type of flying counts as full throttle held, the safer one."""
    return way_of_flying.equals(BURSTS).where(yes, no)


_by_pitch = (r.pitch_ratio < pitch_ratio_limit).where(REDUCED, MAY_RISE).otherwise(MAY_RISE)
flight_rule = r.READINGS.helper("flight_rule", "In flight, rule").derive(flies_forward(_by_pitch, STATIC))
"""One of the three above: less, by the shares on Settings; as static and may rise, for a pitch over diameter from the
limit on Settings or one that is not known; as static, in hover, 3D, ducted and held full throttle."""
reduced = g.SUMMARY.helper("flight_rule_here", "In flight, rule").derive(flight_rule.at(g.first_row))


def in_flight(static: Node, share: Node, rule: Node) -> Node:
    """Return static amps or watts less a share in percent where the rule says less, as they are elsewhere."""
    return static * rule.equals(REDUCED).where(1 - share / 100, 1.0)


def at_most(forward: Node, static: Node) -> Node:
    """Return the high end of what to expect: where Craft does not say what is flown, full throttle may be held."""
    return way_of_flying.present().where(forward, greater(forward, static))
