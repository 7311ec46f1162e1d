"""One answer a reading to what current to expect in flight, the same on every sheet.

With a speed and an airspeed it comes from the propeller's own static speed and open wind-tunnel data, as a share of the
static current. Else it goes from the rule of thumb up to the static current, since most propellers draw more than that
rule says; so it does where the type of flying is blank, as full throttle may be held then.
"""

from collections.abc import Callable

from xlsengine.bench.advice import advance
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.declaring.spoken import outward
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.craft import way_of_flying
from xlsengine.bench.inputs.settings import flight_share_high
from xlsengine.expression import BLANK, Column, Node, call, first_holding, flag, join, say
from xlsengine.sources import practice

BY_SPEED, BY_RULE, AS_STATIC, MAY_RISE = ("speed and airspeed", "rule of thumb", "as static", "as static, may rise")
OR_HELD = ", or held"
"""Behind what a range comes from, where it goes up to the static current because the type of flying is blank."""
_estimate = practice("estimate for forward flight")


def expected(amps: Node, code: Node, shares: tuple[Node, Node] | None = None) -> tuple[Node, Node]:
    """Return both ends of what to expect of static amps: by shares of them, else from the rule up to them."""
    low = rule.in_flight(amps, flight_share_high, code)
    if shares is None:
        return low, amps
    return (amps * shares[0]).otherwise(low), rule.at_most(amps * shares[1], amps).otherwise(amps)


def _shares(
    table: Table, word: str, of_end: Callable[[Column], Node], ends: tuple[Column, Column]
) -> tuple[Column, Column]:
    low, high = (
        table.helper(f"flight_share_{name}_{word}", f"Current in flight over static, {name}", decimals=3).derive(
            of_end(end)
        )
        for name, end in zip(("low", "high"), ends, strict=True)
    )
    return low, high


# --- of a propeller and cell count ---------------------------------------------------------------------------------

_static = advance.static_current.at(g.summary_row)
_here = _shares(
    g.SUMMARY,
    "here",
    lambda end: rule.flies_forward(end.at(g.summary_row) / _static, BLANK),
    (advance.current_low, advance.current_high),
)
_low, _high = expected(g.static_current, rule.reduced, _here)
flight_low = g.SUMMARY.column("flight_low", "In-flight current, low, estimate", "A").derive(
    _low, "Estimate from the highest static current.", _estimate
)
flight_high = g.SUMMARY.column("flight_high", "In-flight current, high, estimate", "A").derive(
    _high, "Estimate from the highest static current; up to that one where the type of flying is blank.", _estimate
)
by_speed = g.SUMMARY.helper("flight_by_speed", "In flight by speed and airspeed").derive(flag(_here[1].present()))
_either = way_of_flying.present().where("", OR_HELD)
_bases = (
    (by_speed.equals(1), join(BY_SPEED, _either)),
    (rule.reduced.equals(rule.REDUCED), join(BY_RULE, _either)),
    (rule.reduced.equals(rule.MAY_RISE), MAY_RISE),
)
flight_basis = g.SUMMARY.column("flight_basis", "In flight by").derive(
    g.static_current.present().where(first_holding(_bases, AS_STATIC), "")
)
g.SUMMARY.keep(flight_low, flight_high, flight_basis)

# --- of a reading --------------------------------------------------------------------------------------------------

group_row = r.READINGS.helper("flight_summary_row", "Summary row").derive(g.first_row.position(r.group))
_row = _shares(r.READINGS, "row", lambda end: (r.full_kind > 0).where(end.at(group_row)), _here)
for _name, _end in zip(("low", "high"), expected(r.current, rule.flight_rule, _row), strict=True):
    r.READINGS.helper(f"flight_current_{_name}", f"In-flight current, {_name}, estimate", "A").derive(_end)

# --- in words ------------------------------------------------------------------------------------------------------

_SMALL = 9.95
"""Amps that are told with a decimal."""


def rounded_outward(low: Node, high: Node, static: Node) -> tuple[Node, Node]:
    """Return the ends of a range outward in whole amps, both in tenths below 10 A static, which is an end as it is."""
    least, most = outward(low, high, flag(static < _SMALL))
    return least, high.equals(static).where(static, most)


def ends(low: Node, high: Node, static: Node) -> tuple[Node, Node]:
    """Write these ends."""
    least, most = (call("fixed", end, flag(static < _SMALL)) for end in rounded_outward(low, high, static))
    return least, most


def _alone(amps: Node, may_rise: Node) -> Node:
    return join(may_rise.where("≥", ""), call("fixed", amps, flag(amps < _SMALL)))


def told(low: Node, high: Node, static: Node, basis: Node) -> Node:
    """Write amps to expect in flight in few letters: 14–19 where they fall, ≥7.6 or ≥24 as static where they may rise."""
    return (high > low).where(say("{}–{}", *ends(low, high, static)), _alone(high, basis.equals(MAY_RISE)))


def _row_range(low: Node, high: Node) -> Node:
    return say("{}–{}", *ends(low, high, r.current))


_row_low, _row_high = _row
_by_speed = _row_range(r.current * _row_low, rule.at_most(r.current * _row_high, r.current))
_by_rule = _row_range(r.current * (1 - flight_share_high / 100), r.current)
_told = ((_row_high.present(), _by_speed), (rule.flight_rule.equals(rule.REDUCED), _by_rule))
flight_told = r.READINGS.column("flight_told", "In flight", "A").derive(
    first_holding(_told, _alone(r.current, rule.flight_rule.equals(rule.MAY_RISE)))
)
