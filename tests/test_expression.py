from typing import Any

import numpy as np
import pytest

from tests.expression_trees import (
    ABSENT,
    GROUP,
    LABEL,
    LEVEL,
    MARK,
    NO_LABEL,
    OFFSET,
    ROWS,
    SETTING,
    WHOLE,
    A,
    B,
    C,
    SheetValues,
    T,
    U,
    random_trees,
)
from xlsengine.expression import (
    BLANK,
    Aggregate,
    Condition,
    Constant,
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


def test_what_is_text() -> None:
    texts = (T, LABEL, as_node("x"), A.fixed(1), T.otherwise("x"), call("choose", WHOLE, "a", T))
    assert all(tree.is_text for tree in (*texts, Aggregate("text at", (T,), (), WHOLE)))
    numbers = (A, BLANK, A < B, (A < B).where(A, B), Aggregate("text position", (T,), (), T))
    assert not any(tree.is_text for tree in numbers)


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
