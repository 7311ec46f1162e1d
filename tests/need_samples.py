"""Pairs made up for the tests of finding by need: kept figures as a library holds them, all in round numbers."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from xlsengine.bench.advice.pairs import PAIRS, STEPS
from xlsengine.bench.inputs.craft import BURSTS
from xlsengine.study.evaluation import Scope
from xlsengine.study.need_pairs import judged, listed

NEED: dict[str, Any] = {
    "all_up_mass": 600.0,
    "motor_count": 4.0,
    "wanted_ratio": 4.0,
    "way_of_flying": BURSTS,
    "pack_capacity": 1500.0,
}
"""A craft of 600 g on four motors that wants four times its weight: 600 g of thrust a motor, 150 g in hover."""
PAIR: dict[str, Any] = {
    "motor": "Invented 2207",
    "test": "T1",
    "prop": "5x4x3",
    "cells": 4.0,
    "full_kind": "steady",
    "diameter": 5.0,
    "pitch_ratio": 0.8,
    "voltage": 15.0,
    "current": 30.0,
    "thrust": 620.0,
    "thrust_doubt": 12.0,
    "grams_per_watt": 1.38,
    "grams_per_watt_doubt": 0.02,
    "static_current": 34.0,
    "peak_current": 34.0,
    "held_steady": 30.0,
    "launch": 34.0,
    "room": 1.03,
    "motor_mass": 33.0,
    "mass_doubt": 0.2,
    "of_repeats_read": 0.0,
    "of_scatter_freedom": 8.0,
    "of_taken_thrust_accuracy": 3.0,
    "of_taken_current_accuracy": 1.5,
    "of_taken_voltage_accuracy": 0.5,
    "of_thrust_current": 0.0,
}
STEPS_READ = ((20.0, 100.0, 1.8, 27.0), (40.0, 200.0, 4.4, 66.0), (100.0, 620.0, 30.0, 450.0))
"""Throttle, thrust, current and power of the steady steps."""


def pairs_of(*changed: Mapping[str, Any]) -> dict[str, Any]:
    """Return the columns of pairs that differ from `PAIR` as given, numbered from 1."""
    rows = [{**PAIR, "pair": number, **each} for number, each in enumerate(changed, start=1)]
    return {
        name: np.array([row.get(name) for row in rows], dtype=object if declared.is_text else float)
        for name, declared in PAIRS.fields.items()
    }


def steps_of(pairs: int, steps: tuple[tuple[float, ...], ...] = STEPS_READ) -> dict[str, Any]:
    """Return the columns of the same steps for each pair."""
    rows = [(number, *step) for number in range(1, pairs + 1) for step in steps]
    return dict(zip(STEPS.fields, np.array(rows, dtype=float).reshape(len(rows), len(STEPS.fields)).T, strict=True))


def found(need: Mapping[str, Any], *changed: Mapping[str, Any], steps: Any = None) -> Scope:
    """Return what is found for a need among pairs with the usual steps, or those given."""
    pairs = pairs_of(*changed)
    wanted = {**NEED, **need}
    return listed(wanted, judged(wanted, pairs), steps_of(len(changed)) if steps is None else steps)


def of_first(scope: Scope, name: str) -> Any:
    """Return a figure of the pair that is listed first."""
    return scope.column(PAIRS.name, name)[0]
