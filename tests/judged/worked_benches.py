"""Small bench tests whose figures the tests of this folder work out by hand, with nothing of the engine in them."""

import math
from collections.abc import Iterable
from typing import Any

from xlsengine import Assessment, bench_test, evaluate
from xlsengine.bench.checks.row_checks import ROW_CHECKS
from xlsengine.study.case import raised_checks

Row = dict[str, Any]
G, INCH, RHO = 9.80665, 0.0254, 1.225
"""Standard gravity and the inch are exact by definition (SI brochure); 1.225 kg/m³ is ISA's air at sea level."""
MOTOR: Row = {
    "test_id": "judged",
    "model": "worked by hand",
    "label_kv": 2800.0,
    "mass_as_supplied": 34.0,
    "trimmed_mass_measured": 32.0,
    "size_code_means": "stator",
    "stator_diameter": 22.0,
    "stator_height": 7.0,
    "poles": 14.0,
}
READING: Row = {
    "prop": "5x3.5",
    "diameter": 5.0,
    "pitch": 3.5,
    "cells": 3.0,
    "kind": "steady",
    "voltage": 11.10,
    "current": 30.0,
    "thrust": 900.0,
    "speed": 24_000.0,
}
SESSION: tuple[Row, ...] = tuple(
    {
        "run": float(run),
        "prop": "6x4",
        "diameter": 6.0,
        "pitch": 4.0,
        "blades": 2.0,
        "cells": 4.0,
        "kind": kind,
        "throttle": throttle,
        "voltage": volts,
        "current": amps,
        "thrust": grams,
    }
    for run, kind, throttle, volts, amps, grams in (
        (1, "peak", 100.0, 15.0, 40.0, 1500.0),
        (2, "peak", 100.0, 15.2, 42.0, 1540.0),
        (3, "steady", 100.0, 14.6, 38.0, 1440.0),
        (4, "steady", 100.0, 14.8, 36.0, 1400.0),
        (5, "steady", 60.0, 15.6, 12.0, 700.0),
        (6, "steady", 40.0, 15.9, 5.0, 380.0),
    )
)
"""Two peaks, two steady readings and two throttle steps of one propeller on four cells."""
CRAFT: Row = {
    "all_up_mass": 2000.0,
    "motor_count": 4.0,
    "pack_cells": 4.0,
    "pack_capacity": 5000.0,
    "supply": "bench supply",
}


def assessed(rows: Iterable[Row], fields: Row | None = None, **tables: list[Row]) -> Assessment:
    """Evaluate the rows as a bench test of the motor above."""
    return evaluate(bench_test(MOTOR | (fields or {}), {"Readings": list(rows), **tables}))


def column(assessment: Assessment, table: str, name: str) -> Any:
    """Return a column of a table by its name."""
    return assessment.scope.column(table, name)


def first(assessment: Assessment, table: str, name: str) -> Any:
    """Return the first value of a column."""
    return column(assessment, table, name)[0]


def flags(assessment: Assessment, row: int = 1) -> dict[str, tuple[str, str]]:
    """Return title → severity and the reading to look at, of the flags that stand on a row of Readings from 1."""
    return {flag["what"]: (flag["severity"], flag["column"]) for flag in assessment.flag_list() if flag["row"] == row}


def live_checks(assessment: Assessment, row: int = 1) -> dict[str, tuple[str, str]]:
    """Return title → severity and the reading to look at, of every live check raised on a row, whichever speaks for it."""
    return {
        check.title: (check.severity.word, check.look_at.name)
        for check, raised in zip(ROW_CHECKS, raised_checks(assessment.scope), strict=True)
        if raised[row - 1]
    }


def disk(diameter_in: float) -> float:
    """Return the area of a propeller's disk, m²."""
    return math.pi / 4 * (diameter_in * INCH) ** 2


def ideal_power(grams: float, diameter_in: float, density: float = RHO) -> float:
    """Return what momentum theory asks for a static thrust, W: F·√(F/(2·ρ·A)) (Rankine, Froude)."""
    force = grams * G / 1000
    return force * math.sqrt(force / (2 * density * disk(diameter_in)))


def grams_for(efficiency: float, watts: float, diameter_in: float) -> float:
    """Return the thrust whose ideal power is this share of `watts`: the equation above solved for it."""
    return float((efficiency * watts) ** (2 / 3) * (2 * RHO * disk(diameter_in)) ** (1 / 3) / G * 1000)
