"""Readings whose decimal point slipped by one place: they fit the others once shifted by ten, and not as typed."""

import math
from collections.abc import Iterator

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import IDEAL_SLOPE, Case
from xlsengine.study.flags import Flag, label_of, to_type, typed
from xlsengine.study.judged_rows import BoolArray, JudgedRows, display_step
from xlsengine.study.outliers import FloatArray
from xlsengine.study.relatives import (
    coarse_speed_misfit,
    current_evidence,
    speed_misfit,
    thrust_evidence,
    voltage_misfit,
)

SHIFTS = (0.1, 10.0)
USUAL_SPEED_RATIO = 0.75
"""Speed over Kv times volts of a loaded motor at full throttle, 0.60 to 0.85 (common practice, no source)."""

Shift = tuple[str, float]


def decimal_slips(case: Case) -> list[Flag]:
    """Flag rows with a slipped decimal point in thrust, current, voltage or speed."""
    rows, slip = case.rows, case.limits.slip
    voltage = _slipped_alone(voltage_misfit(rows), slip)
    found = list(_on_the_line(case, ~np.logical_or(*voltage)))
    sure = {at for at, shifts, backed in found if backed and len(shifts) == 1}
    slips = [(at, shifts) for at, shifts, _ in found]
    in_line = case.line.excess(rows.thrust, rows.current) <= 1  # else no slip in the speed explains the row
    speed = _slipped_alone(_speed_misfit(case), slip) & (in_line | np.logical_or(*voltage))
    for column, slipped in (("voltage", voltage), ("speed", speed)):
        slips += [(int(at), [(column, SHIFTS[shift])]) for shift, at in zip(*np.nonzero(slipped), strict=True)]
    return [_flag(rows, at, shifts, at in sure) for at, shifts in slips if not case.doubted[at]]


def _slipped_alone(misfit: FloatArray, tolerance: float) -> BoolArray:
    """Tell for each shift and row whether a reading fits when shifted, and not as typed."""
    shifted = np.stack([np.abs(misfit + math.log(shift)) <= tolerance for shift in SHIFTS])
    return np.asarray(shifted & (np.abs(misfit) > tolerance))


def _speed_misfit(case: Case) -> FloatArray:
    """Return the misfit of each speed: with its propeller's thrust, else with all propellers', else with Kv."""
    rows = case.rows
    by_kv = np.where(rows.point > 0, np.log(rows.speed / (USUAL_SPEED_RATIO * case.limits.kv * rows.voltage)), np.nan)
    near, coarse = speed_misfit(rows), coarse_speed_misfit(rows)
    return np.where(np.isnan(near), np.where(np.isnan(coarse), by_kv, coarse), near)


def _on_the_line(case: Case, allowed: BoolArray) -> Iterator[tuple[int, list[Shift], bool]]:
    """Yield rows that fit the line of current against thrust once one of the two is shifted, by what, and if backed.

    A shift of a reading that agrees with its relatives is none, nor one that near relatives speak against: ounces lie on
    the line too once multiplied by ten. Where the line allows much, as at its low end, the relatives must back a shift.
    """
    rows, line, slip = case.rows, case.line, case.limits.slip
    suspects = np.abs(line.misfit(rows.thrust, rows.current)) > slip
    out = line.excess(rows.thrust, rows.current) > 1
    evidence = {"thrust": thrust_evidence(rows, slip), "current": current_evidence(rows, slip)}
    steps = {column: display_step(rows.reading(column)) for column in evidence}
    for at in np.flatnonzero(suspects & allowed).tolist():
        shifts = [
            (column, times)
            for column, times in _fitting(case, at, steps)
            if not evidence[column].fits()[at]
            and evidence[column].allows(times)[at]
            and _can_be(case, at, column, times)
        ]
        backed = any(evidence[column].fits(times)[at] for column, times in shifts)
        if backed or (shifts and out[at]):
            yield at, shifts, backed


def _can_be(case: Case, at: int, column: str, times: float) -> bool:
    """Tell whether a reading that is shifted is one that any propeller can have: of two rounds one is then the right one."""
    efficiency = case.rows.hover_efficiency[at] * (times**IDEAL_SLOPE if column == "thrust" else 1 / times)
    too_poor = case.rows.point[at] > 0 and efficiency < case.limits.efficiency_least
    return not (efficiency > 1 or too_poor)


def _fitting(case: Case, at: int, steps: dict[str, float]) -> list[Shift]:
    """Return the shifts of thrust and of current that bring a row to the line: the nearer way of each.

    None that leaves less than the display's step: what was read was more.
    """
    row, line = slice(at, at + 1), case.line.at(slice(at, at + 1))
    readings = {"thrust": case.rows.thrust[row], "current": case.rows.current[row]}
    fitting: list[Shift] = []
    for column, values in readings.items():
        shown = [times for times in SHIFTS if values[0] * times >= steps[column]] or [SHIFTS[1]]
        misfit, times = min((abs(line.misfit(**readings | {column: values * times})[0]), times) for times in shown)
        if misfit <= case.limits.slip or line.excess(**readings | {column: values * times})[0] <= 1:
            fitting.append((column, times))
    return fitting


def _flag(rows: JudgedRows, at: int, shifts: list[Shift], sure: bool) -> Flag:
    """Say what slipped; what other readings of the propeller, or of others, tell beside the line is as good as certain."""
    words = " or ".join(label_of(column) for column, _ in shifts)
    moved = " or ".join(dict.fromkeys("multiplied" if times > 1 else "divided" for _, times in shifts))
    shifted, to_be_typed = (
        " or ".join(words(rows.reading(column)[at] * times, column) for column, times in shifts)
        for words in (typed, to_type)
    )
    return rows.flag(
        at,
        f"Decimal slip in {words}",
        shifts[0][0],
        " and ".join(typed(rows.reading(column)[at], column) for column, _ in shifts),
        f"near {shifted}",
        f"The decimal point is one place off: {moved} by ten, the value fits the other readings.",
        f"If your bench notes agree, type {to_be_typed}.",
        severity=Severity.IMPOSSIBLE if sure or rows.impossible[at] else Severity.DOUBTFUL,
    )
