"""What every check of a table's rows against one another starts from: the rows, the limits on Settings and Bench, and the
means to compare rows many at a time.

Columns are arrays of shape (n,), one place a judged row. Labels number the parts of a partition from 0.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from xlsengine.bench.checks.row_checks import ROW_CHECKS, Severity, raised
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.conditions import BENCH_SUPPLY, HIGH_VOLTAGE, PACK, cells_are, supply
from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.bench.inputs.no_load import no_load_current
from xlsengine.study.evaluation import Scope
from xlsengine.study.flags import Flag, typed
from xlsengine.study.outliers import MOST_MAGNITUDE, FloatArray

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

TOO_LOW = "below 3.0 V a cell at rest it goes out of use and is not charged again"
TOO_HIGH = "charged above its maker's limit it goes out of use"

MOST_SPANS = 5

STEPS = (1.0, 0.1, 0.01, 0.001)
MOST_READINGS = 0.9
"""Share of the readings that a display's step must divide: one typed with a slipped digit does not hide it."""


@dataclass(frozen=True)
class JudgedRows:
    """The used rows whose volts, amps and grams are above 0, in the order of the table.

    `number` counts the rows of Readings from 1. `prop` and `group` are labels of the propeller, and of
    propeller and cell count together. A blank throttle counts as 100 %, a speed or diameter of 0 as blank. `doubtful`
    and `impossible` mark the rows on which a live check stands that says so, or worse.
    """

    number: IntArray
    prop: IntArray
    group: IntArray
    peak: BoolArray
    impossible: BoolArray
    doubtful: BoolArray
    prop_key: Any
    prop_name: Any
    run: FloatArray
    point: FloatArray
    cells: FloatArray
    throttle: FloatArray
    throttle_typed: FloatArray
    diameter: FloatArray
    pitch: FloatArray
    blades: FloatArray
    voltage: FloatArray
    current: FloatArray
    thrust: FloatArray
    speed: FloatArray
    hover_efficiency: FloatArray

    @property
    def size(self) -> int:
        """Return how many rows are judged."""
        return int(self.number.size)

    def at(self, places: IntArray) -> JudgedRows:
        """Return some of the rows, by their places as an array."""
        return JudgedRows(**{column.name: getattr(self, column.name)[places] for column in fields(self)})

    def name(self, place: int) -> str:
        """Return how to speak of a row: by its run, or else by its place among the readings."""
        run = self.run[place]
        return f"reading {self.number[place]}" if np.isnan(run) else f"run {run:g}"

    def flag(
        self,
        place: int,
        title: str,
        column: str,
        found: str,
        expected: str,
        cause: str,
        fix: str,
        *,
        severity: Severity = Severity.DOUBTFUL,
        also: Iterable[int] = (),
        settles_volts: bool = False,
    ) -> Flag:
        """Return what a check says of a row, by its place; `also` are the places of others that it speaks of."""
        row, *also_rows = (int(self.number[at]) for at in (place, *also))
        words = (found, expected, cause, fix)
        return Flag(title, row, column, *words, severity, tuple(also_rows), settles_volts=settles_volts)

    def flags(
        self, places: IntArray, *words: str, severity: Severity = Severity.IMPOSSIBLE, settles_volts: bool = False
    ) -> list[Flag]:
        """Return one flag a row of a block, in the same words, so that lists tell them in one line.

        The words are title, column, found, expected, cause and fix.
        """
        return [self.flag(at, *words, severity=severity, settles_volts=settles_volts) for at in places.tolist()]

    def entry(self, place: int, column: str) -> str:
        """Return what was typed in a row, with its unit."""
        return str(self.prop_name[place]) if column == "prop" else typed(self.reading(column)[place], column)

    def named(self, at: IntArray) -> str:
        """Say which rows: "runs 8-14, 19-22", or by their places among the readings where a run is not a whole number."""
        runs = self.run[at]
        by_run = bool(np.isfinite(runs).all() and (runs == np.rint(runs)).all())
        numbers = np.sort(runs if by_run else self.number[at]).astype(np.int64)
        spans = np.split(numbers, np.flatnonzero(np.diff(numbers) > 1) + 1)
        said = [f"{span[0]}" if span[0] == span[-1] else f"{span[0]}-{span[-1]}" for span in spans]
        left = sum(span.size for span in spans[MOST_SPANS:])
        word = ("run" if by_run else "reading") + "s" * (numbers.size > 1)
        return f"{word} {', '.join(said[:MOST_SPANS])}" + f" and {left} more" * bool(left)

    def read(self, place: int) -> str:
        """Return the current and thrust of a row, in words."""
        return f"{self.entry(place, 'current')} and {self.entry(place, 'thrust')}"

    def reading(self, column: str) -> FloatArray:
        """Return a column by the name it has in Readings."""
        found: FloatArray = getattr(self, column)
        return found


def judged_rows(scope: Scope) -> JudgedRows:
    """Return the rows of a bench test that can be judged."""
    rows = np.flatnonzero(_judged(scope))

    worst = _worst_live(scope)[rows]

    def column(name: str) -> Any:
        return scope.column("Readings", name)[rows]

    numbers = ("run", "cells", "pitch", "blades", "voltage", "current", "thrust", "hover_efficiency")
    return JudgedRows(
        number=rows + 1,
        prop=np.unique(column("prop_key").astype(str), return_inverse=True)[1],
        prop_key=column("prop_key"),
        group=labels_of(column("group")),
        peak=column("kind_taken") == r.PEAK,
        point=column("full_kind"),
        impossible=worst >= Severity.IMPOSSIBLE,
        doubtful=worst >= Severity.DOUBTFUL,
        prop_name=column("prop"),
        throttle=np.where(np.isnan(column("throttle")), 100.0, column("throttle")),
        throttle_typed=column("throttle"),
        diameter=_known(column("diameter")),
        speed=_known(column("speed")),
        **{name: column(name) for name in numbers},
    )


