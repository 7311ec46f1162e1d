"""The motors of the class, one row each: mass, Kv against its label and price; this motor's own row is live."""

from __future__ import annotations

from xlsengine.bench import motor as m
from xlsengine.bench.declare import Field, FieldKind, Figures, Quantity, Table
from xlsengine.bench.motor_model import best_kv
from xlsengine.bench.motor_uncertainty import best_kv_expanded, trimmed_mass_expanded
from xlsengine.bench.repeatability import repeats as repeats_read
from xlsengine.bench.statements import motor_title
from xlsengine.expression import Aggregate, Column, Condition, Constant, Named, Node, join
from xlsengine.sources import Source, definition, worked_out

CLASS_MOTORS = Table("ClassMotors", "This motor, live, and its peers as they were kept: mass, Kv and price.")
MASSES = Figures("Mass within the class", "How this motor's mass stands among its peers.")
_KEPT = definition("as kept in the library when this workbook was written")
_ONE = Constant(1.0)


def _typed(name: str, label: str, unit: str = "", decimals: int = 0, text: bool = False) -> Column:
    kind: FieldKind = "text" if text else "number"
    return CLASS_MOTORS.write_once(
        Field(f"class_kept_{name}", f"Kept: {label}", unit, "Typed once.", kind, decimals=decimals, helper=True,
              source=_KEPT)
    )  # fmt: skip


def derive(name: str, label: str, unit: str, shown: int, expression: Node, meaning: str, source: Source | None = None,
            helper: bool = False) -> Column:  # fmt: skip
    """Add a live column."""
    return CLASS_MOTORS.derive(
        Quantity(f"class_{name}", label, expression, meaning, source or definition(), "", unit, shown, helper)
    )


own = _typed("own", "1 this motor, 0 a peer")
_is_own = own.equals(1)


def taken(name: str, label: str, unit: str, shown: int, live: Node, helper: bool = False) -> Column:
    """Add a figure: of this motor live, of the others as kept."""
    kept = _typed(name, label, unit, shown, live.is_text)
    return derive(
        name, label, unit, shown, _is_own.where(live, kept), "Of a peer, as it was kept; of this motor, live.",
        helper=helper,
    )  # fmt: skip


name = taken("name", "Motor", "", 0, motor_title)
test = taken("test", "Test id", "", 0, join(m.test_id))
stand = taken("stand", "Tester", "", 0, join(m.tester))
mass_full = taken("mass_full", "Mass as supplied", "g", 1, m.mass_as_supplied)
mass = taken("mass", "Trimmed mass", "g", 1, m.trimmed_mass)
mass_margin = taken("mass_margin", "Trimmed mass, ±", "g", 1, trimmed_mass_expanded)
label_kv = taken("label_kv", "Labelled Kv", "rpm/V", 0, m.label_kv)
kv = taken("kv", "Kv measured", "rpm/V", 0, best_kv)
kv_margin = taken("kv_expanded", "Kv measured, ±", "rpm/V", 0, best_kv_expanded)
kv_off = derive(
    "kv_off", "Kv against its label", "%", 1, (kv / label_kv - 1) * 100,
    "Measured over labelled.", definition("measured over labelled Kv"),
)  # fmt: skip
price = taken("price", "Price", "", 2, m.price)
repeats = taken("repeats", "Repeats", "", 0, repeats_read, helper=True)
repeats_known = derive(
    "repeats_known", "Repeats, 0 where none", "", 0, repeats.otherwise(0.0), "Never blank.", helper=True
)
_lightness = derive("lightness", "1 over mass", "", 5, (1 / mass).otherwise(0.0), "0: not known.", helper=True)
_margin_taken = derive(
    "mass_margin_taken", "± of the mass, 0 where none", "g", 2, mass_margin.otherwise(0.0), "Never blank.", helper=True
)
_mass_known = (Condition(_lightness, ">", Constant(0.0)),)


def _figure(name: str, label: str, unit: str, shown: int, expression: Node, meaning: str,
            source: Source | None = None) -> Named:  # fmt: skip
    return MASSES.derive(Quantity(name, label, expression, meaning, source or definition(), "", unit, shown))


motors_weighed = _figure(
    "class_weighed", "Motors with a mass", "", 0, Aggregate("count", (own,), _mass_known), "This one too."
)
lightest = _figure(
    "class_lightest", "The lightest", "g", 1, 1 / Aggregate("largest", (_lightness,), (), _ONE), "Of all."
)
mass_band = _figure(
    "class_mass_band", "Smallest difference of mass that counts", "g", 1,
    Aggregate("largest", (_margin_taken,), (), _ONE) * 2**0.5,
    "√2 times the largest ± of a mass: by scale, or by the leads' gauge and length.", worked_out("root of two squares"),
)  # fmt: skip
lighter = _figure(
    "class_lighter", "Motors that are lighter", "", 0,
    Aggregate("count", (own,), (Condition(_lightness, ">", 1 / (m.trimmed_mass - mass_band)),)),
    "By more than that difference.",
)  # fmt: skip
above_lightest = _figure(
    "class_above", "This motor above the lightest", "g", 1, m.trimmed_mass - lightest, "Difference."
)
mass_over = derive("mass_over", "Above the lightest", "g", 1, mass - lightest, "0 for the lightest.", helper=False)
