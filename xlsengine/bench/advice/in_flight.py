"""One answer a reading to what current to expect in flight, the same on every sheet.

With a speed and an airspeed it comes from the propeller's own static speed and open wind-tunnel data, as a share of the
static current; else it is the rule of thumb.
"""

from xlsengine.bench.advice import advance
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.declaring.spoken import outward
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.settings import flight_share_high, flight_share_low
from xlsengine.expression import BLANK, Column, Node, join
from xlsengine.sources import definition, practice

BY_SPEED, BY_RULE, AS_STATIC, MAY_RISE = ("speed and airspeed", "rule of thumb", "as static", "as static, may rise")
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
    _group_current(share_high, flight_share_low), "Estimate from the highest static current.", _estimate
)
by_speed = g.SUMMARY.helper("flight_by_speed", "In flight by speed and airspeed").derive(
    share_high.present().where(1.0, 0.0), "1 where a speed and an airspeed give the answer.", definition()
)


def _basis(known: Node, code: Node) -> Node:
    by_rule = code.equals(rule.REDUCED).where(BY_RULE, code.equals(rule.MAY_RISE).where(MAY_RISE, AS_STATIC))
    return known.equals(1).where(BY_SPEED, by_rule)


flight_basis = g.SUMMARY.column("flight_basis", "In flight by").derive(
    g.static_current.present().where(_basis(by_speed, rule.reduced), ""),
    "Where the in-flight current comes from.",
    definition(),
)

_group_row = r.READINGS.helper("flight_summary_row", "Summary row").derive(
    g.first_row.position(r.group), "Row of its propeller and cell count."
)


def _row_share(end: str, share: Column) -> Column:
    return r.READINGS.helper(f"flight_share_{end}_row", f"Current in flight over static, {end}", decimals=3).derive(
        (r.full_kind > 0).where(share.at(_group_row)),
        "At full throttle, by the propeller's own speed; blank elsewhere.",
        _estimate,
    )


_row_low, _row_high = _row_share("low", share_low), _row_share("high", share_high)


def _in_flight(end: str, share: Column, fall: Node) -> Column:
    """Derive the low or the high end of an in-flight estimate."""
    return r.READINGS.helper(f"flight_current_{end}", f"In-flight current, {end}, estimate", "A").derive(
        (r.current * share).otherwise(rule.in_flight(r.current, fall, rule.flight_rule)),
        "Estimate for forward flight at this throttle.",
        _estimate,
    )


flight_current_low = _in_flight("low", _row_low, flight_share_high)
flight_current_high = _in_flight("high", _row_high, flight_share_low)
_SMALL = 9.95
"""Amps that are told with a decimal."""


def _range(low: Node, high: Node) -> Node:
    least, most = outward(low, high)
    return join(least.fixed(0), "–", most.fixed(0))


def _alone(amps: Node) -> Node:
    return (amps < _SMALL).where(amps.fixed(1), amps.fixed(0))


def told(low: Node, high: Node, basis: Node) -> Node:
    """Write amps to expect in flight in few letters: 14–18 where they fall, ≥7.6 or ≥24 as static where they may rise."""
    return (high > low).where(_range(low, high), join(basis.equals(MAY_RISE).where("≥", ""), _alone(high)))


def _told_by_rule() -> Node:
    fallen = _range(r.current * (1 - flight_share_high / 100), r.current * (1 - flight_share_low / 100))
    alone = join(rule.flight_rule.equals(rule.MAY_RISE).where("≥", ""), _alone(r.current))
    return rule.flight_rule.equals(rule.REDUCED).where(fallen, alone)


flight_told = r.READINGS.column("flight_told", "In flight", "A").derive(
    _row_high.present().where(_range(r.current * _row_low, r.current * _row_high), _told_by_rule()),
    "An estimate for forward flight at this throttle, or as static; ≥ where it may rise.",
)
g.SUMMARY.keep(flight_low, flight_high, flight_basis)
