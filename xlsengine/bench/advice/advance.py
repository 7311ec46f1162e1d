"""In flight at full throttle, from physics: where the motor's line meets a propeller whose CP and CT fall along J.

With x = J/J0 the propeller's CP over its static one is s + c·x + d·x² (`advance_curves`). Being quadratic in J, its
torque keeps the operating point a quadratic in the speed: with m the speed over the static one and x0 = x at the static
speed, s·a·m² + (1 − a + a·c·x0)·m = 1 − a·d·x0², where a = A/(A + B) is of the measured point, and V − C = A + B.
"""

import math

from xlsengine.bench.advice import advance_curves as k
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.groups import measured_points as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs.craft import airspeed
from xlsengine.bench.inputs.settings import flight_share_high, flight_share_low
from xlsengine.expression import BLANK, Column, Node, greater, join, lesser, say
from xlsengine.sources import FIRST_ORDER_MOTOR, definition, practice, worked_out
from xlsengine.units import GRAM_FORCE, INCH

SMALL_FALL = 5.0

_solved = worked_out("motor's line through the measured point, and the fit to open sweeps")

_read = definition("as measured")

IN_FLIGHT = Table.beside(
    g.SUMMARY,
    "InFlight",
    "Steady full throttle at the airspeed on Craft, along the propeller's axis, at the volts of the bench.",
    row="flying_place",
    source=_read,
)
_place = IN_FLIGHT.row

prop = IN_FLIGHT.take(p.prop, "flying_prop")
cells = IN_FLIGHT.take(p.cells, "flying_cells")
pitch_ratio = IN_FLIGHT.take(g.pitch_ratio, "flying_pitch_ratio")
static_current = IN_FLIGHT.take(p.current, "flying_static_current", "Current, static")
static_thrust = IN_FLIGHT.take(p.thrust, "flying_static_thrust", "Thrust, static")
static_speed = IN_FLIGHT.helper("flying_static_speed", "Speed, static", symbol="n_s").derive(p.speed.at(_place))
diameter = g.diameter.at(_place)
_revolutions = static_speed / 60
_square = IN_FLIGHT.helper("flying_square", "Square part of the line", symbol="a").derive(
    p.line_square.at(_place) / (p.line_square.at(_place) + p.line_linear.at(_place))
)
_emf = IN_FLIGHT.helper("flying_emf", "Back-EMF over volts", symbol="e").derive(
    p.back_emf.at(_place) / p.voltage.at(_place), source=FIRST_ORDER_MOTOR
)
blades = IN_FLIGHT.take(p.blades, "flying_blades", helper=True)
static_torque = p.torque.at(_place)
_modelled_power = IN_FLIGHT.helper("flying_modelled_power", "Shaft power by the model").derive(
    p.back_emf.at(_place) * p.torque_current.at(_place), "W; blank without a line.", FIRST_ORDER_MOTOR
)
shaft_power = (static_torque * 2 * math.pi * _revolutions).otherwise(_modelled_power)
"""W, static. By torque where it was read, else back-EMF times the current above the no-load one."""
per_thrust = IN_FLIGHT.helper("flying_per_thrust", "CP over CT, static", symbol="CP/CT").derive(
    shaft_power / (static_thrust * GRAM_FORCE * _revolutions * diameter * INCH)
)
size = IN_FLIGHT.helper("flying_size", "n·D², static", symbol="n·D²").derive(
    _revolutions * (diameter * INCH) ** 2, "m²/s: the Reynolds number but for the viscosity of air."
)
zero_thrust = k.ZERO_THRUST + k.ZERO_THRUST_PER_POWER * per_thrust + k.ZERO_THRUST_PER_SIZE * size.ln()
"""The advance ratio where thrust is gone, by what the propeller does when static: see `advance_curves`."""
static_advance = IN_FLIGHT.helper("flying_static_advance", "Airspeed over n·D, static", symbol="J_s").derive(
    airspeed / (_revolutions * diameter * INCH)
)


def _within(value: Node, least: float, most: float) -> Node:
    return (value >= least) & (value <= most)


