import pytest

from xlsengine.study.typing_checks import LONGEST, rests

SLIPS = [
    ("birhc 5x3x2", "birch 5x3x2"),
    ("bircch 5x3x2", "birch 5x3x2"),
    ("irch 5x3x2", "birch 5x3x2"),
    ("birck 5x3x2", "birch 5x3x2"),
    ("birch 5x3x2 (invneted)", "birch 5x3x2 (invented)"),
    ("birch5x3x2", "birch 5x3x2"),
    ("birch-5x3x2", "birch 5x3x2"),
    ("maple", "maaple"),
    ("birch", "brchi"),
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
    ("birch 5x3", "beech 5x3"),
    ("alder 5x3", "cedar 5x3"),
]


@pytest.mark.parametrize(("one", "other"), SLIPS)
def test_one_letter_is_a_slip(one: str, other: str) -> None:
    assert rests(one) & rests(other)


@pytest.mark.parametrize(("one", "other"), DIFFERENT)
def test_figures_marks_and_more_than_one_letter_are_none(one: str, other: str) -> None:
    assert not rests(one) & rests(other)


def test_very_long_names_are_not_compared() -> None:
    name = "birch " * 20
    assert len(name) > LONGEST
    assert rests(name) == set()
