"""A meter at its end: the highest amps or grams of a table, the same to the last digit where readings should differ.

Limits that name no source are chosen on simulated benches (tests/study/found_rates.py), so that sound ones are left alone.
"""

from __future__ import annotations

import math

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import BoolArray, Case, IntArray, display_step
from xlsengine.study.flags import Flag, label_of, typed
from xlsengine.study.outliers import FloatArray
from xlsengine.study.row_mistakes import Trials

SCATTER, STRANGERS = 0.014, 0.1
"""How far a repeat at equal volts, and another propeller's highest reading, usually are from one (as logarithms)."""

MOST_BY_VOLTS = 4.0
"""What different volts say at most of equal readings, as half a squared standard deviation."""

SURE, LEAST_LACK, MOST_LACK = 5.0, 1.5, 4.5
"""What equal highest readings have to say, as a logarithm of chances; standard scores that they lack to add to it, and what
that adds at most."""

FEWEST = 3
"""Equal readings from which on they speak for themselves; fewer have to lack something."""

MOST_SHARE = 0.9
"""Of a table with more of its readings at its highest, nothing tells what a meter shows."""

TELLING = {"thrust": ((0, 1), (2, -1), (4, 1)), "current": ((1, 1), (2, 1), (5, 1))}
"""Relations among the `TIES` that tell of a column, and the sign in which one too low shows in them."""

METERS = {"thrust": ("Thrust stand", "stand"), "current": ("Current meter", "meter")}


def meter_ends(case: Case) -> list[Flag]:
    """Flag the readings at the end of an ammeter or a scale: equal to the last digit, above all others, and too low."""
    return [flag for column in ("current", "thrust") if case.rows.size for flag in _at_end(case, column)]


def _at_end(case: Case, column: str) -> list[Flag]:
    read = case.rows.reading(column)
    at = np.flatnonzero(read == read.max())
    own = at[_not_copied(case, at)]
    if own.size < 2 or at.size > MOST_SHARE * read.size:
        return []
    told, lack = _coincidence(case, own, column), 0.0
    if own.size < FEWEST or told < SURE:
        score = _lacking(case, at, column)
        lack = min(score**2 / 2, MOST_LACK) if score >= LEAST_LACK else 0.0
    is_told = told + lack >= SURE and (own.size >= FEWEST or lack > 0)
    return _flags(case, at, column) if is_told else []


def _not_copied(case: Case, at: IntArray) -> BoolArray:
    """Tell which of some rows are no copy of one before them."""
    read = np.stack([case.rows.reading(name)[at] for name in ("voltage", "current", "thrust")])
    first = np.unique(read, axis=1, return_index=True)[1]
    return np.isin(np.arange(at.size), first)


def _coincidence(case: Case, at: IntArray, column: str) -> float:
    """Return how unlikely it is that the highest readings are the same by chance, as a logarithm."""
    rows, read = case.rows, case.rows.reading(column)
    step = max(display_step(read), float(np.diff(np.unique(read)).min())) / read.max()
    found, groups = 0.0, rows.group[at]
    for group in np.unique(groups):
        volts = np.log(rows.voltage[at[groups == group]])
        off = case.limits.volts_power * (volts - np.median(volts)) / SCATTER
        alike = max(math.log(2.5 * SCATTER / step), 0.0)
        found += (volts.size - 1) * alike + float(np.minimum(off**2 / 2, MOST_BY_VOLTS).sum())
    return found + (np.unique(groups).size - 1) * max(math.log(STRANGERS / step), 0.0)


def _lacking(case: Case, at: IntArray, column: str) -> float:
    """Return by how many spreads the middle one of some readings lacks what their relatives lead to expect."""
    scores = Trials(case).scores_without(at)
    told = np.stack([-sign * scores[place] for place, sign in TELLING[column]])
    return _middle(np.max(np.nan_to_num(told), axis=0))


def _middle(values: FloatArray) -> float:
    return float(np.median(values))


def _flags(case: Case, at: IntArray, column: str) -> list[Flag]:
    rows, (name, meter) = case.rows, METERS[column]
    highest = typed(rows.reading(column)[at[0]], column)
    props = np.unique(rows.prop_name[at].astype(str))
    who = f"{props.size} propellers" if props.size > 1 else str(props[0])
    return rows.flags(
        at,
        f"{name} perhaps at its end",
        column,
        f"{highest} in {rows.named(at)}, of {who}: the highest {label_of(column)}, the same to the last digit",
        f"figures that differ; {highest} or more",
        f"The {meter} shows no more than that, or stopped there.",
        f"Look up the largest {label_of(column)} that the {meter} can show. If it is this one, repeat these with a larger "
        "one; until then the true figures are higher"
        + (", and ESC, leads and pack need more than these amps." if column == "current" else "."),
        severity=Severity.DOUBTFUL,
    )
