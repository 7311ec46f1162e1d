"""Motor and propeller pairs out of earlier tests, and what each does for the craft of a need.

The kept figures are typed numbers; all that follows from them and the need is derived live. Hovering, ESC and current in
flight are the declarations of a single test, asked of kept figures in the place of readings: there is one of each.
"""

from dataclasses import replace

from xlsengine.bench.advice import esc_needs as e
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice import suitability as s
from xlsengine.bench.advice.limits import all_holds
from xlsengine.bench.declaring.declare import Field, FieldKind, Heading, Table
from xlsengine.bench.groups import repeatability as q
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.lines import CURRENT_EXPONENT, CURRENT_EXPONENT_EXPANDED
from xlsengine.bench.groups.throttle_sweep import SCATTERS
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.propagation.accuracies import taken_current_accuracy, taken_thrust_accuracy, taken_voltage_accuracy
from xlsengine.expression import Aggregate, Column, Condition, Constant, Named, Node, replaced
from xlsengine.sources import definition

PAIRS = Table("Pairs", "One row for each motor with a propeller and cell count; the kept figures are typed numbers.")
STEPS = Table("Steps", "The sound steady readings of each pair, kept from its test.")
_KEPT = definition("kept from the test")


_HERE: dict[Node, Node] = {all_holds: Constant(1.0)}
"""What stands here for a reading, a figure or a whole expression of a test."""


def _keeps(
    table: Table,
    name: str,
    label: str,
    unit: str = "",
    decimals: int = 2,
    kind: FieldKind = "number",
    of: Node | None = None,
) -> Column:
    """Add a figure that stands in the library, and here for a figure `of` a test."""
    column = table.input(Field(name, label, unit, "As kept from the test.", kind, decimals=decimals, source=_KEPT))
    if of is not None:
        _HERE[of] = column
    return column


pair = _keeps(PAIRS, "pair", "Pair", decimals=0)
motor = _keeps(PAIRS, "motor", "Motor", kind="text")
test = _keeps(PAIRS, "test", "Test", kind="text")
prop = _keeps(PAIRS, "prop", "Propeller", kind="text")
cells = _keeps(PAIRS, "cells", "Cells", decimals=0, of=g.cells)
full_kind = _keeps(PAIRS, "full_kind", "Kind", kind="text")
diameter = _keeps(PAIRS, "diameter", "Diameter", "in")
pitch_ratio = _keeps(PAIRS, "pitch_ratio", "Pitch over diameter", of=r.pitch_ratio)
voltage = _keeps(PAIRS, "voltage", "Voltage, full throttle", "V", of=g.full["voltage"])
current = _keeps(PAIRS, "current", "Current, full throttle", "A", 1, of=g.full["current"])
thrust = _keeps(PAIRS, "thrust", "Thrust, full throttle", "g", 0, of=g.full["thrust"])
thrust_doubt = _keeps(PAIRS, "thrust_doubt", "Thrust, full throttle, ±", "g", 1)
grams_per_watt = _keeps(PAIRS, "grams_per_watt", "Thrust per power, full throttle", "g/W")
grams_per_watt_doubt = _keeps(PAIRS, "grams_per_watt_doubt", "Thrust per power, full throttle, ±", "g/W")
static_current = _keeps(PAIRS, "static_current", "Highest static current", "A", 1, of=g.static_current)
peak_current = _keeps(PAIRS, "peak_current", "Highest current, peak", "A", 1, of=g.peak["top_current"])
held_steady = _keeps(PAIRS, "held_steady", "Steady current that counts for an ESC", "A", 1, of=e.held_steady)
launch = _keeps(PAIRS, "launch", "Launch current", "A", 1, of=e.launch)
room = _keeps(PAIRS, "room", "Current with its ±, over current", "", 4, of=e.room)
motor_mass = _keeps(PAIRS, "motor_mass", "Motor mass", "g", 1)
mass_doubt = _keeps(PAIRS, "mass_doubt", "Motor mass, ±", "g", 2)
exponent = _keeps(PAIRS, "exponent", "Current as a power of thrust", of=CURRENT_EXPONENT)
exponent_doubt = _keeps(PAIRS, "exponent_doubt", "Current as a power of thrust, ±", of=CURRENT_EXPONENT_EXPANDED)
OF_THE_BENCH: dict[Named, Column] = {
    figure: _keeps(PAIRS, f"of_{figure.name}", label, unit, 3, of=figure)
    for figure, label, unit in (
        (q.repeats, "Repeats", ""),
        (q.scatter_freedom, "Scatter: degrees of freedom", ""),
        (q.thrust_scatter, "Scatter of thrust", "%"),
        (q.current_scatter, "Scatter of current", "%"),
        (q.thrust_current, "Correlation of thrust and current", ""),
        (taken_thrust_accuracy, "Accuracy of thrust, ±", "g"),
        (taken_current_accuracy, "Accuracy of current, ±", "%"),
        (taken_voltage_accuracy, "Accuracy of voltage, ±", "%"),
    )
}
"""What the ± of hovering asks of the test's bench, and where it is kept."""

step_pair = _keeps(STEPS, "step_pair", "Pair", decimals=0, of=r.group)
step_throttle = _keeps(STEPS, "step_throttle", "Throttle", "%", 0, of=r.throttle)
step_thrust = _keeps(STEPS, "step_thrust", "Thrust", "g", 0, of=g.sweep_clean)
step_current = _keeps(STEPS, "step_current", "Current", "A", of=r.current)
step_power = _keeps(STEPS, "step_power", "Power", "W", 1, of=r.power)

# --- declarations of a test, asked of kept figures ---------------------------------------------------------------


def asked_here(node: Node) -> Node:
    """Return an expression of a test that asks what `_HERE` names in its place; settings and fields of Craft stay."""
    return replaced(node, _asked)


def _asked(part: Node) -> Node | None:
    if not isinstance(part, Aggregate):
        return _HERE.get(part)
    where = tuple(Condition(_column(each.column), each.sign, asked_here(each.value)) for each in part.conditions)
    argument = None if part.argument is None else asked_here(part.argument)
    return Aggregate(part.operation, tuple(map(_column, part.columns)), where, argument)


def _column(column: Column) -> Column:
    found = asked_here(column)
    assert isinstance(found, Column)
    return found


def asked(heading: Heading[Column], declared: Node) -> Column:
    """Derive what a test declares for kept figures; later declarations find it in its column."""
    column = _HERE[declared] = heading.derive(asked_here(declared))
    return column


for _figures in (SCATTERS, rule.FLYING):
    _HERE.update({Named(name): asked_here(each.expression) for name, each in _figures.quantities.items()})


def _taken_over(table: Table, column: Column) -> Column:
    """Derive what a test declares in `column` for kept figures, and let later declarations find it here."""
    declared = table.quantities[column.name]
    helper = column != s.hover_throttle
    taken = PAIRS.add(replace(declared, expression=asked_here(declared.expression), helper=helper, symbol=""))
    _HERE[column] = taken
    return taken


_NOT_HERE = ("place", "group", "cells", "note")
_HERE[Column(s.HOVERING.name, "hover_group")], _HERE[s.hover_cells] = pair, cells
HOVERED = {
    name: _taken_over(s.HOVERING, Column(s.HOVERING.name, name))
    for name in s.HOVERING.quantities
    if name.removeprefix("hover_") not in _NOT_HERE
}
"""The columns of Hovering for kept figures, by their names there."""
flight_rule = _taken_over(r.READINGS, rule.flight_rule)
_taken_over(g.SUMMARY, e.held_need)
_taken_over(g.SUMMARY, e.launch_need)
