"""What every check of a table's rows against one another starts from: the rows, the limits, the line of current and thrust.

The line says how much current a reading should show for its thrust: robust, in logarithms, one for each cell count.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from xlsengine.bench.inputs.conditions import BENCH_SUPPLY, HIGH_VOLTAGE, PACK, cells_are, supply
from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.study.evaluation import Scope
from xlsengine.study.judged_rows import (
    BoolArray,
    IntArray,
    JudgedRows,
    counts_by,
    display_step,
    judged_rows,
    medians_by,
)
from xlsengine.study.outliers import NORMAL_QUARTILE, FloatArray

FEWEST_ROWS = 5
"""Rows of a cell count from which on it has a line of its own."""

OWN_LEVEL_FROM = 4
"""Rows of a propeller and cell count from which on they tell how far that propeller lies off the line."""

MOST_FITTED = 500
"""Rows, spread evenly over the thrusts, that a line is fitted to: more would not move it by a display's step."""

IDEAL_SLOPE, LEAST_SLOPE, MOST_SLOPE = 1.5, 1.15, 1.8
"""Current as a power of thrust at one voltage: ideal 1.5, from 1.15 to 1.8 on benches (common practice, no source)."""

READING_SHARE = 0.05
"""Misfit that is never worth a look (common practice, no source: thrust per ampere off by 5 to 7 % hides a fault)."""

IDLE_SHARE = 0.03
"""Share of the usual current that motor and ESC may take for themselves, which bends the line at its low end."""

PROPELLER_SHARE = 0.3
"""Misfit allowed a propeller with too few rows to tell its own level, its diameter being allowed for."""

STRANGER_SHARE = 1.0
"""Misfit allowed where a cell count has too few rows for a line."""


@dataclass(frozen=True)
class CurrentLine:
    """``I = exp(level) T^slope`` for each judged row, and what misfit is allowed there; NaN where unknown.

    `share` and `spread` are allowances in logarithms of the current, `idle` is one in amperes.
    """

    level: FloatArray
    slope: FloatArray
    share: FloatArray
    idle: FloatArray
    spread: FloatArray

    def at(self, rows: Any) -> CurrentLine:
        """Return the line of some of the rows."""
        return CurrentLine(*(getattr(self, part.name)[rows] for part in fields(self)))

    def current(self, thrust: FloatArray) -> FloatArray:
        """Return the current (A) expected with a thrust (g), row by row."""
        return np.exp(self.level + self.slope * np.log(thrust))

    def thrust(self, current: FloatArray) -> FloatArray:
        """Return the thrust (g) expected with a current (A), row by row."""
        return np.exp((np.log(current) - self.level) / self.slope)

    def misfit(self, thrust: FloatArray, current: FloatArray) -> FloatArray:
        """Return the logarithm of current over expected current, row by row."""
        return np.log(current / self.current(thrust))

    def excess(self, thrust: FloatArray, current: FloatArray) -> FloatArray:
        """Return the misfit as a multiple of what is allowed, row by row: out of line above 1."""
        floor = np.log1p(self.share + self.idle / self.current(thrust))
        return np.abs(self.misfit(thrust, current)) / np.maximum(floor, self.spread)


def current_line(rows: JudgedRows, score_limit: float) -> CurrentLine:
    """Return the line for each row; `score_limit` is the largest modified z-score that is allowed.

    Currents are compared times volts and diameter: for one thrust an ideal propeller takes a power that goes
    as one over its diameter. Each propeller with enough rows is then allowed its own level, since thrust per
    ampere differs between propellers.
    """
    typical = np.nanmedian(rows.diameter) if not np.isnan(rows.diameter).all() else 1.0
    leverage = np.log(rows.voltage * np.where(np.isnan(rows.diameter), typical, rows.diameter))
    line = _strangers(rows, leverage)
    for cells in np.unique(rows.cells):
        own = np.flatnonzero(rows.cells == cells)
        if own.size >= FEWEST_ROWS:
            _fit(line, own, rows, leverage[own], score_limit)
    return line


def _strangers(rows: JudgedRows, leverage: FloatArray) -> CurrentLine:
    """Return a coarse expectation for every row, from the current that the whole table takes for its thrust."""
    current = np.log(rows.current) + leverage - IDEAL_SLOPE * np.log(rows.thrust)
    usual = np.median(current) if rows.size >= FEWEST_ROWS else np.nan
    even = np.ones(rows.size)
    return CurrentLine(usual - leverage, IDEAL_SLOPE * even, STRANGER_SHARE * even, 0 * even, 0 * even)