_PITCH = _within(pitch_ratio, k.LEAST_PITCH_RATIO, k.MOST_PITCH_RATIO)
_DIAMETER = _within(diameter, k.LEAST_DIAMETER, k.MOST_DIAMETER)
_SIZE = _within(size, k.LEAST_SIZE, k.MOST_SIZE)
_PER_THRUST = _within(per_thrust, k.LEAST_PER_THRUST, k.MOST_PER_THRUST)
_BLADES = _within(blades, k.FITTED_BLADES, k.MOST_BLADES).otherwise(1.0).equals(1.0)
_TWO_BLADES = blades.equals(k.FITTED_BLADES).otherwise(0.0).equals(1.0)
care = IN_FLIGHT.helper("flying_care", "Band, times its usual width").derive(
    size.present().where(_TWO_BLADES.where((size <= k.SWEPT_SIZE).where(1.0, k.SIZE_CARE), k.BLADE_CARE)),
    "More for a blade count that is not two or not given, and for more n·D² than the tunnels reached.",
    k.CARE_SOURCE,
)
_reached = (((_PITCH & _DIAMETER) & _SIZE) & _PER_THRUST) & _BLADES
scaled = IN_FLIGHT.helper("flying_scaled", "x at the static speed", symbol="x0").derive(
    rule.flies_forward(_reached.where(static_advance / zero_thrust), BLANK),
    "J_s over J0; blank outside the fit's reach, and for hover, 3D and ducted flying.",
    k.SWEEPS,
)
_half = k.BAND * care


def _speed_share(word: str, power: k.Curve) -> Column:
    """Solve the operating point for one power curve."""
    volts, linear = 1 - _square * power.bend * scaled**2, 1 - _square * (1 - power.slope * scaled)
    return IN_FLIGHT.helper(f"flying_share_{word}", f"Speed over static, power {word}", symbol="m").derive(
        p.root(_square * power.start, linear, volts)
    )


_share = _speed_share("as fitted", k.POWER)
advance = IN_FLIGHT.column("flying_advance", "Advance ratio", symbol="J", decimals=2).derive(
    static_advance / _share, "v / (n·D).", definition()
)
scaled_there = scaled / _share
_pulls = IN_FLIGHT.helper("flying_pulls", "Within reach").derive(
    ((scaled_there <= k.FARTHEST) & (advance <= k.MOST_ADVANCE)).where(1.0),
    "1 where the fitted thrust is not gone.",
    k.SWEEPS,
)
speed = IN_FLIGHT.column("flying_speed", "Speed", "rpm", symbol="n_f").derive(
    _pulls * static_speed * _share, "A little above the static one.", _solved
)


def _drawn(share: Column) -> Node:
    """Return the current at a speed over the static one: it goes with what the back-EMF leaves of the volts."""
    return static_current * (1 - _emf * share) / (1 - _emf)


def _where_it_pulls(value: Node) -> Node:
    return _pulls * greater(value, 0.0)


def _thrust(curve: k.Curve) -> Node:
    over_static = curve.start * _share**2 + curve.slope * scaled * _share + curve.bend * scaled**2
    return _where_it_pulls(static_thrust * over_static)


