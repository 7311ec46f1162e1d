"""A table of readings in which mistakes are tried: what its readings should be by each other, and how badly they fit.

Repeats read the same thrust and amps at equal volts, within a bench's scatter. From one cell count to the next both go up a
little at equal volts, nearly alike for all propellers of a motor. A propeller turns a usual share of the power into thrust.
Limits that name no source are chosen on simulated benches (tests/study/round_benches.py), so that sound ones are left alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from xlsengine.study.case import IDEAL_SLOPE, BoolArray, Case, IntArray, JudgedRows, display_step, labels_of, medians_by
from xlsengine.study.outliers import FloatArray

EFFICIENT = (0.15, 0.75)
"""Overall static efficiency of readings that may have been meant: 0.25 to 0.60 is usual (see Settings)."""


@dataclass(frozen=True)
class Meant:
    """What was read, as it may have been meant: columns of shape (n,), one place a judged row."""

    cells: FloatArray
    voltage: FloatArray
    current: FloatArray
    thrust: FloatArray

    @property
    def per_cell(self) -> FloatArray:
        """Return the volts per cell, of shape (n,)."""
        return self.voltage / self.cells

    def fits_cells(self, case: Case) -> BoolArray:
        """Tell in which rows a cell under load can have such volts."""
        return np.asarray(
            (self.per_cell >= case.limits.cell_voltage_low) & (self.per_cell <= case.limits.cell_voltage_top)
        )

    def beyond(self, case: Case) -> BoolArray:
        """Tell in which rows no cell can have such volts: a bench supply may give fewer."""
        low = (self.per_cell < case.limits.cell_voltage_low) & case.limits.sags
        return np.asarray(low | (self.per_cell > case.limits.cell_voltage_most))

    def efficiency(self, case: Case) -> FloatArray:
        """Return the overall static efficiency, of shape (n,): ideal power, as thrust to 1.5, over volts times amps."""
        rows = case.rows
        power = rows.voltage * rows.current / (self.voltage * self.current)
        return np.asarray(rows.hover_efficiency * (self.thrust / rows.thrust) ** IDEAL_SLOPE * power)

    def is_usual(self, case: Case) -> BoolArray:
        """Tell in which rows a propeller can have such a thrust for its power; not where its diameter is not known."""
        low, high = EFFICIENT
        found = self.efficiency(case)
        return np.asarray((found >= low) & (found <= high) & ~np.isnan(found))


def as_typed(rows: JudgedRows) -> Meant:
    """Return what was typed."""
    return Meant(rows.cells, rows.voltage, rows.current, rows.thrust)


def rounds(rows: JudgedRows) -> IntArray:
    """Return for each row how many repeats of it stand above: 0 in the first round."""
    alike = labels_of(rows.group, rows.throttle, rows.peak) if rows.size else rows.group
    order = np.argsort(alike, kind="stable")
    starts = np.searchsorted(alike[order], alike[order])
    found = np.zeros(rows.size, dtype=np.int64)
    found[order] = np.arange(rows.size) - starts
    return found


def parts(rows: JudgedRows) -> Iterator[IntArray]:
    """Yield the places of all rows, of each cell count, and of each round on it: the largest parts first."""
    if rows.size:
        yield np.arange(rows.size)
        for labels in (labels_of(rows.cells), labels_of(rounds(rows)), labels_of(rows.cells, rounds(rows))):
            yield from (np.flatnonzero(labels == label) for label in np.unique(labels))


SCATTER, STEPS_OFF = 0.012, 0.5
"""Usual scatter of a reading (common practice, no source: standard deviation on one mount 0.3 to 1 %), and of a display's
last digit, in steps."""

STEP = np.array([0.05, 0.01])
"""How thrust and amps at equal volts go up from one cell count to the next."""

SHARED, OWN = (0.08, 0.04), 0.04
"""Standard deviations of these steps: what all propellers of a motor share, of thrust and of grams per amp; each one's."""

POWER = 0.1
"""Standard deviation of the power of the volts that thrust and amps go with, from propeller to propeller."""

EFFICIENCY, EFFICIENCY_SPREAD = math.log(0.42), 0.2
"""Overall static efficiency in the middle of the usual ones, and its standard deviation over tables, as logarithms."""

