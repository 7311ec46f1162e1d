"""What a reading should be after its relatives: repeats, neighbours in throttle, the speed, other propellers.

Misfits are logarithms of a reading over what its relatives lead to expect.
"""

import math
from dataclasses import dataclass

import numpy as np

from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows, counts_by, labels_of, medians_by
from xlsengine.study.outliers import FloatArray

THRUST_EXPONENT = 2.08
"""Static thrust as a power of speed: 2 by similarity, 2.0 to 2.15 on benches (common practice, no source)."""

ENOUGH = 3
"""Rows whose median one odd reading cannot move far."""

COARSE = math.log(3)
"""Other propellers at the same throttle stay within a factor of three: enough to tell a slip by ten."""


@dataclass(frozen=True)
class Evidence:
    """How far each reading of a column is from its relatives, and how close they can be expected to be."""

    misfit: FloatArray
    tolerance: FloatArray

    def fits(self, times: float = 1.0) -> BoolArray:
        """Tell in which rows the reading, multiplied by `times`, agrees with its relatives; False where there are none."""
        return np.abs(self.misfit + math.log(times)) <= self.tolerance

    def allows(self, times: float) -> BoolArray:
        """Tell in which rows near relatives do not speak against the reading multiplied by `times`."""
        return self.fits(times) | np.isnan(self.misfit) | (self.tolerance >= COARSE)


def current_evidence(rows: JudgedRows, tolerance: float) -> Evidence:
    """Return what the relatives say of each current; `tolerance` is for near ones, in logarithms."""
    current = np.log(rows.current)
    return _first_known((_near_misfit(rows, current), tolerance), (_coarse_misfit(rows, current), COARSE))


def thrust_evidence(rows: JudgedRows, tolerance: float) -> Evidence:
    """Return what the relatives, and the speed where it was read, say of each thrust."""
    thrust = np.log(rows.thrust)
    by_speed = thrust - THRUST_EXPONENT * np.log(rows.speed)
    by_speed = by_speed - _usual(by_speed, rows.prop)
    near = _near_misfit(rows, thrust)
    return _first_known((near, tolerance), (by_speed, tolerance), (_coarse_misfit(rows, thrust), COARSE))


def voltage_misfit(rows: JudgedRows) -> FloatArray:
    """Return for each row how far the volts per cell are from those usual at the cell count, or else in the table."""
    per_cell = np.log(rows.voltage / rows.cells)
    whole = np.zeros(rows.size, dtype=np.int64)
    usual = _usual(per_cell, labels_of(rows.cells))
    return per_cell - np.where(np.isnan(usual), _usual(per_cell, whole), usual)


def speed_misfit(rows: JudgedRows) -> FloatArray:
    """Return row by row how far each speed is from what thrust leads to expect with this propeller; NaN where too few."""
    by_thrust = np.log(rows.speed) - np.log(rows.thrust) / THRUST_EXPONENT
    return by_thrust - _usual(by_thrust, rows.prop)


def coarse_speed_misfit(rows: JudgedRows) -> FloatArray:
    """Return the same for each row against all propellers of the table, their diameters allowed for."""
    by_thrust = np.log(rows.speed * rows.diameter**2) - np.log(rows.thrust) / 2
    return by_thrust - _usual(by_thrust, np.zeros(rows.size, dtype=np.int64))


def _usual(values: FloatArray, labels: IntArray) -> FloatArray:
    """Return the median under each label, where there are rows enough."""
    enough = counts_by(labels, ~np.isnan(values)) >= ENOUGH
    return np.where(enough, medians_by(labels, values), np.nan)


def _first_known(*sources: tuple[FloatArray, float]) -> Evidence:
    """Return for each row the evidence of the first source that has any."""
    misfit, tolerance = sources[0][0].copy(), np.full(sources[0][0].size, sources[0][1])
    for other, allowed in sources[1:]:
        unknown = np.isnan(misfit)
        misfit[unknown], tolerance[unknown] = other[unknown], allowed
    return Evidence(misfit, tolerance)


def _coarse_misfit(rows: JudgedRows, values: FloatArray) -> FloatArray:
    """Return the misfit with all propellers at the same cell count and throttle."""
    return values - _usual(values, labels_of(rows.cells, rows.throttle))


def _near_misfit(rows: JudgedRows, values: FloatArray) -> FloatArray:
    """Return the misfit with the rows of the same propeller and cell count.

    Against the median of the rows at the same throttle where there are three; against the other one where
    there are two; else against a straight line in logarithms through the neighbours in throttle.
    """
    points = labels_of(rows.group, rows.throttle)
    counts, sums = counts_by(points), np.bincount(points, values)[points] if values.size else values
    along = _along_throttle(rows, points, medians_by(points, values))
    expected = np.where(counts >= ENOUGH, medians_by(points, values), np.where(counts == 2, sums - values, along))
    return values - expected


def _along_throttle(rows: JudgedRows, points: IntArray, medians: FloatArray) -> FloatArray:
    """Return what two neighbouring points in throttle lead to expect: those on both sides, else the nearest two."""
    _, some_row = np.unique(points, return_index=True)
    group, value = rows.group[some_row], medians[some_row]
    place = np.log(np.where(rows.throttle > 0, rows.throttle, np.nan))[some_row]
    sizes = np.bincount(group)
    starts = np.cumsum(sizes) - sizes
    here = np.arange(group.size)
    middle = np.clip(here, starts[group] + 1, (starts + sizes - 2)[group])
    known = sizes[group] >= ENOUGH
    lower = np.where(known, np.where(middle - 1 == here, middle, middle - 1), 0)
    upper = np.where(known, np.where(middle + 1 == here, middle, middle + 1), 0)
    run = np.where(known, place[upper] - place[lower], np.nan)
    line = value[lower] + (value[upper] - value[lower]) * (place - place[lower]) / run
    return np.asarray(line[points])
