"""The invented scenario, assembled: five motors on a club bench, ready to be written as input workbooks.

`DEMO_TESTS` is all a writer needs. A blank cell is an absent key. The same seed gives the same readings.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from demo_inputs.bench_simulator import (
    Instruments,
    air_density,
    driven_spin_voltage,
    free_spin,
    operating_point,
    read_off,
    shown,
    winding_pairs,
)
from demo_inputs.invented_motors import BENCH, CRAFT, GRADES, INSPECTION, MOTOR, PLANS, Plan, Series, Sheet
from demo_inputs.planted_faults import PlantedFault, Row, faults_of, plant

SEED = 20_240_607
INSTRUMENTS = Instruments()
CHECK_WEIGHTS_G = (0.0, 200.0, 500.0, 1000.0, 2000.0)
REST_SCATTER_PER_CELL_V = 0.006  # the pack is charged again between series, never to the same volt


@dataclass(frozen=True)
class DemoTest:
    """One filled input workbook: field values by sheet, table rows by table, and what was planted in them."""

    file_name: str
    motor: Row
    bench: Row
    craft: Row
    tables: dict[str, list[Row]]
    planted: tuple[PlantedFault, ...]


def demo_test(motor: str) -> DemoTest:
    """Return the filled test of one motor of the scenario; raises `KeyError` for any other name."""
    plan, bench = PLANS[motor], sheet_of(motor, BENCH)
    rng = generator_for(motor)
    faults = faults_of(motor)
    tables: dict[str, list[Row]] = {
        "readings": plant(readings(plan, density_on(bench), rng), faults),
        "free_spins": [dict(free_spin(plan.motor, volts, INSTRUMENTS, rng)) for volts in plan.free_spin_v],
        "driven_spins": driven_spins(plan),
        "winding_resistances": winding_pairs(plan.motor, number(bench, "winding_temperature_c"), rng),
        "inspection": inspection(motor),
        "check_weights": check_weights(rng),
    }
    return DemoTest(
        file_name=motor,
        motor=sheet_of(motor, MOTOR),
        bench=bench,
        craft=sheet_of(motor, CRAFT),
        tables=tables,
        planted=faults,
    )


def generator_for(motor: str) -> np.random.Generator:
    """Return a motor's own random generator, so that one motor's plan cannot stir another's readings."""
    return np.random.default_rng([SEED, list(PLANS).index(motor)])


def sheet_of(motor: str, sheet: Sheet) -> Row:
    """Return one motor's values of a sheet, without the blanks."""
    place = list(PLANS).index(motor)
    return {name: values[place] for name, values in sheet.items() if values[place] is not None}


def density_on(bench: Row) -> float:
    """Return the air density (kg/m³) of a bench sheet; a humidity left blank was 50 % that day."""
    humidity = number(bench, "air_humidity_percent") if "air_humidity_percent" in bench else 50.0
    return air_density(number(bench, "air_temperature_c"), number(bench, "air_pressure_hpa"), humidity)


def number(row: Row, name: str) -> float:
    """Return a field as a float; raises `ValueError` where it holds no number."""
    return float(str(row[name]))


def readings(plan: Plan, density: float, rng: np.random.Generator) -> list[Row]:
    """Return every reading of a plan, without faults, numbered from 1 in the order they were taken."""
    points = [(series, *point) for series in plan.series for point in _points(series)]
    rows: list[Row] = []
    for run, (series, throttle, kind) in enumerate(points, start=1):
        reason = plan.set_aside.get(run)
        verdict: Row = {"use": "no", "note": reason} if reason else {}
        rows.append({"run": run} | _reading(plan, series, throttle, kind, density, rng) | verdict)
    return rows


def driven_spins(plan: Plan) -> list[Row]:
    """Return the spins with a drill: speed, volts and how they were measured."""
    return [
        {
            "speed_rpm": rpm,
            "voltage_v": driven_spin_voltage(plan.motor, rpm, plan.driven_as),
            "measured_as": plan.driven_as,
        }
        for rpm in plan.driven_rpm
    ]


def inspection(motor: str) -> list[Row]:
    """Return the inspection list of one motor."""
    rows: list[Row] = []
    for item, observation in sheet_of(motor, INSPECTION).items():
        grade, remark = GRADES.get((motor, item), ("as expected", None))
        row: Row = {"item": item, "observation": observation, "grade": grade}
        rows.append(row | {"remark": remark} if remark else row)
    return rows


def check_weights(rng: np.random.Generator) -> list[Row]:
    """Return what the stand showed under known weights: 0.1 % high, and a gram of scatter."""
    return [{"weight_g": weight, "reading_g": shown(1.001 * weight, 0.0, 0.7, 1.0, rng)} for weight in CHECK_WEIGHTS_G]


def _points(series: Series) -> Iterator[tuple[int, str]]:
    yield 100, "peak"
    yield from ((100, "steady") for _ in range(series.repeats))
    yield from ((throttle, "steady") for throttle in series.steps)


def _reading(plan: Plan, series: Series, throttle: int, kind: str, density: float, rng: np.random.Generator) -> Row:
    """Return one reading with its labels, holding only what was measured."""
    propeller = series.propeller
    supply = next(supply for supply in plan.supplies if supply.cells == series.cells)
    rest = supply.rest_per_cell_v + REST_SCATTER_PER_CELL_V * rng.standard_normal()
    today = replace(supply, rest_per_cell_v=rest)
    point = operating_point(plan.motor, propeller, today, throttle / 100, density, held=kind == "steady")
    labels: Row = {
        "prop": propeller.name,
        "diameter_in": propeller.diameter_in,
        "pitch_in": propeller.pitch_in,
        "blades": propeller.blades,
        "cells": series.cells,
        "throttle_percent": throttle,
        "kind": kind,
    }
    seen = read_off(point, INSTRUMENTS, rng)
    return labels | {name: seen[name] for name in seen if _was_measured(name, plan, series, throttle, kind)}


def _was_measured(name: str, plan: Plan, series: Series, throttle: int, kind: str) -> bool:
    if name == "speed_rpm" and not series.speed_read:
        return False
    if name == "motor_temperature_c" and (throttle, kind) != (100, "steady"):
        return False
    return name in plan.measured


DEMO_TESTS: tuple[DemoTest, ...] = tuple(demo_test(motor) for motor in PLANS)
