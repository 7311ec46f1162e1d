"""Cell counts that count up row by row, as a spreadsheet makes them when a cell is dragged down."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from xlsengine.study.blocks import USUAL_PER_CELL, block_flags, named, span
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag
from xlsengine.study.judged_rows import IntArray

FEWEST_DRAGGED = 4
"""Rows that count up: nobody tests so many packs of one volts."""

VOLTS_APART = 1.15
"""Largest over smallest volts of one pack in that many readings (common practice, no source)."""


def dragged_counts(case: Case) -> list[Flag]:
    """Flag cell counts that go up by one from row to row while the volts stay those of one pack; not that which fits."""
    return [flag for at in _counting_up(case) for flag in _flags(case, at)]


def _counting_up(case: Case) -> Iterator[IntArray]:
    rows = case.rows
    steps = (np.diff(rows.number) == 1) & (np.diff(rows.cells) == 1)
    steps &= np.abs(np.diff(np.log(rows.voltage))) <= np.log(VOLTS_APART)
    for part in np.split(np.arange(rows.size), np.flatnonzero(~steps) + 1):
        if part.size >= FEWEST_DRAGGED and np.max(rows.voltage[part]) <= VOLTS_APART * np.min(rows.voltage[part]):
            yield part


def _flags(case: Case, at: IntArray) -> list[Flag]:
    rows, volts = case.rows, case.rows.voltage[at]
    meant = max(1.0, np.rint(np.median(volts) / USUAL_PER_CELL))
    per_cell = volts / meant
    if per_cell.min() < case.limits.cell_voltage_low or per_cell.max() > case.limits.cell_voltage_top:
        return []
    wrong = at[rows.cells[at] != meant]
    return block_flags(
        rows,
        wrong,
        "Cells count up",
        "cells",
        f"{rows.cells[at[0]]:.0f} to {rows.cells[at[-1]]:.0f} in {named(rows, at)}, at {span(volts, 2)} V",
        f"{meant:.0f} in each: {span(per_cell, 2)} V a cell",
        "A spreadsheet counts on when a cell is dragged down.",
        f"If your bench notes agree, type {meant:.0f} in each of them.",
        settles_volts=True,
    )
