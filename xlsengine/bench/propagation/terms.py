"""The law of propagation of uncertainty over expressions: what it gives is an expression again, and hence live.

An `Input` is one source of error, and says how the cells that it acts on move with it. So an instrument that two
readings share, or a reading that a figure uses twice, is one input with one sensitivity and is never counted twice.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import combinations

from xlsengine.bench.inputs.settings import coverage
from xlsengine.expression import (
    ONE,
    ZERO,
    Call,
    Column,
    Constant,
    Named,
    Node,
    as_node,
    call,
    children,
    lesser,
    references,
)

Cell = Column | Named
NOTHING: Node = ZERO
INFINITE = 10_000.0
"""Degrees of freedom that count as infinite: t is then within 0.02 % of the normal quantile."""


@dataclass(frozen=True)
class Input:
    """A source of error: its standard uncertainty, and by how much each cell moves when the error is one unit.

    `freedom` are the degrees of freedom of the standard uncertainty; None means infinite. Without a `unit` the error
    is relative.
    """

    name: str
    label: str
    uncertainty: Node
    acts_on: tuple[tuple[Cell, Node], ...]
    freedom: Node | None = None
    unit: str = ""


def shares(*cells: Cell) -> tuple[tuple[Cell, Node], ...]:
    """Say that each of these cells moves by its own value when the (relative) error is one."""
    return tuple((cell, cell) for cell in cells)


class NotDifferentiable(ValueError):
    """A figure depends on an error by a step that has no derivative."""


def change(figure: Node, source: Input, definitions: Mapping[Node, Node] | None = None) -> Node:
    """Return by how much a figure moves when the input's error is one unit: c in the GUM; a constant 0 where it does not.

    Sums are taken by what their terms change, products of which one part moves by that, and others by shares: short, and
    terms that cancel do so exactly. Raises `NotDifferentiable` where the figure depends on a cell that the input acts on
    by a step without derivative.
    """
    known = definitions or {}

    def of(node: Node) -> Node:
        return change(node, source, known)

    own = [moved for cell, moved in source.acts_on if cell == figure]
    if own and figure not in known:
        return reduce(_plus, own)
    match figure if own else known.get(figure, figure):
        case Call("add", (left, right)):
            return _plus(of(left), of(right))
        case Call("subtract", (left, right)):
            return _plus(of(left), _times(-1.0, of(right)))
        case Call("multiply", (one, other)) as node if node is figure and NOTHING in (of(one), of(other)):
            return _plus(_product(of(one), other), _product(one, of(other)))
        case Call("divide", (above, below)) as node if node is figure and of(below) == NOTHING:
            return _over(of(above), below)
    return _product(figure, relative_change(figure, source, known))


def relative_change(figure: Node, source: Input, definitions: Mapping[Node, Node] | None = None) -> Node:
    """Return by what share of itself a figure moves when the input's error is one unit; a constant 0 where it does not.

    Raises `NotDifferentiable` as `change` does.
    """
    known = definitions or {}

    def of(node: Node) -> Node:
        return relative_change(node, source, known)

    match figure:
        case Column() | Named():
            own = [_share(moved, cell) for cell, moved in source.acts_on if cell == figure]
            return reduce(_plus, own, of(known[figure]) if figure in known else NOTHING)
        case Call("multiply", (left, right)):
            return _plus(of(left), of(right))
        case Call("divide", (above, below)):
            return _plus(of(above), _times(-1.0, of(below)))
        case Call("power", (base, Constant(float(power)))):
            return _times(power, of(base))
        case Call("sqrt", (base,)):
            return _times(0.5, of(base))
        case Call("negate", (part,)):
            return of(part)
        case Call("if", (_, yes, Constant(float(blank)))) if math.isnan(blank):
            return of(yes)
        case Call("if", (condition, yes, no)):
            then, other = of(yes), of(no)
            return then if then == other else condition.where(then, other)
        case Call("add" | "subtract"):
            return _over(change(figure, source, known), figure)
    if any(of(part) != NOTHING for part in children(figure)):
        raise NotDifferentiable(f"{figure} has no derivative")
    return NOTHING


def _share(moved: Node, cell: Cell) -> Node:
    """Divide the change of a cell by the cell, without writing it twice."""
    match moved:
        case Call("negate", (part,)):
            return _times(-1.0, _share(part, cell))
        case Call("multiply", (left, right)) if cell in references(left):
            return _product(_share(left, cell), right)
    return ONE if moved == cell else moved / cell


def _times(factor: float, node: Node) -> Node:
    match node:
        case Constant(float(value)):
            return Constant(value * factor)
    return node if factor == 1.0 else Constant(factor) * node


def _plus(one: Node, other: Node) -> Node:
    match one, other:
        case Constant(float(left)), Constant(float(right)):
            return Constant(left + right)
    return other if one == NOTHING else one if other == NOTHING else one + other


def _product(one: Node, other: Node) -> Node:
    if NOTHING in (one, other):
        return NOTHING
    return one if other == ONE else other if one == ONE else one * other


def _over(above: Node, below: Node) -> Node:
    return above if above == NOTHING else above / below


def together(moved: Mapping[str, Node], correlations: Mapping[frozenset[str], Node]) -> Node:
    """Combine contributions, by name, some pairs of which are correlated (GUM 5.2.2)."""
    felt = [name for name, part in moved.items() if part != NOTHING]
    variance = sum_of_squares([moved[name] for name in felt])
    for one, other in combinations(felt, 2):
        correlation = correlations.get(frozenset((one, other)))
        if correlation is not None:
            variance = variance + 2.0 * (correlation * moved[one] * moved[other])
    return call("greater", variance, 0.0).sqrt()


def sum_of_squares(parts: Sequence[Node]) -> Node:
    """Add up squares; a constant 0 of nothing."""
    return reduce(_plus, (part**2 for part in parts if part != NOTHING), NOTHING)


def effective_freedom(combined: Node, finite: Sequence[tuple[Node, Node]]) -> Node:
    """Return the effective degrees of freedom by the Welch-Satterthwaite formula (GUM G.4.1).

    `finite` holds the parts c·u whose degrees of freedom are finite, each with these; the others add nothing.
    """
    below = reduce(_plus, (part**4 / freedom for part, freedom in finite if part != NOTHING), NOTHING)
    return Constant(INFINITE) if below == NOTHING else lesser((combined**4 / below).otherwise(INFINITE), INFINITE)


def coverage_factor(freedom: Node) -> Node:
    """Return k: Student's t at the level of confidence on Settings (GUM G.3); decimals of the freedom are dropped."""
    return call("t quantile", 1 - coverage / 100, freedom)


def expanded(combined: Node, freedom: Node) -> Node:
    """Return the expanded uncertainty, the figure behind “±” (GUM 6.2.1)."""
    return coverage_factor(freedom) * as_node(combined)


def expanded_by(combined: Node, *finite: tuple[Node, Node]) -> Node:
    """Return the expanded uncertainty, by those parts of it that have finite degrees of freedom, each with these."""
    return expanded(combined, effective_freedom(combined, finite))
