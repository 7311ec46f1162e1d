"""What each propeller and cell count gives for sure, and what at most: what a use is held against.

For sure is the figure less its ±, 0 where it is not known; at most is the figure and its ±, without limit where it is
not known or rests on a doubtful reading. So neither a missing nor a doubtful reading can speak for or against a use.
"""

from __future__ import annotations

from typing import NamedTuple

from xlsengine.bench import group_uncertainty as u
from xlsengine.bench import readings as r
from xlsengine.bench import summary as g
from xlsengine.bench.accuracies import taken_speed_accuracy
from xlsengine.bench.by_propeller import doubtful_here
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.motor import label_kv
from xlsengine.bench.motor_model import best_kv
from xlsengine.bench.settings import assumed_speed_ratio, hover_gap, hover_range, prediction_loading
from xlsengine.bench.suitability import throttle_taken
from xlsengine.bench.table_maker import TableMaker
from xlsengine.bench.uses import hover_throttle_most
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Named, Node, join
from xlsengine.sources import Source, definition, practice, worked_out
from xlsengine.units import INCH

USE_POINTS = Table(
    "UsePoints", "Full-throttle means that count, by propeller and cell count, as uses are held against them.",
    spare=g.SUMMARY.spare, per=(r.group_first,),
)  # fmt: skip
UNLIMITED = 1e9
PLACES = 1000
"""A code is ten times a figure, a thousandfold, and the place of its row: the largest one tells both."""
_read = definition("mean of the full-throttle readings that count, with its ±")
_make = TableMaker(USE_POINTS, "point", _read)


class Bounds(NamedTuple):
    """A figure of a point: what it is, what it is for sure, what at most, and its code for finding the largest."""

    value: Column
    sure: Column
    reach: Column
    code: Column


place = _make.helps("place", "Place", Aggregate("row", (Column(USE_POINTS.name, "point_place"),)), "Summary row.")


def _at(column: Column) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), place)


def _helps(
    name: str, label: str, unit: str, shown: int, node: Node, meaning: str, source: Source = _read
) -> Column:  # fmt: skip
    return _make.shows(name, label, "", unit, shown, node, meaning, source, helper=True)


label = _helps(
    "label", "Propeller and cells", "", 0,
    join(_at(g.label), _at(g.full_kind).equals(r.PEAK).where(" (peak, less when held)", "")), "As it is spoken of.",
)  # fmt: skip
_first = _helps("first", "First row", "", 0, _at(g.first_row), "Of Readings.")
doubtful = _helps("doubtful", "Doubtful readings", "", 0, _at(doubtful_here).otherwise(0.0), "Behind the means.")


def _not_below_zero(node: Node) -> Node:
    """Take a figure, or 0 where it is below."""
    return (node > 0).where(node, 0.0)


def _bounds(
    name: str, words: str, unit: str, shown: int, value: Node, low: Node, high: Node, source: Source = _read
) -> Bounds:
    """Derive the bounds of a figure from what it is at least and at most."""
    kept = _helps(name, words, unit, shown, value, "0 where it is not known.", source)
    sure = (doubtful > 0).where(0.0, _not_below_zero(low).otherwise(0.0))
    reach = (doubtful > 0).where(UNLIMITED, high.otherwise(UNLIMITED))
    return Bounds(
        kept,
        _helps(
            f"{name}_sure",
            f"{words}, for sure",
            unit,
            shown,
            sure,
            "Less its ±; 0 where doubtful or not known.",
            source,
        ),
        _helps(
            f"{name}_reach", f"{words}, at most", unit, shown, reach, "With its ±; no limit where doubtful.", source
        ),
        _helps(f"{name}_code", f"{words}, code", "", 0, (kept * 10).whole_part() * PLACES + place, "And the place."),
    )


_thrust, _sure_of_thrust = _at(u.SURE["thrust"].value), _at(u.SURE["thrust"].expanded)
thrust = _bounds(
    "thrust",
    "Thrust",
    "g",
    0,
    _thrust.otherwise(0.0),
    _thrust - _sure_of_thrust,
    _thrust + _sure_of_thrust,
)
thrust_expanded = _helps("thrust_expanded", "Thrust, ±", "g", 0, _sure_of_thrust.otherwise(0.0), "Expanded.")
cells = _helps(
    "cells", "Cells", "", 0, (thrust.value > 0).where(_at(g.cells), 0.0).otherwise(0.0), "0 where nothing counts."
)
diameter = _helps("diameter", "Diameter", "in", 2, _at(g.diameter).otherwise(0.0), "0 where it is not known.")
small_code = _helps(
    "small_code", "Thrust, code for the smallest", "", 0,
    (thrust.value > 0).where((UNLIMITED / 100 - thrust.value * 10).whole_part() * PLACES + place, 0.0), "And the place.",
)  # fmt: skip

