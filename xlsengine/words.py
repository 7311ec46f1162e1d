"""The reading of an expression in words, for the Method sheet, and the brackets that words and formulas share."""

import math
from collections.abc import Callable

from xlsengine.aggregates import AGGREGATES
from xlsengine.expression import Aggregate, Call, Column, Constant, Named, Node
from xlsengine.operations import ATOM, OPERATIONS, POWER

CONSTANTS = {
    "π": math.pi,
    "3/π": 3 / math.pi,
    "3·√2/π": math.sqrt(2) * (3 / math.pi),
    "π/4": math.pi / 4,
    "π/30": math.pi / 30,
    "√2": math.sqrt(2),
    "1/√3": 1 / math.sqrt(3),
    "1/(100·√3)": 1 / math.sqrt(3) / 100,
    "√(2/π)": math.sqrt(2 / math.pi),
    "π/4·0.0254²": math.pi / 4 * 0.0254**2,
    "π·0.0254/60": math.pi * 0.0254 / 60,
    "π/4/1000": math.pi / 4 / 1000,
    "π/4·0.127²": math.pi / 4 * 0.127**2,
    "2·ln(92)/39": 2 * math.log(92) / 39,
    "1000/58": 1000 / 58,
    "7/6": 7 / 6,
}
"""How constants are printed that a reader knows by another name than their digits."""
SUPERSCRIPTS = {2.0: "²", 3.0: "³", 4.0: "⁴", 5.0: "⁵"}
SIGNS = {"<=": "≤", ">=": "≥", "<>": "≠"}
_FIRST = Constant(1.0)


def words(node: Node, symbol: Callable[[Column | Named], str]) -> str:
    """Write the expression for the Method sheet, with each cell called by its symbol."""
    match node:
        case Constant(value):
            return f"“{value}”" if isinstance(value, str) else _number_words(value)
        case Column() | Named():
            return symbol(node)
        case Aggregate():
            return _aggregate_words(node, symbol)
        case Call(operation, arguments):
            parts = [_part_words(part, symbol) for part in arguments]
            if operation == "choose":
                return f"choice by {parts[0]} of: {'; '.join(parts[1:])}"
            if operation == "power" and isinstance(arguments[1], Constant):
                return _power_words(parts[0], float(arguments[1].value))
            return OPERATIONS[operation].words.format(*bracketed(node, parts))
    raise TypeError(f"no such node: {node!r}")


def _number_words(value: float) -> str:
    if math.isnan(value):
        return "blank"
    names = (name for name, known in CONSTANTS.items() if math.isclose(value, known, rel_tol=1e-12))
    return next(names, f"{value:.8g}".replace("-", "−"))


def _power_words(base: str, exponent: float) -> str:
    held = f"({base})" if set(base) & set(" /·^√") else base
    return held + SUPERSCRIPTS.get(exponent, f"^{exponent:.8g}".replace("-", "−"))


def _part_words(node: Node, symbol: Callable[[Column | Named], str]) -> str:
    """Write a part, in brackets when it is a phrase such as “1 if a < b, else 2”, or a constant such as π/3."""
    text = words(node, symbol)
    if isinstance(node, Constant):
        return f"({text})" if not node.is_text and set(text) & set("/·") else text
    return f"({text})" if isinstance(node, Call) and OPERATIONS[node.operation].phrase else text


def _aggregate_words(node: Aggregate, symbol: Callable[[Column | Named], str]) -> str:
    columns = ", ".join(symbol(column) for column in node.columns)
    argument = "" if node.argument is None else words(node.argument, symbol)
    text = AGGREGATES[node.operation].words.format(columns, argument)
    if node.operation in ("largest", "smallest") and node.argument == _FIRST:
        text = f"{node.operation} of {columns}"
    tests = [f"{symbol(c.column)} {SIGNS.get(c.sign, c.sign)} {words(c.value, symbol)}" for c in node.conditions]
    return f"({text}{' where ' if tests else ''}{' and '.join(tests)})"


def bracketed(node: Call, parts: list[str]) -> list[str]:
    """Put brackets around the arguments of an infix operation that bind less than it, or as much on its right."""
    binding = OPERATIONS[node.operation].binding
    if binding in (ATOM, POWER):
        return parts
    return [f"({part})" if _binds_less(node.arguments[i], binding + (i > 0)) else part for i, part in enumerate(parts)]


def _binds_less(node: Node, binding: int) -> bool:
    if isinstance(node, Call):
        return OPERATIONS[node.operation].binding < binding
    return isinstance(node, Constant) and not node.is_text and float(node.value) < 0