def _known(values: FloatArray) -> FloatArray:
    """Return a column with blanks for what no bench can show."""
    return np.where((values > 0) & (values < MOST_MAGNITUDE), values, np.nan)


def _judged(scope: Scope) -> BoolArray:
    judged = (scope.value(r.judged, scope.rows("Readings")) == 1) & ~np.isnan(scope.column("Readings", "group"))
    for name in ("voltage", "current", "thrust", "cells"):
        judged &= ~np.isnan(_known(scope.column("Readings", name)))
    return np.asarray(judged, dtype=bool)


def _worst_live(scope: Scope) -> IntArray:
    """Return the worst severity among the live checks raised on each row."""
    severities = np.array([check.severity for check in ROW_CHECKS])
    worst: IntArray = np.max(raised_checks(scope) * severities[:, None], axis=0)
    return worst


def raised_checks(scope: Scope) -> BoolArray:
    """Tell which live checks are raised on each row: shape (checks, rows), in the order of their codes."""
    codes = np.arange(len(ROW_CHECKS))[:, None]
    all_of_them: IntArray = np.nan_to_num(scope.value(raised, scope.rows("Readings"))).astype(np.int64)
    return np.asarray((all_of_them >> codes) & 1, dtype=bool)


def labels_of(*columns: Any) -> IntArray:
    """Return labels of the rows that agree in all columns, numbered in the order of their values; no blanks.

    >>> labels_of(np.array([4.0, 3.0, 4.0]), np.array([100, 100, 50])).tolist()
    [2, 0, 1]
    """
    labels = np.unique(np.stack(columns, axis=1), axis=0, return_inverse=True)[1]
    return labels.reshape(-1)  # numpy 2.0 gives it one dimension more


def counts_by(labels: IntArray, counted: FloatArray | BoolArray | None = None) -> IntArray:
    """Return for each row how many rows share its label; only those `counted`, if given."""
    totals = np.bincount(labels, counted)
    return totals[labels].astype(np.int64)


def medians_by(labels: IntArray, values: FloatArray) -> FloatArray:
    """Return for each row the median of the values under its label, blanks (NaN) left out; NaN if all are blank.

    >>> medians_by(np.array([0, 1, 0, 0]), np.array([1.0, 7.0, 2.0, np.nan])).tolist()
    [1.5, 7.0, 1.5, 1.5]
    """
    if not values.size:
        return values
    ranked = values[np.lexsort((values, labels))]  # blanks come last under each label
    sizes = np.bincount(labels)
    filled = np.bincount(labels, ~np.isnan(values)).astype(np.int64)
    starts = np.cumsum(sizes) - sizes
    lower, upper = starts + np.maximum(filled - 1, 0) // 2, starts + filled // 2
    medians = (ranked[lower] + ranked[np.minimum(upper, ranked.size - 1)]) / 2
    medians[filled == 0] = np.nan
    return np.asarray(medians[labels])


def display_step(values: FloatArray) -> float:
    """Return the step in which a display counts, as far as its readings tell: 1, 0.1, 0.01, 0.001 or 0.

    >>> display_step(np.array([38.1, 7.4, 24.0]))
    0.1
    """
    for step in STEPS if values.size else ():
        counts = values / step
        if np.mean(np.abs(counts - np.rint(counts)) < 1e-6) >= MOST_READINGS:
            return step
    return 0.0


IDEAL_SLOPE = 1.5
"""Power of the thrust that an ideal propeller's power goes with; 1.15 to 1.8 on benches (common practice, no source)."""


@dataclass(frozen=True)
class Limits:
    """The settings that the checks go by: shares instead of percent; `slip` as a logarithm.

    `volts_power` is the power of the volts that thrust and current go with: 2/(2 − x), x the speed ratio on Settings.
    `idle` is the no-load current, 0 where it is not known. `cell_voltage_top` is the most a cell has that Bench names;
    `sags` is False where it names a bench supply, `is_pack` True where it names a pack. Speeds over labelled Kv times
    volts lie from `speed_least`, at full throttle, to `speed_most`.
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
    speed_least: float
    speed_most: float
    pole_pairs: float
    efficiency_least: float
    kv: float
    grams_per_amp: float
    volts_power: float
    idle: float

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

    def with_speeds(self, speeds: FloatArray) -> Case:
        """Return the case with other speeds, of shape (n,)."""
        return replace(self, rows=replace(self.rows, speed=speeds))

    def without(self, flags: list[Flag]) -> Case:
        """Return the case of the rows that no flag of a block explains."""
        told = np.isin(self.rows.number, [flag.row for flag in flags])
        if not told.any():
            return self
        rest = self.rows.at(np.flatnonzero(~told))
        prop, group = (np.unique(labels, return_inverse=True)[1] for labels in (rest.prop, rest.group))
        return Case(replace(rest, prop=prop, group=group), self.limits, self.doubted[~told])


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
        idle=float(np.nan_to_num(scope.named(no_load_current.name))),
        kv=scope.named("label_kv"),
        speed_least=_setting(scope, "speed_ratio_low"),
        speed_most=scope.named("speed_ratio_most"),
        pole_pairs=scope.named("poles") / 2,
        grams_per_amp=_setting(scope, "grams_per_amp_limit") / 100,
        volts_power=2 / (2 - _setting(scope, "assumed_speed_ratio")),
        **{name: _setting(scope, name) for name in as_set},
    )


def _setting(scope: Scope, name: str) -> float:
    """Return a setting; what a new workbook holds where it was left blank."""
    value: Any = scope.named(name)
    return float(FIELDS[name].default or 0) if value != value else float(value)
