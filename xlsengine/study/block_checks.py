"""Blocks of readings typed in one wrong way: with another cell count, volts per cell, another unit, volts and amps exchanged.

Each rule says what the rows as typed were meant to be; the rest is asked of all of them alike (see `blocks`).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from xlsengine.bench.judging.plain_checks import Severity
from xlsengine.study.blocks import (
    FEWEST,
    FEWEST_BACKED,
    USUAL_PER_CELL,
    as_typed,
    block_flags,
    is_backed,
    is_block,
    misfits_elsewhere,
    named,
    span,
)
from xlsengine.study.case import Case
from xlsengine.study.dragged_checks import dragged_counts
from xlsengine.study.flags import Flag
from xlsengine.study.judged_rows import BoolArray, IntArray
from xlsengine.study.outliers import FloatArray
from xlsengine.study.round_words import TOO_HIGH, TOO_LOW, round_mistakes

MOST_CELLS = 14
LEAST_USUAL = 3.4
"""Below this a pack is nearly empty, and its volts are nobody's usual ones (common practice, no source)."""

LEAST_GAP, APART = 1.08, math.log(1.1)
"""Rows of a wrong cell count lie apart from the others by at least this factor, and from the usual volts per cell by as much
as this logarithm: a weak pack goes there by and by."""

# --- cell counts -------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Count:
    """Rows typed with one cell count that were meant to have another, and whether other readings say so too.

    `can_be` where the typed count gives volts that a nearly empty pack has.
    """

    at: IntArray
    typed: float
    meant: float
    backed: bool | None
    can_be: bool = False


def wrong_counts(case: Case) -> list[Flag]:
    """Flag blocks whose volts per cell cannot be, and are usual ones with another cell count."""
    found = _counts(case)
    found += [partner for count in found for partner in _partners(case, count, found)]
    found += _nearly_empty(case, found)
    flags: list[Flag] = []
    for count in found:
        pair = next((each for each in found if (each.typed, each.meant) == (count.meant, count.typed)), None)
        if pair is None or pair.can_be or count.can_be:
            flags += _count_flags(case, count)
        elif count.typed < count.meant:
            flags += _exchanged_counts(case, count, pair)
    return flags


def _counts(case: Case) -> list[_Count]:
    """Return the blocks whose volts per cell cannot be."""
    rows, limits = case.rows, case.limits
    per_cell, fits = rows.voltage / rows.cells, as_typed(rows).fits_cells(case)
    low = (per_cell < limits.cell_voltage_low) & limits.sags
    found = []
    for count in np.unique(rows.cells[~fits]).tolist():
        own = rows.cells == count
        for beyond in (own & (per_cell > limits.cell_voltage_most), own & low):
            block = _count(case, np.flatnonzero(beyond), fits)
            if block is not None and _lies_apart(per_cell[block.at], per_cell[own & fits]):
                found.append(block)
    return found


def _count(case: Case, at: IntArray, sound: BoolArray) -> _Count | None:
    """Return the rows that another cell count explains, where they are a block."""
    rows = case.rows
    if at.size < FEWEST_BACKED:
        return None
    meant, fits = _likeliest(case, rows.voltage[at], _usual_per_cell(case, sound))
    own = at[fits]
    backed = _backed(case, own, meant, sound)
    return _Count(own, float(rows.cells[at[0]]), meant, backed) if is_block(own.size, backed) else None


def _usual_per_cell(case: Case, sound: BoolArray) -> float:
    """Return the volts per cell of the sound rows; what any pack has where there are none, or these are nearly empty."""
    found = float(np.median((case.rows.voltage / case.rows.cells)[sound])) if sound.any() else 0.0
    return found if found > LEAST_USUAL else USUAL_PER_CELL


def _likeliest(case: Case, volts: FloatArray, usual: float) -> tuple[float, BoolArray]:
    """Return the count that fits most volts, and which; of several one that was typed, the nearest to the usual volts."""
    counts = np.arange(1.0, MOST_CELLS + 1)
    per_cell = volts / counts[:, None]
    fits = (per_cell >= case.limits.cell_voltage_low) & (per_cell <= case.limits.cell_voltage_top)
    off = np.abs(np.log(np.median(per_cell, axis=1) / usual))
    meant = int(np.lexsort((off, ~np.isin(counts, case.rows.cells), -fits.sum(axis=1)))[0])
    return float(counts[meant]), fits[meant]


def _backed(case: Case, at: IntArray, meant: float, sound: BoolArray) -> bool | None:
    """Tell whether rows read what their propellers read on the cell count that was meant; None where these read nothing."""
    rows = case.rows
    read = replace(as_typed(rows), cells=np.full(rows.size, meant))
    return is_backed(misfits_elsewhere(case, read, at, sound & (rows.cells == meant)))


def _lies_apart(block: FloatArray, others: FloatArray) -> bool:
    """Tell whether the volts per cell of a block lie apart from others of its cell count."""
    if not others.size:
        return True
    return bool(others.min() >= LEAST_GAP * block.max() or block.min() >= LEAST_GAP * others.max())


