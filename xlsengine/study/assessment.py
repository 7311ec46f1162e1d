"""A bench test, evaluated and checked: what every output is written from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from xlsengine.bench.advice.statements import FLAG_COUNTS
from xlsengine.bench.advice.whole_checks import CHECKS_OF_THE_WHOLE
from xlsengine.bench.checks.row_checks import ROW_CHECKS, Severity
from xlsengine.bench.checks.row_entries import RAISED_CHECKS, REMARK_CODES, said_of
from xlsengine.bench.groups.headline import HEADLINE_LIST
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.expression import evaluate as evaluate_expression
from xlsengine.study.evaluation import Scope
from xlsengine.study.flags import Flag
from xlsengine.study.group_checks import checked

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Assessment:
    """The values of a bench test, and the flags that comparing its rows gave, one a row at most."""

    scope: Scope
    flags: tuple[Flag, ...]

    @property
    def test(self) -> BenchTest:
        """Return the test that was assessed."""
        return self.scope.test

    def frame(self, table: str) -> pd.DataFrame:
        """Return a table with its derived columns as a data frame, headed as on its sheet."""
        return self.scope.frame(table)

    def figures(self) -> dict[str, float | str | None]:
        """Return every derived single figure by name; None where it is blank."""
        return self.scope.figures()

    def flag_counts(self) -> dict[str, int]:
        """Return how many flags there are of each severity, row and group checks together."""
        return {severity.word: int(self.scope.named(count.name)) for severity, count in FLAG_COUNTS.items()}

    def headlines(self) -> list[dict[str, Any]]:
        """Return the quoted figures: label, value, unit, as shown on the Report, place, without flagged readings, note."""
        return [
            {
                "label": evaluate_expression(headline.label, self.scope),
                "value": _plain(self.scope.named(headline.value.name)),
                "unit": headline.unit,
                "shown": str(evaluate_expression(headline.shown_value, self.scope)),
                "place": self.scope.named(headline.place.name),
                "without_flagged_rows": _plain(self.scope.named(headline.clean.name)),
                "note": self.scope.named(headline.note.name),
            }
            for headline in HEADLINE_LIST
        ]

    def flag_list(self) -> list[dict[str, Any]]:
        """Return one flag a reading, the most severe first; what concerns the whole besides.

        Each says its severity, the row of Readings from 1, the input to look at first, propeller and cells, what, found,
        expected, cause and fix. That input is a `column` in the line `at` of a table, or a field of a form; a flag of
        the motor or the bench as a whole has no row.
        """
        listed = [*self._whole_flags(), *self._group_flags(), *self._row_flags(), *self._remarks()]
        words = [severity.word for severity in reversed(Severity)]
        return sorted(listed, key=lambda flag: (words.index(flag["severity"]), flag["row"] or 0))

    def _whole_flags(self) -> Iterator[dict[str, Any]]:
        for check in CHECKS_OF_THE_WHOLE:
            if self.scope.named(check.doubt.name) == 1:
                said = self.scope.named(check.found.name), evaluate_expression(check.expected, self.scope)
                at = int(evaluate_expression(check.row, self.scope))
                about = check.look_at.name, at, "all readings", check.title
                yield _entry(Severity.DOUBTFUL.word, None, *about, *said, check.cause, check.fix)

    def _group_flags(self) -> Iterator[dict[str, Any]]:
        for flag in self.flags:
            about = flag.column, flag.row, self._seen_with(flag.row), flag.title
            yield _entry(flag.severity.word, flag.row, *about, flag.found, flag.expected, flag.cause, flag.fix)

    def _row_flags(self) -> Iterator[dict[str, Any]]:
        names = ("severity", "row", "title", "found", "expected", "cause", "fix")
        columns = {name: self.scope.column(RAISED_CHECKS.name, f"raised_{name}") for name in names}
        checks = self.scope.column(RAISED_CHECKS.name, "check_number")
        for place in range(self.scope.used_rows(RAISED_CHECKS.name)):
            severity, row, title, *said = (columns[name][place] for name in names)
            look_at, row = ROW_CHECKS[int(checks[place]) - 1].look_at.name, int(row)
            yield _entry(severity, row, look_at, row, self._seen_with(row), title, *said)

    def _remarks(self) -> Iterator[dict[str, Any]]:
        """Yield the notes that ask for nothing, one a reading."""
        entries = self.scope.column("Readings", "entry")
        for code in REMARK_CODES:
            check = ROW_CHECKS[code - 1]
            figures = self.scope.value(said_of(check, check.figure), entries.size)
            expected = evaluate_expression(check.expected, self.scope)
            for place in np.flatnonzero(entries == code).tolist():
                about = check.look_at.name, place + 1, self._seen_with(place + 1), check.title
                yield _entry(check.severity.word, place + 1, *about, figures[place], expected, check.cause, "")

    def _seen_with(self, row: int) -> str:
        prop, cells = (self.scope.column("Readings", name)[row - 1] for name in ("prop", "cells"))
        return f"{prop} on {cells:.0f}S"


_SAID = ("severity", "row", "column", "at", "seen_with", "what", "found", "expected", "cause", "fix")


def _entry(*values: Any) -> dict[str, Any]:
    """Return a flag of the list from what it says, in the order of `_SAID`."""
    return dict(zip(_SAID, values, strict=True))


def assess(test: BenchTest) -> Assessment:
    """Evaluate and check a bench test."""
    scope, flags = checked(test)
    return Assessment(scope, tuple(flags))


def _plain(value: float) -> float | None:
    return None if value != value else float(value)
