"""How a figure moves with an error, against a complex step, which loses no digits."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.expression_trees import DEFINITIONS, RATIO, ROWS, SETTING, SHARE, A, B, C, SheetValues
from xlsengine.bench.propagation.terms import Input, NotDifferentiable, change
from xlsengine.expression import Aggregate, Call, Column, Constant, Named, Node, as_node, call, evaluate


def numbers(tree: Node) -> Any:
    return np.broadcast_to(np.asarray(evaluate(tree, SheetValues())), ROWS)


SMOOTH = ("add", "subtract", "multiply", "divide", "negate", "sqrt", "power")
CELLS = st.sampled_from([A, B, C, SHARE, SETTING])


@st.composite
def smooth_trees(draw: st.DrawFn, depth: int = 3) -> Node:
    if depth == 0:
        return draw(CELLS | st.sampled_from([as_node(value) for value in (0.5, 2.0, -3.0)]))
    operation = draw(st.sampled_from(SMOOTH))
    part = draw(smooth_trees(depth - 1))
    match operation:
        case "add" | "subtract" | "multiply" | "divide":
            return call(operation, part, draw(smooth_trees(depth - 1)))
        case "power":
            return part ** draw(st.sampled_from([2.0, 3.0, -1.0, 0.5]))
    return Call(operation, (part,))


def complex_slope(tree: Node, by: Column | Named) -> Any:
    """Differentiate by a complex step, which loses no digits; a blank is left as it is.

    Squire and Trapp 1998, SIAM Review 40(1), 110-112, https://doi.org/10.1137/S003614459631241X
    """
    step = 1e-30
    match tree:
        case Constant(value):
            return np.full(ROWS, value, dtype=complex)
        case Column() | Named():
            return numbers(tree) + (1j * step if tree == by else 0.0)
        case Call(operation, arguments):
            parts = [complex_slope(part, by) for part in arguments]
            plain = {"sqrt": np.sqrt, "negate": np.negative, "power": np.power}
            arithmetic = {"add": np.add, "subtract": np.subtract, "multiply": np.multiply, "divide": np.divide}
            return ({**plain, **arithmetic})[operation](*parts)
    raise AssertionError(tree)


def by_one(*cells: Column | Named) -> Input:
    """Return an error that each of these cells moves with by one unit."""
    return Input("error", "Error", Constant(1.0), tuple((cell, Constant(1.0)) for cell in cells))


@settings(max_examples=300, deadline=None, derandomize=True)
@given(tree=smooth_trees(), by=CELLS)
def test_change_is_that_of_a_complex_step(tree: Node, by: Column | Named) -> None:
    with np.errstate(all="ignore"):
        expected = complex_slope(tree, by).imag / 1e-30
    found = numbers(change(tree, by_one(by)))
    known = np.isfinite(numbers(tree)) & np.isfinite(expected) & np.isfinite(found)
    scale = np.maximum(np.abs(expected), 1e-6)
    assert (np.abs(found - expected)[known] <= 1e-7 * scale[known]).all()


def test_changes_look_through_derived_columns() -> None:
    tree = RATIO * RATIO * A
    by_a, by_b = (change(tree, by_one(cell), DEFINITIONS) for cell in (A, B))
    known = np.isfinite(numbers(tree)) & (numbers(A) != 0.0)  # a product both of whose parts move has no share of 0
    np.testing.assert_allclose(numbers(by_a)[known], numbers(3.0 * A * A / (B * B))[known])
    np.testing.assert_allclose(numbers(by_b)[known], numbers(-2.0 * A**3 / B**3)[known])
    assert change(tree, by_one(A)) == RATIO * RATIO


def test_what_moves_with_nothing_and_by_a_step() -> None:
    assert change((A > 0.0).where(B, C), by_one(A)) == Constant(0.0)
    assert change(A.fixed(1), by_one(B)) == Constant(0.0)
    assert change(SETTING * A, by_one(SETTING)) == A
    for step in (A.exp(), Aggregate("mean", (A,)), Aggregate("at", (B,), (), A)):
        with pytest.raises(NotDifferentiable):
            change(step, by_one(A))


def test_a_cell_that_is_0_moves_what_is_made_of_it() -> None:
    assert change(SETTING * A / 1000.0, by_one(SETTING)) == A / 1000.0
