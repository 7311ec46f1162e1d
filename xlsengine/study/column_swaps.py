"""Two readings of one row that were typed into each other's columns."""

from __future__ import annotations

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag, label_of, to_type, typed
from xlsengine.study.judged_rows import BoolArray, JudgedRows
from xlsengine.study.outliers import FloatArray
from xlsengine.study.relatives import COARSE, THRUST_EXPONENT, Evidence, current_evidence, speed_misfit, voltage_misfit
from xlsengine.study.swap_checks import CLEAR


def column_swaps(case: Case) -> list[Flag]:
    """Flag rows whose volts and amps, or thrust and speed, fit the others once exchanged, and not as typed."""
    rows = case.rows
    found = [(int(at), "voltage", "current") for at in np.flatnonzero(_volts_and_amps(case))]
    found += [(int(at), "thrust", "speed") for at in np.flatnonzero(_thrust_and_speed(case))]
    return [_flag(rows, at, one, other) for at, one, other in found]


def _volts_and_amps(case: Case) -> BoolArray:
    """Tell in which rows volts per cell are odd, and both volts and amps come near their relatives once exchanged.

    Where volts per cell are flagged alone already, it is enough that the volts come near and the amps do not speak against.
    The line of current against thrust cannot tell: it goes by the power, which stays the same.
    """
    rows = case.rows
    volts, amps = voltage_misfit(rows), current_evidence(rows, case.limits.slip)
    step = np.log(rows.current / rows.voltage)
    beyond = ~_plausible(case, rows.voltage)
    left = np.abs(volts + step)
    cleared = left + np.abs(amps.misfit - step) <= CLEAR * (np.abs(volts) + np.abs(amps.misfit))
    volts_cleared = beyond & (left <= CLEAR * np.abs(volts)) & _amps_allow(amps, step)
    odd = beyond | (np.abs(volts) > case.limits.slip)
    return np.asarray(_plausible(case, rows.current) & (odd & cleared | volts_cleared))


def _amps_allow(amps: Evidence, step: FloatArray) -> BoolArray:
    """Tell where exchanged amps come no farther from near relatives, or stay within what is expected of coarse ones.

    Other propellers draw other currents: they cannot tell apart two readings as alike as volts and amps near each other.
    """
    left = np.abs(amps.misfit - step)
    return np.asarray((left <= np.abs(amps.misfit)) | ((amps.tolerance >= COARSE) & (left <= COARSE)))


def _plausible(case: Case, volts: FloatArray) -> BoolArray:
    per_cell = volts / case.rows.cells
    return np.asarray((per_cell >= case.limits.cell_voltage_low) & (per_cell <= case.limits.cell_voltage_high))


def _thrust_and_speed(case: Case) -> BoolArray:
    """Tell in which rows thrust fits neither current nor speed, and fits both once exchanged with the speed."""
    rows, slip = case.rows, case.limits.slip
    speed = speed_misfit(rows)
    exchanged = speed + (1 + 1 / THRUST_EXPONENT) * np.log(rows.thrust / rows.speed)
    odd = (case.line.excess(rows.thrust, rows.current) > 1) & (np.abs(speed) > slip)
    return np.asarray(odd & (case.line.excess(rows.speed, rows.current) <= 1) & (np.abs(exchanged) <= slip))


def _flag(rows: JudgedRows, at: int, one: str, other: str) -> Flag:
    first, second = rows.reading(one)[at], rows.reading(other)[at]
    columns, exchanged = (one, other), (second, first)
    fixed, to_be_typed = (" and ".join(map(words, exchanged, columns)) for words in (typed, to_type))
    return Flag(
        f"{label_of(one).capitalize()} and {label_of(other)} exchanged",
        int(rows.number[at]),
        one,
        f"{typed(first, one)} and {typed(second, other)}",
        f"{fixed}, which fit the other readings",
        "Two figures of this reading were typed into each other's columns.",
        f"If your bench notes agree, type {to_be_typed}.",
        Severity.DOUBTFUL,
    )
