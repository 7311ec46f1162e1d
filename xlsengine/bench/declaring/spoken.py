"""Numbers as sentences have them."""

from __future__ import annotations

from xlsengine.expression import Column, Named, Node, call, say

_BIG = 1000.0


def in_thousands(number: Named | Column) -> Node:
    """Write a whole number with a mark between thousands: 1,772."""
    whole = call("round", number, 0.0)
    over = (whole / _BIG).whole_part()
    rest = whole - over * _BIG
    zeros = (rest < 10).where("00", (rest < 100).where("0", ""))
    return (number < _BIG - 0.5).where(number.fixed(0), say("{:.0f},{}{:.0f}", over, zeros, rest))
