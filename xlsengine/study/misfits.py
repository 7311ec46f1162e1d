"""Readings that do not fit the others of their propeller, or, where these cannot judge them, all propellers' readings.

And a tare that was forgotten or moved: grams that all thrusts of a propeller and cell count have too many or too few.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import IDEAL_SLOPE, BoolArray, Case, JudgedRows, counts_by, medians_by
from xlsengine.study.count_checks import agreeing_across
from xlsengine.study.flags import Flag, about, label_of, typed
from xlsengine.study.lines import Figures, Lines, Relation, Term
from xlsengine.study.outliers import FloatArray
from xlsengine.study.relations import (
    ALLOWED,
    STRANGER,
    VAGUE,
    Bench,
    along,
    at_speed,
    power_of_all,
    torque_at_speed,
    with_power,
)

MEANT_BY_SPEED = 2.9
"""Power that a speed too high by one part seems to lack: three for the propeller, less what copper takes."""

FEWEST, FEWEST_OF_ALL = 2, 4
"""Other readings of a propeller, and of all, from which on one is judged by them."""

OWN = ("this propeller's other readings", "another propeller than named")
OTHERS = ("other propellers' readings", "a wrong propeller or cell count")
"""Who judges a reading, and what else may be wrong with it."""


Make = Callable[[Bench, JudgedRows], Relation]


@dataclass(frozen=True)
class Judged:
    """How far each row is from what a relation leads to expect, in which they are odd, and which it can judge."""

    misfit: FloatArray
    spread: FloatArray
    odd: BoolArray
    tells: BoolArray


def _judged(bench: Bench, relation: Make, allowed: float = ALLOWED, fewest: int = FEWEST) -> Judged:
    """Judge the sound rows by a relation."""
    case = bench.case
    found = Lines(relation(bench, case.rows), case.sound).judged(allowed, case.limits.score).told_by(fewest)
    misfit = np.where(case.sound, found.misfit, np.nan)
    limit = np.maximum(allowed, case.limits.score * found.spread)
    return Judged(misfit, found.spread, np.abs(misfit) > limit, limit <= VAGUE)


def misfits(case: Case) -> list[Flag]:
    """Flag readings that do not fit the others of their propeller, else those of all, in the column that explains it."""
    if not case.rows.size:
        return []
    bench = Bench(case)
    thrust, current, power = (_judged(bench, relation) for relation in (at_speed, torque_at_speed, with_power))
    of_all = _judged(bench, power_of_all, STRANGER, FEWEST_OF_ALL)
    by_speed = thrust.odd & _speed_is_likelier(thrust, current)
    by_power = power.odd & np.isnan(current.misfit) & ~thrust.odd
    alone = bench.is_telling() & ~(thrust.tells & current.tells | power.tells) & ~agreeing_across(case)
    by_all = of_all.odd & alone & ~(thrust.odd | current.odd | by_power)
    by_throttle = (_judged(bench, partial(along, column=name), case.limits.slip, 1) for name in ("thrust", "current"))
    is_thrust = np.greater(*(np.nan_to_num(np.abs(each.misfit)) for each in by_throttle))
    told = (
        (by_speed, "speed", ("thrust", "current"), -thrust.misfit / 2, OWN),
        (thrust.odd & ~by_speed, "thrust", ("speed",), thrust.misfit, OWN),
        (current.odd & ~thrust.odd, "current", ("speed",), current.misfit, OWN),
        *(
            each
            for odd, misfit, who in ((by_power, power.misfit, OWN), (by_all, of_all.misfit, OTHERS))
            for each in (
                (odd & is_thrust, "thrust", ("current",), -misfit / IDEAL_SLOPE, who),
                (odd & ~is_thrust, "current", ("thrust",), misfit, who),
            )
        ),
    )
    return [
        _flag(case.rows, at, column, others, float(misfit[at]), *who)
        for odd, column, others, misfit, who in told
        for at in np.flatnonzero(odd).tolist()
    ]


def _speed_is_likelier(by_thrust: Judged, by_current: Judged) -> BoolArray:
    """Tell where a wrong speed explains the misfits of thrust and current better than a wrong thrust."""
    thrust, spread, current, other = by_thrust.misfit, by_thrust.spread, by_current.misfit, by_current.spread
    weights = (2 / spread) ** 2 + (MEANT_BY_SPEED / other) ** 2
    speed = -(2 * thrust / spread**2 + MEANT_BY_SPEED * current / other**2) / weights
    left = ((thrust + 2 * speed) / spread) ** 2 + ((current + MEANT_BY_SPEED * speed) / other) ** 2
    return np.asarray(left < (current / other) ** 2)


def _flag(
    rows: JudgedRows, at: int, column: str, others: tuple[str, ...], misfit: float, judges: str, wrong: str
) -> Flag:
    read = rows.reading(column)[at]
    return rows.flag(
        at,
        f"{label_of(column).capitalize()} does not fit {' and '.join(map(label_of, others))}",
        column,
        f"{typed(read, column)} with {rows.entry(at, others[0])}",
        f"{about(float(read * np.exp(-misfit)), column)}, as {judges} have it",
        f"A misread display, a moved zero, {wrong}, or a slip in typing.",
        "Check your bench notes; repeat the point, or set Use to no with a note why.",
    )


# --- tares --------------------------------------------------------------------------------------------------------


FEWEST_OF_A_TARE = 4
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
    for tie in (at_speed, with_power) if case.rows.size else ():
        told = case.rows.prop[np.isin(case.rows.number, [flag.row for flag in flags])]
        flags += _tares(bench, tie(bench, case.rows), ~np.isin(case.rows.prop, told), tie is at_speed)
    return flags


def _tares(bench: Bench, relation: Relation, asked: BoolArray, is_sure: bool) -> Iterator[Flag]:
    case, rows = bench.case, bench.rows
    judged = (
        case.sound & ~rows.doubtful & np.isfinite(relation.y) & (bench.from_top(rows, "thrust") >= np.log(LEAST_LOAD))
    )
    lowest = _lowest(case, judged)
    with_tare = _with_tare(case, relation, lowest)
    strays = _odd(case, relation, judged) & _odd(case, with_tare, judged) & (rows.thrust > lowest)
    judged &= ~(strays & (counts_by(rows.prop, strays) < FEWEST))  # one odd reading that no tare explains
    lowest = _lowest(case, judged)
    all_rows, above = (_shares(case, relation, lowest, kept) for kept in (judged, judged & (rows.thrust > lowest)))
    odd = _odd(case, relation, judged)
    significant = np.abs(all_rows.values) > np.maximum(ALLOWED, CLEAR * all_rows.spread)
    backed = above.values * np.sign(all_rows.values) > BACKED * above.spread
    enough = counts_by(rows.group, judged) >= FEWEST_OF_A_TARE
    at = np.flatnonzero(significant & backed & enough & judged & asked & (rows.thrust == lowest))
    at = at[np.lexsort((-np.abs(all_rows.values / all_rows.spread)[at], rows.prop[at]))]
    for first in at[np.unique(rows.prop[at], return_index=True)[1]].tolist():
        own = case.sound & (rows.group == rows.group[first])
        others = case.sound & (rows.prop == rows.prop[first]) & ~own & (not is_sure)
        found = _tare_flags(rows, first, own, others, float(lowest[first] * -np.expm1(-all_rows.values[first])))
        is_one = np.count_nonzero(odd & (rows.prop == rows.prop[first])) < FEWEST
        if is_one or abs(all_rows.values[first]) < VAGUE:  # thrust that goes otherwise with speed looks like it too
            found = [replace(flag, severity=Severity.NOTE) for flag in found if flag.row == rows.number[first]]
        yield from found


def _odd(case: Case, relation: Relation, judged: BoolArray) -> BoolArray:
    """Tell which rows are off the lines that are drawn without a tare."""
    alone = Lines(relation, judged).judged(ALLOWED, case.limits.score)
    return np.asarray(judged & (np.abs(alone.misfit) > np.maximum(ALLOWED, case.limits.score * alone.spread)))


def _lowest(case: Case, judged: BoolArray) -> FloatArray:
    """Return the lowest judged thrust of each row's propeller and cell count."""
    rows = case.rows
    lowest = np.full(int(rows.group.max(initial=-1)) + 1, np.inf)
    np.minimum.at(lowest, rows.group[judged], rows.thrust[judged])
    return np.asarray(lowest[rows.group])


