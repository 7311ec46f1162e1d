"""One answer a reading to what current to expect in flight, the same on every sheet.

With a speed and an airspeed it comes from the propeller's own static speed and open wind-tunnel data, as a share of the
static current; else it is the rule of thumb.
"""

from __future__ import annotations

from xlsengine.bench import advance
from xlsengine.bench import readings as r
from xlsengine.bench import rule_of_thumb as rule
from xlsengine.bench import summary as g
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.settings import flight_share_high, flight_share_low
from xlsengine.expression import BLANK, Aggregate, Column, Node
from xlsengine.sources import Source, definition, practice

BY_SPEED, BY_RULE, AS_STATIC, MAY_RISE = (
    "speed and airspeed", "rule of thumb", "as static", "as static, may rise",
)  # fmt: skip
_estimate = practice("estimate for forward flight")


def _derive(
    table: Table, name: str, label: str, unit: str, shown: int, expression: Node, meaning: str,
    source: Source = _estimate, helper: bool = False,
) -> Column:  # fmt: skip
    return table.derive(Quantity(name, label, expression, meaning, source, "", unit, shown, helper))


def _share(end: str, current: Column) -> Column:
    at_speed, static = (Aggregate("at", (column,), (), g.summary_row) for column in (current, advance.static_current))
    return _derive(
        g.SUMMARY, f"flight_share_{end}_here", f"Current in flight over static, {end}", "", 3,
        rule.flies_forward(at_speed / static, BLANK),
        "By the propeller's own speed at the airspeed on Craft; blank where one is not known.", helper=True,
    )  # fmt: skip


share_low, share_high = _share("low", advance.current_low), _share("high", advance.current_high)


def _group_current(share: Column, fall: Node) -> Node:
    return (g.static_current * share).otherwise(rule.in_flight(g.static_current, fall, rule.reduced))


flight_low = _derive(
    g.SUMMARY, "flight_low", "In-flight current, low", "A", 1, _group_current(share_low, flight_share_high),
    "Estimate from the highest static current.",
)  # fmt: skip
flight_high = _derive(
    g.SUMMARY, "flight_high", "In-flight current, high", "A", 1, _group_current(share_high, flight_share_low),
    "Estimate from the highest static current.",
)  # fmt: skip
by_speed = _derive(
    g.SUMMARY, "flight_by_speed", "In flight by speed and airspeed", "", 0, share_high.present().where(1.0, 0.0),
    "1 where a speed and an airspeed give the answer.", definition(), helper=True,
)  # fmt: skip


def _basis(known: Node, code: Node) -> Node:
    by_rule = code.equals(rule.REDUCED).where(BY_RULE, code.equals(rule.MAY_RISE).where(MAY_RISE, AS_STATIC))
    return known.equals(1).where(BY_SPEED, by_rule)


flight_basis = _derive(
    g.SUMMARY, "flight_basis", "In flight by", "", 0,
    g.static_current.present().where(_basis(by_speed, rule.reduced), ""),
    "Where the in-flight current comes from.", definition(),
)  # fmt: skip

_group_row = _derive(
    r.READINGS, "flight_summary_row", "Summary row", "", 0, Aggregate("position", (g.first_row,), (), r.group),
    "Row of its propeller and cell count.", definition(), helper=True,
)  # fmt: skip


def _row_share(end: str, share: Column) -> Column:
    return _derive(
        r.READINGS, f"flight_share_{end}_row", f"Current in flight over static, {end}", "", 3,
        (r.full_kind > 0).where(Aggregate("at", (share,), (), _group_row), BLANK),
        "At full throttle, by the propeller's own speed; blank elsewhere.", helper=True,
    )  # fmt: skip


_row_low, _row_high = _row_share("low", share_low), _row_share("high", share_high)


def _in_flight(
    name: str, label: str, unit: str, shown: int, static: Column, share: Column, fall: Node, meaning: str
) -> Column:
    expression = (static * share).otherwise(rule.in_flight(static, fall, rule.flight_rule))
    return _derive(r.READINGS, name, label, unit, shown, expression, meaning)


flight_current_low = _in_flight(
    "flight_current_low", "In-flight current, low", "A", 1, r.current, _row_low, flight_share_high,
    "Estimate for forward flight at this throttle.",
)  # fmt: skip
flight_current_high = _in_flight(
    "flight_current_high", "In-flight current, high", "A", 1, r.current, _row_high, flight_share_low,
    "Estimate for forward flight at this throttle.",
)  # fmt: skip
flight_power_low = _in_flight(
    "flight_power_low", "In-flight power, low", "W", 0, r.power, _row_low, flight_share_high,
    "Estimate at the voltage read.",
)  # fmt: skip
flight_power_high = _in_flight(
    "flight_power_high", "In-flight power, high", "W", 0, r.power, _row_high, flight_share_low,
    "Estimate at the voltage read.",
)  # fmt: skip
_known = _row_high.present().where(1.0, 0.0)
flight_row_basis = _derive(
    r.READINGS, "flight_row_basis", "In flight by", "", 0,
    r.current.present().where(_basis(_known, rule.flight_rule), ""), "Where the in-flight current comes from.",
    definition(),
)  # fmt: skip

g.SUMMARY.keep(flight_low, flight_high, flight_basis)
