"""One answer a reading to what current to expect in flight, the same on every sheet.

With a speed and an airspeed it comes from the propeller's own static speed and open wind-tunnel data, as a share of the
static current; else it is the rule of thumb. Where the type of flying is blank, full throttle may be held as well: then it
goes from what is expected in forward flight up to the static current.
"""

from collections.abc import Callable

from xlsengine.bench.advice import advance
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice.limits import all_holds
from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.declaring.spoken import outward
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.craft import way_of_flying
from xlsengine.bench.inputs.settings import flight_share_high, flight_share_low
from xlsengine.expression import BLANK, Column, Node, call, first_holding, flag, greater, join, say
from xlsengine.sources import practice

BY_SPEED, BY_RULE, AS_STATIC, MAY_RISE = ("speed and airspeed", "rule of thumb", "as static", "as static, may rise")
OR_HELD = ", or held"
"""Behind what a range comes from, where it goes up to the static current because the type of flying is blank."""
_estimate = practice("estimate for forward flight")


def expected(amps: Node, code: Node, shares: tuple[Node, Node] | None = None) -> tuple[Node, Node]:
    """Return both ends of what to expect of static amps: by shares of them, and where there are none by the rule."""
    low, high = (rule.in_flight(amps, fall, code) for fall in (flight_share_high, flight_share_low))
    if shares is not None:
        low, high = (amps * shares[0]).otherwise(low), (amps * shares[1]).otherwise(high)
    return low, rule.at_most(high, amps)


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
tenths_below = rule.FLYING.figure("tenths_below", "Ranges are told in tenths below a static current of", "A").derive(
    all_holds.where(_SMALL / way_of_flying.present().where(1 - flight_share_low / 100, 1.0)),
    "So that both ends are below 10 A.",
)


def rounded_outward(low: Node, high: Node, static: Node, held: Node | None = None) -> tuple[Node, Node]:
    """Return the ends of a range outward in whole amps, both in tenths where it ends below 10 A.

    Where the type of flying is blank the high end is what may be `held`, as it is: `high` where it holds that already.
    """
    least, most = outward(low, high, flag(static < tenths_below))
    return least, way_of_flying.present().where(most, high if held is None else held)


def ends(low: Node, high: Node, static: Node, held: Node | None = None) -> tuple[Node, Node]:
    """Write these ends; what may be held is written as the static current is."""
    decimals = flag(static < tenths_below)
    least, most = (call("fixed", end, decimals) for end in rounded_outward(low, high, static, held))
    return least, most


def _alone(amps: Node, may_rise: Node) -> Node:
    return join(may_rise.where("≥", ""), call("fixed", amps, flag(amps < _SMALL)))


def told(low: Node, high: Node, static: Node, basis: Node) -> Node:
    """Write amps to expect in flight in few letters: 14–19 where they fall, ≥7.6 or ≥24 as static where they may rise."""
    return (high > low).where(say("{}–{}", *ends(low, high, static)), _alone(high, basis.equals(MAY_RISE)))


def _row_range(low: Node, high: Node, held: Node) -> Node:
    """Write the range of a row by shares of its current; `held` is its high end where the type of flying is blank."""
    return say("{}–{}", *ends(r.current * low, r.current * high, r.current, held))


_row_low, _row_high = _row
_by_speed = _row_range(_row_low, _row_high, greater(r.current * _row_high, r.current))
_by_rule = _row_range(1 - flight_share_high / 100, 1 - flight_share_low / 100, r.current)
_told = ((_row_high.present(), _by_speed), (rule.flight_rule.equals(rule.REDUCED), _by_rule))
flight_told = r.READINGS.column("flight_told", "In flight", "A").derive(
    first_holding(_told, _alone(r.current, rule.flight_rule.equals(rule.MAY_RISE)))
)
