"""Thousands of simulated benches at once: every figure is an array with one value a bench."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from xlsengine.bench.model import FIELDS, FIGURE_QUANTITIES, TABLES
from xlsengine.expression import Aggregate, Column, evaluate


class ManyBenches:
    """The values of many benches in one row of a table: `given` by name, the rest from its declaration.

    `ends` are the smallest and largest value of columns by name; all else about columns is blank.
    """

    def __init__(self, given: Mapping[str, Any], ends: Mapping[str, tuple[Any, Any]] | None = None) -> None:
        self.given = dict(given)
        self.ends = dict(ends or {})

    def this_row(self, column: Column) -> Any:
        if column.name not in self.given:
            self.given[column.name] = evaluate(TABLES[column.table].quantities[column.name].expression, self)
        return self.given[column.name]

    def named(self, name: str) -> Any:
        if name not in self.given:
            if name in FIGURE_QUANTITIES:
                self.given[name] = evaluate(FIGURE_QUANTITIES[name].expression, self)
            else:
                default = FIELDS[name].default
                self.given[name] = np.nan if default is None else default
        return self.given[name]

    def aggregate(self, node: Aggregate) -> Any:
        if node.operation not in ("smallest", "largest"):
            return np.nan
        return self.ends[node.columns[0].name][node.operation == "largest"]


def pooled(off: Mapping[str, Any], freedom: int) -> dict[str, Any]:
    """Return the scatter and correlations that repeats give; `off` are percent off their means, readings last."""

    def dot(one: str, other: str) -> Any:
        return np.sum(off[one] * off[other], axis=-1)

    def correlation(one: str, other: str) -> Any:
        return dot(one, other) / np.sqrt(dot(one, one) * dot(other, other))

    return {
        **{f"{name}_scatter": np.sqrt(dot(name, name) / freedom) for name in off},
        "thrust_current": correlation("thrust", "current"),
        "thrust_voltage": correlation("thrust", "voltage"),
        "voltage_current": correlation("voltage", "current"),
        "repeats_read": np.array(float(freedom)),
        "merits": np.array(float(freedom)),
    }


def line(x: Any, y: Any) -> dict[str, Any]:
    """Return what the workbook says of the straight line through the readings of each bench (readings last)."""
    rows = x.shape[-1]
    mean = x.mean(axis=-1, keepdims=True)
    spread = np.sum((x - mean) ** 2, axis=-1)
    slope = np.sum((x - mean) * (y - y.mean(axis=-1, keepdims=True)), axis=-1) / spread
    intercept = y.mean(axis=-1) - slope * mean[..., 0]
    rest = np.sum((y - intercept[..., None] - slope[..., None] * x) ** 2, axis=-1)
    return {
        "line_slope": slope, "line_intercept": intercept, "line_mean": mean[..., 0], "line_spread": spread,
        "line_scatter": np.sqrt(rest / (rows - 2)), "line_rows": np.array(float(rows)),
    }  # fmt: skip
