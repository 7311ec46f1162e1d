from __future__ import annotations

import pytest

from tests.bench.ideal_bench import PROPELLERS, reading, scope_of
from xlsengine.bench.inputs import readings as r
from xlsengine.expression import Aggregate, Condition, Constant

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
