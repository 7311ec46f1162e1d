"""One tree for every quantity: number, live formula, method text and references.

Five node kinds: a constant, a column (its cell in this row), a named cell, an aggregate over whole columns, and a
call of one operation. Each reading of the tree is one match over these kinds; the live formula
has `formula.py` to itself. A blank reading makes what depends on it blank, in numbers (NaN)
and in cells ("") alike.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache, reduce
from string import Formatter
from typing import Any, Protocol

import numpy as np

from xlsengine.aggregates import AGGREGATES
from xlsengine.computing import Computing, calling, kept, of_rows, union
from xlsengine.operations import OPERATIONS, filled


def _infix(operation: str, swapped: bool = False) -> Callable[[Node, Operand], Node]:
    """Return what an operator between two nodes, or a node and a plain value, builds."""
    if swapped:
        return lambda right, left: call(operation, left, right)
    return lambda left, right: call(operation, left, right)


class Node:
    """Base of the five node kinds; arithmetic on nodes builds larger nodes."""

    text = False

    @property
    def is_text(self) -> bool:
        """Tell whether the value is text."""
        return self.text

    @property
    def compute(self) -> Computing:
        """What computes it, see `evaluate`; made when it is first asked for."""
        return _computing(self)

    def __hash__(self) -> int:
        """Return what is computed once: a tree is long, and asked often."""
        held: dict[str, Any] = self.__dict__
        if "_hash" not in held:
            held["_hash"] = hash(tuple(map(held.get, self.__match_args__)))  # type: ignore[attr-defined]
        return held["_hash"]  # type: ignore[no-any-return]

    def __bool__(self) -> bool:
        raise TypeError("an expression has no truth value: use .where(), & and | in its place")

    __add__, __radd__ = _infix("add"), _infix("add", swapped=True)
    __sub__, __rsub__ = _infix("subtract"), _infix("subtract", swapped=True)
    __mul__, __rmul__ = _infix("multiply"), _infix("multiply", swapped=True)
    __truediv__, __rtruediv__ = _infix("divide"), _infix("divide", swapped=True)
    __lt__, __le__, __gt__, __ge__ = _infix("less"), _infix("at most"), _infix("more"), _infix("at least")
    __and__, __or__ = _infix("and"), _infix("or")

    def __neg__(self) -> Node:
        return call("negate", self)

    def __invert__(self) -> Node:
        return call("not", self)

    def __pow__(self, exponent: float) -> Node:
        """Raise to a constant; spreadsheets disagree on 0^0, so an exponent of 0 never reaches a cell."""
        if exponent == 0:
            return Constant(1.0)
        return self if exponent == 1 else call("power", self, float(exponent))

    def equals(self, other: Operand) -> Node:
        """Compare numbers, or texts without regard to capitals; ``==`` compares the trees themselves."""
        return call("same text" if self.is_text or isinstance(other, str) else "equal", self, other)

    def sqrt(self) -> Node:
        """Take the square root; blank below zero."""
        return call("sqrt", self)

    def exp(self) -> Node:
        """Raise e to this power."""
        return call("exp", self)

    def ln(self) -> Node:
        """Take the natural logarithm; blank at and below zero."""
        return call("ln", self)

    def where(self, yes: Operand, no: Operand | None = None) -> Node:
        """Read this as a condition: `yes` where it holds, `no` (or blank) where not, blank where it is blank."""
        return call("if", self, yes, BLANK if no is None else no)

    def present(self) -> Node:
        """Ask whether this cell holds a number (or, for text, anything); only a cell can be asked."""
        if not isinstance(self, Column | Named):
            raise TypeError("only a column or a named cell can be present")
        return call("written" if self.is_text else "present", self)

    def otherwise(self, other: Operand) -> Node:
        """Take this where it has a value, else `other`."""
        return call("first of", self, other)

    def whole_part(self) -> Node:
        """Drop the decimals of a number that is not negative."""
        return call("whole part", self)

    def fixed(self, decimals: int) -> Node:
        """Write the number as text with so many decimals, alike in every locale."""
        return call("fixed", self, float(decimals))


Operand = Node | float | int | str


@dataclass(frozen=True)
class Constant(Node):
    """A number or a text that never changes."""

    value: float | str
    __hash__ = Node.__hash__

    @property
    def is_text(self) -> bool:
        """Tell whether the constant is text."""
        return isinstance(self.value, str)


BLANK = Constant(math.nan)
"""The number that is not there: NaN in numbers, an empty text in cells."""
ZERO, ONE = Constant(0.0), Constant(1.0)
_constant = lru_cache(maxsize=4096)(Constant)


@dataclass(frozen=True)
class Column(Node):
    """The cell of this row in one column of a table."""

    table: str
    name: str
    text: bool = False
    __hash__ = Node.__hash__

    def at(self, row: Operand) -> Aggregate:
        """Fetch this column from the row of its table with a number, from 1."""
        return Aggregate("text at" if self.text else "at", (self,), (), as_node(row))

    def position(self, value: Operand) -> Aggregate:
        """Return the first row that holds a value."""
        return Aggregate("text position" if self.text else "position", (self,), (), as_node(value))

    def count(self, *where: Condition) -> Aggregate:
        """Count the rows that hold something."""
        return Aggregate("count", (self,), where)

    def sum(self, *where: Condition) -> Aggregate:
        """Add up the column."""
        return Aggregate("sum", (self,), where)

    def mean(self, *where: Condition) -> Aggregate:
        """Take the mean of the column."""
        return Aggregate("mean", (self,), where)

    def deviation(self) -> Aggregate:
        """Take the standard deviation of the column, with one less than the number of rows as divisor."""
        return Aggregate("standard deviation", (self,))

    def dot(self, other: Column, *where: Condition) -> Aggregate:
        """Add up the products with another column of the table."""
        return Aggregate("dot", (self, other), where)

    def largest(self, *where: Condition, place: Operand = 1.0) -> Aggregate:
        """Take the largest number, or the one at another place from the top."""
        return Aggregate("largest", (self,), where, as_node(place))

    def smallest(self, place: Operand = 1.0) -> Aggregate:
        """Take the smallest number, or the one at another place from the bottom."""
        return Aggregate("smallest", (self,), (), as_node(place))


@dataclass(frozen=True)
class Named(Node):
    """One cell that has a name: a setting, an input field or a figure."""

    name: str
    text: bool = False
    __hash__ = Node.__hash__


@dataclass(frozen=True)
class Condition:
    """One condition on the rows of an aggregate: ``column sign value``, the sign one of = <> < <= > >=."""

    column: Column
    sign: str
    value: Node


@dataclass(frozen=True)
class Aggregate(Node):
    """One of `AGGREGATES` over whole columns, over the rows where every condition holds.

    Conditions other than "equals a number that is not 0" need a column that is never blank, since a spreadsheet
    takes a blank for 0 and an empty text for more than any number. A "largest" with conditions needs a column of
    readings (not one whose blanks are empty texts) that are not below 0. Rows count from 1. `ValueError` for
    conditions on an aggregate that takes none.
    """

    operation: str
    columns: tuple[Column, ...]
    conditions: tuple[Condition, ...] = ()
    argument: Node | None = None
    __hash__ = Node.__hash__

    def __post_init__(self) -> None:
        if self.conditions and AGGREGATES[self.operation].by_group is None:
            raise ValueError(f"the aggregate “{self.operation}” takes no conditions")

    @property
    def is_text(self) -> bool:
        """Tell whether a text is fetched."""
        return self.operation == "text at"


@dataclass(frozen=True)
class Call(Node):
    """One operation of `OPERATIONS` with its arguments."""

    operation: str
    arguments: tuple[Node, ...]
    __hash__ = Node.__hash__

    @property
    def is_text(self) -> bool:
        """Tell whether the operation gives text."""
        if self.operation in ("if", "first of", "choose"):
            return self.arguments[-1].is_text
        return OPERATIONS[self.operation].kind == "text"


def as_node(value: Operand) -> Node:
    """Turn a plain number or text into a constant; nodes pass through."""
    if isinstance(value, Node):
        return value
    return _constant(value if isinstance(value, str) else float(value))


def call(operation: str, *arguments: Operand) -> Call:
    """Build a call of `operation`."""
    return Call(operation, tuple(map(as_node, arguments)))


def join(*parts: Operand) -> Node:
    """Write texts one after another; blank when one of them is a blank number written as text."""
    node = as_node(parts[0])
    for part in parts[1:]:
        node = call("join", node, part)
    return node


def say(template: str, *parts: Operand) -> Node:
    """Write texts and numbers into a template: `{}` for a text, `{:.1f}` for a number with so many decimals."""
    pieces: list[Operand] = []
    waiting = iter(parts)
    for words, place, decimals, _ in Formatter().parse(template):
        pieces.extend([words] if words else [])
        if place is not None:
            part = next(waiting)
            pieces.append(as_node(part).fixed(int(decimals[1:-1])) if decimals else part)
    return join(*pieces)


def flag(condition: Node) -> Node:
    """Turn a condition into 1 or 0."""
    return condition.where(1.0, 0.0)


def first_holding(cases: Iterable[tuple[Node, Operand]], otherwise: Operand) -> Node:
    """Take what stands beside the first condition that holds, `otherwise` where none does."""
    return reduce(lambda rest, case: case[0].where(case[1], rest), reversed([*cases]), as_node(otherwise))


def lesser(left: Operand, right: Operand) -> Node:
    """Take the smaller of two numbers."""
    return call("lesser", left, right)


def greater(left: Operand, right: Operand) -> Node:
    """Take the larger of two numbers."""
    return call("greater", left, right)


def children(node: Node) -> tuple[Node, ...]:
    """Return the nodes directly below `node`, in reading order."""
    if isinstance(node, Call):
        return node.arguments
    if isinstance(node, Aggregate):
        tail = () if node.argument is None else (node.argument,)
        return (*node.columns, *(part for c in node.conditions for part in (c.column, c.value)), *tail)
    return ()


def replaced(node: Node, swap: Callable[[Node], Node | None]) -> Node:
    """Return the expression with every part that `swap` gives another for replaced by it, from the top down."""
    other = swap(node)
    if other is not None:
        return other
    if isinstance(node, Call):
        return Call(node.operation, tuple(replaced(part, swap) for part in node.arguments))
    return node


def references(node: Node) -> Iterator[Column | Named]:
    """Yield every column and named cell the expression reads, each once."""
    yield from _read(node)


@kept
def _read(node: Node) -> dict[Column | Named, None]:
    return {node: None} if isinstance(node, Column | Named) else union(map(_read, children(node)))


# --- numbers -------------------------------------------------------------------------------------------------------


class Values(Protocol):
    """Where an evaluation finds its numbers."""

    def this_row(self, column: Column) -> Any:
        """Return the column's values, row by row."""

    def named(self, name: str) -> Any:
        """Return the value of a named cell."""

    def aggregate(self, node: Aggregate) -> Any:
        """Return an aggregate, for each row of the table that asks or one for all."""


def evaluate(node: Node, values: Values) -> Any:
    """Compute the expression with numpy: a float or array with NaN for blank, or text with None or "" for blank.

    A blank text cell is read as "": it can be joined to another text, while a blank number in a text cannot.
    """
    with np.errstate(all="ignore"):
        return node.compute(values)


@kept
def _computing(node: Node) -> Computing:
    """Return what computes an expression, with every choice that does not hang on the values made beforehand."""
    match node:
        case Constant(value):
            return lambda values: value
        case Column(text=True):
            return lambda values: filled(of_rows(values.this_row(node)))
        case Column():
            return lambda values: of_rows(values.this_row(node))
        case Named(name):
            return (lambda values: filled(values.named(name))) if node.text else (lambda values: values.named(name))
        case Aggregate():
            return lambda values: values.aggregate(node)
        case Call(operation, arguments):
            return calling(operation, [_computing(part) for part in arguments], node.is_text)
    raise TypeError(f"no such node: {node!r}")
