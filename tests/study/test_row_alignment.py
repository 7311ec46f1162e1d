"""Rows of a changed table find their rows before: hand-made cases, and what must hold for any two tables."""

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from xlsengine.study.row_alignment import ALIKE_FROM, RowPair, aligned_rows, likeness

A, B, C, D = (("5x4", "4", name, "812") for name in "abcd")
LIKE_B = ("5x4", "4", "b", "999")
OTHER = ("9x9", "8", "z", "1")


@pytest.mark.parametrize(
    ("before", "after", "pairs"),
    [
        ([A, B], [A, B], [(0, 0, False), (1, 1, False)]),
        ([A, B, C], [A, LIKE_B, C], [(0, 0, False), (1, 1, False), (2, 2, False)]),
        ([A, C], [A, B, C], [(0, 0, False), (None, 1, False), (1, 2, False)]),
        ([A, B, C], [A, C], [(0, 0, False), (2, 1, False), (1, None, False)]),
        ([A, B, C, D], [D, A, B, C], [(3, 0, True), (0, 1, False), (1, 2, False), (2, 3, False)]),
        ([A, A, B], [A, B], [(0, 0, False), (2, 1, False), (1, None, False)]),
        ([A], [OTHER], [(None, 0, False), (0, None, False)]),
        ([A, OTHER, B], [A, LIKE_B], [(0, 0, False), (2, 1, False), (1, None, False)]),
        ([], [A], [(None, 0, False)]),
        ([], [], []),
    ],
    ids=["same", "edited", "added", "removed", "moved", "doubled", "another", "removed and edited", "first", "nothing"],
)
def test_rows_find_their_partners(before, after, pairs) -> None:  # type: ignore[no-untyped-def]
    assert aligned_rows(before, after) == [RowPair(*pair) for pair in pairs]


_ROWS = st.lists(st.tuples(*[st.sampled_from(("", "1", "2", "3"))] * 4), max_size=12)


@given(_ROWS, _ROWS)
def test_every_row_stands_in_one_pair_and_equal_rows_are_never_told_apart(
    before: list[tuple[str, ...]], after: list[tuple[str, ...]]
) -> None:
    pairs = aligned_rows(before, after)
    assert sorted(pair.before for pair in pairs if pair.before is not None) == list(range(len(before)))
    assert sorted(pair.after for pair in pairs if pair.after is not None) == list(range(len(after)))
    for row in set(before) & set(after):
        same = sum(
            pair.before is not None and pair.after is not None and before[pair.before] == after[pair.after] == row
            for pair in pairs
        )
        assert same == min(before.count(row), after.count(row))
    for pair in pairs:
        if pair.before is not None and pair.after is not None:
            assert likeness(before[pair.before], after[pair.after]) >= ALIKE_FROM


@given(_ROWS)
def test_a_table_is_itself(rows: list[tuple[str, ...]]) -> None:
    assert aligned_rows(rows, rows) == [RowPair(place, place) for place in range(len(rows))]


def test_ten_thousand_rows_of_which_each_was_edited_and_one_added() -> None:
    """Time grows with the rows alone: two long stretches without an equal row are not compared each with each."""
    before = [("7x5", "4", f"{row}", "a", "b") for row in range(10_000)]
    after = [(*OTHER, ""), *(("7x5", "4", f"{row}", "a", "c") for row in range(10_000))]
    begin = time.monotonic()
    pairs = aligned_rows(before, after)
    assert time.monotonic() - begin < 20.0
    assert sum(pair.before is not None and pair.after is not None for pair in pairs) >= 9_999
