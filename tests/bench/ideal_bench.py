"""Bench tests of a simulated motor whose instruments never err, with the truth beside."""

import math
from collections.abc import Sequence
from typing import Any

from demo_inputs.bench_simulator import Motor, Propeller, Supply, operating_point
from xlsengine.bench.inputs.bench_test import BenchTest, bench_test
from xlsengine.study.evaluation import Scope

Row = dict[str, Any]
DENSITY = 1.225
MOTOR = Motor(2400.0, 50.0, 25.0, 0.4, 0.03, heating_k_per_w=0.0)
PROPELLERS = (
    Propeller("5x4.3x3", 5.0, 4.3, 3),
    Propeller("5.1x4.6x3", 5.1, 4.6, 3),
    Propeller("5x4x2", 5.0, 4.0, 2),
    Propeller("6x4x2", 6.0, 4.0, 2),
)
SWING = 2 * math.pi / 3
"""Volts from peak to peak of a sine of three phases whose rectified mean is one volt."""
STEPS = (1.0, 0.8, 0.65, 0.5, 0.35, 0.2)


def supply(cells: int, volts: float = 4.0) -> Supply:
    """Return a pack that sags by 7 mΩ and 3 mΩ a cell."""
    return Supply(cells, volts, mohm_per_cell=3.0, leads_mohm=7.0)


def reading(
    propeller: Propeller,
    cells: int,
    duty: float = 1.0,
    *,
    volts: float = 4.0,
    density: float = DENSITY,
    motor: Motor = MOTOR,
    **more: Any,
) -> Row:
    """Return what an unerring bench shows in one steady reading; torque only when asked for, as ``torque=True``."""
    point = operating_point(motor, propeller, supply(cells, volts), duty, density, held=True)
    row: Row = {
        "prop": propeller.name,
        "diameter": propeller.diameter_in,
        "pitch": propeller.pitch_in,
        "cells": cells,
        "throttle": duty * 100,
        "kind": "steady",
        "voltage": point.voltage_v,
        "current": point.current_a,
        "thrust": point.thrust_g,
        "speed": point.speed_rpm,
    }
    if more.pop("torque", False):
        row["torque"] = point.torque_n_m
    return row | more


def full_throttle(motor: Motor = MOTOR, cells: Sequence[int] = (3, 4)) -> list[Row]:
    """Return every propeller at full throttle on each cell count."""
    return [reading(propeller, count, motor=motor) for propeller in PROPELLERS for count in cells]


def spins(motor: Motor = MOTOR, volts: Sequence[float] = (8.0, 11.0, 14.0)) -> list[Row]:
    """Return free spins at some voltages, without scatter."""
    rows = []
    for each in volts:
        no_load = motor.resistance(0.0)
        slope = motor.no_load_per_1000_rpm_a / 1000
        speed = motor.kv * (each - motor.no_load_at_rest_a * no_load) / (1 + motor.kv * slope * no_load)
        current = motor.no_load_at_rest_a + slope * speed + 0.1  # the ESC takes 0.1 A
        rows.append({"free_voltage": each, "free_current": current, "free_speed": speed})
    return rows


def bench_of(readings: Sequence[Row], fields: Row | None = None, **tables: Any) -> BenchTest:
    """Return a bench test with the true density unless `fields` give the air."""
    return bench_test({"label_kv": 2400.0} | (fields or {}), {"Readings": list(readings), **tables})


def scope_of(readings: Sequence[Row], fields: Row | None = None, **tables: Any) -> Scope:
    """Return the values of such a test."""
    return Scope(bench_of(readings, fields, **tables))
