"""In flight at full throttle, from physics: where the motor's line meets a propeller whose CP and CT fall along J.

With v = J / (p/D + 0.3), CP(J)/CP(0) = 1 + a·v + b·v², and CT alike. Being quadratic in J, the propeller's torque keeps
the operating point a quadratic in the speed: with m the speed over the static one and v0 = v at the static speed,
A·m² + (B + A·a·v0)·m = V − C − A·b·v0², the constants A, B, C being those of the measured point.
"""

from __future__ import annotations

from xlsengine.bench import measured_points as p
from xlsengine.bench import readings as r
from xlsengine.bench import rule_of_thumb as rule
from xlsengine.bench import summary as g
from xlsengine.bench.craft import HOVER, airspeed, way_of_flying
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.settings import flight_share_high, flight_share_low, pitch_ratio_limit
from xlsengine.expression import BLANK, Aggregate, Column, Node, greater, join
from xlsengine.sources import Source, definition, practice, published, worked_out
from xlsengine.units import INCH

PITCH_OFFSET = 0.3
POWER_SLOPE, POWER_CURVE, POWER_BAND = 0.089, -1.164, 0.389
THRUST_SLOPE, THRUST_CURVE, THRUST_BAND = -0.686, -0.664, 0.416
LEAST_PITCH_RATIO, MOST_PITCH_RATIO = 0.4, 0.96
NO_THRUST = 0.815
"""The v at which the fitted thrust is gone; nothing is said beyond it."""
SMALL_FALL = 5.0
RULE_HOLDS = "as seen by some testers"

_SWEEPS = "UIUC Propeller Data Site, sweeps of 11 propellers (Brandt, Deters, Ananda, Dantsker, Selig)"
_fit = published(f"fit to the {_SWEEPS}; the band holds 90 % of rows when each is left out of the fit")
_solved = worked_out(f"motor's line through the measured point, and the fit to the {_SWEEPS}")

IN_FLIGHT = Table(
    "InFlight", "Steady full throttle at the airspeed on Craft, along the propeller's axis, at the volts of the bench.",
    spare=g.SUMMARY.spare, per=(r.group_first,),
)  # fmt: skip


def _derive(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str,
    source: Source = _solved, helper: bool = False,
) -> Column:  # fmt: skip
    return IN_FLIGHT.derive(Quantity(f"flying_{name}", label, expression, meaning, source, symbol, unit, shown, helper))


def _helps(name: str, label: str, symbol: str, expression: Node, meaning: str, source: Source = _solved) -> Column:
    return _derive(name, label, symbol, "", 0, expression, meaning, source, helper=True)


_place = _helps(
    "place", "Place", "", Aggregate("row", (Column(IN_FLIGHT.name, "flying_place"),)), "Summary row.", definition()
)


def _at(column: Column) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), _place)


_read = definition("as measured")
prop = _derive("prop", "Prop", "", "", 0, _at(p.prop), "The propeller.", _read)
cells = _derive("cells", "Cells", "cells", "", 0, _at(p.cells), "Cell count.", _read)
pitch_ratio = _derive("pitch_ratio", "Pitch over diameter", "p/D", "", 2, _at(g.pitch_ratio), "Geometry.", _read)
static_current = _derive("static_current", "Current, static", "I_s", "A", 1, _at(p.current), "Steady.", _read)
static_thrust = _derive("static_thrust", "Thrust, static", "T_s", "g", 0, _at(p.thrust), "Steady.", _read)
static_speed = _helps("static_speed", "Speed, static", "n_s", _at(p.speed), "rpm.", _read)
static_advance = _helps(
    "static_advance", "Airspeed over n·D, static", "J_s", airspeed / (static_speed / 60 * _at(g.diameter) * INCH),
    "With the static speed.", definition(),
)  # fmt: skip
_in_reach = (pitch_ratio >= LEAST_PITCH_RATIO) & (pitch_ratio <= MOST_PITCH_RATIO)
_applies = way_of_flying.equals(HOVER).where(BLANK, _in_reach.where(1.0, BLANK))
scaled = _helps(
    "scaled", "v at the static speed", "v0", _applies * (static_advance / (pitch_ratio + PITCH_OFFSET)),
    "J_s over p/D + 0.3; blank outside the fit's reach, and for hover, 3D and ducted flying.", _fit,
)  # fmt: skip
_square, _linear, _fixed = (_at(column) for column in (p.line_square, p.line_linear, p.line_fixed))


def _speed_share(word: str, slope: float) -> Column:
    """Solve the operating point for one slope of the power curve."""
    volts = _at(p.voltage) - _fixed - _square * POWER_CURVE * scaled**2
    return _helps(
        f"share_{word}", f"Speed over static, power {word}", "m",
        p.root(_square, _linear + _square * slope * scaled, volts), "Root of the quadratic.",
    )  # fmt: skip


