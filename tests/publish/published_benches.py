"""Sessions to publish: few and many propellers on one to six cell counts, peaks alone, long names, nothing that counts."""

from collections.abc import Iterable

from tests.judged.worked_benches import Row, assessed
from xlsengine import Assessment

NAMES = tuple("ABCDEFGHIJKLMNOPQRSTUVWXYZ") + tuple(f"P{place}" for place in range(10))
LONG = "5x4x2 Harbour Quiet Night Tri-blade with rounded tips, second batch, grey, balanced by hand {} 中"


def reading(prop: str, cells: int, strength: float, kind: str = "steady") -> Row:
    """Return a credible reading: amps and thrust rise with cells and strength."""
    volts, amps = 3.7 * cells, 6.0 * cells * strength
    thrust = volts * amps * 2.7 / (1 + 0.05 * cells)
    return {
        "prop": prop,
        "diameter": 5.0,
        "pitch": 4.0,
        "blades": 2.0,
        "cells": float(cells),
        "kind": kind,
        "voltage": round(volts, 2),
        "current": round(amps, 1),
        "thrust": float(round(thrust)),
    }


def session(props: int, cells: Iterable[int], kind: str = "steady", name: str = "5x4x2 {}") -> Assessment:
    """Return a test of so many propellers on these cell counts."""
    counts = list(cells)
    rows = [
        reading(name.format(NAMES[place]), count, 1 + 0.03 * place, kind) for place in range(props) for count in counts
    ]
    return assessed(rows)


def nothing_counts() -> Assessment:
    """Return a test whose readings are all left out by the tester."""
    return assessed([reading("5x4x2 A", 4, 1.0) | {"use": "no"}])


SESSIONS = {
    "three rows": lambda: session(3, [4]),
    "twelve rows": lambda: session(6, [3, 4]),
    "36 rows": lambda: session(12, [3, 4, 6]),
    "36 propellers": lambda: session(36, [4]),
    "18 on two": lambda: session(18, [4, 6]),
    "six cell counts": lambda: session(4, [2, 3, 4, 5, 6, 8]),
    "peaks": lambda: session(3, [3, 4], "peak"),
    "nothing counts": nothing_counts,
}
