from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.bench.ideal_bench import PROPELLERS, STEPS, full_throttle, reading, scope_of
from xlsengine.bench.groups.exponents import TOO_FEW
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


def test_grams_per_amp_apart() -> None:
    """Kt·CT/(CP·D) is the same at both voltages; 10 % more thrust at one of them is not."""
    rows = full_throttle()
    rows[1] |= {"thrust": rows[1]["thrust"] * 1.1}
    scope = scope_of(rows)
    verdicts = of_propellers(scope, "propeller_verdict")
    assert verdicts[0].startswith("Grams per amp differ")
    assert verdicts[1:] == ["consistent"] * 3
    amps = [row["thrust"] / row["current"] for row in rows[:2]]
    assert of_propellers(scope, "grams_spread")[0] == pytest.approx((max(amps) / min(amps) - 1) * 100)


def test_coefficients_apart() -> None:
    rows = full_throttle()
    rows[4] |= {"speed": rows[4]["speed"] * 1.1}
    assert "Thrust coefficients differ" in of_propellers(scope_of(rows), "propeller_verdict")[2]


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


def test_powers_are_the_slopes_in_logarithms() -> None:
    rows = [reading(PROPELLERS[0], 4, duty, torque=True) for duty in STEPS]
    speed, thrust, torque, current = (
        np.log([row[name] for row in rows]) for name in ("speed", "thrust", "torque", "current")
    )
    assert exponents(rows, "thrust_exponent") == pytest.approx(np.polyfit(speed, thrust, 1)[0], rel=1e-9)
    assert exponents(rows, "power_exponent") == pytest.approx(np.polyfit(speed, torque + speed, 1)[0], rel=1e-9)
    assert exponents(rows, "current_exponent") == pytest.approx(np.polyfit(thrust, current, 1)[0], rel=1e-9)
    assert exponents(rows, "exponent_verdict") == "inside the usual bands"


@pytest.mark.parametrize(
    ("column", "power", "words"),
    [
        ("thrust", 0.5, "Thrust as a power of speed outside 1.90 to 2.30"),
        ("torque", 0.7, "Shaft power as a power of speed outside 2.60 to 3.30"),
        ("current", -0.5, "Current as a power of thrust outside 1.15 to 1.80"),
    ],
)
def test_powers_outside_their_bands(column: str, power: float, words: str) -> None:
    rows = [reading(PROPELLERS[0], 4, duty, torque=True) for duty in STEPS]
    bent = [row | {column: row[column] * (row["throttle"] / 100) ** power} for row in rows]
    assert words in exponents(bent, "exponent_verdict")


def test_too_few_or_too_close_for_a_power() -> None:
    rows = [reading(PROPELLERS[0], 4, duty) for duty in STEPS]
    assert exponents(rows[:3], "exponent_verdict") == TOO_FEW
    assert exponents([rows[0]] * 6, "exponent_verdict") == TOO_FEW
