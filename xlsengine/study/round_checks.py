"""What whole rounds of readings give away: a tare left in one of two, volts that were not read under load.

Limits that name no source are chosen on simulated benches (tests/study/round_benches.py), so that sound ones are left alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.blocks import block_flags, named, parts, rounds, span
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows, counts_by, display_step, labels_of
from xlsengine.study.outliers import FloatArray

FEWEST = 3
"""Propellers read twice, or readings of the same volts, from which on what they share is no chance."""

SCATTER = 0.01
"""Usual scatter of a reading (common practice, no source: standard deviation on one mount 0.3 to 1 %)."""

LEAST_SHARE = 0.04
"""Tare as a share of the thrusts from which on it is told: below, a warm motor does as much."""

CLEAR = 4.0
"""Standard errors of the mean that a tare comes to at least."""

NEAR_VOLTS = math.log(1.08)
"""Volts of repeats that are compared: farther apart, the power of the volts is no longer known well enough."""

AMPS_SHARE = 0.4
"""Amps at equal volts go along with thrust where volts, air or a warm motor did it; with a tare by less than this share."""

# --- a tare left in a round --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Rounds:
    """Readings of two rounds, paired: their places, and grams and amps' logarithms by which the first is higher.

    At equal volts; `thrust` is the mean of both, and `scatter` the standard deviation of their difference, in grams.
    """

    first: IntArray
    second: IntArray
    grams: FloatArray
    amps: FloatArray
    thrust: FloatArray

    def at(self, kept: BoolArray) -> _Rounds:
        """Return some of the pairs."""
        return _Rounds(self.first[kept], self.second[kept], self.grams[kept], self.amps[kept], self.thrust[kept])

    @property
    def scatter(self) -> FloatArray:
        """Return the usual standard deviation of the differences, in grams."""
        return np.asarray(SCATTER * np.sqrt(2) * self.thrust)

    def tare(self) -> float:
        """Return the grams that all of the first round have too many; negative where the second has."""
        return float(np.average(self.grams, weights=self.scatter**-2.0))

    def have_tare(self, rows: JudgedRows) -> bool:
        """Tell whether the same grams part all pairs, more than scatter does, while amps stay."""
        if np.unique(rows.prop[self.first]).size < FEWEST or abs(np.sign(self.grams).sum()) < self.grams.size:
            return False
        tare, shares = self.tare(), self.grams / self.thrust
        left, of_share = (self.grams - tare) / self.scatter, (shares - shares.mean()) * self.thrust / self.scatter
        error = np.sqrt(max(1.0, float(np.sum(left**2)) / (left.size - 1)) / np.sum(self.scatter**-2.0))
        share = float(np.median(np.abs(shares)))
        alike = np.sum(left**2) <= np.sum(of_share**2)
        amps_stay = abs(float(np.median(self.amps))) <= AMPS_SHARE * share
        return bool(alike and amps_stay and share >= LEAST_SHARE and abs(tare) >= CLEAR * error)


def round_tares(case: Case) -> list[Flag]:
    """Flag the round of higher thrusts, on a cell count or on all, where the same grams part it from another one."""
    label = rounds(case.rows)
    for one, other in combinations(np.unique(label).tolist(), 2):
        pairs = _paired(case, label, one, other)
        found = [each for each in _by_counts(case.rows, pairs) if each.have_tare(case.rows)]
        if found:
            return [flag for each in found for flag in _tare_flags(case, label, each)]
    return []


def _by_counts(rows: JudgedRows, pairs: _Rounds) -> list[_Rounds]:
    """Return all pairs where the cell counts tell of the same tare, else those of each count."""
    if pairs.first.size and pairs.have_tare(rows):
        return [pairs]
    cells = rows.cells[pairs.first]
    return [pairs.at(cells == count) for count in np.unique(cells)]


def _paired(case: Case, label: IntArray, one: int, other: int) -> _Rounds:
    """Return the sound readings at full throttle that were taken in both of two rounds."""
    rows, power = case.rows, case.limits.volts_power
    alike = labels_of(rows.group, rows.peak) if rows.size else rows.group
    full = case.sound & (rows.point > 0)
    first, second = (np.flatnonzero(full & (label == each)) for each in (one, other))
    _, here, there = np.intersect1d(alike[first], alike[second], assume_unique=False, return_indices=True)
    a, b = first[here], second[there]
    near = np.abs(np.log(rows.voltage[a] / rows.voltage[b])) <= NEAR_VOLTS
    a, b = a[near], b[near]
    level = rows.voltage**power
    middle = np.sqrt(level[a] * level[b])
    thrusts = [rows.thrust[at] * middle / level[at] for at in (a, b)]
    amps = [np.log(rows.current[at] / level[at]) for at in (a, b)]
    return _Rounds(a, b, thrusts[0] - thrusts[1], amps[0] - amps[1], (thrusts[0] + thrusts[1]) / 2)


def _tare_flags(case: Case, label: IntArray, pairs: _Rounds) -> list[Flag]:
    """Flag the higher round, its readings that were taken once among them: what is quoted may be too much, not too little."""
    rows, tare = case.rows, pairs.tare()
    higher, lower = (pairs.first, pairs.second) if tare > 0 else (pairs.second, pairs.first)
    at = _whole_round(rows, label, higher)
    counts = np.unique(rows.cells[higher])
    where = " and ".join(f"{count:.0f}S" for count in counts)
    grams = f"{abs(tare):.0f} g"
    return block_flags(
        rows,
        at,
        "Tare perhaps left in a round",
        "thrust",
        f"on {where} {named(rows, higher)} read about {grams} more than {named(rows, lower)}, whatever the propeller: "
        f"{span(np.abs(pairs.grams), 0)} g, with the same amps",
        "repeats within a few percent, at equal volts",
        "The stand was not set to zero before one of the two rounds, or its zero moved; which of the two cannot be told.",
        f"Look up the zero before and after both rounds: if it was left in here, take the {grams} off; if it was too low in "
        f"{named(rows, lower)}, add them there. Not known: repeat some points with a fresh zero.",
        severity=Severity.DOUBTFUL,
    )


def _whole_round(rows: JudgedRows, label: IntArray, some: IntArray) -> IntArray:
    """Return the rows of the same round and cell counts that stand in one piece of the table with some of it."""
    pieces = np.concatenate([[0], np.cumsum(np.diff(label) != 0)])
    same = np.isin(pieces, pieces[some]) & np.isin(rows.cells, rows.cells[some]) & (label == label[some[0]])
    return np.flatnonzero(same)


# --- volts not read under load -----------------------------------------------------------------------------------

CHARGED, LABELLED = (4.2, 4.35), (3.7, 3.85)
"""V a cell: what chargers and labels say, of ordinary and of high-voltage cells."""

AMPS_APART = 1.5
"""Factor between the least and the most amps from which on a pack's volts differ."""

