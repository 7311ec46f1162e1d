"""What nothing was read for: figures that stay blank whatever else is typed, and expressions without them.

Where no reading has a speed, a torque or a motor temperature, none is a steady one, or none was taken twice, what follows
from it is not written into the workbook. Its formulas would be blank in every row; a speed, a steady reading or a repeat
that is typed later makes the workbook say that it is out of date, and the next results have the figures.
"""

from collections.abc import Mapping, Sequence
from operator import is_
from types import MappingProxyType
from typing import Any

import numpy as np

from xlsengine.aggregates import rows_where
from xlsengine.bench.checks.fingerprint import FINGERPRINT
from xlsengine.bench.groups.by_propeller import tested_cells
from xlsengine.bench.groups.exponents import ln_thrust
from xlsengine.bench.groups.normalising import volts_per_amp
from xlsengine.bench.groups.repeats import repeated
from xlsengine.bench.groups.summary import AT_EQUAL_THRUST, sweep_clean
from xlsengine.bench.inputs.readings import READINGS, STEADY, kind_taken
from xlsengine.expression import BLANK, Aggregate, Call, Column, Condition, Constant, Named, Node, evaluate, references
from xlsengine.operations import OPERATIONS
from xlsengine.study.evaluation import Scope

MAY_BE_UNREAD = ("speed", "torque", "motor_temperature", repeated.name)
"""Typed columns of Readings whose figures are not written where none of them was read; the fingerprint watches them."""
_OF_STEADY = (*AT_EQUAL_THRUST, volts_per_amp, ln_thrust, sweep_clean)
"""What is blank in every row where no reading is steady."""
_COUNTING = frozenset(("count", "sum", "dot"))
_ONE_BY_ONE = frozenset(("row",))
_NOTHING = Constant("")


def unread_columns(scope: Scope) -> tuple[str, ...]:
    """Return the columns among `MAY_BE_UNREAD` in which nothing stands, and “steady” where no reading is.

    Then the cell counts beyond those tested and one more: Summary has room for one more propeller and cell count.
    """
    blank = [name for name in MAY_BE_UNREAD if bool(np.all(np.isnan(scope.column(READINGS.name, name))))]
    steady = () if STEADY in scope.this_row(kind_taken).tolist() else (STEADY,)
    untested = [cells.name for cells in tested_cells if scope.named(cells.name) != scope.named(cells.name)]
    return (*blank, *steady, *untested[1:])


def _blank_cells(unread: str) -> tuple[Column | Named, ...]:
    if unread in {cells.name for cells in tested_cells}:
        return (Named(unread),)
    return _OF_STEADY if unread == STEADY else (Column(READINGS.name, unread),)


def _is_blank(node: Node) -> bool:
    return isinstance(node, Constant) and (node.value == "" or node.value != node.value)


