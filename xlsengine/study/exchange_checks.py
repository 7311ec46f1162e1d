"""Two propellers exchanged at one point: their names, their thrusts or their currents, in one reading or in all of them.

Each reading fits itself then. What tells is its repeats, and how thrust at equal volts, and grams per amp, go from one cell
count to the next; in which reading it was, or on which cell count, is told by their sizes too, and by thrust for the power.
Limits that name no source are chosen on simulated benches (tests/study/round_benches.py), so that sound ones are left alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np

from xlsengine.study.case import IDEAL_SLOPE, Case
from xlsengine.study.flags import Flag
from xlsengine.study.judged_rows import BoolArray, JudgedRows
from xlsengine.study.levels import Series, logarithms, repeats_of, series_of
from xlsengine.study.outliers import FloatArray
from xlsengine.study.row_words import exchanged, name_of

EXCHANGES: dict[str, tuple[int, ...]] = {"prop": (0, 1, 2), "thrust": (0,), "current": (1,)}
"""What may have changed places, by the column to correct, as rows of what was read: thrust, current, volts."""

LEVEL_APART, TIMES = 0.18, 2.0
"""What parts two propellers that step otherwise: in thrust at equal volts; in grams per amp, times the limit on Settings."""

SCATTER = np.array([0.05, 0.04])
"""Standard deviations of both steps about the usual one."""

POWER_SCATTER, REPEAT_SCATTER = 0.1, 0.02
"""Standard deviations of the power for a thrust between propellers, their diameters allowed for; and of repeats."""

BOTH = 0.25
"""Each of the two has to be off by this share of what parts them: else only one is."""

CURED = 0.5
"""An exchange explains the steps where it leaves at most this share of what parted them."""

SURER = 2.0
"""One is named before others where its score, half the sum of squared deviations, is lower by this (a factor of 7)."""

REVERSED = 4.0
"""What a smaller propeller that draws more than a larger one adds to that score."""

MOST_ODD, MOST_TRIED = 12, 60
"""Propellers that are tried on a cell count, the oddest; and neighbours: a table with more of them is off as a whole."""

Sides = tuple[tuple[int, ...], tuple[int, ...]]
"""Places of the readings of two propellers."""


@dataclass(frozen=True)
class _Exchange:
    """The column that two propellers exchanged, in which readings, if in the `whole` of them on a cell count.

    The `score` says how badly the rest then still fits.
    """

    column: str
    sides: Sides
    whole: bool
    score: float = 0.0


class _Trial:
    """A table of readings in which exchanges are tried."""

    def __init__(self, case: Case) -> None:
        self.case, self.read = case, logarithms(case)
        self.repeats, self.series = repeats_of(case), series_of(case)
        self.apart = self.repeats.apart(self.read)
        self.agreeing = self.series.of(self.read, ~self.apart[self.series.at])
        self.usual = self.agreeing.usual_steps()
        self.odd = self.agreeing.steps() - self.usual
        self.limits = np.array([LEVEL_APART, math.log1p(TIMES * case.limits.grams_per_amp)])

    def explaining(self) -> Iterator[_Exchange]:
        """Yield the exchanges that explain what is odd, with their scores."""
        for whole, tried in ((False, self._neighbours()), (True, self._whole_counts())):
            for sides, column in product(tried, EXCHANGES):
                exchange = _Exchange(column, sides, whole)
                score = self._score(exchange)
                if score is not None:
                    yield replace(exchange, score=score)

    def props(self, exchange: _Exchange) -> set[int]:
        """Return the two propellers, by their labels."""
        return {int(self.case.rows.prop[side[0]]) for side in exchange.sides}

    def _neighbours(self) -> Iterator[Sides]:
        """Yield rows next to each other of two propellers at one point, both far from their repeats."""
        rows = self.case.rows
        upper = np.flatnonzero((np.diff(rows.number) == 1) & self.apart[:-1] & self.apart[1:])
        alike = rows.prop[upper] != rows.prop[upper + 1]
        for column in (rows.cells, rows.throttle, rows.peak):
            alike &= column[upper] == column[upper + 1]
        for at in upper[alike][:MOST_TRIED].tolist():
            yield (at,), (at + 1,)

    def _whole_counts(self) -> Iterator[Sides]:
        """Yield all readings of two propellers on a cell count that step otherwise than usual, in opposite directions."""
        series = self.agreeing
        for count in range(self.odd.shape[1] if min(self.odd.shape[:2]) > 1 else 0):
            odd = self.odd[:, count]
            size = np.nan_to_num(np.abs(odd) / self.limits).max(axis=1)
            tried = [int(prop) for prop in np.argsort(-size, kind="stable")[:MOST_ODD] if size[prop] > BOTH]
            for one, other in combinations(sorted(tried), 2):
                if self._step_apart(odd[one], odd[other]):
                    yield tuple(series.rows(one, count).tolist()), tuple(series.rows(other, count).tolist())

    def _step_apart(self, one: FloatArray, other: FloatArray) -> bool:
        """Tell whether two propellers are both off, in opposite directions, and too far apart."""
        apart = one - other
        leading = int(np.argmax(np.nan_to_num(np.abs(apart) / self.limits)))
        here, there, whole = one[leading], other[leading], abs(apart[leading])
        return bool(whole > self.limits[leading] and here * there < 0 and min(abs(here), abs(there)) >= BOTH * whole)

    def _score(self, exchange: _Exchange) -> float | None:
        """Return half the sum of squared deviations that an exchange leaves, None where repeats or steps stay apart."""
        turned, here = _turned(self.read, exchange), [side[0] for side in exchange.sides]
        touched = np.isin(self.repeats.label, self.repeats.label[here])
        if self.repeats.at(np.flatnonzero(touched)).apart(turned[:, touched]).any():
            return None
        left = self._left(here, touched, turned)
        return None if left is None else left + self._scatter(here, turned)

    def _scatter(self, here: list[int], turned: FloatArray) -> float:
        """Return what is left among the repeats of two propellers."""
        own = np.flatnonzero(np.isin(self.case.rows.prop, self.case.rows.prop[here]) & (self.repeats.label >= 0))
        label = np.unique(self.repeats.label[own], return_inverse=True)[1]
        sizes, levels = np.bincount(label), self.repeats.levels(turned)[:, own]
        off = [values - (np.bincount(label, values) / sizes)[label] for values in levels]
        return float(np.sum(np.square(off)) / REPEAT_SCATTER**2 / 2)

    def _left(self, here: list[int], touched: BoolArray, turned: FloatArray) -> float | None:
        """Return what is left across cell counts: 0 where the readings are of no series."""
        at, rows = self.series.at, self.case.rows
        if not np.isin(here, at).all():
            return 0.0
        kept = np.isin(rows.prop[at], rows.prop[here]) & (touched[at] | ~self.apart[at])
        count = int(self.series.counts[at == here[0]][0])
        before, after = (self.series.of(read, kept) for read in (self.read, turned))
        odd, left = (series.steps()[:, count] - self.usual[count] for series in (before, after))
        parted, parts = (np.abs(np.nan_to_num(np.diff(steps, axis=0)) / self.limits).max() for steps in (odd, left))
        if (np.abs(left) > self.limits).any() or (parts > CURED * parted and parted > 1):
            return None
        return float(np.nansum((left / SCATTER) ** 2) / 2 + _mismatch(rows, after))


def _turned(read: FloatArray, exchange: _Exchange) -> FloatArray:
    """Return what all rows would read without an exchange; of several readings their means change places."""
    turned, parts = read.copy(), list(EXCHANGES[exchange.column])
    one, other = (list(side) for side in exchange.sides)
    step = (read[np.ix_(parts, other)].mean(axis=1) - read[np.ix_(parts, one)].mean(axis=1))[:, None]
    turned[np.ix_(parts, one)] += step
    turned[np.ix_(parts, other)] -= step
    return turned


def _mismatch(rows: JudgedRows, series: Series) -> float:
    """Return what the power for the thrust, and the order of their sizes, say against two propellers."""
    places = [int(series.at[series.props == prop][0]) for prop in (0, 1)]
    thrust, current, volts = np.moveaxis(series.means, 2, 0)
    diameter = rows.diameter[places]
    apart = np.log(diameter[0] / diameter[1]) if np.isfinite(diameter).all() else 0.0
    power = np.diff(current + volts - IDEAL_SLOPE * thrust, axis=0)[0] - apart
    reversed_in = np.count_nonzero(_larger(rows, places) * np.diff(current, axis=0)[0] < 0)
    return float(np.nansum((power / POWER_SCATTER) ** 2) / 2 + REVERSED * reversed_in)


def _larger(rows: JudgedRows, places: list[int]) -> float:
    """Return 1 where the second of two propellers is larger in diameter and pitch, -1 where the first is, else 0."""
    blades = np.nan_to_num(rows.blades[places])
    steps = np.sign([float(np.diff(size[places])[0]) for size in (rows.diameter, rows.pitch)])
    return float(np.sign(steps.sum())) if blades[0] == blades[1] and abs(steps.sum()) == np.abs(steps).sum() else 0.0


def exchanged_propellers(case: Case) -> list[Flag]:
    """Flag the readings that fit their propellers' others once two of these are exchanged in one column.

    Where columns, or cell counts as a whole, are as likely, all of these are named; where single readings are, none is.
    """
    trial, named = _Trial(case), list[list[_Exchange]]()
    for exchange in sorted(trial.explaining(), key=lambda each: each.score):
        props = trial.props(exchange)
        rivals = next((each for each in named if trial.props(each[0]) & props), None)
        if rivals is None:
            named.append([exchange])
        elif trial.props(rivals[0]) == props and exchange.score < rivals[0].score + SURER:
            rivals.append(exchange)
    return [flag for alike in named for flag in _flags(case.rows, trial.agreeing, alike)]


def _flags(rows: JudgedRows, series: Series, alike: list[_Exchange]) -> Iterator[Flag]:
    """Yield a flag for each reading that may have been exchanged."""
    first = alike[0]
    columns = tuple(each.column for each in alike if each.sides == first.sides)
    both = list(dict.fromkeys(each.sides for each in alike if each.column == first.column))
    if first.whole and (len(both) > 1 or max(map(len, first.sides)) > 1):
        yield from _whole_flags(rows, series, columns, both)
    elif len(both) == 1:
        cause = "Two entries changed places between two readings: exchanged, both fit their propellers' other readings."
        (one,), (other,) = first.sides
        yield from (exchanged(rows, columns, here, there, cause) for here, there in ((one, other), (other, one)))


def _whole_flags(rows: JudgedRows, series: Series, columns: tuple[str, ...], both: list[Sides]) -> Iterator[Flag]:
    """Yield a flag for each reading of two propellers that may have been exchanged on a cell count, or on one of several."""
    for here, there in ((0, 1), (1, 0)):
        places, others = (sorted(at for sides in both for at in sides[side]) for side in (here, there))
        where = " or ".join(dict.fromkeys(f"{rows.cells[at]:.0f}S" for at in places))
        per_amp, what = _elsewhere(rows, series, places), " or ".join(map(name_of, columns))
        plural = " or ".join(f"{name_of(column)}s" for column in columns)
        for at in places:
            yield rows.flag(
                at,
                f"{what.capitalize()} exchanged with {rows.prop_name[others[0]]} on {where}",
                columns[0],
                f"{rows.prop_name[at]} with {rows.read(at)}: {rows.thrust[at] / rows.current[at]:.1f} g/A{per_amp}",
                "thrust and grams per amp that go across cell counts as other propellers' do",
                f"The {plural} of two changed places in all readings on {where}: exchanged, both go across cell counts as "
                "usual.",
                f"If your bench notes agree, exchange the {plural} of the two on {where}; otherwise repeat both points.",
                also=others,
            )


def _elsewhere(rows: JudgedRows, series: Series, places: list[int]) -> str:
    """Write a propeller's grams per amp on the cell counts that are not in doubt."""
    prop, in_doubt = int(series.props[series.at == places[0]][0]), set(rows.cells[places].tolist())
    per_amp = np.exp(series.levels()[prop, :, 1])
    own = {count: series.rows(prop, count) for count in range(per_amp.size)}
    known = {count: float(rows.cells[at[0]]) for count, at in own.items() if at.size}
    said = (f"{per_amp[count]:.1f} g/A on {cells:.0f}S" for count, cells in known.items() if cells not in in_doubt)
    return "".join(f", and {words}" for words in said)
