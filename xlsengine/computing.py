"""What computes an operation, from what computes its arguments, with every choice that can be made beforehand.

What is the same in every row is one value, and is computed once. A number that is blank throughout goes no further: the
other argument of its operation is not computed, nor is the branch that a condition leaves out.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeVar

import numpy as np

from xlsengine.operations import OPERATIONS, STAY_FINITE, choose_where, finite

Computing = Callable[[Any], Any]
"""Takes what an evaluation finds its numbers in, and returns a value: one, or an array with one for each row."""
Answer = TypeVar("Answer")
Key = TypeVar("Key")


def kept(question: Callable[[Any], Answer]) -> Callable[[Any], Answer]:
    """Keep the answer to a question about a node with the node: trees are long, and asked often."""
    name = f"_{question.__name__}"

    def asked(node: Any) -> Answer:
        held = node.__dict__  # functools.cached_property locks, which takes longer than most answers
        if name not in held:
            held[name] = question(node)
        answer: Answer = held[name]
        return answer

    return asked


def union(parts: Iterable[dict[Key, None]]) -> dict[Key, None]:
    """Return what is in any of the parts, in their order; no part is copied where the others are empty."""
    filled = [part for part in parts if part]
    if len(filled) == 1:
        return filled[0]
    found: dict[Key, None] = {}
    for part in filled:
        found |= part  # asks no node for its hash again
    return found


def of_rows(column: Any) -> Any:
    """Return a column's values, or the one that stands in every row: such columns are held without steps."""
    return column.item(0) if column.strides == (0,) else column


def calling(operation: str, parts: Sequence[Computing], is_text: bool) -> Computing:
    """Return what computes an operation, with NaN for what is infinite."""
    if operation == "if":
        condition, yes, no = parts
        return _choosing(condition, yes, no, is_text)
    if operation == "first of" and not is_text:
        return _first_known(*parts)
    row = OPERATIONS[operation]
    call = _plain if row.lazy or is_text else _strict
    return call(row.numpy, parts, bounded=operation not in STAY_FINITE and not is_text)


def _plain(function: Callable[..., Any], parts: Sequence[Computing], bounded: bool) -> Computing:
    if bounded:
        return lambda values: finite(function(*[part(values) for part in parts]))
    return lambda values: function(*[part(values) for part in parts])


def _strict(function: Callable[..., Any], parts: Sequence[Computing], bounded: bool) -> Computing:
    def computed(values: Any) -> Any:
        taken = []
        for part in parts:
            value = part(values)
            if isinstance(value, float) and value != value:
                return value
            taken.append(value)
        return finite(function(*taken)) if bounded else function(*taken)

    return computed


def _choosing(condition: Computing, yes: Computing, no: Computing, is_text: bool) -> Computing:
    blank = None if is_text else math.nan

    def chosen(values: Any) -> Any:
        holds = condition(values)
        if not isinstance(holds, float):
            return choose_where(holds, yes(values), no(values))
        if holds != holds:
            return blank
        return yes(values) if holds else no(values)

    return chosen


def _first_known(first: Computing, second: Computing) -> Computing:
    function = OPERATIONS["first of"].numpy

    def known(values: Any) -> Any:
        found = first(values)
        if isinstance(found, float):
            return second(values) if found != found else found
        return function(found, second(values)) if np.isnan(found).any() else found

    return known
