"""One propeller from one cell count to the next, at full throttle: grams per amp, and thrust by the volts.

T/I = 2π·Kt·CT/(CP·D) hardly knows the volts, so that a reading that steps otherwise is off, or stands in the row of another
propeller. It tells what few readings on a cell count cannot.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from xlsengine.study.case import BoolArray, Case, IntArray, JudgedRows, counts_by, labels_of, medians_by
from xlsengine.study.flags import Flag, about, typed
from xlsengine.study.lines import Lines
from xlsengine.study.outliers import FloatArray
from xlsengine.study.relations import STRANGER, Bench, power_of_all
from xlsengine.study.trials import as_typed

USUAL_STEP = 0.04
"""Step up of grams per amp, where too few propellers tell what it is: idle amps are a larger share of few amps."""

LEAST_PROPELLERS = 4
"""Propellers on both cell counts from which on their median step says something, one of them being off."""

TIMES, TIMES_FEW = 1.5, 2.0
"""Steps beyond this many times the limit across cell counts are off."""

ALIKE = 0.5
"""Readings whose power is this share as far off other propellers' as the farthest may as well be it."""

VOLTS_POWERS, USUAL_POWERS = (1.1, 2.4), (1.4, 2.1)
"""Powers of the volts that thrust goes with, beyond which it is doubted; usual ones, on simulated benches, with scatter."""

MOST_IDLE = 0.7
"""Share of a current that no-load amps are at most: of more nothing is left to be judged."""

LEAST_STEP = 0.06
"""Scatter of a thrust that those powers are widened by."""


@dataclass(frozen=True)
class Steps:
    """First readings of a propeller on neighbouring cell counts, and how the middle ones go, as logarithms."""

    kept: BoolArray
    lower: IntArray
    upper: IntArray
    thrust: FloatArray
    current: FloatArray
    volts: FloatArray


def _steps(case: Case, among: BoolArray) -> Steps:
    """Return the steps of readings at full throttle among some, of the kind that most of them are."""
    rows = case.rows
    full = among & (rows.point > 0)
    kept = full & (rows.peak if 2 * np.count_nonzero(full & rows.peak) > np.count_nonzero(full) else ~rows.peak)
    at = np.flatnonzero(kept)
    at = at[np.unique(rows.group[at], return_index=True)[1]]
    at = at[np.lexsort((rows.cells[at], rows.prop[at]))]
    same = rows.prop[at[:-1]] == rows.prop[at[1:]]
    lower, upper = at[:-1][same], at[1:][same]
    read = (np.where(kept, values, np.nan) for values in (rows.thrust, _loading(case), rows.voltage))
    middle = [medians_by(rows.group, np.log(values)) for values in read]
    return Steps(kept, lower, upper, *(values[upper] - values[lower] for values in middle))


def _loading(case: Case) -> FloatArray:
    """Return the amps that load the motor: without those of no load, where they are known."""
    amps = case.rows.current
    return np.asarray(amps - np.minimum(case.limits.idle, MOST_IDLE * amps))


def _is_off(case: Case, bench: Bench, steps: Steps) -> BoolArray:
    """Tell which grams per amp step otherwise than those of the other propellers, or than usual where these are few."""
    per_amp, limit = steps.thrust - steps.current, case.limits.grams_per_amp
    if not per_amp.size:
        return np.zeros(0, dtype=bool)
    counts = labels_of(case.rows.cells[steps.lower], case.rows.cells[steps.upper])
    enough = counts_by(counts) >= LEAST_PROPELLERS
    usual = np.where(enough, medians_by(counts, per_amp), USUAL_STEP)
    digits = np.hypot(*(bench.flicker(case.rows, name) for name in ("thrust", "current")))
    least = np.log1p(np.where(enough, TIMES, TIMES_FEW) * limit)
    shown = 2 * np.hypot(digits[steps.lower], digits[steps.upper])
    apart = np.abs(per_amp) > np.log1p(limit) / 2  # what is alike on both counts is no culprit
    return np.asarray((np.abs(per_amp - usual) > np.maximum(least, shown)) & apart)


def agreeing_across(case: Case) -> BoolArray:
    """Tell which readings are of a propeller whose grams per amp agree across cell counts."""
    steps = _steps(case, case.sound)
    off, props = _is_off(case, Bench(case), steps), case.rows.prop[steps.lower]
    return np.asarray(steps.kept & np.isin(case.rows.prop, props) & ~np.isin(case.rows.prop, props[off]))


