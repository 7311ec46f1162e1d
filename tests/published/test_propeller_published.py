"""Propeller and motor figures of a bench test against published rows and worked examples."""

import csv
import math
from pathlib import Path
from typing import Any

import pytest

from xlsengine.bench.inputs.bench_test import bench_test
from xlsengine.study.evaluation import Scope

DATA = Path(__file__).parent / "data"


def _static_rows() -> list[dict[str, str]]:
    with (DATA / "uiuc_static.csv").open() as lines:
        next(lines)
        return list(csv.DictReader(lines))


def _evaluated(reading: dict[str, Any], **tables: Any) -> Scope:
    row = {"prop": "X", "cells": 4, "kind": "steady", "voltage": 14.8, "current": 10.0} | reading
    return Scope(bench_test({"label_kv": 1000}, {"Readings": [row], **tables}))


def _figure(scope: Scope, name: str, table: str = "SpeedFigures") -> float:
    return float(scope.column(table, name)[0])


@pytest.mark.parametrize("row", _static_rows(), ids=lambda row: row["prop"])
def test_static_rows(row: dict[str, str]) -> None:
    """Thrust and torque go in; the published CT and CP, and what follows from them, come out."""
    published = {name: float(value) for name, value in row.items() if name != "prop"}
    scope = _evaluated(
        {
            "diameter": published["diameter"],
            "pitch": published["pitch"],
            "speed": published["rpm"],
            "thrust": published["thrust"],
            "torque": published["torque"],
        }
    )
    printed = 0.05 / published["thrust"] + 1e-4
    assert _figure(scope, "thrust_coefficient") == pytest.approx(published["ct"], rel=printed)
    assert _figure(scope, "power_coefficient") == pytest.approx(published["cp"], rel=1e-4)
    digits = 5e-4 / published["power"] + 5e-7 / published["torque"]
    assert _figure(scope, "shaft_power") == pytest.approx(published["power"], rel=digits)
    assert _figure(scope, "figure_of_merit") == pytest.approx(published["figure_of_merit"], rel=1.5 * printed)
    assert _figure(scope, "tip_mach", "Readings") == pytest.approx(published["tip_mach"], abs=5e-5)
    assert scope.column("SpeedFigures", "shaft_basis")[0] == "measured"


def test_momentum_theory() -> None:
    """Ideal power of 5 N on 0.254 m in 1.225 kg/m³: 31.7317 W (T^1.5/√(2ρA), worked out)."""
    scope = _evaluated({"diameter": 10.0, "speed": 6000.0, "thrust": 5 / 0.00980665, "torque": 0.1})
    assert _figure(scope, "ideal_power") == pytest.approx(31.7317, abs=5e-5)


def test_first_order_motor() -> None:
    """Georgia Tech 2002 course page: I0 3 A, R 0.111 Ω, Kv 256; at 24 V and 30 A the model gives these figures."""
    scope = _evaluated(
        {"diameter": 20.0, "speed": 5291.5, "thrust": 3000.0, "voltage": 24.0, "current": 30.0, "cells": 6},
        FreeSpins=[{"free_voltage": 24.0, "free_current": 3.0}],
        DrivenSpins=[{"driven_speed": 2560.0, "driven_voltage": 10.0 - 2 * 0.6, "driven_as": "bridge rectified mean"}],
        WindingResistances=[{"resistance": 111.0}],
    )
    assert _figure(scope, "shaft_power") == pytest.approx(558.09, abs=0.01)
    assert _figure(scope, "motor_efficiency") == pytest.approx(0.77512, abs=1e-5)
    assert scope.column("SpeedFigures", "shaft_basis")[0] == "modelled"
    torque = _figure(scope, "shaft_power") / (5291.5 * math.pi / 30)
    assert torque == pytest.approx(1.00715, abs=2e-5)
    assert _figure(scope, "copper_loss") == pytest.approx(30**2 * 0.111, rel=1e-4)
    assert _figure(scope, "iron_loss") == pytest.approx(3 * 5291.5 / 256, rel=1e-9)
    assert _figure(scope, "unexplained") == pytest.approx(0.0, abs=0.02)
