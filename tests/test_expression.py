from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.expression_trees import (
    ABSENT,
    DEFINITIONS,
    GROUP,
    LABEL,
    LEVEL,
    MARK,
    NO_LABEL,
    NUMBERS,
    OFFSET,
    RATIO,
    ROWS,
    SETTING,
    SHARE,
    WHOLE,
    A,
    B,
    C,
    SheetValues,
    T,
    U,
    random_trees,
)
from xlsengine.derivative import NotDifferentiable, derivative
from xlsengine.expression import (
    BLANK,
    Aggregate,
    Call,
    Column,
    Condition,
    Constant,
    Named,
    Node,
    as_node,
    call,
    children,
    evaluate,
    flag,
    greater,
    join,
    lesser,
    references,
)
from xlsengine.words import words


def numbers(tree: Node, values: SheetValues | None = None) -> Any:
    return np.broadcast_to(np.asarray(evaluate(tree, values or SheetValues())), ROWS)


# --- building ------------------------------------------------------------------------------------------------------


def test_an_expression_has_no_truth_value() -> None:
    for use in (lambda: bool(A < B), lambda: A < B < C, lambda: (A < B) and B, lambda: not A):
        with pytest.raises(TypeError, match="no truth value"):
            use()


def test_python_arithmetic_builds_calls() -> None:
    assert call("add", A, 1.0) == A + 1
    assert call("subtract", 1.0, A) == 1 - A
    assert call("multiply", 2.0, A) == 2 * A
    assert call("divide", 1.0, A) == 1 / A
    assert (A < 1) == call("less", A, 1.0)
    assert (A <= B) == call("at most", A, B)
    assert ((A < B) | ~(B >= C)) == call("or", call("less", A, B), call("not", call("at least", B, C)))
    assert (A > B) & (B > C) == call("and", call("more", A, B), call("more", B, C))
    assert lesser(A, 1) == call("lesser", A, 1.0)
    assert greater(1, A) == call("greater", 1.0, A)
    assert flag(A < B) == (A < B).where(1.0, 0.0)
    assert join("a", T, "b") == call("join", call("join", "a", T), "b")


def test_powers_that_spreadsheets_disagree_on_are_never_written() -> None:
    assert Constant(1.0) == A**0
    assert A**1 is A
    assert call("power", A, 2.0) == A**2


def test_equals_chooses_numbers_or_texts() -> None:
    assert A.equals(1.0) == call("equal", A, 1.0)
    assert T.equals(U) == call("same text", T, U)
    assert (A > 0.0).where("a", T).equals("b").operation == "same text"  # type: ignore[attr-defined]


def test_only_a_cell_can_be_present() -> None:
    assert A.present() == call("present", A)
    assert LABEL.present() == call("written", LABEL)
    with pytest.raises(TypeError, match="only a column or a named cell"):
        (A + B).present()


@pytest.mark.parametrize(
    ("tree", "text"),
    [
        (A, False),
        (T, True),
        (LABEL, True),
        (as_node("x"), True),
        (BLANK, False),
        (A.fixed(1), True),
        (A < B, False),
        (T.otherwise("x"), True),
        ((A < B).where(A, B), False),
        (call("choose", WHOLE, "a", T), True),
        (Aggregate("text at", (T,), (), WHOLE), True),
        (Aggregate("text position", (T,), (), T), False),
    ],
)
def test_what_is_text(tree: Node, text: bool) -> None:
    assert tree.is_text is text


# --- references ----------------------------------------------------------------------------------------------------


def test_references_are_each_given_once_in_reading_order() -> None:
    tests = (Condition(GROUP, "=", SETTING),)
    tree = B + A * Aggregate("largest", (C, A), tests, OFFSET) + B
    assert list(references(tree)) == [B, A, C, GROUP, SETTING, OFFSET]
    assert children(Constant(1.0)) == children(A) == ()


def test_numbers_read_nothing_but_what_the_references_say() -> None:
    for tree in random_trees(300, depth=4, seed=17):
        values = SheetValues()
        evaluate(tree, values)
        assert values.read <= set(references(tree))  # what a blank or a condition spares is not read


# --- numbers -------------------------------------------------------------------------------------------------------


def test_errors_are_blank() -> None:
    for tree in (as_node(1.0) / 0.0, as_node(-1.0).sqrt(), as_node(0.0).ln(), as_node(999.0).exp(), BLANK + 1.0):
        assert np.isnan(numbers(tree)).all()


def test_a_text_cell_is_empty_and_a_blank_number_in_a_text_is_blank() -> None:
    assert numbers(join("a", NO_LABEL))[0] == "a"
    assert numbers(join("a", ABSENT.fixed(1)))[0] is None
    assert numbers(call("length", NO_LABEL))[0] == 0.0
    assert numbers(join("a", MARK))[1] == "a11X4.7/4.5"
    assert numbers(join("a", MARK))[2] == "a"


