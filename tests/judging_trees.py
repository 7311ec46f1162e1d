"""Whether a recalculated formula gave what its tree computes, and which trees no cell or program can hold to it."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from tests.expression_trees import DEFINITIONS, NUMBERS, ROWS, SHEET, TEXTS, TOP, SheetValues, TableAddresses
from tests.instruments.grid import cell_name
from tests.instruments.recalculate import ErrorValue, Place, Value
from xlsengine.blanks import may_fail
from xlsengine.expression import Aggregate, Call, Node, children, evaluate
from xlsengine.formula import formula


def beyond_ironcalc(tree: Node) -> bool:
    """Tell whether the tree meets one of the two known gaps of IronCalc 0.9.1, which LibreOffice does not have.

    AND and OR stop at the first part that decides, where an error in a later part should win (Excel: from memory);
    MATCH does not find what CHOOSE took from a cell.
    """
    match tree:
        case Call("and" | "or") if may_fail(tree):
            return True
        case Aggregate("position" | "text position", _, _, argument) if argument is not None and _chooses(argument):
            return True
    return any(beyond_ironcalc(part) for part in children(tree))


def _chooses(tree: Node) -> bool:
    return isinstance(tree, Call) and (tree.operation == "choose" or any(map(_chooses, tree.arguments)))


def anything(tree: Node) -> bool:
    return True


def disagreements(
    trees: Sequence[Node], recalculated: Mapping[Place, Value], where: Callable[[Node], bool] = anything
) -> list[str]:
    """Return a line for each cell where a tree's number or text is not what the recalculated formula gave.

    `trees` are all those that `write_trees` wrote; the ones that `where` refuses are passed over.
    """
    lines = []
    first = len(NUMBERS) + len(TEXTS) + len(DEFINITIONS)
    for place, tree in enumerate(trees, start=first):
        if not where(tree):
            continue
        expected, digits = np.broadcast_to(np.asarray(evaluate(tree, SheetValues())), ROWS), _digits(tree)
        for row in range(ROWS):
            found = recalculated[SHEET, cell_name(TOP + 2 + row, place + 1)]
            if not _agree(expected[row], found, digits):
                lines.append(f"row {row}: {expected[row]!r} against {found!r} of ={formula(tree, TableAddresses())}")
    return lines


def _digits(tree: Node) -> float:
    """Return how close programs come: IronCalc 0.9.1 finds CHIINV by trial, to some nine digits."""
    inverse = isinstance(tree, Call) and tree.operation == "chi-square quantile"
    return 1e-8 if inverse else max(map(_digits, children(tree)), default=1e-9)


def _agree(expected: Any, found: Value, digits: float) -> bool:
    if isinstance(found, ErrorValue):
        return False
    if expected is None or expected == "" or expected != expected:
        return found is None or found == ""
    if isinstance(expected, str) or isinstance(found, str) or found is None:
        return bool(expected == found)
    return bool(np.isclose(float(expected), float(found), rtol=digits, atol=1e-12))
