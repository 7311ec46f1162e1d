"""Numbers as sentences have them."""

from collections.abc import Iterator

from xlsengine.expression import Column, Named, Node, Operand, call, first_holding, join

_MOST_DECIMALS = 3


def in_thousands(number: Node) -> Node:
    """Write a whole number with a mark between thousands: 1,772."""
    return call("in thousands", number)


def in_cells(count: Node) -> Node:
    """Write a cell count: 1 cell, 4 cells."""
    return join(count.fixed(0), count.equals(1).where(" cell", " cells"))


def if_there(cell: Column | Named, *words: Operand) -> Node:
    """Write the words where the cell holds something, nothing where not."""
    return cell.present().where(join(*words), "")


def outward(low: Node, high: Node, decimals: Node) -> tuple[Node, Node]:
    """Return the ends of a range of positive numbers that hold all of it: 7.56 to 9.45 is 7 to 10, or 7.5 to 9.5."""
    return call("round down", low, decimals), call("round up", high, decimals)


def _digits(shown: int) -> Iterator[tuple[float, int]]:
    """Yield from which ± on how many decimals are written, the largest first.

    Two digits of a ±, as the GUM has it at most (JCGM 100:2008, 7.2.6); one is enough from 3 on, where a figure is
    quoted with no more than `shown` decimals.
    """
    for two in range(-2, _MOST_DECIMALS + 1):
        if two > shown:
            yield 2.95 * 10.0 ** (1 - two), two - 1
        if two < _MOST_DECIMALS:
            yield 0.995 * 10.0 ** (1 - two), two


def decimals_of(expanded: Node, shown: int) -> Node:
    """Return the decimals of a ± and its figure: below 0 for tens and hundreds; `shown` where there is no ±."""
    known = ((expanded >= limit, float(places)) for limit, places in _digits(shown))
    return first_holding(known, float(_MOST_DECIMALS)).otherwise(float(shown))


def decimals_by(expanded: float, shown: int) -> int:
    """Return the same of a number.

    >>> [decimals_by(margin, 1) for margin in (58, 1.5, 0.81, 0.12, 0.04)]
    [0, 1, 1, 2, 2]
    """
    return next((places for limit, places in _digits(shown) if expanded >= limit), _MOST_DECIMALS)
