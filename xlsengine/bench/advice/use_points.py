"""What each propeller and cell count gives for sure, and what at most: what a use is held against.

For sure is the figure less its ±, 0 where it is not known; at most is the figure and its ±, without limit where it is
not known or rests on a doubtful reading. So neither a missing nor a doubtful reading can speak for or against a use.
"""

from typing import NamedTuple

from xlsengine.bench.advice.suitability import throttle_taken
from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import doubtful_here
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.motor import label_kv
from xlsengine.bench.inputs.settings import assumed_speed_ratio, hover_gap, hover_range, prediction_loading
from xlsengine.bench.inputs.uses import hover_throttle_most
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.bench.propagation.accuracies import taken_speed_accuracy
from xlsengine.bench.uncertainty import group_uncertainty as u
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Named, Node, join
from xlsengine.sources import Source, definition, practice, worked_out
from xlsengine.units import INCH

USE_POINTS = Table(
    "UsePoints",
    "Full-throttle means that count, by propeller and cell count, as uses are held against them.",
    spare=g.SUMMARY.spare,
    per=(r.group_first,),
)
UNLIMITED = 1e9
PLACES = 1000
"""A code is ten times a figure, a thousandfold, and the place of its row: the largest one tells both."""
_read = definition("mean of the full-throttle readings that count, with its ±")
_make = USE_POINTS.part("point_", _read)


class Bounds(NamedTuple):
    """A figure of a point: what it is, what it is for sure, what at most, and its code for finding the largest."""

    value: Column
    sure: Column
    reach: Column
    code: Column


place = _make.helper("place", "Place").derive(
    Aggregate("row", (Column(USE_POINTS.name, "point_place"),)), "Summary row."
)


label = _make.helper("label", "Propeller and cells").derive(
    join(g.label.at(place), g.full_kind.at(place).equals(r.PEAK).where(" (peak, less when held)", "")),
    "As it is spoken of.",
    _read,
)
_first = _make.helper("first", "First row").derive(g.first_row.at(place), "Of Readings.", _read)
doubtful = _make.helper("doubtful", "Doubtful readings").derive(
    doubtful_here.at(place).otherwise(0.0), "Behind the means.", _read
)


def _not_below_zero(node: Node) -> Node:
    """Take a figure, or 0 where it is below."""
    return (node > 0).where(node, 0.0)


def _bounds(
    name: str, words: str, unit: str, shown: int, value: Node, low: Node, high: Node, source: Source = _read
) -> Bounds:
    """Derive the bounds of a figure from what it is at least and at most."""
    kept = _make.helper(name, words, unit, decimals=shown).derive(value, "0 where it is not known.", source)
    sure = (doubtful > 0).where(0.0, _not_below_zero(low).otherwise(0.0))
    reach = (doubtful > 0).where(UNLIMITED, high.otherwise(UNLIMITED))
    return Bounds(
        kept,
        _make.helper(f"{name}_sure", f"{words}, for sure", unit, decimals=shown).derive(
            sure, "Less its ±; 0 where doubtful or not known.", source
        ),
        _make.helper(f"{name}_reach", f"{words}, at most", unit, decimals=shown).derive(
            reach, "With its ±; no limit where doubtful.", source
        ),
        _make.helper(f"{name}_code", f"{words}, code").derive(
            (kept * 10).whole_part() * PLACES + place, "And the place.", _read
        ),
    )


_thrust, _sure_of_thrust = u.UNCERTAINTIES["thrust"].value.at(place), u.UNCERTAINTIES["thrust"].expanded.at(place)
thrust = _bounds(
    "thrust",
    "Thrust",
    "g",
    0,
    _thrust.otherwise(0.0),
    _thrust - _sure_of_thrust,
    _thrust + _sure_of_thrust,
)
thrust_expanded = _make.helper("thrust_expanded", "Thrust, ±", "g").derive(
    _sure_of_thrust.otherwise(0.0), "Expanded.", _read
)
cells = _make.helper("cells", "Cells").derive(
    (thrust.value > 0).where(g.cells.at(place), 0.0).otherwise(0.0), "0 where nothing counts.", _read
)
diameter = _make.helper("diameter", "Diameter", "in", decimals=2).derive(
    g.diameter.at(place).otherwise(0.0), "0 where it is not known.", _read
)
small_code = _make.helper("small_code", "Thrust, code for the smallest").derive(
    (thrust.value > 0).where((UNLIMITED / 100 - thrust.value * 10).whole_part() * PLACES + place, 0.0),
    "And the place.",
    _read,
)

