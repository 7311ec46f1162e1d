"""In flight at full throttle, from physics: where the motor's line meets a propeller whose CP and CT fall along J.

With x = J/J0 the propeller's CP over its static one is s + c·x + d·x² (`advance_curves`). Being quadratic in J, its
torque keeps the operating point a quadratic in the speed: with m the speed over the static one and x0 = x at the static
speed, s·A·m² + (B + A·c·x0)·m = V − C − A·d·x0², the constants A, B, C being those of the measured point.
"""

from __future__ import annotations

import math

from xlsengine.bench import advance_curves as k
from xlsengine.bench import counting
from xlsengine.bench import measured_points as p
from xlsengine.bench import readings as r
from xlsengine.bench import rule_of_thumb as rule
from xlsengine.bench import summary as g
from xlsengine.bench.craft import airspeed
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.row_checks import relied_on
from xlsengine.bench.settings import flight_share_high, flight_share_low
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Node, greater, join, lesser
from xlsengine.sources import FIRST_ORDER_MOTOR, Source, definition, practice, worked_out
from xlsengine.units import GRAM_FORCE, INCH

SMALL_FALL = 5.0

_solved = worked_out("motor's line through the measured point, and the fit to open sweeps")

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
pitch_ratio = _derive("pitch_ratio", "Pitch over diameter", "λ", "", 2, _at(g.pitch_ratio), "Geometry.", _read)
static_current = _derive("static_current", "Current, static", "I_s", "A", 1, _at(p.current), "Steady.", _read)
static_thrust = _derive("static_thrust", "Thrust, static", "T_s", "g", 0, _at(p.thrust), "Steady.", _read)
static_speed = _helps("static_speed", "Speed, static", "n_s", _at(p.speed), "rpm.", _read)
diameter = _helps("diameter", "Diameter", "D", _at(g.diameter), "in.", _read)
_first = _helps("first", "First row", "", _at(p.first_row), "Row of Readings where the group begins.", definition())
_kind = _helps("kind", "Kind, code", "", _at(p.kind_code), "2 steady, 1 peak.", definition())
_revolutions = static_speed / 60
_square = _helps("square", "Line: square", "A", _at(p.line_square), "V.", _read)
_linear = _helps("linear", "Line: linear", "B", _at(p.line_linear), "V.", _read)
_volts = _helps(
    "volts", "Volts less the fixed part of the line", "V−C", _at(p.voltage) - _at(p.line_fixed), "V.", _read
)
_idle_fixed = _helps("idle_fixed", "No-load current, fixed", "a0", _at(p.idle_fixed), "A.", _read)
_idle_linear = _helps(
    "idle_linear", "No-load current, linear", "b", _at(p.idle_linear), "A, at the static speed.", _read
)
_torque_current = _helps("torque_current", "Current for torque, static", "I_Q", _at(p.torque_current), "A.", _read)


def _mean(column: Column) -> Node:
    """Mean over the rows that the measured point is of."""
    rows = Condition(counting.point, "=", _kind), Condition(relied_on, "=", Constant(1.0))
    return Aggregate("mean", (column,), (Condition(r.group, "=", _first), *rows))


blades = _helps("blades", "Blades", "", _mean(r.blades), "Blank where the count was not given.", _read)
static_torque = _helps("static_torque", "Torque, static", "Q_s", _mean(r.torque), "N·m; blank where not read.", _read)
_modelled_power = _helps(
    "modelled_power", "Shaft power by the model", "", _at(p.back_emf) * _torque_current, "W; blank without a line.",
    FIRST_ORDER_MOTOR,
)  # fmt: skip
shaft_power = _helps(
    "shaft_power", "Shaft power, static", "P_s",
    (static_torque * 2 * math.pi * _revolutions).otherwise(_modelled_power),
    "W. By torque where it was read, else back-EMF times the current above the no-load one.", FIRST_ORDER_MOTOR,
)  # fmt: skip
per_thrust = _helps(
    "per_thrust", "CP over CT, static", "CP/CT",
    shaft_power / (static_thrust * GRAM_FORCE * _revolutions * diameter * INCH), "Power over thrust times n·D.",
    definition(),
)  # fmt: skip
size = _helps(
    "size", "n·D², static", "n·D²", _revolutions * (diameter * INCH) ** 2,
    "m²/s: the Reynolds number but for the viscosity of air.", definition(),
)  # fmt: skip
zero_thrust = _helps(
    "zero_thrust", "Advance ratio where thrust is gone", "J0",
    k.ZERO_THRUST + k.ZERO_THRUST_PER_POWER * per_thrust + k.ZERO_THRUST_PER_SIZE * size.ln(),
    "By what the propeller does when static.", k.SWEEPS,
)  # fmt: skip
static_advance = _helps(
    "static_advance", "Airspeed over n·D, static", "J_s", airspeed / (_revolutions * diameter * INCH),
    "With the static speed.", definition(),
)  # fmt: skip


