"""A tare that was forgotten or moved: grams that all thrusts of a propeller and cell count have too many or too few."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.blocks import block_flags
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag, about
from xlsengine.study.judged_rows import BoolArray, JudgedRows, counts_by, medians_by
from xlsengine.study.lines import Figures, Lines, Relation, Term
from xlsengine.study.outliers import FloatArray
from xlsengine.study.relations import ALLOWED, VAGUE, Bench, at_speed, with_power

FEWEST = 4
"""Rows of a propeller and cell count that tell a tare from one odd reading."""

USUAL_TARE = 0.2
"""Tare as a share of the lowest thrust, one standard deviation, before anything is read."""

LEAST_LOAD = 1 / 64
"""Share of a propeller's highest thrust from which on a row tells a tare: below, coefficients go their own ways."""

CLEAR = 2.2
"""Spreads from 0 at which a tare is no chance (common practice, no source)."""

BACKED = 0.7
"""Spreads from 0 at which the rows above the lowest one say the same of a tare."""


def tares(case: Case) -> list[Flag]:
    """Flag the readings of a propeller and cell count whose thrusts all fit once some grams are taken off; few: the lowest.

    A tare weighs most at low throttle. The rows above the lowest must back it: else it is that one reading. Of a propeller's
    cell counts the surest is told, since its tare bends the line of the others; without speeds it may be any of them.
    """
    flags: list[Flag] = []
    bench = Bench(case)
    for tie in (at_speed, with_power):
        told = case.rows.prop[np.isin(case.rows.number, [flag.row for flag in flags])]
        flags += _tares(bench, tie(bench, case.rows), ~np.isin(case.rows.prop, told), tie is at_speed)
    return flags


def _tares(bench: Bench, relation: Relation, asked: BoolArray, is_sure: bool) -> Iterator[Flag]:
    case, rows = bench.case, bench.rows
    judged = (
        case.sound & ~rows.doubtful & np.isfinite(relation.y) & (bench.from_top(rows, "thrust") >= np.log(LEAST_LOAD))
    )
    lowest = _lowest(case, judged)
    all_rows, above = (_shares(case, relation, lowest, kept) for kept in (judged, judged & (rows.thrust > lowest)))
    significant = np.abs(all_rows.values) > np.maximum(ALLOWED, CLEAR * all_rows.spread)
    backed = above.values * np.sign(all_rows.values) > BACKED * above.spread
    enough = counts_by(rows.group, judged) >= FEWEST
    at = np.flatnonzero(significant & backed & enough & judged & asked & (rows.thrust == lowest))
    at = at[np.lexsort((-np.abs(all_rows.values / all_rows.spread)[at], rows.prop[at]))]
    for first in at[np.unique(rows.prop[at], return_index=True)[1]].tolist():
        own = case.sound & (rows.group == rows.group[first])
        others = case.sound & (rows.prop == rows.prop[first]) & ~own & (not is_sure)
        found = _flags(rows, first, own, others, float(lowest[first] * -np.expm1(-all_rows.values[first])))
        if abs(all_rows.values[first]) < VAGUE:  # a propeller whose thrust goes otherwise with its speed looks like it
            found = [replace(flag, severity=Severity.NOTE) for flag in found if flag.row == rows.number[first]]
        yield from found


def _lowest(case: Case, judged: BoolArray) -> FloatArray:
    """Return the lowest judged thrust of each row's propeller and cell count."""
    rows = case.rows
    lowest = np.full(int(rows.group.max(initial=-1)) + 1, np.inf)
    np.minimum.at(lowest, rows.group[judged], rows.thrust[judged])
    return np.asarray(lowest[rows.group])


def _shares(case: Case, relation: Relation, lowest: FloatArray, kept: BoolArray) -> Figures:
    """Return the tare of each row's propeller and cell count, as a share of its lowest thrust, with its spread."""
    rows, counts = case.rows, np.unique(case.rows.cells)
    tare = [Term(relation.tare * (rows.cells == count) * lowest / rows.thrust, 0.0, USUAL_TARE) for count in counts]
    found = Lines(replace(relation, terms=[*tare, *relation.terms]), kept).figures()
    own = np.searchsorted(counts, rows.cells)[:, None]
    return Figures(*(medians_by(rows.group, np.take_along_axis(part, own, axis=1)[:, 0]) for part in found))


def _flags(rows: JudgedRows, at: int, own: BoolArray, others: BoolArray, grams: float) -> list[Flag]:
    """Return a flag for each reading of a cell count, told by its lowest, and of the others where it may be theirs."""
    less, more = ("less", "more") if grams > 0 else ("more", "less")
    also = " and ".join(f"{count:.0f}S" for count in np.unique(rows.cells[others]))
    return block_flags(
        rows,
        np.flatnonzero(own | others),
        "Thrusts have a tare",
        "thrust",
        f"{rows.entry(at, 'thrust')} in {rows.name(at)}, and all on {rows.cells[at]:.0f}S with it off by as many grams"
        + f", or those on {also}" * bool(also),
        f"{about(rows.thrust[at] - grams, 'thrust')}: {about(abs(grams), 'thrust')} {less} in each of these"
        + f", or as much {more} on {also}" * bool(also),
        "The stand was not set to zero before these readings, or its zero moved.",
        "Check your bench notes for the zero before and after, and type what the stand would have shown with it; else repeat "
        "them. The grams named here are rough: do not take them off.",
        severity=Severity.DOUBTFUL,
    )
