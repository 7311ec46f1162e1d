"""Readings that changed places: of one column between neighbouring rows, or of one row between two columns."""

from collections.abc import Callable, Iterator

import numpy as np

from xlsengine.study.case import Case
from xlsengine.study.flags import Flag, label_of, to_type, typed
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows, counts_by, labels_of
from xlsengine.study.levels import APART
from xlsengine.study.outliers import FloatArray
from xlsengine.study.relatives import (
    COARSE,
    THRUST_EXPONENT,
    Evidence,
    current_evidence,
    speed_misfit,
    thrust_evidence,
    voltage_misfit,
)

SPEED_SHARE = 0.05
"""Misfit of speed with thrust that is usual (common practice, no source: 2 % and the steps of the displays)."""

CLEAR = 0.5
"""An exchange fixes something when the misfits left over are at most this share of those before."""


Found = tuple[float, int, tuple[str, ...]]
"""Minus how much misfit an exchange of two neighbours explains, the place of the upper one, the columns it may be."""


def swaps(case: Case) -> list[Flag]:
    """Flag both rows of neighbours that fit the others once their thrusts, currents, speeds or volts change places."""
    upper, flags, taken = np.flatnonzero(np.diff(case.rows.number) == 1), list[Flag](), set[int]()
    for _, at, columns in sorted(
        found for find in (_thrusts_or_currents, _speeds, _voltages) for found in find(case, upper)
    ):
        if not taken & {at, at + 1}:
            taken |= {at, at + 1}
            cells = ", or cell counts," if columns == ("voltage",) else ""
            cause = f"Two figures{cells} changed places between two readings: both fit the others once exchanged."
            flags += [exchanged(case.rows, columns, *pair, cause) for pair in ((at, at + 1), (at + 1, at))]
    return flags


def _fixed(
    upper: IntArray, excess: Callable[[IntArray, IntArray], FloatArray], clear: float = CLEAR
) -> tuple[BoolArray, FloatArray]:
    """Tell which exchanges bring both rows into line, one of which was out; and how much excess goes.

    `excess(here, there)` is that of the rows `here` with the readings of the rows `there`.
    """
    lower = upper + 1
    before, after = (
        np.stack([excess(upper, there), excess(lower, other)]) for there, other in ((upper, lower), (lower, upper))
    )
    fixed = (before > 1).any(axis=0) & (after <= 1).all(axis=0) & (after.sum(axis=0) <= clear * before.sum(axis=0))
    return fixed, (before - after).sum(axis=0)


def _thrusts_or_currents(case: Case, upper: IntArray) -> Iterator[Found]:
    """Find pairs that fit the line of current against thrust once exchanged, and tell which of the two it was."""
    rows, line, slip = case.rows, case.line, case.limits.slip
    by_thrust, explained = _fixed(upper, lambda a, b: line.at(a).excess(rows.thrust[b], rows.current[a]))
    by_current, _ = _fixed(upper, lambda a, b: line.at(a).excess(rows.thrust[a], rows.current[b]))
    repeated = counts_by(labels_of(rows.group, rows.throttle)) > 1
    thrust = _gain(upper, np.log(rows.thrust), thrust_evidence(rows, slip), repeated)
    current = _gain(upper, np.log(rows.current), current_evidence(rows, slip), repeated)
    for at in np.flatnonzero(by_thrust | by_current).tolist():
        candidates = {"thrust": (by_thrust[at], thrust[at]), "current": (by_current[at], current[at])}
        columns = _likeliest({name: gain for name, (fits, gain) in candidates.items() if fits})
        if columns:
            yield -abs(float(explained[at])), int(upper[at]), columns


def _gain(upper: IntArray, values: FloatArray, evidence: Evidence, repeated: BoolArray) -> FloatArray:
    """Return by how much an exchange lessens the distance from the relatives, 0 where there are none.

    None is for a reading that agrees with its repeats, if it is `repeated`, as it stands and only so.
    """
    step = values[upper + 1] - values[upper]
    gain = np.zeros(step.size)
    for place, move in ((upper, step), (upper + 1, -step)):
        misfit = evidence.misfit[place]
        against = repeated[place] & (np.abs(misfit) <= APART) & (np.abs(misfit + move) > APART)
        gain += np.where(against, -np.inf, np.nan_to_num(np.abs(misfit) - np.abs(misfit + move)))
    return gain


def _likeliest(gains: dict[str, float]) -> tuple[str, ...]:
    """Return the column whose exchange agrees best with the relatives; all where these say nothing; none if against."""
    best = max(gains.values())
    if best < 0:
        return ()
    return tuple(name for name, gain in gains.items() if gain == best)


