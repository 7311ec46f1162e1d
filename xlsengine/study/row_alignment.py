"""Which row of a changed table was which row before: rows that stayed, moved, were edited, added or removed."""

from bisect import bisect_right
from collections import Counter, defaultdict, deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher

Row = tuple[str, ...]
ALIKE_FROM = 0.5
"""Share of its filled cells that an edited row must keep to count as the same row."""
SURELY_ALIKE = 0.75
"""Share of its filled cells that a row of the same name must keep."""
AT_ONCE = 50
"""Rows of a long stretch that are compared each with each, so that time grows with the rows alone."""


@dataclass(frozen=True)
class RowPair:
    """A row before and after, counted from 0; None where it was added or removed."""

    before: int | None
    after: int | None
    moved: bool = False


def aligned_rows(before: Sequence[Row], after: Sequence[Row], name: int | None = None) -> list[RowPair]:
    """Return every row of both tables once, paired where they are the same; in the order of `after`, removed rows last.

    Rows are tuples of canonical texts, "" for blank cells. Equal rows belong together, the first with the first; of
    others, an edited row is known by its cell `name` wherever it stands, where no other row holds the same there; else rows
    that are alike, between two that kept their order, are taken for edited ones.
    """
    same = _equal_rows(before, after)
    if name is not None and 2 * len(same) >= len(after):  # else rows may have been numbered anew
        same = sorted({*same, *_of_one_name(before, after, name)}, key=lambda pair: pair[1])
    kept = _in_order(same)
    moved = set(same) - set(kept)
    edited = [pair for gap in _gaps(before, after, same, kept) for pair in _edited_rows(before, after, *gap)]
    pairs = [RowPair(b, a, (b, a) in moved) for b, a in (*same, *edited)]
    found_before, found_after = {pair.before for pair in pairs}, {pair.after for pair in pairs}
    pairs += [RowPair(None, row) for row in range(len(after)) if row not in found_after]
    removed = [RowPair(row, None) for row in range(len(before)) if row not in found_before]
    return [*sorted(pairs, key=lambda pair: pair.after or 0), *removed]


def _equal_rows(before: Sequence[Row], after: Sequence[Row]) -> list[tuple[int, int]]:
    waiting: dict[Row, deque[int]] = defaultdict(deque)
    for place, row in enumerate(before):
        waiting[row].append(place)
    return [(waiting[row].popleft(), place) for place, row in enumerate(after) if waiting.get(row)]


def _of_one_name(before: Sequence[Row], after: Sequence[Row], name: int) -> list[tuple[int, int]]:
    old, new = (Counter(row[name] for row in rows) for rows in (before, after))
    places = {row[name]: place for place, row in enumerate(before) if row[name] and old[row[name]] == 1}
    pairs = (
        (places[row[name]], place) for place, row in enumerate(after) if row[name] in places and new[row[name]] == 1
    )
    return [(b, a) for b, a in pairs if likeness(before[b], after[a]) >= SURELY_ALIKE]


def _in_order(pairs: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the pairs whose rows kept their order; pairs stand in the order of the rows after."""
    order = [before for before, _ in pairs]
    blocks = SequenceMatcher(None, sorted(order), order, autojunk=False).get_matching_blocks()
    return [pair for block in blocks for pair in pairs[block.b : block.b + block.size]]


def _gaps(
    before: Sequence[Row], after: Sequence[Row], same: Sequence[tuple[int, int]], kept: Sequence[tuple[int, int]]
) -> Iterator[tuple[list[int], list[int]]]:
    """Yield the rows without a partner between two rows that kept their order."""
    equal_before, equal_after = {b for b, _ in same}, {a for _, a in same}
    last = (-1, -1)
    for fence in (*kept, (len(before), len(after))):
        old = [row for row in range(last[0] + 1, fence[0]) if row not in equal_before]
        new = [row for row in range(last[1] + 1, fence[1]) if row not in equal_after]
        if old and new:
            yield old, new
        last = fence


def _edited_rows(
    before: Sequence[Row], after: Sequence[Row], old: Sequence[int], new: Sequence[int]
) -> list[tuple[int, int]]:
    if len(old) == len(new) and all(likeness(before[b], after[a]) >= ALIKE_FROM for b, a in zip(old, new, strict=True)):
        return list(zip(old, new, strict=True))
    pairs: list[tuple[int, int]] = []
    while old and new:
        found = _best_pairs(before, after, old[:AT_ONCE], new[:AT_ONCE])
        pairs += found
        last = found[-1] if len(found) > AT_ONCE // 2 else (old[:AT_ONCE][-1], new[:AT_ONCE][-1])
        old, new = old[bisect_right(old, last[0]) :], new[bisect_right(new, last[1]) :]
    return pairs


def likeness(one: Row, other: Row) -> float:
    """Return the share of cells that are the same in two rows, of those that either fills.

    >>> likeness(("5x4", "4", ""), ("5x4", "6", ""))
    0.5
    """
    filled = sum(1 for a, b in zip(one, other, strict=True) if a or b)
    equal = sum(1 for a, b in zip(one, other, strict=True) if a and a == b)
    return equal / filled if filled else 1.0


def _best_pairs(
    before: Sequence[Row], after: Sequence[Row], old: Sequence[int], new: Sequence[int]
) -> list[tuple[int, int]]:
    """Pair rows in order, those that are most alike first."""
    found = list[tuple[int, int]]()
    for unlike, b, a in sorted((1 - likeness(before[b], after[a]), b, a) for b in old for a in new):
        if unlike > 1 - ALIKE_FROM or len(found) == min(len(old), len(new)):
            break
        if all((b - other) * (a - place) > 0 for other, place in found):
            found.append((b, a))
    return sorted(found)
