"""One propeller across cell counts: its grams per amp at full throttle step from one to the next as those of the others do.

At full throttle T/I = 2π·Kt·CT/(CP·D) hardly knows the volts, so that a reading that steps otherwise is off, or stands
in the row of another propeller. It tells what few readings on a cell count cannot, where each lies on a line of its own.
Limits that name no source are chosen on simulated benches, so that sound ones are left alone.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from xlsengine.study.case import Case
from xlsengine.study.flags import Flag
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows
from xlsengine.study.outliers import NORMAL_QUARTILE, FloatArray
from xlsengine.study.swap_checks import exchanged

_Pair = tuple[int, int]
"""Places of two rows next to each other."""

LEAST_PROPELLERS = 4
"""Propellers on both cell counts from which on their median step says something, one of them being off."""

USUAL_STEP = 0.04
"""The step up, as a logarithm, that fewer of them are held against: idle amps are a larger share of few amps."""

TIMES, TIMES_FEW = 1.5, 2.0
"""Steps beyond this many times the limit across cell counts are off: idle amps are a larger share of few amps."""

ALIKE = math.log(1.05)
"""Currents of repeats at equal volts, nearer than this, agree: neither changed places with another reading's."""

LEAST_EXCHANGE = 0.1
"""Currents nearer to each other than this, in logarithms, are not told apart."""

CLEAR = 0.7
"""An exchange is named before another where what it leaves off the lines is at most this share of the other's."""

MOST_TRIED = 60
"""Exchanges that are tried: a table with more of them is off as a whole."""


@dataclass(frozen=True)
class _Steps:
    """Rows at full throttle, where each stands among propellers and cell counts, and how their grams per amp step.

    `off` is shaped (propellers, cell counts − 1): how far a step is from the median one, as a logarithm; 0 within what is
    usual, and where there is nothing to compare.
    """

    at: IntArray
    props: IntArray
    counts: IntArray
    off: FloatArray

    def odd(self) -> IntArray:
        """Return the propellers that step otherwise."""
        return np.flatnonzero(self.off.any(axis=1))


def _steps(case: Case, current: FloatArray) -> _Steps:
    """Return the steps of the sound readings, with these currents; of the kind, peak or steady, that most of them are."""
    rows = case.rows
    full = case.sound & (rows.point > 0)
    kind = rows.peak if 2 * np.count_nonzero(full & rows.peak) > np.count_nonzero(full) else ~rows.peak
    at = np.flatnonzero(full & kind)
    props, counts = (np.unique(values[at], return_inverse=True)[1] for values in (rows.prop, rows.cells))
    shape = (int(props.max(initial=-1)) + 1, int(counts.max(initial=-1)) + 1)
    sums, sizes = np.zeros(shape), np.zeros(shape)
    np.add.at(sums, (props, counts), np.log(rows.thrust[at] / current[at]))
    np.add.at(sizes, (props, counts), 1.0)
    means = np.where(sizes > 0, sums / np.maximum(sizes, 1.0), np.nan)
    off = [_off(step, case.limits.grams_per_amp, case.limits.score) for step in np.diff(means, axis=1).T]
    return _Steps(at, props, counts, np.stack(off, axis=1) if off else np.zeros((shape[0], 0)))


def _off(step: FloatArray, limit: float, score: float) -> FloatArray:
    """Return how far steps are from their median, or where they are few from the usual one, beyond what is usual; else 0."""
    known = ~np.isnan(step)
    few = np.count_nonzero(known) < LEAST_PROPELLERS
    away = np.where(known, step - (USUAL_STEP if few else np.median(step[known])), 0.0)
    scatter = 0.0 if few else score * float(np.median(np.abs(away[known]))) / NORMAL_QUARTILE
    usual = max(math.log1p((TIMES_FEW if few else TIMES) * limit), scatter)
    return np.where(np.abs(away) > usual, away, 0.0)


def exchanged_by_count(case: Case) -> list[Flag]:
    """Flag two neighbours whose currents changed places, where that exchange brings the steps of both into line.

    An exchange on either cell count does: the one that leaves the rows nearer to the lines of their cell counts is named,
    and none where both do alike.
    """
    rows, steps = case.rows, _steps(case, case.rows.current)
    settled = [pair for pair in _neighbours(rows, steps, case.limits.volts_power) if _settles(case, pair)]
    pairs = [pair for pair in settled if _likeliest(case, pair, [each for each in settled if _alike(rows, pair, each)])]
    cause = (
        "Two figures changed places between two readings: grams per amp then go across cell counts as the others' do."
    )
    return [exchanged(rows, ("current",), here, there, cause) for pair in pairs for here, there in (pair, pair[::-1])]


