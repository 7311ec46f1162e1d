from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tests.bench.ideal_bench import MOTOR, PROPELLERS, STEPS, full_throttle, reading, scope_of, spins
from xlsengine.bench.inputs.no_load import PEAK_TO_PEAK
from xlsengine.study.evaluation import Scope

SPIN = [{"driven_speed": 2400.0, "driven_voltage": 2.0, "driven_as": PEAK_TO_PEAK}]
KNOWN: dict[str, Any] = {"DrivenSpins": SPIN, "FreeSpins": spins()}


def figure(scope: Scope, name: str, rows: int) -> Any:
    return scope.column("SpeedFigures", name)[:rows]


def test_coefficients_are_those_of_the_propeller() -> None:
    rows = [reading(propeller, 4, duty, torque=True) for propeller in PROPELLERS for duty in STEPS]
    scope = scope_of(rows, **KNOWN)
    propellers = [propeller for propeller in PROPELLERS for _ in STEPS]
    for name, of in (("thrust_coefficient", "ct"), ("power_coefficient", "cp")):
        true = [getattr(p, of)(row["speed"]) for p, row in zip(propellers, rows, strict=True)]
        np.testing.assert_allclose(figure(scope, name, len(rows)), true, rtol=1e-9)


def test_modelled_shaft_power_is_the_measured_one() -> None:
    """First-order motor with true constants; full throttle only."""
    measured = scope_of([reading(p, c, torque=True) for p in PROPELLERS for c in (3, 4)], **KNOWN)
    modelled = scope_of(full_throttle(), **KNOWN)
    assert set(figure(measured, "shaft_basis", 8)) == {"measured"}
    assert set(figure(modelled, "shaft_basis", 8)) == {"modelled"}
    np.testing.assert_allclose(figure(modelled, "shaft_power", 8), figure(measured, "shaft_power", 8), rtol=1e-6)


def test_nothing_is_modelled_at_part_throttle() -> None:
    scope = scope_of([reading(PROPELLERS[0], 4, duty) for duty in (0.8, 0.5)], **KNOWN)
    for name in ("shaft_power", "power_coefficient", "figure_of_merit", "motor_efficiency", "copper_loss"):
        assert np.isnan(figure(scope, name, 2)).all()
    assert np.isfinite(figure(scope, "thrust_coefficient", 2)).all()
    assert figure(scope, "shaft_basis", 2).tolist() == ["", ""]


@pytest.mark.parametrize("missing", ["DrivenSpins", "FreeSpins"])
def test_nothing_is_modelled_without_kv_or_no_load_current(missing: str) -> None:
    known: dict[str, Any] = {"FreeSpins": [{"free_current": 1.0}], "DrivenSpins": SPIN}
    scope = scope_of(full_throttle()[:3], **{name: rows for name, rows in known.items() if name != missing})
    assert np.isnan(figure(scope, "shaft_power", 3)).all()


def test_watts_add_up() -> None:
    scope = scope_of([reading(p, c, torque=True) for p in PROPELLERS for c in (3, 4)], **KNOWN)
    parts = ("copper_loss", "iron_loss", "propeller_loss", "ideal_power", "unexplained")
    total = sum(figure(scope, name, 8) for name in parts)
    np.testing.assert_allclose(total, scope.column("Readings", "power")[:8], rtol=1e-12)
    assert np.abs(figure(scope, "unexplained", 8)).max() < 2
    amps = scope.column("Readings", "current")[:8]
    np.testing.assert_allclose(figure(scope, "copper_loss", 8), amps**2 * MOTOR.resistance(0.0), rtol=0.01)


def test_copper_at_part_throttle_goes_by_the_motor_current() -> None:
    """Battery current is duty times motor current: the torque tells, the ammeter does not."""
    scope = scope_of([*full_throttle(), reading(PROPELLERS[0], 4, 0.5, torque=True)], **KNOWN)
    row = reading(PROPELLERS[0], 4, 0.5, torque=True)
    motor_current = row["torque"] / MOTOR.torque_constant + MOTOR.no_load_current(row["speed"]) + 0.1
    assert figure(scope, "motor_current", 9)[8] == pytest.approx(motor_current, rel=1e-3)
    assert row["current"] < 0.7 * motor_current


def test_efficiencies_multiply() -> None:
    scope = scope_of([reading(PROPELLERS[2], 4, torque=True)], **KNOWN)
    product = figure(scope, "figure_of_merit", 1) * figure(scope, "motor_efficiency", 1)
    np.testing.assert_allclose(product, scope.column("Readings", "hover_efficiency")[:1], rtol=1e-12)


def test_speeds_of_the_blade() -> None:
    scope = scope_of([reading(PROPELLERS[0], 4, speed=24_000.0)])
    assert figure(scope, "tip_speed", 1)[0] == pytest.approx(math.pi * 5 * 0.0254 * 400)
    assert figure(scope, "pitch_speed", 1)[0] == pytest.approx(4.3 * 0.0254 * 400)


def test_row_without_speed_is_blank() -> None:
    row = reading(PROPELLERS[0], 4, torque=True) | {"speed": None}
    scope = scope_of([row], **KNOWN)
    for name in ("tip_speed", "thrust_coefficient", "shaft_power", "iron_loss", "unexplained", "line_ratio"):
        assert math.isnan(figure(scope, name, 1)[0])


def test_row_is_held_against_the_line_of_the_others() -> None:
    rows = full_throttle()
    rows[3] |= {"speed": rows[3]["speed"] * 1.1}
    ratio = figure(scope_of(rows), "line_ratio", 8)
    assert ratio[3] == pytest.approx(1.1, abs=0.005)
    assert np.isnan(figure(scope_of(full_throttle()[:5]), "line_ratio", 5)).all()
