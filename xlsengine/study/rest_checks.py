"""Volts that are not those of their amps and thrust: read at rest, and so too high, or misread too low.

A freshly charged pack gives more volts too, but with them amps and thrust rise, as the volts to a power of about 1.6; on
one that empties they fall.
"""

from __future__ import annotations

import math

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag, about, typed
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows, counts_by, display_step, labels_of, medians_by
from xlsengine.study.levels import agreeing_series
from xlsengine.study.outliers import FloatArray

HIGHER, HIGHER_ALONE = math.log(1.025), math.log(1.05)
"""Volts this far off a repeat's, or else off the line of the pack's other readings, may not be those under load."""

SUDDEN = math.log(1.04)
"""Volts this far below what the readings before and after are off the line are those of no pack that empties."""

LOWER_FAR = math.log(1.1)
"""Volts this far below that line are doubted where no other cell count tells."""

LACKING, LACKING_ALONE = 0.035, 0.08
"""What thrust and amps then lack or have too much, as logarithms: beside a repeat (1 % of scatter each), or across cell
counts."""

HALF = 0.5
"""Each of them has to lack this share of what the volts would give."""

USUAL_OHMS = 0.004
"""Resistance of pack and leads, for each cell, where amps too much alike tell none (common practice, no source)."""

ALIKE = 27.0
"""Squared distances of amps from their mean (A²) that tell as much: 0.4 % of scatter in volts, ±3 mΩ a cell."""


def rest_volts(case: Case) -> list[Flag]:
    """Flag readings at full throttle whose volts do not go with the pack's other readings, nor amps and thrust with them."""
    rows, empty = case.rows, case.rows.voltage / case.rows.cells < case.limits.cell_voltage_low
    at = np.flatnonzero(case.sound & (rows.point > 0) & ~empty)
    if not at.size:
        return []
    loaded = _loaded_volts(rows, at)
    higher = np.log(rows.voltage[at] / loaded)
    usual = np.where(np.isnan(loaded), _repeated(rows, at, rows.voltage), loaded)
    above, below = (_off_repeats(case, at, higher, way) for way in (1, -1))
    far = np.abs(higher) >= HIGHER_ALONE
    if far.any():
        odd = _across_counts(case, at)
        above |= far & (higher > 0) & (odd < 0)
        sudden = higher - _before_and_after(rows, at, higher) <= -SUDDEN
        below |= far & sudden & ((odd > 0) | (higher <= -LOWER_FAR)) & (higher < 0)
    flags = [_flag(rows, int(at[place]), float(usual[place])) for place in np.flatnonzero(above).tolist()]
    return flags + [_too_low(rows, int(at[place]), float(usual[place])) for place in np.flatnonzero(below).tolist()]


def _loaded_volts(rows: JudgedRows, at: IntArray) -> FloatArray:
    """Return the volts that the other readings of the cell count and kind have at each row's amps; NaN if too few."""
    label = labels_of(rows.cells[at], rows.point[at])
    volts, amps = rows.voltage[at], rows.current[at]
    others = counts_by(label) - 1.0
    x, y, xx, xy = (
        _sum_of_others(label, values) / np.maximum(others, 1.0) for values in (amps, volts, amps**2, amps * volts)
    )
    far = np.maximum(xx - x**2, 0.0) * others
    slope = ((xy - x * y) * others - ALIKE * USUAL_OHMS * rows.cells[at]) / (far + ALIKE)
    return np.where(others >= 2, y + np.minimum(slope, 0.0) * (amps - x), np.nan)


def _before_and_after(rows: JudgedRows, at: IntArray, higher: FloatArray) -> FloatArray:
    """Return the mean of what the readings before and after each, on its cell count, are off the line: a pack that empties
    has lower volts in all of them."""
    found = np.zeros(at.size)
    for label in np.unique(own := labels_of(rows.cells[at], rows.point[at])).tolist():
        places = np.flatnonzero(own == label)
        beside = np.stack([np.r_[np.nan, higher[places[:-1]]], np.r_[higher[places[1:]], np.nan]])
        known = ~np.isnan(beside)
        found[places] = np.where(known, beside, 0.0).sum(axis=0) / np.maximum(known.sum(axis=0), 1)
    return found


