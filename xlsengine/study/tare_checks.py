"""A tare that was forgotten or moved: grams that all thrusts of a propeller and cell count have too many or too few."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.blocks import block_flags
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag, about
from xlsengine.study.judged_rows import BoolArray, IntArray, counts_by, medians_by
from xlsengine.study.lines import Figures, Lines, Relation, Term
from xlsengine.study.outliers import FloatArray
from xlsengine.study.relations import ALLOWED, Bench, at_speed, with_power

FEWEST = 4
"""Rows of a propeller and cell count that tell a tare from one odd reading."""

USUAL_TARE = 0.2
"""Tare as a share of the lowest thrust, one standard deviation, before anything is read."""

LEAST_LOAD = 1 / 64
"""Share of a propeller's highest thrust from which on a row tells a tare: below, coefficients go their own ways."""

CLEAR = 2.2
"""Spreads from 0 at which a tare is no chance (common practice, no source)."""

NEARLY = 0.6
"""Share of the surest's spreads from 0 from which on another cell count may as well have it."""

BACKED = 0.7
"""Spreads from 0 at which the rows above the lowest one say the same of a tare."""


def tares(case: Case) -> list[Flag]:
    """Flag the readings of a propeller and cell count whose thrusts all fit once some grams are taken off.

    A tare weighs most at low throttle. The rows above the lowest must back it: else it is that one reading. Of a propeller's
    cell counts the surest is told, since its tare bends the line of the others; all that are nearly as sure.
    """
    flags: list[Flag] = []
    bench = Bench(case)
    for relation in (at_speed(bench, case.rows), with_power(bench, case.rows)):
        told = case.rows.prop[np.isin(case.rows.number, [flag.row for flag in flags])]
        flags += _tares(bench, relation, ~np.isin(case.rows.prop, told))
    return flags


def _tares(bench: Bench, relation: Relation, asked: BoolArray) -> Iterator[Flag]:
    case, rows = bench.case, bench.rows
    judged = (
        case.sound & ~rows.doubtful & np.isfinite(relation.y) & (bench.from_top(rows, "thrust") >= np.log(LEAST_LOAD))
    )
    lowest = _lowest(case, judged)
    all_rows, above = (_shares(case, relation, lowest, kept) for kept in (judged, judged & (rows.thrust > lowest)))
    significant = np.abs(all_rows.values) > np.maximum(ALLOWED, CLEAR * all_rows.spread)
    backed = above.values * np.sign(all_rows.values) > BACKED * above.spread
    enough = counts_by(rows.group, judged) >= FEWEST
    found = significant & backed & enough & judged & asked
    score = np.where(found, np.abs(all_rows.values) / all_rows.spread, 0.0)
    for prop in np.unique(rows.prop[found]).tolist():
        own = rows.prop == prop
        surest = np.flatnonzero(own & found & (score >= NEARLY * score[own].max()) & (rows.thrust == lowest))
        grams = lowest * -np.expm1(-all_rows.values)
        yield from _flags(case, surest[np.unique(rows.group[surest], return_index=True)[1]], grams)


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


def _flags(case: Case, lowest: IntArray, grams: FloatArray) -> Iterator[Flag]:
    """Yield a flag for each reading of one cell count, or of several, by their lowest."""
    rows = case.rows
    found = (f"{rows.entry(at, 'thrust')} in {rows.name(at)} on {rows.cells[at]:.0f}S" for at in lowest)
    expected = (
        f"{about(rows.thrust[at] - grams[at], 'thrust')}: {about(abs(grams[at]), 'thrust')} "
        f"{'less' if grams[at] > 0 else 'more'} in every reading of this propeller on {rows.cells[at]:.0f}S"
        for at in lowest
    )
    words = (" or ".join(found) + ", and its other readings off by as many grams", "; or ".join(expected))
    yield from block_flags(
        rows,
        np.flatnonzero(np.isin(rows.group, rows.group[lowest]) & case.sound),
        "Thrusts have a tare",
        "thrust",
        *words,
        "The stand was not set to zero before these readings, or its zero moved.",
        "Check your bench notes for the zero before and after, and type what the stand would have shown with it; else repeat "
        "them. The grams named here are rough: do not take them off.",
        severity=Severity.DOUBTFUL,
    )
