"""Comparisons as they are listed on Checks: what was told of many readings in the same words is one line."""

from collections.abc import Iterable, Sequence

import numpy as np

from xlsengine.bench.judging import judgements
from xlsengine.expression import Condition, Constant, Node, as_node
from xlsengine.study.flags import Flag

MOST_PIECES = 12
"""Pieces of the table that one line speaks of, so that its formula stays short."""
FEWEST = 3
"""Readings from which on one line tells of all of them."""

Line = list[Flag]


def comparison_lines(flags: Iterable[Flag]) -> list[Line]:
    """Return flags as the lines of a list, the most severe first: one flag, or those that are in the same words."""
    alike: dict[tuple[object, ...], Line] = {}
    for flag in sorted(flags, key=lambda flag: flag.row):
        words = flag.severity, flag.column, flag.title, flag.found, flag.expected, flag.cause, flag.fix
        alike.setdefault(words, []).append(flag)
    lines = [line for same in alike.values() for line in _pieces(same)]
    return sorted(lines, key=lambda line: (-line[0].severity, line[0].row))


def _pieces(same: Line) -> list[Line]:
    """Return what one line tells each: no more pieces of the table than its formula can hold."""
    if len(same) < FEWEST:
        return [[flag] for flag in same]
    pieces = spans([flag.row for flag in same])
    parts = [pieces[at : at + MOST_PIECES] for at in range(0, len(pieces), MOST_PIECES)]
    return [[flag for flag in same if part[0][0] <= flag.row <= part[-1][1]] for part in parts]


def spans(rows: Sequence[int]) -> list[tuple[int, int]]:
    """Return the first and last of each piece of rows that follow each other.

    >>> spans([1, 2, 3, 7])
    [(1, 3), (7, 7)]
    """
    numbers = np.array(sorted(rows))
    return [(int(piece[0]), int(piece[-1])) for piece in np.split(numbers, np.flatnonzero(np.diff(numbers) > 1) + 1)]


def how_many_stand(line: Line) -> Node:
    """Return how many of a line's readings hold the values that were judged."""
    held = [
        judgements.judgement_row.count(
            Condition(judgements.judgement_row, ">=", Constant(float(first))),
            Condition(judgements.judgement_row, "<=", Constant(float(last))),
        )
        for first, last in spans([flag.row for flag in line])
    ]
    return sum(held[1:], start=as_node(held[0]))


def where_it_stands(line: Line) -> Node:
    """Return the row of Readings where a line's first reading stands, else one that begins or ends a piece; else blank."""
    pieces = spans([flag.row for flag in line])
    found: Node = judgements.judgement_row.position(float(pieces[-1][1]))
    for first, _ in pieces[::-1]:
        found = judgements.judgement_row.position(float(first)).otherwise(found)
    return found
