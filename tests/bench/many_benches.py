"""Thousands of simulated benches at once: every figure is an array with one value a bench."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.bench.model import FIGURE_QUANTITIES, TABLES
from xlsengine.expression import Aggregate, Column, evaluate


def _spread(x: Any) -> Any:
    return np.sum((x - x.mean(axis=0)) ** 2, axis=0)


def _slope(y: Any, x: Any) -> Any:
    return np.sum((x - x.mean(axis=0)) * (y - y.mean(axis=0)), axis=0) / _spread(x)


def _intercept(y: Any, x: Any) -> Any:
    return y.mean(axis=0) - _slope(y, x) * x.mean(axis=0)


def _residual(y: Any, x: Any) -> Any:
    return np.sqrt(np.sum((y - _intercept(y, x) - _slope(y, x) * x) ** 2, axis=0) / (len(x) - 2))


AGGREGATES: dict[str, Callable[..., Any]] = {
    "count": lambda x: np.sum(~np.isnan(x), axis=0).astype(float),
    "mean": lambda x: x.mean(axis=0),
    "smallest": lambda x: x.min(axis=0),
    "largest": lambda x: x.max(axis=0),
    "standard deviation": lambda x: np.sqrt(_spread(x) / (len(x) - 1)),
    "dot": lambda x, y: np.sum(x * y, axis=0),
    "slope": _slope,
    "intercept": _intercept,
    "residual deviation": _residual,
}
"""Aggregates over whole columns, one row a reading and one column a bench; the first of all is meant by "smallest"."""


class ManyBenches:
    """The values of many benches: figures and cells of one row `given` by name, the rest from its declaration.

    `read` are whole columns, with the readings along the first axis and the benches along the second; tables of which
    nothing was read are blank.
    """

    def __init__(self, given: Mapping[str, Any], read: Mapping[Column, Any] | None = None) -> None:
        self.given = dict(given)
        self.read = {column.name: values for column, values in (read or {}).items()}
        self.tables = {column.table for column in read or {}}

    def this_row(self, column: Column) -> Any:
        for known in (self.read, self.given):
            if column.name in known:
                return known[column.name]
        declared = TABLES[column.table].quantities
        if column.name not in declared:
            return np.nan
        self.given[column.name] = evaluate(declared[column.name].expression, self)
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
        if node.conditions or node.columns[0].table not in self.tables:
            return 0.0 if node.operation in ("count", "dot") else np.nan
        return AGGREGATES[node.operation](*(self.this_row(column) for column in node.columns))


def pooled(off: Mapping[str, Any], freedom: int) -> dict[str, Any]:
    """Return the scatter and correlation that repeats give; `off` are percent off their means, readings last."""

    def dot(one: str, other: str) -> Any:
        return np.sum(off[one] * off[other], axis=-1)

    return {
        **{f"{name}_scatter": np.sqrt(dot(name, name) / freedom) for name in off},
        "thrust_current": dot("thrust", "current") / np.sqrt(dot("thrust", "thrust") * dot("current", "current")),
        "repeats_read": np.array(float(freedom)),
    }
