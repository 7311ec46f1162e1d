"""Checks of order: peaks above steady readings, larger propellers above smaller, thrust per watt falling."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.bench.inputs.readings import AT_PEAK, AT_STEADY
from xlsengine.study.case import BoolArray, Case, IntArray, JudgedRows, display_step, labels_of, medians_by
from xlsengine.study.flags import Flag, about, label_of, typed
from xlsengine.study.outliers import FloatArray
from xlsengine.study.relations import Bench

EXCHANGED_SHARE = 0.2
"""Share of the wrong step from which on peak and steady look exchanged, if thrust, current and volts all say so."""

REAL_STEP = 1.05
"""Thrust over thrust from which on load has risen, and not only scattered."""

FAR_LESS, AS_MUCH = 0.75, 0.97
"""Throttle over throttle below which thrust is never this share of the other's (common practice, no source)."""

MOST_STEPS = 500
"""Readings of a propeller and cell count that are held against each other: time goes with their square."""

HIGHEST_PEAK = 1.25  # of steady; common practice, no source: 3 to 10 % above steady is usual on a pack


def exchanged_kinds(case: Case) -> list[Flag]:
    """Flag peak rows that lie below a steady row of their group in thrust, current and volts, and that row."""
    rows, steady = case.rows, case.sound & (case.rows.point == AT_STEADY)
    peaks = np.flatnonzero(case.sound & (case.rows.point == AT_PEAK))
    highest = _highest(rows.thrust, rows.group, steady)[peaks]
    peaks, highest = peaks[highest >= 0], highest[highest >= 0]
    least = 1 - EXCHANGED_SHARE * case.limits.ladder
    below = (rows.thrust[peaks] < least * rows.thrust[highest]) & (rows.current[peaks] < least * rows.current[highest])
    below &= rows.voltage[peaks] <= rows.voltage[highest]
    pairs = {int(steady): int(peak) for peak, steady in zip(peaks[below], highest[below], strict=True)}
    return [flag for steady, peak in pairs.items() for flag in _exchanged_kind(rows, peak, steady)]


def _highest(values: FloatArray, labels: IntArray, among: BoolArray) -> IntArray:
    """Return for each row the place of the highest value under its label, among some rows; -1 where none is."""
    best = np.full(int(labels.max(initial=-1)) + 1, -1, dtype=np.int64)
    places = np.flatnonzero(among)
    places = places[np.argsort(values[places], kind="stable")]
    best[labels[places]] = places  # of several places for one label the last, which is the highest, stays
    return np.asarray(best[labels])


def _exchanged_kind(rows: JudgedRows, peak: int, steady: int) -> Iterator[Flag]:
    for here, other in ((peak, steady), (steady, peak)):
        yield rows.flag(
            here,
            "Peak and steady exchanged",
            "kind",
            f"peak {typed(rows.thrust[peak], 'thrust')} at {typed(rows.current[peak], 'current')}, steady "
            f"{typed(rows.thrust[steady], 'thrust')} at {typed(rows.current[steady], 'current')}",
            "the peak above the steady readings",
            "The kinds of two readings changed places, or the pack was flat by the time of the peak.",
            f"Compare with {rows.name(other)}; exchange the kinds if your bench notes agree.",
            also=(other,),
        )


def odd_peaks(case: Case) -> list[Flag]:
    """Flag peak rows whose thrust or current is below the middle of their group's steady readings, or far above it."""
    rows, sound, flags = case.rows, case.sound, list[Flag]()
    for column in ("thrust", "current"):
        values = rows.reading(column)
        steady = medians_by(rows.group, np.where(sound & (rows.point == AT_STEADY), values, np.nan))
        ratio = np.where(sound & (rows.point == AT_PEAK), values / steady, np.nan)
        flags += [
            _low_peak(rows, at, column, steady[at]) for at in np.flatnonzero(ratio < 1 - case.limits.ladder).tolist()
        ]
        flags += [_high_peak(rows, at, column, steady[at]) for at in np.flatnonzero(ratio > HIGHEST_PEAK).tolist()]
    return flags


def _low_peak(rows: JudgedRows, at: int, column: str, steady: float) -> Flag:
    return rows.flag(
        at,
        f"Peak {label_of(column)} below steady",
        column,
        rows.entry(at, column),
        f"above {about(steady, column)}, where the steady readings lie",
        "The peak was missed by a slow display, the pack was not full, or the kinds changed places.",
        "Repeat the peak with a full pack; check Kind of this reading.",
    )


def _high_peak(rows: JudgedRows, at: int, column: str, steady: float) -> Flag:
    return rows.flag(
        at,
        f"Peak {label_of(column)} far above steady",
        column,
        rows.entry(at, column),
        f"below {about(HIGHEST_PEAK * steady, column)}; the steady readings lie at {about(steady, column)}",
        "A slip in typing, another propeller or pack, or a spike of the display.",
        "Check your bench notes; repeat the peak and the steady reading with one pack.",
    )


def throttle_order(case: Case) -> list[Flag]:
    """Flag points of a propeller and cell count that have as much thrust as one at far more throttle.

    Of the points that contradict each other the one in most contradictions is flagged, then the next; of two alone that
    at less throttle.
    """
    rows, flags = case.rows, list[Flag]()
    for group in np.unique(rows.group[case.sound & (rows.throttle < 100)]).tolist():
        own = np.flatnonzero(case.sound & (rows.group == group))
        own = own[np.lexsort((rows.thrust[own], rows.throttle[own]))]
        if own.size <= MOST_STEPS:
            flags += _contradictions(rows, own)
    return flags


