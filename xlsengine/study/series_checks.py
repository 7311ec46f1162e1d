"""Two propellers exchanged in all their readings on one cell count: their names, their thrusts or their currents.

All repeats agree then, and each reading fits itself. What tells is how thrust at equal volts, and grams per amp, go from one
cell count to the next: nearly alike for all propellers of a motor, and apart by twice what parts the two where they were
exchanged. Which cell count it was is told by their sizes, by thrust for the power, and by a third cell count.
Limits that name no source are chosen on simulated benches (tests/study/round_benches.py), so that sound ones are left alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.apart_checks import EXCHANGES, far_apart
from xlsengine.study.case import IDEAL_SLOPE, Case
from xlsengine.study.flags import Flag, about, label_of, typed
from xlsengine.study.judged_rows import IntArray, JudgedRows
from xlsengine.study.outliers import FloatArray

LEVEL_APART, TIMES = 0.18, 2.0
"""What parts two propellers that step otherwise: in thrust at equal volts; in grams per amp, times the limit on Settings."""

USUAL_STEP = np.array([0.05, 0.04])
"""Step up of both where two propellers have no third to go by: idle amps are a larger share of few amps."""

VOLTS_POWERS = (1.1, 2.4)
"""Powers of the volts that thrust goes with, beyond which it is doubted: 1.4 to 2.1 on simulated benches, with scatter."""

LEAST_STEP = 0.06
"""Scatter of a thrust that those powers are widened by."""

SCATTER = np.array([0.05, 0.04])
"""Standard deviations of both steps about the usual one."""

POWER_SCATTER = 0.1
"""Standard deviation of the power for a thrust between propellers, their diameters allowed for."""

BOTH = 0.25
"""Each of the two has to be off by this share of what parts them: else only one is."""

CURED = 0.5
"""An exchange explains the steps where it leaves at most this share of what parted them."""

SURER = 2.0
"""One is named before others where its score, half the sum of squared deviations, is lower by this (a factor of 7)."""

REVERSED = 4.0
"""What a smaller propeller that draws more than a larger one adds to that score."""

MOST_ODD = 12
"""Propellers that are tried on a cell count, the oddest."""


@dataclass(frozen=True)
class Series:
    """The mean thrust, current and volts of each propeller on each cell count, as logarithms: (propellers, counts, 3).

    At full throttle, of the kind that most readings are; NaN where there are none. `size` is diameter, pitch and blades.
    """

    at: IntArray
    props: IntArray
    counts: IntArray
    read: FloatArray
    size: FloatArray
    volts_power: float

    def rows(self, prop: int, count: int) -> IntArray:
        """Return the places of one propeller's rows on one cell count."""
        return np.asarray(self.at[(self.props == prop) & (self.counts == count)])

    def levels(self) -> FloatArray:
        """Return thrust at equal volts, and grams per amp, of shape (propellers, counts, 2)."""
        thrust, current, volts = np.moveaxis(self.read, 2, 0)
        return np.stack([thrust - self.volts_power * volts, thrust - current], axis=2)

    def steps(self) -> FloatArray:
        """Return how far each count's levels are from the middle of the propeller's other ones, of the same shape."""
        levels = self.levels()
        others = [np.delete(levels, count, axis=1) for count in range(levels.shape[1])]
        return np.stack([levels[:, count] - _middle(other, 1) for count, other in enumerate(others)], axis=1)

    def without(self, exchange: _Exchange) -> Series:
        """Return the series without an exchange."""
        read, pair = self.read.copy(), list(exchange.pair)
        parts = list(EXCHANGES[exchange.column])
        read[np.ix_(pair, [exchange.count], parts)] = self.read[np.ix_(pair[::-1], [exchange.count], parts)]
        return replace(self, read=read)


@dataclass(frozen=True)
class _Exchange:
    """The column that two propellers may have exchanged on a cell count, and how badly the rest then still fits."""

    column: str
    pair: tuple[int, int]
    count: int
    score: float = 0.0


def _middle(values: FloatArray, axis: int) -> FloatArray:
    """Return medians along an axis, blanks left out; NaN where all are."""
    known = ~np.isnan(values).all(axis=axis)
    filled = np.where(np.expand_dims(known, axis), values, 0.0)
    return np.where(known, np.nanmedian(filled, axis=axis), np.nan)


