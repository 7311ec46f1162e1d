"""The table of readings: what is typed in, row by row, and what each row gives."""

import math

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs.conditions import KINDS, air_density, readings_are, sound_speed
from xlsengine.bench.inputs.motor import label_kv, poles, stator_volume, trimmed_mass
from xlsengine.bench.inputs.settings import full_throttle_from
from xlsengine.expression import Aggregate, Column, Node, call, flag, say
from xlsengine.sources import MOMENTUM_THEORY, SI_BROCHURE, definition
from xlsengine.units import GRAM_FORCE, INCH

PEAK, STEADY = KINDS
COUNT, LEAVE_OUT = "yes", "no"
AT_PEAK, AT_STEADY = 1.0, 2.0
SLIPPED = 10.0
KIND_IN_SHORT = "Peak: the first second at full throttle. Steady: settled and averaged."
READINGS = Table("Readings", "One row per reading, as the bench showed it.", spare=10)
NO_SPARE = -READINGS.spare
"""Of a table with a row for each row of Readings: none for those that are spare, until results are written again."""

run = READINGS.number("run", "Run", "", (0, 999_999), "Number of the run, in the order of the bench.", kind="whole")
prop = READINGS.text("prop", "Prop", "The propeller's name, written alike in all its readings.", required=True)
diameter = READINGS.number(
    "diameter",
    "Diameter",
    "in",
    (0.5, 40),
    "Propeller diameter; blank: taken from the name.",
    "D",
    without="no disk loading, overall static efficiency, coefficients or tip speed",
)
pitch = READINGS.number(
    "pitch",
    "Pitch",
    "in",
    (0, 40),
    "Propeller pitch; blank: taken from the name.",
    "p",
    without="the current in flight is taken as the static one, and it may rise",
)
blades = READINGS.number("blades", "Blades", "", (1, 12), "Number of blades.", kind="whole")
cells = READINGS.number("cells", "Cells", "", (1, 14), "Lithium cells in series.", kind="whole", required=True)
throttle = READINGS.number("throttle", "Throttle", "%", (0, 100), "Blank means full throttle.")
kind = READINGS.choice(
    "kind", "Kind", KINDS, f"{KIND_IN_SHORT} Blank: as Bench says of all, and steady below full throttle."
)
voltage = READINGS.number("voltage", "Voltage", "V", (0, 100), "While the thrust was read.", "V", required=True)
current = READINGS.number("current", "Current", "A", (0, 500), "From pack or supply.", "I", required=True)
thrust = READINGS.number("thrust", "Thrust", "g", (0, 50_000), "Static thrust.", "T", required=True)
speed = READINGS.number("speed", "Speed", "rpm", (0, 150_000), "Of the propeller; may stay blank.", "n")
torque = READINGS.number("torque", "Torque", "N·m", (0, 50), "May stay blank.", "Q", decimals=4)
motor_temperature = READINGS.number("motor_temperature", "Motor temperature", "°C", (-30, 250), "May stay blank.")
use = READINGS.choice(
    "use",
    "Use",
    (COUNT, LEAVE_OUT),
    "Blank: judged, and left out where a check finds it impossible; “yes”: counts whatever the checks say; “no”: left "
    "out.",
)
note = READINGS.text("note", "Note", "Anything worth keeping.")

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
thrust_newton = READINGS.column("thrust_newton", "Thrust force", "N", symbol="F", decimals=3).derive(
    thrust * GRAM_FORCE, "Thrust as a force.", SI_BROCHURE
)
thrust_to_mass = READINGS.column("thrust_to_mass", "Thrust per motor mass", "g/g", symbol="e_m").derive(
    thrust / trimmed_mass, "With the motor's leads trimmed.", _by_definition
)
power_to_mass = READINGS.column("power_to_mass", "Power per motor mass", "W/g", symbol="p_m", decimals=2).derive(
    power / trimmed_mass, "With the motor's leads trimmed.", _by_definition
)
thrust_to_volume = READINGS.column("thrust_to_volume", "Thrust per stator volume", "g/cm³", symbol="e_V").derive(
    thrust / stator_volume, "Only where the size is that of the stator.", _by_definition
)
cell_voltage = READINGS.column("cell_voltage", "Voltage per cell", "V", symbol="V_c").derive(
    voltage / cells, "Under load.", _by_definition
)
disk_loading = READINGS.column("disk_loading", "Disk loading", "N/m²", symbol="w_d").derive(
    thrust_newton / ((math.pi / 4 * INCH**2) * diameter**2), "Thrust over the propeller's disk.", _by_definition
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


def readable(reading: Column) -> Node:
    """Return 1 where a reading is a number that a bench could show, 0 where not.

    A digit slipped by one place is still read, and judged; a date typed into a cell of amps is not.
    """
    limits = READINGS.fields[reading.name]
    inside = (reading >= float(limits.low or 0)) & (reading <= SLIPPED * float(limits.high or 0))
    return reading.present().where(flag(inside), 0.0)


complete = READINGS.helper("complete", "Reading complete").derive(
    prop.present().where(readable(voltage) * readable(current) * readable(thrust), 0.0),
    "1 where propeller, voltage, current and thrust can be read.",
)
used = READINGS.helper("used", "Reading judged").derive(
    complete.equals(1).where(use.equals(LEAVE_OUT).where(0.0, 1.0), 0.0),
    "1 where the reading is complete and Use is not “no”.",
)
kind_taken = READINGS.helper("kind_taken", "Kind taken").derive(
    prop.present().where(
        kind.otherwise((throttle.otherwise(100.0) >= full_throttle_from).where(readings_are.otherwise(PEAK), STEADY)),
        "",
    ),
    "As typed; else below full throttle steady, and at full throttle what Bench says of all readings, else peak, "
    "which promises least of what is held.",
)
GOES_BY = {kind_taken: kind}
"""What other sheets show in a typed column's place, under its label."""
row_number = READINGS.helper("row_number", "Row").derive(Aggregate("row", (run,)), "Place in the table, from 1.")


def propeller_key(name: Node) -> Node:
    """Return a propeller's name as it is compared: without capitals and spare spaces."""
    return call("lower", call("trim", name))


prop_key = READINGS.helper("prop_key", "Propeller key").derive(
    propeller_key(prop), "The propeller's name without capitals and spare spaces."
)
group_key = READINGS.helper("group_key", "Group key").derive(
    (prop.present() & cells.present()).where(say("{}|{:.0f}", prop_key, cells), ""),
    "Propeller and cell count in one text, of every reading: one that is left out still names its group.",
)
group = READINGS.helper("group", "Group").derive(
    group_key.present().where(group_key.position(group_key)), "First row with the same propeller and cell count."
)
group_first = READINGS.helper("group_first", "First of group").derive(
    group.equals(row_number).where(group), "Set in the first row of a group."
)
full_kind = READINGS.helper("full_kind", "Kind at full throttle").derive(
    complete.equals(1).where(
        (throttle.otherwise(100.0) >= full_throttle_from).where(kind_taken.equals(PEAK).where(AT_PEAK, AT_STEADY), 0.0),
        0.0,
    ),
    "1 for peak and 2 for steady at full throttle, 0 for all other rows, whether the row counts or not.",
)


def used_flag(condition: Node) -> Node:
    """Turn a condition into 1 or 0 for used rows, 0 for others."""
    return used.equals(1).where(flag(condition), 0.0)


READINGS.keep(
    run,
    prop,
    prop_key,
    diameter,
    pitch,
    blades,
    cells,
    throttle,
    voltage,
    current,
    power,
    thrust,
    speed,
    kind=kind_taken,
)
