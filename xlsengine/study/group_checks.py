"""Checks that compare rows with each other: robust fits and outlier tests that no formula in a cell can hold."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from xlsengine.bench.checks.fingerprint import PAIRS
from xlsengine.bench.checks.row_checks import ROW_CHECKS, Explains, Severity, raised
from xlsengine.bench.checks.row_entries import SPEED_STOPS, STOP_CODES, VOLTS_STOPS, comparison_beside_stops
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.bench.inputs.readings import place_of
from xlsengine.bench.judging import judgements
from xlsengine.expression import Column, Constant, evaluate
from xlsengine.study.case import Case, case_of, raised_checks
from xlsengine.study.count_checks import off_by_count, thrust_by_volts
from xlsengine.study.evaluation import Scope
from xlsengine.study.exchange_checks import exchanged_propellers
from xlsengine.study.flags import Flag
from xlsengine.study.meter_checks import meter_ends
from xlsengine.study.misfits import misfits, tares
from xlsengine.study.order_checks import exchanged_kinds, ladder, odd_peaks, rising_efficiency, throttle_order
from xlsengine.study.repeat_checks import copies, repeats, repeats_apart, repeats_at_low_volts
from xlsengine.study.round_words import round_mistakes
from xlsengine.study.row_words import row_mistakes
from xlsengine.study.speed_checks import without_speeds, wrong_speeds
from xlsengine.study.typing_checks import misspelt, moved_throttles, shares_of_throttle
from xlsengine.study.volts_checks import flat_volts, rest_volts

BLOCKS: tuple[Callable[[Case], list[Flag]], ...] = (meter_ends, round_mistakes, moved_throttles)
"""What explains many rows at once; these leave the case before others are judged."""

CHECKS: tuple[tuple[Callable[[Case], list[Flag]], Explains], ...] = (
    (exchanged_propellers, Explains.SLIP),
    (row_mistakes, Explains.SLIP),
    (copies, Explains.SLIP),
    (exchanged_kinds, Explains.SLIP),
    (flat_volts, Explains.READING),
    (rest_volts, Explains.READING),
    (throttle_order, Explains.READING),
    (repeats, Explains.READING),
    (tares, Explains.SLIP),
    (misfits, Explains.READING),
    (off_by_count, Explains.READING),
    (thrust_by_volts, Explains.READING),
    (repeats_apart, Explains.READING),
    (repeats_at_low_volts, Explains.READING),
    (odd_peaks, Explains.READING),
    (ladder, Explains.READING),
    (rising_efficiency, Explains.READING),
    (misspelt, Explains.SLIP),
    (shares_of_throttle, Explains.SLIP),
)
"""In their order: what explains a row best comes first, and most checks leave rows alone that are explained.

