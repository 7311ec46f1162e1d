from collections.abc import Mapping
from pathlib import Path

import pytest

from tests.expression_trees import (
    ABSENT,
    DEFINITIONS,
    LONG_TEXT,
    NO_LABEL,
    SETTING,
    WHOLE,
    A,
    B,
    C,
    SheetValues,
    T,
    TableAddresses,
    U,
    random_trees,
    write_trees,
)
from tests.instruments.office_edit import libreoffice_values
from tests.instruments.recalculate import Place, Value, iron_values, requires_libreoffice
from tests.judging_trees import beyond_ironcalc, disagreements
from tests.tree_books import tree_fixtures
from xlsengine.blanks import may_be_blank, may_fail, required
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
    join,
    references,
)
from xlsengine.formula import LONGEST_TEXT, formula

SEED = 2
TREES_OF_A_BATCH = 600


def written(tree: Node) -> str:
    """Write the formula with short references, to be read in a test."""
    text = formula(tree, TableAddresses())
    return text.replace("Bench[[#This Row],[", "[").replace("]]", "]")


# --- random trees, every cell --------------------------------------------------------------------------------------

TREES = [*DEFINITIONS.values(), *random_trees(TREES_OF_A_BATCH, depth=4, seed=SEED)]


book, in_ironcalc = tree_fixtures(TREES)[:2]


def test_random_trees_in_ironcalc(in_ironcalc: Mapping[Place, Value]) -> None:
    assert disagreements(TREES, in_ironcalc, lambda tree: not beyond_ironcalc(tree)) == []


@requires_libreoffice
def test_random_trees_in_libreoffice(book: Path, tmp_path: Path) -> None:
    """With cells that are typed, and with steps in their place."""
    steps = over_steps(4, SEED)
    write_trees(steps, tmp_path / "steps.xlsx", steps=True)
    typed, over = libreoffice_values([book, tmp_path / "steps.xlsx"])
    assert disagreements(TREES, typed) == []
    assert disagreements(steps, over) == []


def test_few_trees_are_beyond_ironcalc() -> None:
    assert sum(map(beyond_ironcalc, TREES)) < 0.1 * len(TREES)


@pytest.mark.parametrize("seed", [3])
def test_more_random_trees_in_ironcalc(seed: int, tmp_path: Path) -> None:
    trees = random_trees(300, depth=5, seed=seed)
    write_trees(trees, tmp_path / "trees.xlsx")
    found = iron_values(tmp_path / "trees.xlsx")
    assert disagreements(trees, found, lambda tree: not beyond_ironcalc(tree)) == []


def takes_the_largest(tree: Node) -> bool:
    """Tell whether a tree takes the largest of rows under conditions: of columns that are never blank, by DEVELOPERS.md."""
    largest = isinstance(tree, Aggregate) and tree.operation == "largest" and bool(tree.conditions)
    return largest or any(map(takes_the_largest, children(tree)))


def over_steps(depth: int, seed: int) -> list[Node]:
    return [tree for tree in random_trees(TREES_OF_A_BATCH, depth, seed) if not takes_the_largest(tree)]


@pytest.mark.parametrize("seed", [6])
def test_random_trees_over_steps_in_ironcalc(seed: int, tmp_path: Path) -> None:
    trees = over_steps(4, seed)
    write_trees(trees, tmp_path / "steps.xlsx", steps=True)
    found = iron_values(tmp_path / "steps.xlsx")
    assert disagreements(trees, found, lambda tree: not beyond_ironcalc(tree)) == []


def test_a_wrong_formula_would_be_found(in_ironcalc: Mapping[Place, Value]) -> None:
    ratio, mark, *rest = TREES
    assert len(disagreements([mark, ratio, *rest], in_ironcalc, lambda tree: tree in (ratio, mark))) > 10


def test_formulas_read_what_the_tree_reads() -> None:
    for tree in TREES:
        addresses = TableAddresses()
        formula(tree, addresses)
        assert addresses.read == set(references(tree))


# --- guards --------------------------------------------------------------------------------------------------------