def _within(value: Column, least: float, most: float) -> Node:
    return (value >= least) & (value <= most)


_PITCH = _within(pitch_ratio, k.LEAST_PITCH_RATIO, k.MOST_PITCH_RATIO)
_DIAMETER = _within(diameter, k.LEAST_DIAMETER, k.MOST_DIAMETER)
_SIZE = _within(size, k.LEAST_SIZE, k.MOST_SIZE)
_PER_THRUST = _within(per_thrust, k.LEAST_PER_THRUST, k.MOST_PER_THRUST)
_BLADES = _within(blades, k.FITTED_BLADES, k.MOST_BLADES).otherwise(1.0).equals(1.0)
_TWO_BLADES = blades.equals(k.FITTED_BLADES).otherwise(0.0).equals(1.0)
care = _helps(
    "care", "Band, times its usual width", "",
    size.present().where(_TWO_BLADES.where((size <= k.SWEPT_SIZE).where(1.0, k.SIZE_CARE), k.BLADE_CARE), BLANK),
    "More for a blade count that is not two or not given, and for more n·D² than the tunnels reached.", k.CARE_SOURCE,
)  # fmt: skip
_reached = (((_PITCH & _DIAMETER) & _SIZE) & _PER_THRUST) & _BLADES
scaled = _helps(
    "scaled", "x at the static speed", "x0",
    rule.flies_forward(_reached.where(static_advance / zero_thrust, BLANK), BLANK),
    "J_s over J0; blank outside the fit's reach, and for hover, 3D and ducted flying.", k.SWEEPS,
)  # fmt: skip
_half = k.BAND * care


def _speed_share(word: str, power: k.Curve) -> Column:
    """Solve the operating point for one power curve."""
    volts = _volts - _square * power.bend * scaled**2
    return _helps(
        f"share_{word}", f"Speed over static, power {word}", "m",
        p.root(_square * power.start, _linear + _square * power.slope * scaled, volts), "Root of the quadratic.",
    )  # fmt: skip


_share = _speed_share("as fitted", k.POWER)
advance = _derive("advance", "Advance ratio", "J", "", 2, static_advance / _share, "v / (n·D).", definition())
scaled_there = _helps("scaled_there", "x in flight", "x", scaled / _share, "At the speed in flight.", k.SWEEPS)
_pulls = _helps(
    "pulls", "Within reach", "", ((scaled_there <= k.FARTHEST) & (advance <= k.MOST_ADVANCE)).where(1.0, BLANK),
    "1 where the fitted thrust is not gone.", k.SWEEPS,
)  # fmt: skip
speed = _derive("speed", "Speed", "n", "rpm", 0, _pulls * static_speed * _share, "A little above the static one.")


def _over_static(share: Column, curve: k.Curve) -> Node:
    """Return torque or thrust over the static one, from the speed over the static one."""
    return curve.start * share**2 + curve.slope * scaled * share + curve.bend * scaled**2


def _current(share: Column, power: k.Curve) -> Node:
    drawn = _idle_fixed + _idle_linear * share + _torque_current * _over_static(share, power)
    return _pulls * greater(drawn, 0.0)


def _thrust(curve: k.Curve) -> Node:
    return _pulls * greater(static_thrust * _over_static(_share, curve), 0.0)


def _solved_current(word: str, power: k.Curve) -> Node:
    return _current(_speed_share(word, power), power)