USUAL_OHMS = 0.004
"""Resistance of pack and leads, for each cell (common practice, no source: 2 to 8 mΩ)."""

STEPS, STEPS_LABELLED, STEPS_CHARGED = 3.0, 1.0, 0.5
"""Steps of the display by which the volts would fall; where they are those of a label; and of a full pack at rest."""


def flat_volts(case: Case) -> list[Flag]:
    """Flag the readings of a cell count, or of a round, whose volts stay while their amps do not: a pack gives less."""
    rows, flags = case.rows, list[Flag]()
    told = np.zeros(rows.size, dtype=bool)
    for at in _same_volts(case):
        if not told[at].any():
            told[at] = True
            flags += _flat_flags(rows, at)
    return flags


def _same_volts(case: Case) -> Iterator[IntArray]:
    """Yield the parts of the table, on one cell count, whose volts are the same though they would fall."""
    rows, step = case.rows, display_step(case.rows.voltage)
    if not (case.limits.is_pack and rows.size and counts_by(labels_of(rows.cells, rows.voltage)).max() >= FEWEST):
        return
    for part in parts(rows):
        at = part[~rows.impossible[part]]
        volts, amps = rows.voltage[at], rows.current[at]
        if at.size < FEWEST or np.ptp(volts) > 0 or np.ptp(rows.cells[at]) > 0:
            continue
        fall = USUAL_OHMS * rows.cells[at[0]] * np.ptp(amps)
        if amps.max() >= AMPS_APART * amps.min() and fall >= _steps(volts[0] / rows.cells[at[0]]) * step:
            yield at


def _steps(per_cell: float) -> float:
    """Return how many steps of the display the volts would have to fall, to be doubted."""
    for known, steps in ((CHARGED, STEPS_CHARGED), (LABELLED, STEPS_LABELLED)):
        if np.isclose(per_cell, known, atol=0.0005).any():
            return steps
    return STEPS


def _flat_flags(rows: JudgedRows, at: IntArray) -> list[Flag]:
    volts, amps = rows.voltage[at[0]], rows.current[at]
    return block_flags(
        rows,
        at,
        "Volts do not fall under load",
        "voltage",
        f"{volts:.10g} V at {amps.min():.10g} A and at {amps.max():.10g} A, in {named(rows, at)} on {rows.cells[at[0]]:.0f}S",
        f"fewer volts with more amps: of a pack, some {_fall(rows, at)} V less",
        "The volts are the charger's, the label's or those before the runs.",
        "If your bench notes have the volts under load, type them; otherwise repeat some points, volts read with amps. "
        "If a bench supply gave them, say so on Bench (Supply).",
        severity=Severity.DOUBTFUL,
    )


def _fall(rows: JudgedRows, at: IntArray) -> str:
    return f"{USUAL_OHMS * rows.cells[at[0]] * np.ptp(rows.current[at]):.1g}"