Slips say what happened, and not only which reading is off. Not so volts read at rest: were they too high for a pack, it
would be overcharged all the same, and to stop comes first.
"""


_EXPLAINED = {r.voltage.name: VOLTS_STOPS, r.speed.name: SPEED_STOPS, r.throttle.name: SPEED_STOPS}
"""What says to stop, and a slip in a column says how it came about."""


def group_checks(scope: Scope) -> list[Flag]:
    """Return all that rows compared with each other give away, sorted by row, what explains it best first.

    Rows not used, and rows without volts, amps or grams above 0, are not judged. Time grows with the rows.
    ValueError if the significance on Settings is not between 0 and 100 %.
    """
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        case = case_of(scope)
        flags = list[Flag]()
        for look in BLOCKS:
            flags += [replace(flag, explains=Explains.SLIP) for flag in look(case)]
            case = case.without(flags)
        of_speed = [replace(flag, explains=Explains.SLIP) for flag in wrong_speeds(case)]
        case = without_speeds(case, of_speed)  # and thrust and amps beside them are sound
        for check, explains in CHECKS:
            flags += [replace(flag, explains=explains) for flag in check(case)]
            doubted = [flag.row for flag in flags if flag.severity >= Severity.DOUBTFUL]
            case = replace(case, doubted=np.isin(case.rows.number, doubted))
    return sorted([*flags, *of_speed], key=lambda flag: flag.order)


def entries(scope: Scope, flags: list[Flag]) -> list[Flag]:
    """Return one flag a row, the one that explains it best, as severe as the worst that stands on the row.

    None for a row that a live check explains better.
    """
    found: dict[int, Flag] = {}
    for flag in flags:
        found.setdefault(flag.row, flag)
    live, worst = _live_ranks(scope), scope.column("Readings", "entry_severity")
    return [
        replace(flag, severity=Severity(int(worst[row - 1])))
        for row, flag in found.items()
        if flag.rank <= live[row - 1]
    ]


def _live_ranks(scope: Scope) -> list[float]:
    """Return for each row the best place in the order of explanation among its live checks; infinity where none is."""
    orders = np.array([check.order for check in ROW_CHECKS])
    best: list[float] = np.min(np.where(raised_checks(scope), orders[:, None], np.inf), axis=0).tolist()
    return best


def checked(test: BenchTest) -> tuple[Scope, list[Flag]]:
    """Evaluate a bench test with its group checks; returns the scope that holds what they wrote, and one flag a row."""
    scope = Scope(test)
    return marked(scope, group_checks(scope))


def judged(test: BenchTest) -> Scope:
    """Return the scope of a test in which what counts is settled; it has no fingerprint and says nothing of a flag."""
    scope = Scope(test)
    return Scope(test, _severities(scope, group_checks(scope)))


def marked(scope: Scope, flags: list[Flag]) -> tuple[Scope, list[Flag]]:
    """Return a scope with the flags on its rows and the fingerprint of what they were computed from; and one flag a row.

    Both need the severities in place, since live figures may leave flagged rows out.
    """
    flagged = Scope(scope.test, _severities(scope, flags))
    fingerprint = {("", then.name): flagged.named(now.name) for now, then in PAIRS}
    listed = entries(flagged, flags)
    written = {**flagged.written, **_columns(flagged, listed), **fingerprint}
    # Of what was evaluated so far only the code itself reads the entries written, so that all else may be kept.
    settled = flagged.with_written(written, {judgements.written_code, judgements.held})
    stops = np.any(raised_checks(flagged)[[code - 1 for code in STOP_CODES]], axis=0)
    return settled, [_with_stops(flagged, flag) if stops[flag.row - 1] else flag for flag in listed]


def _with_stops(scope: Scope, flag: Flag) -> Flag:
    """Return a flag with the words of what says to stop on its row, unless its own say so."""
    settled = {*VOLTS_STOPS * flag.settles_volts, *SPEED_STOPS * flag.settles_speed}
    explained = _EXPLAINED.get(flag.column, ()) if flag.explains is Explains.SLIP else ()
    row, codes = Constant(float(flag.row)), [code for code in STOP_CODES if code not in settled]
    title, fix = comparison_beside_stops(flag.title, flag.fix, row, explained, codes)
    return replace(flag, title=str(evaluate(title, scope)), fix=str(evaluate(fix, scope)))


def _severities(scope: Scope, flags: list[Flag]) -> dict[tuple[str, str], Any]:
    """Return what is written beside the rows: the worst severity, what it is about, and the values that were judged."""
    rows = scope.used_rows("Readings")
    severity, about_column = np.zeros(rows), np.zeros(rows)
    for flag in flags:
        if flag.severity > severity[flag.row - 1]:
            severity[flag.row - 1] = flag.severity
            about_column[flag.row - 1] = place_of(Column("Readings", flag.column))
    of_more = (severity == Severity.DOUBTFUL) & (about_column != place_of(r.speed))
    severity += np.where(of_more, judgements.OF_MORE, 0.0)
    prints = scope.this_row(judgements.row_print)[:rows]
    return {
        _key(judgements.written_code): severity * judgements.SEVERITY + about_column * judgements.COLUMN,
        _key(judgements.judged_print): prints,
    }


def _columns(scope: Scope, listed: list[Flag]) -> dict[tuple[str, str], Any]:
    """Return the words written beside the rows, and the code with how well they explain and what was raised beside them."""
    code = np.array(scope.written[_key(judgements.written_code)])
    live, said = np.nan_to_num(scope.value(raised, scope.rows("Readings"))), np.full(code.size, None, dtype=object)
    for flag in listed:
        speaks_up_to = max(place for place, check in enumerate(ROW_CHECKS, 1) if check.order >= flag.rank)
        code[flag.row - 1] += speaks_up_to * judgements.SPEAKS + live[flag.row - 1]
        said[flag.row - 1] = flag.text
    return {_key(judgements.written_code): code, _key(judgements.written_flags): said}


def _key(column: Column) -> tuple[str, str]:
    return column.table, column.name
