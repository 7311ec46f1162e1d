"""Blocks of readings typed in one wrong way: with another cell count, volts per cell, another unit, volts and amps exchanged.

Each rule says what the rows as typed were meant to be; the rest is asked of all of them alike (see `blocks`).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from xlsengine.bench.judging.plain_checks import IN_GRAMS, Severity
from xlsengine.study.blocks import (
    FEWEST,
    FEWEST_BACKED,
    TOO_HIGH,
    TOO_LOW,
    USUAL_PER_CELL,
    Meant,
    as_typed,
    block_flags,
    is_backed,
    is_block,
    misfits_elsewhere,
    named,
    parts,
    span,
)
from xlsengine.study.case import Case
from xlsengine.study.dragged_checks import dragged_counts
from xlsengine.study.flags import Flag, to_type, typed
from xlsengine.study.judged_rows import BoolArray, IntArray
from xlsengine.study.one_count import wrong_count
from xlsengine.study.outliers import FloatArray

MOST_CELLS = 14
LEAST_USUAL = 3.4
"""Below this a pack is nearly empty, and its volts are nobody's usual ones (common practice, no source)."""

LEAST_GAP, APART = 1.08, math.log(1.1)
"""Rows of a wrong cell count lie apart from the others by at least this factor, and from the usual volts per cell by as much
as this logarithm: a weak pack goes there by and by."""

USUAL_EFFICIENCY = 0.42
"""Overall static efficiency in the middle of the usual ones, 0.25 to 0.65."""

UNITS = {**IN_GRAMS, "kilograms": 1e3}
SYMBOLS = {"newtons": "N", "ounces": "oz", "pounds": "lb", "kilograms": "kg"}

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


# --- volts per cell in the place of the pack's -------------------------------------------------------------------


def volts_per_cell(case: Case) -> list[Flag]:
    """Flag rows whose volts are those of one cell, where times the cell count they are usual for their propeller."""
    rows, limits = case.rows, case.limits
    alone = replace(as_typed(rows), cells=np.ones(rows.size))
    at = np.flatnonzero(alone.fits_cells(case) & (rows.voltage / rows.cells < limits.cell_voltage_low))
    if not at.size:
        return []
    meant = replace(as_typed(rows), voltage=rows.voltage * rows.cells)
    misfits = misfits_elsewhere(case, meant, at, as_typed(rows).fits_cells(case))
    at, misfits = at[~(misfits > 1)], misfits[~(misfits > 1)]
    backed = is_backed(misfits)
    if not at.size or not (backed or _gains_sense(case, meant, at)):
        return []
    first = int(at[0])
    single = to_type(round(rows.voltage[first] * rows.cells[first], 2), "voltage")
    found = f"{span(rows.voltage[at], 2)} V in {named(rows, at)}"
    return block_flags(
        rows,
        at,
        "Voltage looks like volts per cell",
        "voltage",
        typed(rows.voltage[first], "voltage") if at.size == 1 else found,
        f"near {single}" if at.size == 1 else f"volts of the whole pack, {span(meant.voltage[at], 2)} V",
        "The meter shows the volts of one cell: times Cells they fit the other readings."
        if backed
        else "The meter shows the volts of one cell: times Cells thrust and power fit each other.",
        (
            f"If your bench notes agree, type {single}."
            if at.size == 1
            else "Type the volts of the whole pack: Cells times as much."
        )
        + f" If they are the pack's, stop and measure it: {TOO_LOW}.",
        settles_volts=True,
    )


def _gains_sense(case: Case, meant: Meant, at: IntArray) -> bool:
    """Tell whether thrust is usual for the power as meant, and as typed too much for it in some rows: more than by chance."""
    return bool(is_block(at.size, None) and _share(meant.is_usual(case), at) >= 0.9 and _too_good(case, at) >= 0.25)


def _too_good(case: Case, at: IntArray) -> float:
    return float(np.mean(case.rows.hover_efficiency[at] > case.limits.efficiency_high))


def _share(held: BoolArray, at: IntArray) -> float:
    return float(np.mean(held[at])) if at.size else 0.0


# --- units of thrust ---------------------------------------------------------------------------------------------


