"""Bench tests made of open propeller data: measured CT and CP, turned by a simulated motor on a simulated supply.

Thrust, torque and speed of each row are those of the data in air of 1.225 kg/m³; only what the motor draws for them is
computed. Source: UIUC Propeller Data Site, volumes 1 and 2 (Brandt, Deters, Ananda, Dantsker, Selig, University of
Illinois), the files of ``tests/published/data/uiuc``.
"""

import csv
import math
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from demo_inputs.bench_simulator import (
    METRE_PER_INCH,
    NEWTON_PER_GRAM,
    Instruments,
    Motor,
    OperatingPoint,
    read_off,
)
from tests.study.planted_benches import READ, Bench, Row, Rows

DATA = Path(__file__).parent.parent / "published" / "data" / "uiuc"
DENSITY = 1.225
FULL_CELL = 4.2
FINE = Instruments(thrust_g=0.07, current_a=0.002, thrust_step_g=0.1, current_step_a=0.01)
"""Displays with a digit more than those of the demos: these propellers turn slowly."""

STANDING = 0.02
"""What an ESC small enough for them takes for itself (A)."""

MOTORS = {
    5.5: Motor(750.0, 3500.0, 100.0, 0.02, 0.003),
    9.0: Motor(700.0, 450.0, 50.0, 0.1, 0.02),
    12.0: Motor(600.0, 120.0, 30.0, 0.25, 0.05),
}
"""The motor that turns propellers up to this diameter (in)."""


def open_benches() -> Iterator[Bench]:
    """Yield one bench a motor, with every propeller that it turns."""
    for limit, motor in MOTORS.items():
        smaller = max((size for size in MOTORS if size < limit), default=0.0)
        rows: Rows = []
        for path in sorted(DATA.glob("static_*.csv")):
            measured = _measured(path)
            if smaller < float(measured[0]["D_in"]) <= limit:
                rows += _rows(motor, measured, np.random.default_rng(len(rows)))
        yield Bench([row | {"run": float(run)} for run, row in enumerate(rows, 1)], {}, {"label_kv": motor.kv})


def _measured(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def _rows(motor: Motor, measured: list[dict[str, str]], rng: np.random.Generator) -> Iterator[Row]:
    """Yield the rows of one propeller; each specimen is one of its own, at full throttle in its fastest row."""
    for specimen in dict.fromkeys(row["specimen"] for row in measured):
        own = [row for row in measured if row["specimen"] == specimen]
        volts = max(_volts_needed(motor, row) for row in own)
        cells = math.ceil(volts / FULL_CELL)
        for row in sorted(own, key=lambda row: -float(row["rpm"])):
            duty = _volts_needed(motor, row) / volts
            seen = read_off(_point(motor, row, volts, duty), FINE, rng)
            yield {
                "prop": f"{row['D_in']}x{row['pitch_in']} specimen {specimen} of {row['prop'].split()[0]}",
                "diameter": float(row["D_in"]),
                "pitch": float(row["pitch_in"]),
                "blades": float(row["blades"]),
                "cells": float(cells),
                "throttle": float(round(100 * duty)),
                "kind": "steady",
                **{name: seen[key] for key, name in READ.items()},
            }


def _torque(row: dict[str, str]) -> float:
    """Return the shaft torque (N·m): CP rho n² D⁵ / 2π."""
    turns, diameter = float(row["rpm"]) / 60, float(row["D_in"]) * METRE_PER_INCH
    return float(row["CP"]) * DENSITY * turns**2 * diameter**5 / (2 * math.pi)


def _motor_current(motor: Motor, row: dict[str, str]) -> float:
    return _torque(row) / motor.torque_constant + motor.no_load_current(float(row["rpm"]))


def _volts_needed(motor: Motor, row: dict[str, str]) -> float:
    return float(row["rpm"]) / motor.kv + _motor_current(motor, row) * motor.resistance(0.0)


def _point(motor: Motor, row: dict[str, str], volts: float, duty: float) -> OperatingPoint:
    turns, diameter = float(row["rpm"]) / 60, float(row["D_in"]) * METRE_PER_INCH
    thrust = float(row["CT"]) * DENSITY * turns**2 * diameter**4 / NEWTON_PER_GRAM
    current = duty * _motor_current(motor, row) + STANDING
    return OperatingPoint(volts, current, thrust, float(row["rpm"]), _torque(row), 25.0)
