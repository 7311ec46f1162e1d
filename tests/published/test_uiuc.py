"""Propeller figures against the UIUC Propeller Data Site.

Data: volumes 1 to 3 (Brandt, Deters, Ananda, Dantsker, Selig), read from a compiled copy.
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


def speed_figures(rows: list[dict[str, Any]]) -> Scope:
    """Return the engine's values of rows whose air is the reference: 1.225 kg/m³, speed of sound of 15 °C."""
    common = {"cells": 4.0, "kind": "steady", "voltage": 14.8, "current": 20.0}
    return Scope(bench_test({"label_kv": 1000.0}, {"Readings": [common | row for row in rows]}))


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


def test_thrust_goes_with_speed_as_the_setting_says() -> None:
    assert SETTINGS.fields["thrust_speed_power"].default == pytest.approx(np.median(sweeps.thrust_powers()), abs=0.005)
