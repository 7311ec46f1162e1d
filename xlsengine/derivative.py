"""The derivative of an expression by one reading, as an expression again."""

from collections.abc import Callable, Mapping

from xlsengine.expression import ONE, ZERO, Aggregate, Call, Column, Named, Node, Operand, as_node, references
from xlsengine.operations import OPERATIONS


class NotDifferentiable(ValueError):
    """The expression has no derivative with respect to the asked reading."""


def derivative(node: Node, by: Column | Named, definitions: Mapping[Node, Node] | None = None) -> Node:
    """Differentiate by one reading, looking through the derived columns that `definitions` spells out.

    Raises `NotDifferentiable` where a step (rounding, text, an aggregate that depends on the reading) has none.
    """
    known = definitions or {}
    if node == by:
        return ONE
    match node:
        case Column() | Named():
            return derivative(known[node], by, known) if node in known else ZERO
        case Call("if", (condition, yes, no)):
            branches = derivative(yes, by, known), derivative(no, by, known)
            return branches[0] if branches[0] == branches[1] else condition.where(*branches)
        case Call(operation, arguments):
            slopes = [derivative(part, by, known) for part in arguments]
            return _chain(node, OPERATIONS[operation].partials, slopes)
        case Aggregate() if _depends(node, by, known):
            raise NotDifferentiable(f"{node.operation} depends on {by}")
    return ZERO


def _depends(node: Node, by: Column | Named, known: Mapping[Node, Node]) -> bool:
    """Tell whether `node` reads `by`, also through derived columns."""
    cells = references(node)
    return any(cell == by or (cell in known and _depends(known[cell], by, known)) for cell in cells)


def _chain(node: Call, partials: Callable[..., tuple[Operand, ...]] | None, slopes: list[Node]) -> Node:
    if all(slope == ZERO for slope in slopes):
        return ZERO
    if partials is None:
        raise NotDifferentiable(f"the operation “{node.operation}” has no derivative")
    terms = [
        _product(as_node(partial), slope)
        for partial, slope in zip(partials(*node.arguments), slopes, strict=True)
        if slope != ZERO and as_node(partial) != ZERO
    ]
    total = terms[0] if terms else ZERO
    for term in terms[1:]:
        total = total + term
    return total


def _product(left: Node, right: Node) -> Node:
    if right == ONE:
        return left
    return right if left == ONE else left * right