def test_a_step_makes_a_formula_fail_where_it_has_no_number() -> None:
    """Nobody empties it, so it is no blank that counts as 0; but 0 < "" is true, and "" is a criterion."""
    addresses = TableAddresses(steps=frozenset((A,)))

    def step_formula(tree: Node) -> str:
        return formula(tree, addresses).replace("Bench[[#This Row],[", "[").replace("]]", "]")

    assert step_formula(A + B) == 'IF(COUNT([B])<1,"",IFERROR([A]+[B],""))'
    assert step_formula(A * A) == 'IFERROR([A]*[A],"")'
    assert step_formula(A) == "[A]"
    assert step_formula(A.otherwise(B)) == 'IFERROR([A]+0,IF(COUNT([B])<1,"",[B]))'
    assert step_formula((A > 1.0).where(A)) == 'IFERROR(IF(([A]+0)>1,[A],""),"")'
    assert step_formula(A.sqrt()) == 'IFERROR(SQRT(([A]+0)),"")'
    assert "COUNT([A])<1" in step_formula(C.sum(Condition(B, "=", A)))


def test_a_sum_is_guarded_and_cannot_fail() -> None:
    assert written(A + B) == 'IF(COUNT([A],[B])<2,"",[A]+[B])'


def test_a_quotient_can_fail() -> None:
    assert written(A / B) == 'IF(COUNT([A],[B])<2,"",IFERROR([A]/[B],""))'


def test_each_cell_is_asked_once() -> None:
    assert written(A * A + A) == 'IF(COUNT([A])<1,"",[A]*[A]+[A])'
    assert written((A > 1.0).where(A + B, A)) == ('IF(COUNT([A])<1,"",IF([A]>1,IF(COUNT([B])<1,"",[A]+[B]),[A]))')


def test_the_second_choice_stands_in_the_guard_of_the_first() -> None:
    assert written(A.otherwise(B)) == 'IF(COUNT([A])<1,IF(COUNT([B])<1,"",[B]),[A])'
    assert written(T.otherwise("none")) == 'IF([T]&""="","none",[T]&"")'


def test_a_first_choice_that_is_always_there_keeps_its_brackets() -> None:
    assert written(A * (A + 1.0).otherwise(B)) == 'IF(COUNT([A])<1,"",IFERROR([A]*([A]+1),""))'


def test_a_text_cell_gives_on_an_empty_text() -> None:
    assert written(T) == '[T]&""'
    assert written(NO_LABEL) == 'no_label&""'
    assert written((A > 0.0).where(T, U)) == 'IF(COUNT([A])<1,"",IF([A]>0,[T]&"",[U (°)]&""))'


def test_a_possible_blank_is_made_to_fail_where_it_would_be_compared() -> None:
    assert "+0)<[A]" in written((A > 1.0).where(B, C) < A)
    assert written((A < B).equals(1.0)) == 'IF(COUNT([A],[B])<2,"",(([A]<[B])+0)=1)'


def test_a_sentence_is_blank_where_what_it_chose_lacks_a_number() -> None:
    """Half a sentence is no advice: ". Stay within 40 A" without what draws it."""
    draws = (A > 0.0).where(B.fixed(1), "none")
    assert (
        written(draws)
        == 'IF(COUNT([A])<1,"",IF([A]>0,IF(COUNT([B])<1,"",FIXED(ROUND(ROUND([B],9),1)+0,1,TRUE)),"none"))'
    )
    assert written(join("Draws ", draws)).endswith(
        'IF(COUNT([B])<1,NA(),FIXED(ROUND(ROUND([B],9),1)+0,1,TRUE)),"none"),""))'
    )
    assert evaluate(join("Draws ", draws), SheetValues()).tolist()[:4] == ["Draws 2.0", None, None, "Draws -1.3"]
    assert evaluate(join("Draws ", as_node(1.0).where(ABSENT.fixed(1), "none")), SheetValues()) is None
    of_its_cell = join("Draws ", call("cell text", draws))
    assert written(of_its_cell).startswith('"Draws "&IF(COUNT([A])<1,"",')
    assert evaluate(of_its_cell, SheetValues()).tolist()[:4] == ["Draws 2.0", "Draws ", "Draws ", "Draws -1.3"]


def test_presence_is_never_guarded() -> None:
    assert written(A.present()) == "COUNT([A])=1"
    assert written(T.present()) == '[T]<>""'
    assert written(ABSENT.present().where(ABSENT, SETTING)) == (
        'IF(COUNT(absent)=1,absent,IF(COUNT(setting_k)<1,"",setting_k))'
    )


def test_what_a_tree_requires() -> None:
    row = Aggregate("at", (A,), (), WHOLE)
    assert list(required((A > 1.0).where(B, C) + row + A)) == [A, WHOLE]
    assert list(required(join(T, B.fixed(1)))) == [B]
    assert list(required(A.otherwise(B))) == []