class Folding:
    """Expressions with what is blank, or always the same, worked out beforehand.

    What the fingerprint sums up is left as it is: it tells when something is typed into a column in which nothing was read.
    `asked` are questions to a cell that holds several answers, and the condition behind each.
    """

    def __init__(
        self,
        definitions: Mapping[Column | Named, Node],
        unread: tuple[str, ...],
        asked: Mapping[Node, Node] = MappingProxyType({}),
    ) -> None:
        self._definitions, self.unread, self._asked = definitions, unread, asked
        self._answering = frozenset(cell for question in asked for cell in references(question))
        self._folded: dict[Column | Named, Node] = {}
        self._same: dict[Column | Named, Node] = {cell: BLANK for name in unread for cell in _blank_cells(name)}

    def definition(self, cell: Column | Named) -> Node:
        """Return what a derived cell holds; KeyError for one that is typed or written once."""
        if cell not in self._folded:
            whole = self._definitions[cell]
            folded = whole if self._watches(cell, whole) else self.folded(whole)
            self._folded[cell] = _NOTHING if whole.is_text and _is_blank(folded) else folded
        return self._folded[cell]

    def _watches(self, cell: Column | Named, whole: Node) -> bool:
        if cell.name not in FINGERPRINT.quantities:
            return False
        unread = {Column(READINGS.name, name) for name in self.unread}
        return any(each in unread for each in references(whole))

    def is_blank(self, cell: Column | Named) -> bool:
        """Tell whether a cell is blank whatever is typed elsewhere."""
        return _is_blank(self._cell(cell))

    def folded(self, node: Node) -> Node:
        """Return an expression that comes to the same as long as what was not read stays blank."""
        changes = self.unread and any(
            isinstance(self._cell(cell), Constant) or cell in self._answering for cell in references(node)
        )
        return self._fold(node) if changes else node

    def _cell(self, cell: Column | Named) -> Node:
        if cell not in self._same:
            self._same[cell] = cell  # while it is looked at: a column may ask for the row that it stands in
            held = self.definition(cell) if cell in self._definitions else cell
            self._same[cell] = held if isinstance(held, Constant) else cell
        return self._same[cell]

    def _fold(self, node: Node) -> Node:
        match node:
            case Column() | Named():
                return self._cell(node)
            case Aggregate():
                return self._aggregate(node)
            case Call():
                return self._call(node)
        return node

    def _aggregate(self, node: Aggregate) -> Node:
        if node.operation in _ONE_BY_ONE:
            return node
        argument = None if node.argument is None else self._fold(node.argument)
        conditions = [Condition(c.column, c.sign, self._fold(c.value)) for c in node.conditions]
        if any(_is_number_blank(part) for part in (argument, *(c.value for c in conditions))):
            return BLANK
        columns = tuple(column for column in node.columns if not _is_blank(self._cell(column)))
        if not columns or (columns != node.columns and node.operation != "smallest"):
            return _of_nothing(node, [c.value for c in conditions])
        kept = []
        for condition in conditions:
            always = self._always(condition)
            if always is False:
                return _of_nothing(node, [c.value for c in conditions])
            kept += [] if always else [condition]
        made = Aggregate(node.operation, columns, tuple(kept), argument)
        return node if made == node else made

    def _always(self, condition: Condition) -> bool | None:
        """Tell whether a condition holds in every row or in none; None where it depends."""
        held = self._cell(condition.column)
        if _is_number_blank(held):
            return False
        if not isinstance(held, Constant) or not isinstance(condition.value, Constant):
            return None
        if held.is_text and not (_is_blank(held) and condition.sign == "="):
            return None
        return bool(rows_where(held.value, condition.sign, condition.value.value))

    def _call(self, node: Call) -> Node:
        if node.operation == "odd" and node in self._asked and _is_never(self._fold(self._asked[node])):
            return Constant(0.0)
        row, text = OPERATIONS[node.operation], node.is_text
        parts = tuple(self._fold(part) for part in node.arguments)
        if node.operation in ("present", "written") and isinstance(parts[0], Constant):
            return Constant(0.0 if _is_blank(parts[0]) else 1.0)
        if any(_is_number_blank(part) for place, part in enumerate(parts) if place not in row.lazy):
            return BLANK
        if text:
            parts = tuple(
                _NOTHING if _is_number_blank(part) and i in row.lazy else part for i, part in enumerate(parts)
            )
        chosen = _chosen(node.operation, parts)
        if chosen is not None:
            return chosen
        made = node if all(map(is_, parts, node.arguments)) else Call(node.operation, parts)
        return _worked_out(made) if all(isinstance(part, Constant) for part in parts) else made


def _is_number_blank(node: Node | None) -> bool:
    return isinstance(node, Constant) and node.value != node.value


def _of_nothing(node: Aggregate, asked: Sequence[Node]) -> Node:
    """Return an aggregate of no value at all; blank still where a condition asks for what is blank."""
    if node.is_text:
        return _NOTHING
    if node.operation not in _COUNTING:
        return BLANK
    zero: Node = Constant(0.0)
    for value in asked:
        if not isinstance(value, Constant) and not value.is_text:
            zero = value * 0.0 + zero
    return zero


def _chosen(operation: str, parts: tuple[Node, ...]) -> Node | None:
    """Return the branch that is always taken, if there is one."""
    first = parts[0]
    if operation == "add" and 0.0 in (part.value for part in parts if isinstance(part, Constant)):
        return parts[1] if isinstance(first, Constant) else first
    if operation == "if" and _is_number_blank(parts[2]) and (_is_number_blank(parts[1]) or _is_never(first)):
        return BLANK
    if not isinstance(first, Constant):
        return None
    if operation == "if":
        return parts[1] if first.value else parts[2]
    if operation == "first of":
        return parts[1] if _is_blank(first) else first
    return None


def _is_never(condition: Node) -> bool:
    """Tell whether a condition is never true; it may be blank."""
    if isinstance(condition, Constant):
        return condition.value == 0 or _is_blank(condition)
    return isinstance(condition, Call) and condition.operation == "and" and any(map(_is_never, condition.arguments))


def _worked_out(node: Call) -> Node:
    value: Any = evaluate(node, Scope.__new__(Scope))
    if isinstance(value, np.ndarray | np.generic):
        value = value.item()
    if value is None or value != value:
        return BLANK
    return Constant(value if isinstance(value, str) else float(value))