def _sum_of_others(label: IntArray, values: FloatArray) -> FloatArray:
    return np.asarray(np.bincount(label, values)[label] - values)


def _repeated(rows: JudgedRows, at: IntArray, values: FloatArray) -> FloatArray:
    """Return what the repeats of each row read: the other one of two, the middle of more; NaN where there are none."""
    label, read = labels_of(rows.group[at], rows.point[at]), values[at]
    count = counts_by(label)
    return np.where(count > 2, medians_by(label, read), np.where(count == 2, _sum_of_others(label, read), np.nan))


def _off_repeats(case: Case, at: IntArray, higher: FloatArray, way: int) -> BoolArray:
    """Tell which rows have more volts (1) than their repeats and than the line of the others, or less (-1).

    And thrust and amps that did not go with the volts. Without a line it is the one with more volts.
    """
    rows = case.rows
    volts, thrust, current = (
        way * np.log(values[at] / _repeated(rows, at, values)) for values in (rows.voltage, rows.thrust, rows.current)
    )
    would_give = case.limits.volts_power * volts
    lacking = np.stack([would_give - thrust, would_give - current])
    enough = lacking.mean(axis=0) >= LACKING + _coarseness(rows, at)
    off = (volts >= HIGHER) & (lacking >= HALF * would_give).all(axis=0) & enough
    unknown = np.isnan(higher) & (way > 0)
    return np.asarray(off & (unknown | (way * higher >= HALF * volts)))


def _across_counts(case: Case, at: IntArray) -> FloatArray:
    """Tell by the other cell counts where thrust and amps both lack something at their volts, -1, or have too much, 1."""
    series, limit = agreeing_series(case), math.log1p(2 * case.limits.grams_per_amp)
    thrust, per_amp = np.moveaxis(series.steps() - series.usual_steps(), 2, 0)
    told = np.where(np.abs(per_amp) <= limit, np.nan_to_num(thrust), 0.0)
    found = np.zeros(case.rows.size)
    found[series.at] = told[series.props, series.counts]
    beyond = np.abs(found[at]) >= LACKING_ALONE + _coarseness(case.rows, at)
    return np.where(beyond, np.sign(found[at]), 0.0)


def _coarseness(rows: JudgedRows, at: IntArray) -> FloatArray:
    """Return what the displays leave open of thrust and amps, as a share, their mean."""
    return np.asarray(sum(display_step(values) / values[at] for values in (rows.thrust, rows.current)) / 2)


def _flag(rows: JudgedRows, at: int, loaded: float) -> Flag:
    return Flag(
        "Volts perhaps read at rest",
        int(rows.number[at]),
        "voltage",
        f"{typed(rows.voltage[at], 'voltage')} with {typed(rows.current[at], 'current')}",
        f"{about(loaded, 'voltage')} under that load, as the other readings have it",
        "Volts were read before or after the run: amps and thrust did not rise with them, as they do on a fresh pack.",
        "If your bench notes agree, type the volts under load; otherwise repeat the point.",
        Severity.DOUBTFUL,
    )


def _too_low(rows: JudgedRows, at: int, loaded: float) -> Flag:
    return rows.flag(
        at,
        "Volts too low for that load",
        "voltage",
        f"{typed(rows.voltage[at], 'voltage')} with {typed(rows.current[at], 'current')}",
        f"{about(loaded, 'voltage')} under that load, as the other readings have it",
        "A misread or mistyped display, or a weaker pack.",
        "If your bench notes agree, type the volts that were read; otherwise repeat the point.",
    )
