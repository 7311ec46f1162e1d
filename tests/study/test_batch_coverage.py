"""How often the intervals of a box hold the truth, and how often a box is called what it is not: simulated boxes.

The declared expressions are evaluated over many boxes at once.
"""

from typing import Any

import numpy as np
import pytest

from xlsengine.bench.boxes.batch import BATCH, BATCH_FIGURES, OUTCOMES
from xlsengine.expression import Aggregate, Column, evaluate

TRIALS = 6000
KV = OUTCOMES[0].figures


class Boxes:
    """Values of many boxes: number, mean and standard deviation of each are given, all else follows."""

    def __init__(self, **given: Any) -> None:
        self._kept: dict[str, Any] = {KV[name].name: value for name, value in given.items()}

    def named(self, name: str) -> Any:
        if name not in self._kept:
            quantity = BATCH_FIGURES.quantities.get(name)
            default = BATCH.fields[name].default if quantity is None else None
            if name == "kv_promised":
                default = 1000.0
            self._kept[name] = default if quantity is None else evaluate(quantity.expression, self)
        return self._kept[name]

    def this_row(self, column: Column) -> Any:
        raise KeyError(column)

    def aggregate(self, node: Aggregate) -> Any:
        raise KeyError(node)


def boxes(motors: int, deviation: float, mean: float = 1000.0) -> Boxes:
    """Return simulated boxes of so many motors; the label allows 950 to 1050."""
    values = np.random.default_rng(motors).normal(mean, deviation, (TRIALS, motors))
    return Boxes(count=np.full(TRIALS, float(motors)), mean=values.mean(axis=1), s=values.std(axis=1, ddof=1))


def share(found: Any) -> float:
    return float(np.mean(found))


@pytest.mark.parametrize("motors", [3, 5, 10, 20, 30, 100])
@pytest.mark.parametrize(("mean", "deviation"), [(1000.0, 20.0), (1000.0, 12.5), (1020.0, 10.0), (980.0, 5.0)])
def test_the_interval_of_cpk_holds_the_truth(motors: int, mean: float, deviation: float) -> None:
    """95 % at the least but for what a simulation of this size may miss by, 3 · √(0.05 · 0.95/6000) = 0.8 %."""
    many, truth = boxes(motors, deviation, mean), min(1050 - mean, mean - 950) / (3 * deviation)
    low, high = (many.named(KV[name].name) for name in ("cpk_low", "cpk_high"))
    assert 0.935 <= share((low <= truth) & (truth <= high)) <= 0.99


@pytest.mark.parametrize("motors", [5, 10, 30])
def test_the_interval_of_cp_holds_the_truth(motors: int) -> None:
    many, truth = boxes(motors, 12.5), 100 / (6 * 12.5)
    low, high = (many.named(KV[name].name) for name in ("cp_low", "cp_high"))
    assert share((low <= truth) & (truth <= high)) == pytest.approx(0.95, abs=0.009)


@pytest.mark.parametrize("motors", [3, 5, 10, 30, 100])
def test_a_box_at_the_limit_is_seldom_called_capable(motors: int) -> None:
    """With Cpk just below what is wanted, a box is called capable in no more than 5 % of the trials."""
    many = boxes(motors, 50 / (3 * 1.329))
    assert share(many.named(KV["verdict"].name) == "capable") <= 0.055


@pytest.mark.parametrize(("motors", "least"), [(30, 0.7), (60, 0.97), (100, 0.995)])
def test_a_good_box_is_called_capable_once_enough_were_tested(motors: int, least: float) -> None:
    """Cpk 2.0 where 1.33 is wanted."""
    assert share(boxes(motors, 50 / 6).named(KV["verdict"].name) == "capable") >= least


def test_a_bad_box_is_called_so() -> None:
    """Cpk 0.8 where 1.33 is wanted."""
    assert share(boxes(30, 50 / 2.4).named(KV["verdict"].name) == "not capable") > 0.95
