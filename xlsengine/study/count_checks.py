"""One propeller across cell counts at full throttle: grams per amp, and thrust by the volts, go as any propeller's do.

T/I = 2π·Kt·CT/(CP·D) hardly knows the volts, so that a reading that steps otherwise is off, or stands in the row of another
propeller. It tells what few readings on a cell count cannot, where each lies on a line of its own.
"""

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from xlsengine.study.case import Case
from xlsengine.study.flags import Flag, about
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows
from xlsengine.study.levels import USUAL_STEP, Series, agreeing_series, series_of
from xlsengine.study.lines import Lines
from xlsengine.study.outliers import NORMAL_QUARTILE, FloatArray
from xlsengine.study.relations import STRANGER, Bench, power_of_all

LEAST_PROPELLERS = 4
"""Propellers on both cell counts from which on their median step says something, one of them being off."""

TIMES, TIMES_FEW = 1.5, 2.0
"""Steps beyond this many times the limit across cell counts are off: idle amps are a larger share of few amps."""

ALIKE = 0.5
"""Readings this share as far off their lines as the farthest may as well be it."""

LEAST_LOADED = 0.5
"""Share of a current that is never taken for idle."""

VOLTS_POWERS = (1.1, 2.4)
"""Powers of the volts that thrust goes with, beyond which it is doubted: 1.4 to 2.1 on simulated benches, with scatter."""

LEAST_STEP = 0.06
"""Scatter of a thrust that those powers are widened by."""


def off_by_count(case: Case) -> list[Flag]:
    """Flag the reading of each propeller whose grams per amp step otherwise than the others'; all that it may be."""
    series = series_of(case)
    off = _all_off(case, series)
    odd = np.flatnonzero(off.any(axis=1)).tolist()
    return [_step_flag(case, series, prop, at) for prop in odd for at in _suspect_rows(case, series, prop, off[prop])]


def agreeing_across(case: Case) -> BoolArray:
    """Tell which readings at full throttle have grams per amp that their propeller has on another cell count too."""
    series, found = series_of(case), np.zeros(case.rows.size, dtype=bool)
    known = ~np.isnan(np.diff(series.levels()[..., 1], axis=1))
    agreeing = np.asarray(known.any(axis=1) & ~_all_off(case, series).any(axis=1))
    if series.at.size:
        found[series.at] = agreeing[series.props]
    return found


def _all_off(case: Case, series: Series) -> FloatArray:
    """Return how far the steps of grams per amp are off, of shape (propellers, counts - 1); 0 within the usual."""
    steps, loaded = (np.diff(per_amp, axis=1).T for per_amp in (series.levels()[..., 1], _per_loaded_amp(case, series)))
    if not steps.size:
        return np.zeros(steps.T.shape)
    return np.stack([_off(case, *each) for each in zip(steps, loaded, strict=True)], axis=1)


def _per_loaded_amp(case: Case, series: Series) -> FloatArray:
    """Return thrust over the current above the idle one, as logarithms: it hardly knows how much of few amps that is."""
    thrust, current, _ = np.moveaxis(series.means, 2, 0)
    amps = np.exp(current)
    return np.asarray(thrust - np.log(np.maximum(amps - case.limits.idle, LEAST_LOADED * amps)))


def _off(case: Case, steps: FloatArray, loaded: FloatArray) -> FloatArray:
    """Return how far steps are from the median of the others, where these are few from the usual one; 0 within the usual."""
    known, limit = np.flatnonzero(~np.isnan(steps)), case.limits.grams_per_amp
    off = np.zeros(steps.size)
    for prop in known.tolist():
        others = loaded[known[known != prop]]
        if others.size + 1 < LEAST_PROPELLERS:
            away, usual = steps[prop] - USUAL_STEP[1], math.log1p(TIMES_FEW * limit)
        else:
            away = loaded[prop] - np.median(others)
            scatter = float(np.median(np.abs(others - np.median(others)))) / NORMAL_QUARTILE
            usual = max(math.log1p(TIMES * limit), case.limits.score * scatter)
        off[prop] = away if abs(away) > usual else 0.0
    return off


def _suspect_rows(case: Case, series: Series, prop: int, off: FloatArray) -> list[int]:
    """Return the readings that may be it: those alone on their cell count before repeats, which bear each other out.

    Of several those whose power for the thrust is farthest from other propellers'.
    """
    own, rows = series.props == prop, case.rows
    places = series.at[own & np.isin(series.counts, _suspects(off))]
    alone = [place for place in places.tolist() if np.count_nonzero(rows.group[series.at] == rows.group[place]) == 1]
    suspects = np.array(alone or places.tolist())
    found = Lines(power_of_all(Bench(case), rows), case.sound).judged(STRANGER, case.limits.score)
    excess = np.nan_to_num(np.abs(found.misfit))[suspects]
    most = np.argmax(excess)
    return [int(at) for at in suspects[excess >= ALIKE * excess[most]]] if alone else [int(suspects[most])]


def _step_flag(case: Case, series: Series, prop: int, at: int) -> Flag:
    rows, own = case.rows, series.at[series.props == prop]
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


def thrust_by_volts(case: Case) -> list[Flag]:
    """Flag a reading of each propeller whose thrust goes otherwise with the volts than any propeller's can."""
    series = agreeing_series(case)
    odd = (next(_odd_pairs(series, prop), None) for prop in range(series.means.shape[0]))
    return [_odd_flag(case.rows, *pair) for pair in odd if pair is not None]


def _odd_pairs(series: Series, prop: int) -> Iterator[tuple[IntArray, IntArray]]:
    """Yield the readings on neighbouring cell counts between which thrust goes otherwise."""
    for lower, upper in pairwise(np.flatnonzero(~np.isnan(series.means[prop, :, 0])).tolist()):
        thrust, _, volts = series.means[prop, upper] - series.means[prop, lower]
        least, most = sorted(power * volts for power in VOLTS_POWERS)
        if thrust < least - LEAST_STEP or thrust > most + LEAST_STEP:
            yield series.rows(prop, lower), series.rows(prop, upper)


def _odd_flag(rows: JudgedRows, lower: IntArray, upper: IntArray) -> Flag:
    """Flag the reading of the cell count that has fewer of them, or came later."""
    odd, other = (lower[-1], upper[0]) if (lower.size, -lower[-1]) < (upper.size, -upper[-1]) else (upper[-1], lower[0])
    usual = (rows.voltage[odd] / rows.voltage[other]) ** np.array([1.4, 2.1]) * rows.thrust[other]
    words = (f"{rows.entry(at, 'thrust')} at {rows.entry(at, 'voltage')}" for at in (odd, other))
    return rows.flag(
        int(odd),
        "Thrust does not go with the volts",
        "thrust",
        ", and ".join(words),
        f"{about(float(usual.min()), 'thrust')} to {about(float(usual.max()), 'thrust').removeprefix('about ')}",
        "One of them has another propeller's name or cell count; or a propeller slipped, or throttle was not full.",
        "Compare both with your bench notes; repeat the point, or set Use of the wrong one to no with a note why.",
        also=(int(other),),
    )
