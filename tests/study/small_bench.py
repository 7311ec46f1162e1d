"""Small made-up tables of readings that obey the trade's rules of thumb, for trying checks on."""

import math
from typing import Any

from xlsengine import BenchTest, bench_test
from xlsengine.study.case import Case, case_of
from xlsengine.study.evaluation import Scope
from xlsengine.study.flags import Flag
from xlsengine.study.group_checks import group_checks

Row = dict[str, Any]

THROTTLES = (100.0, 20.0, 35.0, 50.0, 65.0, 80.0)
KV = 2400.0


def reading(prop: str = "A", diameter: float = 5.0, cells: int = 4, throttle: float = 100.0, **more: Any) -> Row:
    """Return a good reading: thrust after throttle, power and speed after thrust, volts that sag with current."""
    thrust = 80.0 * cells**2 * (diameter / 5) ** 2 * (throttle / 100) ** 1.7
    power = 560.0 * (thrust / 1280) ** 1.45 * (5 / diameter) ** 0.9
    rest, resistance = 4.1 * cells, 0.03
    current = (rest - math.sqrt(rest**2 - 4 * resistance * power)) / (2 * resistance)
    row: Row = {
        "prop": prop,
        "diameter": diameter,
        "pitch": 3.0,
        "blades": 2.0,
        "cells": float(cells),
        "throttle": throttle,
        "kind": "steady",
        "voltage": round(rest - resistance * current, 2),
        "current": round(current, 2),
        "thrust": float(round(thrust)),
        "speed": float(round(30_000 * (thrust / 1280) ** (1 / 2.08) * (5 / diameter) ** 2, -1)),
    }
    return row | more


def sweep(prop: str = "A", diameter: float = 5.0, cells: int = 4, **more: Any) -> list[Row]:
    """Return one good reading a throttle, full throttle first."""
    return [reading(prop, diameter, cells, throttle, **more) for throttle in THROTTLES]


def good_table() -> list[Row]:
    """Return two propellers on two cell counts: 24 good readings."""
    return [
        row | {"run": float(run)}
        for run, row in enumerate(
            (row for prop, size in (("A", 5.0), ("B", 6.0)) for cells in (3, 4) for row in sweep(prop, size, cells)),
            start=1,
        )
    ]


def without_speed(rows: list[Row]) -> list[Row]:
    """Return the rows with their speeds left blank."""
    return [{name: value for name, value in row.items() if name != "speed"} for row in rows]


def bench_of(rows: list[Row], **fields: Any) -> BenchTest:
    """Return a bench test that holds the rows."""
    return bench_test({"label_kv": KV} | fields, {"Readings": rows})


def case(rows: list[Row], **fields: Any) -> Case:
    """Return the case of the rows."""
    return case_of(Scope(bench_of(rows, **fields)))


def flags_of(rows: list[Row], **fields: Any) -> list[Flag]:
    """Return all flags of the rows."""
    return group_checks(Scope(bench_of(rows, **fields)))


def said(flags: list[Flag]) -> list[tuple[int, str, str]]:
    """Return row, column and title of each flag."""
    return [(flag.row, flag.column, flag.title) for flag in flags]