ODD, MOST_ODD = 8.0, 40.0
"""What a row costs whose volts are not those of its cell count, and all of them at most."""

LEAST_USUAL, USUAL_PER_CELL = 3.4, 3.8
"""Volts per cell below which a pack is nearly empty, and nobody's usual ones; what any has (common practice, no source)."""

LEAST_GAP, APART = 1.08, math.log(1.1)
"""Rows of a wrong cell count lie apart from the others by at least this factor, and from the usual volts per cell by as much
as this logarithm: a weak pack goes there by and by."""

VOLTS_SPREAD = 0.1
"""Standard deviation of volts per cell in one table, as logarithms: charge and load, and weak packs."""

MOST, MOST_SHARED = 9.0, 64.0
"""What one odd reading adds at most, twice; and what all propellers share."""


def levels(case: Case, read: Meant) -> FloatArray:
    """Return the logarithms of thrust and amps at equal volts, of shape (2, n)."""
    return np.asarray(np.log(np.stack([read.thrust, read.current])) - case.limits.volts_power * np.log(read.voltage))


@dataclass(frozen=True)
class Profile:
    """A part of a table beside what its propellers read in all its other rows; NaN where they read nothing there.

    `off`, of shape (2, m), are logarithms of thrust and amps over those expected at the volts read, `volts` those of the
    volts over the volts there, `scatter` what each may be off; `repeated` tells where repeats were read there.
    """

    at: IntArray
    off: FloatArray
    volts: FloatArray
    scatter: FloatArray
    repeated: BoolArray

    @cached_property
    def shared(self) -> float:
        """Return what all of them may be off alike, as a standard deviation: the power of the volts is a motor's own."""
        known = self.volts[~np.isnan(self.volts)]
        return 2 * POWER * abs(float(np.median(known))) if known.size else 0.0


def apart_on_count(read: Meant, odd: BoolArray) -> BoolArray:
    """Tell which odd rows have volts that are not near those of the others of their cell count."""
    apart = odd.copy()
    for count in np.unique(read.cells[odd]):
        own = read.cells == count
        here, others = read.per_cell[own & odd], read.per_cell[own & ~odd]
        if others.size and LEAST_GAP * here.max() > others.min() and LEAST_GAP * others.max() > here.min():
            apart &= ~own
    return apart