def _contradictions(rows: JudgedRows, own: IntArray) -> Iterator[Flag]:
    throttle, thrust = rows.throttle[own], rows.thrust[own]
    against = (throttle[:, None] <= FAR_LESS * throttle) & (thrust[:, None] >= AS_MUCH * thrust)
    while against.any():
        odd = int(np.argmax(against.sum(axis=0) + against.sum(axis=1)))
        other = int(np.flatnonzero(against[odd] | against[:, odd])[-1])
        yield _out_of_order(rows, int(own[odd]), int(own[other]))
        against[odd] = against[:, odd] = False


def _out_of_order(rows: JudgedRows, here: int, other: int) -> Flag:
    return rows.flag(
        here,
        "Throttle does not fit thrust",
        "throttle",
        f"{rows.throttle[here]:g} % with {typed(rows.thrust[here], 'thrust')}; {rows.name(other)}: "
        f"{rows.throttle[other]:g} % with {typed(rows.thrust[other], 'thrust')}",
        "clearly less thrust at far less throttle",
        "A slipped digit in Throttle, a share of one for %, or a reading at full throttle that was given another.",
        f"Compare with {rows.name(other)}; type the right throttle, or clear it where it was full.",
        also=(other,),
    )


def ladder(case: Case) -> list[Flag]:
    """Note propellers that draw less than one that is smaller in diameter and pitch, at the same cell count.

    Steady rows at full throttle are compared with steady ones; peaks only where a propeller has nothing else.
    """
    rows = case.rows
    steady, peak = (case.sound & (rows.point == point) for point in (AT_STEADY, AT_PEAK))
    with_steady = np.bincount(rows.group, steady)[rows.group] > 0 if rows.size else steady
    below = _inversions(case, steady) + [pair for pair in _inversions(case, peak) if not with_steady[pair[0]]]
    return [_inversion(rows, here, smaller) for here, smaller in below]


def _inversions(case: Case, among: BoolArray) -> list[tuple[int, int]]:
    """Return the first row of each group that draws too little, with that of the smaller propeller that draws most."""
    rows = case.rows
    known = np.flatnonzero(among & (rows.diameter > 0) & (rows.pitch > 0) & (rows.blades > 0))
    at = known[np.unique(rows.group[known], return_index=True)[1]]
    middle = medians_by(rows.group, np.where(np.isin(np.arange(rows.size), known), rows.current, np.nan))[at]
    alike, sizes = labels_of(rows.cells[at], rows.blades[at]), np.stack([rows.diameter[at], rows.pitch[at]])
    found = []
    for kind in range(int(alike.max(initial=-1)) + 1):
        own = np.flatnonzero(alike == kind)
        own = own[np.argsort(-middle[own], kind="stable")]  # the first that is smaller draws most
        for place in own.tolist():
            above = own[middle[own] * (1 - case.limits.ladder) > middle[place]]
            smaller = (sizes[:, above] <= sizes[:, [place]]).all(axis=0) & (sizes[:, above] < sizes[:, [place]]).any(
                axis=0
            )
            if smaller.any():
                found.append((int(at[place]), int(at[above[np.argmax(smaller)]])))
    return found


def _inversion(rows: JudgedRows, here: int, smaller: int) -> Flag:
    return rows.flag(
        here,
        "Larger propeller draws less",
        "current",
        typed(rows.current[here], "current"),
        f"above {typed(rows.current[smaller], 'current')}, which {rows.prop_name[smaller]} draws",
        "Makes differ in blade shape; else readings or names changed places, or the propeller is worn or slips.",
        f"Compare with {rows.name(smaller)}; check Prop, Diameter and Pitch of both.",
        severity=Severity.NOTE,
        also=(smaller,),
    )


def rising_efficiency(case: Case) -> list[Flag]:
    """Flag steady readings from which thrust per watt rises to the next higher load of their group, idling ones left out."""
    rows = case.rows
    sweep = np.flatnonzero(case.sound & ~rows.doubtful & ~rows.peak)
    sweep = sweep[np.lexsort((rows.thrust[sweep], rows.group[sweep]))]
    lower, upper = sweep[:-1], sweep[1:]
    efficiency = rows.thrust / (rows.voltage * rows.current)
    rise = efficiency[upper] / efficiency[lower]
    allowed = 1 + case.limits.ladder + _rounding(rows)[lower] + _rounding(rows)[upper]
    risen = (rows.group[lower] == rows.group[upper]) & (rise > allowed)
    risen &= (rows.thrust[upper] > REAL_STEP * rows.thrust[lower]) & Bench(case).is_telling()[lower]
    pairs = zip(lower[risen].tolist(), upper[risen].tolist(), strict=True)
    return [_risen(rows, low, high, efficiency) for low, high in pairs]


def _rounding(rows: JudgedRows) -> FloatArray:
    """Return the share of a row's thrust per watt that the steps of the displays leave open."""
    return display_step(rows.current) / 2 / rows.current + display_step(rows.thrust) / 2 / rows.thrust


def _risen(rows: JudgedRows, low: int, high: int, efficiency: FloatArray) -> Flag:
    return rows.flag(
        low,
        "Thrust per watt rises with load",
        "current",
        f"{efficiency[low]:.2f} g/W, and {efficiency[high]:.2f} g/W at {typed(rows.thrust[high], 'thrust')}",
        "thrust per watt falling as load rises",
        "The zero of the scale moved, or the current meter adds something at its low end.",
        "Check the zeros of scale and current meter; repeat this point.",
        also=(high,),
    )