def _partners(case: Case, count: _Count, found: list[_Count]) -> list[_Count]:
    """Return the block that has the count another one was meant to have, where both have like volts per cell exchanged."""
    rows = case.rows
    taken = np.isin(np.arange(rows.size), np.concatenate([each.at for each in found]))
    at = np.flatnonzero((rows.cells == count.meant) & ~taken)
    usual = float(np.median(rows.voltage[count.at] / count.meant))
    if at.size < FEWEST or not _turns_usual(rows.voltage[at], count.meant, count.typed, usual):
        return []
    return [_Count(at, count.meant, count.typed, None)]


def _turns_usual(volts: FloatArray, has: float, meant: float, usual: float) -> bool:
    """Tell whether volts lie apart from the usual ones a cell with the count they have, and near them with another."""
    off_typed, off_meant = np.log(volts / has / usual), np.log(volts / meant / usual)
    return bool((np.abs(off_typed) > APART).all() and (np.abs(off_meant) < APART).all())


def _nearly_empty(case: Case, found: list[_Count]) -> list[_Count]:
    """Return blocks with the volts of a nearly empty pack, which are usual ones of a smaller pack."""
    rows = case.rows
    per_cell, open_rows = rows.voltage / rows.cells, rows.voltage / rows.cells <= case.limits.cell_voltage_top
    open_rows[np.concatenate([each.at for each in found]) if found else []] = False
    sound = open_rows & as_typed(rows).fits_cells(case)
    if not (case.limits.sags and sound.any()):
        return []
    usual, blocks = _usual_per_cell(case, sound), []
    for count in np.unique(rows.cells[open_rows]).tolist():
        own = open_rows & (rows.cells == count)
        at = np.flatnonzero(own & (per_cell < usual / np.exp(APART)))
        rest = own.copy()
        rest[at] = False
        meant, fits = (
            _likeliest(case, rows.voltage[at], usual) if at.size >= FEWEST else (count, np.zeros(0, dtype=bool))
        )
        if meant < count and fits.all() and _turns_usual(rows.voltage[at], count, meant, usual):
            trusted = sound & (per_cell >= usual / np.exp(APART))
            backed = _backed(case, at, meant, trusted)
            is_flat = 2 * np.count_nonzero(per_cell[at] < case.limits.cell_voltage_low) >= at.size
            told = backed or (backed is None and is_flat)
            if told and _lies_apart(per_cell[at], per_cell[rest]):
                blocks.append(_Count(at, count, meant, backed, can_be=True))
    return blocks


def _count_flags(case: Case, count: _Count) -> list[Flag]:
    rows, at = case.rows, count.at
    meant, has, volts = f"{count.meant:.0f}", f"{count.typed:.0f}", rows.voltage[at]
    backed = f", and thrust and amps as on {meant}S" if count.backed else ""
    stop = TOO_HIGH if count.meant > count.typed else TOO_LOW
    severity = Severity.DOUBTFUL if count.can_be else Severity.IMPOSSIBLE
    return block_flags(
        rows,
        at,
        f"Cells perhaps {meant}",
        "cells",
        f"{has} in {named(rows, at)}: {span(volts / count.typed, 2)} V a cell",
        f"{meant}: {span(volts / count.meant, 2)} V a cell{backed}",
        "The cell count of another pack was typed, or copied, for all of them.",
        f"Check Cells first: if the pack had {meant}, type {meant}. If it had {has}, stop and measure the pack: {stop}.",
        severity=severity,
        settles_volts=True,
    )


def _exchanged_counts(case: Case, low: _Count, high: _Count) -> list[Flag]:
    """Flag two blocks of which each has the cell count of the other."""
    rows, one, other = case.rows, f"{low.typed:.0f}", f"{high.typed:.0f}"
    both = np.concatenate([low.at, high.at])
    turned = np.where(rows.cells[both] == low.typed, high.typed, low.typed)
    as_typed_to, meant_to = (span(rows.voltage[both] / cells, 2) for cells in (rows.cells[both], turned))
    return block_flags(
        rows,
        both,
        f"Cells {one} and {other} exchanged",
        "cells",
        f"{one} in {named(rows, low.at)}, {other} in {named(rows, high.at)}: {as_typed_to} V a cell",
        f"exchanged: {meant_to} V a cell",
        "The cell counts of two packs changed places.",
        f"Check Cells first: if your bench notes agree, type {other} for {one} and {one} for {other}. If they are right, "
        f"stop and measure the packs: {TOO_HIGH}, and {TOO_LOW}.",
        settles_volts=True,
    )


BLOCK_CHECKS: tuple[Callable[[Case], list[Flag]], ...] = (
    dragged_counts,
    round_mistakes,
    wrong_counts,
    round_mistakes,
)
"""In their order: rows that one explains are left alone by the next."""
