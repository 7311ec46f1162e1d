"""Checks that compare rows with each other: robust fits and outlier tests that no formula in a cell can hold."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from xlsengine.bench import judgements
from xlsengine.bench.bench_test import BenchTest
from xlsengine.bench.counting import place_of
from xlsengine.bench.fingerprint import PAIRS
from xlsengine.bench.row_checks import Severity
from xlsengine.expression import Column
from xlsengine.study.case import Case, case_of
from xlsengine.study.column_swaps import column_swaps
from xlsengine.study.evaluation import Scope
from xlsengine.study.flags import Flag, about, label_of, typed
from xlsengine.study.order_checks import exchanged_kinds, high_peaks, ladder, low_peaks, rising_efficiency
from xlsengine.study.relatives import current_evidence, thrust_evidence
from xlsengine.study.repeat_checks import copies, repeats
from xlsengine.study.slip_checks import decimal_slips
from xlsengine.study.swap_checks import swaps
from xlsengine.study.typing_checks import misspelt, shares_of_throttle


def misfits(case: Case) -> list[Flag]:
    """Flag rows that lie off the robust line of current against thrust of their cell count."""
    rows, line, slip = case.rows, case.line, case.limits.slip
    out = np.flatnonzero(case.sound & (line.excess(rows.thrust, rows.current) > 1))
    if not out.size:
        return []
    current = np.abs(current_evidence(rows, slip).misfit)[out]
    is_thrust = np.abs(thrust_evidence(rows, slip).misfit)[out] > current
    return [
        _misfit(case, int(at), ("thrust", "current") if thrust else ("current", "thrust"))
        for at, thrust in zip(out, is_thrust, strict=True)
    ]


def _misfit(case: Case, at: int, columns: tuple[str, str]) -> Flag:
    column, other = columns
    rows, line = case.rows, case.line.at(slice(at, at + 1))
    expect = line.thrust if column == "thrust" else line.current
    given = rows.reading(other)[at : at + 1]
    return Flag(
        f"{label_of(column).capitalize()} does not fit {label_of(other)}",
        int(rows.number[at]),
        column,
        f"{typed(rows.reading(column)[at], column)} with {typed(given[0], other)}",
        f"{about(float(expect(given)[0]), column)}, as the other rows of this cell count have it",
        "A misread display, a moved zero, a wrong propeller or cell count, or a slip in typing.",
        "Look in the notes; repeat the point, or set Use to no with a note why.",
        Severity.DOUBTFUL,
    )


CHECKS: tuple[Callable[[Case], list[Flag]], ...] = (
    column_swaps, swaps, decimal_slips, copies, exchanged_kinds, repeats, misfits, low_peaks, high_peaks, ladder,
    rising_efficiency, misspelt, shares_of_throttle,
)  # fmt: skip
"""In their order: what explains a row best comes first, and most checks leave rows alone that are explained."""


def group_checks(scope: Scope) -> list[Flag]:
    """Return all that rows compared with each other give away, sorted by row, the most severe first.

    Rows not used, and rows without volts, amps or grams above 0, are not judged. Time grows with the rows.
    ValueError if the significance on Settings is not between 0 and 100 %.
    """
    flags: list[Flag] = []
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        case = case_of(scope)
        for check in CHECKS:
            flags += check(case)
            doubted = [flag.row for flag in flags if flag.severity >= Severity.DOUBTFUL]
            case = replace(case, doubted=np.isin(case.rows.number, doubted))
    return sorted(flags, key=lambda flag: flag.order)


def written_values(scope: Scope, flags: list[Flag]) -> dict[tuple[str, str], Any]:
    """Return what `Scope.written` takes: each row's worst severity and flags, and the fingerprint of the inputs."""
    return dict(_marked(scope, flags).written)


def checked(test: BenchTest) -> tuple[Scope, list[Flag]]:
    """Evaluate a bench test with its group checks; returns the scope that holds what they wrote, and the flags."""
    scope = Scope(test)
    flags = group_checks(scope)
    return _marked(scope, flags), flags


def _marked(scope: Scope, flags: list[Flag]) -> Scope:
    """Return a scope with the flags on its rows, and the fingerprint of what they were computed from.

    The fingerprint is taken with the flags in place, since live figures may leave flagged rows out.
    """
    flagged = Scope(scope.test, _columns(scope, flags))
    fingerprint = {("", then.name): flagged.named(now.name) for now, then in PAIRS}
    # Nothing evaluated so far reads the fingerprint written, so that all of it may be kept.
    return replace(flagged, written={**flagged.written, **fingerprint})


def _columns(scope: Scope, flags: list[Flag]) -> dict[tuple[str, str], Any]:
    """Return what is written beside the rows: worst severity, what it is about, all flags, and the values judged."""
    rows = scope.used_rows("Readings")
    severity, about_column, said = np.zeros(rows), np.zeros(rows), np.empty(rows, dtype=object)
    texts: list[list[str]] = [[] for _ in range(rows)]
    for flag in flags:
        if flag.severity > severity[flag.row - 1]:
            severity[flag.row - 1] = flag.severity
            about_column[flag.row - 1] = place_of(Column("Readings", flag.column))
        texts[flag.row - 1].append(flag.text)
    said[:] = [" ".join(parts) or None for parts in texts]
    values = (severity, about_column, said, scope.this_row(judgements.row_print)[:rows])
    columns = (
        judgements.written_severity,
        judgements.written_column,
        judgements.written_flags,
        judgements.judged_print,
    )
    return {(column.table, column.name): value for column, value in zip(columns, values, strict=True)}
