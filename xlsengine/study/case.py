"""What every check of a table's rows against one another starts from: the rows, and the limits on Settings and Bench."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from xlsengine.bench.inputs.conditions import BENCH_SUPPLY, HIGH_VOLTAGE, PACK, cells_are, supply
from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.study.evaluation import Scope
from xlsengine.study.judged_rows import BoolArray, JudgedRows, judged_rows

IDEAL_SLOPE = 1.5
"""Power of the thrust that an ideal propeller's power goes with; 1.15 to 1.8 on benches (common practice, no source)."""


@dataclass(frozen=True)
class Limits:
    """The settings that the checks go by: shares instead of percent; `slip` as a logarithm.

    `volts_power` is the power of the volts that thrust and current go with: 2/(2 − x), x the speed ratio on Settings.
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
    kv: float
    grams_per_amp: float
    volts_power: float

    def stop(self, why: str) -> str:
        """Say what to do about volts that no cell should have; `why` is of packs."""
        return f"stop and measure the pack: {why}" if self.sags else "stop and measure the volts of the bench supply"


@dataclass(frozen=True)
class Case:
    """The judged rows of a test, the limits, and which rows are in doubt.

    `doubted` marks the rows that an earlier check of rows against one another has already found doubtful.
    """

    rows: JudgedRows
    limits: Limits
    doubted: BoolArray

    @property
    def sound(self) -> BoolArray:
        """Return the rows that neither an earlier check nor physics speaks against."""
        return ~(self.doubted | self.rows.impossible)


def case_of(scope: Scope) -> Case:
    """Return the case of a bench test, with nothing in doubt yet."""
    rows = judged_rows(scope)
    return Case(rows, _limits(scope), np.zeros(rows.size, dtype=bool))


def _limits(scope: Scope) -> Limits:
    is_high = scope.named(cells_are.name) == HIGH_VOLTAGE
    as_set = ("cell_voltage_low", "cell_voltage_high", "cell_voltage_most", "efficiency_least")
    return Limits(
        score=_setting(scope, "score_limit"),
        significance=_setting(scope, "outlier_significance") / 100,
        slip=math.log1p(_setting(scope, "slip_tolerance") / 100),
        ladder=_setting(scope, "ladder_tolerance") / 100,
        cell_voltage_top=_setting(scope, "cell_voltage_most" if is_high else "cell_voltage_high"),
        sags=scope.named(supply.name) != BENCH_SUPPLY,
        is_pack=scope.named(supply.name) == PACK,
        kv=scope.named("label_kv"),
        grams_per_amp=_setting(scope, "grams_per_amp_limit") / 100,
        volts_power=2 / (2 - _setting(scope, "assumed_speed_ratio")),
        **{name: _setting(scope, name) for name in as_set},
    )


def _setting(scope: Scope, name: str) -> float:
    """Return a setting; what a new workbook holds where it was left blank."""
    value: Any = scope.named(name)
    return float(FIELDS[name].default or 0) if value != value else float(value)
