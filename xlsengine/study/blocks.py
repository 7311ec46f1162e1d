"""Blocks of readings that one mistake explains: as typed they cannot be, as they were meant they are usual ones.

A tired person makes most mistakes to a whole block at once: every row of a cell count, of a round, of the table. Such rows
agree with each other, so they are held against what a cell, a propeller in air, and the same propeller elsewhere can read.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import IDEAL_SLOPE, Case, current_line
from xlsengine.study.flags import Flag
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows, labels_of
from xlsengine.study.outliers import FloatArray

FEWEST, FEWEST_BACKED = 3, 2
"""Rows that make a block; and where the same propeller read the same elsewhere."""

NEAR = math.log(1.15)
"""Repeats at equal volts are closer than this (common practice, no source: 2 to 5 % on one bench, 12 % at most)."""

ACROSS = math.log(1.5)
"""Thrust at equal volts on another cell count is closer than this, its power of the volts being 1.4 to 2.1."""

EFFICIENT = (0.15, 0.75)
"""Overall static efficiency of readings that may have been meant: 0.25 to 0.60 is usual (see Settings)."""

USUAL_PER_CELL = 3.8
"""Volts per cell of a pack under load, where no reading of the test tells (common practice, no source: 3.6 to 4.0)."""

BACKED = 0.75
"""Share of the rows of a block that have to agree with what their propellers read elsewhere."""

MOST_SPANS = 5

TOO_LOW = "below 3.0 V a cell at rest it goes out of use and is not charged again"
TOO_HIGH = "charged above its maker's limit it goes out of use"


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


def misfits_elsewhere(case: Case, meant: Meant, at: IntArray, trusted: BoolArray) -> FloatArray:
    """Return how far rows are from what their propellers read in `trusted` ones, as multiples of what is allowed.

    NaN where one read nothing there. Thrust and amps at equal volts, of repeats; else at full throttle on any cell count.
    """
    rows = case.rows
    levels, there = _levels(case, meant), _levels(case, as_typed(rows))
    repeats = _middles(there, _points(rows, rows.cells), np.flatnonzero(trusted))
    elsewhere = _middles(there, _points(rows, np.zeros(rows.size)), np.flatnonzero(trusted & (rows.point > 0)))
    own, any_count = _points(rows, meant.cells), _points(rows, np.zeros(rows.size))
    found = np.full(at.size, np.nan)
    for place, row in enumerate(at.tolist()):
        known = repeats.get(own[row]), elsewhere.get(any_count[row])
        middle, allowed = (known[0], NEAR) if known[0] is not None else (known[1], ACROSS)
        if middle is not None:
            found[place] = np.abs(levels[:, row] - middle).max() / allowed
    return found


def _levels(case: Case, read: Meant) -> FloatArray:
    """Return the logarithms of thrust and amps at equal volts, of shape (2, n)."""
    return np.asarray(np.log(np.stack([read.thrust, read.current])) - case.limits.volts_power * np.log(read.voltage))


def _points(rows: JudgedRows, cells: FloatArray) -> list[tuple[float, ...]]:
    """Return what repeats have in common, row by row."""
    columns = (rows.prop, cells, rows.throttle, rows.peak)
    return list(zip(*(column.tolist() for column in columns), strict=True))


def _middles(levels: FloatArray, points: list[tuple[float, ...]], at: IntArray) -> dict[tuple[float, ...], FloatArray]:
    """Return the median levels of each point, over some rows."""
    places: dict[tuple[float, ...], list[int]] = {}
    for row in at.tolist():
        places.setdefault(points[row], []).append(row)
    return {point: np.median(levels[:, own], axis=1) for point, own in places.items()}


def is_backed(misfits: FloatArray) -> bool | None:
    """Tell whether the rows of a block agree with their propellers' readings elsewhere; None where none was read."""
    known = misfits[~np.isnan(misfits)]
    return bool(np.mean(known <= 1) >= BACKED) if known.size else None


def is_block(size: int, backed: bool | None) -> bool:
    """Tell whether so many rows are a block, unless what was read elsewhere speaks against it."""
    return backed is not False and size >= (FEWEST_BACKED if backed else FEWEST)


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


def without(case: Case, flags: list[Flag]) -> Case:
    """Return the case of the rows that no block explains, with a line of their own."""
    told = np.isin(case.rows.number, [flag.row for flag in flags])
    if not told.any():
        return case
    rest = case.rows.at(np.flatnonzero(~told))
    prop, group = (np.unique(labels, return_inverse=True)[1] for labels in (rest.prop, rest.group))
    rows = replace(rest, prop=prop, group=group)
    return Case(rows, case.limits, current_line(rows, case.limits.score), case.doubted[~told])


# --- what is said of a block -------------------------------------------------------------------------------------


def block_flags(
    rows: JudgedRows,
    at: IntArray,
    title: str,
    column: str,
    found: str,
    expected: str,
    cause: str,
    fix: str,
    *,
    severity: Severity = Severity.IMPOSSIBLE,
    settles_volts: bool = False,
) -> list[Flag]:
    """Return one flag a row, in the same words, so that lists tell them in one line."""
    words = (title, column, found, expected, cause, fix)
    flags = [rows.flag(int(place), *words, severity=severity) for place in at]
    return [replace(flag, settles_volts=settles_volts) for flag in flags]


def named(rows: JudgedRows, at: IntArray) -> str:
    """Say which rows: "runs 8-14, 19-22", or by their places among the readings where a run is not a whole number."""
    runs = rows.run[at]
    by_run = bool(np.isfinite(runs).all() and (runs == np.rint(runs)).all())
    numbers = np.sort(runs if by_run else rows.number[at]).astype(np.int64)
    spans = np.split(numbers, np.flatnonzero(np.diff(numbers) > 1) + 1)
    said = [f"{span[0]}" if span[0] == span[-1] else f"{span[0]}-{span[-1]}" for span in spans]
    left = sum(span.size for span in spans[MOST_SPANS:])
    word = ("run" if by_run else "reading") + "s" * (numbers.size > 1)
    return f"{word} {', '.join(said[:MOST_SPANS])}" + f" and {left} more" * bool(left)


def span(values: FloatArray, decimals: int) -> str:
    """Write the lowest and the highest of some values: "2.61 to 2.65".

    >>> span(np.array([2.65, 2.61]), 2), span(np.array([2.65]), 2)
    ('2.61 to 2.65', '2.65')
    """
    ends = list(dict.fromkeys(f"{end:.{decimals}f}" for end in (values.min(), values.max())))
    return " to ".join(ends)