_end = "Estimate, end of the band."
current = IN_FLIGHT.column("flying_current", "Current in flight", "A", symbol="I_J").derive(
    _where_it_pulls(_drawn(_share)), "Estimate.", _solved
)
current_low = IN_FLIGHT.column("flying_current_low", "Current in flight, low", "A", symbol="I_J−").derive(
    _where_it_pulls(_drawn(_speed_share("low", k.POWER.aside(-_half)))), _end, k.BAND_SOURCE
)
_by_width = IN_FLIGHT.helper("flying_current_by_width", "Current in flight, high by the width").derive(
    _drawn(_speed_share("high", k.POWER.aside(_half))), source=k.BAND_SOURCE
)
_by_rise = IN_FLIGHT.helper("flying_current_by_rise", "Current in flight, most by any sweep").derive(
    _drawn(_speed_share("risen", k.Curve(1 + k.MOST_RISE * care, 0.0, 0.0))),
    "CP as high as it rose in any sweep.",
    k.SWEEPS,
)
current_high = IN_FLIGHT.column("flying_current_high", "Current in flight, high", "A", symbol="I_J+").derive(
    _where_it_pulls(lesser(_by_width, _by_rise)), _end, k.BAND_SOURCE
)
width = IN_FLIGHT.column("flying_width", "Width of the band", "%", decimals=0).derive(
    (current_high - current_low) / static_current * 100,
    "Of the current in flight, in % of the static one.",
    definition(),
)
rule_low, rule_high = (
    IN_FLIGHT.column(f"flying_rule_{end}", f"Rule of thumb, {end}", "A").derive(
        rule.in_flight(static_current, share, rule.reduced.at(_place)),
        f"Static current less the {meaning}.",
        practice("rule of thumb, from Settings"),
    )
    for end, share, meaning in (
        ("low", flight_share_high, f"largest share on Settings; {k.RULE_WORDS}"),
        ("high", flight_share_low, "smallest share on Settings"),
    )
)
thrust = IN_FLIGHT.column("flying_thrust", "Thrust in flight", "g", symbol="T_J").derive(
    _thrust(k.THRUST), "Estimate.", _solved
)
thrust_low = IN_FLIGHT.column("flying_thrust_low", "Thrust in flight, low", "g", symbol="T_J−").derive(
    _thrust(k.THRUST.aside(-_half)), _end, k.BAND_SOURCE
)
thrust_high = IN_FLIGHT.column("flying_thrust_high", "Thrust in flight, high", "g", symbol="T_J+").derive(
    _thrust(k.THRUST.aside(_half)), _end, k.BAND_SOURCE
)


fall = IN_FLIGHT.column("flying_fall", "Fall of current", "%", decimals=0).derive(
    (1 - current / static_current) * 100, "Below the static current.", definition()
)


_shares = (each / static_current * 100 for each in (current, current_low, current_high))
_fast = (size > k.SWEPT_SIZE).where("; wider, as it turns faster than the tunnels ran", "")
_judged = join(
    say("{:.0f} % of the static current ({:.0f} to {:.0f} %)", *_shares),
    (fall < SMALL_FALL).where("; a small fall, or none", ""),
    _TWO_BLADES.where(_fast, "; wider, as open sweeps are of two blades"),
)
_NEEDED = (
    (airspeed.present(), "Craft names no airspeed"),
    (static_speed.present(), "no full-throttle speed was read"),
    (pitch_ratio.present(), "pitch was not given"),
    (_PITCH, f"pitch/diameter outside the fit, {k.LEAST_PITCH_RATIO:.2f} to {k.MOST_PITCH_RATIO:.2f}"),
    (_DIAMETER, f"diameter outside the fit, {k.LEAST_DIAMETER:.0f} to {k.MOST_DIAMETER:.0f} in"),
    (_BLADES, f"blade count outside {k.FITTED_BLADES} to {k.MOST_BLADES}; the fit is to two blades"),
    (
        _SIZE,
        f"speed and size outside the fit: Reynolds number 70,000 to 1,000,000 (n·D² {k.LEAST_SIZE:.1f} to "
        f"{k.MOST_SIZE:.1f} m²/s)",
    ),
    (_modelled_power.present(), "no Kv that fits speed and volts: without it the motor's line is not known"),
    (
        _PER_THRUST,
        f"power and thrust do not fit each other (CP/CT outside {k.LEAST_PER_THRUST:.2f} to "
        f"{k.MOST_PER_THRUST:.2f}): check Kv, speed, current and thrust",
    ),
)
"""What has to hold, and what is said of the first that does not."""
_why_not: Node = join("too fast: the fitted thrust is gone")
for _holds, _said in reversed(_NEEDED):
    _why_not = _holds.where(_why_not, _said)
_why_not = rule.flies_forward(_why_not, "not for hover, 3D, ducted flying or held full throttle")
note = IN_FLIGHT.column("flying_note", "What to expect").derive(
    prop.present().where(current.present().where(_judged, join(_why_not)), ""),
    "The current in flight over the static one, with its band, or what is missing.",
)