def test_a_branch_not_taken_may_be_blank() -> None:
    assert numbers((as_node(1.0) < 2.0).where(3.0, ABSENT))[0] == 3.0
    assert np.isnan(numbers((ABSENT < 2.0).where(3.0, 4.0))).all()
    assert numbers(ABSENT.otherwise(ABSENT).otherwise(5.0))[0] == 5.0


# --- words ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tree", "said"),
    [
        (A - (B - C), "A − (B − C (V/A))"),
        (A / (B * 2.0), "A / (B · 2)"),
        (-(A + B), "(−(A + B))"),
        ((A + B) ** 2, "(A + B)²"),
        (A - -2.0, "A − (−2)"),
        (A * (B < C).where(1.0, 2.0), "A · (1 if B < C (V/A), else 2)"),
        (lesser(A, B) + 1.0, "(the lesser of A and B) + 1"),
        (((A < B) | (B < C)) & (C < A), "(A < B or B < C (V/A)) and C (V/A) < A"),
        ((A < B) & (B < C) | (C < A), "A < B and B < C (V/A) or C (V/A) < A"),
        (A.otherwise(B), "A, or else B"),
        (join("n = ", A.fixed(1)), "“n = ” followed by (A with 1 decimals)"),
        (BLANK, "blank"),
        (as_node(1.0 / 3.0), "0.33333333"),
        (call("choose", WHOLE, A, 2.0), "choice by Whole of: A; 2"),
        (
            Aggregate("mean", (A,), (Condition(GROUP, "=", as_node(2.0)), Condition(LEVEL, ">", B))),
            "(mean of A where Group = 2 and Level > B)",
        ),
    ],
)
def test_words(tree: Node, said: str) -> None:
    assert words(tree, lambda cell: cell.name) == said


# --- derivatives ---------------------------------------------------------------------------------------------------


def test_a_reading_used_twice_counts_once() -> None:
    slope = numbers(derivative(A * A, A))
    np.testing.assert_allclose(slope, 2.0 * numbers(A))


def test_derivatives_look_through_derived_columns() -> None:
    tree = RATIO * RATIO * A
    by_a, by_b = derivative(tree, A, DEFINITIONS), derivative(tree, B, DEFINITIONS)
    known = np.isfinite(numbers(tree))
    np.testing.assert_allclose(numbers(by_a)[known], numbers(3.0 * A * A / (B * B))[known])
    np.testing.assert_allclose(numbers(by_b)[known], numbers(-2.0 * A**3 / B**3)[known])
    assert derivative(tree, A) == RATIO * RATIO
    assert numbers(derivative(tree, RATIO, DEFINITIONS))[0] == pytest.approx(2.0 * 0.75 * 1.5)


def test_aggregates_are_held_against_derived_columns_too() -> None:
    mean = Aggregate("mean", (RATIO,))
    assert derivative(mean * A, A) == mean
    with pytest.raises(NotDifferentiable, match="mean depends on"):
        derivative(mean * A, A, DEFINITIONS)
    assert derivative(mean * C, C, DEFINITIONS) == mean


def test_derivative_of_a_branch_needs_only_that_branch() -> None:
    slope = numbers(derivative((A > 0.0).where(A.sqrt(), A * 0.5), A))
    readings = np.array(NUMBERS[A], dtype=float)
    assert slope[readings < 0] == pytest.approx(0.5)
    np.testing.assert_allclose(slope[readings > 0], 0.5 / np.sqrt(readings[readings > 0]))
    assert derivative((A > 0.0).where(B, C), A) == Constant(0.0)


def test_derivative_by_a_named_cell_and_by_nothing_it_reads() -> None:
    assert derivative(SETTING * A, SETTING) == A
    assert derivative(A.fixed(1), B) == Constant(0.0)
    assert derivative(as_node("text"), B) == Constant(0.0)


SMOOTH = ("add", "subtract", "multiply", "divide", "negate", "sqrt", "exp", "ln", "power")
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
        case "exp":
            return (part / (1.0 + part * part)).exp()
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
            plain = {"sqrt": np.sqrt, "ln": np.log, "exp": np.exp, "negate": np.negative, "power": np.power}
            arithmetic = {"add": np.add, "subtract": np.subtract, "multiply": np.multiply, "divide": np.divide}
            return ({**plain, **arithmetic})[operation](*parts)
    raise AssertionError(tree)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(tree=smooth_trees(), by=CELLS)
def test_derivative_is_that_of_a_complex_step(tree: Node, by: Column | Named) -> None:
    with np.errstate(all="ignore"):
        expected = complex_slope(tree, by).imag / 1e-30
    found = numbers(derivative(tree, by))
    known = np.isfinite(numbers(tree)) & np.isfinite(expected) & np.isfinite(found)
    scale = np.maximum(np.abs(expected), 1e-6)
    assert (np.abs(found - expected)[known] <= 1e-7 * scale[known]).all()
