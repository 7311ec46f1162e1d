"""Small tests for a library, their figures easy to work by hand."""

import datetime
from pathlib import Path
from typing import Any

import xlsengine
from xlsengine.bench.inputs.bench_test import BenchTest

VOLTS, AMPS, GRAMS = (16.0, 15.9, 16.1), (30.0, 31.0, 32.0), (1000.0, 1010.0, 1020.0)


def small_test(
    test_id: str | None = "one", model: str | None = "Made up 2207", extra: float = 0.0, **fields: Any
) -> BenchTest:
    """Return a test of three steady readings at full throttle and two steps below; `extra` is added to every thrust."""
    typed = {
        "test_id": test_id,
        "model": model,
        "label_kv": 1900.0,
        "stator_diameter": 22.0,
        "stator_height": 7.0,
        "test_date": datetime.date(2026, 5, 31),
        "mass_as_supplied": 33.0,
        **fields,
    }
    full = [_row(run, 100.0, *read) for run, read in enumerate(zip(VOLTS, AMPS, GRAMS, strict=True), start=1)]
    steps = [_row(4, 50.0, 16.4, 9.0, 400.0), _row(5, 70.0, 16.3, 16.0, 640.0)]
    for row in (*full, *steps):
        row["thrust"] += extra
    return xlsengine.bench_test(typed, {"Readings": [*full, *steps]})


def _row(run: int, throttle: float, voltage: float, current: float, thrust: float) -> dict[str, Any]:
    return {
        "run": float(run),
        "prop": "5x4x3",
        "diameter": 5.0,
        "pitch": 4.0,
        "blades": 3.0,
        "cells": 4.0,
        "throttle": throttle,
        "kind": "steady",
        "voltage": voltage,
        "current": current,
        "thrust": thrust,
    }


def workbooks(folder: Path, count: int, prefix: str = "motor") -> list[Path]:
    """Write small input workbooks of tests that differ in id and thrust."""
    folder.mkdir(exist_ok=True)
    return [
        xlsengine.write_input_workbook(
            small_test(f"{prefix} {number}", extra=number), folder / f"{prefix} {number:03}.xlsx"
        )
        for number in range(count)
    ]
