"""The craft the advice is for: optional, except that the way of flying decides what is advised."""

from xlsengine.bench.declaring.declare import Form
from xlsengine.expression import Node

BURSTS = "forward flight with short full throttle"
HELD = "full throttle held"
HOVER = "hover / 3D / ducted"

CRAFT = Form("Craft", "What the motor is meant for; leave blank what is not known.")
way_of_flying = CRAFT.choice(
    "way_of_flying",
    "Type of flying",
    (BURSTS, HELD, HOVER),
    "Decides whether the ESC advice is for held full throttle or for short bursts; blank: held, the safer one.",
)
all_up_mass = CRAFT.number("all_up_mass", "All-up mass", "g", (5, 100000), "Ready to fly.")
motor_count = CRAFT.number("motor_count", "Number of motors", "", (1, 16), "Number of driven propellers.", kind="whole")
pack_cells = CRAFT.number(
    "pack_cells",
    "Pack cells in series",
    "",
    (1, 14),
    "Only readings with this cell count decide the advice; blank: all do.",
    kind="whole",
)
pack_capacity = CRAFT.number("pack_capacity", "Pack capacity", "mAh", (50, 100000), "Of the craft's pack.")
craft_propeller = CRAFT.text(
    "craft_propeller", "Propeller", "As named on Readings; only its readings decide the advice; blank: all do."
)
airspeed = CRAFT.number("airspeed", "Airspeed", "m/s", (0, 120), "Fast level flight.")

LEAST_ROTORS = 3
on_rotors: Node = way_of_flying.equals(HOVER) | (motor_count.otherwise(1.0) >= LEAST_ROTORS)
"""Whether it hovers: a craft of one or two motors flies on a wing unless its type of flying says hover (common practice,
no source)."""
