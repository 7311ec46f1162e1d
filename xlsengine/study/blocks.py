"""Blocks of readings that one mistake explains: as typed they cannot be, as they were meant they are usual ones.

A tired person makes most mistakes to a whole block at once: every row of a cell count, of a round, of the table. Such rows
agree with each other, so they are held against what a cell, a propeller in air, and the same propeller elsewhere can read.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import IDEAL_SLOPE, Case
from xlsengine.study.flags import Flag
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows, labels_of
from xlsengine.study.outliers import FloatArray

EFFICIENT = (0.15, 0.75)
"""Overall static efficiency of readings that may have been meant: 0.25 to 0.60 is usual (see Settings)."""

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


def without(case: Case, flags: list[Flag]) -> Case:
    """Return the case of the rows that no block explains."""
    told = np.isin(case.rows.number, [flag.row for flag in flags])
    if not told.any():
        return case
    rest = case.rows.at(np.flatnonzero(~told))
    prop, group = (np.unique(labels, return_inverse=True)[1] for labels in (rest.prop, rest.group))
    return Case(replace(rest, prop=prop, group=group), case.limits, case.doubted[~told])


# --- what is said of a block -------------------------------------------------------------------------------------


def block_flags(
    rows: JudgedRows, at: IntArray, *words: str, severity: Severity = Severity.IMPOSSIBLE, settles_volts: bool = False
) -> list[Flag]:
    """Return one flag a row, in the same words, so that lists tell them in one line.

    The words are title, column, found, expected, cause and fix.
    """
    return [rows.flag(place, *words, severity=severity, settles_volts=settles_volts) for place in at.tolist()]


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