# --- pitch speed -----------------------------------------------------------------------------------------------

MEASURED, ESTIMATED = 2.0, 1.0
_pitch = r.pitch.at(_first)
_per_turn = _pitch * (INCH / 60)


def _mean(cell: Column | Named) -> Node:
    return Column(u.GROUP_UNCERTAINTY.name, cell.name).at(place)


_speed = _make.helper("speed", "Speed", "rpm").derive(_mean(u.MEANS.speed), "Mean; blank where it was not read.", _read)
_free = best_kv.otherwise(label_kv) * _mean(u.MEANS.voltage)
_loose = prediction_loading
speed_basis = _make.helper("speed_basis", "Pitch speed is").derive(
    _speed.present()
    .where((_per_turn * _speed > 0).where(MEASURED, 0.0), (_per_turn * _free > 0).where(ESTIMATED, 0.0))
    .otherwise(0.0),
    "2: of a speed that was read; 1: estimated from Kv and volts; 0: not known.",
    _read,
)


def _pitch_speed(measured: float, loaded: Node) -> Node:
    """Return the pitch speed: of the speed read, moved by so many times its ±, else of Kv and volts so loaded."""
    read = _per_turn * _speed * (1 + measured * taken_speed_accuracy / 100)
    return speed_basis.equals(MEASURED).where(
        read, speed_basis.equals(ESTIMATED).where(_per_turn * _free * loaded, BLANK)
    )


pitch_speed = _bounds(
    "pitch_speed",
    "Pitch speed",
    "m/s",
    1,
    _pitch_speed(0, assumed_speed_ratio).otherwise(0.0),
    _pitch_speed(-1, assumed_speed_ratio - _loose),
    _pitch_speed(1, assumed_speed_ratio + _loose),
    practice("loaded motors run at 0.60 to 0.85 of Kv times volts; pitch speed is a loose upper bound on airspeed"),
)

# --- thrust at the highest throttle to hover with --------------------------------------------------------------

sweep_throttle = r.READINGS.helper("sweep_throttle", "Sweep throttle", "%", decimals=0).derive(
    (g.sweep_clean > 0).where(throttle_taken, 0.0).otherwise(0.0), "Throttle of unflagged steady rows; 0 elsewhere."
)


def _of_sweep(*more: Condition) -> tuple[Condition, ...]:
    return (Condition(r.group, "=", _first), *more)


def _nth(number: Node) -> Node:
    return sweep_throttle.largest(*_of_sweep(), place=number)


_above = sweep_throttle.count(*_of_sweep(Condition(sweep_throttle, ">=", hover_throttle_most)))
_up = _make.helper("throttle_up", "Next throttle up", "%", decimals=0).derive(
    _nth(_above), "Of steady readings.", _read
)
_down = _make.helper("throttle_down", "Next throttle down", "%", decimals=0).derive(
    _nth(_above + 1), "Of steady readings.", _read
)


def _thrust_at(throttle: Column) -> Node:
    return r.thrust.mean(*_of_sweep(Condition(sweep_throttle, "=", throttle)))


def _between() -> Node:
    """Return the thrust at that throttle, straight in logarithms; blank across a gap wider than Settings allows."""
    above, below = _thrust_at(_up), _thrust_at(_down)
    share = (hover_throttle_most / _down).ln() / (_up / _down).ln()
    close = (above <= below * hover_gap).where((below.ln() + share * (above / below).ln()).exp(), BLANK)
    return _up.equals(hover_throttle_most).where(above, close)


hover_read = _make.helper("hover_read", "Thrust at the highest hover throttle, read", "g").derive(
    _between(), "Between steady readings; blank without them.", _read
)
_share = hover_throttle_most / 100
_both_ways = 2 * hover_range / 100
hovering = _bounds(
    "hover",
    "Thrust at the highest hover throttle",
    "g",
    0,
    hover_read.otherwise(thrust.value * _share * _share),
    (hover_read * (1 - _both_ways)).otherwise(thrust.sure * _share * _share),
    (hover_read * (1 + _both_ways)).otherwise(thrust.reach * _share),
    worked_out("read between throttle steps; else thrust goes with throttle or with its square, and both are bounds"),
)

# --- power -----------------------------------------------------------------------------------------------------

_power, _sure_of_power = u.UNCERTAINTIES["power"].value.at(place), u.UNCERTAINTIES["power"].expanded.at(place)
power = _bounds(
    "power",
    "Power",
    "W",
    0,
    _power.otherwise(0.0),
    _power - _sure_of_power,
    _power + _sure_of_power,
)
