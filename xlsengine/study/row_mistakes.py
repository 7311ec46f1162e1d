"""Mistakes in one reading or between two of them: a decimal point, a unit, a throttle, a propeller, figures exchanged.

Each is tried by undoing it. What tells is how each reading goes with its relatives, as standard scores (`relations`), and
whether a cell can have such volts. A mistake is found where undoing it brings its rows nearer to their relatives by more than
chance and leaves none of them out of line; of several the one that explains most, then the next.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import combinations
from typing import Any

import numpy as np

from xlsengine.bench.inputs.readings import AT_PEAK, AT_STEADY
from xlsengine.study.case import IDEAL_SLOPE, BoolArray, Case, IntArray, JudgedRows, display_step
from xlsengine.study.lines import Expected, Lines
from xlsengine.study.outliers import FloatArray
from xlsengine.study.relations import COARSE, TIES, Bench, speed_by_kv

OUT = 3.0
"""Standard scores from which on a reading is out of line; more says no more."""

GAIN, SURER = 3.0, 0.5
"""What a mistake has to explain, as half a sum of squared scores, beyond its price, and by how much before another."""

LEFT, MOST_LEFT = 0.35, 8.0
"""Share of the largest score of its rows that a mistake may leave, and the most it may: two odd rows bend a line."""

MOST_TRIED, MOST_APART, MOST_LABELS, MOST_PASSES = 400, 8, 12, 4
"""Rows that are tried, the farthest out, how many of them with each other, how many labels, and how often: so time grows
with the rows."""

FULL, ROUND = 100.0, 5.0
"""Full throttle; and what throttles are set to multiples of (common practice, no source), in percent."""

TELLING = math.log(10) / 5
"""Spread of what is expected of a reading beyond which nothing is said of it: it would not tell a slip by ten."""

MOST_STRANGE = math.log(4)
"""A power for the thrust so far off other propellers' is a slip, not the propeller."""

CLEAR, MOVED = 0.5, 0.05
"""Share of the scores that an exchange may leave, of those that it moves by as much."""

GOES_BY = (*(tie.goes_by for tie in TIES), "S", "V")
BENDS = np.array([*(tie.bends for tie in TIES), False, False])
BACKS = np.array([*(tie.backs for tie in TIES), False, False])
"""Of each line of scores: those of the relations, of speeds by Kv, and whether a cell can have such volts."""

BY_SPEED, BY_POWER, BY_POWER_OF_ALL, ALONG = 0, 2, 3, {"thrust": 4, "current": 5}
"""Places of some relations among all."""

COARSELY = [place for place, tie in enumerate(TIES) if tie.allowed == COARSE]
"""Relations that say only what is beyond all propellers."""

SHIFTS = (0.1, 10.0)
UNITS = {("voltage", 1e-3): "millivolts", ("current", 1e-3): "milliamps", ("thrust", 1e3): "kilograms"}
"""What slips by a thousand are called."""

READ = ("thrust", "current", "voltage", "speed")
PAIRS = (("voltage", "current"), ("thrust", "current"), ("thrust", "speed"))


class Kind(StrEnum):
    """What may have happened to a reading."""

    SLIP = "a decimal point one place off"
    COLUMNS = "two columns of a row exchanged"
    ROWS = "a column of two neighbours exchanged"
    APART = "a column of two rows apart exchanged"
    PROPS = "a column of two propellers exchanged on a cell count"
    LABEL = "the throttle or the propeller of another reading"


PRICES = {Kind.SLIP: 1.0, Kind.COLUMNS: 2.0, Kind.ROWS: 2.0, Kind.APART: 4.0, Kind.PROPS: 2.0, Kind.LABEL: 3.0}


@dataclass(frozen=True)
class Change:
    """A mistake as it is undone: the columns and places that it touches, and what they then read, a row each.

    `times` is what a slipped reading is to be multiplied by; `gain` what undoing it explains; it is `backed` where thrust or
    current go with more than other propellers' power.
    """

    kind: Kind
    at: tuple[int, ...]
    read: dict[str, tuple[float, ...]]
    times: float = 1.0
    gain: float = 0.0
    backed: bool = False

    @property
    def columns(self) -> tuple[str, ...]:
        """Return what it touches."""
        return tuple(name for name in self.read if name in (*READ, "throttle", "prop"))

    def undone(self, rows: JudgedRows) -> JudgedRows:
        """Return the rows without it."""
        return _with(rows, {name: (list(self.at), list(values)) for name, values in self.read.items()})


def _with(rows: JudgedRows, read: dict[str, tuple[list[int], list[float]]]) -> JudgedRows:
    columns: dict[str, Any] = {}
    for name, (places, values) in read.items():
        columns[name] = rows.reading(name).copy()
        columns[name][places] = values
    return replace(rows, **columns)


