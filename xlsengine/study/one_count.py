"""A cell count of one reading that another one explains: others there have its volts, its propeller its amps and grams."""

from __future__ import annotations

import math

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.blocks import TOO_HIGH, TOO_LOW, span
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag, typed
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows, display_step
from xlsengine.study.round_mistakes import LEAST_USUAL

SAME_VOLTS, SAME = math.log(1.06), math.log(1.05)
"""Readings of one pack and propeller are nearer than this: volts, and thrust and amps at equal volts."""

ACROSS = math.log(1.25)
"""Thrust and amps of a propeller at equal volts, on whatever cell count, are nearer than this."""

APART = math.log(1.12)
"""Volts lie as far from the others of the count that was typed: those of a pack that empties come near by and by."""


def wrong_count(case: Case) -> list[Flag]:
    """Flag a reading whose volts are far from all others of its cell count, and are usual ones of another count."""
    flags = []
    for at in np.flatnonzero(_volts_apart(case.rows)).tolist():
        alike = _of_like_volts(case, at)
        twins = alike & _near(case, at, SAME) & _same_point(case.rows, at)
        if twins.any():
            flags.append(_flag(case, at, np.flatnonzero(twins)[:1], Severity.IMPOSSIBLE))
        elif np.count_nonzero(alike) > 1 and _unusual(case, at) and _goes_with_its_own(case, at):
            flags.append(_flag(case, at, np.flatnonzero(alike), Severity.DOUBTFUL))
    return flags


def _volts_apart(rows: JudgedRows) -> BoolArray:
    """Tell in which rows the volts lie far from those of all others on the cell count."""
    volts = np.log(rows.voltage)
    order = np.lexsort((volts, rows.cells))
    far = (np.diff(volts[order]) > APART) | (np.diff(rows.cells[order]) != 0)
    apart = np.empty(rows.size, dtype=bool)
    apart[order] = np.append(True, far) & np.append(far, True)
    return apart


def _of_like_volts(case: Case, at: int) -> BoolArray:
    """Tell which readings on other cell counts have the volts of a reading, where a cell of those counts can have them."""
    rows = case.rows
    per_cell = rows.voltage[at] / rows.cells
    can_be = (per_cell >= case.limits.cell_voltage_low) & (per_cell <= case.limits.cell_voltage_top)
    like = np.abs(np.log(rows.voltage / rows.voltage[at])) <= SAME_VOLTS
    return np.asarray(can_be & like & (rows.cells != rows.cells[at]))


def _near(case: Case, at: int, limit: float) -> BoolArray:
    """Tell which readings have the thrust and amps of one, at equal volts."""
    rows, near = case.rows, np.ones(case.rows.size, dtype=bool)
    for read in (rows.thrust, rows.current):
        level = np.log(read) - case.limits.volts_power * np.log(rows.voltage)
        near &= np.abs(level - level[at]) <= limit + display_step(read) / read[at]
    return near


def _same_point(rows: JudgedRows, at: int) -> BoolArray:
    """Tell which readings are of the propeller, throttle and kind of one."""
    same = (rows.prop == rows.prop[at]) & (rows.throttle == rows.throttle[at]) & (rows.peak == rows.peak[at])
    return np.asarray(same)


def _unusual(case: Case, at: int) -> bool:
    """Tell whether volts per cell as typed are those of no pack that is in order."""
    per_cell = case.rows.voltage[at] / case.rows.cells[at]
    return not LEAST_USUAL <= per_cell <= case.limits.cell_voltage_top


def _goes_with_its_own(case: Case, at: int) -> bool:
    """Tell whether the propeller's other readings, if there are any, have such thrust and amps at equal volts."""
    others = _same_point(case.rows, at) & (np.arange(case.rows.size) != at)
    return bool(_near(case, at, ACROSS)[others].all())


def _flag(case: Case, at: int, alike: IntArray, severity: Severity) -> Flag:
    rows, meant = case.rows, case.rows.cells[alike[0]]
    where = f"as in {rows.name(int(alike[0]))}" if alike.size == 1 else "as others with such volts"
    return rows.flag(
        at,
        "Cells of another reading",
        "cells",
        f"{rows.cells[at]:.0f} with {typed(rows.voltage[at], 'voltage')}, {rows.read(at)}",
        f"{meant:.0f}, {where}: {span(rows.voltage[at : at + 1] / meant, 2)} V a cell",
        "A cell count typed wrong: volts, amps and thrust are those of the other count.",
        f"If your bench notes agree, type {meant:.0f}. If not, {case.limits.stop(_why_to_stop(case, at))}.",
        severity=severity,
        also=alike[:1],
        settles_volts=True,
    )


def _why_to_stop(case: Case, at: int) -> str:
    is_low = case.rows.voltage[at] / case.rows.cells[at] < LEAST_USUAL
    return TOO_LOW if is_low else TOO_HIGH
