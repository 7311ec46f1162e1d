"""The live formula of an expression, with the guard that keeps a blank reading blank.

A spreadsheet takes a blank cell for 0 and an empty text for more than any number. So every formula asks first whether
the cells it needs hold numbers. A step, which holds a formula that nobody sees, is never blank but an empty text: in
arithmetic that is an error, which is blank again. That guard is generated here and nowhere else; no formula is typed by
hand.
"""

import math
from typing import Protocol

from xlsengine.aggregates import AGGREGATES, WrittenCondition, one_cell
from xlsengine.blanks import (
    Cells,
    asked_first,
    is_logical,
    may_be_blank,
    may_fail,
    required,
    required_if_chosen,
    told_by,
)
from xlsengine.computing import kept
from xlsengine.expression import Aggregate, Call, Column, Condition, Constant, Named, Node
from xlsengine.operations import OPERATIONS
from xlsengine.words import bracketed

LONGEST_TEXT = 250
SHORT = 12
"""Letters up to which what stands in for a blank may be written twice."""
COMPARING = frozenset(("less", "at most", "more", "at least", "equal", "unequal", "lesser", "greater"))
COMBINING = frozenset(("and", "or"))  # like those above, these take an empty text without an error
ARITHMETIC = frozenset(("add", "subtract", "multiply", "divide", "power", "negate"))
NO_CELLS: Cells = frozenset()
EMPTY = '""'
LACKING = "NA()"
"""What a chosen text gives where it lacks a number, as a part of more: an empty text would leave a gap in a sentence."""


class Addresses(Protocol):
    """Where a formula finds its cells."""

    def this_row(self, column: Column) -> str:
        """Return the reference to this row's cell of a column."""

    def whole(self, column: Column, with_header: bool = False) -> str:
        """Return the reference to a whole column, and its header cell above."""

    def named(self, name: str) -> str:
        """Return the reference to a named cell."""

    def header(self, column: Column) -> str:
        """Return the reference to a header cell of the column's table."""

    def is_step(self, cell: Column | Named) -> bool:
        """Tell whether a cell holds a formula that nobody sees: it is never blank, at most an empty text."""


def formula(node: Node, addresses: Addresses) -> str:
    """Write the expression as a spreadsheet formula without its leading ``=``, guarded against blanks."""
    return _guarded(node, addresses, EMPTY, NO_CELLS)


def chart_formula(node: Node, addresses: Addresses) -> str:
    """Write the expression for a cell that a chart reads: ``#N/A``, which is not drawn, in place of a blank."""
    return f"IFERROR(({formula(node, addresses)})+0,NA())"


def _guarded(node: Node, addresses: Addresses, blank: str, known: Cells, caught: bool = False) -> str:
    """Write the body, giving `blank` when a cell it needs holds no number or the arithmetic fails.

    An error that is `caught` outside, where it gives the same blank, stays one.
    """
    if isinstance(node, Constant):
        return _literal(node)
    if isinstance(node, Call) and node.operation == "first of":
        first, second = node.arguments
        return _guarded_first(first, _guarded(second, addresses, blank, known, caught), addresses, known)
    if isinstance(node, Column | Named) and node.is_text:
        return _body(node, addresses, known) + '&""'  # a bare reference to a blank cell shows 0
    needed = [cell for cell in required(node) if cell not in known]
    steps = frozenset(filter(addresses.is_step, needed)).difference(asked_first(node)) if needed else NO_CELLS
    asked = [cell for cell in needed if cell not in steps] if steps else needed
    body = _body(node, addresses, known.union(asked) if asked else known, steps, blank)
    if len(steps) == 1 and node in steps:
        body = body if blank == EMPTY else f"IFERROR({body}+0,{blank})"
    elif blank != LACKING and not caught and (may_fail(node) or steps or _chooses_steps(node, addresses, asked)):
        body = f"IFERROR({body},{blank})"
    if not asked:
        return body
    cells = ",".join(_body(cell, addresses, known) for cell in asked)
    return f"IF(COUNT({cells})<{len(asked)},{blank},{body})"


