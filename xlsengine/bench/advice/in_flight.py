"""One answer a reading to what current to expect in flight, the same on every sheet.

With a speed and an airspeed it comes from the propeller's own static speed and open wind-tunnel data, as a share of the
static current; else it is the rule of thumb. Where the type of flying is blank, full throttle may be held as well: then it
goes from what is expected in forward flight up to the static current.
"""

from xlsengine.bench.advice import advance
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.declaring.spoken import outward
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.craft import way_of_flying
from xlsengine.bench.inputs.settings import flight_share_high, flight_share_low
from xlsengine.expression import BLANK, Column, Node, Operand, call, greater, join
from xlsengine.sources import practice

BY_SPEED, BY_RULE, AS_STATIC, MAY_RISE = ("speed and airspeed", "rule of thumb", "as static", "as static, may rise")
OR_HELD = ", or held"
"""Behind what a range comes from, where it goes up to the static current because the type of flying is blank."""
_UP_TO = "Estimate from the highest static current; up to that one where the type of flying is blank."
_estimate = practice("estimate for forward flight")


def _share(end: str, current: Column) -> Column:
    at_speed, static = (column.at(g.summary_row) for column in (current, advance.static_current))
    return g.SUMMARY.helper(f"flight_share_{end}_here", f"Current in flight over static, {end}", decimals=3).derive(
        rule.flies_forward(at_speed / static, BLANK),
        "By the propeller's own speed at the airspeed on Craft; blank where one is not known.",
        _estimate,
    )


share_low, share_high = _share("low", advance.current_low), _share("high", advance.current_high)


def _group_current(share: Column, fall: Node) -> Node:
    return (g.static_current * share).otherwise(rule.in_flight(g.static_current, fall, rule.reduced))


flight_low = g.SUMMARY.column("flight_low", "In-flight current, low, estimate", "A").derive(
    _group_current(share_low, flight_share_high), "Estimate from the highest static current.", _estimate
)
flight_high = g.SUMMARY.column("flight_high", "In-flight current, high, estimate", "A").derive(
    rule.at_most(_group_current(share_high, flight_share_low), g.static_current), _UP_TO, _estimate
)
by_speed = g.SUMMARY.helper("flight_by_speed", "In flight by speed and airspeed").derive(
    share_high.present().where(1.0, 0.0), "1 where a speed and an airspeed give the answer."
)


def _basis(known: Node, code: Node) -> Node:
    either = way_of_flying.present().where("", OR_HELD)
    as_static = code.equals(rule.MAY_RISE).where(MAY_RISE, AS_STATIC)
    by_rule = code.equals(rule.REDUCED).where(join(BY_RULE, either), as_static)
    return known.equals(1).where(join(BY_SPEED, either), by_rule)


flight_basis = g.SUMMARY.column("flight_basis", "In flight by").derive(
    g.static_current.present().where(_basis(by_speed, rule.reduced), "")
)

group_row = r.READINGS.helper("flight_summary_row", "Summary row").derive(g.first_row.position(r.group))


def _row_share(end: str, share: Column) -> Column:
    return r.READINGS.helper(f"flight_share_{end}_row", f"Current in flight over static, {end}", decimals=3).derive(
        (r.full_kind > 0).where(share.at(group_row)),
        "At full throttle, by the propeller's own speed; blank elsewhere.",
        _estimate,
    )


_row_low, _row_high = _row_share("low", share_low), _row_share("high", share_high)


def _in_flight(share: Column, fall: Node) -> Node:
    return (r.current * share).otherwise(rule.in_flight(r.current, fall, rule.flight_rule))


flight_current_low, flight_current_high = (
    r.READINGS.helper(f"flight_current_{end}", f"In-flight current, {end}, estimate", "A").derive(
        current, "Estimate at this throttle; high end as static where the type of flying is blank.", _estimate
    )
    for end, current in (
        ("low", _in_flight(_row_low, flight_share_high)),
        ("high", rule.at_most(_in_flight(_row_high, flight_share_low), r.current)),
    )
)
_SMALL = 9.95
"""Amps that are told with a decimal."""
tenths_below = rule.FLYING.figure("tenths_below", "Ranges are told in tenths below a static current of", "A").derive(
    _SMALL / way_of_flying.present().where(1 - flight_share_low / 100, 1.0), "So that both ends are below 10 A."
)


def _decimals(amps: Node, below: Operand = _SMALL) -> Node:
    return (amps < below).where(1.0, 0.0)


def rounded_outward(low: Node, high: Node, static: Node, held: Node) -> tuple[Node, Node]:
    """Return the ends of a range outward in whole amps, both in tenths where it ends below 10 A.

    Where the type of flying is blank the high end is what may be `held`, as it is.
    """
    least, most = outward(low, high, _decimals(static, tenths_below))
    return least, way_of_flying.present().where(most, held)


def _ends(low: Node, high: Node, static: Node, held: Node) -> tuple[Node, Node]:
    """Write these ends; what may be held is written as the static current is."""
    decimals = _decimals(static, tenths_below)
    least, most = (call("fixed", end, decimals) for end in rounded_outward(low, high, static, held))
    return least, most


def ends(low: Node, high: Node, static: Node) -> tuple[Node, Node]:
    """Write the ends of the range of a propeller and cell count, whose high end is what may be held already."""
    return _ends(low, high, static, high)


def _in_short(amps: Node) -> Node:
    return call("fixed", amps, _decimals(amps))


def _range(ends_of: tuple[Node, Node]) -> Node:
    return join(ends_of[0], "–", ends_of[1])


def _alone(amps: Node, may_rise: Node) -> Node:
    return join(may_rise.where("≥", ""), _in_short(amps))


def told(low: Node, high: Node, static: Node, basis: Node) -> Node:
    """Write amps to expect in flight in few letters: 14–19 where they fall, ≥7.6 or ≥24 as static where they may rise."""
    return (high > low).where(_range(ends(low, high, static)), _alone(high, basis.equals(MAY_RISE)))


def _row_range(low: Node, high: Node, held: Node) -> Node:
    """Write the range of a row by shares of its current; `held` is its high end where the type of flying is blank."""
    return _range(_ends(r.current * low, r.current * high, r.current, held))


def _told_by_rule() -> Node:
    fallen = _row_range(1 - flight_share_high / 100, 1 - flight_share_low / 100, r.current)
    alone = _alone(r.current, rule.flight_rule.equals(rule.MAY_RISE))
    return rule.flight_rule.equals(rule.REDUCED).where(fallen, alone)


flight_told = r.READINGS.column("flight_told", "In flight", "A").derive(
    _row_high.present().where(
        _row_range(_row_low, _row_high, greater(r.current * _row_high, r.current)), _told_by_rule()
    ),
    "At this throttle: for forward flight a rule of thumb, or by airspeed; up to the static current where the type of "
    "flying is blank; as static for other flying; ≥ where it may rise.",
)
g.SUMMARY.keep(flight_low, flight_high, flight_basis)
