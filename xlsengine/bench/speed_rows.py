"""The table of figures that need a speed: one row a reading, and what it takes over from there."""

from __future__ import annotations

import math

from xlsengine.bench import counting
from xlsengine.bench import readings as r
from xlsengine.bench.declare import Quantity, Table
from xlsengine.expression import BLANK, Aggregate, Column, Node
from xlsengine.sources import Source, definition
from xlsengine.units import INCH

SPEED_FIGURES = Table(
    "SpeedFigures", "One row a reading; blank where no speed was read.", r.NO_SPARE, per=(r.row_number,)
)
TAKEN = definition("taken over from Readings")


def derive(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str, source: Source,
    helper: bool = False,
) -> Column:  # fmt: skip
    """Add a column to the table."""
    return SPEED_FIGURES.derive(Quantity(name, label, expression, meaning, source, symbol, unit, shown, helper))


def helps(name: str, label: str, expression: Node, meaning: str, source: Source = TAKEN, symbol: str = "") -> Column:
    """Add a column that only other formulas read."""
    return derive(name, label, symbol, "", 0, expression, meaning, source, helper=True)


row = helps("speed_row", "Row", Aggregate("row", (Column(SPEED_FIGURES.name, "speed_row"),)), "Row of Readings.")


def _fetch(column: Column) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), row)


def taken(column: Column, helper: bool = False) -> Column:
    """Take a column over from Readings, under its own name, symbol and unit."""
    found = r.READINGS.columns[column.name]
    shown = found.shown if isinstance(found, Quantity) else 0
    name, label = f"row_{column.name}", r.READINGS.columns[r.GOES_BY.get(column, column).name].label
    return derive(name, label, found.symbol, found.unit, shown, _fetch(column), found.meaning, TAKEN, helper)


run = taken(r.run)
prop = taken(r.prop)
cells = taken(r.cells)
throttle = taken(r.throttle)
kind = taken(r.kind_taken)
speed = taken(r.speed)
voltage = taken(r.voltage, helper=True)
current = taken(r.current, helper=True)
power = taken(r.power, helper=True)
force = taken(r.thrust_newton, helper=True)
torque = taken(r.torque, helper=True)
pitch = taken(r.pitch, helper=True)
diameter = helps("diameter_metre", "Diameter in metres", _fetch(r.diameter) * INCH, "In metres.", symbol="D")
point = taken(counting.point, helper=True)
sound = taken(counting.sound, helper=True)
used = taken(r.used, helper=True)
counts = taken(counting.counts, helper=True)
full_kind = taken(r.full_kind, helper=True)
group = taken(r.group, helper=True)
revolutions = helps("revolutions", "Revolutions a second", speed / 60, "Speed in rev/s.", symbol="n_s")

FULL = full_kind > 0
"""Full throttle: battery current is motor current there, and only there."""

STEADY_AND_SOUND = sound.equals(1).where(kind.equals(r.PEAK).where(0.0, 1.0), 0.0)
"""1 for a steady row that nothing speaks against, 0 for others."""


def masked(kept: Node, value: Node) -> Node:
    """Return `value` in the rows where the condition holds, blank elsewhere."""
    return kept.where(value, BLANK)


def angular(per_minute: Node) -> Node:
    """Turn rpm into radians a second."""
    return per_minute * (math.pi / 30)