def _chooses_steps(node: Node, addresses: Addresses, asked: list[Column | Named]) -> bool:
    return any(addresses.is_step(cell) and cell not in asked for cell in required_if_chosen(node))


def _guarded_first(first: Node, otherwise: str, addresses: Addresses, known: Cells) -> str:
    """Write `first`, giving `otherwise` wherever it is blank."""
    if first.is_text:
        value = _guarded(first, addresses, EMPTY, known)
        return value if otherwise == EMPTY else f'IF({value}="",{otherwise},{value})'
    if otherwise == "0" and isinstance(first, Column | Named) and first not in known:
        return f"SUM({_body(first, addresses, known)})"
    if otherwise == "0" and isinstance(first, Aggregate) and first.operation == "at":
        return f"IFERROR({_fetched(first, addresses, known, frozenset(required(first)))}+0,0)"
    if not may_be_blank(first):
        value = _guarded(first, addresses, otherwise, known)
        if len(otherwise) <= SHORT or value.count(otherwise) < 2:
            return value if otherwise in value else f"({value})"
    value = _guarded(first, addresses, LACKING, known | _factors(first) if otherwise == "0" else known)
    return f"IFERROR({f'({value})' if is_logical(first) else value}+0,{otherwise})"


def _factors(node: Node) -> Cells:
    """Return the cells that a product is made of: where one is blank it comes to 0."""
    parts = node.arguments if isinstance(node, Call) and node.operation == "multiply" else ()
    return frozenset(part for part in parts if isinstance(part, Column | Named))


def _body(node: Node, addresses: Addresses, known: Cells, steps: Cells = NO_CELLS, blank: str = LACKING) -> str:
    """Write an expression whose cells are `known` to be numbers, or are `steps` that shall make it fail if they are not.

    Where it is a text that is chosen, what is chosen gives `blank` if it lacks a number.
    """
    if isinstance(node, Call):
        return _call_body(node, addresses, known, steps, blank if node.is_text else EMPTY)
    if isinstance(node, Constant):
        return _literal(node)
    if isinstance(node, Column):
        return addresses.this_row(node)
    if isinstance(node, Named):
        return addresses.named(node.name)
    if isinstance(node, Aggregate):
        return _aggregate_body(node, addresses, known, steps)
    raise TypeError(f"no such node: {node!r}")


def _aggregate_body(node: Aggregate, addresses: Addresses, known: Cells, steps: Cells) -> str:
    if node.operation == "row":
        return AGGREGATES[node.operation].excel((), (), addresses.header(node.columns[0]))
    if node.operation == "at":
        cell = _fetched(node, addresses, known, steps)
        sure = addresses.is_step(node.columns[0]) and _is_step_place(node, addresses)
        return f"({cell}+0)" if sure else AGGREGATES[node.operation].excel((), (), cell)
    columns = [addresses.whole(column, AGGREGATES[node.operation].places) for column in node.columns]
    tests = [
        WrittenCondition(addresses.whole(c.column), c.sign, _sure(c.value, addresses, known, steps), _is_plain(c))
        for c in node.conditions
    ]
    argument = "" if node.argument is None else _sure(node.argument, addresses, known, steps)
    return AGGREGATES[node.operation].excel(columns, tests, argument)


def _fetched(node: Aggregate, addresses: Addresses, known: Cells, steps: Cells) -> str:
    """Write the cell of a column in a row: the header, or an error, where there is no such row."""
    assert node.argument is not None
    column = addresses.whole(node.columns[0], with_header=True)
    if _is_step_place(node, addresses):  # never below 0, and an error where it is blank
        return f"INDEX({column},{_body(node.argument, addresses, known)}+1)"
    return one_cell(column, _sure(node.argument, addresses, known, steps))


def _is_step_place(node: Aggregate, addresses: Addresses) -> bool:
    return isinstance(node.argument, Column | Named) and addresses.is_step(node.argument)


