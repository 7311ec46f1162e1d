import numpy as np
import pytest

from tests.expression_trees import ABSENT, ROWS, SHARE, TAKES, WHOLE, A, B, C, SheetValues, T, TreeMaker, U
from tests.instruments.recalculate import requires_libreoffice
from tests.judging_trees import beyond_ironcalc, disagreements
from tests.tree_books import Values, tree_fixtures
from xlsengine.expression import (
    Call,
    Node,
    as_node,
    call,
    evaluate,
    join,
    lesser,
    references,
)
from xlsengine.operations import OPERATIONS, choose_where, filled
from xlsengine.text_operations import fixed_text
from xlsengine.words import words

TREES_EACH = 12
BY_HAND = [
    call("subtract", A, call("subtract", B, C)),
    call("subtract", call("subtract", A, B), C),
    call("divide", A, call("multiply", B, C)),
    call("divide", A, call("divide", B, C)),
    call("divide", A, -(B * C)),
    call("power", -A, 2.0),
    call("power", as_node(-3.0), 2.0),
    call("power", A, 0.2),  # fifth root of a negative number
    call("subtract", A, -2.0),
    call("multiply", A, B < C),
    call("equal", A < B, 1.0),
    call("equal", C * 3.0, 0.9),
    call("at most", as_node(0.1) * 3.0, 0.3),
    call("unequal", as_node(0.1) + 0.2, 0.3),
    call("lesser", (A < B).where(ABSENT, A), 3.0),
    call("and", (A < B).where(ABSENT, A), B),
    call("not", A),
    call("round", as_node(2.675), 2.0),
    call("round", as_node(-0.5), 0.0),
    call("whole part", as_node(4.35) * 100.0),
    call("choose", A + 1.0, "one", T, U),
    call("choose", WHOLE, A, B / 0.0, 3.0, ABSENT),
    call("join", T, as_node('say "yes", ~*?')),
    call("join", "a", (A < B).where(ABSENT, A).fixed(1)),
    call("join", "a", (A < B).where(ABSENT.fixed(1), T)),
    call("fixed", as_node(-0.04), 1.0),
    call("same text", T, "YES"),
    call("same text", U, ""),
    call("link", join("#'Sheet of trees'!A", WHOLE.fixed(0)), T),
    call("first of", WHOLE + 1.0 - WHOLE, 7.0) * 2.0,
]


def trees() -> list[Call]:
    """Make some trees with each operation at the root, after those written by hand."""
    maker = TreeMaker(seed=7)
    made = [maker.tree(operation, depth=2) for operation in OPERATIONS for _ in range(TREES_EACH)]
    return [tree for tree in (*BY_HAND, *made) if isinstance(tree, Call)]


TREES = trees()
book, in_ironcalc, in_libreoffice = tree_fixtures(TREES)


def test_every_operation_is_covered() -> None:
    assert TAKES.keys() == OPERATIONS.keys()
    assert {tree.operation for tree in TREES if not beyond_ironcalc(tree)} == OPERATIONS.keys()


@pytest.mark.parametrize("operation", OPERATIONS)
def test_number_is_what_ironcalc_gives(operation: str, in_ironcalc: Values) -> None:
    def fits(tree: Node) -> bool:
        return isinstance(tree, Call) and tree.operation == operation and not beyond_ironcalc(tree)

    assert disagreements(TREES, in_ironcalc, fits) == []


@requires_libreoffice
@pytest.mark.parametrize("operation", OPERATIONS)
def test_number_is_what_libreoffice_gives(operation: str, in_libreoffice: Values) -> None:
    def fits(tree: Node) -> bool:
        return isinstance(tree, Call) and tree.operation == operation

    assert disagreements(TREES, in_libreoffice, fits) == []


# --- one tree of each operation, over cells that differ ------------------------------------------------------------

PARTS: dict[str, list[Node]] = {
    "n": [C - SHARE, SHARE + 1.0],
    "x": [C, SHARE, A],
    "l": [C < SHARE, A < B],
    "t": [T, U],
    "N": [C],
    "T": [T],
    "P": [WHOLE],
    "S": [SHARE],
    "F": [WHOLE * 3.0],
    "D": [as_node(2.0)],
    "E": [as_node(3.0)],
}


def example(operation: str) -> Call:
    taken = {letter: iter(parts) for letter, parts in PARTS.items()}
    return call(operation, *(next(taken[letter]) for letter in TAKES[operation]))


@pytest.mark.parametrize("operation", OPERATIONS)
def test_words_name_every_cell(operation: str) -> None:
    tree = example(operation)
    said = words(tree, lambda cell: f"«{cell.name}»")
    assert all(f"«{cell.name}»" in said for cell in references(tree))
    assert "{" not in said
    assert "}" not in said


@pytest.mark.parametrize("operation", OPERATIONS)
def test_a_blank_makes_a_strict_operation_blank(operation: str) -> None:
    tree = example(operation)
    for place, letter in enumerate(TAKES[operation]):
        if letter in "nlP" and place not in OPERATIONS[operation].lazy:
            blank = ABSENT < 1.0 if letter == "l" else ABSENT
            parts = (*tree.arguments[:place], blank, *tree.arguments[place + 1 :])
            found = np.broadcast_to(np.asarray(evaluate(call(operation, *parts), SheetValues())), ROWS)
            assert all(value is None or value != value for value in found)


# --- numbers -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("operation", ["less", "at most", "more", "at least", "equal", "unequal", "and", "or"])
def test_comparisons_pass_blanks_on(operation: str) -> None:
    compare = OPERATIONS[operation].numpy
    for left, right in ((np.nan, 1.0), (1.0, np.nan), (np.nan, np.nan)):
        assert np.isnan(compare(left, right))


def test_comparisons_look_at_15_digits() -> None:
    assert OPERATIONS["equal"].numpy(0.1 * 3.0, 0.3) == 1.0
    assert OPERATIONS["less"].numpy(0.3, 0.1 * 3.0) == 0.0
    assert OPERATIONS["less"].numpy(0.3, 0.3 + 1e-14) == 1.0
    assert OPERATIONS["equal"].numpy(np.inf, 1.0) == 0.0


def test_half_is_rounded_away_from_zero() -> None:
    assert [fixed_text(value, 0) for value in (0.5, 1.5, 2.5, -0.5)] == ["1", "2", "3", "-1"]
    assert [fixed_text(value, 2) for value in (1.005, 2.675, -0.001, 1e15)] == [
        "1.01",
        "2.68",
        "0.00",
        "1000000000000000.00",
    ]
    assert fixed_text(np.nan, 2) is None


def test_texts_that_are_blank_and_texts_that_are_empty() -> None:
    assert filled(None) == ""
    assert list(filled(np.array(["a", None, ""], dtype=object))) == ["a", "", ""]
    assert OPERATIONS["join"].numpy("a", None) is None
    assert OPERATIONS["join"].numpy("a", "") == "a"
    assert list(choose_where(np.array([1.0, 0.0, np.nan]), None, "b")) == [None, "b", None]


def test_lesser_of_an_overflow_is_blank_until_it_is_held() -> None:
    assert np.isnan(evaluate(lesser(as_node(1000.0).exp(), 1.0), SheetValues()))
