"""The live formula of an expression, with the guard that keeps a blank reading blank.

A spreadsheet takes a blank cell for 0 and an empty text for more than any number. So every formula asks first whether
the cells it needs hold numbers. A step, which holds a formula that nobody sees, is never blank but an empty text: in
arithmetic that is an error, which is blank again. That guard is generated here and nowhere else; no formula is typed by
hand.
"""

import math
from typing import Protocol

from xlsengine.aggregates import AGGREGATES, WrittenCondition
from xlsengine.expression import Aggregate, Call, Column, Condition, Constant, Named, Node
from xlsengine.operations import OPERATIONS
from xlsengine.words import bracketed

LONGEST_TEXT = 250
COMPARING = frozenset(("less", "at most", "more", "at least", "equal", "unequal", "lesser", "greater"))
COMBINING = frozenset(("and", "or"))  # like those above, these take an empty text without an error
ARITHMETIC = frozenset(("add", "subtract", "multiply", "divide", "power", "negate"))
_BY_CRITERIA = frozenset(("sum", "mean"))
"""Aggregates whose conditions may become criteria, where an empty text is a pattern and an error equals no number."""
EMPTY = '""'
LACKING = "NA()"
"""What a chosen text gives where it lacks a number, as a part of more: an empty text would leave a gap in a sentence."""
Cells = frozenset[Node]


class Addresses(Protocol):
    """Where a formula finds its cells."""

    def this_row(self, column: Column) -> str:
        """Return the reference to this row's cell of a column."""

    def whole(self, column: Column) -> str:
        """Return the reference to a whole column."""

    def with_header(self, column: Column) -> str:
        """Return the reference to a whole column and its header cell above."""

    def named(self, name: str) -> str:
        """Return the reference to a named cell."""

    def header(self, column: Column) -> str:
        """Return the reference to a header cell of the column's table."""

    def is_step(self, cell: Column | Named) -> bool:
        """Tell whether a cell holds a formula that nobody sees: it is never blank, at most an empty text."""


def formula(node: Node, addresses: Addresses) -> str:
    """Write the expression as a spreadsheet formula without its leading ``=``, guarded against blanks."""
    return _guarded(node, addresses, EMPTY, frozenset())


def chart_formula(node: Node, addresses: Addresses) -> str:
    """Write the expression for a cell that a chart reads: ``#N/A``, which is not drawn, in place of a blank."""
    return f"IFERROR(({formula(node, addresses)})+0,NA())"


def required(node: Node) -> dict[Column | Named, None]:
    """List the cells that must hold numbers before the expression can be computed, in reading order."""
    match node:
        case Column() | Named():
            return {} if node.is_text else {node: None}
        case Aggregate(_, _, conditions, argument):
            parts = [c.value for c in conditions] + ([] if argument is None else [argument])
            return {cell: None for part in parts for cell in required(part)}
        case Call(operation, arguments):
            lazy = OPERATIONS[operation].lazy
            return {cell: None for i, part in enumerate(arguments) if i not in lazy for cell in required(part)}
        case _:
            return {}


def _asked_first(node: Node) -> dict[Column | Named, None]:
    """List those of the required cells that are read where a blank is not surely an error.

    That is in criteria, and in AND and OR, which some programs leave at the first part that decides.
    """
    match node:
        case Aggregate(operation, _, conditions, argument):
            values = [c.value for c in conditions] if operation in _BY_CRITERIA else []
            inner = {} if argument is None else _asked_first(argument)
            return {cell: None for value in values for cell in required(value)} | inner
        case Call("and" | "or"):
            return required(node)
        case Call(operation, arguments):
            lazy = OPERATIONS[operation].lazy
            return {cell: None for i, part in enumerate(arguments) if i not in lazy for cell in _asked_first(part)}
    return {}


def may_fail(node: Node) -> bool:
    """Tell whether the formula can give an error although its cells hold numbers."""
    match node:
        case Aggregate(operation):
            return True
        case Call(operation, arguments):
            row = OPERATIONS[operation]
            inner = [
                may_fail(a) or _may_be_blank(a) or _may_lack(a) for i, a in enumerate(arguments) if i not in row.lazy
            ]
            return row.fails or any(inner)
        case _:
            return False


def _may_be_blank(node: Node) -> bool:
    """Tell whether the formula can give an empty text where a number belongs."""
    if isinstance(node, Aggregate):
        return node.operation == "at"
    if isinstance(node, Constant):
        return isinstance(node.value, float) and math.isnan(node.value)
    if not isinstance(node, Call) or OPERATIONS[node.operation].kind != "number" or node.is_text:
        return False
    branches = [part for i, part in enumerate(node.arguments) if i in OPERATIONS[node.operation].lazy]
    return not all(isinstance(branch, Constant) and branch.value == branch.value for branch in branches)


def may_lack(node: Node) -> bool:
    """Tell whether a text can lack a number that it is made of."""
    return bool(required(node)) or may_fail(node) or _may_lack(node)


def _may_lack(node: Node) -> bool:
    """Tell whether a text is chosen, and what is chosen can lack a number."""
    if not isinstance(node, Call) or not node.is_text or node.operation not in ("if", "choose", "first of"):
        return False
    return any(may_lack(part) for part in node.arguments[1:] if part.is_text)


