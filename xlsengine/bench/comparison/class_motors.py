"""The motors of the class, one row each: mass, Kv against its label and price; this motor's own row is live."""

from xlsengine.bench.advice.statements import motor_title
from xlsengine.bench.comparison.own_and_peers import OwnAndPeers
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups.repeatability import repeats as repeats_read
from xlsengine.bench.inputs import motor as m
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.bench.uncertainty.motor_uncertainty import best_kv_expanded, trimmed_mass_expanded
from xlsengine.expression import Condition, Constant, join
from xlsengine.sources import definition, worked_out

CLASS_MOTORS = OwnAndPeers(
    "ClassMotors", "This motor, live, and its peers as they were kept: mass, Kv and price.", prefix="class_"
)
MASSES = Figures("Mass within the class", "How this motor's mass stands among its peers.")
_ONE = Constant(1.0)


own = CLASS_MOTORS.kept("own", "1 this motor, 0 a peer")
name = CLASS_MOTORS.taken("name", "Motor", motor_title)
test = CLASS_MOTORS.taken("test", "Test id", join(m.test_id))
stand = CLASS_MOTORS.taken("stand", "Tester", join(m.tester))
mass_full = CLASS_MOTORS.taken("mass_full", "Mass as supplied", m.mass_as_supplied, "g", 1)
mass = CLASS_MOTORS.taken("mass", "Trimmed mass", m.trimmed_mass, "g", 1)
mass_margin = CLASS_MOTORS.taken("mass_margin", "Trimmed mass, ±", trimmed_mass_expanded, "g", 1)
label_kv = CLASS_MOTORS.taken("label_kv", "Labelled Kv", m.label_kv, "rpm/V")
kv = CLASS_MOTORS.taken("kv", "Kv measured", best_kv, "rpm/V")
kv_margin = CLASS_MOTORS.taken("kv_expanded", "Kv measured, ±", best_kv_expanded, "rpm/V")
kv_off = CLASS_MOTORS.column("kv_off", "Kv against its label", "%").derive(
    (kv / label_kv - 1) * 100, "Measured over labelled.", definition("measured over labelled Kv")
)
price = CLASS_MOTORS.taken("price", "Price", m.price, decimals=2)
repeats = CLASS_MOTORS.taken("repeats", "Repeats", repeats_read, helper=True)
repeats_known = CLASS_MOTORS.helper("repeats_known", "Repeats, 0 where none").derive(
    repeats.otherwise(0.0), "Never blank."
)
_lightness = CLASS_MOTORS.helper("lightness", "1 over mass", decimals=5).derive(
    (1 / mass).otherwise(0.0), "0: not known."
)
_margin_taken = CLASS_MOTORS.helper("mass_margin_taken", "± of the mass, 0 where none", "g", decimals=2).derive(
    mass_margin.otherwise(0.0), "Never blank."
)
_mass_known = (Condition(_lightness, ">", Constant(0.0)),)


_SAME = 1 - 1e-9
motors_weighed = MASSES.figure("class_weighed", "Motors with a mass").derive(own.count(*_mass_known), "This one too.")
lightest = MASSES.figure("class_lightest", "The lightest", "g", decimals=1).derive(
    1 / _lightness.largest(place=_ONE), "Of all."
)
mass_band = MASSES.figure("class_mass_band", "Smallest difference of mass that counts", "g", decimals=1).derive(
    _margin_taken.largest(place=_ONE) * 2**0.5,
    "√2 times the largest ± of a mass: by scale, or by the leads' gauge and length.",
    worked_out("root of two squares"),
)
lighter = MASSES.figure("class_lighter", "Motors that are lighter").derive(
    own.count(Condition(_lightness, ">", 1 / (m.trimmed_mass - mass_band))), "By more than that difference."
)
as_light = MASSES.figure("class_as_light", "Motors as light or lighter").derive(
    own.count(Condition(_lightness, ">=", _SAME / (m.trimmed_mass + mass_band))),
    "Within that difference; this one too.",
)
above_lightest = MASSES.figure("class_above", "This motor above the lightest", "g", decimals=1).derive(
    m.trimmed_mass - lightest, "Difference."
)
mass_over = CLASS_MOTORS.column("mass_over", "Above the lightest", "g", decimals=1).derive(
    mass - lightest, "0 for the lightest."
)