class Trials:
    """A table whose readings are held against their relatives, as typed and as they may have been meant."""

    def __init__(self, case: Case, least: float = 0.0) -> None:
        """Draw the lines of a table; misfits up to the `least` are none, or those that each relation allows."""
        self.case, self.bench, self.slip, self.least = case, Bench(case), case.limits.slip, least
        self.lines = [Lines(tie.relation(self.bench, case.rows), case.sound) for tie in TIES]
        pairs = zip(self.lines, TIES, strict=True)
        found = [line.judged(tie.allowed or self.slip, case.limits.score) for line, tie in pairs]
        self.now = self._scores(case.rows, found)
        power, tells = found[BY_POWER_OF_ALL], found[BY_POWER_OF_ALL].others >= TIES[BY_POWER_OF_ALL].fewest
        self.strange = tells & (np.abs(power.misfit) > np.maximum(MOST_STRANGE, OUT * power.spread))

    def _scores(self, rows: JudgedRows, found: list[Expected]) -> FloatArray:
        """Return how far each row is from its relatives, of shape (relations, n); NaN where none tell."""
        told = [
            np.where(
                (each.spread <= TELLING) & (each.others >= tie.fewest),
                each.misfit / np.maximum(each.spread, (self.least or tie.allowed or self.slip) / OUT),
                np.nan,
            )
            for each, tie in zip(found, TIES, strict=True)
        ]
        if not self.least:  # other propellers tell where its own do not
            told[BY_POWER_OF_ALL] = np.where(np.isnan(told[BY_POWER]), told[BY_POWER_OF_ALL], np.nan)
        for place in () if self.least else COARSELY:
            told[place] = np.where(np.abs(told[place]) <= OUT, told[place] * 0.0, told[place])
        by_kv = np.where(np.isnan(told[-1]) & np.isnan(told[BY_SPEED]), speed_by_kv(self.bench, rows).y, np.nan)
        per_cell, limits = rows.voltage / rows.cells, self.case.limits
        can_be = (per_cell >= limits.cell_voltage_low) & (per_cell <= limits.cell_voltage_high)
        return np.stack([*told, by_kv / (self.slip / OUT), np.where(can_be, 0.0, 1.01 * OUT)])

    def explaining(self, tried: list[Change]) -> Iterator[Change]:
        """Yield the changes that bring their rows nearer to their relatives, with what they gain."""
        of = np.repeat(np.arange(len(tried)), [len(each.at) for each in tried])
        places = np.array([at for each in tried for at in each.at])
        before = self.case.rows.at(places)
        after = _with(before, _columns(tried, np.searchsorted(of, np.arange(len(tried))).tolist()))
        was, left = (self._against(rows, of, places) for rows in (before, after))
        gains = np.bincount(of, _cost(was) - _cost(left), len(tried))
        for at, change in enumerate(tried):
            here = slice(*np.searchsorted(of, [at, at + 1]).tolist())
            gain = float(gains[at]) - PRICES[change.kind]
            if gain >= GAIN and self._in_line(change, was[:, here], left[:, here]):
                yield replace(change, gain=gain, backed=bool(np.isfinite(left[BACKS, here]).any()))

    def without(self, place: int, places: IntArray, of: IntArray) -> Expected:
        """Judge rows by one relation's lines without any row of their part of the table, which `of` numbers."""
        return self.lines[place].against(TIES[place].relation(self.bench, self.case.rows.at(places)), of, places)

    def scores_without(self, places: IntArray) -> FloatArray:
        """Return how far some rows are from their relatives, none of them among these: a line of scores a relation."""
        return self._against(self.case.rows.at(places), np.zeros(places.size, dtype=np.int64), places)

    def _against(self, rows: JudgedRows, of: IntArray, places: IntArray) -> FloatArray:
        pairs = zip(self.lines, TIES, strict=True)
        return self._scores(rows, [line.against(tie.relation(self.bench, rows), of, places) for line, tie in pairs])

    def _in_line(self, change: Change, was: FloatArray, left: FloatArray) -> bool:
        """Tell whether its rows are in line; of an exchange, whether they come clearly nearer."""
        worst = np.nanmax(np.abs(was))
        moved = np.abs(left - was)[:-1] >= MOVED
        sums = [float(np.abs(each[:-1])[moved].sum()) for each in (left, was)]
        most = max(OUT, min(LEFT * worst, MOST_LEFT)) if change.kind is not Kind.SLIP or len(change.at) == 1 else OUT
        is_near = np.nanmax(np.abs(left)) <= most
        return bool(is_near and (change.kind is Kind.SLIP or sums[0] < CLEAR * sums[1]))


