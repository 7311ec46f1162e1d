"""The motors of the class, the scatter to judge differences by, and the propellers and cell counts in common.

Figures of the peers are typed once, as they were kept; this motor's own row is live.
"""

from typing import NamedTuple

from xlsengine.bench.advice.statements import motor_title
from xlsengine.bench.declaring.declare import Field, FieldKind, Figures, Table
from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import motor as m
from xlsengine.bench.inputs.settings import default_freedom, default_scatter, least_repeats
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.bench.propagation.terms import sum_of_squares
from xlsengine.bench.uncertainty import group_uncertainty as u
from xlsengine.bench.uncertainty.motor_uncertainty import best_kv_expanded, trimmed_mass_expanded
from xlsengine.expression import Column, Condition, Constant, Named, Node, join, say
from xlsengine.sources import GUM_REPEATS, definition


class OwnAndPeers(Table):
    """A table of motors; its first column tells this motor's own row from those of its peers."""

    def kept(self, name: str, label: str, unit: str = "", decimals: int = 0, text: bool = False) -> Column:
        """Add a figure of the peers, as the library keeps it."""
        kind: FieldKind = "text" if text else "number"
        return self.write_once(Field(f"kept_{name}", f"Kept: {label}", unit, kind=kind, decimals=decimals, helper=True))

    def taken(
        self, name: str, label: str, live: Node, unit: str = "", decimals: int = 0, helper: bool = False
    ) -> Column:
        """Add a figure: of this motor `live`, of the others as kept."""
        kept = self.kept(name, label, unit, decimals, live.is_text)
        return self.column(name, label, unit, decimals=decimals, helper=helper).derive(
            self.is_own.where(live, kept), "Of a peer, as it was kept; of this motor, live."
        )

    @property
    def is_own(self) -> Node:
        """Tell, in a row, whether it is this motor's."""
        return Column(self.name, "kept_own").equals(1)


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
CLASS_MOTORS.taken("kv_expanded", "Kv measured, ±", best_kv_expanded, "rpm/V")
kv_off = CLASS_MOTORS.column("kv_off", "Kv against its label", "%").derive(
    (kv / label_kv - 1) * 100, "Measured over labelled.", definition("measured over labelled Kv")
)
price = CLASS_MOTORS.taken("price", "Price", m.price, decimals=2)
repeats = CLASS_MOTORS.taken("repeats", "Repeats", p.repeats, helper=True)
repeats_known = CLASS_MOTORS.helper("repeats_known", "Repeats, 0 where none").derive(repeats.otherwise(0.0))
_lightness = CLASS_MOTORS.helper("lightness", "1 over mass", decimals=5).derive((1 / mass).otherwise(0.0))
_margin_taken = CLASS_MOTORS.helper("mass_margin_taken", "± of the mass, 0 where none", "g", decimals=2).derive(
    mass_margin.otherwise(0.0)
)
_mass_known = (Condition(_lightness, ">", Constant(0.0)),)


_SAME = 1 - 1e-9
motors_weighed = MASSES.figure("class_weighed", "Motors with a mass").derive(own.count(*_mass_known))
lightest = MASSES.figure("class_lightest", "The lightest", "g", decimals=1).derive(1 / _lightness.largest(place=_ONE))
mass_band = MASSES.figure("class_mass_band", "Smallest difference of mass that counts", "g", decimals=1).derive(
    _margin_taken.largest(place=_ONE) * 2**0.5,
    "√2 times the largest ± of a mass: by scale, or by the leads' gauge and length.",
)
as_light = MASSES.figure("class_as_light", "Motors as light or lighter").derive(
    own.count(Condition(_lightness, ">=", _SAME / (m.trimmed_mass + mass_band)))
)
above_lightest = MASSES.figure("class_above", "This motor above the lightest", "g", decimals=1).derive(
    m.trimmed_mass - lightest
)
mass_over = CLASS_MOTORS.column("mass_over", "Above the lightest", "g", decimals=1).derive(
    mass - lightest, "0 for the lightest."
)

# --- the scatter of one reading, pooled over the repeats of all motors on this stand -----------------------------

CLASS_SCATTER = Figures(
    "Scatter within the class",
    "Standard deviation of one reading, pooled over the repeats of all motors on this stand.",
)
_this_stand = stand.equals(join(m.tester))