def _speeds(case: Case, upper: IntArray) -> Iterator[Found]:
    """Find pairs whose speeds go with their thrusts only once exchanged, while thrust and current fit each other."""
    rows, misfit, step = case.rows, speed_misfit(case.rows), np.log(case.rows.speed)
    fits = case.line.excess(rows.thrust, rows.current) <= 1
    fixed, explained = _fixed(upper, lambda a, b: np.abs(misfit[a] + step[b] - step[a]) / SPEED_SHARE)
    for at in np.flatnonzero(fixed & fits[upper] & fits[upper + 1]).tolist():
        yield -float(explained[at]), int(upper[at]), ("speed",)


def _voltages(case: Case, upper: IntArray) -> Iterator[Found]:
    """Find pairs whose volts per cell are plausible only once exchanged."""
    rows, limits = case.rows, case.limits

    def excess(here: IntArray, there: IntArray) -> FloatArray:
        per_cell = rows.voltage[there] / rows.cells[here]
        return np.maximum(limits.cell_voltage_low / per_cell, per_cell / limits.cell_voltage_high)

    fixed, explained = _fixed(upper, excess, clear=np.inf)
    for at in np.flatnonzero(fixed).tolist():
        yield -float(explained[at]), int(upper[at]), ("voltage",)


def name_of(column: str) -> str:
    """Return what is exchanged in a column, in words."""
    return "propeller" if column == "prop" else label_of(column)


def exchanged(rows: JudgedRows, columns: tuple[str, ...], here: int, there: int, cause: str) -> Flag:
    """Return what is said of a row, by its place, whose entry in one of some columns changed places with another row's."""
    what, other = [name_of(column) for column in columns], rows.name(there)
    found, expected = (" or ".join(rows.entry(at, column) for column in columns) for at in (here, there))
    return rows.flag(
        here,
        f"{' or '.join(what).capitalize()} exchanged with {other}",
        columns[0],
        f"{found} with {rows.read(here)}" if columns[0] == "prop" else found,
        f"{expected}, {'whose other readings agree' if columns[0] == 'prop' else f'which stands in {other}'}",
        cause,
        f"If your bench notes agree, exchange the {' or '.join(f'{each}s' for each in what)} of this reading and {other}.",
        also=(there,),
    )


# --- two columns of one row ------------------------------------------------------------------------------------


def column_swaps(case: Case) -> list[Flag]:
    """Flag rows whose volts and amps, thrust and amps, or thrust and speed fit once exchanged, and not as typed."""
    rows = case.rows
    found = [(int(at), "voltage", "current") for at in np.flatnonzero(_volts_and_amps(case))]
    found += [(int(at), "thrust", "current") for at in np.flatnonzero(_thrust_and_amps(case))]
    found += [(int(at), "thrust", "speed") for at in np.flatnonzero(_thrust_and_speed(case))]
    return [_columns_flag(rows, at, one, other) for at, one, other in found]


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


def _thrust_and_amps(case: Case) -> BoolArray:
    """Tell in which rows there are more amps than grams, and the line of current against thrust is met once exchanged."""
    rows, line = case.rows, case.line
    return np.asarray((rows.current > rows.thrust) & (line.excess(rows.current, rows.thrust) <= 1))


def _thrust_and_speed(case: Case) -> BoolArray:
    """Tell in which rows thrust fits neither current nor speed, and fits both once exchanged with the speed."""
    rows, slip = case.rows, case.limits.slip
    speed = speed_misfit(rows)
    exchanged = speed + (1 + 1 / THRUST_EXPONENT) * np.log(rows.thrust / rows.speed)
    odd = (case.line.excess(rows.thrust, rows.current) > 1) & (np.abs(speed) > slip)
    return np.asarray(odd & (case.line.excess(rows.speed, rows.current) <= 1) & (np.abs(exchanged) <= slip))


def _columns_flag(rows: JudgedRows, at: int, one: str, other: str) -> Flag:
    first, second = rows.reading(one)[at], rows.reading(other)[at]
    columns, exchanged = (one, other), (second, first)
    fixed, to_be_typed = (" and ".join(map(words, exchanged, columns)) for words in (typed, to_type))
    return rows.flag(
        at,
        f"{label_of(one).capitalize()} and {label_of(other)} exchanged",
        one,
        f"{typed(first, one)} and {typed(second, other)}",
        f"{fixed}, which fit the other readings",
        "Two figures of this reading were typed into each other's columns.",
        f"If your bench notes agree, type {to_be_typed}.",
    )
