"""What every check of a table's rows against one another starts from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.study.current_line import CurrentLine, current_line
from xlsengine.study.evaluation import Scope
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows, judged_rows


@dataclass(frozen=True)
class Limits:
    """The settings that the checks go by: shares instead of percent; `slip` as a logarithm."""

    score: float
    significance: float
    slip: float
    ladder: float
    cell_voltage_low: float
    cell_voltage_high: float
    kv: float
    grams_per_amp: float


@dataclass(frozen=True)
class Case:
    """The judged rows of a test, the limits, the line of current against thrust, and which rows are in doubt.

    `doubted` marks the rows that an earlier check of rows against one another has already found doubtful.
    """

    rows: JudgedRows
    limits: Limits
    line: CurrentLine
    doubted: BoolArray

    @property
    def sound(self) -> BoolArray:
        """Return the rows that neither an earlier check nor physics speaks against."""
        return ~(self.doubted | self.rows.impossible)

    def at(self, places: IntArray) -> Case:
        """Return the case of some of the rows, by their places as an array."""
        return Case(self.rows.at(places), self.limits, self.line.at(places), self.doubted[places])


def case_of(scope: Scope) -> Case:
    """Return the case of a bench test, with nothing in doubt yet."""
    rows, limits = judged_rows(scope), _limits(scope)
    return Case(rows, limits, current_line(rows, limits.score), np.zeros(rows.size, dtype=bool))


def _limits(scope: Scope) -> Limits:
    return Limits(
        score=_setting(scope, "score_limit"),
        significance=_setting(scope, "outlier_significance") / 100,
        slip=math.log1p(_setting(scope, "slip_tolerance") / 100),
        ladder=_setting(scope, "ladder_tolerance") / 100,
        cell_voltage_low=_setting(scope, "cell_voltage_low"),
        cell_voltage_high=_setting(scope, "cell_voltage_high"),
        kv=scope.named("label_kv"),
        grams_per_amp=_setting(scope, "grams_per_amp_limit") / 100,
    )


def _setting(scope: Scope, name: str) -> float:
    """Return a setting; what a new workbook holds where it was left blank."""
    value: Any = scope.named(name)
    return float(FIELDS[name].default or 0) if value != value else float(value)
