"""Two propellers exchanged at one point: their names, their thrusts or their currents, in one reading or in all of them.

Each reading fits itself then. What tells is its repeats, and how thrust and current at equal volts go from one cell count to
the next; in which reading it was, or on which cell count, is told by their sizes too, and by thrust for the power.
Limits that name no source are chosen on simulated benches (tests/study/round_benches.py), so that sound ones are left alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations, islice

import numpy as np

from xlsengine.study.case import Case, IntArray, JudgedRows, counts_by, labels_of
from xlsengine.study.flags import Flag
from xlsengine.study.outliers import FloatArray
from xlsengine.study.row_mistakes import ALONG, OUT, Change, Kind, Trials
from xlsengine.study.row_words import exchanged, name_of

EXCHANGES = {"prop": ("prop", "diameter", "pitch"), "thrust": ("thrust",), "current": ("current",)}
"""What may have changed places, by the column to correct."""

ALIKE = math.log(1.06)
"""Misfit that an exchange may leave."""

LEAST_ODD = 0.035
"""What the thrusts or currents of a propeller are off on a cell count, their mean, if they may be another's."""

SURER = 2.0
"""One is named before others where it explains more, in half a sum of squared deviations, by this (a factor of 7)."""

MOST_ODD, MOST_TRIED = 12, 200
"""Propellers that are tried on a cell count, and readings of a point, the oddest; and pairs of readings: a table with more of
them is off as a whole."""


Sides = tuple[IntArray, IntArray]
"""Places of the readings of two propellers."""


def exchanged_propellers(case: Case) -> list[Flag]:
    """Flag the readings that fit their propellers' others once two of these are exchanged in one column.

    Where columns, or cell counts as a whole, are as likely, all of these are named; where single readings are, none is.
    """
    if not case.rows.size:
        return []
    trials, named = Trials(case, ALIKE), list[list[Change]]()
    tried = [
        _exchange(case.rows, kind, column, *sides)
        for kind, found in ((Kind.ROWS, islice(_single(trials), MOST_TRIED)), (Kind.PROPS, _whole_counts(trials)))
        for sides in found
        for column in EXCHANGES
    ]
    for change in sorted(trials.explaining(tried) if tried else (), key=lambda each: -each.gain):
        props = _props(case.rows, change)
        rivals = next((each for each in named if _props(case.rows, each[0]) & props), None)
        if rivals is None:
            named.append([change])
        elif _props(case.rows, rivals[0]) == props and change.gain > rivals[0].gain - SURER:
            rivals.append(change)
    return [flag for alike in named for flag in _flags(case, alike)]


def _props(rows: JudgedRows, change: Change) -> set[int]:
    return set(rows.prop[list(change.at)].tolist())


def _single(trials: Trials) -> Iterator[Sides]:
    """Yield two readings of two propellers at one point, both out of line with what was read there else."""
    rows, sound = trials.case.rows, trials.case.sound
    score = np.nan_to_num(np.abs(trials.now[list(ALONG.values())])).max(axis=0)
    out = (score > OUT) & sound & (counts_by(labels_of(rows.group, rows.throttle, rows.peak), sound) > 1)
    point = labels_of(rows.cells, rows.throttle, rows.peak)
    for label in np.unique(point[out]):
        own = np.flatnonzero(out & (point == label))
        own = np.sort(own[np.argsort(-score[own], kind="stable")[:MOST_ODD]])
        for one, other in combinations(own.tolist(), 2):
            if rows.prop[one] != rows.prop[other]:
                yield np.array([one]), np.array([other])