# --- pitch speed -----------------------------------------------------------------------------------------------

MEASURED, ESTIMATED = 2.0, 1.0
_pitch = Aggregate("at", (r.pitch,), (), _first)
_per_turn = _pitch * (INCH / 60)


def _mean(cell: Column | Named) -> Node:
    return _at(Column(u.GROUP_UNCERTAINTY.name, cell.name))


_speed = _helps("speed", "Speed", "rpm", 0, _mean(u.MEANS.speed), "Mean; blank where it was not read.")
_free = best_kv.otherwise(label_kv) * _mean(u.MEANS.voltage)
_loose = prediction_loading
speed_basis = _helps(
    "speed_basis", "Pitch speed is", "", 0,
    _speed.present().where((_per_turn * _speed > 0).where(MEASURED, 0.0), (_per_turn * _free > 0).where(ESTIMATED, 0.0))
    .otherwise(0.0),
    "2: of a speed that was read; 1: estimated from Kv and volts; 0: not known.",
)  # fmt: skip


def _pitch_speed(measured: float, loaded: Node) -> Node:
    """Return the pitch speed: of the speed read, moved by so many times its ±, else of Kv and volts so loaded."""
    read = _per_turn * _speed * (1 + measured * taken_speed_accuracy / 100)
    return speed_basis.equals(MEASURED).where(
        read, speed_basis.equals(ESTIMATED).where(_per_turn * _free * loaded, BLANK)
    )


pitch_speed = _bounds(
    "pitch_speed", "Pitch speed", "m/s", 1, _pitch_speed(0, assumed_speed_ratio).otherwise(0.0),
    _pitch_speed(-1, assumed_speed_ratio - _loose), _pitch_speed(1, assumed_speed_ratio + _loose),
    practice("loaded motors run at 0.60 to 0.85 of Kv times volts; pitch speed is a loose upper bound on airspeed"),
)  # fmt: skip

# --- thrust at the highest throttle to hover with --------------------------------------------------------------

sweep_throttle = r.READINGS.derive(
    Quantity("sweep_throttle", "Sweep throttle", (g.sweep_clean > 0).where(throttle_taken, 0.0).otherwise(0.0),
             "Throttle of unflagged steady rows; 0 elsewhere.", definition(), "", "%", 0, helper=True)
)  # fmt: skip


def _of_sweep(*more: Condition) -> tuple[Condition, ...]:
    return (Condition(r.group, "=", _first), *more)


def _nth(number: Node) -> Node:
    return Aggregate("largest", (sweep_throttle,), _of_sweep(), number)


_above = Aggregate("count", (sweep_throttle,), _of_sweep(Condition(sweep_throttle, ">=", hover_throttle_most)))
_up = _helps("throttle_up", "Next throttle up", "%", 0, _nth(_above), "Of steady readings.")
_down = _helps("throttle_down", "Next throttle down", "%", 0, _nth(_above + 1), "Of steady readings.")


def _thrust_at(throttle: Column) -> Node:
    return Aggregate("mean", (r.thrust,), _of_sweep(Condition(sweep_throttle, "=", throttle)))


def _between() -> Node:
    """Return the thrust at that throttle, straight in logarithms; blank across a gap wider than Settings allows."""
    above, below = _thrust_at(_up), _thrust_at(_down)
    share = (hover_throttle_most / _down).ln() / (_up / _down).ln()
    close = (above <= below * hover_gap).where((below.ln() + share * (above / below).ln()).exp(), BLANK)
    return _up.equals(hover_throttle_most).where(above, close)


hover_read = _helps(
    "hover_read", "Thrust at the highest hover throttle, read", "g", 0, _between(),
    "Between steady readings; blank without them.",
)  # fmt: skip
_share = hover_throttle_most / 100
_both_ways = 2 * hover_range / 100
hovering = _bounds(
    "hover", "Thrust at the highest hover throttle", "g", 0,
    hover_read.otherwise(thrust.value * _share * _share),
    (hover_read * (1 - _both_ways)).otherwise(thrust.sure * _share * _share),
    (hover_read * (1 + _both_ways)).otherwise(thrust.reach * _share),
    worked_out("read between throttle steps; else thrust goes with throttle or with its square, and both are bounds"),
)  # fmt: skip

# --- power -----------------------------------------------------------------------------------------------------

_power, _sure_of_power = _at(u.SURE["power"].value), _at(u.SURE["power"].expanded)
power = _bounds(
    "power",
    "Power",
    "W",
    0,
    _power.otherwise(0.0),
    _power - _sure_of_power,
    _power + _sure_of_power,
)