def series_of(case: Case) -> Series:
    """Return the series of the sound rows whose repeats agree."""
    rows = case.rows
    full = case.sound & (rows.point > 0) & ~far_apart(case)
    kind = rows.peak if 2 * np.count_nonzero(full & rows.peak) > np.count_nonzero(full) else ~rows.peak
    at = np.flatnonzero(full & kind)
    props, counts = (np.unique(values[at], return_inverse=True)[1] for values in (rows.prop, rows.cells))
    shape = (int(props.max(initial=-1)) + 1, int(counts.max(initial=-1)) + 1)
    sums, sizes, size = np.zeros((*shape, 3)), np.zeros((*shape, 1)), np.full((shape[0], 3), np.nan)
    np.add.at(sums, (props, counts), np.log(np.stack([rows.thrust, rows.current, rows.voltage], axis=1)[at]))
    np.add.at(sizes, (props, counts), 1.0)
    size[props] = np.stack([rows.diameter, rows.pitch, rows.blades], axis=1)[at]
    read = np.where(sizes > 0, sums / np.maximum(sizes, 1.0), np.nan)
    return Series(at, props, counts, read, size, case.limits.volts_power)


def exchanged_series(case: Case) -> list[Flag]:
    """Flag all readings of two propellers on one cell count that step to the others as they should once exchanged.

    Where two cell counts are as likely, those on both.
    """
    series = series_of(case)
    if min(series.read.shape[:2]) < 2:
        return []
    found: list[_Exchange] = []
    for exchange in sorted(_explaining(case, series), key=lambda each: each.score):
        rivals = [each for each in found if {*each.pair} & {*exchange.pair}]
        if not rivals or (rivals[0].pair == exchange.pair and exchange.score < rivals[0].score + SURER):
            found.append(exchange)
    pairs = dict.fromkeys(each.pair for each in found)
    return [flag for pair in pairs for flag in _flags(case.rows, series, [each for each in found if each.pair == pair])]


def _explaining(case: Case, series: Series) -> Iterator[_Exchange]:
    """Yield the exchanges that explain how two propellers step, with their scores."""
    limits = np.array([LEVEL_APART, math.log1p(TIMES * case.limits.grams_per_amp)])
    steps = series.steps()
    for count in range(steps.shape[1]):
        usual = usual_step(steps[:, count], count)
        odd = steps[:, count] - usual
        size = np.nan_to_num(np.abs(odd) / limits).max(axis=1)
        tried = [int(prop) for prop in np.argsort(-size, kind="stable")[:MOST_ODD] if size[prop] > BOTH]
        for one, other in combinations(sorted(tried), 2):
            if not _step_apart(odd[one], odd[other], limits):
                continue
            for column in EXCHANGES:
                exchange = _Exchange(column, (one, other), count)
                after = series.without(exchange)
                left = after.steps()[[one, other], count] - usual
                if _explains(odd[one] - odd[other], left, limits):
                    yield replace(exchange, score=_score(after, exchange, left))


def usual_step(steps: FloatArray, count: int) -> FloatArray:
    """Return the usual step to a cell count, of shape (2,): the propellers' middle one, or any motor's where there are two.

    `steps` to that cell count are of shape (propellers, 2).
    """
    if np.count_nonzero(~np.isnan(steps[:, 0])) > 2:
        return _middle(steps, 0)
    return USUAL_STEP if count else -USUAL_STEP


def _step_apart(one: FloatArray, other: FloatArray, limits: FloatArray) -> bool:
    """Tell whether two propellers are both off, in opposite directions, and too far apart."""
    apart = one - other
    leading = int(np.argmax(np.nan_to_num(np.abs(apart) / limits)))
    here, there, whole = one[leading], other[leading], abs(apart[leading])
    return bool(whole > limits[leading] and here * there < 0 and min(abs(here), abs(there)) >= BOTH * whole)


def _explains(before: FloatArray, left: FloatArray, limits: FloatArray) -> bool:
    """Tell whether an exchange takes off most of what parted two steps, and leaves both near the usual one."""
    parted, parts = np.abs(before / limits).max(), np.abs((left[0] - left[1]) / limits).max()
    return bool(parts <= CURED * parted and (np.abs(left) <= limits).all())


def _score(after: Series, exchange: _Exchange, left: FloatArray) -> float:
    """Return half the sum of squared deviations that an exchange leaves: steps, power for the thrust, order of sizes."""
    pair = list(exchange.pair)
    thrust, current, volts = np.moveaxis(after.read[pair], 2, 0)
    diameter = after.size[pair, 0]
    apart = np.log(diameter[0] / diameter[1]) if np.isfinite(diameter).all() else 0.0
    power = np.diff(current + volts - IDEAL_SLOPE * thrust, axis=0)[0] - apart
    reversed_in = np.count_nonzero(_larger(after.size[pair]) * np.diff(current, axis=0)[0] < 0)
    squares = np.sum((left / SCATTER) ** 2) + np.nansum((power / POWER_SCATTER) ** 2)
    return float(squares / 2 + REVERSED * reversed_in)


def _larger(size: FloatArray) -> float:
    """Return 1 where the second of two propellers is larger in diameter and pitch, -1 where the first is, else 0."""
    blades = np.nan_to_num(size[:, 2])
    steps = np.sign(np.diff(size[:, :2], axis=0)[0])
    return float(np.sign(steps.sum())) if blades[0] == blades[1] and abs(steps.sum()) == np.abs(steps).sum() else 0.0