def _is_plain(condition: Condition) -> bool:
    """Tell whether a condition asks for equality with a number that is surely there, or compares with one written out."""
    value = condition.value
    if condition.sign in ("=", "<>"):
        return condition.sign == "=" and not (value.is_text or may_fail(value) or may_be_blank(value))
    return isinstance(value, Constant) and isinstance(value.value, float) and _number_literal(value.value).isdigit()


def _sure(node: Node, addresses: Addresses, known: Cells, steps: Cells) -> str:
    """Write a part of an aggregate, where a blank or a truth value would be taken for something else."""
    return _as_number(node, _firm(node, addresses, known, steps))


def _firm(node: Node, addresses: Addresses, known: Cells, steps: Cells) -> str:
    """Write a part so that it fails where it is a step without a number."""
    part = _body(node, addresses, known, steps)
    return f"({part}+0)" if steps and isinstance(node, Column | Named) and node in steps else part


def _as_number(node: Node, part: str) -> str:
    """Make a part fail where it is blank, and a number where it is a truth value, which equals no number."""
    return f"(({part})+0)" if is_logical(node) else _not_blank(node, part)


def _not_blank(node: Node, part: str) -> str:
    """Make a part fail where it is blank."""
    return f"({part}+0)" if may_be_blank(node) and not part.endswith("+0)") else part


def _call_body(node: Call, addresses: Addresses, known: Cells, steps: Cells, blank: str) -> str:
    row, sure = OPERATIONS[node.operation], known | steps if steps else known
    if node.operation == "first of":
        return _guarded(node, addresses, blank, sure, caught=True)
    if node.operation == "cell text":
        return _guarded(node.arguments[0], addresses, EMPTY, sure)
    if node.operation in ("present", "written"):
        return row.excel.format(_body(node.arguments[0], addresses, known))
    if node.operation in COMBINING:
        parts = [_not_blank(part, _firm(part, addresses, known, steps)) for part in _in_one(node, node.operation)]
        return f"{row.excel.partition('(')[0]}({','.join(parts)})"
    write = _body if node.operation in ARITHMETIC else _firm
    told = sure | told_by(node.arguments[0]) if node.operation == "if" else sure
    parts = [
        _guarded(part, addresses, blank, told if i == 1 else sure, caught=True)
        if i in row.lazy
        else write(part, addresses, known, steps)
        for i, part in enumerate(node.arguments)
    ]
    if node.operation == "choose":
        return f"CHOOSE({','.join(parts)})"
    if node.operation in COMPARING:
        parts = [_as_number(part, text) for part, text in zip(node.arguments, parts, strict=True)]
    return _template(node).format(*bracketed(node, parts))


def _in_one(node: Node, operation: str) -> list[Node]:
    """List what one AND or OR takes in."""
    if isinstance(node, Call) and node.operation == operation:
        return [part for argument in node.arguments for part in _in_one(argument, operation)]
    return [node]


def _template(node: Call) -> str:
    """Return how an operation is written, without what its arguments make needless."""
    match node.operation, node.arguments:
        case "fixed", (Call("whole part" | "round down" | "round up"), _):
            return "FIXED({0}+0,{1},TRUE)"
        case "power", (Column() | Named(), Constant(float() as exponent)) if exponent > 0:
            return "{0}^{1}"
        case "negate", (Column() | Named(),):
            return "(0-{0})"
    return OPERATIONS[node.operation].excel


@kept
def _literal(node: Constant) -> str:
    return _text_literal(node.value) if isinstance(node.value, str) else _number_literal(node.value)


def _number_literal(value: float) -> str:
    if math.isnan(value):
        return '""'
    return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(value).upper()


def _text_literal(text: str) -> str:
    """Quote a text for a formula; spreadsheets refuse literals of more than 255 characters."""
    pieces = [text[i : i + LONGEST_TEXT] for i in range(0, len(text), LONGEST_TEXT)] or [""]
    return "&".join('"' + piece.replace('"', '""') + '"' for piece in pieces)
