"""What a reading should be after its relatives: repeats, neighbours in throttle, the speed, other propellers.

Misfits are logarithms of a reading over what its relatives lead to expect.
"""

import math

import numpy as np

from xlsengine.study.judged_rows import IntArray, JudgedRows, counts_by, labels_of, medians_by
from xlsengine.study.outliers import FloatArray

THRUST_EXPONENT = 2.08
"""Static thrust as a power of speed: 2 by similarity, 2.0 to 2.15 on benches (common practice, no source)."""

ENOUGH = 3
"""Rows whose median one odd reading cannot move far."""

COARSE = math.log(3)
"""Other propellers at the same throttle stay within a factor of three: enough to tell a slip by ten."""


def current_misfit(rows: JudgedRows) -> FloatArray:
    """Return row by row how far each current is from its near relatives, else from other propellers."""
    current = np.log(rows.current)
    return _first_known(near_misfit(rows, current), coarse_misfit(rows, current))


def thrust_misfit(rows: JudgedRows) -> FloatArray:
    """Return row by row how far each thrust is from its near relatives, else from its speed, else from other propellers."""
    thrust = np.log(rows.thrust)
    by_speed = thrust - THRUST_EXPONENT * np.log(rows.speed)
    return _first_known(near_misfit(rows, thrust), by_speed - _usual(by_speed, rows.prop), coarse_misfit(rows, thrust))


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


def _first_known(*sources: FloatArray) -> FloatArray:
    """Return for each row what the first source says that has anything to say."""
    found = sources[0]
    for other in sources[1:]:
        found = np.where(np.isnan(found), other, found)
    return found


def coarse_misfit(rows: JudgedRows, values: FloatArray) -> FloatArray:
    """Return row by row the misfit with all propellers at the same cell count and throttle."""
    return values - _usual(values, labels_of(rows.cells, rows.throttle))


def near_misfit(rows: JudgedRows, values: FloatArray) -> FloatArray:
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