def test_what_may_fail() -> None:
    assert not may_fail(A + B)
    assert may_fail(A / B)
    assert may_fail((A > 1.0).where(B, C) + 1.0)
    assert may_fail((A > 1.0).where(B / C, C))
    assert not may_fail((A / 2.0) ** 2.0)
    assert may_fail(A**-1.0)
    assert may_fail(A**0.5)
    assert not may_fail(A.sum(Condition(B, "=", C)))
    assert may_fail(A.mean())
    assert may_fail(BLANK + 1.0)


def test_a_quotient_that_is_chosen_is_guarded_once_outside() -> None:
    assert written((A > 1.0).where(B / C, A)) == (
        'IF(COUNT([A])<1,"",IFERROR(IF([A]>1,IF(COUNT([B],[C (V/A)])<2,"",[B]/[C (V/A)]),[A]),""))'
    )


def test_what_a_condition_asks_for_need_not_be_asked_again() -> None:
    both = (A.present() & B.present()).where(A * B, 0.0)
    assert written(both) == "IF(AND(COUNT([A])=1,COUNT([B])=1),[A]*[B],0)"
    assert not may_be_blank(both)
    assert may_be_blank(A.present().where(B, 0.0))


def test_what_may_be_blank_is_written_once_before_what_stands_in_for_it() -> None:
    assert written((A > 1.0).where(B).otherwise(0.0)) == (
        'IFERROR(IF(COUNT([A])<1,NA(),IF([A]>1,IF(COUNT([B])<1,"",[B]),""))+0,0)'
    )


def test_steps_are_fetched_without_asking_whether_they_are_blank() -> None:
    addresses = TableAddresses(steps=frozenset((A, WHOLE)))
    fetched = formula(Aggregate("at", (A,), (), WHOLE), addresses)
    assert fetched == 'IFERROR((INDEX(Bench[[#All],[A]],Bench[[#This Row],[Whole]]+1)+0),"")'
    typed = formula(Aggregate("at", (B,), (), WHOLE).otherwise(0.0), addresses)
    assert typed == "IFERROR(INDEX(Bench[[#All],[B]],Bench[[#This Row],[Whole]]+1)+0,0)"


# --- signs and literals --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tree", "body"),
    [
        (A - (B - C), "[A]-([B]-[C (V/A)])"),
        (A - B - C, "[A]-[B]-[C (V/A)]"),
        ((A + B) * C, "([A]+[B])*[C (V/A)]"),
        (A + B * C, "[A]+[B]*[C (V/A)]"),
        (A / (B * C), "[A]/([B]*[C (V/A)])"),
        (-A, "(0-[A])"),
        (-(A + B), "(0-([A]+[B]))"),
        ((-A) ** 2.0, "((0-[A]))^(2)"),
        (A**2.0, "[A]^2"),
        (A - -2.0, "[A]-(-2)"),
        (A**-1.0, "([A])^(-1)"),
        ((A + B) ** 2.0, "([A]+[B])^(2)"),
        ((A < B) & (B < C), "AND([A]<[B],[B]<[C (V/A)])"),
        ((A < B) & ((B < C) & (A < 1.0)) | (A > 2.0), "OR(AND([A]<[B],[B]<[C (V/A)],[A]<1),[A]>2)"),
    ],
)
def test_precedence(tree: Node, body: str) -> None:
    assert body in written(tree)


@pytest.mark.parametrize(
    ("value", "literal"),
    [
        (2.0, "2"),
        (-0.25, "-0.25"),
        (0.0, "0"),
        (-0.0, "0"),
        (1e-7, "1E-07"),
        (1e15, "1000000000000000.0"),
        (1e22, "1E+22"),
        (123456789012345.0, "123456789012345"),
        (float("nan"), '""'),
        ('say "yes"', '"say ""yes"""'),
        ("", '""'),
    ],
)
def test_literals(value: float | str, literal: str) -> None:
    assert written(Constant(value)) == literal


def test_long_texts_are_written_in_pieces_that_spreadsheets_take() -> None:
    pieces = written(Constant(LONG_TEXT)).split('"&"')
    assert len(LONG_TEXT) > 255
    assert len(pieces) == 2
    assert all(len(piece.strip('"').replace('""', '"')) <= LONGEST_TEXT for piece in pieces)


def test_names_with_signs_that_references_escape() -> None:
    addresses = TableAddresses()
    assert addresses.whole(type(A)("Bench", "Ohm [#1]'")) == "Bench[Ohm '['#1']'']"


def test_choice_is_written_with_a_guard_in_each_option() -> None:
    assert written(call("choose", WHOLE, A, as_node(2.0))) == (
        'IF(COUNT([Whole])<1,"",IFERROR(CHOOSE([Whole],IF(COUNT([A])<1,"",[A]),2),""))'
    )
