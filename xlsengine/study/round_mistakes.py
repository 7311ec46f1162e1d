"""Whole rounds that one mistake explains: off by a factor, by an amount, in volts, or with a column moved by a row.

Each mistake is a declaration of how it is undone, and what is said of it. It is found where undoing it brings the rows that
it touches into line, most of which were out, and the whole table fits far better (`trials`). Of several the one speaks that
leaves least; where another round would explain nearly as much, both are named.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import islice

import numpy as np

from xlsengine.bench.judging.plain_checks import IN_GRAMS
from xlsengine.study.case import Case, IntArray, JudgedRows
from xlsengine.study.outliers import FloatArray
from xlsengine.study.trials import SHARED, Meant, Profile, Table, apart_on_count, parts

FEWEST, MOST_PARTS = 3, 30
"""Propellers from which on what they share is no chance; parts of a table that are tried, the largest."""

LEAST_FACTOR, LEAST_SHARE, LEAST_VOLTS = math.log(1.15), 0.04, math.log(1.08)
"""What is told of: a factor; an amount as a share of the readings, since a warm motor does as much; a factor of the volts."""

SURE = 3.5
"""Standard deviations of what propellers share from which on a factor is none of the motor's own."""

MOST_CELLS = 14
IN_LINE, MOSTLY = math.log(1.15), 0.75
"""Repeats at equal volts are closer (common practice, no source: 2 to 5 % on one bench, 12 % at most); the share of the rows
that have to be, and that were out."""

STAYS = 0.4
"""What a mistake leaves alone is off by less than this share of what it moves: volts, air or a warm motor move both."""

GAIN, SURER = 6.0, 3.0
"""What undoing a mistake has to gain, as half a sum of squared standard deviations, and by how much before another's."""

UNITS = {**IN_GRAMS, "kilograms": 1e3}
MILLIAMPS = 1e3
OF_UNITS = {"thrust": tuple(1 / grams for grams in UNITS.values()), "current": (MILLIAMPS,)}
"""Factors of the readings of a column in other units; amps may be in watts too."""

KNOWN, NEAR, FAR = (0.1, 0.5, 2.0, 10.0), math.log(1.03), math.log(20)
"""Factors that have a cause of their own, beside units: a decimal point, one of two leads; how near one has to be; from
which on nothing but a unit does it, be it as near as what propellers share."""


@dataclass(frozen=True)
class Undone:
    """A table as it may have been meant, without a mistake in some of its rows.

    `size` is the factor, the grams or amps, or the rows that it made of a reading; `left` how badly the table then fits.
    Its rivals explain nearly as much.
    """

    mistake: Mistake
    at: IntArray
    profile: Profile
    size: float
    meant: Meant
    table: Table
    left: float = 0.0
    rivals: tuple[Undone, ...] = ()

    @property
    def rows(self) -> JudgedRows:
        """Return all rows of the table, as typed."""
        return self.table.case.rows

    def read(self, column: str) -> FloatArray:
        """Return what was read in its rows."""
        return self.rows.reading(column)[self.at]

    def due(self, column: str) -> FloatArray:
        """Return what was meant in its rows."""
        return np.asarray(getattr(self.meant, column)[self.at])

    @property
    def is_across(self) -> bool:
        """Tell whether no repeat tells of it, but the same propellers on other cell counts."""
        return not self.profile.repeated.any()

    @property
    def is_unit(self) -> bool:
        """Tell whether its readings are in another unit, and not off by just any factor."""
        units = OF_UNITS.get(self.mistake.column, ())
        return self.mistake.name in ("unit", "watts") or (self.mistake.name == "factor" and self.size in units)

    @cached_property
    def after(self) -> Profile:
        """Return the rows as they were meant, beside the others."""
        is_part = self.at.size < self.profile.at.size
        return self.table.profile(self.at, self.meant) if is_part else self.table.moved(self.profile, self.meant)