def _whole_counts(trials: Trials) -> Iterator[Sides]:
    """Yield all readings of two propellers on a cell count that step otherwise than usual, in opposite directions."""
    case, rows = trials.case, trials.case.rows
    full = np.flatnonzero(case.sound & (rows.point > 0))
    if not full.size:
        return
    full = full[np.argsort(rows.group[full], kind="stable")]
    group = np.unique(rows.group[full], return_inverse=True)[1]
    first = np.searchsorted(group, np.arange(group.max() + 1))
    cells = rows.cells[full[first]]
    found = (trials.without(place, full, group).misfit for place in ALONG.values())
    odd = np.nan_to_num([np.abs(np.bincount(group, each)) / np.bincount(group) for each in found]).max(axis=0)
    for count in np.unique(cells):
        own = np.flatnonzero((cells == count) & (odd > LEAST_ODD))
        own = np.sort(own[np.argsort(-odd[own], kind="stable")[:MOST_ODD]])
        yield from ((full[group == one], full[group == other]) for one, other in combinations(own.tolist(), 2))


def _exchange(rows: JudgedRows, kind: Kind, column: str, one: IntArray, other: IntArray) -> Change:
    """Return what the readings of two propellers are without an exchange; of several readings their means change places."""
    read: dict[str, tuple[float, ...]] = {}
    for name in EXCHANGES[column]:
        here, there = (rows.reading(name)[side] for side in (one, other))
        if column == "prop":
            turned = [*there[:1].repeat(one.size), *here[:1].repeat(other.size)]
        else:
            ratio = math.exp(float(np.mean(np.log(there)) - np.mean(np.log(here))))
            turned = [*(here * ratio), *(there / ratio)]
        read[name] = tuple(turned)
    return Change(kind, (*one.tolist(), *other.tolist()), read)


def _flags(case: Case, alike: list[Change]) -> Iterator[Flag]:
    """Yield a flag for each reading that may have been exchanged."""
    rows, first = case.rows, alike[0]
    columns = tuple(each.columns[0] for each in alike if each.at == first.at)
    both = list(dict.fromkeys(each.at for each in alike if each.columns[0] == first.columns[0]))
    if first.kind is Kind.PROPS and (len(both) > 1 or len(first.at) > 2):
        yield from _whole_flags(case, columns, [place for at in both for place in at])
    elif len(both) == 1:
        cause = "Two entries changed places between two readings: exchanged, both fit their propellers' other readings."
        one, other = first.at
        yield from (exchanged(rows, columns, here, there, cause) for here, there in ((one, other), (other, one)))


def _whole_flags(case: Case, columns: tuple[str, ...], at: list[int]) -> Iterator[Flag]:
    """Yield a flag for each reading of two propellers that may have been exchanged on a cell count, or on one of several."""
    rows, places = case.rows, np.array(sorted(at))
    where = " or ".join(f"{count:.0f}S" for count in np.unique(rows.cells[places]))
    what, plural = (" or ".join(f"{name_of(column)}{end}" for column in columns) for end in ("", "s"))
    for prop in np.unique(rows.prop[places]).tolist():
        own, others = places[rows.prop[places] == prop], places[rows.prop[places] != prop]
        per_amp = _elsewhere(case, prop, rows.cells[places])
        for at_one in own.tolist():
            yield rows.flag(
                at_one,
                f"{what.capitalize()} exchanged with {rows.prop_name[others[0]]} on {where}",
                columns[0],
                f"{rows.prop_name[at_one]} with {rows.read(at_one)}: "
                f"{rows.thrust[at_one] / rows.current[at_one]:.1f} g/A{per_amp}",
                "thrust and grams per amp that go across cell counts as other propellers' do",
                f"The {plural} of two changed places in all readings on {where}: exchanged, both go across cell counts as "
                "usual.",
                f"If your bench notes agree, exchange the {plural} of the two on {where}; otherwise repeat both points.",
                also=others,
            )


def _elsewhere(case: Case, prop: int, in_doubt: FloatArray) -> str:
    """Write a propeller's grams per amp on the cell counts that are not in doubt."""
    rows = case.rows
    kept = case.sound & (rows.point > 0) & (rows.prop == prop) & ~np.isin(rows.cells, in_doubt)
    per_amp = rows.thrust / rows.current
    middle = {count: np.median(per_amp[kept & (rows.cells == count)]) for count in np.unique(rows.cells[kept])}
    return "".join(f", and {found:.1f} g/A on {count:.0f}S" for count, found in middle.items())