def _alike(rows: JudgedRows, pair: _Pair, other: _Pair) -> bool:
    """Tell whether two exchanges would settle the same propeller."""
    return pair != other and bool({*rows.prop[list(pair)].tolist()} & {*rows.prop[list(other)].tolist()})


def _likeliest(case: Case, pair: _Pair, others: list[_Pair]) -> bool:
    """Tell whether an exchange leaves clearly less off the lines of current against thrust than any other one does."""
    touched = np.unique([pair, *others])

    def left(exchanged: _Pair) -> float:
        line = case.line.at(touched)
        excess = line.excess(case.rows.thrust[touched], _turned(case, exchanged)[touched])
        return float(np.nansum(excess))

    return all(left(pair) <= CLEAR * left(other) for other in others)


def _turned(case: Case, pair: _Pair) -> FloatArray:
    """Return the currents with those of two rows exchanged."""
    current = case.rows.current.copy()
    current[list(pair)] = case.rows.current[list(pair[::-1])]
    return current


def _agree_with_repeats(rows: JudgedRows, at: IntArray, volts_power: float) -> BoolArray:
    """Tell which of some rows have a repeat, at full throttle, that drew the same current at equal volts."""
    current = np.log(rows.current[at]) - volts_power * np.log(rows.voltage[at])
    order = np.lexsort((current, rows.group[at]))
    same = (np.diff(rows.group[at][order]) == 0) & (np.diff(current[order]) <= ALIKE)
    found = np.zeros(at.size, dtype=bool)
    found[order[:-1][same]] = found[order[1:][same]] = True
    return found


def _neighbours(rows: JudgedRows, steps: _Steps, volts_power: float) -> Iterator[_Pair]:
    """Yield rows next to each other in the table, at one cell count and of two propellers, one of which steps otherwise."""
    odd, alike = np.isin(steps.props, steps.odd()), _agree_with_repeats(rows, steps.at, volts_power)
    tried = 0
    for place in range(steps.at.size - 1):
        upper, lower = int(steps.at[place]), int(steps.at[place + 1])
        if not (odd[place] or odd[place + 1]) or alike[place] or alike[place + 1]:
            continue
        if rows.number[lower] - rows.number[upper] != 1:
            continue
        apart = abs(float(np.log(rows.current[upper] / rows.current[lower]))) >= LEAST_EXCHANGE
        if apart and rows.cells[upper] == rows.cells[lower] and rows.prop[upper] != rows.prop[lower]:
            tried += 1
            if tried > MOST_TRIED:
                return
            yield upper, lower


def _settles(case: Case, pair: _Pair) -> bool:
    """Tell whether no propeller of the pair steps otherwise once their currents are exchanged."""
    after = _steps(case, _turned(case, pair))
    return not after.off[after.props[np.isin(after.at, pair)]].any()


def off_by_count(case: Case) -> list[Flag]:
    """Flag one reading of each propeller whose grams per amp step otherwise than those of the others."""
    steps = _steps(case, case.rows.current)
    return [_step_flag(case, steps, int(prop)) for prop in steps.odd()]


def _step_flag(case: Case, steps: _Steps, prop: int) -> Flag:
    """Flag the reading that lies farthest off its cell count's line of current against thrust, of those that may be it."""
    rows, own = case.rows, steps.at[steps.props == prop]
    counts = steps.counts[steps.props == prop]
    excess = case.line.excess(rows.thrust, rows.current)[own]
    suspect = np.isin(counts, _suspects(steps.off[prop]))
    at = int(own[np.argmax(np.where(suspect, np.nan_to_num(excess), -1.0))])
    others = own[rows.cells[own] != rows.cells[at]]
    there = ", ".join(f"{_per_amp(rows, int(other))} on {rows.cells[other]:.0f}S" for other in others[:3])
    return rows.flag(
        at,
        "Grams per amp differ across cell counts",
        "current",
        f"{_per_amp(rows, at)} on {rows.cells[at]:.0f}S, {there}",
        "nearly the same at every cell count",
        "Here or there: a thrust or current of another row, a misread display, or a wrong cell count or propeller.",
        "Compare these readings with your bench notes; repeat the point, or set Use to no with a note why.",
        also=others[:3],
    )


def _suspects(off: FloatArray) -> list[int]:
    """Return the cell counts, by their places, that a propeller's steps speak against: between two odd ones, or at an end."""
    odd = [bool(step) for step in off]
    between = [place for place in range(1, len(odd)) if odd[place - 1] and odd[place]]
    return between or [
        place for place in range(len(odd) + 1) if (odd[place - 1 : place] + odd[place : place + 1]).count(True)
    ]


def _per_amp(rows: JudgedRows, at: int) -> str:
    return f"{rows.thrust[at] / rows.current[at]:.1f} g/A"