class Table:
    """A table of readings, and how badly it fits together as typed or as it may have been meant."""

    def __init__(self, case: Case) -> None:
        """Take the rows of a case, the doubtful ones too."""
        rows = case.rows
        self.case, self.read, self.full = case, as_typed(rows), rows.point > 0
        self._typed, self.odd = self._labels(rows.cells), self.odd_volts(self.read)
        flicker = [STEPS_OFF * display_step(values) / values for values in (rows.thrust, rows.current)]
        self.noise = np.hypot(SCATTER, np.stack(flicker))

    def _labels(self, cells: FloatArray) -> tuple[IntArray, IntArray]:
        rows = self.case.rows
        return labels_of(rows.prop, cells, rows.throttle, rows.peak), np.unique(cells, return_inverse=True)[1]

    def labels(self, read: Meant) -> tuple[IntArray, IntArray]:
        """Return labels of what repeats have in common, and the place of each row's cell count among them."""
        return self._typed if read.cells is self.read.cells else self._labels(read.cells)

    def profile(self, at: IntArray, read: Meant | None = None) -> Profile:
        """Return a part of it beside the repeats in all other rows, else beside full throttle on other cell counts."""
        read = read or self.read
        point, count = self.labels(read)
        there = np.ones(point.size, dtype=bool)
        there[at] = False
        seen = np.vstack([levels(self.case, read), np.log(read.voltage)])
        step = np.vstack([STEP[:, None] * count, np.zeros(point.size)])
        same = np.stack([medians_by(point, np.where(there, each, np.nan))[at] for each in seen])
        prop, open_there = self.case.rows.prop, there & self.full
        across = np.stack([medians_by(prop, np.where(open_there, each, np.nan))[at] for each in seen - step])
        across = np.where(self.full[at], across + step[:, at], np.nan)
        off = seen[:, at] - np.where(np.isnan(same), across, same)
        return self._profile(at, off[:2], off[2], ~np.isnan(same[2]))

    def _profile(self, at: IntArray, off: FloatArray, volts: FloatArray, repeated: BoolArray) -> Profile:
        scatter = np.hypot(math.sqrt(2) * self.noise[:, at], POWER * np.abs(volts))
        return Profile(at, off, volts, scatter, repeated)

    def moved(self, before: Profile, read: Meant) -> Profile:
        """Return a part as it may have been meant; what the other rows read stays, unless other cell counts were meant."""
        at = before.at
        if read.cells is not self.read.cells:
            return self.profile(at, read)
        off = before.off + levels(self.case, read)[:, at] - levels(self.case, self.read)[:, at]
        return self._profile(at, off, before.volts + np.log(read.voltage / self.read.voltage)[at], before.repeated)

    def misfit(self, read: Meant) -> float:
        """Return how badly it fits together, half a sum of squared standard deviations, had it read this."""
        level, (point, count) = levels(self.case, read), self.labels(read)
        return self._repeats(level, point) + self._across(level, count) + self._efficiency(read) + self._volts(read)

    def _volts(self, read: Meant) -> float:
        """Return what volts say that no cell can have, or that are unlike the others'."""
        per_cell = np.log(read.per_cell)
        return min(ODD * np.count_nonzero(self.odd_volts(read)), MOST_ODD) + _cost(
            (per_cell - np.median(per_cell)) / VOLTS_SPREAD
        )

    def usual_per_cell(self, read: Meant) -> float:
        """Return the volts per cell of the rows where they can be; what any pack has where these are none, or too low."""
        fits = read.fits_cells(self.case)
        found = float(np.median(read.per_cell[fits])) if fits.any() else 0.0
        return found if found > LEAST_USUAL else USUAL_PER_CELL

    def odd_volts(self, read: Meant) -> BoolArray:
        """Tell which rows have volts that no cell can have, or those of a nearly empty one that lie apart on their count."""
        beyond = read.beyond(self.case)
        low = (read.per_cell < self.usual_per_cell(read) / math.exp(APART)) & self.case.limits.sags
        return beyond | (low & apart_on_count(read, beyond | low))

    def _repeats(self, level: FloatArray, point: IntArray) -> float:
        """Return what is left between repeats."""
        sizes = np.bincount(point)
        off = np.stack([each - (np.bincount(point, each) / sizes)[point] for each in level])
        return _cost(off / self.noise)

    def _across(self, level: FloatArray, count: IntArray) -> float:
        """Return what is left from one cell count to the next."""
        thrust, amps = self._by_count(level, count)
        steps = np.diff(np.stack([thrust - STEP[0] * np.arange(thrust.shape[1]), thrust - amps]), axis=2)
        steps[1] -= STEP[0] - STEP[1]
        found = 0.0
        for shared_spread, step in zip(SHARED, steps, strict=True):
            for own in (each[~np.isnan(each)] for each in step.T):
                shared = np.median(own) if own.size else 0.0
                found += _cost(shared / shared_spread, MOST_SHARED) + _cost((own - shared) / OWN)
        return found

    def _by_count(self, level: FloatArray, count: IntArray) -> FloatArray:
        """Return the middle levels at full throttle of each propeller on each cell count: (2, propellers, counts)."""
        prop = self.case.rows.prop
        found = np.full((2, int(prop.max(initial=-1)) + 1, int(count.max(initial=-1)) + 1), np.nan)
        for part, each in zip(found, level, strict=True):
            part[prop, count] = medians_by(labels_of(prop, count), np.where(self.full, each, np.nan))
        return found

    def _efficiency(self, read: Meant) -> float:
        """Return what the power for the thrust says, over all propellers: a factor of it is seldom a motor's own."""
        found = np.log(read.efficiency(self.case))[self.full]
        found = found[np.isfinite(found)]
        return float(((np.median(found) - EFFICIENCY) / EFFICIENCY_SPREAD) ** 2 / 2) if found.size else 0.0


def _cost(scores: FloatArray | float, most: float = MOST) -> float:
    """Return half the sum of squares of standard scores, each up to a most."""
    return float(np.minimum(np.square(scores), most).sum() / 2)
