"""What cells an expression needs, and where its formula can be blank or fail; asked by what writes formulas."""

from collections.abc import Sequence

from xlsengine.computing import kept, union
from xlsengine.expression import Aggregate, Call, Column, Constant, Named, Node
from xlsengine.operations import OPERATIONS

_NEVER_FAILING = frozenset(("row", "count", "sum", "dot"))
_BY_CRITERIA = frozenset(("sum", "mean"))
"""Aggregates whose conditions may become criteria, where an empty text is a pattern and an error equals no number."""
Cell = Column | Named
Cells = frozenset[Node]


def strict(node: Call) -> Sequence[Node]:
    """List the arguments without which there is no result."""
    lazy = OPERATIONS[node.operation].lazy
    return [part for place, part in enumerate(node.arguments) if place not in lazy] if lazy else node.arguments


def chosen(node: Call) -> Sequence[Node]:
    """List the arguments that count only where they are chosen."""
    lazy = OPERATIONS[node.operation].lazy
    return [part for place, part in enumerate(node.arguments) if place in lazy] if lazy else ()


def _asked(node: Aggregate) -> list[Node]:
    """List what an aggregate asks its columns for."""
    return [c.value for c in node.conditions] + ([] if node.argument is None else [node.argument])


@kept
def required(node: Node) -> dict[Cell, None]:
    """List the cells that must hold numbers before the expression can be computed, in reading order."""
    match node:
        case Column() | Named():
            return {} if node.is_text else {node: None}
        case Aggregate():
            return union(map(required, _asked(node)))
        case Call():
            return union(map(required, strict(node)))
    return {}


@kept
def required_if_chosen(node: Node) -> dict[Cell, None]:
    """List the cells that a part needs only where it is chosen, if that part has no guard of its own."""
    match node:
        case Aggregate():
            return union(map(required_if_chosen, _asked(node)))
        case Call("present" | "written" | "cell text"):
            return {}
        case Call("first of", (_, second)):
            return required(second) | required_if_chosen(second)
        case Call(_, arguments):
            return union([*map(required, chosen(node)), *map(required_if_chosen, arguments)])
    return {}


@kept
def asked_first(node: Node) -> dict[Cell, None]:
    """List those of the required cells that are read where a blank is not surely an error.

    That is in criteria, and in AND and OR, which some programs leave at the first part that decides.
    """
    match node:
        case Aggregate(operation, _, conditions, argument):
            ask = required if operation in _BY_CRITERIA else asked_first
            inner = {} if argument is None else asked_first(argument)
            return union([*(ask(c.value) for c in conditions), inner])
        case Call("and" | "or"):
            return required(node)
        case Call():
            return union(map(asked_first, strict(node)))
    return {}


@kept
def may_fail(node: Node) -> bool:
    """Tell whether the formula can give an error although the cells it requires hold numbers."""
    match node:
        case Aggregate(operation):
            return operation not in _NEVER_FAILING or any(map(_is_unsure, _asked(node)))
        case Call("present" | "written" | "cell text"):
            return False
        case Call("first of", (_, second)):
            return may_fail(second)
        case Call(_, arguments):
            return _fails(node) or any(map(may_fail, arguments)) or any(map(_is_unsure, strict(node)))
    return False


def _fails(node: Call) -> bool:
    """Tell whether an operation can give an error by itself."""
    match node:
        case Call("divide", (_, Constant(value))):
            return value == 0
        case Call("power", (_, Constant(float() as value))):
            return value < 0 or value != int(value)
    return OPERATIONS[node.operation].fails


def _is_unsure(node: Node) -> bool:
    return may_fail(node) or may_be_blank(node) or _may_choose_lacking(node)


@kept
def may_be_blank(node: Node) -> bool:
    """Tell whether the formula can give an empty text where a number belongs."""
    match node:
        case Constant(value):
            return value != value
        case Call("if", (condition, *options)) if not node.is_text:
            return not all(map(_is_there, options, (told_by(condition), frozenset())))
        case Call("first of", (_, second)) if not node.is_text:
            return not _is_there(second)
        case Call("choose", (_, *options)) if not node.is_text:
            return not all(map(_is_there, options))
    return False


def _is_there(part: Node, known: Cells = frozenset()) -> bool:
    """Tell whether a part is never blank once it is chosen."""
    return not may_be_blank(part) and all(cell in known for cell in required(part))


def told_by(condition: Node) -> Cells:
    """List the cells that hold numbers where a condition is true, since it asks just that."""
    match condition:
        case Call("present", (Column() | Named() as cell,)):
            return frozenset((cell,))
        case Call("and", (left, right)):
            return told_by(left) | told_by(right)
    return frozenset()


def may_lack(node: Node) -> bool:
    """Tell whether a text can lack a number that it is made of."""
    return bool(required(node)) or may_fail(node) or _may_choose_lacking(node)


def _may_choose_lacking(node: Node) -> bool:
    """Tell whether a text is chosen, and what is chosen can lack a number."""
    if not isinstance(node, Call) or not node.is_text or node.operation not in ("if", "choose", "first of"):
        return False
    return any(may_lack(part) for part in node.arguments[1:] if part.is_text)


def is_logical(node: Node) -> bool:
    """Tell whether the formula can give a truth value."""
    if not isinstance(node, Call):
        return False
    return OPERATIONS[node.operation].kind == "logical" or any(map(is_logical, chosen(node)))
