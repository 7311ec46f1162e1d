"""In flight at full throttle, from physics: where the motor's line meets a propeller whose CP and CT fall along J.

How they fall is fitted to open wind-tunnel sweeps. A propeller's thrust is gone at about J0 = 1.20·CP/CT + 0.13·ln(n·D²),
CP, CT and n·D² (m²/s) being its static ones. With x = J/J0, each coefficient over its static value is 1 + slope·x + curve·x²,
within ± 0.45·(0.15 + x − x²/2).

Being quadratic in J, the torque keeps the operating point a quadratic in the speed: with m the speed over the static one,
x0 = x at the static speed and CP over its static one s + c·x + d·x², s·a·m² + (1 − a + a·c·x0)·m = 1 − a·d·x0², where
a = A/(A + B) is of the measured point, and V − C = A + B.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.groups import measured_points as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs.craft import airspeed
from xlsengine.bench.inputs.settings import flight_share_high, flight_share_low
from xlsengine.expression import BLANK, Column, Node, greater, join, lesser, say
from xlsengine.sources import Source, definition, practice, published, worked_out
from xlsengine.units import GRAM_FORCE, INCH

# --- worked from the sweeps; the tests work each out again ---------------------------------------------------------

_SITE = "UIUC Propeller Data Site (Brandt, Deters, Ananda, Dantsker, Selig)"
BAND_WORDS = "11 of 12 propellers, each left out of fit and width, had 85 % of their points within the band"
BAND_SOURCE = published(f"{_SITE}: {BAND_WORDS}, in CP and in CT; 2 % of all points lay above")


class Curve(NamedTuple):
    """A share of the static value along x: start + slope·x + bend·x²."""

    start: float | Node
    slope: float | Node
    bend: float | Node

    def aside(self, by: Node) -> Curve:
        """Return this curve `by` times the shape of the band away."""
        return Curve(*(own + by * other for own, other in zip(self, _SHAPE, strict=True)))


"""The fits are to sweeps of 12 two-blade propellers, each weighing the same."""
ZERO_THRUST, ZERO_THRUST_PER_POWER, ZERO_THRUST_PER_SIZE = 0.006, 1.199, 0.128
POWER = Curve(1.0, -0.014, -0.677)
THRUST = Curve(1.0, -0.628, -0.372)
BAND = 0.451
_SHAPE = Curve(0.15, 1.0, -0.5)
MOST_RISE = 0.098
"""By how much CP of any point of the sweeps is above its static value; the high end of current goes no higher."""
FARTHEST = 1.15
"""The x beyond which nothing is said: by then the thrust is gone, unless it fades later than the fit has it."""

LEAST_PITCH_RATIO, MOST_PITCH_RATIO = 0.40, 0.96
LEAST_DIAMETER, MOST_DIAMETER = 4.0, 12.0
LEAST_PER_THRUST, MOST_PER_THRUST = 0.30, 0.90
MOST_ADVANCE = 1.10
LEAST_SIZE, MOST_SIZE = 1.0, 14.6
"""n·D² in m²/s; in air of 15 °C Reynolds numbers n·D²/ν of 70,000 to 1,000,000."""
SWEPT_SIZE = 7.82
"""Up to here (535,000) the tunnels ran; farther on the band is wider."""
FITTED_BLADES, MOST_BLADES = 2, 4
BLADE_CARE, SIZE_CARE = 1.5, 1.25
"""How much wider the band is taken for another blade count or one not given, and beyond the tunnels' speeds: there are no
open sweeps there (common practice, no source)."""

RULE_SHARE, RULE_SHARE_ABOVE = 17.0, 70.0
"""Percent of the sweeps' points whose current falls by 25 to 40 %, and of those where it falls by less: of every point that
pulls, J from 0.06 to 1.02, for a motor at constant volts, loaded to 0.75 of Kv·V when static, no-load current neglected."""
RULE_WORDS = (
    f"in open wind-tunnel data (UIUC Propeller Data Site) the current falls by 25 to 40 % at {RULE_SHARE:.0f} % of the "
    f"points, near top speed, and by less at {RULE_SHARE_ABOVE:.0f} %: slower or climbing, count on up to the static current"
)

# --- the measured point --------------------------------------------------------------------------------------------

SMALL_FALL = 5.0
_solved = worked_out("motor's line through the measured point, and the fit to open sweeps")
IN_FLIGHT = Table.beside(
    g.SUMMARY,
    "InFlight",
    "Steady full throttle at the airspeed on Craft, along the propeller's axis, at the volts of the bench.",
    row="place",
    prefix="flying_",
    source=definition("as measured"),
)
_place = IN_FLIGHT.row


def _step(name: str, label: str, node: Node, symbol: str = "") -> Column:
    return IN_FLIGHT.helper(name, label, symbol=symbol).derive(node)


prop = IN_FLIGHT.take(p.prop, "prop")
cells = IN_FLIGHT.take(p.cells, "cells")
pitch_ratio = IN_FLIGHT.take(g.pitch_ratio, "pitch_ratio")
static_current = IN_FLIGHT.take(p.current, "static_current", "Current, static")
static_thrust = IN_FLIGHT.take(p.thrust, "static_thrust", "Thrust, static")
static_speed = _step("static_speed", "Speed, static", p.speed.at(_place), "n_s")
diameter = g.diameter.at(_place)
_revolutions = static_speed / 60
_line = p.line_square.at(_place), p.line_linear.at(_place)
_square = _step("square", "Square part of the line", _line[0] / (_line[0] + _line[1]), "a")
_emf = _step("emf", "Back-EMF over volts", p.back_emf.at(_place) / p.voltage.at(_place), "e")
blades = IN_FLIGHT.take(p.blades, "blades", helper=True)
_power = p.back_emf.at(_place) * p.torque_current.at(_place)
_modelled_power = _step("modelled_power", "Shaft power by the model", _power)
shaft_power = (p.torque.at(_place) * 2 * math.pi * _revolutions).otherwise(_modelled_power)
"""W, static. By torque where it was read, else back-EMF times the current above the no-load one."""
_pull = static_thrust * GRAM_FORCE * _revolutions * diameter * INCH
per_thrust = _step("per_thrust", "CP over CT, static", shaft_power / _pull, "CP/CT")
size = _step("size", "n·D², static", _revolutions * (diameter * INCH) ** 2, "n·D²")
"""m²/s: the Reynolds number but for the viscosity of air."""
zero_thrust = ZERO_THRUST + ZERO_THRUST_PER_POWER * per_thrust + ZERO_THRUST_PER_SIZE * size.ln()
"""The advance ratio where thrust is gone, by what the propeller does when static."""
_static_ratio = airspeed / (_revolutions * diameter * INCH)
static_advance = _step("static_advance", "Airspeed over n·D, static", _static_ratio, "J_s")

# --- within reach of the fit, and how wide its band ----------------------------------------------------------------


def _within(value: Node, least: float, most: float) -> Node:
    return (value >= least) & (value <= most)


_PITCH = _within(pitch_ratio, LEAST_PITCH_RATIO, MOST_PITCH_RATIO)
_DIAMETER = _within(diameter, LEAST_DIAMETER, MOST_DIAMETER)
_SIZE = _within(size, LEAST_SIZE, MOST_SIZE)
_PER_THRUST = _within(per_thrust, LEAST_PER_THRUST, MOST_PER_THRUST)
_BLADES = _within(blades, FITTED_BLADES, MOST_BLADES).otherwise(1.0).equals(1.0)
_TWO_BLADES = blades.equals(FITTED_BLADES).otherwise(0.0).equals(1.0)
_widened = _TWO_BLADES.where((size <= SWEPT_SIZE).where(1.0, SIZE_CARE), BLADE_CARE)
care = _step("care", "Band, times its usual width", size.present().where(_widened))
_half = BAND * care
_reached = (((_PITCH & _DIAMETER) & _SIZE) & _PER_THRUST) & _BLADES
_start = rule.flies_forward(_reached.where(static_advance / zero_thrust), BLANK)
scaled = _step("scaled", "x at the static speed", _start, "x0")

# --- the operating point -------------------------------------------------------------------------------------------


def _speed_share(word: str, power: Curve) -> Column:
    """Solve the operating point for one power curve."""
    volts, linear = 1 - _square * power.bend * scaled**2, 1 - _square * (1 - power.slope * scaled)
    root = p.root(_square * power.start, linear, volts)
    return _step(f"share_{word}", f"Speed over static, power {word}", root, "m")


def _shown(
    name: str, label: str, unit: str, node: Node, said: str, source: Source, symbol: str = "", decimals: int = 0
) -> Column:
    return IN_FLIGHT.column(name, label, unit, symbol, decimals).derive(node, said, source)


_share = _speed_share("as fitted", POWER)
advance = _shown("advance", "Advance ratio", "", static_advance / _share, "v / (n·D).", definition(), "J", 2)
_there = (scaled / _share <= FARTHEST) & (advance <= MOST_ADVANCE)
_pulls = _step("pulls", "Within reach", _there.where(1.0))
_turns = _pulls * static_speed * _share
speed = _shown("speed", "Speed", "rpm", _turns, "A little above the static one.", _solved, "n_f")


def _drawn(share: Column) -> Node:
    """Return the current at a speed over the static one: it goes with what the back-EMF leaves of the volts."""
    return static_current * (1 - _emf * share) / (1 - _emf)


def _where_it_pulls(value: Node) -> Node:
    return _pulls * greater(value, 0.0)


def _thrust(curve: Curve) -> Node:
    over_static = curve.start * _share**2 + curve.slope * scaled * _share + curve.bend * scaled**2
    return _where_it_pulls(static_thrust * over_static)


def _estimate(kind: str, end: str, unit: str, node: Node, decimals: int) -> Column:
    """Add what is expected in flight, or an end of its band."""
    name, label = (f"{kind}_{end}", f", {end}") if end else (kind, "")
    symbol = {"current": "I", "thrust": "T"}[kind] + "_J" + {"": "", "low": "−", "high": "+"}[end]
    said, source = ("Estimate, end of the band.", BAND_SOURCE) if end else ("Estimate.", _solved)
    return _shown(name, f"{kind.capitalize()} in flight{label}", unit, node, said, source, symbol, decimals)


current = _estimate("current", "", "A", _where_it_pulls(_drawn(_share)), 1)
_least = _where_it_pulls(_drawn(_speed_share("low", POWER.aside(-_half))))
current_low = _estimate("current", "low", "A", _least, 1)
_wide, _risen = _speed_share("high", POWER.aside(_half)), _speed_share("risen", Curve(1 + MOST_RISE * care, 0.0, 0.0))
_by_width = _step("current_by_width", "Current in flight, high by the width", _drawn(_wide))
_by_rise = _step("current_by_rise", "Current in flight, most by any sweep", _drawn(_risen))
current_high = _estimate("current", "high", "A", _where_it_pulls(lesser(_by_width, _by_rise)), 1)
_share_of_static = (current_high - current_low) / static_current * 100
_said = "Of the current in flight, in % of the static one."
width = _shown("width", "Width of the band", "%", _share_of_static, _said, definition())
rule_low, rule_high = (
    _shown(
        f"rule_{end}",
        f"Rule of thumb, {end}",
        "A",
        rule.in_flight(static_current, share, rule.reduced.at(_place)),
        f"Static current less the {meaning}.",
        practice("rule of thumb, from Settings"),
        decimals=1,
    )
    for end, share, meaning in (
        ("low", flight_share_high, f"largest share on Settings; {RULE_WORDS}"),
        ("high", flight_share_low, "smallest share on Settings"),
    )
)
thrust = _estimate("thrust", "", "g", _thrust(THRUST), 0)
thrust_low = _estimate("thrust", "low", "g", _thrust(THRUST.aside(-_half)), 0)
thrust_high = _estimate("thrust", "high", "g", _thrust(THRUST.aside(_half)), 0)
_less = (1 - current / static_current) * 100
fall = _shown("fall", "Fall of current", "%", _less, "Below the static current.", definition())

# --- in words ------------------------------------------------------------------------------------------------------

_shares = (each / static_current * 100 for each in (current, current_low, current_high))
_fast = (size > SWEPT_SIZE).where("; wider, as it turns faster than the tunnels ran", "")
_judged = join(
    say("{:.0f} % of the static current ({:.0f} to {:.0f} %)", *_shares),
    (fall < SMALL_FALL).where("; a small fall, or none", ""),
    _TWO_BLADES.where(_fast, "; wider, as open sweeps are of two blades"),
)
_NEEDED = (
    (airspeed.present(), "Craft names no airspeed"),
    (static_speed.present(), "no full-throttle speed was read"),
    (pitch_ratio.present(), "pitch was not given"),
    (_PITCH, f"pitch/diameter outside the fit, {LEAST_PITCH_RATIO:.2f} to {MOST_PITCH_RATIO:.2f}"),
    (_DIAMETER, f"diameter outside the fit, {LEAST_DIAMETER:.0f} to {MOST_DIAMETER:.0f} in"),
    (_BLADES, f"blade count outside {FITTED_BLADES} to {MOST_BLADES}; the fit is to two blades"),
    (
        _SIZE,
        f"speed and size outside the fit: Reynolds number 70,000 to 1,000,000 (n·D² {LEAST_SIZE:.1f} to "
        f"{MOST_SIZE:.1f} m²/s)",
    ),
    (_modelled_power.present(), "no Kv that fits speed and volts: without it the motor's line is not known"),
    (
        _PER_THRUST,
        f"power and thrust do not fit each other (CP/CT outside {LEAST_PER_THRUST:.2f} to {MOST_PER_THRUST:.2f}): check "
        "Kv, speed, current and thrust",
    ),
)
"""What has to hold, and what is said of the first that does not."""
_why_not: Node = join("too fast: the fitted thrust is gone")
for _holds, _unless in reversed(_NEEDED):
    _why_not = _holds.where(_why_not, _unless)
_why_not = rule.flies_forward(_why_not, "not for hover, 3D, ducted flying or held full throttle")
note = IN_FLIGHT.column("note", "What to expect").derive(
    prop.present().where(current.present().where(_judged, join(_why_not)), "")
)