_end = "Estimate, end of the band."
current = _derive("current", "Current in flight", "I_J", "A", 1, _current(_share, k.POWER), "Estimate.")
current_low = _derive(
    "current_low", "Current in flight, low", "I_J−", "A", 1, _solved_current("low", k.POWER.aside(-_half)), _end,
    k.BAND_SOURCE,
)  # fmt: skip
_by_width = _helps(
    "current_by_width", "Current in flight, high by the width", "", _solved_current("high", k.POWER.aside(_half)),
    "A.", k.BAND_SOURCE,
)  # fmt: skip
_by_rise = _helps(
    "current_by_rise", "Current in flight, most by any sweep", "",
    _solved_current("risen", k.Curve(1 + k.MOST_RISE * care, 0.0, 0.0)), "A. CP as high as it rose in any sweep.",
    k.SWEEPS,
)  # fmt: skip
current_high = _derive(
    "current_high", "Current in flight, high", "I_J+", "A", 1, lesser(_by_width, _by_rise), _end, k.BAND_SOURCE
)
width = _derive(
    "width", "Width of the band", "", "%", 0, (current_high - current_low) / static_current * 100,
    "Of the current in flight, in percent of the static one.", definition(),
)  # fmt: skip
_reduced = _at(rule.reduced)
_rule = practice("rule of thumb, from Settings")
rule_low = _derive(
    "rule_low", "Rule of thumb, low", "", "A", 1, rule.in_flight(static_current, flight_share_high, _reduced),
    f"Static current less the largest share on Settings; of 25 to 40 % less, {k.RULE_WORDS}.", _rule,
)  # fmt: skip
rule_high = _derive(
    "rule_high", "Rule of thumb, high", "", "A", 1, rule.in_flight(static_current, flight_share_low, _reduced),
    "Static current less the smallest share on Settings.", _rule,
)  # fmt: skip
thrust = _derive("thrust", "Thrust in flight", "T_J", "g", 0, _thrust(k.THRUST), "Estimate.")
thrust_low = _derive(
    "thrust_low", "Thrust in flight, low", "T_J−", "g", 0, _thrust(k.THRUST.aside(-_half)),
    _end, k.BAND_SOURCE,
)  # fmt: skip
thrust_high = _derive(
    "thrust_high", "Thrust in flight, high", "T_J+", "g", 0, _thrust(k.THRUST.aside(_half)),
    _end, k.BAND_SOURCE,
)  # fmt: skip


def _fall(value: Column) -> Node:
    return (1 - value / static_current) * 100


fall = _derive("fall", "Fall of current", "", "%", 0, _fall(current), "Below the static current.", definition())


def _less_or_more(percent: Node) -> Node:
    return (percent < 0).where(join((-percent).fixed(0), " % more"), join(percent.fixed(0), " % less"))


def _judged() -> Node:
    """Say how large the fall is, plainly where it is small or none, and why a band is wider than usual."""
    least, most = _fall(current_high), _fall(current_low)
    size_words = join(_less_or_more(fall), " current (", _less_or_more(least), " to ", _less_or_more(most), ")")
    small = (fall < SMALL_FALL).where("; a small fall, or none", "")
    fast = (size > k.SWEPT_SIZE).where("; wider, as it turns faster than the tunnels ran", "")
    wider = _TWO_BLADES.where(fast, "; wider, as open sweeps are of two blades")
    return join(size_words, small, wider)


def _first_of(cases: tuple[tuple[Node, str], ...], otherwise: str) -> Node:
    """Return the words of the first condition that does not hold."""
    words: Node = join(otherwise)
    for holds, said in reversed(cases):
        words = holds.where(words, said)
    return words


def _why_not() -> Node:
    """Say what is missing, the first of it."""
    missing = _first_of(
        (
            (airspeed.present(), "Craft names no airspeed"),
            (static_speed.present(), "no full-throttle speed was read"),
            (pitch_ratio.present(), "pitch was not given"),
            (_PITCH, f"pitch/diameter outside the fit, {k.LEAST_PITCH_RATIO:.2f} to {k.MOST_PITCH_RATIO:.2f}"),
            (_DIAMETER, f"diameter outside the fit, {k.LEAST_DIAMETER:.0f} to {k.MOST_DIAMETER:.0f} in"),
            (_BLADES, f"blade count outside {k.FITTED_BLADES} to {k.MOST_BLADES}; the fit is to two blades"),
            (_SIZE, "speed and size outside the fit: Reynolds number 70,000 to 1,000,000 (n·D² "
             f"{k.LEAST_SIZE:.1f} to {k.MOST_SIZE:.1f} m²/s)"),
            (_modelled_power.present(), "no Kv that fits speed and volts: without it the motor's line is not known"),
            (_PER_THRUST, "power and thrust do not fit each other (CP/CT outside "
             f"{k.LEAST_PER_THRUST:.2f} to {k.MOST_PER_THRUST:.2f}): check Kv, speed, current and thrust"),
        ),
        "too fast: the fitted thrust is gone",
    )  # fmt: skip
    return rule.flies_forward(missing, "not for hover, 3D, ducted flying or held full throttle")


note = _derive(
    "note", "What to expect", "", "", 0,
    prop.present().where(current.present().where(_judged(), join(_why_not())), ""),
    "Fall of the current in flight below the static one, with its band.",
)  # fmt: skip
