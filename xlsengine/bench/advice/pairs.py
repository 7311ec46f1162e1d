"""Motor and propeller pairs out of earlier tests, and what each does for the craft of a need.

The kept figures are typed numbers; all that follows from them and the need is derived live. Hovering, ESC and current in
flight are the declarations of a single test, asked of kept figures in the place of readings: there is one of each.
"""

from collections.abc import Mapping
from dataclasses import replace

from xlsengine.bench.advice import esc_needs as e
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice import suitability as s
from xlsengine.bench.declaring.declare import Field, Table
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.repeatability import (
    current_scatter,
    repeats,
    scatter_freedom,
    thrust_current,
    thrust_scatter,
)
from xlsengine.bench.groups.throttle_sweep import SCATTERS
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.propagation.accuracies import taken_current_accuracy, taken_thrust_accuracy, taken_voltage_accuracy
from xlsengine.expression import Aggregate, Call, Column, Condition, Named, Node
from xlsengine.sources import definition

PAIRS = Table("Pairs", "One row for each motor with a propeller and cell count; the kept figures are typed numbers.")
STEPS = Table("Steps", "The sound steady readings of each pair, kept from its test.")
_KEPT = definition("kept from the test")


def _keeps(table: Table, name: str, label: str, unit: str = "", decimals: int = 2, kind: str = "number") -> Column:
    """Add a figure that stands in the library."""
    text = kind == "text"
    declared = Field(
        name, label, unit, "As kept from the test.", "text" if text else "number", decimals=decimals, source=_KEPT
    )
    return table.input(declared)


pair = _keeps(PAIRS, "pair", "Pair", decimals=0)
motor = _keeps(PAIRS, "motor", "Motor", kind="text")
test = _keeps(PAIRS, "test", "Test", kind="text")
prop = _keeps(PAIRS, "prop", "Propeller", kind="text")
cells = _keeps(PAIRS, "cells", "Cells", decimals=0)
full_kind = _keeps(PAIRS, "full_kind", "Kind", kind="text")
diameter = _keeps(PAIRS, "diameter", "Diameter", "in")
pitch_ratio = _keeps(PAIRS, "pitch_ratio", "Pitch over diameter")
voltage = _keeps(PAIRS, "voltage", "Voltage, full throttle", "V")
current = _keeps(PAIRS, "current", "Current, full throttle", "A", 1)
thrust = _keeps(PAIRS, "thrust", "Thrust, full throttle", "g", 0)
thrust_doubt = _keeps(PAIRS, "thrust_doubt", "Thrust, full throttle, ±", "g", 1)
grams_per_watt = _keeps(PAIRS, "grams_per_watt", "Thrust per power, full throttle", "g/W")
grams_per_watt_doubt = _keeps(PAIRS, "grams_per_watt_doubt", "Thrust per power, full throttle, ±", "g/W")
static_current = _keeps(PAIRS, "static_current", "Highest static current", "A", 1)
peak_current = _keeps(PAIRS, "peak_current", "Highest current, peak", "A", 1)
held_steady = _keeps(PAIRS, "held_steady", "Steady current that counts for an ESC", "A", 1)
launch = _keeps(PAIRS, "launch", "Launch current", "A", 1)
room = _keeps(PAIRS, "room", "Current with its ±, over current", "", 4)
motor_mass = _keeps(PAIRS, "motor_mass", "Motor mass", "g", 1)
mass_doubt = _keeps(PAIRS, "mass_doubt", "Motor mass, ±", "g", 2)
exponent = _keeps(PAIRS, "exponent", "Current as a power of thrust")
exponent_doubt = _keeps(PAIRS, "exponent_doubt", "Current as a power of thrust, ±")
OF_THE_BENCH: dict[Named, Column] = {
    figure: _keeps(PAIRS, f"of_{figure.name}", label, unit, 3)
    for figure, label, unit in (
        (repeats, "Repeats", ""),
        (scatter_freedom, "Scatter: degrees of freedom", ""),
        (thrust_scatter, "Scatter of thrust", "%"),
        (current_scatter, "Scatter of current", "%"),
        (thrust_current, "Correlation of thrust and current", ""),
        (taken_thrust_accuracy, "Accuracy of thrust, ±", "g"),
        (taken_current_accuracy, "Accuracy of current, ±", "%"),
        (taken_voltage_accuracy, "Accuracy of voltage, ±", "%"),
    )
}
"""What the ± of hovering asks of the test's bench, and where it is kept."""

