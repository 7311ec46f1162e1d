"""Repeats far apart: what was exchanged between neighbouring readings, or a reading that is not what it is called.

Thrust and current of repeats are compared at equal volts, as logarithms: a pack gives fewer volts as it empties. Where both
are those of another propeller, they fit each other, and nothing but its repeats tells a reading from a sound one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag, label_of, typed
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows, counts_by, display_step, labels_of, medians_by
from xlsengine.study.outliers import FloatArray
from xlsengine.study.repeat_checks import unrepeated

APART = math.log(1.12)
"""Repeats farther apart are no repeats (common practice, no source: 2 to 5 % on one bench), at full throttle."""

APART_BY_HAND = math.log(1.3)
"""The same for throttle steps, which are set by hand."""

MOST_TRIED = 60
"""Exchanges that are tried: a table with more of them is off as a whole."""

CLEAR = 0.7
"""An exchange is named before another where it leaves less than this share of the other's scatter."""

EXCHANGES: dict[str, tuple[int, ...]] = {"prop": (0, 1, 2), "thrust": (0,), "current": (1,)}
"""What may have changed places, by the column to correct, as rows of what was read: thrust, current, volts."""

Pair = tuple[int, int]
"""Places of two rows next to each other."""


@dataclass(frozen=True)
class _Repeats:
    """Which sound rows are repeats of each other, and how far apart they may be.

    `read` has thrust, current and volts as logarithms, of shape (3, n); `label` is -1 where a row is not sound.
    """

    read: FloatArray
    volts_power: float
    label: IntArray
    allowed: FloatArray

    def levels(self, read: FloatArray) -> FloatArray:
        """Return thrust and current at equal volts, of shape (2, n), from what was read, of shape (3, n)."""
        return np.asarray(read[:2] - self.volts_power * read[2])

    def members(self, place: int) -> IntArray:
        """Return the places of the repeats of a row, itself among them."""
        return np.flatnonzero(self.label == self.label[place])

    def apart(self) -> BoolArray:
        """Tell which rows have repeats that are farther apart than allowed."""
        known = np.flatnonzero(self.label >= 0)
        found = np.zeros(self.label.size, dtype=bool)
        if known.size:
            label, levels = self.label[known], self.levels(self.read[:, known])
            spread = _largest(label, levels) + _largest(label, -levels)
            found[known] = (spread > _largest(label, self.allowed[:, known])).any(axis=0)
        return found

    def agree(self, places: IntArray, read: FloatArray) -> bool:
        """Tell whether some rows are close enough to be repeats of each other, had they read this, of shape (3, n)."""
        return bool((np.ptp(self.levels(read[:, places]), axis=1) <= self.allowed[:, places].max(axis=1)).all())


def _largest(label: IntArray, values: FloatArray) -> FloatArray:
    """Return for each row, of several columns, the largest value under its label."""
    highest = np.full((len(values), int(label.max()) + 1), -np.inf)
    for column, found in zip(values, highest, strict=True):
        np.maximum.at(found, label, column)
    return np.asarray(highest[:, label])


def _repeats(case: Case) -> _Repeats:
    rows = case.rows
    read = np.stack([rows.thrust, rows.current, rows.voltage])
    steps = np.array([[display_step(values)] for values in read[:2]])
    label = np.full(rows.size, -1, dtype=np.int64)
    sound = np.flatnonzero(case.sound)
    label[sound] = labels_of(rows.group[sound], rows.throttle[sound], rows.peak[sound])
    allowed = np.where(rows.point > 0, APART, APART_BY_HAND) + 2 * steps / read[:2]
    return _Repeats(np.log(read), case.limits.volts_power, label, allowed)


def far_apart(case: Case) -> BoolArray:
    """Tell which sound rows have repeats that are farther apart than a bench repeats itself."""
    return _repeats(case).apart()


# --- what changed places between two of them -----------------------------------------------------------------------


@dataclass(frozen=True)
class _Exchange:
    """The column that was exchanged, between two neighbours, and what all rows would read without that."""

    column: str
    pair: Pair
    read: FloatArray


def exchanged_repeats(case: Case) -> list[Flag]:
    """Flag two neighbours whose propellers, thrusts or currents changed places: exchanged, all repeats agree.

    Where each was read twice, an exchange in either round does: the one that leaves the readings of both across cell
    counts clearly closest is named, and none where several do alike.
    """
    rows, found = case.rows, _repeats(case)
    settled = [
        exchange
        for pair in _neighbours(rows, found.apart())
        for exchange in _exchanges(found, pair)
        if all(found.agree(found.members(place), exchange.read) for place in pair)
    ]
    likely = [exchange for exchange in settled if _is_likeliest(case, found, exchange, settled)]
    return [_flag(rows, each, here, there) for each in likely for here, there in (each.pair, each.pair[::-1])]


