"""Tests of invented motors of one class: a demo test with other figures, scatter and conditions."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from xlsengine.bench.inputs.bench_test import BenchTest, Value
from xlsengine.library.kept import Kept, kept_of
from xlsengine.library.peers import compared
from xlsengine.study.assessment import Assessment, assess
from xlsengine.study.comparison import Comparison
from xlsengine.workbook.reading.reader import read_workbook

DEMO = Path(__file__).parents[2] / "demo_inputs" / "thimble-2207.xlsx"
NAMES = ("Bobbin", "Reel", "Spindle", "Ferrule", "Grommet", "Pulley", "Sprocket", "Gimlet", "Trivet", "Mandrel")
"""All invented."""


def demo() -> BenchTest:
    """Return the test of the demo motor."""
    return read_workbook(DEMO).test


def varied(
    test: BenchTest,
    name: str,
    thrust: float = 1.0,
    power: float = 1.0,
    mass: float = 1.0,
    volts: float = 1.0,
    scatter: float = 0.005,
    seed: int = 1,
    fields: Mapping[str, Value] | None = None,
    keep: Any = slice(None),
) -> BenchTest:
    """Return another motor's test: so many times the thrust, power, mass and volts, with scatter, of the rows to `keep`."""
    rng, readings = np.random.default_rng(seed), dict(test.tables["Readings"])
    count = test.rows("Readings")
    noise = 1 + scatter * rng.normal(size=(3, count))
    readings["thrust"] = np.round(readings["thrust"] * thrust * noise[0], 0)
    readings["current"] = np.round(readings["current"] * power / volts * noise[1], 2)
    readings["voltage"] = np.round(readings["voltage"] * volts * (1 + (noise[2] - 1) / 5), 2)
    readings = {column: values[keep] for column, values in readings.items()}
    others: dict[str, Value] = {"test_id": f"{name} 1", "model": f"{name} 2207", **(fields or {})}
    masses = {
        each: round(float(test.fields[each]) * mass, 1)  # type: ignore[arg-type]
        for each in ("mass_as_supplied", "trimmed_mass_measured")
        if test.fields[each] is not None
    }
    return replace(test, fields={**test.fields, **masses, **others}, tables={**test.tables, "Readings": readings})


def peers_of(test: BenchTest, motors: int = 5) -> list[BenchTest]:
    """Return invented peers of a test, near it and farther away, one of them from another stand."""
    rng = np.random.default_rng(7)
    made = []
    for number, name in enumerate(NAMES[:motors]):
        thrust, mass = 1 + 0.05 * rng.normal(), 1 + 0.06 * rng.normal()
        fields: dict[str, Value] = {"label_kv": float(test.fields["label_kv"]) * (1 + 0.01 * number)}  # type: ignore[arg-type]
        if number == 2:
            fields["tester"] = "Tester Nine"
        made.append(
            varied(
                test,
                name,
                thrust,
                thrust**1.4 * (1 + 0.03 * rng.normal()),
                mass,
                1 + 0.02 * rng.normal(),
                seed=number,
                fields=fields,
            )
        )
    return made


def comparison_of(test: BenchTest, peers: Sequence[BenchTest]) -> tuple[Assessment, Comparison]:
    """Return the assessment of a test, and its comparison with peers."""
    assessment = assess(test)
    kept: list[Kept] = [kept_of(peer) for peer in peers]
    return assessment, compared(assessment.scope, kept_of(test, assessment), kept)