def _flags(rows: JudgedRows, series: Series, exchanges: list[_Exchange]) -> Iterator[Flag]:
    """Yield a flag for each reading of a pair that may have been exchanged."""
    columns = [each.column for each in exchanges if each.count == exchanges[0].count]
    counts = sorted({each.count for each in exchanges if each.column == columns[0]})
    for here, there in (exchanges[0].pair, exchanges[0].pair[::-1]):
        places, others = ([int(at) for count in counts for at in series.rows(prop, count)] for prop in (here, there))
        where = " or ".join(dict.fromkeys(f"{rows.cells[at]:.0f}S" for at in places))
        numbers = tuple(rows.number[others].tolist())
        per_amp = _elsewhere(rows, series, here, counts)
        yield from (
            _flag(rows, at, columns, (str(rows.prop_name[others[0]]), where, per_amp), numbers) for at in places
        )


def _elsewhere(rows: JudgedRows, series: Series, prop: int, counts: list[int]) -> str:
    """Write a propeller's grams per amp on the cell counts that are not in doubt."""
    known = [count for count in range(series.read.shape[1]) if count not in counts and series.rows(prop, count).size]
    per_amp = np.exp(series.levels()[prop, :, 1])
    said = (f"{per_amp[count]:.1f} g/A on {rows.cells[series.rows(prop, count)[0]]:.0f}S" for count in known)
    return "".join(f", and {words}" for words in said)


def _flag(rows: JudgedRows, at: int, columns: list[str], words: tuple[str, str, str], others: tuple[int, ...]) -> Flag:
    """Flag a reading; the words are the other propeller's name, the cell counts, and the grams per amp elsewhere."""
    name, where, elsewhere = words
    whats = ["propeller" if column == "prop" else label_of(column) for column in columns]
    what, plural = " or ".join(whats), " or ".join(f"{each}s" for each in whats)
    read = f"{typed(rows.current[at], 'current')} and {typed(rows.thrust[at], 'thrust')}"
    return Flag(
        f"{what.capitalize()} exchanged with {name} on {where}",
        int(rows.number[at]),
        columns[0],
        f"{rows.prop_name[at]} with {read}: {rows.thrust[at] / rows.current[at]:.1f} g/A{elsewhere}",
        "thrust and grams per amp that go across cell counts as other propellers' do",
        f"The {plural} of two changed places in all readings on {where}: exchanged, both go across cell counts as usual.",
        f"If your bench notes agree, exchange the {plural} of the two on {where}; otherwise repeat both points.",
        Severity.DOUBTFUL,
        others,
    )


# --- one propeller alone -----------------------------------------------------------------------------------------


def thrust_by_volts(case: Case) -> list[Flag]:
    """Flag a reading of each propeller whose thrust goes otherwise with the volts than any propeller's can."""
    series = series_of(case)
    if series.read.shape[1] < 2:
        return []
    flags = []
    for prop in range(series.read.shape[0]):
        counts = np.flatnonzero(~np.isnan(series.read[prop, :, 0])).tolist()
        odd = next((pair for pair in pairwise(counts) if _is_odd(*series.read[prop, list(pair)])), None)
        if odd is not None:
            flags.append(_odd_flag(case.rows, *(series.rows(prop, count) for count in odd)))
    return flags


def _is_odd(lower: FloatArray, upper: FloatArray) -> bool:
    thrust, _, volts = upper - lower
    least, most = sorted(power * volts for power in VOLTS_POWERS)
    return bool(thrust < least - LEAST_STEP or thrust > most + LEAST_STEP)


def _odd_flag(rows: JudgedRows, lower: IntArray, upper: IntArray) -> Flag:
    """Flag the reading of the cell count that has fewer of them, or came later."""
    odd, other = (lower[-1], upper[0]) if (lower.size, -lower[-1]) < (upper.size, -upper[-1]) else (upper[-1], lower[0])
    odd, other = int(odd), int(other)
    usual = (rows.voltage[odd] / rows.voltage[other]) ** np.array([1.4, 2.1]) * rows.thrust[other]
    words = (f"{typed(rows.thrust[at], 'thrust')} at {typed(rows.voltage[at], 'voltage')}" for at in (odd, other))
    return Flag(
        "Thrust does not go with the volts",
        int(rows.number[odd]),
        "thrust",
        ", and ".join(words),
        f"{about(float(usual.min()), 'thrust')} to {about(float(usual.max()), 'thrust').removeprefix('about ')}",
        "One of them has another propeller's name or cell count; or a propeller slipped, or throttle was not full.",
        "Compare both with your bench notes; repeat the point, or set Use of the wrong one to no with a note why.",
        Severity.DOUBTFUL,
        (int(rows.number[other]),),
    )
