from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from demo_inputs.bench_simulator import Supply, operating_point
from tests.bench.ideal_bench import DENSITY, MOTOR, PROPELLERS, STEPS, reading, scope_of, supply
from xlsengine.bench.air import moist_air_density
from xlsengine.bench.no_load import PEAK_TO_PEAK
from xlsengine.study.evaluation import Scope

SPIN = [{"driven_speed": 2400.0, "driven_voltage": 2.0, "driven_as": PEAK_TO_PEAK}]
AIR = {"air_temperature": 25.0, "air_pressure": 990.0, "air_humidity": 60.0}
DAY = float(moist_air_density(25.0, 990.0, 60.0))


def normal(scope: Scope, name: str, row: int = 0) -> Any:
    return scope.column("Normalised", name)[row]


@pytest.mark.parametrize("propeller", PROPELLERS, ids=lambda each: each.name)
@pytest.mark.parametrize("volts", [3.75, 4.15])
def test_it_is_what_the_motor_would_do_there(propeller: Any, volts: float) -> None:
    """The simulated motor, run at the reference volts and density, shows what was estimated for them."""
    row = reading(propeller, 4, volts=volts, density=DAY)
    scope = scope_of([row], AIR, DrivenSpins=SPIN)
    there = operating_point(MOTOR, propeller, Supply(4, 3.7, leads_mohm=0.0), 1.0, DENSITY, held=True)
    assert normal(scope, "normal_thrust") == pytest.approx(there.thrust_g, rel=0.012)
    assert normal(scope, "normal_current") == pytest.approx(there.current_a, rel=0.012)
    assert normal(scope, "normal_power") == pytest.approx(there.current_a * 14.8, rel=0.012)
    assert abs(normal(scope, "raw_thrust") / there.thrust_g - 1) > 0.012


def test_raw_figures_stand_beside() -> None:
    row = reading(PROPELLERS[0], 4)
    scope = scope_of([row, row | {"kind": "peak", "thrust": 1.0}])
    for name in ("voltage", "thrust", "current"):
        assert normal(scope, f"raw_{name}") == pytest.approx(row[name])


@pytest.mark.parametrize(
    ("fields", "given"),
    [
        ({"reference_cell_voltage": 3.6}, True),
        ({"reference_cell_voltage": 3.0}, False),
        ({"reference_cell_voltage": 3.0, "volts_reach": 25.0}, True),
        (AIR | {"air_pressure": 900.0}, False),
        (AIR | {"air_pressure": 900.0, "density_reach": 20.0}, True),
    ],
)
def test_reach_is_limited(fields: dict[str, Any], given: bool) -> None:
    scope = scope_of([reading(PROPELLERS[0], 4)], fields)
    assert math.isfinite(normal(scope, "normal_thrust")) == given
    assert normal(scope, "normal_note").startswith("estimated: " if given else "too far for an estimate: ")


def test_words_say_what_was_assumed() -> None:
    row = reading(PROPELLERS[0], 4) | {"speed": None}
    note = normal(scope_of([row]), "normal_note")
    assert note.endswith("air not read and left as it was; speed ratio assumed")
    assert normal(scope_of([row]), "normal_ratio") == 0.75
    read = normal(scope_of([reading(PROPELLERS[0], 4)], AIR), "normal_note")
    assert "assumed" not in read
    assert "air not read" not in read


def test_an_impossible_speed_gives_no_exponent() -> None:
    row = reading(PROPELLERS[0], 4)
    scope = scope_of([row | {"speed": 2 * row["speed"]}], DrivenSpins=SPIN)
    assert normal(scope, "normal_ratio") == 0.75


@pytest.mark.parametrize(("x", "volts", "density"), [(0.65, 1.48, 0.48), (0.75, 1.60, 0.60), (0.85, 1.74, 0.74)])
def test_exponents(x: float, volts: float, density: float) -> None:
    """Worked out: 2/(2 − x) and x/(2 − x), to the digits of the table."""
    scope = scope_of([reading(PROPELLERS[0], 4) | {"speed": None}], {"assumed_speed_ratio": x})
    assert normal(scope, "volts_exponent") == pytest.approx(volts, abs=0.005)
    assert normal(scope, "density_exponent") == pytest.approx(density, abs=0.006)


def test_sag_line_recovers_the_pack() -> None:
    rows = [reading(PROPELLERS[0], cells, duty) for cells in (3, 4) for duty in STEPS]
    scope = scope_of(rows)
    np.testing.assert_allclose(scope.column("SagLines", "sag_line_cells")[:2], [3, 4])
    for place, cells in enumerate((3, 4)):
        pack = supply(cells)
        assert scope.column("SagLines", "sag_rest")[place] == pytest.approx(cells * pack.rest_per_cell_v)
        resistance = cells * pack.mohm_per_cell + pack.leads_mohm
        assert scope.column("SagLines", "supply_resistance")[place] == pytest.approx(resistance)
        assert scope.column("SagLines", "sag_verdict")[place] == "as packs and supplies are"


def sag_verdict(rows: list[dict[str, Any]]) -> str:
    return str(scope_of(rows).column("SagLines", "sag_verdict")[0])


def test_sag_verdicts() -> None:
    rows = [reading(PROPELLERS[0], 4, duty) for duty in STEPS]
    assert sag_verdict([row | {"voltage": 15 + 0.02 * row["current"]} for row in rows]).startswith("volts rise")
    assert sag_verdict([row | {"voltage": 16.4 - 0.05 * row["current"]} for row in rows]).startswith("soft")
    assert sag_verdict(rows[:3]).startswith("no line")
    assert sag_verdict([rows[0]] * 5).startswith("no line")