def _guarded(node: Node, addresses: Addresses, blank: str, known: Cells) -> str:
    """Write the body, giving `blank` when a cell it needs holds no number or the arithmetic fails."""
    if isinstance(node, Call) and node.operation == "first of":
        first, second = node.arguments
        return _guarded_first(first, _guarded(second, addresses, blank, known), addresses, known)
    if isinstance(node, Column | Named) and node.is_text:
        return _body(node, addresses, known) + '&""'  # a bare reference to a blank cell shows 0
    needed, sooner = [cell for cell in required(node) if cell not in known], _asked_first(node)
    steps = frozenset(cell for cell in needed if addresses.is_step(cell) and cell not in sooner)
    asked = [cell for cell in needed if cell not in steps]
    body = _body(node, addresses, known | frozenset(asked), steps, blank)
    if node in steps:
        body = body if blank == EMPTY else f"IFERROR({body}+0,{blank})"
    elif (steps or may_fail(node)) and blank != LACKING:
        body = f"IFERROR({body},{blank})"
    if not asked:
        return body
    cells = ",".join(_body(cell, addresses, known) for cell in asked)
    return f"IF(COUNT({cells})<{len(asked)},{blank},{body})"


def _guarded_first(first: Node, otherwise: str, addresses: Addresses, known: Cells) -> str:
    """Write `first`, giving `otherwise` wherever it is blank."""
    if first.is_text or _may_be_blank(first):
        value = _guarded(first, addresses, EMPTY, known)
        return f'IF({value}="",{otherwise},{value})'
    value = _guarded(first, addresses, otherwise, known)
    unguarded = not may_fail(first) and all(cell in known for cell in required(first))
    return f"({value})" if unguarded else value


def _body(node: Node, addresses: Addresses, known: Cells, steps: Cells = frozenset(), blank: str = LACKING) -> str:
    """Write an expression whose cells are `known` to be numbers, or are `steps` that shall make it fail if they are not.

    Where it is a text that is chosen, what is chosen gives `blank` if it lacks a number.
    """
    match node:
        case Constant(value):
            return _text_literal(value) if isinstance(value, str) else _number_literal(value)
        case Column():
            return addresses.this_row(node)
        case Named(name):
            return addresses.named(name)
        case Aggregate():
            return _aggregate_body(node, addresses, known, steps)
        case Call():
            return _call_body(node, addresses, known, steps, blank if node.is_text else EMPTY)
    raise TypeError(f"no such node: {node!r}")


def _aggregate_body(node: Aggregate, addresses: Addresses, known: Cells, steps: Cells) -> str:
    if node.operation == "row":
        return AGGREGATES[node.operation].excel((), (), addresses.header(node.columns[0]))
    reference = addresses.with_header if AGGREGATES[node.operation].places else addresses.whole
    columns = [reference(column) for column in node.columns]
    tests = [
        WrittenCondition(addresses.whole(c.column), c.sign, _sure(c.value, addresses, known, steps), _is_plain(c))
        for c in node.conditions
    ]
    argument = "" if node.argument is None else _sure(node.argument, addresses, known, steps)
    return AGGREGATES[node.operation].excel(columns, tests, argument)


def _is_plain(condition: Condition) -> bool:
    """Tell whether a condition asks for equality with a number that is surely there."""
    value = condition.value
    return condition.sign == "=" and not (value.is_text or may_fail(value) or _may_be_blank(value))


def _sure(node: Node, addresses: Addresses, known: Cells, steps: Cells) -> str:
    """Write a part of an aggregate, where a blank or a truth value would be taken for something else."""
    return _as_number(node, _firm(node, addresses, known, steps))


def _firm(node: Node, addresses: Addresses, known: Cells, steps: Cells) -> str:
    """Write a part so that it fails where it is a step without a number."""
    part = _body(node, addresses, known, steps)
    return f"({part}+0)" if node in steps else part


def _as_number(node: Node, part: str) -> str:
    """Make a part fail where it is blank, and a number where it is a truth value, which equals no number."""
    logical = isinstance(node, Call) and OPERATIONS[node.operation].kind == "logical"
    return f"(({part})+0)" if logical else _not_blank(node, part)


def _not_blank(node: Node, part: str) -> str:
    """Make a part fail where it is blank."""
    return f"({part}+0)" if _may_be_blank(node) else part


def _call_body(node: Call, addresses: Addresses, known: Cells, steps: Cells, blank: str) -> str:
    row = OPERATIONS[node.operation]
    if node.operation == "first of":
        return _guarded(node, addresses, blank, known | steps)
    if node.operation == "cell text":
        return _guarded(node.arguments[0], addresses, EMPTY, known | steps)
    if node.operation in ("present", "written"):
        return row.excel.format(_body(node.arguments[0], addresses, known))
    write = _body if node.operation in ARITHMETIC else _firm
    parts = [
        _guarded(part, addresses, blank, known | steps) if i in row.lazy else write(part, addresses, known, steps)
        for i, part in enumerate(node.arguments)
    ]
    if node.operation == "choose":
        return f"CHOOSE({','.join(parts)})"
    if node.operation in COMPARING | COMBINING:
        firm = _as_number if node.operation in COMPARING else _not_blank
        parts = [firm(part, text) for part, text in zip(node.arguments, parts, strict=True)]
    return row.excel.format(*bracketed(node, parts))


def _number_literal(value: float) -> str:
    if math.isnan(value):
        return '""'
    return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(value).upper()


def _text_literal(text: str) -> str:
    """Quote a text for a formula; spreadsheets refuse literals of more than 255 characters."""
    pieces = [text[i : i + LONGEST_TEXT] for i in range(0, len(text), LONGEST_TEXT)] or [""]
    return "&".join('"' + piece.replace('"', '""') + '"' for piece in pieces)
