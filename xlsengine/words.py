"""The reading of an expression in words, for the Method sheet, and the brackets that words and formulas share."""

from __future__ import annotations

import math
from collections.abc import Callable

from xlsengine.aggregates import AGGREGATES
from xlsengine.expression import Aggregate, Call, Column, Constant, Named, Node
from xlsengine.operations import ATOM, OPERATIONS, POWER


def words(node: Node, symbol: Callable[[Column | Named], str]) -> str:
    """Write the expression for the Method sheet, with each cell called by its symbol."""
    match node:
        case Constant(value):
            return f"“{value}”" if isinstance(value, str) else "blank" if math.isnan(value) else f"{value:.8g}"
        case Column() | Named():
            return symbol(node)
        case Aggregate():
            return _aggregate_words(node, symbol)
        case Call(operation, arguments):
            parts = [_part_words(part, symbol) for part in arguments]
            if operation == "choose":
                return f"choice by {parts[0]} of: {'; '.join(parts[1:])}"
            return OPERATIONS[operation].words.format(*bracketed(node, parts))
    raise TypeError(f"no such node: {node!r}")


def _part_words(node: Node, symbol: Callable[[Column | Named], str]) -> str:
    """Write a part, in brackets when it is a phrase such as “1 if a < b, else 2”."""
    text = words(node, symbol)
    return f"({text})" if isinstance(node, Call) and OPERATIONS[node.operation].phrase else text


def _aggregate_words(node: Aggregate, symbol: Callable[[Column | Named], str]) -> str:
    columns = ", ".join(symbol(column) for column in node.columns)
    argument = "" if node.argument is None else words(node.argument, symbol)
    text = AGGREGATES[node.operation].words.format(columns, argument)
    tests = [f"{symbol(c.column)} {c.sign} {words(c.value, symbol)}" for c in node.conditions]
    return f"({text}{' where ' if tests else ''}{' and '.join(tests)})"


def bracketed(node: Call, parts: list[str]) -> list[str]:
    """Put brackets around the arguments of an infix operation that bind less than it, or as much on its right."""
    binding = OPERATIONS[node.operation].binding
    if binding in (ATOM, POWER):
        return parts
    held = [OPERATIONS[a.operation].binding if isinstance(a, Call) else ATOM for a in node.arguments]
    negative = [isinstance(a, Constant) and not a.is_text and float(a.value) < 0 for a in node.arguments]
    return [f"({part})" if held[i] < binding + (i > 0) or negative[i] else part for i, part in enumerate(parts)]
