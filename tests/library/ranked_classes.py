"""Classes of motors with known figures, ranked by the live declarations: each class is one propeller and cell count."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from xlsengine.bench.comparison.class_motors import SCATTERS
from xlsengine.bench.comparison.ranking import RANKED
from xlsengine.bench.inputs.bench_test import bench_test
from xlsengine.expression import Column
from xlsengine.study.evaluation import Scope

FIGURE = "thrust"


class Ranks:
    """Many classes of as many motors, the first of each class being “this motor”.

    `values` has a row for each class and a column for each motor; `scatter` is the standard deviation in percent that
    each class is judged by, with `freedom` degrees of freedom; each value is the mean of
    `readings`, of one number for all motors or one a motor.
    """

    def __init__(
        self,
        values: Any,
        scatter: Any,
        readings: Any = 1,
        freedom: float = 10_000,
        settings: Mapping[str, float] | None = None,
    ) -> None:
        self.shape = values.shape
        classes, motors = self.shape
        texts = np.array([f"class {number}" for number in range(classes)], dtype=object)
        written = {
            ("Compared", "compared_label"): texts,
            ("Compared", "compared_at"): np.full(classes, np.nan),
            ("Peers", "kept_group"): np.repeat(np.arange(1.0, classes + 1), motors),
            ("Peers", "kept_own"): np.tile([1.0, *[0.0] * (motors - 1)], classes),
        }
        self.scope = Scope(bench_test(dict(settings or {})), written)
        self.put(RANKED[FIGURE].key, values.ravel())
        self.put(RANKED[FIGURE].count, np.where(values > 0, readings, 0.0).ravel())
        self.put(RANKED[FIGURE].doubt, np.zeros(values.size))
        self.put(SCATTERS[FIGURE].value.name, np.broadcast_to(np.asarray(scatter, dtype=float), classes).copy())
        self.put(SCATTERS[FIGURE].freedom.name, float(freedom))

    def put(self, column: Column | str, values: Any) -> None:
        """Say what a column holds, row by row, in place of what its declaration gives."""
        self.scope._kept[column] = values

    def of_motors(self, column: Column) -> Any:
        """Return a column of the peers: a row for each class, a column for each motor."""
        return self.scope.this_row(column).reshape(self.shape)

    def of_classes(self, column: Column) -> Any:
        """Return a column of the propellers and cell counts, one value a class."""
        return self.scope.this_row(column)

    @property
    def best(self) -> Any:
        """Return the place of each motor at best; 0 where it has none."""
        return self.of_motors(RANKED[FIGURE].best)

    @property
    def worst(self) -> Any:
        """Return the place of each motor at worst."""
        return self.of_motors(RANKED[FIGURE].worst)

    @property
    def verdicts(self) -> Any:
        """Return what is said of each motor against the first."""
        return self.of_motors(RANKED[FIGURE].verdict)

    @property
    def bands(self) -> Any:
        """Return the smallest difference that counts in each class, in percent."""
        return self.of_classes(RANKED[FIGURE].band)