def other_units(case: Case) -> list[Flag]:
    """Flag blocks whose thrusts are usual ones in another unit, and as typed far too small for their power."""
    rows = case.rows
    open_rows = (rows.point > 0) & (rows.hover_efficiency < case.limits.efficiency_low)
    found = _units(case, open_rows) if open_rows.any() else {}
    return [flag for unit, at in found.items() for flag in _unit_flags(case, unit, at)]


def _units(case: Case, tried: BoolArray) -> dict[str, IntArray]:
    """Return the blocks by their unit; of several that explain a row the one of the most usual efficiency."""
    rows, trusted = case.rows, case.sound & ~tried
    at = np.flatnonzero(tried)
    costs = np.full((len(UNITS), at.size), np.inf)
    for place, grams in enumerate(UNITS.values()):
        meant = replace(as_typed(rows), thrust=rows.thrust * grams)
        off = np.abs(np.log(meant.efficiency(case)[at] / USUAL_EFFICIENCY))
        misfits = misfits_elsewhere(case, meant, at, trusted)
        usual = meant.is_usual(case)[at] & ~(misfits > 1)
        costs[place, usual] = off[usual]
    best = np.argmin(costs, axis=0) if at.size else at
    known = np.isfinite(costs).any(axis=0)
    found = {}
    for place, (unit, grams) in enumerate(UNITS.items()):
        own = at[known & (best == place)]
        misfits = misfits_elsewhere(case, replace(as_typed(rows), thrust=rows.thrust * grams), own, trusted)
        if is_block(own.size, is_backed(misfits)):
            found[unit] = own
    return found


def _unit_flags(case: Case, unit: str, at: IntArray) -> list[Flag]:
    rows, symbol, grams = case.rows, SYMBOLS[unit], UNITS[unit]
    whole, first = at.size == rows.size, int(at[0])
    in_cell = f"{rows.thrust[first]:.10g} {symbol}"
    return block_flags(
        rows,
        at,
        f"Thrust perhaps in {unit}",
        "thrust",
        f"{span(rows.thrust[at], 2)} g in {'all readings' if whole else named(rows, at)}",
        f"grams; read as {unit} {span(rows.thrust[at] * grams, 0)} g, usual readings",
        f"The thrust stand showed {unit}.",
        f'Change the header to "Thrust ({symbol})" if all are in {unit}.'
        if whole
        else f'Type the grams, or the unit behind each number: "{in_cell}".',
    )


# --- volts and amps exchanged ------------------------------------------------------------------------------------


def exchanged_columns(case: Case) -> list[Flag]:
    """Flag the largest part of the table whose volts per cell can only be where volts and amps are exchanged."""
    rows = case.rows
    meant = replace(as_typed(rows), voltage=rows.current, current=rows.voltage)
    fits, turned = as_typed(rows).fits_cells(case), meant.fits_cells(case)
    for at in parts(rows) if (turned & ~fits).any() else ():
        if not turned[at].all() or _too_good(case, at) > 0.25 or 2 * np.count_nonzero(fits[at]) > at.size:
            continue
        others = case.sound & fits
        others[at] = False
        if is_block(at.size, is_backed(misfits_elsewhere(case, meant, at, others))):
            return _exchanged_flags(case, at, at.size == rows.size)
    return []


def _exchanged_flags(case: Case, at: IntArray, whole: bool) -> list[Flag]:
    rows = case.rows
    where = "all readings" if whole else named(rows, at)
    volts, amps = (span(values[at], 2) for values in (rows.voltage, rows.current))
    return block_flags(
        rows,
        at,
        "Voltage and current exchanged",
        "voltage",
        f"{volts} V and {amps} A in {where}",
        f"{amps} V and {volts} A: {span((rows.current / rows.cells)[at], 2)} V a cell",
        "Volts and amps stand in each other's column.",
        (
            "Exchange the two headers."
            if whole
            else "If your bench notes agree, exchange volts and amps of these readings."
        )
        + f" If they are right, stop and measure the pack: {TOO_HIGH}.",
        settles_volts=True,
    )


BLOCK_CHECKS: tuple[Callable[[Case], list[Flag]], ...] = (
    dragged_counts,
    exchanged_columns,
    volts_per_cell,
    wrong_counts,
    wrong_count,
    other_units,
)
"""In their order: rows that one explains are left alone by the next."""
