"""Propellers' names with a slip in them: under two names the rows of one propeller stand apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag
from xlsengine.study.judged_rows import IntArray, JudgedRows
from xlsengine.study.outliers import FloatArray
from xlsengine.study.own_readings import own_readings
from xlsengine.study.spelling import Names, digits_exchanged

MOST_MISSPELT = 2
"""Rows up to which a name can be a slip: one typed more often was meant (common practice, no source)."""

ALIKE = 0.05
"""Misfit up to which thrust and current can be those of one propeller (common practice, no source: 3 % on one mount)."""

Places = dict[str, IntArray]


def misspelt(case: Case) -> list[Flag]:
    """Flag names that are one slip away from another of the same size, or two digits in their size.

    A name of one or two rows is taken for a slip of one that has more. So is the name with fewer rows, or the later
    one, where each of the two holds only cell counts that the other lacks: what somebody typed over with the pack.
    Digits that changed places count only where the readings under both names are alike.
    """
    rows = case.rows
    places = _places_by_name(rows)
    names = Names(places)
    flags: list[Flag] = []
    counts = np.unique(rows.cells).size
    for name, own in places.items():
        if own.size > MOST_MISSPELT and np.unique(rows.cells[own]).size == counts:
            continue  # no other name can hold only what this one lacks
        near = [places[other] for other in names.one_slip_from(name) if _same_size(rows, own, places[other])]
        turned = [places[other] for other in digits_exchanged(name) if other in places]
        near += [other for other in turned if _same_size(rows, own, other) or _alike(case, own, other)]
        meant = [other for other in near if _is_slip_of(rows, own, other)]
        if meant:
            flags += _misspelt(rows, own, max(meant, key=len))
    return flags


def _places_by_name(rows: JudgedRows) -> Places:
    """Return the places of each propeller by its key."""
    order = np.argsort(rows.prop, kind="stable")
    parts = np.split(order, np.flatnonzero(np.diff(rows.prop[order])) + 1) if rows.size else []
    return {str(rows.prop_key[own[0]]): own for own in parts}


def _is_slip_of(rows: JudgedRows, own: IntArray, other: IntArray) -> bool:
    """Tell whether the rows of one name can be a slip of the other by how many there are, and on which cell counts."""
    if own.size <= MOST_MISSPELT and other.size > max(own.size, 1):
        return True
    later = (own.size, -own[0]) < (other.size, -other[0])
    return later and not np.isin(rows.cells[own], rows.cells[other]).any()


def _same_size(rows: JudgedRows, own: IntArray, other: IntArray) -> bool:
    """Tell whether diameter, pitch and blades agree in some rows, or are blank."""
    for column in (rows.diameter, rows.pitch, rows.blades):
        here, there = column[own], column[other]
        here, there = here[~np.isnan(here)], there[~np.isnan(there)]
        if here.size and there.size and not np.isin(here, there).any():
            return False
    return True


def _alike(case: Case, own: IntArray, other: IntArray) -> bool:
    """Tell whether the readings under two names are those of one propeller.

    Rows of one point tell first; then thrust and current at the speeds that were read; then grams per ampere at full
    throttle, which are nearly the same at every cell count.
    """
    rows = case.rows
    for cells, throttle, peak in set(_points(rows, own)) & set(_points(rows, other)):
        at = (rows.cells == cells) & (rows.throttle == throttle) & (rows.peak == peak)
        return all(_near(values, own[at[own]], other[at[other]]) for values in (rows.thrust, rows.current))
    misfits = _misfits_as(case, own, other)
    if misfits.size:
        return bool(np.median(np.abs(misfits)) <= ALIKE)
    full = rows.point > 0
    return _near(rows.thrust / rows.current, own[full[own]], other[full[other]])


def _misfits_as(case: Case, own: IntArray, other: IntArray) -> FloatArray:
    """Return the misfits of the rows of one name at their speeds, were they the other propeller's, where those tell."""
    both = case.at(np.concatenate([own, other]))
    found = own_readings(replace(both, rows=replace(both.rows, prop=np.zeros(both.rows.size, dtype=np.int64))))
    told = [part.misfit[: own.size][part.spread[: own.size] <= ALIKE] for part in (found.thrust, found.current)]
    return np.concatenate(told)


def _points(rows: JudgedRows, places: IntArray) -> Iterator[tuple[float, float, bool]]:
    columns = (rows.cells, rows.throttle, rows.peak)
    return zip(*(column[places].tolist() for column in columns), strict=True)


def _near(values: FloatArray, here: IntArray, there: IntArray) -> bool:
    """Tell whether the medians at two sets of places differ by little; False where one is empty."""
    if not here.size or not there.size:
        return False
    return bool(abs(np.log(np.median(values[here]) / np.median(values[there]))) <= ALIKE)


def _misspelt(rows: JudgedRows, own: IntArray, likely: IntArray) -> Iterator[Flag]:
    """Yield one flag a row of a slip in a row or two; of a whole cell count one that speaks of all its rows."""
    name, whole = rows.prop_name[likely[0]], own.size > MOST_MISSPELT
    for place in own[:1] if whole else own:
        yield Flag(
            "Propeller's name misspelt",
            int(rows.number[place]),
            "prop",
            f'"{rows.prop_name[place]}"' + (f" in {own.size} readings" if whole else ""),
            f'"{name}", as {likely.size} other readings {_of_what(rows, own, likely)} have it',
            "A slip in typing: under another name the reading stands apart from its propeller's others.",
            f'Type "{name}" if it is the same propeller; otherwise give the two names that differ more.',
            Severity.DOUBTFUL,
            tuple(rows.number[own[1:]].tolist()) if whole else (int(rows.number[likely[0]]),),
        )


def _of_what(rows: JudgedRows, own: IntArray, likely: IntArray) -> str:
    return "of the same size" if _same_size(rows, own, likely) else "with like figures"