def _columns(tried: list[Change], first: list[int]) -> dict[str, tuple[list[int], list[float]]]:
    """Return where, among the rows of all changes, what is read in each column."""
    found: dict[str, tuple[list[int], list[float]]] = {}
    for start, change in zip(first, tried, strict=True):
        for name, values in change.read.items():
            places, read = found.setdefault(name, ([], []))
            places += range(start, start + len(values))
            read += values
    return found


def _cost(found: FloatArray) -> FloatArray:
    return np.asarray(np.nansum(np.minimum(np.square(found), OUT**2), axis=0) / 2)


def changes(case: Case) -> list[list[Change]]:
    """Return the mistakes that explain rows, each with those that explain the same rows nearly as well.

    Rows that physics speaks against, or that were doubted, are tried too.
    """
    nobody = np.zeros(case.rows.size, dtype=bool)
    case = replace(case, rows=replace(case.rows, impossible=nobody), doubted=nobody)
    told, taken = list[list[Change]](), nobody.copy()
    for _ in range(MOST_PASSES):
        found = sorted(_explaining(case, taken), key=lambda each: -each.gain)
        props, rows = set[int](), case.rows
        for best in found:
            own = set(rows.prop[list(best.at)].tolist())
            if own & props or any(_is_elsewhere(case.rows, best, each) for each in found):
                continue  # what is odd beside a mistake may be so by it: its propeller's others wait for the next pass
            props |= own
            taken[list(best.at)] = True
            rivals = (each for each in reversed(found) if _is_rival(best, each))
            alike = {(each.columns, each.kind is Kind.LABEL and each.read[each.columns[0]]): each for each in rivals}
            told.append(sorted(alike.values(), key=lambda each: -each.gain))
            rows = best.undone(rows)
        case = replace(case, rows=rows)
        if not found:
            break
    return told


def _is_rival(best: Change, other: Change) -> bool:
    return (other.kind, other.at) == (best.kind, best.at) and other.gain > best.gain - SURER


def _is_elsewhere(rows: JudgedRows, best: Change, other: Change) -> bool:
    """Tell whether another reading of the propeller may as well have the wrong label."""
    alike = other.kind is best.kind is Kind.LABEL and other.columns == best.columns and other.at != best.at
    return alike and other.gain > best.gain - SURER and bool(rows.prop[other.at[0]] == rows.prop[best.at[0]])


def _explaining(case: Case, taken: BoolArray) -> list[Change]:
    """Return the changes of rows not yet explained that bring them nearer to their relatives."""
    trials = Trials(case)
    worst = np.nan_to_num(np.abs(trials.now)).max(axis=0, initial=0.0)
    out = np.flatnonzero((worst > OUT) & ~taken)
    out = out[np.argsort(-worst[out], kind="stable")[:MOST_TRIED]]
    alone = (each for at in np.sort(out).tolist() for each in _tries(case, at, trials.now[:, at]))
    tried = [each for each in alone if not taken[list(each.at)].any()]
    tried += [*_apart(case.rows, out, trials.now), *_repeated(case, trials.strange & ~taken)]
    return list(trials.explaining(tried)) if tried else []


def _tries(case: Case, at: int, now: FloatArray) -> Iterator[Change]:
    """Yield what may have happened to a row, by the columns in which it is out: a slip, or an exchange."""
    rows = case.rows
    read = {column: float(rows.reading(column)[at]) for column in READ if np.isfinite(rows.reading(column)[at])}
    out = [column for column in read if (np.abs(now[_goes_by(column)]) > OUT).any()]
    for column in out:
        if _throughout(now, column):
            yield from _slips(case, column, at)
    for one, other in PAIRS:
        if {one, other} <= set(read) and {one, other} & set(out):
            yield Change(Kind.COLUMNS, (at,), {one: (read[other],), other: (read[one],)})
    same = (rows.voltage == rows.voltage[at]) & (rows.current == rows.current[at]) & (rows.thrust == rows.thrust[at])
    if set(out) - {"voltage"} and np.count_nonzero(same) == 1:  # of a copy it is not the label that is wrong
        yield from _propellers(rows, at)
        yield from _throttles(rows, at) if (np.abs(now[list(ALONG.values())]) > OUT).any() else ()
    for upper in (at - 1, at):
        if 0 <= upper < rows.size - 1 and rows.number[upper + 1] == rows.number[upper] + 1:
            pairs = ((column, rows.reading(column)[[upper, upper + 1]].tolist()) for column in out)
            for column, (above, below) in pairs:
                if np.isfinite(above + below) and above != below:
                    yield Change(Kind.ROWS, (upper, upper + 1), {column: (below, above)})


