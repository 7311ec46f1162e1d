"""The table of figures that need a speed: one row a reading, and what it takes over from there."""

import math

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import counting
from xlsengine.expression import Node
from xlsengine.sources import definition
from xlsengine.units import GRAM_FORCE, INCH

TAKEN = definition("taken over from Readings")

SPEED_FIGURES = Table(
    "SpeedFigures",
    "One row per reading; blank where no speed was read.",
    spare=r.NO_SPARE,
    per=(r.row_number,),
    source=TAKEN,
)

row = SPEED_FIGURES.row = SPEED_FIGURES.numbered("speed_row", "Row")

run = SPEED_FIGURES.take(r.run, "row_run")
prop = SPEED_FIGURES.take(r.prop, "row_prop")
cells = SPEED_FIGURES.take(r.cells, "row_cells")
throttle = SPEED_FIGURES.take(r.throttle, "row_throttle", decimals=0)
kind = SPEED_FIGURES.take(r.kind_taken, "row_kind_taken", "Kind")
speed = SPEED_FIGURES.take(r.speed, "row_speed")
voltage = SPEED_FIGURES.take(r.voltage, "row_voltage", helper=True)
current = SPEED_FIGURES.take(r.current, "row_current", helper=True)
power = SPEED_FIGURES.take(r.power, "row_power", helper=True)
force = SPEED_FIGURES.helper("row_force", "Thrust force", symbol="F").derive(r.thrust.at(row) * GRAM_FORCE)
torque = SPEED_FIGURES.take(r.torque, "row_torque", helper=True)
pitch = SPEED_FIGURES.take(r.pitch, "row_pitch", helper=True)
diameter = SPEED_FIGURES.helper("diameter_metre", "Diameter in metres", symbol="D").derive(r.diameter.at(row) * INCH)
point = SPEED_FIGURES.take(counting.point, "row_point", helper=True)
standing = SPEED_FIGURES.take(counting.standing, "row_standing", helper=True)
full_kind = SPEED_FIGURES.take(r.full_kind, "row_full_kind", helper=True)
group = SPEED_FIGURES.take(r.group, "row_group", helper=True)
revolutions = SPEED_FIGURES.helper("revolutions", "Revolutions a second", symbol="n_s").derive(speed / 60)

FULL = full_kind > 0
"""Full throttle: battery current is motor current there, and only there."""

COUNTS, SOUND = standing > 0, standing >= counting.OVERRULED
"""Takes part in the figures; and nothing speaks against it."""

STEADY_AND_SOUND = SOUND.where(kind.equals(r.PEAK).where(0.0, 1.0), 0.0)
"""1 for a steady row that nothing speaks against, 0 for others."""


def angular(per_minute: Node) -> Node:
    """Turn rpm into radians a second."""
    return per_minute * (math.pi / 30)
