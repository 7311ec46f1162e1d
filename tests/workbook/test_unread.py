"""What was not read is worked out of expressions alike, whichever object speaks of a cell and whoever asked before."""

from xlsengine.expression import Named, Node, as_node
from xlsengine.workbook.unread import Folding


def with_a_root_of_one() -> Node:
    """Return an expression made of new objects each time."""
    return Named("".join(("current", "_accuracy"))) / as_node(1.0).sqrt()


def test_an_expression_made_anew_is_folded_as_the_first_one_was() -> None:
    folding = Folding({}, ("speed",))
    first, second = with_a_root_of_one(), with_a_root_of_one()
    assert first == second
    assert folding.folded(first) == folding.folded(second)
