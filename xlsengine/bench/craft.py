"""The craft the advice is for: optional, except that the way of flying decides what is advised."""

from __future__ import annotations

from xlsengine.bench.declare import Field, Form

BURSTS = "forward flight with short full throttle"
HELD = "full throttle held"
HOVER = "hover / 3D / ducted"

CRAFT = Form("Craft", "What the motor is meant for; leave blank what is not known.")
way_of_flying = CRAFT.input(
    Field("way_of_flying", "Way of flying", "", "Decides which ESC question is answered first; blank: the one for full "
          "throttle held.", kind="choice", choices=(BURSTS, HELD, HOVER))
)  # fmt: skip
all_up_mass = CRAFT.input(Field("all_up_mass", "All-up mass", "g", "Ready to fly.", low=5, high=100000))
motor_count = CRAFT.input(
    Field("motor_count", "Number of motors", "", "That lift or pull together.", kind="whole", low=1, high=16)
)
pack_cells = CRAFT.input(
    Field("pack_cells", "Pack cells in series", "", "Only rows with this cell count decide the advice; blank: all do.",
          kind="whole", low=1, high=14)
)  # fmt: skip
pack_capacity = CRAFT.input(Field("pack_capacity", "Pack capacity", "mAh", "Of the craft's pack.", low=50, high=100000))
craft_propeller = CRAFT.input(
    Field("craft_propeller", "Propeller", "", "As named on Readings; only its rows decide the advice; blank: all do.",
          kind="text")
)  # fmt: skip
airspeed = CRAFT.input(Field("airspeed", "Airspeed", "m/s", "Fast level flight.", low=0, high=120))
