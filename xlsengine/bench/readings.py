"""The table of readings: what is typed in, row by row, and what each row gives."""

from __future__ import annotations

import math

from xlsengine.bench.conditions import KINDS, air_density, readings_are, sound_speed
from xlsengine.bench.declare import Field, Quantity, Table
from xlsengine.bench.motor import label_kv, poles, stator_volume, trimmed_mass
from xlsengine.bench.settings import full_throttle_from
from xlsengine.expression import BLANK, Aggregate, Column, Node, call, flag, join
from xlsengine.sources import MOMENTUM_THEORY, SI_BROCHURE, Source, definition
from xlsengine.units import GRAM_FORCE, INCH

PEAK, STEADY = KINDS
COUNT, LEAVE_OUT = "yes", "no"
AT_PEAK, AT_STEADY = 1.0, 2.0
SLIPPED = 10.0
KIND_IN_SHORT = "Peak: the first second at full throttle. Steady: settled and averaged."
READINGS = Table("Readings", "One row a reading, as the bench showed it.", spare=10)


def _read(
    name: str, label: str, unit: str, limits: tuple[float, float], meaning: str, symbol: str = "", **more: object
) -> Column:
    low, high = limits
    return READINGS.input(Field(name, label, unit, meaning, low=low, high=high, symbol=symbol, **more))  # type: ignore[arg-type]


run = _read("run", "Run", "", (0, 999_999), "Number of the run, in the order of the bench.", kind="whole")
prop = READINGS.input(
    Field("prop", "Prop", "", "The propeller's name, written alike in all its rows.", kind="text", required=True)
)
diameter = _read(
    "diameter",
    "Diameter",
    "in",
    (0.5, 40),
    "Propeller diameter; blank: taken from the name.",
    "D",
    without="no disk loading, overall static efficiency, coefficients or tip speed",
)
pitch = _read(
    "pitch",
    "Pitch",
    "in",
    (0, 40),
    "Propeller pitch; blank: taken from the name.",
    "p",
    without="the current in flight is taken as the static one, and it may rise",
)
blades = _read("blades", "Blades", "", (1, 12), "Number of blades.", kind="whole")
cells = _read("cells", "Cells", "", (1, 14), "Lithium cells in series.", kind="whole", required=True)
throttle = _read("throttle", "Throttle", "%", (0, 100), "Blank means full throttle.")
kind = READINGS.input(
    Field("kind", "Kind", "", f"{KIND_IN_SHORT} Blank: as Bench says of all, and steady below full throttle.",
          kind="choice", choices=KINDS)
)  # fmt: skip
voltage = _read("voltage", "Voltage", "V", (0, 100), "While the thrust was read.", "V", required=True)
current = _read("current", "Current", "A", (0, 500), "From pack or supply.", "I", required=True)
thrust = _read("thrust", "Thrust", "g", (0, 50_000), "Static thrust.", "T", required=True)
speed = _read("speed", "Speed", "rpm", (0, 150_000), "Of the propeller; may stay blank.", "n")
torque = _read("torque", "Torque", "N·m", (0, 50), "May stay blank.", "Q", decimals=4)
motor_temperature = _read("motor_temperature", "Motor temperature", "°C", (-30, 250), "May stay blank.")
use = READINGS.input(
    Field("use", "Use", "", "Blank: judged, and left out where a check finds it impossible; “yes”: counts whatever the "
          "checks say; “no”: left out.", kind="choice", choices=(COUNT, LEAVE_OUT))
)  # fmt: skip
note = READINGS.input(Field("note", "Note", "", "Anything worth keeping.", kind="text"))


def _derive(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str, source: Source
) -> Column:
    return READINGS.derive(Quantity(name, label, expression, meaning, source, symbol, unit, shown))


def _help(name: str, label: str, expression: Node, meaning: str) -> Column:
    return READINGS.derive(Quantity(name, label, expression, meaning, definition(), shown=0, helper=True))


_by_definition = definition("product or ratio of readings of the same row")

