import numpy as np
import pytest

from tests.expression_trees import (
    AGGREGATE_COLUMNS,
    GROUP,
    KIND,
    LABEL,
    LEVEL,
    MARK,
    OFFSET,
    RATIO,
    SHARE,
    WHOLE,
    A,
    B,
    C,
    SheetValues,
    T,
    TreeMaker,
    U,
)
from tests.instruments.recalculate import requires_libreoffice
from tests.judging_trees import beyond_ironcalc, disagreements
from tests.tree_books import Values, tree_fixtures
from xlsengine.aggregates import AGGREGATES, rows_where
from xlsengine.expression import Aggregate, Column, Condition, Node, as_node, call, evaluate, references
from xlsengine.words import words

TREES_EACH = 15
WITHOUT_ARGUMENT = ("row", "dot", "standard deviation", "slope", "intercept", "residual deviation")
TEXTS_TO_FIND = ("5*4.3", "5?4~3", "=1+1", "YES", '12" "q"', "", "*", "11*", "no such text")


def where(column: Column, sign: str, value: Node | float | str) -> Condition:
    return Condition(column, sign, as_node(value))


ROW = Aggregate("row", (A,))
BY_HAND = [
    *(Aggregate("text position", (T,), (), as_node(text)) for text in TEXTS_TO_FIND),
    *(Aggregate("sum", (A,), (where(KIND, "=", text),)) for text in TEXTS_TO_FIND),
    *(Aggregate("mean", (RATIO,), (where(KIND, "<>", text),)) for text in TEXTS_TO_FIND),
    *(Aggregate("sum", (RATIO,), (where(LEVEL, sign, 2.25),)) for sign in ("=", "<>", "<", "<=", ">", ">=")),
    *(Aggregate("at", (A,), (), place) for place in (ROW - 1.0, ROW + 1.0, as_node(99.0), WHOLE, as_node(-1.0))),
    *(Aggregate("text at", (MARK,), (), place) for place in (ROW - 1.0, ROW + 1.0, as_node(99.0), WHOLE)),
    *(Aggregate("largest", (SHARE,), (where(GROUP, "=", 2.0),), as_node(float(place))) for place in range(1, 9)),
    Aggregate("sum", (A,), (where(GROUP, "=", C / 0.0),)),
    Aggregate("sum", (A,), (where(B, "=", Aggregate("mean", (A,), (where(GROUP, "=", 9.0),))),)),
    Aggregate("mean", (A,), (where(GROUP, "=", 9.0),)),
    Aggregate("mean", (A,), (where(GROUP, ">", 9.0),)),
    Aggregate("sum", (A,), (where(GROUP, "=", 9.0),)),
    Aggregate("count", (A,), (where(LEVEL, ">", Aggregate("at", (A,), (), WHOLE)),)),
    Aggregate("position", (RATIO,), (), (A < B).where(Aggregate("at", (RATIO,), (), WHOLE), OFFSET)),
    A - ROW,
    A / Aggregate("mean", (A,), (where(LEVEL, ">", 0.0),)),
    call("join", Aggregate("text at", (T,), (), WHOLE), LABEL),
    call("length", Aggregate("text at", (T,), (), ROW - 1.0)),
]


def trees() -> list[Node]:
    """Make some random ones of each aggregate, after those written by hand."""
    maker = TreeMaker(seed=11)
    return [*BY_HAND, *(maker.aggregate(name, depth=2) for name in AGGREGATES for _ in range(TREES_EACH))]


TREES = trees()


def holds(tree: Node, name: str) -> bool:
    return isinstance(tree, Aggregate) and tree.operation == name


book, in_ironcalc, in_libreoffice = tree_fixtures(TREES)


def test_every_aggregate_is_covered() -> None:
    assert AGGREGATE_COLUMNS.keys() == AGGREGATES.keys()
    for name, row in AGGREGATES.items():
        own = [tree for tree in TREES if isinstance(tree, Aggregate) and tree.operation == name]
        assert len(own) >= TREES_EACH
        assert (row.by_group is not None) == any(tree.conditions for tree in own)


@pytest.mark.parametrize("name", AGGREGATES)
def test_number_is_what_ironcalc_gives(name: str, in_ironcalc: Values) -> None:
    assert disagreements(TREES, in_ironcalc, lambda t: holds(t, name) and not beyond_ironcalc(t)) == []