_share = _speed_share("as fitted", POWER_SLOPE)
_scaled_there = _helps("scaled_there", "v in flight", "v", scaled / _share, "At the speed in flight.", _fit)
_pulls = _helps(
    "pulls", "Within reach", "", (_scaled_there <= NO_THRUST).where(1.0, BLANK),
    "1 where the fitted thrust is not gone.", _fit,
)  # fmt: skip
advance = _derive("advance", "Advance ratio", "J", "", 2, static_advance / _share, "v / (n·D).", definition())
speed = _derive("speed", "Speed", "n", "rpm", 0, _pulls * static_speed * _share, "A little above the static one.")


def _current(share: Column, slope: float) -> Node:
    torque = share**2 + slope * scaled * share + POWER_CURVE * scaled**2
    drawn = _at(p.idle_fixed) + _at(p.idle_linear) * share + _at(p.torque_current) * torque
    return _pulls * greater(drawn, 0.0)


def _thrust(slope: float) -> Node:
    fall = _share**2 + slope * scaled * _share + THRUST_CURVE * scaled**2
    return _pulls * greater(static_thrust * fall, 0.0)


current = _derive("current", "Current in flight", "I_J", "A", 1, _current(_share, POWER_SLOPE), "Estimate.")
current_low = _derive(
    "current_low", "Current in flight, low", "I_J−", "A", 1,
    _current(_speed_share("low", POWER_SLOPE - POWER_BAND), POWER_SLOPE - POWER_BAND), "Estimate, end of the band.",
)  # fmt: skip
current_high = _derive(
    "current_high", "Current in flight, high", "I_J+", "A", 1,
    _current(_speed_share("high", POWER_SLOPE + POWER_BAND), POWER_SLOPE + POWER_BAND), "Estimate, end of the band.",
)  # fmt: skip
_reduced = _at(rule.reduced)
_rule = practice("rule of thumb, from Settings")
rule_low = _derive(
    "rule_low", "Rule of thumb, low", "", "A", 1, rule.in_flight(static_current, flight_share_high, _reduced),
    "Static current less the largest share on Settings.", _rule,
)  # fmt: skip
rule_high = _derive(
    "rule_high", "Rule of thumb, high", "", "A", 1, rule.in_flight(static_current, flight_share_low, _reduced),
    "Static current less the smallest share on Settings.", _rule,
)  # fmt: skip
thrust = _derive("thrust", "Thrust in flight", "T_J", "g", 0, _thrust(THRUST_SLOPE), "Estimate.")
thrust_low = _derive(
    "thrust_low", "Thrust in flight, low", "T_J−", "g", 0, _thrust(THRUST_SLOPE - THRUST_BAND),
    "Estimate, end of the band.",
)  # fmt: skip
thrust_high = _derive(
    "thrust_high", "Thrust in flight, high", "T_J+", "g", 0, _thrust(THRUST_SLOPE + THRUST_BAND),
    "Estimate, end of the band.",
)  # fmt: skip


def _fall(value: Column) -> Node:
    return (1 - value / static_current) * 100


fall = _derive("fall", "Fall of current", "", "%", 0, _fall(current), "Below the static current.", definition())


def _less_or_more(percent: Node) -> Node:
    return (percent < 0).where(join((-percent).fixed(0), " % more"), join(percent.fixed(0), " % less"))


def _judged() -> Node:
    """Say how large the fall is, and plainly where it is small or none."""
    least, most = _fall(current_high), _fall(current_low)
    size = join(_less_or_more(fall), " current (", _less_or_more(least), " to ", _less_or_more(most), ")")
    small = (fall < SMALL_FALL).where("; a small fall, or none", "")
    steep = (pitch_ratio > pitch_ratio_limit).where("; blades this steep are partly stalled when static", "")
    return join(size, small, steep)


def _why_not() -> Node:
    """Say what is missing, the first of it."""
    beyond = pitch_ratio.present().where(
        _in_reach.where("too fast: the fitted thrust is gone", "pitch/diameter outside the fit, 0.40 to 0.96"),
        "pitch was not given",
    )
    no_speed = static_speed.present().where(beyond, "no steady full-throttle speed was read")
    no_airspeed = airspeed.present().where(no_speed, "Craft names no airspeed")
    return way_of_flying.equals(HOVER).where("not for hover, 3D or ducted flying", no_airspeed)


note = _derive(
    "note", "What to expect", "", "", 0,
    prop.present().where(current.present().where(_judged(), join(_why_not())), ""),
    "Fall of the current in flight below the static one, with its band.",
)  # fmt: skip