def off_by_count(case: Case) -> list[Flag]:
    """Flag the reading of each propeller whose grams per amp step otherwise than the others'; all that it may be.

    Those alone on their cell count come before repeats, which bear each other out. One with more thrust than an ideal
    propeller's is judged too: it may be the amps.
    """
    rows, bench = case.rows, Bench(case)
    too_good = ~case.doubted & (rows.hover_efficiency > 1) & as_typed(rows).fits_cells(case)
    steps = _steps(case, case.sound | too_good)
    off = np.flatnonzero(_is_off(case, bench, steps))
    if not off.size:
        return []
    lines = Lines(power_of_all(bench, rows), case.sound)
    far = np.nan_to_num(np.abs(lines.judged(STRANGER, case.limits.score).misfit))
    read = counts_by(rows.group, steps.kept)
    found = dict[int, Flag]()
    for pair in zip(steps.lower[off].tolist(), steps.upper[off].tolist(), strict=True):
        alone = [at for at in pair if too_good[at]] or [at for at in pair if read[at] == 1]
        most = max(far[list(alone or pair)])
        likely = [at for at in alone or pair if far[at] >= ALIKE * most][: len(alone) or 1]
        found |= {at: _step_flag(case, at, sum(pair) - at) for at in likely}
    return list(found.values())


def _step_flag(case: Case, at: int, other: int) -> Flag:
    """Say what current goes with the thrust, or thrust with the current where that steps otherwise with the volts."""
    rows = case.rows
    levels = (np.log(read) - case.limits.volts_power * np.log(rows.voltage) for read in (rows.thrust, rows.current))
    thrust_off, current_off = (abs(level[at] - level[other]) for level in levels)
    loading = _loading(case)
    here, there = (rows.thrust[row] / loading[row] for row in (at, other))
    is_thrust = thrust_off > current_off
    column, read = ("thrust", rows.thrust) if is_thrust else ("current", rows.current)
    due = read[at] * there / here if is_thrust else read[at] + loading[at] * (here / there - 1)
    beside = np.flatnonzero((np.abs(rows.number - rows.number[at]) == 1) & (read == read[at]))
    return rows.flag(
        at,
        "Grams per amp differ across cell counts",
        column,
        f"{here:.1f} g/A on {rows.cells[at]:.0f}S, {there:.1f} g/A on {rows.cells[other]:.0f}S"
        + ", no-load amps taken off" * bool(case.limits.idle)
        + (f"; {typed(read[at], column)} as in {rows.name(int(beside[0]))}" if beside.size else ""),
        f"nearly the same at every cell count: {about(float(due), column)} here",
        "Here or there: a thrust or current of another row, a misread display, or a wrong cell count or propeller.",
        "Compare these readings with your bench notes; repeat the point, or set Use to no with a note why.",
        also=(other,),
    )


def thrust_by_volts(case: Case) -> list[Flag]:
    """Flag a reading of each propeller whose thrust goes otherwise with the volts than any propeller's can."""
    rows, steps = case.rows, _steps(case, case.sound)
    least, most = np.sort(np.outer(VOLTS_POWERS, steps.volts), axis=0)
    odd = np.flatnonzero((steps.thrust < least - LEAST_STEP) | (steps.thrust > most + LEAST_STEP))
    odd = odd[np.unique(rows.prop[steps.lower[odd]], return_index=True)[1]]
    read = counts_by(rows.group, steps.kept) if odd.size else rows.group
    return [
        _odd_flag(rows, *sorted(pair, key=lambda at: (read[at], -at)))
        for pair in zip(steps.lower[odd].tolist(), steps.upper[odd].tolist(), strict=True)
    ]


def _odd_flag(rows: JudgedRows, odd: int, other: int) -> Flag:
    usual = (rows.voltage[odd] / rows.voltage[other]) ** np.array(USUAL_POWERS) * rows.thrust[other]
    words = (f"{rows.entry(at, 'thrust')} at {rows.entry(at, 'voltage')}" for at in (odd, other))
    return rows.flag(
        odd,
        "Thrust does not go with the volts",
        "thrust",
        ", and ".join(words),
        f"{about(float(usual.min()), 'thrust')} to {about(float(usual.max()), 'thrust').removeprefix('about ')}",
        "One of them has another propeller's name or cell count; or a propeller slipped, or throttle was not full.",
        "Compare both with your bench notes; repeat the point, or set Use of the wrong one to no with a note why.",
        also=(other,),
    )
