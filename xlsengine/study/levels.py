"""Thrust and current at equal volts: of repeats, and of each propeller from one cell count to the next.

A pack gives fewer volts as it empties, so thrust and current are compared as logarithms less a power of the volts. From
one cell count to the next they, and grams per amp, go nearly alike for all propellers of a motor.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from xlsengine.study.case import Case
from xlsengine.study.judged_rows import BoolArray, IntArray, display_step, labels_of
from xlsengine.study.outliers import FloatArray

APART = math.log(1.12)
"""Repeats farther apart are no repeats (common practice, no source: 2 to 5 % on one bench), at full throttle."""

APART_BY_HAND = math.log(1.3)
"""The same for throttle steps, which are set by hand."""

USUAL_STEP = np.array([0.05, 0.04])
"""Step up of thrust at equal volts, and of grams per amp, where two propellers have no third to go by: idle amps are a
larger share of few amps."""


def logarithms(case: Case) -> FloatArray:
    """Return what was read as logarithms, of shape (3, n): thrust, current, volts."""
    return np.log(np.stack([case.rows.thrust, case.rows.current, case.rows.voltage]))


@dataclass(frozen=True)
class Repeats:
    """Which sound rows are repeats of each other, and how far apart they may be in thrust and current, (2, n).

    `label` is -1 where a row is not sound.
    """

    volts_power: float
    label: IntArray
    allowed: FloatArray

    def at(self, places: IntArray) -> Repeats:
        """Return the same of some rows, by their places as an array."""
        return Repeats(self.volts_power, self.label[places], self.allowed[:, places])

    def levels(self, read: FloatArray) -> FloatArray:
        """Return thrust and current at equal volts, of shape (2, n), from what was read, of shape (3, n)."""
        return np.asarray(read[:2] - self.volts_power * read[2])

    def apart(self, read: FloatArray) -> BoolArray:
        """Tell which rows have repeats that are farther apart than a bench repeats itself."""
        known = np.flatnonzero(self.label >= 0)
        found = np.zeros(self.label.size, dtype=bool)
        if known.size:
            label, levels = self.label[known], self.levels(read[:, known])
            spread = _largest(label, levels) + _largest(label, -levels)
            found[known] = (spread > _largest(label, self.allowed[:, known])).any(axis=0)
        return found


def _largest(label: IntArray, values: FloatArray) -> FloatArray:
    """Return for each row, of several columns, the largest value under its label."""
    highest = np.full((len(values), int(label.max()) + 1), -np.inf)
    for column, found in zip(values, highest, strict=True):
        np.maximum.at(found, label, column)
    return np.asarray(highest[:, label])


def repeats_of(case: Case) -> Repeats:
    """Return which rows are repeats: sound ones of one propeller, cell count, throttle and kind."""
    rows, sound = case.rows, np.flatnonzero(case.sound)
    steps = np.array([[display_step(values)] for values in (rows.thrust, rows.current)])
    label = np.full(rows.size, -1, dtype=np.int64)
    label[sound] = labels_of(rows.group[sound], rows.throttle[sound], rows.peak[sound])
    allowed = np.where(rows.point > 0, APART, APART_BY_HAND) + 2 * steps / np.stack([rows.thrust, rows.current])
    return Repeats(case.limits.volts_power, label, allowed)


@dataclass(frozen=True)
class Series:
    """The mean thrust, current and volts of each propeller on each cell count, as logarithms: (propellers, counts, 3).

    NaN where there are none. `at` are the places of the rows, `props` and `counts` where each stands.
    """

    at: IntArray
    props: IntArray
    counts: IntArray
    means: FloatArray
    volts_power: float

    def rows(self, prop: int, count: int) -> IntArray:
        """Return the places of one propeller's rows on one cell count."""
        return np.asarray(self.at[(self.props == prop) & (self.counts == count)])

    def levels(self) -> FloatArray:
        """Return thrust at equal volts, and grams per amp, of shape (propellers, counts, 2)."""
        thrust, current, volts = np.moveaxis(self.means, 2, 0)
        return np.stack([thrust - self.volts_power * volts, thrust - current], axis=2)

    def steps(self) -> FloatArray:
        """Return how far each count's levels are from the middle of the propeller's other ones, of the same shape."""
        levels = self.levels()
        steps = np.full_like(levels, np.nan)
        for count in range(levels.shape[1]):
            steps[:, count] = levels[:, count] - _middle(np.delete(levels, count, axis=1), 1)
        return steps

    def usual_steps(self) -> FloatArray:
        """Return the propellers' middle step to each cell count, of shape (counts, 2); any motor's where few have it."""
        steps = self.steps()
        few = np.count_nonzero(~np.isnan(steps[..., :1]), axis=0) <= 2
        up = np.where(np.arange(steps.shape[1])[:, None] > 0, USUAL_STEP, -USUAL_STEP)
        return np.where(few, up, _middle(steps, 0))

    def of(self, read: FloatArray, kept: BoolArray) -> Series:
        """Return the series of some of the rows, had they read this, of shape (3, n)."""
        at, props, counts = self.at[kept], np.unique(self.props[kept], return_inverse=True)[1], self.counts[kept]
        shape = (int(props.max(initial=-1)) + 1, self.means.shape[1])
        return Series(at, props, counts, _means(read[:, at], props, counts, shape), self.volts_power)


def _middle(values: FloatArray, axis: int) -> FloatArray:
    """Return medians along an axis, blanks left out; NaN where all are."""
    if not values.shape[axis]:
        return np.full(np.delete(values.shape, axis), np.nan)
    known = ~np.isnan(values).all(axis=axis)
    filled = np.where(np.expand_dims(known, axis), values, 0.0)
    return np.where(known, np.nanmedian(filled, axis=axis), np.nan)


def _means(read: FloatArray, props: IntArray, counts: IntArray, shape: tuple[int, int]) -> FloatArray:
    sums, sizes = np.zeros((*shape, 3)), np.zeros((*shape, 1))
    np.add.at(sums, (props, counts), read.T)
    np.add.at(sizes, (props, counts), 1.0)
    return np.where(sizes > 0, sums / np.maximum(sizes, 1.0), np.nan)


def series_of(case: Case) -> Series:
    """Return the series of the sound rows at full throttle, of the kind that most of them are."""
    rows = case.rows
    full = case.sound & (rows.point > 0)
    kind = rows.peak if 2 * np.count_nonzero(full & rows.peak) > np.count_nonzero(full) else ~rows.peak
    at = np.flatnonzero(full & kind)
    props, counts = (np.unique(values[at], return_inverse=True)[1] for values in (rows.prop, rows.cells))
    shape = (int(props.max(initial=-1)) + 1, int(counts.max(initial=-1)) + 1)
    return Series(at, props, counts, _means(logarithms(case)[:, at], props, counts, shape), case.limits.volts_power)


def agreeing_series(case: Case) -> Series:
    """Return the series of the rows whose repeats agree."""
    series, read = series_of(case), logarithms(case)
    return series.of(read, ~repeats_of(case).apart(read)[series.at])
