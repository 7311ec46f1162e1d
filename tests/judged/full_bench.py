"""A session on two cell counts with speeds, an impossible row, one left out, and a motor with two things seen inside."""

from tests.judged.worked_benches import CRAFT, SESSION, Row, assessed
from xlsengine import Assessment

SPIN = [{"free_voltage": 15.0, "free_current": 1.0, "free_speed": 24_900.0}]


def at_speed(row: Row) -> Row:
    """Return a row of the session with a speed, 17,000 rpm at 1420 g and as the root of thrust elsewhere."""
    return row | {"speed": round(17_000 * (row["thrust"] / 1420) ** 0.49)}


def on_three_cells(row: Row) -> Row:
    """Return the same reading on three cells: volts in the ratio of cells, current and thrust as their power 1.6."""
    less = 0.75**1.6
    return row | {
        "cells": 3.0,
        "voltage": row["voltage"] * 0.75,
        "current": row["current"] * less,
        "thrust": row["thrust"] * less,
        "run": row["run"] + 6,
    }


ROWS = [at_speed(row) for row in (*SESSION, *map(on_three_cells, SESSION))]
ROWS[5]["note"], ROWS[5]["use"] = "left out by the tester", "no"
ODD: Row = ROWS[4] | {"run": 13.0, "thrust": 7000.0}
LEFT_OUT = (5, 12)
"""Places of the row that the tester left out and of the impossible one, which no figure and no chart may show."""


SEEN = [
    {"inspected": "Shaft", "observation": "bent", "grade": "concern"},
    {"inspected": "Magnets", "observation": "rust", "grade": "note"},
    {"inspected": "Bearings", "observation": "quiet", "grade": "as expected"},
]
WHERE: Row = {
    "tester": "A. Tester",
    "maker": "Invented",
    "sample_origin": "lent",
    "maker_saw_results": "yes",
    "esc_used": "plain 60 A",
    "esc_timing": 15.0,
    "averaging_window": 2.5,
    "voltage_read_at": "ESC input",
    "supply_rest_voltage": 16.4,
    "air_temperature": 21.0,
    "air_pressure": 987.0,
    "air_humidity": 40.0,
    "trimmed_lead_length": 50.0,
}


def shown() -> Assessment:
    """Evaluate it."""
    return assessed([*ROWS, ODD], CRAFT | WHERE | {"label_kv": 1700.0}, FreeSpins=SPIN, Inspection=SEEN)
