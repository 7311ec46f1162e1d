"""Numbers as sentences have them."""

from xlsengine.expression import Column, Named, Node, Operand, call, join, say

_BIG = 1000.0


def in_thousands(number: Node) -> Node:
    """Write a whole number with a mark between thousands: 1,772."""
    whole = call("round", number, 0.0)
    over = (whole / _BIG).whole_part()
    rest = whole - over * _BIG
    zeros = (rest < 10).where("00", (rest < 100).where("0", ""))
    return (number < _BIG - 0.5).where(number.fixed(0), say("{:.0f},{}{:.0f}", over, zeros, rest))


def if_there(cell: Column | Named, *words: Operand) -> Node:
    """Write the words where the cell holds something, nothing where not."""
    return cell.present().where(join(*words), "")


def outward(low: Node, high: Node) -> tuple[Node, Node]:
    """Return the ends of a range in whole numbers that hold all of it: 7.56 to 9.45 is 7 to 10."""
    return low.whole_part(), 0 - (0 - high).whole_part()
