"""Mistakes in one reading or between two neighbours: a decimal point, two columns of a row, a column of two rows exchanged.

Each is tried by undoing it. What tells is how each reading goes with its relatives, as standard scores: the propeller's own
lines (thrust and current at a speed, power for a thrust), its neighbours in throttle and repeats, else the other propellers,
the volts per cell and the speeds. A mistake is found where that makes the table fit better by more than chance and leaves
none of its rows out of line; of several the one that leaves least, then the next.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import numpy as np

from xlsengine.study.case import IDEAL_SLOPE, Case
from xlsengine.study.count_checks import agreeing_across
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows, display_step
from xlsengine.study.outliers import FloatArray
from xlsengine.study.own_readings import ALLOWED, own_readings
from xlsengine.study.relatives import (
    COARSE,
    coarse_misfit,
    coarse_speed_misfit,
    near_misfit,
    speed_misfit,
    voltage_misfit,
)

USUAL_SPEED_RATIO = 0.75
"""Speed over Kv times volts of a loaded motor at full throttle, 0.60 to 0.85 (common practice, no source)."""

OUT = 3.0
"""Standard scores from which on a reading is out of line; more says no more."""

GAIN, SURER = 3.0, 0.5
"""What a mistake has to explain, as half a sum of squared scores, beyond its price, and by how much before another."""

LEFT, MOST_LEFT = 0.35, 8.0
"""Share of the largest score of its rows that a mistake may leave, and the most it may: two odd rows bend a line."""

MOST_ROWS, MOST_TRIED, LEAST_TRIED, MOST_PASSES = 300, 40, 3, 4
"""Rows looked at together; of these that are tried, the farthest out, of a propeller with more rows fewer; and how often: so
time grows with the rows."""

RELATIONS = ("TS", "IVS", "TIV", "TIV", "T", "I", "T", "I", "V", "V", "ST")
"""What each relation goes by, in the order of `scores`: thrust, current, volts, speed."""

BENT = (0, 1, 2, 3)
"""Relations that a slip may hide in: lines that it bends itself, and that which allows much at its low end."""

PLAUSIBLE, CLEAR = 9, 0.5
"""The relation that says only whether a cell can have such volts; what two columns exchanged may leave of all others."""

BACKING = (0, 1, 2, 4, 5, 6, 7)
"""Relations of thrust or current with others than the line of their cell count."""

SHIFTS = (0.1, 10.0)
READ = ("thrust", "current", "voltage", "speed")
PAIRS = (("voltage", "current"), ("thrust", "current"), ("thrust", "speed"))


class Kind(StrEnum):
    """What may have happened to a reading."""

    SLIP = "a decimal point one place off"
    COLUMNS = "two columns of a row exchanged"
    ROWS = "a column of two neighbours exchanged"


PRICES = {Kind.SLIP: 1.0, Kind.COLUMNS: 2.0, Kind.ROWS: 2.0}


@dataclass(frozen=True)
class Change:
    """A mistake as it is undone: the columns and places that it touches, what they then read, and what is left of misfits.

    `times` is what a slipped reading is to be multiplied by.
    """

    kind: Kind
    columns: tuple[str, ...]
    at: tuple[int, ...]
    rows: JudgedRows
    times: float = 1.0
    left: float = 0.0


def scores(case: Case, rows: JudgedRows, agreeing: BoolArray) -> FloatArray:
    """Return how far each row is from its relatives, had it read this, of shape (relations, n); NaN where none tell.

    Other propellers do not speak against what `agreeing` rows read, only against what they would read.
    """
    slip = case.limits.slip / OUT
    own = own_readings(replace(case, rows=rows))
    line = replace(case.line, level=case.line.level - np.log(rows.voltage / case.rows.voltage))
    by_line = np.where(own.judged(case.limits.score), np.nan, line.excess(rows.thrust, rows.current) * OUT)
    untouched = np.all([rows.reading(column) == case.rows.reading(column) for column in READ[:3]], axis=0)
    by_line = np.where(agreeing & untouched, 0.0, by_line)
    columns = [np.log(rows.thrust), np.log(rows.current)]
    near = [near_misfit(rows, values) for values in columns]
    coarse = [
        np.where(np.isnan(one), coarse_misfit(rows, values), np.nan) for one, values in zip(near, columns, strict=True)
    ]
    by_own = (own.thrust, own.current, own.without_speed)
    return np.stack(
        [
            *(each.misfit / np.maximum(each.spread, ALLOWED / OUT) for each in by_own),
            by_line,
            *(each / slip for each in near),
            *(each / (COARSE / OUT) for each in coarse),
            voltage_misfit(rows) / slip,
            np.where(_plausible(case, rows), 0.0, 1.01 * OUT),
            _speed_misfit(case, rows) / slip,
        ]
    )


def _plausible(case: Case, rows: JudgedRows) -> BoolArray:
    per_cell = rows.voltage / rows.cells
    return np.asarray((per_cell >= case.limits.cell_voltage_low) & (per_cell <= case.limits.cell_voltage_high))


def _speed_misfit(case: Case, rows: JudgedRows) -> FloatArray:
    """Return the misfit of each speed: with its propeller's thrust, else with all propellers', else with Kv."""
    by_kv = np.where(rows.point > 0, np.log(rows.speed / (USUAL_SPEED_RATIO * case.limits.kv * rows.voltage)), np.nan)
    near, coarse = speed_misfit(rows), coarse_speed_misfit(rows)
    return np.where(np.isnan(near), np.where(np.isnan(coarse), by_kv, coarse), near)


def _cost(found: FloatArray) -> float:
    return float(np.nansum(np.minimum(np.square(found), OUT**2)) / 2)


def changes(case: Case) -> list[list[Change]]:
    """Return the mistakes that explain rows, each with those that explain the same rows nearly as well.

    Rows that physics speaks against, or that were doubted, are tried too. A propeller whose grams per amp agree across cell
    counts is not held against others.
    """
    rows = replace(case.rows, impossible=np.zeros(case.rows.size, dtype=bool))
    agreeing = agreeing_across(case)
    case = replace(case, rows=rows, doubted=np.zeros(rows.size, dtype=bool))
    told, taken = list[list[Change]](), np.zeros(rows.size, dtype=bool)
    for _ in range(MOST_PASSES):
        found, props = sorted(_explaining(case, rows, taken, agreeing), key=lambda each: each.left), set[int]()
        for best in found:
            own = set(rows.prop[list(best.at)].tolist())
            if (
                not own & props
            ):  # what is odd beside a mistake may be so by it: its propeller's others wait for the next pass
                props |= own
                taken[list(best.at)] = True
                alike = {each.columns: each for each in reversed(found) if _is_rival(best, each)}
                told.append(sorted(alike.values(), key=lambda each: each.left))
                rows = _undone(rows, best)
        if not found:
            break
    return told


def _undone(rows: JudgedRows, change: Change) -> JudgedRows:
    for column in change.columns:
        read = change.rows.reading(column)
        rows = _changed(rows, column, {at: float(read[at]) for at in change.at})
    return rows


def portions(rows: JudgedRows) -> Iterator[IntArray]:
    """Yield the places of all rows, or where they are many those of some propellers at a time."""
    sizes = np.bincount(rows.prop)
    portion = ((np.cumsum(sizes) - sizes) // MOST_ROWS)[rows.prop]
    yield from (np.flatnonzero(portion == each) for each in np.unique(portion))


def _is_rival(best: Change, other: Change) -> bool:
    return (other.kind, other.at) == (best.kind, best.at) and other.left < best.left + SURER


def _explaining(case: Case, rows: JudgedRows, taken: BoolArray, agreeing: BoolArray) -> Iterator[Change]:
    """Yield the changes of rows not yet explained that make the table fit better."""
    now = scores(case, rows, agreeing)
    before, worst = _cost(now), np.nan_to_num(np.abs(now)).max(axis=0)
    for at in _farthest(worst, np.flatnonzero((worst > OUT) & ~taken)).tolist():
        for change in _tries(case, rows, at, now[:, at]):
            places = list(change.at)
            if taken[places].any():
                continue
            after = scores(case, change.rows, agreeing)
            left = _cost(after) + PRICES[change.kind]
            allowed = max(OUT, min(LEFT * float(worst[places].max()), MOST_LEFT))
            if change.kind is not Kind.SLIP and not _nearer(after[:, places], now[:, places]):
                continue
            if before - left >= GAIN and np.nanmax(np.abs(after[:, places])) <= allowed:
                yield replace(change, left=left)


def _farthest(worst: FloatArray, out: IntArray) -> IntArray:
    """Return which rows to try of those that are out, by their places in the table."""
    most = max(LEAST_TRIED, MOST_TRIED * MOST_ROWS**2 // max(worst.size, MOST_ROWS) ** 2)
    return np.sort(out[np.argsort(-worst[out], kind="stable")[:most]])


def _nearer(after: FloatArray, now: FloatArray) -> bool:
    """Tell whether rows come clearly nearer to the relatives that speak of them: two readings may be alike by chance."""
    moved = np.abs(after - now) > 1e-9
    moved[PLAUSIBLE] = False
    left, was = (float(np.abs(found[moved]).sum()) for found in (after, now))
    return left < CLEAR * was


def _tries(case: Case, rows: JudgedRows, at: int, now: FloatArray) -> Iterator[Change]:
    """Yield what may have happened to a row, by the columns in which it is out: a slip, or an exchange."""
    read = [column for column in READ if np.isfinite(rows.reading(column)[at])]
    out = [column for column in read if (np.abs(now[_goes_by(column)]) > OUT).any()]
    for column in out:
        if _throughout(now, column):
            yield from _slips(case, rows, column, at)
    for one, other in PAIRS:
        if {one, other} <= set(read) and {one, other} & set(out):
            made = _changed(rows, one, {at: rows.reading(other)[at]})
            yield Change(Kind.COLUMNS, (one, other), (at,), _changed(made, other, {at: rows.reading(one)[at]}))
    for upper in (at - 1, at):
        if 0 <= upper < rows.size - 1 and rows.number[upper + 1] == rows.number[upper] + 1:
            yield from (_with_neighbour(rows, column, upper) for column in out if _differ(rows, column, upper))


def _goes_by(column: str) -> list[int]:
    letter = "TIVS"[READ.index(column)]
    return [place for place, letters in enumerate(RELATIONS) if letter in letters]


def _throughout(now: FloatArray, column: str) -> bool:
    """Tell whether a reading is out of line in all that it goes by alone, as one ten times too large is."""
    known = [
        abs(now[place])
        for place in _goes_by(column)
        if place not in BENT and np.isfinite(now[place]) and now[place] != 0
    ]
    return all(score > OUT for score in known)


def _slips(case: Case, rows: JudgedRows, column: str, at: int) -> Iterator[Change]:
    for times in SHIFTS:
        value = rows.reading(column)[at] * times
        made = _changed(rows, column, {at: value})
        if value >= display_step(rows.reading(column)) and _can_be(case, made, at):
            yield Change(Kind.SLIP, (column,), (at,), made, times)


def _differ(rows: JudgedRows, column: str, upper: int) -> bool:
    above, below = rows.reading(column)[[upper, upper + 1]]
    return bool(np.isfinite(above + below) and above != below)


def _with_neighbour(rows: JudgedRows, column: str, upper: int) -> Change:
    above, below = rows.reading(column)[[upper, upper + 1]].tolist()
    return Change(Kind.ROWS, (column,), (upper, upper + 1), _changed(rows, column, {upper: below, upper + 1: above}))


def _changed(rows: JudgedRows, column: str, values: dict[int, float]) -> JudgedRows:
    read = rows.reading(column).copy()
    read[list(values)] = list(values.values())
    columns: dict[str, Any] = {column: read}
    return replace(rows, **columns)


def _can_be(case: Case, rows: JudgedRows, at: int) -> bool:
    """Tell whether a reading is one that any propeller can have."""
    power = math.log(rows.voltage[at] * rows.current[at] / (case.rows.voltage[at] * case.rows.current[at]))
    gain = IDEAL_SLOPE * math.log(rows.thrust[at] / case.rows.thrust[at]) - power
    efficiency = case.rows.hover_efficiency[at] * math.exp(gain)
    return not (efficiency > 1 or (rows.point[at] > 0 and efficiency < case.limits.efficiency_least))
