"""Benches that were read in rounds: every propeller on every cell count, then all of it again, peaks alone and no speed.

Motors and packs vary as widely as those of `planted_benches`; each pack is emptier in the next round, or charged again.
"""

import numpy as np

from demo_inputs.bench_simulator import Instruments, Supply, air_density, operating_point, read_off
from demo_inputs.invented_motors import PLANS
from tests.study.planted_benches import CELLS, LARGE, SMALL, Rows, motor_like, moulding
from xlsengine import BenchTest, bench_test

NAMES = list(PLANS)
BY_HAND = Instruments(thrust_share=0.01, current_share=0.01)
"""One percent of scatter: figures read from displays that flicker."""

DENSITY = air_density(18.0, 990.0, 50.0)


def rounds(seed: int, propellers: int = 3, times: int = 2) -> Rows:
    """Return the readings of a bench, in the order in which they were taken; the same seed gives the same."""
    rng = np.random.default_rng([20_261_126, seed])
    name = NAMES[seed % len(NAMES)]
    motor, family = motor_like(PLANS[name].motor, rng), LARGE if name == "marmalade-2826" else SMALL
    chosen = [moulding(family[at], rng) for at in rng.choice(len(family), propellers, replace=False)]
    per_cell, leads, emptied = float(rng.uniform(2, 6)), float(rng.uniform(0, 8)), float(rng.uniform(-0.02, 0.05))
    rows: Rows = []
    for again in range(times):
        for cells in CELLS[name]:
            for propeller in chosen:
                rest = 4.15 - emptied * again + 0.006 * float(rng.standard_normal())
                supply = Supply(cells, rest, per_cell, leads)
                seen = read_off(operating_point(motor, propeller, supply, 1.0, DENSITY, held=False), BY_HAND, rng)
                rows.append(
                    {
                        "run": float(len(rows) + 1),
                        "prop": propeller.name,
                        "diameter": propeller.diameter_in,
                        "pitch": propeller.pitch_in,
                        "blades": float(propeller.blades),
                        "cells": float(cells),
                        "voltage": seen["voltage_v"],
                        "current": seen["current_a"],
                        "thrust": seen["thrust_g"],
                    }
                )
    return rows


def bench_of(rows: Rows) -> BenchTest:
    """Return readings as a bench test."""
    return bench_test({"label_kv": 2000.0}, {"Readings": rows})