def _neighbours(rows: JudgedRows, apart: BoolArray) -> list[Pair]:
    """Return rows next to each other of two propellers at one point, both far from their repeats."""
    upper = np.flatnonzero((np.diff(rows.number) == 1) & apart[:-1] & apart[1:])
    alike = rows.prop[upper] != rows.prop[upper + 1]
    for column in (rows.cells, rows.throttle, rows.peak):
        alike &= column[upper] == column[upper + 1]
    return [(int(at), int(at) + 1) for at in upper[alike][:MOST_TRIED]]


def _exchanges(found: _Repeats, pair: Pair) -> Iterator[_Exchange]:
    for column, parts in EXCHANGES.items():
        read = found.read.copy()
        read[np.ix_(parts, pair)] = found.read[np.ix_(parts, pair[::-1])]
        yield _Exchange(column, pair, read)


def _is_likeliest(case: Case, found: _Repeats, exchange: _Exchange, settled: list[_Exchange]) -> bool:
    """Tell whether an exchange leaves its propellers' readings clearly closer than any other one that settles them."""
    group = case.rows.group
    own = {*group[list(exchange.pair)].tolist()}
    rivals = [each for each in settled if each is not exchange and own & {*group[list(each.pair)].tolist()}]
    left = _left(case, found, exchange)
    return all(left < CLEAR * _left(case, found, rival) for rival in rivals)


def _left(case: Case, found: _Repeats, exchange: _Exchange) -> float:
    """Return how far the readings of the propellers scatter: repeats, at full throttle across cell counts.

    At equal volts thrust and current are then nearly the same on every cell count, and grams per amp even more so.
    """
    rows, (thrust, current) = case.rows, found.levels(exchange.read)
    spreads: list[float] = []
    for place in exchange.pair:
        own = found.label == found.label[place]
        if rows.point[place] > 0:
            own = case.sound & (rows.prop == rows.prop[place]) & (rows.point == rows.point[place])
        spreads += [float(np.std(values[own])) for values in (thrust, current, thrust - current)]
    return math.hypot(*spreads)


def _flag(rows: JudgedRows, exchange: _Exchange, here: int, there: int) -> Flag:
    column, other = exchange.column, rows.name(there)
    if column == "prop":
        what, found = "propellers", f"{rows.prop_name[here]} with {_read(rows, here)}"
        expected = f"{rows.prop_name[there]}, whose repeats read so"
    else:
        what, found = f"{label_of(column)}s", typed(rows.reading(column)[here], column)
        expected = f"{typed(rows.reading(column)[there], column)}, which stands in {other}"
    return Flag(
        f"{what[:-1].capitalize()} exchanged with {other}",
        int(rows.number[here]),
        column,
        found,
        expected,
        "Two entries changed places between two readings: exchanged, all repeats agree.",
        f"If your bench notes agree, exchange the {what} of this reading and {other}.",
        Severity.DOUBTFUL,
        (int(rows.number[there]),),
    )


def _read(rows: JudgedRows, at: int) -> str:
    return f"{typed(rows.current[at], 'current')} and {typed(rows.thrust[at], 'thrust')}"


# --- repeats that are none ---------------------------------------------------------------------------------------


def repeats_apart(case: Case) -> list[Flag]:
    """Flag readings too far from their repeats: of two both, of more those far from the middle."""
    rows, found = case.rows, _repeats(case)
    apart = np.flatnonzero(found.apart())
    if not apart.size:
        return []
    label, levels = np.unique(found.label[apart], return_inverse=True)[1], found.levels(found.read[:, apart])
    off = np.abs(levels - np.stack([medians_by(label, column) for column in levels])) / found.allowed[:, apart]
    two, other = counts_by(label) == 2, np.bincount(label, apart)[label].astype(np.int64) - apart
    column = np.where(off[0] > off[1], "thrust", "current")
    usual = {name: medians_by(label, rows.reading(name)[apart]) for name in ("thrust", "current")}
    return [
        _two(rows, int(apart[at]), int(other[at]), str(column[at]))
        if two[at]
        else unrepeated(rows, int(apart[at]), str(column[at]), float(usual[column[at]][at]))
        for at in np.flatnonzero(two | (off > 1).any(axis=0)).tolist()
    ]


def _two(rows: JudgedRows, at: int, other: int, column: str) -> Flag:
    return Flag(
        "Repeats far apart",
        int(rows.number[at]),
        column,
        f"{_read(rows, at)}; {rows.name(other)}: {_read(rows, other)}",
        "repeats within a few percent, at equal volts",
        "One of the two has the propeller or a figure of another reading; or a propeller slipped, or throttle was not full.",
        "Compare both with your bench notes; repeat the point, or set Use of the wrong one to no with a note why.",
        Severity.DOUBTFUL,
        (int(rows.number[other]),),
    )