step_pair = _keeps(STEPS, "step_pair", "Pair", decimals=0)
step_throttle = _keeps(STEPS, "step_throttle", "Throttle", "%", 0)
step_thrust = _keeps(STEPS, "step_thrust", "Thrust", "g", 0)
step_current = _keeps(STEPS, "step_current", "Current", "A")
step_power = _keeps(STEPS, "step_power", "Power", "W", 1)

# --- declarations of a test, asked of kept figures ---------------------------------------------------------------

_HERE: dict[Node, Node] = {
    r.group: step_pair,
    g.sweep_clean: step_thrust,
    r.current: step_current,
    r.power: step_power,
    r.throttle: step_throttle,
    r.pitch_ratio: pitch_ratio,
    g.static_current: static_current,
    g.peak["top_current"]: peak_current,
    e.held_steady: held_steady,
    e.launch: launch,
    e.room: room,
}
_HERE.update(dict(OF_THE_BENCH.items()))


def asked_here(node: Node, here: Mapping[Node, Node]) -> Node:
    """Return an expression that asks the cells named in `here` in the place of those it was declared for.

    All others stay as they are, such as settings and fields of Craft.
    """
    match node:
        case Column() | Named():
            return here.get(node, node)
        case Aggregate(operation, columns, conditions, argument):
            return Aggregate(
                operation,
                tuple(_column(column, here) for column in columns),
                tuple(Condition(_column(c.column, here), c.sign, asked_here(c.value, here)) for c in conditions),
                None if argument is None else asked_here(argument, here),
            )
        case Call(operation, arguments):
            return Call(operation, tuple(asked_here(part, here) for part in arguments))
        case _:
            return node


def _column(column: Column, here: Mapping[Node, Node]) -> Column:
    found = here.get(column, column)
    assert isinstance(found, Column)
    return found


_HERE.update({Named(name): asked_here(each.expression, _HERE) for name, each in SCATTERS.quantities.items()})

_FOR_READERS = (s.hover_throttle.name,)


def _taken_over(table: Table, column: Column) -> Column:
    """Derive what a test declares in `column` for kept figures, and let later declarations find it here."""
    declared = table.quantities[column.name]
    helper = column.name not in _FOR_READERS
    here = replace(declared, expression=asked_here(declared.expression, _HERE), helper=helper, symbol="")
    _HERE[column] = PAIRS.add(here)
    return PAIRS.add(here)


_NOT_HERE = ("place", "group", "prop", "cells", "note", "grams_per_watt_expanded")
_GROUP = Column(s.HOVERING.name, "hover_group")


def _hovering() -> dict[str, Column]:
    """Derive the columns of Hovering for kept figures, by their names there."""
    _HERE[_GROUP], _HERE[s.hover_cells] = pair, cells
    names = [name for name in s.HOVERING.quantities if name.removeprefix("hover_") not in _NOT_HERE]
    return {name: _taken_over(s.HOVERING, Column(s.HOVERING.name, name)) for name in names}


HOVERED = _hovering()


_forward = rule.FLYING.quantities["flies_forward"].expression
flight_rule = PAIRS.helper("flight_rule", "In flight, rule").derive(
    _forward.equals(1).where(rule.by_pitch(pitch_ratio), rule.STATIC), source=rule.SOURCE
)
_taken_over(g.SUMMARY, e.held_need)
_taken_over(g.SUMMARY, e.launch_need)


def held_verdict(size: Node) -> Node:
    """Judge an ESC size with full throttle held, as on ESC of a test."""
    return asked_here(e.held_verdict(size), _HERE)


def held_margin(size: Node) -> Node:
    """Amps to spare with full throttle held."""
    return asked_here(e.held_margin(size), _HERE)


def launch_verdict(size: Node) -> Node:
    """Judge an ESC size at launch; with other flying, and where none is said, it is judged as held."""
    return rule.flown_in_bursts(asked_here(e.launch_verdict(size), _HERE), held_verdict(size))


def launch_margin(size: Node) -> Node:
    """Amps to spare at launch, or as held where bursts are not what is flown."""
    return rule.flown_in_bursts(asked_here(e.launch_margin(size), _HERE), held_margin(size))
