"""Volts that were not read under load: they stay while the amps do not.

Limits that name no source are chosen on simulated benches (tests/study/round_benches.py), so that sound ones are left alone.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.blocks import block_flags, named, parts
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag
from xlsengine.study.judged_rows import IntArray, JudgedRows, counts_by, display_step, labels_of

FEWEST = 3
"""Readings of the same volts from which on what they share is no chance."""

CHARGED, LABELLED = (4.2, 4.35), (3.7, 3.85)
"""V a cell: what chargers and labels say, of ordinary and of high-voltage cells."""

AMPS_APART = 1.5
"""Factor between the least and the most amps from which on a pack's volts differ."""

USUAL_OHMS = 0.004
"""Resistance of pack and leads, for each cell (common practice, no source: 2 to 8 mΩ)."""

STEPS, STEPS_LABELLED, STEPS_CHARGED = 3.0, 1.0, 0.5
"""Steps of the display by which the volts would fall; where they are those of a label; and of a full pack at rest."""


def flat_volts(case: Case) -> list[Flag]:
    """Flag the readings of a cell count, or of a round, whose volts stay while their amps do not: a pack gives less."""
    rows, flags = case.rows, list[Flag]()
    told = np.zeros(rows.size, dtype=bool)
    for at in _same_volts(case):
        if not told[at].any():
            told[at] = True
            flags += _flat_flags(rows, at)
    return flags


def _same_volts(case: Case) -> Iterator[IntArray]:
    """Yield the parts of the table, on one cell count, whose volts are the same though they would fall."""
    rows, step = case.rows, display_step(case.rows.voltage)
    if not (case.limits.is_pack and rows.size and counts_by(labels_of(rows.cells, rows.voltage)).max() >= FEWEST):
        return
    for part in parts(rows):
        at = part[~rows.impossible[part]]
        volts, amps = rows.voltage[at], rows.current[at]
        if at.size < FEWEST or np.ptp(volts) > 0 or np.ptp(rows.cells[at]) > 0:
            continue
        fall = USUAL_OHMS * rows.cells[at[0]] * np.ptp(amps)
        if amps.max() >= AMPS_APART * amps.min() and fall >= _steps(volts[0] / rows.cells[at[0]]) * step:
            yield at


def _steps(per_cell: float) -> float:
    """Return how many steps of the display the volts would have to fall, to be doubted."""
    for known, steps in ((CHARGED, STEPS_CHARGED), (LABELLED, STEPS_LABELLED)):
        if np.isclose(per_cell, known, atol=0.0005).any():
            return steps
    return STEPS


def _flat_flags(rows: JudgedRows, at: IntArray) -> list[Flag]:
    volts, amps = rows.voltage[at[0]], rows.current[at]
    return block_flags(
        rows,
        at,
        "Volts do not fall under load",
        "voltage",
        f"{volts:.10g} V at {amps.min():.10g} A and at {amps.max():.10g} A, in {named(rows, at)} on {rows.cells[at[0]]:.0f}S",
        f"fewer volts with more amps: of a pack, some {_fall(rows, at)} V less",
        "The volts are the charger's, the label's or those before the runs.",
        "If your bench notes have the volts under load, type them; otherwise repeat some points, volts read with amps. "
        "If a bench supply gave them, say so on Bench (Supply).",
        severity=Severity.DOUBTFUL,
    )


def _fall(rows: JudgedRows, at: IntArray) -> str:
    return f"{USUAL_OHMS * rows.cells[at[0]] * np.ptp(rows.current[at]):.1g}"
