from typing import Any

import numpy as np
import pytest

from tests.bench.ideal_bench import PROPELLERS, STEPS, full_throttle, reading, scope_of
from xlsengine.bench.groups.lines import TOO_FEW
from xlsengine.study.evaluation import Scope


def of_propellers(scope: Scope, name: str) -> list[Any]:
    return list(scope.column("PropellerFigures", name)[: scope.used_rows("PropellerFigures")])


def test_one_row_a_propeller() -> None:
    rows = full_throttle()
    rows[2] |= {"prop": f"  {rows[2]['prop'].upper()} "}
    scope = scope_of(rows)
    assert [str(name).strip().lower() for name in of_propellers(scope, "propeller_name")] == [
        propeller.name for propeller in PROPELLERS
    ]
    assert of_propellers(scope, "amp_groups") == [2] * 4
    assert of_propellers(scope, "propeller_verdict") == ["consistent"] * 4


def test_one_reading_gives_no_verdict() -> None:
    scope = scope_of([reading(PROPELLERS[0], 4)])
    assert of_propellers(scope, "propeller_verdict") == ["read once only: nothing to compare"]


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5])
def test_median_coefficient(count: int) -> None:
    rows = [reading(PROPELLERS[0], 4) for _ in range(count)]
    rows = [row | {"thrust": row["thrust"] * (1 + 0.01 * (n * 3 % 5))} for n, row in enumerate(rows)]
    scope = scope_of(rows)
    median = np.median(scope.column("SpeedFigures", "thrust_coefficient")[:count])
    assert of_propellers(scope, "median_coefficient")[0] == pytest.approx(median)


def exponents(rows: list[dict[str, Any]], name: str) -> Any:
    return scope_of(rows).column("Exponents", name)[0]


def test_too_few_or_too_close_for_a_power() -> None:
    rows = [reading(PROPELLERS[0], 4, duty) for duty in STEPS]
    assert exponents(rows[:3], "exponent_verdict") == TOO_FEW
    assert exponents([rows[0]] * 6, "exponent_verdict") == TOO_FEW