def _with_tare(case: Case, relation: Relation, lowest: FloatArray) -> Relation:
    """Return a relation with a tare on each cell count, as a share of the lowest thrust, before its own terms."""
    rows = case.rows
    shares = (relation.tare * (rows.cells == count) * lowest / rows.thrust for count in np.unique(rows.cells))
    return replace(relation, terms=[*(Term(share, 0.0, USUAL_TARE) for share in shares), *relation.terms])


def _shares(case: Case, relation: Relation, lowest: FloatArray, kept: BoolArray) -> Figures:
    """Return the tare of each row's propeller and cell count, as a share of its lowest thrust, with its spread."""
    rows, counts = case.rows, np.unique(case.rows.cells)
    found = Lines(_with_tare(case, relation, lowest), kept).figures()
    own = np.searchsorted(counts, rows.cells)[:, None]
    return Figures(*(medians_by(rows.group, np.take_along_axis(part, own, axis=1)[:, 0]) for part in found))


def _tare_flags(rows: JudgedRows, at: int, own: BoolArray, others: BoolArray, grams: float) -> list[Flag]:
    """Return a flag for each reading of a cell count, told by its lowest, and of the others where it may be theirs."""
    less, more = ("less", "more") if grams > 0 else ("more", "less")
    also = " and ".join(f"{count:.0f}S" for count in np.unique(rows.cells[others]))
    return rows.flags(
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
