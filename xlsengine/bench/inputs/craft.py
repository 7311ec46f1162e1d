"""The craft the advice is for: optional, except that the way of flying decides what is advised.

Each field of the form (typed.csv) is a name here.
"""

from collections.abc import Callable

from xlsengine.bench.declaring.declare import Form
from xlsengine.bench.inputs.typed import cells_of, filled
from xlsengine.expression import Named, Node

CRAFT = filled(Form("Craft", "What the motor is meant for; leave blank what is not known."))
__getattr__: Callable[[str], Named] = cells_of(CRAFT)
way_of_flying, motor_count = map(CRAFT.typed, ("way_of_flying", "motor_count"))
BURSTS, HELD, HOVER = CRAFT.fields["way_of_flying"].choices
LEAST_ROTORS = 3
on_rotors: Node = way_of_flying.equals(HOVER) | (motor_count.otherwise(1.0) >= LEAST_ROTORS)
"""Whether it hovers: a craft of one or two motors flies on a wing unless its type of flying says hover (common practice,
no source)."""
