"""The motors of the class, one row each: mass, Kv against its label and price; this motor's own row is live."""

from __future__ import annotations

from xlsengine.bench.advice.statements import motor_title
from xlsengine.bench.declaring.declare import Field, FieldKind, Figures, Table
from xlsengine.bench.groups.repeatability import repeats as repeats_read
from xlsengine.bench.inputs import motor as m
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.bench.uncertainty.motor_uncertainty import best_kv_expanded, trimmed_mass_expanded
from xlsengine.expression import Column, Condition, Constant, Node, join
from xlsengine.sources import definition, worked_out

CLASS_MOTORS = Table("ClassMotors", "This motor, live, and its peers as they were kept: mass, Kv and price.")
MASSES = Figures("Mass within the class", "How this motor's mass stands among its peers.")
_KEPT = definition("as kept in the library when this workbook was written")
_ONE = Constant(1.0)


def _typed(name: str, label: str, unit: str = "", decimals: int = 0, text: bool = False) -> Column:
    kind: FieldKind = "text" if text else "number"
    said = (f"class_kept_{name}", f"Kept: {label}", unit, "Typed once.", kind)
    return CLASS_MOTORS.write_once(Field(*said, decimals=decimals, helper=True, source=_KEPT))


own = _typed("own", "1 this motor, 0 a peer")
_is_own = own.equals(1)


def taken(name: str, label: str, unit: str, shown: int, live: Node, helper: bool = False) -> Column:
    """Add a figure: of this motor live, of the others as kept."""
    kept = _typed(name, label, unit, shown, live.is_text)
    return CLASS_MOTORS.column(f"class_{name}", label, unit, decimals=shown, helper=helper).derive(
        _is_own.where(live, kept), "Of a peer, as it was kept; of this motor, live."
    )


name = taken("name", "Motor", "", 0, motor_title)
test = taken("test", "Test id", "", 0, join(m.test_id))
stand = taken("stand", "Tester", "", 0, join(m.tester))
mass_full = taken("mass_full", "Mass as supplied", "g", 1, m.mass_as_supplied)
mass = taken("mass", "Trimmed mass", "g", 1, m.trimmed_mass)
mass_margin = taken("mass_margin", "Trimmed mass, ±", "g", 1, trimmed_mass_expanded)
label_kv = taken("label_kv", "Labelled Kv", "rpm/V", 0, m.label_kv)
kv = taken("kv", "Kv measured", "rpm/V", 0, best_kv)
kv_margin = taken("kv_expanded", "Kv measured, ±", "rpm/V", 0, best_kv_expanded)
kv_off = CLASS_MOTORS.column("class_kv_off", "Kv against its label", "%").derive(
    (kv / label_kv - 1) * 100, "Measured over labelled.", definition("measured over labelled Kv")
)
price = taken("price", "Price", "", 2, m.price)
repeats = taken("repeats", "Repeats", "", 0, repeats_read, helper=True)
repeats_known = CLASS_MOTORS.helper("class_repeats_known", "Repeats, 0 where none").derive(
    repeats.otherwise(0.0), "Never blank."
)
_lightness = CLASS_MOTORS.helper("class_lightness", "1 over mass", decimals=5).derive(
    (1 / mass).otherwise(0.0), "0: not known."
)
_margin_taken = CLASS_MOTORS.helper("class_mass_margin_taken", "± of the mass, 0 where none", "g", decimals=2).derive(
    mass_margin.otherwise(0.0), "Never blank."
)
_mass_known = (Condition(_lightness, ">", Constant(0.0)),)


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
above_lightest = MASSES.figure("class_above", "This motor above the lightest", "g", decimals=1).derive(
    m.trimmed_mass - lightest, "Difference."
)
mass_over = CLASS_MOTORS.column("class_mass_over", "Above the lightest", "g", decimals=1).derive(
    mass - lightest, "0 for the lightest."
)
