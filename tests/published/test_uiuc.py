"""Propeller figures against the UIUC Propeller Data Site.

Data: volumes 1 to 3 (Brandt, Deters, Ananda, Dantsker, Selig), read from a compiled copy. The three worked rows are
recomputed from its CT and CP at 1.225 kg/m³.
"""

import math
from typing import Any

import numpy as np
import pytest

from tests.published import propeller_sweeps as sweeps
from xlsengine import bench_test
from xlsengine.bench.inputs.settings import SETTINGS
from xlsengine.study.evaluation import Scope

GRAM, INCH, DENSITY = 0.00980665, 0.0254, 1.225
# propeller, diameter, rpm, CT, CP, thrust (N), power (W), torque (N·m), figure of merit, tip Mach in dry air of 15 °C
WORKED = (
    ("10x4.7", 10.0, 6528.0, 0.1299, 0.0531, 7.8404, 88.570, 0.129562, 0.7035, 0.2551),
    ("11x4.7", 11.0, 6021.0, 0.1259, 0.0493, 9.4646, 103.912, 0.164805, 0.7230, 0.2588),
    ("5x4.3", 5.0, 7896.667, 0.149344, 0.074305, 0.8244, 6.856, 0.008290, 0.6197, 0.1543),
)


def speed_figures(rows: list[dict[str, Any]]) -> Scope:
    """Return the engine's values of rows whose air is the reference: 1.225 kg/m³, speed of sound of 15 °C."""
    common = {"cells": 4.0, "kind": "steady", "voltage": 14.8, "current": 20.0}
    return Scope(bench_test({"label_kv": 1000.0}, {"Readings": [common | row for row in rows]}))


@pytest.mark.parametrize("row", WORKED, ids=lambda row: row[0])
def test_worked_rows(row: tuple[Any, ...]) -> None:
    name, diameter, rpm, ct, cp, thrust, power, torque, merit, mach = row
    scope = speed_figures(
        [{"prop": name, "diameter": diameter, "speed": rpm, "thrust": thrust / GRAM, "torque": torque}]
    )
    found = {
        name: scope.column("SpeedFigures", name)[0]
        for name in ("thrust_coefficient", "power_coefficient", "shaft_power", "figure_of_merit")
    }
    expected = {"thrust_coefficient": ct, "power_coefficient": cp, "shaft_power": power, "figure_of_merit": merit}
    assert found == pytest.approx(expected, rel=2e-4)
    assert scope.column("Readings", "tip_mach")[0] == pytest.approx(mach, rel=2e-4)


def test_every_static_row_comes_back() -> None:
    rows, expected = [], []
    for path in sorted(sweeps.DATA.glob("static_*.csv")):
        for row in sweeps.rows_of(path):
            n, d = float(row["rpm"]) / 60, float(row["D_in"]) * INCH
            ct, cp = float(row["CT"]), float(row["CP"])
            torque = cp * DENSITY * n**2 * d**5 / (2 * math.pi)
            thrust = ct * DENSITY * n**2 * d**4 / GRAM
            rows.append(
                {"prop": path.stem, "diameter": float(row["D_in"]), "speed": 60 * n, "thrust": thrust, "torque": torque}
            )
            expected.append((ct, cp, math.sqrt(2 / math.pi) * ct**1.5 / cp))
    scope = speed_figures(rows)
    names = ("thrust_coefficient", "power_coefficient", "figure_of_merit")
    found = np.column_stack([scope.column("SpeedFigures", name)[: len(rows)] for name in names])
    assert len(rows) > 200
    assert found == pytest.approx(np.array(expected), rel=1e-9)


def test_the_efficiency_column_is_j_ct_over_cp() -> None:
    """The six-digit volumes agree to 0.002; volume 1 has four digits, and blows up where power is near nothing."""
    for path in sorted(sweeps.DATA.glob("sweep_*.csv")):
        rows = sweeps.rows_of(path)
        if rows[0]["uiuc_volume"] == "1":
            continue
        j, ct, cp, eta = (sweeps.column(rows, name) for name in ("J", "CT", "CP", "eta"))
        pulling = ct > 0
        assert np.abs(j * ct / cp - eta)[pulling].max() <= 0.002


def test_thrust_goes_with_speed_as_the_setting_says() -> None:
    assert SETTINGS.fields["thrust_speed_power"].default == pytest.approx(np.median(sweeps.thrust_powers()), abs=0.005)