class Scatter(NamedTuple):
    """A standard deviation of one reading in percent, and its degrees of freedom."""

    value: Named
    freedom: Named


def _pooled(name: str, title: str, own: Node) -> Scatter:
    """Pool one figure's scatter; `own` is this motor's."""
    scatter = CLASS_MOTORS.taken(f"{name}_scatter", f"{title}: scatter of one reading", own, "%", 2, helper=True)
    counted = CLASS_MOTORS.helper(f"{name}_freedom", f"{title}: repeats counted").derive(
        scatter.present().where(_this_stand.where(repeats.otherwise(0.0), 0.0), 0.0)
    )
    squares = CLASS_MOTORS.helper(f"{name}_squares", f"{title}: squares of the repeats", decimals=2).derive(
        (counted * scatter**2).otherwise(0.0)
    )
    total = counted.sum()
    enough = total >= least_repeats
    found = (squares.sum() / total).sqrt()
    return Scatter(
        CLASS_SCATTER.figure(f"class_{name}_scatter", f"{title}: scatter of one reading", "%", decimals=2).derive(
            enough.where(found, default_scatter),
            "Pooled over the motors, each with its repeats; the one on Settings until there are enough.",
            GUM_REPEATS,
        ),
        CLASS_SCATTER.figure(f"class_{name}_freedom", f"{title}: degrees of freedom of that").derive(
            enough.where(total, default_freedom), source=GUM_REPEATS
        ),
    )


_thrust = _pooled("thrust", "Thrust", p.thrust_scatter)
_efficiency = _pooled("efficiency", "g/W", sum_of_squares([p.thrust_scatter, p.current_scatter]).sqrt())
"""Of thrust and of current together, as if they scattered apart; as they go up together, this is rather too much."""
SCATTERS = {"thrust": _thrust, "efficiency": _efficiency, "at_thrust": _efficiency}
scatter_told = CLASS_SCATTER.figure("class_scatter_told", "What noise rests on", decimals=2).derive(
    say(
        "Scatter of one reading: thrust {:.1f} %, g/W {:.1f} % ({}",
        _thrust.value,
        _efficiency.value,
        (_thrust.freedom.equals(_efficiency.freedom) & (repeats_known.sum() >= least_repeats)).where(
            join("from ", _thrust.freedom.fixed(0), " repeats of the motors on this stand)."),
            "as on Settings, until there are enough repeats on this stand).",
        ),
    ).otherwise("")
)

# --- the propellers and cell counts that others were tested with too: this motor's own figures, live -------------

COMPARED = Table(
    "Compared",
    "One row for each propeller and cell count that motors of the class have in common with this one.",
    prefix="compared_",
)
TITLES = {"thrust": "Thrust", "efficiency": "g/W at full throttle", "at_thrust": "g/W at equal thrust"}
"""What is ranked: thrust and grams per watt at full throttle, and grams per watt at one thrust."""

label = COMPARED.write_once(Field("compared_label", "Propeller and cells", kind="text"))
at = COMPARED.write_once(Field("compared_at", "Thrust compared at", "g", decimals=0))
"""The round thrust on Settings that most of these motors were read at."""
place = COMPARED.numbered("place", "Number")
own_row = COMPARED.row = COMPARED.helper("own_row", "Summary row").derive(g.label.position(label))
own_kind, own_readings, own_voltage, own_thrust, own_power, own_current, _first = (
    COMPARED.take(column, f"own_{name}", f"This motor: {label}", helper=True)
    for name, label, column in (
        ("kind", "kind", g.full_kind),
        ("readings", "readings", g.full["count"]),
        ("voltage", "voltage", g.full["voltage"]),
        ("thrust", "thrust", g.full["thrust"]),
        ("power", "power", g.full["power"]),
        ("current", "highest current", g.static_current),
        ("first", "first reading", g.first_row),
    )
)
own_at = g.equal_thrust(COMPARED, _first, "own_at", "This motor: g/W at that thrust", at, helper=True)


OWN_EXPANDED = {
    figure: COMPARED.helper(f"{figure}_sure", f"{TITLES[figure]}: ±", "%", decimals=2).derive(
        of_group.expanded.at(own_row) / of_group.value.at(own_row) * 100
    )
    for figure, of_group in (("thrust", u.UNCERTAINTIES["thrust"]), ("efficiency", u.UNCERTAINTIES["thrust per power"]))
}
"""This motor's expanded uncertainty, in percent."""