power = _derive("power", "Power", "P", "W", 1, voltage * current, "Electrical power.", _by_definition)
grams_per_watt = _derive(
    "grams_per_watt", "Thrust per power", "e_P", "g/W", 2, thrust / power, "Efficiency as builders speak of it.",
    _by_definition,
)  # fmt: skip
grams_per_amp = _derive(
    "grams_per_amp", "Thrust per current", "e_I", "g/A", 2, thrust / current,
    "Nearly the same at every cell count for one propeller at full throttle.", _by_definition,
)  # fmt: skip
thrust_newton = _derive(
    "thrust_newton", "Thrust force", "F", "N", 3, thrust * GRAM_FORCE, "Thrust as a force.", SI_BROCHURE
)
thrust_to_mass = _derive(
    "thrust_to_mass", "Thrust to motor mass", "e_m", "g/g", 1, thrust / trimmed_mass,
    "With the motor's leads trimmed.", _by_definition,
)  # fmt: skip
power_to_mass = _derive(
    "power_to_mass", "Power per motor mass", "p_m", "W/g", 2, power / trimmed_mass, "With the motor's leads trimmed.",
    _by_definition,
)  # fmt: skip
thrust_to_volume = _derive(
    "thrust_to_volume", "Thrust per stator volume", "e_V", "g/cm³", 0, thrust / stator_volume,
    "Only where the size is that of the stator.", _by_definition,
)  # fmt: skip
cell_voltage = _derive(
    "cell_voltage", "Voltage per cell", "V_c", "V", 2, voltage / cells, "Under load.", _by_definition
)
disk_loading = _derive(
    "disk_loading", "Disk loading", "w_d", "N/m²", 0, thrust_newton / ((math.pi / 4 * INCH**2) * diameter**2),
    "Thrust over the propeller's disk.", _by_definition,
)  # fmt: skip
hover_efficiency = _derive(
    "hover_efficiency", "Hover efficiency", "η_h", "", 3,
    thrust_newton * (disk_loading / (2 * air_density)).sqrt() / power,
    "Ideal power of the disk over electrical power: propeller, motor and ESC together.", MOMENTUM_THEORY,
)  # fmt: skip
pitch_ratio = _derive(
    "pitch_ratio", "Pitch over diameter", "λ", "", 2, pitch / diameter, "Geometry only.", _by_definition
)
speed_ratio = _derive(
    "speed_ratio", "Speed over Kv times volts", "x", "", 3, speed / (label_kv * voltage),
    "With the labelled Kv; a loaded motor at full throttle runs at 0.60 to 0.85.", _by_definition,
)  # fmt: skip
electrical_speed = _derive(
    "electrical_speed", "Electrical speed", "n_el", "rpm", 0, speed * poles / 2, "What the ESC must keep up with.",
    definition("mechanical speed times pole pairs"),
)  # fmt: skip
tip_mach = _derive(
    "tip_mach", "Tip Mach number", "Ma", "", 2,
    math.pi * INCH / 60 * diameter * speed / sound_speed, "Blade tip speed over the speed of sound.", _by_definition,
)  # fmt: skip


def readable(reading: Column) -> Node:
    """Return 1 where a reading is a number that a bench could show, 0 where not.

    A digit slipped by one place is still read, and judged; a date typed into a cell of amps is not.
    """
    limits = READINGS.fields[reading.name]
    inside = (reading >= float(limits.low or 0)) & (reading <= SLIPPED * float(limits.high or 0))
    return reading.present().where(flag(inside), 0.0)


complete = _help(
    "complete", "Reading complete",
    prop.present().where(readable(voltage) * readable(current) * readable(thrust), 0.0),
    "1 where propeller, voltage, current and thrust can be read.",
)  # fmt: skip
used = _help(
    "used", "Reading judged", complete.equals(1).where(use.equals(LEAVE_OUT).where(0.0, 1.0), 0.0),
    "1 where the reading is complete and Use is not “no”.",
)  # fmt: skip
kind_taken = _help(
    "kind_taken", "Kind taken",
    prop.present().where(
        kind.otherwise(
            (throttle.otherwise(100.0) >= full_throttle_from).where(readings_are.otherwise(PEAK), STEADY)
        ),
        "",
    ),
    "As typed; else below full throttle steady, and at full throttle what Bench says of all readings, else peak, which "
    "promises least of what is held.",
)  # fmt: skip
GOES_BY = {kind_taken: kind}
"""What other sheets show in a typed column's place, under its label."""
row_number = _help("row_number", "Row", Aggregate("row", (run,)), "Place in the table, from 1.")


def propeller_key(name: Node) -> Node:
    """Return a propeller's name as it is compared: without capitals and spare spaces."""
    return call("lower", call("trim", name))


prop_key = _help(
    "prop_key", "Propeller key", propeller_key(prop), "The propeller's name without capitals and spare spaces."
)
group_key = _help(
    "group_key", "Group key", (prop.present() & cells.present()).where(join(prop_key, "|", cells.fixed(0)), ""),
    "Propeller and cell count in one text, of every reading: one that is left out still names its group.",
)  # fmt: skip
group = _help(
    "group", "Group", group_key.present().where(Aggregate("text position", (group_key,), (), group_key), BLANK),
    "First row with the same propeller and cell count.",
)  # fmt: skip
group_first = _help(
    "group_first", "First of group", group.equals(row_number).where(group, BLANK), "Set in the first row of a group."
)
full_kind = _help(
    "full_kind", "Kind at full throttle",
    complete.equals(1).where(
        (throttle.otherwise(100.0) >= full_throttle_from).where(
            kind_taken.equals(PEAK).where(AT_PEAK, AT_STEADY), 0.0
        ),
        0.0,
    ),
    "1 for peak and 2 for steady at full throttle, 0 for all other rows, whether the row counts or not.",
)  # fmt: skip


def used_flag(condition: Node) -> Node:
    """Turn a condition into 1 or 0 for used rows, 0 for others."""
    return used.equals(1).where(flag(condition), 0.0)


READINGS.keep(run, prop, prop_key, diameter, pitch, blades, cells, throttle, voltage, current, power, thrust, speed,
              kind=kind_taken)  # fmt: skip
