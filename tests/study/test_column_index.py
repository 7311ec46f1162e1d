from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest

from tests.bench.ideal_bench import PROPELLERS, reading, scope_of
from xlsengine.bench.inputs import readings as r
from xlsengine.expression import Aggregate, Column, Condition, Constant
from xlsengine.study.evaluation import Picked, aggregate

ROWS = [reading(p, cells, kind=kind) for p in PROPELLERS[:2] for cells in (3, 4) for kind in ("peak", "steady")]


@pytest.mark.parametrize(
    ("conditions", "count"),
    [
        ((Condition(r.kind, "=", Constant("PEAK")),), 4),
        ((Condition(r.kind, "=", Constant("peak")), Condition(r.cells, "=", Constant(4.0))), 2),
        ((Condition(r.cells, "=", Constant(4.0)), Condition(r.kind, "<>", Constant("peak"))), 2),
        ((Condition(r.cells, ">", Constant(3.0)), Condition(r.cells, "=", Constant(3.0))), 0),
    ],
    ids=["text", "text and number", "number and other text", "nothing"],
)
def test_rows_are_picked_by_text_and_by_number(conditions: tuple[Condition, ...], count: int) -> None:
    assert scope_of(ROWS).any_value(Aggregate("count", (r.thrust,), conditions)) == count


@dataclass
class Columns:
    """Two columns to look rows up by, one to take, and what is asked for, row by row."""

    held: dict[str, Any] = field(default_factory=dict)

    def this_row(self, column: Column) -> Any:
        return self.held[column.name]

    def named(self, name: str) -> Any:
        return self.held[name]

    def aggregate(self, node: Aggregate) -> Any:
        return aggregate(node, self)

    def picked(self, conditions: tuple[Condition, ...]) -> Picked:
        return Picked(conditions, self)


def some_columns(seed: int, rows: int = 60, asks: int = 25) -> Columns:
    """Return columns with blanks, and asked-for numbers of which some are blank and some stand nowhere."""
    chance = np.random.default_rng(seed)

    def numbers(count: int, most: int, blanks: float) -> Any:
        return np.where(chance.random(count) < blanks, np.nan, chance.integers(0, most, count) / 4)

    held = {"one": numbers(rows, 5, 0.1), "other": numbers(rows, 3, 0.1), "taken": numbers(rows, 40, 0.2)}
    held |= {
        "taken too": numbers(rows, 40, 0.2),
        "wants one": numbers(asks, 7, 0.1),
        "wants other": numbers(asks, 4, 0.1),
    }
    return Columns({**held, "wants place": chance.integers(1, 4, asks).astype(float)})


def cells(name: str) -> Column:
    return Column("Some", name)


BY_HAND: dict[str, Callable[[Any, Any, int], float]] = {
    "count": lambda one, other, place: float(len(one[~np.isnan(one)])),
    "sum": lambda one, other, place: float(np.nansum(one)),
    "mean": lambda one, other, place: float(np.nanmean(one)) if (~np.isnan(one)).any() else np.nan,
    "dot": lambda one, other, place: float(np.nansum(one * other)),
    "largest": lambda one, other, place: (
        float(np.sort(one[~np.isnan(one)])[-place]) if np.sum(~np.isnan(one)) >= place else np.nan
    ),
}


@pytest.mark.parametrize("sign", ["=", ">"])
@pytest.mark.parametrize("operation", BY_HAND)
@pytest.mark.filterwarnings("ignore:invalid value|divide by zero")
def test_groups_give_what_going_through_the_rows_gives(operation: str, sign: str) -> None:
    for seed in range(4):
        columns = some_columns(seed)
        asked = (
            Condition(cells("one"), "=", cells("wants one")),
            Condition(cells("other"), sign, cells("wants other")),
        )
        taken = (cells("taken"), cells("taken too")) if operation == "dot" else (cells("taken"),)
        found = aggregate(Aggregate(operation, taken, asked, cells("wants place")), columns)
        held, expected = columns.held, []
        for one, other, place in zip(held["wants one"], held["wants other"], held["wants place"], strict=True):
            rows = (held["one"] == one) & (held["other"] == other if sign == "=" else held["other"] > other)
            value = BY_HAND[operation](held["taken"][rows], held["taken too"][rows], int(place))
            expected.append(np.nan if np.isnan(one + other) else value)
        np.testing.assert_allclose(found, expected, rtol=1e-12)
