"""The law of propagation of uncertainty over expressions: what it gives is an expression again, and hence live.

An `Input` is one source of error, and says how the cells that it acts on move with it. So an instrument that two
readings share, or a reading that a figure uses twice, is one input with one sensitivity and is never counted twice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from xlsengine.bench.settings import coverage
from xlsengine.expression import Call, Column, Constant, Named, Node, as_node, call, derivative, lesser, references

Cell = Column | Named
ENDLESS = 10_000.0
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


@dataclass(frozen=True)
class Scatter:
    """Inputs that were read together, and hence are correlated, with the degrees of freedom that they share."""

    inputs: tuple[Input, ...]
    correlations: Mapping[frozenset[str], Node] = field(default_factory=dict)
    freedom: Node | None = None


def shares(error: Cell) -> tuple[Cell, Node]:
    """Say that a cell moves by its own value when the (relative) error is one."""
    return error, error


def sensitivity(figure: Node, source: Input, definitions: Mapping[Node, Node] | None = None) -> Node:
    """Return by how much a figure moves when the input's error is one unit: c in the GUM.

    Raises `NotDifferentiable` where the figure depends on a cell that the input acts on by a step without derivative.
    """
    total: Node | None = None
    for cell, change in source.acts_on:
        slope = derivative(figure, cell, definitions)
        if slope == Constant(0.0):
            continue
        term = change if slope == Constant(1.0) else slope * change
        total = term if total is None else total + term
    return Constant(0.0) if total is None else total


def exponent(figure: Node, by: Cell, definitions: Mapping[Node, Node] | None = None) -> float | None:
    """Return a where the figure is by^a times what `by` has no part in; None where it is no such product."""
    known = definitions or {}

    def of(node: Node) -> float | None:
        return exponent(node, by, known)

    if figure == by:
        return 1.0
    match figure:
        case Column() | Named() if figure in known:
            return of(known[figure])
        case Call("multiply", (left, right)):
            return _summed(of(left), of(right))
        case Call("divide", (above, below)):
            return _summed(of(above), _times(of(below), -1.0))
        case Call("power", (base, Constant(float(power)))):
            return _times(of(base), power)
        case Call("sqrt", (base,)):
            return _times(of(base), 0.5)
        case Call("if", (_, kept, Constant(float(other)))) if math.isnan(other):
            return of(kept)
    return 0.0 if derivative(figure, by, known) == Constant(0.0) else None


def _summed(one: float | None, other: float | None) -> float | None:
    return None if one is None or other is None else one + other


def _times(one: float | None, factor: float) -> float | None:
    return None if one is None else one * factor


def relative_sensitivity(figure: Node, source: Input, definitions: Mapping[Node, Node] | None = None) -> Node | None:
    """Return by which share a figure moves when the input's error is one unit: far shorter than c, where there is one.

    None where the figure is no product of powers of the cells that the input acts on.
    """
    total: Node = Constant(0.0)
    for cell, change in source.acts_on:
        power = exponent(figure, cell, definitions)
        if power is None:
            return None
        if power != 0:
            total = _plus(total, _scaled(_share(change, cell), power))
    return total


def _share(change: Node, cell: Cell) -> Node:
    """Divide the change of a cell by the cell, without writing it twice."""
    match change:
        case Call("negate", (part,)):
            return _scaled(_share(part, cell), -1.0)
        case Call("multiply", (left, right)) if cell in references(left):
            return _product(_share(left, cell), right)
    return Constant(1.0) if change == cell else change / cell


def _scaled(node: Node, factor: float) -> Node:
    match node:
        case Constant(float(value)):
            return Constant(value * factor)
    return _product(Constant(factor), node)


def _plus(one: Node, other: Node) -> Node:
    match one, other:
        case Constant(float(left)), Constant(float(right)):
            return Constant(left + right)
    return other if one == Constant(0.0) else one + other


def _product(one: Node, other: Node) -> Node:
    return other if one == Constant(1.0) else one * other


def contribution(figure: Node, source: Input, definitions: Mapping[Node, Node] | None = None) -> Node:
    """Return c·u of one input, signed; a constant 0 where the figure does not depend on it."""
    slope = sensitivity(figure, source, definitions)
    return slope if slope == Constant(0.0) else slope * source.uncertainty


def scattered(figure: Node, scatter: Scatter, definitions: Mapping[Node, Node] | None = None) -> Node:
    """Return the standard uncertainty that correlated inputs give a figure (GUM 5.2.2)."""
    return together({each.name: contribution(figure, each, definitions) for each in scatter.inputs}, scatter)


def together(moved: Mapping[str, Node], scatter: Scatter) -> Node:
    """Combine the contributions of correlated inputs, by name (GUM 5.2.2)."""
    felt = [name for name, part in moved.items() if part != Constant(0.0)]
    variance = sum_of_squares([moved[name] for name in felt])
    for one, other in combinations(felt, 2):
        correlation = scatter.correlations.get(frozenset((one, other)))
        if correlation is not None:
            variance = variance + 2.0 * (correlation * moved[one] * moved[other])
    return call("greater", variance, 0.0).sqrt()


def sum_of_squares(parts: Sequence[Node]) -> Node:
    """Add up squares; a constant 0 of nothing."""
    total: Node | None = None
    for part in parts:
        if part != Constant(0.0):
            total = part**2 if total is None else total + part**2
    return Constant(0.0) if total is None else total


def standard_uncertainty(
    figure: Node, inputs: Sequence[Input], scatter: Node | None = None, definitions: Mapping[Node, Node] | None = None
) -> Node:
    """Return the combined standard uncertainty of a figure (GUM 5.1.2), `scatter` being one part more.

    Inputs that the figure does not depend on are passed over. Raises `NotDifferentiable` as `sensitivity` does.
    """
    parts = [contribution(figure, each, definitions) for each in inputs]
    return sum_of_squares([*parts, *([] if scatter is None else [scatter])]).sqrt()


def effective_freedom(combined: Node, finite: Sequence[tuple[Node, Node]]) -> Node:
    """Return the effective degrees of freedom by the Welch-Satterthwaite formula (GUM G.4.1).

    `finite` holds the parts c·u whose degrees of freedom are finite, each with these; the others add nothing.
    """
    below: Node | None = None
    for part, freedom in finite:
        if part != Constant(0.0):
            term = part**4 / freedom
            below = term if below is None else below + term
    return Constant(ENDLESS) if below is None else lesser((combined**4 / below).otherwise(ENDLESS), ENDLESS)


def coverage_factor(freedom: Node) -> Node:
    """Return k: Student's t at the level of confidence on Settings (GUM G.3); decimals of the freedom are dropped."""
    return call("t quantile", 1 - coverage / 100, freedom)


def expanded(combined: Node, freedom: Node) -> Node:
    """Return the expanded uncertainty, the figure behind “±” (GUM 6.2.1)."""
    return coverage_factor(freedom) * as_node(combined)
