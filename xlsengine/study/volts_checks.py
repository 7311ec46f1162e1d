"""Checks of volts: those that do not fall under load, and those that are not those of their amps and thrust.

A freshly charged pack gives more volts, but with them amps and thrust rise, as the volts to a power of about 1.6; on one that
empties they fall. Volts that were read at rest, or misread, do not move them.
Limits that name no source are chosen on simulated benches (tests/study/round_benches.py), so that sound ones are left alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import Case, IntArray, JudgedRows, counts_by, display_step, labels_of, medians_by
from xlsengine.study.flags import Flag, about
from xlsengine.study.lines import Lines
from xlsengine.study.relations import USUAL_OHMS, Bench, along, pack_volts
from xlsengine.study.trials import parts

FEWEST = 3
"""Readings of the same volts from which on what they share is no chance."""

CHARGED, LABELLED = (4.2, 4.35), (3.7, 3.85)
"""V a cell: what chargers and labels say, of ordinary and of high-voltage cells."""

AT_REST = 4.1
"""V a cell from which on volts that stay are asked about where Bench names no supply: few supplies are set to as many."""

AMPS_APART = 1.5
"""Factor between the least and the most amps from which on a pack's volts differ."""

STEPS, STEPS_LABELLED, STEPS_CHARGED = 3.0, 1.0, 0.5
"""Steps of the display by which the volts would fall; where they are those of a label; and of a full pack at rest."""

FARTHER, SPREADS = math.log(1.025), 1.6
"""Volts this far off those of the pack's other readings may not be those under load; and by so many spreads."""

LACKING = 0.035
"""What thrust and amps then lack or have too much at least, as logarithms, their mean; and so many spreads."""

HALF = 0.5
"""Each of them has to lack this share of what the volts would give."""

AS_AT_REST = 0.8
"""Volts that are too many by this share of what the pack's other readings have lost were perhaps read at rest."""


def flat_volts(case: Case) -> list[Flag]:
    """Flag the readings of a cell count, or of a round, whose volts stay while their amps do not: a pack gives less."""
    rows, flags = case.rows, list[Flag]()
    told = np.zeros(rows.size, dtype=bool)
    for at in _same_volts(case):
        if not told[at].any():
            told[at] = True
            flags += _flat_flags(case, at)
    return flags


def _same_volts(case: Case) -> Iterator[IntArray]:
    """Yield the parts of the table, on one cell count, whose volts are the same though they would fall."""
    rows, step = case.rows, display_step(case.rows.voltage)
    if not (case.limits.sags and rows.size and counts_by(labels_of(rows.cells, rows.voltage)).max() >= FEWEST):
        return
    for part in parts(rows):
        at = part[~rows.impossible[part]]
        volts, amps = rows.voltage[at], rows.current[at]
        if at.size < FEWEST or np.ptp(volts) > 0 or np.ptp(rows.cells[at]) > 0:
            continue
        if not (case.limits.is_pack or volts[0] >= AT_REST * rows.cells[at[0]]):
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


def _flat_flags(case: Case, at: IntArray) -> list[Flag]:
    rows = case.rows
    volts, amps = rows.voltage[at[0]], rows.current[at]
    return rows.flags(
        at,
        "Volts do not fall under load",
        "voltage",
        f"{volts:.10g} V at {amps.min():.10g} A and at {amps.max():.10g} A, in {rows.named(at)} on {rows.cells[at[0]]:.0f}S",
        f"fewer volts with more amps: of a pack, some {_fall(rows, at)} V less",
        "The volts are the charger's, the label's or those before the runs.",
        "If your bench notes have the volts under load, type them; otherwise repeat some points, volts read with amps. "
        "If a bench supply gave them, say so on Bench (Supply).",
        severity=Severity.DOUBTFUL if case.limits.is_pack else Severity.NOTE,
    )


def _fall(rows: JudgedRows, at: IntArray) -> str:
    return f"{USUAL_OHMS * rows.cells[at[0]] * np.ptp(rows.current[at]):.1g}"


# --- volts that are not those of their amps and thrust -------------------------------------------------------------


def rest_volts(case: Case) -> list[Flag]:
    """Flag readings at full throttle whose volts do not go with the pack's other readings, nor amps and thrust with them."""
    rows, score = case.rows, case.limits.score
    kept = case.sound & (rows.voltage / rows.cells >= case.limits.cell_voltage_low)
    if not (kept & (rows.point > 0)).any():
        return []
    bench = Bench(case)
    pack = pack_volts(bench, rows)
    lines = Lines(pack, kept)
    volts = lines.judged(FARTHER, score)
    least_volts = np.where((volts.misfit > 0) | (volts.others > 1), np.maximum(FARTHER, SPREADS * volts.spread), np.inf)
    off = kept & (rows.point > 0) & (np.abs(volts.misfit) >= least_volts)
    thrust, current = (
        Lines(along(bench, rows, column), kept & ~off).judged(FARTHER, score) for column in ("thrust", "current")
    )
    would_give = case.limits.volts_power * volts.misfit
    lacking = -np.stack([thrust.misfit, current.misfit]) * np.sign(would_give)
    least = np.maximum(LACKING, SPREADS * np.hypot(thrust.spread, current.spread) / math.sqrt(2))
    sag = medians_by(pack.label, -lines.figures().values[:, 0]) * pack.terms[0].values
    at_rest = (volts.misfit >= AS_AT_REST * sag) & (volts.others >= FEWEST) & case.limits.sags
    lack, half = lacking.mean(axis=0), HALF * np.abs(would_give)
    off &= ((lacking >= half).all(axis=0) & (lack >= least)) | (at_rest & (lack >= half))
    return [_rest_flag(rows, at, float(volts.misfit[at])) for at in np.flatnonzero(off).tolist()]


def _rest_flag(rows: JudgedRows, at: int, misfit: float) -> Flag:
    title, cause, fix = (
        (
            "Volts perhaps read at rest",
            "Volts were read before or after the run: amps and thrust did not rise with them, as they do on a fresh pack.",
            "If your bench notes agree, type the volts under load; otherwise repeat the point.",
        )
        if misfit > 0
        else (
            "Volts too low for that load",
            "A misread or mistyped display, or a weaker pack.",
            "If your bench notes agree, type the volts that were read; otherwise repeat the point.",
        )
    )
    expected = (
        f"{about(rows.voltage[at] * math.exp(-misfit), 'voltage')} under that load, as the other readings have it"
    )
    return rows.flag(
        at, title, "voltage", f"{rows.entry(at, 'voltage')} with {rows.entry(at, 'current')}", expected, cause, fix
    )