def _throttles(rows: JudgedRows, at: int) -> Iterator[Change]:
    """Yield the throttles that others have, and that lie between, and exchanges in its sweep: of all figures, that is."""
    values, counts = np.unique(rows.throttle, return_counts=True)
    read = np.union1d(values[np.argsort(-counts, kind="stable")[:MOST_LABELS]], FULL)
    full = rows.throttle[rows.point > 0].min(initial=FULL)
    for throttle in np.union1d(read, ROUND * np.rint((read[1:] + read[:-1]) / 2 / ROUND)).tolist():
        point = 0.0 if throttle < full else AT_PEAK if rows.peak[at] else AT_STEADY
        if throttle != rows.throttle[at]:
            yield Change(Kind.LABEL, (at,), {"throttle": (throttle,), "point": (point,)})
    sweep = np.flatnonzero((rows.group == rows.group[at]) & (rows.peak == rows.peak[at]))
    for other in sweep[np.argsort(np.abs(sweep - at), kind="stable")[: MOST_LABELS + 1]].tolist():
        if rows.throttle[other] != rows.throttle[at]:
            places = sorted((at, other))
            turned = {name: tuple(rows.reading(name)[places[::-1]].tolist()) for name in ("throttle", "point")}
            yield Change(Kind.ROWS, tuple(places), turned)


def _propellers(rows: JudgedRows, at: int) -> Iterator[Change]:
    """Yield the propellers of the rows beside, and those that lack a reading at this point."""
    here = (rows.cells == rows.cells[at]) & (rows.throttle == rows.throttle[at]) & (rows.peak == rows.peak[at])
    beside = np.abs(rows.number - rows.number[at]) == 1
    others = np.setdiff1d(rows.prop[beside | ~np.isin(rows.prop, rows.prop[here])], rows.prop[at])
    for like in (int(np.argmax(rows.prop == prop)) for prop in others[:MOST_LABELS]):
        names = ("prop", "diameter", "pitch")
        yield Change(Kind.LABEL, (at,), {name: (float(rows.reading(name)[like]),) for name in names})


def _repeated(case: Case, strange: BoolArray) -> Iterator[Change]:
    """Yield slips of all repeats of a propeller and cell count: these agree, but not with the power for the thrust."""
    rows = case.rows
    full = rows.point > 0
    groups = rows.group[strange & full]
    for group in np.unique(groups).tolist():
        at = np.flatnonzero((rows.group == group) & full)
        if at.size > 1 and strange[at].all():
            for column in ("thrust", "current"):
                yield from _same_slip(case, column, at.tolist())


def _same_slip(case: Case, column: str, at: list[int]) -> Iterator[Change]:
    """Yield what may have happened to a column in some rows alike."""
    each_of = [list(_slips(case, column, place)) for place in at]
    for slips in zip(*each_of, strict=True) if len({len(found) for found in each_of}) == 1 else ():
        values = tuple(each.read[column][0] for each in slips)
        yield Change(Kind.SLIP, tuple(at), {column: values}, slips[0].times)


def _apart(rows: JudgedRows, out: IntArray, now: FloatArray) -> Iterator[Change]:
    """Yield exchanges between any two of the rows that are farthest out in a column, but neighbours."""
    for column in READ:
        values = rows.reading(column)
        odd = out[(np.abs(now[_goes_by(column)][:, out]) > OUT).any(axis=0) & np.isfinite(values[out])][:MOST_APART]
        for one, other in combinations(np.sort(odd).tolist(), 2):
            if rows.number[other] - rows.number[one] > 1 and values[one] != values[other]:
                yield Change(Kind.APART, (one, other), {column: (float(values[other]), float(values[one]))})


def _goes_by(column: str) -> BoolArray:
    letter = "TIVS"[READ.index(column)]
    return np.array([letter in letters for letters in GOES_BY])


def _throughout(now: FloatArray, column: str) -> bool:
    """Tell whether a reading is out of line in all that it goes by alone, as one ten times too large is."""
    alone = now[_goes_by(column) & ~BENDS]
    return bool((np.abs(alone[np.isfinite(alone) & (alone != 0)]) > OUT).all())


def _slips(case: Case, column: str, at: int) -> Iterator[Change]:
    values = case.rows.reading(column)
    as_watts = (1 / float(case.rows.voltage[at]),) if column == "current" else ()
    for times in (*SHIFTS, *(times for name, times in UNITS if name == column), *as_watts):
        value = float(values[at] * times)
        if value >= display_step(values) and _can_be(case, column, at, times):
            yield Change(Kind.SLIP, (at,), {column: (value,)}, times)


def _can_be(case: Case, column: str, at: int, times: float) -> bool:
    """Tell whether a reading with a column so many times as much is one that any propeller can have."""
    power = {"thrust": IDEAL_SLOPE, "current": -1.0, "voltage": -1.0}.get(column, 0.0)
    efficiency = case.rows.hover_efficiency[at] * times**power
    return not (efficiency > 1 or (case.rows.point[at] > 0 and efficiency < case.limits.efficiency_least))