@requires_libreoffice
@pytest.mark.parametrize("name", AGGREGATES)
def test_number_is_what_libreoffice_gives(name: str, in_libreoffice: Values) -> None:
    assert disagreements(TREES, in_libreoffice, lambda t: holds(t, name)) == []


def test_aggregates_inside_an_expression_in_ironcalc(in_ironcalc: Values) -> None:
    assert disagreements(TREES, in_ironcalc, lambda t: not isinstance(t, Aggregate)) == []


@requires_libreoffice
def test_aggregates_inside_an_expression_in_libreoffice(in_libreoffice: Values) -> None:
    assert disagreements(TREES, in_libreoffice, lambda t: not isinstance(t, Aggregate)) == []


@pytest.mark.parametrize("name", AGGREGATES)
def test_words_name_every_cell(name: str) -> None:
    tests = (where(GROUP, "=", OFFSET), where(KIND, "<>", LABEL)) if AGGREGATES[name].by_group else ()
    argument = {"text position": T, **dict.fromkeys(WITHOUT_ARGUMENT)}.get(name, WHOLE)
    tree = Aggregate(name, AGGREGATE_COLUMNS[name][0], tests, argument if not tests or name == "largest" else None)
    said = words(tree, lambda cell: f"«{cell.name}»")
    assert all(f"«{cell.name}»" in said for cell in references(tree))
    assert "{" not in said
    assert "}" not in said


@pytest.mark.parametrize("name", AGGREGATES)
def test_conditions_where_none_are_taken(name: str) -> None:
    if AGGREGATES[name].by_group:
        assert Aggregate(name, (A,), (where(GROUP, "=", 1.0),)).conditions
    else:
        with pytest.raises(ValueError, match=f"“{name}” takes no conditions"):
            Aggregate(name, (A,), (where(GROUP, "=", 1.0),))


def test_rows_where_a_condition_holds() -> None:
    numbers = np.array([1.0, 2.0, np.nan, 0.1 * 3.0])
    texts = np.array(["yes", "YES", None, "no"], dtype=object)
    assert rows_where(numbers, "=", 0.3).tolist() == [False, False, False, True]
    assert rows_where(numbers, "<>", 1.0).tolist() == [False, True, False, True]
    assert rows_where(numbers, ">=", 1.0).tolist() == [True, True, False, False]
    assert rows_where(numbers, "=", np.nan).tolist() == [False] * 4
    assert rows_where(texts, "=", "Yes").tolist() == [True, True, False, False]
    assert rows_where(texts, "<>", "Yes").tolist() == [False, False, False, True]


def test_numbers_of_hand_counted_cells() -> None:
    def value(tree: Node) -> float:
        return float(np.asarray(evaluate(tree, SheetValues())).flat[0])

    assert value(Aggregate("count", (A,))) == 10.0
    assert value(Aggregate("count", (U,), (where(GROUP, "=", 2.0),))) == 8.0
    assert value(Aggregate("sum", (SHARE,))) == 4.625
    assert value(Aggregate("largest", (A,), (), as_node(2.0))) == 7.75
    assert value(Aggregate("smallest", (A, B), (), as_node(2.0))) == -1.25
    assert value(Aggregate("position", (WHOLE,), (), as_node(4.0))) == 8.0
    assert value(Aggregate("text position", (U,), (), as_node("No"))) == 2.0
    assert value(Aggregate("dot", (WHOLE, SHARE))) == 8.375
    assert value(Aggregate("dot", (WHOLE, SHARE), (where(GROUP, "=", 1.0),))) == 2.25
    assert value(Aggregate("standard deviation", (SHARE,))) == pytest.approx((0.8765625 / 9) ** 0.5)
    assert value(Aggregate("slope", (SHARE, SHARE))) == pytest.approx(1.0)
    assert value(Aggregate("intercept", (SHARE, SHARE))) == pytest.approx(0.0, abs=1e-15)
    assert value(Aggregate("residual deviation", (SHARE, SHARE))) == pytest.approx(0.0, abs=1e-15)
    assert np.isnan(value(Aggregate("largest", (A,), (), as_node(11.0))))
