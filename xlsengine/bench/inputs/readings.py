"""The table of readings: what is typed in, row by row, and what each row gives."""

import math

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs.conditions import KINDS, air_density, readings_are, sound_speed
from xlsengine.bench.inputs.motor import label_kv, poles
from xlsengine.bench.inputs.settings import full_throttle_from
from xlsengine.bench.inputs.typed import filled
from xlsengine.expression import Aggregate, Column, Node, call, say
from xlsengine.sources import MOMENTUM_THEORY, SI_BROCHURE, definition
from xlsengine.units import GRAM_FORCE, INCH

PEAK, STEADY = KINDS
AT_PEAK, AT_STEADY = 1.0, 2.0
SLIPPED = 10.0
READINGS = filled(Table("Readings", "One row per reading, as the bench showed it.", spare=10))
NO_SPARE = -READINGS.spare
"""Of a table with a row for each row of Readings: none for those that are spare, until results are written again."""
KIND_IN_SHORT = READINGS.fields["kind"].meaning.partition(" Blank")[0]
COUNT, LEAVE_OUT = READINGS.fields["use"].choices

run, prop, diameter, pitch, blades = map(READINGS.typed, ("run", "prop", "diameter", "pitch", "blades"))
cells, throttle, kind, voltage, current = map(READINGS.typed, ("cells", "throttle", "kind", "voltage", "current"))
thrust, speed, torque = map(READINGS.typed, ("thrust", "speed", "torque"))
motor_temperature, use, note = map(READINGS.typed, ("motor_temperature", "use", "note"))

_by_definition = definition("product or ratio of readings of the same row")

power = READINGS.column("power", "Power", "W", symbol="P", decimals=1).derive(
    voltage * current, "Electrical power.", _by_definition
)
grams_per_watt = READINGS.column("grams_per_watt", "Thrust per power", "g/W", symbol="e_P").derive(
    thrust / power, "Efficiency as builders speak of it.", _by_definition
)
grams_per_amp = READINGS.column("grams_per_amp", "Thrust per current", "g/A", symbol="e_I", decimals=1).derive(
    thrust / current, "Nearly the same at every cell count for one propeller at full throttle.", _by_definition
)
thrust_newton = READINGS.helper("thrust_newton", "Thrust force", "N", symbol="F", decimals=3).derive(
    thrust * GRAM_FORCE, "Thrust as a force.", SI_BROCHURE
)
cell_voltage = READINGS.column("cell_voltage", "Voltage per cell", "V", symbol="V_c").derive(
    voltage / cells, "Under load.", _by_definition
)
DISK = math.pi / 4 * INCH**2
"""Area of a disk over the square of its diameter, m²/in²."""
disk_loading = READINGS.helper("disk_loading", "Disk loading", "N/m²", symbol="w_d").derive(
    thrust_newton / (DISK * diameter**2), "Thrust over the propeller's disk.", _by_definition
)
hover_efficiency = READINGS.column("hover_efficiency", "Overall static efficiency", symbol="η_h", decimals=3).derive(
    thrust_newton * (disk_loading / (2 * air_density)).sqrt() / power,
    "Ideal power of the disk over electrical power: propeller, motor and ESC together.",
    MOMENTUM_THEORY,
)
pitch_ratio = READINGS.column("pitch_ratio", "Pitch over diameter", symbol="λ", decimals=2).derive(
    pitch / diameter, "Geometry only.", _by_definition
)
speed_ratio = READINGS.column("speed_ratio", "Speed ratio n/(Kv·V)", symbol="x", decimals=3).derive(
    speed / (label_kv * voltage),
    "With the labelled Kv; a loaded motor at full throttle runs at 0.60 to 0.85.",
    _by_definition,
)
electrical_speed = READINGS.column("electrical_speed", "Electrical speed, eRPM", "rpm", symbol="n_el").derive(
    speed * poles / 2, "What the ESC must keep up with.", definition("mechanical speed times pole pairs")
)
tip_mach = READINGS.column("tip_mach", "Tip Mach number", symbol="Ma", decimals=2).derive(
    math.pi * INCH / 60 * diameter * speed / sound_speed, "Blade tip speed over the speed of sound.", _by_definition
)


def place_of(column: Column) -> float:
    """Return the place of a typed column of Readings, from 1."""
    return 1.0 + list(READINGS.fields).index(column.name)


def _readable(reading: Column, then: Node | float) -> Node:
    """Return `then` where a reading is a number that a bench could show, else minus its place.

    A digit slipped by one place is still read, and judged; a date typed into a cell of amps is not.
    """
    limits, unread = READINGS.fields[reading.name], -place_of(reading)
    inside = (reading >= float(limits.low or 0)) & (reading <= SLIPPED * float(limits.high or 0))
    return reading.present().where(inside.where(then, unread), unread)


kind_taken = READINGS.helper("kind_taken", "Kind taken").derive(
    prop.present().where(
        kind.otherwise((throttle.otherwise(100.0) >= full_throttle_from).where(readings_are.otherwise(PEAK), STEADY)),
        "",
    )
)
"""As typed; else below full throttle steady, and at full throttle what Bench says of all readings, else peak, which
promises least of what is held."""
GOES_BY = {kind_taken: kind}
"""What other sheets show in a typed column's place, under its label."""
row_number = READINGS.row = READINGS.helper("row_number", "Row").derive(Aggregate("row", (run,)))


def propeller_key(name: Node) -> Node:
    """Return a propeller's name as it is compared: without capitals and spare spaces."""
    return call("lower", call("trim", name))


prop_key = READINGS.helper("prop_key", "Propeller key").derive(propeller_key(prop))
group_key = READINGS.helper("group_key", "Group key").derive(
    (prop.present() & cells.present()).where(say("{}|{:.0f}", prop_key, cells), "")
)
"""Of every reading: one that is left out still names its group."""
group = READINGS.helper("group", "Group").derive(group_key.present().where(group_key.position(group_key)))
group_first = READINGS.helper("group_first", "First of group").derive(group.equals(row_number).where(group))
_is_full = full_throttle_from.present().where(throttle.otherwise(100.0) >= full_throttle_from, 0.0)
_full = _is_full.where(kind_taken.equals(PEAK).where(AT_PEAK, AT_STEADY), 0.0)
full_kind = READINGS.helper("full_kind", "Kind at full throttle").derive(
    prop.present().where(_readable(voltage, _readable(current, _readable(thrust, _full))), 0.0)
)
"""1 for peak and 2 for steady at full throttle, 0 for all other rows, whether the row counts or not; where volts, amps
or grams cannot be read, minus the place of that column."""
judged: Node = (full_kind >= 0) & ~use.equals(LEAVE_OUT) & prop.present()
"""Propeller, voltage, current and thrust can be read, and Use is not “no”."""
thrust_read = READINGS.helper("thrust_read", "Thrust read").derive((full_kind >= 0).where(thrust.otherwise(0.0), 0.0))


READINGS.keep(prop_key, power, kind=kind_taken)