@dataclass(frozen=True)
class Mistake:
    """What may happen to the readings of a round: the column it stands in, how it is undone, what it costs beside others.

    One that stands `alone` needs no other readings: as typed the rows cannot be. It is told from `fewest` propellers on.
    """

    name: str
    column: str
    undo: Undo
    price: float = 1.0
    alone: bool = False
    fewest: int = FEWEST


Columns = dict[str, FloatArray]
Undo = Callable[[Table, Profile, str], Iterator[tuple[float, Columns]]]
"""Yields sizes of a mistake in a part of a table, and the columns of the part without it."""


def _middle(values: FloatArray) -> float:
    known = values[~np.isnan(values)]
    return float(np.median(known)) if known.size else 0.0


COLUMNS = ("thrust", "current")
"""What stands in the lines of a profile's `off` and `scatter`."""


def _factor(table: Table, profile: Profile, column: str) -> Iterator[tuple[float, Columns]]:
    """Take a factor off a column."""
    place = COLUMNS.index(column)
    middle, alone = _middle(profile.off[place]), _middle(profile.off[place] - profile.off[1 - place])
    if max(abs(middle) - SURE * profile.shared, abs(alone) - SURE * SHARED[1]) >= 0 and abs(middle) >= LEAST_FACTOR:
        near = max(NEAR, profile.shared) if abs(middle) >= FAR else NEAR
        off = {abs(middle - math.log(each)): each for each in (*KNOWN, *OF_UNITS[column])}
        size = off[min(off)] if min(off) <= near else math.exp(middle)
        yield size, {column: getattr(table.read, column)[profile.at] / size}


def _watts(table: Table, profile: Profile, column: str) -> Iterator[tuple[float, Columns]]:
    """Read amps as watts: over the volts of their row they are amps."""
    volts = table.read.voltage[profile.at]
    if abs(_middle(profile.off[1] - np.log(volts))) <= IN_LINE:
        yield float(np.median(volts)), {column: table.read.current[profile.at] / volts}


def _both(table: Table, profile: Profile, column: str) -> Iterator[tuple[float, Columns]]:
    """Take a factor off thrusts, and one off amps."""
    made = [next(_factor(table, profile, each), None) for each in ("thrust", "current")]
    if made[0] and made[1]:
        yield made[0][0], made[0][1] | made[1][1]


def _amount(table: Table, profile: Profile, column: str) -> Iterator[tuple[float, Columns]]:
    """Take an amount off a column: what is left of it is as it should be times what all share."""
    place, values = COLUMNS.index(column), getattr(table.read, column)[profile.at]
    known = ~np.isnan(profile.off[place])
    terms = np.stack([np.ones(values.size), 1 / values])[:, known] / profile.scatter[place, known]
    shared = max(min(profile.shared, SHARED[1]), 1e-3)
    inverse = np.linalg.inv(terms @ terms.T + np.diag([shared**-2, 0.0]))
    level, slope = inverse @ terms @ (np.expm1(-profile.off[place]) / profile.scatter[place])[known]
    amount = float(-slope / (1 + level))
    least = max(LEAST_SHARE * np.median(values), SURE * math.sqrt(inverse[1, 1]))
    if (values > amount).all() and abs(amount) >= least:
        yield amount, {column: values - amount}


def _volts(table: Table, profile: Profile, column: str) -> Iterator[tuple[float, Columns]]:
    """Put in the volts of the repeats."""
    middle = _middle(profile.volts)
    if abs(middle) >= LEAST_VOLTS and np.mean(profile.volts * np.sign(middle) >= LEAST_VOLTS / 2) >= MOSTLY:
        off = np.where(profile.repeated, profile.volts, middle)
        yield math.exp(middle), {column: table.read.voltage[profile.at] / np.exp(off)}


