import pytest
from hypothesis import given
from hypothesis import strategies as st

from xlsengine.study.typing_checks import LONGEST, Names, is_slip

SLIPS = [
    ("birhc 5x3x2", "birch 5x3x2"),
    ("bircch 5x3x2", "birch 5x3x2"),
    ("irch 5x3x2", "birch 5x3x2"),
    ("birck 5x3x2", "birch 5x3x2"),
    ("birch 5x3x2 (invneted)", "birch 5x3x2 (invented)"),
    ("birch5x3x2", "birch 5x3x2"),
    ("birch-5x3x2", "birch 5x3x2"),
    ("maple", "maaple"),
    ("bouleau é", "bouleua é"),
]
DIFFERENT = [
    ("birch 5x4", "birch 5x5"),
    ("birch 5x34", "birch 5x43"),
    ("birch 5x3", "birch 5x33"),
    ("birch 5.1x3", "birch 51x3"),
    ("birch 5x3 a", "birch 5x3 b"),
    ("birch 5x3 cw", "birch 5x3 ccw"),
    ("birch 5x3", "birch 5x3 b"),
    ("5045ab", "5045abx"),
    ("a", "b"),
    ("", "a"),
    ("birch", "birch"),
    ("birch", "brchi"),
    ("birch 5x3", "beech 5x3"),
    ("alder 5x3", "cedar 5x3"),
]


@pytest.mark.parametrize(("one", "other"), SLIPS)
def test_one_letter_is_a_slip_whichever_of_the_two_is_right(one: str, other: str) -> None:
    assert is_slip(one, other)
    assert is_slip(other, one)
    assert Names([other, "ash 6x4"]).one_slip_from(one) == [other]
    assert Names([one, "ash 6x4"]).one_slip_from(other) == [one]


@pytest.mark.parametrize(("one", "other"), DIFFERENT)
def test_figures_marks_and_more_than_one_letter_are_none(one: str, other: str) -> None:
    assert not is_slip(one, other)
    assert not is_slip(other, one)
    assert Names([other]).one_slip_from(one) == []


names = st.text("abcd1 -", max_size=7)


@given(names, st.lists(names, max_size=6))
def test_none_is_missed_that_a_comparison_with_each_finds(name: str, others: list[str]) -> None:
    assert set(Names(others).one_slip_from(name)) == {other for other in others if is_slip(name, other)}


def test_very_long_names_are_not_compared() -> None:
    name = "birch " * 20
    assert len(name) > LONGEST
    assert Names([name]).one_slip_from(name.replace("birch", "birhc", 1)) == []