def _fit(line: CurrentLine, own: IntArray, rows: JudgedRows, leverage: FloatArray, score_limit: float) -> None:
    """Fill in the line for the rows of one cell count."""
    thrust, current = np.log(rows.thrust[own]), np.log(rows.current[own])
    known = counts_by(rows.group)[own] >= OWN_LEVEL_FROM
    slope, level = _slope_and_level(thrust, current + leverage, rows.group[own], known)
    line.slope[own], line.level[own] = slope, level - leverage
    line.share[own] = np.where(known, READING_SHARE, PROPELLER_SHARE)
    line.idle[own] = IDLE_SHARE * np.median(rows.current[own]) + display_step(rows.current[own]) / 2
    misfit = current - line.level[own] - slope * thrust
    deviation = np.median(np.abs(misfit - np.median(misfit))) / NORMAL_QUARTILE
    line.spread[own] = score_limit * deviation


def _slope_and_level(x: FloatArray, y: FloatArray, group: IntArray, known: Any) -> tuple[float, FloatArray]:
    """Fit twice: the levels of the propellers, found with the first line, are taken off for the second."""
    sample = np.argsort(x, kind="stable")[:: x.size // MOST_FITTED + 1]
    own_level = np.zeros(x.size)
    for _ in range(2):
        slope = float(np.clip(typical_slope(x[sample], (y - own_level)[sample]), LEAST_SLOPE, MOST_SLOPE))
        level = np.median(y - own_level - slope * x)
        own_level = np.where(known, medians_by(group, y - slope * x - level), 0.0)
    return slope, level + own_level


def typical_slope(x: FloatArray, y: FloatArray) -> float:
    """Return the median slope between any two points, columns x and y, which a quarter of odd ones cannot carry off.

    The ideal slope where all share one x. Source: Theil (1950) and Sen (1968), from memory.
    """
    one, other = np.triu_indices(x.size, 1)
    run, rise = x[other] - x[one], y[other] - y[one]
    return float(np.median(rise[run != 0] / run[run != 0])) if run.any() else IDEAL_SLOPE


# --- what every check starts from ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Limits:
    """The settings that the checks go by: shares instead of percent; `slip` as a logarithm.

    `volts_power` is the power of the volts that thrust and current go with: 2/(2 − x), x the speed ratio on Settings.
    `idle` is the no-load current (A), 0 where it was not read.
    `cell_voltage_top` is the most a cell has that Bench names; `sags` is False where it names a bench supply,
    `is_pack` True where it names a pack.
    """

    score: float
    significance: float
    slip: float
    ladder: float
    cell_voltage_low: float
    cell_voltage_high: float
    cell_voltage_most: float
    cell_voltage_top: float
    sags: bool
    is_pack: bool
    efficiency_least: float
    efficiency_low: float
    efficiency_high: float
    kv: float
    grams_per_amp: float
    volts_power: float
    idle: float

    def stop(self, why: str) -> str:
        """Say what to do about volts that no cell should have; `why` is of packs."""
        return f"stop and measure the pack: {why}" if self.sags else "stop and measure the volts of the bench supply"


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
    is_high = scope.named(cells_are.name) == HIGH_VOLTAGE
    return Limits(
        score=_setting(scope, "score_limit"),
        significance=_setting(scope, "outlier_significance") / 100,
        slip=math.log1p(_setting(scope, "slip_tolerance") / 100),
        ladder=_setting(scope, "ladder_tolerance") / 100,
        cell_voltage_low=_setting(scope, "cell_voltage_low"),
        cell_voltage_high=_setting(scope, "cell_voltage_high"),
        cell_voltage_most=_setting(scope, "cell_voltage_most"),
        cell_voltage_top=_setting(scope, "cell_voltage_most" if is_high else "cell_voltage_high"),
        efficiency_least=_setting(scope, "efficiency_least"),
        efficiency_low=_setting(scope, "efficiency_low"),
        efficiency_high=_setting(scope, "efficiency_high"),
        sags=scope.named(supply.name) != BENCH_SUPPLY,
        is_pack=scope.named(supply.name) == PACK,
        kv=scope.named("label_kv"),
        grams_per_amp=_setting(scope, "grams_per_amp_limit") / 100,
        volts_power=2 / (2 - _setting(scope, "assumed_speed_ratio")),
        idle=float(np.nan_to_num(scope.named("no_load_current"))),
    )


def _setting(scope: Scope, name: str) -> float:
    """Return a setting; what a new workbook holds where it was left blank."""
    value: Any = scope.named(name)
    return float(FIELDS[name].default or 0) if value != value else float(value)