def _moved(table: Table, profile: Profile, column: str) -> Iterator[tuple[float, Columns]]:
    """Move a column back by one row; the last reading, which lost its own, is taken for what it should be."""
    at, read = profile.at, table.read
    if (np.diff(table.case.rows.number[at]) != 1).any():
        return
    off = {"thrust": profile.off[0], "current": profile.off[1], "voltage": profile.volts}
    for step in (1, -1):
        columns = {name: np.roll(getattr(read, name)[at], step) for name in MOVED[column]}
        end = 0 if step > 0 else -1
        should = {name: float(getattr(read, name)[at][end] * np.exp(-off[name][end])) for name in columns}
        if any(abs(math.log(columns[name][end] / should[name])) > IN_LINE for name in columns):
            for name, values in columns.items():
                values[end] = should[name]
        yield step, columns


def _units(table: Table, profile: Profile, column: str) -> Iterator[tuple[float, Columns]]:
    """Read thrusts in another unit."""
    for grams in UNITS.values() if np.isnan(profile.off).all() else ():
        yield 1 / grams, {column: table.read.thrust[profile.at] * grams}


def _per_cell(table: Table, profile: Profile, column: str) -> Iterator[tuple[float, Columns]]:
    """Read volts as those of one cell."""
    at, cells = profile.at, table.read.cells[profile.at]
    if (cells > 1).any() and not table.read.fits_cells(table.case)[at[cells > 1]].any():
        yield 1.0, {column: table.read.voltage[at] * cells}


def _exchanged(table: Table, profile: Profile, column: str) -> Iterator[tuple[float, Columns]]:
    """Exchange volts and amps."""
    read, at = table.read, profile.at
    turned = replace(read, voltage=read.current, current=read.voltage)
    if turned.fits_cells(table.case)[at].all() and 2 * np.mean(read.fits_cells(table.case)[at]) <= 1:
        yield 1.0, {"voltage": turned.voltage[at], "current": turned.current[at]}


def _turned(table: Table, profile: Profile, column: str) -> Iterator[tuple[float, Columns]]:
    """Exchange all that was read in two rows."""
    if profile.at.size == 2:
        yield 1.0, {name: getattr(table.read, name)[profile.at][::-1] for name in MOVED["prop"]}


def _cells(table: Table, profile: Profile, column: str) -> Iterator[tuple[float, Columns]]:
    """Put in the cell counts whose volts a cell can have: of several one that was typed, the nearest to the usual volts."""
    at, read, counts = profile.at, table.read, np.arange(1.0, MOST_CELLS + 1)
    meant = read.cells[at].copy()
    usual, is_typed = table.usual_per_cell(table.read), np.isin(counts, read.cells)
    for typed in np.unique(meant):
        volts = read.voltage[at[read.cells[at] == typed]]
        per_cell = volts / counts[:, None]
        fits = (per_cell >= table.case.limits.cell_voltage_low) & (per_cell <= table.case.limits.cell_voltage_top)
        off = np.abs(np.log(np.median(per_cell, axis=1) / usual))
        meant[read.cells[at] == typed] = counts[np.lexsort((off, ~is_typed, -fits.sum(axis=1)))[0]]
    if (meant != read.cells[at]).all():
        yield 1.0, {column: meant}


MOVED = {"prop": ("thrust", "current", "voltage"), "thrust": ("thrust",), "current": ("current",)}

MISTAKES = (
    Mistake("unit", "thrust", _units, alone=True),
    Mistake("per cell", "voltage", _per_cell, alone=True, fewest=1),
    Mistake("exchanged", "voltage", _exchanged, alone=True),
    Mistake("turned", "voltage", _turned, 2.0, alone=True, fewest=1),
    Mistake("cells", "cells", _cells, alone=True, fewest=1),
    Mistake("watts", "current", _watts, 0.0),
    Mistake("factor", "thrust", _factor),
    Mistake("factor", "current", _factor),
    Mistake("both", "thrust", _both, 3.0),
    Mistake("amount", "thrust", _amount),
    Mistake("amount", "current", _amount),
    Mistake("volts", "voltage", _volts, 2.0),
    Mistake("moved", "thrust", _moved, 2.0),
    Mistake("moved", "current", _moved, 2.0),
    Mistake("moved", "prop", _moved, 2.0),
)


def undone(case: Case) -> list[Undone]:
    """Return the mistake that explains most of a table, first, and those that explain nearly as much of other rows."""
    table = Table(case)
    tries = [each for at in islice(_tried(table), MOST_PARTS) for each in _tries(table, table.profile(at))]
    if not tries:
        return []
    most = table.misfit(table.read) - GAIN
    found = [replace(each, left=table.misfit(each.meant) + each.mistake.price) for each in tries]
    found = sorted((each for each in found if each.left <= most), key=lambda each: each.left)
    return [each for each in found if each is found[0] or _rivals(found[0], each)]


def _tried(table: Table) -> Iterator[IntArray]:
    """Yield the rows whose volts are not their cell count's, then the parts of the table."""
    for odd in (table.read.beyond(table.case), table.odd):
        if (apart := apart_on_count(table.read, odd)).any():
            yield np.flatnonzero(apart)
    yield from parts(table.case.rows)


def _rivals(best: Undone, other: Undone) -> bool:
    """Tell whether another part, or what repeats would tell apart in the same, explains nearly as much."""
    if best.is_unit and not other.is_unit:
        return False  # what a unit explains no odd factor does
    same = best.is_across and other.mistake is not best.mistake and np.array_equal(other.at, best.at)
    return other.left < best.left + SURER and (same or not np.isin(other.at, best.at).any())


def _tries(table: Table, profile: Profile) -> Iterator[Undone]:
    """Yield what brings a part of the table into line."""
    known = ~np.isnan(profile.off[0])
    props = np.unique(table.case.rows.prop[profile.at[known]]).size
    is_apart = profile.at.size < table.odd.size and bool(table.odd[profile.at].all())
    unread = not known.any() and (profile.at.size >= FEWEST or is_apart)
    if not unread and not _any_out(table, profile):
        return
    for mistake in MISTAKES:
        if props < mistake.fewest and not (mistake.alone and unread):
            continue
        for size, columns in mistake.undo(table, profile, mistake.column):
            changed = {name: _put(getattr(table.read, name), profile.at, values) for name, values in columns.items()}
            tried = Undone(mistake, profile.at, profile, size, replace(table.read, **changed), table)
            if _in_line(table, tried):
                yield tried


def _any_out(table: Table, profile: Profile) -> bool:
    """Tell whether so many rows are out as the least mistake puts out: of a sound part nothing needs to be tried."""
    off = np.abs(np.nan_to_num(profile.off)).max(axis=0)
    out = (off >= STAYS * LEAST_SHARE) | table.odd[profile.at]
    return bool(2 * np.mean(out) >= 1)


def _put(values: FloatArray, at: IntArray, new: FloatArray) -> FloatArray:
    changed = values.copy()
    changed[at] = new
    return changed


def _in_line(table: Table, tried: Undone) -> bool:
    """Tell whether most rows were out and are in line, none of the columns being off as a whole any more."""
    profile, odd = tried.profile, table.odd[tried.at]
    before, after = profile.off, tried.after.off
    known = ~np.isnan(after[0])
    fits_meant = tried.meant.fits_cells(table.case)[tried.at]
    if not known.any():
        usual = tried.meant.is_usual(table.case)[tried.at]
        return bool(np.mean(usual & fits_meant) >= MOSTLY)
    changed, off = (np.abs(np.nan_to_num(each)) for each in (after - before, before))
    moved = changed.max(axis=0)
    was_out = (off.max(axis=0) >= STAYS * moved) | odd
    clearly = ((off >= profile.scatter) & (changed > 0)).any(axis=0) | odd
    if np.mean(was_out[known]) < MOSTLY or 2 * np.mean(clearly[known]) < 1:
        return False
    in_line = (np.abs(after) <= math.hypot(IN_LINE, 2 * profile.shared)).all(axis=0) & (fits_meant | ~odd)
    shared = max(abs(_middle(each)) for each in after)
    return bool(
        np.mean((in_line & was_out)[known]) > MOSTLY and shared <= max(STAYS * np.median(moved), 2 * profile.shared)
    )
